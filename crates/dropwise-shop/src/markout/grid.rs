//! What a tape or rule can show.

use dropwise_geometry::{InchDivision, Unit, format_inch_fraction, format_length};

/// The finest division that dimensions are rounded to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grid {
    /// Fractions of an inch.
    Inch(InchDivision),
    /// Half a millimetre.
    HalfMillimetre,
}

/// A distance as it is and as it is marked out, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// The true distance.
    pub exact: f64,
    /// The nearest division of the grid.
    pub rounded: f64,
}

impl Grid {
    /// Every grid, finest first.
    pub const ALL: [Self; 4] = [
        Self::Inch(InchDivision::SixtyFourths),
        Self::HalfMillimetre,
        Self::Inch(InchDivision::ThirtySeconds),
        Self::Inch(InchDivision::Sixteenths),
    ];

    /// The grid to start from in a job's unit: half a millimetre, or 1/32 in. Common practice, no source.
    #[must_use]
    pub const fn beside(unit: Unit) -> Self {
        if unit.is_metric() { Self::HalfMillimetre } else { Self::Inch(InchDivision::ThirtySeconds) }
    }

    /// Width of a division, mm.
    #[must_use]
    pub const fn step(self) -> f64 {
        match self {
            Self::Inch(InchDivision::SixtyFourths) => 25.4 / 64.0,
            Self::Inch(InchDivision::ThirtySeconds) => 25.4 / 32.0,
            Self::Inch(InchDivision::Sixteenths) => 25.4 / 16.0,
            Self::HalfMillimetre => 0.5,
        }
    }

    /// How far a rounded distance may be from the true one at most, mm: half a division.
    ///
    /// All distances run from the same datum, so no errors add up: two marks are off from each other by at most one
    /// division along each edge.
    #[must_use]
    pub const fn bound(self) -> f64 {
        self.step() / 2.0
    }

    /// A distance read on this grid. Halfway cases go away from zero.
    #[must_use]
    pub fn read(self, exact: f64) -> Reading {
        Reading { exact, rounded: (exact / self.step()).round() * self.step() }
    }

    /// A rounded distance as it is written on a table: `12 3/8 in`, `314.5 mm`.
    #[must_use]
    pub fn format(self, reading: Reading) -> String {
        match self {
            Self::Inch(finest) => format_inch_fraction(reading.rounded, finest),
            Self::HalfMillimetre => format_length(reading.rounded, Unit::Millimetre),
        }
    }

    /// What a table says about its rounding.
    #[must_use]
    pub fn statement(self) -> String {
        let (step, bound) = match self {
            Self::Inch(InchDivision::SixtyFourths) => ("1/64 in", "1/128 in (0.20 mm)"),
            Self::Inch(InchDivision::ThirtySeconds) => ("1/32 in", "1/64 in (0.40 mm)"),
            Self::Inch(InchDivision::Sixteenths) => ("1/16 in", "1/32 in (0.79 mm)"),
            Self::HalfMillimetre => ("0.5 mm", "0.25 mm"),
        };
        format!(
            "Distances are rounded to the nearest {step}: each is at most {bound} off. All run from the datum, so errors \
             do not add up."
        )
    }
}

impl Reading {
    /// What rounding did, mm: rounded less exact.
    #[must_use]
    pub fn error(self) -> f64 {
        self.rounded - self.exact
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn readings_of_a_tape() {
        for (grid, exact, text) in [
            (Grid::Inch(InchDivision::SixtyFourths), 314.0, "12 23/64 in"),
            (Grid::Inch(InchDivision::ThirtySeconds), 314.0, "12 3/8 in"),
            (Grid::Inch(InchDivision::Sixteenths), 314.0, "12 3/8 in"),
            (Grid::HalfMillimetre, 314.2, "314 mm"),
            (Grid::HalfMillimetre, 314.25, "314.5 mm"),
            (Grid::HalfMillimetre, -0.1, "0 mm"),
            (Grid::Inch(InchDivision::Sixteenths), -3.3, "-1/8 in"),
        ] {
            assert_eq!(grid.format(grid.read(exact)), text);
        }
        for grid in Grid::ALL {
            // The bound that is written is not below the true one.
            let written = grid.statement();
            let millimetres = written.split_once(" mm").unwrap().0.rsplit([' ', '(']).next().unwrap();
            let stated = if grid == Grid::HalfMillimetre { "0.25" } else { millimetres };
            let stated: f64 = stated.parse().unwrap();
            assert!((stated - grid.bound()).abs() < 0.005, "{written}");
        }
        assert_eq!([Unit::Metre, Unit::Foot].map(|unit| Grid::beside(unit).step()), [0.5, 25.4 / 32.0]);
    }

    proptest! {
        #[test]
        fn no_reading_is_off_by_more_than_the_bound(exact in -1e5..1e5f64) {
            for grid in Grid::ALL {
                let reading = grid.read(exact);
                prop_assert!(reading.error().abs() <= grid.bound() * (1.0 + 1e-9));
                let steps = reading.rounded / grid.step();
                prop_assert!((steps - steps.round()).abs() < 1e-6);
                // What is printed is what was rounded.
                let printed = dropwise_geometry::parse_length(&grid.format(reading), Unit::Millimetre).unwrap();
                prop_assert!((printed - reading.rounded).abs() < 1e-6);
            }
        }
    }
}
