//! Mark-out and cut plan as tables to print: what the shop crate works out, in words.

use dropwise_geometry::{Point, Unit};
use dropwise_model::{Job, Plan};
use dropwise_shop::cutplan::{Cut, CutPlan, EndOfCut, Manner, RoundCut, Step, WorkRates, goes_round};
use dropwise_shop::markout::{Grid, Mark, MarkOut, RunningMark, ScribeUse, Stop};

use crate::details::{HoleNote, LengthStyle};
use crate::drawing::copies::{copies, key};
use crate::tables::{PaperColumn, PaperTable};

/// Keys of the parts on a sheet, in the order of its placements.
pub(crate) fn keys(job: &Job, plan: &Plan, use_index: usize) -> Vec<String> {
    let used = &plan.layout().sheets[use_index];
    let numbers = &copies(job, plan.layout())[use_index];
    let keyed = used.placements.iter().zip(numbers).map(|(placement, copy)| {
        let number = if copy.of > 1 { copy.number.to_string() } else { String::new() };
        format!("{}{number}", key(placement.part))
    });
    keyed.collect()
}

fn of(keys: &[String], part: usize) -> &str {
    keys.get(part).map_or("", String::as_str)
}

/// The mark-out of a sheet of a plan as tables: corners, centres of arcs, round holes by size, lines to scribe. Tables
/// without rows are left out; what must be said of all stands before the first.
///
/// # Panics
/// If the plan was made for another job or has no such sheet.
#[must_use]
pub fn mark_out_tables(job: &Job, plan: &Plan, use_index: usize, mark_out: &MarkOut) -> Vec<PaperTable> {
    tables_of(&keys(job, plan, use_index), mark_out)
}

/// The mark-out of one part by itself, measured from its own datum, as tables.
#[must_use]
pub fn part_mark_out_tables(part: usize, mark_out: &MarkOut) -> Vec<PaperTable> {
    tables_of(&[key(part)], mark_out)
}

/// The stops of a tape hooked over the datum, along the datum edge and square to it: for marking out in one go.
///
/// # Panics
/// If the plan was made for another job or has no such sheet.
#[must_use]
pub fn running_tables(job: &Job, plan: &Plan, use_index: usize, mark_out: &MarkOut) -> Vec<PaperTable> {
    let keys = keys(job, plan, use_index);
    let titles = ["Running, along the datum edge", "Running, square to the datum edge"];
    let tables =
        titles.into_iter().zip(&mark_out.running).filter(|(_, stops)| !stops.is_empty()).map(|(title, stops)| {
            let row = |stop: &RunningMark| vec![mark_out.grid.format(stop.distance), stops_in_words(&keys, stop)];
            PaperTable {
                title: title.to_owned(),
                notes: Vec::new(),
                columns: vec![PaperColumn::numbers("tape"), PaperColumn::words("what is there")],
                rows: stops.iter().map(row).collect(),
                has_boxes: true,
            }
        });
    tables.collect()
}

/// What a tape stops at, part by part: `A1 corners 2, 3, hole; B corner 1`.
fn stops_in_words(keys: &[String], running: &RunningMark) -> String {
    let mut words: Vec<String> = Vec::new();
    let mut at = 0;
    while at < running.marks.len() {
        let part = running.marks[at].0;
        let count = running.marks[at..].iter().take_while(|(other, _)| *other == part).count();
        let stops = &running.marks[at..at + count];
        at += count;
        let corners: Vec<String> = stops
            .iter()
            .filter_map(|(_, stop)| if let Stop::Corner(number) = stop { Some(number.to_string()) } else { None })
            .collect();
        let how_many = |is: fn(&Stop) -> bool| stops.iter().filter(|(_, stop)| is(stop)).count();
        let mut said = Vec::new();
        match corners.len() {
            0 => {}
            1 => said.push(format!("corner {}", corners[0])),
            _ => said.push(format!("corners {}", corners.join(", "))),
        }
        for (count, one, many) in [
            (how_many(|stop| matches!(stop, Stop::Hole)), "hole", "holes"),
            (how_many(|stop| matches!(stop, Stop::ArcCentre(_))), "arc centre", "arc centres"),
            (how_many(|stop| matches!(stop, Stop::Scribe(_))), "scribed line", "scribed lines"),
        ] {
            match count {
                0 => {}
                1 => said.push(one.to_owned()),
                _ => said.push(format!("{count} {many}")),
            }
        }
        words.push(format!("{} {}", of(keys, part), said.join(", ")).trim().to_owned());
    }
    words.join("; ")
}

fn tables_of(keys: &[String], mark_out: &MarkOut) -> Vec<PaperTable> {
    let grid = mark_out.grid;
    let place = |mark: &Mark| mark.from.map(|reading| grid.format(reading));
    let distances = || [PaperColumn::numbers("along the edge"), PaperColumn::numbers("square to it")];
    let with = |first: &[PaperColumn]| first.iter().cloned().chain(distances()).collect::<Vec<_>>();
    let (mut corners, mut arcs, mut holes, mut scribe) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for (index, part) in mark_out.parts.iter().enumerate() {
        let name = of(keys, index);
        for corner in &part.corners {
            let what = match (corner.ring, corner.is_tangent) {
                (0, false) => "",
                (0, true) => "arc",
                (_, false) => "opening",
                (_, true) => "opening, arc",
            };
            let [along, square] = place(&corner.mark);
            corners.push(vec![name.to_owned(), corner.number.to_string(), what.to_owned(), along, square]);
        }
        for arc in &part.arcs {
            let [along, square] = place(&arc.mark);
            let between = format!("{} to {}", arc.between[0], arc.between[1]);
            let note = if arc.is_on_stock { "" } else { "off the metal: use the template" };
            arcs.push(vec![name.to_owned(), between, grid.format(arc.radius), note.to_owned(), along, square]);
        }
        for line in &part.scribe {
            let what = match line.purpose {
                ScribeUse::BendUp => "bend up",
                ScribeUse::BendDown => "bend down",
                ScribeUse::Mark => "mark",
            };
            let ends = line.ends.map(|end| place(&end).join(", "));
            scribe.push(vec![name.to_owned(), what.to_owned(), ends[0].clone(), ends[1].clone()]);
        }
    }
    for group in &mark_out.holes {
        for centre in &group.centres {
            let [along, square] = place(&centre.mark);
            holes.push(vec![
                of(keys, centre.part).to_owned(),
                // A hole saw or drill of this size would make the hole, and its core is smaller than the disc.
                if centre.is_disc { "cut to the line, keep the disc".to_owned() } else { group.method.to_string() },
                format!("Ø {}", beside(grid).tool_size(group.diameter)),
                along,
                square,
            ]);
        }
    }
    let words = PaperColumn::words;
    let mut tables = vec![
        ("Mark out: corners", with(&[words("part"), PaperColumn::numbers("corner"), words("what")]), corners),
        (
            "Mark out: centres of arcs",
            with(&[words("part"), words("corners"), PaperColumn::numbers("radius"), words("note")]),
            arcs,
        ),
        (
            "Mark out: round holes, by size",
            with(&[words("part"), words("tool"), PaperColumn::numbers("diameter")]),
            holes,
        ),
        (
            "Mark out: lines to scribe",
            vec![words("part"), words("line"), PaperColumn::numbers("from"), PaperColumn::numbers("to")],
            scribe,
        ),
    ]
    .into_iter()
    .filter(|(_, _, rows)| !rows.is_empty())
    .map(|(title, columns, rows)| PaperTable {
        title: title.to_owned(),
        notes: Vec::new(),
        columns,
        rows,
        has_boxes: true,
    })
    .collect::<Vec<_>>();
    let has_corners = mark_out.parts.iter().any(|part| !part.corners.is_empty());
    if let Some(first) = tables.first_mut() {
        first.notes = mark_out.statements();
        if has_corners {
            first.notes.push(
                "Corners are numbered round each part in turn, its outline first: join each to the next, and the last of \
                 a ring to its first. Where it says arc, an arc begins or ends; where it says opening, the corner is one of an opening."
                    .to_owned(),
            );
        }
    }
    tables
}

/// How diameters are written beside distances on a grid: not rounded to a tape, for a tool is known by its size.
fn beside(grid: Grid) -> LengthStyle {
    LengthStyle::decimal(match grid {
        Grid::Inch(_) => Unit::Inch,
        Grid::HalfMillimetre => Unit::Millimetre,
    })
}

/// Holes that are more than cut, part by part, with the side they are worked from as the sheet is marked; `None` when the
/// sheet has none. Distances are rounded like those of the mark-out.
///
/// # Panics
/// If the plan was made for another job or has no such sheet.
#[must_use]
pub fn worked_hole_table(
    job: &Job,
    plan: &Plan,
    use_index: usize,
    mark_out: &MarkOut,
    notes: &[HoleNote],
) -> Option<PaperTable> {
    let keys = keys(job, plan, use_index);
    let placements = &plan.layout().sheets[use_index].placements;
    let rows: Vec<Vec<String>> = placements
        .iter()
        .enumerate()
        .flat_map(|(index, placement)| {
            notes.iter().filter(|note| note.part == placement.part).map(move |note| (index, placement, note))
        })
        .map(|(index, placement, note)| {
            let place = mark_out.datum.distances(placement.position.apply(note.center));
            let [along, square] = place.map(|distance| mark_out.grid.format(mark_out.grid.read(distance)));
            let is_this_side = note.is_up != placement.position.is_mirrored;
            let side = if is_this_side { "this side" } else { "the other side" };
            let hole = beside(mark_out.grid).tool_size(note.diameter);
            vec![of(&keys, index).to_owned(), format!("Ø {hole}"), note.work.clone(), side.to_owned(), along, square]
        })
        .collect();
    (!rows.is_empty()).then(|| PaperTable {
        title: "Mark out: holes to countersink or flare".to_owned(),
        notes: vec!["From which side: as the sheet lies when it is marked out.".to_owned()],
        columns: vec![
            PaperColumn::words("part"),
            PaperColumn::numbers("hole"),
            PaperColumn::words("work"),
            PaperColumn::words("from"),
            PaperColumn::numbers("along the edge"),
            PaperColumn::numbers("square to it"),
        ],
        rows,
        has_boxes: true,
    })
}

/// The cut plan of a sheet of a plan as tables: the steps in order with boxes to tick, then the totals.
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
        at += round.len().max(holes.len()).max(1);
        let (part, what, tool, at) = match step {
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
                "as marked out, by size".to_owned(),
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
        notes: [cut_plan.datum.statement(|mm| lengths.with_unit(mm))]
            .into_iter()
            .chain(cut_plan.statements(|mm| lengths.with_unit(mm)))
            .collect(),
        columns: vec![
            PaperColumn::numbers("step"),
            PaperColumn::words("part"),
            PaperColumn::words("with"),
            PaperColumn::words("what"),
            PaperColumn::words(&format!("from the datum, {}", lengths.unit_in_words())),
        ],
        rows,
        has_boxes: true,
    };
    let totals = &cut_plan.totals;
    let mut rows: Vec<Vec<String>> = totals
        .cutters
        .iter()
        .map(|total| {
            let minutes = total.minutes.map_or_else(|| "not known".to_owned(), |minutes| format!("{minutes:.0} min"));
            vec![
                format!("{}: {} cuts, set up {} times", total.process.name(), total.cuts, total.set_ups),
                lengths.with_unit(total.length),
                minutes,
            ]
        })
        .collect();
    let counts = [("drilled", totals.drilled), ("with a hole saw", totals.sawn), ("punched", totals.punched)];
    rows.extend(
        counts
            .into_iter()
            .filter(|&(_, count)| count > 0)
            .map(|(name, count)| vec![format!("holes {name}: {count}"), String::new(), String::new()]),
    );
    if totals.strokes > 0 {
        rows.push(vec![format!("shear: {} strokes", totals.strokes), lengths.with_unit(totals.sheared), String::new()]);
    }
    if totals.wheels > 0.0 {
        rows.push(vec![format!("cutoff wheels used: about {:.1}", totals.wheels), String::new(), String::new()]);
    }
    rows.push(vec!["all together, roughly".to_owned(), String::new(), format!("{:.0} min", totals.minutes)]);
    let totals = PaperTable {
        title: "Cut plan: lengths, holes and time".to_owned(),
        notes: vec![sheared_in_words(&keys, cut_plan)],
        columns: vec![PaperColumn::words("what"), PaperColumn::numbers("length"), PaperColumn::numbers("time")],
        rows,
        ..PaperTable::default()
    };
    vec![steps, totals]
}

/// The rates behind the times of a cut plan, as far as it uses them, each with its source.
#[must_use]
pub fn rate_table(cut_plan: &CutPlan, rates: &WorkRates, thickness: f64, lengths: LengthStyle) -> PaperTable {
    let totals = &cut_plan.totals;
    let mut rows = Vec::new();
    for total in &totals.cutters {
        if let Some((_, rate)) = rates.speeds.iter().find(|(process, _)| *process == total.process) {
            let speed = format!("{} a minute", lengths.with_unit(rate.value.at(thickness)));
            rows.push(vec![format!("speed of the {}", total.process), speed, rate.source.to_string()]);
        }
    }
    let minutes = |value: f64| format!("{value} min");
    let section = rates.section_per_wheel;
    let per_wheel = lengths.with_unit(section.value / thickness);
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

/// Which blanks full-width cuts would part, whether or not the shop has a shear.
fn sheared_in_words(keys: &[String], cut_plan: &CutPlan) -> String {
    let (free, stuck) = (&cut_plan.shear.free, cut_plan.shear.stuck.iter().map(Vec::len).sum::<usize>());
    let names = free.iter().map(|&index| of(keys, index)).collect::<Vec<_>>().join(", ");
    match (free.len(), stuck) {
        (0, 0) => "Nothing lies on this sheet.".to_owned(),
        (0, _) => "Shear: full-width cuts part none of these blanks from the others.".to_owned(),
        (_, 0) => "Shear: full-width cuts part all blanks of this sheet.".to_owned(),
        (count, stuck) => format!("Shear: full-width cuts part {count} of {} blanks: {names}.", count + stuck),
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

/// Which parts holes lie in, and how many in each: `A1 (4), C2`.
fn holes_by_part(keys: &[String], holes: &[&RoundCut]) -> String {
    let mut counts: Vec<(usize, usize)> = Vec::new();
    for hole in holes {
        match counts.iter_mut().find(|(part, _)| *part == hole.placement) {
            Some((_, count)) => *count += 1,
            None => counts.push((hole.placement, 1)),
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
        words.push_str("; SETS THE PART FREE: clamp both sides");
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
        words.push_str("; SETS THE PART FREE: clamp both sides");
    }
    words
}
