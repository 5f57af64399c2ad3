//! What is asked of a plan: parts held in a place or kept to sheets, sheets that go first or last, areas kept clear.

use dropwise_geometry::{Isometry, Point, Shape, Side, convex_hull, shortened};
use dropwise_model::{
    Hold, InstructionFault, Instructions, Job, KeptTo, Obstacle, Part, Reserved, Sheet, Standing, Turns, Violation,
};
use dropwise_shop::pattern::{FromX, FromY};

use super::context::At;
use super::openings::placing;
use super::part::PartDetail;
use super::sheet::zone;
use crate::job_file::nearest::nearest;
use crate::job_file::types::{HeldKeys, JobFile, PartKeys};

/// The job with what the file asks of its plan. Everything that cannot be is reported at its place.
pub(super) fn told(top: &At<'_>, keys: &JobFile, job: Job, details: &[PartDetail]) -> Option<Job> {
    // A job without sheets is for laying flat, checking and buying: nothing in it can be named yet.
    if job.sheets().is_empty() {
        let is_asked = |part: &PartKeys| part.held.is_some() || part.only_on.is_some();
        if keys.sheet_choice.is_some() || keys.keep_clear.is_some() || keys.parts.iter().any(is_asked) {
            top.note("what is asked of sheets is looked at once the job has some");
        }
        return Some(job);
    }
    let mut reading =
        Reading { job: &job, instructions: Instructions::default(), places: Places::default(), is_whole: true };
    reading.parts(top, keys, details);
    reading.choice(top, keys);
    reading.areas(top, keys);
    let Reading { instructions, places, is_whole, .. } = reading;
    if !is_whole {
        return None;
    }
    let faults = instructions.faults(&job);
    let is_sound = faults.is_empty();
    faults.into_iter().for_each(|fault| report(top, &job, &instructions, &places, fault));
    let is_roomy = kept_to_sheets_that_hold_them(&job, &instructions, &places);
    if !(is_sound && is_roomy) {
        return None;
    }
    match job.with_instructions(instructions) {
        Ok(job) => Some(job),
        Err(faults) => {
            // All of them were reported above.
            faults.iter().for_each(|fault| top.message(0, fault));
            None
        }
    }
}

/// Where each entry of the instructions was written down.
#[derive(Default)]
struct Places<'c> {
    held: Vec<At<'c>>,
    kept: Vec<At<'c>>,
    standing: Vec<At<'c>>,
}

struct Reading<'j, 'c> {
    job: &'j Job,
    instructions: Instructions,
    places: Places<'c>,
    /// Whether all could be read.
    is_whole: bool,
}

impl<'c> Reading<'_, 'c> {
    /// The sheet of this name; reported when there is none.
    fn sheet(&mut self, at: &At<'_>, name: &str) -> Option<usize> {
        let sheets = self.job.sheets();
        let found = sheets.iter().position(|sheet| sheet.name == name.trim());
        if found.is_none() {
            self.is_whole = false;
            let names = || sheets.iter().map(|sheet| sheet.name.as_str());
            let cure = match nearest(name, names()) {
                Some(meant) => format!("Did you mean \"{}\"?", shortened(meant)),
                None => {
                    let few: Vec<String> = names().take(8).map(|name| format!("\"{}\"", shortened(name))).collect();
                    let more = if sheets.len() > few.len() { " and others" } else { "" };
                    format!("There are {}{more}; pieces of the rack are named by their tags", few.join(", "))
                }
            };
            at.fault(format!("no sheet is called \"{}\"", shortened(name)), cure);
        }
        found
    }

    fn parts(&mut self, top: &At<'c>, keys: &JobFile, details: &[PartDetail]) {
        for (index, part_keys) in keys.parts.iter().enumerate() {
            if part_keys.held.is_none() && part_keys.only_on.is_none() {
                continue;
            }
            let at = top.key("parts").index(index);
            let place = at.place();
            let parts: Vec<usize> = (0..details.len()).filter(|&part| details[part].place == place).collect();
            for (entry, name) in part_keys.only_on.iter().flatten().enumerate() {
                self.sheet(&at.key("only_on").index(entry), name);
            }
            let names = part_keys.only_on.iter().flatten();
            let find = |name: &String| self.job.sheets().iter().position(|sheet| sheet.name == name.trim());
            let mut sheets: Vec<usize> = names.filter_map(find).collect();
            sheets.sort_unstable();
            sheets.dedup();
            if !sheets.is_empty() {
                for &part in &parts {
                    self.instructions.kept_to.push(KeptTo { part, sheets: sheets.clone() });
                    self.places.kept.push(at.key("only_on"));
                }
            }
            let Some(held) = &part_keys.held else { continue };
            let [part] = parts[..] else {
                let problem = format!("holds a part, but its drawing holds {} pieces", parts.len());
                at.key("held").fault(problem, "Choose one with `piece`");
                self.is_whole = false;
                continue;
            };
            for (entry, keys) in held.iter().enumerate() {
                let at = at.key("held").index(entry);
                self.hold(&at, part, keys);
            }
        }
    }

    fn hold(&mut self, at: &At<'c>, part: usize, keys: &HeldKeys) {
        let sheet = self.sheet(&at.key("on"), &keys.on);
        let turn = keys.turn.map_or(Some(0.0), |turn| at.key("turn").angle(turn));
        let corner = placing(&at.key("corner"), Some(&keys.corner));
        let (Some(sheet), Some(turn), Some(corner)) = (sheet, turn, corner) else {
            self.is_whole = false;
            return;
        };
        let turned = Isometry::new(keys.face_down == Some(true), turn.rem_euclid(360.0), 0.0, 0.0);
        let (own, room) =
            (self.job.parts()[part].shape.transformed(turned).bounds(), self.job.sheets()[sheet].shape.bounds());
        let x = match corner.x {
            FromX::Left(distance) => room.min.x + distance - own.min.x,
            FromX::Right(distance) => room.max.x - distance - own.max.x,
            FromX::Center(offset) => room.center().x + offset - own.center().x,
        };
        let y = match corner.y {
            FromY::Bottom(distance) => room.min.y + distance - own.min.y,
            FromY::Top(distance) => room.max.y - distance - own.max.y,
            FromY::Center(offset) => room.center().y + offset - own.center().y,
        };
        let position = Isometry::new(turned.is_mirrored, turned.rotation_deg, x, y);
        self.instructions.held.push(Hold { part, sheet, position });
        self.places.held.push(at.clone());
    }

    fn choice(&mut self, top: &At<'c>, keys: &JobFile) {
        let Some(choice) = &keys.sheet_choice else { return };
        for (key, names, standing) in [
            ("use_up", &choice.use_up, Standing::UsedUp),
            ("prefer", &choice.prefer, Standing::Preferred),
            ("avoid", &choice.avoid, Standing::Avoided),
        ] {
            for (index, name) in names.iter().flatten().enumerate() {
                let at = top.key("sheet_choice").key(key).index(index);
                if let Some(sheet) = self.sheet(&at, name) {
                    self.instructions.standing.push((sheet, standing));
                    self.places.standing.push(at);
                }
            }
        }
    }

    fn areas(&mut self, top: &At<'c>, keys: &JobFile) {
        for (index, clear) in keys.keep_clear.iter().flatten().enumerate() {
            let at = top.key("keep_clear").index(index);
            let Some(sheet) = self.sheet(&at.key("on"), &clear.on) else { continue };
            let bounds = self.job.sheets()[sheet].shape.bounds();
            for (index, keys) in clear.areas.iter().enumerate() {
                let at = at.key("areas").index(index);
                let outline = zone(&at, keys, bounds);
                match outline {
                    Some(outline) if outline.bounds().intersects(bounds) => {
                        self.instructions.reserved.push(Reserved { sheet, area: Shape::new(outline, Vec::new()) });
                    }
                    Some(_) => {
                        at.fault(
                            "lies wholly off the sheet",
                            "Check where it is; dimensions start at the box around the sheet",
                        );
                        self.is_whole = false;
                    }
                    None => self.is_whole = false,
                }
            }
        }
    }
}

/// The word under which a sheet stands so.
fn key_of(standing: Standing) -> &'static str {
    match standing {
        Standing::UsedUp => "use_up",
        Standing::Preferred => "prefer",
        Standing::Avoided => "avoid",
    }
}

fn report(top: &At<'_>, job: &Job, told: &Instructions, places: &Places<'_>, fault: InstructionFault) {
    let part = |index: usize| shortened(&job.parts()[index].name);
    let sheet = |index: usize| shortened(&job.sheets()[index].name);
    match fault {
        InstructionFault::HeldTooMany { part, held, wanted } => {
            let place = (0..told.held.len()).find(|&hold| told.held[hold].part == part).map(|hold| &places.held[hold]);
            let problem =
                format!("{held} of it are held, but only {wanted} {} wanted", if wanted == 1 { "is" } else { "are" });
            place.unwrap_or(top).fault(problem, "Raise its `quantity`, or take a `held` entry out");
        }
        InstructionFault::HeldOnLength { hold, sheet: on } => places.held[hold].key("on").fault(
            format!("\"{}\" is sold by length, so nobody knows yet how much of it there will be", sheet(on)),
            "Hold parts on sheets, drops and remnants only",
        ),
        InstructionFault::HeldElsewhere { hold, sheet: on } => places.held[hold].key("on").fault(
            format!(
                "it is held on \"{}\", but `only_on` keeps \"{}\" to other sheets",
                sheet(on),
                part(told.held[hold].part)
            ),
            "Add the sheet to `only_on`, or hold the part on one that is there",
        ),
        InstructionFault::HoldBreaks { hold, with, violation } => {
            let other = with.map(|with| (places.held[with].place(), part(told.held[with].part)));
            let other = other.map(|(place, name)| format!("\"{name}\" ({})", place.key));
            let (problem, cure) =
                broken(top, job, &told.held[hold], other.as_deref(), &violation, &sheet(told.held[hold].sheet));
            places.held[hold].fault(problem, cure);
        }
        InstructionFault::KeptToOtherClass { part: kept, sheet: on, part_class, sheet_class } => {
            let entry = told.kept_to.iter().position(|entry| entry.part == kept);
            let problem = format!("\"{}\" is {sheet_class}, but \"{}\" is {part_class}", sheet(on), part(kept));
            let place = entry.map_or(top, |entry| &places.kept[entry]);
            place.fault(problem, "Keep it to sheets of its own metal and thickness, or correct either");
        }
        InstructionFault::StandsTwice { sheet: on, first, second } => {
            let entry = told.standing.iter().rposition(|&entry| entry == (on, second));
            let place = entry.map_or(top, |entry| &places.standing[entry]);
            let problem = match first == second {
                true => format!("\"{}\" stands twice in `{}`", sheet(on), key_of(first)),
                false => format!("\"{}\" stands in `{}` and in `{}`", sheet(on), key_of(first), key_of(second)),
            };
            place.fault(problem, "Keep one of them");
        }
        // What these tell cannot be written in a job file, or was reported when it was read.
        other => top.message(0, other),
    }
}

fn obstacle_in_words(obstacle: Obstacle) -> &'static str {
    match obstacle {
        Obstacle::Hole(_) => "a hole",
        Obstacle::Damage(_) => "a damaged zone",
        Obstacle::Reserved(_) => "an area that is kept clear",
    }
}

/// What a hold breaks, and what to do.
fn broken(
    top: &At<'_>,
    job: &Job,
    hold: &Hold,
    other: Option<&str>,
    violation: &Violation,
    sheet: &str,
) -> (String, &'static str) {
    let show = |millimetres: f64| top.context.show(millimetres);
    let near = |at: Point| {
        let corner = job.sheets()[hold.sheet].shape.bounds().min;
        format!("{} from the left and {} from the bottom of \"{sheet}\"", show(at.x - corner.x), show(at.y - corner.y))
    };
    let move_it = "Move one of them, or let the search find a place for it";
    match violation {
        Violation::Overlap { by, at, .. } => (
            format!(
                "it and {} are held in one place: they overlap by at least {}, {}",
                other.unwrap_or("another"),
                show(*by),
                near(*at)
            ),
            move_it,
        ),
        Violation::TooClose { found, wanted, at, .. } => (
            format!(
                "it is held {} from {}, {}; the web is {}",
                show(*found),
                other.unwrap_or("another"),
                near(*at),
                show(*wanted)
            ),
            move_it,
        ),
        Violation::OutsideSheet { by, at, .. } => (
            format!("it sticks out of \"{sheet}\" by at least {}, {}", show(*by), near(*at)),
            "Move or turn it, or hold it on a larger sheet",
        ),
        Violation::TooCloseToEdge { found, wanted, at, .. } => (
            format!(
                "it is held {} from the edge of \"{sheet}\", {}; the margin is {}",
                show(*found),
                near(*at),
                show(*wanted)
            ),
            "Move it in by the margin, or make the margin smaller",
        ),
        Violation::OnObstacle { obstacle, by, at, .. } => {
            let what = obstacle_in_words(*obstacle);
            (format!("it lies on {what} of \"{sheet}\" by at least {}, {}", show(*by), near(*at)), "Move it off")
        }
        Violation::TooCloseToObstacle { obstacle, found, wanted, at, .. } => (
            format!(
                "it is held {} from {} of \"{sheet}\", {}; {} is needed",
                show(*found),
                obstacle_in_words(*obstacle),
                near(*at),
                show(*wanted)
            ),
            "Move it farther off",
        ),
        Violation::TurnNotAllowed { found, nearest, .. } => (
            match nearest {
                Some(nearest) => format!(
                    "it is turned by {found}°, which `turns` does not allow; the nearest that it allows is {nearest}°"
                ),
                None => format!("the grain of \"{sheet}\" is not known, and the part is held to the grain"),
            },
            "Change `turn`, or what the part allows",
        ),
        Violation::FlipNotAllowed { .. } => (
            "it is held face down, but may not be flipped".to_owned(),
            "Take `face_down` out, or allow it with `may_flip`",
        ),
        Violation::WrongClass { part_class, sheet_class, .. } => (
            format!("it is held on \"{sheet}\", which is {sheet_class}, but the part is {part_class}"),
            "Hold it on a sheet of its own metal and thickness",
        ),
        other => (other.to_string(), "Correct where it is held"),
    }
}

/// Whether each part that is kept to sheets may fit on one of them; reported where none of them can hold it.
fn kept_to_sheets_that_hold_them(job: &Job, told: &Instructions, places: &Places<'_>) -> bool {
    let mut is_roomy = true;
    for (kept, at) in told.kept_to.iter().zip(&places.kept) {
        let part = &job.parts()[kept.part];
        let sheets = || kept.sheets.iter().map(|&sheet| &job.sheets()[sheet]);
        // Another metal is told as that.
        if sheets().any(|sheet| sheet.class != part.class) || sheets().any(|sheet| may_hold(job, sheet, part)) {
            continue;
        }
        is_roomy = false;
        let show = |millimetres: f64| at.context.show(millimetres);
        let own = part.shape.bounds();
        let largest = sheets().max_by(|a, b| a.shape.area().total_cmp(&b.shape.area()));
        let room = largest.map_or(own, |sheet| sheet.shape.bounds());
        let name = largest.map_or_else(String::new, |sheet| shortened(&sheet.name));
        at.fault(
            format!(
                "\"{}\" is {} x {}, too large for all that it is kept to: the largest, \"{name}\", is {} x {} with a margin of {} \
                 on every side",
                shortened(&part.name),
                show(own.width()),
                show(own.height()),
                show(room.width()),
                show(room.height()),
                show(job.clearances().margin())
            ),
            "Keep it to a larger sheet, or check the units",
        );
    }
    is_roomy
}

/// Whether nothing that can be said of boxes, lengths and widths forbids a part to lie on a sheet.
fn may_hold(job: &Job, sheet: &Sheet, part: &Part) -> bool {
    let (room, margin) = (sheet.shape.bounds(), job.clearances().margin());
    // A hair is forgiven, as a certificate does.
    let (width, height) = (room.width() - 2.0 * margin + 1e-3, room.height() - 2.0 * margin + 1e-3);
    if part.turns != Turns::Any {
        let fits = |is_mirrored: bool, turn: f64| {
            let own = part.shape.transformed(Isometry::new(is_mirrored, turn, 0.0, 0.0)).bounds();
            own.width() <= width && own.height() <= height
        };
        let faces = if part.may_flip { &[false, true][..] } else { &[false] };
        return faces.iter().any(|&face| {
            part.turns.on_sheet(sheet.grain_deg, face).into_iter().flatten().any(|turn| fits(face, turn))
        });
    }
    let hull = convex_hull(&part.shape.flatten(0.2, Side::Shrink).exterior);
    let longest = hull.iter().flat_map(|a| hull.iter().map(|b| a.distance(*b))).fold(0.0, f64::max);
    let narrowest = (0..hull.len())
        .filter_map(|index| {
            let (a, along) = (hull[index], (hull[(index + 1) % hull.len()] - hull[index]).unit()?);
            Some(hull.iter().map(|point| along.cross(*point - a).abs()).fold(0.0, f64::max))
        })
        .fold(f64::INFINITY, f64::min);
    narrowest <= width.min(height) && longest <= width.hypot(height)
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use dropwise_model::certify;
    use proptest::prelude::*;

    proptest! {
        /// Whatever is asked is either refused with its place, or can be proved as it was told.
        #[test]
        fn what_is_asked_is_refused_or_holds(
            on in prop_oneof![Just("drop"), Just("coil"), Just("zinc"), Just(""), Just("drp")],
            (edge, x) in (prop_oneof![Just("left"), Just("right"), Just("center_x")], -50.0..350.0_f64),
            y in prop_oneof![-5.0..150.0_f64, Just(f64::MAX), Just(1e7)],
            turn in prop_oneof![Just(0.0), Just(90.0), -4000.0..4000.0_f64],
            (face_down, count) in (any::<bool>(), 1..4_usize),
            only in prop::option::of(prop_oneof![Just("drop"), Just("coil"), Just("zinc")]),
            standing in prop_oneof![Just("use_up"), Just("prefer"), Just("avoid")],
        ) {
            let one = format!("{{ on = \"{on}\", corner = {{ {edge} = {x}, bottom = {y:e} }}, turn = {turn}, face_down = {face_down} }}");
            let only = only.map_or_else(String::new, |name| format!("only_on = [\"{name}\"]\n"));
            let text = format!(
                "defaults = {{ material = \"mild steel\", thickness = 3 }}\nclearances = {{ kerf = 2, web = 4, margin = 5 }}\n\
                 [sheet_choice]\n{standing} = [\"drop\"]\n\
                 [[parts]]\nname = \"lid\"\nquantity = 2\nrectangle = {{ width = 60, height = 40 }}\n{only}held = [{}]\n\
                 [[sheets]]\nname = \"drop\"\nrectangle = {{ width = 300, height = 200 }}\n\
                 [[sheets]]\nname = \"zinc\"\nmaterial = \"galvanized steel\"\nrectangle = {{ width = 300, height = 200 }}\n\
                 [[sheets]]\nname = \"coil\"\nstrip = {{ width = 300, longest = \"6 m\" }}\n",
                vec![one; count].join(", ")
            );
            match crate::parse_job(Path::new("job.toml"), &text) {
                Ok(loaded) => {
                    let told = loaded.job.instructions();
                    prop_assert_eq!((told.held.len(), told.standing.len()), (1, 1), "two of them would lie in one place");
                    let (kept, _) = told.held_layout().as_far_as_it_holds(&loaded.job);
                    prop_assert!(certify(&loaded.job, &kept).is_ok());
                }
                Err(errors) => {
                    prop_assert!(!errors.is_empty());
                    for error in errors {
                        prop_assert!(error.place.line.is_some(), "{}", error);
                    }
                }
            }
        }
    }
}
