//! One class of a job, prepared for the search: parts of one material and thickness and the sheets they may lie on.

use std::ops::Range;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};

use dropwise_geometry::{BooleanError, Isometry, Outline, Point, Polygon, Shape, Side, offset};
use dropwise_model::{Job, Sheet, Turns};
use rayon::prelude::*;

use crate::clock::Clock;
use crate::overlap::no_fit::NoFits;
use crate::overlap::search_shape::SearchShape;
use crate::problem::container::Container;
use crate::problem::offer::Offer;
use crate::problem::quarter_turns::QUARTER_TURNS;
use crate::problem::quarter_turns::may_be_square;
use crate::shapes::circle_cover::{FEW_CIRCLES, InscribedCircle, MOST_CIRCLES, circle_cover_of};
use crate::shapes::idle_holes::{Least, without_idle_holes};
use crate::shapes::pose::Pose;

/// Looks for a pose in which a part, by its index, lies alone on a sheet. What looks is a small search, and no matter of the
/// problem: whoever makes a task gives it.
pub(crate) type FindFit = fn(&Task, usize, usize) -> Option<Pose>;

/// What is to be nested of one class.
#[derive(Debug)]
pub(crate) struct Task {
    /// The job of this class alone: its parts, and the sheets that passed the sieve.
    pub(crate) job: Job,
    pub(crate) parts: Vec<TaskPart>,
    pub(crate) sheets: Vec<TaskSheet>,
    /// Sheets of the class that the search leaves aside: they count in what a plan could cost at best.
    pub(crate) others: Vec<Offer>,
    /// Overlaps thinner than this are touches.
    pub(crate) touch: f64,
    /// No-fit polygons of all pairs of variants that cannot turn.
    pub(crate) no_fits: NoFits,
    /// When the search has to end.
    pub(crate) clock: Clock,
    /// Whether a first layout ended by the clock, with parts not yet looked at.
    cut_short: AtomicBool,
    /// Looks for a pose in which a part lies alone on a sheet.
    find_fit: FindFit,
    /// See [`Task::candidates`].
    candidates: OnceLock<Vec<usize>>,
    /// The first boolean operation that cannot be trusted: the nest ends with it.
    fault: OnceLock<BooleanError>,
}

/// A kind of part.
#[derive(Debug)]
pub(crate) struct TaskPart {
    pub(crate) is_required: bool,
    /// Net area.
    pub(crate) area: f64,
    /// Area of the shape with its clearance.
    pub(crate) grown_area: f64,
    /// Where the reference point lies in the part's own frame.
    pub(crate) reference: Point,
    /// All ways it may lie, face up and face down, at each listed turn.
    pub(crate) variants: Vec<Variant>,
    /// Which of the variants are allowed, by grain index of the sheet.
    allowed: Vec<Range<usize>>,
    /// Of a part that may turn freely on a strip, variants at quarter turns, which are quicker to search among.
    square: Range<usize>,
    /// A pose in which it fits alone on each sheet, if one was found; by sheet.
    fits: Vec<OnceLock<Option<Pose>>>,
}

/// One way a part may lie.
#[derive(Debug)]
pub(crate) struct Variant {
    /// Number of its shape among all variants of all parts.
    pub(crate) number: usize,
    pub(crate) is_mirrored: bool,
    /// The fixed turn in degrees, already applied to `shape`; `None` if it may turn freely.
    pub(crate) turn_deg: Option<f64>,
    /// Grown by half the web, and a hair more where that saves many corners: what other parts must not overlap.
    pub(crate) shape: SearchShape,
    /// Grown by half the web and not a hair more, or by the margin, where that is less: what must lie in the room. `None`
    /// where `shape` does.
    ///
    /// Rooms are never grown to make up for it: a notch shrunk and a part grown again would lose the notch's corner.
    edge: Option<SearchShape>,
}

impl Variant {
    /// The shape that must lie in the room and off its obstacles.
    #[inline]
    pub(crate) fn edge(&self) -> &SearchShape {
        self.edge.as_ref().unwrap_or(&self.shape)
    }

    /// Whether that is another shape than the one that others must not overlap.
    #[inline]
    pub(crate) fn has_own_edge(&self) -> bool {
        self.edge.is_some()
    }
}

/// A kind of sheet.
#[derive(Debug)]
pub(crate) struct TaskSheet {
    pub(crate) quantity: Option<u32>,
    /// Price of one in the smallest coin; of open-length stock, zero: see `price_per_length`.
    pub(crate) price: f64,
    pub(crate) grain: usize,
    /// Price of a millimetre if sold by length.
    pub(crate) price_per_length: Option<f64>,
    /// Gross area less holes, mm².
    pub(crate) area: f64,
    pub(crate) leftover_worth: f64,
    container: OnceLock<Arc<Container>>,
}

impl Task {
    /// Prepares a job whose parts and sheets are all of one class. Outlines are flattened and grown here; rooms on sheets,
    /// and which part fits on which sheet, are worked out when first asked for.
    pub(crate) fn new(job: Job, find_fit: FindFit) -> Self {
        let clearances = *job.clearances();
        let extent = job
            .sheets()
            .iter()
            .map(|s| {
                let bounds = s.shape.bounds();
                // Of stock sold by length any little may be bought, and a certificate forgives by what is.
                let width = if s.open_length.is_some() { 0.0 } else { bounds.width() };
                width.max(bounds.height())
            })
            .fold(f64::INFINITY, f64::min);
        // An eighth of what a certificate forgives on the smallest sheet, so that a touch here is a touch there.
        let touch = if extent.is_finite() { extent * 1.2e-8 } else { 0.0 };
        // Sheets that some part is kept to are told apart from all others, as those of another grain are.
        let told = job.instructions();
        let is_named = |sheet: usize| told.kept_to.iter().any(|kept| kept.sheets.contains(&sheet));
        let mut grains = vec![(None, None)];
        let sheets: Vec<TaskSheet> = job
            .sheets()
            .iter()
            .enumerate()
            .map(|(index, sheet)| {
                let terms = (sheet.grain_deg, is_named(index).then_some(index));
                let grain = grains.iter().position(|&other| other == terms).unwrap_or_else(|| {
                    grains.push(terms);
                    grains.len() - 1
                });
                TaskSheet {
                    quantity: sheet.quantity,
                    price: sheet.price.coins() as f64,
                    grain,
                    price_per_length: sheet.open_length.map(|terms| terms.price_per_length),
                    area: sheet.shape.area(),
                    leftover_worth: sheet.leftover_worth,
                    container: OnceLock::new(),
                }
            })
            .collect();
        let half_web = clearances.web() / 2.0;
        let fault = OnceLock::new();
        let grown_by = |polygon: &Polygon, clearance: f64, tolerance: f64| {
            grown_by(polygon, clearance, tolerance).unwrap_or_else(|error| {
                let _ = fault.set(error);
                polygon.clone()
            })
        };
        let grown: Vec<(Polygon, Option<Polygon>)> = job
            .parts()
            .iter()
            .map(|part| {
                let tolerance = (part.shape.bounds().diagonal() * 3e-4).clamp(0.01, 0.2);
                let flat = part.shape.flatten(tolerance, Side::Grow);
                let edge = (clearances.margin() < half_web).then(|| grown_by(&flat, clearances.margin(), tolerance));
                (grown_by(&flat, half_web, tolerance), edge)
            })
            .collect();
        let least_part = Least::of(grown.iter().map(|(grown, _)| grown));
        // What is wrong with a sheet may lie in a part's hole too.
        let clear = told.reserved.iter().map(|reserved| reserved.area.flatten(0.01, Side::Shrink));
        let flaws: Vec<Polygon> = job.sheets().iter().flat_map(flaws).chain(clear).collect();
        let least_flaw = Least::of(flaws.iter());
        let circles_each = if job.parts().len() > MANY_KINDS { FEW_CIRCLES } else { MOST_CIRCLES };
        let has_square = is_strip(&sheets) || may_be_square(&job);
        let parts = job
            .parts()
            .par_iter()
            .zip(grown)
            .enumerate()
            .map(|(index, (part, (whole, edge)))| {
                let grown_area = whole.area();
                let circle = |by: f64| part.shape.exterior().as_circle().map(|(center, radius)| (center, radius + by));
                let circles = (circle(half_web), circle(clearances.margin().min(half_web)));
                let edge = edge.unwrap_or_else(|| whole.clone());
                let edge = without_idle_holes(&edge, least_flaw);
                let grown = with_fewer_corners(without_idle_holes(&whole, least_part));
                let edge = (edge != grown).then_some(edge);
                let reference = grown.bounds().center();
                let centre = |p: &Polygon, circle: Option<(Point, f64)>| {
                    let circle = circle.map(|(center, radius)| (center - reference.to_vector(), radius));
                    let centred = p.transformed(Isometry::translation(-reference.x, -reference.y));
                    Covered::new(centred, circle, circles_each)
                };
                let centred = (centre(&grown, circles.0), edge.as_ref().map(|edge| centre(edge, circles.1)));
                let mut variants = Vec::new();
                let allowed = grains
                    .iter()
                    .map(|&(grain, named)| {
                        let start = variants.len();
                        // On a sheet that it is not kept to it may lie in no way.
                        if told.sheets_of(index).is_some_and(|on| named.is_none_or(|sheet| !on.contains(&sheet))) {
                            return start..start;
                        }
                        push_variants(&mut variants, &centred, &part.turns, part.may_flip, grain, touch);
                        // Only parts held to the grain care which way it runs.
                        start..variants.len()
                    })
                    .collect();
                let start = variants.len();
                if has_square && part.turns == Turns::Any && told.sheets_of(index).is_none() {
                    let turns = Turns::List(QUARTER_TURNS.to_vec());
                    push_variants(&mut variants, &centred, &turns, part.may_flip, None, touch);
                }
                let square = start..variants.len();
                TaskPart {
                    is_required: job.is_required(index),
                    area: part.shape.area(),
                    grown_area,
                    reference,
                    variants,
                    allowed,
                    square,
                    fits: job.sheets().iter().map(|_| OnceLock::new()).collect(),
                }
            })
            .collect();
        let mut task = Self {
            job,
            parts,
            sheets,
            others: Vec::new(),
            touch,
            no_fits: NoFits::default(),
            clock: Clock::default(),
            cut_short: AtomicBool::new(false),
            find_fit,
            candidates: OnceLock::new(),
            fault,
        };
        task.share_variants();
        task.number_variants();
        task
    }

    /// Whether there is one kind of sheet, sold by length. How many of it there are does not matter: one length is sought
    /// that holds everything.
    pub(crate) fn is_strip(&self) -> bool {
        is_strip(&self.sheets)
    }

    /// The same task beside sheets that the search leaves aside.
    pub(crate) fn with_others(mut self, others: Vec<Offer>) -> Self {
        self.others = others;
        self
    }

    /// The same task, to be ended by a clock.
    pub(crate) fn with_clock(mut self, clock: Clock) -> Self {
        self.clock = clock;
        self
    }

    /// Whether a first layout has to end now; what it did not come to is out of time.
    pub(crate) fn is_late(&self) -> bool {
        let is_late = self.clock.is_late();
        if is_late {
            self.cut_short.store(true, Ordering::Relaxed);
        }
        is_late
    }

    /// Whether some first layout had to end before its end.
    pub(crate) fn was_cut_short(&self) -> bool {
        self.cut_short.load(Ordering::Relaxed)
    }

    /// The sheets on which anything can lie at all. Margins may leave no room, and of stock sold by length no piece may be
    /// long enough to be sold.
    pub(crate) fn candidates(&self) -> &[usize] {
        self.candidates
            .get_or_init(|| (0..self.sheets.len()).filter(|&sheet| self.container(sheet).has_room()).collect())
    }

    /// Parts that do not care about the grain need their variants only once.
    fn share_variants(&mut self) {
        for part in &mut self.parts {
            let first = part.allowed[0].clone();
            let alike = part.allowed.iter().all(|range| {
                range.len() == first.len()
                    && range.clone().zip(first.clone()).all(|(a, b)| {
                        part.variants[a].turn_deg == part.variants[b].turn_deg
                            && part.variants[a].is_mirrored == part.variants[b].is_mirrored
                    })
            });
            if alike {
                let spare = part.square.start - first.end;
                part.variants.drain(first.end..part.square.start);
                part.square = part.square.start - spare..part.square.end - spare;
                part.allowed.fill(first);
            }
        }
    }

    /// Numbers the shapes of all variants, and makes the table of those that cannot turn.
    fn number_variants(&mut self) {
        let mut variants: Vec<&mut Variant> = self.parts.iter_mut().flat_map(|part| &mut part.variants).collect();
        for (number, variant) in variants.iter_mut().enumerate() {
            variant.number = number;
        }
        let shapes = variants.iter().map(|variant| variant.turn_deg.and_then(|_| variant.shape.outline_and_pockets()));
        self.no_fits = NoFits::new(shapes, self.touch);
    }

    /// The room on a sheet.
    pub(crate) fn container(&self, sheet: usize) -> Arc<Container> {
        let make = || {
            let container = Container::new(&self.job, sheet, self.touch).unwrap_or_else(|error| {
                let _ = self.fault.set(error);
                Container::none()
            });
            Arc::new(container)
        };
        Arc::clone(self.sheets[sheet].container.get_or_init(make))
    }

    /// Why this task cannot be trusted, if so.
    pub(crate) fn fault(&self) -> Option<BooleanError> {
        self.fault.get().cloned()
    }

    /// The part of each item: as many items as copies are asked for.
    pub(crate) fn items(&self) -> Vec<usize> {
        let copies = |(index, part): (usize, &dropwise_model::Part)| std::iter::repeat_n(index, part.quantity as usize);
        self.job.parts().iter().enumerate().flat_map(copies).collect()
    }

    /// A pose in which a part lies alone on a sheet; `None` if none was found.
    pub(crate) fn fit(&self, part: usize, sheet: usize) -> Option<Pose> {
        *self.parts[part].fits[sheet].get_or_init(|| (self.find_fit)(self, part, sheet))
    }

    /// Whether a part fits alone on some sheet.
    pub(crate) fn fits_somewhere(&self, part: usize) -> bool {
        // Sheets already looked at first: one yes is enough.
        let fits = &self.parts[part].fits;
        fits.iter().any(|fit| matches!(fit.get(), Some(Some(_))))
            || (0..self.sheets.len()).any(|sheet| self.fit(part, sheet).is_some())
    }

    /// The ways a part may lie on a sheet of this grain.
    pub(crate) fn allowed(&self, part: usize, grain: usize) -> Range<usize> {
        self.parts[part].allowed[grain].clone()
    }

    /// The quarter turns of a part that may turn freely; empty where those are not searched apart, and for other parts.
    pub(crate) fn square(&self, part: usize) -> Range<usize> {
        self.parts[part].square.clone()
    }

    /// Whether a part may lie on a sheet of this grain by a variant.
    pub(crate) fn may_lie(&self, part: usize, variant: usize, grain: usize) -> bool {
        // Parts with quarter turns of their own may turn freely, on any sheet.
        self.parts[part].allowed[grain].contains(&variant) || self.parts[part].square.contains(&variant)
    }

    /// Whether any part has such quarter turns.
    pub(crate) fn has_square_turns(&self) -> bool {
        self.parts.iter().any(|part| !part.square.is_empty())
    }

    /// The same pose by a variant that may turn freely, if the part has one.
    pub(crate) fn freed(&self, part: usize, pose: Pose) -> Pose {
        let part = &self.parts[part];
        let laid = &part.variants[pose.variant];
        let is_same = |free: &Variant| free.turn_deg.is_none() && free.is_mirrored == laid.is_mirrored;
        match (laid.turn_deg, part.variants.iter().position(is_same)) {
            (Some(turn_deg), Some(variant)) => Pose { variant, turn_deg, ..pose },
            _ => pose,
        }
    }

    /// A pose as the plan writes it: mirror and turn about the part's own origin, then move.
    pub(crate) fn isometry(&self, part: usize, pose: Pose) -> Isometry {
        let part = &self.parts[part];
        let variant = &part.variants[pose.variant];
        let turn = variant.turn_deg.unwrap_or(pose.turn_deg).rem_euclid(360.0);
        let turned = Isometry::new(variant.is_mirrored, turn, 0.0, 0.0).apply(part.reference);
        Isometry::new(variant.is_mirrored, turn, pose.at.x - turned.x, pose.at.y - turned.y)
    }
}

fn is_strip(sheets: &[TaskSheet]) -> bool {
    matches!(sheets, [sheet] if sheet.price_per_length.is_some())
}

/// Holes and damage of a sheet, no larger than they are.
fn flaws(sheet: &Sheet) -> Vec<Polygon> {
    let outlines = sheet.shape.holes().iter().chain(&sheet.damage);
    let flattened = |outline: &Outline| Shape::new(outline.clone(), Vec::new()).flatten(0.01, Side::Shrink);
    outlines.map(flattened).collect()
}

/// A part's polygon in the frame of its reference point and the circles that cover it: they are turned along, since they take
/// long to find.
struct Covered {
    polygon: Polygon,
    cover: Vec<InscribedCircle>,
    /// The circle for which its outline stands, if it is round.
    circle: Option<(Point, f64)>,
}

impl Covered {
    fn new(polygon: Polygon, circle: Option<(Point, f64)>, circles: usize) -> Self {
        Self { cover: circle_cover_of(&polygon, circles), polygon, circle }
    }

    fn turned(&self, turn: Isometry, touch: f64) -> SearchShape {
        let moved = |circle: &InscribedCircle| InscribedCircle { center: turn.apply(circle.center), ..*circle };
        let cover: Vec<InscribedCircle> = self.cover.iter().map(moved).collect();
        let circle = self.circle.map(|(center, radius)| (turn.apply(center), radius));
        SearchShape::with_cover(&self.polygon.transformed(turn), &cover, circle, touch)
    }
}

fn push_variants(
    variants: &mut Vec<Variant>,
    (centred, edge): &(Covered, Option<Covered>),
    turns: &Turns,
    may_flip: bool,
    grain: Option<f64>,
    touch: f64,
) {
    for is_mirrored in [false, true] {
        if is_mirrored && !may_flip {
            continue;
        }
        let variant = |turn_deg: Option<f64>| {
            let turn = Isometry::new(is_mirrored, turn_deg.unwrap_or(0.0), 0.0, 0.0);
            let shape = |covered: &Covered| covered.turned(turn, touch);
            Variant { number: 0, is_mirrored, turn_deg, shape: shape(centred), edge: edge.as_ref().map(shape) }
        };
        match turns.on_sheet(grain, is_mirrored) {
            None => variants.push(variant(None)),
            Some(angles) => variants.extend(angles.into_iter().map(|degrees| variant(Some(degrees)))),
        }
    }
}

/// More kinds of parts than this are prepared with less care.
const MANY_KINDS: usize = 500;
/// A shape of more corners than this is worth the loss of a little room.
const MANY_CORNERS: usize = 24;
/// How far such a shape may reach beyond itself in the search, as a share of its size. More: it takes up more room, on
/// curves, by some thousandths. Less: it takes more time.
const REACH_BEYOND: f64 = 1.5e-3;

/// A shape that is quicker to test against others and covers the one given.
fn with_fewer_corners(polygon: Polygon) -> Polygon {
    let count: usize = polygon.rings().map(<[Point]>::len).sum();
    if count > MANY_CORNERS { polygon.covering(REACH_BEYOND * polygon.area().sqrt()) } else { polygon }
}

/// A part's polygon with its clearance; the polygon itself if there is none, so that exact jigsaws stay exact.
fn grown_by(polygon: &Polygon, clearance: f64, tolerance: f64) -> Result<Polygon, BooleanError> {
    if clearance <= 0.0 {
        return Ok(polygon.clone());
    }
    let pieces = offset(std::slice::from_ref(polygon), clearance, tolerance)?;
    // Growing a connected region leaves it connected; the largest piece is all there is.
    Ok(pieces.into_iter().max_by(|a, b| a.area().total_cmp(&b.area())).unwrap_or_else(|| polygon.clone()))
}
