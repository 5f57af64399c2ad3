//! How often a straight-edge is set up.

use dropwise_geometry::Point;

/// Sides that stand off each other's line by less than this are cut along one line, mm: about the width of a scriber's line.
pub const ONE_LINE: f64 = 0.1;
/// Sine of the angle by which they may differ: over a metre they part by half a millimetre.
const ONE_DIRECTION: f64 = 5e-4;
/// What one setting of the straight-edge reaches, mm. Common practice, no source.
pub const STRAIGHT_EDGE: f64 = 1000.0;

/// How often a straight-edge is clamped to cut along all of these sides, each from its start to its end: once for sides that
/// lie in one line within the reach of a straight-edge of a metre. A longer side is one set-up.
///
/// # Examples
/// ```
/// use dropwise_geometry::Point;
/// use dropwise_model::set_ups;
/// let side = |x: f64, y: f64, to: f64| (Point::new(x, y), Point::new(to, y));
/// assert_eq!(set_ups(&[side(0.0, 5.0, 100.0), side(110.0, 5.0, 300.0), side(0.0, 9.0, 100.0)]), 2);
/// ```
#[must_use]
pub fn set_ups(sides: &[(Point, Point)]) -> usize {
    let mut lines: Vec<Line> = Vec::new();
    for &(start, end) in sides {
        match lines.iter_mut().find(|line| line.takes(start, end)) {
            Some(line) => line.add(start, end),
            None => lines.extend(Line::of(start, end)),
        }
    }
    lines.into_iter().map(Line::settings).sum()
}

/// Sides in one line.
struct Line {
    origin: Point,
    /// Of length 1.
    direction: dropwise_geometry::Vector,
    /// Where each side runs along it.
    spans: Vec<(f64, f64)>,
}

impl Line {
    /// `None` for a side without length.
    fn of(start: Point, end: Point) -> Option<Self> {
        let along = end - start;
        let length = along.length();
        (length > 0.0).then(|| Self { origin: start, direction: along * (1.0 / length), spans: vec![(0.0, length)] })
    }

    fn takes(&self, start: Point, end: Point) -> bool {
        let stands_off = |point: Point| self.direction.cross(point - self.origin).abs() > ONE_LINE;
        let along = end - start;
        self.direction.cross(along).abs() <= ONE_DIRECTION * along.length() && !stands_off(start) && !stands_off(end)
    }

    fn add(&mut self, start: Point, end: Point) {
        let at = |point: Point| self.direction.dot(point - self.origin);
        self.spans.push((at(start).min(at(end)), at(start).max(at(end))));
    }

    fn settings(mut self) -> usize {
        self.spans.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (mut count, mut reach) = (0, f64::NEG_INFINITY);
        for (from, to) in self.spans {
            if to > reach {
                count += 1;
                reach = (from + STRAIGHT_EDGE).max(to);
            }
        }
        count
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn side(from: (f64, f64), to: (f64, f64)) -> (Point, Point) {
        (Point::new(from.0, from.1), Point::new(to.0, to.1))
    }

    #[test]
    fn a_rectangle_takes_four_and_two_in_a_row_six() {
        let rectangle = |x: f64| {
            let corners = [(x, 0.0), (x + 50.0, 0.0), (x + 50.0, 30.0), (x, 30.0)];
            (0..4).map(|i| side(corners[i], corners[(i + 1) % 4])).collect::<Vec<_>>()
        };
        assert_eq!(set_ups(&rectangle(0.0)), 4);
        assert_eq!(set_ups(&[rectangle(0.0), rectangle(56.0)].concat()), 6);
        // Edge to edge: the line between them counts once.
        assert_eq!(set_ups(&[rectangle(0.0), rectangle(50.0)].concat()), 5);
    }

    #[test]
    fn what_lies_beyond_the_straight_edge_takes_another() {
        assert_eq!(set_ups(&[side((0.0, 0.0), (100.0, 0.0)), side((850.0, 0.0), (950.0, 0.0))]), 1);
        assert_eq!(set_ups(&[side((0.0, 0.0), (100.0, 0.0)), side((1500.0, 0.0), (1600.0, 0.0))]), 2);
        assert_eq!(set_ups(&[side((0.0, 0.0), (2500.0, 0.0))]), 1);
    }

    #[test]
    fn a_hair_askew_or_aside_is_another_line_and_nothing_is_none() {
        assert_eq!(set_ups(&[side((0.0, 0.0), (100.0, 0.0)), side((100.0, 0.2), (200.0, 0.2))]), 2);
        assert_eq!(set_ups(&[side((0.0, 0.0), (100.0, 0.0)), side((100.0, 0.0), (200.0, 0.2))]), 2);
        assert_eq!(set_ups(&[side((1.0, 1.0), (1.0, 1.0))]), 0);
        assert_eq!(set_ups(&[]), 0);
    }
}
