//! The boxes of what lies on a sheet, laid out to find those that meet another.

use dropwise_geometry::{Bounds, Point};
use pulp::{Arch, NullaryFnOnce};

use crate::shapes::vectors::Vectors;

/// Boxes looked at together: a full vector of single precision of the widest kind, two of the next.
const LANES: usize = 16;

/// Sixteen boxes by their sides, those on the upper sides negated: then two boxes meet where each of four sums is
/// not positive. Places that stand for no box meet none.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Group {
    sides: [[f32; LANES]; 4],
}

const NOTHING: Group = Group { sides: [[f32::INFINITY; LANES]; 4] };

/// Boxes in groups, for scanning. Single precision, rounded outward.
#[derive(Clone, Debug, Default)]
pub(crate) struct Boxes {
    groups: Vec<Group>,
    count: usize,
}

impl Boxes {
    pub(crate) fn push(&mut self, bounds: Bounds) {
        if self.count.is_multiple_of(LANES) {
            self.groups.push(NOTHING);
        }
        let lane = self.count % LANES;
        let group = self.groups.last_mut().expect("just made where there was none with room");
        for (side, value) in group.sides.iter_mut().zip(rounded_out(bounds)) {
            side[lane] = value;
        }
        self.count += 1;
    }

    /// Takes a box out; the last takes its place.
    pub(crate) fn swap_remove(&mut self, index: usize) {
        let last = self.count - 1;
        for side in 0..4 {
            self.groups[index / LANES].sides[side][index % LANES] = self.groups[last / LANES].sides[side][last % LANES];
            self.groups[last / LANES].sides[side][last % LANES] = f32::INFINITY;
        }
        self.count = last;
        self.groups.truncate(last.div_ceil(LANES));
    }
}

/// Left, lower, and the negated right and upper side.
fn rounded_out(Bounds { min, max }: Bounds) -> [f32; 4] {
    [min.x, min.y, -max.x, -max.y].map(|side| (side as f32).next_down())
}

/// What the sides of a box that meets another do not exceed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Meets([f32; 4]);

impl Meets {
    #[inline(always)]
    pub(crate) fn with(Bounds { min, max }: Bounds) -> Self {
        Self(rounded_out(Bounds { min: Point::new(-max.x, -max.y), max: Point::new(-min.x, -min.y) }).map(|s| -s))
    }
}

impl Boxes {
    /// Numbers of the groups.
    #[inline(always)]
    pub(crate) fn groups(&self) -> std::ops::Range<usize> {
        0..self.groups.len()
    }

    /// The indices of the boxes of a group that meet another box, or come so near that single precision cannot tell, in
    /// order. An iterator, not a call for each: closures are not sure to be inlined.
    #[inline(always)]
    pub(crate) fn meeting<M: Masks>(&self, masks: M, group: usize, meets: Meets) -> Indices {
        Indices { first: group * LANES, left: masks.within(&self.groups[group], meets.0) }
    }
}

/// The places of the bits of a mask.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Indices {
    first: usize,
    left: u16,
}

impl Iterator for Indices {
    type Item = usize;

    #[inline(always)]
    fn next(&mut self) -> Option<usize> {
        if self.left == 0 {
            return None;
        }
        let index = self.first + self.left.trailing_zeros() as usize;
        self.left &= self.left - 1;
        Some(index)
    }
}

/// Work that wants vector instructions, and bits out of comparisons besides.
///
/// What it calls must be inlined into it, or it is compiled without the wider instructions.
pub(crate) trait MaskedWork {
    type Output;
    fn run<M: Masks>(self, masks: M) -> Self::Output;
}

struct Masked<W, M>(W, M);

impl<W: MaskedWork, M: Masks> NullaryFnOnce for Masked<W, M> {
    type Output = W::Output;

    #[inline(always)]
    fn call(self) -> W::Output {
        self.0.run(self.1)
    }
}

impl Vectors {
    /// Runs work on the widest vectors that the processor has.
    #[inline]
    pub(crate) fn run<W: MaskedWork>(self, work: W) -> W::Output {
        match self.arch() {
            #[cfg(target_arch = "x86_64")]
            Arch::V4(simd) => simd.vectorize(Masked(work, InOne(simd))),
            #[cfg(target_arch = "x86_64")]
            Arch::V3(simd) => simd.vectorize(Masked(work, InHalves(simd))),
            _ => work.run(OneByOne),
        }
    }

    /// Writes down which of some boxes meet a box, or come so near that single precision cannot tell, by index.
    #[inline]
    pub(crate) fn boxes_meeting(self, boxes: &Boxes, bounds: Bounds, into: &mut Vec<u32>) {
        into.clear();
        self.run(Meeting { boxes, bounds, into });
    }
}

struct Meeting<'a> {
    boxes: &'a Boxes,
    bounds: Bounds,
    into: &'a mut Vec<u32>,
}

impl MaskedWork for Meeting<'_> {
    type Output = ();

    #[inline(always)]
    fn run<M: Masks>(self, masks: M) {
        let meets = Meets::with(self.bounds);
        for group in self.boxes.groups() {
            for index in self.boxes.meeting(masks, group, meets) {
                self.into.push(index as u32);
            }
        }
    }
}

/// Which boxes of a group exceed none of some sides, as bits. Written for each kind of vector, since compilers make
/// poor work of bits out of comparisons.
pub(crate) trait Masks: Copy {
    fn within(self, group: &Group, most: [f32; 4]) -> u16;
}

#[derive(Clone, Copy)]
struct OneByOne;

impl Masks for OneByOne {
    #[inline(always)]
    fn within(self, group: &Group, most: [f32; 4]) -> u16 {
        let is_within = |lane: usize| (0..4).all(|side| group.sides[side][lane] <= most[side]);
        (0..LANES).fold(0, |mask, lane| mask | u16::from(is_within(lane)) << lane)
    }
}

#[cfg(target_arch = "x86_64")]
#[derive(Clone, Copy)]
struct InOne(pulp::x86::V4);

#[cfg(target_arch = "x86_64")]
impl Masks for InOne {
    #[inline(always)]
    fn within(self, group: &Group, most: [f32; 4]) -> u16 {
        let side = |i: usize| self.0.cmp_le_f32x16(pulp::cast(group.sides[i]), self.0.splat_f32x16(most[i])).0;
        side(0) & side(1) & side(2) & side(3)
    }
}

#[cfg(target_arch = "x86_64")]
#[derive(Clone, Copy)]
struct InHalves(pulp::x86::V3);

#[cfg(target_arch = "x86_64")]
impl Masks for InHalves {
    #[inline(always)]
    fn within(self, group: &Group, most: [f32; 4]) -> u16 {
        let half = |of: usize| {
            let side = |i: usize| {
                let values: [f32; LANES / 2] = std::array::from_fn(|lane| group.sides[i][of * LANES / 2 + lane]);
                pulp::cast::<_, [u64; 4]>(self.0.cmp_le_f32x8(pulp::cast(values), self.0.splat_f32x8(most[i])))
            };
            let sides = [side(0), side(1), side(2), side(3)];
            let all: [u64; 4] = std::array::from_fn(|k| sides[0][k] & sides[1][k] & sides[2][k] & sides[3][k]);
            self.0.avx._mm256_movemask_ps(pulp::cast(all)) as u16
        };
        half(0) | half(1) << (LANES / 2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn those_that_meet_or_touch_are_found_whatever_their_number() {
        let square = |x: f64| Bounds { min: Point::new(x, 0.0), max: Point::new(x + 1.0, 1.0) };
        for count in [0, 1, 7, 8, 9, 16, 17, 40] {
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

    #[test]
    fn all_kinds_of_vector_find_the_same() {
        let mut boxes = Boxes::default();
        let corner = |i: i32| Point::new(f64::from(i * 37 % 50), f64::from(i * 23 % 41));
        for i in 0..60 {
            boxes.push(Bounds { min: corner(i), max: Point::new(corner(i).x + 9.0, corner(i).y + 7.0) });
        }
        let most = [25.0, 22.0, -17.0, -12.0];
        let found = |masks: &dyn Fn(&Group) -> u16| boxes.groups.iter().map(masks).collect::<Vec<u16>>();
        let plain = found(&|group| OneByOne.within(group, most));
        assert!(plain.iter().any(|&mask| mask != 0));
        #[cfg(target_arch = "x86_64")]
        {
            if let Some(simd) = pulp::x86::V3::try_new() {
                assert_eq!(found(&|group| InHalves(simd).within(group, most)), plain);
            }
            if let Some(simd) = pulp::x86::V4::try_new() {
                assert_eq!(found(&|group| InOne(simd).within(group, most)), plain);
            }
        }
    }

    #[test]
    fn the_last_box_takes_the_place_of_one_taken_out() {
        let square = |x: f64| Bounds { min: Point::new(x, 0.0), max: Point::new(x + 1.0, 1.0) };
        let mut boxes = Boxes::default();
        (0..18).for_each(|i| boxes.push(square(3.0 * f64::from(i))));
        boxes.swap_remove(2);
        boxes.swap_remove(16);
        let mut found = Vec::new();
        let everywhere = Bounds { min: Point::new(-1.0, -1.0), max: Point::new(100.0, 1.0) };
        Vectors::default().boxes_meeting(&boxes, everywhere, &mut found);
        assert_eq!(found, (0..16).collect::<Vec<u32>>());
        Vectors::default().boxes_meeting(&boxes, square(51.0), &mut found);
        assert_eq!(found, [2], "the eighteenth box");
    }
}
