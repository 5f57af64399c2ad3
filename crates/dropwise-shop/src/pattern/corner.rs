//! Corners that are rounded or cut off, and the outline of a polygon that has them.

use dropwise_geometry::{Outline, Point, Vertex};

/// How a corner is made.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Corner {
    /// Left as the two sides meet.
    #[default]
    Sharp,
    /// Rounded with an arc of this radius that is tangent to both sides.
    Radius(f64),
    /// Cut off by a straight line that meets both sides at this distance from the corner.
    Chamfer(f64),
}

impl Corner {
    /// The radius or the chamfer, with its name; nothing for a sharp corner.
    pub(super) fn size(self) -> Option<(&'static str, f64)> {
        match self {
            Self::Sharp => None,
            Self::Radius(radius) => Some(("corner radius", radius)),
            Self::Chamfer(set_back) => Some(("chamfer", set_back)),
        }
    }
}

/// A corner of a polygon and how it is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PolygonCorner {
    /// Where the two sides meet, before rounding.
    pub point: Point,
    /// How the corner is made.
    pub corner: Corner,
}

impl PolygonCorner {
    /// A corner left sharp.
    #[must_use]
    pub const fn sharp(x: f64, y: f64) -> Self {
        Self { point: Point::new(x, y), corner: Corner::Sharp }
    }

    /// A corner made in some way.
    #[must_use]
    pub const fn new(x: f64, y: f64, corner: Corner) -> Self {
        Self { point: Point::new(x, y), corner }
    }
}

/// Two corners that together need more of the side between them than there is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct ShortSide {
    /// Index of the corner at the start of the side.
    pub(crate) first: usize,
    /// Index of the corner at its end.
    pub(crate) second: usize,
    /// What both corners take off it, mm.
    pub(crate) needed: f64,
    /// Its length, mm.
    pub(crate) available: f64,
}

/// Points closer than this are one point, mm. Far below anything a shop can cut, far above rounding errors of sums of
/// lengths up to 100 m.
pub(crate) const SAME_POINT: f64 = 1e-7;

/// How far the arc or the chamfer at a corner reaches along both sides, mm, and the bulge between its ends.
///
/// # Source
/// A circle of radius r in a corner that turns by the angle θ is tangent at r tan(|θ|/2) from it and sweeps θ; bulge
/// is tan(θ/4). Elementary geometry.
fn reach(previous: Point, at: PolygonCorner, next: Point) -> (f64, f64) {
    match at.corner {
        Corner::Sharp => (0.0, 0.0),
        Corner::Chamfer(set_back) => (set_back, 0.0),
        Corner::Radius(radius) => {
            let (before, after) = (at.point - previous, next - at.point);
            let turn = before.cross(after).atan2(before.dot(after));
            (radius * (turn.abs() / 2.0).tan(), (turn / 4.0).tan())
        }
    }
}

/// The outline of a polygon whose corners are made as told. Sides that the corners use up wholly are left out.
///
/// At least three corners, no two neighbours in one place; sizes are finite and positive.
///
/// # Errors
/// Every side that is shorter than what its two corners take off it.
pub(crate) fn outline_with_corners(corners: &[PolygonCorner]) -> Result<Outline, Vec<ShortSide>> {
    let n = corners.len();
    let reaches: Vec<(f64, f64)> =
        (0..n).map(|i| reach(corners[(i + n - 1) % n].point, corners[i], corners[(i + 1) % n].point)).collect();
    let short: Vec<ShortSide> = (0..n)
        .filter_map(|first| {
            let second = (first + 1) % n;
            let needed = reaches[first].0 + reaches[second].0;
            let available = corners[first].point.distance(corners[second].point);
            // Two sharp corners need nothing; the negation catches a spike's infinite reach, were it NaN.
            let fits = needed <= available + SAME_POINT;
            (!fits).then_some(ShortSide { first, second, needed, available })
        })
        .collect();
    if !short.is_empty() {
        return Err(short);
    }
    let mut vertices = Vec::with_capacity(2 * n);
    for i in 0..n {
        let (previous, corner, next) = (corners[(i + n - 1) % n].point, corners[i].point, corners[(i + 1) % n].point);
        let (reach, bulge) = reaches[i];
        // A radius on a corner that does not turn rounds nothing.
        if reach <= SAME_POINT {
            vertices.push(Vertex::line(corner));
            continue;
        }
        let towards = |other: Point| corner.lerp(other, (reach / corner.distance(other)).min(1.0));
        vertices.push(Vertex::arc(towards(previous), bulge));
        vertices.push(Vertex::line(towards(next)));
    }
    // What two corners leave nothing of is no side: drop the vertex it would start from, so that the arc before it
    // runs right into the arc after it.
    let count = vertices.len();
    let kept = (0..count)
        .filter(|&i| {
            let next = vertices[(i + 1) % count];
            vertices[i].bulge != 0.0 || vertices[i].point.distance(next.point) > SAME_POINT
        })
        .map(|i| vertices[i])
        .collect();
    Ok(Outline::new(kept))
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    fn close(a: Point, x: f64, y: f64) -> bool {
        a.distance(Point::new(x, y)) < 1e-12
    }

    #[test]
    fn fillet_of_a_right_angle_is_tangent_one_radius_from_the_corner() {
        // Elementary geometry: in a right angle tan(45°) = 1, so tangent points lie one radius away.
        let outline = outline_with_corners(&[
            PolygonCorner::new(0.0, 0.0, Corner::Radius(2.0)),
            PolygonCorner::sharp(10.0, 0.0),
            PolygonCorner::sharp(10.0, 10.0),
            PolygonCorner::sharp(0.0, 10.0),
        ])
        .unwrap();
        let vertices = outline.vertices();
        assert_eq!(vertices.len(), 5);
        assert!(close(vertices[0].point, 0.0, 2.0) && close(vertices[1].point, 2.0, 0.0));
        assert!((vertices[0].bulge - (PI / 8.0).tan()).abs() < 1e-15);
        assert!((outline.area() - (100.0 - (4.0 - PI))).abs() < 1e-12);
    }

    #[test]
    fn fillet_of_an_equilateral_corner_is_tangent_at_root_three_radii() {
        // Interior angle 60°, turn 120°: r tan 60° = r √3. Elementary geometry.
        let h = 30.0 * 3f64.sqrt() / 2.0;
        let outline = outline_with_corners(&[
            PolygonCorner::sharp(0.0, 0.0),
            PolygonCorner::new(30.0, 0.0, Corner::Radius(4.0)),
            PolygonCorner::sharp(15.0, h),
        ])
        .unwrap();
        let set_back = 4.0 * 3f64.sqrt();
        assert!(close(outline.vertices()[1].point, 30.0 - set_back, 0.0));
        assert!(close(outline.vertices()[2].point, 30.0 - set_back / 2.0, set_back * 3f64.sqrt() / 2.0));
    }

    #[test]
    fn inside_corner_bulges_the_other_way_and_adds_metal() {
        let outline = outline_with_corners(&[
            PolygonCorner::sharp(0.0, 0.0),
            PolygonCorner::sharp(20.0, 0.0),
            PolygonCorner::sharp(20.0, 8.0),
            PolygonCorner::new(8.0, 8.0, Corner::Radius(3.0)),
            PolygonCorner::sharp(8.0, 20.0),
            PolygonCorner::sharp(0.0, 20.0),
        ])
        .unwrap();
        let sharp = 20.0 * 8.0 + 8.0 * 12.0;
        assert!((outline.area() - (sharp + 9.0 * (1.0 - PI / 4.0))).abs() < 1e-12);
    }

    #[test]
    fn chamfer_meets_both_sides_at_its_set_back() {
        let outline = outline_with_corners(&[
            PolygonCorner::sharp(0.0, 0.0),
            PolygonCorner::new(10.0, 0.0, Corner::Chamfer(3.0)),
            PolygonCorner::sharp(10.0, 10.0),
            PolygonCorner::sharp(0.0, 10.0),
        ])
        .unwrap();
        assert!(close(outline.vertices()[1].point, 7.0, 0.0) && close(outline.vertices()[2].point, 10.0, 3.0));
        assert!((outline.area() - 95.5).abs() < 1e-12);
    }

    #[test]
    fn corners_that_use_up_their_sides_leave_a_circle() {
        let corners: Vec<PolygonCorner> = [(0.0, 0.0), (0.2, 0.0), (0.2, 0.2), (0.0, 0.2)]
            .map(|(x, y)| PolygonCorner::new(x, y, Corner::Radius(0.1)))
            .to_vec();
        let outline = outline_with_corners(&corners).unwrap();
        assert_eq!(outline.vertices().len(), 4);
        assert!((outline.area() - 0.01 * PI).abs() < 1e-12);
    }

    #[test]
    fn radii_too_large_for_a_side_are_named_with_what_they_need() {
        let corners = [
            PolygonCorner::new(0.0, 0.0, Corner::Radius(6.0)),
            PolygonCorner::new(10.0, 0.0, Corner::Radius(5.0)),
            PolygonCorner::sharp(10.0, 40.0),
            PolygonCorner::sharp(0.0, 40.0),
        ];
        let short = outline_with_corners(&corners).unwrap_err();
        assert_eq!(short.len(), 1);
        assert_eq!((short[0].first, short[0].second, short[0].available), (0, 1, 10.0));
        assert!((short[0].needed - 11.0).abs() < 1e-12);
    }

    #[test]
    fn clockwise_corners_round_alike() {
        let mut corners = vec![
            PolygonCorner::new(0.0, 0.0, Corner::Radius(2.0)),
            PolygonCorner::new(30.0, 0.0, Corner::Chamfer(1.0)),
            PolygonCorner::new(10.0, 20.0, Corner::Radius(3.0)),
        ];
        let ccw = outline_with_corners(&corners).unwrap();
        corners.reverse();
        let cw = outline_with_corners(&corners).unwrap();
        assert!((ccw.signed_area() + cw.signed_area()).abs() < 1e-12);
        assert!((ccw.perimeter() - cw.perimeter()).abs() < 1e-12);
    }

    #[test]
    fn radius_on_a_corner_that_does_not_turn_changes_nothing() {
        let outline = outline_with_corners(&[
            PolygonCorner::sharp(0.0, 0.0),
            PolygonCorner::new(5.0, 0.0, Corner::Radius(2.0)),
            PolygonCorner::sharp(10.0, 0.0),
            PolygonCorner::sharp(5.0, 5.0),
        ])
        .unwrap();
        assert_eq!(outline.vertices().len(), 4);
        assert_eq!(outline.area(), 25.0);
    }
}
