//! What pages say beyond the plan: bends, holes, and how lengths are written.

use dropwise_geometry::{InchDivision, Isometry, Outline, Point, Shape, Unit, format_inch_fraction, format_length};
use dropwise_shop::markout::{Datum, Grid, full_circle};

/// A line along which a part is bent, in the coordinates of its shape.
#[derive(Clone, Debug, PartialEq)]
pub struct BendLine {
    /// Index of the part in the job.
    pub part: usize,
    /// What it is called on the pages: a number or a letter.
    pub name: String,
    /// One end.
    pub from: Point,
    /// The other end.
    pub to: Point,
    /// By how much the metal is turned, degrees: 90 for a square corner.
    pub turn_deg: f64,
    /// Whether the flange comes up, towards the reader of the flat pattern.
    pub is_up: bool,
    /// Inside radius, mm.
    pub inside_radius: f64,
    /// What else the person at the brake needs to know, such as the order or the sight line; may be empty.
    pub note: String,
}

impl BendLine {
    /// What stands beside it: `up 90°`.
    pub(crate) fn label(&self) -> String {
        let turn = format!("{:.1}", self.turn_deg);
        let turn = turn.strip_suffix(".0").unwrap_or(&turn);
        format!("{} {} {turn}°", self.name, if self.is_up { "up" } else { "down" })
    }
}

/// A hole that is more than cut: countersunk or flared.
#[derive(Clone, Debug, PartialEq)]
pub struct HoleNote {
    /// Index of the part in the job.
    pub part: usize,
    /// Its middle, in the coordinates of the part's shape.
    pub center: Point,
    /// Diameter of the hole that is cut, mm.
    pub diameter: f64,
    /// Whether it is worked from the side that the viewer of the pattern sees.
    pub is_up: bool,
    /// What is done to it, in words.
    pub work: String,
}

/// How lengths are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LengthStyle {
    /// The job's own unit.
    pub unit: Unit,
    /// What the tape shows, to which lengths are rounded; `None` for decimals of the unit.
    pub grid: Option<Grid>,
}

impl LengthStyle {
    /// Decimals in a unit: millimetres to 0.1, inches to 0.001.
    #[must_use]
    pub const fn decimal(unit: Unit) -> Self {
        Self { unit, grid: None }
    }

    /// As a tape or rule shows lengths: the one rounding of all that is measured at the bench.
    #[must_use]
    pub const fn tape(grid: Grid) -> Self {
        let unit = match grid {
            Grid::Inch(_) => Unit::Inch,
            Grid::HalfMillimetre => Unit::Millimetre,
        };
        Self { unit, grid: Some(grid) }
    }

    /// A length with its unit.
    pub(crate) fn with_unit(self, mm: f64) -> String {
        match self.grid {
            Some(grid) => grid.format(grid.read(mm)),
            None => format_length(mm, self.unit),
        }
    }

    /// A length with its unit, as it is read off a tape or a scale.
    #[must_use]
    pub fn in_words(self, mm: f64) -> String {
        self.with_unit(mm)
    }

    /// A size that a tool or a stock is known by, not rounded to a tape.
    #[must_use]
    pub fn in_trade(self, mm: f64) -> String {
        self.tool_size(mm)
    }

    /// A length that nobody measures, such as that of all cuts together: metres or feet, to a tenth.
    pub(crate) fn in_total(self, mm: f64) -> String {
        let unit = if self.unit.is_metric() { Unit::Metre } else { Unit::Foot };
        format!("{:.1} {unit}", mm / unit.millimetres())
    }

    /// How far a tool cuts in a minute: whole millimetres or inches.
    pub(crate) fn in_a_minute(self, mm: f64) -> String {
        let unit = if self.unit.is_metric() { Unit::Millimetre } else { Unit::Inch };
        format!("{:.0} {unit} a minute", mm / unit.millimetres())
    }

    /// A length without its unit, for tables that say it in their heading.
    pub(crate) fn bare(self, mm: f64) -> String {
        let text = self.with_unit(mm);
        text.strip_suffix(self.unit.symbol()).unwrap_or(&text).trim_end().to_owned()
    }

    /// The unit as a word of a sentence: `in inches`, where `in in` would stumble.
    #[must_use]
    pub const fn unit_in_words(self) -> &'static str {
        match self.unit {
            Unit::Inch => "inches",
            Unit::Foot => "feet",
            unit => unit.symbol(),
        }
    }

    /// A diameter or radius that a tool is known by: not rounded to a tape. Beside inches and feet in 64ths where it is one,
    /// as drills are sold, and otherwise in decimals.
    pub(crate) fn tool_size(self, mm: f64) -> String {
        if self.unit.is_metric() {
            let number = format!("{mm:.2}");
            return format!("{} mm", number.trim_end_matches('0').trim_end_matches('.'));
        }
        let step = 25.4 / 64.0;
        let is_64th = ((mm / step).round() * step - mm).abs() < 0.005;
        if is_64th { format_inch_fraction(mm, InchDivision::SixtyFourths) } else { format_length(mm, Unit::Inch) }
    }

    /// What rounding may take off or add, in words.
    pub(crate) fn rounding(self) -> String {
        match (self.grid, self.unit) {
            (Some(grid), _) => {
                let (step, bound) = match grid {
                    Grid::Inch(InchDivision::SixtyFourths) => ("1/64 in", "1/128 in"),
                    Grid::Inch(InchDivision::ThirtySeconds) => ("1/32 in", "1/64 in"),
                    Grid::Inch(InchDivision::Sixteenths) => ("1/16 in", "1/32 in"),
                    Grid::HalfMillimetre => ("0.5 mm", "0.25 mm"),
                };
                format!("lengths to the nearest {step}: off by {bound} at most")
            }
            (_, Unit::Inch) => "lengths to the nearest 0.001 in: off by 0.0005 in at most".to_owned(),
            (_, Unit::Foot) => "lengths to the nearest 0.0001 ft: off by 0.00005 ft at most".to_owned(),
            (_, Unit::Metre) => "lengths to the nearest 0.0001 m: off by 0.05 mm at most".to_owned(),
            (_, Unit::Centimetre) => "lengths to the nearest 0.01 cm: off by 0.05 mm at most".to_owned(),
            (_, Unit::Millimetre) => "lengths to the nearest 0.1 mm: off by 0.05 mm at most".to_owned(),
        }
    }
}

impl Default for LengthStyle {
    fn default() -> Self {
        Self::decimal(Unit::Millimetre)
    }
}

/// A round hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct RoundHole {
    pub(crate) center: Point,
    pub(crate) diameter: f64,
}

/// How far arcs may stray from one circle to count as one, mm: far below what a drill does.
const SAME_CIRCLE: f64 = 1e-3;

/// The circle that a ring is, if it is one.
fn circle(ring: &Outline) -> Option<RoundHole> {
    full_circle(ring, SAME_CIRCLE).map(|circle| RoundHole { center: circle.center, diameter: 2.0 * circle.radius })
}

/// Where distances on a sheet run from, and the move that brings the sheet there: the datum corner to the origin, the
/// datum edge onto the x axis. The mark-out tables measure from the same.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DatumFrame {
    pub(crate) datum: Datum,
    pub(crate) to_frame: Isometry,
}

impl DatumFrame {
    pub(crate) fn of(stock: &Shape) -> Self {
        let datum = Datum::of(stock);
        // Exact where the edge is level, as it mostly is.
        let turn = if datum.along.y == 0.0 && datum.along.x > 0.0 { 0.0 } else { -datum.along.angle().to_degrees() };
        let turned = Isometry::new(false, turn, 0.0, 0.0).apply(datum.corner);
        Self { datum, to_frame: Isometry::new(false, turn, -turned.x, -turned.y) }
    }

    /// A part where it lies, seen from the datum.
    pub(crate) fn piece(&self, part: &Shape, position: Isometry) -> Shape {
        part.transformed(position).transformed(self.to_frame)
    }

    /// How a part is turned against the datum edge, in words: `30°`, `0°, face down`.
    pub(crate) fn turn(&self, position: Isometry) -> String {
        let turned = format!("{:.1}", (position.rotation_deg + self.to_frame.rotation_deg).rem_euclid(360.0));
        let turned = turned.strip_suffix(".0").unwrap_or(&turned);
        // What rounds to a whole turn is none.
        let turned = if turned == "360" { "0" } else { turned };
        format!("{turned}°{}", if position.is_mirrored { ", face down" } else { "" })
    }
}

/// The round holes of a shape.
pub(crate) fn round_holes(shape: &Shape) -> Vec<RoundHole> {
    shape.holes().iter().filter_map(circle).collect()
}

/// Holes of a shape that are no circles.
pub(crate) fn cutouts(shape: &Shape) -> usize {
    shape.holes().iter().filter(|ring| circle(ring).is_none()).count()
}

/// Diameters with how many there are of each, smallest first. Diameters that round alike count as one.
pub(crate) fn holes_by_size(diameters: impl IntoIterator<Item = f64>) -> Vec<(f64, usize)> {
    let mut diameters: Vec<f64> = diameters.into_iter().collect();
    diameters.sort_by(f64::total_cmp);
    let mut sizes: Vec<(f64, usize)> = Vec::new();
    for diameter in diameters {
        match sizes.last_mut() {
            Some((size, count)) if (*size - diameter).abs() < 2.0 * SAME_CIRCLE => *count += 1,
            _ => sizes.push((diameter, 1)),
        }
    }
    sizes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn circles_are_told_from_other_rings() {
        let center = Point::new(3.0, 4.0);
        let found = circle(&Outline::circle(center, 4.5)).unwrap();
        assert!(found.center.distance(center) < 1e-9 && (found.diameter - 9.0).abs() < 1e-9);
        assert_eq!(circle(&Outline::rectangle(center, 4.0, 4.0)), None);
        assert_eq!(holes_by_size([9.0, 6.0, 9.000_1]), [(6.0, 1), (9.0, 2)]);
    }

    #[test]
    fn datum_edge_comes_to_lie_on_the_axis() {
        // A drop whose longest edge slopes: measured along that edge, wherever the sheet was drawn.
        let corners = [(0.0, 0.0), (400.0, 300.0), (310.0, 420.0), (-90.0, 120.0)].map(|(x, y)| Point::new(x, y));
        let frame = DatumFrame::of(&Shape::new(Outline::polygon(corners), Vec::new()));
        let seen = corners.map(|corner| frame.to_frame.apply(corner));
        for (corner, distances) in corners.iter().zip(seen) {
            let [along, square] = frame.datum.distances(*corner);
            assert!((along - distances.x).abs() < 1e-9 && (square - distances.y).abs() < 1e-9);
        }
        assert!(seen.iter().all(|point| point.y > -1e-9), "the metal lies above the datum edge");
        let level = Shape::new(Outline::rectangle(Point::new(5.0, 7.0), 40.0, 20.0), Vec::new());
        assert_eq!(DatumFrame::of(&level).to_frame, Isometry::new(false, 0.0, -5.0, -7.0));
        assert_eq!(DatumFrame::of(&level).turn(Isometry::new(true, 359.99, 0.0, 0.0)), "0°, face down");
    }

    #[test]
    fn lengths_follow_their_style() {
        let fraction = LengthStyle::tape(Grid::Inch(InchDivision::SixtyFourths));
        assert_eq!(fraction.with_unit(12.375 * 25.4), "12 3/8 in");
        assert_eq!(fraction.bare(12.375 * 25.4), "12 3/8");
        assert_eq!(LengthStyle::default().bare(12.34), "12.3");
        // 9/64 in stays what it is beside a tape of 32nds, and 7.2 mm is no 64th.
        let tape = LengthStyle::tape(Grid::Inch(InchDivision::ThirtySeconds));
        assert_eq!(LengthStyle::tape(Grid::HalfMillimetre).bare(12.34), "12.5");
        assert_eq!([9.0 / 64.0 * 25.4, 7.2].map(|mm| tape.tool_size(mm)), ["9/64 in", "0.283 in"]);
        assert_eq!(
            (tape.in_total(12_130.0), tape.in_a_minute(2931.0)),
            ("39.8 ft".to_owned(), "115 in a minute".to_owned())
        );
        assert_eq!([11.0, 11.1125].map(|mm| LengthStyle::default().tool_size(mm)), ["11 mm", "11.11 mm"]);
    }
}
