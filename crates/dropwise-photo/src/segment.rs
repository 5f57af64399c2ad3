//! Thing and ground told apart, cell by cell.
//!
//! A cell is a block of a few pixels. Its brightness, colour and grain are held against two models, one of the ground and
//! one of the thing, each a normal distribution; both share a smooth field of light. The ground is learnt around the
//! sheet and along the edge of the picture, the thing from what differs most. The border between them is then the
//! shortest that the evidence allows.
//!
//! # Source
//! Chan, Esedoglu and Nikolova, "Algorithms for finding global minimizers of image segmentation and denoising models",
//! 2006; minimized by Chambolle and Pock, "A first-order primal-dual algorithm for convex problems", 2011.

use image::{GrayImage, Luma, RgbImage};
use imageproc::distance_transform::Norm;
use imageproc::region_labelling::{Connectivity, connected_components};
use nalgebra::{Matrix4, SMatrix, SVector, Vector4};
use rayon::prelude::*;

use crate::error::PhotoError;

/// About so many cells along the longer side.
const CELLS: u32 = 800;
/// Terms of the field of light.
const TERMS: usize = 7;
/// Evidence of one cell is worth at most this.
const MOST_EVIDENCE: f32 = 4.0;
/// Weight of evidence against length of border, both in cells.
const EVIDENCE: f32 = 0.12;

/// What the user says of places in the picture, pixels.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Hints {
    /// Points on the thing.
    pub inside: Vec<[f64; 2]>,
    /// Points on the ground, or in a hole.
    pub outside: Vec<[f64; 2]>,
}

/// What lies where, in cells.
pub(crate) struct Segmentation {
    /// Pixels along a cell.
    pub(crate) factor: u32,
    pub(crate) width: usize,
    pub(crate) height: usize,
    /// Whether a cell belongs to the thing, holes left open.
    pub(crate) thing: Vec<bool>,
    /// Colour of the thing nearby.
    pub(crate) reference: Reference,
}

impl Segmentation {
    /// Whether a pixel shows the thing.
    pub(crate) fn shows_thing(&self, [x, y]: [f64; 2]) -> bool {
        let f = f64::from(self.factor);
        let (x, y) = ((x / f) as usize, (y / f) as usize);
        x < self.width && y < self.height && self.thing[y * self.width + x]
    }
}

/// Features of cells.
struct Features {
    width: usize,
    height: usize,
    values: Vec<[f32; 4]>,
}

/// A normal distribution of features.
struct Model {
    mean: Vector4<f64>,
    inverse: Matrix4<f64>,
    log_norm: f64,
}

impl Model {
    fn fit(values: impl Iterator<Item = Vector4<f64>> + Clone) -> Option<Self> {
        // Twice: what is far off the first fit is left out of the second.
        let mut model: Option<Self> = None;
        for _ in 0..3 {
            let kept = values.clone().filter(|v| model.as_ref().is_none_or(|m: &Self| m.distance(v) < 16.0));
            let (mut count, mut sum, mut squares) = (0.0, Vector4::zeros(), Matrix4::zeros());
            for v in kept {
                count += 1.0;
                sum += v;
                squares += v * v.transpose();
            }
            if count < 30.0 {
                return model;
            }
            let mean = sum / count;
            let covariance = squares / count - mean * mean.transpose()
                + Matrix4::from_diagonal(&Vector4::new(4e-4, 1e-4, 1e-4, 4e-3));
            let inverse = covariance.try_inverse()?;
            model = Some(Self { mean, inverse, log_norm: -0.5 * covariance.determinant().max(1e-30).ln() });
        }
        model
    }

    fn distance(&self, v: &Vector4<f64>) -> f64 {
        let d = v - self.mean;
        (d.transpose() * self.inverse * d)[0]
    }

    fn log_density(&self, v: &Vector4<f64>) -> f64 {
        // Heavier tails than a normal distribution has: no surface is as regular.
        let d = self.distance(v);
        self.log_norm - 4.0 * (1.0 + d / 8.0).ln()
    }
}

/// Tells thing from ground. `is_sheet` says whether a pixel shows a page or its rim, `is_near_sheet` whether the ground
/// right beside one.
pub(crate) fn segment(
    pixels: &RgbImage,
    is_sheet: &(dyn Fn(f64, f64) -> bool + Sync),
    is_near_sheet: &(dyn Fn(f64, f64) -> bool + Sync),
    hints: &Hints,
) -> Result<Segmentation, PhotoError> {
    let factor = (pixels.width().max(pixels.height()) / CELLS).max(1);
    let features = features(pixels, factor);
    let (width, height) = (features.width, features.height);
    let centre = |index: usize| {
        let (x, y) = (index % width, index / width);
        let f = f64::from(factor);
        (f * (x as f64 + 0.5) - 0.5, f * (y as f64 + 0.5) - 0.5)
    };
    let masks: Vec<(bool, bool)> = (0..width * height)
        .into_par_iter()
        .map(|index| {
            let (x, y) = centre(index);
            (is_sheet(x, y), is_near_sheet(x, y))
        })
        .collect();
    let band = (width.min(height) / 40).max(3);
    let is_border = |index: usize| {
        let (x, y) = (index % width, index / width);
        x < band || y < band || x + band >= width || y + band >= height
    };
    let cell_of = |point: &[f64; 2]| -> Result<(usize, usize), PhotoError> {
        let (x, y) = (point[0] / f64::from(factor), point[1] / f64::from(factor));
        let is_in = x >= 0.0 && y >= 0.0 && x < width as f64 && y < height as f64;
        is_in
            .then_some((x as usize, y as usize))
            .ok_or_else(|| PhotoError::PointOutside(format!("{},{}", point[0], point[1])))
    };
    let inside = hints.inside.iter().map(cell_of).collect::<Result<Vec<_>, _>>()?;
    let outside = hints.outside.iter().map(cell_of).collect::<Result<Vec<_>, _>>()?;
    let near = |points: &[(usize, usize)], index: usize, radius: f64| {
        let (x, y) = ((index % width) as f64, (index / width) as f64);
        points.iter().any(|&(px, py)| (px as f64 - x).hypot(py as f64 - y) <= radius)
    };
    let mut ground: Vec<bool> = (0..width * height)
        .map(|i| !masks[i].0 && (masks[i].1 || is_border(i) || near(&outside, i, 6.0)) && !near(&inside, i, 8.0))
        .collect();
    let mut thing = vec![false; width * height];
    for round in 0..5 {
        let light = Light::fit(&features, &ground, &thing);
        let lit = |index: usize| light.corrected(&features, index);
        let picked = |mask: &[bool]| (0..width * height).filter(|&i| mask[i]).step_by(3).collect::<Vec<_>>();
        let ground_cells = picked(&ground);
        let ground_model = Model::fit(ground_cells.iter().map(|&i| lit(i))).ok_or(PhotoError::NoThing)?;
        if round == 0 {
            let strange = strangeness(&features, &light, &ground_model, &ground, &masks);
            thing = if inside.is_empty() {
                largest(&strange, width, height, &[], true).ok_or(PhotoError::NoThing)?
            } else {
                (0..width * height).map(|i| near(&inside, i, 8.0)).collect()
            };
            thing = if inside.is_empty() { eroded(&thing, width, height, 4.0) } else { thing };
        }
        let thing_cells = picked(&thing);
        let Some(thing_model) = Model::fit(thing_cells.iter().map(|&i| lit(i))) else {
            return Err(PhotoError::NoThing);
        };
        // Ground in the shadow of the thing: darker, of the same colour, its grain as it may be.
        let shadow = Vector4::new(ground_model.mean[0] - 0.75, ground_model.mean[1], ground_model.mean[2], 0.0);
        let mut evidence: Vec<f32> = (0..width * height)
            .into_par_iter()
            .map(|i| {
                if masks[i].0 {
                    return -MOST_EVIDENCE;
                }
                let v = lit(i);
                let d = v - shadow;
                let as_shadow = -1.5 * (1.0 + d[0] * d[0] / 0.1 + (d[1] * d[1] + d[2] * d[2]) / 0.003).ln()
                    + ground_model.log_norm
                    - 3.0;
                let as_ground = ground_model.log_density(&v).max(as_shadow);
                ((thing_model.log_density(&v) - as_ground) as f32).clamp(-MOST_EVIDENCE, MOST_EVIDENCE)
            })
            .collect();
        if !(inside.is_empty() && outside.is_empty()) {
            for (i, value) in evidence.iter_mut().enumerate() {
                if near(&inside, i, 3.0) {
                    *value = 20.0 * MOST_EVIDENCE;
                } else if near(&outside, i, 3.0) {
                    *value = -20.0 * MOST_EVIDENCE;
                }
            }
        }
        let share = shortest_border(&evidence, width, height, if round < 4 { 50 } else { 150 });
        let inner: Vec<bool> = share.iter().map(|&u| u > 0.5).collect();
        thing = largest(&inner, width, height, &inside, round < 4).ok_or(PhotoError::NoThing)?;
        if round < 4 {
            let outer = eroded(&thing.iter().map(|&t| !t).collect::<Vec<_>>(), width, height, 6.0);
            ground = (0..width * height).map(|i| outer[i] && !masks[i].0 && !inner[i]).collect();
            let core = eroded(&thing, width, height, 3.0);
            // A narrow thing has no core.
            if core.iter().filter(|&&c| c).count() > 200 {
                thing = core;
            }
        }
    }
    if touches_border(&thing, width, height) {
        return Err(PhotoError::OffPicture);
    }
    if thing.iter().filter(|&&t| t).count() < 400 {
        return Err(PhotoError::NoThing);
    }
    let reference = Reference::new(pixels, factor, &eroded(&thing, width, height, 4.0), width, height);
    Ok(Segmentation { factor, width, height, thing, reference })
}

fn touches_border(thing: &[bool], width: usize, height: usize) -> bool {
    let rows = (0..width).filter(|&x| thing[width + x] || thing[(height - 2) * width + x]).count();
    let columns = (0..height).filter(|&y| thing[y * width + 1] || thing[y * width + width - 2]).count();
    rows + columns > 3
}

/// Brightness, red and blue against green, and grain of each cell, all as logarithms.
fn features(pixels: &RgbImage, factor: u32) -> Features {
    let n = factor as usize;
    let (width, height) = (pixels.width() as usize / n, pixels.height() as usize / n);
    let stride = 3 * pixels.width() as usize;
    let raw = pixels.as_raw();
    let mut values = vec![[0.0_f32; 4]; width * height];
    values.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        for (x, value) in row.iter_mut().enumerate() {
            let mut sums = [0_u32; 3];
            for dy in 0..n {
                let start = (y * n + dy) * stride + 3 * x * n;
                for pixel in raw[start..start + 3 * n].chunks_exact(3) {
                    for (sum, &channel) in sums.iter_mut().zip(pixel) {
                        *sum += u32::from(channel);
                    }
                }
            }
            // Noise drowns colour where it is all but black.
            let [r, g, b] = sums.map(|sum| (sum as f32 / (n * n) as f32 + 8.0).ln());
            *value = [(r + 2.0 * g + b) / 4.0, r - g, b - g, 0.0];
        }
    });
    let brightness: Vec<f32> = values.iter().map(|v| v[0]).collect();
    let squares: Vec<f32> = brightness.iter().map(|v| v * v).collect();
    let (mean, mean_square) = (box_mean(&brightness, width, height, 2), box_mean(&squares, width, height, 2));
    let variance: Vec<f32> = mean.iter().zip(&mean_square).map(|(m, s)| (s - m * m).max(0.0)).collect();
    let grain = box_mean(&variance, width, height, 2);
    for (value, grain) in values.iter_mut().zip(grain) {
        value[3] = 0.5 * (grain + 2e-5).ln();
    }
    Features { width, height, values }
}

/// Mean over a square of `2 radius + 1` cells, fewer at the edge.
fn box_mean(values: &[f32], width: usize, height: usize, radius: usize) -> Vec<f32> {
    let line = |source: &[f32], out: &mut [f32], length: usize, stride: usize| {
        let mut sum = 0.0_f64;
        let mut count = 0.0;
        for k in 0..length + radius {
            if k < length {
                sum += f64::from(source[k * stride]);
                count += 1.0;
            }
            if k > 2 * radius {
                sum -= f64::from(source[(k - 2 * radius - 1) * stride]);
                count -= 1.0;
            }
            if k >= radius {
                out[k - radius] = (sum / count) as f32;
            }
        }
    };
    let mut across = vec![0.0; values.len()];
    for (source, out) in values.chunks_exact(width).zip(across.chunks_exact_mut(width)) {
        line(source, out, width, 1);
    }
    let mut result = vec![0.0; values.len()];
    let mut column = vec![0.0; height];
    for x in 0..width {
        line(&across[x..], &mut column, height, width);
        for (y, value) in column.iter().enumerate() {
            result[y * width + x] = *value;
        }
    }
    result
}

/// Brightness of the light over the picture: a polynomial.
struct Light {
    terms: SVector<f64, TERMS>,
}

impl Light {
    fn powers(features: &Features, index: usize) -> SVector<f64, TERMS> {
        let (w, h) = (features.width as f64, features.height as f64);
        let x = ((index % features.width) as f64 - w / 2.0) / w;
        let y = ((index / features.width) as f64 - h / 2.0) / w;
        let q = x * x + y * y;
        SVector::from([x, y, x * x, x * y, y * y, q * q, 1.0])
    }

    /// Fitted to ground and thing together, each with a brightness of its own; what does not follow is left out.
    fn fit(features: &Features, ground: &[bool], thing: &[bool]) -> Self {
        const ALL: usize = TERMS + 1;
        let picked: Vec<(SVector<f64, ALL>, f64)> = (0..ground.len())
            .filter(|&i| ground[i] || thing[i])
            .step_by(11)
            .map(|i| {
                let powers = Self::powers(features, i);
                let row = SVector::<f64, ALL>::from_fn(|k, _| match k {
                    k if k < TERMS - 1 => powers[k],
                    k if k == TERMS - 1 => f64::from(u8::from(ground[i])),
                    _ => f64::from(u8::from(!ground[i])),
                });
                (row, f64::from(features.values[i][0]))
            })
            .collect();
        let mut solution = SVector::<f64, ALL>::zeros();
        let mut width = f64::INFINITY;
        for _ in 0..6 {
            let mut normal = SMatrix::<f64, ALL, ALL>::identity() * 1e-3;
            let mut right = SVector::<f64, ALL>::zeros();
            let mut off = Vec::with_capacity(picked.len());
            for (row, value) in &picked {
                let residual = value - row.dot(&solution);
                off.push(residual.abs());
                let weight = if width.is_finite() { 1.0 / (1.0 + (residual / width).powi(2)) } else { 1.0 };
                normal += row * row.transpose() * weight;
                right += row * (weight * value);
            }
            let Some(solved) = normal.cholesky().map(|c| c.solve(&right)) else { break };
            solution = solved;
            off.sort_by(f64::total_cmp);
            width =
                if width.is_finite() { (1.5 * off.get(off.len() / 2).copied().unwrap_or(0.1)).max(0.02) } else { 0.3 };
        }
        // The brightness of the ground is where everything is counted from.
        Self { terms: SVector::from_fn(|k, _| solution[k]) }
    }

    fn corrected(&self, features: &Features, index: usize) -> Vector4<f64> {
        let value = features.values[index];
        let light = self.terms.dot(&Self::powers(features, index));
        Vector4::new(f64::from(value[0]) - light, f64::from(value[1]), f64::from(value[2]), f64::from(value[3]))
    }
}

/// Where means over some cells lie farther from the ground than those of nearly all ground do.
fn strangeness(
    features: &Features,
    light: &Light,
    model: &Model,
    ground: &[bool],
    masks: &[(bool, bool)],
) -> Vec<bool> {
    let (width, height) = (features.width, features.height);
    let radius = (width / 220).max(2);
    let lit: Vec<Vector4<f64>> =
        (0..width * height).into_par_iter().map(|i| light.corrected(features, i) - model.mean).collect();
    let mean = |k: usize| box_mean(&lit.iter().map(|v| v[k] as f32).collect::<Vec<_>>(), width, height, radius);
    let means: Vec<Vec<f32>> = (0..4).into_par_iter().map(mean).collect();
    let at = |i: usize| Vector4::new(means[0][i], means[1][i], means[2][i], means[3][i]).map(f64::from);
    let cells = (0..width * height).filter(|&i| ground[i] && !masks[i].0).step_by(5);
    let Some(spread) = Model::fit(cells.map(at)) else { return vec![false; width * height] };
    (0..width * height).map(|i| !masks[i].0 && spread.distance(&at(i)) > 30.0).collect()
}

/// Cells of a region that are farther than `distance` from its border.
pub(crate) fn eroded(region: &[bool], width: usize, height: usize, distance: f64) -> Vec<bool> {
    let others = GrayImage::from_fn(width as u32, height as u32, |x, y| {
        Luma([u8::from(!region[y as usize * width + x as usize]) * 255])
    });
    let far = imageproc::distance_transform::distance_transform(&others, Norm::L1);
    // City blocks are longer than the crow flies.
    region.iter().zip(far.as_raw()).map(|(&is_in, &d)| is_in && f64::from(d) > 1.2 * distance).collect()
}

/// The connected region with the most cells, or the one with a named cell. One that runs along the edge of the picture is
/// passed over if another is at least a third as large.
fn largest(
    region: &[bool],
    width: usize,
    height: usize,
    named: &[(usize, usize)],
    shuns_border: bool,
) -> Option<Vec<bool>> {
    let image = GrayImage::from_fn(width as u32, height as u32, |x, y| {
        Luma([u8::from(region[y as usize * width + x as usize])])
    });
    let labels = connected_components(&image, Connectivity::Four, Luma([0]));
    let labels = labels.as_raw();
    let count = labels.iter().max().copied().unwrap_or(0) as usize + 1;
    let (mut sizes, mut is_at_border) = (vec![0_usize; count], vec![false; count]);
    for (index, &label) in labels.iter().enumerate() {
        let (x, y) = (index % width, index / width);
        sizes[label as usize] += 1;
        is_at_border[label as usize] |= x < 2 || y < 2 || x + 2 >= width || y + 2 >= height;
    }
    let by_name = named.iter().map(|&(x, y)| labels[y * width + x]).find(|&label| label != 0);
    let weight = |label: &usize| sizes[*label] * if is_at_border[*label] && shuns_border { 1 } else { 3 };
    let label = by_name.map(|label| label as usize).or_else(|| (1..count).max_by_key(weight))?;
    Some(labels.iter().map(|&l| l as usize == label).collect())
}

/// The function between zero and one with the least sum of evidence against it and length of its steps.
fn shortest_border(evidence: &[f32], width: usize, height: usize, rounds: usize) -> Vec<f32> {
    let n = width * height;
    let mut u: Vec<f32> = evidence.iter().map(|&e| if e > 0.0 { 1.0 } else { 0.0 }).collect();
    let mut ahead = u.clone();
    let (mut p, mut q) = (vec![0.0_f32; n], vec![0.0_f32; n]);
    // The product of both steps times the squared norm of the gradient, eight, is one.
    let (tau, sigma) = (0.25_f32, 0.5_f32);
    for _ in 0..rounds {
        p.par_chunks_mut(width).zip(q.par_chunks_mut(width)).enumerate().for_each(|(y, (p, q))| {
            let row = &ahead[y * width..(y + 1) * width];
            let below = (y + 1 < height).then(|| &ahead[(y + 1) * width..(y + 2) * width]);
            for x in 0..width {
                let dx = if x + 1 < width { row[x + 1] - row[x] } else { 0.0 };
                let dy = below.map_or(0.0, |below| below[x] - row[x]);
                let (a, b) = (p[x] + sigma * dx, q[x] + sigma * dy);
                let norm = (a * a + b * b).sqrt().max(1.0);
                (p[x], q[x]) = (a / norm, b / norm);
            }
        });
        u.par_chunks_mut(width).zip(ahead.par_chunks_mut(width)).enumerate().for_each(|(y, (u, ahead))| {
            for x in 0..width {
                let i = y * width + x;
                let left = if x > 0 { p[i - 1] } else { 0.0 };
                let above = if y > 0 { q[i - width] } else { 0.0 };
                let right = if x + 1 < width { p[i] } else { 0.0 };
                let under = if y + 1 < height { q[i] } else { 0.0 };
                let divergence = right - left + under - above;
                let next = (u[x] + tau * (divergence + EVIDENCE * evidence[i])).clamp(0.0, 1.0);
                ahead[x] = 2.0 * next - u[x];
                u[x] = next;
            }
        });
    }
    u
}

/// Colour of the thing around any place: means over its cells nearby.
pub(crate) struct Reference {
    tiles: Vec<([f64; 3], f64)>,
    columns: usize,
    rows: usize,
    pixels_per_tile: f64,
}

/// Cells along a tile.
const TILE: usize = 8;

impl Reference {
    fn new(pixels: &RgbImage, factor: u32, core: &[bool], width: usize, height: usize) -> Self {
        let (columns, rows) = (width.div_ceil(TILE), height.div_ceil(TILE));
        let mut tiles = vec![([0.0; 3], 0.0); columns * rows];
        for (index, _) in core.iter().enumerate().filter(|(_, is_in)| **is_in) {
            let (x, y) = (index % width, index / width);
            let tile = &mut tiles[(y / TILE) * columns + x / TILE];
            let pixel = pixels.get_pixel(x as u32 * factor + factor / 2, y as u32 * factor + factor / 2);
            for c in 0..3 {
                tile.0[c] += f64::from(pixel[c]);
            }
            tile.1 += 1.0;
        }
        Self { tiles, columns, rows, pixels_per_tile: TILE as f64 * f64::from(factor) }
    }

    /// The mean colour of the thing near a pixel.
    pub(crate) fn at(&self, x: f64, y: f64) -> [f64; 3] {
        let (column, row) = ((x / self.pixels_per_tile) as i64, (y / self.pixels_per_tile) as i64);
        for radius in 1_i64.. {
            let (mut sum, mut count) = ([0.0; 3], 0.0);
            for r in (row - radius).max(0)..=(row + radius).min(self.rows as i64 - 1) {
                for c in (column - radius).max(0)..=(column + radius).min(self.columns as i64 - 1) {
                    let tile = &self.tiles[r as usize * self.columns + c as usize];
                    count += tile.1;
                    for (sum, value) in sum.iter_mut().zip(tile.0) {
                        *sum += value;
                    }
                }
            }
            let is_everything = radius as usize > self.columns.max(self.rows);
            if count >= 150.0 || is_everything {
                return sum.map(|s| s / f64::max(count, 1.0));
            }
        }
        [0.0; 3]
    }
}
