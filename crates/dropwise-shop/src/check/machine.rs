//! Bends at the press brake: its length, force, dies, punches and gauge.

use super::bent::{feature, middle};
use super::flat::SLACK;
use super::{Amount, BentSubject, Finding, Severity, Subject};
use crate::bend::{
    DIE_SOURCE, DIE_TABLE, FIRST_BEND, FLANGE_SOURCE, ForceRule, Forming, Grade, HemKind, SHORT_TON, nearest_die,
    tensile_strength,
};
use crate::bend_plan::{BendStep, SAME_DIE};
use crate::shop::{Brake, Shop};
use crate::source::Source;

/// An air bend whose radius is this much off what the pattern was made for is worth a word.
const RADIUS_OFF: f64 = 0.25;

pub(super) fn check(subject: &Subject<'_>, bends: &BentSubject<'_>, shop: &Shop) -> Vec<Finding> {
    let mut findings = Vec::new();
    sharpest(bends, shop, &mut findings);
    for step in &bends.plan.steps {
        machine(subject, bends, step, shop, &mut findings);
        if let Some(brake) = &shop.brake {
            force(subject, bends, step, brake, &mut findings);
            load(subject, bends, step, &mut findings);
        }
    }
    findings
}

/// The force of a step by the rules read in a source, where strength and way of forming are read as well: kN, and whose
/// rule it is. `None` where one of them is only remembered.
fn known_force(bends: &BentSubject<'_>, step: &BendStep) -> Option<(f64, Source)> {
    let forming = Forming::from(bends.method);
    let strength = tensile_strength(bends.grade).source;
    if !strength.is_known() || !forming.source().is_known() {
        return None;
    }
    let read = ForceRule::ALL.into_iter().filter(|rule| rule.source().is_known());
    let highest = read.max_by(|a, b| a.constant().total_cmp(&b.constant()))?;
    // The step was reckoned with the most careful rule of all.
    Some((step.force * highest.constant() / ForceRule::Imperial.constant(), highest.source()))
}

/// More force than the brake has. By the rules that were read it stops; by the most careful one, which is remembered, it
/// warns.
fn force(subject: &Subject<'_>, bends: &BentSubject<'_>, step: &BendStep, brake: &Brake, findings: &mut Vec<Finding>) {
    if step.force <= brake.force + SLACK {
        return;
    }
    let known = known_force(bends, step).filter(|(force, _)| *force > brake.force + SLACK);
    let (severity, (found, source)) = match known {
        // A guess about the brake does not stop.
        Some(known) if brake.sources.force.is_known() => (Severity::Stop, known),
        Some(known) => (Severity::Warn, known),
        None => (Severity::Warn, (step.force, ForceRule::Imperial.source())),
    };
    let share = |rule: ForceRule| step.force * rule.constant() / ForceRule::Imperial.constant();
    let lowest = ForceRule::ALL.into_iter().map(share).fold(f64::INFINITY, f64::min);
    let shown = |kilonewtons: f64| match subject.unit.is_metric() {
        true => format!("{kilonewtons:.0}"),
        false => format!("{:.1}", kilonewtons / SHORT_TON),
    };
    let bend = &bends.unfolding.bends[step.bend];
    findings.push(Finding {
        severity,
        rule: "force of the brake",
        feature: feature(bends, bend),
        at: Some(middle(bend)),
        found: Some(Amount::Force(found)),
        wanted: Some(Amount::Force(brake.force)),
        problem: format!(
            "needs more force than the {} has (published rules give {} to {})",
            brake.name,
            shown(lowest),
            shown(step.force)
        ),
        cure: "Take a wider die, which needs less force and makes a wider radius".to_owned(),
        source,
    });
}

/// More force on a metre of the die than it bears, told as force on a metre, which is how a maker tells the limit.
fn load(subject: &Subject<'_>, bends: &BentSubject<'_>, step: &BendStep, findings: &mut Vec<Finding>) {
    let by_metre = step.pressure.kilonewtons_per_metre();
    let Some(limit) = step.die.load.map(|load| load * 1000.0).filter(|limit| by_metre > limit + SLACK) else { return };
    let share = by_metre / step.force;
    let known = known_force(bends, step).map(|(force, source)| (force * share, source));
    let (severity, (found, source)) = match known.filter(|(found, _)| *found > limit + SLACK) {
        Some(known) => (Severity::Stop, known),
        None => (Severity::Warn, (by_metre, ForceRule::Imperial.source())),
    };
    let bend = &bends.unfolding.bends[step.bend];
    let opening = subject.length(step.die.opening);
    let borne = Amount::Force(limit);
    findings.push(Finding {
        severity,
        rule: "load of the die",
        feature: feature(bends, bend),
        at: Some(middle(bend)),
        found: Some(Amount::Force(found)),
        wanted: Some(borne),
        problem: "presses harder on a metre of the die than it bears".to_owned(),
        cure: format!(
            "Take a wider or a stronger die; the one of {opening} bears {} a metre",
            borne.in_unit(subject.unit)
        ),
        source,
    });
}

/// Bends sharper than every punch or die that is owned.
fn sharpest(bends: &BentSubject<'_>, shop: &Shop, findings: &mut Vec<Finding>) {
    let Some(brake) = &shop.brake else { return };
    let least = |angles: &mut dyn Iterator<Item = f64>| angles.fold(f64::INFINITY, f64::min);
    let punch = least(&mut brake.punches.iter().map(|punch| punch.angle));
    let die = least(&mut brake.dies.iter().map(|die| die.angle));
    let sources = brake.sources;
    let (wanted, tool, source) =
        if punch >= die { (punch, "punch", sources.punches) } else { (die, "die", sources.dies) };
    for bend in &bends.unfolding.bends {
        let figures = &bend.figures.bend;
        let opening = if HemKind::of(figures).is_some() { FIRST_BEND.1 } else { figures.opening() };
        if !wanted.is_finite() || opening >= wanted - SLACK {
            continue;
        }
        findings.push(Finding {
            severity: Severity::Stop,
            rule: "sharpest bend",
            feature: feature(bends, bend),
            at: Some(middle(bend)),
            found: Some(Amount::Angle(opening)),
            wanted: Some(Amount::Angle(wanted)),
            problem: format!(
                "closes to an opening sharper than the sharpest {tool} of the shop, and a bend that is pressed flat after \
                 that is a hem"
            ),
            cure: "Open the angle, make it a hem, or get a sharper punch and die".to_owned(),
            source,
        });
    }
}

/// One bend at the machine.
fn machine(subject: &Subject<'_>, bends: &BentSubject<'_>, step: &BendStep, shop: &Shop, findings: &mut Vec<Finding>) {
    let Some(brake) = &shop.brake else { return };
    let bend = &bends.unfolding.bends[step.bend];
    let mut add = |severity, rule, problem: &str, cure: String, found: Amount, wanted: Amount, source| {
        findings.push(Finding {
            severity,
            rule,
            feature: feature(bends, bend),
            at: Some(middle(bend)),
            found: Some(found),
            wanted: Some(wanted),
            problem: problem.to_owned(),
            cure,
            source,
        });
    };
    let length = Amount::Length;
    if step.span > brake.length + SLACK {
        let cure = "Bend it where the brake is longer, or make the part of two pieces".to_owned();
        let (found, wanted) = (length(step.span), length(brake.length));
        let problem = format!("is longer than the {}", brake.name);
        add(Severity::Stop, "length of the brake", &problem, cure, found, wanted, brake.sources.length);
    }
    let owned: Vec<f64> = brake.dies.iter().map(|die| die.opening).collect();
    if let Some(nearest) = nearest_die(&owned, step.die.opening)
        && (nearest - step.die.opening).abs() > SAME_DIE
    {
        let cure = format!(
            "Tell `die = \"{}\"`, which is owned, so that the flat pattern is that of this die; or borrow the one told",
            subject.length(nearest)
        );
        let problem = format!("is told for a die that the {} does not have", brake.name);
        let (found, wanted) = (length(step.die.opening), length(nearest));
        add(Severity::Warn, "die of the shop", &problem, cure, found, wanted, brake.sources.dies);
    }
    if step.uncovered > 0.0 {
        let cure =
            "Take eared (horned) end pieces if you have them; else press the ends again by hand, or join the corners \
                    another way"
                .to_owned();
        let problem = "is made with a punch shorter than the bend, so that its ends stay open by some degrees";
        let (found, wanted) = (length(step.punch_length), length(step.span));
        add(Severity::Warn, "length of the punch", problem, cure, found, wanted, Source::COMMON_PRACTICE);
    }
    let leg = step.legs[0].min(step.legs[1]);
    // The return of a hem is told with the hem.
    if leg < step.least_leg - SLACK && step.hem.is_none() {
        let cure = format!(
            "Make the leg longer, or bend it longer and trim it; the die is the one of {}",
            subject.length(step.die.opening)
        );
        let problem = "has a leg shorter than the die can hold";
        // The chart of the dies holds a little less than the rule by angle: between the two it is tried.
        let charted = DIE_TABLE.iter().find(|row| (row.opening - step.die.opening).abs() < SAME_DIE);
        let charted =
            charted.filter(|_| (step.turn - 90.0).abs() < 1e-6).map_or(step.least_leg, |row| row.least_flange);
        let (severity, wanted, source) = if leg < charted - SLACK && charted < step.least_leg {
            (Severity::Stop, charted, DIE_SOURCE)
        } else if leg < charted - SLACK {
            (Severity::Stop, step.least_leg, FLANGE_SOURCE)
        } else {
            (Severity::Warn, step.least_leg, FLANGE_SOURCE)
        };
        add(severity, "leg on the die", problem, cure, length(leg), length(wanted), source);
    }
    if step.gauge.is_none() {
        let (near, far) = brake.gauge_reach;
        let cure = "Work to the scribed bend line".to_owned();
        let problem = "is out of the backgauge's reach";
        let (found, wanted) = (length(step.legs[0]), length(if step.legs[0] < near { near } else { far }));
        add(Severity::Note, "reach of the backgauge", problem, cure, found, wanted, brake.sources.gauge);
    }
    let (low, high) = step.radius_in_die;
    // Of mild steel the chart of the dies prints a radius too, a little wider than the shares.
    let charted = DIE_TABLE.iter().find(|row| (row.opening - step.die.opening).abs() < SAME_DIE);
    let is_mild = bends.grade == Grade::LowCarbonSteel;
    let high = charted.filter(|_| is_mild).map_or(high, |row| row.inside_radius.max(high));
    let is_off = step.inside_radius < low * (1.0 - RADIUS_OFF) || step.inside_radius > high * (1.0 + RADIUS_OFF);
    if is_off && step.hem.is_none() {
        let cure = format!(
            "Tell the part with the radius that the die of {} makes, so that the flat pattern comes out right, or press it \
             into the die",
            subject.length(step.die.opening)
        );
        let (found, wanted) = (length(step.inside_radius), length((low + high) / 2.0));
        let problem = "gets another inside radius in the air than it was drawn with";
        let source = Source::confirmed("How to calculate bending force; Capacity chart for air bending");
        add(Severity::Warn, "radius of the die", problem, cure, found, wanted, source);
    }
}
