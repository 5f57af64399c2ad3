//! Text on a terminal: how wide it is, and how it is cut and wrapped.

use std::cell::Cell;

use unicode_width::{UnicodeWidthChar as _, UnicodeWidthStr as _};

/// Columns of a line where nobody says how wide the terminal is.
pub(crate) const COLUMNS: usize = 80;

thread_local! {
    static WIDE: Cell<usize> = const { Cell::new(COLUMNS) };
}

/// Columns that lines of this run may take.
pub(crate) fn columns() -> usize {
    WIDE.get()
}

/// Sets how many columns lines may take, within what can be read: 60 to 132.
pub(crate) fn set_columns(columns: usize) {
    WIDE.set(columns.clamp(60, 132));
}

/// Columns that a text takes on a terminal.
pub(crate) fn width(text: &str) -> usize {
    text.width()
}

/// A text from a file, safe to print: characters that steer terminals or turn the reading direction become `�`.
pub(crate) fn cleaned(text: &str) -> String {
    let is_steering = |c: char| {
        c.is_control() || matches!(c, '\u{200e}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    text.chars().map(|c| if is_steering(c) { '\u{fffd}' } else { c }).collect()
}

/// The text, cleaned and shortened to so many columns; what was cut off is shown by `…`.
pub(crate) fn shortened(text: &str, columns: usize) -> String {
    let text = cleaned(text);
    if width(&text) <= columns {
        return text;
    }
    let mut kept = head(&text, columns.saturating_sub(1)).trim_end().to_owned();
    kept.push('…');
    kept
}

/// The longest beginning of a text that takes at most so many columns.
fn head(text: &str, columns: usize) -> &str {
    let mut taken = 0;
    for (at, c) in text.char_indices() {
        taken += c.width().unwrap_or(0);
        if taken > columns {
            return &text[..at];
        }
    }
    text
}

/// A blank at which no line is broken; it is printed as a plain one.
const GLUE: char = '\u{a0}';

/// A short text, such as a figure and its unit, that stays on one line of a paragraph.
pub(crate) fn glued(text: &str) -> String {
    text.replace(' ', "\u{a0}")
}

/// A paragraph wrapped to [`columns`], each line ended: the first starts with `first`, the others with as many blanks as
/// `hang`. Words too long for a line are cut.
pub(crate) fn wrapped(first: &str, hang: usize, text: &str) -> String {
    wrapped_to(columns(), first, hang, text)
}

fn wrapped_to(columns: usize, first: &str, hang: usize, text: &str) -> String {
    let mut page = first.to_owned();
    let mut used = width(first);
    let mut is_line_empty = true;
    let break_line = |page: &mut String, used: &mut usize| {
        page.truncate(page.trim_end_matches(' ').len());
        page.push('\n');
        page.push_str(&" ".repeat(hang));
        *used = hang;
    };
    for word in text.split(|c: char| c.is_whitespace() && c != GLUE).filter(|word| !word.is_empty()) {
        let mut word = word;
        let gap = usize::from(!is_line_empty);
        if used + gap + width(word) > columns && used > hang.max(1) {
            break_line(&mut page, &mut used);
        } else if gap == 1 {
            page.push(' ');
            used += 1;
        }
        while used + width(word) > columns {
            let part = head(word, columns.saturating_sub(used).max(1));
            // A character wider than the line still has to go somewhere.
            let part = if part.is_empty() { &word[..word.chars().next().map_or(0, char::len_utf8)] } else { part };
            page.push_str(part);
            word = &word[part.len()..];
            if word.is_empty() {
                break;
            }
            break_line(&mut page, &mut used);
        }
        page.push_str(word);
        used += width(word);
        is_line_empty = false;
    }
    page.truncate(page.trim_end_matches(' ').len());
    page.push('\n');
    page.replace(GLUE, " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_shortened_by_columns_not_letters() {
        assert_eq!(shortened("bracket", 7), "bracket");
        assert_eq!(shortened("bracket", 6), "brack…");
        // East Asian letters take two columns each (Unicode Standard Annex 11).
        assert_eq!(shortened("角铁支架", 8), "角铁支架");
        assert_eq!(shortened("角铁支架", 7), "角铁支…");
        assert_eq!(shortened("角铁支架", 6), "角铁…");
        assert_eq!(shortened("e\u{301}querre", 7), "e\u{301}querre");
        assert_eq!(shortened("two words", 5), "two…");
    }

    #[test]
    fn nothing_from_a_file_steers_the_terminal() {
        assert_eq!(cleaned("a\u{1b}[31mb\u{202e}c\n"), "a\u{fffd}[31mb\u{fffd}c\u{fffd}");
    }

    #[test]
    fn paragraphs_hang() {
        assert_eq!(wrapped_to(12, "- ", 2, "cut like knives"), "- cut like\n  knives\n");
        assert_eq!(wrapped_to(8, "", 0, "abcdefghijkl mn"), "abcdefgh\nijkl mn\n");
        assert_eq!(wrapped_to(8, "name  ", 2, "long word"), "name\n  long\n  word\n");
        assert_eq!(wrapped_to(8, "- ", 2, ""), "-\n");
    }

    #[test]
    fn a_figure_keeps_its_unit() {
        assert_eq!(wrapped_to(10, "", 2, &format!("margin {}", glued("0.25 in"))), "margin\n  0.25 in\n");
    }

    /// Whatever the text, every line keeps to its columns and no letter is lost.
    #[test]
    fn no_line_is_too_long() {
        let text = "Zuschnittplan für 支架 und équerre-très-longue-sans-aucune-coupure a b c";
        for columns in 6..40 {
            for hang in 0..4 {
                let page = wrapped_to(columns, "* ", hang, text);
                assert!(page.lines().all(|line| width(line) <= columns), "{columns} {hang}:\n{page}");
                let letters = |text: &str| text.chars().filter(|c| !c.is_whitespace()).collect::<String>();
                assert_eq!(letters(&page), format!("*{}", letters(text)));
            }
        }
    }
}
