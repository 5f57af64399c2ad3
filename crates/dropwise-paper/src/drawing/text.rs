//! Text for pictures: cleaned, measured, shortened and escaped.

/// Text as it may be drawn: control characters gone, each run of blanks or line breaks one space, ends trimmed.
///
/// Characters that XML 1.0 forbids go too, and so do marks that turn the direction of writing: a name that holds one
/// could make the text after it read backwards.
pub(crate) fn clean(text: &str) -> String {
    let mut cleaned = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_whitespace() {
            if !cleaned.is_empty() && !cleaned.ends_with(' ') {
                cleaned.push(' ');
            }
        } else if !is_unprintable(c) {
            cleaned.push(c);
        }
    }
    cleaned.truncate(cleaned.trim_end().len());
    cleaned
}

fn is_unprintable(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{206F}' | '\u{FEFF}')
        || matches!(u32::from(c) & 0xFFFF, 0xFFFE | 0xFFFF)
        || matches!(c, '\u{FDD0}'..='\u{FDEF}')
}

/// Text with the characters escaped that XML reads as markup. Good for attributes too.
///
/// # Source
/// Extensible Markup Language (XML) 1.0, fifth edition, section 4.6, predefined entities.
pub(crate) fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&apos;"),
            c => escaped.push(c),
        }
    }
    escaped
}

/// Width of a text in a sans-serif face, as a multiple of its size; rather too wide than too narrow.
///
/// Whoever looks at the picture brings the font, so this follows the wider of the usual faces.
pub(crate) fn width(text: &str) -> f64 {
    text.chars().map(width_of).sum()
}

/// Widest of some common sans-serif faces, rounded up (measured, from memory of their tables).
fn width_of(c: char) -> f64 {
    match c {
        ' ' | 'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | '·' => 0.36,
        'f' | 'r' | 't' | 'I' | 'J' | '(' | ')' | '[' | ']' | '/' | '\\' | '-' | '°' => 0.43,
        '"' | '*' | '{' | '}' | 'c' | 'k' | 's' | 'v' | 'x' | 'y' | 'z' | '?' | '_' => 0.6,
        '–' => 0.66,
        'm' | 'M' | 'W' | '%' | '@' | '…' | '—' => 1.02,
        'w' | '+' | '=' | '<' | '>' | '#' | '~' | '^' | '×' | '&' | 'O' | 'Q' | 'D' | 'G' | 'H' | 'N' | 'U' => 0.86,
        'A'..='Z' => 0.74,
        ' '..='\u{24F}' => 0.66,
        // Marks that sit on the letter before them.
        '\u{300}'..='\u{36F}' => 0.0,
        '\u{370}'..='\u{5FF}' => 0.9,
        _ => 1.1,
    }
}

/// The text, or as much of its start as fits `room` (a multiple of its size) with an ellipsis after it; empty when not
/// even one letter and the ellipsis fit.
pub(crate) fn shorten(text: &str, room: f64) -> String {
    if width(text) <= room {
        return text.to_owned();
    }
    let room = room - width("…");
    let mut used = 0.0;
    let end = text
        .char_indices()
        .find(|&(_, c)| {
            used += width_of(c);
            used > room
        })
        .map_or(text.len(), |(index, _)| index);
    let kept = text[..end].trim_end();
    if kept.is_empty() { String::new() } else { format!("{kept}…") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn control_characters_vanish_and_blanks_become_one_space() {
        assert_eq!(clean("  Gusset\u{7}\n\tleft \u{202E}hand\u{0} "), "Gusset left hand");
        assert_eq!(clean("\u{FFFE}\u{FFFF}\u{1}"), "");
        assert_eq!(clean("Träger №5 角"), "Träger №5 角");
    }

    #[test]
    fn markup_is_escaped() {
        assert_eq!(escape(r#"<a b="c">'&amp;'"#), "&lt;a b=&quot;c&quot;&gt;&apos;&amp;amp;&apos;");
    }

    #[test]
    fn short_text_is_kept_and_long_text_cut_at_a_character() {
        assert_eq!(shorten("Bracket", 10.0), "Bracket");
        let long = "ü".repeat(500);
        let cut = shorten(&long, 10.0);
        assert!(cut.ends_with('…') && width(&cut) <= 10.0 && cut.chars().count() > 10);
        assert_eq!(shorten("Bracket", 1.1), "");
        assert_eq!(shorten("Bracket", -3.0), "");
    }
}
