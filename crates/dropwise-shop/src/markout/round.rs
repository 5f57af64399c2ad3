//! Rings that are full circles.

use dropwise_geometry::{Circle, Outline, Segment};

/// The circle that a ring is, if all its sides are arcs about one centre and run around it once. Centres and radii may
/// differ by `tolerance`, mm.
///
/// # Examples
/// ```
/// use dropwise_geometry::{Outline, Point};
/// use dropwise_shop::markout::full_circle;
/// let hole = Outline::circle(Point::new(3.0, 4.0), 5.0);
/// assert_eq!(full_circle(&hole, 1e-6).map(|circle| circle.radius), Some(5.0));
/// assert_eq!(full_circle(&Outline::rectangle(Point::ORIGIN, 1.0, 1.0), 1e-6), None);
/// ```
#[must_use]
pub fn full_circle(ring: &Outline, tolerance: f64) -> Option<Circle> {
    let mut arcs = ring.segments().map(|side| match side {
        Segment::Arc { arc, .. } => Some(arc),
        Segment::Line { .. } => None,
    });
    let first = arcs.next()??;
    let mut sweep = first.sweep;
    for arc in arcs {
        let arc = arc?;
        let is_same = arc.center.distance(first.center) < tolerance && (arc.radius - first.radius).abs() < tolerance;
        if !is_same {
            return None;
        }
        sweep += arc.sweep;
    }
    ((sweep.abs() - std::f64::consts::TAU).abs() < 1e-6)
        .then_some(Circle { center: first.center, radius: first.radius })
}

#[cfg(test)]
mod tests {
    use super::*;
    use dropwise_geometry::{Point, Vector, Vertex};

    #[test]
    fn circles_in_any_number_of_arcs_and_either_way() {
        let center = Point::new(-7.0, 2.5);
        for count in 2..7_u32 {
            let step = std::f64::consts::TAU / f64::from(count);
            let at = |i: u32| center + Vector::from_angle(0.3 + step * f64::from(i)) * 12.0;
            let ring = Outline::new((0..count).map(|i| Vertex::arc(at(i), (step / 4.0).tan())).collect());
            for ring in [ring.reversed(), ring] {
                let circle = full_circle(&ring, 1e-9).expect("it is one");
                assert!(circle.center.distance(center) < 1e-9 && (circle.radius - 12.0).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn what_is_no_circle() {
        let slot = Outline::new(vec![
            Vertex::line(Point::new(0.0, 0.0)),
            Vertex::arc(Point::new(10.0, 0.0), 1.0),
            Vertex::line(Point::new(10.0, 4.0)),
            Vertex::arc(Point::new(0.0, 4.0), 1.0),
        ]);
        let lens = Outline::new(vec![Vertex::arc(Point::ORIGIN, 0.5), Vertex::arc(Point::new(8.0, 0.0), 0.5)]);
        for ring in [slot, lens, Outline::new(Vec::new())] {
            assert_eq!(full_circle(&ring, 1e-3), None);
        }
    }
}
