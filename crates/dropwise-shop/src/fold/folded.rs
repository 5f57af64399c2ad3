//! A flat pattern bent up: where every point of the sheet comes to lie in space.
//!
//! Folding knows the flat pattern alone: the lines where bends begin and end, their turns, directions and inside radii.
//! It knows nothing of how sizes were told, and so it proves them.

use dropwise_geometry::Point;

use super::flat::{FlatBend, Unfolding};
use super::part::Direction;
use super::space::Point3;

/// A part bent up.
#[derive(Clone, Debug, PartialEq)]
pub struct Folded {
    /// Thickness of the sheet.
    pub thickness: f64,
    /// The faces, in the order of the flat pattern.
    pub faces: Vec<FoldedFace>,
    /// The bends, in the order of the flat pattern.
    pub bends: Vec<FoldedBend>,
}

/// Where a plane face lies: a rigid motion of the flat pattern that holds for the face's own region.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FoldedFace {
    /// Where the flat pattern's point (0, 0) would come to lie, on the lower face of the sheet.
    pub origin: Point3,
    /// Where the flat's x axis points.
    pub x_axis: Point3,
    /// Where the flat's y axis points.
    pub y_axis: Point3,
    /// Where the side of the sheet that was up points.
    pub up: Point3,
}

/// A bend in space: part of a cylinder.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FoldedBend {
    /// A point of the axis.
    pub center: Point3,
    /// Direction of the axis: that of the bend line, from its start to its end.
    pub axis: Point3,
    /// Inside radius.
    pub inside_radius: f64,
    /// Turn, degrees.
    pub turn: f64,
    /// Which way.
    pub direction: Direction,
    /// The parent's frame, in which the bend starts.
    parent: FoldedFace,
    /// Start of the line where the bend begins, on the flat, and the flat's unit vector away from the parent.
    start: Point,
    away: (f64, f64),
    allowance: f64,
}

impl FoldedFace {
    /// Where a point of the flat lies, `height` mm above the lower face of the sheet (0 to the thickness).
    #[must_use]
    pub fn at(&self, flat: Point, height: f64) -> Point3 {
        self.origin + self.x_axis * flat.x + self.y_axis * flat.y + self.up * height
    }
}

impl FoldedBend {
    /// Where a point of the bend zone lies, `height` mm above the lower face of the sheet.
    ///
    /// The zone's width becomes the turn evenly: a point halfway across it is bent by half of it.
    #[must_use]
    pub fn at(&self, flat: Point, height: f64) -> Point3 {
        let from = flat - self.start;
        let across = from.x * self.away.0 + from.y * self.away.1;
        // Back to the line where the bend begins, then around the axis.
        let foot = Point::new(flat.x - self.away.0 * across, flat.y - self.away.1 * across);
        let share = if self.allowance > 0.0 { across / self.allowance } else { 0.0 };
        self.around(self.parent.at(foot, height), share * self.turn)
    }

    /// A point turned about the bend's axis with the sheet, by some of its turn, degrees.
    fn around(&self, point: Point3, degrees: f64) -> Point3 {
        self.center + (point - self.center).turned(self.axis, self.signed(degrees))
    }

    /// Travelling along the axis the face beyond lies to the right, so up is clockwise.
    fn signed(&self, degrees: f64) -> f64 {
        match self.direction {
            Direction::Up => -degrees,
            Direction::Down => degrees,
        }
    }
}

impl Unfolding {
    /// The base in space: its own frame, as it was told, is that of space, and its lower face lies at z = 0.
    pub(crate) fn base_in_space(&self) -> FoldedFace {
        let told = self.faces.first().map_or(Point::ORIGIN, |base| base.frame.origin);
        FoldedFace {
            origin: Point3::new(-told.x, -told.y, 0.0),
            x_axis: Point3::new(1.0, 0.0, 0.0),
            y_axis: Point3::new(0.0, 1.0, 0.0),
            up: Point3::new(0.0, 0.0, 1.0),
        }
    }

    /// The part, bent up. The base stays where it is told, whatever the flat pattern needs beside it.
    #[must_use]
    pub fn fold(&self) -> Folded {
        let base = self.base_in_space();
        let (mut faces, mut bends) = (vec![base], Vec::with_capacity(self.bends.len()));
        // A face always comes after its parent.
        for flat in &self.bends {
            let (bend, face) = self.fold_one(flat, faces[flat.parent]);
            bends.push(bend);
            faces.push(face);
        }
        Folded { thickness: self.thickness, faces, bends }
    }

    fn fold_one(&self, flat: &FlatBend, parent: FoldedFace) -> (FoldedBend, FoldedFace) {
        let (radius, turn) = (flat.figures.bend.radius(), flat.figures.bend.turn());
        let [from, to] = flat.start;
        // A bend line always has a length: faces without width are refused.
        let along = (to - from).unit().unwrap_or(dropwise_geometry::Vector::new(1.0, 0.0));
        let away = -along.left();
        let axis = parent.x_axis * along.x + parent.y_axis * along.y;
        // The axis lies an inside radius off the sheet, on the side that becomes the inside.
        let height = match flat.direction {
            Direction::Up => self.thickness + radius,
            Direction::Down => -radius,
        };
        let bend = FoldedBend {
            center: parent.at(from, height),
            axis,
            inside_radius: radius,
            turn,
            direction: flat.direction,
            parent,
            start: from,
            away: (away.x, away.y),
            allowance: flat.figures.allowance,
        };
        let signed = bend.signed(turn);
        let turned = |vector: Point3| vector.turned(axis, signed);
        // On the flat the face lies the allowance beyond the line where the bend begins; bent, it starts right there.
        let shifted = parent.at(Point::new(-away.x * flat.figures.allowance, -away.y * flat.figures.allowance), 0.0);
        let face = FoldedFace {
            origin: bend.around(shifted, turn),
            x_axis: turned(parent.x_axis),
            y_axis: turned(parent.y_axis),
            up: turned(parent.up),
        };
        (bend, face)
    }
}
