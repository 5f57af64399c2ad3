//! Words made safe for a line of a DXF file.

/// Longest text, in characters of the file: what a TEXT holds in every version.
pub(super) const LONGEST: usize = 250;

/// A name as one line of printable ASCII that means nothing but itself to a DXF reader.
///
/// - Letters outside ASCII become `\U+XXXX`, as the format has it for versions without Unicode; those beyond the
///   basic plane, such as emoji, have no such form and become `?`.
/// - Line ends, tabs and runs of blanks become one blank; control and direction marks go.
/// - A backslash becomes `/`, braces become parentheses, a caret `'`: they begin codes.
/// - `%%` begins a code too, so a blank parts two of them.
/// - What is longer than `longest` ends in `...`.
pub(crate) fn plain(text: &str, longest: usize) -> String {
    let mut safe = String::new();
    let mut has_blank = false;
    let mut is_cut = false;
    for c in text.chars() {
        if c.is_whitespace() {
            has_blank = !safe.is_empty();
            continue;
        }
        let piece = match c {
            '\\' => "/".to_owned(),
            '{' => "(".to_owned(),
            '}' => ")".to_owned(),
            '^' => "'".to_owned(),
            '%' if safe.ends_with('%') && !has_blank => " %".to_owned(),
            ' '..='~' => c.to_string(),
            c if c.is_control() || is_invisible(c) => continue,
            c if (c as u32) < 0x1_0000 => format!("\\U+{:04X}", c as u32),
            _ => "?".to_owned(),
        };
        if safe.len() + usize::from(has_blank) + piece.len() > longest.saturating_sub(3) {
            is_cut = true;
            break;
        }
        if has_blank {
            safe.push(' ');
            has_blank = false;
        }
        safe.push_str(&piece);
    }
    if is_cut {
        safe.push_str("...");
    }
    safe
}

/// Marks that only steer how text runs, and private characters: they would show as boxes, or turn a line around.
fn is_invisible(c: char) -> bool {
    matches!(c,
        '\u{ad}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
        | '\u{e000}'..='\u{f8ff}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{fff0}'..='\u{ffff}')
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_becomes_of_odd_names() {
        for (name, expected) in [
            ("gusset 2", "gusset 2"),
            ("a<b>&\"c'", "a<b>&\"c'"),
            ("two\nlines\r\n\tand a tab", "two lines and a tab"),
            ("  padded  ", "padded"),
            ("Träger", "Tr\\U+00E4ger"),
            ("🔩 bolt", "? bolt"),
            ("\u{202e}desrever", "desrever"),
            ("C:\\x {y} ^J", "C:/x (y) 'J"),
            ("50%%d", "50% %d"),
            ("%%%", "% % %"),
            ("\u{7}\0", ""),
        ] {
            assert_eq!(plain(name, LONGEST), expected, "{name:?}");
        }
        let long = plain(&"long name ".repeat(30), LONGEST);
        assert!(long.len() <= LONGEST && long.ends_with("..."), "{long}");
    }

    proptest! {
        #[test]
        fn any_name_is_one_short_line_of_ascii_without_codes(name in any::<String>(), longest in 10..300_usize) {
            let safe = plain(&name, longest);
            prop_assert!(safe.len() <= longest);
            prop_assert!(safe.bytes().all(|byte| (b' '..=b'~').contains(&byte)), "{safe:?}");
            let has_code = safe.contains("%%") || safe.contains(['{', '}', '^']);
            prop_assert!(!has_code, "{safe:?}");
            prop_assert_eq!(safe.matches('\\').count(), safe.matches("\\U+").count());
            prop_assert_eq!(safe.trim(), safe.as_str());
        }
    }
}
