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

/// A short key for the nth kind of part: A to Z, then AA, AB and so on.
pub(crate) fn key(index: usize) -> String {
    let mut letters = Vec::new();
    let mut rest = index + 1;
    while rest > 0 {
        letters.push(char::from(b'A' + ((rest - 1) % 26) as u8));
        rest = (rest - 1) / 26;
    }
    letters.iter().rev().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_go_on_after_z_as_columns_of_a_spreadsheet_do() {
        for (index, wanted) in [(0, "A"), (25, "Z"), (26, "AA"), (51, "AZ"), (52, "BA"), (701, "ZZ"), (702, "AAA")] {
            assert_eq!(key(index), wanted);
        }
    }
}
