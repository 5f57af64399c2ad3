//! What the page is told: words and figures as data, pictures as SVG. The page sets words as text, never as markup.

use serde::Serialize;

/// The state of things, told whenever it changes. It is small: what is large has a number here that tells when to ask
/// for it anew.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Shown {
    /// Name of the file.
    pub file: String,
    /// What the job is called.
    pub title: String,
    /// Which reading of the file the pictures show; 0 before the first good one.
    pub drawn: u64,
    /// Which reading the findings are of; less than `drawn` while they are being made.
    pub checked: u64,
    /// Counts the plans shown; 0 for none.
    pub nested: u64,
    /// The parts of the job.
    pub parts: Vec<PartShown>,
    /// What is wrong with the file as it stands; empty when the pictures show it as it stands.
    pub trouble: Vec<Trouble>,
    /// How many more there are than are listed.
    pub more_trouble: usize,
    /// How far the nest is.
    pub search: Search,
}

/// A part in the list to choose from.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct PartShown {
    /// Its name.
    pub name: String,
    /// How many are made.
    pub count: u32,
    /// Whether it has bends.
    pub is_bent: bool,
}

/// Something wrong with the file.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Trouble {
    /// File, line and column, as far as they are known, and the path of keys.
    pub place: String,
    /// What is wrong.
    pub problem: String,
    /// What to do.
    pub cure: String,
    /// The lines around it.
    pub lines: Option<Lines>,
}

/// Some lines of a file, one of which is meant.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Lines {
    /// Number of the first.
    pub first: usize,
    /// The lines.
    pub texts: Vec<String>,
    /// Which of them is meant, counted from 0.
    pub here: usize,
    /// The character that is meant, counted from 0.
    pub column: Option<usize>,
}

/// How far the nest is.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Search {
    /// Whether it goes on.
    pub is_running: bool,
    /// That in words.
    pub words: String,
}

/// All that is shown of one part.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct PartPage {
    /// Which reading of the file it is of.
    pub drawn: u64,
    /// The flat pattern, or the part, as SVG.
    pub flat: String,
    /// The part bent up, as SVG; nothing for a flat one.
    pub folded: Option<String>,
    /// Metal, sizes, weight.
    pub facts: String,
    /// Bends, if it has any.
    pub bends: Option<TableShown>,
}

/// A table.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct TableShown {
    /// What stands above it.
    pub title: String,
    /// What must be said of it.
    pub notes: Vec<String>,
    /// Headings, and whether what stands below them are numbers.
    pub columns: Vec<(String, bool)>,
    /// Rows, each with a cell for each column.
    pub rows: Vec<Vec<String>>,
    /// Whether the last row is a sum.
    pub has_sum: bool,
}

/// What was found of a part, or of the job.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct FindingShown {
    /// Index of the part; nothing for what concerns the file.
    pub part: Option<usize>,
    /// `stop`, `warn` or `note`.
    pub severity: String,
    /// What is wrong.
    pub problem: String,
    /// What to do.
    pub cure: String,
    /// Whose rule it is.
    pub rule: String,
}

/// A plan.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct NestShown {
    /// Which plan it is.
    pub nested: u64,
    /// All sheets, as SVG.
    pub picture: String,
    /// Sheets, parts, yield and cost in a line.
    pub headline: String,
    /// What lies on no sheet, and why.
    pub missing: Vec<String>,
    /// Sheets, cost per part, and where money and metal go.
    pub tables: Vec<TableShown>,
    /// What can hurt, each with its authority.
    pub cautions: Vec<String>,
}

/// From where a part is looked at, and how wide the picture is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pictured {
    /// Turn about the upright axis, degrees.
    pub turn_deg: f64,
    /// How far the viewer looks down, degrees.
    pub tilt_deg: f64,
    /// Width of the picture, mm of paper.
    pub paper_width: f64,
}

/// Whoever draws what the page asks for. It is asked from several threads at once.
pub trait Gallery: Send + Sync {
    /// All of one part, by its index; `None` where there is no such part.
    fn part(&self, index: usize, pictured: Pictured) -> Option<PartPage>;
    /// The part bent up, as SVG.
    fn folded(&self, index: usize, pictured: Pictured) -> Option<String>;
    /// What was found.
    fn findings(&self) -> Vec<FindingShown>;
    /// The best plan so far, its picture so many mm of paper wide.
    fn nest(&self, paper_width: f64) -> Option<NestShown>;
}
