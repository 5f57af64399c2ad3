//! A part bent up, wholly or in part, as fills and lines: what pictures and bend cards are drawn from.

use dropwise_geometry::{Bounds, Point, Polygon};
use dropwise_shop::bend::Bend;
use dropwise_shop::fold::{Point3, Unfolding};

use super::solid::{Skin, solid};
use super::view::{Sight, Stroke, View, see};

/// Lightness of a surface by how it faces: level and up, across to the left, across to the right.
const LIGHT: [f64; 3] = [0.30, 0.05, 0.18];

/// How much darker the side is drawn that is down on the flat pattern, where it is not dotted.
pub(crate) const UNDER: f64 = 0.8;

/// A surface as it is seen.
pub(crate) struct Fill {
    /// What of it is seen, y up.
    pub(crate) regions: Vec<Polygon>,
    /// From black, 0, to white, 1.
    pub(crate) level: f64,
    /// Whether it is the side that is down on the flat pattern.
    pub(crate) is_under: bool,
}

/// A part as it is seen from the front and above, mm.
pub(crate) struct Painting {
    pub(crate) fills: Vec<Fill>,
    pub(crate) lines: Vec<(Stroke, [Point; 2])>,
    /// The box around it in the picture.
    pub(crate) bounds: Bounds,
    /// Whether something hidden may be drawn, since it could not be worked out what hides it.
    pub(crate) is_doubtful: bool,
}

/// Says so under a picture.
pub(crate) const DOUBTFUL: &str = "hidden edges could not all be worked out";

/// Turn that a bend has in a picture before it is made, degrees: flat to the eye.
const FLAT_DEG: f64 = 0.05;

/// The part with only some of its bends made. A bend that is not made yet is one about a radius so large that it is
/// flat to the eye, and takes up the same length of metal.
fn staged(flat: &Unfolding, is_bent: &dyn Fn(usize) -> bool) -> Unfolding {
    let mut staged = flat.clone();
    for (index, bend) in staged.bends.iter_mut().enumerate() {
        if is_bent(index) {
            continue;
        }
        let radius = (bend.figures.allowance / FLAT_DEG.to_radians()).clamp(1.0, 9_000.0);
        // The turn that takes up just the allowance about that radius.
        let turn = (bend.figures.allowance / radius).to_degrees().clamp(1e-6, 10.0);
        if let Ok(flat) = Bend::new(staged.thickness, radius, turn) {
            bend.figures.bend = flat;
        }
    }
    staged
}

/// Paints a part after the bends that `is_bent` names. Curves of the cut may be off by `tolerance` of the part's size.
pub(crate) fn paint(flat: &Unfolding, is_bent: &dyn Fn(usize) -> bool, tolerance: f64) -> Painting {
    let staged = staged(flat, is_bent);
    let folded = staged.fold();
    let size = flat.shape.bounds().diagonal().max(1.0);
    let solid = solid(&staged, &folded, tolerance * size);
    let view = View::isometric();
    let Sight { seen, strokes: lines, is_doubtful } = see(&solid, &view, flat.thickness * 0.01);
    let points = || solid.patches.iter().flat_map(|patch| &patch.rings).flatten();
    let fills = seen
        .into_iter()
        .map(|one| Fill {
            level: level(one.patch.normal, one.patch.skin),
            is_under: one.patch.skin == Skin::Lower,
            regions: one.regions,
        })
        .collect();
    Painting { fills, lines, bounds: Bounds::of(points().map(|&point| view.at(point))), is_doubtful }
}

/// Lightness of a surface: three lights, so that no two square faces look alike.
pub(super) fn level(normal: Point3, skin: Skin) -> f64 {
    let light = LIGHT[0] * normal.z.max(0.0) + LIGHT[1] * normal.x.max(0.0) + LIGHT[2] * (-normal.y).max(0.0);
    match skin {
        Skin::Cut => 0.45,
        Skin::Upper | Skin::Lower => (0.66 + light).min(0.97),
    }
}
