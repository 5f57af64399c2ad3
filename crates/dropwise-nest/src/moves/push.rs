//! Pushes what lies on a strip together, or apart, all parts at once, as far as it goes without parts jumping over each
//! other.

use std::time::Duration;

use dropwise_geometry::{Point, Vector};
use microlp::{ComparisonOp, OptimizationDirection, Problem, Solution, SolveOutcome, Variable};

use crate::clock::Clock;
use crate::overlap::convexes::{Convexes, separations};
use crate::overlap::keep_apart::within_pocket;
use crate::overlap::no_fit::Separation;
use crate::overlap::search_shape::Placed;
use crate::shapes::pose::{Pose, sin_cos_of, turned};
use crate::state::working::{Bin, Working};

/// How far a part may move along either axis in one step, as a share of the room's lesser side. Less: more steps. More: more
/// pairs of parts have to be kept apart.
const REACH: f64 = 0.02;
/// A step that gains less than this, as a share of the strip's width, is the last.
const LEAST_GAIN: f64 = 1e-7;
const MOST_STEPS: usize = 20;
/// More parts than this are left where they are: many go on gaining by slivers, and once tight they gained nothing more.
const MOST_TOGETHER: usize = 40;
/// More parts than this are not pushed apart: the linear program would take longer than a separation.
const MOST_APART: usize = 130;
/// Share of the reach below which the way to a line is so short that the line is looked at from the start. Less: more
/// programs are solved until no line is crossed. More: each takes longer.
const NEAREST: f64 = 0.2;
/// A line that is crossed by this share of the room's lesser side or less counts as kept: less than a touch, more than what the
/// solver forgives.
const FORGIVEN: f64 = 2e-9;
/// Pivots after which a linear program is given up: the solver does not promise to come to an end. Counted, not timed, so that
/// the same job gives the same plan on a slow machine. Some hundred parts take some hundreds.
const MOST_PIVOTS: u64 = 20_000;
/// So often a running program is asked how far it has come.
const SLICE: Duration = Duration::from_millis(100);

/// A row of the linear program: `normal · (move of second - move of first) >= least`; what has no first is kept in
/// the room.
struct Row {
    normal: Vector,
    first: Option<usize>,
    second: usize,
    least: f64,
}

impl Working<'_> {
    /// Shortens a strip on which nothing overlaps, by linear programs: each part stays on the side of its neighbours on
    /// which it is, and all move at once so that the strip becomes as short as that allows. Returns the length gained,
    /// mm; zero, and nothing is changed, where some parts that lie near each other cannot be cut into convex pieces, or
    /// there are many of them.
    ///
    /// # Source
    /// Compaction as in Z. Li, V. Milenkovic, "Compaction and separation algorithms for non-convex polygons and their
    /// applications", European Journal of Operational Research 84 (1995), from memory.
    pub(crate) fn compact(&mut self, bin: usize) -> f64 {
        let mut gained = 0.0;
        if self.bins[bin].members.len() > MOST_TOGETHER {
            return gained;
        }
        for _ in 0..MOST_STEPS {
            let before = self.arrangement();
            let right = self.right_end(&self.bins[bin]);
            if self.push(bin, Some(right)).is_none() {
                break;
            }
            let gain = right - self.right_end(&self.bins[bin]);
            if gain <= 0.0 || self.total_loss() > 0.0 {
                self.restore(&before);
                break;
            }
            gained += gain;
            if gain < LEAST_GAIN * self.bins[bin].container.bounds.height() {
                break;
            }
        }
        gained
    }

    /// Takes small overlaps out of a strip, all parts moving at once, if that can be had with a right end of at most
    /// `most_right`, and says whether it could; otherwise changes nothing.
    pub(crate) fn push_apart_on_strip(&mut self, bin: usize, most_right: f64) -> bool {
        self.or_as_before(|working| working.push(bin, Some(most_right)))
    }

    /// The same on each sheet on which something overlaps, cut lines and all.
    pub(crate) fn push_apart(&mut self) -> bool {
        let mut losses = vec![0.0; self.bins.len()];
        for item in 0..self.item_count() {
            if let Some((bin, _)) = self.place_of(item) {
                losses[bin] += self.item_loss(item);
            }
        }
        let crowded = (0..losses.len()).filter(|&bin| losses[bin] > 0.0);
        self.or_as_before(|working| crowded.map(|bin| working.push(bin, None)).collect())
    }

    /// Whether a change can be had and leaves nothing overlapping; if not, everything lies as before.
    fn or_as_before(&mut self, change: impl FnOnce(&mut Self) -> Option<()>) -> bool {
        let before = self.arrangement();
        if change(self).is_some() && self.total_loss() == 0.0 {
            return true;
        }
        self.restore(&before);
        false
    }

    /// Moves all parts of a bin at once so that none overlap and, if there is a most for it, the right end is as far left
    /// as that allows. `None`, and nothing is changed, where that cannot be had.
    fn push(&mut self, bin: usize, most_right: Option<f64>) -> Option<()> {
        let members = self.bins[bin].members.clone();
        if members.len() > MOST_APART {
            return None;
        }
        let room = self.bins[bin].container.bounds;
        let unit = room.height().min(room.width());
        let right = self.right_end(&self.bins[bin]);
        let most = most_right.map(|most| (most - right) / unit);
        if most.is_some_and(|most| most <= -REACH) {
            return None;
        }
        // Most rows are kept to whether they are written down or not: those that are not come in once they are broken.
        let all = self.rows(bin, REACH * unit)?;
        let (mut rows, mut spare): (Vec<Row>, Vec<Row>) =
            all.into_iter().partition(|row| row.least > -NEAREST * REACH * unit);
        let moves = loop {
            let moves = self.least_moves(bin, &rows, most)?;
            let is_broken = |row: &Row| {
                let first = row.first.map_or(Vector::new(0.0, 0.0), |first| moves[first]);
                row.normal.dot(moves[row.second] - first) < row.least - FORGIVEN * unit
            };
            let (broken, kept): (Vec<Row>, Vec<Row>) = spare.into_iter().partition(is_broken);
            if broken.is_empty() {
                break moves;
            }
            rows.extend(broken);
            spare = kept;
        };
        for (&item, &by) in members.iter().zip(&moves) {
            let (_, pose) = self.place_of(item)?;
            self.put(item, bin, Pose { at: pose.at + by, ..pose });
        }
        Some(())
    }

    /// The moves of the members of a bin, mm, that keep to the rows and bring the right end as far left as they allow; at
    /// most so many units of the room farther right than it is, or wherever there is no most.
    fn least_moves(&self, bin: usize, rows: &[Row], most: Option<f64>) -> Option<Vec<Vector>> {
        let Bin { members, container, .. } = &self.bins[bin];
        let unit = container.bounds.height().min(container.bounds.width());
        let right = self.right_end(&self.bins[bin]);
        let mut problem = Problem::new(OptimizationDirection::Minimize);
        let length = most.map(|most| problem.add_var(1.0, (-REACH, most)));
        let moves: Vec<(Variable, Variable)> = members
            .iter()
            .map(|_| (problem.add_var(0.0, (-REACH, REACH)), problem.add_var(0.0, (-REACH, REACH))))
            .collect();
        let mut terms = Vec::new();
        for &Row { normal, first, second, least } in rows {
            terms.clear();
            for (position, sign) in first.map(|first| (first, -1.0)).into_iter().chain([(second, 1.0)]) {
                let (x, y) = moves[position];
                terms.extend(
                    [(x, sign * normal.x), (y, sign * normal.y)].into_iter().filter(|&(_, share)| share != 0.0),
                );
            }
            problem.add_constraint(terms.as_slice(), ComparisonOp::Ge, least / unit);
        }
        if let Some(length) = length {
            for (&item, &(x, _)) in members.iter().zip(&moves) {
                let beyond = (self.bounds_of(item)?.max.x - right) / unit;
                if beyond > -2.0 * REACH {
                    problem.add_constraint([(length, 1.0), (x, -1.0)], ComparisonOp::Ge, beyond);
                }
            }
        }
        let solution = solved(problem, &self.task.clock)?;
        let value = |variable| solution.var_value(variable) * unit;
        Some(moves.iter().map(|&(x, y)| Vector::new(value(x), value(y))).collect())
    }

    /// What keeps the members of a bin, by position, off each other and in the room, none moving by more than `reach`
    /// along either axis; in millimetres. `None` where shapes near each other cannot be cut into convex pieces.
    fn rows(&self, bin: usize, reach: f64) -> Option<Vec<Row>> {
        let room = &self.bins[bin];
        let touch = self.task.touch;
        let mut rows = Vec::new();
        // What all keep to wherever they move needs no row.
        let mut keep = |row: Row| {
            let movers = if row.first.is_some() { 2.0 } else { 1.0 };
            if row.least > -movers * reach * (row.normal.x.abs() + row.normal.y.abs()) {
                rows.push(row);
            }
        };
        let mut convexes: Vec<Option<Convexes>> = vec![None; room.members.len()];
        for (position, &item) in room.members.iter().enumerate() {
            let (_, pose) = self.place_of(item)?;
            let variant = &self.task.parts[self.part_of(item)].variants[pose.variant];
            let (sin, cos) = sin_cos_of(pose);
            for plane in room.container.half_planes.iter().chain(&room.limit) {
                let normal = turned(Point::new(plane.normal.x, plane.normal.y), (-sin, cos)).to_vector();
                let out = variant.edge().reach_along(normal) + plane.normal.dot(pose.at.to_vector());
                let line = Separation { normal: -plane.normal, distance: plane.limit - out };
                keep(Row { normal: line.normal, first: None, second: position, least: line.least_gain(touch) });
            }
            let near = self.bounds_of(item)?.expanded(3.0 * reach);
            for obstacle in room.container.obstacles.iter().filter(|obstacle| near.intersects(obstacle.bounds)) {
                let edge = variant.edge();
                let laid = edge.convexes()?.laid((sin, cos), pose.at);
                let lines = separations(obstacle.convexes()?, &laid, 3.0 * reach, touch);
                let host = Placed { shape: edge, rotation: (sin, cos), at: pose.at };
                let (lines, sign) = match within_pocket(host, Placed::obstacle(obstacle)) {
                    // The part moves, not what lies in its hole.
                    Some((beside, within)) if beside < depth_of(&lines) => (within, -1.0),
                    _ => (lines, 1.0),
                };
                for line in lines {
                    let least = line.least_gain(touch);
                    keep(Row { normal: line.normal * sign, first: None, second: position, least });
                }
            }
            for (before, &other) in room.members[..position].iter().enumerate() {
                if !near.intersects(self.bounds_of(other)?) {
                    continue;
                }
                let (lies, other_lies) = (&self.laid[item], &self.laid[other]);
                if let Some((no_fit, is_reversed)) = self.task().no_fits.of(lies.number, other_lies.number) {
                    let place = lies.place_of(other_lies, is_reversed);
                    let (first, second) = if is_reversed { (before, position) } else { (position, before) };
                    let outside = no_fit.way_out(place, touch);
                    for Separation { normal, distance } in no_fit.separations(outside, touch) {
                        let least = normal.dot(outside - place) - distance.max(0.0);
                        keep(Row { normal, first: Some(first), second, least });
                    }
                    continue;
                }
                for (position, item) in [(before, other), (position, item)] {
                    if convexes[position].is_none() {
                        let (_, pose) = self.place_of(item)?;
                        let shape = self.shape_of(item, pose.variant);
                        convexes[position] = Some(shape.convexes()?.laid(sin_cos_of(pose), pose.at));
                    }
                }
                let (first, second) = (convexes[before].as_ref()?, convexes[position].as_ref()?);
                let lines = separations(first, second, 3.0 * reach, touch);
                let (one, two) = (self.placed(other)?, self.placed(item)?);
                let in_first = within_pocket(one, two).map(|room| (before, position, room));
                let in_second = within_pocket(two, one).map(|room| (position, before, room));
                let room = in_first.into_iter().chain(in_second).min_by(|a, b| a.2.0.total_cmp(&b.2.0));
                let (first, second, lines) = match room {
                    Some((host, guest, (beside, within))) if beside < depth_of(&lines) => (host, guest, within),
                    _ => (before, position, lines),
                };
                for line in lines {
                    keep(Row { normal: line.normal, first: Some(first), second, least: line.least_gain(touch) });
                }
            }
        }
        Some(rows)
    }
}

/// The solution of a program; `None` if there is none, or not within so many pivots, or the search has to end.
fn solved(mut problem: Problem, clock: &Clock) -> Option<Solution> {
    problem.set_time_limit(SLICE);
    let mut outcome = problem.solve().ok()?;
    loop {
        // Asked of what has ended too: when a program was looked at must not matter.
        if outcome.stats().lp_iterations > MOST_PIVOTS {
            return None;
        }
        outcome = match outcome {
            SolveOutcome::Solution(solution) => return Some(solution),
            SolveOutcome::Interrupted(_) if clock.is_over() => return None,
            interrupted => interrupted.resume().ok()?,
        };
    }
}

/// How far two shapes are from being before all of the lines that keep them apart.
fn depth_of(lines: &[Separation]) -> f64 {
    lines.iter().map(|line| -line.distance).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use dropwise_geometry::{Outline, Point, Shape};
    use dropwise_model::Turns;
    use proptest::prelude::*;

    use super::*;
    use crate::anneal::lone_fit::prepared;
    use crate::anneal::separator::{Outcome, Separator, SeparatorSettings};
    use crate::problem::task::Task;
    use crate::random::SearchRng;
    use crate::state::working_tests::job;

    fn task(parts: &[&[(f64, f64)]], turns: &Turns, height: f64) -> Task {
        let shape = |corners: &[(f64, f64)]| {
            Shape::new(Outline::polygon(corners.iter().map(|&(x, y)| Point::new(x, y))), Vec::new())
        };
        let parts: Vec<(Shape, Turns)> = parts.iter().map(|corners| (shape(corners), turns.clone())).collect();
        prepared(job(&parts, Shape::new(Outline::rectangle(Point::ORIGIN, 1000.0, height), Vec::new())))
    }

    fn laid<'t>(task: &'t Task, at: &[(f64, f64)]) -> Working<'t> {
        let mut working = Working::new(task, task.items());
        let bin = working.open(0, task.container(0), None);
        for (item, &(x, y)) in at.iter().enumerate() {
            working.put(item, bin, Pose { variant: 0, turn_deg: 0.0, at: Point::new(x, y) });
        }
        working
    }

    const SQUARE: &[(f64, f64)] = &[(0.0, 0.0), (30.0, 0.0), (30.0, 30.0), (0.0, 30.0)];
    const WEDGE: &[(f64, f64)] = &[(0.0, 0.0), (40.0, 0.0), (0.0, 30.0)];
    const BACK: &[(f64, f64)] = &[(40.0, 0.0), (40.0, 30.0), (0.0, 30.0)];

    #[test]
    fn squares_in_a_row_come_to_touch() {
        let task = task(&[SQUARE, SQUARE, SQUARE], &Turns::List(vec![0.0]), 40.0);
        let mut working = laid(&task, &[(16.0, 16.0), (52.0, 20.0), (86.0, 24.0)]);
        let gained = working.compact(0);
        assert!((gained - 11.0).abs() < 1e-5, "{gained}");
        assert_eq!(working.total_loss(), 0.0);
        assert_eq!(working.compact(0), 0.0);
    }

    #[test]
    fn wedges_slide_along_each_other() {
        let task = task(&[WEDGE, BACK], &Turns::List(vec![0.0]), 30.0);
        // The second could only lie in one box with the first if both moved along their long sides.
        let mut working = laid(&task, &[(20.0, 15.0), (26.0, 15.0)]);
        assert_eq!(working.total_loss(), 0.0);
        working.compact(0);
        let right = working.right_end(&working.bins[0]);
        assert!((right - 40.0).abs() < 1e-5, "{right}");
    }

    #[test]
    fn squares_that_overlap_are_pushed_apart_where_there_is_room_and_else_left() {
        let task = task(&[SQUARE, SQUARE, SQUARE], &Turns::List(vec![0.0]), 40.0);
        // Each overlaps the next by one or two millimetres, and the first sticks out of the room.
        let mut working = laid(&task, &[(14.5, 16.0), (44.0, 20.0), (72.0, 16.0)]);
        let before = working.arrangement();
        let most = working.bins[0].container.bounds.min.x + 90.0;
        assert!(!working.push_apart_on_strip(0, most - 0.01));
        assert_eq!(working.arrangement(), before);
        // As far as they move in one step, and no farther.
        assert!(working.total_loss() > 0.0 && task.touch < 0.01);
        assert!(!working.push_apart_on_strip(0, most), "the last would have to move by more than its reach");
        let mut working = laid(&task, &[(14.6, 16.0), (44.6, 20.0), (74.4, 16.0)]);
        assert!(working.push_apart_on_strip(0, most));
        assert_eq!(working.total_loss(), 0.0);
        assert!((working.right_end(&working.bins[0]) - most).abs() < 1e-5);
    }

    #[test]
    fn parts_that_turn_freely_are_pushed_together_as_they_are_turned() {
        let task = task(&[SQUARE, SQUARE], &Turns::Any, 50.0);
        let mut working = laid(&task, &[(25.0, 25.0), (72.0, 25.0)]);
        for (item, x) in [(0, 25.0), (1, 72.0)] {
            working.put(item, 0, Pose { variant: 0, turn_deg: 45.0, at: Point::new(x, 25.0) });
        }
        let gained = working.compact(0);
        // The first to the wall; the second, corner to corner, slides past it as far as the height allows.
        let half = 15.0 * std::f64::consts::SQRT_2;
        let (up, down) = (50.0 - half, half);
        let right = 2.0 * half + (2.0 * half - (up - down));
        assert!(gained > 0.0 && working.total_loss() == 0.0);
        let now = working.right_end(&working.bins[0]) - working.bins[0].container.bounds.min.x;
        assert!((now - right).abs() < 1e-5, "{now} instead of {right}");
    }

    #[test]
    fn parts_are_pushed_off_what_is_wrong_with_a_sheet() {
        let square =
            (Shape::new(Outline::polygon(SQUARE.iter().map(|&(x, y)| Point::new(x, y))), Vec::new()), Turns::Any);
        // A notch in the lower left corner.
        let corners = [(20.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0), (0.0, 25.0), (20.0, 25.0)];
        let sheet = Shape::new(Outline::polygon(corners.map(|(x, y)| Point::new(x, y))), Vec::new());
        let task = prepared(job(&[square.clone(), square], sheet));
        assert!(!task.container(0).obstacles.is_empty());
        let mut working = laid(&task, &[(34.5, 24.0), (64.8, 15.5)]);
        assert!(working.total_loss() > 0.0);
        assert!(working.push_apart());
        assert_eq!(working.total_loss(), 0.0);
    }

    #[test]
    fn what_lies_in_a_hole_and_its_host_are_pushed_to_where_both_have_room() {
        let square = |low: f64, high: f64| {
            Outline::polygon([(low, low), (high, low), (high, high), (low, high)].map(|(x, y)| Point::new(x, y)))
        };
        let frame = Shape::new(square(0.0, 80.0), vec![square(20.0, 60.0)]);
        let plate = Shape::new(square(0.0, 38.0), Vec::new());
        for turns in [Turns::Any, Turns::List(vec![0.0, 90.0])] {
            let sheet = Shape::new(square(0.0, 82.0), Vec::new());
            let task = prepared(job(&[(frame.clone(), turns.clone()), (plate.clone(), turns)], sheet));
            // The frame sticks out of the sheet to the left, the plate into the frame's right side.
            let mut working = laid(&task, &[(39.5, 41.0), (42.5, 41.0)]);
            assert!(working.total_loss() > 0.0);
            assert!(working.push_apart());
            assert_eq!(working.total_loss(), 0.0);
            let at = |item: usize| working.place_of(item).expect("both lie somewhere").1.at;
            assert!((at(1) - at(0)).length() <= 1.5, "the plate lies in the frame still");
        }
    }

    fn scattered<'t>(task: &'t Task, length: f64, rng: &mut SearchRng) -> Working<'t> {
        let mut working = Working::new(task, task.items());
        let bin = working.open(0, task.container(0), Some(crate::moves::construct::cut_at_x(length)));
        for item in 0..working.item_count() {
            let pose = working.random_pose(item, bin, rng).expect("there is room");
            working.put(item, bin, pose);
        }
        working
    }

    /// Sweeps until nothing overlaps or no more is gained, and says whether nothing does.
    fn is_separated(working: &mut Working<'_>, rng: &mut SearchRng) -> bool {
        let mut separator = Separator::new(SeparatorSettings::default(), working);
        loop {
            match separator.sweep(working, rng) {
                Outcome::Going | Outcome::Idle => {}
                outcome => return outcome == Outcome::Separated,
            }
        }
    }

    fn some_parts(count: usize, is_free: bool) -> Task {
        let kinds =
            [SQUARE, WEDGE, BACK, &[(0.0, 0.0), (50.0, 0.0), (50.0, 9.0), (9.0, 9.0), (9.0, 40.0), (0.0, 40.0)]];
        let parts: Vec<&[(f64, f64)]> = (0..count).map(|i| kinds[i % kinds.len()]).collect();
        task(&parts, &if is_free { Turns::Any } else { Turns::List(vec![0.0, 180.0]) }, 70.0)
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

        #[test]
        fn whatever_lies_free_lies_free_and_no_farther_out_afterwards(
            seed in any::<u64>(), count in 2..9_usize, is_free in any::<bool>(),
        ) {
            let task = some_parts(count, is_free);
            let mut rng = SearchRng::new(seed, 0);
            let mut working = scattered(&task, 60.0 * count as f64, &mut rng);
            prop_assume!(is_separated(&mut working, &mut rng));
            let right = working.right_end(&working.bins[0]);
            let gained = working.compact(0);
            prop_assert_eq!(working.total_loss(), 0.0);
            let now = working.right_end(&working.bins[0]);
            prop_assert!(gained >= 0.0 && (right - now - gained).abs() < 1e-9, "{} to {}, gained {}", right, now, gained);
        }

        #[test]
        fn what_lay_free_and_was_shaken_a_little_is_pushed_apart_again(
            seed in any::<u64>(), count in 2..9_usize, is_free in any::<bool>(),
        ) {
            let task = some_parts(count, is_free);
            let mut rng = SearchRng::new(seed, 0);
            let mut working = scattered(&task, 60.0 * count as f64, &mut rng);
            prop_assume!(is_separated(&mut working, &mut rng));
            for item in 0..count {
                let (bin, pose) = working.place_of(item).expect("all lie somewhere");
                working.put(item, bin, pose.moved(rng.between(-0.3, 0.3), rng.between(-0.3, 0.3)));
            }
            prop_assert!(working.push_apart());
            prop_assert_eq!(working.total_loss(), 0.0);
        }
    }
}
