//! Makes a nest of a failed set of sheets: what does not fit on them goes to one sheet more.
//!
//! A set of many sheets fails by few parts, and costs less than another by more than a small sheet's price: then the set and
//! the small sheet together are still worth having.

use crate::moves::construct::ConstructSettings;
use crate::random::SearchRng;
use crate::state::working::Working;

/// On so many sheets, the cheapest first, what is left over is tried.
const MOST_TRIED: usize = 3;

impl Working<'_> {
    /// Sheets that are left in stock and cost less than `most`, in the smallest coin, the cheapest first. None that are sold
    /// by length.
    pub(crate) fn extra_sheets(&self, most: f64) -> Vec<usize> {
        let task = self.task;
        let in_use = |sheet: usize| self.bins.iter().filter(|bin| bin.sheet == sheet).count();
        let is_left = |sheet: usize| task.sheets[sheet].quantity.is_none_or(|all| in_use(sheet) < all as usize);
        let mut offers: Vec<(f64, usize)> = (0..task.sheets.len())
            .filter(|&sheet| task.sheets[sheet].price_per_length.is_none() && is_left(sheet))
            .map(|sheet| (task.price_of(sheet, None), sheet))
            .filter(|&(price, _)| price < most)
            .collect();
        offers.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        offers.into_iter().map(|(_, sheet)| sheet).collect()
    }

    /// Takes items off their sheets until nothing overlaps or sticks out: always the one with the most loss for its size
    /// next.
    pub(crate) fn take_out_conflicts(&mut self) {
        let mut conflicts = Vec::new();
        loop {
            self.items_in_conflict(&mut conflicts);
            let weight = |&item: &usize| self.item_loss(item) / self.task.parts[self.part_of(item)].grown_area;
            let Some(worst) = conflicts.iter().copied().max_by(|a, b| weight(a).total_cmp(&weight(b))) else {
                return;
            };
            self.remove(worst);
        }
    }

    /// Lays items on the open sheets where a few samples find room, and returns those for which they find none.
    pub(crate) fn lay_back(
        &mut self,
        items: Vec<usize>,
        settings: &ConstructSettings,
        rng: &mut SearchRng,
    ) -> Vec<usize> {
        let mut left = items;
        left.retain(|&item| {
            let mut bins = 0..self.bins.len();
            self.task.clock.is_over() || !bins.any(|bin| self.lay_free(item, bin, settings, rng))
        });
        left
    }

    /// Opens one sheet more, the first of the offers that takes all the items; says whether any did, and changes nothing if
    /// not.
    pub(crate) fn lay_on_one_of(
        &mut self,
        items: &[usize],
        offers: &[usize],
        settings: &ConstructSettings,
        rng: &mut SearchRng,
    ) -> bool {
        let task = self.task;
        let parts: Vec<usize> = items.iter().map(|&item| self.part_of(item)).collect();
        let area: f64 = parts.iter().map(|&part| task.parts[part].grown_area).sum();
        let may_do = |&sheet: &usize| {
            area < task.container(sheet).area && parts.iter().all(|&part| task.fit(part, sheet).is_some())
        };
        let before = self.arrangement();
        for sheet in offers.iter().copied().filter(may_do).take(MOST_TRIED) {
            let bin = self.open(sheet, task.container(sheet), None);
            if items.iter().all(|&item| self.lay_free(item, bin, settings, rng)) {
                return true;
            }
            self.restore(&before);
        }
        false
    }
}

#[cfg(test)]
mod tests {
    use dropwise_geometry::Point;
    use dropwise_model::{Money, Turns};

    use super::*;
    use crate::anneal::lone_fit::prepared;
    use crate::problem::task::Task;
    use crate::shapes::pose::Pose;
    use crate::state::working_tests::{job, rectangle, with_sheets};

    /// Three squares of 40 mm, a sheet that holds two of them, and three that are left: too small, just large enough, and
    /// dear.
    fn three_squares() -> Task {
        let square = (rectangle(40.0, 40.0), Turns::List(vec![0.0]));
        let plain = job(&vec![square; 3], rectangle(90.0, 45.0));
        prepared(with_sheets(&plain, |sheets| {
            sheets[0].quantity = Some(1);
            let others = [("small", 30.0, 5), ("right", 41.0, 10), ("dear", 200.0, 90)].map(|(name, side, price)| {
                let mut sheet = sheets[0].clone();
                (sheet.name, sheet.shape, sheet.price) =
                    (name.to_owned(), rectangle(side, side), Money::from_coins(price));
                sheet
            });
            sheets.extend(others);
        }))
    }

    /// Some of the squares on the first sheet, in the middle of its height.
    fn laid<'t>(task: &'t Task, places: &[(usize, f64)]) -> Working<'t> {
        let mut working = Working::new(task, task.items());
        working.open(0, task.container(0), None);
        for &(item, x) in places {
            working.put(item, 0, Pose { variant: 0, turn_deg: 0.0, at: Point::new(x, 22.0) });
        }
        working
    }

    #[test]
    fn what_overlaps_most_for_its_size_goes_to_the_cheapest_sheet_that_takes_it() {
        let task = three_squares();
        // The middle one lies on both of the others.
        let mut working = laid(&task, &[(0, 21.0), (1, 45.0), (2, 69.0)]);
        assert_eq!(working.extra_sheets(50.0), [1, 2], "neither what is in use nor what is too dear");
        assert_eq!(working.extra_sheets(5.0), [0; 0]);
        working.take_out_conflicts();
        assert!([0, 2].iter().all(|&item| working.place_of(item).is_some()) && working.place_of(1).is_none());
        let (settings, mut rng) = (ConstructSettings::default(), SearchRng::new(1, 0));
        let left = working.lay_back(vec![1], &settings, &mut rng);
        assert_eq!(left, [1], "the other two leave no room for it");
        assert!(!working.lay_on_one_of(&left, &[1], &settings, &mut rng));
        assert_eq!(working.bins.len(), 1);
        assert!(working.lay_on_one_of(&left, &[1, 2, 3], &settings, &mut rng));
        assert_eq!(working.bins[1].sheet, 2);
        assert_eq!(working.total_loss(), 0.0);
        assert_eq!(working.place_of(1).map(|(bin, _)| bin), Some(1));
    }

    #[test]
    fn what_has_room_on_the_open_sheets_stays_there() {
        let task = three_squares();
        let mut working = laid(&task, &[(0, 21.0)]);
        let left = working.lay_back(vec![1], &ConstructSettings::default(), &mut SearchRng::new(1, 0));
        assert!(left.is_empty() && working.total_loss() == 0.0);
    }
}
