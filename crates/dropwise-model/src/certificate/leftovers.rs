//! The checks behind [`super::certify_figures`].

use dropwise_geometry::{Outline, Overlap, Region, Shape};

use super::areas::check_areas;
use super::{Certificate, Obstacle, Violation};
use crate::{Job, Leftover, SheetFigures, SheetUse};

/// All that is claimed of what remains of one sheet.
pub(super) fn check_sheet(
    job: &Job,
    on: usize,
    sheet_use: &SheetUse,
    figures: &SheetFigures,
    violations: &mut Vec<Violation>,
) {
    check_leftovers(job, on, sheet_use, &figures.leftovers, violations);
    check_areas(job, on, sheet_use, figures, violations);
}

fn check_leftovers(
    job: &Job,
    on: usize,
    sheet_use: &SheetUse,
    leftovers: &[Leftover],
    violations: &mut Vec<Violation>,
) {
    if leftovers.is_empty() {
        return;
    }
    let sheet = &job.sheets()[sheet_use.sheet];
    let shape = sheet.bought_shape(sheet_use.length);
    let bounds = shape.bounds();
    let size = if sheet.open_length.is_some() { bounds.height() } else { bounds.width().max(bounds.height()) };
    let tolerance = size * Certificate::RELATIVE_TOLERANCE;
    let kerf = job.clearances().kerf();

    let outside = Region::outside(shape.exterior());
    let inside = |ring: &Outline| Region::inside(ring);
    let holes = shape.holes().iter().enumerate().map(|(index, ring)| (Obstacle::Hole(index), inside(ring)));
    let damage = sheet.damage.iter().enumerate().map(|(index, ring)| (Obstacle::Damage(index), inside(ring)));
    let obstacles: Vec<(Obstacle, Region)> = holes.chain(damage).collect();
    let kept: Vec<Region> = leftovers.iter().map(|leftover| Region::of_shape(&shape_of(leftover))).collect();

    for (leftover, region) in kept.iter().enumerate() {
        if let Some(Overlap { at, depth: by }) = region.overlap(&outside, tolerance) {
            violations.push(Violation::LeftoverOffSheet { on, leftover, by, at });
        }
        for &(obstacle, ref other) in &obstacles {
            if let Some(Overlap { at, depth: by }) = region.overlap(other, tolerance) {
                violations.push(Violation::LeftoverOnObstacle { on, leftover, obstacle, by, at });
            }
        }
        for (second, other) in kept.iter().enumerate().skip(leftover + 1) {
            if let Some(Overlap { at, depth: by }) = region.overlap(other, tolerance) {
                violations.push(Violation::LeftoversOverlap { on, first: leftover, second, by, at });
            }
        }
    }
    for (placement, placed) in sheet_use.placements.iter().enumerate() {
        let part = Region::of_shape(&job.parts()[placed.part].shape.transformed(placed.position));
        for (leftover, region) in kept.iter().enumerate() {
            // Wherever both boundaries are far from each other, one may still lie wholly in the other.
            let found = if region.overlap(&part, tolerance).is_some() {
                0.0
            } else {
                region.boundary().distance_within(part.boundary(), kerf)
            };
            let is_on = found == 0.0 && kerf == 0.0 && region.overlap(&part, tolerance).is_some();
            if is_on || found < kerf - tolerance {
                violations.push(Violation::LeftoverOnPart { on, leftover, placement, found, wanted: kerf });
            }
        }
    }
}

fn shape_of(leftover: &Leftover) -> Shape {
    let ring = |points: &Vec<dropwise_geometry::Point>| Outline::polygon(points.iter().copied());
    Shape::new(ring(&leftover.outline.exterior), leftover.outline.holes.iter().map(ring).collect())
}
