//! Benders without punch and die: leaf brakes, box-and-pan brakes, a vise with bars.

use crate::source::Source;

/// What kind of bender it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BenderKind {
    /// A leaf brake: a bar clamps the sheet along its whole length, a leaf swings the flange up.
    Leaf,
    /// A leaf brake whose clamping bar is made of fingers, so that walls may stand beside the bend.
    BoxAndPan,
    /// Two bars in a vise; the flange is driven over with a block and a mallet.
    Vise,
}

/// A bender that swings or drives the flange around the edge of a bar. Lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Bender {
    /// What it is called.
    pub name: String,
    /// Its kind.
    pub kind: BenderKind,
    /// The longest bend in mild steel of each thickness: thickness and length, the thinnest first.
    pub capacity: Vec<(f64, f64)>,
    /// The shortest flange that its leaf, or whoever drives it over, gets hold of, to the outside.
    pub least_flange: f64,
    /// The least that must lie under the bar, from the line where the bend begins.
    pub least_clamped: f64,
    /// How far the bar reaches back from its nose: what stands up on the clamped side nearer than this is in its way.
    pub behind: f64,
    /// How high the bar, or its fingers, stand over the sheet: walls beside the bend are at most as high between fingers, and a
    /// flange that swings over the bar must clear it.
    pub above: f64,
    /// Width of the leaf: what hangs down on its side is in its way nearer than this.
    pub leaf: f64,
    /// Widths of the fingers; none but of a box-and-pan brake.
    pub fingers: Vec<f64>,
    /// The farthest it bends, degrees.
    pub most_turn: f64,
    /// Where the figures come from.
    pub source: Source,
}

impl Bender {
    /// A leaf brake for thin sheet: 1 m in 1 mm, half of it in 1.5 mm. Common practice, no source.
    #[must_use]
    pub fn usual_leaf() -> Self {
        Self {
            name: "leaf brake".to_owned(),
            kind: BenderKind::Leaf,
            capacity: vec![(0.8, 1250.0), (1.0, 1000.0), (1.5, 500.0)],
            least_flange: 10.0,
            least_clamped: 20.0,
            behind: 60.0,
            above: 50.0,
            leaf: 50.0,
            fingers: Vec::new(),
            most_turn: 135.0,
            source: Source::COMMON_PRACTICE,
        }
    }

    /// A box-and-pan brake: 610 mm in 1.2 mm, 300 in 1.6, fingers of 25 to 100 mm that make boxes 75 deep. Common practice, no
    /// source.
    #[must_use]
    pub fn usual_box_and_pan() -> Self {
        Self {
            name: "box-and-pan brake".to_owned(),
            kind: BenderKind::BoxAndPan,
            capacity: vec![(1.2, 610.0), (1.6, 300.0)],
            behind: 40.0,
            above: 75.0,
            fingers: vec![100.0, 100.0, 100.0, 75.0, 75.0, 50.0, 50.0, 35.0, 25.0],
            ..Self::usual_leaf()
        }
    }

    /// Two angle bars in a vise: 250 mm in 2 mm, 120 in 3, by mallet and block. Common practice, no source.
    #[must_use]
    pub fn usual_vise() -> Self {
        Self {
            name: "vise with bars".to_owned(),
            kind: BenderKind::Vise,
            capacity: vec![(1.5, 300.0), (2.0, 250.0), (3.0, 120.0)],
            least_flange: 15.0,
            least_clamped: 25.0,
            behind: 40.0,
            above: 10.0,
            leaf: 0.0,
            fingers: Vec::new(),
            most_turn: 95.0,
            source: Source::COMMON_PRACTICE,
        }
    }

    /// The longest bend in sheet as hard to bend as mild steel of this thickness; zero where it is too thick.
    #[must_use]
    pub fn longest(&self, thickness: f64) -> f64 {
        // Thicknesses that came through inches may lie a hair above a row.
        self.capacity.iter().find(|(up_to, _)| thickness <= up_to + 1e-6).map_or(0.0, |&(_, length)| length)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_length_goes_with_the_thickness() {
        let brake = Bender::usual_leaf();
        assert_eq!([0.7, 0.8, 0.9, 1.5, 2.0].map(|t| brake.longest(t)), [1250.0, 1250.0, 1000.0, 500.0, 0.0]);
        for bender in [Bender::usual_leaf(), Bender::usual_box_and_pan(), Bender::usual_vise()] {
            assert!(bender.capacity.windows(2).all(|pair| pair[0].0 < pair[1].0 && pair[0].1 >= pair[1].1));
        }
    }
}
