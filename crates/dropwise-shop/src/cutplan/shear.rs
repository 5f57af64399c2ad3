//! What a guillotine shear can do of a plan: every cut runs from edge to edge of the piece in hand.
//!
//! Parts count as boxes square to the datum: what is sheared of another shape is its blank. Cuts run along the datum edge
//! or square to it.
//!
//! # Why taking cuts as they come is exact
//! A cut that passes between boxes stays possible when another is made first, since that only shrinks the pieces: it
//! crosses no more boxes and is no longer than before. So no cut ever spoils another, whichever is made, all orders end
//! with the same boxes free, and no search is needed. And only cuts along the side of a box need be looked at: any other can
//! be moved sideways until it meets one, through metal that holds no box. A search of all orders agrees (tests).

/// A box in the distances of a datum: from and to, along the datum edge and square to it, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SheetBox {
    /// Least distances.
    pub from: [f64; 2],
    /// Greatest distances.
    pub to: [f64; 2],
}

/// One stroke of the shear.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShearCut {
    /// Which distance the cut has all along: 0 for a cut square to the datum edge, 1 for one along it.
    pub axis: usize,
    /// That distance, mm.
    pub at: f64,
    /// Where it begins and ends along the other, mm: the whole piece in hand.
    pub span: [f64; 2],
}

impl ShearCut {
    /// How long the cut is, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.span[1] - self.span[0]
    }
}

/// What comes of shearing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ShearPlan {
    /// The strokes, in order: what lies farthest from the datum comes off first.
    pub cuts: Vec<ShearCut>,
    /// Boxes that end up cut out on all four sides, by index, in order.
    pub free: Vec<usize>,
    /// Groups of boxes that no stroke parts, or that cannot be trimmed, by index. Empty when all can be sheared.
    pub stuck: Vec<Vec<usize>>,
}

/// Lengths that differ by less than this are equal, mm.
const SAME: f64 = 1e-6;

/// Shears boxes out of a piece with strokes of at most `longest`, mm.
///
/// Every box must lie within the piece and none may overlap; what does not is left stuck.
///
/// # Cost
/// O(n²) for each stroke; four strokes a box at most.
#[must_use]
pub fn shear(piece: SheetBox, boxes: &[SheetBox], longest: f64) -> ShearPlan {
    let mut plan = ShearPlan::default();
    let mut pieces = vec![(piece, (0..boxes.len()).collect::<Vec<usize>>())];
    while let Some((piece, held)) = pieces.pop() {
        if held.is_empty() {
            continue; // an offcut
        }
        let Some((cut, is_held_back)) = next_cut(piece, boxes, &held, longest) else {
            let is_free = |&index: &usize| (0..2).all(|axis| is_trimmed(piece, boxes[index], axis));
            if held.len() == 1 && is_free(&held[0]) {
                plan.free.push(held[0]);
            } else {
                plan.stuck.push(held);
            }
            continue;
        };
        let (mut near, mut far) = (piece, piece);
        near.to[cut.axis] = cut.at;
        far.from[cut.axis] = cut.at;
        let far_held = held.iter().copied().zip(&is_held_back).filter(|(_, near)| !**near).map(|(i, _)| i).collect();
        let near_held = held.iter().copied().zip(&is_held_back).filter(|(_, near)| **near).map(|(i, _)| i).collect();
        plan.cuts.push(cut);
        // The piece that came off is finished before more is taken off the one with the datum.
        pieces.push((near, near_held));
        pieces.push((far, far_held));
    }
    plan.free.sort_unstable();
    plan.stuck.sort();
    plan
}

fn is_trimmed(piece: SheetBox, part: SheetBox, axis: usize) -> bool {
    (piece.from[axis] - part.from[axis]).abs() <= SAME && (piece.to[axis] - part.to[axis]).abs() <= SAME
}

/// The cut farthest from the datum, those square to the datum edge first, and which boxes lie on its near side.
fn next_cut(piece: SheetBox, boxes: &[SheetBox], held: &[usize], longest: f64) -> Option<(ShearCut, Vec<bool>)> {
    for axis in 0..2 {
        let span = [piece.from[1 - axis], piece.to[1 - axis]];
        if span[1] - span[0] > longest + SAME {
            continue;
        }
        let mut places: Vec<f64> = held.iter().flat_map(|&i| [boxes[i].from[axis], boxes[i].to[axis]]).collect();
        places.sort_by(|a, b| b.total_cmp(a));
        for at in places {
            if at <= piece.from[axis] + SAME || at >= piece.to[axis] - SAME {
                continue;
            }
            let is_near: Vec<bool> = held.iter().map(|&i| boxes[i].to[axis] <= at + SAME).collect();
            let is_clear = held.iter().zip(&is_near).all(|(&i, near)| *near || boxes[i].from[axis] >= at - SAME);
            if is_clear {
                return Some((ShearCut { axis, at, span }, is_near));
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use std::collections::HashMap;

    use super::*;
    use proptest::prelude::*;

    fn box_of([x, y, to_x, to_y]: [i32; 4]) -> SheetBox {
        SheetBox { from: [f64::from(x), f64::from(y)], to: [f64::from(to_x), f64::from(to_y)] }
    }

    #[test]
    fn two_straps_by_hand() {
        // Side by side on 100 × 50, 30 × 40 each, 10 apart, with 5 and 25 to spare along and 10 above.
        let boxes = [box_of([5, 0, 35, 40]), box_of([45, 0, 75, 40])];
        let plan = shear(box_of([0, 0, 100, 50]), &boxes, 60.0);
        assert_eq!((&plan.free, plan.stuck.len()), (&vec![0, 1], 0));
        let cuts: Vec<_> = plan.cuts.iter().map(|cut| (cut.axis, cut.at, cut.length())).collect();
        // Off at 75, the strap at 45, which is trimmed to 40 high; then 35, 5 and its height.
        let expected =
            [(0, 75.0, 50.0), (0, 45.0, 50.0), (1, 40.0, 30.0), (0, 35.0, 50.0), (0, 5.0, 50.0), (1, 40.0, 30.0)];
        assert_eq!(cuts, expected);
    }

    #[test]
    fn a_pinwheel_cannot_be_sheared() {
        let boxes = [[0, 0, 2, 1], [2, 0, 3, 2], [1, 2, 3, 3], [0, 1, 1, 3]].map(box_of);
        let plan = shear(box_of([0, 0, 3, 3]), &boxes, 100.0);
        assert_eq!((plan.cuts.len(), plan.free.len()), (0, 0));
        assert_eq!(plan.stuck, [[0, 1, 2, 3]]);
        // A strap beside it still comes off.
        let with_strap = [boxes.to_vec(), vec![box_of([3, 0, 4, 3])]].concat();
        let plan = shear(box_of([0, 0, 4, 3]), &with_strap, 100.0);
        assert_eq!((plan.free, plan.stuck), (vec![4], vec![vec![0, 1, 2, 3]]));
    }

    #[test]
    fn a_short_shear_begins_across_the_narrow_side() {
        let boxes = [box_of([0, 0, 10, 3]), box_of([0, 3, 10, 6])];
        // The piece is 20 by 6; a stroke of 10 parts the two only once the far half is off.
        let plan = shear(box_of([0, 0, 20, 6]), &boxes, 10.0);
        assert_eq!(plan.free, [0, 1]);
        assert_eq!(plan.cuts.iter().map(|cut| (cut.axis, cut.at)).collect::<Vec<_>>(), [(0, 10.0), (1, 3.0)]);
        assert_eq!(shear(box_of([0, 0, 20, 6]), &boxes, 5.0).stuck, [[0, 1]]);
        assert_eq!(shear(box_of([0, 0, 20, 6]), &boxes, 9.0).stuck, [[0, 1]]);
    }

    /// All orders of all cuts at whole numbers: the most boxes that can be freed.
    fn most_freed(piece: [i32; 4], boxes: &[[i32; 4]], longest: i32, known: &mut HashMap<[i32; 4], usize>) -> usize {
        let held: Vec<[i32; 4]> = boxes
            .iter()
            .copied()
            .filter(|b| b[0] >= piece[0] && b[1] >= piece[1] && b[2] <= piece[2] && b[3] <= piece[3])
            .collect();
        if held.is_empty() {
            return 0;
        }
        if held == [piece] {
            return 1;
        }
        if let Some(&found) = known.get(&piece) {
            return found;
        }
        let mut best = 0;
        for axis in 0..2 {
            if piece[3 - axis] - piece[1 - axis] > longest {
                continue;
            }
            for at in piece[axis] + 1..piece[axis + 2] {
                if held.iter().any(|b| b[axis] < at && at < b[axis + 2]) {
                    continue;
                }
                let (mut near, mut far) = (piece, piece);
                near[axis + 2] = at;
                far[axis] = at;
                let freed = most_freed(near, boxes, longest, known) + most_freed(far, boxes, longest, known);
                best = best.max(freed);
            }
        }
        known.insert(piece, best);
        best
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(400))]

        #[test]
        fn a_search_of_all_orders_frees_no_more(
            tries in prop::collection::vec((0..8i32, 0..8i32, 1..5i32, 1..5i32), 1..9),
            longest in 3..12i32,
        ) {
            let mut boxes: Vec<[i32; 4]> = Vec::new();
            for (x, y, width, height) in tries {
                let new = [x, y, (x + width).min(8), (y + height).min(8)];
                let overlaps = |b: &[i32; 4]| new[0] < b[2] && b[0] < new[2] && new[1] < b[3] && b[1] < new[3];
                if !boxes.iter().any(overlaps) {
                    boxes.push(new);
                }
            }
            let piece = [0, 0, 8, 8];
            let floats: Vec<SheetBox> = boxes.iter().copied().map(box_of).collect();
            let plan = shear(box_of(piece), &floats, f64::from(longest));
            let freed = most_freed(piece, &boxes, longest, &mut HashMap::new());
            prop_assert_eq!(plan.free.len(), freed, "{:?}", boxes);
            let stuck: usize = plan.stuck.iter().map(Vec::len).sum();
            prop_assert_eq!(plan.free.len() + stuck, boxes.len());
            for cut in &plan.cuts {
                prop_assert!(cut.length() <= f64::from(longest));
                // No stroke goes through a box on its way.
                let other = 1 - cut.axis;
                for b in &floats {
                    let is_across = b.from[cut.axis] < cut.at && cut.at < b.to[cut.axis];
                    let is_met = b.from[other] < cut.span[1] && cut.span[0] < b.to[other];
                    prop_assert!(!(is_across && is_met));
                }
            }
        }
    }
}
