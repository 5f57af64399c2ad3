//! One sheet: picture, what to do, and its pieces row by row.

use std::fmt::Write as _;

use dropwise_model::{Job, Plan};
use dropwise_shop::stock_in_words;
use dropwise_shop::weight::format_weight;

use super::html::{Html, safe};
use super::settings::ReportSettings;
use crate::details::{DatumFrame, cutouts, holes_by_size, round_holes};
use crate::drawing::copies::{Copy, copies, key};
use crate::drawing::fills::COLOURS;
use crate::drawing::{DrawingStyle, draw_linked_sheet, percent};
use crate::tables::PaperColumn;

/// Width that pictures are drawn for, mm: an upright page less its edges, so that text prints at its size.
pub(super) const PICTURE: f64 = 186.0;

/// Writes the section of one sheet.
pub(super) fn section(html: &mut Html, job: &Job, plan: &Plan, index: usize, settings: &ReportSettings<'_>) {
    let used = &plan.layout().sheets[index];
    let sheet = &job.sheets()[used.sheet];
    let figures = &plan.figures().sheets[index];
    let number = index + 1;
    let lengths = settings.lengths;
    html.raw(&format!(r#"<section class="sheet" id="sheet-{number}" aria-labelledby="sheet-{number}-name">"#));
    html.text(&format!(r#"h2 id="sheet-{number}-name""#), &format!("Sheet {number}: {}", sheet.name));
    let mut facts = vec![stock_in_words(sheet.class.label(), lengths.unit)];
    if !sheet.location.trim().is_empty() {
        facts.push(sheet.location.clone());
    }
    if let Some(length) = used.length {
        facts.push(format!("order {}", lengths.with_unit(length)));
    }
    facts.push(format!("yield {}", percent(figures.yield_ratio())));
    facts.push(format_weight(figures.gross_weight, lengths.unit));
    html.text("p", &facts.join(" · "));

    let name = safe(&sheet.name);
    html.raw(&format!(
        r#"<div class="view" role="group" aria-label="Picture of sheet {number}, and its size on the screen">"#
    ));
    for (size, words) in [("x1", "whole sheet"), ("x2", "twice"), ("x4", "four times")] {
        let checked = if size == "x1" { r#" checked="checked""# } else { "" };
        let id = format!("s{number}-{size}");
        html.raw(&format!(
            r#"<input type="radio" name="size-{number}" id="{id}" class="{size}"{checked}/><label for="{id}">{words}</label>"#
        ));
    }
    html.raw(&format!(
        r#"<div class="picture" role="region" tabindex="0" aria-label="Picture of sheet {number}, {name}">"#
    ));
    let style = DrawingStyle {
        unit: lengths.unit,
        paper_width: PICTURE,
        id_prefix: format!("s{number}"),
        bends: settings.bends.to_vec(),
    };
    html.raw(&draw_linked_sheet(job, plan, index, &style, &format!("s{number}")));
    html.raw("</div></div>");
    let hint = "Tap a part to find its row; tap a key in the list to light up the part.";
    html.text(r#"p class="quiet screen""#, hint);

    html.raw(r#"<div class="work">"#);
    work(html, job, plan, index, settings);
    html.raw("</div>");
    let numbers = &copies(job, plan.layout())[index];
    pieces(html, job, plan, index, settings, numbers);
    let tables = settings.sheet_tables.get(index).map_or(&[][..], Vec::as_slice);
    if !tables.is_empty() {
        html.text(
            r#"p class="quiet screen""#,
            "Tables that stay folded are not printed: open those that you want on paper.",
        );
    }
    for table in tables {
        // Long, and wanted one at a time: folded, so that the page stays short on a phone and in print.
        html.raw("<details>");
        html.text(
            "summary",
            &format!("{} ({} {})", table.title, table.rows.len(), if table.rows.len() == 1 { "row" } else { "rows" }),
        );
        html.table(table, 0);
        html.raw("</details>");
    }
    html.raw("</section>");
}

/// `1 outline`, `3 outlines`.
fn counted(count: usize, what: &str) -> String {
    if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") }
}

/// What to mark, drill, cut and bend, with boxes.
fn work(html: &mut Html, job: &Job, plan: &Plan, index: usize, settings: &ReportSettings<'_>) {
    let used = &plan.layout().sheets[index];
    let sheet = &job.sheets()[used.sheet];
    let lengths = settings.lengths;
    let stock = sheet.bought_shape(used.length);
    let (frame, bounds) = (DatumFrame::of(&stock), stock.bounds());
    let size = format!("{} × {}", lengths.with_unit(bounds.width()), lengths.with_unit(bounds.height()));
    let mut mark = vec![
        format!("Check the sheet: {}, {size} over everything", stock_in_words(sheet.class.label(), lengths.unit)),
        frame.datum.statement(|length| lengths.with_unit(length)),
        format!("Mark out {} from the datum", counted(used.placements.len(), "part")),
    ];
    if !sheet.damage.is_empty() {
        mark.push("Mark the damaged zones and keep out of them".to_owned());
    }
    let flipped = used.placements.iter().filter(|placement| placement.position.is_mirrored).count();
    if flipped > 0 {
        mark.push(format!("Mind the {flipped} that lie face down"));
    }

    let holes: Vec<(f64, usize)> = used
        .placements
        .iter()
        .flat_map(|placement| {
            round_holes(&job.parts()[placement.part].shape).into_iter().map(|h| (h.diameter, placement.part))
        })
        .collect();
    let drill: Vec<String> = holes_by_size(holes.iter().map(|&(diameter, _)| diameter))
        .into_iter()
        .map(|(diameter, count)| {
            let mut within: Vec<usize> =
                holes.iter().filter(|(other, _)| (other - diameter).abs() < 0.01).map(|&(_, part)| part).collect();
            within.sort_unstable();
            within.dedup();
            let names: Vec<String> = within.iter().map(|&part| job.parts()[part].name.clone()).collect();
            let holes = if count == 1 { "hole" } else { "holes" };
            format!("Ø {}: {count} {holes}, in {}", lengths.tool_size(diameter), names.join(", "))
        })
        .collect();

    let shapes = || used.placements.iter().map(|placement| &job.parts()[placement.part].shape);
    let openings: usize = shapes().map(cutouts).sum();
    let outlines: f64 = shapes().map(|shape| shape.exterior().perimeter()).sum();
    let mut cut = Vec::new();
    if openings > 0 {
        cut.push(format!("{}, not round, before the outlines", counted(openings, "opening")));
    }
    cut.push(format!(
        "{}, {} of cut; kerf {} on the waste side",
        counted(used.placements.len(), "outline"),
        lengths.in_total(outlines),
        lengths.tool_size(job.clearances().kerf())
    ));
    let leftovers = &plan.figures().sheets[index].leftovers;
    for leftover in leftovers {
        let (long, short) = leftover.largest_rectangle;
        cut.push(format!(
            "Label a leftover and put it back: holds {} × {}",
            lengths.with_unit(long),
            lengths.with_unit(short)
        ));
    }

    let mut bend = Vec::new();
    for (part, described) in job.parts().iter().enumerate() {
        let bends = settings.bends.iter().filter(|bend| bend.part == part).count();
        let pieces = used.placements.iter().filter(|placement| placement.part == part).count();
        if bends > 0 && pieces > 0 {
            let (each, many) =
                (if bends == 1 { "bend" } else { "bends" }, if pieces == 1 { "piece" } else { "pieces" });
            bend.push(format!("{}: {bends} {each} in each of {pieces} {many}; see its bend card", described.name));
        }
    }
    html.text(r#"p class="printed""#, "Places of the parts and the cut plan: cut-sheets.pdf.");
    html.ticks("Mark", &mark);
    html.ticks("Drill, saw or punch", &drill);
    html.ticks("Cut", &cut);
    html.ticks("Bend", &bend);
}

/// The pieces, each in a row that lights up with its part in the picture.
fn pieces(html: &mut Html, job: &Job, plan: &Plan, index: usize, settings: &ReportSettings<'_>, numbers: &[Copy]) {
    let used = &plan.layout().sheets[index];
    let frame = DatumFrame::of(&job.sheets()[used.sheet].bought_shape(used.length));
    let (number, lengths) = (index + 1, settings.lengths);
    html.raw(r#"<div class="rows">"#);
    html.text("h3", &format!("Parts on sheet {number}"));
    let unit = lengths.unit_in_words();
    html.text("p", &format!("Edges of the box around each part, in {unit} from the datum; {}.", lengths.rounding()));
    html.open_table(&format!("Parts on sheet {number}, with their places"), "pieces");
    let columns = [
        PaperColumn::words(""),
        PaperColumn::words("part"),
        PaperColumn::numbers("left"),
        PaperColumn::numbers("lower"),
        PaperColumn::numbers("right"),
        PaperColumn::numbers("upper"),
        PaperColumn::numbers("turned"),
    ];
    html.heading_row(&columns);
    html.raw(r#"<tbody role="rowgroup">"#);
    let mut order: Vec<usize> = (0..used.placements.len()).collect();
    order.sort_by_key(|&i| (used.placements[i].part, numbers[i].number));
    for i in order {
        let (placement, copy) = (used.placements[i], numbers[i]);
        let part = &job.parts()[placement.part];
        let bounds = frame.piece(&part.shape, placement.position).bounds();
        let copy_number = if copy.of > 1 { copy.number.to_string() } else { String::new() };
        let key = format!("{}{copy_number}", key(placement.part));
        let turned = frame.turn(placement.position);
        html.raw(&format!(r#"<tr role="row" id="s{number}-r{i}">"#));
        let cell = html.box_cell(&format!("{key} is cut"));
        html.raw(&cell);
        let colour = COLOURS[placement.part % COLOURS.len()];
        let mut cells = format!(
            r##"<th scope="row" role="rowheader"><span class="swatch" style="background:{colour}"></span><a href="#s{number}-p{i}">{key}</a> {} {}</th>"##,
            safe(&part.name),
            if copy.of > 1 { format!("{}/{}", copy.number, copy.of) } else { String::new() },
        );
        let edges = [bounds.min.x, bounds.min.y, bounds.max.x, bounds.max.y];
        for (value, label) in edges.into_iter().zip(["left", "lower", "right", "upper"]) {
            let _ = write!(cells, r#"<td role="cell" class="n" data-label="{label}">{}</td>"#, lengths.bare(value));
        }
        let _ = write!(cells, r#"<td role="cell" class="n" data-label="turned">{turned}</td>"#);
        html.raw(&cells);
        html.raw("</tr>");
    }
    html.close_table();
    html.raw("</div>");
}
