//! What goes back into the rack.

use dropwise_geometry::{
    BooleanError, Point, Polygon, Shape, Side, difference, intersection, largest_rectangle, offset, simplified,
};

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

/// Works out what remains of a sheet after its parts are cut.
///
/// # Errors
/// When the areas of a boolean operation do not balance.
pub(crate) fn remains(job: &Job, sheet_use: &SheetUse) -> Result<Remains, BooleanError> {
    let sheet = &job.sheets()[sheet_use.sheet];
    let kerf = job.clearances().kerf();
    let metal = sheet.bought_shape(sheet_use.length).flatten(TOLERANCE, Side::Shrink);
    let flat: Vec<Polygon> = sheet_use
        .placements
        .iter()
        .map(|p| job.parts()[p.part].shape.transformed(p.position).flatten(TOLERANCE, Side::Grow))
        .collect();
    let cut: Vec<Polygon> = if kerf > 0.0 {
        let grown = flat.iter().map(|part| offset(std::slice::from_ref(part), kerf, TOLERANCE));
        grown.collect::<Result<Vec<_>, _>>()?.concat()
    } else {
        flat.clone()
    };
    let area = |polygons: &[Polygon]| polygons.iter().map(Polygon::area).sum::<f64>();
    let metal_area = metal.area();
    let remaining = if cut.is_empty() { vec![metal] } else { difference(&[metal], &cut)? };
    // Flattened sheet against flattened parts: what flattening costs at the sheet's edge is no kerf.
    let kerf_area = if kerf > 0.0 { (metal_area - area(&flat) - area(&remaining)).max(0.0) } else { 0.0 };
    let damage: Vec<Polygon> =
        sheet.damage.iter().map(|zone| Shape::new(zone.clone(), Vec::new()).flatten(TOLERANCE, Side::Grow)).collect();
    let sound = if damage.is_empty() { remaining } else { difference(&remaining, &damage)? };
    let mut leftovers = keepable(&sound, job.leftover_rule())?;
    leftovers.sort_by(|a, b| b.area.total_cmp(&a.area));
    Ok(Remains { kerf_area, leftovers })
}

/// The pieces of some metal that hold the smallest rectangle worth keeping, tongues and necks trimmed off.
fn keepable(metal: &[Polygon], rule: &LeftoverRule) -> Result<Vec<Leftover>, BooleanError> {
    let reach = rule.neck / 2.0;
    // What survives an inset by half the neck is wide enough; grown again it covers its piece up to the corners (a
    // square corner lies √2 insets from the core) and reaches only a little way into the necks, where it ends.
    if reach <= 0.0 {
        return Ok(metal.iter().cloned().filter_map(|piece| worth_keeping(piece, rule)).collect());
    }
    let may_hold = |polygon: &Polygon, margin: f64| {
        let bounds = polygon.bounds();
        let (long, short) = (bounds.width().max(bounds.height()), bounds.width().min(bounds.height()));
        // A rectangle lying askew reaches farther, but not less, than its own shorter side both ways.
        long.hypot(short) + margin >= rule.length.hypot(rule.width) && short + margin >= rule.width
    };
    // Where exactly a neck ends does not matter, and a skeleton has hundreds of corners: the cores are found on a
    // rougher outline, and what is kept is cut from the true one.
    let rough = NECK_ACCURACY * reach;
    let held: Vec<Polygon> = metal.iter().filter(|piece| may_hold(piece, 0.0)).cloned().collect();
    let mut cores = Vec::new();
    for piece in simplified(&held, rough)? {
        cores.extend(offset(&[piece], -reach, rough)?);
    }
    cores.retain(|core| may_hold(core, 2.0 * (reach * std::f64::consts::SQRT_2 + 2.0 * rough)));
    cores.sort_by(|a, b| b.area().total_cmp(&a.area()));
    let mut leftovers = Vec::new();
    let mut free = held;
    for core in cores {
        let grown = offset(&simplified(&[core], rough)?, reach * std::f64::consts::SQRT_2 + rough, rough)?;
        // Grown over a slot, a core may touch metal beyond it: its own piece is the largest.
        let piece = intersection(&grown, &free)?.into_iter().max_by(|a, b| a.area().total_cmp(&b.area()));
        let Some(leftover) = piece.and_then(|piece| worth_keeping(piece, rule)) else { continue };
        // Two cores may share the neck between them, which goes to the larger.
        free = difference(&free, std::slice::from_ref(&leftover.outline))?;
        leftovers.push(leftover);
    }
    Ok(leftovers)
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
