//! Labels of what lies on a sheet: the one routine by which pictures, the report and cut sheets are labelled.
//!
//! A label stands wholly within what it names, level, clear of every edge, hole, line and other label. Where its own
//! metal has no such place, the key alone is tried; where that has none either, the key stands in free space and a line
//! leads from it to the part. Names are whole or left out. Bend lines give way: they break behind a label.

mod led;
mod lines;
mod points;
mod words;

use dropwise_geometry::{Bounds, Point, Polygon, Vector};

pub(crate) use self::lines::{Lines, broken, inside, sides};
pub(crate) use self::points::{Numbered, name_points};
pub(crate) use self::words::{keys_of, names_of};
use super::label::{AllPlaces, CLEAR, LINE, SIZES, line_meets_box};
use super::text::width;

/// Bold letters are wider than the table of widths says, by this at most.
const BOLD: f64 = 1.1;

/// Most keys led out on one sheet: more lines than that hide the parts they cross.
const MOST_LED: usize = 60;

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
    /// Half the width and height that it takes, mm of paper.
    pub(crate) extent: Vector,
    /// Its middle, on the sheet.
    pub(crate) center: Point,
    /// The line that leads to what it names, from the label; `None` where it stands within.
    pub(crate) leader: Option<[Point; 2]>,
}

impl Named {
    /// Half the width and height that it takes, mm of the sheet.
    pub(crate) fn half(&self, paper: f64) -> Vector {
        self.extent * paper
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

/// Names all subjects. `lines` are all other lines of the picture that a label must keep clear of; `field` is where keys
/// may stand that are led out, `None` where none are; `paper` is so many mm of the sheet for one of paper.
pub(crate) fn name_all(subjects: &[Subject], lines: &[[Point; 2]], field: Option<Bounds>, paper: f64) -> Naming {
    let mut hard = Lines::new(8.0 * paper);
    lines.iter().for_each(|&line| hard.add(line));
    let mut naming = Naming::default();
    let mut homeless = Vec::new();
    let mut places = AllPlaces::default();
    for (index, subject) in subjects.iter().enumerate() {
        match within(index, subject, &mut places, &hard, paper) {
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
    let spots = led::Spots::new(field, paper);
    let bounds: Vec<Bounds> = subjects.iter().map(|subject| subject.region.bounds()).collect();
    for (count, index) in homeless.into_iter().enumerate() {
        let (found, way) = places.of(&subjects[index].region);
        let targets = if count < MOST_LED { found.targets() } else { Vec::new() };
        let led = targets.into_iter().find_map(|target| {
            let around = (&spots, field);
            led::led_out(index, target + way, (subjects, &bounds), (&hard, &edges), around, &naming.named, paper)
        });
        match led {
            Some(named) => naming.named.push(named),
            None => naming.nameless.push(index),
        }
    }
    naming
}

/// A place within: whole names clear of everything, then keys; over lines that break only where there is no other way.
fn within(index: usize, subject: &Subject, places: &mut AllPlaces, hard: &Lines, paper: f64) -> Option<Named> {
    let (places, way) = places.of(&subject.region);
    let tries = [(&subject.names, true), (&subject.keys, true), (&subject.names, false), (&subject.keys, false)];
    for (texts, is_soft_kept) in tries {
        if !is_soft_kept && subject.soft.is_empty() {
            break;
        }
        for size in SIZES {
            for lines in texts {
                let extent = half(lines, size);
                let half = (extent + Vector::new(CLEAR, CLEAR)) * paper;
                let is_free = |center: Point| {
                    let clear = |[a, b]: &[Point; 2]| !line_meets_box(*a - center, *b - center, half);
                    (!is_soft_kept || subject.soft.iter().all(clear)) && !hard.meet(center, half)
                };
                if let Some(center) = places.place_level(half, |center| is_free(center + way)) {
                    let center = center + way;
                    return Some(Named { subject: index, lines: lines.clone(), size, extent, center, leader: None });
                }
            }
        }
    }
    None
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
}
