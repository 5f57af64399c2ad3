//! Where a text fits into a region.

use dropwise_geometry::{Point, Polygon, Vector, largest_circle, sin_cos_deg};

use crate::drawing::label::LINE;
use crate::drawing::text::width;

/// How much of a text's height stays free at its ends.
const CLEAR: f64 = 0.4;

/// Places tried along the region on either side of its roundest place.
const TRIES: i32 = 6;

/// The four corners and the middles of the sides of a line of text about a point, y up.
pub(super) fn plate(middle: Point, text: &str, size: f64, turn_deg: f64) -> [Point; 8] {
    let (half_width, half_height) = ((width(text) / 2.0 + CLEAR) * size, LINE / 2.0 * size);
    let (sin, cos) = sin_cos_deg(turn_deg);
    let (right, up) = (Vector::new(cos, sin) * half_width, Vector::new(-sin, cos) * half_height);
    [(-1.0, -1.0), (0.0, -1.0), (1.0, -1.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0), (-1.0, 1.0), (-1.0, 0.0)]
        .map(|(u, v)| middle + right * u + up * v)
}

/// Whether two plates share more than an edge.
pub(super) fn touch(one: &[Point], other: &[Point]) -> bool {
    let [first, second] = [one, other].map(|ring| Polygon::new(ring.to_vec(), Vec::new()));
    one.iter().any(|&point| second.contains(point)) || other.iter().any(|&point| first.contains(point))
}

/// The middle of a place where a line of text of some size, turned counter-clockwise, lies wholly in a region and clear
/// of other plates; `None` if none of the places tried is one.
pub(super) fn place_for(region: &Polygon, text: &str, size: f64, turn_deg: f64, taken: &[Vec<Point>]) -> Option<Point> {
    let circle = largest_circle(region, size * 0.1)?;
    let bounds = region.bounds();
    let (sin, cos) = sin_cos_deg(turn_deg);
    let along = Vector::new(cos, sin) * (bounds.width().hypot(bounds.height()) / 2.0 / f64::from(TRIES));
    let is_free = |middle: Point| {
        let plate = plate(middle, text, size, turn_deg);
        let is_clear = taken.iter().all(|other| !touch(other, &plate));
        is_clear && plate.iter().all(|&point| region.contains(point))
    };
    // The box's own middle first: names of faces that are alike then stand alike.
    let starts = [bounds.center(), circle.center];
    starts
        .into_iter()
        .chain((1..=TRIES).flat_map(|step| {
            starts.into_iter().flat_map(move |start| [start + along * f64::from(step), start - along * f64::from(step)])
        }))
        .find(|&middle| is_free(middle))
}
