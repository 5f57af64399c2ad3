//! The picture of a folded part.

use dropwise_geometry::{Bounds, Point, Polygon, Vector};
use dropwise_shop::Thickness;
use dropwise_shop::fold::{Folded, Point3, SelfOverlap, Unfolding};

use crate::drawing::DrawingStyle;
use crate::drawing::annotate::{NOTE, plated_text};
use crate::drawing::svg::{Anchor, Canvas, MEDIUM, THIN, number};
use crate::drawing::text::{clean, shorten, width};

use super::fit::place_for;
use super::marks::{self, WorkedRing};
use super::paint::{DOUBTFUL, level};
use super::solid::{Skin, Solid, solid};
use super::view::{Seen, Sight, Stroke, View, Viewpoint, see};

/// White around everything, mm of paper.
const EDGE: f64 = 6.0;
/// Height of the title, mm of paper.
const TITLE: f64 = 16.0;
/// Height of the legend, mm of paper.
const FOOT: f64 = 12.0;
/// Tallest that a part is drawn, as a share of the paper's width.
const TALLEST: f64 = 0.6;
/// The same where it may be turned.
const TALLEST_TURNED: f64 = 0.72;
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
    FoldedModel::new(flat.clone(), rings.to_vec(), style).picture(title, &View::isometric(), style, None)
}

/// A folded part, ready to be drawn from any side.
///
/// # Examples
/// ```
/// use dropwise_paper::{DrawingStyle, FoldedModel, Viewpoint};
/// use dropwise_shop::bend::{Development, KFactor};
/// let part = dropwise_shop::fold::tray(120.0, 80.0, 25.0, 1.5, 1.5);
/// let k = KFactor::given(0.44)?;
/// let flat = dropwise_shop::fold::unfold(&part, &|_| Development::KFactor(k.clone()))?;
/// let style = DrawingStyle::default();
/// let model = FoldedModel::new(flat, Vec::new(), &style);
/// let [one, other] = [30.0, 200.0].map(|turn_deg| model.draw("tray", Viewpoint { turn_deg, tilt_deg: 20.0 }, &style));
/// assert_ne!(one, other);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct FoldedModel {
    flat: Unfolding,
    folded: Folded,
    rings: Vec<WorkedRing>,
    overlaps: Vec<SelfOverlap>,
    solid: Solid,
}

impl FoldedModel {
    /// Folds a part up. Curves are as fine as pictures in `style` need them.
    #[must_use]
    pub fn new(flat: Unfolding, rings: Vec<WorkedRing>, style: &DrawingStyle) -> Self {
        let folded = flat.fold();
        let size = flat.shape.bounds().diagonal().max(1.0);
        // Curves are coarser than lines are thick only on parts far smaller than the page.
        let solid = solid(&flat, &folded, TOLERANCE * size / style.usable_paper_width());
        let overlaps = flat.self_overlaps();
        Self { flat, folded, rings, overlaps, solid }
    }

    /// The part as it is seen from a place, as SVG like that of [`draw_folded`]. Its scale and the size of the picture
    /// are the same from everywhere, so that a part that is turned does not swell and shrink.
    #[must_use]
    pub fn draw(&self, title: &str, from: Viewpoint, style: &DrawingStyle) -> String {
        let points = || self.solid.patches.iter().flat_map(|patch| &patch.rings).flatten();
        let middle = middle(&self.limits());
        let radius = points().map(|&point| (point - middle).length()).fold(0.5, f64::max);
        self.picture(title, &View::from(from), style, Some((middle, radius)))
    }

    /// `ball` is what the picture is to have room for; without one, for the part as it is seen.
    fn picture(&self, title: &str, view: &View, style: &DrawingStyle, ball: Option<(Point3, f64)>) -> String {
        let (flat, solid) = (&self.flat, &self.solid);
        let Sight { seen, strokes, mut is_doubtful } = see(solid, view, flat.thickness * 0.01);
        let page_width = style.usable_paper_width();
        let (bounds, tallest) = match ball {
            Some((middle, radius)) => {
                let (middle, around) = (view.at(middle), Vector::new(radius, radius));
                (Bounds::of([middle - around, middle + around]), TALLEST_TURNED)
            }
            None => {
                let points = solid.patches.iter().flat_map(|patch| &patch.rings).flatten();
                (Bounds::of(points.map(|&point| view.at(point))), TALLEST)
            }
        };
        let across = page_width - 2.0 * EDGE;
        let paper = (bounds.width() / across).max(bounds.height() / (page_width * tallest)).max(1e-3);
        let mut canvas = Canvas::new(paper);
        let drawn = Vector::new(bounds.width() / paper, bounds.height() / paper);
        let left = EDGE + (across - drawn.x) / 2.0;
        let bottom = EDGE + TITLE + drawn.y;
        let place =
            |point: Point| Point::new(left * paper + point.x - bounds.min.x, bottom * paper - (point.y - bounds.min.y));

        let dots = format!("b{}-under", prefix(&style.id_prefix));
        for one in &seen {
            surface(&mut canvas, one, &dots, place);
        }
        for one in &seen {
            is_doubtful |= !marks::worked(&mut canvas, one, &self.rings, (&self.folded, view, flat.thickness), place);
        }
        lines(&mut canvas, &strokes, place);
        let crossed = format!("b{}-twice", prefix(&style.id_prefix));
        let clashes = marks::clashes(&self.overlaps, view);
        let edge = format!(r#" stroke="{}" stroke-width="{}""#, marks::CLASH, canvas.paper_length(MEDIUM));
        for region in clashes.iter().flatten() {
            let data = path(region, place);
            canvas.fill(&data, &format!("url(#{crossed})"), &edge);
        }
        // Level, along either axis of the base as it is drawn, or upright.
        let [x, y] = [Point3::new(1.0, 0.0, 0.0), Point3::new(0.0, 1.0, 0.0)].map(|axis| view.slope_deg(axis));
        for one in &seen {
            if let Some(face) = one.patch.face {
                name_face(&mut canvas, &one.regions, &clean(&flat.faces[face].name), &[0.0, y, x, 90.0], place);
            }
        }

        let mut sizes = self.size_in_words(style);
        if is_doubtful {
            sizes.push_str(&format!("  ·  {DOUBTFUL}"));
        }
        heading(&mut canvas, flat, &sizes, title, style);
        let foot = bottom + 6.0;
        let foot = foot + legend(&mut canvas, foot, page_width, &dots, (!clashes.is_empty()).then_some(&crossed));
        let mut definitions = format!(
            "<pattern id=\"{dots}\" patternUnits=\"userSpaceOnUse\" width=\"2\" height=\"2\" patternTransform=\"rotate(30) scale({paper:.6})\"><circle cx=\"1\" cy=\"1\" r=\".3\" fill=\"#222\"/></pattern>\n"
        );
        if !clashes.is_empty() {
            definitions.push_str(&marks::clash_pattern(&crossed, paper));
        }
        canvas.finish(page_width * paper, (foot + FOOT) * paper, &format!("{title}, folded"), &definitions)
    }

    /// The least and the greatest x, y and z.
    fn limits(&self) -> [(f64, f64); 3] {
        let mut limits = [(f64::INFINITY, f64::NEG_INFINITY); 3];
        for point in self.solid.patches.iter().flat_map(|patch| &patch.rings).flatten() {
            for (limit, value) in limits.iter_mut().zip([point.x, point.y, point.z]) {
                *limit = (limit.0.min(value), limit.1.max(value));
            }
        }
        limits
    }

    /// The extents of the folded part as a person would measure its box.
    fn size_in_words(&self, style: &DrawingStyle) -> String {
        let [x, y, z] = self.limits().map(|(low, high)| high - low);
        let lengths = style.lengths();
        format!("box around it {} × {} × {}", lengths.bare(x), lengths.bare(y), lengths.with_unit(z))
    }
}

fn middle(limits: &[(f64, f64); 3]) -> Point3 {
    let [x, y, z] = limits.map(|(low, high)| if low < high { (low + high) / 2.0 } else { 0.0 });
    Point3::new(x, y, z)
}

fn surface(canvas: &mut Canvas, one: &Seen<'_>, dots: &str, place: impl Fn(Point) -> Point + Copy) {
    let fill = shade(one.patch.normal, one.patch.skin);
    let data: String = one.regions.iter().map(|region| path(region, place)).collect();
    if data.is_empty() {
        return;
    }
    // The line in the fill's own colour closes the seams between neighbours.
    let seam = format!(r#" stroke="{fill}" stroke-width="{}" stroke-linejoin="round""#, canvas.paper_length(0.06));
    canvas.fill(&data, &fill, &seam);
    if one.patch.skin == Skin::Lower {
        canvas.fill(&data, &format!("url(#{dots})"), "");
    }
}

fn lines(canvas: &mut Canvas, strokes: &[(Stroke, [Point; 2])], place: impl Fn(Point) -> Point) {
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
}

fn prefix(text: &str) -> String {
    text.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect()
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

/// The name of a face where it is in sight, if it fits there in one of the directions.
fn name_face(canvas: &mut Canvas, regions: &[Polygon], name: &str, turns: &[f64], place: impl Fn(Point) -> Point) {
    let size = NOTE - 0.2;
    for &turn in turns {
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
    let thickness = Thickness::new(flat.thickness);
    let thickness = thickness.map_or_else(|_| style.length(flat.thickness), |thickness| thickness.in_words(style.unit));
    let bends = format!("{} {}", flat.bends.len(), if flat.bends.len() == 1 { "bend" } else { "bends" });
    let size = NOTE + 0.2;
    // The size over all matters most.
    let facts = [
        format!("folded  ·  sheet {thickness}  ·  {bends}  ·  {sizes}"),
        format!("folded  ·  {bends}  ·  {sizes}"),
        format!("folded  ·  {sizes}"),
    ];
    let fitting = facts.iter().find(|facts| width(facts) <= room / size).unwrap_or(&facts[2]);
    canvas.text(at(10.4), size, Anchor::Start, 0.0, "", &shorten(fitting, room / size));
    let rule = (EDGE + 12.2) * paper;
    canvas.line(&[Point::new(EDGE * paper, rule), Point::new((page_width - EDGE) * paper, rule)], THIN, "#000");
}

/// Draws the legend, in two lines where the page is narrow; gives the height of the lines beyond the first.
fn legend(canvas: &mut Canvas, top: f64, page_width: f64, dots: &str, crossed: Option<&String>) -> f64 {
    let paper = canvas.paper;
    let (mut x, mut y) = (EDGE, top);
    let mut entries = vec![(None, "side that is up on the flat pattern"), (Some(dots), "side that is down")];
    entries.extend(crossed.map(|crossed| (Some(crossed.as_str()), "space taken twice: it cannot be made so")));
    for (pattern, text) in entries {
        let wide = 8.0 + width(text) * NOTE;
        if x > EDGE && x + wide > page_width - EDGE {
            (x, y) = (EDGE, y + 5.6);
        }
        let at = Point::new(x * paper, y * paper);
        canvas.rectangle(at, 6.0 * paper, 3.6 * paper, "#f0f0f0", THIN);
        if let Some(pattern) = pattern {
            canvas.rectangle(at, 6.0 * paper, 3.6 * paper, &format!("url(#{pattern})"), THIN);
        }
        let baseline = Point::new((x + 8.0) * paper, (y + 2.9) * paper);
        canvas.text(baseline, NOTE, Anchor::Start, 0.0, "", text);
        x += wide + 8.0;
    }
    y - top
}
