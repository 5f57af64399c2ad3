//! Laying a bent part flat.

use dropwise_geometry::{Outline, Point, Shape, Vector};

use crate::bend::{Bend, Development};

use super::bite::cut_holes;
use super::check::Checker;
use super::error::{BentError, BentErrors};
use super::flat::{FlatBend, FlatFace, FlatHole, FlatRelief, Unfolding};
use super::grow::{Attached, Face, Tree};
use super::judge;
use super::part::BentPart;
use super::returns;
use super::walk::{NOTHING, tidy};
use crate::part_frame::PartFrame;

/// Lays a part flat. `development` tells how the flat length of each bend is found.
///
/// The flat pattern lies in its [`PartFrame`], whatever is bent from the left and the lower edge of the base. The outline
/// runs along the true cut: reliefs and notches are part of it, and arcs stay arcs. Where faces meet in one plane no corner is left between them.
///
/// # Errors
/// Everything that is wrong, as far as one fault does not hide another: all numbers first, then what is wrong with
/// edges, corners and reliefs, then holes across bends; where none of these, faces that would lie on one another when
/// flat or would touch with nothing to part them.
///
/// # Cost
/// O(n²) for n faces in the comparison of faces that lie near each other; milliseconds for dozens.
pub fn unfold(part: &BentPart, development: &dyn Fn(&Bend) -> Development) -> Result<Unfolding, BentErrors> {
    match returns::joined(part, development)? {
        Some(joined) => lay_flat(&joined, development),
        None => lay_flat(part, development),
    }
}

/// The same without joins between flanges of flanges.
pub(super) fn lay_flat(part: &BentPart, development: &dyn Fn(&Bend) -> Development) -> Result<Unfolding, BentErrors> {
    let mut checker = Checker::new(part, development);
    let checked = checker.part();
    let tree = Tree::grow(part, &checked, checker.errors);
    if tree.faces.is_empty() {
        return Err(BentErrors(tree.errors));
    }
    let outlines: Vec<Outline> = (0..tree.faces.len()).map(|index| tree.face_outline(index)).collect();
    let mut errors = tree.errors.clone();
    errors.extend(judge::used_up(&tree, &outlines));
    if errors.is_empty() {
        errors.extend(judge::holes(&tree, &outlines));
    }
    let (mut steps, walk) = tree.whole();
    errors.extend(walk.errors.iter().cloned());
    let frame = PartFrame::of(&Shape::new(tidy(steps.clone()), Vec::new()));
    if !errors.is_empty() {
        return Err(in_frame(errors, frame));
    }
    let mut reliefs: Vec<FlatRelief> =
        walk.removed.iter().map(|(face, removed)| FlatRelief { face: *face, removed: removed.clone() }).collect();
    let name = |face: usize| tree.faces[face].name.to_owned();
    steps = cut_holes(steps, &walk.holes, name, &mut reliefs, &mut errors);
    let flat = assemble(&tree, outlines, tidy(steps), reliefs);
    errors.extend(judge::overlaps(&flat));
    if errors.is_empty() {
        errors.extend(judge::touches(&flat));
    }
    if !errors.is_empty() {
        return Err(in_frame(errors, frame));
    }
    let shift = PartFrame::of(&flat.shape).shift();
    Ok(flat.moved(shift))
}

/// Errors that speak of places on the flat, brought into its frame.
fn in_frame(errors: Vec<BentError>, frame: PartFrame) -> BentErrors {
    let moved = errors.into_iter().map(|mut error| {
        if let BentError::ReliefRoom { at, .. } | BentError::Collision { at, .. } | BentError::Touch { at, .. } =
            &mut error
        {
            *at = frame.read(*at);
        }
        error
    });
    BentErrors(moved.collect())
}

fn assemble(tree: &Tree<'_>, outlines: Vec<Outline>, exterior: Outline, reliefs: Vec<FlatRelief>) -> Unfolding {
    let on_flat = |face: &Face<'_>| -> Vec<Outline> {
        face.holes.iter().map(|(hole, _)| face.frame.outline_to_flat(hole)).collect()
    };
    let rings = tree.faces.iter().flat_map(on_flat).collect();
    let holes = tree.faces.iter().enumerate().flat_map(|(index, face)| flat_holes(index, face)).collect();
    let faces = tree
        .faces
        .iter()
        .zip(outlines)
        .map(|(face, outline)| FlatFace {
            name: face.name.to_owned(),
            parent: face.parent,
            region: Shape::new(outline, on_flat(face)),
            frame: face.frame,
            told_size: face.told_size,
        })
        .collect();
    let mut bends: Vec<FlatBend> = Vec::new();
    for (parent, face) in tree.faces.iter().enumerate() {
        bends.extend(face.bends.iter().map(|bend| flat_bend(tree, parent, bend, &reliefs)));
    }
    bends.sort_by_key(|bend| bend.face);
    Unfolding { thickness: tree.part.thickness, shape: Shape::new(exterior, rings), holes, faces, bends, reliefs }
}

/// The holes of a face, in order.
fn flat_holes(index: usize, face: &Face<'_>) -> Vec<FlatHole> {
    face.holes
        .iter()
        .map(|(hole, feature)| {
            let bounds = hole.bounds();
            // A circle is two half circles, and nothing else is.
            let is_round = hole.vertices().len() == 2 && hole.vertices().iter().all(|v| v.bulge.abs() == 1.0);
            FlatHole {
                face: index,
                feature: *feature,
                center: face.frame.to_flat(bounds.center()),
                diameter: is_round.then(|| hole.vertices()[0].point.distance(hole.vertices()[1].point)),
            }
        })
        .collect()
}

fn flat_bend(tree: &Tree<'_>, parent: usize, bend: &Attached<'_>, reliefs: &[FlatRelief]) -> FlatBend {
    let face = &tree.faces[parent];
    let ([start_from, end_from, end_to, start_to], _) = tree.zone(bend, face);
    let zone = Outline::polygon([start_from, end_from, end_to, start_to]).into_ccw();
    let radius = bend.bend.figures.bend.radius();
    let allowance = bend.bend.figures.allowance;
    let middle = [start_from.lerp(end_from, 0.5), start_to.lerp(end_to, 0.5)];
    let toward_end = |share: f64| [start_from.lerp(end_from, share), start_to.lerp(end_to, share)];
    FlatBend {
        face: bend.face,
        parent,
        direction: bend.flange.direction,
        figures: bend.bend.figures,
        development: bend.development.clone(),
        line: metal_along(middle, reliefs),
        start: [start_from, start_to],
        end: [end_from, end_to],
        sight_line: (radius <= allowance && allowance > 0.0).then(|| toward_end(radius / allowance)),
        zone,
        edge_taken: bend.bend.edge_taken,
        own_taken: bend.bend.own_taken,
    }
}

/// A bend line less what reliefs take off its ends.
fn metal_along(line: [Point; 2], reliefs: &[FlatRelief]) -> [Point; 2] {
    let along = line[1] - line[0];
    let length = along.length();
    let Some(direction) = along.unit() else { return line };
    let (mut from, mut to) = (0.0_f64, length);
    for relief in reliefs {
        for end in [0, 1] {
            // How far from this end the relief reaches along the line, if it holds the line's end at all.
            let reach = taken_off(line[end], if end == 0 { direction } else { -direction }, length, &relief.removed);
            if end == 0 {
                from = from.max(reach);
            } else {
                to = to.min(length - reach);
            }
        }
    }
    [line[0] + direction * from, line[0] + direction * to]
}

/// How much of a line that starts at `from` lies in a region that it starts in; zero when it does not.
fn taken_off(from: Point, along: Vector, length: f64, region: &Outline) -> f64 {
    if !region.contains(from + along * (10.0 * NOTHING)) {
        return 0.0;
    }
    // Regions of relief are simple enough that the line leaves them once.
    let (mut inside, mut outside) = (0.0, length);
    for _ in 0..60 {
        let middle = (inside + outside) / 2.0;
        if region.contains(from + along * middle) {
            inside = middle;
        } else {
            outside = middle;
        }
    }
    outside
}
