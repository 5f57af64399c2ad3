//! Crossings of a scale sheet at sub-pixel accuracy.

use crate::raster::{Gray, sample};

/// Where the edges around a place meet: the point nearest to all their tangents, by weighted least squares, repeated with
/// the window moved until it stays. `None` where it wanders off or the edges run one way only.
///
/// # Source
/// Förstner and Gülch, "A fast operator for detection and precise location of distinct points, corners and centres of
/// circular features", 1987.
pub(crate) fn refine(gray: &Gray, start: [f64; 2], radius: f64) -> Option<[f64; 2]> {
    let mut at = start;
    let reach = radius.ceil() as i32;
    let margin = f64::from(reach) + 2.0;
    for _ in 0..20 {
        let (right, bottom) = (f64::from(gray.width()) - 1.0 - margin, f64::from(gray.height()) - 1.0 - margin);
        if at[0] < margin || at[1] < margin || at[0] > right || at[1] > bottom {
            return None;
        }
        let (mut xx, mut xy, mut yy, mut bx, mut by) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for v in -reach..=reach {
            for u in -reach..=reach {
                let (u, v) = (f64::from(u), f64::from(v));
                let distance = u.hypot(v);
                if distance > radius {
                    continue;
                }
                // Falls to zero at the rim, so that pixels do not jump in and out as the window moves.
                let weight = (1.0 - (distance / radius).powi(2)).powi(2);
                let (x, y) = (at[0] + u, at[1] + v);
                let gx = f64::from(sample(gray, x + 1.0, y) - sample(gray, x - 1.0, y));
                let gy = f64::from(sample(gray, x, y + 1.0) - sample(gray, x, y - 1.0));
                let along = gx * u + gy * v;
                xx += weight * gx * gx;
                xy += weight * gx * gy;
                yy += weight * gy * gy;
                bx += weight * gx * along;
                by += weight * gy * along;
            }
        }
        let determinant = xx * yy - xy * xy;
        let trace = xx + yy;
        // Roundness of the error ellipse, one for edges at right angles.
        if determinant <= 0.0 || 4.0 * determinant / (trace * trace) < 0.2 {
            return None;
        }
        let step = [(yy * bx - xy * by) / determinant, (xx * by - xy * bx) / determinant];
        at = [at[0] + step[0], at[1] + step[1]];
        if (at[0] - start[0]).hypot(at[1] - start[1]) > radius {
            return None;
        }
        if step[0].hypot(step[1]) < 0.002 {
            return Some(at);
        }
    }
    Some(at)
}

/// Standard deviation of the blur across the edge between two neighbouring crossings, pixels, and the brightness of both
/// sides. `None` where there is no clear edge.
pub(crate) fn edge(gray: &Gray, a: [f64; 2], b: [f64; 2]) -> Option<Edge> {
    let along = [b[0] - a[0], b[1] - a[1]];
    let length = along[0].hypot(along[1]);
    let normal = [-along[1] / length, along[0] / length];
    let reach = (0.4 * length).min(12.0);
    let step = 0.25;
    let count = (2.0 * reach / step) as usize;
    let profile: Vec<f64> = (0..=count)
        .map(|k| {
            let off = k as f64 * step - reach;
            let values = (0..9).map(|n| {
                let t = 0.25 + 0.5 * f64::from(n) / 8.0;
                f64::from(sample(gray, a[0] + t * along[0] + off * normal[0], a[1] + t * along[1] + off * normal[1]))
            });
            values.sum::<f64>() / 9.0
        })
        .collect();
    let ends = (count / 8).max(2);
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    let (low, high) = (mean(&profile[..ends]), mean(&profile[profile.len() - ends..]));
    let contrast = high - low;
    if contrast.abs() < 15.0 {
        return None;
    }
    // Where a tenth and nine tenths of the step are reached: 2.563 standard deviations apart for a Gaussian blur.
    let share: Vec<f64> = profile.iter().map(|v| (v - low) / contrast).collect();
    let cross = |level: f64| {
        let k = share.iter().position(|&v| v >= level)?;
        let before = *share.get(k.checked_sub(1)?)?;
        Some((k as f64 - 1.0 + (level - before) / (share[k] - before)) * step)
    };
    let (from, to) = (cross(0.15)?, cross(0.85)?);
    Some(Edge { blur: (to - from) / 2.0729, dark: low.min(high) })
}

/// An edge between two squares.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    /// Standard deviation of its blur, pixels.
    pub(crate) blur: f64,
    pub(crate) dark: f64,
}
