//! What is marked on the picture of a folded part: space that is taken twice, countersinks and flares.

use dropwise_geometry::{Point, Polygon, convex_hull, intersection, union};
use dropwise_shop::fold::{Folded, SelfOverlap};

use super::solid::Skin;
use super::view::{Seen, View};
use crate::drawing::svg::{Canvas, MEDIUM, THIN, number};

/// Colour of space that is taken twice.
pub(super) const CLASH: &str = "#c8102e";

/// Corners of the polygon that stands for a circle.
const CORNERS: usize = 48;

/// A round hole that is countersunk or flared, as it shows on a folded part. Lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WorkedRing {
    /// The face that it is in, as the unfolding counts them.
    pub face: usize,
    /// Its middle, on the flat pattern.
    pub center: Point,
    /// Diameter of the hole that is cut.
    pub hole: f64,
    /// Diameter of the cone at the face of the sheet, or over the flare.
    pub diameter: f64,
    /// Whether the cone opens, or the flare stands, on the side that is up on the flat pattern.
    pub is_up: bool,
    /// How far a flare stands up; zero for a countersink.
    pub rise: f64,
}

/// The places where the part lies in itself, in the picture's own coordinates: one region for each pair of faces.
pub(super) fn clashes(overlaps: &[SelfOverlap], view: &View) -> Vec<Vec<Polygon>> {
    let seen = |overlap: &SelfOverlap| {
        let hull = |body: &Vec<dropwise_shop::fold::Point3>| {
            let points: Vec<Point> = body.iter().map(|&corner| view.at(corner)).collect();
            Polygon::new(convex_hull(&points), Vec::new())
        };
        let hulls: Vec<Polygon> = overlap.bodies.iter().map(hull).collect();
        // Hulls drawn one by one show the same place, with lines between them.
        union(&hulls).unwrap_or(hulls)
    };
    overlaps.iter().map(seen).collect()
}

/// The pattern of space that is taken twice: crossed strokes, so that it shows without colour too.
pub(super) fn clash_pattern(id: &str, paper: f64) -> String {
    format!(
        "<pattern id=\"{id}\" patternUnits=\"userSpaceOnUse\" width=\"1.6\" height=\"1.6\" patternTransform=\"rotate(45) \
         scale({paper:.6})\"><path d=\"M0 .4H1.6M.4 0V1.6\" stroke=\"{CLASH}\" stroke-width=\".32\"/></pattern>\n"
    )
}

/// Countersinks and flares on a surface, as far as it is seen; whether that could be told.
pub(super) fn worked(
    canvas: &mut Canvas,
    one: &Seen<'_>,
    rings: &[WorkedRing],
    (folded, view, thickness): (&Folded, &View, f64),
    place: impl Fn(Point) -> Point,
) -> bool {
    let Some(face) = one.patch.face else { return true };
    let mut is_told = true;
    for ring in rings.iter().filter(|ring| ring.face == face) {
        let is_upper = one.patch.skin == Skin::Upper;
        // A countersink shows on its own side only; a flare dents the other one.
        if ring.rise == 0.0 && ring.is_up != is_upper {
            continue;
        }
        let skin = if is_upper { thickness } else { 0.0 };
        let circle = |diameter: f64, height: f64| -> Vec<Point> {
            (0..CORNERS)
                .map(|corner| {
                    let (sin, cos) = (std::f64::consts::TAU * corner as f64 / CORNERS as f64).sin_cos();
                    let at = ring.center + dropwise_geometry::Vector::new(cos, sin) * (diameter / 2.0);
                    view.at(folded.faces[face].at(at, height))
                })
                .collect()
        };
        let disc = Polygon::new(circle(ring.diameter, skin), Vec::new());
        let disc = [disc];
        // The whole disc, where what hides it cannot be worked out: the place is what counts.
        let seen = intersection(&one.regions, &disc).unwrap_or_else(|_| {
            is_told = false;
            disc.to_vec()
        });
        let stroke = format!(r##" stroke="#222" stroke-width="{}""##, canvas.paper_length(THIN));
        let data: String = seen.iter().map(|region| path(region.rings().map(<[Point]>::to_vec), &place)).collect();
        canvas.fill(&data, if ring.rise == 0.0 { "#9a9a9a" } else { "#bdbdbd" }, &stroke);
        if ring.rise > 0.0 && ring.is_up == is_upper && !seen.is_empty() {
            let top = if is_upper { thickness + ring.rise } else { -ring.rise };
            let data = path(std::iter::once(circle(ring.hole, top)), &place);
            let width = canvas.paper_length(MEDIUM);
            canvas.raw(&format!(r##"<path d="{data}" fill="#555" stroke="#000" stroke-width="{width}"/>"##));
            canvas.raw("\n");
        }
    }
    is_told
}

/// Rings as the data of a path.
pub(super) fn path(rings: impl Iterator<Item = Vec<Point>>, place: &impl Fn(Point) -> Point) -> String {
    let mut data = String::new();
    for ring in rings {
        for (i, &point) in ring.iter().enumerate() {
            let at = place(point);
            data.push(if i == 0 { 'M' } else { 'L' });
            data.push_str(&format!("{} {}", number(at.x), number(at.y)));
        }
        data.push('Z');
    }
    data
}
