//! Which copy of its kind each placed part is.

use dropwise_model::{Job, Layout};

/// The number of a copy among all placed ones of its kind, from 1, and how many are placed on all sheets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Copy {
    pub(crate) number: u32,
    pub(crate) of: u32,
}

/// For each sheet of a layout and each placement on it, which copy it is: counted sheet after sheet.
pub(crate) fn copies(job: &Job, layout: &Layout) -> Vec<Vec<Copy>> {
    let mut counts = vec![0u32; job.parts().len()];
    let mut numbers: Vec<Vec<Copy>> = layout
        .sheets
        .iter()
        .map(|sheet| {
            sheet
                .placements
                .iter()
                .map(|placement| {
                    counts[placement.part] += 1;
                    Copy { number: counts[placement.part], of: 0 }
                })
                .collect()
        })
        .collect();
    for (sheet, numbers) in layout.sheets.iter().zip(&mut numbers) {
        for (placement, copy) in sheet.placements.iter().zip(numbers) {
            copy.of = counts[placement.part];
        }
    }
    numbers
}

/// Letters of keys. Without I, O and Q, which read as 1 and 0.
///
/// # Source
/// ASME Y14.35 and Y14.100 leave the same letters out of revisions and views (from memory), with S, X and Z beside them,
/// which read well here.
const LETTERS: &[u8] = b"ABCDEFGHJKLMNPRSTUVWXYZ";

/// A short key for the nth kind of part: A to Z, then AA, AB and so on, without I, O and Q.
pub(crate) fn key(index: usize) -> String {
    let mut letters = Vec::new();
    let mut rest = index + 1;
    while rest > 0 {
        letters.push(char::from(LETTERS[(rest - 1) % LETTERS.len()]));
        rest = (rest - 1) / LETTERS.len();
    }
    letters.iter().rev().collect()
}

/// The key of a copy: `A1`, or `A` where there is only one.
pub(crate) fn copy_key(part: usize, copy: Copy) -> String {
    let number = if copy.of > 1 { copy.number.to_string() } else { String::new() };
    format!("{}{number}", key(part))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_go_on_after_z_as_columns_of_a_spreadsheet_do() {
        for (index, wanted) in
            [(0, "A"), (8, "J"), (22, "Z"), (23, "AA"), (45, "AZ"), (46, "BA"), (551, "ZZ"), (552, "AAA")]
        {
            assert_eq!(key(index), wanted);
        }
        assert!((0..600).map(key).all(|key| !key.contains(['I', 'O', 'Q'])));
    }
}
