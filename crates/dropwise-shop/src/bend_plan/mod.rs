//! In which order to bend a part, and how to set up the press brake for each bend.
//!
//! An order is searched in which the part runs neither into the machine nor into itself. The part is bent step by step;
//! at several angles on the way its faces are held against the sections of punch and die, the beam above and the bed
//! below, and the faces that swing against those that stand. Outer bends are tried first, which is what a person does.
//!
//! What the check knows, and what it does not:
//! * Punch and die are put together from pieces as long as the bend, less a little at each end. Beam and bed are as long
//!   as the machine. The backgauge, the side frames and the person are not looked at.
//! * Faces are taken whole, without their holes; the rounded bends between them are not looked at, so that a part may
//!   come nearer to a tool than it seems by an inside radius and a thickness. Touching by less than [`TOUCH`] counts as
//!   clear.
//! * A hem is folded as far as the sharpest punch goes and then pressed flat. The flattening is held against the part
//!   itself only.
//! * Bends in one line are made one by one.
//!
//! So a plan is a start for a person who knows the machine, and "no order found" a strong hint, not a proof.
//!
//! # Examples
//! ```
//! use dropwise_geometry::Unit;
//! use dropwise_shop::Shop;
//! use dropwise_shop::bend::{Development, Grade, KFactor, Method};
//! use dropwise_shop::bend_plan::{BendJob, Order, plan};
//! use dropwise_shop::fold::{channel, unfold};
//! let part = channel(300.0, 100.0, 40.0, 2.0, 2.0);
//! let k = KFactor::given(0.4)?;
//! let flat = unfold(&part, &|_| Development::KFactor(k.clone()))?;
//! let job = BendJob { unfolding: &flat, grade: Grade::LowCarbonSteel, method: Method::AirBend, dies: &[] };
//! let plan = plan(&job, Shop::usual(Unit::Millimetre).brake.as_ref());
//! assert_eq!(plan.order, Order::Found);
//! // 0.3 m of 2 mm steel in a die of 12 mm, by the most careful rule: 0.72 kN a mm.
//! assert_eq!((plan.steps[0].die.opening, plan.steps[0].force.round()), (12.0, 72.0));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod clash;
mod gauge;
mod pose;
mod section;
mod setup;
#[cfg(test)]
mod tests;

use std::collections::BTreeSet;
use std::fmt;

use crate::bend::{Force, Grade, Method};
use crate::fold::{Direction, Unfolding};
use crate::shop::{Brake, VDie};

use clash::{Clash, Machine};
use pose::Body;

pub use gauge::GaugeStop;

/// A part may enter a tool, or itself, by so much, mm: what a person shims or what the model rounds.
pub const TOUCH: f64 = 0.3;

/// What a punch may leave out at each end of a bend, where flanges that are turned in leave no more room, mm, and at most a
/// sixth of the bend: the sheet follows for so far. Common practice, no source; horned pieces do it better.
pub const LEFT_OUT: f64 = 25.0;

/// What is to be bent.
#[derive(Clone, Copy, Debug)]
pub struct BendJob<'a> {
    /// The part, laid flat.
    pub unfolding: &'a Unfolding,
    /// The metal.
    pub grade: Grade,
    /// How the punch drives the sheet into the die.
    pub method: Method,
    /// Opening of the die that each bend is to be made in, mm, where that is laid down; may be shorter than the bends.
    pub dies: &'a [Option<f64>],
}

/// A plan for the press brake.
#[derive(Clone, Debug, PartialEq)]
pub struct BendingPlan {
    /// Whether an order was found.
    pub order: Order,
    /// The bends in order. Without an order: as far as the best one came.
    pub steps: Vec<BendStep>,
    /// What stands in the way of each bend that is left.
    pub blocked: Vec<Blocked>,
}

/// How the search for an order ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// All bends can be made.
    Found,
    /// Every order was tried, as far as it went, and none makes all bends.
    None,
    /// None was found within what may be tried.
    GivenUp,
    /// There is no brake, or it has no punch or die.
    NoBrake,
}

/// One bend at the machine. Lengths in mm, angles in degrees, forces in kN.
#[derive(Clone, Debug, PartialEq)]
pub struct BendStep {
    /// The bend, by its index in the unfolding.
    pub bend: usize,
    /// The face that it brings up.
    pub face: String,
    /// By how much.
    pub turn: f64,
    /// Which way, seen on the flat pattern. A part is turned over for a bend the other way.
    pub direction: Direction,
    /// Length of metal bent.
    pub length: f64,
    /// The die.
    pub die: VDie,
    /// Name of the punch.
    pub punch: String,
    /// How long a punch to put together: a little shorter than the bend, or, between flanges that are turned in, as much
    /// shorter as [`LEFT_OUT`] allows.
    pub punch_length: f64,
    /// Inside radius asked for.
    pub inside_radius: f64,
    /// Lowest and highest inside radius that an air bend in this die comes to.
    pub radius_in_die: (f64, f64),
    /// Force by the length of the bend.
    pub pressure: Force,
    /// Force in all.
    pub force: f64,
    /// The two legs on the die, as they are told outside (over all where the bend is sharper than a square), the one at the
    /// back first; a leg is as long as the sheet lies flat, or to the outside of what is bent from it already.
    pub legs: [f64; 2],
    /// The shortest leg that the die holds; zero for a hem.
    pub least_leg: f64,
    /// Where to put the backgauge; `None` where it does not reach.
    pub gauge: Option<GaugeStop>,
    /// Whether it is a hem: folded with the sharpest punch first, then pressed flat.
    pub is_hem: bool,
}

/// A bend that cannot be made after the others.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Blocked {
    /// The bend, by its index in the unfolding.
    pub bend: usize,
    /// The face that it brings up.
    pub face: String,
    /// What is in the way.
    pub obstacle: Obstacle,
}

/// What a part runs into.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Obstacle {
    /// No punch or no die is sharp enough.
    TooSharp,
    /// A face runs into a tool.
    Tool {
        /// Which face.
        face: String,
        /// Which tool.
        tool: Tool,
    },
    /// A face runs into another.
    Face {
        /// The face that swings.
        face: String,
        /// The one in its way.
        other: String,
    },
}

/// A piece of the machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tool {
    /// The punch.
    Punch,
    /// The beam above it.
    Beam,
    /// The die.
    Die,
    /// The bed below it.
    Bed,
}

impl fmt::Display for Tool {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Punch => "punch",
            Self::Beam => "beam above the punch",
            Self::Die => "die",
            Self::Bed => "bed below the die",
        })
    }
}

impl fmt::Display for Obstacle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooSharp => f.write_str("no punch and die are sharp enough for its angle"),
            Self::Tool { face, tool } => write!(f, "face \"{face}\" runs into the {tool}"),
            Self::Face { face, other } => write!(f, "face \"{face}\" runs into face \"{other}\""),
        }
    }
}

/// How much may be tried: polygons held against tools and against one another. Some seconds at most.
const MOST_WORK: u64 = 3_000_000;

/// Plans the bends of a part on a brake.
#[must_use]
pub fn plan(job: &BendJob<'_>, brake: Option<&Brake>) -> BendingPlan {
    let nothing = |order| BendingPlan { order, steps: Vec::new(), blocked: Vec::new() };
    let count = job.unfolding.bends.len();
    let Some(brake) = brake.filter(|brake| !brake.punches.is_empty() && !brake.dies.is_empty()) else {
        return nothing(if count == 0 { Order::Found } else { Order::NoBrake });
    };
    let mut search = Search {
        job,
        brake,
        body: Body::new(job.unfolding),
        machine: Machine::new(brake),
        turn_order: outer_first(job.unfolding),
        dead: BTreeSet::new(),
        best: (Vec::new(), Vec::new()),
        work: 0,
    };
    let mut is_done = vec![false; count];
    let mut steps = Vec::with_capacity(count);
    if search.go(&mut is_done, &mut steps) {
        return BendingPlan { order: Order::Found, steps, blocked: Vec::new() };
    }
    let order = if search.work > MOST_WORK { Order::GivenUp } else { Order::None };
    let (steps, blocked) = search.best;
    BendingPlan { order, steps, blocked }
}

/// The bends, those farthest from the base first; among equals the shorter flange first, then by number.
fn outer_first(unfolding: &Unfolding) -> Vec<usize> {
    let mut depth = vec![0_usize; unfolding.faces.len()];
    for (index, face) in unfolding.faces.iter().enumerate() {
        depth[index] = face.parent.map_or(0, |parent| depth[parent] + 1);
    }
    let mut order: Vec<usize> = (0..unfolding.bends.len()).collect();
    order.sort_by(|&a, &b| {
        let key = |bend: usize| (std::cmp::Reverse(depth[unfolding.bends[bend].face]), bend);
        let height = |bend: usize| unfolding.faces[unfolding.bends[bend].face].told_size.1;
        key(a).0.cmp(&key(b).0).then(height(a).total_cmp(&height(b))).then(a.cmp(&b))
    });
    order
}

struct Search<'a> {
    job: &'a BendJob<'a>,
    brake: &'a Brake,
    body: Body<'a>,
    machine: Machine,
    turn_order: Vec<usize>,
    /// Sets of bends from which no order leads on.
    dead: BTreeSet<Vec<bool>>,
    /// The longest beginning of an order, and what blocks the rest.
    best: (Vec<BendStep>, Vec<Blocked>),
    work: u64,
}

impl Search<'_> {
    /// Depth first. What can follow depends on which bends are made, not on their order, so no set is tried twice.
    fn go(&mut self, is_done: &mut Vec<bool>, steps: &mut Vec<BendStep>) -> bool {
        if steps.len() == is_done.len() {
            return true;
        }
        let mut blocked = Vec::new();
        for bend in self.turn_order.clone() {
            if is_done[bend] || self.work > MOST_WORK {
                continue;
            }
            is_done[bend] = true;
            let is_dead = self.dead.contains(is_done);
            is_done[bend] = false;
            if is_dead {
                continue;
            }
            match self.step(bend, is_done) {
                Ok(step) => {
                    is_done[bend] = true;
                    steps.push(step);
                    if self.go(is_done, steps) {
                        return true;
                    }
                    steps.pop();
                    is_done[bend] = false;
                }
                Err(clash) => {
                    let face = self.body.name_of_bend(bend);
                    blocked.push(Blocked { bend, face, obstacle: self.told(clash) });
                }
            }
        }
        if blocked.len() + steps.len() == is_done.len() && steps.len() >= self.best.0.len() && self.best.1.is_empty()
            || steps.len() > self.best.0.len()
        {
            self.best = (steps.clone(), blocked);
        }
        self.dead.insert(is_done.clone());
        false
    }

    fn told(&self, clash: Clash) -> Obstacle {
        match clash {
            Clash::TooSharp => Obstacle::TooSharp,
            Clash::Tool { face, tool } => Obstacle::Tool { face: self.body.name(face), tool },
            Clash::Face { face, other } => Obstacle::Face { face: self.body.name(face), other: self.body.name(other) },
        }
    }
}
