//! Patterns of squares in a picture: crossings where four squares meet, and how they hang together.

use std::collections::{HashMap, VecDeque};

use imageproc::filter::gaussian_blur_f32;

use crate::raster::{Gray, sample};

/// A crossing that was found.
#[derive(Clone, Copy, Debug)]
struct Crossing {
    x: f64,
    y: f64,
    strength: f32,
    /// Twice the direction of the bright quarters, radians: crossings next to each other differ by half a turn.
    phase: f64,
}

/// Crossings with places in a grid of their own, whose origin and turn mean nothing.
#[derive(Clone, Debug, Default)]
pub(crate) struct Lattice {
    /// Column, row, and where in the picture.
    pub(crate) nodes: Vec<(i32, i32, [f64; 2])>,
}

/// Most crossings looked at.
const MOST_CROSSINGS: usize = 8000;
/// Fewer crossings than these are no pattern of ours.
const LEAST_NODES: usize = 24;
/// Radius of the ring on which a crossing is tested, pixels.
const RING: f64 = 4.0;

/// All patterns in a picture, the largest first. Squares must be about 8 to 60 pixels wide.
pub(crate) fn find_lattices(gray: &Gray) -> Vec<Lattice> {
    let smooth = gaussian_blur_f32(gray, 1.2);
    let crossings = find_crossings(&smooth);
    let grid = Neighbours::new(&crossings);
    let mut used = vec![false; crossings.len()];
    let mut found: Vec<Lattice> = Vec::new();
    let mut tries = 0;
    for seed in 0..crossings.len() {
        if used[seed] || tries >= 600 {
            continue;
        }
        tries += 1;
        if let Some(lattice) = grow(&crossings, &grid, &mut used, seed) {
            found.push(lattice);
        }
    }
    found.sort_by_key(|lattice| std::cmp::Reverse(lattice.nodes.len()));
    found
}

/// Saddle points of brightness that look like four squares, the strongest first.
///
/// # Source
/// The determinant of the Hessian is negative at saddles: textbook. The test on a ring of sixteen samples follows Bennett
/// and Lasenby, "ChESS: quick and robust detection of chess-board features", 2014.
fn find_crossings(smooth: &Gray) -> Vec<Crossing> {
    let (width, height) = (smooth.width() as usize, smooth.height() as usize);
    let raw = smooth.as_raw();
    let saddle = |x: usize, y: usize| {
        let at = y * width + x;
        let xx = raw[at - 1] - 2.0 * raw[at] + raw[at + 1];
        let yy = raw[at - width] - 2.0 * raw[at] + raw[at + width];
        let xy = (raw[at + width + 1] - raw[at + width - 1] - raw[at - width + 1] + raw[at - width - 1]) / 4.0;
        xy * xy - xx * yy
    };
    let mut response = vec![0.0_f32; width * height];
    for y in 1..height - 1 {
        for x in 1..width - 1 {
            response[y * width + x] = saddle(x, y);
        }
    }
    let margin = RING as usize + 2;
    let mut crossings = Vec::new();
    for y in margin..height - margin {
        for x in margin..width - margin {
            let here = response[y * width + x];
            if here < 4.0 {
                continue;
            }
            let is_peak = (y - 2..=y + 2).all(|v| (x - 2..=x + 2).all(|u| response[v * width + u] <= here));
            if is_peak && let Some(crossing) = ring_test(smooth, x, y, here) {
                crossings.push(crossing);
            }
        }
    }
    crossings.sort_by(|a, b| b.strength.total_cmp(&a.strength));
    crossings.truncate(MOST_CROSSINGS);
    crossings
}

fn ring_test(smooth: &Gray, x: usize, y: usize, strength: f32) -> Option<Crossing> {
    let (x, y) = (x as f64, y as f64);
    let ring: [f32; 16] = std::array::from_fn(|n| {
        let (sin, cos) = (n as f64 * std::f64::consts::PI / 8.0).sin_cos();
        sample(smooth, x + RING * cos, y + RING * sin)
    });
    let sum: f32 = (0..4).map(|n| (ring[n] + ring[n + 8] - ring[n + 4] - ring[n + 12]).abs()).sum();
    let difference: f32 = (0..8).map(|n| (ring[n] - ring[n + 8]).abs()).sum();
    if sum < 1.5 * difference {
        return None;
    }
    let (mut along, mut across) = (0.0, 0.0);
    for (n, value) in ring.iter().enumerate() {
        let (sin, cos) = (n as f64 * std::f64::consts::PI / 4.0).sin_cos();
        along += f64::from(*value) * cos;
        across += f64::from(*value) * sin;
    }
    // A crossing swings twice around the ring, by a fair part of its brightness.
    let mean = ring.iter().sum::<f32>() / 16.0;
    if along.hypot(across) / 8.0 < 0.08 * f64::from(mean).max(20.0) {
        return None;
    }
    Some(Crossing { x, y, strength, phase: across.atan2(along) })
}

/// Crossings by place.
struct Neighbours {
    cells: HashMap<(i32, i32), Vec<usize>>,
}

const CELL: f64 = 16.0;

impl Neighbours {
    fn new(crossings: &[Crossing]) -> Self {
        let mut cells: HashMap<(i32, i32), Vec<usize>> = HashMap::new();
        for (index, crossing) in crossings.iter().enumerate() {
            cells.entry(((crossing.x / CELL) as i32, (crossing.y / CELL) as i32)).or_default().push(index);
        }
        Self { cells }
    }

    fn within(&self, crossings: &[Crossing], x: f64, y: f64, radius: f64) -> Vec<(f64, usize)> {
        let range = |v: f64| ((v - radius) / CELL).floor() as i32..=((v + radius) / CELL).floor() as i32;
        let mut found = Vec::new();
        for j in range(y) {
            for i in range(x) {
                for &index in self.cells.get(&(i, j)).into_iter().flatten() {
                    let distance = (crossings[index].x - x).hypot(crossings[index].y - y);
                    if distance <= radius {
                        found.push((distance, index));
                    }
                }
            }
        }
        found.sort_by(|a, b| a.0.total_cmp(&b.0));
        found
    }
}

fn are_opposite(a: f64, b: f64) -> bool {
    (a - b).cos() < -0.4
}

/// Whether a crossing of the wanted kind lies there.
fn pick(
    crossings: &[Crossing],
    grid: &Neighbours,
    used: &[bool],
    place: [f64; 2],
    radius: f64,
    phase: f64,
    is_opposite: bool,
) -> Option<usize> {
    grid.within(crossings, place[0], place[1], radius).into_iter().map(|(_, index)| index).find(|&index| {
        !used[index]
            && are_opposite(crossings[index].phase, if is_opposite { phase } else { phase + std::f64::consts::PI })
    })
}

/// The two shortest steps from a crossing along which the pattern goes on both ways.
fn steps(crossings: &[Crossing], grid: &Neighbours, used: &[bool], seed: usize) -> Option<([f64; 2], [f64; 2])> {
    let here = crossings[seed];
    let near: Vec<[f64; 2]> = grid
        .within(crossings, here.x, here.y, 70.0)
        .into_iter()
        .filter(|&(distance, index)| distance > 3.0 && !used[index] && are_opposite(crossings[index].phase, here.phase))
        .take(10)
        .map(|(_, index)| [crossings[index].x - here.x, crossings[index].y - here.y])
        .collect();
    let is_there = |step: [f64; 2], is_opposite: bool| {
        let radius = 0.2 * step[0].hypot(step[1]) + 0.7;
        pick(crossings, grid, used, [here.x + step[0], here.y + step[1]], radius, here.phase, is_opposite).is_some()
    };
    for (index, &b) in near.iter().enumerate() {
        for &a in &near[..index] {
            let (la, lb) = (a[0].hypot(a[1]), b[0].hypot(b[1]));
            let sine = (a[0] * b[1] - a[1] * b[0]) / (la * lb);
            if sine.abs() < 0.6 || lb > 2.0 * la {
                continue;
            }
            let sides = is_there([-a[0], -a[1]], true) && is_there([-b[0], -b[1]], true);
            if sides && is_there([a[0] + b[0], a[1] + b[1]], false) && is_there([a[0] - b[0], a[1] - b[1]], false) {
                return Some(if sine > 0.0 { (a, b) } else { (b, a) });
            }
        }
    }
    None
}

/// Follows a pattern from a crossing to all its neighbours, each looked for where the last step leads.
fn grow(crossings: &[Crossing], grid: &Neighbours, used: &mut [bool], seed: usize) -> Option<Lattice> {
    let (a, b) = steps(crossings, grid, used, seed)?;
    let mut placed: HashMap<(i32, i32), usize> = HashMap::from([((0, 0), seed)]);
    let mut queue = VecDeque::from([(0, 0, a, b)]);
    used[seed] = true;
    while let Some((i, j, a, b)) = queue.pop_front() {
        let here = crossings[placed[&(i, j)]];
        for (di, dj) in [(1, 0), (0, 1), (-1, 0), (0, -1)] {
            let to = (i + di, j + dj);
            if placed.contains_key(&to) {
                continue;
            }
            let step = [f64::from(di) * a[0] + f64::from(dj) * b[0], f64::from(di) * a[1] + f64::from(dj) * b[1]];
            let radius = 0.25 * step[0].hypot(step[1]) + 0.5;
            let place = [here.x + step[0], here.y + step[1]];
            let Some(index) = pick(crossings, grid, used, place, radius, here.phase, true) else { continue };
            used[index] = true;
            placed.insert(to, index);
            let made = [crossings[index].x - here.x, crossings[index].y - here.y];
            let sign = f64::from(di + dj);
            let made = [made[0] * sign, made[1] * sign];
            let (a, b) = if di == 0 { (a, made) } else { (made, b) };
            queue.push_back((to.0, to.1, a, b));
        }
    }
    if placed.len() < LEAST_NODES {
        // The others may belong to a pattern that another seed finds.
        for index in placed.into_values().filter(|&index| index != seed) {
            used[index] = false;
        }
        return None;
    }
    let mut nodes: Vec<(i32, i32, [f64; 2])> =
        placed.into_iter().map(|((i, j), index)| (i, j, [crossings[index].x, crossings[index].y])).collect();
    nodes.sort_by_key(|node| (node.0, node.1));
    Some(Lattice { nodes })
}
