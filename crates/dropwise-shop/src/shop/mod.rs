//! The shop itself: what it cuts, drills, flares and bends with, and what its people lift.
//!
//! [`Shop::usual`] is what to reckon with until a shop says otherwise. No published list says what a small shop owns, so
//! each default tells where it comes from; where it says common practice, it is a guess to be replaced.

mod bender;
mod brake;
mod flare;

use dropwise_geometry::Unit;

pub use bender::{Bender, BenderKind};
pub use brake::{Brake, BrakeError, BrakeSources, INCH_DIES, LARGEST_TOOL, MOST_POINTS, Punch, VDie};
pub use flare::FlaringDie;

use crate::caution::{LIFT_SOURCE, LIFTED_BY_ONE};
use crate::cutplan::ShopTools;
use crate::source::Source;

/// Tools of the shop. Lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Shop {
    /// Cutters, shear, drills, hole saws and punches, and how fast work goes.
    pub tools: ShopTools,
    /// Its press brake, if it has one.
    pub brake: Option<Brake>,
    /// A small press brake that stands in a shop press, with its own force, length and tools.
    pub shop_press: Option<Brake>,
    /// Benders without punch and die: leaf brakes, box-and-pan brakes, a vise with bars.
    pub benders: Vec<Bender>,
    /// Dies that flare holes.
    pub flaring_dies: Vec<FlaringDie>,
    /// What lengths must be multiplied by to come out true on the shop's printer, from left to right and upright.
    pub printer: [f64; 2],
    /// The most that one person lifts, kg.
    pub lifted_by_one: f64,
    /// Whose word that is.
    pub lift_source: Source,
}

/// Source of a figure that the shop wrote down itself.
pub const OWN_FIGURE: Source = Source::confirmed("the shop file");

impl Shop {
    /// A small shop that has said nothing of itself: a cutoff wheel, common drills and hole saws of the job's unit, a
    /// small press brake with the dies of the published chart, or those sold in inches, no shear, no flaring dies, a true printer.
    #[must_use]
    pub fn usual(unit: Unit) -> Self {
        Self {
            tools: ShopTools::beside(unit),
            brake: Some(Brake::usual_beside(unit)),
            shop_press: None,
            benders: Vec::new(),
            flaring_dies: Vec::new(),
            printer: [1.0; 2],
            lifted_by_one: LIFTED_BY_ONE,
            lift_source: LIFT_SOURCE,
        }
    }

    /// Openings of the dies that flat patterns are laid out for, in their order: those of the press brake, or of the one in
    /// the shop press where there is no other.
    #[must_use]
    pub fn die_openings(&self) -> Vec<f64> {
        let brake = self.brake.as_ref().or(self.shop_press.as_ref());
        brake.into_iter().flat_map(|brake| brake.dies.iter().map(|die| die.opening)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Status;

    #[test]
    fn the_usual_shop_says_where_it_comes_from() {
        // Dies of "Air bending force chart".
        let metric = Shop::usual(Unit::Millimetre).die_openings();
        assert_eq!(metric, [6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0, 32.0, 40.0, 50.0]);
        let shop = Shop::usual(Unit::Inch);
        let inches: Vec<f64> = shop.die_openings().iter().map(|opening| opening / 25.4).collect();
        assert!(inches.iter().zip(INCH_DIES).all(|(own, sold)| (own - sold).abs() < 1e-12) && inches.len() == 10);
        assert_eq!(shop.brake.unwrap().sources.length.status, Status::CommonPractice);
        // NIOSH load constant, 51 lb.
        assert_eq!((shop.lifted_by_one * 2.204_62).round(), 51.0);
        assert_eq!(shop.lift_source.status, Status::FromMemory);
    }
}
