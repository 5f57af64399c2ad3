//! The cut plan as tables to print: what the shop crate works out, in words.

use dropwise_geometry::Point;
use dropwise_model::{Job, Plan};
use dropwise_shop::cutplan::{Cut, CutPlan, EndOfCut, InsideCorner, Manner, RoundCut, Step, WorkRates, goes_round};

use crate::details::LengthStyle;
use crate::drawing::copies::{copies, copy_key};
use crate::tables::{PaperColumn, PaperTable};

/// Keys of the parts on a sheet, in the order of its placements.
pub(crate) fn keys(job: &Job, plan: &Plan, use_index: usize) -> Vec<String> {
    let used = &plan.layout().sheets[use_index];
    let numbers = &copies(job, plan.layout())[use_index];
    used.placements.iter().zip(numbers).map(|(placement, &copy)| copy_key(placement.part, copy)).collect()
}

fn of(keys: &[String], part: usize) -> &str {
    keys.get(part).map_or("", String::as_str)
}

/// The cut plan of a sheet of a plan as a table: the steps in order with boxes to tick; above them the totals, what a
/// shear would part, and what holds for this sheet alone.
///
/// # Panics
/// If the plan was made for another job or has no such sheet.
#[must_use]
pub fn cut_plan_tables(
    job: &Job,
    plan: &Plan,
    use_index: usize,
    cut_plan: &CutPlan,
    lengths: LengthStyle,
) -> Vec<PaperTable> {
    let keys = keys(job, plan, use_index);
    // A fraction must not come to stand on another line than its whole number.
    let number = |distance: f64| lengths.bare(distance).replace(' ', "\u{a0}");
    let place = |point: Point| cut_plan.datum.distances(point).map(number).join(", ");
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut at = 0;
    while let Some(step) = cut_plan.steps.get(at) {
        let round = cuts_in_one_go(&cut_plan.steps[at..]);
        let holes = holes_in_one_go(&cut_plan.steps[at..]);
        let corners = corners_in_one_go(cut_plan, &cut_plan.steps[at..]);
        let (outlines, outlined) = rings_in_one_go(&cut_plan.steps[at..], Ring::Outline);
        let (openings, opened) = rings_in_one_go(&cut_plan.steps[at..], Ring::Opening);
        at += round.len().max(holes.len()).max(corners.len()).max(outlined).max(opened).max(1);
        let (part, what, tool, at) = match step {
            Step::Cut(first) if openings.len() > 1 => (
                "several".to_owned(),
                rings_in_words(&keys, &openings, Ring::Opening),
                first.tool.map_or_else(String::new, |tool| tool.name().to_owned()),
                "as marked out".to_owned(),
            ),
            Step::Cut(first) if outlines.len() > 1 => (
                "several".to_owned(),
                rings_in_words(&keys, &outlines, Ring::Outline),
                first.tool.map_or_else(String::new, |tool| tool.name().to_owned()),
                "as marked out".to_owned(),
            ),
            Step::Corner(_) if corners.len() > 1 => (
                "several".to_owned(),
                format!(
                    "{} inside corners, radius {}: {}",
                    corners.len(),
                    lengths.tool_size(corners[0].radius),
                    counted(&keys, corners.iter().map(|corner| corner.placement))
                ),
                corners[0].tool.map_or_else(|| "by hand".to_owned(), |tool| tool.to_string()),
                "as marked out: arcs".to_owned(),
            ),
            Step::Cut(first) if round.len() > 1 => (
                of(&keys, first.placement).to_owned(),
                round_in_words(&round),
                first.tool.map_or_else(String::new, |tool| tool.name().to_owned()),
                format!("begins at {}", place(first.side.start())),
            ),
            Step::Hole(first) if holes.len() > 1 => (
                if holes.iter().all(|hole| hole.placement == first.placement) {
                    of(&keys, first.placement).to_owned()
                } else {
                    "several".to_owned()
                },
                format!(
                    "{} round holes Ø {}: {}",
                    holes.len(),
                    lengths.tool_size(2.0 * first.circle.radius),
                    holes_by_part(&keys, &holes)
                ),
                first.method.to_string(),
                "as marked out".to_owned(),
            ),
            Step::Hole(hole) => (
                of(&keys, hole.placement).to_owned(),
                format!("round hole Ø {}", lengths.tool_size(2.0 * hole.circle.radius)),
                hole.method.to_string(),
                place(hole.circle.center),
            ),
            Step::Corner(corner) => match cut_plan.corners.get(*corner) {
                Some(corner) => {
                    let [one, other] = corner.tangent_points.map(place);
                    (
                        of(&keys, corner.placement).to_owned(),
                        format!(
                            "inside corner, radius {}; cuts meet it at {one} and {other}",
                            lengths.tool_size(corner.radius)
                        ),
                        corner.tool.map_or_else(|| "by hand".to_owned(), |tool| tool.to_string()),
                        place(corner.center),
                    )
                }
                None => Default::default(),
            },
            Step::Stroke(cut) => (
                "sheet".to_owned(),
                format!(
                    "stroke {} the datum edge, {} long",
                    if cut.axis == 0 { "square to" } else { "along" },
                    lengths.with_unit(cut.length())
                ),
                "shear".to_owned(),
                {
                    let [from, to] = cut.span.map(number);
                    format!("at {}, from {from} to {to}", number(cut.at))
                },
            ),
            Step::Cut(cut) => (
                of(&keys, cut.placement).to_owned(),
                cut_in_words(cut),
                cut.tool.map_or_else(|| "no tool listed".to_owned(), |tool| tool.name().to_owned()),
                format!("{} to {}", place(cut.side.start()), place(cut.side.end())),
            ),
        };
        rows.push(vec![(rows.len() + 1).to_string(), part, tool, what, at]);
    }
    let steps = PaperTable {
        title: "Cut plan, step by step".to_owned(),
        notes: cut_plan.warnings(|mm| lengths.with_unit(mm)),
        columns: vec![
            PaperColumn::numbers("step"),
            PaperColumn::words("part"),
            PaperColumn::words("with"),
            PaperColumn::words("what"),
            PaperColumn::words("where"),
        ],
        rows,
        has_boxes: true,
    };
    let said = [Some(totals_in_words(cut_plan, lengths)), sheared_in_words(&keys, cut_plan)];
    vec![PaperTable { notes: said.into_iter().flatten().chain(steps.notes).collect(), ..steps }]
}

/// Lengths, holes, wheels and time in one line that adds up: what each tool takes, then all together.
fn totals_in_words(cut_plan: &CutPlan, lengths: LengthStyle) -> String {
    let totals = &cut_plan.totals;
    let mut said: Vec<String> = Vec::new();
    for total in &totals.cutters {
        let minutes = match total.minutes {
            None => "time not known".to_owned(),
            Some(minutes) if minutes < 0.5 => "under 1 min".to_owned(),
            Some(minutes) => format!("{minutes:.0} min"),
        };
        said.push(format!("{} {} of cut, {minutes}", total.process.name(), lengths.in_total(total.length)));
    }
    for (name, count) in [("drilled", totals.drilled), ("sawn", totals.sawn), ("punched", totals.punched)] {
        if count > 0 {
            said.push(format!("{count} holes {name}"));
        }
    }
    if totals.strokes > 0 {
        said.push(format!("{} strokes of the shear, {}", totals.strokes, lengths.in_total(totals.sheared)));
    }
    if totals.wheels > 0.0 {
        said.push(format!("about {:.1} cutoff wheels", totals.wheels));
    }
    said.push(format!("all together, setting up included, about {:.0} min", totals.minutes));
    format!("{}.", said.join("; "))
}

/// Which blanks full-width cuts would part, whether or not the shop has a shear; nothing where they would part none.
fn sheared_in_words(keys: &[String], cut_plan: &CutPlan) -> Option<String> {
    let (free, stuck) = (&cut_plan.shear.free, cut_plan.shear.stuck.iter().map(Vec::len).sum::<usize>());
    let names = free.iter().map(|&index| of(keys, index)).collect::<Vec<_>>().join(", ");
    match (free.len(), stuck) {
        (0, 0) => Some("Nothing lies on this sheet.".to_owned()),
        (0, _) => None,
        (_, 0) => Some("Shear: full-width cuts part all blanks of this sheet.".to_owned()),
        (count, stuck) => Some(format!("Shear: full-width cuts part {count} of {} blanks: {names}.", count + stuck)),
    }
}

/// The rates behind the times of a cut plan, as far as it uses them, each with its source.
#[must_use]
pub fn rate_table(cut_plan: &CutPlan, rates: &WorkRates, thickness: f64, lengths: LengthStyle) -> PaperTable {
    let totals = &cut_plan.totals;
    let mut rows = Vec::new();
    for total in &totals.cutters {
        if let Some((_, rate)) = rates.speeds.iter().find(|(process, _)| *process == total.process) {
            let speed = lengths.in_a_minute(rate.value.at(thickness));
            rows.push(vec![format!("speed of the {}", total.process), speed, rate.source.to_string()]);
        }
    }
    let minutes = |value: f64| format!("{value} min");
    let section = rates.section_per_wheel;
    let per_wheel = lengths.in_total(section.value / thickness);
    let set_ups: usize = totals.cutters.iter().map(|total| total.set_ups).sum();
    for (is_used, what, value, source) in [
        (set_ups > 0, "setting up one cut by hand", minutes(rates.minutes_per_cut.value), rates.minutes_per_cut.source),
        (
            totals.strokes > 0,
            "a stroke of the shear",
            minutes(rates.minutes_per_stroke.value),
            rates.minutes_per_stroke.source,
        ),
        (
            totals.drilled > 0,
            "a drilled hole",
            minutes(rates.minutes_per_drilled_hole.value),
            rates.minutes_per_drilled_hole.source,
        ),
        (
            totals.sawn > 0,
            "a hole with a hole saw",
            minutes(rates.minutes_per_sawn_hole.value),
            rates.minutes_per_sawn_hole.source,
        ),
        (
            totals.punched > 0,
            "a punched hole",
            minutes(rates.minutes_per_punched_hole.value),
            rates.minutes_per_punched_hole.source,
        ),
        (totals.wheels > 0.0, "cut of one wheel in this sheet", per_wheel, section.source),
    ] {
        if is_used {
            rows.push(vec![what.to_owned(), value, source.to_string()]);
        }
    }
    PaperTable {
        title: "Cut plan: rates behind the times".to_owned(),
        columns: vec![PaperColumn::words("what"), PaperColumn::numbers("rate"), PaperColumn::words("source")],
        rows,
        ..PaperTable::default()
    }
}

/// The cuts that a tool makes round one outline or opening without being set down, from the first step on.
fn cuts_in_one_go(steps: &[Step]) -> Vec<&Cut> {
    let cuts = steps.iter().map_while(|step| if let Step::Cut(cut) = step { Some(cut) } else { None });
    let mut round: Vec<&Cut> = Vec::new();
    for cut in cuts {
        let is_same = round
            .first()
            .is_none_or(|first| (first.placement, first.ring, first.tool) == (cut.placement, cut.ring, cut.tool));
        if !is_same || !cut.tool.is_some_and(goes_round) {
            break;
        }
        round.push(cut);
    }
    round
}

/// Holes that one tool makes one after the other, from the first step on: one setting of the drill.
fn holes_in_one_go(steps: &[Step]) -> Vec<&RoundCut> {
    let mut holes: Vec<&RoundCut> = Vec::new();
    for step in steps {
        let Step::Hole(hole) = step else { break };
        let is_same = holes
            .first()
            .is_none_or(|first| first.method == hole.method && (first.circle.radius - hole.circle.radius).abs() < 1e-3);
        if !is_same {
            break;
        }
        holes.push(hole);
    }
    holes
}

/// Inside corners that one tool makes one after the other, from the first step on: one setting of the drill.
fn corners_in_one_go<'a>(cut_plan: &'a CutPlan, steps: &[Step]) -> Vec<&'a InsideCorner> {
    let mut corners: Vec<&InsideCorner> = Vec::new();
    for step in steps {
        let Step::Corner(index) = step else { break };
        let Some(corner) = cut_plan.corners.get(*index) else { break };
        let is_same = corners
            .first()
            .is_none_or(|first| first.tool == corner.tool && (first.radius - corner.radius).abs() < 1e-3);
        if !is_same {
            break;
        }
        corners.push(corner);
    }
    corners
}

/// Which rings of parts are cut.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Ring {
    /// The outer one: the cut sets the part free.
    Outline,
    /// One within the part.
    Opening,
}

/// Rings of one kind that one tool cuts one after the other, each in one go; and how many steps they are.
fn rings_in_one_go(steps: &[Step], kind: Ring) -> (Vec<Vec<&Cut>>, usize) {
    let mut rings: Vec<Vec<&Cut>> = Vec::new();
    let mut at = 0;
    loop {
        let round = cuts_in_one_go(&steps[at..]);
        let is_wanted = match kind {
            Ring::Outline => round.first().is_some_and(|cut| cut.ring == 0) && round.iter().any(|cut| cut.is_release),
            Ring::Opening => round.first().is_some_and(|cut| cut.ring > 0),
        };
        let tool = rings.first().and_then(|first| first.first()).map(|cut| cut.tool);
        if !is_wanted || tool.is_some_and(|tool| Some(tool) != round.first().map(|cut| cut.tool)) {
            return (rings, at);
        }
        at += round.len();
        rings.push(round);
    }
}

/// `outlines in this order: J2, A3, A4; each frees its part; stop short of the inside corners of A3, A4`.
fn rings_in_words(keys: &[String], outlines: &[Vec<&Cut>], kind: Ring) -> String {
    let key = |round: &Vec<&Cut>| round.first().map_or("", |cut| of(keys, cut.placement)).to_owned();
    let order: Vec<String> = outlines.iter().map(key).collect();
    let mut words = match kind {
        Ring::Outline => format!("outlines in this order: {}; each frees its part", order.join(", ")),
        Ring::Opening => format!("openings in this order: {}", order.join(", ")),
    };
    for (wanted, what) in [
        (EndKind::Hole, "the cuts end in the corners' holes of"),
        (EndKind::Short, "stop short of the inside corners of"),
    ] {
        let is_so = |round: &&Vec<&Cut>| {
            round.iter().flat_map(|cut| &cut.ends).any(|end| match end {
                EndOfCut::Corner(_) => wanted == EndKind::Hole,
                EndOfCut::StopShort => wanted == EndKind::Short,
                EndOfCut::Open => false,
            })
        };
        let named: Vec<String> = outlines.iter().filter(is_so).map(key).collect();
        if !named.is_empty() {
            words.push_str(&format!("; {what} {}", named.join(", ")));
        }
    }
    words
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum EndKind {
    Hole,
    Short,
}

/// Which parts holes lie in, and how many in each: `A1 (4), C2`.
fn holes_by_part(keys: &[String], holes: &[&RoundCut]) -> String {
    counted(keys, holes.iter().map(|hole| hole.placement))
}

/// Parts with how often each comes: `A1 (4), C2`.
fn counted(keys: &[String], placements: impl Iterator<Item = usize>) -> String {
    let mut counts: Vec<(usize, usize)> = Vec::new();
    for placement in placements {
        match counts.iter_mut().find(|(part, _)| *part == placement) {
            Some((_, count)) => *count += 1,
            None => counts.push((placement, 1)),
        }
    }
    counts.sort_unstable();
    let named = counts.into_iter().map(|(part, count)| match count {
        1 => of(keys, part).to_owned(),
        count => format!("{}\u{a0}({count})", of(keys, part)),
    });
    named.collect::<Vec<_>>().join(", ")
}

fn round_in_words(round: &[&Cut]) -> String {
    let ring = if round.iter().any(|cut| cut.ring > 0) { "opening" } else { "outline" };
    let mut words = format!("cut round the {ring}, {} sides", round.len());
    let ends = || round.iter().flat_map(|cut| cut.ends.iter());
    if ends().any(|end| matches!(end, EndOfCut::Corner(_))) {
        words.push_str("; meet the corners' holes");
    }
    if ends().any(|end| matches!(end, EndOfCut::StopShort)) {
        words.push_str("; mind the inside corners");
    }
    if round.iter().any(|cut| cut.is_release) {
        words.push_str("; frees the part");
    }
    words
}

fn cut_in_words(cut: &Cut) -> String {
    let mut words = match cut.manner {
        Manner::Straight => "straight cut",
        Manner::Curve => "cut along the curve",
        Manner::FlatsThenGrind => "cut in flats, then grind to the line",
    }
    .to_owned();
    if cut.ring > 0 {
        words.push_str(", in an opening");
    }
    for (end, name) in cut.ends.iter().zip(["begins", "ends"]) {
        match end {
            EndOfCut::Open => {}
            EndOfCut::Corner(_) => words.push_str(&format!("; {name} in the corner's hole")),
            EndOfCut::StopShort => words.push_str(&format!("; {name} short of the inside corner")),
        }
    }
    if cut.is_release {
        words.push_str("; frees the part");
    }
    words
}
