//! The areas of a sheet, derived a second time.
//!
//! Nothing here is shared with the first derivation (`figures.rs`, `leftover.rs`): no flattening, no offset, no boolean
//! operation, no shoelace formula.
//!
//! - Outlines are split into *threads*, lines and arcs that only rise or only fall. Gross and net area are the integral of
//!   x dy along them, in closed form for arcs (Green's theorem: the chord's trapezium and the segment beyond it).
//! - Leftovers have straight edges: the sum of their trapezia.
//! - The area of metal that parts and cuts take is measured by lines across the sheet. On each line the stretch within
//!   the kerf of a thread is known in closed form; stretches are united, and cut to the metal. Between heights at which
//!   threads begin or end the length found on a line changes smoothly, and three Gauss points integrate it.
//!
//! # Tolerance
//! Gross, net and leftover areas: [`EXACT`] of the sheet. Kerf and scrap: the first derivation keeps curves within 0.05 mm,
//! once in flattening and once in growing, so 0.1 mm along all curved edges, those that the kerf makes around corners
//! included; and the error of integration, six times the root of the sum of squares of what the second differences in
//! all slabs are worth. Where a sheet has more than [`MOST_SLABS`] heights at which something begins or ends, [`MERGED`] of
//! its area more.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use dropwise_geometry::{Outline, Point, Segment, Shape, Vector};

use super::Violation;
use crate::{Job, SheetFigures, SheetUse};

/// Areas known in closed form may differ by this part of the sheet's.
const EXACT: f64 = 1e-8;

/// How far the first derivation may be off along curves, mm.
const CURVES: f64 = 0.1;

/// At most so many slabs are integrated on a sheet.
const MOST_SLABS: usize = 2000;

/// What taking heights together may cost, as a part of the sheet's area: four times the height of a slab over that of the
/// sheet.
const MERGED: f64 = 4.0 / MOST_SLABS as f64;

/// A line or an arc that only rises or only falls.
#[derive(Clone, Copy, Debug)]
struct Thread {
    from: Point,
    to: Point,
    /// Centre, radius, and +1 on the right side of the centre, -1 on its left.
    arc: Option<(Point, f64, f64)>,
}

impl Thread {
    /// Lowest and highest.
    fn span(&self) -> (f64, f64) {
        (self.from.y.min(self.to.y), self.from.y.max(self.to.y))
    }

    /// +1 where it rises: metal, to the left of travel, ends there on a line from the left.
    fn sense(&self) -> f64 {
        if self.to.y > self.from.y { 1.0 } else { -1.0 }
    }

    fn x_at(&self, y: f64) -> f64 {
        match self.arc {
            Some((center, radius, side)) => {
                center.x + side * (radius * radius - (y - center.y).powi(2)).max(0.0).sqrt()
            }
            None => self.from.x + (y - self.from.y) / (self.to.y - self.from.y) * (self.to.x - self.from.x),
        }
    }

    /// The integral of x dy.
    fn area(&self) -> f64 {
        let chord = (self.from.x + self.to.x) / 2.0 * (self.to.y - self.from.y);
        let Some((_, radius, side)) = self.arc else { return chord };
        // The difference of two primitives would lose its digits where the arc is a hair of a very large circle.
        let angle = 2.0 * (self.from.distance(self.to) / (2.0 * radius)).min(1.0).asin();
        // What lies between an arc and its chord; it turns left where it rises on the right of its centre.
        chord + side * self.sense() * radius * radius / 2.0 * less_sine(angle)
    }

    /// What a line at a height shares with all that is within `reach` of the thread: one stretch or nothing.
    ///
    /// The stretches around its points join without a gap, as it rises or falls throughout. So the ends are the farthest
    /// of: those of the discs around both ends, and the points at `reach` straight off it.
    fn stretch(&self, y: f64, reach: f64) -> Option<(f64, f64)> {
        let (low, high) = self.span();
        if y < low - reach || y > high + reach {
            return None;
        }
        let mut ends = (f64::INFINITY, f64::NEG_INFINITY);
        let mut meet = |x: f64| ends = (ends.0.min(x), ends.1.max(x));
        for end in [self.from, self.to] {
            let off = y - end.y;
            if off.abs() <= reach {
                let half = (reach * reach - off * off).sqrt();
                meet(end.x - half);
                meet(end.x + half);
            }
        }
        for by in [-reach, reach] {
            match self.arc {
                Some((center, radius, side)) => {
                    let (outer, off) = (radius + by, y - center.y);
                    let foot = center.y + off * radius / outer;
                    if outer > 0.0 && off.abs() <= outer && (low..=high).contains(&foot) {
                        meet(center.x + side * (outer * outer - off * off).sqrt());
                    }
                }
                None => {
                    let along = self.to - self.from;
                    let normal = along.left() * (by / along.length());
                    let foot = y - normal.y;
                    if high > low && (low..=high).contains(&foot) {
                        meet(self.x_at(foot) + normal.x);
                    }
                }
            }
        }
        (ends.0 <= ends.1).then_some(ends)
    }
}

/// An angle less its sine; of a small one by the series, whose fourth term no longer shows.
fn less_sine(angle: f64) -> f64 {
    if angle > 0.01 {
        return angle - angle.sin();
    }
    let square = angle * angle;
    angle * square / 6.0 * (1.0 - square / 20.0 * (1.0 - square / 42.0))
}

fn threads(ring: &Outline, into: &mut Vec<Thread>) {
    for segment in ring.segments() {
        let Segment::Arc { arc, .. } = segment else {
            into.push(Thread { from: segment.start(), to: segment.end(), arc: None });
            continue;
        };
        // Where the arc is highest or lowest on its circle.
        let end = arc.start_angle + arc.sweep;
        let (low, high) = (arc.start_angle.min(end), arc.start_angle.max(end));
        let first = ((low - FRAC_PI_2) / PI).floor() as i64 + 1;
        let last = ((high - FRAC_PI_2) / PI).ceil() as i64 - 1;
        let mut angles: Vec<f64> = (first..=last).map(|turn| FRAC_PI_2 + turn as f64 * PI).collect();
        if arc.sweep < 0.0 {
            angles.reverse();
        }
        // From the start, not from the centre: that of a hair's bow lies so far away that its digits no longer tell.
        let extreme = |angle: f64| {
            let (half, middle) = ((angle - arc.start_angle) / 2.0, (angle + arc.start_angle) / 2.0);
            segment.start() + Vector::new(-middle.sin(), middle.cos()) * (2.0 * arc.radius * half.sin())
        };
        let mut from = (segment.start(), arc.start_angle);
        let stops = angles.into_iter().map(|angle| (extreme(angle), angle)).chain([(segment.end(), end)]);
        for to in stops {
            let side = if ((from.1 + to.1) / 2.0).cos() >= 0.0 { 1.0 } else { -1.0 };
            into.push(Thread { from: from.0, to: to.0, arc: Some((arc.center, arc.radius, side)) });
            from = to;
        }
    }
}

fn threads_of<'a>(shapes: impl IntoIterator<Item = &'a Shape>) -> Vec<Thread> {
    let mut found = Vec::new();
    shapes.into_iter().for_each(|shape| shape.rings().for_each(|ring| threads(ring, &mut found)));
    found
}

/// Compares the five areas of a sheet with those found here.
pub(super) fn check_areas(
    job: &Job,
    on: usize,
    sheet_use: &SheetUse,
    figures: &SheetFigures,
    violations: &mut Vec<Violation>,
) {
    let metal = threads_of([&job.sheets()[sheet_use.sheet].bought_shape(sheet_use.length)]);
    let placed: Vec<Shape> =
        sheet_use.placements.iter().map(|p| job.parts()[p.part].shape.transformed(p.position)).collect();
    let parts = threads_of(&placed);
    let sum = |threads: &[Thread]| threads.iter().map(Thread::area).sum::<f64>();
    let (gross, net) = (sum(&metal), sum(&parts));
    let leftover: f64 = figures.leftovers.iter().flat_map(|leftover| leftover.outline.rings()).map(trapezia).sum();
    let kerf = job.clearances().kerf();
    let (taken, slack) = if kerf > 0.0 { taken_area(&metal, &parts, kerf) } else { (net, 0.0) };
    let exact = EXACT * gross;
    // Where a leftover is all that remains, what chords gain beyond the truth is taken off it.
    let loose =
        exact + slack + if kerf > 0.0 { CURVES * curved(&metal, &parts, kerf) } else { CURVES * curves(&metal) };
    for (area, found, derived, tolerance) in [
        ("gross", figures.gross_area, gross, exact),
        ("net", figures.net_area, net, exact),
        ("leftover", figures.leftover_area, leftover, exact + CURVES * curves(&metal)),
        ("kerf", figures.kerf_area, taken - net, loose),
        ("other scrap", figures.other_scrap_area, gross - taken - leftover, loose),
    ] {
        // Written so that a number that is none is a violation.
        if (found - derived).abs() <= tolerance {
            continue;
        }
        violations.push(Violation::AreaOff { on, area, found, derived, tolerance });
    }
}

/// Area within a ring of straight edges.
fn trapezia(ring: &[Point]) -> f64 {
    let after = |index: usize| ring[if index + 1 == ring.len() { 0 } else { index + 1 }];
    ring.iter().enumerate().map(|(index, p)| (p.x + after(index).x) / 2.0 * (after(index).y - p.y)).sum()
}

/// Length of all arcs.
fn curves(threads: &[Thread]) -> f64 {
    let length = |thread: &Thread| thread.arc.map_or(0.0, |_| FRAC_PI_2 * thread.from.distance(thread.to));
    threads.iter().map(length).sum()
}

/// Length of all edges that the first derivation has to approximate: arcs, and those of the kerf around corners.
fn curved(metal: &[Thread], parts: &[Thread], kerf: f64) -> f64 {
    // Every thread may end in a corner; all corners of a ring together turn once or somewhat more.
    curves(metal) + 2.0 * curves(parts) + TAU * kerf * (1.0 + parts.len() as f64 / 2.0)
}

/// Area of metal within `kerf` of the parts, parts included, and how far it may be off.
fn taken_area(metal: &[Thread], parts: &[Thread], kerf: f64) -> (f64, f64) {
    let mut heights: Vec<f64> = metal.iter().flat_map(|thread| [thread.from.y, thread.to.y]).collect();
    heights.extend(parts.iter().flat_map(|t| [t.from.y, t.to.y]).flat_map(|y| [y - kerf, y, y + kerf]));
    heights.sort_by(f64::total_cmp);
    let (Some(&low), Some(&high)) = (heights.first(), heights.last()) else { return (0.0, 0.0) };
    heights.dedup_by(|next, kept| *next - *kept <= (high - low) * 1e-9);
    // Too many heights are taken together where they are nearest, which is paid for with tolerance.
    let is_merged = heights.len() > MOST_SLABS;
    if is_merged {
        let least = (high - low) / MOST_SLABS as f64;
        heights.dedup_by(|next, kept| *next - *kept <= least);
    }
    let steps = |slab: &[f64]| (1.max(((slab[1] - slab[0]) / (high - low) * 200.0).ceil() as usize), slab[0], slab[1]);
    let mut lines = Lines::new(metal, parts, kerf);
    let (mut area, mut squares) = (0.0, 0.0);
    for (count, from, to) in heights.windows(2).map(steps) {
        let height = (to - from) / count as f64;
        for step in 0..count {
            let middle = from + (step as f64 + 0.5) * height;
            // Abscissas and weights of Gauss and Legendre for three points.
            let [first, second, third] =
                [-0.6_f64.sqrt() / 2.0, 0.0, 0.6_f64.sqrt() / 2.0].map(|at| lines.taken(middle + at * height));
            area += height * (5.0 * first + 8.0 * second + 5.0 * third) / 18.0;
            squares += (height * (first - 2.0 * second + third) / 2.0).powi(2);
        }
    }
    let merged = if is_merged { MERGED * metal.iter().map(Thread::area).sum::<f64>() } else { 0.0 };
    (area, 6.0 * squares.sqrt() + merged)
}

/// Lines across a sheet, from the lowest to the highest.
struct Lines<'a> {
    /// Threads by their lowest point, the metal's apart.
    waiting: Vec<(f64, &'a Thread, bool)>,
    next: usize,
    /// Those that lines meet now.
    met: Vec<(&'a Thread, bool)>,
    kerf: f64,
    /// Where something begins (+1) or ends (-1): metal first, what is taken second.
    events: Vec<(f64, i32, i32)>,
}

impl<'a> Lines<'a> {
    fn new(metal: &'a [Thread], parts: &'a [Thread], kerf: f64) -> Self {
        let metal = metal.iter().map(|thread| (thread.span().0, thread, true));
        let mut waiting: Vec<(f64, &Thread, bool)> =
            metal.chain(parts.iter().map(|thread| (thread.span().0 - kerf, thread, false))).collect();
        waiting.sort_by(|a, b| a.0.total_cmp(&b.0));
        Self { waiting, next: 0, met: Vec::new(), kerf, events: Vec::new() }
    }

    /// Length of metal within the kerf of the parts on a line. Lines are asked for from the lowest up.
    fn taken(&mut self, y: f64) -> f64 {
        while let Some(&(low, thread, is_metal)) = self.waiting.get(self.next).filter(|waiting| waiting.0 <= y) {
            debug_assert!(low <= y);
            self.met.push((thread, is_metal));
            self.next += 1;
        }
        let kerf = self.kerf;
        self.met.retain(|(thread, is_metal)| y <= thread.span().1 + if *is_metal { 0.0 } else { kerf });
        self.events.clear();
        for &(thread, is_metal) in &self.met {
            let (low, high) = thread.span();
            if low <= y && y < high {
                let (x, by) = (thread.x_at(y), if thread.sense() > 0.0 { -1 } else { 1 });
                self.events.push(if is_metal { (x, by, 0) } else { (x, 0, by) });
            }
            if !is_metal && let Some((left, right)) = thread.stretch(y, kerf) {
                self.events.push((left, 0, 1));
                self.events.push((right, 0, -1));
            }
        }
        self.events.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (mut length, mut metal, mut taken, mut from) = (0.0, 0, 0, 0.0);
        for &(x, on_metal, on_taken) in &self.events {
            if metal > 0 && taken > 0 {
                length += x - from;
            }
            (metal, taken, from) = (metal + on_metal, taken + on_taken, x);
        }
        length
    }
}
