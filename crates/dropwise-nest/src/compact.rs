//! Pushes what lies on a strip together as far as it goes without parts jumping over each other.

use std::time::Duration;

use dropwise_geometry::Vector;
use microlp::{ComparisonOp, OptimizationDirection, Problem, Variable};

use crate::no_fit::Separation;
use crate::task::Pose;
use crate::working::Working;

/// How far a part may move along either axis in one step, as a share of the strip's width. Less: more steps. More: more
/// pairs of parts have to be kept apart.
const REACH: f64 = 0.02;
/// A step that gains less than this, as a share of the strip's width, is the last.
const LEAST_GAIN: f64 = 1e-7;
const MOST_STEPS: usize = 20;
/// More parts than this are left where they are: many go on gaining by slivers, and once tight they gained nothing more.
const MOST_PARTS: usize = 40;
/// The solver does not promise to come to an end.
const PATIENCE: Duration = Duration::from_secs(1);

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
    /// mm; zero, and nothing is changed, where some parts that lie near each other have no no-fit polygon, or there are
    /// many of them.
    ///
    /// # Source
    /// Compaction as in Z. Li, V. Milenkovic, "Compaction and separation algorithms for non-convex polygons and their
    /// applications", European Journal of Operational Research 84 (1995), from memory.
    pub(crate) fn compact(&mut self, bin: usize) -> f64 {
        let mut gained = 0.0;
        if self.bins[bin].members.len() > MOST_PARTS {
            return gained;
        }
        for _ in 0..MOST_STEPS {
            let before = self.arrangement();
            let right = self.right_end(&self.bins[bin]);
            if self.compact_once(bin).is_none() {
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

    fn compact_once(&mut self, bin: usize) -> Option<()> {
        let unit = self.bins[bin].container.bounds.height();
        let rows = self.rows(bin, unit)?;
        let mut problem = Problem::new(OptimizationDirection::Minimize);
        let length = problem.add_var(1.0, (-REACH, 0.0));
        let members = self.bins[bin].members.clone();
        let moves: Vec<(Variable, Variable)> = members
            .iter()
            .map(|_| (problem.add_var(0.0, (-REACH, REACH)), problem.add_var(0.0, (-REACH, REACH))))
            .collect();
        let mut terms = Vec::new();
        for Row { normal, first, second, least } in rows {
            terms.clear();
            for (position, sign) in first.map(|first| (first, -1.0)).into_iter().chain([(second, 1.0)]) {
                let (x, y) = moves[position];
                terms.extend(
                    [(x, sign * normal.x), (y, sign * normal.y)].into_iter().filter(|&(_, share)| share != 0.0),
                );
            }
            problem.add_constraint(terms.as_slice(), ComparisonOp::Ge, least / unit);
        }
        let right = self.right_end(&self.bins[bin]);
        for (&item, &(x, _)) in members.iter().zip(&moves) {
            let beyond = (self.bounds_of(item)?.max.x - right) / unit;
            if beyond > -2.0 * REACH {
                problem.add_constraint([(length, 1.0), (x, -1.0)], ComparisonOp::Ge, beyond);
            }
        }
        problem.set_time_limit(PATIENCE);
        let solution = problem.solve().ok()?.into_solution().ok()?;
        for (&item, &(x, y)) in members.iter().zip(&moves) {
            let (_, pose) = self.place_of(item)?;
            let by = Vector::new(solution.var_value(x), solution.var_value(y)) * unit;
            self.put(item, bin, Pose { at: pose.at + by, ..pose });
        }
        Some(())
    }

    /// What keeps the members of a bin, by position, off each other and in the room; in millimetres.
    fn rows(&self, bin: usize, unit: f64) -> Option<Vec<Row>> {
        let reach = REACH * unit;
        let room = &self.bins[bin];
        let mut rows = Vec::new();
        for (position, &item) in room.members.iter().enumerate() {
            let (_, pose) = self.place_of(item)?;
            let edge = self.task().parts[self.part_of(item)].variants[pose.variant].edge();
            for plane in &room.container.half_planes {
                let left = plane.limit - edge.reach_along(plane.normal) - plane.normal.dot(pose.at.to_vector());
                if left < 2.0 * reach {
                    // What overlaps by less than a touch now may do so afterwards.
                    let least = -left.max(0.0);
                    rows.push(Row { normal: -plane.normal, first: None, second: position, least });
                }
            }
            for (before, &other) in room.members[..position].iter().enumerate() {
                let (near, far) = (self.bounds_of(item)?.expanded(3.0 * reach), self.bounds_of(other)?);
                if !near.intersects(far) {
                    continue;
                }
                let (lies, other_lies) = (&self.laid[item], &self.laid[other]);
                let (no_fit, is_reversed) = self.task().no_fits.of(lies.number, other_lies.number)?;
                let place = lies.place_of(other_lies, is_reversed);
                let (first, second) = if is_reversed { (before, position) } else { (position, before) };
                for Separation { normal, distance } in no_fit.separations(place) {
                    // Neither moves farther than its reach along each axis.
                    if distance < 3.0 * reach {
                        let least = -distance.max(0.0);
                        rows.push(Row { normal, first: Some(first), second, least });
                    }
                }
            }
        }
        room.container.obstacles.is_empty().then_some(rows)
    }
}

#[cfg(test)]
mod tests {
    use dropwise_geometry::{Outline, Point, Shape};
    use dropwise_model::Turns;
    use proptest::prelude::*;

    use super::*;
    use crate::random::SearchRng;
    use crate::separator::{Outcome, Separator, SeparatorSettings};
    use crate::task::Task;
    use crate::working_tests::job;

    fn task(parts: &[&[(f64, f64)]], turns: &Turns, height: f64) -> Task {
        let shape = |corners: &[(f64, f64)]| {
            Shape::new(Outline::polygon(corners.iter().map(|&(x, y)| Point::new(x, y))), Vec::new())
        };
        let parts: Vec<(Shape, Turns)> = parts.iter().map(|corners| (shape(corners), turns.clone())).collect();
        Task::new(job(&parts, Shape::new(Outline::rectangle(Point::ORIGIN, 1000.0, height), Vec::new())))
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
    fn parts_that_turn_freely_stay_where_they_are() {
        let task = task(&[SQUARE, SQUARE], &Turns::Any, 40.0);
        let mut working = laid(&task, &[(16.0, 16.0), (48.0, 20.0)]);
        let before = working.arrangement();
        assert_eq!(working.compact(0), 0.0);
        assert_eq!(working.arrangement(), before);
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn whatever_lies_free_lies_free_and_no_farther_out_afterwards(seed in any::<u64>(), count in 2..9_usize) {
            let kinds = [SQUARE, WEDGE, BACK, &[(0.0, 0.0), (50.0, 0.0), (50.0, 9.0), (9.0, 9.0), (9.0, 40.0), (0.0, 40.0)]];
            let parts: Vec<&[(f64, f64)]> = (0..count).map(|i| kinds[i % kinds.len()]).collect();
            let task = task(&parts, &Turns::List(vec![0.0, 180.0]), 70.0);
            let mut working = Working::new(&task, task.items());
            let bin = working.open(0, task.container(0), Some(crate::construct::cut_at_x(60.0 * count as f64)));
            let mut rng = SearchRng::new(seed, 0);
            for item in 0..count {
                let pose = working.random_pose(item, bin, &mut rng).expect("there is room");
                working.put(item, bin, pose);
            }
            let mut separator = Separator::new(SeparatorSettings::default(), &mut working);
            let mut outcome = Outcome::Going;
            while outcome == Outcome::Going {
                outcome = separator.sweep(&mut working, &mut rng);
            }
            prop_assume!(outcome == Outcome::Separated);
            let right = working.right_end(&working.bins[bin]);
            let gained = working.compact(bin);
            prop_assert_eq!(working.total_loss(), 0.0);
            let now = working.right_end(&working.bins[bin]);
            prop_assert!(gained >= 0.0 && (right - now - gained).abs() < 1e-9, "{} to {}, gained {}", right, now, gained);
        }
    }
}
