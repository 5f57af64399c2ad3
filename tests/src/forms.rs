//! Forms of parts and sheets, by a few numbers.

use dropwise_geometry::{Outline, Point, Shape, Vertex};

const fn p(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

/// An outline without holes.
#[must_use]
pub fn plain(outline: Outline) -> Shape {
    Shape::new(outline, Vec::new())
}

/// The straight sides through some points.
#[must_use]
pub fn polygon(points: &[(f64, f64)]) -> Outline {
    Outline::polygon(points.iter().map(|&(x, y)| p(x, y)))
}

/// A rectangle with its lower left corner at the origin.
#[must_use]
pub fn rectangle(width: f64, height: f64) -> Outline {
    Outline::rectangle(Point::ORIGIN, width, height)
}

/// A rectangle whose corners have a radius less than half its shorter side.
#[must_use]
pub fn rounded(width: f64, height: f64, radius: f64) -> Outline {
    let (w, h, r) = (width, height, radius);
    let quarter = (std::f64::consts::PI / 8.0).tan();
    Outline::new(vec![
        Vertex::line(p(r, 0.0)),
        Vertex::arc(p(w - r, 0.0), quarter),
        Vertex::line(p(w, r)),
        Vertex::arc(p(w, h - r), quarter),
        Vertex::line(p(w - r, h)),
        Vertex::arc(p(r, h), quarter),
        Vertex::line(p(0.0, h - r)),
        Vertex::arc(p(0.0, r), quarter),
    ])
}

/// Two strips that share the lower left corner.
#[must_use]
pub fn l_shape(length_x: f64, width_x: f64, length_y: f64, width_y: f64) -> Outline {
    polygon(&[
        (0.0, 0.0),
        (length_x, 0.0),
        (length_x, width_x),
        (width_y, width_x),
        (width_y, length_y),
        (0.0, length_y),
    ])
}

/// A channel open at the top: three strips of one width.
#[must_use]
pub fn u_shape(width: f64, height: f64, strip: f64) -> Outline {
    polygon(&[
        (0.0, 0.0),
        (width, 0.0),
        (width, height),
        (width - strip, height),
        (width - strip, strip),
        (strip, strip),
        (strip, height),
        (0.0, height),
    ])
}

/// A strip with round ends.
#[must_use]
pub fn slot(length: f64, width: f64) -> Outline {
    let r = width / 2.0;
    Outline::new(vec![
        Vertex::line(p(r, 0.0)),
        Vertex::arc(p(length - r, 0.0), 1.0),
        Vertex::line(p(length - r, width)),
        Vertex::arc(p(r, width), 1.0),
    ])
}

/// A right triangle whose points are cut square at a nose.
#[must_use]
pub fn gusset(leg_x: f64, leg_y: f64, nose: f64) -> Outline {
    polygon(&[(0.0, 0.0), (leg_x, 0.0), (leg_x, nose), (nose, leg_y), (0.0, leg_y)])
}

/// A four-sided plate, its upper side an arc that rises (positive) or is scooped out (negative) by a bulge.
#[must_use]
pub fn arched(width: f64, height: f64, bulge: f64) -> Outline {
    Outline::new(vec![
        Vertex::line(p(0.0, 0.0)),
        Vertex::line(p(width, 0.0)),
        Vertex::arc(p(width, height), bulge),
        Vertex::line(p(0.0, height)),
    ])
}
