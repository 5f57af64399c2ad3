//! Whether a part runs into the machine or into itself on the way of one bend.

use dropwise_geometry::Point;

use super::pose::MachineFrame;
use super::section::{Prism, triangles};
use super::{Search, TOUCH, Tool};
use crate::fold::{Convex, FoldedFace, Point3};
use crate::shop::{Brake, VDie};

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
    /// How wide each punch is at its top.
    tops: Vec<(f64, f64)>,
}

/// Farther than any part reaches, mm.
const FAR: f64 = 1e6;

/// How far apart two angles are at which the part is looked at, degrees.
const STEP: f64 = 12.0;

/// What two plates that swing past each other may share before it counts, mm³.
const SHARED: f64 = 0.01;

impl Machine {
    pub(super) fn new(brake: &Brake) -> Self {
        let top = |section: &[Point]| {
            let height = section.iter().map(|point| point.y).fold(0.0, f64::max);
            let at_top = section.iter().filter(|point| point.y > height - 1.0).map(|point| point.x);
            at_top.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)))
        };
        Self {
            punches: brake.punches.iter().map(|punch| triangles(&punch.section)).collect(),
            tops: brake.punches.iter().map(|punch| top(&punch.section)).collect(),
        }
    }
}

/// How long the tools are along the bend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Stretch {
    /// Longer than the part.
    Whole,
    /// Over each bend of the stroke, so much shorter at either end.
    Shorter(f64),
}

/// How the machine is set up for one stroke.
#[derive(Clone, Copy, Debug)]
pub(super) struct Setting {
    pub(super) punch: usize,
    pub(super) die: VDie,
    /// Whether the face that is brought up lies at the back.
    pub(super) is_child_behind: bool,
    /// Share of the turn that is made between punch and die.
    pub(super) share: f64,
    pub(super) stretch: Stretch,
    /// From the tip of the punch to the beam.
    pub(super) punch_height: f64,
    pub(super) beam_width: f64,
}

impl Search<'_> {
    /// What is in the way of a stroke with this setting, and at which share of the turn, if anything is.
    pub(super) fn clash(&mut self, stroke: &[usize], is_done: &[bool], setting: Setting) -> Option<(Clash, f64)> {
        for share in self.shares(stroke) {
            if share > setting.share + 1e-9 {
                break;
            }
            let faces = self.posed(stroke, is_done, share);
            let machine = self.body.machine_frame(stroke[0], share, &faces);
            if let Some(clash) = self.tools(stroke, share, &faces, &machine, setting) {
                return Some((clash, share));
            }
        }
        None
    }

    /// The angles at which a stroke is looked at, as shares of its turn.
    fn shares(&self, stroke: &[usize]) -> Vec<f64> {
        let turn = self.job.unfolding.bends[stroke[0]].figures.bend.turn();
        let count = (turn / STEP).ceil().max(1.0);
        (0..=count as usize).map(|step| step as f64 / count).collect()
    }

    pub(super) fn posed(&self, stroke: &[usize], is_done: &[bool], share: f64) -> Vec<FoldedFace> {
        let mut shares: Vec<f64> = is_done.iter().map(|&is_done| if is_done { 1.0 } else { 0.0 }).collect();
        stroke.iter().for_each(|&bend| shares[bend] = share);
        self.body.pose(&shares)
    }

    fn tools(
        &mut self,
        stroke: &[usize],
        share: f64,
        faces: &[FoldedFace],
        machine: &MachineFrame,
        setting: Setting,
    ) -> Option<Clash> {
        let flat = &self.job.unfolding.bends[stroke[0]];
        let (thickness, radius) = (self.job.unfolding.thickness, flat.figures.bend.radius());
        let turn = (flat.figures.bend.turn() * share).min(179.0);
        let stretches: Vec<(f64, f64)> = match setting.stretch {
            Stretch::Whole => vec![(-FAR, FAR)],
            Stretch::Shorter(inset) => self.along(stroke).iter().map(|(from, to)| (from + inset, to - inset)).collect(),
        };
        let mut prisms: Vec<(Tool, Prism)> = Vec::new();
        for &stretch in &stretches {
            prisms.extend(
                self.machine.punches[setting.punch]
                    .iter()
                    .map(|section| (Tool::Punch, Prism::new(section.clone(), stretch.0, stretch.1))),
            );
            // Where a higher punch is asked for than there is, its neck goes on as it ends.
            let own = self.brake.punches[setting.punch].height;
            if setting.punch_height > own {
                let top = self.machine.tops[setting.punch];
                prisms.push((Tool::Punch, Prism::rectangle(top, (own, setting.punch_height), stretch)));
            }
        }
        let half = setting.beam_width / 2.0;
        let above = (setting.punch_height, setting.punch_height + FAR);
        prisms.push((Tool::Beam, Prism::rectangle((-half, half), above, (-FAR, FAR))));
        let drop = die_top(setting.die, thickness, radius, turn);
        let VDie { opening, width, height, .. } = setting.die;
        for shoulder in [(opening / 2.0, width / 2.0), (-width / 2.0, -opening / 2.0)] {
            for &stretch in &stretches {
                prisms.push((Tool::Die, Prism::rectangle(shoulder, (drop - height, drop), stretch)));
            }
        }
        let half = width.max(setting.beam_width) / 2.0;
        prisms.push((Tool::Bed, Prism::rectangle((-half, half), (drop - height - FAR, drop - height), (-FAR, FAR))));
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

    /// From where to where along the first bend's line each bend of a stroke has metal.
    pub(super) fn along(&self, stroke: &[usize]) -> Vec<(f64, f64)> {
        let bends = &self.job.unfolding.bends;
        let first = &bends[stroke[0]];
        let along = (first.start[1] - first.start[0]).unit().unwrap_or(dropwise_geometry::Vector::new(1.0, 0.0));
        stroke
            .iter()
            .map(|&bend| {
                let [from, to] = bends[bend].line.map(|end| (end - first.start[0]).dot(along));
                (from.min(to), from.max(to))
            })
            .collect()
    }

    /// What swings against what stands, whatever the tools: plates that take the same space.
    pub(super) fn itself(&mut self, stroke: &[usize], is_done: &[bool]) -> Option<Clash> {
        let bends = &self.job.unfolding.bends;
        let swings = |face: usize| stroke.iter().any(|&bend| self.body.is_beyond[bend][face]);
        let (moving, standing): (Vec<usize>, Vec<usize>) =
            (0..self.body.outlines.len()).partition(|&face| swings(face));
        for share in self.shares(stroke) {
            let faces = self.posed(stroke, is_done, share);
            let boxes: Vec<(Point3, Point3)> = (0..faces.len()).map(|face| self.body.box_of(face, &faces)).collect();
            let mut plates: Vec<Option<Vec<Convex>>> = vec![None; faces.len()];
            for &one in &moving {
                for &other in &standing {
                    if stroke.iter().any(|&bend| (bends[bend].face, bends[bend].parent) == (one, other)) {
                        continue;
                    }
                    self.work += 1;
                    if !boxes_meet(boxes[one], boxes[other]) {
                        continue;
                    }
                    for face in [one, other] {
                        plates[face].get_or_insert_with(|| self.body.plates_of(face, &faces));
                    }
                    self.work += 20;
                    let shared: f64 = plates[one]
                        .iter()
                        .flatten()
                        .flat_map(|a| plates[other].iter().flatten().filter_map(move |b| a.shared(b)))
                        .map(|shared| shared.volume())
                        .sum();
                    if shared > SHARED {
                        return Some(Clash::Face { face: one, other });
                    }
                }
            }
        }
        None
    }
}

fn boxes_meet(one: (Point3, Point3), other: (Point3, Point3)) -> bool {
    let meet = |low: f64, high: f64, other_low: f64, other_high: f64| low <= other_high && other_low <= high;
    meet(one.0.x, one.1.x, other.0.x, other.1.x)
        && meet(one.0.y, one.1.y, other.0.y, other.1.y)
        && meet(one.0.z, one.1.z, other.0.z, other.1.z)
}

/// How high the top of the die lies over the tip of the punch when the sheet is bent by so much: where the outer skin of
/// a leg passes over the shoulder.
fn die_top(die: VDie, thickness: f64, radius: f64, turn: f64) -> f64 {
    let (sin, cos) = (turn.to_radians() / 2.0).sin_cos();
    radius + (die.opening / 2.0 * sin - (radius + thickness)) / cos
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
