//! Dies that flare the edge of a hole.

/// A pair of dies that presses the edge of a round hole into a flange: stiffer, and no edge to cut at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlaringDie {
    /// Hole that it is for, as it is sold.
    pub hole: f64,
    /// Diameter over the flare.
    pub outside: f64,
    /// How high the flare stands.
    pub depth: f64,
    /// The thickest sheet it flares, if the shop says so.
    pub thickest: Option<f64>,
}

impl FlaringDie {
    /// How much larger than its nominal size the hole is cut first.
    ///
    /// # Source
    /// "Dimple Dies Make Stronger Panels": about 0.030 in over the die's nominal hole.
    pub const OVERSIZE: f64 = 0.030 * 25.4;

    /// A die of which only the hole is known: half an inch larger over the flare, 3/16 in deep.
    ///
    /// # Source
    /// One home-made pair, 1.5 in to 2.0 in, 3/16 in deep ("Dimpling thread"); the rule for holes of 1 to 3 in is from
    /// memory.
    #[must_use]
    pub const fn by_rule(hole: f64) -> Self {
        Self { hole, outside: hole + 12.7, depth: 3.0 / 16.0 * 25.4, thickest: None }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// "Dimpling thread": 1.5 in hole, 2.0 in outside, about 3/16 in deep.
    #[test]
    fn the_rule_gives_the_published_pair() {
        let die = FlaringDie::by_rule(1.5 * 25.4);
        assert!((die.outside - 2.0 * 25.4).abs() < 1e-9 && (die.depth - 0.1875 * 25.4).abs() < 1e-9);
        // "Dimple Dies Make Stronger Panels": 0.030 in over.
        assert!((FlaringDie::OVERSIZE / 25.4 - 0.030).abs() < 1e-12);
    }
}
