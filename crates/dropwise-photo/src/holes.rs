//! Holes and slots within a thing.

use std::f64::consts::TAU;

use dropwise_geometry::{Outline, Point, Vector};

use crate::edges::{EdgePoint, Scene, Search, Station, trace};
use crate::fit::{Form, as_circle, circle_through, outline, pieces};
use crate::reading::{Hole, HoleForm};
use crate::regions::Spot;

/// Smallest hole that is looked for, mm across.
pub(crate) const LEAST_DIAMETER: f64 = 4.0;
/// Contrast of an edge, in standard deviations of the grain, from which it is taken for one.
const LEAST_CONTRAST: f64 = 2.0;

/// The hole at a spot, if there is one.
pub(crate) fn hole_at(scene: &Scene<'_>, spot: &Spot) -> Option<Hole> {
    let z = scene.thickness;
    let center = scene.view.on_plane(spot.center, z)?;
    let scale = scene.millimetres_per_pixel(center);
    let [long, short] = spot.axes.map(|a| a * scale);
    // The shadow side of a hole may be all that stood out, so a crescent may be a round hole too.
    let round = (long < 60.0).then(|| round_hole(scene, center, long.max(short))).flatten();
    if round.is_some() && long < 2.2 * short {
        return round;
    }
    ring_hole(scene, &spot.border).or(round)
}

/// Looks for a circle around a place.
fn round_hole(scene: &Scene<'_>, center: Point, radius: f64) -> Option<Hole> {
    let (mut center, mut radius) = (center, radius.max(LEAST_DIAMETER / 2.0));
    let mut points: Vec<EdgePoint> = Vec::new();
    for round in 0..3 {
        let reach = [(5.0_f64).max(0.7 * radius), 3.0, 2.0][round].min(8.0);
        let search = Search {
            inwards: reach + 4.0,
            outwards: (0.9 * radius).min(reach + 1.5),
            half_length: (0.3 * radius).min(1.5),
            stiffness: [2.0, 4.0, 4.0][round],
        };
        let count = ((TAU * radius / 0.8) as usize).clamp(24, 400);
        let found = trace(scene, &circle_stations(center, radius, count), &search, true);
        points = found.into_iter().flatten().collect();
        if points.len() * 10 < count * 7 {
            return None;
        }
        let mean = points.iter().fold((0.0, 0.0), |(x, y), p| (x + p.at.x, y + p.at.y));
        let start = Point::new(mean.0 / points.len() as f64, mean.1 / points.len() as f64);
        (center, radius) = circle_through(&points, start, radius);
        if !(radius > LEAST_DIAMETER / 2.0 - 0.6 && radius < 400.0) {
            return None;
        }
    }
    let clear = points.iter().filter(|p| p.contrast > LEAST_CONTRAST).count();
    let (center, radius, rms) = as_circle(&points)?;
    if clear * 10 < points.len() * 6 || 2.0 * radius < LEAST_DIAMETER {
        return None;
    }
    let sigma = rms.max(0.05) / (points.len() as f64 / 6.0).sqrt().max(1.0);
    Some(Hole {
        outline: Outline::circle(center, radius),
        form: HoleForm::Round { center, diameter: 2.0 * radius },
        sigma,
        number: 0,
        deviation: rms,
    })
}

fn circle_stations(center: Point, radius: f64, count: usize) -> Vec<Station> {
    (0..count)
        .map(|k| {
            let away = Vector::from_angle(TAU * k as f64 / count as f64);
            Station { at: center + away * radius, outward: away * -1.0 }
        })
        .collect()
}

/// Follows the border of a spot of any form.
fn ring_hole(scene: &Scene<'_>, border: &[[f64; 2]]) -> Option<Hole> {
    let ring: Vec<Point> = border.iter().filter_map(|p| scene.view.on_plane(*p, scene.thickness)).collect();
    let mut stations = crate::reading::stations_of(&ring, 1.0, true)?;
    let mut points: Vec<EdgePoint> = Vec::new();
    for round in 0..3 {
        let search = Search {
            inwards: [8.0, 6.0, 5.0][round],
            outwards: [4.0, 3.0, 2.5][round],
            half_length: [0.8, 1.5, 1.5][round],
            stiffness: [1.5, 3.0, 5.0][round],
        };
        let found = trace(scene, &stations, &search, true);
        points = found.into_iter().flatten().collect();
        if points.len() < 10 || points.len() * 10 < stations.len() * 7 {
            return None;
        }
        if round < 2 {
            let cut = pieces(&points);
            stations = match cut.len() {
                0 | 1 => crate::reading::stations_of(&points.iter().map(|p| p.at).collect::<Vec<_>>(), 0.8, true)?,
                _ => crate::reading::stations_along(&outline(&cut, &points), 0.8, false),
            };
        }
    }
    let clear = points.iter().filter(|p| p.contrast > LEAST_CONTRAST).count();
    if clear * 10 < points.len() * 7 {
        return None;
    }
    if let Some((center, radius, rms)) = as_circle(&points) {
        let form = HoleForm::Round { center, diameter: 2.0 * radius };
        let sigma = rms.max(0.05) / (points.len() as f64 / 6.0).sqrt().max(1.0);
        return (2.0 * radius > LEAST_DIAMETER).then(|| Hole {
            outline: Outline::circle(center, radius),
            form,
            sigma,
            number: 0,
            deviation: rms,
        });
    }
    let cut = pieces(&points);
    if cut.len() < 2 || cut.len() > 24 {
        return None;
    }
    let deviation = cut.iter().map(|p| p.deviation).fold(0.0, f64::max);
    let drawn = outline(&cut, &points);
    let sigma = cut.iter().map(|p| p.sigma).fold(0.0, f64::max);
    let area = drawn.area();
    if area < 0.78 * LEAST_DIAMETER * LEAST_DIAMETER || deviation > 1.5 {
        return None;
    }
    let form = slot_of(&cut.iter().map(|p| p.form).collect::<Vec<_>>(), &drawn).unwrap_or(HoleForm::Other);
    // Of a form that nobody named, less is known than its edge tells.
    let sigma = if form == HoleForm::Other { sigma.hypot(deviation).hypot(0.4) } else { sigma };
    let drawn = match &form {
        HoleForm::Slot { from, to, width } => slot_outline(*from, *to, *width),
        _ => drawn,
    };
    Some(Hole { outline: drawn, form, sigma, number: 0, deviation })
}

/// Two parallel sides with a half circle at each end.
fn slot_of(forms: &[Form], drawn: &Outline) -> Option<HoleForm> {
    let arcs: Vec<(Point, f64)> = forms
        .iter()
        .filter_map(|form| match form {
            Form::Arc { center, radius, .. } => Some((*center, *radius)),
            Form::Line { .. } => None,
        })
        .collect();
    let lines: Vec<(Point, Vector)> = forms
        .iter()
        .filter_map(|form| match form {
            Form::Line { at, along } => Some((*at, *along)),
            Form::Arc { .. } => None,
        })
        .collect();
    let (&[(a, r), (b, s)], &[(p, u), (q, v)]) = (arcs.as_slice(), lines.as_slice()) else { return None };
    let width = u.cross(q - p).abs();
    let is_slot = u.cross(v).abs() < 0.05 && (r - s).abs() < 0.6 && (r + s - width).abs() < 0.8;
    if !is_slot {
        return None;
    }
    // The ends of the middle line, from what is best known: the sides give its width, the arcs its ends.
    let middle = p.lerp(q, 0.5);
    let on_axis = |c: Point| middle + u * u.dot(c - middle);
    let (mut from, mut to) = (on_axis(a), on_axis(b));
    let along = (to - from).unit()?;
    (from, to) = (from + along * (width / 2.0 - r), to - along * (width / 2.0 - s));
    let drawn_area = drawn.area();
    let made = slot_outline(from, to, width);
    ((made.area() - drawn_area).abs() < 0.1 * drawn_area).then_some(HoleForm::Slot { from, to, width })
}

fn slot_outline(from: Point, to: Point, width: f64) -> Outline {
    use dropwise_geometry::Vertex;
    let along = (to - from).unit().unwrap_or(Vector::new(1.0, 0.0));
    let side = along.left() * (width / 2.0);
    Outline::new(vec![
        Vertex::line(from - side),
        Vertex::arc(to - side, 1.0),
        Vertex::line(to + side),
        Vertex::arc(from + side, 1.0),
    ])
}
