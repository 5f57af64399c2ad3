//! Does a tree have the structure that the types of the job file ask for?
//!
//! The rules are not written here: they are read from the JSON Schema that is generated from the types, so that types,
//! schema, documentation and error messages cannot drift apart. Only the parts of JSON Schema that the generator uses
//! are understood. All faults are reported, not only the first.

use serde_json::Value as Json;

use super::error::{Fault, JobFileError};
use super::nearest::nearest;
use super::tree::{Document, Node, Step, Value, shortened};

/// Checks a whole document against the schema of its type.
pub(crate) fn check(document: &Document, schema: &Json) -> Vec<JobFileError> {
    let mut checker = Checker { document, root: schema, errors: Vec::new() };
    checker.check(&document.root, schema, &mut Vec::new());
    checker.errors
}

/// Whether a list at the top of a document holds more than its type allows.
pub(crate) fn is_overlong(document: &Document, schema: &Json) -> bool {
    let Value::Table(entries) = &document.root.value else { return false };
    entries.iter().any(|entry| {
        let most = schema["properties"][&entry.key]["maxItems"].as_u64();
        matches!((&entry.node.value, most), (Value::List(nodes), Some(most)) if nodes.len() as u64 > most)
    })
}

/// More errors than this are no longer read by anybody.
const MOST_ERRORS: usize = 100;

struct Checker<'a> {
    document: &'a Document,
    root: &'a Json,
    errors: Vec<JobFileError>,
}

impl<'a> Checker<'a> {
    fn check(&mut self, node: &Node, schema: &'a Json, path: &mut Vec<Step>) {
        if self.errors.len() >= MOST_ERRORS {
            return;
        }
        if let Value::Real(number) = node.value
            && !number.is_finite()
        {
            let cure = "Write an ordinary number";
            return self.fault(path, Fault::value("is not a finite number", cure));
        }
        if node.value == Value::Null && allows_nothing(schema) {
            return;
        }
        let alternatives = alternatives(self.root, schema);
        let fitting: Vec<&Json> = alternatives.iter().copied().filter(|one| accepts_kind(one, &node.value)).collect();
        let Some(&first) = fitting.first() else {
            let expected = expectation(self.root, schema);
            return self.fault(path, Fault::WrongKind { found: describe(&node.value), expected });
        };
        match &node.value {
            Value::Table(_) => self.check_table(node, first, path),
            Value::List(nodes) => self.check_list(nodes, first, path),
            Value::Integer(number) => self.check_range(*number as f64, first, path),
            Value::Real(number) => self.check_range(*number, first, path),
            Value::Text(text) => {
                let words: Vec<&str> = fitting.iter().flat_map(|one| words_of(one)).collect();
                let is_free = fitting.iter().any(|one| words_of(one).is_empty());
                if !is_free && !words.contains(&text.as_str()) {
                    let problem = format!("\"{}\" is not known here", shortened(text));
                    let cure = match nearest(text, words.iter().copied()) {
                        Some(word) => format!("Did you mean \"{word}\"?"),
                        None => format!("Write {}", expectation(self.root, schema)),
                    };
                    self.fault(path, Fault::value(problem, cure));
                }
            }
            Value::Null | Value::Boolean(_) | Value::Date(_) => {}
        }
    }

    fn check_table(&mut self, node: &Node, schema: &'a Json, path: &mut Vec<Step>) {
        let Value::Table(entries) = &node.value else { return };
        let Some(properties) = schema["properties"].as_object() else { return };
        for entry in entries {
            path.push(Step::Key(entry.key.clone()));
            match properties.get(&entry.key) {
                Some(below) => self.check(&entry.node, below, path),
                None => {
                    let known: Vec<String> = properties.keys().cloned().collect();
                    let nearest = nearest(&entry.key, known.iter().map(String::as_str)).map(str::to_owned);
                    let mut shown = path.clone();
                    shown.pop();
                    shown.push(Step::Key(shortened(&entry.key)));
                    let place = self.document.place_of_key(&shown, &entry.key_span);
                    self.errors.push(JobFileError::new(place, Fault::UnknownKey { nearest, known }));
                }
            }
            path.pop();
        }
        for key in schema["required"].as_array().into_iter().flatten().filter_map(Json::as_str) {
            if node.get(key).is_none_or(|entry| entry.node.value == Value::Null) {
                let example = properties[key]["examples"][0].clone();
                let example = (!example.is_null()).then(|| format!("`{}`", super::docs::toml_line(key, &example)));
                self.fault(path, Fault::MissingKey { key: key.to_owned(), example });
            }
        }
    }

    fn check_list(&mut self, nodes: &[Node], schema: &'a Json, path: &mut Vec<Step>) {
        let (least, most) = (schema["minItems"].as_u64(), schema["maxItems"].as_u64());
        let count = nodes.len() as u64;
        if least.is_some_and(|least| count < least) || most.is_some_and(|most| count > most) {
            let problem = match nodes.len() {
                0 => "is an empty list".to_owned(),
                1 => "is a list of one entry".to_owned(),
                many => format!("is a list of {many} entries"),
            };
            let cure = match (least, most) {
                (Some(least), Some(most)) if least == most => format!("It must have exactly {least}"),
                (Some(least), Some(most)) => format!("It must have {least} to {most}"),
                (Some(1), None) => "It must have at least one; leave the key out if there is none".to_owned(),
                (Some(least), None) => format!("It must have at least {least}"),
                (None, most) => format!("It may have at most {}", most.unwrap_or_default()),
            };
            return self.fault(path, Fault::value(problem, cure));
        }
        for (index, node) in nodes.iter().enumerate() {
            path.push(Step::Index(index));
            self.check(node, &schema["items"], path);
            path.pop();
        }
    }

    fn check_range(&mut self, number: f64, schema: &'a Json, path: &[Step]) {
        let (least, most) = (schema["minimum"].as_f64(), schema["maximum"].as_f64());
        if least.is_some_and(|least| number < least) || most.is_some_and(|most| number > most) {
            let cure = match (least, most) {
                (Some(least), Some(most)) => format!("It must be from {least} to {most}"),
                (Some(least), None) => format!("It must be at least {least}"),
                (None, most) => format!("It may be at most {}", most.unwrap_or_default()),
            };
            self.fault(path, Fault::value(format!("is {number}"), cure));
        }
    }

    fn fault(&mut self, path: &[Step], fault: Fault) {
        self.errors.push(JobFileError::new(self.document.place(path), fault));
    }
}

/// The plain schemas that a schema stands for: references followed, choices laid out flat, "or nothing" left out.
pub(super) fn alternatives<'a>(root: &'a Json, schema: &'a Json) -> Vec<&'a Json> {
    if let Some(name) = schema["$ref"].as_str().and_then(|reference| reference.strip_prefix("#/$defs/")) {
        return alternatives(root, &root["$defs"][name]);
    }
    match schema["anyOf"].as_array().or(schema["oneOf"].as_array()) {
        Some(choices) => choices
            .iter()
            .flat_map(|choice| alternatives(root, choice))
            .filter(|choice| choice["type"] != "null")
            .collect(),
        None => vec![schema],
    }
}

/// Whether null stands for a key that was left out.
pub(super) fn allows_nothing(schema: &Json) -> bool {
    types_of(schema).contains(&"null")
        || schema["anyOf"].as_array().is_some_and(|choices| choices.iter().any(|choice| choice["type"] == "null"))
}

fn types_of(schema: &Json) -> Vec<&str> {
    match &schema["type"] {
        Json::String(name) => vec![name],
        Json::Array(names) => names.iter().filter_map(Json::as_str).collect(),
        // A list of words, or a single one, needs no type beside it.
        _ if !words_of(schema).is_empty() => vec!["string"],
        _ => Vec::new(),
    }
}

fn words_of(schema: &Json) -> Vec<&str> {
    match (&schema["enum"], &schema["const"]) {
        (Json::Array(words), _) => words.iter().filter_map(Json::as_str).collect(),
        (_, Json::String(word)) => vec![word],
        _ => Vec::new(),
    }
}

fn accepts_kind(schema: &Json, value: &Value) -> bool {
    types_of(schema).iter().any(|name| match value {
        Value::Null => false,
        Value::Boolean(_) => *name == "boolean",
        Value::Integer(_) => *name == "integer" || *name == "number",
        Value::Real(_) => *name == "number",
        Value::Text(_) => *name == "string",
        Value::Date(_) => false,
        Value::List(_) => *name == "array",
        Value::Table(_) => *name == "object",
    })
}

/// What a schema asks for, in words: its title where it has one, since "a length" says more than "a number or a text".
pub(super) fn expectation(root: &Json, schema: &Json) -> String {
    if let Some(name) = schema["$ref"].as_str().and_then(|reference| reference.strip_prefix("#/$defs/")) {
        return expectation(root, &root["$defs"][name]);
    }
    if let Some(title) = schema["title"].as_str() {
        return title.to_owned();
    }
    if let Some(choices) = schema["anyOf"].as_array().or(schema["oneOf"].as_array()) {
        let choices: Vec<&Json> = choices.iter().filter(|choice| choice["type"] != "null").collect();
        return either(choices.into_iter().map(|choice| expectation(root, choice)));
    }
    let words = words_of(schema);
    if !words.is_empty() {
        return either(words.iter().map(|word| format!("\"{word}\"")));
    }
    either(types_of(schema).into_iter().filter(|name| *name != "null").map(|name| {
        match name {
            "string" => "a text in quotes",
            "integer" => "a whole number",
            "number" => "a number",
            "boolean" => "true or false",
            "array" => "a list in [ ]",
            "object" => "a table of keys",
            other => other,
        }
        .to_owned()
    }))
}

fn either(choices: impl Iterator<Item = String>) -> String {
    let mut choices: Vec<String> = choices.collect();
    choices.dedup();
    match choices.split_last() {
        None => "nothing".to_owned(),
        Some((last, [])) => last.clone(),
        Some((last, others)) => format!("{} or {last}", others.join(", ")),
    }
}

fn describe(value: &Value) -> String {
    match value {
        Value::Null => "null".to_owned(),
        Value::Boolean(value) => format!("{value}"),
        Value::Integer(number) => format!("the number {number}"),
        Value::Real(number) => format!("the number {number:?}"),
        Value::Text(text) => format!("the text \"{}\"", shortened(text)),
        Value::Date(date) => format!("the date {date}"),
        Value::List(_) => "a list".to_owned(),
        Value::Table(_) => "a table of keys".to_owned(),
    }
}

#[cfg(test)]
mod tests;
