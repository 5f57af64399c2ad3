//! Checks of a bent part's numbers, each for itself, before any geometry.

use std::collections::BTreeSet;

use crate::bend::{Bend, BendFigures, Development};
use crate::pattern::{Corner, LARGEST_LENGTH, SAME_POINT};

use super::error::{BentError, MOST_BENDS_IN_A_ROW, MOST_FACES};
use super::part::{BentPart, CornerJoin, Flange, Join, Notch, Turn};
use super::relief::Relief;

/// A bend whose figures are known.
#[derive(Clone, Copy, Debug)]
pub(super) struct SoundBend {
    /// Its figures.
    pub(super) figures: BendFigures,
    /// From where the parent's edge is told to where the bend begins.
    pub(super) edge_taken: f64,
    /// From where the height is told to where the bend ends.
    pub(super) own_taken: f64,
}

impl SoundBend {
    pub(super) fn turn_sin_cos(&self) -> (f64, f64) {
        dropwise_geometry::sin_cos_deg(self.figures.bend.turn())
    }
}

/// A flange with its numbers checked.
#[derive(Debug)]
pub(super) struct Checked<'a> {
    pub(super) flange: &'a Flange,
    /// Its bend, and how its flat length is found; `None` where something is wrong with it.
    pub(super) bend: Option<(SoundBend, Development)>,
    pub(super) children: Vec<Checked<'a>>,
}

/// What all checks of a part share.
pub(super) struct Checker<'a> {
    pub(super) part: &'a BentPart,
    pub(super) development: &'a dyn Fn(&Bend) -> Development,
    pub(super) errors: Vec<BentError>,
    names: BTreeSet<&'a str>,
    faces: usize,
}

impl<'a> Checker<'a> {
    pub(super) fn new(part: &'a BentPart, development: &'a dyn Fn(&Bend) -> Development) -> Self {
        let names = BTreeSet::from([part.base_name.as_str()]);
        Self { part, development, errors: Vec::new(), names, faces: 1 }
    }

    /// The part's flanges, checked. The number of faces stays within bounds.
    pub(super) fn part(&mut self) -> Vec<Checked<'a>> {
        let part = self.part;
        let base = &part.base_name;
        // One bend stands for the part's own numbers: faults of those are told once, not with every flange.
        if let Err(error) = Bend::new(part.thickness, part.inside_radius, 90.0) {
            self.errors.push(BentError::Bend { face: base.clone(), error });
            return Vec::new();
        }
        self.relief(base, part.relief);
        self.relief(base, part.corner_relief);
        self.join(base, part.join);
        self.around(base, &part.notches, &part.corners);
        let checked = self.flanges(base, &part.flanges, 1);
        if self.faces > MOST_FACES {
            self.errors.push(BentError::TooManyFaces { found: self.faces });
        }
        checked
    }

    fn flanges(&mut self, parent: &str, flanges: &'a [Flange], depth: usize) -> Vec<Checked<'a>> {
        self.faces = self.faces.saturating_add(flanges.len());
        if self.faces > MOST_FACES {
            return Vec::new();
        }
        flanges.iter().map(|flange| self.flange(parent, flange, depth)).collect()
    }

    fn flange(&mut self, parent: &str, flange: &'a Flange, depth: usize) -> Checked<'a> {
        let name = &flange.name;
        if name.trim().is_empty() {
            self.errors.push(BentError::NoName { parent: parent.to_owned() });
        } else if !self.names.insert(name) {
            self.errors.push(BentError::NameTwice { face: name.clone() });
        }
        if depth > MOST_BENDS_IN_A_ROW {
            self.errors.push(BentError::TooDeep { face: name.clone() });
            return Checked { flange, bend: None, children: Vec::new() };
        }
        let bend = self.bend(flange);
        for end in flange.ends.into_iter().flatten() {
            let mut wrong = |what, value: f64| self.errors.push(BentError::EndCut { face: name.clone(), what, value });
            if !(0.0..=LARGEST_LENGTH).contains(&end.set_back) {
                wrong("set-back", end.set_back);
            }
            if !(-89.0..=89.0).contains(&end.slant_deg) {
                wrong("slant", end.slant_deg);
            }
        }
        for corner in flange.free_corners {
            match corner {
                Corner::Sharp => {}
                Corner::Radius(size) => {
                    self.size(name, "radius of a corner", size);
                }
                Corner::Chamfer(size) => {
                    self.size(name, "chamfer of a corner", size);
                }
            }
        }
        if let Some(relief) = flange.relief {
            self.relief(name, relief);
        }
        self.around(name, &flange.notches, &flange.corners);
        Checked { flange, bend, children: self.flanges(name, &flange.flanges, depth + 1) }
    }

    /// The figures of a flange's bend, unless something is wrong with it.
    fn bend(&mut self, flange: &Flange) -> Option<(SoundBend, Development)> {
        let face = &flange.name;
        let before = self.errors.len();
        self.size(face, "height", flange.height);
        let (turn, radius) = match flange.turn {
            Turn::Angle(angle) => {
                if angle >= 180.0 {
                    self.errors.push(BentError::HalfTurn { face: face.clone(), angle });
                } else if angle.is_nan() || angle <= 0.0 {
                    self.errors.push(BentError::Angle { face: face.clone(), angle });
                }
                let radius = flange.inside_radius.unwrap_or(self.part.inside_radius);
                if radius == 0.0 && !self.part.is_sharp_allowed {
                    self.errors.push(BentError::ZeroRadius { face: face.clone() });
                }
                (angle, radius)
            }
            Turn::ClosedHem => (180.0, 0.0),
            Turn::OpenHem { gap } => {
                self.size(face, "gap of the hem", gap);
                (180.0, gap / 2.0)
            }
            Turn::TeardropHem { radius } => {
                if self.size(face, "radius of the hem", radius) && flange.height <= radius {
                    self.errors.push(BentError::TeardropShort {
                        face: face.clone(),
                        found: flange.height,
                        wanted: radius,
                    });
                }
                // Past 180° by d the leaf's end lies at R (1 + cos d) - leaf sin d above the sheet: zero where
                // tan(d/2) = R / leaf.
                (180.0 + 2.0 * (radius / flange.height).atan().to_degrees(), radius)
            }
        };
        if self.errors.len() > before {
            return None;
        }
        let figures = Bend::new(self.part.thickness, radius, turn).and_then(|bend| {
            let development = flange.development.clone().unwrap_or_else(|| (self.development)(&bend));
            let figures = bend.figures(&development)?;
            let taken = |datum| bend.taken(datum, figures.allowance);
            let own = if matches!(flange.turn, Turn::TeardropHem { .. }) { 0.0 } else { taken(flange.datum)? };
            Ok((SoundBend { figures, edge_taken: taken(flange.edge_datum)?, own_taken: own }, development))
        });
        match figures {
            Err(error) => {
                self.errors.push(BentError::Bend { face: face.clone(), error });
                None
            }
            Ok((bend, _)) if bend.own_taken >= flange.height - SAME_POINT => {
                let (found, wanted) = (flange.height, bend.own_taken);
                self.errors.push(BentError::ShorterThanSetback { face: face.clone(), found, wanted });
                None
            }
            Ok(bend) => Some(bend),
        }
    }

    fn around(&mut self, face: &str, notches: &[Notch], corners: &[CornerJoin]) {
        for notch in notches {
            for value in notch.form.size() {
                self.size(face, "size of a notch", value);
            }
        }
        for corner in corners {
            self.join(face, corner.join);
            if let Some(relief) = corner.relief {
                self.relief(face, relief);
            }
        }
    }

    fn relief(&mut self, face: &str, relief: Relief) {
        for (what, value) in relief.hand_sizes() {
            self.size(face, what, value);
        }
    }

    fn join(&mut self, face: &str, join: Join) {
        match join {
            Join::Butted { gap } | Join::Overlapped { gap, .. } | Join::Mitred { gap } if gap != 0.0 => {
                self.size(face, "gap of a corner", gap);
            }
            _ => {}
        }
    }

    /// Whether a size is usable; reported when not. No range contains NaN.
    fn size(&mut self, face: &str, what: &'static str, value: f64) -> bool {
        let is_good = value > 0.0 && value <= LARGEST_LENGTH;
        if !is_good {
            self.errors.push(BentError::Size { face: face.to_owned(), what, value });
        }
        is_good
    }
}
