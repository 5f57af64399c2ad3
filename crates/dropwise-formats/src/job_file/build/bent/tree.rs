//! The tree of faces: flanges put where they are bent from, and corners between them.

use std::collections::HashMap;

use dropwise_geometry::Outline;
use dropwise_shop::fold::{BaseFace, BentPart, CornerJoin, Edge, Flange, Join, ReturnJoin};
use dropwise_shop::pattern::Base;

use super::super::context::At;
use super::flange::{BASE, ReadFlange};
use super::settings::{Settings, join, relief};
use crate::job_file::nearest;
use crate::job_file::tree::shortened;
use crate::job_file::types::{CornerKeys, JoinWord};

/// Names of all faces of a part, the base first.
pub(super) fn face_names(part: &BentPart) -> Vec<String> {
    fn add(flanges: &[Flange], names: &mut Vec<String>) {
        for flange in flanges {
            names.push(flange.name.clone());
            add(&flange.flanges, names);
        }
    }
    let mut names = vec![part.base_name.clone()];
    add(&part.flanges, &mut names);
    names
}

/// The flange of a name.
pub(super) fn find_mut<'f>(flanges: &'f mut [Flange], name: &str) -> Option<&'f mut Flange> {
    for flange in flanges {
        if flange.name == name {
            return Some(flange);
        }
        if let Some(found) = find_mut(&mut flange.flanges, name) {
            return Some(found);
        }
    }
    None
}

/// Reports a face that the part does not have.
pub(super) fn unknown_face(at: &At<'_>, name: &str, known: &[String]) {
    let cure = match nearest(name, known.iter().map(String::as_str)) {
        Some(near) => format!("Did you mean \"{near}\"?"),
        None => format!("Its faces are {}", known.iter().map(|n| shortened(n)).collect::<Vec<_>>().join(", ")),
    };
    at.fault(format!("names the face \"{}\", which the part does not have", shortened(name)), cure);
}

/// Puts flanges where they are bent from; whether all found their place.
pub(super) fn attach(part: &mut BentPart, read: Vec<(At<'_>, String, Flange)>) -> bool {
    let mut known = face_names(part);
    let mut is_good = true;
    for (at, _, flange) in &read {
        for name in std::iter::once(&flange.name).chain(flange.flanges.iter().map(|run| &run.name)) {
            if known.contains(name) {
                let cure = "No two faces of a part share a name; the base is called \"base\"";
                at.key("name").fault(format!("\"{}\" is the name of another face", shortened(name)), cure);
                is_good = false;
            } else {
                known.push(name.clone());
            }
        }
    }
    // By name, and in their order under each: two faces of one name were refused.
    let mut waiting: HashMap<String, Vec<(At<'_>, Flange)>> = HashMap::new();
    for (at, on, flange) in read {
        if known.contains(&on) {
            waiting.entry(on).or_default().push((at, flange));
        } else {
            unknown_face(&at.key("on"), &on, &known);
            is_good = false;
        }
    }
    if !is_good {
        return false;
    }
    part.flanges.iter_mut().for_each(|flange| adopt(flange, &mut waiting));
    for (_, mut flange) in waiting.remove(BASE).unwrap_or_default() {
        adopt(&mut flange, &mut waiting);
        part.flanges.push(flange);
    }
    // Whoever still waits is bent from somebody who waits too. Told in the order of the file.
    let mut left: Vec<(At<'_>, String, String)> = waiting
        .into_iter()
        .flat_map(|(on, flanges)| flanges.into_iter().map(move |(at, flange)| (at, on.clone(), flange.name)))
        .collect();
    left.sort_by_key(|(at, ..)| at.place());
    for (at, on, name) in &left {
        at.key("on").fault(
            format!("face \"{name}\" is bent from face \"{on}\", and following that on never leads to the base"),
            "The faces run in a loop: bend one of them from \"base\", or from a face that is",
        );
    }
    left.is_empty()
}

fn adopt(flange: &mut Flange, waiting: &mut HashMap<String, Vec<(At<'_>, Flange)>>) {
    flange.flanges.iter_mut().for_each(|below| adopt(below, waiting));
    for (_, mut child) in waiting.remove(&flange.name).unwrap_or_default() {
        adopt(&mut child, waiting);
        flange.flanges.push(child);
    }
}

/// The dies of faces that were written down, by their names; an offset has two faces.
pub(super) fn dies_of(read: &[ReadFlange<'_>]) -> HashMap<String, Option<f64>> {
    let named = |one: &ReadFlange<'_>| {
        let run = one.flange.flanges.iter().map(|run| run.name.clone());
        std::iter::once(one.flange.name.clone()).chain(run).map(|name| (name, one.die)).collect::<Vec<_>>()
    };
    read.iter().flat_map(named).collect()
}

/// Which edge of which face each flange is bent from.
fn edges_of(part: &BentPart) -> HashMap<String, (String, Edge)> {
    fn add(parent: &str, flanges: &[Flange], edges: &mut HashMap<String, (String, Edge)>) {
        for flange in flanges {
            edges.insert(flange.name.clone(), (parent.to_owned(), flange.edge));
            add(&flange.name, &flange.flanges, edges);
        }
    }
    let mut edges = HashMap::new();
    add(&part.base_name, &part.flanges, &mut edges);
    edges
}

/// Applies a corner; whether that could be done.
pub(super) fn corner(at: &At<'_>, part: &mut BentPart, keys: &CornerKeys, settings: &Settings<'_>) -> bool {
    if let Some([one, two]) = between_returns(part, keys) {
        return return_corner(at, part, keys, settings, [one, two]);
    }
    read_corner(at, part, keys, settings).is_some_and(|(face, corner)| {
        let corners = match find_mut(&mut part.flanges, &face) {
            Some(flange) => &mut flange.corners,
            None => &mut part.corners,
        };
        if corners.iter().any(|known: &CornerJoin| known.edge == corner.edge) {
            at.key("between").fault("tells of a corner that was told before", "Keep one of them");
            return false;
        }
        corners.push(corner);
        true
    })
}

/// The two of a corner, if both are flanges of different flanges.
fn between_returns(part: &BentPart, keys: &CornerKeys) -> Option<[String; 2]> {
    let edges = edges_of(part);
    let [first, second] = keys.between.as_slice() else { return None };
    let (one, two) = (&edges.get(first)?.0, &edges.get(second)?.0);
    (one != two && *one != part.base_name && *two != part.base_name).then(|| [first.clone(), second.clone()])
}

/// Applies a corner between flanges of flanges; whether that could be done.
fn return_corner(
    at: &At<'_>,
    part: &mut BentPart,
    keys: &CornerKeys,
    settings: &Settings<'_>,
    between: [String; 2],
) -> bool {
    let Some(gap) = at.key("gap").optional(keys.gap.as_ref(), At::distance) else { return false };
    if keys.relief.is_some() {
        at.key("relief")
            .fault("stands at a corner without bends that meet", "Leave it out: returns meet with their ends");
        return false;
    }
    let by_second = match &keys.over {
        None => true,
        Some(over) if between.contains(over) => *over == between[1],
        Some(over) => {
            at.key("over").fault(
                format!("names \"{}\", which is not at this corner", shortened(over)),
                format!("Write \"{}\" or \"{}\"", between[0], between[1]),
            );
            return false;
        }
    };
    if keys.over.is_some() && keys.join != Some(JoinWord::Overlapped) {
        at.key("over").fault("stands without `join = \"overlapped\"`", "Only of two that overlap one runs on");
        return false;
    }
    let is_known = |known: &ReturnJoin| between.iter().all(|name| known.between.contains(name));
    if part.return_joins.iter().any(is_known) {
        at.key("between").fault("tells of a corner that was told before", "Keep one of them");
        return false;
    }
    let join = match keys.join {
        Some(word) => join(word, gap.unwrap_or(0.0), by_second),
        None => settings.join.unwrap_or(Join::Open),
    };
    part.return_joins.push(ReturnJoin { between, join });
    true
}

fn read_corner(
    at: &At<'_>,
    part: &BentPart,
    keys: &CornerKeys,
    settings: &Settings<'_>,
) -> Option<(String, CornerJoin)> {
    let edges = edges_of(part);
    let gap = at.key("gap").optional(keys.gap.as_ref(), At::distance);
    let relief = match &keys.relief {
        None => Some(None),
        Some(keys) => relief(&at.key("relief"), keys).map(Some),
    };
    let between_at = at.key("between");
    // The structure check has seen to it that there are two.
    let [first, second] = keys.between.as_slice() else { return None };
    let known: Vec<String> = face_names(part).into_iter().skip(1).collect();
    let find = |index: usize, name: &String| {
        let found = edges.get(name);
        if found.is_none() {
            unknown_face(&between_at.index(index), name, &known);
        }
        found
    };
    let (one, two) = (find(0, first), find(1, second));
    let ((parent, one), (other_parent, two)) = (one?, two?);
    let meet = if parent == other_parent { neighbours(part, parent, *one, *two) } else { None };
    let Some(is_second_after) = meet else {
        between_at.fault(
            format!("names \"{}\" and \"{}\", which meet at no corner", shortened(first), shortened(second)),
            "Name two flanges on neighbouring edges of one face. On a base that is no rectangle, tell both edges by number",
        );
        return None;
    };
    let (before, after) = if is_second_after { (first, second) } else { (second, first) };
    let by_second = match &keys.over {
        None => true,
        Some(over) if over == after || over == before => over == after,
        Some(over) => {
            at.key("over").fault(
                format!("names \"{}\", which is not at this corner", shortened(over)),
                format!("Write \"{before}\" or \"{after}\""),
            );
            return None;
        }
    };
    if keys.over.is_some() && keys.join != Some(JoinWord::Overlapped) {
        at.key("over").fault("stands without `join = \"overlapped\"`", "Only of two that overlap one runs on");
        return None;
    }
    let join = match keys.join {
        Some(word) => join(word, gap?.unwrap_or(0.0), by_second),
        None => settings.join.unwrap_or(Join::Open),
    };
    let edge = if is_second_after { *two } else { *one };
    Some((parent.clone(), CornerJoin { edge, join, relief: relief? }))
}

/// Whether two edges of a face meet at a corner, and if so whether the second follows the first counter-clockwise.
fn neighbours(part: &BentPart, face: &str, one: Edge, two: Edge) -> Option<bool> {
    let word = |edge: Edge| match edge {
        Edge::Bottom => Some(0),
        Edge::Right => Some(1),
        Edge::Top => Some(2),
        Edge::Left => Some(3),
        Edge::Side(_) => None,
    };
    let is_base = face == part.base_name;
    let (count, is_clockwise, is_rectangle) = match &part.base {
        _ if !is_base => (4, false, true),
        BaseFace::Shape(shape) => (shape.exterior().vertices().len(), false, false),
        BaseFace::Pattern(pattern) => {
            let points: Vec<_> = pattern.base.corners()?.iter().map(|corner| corner.point).collect();
            let is_clockwise = Outline::polygon(points.iter().copied()).signed_area() < 0.0;
            (points.len(), is_clockwise, matches!(pattern.base, Base::Rectangle { .. }))
        }
    };
    let number = |edge: Edge| match edge {
        Edge::Side(number) => Some(number),
        // Only of a rectangle do words and numbers mean the same sides.
        other => word(other).filter(|_| is_rectangle),
    };
    let (one, two) = (number(one)?, number(two)?);
    if count < 3 {
        None
    } else if (one + 1) % count == two {
        Some(!is_clockwise)
    } else if (two + 1) % count == one {
        Some(is_clockwise)
    } else {
        None
    }
}
