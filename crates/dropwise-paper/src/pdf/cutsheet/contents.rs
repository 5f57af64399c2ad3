//! What is inside, and on which page: on the first page, or on the one that holds for all sheets.

use dropwise_geometry::{Unit, Vector};
use dropwise_model::{Job, Plan};
use dropwise_shop::stock_in_words;

use super::table::Flow;
use crate::drawing::text::clean;
use crate::pdf::document::Document;
use crate::tables::{PaperColumn, PaperTable};

/// What there is on each sheet, without pages.
pub(super) fn of_sheets(job: &Job, plan: &Plan, unit: Unit) -> PaperTable {
    let rows = plan.layout().sheets.iter().enumerate().map(|(index, used)| {
        let sheet = &job.sheets()[used.sheet];
        vec![
            (index + 1).to_string(),
            clean(&sheet.name),
            clean(&stock_in_words(sheet.class.label(), unit)),
            clean(&sheet.location),
            used.placements.len().to_string(),
        ]
    });
    PaperTable {
        title: "What is inside".to_owned(),
        notes: vec!["Parts bear the same keys on all papers: A1 is the first copy of part A.".to_owned()],
        columns: vec![
            PaperColumn::numbers("sheet"),
            PaperColumn::words("name"),
            PaperColumn::words("metal"),
            PaperColumn::words("lies at"),
            PaperColumn::numbers("parts"),
        ],
        rows: rows.collect(),
        ..PaperTable::default()
    }
}

/// Puts pages before all others that tell on which page each row of `table` starts; `starts` counts from 0.
pub(super) fn before(document: &mut Document, size: Vector, title: &str, table: &PaperTable, starts: &[usize]) {
    let pages = document.pages.len();
    // How many pages it takes shows when it is drawn, and decides what stands on them.
    draw(document, size, title, table, (starts, 0));
    let ahead = document.pages.len() - pages;
    document.pages.truncate(pages);
    draw(document, size, title, table, (starts, ahead));
    let ahead = document.pages.len() - pages;
    document.bring_to_front(ahead);
}

fn draw(document: &mut Document, size: Vector, title: &str, table: &PaperTable, (starts, ahead): (&[usize], usize)) {
    let table = with_pages(table, starts, document.pages.len(), ahead);
    let mut flow = Flow::new(document, size, title.to_owned());
    flow.plain_table(&table);
}

/// The table with the pages of each row: `starts` and `end` count from 0, and `ahead` pages come before them.
pub(super) fn with_pages(table: &PaperTable, starts: &[usize], end: usize, ahead: usize) -> PaperTable {
    let mut table = table.clone();
    table.columns.push(PaperColumn::numbers("pages"));
    let ends = starts.iter().skip(1).copied().chain([end]);
    for ((row, start), end) in table.rows.iter_mut().zip(starts).zip(ends) {
        let first = start + 1 + ahead;
        let last = (end + ahead).max(first);
        row.push(if first == last { first.to_string() } else { format!("{first} to {last}") });
    }
    table
}
