//! A job file as a tree of values that know where they stand, whether it was written in TOML or in JSON.

use std::ops::Range;
use std::path::{Path, PathBuf};

use super::error::{Fault, JobFileError, Place};

/// A value and the bytes it was written in.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Node {
    pub(crate) span: Range<usize>,
    pub(crate) value: Value,
}

/// What a value is.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Value {
    Null,
    Boolean(bool),
    Integer(i64),
    /// A number with a fraction or an exponent, or out of range of an integer; may be infinite or NaN.
    Real(f64),
    Text(String),
    /// A date or time, which TOML knows and nothing here wants.
    Date(String),
    List(Vec<Node>),
    Table(Vec<Entry>),
}

/// A key, where it stands, and its value.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Entry {
    pub(crate) key: String,
    pub(crate) key_span: Range<usize>,
    pub(crate) node: Node,
}

/// One step down the tree.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Step {
    Key(String),
    /// An entry of a list, counted from 0.
    Index(usize),
}

impl Node {
    pub(crate) fn get(&self, key: &str) -> Option<&Entry> {
        match &self.value {
            Value::Table(entries) => entries.iter().find(|entry| entry.key == key),
            _ => None,
        }
    }

    /// The tree as plain JSON. Numbers that JSON cannot write become null; the structure check refuses them first.
    pub(crate) fn to_json(&self) -> serde_json::Value {
        use serde_json::Value as Json;
        match &self.value {
            Value::Null => Json::Null,
            Value::Boolean(value) => (*value).into(),
            Value::Integer(value) => (*value).into(),
            Value::Real(value) => (*value).into(),
            Value::Text(text) | Value::Date(text) => text.clone().into(),
            Value::List(nodes) => nodes.iter().map(Self::to_json).collect(),
            Value::Table(entries) => entries.iter().map(|entry| (entry.key.clone(), entry.node.to_json())).collect(),
        }
    }
}

/// A job file that was parsed.
#[derive(Clone, Debug)]
pub(crate) struct Document {
    file: PathBuf,
    text: String,
    pub(crate) root: Node,
}

impl Document {
    /// Parses a job file: JSON when the name ends in `.json` or the text starts with a brace, else TOML.
    ///
    /// # Errors
    /// All faults of syntax that the parser can tell apart.
    pub(crate) fn parse(file: &Path, text: &str) -> Result<Self, Vec<JobFileError>> {
        // An editor may leave a byte order mark; neither format knows it.
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let is_json = file.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("json"))
            || text.trim_start().starts_with('{');
        let parsed = if is_json { super::json_tree::parse(text) } else { super::toml_tree::parse(text) };
        match parsed {
            Ok(root) => Ok(Self { file: file.to_owned(), text: text.to_owned(), root }),
            Err(faults) => Err(faults
                .into_iter()
                .map(|(span, fault)| {
                    let (line, column) = line_and_column(text, span.start);
                    let place = Place { line: Some(line), column: Some(column), ..Place::file(file) };
                    JobFileError::new(place, fault)
                })
                .collect()),
        }
    }

    pub(crate) fn file(&self) -> &Path {
        &self.file
    }

    pub(crate) fn text(&self) -> &str {
        &self.text
    }

    /// The place of the value at a path, or of the nearest value above it; the path is told in full.
    pub(crate) fn place(&self, path: &[Step]) -> Place {
        self.place_within(path, 0)
    }

    /// The place of a character in the text value at a path, counted from 0. Points at the whole value where the
    /// text was written with escapes or over several lines, since characters cannot be counted off then.
    pub(crate) fn place_within(&self, path: &[Step], character: usize) -> Place {
        let (node, key_span) = self.deepest(path);
        let mut offset = node.map_or(0, |node| node.span.start);
        let is_whole_path = node.is_some();
        if !is_whole_path && let Some(span) = key_span {
            offset = span.start;
        }
        if let Some(Node { span, value: Value::Text(text) }) = node {
            let written = self.text.get(span.clone()).unwrap_or_default();
            if character > 0 && written.get(1..written.len().saturating_sub(1)) == Some(text) {
                offset = span.start + 1 + text.chars().take(character).map(char::len_utf8).sum::<usize>();
            }
        }
        let (line, column) = line_and_column(&self.text, offset);
        Place { file: self.file.clone(), line: Some(line), column: Some(column), key: self.path_in_words(path) }
    }

    /// The place of a key rather than of its value.
    pub(crate) fn place_of_key(&self, path: &[Step], span: &Range<usize>) -> Place {
        let (line, column) = line_and_column(&self.text, span.start);
        Place { file: self.file.clone(), line: Some(line), column: Some(column), key: self.path_in_words(path) }
    }

    /// The node at a path, and the last key passed on the way to it or to the point where the way ends.
    fn deepest(&self, path: &[Step]) -> (Option<&Node>, Option<Range<usize>>) {
        let mut node = &self.root;
        let mut span = None;
        for step in path {
            let next = match (step, &node.value) {
                (Step::Key(key), Value::Table(_)) => node.get(key).map(|entry| (&entry.node, entry.key_span.clone())),
                (Step::Index(index), Value::List(nodes)) => nodes.get(*index).map(|node| (node, node.span.clone())),
                _ => None,
            };
            let Some((below, at)) = next else { return (None, span) };
            node = below;
            span = Some(at);
        }
        (Some(node), span)
    }

    /// `parts[3] "bracket": rectangle.width`
    fn path_in_words(&self, path: &[Step]) -> String {
        let mut words = String::new();
        let mut node = Some(&self.root);
        for step in path {
            match step {
                Step::Key(key) => {
                    if !words.is_empty() {
                        words.push_str(if words.ends_with('"') { ": " } else { "." });
                    }
                    words.push_str(key);
                    node = node.and_then(|node| node.get(key)).map(|entry| &entry.node);
                }
                Step::Index(index) => {
                    words.push_str(&format!("[{}]", index + 1));
                    node = node.and_then(|node| match &node.value {
                        Value::List(nodes) => nodes.get(*index),
                        _ => None,
                    });
                    // Parts, sheets and flanges have names of their own; what is cut out of a face names the face.
                    let name = node.and_then(|node| node.get("name").or_else(|| node.get("face")));
                    if let Some(Value::Text(name)) = name.map(|entry| &entry.node.value) {
                        words.push_str(&format!(" \"{}\"", shortened(name)));
                    }
                }
            }
        }
        words
    }
}

/// A text from a file as a message may show it: no line breaks or other control characters, at most 60 characters.
pub(crate) fn shortened(text: &str) -> String {
    let mut short: String = text.chars().take(60).flat_map(char::escape_debug).collect();
    if text.chars().nth(60).is_some() {
        short.push('…');
    }
    // Quotation marks need no escape in a message.
    short.replace("\\'", "'").replace("\\\"", "\"")
}

/// Line and character of a byte offset, both from 1.
pub(crate) fn line_and_column(text: &str, offset: usize) -> (usize, usize) {
    let mut offset = offset.min(text.len());
    while !text.is_char_boundary(offset) {
        offset -= 1;
    }
    let before = &text[..offset];
    let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
    (before.matches('\n').count() + 1, before[line_start..].chars().count() + 1)
}

/// Faults with the bytes they concern.
pub(super) type SyntaxFaults = Vec<(Range<usize>, Fault)>;
