//! The picture of one sheet.

use dropwise_geometry::{Bounds, Point, Vector};
use dropwise_model::{Job, Plan};
use dropwise_shop::markout::Datum;
use dropwise_shop::stock_in_words;

use super::annotate::{NOTE, datum_along, dimension, grain, overhang, scale_bar};
use super::copies::key;
use super::fills::Fills;
use super::legend::{self, Entry, Mark};
use super::scene::Scene;
use super::style::DrawingStyle;
use super::svg::{Anchor, Canvas, Frame, THIN};
use super::text::{clean, shorten, width};

/// White around everything, mm of paper.
const EDGE: f64 = 5.0;
/// Height of the title, mm of paper.
const TITLE: f64 = 17.0;
/// Room for a dimension to the left and below, mm of paper.
const DIMENSION: f64 = 15.0;
/// Room to the right of a sheet and above it, for keys led out, mm of paper.
const RIGHT: f64 = 13.0;
const ABOVE: f64 = 6.0;
/// Height of the strip with scale bar and grain, mm of paper.
const FOOT: f64 = 15.0;
/// Width of a legend that stands beside a tall sheet, mm of paper.
const SIDE_LEGEND: f64 = 84.0;
/// Tallest that a sheet is drawn above its legend, and beside it, as a share of the paper's width.
const TALLEST: (f64, f64) = (0.5, 0.62);

/// Millimetres of the sheet for one of paper, at least: anything finer is lost in the decimals of the picture.
const FINEST: f64 = 0.05;
/// How a page is divided.
#[derive(Clone, Copy, Debug)]
struct Arrangement {
    /// Millimetres of the sheet for one of paper.
    paper: f64,
    has_side_legend: bool,
}

impl Arrangement {
    /// The one that shows a sheet of this size largest.
    fn best(size: Vector, page_width: f64) -> Self {
        let scale = |has_side_legend: bool| {
            let side = if has_side_legend { SIDE_LEGEND } else { 0.0 };
            let across = (page_width - 2.0 * EDGE - DIMENSION - RIGHT - side).max(30.0);
            let upright = page_width * if has_side_legend { TALLEST.1 } else { TALLEST.0 };
            (size.x / across).max(size.y / upright).max(FINEST)
        };
        let (below, beside) = (scale(false), scale(true));
        // Below unless that makes the sheet clearly smaller.
        let has_side_legend = beside < 0.95 * below;
        Self { paper: if has_side_legend { beside } else { below }, has_side_legend }
    }
}

/// A picture of one sheet of a plan as SVG: the sheet as bought with its holes and damage, the parts with their names,
/// what goes back into the rack, dimensions, scale bar, datum, grain, legend and a title.
///
/// One unit of the picture is a millimetre of the sheet. The picture is self-contained, stands on white, and is the
/// same for the same plan. Kinds of parts differ in colour and hatch; a kind looks the same on all sheets of a job.
/// Each part bears its key, with its name where that fits whole; a key that does not fit its part stands beside it with
/// a line. Names come from the job and are cleaned of control characters and escaped.
///
/// # Panics
/// If `use_index` is no index of the layout's sheets, or the plan was made for another job.
#[must_use]
pub fn draw_sheet(job: &Job, plan: &Plan, use_index: usize, style: &DrawingStyle) -> String {
    picture(job, plan, use_index, style, None)
}

/// The picture of [`draw_sheet`] for a page around it, whose rows `prefix-r0` and on belong to the parts in the order of
/// the layout: each part is a link there and is named `prefix-p0` and on.
pub(crate) fn draw_linked_sheet(
    job: &Job,
    plan: &Plan,
    use_index: usize,
    style: &DrawingStyle,
    prefix: &str,
) -> String {
    // What holds links is no image to a screen reader.
    picture(job, plan, use_index, style, Some(prefix)).replacen(r#" role="img""#, r#" role="group""#, 1)
}

fn picture(job: &Job, plan: &Plan, use_index: usize, style: &DrawingStyle, links: Option<&str>) -> String {
    let scene = Scene::of(job, plan, use_index, style);
    let fills = Fills::new(&style.id_prefix);
    let page_width = style.usable_paper_width();
    let size = Vector::new(scene.bounds.width(), scene.bounds.height());
    let arrangement = Arrangement::best(size, page_width);
    let paper = arrangement.paper;
    let mut canvas = Canvas::new(paper);

    let left = EDGE + DIMENSION;
    let drawn = size / paper;
    let upright_text = style.length(size.y);
    // A thin sheet is moved down, so that its upright dimension finds its room above it: below is its other dimension.
    let lowered = overhang(drawn.y, &upright_text).max(0.0);
    let first_row = EDGE + TITLE;
    let top = first_row + ABOVE + lowered;
    // Where the lower left corner of the sheet's box comes to lie.
    let corner = Point::new(left * paper, (top + drawn.y) * paper);
    let frame = Frame { origin: Point::new(corner.x - scene.bounds.min.x, corner.y + scene.bounds.min.y) };

    scene.draw(&mut canvas, frame, &fills, "", links);
    let field = Bounds::of([
        scene.bounds.min,
        scene.bounds.max + Vector::new((RIGHT - 1.0) * paper, (ABOVE - 0.5 + lowered) * paper),
    ]);
    let naming = scene.naming(paper, Some(field));
    scene.draw_labels(&mut canvas, frame, &naming);
    let nameless = naming.nameless.len();

    let lower_right = corner + Vector::new(size.x, 0.0);
    let upper_left = corner - Vector::new(0.0, size.y);
    dimension(&mut canvas, corner, lower_right, Vector::new(0.0, 1.0), &style.length(size.x));
    dimension(&mut canvas, corner, upper_left, Vector::new(-1.0, 0.0), &upright_text);
    let from = Datum::of(&scene.shape);
    datum_along(&mut canvas, frame.at(from.corner), Vector::new(from.along.x, -from.along.y));

    let foot = top + drawn.y + DIMENSION;
    scale_bar(&mut canvas, Point::new(left * paper, (foot + 3.0) * paper), style.unit);
    if let Some(grain_deg) = scene.sheet.grain_deg {
        grain(&mut canvas, Point::new((left + 90.0) * paper, (foot + 6.0) * paper), grain_deg);
    }
    let entries = entries(job, &scene, nameless);
    let bottom = if arrangement.has_side_legend {
        let available = SIDE_LEGEND - 4.0;
        let at = Point::new((page_width - EDGE - available) * paper, first_row * paper);
        legend::draw(&mut canvas, at, &entries, available, &fills);
        (foot + FOOT).max(first_row + legend::measure(&entries, available).1)
    } else {
        let available = page_width - 2.0 * EDGE;
        let at = Point::new(EDGE * paper, (foot + FOOT) * paper);
        legend::draw(&mut canvas, at, &entries, available, &fills);
        foot + FOOT + legend::measure(&entries, available).1
    };
    title(&mut canvas, job, plan, use_index, style);

    let about = format!("Sheet {} of a plan", scene.sheet.name);
    canvas.finish(page_width * paper, (bottom + EDGE) * paper, &about, &fills.definitions(paper))
}

/// What the legend says.
fn entries(job: &Job, scene: &Scene<'_>, nameless: usize) -> Vec<Entry> {
    let mut entries: Vec<Entry> = scene
        .kinds()
        .into_iter()
        .map(|(part, here)| {
            let wanted = job.parts()[part].quantity;
            let name = format!("{} · {}", key(part), job.parts()[part].name);
            Entry { mark: Mark::Part(part), name, rest: format!(": {here} here, {wanted} wanted") }
        })
        .collect();
    let mut say = |mark: Mark, rest: &str| entries.push(Entry { mark, name: String::new(), rest: rest.to_owned() });
    if scene.has_leftovers() {
        say(Mark::Leftover, "leftover, back into the rack");
    }
    if !scene.sheet.damage.is_empty() {
        say(Mark::Damage, "damaged, kept clear");
    }
    if !scene.clear.is_empty() {
        say(Mark::Clear, "sound, kept clear as asked");
    }
    say(Mark::Scrap, "rest of the sheet");
    say(Mark::Datum, "datum corner");
    if scene.has_bends() {
        say(Mark::None, "bends: dashed up, dash-dotted down");
    }
    if nameless > 0 {
        say(Mark::None, &format!("without a key, too small: {nameless}"));
    }
    entries
}

/// Name and yield large, then class, location and what is to be ordered.
fn title(canvas: &mut Canvas, job: &Job, plan: &Plan, use_index: usize, style: &DrawingStyle) {
    let paper = canvas.paper;
    let page_width = style.usable_paper_width();
    let sheet_use = &plan.layout().sheets[use_index];
    let sheet = &job.sheets()[sheet_use.sheet];
    let (left, right) = (EDGE * paper, (page_width - EDGE) * paper);
    let room = page_width - 2.0 * EDGE;

    let figure = format!("yield {}", percent(plan.figures().sheets[use_index].yield_ratio()));
    let (large, small) = (5.6, NOTE + 0.4);
    let bold = r#" font-weight="bold""#;
    // Bold letters are wider than the table of widths says.
    let name = shorten(&clean(&sheet.name), (room - width(&figure) * large * 1.1 - 8.0) / (large * 1.12));
    let first = (EDGE + 6.0) * paper;
    canvas.text(Point::new(left, first), large, Anchor::Start, 0.0, bold, &name);
    canvas.text(Point::new(right, first), large, Anchor::End, 0.0, bold, &figure);

    let mut facts = vec![clean(&stock_in_words(sheet.class.label(), style.unit))];
    if !clean(&sheet.location).is_empty() {
        facts.push(clean(&sheet.location));
    }
    if let Some(length) = sheet_use.length {
        facts.push(format!("order {}", style.length(length)));
    }
    let place = format!("sheet {} of {}", use_index + 1, plan.layout().sheets.len());
    let second = (EDGE + 11.6) * paper;
    let facts = shorten(&facts.join("  ·  "), (room - width(&place) * small - 6.0) / small);
    canvas.text(Point::new(left, second), small, Anchor::Start, 0.0, "", &facts);
    canvas.text(Point::new(right, second), small, Anchor::End, 0.0, "", &place);
    let rule = (EDGE + 13.6) * paper;
    canvas.line(&[Point::new(left, rule), Point::new(right, rule)], THIN, "#000");
}

/// A ratio as per cent to one decimal.
pub(crate) fn percent(ratio: f64) -> String {
    format!("{:.1} %", ratio * 100.0)
}
