//! What pairs of items have in common: how deep they overlap, and how much that weighs.

use crate::state::weights::WeightRule;

/// The pairs that overlap, or did so until lately. All others have no loss and weigh one, and take no memory: of ten
/// thousand copies of a part there are fifty million pairs, of which only neighbours ever overlap.
#[derive(Clone, Debug, Default)]
pub(crate) struct Pairs {
    /// By item, in the order of the other item. Each pair stands in both lists.
    links: Vec<Vec<Link>>,
}

/// One pair, seen from one of its items.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Link {
    pub(crate) other: u32,
    pub(crate) loss: f32,
    pub(crate) weight: f32,
}

impl Link {
    fn is_plain(&self) -> bool {
        self.loss == 0.0 && self.weight == 1.0
    }
}

impl Pairs {
    /// Nothing overlaps, and all weighs one.
    pub(crate) fn new(items: usize) -> Self {
        Self { links: vec![Vec::new(); items] }
    }

    /// The pairs of an item that overlap or weigh more than one.
    pub(crate) fn of(&self, item: usize) -> &[Link] {
        &self.links[item]
    }

    /// Whether an item overlaps another.
    pub(crate) fn has_loss(&self, item: usize) -> bool {
        self.links[item].iter().any(|link| link.loss > 0.0)
    }

    /// Two items, of which no loss is known, overlap so much.
    pub(crate) fn set_loss(&mut self, one: usize, two: usize, loss: f32) {
        for (item, other) in [(one, two as u32), (two, one as u32)] {
            let links = &mut self.links[item];
            match links.binary_search_by_key(&other, |link| link.other) {
                Ok(position) => links[position].loss = loss,
                Err(position) => links.insert(position, Link { other, loss, weight: 1.0 }),
            }
        }
    }

    /// An item overlaps nothing any more; weights stay.
    pub(crate) fn clear_losses_of(&mut self, item: usize) {
        let mut own = std::mem::take(&mut self.links[item]);
        own.retain_mut(|link| {
            if link.loss > 0.0 {
                link.loss = 0.0;
                let theirs = &mut self.links[link.other as usize];
                if let Ok(position) = theirs.binary_search_by_key(&(item as u32), |link| link.other) {
                    theirs[position].loss = 0.0;
                    if theirs[position].is_plain() {
                        theirs.remove(position);
                    }
                }
            }
            !link.is_plain()
        });
        self.links[item] = own;
    }

    /// The losses of all pairs, each once.
    pub(crate) fn losses(&self) -> impl Iterator<Item = f32> + '_ {
        let before = |(item, links): (usize, &'_ Vec<Link>)| links.partition_point(|link| (link.other as usize) < item);
        let losses = move |(item, links)| self.links[item][..before((item, links))].iter().map(|link| link.loss);
        self.links.iter().enumerate().flat_map(losses).filter(|&loss| loss > 0.0)
    }

    /// Makes pairs that overlap weigh more, and the others a little less.
    pub(crate) fn learn(&mut self, rule: WeightRule, largest: f32) {
        for links in &mut self.links {
            links.retain_mut(|link| {
                link.weight = rule.updated(link.weight, link.loss / largest);
                !link.is_plain()
            });
        }
    }

    /// All weighs one again.
    pub(crate) fn reset_weights(&mut self) {
        for links in &mut self.links {
            links.retain_mut(|link| {
                link.weight = 1.0;
                !link.is_plain()
            });
        }
    }
}

/// The weights of one item against all others, spread out: an evaluation looks them up by the other's index.
#[derive(Clone, Debug, Default)]
pub(crate) struct WeightRow {
    /// Whose weights these are; `None` where they may be out of date.
    item: Option<usize>,
    weights: Vec<f32>,
    /// Where they are not one.
    changed: Vec<u32>,
}

impl WeightRow {
    /// Weights of so many items.
    pub(crate) fn new(items: usize) -> Self {
        Self { item: None, weights: vec![1.0; items], changed: Vec::new() }
    }

    /// To be called whenever weights change.
    pub(crate) fn forget(&mut self) {
        self.item = None;
    }

    /// Spreads out the weights of an item, unless they are already.
    #[inline]
    pub(crate) fn show(&mut self, item: usize, pairs: &Pairs) {
        if self.item != Some(item) {
            self.take(item, pairs);
        }
    }

    fn take(&mut self, item: usize, pairs: &Pairs) {
        for other in self.changed.drain(..) {
            self.weights[other as usize] = 1.0;
        }
        for link in pairs.of(item).iter().filter(|link| link.weight != 1.0) {
            self.weights[link.other as usize] = link.weight;
            self.changed.push(link.other);
        }
        self.item = Some(item);
    }

    /// By the other item.
    #[inline]
    pub(crate) fn weights(&self) -> &[f32] {
        &self.weights
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const ITEMS: usize = 7;

    /// Two full tables, in place of the sparse ones.
    #[derive(Clone, Debug)]
    struct Tables {
        loss: [[f32; ITEMS]; ITEMS],
        weight: [[f32; ITEMS]; ITEMS],
    }

    #[derive(Clone, Debug)]
    enum Change {
        Loss(usize, usize, f32),
        Clear(usize),
        Learn,
        Reset,
    }

    fn change() -> impl Strategy<Value = Change> {
        let pair = (0..ITEMS, 1..ITEMS, 0.01..5.0_f32);
        prop_oneof![
            6 => pair.prop_map(|(one, step, loss)| Change::Loss(one, (one + step) % ITEMS, loss)),
            3 => (0..ITEMS).prop_map(Change::Clear),
            4 => Just(Change::Learn),
            1 => Just(Change::Reset),
        ]
    }

    fn apply(change: &Change, pairs: &mut Pairs, tables: &mut Tables) {
        let rule = WeightRule::default();
        match *change {
            Change::Loss(one, two, loss) => {
                pairs.set_loss(one, two, loss);
                (tables.loss[one][two], tables.loss[two][one]) = (loss, loss);
            }
            Change::Clear(item) => {
                pairs.clear_losses_of(item);
                for other in 0..ITEMS {
                    (tables.loss[item][other], tables.loss[other][item]) = (0.0, 0.0);
                }
            }
            Change::Learn => {
                pairs.learn(rule, 5.0);
                for (weights, losses) in tables.weight.iter_mut().zip(&tables.loss) {
                    weights
                        .iter_mut()
                        .zip(losses)
                        .for_each(|(weight, loss)| *weight = rule.updated(*weight, loss / 5.0));
                }
            }
            Change::Reset => {
                pairs.reset_weights();
                tables.weight = [[1.0; ITEMS]; ITEMS];
            }
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

        #[test]
        fn sparse_pairs_say_what_full_tables_do(changes in prop::collection::vec(change(), 0..40)) {
            let mut pairs = Pairs::new(ITEMS);
            let mut row = WeightRow::new(ITEMS);
            let mut tables = Tables { loss: [[0.0; ITEMS]; ITEMS], weight: [[1.0; ITEMS]; ITEMS] };
            for change in &changes {
                apply(change, &mut pairs, &mut tables);
                row.forget();
                for item in 0..ITEMS {
                    row.show(item, &pairs);
                    prop_assert_eq!(row.weights(), tables.weight[item].as_slice());
                    let loss = |other: usize| {
                        pairs.of(item).iter().find(|link| link.other as usize == other).map_or(0.0, |link| link.loss)
                    };
                    prop_assert_eq!((0..ITEMS).map(loss).collect::<Vec<f32>>(), tables.loss[item].to_vec());
                    prop_assert_eq!(pairs.has_loss(item), tables.loss[item].iter().any(|&loss| loss > 0.0));
                    prop_assert!(pairs.of(item).iter().all(|link| !link.is_plain()), "what says nothing is not kept");
                }
                let each_once = (0..ITEMS).flat_map(|item| tables.loss[item][..item].to_vec());
                prop_assert_eq!(pairs.losses().collect::<Vec<f32>>(), each_once.filter(|&l| l > 0.0).collect::<Vec<f32>>());
            }
        }
    }
}
