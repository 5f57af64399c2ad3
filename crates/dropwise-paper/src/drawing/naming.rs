//! Labels of what lies on a sheet: the one routine by which pictures, the report and cut sheets are labelled.
//!
//! A label stands wholly within what it names, level, clear of every edge, hole, line and other label. Where its own
//! metal has no such place, the key alone is tried; where that has none either, the key stands in free space and a line
//! leads from it to the part. Names are whole or left out. Bend lines give way: they break behind a label.

use std::collections::HashMap;

use dropwise_geometry::{Bounds, Point, Polygon, Vector};

use super::label::{CLEAR, LINE, Places, SIZES, line_meets_box};
use super::text::width;

/// Bold letters are wider than the table of widths says, by this at most.
const BOLD: f64 = 1.1;

/// Size of a key that is led out, mm of paper.
const LED: f64 = 3.0;

/// Distance between places tried for what is led out, mm of paper.
const STEP: f64 = 1.5;

/// Longest line that leads to a part, mm of paper.
const FARTHEST: f64 = 140.0;

/// Most keys led out on one sheet: more lines than that hide the parts they cross.
const MOST_LED: usize = 60;

/// Places looked at for one key before the best of them is taken.
const ENOUGH: usize = 80;

/// What crossing the edge of another part counts for, mm of paper of a longer line.
const CROSSING: f64 = 5.0;

/// Something to be named.
#[derive(Clone, Debug)]
pub(crate) struct Subject {
    /// Where its label may stand.
    pub(crate) region: Polygon,
    /// Whether it is a part: keys of others are not led out to where it lies.
    pub(crate) is_part: bool,
    /// Ways to write key and name, each a list of lines, best first.
    pub(crate) names: Vec<Vec<String>>,
    /// Ways to write the key alone, best first. The first is also what is led out; without any nothing is.
    pub(crate) keys: Vec<Vec<String>>,
    /// Lines that may break behind its label: its bend lines.
    pub(crate) soft: Vec<[Point; 2]>,
}

/// A label that found its place, level.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Named {
    /// Index of what it names.
    pub(crate) subject: usize,
    /// Its lines, from the top; the first is bold.
    pub(crate) lines: Vec<String>,
    /// Size, mm of paper.
    pub(crate) size: f64,
    /// Its middle, on the sheet.
    pub(crate) center: Point,
    /// The line that leads to what it names, from the label; `None` where it stands within.
    pub(crate) leader: Option<[Point; 2]>,
}

impl Named {
    /// Half the width and height that it takes, mm of the sheet.
    pub(crate) fn half(&self, paper: f64) -> Vector {
        half(&self.lines, self.size) * paper
    }
}

/// Labels of a sheet.
#[derive(Clone, Debug, Default)]
pub(crate) struct Naming {
    pub(crate) named: Vec<Named>,
    /// Indices of what found no place at all.
    pub(crate) nameless: Vec<usize>,
}

/// Half the width and height of lines of text, mm of paper.
fn half(lines: &[String], size: f64) -> Vector {
    let widest = lines.iter().map(|line| width(line)).fold(0.0, f64::max) * BOLD;
    Vector::new(widest * size / 2.0, lines.len() as f64 * LINE * size / 2.0)
}

/// Lines of a picture by the squares of a grid that they pass through.
struct Lines {
    cell: f64,
    lines: Vec<[Point; 2]>,
    squares: HashMap<(i64, i64), Vec<usize>>,
}

impl Lines {
    fn new(cell: f64) -> Self {
        Self { cell: cell.max(1e-9), lines: Vec::new(), squares: HashMap::new() }
    }

    fn square(&self, value: f64) -> i64 {
        // Saturates, so that an absurd coordinate costs no time.
        (value / self.cell).floor() as i64
    }

    fn add(&mut self, line: [Point; 2]) {
        let index = self.lines.len();
        self.lines.push(line);
        let [a, b] = line;
        let (left, right) = (self.square(a.x.min(b.x)), self.square(a.x.max(b.x)));
        let (low, high) = (self.square(a.y.min(b.y)), self.square(a.y.max(b.y)));
        let half = Vector::new(self.cell / 2.0, self.cell / 2.0);
        for x in left..=right {
            for y in low..=high {
                let middle = Point::new((x as f64 + 0.5) * self.cell, (y as f64 + 0.5) * self.cell);
                if line_meets_box(a - middle, b - middle, half * 1.001) {
                    self.squares.entry((x, y)).or_default().push(index);
                }
            }
        }
    }

    /// Whether any line meets a box.
    fn meet(&self, middle: Point, half: Vector) -> bool {
        let (left, right) = (self.square(middle.x - half.x), self.square(middle.x + half.x));
        let (low, high) = (self.square(middle.y - half.y), self.square(middle.y + half.y));
        (left..=right).flat_map(|x| (low..=high).map(move |y| (x, y))).any(|square| {
            let lines = self.squares.get(&square).map_or(&[][..], Vec::as_slice);
            lines.iter().any(|&index| {
                let [a, b] = self.lines[index];
                line_meets_box(a - middle, b - middle, half)
            })
        })
    }

    /// How many lines another crosses.
    fn crossed(&self, [from, to]: [Point; 2]) -> usize {
        let middle = from.lerp(to, 0.5);
        let reach = Vector::new((to.x - from.x).abs() / 2.0, (to.y - from.y).abs() / 2.0);
        let mut found: Vec<usize> = Vec::new();
        for x in self.square(middle.x - reach.x)..=self.square(middle.x + reach.x) {
            for y in self.square(middle.y - reach.y)..=self.square(middle.y + reach.y) {
                let lines = self.squares.get(&(x, y)).map_or(&[][..], Vec::as_slice);
                found.extend(lines.iter().copied().filter(|&index| cross(self.lines[index], [from, to])));
            }
        }
        found.sort_unstable();
        found.dedup();
        found.len()
    }
}

/// Whether two lines cross between their ends.
fn cross(one: [Point; 2], other: [Point; 2]) -> bool {
    let side = |line: [Point; 2], point: Point| (line[1] - line[0]).cross(point - line[0]);
    side(one, other[0]) * side(one, other[1]) < 0.0 && side(other, one[0]) * side(other, one[1]) < 0.0
}

/// Sides of the rings of a polygon.
pub(crate) fn sides(polygon: &Polygon) -> impl Iterator<Item = [Point; 2]> + '_ {
    polygon.rings().flat_map(|ring| {
        let next = ring.iter().copied().cycle().skip(1);
        ring.iter().copied().zip(next).map(|(a, b)| [a, b])
    })
}

/// Names all subjects. `lines` are all other lines of the picture that a label must keep clear of; `field` is where keys
/// may stand that are led out, `None` where none are; `paper` is so many mm of the sheet for one of paper.
pub(crate) fn name_all(subjects: &[Subject], lines: &[[Point; 2]], field: Option<Bounds>, paper: f64) -> Naming {
    let mut hard = Lines::new(8.0 * paper);
    lines.iter().for_each(|&line| hard.add(line));
    let mut naming = Naming::default();
    let mut homeless = Vec::new();
    for (index, subject) in subjects.iter().enumerate() {
        match within(index, subject, &hard, paper) {
            Some(named) => naming.named.push(named),
            None => homeless.push(index),
        }
    }
    let Some(field) = field else {
        naming.nameless = homeless;
        return naming;
    };
    let mut edges = Lines::new(8.0 * paper);
    subjects.iter().flat_map(|subject| sides(&subject.region)).for_each(|side| edges.add(side));
    let spots = spots(field, paper);
    for (count, index) in homeless.into_iter().enumerate() {
        let targets = if count < MOST_LED { Places::of(&subjects[index].region).targets() } else { Vec::new() };
        let led = targets.into_iter().find_map(|target| {
            led_out(index, target, subjects, (&hard, &edges), (&spots, field), &naming.named, paper)
        });
        match led {
            Some(named) => naming.named.push(named),
            None => naming.nameless.push(index),
        }
    }
    naming
}

/// Size of the numbers of points, mm of paper.
pub(crate) const NUMBER: f64 = 2.6;

/// Names regions by their keys, and points by what stands beside each, clear of all lines and of each other. Points come
/// after the regions in the result's numbers, each with its size in mm of paper. What finds no place beside its point gets a line to it.
pub(crate) fn name_points(
    subjects: &[Subject],
    points: &[(Point, String, f64)],
    lines: &[[Point; 2]],
    field: Bounds,
    paper: f64,
) -> Naming {
    let mut hard = Lines::new(8.0 * paper);
    lines.iter().for_each(|&line| hard.add(line));
    let mut naming = Naming::default();
    let spots = spots(field, paper);
    for (index, (at, name, size)) in points.iter().enumerate() {
        let text = vec![name.clone()];
        let half = half(&text, *size) * paper;
        let clear = half + Vector::new(0.2, 0.1) * paper;
        let is_free = |center: Point, naming: &Naming| {
            let inside = (center.x - field.min.x).min(field.max.x - center.x) >= half.x
                && (center.y - field.min.y).min(field.max.y - center.y) >= half.y;
            inside
                && !hard.meet(center, clear)
                && naming.named.iter().all(|other| {
                    let (apart, reach) = (center - other.center, other.half(paper) + half);
                    let boxes = apart.x.abs() >= reach.x || apart.y.abs() >= reach.y;
                    boxes && other.leader.is_none_or(|[a, b]| !line_meets_box(a - center, b - center, clear))
                })
        };
        let gap = 1.1 * paper;
        let beside = (0..16).map(|step| {
            let way = Vector::from_angle(f64::from(step) * std::f64::consts::TAU / 16.0 + 0.4);
            *at + Vector::new(way.x * (gap + half.x), way.y * (gap + half.y))
        });
        let mut candidates: Vec<(Point, bool)> = beside.map(|center| (center, false)).collect();
        let mut near: Vec<Point> = spots.iter().copied().filter(|spot| spot.distance(*at) < 25.0 * paper).collect();
        near.sort_by(|a, b| a.distance(*at).total_cmp(&b.distance(*at)));
        candidates.extend(near.into_iter().map(|center| (center, true)));
        let found = candidates.into_iter().find_map(|(center, is_led)| {
            if !is_free(center, &naming) {
                return None;
            }
            let leader = is_led.then(|| [border(center, half, *at), *at]);
            let is_struck = leader.is_some_and(|[from, to]| {
                naming.named.iter().any(|other| {
                    line_meets_box(from - other.center, to - other.center, other.half(paper))
                        || other.leader.is_some_and(|led| cross(led, [from, to]))
                })
            });
            (!is_struck).then_some((center, leader))
        });
        match found {
            Some((center, leader)) => {
                naming.named.push(Named { subject: subjects.len() + index, lines: text, size: *size, center, leader })
            }
            None => naming.nameless.push(subjects.len() + index),
        }
    }
    // Keys come last: a part has more room than a point.
    for named in &naming.named {
        let half = named.half(paper);
        let corner = |x: f64, y: f64| named.center + Vector::new(x * half.x, y * half.y);
        let ring = [corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)];
        (0..4).for_each(|i| hard.add([ring[i], ring[(i + 1) % 4]]));
        named.leader.into_iter().for_each(|led| hard.add(led));
    }
    for (index, subject) in subjects.iter().enumerate() {
        match within(index, subject, &hard, paper) {
            Some(named) => naming.named.push(named),
            None => naming.nameless.push(index),
        }
    }
    naming
}

/// A place within: whole names clear of everything, then keys; over lines that break only where there is no other way.
fn within(index: usize, subject: &Subject, hard: &Lines, paper: f64) -> Option<Named> {
    let places = Places::of(&subject.region);
    let tries = [(&subject.names, true), (&subject.keys, true), (&subject.names, false), (&subject.keys, false)];
    for (texts, is_soft_kept) in tries {
        if !is_soft_kept && subject.soft.is_empty() {
            break;
        }
        for size in SIZES {
            for lines in texts {
                let half = (half(lines, size) + Vector::new(CLEAR, CLEAR)) * paper;
                let is_free = |center: Point| {
                    let clear = |[a, b]: &[Point; 2]| !line_meets_box(*a - center, *b - center, half);
                    (!is_soft_kept || subject.soft.iter().all(clear)) && !hard.meet(center, half)
                };
                if let Some(center) = places.place_level(half, is_free) {
                    return Some(Named { subject: index, lines: lines.clone(), size, center, leader: None });
                }
            }
        }
    }
    None
}

/// Middles of places to try in a field.
fn spots(field: Bounds, paper: f64) -> Vec<Point> {
    let step = (STEP * paper).max(field.width().max(field.height()) / 400.0);
    let count = |length: f64| (length / step).floor().clamp(0.0, 400.0) as usize;
    let (columns, rows) = (count(field.width()), count(field.height()));
    let at = |column: usize, row: usize| {
        Point::new(field.min.x + (column as f64 + 0.5) * step, field.min.y + (row as f64 + 0.5) * step)
    };
    (0..columns).flat_map(|column| (0..rows).map(move |row| at(column, row))).collect()
}

/// A place in free space, with a line to the part that meets no other label.
fn led_out(
    index: usize,
    target: Point,
    subjects: &[Subject],
    (hard, edges): (&Lines, &Lines),
    (spots, field): (&[Point], Bounds),
    named: &[Named],
    paper: f64,
) -> Option<Named> {
    let subject = &subjects[index];
    let lines = subject.keys.first()?;
    let box_half = half(lines, LED) * paper;
    let clear = box_half + Vector::new(CLEAR, CLEAR) * paper;
    let mut near: Vec<(f64, Point)> =
        spots.iter().map(|&spot| (spot.distance(target), spot)).filter(|(far, _)| *far <= FARTHEST * paper).collect();
    near.sort_by(|a, b| a.0.total_cmp(&b.0));
    let others: Vec<(Point, Vector, Option<[Point; 2]>)> = named
        .iter()
        .map(|other| (other.center, other.half(paper) + Vector::new(CLEAR, CLEAR) * paper, other.leader))
        .collect();
    let mut best: Option<(f64, Named)> = None;
    let mut looked_at = 0;
    for (far, center) in near {
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
        if others.iter().any(meets) || subjects.iter().any(|other| is_metal(other, center)) {
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
            let placed = Named { subject: index, lines: lines.clone(), size: LED, center, leader: Some(leader) };
            best = Some((score, placed));
        }
    }
    best.map(|(_, named)| named)
}

/// Whether a point lies on a part: labels of others do not stand there.
fn is_metal(subject: &Subject, point: Point) -> bool {
    subject.is_part && subject.region.bounds().contains(point) && subject.region.contains(point)
}

/// Where the way from the middle of a box to a point leaves it.
fn border(center: Point, half: Vector, to: Point) -> Point {
    let way = to - center;
    let share = (half.x / way.x.abs()).min(half.y / way.y.abs());
    if share.is_finite() && share < 1.0 { center + way * share } else { center }
}

/// What is left of a line where boxes (middle, half sides) break it.
pub(crate) fn broken(line: [Point; 2], boxes: &[(Point, Vector)]) -> Vec<[Point; 2]> {
    let [from, to] = line;
    let mut gaps: Vec<(f64, f64)> = boxes.iter().filter_map(|&(center, half)| inside(from, to, center, half)).collect();
    gaps.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut left = Vec::new();
    let mut at = 0.0;
    for (start, end) in gaps {
        if start > at {
            left.push([from.lerp(to, at), from.lerp(to, start)]);
        }
        at = at.max(end);
    }
    if at < 1.0 {
        left.push([from.lerp(to, at), to]);
    }
    left
}

/// The shares of a line between which it lies in a box.
///
/// # Source
/// Liang and Barsky's way of clipping. Textbook.
fn inside(from: Point, to: Point, center: Point, half: Vector) -> Option<(f64, f64)> {
    let (way, start) = (to - from, from - center);
    let (mut first, mut last) = (0.0f64, 1.0f64);
    for (step, at, half) in [(way.x, start.x, half.x), (way.y, start.y, half.y)] {
        if step == 0.0 {
            if at.abs() >= half {
                return None;
            }
            continue;
        }
        let (a, b) = ((-half - at) / step, (half - at) / step);
        first = first.max(a.min(b));
        last = last.min(a.max(b));
    }
    (first < last).then_some((first, last))
}

/// Longest name that is written on a part, letters: a longer one fits on none, and to try where it breaks takes long.
const LONGEST_NAME: usize = 120;

/// Ways to write key and name of a part, best first. `is_face_down` adds the word for it.
pub(crate) fn names_of(key: &str, name: &str, is_face_down: bool) -> Vec<Vec<String>> {
    if name.is_empty() || name.chars().count() > LONGEST_NAME {
        return Vec::new();
    }
    let mut ways = vec![vec![format!("{key} {name}")]];
    for lines in 1..=3 {
        let Some(broken) = lines_of(name, lines) else { break };
        ways.push([vec![key.to_owned()], broken].concat());
    }
    if is_face_down {
        ways.iter_mut().for_each(|lines| lines.push(FACE_DOWN.to_owned()));
    }
    ways
}

/// Ways to write the key of a part alone.
pub(crate) fn keys_of(key: &str, is_face_down: bool) -> Vec<Vec<String>> {
    if is_face_down {
        return vec![vec![format!("{key} {FACE_DOWN}")], vec![key.to_owned(), FACE_DOWN.to_owned()]];
    }
    vec![vec![key.to_owned()]]
}

/// The one word for a part that lies with its face on the sheet's back.
pub(crate) const FACE_DOWN: &str = "face down";

/// A name in so many lines, broken at blanks so that the longest line is as short as may be; `None` when it has too
/// few words.
fn lines_of(name: &str, lines: usize) -> Option<Vec<String>> {
    if lines <= 1 {
        return Some(vec![name.to_owned()]);
    }
    name.match_indices(' ')
        .filter_map(|(blank, _)| {
            let mut broken = vec![name[..blank].to_owned()];
            broken.extend(lines_of(&name[blank + 1..], lines - 1)?);
            Some(broken)
        })
        .min_by(|a, b| longest(a).total_cmp(&longest(b)))
}

fn longest(lines: &[String]) -> f64 {
    lines.iter().map(|line| width(line)).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(corners: &[(f64, f64)]) -> Polygon {
        Polygon::new(corners.iter().map(|&(x, y)| Point::new(x, y)).collect(), Vec::new())
    }

    fn plate(left: f64, low: f64, wide: f64, high: f64) -> Polygon {
        ring(&[(left, low), (left + wide, low), (left + wide, low + high), (left, low + high)])
    }

    fn subject(region: Polygon, key: &str, name: &str) -> Subject {
        let (names, keys) = (names_of(key, name, false), keys_of(key, false));
        Subject { region, is_part: true, names, keys, soft: Vec::new() }
    }

    #[test]
    fn names_are_whole_or_left_out() {
        let wide = subject(plate(0.0, 0.0, 80.0, 20.0), "A1", "hose reel cheek");
        let small = subject(plate(100.0, 0.0, 8.0, 8.0), "B2", "hose reel cheek");
        let naming = name_all(&[wide, small], &[], None, 1.0);
        assert_eq!(naming.named[0].lines, ["A1 hose reel cheek"]);
        assert_eq!(naming.named[1].lines, ["B2"]);
    }

    #[test]
    fn what_is_too_small_is_led_out_to_free_space() {
        let small = subject(plate(0.0, 0.0, 3.0, 3.0), "B12", "pin");
        let beside = subject(plate(4.0, -20.0, 60.0, 60.0), "A", "cover");
        let field = Bounds::of([Point::new(-30.0, -30.0), Point::new(90.0, 60.0)]);
        let naming = name_all(&[small, beside.clone()], &[], Some(field), 1.0);
        assert_eq!(naming.nameless, Vec::<usize>::new());
        let led = naming.named.iter().find(|named| named.subject == 0).unwrap();
        assert!(led.leader.is_some() && !beside.region.contains(led.center), "{led:?}");
        // Without a field nothing is led out, and that is told.
        let small = subject(plate(0.0, 0.0, 3.0, 3.0), "B12", "pin");
        assert_eq!(name_all(&[small], &[], None, 1.0).nameless, [0]);
    }

    #[test]
    fn labels_keep_off_bend_lines_or_break_them() {
        let mut strip = subject(plate(0.0, 0.0, 40.0, 14.0), "D", "rail");
        strip.soft = vec![[Point::new(0.0, 7.0), Point::new(40.0, 7.0)]];
        let naming = name_all(std::slice::from_ref(&strip), &[], None, 1.0);
        let named = &naming.named[0];
        let (center, half) = (named.center, named.half(1.0));
        assert!((center.y - 7.0).abs() >= half.y, "room beside the line is taken first");
        strip.region = plate(0.0, 4.0, 40.0, 6.0);
        let naming = name_all(std::slice::from_ref(&strip), &[], None, 1.0);
        let named = &naming.named[0];
        let left = broken(strip.soft[0], &[(named.center, named.half(1.0))]);
        assert_eq!(left.len(), 2, "{left:?}");
        assert!(left.iter().all(|[a, b]| !line_meets_box(*a - named.center, *b - named.center, named.half(0.999))));
    }

    #[test]
    fn names_break_where_the_lines_are_most_alike() {
        assert_eq!(lines_of("Corner bracket", 1).unwrap(), ["Corner bracket"]);
        assert_eq!(lines_of("Cover for the winch", 2).unwrap(), ["Cover for", "the winch"]);
        assert_eq!(lines_of("Cover for the winch", 3).unwrap().len(), 3);
        assert_eq!(lines_of("Tab", 2), None);
        assert_eq!(names_of("A1", "Tab", true)[0], ["A1 Tab", "face down"]);
        assert_eq!(names_of("A1", &"Tab ".repeat(2000), false), Vec::<Vec<String>>::new());
    }

    #[test]
    fn lines_break_only_where_a_box_lies_on_them() {
        let line = [Point::new(0.0, 0.0), Point::new(10.0, 0.0)];
        assert_eq!(broken(line, &[]), [line]);
        let boxes = [(Point::new(5.0, 0.0), Vector::new(1.0, 1.0)), (Point::new(5.0, 3.0), Vector::new(1.0, 1.0))];
        assert_eq!(
            broken(line, &boxes),
            [[Point::new(0.0, 0.0), Point::new(4.0, 0.0)], [Point::new(6.0, 0.0), Point::new(10.0, 0.0)]]
        );
    }
}
