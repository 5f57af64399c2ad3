//! Checks of a pattern's numbers, each for itself, before any geometry.

use super::base::{Base, Tip};
use super::corner::{Corner, PolygonCorner, SAME_POINT};
use super::error::{LARGEST_LENGTH, MOST_CORNERS, MOST_HOLES, PatternError, SMALLEST_LENGTH, Subject};
use super::feature::{Cut, Feature, Spacing, rectangle_corners};

/// Angles beyond this many degrees are a slip, and lose digits when reduced to one turn.
const LARGEST_ANGLE: f64 = 1e6;

/// Collects the faults of one subject's numbers.
struct Checker<'a> {
    subject: Subject,
    errors: &'a mut Vec<PatternError>,
}

impl Checker<'_> {
    fn push(&mut self, error: PatternError) {
        self.errors.push(error);
    }

    /// Whether a size is usable; reported when not. No range contains NaN.
    fn size(&mut self, what: &'static str, value: f64) -> bool {
        let is_good = (SMALLEST_LENGTH..=LARGEST_LENGTH).contains(&value);
        if !is_good {
            self.push(PatternError::Size { subject: self.subject, what, value });
        }
        is_good
    }

    /// Whether a coordinate is usable; reported when not.
    fn coordinate(&mut self, what: &'static str, value: f64) -> bool {
        let is_good = value.abs() <= LARGEST_LENGTH;
        if !is_good {
            self.push(PatternError::Coordinate { subject: self.subject, what, value });
        }
        is_good
    }

    fn angle(&mut self, what: &'static str, value: f64) {
        if value.abs() > LARGEST_ANGLE || value.is_nan() {
            self.push(PatternError::Angle { subject: self.subject, what, value });
        }
    }

    fn corner(&mut self, corner: Corner) -> bool {
        corner.size().is_none_or(|(what, value)| self.size(what, value))
    }

    fn count(&mut self, count: u32) {
        if count == 0 || count > MOST_HOLES {
            self.push(PatternError::Count { subject: self.subject, count });
        }
    }

    /// A size that must stay below another, both usable.
    fn below(&mut self, what: &'static str, found: f64, limit_name: &'static str, limit: f64) {
        if found >= limit {
            self.push(PatternError::LegUsedUp { subject: self.subject, what, found, limit_name, limit });
        }
    }

    fn slot(&mut self, length: f64, width: f64) {
        // Both are looked at even when the first is bad, so that both are reported.
        let is_good = [self.size("length", length), self.size("width", width)];
        if is_good == [true; 2] && length < width {
            self.push(PatternError::SlotTooShort { subject: self.subject, length, width });
        }
    }

    /// Whether made corners leave something of each side.
    fn sides(&mut self, corners: &[PolygonCorner]) {
        if let Err(short) = super::corner::outline_with_corners(corners) {
            self.errors.extend(short.into_iter().map(|side| PatternError::CornersExceedSide {
                subject: self.subject,
                corners: (side.first, side.second),
                needed: side.needed,
                available: side.available,
            }));
        }
    }
}

/// Reports what is wrong with the sizes of a base, its made corners included.
pub(super) fn check_base(base: &Base, errors: &mut Vec<PatternError>) {
    let before = errors.len();
    let mut check = Checker { subject: Subject::Base(base.kind()), errors };
    match *base {
        Base::Rectangle { width, height, corners } => {
            check.size("width", width);
            check.size("height", height);
            for corner in corners {
                check.corner(corner);
            }
        }
        Base::Polygon { ref corners } => check_polygon(corners, &mut check),
        Base::Circle { diameter } => {
            check.size("diameter", diameter);
        }
        Base::Ring { outer_diameter: outer, inner_diameter: inner } => {
            let is_good = [check.size("outer diameter", outer), check.size("inner diameter", inner)];
            if is_good == [true; 2] && inner >= outer {
                check.push(PatternError::RingInside { inner, outer });
            }
        }
        Base::Slot { length, width } => check.slot(length, width),
        Base::L { length_x, width_x, length_y, width_y, inside_radius } => {
            let is_good = [
                check.size("length in x", length_x),
                check.size("width of the leg along x", width_x),
                check.size("length in y", length_y),
                check.size("width of the leg along y", width_y),
            ];
            if let Some(radius) = inside_radius {
                check.size("inside radius", radius);
            }
            if is_good == [true; 4] {
                check.below("width of the leg along x", width_x, "length in y", length_y);
                check.below("width of the leg along y", width_y, "length in x", length_x);
            }
        }
        Base::Gusset { leg_x, leg_y, tip_x, tip_y, inside_corner } => {
            let legs_are_good = [check.size("leg along x", leg_x), check.size("leg along y", leg_y)] == [true; 2];
            check.corner(inside_corner);
            let flats = [
                (tip_x, "nose flat of the leg along x", "leg along y", leg_y),
                (tip_y, "nose flat of the leg along y", "leg along x", leg_x),
            ];
            for (tip, what, limit_name, limit) in flats {
                match tip {
                    Tip::Sharp => {}
                    Tip::Corner(corner) => {
                        check.corner(corner);
                    }
                    Tip::NoseFlat(flat) => {
                        if check.size(what, flat) && legs_are_good {
                            check.below(what, flat, limit_name, limit);
                        }
                    }
                }
            }
        }
    }
    // Sides can be measured only where every number is sound.
    if check.errors.len() == before
        && let Some(corners) = base.corners()
    {
        check.sides(&corners);
    }
}

fn check_polygon(corners: &[PolygonCorner], check: &mut Checker<'_>) {
    if !(3..=MOST_CORNERS).contains(&corners.len()) {
        check.push(PatternError::CornerCount { found: corners.len() });
        return;
    }
    let mut points_are_good = true;
    for corner in corners {
        points_are_good &= check.coordinate("x of a corner", corner.point.x);
        points_are_good &= check.coordinate("y of a corner", corner.point.y);
        check.corner(corner.corner);
    }
    if points_are_good {
        for first in 0..corners.len() {
            let second = (first + 1) % corners.len();
            let at = corners[first].point;
            if at.distance(corners[second].point) <= SAME_POINT {
                check.push(PatternError::RepeatedCorner { first, second, at });
            }
        }
    }
}

/// Reports what is wrong with the numbers of a feature.
pub(super) fn check_feature(index: usize, feature: &Feature, errors: &mut Vec<PatternError>) {
    let subject = Subject::Feature { index, kind: feature.cut.kind() };
    let mut check = Checker { subject, errors };
    let [x, y] = feature.position.dimensions();
    check.coordinate("position across", x);
    check.coordinate("position upright", y);
    match feature.cut {
        Cut::Hole { diameter } => {
            check.size("diameter", diameter);
        }
        Cut::Slot { length, width, angle_deg } => {
            check.slot(length, width);
            check.angle("angle", angle_deg);
        }
        Cut::Cutout { width, height, corner, angle_deg } => {
            let is_good = [check.size("width", width), check.size("height", height), check.corner(corner)];
            check.angle("angle", angle_deg);
            if is_good == [true; 3] {
                check.sides(&rectangle_corners(dropwise_geometry::Point::ORIGIN, width, height, [corner; 4]));
            }
        }
        Cut::HoleRow { diameter, count, spacing, angle_deg, .. } => {
            check.size("hole diameter", diameter);
            check.count(count);
            check.angle("angle", angle_deg);
            match spacing {
                Spacing::Pitch(pitch) => {
                    check.size("pitch", pitch);
                }
                Spacing::Overall(overall) if count == 1 => {
                    check.push(PatternError::RowOfOne { subject, overall });
                }
                Spacing::Overall(overall) => {
                    check.size("distance from the first hole to the last", overall);
                }
            }
        }
        Cut::BoltCircle { diameter, count, circle_diameter, start_deg } => {
            check.size("hole diameter", diameter);
            check.count(count);
            check.size("diameter of the circle", circle_diameter);
            check.angle("start angle", start_deg);
        }
    }
}
