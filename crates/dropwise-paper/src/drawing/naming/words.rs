//! How parts are called on labels.

use crate::drawing::text::width;

/// Longest name that is written on a part, letters: a longer one fits on none, and to try where it breaks takes long.
const LONGEST_NAME: usize = 120;

/// Ways to write key and name of a part, best first. `is_face_down` adds the word for it.
pub(crate) fn names_of(key: &str, name: &str, is_face_down: bool) -> Vec<Vec<String>> {
    if name.is_empty() || name.chars().count() > LONGEST_NAME {
        return Vec::new();
    }
    let mut ways = vec![vec![format!("{key} {name}")]];
    for lines in 1..=3 {
        let Some(broken) = lines_of(name, lines) else { break };
        ways.push([vec![key.to_owned()], broken].concat());
    }
    if is_face_down {
        ways.iter_mut().for_each(|lines| lines.push(FACE_DOWN.to_owned()));
    }
    ways
}

/// Ways to write the key of a part alone.
pub(crate) fn keys_of(key: &str, is_face_down: bool) -> Vec<Vec<String>> {
    if is_face_down {
        return vec![vec![format!("{key} {FACE_DOWN}")], vec![key.to_owned(), FACE_DOWN.to_owned()]];
    }
    vec![vec![key.to_owned()]]
}

/// The one word for a part that lies with its face on the sheet's back.
const FACE_DOWN: &str = "face down";

/// A name in so many lines, broken at blanks so that the longest line is as short as may be; `None` when it has too
/// few words.
fn lines_of(name: &str, lines: usize) -> Option<Vec<String>> {
    if lines <= 1 {
        return Some(vec![name.to_owned()]);
    }
    name.match_indices(' ')
        .filter_map(|(blank, _)| {
            let mut broken = vec![name[..blank].to_owned()];
            broken.extend(lines_of(&name[blank + 1..], lines - 1)?);
            Some(broken)
        })
        .min_by(|a, b| longest(a).total_cmp(&longest(b)))
}

fn longest(lines: &[String]) -> f64 {
    lines.iter().map(|line| width(line)).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_break_where_the_lines_are_most_alike() {
        assert_eq!(lines_of("Corner bracket", 1).unwrap(), ["Corner bracket"]);
        assert_eq!(lines_of("Cover for the winch", 2).unwrap(), ["Cover for", "the winch"]);
        assert_eq!(lines_of("Cover for the winch", 3).unwrap().len(), 3);
        assert_eq!(lines_of("Tab", 2), None);
        assert_eq!(names_of("A1", "Tab", true)[0], ["A1 Tab", "face down"]);
        assert_eq!(names_of("A1", &"Tab ".repeat(2000), false), Vec::<Vec<String>>::new());
    }
}
