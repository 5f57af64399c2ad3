//! One page of a template.

use dropwise_geometry::{Point, Shape, Unit, Vector};

use super::Split;
use super::marks::{self, Board, NOTE, View};
use super::settings::{PageForm, TemplateSettings};
use super::subject::Piece;
use super::tiles::Tile;
use crate::drawing::label::line_meets_box;
use crate::pdf::canvas::{Hold, Page, Pen, Style};
use crate::pdf::document::Document;
use crate::pdf::font::{Fonts, Weight};

/// The edge of the sheet.
const SHEET: Pen = Pen::black(0.6);
/// Size of hints, mm.
const HINT: f64 = NOTE;
/// The edge of the window: where to trim. Grey, so that black lines are metal and nothing else.
const TRIM: Pen = Pen { width: 0.18, gray: 0.5, dashes: &[] };
/// Where the neighbour's edge comes to lie.
const LAP: Pen = Pen { width: 0.13, gray: 0.45, dashes: &[1.0, 1.5] };
/// Zones to stay out of.
const DAMAGE: Pen = Pen { width: 0.3, gray: 0.3, dashes: &[2.0, 1.0] };

/// Draws the page of one window.
pub(super) fn draw(document: &mut Document, split: &Split, tile: Tile, settings: &TemplateSettings<'_>) {
    let Split { subject, form, grid, .. } = split;
    let (correction, true_corner) = (settings.correction, grid.corner(tile));
    document.page(form.size);
    let Document { fonts, pages, .. } = document;
    let page = pages.last_mut().expect("a page was just added");
    let corner = Point::new(form.margin, form.margin + PageForm::FOOT);
    let window = form.window();
    let place = |point: Point| {
        let from = point - true_corner;
        corner + Vector::new(from.x * correction.across, from.y * correction.upright)
    };
    let view = View { place: &place, corner: true_corner, size: grid.window, lengths: settings.lengths };

    // Marks lie where nothing is drawn, off the metal if that can be.
    let lines = subject.lines();
    let is_clear = |place: Point| !lines.iter().any(|&[a, b]| line_meets_box(a - place, b - place, MARK));
    let is_off = |place: Point| is_clear(place) && !subject.pieces.iter().any(|piece| piece.polygon.contains(place));
    let off = grid.marks(tile, &is_off);
    let clear = grid.marks(tile, &|place| is_off(place) || is_clear(place));
    let register = if off.len() == clear.len() { off } else { clear };
    let laps = laps(split, tile);
    let mut board = Board::new(&view, lines.into_iter().chain(laps.iter().map(|lap| lap.line)));
    register.iter().for_each(|&mark| board.take(mark, MARK));

    page.clip(corner, window);
    for damage in &subject.damage {
        page.shape(&Shape::new(damage.clone(), Vec::new()), &place, DAMAGE);
    }
    let is_shown = |piece: &&Piece| {
        let (from, to) = (piece.bounds.min - true_corner, piece.bounds.max - true_corner);
        to.x >= 0.0 && to.y >= 0.0 && from.x <= grid.window.x && from.y <= grid.window.y
    };
    let shown: Vec<&Piece> = subject.pieces.iter().filter(is_shown).collect();
    shown.iter().for_each(|piece| marks::outlines(page, piece, &view));
    if let Some(sheet) = &subject.sheet {
        page.shape(sheet, &place, SHEET);
    }
    for lap in &laps {
        page.line(&lap.line.map(place), LAP);
    }
    marks::notes(page, fonts, &shown, &view, &mut board);
    laps.iter().for_each(|lap| lap.name(page, fonts, &view, &mut board));
    page.unclip();
    for &mark in &register {
        target(page, place(mark));
    }
    page.rectangle(corner, window, TRIM);
    head(page, fonts, split, tile, settings);
    foot(page, fonts, form, settings);
}

/// Where a neighbour's edge comes to lie, and what is said of it.
struct Lap {
    /// Along the window.
    line: [Point; 2],
    words: String,
    /// From the line to the middle of its words, towards the frame.
    out: Vector,
}

/// The laps of a page, with the names of its neighbours.
fn laps(split: &Split, tile: Tile) -> Vec<Lap> {
    let grid = &split.grid;
    let (low, high) = (grid.corner(tile), grid.corner(tile) + grid.window);
    let overlap = grid.overlap;
    let sides = [
        (-1, 0, [Point::new(low.x + overlap, low.y), Point::new(low.x + overlap, high.y)], Vector::new(-1.0, 0.0)),
        (1, 0, [Point::new(high.x - overlap, low.y), Point::new(high.x - overlap, high.y)], Vector::new(1.0, 0.0)),
        (0, 1, [Point::new(low.x, low.y + overlap), Point::new(high.x, low.y + overlap)], Vector::new(0.0, -1.0)),
        (0, -1, [Point::new(low.x, high.y - overlap), Point::new(high.x, high.y - overlap)], Vector::new(0.0, 1.0)),
    ];
    let lap = |(right, down, line, out)| {
        let other = grid.neighbour(tile, right, down)?;
        let words = match split.number(other) {
            Some(number) => format!("page {number} from here"),
            None => "nothing beyond".to_owned(),
        };
        Some(Lap { line, words, out })
    };
    sides.into_iter().filter_map(lap).collect()
}

impl Lap {
    /// Writes the words along the line, nearest to its middle where nothing is in the way. Where everything is, the map at
    /// the head of the page tells the neighbours.
    fn name(&self, page: &mut Page, fonts: &mut Fonts, view: &View<'_>, board: &mut Board) {
        let is_upright = self.out.x != 0.0;
        let [long, high] = [fonts.width(Weight::Regular, &self.words) * HINT / 2.0 + 0.4, HINT * 0.5 + 0.3];
        let half = if is_upright { Vector::new(high, long) } else { Vector::new(long, high) };
        let [from, to] = self.line;
        let steps = (0..=48).flat_map(|step| [f64::from(step), -f64::from(step)]).map(|step| 0.5 + step / 100.0);
        let places = steps.flat_map(|share| [1.0, 4.0, 7.0].map(|out| from.lerp(to, share) + self.out * (out + high)));
        let Some(center) = places.into_iter().find(|&center| board.is_free(center, half)) else { return };
        board.take(center, half);
        let style = Style { gray: 0.3, ..Style::new(Weight::Regular, HINT) }.held(Hold::Middle);
        let base = HINT * 0.36;
        // Read from the right, as upright dimensions are.
        let (style, at) = if is_upright {
            (style.turned(90.0), center + Vector::new(base, 0.0))
        } else {
            (style, center - Vector::new(0.0, base))
        };
        page.text(fonts, style, (view.place)(at), &self.words);
    }
}

/// Half the box that a mark keeps clear of lines, mm.
pub(super) const MARK: Vector = Vector::new(3.4, 3.4);

/// A square of four fields, black and white by turns, to be laid on that of the neighbour. No cross: those are punched.
fn target(page: &mut Page, at: Point) {
    let side = Vector::new(2.6, 2.6);
    page.filled_rectangle(at, side, 0.0);
    page.filled_rectangle(at - side, side, 0.0);
    page.rectangle(at - side, side * 2.0, Pen::black(0.13));
}

fn head(page: &mut Page, fonts: &mut Fonts, split: &Split, tile: Tile, settings: &TemplateSettings<'_>) {
    let form = split.form;
    let top = form.size.y - form.margin;
    let (left, right) = (form.margin, form.size.x - form.margin);
    // The name of the page and a map of all, to the right.
    let grid = &split.grid;
    let cell = (12.0 / grid.rows as f64).min(24.0 / grid.columns as f64).min(5.0);
    let map = Point::new(right - cell * grid.columns as f64, top - 0.5);
    if grid.len() > 1 {
        for other in grid.tiles() {
            let at = map + Vector::new(other.column as f64 * cell, -(other.row as f64 + 1.0) * cell);
            let gray = match (other == tile, split.printed.contains(&other)) {
                (true, _) => 0.0,
                (_, true) => 1.0,
                _ => 0.75,
            };
            page.filled_rectangle(at, Vector::new(cell, cell), gray);
            page.rectangle(at, Vector::new(cell, cell), Pen::black(0.1));
        }
    }
    let name_right = map.x - 3.0;
    let position = split.number(tile).unwrap_or_default();
    let name = position.to_string();
    let name_style = Style::new(Weight::Bold, 9.0).held(Hold::End);
    page.text(fonts, name_style, Point::new(name_right, top - 9.0), &name);
    let mut room = name_right - fonts.width(Weight::Bold, &name) * 9.0 - 4.0 - left;
    if let Some(grain_deg) = split.subject.grain_deg {
        // The sheet's own grain, for reading only: an arrow of fixed length beside the word.
        room -= 24.0;
        let center = Point::new(left + room + 12.0, top - 5.0);
        let view = View { place: &|point| point, corner: Point::ORIGIN, size: form.size, lengths: Default::default() };
        marks::arrow(page, &view, center, grain_deg, 5.0);
        page.text(fonts, Style::new(Weight::Regular, 2.6).held(Hold::Middle), center - Vector::new(0.0, 8.4), "grain");
    }
    let title = fonts.shorten(Weight::Bold, &split.subject.name, room / 4.6);
    page.text(fonts, Style::new(Weight::Bold, 4.6), Point::new(left, top - 5.0), &title);
    let correction = settings.correction;
    let scale = if correction == super::PrinterCorrection::default() {
        "true size, 1:1".to_owned()
    } else {
        format!("true size, 1:1, corrected × {} across, × {} upright", correction.across, correction.upright)
    };
    let facts = format!("{} · page {position} of {} · {scale}", split.subject.class, split.printed.len());
    let facts = fonts.shorten(Weight::Regular, &facts, room / NOTE);
    page.text(fonts, Style::new(Weight::Regular, NOTE), Point::new(left, top - 9.6), &facts);
    let hint = "cut the middle of black lines · trim at the grey frame · chequered squares on each other";
    let hint = fonts.shorten(Weight::Regular, hint, room / HINT);
    page.text(fonts, Style { gray: 0.3, ..Style::new(Weight::Regular, HINT) }, Point::new(left, top - 13.2), &hint);
}

/// Length and division of the rule, mm, and what is said of it.
fn rule(settings: &TemplateSettings<'_>) -> (f64, f64, &'static str) {
    if settings.lengths.unit.is_metric() {
        (100.0, 10.0, "this rule: 100 mm")
    } else {
        (4.0 * Unit::Inch.millimetres(), Unit::Inch.millimetres() / 2.0, "this rule: 4 in")
    }
}

/// How far the rule with its words reaches from the left margin, mm.
pub(super) fn reach_of_rule(fonts: &mut Fonts, settings: &TemplateSettings<'_>) -> f64 {
    let (length, _, words) = rule(settings);
    length * settings.correction.across + 2.0 + fonts.width(Weight::Regular, words) * NOTE
}

/// A rule below the window: the feed of a printer may differ from page to page.
fn foot(page: &mut Page, fonts: &mut Fonts, form: &PageForm, settings: &TemplateSettings<'_>) {
    let (length, division, words) = rule(settings);
    let across = settings.correction.across;
    let start = Point::new(form.margin, form.margin + 1.0);
    let end = start + Vector::new(length * across, 0.0);
    page.line(&[start, end], Pen::black(0.2));
    let count = (length / division).round() as usize;
    for i in 0..=count {
        let x = start.x + division * i as f64 * across;
        let height = if i == 0 || i == count { 4.0 } else { 2.2 };
        page.line(&[Point::new(x, start.y), Point::new(x, start.y + height)], Pen::black(0.2));
    }
    page.text(fonts, Style::new(Weight::Regular, NOTE), end + Vector::new(2.0, 0.4), words);
}
