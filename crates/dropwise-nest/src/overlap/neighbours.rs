//! What an item costs against all that lies around it, in one go: the innermost loop of the search where parts cannot turn.

use dropwise_geometry::{Bounds, Point};

use crate::overlap::boxes_in_use::{Boxes, MaskedWork, Masks, Meets};
use crate::overlap::no_fit::{NoFits, depth_at};

/// What of an item's place shapes that cannot turn are measured by.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Laid {
    pub(crate) at: Point,
    /// Number of the variant.
    pub(crate) number: usize,
    pub(crate) size: f64,
}

impl Laid {
    /// What depth is multiplied by before the root is taken: a length times an area.
    #[inline(always)]
    pub(crate) fn scale_with(&self, other: &Self) -> f64 {
        let least = if self.size < other.size { self.size } else { other.size };
        least * std::f64::consts::PI * self.size * other.size
    }

    /// The other's place seen from this one, or the other way about.
    #[inline(always)]
    pub(crate) fn place_of(&self, other: &Self, is_reversed: bool) -> Point {
        Point::ORIGIN + if is_reversed { self.at - other.at } else { other.at - self.at }
    }
}

/// The weighted loss of an item, laid so, against the items around it.
pub(crate) struct Neighbours<'a> {
    pub(crate) item: usize,
    pub(crate) laid: Laid,
    /// Its box.
    pub(crate) bounds: Bounds,
    /// Boxes of the items on the sheet, and the items in the same order.
    pub(crate) boxes: &'a Boxes,
    pub(crate) members: &'a [usize],
    /// All items.
    pub(crate) others: &'a [Laid],
    /// Weights of the item against all others, by the other item.
    pub(crate) weights: &'a [f32],
    pub(crate) no_fits: &'a NoFits,
    pub(crate) touch: f64,
    /// Once the sum exceeds this, it is returned as far as it has come.
    pub(crate) bound: f64,
    /// Takes the positions among `members` of items whose boxes meet and for which no no-fit polygon is kept.
    pub(crate) left: &'a mut Vec<u32>,
}

impl MaskedWork for Neighbours<'_> {
    type Output = f64;

    #[inline(always)]
    fn run<M: Masks>(self, masks: M) -> f64 {
        let mut loss = 0.0;
        let meets = Meets::with(self.bounds);
        for group in self.boxes.groups() {
            for index in self.boxes.meeting(masks, group, meets) {
                let other = self.members[index];
                if other == self.item {
                    continue;
                }
                let lies = &self.others[other];
                let Some((no_fit, is_reversed)) = self.no_fits.of(self.laid.number, lies.number) else {
                    self.left.push(index as u32);
                    continue;
                };
                let weight = f64::from(self.weights[other]);
                let rest = (self.bound - loss) / weight;
                let scale = self.laid.scale_with(lies);
                let place = self.laid.place_of(lies, is_reversed);
                let depth = depth_at(masks, no_fit, place, self.touch, rest * rest / scale);
                if depth > 0.0 {
                    loss += weight * (depth * scale).sqrt();
                    if loss > self.bound {
                        return loss;
                    }
                }
            }
        }
        loss
    }
}
