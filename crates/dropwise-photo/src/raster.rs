//! Brightness of a picture, and samples between its pixels.

use image::{ImageBuffer, Luma, RgbImage};
use rayon::prelude::*;

/// Brightness, 0 to 255. The middle of the first pixel is at (0, 0).
pub(crate) type Gray = ImageBuffer<Luma<f32>, Vec<f32>>;

/// Mean of the channels, green twice.
pub(crate) fn brightness(pixels: &RgbImage) -> Gray {
    let (width, height) = pixels.dimensions();
    let values =
        pixels.as_raw().par_chunks_exact(3).map(|p| (f32::from(p[0]) + 2.0 * f32::from(p[1]) + f32::from(p[2])) / 4.0);
    ImageBuffer::from_raw(width, height, values.collect()).expect("one value a pixel")
}

/// Mean over blocks of `factor` x `factor` pixels. Pixel (x, y) of the result has its middle at
/// `factor * (x + 0.5) - 0.5` of the picture.
pub(crate) fn reduced(gray: &Gray, factor: u32) -> Gray {
    let (width, height) = (gray.width() / factor, gray.height() / factor);
    let (stride, raw) = (gray.width() as usize, gray.as_raw());
    let n = factor as usize;
    let mut out = vec![0.0_f32; width as usize * height as usize];
    out.par_chunks_mut(width as usize).enumerate().for_each(|(y, row)| {
        for (x, value) in row.iter_mut().enumerate() {
            let mut sum = 0.0;
            for dy in 0..n {
                let start = (y * n + dy) * stride + x * n;
                sum += raw[start..start + n].iter().sum::<f32>();
            }
            *value = sum / (n * n) as f32;
        }
    });
    ImageBuffer::from_raw(width, height, out).expect("one value a pixel")
}

/// Brightness between pixels, bilinear; beyond the edge that of the edge.
pub(crate) fn sample(gray: &Gray, x: f64, y: f64) -> f32 {
    let (width, height) = (gray.width() as usize, gray.height() as usize);
    let x = x.clamp(0.0, (width - 1) as f64);
    let y = y.clamp(0.0, (height - 1) as f64);
    let (left, top) = ((x as usize).min(width - 2), (y as usize).min(height - 2));
    let (u, v) = ((x - left as f64) as f32, (y - top as f64) as f32);
    let raw = gray.as_raw();
    let at = top * width + left;
    let upper = raw[at] + u * (raw[at + 1] - raw[at]);
    let lower = raw[at + width] + u * (raw[at + width + 1] - raw[at + width]);
    upper + v * (lower - upper)
}

/// Colour between pixels, bilinear; `None` beyond the edge.
pub(crate) fn sample_colour(pixels: &RgbImage, x: f64, y: f64) -> Option<[f32; 3]> {
    let (width, height) = (pixels.width() as usize, pixels.height() as usize);
    if !(x >= 0.0 && y >= 0.0 && x <= (width - 1) as f64 && y <= (height - 1) as f64) {
        return None;
    }
    let (left, top) = ((x as usize).min(width - 2), (y as usize).min(height - 2));
    let (u, v) = ((x - left as f64) as f32, (y - top as f64) as f32);
    let raw = pixels.as_raw();
    let at = 3 * (top * width + left);
    let below = at + 3 * width;
    Some(std::array::from_fn(|c| {
        let value = |i: usize| f32::from(raw[i + c]);
        let upper = value(at) + u * (value(at + 3) - value(at));
        let lower = value(below) + u * (value(below + 3) - value(below));
        upper + v * (lower - upper)
    }))
}
