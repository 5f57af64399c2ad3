//! The first page of many: what is inside, and where.

use dropwise_geometry::Vector;
use dropwise_model::{Job, Plan};

use super::table::Flow;
use crate::drawing::text::clean;
use crate::pdf::document::Document;
use crate::tables::{PaperColumn, PaperTable};

/// What there is on each sheet, without pages.
pub(super) fn of_sheets(job: &Job, plan: &Plan) -> PaperTable {
    let rows = plan.layout().sheets.iter().enumerate().map(|(index, used)| {
        let sheet = &job.sheets()[used.sheet];
        vec![
            (index + 1).to_string(),
            clean(&sheet.name),
            clean(sheet.class.label()),
            clean(&sheet.location),
            used.placements.len().to_string(),
        ]
    });
    PaperTable {
        title: "What is inside".to_owned(),
        notes: vec![
            "For each sheet first a drawing with distances from its datum corner; behind it its parts, its holes by size, \
             and its cut plan step by step. Parts bear the same keys everywhere: A1 is the first copy of part A."
                .to_owned(),
        ],
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
    let mut table = table.clone();
    table.columns.push(PaperColumn::numbers("pages"));
    let ends = starts.iter().skip(1).copied().chain([document.pages.len()]);
    for ((row, start), end) in table.rows.iter_mut().zip(starts).zip(ends) {
        let first = start + 1 + ahead;
        let last = (end + ahead).max(first);
        row.push(if first == last { first.to_string() } else { format!("{first} to {last}") });
    }
    let mut flow = Flow { document, size, title: title.to_owned(), y: 0.0, said: Vec::new() };
    flow.plain_table(&table);
}
