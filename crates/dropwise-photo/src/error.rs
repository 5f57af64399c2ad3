//! Why a photograph could not be read, and what to do when photographing again.

use thiserror::Error;

/// Why no outline came of a photograph. [`PhotoError::cure`] says what to do.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum PhotoError {
    /// It cannot be read from the disk.
    #[error("the photograph cannot be read: {0}")]
    Unreadable(String),
    /// Neither JPEG nor PNG.
    #[error("this is no photograph: the file is neither JPEG nor PNG")]
    NoPicture,
    /// It begins like a picture and is damaged further on.
    #[error("the picture is damaged: {0}")]
    Damaged(String),
    /// The end is missing.
    #[error("the picture is cut short: the end of the file is missing")]
    CutShort,
    /// More pixels or bytes than are read.
    #[error("the picture is too large: {width} x {height} pixels are {} megapixels", width.saturating_mul(*height).div_ceil(1_000_000))]
    TooLarge {
        /// Pixels across.
        width: u64,
        /// Pixels down.
        height: u64,
    },
    /// A file of more bytes than a photograph has.
    #[error("the file is too large: {0} megabytes")]
    FileTooLarge(u64),
    /// Fewer pixels than can be measured in.
    #[error("the picture is too small: {width} x {height} pixels")]
    TooSmall {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
    },
    /// A picture of a screen.
    #[error("this looks like a screenshot: it has borders of one flat colour")]
    Screenshot,
    /// Nothing like a scale sheet.
    #[error("no scale sheet was found in the picture")]
    NoSheet,
    /// White has run into black.
    #[error("the picture is over-exposed: what should be black on the scale sheet is bright")]
    OverExposed,
    /// The pattern is there, and its codes are not legible.
    #[error("a pattern of squares was found, but the codes of the scale sheet in it cannot be read")]
    NoCode,
    /// Too little of the sheet.
    #[error("only part of the scale sheet is to be seen: {found} of {expected} corners of its squares")]
    PartOfSheet {
        /// Corners found.
        found: usize,
        /// Corners on a whole sheet.
        expected: usize,
    },
    /// The same page twice.
    #[error("two scale sheets with the same number {0} lie in the picture")]
    TwoSheets(u8),
    /// Left and right are exchanged.
    #[error("the picture is mirror-reversed")]
    Mirrored,
    /// The sheet is out of focus or moved.
    #[error("the picture is blurred: edges of the scale sheet are {pixels:.1} pixels wide", pixels = f64::from(*tenths) / 10.0)]
    Blurred {
        /// Width of an edge, tenths of a pixel.
        tenths: u32,
    },
    /// The corners of the squares do not lie as on a flat sheet.
    #[error(
        "the squares of the scale sheet do not lie as on a flat sheet: they are off by {hundredths} hundredths of a millimetre"
    )]
    NotFlat {
        /// Root mean square, hundredths of a millimetre.
        hundredths: u32,
    },
    /// No region stands out.
    #[error("no thing stands out from the ground in the picture")]
    NoThing,
    /// It goes on beyond the picture.
    #[error("the thing runs off the edge of the picture")]
    OffPicture,
    /// The sheet lies on the thing or touches it.
    #[error("the thing touches the scale sheet or lies under it")]
    TouchesSheet,
    /// A point named by the user lies nowhere useful.
    #[error("the named point {0} does not lie on the ground shown in the picture")]
    PointOutside(String),
    /// Photographs that do not belong together.
    #[error("the photographs do not belong together: {0}")]
    NotTogether(String),
    /// What was typed cannot be.
    #[error("{0}")]
    Request(String),
}

impl PhotoError {
    /// What to do, as a sentence for people.
    #[must_use]
    pub fn cure(&self) -> &'static str {
        match self {
            Self::Unreadable(_) => "Check the path, and that the file may be read",
            Self::NoPicture => "Give the photograph as the camera stored it, JPEG or PNG",
            Self::Damaged(_) | Self::CutShort => "Copy it from the camera once more, or photograph again",
            Self::TooLarge { .. } => "Photograph again with the camera set to 12 megapixels; 64 are the most",
            Self::FileTooLarge(_) => "Give a photograph of at most 128 megabytes",
            Self::TooSmall { .. } => "Photograph again with at least 2 megapixels, and do not shrink the picture",
            Self::Screenshot => "Give the photograph itself, as the camera stored it, not a picture of the screen",
            Self::NoSheet => {
                "Photograph again with the whole scale sheet flat beside the thing, in focus, filling a fifth of the picture; \
                 `dropwise photo scale-sheet` prints one"
            }
            Self::OverExposed => "Photograph again with less light: tap on the white paper, or turn the flash off",
            Self::NoCode => "Photograph again from nearer or straighter above, and keep everything off the scale sheet",
            Self::PartOfSheet { .. } => {
                "Photograph again so that the whole scale sheet is in the picture and nothing lies on it"
            }
            Self::TwoSheets(_) => {
                "Take one away, or print pages with numbers of their own (`--pages`), and photograph again"
            }
            Self::Mirrored => {
                "Turn off mirroring in the camera (it is usual for the front camera), or use the main camera"
            }
            Self::Blurred { .. } => "Photograph again: hold still, wipe the lens, and tap on the sheet to focus",
            Self::NotFlat { .. } => {
                "Lay the sheet flat, weigh its corners down, and photograph again; give the picture uncropped"
            }
            Self::NoThing => "Photograph on a ground of another colour, or name a point on the thing (`--inside`)",
            Self::OffPicture => "Photograph again from farther off, with some ground all around the thing",
            Self::TouchesSheet => {
                "Lay the sheet beside the thing with two fingers of ground between them, and photograph again"
            }
            Self::PointOutside(_) => "Name points in pixels of the picture, from its upper left corner",
            Self::NotTogether(_) => {
                "Leave sheet and thing where they are, and only move the camera between photographs"
            }
            Self::Request(_) => "See `--help` for examples",
        }
    }
}
