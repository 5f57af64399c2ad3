//! The checks behind [`super::certify`].

use dropwise_geometry::{Bounds, Outline, Overlap, Point, Region, Shape};

use super::{Certificate, Obstacle, SheetProof, Violation};
use crate::{Job, Layout, Part, Placement, Sheet, SheetUse};

/// How far a turn may differ from an allowed one, degrees: what rounding in a turn of some hundred degrees amounts to,
/// with room to spare. Over a part of 3 m it moves a corner by 0.05 micrometres.
const TURN_TOLERANCE_DEG: f64 = 1e-9;

/// How far a length bought may miss a multiple of the increment or pass a limit, mm.
const LENGTH_TOLERANCE: f64 = 1e-6;

/// Counts of parts and sheets over the whole layout.
pub(super) fn check_counts(job: &Job, layout: &Layout, violations: &mut Vec<Violation>) {
    let mut placed = vec![0u64; job.parts().len()];
    let mut unplaced = vec![0u64; job.parts().len()];
    let mut used = vec![0u64; job.sheets().len()];
    // Indices out of range on sheets are reported with their sheet.
    for sheet_use in &layout.sheets {
        if let Some(count) = used.get_mut(sheet_use.sheet) {
            *count += 1;
        }
        for placement in &sheet_use.placements {
            if let Some(count) = placed.get_mut(placement.part) {
                *count += 1;
            }
        }
    }
    for (entry, declared) in layout.unplaced.iter().enumerate() {
        match unplaced.get_mut(declared.part) {
            Some(count) => *count += u64::from(declared.count),
            None => {
                let (part, count) = (declared.part, job.parts().len());
                violations.push(Violation::UnknownUnplacedPart { entry, part, count });
            }
        }
    }
    for (part, wanted) in job.parts().iter().map(|p| p.quantity).enumerate() {
        let (placed, unplaced) = (placed[part], unplaced[part]);
        if placed + unplaced != u64::from(wanted) {
            violations.push(Violation::WrongCount { part, placed, unplaced, wanted });
        }
    }
    for (sheet, quantity) in job.sheets().iter().map(|s| s.quantity).enumerate() {
        if let Some(available) = quantity.filter(|&available| used[sheet] > u64::from(available)) {
            violations.push(Violation::TooManySheets { sheet, used: used[sheet], available });
        }
    }
}

/// What is held lies as told.
pub(super) fn check_holds(job: &Job, layout: &Layout, violations: &mut Vec<Violation>) {
    let told = job.instructions();
    let mut sheets: Vec<usize> = told.held.iter().map(|hold| hold.sheet).collect();
    sheets.sort_unstable();
    sheets.dedup();
    for sheet in sheets {
        // The holds that no placement of its own meets, on the use of the sheet where they are fewest.
        let unmet = |used: &SheetUse| -> Vec<usize> {
            let mut free: Vec<&Placement> = used.placements.iter().collect();
            let mut unmet = Vec::new();
            for (index, hold) in told.held_on(sheet) {
                match free.iter().position(|placement| hold.is_met_by(placement)) {
                    Some(met) => {
                        free.swap_remove(met);
                    }
                    None => unmet.push(index),
                }
            }
            unmet
        };
        let uses = layout.sheets.iter().filter(|used| used.sheet == sheet).map(unmet);
        let all = || told.held_on(sheet).map(|(index, _)| index).collect();
        for hold in uses.min_by_key(Vec::len).unwrap_or_else(all) {
            violations.push(Violation::HoldNotMet { hold, part: told.held[hold].part, sheet });
        }
    }
}

/// All that concerns one sheet of the layout.
pub(super) fn check_sheet(job: &Job, on: usize, sheet_use: &SheetUse, violations: &mut Vec<Violation>) -> SheetProof {
    let Some(sheet) = job.sheets().get(sheet_use.sheet) else {
        violations.push(Violation::UnknownSheet { on, sheet: sheet_use.sheet, count: job.sheets().len() });
        return SheetProof::default();
    };
    if !check_length(sheet, on, sheet_use.length, violations) {
        return SheetProof::default();
    }
    let shape = sheet.bought_shape(sheet_use.length);
    let ground = Ground::new(job, on, (sheet_use.sheet, sheet), &shape);
    let mut proof = SheetProof { tolerance: ground.tolerance, ..SheetProof::default() };

    let mut placed: Vec<(usize, Region)> = Vec::new();
    for (index, placement) in sheet_use.placements.iter().enumerate() {
        let Some(part) = job.parts().get(placement.part) else {
            let (part, count) = (placement.part, job.parts().len());
            violations.push(Violation::UnknownPart { on, placement: index, part, count });
            continue;
        };
        check_permissions(part, sheet, on, index, placement, violations);
        if !job.instructions().allow(placement.part, sheet_use.sheet) {
            violations.push(Violation::NotKeptToSheet { on, placement: index });
        }
        let position = placement.position;
        let shape = part.shape.transformed(position);
        let bounds = shape.bounds();
        let is_finite = position.rotation_deg.is_finite()
            && position.translation.x.is_finite()
            && position.translation.y.is_finite()
            // A place near the end of the numbers overflows only when the part is moved there.
            && bounds.min.is_finite()
            && bounds.max.is_finite();
        if !is_finite {
            violations.push(Violation::NotFinite { on, placement: index });
            continue;
        }
        let region = Region::of_shape(&shape);
        let nearest = ground.check_part(index, &region, violations);
        proof.least_to_edge = Some(proof.least_to_edge.unwrap_or(f64::INFINITY).min(nearest));
        proof.parts_checked += 1;
        placed.push((index, region));
    }
    check_pairs(&placed, job.clearances().web(), &ground, &mut proof, violations);
    proof
}

/// Whether there is a length to go on with; a wrong one is reported and used.
fn check_length(sheet: &Sheet, on: usize, length: Option<f64>, violations: &mut Vec<Violation>) -> bool {
    match (sheet.open_length, length) {
        (None, None) => {}
        (None, Some(found)) => violations.push(Violation::UnexpectedLength { on, found }),
        (Some(_), None) => {
            violations.push(Violation::NoLength { on });
            return false;
        }
        (Some(terms), Some(found)) => {
            let increment = terms.increment;
            let miss = (found - (found / increment).round() * increment).abs();
            // Written so that a length that is not a number fails.
            if !(miss <= LENGTH_TOLERANCE && found > 0.0) {
                violations.push(Violation::LengthNotSold { on, found, increment });
                return false;
            }
            if found < terms.minimum - LENGTH_TOLERANCE {
                violations.push(Violation::LengthTooShort { on, found, minimum: terms.minimum });
            }
            let available = sheet.shape.bounds().width();
            if found > available + LENGTH_TOLERANCE {
                violations.push(Violation::LengthTooLong { on, found, available });
            }
        }
    }
    true
}

/// Class, turn and flip.
fn check_permissions(
    part: &Part,
    sheet: &Sheet,
    on: usize,
    placement: usize,
    found: &Placement,
    violations: &mut Vec<Violation>,
) {
    if part.class != sheet.class {
        let (part_class, sheet_class) = (part.class.label().to_owned(), sheet.class.label().to_owned());
        violations.push(Violation::WrongClass { on, placement, part_class, sheet_class });
    }
    let position = found.position;
    if position.is_mirrored && !part.may_flip {
        violations.push(Violation::FlipNotAllowed { on, placement });
    }
    // A turn that is not a number is reported as that.
    if !position.rotation_deg.is_finite() {
        return;
    }
    let Some(allowed) = part.turns.on_sheet(sheet.grain_deg, position.is_mirrored) else { return };
    let found = position.rotation_deg;
    let difference = |turn: f64| {
        let apart = (found - turn).rem_euclid(360.0);
        apart.min(360.0 - apart)
    };
    let nearest = allowed.into_iter().min_by(|&a, &b| difference(a).total_cmp(&difference(b)));
    if !nearest.is_some_and(|turn| difference(turn) <= TURN_TOLERANCE_DEG) {
        violations.push(Violation::TurnNotAllowed { on, placement, found, nearest });
    }
}

/// A sheet of the layout, prepared for the checks of all its parts.
struct Ground {
    on: usize,
    bounds: Bounds,
    tolerance: f64,
    outside: Region,
    /// What parts stay clear of, and by how much.
    obstacles: Vec<(Obstacle, Region, f64)>,
    margin: f64,
}

impl Ground {
    fn new(job: &Job, on: usize, (index, sheet): (usize, &Sheet), shape: &Shape) -> Self {
        let (margin, web) = (job.clearances().margin(), job.clearances().web());
        let bounds = shape.bounds();
        let size = if sheet.open_length.is_some() { bounds.height() } else { bounds.width().max(bounds.height()) };
        let region = |ring: &Outline| Region::inside(ring);
        let holes = shape.holes().iter().enumerate().map(|(i, ring)| (Obstacle::Hole(i), region(ring), margin));
        let damage = sheet.damage.iter().enumerate().map(|(i, ring)| (Obstacle::Damage(i), region(ring), margin));
        let reserved = job.instructions().reserved_on(index);
        let reserved = reserved.map(|(i, area)| (Obstacle::Reserved(i), Region::of_shape(area), web));
        Self {
            on,
            bounds,
            tolerance: size * Certificate::RELATIVE_TOLERANCE,
            outside: Region::outside(shape.exterior()),
            obstacles: holes.chain(damage).chain(reserved).collect(),
            margin,
        }
    }

    /// Checks one part against edge, holes and damage; returns the least distance to any of them.
    fn check_part(&self, placement: usize, part: &Region, violations: &mut Vec<Violation>) -> f64 {
        let (on, margin) = (self.on, self.margin);
        // First by boxes alone: certain, and true even of a part so far away that its coordinates lose their digits.
        if let Some((by, at)) = sticks_out(part.boundary().bounds(), self.bounds, self.tolerance) {
            violations.push(Violation::OutsideSheet { on, placement, by, at });
            return 0.0;
        }
        let mut least = f64::INFINITY;
        match self.clearance(part, &self.outside, margin, &mut least) {
            Apart::Enough => {}
            Apart::TooClose { found, at } => {
                violations.push(Violation::TooCloseToEdge { on, placement, found, wanted: margin, at });
            }
            Apart::Overlapping(Overlap { at, depth: by }) => {
                violations.push(Violation::OutsideSheet { on, placement, by, at });
            }
        }
        for &(obstacle, ref region, wanted) in &self.obstacles {
            match self.clearance(part, region, wanted, &mut least) {
                Apart::Enough => {}
                Apart::TooClose { found, at } => {
                    violations.push(Violation::TooCloseToObstacle { on, placement, obstacle, found, wanted, at });
                }
                Apart::Overlapping(Overlap { at, depth: by }) => {
                    violations.push(Violation::OnObstacle { on, placement, obstacle, by, at });
                }
            }
        }
        least
    }

    /// Whether two regions are as far apart as wanted. `least` is lowered to their distance where that is less.
    fn clearance(&self, a: &Region, b: &Region, wanted: f64, least: &mut f64) -> Apart {
        // Larger distances than both interest nobody, and most pairs are told apart by their boxes.
        let limit = least.max(wanted);
        let found = a.boundary().distance_within(b.boundary(), limit);
        *least = least.min(found);
        // Wherever both boundaries are far from each other, one region may still lie wholly in the other.
        if let Some(overlap) = a.overlap(b, self.tolerance) {
            *least = 0.0;
            return Apart::Overlapping(overlap);
        }
        if found >= wanted - self.tolerance {
            return Apart::Enough;
        }
        // There are sides, or they would be infinitely far apart.
        let at = a.boundary().nearest_point(b.boundary()).unwrap_or(Point::ORIGIN);
        Apart::TooClose { found, at }
    }
}

enum Apart {
    Enough,
    TooClose { found: f64, at: Point },
    Overlapping(Overlap),
}

/// How far one box sticks out of another and where, when by more than the tolerance.
fn sticks_out(part: Bounds, sheet: Bounds, tolerance: f64) -> Option<(f64, Point)> {
    let center = part.center();
    let sides = [
        (sheet.min.x - part.min.x, Point::new(part.min.x, center.y)),
        (sheet.min.y - part.min.y, Point::new(center.x, part.min.y)),
        (part.max.x - sheet.max.x, Point::new(part.max.x, center.y)),
        (part.max.y - sheet.max.y, Point::new(center.x, part.max.y)),
    ];
    let worst = sides.into_iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
    (worst.0 > tolerance).then_some(worst)
}

/// Every two parts of a sheet, from left to right: most are far enough apart by their boxes alone, and of many parts each
/// is held against those only that lie in the same column.
fn check_pairs(
    placed: &[(usize, Region)],
    web: f64,
    ground: &Ground,
    proof: &mut SheetProof,
    violations: &mut Vec<Violation>,
) {
    let on = ground.on;
    let mut least = f64::INFINITY;
    let boxes: Vec<Bounds> = placed.iter().map(|(_, region)| region.boundary().bounds()).collect();
    let mut order: Vec<usize> = (0..placed.len()).collect();
    order.sort_by(|&a, &b| boxes[a].min.x.total_cmp(&boxes[b].min.x).then(a.cmp(&b)));
    let mut found_wrong: Vec<((usize, usize), Violation)> = Vec::new();
    // Those on the left that may still come near.
    let mut near: Vec<usize> = Vec::new();
    for next in order {
        // Distances beyond both interest nobody.
        near.retain(|&other| boxes[next].min.x - boxes[other].max.x <= web.max(least));
        for &other in &near {
            let (one, two) = (other.min(next), other.max(next));
            let apart = (boxes[one].min.y - boxes[two].max.y).max(boxes[two].min.y - boxes[one].max.y);
            if apart > web.max(least) {
                continue;
            }
            let ((first, a), (second, b)) = (&placed[one], &placed[two]);
            let (first, second) = (*first, *second);
            match ground.clearance(a, b, web, &mut least) {
                Apart::Enough => {}
                Apart::TooClose { found, at } => {
                    let wanted = web;
                    found_wrong.push(((two, one), Violation::TooClose { on, first, second, found, wanted, at }));
                }
                Apart::Overlapping(Overlap { at, depth: by }) => {
                    found_wrong.push(((two, one), Violation::Overlap { on, first, second, by, at }));
                }
            }
        }
        near.push(next);
    }
    found_wrong.sort_by_key(|&(pair, _)| pair);
    violations.extend(found_wrong.into_iter().map(|(_, violation)| violation));
    proof.pairs_checked += placed.len() * placed.len().saturating_sub(1) / 2;
    proof.least_between_parts = (proof.pairs_checked > 0).then_some(least);
}
