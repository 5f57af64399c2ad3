//! Small parts on shared pages.

use dropwise_geometry::{Point, Vector};
use dropwise_model::Job;

use super::CLEAR;

/// A part with its place on a page.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Packed {
    /// Index in the job.
    pub(super) part: usize,
    /// Whether it is turned a quarter to the left.
    pub(super) is_turned: bool,
    /// Lower left corner of its box.
    pub(super) at: Point,
}

/// A rectangle: lower left corner and size.
type Free = (Point, Vector);

/// Puts the boxes of parts that fit a window on pages, clear of each other and of the frame, the longest first; gives those
/// that fit none.
///
/// # Source
/// Largest empty rectangles are kept, and a box goes where its shorter side leaves least: the way of maximal rectangles in
/// J. Jylänki, A Thousand Ways to Pack the Bin, 2010 (from memory).
pub(super) fn packed(job: &Job, parts: &[usize], window: Vector) -> (Vec<Vec<Packed>>, Vec<usize>) {
    let size = |part: usize| {
        let bounds = job.parts()[part].shape.bounds();
        Vector::new(bounds.width() + CLEAR, bounds.height() + CLEAR)
    };
    let room = window - Vector::new(CLEAR, CLEAR);
    let ways = |part: usize| {
        let size = size(part);
        [(false, size), (true, Vector::new(size.y, size.x))]
    };
    let (mut fitting, alone): (Vec<usize>, Vec<usize>) =
        parts.iter().partition(|&&part| ways(part).iter().any(|(_, size)| size.x <= room.x && size.y <= room.y));
    let longest = |part: usize| size(part).x.max(size(part).y);
    fitting.sort_by(|&a, &b| longest(b).total_cmp(&longest(a)).then(a.cmp(&b)));
    let mut pages: Vec<(Vec<Packed>, Vec<Free>)> = Vec::new();
    for part in fitting {
        let place = |free: &[Free]| {
            let tries = free
                .iter()
                .flat_map(|&(at, free)| ways(part).map(|(is_turned, size)| (at, free - size, is_turned, size)));
            tries
                .filter(|(_, left, ..)| left.x >= 0.0 && left.y >= 0.0)
                .min_by(|a, b| a.1.x.min(a.1.y).total_cmp(&b.1.x.min(b.1.y)))
        };
        let index = match pages.iter().position(|(_, free)| place(free).is_some()) {
            Some(index) => index,
            None => {
                pages.push((Vec::new(), vec![(Point::new(CLEAR, CLEAR), room)]));
                pages.len() - 1
            }
        };
        let (together, free) = &mut pages[index];
        if let Some((at, _, is_turned, size)) = place(free) {
            together.push(Packed { part, is_turned, at });
            *free = less(free, (at, size));
        }
    }
    (pages.into_iter().map(|(together, _)| together).collect(), alone)
}

/// What is left of empty rectangles when one more is taken: again the largest ones.
fn less(free: &[Free], (at, size): Free) -> Vec<Free> {
    let end = at + size;
    let mut left: Vec<Free> = Vec::new();
    for &(low, extent) in free {
        let high = low + extent;
        if at.x >= high.x || end.x <= low.x || at.y >= high.y || end.y <= low.y {
            left.push((low, extent));
            continue;
        }
        let parts = [
            (low, Point::new(at.x, high.y)),
            (Point::new(end.x, low.y), high),
            (low, Point::new(high.x, at.y)),
            (Point::new(low.x, end.y), high),
        ];
        left.extend(
            parts.into_iter().map(|(low, high)| (low, high - low)).filter(|(_, size)| size.x > 0.0 && size.y > 0.0),
        );
    }
    let holds = |outer: &Free, inner: &Free| {
        let (a, b) = (outer.0 + outer.1, inner.0 + inner.1);
        outer.0.x <= inner.0.x && outer.0.y <= inner.0.y && a.x >= b.x && a.y >= b.y
    };
    let is_needed = |index: usize| {
        left.iter().enumerate().all(|(other, outer)| {
            other == index || !holds(outer, &left[index]) || (holds(&left[index], outer) && index < other)
        })
    };
    let needed: Vec<bool> = (0..left.len()).map(is_needed).collect();
    left.into_iter().zip(needed).filter(|&(_, is_needed)| is_needed).map(|(free, _)| free).collect()
}

#[cfg(test)]
mod tests {
    use dropwise_geometry::{Bounds, Outline, Shape};
    use dropwise_model::{Clearances, LeftoverRule, Need, Part, StockClass, Turns};
    use proptest::prelude::*;

    use super::*;

    fn job(sizes: &[(f64, f64)]) -> Job {
        let part = |(index, &(wide, high)): (usize, &(f64, f64))| Part {
            name: format!("plate {index}"),
            shape: Shape::new(Outline::rectangle(Point::ORIGIN, wide, high), Vec::new()),
            quantity: 1,
            class: StockClass::new("steel"),
            turns: Turns::Any,
            may_flip: false,
            need: Need::Required,
        };
        let rule = LeftoverRule { length: 100.0, width: 100.0, neck: 10.0 };
        Job::new(sizes.iter().enumerate().map(part).collect(), Vec::new(), Clearances::default(), rule).unwrap()
    }

    #[test]
    fn a_long_part_is_turned_and_what_fits_no_page_is_told() {
        let job = job(&[(250.0, 40.0), (100.0, 40.0), (280.0, 200.0)]);
        let (pages, alone) = packed(&job, &[0, 1, 2], Vector::new(190.0, 270.0));
        assert_eq!((pages.len(), alone), (1, vec![2]));
        assert!(pages[0][0].is_turned);
    }

    proptest! {
        #[test]
        fn boxes_keep_clear_of_each_other_and_of_the_frame(sizes in prop::collection::vec((5.0..260.0, 5.0..180.0), 1..25)) {
            let job = job(&sizes);
            let window = Vector::new(190.0, 270.0);
            let (pages, alone) = packed(&job, &(0..sizes.len()).collect::<Vec<_>>(), window);
            prop_assert_eq!(pages.iter().map(Vec::len).sum::<usize>() + alone.len(), sizes.len());
            for page in pages {
                let boxes: Vec<Bounds> = page
                    .iter()
                    .map(|packed| {
                        let (wide, high) = sizes[packed.part];
                        let size = if packed.is_turned { Vector::new(high, wide) } else { Vector::new(wide, high) };
                        Bounds::of([packed.at, packed.at + size])
                    })
                    .collect();
                for (index, one) in boxes.iter().enumerate() {
                    prop_assert!(one.min.x >= CLEAR - 1e-9 && one.min.y >= CLEAR - 1e-9);
                    prop_assert!(one.max.x <= window.x - CLEAR + 1e-9 && one.max.y <= window.y - CLEAR + 1e-9);
                    for other in &boxes[index + 1..] {
                        let gap = (other.min.x - one.max.x).max(one.min.x - other.max.x);
                        let gap = gap.max(other.min.y - one.max.y).max(one.min.y - other.max.y);
                        prop_assert!(gap >= CLEAR - 1e-9);
                    }
                }
            }
        }
    }
}
