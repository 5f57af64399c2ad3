//! Joins between flanges of flanges: feet and returns that meet in one plane over a corner.
//!
//! Where two such flanges meet is known only when the part is bent up. So it is laid flat without their joins, folded, and
//! the two are looked at in the plane that they share: their root lines, where their bends end, meet in a point P. With φ
//! the angle between the roots as seen from P, the line that halves the corner runs at φ/2 to both. A point of one flange, s
//! from P along its root and t into the flange, is on its own side of that line when s ≥ t / tan(φ/2). Elementary geometry.

use dropwise_geometry::{Point, Vector};

use crate::bend::{Bend, Development};

use super::error::{BentError, BentErrors};
use super::flat::Unfolding;
use super::folded::Folded;
use super::part::{BentPart, EndCut, Flange, Join};
use super::solid::Kinship;
use super::unfold::lay_flat;

/// A join between two flanges of flanges.
#[derive(Clone, Debug, PartialEq)]
pub struct ReturnJoin {
    /// The two, by name.
    pub between: [String; 2],
    /// How they meet. Of an overlap, `by_second` means the second of the two.
    pub join: Join,
}

/// Planes whose normals differ by less than this sine, and levels that differ by less, mm, are one.
const SAME_PLANE: f64 = 1e-6;

/// The part with the ends of its returns cut as their joins ask; `None` where no join does.
///
/// # Errors
/// As laying the part flat; and [`BentError::NoReturnCorner`] for two that meet in no plane.
pub(super) fn joined(
    part: &BentPart,
    development: &dyn Fn(&Bend) -> Development,
) -> Result<Option<BentPart>, BentErrors> {
    let of_part = part.join_returns.filter(|join| *join != Join::Open);
    if part.return_joins.is_empty() && of_part.is_none() {
        return Ok(None);
    }
    let flat = lay_flat(part, development)?;
    let folded = flat.fold();
    let mut wanted: Vec<([usize; 2], Join)> = Vec::new();
    let mut errors = Vec::new();
    for told in &part.return_joins {
        let [one, two] = [&told.between[0], &told.between[1]].map(|name| flat.face(name));
        match one.zip(two).filter(|&(one, two)| corner(&flat, &folded, [one, two]).is_some()) {
            Some((one, two)) => wanted.push(([one, two], told.join)),
            None => {
                let [face, other] = told.between.clone();
                errors.push(BentError::NoReturnCorner { face, other });
            }
        }
    }
    if !errors.is_empty() {
        return Err(BentErrors(errors));
    }
    if let Some(join) = of_part {
        // The part's join is for those that would lie in one another.
        for overlap in flat.self_overlaps().iter().filter(|overlap| overlap.kinship == Kinship::Returns) {
            let pair = [overlap.face, overlap.other];
            let is_told = wanted.iter().any(|(known, _)| known.contains(&pair[0]) && known.contains(&pair[1]));
            if !is_told && corner(&flat, &folded, pair).is_some() {
                wanted.push((pair, join));
            }
        }
    }
    let mut joined = part.clone();
    for (pair, join) in wanted {
        let Some(sides) = corner(&flat, &folded, pair) else { continue };
        for (which, side) in sides.iter().enumerate() {
            let Some(cut) = side.cut(&sides[1 - which], join, which == 1) else { continue };
            let name = &flat.faces[pair[which]].name;
            // An end cut by hand overrules.
            if let Some(flange) = find_mut(&mut joined.flanges, name) {
                flange.ends[side.end].get_or_insert(cut);
            }
        }
    }
    Ok(Some(joined))
}

/// One of two flanges at the corner that they share.
#[derive(Clone, Copy, Debug)]
struct AtCorner {
    /// Which of its ends lies there: 0 where the parent's edge starts.
    end: usize,
    /// How far from P that end lies along the root; negative beyond P.
    reach: f64,
    /// From the root to the free edge.
    depth: f64,
    /// The angle between the two roots.
    angle: f64,
}

impl AtCorner {
    /// How the end is to be cut; `None` where it can stay.
    fn cut(&self, other: &Self, join: Join, is_second: bool) -> Option<EndCut> {
        let (half, whole) = (self.angle / 2.0, self.angle);
        let apart = |gap: f64| gap / 2.0 / half.sin();
        let (from, slant) = match join {
            Join::Open => return None,
            Join::Mitred { gap } => (apart(gap), 90.0 - half.to_degrees()),
            Join::Butted { gap } => (apart(gap) + (self.depth / half.tan()).max(0.0), 0.0),
            Join::Overlapped { by_second, .. } if by_second == is_second => return None,
            Join::Overlapped { gap, .. } => {
                let at = |t: f64| (other.depth + gap + t * whole.cos()) / whole.sin();
                (at(0.0).max(at(self.depth)), 0.0)
            }
        };
        Some(EndCut { set_back: (from - self.reach).max(0.0), slant_deg: slant })
    }
}

/// Whether two flanges of flanges meet at a corner in one plane.
pub(super) fn meet(flat: &Unfolding, folded: &Folded, pair: [usize; 2]) -> bool {
    corner(flat, folded, pair).is_some()
}

/// Two flanges at the corner where their roots meet, seen in their common plane; `None` unless they lie in one plane, turned
/// into the corner.
fn corner(flat: &Unfolding, folded: &Folded, pair: [usize; 2]) -> Option<[AtCorner; 2]> {
    let frame = folded.faces[pair[0]];
    let other = folded.faces[pair[1]];
    if frame.up.cross(other.up).length() > SAME_PLANE {
        return None;
    }
    // In the frame of the first: its root and the other's, on the lower skin of the sheet or the upper.
    let seen = |face: usize, point: Point, height: f64| {
        let from = folded.faces[face].at(point, height) - frame.origin;
        (Point::new(from.dot(frame.x_axis), from.dot(frame.y_axis)), from.dot(frame.up))
    };
    let level = |face: usize| {
        let end = flat.bend_of(face).map(|bend| bend.end[0])?;
        let heights = [0.0, flat.thickness].map(|height| seen(face, end, height).1);
        Some((heights[0] + heights[1]) / 2.0)
    };
    if (level(pair[0])? - level(pair[1])?).abs() > flat.thickness * SAME_PLANE.sqrt() {
        return None;
    }
    let roots = [root(flat, pair[0], &seen)?, root(flat, pair[1], &seen)?];
    let at = meeting(roots[0].0, roots[1].0)?;
    let away = roots.map(|(ends, _)| (ends[0].lerp(ends[1], 0.5) - at).unit());
    let away = [away[0]?, away[1]?];
    let into = roots.map(|(_, into)| into);
    // Both turn into the corner: each towards the other's root.
    if into[0].dot(away[1]) <= 0.0 || into[1].dot(away[0]) <= 0.0 {
        return None;
    }
    let angle = away[0].dot(away[1]).clamp(-1.0, 1.0).acos();
    let of = |which: usize| {
        let (ends, _) = roots[which];
        let reach = ends.map(|end| (end - at).dot(away[which]));
        let end = usize::from(reach[1] < reach[0]);
        let face = &flat.faces[pair[which]];
        let bend = flat.bend_of(pair[which])?;
        Some(AtCorner { end, reach: reach[end], depth: face.told_size.1 - bend.own_taken, angle })
    };
    Some([of(0)?, of(1)?])
}

/// The ends of a flange's root in the common plane, and the direction from there into the flange.
fn root(
    flat: &Unfolding,
    face: usize,
    seen: &dyn Fn(usize, Point, f64) -> (Point, f64),
) -> Option<([Point; 2], Vector)> {
    let bend = flat.bend_of(face)?;
    let ends = bend.end.map(|end| seen(face, end, 0.0).0);
    let away = (bend.end[0] - bend.start[0]).unit()?;
    let into = (seen(face, bend.end[0] + away, 0.0).0 - ends[0]).unit()?;
    Some((ends, into))
}

/// Where two lines meet.
fn meeting(one: [Point; 2], other: [Point; 2]) -> Option<Point> {
    let (along, across) = ((one[1] - one[0]).unit()?, (other[1] - other[0]).unit()?);
    let sine = along.cross(across);
    (sine.abs() > 1e-6).then(|| one[0] + along * ((other[0] - one[0]).cross(across) / sine))
}

fn find_mut<'f>(flanges: &'f mut [Flange], name: &str) -> Option<&'f mut Flange> {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bend::KFactor;
    use crate::fold::{Edge, tray, unfold};
    use crate::pattern::{Base, Corner, Pattern, PolygonCorner};

    fn flat(part: &BentPart) -> Result<Unfolding, BentErrors> {
        let k = KFactor::given(0.4).unwrap();
        unfold(part, &|_| Development::KFactor(k.clone()))
    }

    /// A tray 40 high of 2 mm over a radius of 2 whose walls end in returns of 18.
    fn returned(join: Option<Join>) -> BentPart {
        let mut part = tray(300.0, 200.0, 40.0, 2.0, 2.0);
        for wall in &mut part.flanges {
            wall.flanges.push(Flange::new(&format!("{} r", wall.name), Edge::Top, 18.0));
        }
        BentPart { join_returns: join, ..part }
    }

    /// By hand: a return is 18 - 4 = 14 from its root to its edge. A mitre takes a triangle of 14 by 14 off each of eight ends,
    /// a butt a square of 14, and of two that overlap one loses the square.
    #[test]
    fn joins_of_returns_take_what_they_should() {
        let whole = flat(&returned(None)).unwrap();
        let root = |flat: &Unfolding, name: &str| flat.bend_of(flat.face(name).unwrap()).unwrap().length();
        for (join, taken) in [
            (Join::Mitred { gap: 0.0 }, 8.0 * 14.0 * 14.0 / 2.0),
            // The bend is as much shorter as the return: its zone goes with the square.
            (Join::Butted { gap: 0.0 }, 8.0 * 14.0 * 14.0),
            (Join::Overlapped { by_second: true, gap: 0.0 }, 4.0 * 14.0 * 14.0),
        ] {
            let joined = flat(&returned(Some(join))).unwrap();
            assert_eq!(joined.self_overlaps(), Vec::new(), "{join:?}");
            let faces = |flat: &Unfolding| -> f64 {
                flat.faces.iter().filter(|face| face.name.ends_with(" r")).map(|face| face.region.area()).sum()
            };
            assert!((faces(&whole) - faces(&joined) - taken).abs() < 1e-6, "{join:?}");
        }
        let mitred = flat(&returned(Some(Join::Mitred { gap: 0.0 }))).unwrap();
        assert!((root(&mitred, "front r") - root(&whole, "front r")).abs() < 1e-9);
    }

    /// A gap is measured square to the cut: the ends of a mitred return lie gap/2 off the halving line.
    #[test]
    fn a_gap_stays_between_mitred_returns() {
        let closed = flat(&returned(Some(Join::Mitred { gap: 0.0 }))).unwrap();
        let open = flat(&returned(Some(Join::Mitred { gap: 1.0 }))).unwrap();
        let long = |flat: &Unfolding| {
            let face = &flat.faces[flat.face("front r").unwrap()];
            face.region.area() / 14.0
        };
        // Two ends, each set back by half the gap over sin 45°.
        assert!((long(&closed) - long(&open) - 2.0 * 0.5 * 2_f64.sqrt()).abs() < 1e-6);
    }

    /// Six walls with returns: mitred at 120° between the roots, so that each end slants by 30°.
    #[test]
    fn returns_of_a_hexagon_are_mitred() {
        let corners = (0..6).map(|k| {
            let (sin, cos) = (60.0 * f64::from(k)).to_radians().sin_cos();
            PolygonCorner::new(120.0 * cos, 120.0 * sin, Corner::Sharp)
        });
        let mut part = BentPart::new(1.5, 1.5, Pattern::plain(Base::Polygon { corners: corners.collect() }));
        for side in 0..6 {
            let wall = Flange::new(&format!("wall {side}"), Edge::Side(side), 30.0);
            part = part.with(wall.with(Flange::new(&format!("return {side}"), Edge::Top, 15.0)));
        }
        let plain = flat(&part).unwrap();
        assert_eq!(plain.self_overlaps().len(), 6);
        let mitred = flat(&BentPart { join_returns: Some(Join::Mitred { gap: 0.0 }), ..part }).unwrap();
        assert_eq!(mitred.self_overlaps(), Vec::new());
        let face = &mitred.faces[mitred.face("return 0").unwrap()];
        let sizes: Vec<f64> = face.region.exterior().segments().map(|side| side.length()).collect();
        let straight = 15.0 - 3.0;
        let (long, short) = sizes.iter().fold((0.0_f64, f64::INFINITY), |(a, b), &l| (a.max(l), b.min(l)));
        let free = long - 2.0 * straight * 30_f64.to_radians().tan();
        assert!(sizes.iter().any(|size| (size - free).abs() < 1e-6), "{sizes:?}");
        assert!(short > 1.0);
    }

    #[test]
    fn returns_that_do_not_meet_cannot_be_joined() {
        let mut part = returned(None);
        let between = ["front r".to_owned(), "back r".to_owned()];
        part.return_joins = vec![ReturnJoin { between, join: Join::Mitred { gap: 0.0 } }];
        let errors = flat(&part).unwrap_err();
        assert!(errors.to_string().contains("\"front r\" and \"back r\" meet at no corner in one plane"), "{errors}");
    }
}
