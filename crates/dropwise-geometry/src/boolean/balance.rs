//! The sweep on integers, and the proof by areas that it went well.
//!
//! # How areas are held against each other
//! Every operation is run twice: once as asked, and once as its counterpart on the plane turned by a quarter, so that
//! the sweep meets all edges in another order and by another strategy. Both together must make up a region whose area
//! is known without any sweep, by the shoelace formula in exact integers:
//!
//! | asked | counterpart | together |
//! |---|---|---|
//! | difference of A and B | intersection of A and B | A |
//! | intersection of A and B | difference of A and B | A |
//! | union of A | a box around A less A | the box |
//!
//! The last is "union and intersection make up the sum of both" for any number of polygons that overlap in any way.
//! Where A overlaps itself its area is not the sum of its rings, and it is united first (balanced too).
//!
//! One overlay can be asked for several results at the price of one. They would balance whatever happened: each is a
//! choice among the same labelled edges, and the areas of the choices add up edge by edge for right labels and wrong
//! ones alike. Hence the second run, which shares nothing with the first.
//!
//! # Bound
//! A region whose edges, P steps long in all, move by no more than r gains or loses no more than r P.
//!
//! Operands are welded first (`weld.rs`): corners move by up to 64 steps and edges by as much again, r = 128. Signed
//! areas before and after are held against each other, for each operand.
//!
//! Operands then lie on the grid exactly, so what remains is where edges cross. There both are bent to a point of the
//! grid, in each of the two runs: half a step's diagonal (0.71) for rounding, and the radius within which the engine
//! pulls ends onto edges, which is one step and grows by √2 in each further pass; eight passes make 16, so 2 r = 32.
//!
//! On a sheet of 4 m with 100 m of edges the two are 0.05 and 0.012 mm². `benches/src/bin/booleans.rs` counts
//! wrong results and refusals on edges that coincide; `benches/RESULTS.md` has its figures.
//!
//! # Grids
//! The first grid has a power of two for its step and the origin for a point, so that what lies on a coarser one lies
//! on it too, and a chain of operations rounds a point once. Where areas do not balance, shifted grids of other steps
//! are tried; at last an error is returned, never a region that may be wrong.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{IntOverlayOptions, Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::core::solver::{Precision, Solver, Strategy};
use i_overlay::i_float::int::point::IntPoint;
use thiserror::Error;

use super::weld::{REACH, welded};
use crate::polygon::signed_area;
use crate::{Bounds, Point, Polygon};

/// A boolean operation whose areas did not balance on any grid: a fault of ours, or of the sweep beneath.
#[derive(Clone, Debug, PartialEq, Error)]
#[error(
    "the {operation} of {polygons} polygons cannot be trusted: its area is off by {off} mm², {allowed} mm² would be \
     rounding"
)]
pub struct BooleanError {
    /// Which operation.
    pub operation: &'static str,
    /// How many polygons went in.
    pub polygons: usize,
    /// By how much areas miss each other on the last grid tried, mm².
    pub off: f64,
    /// The most that rounding explains, mm².
    pub allowed: f64,
}

/// What is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Operation {
    Union,
    Intersection,
    Difference,
}

impl Operation {
    fn name(self) -> &'static str {
        match self {
            Self::Union => "union",
            Self::Intersection => "intersection",
            Self::Difference => "difference",
        }
    }
}

/// Steps of the grid along the larger extent, as a power of two.
const GRID_BITS: i32 = 40;

/// Coordinates stay below this power of two: the engine allows 62, and the digits of `f64` end at 53.
const COORDINATE_BITS: i32 = 56;

/// Pieces thinner than this part of the extent are left out.
const THINNEST: f64 = 1.0 / (1_u64 << 27) as f64;

/// How far an edge may move between operands and result, in steps, for both runs together. See the module.
const MOST_MOVED: f64 = 32.0;

/// How far an edge may move when operands are welded, in steps.
const MOST_WELDED: f64 = 2.0 * REACH as f64;

/// The grids tried one after another: by how much the step is stretched, and where the origin falls, in steps.
const GRIDS: [(f64, f64, f64); 4] = [(1.0, 0.0, 0.0), (1.37, 0.31, 0.77), (0.83, 0.59, 0.13), (2.19, 0.17, 0.43)];

/// Coordinates beyond this are taken for rubbish, before squares of them overflow.
const ABSURD: f64 = 1e100;

pub(super) type Ring = Vec<IntPoint<i64>>;

/// The result of an operation, once its areas balance.
pub(super) fn balanced(
    subject: &[Polygon],
    clip: &[Polygon],
    operation: Operation,
) -> Result<Vec<Polygon>, BooleanError> {
    // NaN fails the comparison too.
    let is_sane = |polygon: &&Polygon| polygon.rings().flatten().all(|p| p.x.abs() < ABSURD && p.y.abs() < ABSURD);
    let subject: Vec<&Polygon> = subject.iter().filter(is_sane).collect();
    let clip: Vec<&Polygon> = clip.iter().filter(is_sane).collect();
    let all = || subject.iter().chain(&clip);
    let bounds = Bounds::of(all().flat_map(|polygon| polygon.rings().flatten().copied()));
    let extent = bounds.width().max(bounds.height());
    let is_nothing = subject.is_empty() || (operation == Operation::Intersection && clip.is_empty());
    if is_nothing || extent <= 0.0 {
        return Ok(Vec::new());
    }
    let perimeter: f64 = all().flat_map(|polygon| polygon.rings()).map(length_around).sum();
    let mut imbalance = 0.0;
    for (stretch, x, y) in GRIDS {
        let grid = Grid::new(bounds, stretch, (x, y));
        let lists = [grid.rings(&subject), grid.rings(&clip)];
        match result([&lists[0], &lists[1]], operation, perimeter * grid.scale) {
            Ok(shapes) => {
                return Ok(shapes.iter().filter_map(|shape| grid.polygon(shape, THINNEST * extent)).collect());
            }
            Err(off) => imbalance = off / (grid.scale * grid.scale),
        }
    }
    let allowed = MOST_WELDED.max(MOST_MOVED) * perimeter / Grid::new(bounds, 1.0, (0.0, 0.0)).scale;
    Err(BooleanError { operation: operation.name(), polygons: subject.len() + clip.len(), off: imbalance, allowed })
}

/// One try on one grid; the error is by how much areas miss each other, in square steps.
fn result(lists: [&[Ring]; 2], operation: Operation, perimeter: f64) -> Result<Vec<Vec<Ring>>, f64> {
    let [a, b] = welded(lists);
    for (before, after) in lists.into_iter().zip([&a, &b]) {
        let off = (twice_area(before) - twice_area(after)).unsigned_abs() as f64 / 2.0;
        if off > MOST_WELDED * perimeter {
            return Err(off);
        }
    }
    let (a, b, allowed) = (a.as_slice(), b.as_slice(), MOST_MOVED * perimeter);
    if operation == Operation::Union || b.is_empty() {
        return united(a, allowed);
    }
    let (asked, counterpart) = match operation {
        Operation::Intersection => (OverlayRule::Intersect, OverlayRule::Difference),
        _ => (OverlayRule::Difference, OverlayRule::Intersect),
    };
    let tried = |a: &[Ring]| {
        let found = sweep(a, b, asked, Way::Upright);
        let rest = sweep(a, b, counterpart, Way::Turned);
        balance(found, &rest, twice_area(a), allowed)
    };
    tried(a).or_else(|_| {
        // It may be that A overlaps itself.
        let clean: Vec<Ring> = united(a, allowed)?.into_iter().flatten().collect();
        tried(&clean)
    })
}

fn united(a: &[Ring], allowed: f64) -> Result<Vec<Vec<Ring>>, f64> {
    let frame = [frame(a)];
    let found = sweep(a, &[], OverlayRule::Subject, Way::Upright);
    let rest = sweep(&frame, a, OverlayRule::Difference, Way::Turned);
    balance(found, &rest, twice_area(&frame), allowed)
}

/// The shapes found, if they and the rest make up the whole.
fn balance(found: Vec<Vec<Ring>>, rest: &[Vec<Ring>], twice_whole: i128, allowed: f64) -> Result<Vec<Vec<Ring>>, f64> {
    let area = |shapes: &[Vec<Ring>]| shapes.iter().map(|shape| twice_area(shape)).sum::<i128>();
    let off = (area(&found) + area(rest) - twice_whole).unsigned_abs() as f64 / 2.0;
    if off <= allowed { Ok(found) } else { Err(off) }
}

/// Which way the plane lies while it is swept.
#[derive(Clone, Copy, PartialEq)]
enum Way {
    Upright,
    /// Turned by a quarter.
    Turned,
}

fn sweep(a: &[Ring], b: &[Ring], rule: OverlayRule, way: Way) -> Vec<Vec<Ring>> {
    let edges: usize = a.iter().chain(b).map(Vec::len).sum();
    // The turned sweep keeps its edges in the other kind of table, unless that would be slow.
    let strategy = match way {
        Way::Turned if edges < FEW_EDGES => Strategy::Tree,
        _ => Strategy::Auto,
    };
    let solver = Solver { strategy, precision: Precision::HIGH, multithreading: None };
    let mut overlay = Overlay::<i64>::new_custom(edges, IntOverlayOptions::ogc(), solver);
    for (rings, role) in [(a, ShapeType::Subject), (b, ShapeType::Clip)] {
        for ring in rings {
            match way {
                Way::Upright => overlay.add_contour(ring, role),
                Way::Turned => overlay.add_path_iter(ring.iter().map(|p| IntPoint::new(-p.y, p.x)), role),
            }
        }
    }
    overlay.overlay(rule, FillRule::Positive)
}

/// Below this many edges the engine sweeps over lists, above over trees.
const FEW_EDGES: usize = 2000;

/// Twice the area within rings, holes counted off, exactly.
fn twice_area(rings: &[Ring]) -> i128 {
    let of_ring = |ring: &Ring| {
        let Some(&origin) = ring.first() else { return 0 };
        let from_origin = |p: &IntPoint<i64>| (i128::from(p.x - origin.x), i128::from(p.y - origin.y));
        ring.windows(2)
            .map(|edge| {
                let ((ax, ay), (bx, by)) = (from_origin(&edge[0]), from_origin(&edge[1]));
                ax * by - ay * bx
            })
            .sum::<i128>()
    };
    rings.iter().map(of_ring).sum()
}

/// A box that no ring touches.
fn frame(rings: &[Ring]) -> Ring {
    let points = || rings.iter().flatten();
    let low = |of: fn(&IntPoint<i64>) -> i64| points().map(of).min().unwrap_or(0) - FRAME;
    let high = |of: fn(&IntPoint<i64>) -> i64| points().map(of).max().unwrap_or(0) + FRAME;
    let (left, right, low, high) = (low(|p| p.x), high(|p| p.x), low(|p| p.y), high(|p| p.y));
    [(left, low), (right, low), (right, high), (left, high)].map(|(x, y)| IntPoint::new(x, y)).to_vec()
}

/// How far the box stays off, in steps.
const FRAME: i64 = 1 << 20;

/// Points of the plane as integers.
struct Grid {
    /// Steps per millimetre.
    scale: f64,
    shift: (f64, f64),
}

impl Grid {
    fn new(bounds: Bounds, stretch: f64, shift: (f64, f64)) -> Self {
        let extent = bounds.width().max(bounds.height());
        let farthest = [bounds.min.x, bounds.min.y, bounds.max.x, bounds.max.y]
            .into_iter()
            .fold(0.0_f64, |far, value| far.max(value.abs()));
        let bits = |length: f64| length.log2().ceil() as i32;
        let power = (GRID_BITS - bits(extent)).min(COORDINATE_BITS - bits(farthest));
        // Lengths so small that their inverse overflows are of no interest.
        Self { scale: 2.0_f64.powi(power.clamp(-900, 900)) / stretch, shift }
    }

    /// Exteriors counter-clockwise and holes clockwise, as the winding rule needs.
    fn rings(&self, polygons: &[&Polygon]) -> Vec<Ring> {
        let on_grid = |p: &Point| {
            let (x, y) = (p.x * self.scale + self.shift.0, p.y * self.scale + self.shift.1);
            IntPoint::new(x.round() as i64, y.round() as i64)
        };
        let ring = |points: &[Point], is_hole: bool| -> Ring {
            let area = signed_area(points);
            let runs_wrong_way = if is_hole { area > 0.0 } else { area < 0.0 };
            if runs_wrong_way {
                points.iter().rev().map(on_grid).collect()
            } else {
                points.iter().map(on_grid).collect()
            }
        };
        polygons
            .iter()
            .flat_map(|polygon| polygon.rings().enumerate().map(|(index, points)| ring(points, index > 0)))
            .filter(|ring| ring.len() > 2)
            .collect()
    }

    /// `None` for a polygon thinner than `thinnest`; such holes are left out.
    fn polygon(&self, shape: &[Ring], thinnest: f64) -> Option<Polygon> {
        let off_grid = |p: &IntPoint<i64>| {
            Point::new((p.x as f64 - self.shift.0) / self.scale, (p.y as f64 - self.shift.1) / self.scale)
        };
        let ring = |ring: &Ring| {
            let points: Vec<Point> = ring.iter().map(off_grid).collect();
            // A strip of width w and length l has the area w l and the perimeter 2 l.
            (2.0 * signed_area(&points).abs() > thinnest * length_around(&points)).then_some(points)
        };
        let (exterior, holes) = shape.split_first()?;
        Some(Polygon { exterior: ring(exterior)?, holes: holes.iter().filter_map(ring).collect() })
    }
}

fn length_around(points: &[Point]) -> f64 {
    (0..points.len()).map(|i| points[i].distance(points[if i + 1 == points.len() { 0 } else { i + 1 }])).sum()
}
