//! Slips of a tired hand that TOML cannot name: the line to write instead.

use dropwise_geometry::{Unit, parse_length};

/// The value to write, if the line holds a value that is a length or a gauge without its quotes, or a number with a decimal
/// comma: `width = "12 3/8"`.
pub(super) fn line_to_write(line: &str) -> Option<String> {
    let mut rest = line;
    let mut taken = 0;
    while let Some(equals) = rest.find('=') {
        let before = &line[..taken + equals];
        // Behind a remark, or within a text, nothing is set.
        if before.contains('#') || before.matches('"').count() % 2 == 1 {
            return None;
        }
        let key = key_before(before);
        let value = rest[equals + 1..].trim_start();
        if value.starts_with('#') {
            return None;
        }
        if let Some(instead) = instead_of(value).filter(|_| !key.is_empty()) {
            return Some(format!("{key} = {instead}"));
        }
        taken += equals + 1;
        rest = &line[taken..];
    }
    None
}

/// The bare key at the end of a text.
fn key_before(text: &str) -> &str {
    text.trim_end().rsplit(|c: char| !(c.is_ascii_alphanumeric() || c == '_')).next().unwrap_or_default()
}

/// What to write instead of a value that begins here.
fn instead_of(value: &str) -> Option<String> {
    if !value.starts_with(|c: char| c.is_ascii_digit() || c == '.') {
        return None;
    }
    if let Some(number) = decimal_comma(value) {
        return Some(number);
    }
    let end = value.find([',', '}', ']', '#', '\n']).unwrap_or(value.len());
    let value = value[..end].trim();
    // Numbers stand as they are; a length with a word or a fraction in it wants quotes.
    let is_number = value.replace('_', "").parse::<f64>().is_ok();
    (!is_number && is_length_or_gauge(value)).then(|| quoted(value))
}

/// `12,5` before the end of its value; a list's comma has a blank or no digit behind it.
fn decimal_comma(value: &str) -> Option<String> {
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let whole = digits(value);
    let fraction = value[whole..].strip_prefix(',').map_or(0, digits);
    let behind = value[whole..].get(1 + fraction..)?.trim_start();
    let is_ended = behind.is_empty() || behind.starts_with([',', '}', '#']);
    (whole > 0 && fraction > 0 && is_ended)
        .then(|| format!("{}.{}", &value[..whole], &value[whole + 1..=whole + fraction]))
}

fn is_length_or_gauge(value: &str) -> bool {
    let lower = value.to_ascii_lowercase();
    let gauge = ["gauge", "gage", "ga"].iter().find_map(|word| lower.strip_suffix(word));
    let is_gauge = gauge.is_some_and(|number| number.trim().parse::<u32>().is_ok());
    is_gauge || parse_length(value, Unit::Inch).is_ok()
}

fn quoted(value: &str) -> String {
    if !value.contains('"') {
        format!("\"{value}\"")
    } else if !value.contains('\'') {
        format!("'{value}'")
    } else {
        format!("\"{}\"", value.replace('"', "\\\""))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_without_quotes() {
        for (line, wanted) in [
            ("rectangle = { width = 12 3/8, height = 4 }", "width = \"12 3/8\""),
            ("rectangle = { width = 12-3/8, height = 4 }", "width = \"12-3/8\""),
            ("thickness = 16 ga", "thickness = \"16 ga\""),
            ("thickness = 1/8   # plate", "thickness = \"1/8\""),
            ("height = 3.2mm", "height = \"3.2mm\""),
            ("height = 4'", "height = \"4'\""),
            ("height = 4\"", "height = '4\"'"),
            ("height = 2' 3\"", "height = \"2' 3\\\"\""),
            ("width = 12,5", "width = 12.5"),
            ("r = { width = 12,5, height = 4 }", "width = 12.5"),
        ] {
            assert_eq!(line_to_write(line).as_deref(), Some(wanted), "{line}");
            // What is told to write is TOML.
            let read: Result<toml::Table, _> = wanted.parse();
            assert!(read.is_ok(), "{wanted}");
        }
    }

    #[test]
    fn lines_that_are_something_else() {
        for line in
            ["name = \"a = 3/4\"", "at = [1,5]", "quantity = 12", "# width = 12 3/8", "x = 1_000", "= 3/4", "a ==", ""]
        {
            assert_eq!(line_to_write(line), None, "{line}");
        }
    }

    proptest::proptest! {
        #[test]
        fn any_line_is_looked_at_without_a_panic(line in "\\PC{0,60}") {
            let _ = line_to_write(&line);
        }
    }
}
