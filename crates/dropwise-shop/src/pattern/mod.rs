//! Flat patterns from dimensions: an outline by its sizes, and what is cut out of it by dimensions from an edge or from
//! the middle.
//!
//! Bends are no concern of this module: a pattern is flat already. All lengths are millimetres, angles degrees
//! counter-clockwise, y up. Arcs stay arcs.
//!
//! # Examples
//! ```
//! use dropwise_shop::pattern::{Base, Corner, Cut, Feature, FromX, FromY, Pattern, Position};
//! // A 60 x 40 plate with corners of radius 5 and one 9 mm hole, 12 mm in from the right and from the top.
//! let pattern = Pattern {
//!     base: Base::rectangle(60.0, 40.0, Corner::Radius(5.0)),
//!     features: vec![Feature {
//!         position: Position::new(FromX::Right(12.0), FromY::Top(12.0)),
//!         cut: Cut::Hole { diameter: 9.0 },
//!     }],
//! };
//! let flat = pattern.build()?;
//! assert_eq!((flat.holes[0].center.x, flat.holes[0].center.y), (48.0, 28.0));
//! # Ok::<(), dropwise_shop::pattern::PatternErrors>(())
//! ```

mod base;
mod checks;
mod corner;
mod error;
mod feature;
mod sizes;
#[cfg(test)]
mod tests;

use std::fmt;

use dropwise_geometry::{Point, Shape};

pub use base::{Base, BaseKind, Tip};
pub use corner::{Corner, PolygonCorner};
pub(crate) use corner::{SAME_POINT, outline_with_corners};
pub use error::{
    HoleNumber, LARGEST_LENGTH, MOST_CORNERS, MOST_HOLES, MOST_OPENINGS, PatternError, SMALLEST_LENGTH, Subject,
};
pub use feature::{Cut, Feature, FeatureKind, FromX, FromY, Position, RowAnchor, Spacing};

/// A part by its dimensions.
#[derive(Clone, Debug, PartialEq)]
pub struct Pattern {
    /// The outline it starts from.
    pub base: Base,
    /// What is cut out of it.
    pub features: Vec<Feature>,
}

/// A flat part, ready to be nested and marked out.
#[derive(Clone, Debug, PartialEq)]
pub struct FlatPattern {
    /// Its shape. The base's own bore comes first among the holes, then the features in order.
    pub shape: Shape,
    /// Its round holes, smallest first and in order of features within a size: a table for marking out.
    pub holes: Vec<RoundHole>,
}

/// A round hole of a flat part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoundHole {
    /// Its diameter, mm.
    pub diameter: f64,
    /// Its centre, mm, in the part's own frame.
    pub center: Point,
    /// Index of the feature it belongs to; `None` for the bore of a ring.
    pub feature: Option<usize>,
}

/// All faults found in a pattern: at least one. Those of the base come first, then those of each feature, then
/// overlaps.
#[derive(Clone, Debug, PartialEq)]
pub struct PatternErrors(Vec<PatternError>);

impl PatternErrors {
    /// The faults, in order.
    #[must_use]
    pub fn errors(&self) -> &[PatternError] {
        &self.0
    }
}

impl IntoIterator for PatternErrors {
    type Item = PatternError;
    type IntoIter = std::vec::IntoIter<PatternError>;
    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}

impl fmt::Display for PatternErrors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, error) in self.0.iter().enumerate() {
            if i > 0 {
                f.write_str("\n")?;
            }
            write!(f, "{error}")?;
        }
        Ok(())
    }
}

impl std::error::Error for PatternErrors {}

impl Pattern {
    /// A pattern with nothing cut out.
    #[must_use]
    pub const fn plain(base: Base) -> Self {
        Self { base, features: Vec::new() }
    }

    /// The flat part. Its exterior runs counter-clockwise and its holes clockwise, whichever way the base was given.
    ///
    /// # Errors
    /// Everything that is wrong, as far as one fault does not hide another: sizes of the base and of each feature
    /// first. Where the base is sound, also each sound feature that is larger than the part, outside it or through its
    /// edge, and each pair of features that overlap. Holes that touch an edge or each other count as too near.
    ///
    /// # Cost
    /// O(n log n) for n holes spread out; O(n²) cheap comparisons when all stand in one column.
    pub fn build(&self) -> Result<FlatPattern, PatternErrors> {
        let mut errors = Vec::new();
        let base = self.checked_base(&mut errors);
        // Checked one by one, so that a sound feature is placed although another is not.
        let sound: Vec<bool> = self
            .features
            .iter()
            .enumerate()
            .map(|(index, feature)| {
                let before = errors.len();
                sizes::check_feature(index, feature, &mut errors);
                errors.len() == before
            })
            .collect();
        let sound_features = || self.features.iter().enumerate().filter(|(index, _)| sound[*index]);
        let found: usize = sound_features().map(|(_, feature)| feature.cut.count()).sum();
        if found > MOST_OPENINGS {
            errors.push(PatternError::TooManyOpenings { found });
            return Err(PatternErrors(errors));
        }
        let Some(base) = base else { return Err(PatternErrors(errors)) };
        let openings: Vec<feature::Opening> =
            sound_features().flat_map(|(index, feature)| feature::openings(index, feature, base.bounds())).collect();
        checks::check_inside(&base, &openings, &self.features, &mut errors);
        checks::check_apart(&openings, &self.features, &mut errors);
        if !errors.is_empty() {
            return Err(PatternErrors(errors));
        }
        let bore = match self.base {
            Base::Ring { inner_diameter, .. } => {
                Some(RoundHole { diameter: inner_diameter, center: base.bounds().center(), feature: None })
            }
            _ => None,
        };
        let mut holes: Vec<RoundHole> = bore
            .into_iter()
            .chain(openings.iter().filter_map(|opening| {
                let (center, feature) = (opening.center, Some(opening.feature));
                opening.diameter.map(|diameter| RoundHole { diameter, center, feature })
            }))
            .collect();
        holes.sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
        let rings = base.holes().iter().cloned().chain(openings.into_iter().map(|opening| opening.outline)).collect();
        Ok(FlatPattern { shape: Shape::new(base.exterior().clone(), rings), holes })
    }

    /// The base, unless something is wrong with it.
    fn checked_base(&self, errors: &mut Vec<PatternError>) -> Option<Shape> {
        sizes::check_base(&self.base, errors);
        if !errors.is_empty() {
            return None;
        }
        let Ok(shape) = self.base.shape() else { return None };
        if let Base::Polygon { corners } = &self.base {
            checks::check_straight_sides(corners, errors);
        }
        // A radius may sweep over a side far along the outline even where the straight sides kept clear.
        if errors.is_empty()
            && let Some(corners) = self.base.corners()
            && corners.iter().any(|corner| corner.corner != Corner::Sharp)
            && let Some((_, _, at)) = checks::self_crossing(shape.exterior())
        {
            errors.push(PatternError::RoundedSelfCrossing { subject: Subject::Base(self.base.kind()), at });
        }
        errors.is_empty().then_some(shape)
    }
}
