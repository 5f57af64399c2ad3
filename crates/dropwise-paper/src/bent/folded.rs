//! The picture of a folded part.

use dropwise_geometry::{Bounds, Point, Polygon, Vector, format_length};
use dropwise_shop::fold::{Point3, Unfolding};

use crate::drawing::DrawingStyle;
use crate::drawing::annotate::{NOTE, plated_text};
use crate::drawing::svg::{Anchor, Canvas, MEDIUM, THIN, number};
use crate::drawing::text::{clean, shorten, width};

use super::fit::place_for;
use super::marks::{self, WorkedRing};
use super::paint::level;
use super::solid::{Skin, solid};
use super::view::{Stroke, View, see};

/// White around everything, mm of paper.
const EDGE: f64 = 6.0;
/// Height of the title, mm of paper.
const TITLE: f64 = 16.0;
/// Height of the legend, mm of paper.
const FOOT: f64 = 12.0;
/// Tallest that a part is drawn, as a share of the paper's width.
const TALLEST: f64 = 0.6;
/// Curves of the cut may be off by this, mm of paper.
const TOLERANCE: f64 = 0.05;

/// A shaded isometric picture of the part bent up, as SVG, hidden faces removed: seen from the front, from above, with
/// the base's x axis running to the right and towards the viewer.
///
/// The side of the sheet that is up on the flat pattern is plain, the other is dotted. Faces in sight carry their names
/// where there is room. One unit of the picture is a millimetre of the part. It stands on white and is the same for the
/// same part.
///
/// Where the part takes the same space twice, that space is drawn over all else, crossed in red. Countersinks and flares
/// show where the surface that they are in is seen: see [`draw_folded_worked`].
#[must_use]
pub fn draw_folded(flat: &Unfolding, title: &str, style: &DrawingStyle) -> String {
    draw_folded_worked(flat, &[], title, style)
}

/// The picture of [`draw_folded`] with the holes that are countersunk or flared.
#[must_use]
pub fn draw_folded_worked(flat: &Unfolding, rings: &[WorkedRing], title: &str, style: &DrawingStyle) -> String {
    let folded = flat.fold();
    let size = flat.shape.bounds().diagonal().max(1.0);
    let page_width = style.usable_paper_width();
    // Curves are coarser than lines are thick only on parts far smaller than the page.
    let solid = solid(flat, &folded, TOLERANCE * size / page_width);
    let view = View::isometric();
    let (seen, strokes) = see(&solid, &view, flat.thickness * 0.01);
    let bounds = solid.patches.iter().flat_map(|patch| &patch.rings).flatten().map(|&p| view.at(p));
    let bounds = Bounds::of(bounds);
    let across = page_width - 2.0 * EDGE;
    let paper = (bounds.width() / across).max(bounds.height() / (page_width * TALLEST)).max(1e-3);
    let mut canvas = Canvas::new(paper);
    let drawn = Vector::new(bounds.width() / paper, bounds.height() / paper);
    let left = EDGE + (across - drawn.x) / 2.0;
    let bottom = EDGE + TITLE + drawn.y;
    let place =
        |point: Point| Point::new(left * paper + point.x - bounds.min.x, bottom * paper - (point.y - bounds.min.y));

    let dots = format!("b{}-under", prefix(&style.id_prefix));
    for one in &seen {
        let fill = shade(one.patch.normal, one.patch.skin);
        let data: String = one.regions.iter().map(|region| path(region, place)).collect();
        if data.is_empty() {
            continue;
        }
        // The line in the fill's own colour closes the seams between neighbours.
        let seam = format!(r#" stroke="{fill}" stroke-width="{}" stroke-linejoin="round""#, canvas.paper_length(0.06));
        canvas.fill(&data, &fill, &seam);
        if one.patch.skin == Skin::Lower {
            canvas.fill(&data, &format!("url(#{dots})"), "");
        }
    }
    for one in &seen {
        marks::worked(&mut canvas, one, rings, (&folded, &view, flat.thickness), place);
    }
    let round = r#" stroke-linecap="round""#;
    for (wanted, width, colour) in [(Stroke::BendLimit, THIN * 0.7, "#777"), (Stroke::Outline, MEDIUM, "#000")] {
        let lines: String = strokes
            .iter()
            .filter(|(stroke, _)| *stroke == wanted)
            .map(|(_, [from, to])| {
                let (from, to) = (place(*from), place(*to));
                format!("M{} {}L{} {}", number(from.x), number(from.y), number(to.x), number(to.y))
            })
            .collect();
        let width = canvas.paper_length(width);
        canvas
            .raw(&format!("<path d=\"{lines}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\"{round}/>\n"));
    }
    let crossed = format!("b{}-twice", prefix(&style.id_prefix));
    let clashes = marks::clashes(&flat.self_overlaps(), &view);
    let edge = format!(r#" stroke="{}" stroke-width="{}""#, marks::CLASH, canvas.paper_length(MEDIUM));
    for region in clashes.iter().flatten() {
        let data = path(region, place);
        canvas.fill(&data, &format!("url(#{crossed})"), &edge);
    }
    for one in &seen {
        if let Some(face) = one.patch.face {
            name_face(&mut canvas, &one.regions, &clean(&flat.faces[face].name), place);
        }
    }

    heading(&mut canvas, flat, &folded_size(&solid, style), title, style);
    let foot = bottom + 6.0;
    legend(&mut canvas, foot, &dots, (!clashes.is_empty()).then_some(crossed.as_str()));
    let mut definitions = format!(
        "<pattern id=\"{dots}\" patternUnits=\"userSpaceOnUse\" width=\"2\" height=\"2\" patternTransform=\"rotate(30) scale({paper:.6})\"><circle cx=\"1\" cy=\"1\" r=\".3\" fill=\"#222\"/></pattern>\n"
    );
    if !clashes.is_empty() {
        definitions.push_str(&marks::clash_pattern(&crossed, paper));
    }
    canvas.finish(page_width * paper, (foot + FOOT) * paper, &format!("{title}, folded"), &definitions)
}

fn prefix(text: &str) -> String {
    text.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect()
}

/// The extents of the folded part as a person would measure its box.
fn folded_size(solid: &super::solid::Solid, style: &DrawingStyle) -> String {
    let mut limits = [(f64::INFINITY, f64::NEG_INFINITY); 3];
    for point in solid.patches.iter().flat_map(|patch| &patch.rings).flatten() {
        for (limit, value) in limits.iter_mut().zip([point.x, point.y, point.z]) {
            *limit = (limit.0.min(value), limit.1.max(value));
        }
    }
    let sizes: Vec<String> = limits.iter().map(|(low, high)| format_length(high - low, style.unit)).collect();
    format!("box around it {}", sizes.join(" × "))
}

/// Fill of a surface that faces some way: three lights, so that no two square faces look alike.
fn shade(normal: Point3, skin: Skin) -> String {
    let level = level(normal, skin);
    let [red, green, blue] = match skin {
        Skin::Upper => [1.0, 1.0, 1.0],
        Skin::Lower => [0.96, 0.98, 1.0],
        Skin::Cut => [1.0, 1.0, 1.0],
    }
    .map(|tint: f64| (tint * level * 255.0).round() as u8);
    format!("#{red:02x}{green:02x}{blue:02x}")
}

fn path(polygon: &Polygon, place: impl Fn(Point) -> Point) -> String {
    marks::path(polygon.rings().map(<[Point]>::to_vec), &place)
}

/// The name of a face where it is in sight, if it fits there: level, along either axis of the base, or upright.
fn name_face(canvas: &mut Canvas, regions: &[Polygon], name: &str, place: impl Fn(Point) -> Point) {
    let size = NOTE - 0.2;
    // A level line of the base is drawn at 30° in an isometric picture.
    for turn in [0.0, -30.0, 30.0, 90.0] {
        for region in regions {
            if let Some(at) = place_for(region, name, size * canvas.paper, turn, &[]) {
                plated_text(canvas, place(at), size, turn, &[name.to_owned()]);
                return;
            }
        }
    }
}

fn heading(canvas: &mut Canvas, flat: &Unfolding, sizes: &str, title: &str, style: &DrawingStyle) {
    let paper = canvas.paper;
    let page_width = style.usable_paper_width();
    let room = page_width - 2.0 * EDGE;
    let bold = r#" font-weight="bold""#;
    let name = shorten(&clean(title), room / (5.0 * 1.12));
    let at = |y: f64| Point::new(EDGE * paper, (EDGE + y) * paper);
    canvas.text(at(5.0), 5.0, Anchor::Start, 0.0, bold, &name);
    let facts = format!(
        "folded  ·  sheet {}  ·  {sizes}  ·  {} bends",
        format_length(flat.thickness, style.unit),
        flat.bends.len()
    );
    canvas.text(at(10.4), NOTE + 0.2, Anchor::Start, 0.0, "", &shorten(&facts, room / (NOTE + 0.2)));
    let rule = (EDGE + 12.2) * paper;
    canvas.line(&[Point::new(EDGE * paper, rule), Point::new((page_width - EDGE) * paper, rule)], THIN, "#000");
}

fn legend(canvas: &mut Canvas, y: f64, dots: &str, crossed: Option<&str>) {
    let paper = canvas.paper;
    let mut x = EDGE;
    let mut entries = vec![(None, "side that is up on the flat pattern"), (Some(dots), "side that is down")];
    entries.extend(crossed.map(|crossed| (Some(crossed), "space taken twice: it cannot be made so")));
    for (pattern, text) in entries {
        let at = Point::new(x * paper, y * paper);
        canvas.rectangle(at, 6.0 * paper, 3.6 * paper, "#f0f0f0", THIN);
        if let Some(pattern) = pattern {
            canvas.rectangle(at, 6.0 * paper, 3.6 * paper, &format!("url(#{pattern})"), THIN);
        }
        let baseline = Point::new((x + 8.0) * paper, (y + 2.9) * paper);
        canvas.text(baseline, NOTE, Anchor::Start, 0.0, "", text);
        x += 8.0 + width(text) * NOTE + 8.0;
    }
}
