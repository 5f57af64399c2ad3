//! Nests three parts on an L-shaped remnant and prints where they lie.
#![allow(clippy::print_stdout, reason = "an example for the terminal")]

use std::ops::ControlFlow;

use dropwise_geometry::{Outline, Point, Shape};
use dropwise_model::{Clearances, Job, LeftoverRule, Money, Part, Sheet, StockClass};
use dropwise_nest::{Settings, nest};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let steel = StockClass::new("mild steel, 3 mm");
    let ring = |points: &[(f64, f64)]| Outline::polygon(points.iter().map(|&(x, y)| Point::new(x, y)));
    let ell = ring(&[(0., 0.), (400., 0.), (400., 130.), (140., 130.), (140., 300.), (0., 300.)]);
    let plate = Outline::rectangle(Point::ORIGIN, 200., 90.);
    let hole = Outline::circle(Point::new(40., 45.), 10.);
    let gusset = ring(&[(0., 0.), (150., 0.), (0., 150.)]);
    let disc = Outline::circle(Point::ORIGIN, 60.);
    let parts = vec![
        Part::new("plate", Shape::new(plate, vec![hole]), steel.clone()),
        Part::new("gusset", Shape::new(gusset, vec![]), steel.clone()),
        Part::new("disc", Shape::new(disc, vec![]), steel.clone()),
    ];
    let remnant = Sheet { price: Money::from_coins(500), ..Sheet::new("remnant", Shape::new(ell, vec![]), steel) };
    let (kerf, web, margin) = (1.5, 3.0, 3.0);
    let keep = LeftoverRule { length: 100., width: 60., neck: 20. };
    let job = Job::new(parts, vec![remnant], Clearances::new(kerf, web, margin)?, keep)?;
    let settings = Settings { rounds: Some(20), ..Settings::default() };
    let plan = nest(&job, &settings, |_| ControlFlow::Continue(()))?;
    for placed in plan.layout().sheets.iter().flat_map(|sheet| &sheet.placements) {
        println!("{:<7} {:?}", job.parts()[placed.part].name, placed.position);
    }
    println!("yield {:.1} %, {} left out", 100. * plan.figures().yield_ratio(), plan.layout().unplaced.len());
    Ok(())
}
