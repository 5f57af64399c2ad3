//! Where the edge of the thing lies, at sub-pixel accuracy.
//!
//! Around a rough outline, the picture is sampled along lines across it. Colours there are counted relative to the colour
//! of the thing nearby, so that uneven light does not matter. What the thing looks like is learnt well inside, what lies
//! around it (ground, shadow, cut faces) well outside. The edge is where going outwards the thing ends: the line of such
//! places with the greatest evidence, without jumps, is found by dynamic programming, and each is then placed between
//! pixels by fitting a blurred step.

use dropwise_geometry::{Point, Vector};
use image::RgbImage;
use rayon::prelude::*;

use crate::camera::View;
use crate::raster::sample_colour;
use crate::segment::Reference;

/// A place on an outline that is looked at, mm at the height of the thing's face.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Station {
    pub(crate) at: Point,
    /// Away from the thing, of length one.
    pub(crate) outward: Vector,
}

/// What was found at a station.
#[derive(Clone, Copy, Debug)]
pub(crate) struct EdgePoint {
    pub(crate) at: Point,
    /// Standard deviation across the edge, mm.
    pub(crate) sigma: f64,
    /// How far the contrast of the edge rises above the grain around it, in standard deviations.
    pub(crate) contrast: f64,
}

/// What is seen from one camera.
pub(crate) struct Scene<'a> {
    pub(crate) pixels: &'a RgbImage,
    pub(crate) view: View,
    pub(crate) reference: &'a Reference,
    /// Standard deviation of the blur, pixels.
    pub(crate) blur: f64,
    /// Height of the face, mm.
    pub(crate) thickness: f64,
    /// Colour of the cut face, relative to the thing, once it is known.
    pub(crate) wall: Option<[f64; 3]>,
}

/// How a line of stations is looked at.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Search {
    /// Farthest inwards and outwards, mm.
    pub(crate) inwards: f64,
    pub(crate) outwards: f64,
    /// Half the length along the edge that is averaged, mm.
    pub(crate) half_length: f64,
    /// Cost of moving the edge by one millimetre between stations a millimetre apart.
    pub(crate) stiffness: f64,
}

/// Colours relative to the thing: brightness, red and blue against green, as logarithms.
type Relative = [f64; 3];

struct Profile {
    values: Vec<Relative>,
}

/// How often colours come up: counts in boxes, smoothed.
struct Histogram {
    boxes: Vec<f64>,
    total: f64,
}

const BRIGHT: usize = 48;
const TINT: usize = 21;

impl Histogram {
    fn new() -> Self {
        Self { boxes: vec![0.0; BRIGHT * TINT * TINT], total: 0.0 }
    }

    fn index(value: &Relative) -> usize {
        let bright = ((value[0] / 0.06 + BRIGHT as f64 * 0.6).max(0.0) as usize).min(BRIGHT - 1);
        let tint = |v: f64| ((v / 0.035 + TINT as f64 / 2.0).max(0.0) as usize).min(TINT - 1);
        (bright * TINT + tint(value[1])) * TINT + tint(value[2])
    }

    fn add(&mut self, value: &Relative) {
        self.boxes[Self::index(value)] += 1.0;
        self.total += 1.0;
    }

    /// Spread over neighbouring boxes, so that few samples tell of many.
    fn smoothed(mut self) -> Self {
        for (stride, length) in [(TINT * TINT, BRIGHT), (TINT, TINT), (1, TINT)] {
            let old = self.boxes.clone();
            for (index, value) in self.boxes.iter_mut().enumerate() {
                let place = index / stride % length;
                let before = if place > 0 { old[index - stride] } else { 0.0 };
                let after = if place + 1 < length { old[index + stride] } else { 0.0 };
                *value = 0.5 * old[index] + 0.25 * (before + after);
            }
        }
        self
    }

    fn log_share(&self, value: &Relative) -> f64 {
        let boxes = self.boxes.len() as f64;
        ((self.boxes[Self::index(value)] + 0.02 * self.total / boxes + 1e-3) / (self.total + 1.0)).ln()
    }
}

impl Scene<'_> {
    /// Millimetres that a pixel spans at a place.
    pub(crate) fn millimetres_per_pixel(&self, at: Point) -> f64 {
        let [u, v] = self.view.project(at.x, at.y, self.thickness);
        let [u1, v1] = self.view.project(at.x + 1.0, at.y, self.thickness);
        let [u2, v2] = self.view.project(at.x, at.y + 1.0, self.thickness);
        let area = ((u1 - u) * (v2 - v) - (v1 - v) * (u2 - u)).abs();
        1.0 / area.sqrt().max(1e-6)
    }

    /// How far outwards the foot of the edge, on the ground, is seen from its rim; negative where the rim hides it.
    fn foot(&self, station: &Station) -> f64 {
        let eye = self.view.eye();
        let share = self.thickness / (eye.z - self.thickness).max(1.0);
        let towards = Vector::new(eye.x - station.at.x, eye.y - station.at.y);
        towards.dot(station.outward) * share
    }

    fn relative(&self, colour: [f32; 3], reference: [f64; 3]) -> Relative {
        let ln = |v: f64| (v + 8.0).ln();
        let [r, g, b]: [f64; 3] = std::array::from_fn(|c| ln(f64::from(colour[c])) - ln(reference[c]));
        [(r + 2.0 * g + b) / 4.0, r - g, b - g]
    }

    fn profile(&self, station: &Station, search: &Search, step: f64, count: usize) -> Option<Profile> {
        let along = station.outward.left();
        let [u, v] = self.view.project(station.at.x, station.at.y, self.thickness);
        let reference = self.reference.at(u, v);
        let lanes = ((2.0 * search.half_length / step).ceil() as usize).clamp(1, 24);
        let mut values = Vec::with_capacity(count);
        for k in 0..count {
            let off = k as f64 * step - search.inwards;
            let mut sum = [0.0_f32; 3];
            for lane in 0..lanes {
                let side = ((lane as f64 + 0.5) / lanes as f64 * 2.0 - 1.0) * search.half_length;
                let at = station.at + station.outward * off + along * side;
                let [u, v] = self.view.project(at.x, at.y, self.thickness);
                let colour = sample_colour(self.pixels, u, v)?;
                for c in 0..3 {
                    sum[c] += colour[c];
                }
            }
            values.push(self.relative(sum.map(|s| s / lanes as f32), reference));
        }
        Some(Profile { values })
    }
}

/// Edges at a ring or line of stations about a millimetre apart, and `None` where nothing is to be seen.
pub(crate) fn trace(scene: &Scene<'_>, stations: &[Station], search: &Search, is_ring: bool) -> Vec<Option<EdgePoint>> {
    if stations.len() < 3 {
        return vec![None; stations.len()];
    }
    let middle = stations[stations.len() / 2].at;
    let step = 0.5 * scene.millimetres_per_pixel(middle);
    let count = ((search.inwards + search.outwards) / step).ceil() as usize + 1;
    let profiles: Vec<Option<Profile>> =
        stations.par_iter().map(|station| scene.profile(station, search, step, count)).collect();
    let zero = (search.inwards / step).round() as usize;
    let mut places: Vec<usize> = vec![zero; stations.len()];
    let blur = (scene.blur / 0.5).ceil() as usize;
    for round in 0..3 {
        let (mut inside, mut outside) = (Histogram::new(), Histogram::new());
        // At first the rough outline may lie in the shadow, a few millimetres out.
        let (gap_in, gap_out) =
            if round == 0 { (zero * 6 / 10, (count - zero) * 5 / 10) } else { (2 * blur, 2 * blur) };
        for (profile, &place) in profiles.iter().zip(&places) {
            let Some(profile) = profile else { continue };
            for value in &profile.values[..place.saturating_sub(gap_in)] {
                inside.add(value);
            }
            for value in &profile.values[(place + gap_out).min(count)..] {
                outside.add(value);
            }
        }
        let (inside, outside) = (inside.smoothed(), outside.smoothed());
        let sums: Vec<Option<Vec<f64>>> =
            profiles.par_iter().map(|profile| Some(evidence(profile.as_ref()?, &inside, &outside, step))).collect();
        places = best_line(&sums, count, step, search.stiffness, is_ring, &places);
    }
    let wall = scene.wall.or_else(|| wall_colour(scene, stations, &profiles, &places, step));
    let noise = noise(&profiles, &places, blur);
    stations
        .par_iter()
        .zip(&profiles)
        .zip(&places)
        .map(|((station, profile), &place)| {
            let profile = profile.as_ref()?;
            locate(scene, station, profile, place, step, search, &noise, wall.as_ref())
        })
        .collect()
}

/// The colour of the cut face along an outline that is known, for [`Scene::wall`].
pub(crate) fn look_at_wall(scene: &Scene<'_>, points: &[EdgePoint], stations: &[Station]) -> Option<[f64; 3]> {
    if points.len() < 12 || scene.thickness < 0.5 {
        return None;
    }
    let step = 0.5 * scene.millimetres_per_pixel(points[points.len() / 2].at);
    let search = Search { inwards: 3.0, outwards: 8.0_f64.max(scene.thickness), half_length: 1.5, stiffness: 0.0 };
    let count = ((search.inwards + search.outwards) / step).ceil() as usize + 1;
    let profiles: Vec<Option<Profile>> = stations.par_iter().map(|s| scene.profile(s, &search, step, count)).collect();
    let places = vec![(search.inwards / step).round() as usize; stations.len()];
    wall_colour(scene, stations, &profiles, &places, step)
}

/// Evidence for an edge at each place: samples before it look like the thing, those behind it do not.
fn evidence(profile: &Profile, inside: &Histogram, outside: &Histogram, step: f64) -> Vec<f64> {
    let mut sum = 0.0;
    // Neighbouring samples tell nearly the same; a millimetre is worth two.
    let worth = (2.0 * step).min(0.5);
    profile
        .values
        .iter()
        .map(|value| {
            let before = sum;
            sum += (inside.log_share(value) - outside.log_share(value)).clamp(-3.0, 3.0) * worth;
            before
        })
        .collect()
}

/// The line of places with the most evidence, steps between neighbours costing by their length.
fn best_line(
    sums: &[Option<Vec<f64>>],
    count: usize,
    step: f64,
    stiffness: f64,
    is_ring: bool,
    before: &[usize],
) -> Vec<usize> {
    let reach = ((2.0 / step) as usize).clamp(2, 14);
    let cost = |jump: usize| stiffness * jump as f64 * step;
    let n = sums.len();
    // A ring is gone round once and a bit, so that its ends meet.
    let lead = if is_ring { (n / 4).min(60) } else { 0 };
    let order: Vec<usize> = (0..n + lead).map(|k| k % n).collect();
    let mut best = vec![0.0_f64; count];
    let mut from: Vec<Vec<u16>> = Vec::with_capacity(order.len());
    for &station in &order {
        let mut next = vec![f64::NEG_INFINITY; count];
        let mut back = vec![0_u16; count];
        for (place, (value, back)) in next.iter_mut().zip(&mut back).enumerate() {
            let from = place.saturating_sub(reach);
            for (other, before) in best.iter().enumerate().take(place + reach + 1).skip(from) {
                let candidate = before - cost(place.abs_diff(other));
                if candidate > *value {
                    (*value, *back) = (candidate, other as u16);
                }
            }
            if let Some(sums) = &sums[station] {
                *value += sums[place];
            }
        }
        best = next;
        from.push(back);
    }
    let mut place = best.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |(place, _)| place);
    let mut places = before.to_vec();
    for (k, &station) in order.iter().enumerate().rev() {
        places[station] = place;
        place = usize::from(from[k][place]);
    }
    places
}

/// Variance of samples inside and outside the edge, channel by channel.
fn noise(profiles: &[Option<Profile>], places: &[usize], blur: usize) -> [Relative; 2] {
    let mut sums = [[0.0; 3]; 2];
    let mut counts = [0.0_f64; 2];
    for (profile, &place) in profiles.iter().zip(places) {
        let Some(profile) = profile else { continue };
        let ends =
            [(place.saturating_sub(12 * blur), place.saturating_sub(2 * blur)), (place + 2 * blur, place + 8 * blur)];
        for (side, (from, to)) in ends.into_iter().enumerate() {
            let values = &profile.values[from.min(profile.values.len())..to.min(profile.values.len())];
            if values.len() < 4 {
                continue;
            }
            let count = values.len() as f64;
            for c in 0..3 {
                let mean = values.iter().map(|v| v[c]).sum::<f64>() / count;
                sums[side][c] += values.iter().map(|v| (v[c] - mean).powi(2)).sum::<f64>();
            }
            counts[side] += count - 1.0;
        }
    }
    std::array::from_fn(|side| sums[side].map(|sum| (sum / counts[side].max(1.0)).max(2e-5)))
}

/// Colour of the cut face, where it is seen wide enough to be told from blur. `None` where it is nowhere.
///
/// A cut face that looks like the top is not seen to begin: the edge that was found is then its foot. That is so where the
/// band behind the edge is plain ground.
fn wall_colour(
    scene: &Scene<'_>,
    stations: &[Station],
    profiles: &[Option<Profile>],
    places: &[usize],
    step: f64,
) -> Option<Relative> {
    let (mut bands, mut grounds): (Vec<Relative>, Vec<Relative>) = (Vec::new(), Vec::new());
    for ((station, profile), &place) in stations.iter().zip(profiles).zip(places) {
        let foot = scene.foot(station) / step;
        let Some(profile) = profile else { continue };
        if foot * 0.5 > 2.5 * scene.blur
            && let (Some(band), Some(ground)) =
                (profile.values.get(place + (foot / 2.0) as usize), profile.values.last())
        {
            bands.push(*band);
            grounds.push(*ground);
        }
    }
    if bands.len() < 12 {
        return None;
    }
    let median = |all: &[Relative]| -> Relative {
        std::array::from_fn(|c| {
            let mut values: Vec<f64> = all.iter().map(|v| v[c]).collect();
            values.sort_by(f64::total_cmp);
            values[values.len() / 2]
        })
    };
    let (band, ground) = (median(&bands), median(&grounds));
    let apart = (0..3).map(|c| (band[c] - ground[c]).abs() * if c == 0 { 1.0 } else { 2.0 }).fold(0.0, f64::max);
    Some(if apart < 0.12 { [0.0; 3] } else { band })
}

/// Share of a blurred step that has been climbed `off` standard deviations behind it.
fn climbed(off: f64) -> f64 {
    // A logistic curve is within 0.01 of the normal distribution.
    1.0 / (1.0 + (-1.702 * off).exp())
}

/// What a profile looks like near its edge: thing, a band that may be as narrow as nothing (cut face, shadow), ground.
struct Bands {
    cost: f64,
    edge: f64,
    width: f64,
    /// Step from the thing to the band, and from the band to the ground.
    steps: [Relative; 2],
}

/// Levels on both sides of two blurred steps, by least squares.
fn bands(
    values: &[Relative],
    first: usize,
    edge: f64,
    width: f64,
    blur: f64,
    weights: &Relative,
    wall: Option<&Relative>,
) -> Bands {
    let n = values.len() as f64;
    let (mut sp, mut sq, mut spp, mut spq, mut sqq) = (0.0, 0.0, 0.0, 0.0, 0.0);
    let (mut sy, mut spy, mut sqy, mut syy) = ([0.0; 3], [0.0; 3], [0.0; 3], [0.0; 3]);
    for (index, value) in values.iter().enumerate() {
        let x = (first + index) as f64;
        let p = climbed((x - edge) / blur);
        let q = if width > 0.0 { climbed((x - edge - width) / blur) } else { 0.0 };
        sp += p;
        sq += q;
        spp += p * p;
        spq += p * q;
        sqq += q * q;
        for c in 0..3 {
            sy[c] += value[c];
            spy[c] += p * value[c];
            sqy[c] += q * value[c];
            syy[c] += value[c] * value[c];
        }
    }
    // Levels of a band narrower than the blur are held back from running off.
    let ridge = 0.05;
    let (pp, pq, qq) = (spp - sp * sp / n + ridge, spq - sp * sq / n, sqq - sq * sq / n + ridge);
    let mut fit = Bands { cost: 0.0, edge, width, steps: [[0.0; 3]; 2] };
    for c in 0..3 {
        let (py, qy, yy) = (spy[c] - sp * sy[c] / n, sqy[c] - sq * sy[c] / n, syy[c] - sy[c] * sy[c] / n);
        let (a, b) = if width > 0.0 {
            let determinant = pp * qq - pq * pq;
            ((qq * py - pq * qy) / determinant, (pp * qy - pq * py) / determinant)
        } else {
            (py / pp, 0.0)
        };
        (fit.steps[0][c], fit.steps[1][c]) = (a, b);
        fit.cost += weights[c] * (yy - a * py - b * qy).max(0.0);
        if let Some(wall) = wall {
            fit.cost += 2.0 * (a - wall[c]).powi(2) / (0.02 + 1.0 / weights[c]);
        }
    }
    fit
}

/// The edge between pixels: the blurred steps that fit best near a place.
#[allow(clippy::too_many_arguments)]
fn locate(
    scene: &Scene<'_>,
    station: &Station,
    profile: &Profile,
    place: usize,
    step: f64,
    search: &Search,
    noise: &[Relative; 2],
    wall: Option<&Relative>,
) -> Option<EdgePoint> {
    // In samples, which are half a pixel.
    let blur = scene.blur / 0.5;
    let foot = scene.foot(station) / step;
    let reach = (2.5 * blur).ceil() as usize + 2;
    let shows_wall = foot > 0.4;
    let hidden = if shows_wall { foot.ceil() as usize } else { 0 };
    let from = place.checked_sub(reach + hidden)?;
    let to = (place + reach + hidden).min(profile.values.len() - 1);
    if to < place + reach.min(4) || to - from < 6 {
        return None;
    }
    let values = &profile.values[from..=to];
    let weights: Relative = std::array::from_fn(|c| 0.5 / (0.5 * (noise[0][c] + noise[1][c])));
    // Behind a cut face there may be shadow; without one there may be shadow alone.
    let widths: Vec<f64> = match (shows_wall, wall) {
        (true, _) => vec![foot, foot + 2.0, foot + 4.0],
        (false, _) => vec![0.0, 1.5, 3.0, 5.0],
    };
    let wall = wall.filter(|_| shows_wall);
    let range = (1.2 * blur).max(2.5);
    let back = if wall.is_some() { range + foot } else { range };
    let tries = ((back + range) / 0.25) as usize;
    let mut best: Option<Bands> = None;
    for &width in &widths {
        let extra = if width > if shows_wall { foot } else { 0.0 } { 4.0 } else { 0.0 };
        for k in 0..=tries {
            let edge = place as f64 - 0.5 - back + 0.25 * k as f64;
            let mut fit = bands(values, from, edge, width, blur, &weights, wall);
            fit.cost += extra;
            // Steps up a stair are what more blur looks like; only a dip or a rise between both is a band of its own.
            if !shows_wall && width > 0.0 {
                let alike: f64 = (0..3).map(|c| weights[c] * fit.steps[0][c] * fit.steps[1][c]).sum();
                if alike > 0.0 {
                    continue;
                }
            }
            if best.as_ref().is_none_or(|best| fit.cost < best.cost) {
                best = Some(fit);
            }
        }
    }
    let best = best?;
    // Between the tries: the lowest point of a parabola through three.
    let cost = |edge: f64| bands(values, from, edge, best.width, blur, &weights, wall).cost;
    let (a, b, c) = (cost(best.edge - 0.25), cost(best.edge), cost(best.edge + 0.25));
    let bend = a - 2.0 * b + c;
    let edge = best.edge + if bend > 1e-12 { 0.25 * (0.5 * (a - c) / bend).clamp(-0.5, 0.5) } else { 0.0 };
    let strength = |steps: &Relative| (0..3).map(|c| 2.0 * weights[c] * steps[c] * steps[c]).sum::<f64>().sqrt();
    // The band counts where it looks like the thing: its far side is then what was found.
    let total: Relative = std::array::from_fn(|c| best.steps[0][c] + best.steps[1][c]);
    let contrast = strength(&best.steps[0])
        .max(if shows_wall { strength(&best.steps[1]) } else { 0.0 })
        .max(0.5 * strength(&total));
    // Error of a step in noise: sigma of the samples over the slope of the edge, fewer where samples repeat each other.
    let grain = (search.half_length / 1.5).sqrt().clamp(0.7, 2.0);
    let mut sigma = step * blur * 1.5 / (contrast.max(0.3) * grain);
    if shows_wall {
        sigma = sigma.hypot(if wall.is_none() { 0.2 } else { 0.1 } * foot * step);
    }
    let sigma = sigma.hypot(0.12 * step).min(3.0);
    let off = edge * step - search.inwards;
    Some(EdgePoint { at: station.at + station.outward * off, sigma, contrast })
}
