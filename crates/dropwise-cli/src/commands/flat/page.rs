//! The figures of bent parts, for people.

use dropwise_formats::{BentDetail, LoadedJob};
use dropwise_geometry::{Unit, format_length};
use dropwise_shop::PartFrame;
use dropwise_shop::bend::{
    ANGULAR_SOURCE, BEND_ANGLE_HELD, BEND_ANGLE_SOURCE, FORMULA_SOURCE, LINEAR_SOURCE, SHORT_TON, SPRINGBACK_SOURCE,
    k_spread, typical_springback,
};
use dropwise_shop::bend_plan::{BendStep, BendingPlan, HandPlan, Order};
use dropwise_shop::check::gathered;
use dropwise_shop::fold::{BendRow, FlatBend, Run, RunRow};

use super::Chosen;
use crate::commands::check::told;
use crate::ink::Ink;
use crate::shop_checks::{CautionChoice, PartChecks, cautions_of, weight};
use crate::table::Table;
use crate::text::{cleaned, wrapped};

pub(super) fn page(
    loaded: &LoadedJob,
    chosen: &[Chosen<'_>],
    checks: &[PartChecks],
    cautions: CautionChoice,
    ink: Ink,
) -> String {
    let mut page = String::new();
    for (part, checks) in chosen.iter().zip(checks) {
        page.push_str(&of_part(loaded, *part, checks, ink));
    }
    let parts: Vec<usize> = chosen.iter().map(|part| part.index).collect();
    page.push_str(&cautions.told("Mind before you begin", &cautions_of(loaded, &parts), ink));
    page
}

fn of_part(loaded: &LoadedJob, chosen: Chosen<'_>, checks: &PartChecks, ink: Ink) -> String {
    let (unit, bent) = (loaded.unit, chosen.bent);
    let bounds = bent.unfolding.shape.bounds();
    let detail = &loaded.parts[chosen.index];
    let mut page = format!("{}\n", ink.strong(&cleaned(chosen.name)));
    let kilograms = dropwise_shop::weight::format_weight(weight(loaded, chosen.index), unit);
    page.push_str(&wrapped(
        "",
        0,
        &format!(
            "{}, {} thick, bent as {}, {}. Flat {} x {} {unit}, {kilograms}. Lengths below in {unit}.",
            detail.material,
            format_length(detail.thickness.millimetres(), unit),
            bent.grade,
            bent.method,
            figure(bounds.width(), unit),
            figure(bounds.height(), unit),
        ),
    ));
    page.push_str(&format!("\n{}\n", ink.strong("Bends")));
    let mut table = Table::new(&["Bend", "angle", "way", "radius", "K", "allow.", "setback", "deduct."]);
    for row in &bent.table.bends {
        table.row(bend_cells(row, unit));
    }
    page.push_str(&table.render(ink));
    let mut lines = Table::new(&["Bend line", "from x", "y", "to x", "y", "length"]);
    for (row, bend) in bent.table.bends.iter().zip(&bent.unfolding.bends) {
        lines.row(line_cells(row, bend, unit));
    }
    page.push('\n');
    page.push_str(&lines.render(ink));
    page.push_str(&wrapped("", 0, &format!("Measured {}.", PartFrame::IN_WORDS)));
    let mut bases: Vec<&str> = bent.table.bends.iter().map(|row| row.basis.as_str()).collect();
    bases.dedup();
    for basis in bases {
        page.push_str(&wrapped("", 0, &format!("Allowance by K {basis}.")));
    }
    page.push_str(&spread(bent, unit));
    page.push_str(&springback(bent));
    page.push_str(&wrapped(
        "",
        0,
        &format!(
            "Allowance = pi/180 x angle x (radius + K x thickness); setback = (radius + thickness) x tan(angle/2); deduction = \
             2 x setback - allowance [{FORMULA_SOURCE}]."
        ),
    ));
    page.push_str(&general_tolerances(loaded, bent));
    for (index, run) in bent.table.runs.iter().enumerate() {
        page.push_str(&format!(
            "\n{}\n{}",
            ink.strong(&format!("Across, line {}", index + 1)),
            run_table(run, unit, ink)
        ));
    }
    if let Some(plan) = &checks.plan {
        page.push_str(&format!(
            "\n{}\n{}",
            ink.strong(&format!("At the {}", plan.machine)),
            plan_text(plan, unit, ink)
        ));
    }
    for plan in &checks.by_hand {
        page.push_str(&format!(
            "\n{}\n{}",
            ink.strong(&format!("By hand: {}", cleaned(&plan.bender))),
            by_hand(plan, unit, ink)
        ));
    }
    if !checks.findings.is_empty() {
        page.push_str(&format!("\n{}\n", ink.strong("Shop checks")));
        page.extend(gathered(&checks.findings).iter().map(|group| told(group, loaded, ink)));
    }
    page.push('\n');
    page
}

/// How far apart the published tables of K are for the bends whose K comes from a table, in lengths.
fn spread(bent: &BentDetail, unit: Unit) -> String {
    let mut page = String::new();
    let mut told: Vec<String> = Vec::new();
    for bend in &bent.unfolding.bends {
        let is_own = bend.development.source().is_none();
        let Some(spread) = k_spread(bent.method, bent.grade, &bend.figures.bend, bend.figures.allowance) else {
            continue;
        };
        if is_own {
            continue; // a K of the shop's own needs no table
        }
        let text = format!(
            "Other tables give K {:.2} to {:.2} for such a bend: {} to {} on the flat length of each; fold a strip where \
             that matters.",
            spread.k.0,
            spread.k.1,
            signed(spread.millimetres.0, unit),
            signed(spread.millimetres.1, unit),
        );
        if !told.contains(&text) {
            page.push_str(&wrapped("", 0, &text));
            told.push(text);
        }
    }
    page
}

fn signed(millimetres: f64, unit: Unit) -> String {
    let sign = if millimetres < 0.0 { "-" } else { "+" };
    format!("{sign}{} {unit}", figure(millimetres.abs(), unit))
}

/// What the general tolerances of the drawing allow the sizes as told.
fn general_tolerances(loaded: &LoadedJob, bent: &BentDetail) -> String {
    let Some(class) = loaded.tolerances else { return String::new() };
    let mut told: Vec<f64> = Vec::new();
    for run in &bent.table.runs {
        told.extend(run.rows.iter().filter_map(|row| match row {
            RunRow::Leg { told, .. } => Some(*told),
            RunRow::Bend { .. } => None,
        }));
    }
    told.sort_by(f64::total_cmp);
    told.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    let unit = loaded.unit;
    let of = |&size: &f64| {
        let held =
            class.linear(size).map_or_else(|| "no figure".to_owned(), |held| format!("± {}", figure(held, unit)));
        format!("{} {held}", figure(size, unit))
    };
    let sizes: Vec<String> = told.iter().map(of).collect();
    let shortest = told.first().copied().unwrap_or_default();
    let angles = class.angular(shortest).map_or_else(String::new, |held| {
        format!(" Angles by their shorter leg, the shortest ± {}° [{ANGULAR_SOURCE}].", (held * 100.0).round() / 100.0)
    });
    let text = format!("General tolerances {class}, in {unit}: {} [{LINEAR_SOURCE}].{angles}", sizes.join("; "));
    wrapped("", 0, &text)
}

/// By how much bends spring open.
fn springback(bent: &BentDetail) -> String {
    let Some((low, high)) = typical_springback(bent.grade) else {
        return wrapped("", 0, &format!("No springback of {} is known: bend a test strip.", bent.grade));
    };
    let text = format!(
        "{} springs open by {low}° to {high}° after a square bend near R = T, by more with a wider radius: bend that much \
         further [{SPRINGBACK_SOURCE}]. Bends hold their angle to {}° to {}° [{BEND_ANGLE_SOURCE}].",
        bent.grade, BEND_ANGLE_HELD.0, BEND_ANGLE_HELD.1
    );
    wrapped("", 0, &text)
}

/// A length as a bare number, fine enough to be followed by hand.
pub(super) fn figure(millimetres: f64, unit: Unit) -> String {
    let value = millimetres / unit.millimetres();
    // No figure is minus nothing.
    let value = if value.abs() < 1e-9 { 0.0 } else { value };
    match unit {
        Unit::Millimetre => format!("{value:.3}"),
        Unit::Centimetre | Unit::Inch => format!("{value:.4}"),
        _ => format!("{value:.6}"),
    }
}

fn bend_cells(row: &BendRow, unit: Unit) -> Vec<String> {
    let optional = |value: Option<f64>| value.map_or("-".to_owned(), |value| figure(value, unit));
    vec![
        format!("{} {}", row.number, cleaned(&row.face)),
        format!("{}", (row.turn * 100.0).round() / 100.0),
        row.direction.to_string(),
        figure(row.inside_radius, unit),
        format!("{:.4}", row.k),
        figure(row.allowance, unit),
        optional(row.setback),
        optional(row.deduction),
    ]
}

fn line_cells(row: &BendRow, bend: &FlatBend, unit: Unit) -> Vec<String> {
    let [from, to] = bend.line;
    let [a, b, c, d] = [from.x, from.y, to.x, to.y].map(|value| figure(value, unit));
    vec![format!("{} {}", row.number, cleaned(&row.face)), a, b, c, d, figure(row.length, unit)]
}

fn run_table(run: &Run, unit: Unit, ink: Ink) -> String {
    let mut table = Table::new(&["", "as told", "less", "less", "adds", "so far"]);
    for row in &run.rows {
        table.row(match row {
            RunRow::Leg { face, told, taken_before, taken_after, straight, running } => vec![
                cleaned(face),
                figure(*told, unit),
                figure(*taken_before, unit),
                figure(*taken_after, unit),
                figure(*straight, unit),
                figure(*running, unit),
            ],
            RunRow::Bend { number, allowance, running } => vec![
                format!("bend {number}"),
                String::new(),
                String::new(),
                String::new(),
                figure(*allowance, unit),
                figure(*running, unit),
            ],
        });
    }
    let sum = format!(
        "Sum as told {} less {} for the bends is {} flat.",
        figure(run.told, unit),
        figure(run.deducted, unit),
        figure(run.flat_length, unit)
    );
    format!("{}{}", table.render(ink), wrapped("", 0, &sum))
}

fn plan_text(plan: &BendingPlan, unit: Unit, ink: Ink) -> String {
    let mut page = String::new();
    match plan.order {
        Order::Found => {}
        Order::NoBrake => return "The shop has no press brake with a punch and a die.\n".to_owned(),
        Order::None => page.push_str(&wrapped(
            "",
            0,
            &format!("No order makes all bends on this brake{}. As far as it goes:", tried(plan)),
        )),
        Order::GivenUp => page.push_str(&wrapped(
            "",
            0,
            &format!("No order was found in the time that is spent on it{}. As far as it goes:", tried(plan)),
        )),
    }
    let mut table = Table::new(&["Step", "die", "gauge", "length", "leg", "least leg", "force"]);
    for (number, step) in plan.steps.iter().enumerate() {
        table.row(vec![
            format!("{}. {} {}", number + 1, cleaned(&step.face), step.direction),
            figure(step.die.opening, unit),
            step.gauge.as_ref().map_or("-".to_owned(), |gauge| figure(gauge.distance, unit)),
            figure(step.length, unit),
            figure(step.legs[0].min(step.legs[1]), unit),
            figure(step.least_leg, unit),
            force(step, unit),
        ]);
    }
    if !plan.steps.is_empty() {
        page.push_str(&table.render(ink));
    }
    for (number, step) in plan.steps.iter().enumerate() {
        page.push_str(&wrapped(&format!("{}. ", number + 1), 3, &step_text(step, unit)));
    }
    for blocked in &plan.blocked {
        let help =
            blocked.help.map_or_else(String::new, |help| format!("; {}", help.in_words(|mm| format_length(mm, unit))));
        page.push_str(&wrapped("- ", 2, &cleaned(&format!("left: \"{}\": {}{help}", blocked.face, blocked.obstacle))));
    }
    page
}

/// The bends on a bender without punch and die.
fn by_hand(plan: &HandPlan, unit: Unit, ink: Ink) -> String {
    let mut page = String::new();
    match plan.order {
        Order::Found => {}
        _ if plan.steps.is_empty() => {}
        _ => page.push_str("It does not make all bends. As far as it goes:\n"),
    }
    let mut table = Table::new(&["Step", "swings", "sight line", "length", "flange"]);
    for (number, step) in plan.steps.iter().enumerate() {
        table.row(vec![
            format!("{}. {} {}", number + 1, cleaned(&step.face), step.direction),
            if step.is_face_clamped { "the rest".to_owned() } else { "the flange".to_owned() },
            figure(step.sight_line, unit),
            figure(step.span, unit),
            figure(step.flange, unit),
        ]);
    }
    if !plan.steps.is_empty() {
        page.push_str(&table.render(ink));
        let text = "Set the sight line under the nose of the bar. It lies so far from the bend line, towards what is clamped; \
                    with a minus sign, towards what swings.";
        page.push_str(&wrapped("", 0, text));
    }
    for (number, step) in plan.steps.iter().enumerate() {
        let mut said = Vec::new();
        if !step.fingers.is_empty() {
            let fingers: Vec<String> = step.fingers.iter().map(|&finger| figure(finger, unit)).collect();
            said.push(format!("fingers {}", fingers.join(" + ")));
        }
        if step.is_hem {
            said.push("fold it as far as it goes, then press it as its hem asks".to_owned());
        }
        if !said.is_empty() {
            page.push_str(&wrapped(&format!("{}. ", number + 1), 3, &format!("{}.", said.join("; "))));
        }
    }
    for one in &plan.blocked {
        let why = one.obstacle.in_words(|mm| format_length(mm, unit));
        page.push_str(&wrapped("- ", 2, &cleaned(&format!("left: \"{}\": {why}", one.face))));
    }
    page
}

/// How much was tried, in words.
fn tried(plan: &BendingPlan) -> String {
    format!(" ({} set-ups at {} stages of the part were tried)", plan.effort.ways, plan.effort.sets)
}

/// How long a punch, in words: any that is longer where nothing stands beside the bend.
fn punch_of(step: &BendStep, unit: Unit) -> String {
    if step.punch_may_be_longer {
        return format!("{}, {} long or longer", step.punch, figure(step.punch_length, unit));
    }
    if !step.punch_pieces.is_empty() {
        let pieces: Vec<String> = step.punch_pieces.iter().map(|&piece| figure(piece, unit)).collect();
        return format!("{} of {} ({})", step.punch, figure(step.punch_length, unit), pieces.join(" + "));
    }
    // What can be put together: whole millimetres or sixteenths of an inch, never longer.
    let step_of = if unit.is_metric() { 1.0 } else { 25.4 / 16.0 };
    let length = ((step.punch_length / step_of + 1e-9).floor() * step_of).max(0.0);
    format!("{} of {}, no longer", step.punch, figure(length, unit))
}

fn force(step: &BendStep, unit: Unit) -> String {
    if unit.is_metric() { format!("{:.1} kN", step.force) } else { format!("{:.2} t", step.force / SHORT_TON) }
}

fn step_text(step: &BendStep, unit: Unit) -> String {
    let per = if unit.is_metric() {
        format!("{:.0} kN a metre", step.pressure.kilonewtons_per_metre())
    } else {
        format!("{:.2} tons a foot", step.pressure.tons_per_foot())
    };
    let (low, high) = step.radius_in_die;
    let gauge = match &step.gauge {
        Some(gauge) if gauge.is_straight => {
            format!("\"{}\" against the backgauge at {}", gauge.face, figure(gauge.distance, unit))
        }
        Some(gauge) => format!(
            "\"{}\" points at the backgauge at {} but has no straight edge there: work to the scribed line",
            gauge.face,
            figure(gauge.distance, unit)
        ),
        None => "the backgauge does not reach: work to the scribed line".to_owned(),
    };
    let hem = step.hem.map_or_else(String::new, |kind| {
        format!("; {}", kind.instruction(&format!("{} {unit}", figure(2.0 * step.inside_radius, unit))))
    });
    let ends = if step.uncovered > 0.0 {
        format!("; {} at each end stay without punch and open by some degrees", figure(step.uncovered, unit))
    } else {
        String::new()
    };
    cleaned(&format!(
        "{}{ends}, {} by {}; {per}; in the air this die makes a radius of {} to {}{hem}; {gauge}.",
        punch_of(step, unit),
        step.direction,
        format_args!("{}°", (step.turn * 100.0).round() / 100.0),
        figure(low, unit),
        figure(high, unit),
    ))
}
