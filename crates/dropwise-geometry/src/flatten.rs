//! Straight edges in place of arcs, erring on a chosen side.

use std::f64::consts::FRAC_PI_2;

use crate::{Arc, Outline, Point, Polygon, Segment, Shape, Vector};

/// On which side of the true outline a flattened one may lie.
///
/// Metal lies to the left of travel, so one rule serves exteriors (counter-clockwise) and holes (clockwise).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The polygon covers all of the metal: right for parts, whose clearances must never be cut into.
    Grow,
    /// The polygon covers no more than the metal: right for sheets, which must never be thought larger than they are.
    Shrink,
}

/// The finest tolerance that flattening and offsetting honour, in millimetres. Anything less (zero, a negative number
/// or NaN too) is taken as this.
pub const MIN_TOLERANCE: f64 = 1e-6;

/// An arc never becomes more chords than this, so that no input runs out of memory. At the finest tolerance it takes a
/// radius beyond a kilometre to get here; the side still holds then, the tolerance does not.
const MAX_CHORDS: f64 = 65_536.0;

impl Outline {
    /// The ring with straight edges only, all of them on the chosen side of the true one and no farther than
    /// `tolerance` millimetres from it.
    ///
    /// Metal is taken to lie left of travel: run an exterior counter-clockwise and a hole clockwise, as [`Shape`]
    /// does. Every vertex of the outline is a vertex of the result, in the same order; the first is not repeated at
    /// the end. Arcs that would have to cut into the metal become tangents, their corners off the circle; the others
    /// become chords, their corners on it. The side holds up to rounding (a few units in the last place of the
    /// coordinates).
    ///
    /// However coarse the tolerance, no chord spans more than a quarter turn and a ring of two arcs gives at least four
    /// corners, so that a hole does not vanish. Gaps narrower than the tolerance may close: then the result touches or
    /// crosses itself, and [`crate::union`] makes a clean polygon of it. An outline with fewer than two vertices gives
    /// its points back.
    ///
    /// # Examples
    /// ```
    /// use dropwise_geometry::{Outline, Point, Polygon, Side};
    /// let circle = Outline::circle(Point::ORIGIN, 10.0);
    /// let around = Polygon::new(circle.flatten(0.1, Side::Grow), vec![]);
    /// let within = Polygon::new(circle.flatten(0.1, Side::Shrink), vec![]);
    /// assert!(within.area() < circle.area() && circle.area() < around.area());
    /// ```
    ///
    /// # Source
    /// A chord over the angle a misses its circle by r (1 - cos(a/2)), the corner between two tangents by
    /// r (1/cos(a/2) - 1). Elementary trigonometry.
    #[must_use]
    pub fn flatten(&self, tolerance: f64, side: Side) -> Vec<Point> {
        // f64::max also turns NaN into the minimum.
        let tolerance = tolerance.max(MIN_TOLERANCE);
        // Two chords between the same two points would enclose nothing.
        let fewest = if self.vertices().len() < 3 { 2.0 } else { 1.0 };
        let mut points = Vec::with_capacity(self.vertices().len() * 2);
        for segment in self.segments() {
            points.push(segment.start());
            if let Segment::Arc { arc, .. } = segment {
                if (arc.sweep > 0.0) == (side == Side::Grow) {
                    push_tangents(&mut points, &arc, tolerance, fewest);
                } else {
                    push_chords(&mut points, &arc, tolerance, fewest);
                }
            }
        }
        points
    }
}

impl Shape {
    /// The region with straight edges only: see [`Outline::flatten`]. The exterior stays counter-clockwise and holes
    /// clockwise, and each ring of the result belongs to the ring of the same index.
    #[must_use]
    pub fn flatten(&self, tolerance: f64, side: Side) -> Polygon {
        // Not Polygon::new: the rings already run the right way, and a hole too thin to have an area must not be turned.
        Polygon {
            exterior: self.exterior().flatten(tolerance, side),
            holes: self.holes().iter().map(|hole| hole.flatten(tolerance, side)).collect(),
        }
    }
}

/// The inner corners of a chain of equal chords; the arc's ends are left out.
fn push_chords(points: &mut Vec<Point>, arc: &Arc, tolerance: f64, fewest: f64) {
    // Solved as 4 asin(sqrt(s / 2r)): 2 acos(1 - s/r) cancels when s is small, as in every real drawing.
    let step = 4.0 * (tolerance / (2.0 * arc.radius)).sqrt().min(1.0).asin();
    let chords = chord_count(arc, step, fewest);
    points.extend((1..chords as usize).map(|i| arc.at(i as f64 / chords)));
}

/// The corners between tangents at equal steps, the first and last tangent touching the arc's ends. The ends themselves
/// are left out.
fn push_tangents(points: &mut Vec<Point>, arc: &Arc, tolerance: f64, fewest: f64) {
    // From cos(a/2) = r / (r + s), by the half-angle formula for the tangent, which does not cancel.
    let step = 4.0 * (tolerance / (2.0 * arc.radius + tolerance)).sqrt().atan();
    let tangents = chord_count(arc, step, fewest);
    let reach = arc.radius / (arc.sweep / tangents / 2.0).cos();
    points.extend((0..tangents as usize).map(|i| {
        let angle = arc.start_angle + arc.sweep * (i as f64 + 0.5) / tangents;
        arc.center + Vector::from_angle(angle) * reach
    }));
}

/// How many equal steps, none larger than `step`, make up the arc.
fn chord_count(arc: &Arc, step: f64, fewest: f64) -> f64 {
    // The hair keeps rounding from adding a chord to an arc that divides evenly.
    let count = (arc.sweep.abs() / step.min(FRAC_PI_2) - 1e-9).ceil();
    // f64::max and min also settle NaN, which a radius that is not finite brings here.
    count.max(fewest).min(MAX_CHORDS)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Vertex, polygon::signed_area};

    #[test]
    fn a_circle_stays_a_square_at_any_tolerance() {
        let circle = Outline::circle(Point::new(1.0, 2.0), 5.0);
        // Inscribed square: side r√2; circumscribed: side 2r.
        assert!((signed_area(&circle.flatten(1e6, Side::Shrink)) - 50.0).abs() < 1e-9);
        assert!((signed_area(&circle.flatten(1e6, Side::Grow)) - 100.0).abs() < 1e-9);
        let hole = circle.reversed();
        assert!((signed_area(&hole.flatten(1e6, Side::Grow)) + 50.0).abs() < 1e-9);
        assert!((signed_area(&hole.flatten(1e6, Side::Shrink)) + 100.0).abs() < 1e-9);
    }

    #[test]
    fn six_chords_hold_a_tenth_on_a_quarter_of_radius_ten() {
        // Five would leave 10 (1 - cos 9°) = 0.123.
        let quarter = Outline::new(vec![
            Vertex::arc(Point::new(10.0, 0.0), (FRAC_PI_2 / 4.0).tan()),
            Vertex::line(Point::new(0.0, 10.0)),
            Vertex::line(Point::new(0.0, 0.0)),
        ]);
        assert_eq!(quarter.flatten(0.1, Side::Shrink).len(), 3 + 5);
        assert_eq!(quarter.flatten(0.1, Side::Grow).len(), 3 + 6);
    }

    #[test]
    fn a_lens_thinner_than_the_tolerance_keeps_an_area() {
        let lens =
            Outline::new(vec![Vertex::arc(Point::new(0.0, 0.0), 0.001), Vertex::arc(Point::new(100.0, 0.0), 0.001)]);
        assert!(signed_area(&lens.flatten(1.0, Side::Shrink)) > 0.0);
    }

    #[test]
    fn senseless_tolerances_and_coordinates_neither_panic_nor_hang() {
        let circle = Outline::circle(Point::ORIGIN, 1e9);
        for tolerance in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(circle.flatten(tolerance, Side::Grow).len() <= 2 * 65_537);
        }
        let broken = Outline::new(vec![
            Vertex::arc(Point::new(f64::NAN, 0.0), 1.0),
            Vertex::arc(Point::new(f64::INFINITY, 0.0), f64::NAN),
            Vertex::arc(Point::new(1e300, -1e300), 1e300),
        ]);
        let _ = broken.flatten(0.1, Side::Grow);
        assert!(Outline::new(vec![]).flatten(0.1, Side::Grow).is_empty());
    }
}
