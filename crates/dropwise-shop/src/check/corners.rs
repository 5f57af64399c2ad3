//! Inside corners: what the cutter can turn, and what hole to make first where it cannot.

use dropwise_geometry::{Outline, Point, Segment};

use super::flat::SLACK;
use super::{Amount, Finding, Severity, Subject};
use crate::bend::drills::{CommonSize, HoleTool};
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
    let Some(process) = subject.process else { return Vec::new() };
    let mut findings = Vec::new();
    for (ring, outline) in subject.shape.rings().enumerate() {
        if ring > 0 && full_circle(outline, 1e-3).is_some() {
            continue; // drilled or sawn whole
        }
        let where_is = if ring == 0 { "the outline".to_owned() } else { super::names::hole(subject, outline) };
        sharp(subject, shop, process, outline, &where_is, &mut findings);
        if turning(process) == Turning::Straight {
            rounded(shop, process, outline, &where_is, &mut findings);
        }
    }
    findings
}

/// Corners without a radius. Those of one ring make one finding.
fn sharp(
    subject: &Subject<'_>,
    shop: &Shop,
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
            let hole = smallest_owned(shop, least).map_or_else(
                || format!("no drill or hole saw of {} or more is owned; get one", subject.length(least)),
                |size| format!("{size} first, so that {} in the hole", ends(kind)),
            );
            let verb = if kind == Turning::Straight { "cannot turn at all" } else { "turns only in a hole" };
            (
                Severity::Warn,
                Amount::Length(least / 2.0),
                format!("{} sharp; the {process} {verb}", is_or_are(count)),
                format!("Make a hole in the corner: {hole}"),
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
    if kind == Turning::Straight { "both cuts end" } else { "the blade turns" }
}

/// Inside corners with a radius, for tools that cut straight only: each radius once.
fn rounded(shop: &Shop, process: Process, outline: &Outline, where_is: &str, findings: &mut Vec<Finding>) {
    let mut radii: Vec<(f64, Point, usize)> = Vec::new();
    for segment in outline.segments() {
        // Clockwise arcs bulge into the metal.
        let Segment::Arc { arc, .. } = segment else { continue };
        if segment_turn(&segment) >= 0.0 {
            continue;
        }
        match radii.iter_mut().find(|(radius, ..)| (radius - arc.radius).abs() < 1e-3) {
            Some((.., count)) => *count += 1,
            None => radii.push((arc.radius, arc.center, 1)),
        }
    }
    for (radius, center, count) in radii {
        // A hole saw a little under size leaves metal to file; over size takes metal off the part.
        let owned = shop.tools.holes.near(2.0 * radius, 1.0, 0.2).first().copied();
        let feature = match count {
            1 => format!("an inside curve of {where_is}"),
            _ => format!("{count} inside curves of {where_is}"),
        };
        let (severity, cure) = match owned {
            Some(size) => (Severity::Note, format!("Saw it first: {size}; the straight cuts end in the hole")),
            None => {
                let nearest = nearest_owned(shop, 2.0 * radius)
                    .map_or("no drill or hole saw is owned".to_owned(), |size| {
                        format!("the nearest owned is the {size}")
                    });
                (
                    Severity::Warn,
                    format!("Change the radius to a size that is owned ({nearest}), or saw it another way"),
                )
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
fn smallest_owned(shop: &Shop, least: f64) -> Option<CommonSize> {
    let sizes = shop.tools.holes.sizes.iter().copied();
    let enough = sizes.filter(|size| size.size.diameter() >= least - SLACK);
    enough.min_by(|a, b| {
        let rank = |size: &CommonSize| u8::from(size.tool == HoleTool::HoleSaw);
        a.size.diameter().total_cmp(&b.size.diameter()).then(rank(a).cmp(&rank(b)))
    })
}

fn nearest_owned(shop: &Shop, diameter: f64) -> Option<CommonSize> {
    let apart = |size: &CommonSize| (size.size.diameter() - diameter).abs();
    shop.tools.holes.sizes.iter().copied().min_by(|a, b| apart(a).total_cmp(&apart(b)))
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
