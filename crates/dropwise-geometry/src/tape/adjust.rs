//! Least squares for points of which distances are measured.

use crate::Point;

/// Steps at most; from a start within a few hundredths of the lengths, five to ten do.
const MAX_STEPS: usize = 200;

/// Moves the points so that the sum of squares of (distance - measured) becomes least. The first point stays, the second
/// keeps its y.
///
/// # Source
/// Gauss-Newton with the damping of Levenberg and Marquardt; textbook method, from memory.
pub(super) fn least_squares(points: &mut [Point], measured: &[((usize, usize), f64)]) {
    let unknowns = 2 * points.len() - 3;
    let mut damping = 1e-6;
    let mut error = sum_of_squares(points, measured);
    for _ in 0..MAX_STEPS {
        let (normal, right) = normal_equations(points, measured, unknowns);
        let mut damped = normal.clone();
        for (i, row) in damped.iter_mut().enumerate() {
            // The sum keeps a row of zeros solvable.
            row[i] += damping * (row[i] + 1e-12);
        }
        let Some(step) = solve(damped, right) else {
            damping *= 10.0;
            continue;
        };
        let moved: Vec<Point> = (0..points.len())
            .map(|i| {
                let by = |axis: usize| index_of(i, axis).map_or(0.0, |k| step[k]);
                Point::new(points[i].x + by(0), points[i].y + by(1))
            })
            .collect();
        let moved_error = sum_of_squares(&moved, measured);
        if moved_error <= error {
            points.copy_from_slice(&moved);
            let size = points.iter().map(|p| p.x.abs().max(p.y.abs())).fold(0.0, f64::max);
            let is_done = step.iter().all(|s| s.abs() <= 1e-13 * size);
            error = moved_error;
            damping = (damping / 10.0).max(1e-15);
            if is_done {
                return;
            }
        } else {
            damping *= 10.0;
            if damping > 1e12 {
                return;
            }
        }
    }
}

fn sum_of_squares(points: &[Point], measured: &[((usize, usize), f64)]) -> f64 {
    measured.iter().map(|&((a, b), length)| (points[a].distance(points[b]) - length).powi(2)).sum()
}

/// Where a coordinate stands among the unknowns; `None` for the three that are held.
fn index_of(point: usize, axis: usize) -> Option<usize> {
    match (point, axis) {
        (0, _) | (1, 1) => None,
        (1, _) => Some(0),
        _ => Some(2 * point - 3 + axis),
    }
}

fn normal_equations(
    points: &[Point],
    measured: &[((usize, usize), f64)],
    unknowns: usize,
) -> (Vec<Vec<f64>>, Vec<f64>) {
    let mut normal = vec![vec![0.0; unknowns]; unknowns];
    let mut right = vec![0.0; unknowns];
    for &((a, b), length) in measured {
        let along = points[b] - points[a];
        let Some(unit) = along.unit() else { continue };
        let slopes = [(a, 0, -unit.x), (a, 1, -unit.y), (b, 0, unit.x), (b, 1, unit.y)];
        let slopes = slopes.map(|(point, axis, slope)| (index_of(point, axis), slope));
        let miss = length - along.length();
        for (i, slope) in slopes {
            let Some(i) = i else { continue };
            right[i] += slope * miss;
            for (j, other) in slopes {
                if let Some(j) = j {
                    normal[i][j] += slope * other;
                }
            }
        }
    }
    (normal, right)
}

/// Gaussian elimination with pivoting; `None` for a singular matrix.
fn solve(mut matrix: Vec<Vec<f64>>, mut right: Vec<f64>) -> Option<Vec<f64>> {
    let n = right.len();
    for column in 0..n {
        let pivot = (column..n).max_by(|&a, &b| matrix[a][column].abs().total_cmp(&matrix[b][column].abs()))?;
        if matrix[pivot][column] == 0.0 || !matrix[pivot][column].is_finite() {
            return None;
        }
        matrix.swap(column, pivot);
        right.swap(column, pivot);
        let (above, below) = matrix.split_at_mut(column + 1);
        let top = &above[column];
        let top_right = right[column];
        for (row, value) in below.iter_mut().zip(&mut right[column + 1..]) {
            let factor = row[column] / top[column];
            for (cell, above) in row[column..].iter_mut().zip(&top[column..]) {
                *cell -= factor * above;
            }
            *value -= factor * top_right;
        }
    }
    for column in (0..n).rev() {
        let known: f64 = (column + 1..n).map(|k| matrix[column][k] * right[k]).sum();
        right[column] = (right[column] - known) / matrix[column][column];
    }
    right.iter().all(|x| x.is_finite()).then_some(right)
}
