//! Shop jobs of our own making, for measuring: brackets, rings, gussets, slots and plates on odd drops.

use dropwise_geometry::{Outline, Point, Shape, Vertex};
use dropwise_model::{Clearances, Job, LeftoverRule, Money, Need, Part, Sheet, StockClass, Turns};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// How large a job to make.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ShopJob {
    /// Copies of parts in all.
    pub parts: u32,
    /// Drops to choose from, each its own.
    pub drops: u32,
    /// Where chance starts.
    pub seed: u64,
}

impl ShopJob {
    /// Makes the job: parts with holes that may lie at any angle, on drops with notches, holes and damage.
    ///
    /// # Panics
    /// Never for a job of at least one part and one drop.
    #[must_use]
    pub fn make(self) -> Job {
        let mut rng = Pcg64Mcg::seed_from_u64(self.seed);
        let class = StockClass::new("mild steel, 3 mm");
        let kinds = (self.parts / 5).max(1);
        let parts = (0..kinds)
            .map(|kind| Part {
                name: format!("part {kind}"),
                shape: part_shape(kind, &mut rng),
                quantity: self.parts / kinds + u32::from(kind < self.parts % kinds),
                class: class.clone(),
                turns: Turns::Any,
                may_flip: !kind.is_multiple_of(3),
                need: Need::Required,
            })
            .collect();
        let sheets = (0..self.drops).map(|index| drop(index, &class, &mut rng)).collect();
        let clearances = Clearances::new(2.0, 5.0, 4.0).expect("a web wider than the kerf");
        let rule = LeftoverRule { length: 300.0, width: 300.0, neck: 100.0 };
        Job::new(parts, sheets, clearances, rule).expect("sound parts and sheets")
    }
}

/// One of five forms in random sizes: bracket, ring, gusset, slotted link, drilled plate.
fn part_shape(kind: u32, rng: &mut Pcg64Mcg) -> Shape {
    let mut size = |low: f64, high: f64| rng.random_range(low..high);
    let (a, b) = (size(90.0, 260.0), size(70.0, 200.0));
    let hole = |x: f64, y: f64, r: f64| Outline::circle(Point::new(x, y), r);
    match kind % 5 {
        0 => {
            let w = size(28.0, 50.0);
            let corners = [(0.0, 0.0), (a, 0.0), (a, w), (w, w), (w, b), (0.0, b)];
            let outline = Outline::polygon(corners.map(|(x, y)| Point::new(x, y)));
            Shape::new(outline, vec![hole(w / 2.0, b - w / 2.0, 5.0), hole(a - w / 2.0, w / 2.0, 5.0)])
        }
        1 => {
            let r = size(45.0, 110.0);
            let center = Point::new(r, r);
            Shape::new(Outline::circle(center, r), vec![Outline::circle(center, r * size(0.4, 0.7))])
        }
        2 => {
            let outline = Outline::polygon([Point::ORIGIN, Point::new(a * 0.7, 0.0), Point::new(0.0, b * 0.7)]);
            Shape::new(outline, vec![hole(a * 0.15, b * 0.15, 6.0)])
        }
        3 => {
            let w = size(24.0, 44.0);
            let outline = Outline::new(vec![
                Vertex::line(Point::new(0.0, 0.0)),
                Vertex::arc(Point::new(a, 0.0), 1.0),
                Vertex::line(Point::new(a, w)),
                Vertex::arc(Point::new(0.0, w), 1.0),
            ]);
            Shape::new(outline, vec![hole(0.0, w / 2.0, 5.0), hole(a, w / 2.0, 5.0)])
        }
        _ => {
            let inset = 15.0;
            let corners = [(inset, inset), (a - inset, inset), (a - inset, b - inset), (inset, b - inset)];
            Shape::new(
                Outline::rectangle(Point::ORIGIN, a, b),
                corners.into_iter().map(|(x, y)| hole(x, y, 5.0)).collect(),
            )
        }
    }
}

/// A drop: a rectangle, an L, a cut corner or a disc, some with a hole or a damaged zone, dearer the larger.
fn drop(index: u32, class: &StockClass, rng: &mut Pcg64Mcg) -> Sheet {
    let mut size = |low: f64, high: f64| rng.random_range(low..high);
    let (w, h) = (size(500.0, 1100.0), size(400.0, 800.0));
    let polygon = |corners: &[(f64, f64)]| Outline::polygon(corners.iter().map(|&(x, y)| Point::new(x, y)));
    let outline = match index % 4 {
        0 => polygon(&[(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)]),
        1 => polygon(&[(0.0, 0.0), (w, 0.0), (w, h * 0.5), (w * 0.55, h * 0.5), (w * 0.55, h), (0.0, h)]),
        2 => polygon(&[(0.0, 0.0), (w, 0.0), (w, h * 0.6), (w * 0.7, h), (0.0, h)]),
        _ => Outline::circle(Point::new(h * 0.6, h * 0.6), h * 0.6),
    };
    let holes =
        if index.is_multiple_of(3) { vec![Outline::circle(Point::new(w * 0.3, h * 0.3), 40.0)] } else { Vec::new() };
    let damage = if index % 5 == 1 {
        vec![Outline::rectangle(Point::new(w * 0.1, h * 0.05), w * 0.15, h * 0.2)]
    } else {
        Vec::new()
    };
    let shape = Shape::new(outline, holes);
    // By weight, 7.85 kg a litre in 3 mm, at a rate that differs from drop to drop.
    let weight = 7.85e-6 * 3.0;
    let price = Money::round(shape.area() * weight * size(45.0, 110.0));
    Sheet { damage, price, weight, ..Sheet::new(&format!("drop {index}"), shape, class.clone()) }
}
