//! Holes against edges, against one another, against the cutter, and against what is done to them.

use dropwise_geometry::{Boundary, Outline, Point};

use super::flat::SLACK;
use super::{Amount, Finding, HoleWork, Severity, Subject, WorkedHole, names};
use crate::markout::full_circle;
use crate::process::Process;
use crate::shop::{FlaringDie, Shop};
use crate::source::Source;

const GUIDE: Source = Source::confirmed("Sheet Metal Design Guidelines 98-053007");
const LASER: Source = Source::confirmed("Laser cutting design rules");
const PLASMA: Source = Source::confirmed("Plasma cutting design table");
const COUNTERSINKS: Source = Source::confirmed("Sheet metal design guidelines");
const FLARES: Source = Source::from_memory("spacing of flared holes");

/// Holes nearer to an edge than this many thicknesses warn.
const TO_EDGE: f64 = 1.0;
/// Holes nearer to one another than this many thicknesses warn.
const TO_HOLE: f64 = 1.2;
/// The same, cut with plasma.
const TO_HOLE_PLASMA: f64 = 1.5;
/// How far a hole may differ from what a flaring die is for, mm: less, more. Common practice, no source.
///
/// A hole cut to the size that the die is sold by is right as well: it is less by the die's oversize.
const FLARE_MISS: (f64, f64) = (FlaringDie::OVERSIZE, 1.6);

/// How far the flare told may differ from the one its die makes, mm. Common practice, no source.
const FLARE_OUTSIDE_MISS: f64 = 1.6;

/// A countersink takes no more than this share of sheet under [`THIN_SHEET`].
const COUNTERSINK_SHARE: f64 = 2.0 / 3.0;
/// The rule of [`COUNTERSINK_SHARE`] is for sheet under this, mm.
const THIN_SHEET: f64 = 3.0;
const COUNTERSINK_SHARE_SOURCE: Source = Source::confirmed("Contract maker's table of 12 DFM rules");
/// Less land than this share of the thickness under the cone is a knife edge. Common practice, no source.
const KNIFE_EDGE: f64 = 0.1;
const KNIFE_EDGE_SOURCE: Source = Source::confirmed("AC 65-15A ch. 5: sheet thicker than the head");

/// Threads that hold a screw: fewer strip. Common practice, no source.
const LEAST_THREADS: f64 = 3.0;

/// A flare takes the distances of a dimple to a hole: so many thicknesses and its radius; and is no deeper than this share of
/// its hole.
const DIMPLE_TO_HOLE: f64 = 3.0;
const DIMPLE_DEPTH: f64 = 0.5;
const DIMPLES: Source = Source::confirmed("Sheet metal design guidelines");

pub(super) fn check(subject: &Subject<'_>, shop: &Shop) -> Vec<Finding> {
    let mut findings = Vec::new();
    let holes: Vec<Boundary> = subject.shape.holes().iter().map(|hole| Boundary::new([hole])).collect();
    let edge = Boundary::new([subject.shape.exterior()]);
    edges(subject, &holes, &edge, &mut findings);
    pairs(subject, &holes, &mut findings);
    sizes(subject, shop, &mut findings);
    for (index, hole) in subject.worked_holes.iter().enumerate() {
        match hole.work {
            HoleWork::Countersunk { diameter, depth, screw } => {
                countersink(subject, index, hole, (diameter, depth), &edge, &mut findings);
                knife_edge(subject, hole, (diameter, depth), &mut findings);
                findings.extend(screw.and_then(|screw| tight(subject, hole, diameter, screw)));
            }
            HoleWork::Flared { diameter, depth } => {
                flare(subject, shop, index, hole, diameter, &edge, &mut findings);
                flare_as_dimple(subject, hole, diameter, depth, &mut findings);
            }
            HoleWork::Tapped { major, pitch } => threads(subject, hole, (major, pitch), &mut findings),
        }
    }
    findings
}

fn edges(subject: &Subject<'_>, holes: &[Boundary], edge: &Boundary, findings: &mut Vec<Finding>) {
    let wanted = TO_EDGE * subject.thickness;
    for (hole, boundary) in subject.shape.holes().iter().zip(holes) {
        let found = boundary.distance_within(edge, wanted);
        if found < wanted - SLACK {
            findings.push(Finding {
                severity: Severity::Warn,
                rule: "hole to edge",
                feature: names::hole(subject, hole),
                at: Some(hole.bounds().center()),
                found: Some(Amount::Length(found)),
                wanted: Some(Amount::Length(wanted)),
                problem: "is too near to the edge, which bulges or burns through".to_owned(),
                cure: "Move it in by the difference, or make it an open notch".to_owned(),
                source: LASER,
            });
        }
    }
}

fn pairs(subject: &Subject<'_>, holes: &[Boundary], findings: &mut Vec<Finding>) {
    let (factor, source) =
        if subject.process == Some(Process::Plasma) { (TO_HOLE_PLASMA, PLASMA) } else { (TO_HOLE, GUIDE) };
    let wanted = factor * subject.thickness;
    let rings = subject.shape.holes();
    for one in 0..holes.len() {
        // The nearest of the later ones: a row of holes is told hole by hole, not pair by pair.
        let near = (one + 1..holes.len())
            .map(|other| (holes[one].distance_within(&holes[other], wanted), other))
            .filter(|(found, _)| *found < wanted - SLACK)
            .min_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((found, other)) = near {
            findings.push(Finding {
                severity: Severity::Warn,
                rule: "hole to hole",
                feature: format!("{} and {}", names::hole(subject, &rings[one]), names::hole(subject, &rings[other])),
                at: Some(rings[one].bounds().center()),
                found: Some(Amount::Length(found)),
                wanted: Some(Amount::Length(wanted)),
                problem: "are too near to each other".to_owned(),
                cure: "Move them apart, or make one slot of them".to_owned(),
                source,
            });
        }
    }
}

/// Holes too small for the cutter that pierces them.
fn sizes(subject: &Subject<'_>, shop: &Shop, findings: &mut Vec<Finding>) {
    let (factor, source) = match subject.process {
        Some(Process::Laser) => (1.0, LASER),
        Some(Process::Plasma) => (1.5, PLASMA),
        _ => return,
    };
    let wanted = factor * subject.thickness;
    for hole in subject.shape.holes() {
        let Some(circle) = full_circle(hole, 1e-3) else { continue };
        let diameter = 2.0 * circle.radius;
        if diameter < wanted - SLACK {
            let drill = shop.tools.holes.near(diameter, 0.1, 0.4).first().map(ToString::to_string);
            // A hole for a thread is drilled anyhow.
            let is_tapped = subject.worked_holes.iter().any(|worked| {
                matches!(worked.work, HoleWork::Tapped { .. }) && worked.center.distance(circle.center) < 1e-3
            });
            findings.push(Finding {
                severity: if is_tapped { Severity::Note } else { Severity::Warn },
                rule: "smallest hole that is cut",
                feature: names::hole(subject, hole),
                at: Some(circle.center),
                found: Some(Amount::Length(diameter)),
                wanted: Some(Amount::Length(wanted)),
                problem: "is too small to be cut round".to_owned(),
                cure: format!(
                    "Mark it with the cutter and drill it: {}",
                    drill.unwrap_or("no drill of its size is owned".into())
                ),
                source,
            });
        }
    }
}

/// Distance from a circle about a point to the nearest bend's start, with that bend's inside radius.
pub(super) fn to_bend(subject: &Subject<'_>, center: Point, radius: f64) -> Option<(f64, f64)> {
    let bends = &subject.bends?.unfolding.bends;
    let zones = bends.iter().map(|bend| {
        let distance = Boundary::new([&bend.zone]).distance_to_point(center) - radius;
        (if bend.zone.contains(center) { 0.0 } else { distance.max(0.0) }, bend.figures.bend.radius())
    });
    zones.min_by(|a, b| a.0.total_cmp(&b.0))
}

fn countersink(
    subject: &Subject<'_>,
    index: usize,
    hole: &WorkedHole,
    (diameter, depth): (f64, f64),
    edge: &Boundary,
    findings: &mut Vec<Finding>,
) {
    let t = subject.thickness;
    let feature = worked(subject, "countersink", diameter, hole);
    let mut add = |severity, rule, problem: &str, cure: &str, found: f64, wanted: f64, source| {
        let amounts = (Some(found), Some(wanted));
        findings.push(about(&feature, hole, (severity, rule), problem, cure, amounts, source));
    };
    if depth > t + SLACK {
        // It can be made, but the cone breaks through: the head hangs on a knife edge.
        let cure = "Take a smaller screw or thicker sheet, or press the sheet into a dimple under the head";
        let source = Source::derived("ASME B18.3 and ISO 10642 heads: depth (A - D) / (2 tan(angle / 2))");
        add(Severity::Warn, "countersink depth", "is deeper than the sheet and breaks through", cure, depth, t, source);
    }
    let reach = diameter / 2.0;
    let to_edge = edge.distance_to_point(hole.center) - reach;
    if to_edge < 4.0 * t - SLACK {
        let cure = "Move it in from the edge";
        add(Severity::Warn, "countersink to edge", "is too near to the edge", cure, to_edge, 4.0 * t, COUNTERSINKS);
    }
    if let Some((found, radius)) = to_bend(subject, hole.center, reach)
        && found < 4.0 * t + radius - SLACK
    {
        let cure = "Move it away from the bend, or countersink it after bending";
        let wanted = 4.0 * t + radius;
        add(Severity::Warn, "countersink to bend", "is too near to a bend", cure, found, wanted, COUNTERSINKS);
    }
    let others = subject.worked_holes[index + 1..].iter().filter_map(|other| match other.work {
        HoleWork::Countersunk { diameter, .. } => Some(hole.center.distance(other.center) - reach - diameter / 2.0),
        HoleWork::Flared { .. } | HoleWork::Tapped { .. } => None,
    });
    let nearest = others.fold(f64::INFINITY, f64::min);
    if nearest < 8.0 * t - SLACK {
        let cure = "Move them apart";
        let problem = "is too near to another countersink";
        add(Severity::Warn, "countersink to countersink", problem, cure, nearest, 8.0 * t, COUNTERSINKS);
    }
}

/// Land under the cone of a countersink that does not break through.
fn knife_edge(subject: &Subject<'_>, hole: &WorkedHole, (diameter, depth): (f64, f64), findings: &mut Vec<Finding>) {
    let t = subject.thickness;
    let feature = worked(subject, "countersink", diameter, hole);
    let cure = "Take a smaller screw or thicker sheet, or press the sheet into a dimple under the head";
    if depth > t + SLACK {
        return; // told already
    }
    let is_knife_edge = depth > t * (1.0 - KNIFE_EDGE) + SLACK;
    let is_deep = t < THIN_SHEET && depth > COUNTERSINK_SHARE * t + SLACK;
    let (severity, problem, wanted, source) = match (is_knife_edge, t < THIN_SHEET) {
        (true, true) => {
            (Severity::Warn, "leaves a knife edge under its cone", COUNTERSINK_SHARE * t, COUNTERSINK_SHARE_SOURCE)
        }
        (true, false) => (Severity::Warn, "leaves a knife edge under its cone", t, KNIFE_EDGE_SOURCE),
        (false, _) if is_deep => {
            let problem = "is deeper than two thirds of thin sheet";
            (Severity::Note, problem, COUNTERSINK_SHARE * t, COUNTERSINK_SHARE_SOURCE)
        }
        (false, _) => return,
    };
    let amounts = (Some(depth), Some(wanted));
    findings.push(about(&feature, hole, (severity, "countersink depth"), problem, cure, amounts, source));
}

/// A countersunk hole through which its own screw does not go.
fn tight(subject: &Subject<'_>, hole: &WorkedHole, diameter: f64, screw: f64) -> Option<Finding> {
    (hole.diameter < screw - SLACK).then(|| {
        let feature = worked(subject, "countersink", diameter, hole);
        let amounts = (Some(hole.diameter), Some(screw));
        let problem = "is in a hole that its screw does not go through";
        let cure = "Make the hole a clearance hole of the screw, as in `clearance = \"M6\"`";
        let source = Source::derived("the screw's own diameter");
        about(&feature, hole, (Severity::Warn, "hole of a screw"), problem, cure, amounts, source)
    })
}

/// Turns of the thread in the sheet.
fn threads(subject: &Subject<'_>, hole: &WorkedHole, (major, pitch): (f64, f64), findings: &mut Vec<Finding>) {
    let found = subject.thickness / pitch;
    if found < LEAST_THREADS - SLACK {
        findings.push(Finding {
            severity: Severity::Warn,
            rule: "threads in the sheet",
            feature: worked(subject, "tapped hole", major, hole),
            at: Some(hole.center),
            found: Some(Amount::Threads(found)),
            wanted: Some(Amount::Threads(LEAST_THREADS)),
            problem: "holds its screw by too few threads".to_owned(),
            cure: "Take a finer or smaller thread, thicker sheet, a rivet nut or a welded nut".to_owned(),
            source: Source::COMMON_PRACTICE,
        });
    }
}

/// A flare is a large dimple: no deeper than half its hole, and clear of other holes.
fn flare_as_dimple(
    subject: &Subject<'_>,
    hole: &WorkedHole,
    outside: f64,
    depth: Option<f64>,
    findings: &mut Vec<Finding>,
) {
    let feature = worked(subject, "flare", outside, hole);
    let mut add = |rule, problem: &str, cure: &str, found: f64, wanted: f64| {
        let amounts = (Some(found), Some(wanted));
        findings.push(about(&feature, hole, (Severity::Warn, rule), problem, cure, amounts, DIMPLES));
    };
    let deepest = DIMPLE_DEPTH * hole.diameter;
    if let Some(depth) = depth.filter(|depth| *depth > deepest + SLACK) {
        let cure = "Make it lower: the edge splits as it is stretched";
        add("depth of a flare", "is deeper than half its hole is wide", cure, depth, deepest);
    }
    let is_plain = |ring: &&Outline| {
        let center = ring.bounds().center();
        !subject.worked_holes.iter().any(|other| other.center.distance(center) < 1e-3)
    };
    let wanted = DIMPLE_TO_HOLE * subject.thickness + outside / 2.0;
    let others = subject.shape.holes().iter().filter(is_plain);
    let found = others.map(|ring| Boundary::new([ring]).distance_to_point(hole.center)).fold(f64::INFINITY, f64::min);
    if found < wanted - SLACK {
        let cure = "Move them apart: the flare pulls the hole out of round";
        add("flare to hole", "is too near to a hole, counted from its middle", cure, found, wanted);
    }
}

fn flare(
    subject: &Subject<'_>,
    shop: &Shop,
    index: usize,
    hole: &WorkedHole,
    outside: f64,
    edge: &Boundary,
    findings: &mut Vec<Finding>,
) {
    let feature = worked(subject, "flare", outside, hole);
    // The hole is cut a little over the size that the die is sold by.
    let miss = |die: &FlaringDie| hole.diameter - (die.hole + FlaringDie::OVERSIZE);
    let fits = |die: &&FlaringDie| (-FLARE_MISS.0 - SLACK..=FLARE_MISS.1 + SLACK).contains(&miss(die));
    let owned = shop.flaring_dies.iter().filter(fits).min_by(|a, b| miss(a).abs().total_cmp(&miss(b).abs()));
    if owned.is_none() {
        let nearest = shop.flaring_dies.iter().min_by(|a, b| miss(a).abs().total_cmp(&miss(b).abs()));
        let source = Source::confirmed("Dimple Dies Make Stronger Panels");
        findings.push(match nearest {
            Some(die) => {
                let amounts = (Some(hole.diameter), Some(die.hole + FlaringDie::OVERSIZE));
                let on_shelf = subject.length(die.hole);
                let cure = format!("Cut the hole for the die of {on_shelf} that is on the shelf, or borrow one");
                let problem = "fits no flaring die of the shop";
                about(&feature, hole, (Severity::Stop, "flaring die"), problem, &cure, amounts, source)
            }
            None => {
                let problem = "needs a flaring die, and the shop file names none";
                let cure = "List the dies owned as `flaring_dies` in the shop file";
                about(
                    &feature,
                    hole,
                    (Severity::Warn, "flaring die"),
                    problem,
                    cure,
                    (Some(hole.diameter), None),
                    source,
                )
            }
        });
    }
    if let Some((die, thickest)) = owned.and_then(|die| Some((die, die.thickest?)))
        && subject.thickness > thickest + SLACK
    {
        let amounts = (Some(subject.thickness), Some(thickest));
        let problem = format!("is in sheet thicker than the die of {} flares", subject.length(die.hole));
        let cure = "Flare thinner sheet, or leave the hole plain";
        let rule = (Severity::Stop, "thickest sheet of a flaring die");
        findings.push(about(&feature, hole, rule, &problem, cure, amounts, crate::shop::OWN_FIGURE));
    }
    if let Some(die) = owned
        && (die.outside - outside).abs() > FLARE_OUTSIDE_MISS
    {
        let amounts = (Some(outside), Some(die.outside));
        let problem = format!("is told with another size than the die of {} gives it", subject.length(die.hole));
        let told = subject.length(die.outside);
        let cure =
            format!("Tell `flare = {{ diameter = \"{told}\" }}`, so that its distances are checked for what is made");
        let rule = (Severity::Warn, "size of a flare");
        findings.push(about(&feature, hole, rule, &problem, &cure, amounts, crate::shop::OWN_FIGURE));
    }
    let reach = owned.map_or(outside, |die| die.outside).max(outside) / 2.0;
    let mut add = |rule, problem: &str, found: f64, wanted: f64| {
        let cure = "Move it away: the sheet bulges and the flare tears";
        let amounts = (Some(found), Some(wanted));
        findings.push(about(&feature, hole, (Severity::Warn, rule), problem, cure, amounts, FLARES));
    };
    let margin = subject.thickness + 6.35;
    let to_edge = edge.distance_to_point(hole.center) - reach;
    if to_edge < margin - SLACK {
        add("flare to edge", "is too near to the edge", to_edge, margin);
    }
    if let Some((found, radius)) = to_bend(subject, hole.center, reach)
        && found < margin + radius - SLACK
    {
        add("flare to bend", "is too near to a bend", found, margin + radius);
    }
    let others = subject.worked_holes[index + 1..].iter().filter_map(|other| match other.work {
        HoleWork::Flared { diameter, .. } => Some(hole.center.distance(other.center) - reach - diameter / 2.0),
        HoleWork::Countersunk { .. } | HoleWork::Tapped { .. } => None,
    });
    let nearest = others.fold(f64::INFINITY, f64::min);
    if nearest < 2.0 * reach - SLACK {
        add("flare to flare", "is too near to another flare", nearest, 2.0 * reach);
    }
}

/// A worked hole in words.
fn worked(subject: &Subject<'_>, what: &str, diameter: f64, hole: &WorkedHole) -> String {
    format!("{}, {what} of {}", names::worked(subject, hole), subject.length(diameter))
}

/// A finding about a worked hole; the amounts are the length found and the length wanted.
fn about(
    feature: &str,
    hole: &WorkedHole,
    (severity, rule): (Severity, &'static str),
    problem: &str,
    cure: &str,
    (found, wanted): (Option<f64>, Option<f64>),
    source: Source,
) -> Finding {
    Finding {
        severity,
        rule,
        feature: feature.to_owned(),
        at: Some(hole.center),
        found: found.map(Amount::Length),
        wanted: wanted.map(Amount::Length),
        problem: problem.to_owned(),
        cure: cure.to_owned(),
        source,
    }
}
