//! What the shop's benders without punch and die make of a part that no press brake makes.

use super::bent::{by_cause, feature, middle};
use super::{Amount, BentSubject, Finding, Severity, Subject};
use crate::bend::{FIRST_BEND, FIRST_BEND_SOURCE, HemKind};
use crate::bend_plan::{HandBlocked, HandObstacle, HandPlan, HandTool, Order, as_mild_steel};
use crate::shop::{Bender, BenderKind, Shop};
use crate::source::Source;

const GEOMETRY: Source = Source::derived("geometry of the part and of the benders' sections");

pub(super) fn check(subject: &Subject<'_>, bends: &BentSubject<'_>, shop: &Shop, findings: &mut Vec<Finding>) {
    let plans = bends.by_hand;
    if let Some(plan) = plans.iter().find(|plan| plan.order == Order::Found) {
        let press =
            if bends.plan.order == Order::NoBrake { "" } else { "has no order of bends on the press brake, and " };
        findings.push(Finding {
            severity: Severity::Note,
            rule: "order of bends",
            feature: "the part".to_owned(),
            at: None,
            found: None,
            wanted: None,
            problem: format!("{press}is bent on the {}", plan.bender),
            cure: "Take it there; `flat` tells the order, the sight lines and the fingers".to_owned(),
            source: GEOMETRY,
        });
        return;
    }
    // The bender that comes farthest is the one to speak of; what the others lack stands in the same finding.
    let Some(best) = plans.iter().max_by_key(|plan| plan.steps.len()) else { return };
    let bender = shop.benders.iter().find(|bender| bender.name == best.bender);
    let Some((first, bender)) = best.blocked.first().zip(bender) else { return };
    let others = plans.iter().filter(|plan| !std::ptr::eq(*plan, best));
    let told = std::iter::once(best).chain(others).map(|plan| reasons(subject, plan)).collect::<Vec<_>>().join(". ");
    let limit = Limit::of(subject, bends, first, bender);
    let bend = &bends.unfolding.bends[first.bend];
    let is_whole = limit.rule == "order of bends";
    findings.push(Finding {
        severity: Severity::Warn,
        rule: limit.rule,
        feature: if is_whole { "the part".to_owned() } else { feature(bends, bend) },
        at: if is_whole { None } else { Some(middle(bend)) },
        found: limit.found,
        wanted: limit.wanted,
        problem: format!("is made by none of the shop's benders ({told})"),
        cure: limit.cure,
        source: limit.source,
    });
}

fn reasons(subject: &Subject<'_>, plan: &HandPlan) -> String {
    let why = |one: &HandBlocked| (one.face.clone(), one.obstacle.in_words(|mm| subject.length(mm)));
    format!("on the {}: {}", plan.bender, by_cause(plan.blocked.iter().map(why)).join("; "))
}

/// What a bender lacks for a bend.
struct Limit {
    rule: &'static str,
    found: Option<Amount>,
    wanted: Option<Amount>,
    cure: String,
    source: Source,
}

impl Limit {
    fn of(subject: &Subject<'_>, bends: &BentSubject<'_>, blocked: &HandBlocked, bender: &Bender) -> Self {
        let flat = &bends.unfolding.bends[blocked.bend];
        let length = |mm: f64| Some(Amount::Length(mm));
        let limit = |rule, found, wanted, cure: &str| Self {
            rule,
            found,
            wanted,
            cure: cure.to_owned(),
            source: bender.source,
        };
        match &blocked.obstacle {
            HandObstacle::TooThick => limit(
                "thickness on the bender",
                length(as_mild_steel(subject.thickness, bends.grade)),
                length(bender.capacity.last().map_or(0.0, |row| row.0)),
                "Take thinner or softer metal, have it bent on a press brake, or join flat pieces; other metals count as the \
                 mild steel that takes as much force",
            ),
            HandObstacle::TooLong { found, most } => limit(
                "length of the bender",
                length(*found),
                length(*most),
                "Bend it where the bender is longer, make it of two pieces, or take thinner metal",
            ),
            HandObstacle::TooFar { most } if HemKind::of(&flat.figures.bend).is_some() => Self {
                rule: "first fold of a hem",
                found: Some(Amount::Angle(*most)),
                wanted: Some(Amount::Angle(180.0 - FIRST_BEND.1)),
                cure: "Start the hem where it folds far enough, such as on a leaf brake or with an acute punch; or leave the \
                       edge plain and dress it"
                    .to_owned(),
                source: FIRST_BEND_SOURCE,
            },
            HandObstacle::TooFar { most } => limit(
                "angle of the bender",
                Some(Amount::Angle(flat.figures.bend.turn())),
                Some(Amount::Angle(*most)),
                "Open the angle, or have it bent with an acute punch and die",
            ),
            HandObstacle::ShortFlange { found, least } => limit(
                "flange on the bender",
                length(*found),
                length(*least),
                "Make the flange longer, or bend it longer and trim it",
            ),
            HandObstacle::ShortClamp { found, least } => limit(
                "metal under the bar",
                length(*found),
                length(*least),
                "Make what is clamped longer, or bend it longer and trim it",
            ),
            HandObstacle::NoFingers { room } => limit(
                "fingers of the bender",
                length(bender.fingers.iter().copied().fold(f64::INFINITY, f64::min)),
                length(*room),
                "Get fingers that fill the room between the walls, make it wider, or join the last walls as pieces",
            ),
            HandObstacle::Tool { face, tool: HandTool::Beam } => limit(
                "depth of the fingers",
                bends.unfolding.faces.iter().find(|one| one.name == *face).map(|one| Amount::Length(one.told_size.1)),
                length(bender.above),
                "Make the walls lower, get higher fingers, or join the last walls as pieces",
            ),
            HandObstacle::Tool { tool: HandTool::Bar, .. } if bender.kind != BenderKind::BoxAndPan => Self {
                source: GEOMETRY,
                ..limit(
                    "order of bends",
                    None,
                    None,
                    "Fingers go between walls: take a box-and-pan brake; or join the last walls as pieces, or open the shape",
                )
            },
            HandObstacle::Tool { .. } | HandObstacle::Face { .. } => Self {
                source: GEOMETRY,
                ..limit(
                    "order of bends",
                    None,
                    None,
                    "Open the shape, shorten what is in the way, make it of two pieces, or have it bent elsewhere",
                )
            },
        }
    }
}
