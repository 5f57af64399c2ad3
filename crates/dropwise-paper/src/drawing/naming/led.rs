//! Keys that find no room on what they name: they stand in free space, with a line to it.

use dropwise_geometry::{Bounds, Point, Vector};

use super::lines::{Lines, border, cross};
use super::{Named, Subject, half};
use crate::drawing::label::{CLEAR, line_meets_box};

/// Size of a key that is led out, mm of paper.
const LED: f64 = 3.0;

/// Distance between places tried for what is led out, mm of paper.
const STEP: f64 = 1.5;

/// Longest line that leads to a part, mm of paper.
const FARTHEST: f64 = 140.0;

/// Places looked at for one key before the best of them is taken.
const ENOUGH: usize = 80;

/// What crossing the edge of another part counts for, mm of paper of a longer line.
const CROSSING: f64 = 5.0;

/// Middles of places to try in a field, on a grid.
#[derive(Debug)]
pub(super) struct Spots {
    corner: Point,
    step: f64,
    columns: i64,
    rows: i64,
    /// Steps from the middle of the grid's squares, the nearest first.
    near: Vec<(i64, i64)>,
}

impl Spots {
    pub(super) fn new(field: Bounds, paper: f64) -> Self {
        let step = (STEP * paper).max(field.width().max(field.height()) / 400.0);
        let count = |length: f64| (length / step).floor().clamp(0.0, 400.0) as i64;
        let far = (FARTHEST * paper / step).min(400.0) as i64;
        let mut near: Vec<(i64, i64)> = (-far..=far).flat_map(|x| (-far..=far).map(move |y| (x, y))).collect();
        near.retain(|(x, y)| x * x + y * y <= far * far);
        near.sort_by_key(|&(x, y)| x * x + y * y);
        Self { corner: field.min, step, columns: count(field.width()), rows: count(field.height()), near }
    }

    /// The places no farther from a point than that, the nearest first.
    pub(super) fn around(&self, point: Point, reach: f64) -> impl Iterator<Item = Point> + '_ {
        let square = |value: f64| (value / self.step).floor() as i64;
        let (column, row) = (square(point.x - self.corner.x), square(point.y - self.corner.y));
        // A square farther, since the point may lie anywhere in its own.
        let most = (reach / self.step).ceil() as i64 + 1;
        let steps = self.near.iter().take_while(move |&&(x, y)| x * x + y * y <= most * most);
        steps.filter_map(move |&(x, y)| {
            let (column, row) = (column + x, row + y);
            ((0..self.columns).contains(&column) && (0..self.rows).contains(&row)).then(|| {
                let at = Vector::new(column as f64 + 0.5, row as f64 + 0.5) * self.step;
                self.corner + at
            })
        })
    }
}

/// A place in free space, with a line to the part that meets no other label.
pub(super) fn led_out(
    index: usize,
    target: Point,
    (subjects, bounds): (&[Subject], &[Bounds]),
    (hard, edges): (&Lines, &Lines),
    (spots, field): (&Spots, Bounds),
    named: &[Named],
    paper: f64,
) -> Option<Named> {
    let subject = &subjects[index];
    let lines = subject.keys.first()?;
    let extent = half(lines, LED);
    let box_half = extent * paper;
    let clear = box_half + Vector::new(CLEAR, CLEAR) * paper;
    let others: Vec<(Point, Vector, Option<[Point; 2]>)> = named
        .iter()
        .map(|other| (other.center, other.half(paper) + Vector::new(CLEAR, CLEAR) * paper, other.leader))
        .collect();
    let mut best: Option<(f64, Named)> = None;
    let mut looked_at = 0;
    for center in spots.around(target, FARTHEST * paper) {
        let far = center.distance(target);
        if best.as_ref().is_some_and(|(score, _)| far / paper > *score) || looked_at > ENOUGH {
            break;
        }
        let is_in_field = center.x - clear.x >= field.min.x
            && center.x + clear.x <= field.max.x
            && center.y - clear.y >= field.min.y
            && center.y + clear.y <= field.max.y;
        if !is_in_field || hard.meet(center, clear) || edges.meet(center, clear) {
            continue;
        }
        let meets = |(other, half, leader): &(Point, Vector, Option<[Point; 2]>)| {
            let apart = center - *other;
            let boxes = apart.x.abs() < half.x + box_half.x && apart.y.abs() < half.y + box_half.y;
            boxes || leader.is_some_and(|[a, b]| line_meets_box(a - center, b - center, clear))
        };
        if others.iter().any(meets)
            || subjects.iter().zip(bounds).any(|(other, bounds)| is_metal(other, *bounds, center))
        {
            continue;
        }
        let from = border(center, clear, target);
        let leader = [from, target];
        let is_struck = others.iter().any(|(other, half, led)| {
            line_meets_box(from - *other, target - *other, *half) || led.is_some_and(|led| cross(led, leader))
        });
        if is_struck {
            continue;
        }
        looked_at += 1;
        // The part's own edge is crossed in any case.
        let crossings = edges.crossed(leader).saturating_sub(1) as f64;
        let score = far / paper + CROSSING * crossings;
        if best.as_ref().is_none_or(|(other, _)| score < *other) {
            let placed =
                Named { subject: index, lines: lines.clone(), size: LED, extent, center, leader: Some(leader) };
            best = Some((score, placed));
        }
    }
    best.map(|(_, named)| named)
}

/// Whether a point lies on a part: labels of others do not stand there.
fn is_metal(subject: &Subject, bounds: Bounds, point: Point) -> bool {
    subject.is_part && bounds.contains(point) && subject.region.contains(point)
}
