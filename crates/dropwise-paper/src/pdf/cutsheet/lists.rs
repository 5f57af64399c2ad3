//! The lists behind a drawing: parts with their places, round holes by size.

use dropwise_geometry::Vector;
use dropwise_model::{Job, Plan};

use super::CutSheetSettings;
use super::table::{BOX, Column, Flow};
use crate::details::{DatumFrame, cutouts, holes_by_size, round_holes};
use crate::drawing::copies::{copies, key};
use crate::drawing::text::clean;
use crate::pdf::document::Document;

const PARTS: [Column<'static>; 9] = [
    Column { heading: "", is_number: false },
    Column { heading: "key", is_number: false },
    Column { heading: "part", is_number: false },
    Column { heading: "copy", is_number: true },
    Column { heading: "left edge at", is_number: true },
    Column { heading: "lower edge at", is_number: true },
    Column { heading: "right edge at", is_number: true },
    Column { heading: "upper edge at", is_number: true },
    Column { heading: "turned", is_number: true },
];

const HOLES: [Column<'static>; 4] = [
    Column { heading: "", is_number: false },
    Column { heading: "diameter", is_number: true },
    Column { heading: "how many", is_number: true },
    Column { heading: "in", is_number: false },
];

/// Writes the lists of one sheet.
pub(super) fn draw(
    document: &mut Document,
    size: Vector,
    job: &Job,
    plan: &Plan,
    index: usize,
    settings: &CutSheetSettings<'_>,
) {
    let used = &plan.layout().sheets[index];
    let sheet = &job.sheets()[used.sheet];
    let frame = DatumFrame::of(&sheet.bought_shape(used.length));
    let lengths = settings.lengths;
    let numbers = &copies(job, plan.layout())[index];
    let title = format!("{}, sheet {} of {}: lists", clean(&sheet.name), index + 1, plan.layout().sheets.len());
    let mut flow = Flow { document, size, title, y: 0.0, said: Vec::new() };

    let mut parts: Vec<(usize, u32, Vec<String>)> = Vec::new();
    let mut holes: Vec<(f64, usize)> = Vec::new();
    let mut openings = 0;
    for (placement, copy) in used.placements.iter().zip(numbers) {
        let part = &job.parts()[placement.part];
        let bounds = frame.piece(&part.shape, placement.position).bounds();
        let number = if copy.of > 1 { copy.number.to_string() } else { String::new() };
        let row = vec![
            BOX.to_owned(),
            format!("{}{number}", key(placement.part)),
            clean(&part.name),
            format!("{} of {}", copy.number, copy.of),
            lengths.bare(bounds.min.x),
            lengths.bare(bounds.min.y),
            lengths.bare(bounds.max.x),
            lengths.bare(bounds.max.y),
            frame.turn(placement.position),
        ];
        parts.push((placement.part, copy.number, row));
        holes.extend(round_holes(&part.shape).iter().map(|hole| (hole.diameter, placement.part)));
        openings += cutouts(&part.shape);
    }
    parts.sort_by_key(|&(part, number, _)| (part, number));
    let rows: Vec<Vec<String>> = parts.into_iter().map(|(_, _, row)| row).collect();
    flow.need(30.0);
    let statement = frame.datum.statement(|length| lengths.with_unit(length));
    flow.paragraph(&statement);
    flow.said.push(statement);
    flow.table(&format!("Parts, in {} from the datum: {}", lengths.unit_in_words(), lengths.rounding()), &PARTS, &rows);

    let rows: Vec<Vec<String>> = holes_by_size(holes.iter().map(|&(diameter, _)| diameter))
        .into_iter()
        .map(|(diameter, count)| {
            let mut within: Vec<usize> =
                holes.iter().filter(|(other, _)| (other - diameter).abs() < 0.01).map(|&(_, part)| part).collect();
            within.sort_unstable();
            within.dedup();
            let names: Vec<String> =
                within.iter().map(|&part| format!("{} {}", key(part), clean(&job.parts()[part].name))).collect();
            vec![BOX.to_owned(), format!("Ø {}", lengths.tool_size(diameter)), count.to_string(), names.join(", ")]
        })
        .collect();
    flow.table("Round holes, by size", &HOLES, &rows);
    if openings > 0 {
        flow.paragraph(&format!("Openings that are not round: {openings}. Cut them before the outlines."));
    }
    for table in settings.sheet_tables.get(index).map_or(&[][..], Vec::as_slice) {
        flow.plain_table(table);
    }
}
