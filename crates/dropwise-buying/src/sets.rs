//! Lists sets of offers by the least that they can cost, cheapest first.

use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::rc::Rc;

use dropwise_model::Money;

use crate::items::View;

/// A set of offers: sheets by index, ascending, and how many of each. Of stock sold by length, [`ALL`].
pub(crate) type Set = Vec<(usize, u32)>;

/// As many as can be had.
pub(crate) const ALL: u32 = u32::MAX;

/// A set whose area, with that of the rack, might do.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Listed {
    pub(crate) set: Set,
    /// No choice that buys this set costs less, in the smallest coin, when the parts fill the sheets as assumed.
    pub(crate) bound: f64,
}

/// Something that may be bought, or not.
#[derive(Clone, Debug)]
struct Item {
    sheet: usize,
    class: usize,
    seller: Option<usize>,
    /// Net price of one piece.
    price: f64,
    /// What counts towards the seller's minimum.
    goods: Money,
    /// Room on one piece.
    area: f64,
    copies: u32,
    /// What comes beyond that, by length: net price and area.
    beyond: Option<(f64, f64)>,
    /// Parts that need it or its like, as bits.
    holds: u128,
    /// Net price of an area of it, at the least.
    rate: f64,
}

/// Parts with a bit of their own; what others need does not enter the bound.
const MOST_BITS: usize = 128;
/// Nodes looked at before the list ends. Each takes a few microseconds and some hundred bytes.
const MOST_NODES: usize = 60_000;

/// The list, as an iterator.
#[derive(Debug)]
pub(crate) struct SetList<'v, 'm> {
    view: &'v View<'m>,
    items: Vec<Item>,
    /// For each sheet, where it stands in `items`.
    positions: Vec<Option<usize>>,
    /// For each class, positions in `items`, ascending.
    by_class: Vec<Vec<usize>>,
    /// For each class, rate and area of what lies in the rack, cheapest first.
    rack: Vec<Vec<(f64, f64)>>,
    /// For each bit, the least price of an item at or after each position that holds it.
    least_holding: Vec<Vec<f64>>,
    needed: Vec<f64>,
    all_bits: u128,
    /// Part of every bound: what sheets pay back beyond their price, and what the parts' metal is worth.
    constant: f64,
    /// What leftovers of sheets below zero net price might still bring, at each position.
    gain_after: Vec<f64>,
    heap: BinaryHeap<Node>,
    nodes: usize,
    next_number: u64,
}

#[derive(Clone, Debug)]
struct Node {
    bound: f64,
    number: u64,
    is_leaf: bool,
    /// Items before this position are decided.
    position: usize,
    /// Copies of the item at `position` that may still be taken.
    left: u32,
    taken: Rc<Vec<(usize, u32)>>,
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
    /// The heap gives the greatest first: the least bound, a finished set before others, the earlier.
    fn cmp(&self, other: &Self) -> Ordering {
        (other.bound.total_cmp(&self.bound)).then(self.is_leaf.cmp(&other.is_leaf)).then(other.number.cmp(&self.number))
    }
}

impl<'v, 'm> SetList<'v, 'm> {
    /// All sets of the offers that `wanted` names, each class by itself filled to the given share of its rooms at most.
    /// `None` when prices below what leftovers bring leave no bound at all.
    pub(crate) fn new(view: &'v View<'m>, fill: &[f64], wanted: impl Fn(usize) -> bool) -> Option<Self> {
        let market = view.market;
        let mut constant = 0.0;
        let mut rack = Vec::new();
        let mut bits: Vec<(usize, usize)> = Vec::new();
        for (index, class) in view.classes.iter().enumerate() {
            constant += class.kept_worth;
            let mut sources = Vec::new();
            for &sheet in &class.rack {
                let facts = &view.sheets[sheet];
                let area = view.whole_area(sheet);
                let (price, rate) = match facts.by_length {
                    None => (facts.net_price, facts.net_price / facts.area.max(f64::MIN_POSITIVE)),
                    Some(by_length) => (facts.net_price.min(0.0), by_length.rate),
                };
                if price < 0.0 {
                    if facts.copies.is_infinite() {
                        return None;
                    }
                    constant += price * facts.copies;
                }
                if area > 0.0 {
                    sources.push((rate.max(0.0), area));
                }
            }
            sources.sort_by(|a, b| a.0.total_cmp(&b.0));
            rack.push(sources);
            bits.extend(view.not_in_rack(index).into_iter().map(|at| (index, at)));
        }
        bits.truncate(MOST_BITS);
        let mut items = Vec::new();
        for (index, class) in view.classes.iter().enumerate() {
            for &sheet in class.offers.iter().filter(|&&sheet| wanted(sheet)) {
                let facts = &view.sheets[sheet];
                if facts.area <= 0.0 {
                    continue;
                }
                if facts.net_price < 0.0 && facts.copies.is_infinite() {
                    return None;
                }
                let model = &market.job().sheets()[sheet];
                let holds = (bits.iter().enumerate())
                    .filter(|(_, (class, at))| *class == index && facts.holds[*at])
                    .fold(0_u128, |mask, (bit, _)| mask | 1 << bit);
                let (area, beyond, goods, copies) = match facts.by_length {
                    None => (facts.area, None, model.price, model.quantity.unwrap_or(ALL)),
                    // What is bought beyond the least counts towards the minimum too, so the top-up is not bounded by it.
                    Some(by_length) => {
                        let whole = view.whole_area(sheet);
                        let beyond = (by_length.rate.max(0.0), (whole - by_length.least_area).max(0.0));
                        (by_length.least_area, Some(beyond), Money::from_coins(i64::MAX / 4), 1)
                    }
                };
                let least_rate = facts.net_price / area.max(f64::MIN_POSITIVE);
                let rate = beyond.map_or(least_rate, |(beyond, _)| beyond.min(least_rate)).max(0.0);
                let (price, seller) = (facts.net_price, market.seller(sheet));
                let goods = goods + market.charge(sheet);
                items.push(Item { sheet, class: index, seller, price, goods, area, copies, beyond, holds, rate });
            }
        }
        items.sort_by(|a, b| a.rate.total_cmp(&b.rate).then(a.sheet.cmp(&b.sheet)));
        let mut gain_after = vec![0.0; items.len() + 1];
        let mut least_holding = vec![vec![f64::INFINITY; items.len() + 1]; bits.len()];
        for position in (0..items.len()).rev() {
            let item = &items[position];
            gain_after[position] = gain_after[position + 1] + item.price.min(0.0) * f64::from(item.copies);
            for (bit, least) in least_holding.iter_mut().enumerate() {
                let own = if item.holds >> bit & 1 == 1 { item.price.max(0.0) } else { f64::INFINITY };
                least[position] = least[position + 1].min(own);
            }
        }
        let by_class = (0..view.classes.len())
            .map(|class| (0..items.len()).filter(|&position| items[position].class == class).collect())
            .collect();
        let mut positions = vec![None; view.sheets.len()];
        for (position, item) in items.iter().enumerate() {
            positions[item.sheet] = Some(position);
        }
        let all_bits = if bits.len() == MOST_BITS { u128::MAX } else { (1_u128 << bits.len()) - 1 };
        let needed = view.classes.iter().zip(fill).map(|(class, fill)| class.needed / fill).collect();
        let mut list = Self {
            view,
            items,
            positions,
            by_class,
            rack,
            least_holding,
            needed,
            all_bits,
            constant,
            gain_after,
            heap: BinaryHeap::new(),
            nodes: 0,
            next_number: 0,
        };
        list.put(Rc::default(), 0, None);
        list.finish(Rc::default());
        Some(list)
    }

    /// No set that is still to come costs less; `None` when none is to come.
    pub(crate) fn least_to_come(&self) -> Option<f64> {
        self.heap.peek().map(|node| node.bound)
    }

    /// No choice that buys just this set costs less; `None` when its area cannot do, or it is not of this list.
    pub(crate) fn bound_of(&self, set: &Set) -> Option<f64> {
        let mut taken = Vec::new();
        for &(sheet, count) in set {
            let position = self.positions[sheet]?;
            let is_by_length = self.items[position].beyond.is_some();
            taken.push((position, if is_by_length { 1 } else { count }));
        }
        taken.sort_unstable();
        self.bound(&taken, self.items.len(), 0, true)
    }

    /// No choice that buys this offer, one or more of it, and else only uses the rack, costs less; `None` when its area
    /// cannot do, or it is not of this list.
    pub(crate) fn least_alone(&self, sheet: usize) -> Option<f64> {
        let position = self.positions[sheet]?;
        let item = &self.items[position];
        let lacking = self.needed[item.class] - self.rack[item.class].iter().map(|&(_, area)| area).sum::<f64>();
        let copies = if item.beyond.is_some() { 1 } else { item.copies };
        if item.price < 0.0 || copies == 0 {
            return None;
        }
        // The bound is convex in the count: it falls while a piece costs less than what it spares of the rack.
        let fewest = (lacking / item.area).floor().clamp(1.0, f64::from(copies)) as u32;
        let mut least: Option<f64> = None;
        for count in fewest..=copies {
            match (self.bound(&[(position, count)], self.items.len(), 0, true), least) {
                (Some(bound), Some(known)) if bound >= known => break,
                (Some(bound), _) => least = Some(bound),
                // Areas may miss by a hair; what still does not do then, never does.
                (None, _) if count > fewest + 1 => break,
                (None, _) => {}
            }
        }
        least
    }

    /// No choice that buys this offer, whatever else it buys, costs less; `None` when area cannot do, or it is not of this
    /// list.
    pub(crate) fn least_with(&self, sheet: usize) -> Option<f64> {
        // All items stay open, this one too: that only loosens the bound.
        self.bound(&[(self.positions[sheet]?, 1)], 0, self.items[0].copies, false)
    }

    /// The next set.
    pub(crate) fn next(&mut self) -> Option<Listed> {
        while self.nodes < MOST_NODES {
            let node = self.heap.pop()?;
            self.nodes += 1;
            if node.is_leaf {
                let mut set: Set = node
                    .taken
                    .iter()
                    .map(|&(position, count)| {
                        let item = &self.items[position];
                        (item.sheet, if item.beyond.is_some() { ALL } else { count })
                    })
                    .collect();
                set.sort_unstable();
                return Some(Listed { set, bound: node.bound });
            }
            if node.left > 0 {
                let mut taken = (*node.taken).clone();
                match taken.last_mut() {
                    Some((position, count)) if *position == node.position => *count += 1,
                    _ => taken.push((node.position, 1)),
                }
                let taken = Rc::new(taken);
                self.finish(Rc::clone(&taken));
                self.put(taken, node.position, Some(node.left - 1));
            }
            self.put(node.taken, node.position + 1, None);
        }
        None
    }

    /// Puts a set that may still grow on the heap.
    fn put(&mut self, taken: Rc<Vec<(usize, u32)>>, position: usize, left: Option<u32>) {
        let Some(item) = self.items.get(position) else { return };
        let left = left.unwrap_or(item.copies);
        let Some(bound) = self.bound(&taken, position, left, false) else { return };
        self.push(Node { bound, number: 0, is_leaf: false, position, left, taken });
    }

    /// Puts a set that is to stay as it is on the heap, if it might do.
    fn finish(&mut self, taken: Rc<Vec<(usize, u32)>>) {
        let end = self.items.len();
        let Some(bound) = self.bound(&taken, end, 0, true) else { return };
        self.push(Node { bound, number: 0, is_leaf: true, position: end, left: 0, taken });
    }

    fn push(&mut self, mut node: Node) {
        node.number = self.next_number;
        self.next_number += 1;
        self.heap.push(node);
    }

    /// The least that a set costs which holds what was taken, and else only items from `position` on; `None` when none of
    /// them does.
    fn bound(&self, taken: &[(usize, u32)], position: usize, left: u32, is_final: bool) -> Option<f64> {
        let mut cost = self.constant + self.gain_after.get(position).copied().unwrap_or(0.0);
        let mut lacking = self.needed.clone();
        let mut bits = 0_u128;
        let mut sellers: Vec<(usize, Money)> = Vec::new();
        for &(at, count) in taken {
            let item = &self.items[at];
            cost += item.price * f64::from(count);
            // What the item at hand might still bring is counted in `gain_after` for all its copies.
            if at == position {
                cost -= item.price.min(0.0) * f64::from(count);
            }
            lacking[item.class] -= item.area * f64::from(count);
            bits |= item.holds;
            if let Some(seller) = item.seller {
                let goods = Money::from_coins(item.goods.coins().saturating_mul(i64::from(count)));
                match sellers.iter_mut().find(|(known, _)| *known == seller) {
                    Some((_, sum)) => *sum += goods,
                    None => sellers.push((seller, goods)),
                }
            }
        }
        for (seller, goods) in sellers {
            let terms = &self.view.market.sellers()[seller];
            cost += terms.delivery.coins() as f64;
            if is_final {
                cost += terms.top_up(goods).coins() as f64;
            }
        }
        let mut by_area = 0.0;
        for (class, &lacking) in lacking.iter().enumerate() {
            by_area += self.price_of_area(class, lacking, taken, position, left)?;
        }
        let mut by_part: f64 = 0.0;
        let open = self.all_bits & !bits;
        if open != 0 {
            for (bit, least) in self.least_holding.iter().enumerate().filter(|(bit, _)| open >> bit & 1 == 1) {
                let mut least = least[position];
                if left == 0 && self.items.get(position).is_some_and(|item| item.holds >> bit & 1 == 1) {
                    least = self.least_holding[bit][position + 1];
                }
                if least.is_infinite() {
                    return None;
                }
                by_part = by_part.max(least);
            }
        }
        Some(cost + by_area.max(by_part))
    }

    /// The least for which so much area of a class is to be had from the rack, from stock by length that was taken and
    /// from items from `position` on, all divided at will; `None` when there is not so much.
    fn price_of_area(
        &self,
        class: usize,
        mut lacking: f64,
        taken: &[(usize, u32)],
        position: usize,
        left: u32,
    ) -> Option<f64> {
        // Sums in floating point: an area that misses by a hair is enough.
        let hair = 1e-9 * self.needed[class];
        let mut lengths: Vec<(f64, f64)> = taken
            .iter()
            .filter(|&&(at, _)| self.items[at].class == class)
            .filter_map(|&(at, _)| self.items[at].beyond)
            .collect();
        lengths.sort_by(|a, b| a.0.total_cmp(&b.0));
        let positions = &self.by_class[class];
        let open = &positions[positions.partition_point(|&at| at < position)..];
        let to_buy = open.iter().filter_map(|&at| {
            let item = &self.items[at];
            let copies = if at == position { left } else { item.copies };
            let area = item.area * f64::from(copies) + if copies > 0 { item.beyond.map_or(0.0, |b| b.1) } else { 0.0 };
            (copies > 0).then_some((item.rate, area))
        });
        let mut sources =
            [Merging::new(self.rack[class].iter().copied()), Merging::new(lengths.into_iter()), Merging::new(to_buy)];
        let mut price = 0.0;
        while lacking > hair {
            let cheapest = (0..3).filter(|&i| sources[i].head().is_some()).min_by(|&a, &b| {
                let rate = |i: usize| sources[i].head().map_or(f64::INFINITY, |head| head.0);
                rate(a).total_cmp(&rate(b))
            })?;
            let (rate, area) = sources[cheapest].take()?;
            price += rate * area.min(lacking);
            lacking -= area;
        }
        Some(price)
    }
}

/// A list of which the first entry is looked at before it is taken.
struct Merging<'a> {
    head: Option<(f64, f64)>,
    rest: Box<dyn Iterator<Item = (f64, f64)> + 'a>,
}

impl<'a> Merging<'a> {
    fn new(mut rest: impl Iterator<Item = (f64, f64)> + 'a) -> Self {
        Self { head: rest.next(), rest: Box::new(rest) }
    }

    fn head(&self) -> Option<(f64, f64)> {
        self.head
    }

    fn take(&mut self) -> Option<(f64, f64)> {
        let next = self.rest.next();
        std::mem::replace(&mut self.head, next)
    }
}
