//! What is read from photographs, beside the truth that was written with each.
//!
//! `cargo run --release -p dropwise-benches --bin photographs -- SCENES --out RESULTS`
//!
//! SCENES holds pairs of `NAME.jpg` and `NAME.json`. The truth, in millimetres in the frame of the sheet: `outline` and `holes`
//! as rings of points, `thickness`, and `sheet_scale`, the printed size of the sheet over its true size. With `--out`, outline and
//! holes of each result are written as rings of points, for another program to judge.
#![allow(clippy::print_stdout, reason = "a program for the terminal")]

use std::error::Error;
use std::path::{Path, PathBuf};
use std::time::Instant;

use clap::Parser;
use dropwise_geometry::{Outline, Point};
use dropwise_photo::{Photograph, RULED_SQUARE, Reading, Settings, read};
use serde::Deserialize;
use serde_json::json;

/// Accuracy of outlines read from photographs of known truth.
#[derive(Debug, Parser)]
struct Arguments {
    /// Folder of photographs and their truth.
    scenes: PathBuf,
    /// Write outlines and holes to this folder.
    #[arg(long)]
    out: Option<PathBuf>,
}

#[derive(Debug, Deserialize)]
struct Truth {
    outline: Vec<[f64; 2]>,
    holes: Vec<Vec<[f64; 2]>>,
    thickness: f64,
    sheet_scale: f64,
    #[serde(default)]
    kind: String,
    #[serde(default)]
    stuff: String,
    #[serde(default)]
    ground: String,
}

/// One figure of a score.
type Figure = fn(&Score) -> f64;

/// What came of a scene, mm.
#[derive(Clone, Copy, Debug)]
struct Score {
    rms: f64,
    worst: f64,
    centers: f64,
    diameters: f64,
    missed: usize,
    invented: usize,
    /// Errors over what was told: outline, centres, diameters.
    over_told: [f64; 3],
    seconds: f64,
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments = Arguments::parse();
    let mut paths: Vec<PathBuf> =
        std::fs::read_dir(&arguments.scenes)?.filter_map(|entry| Some(entry.ok()?.path())).collect();
    paths.retain(|path| path.extension().is_some_and(|end| end == "jpg" || end == "png"));
    paths.sort();
    if let Some(out) = &arguments.out {
        std::fs::create_dir_all(out)?;
    }
    let (mut scores, mut refused) = (Vec::new(), 0);
    for path in &paths {
        let truth: Truth = serde_json::from_str(&std::fs::read_to_string(path.with_extension("json"))?)?;
        let settings =
            Settings { printed_square: Some(RULED_SQUARE * truth.sheet_scale), ..Settings::new(truth.thickness) };
        let start = Instant::now();
        let reading = Photograph::open(path).and_then(|photograph| read(&[photograph], &settings));
        let seconds = start.elapsed().as_secs_f64();
        let name = path.file_stem().unwrap_or_default().to_string_lossy();
        let what = format!("{name} {} {} {} mm on {}", truth.kind, truth.stuff, truth.thickness, truth.ground);
        match reading {
            Ok(reading) => {
                let score = score(&reading, &truth, seconds);
                println!(
                    "{what}: outline rms {:.3}, worst {:.3} (told {:.2}), centres {:.3} (told {:.2}), diameters {:.3} (told {:.2}), \
                     missed {}, invented {}, {} sides, {seconds:.1} s",
                    score.rms,
                    score.worst,
                    reading.accuracy.outline_worst,
                    score.centers,
                    reading.accuracy.hole_centers,
                    score.diameters,
                    reading.accuracy.hole_diameters,
                    score.missed,
                    score.invented,
                    reading.outline.vertices().len(),
                );
                scores.push(score);
                if let Some(out) = &arguments.out {
                    write_rings(&reading, &out.join(format!("{name}.json")))?;
                }
            }
            Err(error) => {
                println!("{what}: {error}, {seconds:.1} s");
                refused += 1;
            }
        }
    }
    print_table(&scores, refused);
    Ok(())
}

fn print_table(scores: &[Score], refused: usize) {
    let n = scores.len();
    if n == 0 {
        println!("nothing was read; {refused} refused");
        return;
    }
    let percentile = |value: &dyn Fn(&Score) -> f64, share: f64| {
        let mut values: Vec<f64> = scores.iter().map(value).collect();
        values.sort_by(f64::total_cmp);
        values[((n - 1) as f64 * share).round() as usize]
    };
    println!("\n{n} scenes read, {refused} refused");
    println!("| what | median | 95 % | worst | within the aim |\n|---|---|---|---|---|");
    let rows: [(&str, Figure, f64); 5] = [
        ("outline, root mean square, mm", |s| s.rms, 0.5),
        ("outline, worst place, mm", |s| s.worst, 1.5),
        ("holes' centres, mm", |s| s.centers, 0.4),
        ("holes' diameters, mm", |s| s.diameters, 0.4),
        ("seconds", |s| s.seconds, 5.0),
    ];
    for (name, value, aim) in rows {
        let within = scores.iter().filter(|score| value(score) <= aim).count();
        println!(
            "| {name} | {:.3} | {:.3} | {:.3} | {within} of {n} within {aim} |",
            percentile(&value, 0.5),
            percentile(&value, 0.95),
            percentile(&value, 1.0)
        );
    }
    let sum = |value: &dyn Fn(&Score) -> usize| scores.iter().map(value).sum::<usize>();
    println!("holes missed {}, invented {}", sum(&|s| s.missed), sum(&|s| s.invented));
    let over = |k: usize| scores.iter().filter(|s| s.over_told[k] > 2.0).count();
    println!("more than twice what was told: outline {}, centres {}, diameters {}", over(0), over(1), over(2));
}

/// Points along a ring, at most half a millimetre apart.
fn dense(ring: &Outline) -> Vec<Point> {
    ring.segments()
        .flat_map(|segment| {
            let count = (segment.length() / 0.5).ceil().max(1.0) as usize;
            (0..count).map(move |k| segment.at(k as f64 / count as f64)).collect::<Vec<_>>()
        })
        .collect()
}

fn write_rings(reading: &Reading, path: &Path) -> Result<(), Box<dyn Error>> {
    let ring = |outline: &Outline| dense(outline).iter().map(|p| [p.x, p.y]).collect::<Vec<_>>();
    let holes: Vec<_> = reading.holes.iter().map(|hole| ring(&hole.outline)).collect();
    Ok(std::fs::write(path, json!({ "outline": ring(&reading.outline), "holes": holes }).to_string())?)
}

fn score(reading: &Reading, truth: &Truth, seconds: f64) -> Score {
    let polygon = |ring: &[[f64; 2]]| Outline::polygon(ring.iter().map(|p| Point::new(p[0], p[1])));
    let true_ring = polygon(&truth.outline);
    let found: Vec<Point> = dense(&reading.outline).into_iter().map(|at| reading.on_ground(at)).collect();
    let motion = Motion::onto(&found, &true_ring);
    let moved = Outline::polygon(found.iter().map(|&at| motion.of(at)));
    let mut off: Vec<f64> = dense(&moved).iter().map(|&at| nearest(&true_ring, at).distance(at)).collect();
    off.extend(dense(&true_ring).iter().map(|&at| nearest(&moved, at).distance(at)));
    let rms = (off.iter().map(|d| d * d).sum::<f64>() / off.len() as f64).sqrt();
    let worst = off.iter().copied().fold(0.0, f64::max);
    let disc = |ring: &Outline| (centroid(ring), 2.0 * (ring.area() / std::f64::consts::PI).sqrt());
    let holes: Vec<(Point, f64)> = reading
        .holes
        .iter()
        .map(|hole| {
            disc(&Outline::polygon(dense(&hole.outline).into_iter().map(|at| motion.of(reading.on_ground(at)))))
        })
        .collect();
    let mut used = vec![false; holes.len()];
    let (mut centers, mut diameters, mut missed) = (0.0_f64, 0.0_f64, 0);
    for ring in &truth.holes {
        let (center, diameter) = disc(&polygon(ring));
        let near = (0..holes.len())
            .filter(|&k| !used[k])
            .min_by(|&a, &b| holes[a].0.distance(center).total_cmp(&holes[b].0.distance(center)));
        match near.filter(|&k| holes[k].0.distance(center) < 5.0) {
            Some(k) => {
                used[k] = true;
                centers = centers.max(holes[k].0.distance(center));
                diameters = diameters.max((holes[k].1 - diameter).abs());
            }
            // Smaller ones need not be found.
            None => missed += usize::from(diameter > 6.0),
        }
    }
    let told = &reading.accuracy;
    let over_told = [worst / told.outline_worst, centers / told.hole_centers, diameters / told.hole_diameters]
        .map(|ratio| if ratio.is_finite() { ratio } else { 0.0 });
    let invented = used.iter().filter(|used| !**used).count();
    Score { rms, worst, centers, diameters, missed, invented, over_told, seconds }
}

fn nearest(ring: &Outline, at: Point) -> Point {
    let on_side = ring.segments().map(|side| {
        let (a, b) = (side.start(), side.end());
        let way = b - a;
        let share = if way.length_squared() > 0.0 { (at - a).dot(way) / way.length_squared() } else { 0.0 };
        a.lerp(b, share.clamp(0.0, 1.0))
    });
    on_side.min_by(|a, b| a.distance(at).total_cmp(&b.distance(at))).unwrap_or(at)
}

fn centroid(ring: &Outline) -> Point {
    let (mut area, mut x, mut y) = (0.0, 0.0, 0.0);
    for side in ring.segments() {
        let (a, b) = (side.start(), side.end());
        let cross = a.x * b.y - b.x * a.y;
        area += cross / 2.0;
        x += (a.x + b.x) * cross;
        y += (a.y + b.y) * cross;
    }
    Point::new(x / (6.0 * area), y / (6.0 * area))
}

/// A turn and a shift.
struct Motion {
    turn: f64,
    x: f64,
    y: f64,
}

impl Motion {
    /// The one that lays points best on a ring near them, never stretching.
    fn onto(points: &[Point], ring: &Outline) -> Self {
        let mut motion = Self { turn: 0.0, x: 0.0, y: 0.0 };
        let picked: Vec<Point> = points.iter().copied().step_by(6).collect();
        for _ in 0..15 {
            let pairs: Vec<(Point, Point)> = picked.iter().map(|&at| (at, nearest(ring, motion.of(at)))).collect();
            let n = pairs.len() as f64;
            let mean = |f: &dyn Fn(&(Point, Point)) -> f64| pairs.iter().map(f).sum::<f64>() / n;
            let (ax, ay, bx, by) = (mean(&|p| p.0.x), mean(&|p| p.0.y), mean(&|p| p.1.x), mean(&|p| p.1.y));
            let (mut cos, mut sin) = (0.0, 0.0);
            for (a, b) in &pairs {
                let (u, v, s, t) = (a.x - ax, a.y - ay, b.x - bx, b.y - by);
                cos += u * s + v * t;
                sin += u * t - v * s;
            }
            let turn = sin.atan2(cos);
            let (sin, cos) = turn.sin_cos();
            motion = Self { turn, x: bx - (cos * ax - sin * ay), y: by - (sin * ax + cos * ay) };
        }
        motion
    }

    fn of(&self, at: Point) -> Point {
        let (sin, cos) = self.turn.sin_cos();
        Point::new(cos * at.x - sin * at.y + self.x, sin * at.x + cos * at.y + self.y)
    }
}
