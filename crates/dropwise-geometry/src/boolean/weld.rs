//! Edges that almost coincide, made to coincide.
//!
//! Where edges lie along each other within a step or so, every crossing that a sweep rounds makes new crossings: with
//! coordinates of 40 bits the engine was seen to go on for ever. So corners nearer than [`REACH`] to each other become
//! one, and an edge that passes a corner so near is bent to it. Then edges either have pieces in common, point by
//! point, or keep a distance that rounding does not bridge.
//!
//! # Source
//! Snap rounding at the corners: J. D. Hobby, "Practical segment intersection with finite precision output",
//! Computational Geometry 13 (1999); here with a radius larger than the pixel.

use i_overlay::i_float::int::point::IntPoint;
use rustc_hash::FxHashMap;

use super::balance::Ring;

/// Corners and edges nearer than this are made to meet, in steps of the grid.
pub(super) const REACH: i64 = 64;

/// Both lists of rings, welded together. No edge moves farther than [`REACH`], twice where a corner moved too.
pub(super) fn welded(lists: [&[Ring]; 2]) -> [Vec<Ring>; 2] {
    let corners = Corners::new(lists.iter().copied().flatten().flatten());
    lists.map(|rings| rings.iter().map(|ring| corners.bent(ring)).filter(|ring| ring.len() > 2).collect())
}

/// Where each square cell has its corners.
type ByCell = FxHashMap<(i64, i64), Vec<IntPoint<i64>>>;

/// Side of a cell: so much more than the reach that a corner mostly looks into one only.
const CELL: i64 = 16 * REACH;

/// Corners that keep their distance, in tiles.
struct Corners {
    by_cell: ByCell,
    tiles: Tiles,
}

/// Corners by larger squares, about one in each.
struct Tiles {
    low: IntPoint<i64>,
    side: i64,
    columns: i64,
    rows: i64,
    points: Vec<Vec<IntPoint<i64>>>,
}

impl Corners {
    fn new<'a>(points: impl Iterator<Item = &'a IntPoint<i64>>) -> Self {
        let mut by_cell = ByCell::default();
        let mut kept = Vec::new();
        for &point in points {
            if met(&by_cell, point).is_none() {
                by_cell.entry((column(point.x), column(point.y))).or_default().push(point);
                kept.push(point);
            }
        }
        Self { by_cell, tiles: Tiles::new(&kept) }
    }

    /// A ring through the corners that it passes.
    fn bent(&self, ring: &Ring) -> Ring {
        let ends: Vec<IntPoint<i64>> = ring.iter().map(|&point| met(&self.by_cell, point).unwrap_or(point)).collect();
        let mut bent = Vec::with_capacity(ring.len());
        let mut passed = Vec::new();
        for (index, &from) in ends.iter().enumerate() {
            let to = ends[if index + 1 == ends.len() { 0 } else { index + 1 }];
            if from == to {
                continue;
            }
            bent.push(from);
            passed.clear();
            self.tiles.passed(from, to, &mut passed);
            passed.sort_by(|a: &(f64, IntPoint<i64>), b| a.0.total_cmp(&b.0));
            bent.extend(passed.iter().map(|&(_, point)| point));
        }
        bent
    }
}

/// The cells' number along either axis.
fn column(along: i64) -> i64 {
    along.div_euclid(CELL)
}

/// The nearest corner within reach, of those nearest the first.
fn met(by_cell: &ByCell, point: IntPoint<i64>) -> Option<IntPoint<i64>> {
    let cells = |along: i64| column(along - REACH)..=column(along + REACH);
    let around = cells(point.x).flat_map(|x| cells(point.y).map(move |y| (x, y)));
    let distance = |other: IntPoint<i64>| (other.x - point.x).pow(2) + (other.y - point.y).pow(2);
    around
        .filter_map(|cell| by_cell.get(&cell))
        .flatten()
        .filter(|&&other| (other.x - point.x).abs().max((other.y - point.y).abs()) <= REACH)
        .copied()
        .min_by_key(|&other| distance(other))
        .filter(|&other| distance(other) <= REACH * REACH)
}

impl Tiles {
    fn new(corners: &[IntPoint<i64>]) -> Self {
        let low = |of: fn(&IntPoint<i64>) -> i64| corners.iter().map(of).min().unwrap_or(0);
        let high = |of: fn(&IntPoint<i64>) -> i64| corners.iter().map(of).max().unwrap_or(0);
        let low_corner = IntPoint::new(low(|p| p.x), low(|p| p.y));
        let (width, height) = (high(|p| p.x) - low_corner.x, high(|p| p.y) - low_corner.y);
        // As many tiles along the longer side as make one for each corner, were they spread evenly.
        let along = (corners.len() as f64 * width.max(height).max(1) as f64 / width.min(height).max(1) as f64).sqrt();
        let side = (width.max(height) as f64 / along.clamp(1.0, 4.0 * corners.len().max(1) as f64)) as i64 + 2 * REACH;
        let (columns, rows) = (width / side + 1, height / side + 1);
        let mut tiles =
            Self { low: low_corner, side, columns, rows, points: vec![Vec::new(); (columns * rows) as usize] };
        for &corner in corners {
            let (column, row) = (tiles.column(corner.x), tiles.row(corner.y));
            tiles.points[(row * columns + column) as usize].push(corner);
        }
        tiles
    }

    fn column(&self, x: i64) -> i64 {
        ((x - self.low.x).div_euclid(self.side)).clamp(0, self.columns - 1)
    }

    fn row(&self, y: i64) -> i64 {
        ((y - self.low.y).div_euclid(self.side)).clamp(0, self.rows - 1)
    }

    /// Corners that an edge passes within reach, its ends aside, and how far along it.
    fn passed(&self, from: IntPoint<i64>, to: IntPoint<i64>, passed: &mut Vec<(f64, IntPoint<i64>)>) {
        // Corners are near the middle of the numbers compared to the digits of `f64`: differences are exact.
        let (dx, dy) = ((to.x - from.x) as f64, (to.y - from.y) as f64);
        let length = dx.hypot(dy);
        for row in self.row(from.y.min(to.y) - REACH)..=self.row(from.y.max(to.y) + REACH) {
            // Where the edge runs within this row of tiles.
            let band =
                [row * self.side - REACH, (row + 1) * self.side + REACH].map(|y| (self.low.y + y - from.y) as f64);
            let ends = if dy == 0.0 { [0.0, 1.0] } else { band.map(|y| (y / dy).clamp(0.0, 1.0)) };
            let [left, right] = [ends[0].min(ends[1]), ends[0].max(ends[1])].map(|t| from.x + (t * dx) as i64);
            let columns = self.column(left.min(right) - REACH - 1)..=self.column(left.max(right) + REACH + 1);
            for &corner in columns.flat_map(|column| &self.points[(row * self.columns + column) as usize]) {
                let (x, y) = ((corner.x - from.x) as f64, (corner.y - from.y) as f64);
                let along = (x * dx + y * dy) / length;
                let off = (x * dy - y * dx).abs() / length;
                if off <= REACH as f64 && along > 0.0 && along < length && corner != from && corner != to {
                    passed.push((along, corner));
                }
            }
        }
    }
}
