//! How freely the search picks what to start again from.

/// A temperature that falls geometrically over the search: at first worse layouts are taken up nearly as readily as the
/// best, at last hardly ever.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Cooling {
    /// At the start. Warmer: failures far from success are worked on for long.
    pub(crate) first: f64,
    /// At the end. Colder: the best failure is worked on again and again.
    pub(crate) last: f64,
}

impl Default for Cooling {
    fn default() -> Self {
        Self { first: 0.4, last: 0.15 }
    }
}

impl Cooling {
    /// The temperature when this share of the search, 0 to 1, is done.
    pub(crate) fn at(self, progress: f64) -> f64 {
        self.first * (self.last / self.first).powf(progress.clamp(0.0, 1.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_falls_from_first_to_last() {
        let cooling = Cooling { first: 0.4, last: 0.1 };
        assert_eq!(cooling.at(0.0), 0.4);
        assert!((cooling.at(0.5) - 0.2).abs() < 1e-12);
        assert!((cooling.at(2.0) - 0.1).abs() < 1e-12);
    }
}
