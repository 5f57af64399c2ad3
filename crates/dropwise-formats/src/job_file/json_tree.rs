//! JSON text as a tree of values that know where they stand.

use jsonc_parser::ast::{Object, Value as Ast};
use jsonc_parser::common::Ranged;
use jsonc_parser::{CollectOptions, ParseOptions, parse_to_ast};

use super::error::Fault;
use super::tree::{Entry, Node, SyntaxFaults, Value};

/// JSON as RFC 8259 has it, without comments or other liberties.
const STRICT: ParseOptions = ParseOptions {
    allow_comments: false,
    allow_loose_object_property_names: false,
    allow_trailing_commas: false,
    allow_missing_commas: false,
    allow_single_quoted_strings: false,
    allow_hexadecimal_numbers: false,
    allow_unary_plus_numbers: false,
    allow_bare_decimal_point_numbers: false,
    allow_non_finite_numbers: false,
    allow_extended_string_escapes: false,
};

/// Parses JSON; the first fault ends it.
pub(super) fn parse(text: &str) -> Result<Node, SyntaxFaults> {
    let parsed = parse_to_ast(text, &CollectOptions::default(), &STRICT).map_err(|error| {
        let range = error.range();
        let message = format!("this is not JSON: {}", error.kind());
        vec![(range.start..range.end, Fault::Syntax { message })]
    })?;
    match parsed.value {
        Some(ast) => {
            let mut faults = Vec::new();
            let root = node(&ast, &mut faults);
            if faults.is_empty() { Ok(root) } else { Err(faults) }
        }
        None => Err(vec![(0..0, Fault::Syntax { message: "this is not JSON: there is nothing in it".to_owned() })]),
    }
}

fn node(ast: &Ast<'_>, faults: &mut SyntaxFaults) -> Node {
    let span = ast.range().start..ast.range().end;
    let value = match ast {
        Ast::NullKeyword(_) => Value::Null,
        Ast::BooleanLit(literal) => Value::Boolean(literal.value),
        Ast::StringLit(literal) => Value::Text(literal.value.to_string()),
        Ast::NumberLit(literal) => match literal.value.parse::<i64>() {
            Ok(number) => Value::Integer(number),
            // Digits that overflow parse as infinity, which the structure check refuses.
            Err(_) => Value::Real(literal.value.parse().unwrap_or(f64::NAN)),
        },
        Ast::Array(array) => Value::List(array.elements.iter().map(|element| node(element, faults)).collect()),
        Ast::Object(object) => Value::Table(entries(object, faults)),
    };
    Node { span, value }
}

fn entries(object: &Object<'_>, faults: &mut SyntaxFaults) -> Vec<Entry> {
    let mut entries: Vec<Entry> = Vec::with_capacity(object.properties.len());
    let mut seen = std::collections::HashSet::new();
    for property in &object.properties {
        let key = property.name.as_str().to_owned();
        let range = property.name.range();
        let key_span = range.start..range.end;
        if !seen.insert(key.clone()) {
            let message = format!("the key `{}` stands twice; keep one of them", super::tree::shortened(&key));
            faults.push((key_span, Fault::Syntax { message }));
            continue;
        }
        entries.push(Entry { key, key_span, node: node(&property.value, faults) });
    }
    entries
}
