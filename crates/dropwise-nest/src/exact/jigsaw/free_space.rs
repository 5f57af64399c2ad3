//! What is still free of a sheet, as the directed sides around it.

use std::f64::consts::{PI, TAU};

use dropwise_geometry::{Point, Vector};

use super::tile::Laid;

/// A stretch of the edge of the free space, which lies to its left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stretch {
    pub(crate) start: Point,
    pub(crate) end: Point,
    /// Direction, length one.
    pub(crate) along: Vector,
    pub(crate) length: f64,
}

impl Stretch {
    fn new(start: Point, end: Point) -> Option<Self> {
        let length = start.distance(end);
        (length > 0.0).then(|| Self { start, end, along: (end - start) / length, length })
    }

    /// Distance of a point to the left of the line.
    #[inline]
    fn offside(&self, point: Point) -> f64 {
        self.along.cross(point - self.start)
    }

    /// How far along the line a point stands.
    #[inline]
    fn station(&self, point: Point) -> f64 {
        self.along.dot(point - self.start)
    }

    /// Whether a point stands on it, not at an end.
    #[inline]
    fn has_inside(&self, point: Point, tolerance: f64) -> bool {
        let station = self.station(point);
        station > tolerance && station < self.length - tolerance && self.offside(point).abs() <= tolerance
    }

    /// The stations of `other` between which the two run side by side in the same direction, if they do.
    #[inline]
    fn shared(&self, other: &Self, tolerance: f64) -> Option<(f64, f64)> {
        if self.along.dot(other.along) < 0.9 {
            return None;
        }
        // Ends of the shorter against the line of the longer: directions of short stretches are the least sure.
        let (long, short) = if self.length >= other.length { (self, other) } else { (other, self) };
        if long.offside(short.start).abs() > tolerance || long.offside(short.end).abs() > tolerance {
            return None;
        }
        let low = other.station(self.start).max(0.0);
        let high = other.station(self.end).min(other.length);
        (high - low > tolerance).then_some((low, high))
    }
}

/// A corner of the free space.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Corner {
    pub(crate) at: Point,
    /// The stretches that end and start in it.
    pub(crate) into: usize,
    pub(crate) out: usize,
    /// Angle of free space between them, radians.
    pub(crate) gap: f64,
}

/// The free space of one sheet.
#[derive(Clone, Debug, Default)]
pub(crate) struct FreeSpace {
    pub(crate) stretches: Vec<Stretch>,
    /// Corner at which each stretch starts, and at which it ends; indices into the list of corners.
    pub(crate) corners: Vec<Corner>,
    /// Free angle at the start and at the end of each stretch.
    pub(crate) gaps: Vec<(f64, f64)>,
}

impl FreeSpace {
    /// The space within rings that have it on their left: outline counter-clockwise, holes clockwise.
    pub(crate) fn new<'a>(rings: impl Iterator<Item = &'a [Point]>) -> Self {
        let mut space = Self::default();
        for ring in rings {
            for (i, &start) in ring.iter().enumerate() {
                space.stretches.extend(Stretch::new(start, ring[(i + 1) % ring.len()]));
            }
        }
        space.find_corners();
        space
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.stretches.is_empty()
    }

    /// Area, by the surveyor's formula.
    pub(crate) fn area(&self) -> f64 {
        let Some(first) = self.stretches.first() else { return 0.0 };
        let origin = first.start;
        self.stretches.iter().map(|s| (s.start - origin).cross(s.end - origin)).sum::<f64>() / 2.0
    }

    pub(crate) fn copy_from(&mut self, other: &Self) {
        self.stretches.clone_from(&other.stretches);
        self.corners.clone_from(&other.corners);
        self.gaps.clone_from(&other.gaps);
    }

    /// Takes away what a tile covers, which must lie within the free space. Points within the tolerance of one another
    /// become one, so that neither gaps nor overlaps creep in.
    pub(crate) fn take(&mut self, laid: &Laid, tolerance: f64) {
        let old_count = self.stretches.len();
        let snap = |point: Point| {
            let near =
                |s: &&Stretch| (s.start.x - point.x).abs() <= tolerance && (s.start.y - point.y).abs() <= tolerance;
            self.stretches[..old_count].iter().find(near).map_or(point, |s| s.start)
        };
        let points: Vec<Point> = laid.points.iter().map(|&p| snap(p)).collect();
        let mut bare: Vec<Stretch> = Vec::with_capacity(points.len());
        for pair in points.windows(2) {
            if let Some(edge) = Stretch::new(pair[0], pair[1]) {
                self.cancel(edge, tolerance, &mut bare);
            }
        }
        self.split_at(&points, tolerance);
        let old: Vec<Point> = self.stretches.iter().flat_map(|s| [s.start, s.end]).collect();
        let new_start = self.stretches.len();
        // Seen from the free space the tile's edge runs the other way.
        self.stretches.extend(bare.iter().filter_map(|s| Stretch::new(s.end, s.start)));
        let mut index = new_start;
        while index < self.stretches.len() {
            let inside = old.iter().copied().find(|&p| self.stretches[index].has_inside(p, tolerance));
            if let Some(point) = inside {
                self.divide(index, point);
            } else {
                index += 1;
            }
        }
        self.join_straight(tolerance);
        self.find_corners();
    }

    /// Removes what an edge of a tile shares with the stretches; the rest of the edge goes to `bare`.
    fn cancel(&mut self, edge: Stretch, tolerance: f64, bare: &mut Vec<Stretch>) {
        // What of the edge is not yet covered, as stretches along it.
        let mut open = vec![edge];
        let mut index = 0;
        while index < self.stretches.len() {
            let stretch = self.stretches[index];
            let Some((low, high)) = stretch.shared(&edge, tolerance) else {
                index += 1;
                continue;
            };
            let from = if low <= tolerance { edge.start } else { stretch.start };
            let to = if high >= edge.length - tolerance { edge.end } else { stretch.end };
            self.stretches.swap_remove(index);
            if stretch.station(from) > tolerance {
                self.stretches.extend(Stretch::new(stretch.start, from));
            }
            if stretch.station(to) < stretch.length - tolerance {
                self.stretches.extend(Stretch::new(to, stretch.end));
            }
            let (low, high) = (edge.station(from), edge.station(to));
            let mut rest = Vec::with_capacity(open.len() + 1);
            for piece in open.drain(..) {
                let (start, end) = (edge.station(piece.start), edge.station(piece.end));
                if end <= low + tolerance || start >= high - tolerance {
                    rest.push(piece);
                    continue;
                }
                if start < low - tolerance {
                    rest.extend(Stretch::new(piece.start, from));
                }
                if end > high + tolerance {
                    rest.extend(Stretch::new(to, piece.end));
                }
            }
            open = rest;
        }
        bare.append(&mut open);
    }

    /// Divides stretches at points that stand on them.
    fn split_at(&mut self, points: &[Point], tolerance: f64) {
        for &point in points {
            let mut index = 0;
            while index < self.stretches.len() {
                if self.stretches[index].has_inside(point, tolerance) {
                    self.divide(index, point);
                }
                index += 1;
            }
        }
    }

    fn divide(&mut self, index: usize, at: Point) {
        let stretch = self.stretches[index];
        if let (Some(first), Some(second)) = (Stretch::new(stretch.start, at), Stretch::new(at, stretch.end)) {
            self.stretches[index] = first;
            self.stretches.push(second);
        }
    }

    /// Pairs the stretches that meet in a point: each that starts there with the next one, counter-clockwise, that ends
    /// there.
    fn find_corners(&mut self) {
        self.corners.clear();
        self.gaps.clear();
        self.gaps.resize(self.stretches.len(), (TAU, TAU));
        for (out, starting) in self.stretches.iter().enumerate() {
            let mut best: Option<(f64, usize)> = None;
            for (into, ending) in self.stretches.iter().enumerate() {
                if ending.end != starting.start {
                    continue;
                }
                let back = -ending.along;
                let angle = starting.along.cross(back).atan2(starting.along.dot(back));
                // A hair below zero is a hair, not a full turn.
                let gap = if angle > -1e-9 { angle.max(0.0) } else { angle + TAU };
                if best.is_none_or(|(least, _)| gap < least) {
                    best = Some((gap, into));
                }
            }
            if let Some((gap, into)) = best {
                self.corners.push(Corner { at: starting.start, into, out, gap });
                self.gaps[out].0 = gap;
                self.gaps[into].1 = gap;
            }
        }
    }

    /// Makes one stretch of two that run straight on where nothing else meets.
    fn join_straight(&mut self, tolerance: f64) {
        let mut index = 0;
        while index < self.stretches.len() {
            let stretch = self.stretches[index];
            let mut starting = (0..self.stretches.len()).filter(|&k| self.stretches[k].start == stretch.end);
            let (Some(next), None) = (starting.next(), starting.next()) else {
                index += 1;
                continue;
            };
            let other = self.stretches[next];
            let is_straight = next != index
                && stretch.along.dot(other.along) > 0.0
                && Stretch::new(stretch.start, other.end).is_some_and(|s| s.offside(stretch.end).abs() <= tolerance);
            match Stretch::new(stretch.start, other.end) {
                Some(joined) if is_straight => {
                    self.stretches[index] = joined;
                    self.stretches.swap_remove(next);
                    // What was swapped may be the one just joined; looking again does no harm.
                    index = index.min(next);
                }
                _ => index += 1,
            }
        }
    }

    /// Whether a laid tile stays within the free space, given that it does so near one of its corners.
    #[inline]
    pub(crate) fn holds(&self, laid: &Laid) -> bool {
        let Some(bounds) = laid.bounds else { return false };
        for stretch in &self.stretches {
            let (a, b) = (stretch.start, stretch.end);
            let is_clear = (a.x.max(b.x) <= bounds.min.x)
                | (a.x.min(b.x) >= bounds.max.x)
                | (a.y.max(b.y) <= bounds.min.y)
                | (a.y.min(b.y) >= bounds.max.y);
            if is_clear {
                continue;
            }
            if laid.inner.windows(2).any(|edge| cross(a, b, edge[0], edge[1])) {
                return false;
            }
            // Rings that lie in the metal as a whole have no crossing edges.
            let is_within = a.x > bounds.min.x
                && a.x < bounds.max.x
                && a.y > bounds.min.y
                && a.y < bounds.max.y
                && is_in_rings(laid, a);
            if is_within {
                return false;
            }
        }
        true
    }

    /// How much of a laid tile's outline runs along the edge of the free space.
    pub(crate) fn contact(&self, laid: &Laid, tolerance: f64) -> f64 {
        let edges = laid.points.windows(2).filter_map(|pair| Stretch::new(pair[0], pair[1]));
        edges
            .flat_map(|edge| self.stretches.iter().filter_map(move |stretch| stretch.shared(&edge, tolerance)))
            .map(|(low, high)| high - low)
            .sum()
    }
}

/// Whether two edges cross in a point inside both.
#[inline]
fn cross(a: Point, b: Point, c: Point, d: Point) -> bool {
    let (ab, cd) = (b - a, d - c);
    let (c_side, d_side) = (ab.cross(c - a), ab.cross(d - a));
    if c_side * d_side >= 0.0 {
        return false;
    }
    cd.cross(a - c) * cd.cross(b - c) < 0.0
}

/// Whether a point lies in the metal of a laid tile, a hair off its edge.
fn is_in_rings(laid: &Laid, point: Point) -> bool {
    let mut is_inside = false;
    for edge in laid.inner.windows(2) {
        let (p, q) = (edge[0], edge[1]);
        if (p.y > point.y) != (q.y > point.y) && point.x < (q.x - p.x) * (point.y - p.y) / (q.y - p.y) + p.x {
            is_inside = !is_inside;
        }
    }
    is_inside
}

/// Whether a free angle is a corner: less than straight.
#[inline]
pub(crate) fn is_corner(gap: f64, tolerance: f64) -> bool {
    gap < PI - tolerance
}
