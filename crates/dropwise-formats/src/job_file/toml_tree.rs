//! TOML text as a tree of values that know where they stand.

use std::ops::Range;

use toml::de::{DeTable, DeValue};

use super::error::Fault;
use super::tree::{Entry, Lines, Node, SyntaxFaults, Value};

/// Parses TOML, reporting as many faults as the parser recovers from.
pub(super) fn parse(text: &str) -> Result<Node, SyntaxFaults> {
    let (table, errors) = DeTable::parse_recoverable(text);
    if !errors.is_empty() {
        if let Some(first) = start_without_keys(text) {
            return Err(vec![(first..first, Fault::NoKeys)]);
        }
        let lines = Lines::of(text);
        let mut faults: SyntaxFaults = Vec::new();
        for error in &errors {
            let span = error.span().unwrap_or(0..0);
            let (line, _) = lines.place(text, span.start);
            // One slip often upsets the parser several times over; the first of a line tells the tale.
            if faults.iter().all(|(other, _)| lines.place(text, other.start).0 != line) {
                let mut message = format!("this is not TOML: {}", error.message().replace('\n', ", "));
                if let Some(instead) = line_at(text, span.start).and_then(super::slips::line_to_write) {
                    message.push_str(&format!(". Write {instead}"));
                }
                faults.push((span, Fault::Syntax { message }));
            }
            if faults.len() == 20 {
                break;
            }
        }
        return Err(faults);
    }
    let mut faults = Vec::new();
    let span = table.span();
    let root = table_node(span, table.get_ref(), &mut faults);
    if faults.is_empty() { Ok(root) } else { Err(faults) }
}

/// The line that holds a place, without its end.
fn line_at(text: &str, offset: usize) -> Option<&str> {
    let start = text.get(..offset)?.rfind('\n').map_or(0, |at| at + 1);
    text[start..].lines().next()
}

/// Where the first line begins that says anything, if none of those that do could belong to TOML: no line sets a key or opens
/// a table. One fault for each of them would tell less than one for all.
fn start_without_keys(text: &str) -> Option<usize> {
    let mut first = None;
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let said = line.trim();
        if said.contains('=') || said.starts_with('[') {
            return None;
        }
        if !said.is_empty() && !said.starts_with('#') {
            first = first.or(Some(start));
        }
        start += line.len();
    }
    first
}

fn table_node(span: Range<usize>, table: &DeTable<'_>, faults: &mut SyntaxFaults) -> Node {
    let mut entries: Vec<Entry> = table
        .iter()
        .map(|(key, value)| Entry {
            key: key.get_ref().to_string(),
            key_span: key.span(),
            node: node(value.span(), value.get_ref(), faults),
        })
        .collect();
    // The parser sorts keys; people read from the top.
    entries.sort_by_key(|entry| entry.key_span.start);
    Node { span, value: Value::Table(entries) }
}

fn node(span: Range<usize>, value: &DeValue<'_>, faults: &mut SyntaxFaults) -> Node {
    let value = match value {
        DeValue::String(text) => Value::Text(text.to_string()),
        DeValue::Boolean(value) => Value::Boolean(*value),
        DeValue::Datetime(date) => Value::Date(date.to_string()),
        DeValue::Integer(number) => {
            let digits = number.as_str();
            match i64::from_str_radix(digits, number.radix()) {
                Ok(value) => Value::Integer(value),
                Err(_) => {
                    let message = format!("the number {} has too many digits", super::tree::shortened(digits));
                    faults.push((span.clone(), Fault::Syntax { message }));
                    Value::Null
                }
            }
        }
        // Digits that overflow parse as infinity, which the structure check refuses.
        DeValue::Float(number) => Value::Real(number.as_str().parse().unwrap_or(f64::NAN)),
        DeValue::Array(nodes) => {
            Value::List(nodes.iter().map(|value| node(value.span(), value.get_ref(), faults)).collect())
        }
        DeValue::Table(table) => return table_node(span, table, faults),
    };
    Node { span, value }
}
