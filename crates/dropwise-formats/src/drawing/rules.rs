//! What a line is for, by its layer, its colour and its line type.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::colours::{Colour, ColourChoice};
use super::layers::{LayerTable, LayerUse};
use super::words::{self, TypeMeaning};

/// What the caller says of layers, colours and line types.
///
/// A line that any list leaves out is left out. Otherwise its colour counts before its line type, and that before its
/// layer. What no list names is told by the words in its layer's name, then by its line type. When colours to cut are
/// named, lines of other colours that no list names are left out.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LineRules {
    pub(crate) layers: LayerTable,
    colours: Vec<(ColourChoice, LayerUse)>,
    line_types: BTreeMap<String, LayerUse>,
}

/// How a line looks: all that tells what it is for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct LineLook {
    pub(crate) layer: Arc<str>,
    /// `None` when it has none that could be named, such as a gradient.
    pub(crate) colour: Option<Colour>,
    /// Name of the line type; `None` for a plain line.
    pub(crate) line_type: Option<Arc<str>>,
    /// Whether the line type is that of its layer, not its own.
    pub(crate) is_type_of_layer: bool,
    /// Whether the drawing hides its layer.
    pub(crate) is_hidden: bool,
}

/// Why a line is used as it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Why {
    /// The caller says so.
    Told,
    /// A word in the layer's name.
    Word,
    /// A word in the layer's name that also names parts.
    WeakWord,
    /// The line type.
    LineType,
    /// A dashed line: a bend line if it runs from edge to edge.
    Dashed,
    /// Nothing is known of its layer.
    Unknown,
    /// Its layer is switched off.
    Hidden,
    /// Other colours are cut.
    OtherColour,
}

impl LineRules {
    /// These rules with one more layer, by its whole name, upper and lower case alike.
    #[must_use]
    pub fn with_layer(mut self, name: &str, line_use: LayerUse) -> Self {
        self.layers = self.layers.with(name, line_use);
        self
    }

    /// These rules with one more colour.
    #[must_use]
    pub fn with_colour(mut self, colour: ColourChoice, line_use: LayerUse) -> Self {
        self.colours.push((colour, line_use));
        self
    }

    /// These rules with one more line type, by its whole name, upper and lower case alike.
    #[must_use]
    pub fn with_line_type(mut self, name: &str, line_use: LayerUse) -> Self {
        self.line_types.insert(name.trim().to_lowercase(), line_use);
        self
    }

    pub(crate) fn decide(&self, look: &LineLook, is_stock: bool) -> (LayerUse, Why) {
        if look.is_hidden {
            return (LayerUse::Ignore, Why::Hidden);
        }
        let of_colour = |colour: Colour| self.colours.iter().find(|(choice, _)| choice.is(colour)).map(|&(_, is)| is);
        let told = [
            look.colour.and_then(of_colour),
            look.line_type.as_ref().and_then(|name| self.line_types.get(&name.trim().to_lowercase()).copied()),
            self.layers.told(&look.layer),
        ];
        if told.contains(&Some(LayerUse::Ignore)) {
            return (LayerUse::Ignore, Why::Told);
        }
        if let Some(line_use) = told.into_iter().flatten().next() {
            return (line_use, Why::Told);
        }
        if self.colours.iter().any(|&(_, line_use)| line_use == LayerUse::Cut) {
            return (LayerUse::Ignore, Why::OtherColour);
        }
        if is_stock && words::is_of_damage(&look.layer) {
            return (LayerUse::Damage, Why::Word);
        }
        let of_layer = words::meaning(&look.layer);
        let of_type = look.line_type.as_deref().and_then(words::line_type_meaning);
        // A layer named for cutting is believed against the line type it was given as a whole.
        let is_sure = of_layer
            .is_some_and(|found| found.line_use != LayerUse::Cut || (found.is_cutting && look.is_type_of_layer));
        match (of_layer, of_type) {
            (_, Some(TypeMeaning::Centre)) if !is_sure => (LayerUse::Ignore, Why::LineType),
            (_, Some(TypeMeaning::Dashed)) if !is_sure => (LayerUse::Ignore, Why::Dashed),
            (Some(found), _) if found.is_weak && found.line_use == LayerUse::Ignore => {
                (LayerUse::Ignore, Why::WeakWord)
            }
            (Some(found), _) => (found.line_use, Why::Word),
            (None, _) => (LayerUse::Cut, Why::Unknown),
        }
    }
}
