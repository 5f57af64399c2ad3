//! Test strips as written.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::bent::ToldWord;
use super::values::Length;

/// Bent test strips. Each gives the shop's own K-factor for its metal, thickness and die.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "test strips", extend("additionalProperties" = false))]
pub struct StripFile {
    /// The unit of bare numbers in this file. When left out, that of the job which names it.
    #[schemars(extend("examples" = ["mm"]))]
    pub unit: Option<String>,
    /// The strips: a `[[strips]]` table for each.
    #[schemars(length(min = 1, max = 10000), extend("examples" = [[{"material": "mild steel", "thickness": 1.5, "die": 12, "inside_radius": 2, "flat_length": 100, "legs": [51.4, 51.5]}]]))]
    pub strips: Vec<StripKeys>,
}

/// A strip that was cut, measured flat, bent once near its middle, and measured again.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct StripKeys {
    /// Its metal, with its temper where that matters.
    #[schemars(extend("examples" = ["mild steel"]))]
    pub material: String,
    /// Its thickness by a micrometer, not as its gauge says.
    #[schemars(extend("examples" = ["1.52 mm"]))]
    pub thickness: Length,
    /// Opening of the V die it was bent in.
    #[schemars(extend("examples" = ["12 mm"]))]
    pub die: Length,
    /// Inside radius of the bend by a radius gauge.
    #[schemars(extend("examples" = ["2 mm"]))]
    pub inside_radius: Length,
    /// By how many degrees the strip was turned: 180 less what a protractor reads between its legs. When left out, 90.
    #[schemars(range(min = 1.0, max = 180.0), extend("examples" = [90]))]
    pub angle: Option<f64>,
    /// Its length before the bend.
    #[schemars(extend("examples" = ["100 mm"]))]
    pub flat_length: Length,
    /// Both its legs after the bend.
    #[schemars(length(equal = 2), extend("examples" = [["51.4 mm", "51.5 mm"]]))]
    pub legs: Vec<Length>,
    /// From where the legs were measured. When left out, `outside`. A bend line cannot be measured to.
    #[schemars(extend("examples" = ["inside"]))]
    pub told: Option<ToldWord>,
    /// Date, heat number or whatever else helps.
    #[schemars(extend("examples" = ["second coil of the year"]))]
    pub note: Option<String>,
}
