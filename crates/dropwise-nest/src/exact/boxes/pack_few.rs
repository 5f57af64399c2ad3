//! Whether a few boxes can lie together in a rectangle: all of them tried, by who lies beside or above whom.

/// Most boxes that are looked at.
pub(super) const MOST: usize = 8;

/// What was found out.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Verdict {
    /// They fit: lower left corners, in the order given.
    Fits(Vec<(f64, f64)>),
    /// No arrangement of them fits.
    Never,
    /// Given up.
    Unknown,
}

/// Boxes as (width, height), and the rectangle. `nodes` limits the work.
///
/// In any arrangement each pair is apart along an axis, so all arrangements are found by deciding for one pair after
/// another which lies left of or below which. All boxes sit as far left and down as the decisions so far allow; a pair
/// that overlaps then is decided next, the one with the fewest ways first.
///
/// # Source
/// The disjunctive formulation of Onodera, Taniguchi and Tamaru, "Branch-and-bound placement for building block
/// layout", 28th Design Automation Conference (1991).
pub(super) fn pack_few(boxes: &[(f64, f64)], width: f64, height: f64, nodes: &mut u32) -> Verdict {
    let n = boxes.len();
    if n > MOST {
        return Verdict::Unknown;
    }
    let slack = (1e-8 * width.max(height), width, height);
    if boxes.iter().any(|b| b.0 > width + slack.0 || b.1 > height + slack.0) {
        return Verdict::Never;
    }
    let mut orders = Orders { before: [[[false; MOST]; MOST]; 2] };
    match decide(boxes, slack, &mut orders, nodes) {
        Some(Some(at)) => Verdict::Fits(at),
        Some(None) => Verdict::Never,
        None => Verdict::Unknown,
    }
}

/// `before[axis][i][j]`: i ends before j begins.
#[derive(Clone, Debug)]
struct Orders {
    before: [[[bool; MOST]; MOST]; 2],
}

/// Least coordinates on one axis that the decisions allow; `None` if something does not fit.
fn least(orders: &Orders, axis: usize, sizes: &[f64; MOST], n: usize, room: f64) -> Option<[f64; MOST]> {
    let mut at = [0.0; MOST];
    // Each pass settles at least one more box of every chain; a chain longer than all boxes is a circle.
    for _ in 0..=n {
        let mut is_settled = true;
        for j in 0..n {
            for i in 0..n {
                if orders.before[axis][i][j] && at[j] < at[i] + sizes[i] {
                    at[j] = at[i] + sizes[i];
                    is_settled = false;
                    if at[j] + sizes[j] > room {
                        return None;
                    }
                }
            }
        }
        if is_settled {
            return Some(at);
        }
    }
    None
}

/// `None`: given up; `Some(None)`: impossible.
#[allow(clippy::option_option, reason = "three outcomes of one recursion")]
fn decide(
    boxes: &[(f64, f64)],
    (slack, width, height): (f64, f64, f64),
    orders: &mut Orders,
    nodes: &mut u32,
) -> Option<Option<Vec<(f64, f64)>>> {
    if *nodes == 0 {
        return None;
    }
    *nodes -= 1;
    let n = boxes.len();
    let mut sizes = [[0.0; MOST]; 2];
    for (i, b) in boxes.iter().enumerate() {
        (sizes[0][i], sizes[1][i]) = *b;
    }
    let room = [width + slack, height + slack];
    let (Some(x), Some(y)) = (least(orders, 0, &sizes[0], n, room[0]), least(orders, 1, &sizes[1], n, room[1])) else {
        return Some(None);
    };
    let at = [x, y];
    let mut chosen: Option<(usize, usize, usize)> = None;
    let mut has_overlap = false;
    for i in 0..n {
        for j in i + 1..n {
            let overlaps = (0..2).all(|axis| {
                at[axis][i] + sizes[axis][i] > at[axis][j] + slack && at[axis][j] + sizes[axis][j] > at[axis][i] + slack
            });
            if !overlaps {
                continue;
            }
            has_overlap = true;
            let ways = (0..2)
                .map(|axis| {
                    let fits = |a: usize, b: usize| at[axis][a] + sizes[axis][a] + sizes[axis][b] <= room[axis];
                    usize::from(fits(i, j)) + usize::from(fits(j, i))
                })
                .sum();
            if ways == 0 {
                return Some(None);
            }
            if chosen.is_none_or(|(fewest, _, _)| ways < fewest) {
                chosen = Some((ways, i, j));
            }
        }
    }
    if !has_overlap {
        return Some(Some((0..n).map(|i| (at[0][i], at[1][i])).collect()));
    }
    let (_, i, j) = chosen?;
    for axis in 0..2 {
        for (a, b) in [(i, j), (j, i)] {
            if at[axis][a] + sizes[axis][a] + sizes[axis][b] > room[axis] {
                continue;
            }
            orders.before[axis][a][b] = true;
            let found = decide(boxes, (slack, width, height), orders, nodes);
            orders.before[axis][a][b] = false;
            match found {
                Some(None) => {}
                other => return other,
            }
        }
    }
    Some(None)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn verdict(boxes: &[(f64, f64)], width: f64, height: f64) -> Verdict {
        pack_few(boxes, width, height, &mut 100_000)
    }

    #[test]
    fn a_pinwheel_fits_exactly() {
        // Four 2 x 1 boxes around a unit hole: no guillotine cut parts them.
        let Verdict::Fits(at) = verdict(&[(2.0, 1.0), (1.0, 2.0), (2.0, 1.0), (1.0, 2.0), (1.0, 1.0)], 3.0, 3.0) else {
            panic!("five boxes of area nine fill a square of nine");
        };
        assert_eq!(at.len(), 5);
    }

    #[test]
    fn area_enough_is_not_enough() {
        // Three 2 x 2 in 3 x 5: area 12 of 15, but no two lie side by side.
        assert_eq!(verdict(&[(2.0, 2.0); 3], 3.0, 5.0), Verdict::Never);
        assert!(matches!(verdict(&[(2.0, 2.0); 2], 3.0, 5.0), Verdict::Fits(_)));
    }
}
