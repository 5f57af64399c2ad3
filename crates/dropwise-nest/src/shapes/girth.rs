//! How long and how wide a convex ring is.

use dropwise_geometry::{Point, Vector};

/// Longest chord and least width of a convex ring: a ring fits in another only if neither is larger.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Girth {
    pub(crate) diameter: f64,
    pub(crate) width: f64,
}

impl Girth {
    pub(crate) fn of(hull: &[Point]) -> Self {
        let mut square = 0.0_f64;
        let mut width = f64::INFINITY;
        for (i, &a) in hull.iter().enumerate() {
            let b = hull[(i + 1) % hull.len()];
            // Roots of all distances would take most of the time that a large inventory is sifted in.
            square = hull[i + 1..].iter().fold(square, |most, &p| most.max((p - a).length_squared()));
            if let Some(along) = (b - a).unit() {
                let across: Vector = along.left();
                width = width.min(hull.iter().map(|&p| across.dot(p - a)).fold(0.0, f64::max));
            }
        }
        Self { diameter: square.sqrt(), width: if width.is_finite() { width } else { 0.0 } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_three_four_five_triangle_is_as_wide_as_its_height_on_the_longest_side() {
        let girth = Girth::of(&[Point::new(0.0, 0.0), Point::new(4.0, 0.0), Point::new(0.0, 3.0)]);
        assert!((girth.diameter - 5.0).abs() < 1e-12);
        assert!((girth.width - 2.4).abs() < 1e-12);
    }
}
