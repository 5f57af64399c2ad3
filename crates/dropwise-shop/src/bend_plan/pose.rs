//! Where the faces lie while some bends are made, some are not and one is on its way.

use dropwise_geometry::{Point, Side};

use crate::fold::{Convex, Direction, FoldedFace, Point3, SOLID_TOUCH, Unfolding, flat_plates};

/// How much of the thickness a face is taken smaller, on either side and all round, where it swings past another: half of
/// it between two, since a bend on its way is not quite where the model has it.
const SWING: f64 = 0.25;

/// An axis whose sine to a direction is less than this runs along it.
const PARALLEL: f64 = 1e-9;

/// Chords of curved edges may miss them by so much, mm.
const CHORD: f64 = 0.2;

/// The part as polygons.
pub(super) struct Body<'a> {
    pub(super) unfolding: &'a Unfolding,
    /// The outside of each face on the flat.
    pub(super) outlines: Vec<Vec<Point>>,
    /// Each face cut into convex pieces, a little smaller all round: what may swing past another face closely.
    plates: Vec<Vec<[Point; 4]>>,
    /// For each bend, whether each face swings with it.
    pub(super) is_beyond: Vec<Vec<bool>>,
}

/// The frame of the machine: x to the side of the face that is brought up, y up, z along the bend from its start.
#[derive(Clone, Copy, Debug)]
pub(super) struct MachineFrame {
    origin: Point3,
    axes: [Point3; 3],
}

impl MachineFrame {
    pub(super) fn read(&self, point: Point3) -> Point3 {
        let from = point - self.origin;
        Point3::new(from.dot(self.axes[0]), from.dot(self.axes[1]), from.dot(self.axes[2]))
    }
}

impl<'a> Body<'a> {
    pub(super) fn new(unfolding: &'a Unfolding) -> Self {
        let outlines = unfolding.faces.iter().map(|face| face.region.exterior().flatten(CHORD, Side::Shrink)).collect();
        let is_beyond = unfolding
            .bends
            .iter()
            .map(|bend| {
                let mut beyond = vec![false; unfolding.faces.len()];
                beyond[bend.face] = true;
                // A face always comes after its parent.
                for (index, face) in unfolding.faces.iter().enumerate().skip(bend.face + 1) {
                    beyond[index] = face.parent.is_some_and(|parent| beyond[parent]);
                }
                beyond
            })
            .collect();
        let shrunk = SWING * unfolding.thickness + SOLID_TOUCH / 2.0;
        let plates = (0..unfolding.faces.len()).map(|face| flat_plates(unfolding, face, shrunk)).collect();
        Self { unfolding, outlines, plates, is_beyond }
    }

    /// The pieces of a face in space.
    pub(super) fn plates_of(&self, face: usize, faces: &[FoldedFace]) -> Vec<Convex> {
        let thickness = self.unfolding.thickness;
        let shrunk = SWING * thickness + SOLID_TOUCH / 2.0;
        let heights = [shrunk, thickness - shrunk];
        let body = |corners: &[Point; 4]| {
            let points: Vec<Point3> =
                corners.iter().flat_map(|&corner| heights.map(|height| faces[face].at(corner, height))).collect();
            Convex::hull(&points)
        };
        self.plates[face].iter().filter_map(body).collect()
    }

    /// The corners of the box around a face in space.
    pub(super) fn box_of(&self, face: usize, faces: &[FoldedFace]) -> (Point3, Point3) {
        let far = Point3::new(f64::INFINITY, f64::INFINITY, f64::INFINITY);
        let skins = [0.0, self.unfolding.thickness];
        let points = self.outlines[face].iter().flat_map(|&point| skins.map(|height| faces[face].at(point, height)));
        points.fold((far, -far), |(low, high), point| {
            (
                Point3::new(low.x.min(point.x), low.y.min(point.y), low.z.min(point.z)),
                Point3::new(high.x.max(point.x), high.y.max(point.y), high.z.max(point.z)),
            )
        })
    }

    pub(super) fn name(&self, face: usize) -> String {
        self.unfolding.faces[face].name.clone()
    }

    pub(super) fn name_of_bend(&self, bend: usize) -> String {
        self.name(self.unfolding.bends[bend].face)
    }

    /// The faces in space, each bend made by a share of its turn.
    ///
    /// A bend on its way is round in the middle, at its full radius, and still flat on both sides: as the sheet wraps
    /// around the punch. Made by its whole turn it is the bend of [`Unfolding::fold`].
    pub(super) fn pose(&self, shares: &[f64]) -> Vec<FoldedFace> {
        let mut faces = vec![self.unfolding.base_in_space(); self.unfolding.faces.len()];
        for (index, bend) in self.unfolding.bends.iter().enumerate() {
            let axis = self.axis(index, shares[index], &faces[bend.parent]);
            let parent = faces[bend.parent];
            let degrees = axis.signed * shares[index];
            let shift = axis.away_flat * -(bend.figures.allowance * shares[index]);
            let shifted = parent.at(Point::new(shift.x, shift.y), 0.0);
            faces[bend.face] = FoldedFace {
                origin: axis.center + (shifted - axis.center).turned(axis.along, degrees),
                x_axis: parent.x_axis.turned(axis.along, degrees),
                y_axis: parent.y_axis.turned(axis.along, degrees),
                up: parent.up.turned(axis.along, degrees),
            };
        }
        faces
    }

    /// The machine around a bend that is made by a share of its turn.
    pub(super) fn machine_frame(&self, bend: usize, share: f64, faces: &[FoldedFace]) -> MachineFrame {
        let flat = &self.unfolding.bends[bend];
        let axis = self.axis(bend, share, &faces[flat.parent]);
        let half = axis.signed * share / 2.0;
        let parent = faces[flat.parent];
        let up = match flat.direction {
            Direction::Up => parent.up,
            Direction::Down => -parent.up,
        };
        let up = up.turned(axis.along, half);
        let away = axis.away.turned(axis.along, half);
        MachineFrame { origin: axis.center - up * flat.figures.bend.radius(), axes: [away, up, axis.along] }
    }

    /// What is clamped for a bend that is made by a share of its turn: x to the side that swings, y to the inside of the
    /// bend, from the clamped side's inner skin at the axis of the bend.
    pub(super) fn clamp_frame(
        &self,
        bend: usize,
        share: f64,
        faces: &[FoldedFace],
        is_face_clamped: bool,
    ) -> MachineFrame {
        let flat = &self.unfolding.bends[bend];
        let parent = faces[flat.parent];
        let axis = self.axis(bend, share, &parent);
        let up = match flat.direction {
            Direction::Up => parent.up,
            Direction::Down => -parent.up,
        };
        let (up, away) = if is_face_clamped {
            let turned = |vector: Point3| vector.turned(axis.along, axis.signed * share);
            (turned(up), -turned(axis.away))
        } else {
            (up, axis.away)
        };
        MachineFrame { origin: axis.center - up * flat.figures.bend.radius(), axes: [away, up, axis.along] }
    }

    /// How far the outside of a bend that is made reaches along the machine's x, to the right (`sign` 1) or to the left
    /// (-1): the two ends of the line on it that is farthest out, in the frame of the machine.
    ///
    /// `None` where no line within the bend's turn is farther out than its ends, which lie on the faces that it joins.
    pub(super) fn outside_of(
        &self,
        bend: usize,
        faces: &[FoldedFace],
        machine: &MachineFrame,
        sign: f64,
    ) -> Option<[Point3; 2]> {
        let flat = &self.unfolding.bends[bend];
        let parent = &faces[flat.parent];
        let axis = self.axis(bend, 1.0, parent);
        let outer = flat.figures.bend.radius() + self.unfolding.thickness;
        // From the axis to where the bend begins, on the outside.
        let first = match flat.direction {
            Direction::Up => -parent.up,
            Direction::Down => parent.up,
        };
        let wanted = machine.axes[0] * sign;
        let square = wanted - axis.along * wanted.dot(axis.along);
        let length = square.length();
        if length < PARALLEL {
            return None;
        }
        let square = square * (1.0 / length);
        // The turn, the way the bend turns, after which the outside faces that way.
        let turned = axis.along.dot(first.cross(square)).atan2(first.dot(square)).to_degrees() * axis.signed.signum();
        (turned.rem_euclid(360.0) <= axis.signed.abs()).then(|| {
            let reach = axis.center + square * outer;
            let along = (flat.start[1] - flat.start[0]).unit().unwrap_or(dropwise_geometry::Vector::new(1.0, 0.0));
            flat.line.map(|end| machine.read(reach + axis.along * (end - flat.start[0]).dot(along)))
        })
    }

    fn axis(&self, bend: usize, share: f64, parent: &FoldedFace) -> Axis {
        let flat = &self.unfolding.bends[bend];
        let [from, to] = flat.start;
        let along = (to - from).unit().unwrap_or(dropwise_geometry::Vector::new(1.0, 0.0));
        let away = -along.left();
        let (radius, turn) = (flat.figures.bend.radius(), flat.figures.bend.turn());
        let (height, signed) = match flat.direction {
            Direction::Up => (self.unfolding.thickness + radius, -turn),
            Direction::Down => (-radius, turn),
        };
        let stub = flat.figures.allowance * (1.0 - share) / 2.0;
        Axis {
            center: parent.at(from + away * stub, height),
            along: parent.x_axis * along.x + parent.y_axis * along.y,
            away: parent.x_axis * away.x + parent.y_axis * away.y,
            away_flat: away,
            signed,
        }
    }

    /// A face's outline in the frame of the machine, on the lower skin (0) or the upper one (the thickness).
    pub(super) fn polygon(
        &self,
        face: usize,
        height: f64,
        faces: &[FoldedFace],
        machine: &MachineFrame,
    ) -> Vec<Point3> {
        self.outlines[face].iter().map(|&point| machine.read(faces[face].at(point, height))).collect()
    }
}

struct Axis {
    center: Point3,
    along: Point3,
    away: Point3,
    away_flat: dropwise_geometry::Vector,
    /// The whole turn about `along`, degrees.
    signed: f64,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bend::{Development, KFactor};
    use crate::fold::{lipped_box, unfold};

    /// Made by their whole turn, the faces lie where folding puts them; not made at all, on the flat.
    #[test]
    fn whole_turns_are_folding_and_none_is_flat() {
        let k = KFactor::given(0.42).unwrap();
        let flat =
            unfold(&lipped_box(200.0, 120.0, 40.0, 15.0, 2.0, 3.0), &|_| Development::KFactor(k.clone())).unwrap();
        let body = Body::new(&flat);
        let folded = flat.fold();
        for (posed, proper) in body.pose(&vec![1.0; flat.bends.len()]).iter().zip(&folded.faces) {
            for (x, y, h) in [(0.0, 0.0, 0.0), (50.0, -30.0, 2.0), (-10.0, 80.0, 1.0)] {
                let at = Point::new(x, y);
                assert!(posed.at(at, h).distance(proper.at(at, h)) < 1e-9);
            }
        }
        let told = flat.faces[0].frame.to_face(Point::new(7.0, 9.0));
        for posed in body.pose(&vec![0.0; flat.bends.len()]) {
            assert!(posed.at(Point::new(7.0, 9.0), 1.0).distance(Point3::new(told.x, told.y, 1.0)) < 1e-9);
        }
    }

    /// Both legs rise by half the turn, and the tip of the punch touches the inside of the bend.
    #[test]
    fn the_machine_stands_upright_in_the_bend() {
        let k = KFactor::given(0.42).unwrap();
        let flat =
            unfold(&lipped_box(200.0, 120.0, 40.0, 15.0, 2.0, 3.0), &|_| Development::KFactor(k.clone())).unwrap();
        let body = Body::new(&flat);
        for (bend, told) in flat.bends.iter().enumerate() {
            let mut shares = vec![0.0; flat.bends.len()];
            for share in [0.0, 0.5, 1.0] {
                shares[bend] = share;
                let faces = body.pose(&shares);
                let machine = body.machine_frame(bend, share, &faces);
                let rise = |face: usize| {
                    let up = machine.read(faces[face].up) - machine.read(Point3::default());
                    up.x.atan2(up.y).to_degrees()
                };
                let half = 45.0 * share;
                let (parent, child) = (rise(told.parent), rise(told.face));
                assert!((parent - half).abs() < 1e-9 && (child + half).abs() < 1e-9, "{parent} {child} {half}");
            }
        }
    }
}
