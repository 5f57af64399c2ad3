//! Loose lines and arcs into closed loops.
//!
//! 1. Pieces that lie on one another are reduced to one.
//! 2. Ends that meet to the last digits become one node. Of the nodes where an odd number of ends meet, those within the
//!    tolerance of each other are merged, nearest first, and every end moves to the mean of its node. An end that
//!    already meets another exactly is left alone, so that sides shorter than the tolerance survive.
//! 3. Loops are walked from node to node. Where more than two pieces meet, the walk turns as far left as it can, and a
//!    node met again closes a loop there and then: no loop passes twice through the same point.
//!
//! A doubled piece whose removal would leave an odd number of ends at both of its nodes is the side shared by two parts
//! drawn against each other; it is kept twice.

use std::collections::HashMap;

use dropwise_geometry::Point;

use crate::curves::Piece;

/// A piece and the number of the entity it came from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Sourced {
    pub(crate) piece: Piece,
    pub(crate) source: usize,
}

/// What became of the pieces.
#[derive(Clone, Debug, Default)]
pub(crate) struct Chained {
    /// Closed loops, none of which meets a node twice.
    pub(crate) loops: Vec<Vec<Sourced>>,
    /// Chains with two loose ends.
    pub(crate) open: Vec<Vec<Sourced>>,
    /// Sources of pieces dropped because another lies in the same place.
    pub(crate) duplicates: Vec<usize>,
    /// How many nodes were merged from ends that missed each other, and the widest miss.
    pub(crate) joined: usize,
    pub(crate) widest_gap: f64,
}

/// Ends nearer than this meet as drawn: digits of a file, not a gap.
pub(crate) const SAME_PLACE: f64 = 1e-6;
/// Most neighbours looked at in one grid cell. Real drawings have a handful; a hostile one would cost its square.
const CELL_SCAN: usize = 64;

/// Chains pieces whose ends miss each other by up to `tolerance`, in millimetres.
pub(crate) fn chain(pieces: &[Sourced], tolerance: f64) -> Chained {
    let mut result = Chained::default();
    let (mut kept, doubled) = without_duplicates(pieces, tolerance);
    let mut nodes = Nodes::of(&kept, tolerance);
    for (original, copy) in doubled {
        let ends = nodes.ends[original];
        if ends.iter().all(|&node| nodes.degree[node] % 2 == 1) && ends[0] != ends[1] {
            // Drawn the other way or not, the copy takes the place of the original.
            kept.push(Sourced { piece: kept[original].piece, source: copy });
            nodes.ends.push(ends);
            ends.iter().for_each(|&node| nodes.degree[node] += 1);
        } else {
            result.duplicates.push(copy);
        }
    }
    result.joined = nodes.joined;
    result.widest_gap = nodes.widest_gap;
    for (item, ends) in kept.iter_mut().zip(&nodes.ends) {
        item.piece.start = nodes.place[ends[0]];
        item.piece.end = nodes.place[ends[1]];
    }
    walk(&kept, &nodes, &mut result);
    result
}

/// Kept pieces, and for each dropped one the index of the kept piece it repeats and its source.
pub(crate) fn without_duplicates(pieces: &[Sourced], tolerance: f64) -> (Vec<Sourced>, Vec<(usize, usize)>) {
    let (mut kept, mut doubled): (Vec<Sourced>, _) = (Vec::with_capacity(pieces.len()), Vec::new());
    let mut grid = Grid::new(tolerance);
    for item in pieces {
        let piece = item.piece;
        let length = piece.length();
        if length <= SAME_PLACE {
            continue;
        }
        // Neighbours in a chain of tiny sides lie within the tolerance of each other too, hence the share of the length.
        let slack = tolerance.min(0.1 * length);
        let middle = piece.middle();
        let near = |a: Point, b: Point| a.distance(b) <= slack;
        let same = grid.near(middle).find(|&index| {
            let other: &Piece = &kept[index].piece;
            near(other.middle(), middle)
                && ((near(other.start, piece.start) && near(other.end, piece.end))
                    || (near(other.start, piece.end) && near(other.end, piece.start)))
        });
        match same {
            Some(index) => doubled.push((index, item.source)),
            None => {
                grid.insert(middle, kept.len());
                kept.push(*item);
            }
        }
    }
    (kept, doubled)
}

/// Points by grid cell.
struct Grid {
    cell: f64,
    cells: HashMap<(i64, i64), Vec<usize>>,
}

impl Grid {
    fn new(cell: f64) -> Self {
        Self { cell: cell.max(SAME_PLACE), cells: HashMap::new() }
    }

    fn key(&self, point: Point) -> (i64, i64) {
        ((point.x / self.cell).floor() as i64, (point.y / self.cell).floor() as i64)
    }

    fn insert(&mut self, point: Point, index: usize) {
        self.cells.entry(self.key(point)).or_default().push(index);
    }

    /// Indices in the nine cells around a point: all within one cell's width and some beyond.
    fn near(&self, point: Point) -> impl Iterator<Item = usize> + '_ {
        let (x, y) = self.key(point);
        (-1..=1)
            .flat_map(move |dx| (-1..=1).map(move |dy| (x.saturating_add(dx), y.saturating_add(dy))))
            .filter_map(|key| self.cells.get(&key))
            .flat_map(|cell| cell.iter().take(CELL_SCAN).copied())
    }
}

/// Where ends meet.
pub(crate) struct Nodes {
    /// Node of each piece's start and end.
    pub(crate) ends: Vec<[usize; 2]>,
    pub(crate) place: Vec<Point>,
    degree: Vec<usize>,
    pub(crate) joined: usize,
    pub(crate) widest_gap: f64,
}

impl Nodes {
    pub(crate) fn of(pieces: &[Sourced], tolerance: f64) -> Self {
        let mut place: Vec<Point> = Vec::new();
        let mut degree: Vec<usize> = Vec::new();
        let mut grid = Grid::new(SAME_PLACE);
        let mut node_at = |point: Point| {
            let known = grid.near(point).find(|&node| place[node].distance(point) <= SAME_PLACE);
            let node = known.unwrap_or_else(|| {
                grid.insert(point, place.len());
                place.push(point);
                degree.push(0);
                place.len() - 1
            });
            degree[node] += 1;
            node
        };
        let ends = pieces.iter().map(|item| [node_at(item.piece.start), node_at(item.piece.end)]).collect();
        let mut nodes = Self { ends, place, degree, joined: 0, widest_gap: 0.0 };
        nodes.merge_within(tolerance, pieces);
        nodes
    }

    /// Merges nodes of odd degree within the tolerance of each other, nearest first.
    fn merge_within(&mut self, tolerance: f64, pieces: &[Sourced]) {
        // Ends of a piece about as short as the tolerance must not meet each other.
        let mut apart: HashMap<usize, Vec<usize>> = HashMap::new();
        for (item, &[a, b]) in pieces.iter().zip(&self.ends) {
            if item.piece.length() <= 4.0 * tolerance {
                apart.entry(a).or_default().push(b);
                apart.entry(b).or_default().push(a);
            }
        }
        let mut grid = Grid::new(tolerance);
        let mut pairs = Vec::new();
        for node in (0..self.place.len()).filter(|&node| self.degree[node] % 2 == 1) {
            let at = self.place[node];
            for other in grid.near(at) {
                let gap = self.place[other].distance(at);
                if gap <= tolerance && !apart.get(&node).is_some_and(|list| list.contains(&other)) {
                    pairs.push((gap, other, node));
                }
            }
            grid.insert(at, node);
        }
        pairs.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));

        let mut cluster_of: Vec<usize> = (0..self.place.len()).collect();
        let mut members: HashMap<usize, Vec<usize>> = HashMap::new();
        for (_, a, b) in pairs {
            let (into, from) = (cluster_of[a], cluster_of[b]);
            if into == from {
                continue;
            }
            let of = |cluster: usize| members.get(&cluster).cloned().unwrap_or_else(|| vec![cluster]);
            let (mut one, other) = (of(into), of(from));
            let mut widest: f64 = 0.0;
            let fits = one.len() + other.len() <= CELL_SCAN
                && one.iter().all(|&m| {
                    other.iter().all(|&n| {
                        let gap = self.place[m].distance(self.place[n]);
                        widest = widest.max(gap);
                        gap <= tolerance && !apart.get(&m).is_some_and(|list| list.contains(&n))
                    })
                });
            if fits {
                other.iter().for_each(|&n| cluster_of[n] = into);
                one.extend(other);
                members.remove(&from);
                members.insert(into, one);
                self.widest_gap = self.widest_gap.max(widest);
            }
        }
        for (&cluster, list) in &members {
            self.joined += 1;
            let origin = self.place[cluster];
            let total: usize = list.iter().map(|&n| self.degree[n]).sum();
            // Taken about one of them, so that a drawing far from the origin keeps its digits.
            let sum = list
                .iter()
                .map(|&n| (self.place[n] - origin) * self.degree[n] as f64)
                .fold(dropwise_geometry::Vector::default(), |a, b| a + b);
            self.place[cluster] = origin + sum / total as f64;
            self.degree[cluster] = total;
        }
        for ends in &mut self.ends {
            *ends = ends.map(|node| cluster_of[node]);
        }
    }
}

fn walk(pieces: &[Sourced], nodes: &Nodes, result: &mut Chained) {
    let mut leaving: Vec<Vec<(usize, bool)>> = vec![Vec::new(); nodes.place.len()];
    for (index, ends) in nodes.ends.iter().enumerate() {
        leaving[ends[0]].push((index, false));
        leaving[ends[1]].push((index, true));
    }
    let degree: Vec<usize> = leaving.iter().map(Vec::len).collect();
    // Loose ends first, so that what hangs on to a loop is not taken for a part of it; then from the left, where the
    // first piece can be chosen to run counter-clockwise.
    let mut order: Vec<usize> = (0..nodes.place.len()).filter(|&node| degree[node] > 0).collect();
    order.sort_by(|&a, &b| {
        let (p, q) = (nodes.place[a], nodes.place[b]);
        (degree[b] % 2).cmp(&(degree[a] % 2)).then(p.x.total_cmp(&q.x)).then(p.y.total_cmp(&q.y))
    });
    let mut is_used = vec![false; pieces.len()];
    let mut on_path = vec![usize::MAX; nodes.place.len()];
    for first in order {
        loop {
            let mut path: Vec<(usize, Sourced)> = Vec::new();
            let mut node = first;
            on_path[node] = 0;
            let mut heading = dropwise_geometry::Vector::new(0.0, -1.0);
            loop {
                let list = &mut leaving[node];
                if list.len() > CELL_SCAN {
                    // A knot of this many ends is no drawing of a part. Taking any of them keeps its cost linear.
                    while list.last().is_some_and(|&(index, _)| is_used[index]) {
                        list.pop();
                    }
                } else {
                    list.retain(|&(index, _)| !is_used[index]);
                }
                let oriented = |&(index, is_reversed): &(usize, bool)| {
                    let item = pieces[index];
                    let piece = if is_reversed { item.piece.reversed() } else { item.piece };
                    (index, is_reversed, Sourced { piece, ..item })
                };
                let choice = if list.len() <= 1 || list.len() > CELL_SCAN {
                    list.last().map(oriented)
                } else {
                    list.iter().map(oriented).max_by(|a, b| {
                        let turn = |item: &Sourced| left_turn(heading, item.piece.leaving());
                        // Ties go to the lower index.
                        turn(&a.2).total_cmp(&turn(&b.2)).then(b.0.cmp(&a.0))
                    })
                };
                let Some((index, is_reversed, item)) = choice else { break };
                is_used[index] = true;
                heading = item.piece.arriving();
                path.push((node, item));
                node = nodes.ends[index][usize::from(!is_reversed)];
                let met = on_path[node];
                if met == usize::MAX {
                    on_path[node] = path.len();
                } else {
                    let closed = path.split_off(met);
                    for &(passed, _) in &closed {
                        on_path[passed] = usize::MAX;
                    }
                    on_path[node] = met;
                    result.loops.push(closed.into_iter().map(|(_, item)| item).collect());
                    heading = path.last().map_or(heading, |(_, item)| item.piece.arriving());
                }
            }
            on_path[node] = usize::MAX;
            for &(passed, _) in &path {
                on_path[passed] = usize::MAX;
            }
            if !path.is_empty() {
                result.open.push(path.into_iter().map(|(_, item)| item).collect());
            } else {
                break;
            }
        }
    }
}

/// The turn from one direction to another, in (-π, π]; going straight back counts as the sharpest turn right.
fn left_turn(heading: dropwise_geometry::Vector, leaving: dropwise_geometry::Vector) -> f64 {
    let turn = heading.cross(leaving).atan2(heading.dot(leaving));
    if turn > std::f64::consts::PI - 1e-3 { -std::f64::consts::PI } else { turn }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(list: &[[f64; 4]]) -> Vec<Sourced> {
        list.iter()
            .enumerate()
            .map(|(source, &[a, b, c, d])| Sourced { piece: Piece::line(Point::new(a, b), Point::new(c, d)), source })
            .collect()
    }

    #[test]
    fn shuffled_reversed_sides_with_gaps_close() {
        let chained = chain(
            &lines(&[[0.0, 0.0, 10.0, 0.02], [10.01, 5.0, 10.0, 0.0], [0.0, 5.03, 0.01, 0.0], [0.0, 5.0, 10.0, 5.0]]),
            0.05,
        );
        assert_eq!((chained.loops.len(), chained.open.len(), chained.joined), (1, 0, 4));
        assert_eq!(chained.loops[0].len(), 4);
        assert!((chained.widest_gap - 0.03).abs() < 1e-12);
    }

    #[test]
    fn a_gap_beyond_the_tolerance_stays_open() {
        let chained = chain(&lines(&[[0.0, 0.0, 10.0, 0.0], [10.0, 0.0, 5.0, 5.0], [5.0, 5.0, 0.0, 0.06]]), 0.05);
        assert_eq!((chained.loops.len(), chained.open.len()), (0, 1));
        assert_eq!(chained.open[0].len(), 3);
    }

    #[test]
    fn a_doubled_side_is_dropped_but_a_shared_one_is_kept_twice() {
        let square = [[0.0, 0.0, 1.0, 0.0], [1.0, 0.0, 1.0, 1.0], [1.0, 1.0, 0.0, 1.0], [0.0, 1.0, 0.0, 0.0]];
        let mut doubled = square.to_vec();
        doubled.push([1.0, 1.01, 1.0, 0.01]);
        let chained = chain(&lines(&doubled), 0.05);
        assert_eq!((chained.loops.len(), chained.open.len(), chained.duplicates.len()), (1, 0, 1));

        let mut pair = square.to_vec();
        pair.extend(square.map(|[a, b, c, d]| [a + 1.0, b, c + 1.0, d]));
        let chained = chain(&lines(&pair), 0.05);
        assert_eq!((chained.loops.len(), chained.open.len(), chained.duplicates.len()), (2, 0, 0));
        assert!(chained.loops.iter().all(|ring| ring.len() == 4));
    }

    #[test]
    fn squares_that_share_a_corner_stay_two() {
        let square = [[0.0, 0.0, 1.0, 0.0], [1.0, 0.0, 1.0, 1.0], [1.0, 1.0, 0.0, 1.0], [0.0, 1.0, 0.0, 0.0]];
        let mut pair = square.to_vec();
        pair.extend(square.map(|[a, b, c, d]| [a + 1.01, b + 1.0, c + 1.01, d + 1.0]));
        let chained = chain(&lines(&pair), 0.05);
        assert_eq!((chained.loops.len(), chained.open.len()), (2, 0));
        assert!(chained.loops.iter().all(|ring| ring.len() == 4));
    }

    #[test]
    fn sides_shorter_than_the_tolerance_survive() {
        let n = 600; // A circle of radius 1 drawn in sides of 0.01.
        let at = |i: usize| {
            let (sin, cos) = (std::f64::consts::TAU * (i % n) as f64 / n as f64).sin_cos();
            [cos, sin]
        };
        let sides: Vec<[f64; 4]> = (0..n)
            .map(|i| {
                let ([a, b], [c, d]) = (at(i), at(i + 1));
                [a, b, c, d]
            })
            .collect();
        let chained = chain(&lines(&sides), 0.05);
        assert_eq!((chained.loops.len(), chained.loops[0].len()), (1, n));
    }

    #[test]
    fn a_tail_on_a_loop_is_left_over() {
        let chained = chain(
            &lines(&[[0.0, 0.0, 4.0, 0.0], [4.0, 0.0, 0.0, 3.0], [0.0, 3.0, 0.0, 0.0], [4.0, 0.0, 9.0, 1.0]]),
            0.05,
        );
        assert_eq!((chained.loops.len(), chained.open.len()), (1, 1));
        assert_eq!((chained.loops[0].len(), chained.open[0].len()), (3, 1));
    }
}
