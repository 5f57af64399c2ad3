//! What accuracy can be expected, from the fit itself.
//!
//! The covariance of the camera is carried through to every place on the outline; shifts and turns of the whole, which
//! change no dimension, are taken out. To that come the printed scale, the thickness and the edge itself.

use dropwise_geometry::Point;
use nalgebra::{DMatrix, DVector};

use crate::camera::{Calibration, PER_PICTURE, STEPS, View};

/// A place whose accuracy is asked for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Place {
    pub(crate) at: Point,
    /// Standard deviation of the edge there, mm.
    pub(crate) edge: f64,
    /// Whether it belongs to the outline, which shifts and turns are counted by.
    pub(crate) is_outline: bool,
}

/// What is uncertain beside the camera.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Doubts {
    /// Standard deviation of the printed scale, as a share.
    pub(crate) scale: f64,
    /// Of the thickness, mm.
    pub(crate) thickness: f64,
}

/// Standard deviations at each place, mm: of its distance from where it is drawn, along the worse axis, about.
pub(crate) fn deviations(calibration: &Calibration, places: &[Place], thickness: f64, doubts: &Doubts) -> Vec<f64> {
    let view = &calibration.views[0];
    let columns = PER_PICTURE + 2;
    let mut jacobian = DMatrix::<f64>::zeros(2 * places.len(), columns);
    for (k, place) in places.iter().enumerate() {
        let rows = derivatives(view, place.at, thickness);
        for (column, value) in rows.iter().enumerate() {
            jacobian[(2 * k, column)] = value[0];
            jacobian[(2 * k + 1, column)] = value[1];
        }
    }
    let mut covariance = DMatrix::<f64>::zeros(columns, columns);
    let camera = calibration.covariance.view((0, 0), (PER_PICTURE, PER_PICTURE));
    covariance.view_mut((0, 0), (PER_PICTURE, PER_PICTURE)).copy_from(&camera);
    covariance[(PER_PICTURE, PER_PICTURE)] = doubts.scale.powi(2);
    covariance[(PER_PICTURE + 1, PER_PICTURE + 1)] = doubts.thickness.powi(2);
    let count = places.iter().filter(|p| p.is_outline).count().max(1) as f64;
    let middle =
        places.iter().filter(|p| p.is_outline).fold((0.0, 0.0), |(x, y), p| (x + p.at.x / count, y + p.at.y / count));
    // Shift and turn: three columns, normal equations by the places of the outline alone.
    let rigid = |at: Point| {
        let (x, y) = (at.x - middle.0, at.y - middle.1);
        [[1.0, 0.0], [0.0, 1.0], [-y, x]]
    };
    let mut normal = nalgebra::Matrix3::<f64>::identity() * 1e-9;
    let mut right = DMatrix::<f64>::zeros(3, columns);
    for (k, place) in places.iter().enumerate().filter(|(_, p)| p.is_outline) {
        let basis = rigid(place.at);
        for i in 0..3 {
            for j in 0..3 {
                normal[(i, j)] += basis[i][0] * basis[j][0] + basis[i][1] * basis[j][1];
            }
            for column in 0..columns {
                right[(i, column)] +=
                    basis[i][0] * jacobian[(2 * k, column)] + basis[i][1] * jacobian[(2 * k + 1, column)];
            }
        }
    }
    let Some(inverse) = normal.try_inverse() else { return places.iter().map(|p| p.edge).collect() };
    let moved = DMatrix::from_fn(3, columns, |i, c| (0..3).map(|j| inverse[(i, j)] * right[(j, c)]).sum::<f64>());
    places
        .iter()
        .enumerate()
        .map(|(k, place)| {
            let basis = rigid(place.at);
            let mut variance = 0.0_f64;
            for axis in 0..2 {
                let row = DVector::from_fn(columns, |c, _| {
                    jacobian[(2 * k + axis, c)] - (0..3).map(|i| basis[i][axis] * moved[(i, c)]).sum::<f64>()
                });
                variance += row.dot(&(&covariance * &row));
            }
            (variance + place.edge * place.edge).sqrt()
        })
        .collect()
}

/// How a place moves with each number of the camera, with the scale, and with the thickness.
fn derivatives(view: &View, at: Point, thickness: f64) -> Vec<[f64; 2]> {
    let seen = |view: &View, x: f64, y: f64, z: f64| view.project(x, y, z);
    let h = 0.01;
    let difference = |a: [f64; 2], b: [f64; 2], by: f64| [(a[0] - b[0]) / by, (a[1] - b[1]) / by];
    let across = difference(seen(view, at.x + h, at.y, thickness), seen(view, at.x - h, at.y, thickness), 2.0 * h);
    let up = difference(seen(view, at.x, at.y + h, thickness), seen(view, at.x, at.y - h, thickness), 2.0 * h);
    let determinant = across[0] * up[1] - across[1] * up[0];
    // The pixel stays where it is, so the place moves against what the pixel would.
    let place = |pixel: [f64; 2]| {
        [
            -(pixel[0] * up[1] - pixel[1] * up[0]) / determinant,
            -(across[0] * pixel[1] - across[1] * pixel[0]) / determinant,
        ]
    };
    let mut rows: Vec<[f64; 2]> = (0..PER_PICTURE)
        .map(|k| {
            let mut by = [0.0; PER_PICTURE];
            by[k] = STEPS[k];
            let plus = seen(&view.moved(&by), at.x, at.y, thickness);
            by[k] = -STEPS[k];
            let minus = seen(&view.moved(&by), at.x, at.y, thickness);
            place(difference(plus, minus, 2.0 * STEPS[k]))
        })
        .collect();
    rows.push([at.x, at.y]);
    let high = seen(view, at.x, at.y, thickness + h);
    let low = seen(view, at.x, at.y, thickness - h);
    rows.push(place(difference(high, low, 2.0 * h)));
    rows
}
