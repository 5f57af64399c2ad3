//! The JSON Schema and the written reference, both made from the types.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::sync::LazyLock;

use serde_json::Value as Json;

use super::structure::{allows_nothing, alternatives, expectation};
use super::types::{JobFile, StripFile};

/// The JSON Schema of the job file (draft 2020-12), for editors and for checks.
#[must_use]
pub fn job_schema() -> &'static Json {
    static SCHEMA: LazyLock<Json> = LazyLock::new(|| schemars::schema_for!(JobFile).to_value());
    &SCHEMA
}

/// The JSON Schema of the file of test strips.
#[must_use]
pub fn strip_schema() -> &'static Json {
    static SCHEMA: LazyLock<Json> = LazyLock::new(|| schemars::schema_for!(StripFile).to_value());
    &SCHEMA
}

/// The reference of the file of test strips, as Markdown: `docs/test-strips.md`.
#[must_use]
pub fn strip_reference() -> String {
    let preface =
        Preface { title: "Test strips", text: include_str!("strips.md"), root: "The file as a whole", is_toml: true };
    reference(strip_schema(), &preface)
}

/// What a reference says before its tables.
pub(crate) struct Preface {
    pub(crate) title: &'static str,
    pub(crate) text: &'static str,
    pub(crate) root: &'static str,
    pub(crate) is_toml: bool,
}

/// The reference of all tables and keys, as Markdown: `docs/job-file.md`.
#[must_use]
pub fn job_reference() -> String {
    let preface =
        Preface { title: "The job file", text: include_str!("preface.md"), root: "The file as a whole", is_toml: true };
    reference(job_schema(), &preface)
}

/// A reference of a schema: each table once, in the order in which the keys lead to it.
pub(crate) fn reference(schema: &Json, preface: &Preface) -> String {
    let mut page = format!(
        "<!-- Generated from the types: change their doc comments, not this page. -->\n\n# {}\n\n{}\n",
        preface.title,
        preface.text.trim_end()
    );
    let mut seen = BTreeSet::new();
    let mut tables: Vec<(String, &Json)> = vec![(preface.root.to_owned(), schema)];
    let mut next = 0;
    while let Some((name, table)) = tables.get(next).cloned() {
        next += 1;
        let _ = write!(page, "\n## {name}\n\n{}\n", paragraph(&table["description"]));
        let required: Vec<&str> = table["required"].as_array().into_iter().flatten().filter_map(Json::as_str).collect();
        for (key, property) in table["properties"].as_object().into_iter().flatten() {
            let need = match (preface.is_toml, allows_nothing(property)) {
                (false, true) => " or null",
                (false, false) => "",
                (true, _) if required.contains(&key.as_str()) => "; required",
                (true, _) => "",
            };
            let kind = expectation(schema, property);
            let _ = write!(page, "\n### `{key}`\n\n*{kind}{}{need}*\n", limits(schema, property));
            let _ = write!(page, "\n{}", paragraph(&property["description"]));
            for (title, below) in tables_below(schema, property) {
                let _ = write!(page, " See [{title}](#{}).", anchor(&title));
                if seen.insert(title.clone()) {
                    tables.push((title, below));
                }
            }
            page.push('\n');
            if let Some(example) = property["examples"].get(0) {
                let (language, line) = match preface.is_toml {
                    true => ("toml", toml_line(key, example)),
                    false => ("json", format!("\"{key}\": {example}")),
                };
                let _ = write!(page, "\n```{language}\n{line}\n```\n");
            }
        }
    }
    page
}

/// The tables that a key may hold, with their names.
fn tables_below<'a>(root: &'a Json, schema: &'a Json) -> Vec<(String, &'a Json)> {
    let mut found = Vec::new();
    for one in alternatives(root, schema) {
        if one["properties"].is_object() {
            let name = root["$defs"].as_object().into_iter().flatten().find(|(_, table)| std::ptr::eq(*table, one));
            // The tables of a choice have no names of their own, but a word that tells them apart.
            let tag = || format!("Reason {}", one["properties"]["kind"]["const"].as_str().unwrap_or("table"));
            found.push((name.map_or_else(tag, |(name, _)| in_words(name)), one));
        }
        if one["items"].is_object() {
            found.extend(tables_below(root, &one["items"]));
        }
    }
    found
}

/// "LShape" as "L shape", "PartKeys" and "PartEntry" as "Part".
fn in_words(type_name: &str) -> String {
    let mut words = String::new();
    let name = type_name.strip_suffix("Keys").or(type_name.strip_suffix("Entry")).unwrap_or(type_name);
    for letter in name.chars() {
        if letter.is_uppercase() && !words.is_empty() {
            words.push(' ');
            words.extend(letter.to_lowercase());
        } else {
            words.push(letter);
        }
    }
    words
}

fn anchor(title: &str) -> String {
    title.to_lowercase().replace(' ', "-")
}

fn paragraph(description: &Json) -> String {
    // A break inside a paragraph is where the source line ended.
    description
        .as_str()
        .unwrap_or_default()
        .split("\n\n")
        .map(|p| p.replace('\n', " "))
        .collect::<Vec<_>>()
        .join("\n\n")
}

fn limits(root: &Json, schema: &Json) -> String {
    let mut words = String::new();
    for one in alternatives(root, schema) {
        if let (Some(least), Some(most)) = (one["minimum"].as_f64(), one["maximum"].as_f64()) {
            let _ = write!(words, ", from {least} to {most}");
        }
        match (one["minItems"].as_u64(), one["maxItems"].as_u64()) {
            (Some(least), Some(most)) if least == most => drop(write!(words, ", of {least} entries")),
            (Some(least), Some(most)) => drop(write!(words, ", of {least} to {most} entries")),
            (None, Some(most)) => drop(write!(words, ", of at most {most} entries")),
            _ => {}
        }
    }
    words
}

/// `key = value` in TOML.
pub(crate) fn toml_line(key: &str, value: &Json) -> String {
    format!("{key} = {}", toml_value(value))
}

fn toml_value(value: &Json) -> String {
    match value {
        Json::Array(values) => format!("[{}]", values.iter().map(toml_value).collect::<Vec<_>>().join(", ")),
        Json::Object(table) => {
            let lines: Vec<String> = table.iter().map(|(key, value)| toml_line(key, value)).collect();
            format!("{{ {} }}", lines.join(", "))
        }
        // TOML's other values are written as JSON's are.
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// All tables of the job file, with their names.
    fn tables() -> Vec<(String, &'static Json)> {
        let schema = job_schema();
        let below = schema["$defs"].as_object().into_iter().flatten().map(|(name, table)| (name.clone(), table));
        std::iter::once(("JobFile".to_owned(), schema)).chain(below).collect()
    }

    #[test]
    fn every_key_has_a_text_and_an_example_that_is_right() {
        let (mut count, mut faults) = (0, Vec::new());
        for (name, table) in tables() {
            for (key, property) in table["properties"].as_object().into_iter().flatten() {
                count += 1;
                if property["description"].as_str().is_none_or(str::is_empty) {
                    faults.push(format!("{name}.{key} has no text"));
                }
                let mut rules = property.clone();
                rules["$defs"] = job_schema()["$defs"].clone();
                let validator = jsonschema::validator_for(&rules).expect("a schema");
                match property["examples"].get(0) {
                    None => faults.push(format!("{name}.{key} has no example")),
                    Some(example) if !validator.is_valid(example) => faults.push(format!("{name}.{key}: {example}")),
                    Some(_) => {}
                }
            }
        }
        assert!(faults.is_empty(), "{faults:#?}");
        assert!(count > 100, "only {count} keys were looked at");
    }

    #[test]
    fn examples_are_written_as_toml_that_reads_back() {
        let mut count = 0;
        for (name, table) in tables() {
            for (key, property) in table["properties"].as_object().into_iter().flatten() {
                let line = toml_line(key, &property["examples"][0]);
                let read: Json = toml::from_str(&line).unwrap_or_else(|error| panic!("{name}.{key}: {line}: {error}"));
                assert_eq!(read[key], property["examples"][0], "{line}");
                count += 1;
            }
        }
        assert!(count > 100);
    }

    #[test]
    fn every_table_is_closed_and_reached_by_the_reference() {
        let page = job_reference();
        for (name, table) in tables() {
            if table["properties"].is_object() {
                assert_eq!(table["additionalProperties"], Json::Bool(false), "{name} lets any key in");
                let title = if name == "JobFile" { "The file as a whole".to_owned() } else { in_words(&name) };
                assert!(page.contains(&format!("\n## {title}\n")), "{title} is missing");
            }
        }
    }
}
