//! What cutting a bin out by hand costs.

use dropwise_geometry::{Bounds, Isometry, Point, Polygon, Segment, Side, Vector, difference, largest_rectangle};
use dropwise_model::set_ups;

use crate::problem::task::Task;
use crate::settings::HandWork;
use crate::shapes::pose::Pose;
use crate::state::score::{DIRECTIONS, largest_band};
use crate::state::working::Working;

/// A shorter side is ground rather than cut along a straight-edge, mm. Common practice, no source.
const LEAST_SIDE: f64 = 6.0;
/// A rest too small to go back into the rack is worth this share of its metal, so that the search feels its way to one that does.
const UNKEPT: f64 = 0.2;
/// A turn nearer than this to a quarter turn is one, degrees.
const SQUARE: f64 = 1e-6;

/// The straight sides of the outline of each part of a task, in the part's own frame.
#[derive(Clone, Debug)]
pub(crate) struct HandCuts {
    work: HandWork,
    sides: Vec<Vec<(Point, Point)>>,
    /// By part, rectangles within it whose sides run along its axes.
    cores: Vec<Vec<Bounds>>,
}

impl HandCuts {
    pub(crate) fn new(task: &Task, work: HandWork) -> Self {
        let sides = |part: &dropwise_model::Part| {
            let lines = part.shape.exterior().segments().filter_map(|side| match side {
                Segment::Line { start, end } if start.distance(end) >= LEAST_SIDE => Some((start, end)),
                _ => None,
            });
            lines.collect()
        };
        let parts = task.job.parts();
        Self { work, sides: parts.iter().map(sides).collect(), cores: parts.iter().map(cores_of).collect() }
    }

    pub(crate) fn work(&self) -> HandWork {
        self.work
    }

    /// The sides of a part that lies so.
    pub(crate) fn sides(&self, task: &Task, part: usize, pose: Pose) -> impl Iterator<Item = (Point, Point)> {
        let position: Isometry = task.isometry(part, pose);
        self.sides[part].iter().map(move |&(start, end)| (position.apply(start), position.apply(end)))
    }

    /// Rectangles within a part that lies square, where it lies; none within one that does not.
    pub(crate) fn cores(&self, task: &Task, part: usize, pose: Pose) -> Vec<Bounds> {
        if !is_square(task, part, pose) {
            return Vec::new();
        }
        let position = task.isometry(part, pose);
        let moved = |core: &Bounds| Bounds::of([position.apply(core.min), position.apply(core.max)]);
        self.cores[part].iter().map(moved).collect()
    }

    /// What lying so costs a part by itself: askew, or flipped though it need not be.
    pub(crate) fn of_pose(&self, task: &Task, part: usize, pose: Pose) -> f64 {
        let variant = &task.parts[part].variants[pose.variant];
        let is_askew = !is_square(task, part, pose) && !self.sides[part].is_empty();
        let is_flipped = variant.is_mirrored && task.job.parts()[part].may_flip;
        f64::from(u8::from(is_askew)) * self.work.askew + f64::from(u8::from(is_flipped)) * self.work.flip
    }

    /// The work on a bin and the metal that it leaves in no one piece, in the smallest coin.
    pub(crate) fn of_bin(&self, working: &Working<'_>, bin: usize) -> f64 {
        let task = working.task();
        let (mut sides, mut cost) = (Vec::new(), 0.0);
        for &item in &working.bins[bin].members {
            let Some((_, pose)) = working.place_of(item) else { continue };
            let part = working.part_of(item);
            cost += self.of_pose(task, part, pose);
            sides.extend(self.sides(task, part, pose));
        }
        let band = largest_band(working, &working.bins[bin]);
        let is_kept = band.is_kept(task.job.leftover_rule());
        let largest = if is_kept { band.area } else { UNKEPT * band.area };
        cost + self.work.set_up * set_ups(&sides) as f64 + metal_rate(working, bin) * (working.room_area(bin) - largest)
    }

    /// The same of all bins.
    pub(crate) fn of(&self, working: &Working<'_>) -> f64 {
        (0..working.bins.len()).map(|bin| self.of_bin(working, bin)).sum()
    }
}

fn is_square(task: &Task, part: usize, pose: Pose) -> bool {
    let variant = &task.parts[part].variants[pose.variant];
    let turn = variant.turn_deg.unwrap_or(pose.turn_deg).rem_euclid(90.0);
    turn.min(90.0 - turn) <= SQUARE
}

/// More rectangles within a part rule out few more places.
const MOST_CORES: usize = 3;
/// A rectangle of less than this share of its part rules out few places.
const LEAST_CORE: f64 = 0.1;

/// The largest rectangle within a part whose sides run along its axes, the largest in what is left of it, and so on.
fn cores_of(part: &dropwise_model::Part) -> Vec<Bounds> {
    let whole = part.shape.flatten(0.1, Side::Shrink);
    let least = LEAST_CORE * whole.area();
    let (mut left, mut cores) = (vec![whole], Vec::new());
    while cores.len() < MOST_CORES {
        let found = left.iter().filter_map(|piece| largest_rectangle(piece, &[0.0]));
        let Some(core) = found.max_by(|a, b| a.area().total_cmp(&b.area())).filter(|core| core.area() >= least) else {
            break;
        };
        let is_level = core.angle_deg < 45.0 || core.angle_deg > 135.0;
        let (width, height) = if is_level { (core.length, core.width) } else { (core.width, core.length) };
        let half = Vector::new(width / 2.0, height / 2.0);
        let bounds = Bounds { min: core.center - half, max: core.center + half };
        cores.push(bounds);
        let corners =
            [bounds.min, Point::new(bounds.max.x, bounds.min.y), bounds.max, Point::new(bounds.min.x, bounds.max.y)];
        match difference(&left, &[Polygon::new(corners.to_vec(), Vec::new())]) {
            Ok(rest) => left = rest,
            // Without the others the search is only slower.
            Err(_) => break,
        }
    }
    cores
}

/// What a square millimetre of a bin costs, so that a rest in one piece is worth what it would cost to buy.
pub(crate) fn metal_rate(working: &Working<'_>, bin: usize) -> f64 {
    let sheet = &working.task().sheets[working.bins[bin].sheet];
    sheet.price / sheet.area.max(f64::MIN_POSITIVE)
}

/// Area of the largest band beside a box in a room, mm².
pub(crate) fn largest_band_beside(used: Bounds, room: Bounds) -> f64 {
    let widths = [room.max.x - used.max.x, room.max.y - used.max.y, used.min.x - room.min.x, used.min.y - room.min.y];
    let area = |(direction, width): (usize, f64)| {
        let across = if DIRECTIONS[direction].x == 0.0 { room.width() } else { room.height() };
        width.max(0.0) * across
    };
    widths.into_iter().enumerate().map(area).fold(0.0, f64::max)
}
