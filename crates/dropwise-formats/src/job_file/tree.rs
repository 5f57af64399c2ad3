//! A job file as a tree of values that know where they stand, whether it was written in TOML or in JSON.

use std::ops::Range;
use std::path::{Path, PathBuf};

use super::error::{Fault, JobFileError, Place};
pub(crate) use dropwise_geometry::shortened;

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
    lines: Lines,
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
            Ok(root) => Ok(Self { file: file.to_owned(), text: text.to_owned(), lines: Lines::of(text), root }),
            Err(faults) => {
                let lines = Lines::of(text);
                let error = |(span, fault): (Range<usize>, Fault)| {
                    let (line, column) = lines.place(text, span.start);
                    let place = Place { line: Some(line), column: Some(column), ..Place::file(file) };
                    JobFileError::new(place, fault)
                };
                Err(faults.into_iter().map(error).collect())
            }
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
        let (line, column) = self.lines.place(&self.text, offset);
        Place { file: self.file.clone(), line: Some(line), column: Some(column), key: self.path_in_words(path) }
    }

    /// The place of a key rather than of its value.
    pub(crate) fn place_of_key(&self, path: &[Step], span: &Range<usize>) -> Place {
        let (line, column) = self.lines.place(&self.text, span.start);
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

/// Bytes from one mark of [`Lines`] to the next.
const STRIDE: usize = 1024;

/// Where the lines of a text begin, and how many letters stand before every so many bytes: line and column of any place are
/// then found without counting from the start of the text, or of a line that is as long as the text.
#[derive(Clone, Debug)]
pub(crate) struct Lines {
    /// Byte at which each line begins.
    starts: Vec<usize>,
    /// Letters before byte 0, [`STRIDE`], twice that and so on.
    letters: Vec<usize>,
}

impl Lines {
    pub(crate) fn of(text: &str) -> Self {
        let newlines = text.bytes().enumerate().filter(|&(_, byte)| byte == b'\n');
        let starts = std::iter::once(0).chain(newlines.map(|(at, _)| at + 1)).collect();
        let mut letters = vec![0];
        for chunk in text.as_bytes().chunks(STRIDE) {
            letters.push(letters[letters.len() - 1] + letters_in(chunk));
        }
        Self { starts, letters }
    }

    /// Line and column of a byte of the text, both from 1.
    pub(crate) fn place(&self, text: &str, offset: usize) -> (usize, usize) {
        let mut offset = offset.min(text.len());
        while !text.is_char_boundary(offset) {
            offset -= 1;
        }
        let line = self.starts.partition_point(|&start| start <= offset);
        let start = self.starts[line - 1];
        (line, self.letters_before(text, offset) - self.letters_before(text, start) + 1)
    }

    fn letters_before(&self, text: &str, offset: usize) -> usize {
        let mark = offset / STRIDE;
        self.letters[mark] + letters_in(&text.as_bytes()[mark * STRIDE..offset])
    }
}

/// Letters that begin in some bytes of UTF-8.
fn letters_in(bytes: &[u8]) -> usize {
    bytes.iter().filter(|&&byte| byte & 0xC0 != 0x80).count()
}

/// Faults with the bytes they concern.
pub(super) type SyntaxFaults = Vec<(Range<usize>, Fault)>;

#[cfg(test)]
mod tests {
    use super::*;

    /// Line and column by counting from the start of the text.
    fn counted(text: &str, offset: usize) -> (usize, usize) {
        let before = &text[..offset];
        let line = before.rsplit('\n').next().unwrap_or_default();
        (before.matches('\n').count() + 1, line.chars().count() + 1)
    }

    #[test]
    fn places_are_those_that_counting_finds() {
        let long = "é支x".repeat(2000);
        for text in ["", "\n", "a\nb", "支\r\n架\n", &long, &format!("{long}\n\n{long}\n")] {
            let lines = Lines::of(text);
            for (offset, _) in text.char_indices().step_by(if text.len() > 100 { 37 } else { 1 }) {
                assert_eq!(lines.place(text, offset), counted(text, offset), "{offset}");
            }
            assert_eq!(lines.place(text, text.len()), counted(text, text.len()));
            assert_eq!(lines.place(text, usize::MAX), counted(text, text.len()));
        }
        // Within a letter: the place of the letter.
        assert_eq!(Lines::of("a支b").place("a支b", 2), (1, 2));
    }
}
