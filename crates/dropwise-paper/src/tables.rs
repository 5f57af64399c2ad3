//! Tables as plain data, printed alike on the report page and on cut sheets.

/// A column of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PaperColumn {
    /// What stands above it.
    pub heading: String,
    /// Whether it holds numbers, which are set to the right.
    pub is_number: bool,
}

/// A table to print: mark-out distances, steps of a cut plan, or whatever else a sheet needs.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PaperTable {
    /// What stands above the table.
    pub title: String,
    /// What must be said of it, such as datum and rounding; printed before the rows.
    pub notes: Vec<String>,
    /// Its columns.
    pub columns: Vec<PaperColumn>,
    /// Its rows, each with a cell for each column; what is missing is empty, what is too much is left out.
    pub rows: Vec<Vec<String>>,
    /// Whether each row gets a box to tick.
    pub has_boxes: bool,
}

impl PaperColumn {
    /// A column of words.
    #[must_use]
    pub fn words(heading: &str) -> Self {
        Self { heading: heading.to_owned(), is_number: false }
    }

    /// A column of numbers.
    #[must_use]
    pub fn numbers(heading: &str) -> Self {
        Self { heading: heading.to_owned(), is_number: true }
    }
}
