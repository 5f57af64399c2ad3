//! Colour and weight of text on a terminal. Neither ever carries meaning alone.

/// Marks text up, or leaves it plain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Ink {
    is_coloured: bool,
}

impl Ink {
    pub(crate) const fn new(is_coloured: bool) -> Self {
        Self { is_coloured }
    }

    pub(crate) const fn plain() -> Self {
        Self { is_coloured: false }
    }

    /// Headings and names.
    pub(crate) fn strong(self, text: &str) -> String {
        self.marked("1", text)
    }

    /// Something is wrong. Magenta keeps apart from the rest for those who see red and green alike.
    pub(crate) fn wrong(self, text: &str) -> String {
        self.marked("1;35", text)
    }

    /// Something may be wrong.
    pub(crate) fn doubtful(self, text: &str) -> String {
        self.marked("1;33", text)
    }

    /// What to do.
    pub(crate) fn helpful(self, text: &str) -> String {
        self.marked("36", text)
    }

    /// Select Graphic Rendition of ECMA-48, ended by a reset.
    fn marked(self, code: &str, text: &str) -> String {
        if self.is_coloured { format!("\x1b[{code}m{text}\x1b[0m") } else { text.to_owned() }
    }
}
