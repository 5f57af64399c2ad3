//! What discs of the thing look like, so that a hole can be told from its grain.

use dropwise_geometry::{Outline, Point, Vector};

use crate::edges::Scene;
use crate::raster::sample_colour;
use crate::reading::Hole;

/// Discs looked at.
const DISCS: usize = 300;
/// A hole is farther from the thing's colour than discs of the thing are, by so many of their standard deviations.
const STRANGE: f64 = 5.5;

/// Places on the thing.
pub(crate) struct Looks {
    places: Vec<Point>,
    ring: Outline,
}

impl Looks {
    /// `is_thing` says of a pixel whether it shows the thing and no large hole in it.
    pub(crate) fn new(scene: &Scene<'_>, ring: &Outline, is_thing: &dyn Fn([f64; 2]) -> bool) -> Self {
        let bounds = ring.bounds();
        // Evenly strewn, without chance (Halton's sequence in bases 2 and 3).
        let halton = |mut index: usize, base: usize| {
            let (mut share, mut value) = (1.0, 0.0);
            while index > 0 {
                share /= base as f64;
                value += share * (index % base) as f64;
                index /= base;
            }
            value
        };
        let places = (1..20 * DISCS)
            .map(|k| {
                Point::new(bounds.min.x + halton(k, 2) * bounds.width(), bounds.min.y + halton(k, 3) * bounds.height())
            })
            .filter(|&at| ring.contains(at) && is_thing(scene.view.project(at.x, at.y, scene.thickness)))
            .take(DISCS);
        Self { places: places.collect(), ring: ring.clone() }
    }

    /// Whether a hole looks unlike discs of its size on the thing.
    pub(crate) fn are_strange(&self, hole: &Hole, scene: &Scene<'_>) -> bool {
        let bounds = hole.outline.bounds();
        let radius = 0.4 * bounds.width().min(bounds.height());
        let rim = |at: Point| {
            (0..8).all(|k| {
                self.ring.contains(at + Vector::from_angle(f64::from(k) * std::f64::consts::FRAC_PI_4) * (radius + 3.0))
            })
        };
        let discs: Vec<[f64; 3]> =
            self.places.iter().filter(|&&at| rim(at)).filter_map(|&at| mean_colour(scene, at, radius)).collect();
        let Some(here) = mean_colour(scene, bounds.center(), radius) else { return false };
        if discs.len() < 12 {
            return true;
        }
        let squares = (0..3).map(|c| {
            let mut values: Vec<f64> = discs.iter().map(|v| v[c]).collect();
            values.sort_by(f64::total_cmp);
            let middle = values[values.len() / 2];
            let mut off: Vec<f64> = values.iter().map(|v| (v - middle).abs()).collect();
            off.sort_by(f64::total_cmp);
            // Holes are among the discs, so the spread is taken from the nearer ones.
            let spread = (1.4826 * off[off.len() / 2]).max(0.008);
            ((here[c] - middle) / spread).powi(2)
        });
        squares.sum::<f64>() > STRANGE * STRANGE
    }
}

/// Mean colour of a disc relative to the thing around it: brightness, red and blue against green, as logarithms.
fn mean_colour(scene: &Scene<'_>, center: Point, radius: f64) -> Option<[f64; 3]> {
    let step = (radius / 5.0).max(0.2);
    let reach = (radius / step) as i32;
    let (mut sum, mut count) = ([0.0_f64; 3], 0.0);
    for i in -reach..=reach {
        for j in -reach..=reach {
            let by = Vector::new(f64::from(i) * step, f64::from(j) * step);
            if by.length() > radius {
                continue;
            }
            let at = center + by;
            let [u, v] = scene.view.project(at.x, at.y, scene.thickness);
            let colour = sample_colour(scene.pixels, u, v)?;
            for c in 0..3 {
                sum[c] += f64::from(colour[c]);
            }
            count += 1.0;
        }
    }
    let [u, v] = scene.view.project(center.x, center.y, scene.thickness);
    let reference = scene.reference.at(u, v);
    let [r, g, b]: [f64; 3] = std::array::from_fn(|c| (sum[c] / count + 8.0).ln() - (reference[c] + 8.0).ln());
    Some([(r + 2.0 * g + b) / 4.0, r - g, b - g])
}
