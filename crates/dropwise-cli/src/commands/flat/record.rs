//! The figures of bent parts, for programs: lengths in mm, angles in degrees, forces in kN, weights in kg.

use dropwise_formats::LoadedJob;
use dropwise_shop::PartFrame;
use dropwise_shop::bend::typical_springback;
use dropwise_shop::bend_plan::{BendStep, BendingPlan, HandPlan, HandStep, Order};
use dropwise_shop::check::gathered;
use dropwise_shop::fold::{BendRow, FlatBend, Run, RunRow};
use serde_json::{Value, json};

use super::Chosen;
use crate::commands::check::finding_as_json;
use crate::shop_checks::{PartChecks, cautions_of, weight};

pub(super) fn record(loaded: &LoadedJob, chosen: &[Chosen<'_>], checks: &[PartChecks]) -> String {
    let parts: Vec<Value> = chosen.iter().zip(checks).map(|(part, checks)| of_part(loaded, *part, checks)).collect();
    let indices: Vec<usize> = chosen.iter().map(|part| part.index).collect();
    let cautions: Vec<String> = cautions_of(loaded, &indices).iter().map(ToString::to_string).collect();
    let document = json!({
        "format": "dropwise flat patterns",
        "version": 1,
        "job": loaded.name,
        "parts": parts,
        "cautions": cautions,
    });
    format!("{}\n", serde_json::to_string_pretty(&document).unwrap_or_default())
}

fn of_part(loaded: &LoadedJob, chosen: Chosen<'_>, checks: &PartChecks) -> Value {
    let bent = chosen.bent;
    let bounds = bent.unfolding.shape.bounds();
    let bends = bent.table.bends.iter().zip(&bent.unfolding.bends);
    json!({
        "part": chosen.name,
        "material": loaded.parts[chosen.index].material.to_string(),
        "grade": bent.grade.to_string(),
        "method": bent.method.to_string(),
        "thickness": bent.unfolding.thickness,
        "weight": weight(loaded, chosen.index),
        "flat_size": [bounds.width(), bounds.height()],
        "frame": PartFrame::IN_WORDS,
        "bends": bends.map(|(row, bend)| of_bend(row, bend)).collect::<Vec<_>>(),
        "general_tolerances": loaded.tolerances.map(|class| class.word()),
        "springback": typical_springback(bent.grade).map(|(low, high)| [low, high]),
        "runs": bent.table.runs.iter().map(of_run).collect::<Vec<_>>(),
        "bending_plan": checks.plan.as_ref().map(of_plan),
        "by_hand": checks.by_hand.iter().map(of_hand_plan).collect::<Vec<_>>(),
        "findings": gathered(&checks.findings).iter().map(finding_as_json).collect::<Vec<_>>(),
    })
}

fn of_bend(row: &BendRow, bend: &FlatBend) -> Value {
    json!({
        "number": row.number,
        "face": row.face,
        "parent": row.parent,
        "angle": row.turn,
        "direction": row.direction.to_string(),
        "inside_radius": row.inside_radius,
        "k": row.k,
        "allowance": row.allowance,
        "setback": row.setback,
        "deduction": row.deduction,
        "length": row.length,
        "line": bend.line.map(|point| [point.x, point.y]),
        "begins": bend.start.map(|point| [point.x, point.y]),
        "ends": bend.end.map(|point| [point.x, point.y]),
        "basis": row.basis,
    })
}

fn of_run(run: &Run) -> Value {
    let rows = run.rows.iter().map(|row| match row {
        RunRow::Leg { face, told, taken_before, taken_after, straight, running } => json!({
            "face": face, "told": told, "taken_before": taken_before, "taken_after": taken_after,
            "adds": straight, "running": running,
        }),
        RunRow::Bend { number, allowance, running } => {
            json!({ "bend": number, "adds": allowance, "running": running })
        }
    });
    json!({
        "rows": rows.collect::<Vec<_>>(),
        "told": run.told,
        "deducted": run.deducted,
        "flat_length": run.flat_length,
    })
}

fn order(order: Order) -> &'static str {
    match order {
        Order::Found => "found",
        Order::None => "none",
        Order::GivenUp => "given up",
        Order::NoBrake => "no brake",
    }
}

fn of_hand_plan(plan: &HandPlan) -> Value {
    let step = |step: &HandStep| {
        json!({
            "bends": std::iter::once(step.bend).chain(step.also.iter().copied()).map(|bend| bend + 1).collect::<Vec<_>>(),
            "face": step.face,
            "is_face_clamped": step.is_face_clamped,
            "angle": step.turn,
            "direction": step.direction.to_string(),
            "length": step.span,
            "sight_line": step.sight_line,
            "flange": step.flange,
            "fingers": step.fingers,
            "is_hem": step.is_hem,
        })
    };
    let blocked = plan
        .blocked
        .iter()
        .map(|one| json!({ "face": one.face, "obstacle": one.obstacle.in_words(|mm| format!("{mm} mm")) }));
    json!({
        "bender": plan.bender,
        "order": order(plan.order),
        "steps": plan.steps.iter().map(step).collect::<Vec<_>>(),
        "blocked": blocked.collect::<Vec<_>>(),
    })
}

fn of_plan(plan: &BendingPlan) -> Value {
    let order = order(plan.order);
    let blocked = plan
        .blocked
        .iter()
        .map(|blocked| {
            let help = blocked.help.map(|help| help.in_words(|mm| format!("{mm} mm")));
            json!({ "face": blocked.face, "obstacle": blocked.obstacle.to_string(), "help": help })
        })
        .collect::<Vec<_>>();
    json!({ "machine": plan.machine, "order": order, "steps": plan.steps.iter().map(of_step).collect::<Vec<_>>(), "blocked": blocked, "tried": { "set_ups": plan.effort.ways, "stages": plan.effort.sets } })
}

fn of_step(step: &BendStep) -> Value {
    let gauge = step
        .gauge
        .as_ref()
        .map(|gauge| json!({ "distance": gauge.distance, "face": gauge.face, "is_straight": gauge.is_straight }));
    json!({
        "bend": step.bend + 1,
        "bends": std::iter::once(step.bend).chain(step.also.iter().copied()).map(|bend| bend + 1).collect::<Vec<_>>(),
        "face": step.face,
        "angle": step.turn,
        "direction": step.direction.to_string(),
        "length": step.length,
        "die_opening": step.die.opening,
        "punch": step.punch,
        "punch_length": step.punch_length,
        "punch_may_be_longer": step.punch_may_be_longer,
        "punch_pieces": step.punch_pieces,
        "uncovered": step.uncovered,
        "inside_radius": step.inside_radius,
        "radius_in_die": [step.radius_in_die.0, step.radius_in_die.1],
        "force_per_metre": step.pressure.kilonewtons_per_metre(),
        "force": step.force,
        "legs": step.legs,
        "least_leg": step.least_leg,
        "backgauge": gauge,
        "is_hem": step.hem.is_some(),
        "hem": step.hem.map(|kind| kind.to_string()),
    })
}
