//! In which order things are cut.

use std::cmp::Ordering;

use dropwise_geometry::Shape;

use super::edges::{Cut, Manner, Work};
use super::{ShearCut, Step};
use crate::markout::{Datum, HoleMethod};

pub(super) fn steps(work: &Work, strokes: &[ShearCut], parts: &[Shape], depths: &[usize], datum: &Datum) -> Vec<Step> {
    let mut steps = Vec::new();
    // Holes by tool and size, so that each is set up once.
    let mut holes: Vec<_> = work.holes.clone();
    let kind = |method: HoleMethod| match method {
        HoleMethod::Punch(_) => 0,
        HoleMethod::Tool(tool) => 1 + tool.tool as u8,
        HoleMethod::ToTheLine => u8::MAX,
    };
    holes.sort_by(|a, b| {
        let size = |hole: &super::RoundCut| hole.method.size().unwrap_or_default();
        kind(a.method).cmp(&kind(b.method)).then(size(a).total_cmp(&size(b))).then(a.placement.cmp(&b.placement))
    });
    steps.extend(holes.into_iter().map(Step::Hole));
    let mut corners: Vec<(usize, f64)> = work
        .corners
        .iter()
        .enumerate()
        .filter_map(|(index, corner)| Some((index, corner.tool?.size.diameter())))
        .collect();
    corners.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
    steps.extend(corners.into_iter().map(|(index, _)| Step::Corner(index)));

    let deepest = depths.iter().copied().max().unwrap_or(0);
    let mut farthest_first: Vec<usize> = (0..parts.len()).collect();
    farthest_first.sort_by(|&a, &b| distance(&parts[b], datum).total_cmp(&distance(&parts[a], datum)).then(a.cmp(&b)));
    let mut outlines = Vec::new();
    for depth in (0..=deepest).rev() {
        let at_depth = || farthest_first.iter().copied().filter(|&placement| depths[placement] == depth);
        for placement in at_depth() {
            let openings = work.cuts.iter().filter(|cut| cut.placement == placement && cut.ring > 0);
            steps.extend(openings.copied().map(Step::Cut));
        }
        for placement in at_depth() {
            // Parts that lie in an opening come out before the opening does; the rest after the shear.
            let target = if depth > 0 { &mut steps } else { &mut outlines };
            target.extend(outline(work, placement, datum).into_iter().map(Step::Cut));
        }
    }
    steps.extend(strokes.iter().copied().map(Step::Stroke));
    steps.append(&mut outlines);
    steps
}

/// The cuts of a part's outline: straight ones first, short before long, the one that faces the datum last; then curves.
fn outline(work: &Work, placement: usize, datum: &Datum) -> Vec<Cut> {
    let mut cuts: Vec<Cut> =
        work.cuts.iter().filter(|cut| cut.placement == placement && cut.ring == 0).copied().collect();
    let height = |cut: &Cut| {
        let [along, square] = datum.distances(cut.side.at(0.5));
        (square, along)
    };
    let nearest = cuts
        .iter()
        .filter(|cut| cut.manner == Manner::Straight)
        .map(height)
        .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let faces_datum = |cut: &Cut| cut.manner == Manner::Straight && Some(height(cut)) == nearest;
    // Stable: equal ones keep the order of the outline.
    cuts.sort_by(|a, b| {
        let is_curve = |cut: &Cut| cut.manner != Manner::Straight;
        match is_curve(a).cmp(&is_curve(b)).then(faces_datum(a).cmp(&faces_datum(b))) {
            Ordering::Equal => a.side.length().total_cmp(&b.side.length()),
            decided => decided,
        }
    });
    // Rounded corners in flats are ground with the part in the vice; curves that a tool follows part it from the sheet.
    let is_parting = |cut: &Cut| cut.manner != Manner::FlatsThenGrind;
    let last = cuts.iter().rposition(is_parting).or(cuts.len().checked_sub(1));
    if let Some(last) = last {
        cuts[last].is_release = true;
    }
    cuts
}

/// How far a part's middle lies from the datum, both ways together.
fn distance(part: &Shape, datum: &Datum) -> f64 {
    datum.distances(part.bounds().center()).iter().sum()
}

/// In how many openings of other parts each part lies. Parts must not overlap.
pub(super) fn depths(parts: &[Shape]) -> Vec<usize> {
    let is_around = |outer: &Shape, inner: &Shape| {
        let (around, within) = (outer.bounds(), inner.bounds());
        // Any point of the part will do but one where the two touch; the middle of a side seldom does.
        let point = inner.exterior().segments().next().map(|side| side.at(0.5));
        around.contains(within.min)
            && around.contains(within.max)
            && point.is_some_and(|point| outer.holes().iter().any(|hole| hole.contains(point)))
    };
    let others = |i: usize| parts.iter().enumerate().filter(move |&(j, _)| j != i).map(|(_, outer)| outer);
    parts.iter().enumerate().map(|(i, part)| others(i).filter(|outer| is_around(outer, part)).count()).collect()
}
