//! From the keys of a shop file to a shop.

use std::path::Path;

use dropwise_geometry::{Point, Unit};
use dropwise_shop::bend::drills::{CommonSize, HoleTool, Size};
use dropwise_shop::bend::{SHORT_TON, TONNE_FORCE};
use dropwise_shop::cutplan::{CutSpeed, Rate, ShearTool, WorkRates};
use dropwise_shop::markout::RoundPunch;
use dropwise_shop::{Bender, Brake, BrakeSources, FlaringDie, OWN_FIGURE, Process, Punch, Shop, Source, VDie, weight};

use super::types::{
    BenderKeys, BenderWord, BrakeKeys, Die, DieKeys, HolePunch, PunchKeys, ShopFile, SpeedKeys, WorkKeys,
};
use crate::job_file::types::Length;
use crate::job_file::{At, Context, Document, JobFileError, shortened};

/// Builds the shop.
///
/// # Errors
/// All faults found, in the order in which values are read.
pub(super) fn build(document: &Document, keys: &ShopFile, unit: Unit) -> Result<Shop, Vec<JobFileError>> {
    let folder = document.file().parent().unwrap_or(Path::new("")).to_owned();
    let mut context = Context::new(document, folder);
    let own = keys.unit.as_deref().and_then(|name| context.top().key("unit").unit(name));
    context.unit = own.unwrap_or(Unit::Millimetre);
    let shop = read(&context.top(), keys, own.unwrap_or(unit));
    let (errors, _) = context.finish();
    if errors.is_empty() { Ok(shop) } else { Err(errors) }
}

/// The usual shop with what the file says of its own. What is wrong is reported and left as usual.
fn read(top: &At<'_>, keys: &ShopFile, shop_unit: Unit) -> Shop {
    let mut shop = Shop::usual(shop_unit);
    // A file that lists what makes holes or cuts says that there is no more.
    if keys.cutters.is_some() || keys.drills.is_some() || keys.hole_saws.is_some() || keys.punches.is_some() {
        shop.tools.source = OWN_FIGURE;
    }
    if let Some(cutters) = &keys.cutters {
        let at = top.key("cutters");
        shop.tools.cutters = all(cutters, |index, name| cutter(&at.index(index), name));
    }
    if let Some(shear) = &keys.shear {
        let at = top.key("shear");
        let (length, thickest) = (at.key("length").size(&shear.length), at.key("thickest").size(&shear.thickest));
        shop.tools.shear = length.zip(thickest).map(|(length, thickest)| ShearTool { length, thickest });
    }
    let is_of = |kind: HoleTool| move |size: &CommonSize| size.tool == kind;
    for (key, list, kind) in
        [("drills", &keys.drills, HoleTool::Drill), ("hole_saws", &keys.hole_saws, HoleTool::HoleSaw)]
    {
        if let Some(list) = list {
            let at = top.key(key);
            let is_other = is_of(kind);
            let own = all(list, |index, length| hole_tool(&at.index(index), length, kind));
            let sizes = &mut shop.tools.holes.sizes;
            sizes.retain(|size| !is_other(size));
            sizes.extend(own);
            sizes.sort_by(|a, b| a.tool.cmp(&b.tool).then(a.size.diameter().total_cmp(&b.size.diameter())));
        }
    }
    if let Some(punches) = &keys.punches {
        let at = top.key("punches");
        shop.tools.holes.punches = all(punches, |index, keys| hole_punch(&at.index(index), keys));
    }
    if let Some(dies) = &keys.flaring_dies {
        let at = top.key("flaring_dies");
        shop.flaring_dies = all(dies, |index, die| {
            let at = at.index(index);
            let rule = FlaringDie::by_rule(at.key("hole").size(&die.hole)?);
            let outside = at.key("outside").optional(die.outside.as_ref(), At::size)?.unwrap_or(rule.outside);
            let depth = at.key("depth").optional(die.depth.as_ref(), At::size)?.unwrap_or(rule.depth);
            let thickest = at.key("thickest").optional(die.thickest.as_ref(), At::size)?;
            if outside <= rule.hole {
                at.key("outside").fault("is no larger than the hole", "Measure it over the flare");
                return None;
            }
            Some(FlaringDie { outside, depth, thickest, ..rule })
        });
    }
    match (&keys.brake, keys.no_brake == Some(true)) {
        (Some(_), true) => top.key("no_brake").fault("says that there is no brake, beside a `brake` table", "Keep one"),
        (Some(brake), false) => {
            let usual = Brake::usual_beside(shop_unit);
            shop.brake = self::brake(&top.key("brake"), brake, usual);
        }
        (None, true) => shop.brake = None,
        // Who tells of other benders and of no press brake has none.
        (None, false) if keys.shop_press.is_some() || keys.benders.is_some() => shop.brake = None,
        (None, false) => {}
    }
    if let Some(keys) = &keys.shop_press {
        shop.shop_press = self::brake(&top.key("shop_press"), keys, Brake::usual_in_shop_press(shop_unit));
    }
    if let Some(benders) = &keys.benders {
        let at = top.key("benders");
        shop.benders = all(benders, |index, keys| bender(&at.index(index), keys));
    }
    if let Some(work) = &keys.work {
        self::work(&top.key("work"), work, &mut shop.tools.rates);
    }
    if let Some([across, along]) = keys.printer.as_deref() {
        shop.printer = [*across, *along];
    }
    if let Some(text) = &keys.lifted_by_one {
        let units = [("kg", 1.0), ("lb", weight::from_pounds(1.0)), ("lbs", weight::from_pounds(1.0))];
        if let Some(kilograms) = number_with_unit(&top.key("lifted_by_one"), text, &units, "23 kg") {
            (shop.lifted_by_one, shop.lift_source) = (kilograms, OWN_FIGURE);
        }
    }
    shop
}

fn hole_punch(at: &At<'_>, keys: &HolePunch) -> Option<RoundPunch> {
    match keys {
        HolePunch::Hole(hole) => at.size(hole).map(RoundPunch::of),
        HolePunch::Table(keys) => {
            let diameter = at.key("hole").size(&keys.hole);
            let thickest = at.key("thickest").optional(keys.thickest.as_ref(), At::size);
            Some(RoundPunch { diameter: diameter?, thickest: thickest? })
        }
    }
}

fn all<K, T>(keys: &[K], mut read: impl FnMut(usize, &K) -> Option<T>) -> Vec<T> {
    keys.iter().enumerate().filter_map(|(index, keys)| read(index, keys)).collect()
}

fn process(at: &At<'_>, name: &str) -> Option<Process> {
    name.parse().map_err(|error: dropwise_shop::ProcessError| at.message(0, error)).ok()
}

fn cutter(at: &At<'_>, name: &str) -> Option<Process> {
    let process = process(at, name)?;
    if process == Process::Shear {
        at.fault("is a shear", "Say how long and how thick it cuts, in a [shear] table");
        return None;
    }
    Some(process)
}

/// A drill or hole saw. Tools are stamped in 64ths of an inch or tenths of a millimetre.
fn hole_tool(at: &At<'_>, length: &Length, tool: HoleTool) -> Option<CommonSize> {
    let diameter = at.size(length)?;
    let (sixty_fourths, tenths) = (diameter / 25.4 * 64.0, diameter * 10.0);
    let is_whole = |number: f64| (number - number.round()).abs() < 1e-6 && number <= 1e6;
    let size = if is_whole(tenths) && !(is_whole(sixty_fourths) && at.context.unit == Unit::Inch) {
        Size::Tenths(tenths.round() as u32)
    } else if is_whole(sixty_fourths) {
        Size::SixtyFourths(sixty_fourths.round() as u32)
    } else {
        at.fault(
            format!("is {diameter:.4} mm, which is stamped on no tool"),
            "Write whole 64ths of an inch, such as \"17/64 in\", or tenths of a millimetre",
        );
        return None;
    };
    Some(CommonSize { tool, size, source: OWN_FIGURE })
}

fn brake(at: &At<'_>, keys: &BrakeKeys, usual: Brake) -> Option<Brake> {
    let size = |key: &str, length: Option<&Length>| at.key(key).optional(length, At::size);
    let length = size("length", keys.length.as_ref());
    let force = match &keys.force {
        None => Some(None),
        Some(text) => force_of(&at.key("force"), text, "40 tons").map(Some),
    };
    let dies_at = at.key("dies");
    let dies = keys.dies.as_deref().map(|dies| all(dies, |index, keys| die(&dies_at.index(index), keys)));
    let punches_at = at.key("punches");
    let punches =
        keys.punches.as_deref().map(|punches| all(punches, |index, keys| punch(&punches_at.index(index), keys)));
    let beam_width = size("beam_width", keys.beam_width.as_ref());
    let reach = (size("gauge_from", keys.gauge_from.as_ref()), size("gauge_to", keys.gauge_to.as_ref()));
    let (length, force, beam_width, from, to) = (length?, force?, beam_width?, reach.0?, reach.1?);
    let gauge_reach = (from.unwrap_or(usual.gauge_reach.0), to.unwrap_or(usual.gauge_reach.1));
    if gauge_reach.0 > gauge_reach.1 {
        at.key("gauge_from").fault("is beyond `gauge_to`", "Give the nearer stop first");
        return None;
    }
    let own = |is_told: bool| if is_told { OWN_FIGURE } else { Source::COMMON_PRACTICE };
    let sources = BrakeSources {
        length: own(length.is_some()),
        force: own(force.is_some()),
        dies: own(dies.is_some()),
        punches: own(punches.is_some()),
        gauge: own(from.is_some() || to.is_some()),
    };
    Some(Brake {
        name: usual.name,
        length: length.unwrap_or(usual.length),
        force: force.unwrap_or(usual.force),
        punches: punches.unwrap_or(usual.punches),
        dies: dies.unwrap_or(usual.dies),
        beam_width: beam_width.unwrap_or(usual.beam_width),
        gauge_reach,
        sources,
    })
}

fn bender(at: &At<'_>, keys: &BenderKeys) -> Option<Bender> {
    let usual = match keys.kind {
        BenderWord::Leaf => Bender::usual_leaf(),
        BenderWord::BoxAndPan => Bender::usual_box_and_pan(),
        BenderWord::Vise => Bender::usual_vise(),
    };
    let name = keys.name.as_ref().map(|name| at.key("name").name(name));
    let size = |key: &str, length: &Option<Length>, usual: f64| {
        at.key(key).optional(length.as_ref(), At::size).map(|size| size.unwrap_or(usual))
    };
    let least_flange = size("least_flange", &keys.least_flange, usual.least_flange);
    let least_clamped = size("least_clamped", &keys.least_clamped, usual.least_clamped);
    let (behind, above) = (size("behind", &keys.behind, usual.behind), size("above", &keys.above, usual.above));
    let leaf = size("leaf", &keys.leaf, usual.leaf);
    let fingers_at = at.key("fingers");
    if keys.fingers.is_some() && keys.kind != BenderWord::BoxAndPan {
        fingers_at.fault("stands at a bender without fingers", "Leave it out, or write `kind = \"box and pan\"`");
        return None;
    }
    let fingers = keys.fingers.as_deref().map(|list| all(list, |index, length| fingers_at.index(index).size(length)));
    let lengths_at = at.key("lengths");
    let rows = keys.lengths.as_deref().map(|list| {
        all(list, |index, row| {
            let at = lengths_at.index(index);
            at.key("thickness").size(&row.thickness).zip(at.key("length").size(&row.length))
        })
    });
    let mut capacity = rows.unwrap_or_else(|| usual.capacity.clone());
    capacity.sort_by(|a, b| a.0.total_cmp(&b.0));
    if capacity.windows(2).any(|pair| pair[1].1 > pair[0].1 || pair[0].0 == pair[1].0) {
        lengths_at
            .fault("bends thicker metal longer than thinner", "Give each thickness once, with its own longest bend");
        return None;
    }
    // Told in part, the rest is a guess as before; but what is told is the shop's word.
    let is_told = keys.lengths.is_some()
        || keys.least_flange.is_some()
        || keys.least_clamped.is_some()
        || keys.above.is_some()
        || keys.fingers.is_some()
        || keys.most_turn.is_some();
    let source = if is_told { OWN_FIGURE } else { usual.source };
    Some(Bender {
        name: name.unwrap_or_else(|| Some(usual.name.clone()))?,
        kind: usual.kind,
        capacity,
        least_flange: least_flange?,
        least_clamped: least_clamped?,
        behind: behind?,
        above: above?,
        leaf: leaf?,
        fingers: fingers.unwrap_or(usual.fingers),
        most_turn: keys.most_turn.unwrap_or(usual.most_turn),
        source,
    })
}

fn force_of(at: &At<'_>, text: &str, example: &str) -> Option<f64> {
    let (ton, tonne) = (SHORT_TON, TONNE_FORCE);
    let units = [("kN", 1.0), ("tonnes", tonne), ("tonne", tonne), ("t", tonne), ("tons", ton), ("ton", ton)];
    number_with_unit(at, text, &units, example)
}

fn die(at: &At<'_>, die: &Die) -> Option<VDie> {
    let keys = match die {
        Die::Opening(opening) => return at.size(opening).map(VDie::of),
        Die::Table(keys) => keys,
    };
    let DieKeys { opening, width, height, angle, load } = keys;
    let usual = VDie::of(at.key("opening").size(opening)?);
    let width = at.key("width").optional(width.as_ref(), At::size)?.unwrap_or(usual.width);
    let height = at.key("height").optional(height.as_ref(), At::size)?.unwrap_or(usual.height);
    let load = match load {
        None => None,
        Some(text) => Some(force_of(&at.key("load"), text, "600 kN")? / 1000.0),
    };
    if width < usual.opening {
        at.key("width").fault("is less than the opening", "Give the width over all");
        return None;
    }
    Some(VDie { width, height, angle: angle.unwrap_or(usual.angle), load, ..usual })
}

fn punch(at: &At<'_>, keys: &PunchKeys) -> Option<Punch> {
    let name = at.key("name").name(&keys.name)?;
    let angle = keys.angle.unwrap_or(88.0);
    let tip_radius = at.key("tip_radius").optional(keys.tip_radius.as_ref(), At::distance)?.unwrap_or(0.8);
    let made = match &keys.section {
        Some(points) => {
            if keys.width.is_some() || keys.height.is_some() {
                at.fault("has a `section` beside a `width` or a `height`", "Keep the section, which says both");
                return None;
            }
            let at = at.key("section");
            let read = |index: usize, pair: &Vec<Length>| match pair.as_slice() {
                [x, y] => {
                    let at = at.index(index);
                    Some(Point::new(at.index(0).length(x)?, at.index(1).length(y)?))
                }
                _ => None, // told with the structure
            };
            let section: Vec<Point> = all(points, read);
            if section.len() < points.len() {
                return None;
            }
            Punch::of_section(&name, angle, tip_radius, section)
        }
        None => {
            let width = at.key("width").optional(keys.width.as_ref(), At::size)?.unwrap_or(20.0);
            let height = at.key("height").optional(keys.height.as_ref(), At::size)?.unwrap_or(105.0);
            Punch::straight(&name, angle, tip_radius, width, height)
        }
    };
    let pieces_at = at.key("pieces");
    let given = keys.pieces.as_deref().unwrap_or_default();
    let pieces = all(given, |index, length| pieces_at.index(index).size(length));
    let punch = made.map_err(|error| at.fault(error.to_string(), "Check it against the tool's drawing")).ok()?;
    Some(Punch { pieces, ..punch })
}

/// Thickness, if it is said, and the length cut in a minute, mm.
type SpeedRows = Vec<(Option<f64>, f64)>;

fn work(at: &At<'_>, keys: &WorkKeys, rates: &mut WorkRates) {
    for (minutes, rate) in [
        (keys.cut_minutes, &mut rates.minutes_per_cut),
        (keys.stroke_minutes, &mut rates.minutes_per_stroke),
        (keys.drill_minutes, &mut rates.minutes_per_drilled_hole),
        (keys.hole_saw_minutes, &mut rates.minutes_per_sawn_hole),
        (keys.punch_minutes, &mut rates.minutes_per_punched_hole),
    ] {
        if let Some(value) = minutes {
            *rate = Rate { value, source: OWN_FIGURE };
        }
    }
    if let Some(length) = keys.wheel_lasts.as_ref().and_then(|length| at.key("wheel_lasts").size(length)) {
        rates.section_per_wheel = Rate { value: length, source: OWN_FIGURE };
    }
    let speeds_at = at.key("speeds");
    let mut own: Vec<(Process, SpeedRows)> = Vec::new();
    for (index, keys) in keys.speeds.iter().flatten().enumerate() {
        let SpeedKeys { process: name, per_minute, thickness } = keys;
        let at = speeds_at.index(index);
        let process = process(&at.key("process"), name);
        let speed = at.key("per_minute").size(per_minute);
        let thickness = at.key("thickness").optional(thickness.as_ref(), At::size);
        let (Some(process), Some(speed), Some(thickness)) = (process, speed, thickness) else { continue };
        match own.iter_mut().find(|(known, _)| *known == process) {
            Some((_, rows)) if thickness.is_none() || rows.iter().any(|(known, _)| *known == thickness) => {
                at.fault("stands beside another of its process", "Give each entry a thickness of its own");
            }
            Some((_, rows)) if rows.iter().any(|(known, _)| known.is_none()) => {
                at.fault("stands beside one for any thickness", "Give each entry a thickness of its own");
            }
            Some((_, rows)) => rows.push((thickness, speed)),
            None => own.push((process, vec![(thickness, speed)])),
        }
    }
    for (process, mut rows) in own {
        let value = match rows.as_slice() {
            [(None, speed)] => CutSpeed::ByLength(*speed),
            [(Some(thickness), speed)] => CutSpeed::BySection(speed * thickness),
            _ => {
                rows.sort_by(|a, b| a.0.unwrap_or(0.0).total_cmp(&b.0.unwrap_or(0.0)));
                CutSpeed::ByThickness(rows.into_iter().filter_map(|(at, speed)| Some((at?, speed))).collect())
            }
        };
        rates.speeds.retain(|(known, _)| *known != process);
        rates.speeds.push((process, Rate { value, source: OWN_FIGURE }));
    }
}

/// A number above zero with one of these units behind it, such as `40 tons`.
fn number_with_unit(at: &At<'_>, text: &str, units: &[(&str, f64)], example: &str) -> Option<f64> {
    let trimmed = text.trim();
    let end = trimmed.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(trimmed.len());
    let (number, unit) = trimmed.split_at(end);
    let factor = units.iter().find(|(name, _)| name.eq_ignore_ascii_case(unit.trim())).map(|(_, factor)| factor);
    let value = number.parse::<f64>().ok().zip(factor).map(|(number, factor)| number * factor);
    let value = value.filter(|value| *value > 0.0 && *value <= 1e6);
    if value.is_none() {
        let names: Vec<&str> = units.iter().map(|(name, _)| *name).collect();
        at.fault(
            format!("\"{}\" is not a number above zero with a unit", shortened(text)),
            format!("Write, for example, \"{example}\"; known units are {}", names.join(", ")),
        );
    }
    value
}
