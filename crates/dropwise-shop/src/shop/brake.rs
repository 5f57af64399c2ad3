//! The press brake and the sections of its tools.
//!
//! Sections lie in the plane square to the bend: x points to the back of the machine, where the backgauge is, y up, and
//! the punch's tip is at (0, 0).

use dropwise_geometry::{Outline, Point, Unit};
use thiserror::Error;

use crate::bend::{DIE_TABLE, SHORT_TON};
use crate::source::Source;

/// A press brake with its tools.
#[derive(Clone, Debug, PartialEq)]
pub struct Brake {
    /// What it is called.
    pub name: &'static str,
    /// Longest bend, mm.
    pub length: f64,
    /// Most force, kN.
    pub force: f64,
    /// Punches, the one it would rather use first.
    pub punches: Vec<Punch>,
    /// Dies, as they stand on the shelf.
    pub dies: Vec<VDie>,
    /// Width of the beam that holds the punch, mm. It is as long as the machine.
    pub beam_width: f64,
    /// How near to the middle of the die and how far from it the backgauge stands, mm.
    pub gauge_reach: (f64, f64),
    /// Where its figures come from.
    pub sources: BrakeSources,
}

/// Where the figures of a brake come from: the shop file, or common practice where that leaves them out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BrakeSources {
    /// Of its length.
    pub length: Source,
    /// Of its force.
    pub force: Source,
    /// Of its dies.
    pub dies: Source,
    /// Of its punches.
    pub punches: Source,
    /// Of its backgauge.
    pub gauge: Source,
}

impl BrakeSources {
    /// A brake that nobody told of.
    pub const USUAL: Self = Self {
        length: Source::COMMON_PRACTICE,
        force: Source::COMMON_PRACTICE,
        dies: Source::COMMON_PRACTICE,
        punches: Source::COMMON_PRACTICE,
        gauge: Source::COMMON_PRACTICE,
    };
}

/// A punch.
#[derive(Clone, Debug, PartialEq)]
pub struct Punch {
    /// What it is called.
    pub name: String,
    /// Angle of its tip, degrees: it bends no sharper.
    pub angle: f64,
    /// Radius of its tip, mm: it bends no tighter.
    pub tip_radius: f64,
    /// From the tip to the beam that holds it, mm.
    pub height: f64,
    /// Its section, counter-clockwise.
    pub section: Vec<Point>,
    /// Lengths of the pieces that it comes in, mm; empty where any length can be put together.
    pub pieces: Vec<f64>,
}

/// A die with one V.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VDie {
    /// Opening of the V, mm.
    pub opening: f64,
    /// Width over all, mm.
    pub width: f64,
    /// From its top to the bed, mm.
    pub height: f64,
    /// Angle of the V, degrees: it bends no sharper.
    pub angle: f64,
    /// The most that may press on it, kN for each mm of its length; `None` where its maker's figure is not known.
    pub load: Option<f64>,
}

/// No tool is larger than this, mm.
pub const LARGEST_TOOL: f64 = 20_000.0;

/// Most points of a section.
pub const MOST_POINTS: usize = 100;

/// Why numbers make no tool.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum BrakeError {
    /// A tip that no punch has.
    #[error("the tip's angle is {0}°; a punch has between 10° and 170°")]
    TipAngle(f64),
    /// A size that is none.
    #[error("the {what} is {value} mm; it must be more than 0 and at most 20 m")]
    Size {
        /// Which size.
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// A tip as wide as the body is high.
    #[error("a tip of {angle}° that widens to {width} mm is {least:.1} mm high; the punch is only {height} mm high")]
    TooLow {
        /// Angle of the tip.
        angle: f64,
        /// Width of the body.
        width: f64,
        /// Height that the tip alone takes.
        least: f64,
        /// Height given.
        height: f64,
    },
    /// A section that is no outline.
    #[error("the section {0}")]
    Section(String),
}

/// V openings of dies as they are sold in inches (from memory).
pub const INCH_DIES: [f64; 10] = [0.25, 0.3125, 0.375, 0.5, 0.625, 0.75, 1.0, 1.25, 1.5, 2.0];

impl Brake {
    /// The small brake of [`Self::usual`], for jobs in inches with the dies that are sold there: [`INCH_DIES`].
    #[must_use]
    pub fn usual_beside(unit: Unit) -> Self {
        let usual = Self::usual();
        if unit.is_metric() {
            return usual;
        }
        Self { dies: INCH_DIES.map(|inches| VDie::of(inches * 25.4)).to_vec(), ..usual }
    }

    /// A brake in a shop press: 500 mm, 20 short tons, three dies, a straight punch 80 high and no backgauge. Common
    /// practice, no source.
    #[must_use]
    pub fn usual_in_shop_press(unit: Unit) -> Self {
        let dies = if unit.is_metric() { [12.0, 16.0, 25.0] } else { [0.5, 0.625, 1.0].map(|inches| inches * 25.4) };
        let punch = Punch::straight("straight punch", 88.0, 0.8, 20.0, 80.0);
        Self {
            name: "brake in the shop press",
            length: 500.0,
            force: 20.0 * SHORT_TON,
            punches: punch.into_iter().collect(),
            dies: dies.map(VDie::of).to_vec(),
            beam_width: 50.0,
            gauge_reach: (0.0, 0.0),
            sources: BrakeSources::USUAL,
        }
    }

    /// A small brake: 1250 mm and 40 short tons (common practice, no source), with the dies up to 50 mm of "Air bending
    /// force chart" and three common forms of punch.
    #[must_use]
    pub fn usual() -> Self {
        Self {
            name: "press brake",
            length: 1250.0,
            force: 40.0 * SHORT_TON,
            punches: Punch::usual(),
            dies: DIE_TABLE.iter().take_while(|row| row.opening <= 50.0).map(|row| VDie::of(row.opening)).collect(),
            beam_width: 60.0,
            gauge_reach: (10.0, 600.0),
            sources: BrakeSources::USUAL,
        }
    }
}

impl Punch {
    /// A straight punch, a gooseneck whose throat passes 14 mm beyond the middle, and an acute one for hems. Common
    /// forms, not those of a maker (common practice, no source).
    #[must_use]
    pub fn usual() -> Vec<Self> {
        let points = |points: &[(f64, f64)]| points.iter().map(|&(x, y)| Point::new(x, y)).collect::<Vec<_>>();
        let neck = [
            (0.0, 0.0),
            (8.0, 8.3),
            (34.0, 45.0),
            (34.0, 80.0),
            (13.0, 105.0),
            (-13.0, 105.0),
            (-13.0, 95.0),
            (14.0, 70.0),
            (14.0, 40.0),
            (-3.0, 12.0),
            (-3.0, 3.2),
        ];
        let made = |name: &str, angle, section: Vec<Point>| Self {
            name: name.to_owned(),
            angle,
            tip_radius: 0.8,
            height: 105.0,
            section,
            pieces: Vec::new(),
        };
        let straight = |angle: f64, width: f64| {
            let rise = width / 2.0 / (angle.to_radians() / 2.0).tan();
            points(&[
                (0.0, 0.0),
                (width / 2.0, rise),
                (width / 2.0, 105.0),
                (-width / 2.0, 105.0),
                (-width / 2.0, rise),
            ])
        };
        vec![
            made("straight punch", 88.0, straight(88.0, 20.0)),
            made("gooseneck punch", 88.0, points(&neck)),
            made("acute punch", 28.0, straight(28.0, 20.0)),
        ]
    }

    /// A punch that is as wide as its body from where the tip ends.
    ///
    /// # Errors
    /// [`BrakeError`] for sizes that make none.
    pub fn straight(name: &str, angle: f64, tip_radius: f64, width: f64, height: f64) -> Result<Self, BrakeError> {
        check_angle(angle)?;
        for (what, value) in [("width of the punch", width), ("height of the punch", height)] {
            check_size(what, value)?;
        }
        let rise = width / 2.0 / (angle.to_radians() / 2.0).tan();
        if rise >= height {
            return Err(BrakeError::TooLow { angle, width, least: rise, height });
        }
        let half = width / 2.0;
        let section = [(0.0, 0.0), (half, rise), (half, height), (-half, height), (-half, rise)];
        let section = section.into_iter().map(|(x, y)| Point::new(x, y)).collect();
        Self::of_section(name, angle, tip_radius, section)
    }

    /// A punch of any section, its tip at (0, 0) and nothing of it below; either way round.
    ///
    /// # Errors
    /// [`BrakeError::Section`] when the points make no simple outline that stands on (0, 0), and as
    /// [`Punch::straight`].
    pub fn of_section(name: &str, angle: f64, tip_radius: f64, mut section: Vec<Point>) -> Result<Self, BrakeError> {
        check_angle(angle)?;
        if !(0.0..=100.0).contains(&tip_radius) {
            return Err(BrakeError::Size { what: "radius of the tip", value: tip_radius });
        }
        let wrong = |what: &str| Err(BrakeError::Section(what.to_owned()));
        if section.len() < 3 || section.len() > MOST_POINTS {
            return wrong(&format!("has {} points; it needs 3 to {MOST_POINTS}", section.len()));
        }
        if !section.iter().all(|point| point.x.abs() <= LARGEST_TOOL && point.y.abs() <= LARGEST_TOOL) {
            return wrong("has a point more than 20 m away");
        }
        let has_tip = section.iter().any(|point| point.x.abs() < 1e-6 && point.y.abs() < 1e-6);
        if !has_tip || section.iter().any(|point| point.y < -1e-6) {
            return wrong("must have its tip at (0, 0) and nothing below it");
        }
        let outline = Outline::polygon(section.clone());
        if let Some(fault) = dropwise_geometry::Shape::new(outline.clone(), Vec::new()).faults().first() {
            return wrong(&format!("is no outline: {fault}"));
        }
        if outline.signed_area() < 0.0 {
            section.reverse();
        }
        let height = section.iter().fold(0.0, |height: f64, point| height.max(point.y));
        Ok(Self { name: name.to_owned(), angle, tip_radius, height, section, pieces: Vec::new() })
    }
}

impl VDie {
    /// A die of which only the opening is known: 10 mm of metal beside the V and at least 60 mm high, with a V that
    /// takes a square bend and its springback (common practice, no source).
    #[must_use]
    pub const fn of(opening: f64) -> Self {
        let height = if opening > 40.0 { opening + 20.0 } else { 60.0 };
        Self { opening, width: opening + 20.0, height, angle: if opening <= 12.71 { 30.0 } else { 85.0 }, load: None }
    }
}

fn check_angle(angle: f64) -> Result<(), BrakeError> {
    if (10.0..=170.0).contains(&angle) { Ok(()) } else { Err(BrakeError::TipAngle(angle)) }
}

fn check_size(what: &'static str, value: f64) -> Result<(), BrakeError> {
    if value > 0.0 && value <= LARGEST_TOOL { Ok(()) } else { Err(BrakeError::Size { what, value }) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn usual_punches_are_sections_that_would_be_taken() {
        for punch in Punch::usual() {
            let again = Punch::of_section(&punch.name, punch.angle, punch.tip_radius, punch.section.clone()).unwrap();
            assert_eq!(again, punch);
        }
        let straight = Punch::straight("straight punch", 88.0, 0.8, 20.0, 105.0).unwrap();
        assert_eq!(straight, Punch::usual()[0]);
    }

    #[test]
    fn what_is_no_punch_is_refused() {
        let at = |points: &[(f64, f64)]| points.iter().map(|&(x, y)| Point::new(x, y)).collect::<Vec<_>>();
        let refused = |angle, section| Punch::of_section("punch", angle, 1.0, section).unwrap_err().to_string();
        assert!(refused(5.0, at(&[(0.0, 0.0), (1.0, 9.0), (-1.0, 9.0)])).contains("between 10° and 170°"));
        assert!(refused(f64::NAN, at(&[(0.0, 0.0), (1.0, 9.0), (-1.0, 9.0)])).contains("between 10° and 170°"));
        assert!(refused(30.0, at(&[(0.0, 0.0), (1.0, 9.0)])).contains("has 2 points"));
        assert!(refused(30.0, at(&[(0.0, 1.0), (1.0, 9.0), (-1.0, 9.0)])).contains("tip at (0, 0)"));
        assert!(refused(30.0, at(&[(0.0, 0.0), (1.0, -9.0), (-1.0, 9.0)])).contains("nothing below"));
        assert!(refused(30.0, at(&[(0.0, 0.0), (9.0, 9.0), (-9.0, 9.0), (9.0, 5.0)])).contains("no outline"));
        assert!(refused(30.0, at(&[(0.0, 0.0), (f64::NAN, 9.0), (-9.0, 9.0)])).contains("20 m away"));
        let low = Punch::straight("punch", 88.0, 1.0, 50.0, 20.0).unwrap_err();
        assert!(low.to_string().contains("25.9 mm high"), "{low}");
    }

    #[test]
    fn sections_given_clockwise_are_turned_round() {
        let mut section = Punch::usual()[0].section.clone();
        section.reverse();
        let punch = Punch::of_section("p", 88.0, 0.8, section).unwrap();
        assert!(Outline::polygon(punch.section).signed_area() > 0.0);
    }
}
