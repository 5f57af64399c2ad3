//! Annealing of what cutting by hand costs, on sheets that are chosen.
//!
//! A move tears some parts out of a sheet and lays each again where its sides fall into lines that are cut anyway, along the
//! sheet's edges, or against its neighbours. Metropolis's rule decides whether the sheet stays so: its energy is the work of
//! cutting it and the metal that is not left in one piece, in the smallest coin.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use dropwise_geometry::{Bounds, Point};
use dropwise_model::ONE_LINE;

use crate::anneal::separator::{Outcome, Separator, SeparatorSettings};
use crate::problem::task::Task;
use crate::random::SearchRng;
use crate::shapes::pose::Pose;
use crate::state::hand_cuts::{HandCuts, largest_band_beside, metal_rate};
use crate::state::score::{cut_line, largest_band};
use crate::state::working::{Arrangement, Working};

/// More items than this are not laid out for hands: nobody cuts so many by hand, and each move looks at all on the sheet.
pub(crate) const MOST_ITEMS: usize = 400;
/// Moves without a better arrangement after which there is nothing left to try.
const PATIENCE: u32 = 1_500;
/// Temperatures at the start and at the end, in set-ups. Warmer, whole sheets come apart; colder, the first order stays.
const TEMPERATURES: [f64; 2] = [1.5, 0.1];
/// How often everything on a sheet on which something lies askew is squared up, in how many sweeps, how much of the largest
/// rest is kept at least, and how many parts are turned anyhow.
const SQUARED: f64 = 0.1;
const SWEEPS: usize = 80;
const LEAST_KEPT: f64 = 0.5;
const ANY_TURN: f64 = 0.2;
/// Places in lines that are kept along each axis, those with the fewest new lines first; and places against something.
const IN_LINE: usize = 24;
const AGAINST: usize = 40;
/// Places looked at before an item is taken to have none.
const MOST_LOOKS: usize = 500;
/// How much chance adds to the worth of a place, in set-ups.
const NOISE: f64 = 0.3;
/// How often everything on a sheet is laid anew.
const WHOLE_SHEET: f64 = 0.25;
/// Most parts that are torn out otherwise.
const MOST_TORN: usize = 5;

/// One such annealing.
#[derive(Debug)]
pub(crate) struct Tidier<'t> {
    working: Working<'t>,
    cuts: HandCuts,
    rng: SearchRng,
    energy: f64,
    best: Arrangement,
    best_energy: f64,
    /// Moves since the best was found.
    stale: u32,
}

/// A way to lie, with its lines and boxes for a reference point at zero.
struct Way {
    pose: Pose,
    /// What others must keep off, and what must lie in the room.
    bounds: Bounds,
    edge: Bounds,
    /// Where its sides run upright and level, without repetition, and how many run otherwise.
    lines: [Vec<f64>; 2],
    slanted: usize,
    /// Rectangles within the part: where these meet others, nothing else need be asked.
    cores: Vec<Bounds>,
    cost: f64,
}

/// A place along one axis and the set-ups that it costs there.
#[derive(Clone, Copy)]
struct Place {
    at: f64,
    set_ups: f64,
}

/// A place on the sheet; the cheapest comes first out of a heap.
struct Candidate {
    cost: f64,
    way: usize,
    at: Point,
}

impl PartialEq for Candidate {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Candidate {}
impl PartialOrd for Candidate {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Candidate {
    fn cmp(&self, other: &Self) -> Ordering {
        other.cost.total_cmp(&self.cost)
    }
}

impl<'t> Tidier<'t> {
    /// Starts from an arrangement without overlap.
    pub(crate) fn new(task: &'t Task, cuts: HandCuts, start: &Arrangement, rng: SearchRng) -> Self {
        let mut working = Working::new(task, task.items());
        working.restore(start);
        let energy = cuts.of(&working);
        Self { working, cuts, rng, energy, best: start.clone(), best_energy: energy, stale: 0 }
    }

    /// The best so far and its energy.
    pub(crate) fn best(&self) -> (&Arrangement, f64) {
        (&self.best, self.best_energy)
    }

    /// Goes on from a better arrangement that another found.
    pub(crate) fn adopt(&mut self, found: &Arrangement, energy: f64) {
        self.working.restore(found);
        (self.best, self.best_energy, self.energy, self.stale) = (found.clone(), energy, energy, 0);
    }

    pub(crate) fn evaluations(&self) -> u64 {
        self.working.evaluations
    }

    /// Works for about so many evaluations when this share of the tidying, 0 to 1, is done; whether there is more to try.
    pub(crate) fn run(&mut self, evaluations: u64, progress: f64) -> bool {
        let [first, last] = TEMPERATURES;
        let temperature = self.cuts.work().set_up * first * (last / first).powf(progress.clamp(0.0, 1.0));
        let end = self.working.evaluations + evaluations;
        while self.working.evaluations < end && !self.working.task().clock.is_over() {
            if self.stale >= PATIENCE || self.working.bins.is_empty() {
                return false;
            }
            self.step(temperature);
        }
        self.stale < PATIENCE
    }

    fn step(&mut self, temperature: f64) {
        self.stale += 1;
        // A move is never free, or a sheet without a place would be tried for ever.
        self.working.evaluations += 1;
        let bin = self.rng.index(self.working.bins.len());
        if self.rng.chance(SQUARED) && self.is_askew(bin) {
            self.square_up(bin, temperature);
            return;
        }
        let torn = self.torn_out_of(bin);
        if torn.is_empty() {
            return;
        }
        let before = self.cuts.of_bin(&self.working, bin);
        let places: Vec<(usize, Pose)> =
            torn.iter().filter_map(|&item| Some((item, self.working.place_of(item)?.1))).collect();
        for &item in &torn {
            self.working.remove(item);
        }
        let is_laid = torn.iter().all(|&item| match self.place_for(item, bin) {
            Some(pose) => {
                self.working.put(item, bin, pose);
                true
            }
            None => false,
        });
        let change = self.cuts.of_bin(&self.working, bin) - before;
        if is_laid && self.accepts(change, temperature) {
            self.keep(change);
        } else {
            self.put_back(bin, &places);
        }
    }

    /// Metropolis's rule.
    fn accepts(&mut self, change: f64, temperature: f64) -> bool {
        change <= 0.0 || self.rng.chance((-change / temperature).exp())
    }

    fn put_back(&mut self, bin: usize, places: &[(usize, Pose)]) {
        for &(item, _) in places {
            self.working.remove(item);
        }
        for &(item, pose) in places {
            self.working.put(item, bin, pose);
        }
    }

    fn keep(&mut self, change: f64) {
        self.energy += change;
        if self.energy < self.best_energy - 1e-6 {
            // Summed up anew, so that rounding does not add up.
            self.energy = self.cuts.of(&self.working);
            (self.best, self.best_energy, self.stale) = (self.working.arrangement(), self.energy, 0);
        }
    }

    /// Whether parts that could lie square do not.
    fn is_askew(&self, bin: usize) -> bool {
        let (working, task) = (&self.working, self.working.task());
        working.bins[bin].members.iter().any(|&item| {
            let part = working.part_of(item);
            let square = task.square(part);
            working.place_of(item).is_some_and(|(_, pose)| !square.is_empty() && !square.contains(&pose.variant))
        })
    }

    /// Turns everything on a bin to the nearest quarter turn, some of it to any, and separates it anew, within what is cut off
    /// from the largest rest.
    fn square_up(&mut self, bin: usize, temperature: f64) {
        let task = self.working.task();
        let before = self.cuts.of_bin(&self.working, bin);
        let members = self.working.bins[bin].members.clone();
        let places: Vec<(usize, Pose)> =
            members.iter().filter_map(|&item| Some((item, self.working.place_of(item)?.1))).collect();
        let band = largest_band(&self.working, &self.working.bins[bin]);
        let width = band.width * self.rng.between(LEAST_KEPT, 1.0);
        let line = cut_line(&self.working.bins[bin], band.direction, width);
        self.working.set_limit(bin, Some(line));
        for &(item, pose) in &places {
            let part = self.working.part_of(item);
            let face_up = task.square(part).filter(|&variant| !task.parts[part].variants[variant].is_mirrored);
            let turns: Vec<usize> = face_up.collect();
            if turns.is_empty() {
                continue;
            }
            let quarter = (pose.turn_deg / 90.0).round().rem_euclid(4.0) as usize;
            let variant = match turns.get(quarter) {
                Some(&nearest) if !self.rng.chance(ANY_TURN) => nearest,
                _ => turns[self.rng.index(turns.len())],
            };
            self.working.put(item, bin, Pose { variant, turn_deg: 0.0, ..pose });
        }
        self.working.is_square = true;
        let mut separator = Separator::new(SeparatorSettings::default(), &mut self.working);
        let mut is_free = self.working.total_loss() == 0.0;
        for _ in 0..SWEEPS {
            if is_free || self.working.task().clock.is_over() {
                break;
            }
            match separator.sweep(&mut self.working, &mut self.rng) {
                Outcome::Separated => is_free = true,
                Outcome::Going | Outcome::Idle => {}
                Outcome::Stuck => break,
            }
        }
        self.working.is_square = false;
        self.working.set_limit(bin, None);
        self.working.reset_weights();
        let change = self.cuts.of_bin(&self.working, bin) - before;
        if is_free && self.accepts(change, temperature) {
            self.keep(change);
        } else {
            self.put_back(bin, &places);
        }
    }

    /// Neighbours on a bin, or all that lies on it, in the order in which they are laid again.
    fn torn_out_of(&mut self, bin: usize) -> Vec<usize> {
        let mut items = self.working.bins[bin].members.clone();
        items.sort_unstable();
        if items.is_empty() {
            return items;
        }
        if self.rng.chance(WHOLE_SHEET) {
            self.rng.shuffle(&mut items);
            // The largest first, copies of a part one after another.
            let (working, task) = (&self.working, self.working.task());
            let area = |item: &usize| task.parts[working.part_of(*item)].grown_area;
            if self.rng.chance(0.5) {
                items.sort_by(|a, b| area(b).total_cmp(&area(a)).then(working.part_of(*a).cmp(&working.part_of(*b))));
            }
            return items;
        }
        let middle = |item: usize| self.working.bounds_of(item).map_or(Point::ORIGIN, |bounds| bounds.center());
        let from = middle(items[self.rng.index(items.len())]);
        items.sort_by(|&a, &b| middle(a).distance(from).total_cmp(&middle(b).distance(from)).then(a.cmp(&b)));
        items.truncate(1 + self.rng.index(MOST_TORN));
        self.rng.shuffle(&mut items);
        items
    }

    /// The cheapest free place of an item on a bin, chance included.
    fn place_for(&mut self, item: usize, bin: usize) -> Option<Pose> {
        let ways = self.ways(item, bin);
        let lines = self.lines_of(bin);
        let boxes: Vec<Bounds> =
            self.working.bins[bin].members.iter().filter_map(|&other| self.box_of(other)).collect();
        let room = self.working.bins[bin].container.bounds;
        let used = self.working.bins[bin].members.iter().filter_map(|&other| self.working.bounds_of(other));
        let used = used.reduce(Bounds::union);
        let (set_up, rate) = (self.cuts.work().set_up, metal_rate(&self.working, bin));
        let mut candidates = Vec::new();
        for (index, way) in ways.iter().enumerate() {
            let along = |axis: usize, rng: &mut SearchRng| places_along(axis, way, &lines, &boxes, room, rng);
            let (upright, level) = (along(0, &mut self.rng), along(1, &mut self.rng));
            for x in &upright {
                for y in &level {
                    let at = Point::new(x.at, y.at);
                    let own = Bounds { min: way.edge.min + at.to_vector(), max: way.edge.max + at.to_vector() };
                    let all = used.map_or(own, |used| used.union(own));
                    let metal = -rate * largest_band_beside(all, room);
                    let cost = way.cost + set_up * (x.set_ups + y.set_ups + way.slanted as f64) + metal;
                    candidates.push(Candidate { cost, way: index, at });
                }
            }
        }
        let cores: Vec<Bounds> =
            self.working.bins[bin].members.iter().flat_map(|&other| self.cores_of(other)).collect();
        let mut candidates = BinaryHeap::from(candidates);
        // A hair less, so that what just touches is left to the search's own measure.
        let web = task_web(self.working.task()) - ONE_LINE;
        let mut looks = 0;
        while looks < MOST_LOOKS {
            let candidate = candidates.pop()?;
            let own = &ways[candidate.way].cores;
            if own.iter().any(|core| cores.iter().any(|other| meet(*core, candidate.at, *other, web))) {
                continue;
            }
            looks += 1;
            let pose = Pose { at: candidate.at, ..ways[candidate.way].pose };
            if self.working.evaluate(item, bin, pose, 0.0) == 0.0 {
                return Some(pose);
            }
        }
        None
    }

    /// Rectangles within an item that lies square, where it lies.
    fn cores_of(&self, item: usize) -> Vec<Bounds> {
        let Some((_, pose)) = self.working.place_of(item) else { return Vec::new() };
        self.cuts.cores(self.working.task(), self.working.part_of(item), pose)
    }

    /// Box of an item with its clearance, where it lies.
    fn box_of(&self, item: usize) -> Option<Bounds> {
        let (_, pose) = self.working.place_of(item)?;
        let bounds = self.working.turned(item, pose.variant, pose.turn_deg).bounds;
        Some(Bounds { min: bounds.min + pose.at.to_vector(), max: bounds.max + pose.at.to_vector() })
    }

    /// All ways in which an item may lie square on a bin; where its turns are fixed, all of those.
    fn ways(&self, item: usize, bin: usize) -> Vec<Way> {
        let (task, part) = (self.working.task(), self.working.part_of(item));
        let grain = task.sheets[self.working.bins[bin].sheet].grain;
        let mut ways = Vec::new();
        for variant in task.allowed(part, grain) {
            let is_free = task.parts[part].variants[variant].turn_deg.is_none();
            for quarter in 0..if is_free { 4 } else { 1 } {
                let pose = Pose { variant, turn_deg: f64::from(quarter) * 90.0, at: Point::ORIGIN };
                let turned = self.working.turned(item, variant, pose.turn_deg);
                let mut lines = [Vec::new(), Vec::new()];
                let mut slanted = 0;
                for (start, end) in self.cuts.sides(task, part, pose) {
                    match axis_of(start, end) {
                        Some(axis) => add_line(&mut lines[axis], across(axis, start)),
                        None => slanted += 1,
                    }
                }
                let (cost, cores) = (self.cuts.of_pose(task, part, pose), self.cuts.cores(task, part, pose));
                ways.push(Way { pose, bounds: turned.bounds, edge: turned.edge_bounds, lines, slanted, cores, cost });
            }
        }
        ways
    }

    /// Where sides of what lies on a bin run upright and level.
    fn lines_of(&self, bin: usize) -> [Vec<f64>; 2] {
        let task = self.working.task();
        let mut lines = [Vec::new(), Vec::new()];
        for &item in &self.working.bins[bin].members {
            let Some((_, pose)) = self.working.place_of(item) else { continue };
            for (start, end) in self.cuts.sides(task, self.working.part_of(item), pose) {
                if let Some(axis) = axis_of(start, end) {
                    add_line(&mut lines[axis], across(axis, start));
                }
            }
        }
        lines
    }
}

/// Whether two rectangles, the first moved, come nearer than the web somewhere along a side.
fn meet(core: Bounds, at: Point, other: Bounds, web: f64) -> bool {
    let width = (core.max.x + at.x).min(other.max.x) - (core.min.x + at.x).max(other.min.x);
    let height = (core.max.y + at.y).min(other.max.y) - (core.min.y + at.y).max(other.min.y);
    width.min(height) > -web && width.max(height) > 0.0
}

/// Least distance between two parts, mm.
fn task_web(task: &Task) -> f64 {
    task.job.clearances().web()
}

/// 0 for a side that runs upright, 1 for one that runs level, nothing for another.
fn axis_of(start: Point, end: Point) -> Option<usize> {
    let along = end - start;
    if along.x.abs() < ONE_LINE / 10.0 {
        Some(0)
    } else if along.y.abs() < ONE_LINE / 10.0 {
        Some(1)
    } else {
        None
    }
}

/// Places nearer to each other than this are one, mm.
const HAIR: f64 = 1e-9;

/// Where an upright side runs in x, or a level one in y.
fn across(axis: usize, point: Point) -> f64 {
    if axis == 0 { point.x } else { point.y }
}

fn add_line(lines: &mut Vec<f64>, at: f64) {
    if !lines.iter().any(|line| (line - at).abs() < ONE_LINE) {
        lines.push(at);
    }
}

/// Places worth trying along an axis: at both ends of the room, against each neighbour, and with a side in each line.
fn places_along(
    axis: usize,
    way: &Way,
    lines: &[Vec<f64>; 2],
    boxes: &[Bounds],
    room: Bounds,
    rng: &mut SearchRng,
) -> Vec<Place> {
    let ends = |bounds: Bounds| (across(axis, bounds.min), across(axis, bounds.max));
    let ((low, high), (edge_low, edge_high), (room_low, room_high)) = (ends(way.bounds), ends(way.edge), ends(room));
    let mut places = vec![room_low - edge_low, room_high - edge_high];
    for neighbour in boxes {
        let (from, to) = ends(*neighbour);
        places.extend([to - low, from - high]);
    }
    let in_line: Vec<f64> =
        lines[axis].iter().flat_map(|line| way.lines[axis].iter().map(move |own| line - own)).collect();
    let is_cut = |at: f64| lines[axis].iter().any(|line| (line - at).abs() < ONE_LINE / 2.0);
    let mut kept = Vec::new();
    for (mut places, most) in [(places, AGAINST), (in_line, IN_LINE)] {
        places.retain(|at| at + edge_low >= room_low - HAIR && at + edge_high <= room_high + HAIR);
        places.sort_by(f64::total_cmp);
        places.dedup_by(|a, b| (*a - *b).abs() < HAIR);
        let mut places: Vec<Place> = places
            .into_iter()
            .map(|at| {
                let new = way.lines[axis].iter().filter(|own| !is_cut(at + **own)).count();
                Place { at, set_ups: new as f64 + NOISE * rng.unit() }
            })
            .collect();
        places.sort_by(|a, b| a.set_ups.total_cmp(&b.set_ups));
        places.truncate(most);
        kept.append(&mut places);
    }
    kept
}

#[cfg(test)]
mod tests {
    use dropwise_model::Turns;

    use super::*;
    use crate::anneal::lone_fit::prepared;
    use crate::settings::HandWork;
    use crate::state::working_tests::{job, rectangle};

    /// Six plates, each at another angle and none in line with another.
    fn strewn() -> (Task, Arrangement) {
        let plates: Vec<_> = (0..6).map(|_| (rectangle(60.0, 40.0), Turns::Any)).collect();
        let task = prepared(job(&plates, rectangle(500.0, 400.0)));
        let mut working = Working::new(&task, task.items());
        working.open(0, task.container(0), None);
        for item in 0..6 {
            let at = Point::new(60.0 + 150.0 * (item % 3) as f64, 80.0 + 160.0 * (item / 3) as f64);
            working.put(item, 0, Pose { variant: 0, turn_deg: 11.0 + 7.0 * item as f64, at });
        }
        assert_eq!(working.total_loss(), 0.0);
        let start = working.arrangement();
        (task, start)
    }

    #[test]
    fn strewn_plates_come_to_lie_in_lines() {
        let (task, start) = strewn();
        let cuts = HandCuts::new(&task, HandWork::by_set_up(75.0));
        let mut tidier = Tidier::new(&task, cuts.clone(), &start, SearchRng::new(1, 0));
        let before = tidier.best().1;
        for round in 0..20 {
            tidier.run(2_000, f64::from(round) / 20.0);
        }
        let (found, energy) = tidier.best();
        let mut working = Working::new(&task, task.items());
        working.restore(found);
        assert_eq!(working.total_loss(), 0.0, "nothing overlaps");
        assert!((cuts.of(&working) - energy).abs() < 1e-6, "the energy is that of what was found");
        // 24 set-ups and six odd angles before; two rows of three take ten, and no angle.
        assert!(energy < 0.5 * before, "{before} {energy}");
        let lies_square = |item| {
            working.place_of(item).is_some_and(|(_, pose)| {
                task.parts[working.part_of(item)].variants[pose.variant].turn_deg.unwrap_or(pose.turn_deg) % 90.0 == 0.0
            })
        };
        assert!((0..6).all(lies_square));
    }

    #[test]
    fn the_same_seed_finds_the_same() {
        let (task, start) = strewn();
        let found = |seed: u64| {
            let cuts = HandCuts::new(&task, HandWork::by_set_up(75.0));
            let mut tidier = Tidier::new(&task, cuts, &start, SearchRng::new(seed, 0));
            tidier.run(3_000, 0.5);
            tidier.best().1
        };
        assert_eq!(found(1), found(1));
    }

    #[test]
    fn rectangles_meet_where_the_web_between_them_is_too_narrow() {
        let core = Bounds { min: Point::new(0.0, 0.0), max: Point::new(10.0, 10.0) };
        for (x, y, meets) in
            [(11.0, 0.0, true), (13.0, 0.0, false), (11.0, 11.0, false), (5.0, 5.0, true), (0.0, -11.0, true)]
        {
            assert_eq!(meet(core, Point::new(x, y), core, 2.0), meets, "{x} {y}");
        }
    }
}
