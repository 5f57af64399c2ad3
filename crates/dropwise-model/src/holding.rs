//! What still holds of an earlier layout.

use std::collections::BTreeSet;

use crate::{Job, Layout, Reason, Unplaced, Violation, certify};

impl Layout {
    /// What of this layout holds for a job, which may be another than it was made for, and all that did not.
    ///
    /// Placements that break a rule are left out; of those that are too near to each other as few as can easily be found.
    /// Of a part of which too many lie somewhere the last are left out, and sheets beyond those there are. What then lies
    /// nowhere is declared unplaced for want of room, so that the layout passes [`certify`]. The violations are those of the
    /// whole layout, and count as it does.
    #[must_use]
    pub fn as_far_as_it_holds(&self, job: &Job) -> (Self, Vec<Violation>) {
        // Whether as many lie somewhere as are wanted is told from what is left.
        let is_count = |violation: &Violation| {
            matches!(violation, Violation::WrongCount { .. } | Violation::UnknownUnplacedPart { .. })
        };
        let mut violations = certify(job, self).err().unwrap_or_default();
        violations.retain(|violation| !is_count(violation));
        let (whole, fixed) = self.with_what_is_held(job);
        let broken = certify(job, &whole).err().unwrap_or_default();
        let mut kept = Self { sheets: whole.without_what_broke(job, &broken, &fixed), unplaced: Vec::new() };
        kept.sheets.retain(|used| !used.placements.is_empty());
        kept.declare_the_rest(job);
        // Nothing is believed that has not been proved.
        if certify(job, &kept).is_err() {
            kept = Self { sheets: job.instructions().held_layout().sheets, unplaced: Vec::new() };
            kept.declare_the_rest(job);
        }
        (kept, violations)
    }

    /// The same with all that the job holds, each as told, and which of its placements those are: they stay, whatever else is
    /// in their way.
    fn with_what_is_held(&self, job: &Job) -> (Self, BTreeSet<(usize, usize)>) {
        let mut whole = self.clone();
        let mut fixed = BTreeSet::new();
        for held in job.instructions().held_layout().sheets {
            let on = whole.sheets.iter().position(|used| used.sheet == held.sheet).unwrap_or(whole.sheets.len());
            if on == whole.sheets.len() {
                whole.sheets.push(crate::SheetUse { sheet: held.sheet, length: None, placements: Vec::new() });
            }
            for (_, hold) in job.instructions().held_on(held.sheet) {
                let placements = &mut whole.sheets[on].placements;
                let is_met = |(index, placement): (usize, &crate::Placement)| {
                    hold.is_met_by(placement) && !fixed.contains(&(on, index))
                };
                let index = placements.iter().enumerate().position(is_met).unwrap_or(placements.len());
                if index == placements.len() {
                    placements.push(hold.placement());
                }
                fixed.insert((on, index));
            }
        }
        (whole, fixed)
    }

    /// The sheets with what may stay on them.
    fn without_what_broke(
        &self,
        job: &Job,
        violations: &[Violation],
        fixed: &BTreeSet<(usize, usize)>,
    ) -> Vec<crate::SheetUse> {
        let mut sheets_out = BTreeSet::new();
        let mut out: BTreeSet<(usize, usize)> = BTreeSet::new();
        let mut pairs: Vec<[(usize, usize); 2]> = Vec::new();
        for violation in violations {
            match (violation.concerns(), violation) {
                ((Some(on), placements), _) => match placements[..] {
                    [] => {
                        sheets_out.insert(on);
                    }
                    [first, second] => pairs.push([(on, first), (on, second)]),
                    _ => out.extend(placements.into_iter().map(|placement| (on, placement))),
                },
                (_, &Violation::TooManySheets { sheet, available, .. }) => {
                    let uses = self.sheets.iter().enumerate().filter(|(_, used)| used.sheet == sheet);
                    sheets_out.extend(uses.skip(available as usize).map(|(on, _)| on));
                }
                _ => {}
            }
        }
        // Whoever is in the way of most others goes first, the later of two.
        loop {
            pairs.retain(|pair| pair.iter().all(|one| !out.contains(one)));
            let count = |one: &(usize, usize)| pairs.iter().flatten().filter(|other| *other == one).count();
            let movable = pairs.iter().flatten().filter(|one| !fixed.contains(*one));
            let worst = movable.max_by_key(|one| (count(one), **one));
            let Some(&worst) = worst else { break };
            out.insert(worst);
        }
        // Copies that are held have a place in the count before any other.
        let mut left: Vec<u32> = job.parts().iter().map(|part| part.quantity).collect();
        for &(on, index) in fixed {
            left[self.sheets[on].placements[index].part] -= 1;
        }
        let stays = |on: usize| !sheets_out.contains(&on);
        let mut sheets = Vec::new();
        for (on, used) in self.sheets.iter().enumerate().filter(|&(on, _)| stays(on)) {
            let mut used = used.clone();
            let mut index = 0..;
            used.placements.retain(|placement| {
                let index = index.next().unwrap_or(0);
                if fixed.contains(&(on, index)) {
                    return true;
                }
                let is_out = out.contains(&(on, index));
                let Some(left) = left.get_mut(placement.part).filter(|left| **left > 0 && !is_out) else {
                    return false;
                };
                *left -= 1;
                true
            });
            sheets.push(used);
        }
        sheets
    }

    /// Declares unplaced what is wanted and lies nowhere.
    fn declare_the_rest(&mut self, job: &Job) {
        let placed =
            |part: usize| self.sheets.iter().flat_map(|used| &used.placements).filter(|p| p.part == part).count();
        let missing =
            job.parts().iter().enumerate().map(|(part, wanted)| (part, wanted.quantity - placed(part) as u32));
        let unplaced = missing.filter(|&(_, count)| count > 0);
        self.unplaced = unplaced.map(|(part, count)| Unplaced { part, count, reason: Reason::NoRoom }).collect();
    }
}

#[cfg(test)]
mod tests {
    use dropwise_geometry::{Isometry, Outline, Point, Shape};
    use proptest::prelude::*;

    use crate::{
        Clearances, Job, Layout, LeftoverRule, Part, Placement, Sheet, SheetUse, StockClass, Violation, certify,
    };

    fn rectangle(width: f64, height: f64) -> Shape {
        Shape::new(Outline::rectangle(Point::ORIGIN, width, height), Vec::new())
    }

    /// So many plates of 20 by 10 mm with a web of 2, and two sheets of 100 by 50.
    fn job(quantity: u32) -> Job {
        let class = StockClass::new("plate");
        let part = Part { quantity, ..Part::new("plate", rectangle(20.0, 10.0), class.clone()) };
        let sheets = ["one", "two"].map(|name| Sheet::new(name, rectangle(100.0, 50.0), class.clone()));
        let rule = LeftoverRule { length: 30.0, width: 30.0, neck: 5.0 };
        Job::new(vec![part], sheets.to_vec(), Clearances::new(1.0, 2.0, 0.0).unwrap(), rule).unwrap()
    }

    fn layout(sheets: &[(usize, &[(f64, f64)])]) -> Layout {
        let at = |&(x, y): &(f64, f64)| Placement { part: 0, position: Isometry::translation(x, y) };
        let used = |&(sheet, places): &(usize, &[(f64, f64)])| SheetUse {
            sheet,
            length: None,
            placements: places.iter().map(at).collect(),
        };
        Layout { sheets: sheets.iter().map(used).collect(), unplaced: Vec::new() }
    }

    fn counts(layout: &Layout) -> (Vec<(usize, usize)>, u32) {
        let sheets = layout.sheets.iter().map(|used| (used.sheet, used.placements.len())).collect();
        (sheets, layout.unplaced.iter().map(|unplaced| unplaced.count).sum())
    }

    #[test]
    fn what_holds_stays_and_the_rest_is_told() {
        let whole = layout(&[(0, &[(0.0, 0.0), (22.0, 0.0)]), (1, &[(0.0, 0.0)])]);
        let (kept, told) = whole.as_far_as_it_holds(&job(3));
        assert_eq!((counts(&kept), told.len()), ((vec![(0, 2), (1, 1)], 0), 0));
        // One more is wanted, and one fewer.
        assert_eq!(counts(&whole.as_far_as_it_holds(&job(4)).0), (vec![(0, 2), (1, 1)], 1));
        assert_eq!(counts(&whole.as_far_as_it_holds(&job(2)).0), (vec![(0, 2)], 0));
        // A sheet that is there once, and one that is not.
        let gone = layout(&[(0, &[(0.0, 0.0)]), (0, &[(0.0, 0.0)]), (7, &[(0.0, 0.0)])]);
        let (kept, told) = gone.as_far_as_it_holds(&job(3));
        assert_eq!((counts(&kept), told.len()), ((vec![(0, 1)], 2), 2));
    }

    #[test]
    fn the_one_that_was_nudged_goes_and_not_all_around_it() {
        // The last one lies across three others.
        let nudged = layout(&[(0, &[(0.0, 0.0), (22.0, 0.0), (0.0, 12.0), (15.0, 5.0), (60.0, 30.0)])]);
        let (kept, told) = nudged.as_far_as_it_holds(&job(5));
        assert_eq!(counts(&kept), (vec![(0, 4)], 1));
        assert!(told.len() == 3 && told.iter().all(|v| matches!(v, Violation::Overlap { .. })), "{told:?}");
        let off = layout(&[(0, &[(0.0, 0.0), (90.0, 0.0), (f64::NAN, 0.0)])]);
        assert_eq!(counts(&off.as_far_as_it_holds(&job(3)).0), (vec![(0, 1)], 2));
    }

    proptest! {
        /// Whatever was written down: what is left passes, and nothing of it was made up.
        #[test]
        fn what_is_left_always_passes(
            places in prop::collection::vec((0..3_usize, -20.0..120.0_f64, -20.0..60.0_f64), 0..14),
            quantity in 1..10_u32,
        ) {
            let mut whole = Layout::default();
            for sheet in 0..3 {
                let on: Vec<(f64, f64)> = places.iter().filter(|p| p.0 == sheet).map(|p| (p.1, p.2)).collect();
                whole.sheets.extend(layout(&[(sheet, &on)]).sheets);
            }
            let job = job(quantity);
            let (kept, told) = whole.as_far_as_it_holds(&job);
            prop_assert!(certify(&job, &kept).is_ok());
            for used in &kept.sheets {
                let before = &whole.sheets[used.sheet];
                prop_assert!(used.placements.iter().all(|placement| before.placements.contains(placement)));
            }
            if told.is_empty() && places.len() <= quantity as usize {
                let count: usize = kept.sheets.iter().map(|used| used.placements.len()).sum();
                prop_assert_eq!(count, places.len());
            }
        }
    }
}
