//! Sizes of paper.

use dropwise_geometry::Vector;

/// What is in the printer.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    A4,
    /// 297 × 420 mm (ISO 216).
    A3,
    /// 8 1/2 × 11 in (ANSI/ASME Y14.1, size A).
    Letter,
    /// A roll of this width, mm, cut to length after printing.
    Roll {
        /// Its width, mm.
        width: f64,
    },
}

/// The longest page that every reader opens, mm: 14,400 units (ISO 32000-1, annex C), less a hair.
pub(super) const LONGEST_PAGE: f64 = 5000.0;

impl Paper {
    /// Its name.
    #[must_use]
    pub fn name(self) -> String {
        match self {
            Self::A4 => "A4".to_owned(),
            Self::A3 => "A3".to_owned(),
            Self::Letter => "Letter".to_owned(),
            Self::Roll { width } => format!("roll {width} mm wide"),
        }
    }

    /// Width and height of an upright page, mm; `None` for a roll.
    #[must_use]
    pub fn size(self) -> Option<Vector> {
        match self {
            Self::A4 => Some(Vector::new(210.0, 297.0)),
            Self::A3 => Some(Vector::new(297.0, 420.0)),
            Self::Letter => Some(Vector::new(8.5 * 25.4, 11.0 * 25.4)),
            Self::Roll { .. } => None,
        }
    }
}
