//! The cheapest numbers of sheets that satisfy what is known to be necessary.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// What is necessary: `reach · counts >= need`.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Cut {
    /// The most that one sheet of each kind can contribute.
    pub(super) reach: Vec<f64>,
    pub(super) need: f64,
}

/// What the enumeration came to.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Cheapest {
    /// No numbers that satisfy all cuts cost less.
    pub(super) at_least: f64,
    /// Numbers that cost just that; `None` if the enumeration was given up.
    pub(super) counts: Option<Vec<usize>>,
}

struct Node {
    at_least: f64,
    cost: f64,
    /// Numbers of the first kinds in the order of the enumeration.
    counts: Vec<usize>,
}

impl PartialEq for Node {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Node {}
impl PartialOrd for Node {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Node {
    fn cmp(&self, other: &Self) -> Ordering {
        // The heap gives the greatest: the least bound first, then the deepest.
        other
            .at_least
            .total_cmp(&self.at_least)
            .then(self.counts.len().cmp(&other.counts.len()))
            .then(other.counts.cmp(&self.counts))
    }
}

/// The cheapest numbers, by best-first enumeration. `None` if no numbers satisfy the cuts at all.
pub(super) fn cheapest(prices: &[f64], most: &[usize], cuts: &[Cut], mut nodes: u32) -> Option<Cheapest> {
    let kinds = prices.len();
    // Dear sheets first: few of them are ever bought.
    let mut order: Vec<usize> = (0..kinds).collect();
    order.sort_by(|&a, &b| prices[b].total_cmp(&prices[a]).then(a.cmp(&b)));
    let depth_of: Vec<usize> = {
        let mut depth = vec![0; kinds];
        for (position, &kind) in order.iter().enumerate() {
            depth[kind] = position;
        }
        depth
    };
    // For each cut, kinds by price of what they contribute.
    let by_rate: Vec<Vec<usize>> = cuts
        .iter()
        .map(|cut| {
            let mut kinds: Vec<usize> = (0..kinds).filter(|&k| cut.reach[k] > 0.0).collect();
            let rate = |kind: usize| prices[kind] / cut.reach[kind];
            kinds.sort_by(|&a, &b| rate(a).total_cmp(&rate(b)).then(a.cmp(&b)));
            kinds
        })
        .collect();
    // Least cost of what is still lacking, sheets divided at will; infinite if it cannot be had.
    let rest = |counts: &[usize]| -> f64 {
        let mut most_lacking: f64 = 0.0;
        for (cut, rates) in cuts.iter().zip(&by_rate) {
            let given: f64 = counts.iter().zip(&order).map(|(&n, &k)| n as f64 * cut.reach[k]).sum();
            let mut lacking = cut.need * (1.0 - 1e-7) - 1e-9 - given;
            let mut cost = 0.0;
            for &kind in rates {
                if lacking <= 0.0 {
                    break;
                }
                if depth_of[kind] >= counts.len() {
                    let taken = (lacking / cut.reach[kind]).min(most[kind] as f64);
                    cost += taken * prices[kind];
                    lacking -= taken * cut.reach[kind];
                }
            }
            if lacking > 1e-7 * cut.need.abs() {
                return f64::INFINITY;
            }
            most_lacking = most_lacking.max(cost);
        }
        most_lacking
    };
    let mut heap = BinaryHeap::new();
    heap.push(Node { at_least: rest(&[]), cost: 0.0, counts: Vec::new() });
    while let Some(node) = heap.pop() {
        if !node.at_least.is_finite() {
            return None;
        }
        let depth = node.counts.len();
        if depth == kinds {
            let mut counts = vec![0; kinds];
            for (&kind, &count) in order.iter().zip(&node.counts) {
                counts[kind] = count;
            }
            return Some(Cheapest { at_least: node.at_least, counts: Some(counts) });
        }
        if nodes == 0 {
            return Some(Cheapest { at_least: node.at_least, counts: None });
        }
        let kind = order[depth];
        for count in 0..=most[kind] {
            nodes = nodes.saturating_sub(1);
            let mut counts = node.counts.clone();
            counts.push(count);
            let cost = node.cost + count as f64 * prices[kind];
            let rest = rest(&counts);
            if rest.is_finite() {
                heap.push(Node { at_least: (cost + rest).max(node.at_least), cost, counts });
            }
            // What needs nothing more is not made better by another sheet.
            if rest <= 0.0 {
                break;
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_sheets_cost_more_than_shares_of_them() {
        // Ten of area at 3 for 4 or 5 for 7: two large would be 10, but 4 + 7 = 11 of area for 8.
        let cut = Cut { reach: vec![4.0, 7.0], need: 10.0 };
        let found = cheapest(&[3.0, 5.0], &[9, 9], &[cut], 1000).expect("enough sheets");
        assert_eq!(found.counts, Some(vec![1, 1]));
        assert!((found.at_least - 8.0).abs() < 1e-9);
    }

    #[test]
    fn too_few_sheets_are_none() {
        assert_eq!(cheapest(&[1.0], &[2], &[Cut { reach: vec![1.0], need: 3.0 }], 1000), None);
    }
}
