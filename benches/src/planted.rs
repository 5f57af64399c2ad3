//! Jobs of known cost: sheets cut up at random into parts, with the web left between them.

use dropwise_geometry::{Isometry, Outline, Point, Polygon, Shape, Vector};
use dropwise_model::{Clearances, Job, LeftoverRule, Money, Part, Sheet, StockClass, Turns};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// How a job is planted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlantedJob {
    /// Sheets that are cut up. As many again, a fifth dearer for their size, lie beside them.
    pub sheets: u32,
    /// Parts cut from each.
    pub pieces: u32,
    /// Web between parts and to the edge, mm; more than nothing.
    pub web: f64,
    /// Share of the parts that are then left out of the job: what is left is waste.
    pub waste: f64,
    /// Whether parts may lie at any angle, or only at quarter turns.
    pub is_free: bool,
    /// Whether parts have a hole each.
    pub has_holes: bool,
    /// Where chance starts.
    pub seed: u64,
}

impl PlantedJob {
    /// Makes the job, and the cost of the sheets that it was cut from, in coins: a plan that costs no more exists.
    ///
    /// # Panics
    /// Never for a job of at least one sheet and a web of a few millimetres.
    #[must_use]
    pub fn make(self) -> (Job, i64) {
        let mut rng = Pcg64Mcg::seed_from_u64(self.seed);
        let class = StockClass::new("mild steel, 3 mm");
        let (mut parts, mut sheets, mut planted) = (Vec::new(), Vec::new(), 0);
        for index in 0..self.sheets {
            let (w, h) = (rng.random_range(500.0..1100.0_f64).round(), rng.random_range(400.0..800.0_f64).round());
            let price = Money::round(w * h * 2e-3);
            planted += price.coins();
            sheets.push(sheet(&format!("drop {index}"), (w, h), price, &class));
            // Half the web beyond the margin belongs to the parts.
            let inset = self.web / 2.0;
            let room = [(inset, inset), (w - inset, inset), (w - inset, h - inset), (inset, h - inset)];
            for ring in cut_up(room.map(|(x, y)| Point::new(x, y)).to_vec(), self.pieces, &mut rng) {
                let ring = drawn_in(&ring, self.web / 2.0);
                if !rng.random_bool(self.waste) {
                    parts.push(self.part(parts.len(), &ring, &class, &mut rng));
                }
            }
        }
        for index in 0..self.sheets {
            let (w, h) = (rng.random_range(500.0..1100.0_f64).round(), rng.random_range(400.0..800.0_f64).round());
            let price = Money::round(w * h * 2.4e-3);
            sheets.push(sheet(&format!("dear drop {index}"), (w, h), price, &class));
        }
        let clearances = Clearances::new(0.5 * self.web, self.web, self.web).expect("a web wider than the kerf");
        let rule = LeftoverRule { length: 300.0, width: 300.0, neck: 100.0 };
        (Job::new(parts, sheets, clearances, rule).expect("sound parts and sheets"), planted)
    }

    fn part(self, index: usize, ring: &[Point], class: &StockClass, rng: &mut Pcg64Mcg) -> Part {
        let turn = if self.is_free { rng.random_range(0.0..360.0) } else { 90.0 * f64::from(rng.random_range(0..4)) };
        let turned = Isometry::new(false, turn, 0.0, 0.0);
        let middle = ring.iter().fold(Vector::new(0.0, 0.0), |sum, p| sum + p.to_vector()) * (1.0 / ring.len() as f64);
        let hole = Outline::circle(turned.apply(Point::new(middle.x, middle.y)), 5.0);
        let holes = if self.has_holes { vec![hole] } else { Vec::new() };
        let shape = Shape::new(Outline::polygon(ring.iter().map(|&p| turned.apply(p))), holes);
        Part {
            turns: if self.is_free { Turns::Any } else { Turns::List(vec![0.0, 90.0, 180.0, 270.0]) },
            may_flip: false,
            ..Part::new(&format!("part {index}"), shape, class.clone())
        }
    }
}

fn sheet(name: &str, (width, height): (f64, f64), price: Money, class: &StockClass) -> Sheet {
    let shape = Shape::new(Outline::rectangle(Point::ORIGIN, width, height), Vec::new());
    Sheet { price, ..Sheet::new(name, shape, class.clone()) }
}

/// Cuts a convex ring by straight lines, always the largest piece, into so many pieces.
fn cut_up(ring: Vec<Point>, count: u32, rng: &mut Pcg64Mcg) -> Vec<Vec<Point>> {
    let area = |ring: &[Point]| Polygon::new(ring.to_vec(), Vec::new()).area();
    let mut pieces = vec![ring];
    while pieces.len() < count as usize {
        pieces.sort_by(|a, b| area(a).total_cmp(&area(b)));
        let ring = pieces.pop().expect("there is always a piece");
        let n = ring.len();
        let longest = (0..n).max_by(|&a, &b| {
            let length = |i: usize| (ring[(i + 1) % n] - ring[i]).length();
            length(a).total_cmp(&length(b))
        });
        // Across the longest side, to a side about opposite.
        let ring: Vec<Point> = ring.iter().cycle().skip(longest.unwrap_or(0)).take(n).copied().collect();
        let across = n / 2;
        let mut on = |side: usize| ring[side].lerp(ring[(side + 1) % n], rng.random_range(0.3..0.7));
        let (from, to) = (on(0), on(across));
        let first = std::iter::once(from).chain(ring[1..=across].iter().copied()).chain([to]);
        let second = std::iter::once(to).chain(ring[across + 1..].iter().copied()).chain([ring[0], from]);
        pieces.extend([first.collect(), second.collect::<Vec<_>>()]);
    }
    pieces
}

/// A convex ring whose sides are moved inwards.
fn drawn_in(ring: &[Point], by: f64) -> Vec<Point> {
    let n = ring.len();
    let unit = |i: usize| (ring[(i + 1) % n] - ring[i % n]).unit().unwrap_or_default();
    (0..n)
        .map(|i| {
            let (into, out) = (unit(i + n - 1), unit(i));
            ring[i] + (into.left() + out.left()) * (by / (1.0 + into.dot(out)))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_parts_and_their_webs_make_up_the_sheets() {
        let job = PlantedJob { sheets: 3, pieces: 12, web: 4.0, waste: 0.0, is_free: true, has_holes: false, seed: 1 };
        let (job, cost) = job.make();
        assert_eq!(job.parts().len(), 36);
        assert_eq!(job.sheets()[..3].iter().map(|sheet| sheet.price.coins()).sum::<i64>(), cost);
        let parts: f64 = job.parts().iter().map(|part| part.shape.area()).sum();
        let sheets: f64 = job.sheets()[..3].iter().map(|sheet| sheet.shape.area()).sum();
        assert!(parts < sheets && parts > 0.93 * sheets, "{}", parts / sheets);
    }
}
