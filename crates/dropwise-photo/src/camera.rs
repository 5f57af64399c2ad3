//! The camera: where it stood, and what its lens does.
//!
//! A pinhole with radial and tangential distortion. Everything is fitted at once to the crossings of the pages, with weak
//! knowledge of what lenses are like, by Levenberg and Marquardt's method. What is known afterwards, and how well, is in
//! the covariance of the fit; the accuracy told of an outline is worked out from it.
//!
//! # Source
//! Zhang, "A flexible new technique for camera calibration", 2000; the distortion is Brown's, "Decentering distortion of
//! lenses", 1966, with three radial terms.

use dropwise_geometry::Point;
use nalgebra::{DMatrix, DVector, Matrix3, Rotation3, Vector3};

use crate::plane::Homography;

/// Numbers that describe one picture: logarithm of the focal length, principal point, three radial and two tangential
/// terms, a turn and a shift.
pub(crate) const PER_PICTURE: usize = 14;

/// A lens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lens {
    /// Focal length, pixels.
    pub focal_length: f64,
    /// Where its axis meets the picture, pixels.
    pub principal_point: [f64; 2],
    /// Radial distortion: k1, k2, k3.
    pub radial: [f64; 3],
    /// Tangential distortion: p1, p2.
    pub tangential: [f64; 2],
}

/// A camera in its place. Millimetres on and above the ground of the first page, z up.
#[derive(Clone, Copy, Debug)]
pub struct View {
    /// Its lens.
    pub lens: Lens,
    /// From the ground to the camera.
    pub rotation: Rotation3<f64>,
    /// Likewise, mm.
    pub translation: Vector3<f64>,
}

impl View {
    /// Where a point is seen, pixels.
    #[must_use]
    pub fn project(&self, x: f64, y: f64, z: f64) -> [f64; 2] {
        let p = self.rotation * Vector3::new(x, y, z) + self.translation;
        let (a, b) = self.distorted(p.x / p.z, p.y / p.z);
        let Lens { focal_length: f, principal_point: [cx, cy], .. } = self.lens;
        [f * a + cx, f * b + cy]
    }

    fn distorted(&self, a: f64, b: f64) -> (f64, f64) {
        let Lens { radial: [k1, k2, k3], tangential: [p1, p2], .. } = self.lens;
        let q = a * a + b * b;
        let radial = 1.0 + q * (k1 + q * (k2 + q * k3));
        (a * radial + 2.0 * p1 * a * b + p2 * (q + 2.0 * a * a), b * radial + p1 * (q + 2.0 * b * b) + 2.0 * p2 * a * b)
    }

    /// The point at height `z` that is seen at a pixel; `None` above the horizon and where the lens is not known.
    #[must_use]
    pub fn on_plane(&self, pixel: [f64; 2], z: f64) -> Option<Point> {
        let Lens { focal_length: f, principal_point: [cx, cy], .. } = self.lens;
        let (u, v) = ((pixel[0] - cx) / f, (pixel[1] - cy) / f);
        let (mut a, mut b) = (u, v);
        for _ in 0..40 {
            let (x, y) = self.distorted(a, b);
            let (dx, dy) = (u - x, v - y);
            a += dx;
            b += dy;
            if dx.hypot(dy) < 1e-12 {
                break;
            }
        }
        let (x, y) = self.distorted(a, b);
        let miss = (u - x).hypot(v - y);
        if miss.is_nan() || miss > 1e-7 {
            return None;
        }
        let ray = self.rotation.inverse() * Vector3::new(a, b, 1.0);
        let eye = self.eye();
        let t = (z - eye.z) / ray.z;
        (t > 0.0 && ray.z < -0.05).then(|| Point::new(eye.x + t * ray.x, eye.y + t * ray.y))
    }

    /// Where the camera is, mm.
    #[must_use]
    pub fn eye(&self) -> Vector3<f64> {
        -(self.rotation.inverse() * self.translation)
    }

    /// Angle between its axis and the perpendicular, degrees.
    #[must_use]
    pub fn tilt_deg(&self) -> f64 {
        let axis = self.rotation.inverse() * Vector3::z();
        (-axis.z).clamp(-1.0, 1.0).acos().to_degrees()
    }

    /// With the numbers that describe it changed by a little.
    pub(crate) fn moved(&self, by: &[f64]) -> Self {
        let Lens { focal_length, principal_point: [cx, cy], radial: [k1, k2, k3], tangential: [p1, p2] } = self.lens;
        Self {
            lens: Lens {
                focal_length: focal_length * by[0].exp(),
                principal_point: [cx + by[1], cy + by[2]],
                radial: [k1 + by[3], k2 + by[4], k3 + by[5]],
                tangential: [p1 + by[6], p2 + by[7]],
            },
            rotation: Rotation3::new(Vector3::new(by[8], by[9], by[10])) * self.rotation,
            translation: self.translation + Vector3::new(by[11], by[12], by[13]),
        }
    }

    /// From a homography that sends the ground to the picture, for a lens without distortion.
    fn from_homography(lens: Lens, homography: &Homography) -> Self {
        let Lens { focal_length: f, principal_point: [cx, cy], .. } = lens;
        let inverse = Matrix3::new(1.0 / f, 0.0, -cx / f, 0.0, 1.0 / f, -cy / f, 0.0, 0.0, 1.0);
        let m = inverse * homography.0;
        let scale = 2.0 / (m.column(0).norm() + m.column(1).norm());
        // The ground lies before the camera.
        let scale = if m[(2, 2)] < 0.0 { -scale } else { scale };
        let (r1, r2): (Vector3<f64>, Vector3<f64>) = (m.column(0) * scale, m.column(1) * scale);
        let rough = Matrix3::from_columns(&[r1, r2, r1.cross(&r2)]);
        Self { lens, rotation: Rotation3::from_matrix(&rough), translation: m.column(2) * scale }
    }
}

/// What is known of lenses before anything is measured: standard deviations of the numbers that describe one.
///
/// # Source
/// From memory of calibrations of telephones and compact cameras: distortion terms of about a tenth, axes within a few
/// hundredths of the picture. They matter only where the sheet says little.
fn prior_of_lens(width: f64, height: f64, knows_focal_length: bool) -> [f64; 8] {
    let size = width.max(height);
    [if knows_focal_length { 0.06 } else { 0.2 }, 0.02 * size, 0.02 * size, 0.12, 0.06, 0.02, 0.001, 0.001]
}

/// How far two pictures by one camera may differ: focusing moves the lens a little.
const SAME_CAMERA: [f64; 8] = [0.01, 3.0, 3.0, 0.005, 0.005, 0.002, 0.0002, 0.0002];

/// A crossing: mm on its page, pixels in the picture.
pub type Sighted = ([f64; 2], [f64; 2]);

/// A picture to be fitted.
#[derive(Clone, Debug)]
pub struct Sighting {
    /// Pixels across and down.
    pub size: (u32, u32),
    /// Focal length in pixels, if the camera told it.
    pub focal_length: Option<f64>,
    /// For each page seen, its index and its crossings: mm on the page, pixels in the picture.
    pub pages: Vec<(usize, Vec<Sighted>)>,
}

/// Cameras fitted to their pictures.
#[derive(Clone, Debug)]
pub struct Calibration {
    /// One for each picture.
    pub views: Vec<View>,
    /// Where each page lies on the ground of the first: x, y in mm, turn in radians.
    pub pages: Vec<[f64; 3]>,
    /// Covariance of all numbers: those of each picture, then three for each page but the first.
    pub(crate) covariance: DMatrix<f64>,
    /// Standard deviation of a crossing along one axis, pixels, from what the fit leaves over.
    pub sigma: f64,
    /// Crossings used.
    pub used: usize,
    /// Root mean square of what the fit leaves over, mm on the ground.
    pub residual_mm: f64,
}

impl Calibration {
    /// Fits cameras and pages to all crossings. `None` when there are too few or the fit runs off.
    #[must_use]
    pub fn fit(sightings: &[Sighting], page_count: usize) -> Option<Self> {
        let mut state = State::start(sightings, page_count)?;
        let mut sigma = 0.2;
        for round in 0..4 {
            state.solve(sigma)?;
            let squares: Vec<f64> =
                state.observations.iter().map(|o| state.residual(o)).map(|[u, v]| u * u + v * v).collect();
            let mut sorted = squares.clone();
            sorted.sort_by(f64::total_cmp);
            // Half of the squared lengths of normal residuals are below 2 ln 2 variances.
            let robust = (sorted[sorted.len() / 2] / (2.0 * std::f64::consts::LN_2)).sqrt();
            let limit = (4.0 * robust.max(0.01)).powi(2);
            if round < 3 {
                let mut squares = squares.iter();
                state.observations.retain(|_| squares.next().is_some_and(|&s| s <= limit));
            }
            let count = 2.0 * state.observations.len() as f64;
            let kept: f64 = state.observations.iter().map(|o| state.residual(o)).map(|[u, v]| u * u + v * v).sum();
            let free = (count - state.numbers() as f64).max(count / 4.0);
            // Crossings next to each other share part of their error, and no picture is better than this.
            sigma = (kept / free).sqrt().max(0.02);
        }
        state.finish(sigma)
    }
}

struct Observation {
    picture: usize,
    page: usize,
    on_page: [f64; 2],
    pixel: [f64; 2],
}

struct State<'a> {
    sightings: &'a [Sighting],
    observations: Vec<Observation>,
    views: Vec<View>,
    pages: Vec<[f64; 3]>,
    priors: Vec<(Lens, [f64; 8])>,
}

impl<'a> State<'a> {
    fn start(sightings: &'a [Sighting], page_count: usize) -> Option<Self> {
        let mut pages: Vec<Option<[f64; 3]>> = vec![None; page_count];
        *pages.first_mut()? = Some([0.0; 3]);
        let mut views: Vec<Option<View>> = vec![None; sightings.len()];
        let mut priors = Vec::new();
        for sighting in sightings {
            let (width, height) = (f64::from(sighting.size.0), f64::from(sighting.size.1));
            // 26 mm on film, the usual main camera of a telephone, is 0.75 of the longer side.
            let focal_length = sighting.focal_length.unwrap_or(0.8 * width.max(height));
            let principal_point = [(width - 1.0) / 2.0, (height - 1.0) / 2.0];
            let lens = Lens { focal_length, principal_point, radial: [0.0; 3], tangential: [0.0; 2] };
            priors.push((lens, prior_of_lens(width, height, sighting.focal_length.is_some())));
        }
        // Pages and pictures are placed by each other until no more can be.
        for _ in 0..page_count + sightings.len() {
            for (picture, sighting) in sightings.iter().enumerate() {
                let placed = sighting.pages.iter().filter_map(|(page, points)| Some((pages[*page]?, points)));
                let pairs: Vec<_> = placed
                    .flat_map(|(place, points)| {
                        points.iter().map(move |(on_page, pixel)| (on_ground(place, *on_page), *pixel))
                    })
                    .collect();
                let Some(homography) = Homography::fit(&pairs) else { continue };
                let view = View::from_homography(priors[picture].0, &homography);
                views[picture] = Some(view);
                for (page, points) in &sighting.pages {
                    if pages[*page].is_none() {
                        pages[*page] = place_page(&view, points);
                    }
                }
            }
        }
        let observations = sightings
            .iter()
            .enumerate()
            .flat_map(|(picture, sighting)| {
                sighting.pages.iter().flat_map(move |(page, points)| {
                    points.iter().map(move |&(on_page, pixel)| Observation { picture, page: *page, on_page, pixel })
                })
            })
            .collect();
        Some(Self {
            sightings,
            observations,
            views: views.into_iter().collect::<Option<_>>()?,
            pages: pages.into_iter().collect::<Option<_>>()?,
            priors,
        })
    }

    fn numbers(&self) -> usize {
        PER_PICTURE * self.views.len() + 3 * (self.pages.len() - 1)
    }

    fn residual(&self, observation: &Observation) -> [f64; 2] {
        residual(&self.views[observation.picture], self.pages[observation.page], observation)
    }

    /// Weighted residuals and their derivatives, as normal equations, and the sum of squares.
    fn normal_equations(&self, sigma: f64) -> (DMatrix<f64>, DVector<f64>, f64) {
        let n = self.numbers();
        let (mut normal, mut right, mut cost) = (DMatrix::<f64>::zeros(n, n), DVector::<f64>::zeros(n), 0.0);
        let weight = 1.0 / (sigma * sigma);
        for observation in &self.observations {
            let here = self.residual(observation);
            cost += weight * (here[0] * here[0] + here[1] * here[1]);
            let columns = self.derivatives(observation);
            for (i, a) in &columns {
                right[*i] -= weight * (a[0] * here[0] + a[1] * here[1]);
                for (j, b) in &columns {
                    normal[(*i, *j)] += weight * (a[0] * b[0] + a[1] * b[1]);
                }
            }
        }
        for (row, value) in self.prior_rows() {
            cost += value * value;
            for &(i, a) in &row {
                right[i] -= a * value;
                for &(j, b) in &row {
                    normal[(i, j)] += a * b;
                }
            }
        }
        (normal, right, cost)
    }

    fn cost(&self, sigma: f64) -> f64 {
        let seen: f64 = self.observations.iter().map(|o| self.residual(o)).map(|[u, v]| u * u + v * v).sum();
        seen / (sigma * sigma) + self.prior_rows().iter().map(|(_, value)| value * value).sum::<f64>()
    }

    fn derivatives(&self, observation: &Observation) -> Vec<(usize, [f64; 2])> {
        let (view, place) = (&self.views[observation.picture], self.pages[observation.page]);
        let mut columns = Vec::with_capacity(PER_PICTURE + 3);
        for k in 0..PER_PICTURE {
            let column = central(STEPS[k], |h| {
                let mut by = [0.0; PER_PICTURE];
                by[k] = h;
                residual(&view.moved(&by), place, observation)
            });
            columns.push((PER_PICTURE * observation.picture + k, column));
        }
        if observation.page > 0 {
            let first = PER_PICTURE * self.views.len() + 3 * (observation.page - 1);
            for k in 0..3 {
                let column = central([0.01, 0.01, 1e-5][k], |h| {
                    let mut place = place;
                    place[k] += h;
                    residual(view, place, observation)
                });
                columns.push((first + k, column));
            }
        }
        columns
    }

    /// What is known beforehand, as rows of a linear system: coefficients, and the value in standard deviations.
    fn prior_rows(&self) -> Vec<(Vec<(usize, f64)>, f64)> {
        let numbers = |lens: &Lens| {
            let Lens { focal_length, principal_point: [cx, cy], radial: [k1, k2, k3], tangential: [p1, p2] } = *lens;
            [focal_length.ln(), cx, cy, k1, k2, k3, p1, p2]
        };
        let mut rows = Vec::new();
        for (picture, view) in self.views.iter().enumerate() {
            let at = PER_PICTURE * picture;
            // A later picture by a camera seen before is tied to the first by it.
            let alike = |other: &Sighting| {
                other.size == self.sightings[picture].size && other.focal_length == self.sightings[picture].focal_length
            };
            let first = self.sightings[..picture].iter().position(alike);
            let here = numbers(&view.lens);
            let (known, widths) = &self.priors[picture];
            let known = numbers(known);
            for k in 0..8 {
                rows.push(match first {
                    None => (vec![(at + k, 1.0 / widths[k])], (here[k] - known[k]) / widths[k]),
                    Some(first) => {
                        let there = numbers(&self.views[first].lens);
                        let width = SAME_CAMERA[k];
                        let row = vec![(at + k, 1.0 / width), (PER_PICTURE * first + k, -1.0 / width)];
                        (row, (here[k] - there[k]) / width)
                    }
                });
            }
        }
        rows
    }

    fn moved(&self, step: &DVector<f64>) -> (Vec<View>, Vec<[f64; 3]>) {
        let values = step.as_slice();
        let views = self.views.iter().zip(values.chunks(PER_PICTURE)).map(|(view, by)| view.moved(by)).collect();
        let rest = &values[PER_PICTURE * self.views.len()..];
        let pages = self.pages.iter().enumerate().map(|(index, page)| match index {
            0 => *page,
            _ => std::array::from_fn(|k| page[k] + rest[3 * (index - 1) + k]),
        });
        (views, pages.collect())
    }

    fn solve(&mut self, sigma: f64) -> Option<()> {
        let mut damping = 1e-3;
        for _ in 0..60 {
            let (normal, right, cost) = self.normal_equations(sigma);
            let mut gained = None;
            for _ in 0..12 {
                let mut damped = normal.clone();
                for i in 0..damped.nrows() {
                    damped[(i, i)] *= 1.0 + damping;
                }
                let step = damped.cholesky()?.solve(&right);
                let before = (std::mem::take(&mut self.views), std::mem::take(&mut self.pages));
                (self.views, self.pages) =
                    Self { views: before.0.clone(), pages: before.1.clone(), ..self.borrowed() }.moved(&step);
                let now = self.cost(sigma);
                if now.is_finite() && now <= cost {
                    damping = (damping / 8.0_f64).max(1e-12);
                    gained = Some(cost - now);
                    break;
                }
                (self.views, self.pages) = before;
                damping *= 6.0;
            }
            match gained {
                Some(gain) if gain > 1e-7 * (1.0 + cost) => {}
                _ => return Some(()),
            }
        }
        Some(())
    }

    fn borrowed(&self) -> State<'a> {
        State {
            sightings: self.sightings,
            observations: Vec::new(),
            views: Vec::new(),
            pages: Vec::new(),
            priors: self.priors.clone(),
        }
    }

    fn finish(self, sigma: f64) -> Option<Calibration> {
        let (normal, _, _) = self.normal_equations(sigma);
        let covariance = normal.cholesky()?.inverse();
        let mut sum = 0.0;
        for observation in &self.observations {
            let view = &self.views[observation.picture];
            let there = on_ground(self.pages[observation.page], observation.on_page);
            let seen = view.on_plane(observation.pixel, 0.0)?;
            sum += (seen.x - there[0]).powi(2) + (seen.y - there[1]).powi(2);
        }
        let used = self.observations.len();
        Some(Calibration {
            views: self.views,
            pages: self.pages,
            covariance,
            sigma,
            used,
            residual_mm: (sum / used as f64).sqrt(),
        })
    }
}

/// Steps for derivatives by differences.
pub(crate) const STEPS: [f64; PER_PICTURE] =
    [1e-4, 0.1, 0.1, 1e-4, 1e-4, 1e-4, 1e-5, 1e-5, 1e-5, 1e-5, 1e-5, 0.01, 0.01, 0.01];

fn central(step: f64, value: impl Fn(f64) -> [f64; 2]) -> [f64; 2] {
    let (plus, minus) = (value(step), value(-step));
    [(plus[0] - minus[0]) / (2.0 * step), (plus[1] - minus[1]) / (2.0 * step)]
}

fn residual(view: &View, place: [f64; 3], observation: &Observation) -> [f64; 2] {
    let [x, y] = on_ground(place, observation.on_page);
    let seen = view.project(x, y, 0.0);
    [seen[0] - observation.pixel[0], seen[1] - observation.pixel[1]]
}

/// Where a point of a page lies on the ground.
pub(crate) fn on_ground(place: [f64; 3], on_page: [f64; 2]) -> [f64; 2] {
    let (sin, cos) = place[2].sin_cos();
    [place[0] + cos * on_page[0] - sin * on_page[1], place[1] + sin * on_page[0] + cos * on_page[1]]
}

/// Shift and turn that lay a page on where it is seen (least squares in closed form).
fn place_page(view: &View, points: &[([f64; 2], [f64; 2])]) -> Option<[f64; 3]> {
    let pairs: Vec<([f64; 2], Point)> =
        points.iter().filter_map(|(p, pixel)| Some((*p, view.on_plane(*pixel, 0.0)?))).collect();
    let count = pairs.len() as f64;
    if pairs.len() < 4 {
        return None;
    }
    let sums = pairs.iter().fold([0.0; 4], |s, (p, g)| [s[0] + p[0], s[1] + p[1], s[2] + g.x, s[3] + g.y]);
    let [px, py, gx, gy] = sums.map(|sum| sum / count);
    let (mut cos, mut sin) = (0.0, 0.0);
    for (p, g) in &pairs {
        let (a, b, c, d) = (p[0] - px, p[1] - py, g.x - gx, g.y - gy);
        cos += a * c + b * d;
        sin += a * d - b * c;
    }
    let turn = sin.atan2(cos);
    let moved = on_ground([0.0, 0.0, turn], [px, py]);
    Some([gx - moved[0], gy - moved[1], turn])
}
