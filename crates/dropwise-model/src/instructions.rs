//! What people ask of a plan beside what is to be made.

use dropwise_geometry::{Isometry, Shape};
use thiserror::Error;

use crate::{Job, Layout, Placement, SheetUse, Unplaced, Violation, certify};

/// What people ask of a plan: what lies where, what goes on which sheet, which sheets go first, what is kept clear.
///
/// Parts and sheets are indices of the job. The first three are proved with every plan; how sheets stand is heeded when they are
/// chosen, and told.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Instructions {
    /// Copies of parts that lie as told.
    pub held: Vec<Hold>,
    /// Parts that go on some sheets only. At most one entry for each part.
    pub kept_to: Vec<KeptTo>,
    /// Areas of sheets on which nothing lies.
    pub reserved: Vec<Reserved>,
    /// Sheets that are taken sooner or later than their price says. At most one entry for each sheet.
    pub standing: Vec<(usize, Standing)>,
}

/// A copy of a part that lies as told: on a sheet that is not sold by length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hold {
    /// Which part.
    pub part: usize,
    /// On which sheet. All holds of a sheet of which there are several are on one of them.
    pub sheet: usize,
    /// How it lies.
    pub position: Isometry,
}

/// A part that goes on some sheets only.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptTo {
    /// Which part.
    pub part: usize,
    /// The sheets on which it may lie; not empty.
    pub sheets: Vec<usize>,
}

/// An area of a sheet that is kept clear. It is good metal: parts keep the web from it, and it may be left over.
#[derive(Clone, Debug, PartialEq)]
pub struct Reserved {
    /// Which sheet; on all of them where there are several.
    pub sheet: usize,
    /// The area, in the coordinates of the sheet.
    pub area: Shape,
}

/// How a sheet stands when sheets are chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It counts as if it were paid for and its leftovers worth nothing, so that it goes before all others.
    UsedUp,
    /// It counts as a tenth cheaper than it is.
    Preferred,
    /// It is taken only where no other sheets were found to hold the parts.
    Avoided,
}

/// What is wrong with instructions. Indices of holds and other entries count from 0 in their list.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum InstructionFault {
    /// A part or sheet that the job does not have.
    #[error("entry {entry} of {list} names {kind} {index} of the job, which has {count}")]
    Unknown {
        /// Which list.
        list: &'static str,
        /// Which entry.
        entry: usize,
        /// "part" or "sheet".
        kind: &'static str,
        /// The index found.
        index: usize,
        /// How many the job has.
        count: usize,
    },
    /// More copies of a part are held than are wanted.
    #[error("of part {part} {held} are held, but {wanted} are wanted")]
    HeldTooMany {
        /// Which part.
        part: usize,
        /// How many are held.
        held: usize,
        /// How many are wanted.
        wanted: u32,
    },
    /// A hold on stock sold by length, of which nobody knows beforehand how much is bought.
    #[error("hold {hold} is on sheet {sheet}, which is sold by length")]
    HeldOnLength {
        /// Which hold.
        hold: usize,
        /// Which sheet.
        sheet: usize,
    },
    /// A hold on a sheet that the part may not go on.
    #[error("hold {hold} is on sheet {sheet}, but the part is kept to others")]
    HeldElsewhere {
        /// Which hold.
        hold: usize,
        /// Which sheet.
        sheet: usize,
    },
    /// A hold that breaks a rule, alone or with another.
    #[error("hold {hold}{}: {violation}", .with.map_or_else(String::new, |with| format!(" with hold {with}")))]
    HoldBreaks {
        /// Which hold.
        hold: usize,
        /// The other, when two are in each other's way.
        with: Option<usize>,
        /// What it breaks; its indices are those of a layout of all holds, and mean nothing here.
        violation: Box<Violation>,
    },
    /// A part kept to no sheet at all, or twice.
    #[error("part {part} is kept to {}", if *.is_twice { "sheets twice" } else { "no sheet" })]
    KeptToNone {
        /// Which part.
        part: usize,
        /// Whether it has two entries.
        is_twice: bool,
    },
    /// A part kept to a sheet of another material or thickness.
    #[error("part {part} is kept to sheet {sheet}, which is {sheet_class}, not {part_class}")]
    KeptToOtherClass {
        /// Which part.
        part: usize,
        /// Which sheet.
        sheet: usize,
        /// What the part must be cut from.
        part_class: String,
        /// What the sheet is.
        sheet_class: String,
    },
    /// A sheet that stands in two ways.
    #[error("sheet {sheet} stands in two ways, {first:?} and {second:?}")]
    StandsTwice {
        /// Which sheet.
        sheet: usize,
        /// The first.
        first: Standing,
        /// The second.
        second: Standing,
    },
    /// A reserved area without area.
    #[error("reserved area {entry} is empty")]
    EmptyReserve {
        /// Which.
        entry: usize,
    },
}

impl Instructions {
    /// Whether nothing is asked.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// The sheets that a part is kept to; `None` when it may go on any.
    #[must_use]
    pub fn sheets_of(&self, part: usize) -> Option<&[usize]> {
        self.kept_to.iter().find(|kept| kept.part == part).map(|kept| kept.sheets.as_slice())
    }

    /// Whether a part may go on a sheet as far as it is kept to some.
    #[must_use]
    pub fn allow(&self, part: usize, sheet: usize) -> bool {
        self.sheets_of(part).is_none_or(|sheets| sheets.contains(&sheet))
    }

    /// How a sheet stands, if not by its price.
    #[must_use]
    pub fn standing_of(&self, sheet: usize) -> Option<Standing> {
        self.standing.iter().find(|entry| entry.0 == sheet).map(|entry| entry.1)
    }

    /// The areas of a sheet that are kept clear, with their index in the list.
    pub fn reserved_on(&self, sheet: usize) -> impl Iterator<Item = (usize, &Shape)> {
        let entries = self.reserved.iter().enumerate();
        entries.filter(move |(_, entry)| entry.sheet == sheet).map(|(index, entry)| (index, &entry.area))
    }

    /// The holds of a sheet, with their index in the list.
    pub fn held_on(&self, sheet: usize) -> impl Iterator<Item = (usize, &Hold)> {
        self.held.iter().enumerate().filter(move |(_, hold)| hold.sheet == sheet)
    }

    /// The same in the indices of another job: `parts` and `sheets` give the new index of each old one, where it has any.
    #[must_use]
    pub fn renumbered(&self, part: impl Fn(usize) -> Option<usize>, sheet: impl Fn(usize) -> Option<usize>) -> Self {
        let hold = |hold: &Hold| Some(Hold { part: part(hold.part)?, sheet: sheet(hold.sheet)?, ..*hold });
        let kept = |kept: &KeptTo| {
            Some(KeptTo { part: part(kept.part)?, sheets: kept.sheets.iter().filter_map(|&old| sheet(old)).collect() })
        };
        let reserved = |entry: &Reserved| Some(Reserved { sheet: sheet(entry.sheet)?, area: entry.area.clone() });
        Self {
            held: self.held.iter().filter_map(hold).collect(),
            kept_to: self.kept_to.iter().filter_map(kept).collect(),
            reserved: self.reserved.iter().filter_map(reserved).collect(),
            standing: self.standing.iter().filter_map(|&(old, standing)| Some((sheet(old)?, standing))).collect(),
        }
    }

    /// All that is wrong with instructions for a job, whatever instructions it has itself.
    #[must_use]
    pub fn faults(&self, job: &Job) -> Vec<InstructionFault> {
        let unknown = self.unknown(job);
        if !unknown.is_empty() {
            return unknown;
        }
        let mut faults = Vec::new();
        for (part, wanted) in job.parts().iter().map(|part| part.quantity).enumerate() {
            let held = self.held.iter().filter(|hold| hold.part == part).count();
            if held > wanted as usize {
                faults.push(InstructionFault::HeldTooMany { part, held, wanted });
            }
        }
        self.check_kept(job, &mut faults);
        for (index, &(sheet, second)) in self.standing.iter().enumerate() {
            if let Some(&(_, first)) = self.standing[..index].iter().find(|entry| entry.0 == sheet) {
                faults.push(InstructionFault::StandsTwice { sheet, first, second });
            }
        }
        for (entry, reserved) in self.reserved.iter().enumerate() {
            if !(reserved.area.area() > 0.0 && reserved.area.area().is_finite()) {
                faults.push(InstructionFault::EmptyReserve { entry });
            }
        }
        self.check_holds(job, &mut faults);
        faults
    }

    fn unknown(&self, job: &Job) -> Vec<InstructionFault> {
        let mut faults = Vec::new();
        let mut look = |list: &'static str, entry: usize, kind: &'static str, index: usize| {
            let count = if kind == "part" { job.parts().len() } else { job.sheets().len() };
            if index >= count {
                faults.push(InstructionFault::Unknown { list, entry, kind, index, count });
            }
        };
        for (entry, hold) in self.held.iter().enumerate() {
            look("the held", entry, "part", hold.part);
            look("the held", entry, "sheet", hold.sheet);
        }
        for (entry, kept) in self.kept_to.iter().enumerate() {
            look("the kept", entry, "part", kept.part);
            kept.sheets.iter().for_each(|&sheet| look("the kept", entry, "sheet", sheet));
        }
        self.reserved.iter().enumerate().for_each(|(entry, one)| look("the reserved", entry, "sheet", one.sheet));
        self.standing.iter().enumerate().for_each(|(entry, one)| look("the standing", entry, "sheet", one.0));
        faults
    }

    fn check_kept(&self, job: &Job, faults: &mut Vec<InstructionFault>) {
        for (index, kept) in self.kept_to.iter().enumerate() {
            let part = kept.part;
            let is_twice = self.kept_to[..index].iter().any(|other| other.part == part);
            if kept.sheets.is_empty() || is_twice {
                faults.push(InstructionFault::KeptToNone { part, is_twice });
            }
            let part_class = &job.parts()[part].class;
            for &sheet in &kept.sheets {
                let sheet_class = &job.sheets()[sheet].class;
                if sheet_class != part_class {
                    let (part_class, sheet_class) = (part_class.label().to_owned(), sheet_class.label().to_owned());
                    faults.push(InstructionFault::KeptToOtherClass { part, sheet, part_class, sheet_class });
                }
            }
        }
    }

    /// Holds are proved as any placement is, on a layout of nothing but them.
    fn check_holds(&self, job: &Job, faults: &mut Vec<InstructionFault>) {
        let mut sound = true;
        for (hold, entry) in self.held.iter().enumerate() {
            let sheet = entry.sheet;
            if job.sheets()[sheet].open_length.is_some() {
                faults.push(InstructionFault::HeldOnLength { hold, sheet });
                sound = false;
            } else if !self.allow(entry.part, sheet) {
                faults.push(InstructionFault::HeldElsewhere { hold, sheet });
            }
        }
        if !sound || self.held.is_empty() {
            return;
        }
        let layout = self.held_layout();
        let clear = Self { reserved: self.reserved.clone(), ..Self::default() };
        for violation in certify(&job.clone().told(clear), &layout).err().unwrap_or_default() {
            let (Some(on), placements) = violation.concerns() else { continue };
            let on_sheet: Vec<usize> = self.held_on(layout.sheets[on].sheet).map(|(index, _)| index).collect();
            let [hold, with] = match placements[..] {
                [first, second] => [on_sheet[first], on_sheet[second]].map(Some),
                [only] => [Some(on_sheet[only]), None],
                _ => continue,
            };
            let Some(hold) = hold else { continue };
            faults.push(InstructionFault::HoldBreaks { hold, with, violation: Box::new(violation) });
        }
    }

    /// All that is held and nothing else: a use for each sheet on which something is held, in the order of the sheets.
    #[must_use]
    pub fn held_layout(&self) -> Layout {
        let mut sheets: Vec<usize> = self.held.iter().map(|hold| hold.sheet).collect();
        sheets.sort_unstable();
        sheets.dedup();
        let used = |sheet: usize| SheetUse {
            sheet,
            length: None,
            placements: self.held_on(sheet).map(|(_, hold)| hold.placement()).collect(),
        };
        Layout { sheets: sheets.into_iter().map(used).collect(), unplaced: Vec::<Unplaced>::new() }
    }
}

impl Hold {
    /// As a placement.
    #[must_use]
    pub fn placement(&self) -> Placement {
        Placement { part: self.part, position: self.position }
    }

    /// Whether a placement is the one that is told: to a ten-thousandth of a millimetre, and to a millionth of a degree.
    #[must_use]
    pub fn is_met_by(&self, placement: &Placement) -> bool {
        let (told, found) = (self.position, placement.position);
        let turned = (told.rotation_deg - found.rotation_deg).rem_euclid(360.0);
        placement.part == self.part
            && told.is_mirrored == found.is_mirrored
            && turned.min(360.0 - turned) <= 1e-6
            && (told.translation - found.translation).length() <= 1e-4
    }
}

#[cfg(test)]
mod tests {
    use dropwise_geometry::{Outline, Point};

    use super::*;
    use crate::{Clearances, LeftoverRule, OpenLength, Part, Sheet, StockClass, Turns};

    fn rectangle(width: f64, height: f64) -> Shape {
        Shape::new(Outline::rectangle(Point::ORIGIN, width, height), Vec::new())
    }

    /// Two plates of 20 by 10 mm; a sheet of 100 by 50, one of another metal, a coil; web 3, margin 5.
    fn job() -> Job {
        let class = StockClass::new("plate");
        let turns = Turns::List(vec![0.0]);
        let part =
            Part { quantity: 2, turns, may_flip: false, ..Part::new("plate", rectangle(20.0, 10.0), class.clone()) };
        let coil = OpenLength { increment: 1.0, minimum: 1.0, price_per_length: 1.0 };
        let sheets = vec![
            Sheet::new("drop", rectangle(100.0, 50.0), class.clone()),
            Sheet::new("zinc", rectangle(100.0, 50.0), StockClass::new("zinc")),
            Sheet { open_length: Some(coil), ..Sheet::new("coil", rectangle(900.0, 50.0), class) },
        ];
        let rule = LeftoverRule { length: 30.0, width: 30.0, neck: 5.0 };
        Job::new(vec![part], sheets, Clearances::new(1.0, 3.0, 5.0).unwrap(), rule).unwrap()
    }

    fn hold(sheet: usize, x: f64, y: f64) -> Hold {
        Hold { part: 0, sheet, position: Isometry::translation(x, y) }
    }

    fn faults(change: impl FnOnce(&mut Instructions)) -> Vec<InstructionFault> {
        let mut told = Instructions::default();
        change(&mut told);
        let faults = told.faults(&job());
        assert_eq!(job().with_instructions(told).err().unwrap_or_default(), faults);
        faults
    }

    #[test]
    fn contradictions_are_found() {
        assert_eq!(faults(|told| told.held = vec![hold(0, 5.0, 5.0), hold(0, 28.0, 5.0)]), []);
        let broken = |holds: Vec<Hold>| match &faults(|told| told.held = holds)[..] {
            [InstructionFault::HoldBreaks { hold, with, violation }] => (*hold, *with, violation.as_ref().clone()),
            other => panic!("{other:?}"),
        };
        let (one, other, violation) = broken(vec![hold(0, 5.0, 5.0), hold(0, 20.0, 5.0)]);
        assert!(matches!((one, other, violation), (0, Some(1), Violation::Overlap { .. })));
        let (_, other, violation) = broken(vec![hold(0, 5.0, 5.0), hold(0, 27.0, 5.0)]);
        assert!(matches!((other, violation), (Some(1), Violation::TooClose { .. })));
        assert!(matches!(broken(vec![hold(0, 4.0, 5.0)]).2, Violation::TooCloseToEdge { .. }));
        assert!(matches!(broken(vec![hold(0, 85.0, 5.0)]).2, Violation::OutsideSheet { .. }));
        assert!(matches!(broken(vec![hold(1, 5.0, 5.0)]).2, Violation::WrongClass { .. }));
        let turned = Hold { position: Isometry::new(false, 90.0, 30.0, 5.0), ..hold(0, 0.0, 0.0) };
        assert!(matches!(broken(vec![turned]).2, Violation::TurnNotAllowed { .. }));
        let flipped = Hold { position: Isometry::new(true, 0.0, 30.0, 5.0), ..hold(0, 0.0, 0.0) };
        assert!(matches!(broken(vec![flipped]).2, Violation::FlipNotAllowed { .. }));
        let clear = Reserved { sheet: 0, area: rectangle(10.0, 10.0) };
        let on_clear = faults(|told| (told.held, told.reserved) = (vec![hold(0, 5.0, 5.0)], vec![clear]));
        assert!(
            matches!(&on_clear[..], [InstructionFault::HoldBreaks { violation, .. }] if matches!(**violation, Violation::OnObstacle { .. }))
        );

        let three = vec![hold(0, 5.0, 5.0), hold(0, 28.0, 5.0), hold(0, 51.0, 5.0)];
        assert!(faults(|told| told.held = three).contains(&InstructionFault::HeldTooMany {
            part: 0,
            held: 3,
            wanted: 2
        }));
        assert_eq!(
            faults(|told| told.held = vec![hold(2, 5.0, 5.0)]),
            [InstructionFault::HeldOnLength { hold: 0, sheet: 2 }]
        );
        assert!(matches!(
            faults(|told| told.held = vec![hold(9, 5.0, 5.0)])[..],
            [InstructionFault::Unknown { index: 9, .. }]
        ));
        let kept = |sheets: Vec<usize>| KeptTo { part: 0, sheets };
        let elsewhere = faults(|told| (told.held, told.kept_to) = (vec![hold(0, 5.0, 5.0)], vec![kept(vec![2])]));
        assert_eq!(elsewhere, [InstructionFault::HeldElsewhere { hold: 0, sheet: 0 }]);
        assert!(matches!(
            faults(|told| told.kept_to = vec![kept(vec![1])])[..],
            [InstructionFault::KeptToOtherClass { .. }]
        ));
        assert!(matches!(
            faults(|told| told.kept_to = vec![kept(vec![])])[..],
            [InstructionFault::KeptToNone { is_twice: false, .. }]
        ));
        let twice = vec![kept(vec![0]), kept(vec![2])];
        assert!(matches!(
            faults(|told| told.kept_to = twice)[..],
            [InstructionFault::KeptToNone { is_twice: true, .. }]
        ));
        let both = vec![(0, Standing::Preferred), (0, Standing::Avoided)];
        assert!(matches!(faults(|told| told.standing = both)[..], [InstructionFault::StandsTwice { sheet: 0, .. }]));
        let empty = Reserved { sheet: 0, area: Shape::new(Outline::polygon([Point::ORIGIN; 3]), Vec::new()) };
        assert_eq!(faults(|told| told.reserved = vec![empty]), [InstructionFault::EmptyReserve { entry: 0 }]);
    }

    #[test]
    fn a_certificate_proves_what_was_asked() {
        let told = Instructions {
            held: vec![hold(0, 5.0, 5.0)],
            kept_to: vec![KeptTo { part: 0, sheets: vec![0] }],
            reserved: vec![Reserved {
                sheet: 0,
                area: Shape::new(Outline::rectangle(Point::new(60.0, 0.0), 40.0, 50.0), Vec::new()),
            }],
            standing: Vec::new(),
        };
        let job = job().with_instructions(told).unwrap();
        let layout = |uses: &[(usize, &[(f64, f64)])]| {
            let at = |&(x, y): &(f64, f64)| Placement { part: 0, position: Isometry::translation(x, y) };
            let sheets = uses.iter().map(|&(sheet, places)| SheetUse {
                sheet,
                length: (sheet == 2).then_some(100.0),
                placements: places.iter().map(at).collect(),
            });
            Layout { sheets: sheets.collect(), unplaced: Vec::new() }
        };
        // 37 + 20 is 3 mm, the web, from what is kept clear.
        assert!(certify(&job, &layout(&[(0, &[(37.0, 5.0), (5.0, 5.0)])])).is_ok());
        let fault = |uses: &[(usize, &[(f64, f64)])]| {
            let mut violations = certify(&job, &layout(uses)).expect_err("something is wrong");
            assert_eq!(violations.len(), 1, "{violations:?}");
            violations.remove(0)
        };
        let near = fault(&[(0, &[(38.0, 5.0), (5.0, 5.0)])]);
        assert!(matches!(near, Violation::TooCloseToObstacle { found: 2.0, wanted: 3.0, .. }), "{near}");
        assert!(matches!(fault(&[(0, &[(70.0, 5.0), (5.0, 5.0)])]), Violation::OnObstacle { .. }));
        assert!(matches!(fault(&[(0, &[(37.0, 5.0), (5.0, 5.1)])]), Violation::HoldNotMet { hold: 0, .. }));
        assert!(matches!(
            fault(&[(0, &[(5.0, 5.0)]), (2, &[(5.0, 5.0)])]),
            Violation::NotKeptToSheet { on: 1, placement: 0 }
        ));
        // What is left of an earlier layout makes room for what is held.
        let (kept, _) = layout(&[(0, &[(6.0, 5.0), (30.0, 20.0)])]).as_far_as_it_holds(&job);
        assert!(certify(&job, &kept).is_ok());
        assert!(kept.sheets[0].placements.iter().any(|placement| job.instructions().held[0].is_met_by(placement)));
    }
}
