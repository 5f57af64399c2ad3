//! What becomes of each side of each part: which tool cuts it, if it needs cutting at all.

use dropwise_geometry::{Boundary, Circle, Point, Segment, Shape};

use super::tools::ShopTools;
use crate::bend::drills::CommonSize;
use crate::markout::{Datum, HoleMethod, full_circle, heading};
use crate::process::Process;

/// A cut along one side of a part, or a piece of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cut {
    /// Index of the placement.
    pub placement: usize,
    /// Which ring of the part: 0 for the outline, then openings.
    pub ring: usize,
    /// Where it runs.
    pub side: Segment,
    /// With what; `None` when no tool owned does it.
    pub tool: Option<Process>,
    /// How.
    pub manner: Manner,
    /// At its start and at its end: what it runs into.
    pub ends: [EndOfCut; 2],
    /// Whether it is the one that sets the part free. Clamp both sides.
    pub is_release: bool,
}

/// How a side is cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Manner {
    /// Straight along the line.
    Straight,
    /// Along the curve.
    Curve,
    /// An outside curve with a tool that cuts straight only: corners taken off in flats, then ground to the line.
    FlatsThenGrind,
}

/// What a straight cut runs into.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum EndOfCut {
    /// An outside corner: the cut may run on into the waste.
    Open,
    /// A hole at an inside corner, by its index among [`super::CutPlan::corners`]: the cut ends in it.
    Corner(usize),
    /// An inside corner without a hole: stop short, finish by hand, and never cut past it.
    StopShort,
}

/// An inside corner with a radius.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InsideCorner {
    /// Index of the placement.
    pub placement: usize,
    /// Which ring of the part.
    pub ring: usize,
    /// Where the pilot drill goes.
    pub center: Point,
    /// Radius of the corner, mm.
    pub radius: f64,
    /// The hole saw or drill that makes it; `None` when none owned has its size, or when its circle or pilot would touch a
    /// part or find no metal.
    pub tool: Option<CommonSize>,
    /// Where the straight cuts must arrive: the ends of the arc.
    pub tangent_points: [Point; 2],
    /// Whether the sides there run into the arc without an angle.
    pub is_tangent: [bool; 2],
    /// Length of the arc, mm.
    pub length: f64,
}

/// A round hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoundCut {
    /// Index of the placement.
    pub placement: usize,
    /// Its circle.
    pub circle: Circle,
    /// How it is made.
    pub method: HoleMethod,
}

/// Everything that is cut on a sheet, sorted by means but not yet by order.
#[derive(Debug, Default)]
pub(super) struct Work {
    pub(super) holes: Vec<RoundCut>,
    pub(super) corners: Vec<InsideCorner>,
    pub(super) cuts: Vec<Cut>,
    /// Sides that lie on the edge of the stock and are there already, mm.
    pub(super) on_edge: f64,
    /// Sides that the shear cuts, mm.
    pub(super) sheared: f64,
}

/// Lines that stand off each other by less than this are one, mm.
const SAME_LINE: f64 = 1e-3;
/// Arcs whose centres and radii agree to this, mm, are one circle.
const SAME_CIRCLE: f64 = 1e-3;
pub(super) struct Sorter<'a> {
    pub(super) tools: &'a ShopTools,
    pub(super) stock: &'a Shape,
    pub(super) parts: &'a [Shape],
    pub(super) datum: Datum,
    /// For each placement whether the shear frees its box.
    pub(super) is_sheared: &'a [bool],
}

impl Sorter<'_> {
    pub(super) fn sort(&self) -> Work {
        let boundaries: Vec<Boundary> = self.parts.iter().map(|part| Boundary::new(part.rings())).collect();
        let mut work = Work::default();
        for (placement, part) in self.parts.iter().enumerate() {
            for (ring, outline) in part.rings().enumerate() {
                let sides: Vec<Segment> = outline.segments().filter(|side| side.length() > 0.0).collect();
                let circle = full_circle(outline, SAME_CIRCLE).filter(|_| ring > 0);
                if let Some(circle) = circle {
                    let method = HoleMethod::choose(2.0 * circle.radius, &self.tools.holes);
                    if method != HoleMethod::ToTheLine {
                        work.holes.push(RoundCut { placement, circle, method });
                        continue;
                    }
                }
                self.ring(placement, ring, &sides, &boundaries, &mut work);
            }
        }
        work
    }

    fn ring(&self, placement: usize, ring: usize, sides: &[Segment], boundaries: &[Boundary], work: &mut Work) {
        let count = sides.len();
        // Index of the inside corner that each side is, where it has a hole.
        let mut holes: Vec<Option<usize>> = vec![None; count];
        let mut is_done = vec![false; count];
        for (i, side) in sides.iter().enumerate() {
            let Segment::Arc { arc, .. } = side else { continue };
            // Metal lies to the left: an arc that turns right has its centre in the waste.
            if arc.sweep > 0.0 || full_turn(sides) {
                continue;
            }
            let (before, after) = (&sides[(i + count - 1) % count], &sides[(i + 1) % count]);
            let circle = Circle { center: arc.center, radius: arc.radius };
            let tool = self.corner_tool(circle, boundaries);
            is_done[i] = tool.is_some();
            if is_done[i] {
                holes[i] = Some(work.corners.len());
            }
            work.corners.push(InsideCorner {
                placement,
                ring,
                center: arc.center,
                radius: arc.radius,
                tool,
                tangent_points: [side.start(), side.end()],
                is_tangent: [!is_angle(before, side), !is_angle(side, after)],
                length: side.length(),
            });
        }
        for (i, side) in sides.iter().enumerate().filter(|&(i, _)| !is_done[i]) {
            let (before, after) = ((i + count - 1) % count, (i + 1) % count);
            let end = |other: usize, corner: [&Segment; 2]| match holes[other] {
                Some(hole) => EndOfCut::Corner(hole),
                None if is_inside_angle(corner) => EndOfCut::StopShort,
                None => EndOfCut::Open,
            };
            let ends = [end(before, [&sides[before], side]), end(after, [side, &sides[after]])];
            self.side(placement, ring, side, ends, work);
        }
    }

    fn side(&self, placement: usize, ring: usize, side: &Segment, ends: [EndOfCut; 2], work: &mut Work) {
        let is_inner = ring > 0;
        let Segment::Line { start, end } = side else {
            let (tool, manner) = self.tools.side(side, is_inner);
            work.cuts.push(Cut { placement, ring, side: *side, tool, manner, ends, is_release: false });
            return;
        };
        let length = side.length();
        let (tool, manner) = self.tools.side(side, is_inner);
        let pieces = self.off_the_edge(*start, *end);
        let left: f64 = pieces.iter().map(|(from, to)| (to - from) * length).sum();
        work.on_edge += length - left;
        if !is_inner && self.is_sheared[placement] && self.is_on_box(placement, *start, *end) {
            work.sheared += left;
            return;
        }
        for (from, to) in pieces {
            let side = Segment::Line { start: start.lerp(*end, from), end: start.lerp(*end, to) };
            let ends =
                [if from > 0.0 { EndOfCut::Open } else { ends[0] }, if to < 1.0 { EndOfCut::Open } else { ends[1] }];
            work.cuts.push(Cut { placement, ring, side, tool, manner, ends, is_release: false });
        }
    }

    /// The shares of a line that do not lie on an edge of the stock.
    fn off_the_edge(&self, start: Point, end: Point) -> Vec<(f64, f64)> {
        let along = end - start;
        let length = along.length();
        let mut covered: Vec<(f64, f64)> = Vec::new();
        for edge in self.stock.rings().flat_map(|ring| ring.segments()) {
            let Segment::Line { start: a, end: b } = edge else { continue };
            let stands_off = |point: Point| (point - start).cross(along).abs() / length > SAME_LINE;
            if stands_off(a) || stands_off(b) {
                continue;
            }
            let share = |point: Point| ((point - start).dot(along) / (length * length)).clamp(0.0, 1.0);
            let (from, to) = (share(a).min(share(b)), share(a).max(share(b)));
            if (to - from) * length > SAME_LINE {
                covered.push((from, to));
            }
        }
        covered.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (mut left, mut at) = (Vec::new(), 0.0_f64);
        for (from, to) in covered {
            if (from - at) * length > SAME_LINE {
                left.push((at, from));
            }
            at = at.max(to);
        }
        if (1.0 - at) * length > SAME_LINE {
            left.push((at, 1.0));
        }
        left
    }

    /// Whether a line lies on the box around its part, square to the datum: the shear has cut there.
    fn is_on_box(&self, placement: usize, start: Point, end: Point) -> bool {
        let around = super::box_around(&self.parts[placement], &self.datum);
        let (a, b) = (self.datum.distances(start), self.datum.distances(end));
        (0..2).any(|axis| {
            [around.from[axis], around.to[axis]]
                .iter()
                .any(|at| (a[axis] - at).abs() <= SAME_LINE && (b[axis] - at).abs() <= SAME_LINE)
        })
    }

    /// The hole saw or drill for an inside corner, if its circle keeps off every part and its pilot finds metal.
    fn corner_tool(&self, circle: Circle, boundaries: &[Boundary]) -> Option<CommonSize> {
        let tool = self.tools.holes.for_inside_corner(circle.radius)?;
        let reach = (tool.size.diameter() / 2.0).min(circle.radius) - SAME_LINE;
        let keeps_off = |(part, boundary): (&Shape, &Boundary)| {
            let is_near = part.bounds().expanded(reach).contains(circle.center);
            !is_near || (boundary.distance_to_point(circle.center) >= reach && !part.contains(circle.center))
        };
        let is_clear = self.parts.iter().zip(boundaries).all(keeps_off);
        (is_clear && self.stock.contains(circle.center)).then_some(tool)
    }
}

/// Whether all sides are arcs about one centre.
fn full_turn(sides: &[Segment]) -> bool {
    let outline = sides.iter().map(|side| match side {
        Segment::Line { start, .. } => dropwise_geometry::Vertex::line(*start),
        Segment::Arc { start, arc, .. } => dropwise_geometry::Vertex::arc(*start, (arc.sweep / 4.0).tan()),
    });
    full_circle(&dropwise_geometry::Outline::new(outline.collect()), SAME_CIRCLE).is_some()
}

/// Sine of an angle that no saw notices.
const NO_ANGLE: f64 = 1e-3;

fn is_angle(arriving: &Segment, leaving: &Segment) -> bool {
    let (from, to) = (heading(arriving, true), heading(leaving, false));
    from.cross(to).abs() > NO_ANGLE || from.dot(to) < 0.0
}

/// Whether the metal at a corner fills more than half a turn: a cut that runs on would go into the part.
fn is_inside_angle([arriving, leaving]: [&Segment; 2]) -> bool {
    heading(arriving, true).cross(heading(leaving, false)) < -NO_ANGLE
}
