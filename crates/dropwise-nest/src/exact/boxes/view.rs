//! A task as boxes.

use dropwise_geometry::{Bounds, Point, Segment, Shape, Side, Vector, largest_circle};

use crate::problem::necessary_fit::may_fit;
use crate::problem::task::Task;
use crate::shapes::girth::Girth;
use crate::shapes::pose::{Pose, sin_cos_of, turned};

/// Parts and sheets as rectangles along the axes.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct BoxTask {
    pub(crate) kinds: Vec<BoxKind>,
    pub(crate) sheets: Vec<BoxSheet>,
}

/// A kind of part.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct BoxKind {
    /// Index in the task.
    pub(crate) part: usize,
    pub(crate) count: usize,
    pub(crate) area: f64,
    /// The ways it may lie.
    pub(crate) forms: Vec<Form>,
    /// On which sheets it may lie.
    pub(crate) is_on: Vec<bool>,
}

/// One way a box may lie.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Form {
    pub(crate) width: f64,
    pub(crate) height: f64,
    /// Pose of the part whose box has its lower left corner at the origin.
    pub(crate) pose: Pose,
}

/// A kind of sheet.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct BoxSheet {
    /// Index in the task.
    pub(crate) sheet: usize,
    pub(crate) width: f64,
    pub(crate) height: f64,
    /// What parts may cover.
    pub(crate) area: f64,
    pub(crate) price: f64,
    /// How many there are, no more than there are parts.
    pub(crate) quantity: usize,
    /// Where the box's lower left corner lies on the sheet.
    pub(crate) origin: Point,
    /// Boxes on it that must stay free, from the same corner.
    pub(crate) blocked: Vec<Bounds>,
}

impl BoxTask {
    /// Copies asked for, of all kinds.
    pub(crate) fn item_count(&self) -> usize {
        self.kinds.iter().map(|kind| kind.count).sum()
    }
}

fn counts(task: &Task, items: &[usize]) -> Vec<usize> {
    let mut counts = vec![0; task.parts.len()];
    for &part in items {
        counts[part] += 1;
    }
    counts
}

fn has_arcs(shape: &Shape) -> bool {
    let is_arc = |segment: Segment| matches!(segment, Segment::Arc { .. });
    shape.rings().any(|ring| ring.segments().any(is_arc))
}

const NO_POSE: Pose = Pose { variant: 0, turn_deg: 0.0, at: Point::new(0.0, 0.0) };

/// The view that makes no part larger and no sheet smaller than it is. `price` gives what a sheet costs at least.
///
/// A rectangle that may lie at right angles only, with no hole in which another part could lie, is its own box. Any
/// other part contains a circle, and that a square along the axes however it is turned. Two boxes apart by the web may
/// be so across a corner, and are then apart along an axis by the web over √2 only: boxes and sheets are grown by that.
pub(crate) fn sure_view(task: &Task, items: &[usize], price: impl Fn(usize) -> f64) -> BoxTask {
    let job = &task.job;
    let (web, margin) = (job.clearances().web(), job.clearances().margin());
    let share = web * std::f64::consts::FRAC_1_SQRT_2;
    let counts = counts(task, items);
    let slimmest = (0..task.parts.len())
        .filter(|&part| counts[part] > 0)
        .filter_map(|part| task.parts[part].variants.first())
        .map(|variant| Girth::of(&variant.edge().hull).width)
        .fold(f64::INFINITY, f64::min);
    let sheets: Vec<BoxSheet> = (0..task.sheets.len())
        .map(|index| {
            let sheet = &job.sheets()[index];
            let (bounds, container) = (sheet.shape.bounds(), task.container(index));
            let is_exact = !has_arcs(&sheet.shape) && sheet.damage.is_empty() && web == 0.0 && margin == 0.0;
            // Curves were made straight inward, each edge within two tenths of a millimetre, and so was the inset.
            let lost = if is_exact { 0.0 } else { 0.4 * (sheet.shape.perimeter() + std::f64::consts::TAU * web) };
            BoxSheet {
                sheet: index,
                width: bounds.width() - 2.0 * margin + share,
                height: bounds.height() - 2.0 * margin + share,
                area: container.area + lost,
                price: price(index),
                quantity: task.sheets[index].quantity.map_or(items.len(), |q| items.len().min(q as usize)),
                origin: Point::ORIGIN,
                blocked: Vec::new(),
            }
        })
        .collect();
    let kinds = (0..task.parts.len())
        .filter(|&part| counts[part] > 0)
        .map(|part| {
            let model = &job.parts()[part];
            let bounds = model.shape.bounds();
            let turns = task.parts[part].variants.iter().map(|variant| variant.turn_deg);
            let is_upright = |turn: f64| (turn / 90.0 - (turn / 90.0).round()).abs() < 1e-12;
            let is_square_on = turns.clone().all(|turn| turn.is_some_and(is_upright));
            let (w, h) = (bounds.width(), bounds.height());
            let is_full = (model.shape.exterior().area() - w * h).abs() <= 1e-9 * w * h && !has_arcs(&model.shape)
                || model.shape.exterior().area() >= w * h * (1.0 - 1e-12);
            let has_room_inside = model.shape.holes().iter().any(|hole| hole.bounds().diagonal() >= slimmest);
            let is_box = is_square_on && is_full && !has_room_inside;
            let grown_box = w * h + (w + h) * web + std::f64::consts::FRAC_PI_4 * web * web;
            let (area, mut forms) = if is_box {
                let upright = |turn: Option<f64>| ((turn.unwrap_or(0.0) / 90.0).round() as i64).rem_euclid(2) == 0;
                let mut sizes: Vec<(f64, f64)> =
                    turns.map(|turn| if upright(turn) { (w, h) } else { (h, w) }).collect();
                sizes.sort_by(|a, b| a.0.total_cmp(&b.0));
                sizes.dedup();
                (grown_box, sizes)
            } else {
                let flat = model.shape.flatten(0.05, Side::Shrink);
                let radius = largest_circle(&flat, 0.01 * w.min(h)).map_or(0.0, |circle| circle.radius);
                let side = radius * std::f64::consts::SQRT_2;
                let is_exact = !has_arcs(&model.shape) && web == 0.0;
                let lost = if is_exact { 0.0 } else { 0.4 * (model.shape.perimeter() + std::f64::consts::TAU * web) };
                ((task.parts[part].grown_area - lost).max(model.shape.area()), vec![(side, side)])
            };
            for form in &mut forms {
                *form = (form.0 + share, form.1 + share);
            }
            let is_on = sheets
                .iter()
                .map(|sheet| {
                    let holds =
                        |f: &(f64, f64)| f.0 <= sheet.width * (1.0 + 1e-9) && f.1 <= sheet.height * (1.0 + 1e-9);
                    forms.iter().any(holds) && (is_box || may_fit(task, part, sheet.sheet, 1.0))
                })
                .collect();
            let forms = forms.into_iter().map(|(width, height)| Form { width, height, pose: NO_POSE }).collect();
            BoxKind { part, count: counts[part], area, forms, is_on }
        })
        .collect();
    BoxTask { kinds, sheets }
}

/// The view that makes no part smaller and no sheet larger than it is; `None` if a part of `items` has no place in it.
///
/// A part that may turn freely lies as its smallest rectangle does.
pub(crate) fn safe_view(task: &Task, items: &[usize]) -> Option<BoxTask> {
    let counts = counts(task, items);
    let half_web = task.job.clearances().web() / 2.0;
    let overhang = (half_web - task.job.clearances().margin()).max(0.0);
    let sheets: Vec<BoxSheet> = (0..task.sheets.len())
        .filter(|&index| task.sheets[index].price_per_length.is_none())
        .filter_map(|index| {
            let container = task.container(index);
            let bounds = container.bounds;
            let hull = dropwise_geometry::Polygon::new(container.hull.clone(), Vec::new()).area();
            let is_rectangle = hull >= bounds.width() * bounds.height() * (1.0 - 1e-9) && hull > 0.0;
            let room = bounds.expanded(overhang);
            let from_corner =
                |b: Bounds| Bounds { min: b.min - room.min.to_vector(), max: b.max - room.min.to_vector() };
            is_rectangle.then(|| BoxSheet {
                sheet: index,
                width: room.width(),
                height: room.height(),
                area: container.area.min(room.width() * room.height()),
                price: task.sheets[index].price - task.sheets[index].leftover_worth * task.sheets[index].area,
                quantity: task.sheets[index].quantity.map_or(items.len(), |q| items.len().min(q as usize)),
                origin: room.min,
                blocked: container.obstacles.iter().map(|obstacle| from_corner(obstacle.bounds)).collect(),
            })
        })
        .collect();
    let mut kinds = Vec::new();
    for part in (0..task.parts.len()).filter(|&part| counts[part] > 0) {
        let mut forms: Vec<Form> = Vec::new();
        // Grain is the sheets' affair; where it matters, only what is allowed on all of them is used.
        let allowed = sheets
            .iter()
            .map(|sheet| task.allowed(part, task.sheets[sheet.sheet].grain))
            .reduce(|a, b| a.start.max(b.start)..a.end.min(b.end))?;
        for variant in allowed {
            let shape = &task.parts[part].variants[variant].shape;
            let turns = match task.parts[part].variants[variant].turn_deg {
                Some(_) => vec![0.0],
                None => {
                    let turn = straightest_turn(&shape.hull);
                    vec![turn, (turn + 90.0).rem_euclid(360.0)]
                }
            };
            for turn_deg in turns {
                let pose = Pose { variant, turn_deg, at: Point::ORIGIN };
                let bounds = if turn_deg == 0.0 {
                    shape.bounds
                } else {
                    Bounds::of(shape.hull.iter().map(|&p| turned(p, sin_cos_of(pose))))
                };
                let at = Point::ORIGIN + (Point::ORIGIN - bounds.min);
                let form = Form { width: bounds.width(), height: bounds.height(), pose: Pose { at, ..pose } };
                let is_alike = |f: &Form| (f.width - form.width).abs() < 1e-9 && (f.height - form.height).abs() < 1e-9;
                if !forms.iter().any(is_alike) {
                    forms.push(form);
                }
            }
        }
        let holds = |sheet: &BoxSheet| forms.iter().any(|f| sheet.holds(f));
        let is_on: Vec<bool> = sheets.iter().map(holds).collect();
        if !is_on.contains(&true) {
            return None;
        }
        let area = forms.iter().map(|f| f.width * f.height).fold(f64::INFINITY, f64::min);
        kinds.push(BoxKind { part, count: counts[part], area, forms, is_on });
    }
    (!kinds.is_empty()).then_some(BoxTask { kinds, sheets })
}

impl BoxSheet {
    /// Whether a box is no larger than the sheet's.
    pub(crate) fn holds(&self, form: &Form) -> bool {
        form.width <= self.width * (1.0 + 1e-9) && form.height <= self.height * (1.0 + 1e-9)
    }
}

/// The turn at which a convex ring's box is smallest: one of its edges then lies along an axis.
fn straightest_turn(hull: &[Point]) -> f64 {
    let mut best = (f64::INFINITY, 0.0);
    for (i, &a) in hull.iter().enumerate() {
        let Some(along): Option<Vector> = (hull[(i + 1) % hull.len()] - a).unit() else { continue };
        let turn = -along.angle().to_degrees();
        let rotation = dropwise_geometry::sin_cos_deg(turn);
        let bounds = Bounds::of(hull.iter().map(|&p| turned(p, rotation)));
        let area = bounds.width() * bounds.height();
        if area < best.0 * (1.0 - 1e-9) {
            best = (area, turn.rem_euclid(360.0));
        }
    }
    best.1
}
