//! Outlines as polygons of the general geometry library, flattened by a few lines of our own.

use dropwise_geometry::{Isometry, Outline, Shape};
use geo::{Area, BooleanOps, BoundingRect, Distance, Euclidean};

/// Chords miss their arcs by this much at most, mm.
pub(crate) const SAGITTA: f64 = 0.001;

/// A ring of points within [`SAGITTA`] of the outline, all on it. The way it lies is applied here too: mirrored in the
/// y axis, turned counter-clockwise about the origin, moved.
pub(crate) fn ring(outline: &Outline, position: Isometry) -> geo::LineString {
    let vertices = outline.vertices();
    let mut points = Vec::new();
    for (index, from) in vertices.iter().enumerate() {
        let to = vertices[(index + 1) % vertices.len()];
        let (ax, ay, bx, by) = (from.point.x, from.point.y, to.point.x, to.point.y);
        points.push((ax, ay));
        // A bulge is the tangent of a quarter of the sweep (DXF reference, LWPOLYLINE, group code 42).
        let sweep = 4.0 * from.bulge.atan();
        let chord = (bx - ax).hypot(by - ay);
        if sweep == 0.0 || chord == 0.0 {
            continue;
        }
        let radius = chord / (2.0 * (sweep / 2.0).sin().abs());
        let step = (8.0 * SAGITTA / radius).sqrt().min(0.5);
        let chords = (sweep.abs() / step).ceil();
        // From the middle of the chord to the centre, leftwards when positive.
        let height = chord / 2.0 / (sweep / 2.0).tan();
        let (cx, cy) = ((ax + bx) / 2.0 - (by - ay) / chord * height, (ay + by) / 2.0 + (bx - ax) / chord * height);
        for i in 1..chords as usize {
            let (sin, cos) = (sweep * i as f64 / chords).sin_cos();
            points.push((cx + (ax - cx) * cos - (ay - cy) * sin, cy + (ax - cx) * sin + (ay - cy) * cos));
        }
    }
    let (sin, cos) = position.rotation_deg.to_radians().sin_cos();
    points
        .into_iter()
        .map(|(x, y)| {
            let x = if position.is_mirrored { -x } else { x };
            let (x, y) = (cos * x - sin * y, sin * x + cos * y);
            geo::Coord { x: x + position.translation.x, y: y + position.translation.y }
        })
        .collect()
}

/// A region with its box.
#[derive(Clone, Debug)]
pub(crate) struct Flat {
    pub(crate) polygon: geo::Polygon,
    bounds: geo::Rect,
    /// Whether any of its sides is an arc, so that chords stand in for the truth.
    has_arcs: bool,
}

impl Flat {
    /// The region of a shape as it lies.
    pub(crate) fn of(shape: &Shape, position: Isometry) -> Self {
        let has_arcs = shape.rings().any(|r| r.vertices().iter().any(|v| v.bulge != 0.0));
        let holes = shape.holes().iter().map(|hole| ring(hole, position)).collect();
        Self::new(geo::Polygon::new(ring(shape.exterior(), position), holes), has_arcs)
    }

    /// The region inside one ring.
    pub(crate) fn inside(outline: &Outline) -> Self {
        let has_arcs = outline.vertices().iter().any(|v| v.bulge != 0.0);
        Self::new(geo::Polygon::new(ring(outline, Isometry::IDENTITY), Vec::new()), has_arcs)
    }

    pub(crate) fn new(polygon: geo::Polygon, has_arcs: bool) -> Self {
        let bounds = polygon.bounding_rect().expect("a ring has points");
        Self { polygon, bounds, has_arcs }
    }

    pub(crate) fn area(&self) -> f64 {
        self.polygon.unsigned_area()
    }

    /// What flattening may be wrong by between this and another region, plus what general algorithms round, mm.
    fn slack(&self, other: &Self) -> f64 {
        1e-4 + f64::from(u8::from(self.has_arcs) + u8::from(other.has_arcs)) * SAGITTA
    }

    /// Whether the boxes are farther apart than `distance`.
    fn is_far(&self, other: &Self, distance: f64) -> bool {
        let (a, b) = (&self.bounds, &other.bounds);
        a.min().x > b.max().x + distance
            || b.min().x > a.max().x + distance
            || a.min().y > b.max().y + distance
            || b.min().y > a.max().y + distance
    }

    /// What is wrong if the two must be `distance` apart: the first overlap or shortfall found.
    pub(crate) fn apart(&self, other: &Self, distance: f64) -> Result<(), String> {
        let slack = self.slack(other);
        if self.is_far(other, distance + slack) {
            return Ok(());
        }
        let common = self.polygon.intersection(&other.polygon);
        if let Some(depth) = thickest(&common).filter(|&depth| depth > slack) {
            return Err(format!("overlap by {:.6} mm2, about {depth:.6} mm deep", common.unsigned_area()));
        }
        let found = ring_distance(&self.polygon, &other.polygon);
        if found < distance - slack {
            return Err(format!("{found:.6} mm apart, {distance} wanted"));
        }
        Ok(())
    }

    /// What is wrong if this must lie within `room`, `margin` away from its rings.
    pub(crate) fn within(&self, room: &Self, margin: f64) -> Result<(), String> {
        let slack = self.slack(room);
        let outside = self.polygon.difference(&room.polygon);
        if let Some(depth) = thickest(&outside).filter(|&depth| depth > slack) {
            return Err(format!("reaches out by {:.6} mm2, about {depth:.6} mm deep", outside.unsigned_area()));
        }
        let found = ring_distance(&self.polygon, &room.polygon);
        if found < margin - slack {
            return Err(format!("{found:.6} mm from the edge, {margin} wanted"));
        }
        Ok(())
    }
}

/// Mean thickness of the thickest piece, mm: twice its area over its perimeter. `None` when there is no piece.
///
/// Chords along touching arcs leave long slivers of some area; a true overlap has a piece that is thick.
fn thickest(pieces: &geo::MultiPolygon) -> Option<f64> {
    let length = |ring: &geo::LineString| ring.lines().map(|l| l.dx().hypot(l.dy())).sum::<f64>();
    pieces
        .iter()
        .map(|p| {
            let perimeter = length(p.exterior()) + p.interiors().iter().map(length).sum::<f64>();
            if perimeter > 0.0 { 2.0 * p.unsigned_area() / perimeter } else { 0.0 }
        })
        .max_by(f64::total_cmp)
}

/// Least distance between any ring of one and any ring of the other.
fn ring_distance(a: &geo::Polygon, b: &geo::Polygon) -> f64 {
    let rings = |p: &geo::Polygon| {
        std::iter::once(p.exterior().clone()).chain(p.interiors().iter().cloned()).collect::<Vec<_>>()
    };
    let (a, b) = (rings(a), rings(b));
    a.iter().flat_map(|r| b.iter().map(move |s| Euclidean.distance(r, s))).fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;
    use dropwise_geometry::{Point, Vertex};
    use std::f64::consts::PI;

    fn square(x: f64) -> Flat {
        Flat::inside(&Outline::rectangle(Point::new(x, 0.0), 10.0, 10.0))
    }

    #[test]
    fn a_flattened_half_disc_has_its_textbook_area() {
        for (bulge, area) in [(1.0, PI * 50.0), (-1.0, PI * 50.0)] {
            let half =
                Outline::new(vec![Vertex::arc(Point::new(-10.0, 3.0), bulge), Vertex::line(Point::new(10.0, 3.0))]);
            let flat = Flat::inside(&half);
            assert!((flat.area() - area).abs() < PI * 10.0 * SAGITTA, "{} and {area}", flat.area());
            let middle = if bulge > 0.0 { -7.0 } else { 13.0 };
            let reach = if bulge > 0.0 { flat.bounds.min().y } else { flat.bounds.max().y };
            assert!((reach - middle).abs() < 2.0 * SAGITTA, "the arc bulges to {reach}");
        }
    }

    #[test]
    fn a_mirrored_turned_moved_point_lies_where_the_sum_by_hand_says() {
        let tick = Outline::polygon([Point::new(1.0, 2.0), Point::new(2.0, 2.0), Point::new(2.0, 3.0)]);
        // (1, 2) mirrors to (-1, 2), a quarter turn makes (-2, -1), the move (8, 9).
        let moved = ring(&tick, Isometry::new(true, 90.0, 10.0, 10.0));
        assert!((moved.0[0].x - 8.0).abs() < 1e-12 && (moved.0[0].y - 9.0).abs() < 1e-12, "{:?}", moved.0[0]);
    }

    #[test]
    fn touching_is_allowed_and_overlap_is_not() {
        assert!(square(0.0).apart(&square(10.0), 0.0).is_ok());
        assert!(square(0.0).apart(&square(9.999), 0.0).is_err());
        assert!(square(0.0).apart(&square(12.0), 2.0).is_ok());
        assert!(square(0.0).apart(&square(11.99), 2.0).is_err());
        assert!(square(0.0).apart(&square(0.0), 0.0).is_err(), "one upon the other");
    }

    #[test]
    fn within_means_inside_and_off_the_edge_and_off_holes() {
        let room = Flat::of(
            &Shape::new(
                Outline::rectangle(Point::new(-5.0, -5.0), 40.0, 20.0),
                vec![Outline::circle(Point::new(25.0, 5.0), 3.0)],
            ),
            Isometry::IDENTITY,
        );
        assert!(square(0.0).within(&room, 5.0).is_ok());
        assert!(square(0.0).within(&room, 5.01).is_err());
        assert!(square(13.0).within(&room, 0.0).is_err(), "over the hole");
        assert!(square(100.0).within(&room, 0.0).is_err(), "far away");
    }

    #[test]
    fn a_disc_in_the_bore_of_a_washer_is_apart_by_the_difference_of_radii() {
        let circle = |r| Outline::circle(Point::ORIGIN, r);
        let washer = Flat::of(&Shape::new(circle(20.0), vec![circle(12.0)]), Isometry::IDENTITY);
        let disc = Flat::inside(&circle(10.0));
        assert!(disc.apart(&washer, 2.0).is_ok() && washer.apart(&disc, 2.0).is_ok());
        assert!(disc.apart(&washer, 2.01).is_err());
        assert!(Flat::inside(&circle(12.01)).apart(&washer, 0.0).is_err());
    }
}
