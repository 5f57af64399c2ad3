//! Inside corners: what the cutter can turn, and what hole to make first where it cannot.

use dropwise_geometry::{Outline, Point, Segment};

use super::flat::SLACK;
use super::tools::is_followed;
use super::{Amount, Finding, Severity, Subject};
use crate::bend::drills::{CommonSize, HoleTool};
use crate::cutplan::ShopTools;
use crate::markout::{full_circle, heading};
use crate::process::Process;
use crate::shop::Shop;
use crate::source::Source;

/// A hole that ends two cuts is at least this wide, mm, and at least as wide as the sheet is thick: smaller drills wander
/// and the wheel still overruns. Common practice, no source.
const LEAST_END_HOLE: f64 = 3.0;

/// Corners that turn by less than this are part of a curve, degrees.
const TURN: f64 = 10.0;

/// How a way of cutting deals with an inside corner.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Turning {
    /// Straight cuts only, which overrun: a hole goes first, and curves are sawn or ground.
    Straight,
    /// A blade that turns, but only in a hole.
    Blade,
    /// A narrow beam or jet: leaves half its width as a radius.
    Beam,
}

fn turning(process: Process) -> Turning {
    match process {
        Process::CutoffWheel | Process::Shear => Turning::Straight,
        Process::Bandsaw | Process::Jigsaw | Process::HandNibbler => Turning::Blade,
        Process::Plasma | Process::OxyFuel | Process::Laser | Process::Waterjet => Turning::Beam,
    }
}

pub(super) fn check(subject: &Subject<'_>, shop: &Shop) -> Vec<Finding> {
    let tools = shop.tools.for_job(subject.process).in_sheet(subject.thickness);
    let mut findings = Vec::new();
    for (ring, outline) in subject.shape.rings().enumerate() {
        if ring > 0 && full_circle(outline, 1e-3).is_some() {
            continue; // drilled or sawn whole
        }
        let is_inner = ring > 0;
        let where_is = if is_inner { super::names::hole(subject, outline) } else { "the outline".to_owned() };
        let process = match subject.process {
            Some(Process::Shear) => Some(Process::Shear),
            _ => tools.cutter(true, is_inner),
        };
        // Sides that nothing cuts are told elsewhere.
        let Some(process) = process else { continue };
        sharp(subject, &tools, process, outline, &where_is, &mut findings);
        rounded(&tools, process, outline, (&where_is, is_inner), &mut findings);
    }
    findings
}

/// Corners without a radius. Those of one ring make one finding. What it advises is what the cut plan does: it stops short of
/// the corner, and makes a hole first only where the part has a radius.
fn sharp(
    subject: &Subject<'_>,
    tools: &ShopTools,
    process: Process,
    outline: &Outline,
    where_is: &str,
    findings: &mut Vec<Finding>,
) {
    let corners = sharp_corners(outline);
    let Some(&first) = corners.first() else { return };
    let count = corners.len();
    let feature = match count {
        1 => format!("an inside corner of {where_is}"),
        _ => format!("{count} inside corners of {where_is}"),
    };
    let (severity, wanted, problem, cure) = match turning(process) {
        Turning::Beam => (
            Severity::Note,
            Amount::Length(subject.kerf / 2.0),
            format!("{} sharp; the {process} leaves half its kerf as a radius", is_or_are(count)),
            "File it square where something must fit into it".to_owned(),
        ),
        kind => {
            let least = LEAST_END_HOLE.max(subject.thickness);
            let or_round = smallest_owned(tools, least).map_or_else(String::new, |size| {
                let radius = subject.length(size.size.diameter() / 2.0);
                format!("; or draw it with a radius of {radius}, and the {size} makes it first, {}", ends(kind))
            });
            let verb = if kind == Turning::Straight { "cannot turn at all" } else { "turns only in a hole" };
            (
                Severity::Warn,
                Amount::Length(least / 2.0),
                format!("{} sharp; the {process} {verb}", is_or_are(count)),
                format!("As drawn, stop short of it and finish with a file or hacksaw{or_round}"),
            )
        }
    };
    findings.push(Finding {
        severity,
        rule: "inside corner",
        feature,
        at: Some(first),
        found: Some(Amount::Length(0.0)),
        wanted: Some(wanted),
        problem,
        cure,
        source: Source::COMMON_PRACTICE,
    });
}

fn is_or_are(count: usize) -> &'static str {
    if count == 1 { "is" } else { "are" }
}

fn ends(kind: Turning) -> &'static str {
    if kind == Turning::Straight { "so that both cuts end in the hole" } else { "so that the blade turns in the hole" }
}

/// Inside corners with a radius that no cutter follows: each radius once.
fn rounded(
    tools: &ShopTools,
    process: Process,
    outline: &Outline,
    (where_is, is_inner): (&str, bool),
    findings: &mut Vec<Finding>,
) {
    let mut radii: Vec<(f64, Point, usize)> = Vec::new();
    for segment in outline.segments() {
        // Clockwise arcs bulge into the metal.
        let Segment::Arc { arc, .. } = segment else { continue };
        if segment_turn(&segment) >= 0.0 || is_followed(tools, &segment, is_inner) {
            continue;
        }
        match radii.iter_mut().find(|(radius, ..)| (radius - arc.radius).abs() < 1e-3) {
            // Two arcs about one middle are one curve: the end of a slot, say.
            Some((_, center, _)) if center.distance(arc.center) < 1e-3 => {}
            Some((.., count)) => *count += 1,
            None => radii.push((arc.radius, arc.center, 1)),
        }
    }
    for (radius, center, count) in radii {
        // A hole saw a little under size leaves metal to file; over size takes metal off the part.
        let owned = tools.holes.for_inside_corner(radius);
        let feature = match count {
            1 => format!("an inside curve of {where_is}"),
            _ => format!("{count} inside curves of {where_is}"),
        };
        let (severity, cure) = match owned {
            Some(size) => (Severity::Note, format!("Saw it first: {size}; the straight cuts end in the hole")),
            None => {
                let near: Vec<String> =
                    tools.holes.nearest(2.0 * radius).into_iter().flatten().map(|(_, size)| size.to_string()).collect();
                let near = if near.is_empty() {
                    "no drill or hole saw is owned".to_owned()
                } else {
                    format!("nearest are the {}", near.join(" and the "))
                };
                (Severity::Warn, format!("Change the radius to a size that is owned ({near}), or saw it another way"))
            }
        };
        findings.push(Finding {
            severity,
            rule: "inside curve",
            feature,
            at: Some(center),
            found: Some(Amount::Length(radius)),
            wanted: owned.map(|size| Amount::Length(size.size.diameter() / 2.0)),
            problem: format!("cannot be followed by the {process}"),
            cure,
            source: Source::COMMON_PRACTICE,
        });
    }
}

/// The smallest drill or hole saw of at least a diameter, drills before hole saws of one size.
fn smallest_owned(tools: &ShopTools, least: f64) -> Option<CommonSize> {
    let sizes = tools.holes.sizes.iter().copied();
    let enough = sizes.filter(|size| size.size.diameter() >= least - SLACK);
    enough.min_by(|a, b| {
        let rank = |size: &CommonSize| u8::from(size.tool == HoleTool::HoleSaw);
        a.size.diameter().total_cmp(&b.size.diameter()).then(rank(a).cmp(&rank(b)))
    })
}

/// Signed turn of a side along itself; negative where it bulges into the metal.
fn segment_turn(segment: &Segment) -> f64 {
    match segment {
        Segment::Line { .. } => 0.0,
        Segment::Arc { arc, .. } => arc.sweep,
    }
}

/// Where the outline turns into the metal without a radius.
pub(super) fn sharp_corners(outline: &Outline) -> Vec<Point> {
    let sides: Vec<Segment> = outline.segments().filter(|side| side.length() > SLACK).collect();
    let mut corners = Vec::new();
    for (index, side) in sides.iter().enumerate() {
        let next = sides[(index + 1) % sides.len()];
        let (come, go) = (heading(side, true), heading(&next, false));
        let turn = come.cross(go).atan2(come.dot(go)).to_degrees();
        if turn < -TURN {
            corners.push(side.end());
        }
    }
    corners
}
