//! Shapes and path data as strokes of lines, Bézier curves and elliptical arcs, in user units.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use dropwise_geometry::{Point, Vector};
use svgtypes::{PathParser, PathSegment};

use crate::curves::{Affine, Conic, Cubic, NoRoom, Piece, PieceSink};

/// A line drawn without lifting the pen.
#[derive(Debug)]
pub(super) struct Stroke {
    start: Point,
    steps: Vec<Step>,
    pub(super) is_closed: bool,
}

#[derive(Debug)]
enum Step {
    Line(Point),
    Cubic([Point; 3]),
    Arc(Conic, Point),
}

impl Step {
    fn end(&self) -> Point {
        match *self {
            Self::Line(end) | Self::Cubic([.., end]) | Self::Arc(_, end) => end,
        }
    }
}

impl Stroke {
    fn new(start: Point) -> Self {
        Self { start, steps: Vec::new(), is_closed: false }
    }

    pub(super) fn is_empty(&self) -> bool {
        self.steps.is_empty()
    }

    /// A whole ellipse parallel to the axes.
    pub(super) fn ellipse(center: Point, rx: f64, ry: f64) -> Self {
        let conic = Conic { center, a: Vector::new(rx, 0.0), b: Vector::new(0.0, ry), start: 0.0, sweep: TAU };
        let start = center + conic.a;
        Self { start, steps: vec![Step::Arc(conic, start)], is_closed: true }
    }

    /// A rectangle with its corners rounded by quarter ellipses.
    pub(super) fn rectangle(corner: Point, width: f64, height: f64, rx: f64, ry: f64) -> Self {
        let at = |x: f64, y: f64| Point::new(corner.x + x, corner.y + y);
        if rx == 0.0 || ry == 0.0 {
            return Self::polyline(vec![at(0.0, 0.0), at(width, 0.0), at(width, height), at(0.0, height)], true);
        }
        let mut stroke = Self::new(at(rx, 0.0));
        let corners = [
            (at(width - rx, 0.0), at(width - rx, ry), at(width, ry)),
            (at(width, height - ry), at(width - rx, height - ry), at(width - rx, height)),
            (at(rx, height), at(rx, height - ry), at(0.0, height - ry)),
            (at(0.0, ry), at(rx, ry), at(rx, 0.0)),
        ];
        for (index, (from, center, to)) in corners.into_iter().enumerate() {
            stroke.steps.push(Step::Line(from));
            let (a, b) = (Vector::new(rx, 0.0), Vector::new(0.0, ry));
            let start = -FRAC_PI_2 + FRAC_PI_2 * index as f64;
            stroke.steps.push(Step::Arc(Conic { center, a, b, start, sweep: FRAC_PI_2 }, to));
        }
        stroke.is_closed = true;
        stroke
    }

    pub(super) fn polyline(points: Vec<Point>, is_closed: bool) -> Self {
        let mut points = points.into_iter();
        let start = points.next().unwrap_or_default();
        Self { start, steps: points.map(Step::Line).collect(), is_closed }
    }

    /// Points that span it.
    pub(super) fn extremes(&self) -> impl Iterator<Item = Point> + '_ {
        std::iter::once(self.start).chain(self.steps.iter().flat_map(|step| match step {
            Step::Line(end) => vec![*end],
            Step::Cubic(points) => points.to_vec(),
            Step::Arc(conic, end) => {
                vec![
                    conic.center + conic.a,
                    conic.center - conic.a,
                    conic.center + conic.b,
                    conic.center - conic.b,
                    *end,
                ]
            }
        }))
    }

    /// Whether it is nothing but one straight line.
    pub(super) fn is_straight(&self) -> bool {
        matches!(self.steps.as_slice(), [Step::Line(_)])
    }

    /// From its end to its start.
    pub(super) fn gap(&self) -> f64 {
        self.steps.last().map_or(0.0, |step| step.end().distance(self.start))
    }

    /// Draws it, closed by a straight line if that is asked for.
    pub(super) fn fill_as(&self, is_closed: bool, map: &Affine, sink: &mut PieceSink<'_>) -> Result<(), NoRoom> {
        let mut at = map.apply(self.start);
        for step in &self.steps {
            let end = map.apply(step.end());
            match step {
                Step::Line(_) => sink.push(Piece::line(at, end))?,
                Step::Cubic([one, other, _]) => {
                    sink.push_curve(&Cubic([at, map.apply(*one), map.apply(*other), end]), 0.0, 1.0)?;
                }
                Step::Arc(conic, _) => {
                    let first = sink.pieces.len();
                    sink.push_conic(conic, map)?;
                    // As drawn, not as computed from the centre, so that chains close.
                    if let Some(piece) = sink.pieces.get_mut(first) {
                        piece.start = at;
                    }
                    if let Some(piece) = sink.pieces.last_mut() {
                        piece.end = end;
                    }
                }
            }
            at = end;
        }
        let start = map.apply(self.start);
        if is_closed && at != start {
            sink.push(Piece::line(at, start))?;
        }
        Ok(())
    }
}

/// Strokes of path data; the fault's column, counted from 1, when it is not valid.
pub(super) fn path(data: &str) -> Result<Vec<Stroke>, usize> {
    let mut strokes: Vec<Stroke> = Vec::new();
    let mut at = Point::ORIGIN;
    let mut start = Point::ORIGIN;
    // Where the last curve's control point was, for the smooth commands.
    let (mut last_cubic, mut last_quadratic) = (None, None);
    let mut current: Option<Stroke> = None;
    for segment in PathParser::from(data) {
        let segment = segment.map_err(column)?;
        let base = if segment.is_abs() { Vector::default() } else { at.to_vector() };
        let point = |x: f64, y: f64| Point::new(x, y) + base;
        let (mut cubic, mut quadratic) = (None, None);
        let step = match segment {
            PathSegment::MoveTo { x, y, .. } => {
                strokes.extend(current.take().filter(|stroke| !stroke.is_empty()));
                at = point(x, y);
                start = at;
                None
            }
            PathSegment::ClosePath { .. } => {
                if let Some(mut stroke) = current.take() {
                    stroke.is_closed = true;
                    strokes.push(stroke);
                }
                at = start;
                None
            }
            PathSegment::LineTo { x, y, .. } => Some(Step::Line(point(x, y))),
            PathSegment::HorizontalLineTo { x, .. } => Some(Step::Line(Point::new(x + base.x, at.y))),
            PathSegment::VerticalLineTo { y, .. } => Some(Step::Line(Point::new(at.x, y + base.y))),
            PathSegment::CurveTo { x1, y1, x2, y2, x, y, .. } => {
                cubic = Some(point(x2, y2));
                Some(Step::Cubic([point(x1, y1), point(x2, y2), point(x, y)]))
            }
            PathSegment::SmoothCurveTo { x2, y2, x, y, .. } => {
                cubic = Some(point(x2, y2));
                Some(Step::Cubic([mirrored(last_cubic, at), point(x2, y2), point(x, y)]))
            }
            PathSegment::Quadratic { x1, y1, x, y, .. } => {
                quadratic = Some(point(x1, y1));
                Some(raised(at, point(x1, y1), point(x, y)))
            }
            PathSegment::SmoothQuadratic { x, y, .. } => {
                let control = mirrored(last_quadratic, at);
                quadratic = Some(control);
                Some(raised(at, control, point(x, y)))
            }
            PathSegment::EllipticalArc { rx, ry, x_axis_rotation, large_arc, sweep, x, y, .. } => {
                let end = point(x, y);
                let arc = arc(at, end, [rx, ry], x_axis_rotation, large_arc, sweep);
                Some(arc.map_or(Step::Line(end), |conic| Step::Arc(conic, end)))
            }
        };
        (last_cubic, last_quadratic) = (cubic, quadratic);
        if let Some(step) = step {
            let end = step.end();
            current.get_or_insert_with(|| Stroke::new(at)).steps.push(step);
            at = end;
        }
    }
    strokes.extend(current.filter(|stroke| !stroke.is_empty()));
    Ok(strokes)
}

fn column(error: svgtypes::Error) -> usize {
    match error {
        svgtypes::Error::UnexpectedData(at)
        | svgtypes::Error::InvalidNumber(at)
        | svgtypes::Error::InvalidChar(_, at)
        | svgtypes::Error::InvalidString(_, at) => at,
        _ => 1,
    }
}

fn mirrored(control: Option<Point>, at: Point) -> Point {
    control.map_or(at, |control| at + (at - control))
}

/// A quadratic Bézier curve as a cubic one.
fn raised(start: Point, control: Point, end: Point) -> Step {
    Step::Cubic([start.lerp(control, 2.0 / 3.0), end.lerp(control, 2.0 / 3.0), end])
}

/// The arc of an ellipse between two points; `None` where the standard wants a line. Radii too small are scaled up.
///
/// # Source
/// SVG 1.1, appendix F.6.5 and F.6.6.
fn arc(from: Point, to: Point, radii: [f64; 2], rotation_deg: f64, large_arc: bool, sweep: bool) -> Option<Conic> {
    let [mut rx, mut ry] = radii.map(f64::abs);
    if rx == 0.0 || ry == 0.0 || from == to {
        return None;
    }
    let turn = Affine::rotation_deg(rotation_deg);
    let half = (from - to) / 2.0;
    // In the ellipse's own axes, where it is scaled to a unit circle below.
    let half = Vector::new(half.dot(turn.x_axis), half.dot(turn.y_axis));
    let reach = (half.x / rx).hypot(half.y / ry);
    if reach > 1.0 {
        rx *= reach;
        ry *= reach;
    }
    let unit = Vector::new(half.x / rx, half.y / ry);
    let aside = (1.0 / unit.length_squared() - 1.0).max(0.0).sqrt() * if large_arc == sweep { -1.0 } else { 1.0 };
    let center = Vector::new(unit.y, -unit.x) * aside;
    let (start, end) = ((unit - center).angle(), (-unit - center).angle());
    let mut swept = (end - start).rem_euclid(TAU);
    if !sweep {
        swept -= TAU;
    }
    // Rounding may turn a half circle's sweep by a hair, but never a small arc into a large one.
    if reach >= 1.0 {
        swept = if sweep { PI } else { -PI };
    }
    let (a, b) = (turn.x_axis * rx, turn.y_axis * ry);
    Some(Conic { center: from.lerp(to, 0.5) + a * center.x + b * center.y, a, b, start, sweep: swept })
}
