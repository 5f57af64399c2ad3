//! A bend in its die: the opening against the thickness, the flange against what is published, the punch's tip.

use super::bent::{feature, middle};
use super::flat::SLACK;
use super::hems::{away, reach};
use super::{Amount, BentSubject, Finding, Severity, Subject};
use crate::bend::{BEND_ANGLE_HELD, BEND_ANGLE_SOURCE, HemKind, NARROWEST_DIE, OPENING_RULES};
use crate::bend_plan::BendStep;
use crate::fold::FlatBend;
use crate::shop::{OWN_FIGURE, Shop};
use crate::source::Source;

/// Least opening in thicknesses by every published rule; `OPENING_RULES` holds them.
const OPENING: f64 = 6.0;
/// Below this many thicknesses a die marks the sheet and the force runs up: a warning. Common practice, no source.
const DOUBTFUL: f64 = 5.0;
/// Below this many it is not done.
const NARROWEST: f64 = NARROWEST_DIE;

/// The shortest flange in thicknesses, whatever it is bent in.
const FLANGE: f64 = 4.0;
const FLANGE_SOURCE: Source = Source::confirmed("Sheet Metal Design Guide");
/// The shortest flange by another guide: so many thicknesses and the inside radius.
const FLANGE_AND_RADIUS: f64 = 3.0;
const FLANGE_AND_RADIUS_SOURCE: Source = Source::confirmed("Sheet Metal Part Design Guide");

pub(super) fn check(subject: &Subject<'_>, bends: &BentSubject<'_>, shop: &Shop) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (index, bend) in bends.unfolding.bends.iter().enumerate() {
        if HemKind::of(&bend.figures.bend).is_some() {
            continue;
        }
        let step = bends.plan.steps.iter().find(|step| step.bend == index);
        let told = bends.dies.get(index).copied().flatten();
        if let Some(opening) = step.map(|step| step.die.opening).or(told) {
            narrow_die(subject, bends, bend, opening, &mut findings);
        }
        short_flange(subject, bends, bend, step, &mut findings);
        angle(subject, bends, bend, &mut findings);
        if let Some(step) = step {
            tip(bends, bend, step, shop, &mut findings);
        }
    }
    findings
}

fn narrow_die(
    subject: &Subject<'_>,
    bends: &BentSubject<'_>,
    bend: &FlatBend,
    opening: f64,
    findings: &mut Vec<Finding>,
) {
    let ratio = opening / subject.thickness;
    let severity = if ratio < NARROWEST - SLACK {
        Severity::Stop
    } else if ratio < DOUBTFUL - SLACK {
        Severity::Warn
    } else if ratio < OPENING - SLACK {
        Severity::Note
    } else {
        return;
    };
    findings.push(Finding {
        severity,
        rule: "opening of the die",
        feature: feature(bends, bend),
        at: Some(middle(bend)),
        found: Some(Amount::Length(opening)),
        wanted: Some(Amount::Length(OPENING * subject.thickness)),
        problem: format!("is made in a die of only {ratio:.1} thicknesses, which marks the sheet and takes more force"),
        cure: "Take a wider die: the inside radius and the least leg grow with it, so give the part a longer leg if it is \
               short"
            .to_owned(),
        source: OPENING_RULES[0].source,
    });
}

/// The flange to the outside corner against both published limits: below both it warns, between them it is a note.
fn short_flange(
    subject: &Subject<'_>,
    bends: &BentSubject<'_>,
    bend: &FlatBend,
    step: Option<&BendStep>,
    findings: &mut Vec<Finding>,
) {
    let figures = &bend.figures;
    let setback = figures.outside_setback.unwrap_or(figures.tangent_setback);
    let own = reach(&bends.unfolding.faces[bend.face].region, bend.end[0], away(bend)) + setback;
    // A leg may lie flat further than its face, over bends that come later.
    let found = step.map_or(own, |step| step.legs[0].min(step.legs[1]).max(own));
    let by_thickness = (FLANGE * subject.thickness, FLANGE_SOURCE);
    let with_radius = (FLANGE_AND_RADIUS * subject.thickness + figures.bend.radius(), FLANGE_AND_RADIUS_SOURCE);
    let (less, more) =
        if by_thickness.0 <= with_radius.0 { (by_thickness, with_radius) } else { (with_radius, by_thickness) };
    let (severity, (wanted, source)) = if found < less.0 - SLACK {
        (Severity::Warn, less)
    } else if found < more.0 - SLACK {
        (Severity::Note, more)
    } else {
        return;
    };
    findings.push(Finding {
        severity,
        rule: "shortest flange",
        feature: feature(bends, bend),
        at: Some(middle(bend)),
        found: Some(Amount::Length(found)),
        wanted: Some(Amount::Length(wanted)),
        problem: "has a flange shorter than is published for this thickness".to_owned(),
        cure: "Make the flange longer, or bend it longer and trim it".to_owned(),
        source,
    });
}

/// A general tolerance of angles that benders do not hold.
fn angle(subject: &Subject<'_>, bends: &BentSubject<'_>, bend: &FlatBend, findings: &mut Vec<Finding>) {
    let Some(class) = subject.tolerances else { return };
    let figures = &bend.figures;
    let leg = reach(&bends.unfolding.faces[bend.face].region, bend.end[0], away(bend)) + figures.tangent_setback;
    let (Some(wanted), (best, usual)) = (class.angular(leg), BEND_ANGLE_HELD) else { return };
    let (severity, held) = if wanted < best - SLACK {
        (Severity::Warn, best)
    } else if wanted < usual - SLACK {
        (Severity::Note, usual)
    } else {
        return;
    };
    findings.push(Finding {
        severity,
        rule: "angle of a bend",
        feature: feature(bends, bend),
        at: Some(middle(bend)),
        found: Some(Amount::Angle(wanted)),
        wanted: Some(Amount::Angle(held)),
        problem: format!(
            "is to hold the angle of {class} for so long a leg, plus or minus, tighter than bends come out"
        ),
        cure:
            "Check each bend with a protractor and bend again, tell the angle's own tolerance, or take a coarser class"
                .to_owned(),
        source: BEND_ANGLE_SOURCE,
    });
}

/// A tip blunter than the inside radius prints its own.
fn tip(bends: &BentSubject<'_>, bend: &FlatBend, step: &BendStep, shop: &Shop, findings: &mut Vec<Finding>) {
    let punches = shop.brake.iter().flat_map(|brake| &brake.punches);
    let Some(punch) = punches.into_iter().find(|punch| punch.name == step.punch) else { return };
    if punch.tip_radius <= step.inside_radius + SLACK {
        return;
    }
    findings.push(Finding {
        severity: Severity::Warn,
        rule: "tip of the punch",
        feature: feature(bends, bend),
        at: Some(middle(bend)),
        found: Some(Amount::Length(step.inside_radius)),
        wanted: Some(Amount::Length(punch.tip_radius)),
        problem: format!("is tighter inside than the tip of the {}", punch.name),
        cure: "Take a sharper punch, or tell the part with the radius of this one so that the flat pattern comes out right"
            .to_owned(),
        source: OWN_FIGURE,
    });
}
