//! Maps between a plane and a picture, before the lens is known: a homography and what it misses.

use nalgebra::{DMatrix, DVector, Matrix3, Vector3};

/// Sends points of one plane to another: x' = (h11 x + h12 y + h13) / (h31 x + h32 y + h33), and so on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Homography(pub Matrix3<f64>);

impl Homography {
    /// The one that sends each first point nearest to its second, by the direct linear transformation with both sets
    /// normalized. `None` for fewer than four points, or points on a line.
    ///
    /// # Source
    /// Hartley and Zisserman, "Multiple view geometry in computer vision", 2nd ed., algorithm 4.2.
    #[must_use]
    pub fn fit(pairs: &[([f64; 2], [f64; 2])]) -> Option<Self> {
        if pairs.len() < 4 {
            return None;
        }
        let from = normalizer(pairs.iter().map(|pair| pair.0))?;
        let to = normalizer(pairs.iter().map(|pair| pair.1))?;
        let mut normal = DMatrix::<f64>::zeros(9, 9);
        for (a, b) in pairs {
            let p = from * Vector3::new(a[0], a[1], 1.0);
            let q = to * Vector3::new(b[0], b[1], 1.0);
            for row in [
                [p.x, p.y, 1.0, 0.0, 0.0, 0.0, -q.x * p.x, -q.x * p.y, -q.x],
                [0.0, 0.0, 0.0, p.x, p.y, 1.0, -q.y * p.x, -q.y * p.y, -q.y],
            ] {
                for i in 0..9 {
                    for j in 0..9 {
                        normal[(i, j)] += row[i] * row[j];
                    }
                }
            }
        }
        let eigen = normal.symmetric_eigen();
        let least = eigen.eigenvalues.iter().enumerate().min_by(|a, b| a.1.total_cmp(b.1))?.0;
        let h = eigen.eigenvectors.column(least);
        let h = Matrix3::new(h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], h[8]);
        let h = to.try_inverse()? * h * from;
        h.iter().all(|v| v.is_finite()).then_some(Self(h / h.norm()))
    }

    /// Where a point goes.
    #[must_use]
    pub fn map(&self, at: [f64; 2]) -> [f64; 2] {
        let p = self.0 * Vector3::new(at[0], at[1], 1.0);
        [p.x / p.z, p.y / p.z]
    }
}

/// Moves points to the origin and scales them to a mean distance of one.
fn normalizer(points: impl Iterator<Item = [f64; 2]> + Clone) -> Option<Matrix3<f64>> {
    let count = points.clone().count() as f64;
    let (sx, sy) = points.clone().fold((0.0, 0.0), |(x, y), p| (x + p[0], y + p[1]));
    let (mx, my) = (sx / count, sy / count);
    let mean = points.map(|p| (p[0] - mx).hypot(p[1] - my)).sum::<f64>() / count;
    (mean > 0.0).then(|| {
        let s = 1.0 / mean;
        Matrix3::new(s, 0.0, -s * mx, 0.0, s, -s * my, 0.0, 0.0, 1.0)
    })
}

/// A homography with a cubic polynomial on top, which takes up the lens as far as the points reach.
pub(crate) struct LooseMap {
    homography: Homography,
    middle: [f64; 2],
    size: f64,
    terms: [DVector<f64>; 2],
}

impl LooseMap {
    pub(crate) fn fit(pairs: &[([f64; 2], [f64; 2])]) -> Option<Self> {
        let homography = Homography::fit(pairs)?;
        let count = pairs.len() as f64;
        let middle = [0, 1].map(|k| pairs.iter().map(|pair| pair.0[k]).sum::<f64>() / count);
        let size = pairs.iter().map(|(a, _)| (a[0] - middle[0]).hypot(a[1] - middle[1])).fold(1.0, f64::max);
        let mut map = Self { homography, middle, size, terms: [DVector::zeros(10), DVector::zeros(10)] };
        if pairs.len() < 30 {
            return Some(map);
        }
        let mut normal = DMatrix::<f64>::identity(10, 10) * 1e-6;
        let mut right = [DVector::zeros(10), DVector::zeros(10)];
        for (a, b) in pairs {
            let powers = map.powers(*a);
            let straight = homography.map(*a);
            normal += &powers * powers.transpose();
            for k in 0..2 {
                right[k] += &powers * (b[k] - straight[k]);
            }
        }
        let solver = normal.cholesky()?;
        map.terms = right.map(|r| solver.solve(&r));
        Some(map)
    }

    fn powers(&self, at: [f64; 2]) -> DVector<f64> {
        let (x, y) = ((at[0] - self.middle[0]) / self.size, (at[1] - self.middle[1]) / self.size);
        DVector::from_vec(vec![1.0, x, y, x * x, x * y, y * y, x * x * x, x * x * y, x * y * y, y * y * y])
    }

    pub(crate) fn map(&self, at: [f64; 2]) -> [f64; 2] {
        let powers = self.powers(at);
        let straight = self.homography.map(at);
        [straight[0] + self.terms[0].dot(&powers), straight[1] + self.terms[1].dot(&powers)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_homography_is_found_again() {
        let true_one = Homography(Matrix3::new(1.2, 0.1, 300.0, -0.2, 0.9, 80.0, 1e-4, -2e-4, 1.0));
        let points: Vec<[f64; 2]> = (0..25).map(|i| [f64::from(i % 5) * 40.0, f64::from(i / 5) * 60.0]).collect();
        let pairs: Vec<_> = points.iter().map(|&p| (p, true_one.map(p))).collect();
        let found = Homography::fit(&pairs).unwrap();
        for p in points {
            let (a, b) = (found.map(p), true_one.map(p));
            assert!((a[0] - b[0]).hypot(a[1] - b[1]) < 1e-6);
        }
        assert!(Homography::fit(&pairs[..3]).is_none());
    }
}
