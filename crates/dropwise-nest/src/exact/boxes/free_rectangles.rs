//! The free room of a rectangle as the largest empty rectangles in it, which may overlap each other.

use dropwise_geometry::Bounds;

/// Where the next box goes, among the places where it lies in a corner of an empty rectangle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Rule {
    /// Lowest, then farthest left.
    Low,
    /// Farthest left, then lowest.
    Left,
    /// Where the narrower of the two gaps it leaves is least.
    Snug,
    /// In the smallest rectangle.
    Small,
    /// Where most of its outline touches something.
    Touching,
}

/// All of them.
pub(super) const RULES: [Rule; 5] = [Rule::Low, Rule::Left, Rule::Snug, Rule::Small, Rule::Touching];

/// The empty rectangles of a sheet being filled.
///
/// # Source
/// Free space as maximal empty rectangles: Bentley, Overmars and Wood's notion, as used for packing since Wu, Huang,
/// Lau, Wong and Young, "An effective quasi-human based heuristic for solving the rectangle packing problem", Eur. J.
/// Oper. Res. 141 (2002), from where the preference for touching comes.
#[derive(Clone, Debug, Default)]
pub(super) struct FreeRectangles {
    free: Vec<Rectangle>,
    placed: Vec<Rectangle>,
    width: f64,
    height: f64,
    slack: f64,
    pieces: Vec<Rectangle>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Rectangle {
    left: f64,
    low: f64,
    right: f64,
    high: f64,
}

impl Rectangle {
    fn contains(&self, other: &Self, slack: f64) -> bool {
        self.left <= other.left + slack
            && self.low <= other.low + slack
            && self.right >= other.right - slack
            && self.high >= other.high - slack
    }
}

impl FreeRectangles {
    /// Empties it to a sheet of this size with these boxes kept free.
    pub(super) fn start(&mut self, width: f64, height: f64, blocked: &[Bounds]) {
        self.free.clear();
        self.placed.clear();
        (self.width, self.height) = (width, height);
        self.slack = 1e-9 * width.max(height);
        self.free.push(Rectangle { left: 0.0, low: 0.0, right: width, high: height });
        for b in blocked {
            self.take(Rectangle { left: b.min.x, low: b.min.y, right: b.max.x, high: b.max.y });
        }
    }

    /// How many empty rectangles there are.
    pub(super) fn count(&self) -> usize {
        self.free.len()
    }

    /// The best place for a box by a rule, less is better; `None` if it fits nowhere.
    pub(super) fn find(&self, width: f64, height: f64, rule: Rule) -> Option<(f64, f64, (f64, f64))> {
        let mut best: Option<(f64, f64, (f64, f64))> = None;
        for free in &self.free {
            let (spare_x, spare_y) = (free.right - free.left - width, free.high - free.low - height);
            if spare_x < -self.slack || spare_y < -self.slack {
                continue;
            }
            let score = match rule {
                Rule::Low => (free.low + height, free.left),
                Rule::Left => (free.left + width, free.low),
                Rule::Snug => (spare_x.min(spare_y), spare_x.max(spare_y)),
                Rule::Small => ((free.right - free.left) * (free.high - free.low), spare_x.min(spare_y)),
                Rule::Touching => (-self.touched(free.left, free.low, width, height), free.low + free.left),
            };
            if best.is_none_or(|(_, _, least)| score < least) {
                best = Some((free.left, free.low, score));
            }
        }
        best
    }

    /// Length of a box's outline that touches the sheet's edge or a box that lies.
    fn touched(&self, left: f64, low: f64, width: f64, height: f64) -> f64 {
        let (right, high) = (left + width, low + height);
        let mut sum = 0.0;
        let near = |a: f64, b: f64| (a - b).abs() <= self.slack;
        if near(left, 0.0) || near(right, self.width) {
            sum += height;
        }
        if near(low, 0.0) || near(high, self.height) {
            sum += width;
        }
        for other in &self.placed {
            if near(other.right, left) || near(other.left, right) {
                sum += (other.high.min(high) - other.low.max(low)).max(0.0);
            }
            if near(other.high, low) || near(other.low, high) {
                sum += (other.right.min(right) - other.left.max(left)).max(0.0);
            }
        }
        sum
    }

    /// Lays a box down.
    pub(super) fn place(&mut self, left: f64, low: f64, width: f64, height: f64) {
        self.take(Rectangle { left, low, right: left + width, high: low + height });
    }

    fn take(&mut self, taken: Rectangle) {
        self.placed.push(taken);
        self.pieces.clear();
        let (slack, pieces) = (self.slack, &mut self.pieces);
        self.free.retain(|&free| {
            let is_apart = taken.left >= free.right - slack
                || taken.right <= free.left + slack
                || taken.low >= free.high - slack
                || taken.high <= free.low + slack;
            if is_apart {
                return true;
            }
            if taken.left > free.left + slack {
                pieces.push(Rectangle { right: taken.left, ..free });
            }
            if taken.right < free.right - slack {
                pieces.push(Rectangle { left: taken.right, ..free });
            }
            if taken.low > free.low + slack {
                pieces.push(Rectangle { high: taken.low, ..free });
            }
            if taken.high < free.high - slack {
                pieces.push(Rectangle { low: taken.high, ..free });
            }
            false
        });
        // What was free before and was not cut lies in no piece, so only the pieces need looking at.
        for index in 0..self.pieces.len() {
            let piece = self.pieces[index];
            let is_inside = self.free.iter().any(|free| free.contains(&piece, slack))
                || self.pieces.iter().enumerate().any(|(other, p)| {
                    other != index && p.contains(&piece, slack) && (!piece.contains(p, slack) || other < index)
                });
            if !is_inside {
                self.free.push(piece);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_quarters_fill_a_square_by_any_rule() {
        for rule in RULES {
            let mut free = FreeRectangles::default();
            free.start(10.0, 10.0, &[]);
            for _ in 0..4 {
                let (x, y, _) = free.find(5.0, 5.0, rule).expect("a quarter is free");
                free.place(x, y, 5.0, 5.0);
            }
            assert!(free.find(0.1, 0.1, rule).is_none());
        }
    }

    #[test]
    fn what_is_blocked_stays_free() {
        let mut free = FreeRectangles::default();
        let hole =
            Bounds { min: dropwise_geometry::Point::new(4.0, 0.0), max: dropwise_geometry::Point::new(6.0, 10.0) };
        free.start(10.0, 10.0, &[hole]);
        assert!(free.find(5.0, 5.0, Rule::Low).is_none());
        assert!(free.find(4.0, 10.0, Rule::Low).is_some());
    }
}
