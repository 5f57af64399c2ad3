//! A bent part laid flat.

use dropwise_geometry::{Isometry, Outline, Point, Shape, Vector};

use crate::bend::{BendFigures, Development};

use super::frame::FaceFrame;
use super::part::Direction;

/// The flat pattern of a bent part: what is cut, and where it is bent, in its [`PartFrame`](crate::PartFrame), mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Unfolding {
    /// Thickness of the sheet.
    pub thickness: f64,
    /// What is cut: the outline with reliefs and notches, and all holes. Arcs stay arcs.
    pub shape: Shape,
    /// The holes, in the order of the shape's.
    pub holes: Vec<FlatHole>,
    /// The faces; the base comes first, and every face after the one that it is bent from.
    pub faces: Vec<FlatFace>,
    /// The bends, in the order of the faces that they bring up: bend `i` belongs to face `i + 1`.
    pub bends: Vec<FlatBend>,
    /// What reliefs take away.
    pub reliefs: Vec<FlatRelief>,
}

/// A face on the flat: what stays plane.
#[derive(Clone, Debug, PartialEq)]
pub struct FlatFace {
    /// Its name.
    pub name: String,
    /// Index of the face that it is bent from; `None` for the base.
    pub parent: Option<usize>,
    /// Its region from bend to bend, with its holes, before reliefs are cut.
    pub region: Shape,
    /// Where its own frame lies.
    pub frame: FaceFrame,
    /// Size of the box in which its features are dimensioned.
    pub told_size: (f64, f64),
}

/// A hole on the flat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlatHole {
    /// Index of the face that it is in.
    pub face: usize,
    /// Index of the face's feature that it belongs to; `None` for a bore and for a drawn hole.
    pub feature: Option<usize>,
    /// Its middle: that of the box around it.
    pub center: Point,
    /// Its diameter, if it is round.
    pub diameter: Option<f64>,
}

/// A bend on the flat.
#[derive(Clone, Debug, PartialEq)]
pub struct FlatBend {
    /// Index of the face that it brings up.
    pub face: usize,
    /// Index of the face that it is bent from.
    pub parent: usize,
    /// Which way.
    pub direction: Direction,
    /// Radius, turn, allowance, setback, deduction and K.
    pub figures: BendFigures,
    /// How the allowance was found, and by whose figures.
    pub development: Development,
    /// The bend line: the middle of the bend zone, as long as the metal that is bent. Travelling from its start, the
    /// parent lies to the left and the face that is brought up to the right.
    pub line: [Point; 2],
    /// Where the bend begins on its parent, parallel to the bend line.
    pub start: [Point; 2],
    /// Where it ends on the face that it brings up.
    pub end: [Point; 2],
    /// The line that stands under the nose of a leaf brake's clamp: one inside radius from where the bend begins. `None`
    /// where that is beyond the bend.
    ///
    /// # Source
    /// Aviation Maintenance Technician Handbook, Airframe, chapter 4: sight line (from memory).
    pub sight_line: Option<[Point; 2]>,
    /// The bend zone, before reliefs are cut.
    pub zone: Outline,
    /// From where the parent's edge is told to where the bend begins.
    pub edge_taken: f64,
    /// From where the face's height is told to where the bend ends.
    pub own_taken: f64,
}

impl FlatBend {
    /// Where to prick the sheet so that the bend line can be found on either side of it: the ends of the bend line.
    #[must_use]
    pub fn centre_marks(&self) -> [Point; 2] {
        self.line
    }

    /// Length of metal that is bent, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.line[0].distance(self.line[1])
    }
}

/// What a relief takes out of faces and bend zones.
#[derive(Clone, Debug, PartialEq)]
pub struct FlatRelief {
    /// Index of the face whose bend it relieves; at a corner, of the one that comes first counter-clockwise.
    pub face: usize,
    /// What is taken away, counter-clockwise.
    pub removed: Outline,
}

impl Unfolding {
    /// Index of a face by name.
    #[must_use]
    pub fn face(&self, name: &str) -> Option<usize> {
        self.faces.iter().position(|face| face.name == name)
    }

    /// The bend that brings up a face; `None` for the base.
    #[must_use]
    pub fn bend_of(&self, face: usize) -> Option<&FlatBend> {
        self.bends.get(face.checked_sub(1)?)
    }

    /// The same pattern in another place.
    pub(super) fn moved(mut self, by: Vector) -> Self {
        if by == Vector::new(0.0, 0.0) {
            return self;
        }
        let isometry = Isometry::new(false, 0.0, by.x, by.y);
        let outline = |outline: &mut Outline| *outline = outline.transformed(isometry);
        let line = |line: &mut [Point; 2]| line.iter_mut().for_each(|point| *point += by);
        self.shape = self.shape.transformed(isometry);
        self.holes.iter_mut().for_each(|hole| hole.center += by);
        for face in &mut self.faces {
            face.region = face.region.transformed(isometry);
            face.frame.origin += by;
        }
        for bend in &mut self.bends {
            [&mut bend.line, &mut bend.start, &mut bend.end].into_iter().for_each(line);
            bend.sight_line.iter_mut().for_each(line);
            outline(&mut bend.zone);
        }
        self.reliefs.iter_mut().for_each(|relief| outline(&mut relief.removed));
        self
    }
}
