//! Is a job a jigsaw, and on which sheets?

use dropwise_geometry::{Bounds, Point, Polygon, Side, difference};

use super::free_space::FreeSpace;
use super::mitre::{cleaned, mitred};
use super::tile::TileSet;
use crate::problem::task::Task;

/// A job whose parts, each with its share of the web, have together the area of some of its sheets.
#[derive(Debug)]
pub(crate) struct Puzzle {
    pub(crate) tiles: TileSet,
    /// Free space of each sheet of the task; `None` where it is not needed.
    pub(crate) rooms: Vec<Option<FreeSpace>>,
    /// Sets of sheets, as indices into the task, whose areas add up to that of the parts; the cheapest first.
    pub(crate) sets: Vec<Vec<usize>>,
    /// Points closer than this are one.
    pub(crate) tolerance: f64,
    /// Directions that differ by less are one, radians.
    pub(crate) angle: f64,
}

/// Areas that differ by less than this share are equal.
const SAME_AREA: f64 = 1e-6;
/// Sets of sheets looked at, and kept.
const MOST_LOOKS: usize = 20_000;
const MOST_SETS: usize = 8;

impl Puzzle {
    /// The puzzle that a task poses; `None` if it poses none.
    pub(crate) fn new(task: &Task) -> Option<Self> {
        let grain = task.sheets.first()?.grain;
        let parts = 0..task.parts.len();
        let is_plain = (task.is_strip() || task.sheets.iter().all(|sheet| sheet.price_per_length.is_none()))
            && task.sheets.iter().all(|s| parts.clone().all(|p| task.allowed(p, s.grain) == task.allowed(p, grain)));
        if !is_plain {
            return None;
        }
        let tiles = TileSet::new(task, grain)?;
        let needed: f64 = tiles.kinds.iter().map(|kind| kind.area * kind.items.len() as f64).sum();
        if needed <= 0.0 {
            return None;
        }
        let rooms: Vec<Option<FreeSpace>> = if task.is_strip() {
            vec![strip_room(task, needed)]
        } else {
            (0..task.sheets.len()).map(|sheet| room(task, sheet)).collect()
        };
        let areas: Vec<f64> = rooms.iter().map(|room| room.as_ref().map_or(0.0, FreeSpace::area)).collect();
        let sets = exact_sets(task, &areas, needed);
        if sets.is_empty() {
            return None;
        }
        let bounds = |space: &FreeSpace| space.stretches.iter().map(|s| s.length).fold(0.0, f64::max);
        let longest = rooms.iter().flatten().map(bounds).fold(0.0, f64::max);
        Some(Self { tiles, rooms, sets, tolerance: task.touch, angle: task.touch / longest.max(f64::MIN_POSITIVE) })
    }
}

/// The room on a strip that is just long enough for the parts; `None` if it is not straight or not that long.
fn strip_room(task: &Task, needed: f64) -> Option<FreeSpace> {
    let container = task.container(0);
    let Bounds { min, max } = container.bounds;
    let is_rectangle =
        (container.bounds.width() * container.bounds.height() - container.area).abs() <= SAME_AREA * needed;
    let right = min.x + needed / container.bounds.height();
    if !is_rectangle || !container.obstacles.is_empty() || right > max.x {
        return None;
    }
    let corners = [min, Point::new(right, min.y), Point::new(right, max.y), Point::new(min.x, max.y)];
    Some(FreeSpace::new([corners.as_slice()].into_iter()))
}

/// The room on a sheet for parts that are grown by half the web: sharp corners stay sharp.
fn room(task: &Task, sheet: usize) -> Option<FreeSpace> {
    let model = &task.job.sheets()[sheet];
    if task.job.instructions().reserved_on(sheet).next().is_some() {
        return None;
    }
    let clearances = task.job.clearances();
    let inset = clearances.margin() - clearances.web() / 2.0;
    let tolerance = (model.shape.bounds().diagonal() * 1e-4).clamp(0.01, 0.2);
    let outline = model.shape.flatten(tolerance, Side::Shrink);
    let damage: Vec<Polygon> = model
        .damage
        .iter()
        .map(|zone| dropwise_geometry::Shape::new(zone.clone(), Vec::new()).flatten(tolerance, Side::Grow))
        .collect();
    let usable = if damage.is_empty() { vec![outline] } else { difference(&[outline], &damage).ok()? };
    let rings = usable
        .iter()
        .flat_map(Polygon::rings)
        .map(|ring| mitred(&cleaned(ring, task.touch), -inset))
        .collect::<Option<Vec<Vec<Point>>>>()?;
    Some(FreeSpace::new(rings.iter().map(Vec::as_slice)))
}

/// Sets of sheets in stock whose areas add up to what is needed, the cheapest first.
fn exact_sets(task: &Task, areas: &[f64], needed: f64) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..areas.len()).filter(|&sheet| areas[sheet] > 0.0).collect();
    let rate = |sheet: usize| task.sheets[sheet].price / areas[sheet];
    order.sort_by(|&a, &b| rate(a).total_cmp(&rate(b)).then(a.cmp(&b)));
    let mut search = SetSearch { task, areas, order, slack: needed * SAME_AREA, looks: 0, found: Vec::new() };
    search.extend(0, needed, &mut Vec::new());
    let price = |set: &Vec<usize>| set.iter().map(|&sheet| task.sheets[sheet].price).sum::<f64>();
    search.found.sort_by(|a, b| price(a).total_cmp(&price(b)));
    search.found.truncate(MOST_SETS);
    search.found
}

struct SetSearch<'a> {
    task: &'a Task,
    areas: &'a [f64],
    order: Vec<usize>,
    slack: f64,
    looks: usize,
    found: Vec<Vec<usize>>,
}

impl SetSearch<'_> {
    /// Tries all counts of the sheets from `position` on, many copies of the cheap ones first.
    fn extend(&mut self, position: usize, lacking: f64, chosen: &mut Vec<usize>) {
        self.looks += 1;
        if lacking <= self.slack {
            self.found.push(chosen.clone());
            return;
        }
        if self.looks > MOST_LOOKS || position >= self.order.len() {
            return;
        }
        let sheet = self.order[position];
        let by_area = ((lacking + self.slack) / self.areas[sheet]).floor();
        let in_stock = self.task.sheets[sheet].quantity.map_or(f64::INFINITY, f64::from);
        let most = by_area.min(in_stock) as usize;
        for count in (0..=most).rev() {
            let before = chosen.len();
            chosen.extend(std::iter::repeat_n(sheet, count));
            self.extend(position + 1, lacking - self.areas[sheet] * count as f64, chosen);
            chosen.truncate(before);
        }
    }
}
