//! Notches and inside corners of a face near a bend of it.

use dropwise_geometry::{Outline, Point, Segment};

use super::bent::feature;
use super::flat::SLACK;
use super::hems::away;
use super::{Amount, BentSubject, Finding, Severity, Subject};
use crate::fold::FlatBend;
use crate::source::Source;

/// Cut edges nearer to where the bend begins than this many thicknesses are pulled out of shape.
const NEAR: f64 = 2.0;
const NEAR_SOURCE: Source = Source::confirmed("Sheet Metal Design Guide");
/// A guide's distance of a notch square to a bend: so many thicknesses and the inside radius.
const ADVISED: f64 = 3.0;
const ADVISED_SOURCE: Source = Source::from_memory("Sheet metal design guidelines: notch to bend");

/// A point this near to the line where the bend begins belongs to the end of the bend itself, mm.
const AT_THE_BEND: f64 = 0.01;

pub(super) fn check(subject: &Subject<'_>, bends: &BentSubject<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for bend in &bends.unfolding.bends {
        let sides = [(bend.parent, bend.start, -away(bend)), (bend.face, bend.end, away(bend))];
        let near = sides.into_iter().flat_map(|(face, line, into)| {
            let outline = bends.unfolding.faces[face].region.exterior();
            bottoms(outline).into_iter().filter_map(move |point| distance(point, line, into).map(|far| (far, point)))
        });
        if let Some((found, at)) = near.min_by(|a, b| a.0.total_cmp(&b.0)) {
            findings.extend(told(subject, bends, bend, found, at));
        }
    }
    findings
}

/// How far a point lies from the line of a bend into a face, if it lies beside the bend.
fn distance(point: Point, line: [Point; 2], into: dropwise_geometry::Vector) -> Option<f64> {
    let (along, far) = (line[1] - line[0], into.dot(point - line[0]));
    let share = along.dot(point - line[0]) / along.dot(along);
    ((SLACK..=1.0 - SLACK).contains(&share) && far > AT_THE_BEND).then_some(far)
}

fn told(subject: &Subject<'_>, bends: &BentSubject<'_>, bend: &FlatBend, found: f64, at: Point) -> Option<Finding> {
    let thickness = subject.thickness;
    let (least, advised) = (NEAR * thickness, ADVISED * thickness + bend.figures.bend.radius());
    let (severity, wanted, source) = if found < least - SLACK {
        (Severity::Warn, least, NEAR_SOURCE)
    } else if found < advised - SLACK {
        (Severity::Note, advised, ADVISED_SOURCE)
    } else {
        return None;
    };
    Some(Finding {
        severity,
        rule: "notch to bend",
        feature: "the bottom of a notch or an inside corner of the outline".to_owned(),
        at: Some(at),
        found: Some(Amount::Length(found)),
        wanted: Some(Amount::Length(wanted)),
        problem: format!("is near to {} and may be pulled out of shape", feature(bends, bend)),
        cure: "End the notch further away, or cut it right through the bend as a relief".to_owned(),
        source,
    })
}

/// Where an outline turns into the metal: inside corners, and points of curves that bulge into it.
fn bottoms(outline: &Outline) -> Vec<Point> {
    const STEPS: u32 = 8;
    let mut points = super::corners::sharp_corners(outline);
    let sides: Vec<Segment> = outline.segments().filter(|side| side.length() > SLACK).collect();
    for side in &sides {
        if let Segment::Arc { arc, .. } = side
            && arc.sweep < 0.0
        {
            points.extend((0..=STEPS).map(|step| side.at(f64::from(step) / f64::from(STEPS))));
        }
    }
    points
}
