//! Large steps from one layout to the next: two large parts trade places, or all go anywhere.

use dropwise_geometry::Point;

use crate::random::SearchRng;
use crate::shapes::pose::Pose;
use crate::state::working::Working;
use crate::statistics::MoveKind;

impl Working<'_> {
    /// Every item to a random place on its sheet: few large parts have few arrangements, and small changes do not lead
    /// from one to another.
    pub(crate) fn scatter(&mut self, rng: &mut SearchRng) -> MoveKind {
        self.moves.tried(MoveKind::Scatter, 1);
        for item in 0..self.item_count() {
            if let Some((bin, _)) = self.place_of(item)
                && let Some(pose) = self.random_pose(item, bin, rng)
            {
                self.put(item, bin, pose);
            }
        }
        MoveKind::Scatter
    }

    /// Two large items trade places, also from sheet to sheet, and small ones that a swapped one now covers go where it
    /// came from. `None` if there are no two that can.
    pub(crate) fn swap_large(&mut self, rng: &mut SearchRng) -> Option<MoveKind> {
        let mut order: Vec<usize> = (0..self.item_count()).filter(|&item| self.place_of(item).is_some()).collect();
        if order.len() < 2 {
            return None;
        }
        let size = |item: usize| self.shape_of(item, 0).size;
        order.sort_by(|&a, &b| size(b).total_cmp(&size(a)).then(a.cmp(&b)));
        // The large ones: those that make up three quarters of the area.
        let total: f64 = order.iter().map(|&i| size(i).powi(2)).sum();
        let mut sum = 0.0;
        let large = order.iter().take_while(|&&i| {
            let before = sum;
            sum += size(i).powi(2);
            before < 0.75 * total
        });
        let large: Vec<usize> = large.copied().collect();
        let first = large[rng.index(large.len())];
        let candidates: Vec<usize> = large
            .iter()
            .copied()
            .filter(|&i| i != first && (size(i) - size(first)).abs() > 1e-3 * size(first))
            .collect();
        let candidates = if candidates.is_empty() { order } else { candidates };
        let second = candidates[rng.index(candidates.len())];
        if first == second || !self.may_trade(first, second) {
            return None;
        }
        self.moves.tried(MoveKind::Swap, 1);
        self.trade_places(first, second);
        Some(MoveKind::Swap)
    }

    /// Whether each of two items may lie, as it is turned, on the other's sheet.
    fn may_trade(&self, first: usize, second: usize) -> bool {
        let may_lie = |item: usize, on: usize| {
            let ((own, pose), (bin, _)) = (self.place_of(item)?, self.place_of(on)?);
            let (task, sheet) = (self.task(), self.bins[bin].sheet);
            let part = self.part_of(item);
            let is_allowed = task.may_lie(part, pose.variant, task.sheets[sheet].grain);
            Some(own == bin || (is_allowed && task.fit(part, sheet).is_some()))
        };
        may_lie(first, second) == Some(true) && may_lie(second, first) == Some(true)
    }

    fn trade_places(&mut self, first: usize, second: usize) {
        let place = |item| self.place_of(item).expect("both lie somewhere");
        let ((bin_a, a), (bin_b, b)) = (place(first), place(second));
        let center = |item: usize| self.bounds_of(item).expect("it lies somewhere").center();
        let (center_a, center_b) = (center(first), center(second));
        let (box_a, box_b) = (self.bounds_of(first), self.bounds_of(second));
        self.put(first, bin_b, Pose { at: a.at + (center_b - center_a), ..a });
        self.put(second, bin_a, Pose { at: b.at + (center_a - center_b), ..b });
        // Whatever the larger one now sits on moves into the place it left.
        for (mover, from, to, on) in
            [(first, box_a, center_a, (bin_a, bin_b)), (second, box_b, center_b, (bin_b, bin_a))]
        {
            let now = self.bounds_of(mover).expect("just put");
            let Some(from) = from else { continue };
            let is_covered = |&item: &usize| {
                let b = self.bounds_of(item).expect("members lie somewhere");
                item != first && item != second && now.contains(b.min) && now.contains(b.max)
            };
            let mut covered: Vec<usize> = self.bins[on.1].members.iter().copied().filter(is_covered).collect();
            covered.sort_unstable();
            for item in covered {
                let (bin, pose) = self.place_of(item).expect("members lie somewhere");
                // As it is turned, it may not be allowed on the other sheet.
                if bin != on.0 && !self.may_trade(item, if mover == first { second } else { first }) {
                    continue;
                }
                let offset = pose.at - now.center();
                let at = Point::new(
                    (to.x + offset.x).clamp(from.min.x, from.max.x),
                    (to.y + offset.y).clamp(from.min.y, from.max.y),
                );
                self.put(item, on.0, Pose { at, ..pose });
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use dropwise_geometry::{Outline, Shape};
    use dropwise_model::Turns;

    use super::*;
    use crate::anneal::lone_fit::prepared;
    use crate::problem::task::Task;
    use crate::state::working_tests::job;

    /// A large, a middling and a small square, the first and last on one sheet, the other on a second one.
    fn on_two_sheets(task: &Task) -> Working<'_> {
        on_two_sheets_by(task, |_| 0)
    }

    /// The same, each by a variant of its own.
    fn on_two_sheets_by(task: &Task, variant: impl Fn(usize) -> usize) -> Working<'_> {
        let mut working = Working::new(task, task.items());
        for _ in 0..2 {
            working.open(0, task.container(0), None);
        }
        for (item, (bin, middle)) in [(0, 30.0), (1, 70.0), (1, 92.0)].into_iter().enumerate() {
            working.put(item, bin, Pose { variant: variant(item), turn_deg: 0.0, at: Point::new(middle, middle) });
        }
        working
    }

    fn squares(turns: &Turns) -> Task {
        let square = |side: f64| {
            let shape = Shape::new(Outline::rectangle(Point::ORIGIN, side, side), Vec::new());
            (shape, turns.clone())
        };
        let sheet = Shape::new(Outline::rectangle(Point::ORIGIN, 100.0, 100.0), Vec::new());
        prepared(job(&[square(50.0), square(40.0), square(4.0)], sheet))
    }

    #[test]
    fn two_large_ones_trade_places_from_sheet_to_sheet_and_what_is_covered_goes_along() {
        let task = squares(&Turns::List(vec![0.0]));
        let mut working = on_two_sheets(&task);
        assert!(working.may_trade(0, 1));
        working.trade_places(0, 1);
        let place = |working: &Working<'_>, item: usize| working.place_of(item).expect("all lie somewhere");
        assert_eq!(place(&working, 0).0, 1);
        assert_eq!(place(&working, 0).1.at, Point::new(70.0, 70.0));
        assert_eq!(place(&working, 1).0, 0);
        assert_eq!(place(&working, 1).1.at, Point::new(30.0, 30.0));
        // The small one lay where the large one now does.
        let (bin, pose) = place(&working, 2);
        assert_eq!(bin, 0);
        assert!((pose.at.x - 52.0).abs() < 1e-9 && (pose.at.y - 52.0).abs() < 1e-9, "{pose:?}");
    }

    #[test]
    fn what_lies_at_a_quarter_turn_though_it_may_turn_freely_trades_places_too() {
        let task = squares(&Turns::Any);
        let working = on_two_sheets_by(&task, |item| task.square(item).start);
        assert!(task.has_square_turns() && working.may_trade(0, 1));
    }

    #[test]
    fn what_does_not_fit_the_other_sheet_stays() {
        let square = |side: f64| (Shape::new(Outline::rectangle(Point::ORIGIN, side, side), Vec::new()), Turns::Any);
        let sheet = Shape::new(Outline::rectangle(Point::ORIGIN, 45.0, 45.0), Vec::new());
        let task = prepared(job(&[square(50.0), square(40.0), square(4.0)], sheet));
        let working = on_two_sheets(&task);
        assert!(!working.may_trade(0, 1));
    }

    #[test]
    fn scattered_parts_stay_on_their_sheets() {
        let task = squares(&Turns::List(vec![0.0]));
        let mut working = on_two_sheets(&task);
        let mut rng = SearchRng::new(3, 0);
        working.scatter(&mut rng);
        let bins: Vec<usize> = (0..3).map(|item| working.place_of(item).expect("all lie somewhere").0).collect();
        assert_eq!(bins, [0, 1, 1]);
        assert_ne!(working.place_of(0).expect("it lies somewhere").1.at, Point::new(30.0, 30.0));
    }
}
