//! In which order to bend a part, and how to set up the press brake for each bend.
//!
//! An order is searched in which the part runs neither into the machine nor into itself. The part is bent step by step;
//! at several angles on the way its faces are held against the sections of punch and die, the beam above and the bed
//! below, and the faces that swing against those that stand, as plates. Outer bends are tried first, and among those what
//! needs the set-up that stands: both long sides, then both short ones.
//!
//! What the check knows, and what it does not:
//! * Punch and die are put together from pieces as long as the bend, less a little at each end. Beam and bed are as long
//!   as the machine. The backgauge, the side frames and the person are not looked at.
//! * Faces are taken whole, without their holes; the rounded bends between them are not looked at, so that a part may
//!   come nearer to a tool than it seems by an inside radius and a thickness. Touching by less than [`TOUCH`] counts as
//!   clear.
//! * A hem is folded as far as the sharpest punch goes and then pressed flat. The flattening is held against the part
//!   itself only.
//! * Bends in one line, by one turn, over one radius and from one face, are made in one stroke; where no order is found so,
//!   each by itself.
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
mod hand;
mod pose;
mod section;
mod setup;
#[cfg(test)]
mod tests;

use std::collections::BTreeSet;
use std::fmt;

use crate::bend::{Force, Grade, HemKind, Method};
use crate::fold::{Direction, Unfolding};
use crate::shop::{Brake, VDie};

use clash::{Clash, Machine};
use pose::Body;
pub(crate) use setup::SAME_DIE;

pub use gauge::GaugeStop;
pub(crate) use hand::as_mild_steel;
pub use hand::{HandBlocked, HandObstacle, HandPlan, HandStep, HandTool, hand_plan};

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
    /// The machine: what its brake is called.
    pub machine: &'static str,
    /// Whether an order was found.
    pub order: Order,
    /// The bends in order. Without an order: as far as the best one came.
    pub steps: Vec<BendStep>,
    /// What stands in the way of each bend that is left.
    pub blocked: Vec<Blocked>,
    /// How much was tried.
    pub effort: Effort,
}

/// How much a search for an order tried.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Effort {
    /// Sets of bends from which no order leads on.
    pub sets: usize,
    /// Set-ups held against the part: each a punch, a side at the back and a length of punch.
    pub ways: u64,
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
    /// The bend, by its index in the unfolding; of several in one stroke the first.
    pub bend: usize,
    /// The other bends that are made in the same stroke.
    pub also: Vec<usize>,
    /// The face that it brings up; of several in one stroke, all of them.
    pub face: String,
    /// By how much.
    pub turn: f64,
    /// Which way, seen on the flat pattern. A part is turned over for a bend the other way.
    pub direction: Direction,
    /// Length of metal bent.
    pub length: f64,
    /// From the beginning of the first bend of the stroke to the end of the last.
    pub span: f64,
    /// The die.
    pub die: VDie,
    /// Name of the punch.
    pub punch: String,
    /// How long a punch to put together: as long as the bend, a little shorter, or, between flanges that are turned in, as
    /// much shorter as [`LEFT_OUT`] allows.
    pub punch_length: f64,
    /// Whether a longer punch does as well, since nothing of the part stands beside the bend.
    pub punch_may_be_longer: bool,
    /// The pieces to put it together from, where the shop tells of pieces and the length matters.
    pub punch_pieces: Vec<f64>,
    /// How much of the bend stays without punch at each end, where that is more than the sheet follows by itself; else zero.
    pub uncovered: f64,
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
    /// The shortest leg that the die holds; of a hem, at its first bend to an opening of 30°.
    pub least_leg: f64,
    /// Where to put the backgauge; `None` where it does not reach.
    pub gauge: Option<GaugeStop>,
    /// The kind of hem, if it is one: folded with the sharpest punch first, then pressed as its kind asks.
    pub hem: Option<HemKind>,
}

/// A bend that cannot be made after the others.
#[derive(Clone, Debug, PartialEq)]
pub struct Blocked {
    /// The bend, by its index in the unfolding.
    pub bend: usize,
    /// The face that it brings up.
    pub face: String,
    /// What is in the way.
    pub obstacle: Obstacle,
    /// What would help, if anything that was thought of does.
    pub help: Option<Help>,
}

/// A tool that would make a bend which the shop's own do not make. Lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Help {
    /// A punch of this height.
    HigherPunch(f64),
    /// A beam no wider than this.
    NarrowerBeam(f64),
    /// A die no wider than this over all.
    NarrowerDie(f64),
    /// A die of this height.
    HigherDie(f64),
}

impl Help {
    /// In words; `length` writes a length with its unit.
    #[must_use]
    pub fn in_words(self, length: impl Fn(f64) -> String) -> String {
        match self {
            Self::HigherPunch(height) => format!("a punch {} high does it", length(height)),
            Self::NarrowerBeam(width) => format!("a beam {} wide does it", length(width)),
            Self::NarrowerDie(width) => format!("a die {} wide over all does it", length(width)),
            Self::HigherDie(height) => format!("a die {} high does it", length(height)),
        }
    }
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
    let machine = brake.map_or("press brake", |brake| brake.name);
    let nothing =
        |order| BendingPlan { machine, order, steps: Vec::new(), blocked: Vec::new(), effort: Effort::default() };
    let count = job.unfolding.bends.len();
    let Some(brake) = brake.filter(|brake| !brake.punches.is_empty() && !brake.dies.is_empty()) else {
        return nothing(if count == 0 { Order::Found } else { Order::NoBrake });
    };
    let strokes = in_one_line(job);
    let alone: Vec<Vec<usize>> = (0..count).map(|bend| vec![bend]).collect();
    let is_grouped = strokes.len() < count;
    let first = Search::new(job, brake, strokes).run();
    if first.order == Order::Found || !is_grouped {
        return first;
    }
    // One by one may go where all at once does not; if neither does, what blocks the fewer strokes is easier to follow.
    let second = Search::new(job, brake, alone).run();
    if second.order == Order::Found { second } else { first }
}

/// Bends that one stroke makes: in one line on one face, by one turn, one way, over one radius, in one die.
fn in_one_line(job: &BendJob<'_>) -> Vec<Vec<usize>> {
    let bends = &job.unfolding.bends;
    let die = |bend: usize| job.dies.get(bend).copied().flatten();
    let mut strokes: Vec<Vec<usize>> = Vec::new();
    for (index, bend) in bends.iter().enumerate() {
        let along = (bend.start[1] - bend.start[0]).unit().unwrap_or(dropwise_geometry::Vector::new(1.0, 0.0));
        let is_alike = |other: usize| {
            let (one, two) = (&bend.figures, &bends[other].figures);
            let near = |a: f64, b: f64| (a - b).abs() < IN_LINE;
            let other_along = bends[other].start[1] - bends[other].start[0];
            bend.parent == bends[other].parent
                && bend.direction == bends[other].direction
                && near(one.bend.turn(), two.bend.turn())
                && near(one.bend.radius(), two.bend.radius())
                && near(one.allowance, two.allowance)
                && die(index) == die(other)
                && along.cross(bends[other].start[0] - bend.start[0]).abs() < IN_LINE
                && along.cross(other_along).abs() < IN_LINE
                && along.dot(other_along) > 0.0
        };
        match strokes.iter_mut().find(|stroke| is_alike(stroke[0])) {
            Some(stroke) => stroke.push(index),
            None => strokes.push(vec![index]),
        }
    }
    strokes
}

/// What differs by less is alike, mm and degrees.
const IN_LINE: f64 = 1e-6;

struct Search<'a> {
    job: &'a BendJob<'a>,
    brake: &'a Brake,
    body: Body<'a>,
    machine: Machine,
    /// What is bent at once.
    strokes: Vec<Vec<usize>>,
    /// How many bends lie between the base and the faces that each stroke brings up, that one included.
    depth: Vec<usize>,
    /// Sets of bends from which no order leads on.
    dead: BTreeSet<Vec<bool>>,
    /// The longest beginning of an order, which bends are then made, and what blocks the rest.
    best: (Vec<BendStep>, Vec<bool>, Vec<(usize, Clash)>),
    work: u64,
    ways: u64,
}

impl<'a> Search<'a> {
    fn new(job: &'a BendJob<'a>, brake: &'a Brake, strokes: Vec<Vec<usize>>) -> Self {
        let mut depth = vec![0_usize; job.unfolding.faces.len()];
        for (index, face) in job.unfolding.faces.iter().enumerate() {
            depth[index] = face.parent.map_or(0, |parent| depth[parent] + 1);
        }
        let depth = strokes.iter().map(|stroke| depth[job.unfolding.bends[stroke[0]].face]).collect();
        Self {
            job,
            brake,
            body: Body::new(job.unfolding),
            machine: Machine::new(brake),
            strokes,
            depth,
            dead: BTreeSet::new(),
            best: (Vec::new(), vec![false; job.unfolding.bends.len()], Vec::new()),
            work: 0,
            ways: 0,
        }
    }

    fn run(mut self) -> BendingPlan {
        let mut is_done = vec![false; self.job.unfolding.bends.len()];
        let mut steps = Vec::with_capacity(self.strokes.len());
        let is_found = self.go(&mut is_done, &mut steps);
        let machine = self.brake.name;
        let effort = Effort { sets: self.dead.len(), ways: self.ways };
        if is_found {
            return BendingPlan { machine, order: Order::Found, steps, blocked: Vec::new(), effort };
        }
        let order = if self.work > MOST_WORK { Order::GivenUp } else { Order::None };
        let (steps, is_done, blocked) = std::mem::take(&mut self.best);
        let blocked = blocked.into_iter().map(|(stroke, clash)| {
            let bends = self.strokes[stroke].clone();
            let (clash, help) = self.explained(&bends, &is_done, clash);
            Blocked { bend: bends[0], face: self.names(&bends), obstacle: self.told(clash), help }
        });
        let blocked = blocked.collect();
        BendingPlan { machine, order, steps, blocked, effort }
    }

    /// Depth first. What can follow depends on which bends are made, not on their order, so no set is tried twice.
    fn go(&mut self, is_done: &mut Vec<bool>, steps: &mut Vec<BendStep>) -> bool {
        if steps.len() == self.strokes.len() {
            return true;
        }
        let mut blocked = Vec::new();
        for index in self.candidates(is_done, steps.last()) {
            if self.work > MOST_WORK {
                break;
            }
            let stroke = self.strokes[index].clone();
            stroke.iter().for_each(|&bend| is_done[bend] = true);
            let is_dead = self.dead.contains(is_done);
            stroke.iter().for_each(|&bend| is_done[bend] = false);
            if is_dead {
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
                Err(clash) => blocked.push((index, clash)),
            }
        }
        let is_complete = blocked.len() + steps.len() == self.strokes.len();
        if is_complete && steps.len() >= self.best.0.len() && self.best.2.is_empty() || steps.len() > self.best.0.len()
        {
            self.best = (steps.clone(), is_done.clone(), blocked);
        }
        self.dead.insert(is_done.clone());
        false
    }

    /// The strokes that are left, in the order in which a person would try them: those farthest from the base first; among
    /// those what goes on with the set-up that stands; then the lower flange, then the longer bend.
    fn candidates(&self, is_done: &[bool], last: Option<&BendStep>) -> Vec<usize> {
        let bends = &self.job.unfolding.bends;
        let height = |stroke: usize| self.job.unfolding.faces[bends[self.strokes[stroke][0]].face].told_size.1;
        let length = |stroke: usize| self.strokes[stroke].iter().map(|&bend| bends[bend].length()).sum::<f64>();
        let goes_on = |stroke: usize| {
            let flat = &bends[self.strokes[stroke][0]];
            last.is_some_and(|last| {
                (length(stroke) - last.length).abs() < SAME_LENGTH
                    && flat.direction == last.direction
                    && (flat.figures.bend.turn() - last.turn).abs() < IN_LINE
            })
        };
        let mut left: Vec<usize> =
            (0..self.strokes.len()).filter(|&stroke| !is_done[self.strokes[stroke][0]]).collect();
        left.sort_by(|&a, &b| {
            (self.depth[b].cmp(&self.depth[a]))
                .then(goes_on(b).cmp(&goes_on(a)))
                .then(height(a).total_cmp(&height(b)))
                .then(length(b).total_cmp(&length(a)))
                .then(a.cmp(&b))
        });
        left
    }

    /// The faces that a stroke brings up.
    fn names(&self, stroke: &[usize]) -> String {
        let names: Vec<String> = stroke.iter().map(|&bend| self.body.name_of_bend(bend)).collect();
        match names.split_last() {
            Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
            _ => names.concat(),
        }
    }

    fn told(&self, clash: Clash) -> Obstacle {
        match clash {
            Clash::TooSharp => Obstacle::TooSharp,
            Clash::Tool { face, tool } => Obstacle::Tool { face: self.body.name(face), tool },
            Clash::Face { face, other } => Obstacle::Face { face: self.body.name(face), other: self.body.name(other) },
        }
    }
}

/// Bends whose lengths differ by less take the same punch, mm.
const SAME_LENGTH: f64 = 1.0;
