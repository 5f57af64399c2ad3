//! What each layer is for.

use std::collections::BTreeMap;

use super::words;

/// What is done with a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum LayerUse {
    /// Outlines and holes.
    Cut,
    /// Bend lines.
    Bend,
    /// Lines and words to be marked on the metal.
    Mark,
    /// Rust, dents and the like on drawn stock.
    Damage,
    /// Left out.
    Ignore,
}

/// Layers by name.
///
/// A caller's entry wins; it must match the whole name, upper and lower case alike. Then come words of the trade found
/// anywhere in the name ("PART-CUT", "Bend lines", "hole_10"). A layer that neither knows is cut, and named in a note:
/// many drawings have everything on layer 0 or on a layer called after its author.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LayerTable {
    named: BTreeMap<String, LayerUse>,
}

impl LayerTable {
    /// This table with one more entry of the caller's.
    #[must_use]
    pub fn with(mut self, layer: &str, layer_use: LayerUse) -> Self {
        self.named.insert(layer.trim().to_lowercase(), layer_use);
        self
    }

    /// What the caller says of a layer.
    pub(crate) fn told(&self, layer: &str) -> Option<LayerUse> {
        self.named.get(&layer.trim().to_lowercase()).copied()
    }

    /// What a layer is for; `None` when neither the caller nor the words of the trade know it.
    #[must_use]
    pub fn find(&self, layer: &str) -> Option<LayerUse> {
        self.told(layer).or_else(|| words::meaning(layer).map(|meaning| meaning.line_use))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_the_trade_are_known() {
        let table = LayerTable::default();
        for (name, expected) in [
            ("0", Some(LayerUse::Cut)),
            ("CUT", Some(LayerUse::Cut)),
            ("part-holes", Some(LayerUse::Cut)),
            ("BEND", Some(LayerUse::Bend)),
            ("Fold lines (up)", Some(LayerUse::Bend)),
            ("bend2", Some(LayerUse::Bend)),
            ("bend text", Some(LayerUse::Ignore)),
            ("ETCH", Some(LayerUse::Mark)),
            ("Defpoints", Some(LayerUse::Ignore)),
            ("unbendable", None),
            ("Layer1", None),
            ("", None),
        ] {
            assert_eq!(table.find(name), expected, "{name}");
        }
    }

    #[test]
    fn the_caller_wins_over_the_words() {
        let table = LayerTable::default().with("Bend", LayerUse::Cut).with("LAYER1", LayerUse::Mark);
        assert_eq!(table.find("BEND"), Some(LayerUse::Cut));
        assert_eq!(table.find("layer1"), Some(LayerUse::Mark));
        assert_eq!(table.find("bend lines"), Some(LayerUse::Bend), "the whole name must match");
    }
}
