//! The bend table: every number from which the flat lengths of a part follow, in the order in which a person adds them.

use dropwise_geometry::{Bounds, Point, Vector};

use super::flat::{FlatBend, Unfolding};
use super::part::Direction;

/// All bends of a part, and its lengths on the flat worked out leg by leg. Lengths in mm, angles in degrees.
#[derive(Clone, Debug, PartialEq)]
pub struct BendTable {
    /// The bends, numbered from 1 in the order of the flat pattern.
    pub bends: Vec<BendRow>,
    /// Straight lines across the part from one free edge to another. Together they pass every bend.
    pub runs: Vec<Run>,
}

/// One bend of the table.
#[derive(Clone, Debug, PartialEq)]
pub struct BendRow {
    /// Its number.
    pub number: usize,
    /// The face that it brings up.
    pub face: String,
    /// The face that it is bent from.
    pub parent: String,
    /// By how much.
    pub turn: f64,
    /// Which way.
    pub direction: Direction,
    /// Inside radius.
    pub inside_radius: f64,
    /// K of the neutral line.
    pub k: f64,
    /// Flat length of the bend zone.
    pub allowance: f64,
    /// From where the bend begins to the corner of the outside faces; `None` near a half turn.
    pub setback: Option<f64>,
    /// What a bend told to the outside takes off; `None` near a half turn.
    pub deduction: Option<f64>,
    /// Length of metal bent.
    pub length: f64,
    /// How the allowance was found, and by whose figures.
    pub basis: String,
}

/// A line across the flat pattern, square to the bends that it passes.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Legs and bends by turns, from one free edge to the other.
    pub rows: Vec<RunRow>,
    /// Sum of the legs as told.
    pub told: f64,
    /// What the bends take off that sum in all: for each, what it takes off the legs on its two sides, less its
    /// allowance.
    pub deducted: f64,
    /// Length on the flat: the first less the second, and the last running sum.
    pub flat_length: f64,
}

/// A row of a run.
#[derive(Clone, Debug, PartialEq)]
pub enum RunRow {
    /// A face that is crossed.
    Leg {
        /// Which face.
        face: String,
        /// Its size as told. Across a base whose far side has a bend that is not parallel: as far as it reaches flat.
        told: f64,
        /// What the bend before takes off it: its setback, where the size is told to the outside.
        taken_before: f64,
        /// What the bend after takes off it.
        taken_after: f64,
        /// What is left straight.
        straight: f64,
        /// Flat length so far.
        running: f64,
    },
    /// A bend that is crossed.
    Bend {
        /// Its number in the table.
        number: usize,
        /// What it adds.
        allowance: f64,
        /// Flat length so far.
        running: f64,
    },
}

/// Two directions whose sine is less than this are parallel.
const PARALLEL: f64 = 1e-9;

/// A face as a run crosses it: which bends it comes by and leaves by, and its size as told in between.
struct Crossing {
    face: usize,
    told: f64,
    by: [Option<usize>; 2],
}

impl Unfolding {
    /// The bend table of the part.
    #[must_use]
    pub fn table(&self) -> BendTable {
        let bends = self.bends.iter().enumerate().map(|(index, bend)| self.row(index, bend)).collect();
        let mut is_passed = vec![false; self.bends.len()];
        let mut runs = Vec::new();
        for face in 0..self.faces.len() {
            for bend in 0..self.bends.len() {
                if self.bends[bend].parent != face || is_passed[bend] {
                    continue;
                }
                let run = self.run_through(face, bend);
                for crossing in &run {
                    crossing.by.iter().flatten().for_each(|&bend| is_passed[bend] = true);
                }
                runs.push(self.sum(&run));
            }
        }
        BendTable { bends, runs }
    }

    fn row(&self, index: usize, bend: &FlatBend) -> BendRow {
        let figures = &bend.figures;
        BendRow {
            number: index + 1,
            face: self.faces[bend.face].name.clone(),
            parent: self.faces[bend.parent].name.clone(),
            turn: figures.bend.turn(),
            direction: bend.direction,
            inside_radius: figures.bend.radius(),
            k: figures.k,
            allowance: figures.allowance,
            setback: figures.outside_setback,
            deduction: figures.deduction,
            length: bend.length(),
            basis: bend.development.to_string(),
        }
    }

    /// The faces in a line through one face and out over one of its bends: from the far end inwards, across the face,
    /// and outwards over a bend on its opposite side, if there is one.
    fn run_through(&self, face: usize, bend: usize) -> Vec<Crossing> {
        let away = away(&self.bends[bend]);
        let opposite = self.bends.iter().position(|other| {
            other.parent == face && parallel(self::away(other), -away) && self.is_in_line(other, bend, away)
        });
        // The bend by which a flange itself is attached is opposite to one on its free edge.
        let own = face.checked_sub(1).filter(|&own| parallel(self::away(&self.bends[own]), away));
        let mut run = self.outwards(bend);
        run.reverse();
        for crossing in &mut run {
            crossing.by.reverse();
        }
        let edge = self.edge(bend);
        let told = match opposite {
            Some(other) => edge + self.edge(other),
            None => edge - self.far_side(face, away),
        };
        run.push(Crossing { face, told, by: [Some(bend), opposite.or(own)] });
        if let Some(other) = opposite {
            run.extend(self.outwards(other));
        }
        run
    }

    /// The faces beyond a bend in a straight line.
    fn outwards(&self, mut bend: usize) -> Vec<Crossing> {
        let mut run = Vec::new();
        loop {
            let face = self.bends[bend].face;
            let direction = away(&self.bends[bend]);
            let next = self.bends.iter().position(|next| {
                next.parent == face && parallel(away(next), direction) && self.is_in_line(next, bend, direction)
            });
            run.push(Crossing { face, told: self.faces[face].told_size.1, by: [Some(bend), next] });
            match next {
                Some(next) => bend = next,
                None => return run,
            }
        }
    }

    /// Whether some line across the flat in a direction passes both bends.
    fn is_in_line(&self, one: &FlatBend, other: usize, direction: Vector) -> bool {
        let across = |points: [Point; 2]| {
            let [a, b] = points.map(|point| direction.cross(point.to_vector()));
            (a.min(b), a.max(b))
        };
        let (a, b) = (across(one.start), across(self.bends[other].start));
        a.0.max(b.0) < a.1.min(b.1)
    }

    /// Where the parent's edge at a bend is told, along the direction away from the parent.
    fn edge(&self, bend: usize) -> f64 {
        let flat = &self.bends[bend];
        away(flat).dot(flat.start[0].to_vector()) + flat.edge_taken
    }

    /// Where the side of a face that lies against a direction is told, along that direction.
    fn far_side(&self, face: usize, direction: Vector) -> f64 {
        let flat = &self.faces[face];
        let mut told = Bounds::EMPTY;
        let mut with = |point: Point| told = told.with(Point::new(direction.dot(point.to_vector()), 0.0));
        if flat.parent.is_some() {
            let (width, height) = flat.told_size;
            for (x, y) in [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)] {
                with(flat.frame.to_flat(Point::new(x, y)));
            }
        } else {
            for segment in flat.region.exterior().segments() {
                (0..=8).for_each(|i| with(segment.at(f64::from(i) / 8.0)));
            }
        }
        told.min.x
    }

    fn sum(&self, run: &[Crossing]) -> Run {
        let mut rows = Vec::with_capacity(2 * run.len());
        let (mut running, mut told, mut deducted) = (0.0, 0.0, 0.0);
        for (index, crossing) in run.iter().enumerate() {
            let [taken_before, taken_after] = crossing.by.map(|bend| {
                bend.map_or(0.0, |bend| {
                    let flat = &self.bends[bend];
                    if flat.face == crossing.face { flat.own_taken } else { flat.edge_taken }
                })
            });
            let straight = crossing.told - taken_before - taken_after;
            running += straight;
            told += crossing.told;
            deducted += taken_before + taken_after;
            let face = self.faces[crossing.face].name.clone();
            rows.push(RunRow::Leg { face, told: crossing.told, taken_before, taken_after, straight, running });
            if index + 1 < run.len()
                && let Some(bend) = crossing.by[1]
            {
                let allowance = self.bends[bend].figures.allowance;
                running += allowance;
                deducted -= allowance;
                rows.push(RunRow::Bend { number: bend + 1, allowance, running });
            }
        }
        Run { rows, told, deducted, flat_length: running }
    }
}

/// Direction on the flat from a parent over a bend.
fn away(bend: &FlatBend) -> Vector {
    let along = (bend.start[1] - bend.start[0]).unit().unwrap_or(Vector::new(1.0, 0.0));
    -along.left()
}

fn parallel(one: Vector, other: Vector) -> bool {
    one.cross(other).abs() < PARALLEL && one.dot(other) > 0.0
}
