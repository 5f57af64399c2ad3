//! The known word that a mistyped one was most likely meant to be.

/// The known word nearest to `word`, or `None` when none is near enough to be worth suggesting.
///
/// Distance counts inserted, dropped, changed and swapped letters, case aside; a third of the word's letters (at least
/// one) may differ, and one word may also be the beginning of the other. Ties go to the earlier word.
pub(crate) fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let lower: String = word.to_lowercase().chars().take(64).collect();
    let mut best: Option<(usize, &str)> = None;
    for candidate in known {
        let letters = candidate.to_lowercase();
        let mut distance = strsim::osa_distance(&lower, &letters);
        if lower.len().min(letters.len()) >= 3 && (letters.starts_with(&lower) || lower.starts_with(&letters)) {
            distance = distance.min(1);
        }
        let allowed = (lower.chars().count().max(letters.chars().count()) / 3).max(1);
        if distance <= allowed && best.is_none_or(|(least, _)| distance < least) {
            best = Some((distance, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_of_the_finger_find_their_word() {
        let known = ["name", "quantity", "material", "thickness", "rectangle"];
        assert_eq!(nearest("quantitiy", known), Some("quantity"));
        assert_eq!(nearest("Thikness", known), Some("thickness"));
        assert_eq!(nearest("rect", known), Some("rectangle"));
        assert_eq!(nearest("nmae", known), Some("name"));
        assert_eq!(nearest("colour", known), None);
        assert_eq!(nearest("", known), None);
    }
}
