//! The boxes of what lies on a sheet, laid out to find those that meet another.

use dropwise_geometry::Bounds;
use pulp::NullaryFnOnce;

use crate::collision::Vectors;

/// Boxes as separate arrays, for scanning.
#[derive(Clone, Debug, Default)]
pub(crate) struct Boxes {
    min_x: Vec<f64>,
    min_y: Vec<f64>,
    max_x: Vec<f64>,
    max_y: Vec<f64>,
}

impl Boxes {
    pub(crate) fn push(&mut self, bounds: Bounds) {
        self.min_x.push(bounds.min.x);
        self.min_y.push(bounds.min.y);
        self.max_x.push(bounds.max.x);
        self.max_y.push(bounds.max.y);
    }

    /// Takes a box out; the last takes its place.
    pub(crate) fn swap_remove(&mut self, index: usize) {
        for side in [&mut self.min_x, &mut self.min_y, &mut self.max_x, &mut self.max_y] {
            side.swap_remove(index);
        }
    }
}

impl Vectors {
    /// Writes down which of some boxes meet a box, or touch it, by index.
    #[inline]
    pub(crate) fn boxes_meeting(self, boxes: &Boxes, bounds: Bounds, into: &mut Vec<u32>) {
        self.arch().dispatch(BoxesMeeting { boxes, bounds, into });
    }
}

struct BoxesMeeting<'a> {
    boxes: &'a Boxes,
    bounds: Bounds,
    into: &'a mut Vec<u32>,
}

/// Boxes looked at together: a full vector of double precision of the widest kind.
const LANES: usize = 8;

impl NullaryFnOnce for BoxesMeeting<'_> {
    type Output = ();

    #[inline(always)]
    fn call(self) {
        let Self { boxes, bounds, into } = self;
        into.clear();
        let count = boxes.min_x.len();
        let (x0, y0) = (&boxes.min_x[..count], &boxes.min_y[..count]);
        let (x1, y1) = (&boxes.max_x[..count], &boxes.max_y[..count]);
        for start in (0..count).step_by(LANES) {
            let end = (start + LANES).min(count);
            let mut mask = 0_u32;
            for i in start..end {
                let meets = (x0[i] <= bounds.max.x)
                    & (x1[i] >= bounds.min.x)
                    & (y0[i] <= bounds.max.y)
                    & (y1[i] >= bounds.min.y);
                mask |= u32::from(meets) << (i - start);
            }
            while mask != 0 {
                into.push(start as u32 + mask.trailing_zeros());
                mask &= mask - 1;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use dropwise_geometry::Point;

    #[test]
    fn those_that_meet_or_touch_are_found_whatever_their_number() {
        let square = |x: f64| Bounds { min: Point::new(x, 0.0), max: Point::new(x + 1.0, 1.0) };
        for count in [0, 1, 7, 8, 9, 20] {
            let mut boxes = Boxes::default();
            (0..count).for_each(|i| boxes.push(square(f64::from(i))));
            let mut found = Vec::new();
            Vectors::default().boxes_meeting(&boxes, square(6.5), &mut found);
            let expected: Vec<u32> = [6, 7].into_iter().filter(|&i| (i as i32) < count).collect();
            assert_eq!(found, expected, "of {count}");
            Vectors::default().boxes_meeting(&boxes, square(7.0), &mut found);
            let expected: Vec<u32> = [6, 7, 8].into_iter().filter(|&i| (i as i32) < count).collect();
            assert_eq!(found, expected, "touching, of {count}");
        }
    }
}
