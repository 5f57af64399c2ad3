//! Small random jobs, each from its own seed.

use std::f64::consts::TAU;

use dropwise_geometry::{Outline, Point, Shape};
use dropwise_model::{Clearances, Job, LeftoverRule, Money, Need, OpenLength, Part, Sheet, StockClass, Turns};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

use crate::forms;

/// A generator of a named algorithm (PCG XSL 128/64 MCG), so that a seed means the same job everywhere.
struct Dice(Pcg64Mcg);

impl Dice {
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.0.random::<f64>()
    }

    /// Half of the time a whole number of millimetres, so that sides coincide.
    fn size(&mut self, low: f64, high: f64) -> f64 {
        let size = self.between(low, high);
        if self.chance(0.5) { size.round().max(low) } else { size }
    }

    fn index(&mut self, count: usize) -> usize {
        self.0.random_range(0..count)
    }

    fn chance(&mut self, probability: f64) -> bool {
        self.0.random::<f64>() < probability
    }

    fn pick<T: Clone>(&mut self, items: &[T]) -> T {
        items[self.index(items.len())].clone()
    }
}

/// The job of a seed: 2 to 12 parts and 1 to 4 sheets of many forms, with every rule that the model knows.
///
/// # Panics
/// When the job is refused: a fault of this generator.
#[must_use]
pub fn random_job(seed: u64) -> Job {
    let mut dice = Dice(Pcg64Mcg::seed_from_u64(seed));
    let classes: Vec<StockClass> = ["mild steel, 2 mm", "aluminium, 3 mm"][..1 + usize::from(dice.chance(0.3))]
        .iter()
        .map(|c| StockClass::new(c))
        .collect();
    let sheet_count = 1 + dice.index(4);
    let sheets: Vec<Sheet> = (0..sheet_count)
        .map(|index| {
            // Now and then a sheet of something that no part is made of.
            let class = if dice.chance(0.05) { StockClass::new("brass, 1 mm") } else { dice.pick(&classes) };
            sheet(&mut dice, index, class)
        })
        .collect();
    let part_count = 2 + dice.index(11);
    let mut parts: Vec<Part> = Vec::new();
    // Counted in pieces, so that a job stays small.
    let mut pieces = 0;
    while pieces < part_count {
        let class = if dice.chance(0.9) { sheets[dice.index(sheets.len())].class.clone() } else { dice.pick(&classes) };
        let part = part(&mut dice, parts.len(), class, part_count - pieces);
        pieces += part.quantity as usize;
        parts.push(part);
    }
    let kerf = dice.pick(&[0.0, 0.2, 1.0, 2.5]);
    let web = kerf + dice.pick(&[0.0, 0.0, 1.0, 4.0]);
    let mut margin = dice.pick(&[0.0, 0.0, 1.5, 6.0]);
    if dice.chance(0.04) {
        // More than half the width of many a sheet.
        margin = dice.between(40.0, 90.0);
    }
    let side = dice.between(20.0, 120.0);
    let rule = LeftoverRule { length: side, width: side * dice.between(0.4, 1.0), neck: dice.pick(&[0.0, 5.0, 20.0]) };
    let clearances = Clearances::new(kerf, web, margin).expect("the web is at least the kerf");
    Job::new(parts, sheets, clearances, rule).expect("a job of sound shapes and numbers")
}

fn part(dice: &mut Dice, index: usize, class: StockClass, most: usize) -> Part {
    // One in twenty is larger than any sheet.
    let scale = if dice.chance(0.05) { 10.0 } else { 1.0 };
    let shape = part_shape(dice).scaled(scale);
    let turns = match dice.index(6) {
        0..3 => Turns::Any,
        3 => Turns::List(vec![0.0, 90.0, 180.0, 270.0]),
        4 => Turns::List(dice.pick(&[vec![0.0], vec![0.0, 180.0], vec![30.0, 77.5], vec![-45.0, 405.0]])),
        _ => Turns::Grain { along_deg: dice.pick(&[0.0, 90.0, 37.0]) },
    };
    Part {
        name: format!("part {index}"),
        shape,
        quantity: 1 + dice.index(most.min(4)) as u32,
        class,
        turns,
        may_flip: dice.chance(0.5),
        need: if dice.chance(0.15) { Need::Filler } else { Need::Required },
    }
}

/// A form of 10 to 120 mm with or without holes.
fn part_shape(dice: &mut Dice) -> Shape {
    let (w, h) = (dice.size(10.0, 110.0), dice.size(10.0, 80.0));
    let least = w.min(h);
    match dice.index(12) {
        0 => forms::plain(forms::rectangle(w, h)),
        // Touches others and the edge of its sheet with a corner alone.
        10 => forms::plain(forms::polygon(&[(w / 2.0, 0.0), (w, h / 2.0), (w / 2.0, h), (0.0, h / 2.0)])),
        1 => {
            let hole = Outline::circle(Point::new(w / 2.0, h / 2.0), least * dice.between(0.1, 0.4));
            Shape::new(forms::rounded(w, h, least * dice.between(0.05, 0.4)), vec![hole])
        }
        2 => forms::plain(forms::l_shape(w, h * dice.between(0.2, 0.7), h, w * dice.between(0.2, 0.7))),
        3 => forms::plain(forms::u_shape(w, h, least * dice.between(0.1, 0.3))),
        4 => forms::plain(Outline::circle(Point::ORIGIN, least / 2.0)),
        5 => {
            let circle = |r| Outline::circle(Point::new(5.0, -3.0), r);
            Shape::new(circle(w / 2.0), vec![circle(w / 2.0 * dice.between(0.3, 0.9))])
        }
        6 => forms::plain(forms::slot(w + h, h)),
        7 => forms::plain(forms::gusset(w, h, least * dice.between(0.05, 0.5))),
        // A frame, in whose window smaller parts may lie.
        8 => {
            let strip = least * dice.between(0.05, 0.3);
            let window = Outline::rectangle(Point::new(strip, strip), w - 2.0 * strip, h - 2.0 * strip);
            Shape::new(forms::rectangle(w, h), vec![window])
        }
        9 => {
            // A scoop stays above the base: the sagitta of a chord w with bulge b is b w / 2.
            let deepest = (1.6 * h / w).min(0.9);
            forms::plain(forms::arched(w, h, dice.between(-deepest, 1.0)))
        }
        _ => {
            // Corners about a centre at growing angles, never half a turn apart: the ring does not cross itself.
            let corners = 5 + dice.index(7);
            let ring: Vec<(f64, f64)> = (0..corners)
                .map(|i| {
                    let angle = (i as f64 + dice.between(0.0, 0.8)) / corners as f64 * TAU;
                    let far = dice.between(8.0, 50.0);
                    (far * angle.cos(), far * angle.sin())
                })
                .collect();
            forms::plain(forms::polygon(&ring))
        }
    }
}

fn sheet(dice: &mut Dice, index: usize, class: StockClass) -> Sheet {
    let (w, h) = (dice.size(120.0, 320.0), dice.size(80.0, 240.0));
    let mut sheet = Sheet {
        name: format!("sheet {index}"),
        shape: forms::plain(forms::rectangle(w, h)),
        damage: Vec::new(),
        class,
        quantity: dice.pick(&[Some(1), Some(1), Some(2), None]),
        price: Money::from_coins(dice.between(0.0, 5000.0) as i64),
        grain_deg: dice.pick(&[None, Some(0.0), Some(90.0), Some(12.5)]),
        location: String::new(),
        open_length: None,
        leftover_worth: dice.pick(&[0.0, 0.0, 0.01]),
        scrap_worth: dice.pick(&[0.0, 0.002]),
        weight: dice.pick(&[1.57e-5, 8.1e-6]),
    };
    match dice.index(8) {
        0 => sheet.shape = forms::plain(forms::l_shape(w, h * dice.between(0.3, 0.8), h, w * dice.between(0.3, 0.8))),
        1 => sheet.shape = forms::plain(forms::u_shape(w, h, 0.4 * w.min(h))),
        2 => sheet.shape = forms::plain(Outline::circle(Point::new(50.0, 20.0), w / 2.0)),
        3 => {
            let holes = vec![
                Outline::circle(Point::new(w * 0.7, h * 0.5), w.min(h) * dice.between(0.05, 0.2)),
                Outline::rectangle(Point::new(w * 0.1, h * 0.1), w * 0.15, h * dice.between(0.1, 0.6)),
            ];
            sheet.shape = Shape::new(forms::rectangle(w, h), holes);
        }
        4 => sheet.shape = forms::plain(forms::arched(w, h * 0.7, dice.between(-0.4, 0.4))),
        5 => {
            sheet.open_length = Some(OpenLength {
                // Some do not divide the longest piece, and of some no piece is long enough to be sold.
                increment: dice.pick(&[1.0, 25.0, 0.001, 70.0, 304.8, 333.3]),
                minimum: dice.pick(&[0.0, 50.0, 50.0, 610.0]),
                price_per_length: dice.between(0.5, 20.0),
            });
            sheet.shape = forms::plain(forms::rectangle(3.0 * w, h));
            sheet.quantity = dice.pick(&[Some(1), None]);
        }
        _ => {}
    }
    // Damage within the sheet, over its edge, or over a hole or a bay.
    for _ in 0..if sheet.open_length.is_some() { 0 } else { dice.index(6).saturating_sub(3) } {
        let at = Point::new(dice.between(-20.0, w), dice.between(-20.0, h));
        sheet.damage.push(if dice.chance(0.5) {
            Outline::circle(at, dice.between(5.0, 30.0))
        } else {
            Outline::rectangle(at, dice.between(10.0, 60.0), dice.between(10.0, 60.0))
        });
    }
    sheet
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn jobs_have_sound_shapes_and_every_rule() {
        let mut seen = [0_u32; 16];
        for seed in 0..3000 {
            let job = random_job(seed);
            for shape in job.parts().iter().map(|p| &p.shape).chain(job.sheets().iter().map(|s| &s.shape)) {
                assert_eq!(shape.faults(), [], "seed {seed}");
            }
            let pieces: u32 = job.parts().iter().map(|p| p.quantity).sum();
            assert!((2..=12).contains(&pieces) && (1..=4).contains(&job.sheets().len()), "seed {seed}");
            let has = [
                job.clearances().web() == 0.0,
                job.clearances().margin() == 0.0,
                job.clearances().kerf() > 0.0,
                job.sheets().iter().any(|s| s.open_length.is_some()),
                job.sheets().iter().any(|s| !s.damage.is_empty()),
                job.sheets().iter().any(|s| !s.shape.holes().is_empty()),
                job.parts().iter().any(|p| !p.shape.holes().is_empty()),
                job.parts().iter().any(|p| p.need == Need::Filler),
                job.parts().iter().any(|p| matches!(p.turns, Turns::Grain { .. })),
                job.parts().iter().any(|p| matches!(p.turns, Turns::List(_))),
                job.parts().iter().any(|p| p.class != job.parts()[0].class),
                job.parts().iter().any(|p| job.sheets().iter().all(|s| s.class != p.class)),
                job.sheets().iter().any(|s| 2.0 * job.clearances().margin() >= s.shape.bounds().height()),
                job.sheets().iter().filter_map(|s| Some((s, s.open_length?))).any(|(s, terms)| {
                    let pieces = s.shape.bounds().width() / terms.increment;
                    (pieces - pieces.round()).abs() > 1e-3
                }),
                job.clearances().kerf() == 0.0,
                job.sheets().iter().filter_map(|s| Some((s, s.open_length?))).any(|(s, terms)| {
                    (s.shape.bounds().width() / terms.increment).floor() * terms.increment < terms.minimum
                }),
            ];
            for (count, has) in seen.iter_mut().zip(has) {
                *count += u32::from(has);
            }
        }
        assert!(seen.iter().all(|&count| count >= 20), "rarely seen: {seen:?}");
    }
}
