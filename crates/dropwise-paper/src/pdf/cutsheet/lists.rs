//! The lists behind a drawing: parts with their places, round holes by size.

use dropwise_geometry::Vector;
use dropwise_model::{Job, Plan};

use super::CutSheetSettings;
use super::table::{BOX, Column, Flow};
use crate::details::{cutouts, holes_by_size, round_holes};
use crate::drawing::copies::{copies, key};
use crate::drawing::text::clean;
use crate::pdf::document::Document;

const PARTS: [Column<'static>; 8] = [
    Column { heading: "", is_number: false },
    Column { heading: "key", is_number: false },
    Column { heading: "part", is_number: false },
    Column { heading: "left", is_number: true },
    Column { heading: "lower", is_number: true },
    Column { heading: "right", is_number: true },
    Column { heading: "upper", is_number: true },
    Column { heading: "turned", is_number: false },
];

/// Parts whose boxes have no edge to be marked by.
const ASKEW: [Column<'static>; 6] = [
    Column { heading: "", is_number: false },
    Column { heading: "key", is_number: false },
    Column { heading: "part", is_number: false },
    Column { heading: "first corner", is_number: false },
    Column { heading: "second corner", is_number: false },
    Column { heading: "turned", is_number: false },
];

const HOLES: [Column<'static>; 4] = [
    Column { heading: "", is_number: false },
    Column { heading: "diameter", is_number: true },
    Column { heading: "how many", is_number: true },
    Column { heading: "in", is_number: false },
];

/// Writes the lists of one sheet in rows of a height, below what stands on the page already if `below` is its lower edge,
/// mm.
pub(super) fn draw(
    document: &mut Document,
    (size, below, row): (Vector, Option<f64>, f64),
    job: &Job,
    plan: &Plan,
    index: usize,
    settings: &CutSheetSettings<'_>,
) {
    let used = &plan.layout().sheets[index];
    let sheet = &job.sheets()[used.sheet];
    let (frame, pieces) = super::pieces::pieces_of(job, plan, index, &[]);
    let lengths = settings.lengths;
    let numbers = &copies(job, plan.layout())[index];
    let count = plan.layout().sheets.len();
    let title = format!("{}, sheet {} of {count}: parts, holes, cut plan", clean(&sheet.name), index + 1);
    let mut flow = Flow::new(document, size, title);
    flow.y = below.unwrap_or(0.0);
    flow.row = row;

    let mut square: Vec<(usize, u32, Vec<String>)> = Vec::new();
    let mut askew: Vec<(usize, u32, Vec<String>)> = Vec::new();
    let mut holes: Vec<(f64, usize)> = Vec::new();
    let mut openings = 0;
    for ((placement, copy), piece) in used.placements.iter().zip(numbers).zip(&pieces) {
        let part = &job.parts()[placement.part];
        let turned = frame.turn(placement.position);
        let mut row = vec![BOX.to_owned(), piece.key.clone(), clean(&part.name)];
        match piece.askew {
            None => {
                let bounds = piece.shape.bounds();
                row.extend([bounds.min.x, bounds.min.y, bounds.max.x, bounds.max.y].map(|edge| lengths.bare(edge)));
                row.push(turned);
                square.push((placement.part, copy.number, row));
            }
            Some(corners) => {
                row.extend(corners.map(|corner| format!("{}, {}", lengths.bare(corner.x), lengths.bare(corner.y))));
                row.push(turned);
                askew.push((placement.part, copy.number, row));
            }
        }
        holes.extend(round_holes(&part.shape).iter().map(|hole| (hole.diameter, placement.part)));
        openings += cutouts(&part.shape);
    }
    let sorted = |mut rows: Vec<(usize, u32, Vec<String>)>| {
        rows.sort_by_key(|&(part, number, _)| (part, number));
        rows.into_iter().map(|(_, _, row)| row).collect::<Vec<_>>()
    };
    flow.need(30.0);
    let unit = lengths.unit_in_words();
    let mut statement = frame.datum.statement(|length| lengths.with_unit(length));
    if let Some(degrees) = sheet.grain_deg {
        let off = (degrees + frame.to_frame.rotation_deg).rem_euclid(180.0);
        let off = format!("{off:.1}");
        let off = off.strip_suffix(".0").unwrap_or(&off);
        statement
            .push_str(&format!(" The grain runs at {}° from the datum edge.", if off == "180" { "0" } else { off }));
    }
    // Below the drawing its foot says it.
    if below.is_none() {
        statement.push_str(&format!(" All in {unit}, {}.", lengths.rounding()));
    }
    flow.paragraph(&statement);
    flow.table(&format!("Edges of the parts, in {unit} from the datum"), &PARTS, &sorted(square));
    flow.table(
        &format!("Parts that lie askew: two dotted corners, along and square, in {unit}"),
        &ASKEW,
        &sorted(askew),
    );

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
    let tables = settings.sheet_tables.get(index).map_or(&[][..], Vec::as_slice);
    // The cut plan begins with the holes, size by size, and tells of the openings.
    if tables.is_empty() {
        flow.table("Round holes, by size", &HOLES, &rows);
    }
    if tables.is_empty() && openings > 0 {
        flow.paragraph(&format!("Openings that are not round: {openings}. Cut them before the outlines."));
    }
    for table in tables {
        flow.plain_table(table);
    }
}
