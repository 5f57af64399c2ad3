//! The first page of a template: a ruled square, a map of the pages, and what to do.

use dropwise_geometry::{Point, Unit, Vector};

use super::Split;
use super::marks::NOTE;
use super::settings::TemplateSettings;
use crate::details::holes_by_size;
use crate::pdf::canvas::{Hold, Page, Pen, Style};
use crate::pdf::document::Document;
use crate::pdf::font::{Fonts, Weight};
use crate::pdf::paper::Paper;

/// Height of the page on a roll, mm.
const ON_ROLL: f64 = 230.0;

/// Lower left corner of the ruled square from the upper left of the printable area.
const SQUARE_BELOW: f64 = 62.0;

/// Draws the page.
pub(super) fn draw(document: &mut Document, split: &Split, settings: &TemplateSettings<'_>) {
    let size = match settings.paper {
        Paper::Roll { width } => Vector::new(width, ON_ROLL),
        _ => split.form.size,
    };
    document.page(size);
    let Document { fonts, pages, .. } = document;
    let page = pages.last_mut().expect("a page was just added");
    let (left, top) = (split.form.margin, size.y - split.form.margin);
    let room = size.x - 2.0 * left;
    let subject = &split.subject;
    let title = fonts.shorten(Weight::Bold, &subject.name, room / 7.0);
    page.text(fonts, Style::new(Weight::Bold, 7.0), Point::new(left, top - 7.0), &title);
    let kind = if subject.sheet.is_some() { "a whole sheet" } else { "one part" };
    let lengths = settings.lengths;
    let facts = [
        format!("Full-size template of {kind}, 1:1, on {}", settings.paper.name()),
        subject.class.clone(),
        format!(
            "{} × {} over everything; {} of paper to print after this one",
            lengths.with_unit(subject.bounds.width()),
            lengths.with_unit(subject.bounds.height()),
            match split.printed.len() {
                1 => "one page".to_owned(),
                count => format!("{count} pages"),
            }
        ),
    ];
    for (i, fact) in facts.iter().enumerate() {
        let fact = fonts.shorten(Weight::Regular, fact, room / 3.6);
        page.text(fonts, Style::new(Weight::Regular, 3.6), Point::new(left, top - 13.5 - 5.0 * i as f64), &fact);
    }
    let metric = lengths.unit.is_metric();
    let (side, words) = if metric { (100.0, "100 mm") } else { (4.0 * Unit::Inch.millimetres(), "4 in") };
    let steps = [
        "Print at 100 %, with no fitting to the page.".to_owned(),
        format!("Measure the square both ways: each side is {words} when the printer is true."),
        "If not, have it drawn again with what you measured, across and upright (`dropwise draw --square`).".to_owned(),
        "Trim at the grey frames, lay chequered squares on each other, tape, and check a known length.".to_owned(),
        format!(
            "Centre-punch through the crosses in a ring, and nowhere else. Dashed lines bend up, dash-dotted ones down.{}",
            if subject.sheet.is_some() { " Thick lines: the sheet itself." } else { "" }
        ),
    ];
    for (i, step) in steps.iter().enumerate() {
        let text = fonts.shorten(Weight::Regular, &format!("{}. {step}", i + 1), room / NOTE);
        page.text(fonts, Style::new(Weight::Regular, NOTE), Point::new(left, top - 32.5 - 4.8 * i as f64), &text);
    }
    let factors = Vector::new(settings.correction.across, settings.correction.upright);
    let square = Vector::new(side * factors.x, side * factors.y);
    let corner = Point::new(left + 2.0, top - SQUARE_BELOW - square.y);
    ruled_square(page, fonts, corner, square, words, metric);
    if settings.correction != super::PrinterCorrection::default() {
        let text = format!("corrected × {:.4} across, × {:.4} upright", factors.x, factors.y);
        let at = corner + Vector::new(square.x / 2.0, square.y / 2.0 - 9.0);
        page.text(fonts, Style::new(Weight::Regular, 3.0).held(Hold::Middle), at, &text);
    }
    // Beside the square where there is room, else below it.
    let is_wide = room - square.x - 12.0 > 70.0;
    let (map_corner, map_room) = if is_wide {
        let x = corner.x + square.x + 10.0;
        (Point::new(x, corner.y + square.y), Vector::new(size.x - left - x, square.y))
    } else {
        let below = corner.y - 10.0;
        (Point::new(left, below), Vector::new(room, (below - left).max(20.0)))
    };
    map(page, fonts, split, map_corner, map_room);
    if is_wide {
        let list = Point::new(left, corner.y - 10.0);
        contents(page, fonts, split, settings, list, Vector::new(room, list.y - left));
    }
}

/// Draws the first page of templates of several parts: the ruled square, what to do, and where each part is.
pub(super) fn shared(
    document: &mut Document,
    size: Vector,
    settings: &TemplateSettings<'_>,
    pages: &[(String, usize)],
) {
    document.page(size);
    let Document { fonts, pages: drawn, .. } = document;
    let page = drawn.last_mut().expect("a page was just added");
    let (left, top) = (settings.margin, size.y - settings.margin);
    let room = size.x - 2.0 * left;
    page.text(fonts, Style::new(Weight::Bold, 7.0), Point::new(left, top - 7.0), "Templates of all parts");
    let lengths = settings.lengths;
    let metric = lengths.unit.is_metric();
    let (side, words) = if metric { (100.0, "100 mm") } else { (4.0 * Unit::Inch.millimetres(), "4 in") };
    let steps = [
        format!("True size, 1:1, on {}. Print at 100 %, with no fitting to the page.", settings.paper.name()),
        format!("Measure the square both ways: each side is {words} when the printer is true."),
        "If not, have it drawn again with what you measured, across and upright (`dropwise draw --square`).".to_owned(),
        "Trim at the grey frames, lay chequered squares on each other, tape, and check a known length.".to_owned(),
        "Centre-punch through the crosses in a ring, and nowhere else.".to_owned(),
        "Dashed lines bend up, dash-dotted ones down. Cut along the middle of black lines.".to_owned(),
    ];
    for (i, step) in steps.iter().enumerate() {
        let text = fonts.shorten(Weight::Regular, &format!("{}. {step}", i + 1), room / NOTE);
        page.text(fonts, Style::new(Weight::Regular, NOTE), Point::new(left, top - 15.0 - 4.8 * i as f64), &text);
    }
    let factors = Vector::new(settings.correction.across, settings.correction.upright);
    let square = Vector::new(side * factors.x, side * factors.y);
    let corner = Point::new(left + 2.0, top - SQUARE_BELOW + 8.0 - square.y);
    ruled_square(page, fonts, corner, square, words, metric);
    if settings.correction != super::PrinterCorrection::default() {
        let text = format!("corrected × {:.4} across, × {:.4} upright", factors.x, factors.y);
        let at = corner + Vector::new(square.x / 2.0, square.y / 2.0 - 9.0);
        page.text(fonts, Style::new(Weight::Regular, 3.0).held(Hold::Middle), at, &text);
    }
    let list = Point::new(left, corner.y - 10.0);
    page.text(fonts, Style::new(Weight::Bold, 3.6), list, "Where each part is");
    let rows = ((list.y - left - 12.0) / 4.6).floor().max(1.0) as usize;
    let columns = (room / 62.0).floor().max(1.0) as usize;
    let width = room / columns as f64;
    for (i, (name, number)) in pages.iter().enumerate().take(rows * columns) {
        let at = list + Vector::new((i / rows) as f64 * width, -((i % rows) as f64 + 1.3) * 4.6);
        let number = format!("page {number}");
        let taken = fonts.width(Weight::Regular, &number) * 3.2 + 4.0;
        let text = fonts.shorten(Weight::Regular, name, (width - 3.0 - taken) / 3.2);
        page.text(fonts, Style::new(Weight::Regular, 3.2), at, &text);
        let end = at + Vector::new(width - 4.0, 0.0);
        page.text(fonts, Style::new(Weight::Regular, 3.2).held(Hold::End), end, &number);
    }
}

/// A square ruled along two sides, its sides true at the middle of their lines.
fn ruled_square(page: &mut Page, fonts: &mut Fonts, corner: Point, side: Vector, words: &str, is_metric: bool) {
    page.rectangle(corner, side, Pen::black(0.25));
    let count = if is_metric { 100 } else { 64 };
    let (long, middle) = if is_metric { (10, 5) } else { (16, 8) };
    for i in 1..count {
        let height = if i % long == 0 {
            5.0
        } else if i % middle == 0 {
            3.5
        } else {
            2.0
        };
        let t = f64::from(i) / f64::from(count);
        let (x, y) = (corner.x + side.x * t, corner.y + side.y * t);
        page.line(&[Point::new(x, corner.y), Point::new(x, corner.y + height)], Pen::black(0.12));
        page.line(&[Point::new(corner.x, y), Point::new(corner.x + height, y)], Pen::black(0.12));
        if i % long == 0 {
            let label = if is_metric { i.to_string() } else { (i / long).to_string() };
            let style = Style::new(Weight::Regular, NOTE).held(Hold::Middle);
            page.text(fonts, style, Point::new(x, corner.y + 6.0), &label);
            page.text(fonts, Style::new(Weight::Regular, NOTE), Point::new(corner.x + 6.0, y - 1.2), &label);
        }
    }
    let style = Style::new(Weight::Bold, 4.0).held(Hold::Middle);
    page.text(fonts, style, corner + side * 0.5, &format!("{words} each side"));
}

/// The subject small, with the pages over it.
fn map(page: &mut Page, fonts: &mut Fonts, split: &Split, upper_left: Point, room: Vector) {
    let grid = &split.grid;
    let extent = grid.extent();
    let heading = "Map of the pages";
    page.text(fonts, Style::new(Weight::Bold, 3.6), upper_left - Vector::new(0.0, 3.2), heading);
    let usable = room - Vector::new(0.0, 10.0);
    let scale = (usable.x / extent.x).min(usable.y / extent.y);
    let corner = upper_left - Vector::new(0.0, 6.0 + extent.y * scale);
    let place = |point: Point| corner + (point - grid.origin) * scale;
    // Windows first, so that the outlines stand on top.
    for tile in grid.tiles() {
        let at = place(grid.corner(tile));
        let size = grid.window * scale;
        if !split.printed.contains(&tile) {
            page.filled_rectangle(at, size, 0.95);
        }
    }
    // Shades without edges, which would run through the numbers.
    if let Some(sheet) = &split.subject.sheet {
        page.filled_shape(sheet, &place, 0.88);
    }
    for piece in &split.subject.pieces {
        page.filled_shape(&piece.shape, &place, 0.72);
    }
    let type_size = (grid.window.x.min(grid.window.y) * scale * 0.35).clamp(1.4, 7.0);
    for tile in grid.tiles() {
        let at = place(grid.corner(tile));
        let size = grid.window * scale;
        page.rectangle(at, size, Pen::black(0.15).dashed(&[1.0, 0.6]));
        if let Some(number) = split.number(tile) {
            let center = at + size * 0.5;
            let name = number.to_string();
            let half = fonts.width(Weight::Bold, &name) * type_size / 2.0 + 0.4;
            page.filled_rectangle(
                center - Vector::new(half, type_size * 0.5),
                Vector::new(2.0 * half, type_size * 1.0),
                1.0,
            );
            let style = Style::new(Weight::Bold, type_size).held(Hold::Middle);
            page.text(fonts, style, center - Vector::new(0.0, type_size * 0.36), &name);
        }
    }
    if split.printed.len() < grid.len() {
        let note = "Grey: no metal, not printed.";
        page.text(fonts, Style::new(Weight::Regular, 2.8), corner - Vector::new(0.0, 4.4), note);
    }
}

/// Pieces by key and holes by size, as many as there is room for.
fn contents(
    page: &mut Page,
    fonts: &mut Fonts,
    split: &Split,
    settings: &TemplateSettings<'_>,
    at: Point,
    room: Vector,
) {
    let pieces = &split.subject.pieces;
    let mut lines: Vec<(Weight, String)> = vec![(Weight::Bold, "Holes, by diameter".to_owned())];
    for (diameter, count) in holes_by_size(pieces.iter().flat_map(|piece| piece.holes.iter().map(|h| h.diameter))) {
        lines.push((Weight::Regular, format!("Ø {}: {count}", settings.lengths.tool_size(diameter))));
    }
    if lines.len() == 1 {
        lines[0].1 = "No round holes".to_owned();
    }
    if split.subject.sheet.is_some() {
        lines.push((Weight::Bold, "Pieces".to_owned()));
        lines.extend(pieces.iter().map(|piece| (Weight::Regular, format!("{}: {}", piece.key, piece.name))));
    }
    let (row, size) = (4.6, NOTE);
    let rows = (room.y / row).floor().max(1.0) as usize;
    let columns = (room.x / 62.0).floor().max(1.0) as usize;
    let width = room.x / columns as f64;
    let shown = if lines.len() > rows * columns { rows * columns - 1 } else { lines.len() };
    let missing = lines.len() - shown;
    lines.truncate(shown);
    if missing > 0 {
        lines.push((Weight::Regular, format!("and {missing} more, on the cut sheet")));
    }
    for (i, (weight, line)) in lines.iter().enumerate() {
        let (column, below) = ((i / rows) as f64, (i % rows) as f64);
        let text = fonts.shorten(*weight, line, (width - 3.0) / size);
        page.text(fonts, Style::new(*weight, size), at + Vector::new(column * width, -(below + 1.0) * row), &text);
    }
}
