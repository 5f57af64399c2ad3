//! Proof that a layout is valid.
//!
//! Everything is worked out afresh from the job and the layout, on the true outlines with arcs as arcs. No cached value
//! and no code of a search takes part: neither flattened outlines, nor offsets, nor collision tests of its own.

mod areas;
mod checks;
mod leftovers;
mod violation;

#[cfg(test)]
mod figures_tests;
#[cfg(test)]
mod referee_tests;
#[cfg(test)]
mod tests;

use rayon::prelude::*;

use crate::{Job, Layout, PlanFigures};
pub use violation::{Obstacle, Violation};

/// What was checked of a layout that was found valid, and how near it came.
///
/// # Tolerance
/// Distances may fall short by, and overlaps may be as deep as, [`Certificate::RELATIVE_TOLERANCE`] of the sheet's size
/// and no more. The size is the larger side of the box around the sheet; for stock sold by length its width, which does
/// not change while the length is being found.
#[derive(Clone, Debug, PartialEq)]
pub struct Certificate {
    /// One entry for each [`crate::SheetUse`], in the same order.
    pub sheets: Vec<SheetProof>,
}

/// What was checked on one sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SheetProof {
    /// Parts found inside the sheet and clear of its holes and damage.
    pub parts_checked: usize,
    /// Pairs of parts found apart: all there are.
    pub pairs_checked: usize,
    /// Least distance between two parts, mm; `None` with fewer than two. Zero when parts touch or overlap within the
    /// tolerance.
    pub least_between_parts: Option<f64>,
    /// Least distance from a part to the edge of the sheet, a hole in it or damage, mm; `None` without parts.
    pub least_to_edge: Option<f64>,
    /// How far a distance might fall short on this sheet, or parts overlap, mm.
    pub tolerance: f64,
}

impl Certificate {
    /// Tolerance of all distances as a fraction of the sheet's size.
    ///
    /// On a sheet of 2.5 m this is a quarter of a micrometre, far below any saw or beam. Rounding of coordinates in `f64`
    /// is a million times smaller; a tighter value would refuse layouts whose parts touch. A coarser one leaves nothing
    /// for another checker's own rounding, such as flattened arcs: those commonly allow 1e-6 of the size.
    pub const RELATIVE_TOLERANCE: f64 = 1e-7;

    /// Parts checked on all sheets.
    #[must_use]
    pub fn parts_checked(&self) -> usize {
        self.sheets.iter().map(|sheet| sheet.parts_checked).sum()
    }

    /// Pairs checked on all sheets.
    #[must_use]
    pub fn pairs_checked(&self) -> usize {
        self.sheets.iter().map(|sheet| sheet.pairs_checked).sum()
    }

    /// Least distance between two parts on any sheet, mm.
    #[must_use]
    pub fn least_between_parts(&self) -> Option<f64> {
        self.sheets.iter().filter_map(|sheet| sheet.least_between_parts).min_by(f64::total_cmp)
    }

    /// Least distance from a part to the edge of its sheet, a hole in it or damage, mm.
    #[must_use]
    pub fn least_to_edge(&self) -> Option<f64> {
        self.sheets.iter().filter_map(|sheet| sheet.least_to_edge).min_by(f64::total_cmp)
    }

    /// The largest tolerance used on any sheet, mm; zero when no sheet is used.
    #[must_use]
    pub fn tolerance(&self) -> f64 {
        self.sheets.iter().map(|sheet| sheet.tolerance).fold(0.0, f64::max)
    }
}

/// Proves that a layout is valid for a job, or tells all that is wrong with it.
///
/// Valid means:
/// - every index names something, every number is finite;
/// - every part is of its sheet's class, turned and flipped only as it allows;
/// - of every part, filler or not, as many are placed and declared unplaced together as are wanted;
/// - no sheet is used more often than there are; stock sold by length has a length that the yard sells, which is a
///   multiple of the increment, not less than the minimum, not more than can be had;
/// - every part lies inside its sheet and outside of holes and damage, by the edge margin;
/// - every two parts on a sheet are apart by the web. Parts may lie in holes of other parts;
/// - what the job's instructions ask: what is held lies as told, on one sheet of its name; no part lies on a sheet that it is not
///   kept to; every part is apart by the web from areas that are kept clear.
///
/// Parts may touch each other or the edge where web or margin is zero. The outlines of parts and sheets must be free of
/// faults (see [`dropwise_geometry::Shape::faults`]); that is the reader's business and not checked again.
///
/// # Errors
/// All violations found: first those of the whole layout, then sheet by sheet. A part that cannot be placed at all
/// (bad index, not finite) takes no further part in the checks of its sheet.
///
/// # Cost
/// A few milliseconds for a sheet with a hundred parts.
pub fn certify(job: &Job, layout: &Layout) -> Result<Certificate, Vec<Violation>> {
    let mut violations = Vec::new();
    checks::check_counts(job, layout, &mut violations);
    checks::check_holds(job, layout, &mut violations);
    let check = |(index, sheet_use)| {
        let mut found = Vec::new();
        (checks::check_sheet(job, index, sheet_use, &mut found), found)
    };
    let (sheets, found): (Vec<_>, Vec<_>) = layout.sheets.par_iter().enumerate().map(check).unzip();
    violations.extend(found.into_iter().flatten());
    if violations.is_empty() { Ok(Certificate { sheets }) } else { Err(violations) }
}

/// Proves what figures claim of the metal of a layout that passed [`certify`], or tells all that is wrong.
///
/// True means, on every sheet:
/// - every leftover lies on the metal of the sheet: inside its outline, off its holes and off damage;
/// - every leftover keeps the width of the cut from every part, and no two leftovers overlap;
/// - gross, net, leftover, kerf and scrap area are those that a second derivation finds, which shares no code with the
///   first: integrals along the true outlines, and lines across the sheet (`certificate/areas.rs`, which derives the
///   tolerance).
///
/// Distances and overlaps are forgiven as in [`Certificate`].
///
/// # Errors
/// All violations found, sheet by sheet. Figures of another layout are a violation.
///
/// # Cost
/// Some milliseconds for a sheet with a hundred parts. For each part and leftover a comparison of their outlines; at most
/// some six thousand lines across each sheet.
pub fn certify_figures(job: &Job, layout: &Layout, figures: &PlanFigures) -> Result<(), Vec<Violation>> {
    let mut violations = Vec::new();
    if figures.sheets.len() != layout.sheets.len() {
        violations.push(Violation::OtherSheets { found: figures.sheets.len(), wanted: layout.sheets.len() });
    }
    let check = |(on, (sheet_use, sheet))| {
        let mut found = Vec::new();
        leftovers::check_sheet(job, on, sheet_use, sheet, &mut found);
        found
    };
    violations.par_extend(layout.sheets.par_iter().zip(&figures.sheets).enumerate().flat_map_iter(check));
    if violations.is_empty() { Ok(()) } else { Err(violations) }
}
