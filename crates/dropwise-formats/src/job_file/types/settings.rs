//! The rules of a job as written.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::values::{Length, Price, Worth};

/// How far apart things must lie. What is not given comes from the process; without a process, it must be given.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct ClearanceKeys {
    /// How the parts are cut: `cutoff wheel`, `bandsaw`, `jigsaw`, `shear`, `plasma`, `oxy-fuel`, `laser`, `waterjet`
    /// or `nibbler`. With `cutoff wheel` and `bandsaw` each line is set up by hand: parts are then laid square, face up and in
    /// lines.
    #[schemars(extend("examples" = ["cutoff wheel"]))]
    pub process: Option<String>,
    /// Width of the cut.
    #[schemars(extend("examples" = ["1.5 mm"]))]
    pub kerf: Option<Length>,
    /// Least distance between two parts, at least the kerf.
    #[schemars(extend("examples" = ["1/8 in"]))]
    pub web: Option<Length>,
    /// Least distance from a part to the edge of its sheet, to a hole in it, or to damage.
    #[schemars(extend("examples" = ["5 mm"]))]
    pub margin: Option<Length>,
}

/// What is worth putting back into the rack. When left out, what a rectangle of 300 x 300 mm fits on (12 x 12 in when
/// the job's unit is inches or feet); that size is from memory, no published standard is known.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct LeftoverKeys {
    /// Longer side of the smallest rectangle worth keeping. When left out, 300 mm or 12 in.
    #[schemars(extend("examples" = ["400 mm"]))]
    pub length: Option<Length>,
    /// Its shorter side. When left out, 300 mm or 12 in, or the length if that is less.
    #[schemars(extend("examples" = ["200 mm"]))]
    pub width: Option<Length>,
    /// Tongues and necks narrower than this are trimmed off. When left out, a third of the shorter side (our choice).
    #[schemars(extend("examples" = ["60 mm"]))]
    pub neck: Option<Length>,
    /// What leftovers are worth. When left out, nothing.
    #[schemars(extend("examples" = ["0.20 per lb"]))]
    pub worth: Option<Worth>,
}

/// What work costs and what scrap brings. What is left out costs or brings nothing.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct RateKeys {
    /// Cutting, by the length of the cut.
    #[schemars(extend("examples" = ["1.20 per m"]))]
    pub cutting: Option<Price>,
    /// Cutting by the hour instead, together with `cutting_speed`.
    #[schemars(range(min = 0.0, max = 1.0e6), extend("examples" = [45.0]))]
    pub cutting_hour: Option<f64>,
    /// The length cut in a minute.
    #[schemars(extend("examples" = ["1.5 m"]))]
    pub cutting_speed: Option<Length>,
    /// A bend.
    #[schemars(range(min = 0.0, max = 1.0e6), extend("examples" = [0.75]))]
    pub bend: Option<f64>,
    /// A drilled hole.
    #[schemars(range(min = 0.0, max = 1.0e6), extend("examples" = [0.4]))]
    pub hole: Option<f64>,
    /// Setting up, once for all pieces of a part.
    #[schemars(range(min = 0.0, max = 1.0e6), extend("examples" = [5.0]))]
    pub setup: Option<f64>,
    /// What scrap is sold for.
    #[schemars(extend("examples" = ["0.10 per lb"]))]
    pub scrap: Option<Worth>,
}

/// A rule for weights.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(inline)]
pub enum WeightWord {
    /// Thickness times density.
    #[default]
    #[serde(rename = "true density")]
    TrueDensity,
    /// The weight printed for the gauge.
    #[serde(rename = "gauge book")]
    GaugeBook,
}

/// A class of ISO 2768-1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(inline)]
pub enum ToleranceWord {
    /// f.
    Fine,
    /// m.
    Medium,
    /// c.
    Coarse,
    /// v.
    #[serde(rename = "very coarse")]
    VeryCoarse,
}
