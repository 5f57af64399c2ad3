//! All sheets of a plan in one picture.

use dropwise_geometry::{Point, Vector};
use dropwise_model::{Job, Plan};
use dropwise_shop::stock_in_words;

use super::annotate::{NOTE, scale_bar};
use super::copies::key;
use super::fills::Fills;
use super::legend::{self, Entry, Mark};
use super::scene::Scene;
use super::sheet::percent;
use super::style::DrawingStyle;
use super::svg::{Anchor, Canvas, Frame, THIN};
use super::text::{clean, shorten, width};

/// White around everything, mm of paper.
const EDGE: f64 = 5.0;
/// Height of the title, mm of paper.
const TITLE: f64 = 13.0;
/// Height of the two lines above each sheet, mm of paper.
const CAPTION: f64 = 9.5;
/// White between sheets, mm of paper.
const GAP: f64 = 7.0;
/// Least room for a sheet across, so that its caption can be read, mm of paper.
const NARROWEST: f64 = 38.0;
/// Height that the sheets may take together, as a share of the paper's width, before they are drawn smaller.
const TALLEST: f64 = 0.62;
/// Parts on no sheet that are named; of more only the number is told.
const MOST_UNPLACED: usize = 12;
/// Height of the strip with the scale bar, mm of paper.
const FOOT: f64 = 12.0;

/// Where the sheets lie on the page, mm of paper.
#[derive(Clone, Debug, PartialEq)]
struct Shelves {
    /// Upper left corner of each sheet's room, its caption included.
    corners: Vec<Point>,
    height: f64,
}

/// Puts rooms of these sizes in rows, in order.
fn shelves(sizes: &[Vector], available: f64) -> Shelves {
    let mut corners = Vec::with_capacity(sizes.len());
    let (mut x, mut y, mut tallest) = (0.0, 0.0, 0.0f64);
    for size in sizes {
        if x > 0.0 && x + size.x > available {
            (x, y, tallest) = (0.0, y + tallest + GAP, 0.0);
        }
        corners.push(Point::new(x, y));
        x += size.x + GAP;
        tallest = tallest.max(size.y);
    }
    Shelves { corners, height: y + tallest }
}

/// All sheets of a plan in one picture, all to the same scale, with a legend of all kinds of parts.
///
/// Made for a look at the whole: names stand only where they fit, and there are no dimensions; [`super::draw_sheet`]
/// shows one sheet in full. What is said there of fills, names and determinism holds here too.
///
/// # Panics
/// If the plan was made for another job.
#[must_use]
pub fn draw_overview(job: &Job, plan: &Plan, style: &DrawingStyle) -> String {
    overview(job, plan, style, true)
}

/// The overview for a page that names the parts by their keys itself.
pub(crate) fn draw_overview_alone(job: &Job, plan: &Plan, style: &DrawingStyle) -> String {
    overview(job, plan, style, false)
}

fn overview(job: &Job, plan: &Plan, style: &DrawingStyle, has_legend: bool) -> String {
    let fills = Fills::new(&style.id_prefix);
    let page_width = style.usable_paper_width();
    let available = page_width - 2.0 * EDGE;
    let count = plan.layout().sheets.len();
    let scenes: Vec<Scene<'_>> = (0..count).map(|index| Scene::of(job, plan, index, style)).collect();

    let rooms = |paper: f64| -> Vec<Vector> {
        scenes
            .iter()
            .map(|scene| {
                let drawn = Vector::new(scene.bounds.width(), scene.bounds.height()) / paper;
                Vector::new(drawn.x.max(NARROWEST), drawn.y + CAPTION)
            })
            .collect()
    };
    let widest = scenes.iter().map(|scene| scene.bounds.width()).fold(0.0, f64::max);
    // A picture of no sheets still has a scale.
    let mut paper = if widest > 0.0 { widest / available } else { 1.0 };
    // Captions do not shrink with the sheets, so many sheets may never get this low: hence the end.
    for _ in 0..60 {
        if shelves(&rooms(paper), available).height <= page_width * TALLEST {
            break;
        }
        paper *= 1.06;
    }
    let shelves = shelves(&rooms(paper), available);

    let mut canvas = Canvas::new(paper);
    for (index, (scene, corner)) in scenes.iter().zip(&shelves.corners).enumerate() {
        let at = Point::new(EDGE + corner.x, EDGE + TITLE + corner.y);
        let drawn = Vector::new(scene.bounds.width(), scene.bounds.height()) / paper;
        caption(&mut canvas, at, drawn.x.max(NARROWEST), plan, index, scene);
        let origin =
            Point::new(at.x * paper - scene.bounds.min.x, (at.y + CAPTION + drawn.y) * paper + scene.bounds.min.y);
        let frame = Frame { origin };
        scene.draw(&mut canvas, frame, &fills, &index.to_string(), None);
        scene.draw_labels(&mut canvas, frame, &scene.naming(paper, None));
    }

    let title = format!(
        "{count} {}, yield {}",
        if count == 1 { "sheet" } else { "sheets" },
        percent(plan.figures().yield_ratio())
    );
    let base = Point::new(EDGE * paper, (EDGE + 5.6) * paper);
    canvas.text(base, 5.6, Anchor::Start, 0.0, r#" font-weight="bold""#, &title);
    let rule = (EDGE + 8.2) * paper;
    canvas.line(&[Point::new(EDGE * paper, rule), Point::new((page_width - EDGE) * paper, rule)], THIN, "#000");

    let foot = EDGE + TITLE + shelves.height + GAP;
    scale_bar(&mut canvas, Point::new((EDGE + 2.0) * paper, foot * paper), style.unit);
    let (_, mut entries) = entries(job, plan, &scenes);
    if !has_legend {
        entries.retain(|entry| !matches!(entry.mark, Mark::Part(_) | Mark::None));
    }
    legend::draw(&mut canvas, Point::new(EDGE * paper, (foot + FOOT) * paper), &entries, available, &fills);
    let bottom = foot + FOOT + legend::measure(&entries, available).1 + EDGE;
    canvas.finish(page_width * paper, bottom * paper, &title, &fills.definitions(paper))
}

/// Name, yield and class above a sheet.
fn caption(canvas: &mut Canvas, at: Point, room: f64, plan: &Plan, index: usize, scene: &Scene<'_>) {
    let paper = canvas.paper;
    let size = NOTE + 0.4;
    let figure = percent(plan.figures().sheets[index].yield_ratio());
    // Bold letters are wider than the table of widths says.
    let name = shorten(&clean(&scene.sheet.name), (room - width(&figure) * size - 3.0) / (size * 1.12));
    let on_page = |dx: f64, dy: f64| Point::new((at.x + dx) * paper, (at.y + dy) * paper);
    canvas.text(on_page(0.0, 3.2), size, Anchor::Start, 0.0, r#" font-weight="bold""#, &name);
    canvas.text(on_page(room, 3.2), size, Anchor::End, 0.0, "", &figure);
    let class = clean(&stock_in_words(scene.sheet.class.label(), scene.unit));
    // The thickness in the other unit goes before the one that the metal is bought by is cut off.
    let short = class.split_once(" (").map_or(class.as_str(), |(first, _)| first);
    let is_whole = width(&class) <= room / (NOTE - 0.2);
    let class = shorten(if is_whole { &class } else { short }, room / (NOTE - 0.2));
    canvas.text(on_page(0.0, 7.2), NOTE - 0.2, Anchor::Start, 0.0, "", &class);
}

/// The kinds of parts in the picture, and what the legend says.
fn entries(job: &Job, plan: &Plan, scenes: &[Scene<'_>]) -> (Vec<usize>, Vec<Entry>) {
    let mut counts = vec![0u32; job.parts().len()];
    for (part, here) in scenes.iter().flat_map(Scene::kinds) {
        counts[part] += here;
    }
    let kinds: Vec<usize> = (0..counts.len()).filter(|&part| counts[part] > 0).collect();
    let mut entries: Vec<Entry> = kinds
        .iter()
        .map(|&part| {
            let name = format!("{} · {}", key(part), job.parts()[part].name);
            Entry {
                mark: Mark::Part(part),
                name,
                rest: format!(": {} of {}", counts[part], job.parts()[part].quantity),
            }
        })
        .collect();
    let mut say = |mark: Mark, rest: String| entries.push(Entry { mark, name: String::new(), rest });
    if scenes.iter().any(Scene::has_leftovers) {
        say(Mark::Leftover, "leftover, back into the rack".to_owned());
    }
    if scenes.iter().any(|scene| !scene.sheet.damage.is_empty()) {
        say(Mark::Damage, "damaged, kept clear".to_owned());
    }
    if scenes.iter().any(|scene| !scene.clear.is_empty()) {
        say(Mark::Clear, "sound, kept clear as asked".to_owned());
    }
    let unplaced = &plan.layout().unplaced;
    entries.extend(unplaced.iter().take(MOST_UNPLACED).map(|unplaced| Entry {
        mark: Mark::None,
        name: job.parts()[unplaced.part].name.clone(),
        rest: format!(": {} on no sheet", unplaced.count),
    }));
    if unplaced.len() > MOST_UNPLACED {
        let rest = format!("and {} more kinds on no sheet", unplaced.len() - MOST_UNPLACED);
        entries.push(Entry { mark: Mark::None, name: String::new(), rest });
    }
    (kinds, entries)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rooms_fill_rows_in_order() {
        let sizes = [(50.0, 20.0), (40.0, 30.0), (30.0, 10.0)].map(|(x, y)| Vector::new(x, y));
        let shelves = shelves(&sizes, 100.0);
        assert_eq!(shelves.corners, [Point::new(0.0, 0.0), Point::new(57.0, 0.0), Point::new(0.0, 37.0)]);
        assert_eq!(shelves.height, 47.0);
    }
}
