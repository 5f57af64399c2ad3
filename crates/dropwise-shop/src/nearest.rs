//! What somebody who mistyped a name probably meant.

/// The candidate that differs least from what was typed, if one is near enough to be worth suggesting: at most one
/// slip (a letter added, lost, changed, or swapped with its neighbour) for every three letters of the longer word.
///
/// Case counts, so fold it first. Ties go to the earlier candidate.
pub(crate) fn nearest<'a>(typed: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let letters = |word: &str| word.chars().count();
    candidates
        .into_iter()
        .map(|candidate| (strsim::osa_distance(typed, candidate), candidate))
        .filter(|&(slips, candidate)| slips * 3 <= letters(typed).max(letters(candidate)))
        .min_by_key(|&(slips, _)| slips)
        .map(|(_, candidate)| candidate)
}

/// A name as it is compared: lower case, with hyphens, underscores and runs of blanks as single blanks.
pub(crate) fn folded(text: &str) -> String {
    let lower = text.to_lowercase().replace(['-', '_'], " ");
    lower.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_slip_in_three_letters_is_forgiven_and_no_more() {
        let metals = ["brass", "copper"];
        assert_eq!(nearest("bras", metals), Some("brass"));
        assert_eq!(nearest("brsas", metals), Some("brass")); // neighbours swapped: one slip
        assert_eq!(nearest("coper", metals), Some("copper"));
        assert_eq!(nearest("cooker", metals), Some("copper")); // two slips in six letters
        assert_eq!(nearest("brook", metals), None); // three slips in five letters
        assert_eq!(nearest("", metals), None);
        assert_eq!(nearest("brass", []), None);
    }

    #[test]
    fn ties_go_to_the_earlier_candidate() {
        assert_eq!(nearest("bat", ["cat", "rat"]), Some("cat"));
    }

    #[test]
    fn folding_evens_out_case_hyphens_and_blanks() {
        assert_eq!(folded("  Mild_Steel "), "mild steel");
        assert_eq!(folded("6061-T6"), "6061 t6");
        assert_eq!(folded("\t\n"), "");
    }
}
