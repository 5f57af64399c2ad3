//! From photographs to an outline: everything in order.

use dropwise_geometry::{Bounds, Outline, Point, Segment, Shape, Vector, Vertex};

use crate::accuracy::{Doubts, Place, deviations};
use crate::camera::View;
use crate::decode::Photograph;
use crate::edges::{EdgePoint, Scene, Search, Station, look_at_wall, trace};
use crate::error::PhotoError;
use crate::fit::{Form, Piece, as_circle, outline, pieces};
use crate::holes::{LEAST_DIAMETER, hole_at};
use crate::locate::{Located, locate};
use crate::looks::Looks;
use crate::regions::{MarkColour, Spot, borders, marked_areas, strange_spots};
use crate::segment::{Hints, Segmentation, segment};
use crate::sheet::{RULED_SQUARE, ScaleSheet};
use crate::square::square_up;

/// What is known beside the photographs.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Thickness of the thing, mm: its upper face lies so high above the sheet.
    pub thickness: f64,
    /// Side of the ruled square as measured on the print, mm.
    pub printed_square: Option<f64>,
    /// Points on the thing and off it, in pixels of the first photograph.
    pub hints: Hints,
    /// Lengths known beforehand.
    pub known: Vec<Known>,
    /// Names of decisions not to be taken.
    pub as_found: Vec<String>,
    /// Colours of marks around damage.
    pub damage: Vec<MarkColour>,
}

impl Settings {
    /// For a thing of this thickness, mm.
    #[must_use]
    pub fn new(thickness: f64) -> Self {
        Self {
            thickness,
            printed_square: None,
            hints: Hints::default(),
            known: Vec::new(),
            as_found: Vec::new(),
            damage: Vec::new(),
        }
    }
}

/// A length that is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// Of what.
    pub what: Measure,
    /// How long it is, mm.
    pub length: f64,
}

/// Something of a reading that has a length. Numbers count from 1, as in the picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Measure {
    /// The greatest extent, as laid in the result, to the right.
    Width,
    /// Likewise upwards.
    Height,
    /// A straight side.
    Side(usize),
    /// A hole's diameter, or a slot's width.
    Hole(usize),
    /// From the middle of one hole to that of another.
    Holes(usize, usize),
}

/// A hole.
#[derive(Clone, Debug, PartialEq)]
pub struct Hole {
    /// Counted from 1, left to right.
    pub number: usize,
    /// Its outline.
    pub outline: Outline,
    /// What it is.
    pub form: HoleForm,
    /// Standard deviation of its centre and radius from the edge alone, mm.
    pub sigma: f64,
    /// Root mean square distance of what was found from what is drawn, mm.
    pub deviation: f64,
}

/// What kind of hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HoleForm {
    /// Drilled or punched round.
    Round {
        /// Its middle.
        center: Point,
        /// Its diameter, mm.
        diameter: f64,
    },
    /// A slot with round ends.
    Slot {
        /// Middle of one end's arc.
        from: Point,
        /// Middle of the other's.
        to: Point,
        /// Its width, mm.
        width: f64,
    },
    /// Any other.
    Other,
}

/// Something that was decided and can be taken back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Decision {
    /// Its name, for [`Settings::as_found`].
    pub name: String,
    /// What was decided, and how far that is from what was found.
    pub text: String,
}

/// How accurate a reading is, mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Accuracy {
    /// Root mean square error of the outline to be expected.
    pub outline_rms: f64,
    /// No place of the outline should be farther off: two standard deviations where it is worst.
    pub outline_worst: f64,
    /// The same for centres of holes.
    pub hole_centers: f64,
    /// The same for diameters.
    pub hole_diameters: f64,
}

/// Holes that form a pattern.
#[derive(Clone, Debug, PartialEq)]
pub struct Pattern {
    /// What it is, with its sizes.
    pub text: String,
    /// The numbers of its holes.
    pub holes: Vec<usize>,
}

/// What was read from photographs. Millimetres; the thing lies with its longest straight side level, its lower left
/// corner at the origin, face up.
#[derive(Clone, Debug)]
pub struct Reading {
    /// The outline, counter-clockwise.
    pub outline: Outline,
    /// The holes in it.
    pub holes: Vec<Hole>,
    /// Areas marked as damage.
    pub damage: Vec<Outline>,
    /// Patterns of holes.
    pub patterns: Vec<Pattern>,
    /// What was decided.
    pub decisions: Vec<Decision>,
    /// What else is worth knowing.
    pub notes: Vec<String>,
    /// How accurate it is.
    pub accuracy: Accuracy,
    /// Places along the outline with the standard deviation at each, mm.
    pub strip: Vec<(Point, f64)>,
    /// Millimetres a pixel spans, about.
    pub millimetres_per_pixel: f64,
    /// Tilt of the first camera, degrees.
    pub tilt_deg: f64,
    /// Pages that were found.
    pub sheets: Vec<ScaleSheet>,
    /// Crossings used, and what the fit leaves over, pixels.
    pub crossings: (usize, f64),
    /// Height of the face, mm.
    pub thickness: f64,
    /// From the result to the ground of the first page: turn in radians, then shift.
    pub(crate) placement: Placement,
    pub(crate) view: View,
}

/// A turn and a shift, and a stretch before both.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Placement {
    pub(crate) turn: f64,
    pub(crate) shift: Vector,
    pub(crate) stretch: f64,
}

impl Placement {
    fn of(at: Point, placement: &Self) -> Point {
        let (sin, cos) = placement.turn.sin_cos();
        let (x, y) = (at.x * placement.stretch, at.y * placement.stretch);
        Point::new(cos * x - sin * y + placement.shift.x, sin * x + cos * y + placement.shift.y)
    }

    /// From the ground to the result.
    pub(crate) fn to_result(self, at: Point) -> Point {
        Self::of(at, &self)
    }

    /// From the result to the ground.
    pub(crate) fn to_ground(self, at: Point) -> Point {
        let (sin, cos) = self.turn.sin_cos();
        let d = at.to_vector() - self.shift;
        Point::new((cos * d.x + sin * d.y) / self.stretch, (-sin * d.x + cos * d.y) / self.stretch)
    }
}

impl Reading {
    /// The thing as a shape.
    #[must_use]
    pub fn shape(&self) -> Shape {
        Shape::new(self.outline.clone(), self.holes.iter().map(|hole| hole.outline.clone()).collect())
    }

    /// Where a point of the result lies on the ground, mm in the frame of the first page that was found: x to the right and y up
    /// from the lower left corner of its paper.
    #[must_use]
    pub fn on_ground(&self, at: Point) -> Point {
        self.placement.to_ground(at)
    }

    /// Length of what is named, mm; `None` where there is no such thing.
    #[must_use]
    pub fn measured(&self, what: &Measure) -> Option<f64> {
        let hole = |number: usize| self.holes.iter().find(|hole| hole.number == number);
        let center = |hole: &Hole| match hole.form {
            HoleForm::Round { center, .. } => center,
            HoleForm::Slot { from, to, .. } => from.lerp(to, 0.5),
            HoleForm::Other => hole.outline.bounds().center(),
        };
        match *what {
            Measure::Width => Some(self.outline.bounds().width()),
            Measure::Height => Some(self.outline.bounds().height()),
            Measure::Side(number) => match self.outline.segments().nth(number.checked_sub(1)?)? {
                Segment::Line { start, end } => Some(start.distance(end)),
                Segment::Arc { .. } => None,
            },
            Measure::Hole(number) => match hole(number)?.form {
                HoleForm::Round { diameter, .. } => Some(diameter),
                HoleForm::Slot { width, .. } => Some(width),
                HoleForm::Other => None,
            },
            Measure::Holes(a, b) => Some(center(hole(a)?).distance(center(hole(b)?))),
        }
    }
}

/// Reads photographs of one thing beside the same sheets. All but the first only make the result more accurate.
///
/// # Errors
/// [`PhotoError`], each with what to do when photographing again.
pub fn read(photographs: &[Photograph], settings: &Settings) -> Result<Reading, PhotoError> {
    check(photographs, settings)?;
    let stretch = settings.printed_square.map_or(1.0, |side| side / RULED_SQUARE);
    let located = locate(photographs, stretch)?;
    let mut notes = Vec::new();
    let mut segmentations = Vec::new();
    for (index, photograph) in photographs.iter().enumerate() {
        let hints = if index == 0 { settings.hints.clone() } else { Hints::default() };
        match told_apart(photograph, &located, index, stretch, &hints) {
            Ok(found) => segmentations.push(Some(found)),
            Err(error) if index == 0 => return Err(error),
            Err(error) => {
                notes.push(format!("photograph {} only helped to find the cameras: {error}", index + 1));
                segmentations.push(None);
            }
        }
    }
    let mut scenes: Vec<Scene<'_>> = segmentations
        .iter()
        .enumerate()
        .filter_map(|(index, segmentation)| {
            Some(Scene {
                pixels: &photographs[index].pixels,
                view: located.calibration.views[index],
                reference: &segmentation.as_ref()?.reference,
                blur: located.shots[index].blur,
                thickness: settings.thickness,
                wall: None,
            })
        })
        .collect();
    let first = segmentations[0].as_ref().ok_or(PhotoError::NoThing)?;
    let mut found = follow(&mut scenes, first)?;
    found.notes.append(&mut notes);
    finish(&scenes, photographs, &located, settings, first, found)
}

fn check(photographs: &[Photograph], settings: &Settings) -> Result<(), PhotoError> {
    let request = |text: &str| Err(PhotoError::Request(text.to_owned()));
    if photographs.is_empty() {
        return request("no photograph was given");
    }
    if !(0.0..=200.0).contains(&settings.thickness) {
        return request("the thickness is not from 0 to 200 mm");
    }
    if settings.printed_square.is_some_and(|side| !(0.9 * RULED_SQUARE..=1.1 * RULED_SQUARE).contains(&side)) {
        return request(
            "the ruled square is off by more than a tenth: print the sheet at 100 %, and measure its side again",
        );
    }
    Ok(())
}

/// Thing and ground of one photograph.
fn told_apart(
    photograph: &Photograph,
    located: &Located,
    index: usize,
    stretch: f64,
    hints: &Hints,
) -> Result<Segmentation, PhotoError> {
    let view = located.calibration.views[index];
    let pages: Vec<(ScaleSheet, [f64; 3])> =
        located.sheets.iter().copied().zip(located.calibration.pages.iter().copied()).collect();
    let within = |x: f64, y: f64, rim: f64| {
        let Some(at) = view.on_plane([x, y], 0.0) else { return false };
        pages.iter().any(|(sheet, [px, py, turn])| {
            let (sin, cos) = turn.sin_cos();
            let (dx, dy) = (at.x - px, at.y - py);
            let (u, v) = (cos * dx + sin * dy, -sin * dx + cos * dy);
            let size = sheet.paper.size() * stretch;
            u > -rim && v > -rim && u < size.x + rim && v < size.y + rim
        })
    };
    segment(&photograph.pixels, &|x, y| within(x, y, 2.0), &|x, y| within(x, y, 12.0), hints)
}

/// An outline that was followed, in millimetres on the ground of the first page.
struct Followed {
    points: Vec<EdgePoint>,
    pieces: Vec<Piece>,
    notes: Vec<String>,
}

fn follow(scenes: &mut [Scene<'_>], segmentation: &Segmentation) -> Result<Followed, PhotoError> {
    let scene = &scenes[0];
    let (border, _) = borders(segmentation);
    let ring: Vec<Point> = border.iter().filter_map(|p| scene.view.on_plane(*p, scene.thickness)).collect();
    let mut stations = stations_of(&ring, 1.0, false).ok_or(PhotoError::NoThing)?;
    let mut points = Vec::new();
    let mut cut = Vec::new();
    // Shadows reach out as far as the thing is thick, and more.
    let far = 5.0 + (1.0 * scene.thickness).min(12.0);
    for (inwards, outwards, half_length, stiffness) in
        [(far + 4.0, far, 2.0, 1.2), (6.0, 4.0, 1.5, 3.0), (5.0, 3.0, 2.0, 5.0)]
    {
        let search = Search { inwards, outwards, half_length, stiffness };
        let found = trace_all(scenes, &stations, &search);
        let seen = found.iter().flatten().count();
        if seen * 10 < stations.len() * 6 {
            return Err(PhotoError::NoThing);
        }
        points = found.into_iter().flatten().collect();
        cut = pieces(&points);
        stations = match cut.len() {
            0 | 1 => {
                stations_of(&points.iter().map(|p| p.at).collect::<Vec<_>>(), 1.0, false).ok_or(PhotoError::NoThing)?
            }
            _ => stations_along(&outline(&cut, &points), 1.0, true),
        };
        if stations.len() < 12 {
            return Err(PhotoError::NoThing);
        }
        for scene in scenes.iter_mut() {
            scene.wall = scene.wall.or_else(|| look_at_wall(scene, &points, &stations));
        }
    }
    Ok(Followed { points, pieces: cut, notes: Vec::new() })
}

/// Edges as all cameras see them: means, each by how sure it is.
fn trace_all(scenes: &[Scene<'_>], stations: &[Station], search: &Search) -> Vec<Option<EdgePoint>> {
    let mut result = trace(&scenes[0], stations, search, true);
    for scene in &scenes[1..] {
        for (station, (mine, other)) in stations.iter().zip(result.iter_mut().zip(trace(scene, stations, search, true)))
        {
            let Some(other) = other else { continue };
            let Some(point) = mine else {
                *mine = Some(other);
                continue;
            };
            let off = |p: &EdgePoint| station.outward.dot(p.at - station.at);
            let (a, b) = (off(point), off(&other));
            if (a - b).abs() > 4.0 * point.sigma.hypot(other.sigma) + 0.3 {
                // They saw different edges: the surer one stays, and both are doubted.
                let mut surer = if point.contrast >= other.contrast { *point } else { other };
                surer.sigma = surer.sigma.hypot(0.3 * (a - b));
                *point = surer;
                continue;
            }
            let (v, w) = (1.0 / point.sigma.powi(2), 1.0 / other.sigma.powi(2));
            point.at = station.at + station.outward * ((v * a + w * b) / (v + w));
            point.sigma = (1.0 / (v + w)).sqrt();
            point.contrast = point.contrast.max(other.contrast);
        }
    }
    result
}

/// Stations along a closed chain of points, evenly spaced and smoothed. For the border of a hole the thing lies outside.
pub(crate) fn stations_of(ring: &[Point], spacing: f64, is_hole: bool) -> Option<Vec<Station>> {
    if ring.len() < 4 {
        return None;
    }
    let perimeter: f64 = (0..ring.len()).map(|k| ring[k].distance(ring[(k + 1) % ring.len()])).sum();
    let count = (perimeter / spacing).round() as usize;
    if !(8..=20_000).contains(&count) {
        return None;
    }
    let step = perimeter / count as f64;
    let mut even = Vec::with_capacity(count);
    let (mut gone, mut next) = (0.0, 0.0);
    for k in 0..ring.len() {
        let (a, b) = (ring[k], ring[(k + 1) % ring.len()]);
        let length = a.distance(b);
        while next < gone + length && even.len() < count {
            even.push(a.lerp(b, if length > 0.0 { (next - gone) / length } else { 0.0 }));
            next += step;
        }
        gone += length;
    }
    let n = even.len();
    // Steps of the cells are smoothed away; corners are rounded by as much, and found again later.
    let reach = ((2.0 / step) as usize).clamp(1, n / 8);
    let mut smooth = even;
    for _ in 0..2 {
        smooth = (0..n)
            .map(|k| {
                let (mut x, mut y) = (0.0, 0.0);
                for d in 0..=2 * reach {
                    let p = smooth[(k + n + d - reach) % n];
                    x += p.x;
                    y += p.y;
                }
                let m = (2 * reach + 1) as f64;
                Point::new(x / m, y / m)
            })
            .collect();
    }
    let area: f64 = (0..n).map(|k| smooth[k].to_vector().cross(smooth[(k + 1) % n].to_vector())).sum();
    // Counter-clockwise around things, clockwise around holes: the thing lies to the left.
    if (area > 0.0) == is_hole {
        smooth.reverse();
    }
    let stations = (0..n).filter_map(|k| {
        let along = (smooth[(k + 1) % n] - smooth[(k + n - 1) % n]).unit()?;
        Some(Station { at: smooth[k], outward: along.left() * -1.0 })
    });
    Some(stations.collect())
}

/// Stations along lines and arcs, away from their ends.
pub(crate) fn stations_along(outline: &Outline, spacing: f64, is_large: bool) -> Vec<Station> {
    let mut stations = Vec::new();
    for segment in outline.segments() {
        let length = segment.length();
        let rim = if length > 10.0 && is_large { 1.5 } else { (0.1 * length).min(0.8) };
        let count = (((length - 2.0 * rim) / spacing).round() as usize).max(1);
        for k in 0..count {
            let t = (rim + (length - 2.0 * rim) * (k as f64 + 0.5) / count as f64) / length;
            let at = segment.at(t);
            let outward = match segment {
                Segment::Line { start, end } => (end - start).left() * -1.0,
                Segment::Arc { arc, .. } => (at - arc.center) * arc.sweep.signum(),
            };
            if let Some(outward) = outward.unit() {
                stations.push(Station { at, outward });
            }
        }
    }
    stations
}

fn finish(
    scenes: &[Scene<'_>],
    photographs: &[Photograph],
    located: &Located,
    settings: &Settings,
    segmentation: &Segmentation,
    found: Followed,
) -> Result<Reading, PhotoError> {
    let scene = &scenes[0];
    let Followed { points, pieces, mut notes } = found;
    let keeps = |name: &str| !settings.as_found.iter().any(|n| n.eq_ignore_ascii_case(name));
    let mut decisions = Vec::new();
    let (mut forms, ring) = drawn_ring(&points, pieces, &keeps, &mut decisions)?;
    let mut ring = ring;
    if forms.len() > 2
        && keeps("square")
        && let Some(text) = square_up(&mut forms)
    {
        decisions.push(Decision { name: "square".to_owned(), text });
        ring = outline(&forms, &points);
        (ring, _) = with_free_sides(ring, &forms, &points, &keeps);
    }
    let placement = placement_of(&ring);
    let center = ring.bounds().center();
    let per_pixel = scene.millimetres_per_pixel(center);
    let marks: Vec<Spot> = settings
        .damage
        .iter()
        .flat_map(|&colour| marked_areas(scene.pixels, segmentation, colour, per_pixel))
        .collect();
    let damage = damaged(scene, &marks, &ring);
    let mut holes = find_holes(scene, segmentation, &ring, &damage, per_pixel, &mut notes);
    let order = |h: &Hole| {
        let c = placement.to_result(h.outline.bounds().center());
        ((c.x / 3.0).round() as i64, (c.y * 10.0) as i64)
    };
    holes.sort_by_key(order);
    for (index, hole) in holes.iter_mut().enumerate() {
        hole.number = index + 1;
        decide_on_hole(hole, &mut decisions);
    }
    let doubts = Doubts {
        scale: if settings.printed_square.is_some() { 0.1 / RULED_SQUARE } else { 0.005 },
        thickness: 0.05 + 0.02 * settings.thickness,
    };
    let places = places_of(&ring, &points, &forms, &holes, 0.15 * per_pixel);
    let all = deviations(&located.calibration, &places, settings.thickness, &doubts);
    let (on_ring, on_holes) = all.split_at(places.iter().filter(|p| p.is_outline).count());
    let strip = places.iter().zip(on_ring).map(|(p, s)| (placement.to_result(p.at), *s)).collect();
    let accuracy = accuracy_of(on_ring, on_holes, &holes, &doubts, per_pixel);
    if settings.printed_square.is_none() && settings.known.is_empty() {
        notes.push("the print was not checked: measure the ruled square and give its side, or all sizes may be off by a hundredth".to_owned());
    }
    let reading = Reading {
        outline: moved(&ring, &placement),
        holes: holes.into_iter().map(|hole| moved_hole(hole, &placement)).collect(),
        damage: damage.iter().map(|zone| moved(zone, &placement)).collect(),
        patterns: Vec::new(),
        decisions,
        notes,
        accuracy,
        strip,
        millimetres_per_pixel: per_pixel,
        tilt_deg: scene.view.tilt_deg(),
        sheets: located.sheets.clone(),
        crossings: (located.calibration.used, located.calibration.sigma),
        thickness: settings.thickness,
        placement,
        view: scene.view,
    };
    debug_assert!(!photographs.is_empty());
    tied(reading, &settings.known)
}

/// The outline as lines and arcs, each a decision; sides that are to stay as found are chains of short lines.
fn drawn_ring(
    points: &[EdgePoint],
    pieces: Vec<Piece>,
    keeps: &dyn Fn(&str) -> bool,
    decisions: &mut Vec<Decision>,
) -> Result<(Vec<Piece>, Outline), PhotoError> {
    if let Some((center, radius, rms)) = as_circle(points)
        && keeps("round")
    {
        decisions.push(Decision {
            name: "round".to_owned(),
            text: format!(
                "the outline is a circle of {:.1} mm; what was found is off by {rms:.2} mm (root mean square)",
                2.0 * radius
            ),
        });
        let form = Form::Arc { center, radius, is_left: true };
        let sigma = rms / (points.len() as f64 / 6.0).sqrt().max(1.0);
        let piece = Piece { form, from: 0, to: 0, sigma, deviation: rms, length: radius };
        return Ok((vec![piece], Outline::circle(center, radius)));
    }
    if pieces.len() < 2 {
        return Err(PhotoError::NoThing);
    }
    for (index, piece) in pieces.iter().enumerate() {
        let name = format!("side {}", index + 1);
        if !keeps(&name) {
            continue;
        }
        let what = match piece.form {
            Form::Line { .. } => "is straight".to_owned(),
            Form::Arc { radius, .. } => format!("is round, with a radius of {radius:.1} mm"),
        };
        decisions.push(Decision {
            text: format!("{name} {what}; what was found is within {:.2} mm", piece.deviation),
            name,
        });
    }
    let ring = outline(&pieces, points);
    let (ring, _) = with_free_sides(ring, &pieces, points, keeps);
    let ring = ring.into_ccw();
    if !Shape::new(ring.clone(), Vec::new()).faults().is_empty() {
        // Lines and arcs that cross each other: the chain of points as it was found.
        let chain = Outline::polygon(points.iter().step_by(2).map(|p| p.at)).into_ccw();
        decisions.clear();
        return Ok((pieces, chain));
    }
    Ok((pieces, ring))
}

/// Sides whose decision was taken back, as chains of the points found.
fn with_free_sides(
    ring: Outline,
    pieces: &[Piece],
    points: &[EdgePoint],
    keeps: &dyn Fn(&str) -> bool,
) -> (Outline, usize) {
    let mut vertices = Vec::new();
    let mut free = 0;
    for (index, (vertex, piece)) in ring.vertices().iter().zip(pieces).enumerate() {
        if keeps(&format!("side {}", index + 1)) {
            vertices.push(*vertex);
            continue;
        }
        free += 1;
        vertices.push(Vertex::line(vertex.point));
        let n = points.len();
        let count = (piece.to + n - piece.from) % n;
        vertices.extend((2..count.saturating_sub(2)).map(|k| Vertex::line(points[(piece.from + k) % n].at)));
    }
    if free == 0 { (ring, 0) } else { (Outline::new(vertices), free) }
}

/// Lays the longest straight side level and the whole to the upper right of the origin.
fn placement_of(ring: &Outline) -> Placement {
    let longest = ring
        .segments()
        .filter(|s| matches!(s, Segment::Line { .. }))
        .max_by(|a, b| a.length().total_cmp(&b.length()))
        .map(|s| (s.end() - s.start()).angle());
    let turn = -longest.unwrap_or(0.0);
    let turned = Placement { turn, shift: Vector::new(0.0, 0.0), stretch: 1.0 };
    let bounds = moved(ring, &turned).bounds();
    Placement { shift: Vector::new(-bounds.min.x, -bounds.min.y), ..turned }
}

fn moved(ring: &Outline, placement: &Placement) -> Outline {
    Outline::new(ring.vertices().iter().map(|v| Vertex { point: placement.to_result(v.point), ..*v }).collect())
}

fn moved_hole(mut hole: Hole, placement: &Placement) -> Hole {
    hole.outline = moved(&hole.outline, placement);
    hole.form = match hole.form {
        HoleForm::Round { center, diameter } => {
            HoleForm::Round { center: placement.to_result(center), diameter: diameter * placement.stretch }
        }
        HoleForm::Slot { from, to, width } => HoleForm::Slot {
            from: placement.to_result(from),
            to: placement.to_result(to),
            width: width * placement.stretch,
        },
        HoleForm::Other => HoleForm::Other,
    };
    hole
}

fn damaged(scene: &Scene<'_>, marks: &[Spot], ring: &Outline) -> Vec<Outline> {
    marks
        .iter()
        .filter_map(|mark| {
            let ring_points: Vec<Point> =
                mark.border.iter().filter_map(|p| scene.view.on_plane(*p, scene.thickness)).collect();
            let stations = stations_of(&ring_points, 4.0, false)?;
            let zone = Outline::polygon(stations.iter().map(|s| s.at)).into_ccw();
            let center = zone.bounds().center();
            (zone.area() > 60.0 && ring.bounds().contains(center)).then_some(zone)
        })
        .collect()
}

fn find_holes(
    scene: &Scene<'_>,
    segmentation: &Segmentation,
    ring: &Outline,
    damage: &[Outline],
    per_pixel: f64,
    notes: &mut Vec<String>,
) -> Vec<Hole> {
    let (_, borders) = borders(segmentation);
    let mut spots: Vec<Spot> = borders.into_iter().filter_map(spot_of_border).collect();
    let clear: Vec<[f64; 2]> = spots.iter().map(|spot| spot.center).collect();
    let is_from_border = |spot: &Spot| clear.contains(&spot.center);
    let looks = Looks::new(scene, ring, &|pixel| segmentation.shows_thing(pixel));
    spots.extend(strange_spots(scene.pixels, segmentation, per_pixel));
    // The largest first: smaller spots within a hole are its shadow.
    spots.sort_by(|a, b| b.axes[0].total_cmp(&a.axes[0]));
    let mut holes: Vec<Hole> = Vec::new();
    let mut specks = 0;
    for spot in &spots {
        let Some(center) = scene.view.on_plane(spot.center, scene.thickness) else { continue };
        let is_known = holes.iter().any(|hole| near_hole(&hole.outline, center));
        if is_known || !ring.contains(center) || damage.iter().any(|zone| zone.contains(center)) {
            continue;
        }
        let is_hole = |hole: &Hole| is_from_border(spot) || (is_clean(hole) && looks.are_strange(hole, scene));
        match hole_at(scene, spot).filter(is_hole) {
            Some(hole) => {
                let bounds = hole.outline.bounds();
                let lies_within = hole.outline.vertices().iter().all(|v| ring.contains(v.point));
                let overlaps = holes.iter().any(|other| {
                    bounds.intersects(other.outline.bounds()) && near_hole(&other.outline, bounds.center())
                });
                if lies_within && !overlaps {
                    holes.push(hole);
                }
            }
            None => specks += 1,
        }
    }
    if specks > 0 {
        notes.push(format!("{specks} spot(s) on the thing are no hole with a clear edge of at least {LEAST_DIAMETER} mm and were left out"));
    }
    holes
}

/// Whether a spot that only its colour gave away is as round as a drill makes it. Grain and specks are not.
fn is_clean(hole: &Hole) -> bool {
    match hole.form {
        HoleForm::Round { diameter, .. } => hole.deviation < 0.03 * diameter,
        HoleForm::Slot { width, .. } => hole.deviation < 0.05 * width,
        HoleForm::Other => false,
    }
}

fn near_hole(hole: &Outline, at: Point) -> bool {
    let bounds: Bounds = hole.bounds();
    hole.contains(at) || (bounds.expanded(3.0).contains(at) && bounds.width() < 100.0)
}

fn spot_of_border(border: Vec<[f64; 2]>) -> Option<Spot> {
    let n = border.len() as f64;
    if border.len() < 6 {
        return None;
    }
    let (mut area, mut cx, mut cy) = (0.0, 0.0, 0.0);
    for k in 0..border.len() {
        let (a, b) = (border[k], border[(k + 1) % border.len()]);
        let cross = a[0] * b[1] - b[0] * a[1];
        area += cross / 2.0;
        cx += (a[0] + b[0]) * cross;
        cy += (a[1] + b[1]) * cross;
    }
    if area.abs() < 1.0 {
        return None;
    }
    let center = [cx / (6.0 * area), cy / (6.0 * area)];
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in &border {
        let (x, y) = (p[0] - center[0], p[1] - center[1]);
        xx += x * x / n;
        xy += x * y / n;
        yy += y * y / n;
    }
    let (half, span) = ((xx + yy) / 2.0, ((xx - yy) / 2.0).hypot(xy));
    let axes = [half + span, half - span].map(|v| (2.0 * v.max(0.1)).sqrt());
    Some(Spot { center, axes, border })
}

fn decide_on_hole(hole: &mut Hole, decisions: &mut Vec<Decision>) {
    let name = format!("hole {}", hole.number);
    let what = match hole.form {
        HoleForm::Round { diameter, .. } => format!("is round, {diameter:.2} mm"),
        HoleForm::Slot { from, to, width } => {
            format!("is a slot, {width:.2} mm wide and {:.2} mm long over all", from.distance(to) + width)
        }
        HoleForm::Other => return,
    };
    decisions
        .push(Decision { text: format!("{name} {what}; what was found is within {:.2} mm", hole.deviation), name });
}

/// Places along the outline every few millimetres, then the middles of holes.
fn places_of(ring: &Outline, points: &[EdgePoint], forms: &[Piece], holes: &[Hole], least: f64) -> Vec<Place> {
    let mut places = Vec::new();
    for (index, segment) in ring.segments().enumerate() {
        let count = (segment.length() / 6.0).ceil().max(1.0) as usize;
        let of_fit = if forms.len() == 1 { Some(&forms[0]) } else { forms.get(index) };
        for k in 0..count {
            let at = segment.at((k as f64 + 0.5) / count as f64);
            let mut near: Vec<&EdgePoint> = points.iter().filter(|p| p.at.distance(at) < 5.0).collect();
            near.sort_by(|a, b| a.at.distance(at).total_cmp(&b.at.distance(at)));
            let doubt = near.iter().take(5).map(|p| p.sigma).sum::<f64>() / near.len().clamp(1, 5) as f64;
            let doubt = if near.is_empty() { 1.0 } else { doubt };
            // Local doubt shrinks where a long straight side goes by many points.
            let edge =
                of_fit.map_or(doubt, |piece| (piece.sigma * 1.5).hypot(0.3 * piece.deviation).hypot(0.3 * doubt));
            places.push(Place { at, edge: edge.hypot(least), is_outline: true });
        }
    }
    for hole in holes {
        places.push(Place { at: hole.outline.bounds().center(), edge: hole.sigma.hypot(least), is_outline: false });
    }
    places
}

fn accuracy_of(on_ring: &[f64], on_holes: &[f64], holes: &[Hole], doubts: &Doubts, per_pixel: f64) -> Accuracy {
    let most = |values: &[f64]| values.iter().copied().fold(0.0, f64::max);
    let diameters = holes.iter().map(|hole| {
        let size = hole.outline.bounds().width();
        2.0 * (2.0 * hole.sigma).hypot(doubts.scale * size).hypot(0.2 * per_pixel)
    });
    Accuracy {
        outline_rms: (on_ring.iter().map(|s| s * s).sum::<f64>() / on_ring.len().max(1) as f64).sqrt(),
        outline_worst: 2.0 * most(on_ring),
        hole_centers: 2.0 * most(on_holes),
        hole_diameters: diameters.fold(0.0, f64::max),
    }
}

/// Stretched so that known lengths come out right on the whole.
fn tied(mut reading: Reading, known: &[Known]) -> Result<Reading, PhotoError> {
    if known.is_empty() {
        reading.patterns = crate::patterns::find(&reading.holes);
        return Ok(reading);
    }
    let (mut products, mut squares) = (0.0, 0.0);
    for Known { what, length } in known {
        let measured = reading
            .measured(what)
            .ok_or_else(|| PhotoError::Request(format!("there is no {what:?} whose length could be known")))?;
        products += measured * length;
        squares += measured * measured;
    }
    let stretch = products / squares;
    if !(0.9..=1.1).contains(&stretch) {
        return Err(PhotoError::Request(format!(
            "the known lengths are off by {:.1} % from what was found: check them, and the numbers of sides and holes",
            100.0 * (stretch - 1.0)
        )));
    }
    let by = Placement { turn: 0.0, shift: Vector::new(0.0, 0.0), stretch };
    reading.outline = moved(&reading.outline, &by);
    reading.holes = reading.holes.into_iter().map(|hole| moved_hole(hole, &by)).collect();
    reading.damage = reading.damage.iter().map(|zone| moved(zone, &by)).collect();
    reading.strip = reading.strip.into_iter().map(|(at, sigma)| (by.to_result(at), sigma)).collect();
    reading.placement.stretch *= stretch;
    reading.placement.shift = reading.placement.shift * stretch;
    for Known { what, length } in known {
        let now = reading.measured(what).unwrap_or(*length);
        reading.notes.push(format!(
            "stretched by {:+.3} % to known lengths; {length:.1} mm came out as {now:.2} mm",
            100.0 * (stretch - 1.0)
        ));
    }
    reading.patterns = crate::patterns::find(&reading.holes);
    Ok(reading)
}
