//! What goes back into the rack.

use dropwise_geometry::{
    BooleanError, Bounds, Outline, Point, Polygon, Shape, Side, difference, intersection, largest_rectangle, offset,
    simplified, union,
};
use rayon::prelude::*;

use crate::{Job, SheetUse};

/// What the shop thinks worth keeping.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeftoverRule {
    /// Longer side of the smallest rectangle worth keeping, mm.
    pub length: f64,
    /// Its shorter side, mm.
    pub width: f64,
    /// Tongues and necks narrower than this are trimmed off a leftover, mm.
    pub neck: f64,
}

/// A piece that remains of a sheet and goes back into the rack.
#[derive(Clone, Debug, PartialEq)]
pub struct Leftover {
    /// Its outline, on the sheet it came from. Not larger than what truly remains.
    pub outline: Polygon,
    /// Area, mm².
    pub area: f64,
    /// Sides of the largest rectangle found on it, longer first, mm.
    pub largest_rectangle: (f64, f64),
}

/// Curves are replaced by chords within this of the truth, mm: finer than any rack is measured.
const TOLERANCE: f64 = 0.05;

/// How exactly the width of a neck is judged, as a share of half the width.
const NECK_ACCURACY: f64 = 0.05;

/// What the cutter leaves of a sheet, and what of that is worth keeping.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Remains {
    /// Area of the cuts around parts and within their holes, as far as they run through metal, mm².
    pub(crate) kerf_area: f64,
    /// The pieces worth keeping, largest first. Damaged zones are cut out of them.
    pub(crate) leftovers: Vec<Leftover>,
}

/// The cuts around each kind of part that is placed, worked out once for all its copies.
#[derive(Debug)]
pub(crate) struct Cuts {
    by_part: Vec<Option<Cut>>,
}

/// What is cut for a part, in its own frame.
#[derive(Debug)]
struct Cut {
    /// The part on chords, mm².
    flat_area: f64,
    /// The part and the cut around it and within its holes.
    cut: Polygon,
    /// As far as a neck reaches beyond the cut, with holes only where a leftover may lie in them.
    cleared: Polygon,
}

impl Cuts {
    /// Those of all parts that lie on some sheet.
    pub(crate) fn new(job: &Job, sheets: &[SheetUse]) -> Result<Self, BooleanError> {
        let mut is_placed = vec![false; job.parts().len()];
        for placed in sheets.iter().flat_map(|used| &used.placements) {
            is_placed[placed.part] = true;
        }
        let cut = |(part, is_placed): (usize, bool)| is_placed.then(|| Cut::new(job, part)).transpose();
        Ok(Self { by_part: is_placed.into_par_iter().enumerate().map(cut).collect::<Result<_, _>>()? })
    }

    fn of(&self, part: usize) -> &Cut {
        self.by_part[part].as_ref().expect("made for every part that is placed")
    }
}

impl Cut {
    fn new(job: &Job, part: usize) -> Result<Self, BooleanError> {
        let rule = job.leftover_rule();
        let (kerf, reach) = (job.clearances().kerf(), rule.neck / 2.0);
        let flat = job.parts()[part].shape.flatten(TOLERANCE, Side::Grow);
        let cut = if kerf > 0.0 { one(offset(std::slice::from_ref(&flat), kerf, TOLERANCE)?) } else { flat.clone() };
        if reach <= 0.0 {
            return Ok(Self { flat_area: flat.area(), cut, cleared: Polygon::default() });
        }
        let mut rough = cut.clone();
        rough.holes.retain(|hole| may_hold(Bounds::of(hole.iter().copied()), 0.0, rule));
        let rough = simplified(&[rough], NECK_ACCURACY * reach)?;
        // Simplifying may have moved an edge in by as much.
        let cleared = one(offset(&rough, reach + NECK_ACCURACY * reach, NECK_ACCURACY * reach)?);
        Ok(Self { flat_area: flat.area(), cut, cleared })
    }
}

/// The largest of some polygons: growing a connected region leaves it connected.
fn one(polygons: Vec<Polygon>) -> Polygon {
    polygons.into_iter().max_by(|a, b| a.area().total_cmp(&b.area())).unwrap_or_default()
}

/// Works out what remains of a sheet after its parts are cut.
///
/// # Errors
/// When the areas of a boolean operation do not balance.
///
/// # Cost
/// A boolean operation over the outlines of all parts and of those of their holes in which something lies or may be
/// kept: n log n. The cuts of a part are worked out once for all its copies on all sheets.
pub(crate) fn remains(job: &Job, sheet_use: &SheetUse, cuts: &Cuts) -> Result<Remains, BooleanError> {
    let sheet = &job.sheets()[sheet_use.sheet];
    let rule = job.leftover_rule();
    let metal = sheet.bought_shape(sheet_use.length).flatten(TOLERANCE, Side::Shrink);
    let mut flat_area = 0.0;
    let (mut cut, mut cleared) = (Vec::new(), Vec::new());
    for placed in &sheet_use.placements {
        let one = cuts.of(placed.part);
        flat_area += one.flat_area;
        cut.push(one.cut.transformed(placed.position));
        cleared.push(one.cleared.transformed(placed.position));
    }
    let slugs = fill_idle_holes(&mut cut, &metal, rule);
    let area = |polygons: &[Polygon]| polygons.iter().map(Polygon::area).sum::<f64>();
    let metal_area = metal.area();
    let remaining = if cut.is_empty() { vec![metal.clone()] } else { difference(std::slice::from_ref(&metal), &cut)? };
    // Flattened sheet against flattened parts: what flattening costs at the sheet's edge is no kerf.
    let eaten = metal_area - flat_area - area(&remaining) - slugs;
    let kerf_area = if job.clearances().kerf() > 0.0 { eaten.max(0.0) } else { 0.0 };
    let zone = |zone: &Outline| Shape::new(zone.clone(), Vec::new()).flatten(TOLERANCE, Side::Grow);
    let damage: Vec<Polygon> = sheet.damage.iter().map(zone).collect();
    // What is worth keeping lies within one piece. On a sheet full to its edges there is none so large, and nothing to do.
    let may_keep = |piece: &Polygon| {
        may_hold(piece.bounds(), 0.0, rule) && piece.area() * (1.0 + 1e-9) >= rule.length * rule.width
    };
    let mut leftovers = if !remaining.iter().any(may_keep) {
        Vec::new()
    } else if rule.neck > 0.0 {
        keepable(&metal, &[cut, damage.clone()].concat(), cleared, &damage, rule)?
    } else {
        let sound = if damage.is_empty() { remaining } else { difference(&remaining, &damage)? };
        sound.into_iter().filter_map(|piece| worth_keeping(piece, rule)).collect()
    };
    leftovers.sort_by(|a, b| b.area.total_cmp(&a.area));
    Ok(Remains { kerf_area, leftovers })
}

/// Whether a box is large enough for the smallest rectangle worth keeping, with `margin` to spare in all.
fn may_hold(bounds: Bounds, margin: f64, rule: &LeftoverRule) -> bool {
    let (long, short) = (bounds.width().max(bounds.height()), bounds.width().min(bounds.height()));
    // A rectangle lying askew reaches farther, but not less, than its own shorter side both ways.
    long.hypot(short) + margin >= rule.length.hypot(rule.width) && short + margin >= rule.width
}

/// Takes out holes that hold nothing and are too small for a leftover; their area.
///
/// What falls out of them is scrap wherever it lies, and plates may have hundreds.
fn fill_idle_holes(cut: &mut [Polygon], metal: &Polygon, rule: &LeftoverRule) -> f64 {
    let boxes: Vec<Bounds> = cut.iter().map(Polygon::bounds).collect();
    let flaws: Vec<Bounds> = metal.holes.iter().map(|hole| Bounds::of(hole.iter().copied())).collect();
    let mut order: Vec<usize> = (0..cut.len()).collect();
    order.sort_by(|&a, &b| boxes[a].min.x.total_cmp(&boxes[b].min.x));
    let mut guests: Vec<Vec<Bounds>> = vec![Vec::new(); cut.len()];
    for (position, &first) in order.iter().enumerate() {
        for &second in order[position + 1..].iter().take_while(|&&other| boxes[other].min.x <= boxes[first].max.x) {
            if boxes[first].intersects(boxes[second]) {
                guests[first].push(boxes[second]);
                guests[second].push(boxes[first]);
            }
        }
    }
    let mut filled = 0.0;
    for (polygon, guests) in cut.iter_mut().zip(&guests) {
        polygon.holes.retain(|hole| {
            let bounds = Bounds::of(hole.iter().copied());
            let is_used = guests.iter().chain(&flaws).any(|other| other.intersects(bounds));
            let stays = is_used || may_hold(bounds, 0.0, rule);
            if !stays {
                filled += Polygon::new(hole.clone(), Vec::new()).area();
            }
            stays
        });
    }
    filled
}

/// The pieces of a sheet that hold the smallest rectangle worth keeping, tongues and necks trimmed off.
///
/// `taken` lies on no leftover; `cleared` is what parts take and half a neck around it.
fn keepable(
    metal: &Polygon,
    taken: &[Polygon],
    mut cleared: Vec<Polygon>,
    damage: &[Polygon],
    rule: &LeftoverRule,
) -> Result<Vec<Leftover>, BooleanError> {
    // What survives an inset by half the neck is wide enough; grown again it covers its piece up to the corners (a
    // square corner lies √2 insets from the core) and reaches only a little way into the necks, where it ends. Where
    // exactly does not matter: the cores are found on rougher outlines, and what is kept is cut from the true ones.
    let reach = rule.neck / 2.0;
    let rough = NECK_ACCURACY * reach;
    let inner = offset(std::slice::from_ref(metal), -reach, rough)?;
    cleared.extend(offset(damage, reach, rough)?);
    let mut cores = difference(&inner, &united(cleared)?)?;
    // Both roundings may have taken the core back a little more than half a neck.
    let back = std::f64::consts::SQRT_2 * (reach + 2.0 * rough) + rough;
    cores.retain(|core| may_hold(core.bounds(), 2.0 * back, rule));
    cores.sort_by(|a, b| b.area().total_cmp(&a.area()));
    let mut taken = taken.to_vec();
    let mut leftovers = Vec::new();
    for core in cores {
        let grown = offset(&simplified(&[core], rough)?, back, rough)?;
        let on_metal = intersection(&grown, std::slice::from_ref(metal))?;
        // Grown over a slot, a core may touch metal beyond it: its own piece is the largest.
        let piece = one(difference(&on_metal, &taken)?);
        let Some(leftover) = worth_keeping(piece, rule) else { continue };
        // Two cores may share the neck between them, which goes to the larger.
        taken.push(leftover.outline.clone());
        leftovers.push(leftover);
    }
    Ok(leftovers)
}

/// The union of polygons, in pairs of ever larger groups of neighbours: what lies under many is out of the way before it
/// costs.
fn united(mut polygons: Vec<Polygon>) -> Result<Vec<Polygon>, BooleanError> {
    const FEW: usize = 8;
    if polygons.len() <= FEW {
        return union(&polygons);
    }
    let bounds = polygons.iter().fold(Bounds::EMPTY, |all, polygon| all.union(polygon.bounds()));
    let is_wide = bounds.width() >= bounds.height();
    let place = |polygon: &Polygon| if is_wide { polygon.bounds().center().x } else { polygon.bounds().center().y };
    polygons.sort_by(|a, b| place(a).total_cmp(&place(b)));
    let rest = polygons.split_off(polygons.len() / 2);
    let mut both = united(polygons)?;
    both.append(&mut united(rest)?);
    union(&both)
}

fn worth_keeping(outline: Polygon, rule: &LeftoverRule) -> Option<Leftover> {
    let rectangle = largest_rectangle(&outline, &edge_angles(&outline))?;
    (rectangle.length >= rule.length && rectangle.width >= rule.width).then(|| Leftover {
        area: outline.area(),
        largest_rectangle: (rectangle.length, rectangle.width),
        outline,
    })
}

/// Directions worth trying for a rectangle: those of the longest sides, in degrees within a quarter turn, and 0.
fn edge_angles(outline: &Polygon) -> Vec<f64> {
    let ring = &outline.exterior;
    let mut sides: Vec<(f64, f64)> = (0..ring.len())
        .map(|i| {
            let side = next(ring, i) - ring[i];
            (side.length(), side.angle().to_degrees().rem_euclid(90.0))
        })
        .collect();
    sides.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut angles = vec![0.0];
    for (_, angle) in sides {
        let is_new = angles.iter().all(|&other: &f64| {
            let apart = (angle - other).abs();
            apart.min(90.0 - apart) > 0.5
        });
        if is_new {
            angles.push(angle);
        }
        if angles.len() == MOST_ANGLES {
            break;
        }
    }
    angles
}

/// More directions find no noticeably larger rectangle on what parts leave over.
const MOST_ANGLES: usize = 4;

fn next(ring: &[Point], index: usize) -> Point {
    ring[if index + 1 == ring.len() { 0 } else { index + 1 }]
}
