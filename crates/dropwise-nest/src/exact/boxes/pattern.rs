//! What one sheet can hold at best, when each part has a value.

use std::collections::HashMap;

use super::dual_feasible::family;
use super::pack_few::{self, Verdict, pack_few};
use super::view::BoxTask;

/// How many weighings by dual feasible functions are kept for a sheet, the area included.
const WEIGHINGS: usize = 6;
/// Work spent on one question whether some boxes fit together.
const PACK_NODES: u32 = 400;

/// Necessary conditions for parts to lie together on a kind of sheet.
#[derive(Clone, Debug)]
struct Conditions {
    /// Share of the sheet that a kind takes up, by weighing and kind; the first weighing is the area.
    shares: Vec<Vec<f64>>,
    /// Kinds that exclude each other, kind by kind.
    excludes: Vec<Vec<bool>>,
}

/// Finds the most valuable contents of sheets.
#[derive(Clone, Debug)]
pub(super) struct Pricer {
    conditions: Vec<Conditions>,
    /// Whether a set of kinds, sorted, was seen to fit on a sheet, or not.
    known: HashMap<(usize, Vec<u16>), bool>,
}

/// What was found for one sheet.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Priced {
    /// No contents are worth more.
    pub(super) at_most: f64,
    /// The most valuable contents seen, as kinds, if they are worth more than was asked for.
    pub(super) best: Option<(f64, Vec<usize>)>,
    /// Work done.
    pub(super) nodes: u64,
}

impl Pricer {
    pub(super) fn new(task: &BoxTask) -> Self {
        let conditions = (0..task.sheets.len()).map(|sheet| Conditions::new(task, sheet)).collect();
        Self { conditions, known: HashMap::new() }
    }

    /// The most that contents of a sheet can be worth; contents worth no more than `threshold` are not looked for, and
    /// it is the least that is answered.
    pub(super) fn price(&mut self, task: &BoxTask, sheet: usize, values: &[f64], threshold: f64, nodes: u64) -> Priced {
        let conditions = &self.conditions[sheet];
        let area = &conditions.shares[0];
        let mut order: Vec<usize> =
            (0..task.kinds.len()).filter(|&k| values[k] > 1e-12 && task.kinds[k].is_on[sheet]).collect();
        let rates: Vec<f64> = values.iter().zip(area).map(|(value, area)| value / area.max(1e-12)).collect();
        order.sort_by(|&a, &b| rates[b].total_cmp(&rates[a]).then(a.cmp(&b)));
        let mut search = Descent {
            task,
            sheet,
            conditions,
            known: &mut self.known,
            values,
            order,
            left: nodes,
            best_value: threshold,
            best: None,
            chosen: Vec::new(),
            used: vec![0.0; conditions.shares.len()],
        };
        let at_most = search.descend(0, 0, 0.0);
        let at_most = at_most.max(search.best_value);
        let best = search.best.take().map(|kinds| (search.best_value, kinds));
        Priced { at_most, best, nodes: nodes - search.left }
    }
}

struct Descent<'a> {
    task: &'a BoxTask,
    sheet: usize,
    conditions: &'a Conditions,
    known: &'a mut HashMap<(usize, Vec<u16>), bool>,
    values: &'a [f64],
    order: Vec<usize>,
    left: u64,
    best_value: f64,
    best: Option<Vec<usize>>,
    chosen: Vec<usize>,
    used: Vec<f64>,
}

impl Descent<'_> {
    /// The most that the kinds chosen and any from `position` on are worth together, or less than the best where they
    /// cannot beat it. `copies` of the kind there are chosen already.
    fn descend(&mut self, position: usize, copies: usize, value: f64) -> f64 {
        if value > self.best_value {
            self.best_value = value;
            self.best = Some(self.chosen.clone());
        }
        let bound = value + self.rest(position, copies);
        // A hair of value is not worth a search.
        if bound <= self.best_value * (1.0 + 1e-6) + 1e-9 {
            return bound.min(self.best_value * (1.0 + 1e-6) + 1e-9);
        }
        if self.left == 0 {
            return bound;
        }
        self.left -= 1;
        let Some(&kind) = self.order.get(position) else { return value };
        let mut most = value;
        if copies < self.task.kinds[kind].count && self.may_take(kind) {
            for (used, shares) in self.used.iter_mut().zip(&self.conditions.shares) {
                *used += shares[kind];
            }
            self.chosen.push(kind);
            if self.is_packable() {
                most = most.max(self.descend(position, copies + 1, value + self.values[kind]));
            }
            self.chosen.pop();
            for (used, shares) in self.used.iter_mut().zip(&self.conditions.shares) {
                *used -= shares[kind];
            }
        }
        most = most.max(self.descend(position + 1, 0, value));
        most.min(bound)
    }

    fn may_take(&self, kind: usize) -> bool {
        let is_room = |(used, shares): (&f64, &Vec<f64>)| used + shares[kind] <= 1.0 + 1e-6;
        self.used.iter().zip(&self.conditions.shares).all(is_room)
            && self.chosen.iter().all(|&other| !self.conditions.excludes[kind][other])
    }

    /// Value of the best that could still be added if parts were divided at will.
    fn rest(&self, position: usize, copies: usize) -> f64 {
        let area = &self.conditions.shares[0];
        let mut room = 1.0 + 1e-6 - self.used[0];
        let mut sum = 0.0;
        let mut done = copies;
        for &kind in &self.order[position..] {
            let count = self.task.kinds[kind].count - done;
            done = 0;
            if count == 0 || !self.may_take(kind) {
                continue;
            }
            let count = if self.conditions.excludes[kind][kind] { count.min(1) } else { count } as f64;
            let taken = count.min(room / area[kind].max(1e-12));
            sum += taken * self.values[kind];
            room -= taken * area[kind];
            if room <= 0.0 {
                break;
            }
        }
        sum
    }

    /// Whether the kinds chosen may fit together; few are looked at closely.
    fn is_packable(&mut self) -> bool {
        let n = self.chosen.len();
        if !(3..=pack_few::MOST).contains(&n) {
            return true;
        }
        let mut key: Vec<u16> = self.chosen.iter().map(|&k| k as u16).collect();
        key.sort_unstable();
        let key = (self.sheet, key);
        if let Some(&known) = self.known.get(&key) {
            return known;
        }
        let answer = packs(self.task, self.sheet, &self.chosen);
        self.known.insert(key, answer);
        answer
    }
}

/// Whether kinds may fit together on a sheet: no only if every way to turn them was refuted.
fn packs(task: &BoxTask, sheet: usize, chosen: &[usize]) -> bool {
    let room = &task.sheets[sheet];
    let turns: usize = chosen.iter().map(|&k| task.kinds[k].forms.len()).product();
    if turns > 64 {
        return true;
    }
    let mut nodes = PACK_NODES;
    for turn in 0..turns {
        let mut rest = turn;
        let boxes: Vec<(f64, f64)> = chosen
            .iter()
            .map(|&k| {
                let forms = &task.kinds[k].forms;
                let form = forms[rest % forms.len()];
                rest /= forms.len();
                (form.width, form.height)
            })
            .collect();
        if pack_few(&boxes, room.width, room.height, &mut nodes) != Verdict::Never {
            return true;
        }
    }
    false
}

impl Conditions {
    fn new(task: &BoxTask, sheet: usize) -> Self {
        let room = &task.sheets[sheet];
        let slack = 1.0 + 1e-9;
        let fitting = |kind: usize| task.kinds[kind].forms.iter().filter(move |f| room.holds(f));
        let kinds = task.kinds.len();
        let sizes = |axis: usize| -> Vec<f64> {
            (0..kinds)
                .flat_map(|k| {
                    fitting(k).map(move |f| if axis == 0 { f.width / room.width } else { f.height / room.height })
                })
                .map(|share| share.min(1.0))
                .collect()
        };
        let (across, up) = (family(&sizes(0)), family(&sizes(1)));
        let mut weighings: Vec<(f64, Vec<f64>)> = Vec::new();
        for &f in &across {
            for &g in &up {
                let shares: Vec<f64> = (0..kinds)
                    .map(|k| {
                        let share = fitting(k)
                            .map(|form| {
                                f.at((form.width / room.width).min(1.0)) * g.at((form.height / room.height).min(1.0))
                            })
                            .fold(f64::INFINITY, f64::min);
                        if share.is_finite() { share } else { 0.0 }
                    })
                    .collect();
                let sum = shares.iter().zip(&task.kinds).map(|(s, k)| s * k.count as f64).sum();
                weighings.push((sum, shares));
            }
        }
        weighings.sort_by(|a, b| b.0.total_cmp(&a.0));
        weighings.dedup_by(|a, b| (a.0 - b.0).abs() <= 1e-9);
        let area = task.kinds.iter().map(|k| k.area / room.area.max(f64::MIN_POSITIVE)).collect();
        let shares = std::iter::once(area).chain(weighings.into_iter().map(|w| w.1).take(WEIGHINGS - 1)).collect();
        let excludes = (0..kinds)
            .map(|a| {
                (0..kinds)
                    .map(|b| {
                        !fitting(a).any(|f| {
                            fitting(b).any(|g| {
                                f.width + g.width <= room.width * slack || f.height + g.height <= room.height * slack
                            })
                        })
                    })
                    .collect()
            })
            .collect();
        Self { shares, excludes }
    }
}
