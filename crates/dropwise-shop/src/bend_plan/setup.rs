//! Setting up the brake for one stroke: die, punch, side, force, backgauge.

use super::clash::{Clash, Setting, Stretch};
use super::gauge::{GaugeStop, Reach, reach};
use super::{BendStep, Help, LEFT_OUT, Search, Tool};
use crate::bend::{
    ForceRule, Forming, HemKind, LegDatum, Method, OPENING_RULES, air_bend_radius, least_flange, least_hem_return,
};
use crate::fold::FlatBend;
use crate::shop::{Punch, VDie};

/// A hem is folded by so much first and then pressed, degrees: what the sharpest common punch reaches.
const SHARPEST: f64 = 150.0;

/// Dies narrower than this many thicknesses are not taken, however short the leg.
const NARROWEST: f64 = crate::bend::NARROWEST_DIE;

/// How much higher a punch is thought of when one is in the way, mm: some common heights beyond what is there.
const HIGHER: [f64; 6] = [20.0, 40.0, 60.0, 80.0, 120.0, 180.0];

/// Narrower beams that are thought of, mm.
const NARROWER_BEAMS: [f64; 3] = [40.0, 30.0, 20.0];

/// How wide a die must be at least beside its opening, mm: the slimmest that are sold. Common practice, no source.
const SLIM_DIE: f64 = 8.0;

/// A stroke as it is about to be set up.
struct Ready {
    turn: f64,
    pressed: f64,
    sides: [Reach; 2],
    legs: [f64; 2],
    die: VDie,
}

impl Search<'_> {
    /// The stroke as it is made when these bends are done, or what is in the way.
    pub(super) fn step(&mut self, stroke: &[usize], is_done: &[bool]) -> Result<BendStep, Clash> {
        let ready = self.ready(stroke, is_done).ok_or(Clash::TooSharp)?;
        if let Some(clash) = self.itself(stroke, is_done) {
            return Err(clash);
        }
        let mut farthest: Option<(Clash, f64)> = None;
        let mut is_too_long = None;
        for setting in self.settings(stroke, &ready) {
            // What a longer tool runs into besides punch and die, a shorter one runs into as well.
            let way = (setting.punch, setting.is_child_behind);
            if is_too_long == Some(way) && setting.stretch != Stretch::Whole {
                continue;
            }
            self.ways += 1;
            match self.clash(stroke, is_done, setting) {
                None => return Ok(self.made(stroke, setting, &ready)),
                Some((clash, share)) => {
                    if !matches!(clash, Clash::Tool { tool: Tool::Punch | Tool::Die, .. }) {
                        is_too_long = Some(way);
                    }
                    if farthest.is_none_or(|(_, known)| share >= known) {
                        farthest = Some((clash, share));
                    }
                }
            }
        }
        Err(farthest.map_or(Clash::TooSharp, |(clash, _)| clash))
    }

    fn ready(&self, stroke: &[usize], is_done: &[bool]) -> Option<Ready> {
        let unfolding = self.job.unfolding;
        let flat = &unfolding.bends[stroke[0]];
        let turn = flat.figures.bend.turn();
        // A hem is folded first and then pressed; any other bend must be made as sharp as it is told.
        let pressed = if HemKind::of(&flat.figures.bend).is_some() { turn.min(SHARPEST) } else { turn };
        let shares: Vec<f64> = is_done.iter().map(|&is_done| if is_done { 1.0 } else { 0.0 }).collect();
        let faces = self.body.pose(&shares);
        let machine = self.body.machine_frame(stroke[0], 0.0, &faces);
        let sides = [true, false].map(|is_child| reach(&self.body, stroke, is_done, &faces, &machine, is_child));
        // Of several flanges bent in one stroke the shortest is what the die must hold.
        let own = stroke.iter().map(|&bend| leg(flat, reach(&self.body, &[bend], is_done, &faces, &machine, true)));
        let legs = [own.fold(f64::INFINITY, f64::min), leg(flat, sides[1])];
        let die = self.die(stroke[0], pressed, legs[0].min(legs[1]))?;
        Some(Ready { turn, pressed, sides, legs, die })
    }

    /// All ways to set up a stroke, those that a person would try first at the beginning.
    fn settings(&self, stroke: &[usize], ready: &Ready) -> Vec<Setting> {
        let mut settings = Vec::new();
        for (punch, tool) in self.brake.punches.iter().enumerate() {
            if tool.angle > 180.0 - ready.pressed + 1e-9 {
                continue;
            }
            let mut ways = vec![true, false];
            // The nearer side goes to the back: the larger one is held in front.
            if ready.sides[1].distance < ready.sides[0].distance {
                ways.reverse();
            }
            for is_child_behind in ways {
                for stretch in self.stretches(stroke, tool) {
                    settings.push(Setting {
                        punch,
                        die: ready.die,
                        is_child_behind,
                        share: ready.pressed / ready.turn,
                        stretch,
                        punch_height: tool.height,
                        beam_width: self.brake.beam_width,
                    });
                }
            }
        }
        settings
    }

    /// How far a punch a little shorter than the bend may leave it, at either end: the sheet still follows.
    fn close(&self, stroke: &[usize]) -> f64 {
        let flat = &self.job.unfolding.bends[stroke[0]];
        let shortest = self.lengths(stroke).into_iter().fold(f64::INFINITY, f64::min);
        (self.job.unfolding.thickness + flat.figures.bend.radius()).min(shortest / 6.0)
    }

    fn lengths(&self, stroke: &[usize]) -> Vec<f64> {
        stroke.iter().map(|&bend| self.job.unfolding.bends[bend].length()).collect()
    }

    /// Lengths of punch to try: longer than the part, about as long as the bend, and the shortest that does.
    fn stretches(&self, stroke: &[usize], punch: &Punch) -> Vec<Stretch> {
        let shortest = self.lengths(stroke).into_iter().fold(f64::INFINITY, f64::min);
        let close = self.close(stroke);
        let mut stretches = vec![Stretch::Whole];
        for inset in [close, LEFT_OUT.min(shortest / 6.0).max(close)] {
            // From pieces, the longest that can be put together within that.
            let inset = match put_together(&punch.pieces, shortest - 2.0 * inset) {
                _ if punch.pieces.is_empty() || stroke.len() > 1 => inset,
                Some(pieces) => (shortest - pieces.iter().sum::<f64>()) / 2.0,
                None => continue,
            };
            if inset <= LEFT_OUT + 1e-9 && !stretches.contains(&Stretch::Shorter(inset)) {
                stretches.push(Stretch::Shorter(inset));
            }
        }
        stretches
    }

    /// Why a stroke cannot be made, as one would say it who looks for a way: where a tool that is thought of would do it, the
    /// obstacle is the one that it clears.
    pub(super) fn explained(&mut self, stroke: &[usize], is_done: &[bool], known: Clash) -> (Clash, Option<Help>) {
        let Some(ready) = self.ready(stroke, is_done).filter(|_| matches!(known, Clash::Tool { .. })) else {
            return (known, None);
        };
        for setting in self.settings(stroke, &ready) {
            let Some((clash, _)) = self.clash(stroke, is_done, setting) else { continue };
            let Clash::Tool { tool, .. } = clash else { continue };
            for (help, thought) in thought_of(tool, setting) {
                if self.clash(stroke, is_done, thought).is_none() {
                    return (clash, Some(help));
                }
            }
        }
        (known, None)
    }

    fn made(&self, stroke: &[usize], setting: Setting, ready: &Ready) -> BendStep {
        let job = self.job;
        let flat = &job.unfolding.bends[stroke[0]];
        let (turn, thickness) = (ready.turn, job.unfolding.thickness);
        let lengths = self.lengths(stroke);
        let length: f64 = lengths.iter().sum();
        let shortest = lengths.iter().copied().fold(f64::INFINITY, f64::min);
        let ranges = self.along(stroke);
        let from = ranges.iter().map(|range| range.0).fold(f64::INFINITY, f64::min);
        let to = ranges.iter().map(|range| range.1).fold(f64::NEG_INFINITY, f64::max);
        let forming = Forming::from(job.method);
        // The rule that is highest by tensile strength, since it is a machine that is checked.
        let pressure = ForceRule::Imperial.force(job.grade, forming, thickness, setting.die.opening);
        let behind = if setting.is_child_behind { 0 } else { 1 };
        let side = ready.sides[behind];
        let (nearest, farthest) = self.brake.gauge_reach;
        let gauge = (nearest - 1e-9..=farthest + 1e-9).contains(&side.distance).then(|| GaugeStop {
            distance: side.distance,
            face: self.body.name(side.face),
            is_straight: side.is_straight,
        });
        let hem = HemKind::of(&flat.figures.bend);
        let least_leg = if hem.is_some() {
            least_hem_return(setting.die.opening).0
        } else {
            least_flange(setting.die.opening, 180.0 - turn).unwrap_or(0.0) - beyond_tangent(flat)
        };
        let punch = &self.brake.punches[setting.punch];
        let (punch_length, uncovered) = match setting.stretch {
            Stretch::Whole => (to - from, 0.0),
            Stretch::Shorter(inset) => (to - from - 2.0 * inset, inset),
        };
        let close = self.close(stroke);
        BendStep {
            bend: stroke[0],
            also: stroke[1..].to_vec(),
            face: self.names(stroke),
            turn,
            direction: flat.direction,
            length,
            span: to - from,
            die: setting.die,
            punch: punch.name.clone(),
            punch_length,
            punch_may_be_longer: setting.stretch == Stretch::Whole,
            punch_pieces: match setting.stretch {
                Stretch::Shorter(_) if stroke.len() == 1 => {
                    put_together(&punch.pieces, shortest - 2.0 * uncovered + 1e-6).unwrap_or_default()
                }
                _ => Vec::new(),
            },
            uncovered: if uncovered > close + 1e-9 { uncovered } else { 0.0 },
            inside_radius: flat.figures.bend.radius(),
            radius_in_die: air_bend_radius(job.grade, setting.die.opening).range,
            pressure,
            force: pressure.kilonewtons(length),
            legs: [ready.legs[behind], ready.legs[1 - behind]],
            least_leg,
            gauge,
            hem,
        }
    }

    /// The die: the one laid down; else the one nearest to what the radius asks for, or the thickness where the radius
    /// would ask for one too narrow; a narrower one where the leg would fall into that. `None` when none is sharp enough.
    fn die(&self, bend: usize, turn: f64, leg: f64) -> Option<VDie> {
        let flat = &self.job.unfolding.bends[bend];
        if let Some(&Some(opening)) = self.job.dies.get(bend) {
            let owned = self.brake.dies.iter().find(|die| (die.opening - opening).abs() < SAME_DIE);
            return Some(owned.copied().unwrap_or_else(|| VDie::of(opening)));
        }
        let thickness = self.job.unfolding.thickness;
        let usual = OPENING_RULES[0].opening(thickness);
        let share = air_bend_radius(self.job.grade, 1.0).radius;
        let wanted = match self.job.method {
            // The radius comes from the opening.
            Method::AirBend => (flat.figures.bend.radius() / share).max(0.75 * usual),
            _ => usual,
        };
        let apart = |die: &VDie| (die.opening / wanted).ln().abs();
        let mut usable: Vec<VDie> =
            self.brake.dies.iter().copied().filter(|die| die.angle <= 180.0 - turn + 1e-9).collect();
        usable.sort_by(|a, b| apart(a).total_cmp(&apart(b)).then(b.opening.total_cmp(&a.opening)));
        let best = *usable.first()?;
        let leg = leg + beyond_tangent(flat);
        let holds = |die: &VDie| least_flange(die.opening, 180.0 - turn).is_ok_and(|least| least <= leg + 1e-9);
        let narrower = usable
            .iter()
            .filter(|die| die.opening <= best.opening)
            .find(|die| holds(die) && die.opening >= NARROWEST * thickness - 1e-9);
        Some(narrower.copied().unwrap_or(best))
    }
}

/// Openings nearer to one another than this are one die, mm.
pub(crate) const SAME_DIE: f64 = 0.05;

/// What a person would look for when this tool is in the way, the least change first.
fn thought_of(tool: Tool, setting: Setting) -> Vec<(Help, Setting)> {
    let higher = HIGHER
        .map(|more| setting.punch_height + more)
        .into_iter()
        .map(|height| (Help::HigherPunch(height), Setting { punch_height: height, ..setting }));
    let narrower = NARROWER_BEAMS
        .into_iter()
        .filter(|width| *width < setting.beam_width)
        .map(|width| (Help::NarrowerBeam(width), Setting { beam_width: width, ..setting }));
    let slim = setting.die.opening + SLIM_DIE;
    let slimmer = (slim < setting.die.width).then_some(VDie { width: slim, ..setting.die });
    let slimmer = slimmer.map(|die| (Help::NarrowerDie(slim), Setting { die, ..setting }));
    let taller = HIGHER
        .map(|more| setting.die.height + more)
        .into_iter()
        .map(|height| (Help::HigherDie(height), Setting { die: VDie { height, ..setting.die }, ..setting }));
    match tool {
        Tool::Beam => higher.chain(narrower).collect(),
        Tool::Die => slimmer.into_iter().collect(),
        Tool::Bed => taller.chain(slimmer).collect(),
        Tool::Punch => Vec::new(),
    }
}

/// The longest punch of at most `room` that can be put together from pieces, longest piece first; `None` where none fits.
///
/// # Source
/// Subset sums by dynamic programming, in tenths of a millimetre. Textbook.
pub(super) fn put_together(pieces: &[f64], room: f64) -> Option<Vec<f64>> {
    let tenths = |length: f64| (length * 10.0).round() as usize;
    let most = (room.max(0.0) * 10.0 + 1e-6).floor() as usize;
    // For each length the piece that was added last.
    let mut last: Vec<Option<usize>> = vec![None; most + 1];
    let mut is_made = vec![false; most + 1];
    is_made[0] = true;
    for (index, &piece) in pieces.iter().enumerate() {
        let size = tenths(piece);
        for length in (size.max(1)..=most).rev() {
            if !is_made[length] && is_made[length - size] {
                (is_made[length], last[length]) = (true, Some(index));
            }
        }
    }
    let mut length = (1..=most).rev().find(|&length| is_made[length])?;
    let mut chosen = Vec::new();
    while length > 0 {
        let piece = pieces[last[length]?];
        chosen.push(piece);
        length -= tenths(piece);
    }
    chosen.sort_by(|a, b| b.total_cmp(a));
    Some(chosen)
}

/// The leg that a reach on the flat becomes, as it is told outside: up to a square to the corner of the outside faces, and
/// beyond that over all.
pub(super) fn leg(flat: &FlatBend, side: Reach) -> f64 {
    let figures = &flat.figures;
    let straight = side.distance - figures.allowance / 2.0;
    let to_corner = figures.leg(straight, LegDatum::Outside).unwrap_or(straight + figures.tangent_setback);
    to_corner - beyond_tangent(flat)
}

/// By how much the corner of the outside faces lies beyond the leg over all: nothing up to a square, and nothing where
/// there is no such corner.
fn beyond_tangent(flat: &FlatBend) -> f64 {
    let figures = &flat.figures;
    let is_beyond = figures.bend.turn() > 90.0;
    figures.outside_setback.filter(|_| is_beyond).map_or(0.0, |corner| corner - figures.tangent_setback)
}

#[cfg(test)]
mod tests {
    use super::put_together;

    /// By hand: of 100, 50, 40, 20, 15 and 10 the most up to 143 is 140 and up to 93 is 90, each piece once.
    #[test]
    fn pieces_are_put_together_to_the_longest_that_fits() {
        let pieces = [100.0, 50.0, 40.0, 20.0, 15.0, 10.0];
        let sum = |room: f64| put_together(&pieces, room).map(|chosen| chosen.iter().sum::<f64>());
        assert_eq!([143.0, 93.0, 9.0].map(sum), [Some(140.0), Some(90.0), None]);
        assert_eq!(sum(1000.0), Some(235.0));
        let mut used = put_together(&pieces, 139.0).expect("100, 20 and 15 do");
        used.dedup();
        assert_eq!(used.iter().sum::<f64>(), 135.0, "no piece twice");
    }
}
