//! The first layout of a crowd: rows of boxes, one evaluation or two for each copy.
//!
//! Of some hundred parts each is laid where hundreds of samples show the best place. Of thousands that takes longer than a
//! user waits, and gains less: copies lie well in rows.

use std::ops::Range;

use dropwise_geometry::{Bounds, Point};

use crate::problem::task::Task;
use crate::shapes::pose::Pose;
use crate::state::working::Working;

/// More items than this are a crowd.
pub(crate) const CROWD: usize = 1_000;
/// Places tried along one row, at most, as many times the number of boxes that the room is long: obstacles are stepped over.
const STEPS_PER_BOX: f64 = 8.0;
/// A shape that fills less of its box than this may reach into the gaps of its neighbours.
const BOX_LIKE: f64 = 0.95;
/// Halvings of a step towards the neighbours.
const HALVINGS: usize = 6;

/// The row that is being laid in a bin. Rows run along the shorter side of the room: on stock sold by length across it, so
/// that as little as can be is used.
#[derive(Clone, Copy, Debug)]
struct Row {
    /// Where the row begins, and how far what lies in it reaches; across the row.
    low: f64,
    high: f64,
    /// How far it is laid, along it.
    end: f64,
    /// Items that lie in it.
    count: usize,
}

/// Lays items in rows, the bins one after another.
#[derive(Debug, Default)]
pub(crate) struct Rows {
    /// By bin.
    rows: Vec<Option<Row>>,
    /// By part, how many bins from the first have no room left for it.
    full: Vec<usize>,
}

/// A way for a part to lie in rows on a sheet: it, and the same turned about, where both may lie.
#[derive(Clone, Copy, Debug)]
struct Ways {
    poses: [(usize, f64); 2],
}

impl Rows {
    pub(crate) fn new(task: &Task) -> Self {
        Self { rows: Vec::new(), full: vec![0; task.parts.len()] }
    }

    /// Lays an item free in the first bin with room in its row, or in a row beside that; says whether there was one.
    pub(crate) fn lay(&mut self, working: &mut Working<'_>, item: usize) -> bool {
        let part = working.part_of(item);
        self.rows.resize(working.bins.len(), None);
        for bin in self.full[part]..working.bins.len() {
            if self.lay_in(working, item, bin) {
                return true;
            }
            // Rows only get longer: what has no room for a copy has none for the next.
            if self.full[part] == bin {
                self.full[part] = bin + 1;
            }
        }
        false
    }

    /// The same in one bin.
    pub(crate) fn lay_in(&mut self, working: &mut Working<'_>, item: usize, bin: usize) -> bool {
        self.rows.resize(working.bins.len(), None);
        let (task, sheet) = (working.task(), working.bins[bin].sheet);
        if task.fit(working.part_of(item), sheet).is_none() {
            return false;
        }
        let Some(ways) = ways(working, item, bin) else { return false };
        let is_upright = is_upright(working, bin);
        let room = swapped(working.bins[bin].container.bounds, is_upright);
        let first = Row { low: room.min.y, high: room.min.y, end: room.min.x, count: 0 };
        let mut row = self.rows[bin].unwrap_or(first);
        loop {
            if let Some((pose, next)) = place_in_row(working, item, bin, &ways, row) {
                working.put(item, bin, pose);
                self.rows[bin] = Some(next);
                return true;
            }
            let step = if row.high > row.low { row.high - row.low } else { room.height() / STEPS_PER_BOX };
            let low = row.low + step;
            if low >= room.max.y {
                return false;
            }
            row = Row { low, high: low, end: room.min.x, count: 0 };
        }
    }
}

/// Whether rows run along y.
fn is_upright(working: &Working<'_>, bin: usize) -> bool {
    let room = &working.bins[bin];
    working.task().sheets[room.sheet].price_per_length.is_some()
        || room.container.bounds.height() <= room.container.bounds.width()
}

/// A box with its axes exchanged, if rows run along y: so that all below may speak of rows along x.
fn swapped(Bounds { min, max }: Bounds, is_upright: bool) -> Bounds {
    if is_upright {
        Bounds { min: Point::new(min.y, min.x), max: Point::new(max.y, max.x) }
    } else {
        Bounds { min, max }
    }
}

/// How an item lies in rows of a bin: of the ways it may lie the one of which most fit.
fn ways(working: &Working<'_>, item: usize, bin: usize) -> Option<Ways> {
    let task = working.task();
    let part = &task.parts[working.part_of(item)];
    let room = swapped(working.bins[bin].container.bounds, is_upright(working, bin));
    let allowed: Range<usize> = task.allowed(working.part_of(item), task.sheets[working.bins[bin].sheet].grain);
    let turns = |variant: usize| {
        let is_free = part.variants[variant].turn_deg.is_none();
        [0.0, 90.0, 180.0, 270.0].into_iter().take(if is_free { 4 } else { 1 }).map(move |turn| (variant, turn))
    };
    let mut best: Option<((f64, f64), (usize, f64))> = None;
    for (variant, turn) in allowed.clone().flat_map(turns) {
        let size = swapped(working.turned(item, variant, turn).edge_bounds, is_upright(working, bin));
        let along = (room.width() * (1.0 + 1e-12) / size.width()).floor();
        let across = (room.height() * (1.0 + 1e-12) / size.height()).floor();
        // Of equal ones the one that takes up less of the room across its rows.
        let gain = (along * across, -size.height());
        if along * across > 0.0 && best.is_none_or(|(most, _)| gain > most) {
            best = Some((gain, (variant, turn)));
        }
    }
    let (variant, turn) = best.map(|(_, way)| way)?;
    let lies = |(variant, turn): (usize, f64)| part.variants[variant].turn_deg.unwrap_or(turn).rem_euclid(360.0);
    let is_about = |&(other, by): &(usize, f64)| {
        let apart = (lies((other, by)) - lies((variant, turn))).rem_euclid(360.0);
        part.variants[other].is_mirrored == part.variants[variant].is_mirrored && (apart - 180.0).abs() < 1e-9
    };
    let about = allowed.flat_map(turns).find(is_about).unwrap_or((variant, turn));
    Some(Ways { poses: [(variant, turn), about] })
}

/// The next free place in a row, and the row with the item in it; `None` if the row has none.
fn place_in_row(working: &mut Working<'_>, item: usize, bin: usize, ways: &Ways, row: Row) -> Option<(Pose, Row)> {
    let is_upright = is_upright(working, bin);
    let room = swapped(working.bins[bin].container.bounds, is_upright);
    let (variant, turn_deg) = ways.poses[row.count % 2];
    let turned = working.turned(item, variant, turn_deg);
    let (shape, edge) = (swapped(turned.bounds, is_upright), swapped(turned.edge_bounds, is_upright));
    let pose = |along: f64, across: f64| {
        let at = if is_upright { Point::new(across, along) } else { Point::new(along, across) };
        Pose { variant, turn_deg, at }
    };
    let slack = working.task().touch;
    let across = (row.low - shape.min.y).max(room.min.y - edge.min.y);
    if across + edge.max.y > room.max.y + slack {
        return None;
    }
    let mut along = (row.end - shape.min.x).max(room.min.x - edge.min.x);
    let step = shape.width() / STEPS_PER_BOX;
    while along + edge.max.x <= room.max.x + slack {
        if working.task().is_late() {
            return None;
        }
        if working.evaluate(item, bin, pose(along, across), 0.0) == 0.0 {
            let part = &working.task().parts[working.part_of(item)];
            let (mut best, mut down) = (along, across);
            if part.area < BOX_LIKE * edge.width() * edge.height() {
                let is_free = |working: &mut Working<'_>, along: f64, down: f64| {
                    working.evaluate(item, bin, pose(along, down), 0.0) == 0.0
                };
                let mut by = shape.width() / 2.0;
                for _ in 0..HALVINGS {
                    if is_free(working, best - by, down) {
                        best -= by;
                    }
                    by /= 2.0;
                }
                by = shape.height() / 2.0;
                for _ in 0..HALVINGS {
                    if is_free(working, best, down - by) {
                        down -= by;
                    }
                    by /= 2.0;
                }
            }
            let next =
                Row { high: row.high.max(down + shape.max.y), end: best + shape.max.x, count: row.count + 1, ..row };
            return Some((pose(best, down), next));
        }
        along += step;
    }
    None
}

#[cfg(test)]
mod tests {
    use dropwise_geometry::{Outline, Shape};
    use dropwise_model::{Clearances, Job, Turns};

    use super::*;
    use crate::anneal::lone_fit::prepared;
    use crate::state::working_tests::{job, rectangle};

    fn crowd(shape: Shape, turns: Turns, copies: u32, sheet: Shape) -> Task {
        let plain = job(&[(shape, turns)], sheet);
        let mut parts = plain.parts().to_vec();
        parts[0].quantity = copies;
        let clearances = Clearances::new(1.0, 2.0, 3.0).expect("sound clearances");
        prepared(Job::new(parts, plain.sheets().to_vec(), clearances, *plain.leftover_rule()).expect("a sound job"))
    }

    /// How many of the copies find room on one sheet, and that they lie free there.
    fn laid(task: &Task) -> usize {
        let mut working = Working::new(task, task.items());
        working.open(0, task.container(0), None);
        let mut rows = Rows::new(task);
        let count = (0..working.item_count()).filter(|&item| rows.lay(&mut working, item)).count();
        assert_eq!(working.total_loss(), 0.0);
        count
    }

    #[test]
    fn squares_fill_a_sheet_in_rows() {
        // Squares of 10 mm, 2 mm apart and 3 mm from the edge, with a little to spare: eight rows of sixteen.
        let task = crowd(rectangle(10.0, 10.0), Turns::List(vec![0.0]), 200, rectangle(197.0, 101.0));
        assert_eq!(laid(&task), 8 * 16);
    }

    #[test]
    fn plates_lie_the_way_in_which_most_of_them_fit() {
        let task = crowd(rectangle(40.0, 10.0), Turns::Any, 100, rectangle(89.0, 67.0));
        assert_eq!(laid(&task), 10, "two rows of five, not one of six");
    }

    #[test]
    fn triangles_reach_into_each_other() {
        let triangle = || {
            Shape::new(Outline::polygon([(0.0, 0.0), (30.0, 0.0), (0.0, 30.0)].map(|(x, y)| Point::new(x, y))), vec![])
        };
        let sheet = || rectangle(330.0, 330.0);
        let alone = laid(&crowd(triangle(), Turns::List(vec![0.0]), 400, sheet()));
        let about = laid(&crowd(triangle(), Turns::List(vec![0.0, 180.0]), 400, sheet()));
        assert!(alone >= 100 && about > alone * 5 / 4, "{about} beside {alone}");
    }

    #[test]
    fn a_hole_in_the_sheet_is_stepped_over() {
        let hole = Outline::circle(Point::new(100.0, 50.0), 30.0);
        let sheet = Shape::new(Outline::rectangle(Point::ORIGIN, 197.0, 101.0), vec![hole]);
        let count = laid(&crowd(rectangle(10.0, 10.0), Turns::List(vec![0.0]), 200, sheet));
        // The hole with its margin takes up at most as much as a square of 78 mm.
        assert!(count > 128 - 49 && count < 128, "{count}");
    }
}
