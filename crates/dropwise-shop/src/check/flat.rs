//! The part as a whole: what the shear takes, what a person lifts, how wide openings and notches are.

use dropwise_geometry::{Outline, Point, Segment, Shape, Side, convex_hull};

use super::{Amount, Finding, Severity, Subject};
use crate::bend::Grade;
use crate::bend_plan::as_mild_steel;
use crate::markout::full_circle;
use crate::process::Process;
use crate::shop::Shop;
use crate::source::Source;

/// A slack for numbers that came through inches, mm.
pub(super) const SLACK: f64 = 1e-6;

pub(super) fn check(subject: &Subject<'_>, shop: &Shop) -> Vec<Finding> {
    let mut findings = Vec::new();
    weight(subject, shop, &mut findings);
    shear(subject, shop, &mut findings);
    if !subject.process.is_some_and(Process::is_edge_to_edge) {
        narrow_openings(subject, &mut findings);
        narrow_notches(subject, &mut findings);
    }
    narrow_strip(subject, &mut findings);
    findings
}

fn weight(subject: &Subject<'_>, shop: &Shop, findings: &mut Vec<Finding>) {
    if subject.weight > shop.lifted_by_one {
        findings.push(Finding {
            severity: Severity::Warn,
            rule: "weight for one person",
            feature: "the part".to_owned(),
            at: None,
            found: Some(Amount::Weight(subject.weight)),
            wanted: Some(Amount::Weight(shop.lifted_by_one)),
            problem: "weighs more than one person should lift".to_owned(),
            cure: "Lift it with two people or a hoist, or make it of two pieces".to_owned(),
            source: shop.lift_source,
        });
    }
}

/// Size and thickness against the shear, where the job is cut with it.
fn shear(subject: &Subject<'_>, shop: &Shop, findings: &mut Vec<Finding>) {
    if subject.process != Some(Process::Shear) {
        return;
    }
    let Some(shear) = shop.tools.shear else {
        findings.push(Finding {
            severity: Severity::Warn,
            rule: "shear of the shop",
            feature: "the part".to_owned(),
            at: None,
            found: None,
            wanted: None,
            problem: "is to be sheared, and the shop file names no shear".to_owned(),
            cure: "Add a [shear] table with its length and the thickest sheet it cuts".to_owned(),
            source: Source::COMMON_PRACTICE,
        });
        return;
    };
    let bounds = subject.shape.bounds();
    let longest = bounds.width().max(bounds.height());
    let mut beyond = |rule, problem: &str, cure: &str, found: f64, wanted: f64| {
        findings.push(Finding {
            severity: Severity::Stop,
            rule,
            feature: "the part".to_owned(),
            at: None,
            found: Some(Amount::Length(found)),
            wanted: Some(Amount::Length(wanted)),
            problem: problem.to_owned(),
            cure: cure.to_owned(),
            source: crate::shop::OWN_FIGURE,
        });
    };
    if longest > shear.length + SLACK {
        let cure = "Cut the long sides another way, or have it sheared where the blades are longer";
        beyond("length of the shear", "is longer than the shear", cure, longest, shear.length);
    }
    let rule = "thickest sheet of the shear";
    if subject.thickness > shear.thickest + SLACK {
        beyond(rule, "is thicker than the shear cuts", "Cut it another way", subject.thickness, shear.thickest);
        return;
    }
    // Shears are rated in mild steel: harder metal counts as thicker.
    let strength = subject.bends.map_or(Grade::usual(subject.material), |bends| bends.grade);
    let counted = as_mild_steel(subject.thickness, strength);
    if counted > shear.thickest + SLACK {
        findings.push(Finding {
            severity: Severity::Warn,
            rule,
            feature: "the part".to_owned(),
            at: None,
            found: Some(Amount::Length(counted)),
            wanted: Some(Amount::Length(shear.thickest)),
            problem: format!(
                "is of {strength}, which takes as much force as thicker mild steel, and shears are rated in that"
            ),
            cure: "Ask the shear's maker how thick it cuts this metal, or cut it another way".to_owned(),
            source: Source::COMMON_PRACTICE,
        });
    }
}

/// Openings narrower than the cut itself.
fn narrow_openings(subject: &Subject<'_>, findings: &mut Vec<Finding>) {
    for hole in subject.shape.holes() {
        // Round ones are drilled if need be.
        let width = width_of(hole);
        if full_circle(hole, 1e-3).is_none() && width < subject.kerf - SLACK {
            findings.push(narrower(subject, &super::names::hole(subject, hole), hole.bounds().center(), width));
        }
    }
}

fn narrower(subject: &Subject<'_>, feature: &str, at: Point, width: f64) -> Finding {
    Finding {
        severity: Severity::Stop,
        rule: "wider than the kerf",
        feature: feature.to_owned(),
        at: Some(at),
        found: Some(Amount::Length(width)),
        wanted: Some(Amount::Length(subject.kerf)),
        problem: "is narrower than the cut itself".to_owned(),
        cure: "Widen it to the kerf or more, or cut it with something finer".to_owned(),
        source: Source::derived("geometry: nothing narrower than the kerf can be left open"),
    }
}

/// The least width of an opening between two parallel lines that touch it: of its hull, so that bent ones pass.
fn width_of(ring: &Outline) -> f64 {
    let hull = convex_hull(&ring.flatten(0.01, Side::Grow));
    let count = hull.len();
    (0..count)
        .filter_map(|index| {
            let (a, b) = (hull[index], hull[(index + 1) % count]);
            let along = (b - a).unit()?;
            Some(hull.iter().map(|&point| along.cross(point - a)).fold(0.0, f64::max))
        })
        .fold(f64::INFINITY, f64::min)
}

/// Notches in the outline: two straight sides that face each other across air, nearer than the kerf.
fn narrow_notches(subject: &Subject<'_>, findings: &mut Vec<Finding>) {
    if let Some((at, width)) = narrowest(subject.shape, Between::Air)
        && width < subject.kerf - SLACK
    {
        // One cut makes it, only wider than it was drawn.
        let finding = narrower(subject, "a notch or slit in the outline", at, width);
        findings.push(Finding { severity: Severity::Warn, ..finding });
    }
}

/// Metal between two edges is at least this many thicknesses wide.
const STRIP: f64 = 2.0;
const STRIP_SOURCE: Source = Source::confirmed("Sheet Metal Design Guidelines 98-053007");

/// Tongues and strips of metal between two straight sides of the outline.
fn narrow_strip(subject: &Subject<'_>, findings: &mut Vec<Finding>) {
    let wanted = STRIP * subject.thickness;
    let Some((at, width)) = narrowest(subject.shape, Between::Metal) else { return };
    if width < wanted - SLACK {
        findings.push(Finding {
            severity: Severity::Warn,
            rule: "strip of metal",
            feature: "a strip between two edges of the outline".to_owned(),
            at: Some(at),
            found: Some(Amount::Length(width)),
            wanted: Some(Amount::Length(wanted)),
            problem: "is so narrow that it bends, twists or burns away when it is cut".to_owned(),
            cure: "Make it wider, or leave it out".to_owned(),
            source: STRIP_SOURCE,
        });
    }
}

/// What lies between two sides.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Between {
    Air,
    Metal,
}

/// The narrowest gap between two straight sides of the outline that run against each other with air, or metal, between.
fn narrowest(shape: &Shape, between: Between) -> Option<(Point, f64)> {
    let sides: Vec<(Point, Point)> = shape
        .exterior()
        .segments()
        .filter_map(|side| match side {
            Segment::Line { start, end } if start.distance(end) > 0.1 => Some((start, end)),
            _ => None,
        })
        .collect();
    let mut narrowest: Option<(Point, f64)> = None;
    for (index, &(a, b)) in sides.iter().enumerate() {
        let Some(along) = (b - a).unit() else { continue };
        let length = a.distance(b);
        for &(c, d) in &sides[index + 1..] {
            let Some(other) = (d - c).unit() else { continue };
            // Metal lies to the left of both: sides that run against each other with the second to the right of the first
            // have air between.
            let gap = if between == Between::Air { -along.cross(c - a) } else { along.cross(c - a) };
            if along.dot(other) > -0.999 || gap < 0.0 {
                continue;
            }
            let (from, to) = (along.dot(d - a).max(0.0), along.dot(c - a).min(length));
            if to - from > 0.1 && gap > SLACK && narrowest.is_none_or(|(_, least)| gap < least) {
                let aside = if between == Between::Air { -gap / 2.0 } else { gap / 2.0 };
                let middle = a + along * ((from + to) / 2.0) + along.left() * aside;
                // Between sides that other sides part lies the other thing.
                if shape.contains(middle) == (between == Between::Metal) {
                    narrowest = Some((middle, gap));
                }
            }
        }
    }
    narrowest
}
