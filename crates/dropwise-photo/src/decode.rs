//! A picture file turned into pixels, with bounds on everything.

use std::io::{Cursor, Read as _};
use std::path::Path;

use exif::{In, Tag};
use image::metadata::Orientation;
use image::{DynamicImage, ImageFormat, ImageReader, Limits, RgbImage};

use crate::error::PhotoError;

/// Most bytes of a file.
const MOST_BYTES: u64 = 128 << 20;
/// Most pixels: three bytes each, and about ten times that while reading.
const MOST_PIXELS: u64 = 64_000_000;
/// Least pixels along the shorter side.
const LEAST_SIDE: u32 = 600;

/// A photograph, upright.
#[derive(Clone, Debug)]
pub struct Photograph {
    /// Its pixels, turned as the camera was held.
    pub(crate) pixels: RgbImage,
    /// Focal length in pixels as the camera tells it, if it does.
    pub(crate) focal_length: Option<f64>,
}

impl Photograph {
    /// Reads a file.
    ///
    /// # Errors
    /// Everything that [`Photograph::decode`] refuses, and files that cannot be read.
    pub fn open(path: &Path) -> Result<Self, PhotoError> {
        let unreadable = |error: std::io::Error| PhotoError::Unreadable(error.to_string());
        let file = std::fs::File::open(path).map_err(unreadable)?;
        let mut bytes = Vec::new();
        file.take(MOST_BYTES + 1).read_to_end(&mut bytes).map_err(unreadable)?;
        Self::decode(&bytes)
    }

    /// Reads JPEG or PNG. No more memory is taken than a picture of 64 megapixels needs, whatever the file says.
    ///
    /// # Errors
    /// [`PhotoError`] for other files, damaged ones, ones cut short, and pictures too large, too small, or of a screen.
    pub fn decode(bytes: &[u8]) -> Result<Self, PhotoError> {
        if bytes.len() as u64 > MOST_BYTES {
            return Err(PhotoError::FileTooLarge(bytes.len() as u64 >> 20));
        }
        let format = image::guess_format(bytes).map_err(|_| PhotoError::NoPicture)?;
        if !matches!(format, ImageFormat::Jpeg | ImageFormat::Png) {
            return Err(PhotoError::NoPicture);
        }
        let reader = || ImageReader::with_format(Cursor::new(bytes), format);
        let is_whole = match format {
            ImageFormat::Jpeg => jpeg_has_end(bytes),
            _ => bytes.windows(4).rev().take(1 << 16).any(|name| name == b"IEND"),
        };
        let broken = |error: image::ImageError| {
            if is_whole { PhotoError::Damaged(error.to_string()) } else { PhotoError::CutShort }
        };
        let (width, height) = reader().into_dimensions().map_err(broken)?;
        if u64::from(width) * u64::from(height) > MOST_PIXELS {
            return Err(PhotoError::TooLarge { width: width.into(), height: height.into() });
        }
        if width.min(height) < LEAST_SIDE {
            return Err(PhotoError::TooSmall { width, height });
        }
        if !is_whole {
            return Err(PhotoError::CutShort);
        }
        let mut limits = Limits::default();
        limits.max_alloc = Some(8 * MOST_PIXELS + (64 << 20));
        let mut reader = reader();
        reader.limits(limits);
        let mut picture = reader.decode().map_err(broken)?;
        let notes = exif::Reader::new().read_from_container(&mut Cursor::new(bytes)).ok();
        let number = |tag| notes.as_ref().and_then(|notes| notes.get_field(tag, In::PRIMARY)?.value.get_uint(0));
        if let Some(turn) = number(Tag::Orientation).and_then(|n| Orientation::from_exif(u8::try_from(n).ok()?)) {
            picture.apply_orientation(turn);
        }
        // 36 x 24 mm of film have a diagonal of 43.27 mm; phones match the diagonal (CIPA DCG-001, 3.1).
        let diagonal = f64::from(width).hypot(f64::from(height));
        let focal_length = number(Tag::FocalLengthIn35mmFilm)
            .filter(|f| (8..=300).contains(f))
            .map(|f| f64::from(f) / 43.27 * diagonal);
        let pixels = match picture {
            DynamicImage::ImageRgb8(pixels) => pixels,
            other => other.into_rgb8(),
        };
        if has_flat_borders(&pixels) {
            return Err(PhotoError::Screenshot);
        }
        Ok(Self { pixels, focal_length })
    }

    /// A photograph from pixels, for pictures that come from no file.
    #[must_use]
    pub fn from_pixels(pixels: RgbImage, focal_length: Option<f64>) -> Self {
        Self { pixels, focal_length }
    }

    /// Pixels across and down.
    #[must_use]
    pub fn size(&self) -> (u32, u32) {
        self.pixels.dimensions()
    }

    /// The same, mirrored left to right.
    pub(crate) fn mirrored(&self) -> RgbImage {
        image::imageops::flip_horizontal(&self.pixels)
    }
}

/// Whether a JPEG file holds the mark of its end after its last scan (ITU-T T.81, B.1.1). Decoders fill what is missing
/// with grey and say nothing.
fn jpeg_has_end(bytes: &[u8]) -> bool {
    let mut at = 2;
    while at + 4 <= bytes.len() {
        if bytes[at] != 0xff {
            at += 1;
            continue;
        }
        match bytes[at + 1] {
            0xd9 => return true,
            0x00 | 0x01 | 0xd0..=0xd8 => at += 2,
            0xff => at += 1,
            _ => at += 2 + usize::from(u16::from_be_bytes([bytes[at + 2], bytes[at + 3]])),
        }
    }
    bytes.len() >= 2 && bytes[bytes.len() - 2..] == [0xff, 0xd9]
}

/// Whether rows above and below, or columns at both sides, are of one colour to the last bit: a screen draws them, a lens
/// does not.
fn has_flat_borders(pixels: &RgbImage) -> bool {
    let (width, height) = pixels.dimensions();
    let row = |y: u32| {
        let first = pixels.get_pixel(0, y);
        (1..width).all(|x| pixels.get_pixel(x, y) == first)
    };
    let column = |x: u32| {
        let first = pixels.get_pixel(x, 0);
        (1..height).all(|y| pixels.get_pixel(x, y) == first)
    };
    // Blown-out corners of a photograph can be flat for a few lines, not for a fiftieth of the picture.
    let (rows, columns) = (height / 50, width / 50);
    (0..rows).all(row)
        || (height - rows..height).all(row)
        || (0..columns).all(column)
        || (width - columns..width).all(column)
}
