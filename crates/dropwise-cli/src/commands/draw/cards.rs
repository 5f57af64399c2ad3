//! Bend cards from what the plan carries: the part laid flat, the steps at the brake, the findings of the checks.

use dropwise_formats::plan_json::types::{BendStepEntry, FindingEntry, HandStepEntry, PartEntry, PlanDocument};
use dropwise_paper::{BendCard, CardStep};
use dropwise_shop::bend::{Bend, HemKind};
use dropwise_shop::stock_in_words;

use super::bench::Bench;
use super::files::Drawn;

/// What each bend of a part is called on all pages: the number of its step, with a letter where a step makes several. Bends
/// that no step makes come after the steps.
pub(super) fn bend_names(entry: &PartEntry) -> Vec<String> {
    let steps: Vec<&[usize]> = match (&entry.bending, &entry.by_hand) {
        (_, Some(by_hand)) => by_hand.steps.iter().map(|step| step.bends.as_slice()).collect(),
        (Some(bending), None) => bending.steps.iter().map(|step| step.bends.as_slice()).collect(),
        (None, None) => Vec::new(),
    };
    let mut next = steps.len();
    let name = |bend: usize| {
        for (number, bends) in steps.iter().enumerate() {
            if let Some(at) = bends.iter().position(|&other| other == bend) {
                let letter = u8::try_from(at).ok().filter(|_| bends.len() > 1).map(|at| char::from(b'a' + at % 26));
                return format!("{}{}", number + 1, letter.map_or_else(String::new, |letter| letter.to_string()));
            }
        }
        next += 1;
        next.to_string()
    };
    (0..entry.bends.len()).map(name).collect()
}

/// A card for each bent part that is placed and that the plan tells enough of.
pub(super) fn bend_cards(drawn: &Drawn<'_>, bench: &Bench) -> Vec<BendCard> {
    let parts =
        drawn.document.parts.iter().enumerate().filter(|(_, entry)| entry.placed > 0 && !entry.bends.is_empty());
    let tolerances = drawn.loaded.tolerances.map_or_else(String::new, |class| format!(" · general tolerances {class}"));
    let told = |card: BendCard| BendCard { metal: format!("{}{tolerances}", card.metal), ..card };
    parts.filter_map(|(index, entry)| card(bench, index, entry).map(told)).collect()
}

fn card(bench: &Bench, part: usize, entry: &PartEntry) -> Option<BendCard> {
    let unfolding = entry.unfolding()?;
    let names = bend_names(entry);
    let (mut steps, mut warnings) = (Vec::new(), Vec::new());
    if let Some(by_hand) = &entry.by_hand {
        warnings.push(format!("Steps on the {}.", by_hand.bender));
        steps = by_hand.steps.iter().enumerate().map(|(number, step)| hand_step(bench, entry, number, step)).collect();
    } else if let Some(bending) = &entry.bending {
        if let Some(machine) = bending.machine.as_ref().filter(|machine| *machine != "press brake") {
            warnings.push(format!("Steps at the {machine}."));
        }
        match bending.order.as_str() {
            "found" => {}
            "no brake" => warnings.push(
                "The shop has no press brake with a punch and a die: bend by the lines, outer ones first.".to_owned(),
            ),
            "none" => {
                warnings.push("NO ORDER of bends was found that this brake can make; as far as it goes:".to_owned())
            }
            _ => warnings.push("No order of bends was found in reasonable time; as far as it goes:".to_owned()),
        }
        warnings.extend(bending.left.iter().map(|left| format!("Not made: {left}.")));
        steps = bending.steps.iter().enumerate().map(|(number, step)| card_step(bench, entry, number, step)).collect();
    }
    // Without an order from the brake, bends still have to be made: in the order of their numbers.
    if steps.is_empty() {
        steps = (0..entry.bends.len()).map(|bend| by_hand(bench, entry, &names, bend)).collect();
    }
    Some(BendCard {
        part,
        name: entry.name.clone(),
        count: entry.placed,
        metal: stock_in_words(&entry.class, bench.lengths.unit),
        unfolding,
        names,
        steps,
        warnings,
        findings: entry.findings.iter().map(finding_in_words).collect(),
        holes: bench.notes.iter().filter(|note| note.part == part).cloned().collect(),
    })
}

/// `left web, right web up 90°`: faces that are bent alike share their words.
fn brought_up(entry: &PartEntry, bends: &[usize]) -> String {
    let mut said: Vec<(Vec<&str>, String)> = Vec::new();
    for bend in bends.iter().filter_map(|&bend| entry.bends.get(bend)) {
        let turn = format!("{:.1}", bend.turn_deg);
        let turn = turn.strip_suffix(".0").unwrap_or(&turn);
        let way = format!("{} {turn}°", if bend.is_up { "up" } else { "down" });
        match said.last_mut() {
            Some((names, last)) if *last == way => names.push(&bend.name),
            _ => said.push((vec![&bend.name], way)),
        }
    }
    said.iter().map(|(names, way)| format!("{} {way}", names.join(", "))).collect::<Vec<_>>().join(", ")
}

fn card_step(bench: &Bench, entry: &PartEntry, number: usize, step: &BendStepEntry) -> CardStep {
    let size = |mm: f64| bench.lengths.in_words(mm);
    let gauge = match (step.gauge, &step.gauge_face) {
        (Some(distance), Some(face)) if step.is_gauge_straight => format!("gauge {}, against {face}", size(distance)),
        (Some(distance), Some(face)) => format!("gauge {}: {face} is not straight, use the line", size(distance)),
        _ => "no gauge: use the scribed line".to_owned(),
    };
    let hem = step.bends.first().map_or_else(String::new, |&bend| pressed(bench, entry, bend));
    CardStep {
        name: (number + 1).to_string(),
        bends: step.bends.clone(),
        what: format!("{}{hem}", brought_up(entry, &step.bends)),
        set_up: format!("die {}, punch {}", bench.lengths.in_trade(step.die), size(step.punch_length)),
        gauge,
    }
}

fn hand_step(bench: &Bench, entry: &PartEntry, number: usize, step: &HandStepEntry) -> CardStep {
    let hem = step.bends.first().map_or_else(String::new, |&bend| pressed(bench, entry, bend));
    let side = if step.sight_line < 0.0 { "what swings" } else { "what is clamped" };
    let clamped = if step.is_face_clamped { "clamp the flange, the rest swings" } else { "the flange swings" };
    let fingers: Vec<String> = step.fingers.iter().map(|&finger| bench.lengths.in_trade(finger)).collect();
    let fingers = if fingers.is_empty() { String::new() } else { format!("; fingers {}", fingers.join(" + ")) };
    CardStep {
        name: (number + 1).to_string(),
        bends: step.bends.clone(),
        what: format!("{}{hem}", brought_up(entry, &step.bends)),
        set_up: format!("{clamped}{fingers}"),
        gauge: format!(
            "sight line {} from the bend line, towards {side}",
            bench.lengths.in_trade(step.sight_line.abs())
        ),
    }
}

/// How a hem is finished, by its kind: flattened, an open one or a teardrop is scrap.
/// Nothing is said of other bends.
fn pressed(bench: &Bench, entry: &PartEntry, bend: usize) -> String {
    let Some(told) = entry.bends.get(bend) else { return String::new() };
    let made = Bend::new(entry.thickness, told.inside_radius, told.turn_deg);
    match made.ok().as_ref().and_then(HemKind::of) {
        Some(HemKind::Open) => {
            format!(", then press onto a filler {} thick", bench.lengths.in_trade(2.0 * told.inside_radius))
        }
        Some(HemKind::Teardrop) => ", then press only until its edge touches".to_owned(),
        Some(HemKind::Closed) => ", then press flat".to_owned(),
        None => String::new(),
    }
}

/// A bend of which no machine is told: the sight line is what it is set by.
fn by_hand(bench: &Bench, entry: &PartEntry, names: &[String], bend: usize) -> CardStep {
    let told = &entry.bends[bend];
    let sight = told.allowance / 2.0 - told.inside_radius;
    let side = if sight < 0.0 { "flange" } else { "clamped face" };
    CardStep {
        name: names[bend].clone(),
        bends: vec![bend],
        what: format!("{}{}", brought_up(entry, &[bend]), pressed(bench, entry, bend)),
        set_up: format!("inside radius {}", bench.lengths.in_trade(told.inside_radius)),
        gauge: format!("sight line {} from the bend line, towards the {side}", bench.lengths.in_trade(sight.abs())),
    }
}

fn finding_in_words(finding: &FindingEntry) -> String {
    let word = match finding.severity.as_str() {
        "stop" => "CANNOT BE MADE SO",
        "warn" => "Mind",
        _ => "Note",
    };
    format!("{word}: {}. {}.", finding.problem, finding.cure.trim_end_matches('.'))
}

/// What the checks say of each part, by its index.
pub(super) fn findings(document: &PlanDocument) -> Vec<(usize, String)> {
    let parts = document.parts.iter().enumerate().filter(|(_, entry)| entry.placed > 0);
    parts
        .flat_map(|(index, entry)| entry.findings.iter().map(move |finding| (index, finding_in_words(finding))))
        .collect()
}
