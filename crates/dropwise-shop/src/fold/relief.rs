//! What is cut away at the end of a bend so that the sheet does not tear there.

/// Relief at the end of a bend.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Relief {
    /// Nothing is cut away: at an end beside which the parent goes on, the sheet tears.
    #[default]
    None,
    /// A slot with square corners beside the end; at a corner of two bends, a square cut into the parent.
    Rectangular(ReliefSize),
    /// A slot with a round bottom beside the end; at a corner, a hole about the point where the two bends begin.
    Round(ReliefSize),
    /// A hole drilled or sawn about the end of the bend line; at a corner, about the point where the bend lines cross.
    HoleSawn {
        /// Its diameter; by rule if none.
        diameter: Option<f64>,
    },
}

/// Size of a relief.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum ReliefSize {
    /// As wide as the sheet is thick, or as the kerf where that is wider, and [`RULE_MARGIN`] deeper than R + T past the
    /// bend line.
    #[default]
    Rule,
    /// By hand.
    Hand {
        /// Along the bend. At a corner of two bends it means nothing for a square; for a hole it is the diameter.
        width: f64,
        /// From the start of the bend into the parent.
        depth: f64,
    },
}

/// By how much a relief goes deeper than R + T past the bend line, mm.
///
/// # Source
/// Bend relief requirements: width half the thickness or more, depth R + T + 0.020 in (confirmed). Width as much as the
/// thickness: from memory.
pub const RULE_MARGIN: f64 = 0.508;

/// A relief with all its sizes, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum SizedRelief {
    /// Nothing.
    None,
    /// Width along the bend and depth from where the bend begins.
    Rectangular { width: f64, depth: f64 },
    /// The same, with a round bottom.
    Round { width: f64, depth: f64 },
    /// Radius.
    Hole { radius: f64 },
}

impl Relief {
    /// A slot with square corners, sized by rule.
    pub const RECTANGULAR: Self = Self::Rectangular(ReliefSize::Rule);
    /// A slot with a round bottom, sized by rule.
    pub const ROUND: Self = Self::Round(ReliefSize::Rule);
    /// A hole, sized by rule.
    pub const HOLE: Self = Self::HoleSawn { diameter: None };

    /// The sizes told by hand, with their names.
    pub(super) fn hand_sizes(self) -> Vec<(&'static str, f64)> {
        match self {
            Self::Rectangular(ReliefSize::Hand { width, depth }) | Self::Round(ReliefSize::Hand { width, depth }) => {
                vec![("width of the relief", width), ("depth of the relief", depth)]
            }
            Self::HoleSawn { diameter: Some(diameter) } => vec![("diameter of the relief hole", diameter)],
            _ => Vec::new(),
        }
    }

    /// All sizes, for a bend of this inside radius, thickness and allowance. `reach` is how far a hole must reach
    /// from its middle at least; no slot sized by rule is narrower than `least`.
    pub(super) fn sized(self, radius: f64, thickness: f64, allowance: f64, reach: f64, least: f64) -> SizedRelief {
        let past_bend_line = radius + thickness + RULE_MARGIN;
        let rule = (thickness.max(least), (past_bend_line - allowance / 2.0).max(RULE_MARGIN));
        let of = |size: ReliefSize| match size {
            ReliefSize::Rule => rule,
            ReliefSize::Hand { width, depth } => (width, depth),
        };
        match self {
            Self::None => SizedRelief::None,
            Self::Rectangular(size) => {
                let (width, depth) = of(size);
                SizedRelief::Rectangular { width, depth }
            }
            Self::Round(size) => {
                let (width, depth) = of(size);
                // The round bottom lies wholly past the start of the bend.
                SizedRelief::Round { width, depth: depth.max(width / 2.0) }
            }
            Self::HoleSawn { diameter } => {
                let radius = diameter.map_or(past_bend_line.max(reach + RULE_MARGIN), |diameter| diameter / 2.0);
                SizedRelief::Hole { radius }
            }
        }
    }
}
