//! Setting up the brake for one bend: die, punch, side, force, backgauge.

use super::clash::{Clash, Setting};
use super::gauge::{GaugeStop, Reach, reach};
use super::{BendStep, LEFT_OUT, Search, Tool};
use crate::bend::{ForceRule, Forming, LegDatum, Method, OPENING_RULES, air_bend_radius, least_flange};
use crate::fold::FlatBend;
use crate::shop::VDie;

/// A bend by more than this is folded first and then pressed flat, degrees: what the sharpest common punch reaches.
const SHARPEST: f64 = 150.0;

/// Dies narrower than this many thicknesses are not taken, however short the leg. Common practice, no source: the sheet
/// is marked and the force runs up.
pub(crate) const NARROWEST: f64 = 4.0;

impl Search<'_> {
    /// The bend as it is made when these are done, or what is in the way.
    pub(super) fn step(&mut self, bend: usize, is_done: &[bool]) -> Result<BendStep, Clash> {
        let unfolding = self.job.unfolding;
        let flat = &unfolding.bends[bend];
        let turn = flat.figures.bend.turn();
        let is_hem = turn > SHARPEST;
        let pressed = turn.min(SHARPEST);
        let shares: Vec<f64> = is_done.iter().map(|&is_done| if is_done { 1.0 } else { 0.0 }).collect();
        let faces = self.body.pose(&shares);
        let machine = self.body.machine_frame(bend, 0.0, &faces);
        let sides = [true, false].map(|is_child| reach(&self.body, bend, is_done, &faces, &machine, is_child));
        let legs = sides.map(|side| leg(flat, side));
        let die = self.die(bend, pressed, legs[0].min(legs[1])).ok_or(Clash::TooSharp)?;

        // A punch a little shorter than the bend still makes it.
        let length = flat.length();
        let close = (unfolding.thickness + flat.figures.bend.radius()).min(length / 6.0);
        let insets = [close, LEFT_OUT.min(length / 6.0).max(close)];
        let mut first_clash = None;
        for (punch, tool) in self.brake.punches.iter().enumerate() {
            if tool.angle > 180.0 - pressed + 1e-9 {
                continue;
            }
            let mut ways: Vec<bool> = vec![true, false];
            // The nearer side goes to the back: the larger one is held in front.
            if sides[1].distance < sides[0].distance {
                ways.reverse();
            }
            for is_child_behind in ways {
                for inset in insets {
                    let setting = Setting { punch, die, is_child_behind, share: pressed / turn, inset };
                    match self.clash(bend, is_done, setting) {
                        None => return Ok(self.made(bend, setting, sides, legs, is_hem)),
                        Some(clash) => {
                            first_clash = first_clash.or(Some(clash));
                            if !matches!(clash, Clash::Tool { tool: Tool::Punch | Tool::Die, .. }) {
                                break; // a shorter punch changes nothing
                            }
                        }
                    }
                }
            }
        }
        Err(first_clash.unwrap_or(Clash::TooSharp))
    }

    fn made(&self, bend: usize, setting: Setting, sides: [Reach; 2], legs: [f64; 2], is_hem: bool) -> BendStep {
        let job = self.job;
        let flat = &job.unfolding.bends[bend];
        let (turn, thickness, length) = (flat.figures.bend.turn(), job.unfolding.thickness, flat.length());
        let forming = Forming::from(job.method);
        // The rule that is highest by tensile strength, since it is a machine that is checked.
        let pressure = ForceRule::Imperial.force(job.grade, forming, thickness, setting.die.opening);
        let behind = if setting.is_child_behind { 0 } else { 1 };
        let side = sides[behind];
        let (nearest, farthest) = self.brake.gauge_reach;
        let gauge = (nearest - 1e-9..=farthest + 1e-9).contains(&side.distance).then(|| GaugeStop {
            distance: side.distance,
            face: self.body.name(side.face),
            is_straight: side.is_straight,
        });
        let least_leg = if is_hem {
            0.0
        } else {
            least_flange(setting.die.opening, 180.0 - turn).unwrap_or(0.0) - beyond_tangent(flat)
        };
        BendStep {
            bend,
            face: self.body.name(flat.face),
            turn,
            direction: flat.direction,
            length,
            die: setting.die,
            punch: self.brake.punches[setting.punch].name.clone(),
            punch_length: length - 2.0 * setting.inset,
            inside_radius: flat.figures.bend.radius(),
            radius_in_die: air_bend_radius(job.grade, setting.die.opening).range,
            pressure,
            force: pressure.kilonewtons(length),
            legs: [legs[behind], legs[1 - behind]],
            least_leg,
            gauge,
            is_hem,
        }
    }

    /// The die: the one laid down; else the one nearest to what the radius asks for, or the thickness where the radius
    /// would ask for one too narrow; a narrower one where the leg would fall into that. `None` when none is sharp enough.
    fn die(&self, bend: usize, turn: f64, leg: f64) -> Option<VDie> {
        let flat = &self.job.unfolding.bends[bend];
        if let Some(&Some(opening)) = self.job.dies.get(bend) {
            let owned = self.brake.dies.iter().find(|die| (die.opening - opening).abs() < 0.05);
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
