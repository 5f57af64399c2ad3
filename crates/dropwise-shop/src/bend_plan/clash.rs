//! Whether a part runs into the machine or into itself on the way of one bend.

use dropwise_geometry::Point;

use super::pose::{Body, MachineFrame};
use super::section::{Prism, triangles};
use super::{Search, TOUCH, Tool};
use crate::fold::{FoldedFace, Point3};
use crate::shop::{Brake, Punch, VDie};

/// What runs into what, by indices.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Clash {
    TooSharp,
    Tool { face: usize, tool: Tool },
    Face { face: usize, other: usize },
}

/// The parts of the machine that are the same for every bend.
pub(super) struct Machine {
    /// Sections of the punches, cut into triangles.
    punches: Vec<Vec<Vec<Point>>>,
}

/// Farther than any part reaches, mm.
const FAR: f64 = 1e6;

/// How far apart two angles are at which the part is looked at, degrees.
const STEP: f64 = 12.0;

/// Two faces whose edges come nearer to the outline of the other than this share of the thickness, and [`TOUCH`], only
/// touch: butted and mitred corners do.
const TOUCHING: f64 = 0.5;

impl Machine {
    pub(super) fn new(brake: &Brake) -> Self {
        Self { punches: brake.punches.iter().map(|punch| triangles(&punch.section)).collect() }
    }
}

/// How the machine is set up for one bend.
#[derive(Clone, Copy, Debug)]
pub(super) struct Setting {
    pub(super) punch: usize,
    pub(super) die: VDie,
    /// Whether the face that is brought up lies at the back.
    pub(super) is_child_behind: bool,
    /// Share of the turn that is made between punch and die.
    pub(super) share: f64,
    /// By how much the punch is shorter than the bend at each end.
    pub(super) inset: f64,
}

impl Search<'_> {
    /// What is in the way of a bend with this setting, if anything is.
    pub(super) fn clash(&mut self, bend: usize, is_done: &[bool], setting: Setting) -> Option<Clash> {
        let mut shares: Vec<f64> = is_done.iter().map(|&is_done| if is_done { 1.0 } else { 0.0 }).collect();
        let flat = &self.job.unfolding.bends[bend];
        let turn = flat.figures.bend.turn();
        let count = (turn / STEP).ceil().max(1.0);
        for step in 0..=count as usize {
            let share = step as f64 / count;
            shares[bend] = share;
            let faces = self.body.pose(&shares);
            if share <= setting.share + 1e-9 {
                let machine = self.body.machine_frame(bend, share, &faces);
                if let Some(clash) = self.tools(bend, share, &faces, &machine, setting) {
                    return Some(clash);
                }
            }
            if let Some(clash) = self.itself(bend, &faces) {
                return Some(clash);
            }
        }
        None
    }

    fn tools(
        &mut self,
        bend: usize,
        share: f64,
        faces: &[FoldedFace],
        machine: &MachineFrame,
        setting: Setting,
    ) -> Option<Clash> {
        let flat = &self.job.unfolding.bends[bend];
        let (thickness, radius) = (self.job.unfolding.thickness, flat.figures.bend.radius());
        let length = flat.length();
        let stretch = (setting.inset, length - setting.inset);
        let punch = &self.brake.punches[setting.punch];
        let mut prisms: Vec<(Tool, Prism)> = self.machine.punches[setting.punch]
            .iter()
            .map(|section| (Tool::Punch, Prism::new(section.clone(), stretch.0, stretch.1)))
            .collect();
        prisms.extend(around(self.brake, punch, setting.die));
        let drop = die_top(setting.die, thickness, radius, (flat.figures.bend.turn() * share).min(179.0));
        let VDie { opening, width, height, .. } = setting.die;
        for shoulder in [(opening / 2.0, width / 2.0), (-width / 2.0, -opening / 2.0)] {
            prisms.push((Tool::Die, Prism::rectangle(shoulder, (drop - height, drop), stretch)));
        }
        let half = width.max(self.brake.beam_width) / 2.0;
        let bed = (drop - height - FAR, drop - height);
        prisms.push((Tool::Bed, Prism::rectangle((-half, half), bed, (-FAR, FAR))));
        for face in 0..faces.len() {
            for skin in [0.0, thickness] {
                let mut polygon = self.body.polygon(face, skin, faces, machine);
                if setting.is_child_behind {
                    // Machine x runs to the face brought up already.
                } else {
                    for point in &mut polygon {
                        *point = Point3::new(-point.x, point.y, point.z);
                    }
                }
                self.work += prisms.len() as u64;
                if let Some((tool, _)) = prisms.iter().find(|(_, prism)| prism.is_entered(&polygon, TOUCH)) {
                    return Some(Clash::Tool { face, tool: *tool });
                }
            }
        }
        None
    }

    /// What swings against what stands: an edge of one that goes through the other.
    fn itself(&mut self, bend: usize, faces: &[FoldedFace]) -> Option<Clash> {
        let beyond = &self.body.is_beyond[bend];
        let parent = self.job.unfolding.bends[bend].parent;
        let child = self.job.unfolding.bends[bend].face;
        for one in (0..faces.len()).filter(|&face| beyond[face]) {
            for other in (0..faces.len()).filter(|&face| !beyond[face]) {
                if one == child && other == parent {
                    continue;
                }
                self.work += 1;
                if goes_through(&self.body, faces, one, other) || goes_through(&self.body, faces, other, one) {
                    return Some(Clash::Face { face: one, other });
                }
            }
        }
        None
    }
}

/// What stands around the bend but does not move with its angle: the beam.
fn around(brake: &Brake, punch: &Punch, _: VDie) -> [(Tool, Prism); 1] {
    let half = brake.beam_width / 2.0;
    [(Tool::Beam, Prism::rectangle((-half, half), (punch.height, punch.height + FAR), (-FAR, FAR)))]
}

/// How high the top of the die lies over the tip of the punch when the sheet is bent by so much: where the outer skin of
/// a leg passes over the shoulder.
fn die_top(die: VDie, thickness: f64, radius: f64, turn: f64) -> f64 {
    let (sin, cos) = (turn.to_radians() / 2.0).sin_cos();
    radius + (die.opening / 2.0 * sin - (radius + thickness)) / cos
}

/// Whether an edge of one face passes through the other, both as the middle of the sheet.
fn goes_through(body: &Body<'_>, faces: &[FoldedFace], one: usize, other: usize) -> bool {
    let middle = body.unfolding.thickness / 2.0;
    let frame = &faces[other];
    // In the other's own plane: x and y on the flat, z off its middle.
    let read = |point: Point3| {
        let from = point - frame.origin;
        Point3::new(from.dot(frame.x_axis), from.dot(frame.y_axis), from.dot(frame.up) - middle)
    };
    let corners: Vec<Point3> = body.outlines[one].iter().map(|&point| read(faces[one].at(point, middle))).collect();
    let outline = &body.outlines[other];
    let touch = TOUCHING * body.unfolding.thickness + TOUCH;
    corners.iter().enumerate().any(|(index, &from)| {
        let to = corners[(index + 1) % corners.len()];
        // Both ends on one side, or so near the plane that they only lie on it.
        if from.z.min(to.z) > -touch || from.z.max(to.z) < touch {
            return false;
        }
        let at = from + (to - from) * (from.z / (from.z - to.z));
        is_inside(outline, Point::new(at.x, at.y), touch)
    })
}

/// Whether a point lies in a polygon, at least `depth` from its sides.
fn is_inside(outline: &[Point], point: Point, depth: f64) -> bool {
    let mut is_in = false;
    for (index, &a) in outline.iter().enumerate() {
        let b = outline[(index + 1) % outline.len()];
        let side = b - a;
        let along = if side.length() > 0.0 { ((point - a).dot(side) / side.dot(side)).clamp(0.0, 1.0) } else { 0.0 };
        if (a + side * along).distance(point) < depth {
            return false;
        }
        if (a.y > point.y) != (b.y > point.y) && point.x < a.x + side.x * (point.y - a.y) / side.y {
            is_in = !is_in;
        }
    }
    is_in
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Flat on the die, the punch's tip is a thickness above it; at a square bend, by hand: V 16, T 2, R 2.
    #[test]
    fn the_die_lies_where_the_sheet_rests_on_it() {
        let die = VDie::of(16.0);
        assert!((die_top(die, 2.0, 2.0, 0.0) + 2.0).abs() < 1e-12);
        // 2 + (8 sin 45 - 4) / cos 45 = 2 + 8 - 5.657.
        assert!((die_top(die, 2.0, 2.0, 90.0) - 4.343_146).abs() < 1e-6);
    }
}
