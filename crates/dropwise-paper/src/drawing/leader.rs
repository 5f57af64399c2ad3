//! Names that do not fit their parts, led out to the side.

use dropwise_geometry::{Point, Vector};

use super::label::BASE;
use super::svg::{Anchor, Canvas, THIN};
use super::text::{shorten, width};

/// Least width of the column that names are led out to, mm of paper.
pub(super) const COLUMN: f64 = 50.0;

/// Distance between lines of that column, mm of paper.
pub(super) const ROW: f64 = 4.4;

/// Most names led out on one sheet. More lines than that hide the parts they cross.
pub(super) const MOST: usize = 36;

/// Most parts that are joined under one name by lines.
const MOST_JOINED: usize = 24;

const SIZE: f64 = 2.8;

/// A name to lead out, for one part or for several alike that lie together.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Leader {
    /// Where it points, in the picture: lines join these, and one leads out from the rightmost. Not empty; from left
    /// to right.
    pub(super) targets: Vec<Point>,
    /// A name, which may be shortened.
    pub(super) name: String,
    /// What comes after it, kept whole; may be empty.
    pub(super) number: String,
}

/// Heights for labels that want to stand at `wanted` (ascending), at least `pitch` apart, between `top` and `bottom`
/// as far as there is room. Labels that crowd each other spread evenly about the middle of where they want to be.
///
/// # Source
/// Isotonic regression by pooling adjacent violators; textbook, from memory.
pub(crate) fn spread(wanted: &[f64], pitch: f64, top: f64, bottom: f64) -> Vec<f64> {
    // With the pitch taken off, "at least the pitch apart" becomes "not falling".
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (i, &height) in wanted.iter().enumerate() {
        let mut pool = (height - i as f64 * pitch, 1);
        while let Some(&(above, count)) = pools.last()
            && above > pool.0
        {
            pools.pop();
            let both = count + pool.1;
            pool = ((above * count as f64 + pool.0 * pool.1 as f64) / both as f64, both);
        }
        pools.push(pool);
    }
    let mut heights: Vec<f64> = pools.iter().flat_map(|&(level, count)| std::iter::repeat_n(level, count)).collect();
    let last = heights.len().saturating_sub(1) as f64 * pitch;
    for (i, height) in heights.iter_mut().enumerate() {
        // The levels do not fall, so neither do they after both ends are pulled in.
        *height = height.min(bottom - last).max(top) + i as f64 * pitch;
    }
    heights
}

/// Whether two leader lines cross between their targets and their elbows.
fn cross(a: (Point, Point), b: (Point, Point)) -> bool {
    let side = |from: Point, to: Point, point: Point| (to - from).cross(point - from);
    side(a.0, a.1, b.0) * side(a.0, a.1, b.1) < 0.0 && side(b.0, b.1, a.0) * side(b.0, b.1, a.1) < 0.0
}

impl Leader {
    /// Where the line that leads out starts.
    fn start(&self) -> Point {
        self.targets.last().copied().unwrap_or_default()
    }

    /// Lines that join the targets: each to the nearest of those left of it. None when there are so many that lines
    /// would hide the parts; their fill tells then.
    fn joins(&self) -> Vec<[Point; 2]> {
        if self.targets.len() > MOST_JOINED {
            return Vec::new();
        }
        (1..self.targets.len())
            .filter_map(|i| {
                let target = self.targets[i];
                let nearest =
                    self.targets[..i].iter().min_by(|a, b| a.distance(target).total_cmp(&b.distance(target)))?;
                Some([*nearest, target])
            })
            .collect()
    }
}

/// Draws names in a column from `x` that is `room` mm of paper wide, each with a line to its part.
pub(super) fn draw(canvas: &mut Canvas, leaders: &mut [Leader], x: f64, room: f64, top: f64, bottom: f64) {
    let paper = canvas.paper;
    leaders.sort_by(|a, b| {
        let (a, b) = (a.start(), b.start());
        a.y.total_cmp(&b.y).then(a.x.total_cmp(&b.x))
    });
    let wanted: Vec<f64> = leaders.iter().map(|leader| leader.start().y).collect();
    let heights = spread(&wanted, ROW * paper, top, bottom);
    // Neighbours whose lines cross trade places. Each trade shortens the lines, so this ends; the bound is for the
    // last bit of a length.
    for _ in 0..leaders.len() {
        let mut has_traded = false;
        for i in 1..leaders.len() {
            let line = |leader: &Leader, height: f64| (leader.start(), Point::new(x, height));
            if cross(line(&leaders[i - 1], heights[i - 1]), line(&leaders[i], heights[i])) {
                leaders.swap(i - 1, i);
                has_traded = true;
            }
        }
        if !has_traded {
            break;
        }
    }
    for (leader, height) in leaders.iter().zip(heights) {
        let (elbow, end) = (Point::new(x, height), Point::new(x + 3.0 * paper, height));
        // A white line below the black one, so that it stays apart from the outlines it crosses.
        for (width, colour) in [(2.6 * THIN, "#fff"), (THIN, "#000")] {
            canvas.line(&[leader.start(), elbow, end], width, colour);
            for join in leader.joins() {
                canvas.line(&join, width, colour);
            }
        }
        let dots = if leader.targets.len() > MOST_JOINED { &[leader.start()][..] } else { &leader.targets };
        for &target in dots {
            canvas.dot(target, 0.5);
        }
        let name = shorten(&leader.name, (room - 6.0) / SIZE - width(&leader.number) - width(" "));
        let base = end + Vector::new(0.8 * paper, BASE * SIZE * paper);
        canvas.text(base, SIZE, Anchor::Start, 0.0, "", &format!("{name} {}", leader.number));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_keep_their_distance_and_stay_in_the_column() {
        assert_eq!(spread(&[10.0, 30.0], 4.0, 0.0, 50.0), [10.0, 30.0]);
        assert_eq!(spread(&[10.0, 10.0, 10.0], 4.0, 0.0, 50.0), [6.0, 10.0, 14.0]);
        assert_eq!(spread(&[1.0, 1.0, 1.0], 4.0, 0.0, 50.0), [0.0, 4.0, 8.0]);
        assert_eq!(spread(&[], 4.0, 0.0, 50.0), []);
        assert_eq!(spread(&[49.0, 50.0, 50.0], 4.0, 0.0, 50.0), [42.0, 46.0, 50.0]);
        assert_eq!(spread(&[-5.0], 4.0, 0.0, 50.0), [0.0]);
    }

    #[test]
    fn lines_cross_only_between_their_ends() {
        let p = Point::new;
        assert!(cross((p(0.0, 0.0), p(10.0, 10.0)), (p(0.0, 10.0), p(10.0, 0.0))));
        assert!(!cross((p(0.0, 0.0), p(10.0, 0.0)), (p(0.0, 5.0), p(10.0, 5.0))));
        assert!(!cross((p(0.0, 0.0), p(10.0, 0.0)), (p(0.0, 0.0), p(10.0, 5.0))));
    }
}
