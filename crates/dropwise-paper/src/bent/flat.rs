//! The picture of a flat pattern with its bend lines, dimensioned, and the bend table below it.

use dropwise_geometry::{Bounds, Point, Polygon, Side, Unit, Vector, format_length};
use dropwise_shop::fold::{BendRow, Direction, FlatBend, FlatFace, Run, RunRow, Unfolding};

use crate::card::BendCard;
use crate::details::LengthStyle;
use crate::drawing::DrawingStyle;
use crate::drawing::annotate::{NOTE, datum, dimension, plated_text};
use crate::drawing::label::BASE;
use crate::drawing::naming::{Numbered, broken, name_points, sides};
use crate::drawing::svg::{Anchor, Canvas, Frame, MEDIUM, THIN, number};
use crate::drawing::text::{clean, shorten, width};
use crate::tables::{PaperColumn, PaperTable};

use super::fit::{place_for, plate, touch};

/// White around everything, mm of paper.
const EDGE: f64 = 6.0;
/// Height of the title, mm of paper.
const TITLE: f64 = 16.0;
/// Room for a dimension to the left and below, mm of paper.
const DIMENSION: f64 = 15.0;
/// Room for the distances of bend lines above and to the right, mm of paper.
const ORDINATES: f64 = 24.0;
/// Height of the legend, mm of paper.
const LEGEND: f64 = 9.0;
/// Height of a row of the table, mm of paper.
const ROW: f64 = 4.8;
/// Tallest that a pattern is drawn, as a share of the paper's width, without words around it and with them.
const TALLEST: [f64; 2] = [0.75, 0.5];
/// Fill of metal that stays plane, and of metal that is bent.
const METAL: (&str, &str) = ("#f4f4f4", "#d9d9d9");
/// Dashes of a bend line, mm of paper: up, then down as centre lines are drawn (ISO 128-2).
const DASHES: [&[f64]; 2] = [&[4.0, 2.0], &[6.0, 1.5, 0.6, 1.5]];
/// Columns of the table: heading and width, mm of paper.
const COLUMNS: [(&str, f64); 10] = [
    ("bend", 12.0),
    ("brings up", 46.0),
    ("way", 15.0),
    ("angle", 19.0),
    ("inside radius", 25.0),
    ("K", 16.0),
    ("allowance", 24.0),
    ("setback", 24.0),
    ("deduction", 24.0),
    ("length bent", 26.0),
];

/// A picture of the flat pattern as SVG: outline and holes, bend lines with their directions, angles, inside radii and
/// deductions, their distances from the datum corner, overall sizes, names of faces, and the bend table.
///
/// Bends up are dashed, bends down dash-dotted; metal that is bent is darker. Bend lines that run level or upright carry
/// their distance from the lower left corner of the box. One unit of the picture is a millimetre of the part.
#[must_use]
pub fn draw_flat(flat: &Unfolding, title: &str, style: &DrawingStyle) -> String {
    pattern(flat, title, style, true)
}

/// The picture of [`draw_flat`] without heading and bend table, for a page that has them beside it: see [`bend_table`].
#[must_use]
pub fn draw_flat_alone(flat: &Unfolding, title: &str, style: &DrawingStyle) -> String {
    pattern(flat, title, style, false)
}

fn pattern(flat: &Unfolding, title: &str, style: &DrawingStyle, has_words: bool) -> String {
    let bounds = flat.shape.bounds();
    let page_width = style.usable_paper_width();
    let across = page_width - 2.0 * EDGE - DIMENSION - ORDINATES;
    let paper =
        (bounds.width() / across).max(bounds.height() / (page_width * TALLEST[usize::from(has_words)])).max(1e-3);
    let mut canvas = Canvas::new(paper);
    let drawn = Vector::new(bounds.width() / paper, bounds.height() / paper);
    let left = EDGE + DIMENSION + (across - drawn.x) / 2.0;
    let top = EDGE + if has_words { TITLE } else { 0.0 } + ORDINATES;
    let corner = Point::new(left * paper, (top + drawn.y) * paper);
    let frame = Frame { origin: Point::new(corner.x - bounds.min.x, corner.y + bounds.min.y) };

    canvas.path(&frame.shape(&flat.shape), METAL.0, MEDIUM, "");
    let clip = format!("b{}-cut", prefix(&style.id_prefix));
    let clipped = format!(r#" clip-path="url(#{clip})""#);
    for bend in &flat.bends {
        canvas.fill(&frame.outline(&bend.zone), METAL.1, &clipped);
    }
    // The outline once more, over the ends of the bend zones.
    canvas.path(&frame.shape(&flat.shape), "none", MEDIUM, "");
    for bend in &flat.bends {
        bend_line(&mut canvas, frame, bend);
    }
    let ordinates = ordinates(flat, bounds, paper, &|mm| short(figure(mm, style.unit)));
    ordinates.iter().for_each(|ordinate| ordinate.draw(&mut canvas, frame));
    let mut taken: Vec<Vec<Point>> = Vec::new();
    for (index, bend) in flat.bends.iter().enumerate() {
        let covered = bend_label(&mut canvas, frame, bend, index + 1, &taken, style.unit);
        taken.push(covered);
    }
    // Names keep clear of openings too.
    let cut = flat.shape.flatten(0.1 * paper, Side::Shrink);
    taken.extend(cut.holes);
    for face in &flat.faces {
        face_name(&mut canvas, frame, face, &taken);
    }
    let lower_right = corner + Vector::new(bounds.width(), 0.0);
    let upper_left = corner - Vector::new(0.0, bounds.height());
    dimension(&mut canvas, corner, lower_right, Vector::new(0.0, 1.0), &length(bounds.width(), style.unit));
    dimension(&mut canvas, corner, upper_left, Vector::new(-1.0, 0.0), &length(bounds.height(), style.unit));
    datum(&mut canvas, corner);

    let foot = top + drawn.y + DIMENSION;
    let bottom = foot + legend(&mut canvas, foot, page_width);
    let bottom = if has_words {
        heading(&mut canvas, flat, title, style);
        table(&mut canvas, flat, bottom, style)
    } else {
        bottom
    };
    let definitions = format!(
        "<clipPath id=\"{clip}\"><path d=\"{}\" clip-rule=\"evenodd\"/></clipPath>\n",
        frame.shape(&flat.shape)
    );
    canvas.finish(page_width * paper, (bottom + EDGE) * paper, &format!("{title}, flat pattern"), &definitions)
}

/// The flat pattern of a bend card, as SVG: bend lines with the numbers of their steps, distances of bend lines as a tape
/// reads them, overall sizes, holes by letter.
pub(crate) fn draw_card_flat(card: &BendCard, lengths: LengthStyle, style: &DrawingStyle) -> String {
    let flat = &card.unfolding;
    let bounds = flat.shape.bounds();
    let page_width = style.usable_paper_width();
    let across = page_width - 2.0 * EDGE - DIMENSION - ORDINATES;
    let paper = (bounds.width() / across).max(bounds.height() / (page_width * 0.7)).max(1e-3);
    let mut canvas = Canvas::new(paper);
    let drawn = Vector::new(bounds.width() / paper, bounds.height() / paper);
    let left = EDGE + DIMENSION + (across - drawn.x) / 2.0;
    let top = EDGE + ORDINATES;
    let corner = Point::new(left * paper, (top + drawn.y) * paper);
    let frame = Frame { origin: Point::new(corner.x - bounds.min.x, corner.y + bounds.min.y) };
    canvas.path(&frame.shape(&flat.shape), METAL.0, MEDIUM, "");
    let polygon = flat.shape.flatten(0.1 * paper, Side::Shrink);
    let mut lines: Vec<[Point; 2]> = sides(&polygon).chain(flat.bends.iter().map(|bend| bend.line)).collect();
    let ordinates = ordinates(flat, bounds, paper, &|mm| lengths.bare(mm));
    lines.extend(ordinates.iter().flat_map(|one| one.line.windows(2).map(|pair| [pair[0], pair[1]])));
    let bends = flat.bends.iter().zip(&card.names);
    let mut marks: Vec<Numbered> = bends.map(|(bend, name)| Numbered::line(bend.line, name, 4.4).bold()).collect();
    let numbers = marks.len();
    for group in card.hole_groups(|mm| lengths.in_trade(mm)) {
        for &center in &group.centers {
            for way in [Vector::new(1.4 * paper, 0.0), Vector::new(0.0, 1.4 * paper)] {
                lines.push([center - way, center + way]);
                canvas.line(&[frame.at(center - way), frame.at(center + way)], THIN, "#000");
            }
            marks.push(Numbered::point(center, &group.letter, 3.6));
        }
    }
    let around = Vector::new(5.0, 5.0) * paper;
    let naming =
        name_points(&[], &marks, &lines, Bounds::of([bounds.min - around, bounds.max + around]), (paper, usize::MAX));
    let boxes: Vec<(Point, Vector)> = naming.named.iter().map(|named| (named.center, named.half(paper))).collect();
    for bend in &flat.bends {
        for [from, to] in broken(bend.line, &boxes) {
            dashed(&mut canvas, frame.at(from), frame.at(to), bend.direction);
        }
    }
    for named in &naming.named {
        if let Some([from, to]) = named.leader {
            canvas.line(&[frame.at(from), frame.at(to)], THIN, "#000");
        }
        let base = frame.at(named.center) + Vector::new(0.0, BASE * named.size * paper);
        let weight = if named.subject < numbers { r#" font-weight="bold""# } else { "" };
        for line in &named.lines {
            canvas.text(base, named.size, Anchor::Middle, 0.0, weight, line);
        }
    }
    ordinates.iter().for_each(|ordinate| ordinate.draw(&mut canvas, frame));
    let lower_right = corner + Vector::new(bounds.width(), 0.0);
    let upper_left = corner - Vector::new(0.0, bounds.height());
    dimension(&mut canvas, corner, lower_right, Vector::new(0.0, 1.0), &lengths.with_unit(bounds.width()));
    dimension(&mut canvas, corner, upper_left, Vector::new(-1.0, 0.0), &lengths.with_unit(bounds.height()));
    datum(&mut canvas, corner);
    let high = top + drawn.y + DIMENSION + EDGE;
    canvas.finish(page_width * paper, high * paper, &format!("{}, flat pattern", card.name), "")
}

fn prefix(text: &str) -> String {
    text.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect()
}

/// A length for the brake: to 0.01 mm or 0.0005 in, beyond what is held, so that sums can be followed.
fn figure(mm: f64, unit: Unit) -> String {
    let decimals = if unit == Unit::Millimetre { 3 } else { 4 };
    format!("{:.decimals$}", mm / unit.millimetres() + 0.0)
}

fn length(mm: f64, unit: Unit) -> String {
    let decimals = if unit == Unit::Millimetre { 2 } else { 3 };
    format!("{} {unit}", short(format!("{:.decimals$}", mm / unit.millimetres())))
}

fn short(text: String) -> String {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

fn dashed(canvas: &mut Canvas, from: Point, to: Point, direction: Direction) {
    let dashes = DASHES[usize::from(direction == Direction::Down)];
    let dashes: Vec<String> = dashes.iter().map(|&dash| canvas.paper_length(dash)).collect();
    let line_width = canvas.paper_length(0.3);
    canvas.raw(&format!(
        "<path d=\"M{} {}L{} {}\" fill=\"none\" stroke=\"#000\" stroke-width=\"{line_width}\" stroke-dasharray=\"{}\"/>\n",
        number(from.x),
        number(from.y),
        number(to.x),
        number(to.y),
        dashes.join(" ")
    ));
}

/// The bend line, and where it is pricked.
fn bend_line(canvas: &mut Canvas, frame: Frame, bend: &FlatBend) {
    let [from, to] = bend.line.map(|point| frame.at(point));
    dashed(canvas, from, to, bend.direction);
    for mark in bend.centre_marks() {
        let at = frame.at(mark);
        let arm = 0.9 * canvas.paper;
        for (dx, dy) in [(arm, arm), (arm, -arm)] {
            canvas.line(&[at - Vector::new(dx, dy), at + Vector::new(dx, dy)], THIN, "#000");
        }
    }
}

/// Texts of a bend line, the longest first.
fn texts(bend: &FlatBend, number: usize, unit: Unit) -> [String; 3] {
    let figures = &bend.figures;
    let turn = short(format!("{:.1}", figures.bend.turn()));
    let radius = short(figure(figures.bend.radius(), unit));
    let taken = match figures.deduction {
        Some(deduction) => format!("BD {}", figure(deduction, unit)),
        None => format!("BA {}", figure(figures.allowance, unit)),
    };
    let brief = format!("{number} {} {turn}°", bend.direction);
    [format!("{brief} R{radius} {taken}"), brief, number.to_string()]
}

/// The text on a bend line; gives the place that it covers, on the flat, for names to keep clear of.
fn bend_label(
    canvas: &mut Canvas,
    frame: Frame,
    bend: &FlatBend,
    number: usize,
    taken: &[Vec<Point>],
    unit: Unit,
) -> Vec<Point> {
    let [from, to] = bend.line.map(|point| frame.at(point));
    let size = NOTE - 0.4;
    let room = from.distance(to) / canvas.paper / size;
    let along = to - from;
    // Read level or from the right, as dimensions are.
    let mut turn = -along.y.atan2(along.x).to_degrees();
    if turn > 90.0 + 1e-6 {
        turn -= 180.0;
    } else if turn <= -90.0 + 1e-6 {
        turn += 180.0;
    }
    let texts = texts(bend, number, unit);
    let place = |share: f64, text: &str| {
        let covered = plate(bend.line[0].lerp(bend.line[1], share), text, size * canvas.paper, turn).to_vec();
        taken.iter().all(|other| !touch(other, &covered)).then_some(covered)
    };
    // In the middle if it can be; bends side by side stand off each other along their lines.
    let found = texts.iter().filter(|text| width(text) + 1.0 <= room).find_map(|text| {
        let free = (room - width(text) - 1.0) / room / 2.0;
        [0.0, 0.5, -0.5, 1.0, -1.0].into_iter().find_map(|step| {
            let share = 0.5 + step * free;
            Some((share, text, place(share, text)?))
        })
    });
    let (share, text, covered) = found.unwrap_or_else(|| (0.5, &texts[2], Vec::new()));
    plated_text(canvas, from.lerp(to, share), size, turn, std::slice::from_ref(text));
    covered
}

/// The name of a face, clear of the texts of bends.
fn face_name(canvas: &mut Canvas, frame: Frame, face: &FlatFace, taken: &[Vec<Point>]) {
    let polygon: Polygon = face.region.flatten(0.1 * canvas.paper, Side::Shrink);
    let name = clean(&face.name);
    for turn in [0.0, 90.0] {
        if let Some(at) = place_for(&polygon, &name, NOTE * canvas.paper, turn, taken) {
            let (sin, cos) = dropwise_geometry::sin_cos_deg(turn);
            let baseline = frame.at(at) + Vector::new(sin, cos) * (BASE * NOTE * canvas.paper);
            canvas.text(baseline, NOTE, Anchor::Middle, turn, r##" fill="#555" font-style="italic""##, &name);
            return;
        }
    }
}

/// A distance of a bend line with the line to its figure, in the pattern's coordinates.
struct Ordinate {
    text: String,
    line: [Point; 4],
    is_upright: bool,
}

/// Distances of upright bend lines from the left, above the pattern, and of level ones from below, to its right; at so many
/// mm of the part for one of paper.
fn ordinates(flat: &Unfolding, bounds: Bounds, paper: f64, text_of: &dyn Fn(f64) -> String) -> Vec<Ordinate> {
    let mut found = Vec::new();
    for is_upright in [true, false] {
        // Distance, and the end of the bend line nearest to the text.
        let mut lines: Vec<(f64, f64)> = Vec::new();
        for bend in &flat.bends {
            let [from, to] = bend.line;
            let (across, along) =
                if is_upright { (to.x - from.x, to.y - from.y) } else { (to.y - from.y, to.x - from.x) };
            if across.abs() > 1e-6 * along.abs() {
                continue;
            }
            let (at, end) = if is_upright { (from.x, from.y.max(to.y)) } else { (from.y, from.x.max(to.x)) };
            match lines.iter_mut().find(|line| (line.0 - at).abs() < 0.005) {
                Some(line) => line.1 = line.1.max(end),
                None => lines.push((at, end)),
            }
        }
        lines.sort_by(|a, b| a.0.total_cmp(&b.0));
        let gap = NOTE * 1.25 * paper;
        let mut places: Vec<f64> = Vec::with_capacity(lines.len());
        for &(at, _) in &lines {
            places.push(places.last().map_or(at, |last| at.max(last + gap)));
        }
        // Pushed apart to one side only they would drift away: moved back by half of the drift.
        let drift = places.iter().zip(&lines).map(|(place, line)| place - line.0).fold(0.0, f64::max) / 2.0;
        for (place, &(at, end)) in places.iter().zip(&lines) {
            let place = place - drift;
            let step = |from_box: f64, along: f64| {
                let reach = from_box * paper;
                if is_upright {
                    Point::new(along, bounds.max.y + reach)
                } else {
                    Point::new(bounds.max.x + reach, along)
                }
            };
            let line_end = if is_upright { Point::new(at, end) } else { Point::new(end, at) };
            let from_datum = at - if is_upright { bounds.min.x } else { bounds.min.y };
            let line = [line_end, step(2.0, at), step(6.0, place), step(8.0, place)];
            found.push(Ordinate { text: text_of(from_datum), line, is_upright });
        }
    }
    found
}

impl Ordinate {
    fn draw(&self, canvas: &mut Canvas, frame: Frame) {
        canvas.line(&self.line.map(|point| frame.at(point)), 0.12, "#555");
        let end = frame.at(self.line[3]);
        let (turn, shift) =
            if self.is_upright { (90.0, Vector::new(BASE * NOTE, -1.0)) } else { (0.0, Vector::new(1.0, BASE * NOTE)) };
        canvas.text(end + shift * canvas.paper, NOTE, Anchor::Start, turn, "", &self.text);
    }
}

fn heading(canvas: &mut Canvas, flat: &Unfolding, title: &str, style: &DrawingStyle) {
    let paper = canvas.paper;
    let page_width = style.usable_paper_width();
    let room = page_width - 2.0 * EDGE;
    let at = |y: f64| Point::new(EDGE * paper, (EDGE + y) * paper);
    let name = shorten(&clean(title), room / (5.0 * 1.12));
    canvas.text(at(5.0), 5.0, Anchor::Start, 0.0, r#" font-weight="bold""#, &name);
    let facts = format!(
        "flat pattern, seen from above  ·  sheet {}  ·  bend lines measured from the datum corner",
        format_length(flat.thickness, style.unit)
    );
    canvas.text(at(10.4), NOTE + 0.2, Anchor::Start, 0.0, "", &shorten(&facts, room / (NOTE + 0.2)));
    let rule = (EDGE + 12.2) * paper;
    canvas.line(&[Point::new(EDGE * paper, rule), Point::new((page_width - EDGE) * paper, rule)], THIN, "#000");
}

/// Draws the legend, in two lines where the page is narrow; gives its height.
fn legend(canvas: &mut Canvas, top: f64, page_width: f64) -> f64 {
    let paper = canvas.paper;
    let (mut x, mut y) = (EDGE, top);
    let bent = "metal that is bent";
    for (direction, text) in [(Direction::Up, "bend up, towards you"), (Direction::Down, "bend down, away from you")] {
        if x > EDGE && x + 18.0 + width(text) * NOTE > page_width - EDGE {
            (x, y) = (EDGE, y + ROW);
        }
        let at = |dx: f64| Point::new((x + dx) * paper, (y + 3.0) * paper);
        dashed(canvas, at(0.0), at(16.0), direction);
        canvas.text(at(18.0) + Vector::new(0.0, BASE * NOTE * paper), NOTE, Anchor::Start, 0.0, "", text);
        x += 18.0 + width(text) * NOTE + 8.0;
    }
    if x + 8.0 + width(bent) * NOTE > page_width - EDGE {
        (x, y) = (EDGE, y + ROW);
    }
    canvas.rectangle(Point::new(x * paper, (y + 1.2) * paper), 6.0 * paper, 3.6 * paper, METAL.1, THIN);
    let at = Point::new((x + 8.0) * paper, (y + 3.0 + BASE * NOTE) * paper);
    canvas.text(at, NOTE, Anchor::Start, 0.0, "", bent);
    y - top + LEGEND
}

/// The bend table of a flat pattern, with the sums across its bends as notes. Lengths in `unit`.
#[must_use]
pub fn bend_table(flat: &Unfolding, unit: Unit) -> PaperTable {
    let columns = COLUMNS.iter().enumerate().map(|(index, (heading, _))| match index {
        0..3 => PaperColumn::words(heading),
        _ => PaperColumn::numbers(heading),
    });
    PaperTable {
        title: format!("Bends, lengths in {unit}"),
        notes: sums(flat, unit),
        columns: columns.collect(),
        rows: rows(flat, unit).into_iter().map(Vec::from).collect(),
        has_boxes: false,
    }
}

/// A row for each bend.
fn rows(flat: &Unfolding, unit: Unit) -> Vec<[String; COLUMNS.len()]> {
    let row = |bend: &BendRow| {
        let or_none = |value: Option<f64>| value.map_or_else(|| "–".to_owned(), |value| figure(value, unit));
        [
            bend.number.to_string(),
            clean(&bend.face),
            bend.direction.to_string(),
            format!("{}°", short(format!("{:.2}", bend.turn))),
            figure(bend.inside_radius, unit),
            format!("{:.3}", bend.k),
            figure(bend.allowance, unit),
            or_none(bend.setback),
            or_none(bend.deduction),
            figure(bend.length, unit),
        ]
    };
    flat.table().bends.iter().map(row).collect()
}

/// How each flat length comes about.
fn sums(flat: &Unfolding, unit: Unit) -> Vec<String> {
    let sum = |run: &Run| {
        let legs: Vec<String> = run
            .rows
            .iter()
            .filter_map(|row| match row {
                RunRow::Leg { told, .. } => Some(short(figure(*told, unit))),
                RunRow::Bend { .. } => None,
            })
            .collect();
        let crossed: Vec<String> = run
            .rows
            .iter()
            .filter_map(|row| match row {
                RunRow::Bend { number, .. } => Some(number.to_string()),
                RunRow::Leg { .. } => None,
            })
            .collect();
        // Bends that take off less than their allowance, as between straight parts alone, add to the sum.
        let sign = if run.deducted < 0.0 { '+' } else { '−' };
        format!(
            "across bend {}: {} {sign} {} = {} {unit} flat",
            crossed.join(", "),
            legs.join(" + "),
            figure(run.deducted.abs(), unit),
            figure(run.flat_length, unit)
        )
    };
    flat.table().runs.iter().map(sum).collect()
}

/// The bend table and the flat lengths; gives where it ends, mm of paper.
fn table(canvas: &mut Canvas, flat: &Unfolding, top: f64, style: &DrawingStyle) -> f64 {
    let paper = canvas.paper;
    let unit = style.unit;
    let page_width = style.usable_paper_width();
    let natural: f64 = COLUMNS.iter().map(|(_, width)| width).sum();
    let scale = (page_width - 2.0 * EDGE) / natural;
    let size = (NOTE * scale).clamp(1.8, NOTE);
    let mut y = top + ROW;
    let headings = COLUMNS.map(|(heading, _)| heading.to_owned());
    for (index, row) in std::iter::once(headings).chain(rows(flat, unit)).enumerate() {
        let mut x = EDGE;
        for (column, text) in row.iter().enumerate() {
            let room = COLUMNS[column].1 * scale;
            let is_number = column >= 3;
            let (at, anchor) = if is_number { (x + room - 2.0, Anchor::End) } else { (x, Anchor::Start) };
            let style = if index == 0 { r#" font-weight="bold""# } else { "" };
            let text = shorten(text, (room - 1.0) / size);
            canvas.text(Point::new(at * paper, y * paper), size, anchor, 0.0, style, &text);
            x += room;
        }
        if index == 0 {
            let rule = (y + 1.4) * paper;
            canvas.line(&[Point::new(EDGE * paper, rule), Point::new((page_width - EDGE) * paper, rule)], THIN, "#000");
            y += 0.6;
        }
        y += ROW;
    }
    y += 1.0;
    for text in sums(flat, unit) {
        let text = shorten(&text, (page_width - 2.0 * EDGE) / size);
        canvas.text(Point::new(EDGE * paper, y * paper), size, Anchor::Start, 0.0, "", &text);
        y += ROW;
    }
    y
}
