//! Regions of cells: their borders as rings, what is strange within the thing, and what is marked with a colour.

use image::{GrayImage, Luma, RgbImage};
use imageproc::contours::{BorderType, find_contours};
use imageproc::region_labelling::{Connectivity, connected_components};
use rayon::prelude::*;

use crate::segment::{Segmentation, eroded};

/// A colour of chalk or tape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MarkColour {
    /// White or silver.
    White,
    /// Yellow.
    Yellow,
    /// Orange.
    Orange,
    /// Red or pink.
    Red,
    /// Green.
    Green,
    /// Blue.
    Blue,
}

impl MarkColour {
    /// All colours.
    pub const ALL: [Self; 6] = [Self::White, Self::Yellow, Self::Orange, Self::Red, Self::Green, Self::Blue];

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::White => "white",
            Self::Yellow => "yellow",
            Self::Orange => "orange",
            Self::Red => "red",
            Self::Green => "green",
            Self::Blue => "blue",
        }
    }

    /// Whether a colour is this one, on a thing of that colour.
    fn matches(self, colour: [f64; 3], thing: [f64; 3]) -> bool {
        let hue = |[r, g, b]: [f64; 3]| {
            let (most, least) = (r.max(g).max(b), r.min(g).min(b));
            let span = most - least;
            let angle = if span <= 0.0 {
                0.0
            } else if most == r {
                60.0 * ((g - b) / span).rem_euclid(6.0)
            } else if most == g {
                60.0 * ((b - r) / span + 2.0)
            } else {
                60.0 * ((r - g) / span + 4.0)
            };
            (angle, span / most.max(1.0), most)
        };
        let (angle, saturation, bright) = hue(colour);
        let (_, of_thing, thing_bright) = hue(thing);
        let is_coloured = saturation > (of_thing + 0.15).max(0.3) && bright > 50.0;
        match self {
            Self::White => saturation < 0.2 && bright > 1.3 * thing_bright + 10.0,
            Self::Yellow => is_coloured && (44.0..72.0).contains(&angle),
            Self::Orange => is_coloured && (14.0..44.0).contains(&angle),
            Self::Red => is_coloured && !(14.0..315.0).contains(&angle),
            Self::Green => is_coloured && (72.0..170.0).contains(&angle),
            Self::Blue => is_coloured && (170.0..265.0).contains(&angle),
        }
    }
}

/// Borders of a region: the outer one of its largest part, and those of the holes in it, in pixels of the picture.
pub(crate) fn borders(segmentation: &Segmentation) -> (Vec<[f64; 2]>, Vec<Vec<[f64; 2]>>) {
    let (width, height) = (segmentation.width, segmentation.height);
    let image = mask(&segmentation.thing, width, height);
    let contours = find_contours::<u32>(&image);
    let f = f64::from(segmentation.factor);
    let ring = |points: &[imageproc::point::Point<u32>]| {
        points.iter().map(|p| [f * (f64::from(p.x) + 0.5) - 0.5, f * (f64::from(p.y) + 0.5) - 0.5]).collect::<Vec<_>>()
    };
    let outer = contours.iter().filter(|c| c.border_type == BorderType::Outer).max_by_key(|c| c.points.len());
    let holes = contours.iter().filter(|c| c.border_type == BorderType::Hole && c.points.len() >= 4);
    (outer.map(|c| ring(&c.points)).unwrap_or_default(), holes.map(|c| ring(&c.points)).collect())
}

fn mask(region: &[bool], width: usize, height: usize) -> GrayImage {
    GrayImage::from_fn(width as u32, height as u32, |x, y| {
        Luma([255 * u8::from(region[y as usize * width + x as usize])])
    })
}

/// A spot within the thing, in pixels of the picture.
#[derive(Clone, Debug)]
pub(crate) struct Spot {
    pub(crate) center: [f64; 2],
    /// Semi-axes of the ellipse with the same moments.
    pub(crate) axes: [f64; 2],
    /// Its border.
    pub(crate) border: Vec<[f64; 2]>,
}

/// The thing with holes of up to so many cells filled.
fn filled(segmentation: &Segmentation, most: usize) -> Vec<bool> {
    let (width, height) = (segmentation.width, segmentation.height);
    let outside = mask(&segmentation.thing.iter().map(|t| !t).collect::<Vec<_>>(), width, height);
    let labels = connected_components(&outside, Connectivity::Four, Luma([0]));
    // What hangs together with the edge of the picture is no hole.
    let labels = labels.as_raw();
    let mut open = vec![false; labels.iter().max().copied().unwrap_or(0) as usize + 1];
    let mut sizes = vec![0; open.len()];
    for (index, &label) in labels.iter().enumerate() {
        let (x, y) = (index % width, index / width);
        sizes[label as usize] += 1;
        open[label as usize] |= label != 0 && (x == 0 || y == 0 || x + 1 == width || y + 1 == height);
    }
    labels.iter().map(|&label| label == 0 || (!open[label as usize] && sizes[label as usize] <= most)).collect()
}

/// A grid of small blocks over the box around the thing.
struct Blocks {
    size: u32,
    left: u32,
    top: u32,
    width: usize,
    height: usize,
    /// Whether a block lies well within the outline.
    inner: Vec<bool>,
    colours: Vec<[f64; 3]>,
    references: Vec<[f64; 3]>,
}

fn blocks(pixels: &RgbImage, segmentation: &Segmentation, size: u32, rim: f64, most: usize) -> Option<Blocks> {
    let full = filled(segmentation, most);
    let core = eroded(&full, segmentation.width, segmentation.height, rim);
    let f = segmentation.factor;
    let cells = (0..core.len())
        .filter(|&i| core[i])
        .map(|i| ((i % segmentation.width) as u32, (i / segmentation.width) as u32));
    let (mut x0, mut y0, mut x1, mut y1) = (u32::MAX, u32::MAX, 0, 0);
    for (x, y) in cells {
        (x0, y0, x1, y1) = (x0.min(x), y0.min(y), x1.max(x + 1), y1.max(y + 1));
    }
    if x0 >= x1 {
        return None;
    }
    let (left, top) = (x0 * f, y0 * f);
    let (width, height) = (((x1 - x0) * f / size) as usize, ((y1 - y0) * f / size) as usize);
    let samples: Vec<(bool, [f64; 3], [f64; 3])> = (0..width * height)
        .into_par_iter()
        .map(|i| {
            let (x, y) = (left + (i % width) as u32 * size, top + (i / width) as u32 * size);
            let cell = ((y + size / 2) / f) as usize * segmentation.width + ((x + size / 2) / f) as usize;
            if !core.get(cell).copied().unwrap_or(false) {
                return (false, [0.0; 3], [1.0; 3]);
            }
            let mut sum = [0.0; 3];
            for v in y..(y + size).min(pixels.height()) {
                for u in x..(x + size).min(pixels.width()) {
                    let pixel = pixels.get_pixel(u, v);
                    for c in 0..3 {
                        sum[c] += f64::from(pixel[c]);
                    }
                }
            }
            (true, sum.map(|s| s / f64::from(size * size)), segmentation.reference.at(f64::from(x), f64::from(y)))
        })
        .collect();
    let mut result =
        Blocks { size, left, top, width, height, inner: Vec::new(), colours: Vec::new(), references: Vec::new() };
    for (inner, colour, reference) in samples {
        result.inner.push(inner);
        result.colours.push(colour);
        result.references.push(reference);
    }
    Some(result)
}

impl Blocks {
    /// Connected regions of at least so many blocks.
    fn spots(&self, region: &[bool], least: usize) -> Vec<Spot> {
        let image = mask(region, self.width, self.height);
        let labels = connected_components(&image, Connectivity::Eight, Luma([0]));
        let count = labels.as_raw().iter().max().copied().unwrap_or(0) as usize + 1;
        let mut sums = vec![[0.0_f64; 6]; count];
        for (index, &label) in labels.as_raw().iter().enumerate() {
            let (x, y) = ((index % self.width) as f64, (index / self.width) as f64);
            for (sum, value) in sums[label as usize].iter_mut().zip([1.0, x, y, x * x, x * y, y * y]) {
                *sum += value;
            }
        }
        let borders: Vec<_> =
            find_contours::<u32>(&image).into_iter().filter(|c| c.border_type == BorderType::Outer).collect();
        let scale = f64::from(self.size);
        let place = |x: f64, y: f64| {
            [f64::from(self.left) + scale * (x + 0.5) - 0.5, f64::from(self.top) + scale * (y + 0.5) - 0.5]
        };
        (1..count)
            .filter(|&label| sums[label][0] >= least as f64)
            .map(|label| {
                let [n, x, y, xx, xy, yy] = sums[label];
                let (mx, my) = (x / n, y / n);
                let (a, b, c) = (xx / n - mx * mx, xy / n - mx * my, yy / n - my * my);
                let (half, span) = ((a + c) / 2.0, ((a - c) / 2.0).hypot(b));
                let axes = [half + span, half - span].map(|v| 2.0 * v.max(1.0 / 12.0).sqrt() * scale);
                let border = borders
                    .iter()
                    .find(|c| labels.get_pixel(c.points[0].x, c.points[0].y)[0] as usize == label)
                    .map(|c| c.points.iter().map(|p| place(f64::from(p.x), f64::from(p.y))).collect())
                    .unwrap_or_default();
                Spot { center: place(mx, my), axes, border }
            })
            .collect()
    }
}

/// Spots within the thing that look unlike it, down to about three millimetres.
pub(crate) fn strange_spots(pixels: &RgbImage, segmentation: &Segmentation, millimetres_per_pixel: f64) -> Vec<Spot> {
    let size = ((0.6 / millimetres_per_pixel) as u32).clamp(1, 4);
    // Large holes were found with the outline; what shows through them would pass for the thing.
    let most = (250.0 / (millimetres_per_pixel * f64::from(segmentation.factor)).powi(2)) as usize;
    let Some(blocks) = blocks(pixels, segmentation, size, 1.5, most) else { return Vec::new() };
    let (width, height) = (blocks.width, blocks.height);
    let ln = |v: f64| (v + 8.0).ln();
    let values: Vec<[f64; 3]> = blocks
        .colours
        .iter()
        .zip(&blocks.references)
        .map(|(colour, reference)| {
            let [r, g, b]: [f64; 3] = std::array::from_fn(|c| ln(colour[c]) - ln(reference[c]));
            [(r + 2.0 * g + b) / 4.0, r - g, b - g]
        })
        .collect();
    // Small holes stand out block by block, faint ones as a whole.
    let wide = (2.2 / (millimetres_per_pixel * f64::from(size))).round().max(2.0) as usize;
    let mut spots = Vec::new();
    for (radius, times) in [(1, 4.0), (wide, 4.0)] {
        let smooth = smoothed(&values, &blocks.inner, width, height, radius);
        let strange = far_off(&smooth, times);
        let least = 5.0 / (millimetres_per_pixel * f64::from(size)).powi(2);
        spots.extend(blocks.spots(&strange, (least as usize).max(4)));
    }
    spots
}

/// Means over squares of blocks, as far as they lie within.
fn smoothed(values: &[[f64; 3]], inner: &[bool], width: usize, height: usize, radius: usize) -> Vec<Option<[f64; 3]>> {
    // Sums over everything above and to the left.
    let mut sums = vec![[0.0_f64; 4]; (width + 1) * (height + 1)];
    for y in 0..height {
        let mut row = [0.0; 4];
        for x in 0..width {
            let i = y * width + x;
            if inner[i] {
                for c in 0..3 {
                    row[c] += values[i][c];
                }
                row[3] += 1.0;
            }
            let above = sums[y * (width + 1) + x + 1];
            sums[(y + 1) * (width + 1) + x + 1] = std::array::from_fn(|c| above[c] + row[c]);
        }
    }
    (0..width * height)
        .into_par_iter()
        .map(|i| {
            let (x, y) = (i % width, i / width);
            if !inner[i] {
                return None;
            }
            let (x0, y0) = (x.saturating_sub(radius), y.saturating_sub(radius));
            let (x1, y1) = ((x + radius + 1).min(width), (y + radius + 1).min(height));
            let corner = |x: usize, y: usize| sums[y * (width + 1) + x];
            let (a, b, c, d) = (corner(x1, y1), corner(x0, y1), corner(x1, y0), corner(x0, y0));
            let total: [f64; 4] = std::array::from_fn(|k| a[k] - b[k] - c[k] + d[k]);
            Some(std::array::from_fn(|k| total[k] / total[3].max(1.0)))
        })
        .collect()
}

/// Where means lie farther from the middle of all than so many standard deviations, which few strange places do not sway.
fn far_off(smooth: &[Option<[f64; 3]>], times: f64) -> Vec<bool> {
    let spread: [(f64, f64); 3] = std::array::from_fn(|c| {
        let mut all: Vec<f64> = smooth.iter().flatten().map(|v| v[c]).collect();
        if all.is_empty() {
            return (0.0, 1.0);
        }
        all.sort_by(f64::total_cmp);
        let middle = all[all.len() / 2];
        let mut off: Vec<f64> = all.iter().map(|v| (v - middle).abs()).collect();
        off.sort_by(f64::total_cmp);
        (middle, (1.4826 * off[off.len() / 2]).max(0.01))
    });
    smooth
        .iter()
        .map(|value| value.is_some_and(|v| (0..3).any(|c| (v[c] - spread[c].0).abs() > times * spread[c].1)))
        .collect()
}

/// Areas within the thing that are marked with a colour; a closed line of it marks what it encloses.
pub(crate) fn marked_areas(
    pixels: &RgbImage,
    segmentation: &Segmentation,
    colour: MarkColour,
    millimetres_per_pixel: f64,
) -> Vec<Spot> {
    let size = ((1.0 / millimetres_per_pixel) as u32).clamp(1, 8);
    let Some(blocks) = blocks(pixels, segmentation, size, 0.0, usize::MAX) else { return Vec::new() };
    let (width, height) = (blocks.width, blocks.height);
    let marked: Vec<bool> = (0..width * height)
        .map(|i| blocks.inner[i] && colour.matches(blocks.colours[i], blocks.references[i]))
        .collect();
    // Lines of chalk have gaps: closed over three millimetres.
    let reach = 3.0 / (millimetres_per_pixel * f64::from(size));
    let away = eroded(&marked.iter().map(|m| !m).collect::<Vec<_>>(), width, height, reach);
    let wide: Vec<bool> = away.iter().map(|a| !a).collect();
    let closed = eroded(&wide, width, height, reach);
    let least = 60.0 / (millimetres_per_pixel * f64::from(size)).powi(2);
    let both: Vec<bool> = closed.iter().zip(&marked).map(|(a, b)| *a || *b).collect();
    blocks.spots(&both, (least as usize).max(6))
}
