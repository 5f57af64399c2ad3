//! In which order to bend a part on a bender without punch and die, and how to set up each bend.
//!
//! The side that stays clamped lies under a bar, the other swings around the bar's nose. The sheet is pushed in until the
//! sight line stands right under the nose: then the bend begins where it should. What stands up beside or behind the bend is
//! held against bar, bed and leaf as sections along the bend, as on the [press brake](super).

use std::collections::BTreeSet;
use std::fmt;

use dropwise_geometry::Point;

use super::gauge::reach;
use super::pose::MachineFrame;
use super::section::Prism;
use super::setup::{leg, put_together};
use super::{BendJob, Clash, LEFT_OUT, Order, Search, TOUCH, in_one_line};
use crate::bend::{FIRST_BEND, Grade, tensile_strength};
use crate::fold::{Direction, FoldedFace};
use crate::shop::{Bender, BenderKind, Brake};

/// A plan for a bender.
#[derive(Clone, Debug, PartialEq)]
pub struct HandPlan {
    /// The bender.
    pub bender: String,
    /// Whether an order was found.
    pub order: Order,
    /// The bends in order. Without an order: as far as the best one came.
    pub steps: Vec<HandStep>,
    /// What stands in the way of each bend that is left.
    pub blocked: Vec<HandBlocked>,
}

/// One bend on a bender. Lengths in mm, angles in degrees.
#[derive(Clone, Debug, PartialEq)]
pub struct HandStep {
    /// The bend, by its index in the unfolding; of several in one stroke the first.
    pub bend: usize,
    /// The other bends that are made in the same stroke.
    pub also: Vec<usize>,
    /// The face that it brings up; of several, all of them.
    pub face: String,
    /// Whether that face stays clamped and the rest of the part swings.
    pub is_face_clamped: bool,
    /// By how much.
    pub turn: f64,
    /// Which way, seen on the flat pattern. A part is turned over for a bend the other way.
    pub direction: Direction,
    /// From the beginning of the first bend of the stroke to the end of the last.
    pub span: f64,
    /// How far the sight line lies from the bend line, towards the clamped side; negative on the side that swings.
    ///
    /// # Source
    /// Aviation Maintenance Technician Handbook, Airframe, chapter 4: one bend radius from where the bend begins on the
    /// clamped side (from memory).
    pub sight_line: f64,
    /// The flange that swings, to the outside.
    pub flange: f64,
    /// The fingers to set, where they matter.
    pub fingers: Vec<f64>,
    /// Whether it is a hem: folded as far as the bender goes and then pressed.
    pub is_hem: bool,
}

/// A bend that a bender does not make after the others.
#[derive(Clone, Debug, PartialEq)]
pub struct HandBlocked {
    /// The bend, by its index in the unfolding.
    pub bend: usize,
    /// The face that it brings up.
    pub face: String,
    /// Why.
    pub obstacle: HandObstacle,
}

/// Why a bender does not make a bend. Lengths in mm, angles in degrees.
#[derive(Clone, Debug, PartialEq)]
pub enum HandObstacle {
    /// The metal is too thick for it at any length.
    TooThick,
    /// The bend is longer than it makes in this metal.
    TooLong {
        /// How long it is.
        found: f64,
        /// How long it may be.
        most: f64,
    },
    /// It does not bend so far.
    TooFar {
        /// How far it does.
        most: f64,
    },
    /// The flange is too short to be taken hold of.
    ShortFlange {
        /// How long it is, to the outside.
        found: f64,
        /// How long it must be.
        least: f64,
    },
    /// Too little lies under the bar.
    ShortClamp {
        /// How much, from where the bend begins.
        found: f64,
        /// How much must.
        least: f64,
    },
    /// No set of fingers fits between the walls beside the bend.
    NoFingers {
        /// The room between them.
        room: f64,
    },
    /// A face runs into the bender.
    Tool {
        /// Which face.
        face: String,
        /// Into what.
        tool: HandTool,
    },
    /// A face runs into another.
    Face {
        /// The face that swings.
        face: String,
        /// The one in its way.
        other: String,
    },
}

/// A piece of a bender.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HandTool {
    /// The bar, or the fingers, over the sheet.
    Bar,
    /// The beam that holds the fingers.
    Beam,
    /// The bed, or the lower bar, under the sheet.
    Bed,
    /// The leaf.
    Leaf,
}

impl fmt::Display for HandTool {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Bar => "clamping bar",
            Self::Beam => "beam over the fingers",
            Self::Bed => "bed",
            Self::Leaf => "leaf",
        })
    }
}

impl HandObstacle {
    /// In words; `length` writes a length with its unit.
    #[must_use]
    pub fn in_words(&self, length: impl Fn(f64) -> String) -> String {
        match self {
            Self::TooThick => "the metal is too thick for it".to_owned(),
            Self::TooLong { found, most } => {
                format!(
                    "the bend of {} is longer than the {} that it makes in this metal",
                    length(*found),
                    length(*most)
                )
            }
            Self::TooFar { most } => format!("it bends no farther than {most}°"),
            Self::ShortFlange { found, least } => {
                format!("the flange of {} is shorter than the {} that it takes hold of", length(*found), length(*least))
            }
            Self::ShortClamp { found, least } => {
                format!("only {} lie under the bar, which holds {} at least", length(*found), length(*least))
            }
            Self::NoFingers { room } => format!("no fingers fit into the {} between the walls", length(*room)),
            Self::Tool { face, tool } => format!("face \"{face}\" runs into the {tool}"),
            Self::Face { face, other } => format!("face \"{face}\" runs into face \"{other}\""),
        }
    }
}

/// How far a hem is folded before it is pressed, at least, degrees.
const FIRST_FOLD: f64 = 180.0 - FIRST_BEND.1;

/// Farther than any part reaches, mm.
const FAR: f64 = 1e6;

/// How far apart two angles are at which the part is looked at, degrees.
const STEP: f64 = 15.0;

/// Sets of bends that are tried at most.
const MOST_SETS: usize = 2000;

/// Plans the bends of a part on a bender.
#[must_use]
pub fn hand_plan(job: &BendJob<'_>, bender: &Bender) -> HandPlan {
    // The search for clashes of the part with itself is that of the press brake.
    let brake = Brake::usual();
    let bends = Search::new(job, &brake, in_one_line(job));
    let hand = Hand { bends, bender, dead: BTreeSet::new(), best: (Vec::new(), Vec::new()) };
    hand.run()
}

struct Hand<'a> {
    bends: Search<'a>,
    bender: &'a Bender,
    dead: BTreeSet<Vec<bool>>,
    best: (Vec<HandStep>, Vec<HandBlocked>),
}

/// How a stroke is clamped.
#[derive(Clone, Copy)]
struct Clamped {
    is_face: bool,
    /// How far along the bend the bar reaches; `None` past everything.
    stretch: Option<(f64, f64)>,
}

impl Hand<'_> {
    fn run(mut self) -> HandPlan {
        let mut is_done = vec![false; self.bends.job.unfolding.bends.len()];
        let mut steps = Vec::new();
        let is_found = self.go(&mut is_done, &mut steps);
        let bender = self.bender.name.clone();
        if is_found {
            return HandPlan { bender, order: Order::Found, steps, blocked: Vec::new() };
        }
        let order = if self.dead.len() >= MOST_SETS { Order::GivenUp } else { Order::None };
        let (steps, blocked) = self.best;
        HandPlan { bender, order, steps, blocked }
    }

    /// Depth first, as on the press brake.
    fn go(&mut self, is_done: &mut Vec<bool>, steps: &mut Vec<HandStep>) -> bool {
        if steps.len() == self.bends.strokes.len() {
            return true;
        }
        let mut blocked = Vec::new();
        for index in self.bends.candidates(is_done, None) {
            let stroke = self.bends.strokes[index].clone();
            stroke.iter().for_each(|&bend| is_done[bend] = true);
            let is_dead = self.dead.contains(is_done);
            stroke.iter().for_each(|&bend| is_done[bend] = false);
            if is_dead || self.dead.len() >= MOST_SETS {
                continue;
            }
            match self.step(&stroke, is_done) {
                Ok(step) => {
                    stroke.iter().for_each(|&bend| is_done[bend] = true);
                    steps.push(step);
                    if self.go(is_done, steps) {
                        return true;
                    }
                    steps.pop();
                    stroke.iter().for_each(|&bend| is_done[bend] = false);
                }
                Err(obstacle) => {
                    blocked.push(HandBlocked { bend: stroke[0], face: self.bends.names(&stroke), obstacle });
                }
            }
        }
        if steps.len() > self.best.0.len() || self.best.1.is_empty() {
            self.best = (steps.clone(), blocked);
        }
        self.dead.insert(is_done.clone());
        false
    }

    fn step(&mut self, stroke: &[usize], is_done: &[bool]) -> Result<HandStep, HandObstacle> {
        let unfolding = self.bends.job.unfolding;
        let flat = &unfolding.bends[stroke[0]];
        let (turn, allowance) = (flat.figures.bend.turn(), flat.figures.allowance);
        let is_hem = turn >= 180.0;
        // A hem is folded first and pressed after that.
        let wanted = if is_hem { FIRST_FOLD } else { turn };
        if wanted > self.bender.most_turn + 1e-9 {
            return Err(HandObstacle::TooFar { most: self.bender.most_turn });
        }
        let most = self.bender.longest(as_mild_steel(unfolding.thickness, self.bends.job.grade));
        let ranges = self.bends.along(stroke);
        let from = ranges.iter().map(|range| range.0).fold(f64::INFINITY, f64::min);
        let to = ranges.iter().map(|range| range.1).fold(f64::NEG_INFINITY, f64::max);
        if most == 0.0 {
            return Err(HandObstacle::TooThick);
        }
        if to - from > most + 1e-6 {
            return Err(HandObstacle::TooLong { found: to - from, most });
        }
        if let Some(clash) = self.bends.itself(stroke, is_done) {
            return Err(self.face(clash));
        }
        let faces = self.bends.posed(stroke, is_done, 0.0);
        let machine = self.bends.body.machine_frame(stroke[0], 0.0, &faces);
        let sides = [true, false].map(|is_child| reach(&self.bends.body, stroke, is_done, &faces, &machine, is_child));
        // The smaller side swings, if it can.
        let mut ways = [false, true];
        if sides[1].distance < sides[0].distance {
            ways.reverse();
        }
        let mut obstacle = None;
        for is_face in ways {
            let (swings, stays) = if is_face { (sides[1], sides[0]) } else { (sides[0], sides[1]) };
            let flange = leg(flat, swings);
            let under = stays.distance - allowance / 2.0;
            if flange < self.bender.least_flange - 1e-6 {
                obstacle =
                    obstacle.or(Some(HandObstacle::ShortFlange { found: flange, least: self.bender.least_flange }));
                continue;
            }
            if under < self.bender.least_clamped - 1e-6 {
                obstacle =
                    obstacle.or(Some(HandObstacle::ShortClamp { found: under, least: self.bender.least_clamped }));
                continue;
            }
            match self.clamped(stroke, is_done, is_face, (from, to)) {
                Ok(fingers) => {
                    return Ok(HandStep {
                        bend: stroke[0],
                        also: stroke[1..].to_vec(),
                        face: self.bends.names(stroke),
                        is_face_clamped: is_face,
                        turn,
                        direction: flat.direction,
                        span: to - from,
                        sight_line: allowance / 2.0 - flat.figures.bend.radius(),
                        flange,
                        fingers,
                        is_hem,
                    });
                }
                // What a tool is in the way of says more than a flange that is short the other way round.
                Err(found) => obstacle = Some(found),
            }
        }
        Err(obstacle.unwrap_or(HandObstacle::TooThick))
    }

    /// The fingers with which a stroke can be made so; none where the whole bar does.
    fn clamped(
        &mut self,
        stroke: &[usize],
        is_done: &[bool],
        is_face: bool,
        (from, to): (f64, f64),
    ) -> Result<Vec<f64>, HandObstacle> {
        let whole = match self.bender.kind {
            // Bars are cut to the bend; the vise lies behind them.
            BenderKind::Vise => Clamped { is_face, stretch: Some((from, to)) },
            _ => Clamped { is_face, stretch: None },
        };
        let Some(obstacle) = self.obstacle(stroke, is_done, whole) else { return Ok(Vec::new()) };
        if self.bender.kind != BenderKind::BoxAndPan {
            return Err(obstacle);
        }
        let unfolding = self.bends.job.unfolding;
        let close = unfolding.thickness + unfolding.bends[stroke[0]].figures.bend.radius();
        let room = to - from - 2.0 * close;
        let fingers = put_together(&self.bender.fingers, room).ok_or(HandObstacle::NoFingers { room })?;
        let inset = (to - from - fingers.iter().sum::<f64>()) / 2.0;
        if inset > LEFT_OUT {
            return Err(HandObstacle::NoFingers { room });
        }
        let set = Clamped { is_face, stretch: Some((from + inset, to - inset)) };
        match self.obstacle(stroke, is_done, set) {
            None => Ok(fingers),
            Some(obstacle) => Err(obstacle),
        }
    }

    /// What is in the way of a stroke that is clamped so.
    fn obstacle(&self, stroke: &[usize], is_done: &[bool], clamped: Clamped) -> Option<HandObstacle> {
        let body = &self.bends.body;
        let flat = &body.unfolding.bends[stroke[0]];
        let turn = flat.figures.bend.turn();
        let pressed = if turn >= 180.0 { FIRST_FOLD } else { turn };
        let count = (pressed / STEP).ceil().max(1.0);
        for step in 0..=count as usize {
            let share = step as f64 / count * pressed / turn;
            let faces = self.bends.posed(stroke, is_done, share);
            let machine = body.clamp_frame(stroke[0], share, &faces, clamped.is_face);
            let begins = -flat.figures.allowance * (1.0 - share) / 2.0;
            let prisms = self.prisms(begins, clamped, step == 0);
            let of_part = self.tool_in_the_way(stroke, &faces, &machine, &prisms, clamped.is_face);
            if of_part.is_some() {
                return of_part;
            }
        }
        None
    }

    fn tool_in_the_way(
        &self,
        stroke: &[usize],
        faces: &[FoldedFace],
        machine: &MachineFrame,
        prisms: &[(HandTool, Prism)],
        is_face_clamped: bool,
    ) -> Option<HandObstacle> {
        let body = &self.bends.body;
        for face in 0..faces.len() {
            let swings = stroke.iter().any(|&bend| body.is_beyond[bend][face]) != is_face_clamped;
            for skin in [0.0, body.unfolding.thickness] {
                let polygon = body.polygon(face, skin, faces, machine);
                let hit = prisms.iter().find(|(tool, prism)| {
                    // The leaf lies under what it lifts, and moves with it.
                    (*tool != HandTool::Leaf || swings) && prism.is_entered(&polygon, TOUCH)
                });
                if let Some((tool, _)) = hit {
                    return Some(HandObstacle::Tool { face: body.name(face), tool: *tool });
                }
            }
        }
        None
    }

    /// The sections of the bender in the frame of what is clamped: the sheet lies at y from -T to 0, the bend begins at
    /// `begins`, and the side that swings lies to the right.
    fn prisms(&self, begins: f64, clamped: Clamped, is_flat: bool) -> Vec<(HandTool, Prism)> {
        let Bender { kind, behind, above, leaf, most_turn, .. } = *self.bender;
        let thickness = self.bends.job.unfolding.thickness;
        // The front of a bar leans back so far that the farthest bend just clears it.
        let lean = (most_turn - 90.0).clamp(0.0, 89.0).to_radians().tan();
        let top = (begins - lean * above).max(-behind + 1.0);
        let bar = [(-behind, 0.0), (begins, 0.0), (top, above), (-behind, above)].map(|(x, y)| Point::new(x, y));
        let (from, to) = clamped.stretch.unwrap_or((-FAR, FAR));
        let mut prisms = vec![(HandTool::Bar, Prism::new(bar.to_vec(), from, to))];
        match kind {
            BenderKind::Vise => {
                let lower = Prism::rectangle((-behind, begins), (-thickness - above, -thickness), (from, to));
                prisms.push((HandTool::Bed, lower));
            }
            BenderKind::Leaf | BenderKind::BoxAndPan => {
                let bed = Prism::rectangle((-behind, begins), (-FAR, -thickness), (-FAR, FAR));
                prisms.push((HandTool::Bed, bed));
            }
        }
        if kind == BenderKind::BoxAndPan {
            let beam = Prism::rectangle((-behind, top), (above, FAR), (-FAR, FAR));
            prisms.push((HandTool::Beam, beam));
        }
        if is_flat && leaf > 0.0 {
            let under = Prism::rectangle((-begins, leaf), (-thickness - leaf, -thickness), (-FAR, FAR));
            prisms.push((HandTool::Leaf, under));
        }
        prisms
    }

    fn face(&self, clash: Clash) -> HandObstacle {
        match clash {
            Clash::Face { face, other } => {
                HandObstacle::Face { face: self.bends.body.name(face), other: self.bends.body.name(other) }
            }
            Clash::TooSharp | Clash::Tool { .. } => HandObstacle::TooFar { most: self.bender.most_turn },
        }
    }
}

/// How thick a sheet of mild steel is that takes as much to bend: force goes with the tensile strength and the square of the
/// thickness.
pub(crate) fn as_mild_steel(thickness: f64, grade: Grade) -> f64 {
    let share = tensile_strength(grade).value / tensile_strength(Grade::LowCarbonSteel).value;
    thickness * share.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bend::{Development, KFactor, Method};
    use crate::fold::{BentPart, Edge, Flange, channel, tray, unfold};
    use crate::pattern::{Base, Corner, Pattern};

    fn planned(part: &BentPart, bender: &Bender) -> HandPlan {
        let k = KFactor::given(0.4).unwrap();
        let unfolding = unfold(part, &|_| Development::KFactor(k.clone())).unwrap();
        let job = BendJob { unfolding: &unfolding, grade: Grade::LowCarbonSteel, method: Method::AirBend, dies: &[] };
        hand_plan(&job, bender)
    }

    /// A tray of 1 mm: the walls that are up already stand where a plain bar would clamp; fingers go between them.
    #[test]
    fn a_tray_wants_fingers() {
        let part = tray(300.0, 200.0, 40.0, 1.0, 1.0);
        let leaf = planned(&part, &Bender::usual_leaf());
        assert_eq!(leaf.order, Order::None);
        assert_eq!(leaf.steps.len(), 2, "two walls across from each other: {:?}", leaf.blocked);
        assert!(leaf.blocked.iter().all(|one| matches!(one.obstacle, HandObstacle::Tool { tool: HandTool::Bar, .. })));
        let fingers = planned(&part, &Bender::usual_box_and_pan());
        assert_eq!(fingers.order, Order::Found, "{:?}", fingers.blocked);
        let set: f64 = fingers.steps[3].fingers.iter().sum();
        assert!((196.0 - 2.0 * LEFT_OUT..=196.0).contains(&set), "{set}");
        // Walls higher than the fingers reach the beam.
        let deep = planned(&tray(300.0, 200.0, 100.0, 1.0, 1.0), &Bender::usual_box_and_pan());
        assert_eq!(deep.order, Order::None);
    }

    #[test]
    fn thickness_length_flange_and_angle_have_their_limits() {
        let plate = |thickness: f64, length: f64| {
            BentPart::new(thickness, thickness, Pattern::plain(Base::rectangle(length, 100.0, Corner::Sharp)))
        };
        let obstacle = |part: &BentPart, bender: &Bender| planned(part, bender).blocked[0].obstacle.clone();
        let leg = |height: f64| Flange::new("leg", Edge::Top, height);
        let leaf = Bender::usual_leaf();
        assert_eq!(obstacle(&plate(3.0, 200.0).with(leg(40.0)), &leaf), HandObstacle::TooThick);
        let long = obstacle(&plate(1.5, 600.0).with(leg(40.0)), &leaf);
        assert!(matches!(long, HandObstacle::TooLong { most: 500.0, .. }), "{long:?}");
        let short = obstacle(&plate(1.0, 200.0).with(leg(6.0)), &leaf);
        assert!(matches!(short, HandObstacle::ShortFlange { least: 10.0, .. }), "{short:?}");
        let far = obstacle(&plate(1.5, 200.0).with(leg(40.0).turned(120.0)), &Bender::usual_vise());
        assert_eq!(far, HandObstacle::TooFar { most: 95.0 });
        let vise = planned(&plate(2.0, 200.0).with(leg(40.0)), &Bender::usual_vise());
        assert_eq!(vise.order, Order::Found, "{:?}", vise.blocked);
        assert_eq!(planned(&channel(300.0, 120.0, 40.0, 1.0, 1.0), &leaf).order, Order::Found);
    }

    /// 16 ga, R 3, K 0.4, by hand: the bend begins 2.834 from its line, the sight line 3 ahead of that.
    #[test]
    fn the_sight_line_stands_one_radius_ahead_of_where_the_bend_begins() {
        let base = Pattern::plain(Base::rectangle(200.0, 100.0, Corner::Sharp));
        let part = BentPart::new(1.519, 3.0, base).with(Flange::new("leg", Edge::Top, 40.0));
        let plan = planned(&part, &Bender { capacity: vec![(2.0, 500.0)], ..Bender::usual_leaf() });
        let begins = std::f64::consts::FRAC_PI_2 * (3.0 + 0.4 * 1.519) / 2.0;
        assert!((plan.steps[0].sight_line - (begins - 3.0)).abs() < 1e-9, "{:?}", plan.steps[0]);
    }
}
