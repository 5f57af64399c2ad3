//! Points by their numbers: each beside its point, or on a line that leads to it.

use dropwise_geometry::{Bounds, Point, Vector};

use super::led::Spots;
use super::lines::{Lines, border, cross};
use super::{Named, Naming, Subject, half, within};
use crate::drawing::label::{AllPlaces, line_meets_box};

/// A point and what stands beside it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Numbered {
    /// Where it is.
    pub(crate) at: Point,
    /// Other points that will do as well, the best first: along a line.
    pub(crate) also: Vec<Point>,
    /// From the point to its number, mm of paper.
    pub(crate) gap: f64,
    /// Its number or letter.
    pub(crate) name: String,
    /// Whether it is set in bold.
    pub(crate) is_bold: bool,
    /// Size of the type, mm of paper.
    pub(crate) size: f64,
}

/// From a point to its number, mm of paper.
pub(crate) const GAP: f64 = 1.1;

/// Least space between two numbers side by side, as a multiple of the size.
const WORD_SPACE: f64 = 0.3;

/// Where the number of a line may stand, as shares of its length: its middle first.
const ALONG: [f64; 6] = [0.35, 0.65, 0.2, 0.8, 0.1, 0.9];

/// Width of a figure of DejaVu Sans and half its height, as multiples of the size (from its tables, with a little air).
const FIGURE: (f64, f64) = (0.65, 0.41);

impl Numbered {
    /// Half the width and height that it takes, mm of paper. Figures alone have neither accents nor tails.
    fn extent(&self) -> Vector {
        if self.name.bytes().all(|byte| byte.is_ascii_digit()) {
            let bold = if self.is_bold { 1.1 } else { 1.0 };
            return Vector::new(self.name.len() as f64 * FIGURE.0 * bold / 2.0, FIGURE.1) * self.size;
        }
        half(std::slice::from_ref(&self.name), self.size)
    }

    /// The same in bold.
    pub(crate) fn bold(self) -> Self {
        Self { is_bold: true, ..self }
    }

    /// A point.
    pub(crate) fn point(at: Point, name: &str, size: f64) -> Self {
        Self { at, also: Vec::new(), gap: GAP, name: name.to_owned(), is_bold: false, size }
    }

    /// A line, anywhere along it.
    pub(crate) fn line([from, to]: [Point; 2], name: &str, size: f64) -> Self {
        let also = ALONG.iter().map(|&share| from.lerp(to, share)).collect();
        Self { at: from.lerp(to, 0.5), also, gap: GAP, name: name.to_owned(), is_bold: false, size }
    }
}

/// Directions in which a number is tried beside its point.
const WAYS: u32 = 16;

/// Longest line from a number to its point, mm of paper, and longest for which another number is moved away.
const REACH: [f64; 2] = [60.0, 18.0];

/// Where a number may stand.
#[derive(Clone, Copy, Debug)]
struct Stand {
    center: Point,
    leader: Option<[Point; 2]>,
}

/// A picture whose points are being numbered.
struct Numbering<'a> {
    points: &'a [Numbered],
    hard: &'a Lines,
    field: Bounds,
    paper: f64,
    spots: Spots,
    /// Half the box of each number.
    halves: Vec<Vector>,
    /// What has found its place, by point.
    stands: Vec<Option<Stand>>,
}

impl Numbering<'_> {
    /// Half the box of a number with a little air.
    fn clear(&self, index: usize) -> Vector {
        self.halves[index] + Vector::new(0.2, 0.1) * self.paper
    }

    /// The points that a number may stand for.
    fn ends(&self, index: usize) -> impl Iterator<Item = Point> + '_ {
        let point = &self.points[index];
        std::iter::once(point.at).chain(point.also.iter().copied())
    }

    /// Places beside a point.
    fn beside(&self, index: usize) -> Vec<Stand> {
        let (half, gap) = (self.halves[index], self.points[index].gap * self.paper);
        let around = move |at: Point| {
            (0..WAYS).map(move |step| {
                let way = Vector::from_angle(f64::from(step) * std::f64::consts::TAU / f64::from(WAYS) + 0.4);
                Stand { center: at + Vector::new(way.x * (gap + half.x), way.y * (gap + half.y)), leader: None }
            })
        };
        self.ends(index).flat_map(around).collect()
    }

    /// Places from which a line leads to a point, the nearest first.
    fn led(&self, index: usize, reach: f64) -> impl Iterator<Item = Stand> + '_ {
        let (half, at) = (self.halves[index], self.points[index].at);
        self.spots.around(at, reach * self.paper).map(move |center| {
            let leader = Some([border(center, half, at), at]);
            Stand { center, leader }
        })
    }

    /// Whether a place keeps to the field and clear of all lines of the picture.
    fn is_open(&self, index: usize, stand: Stand) -> bool {
        let (half, center, field) = (self.halves[index], stand.center, self.field);
        (center.x - field.min.x).min(field.max.x - center.x) >= half.x
            && (center.y - field.min.y).min(field.max.y - center.y) >= half.y
            && !self.hard.meet(center, self.clear(index))
    }

    /// The points whose numbers or lines are in the way of a place.
    fn blockers(&self, index: usize, stand: Stand) -> Vec<usize> {
        let (half, clear) = (self.halves[index], self.clear(index));
        let meets = |&other: &usize| {
            let Some(known) = self.stands[other] else { return false };
            let (apart, others) = (stand.center - known.center, self.halves[other]);
            let strikes =
                |[a, b]: [Point; 2], center: Point, half: Vector| line_meets_box(a - center, b - center, half);
            // Figures side by side would be read as one number.
            let space = WORD_SPACE * self.points[index].size * self.paper;
            (apart.x.abs() < half.x + others.x + space && apart.y.abs() < half.y + others.y)
                || known.leader.is_some_and(|led| strikes(led, stand.center, clear))
                || stand.leader.is_some_and(|led| {
                    strikes(led, known.center, others) || known.leader.is_some_and(|other| cross(other, led))
                })
        };
        (0..self.points.len()).filter(|&other| other != index).filter(meets).collect()
    }

    fn is_free(&self, index: usize, stand: Stand) -> bool {
        self.is_open(index, stand) && self.blockers(index, stand).is_empty()
    }

    /// The first free place, beside the point or led to it.
    fn place(&self, index: usize) -> Option<Stand> {
        let is_free = |stand: &Stand| self.is_free(index, *stand);
        let beside = self.beside(index).into_iter().find(is_free);
        beside.or_else(|| self.led(index, REACH[0]).find(is_free))
    }

    /// Makes room for a point by moving one that is in its way; whether that could be done.
    fn push_in(&mut self, index: usize) -> bool {
        let tries: Vec<Stand> = self.beside(index).into_iter().chain(self.led(index, REACH[1])).collect();
        for stand in tries {
            if !self.is_open(index, stand) {
                continue;
            }
            let [other] = self.blockers(index, stand)[..] else { continue };
            let known = self.stands[other].take();
            self.stands[index] = Some(stand);
            self.stands[other] = self.place(other);
            if self.stands[other].is_some() {
                return true;
            }
            (self.stands[other], self.stands[index]) = (known, None);
        }
        false
    }
}

/// Names regions by their keys, and points by what stands beside each, clear of all lines and of each other. Points come
/// after the regions in the result's numbers. What finds no place beside its point gets a line to it. Where more than
/// `most_lost` find none at first, the others are not looked for.
pub(crate) fn name_points(
    subjects: &[Subject],
    points: &[Numbered],
    lines: &[[Point; 2]],
    field: Bounds,
    (paper, most_lost): (f64, usize),
) -> Naming {
    let mut hard = Lines::new(8.0 * paper);
    lines.iter().for_each(|&line| hard.add(line));
    let spots = Spots::new(field, paper);
    let halves = points.iter().map(|point| point.extent() * paper).collect();
    let stands = vec![None; points.len()];
    let mut numbering = Numbering { points, hard: &hard, field, paper, spots, halves, stands };
    let mut lost = 0;
    for index in 0..points.len() {
        // Where too many are lost the rest is not looked for: the picture is of no use.
        if lost <= most_lost {
            numbering.stands[index] = numbering.place(index);
            lost += usize::from(numbering.stands[index].is_none());
        }
    }
    for index in 0..points.len() {
        if lost <= most_lost && numbering.stands[index].is_none() {
            numbering.push_in(index);
        }
    }
    let stands = numbering.stands;
    let mut naming = Naming::default();
    for (index, (point, stand)) in points.iter().zip(stands).enumerate() {
        let subject = subjects.len() + index;
        match stand {
            Some(Stand { center, leader }) => {
                let (lines, extent) = (vec![point.name.clone()], point.extent());
                naming.named.push(Named { subject, lines, size: point.size, extent, center, leader });
            }
            None => naming.nameless.push(subject),
        }
    }
    // Keys come last: a part has more room than a point.
    for named in &naming.named {
        hard.add_box(named.center, named.half(paper));
        named.leader.into_iter().for_each(|led| hard.add(led));
    }
    let mut places = AllPlaces::default();
    for (index, subject) in subjects.iter().enumerate() {
        match within(index, subject, &mut places, &hard, paper) {
            Some(named) => naming.named.push(named),
            None => naming.nameless.push(index),
        }
    }
    naming
}
