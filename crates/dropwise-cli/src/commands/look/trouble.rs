//! What is wrong with a file, with the lines around it.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use dropwise_formats::{JobFileError, read_file};
use dropwise_live::{Lines, Trouble};

use crate::complaint::{Complaint, Stop};
use crate::text::cleaned;

/// Most faults that are listed: nobody mends more between two saves.
const MOST_LISTED: usize = 20;
/// Bytes of a file that lines are shown of.
const LARGEST_SHOWN: u64 = 8 << 20;
/// Letters of a line that are shown.
const LONGEST_LINE: usize = 160;

/// The faults of a file, and how many more there are.
pub(super) fn troubles(errors: &[JobFileError]) -> (Vec<Trouble>, usize) {
    let mut texts: HashMap<PathBuf, String> = HashMap::new();
    let mut listed: Vec<Trouble> = Vec::new();
    for error in errors {
        let (place, problem, cure) = Complaint::from(error).in_pieces();
        let lines = error.place.line.and_then(|line| {
            let text = texts.entry(error.place.file.clone()).or_insert_with(|| text_of(&error.place.file));
            around(text, line, error.place.column)
        });
        let trouble = Trouble { place, problem, cure, lines };
        // A fault that two parts share may be found twice.
        if listed.last() != Some(&trouble) {
            listed.push(trouble);
        }
    }
    let more = listed.len().saturating_sub(MOST_LISTED);
    listed.truncate(MOST_LISTED);
    (listed, more)
}

/// What stopped a command, as faults.
pub(super) fn of_stop(stop: &Stop) -> Vec<Trouble> {
    let pieces = stop.complaints.iter().map(Complaint::in_pieces);
    pieces.map(|(place, problem, cure)| Trouble { place, problem, cure, lines: None }).collect()
}

fn text_of(file: &Path) -> String {
    read_file(file, LARGEST_SHOWN).map_or_else(|_| String::new(), |bytes| String::from_utf8_lossy(&bytes).into_owned())
}

/// The line, the two before it and the one after it.
fn around(text: &str, line: usize, column: Option<usize>) -> Option<Lines> {
    let at = line.checked_sub(1)?;
    let first = at.saturating_sub(2);
    let texts: Vec<&str> = text.lines().skip(first).take(at - first + 2).collect();
    let here = at - first;
    let length = texts.get(here)?.chars().count();
    let column = column.and_then(|column| column.checked_sub(1)).filter(|&column| column < length.min(LONGEST_LINE));
    let shown = |text: &&str| {
        let kept: String = text.chars().take(LONGEST_LINE).collect();
        cleaned(&kept.replace('\t', " "))
    };
    Some(Lines { first: first + 1, texts: texts.iter().map(shown).collect(), here, column })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_at_both_ends_of_a_file_and_beyond() {
        let text = "one\ntwo\nthree\nfour\n";
        let shown =
            |line, column| around(text, line, column).map(|lines| (lines.first, lines.texts, lines.here, lines.column));
        let texts = |some: &[&str]| some.iter().map(|text| (*text).to_owned()).collect::<Vec<_>>();
        assert_eq!(shown(1, Some(2)), Some((1, texts(&["one", "two"]), 0, Some(1))));
        assert_eq!(shown(3, None), Some((1, texts(&["one", "two", "three", "four"]), 2, None)));
        assert_eq!(shown(4, Some(40)), Some((2, texts(&["two", "three", "four"]), 2, None)));
        assert_eq!(shown(5, None), None);
        assert_eq!(shown(0, None), None);
    }

    #[test]
    fn a_line_without_end_is_cut() {
        let lines = around(&"x\t".repeat(100_000), 1, Some(70_000)).unwrap();
        assert!(lines.texts[0].chars().count() == LONGEST_LINE && lines.column.is_none());
    }
}
