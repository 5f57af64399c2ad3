//! Lines of a picture: what a label keeps clear of, and what gives way to it.

use std::collections::HashMap;

use dropwise_geometry::{Point, Polygon, Vector};

use crate::drawing::label::line_meets_box;

/// Lines of a picture by the squares of a grid that they pass through.
pub(crate) struct Lines {
    cell: f64,
    lines: Vec<[Point; 2]>,
    squares: HashMap<(i64, i64), Vec<usize>>,
}

impl Lines {
    pub(crate) fn new(cell: f64) -> Self {
        Self { cell: cell.max(1e-9), lines: Vec::new(), squares: HashMap::new() }
    }

    /// All lines.
    pub(crate) fn all(&self) -> &[[Point; 2]] {
        &self.lines
    }

    fn square(&self, value: f64) -> i64 {
        // Saturates, so that an absurd coordinate costs no time.
        (value / self.cell).floor() as i64
    }

    pub(crate) fn add(&mut self, line: [Point; 2]) {
        let index = self.lines.len();
        self.lines.push(line);
        let [a, b] = line;
        let (left, right) = (self.square(a.x.min(b.x)), self.square(a.x.max(b.x)));
        let (low, high) = (self.square(a.y.min(b.y)), self.square(a.y.max(b.y)));
        let half = Vector::new(self.cell / 2.0, self.cell / 2.0);
        for x in left..=right {
            for y in low..=high {
                let middle = Point::new((x as f64 + 0.5) * self.cell, (y as f64 + 0.5) * self.cell);
                if line_meets_box(a - middle, b - middle, half * 1.001) {
                    self.squares.entry((x, y)).or_default().push(index);
                }
            }
        }
    }

    /// The sides of a box by its middle and half sides, and a line across it, so that nothing lies within.
    pub(crate) fn add_box(&mut self, center: Point, half: Vector) {
        let corner = |x: f64, y: f64| center + Vector::new(x * half.x, y * half.y);
        let ring = [corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)];
        (0..4).for_each(|i| self.add([ring[i], ring[(i + 1) % 4]]));
        self.add([ring[0], ring[2]]);
    }

    /// Whether any line meets a box.
    pub(crate) fn meet(&self, middle: Point, half: Vector) -> bool {
        let (left, right) = (self.square(middle.x - half.x), self.square(middle.x + half.x));
        let (low, high) = (self.square(middle.y - half.y), self.square(middle.y + half.y));
        (left..=right).flat_map(|x| (low..=high).map(move |y| (x, y))).any(|square| {
            let lines = self.squares.get(&square).map_or(&[][..], Vec::as_slice);
            lines.iter().any(|&index| {
                let [a, b] = self.lines[index];
                line_meets_box(a - middle, b - middle, half)
            })
        })
    }

    /// How many lines another crosses.
    pub(super) fn crossed(&self, [from, to]: [Point; 2]) -> usize {
        let middle = from.lerp(to, 0.5);
        let reach = Vector::new((to.x - from.x).abs() / 2.0, (to.y - from.y).abs() / 2.0);
        let mut found: Vec<usize> = Vec::new();
        for x in self.square(middle.x - reach.x)..=self.square(middle.x + reach.x) {
            for y in self.square(middle.y - reach.y)..=self.square(middle.y + reach.y) {
                let lines = self.squares.get(&(x, y)).map_or(&[][..], Vec::as_slice);
                found.extend(lines.iter().copied().filter(|&index| cross(self.lines[index], [from, to])));
            }
        }
        found.sort_unstable();
        found.dedup();
        found.len()
    }
}

/// Whether two lines cross between their ends.
pub(super) fn cross(one: [Point; 2], other: [Point; 2]) -> bool {
    let side = |line: [Point; 2], point: Point| (line[1] - line[0]).cross(point - line[0]);
    side(one, other[0]) * side(one, other[1]) < 0.0 && side(other, one[0]) * side(other, one[1]) < 0.0
}

/// Sides of the rings of a polygon.
pub(crate) fn sides(polygon: &Polygon) -> impl Iterator<Item = [Point; 2]> + '_ {
    polygon.rings().flat_map(|ring| {
        let next = ring.iter().copied().cycle().skip(1);
        ring.iter().copied().zip(next).map(|(a, b)| [a, b])
    })
}

/// Where the way from the middle of a box to a point leaves it.
pub(super) fn border(center: Point, half: Vector, to: Point) -> Point {
    let way = to - center;
    let share = (half.x / way.x.abs()).min(half.y / way.y.abs());
    if share.is_finite() && share < 1.0 { center + way * share } else { center }
}

/// What is left of a line where boxes (middle, half sides) break it.
pub(crate) fn broken(line: [Point; 2], boxes: &[(Point, Vector)]) -> Vec<[Point; 2]> {
    let [from, to] = line;
    let mut gaps: Vec<(f64, f64)> = boxes.iter().filter_map(|&(center, half)| inside(from, to, center, half)).collect();
    gaps.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut left = Vec::new();
    let mut at = 0.0;
    for (start, end) in gaps {
        if start > at {
            left.push([from.lerp(to, at), from.lerp(to, start)]);
        }
        at = at.max(end);
    }
    if at < 1.0 {
        left.push([from.lerp(to, at), to]);
    }
    left
}

/// The shares of a line between which it lies in a box.
///
/// # Source
/// Liang and Barsky's way of clipping. Textbook.
pub(crate) fn inside(from: Point, to: Point, center: Point, half: Vector) -> Option<(f64, f64)> {
    let (way, start) = (to - from, from - center);
    let (mut first, mut last) = (0.0f64, 1.0f64);
    for (step, at, half) in [(way.x, start.x, half.x), (way.y, start.y, half.y)] {
        if step == 0.0 {
            if at.abs() >= half {
                return None;
            }
            continue;
        }
        let (a, b) = ((-half - at) / step, (half - at) / step);
        first = first.max(a.min(b));
        last = last.min(a.max(b));
    }
    (first < last).then_some((first, last))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_only_where_a_box_lies_on_them() {
        let line = [Point::new(0.0, 0.0), Point::new(10.0, 0.0)];
        assert_eq!(broken(line, &[]), [line]);
        let boxes = [(Point::new(5.0, 0.0), Vector::new(1.0, 1.0)), (Point::new(5.0, 3.0), Vector::new(1.0, 1.0))];
        assert_eq!(
            broken(line, &boxes),
            [[Point::new(0.0, 0.0), Point::new(4.0, 0.0)], [Point::new(6.0, 0.0), Point::new(10.0, 0.0)]]
        );
    }
}
