//! Where dimensions are measured from.

use dropwise_geometry::{Point, Segment, Shape, Vector};

/// Two lines at right angles from which everything on a piece is measured.
///
/// A point's first distance runs along the datum edge from the corner, its second square to the edge, into the metal.
/// Either may be below zero where a piece reaches beyond its own datum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Datum {
    /// Where the two lines meet.
    pub corner: Point,
    /// Direction of the datum edge from the corner, length one. The metal lies to its left.
    pub along: Vector,
    /// What the first line is.
    pub first: DatumLine,
    /// What the second line is, square to the first through the corner.
    pub second: DatumLine,
}

/// What a datum line is on the piece itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DatumLine {
    /// A straight edge of the piece, of this length, mm.
    Edge {
        /// How long it is.
        length: f64,
    },
    /// Struck with a square where the first line begins, as no edge runs that way.
    SquaredOff,
    /// A straight bar laid against a piece that has no straight edge.
    Bar,
}

/// Sines of angles below this are no angle: a tenth of a millimetre over a hundred metres.
const SAME_DIRECTION: f64 = 1e-6;
/// Edges on one line may stand off each other by this, mm.
const SAME_LINE: f64 = 1e-3;

/// A straight edge, neighbours on one line joined.
#[derive(Clone, Copy, Debug)]
struct Edge {
    start: Point,
    end: Point,
}

impl Edge {
    fn length(&self) -> f64 {
        self.start.distance(self.end)
    }
}

impl Datum {
    /// The datum of a piece.
    ///
    /// A rectangle that stands square to the axes is measured from its lower left corner. Any other piece is measured
    /// from its longest straight edge; of equally long ones from the lowest, then the leftmost. The second line is an
    /// edge square to that one where the piece ends on that side, so that a tape can be hooked over it, and is otherwise
    /// struck with a square at the beginning of the first. A piece without any straight edge is measured from bars laid
    /// against it below and at the left.
    #[must_use]
    pub fn of(shape: &Shape) -> Self {
        let edges = straight_edges(shape);
        let longest = edges.iter().copied().reduce(|best, edge| if is_better(edge, best) { edge } else { best });
        let Some(edge) = longest else {
            let corner = shape.bounds().min;
            return Self { corner, along: Vector::new(1.0, 0.0), first: DatumLine::Bar, second: DatumLine::Bar };
        };
        // An edge longer than nothing has a direction.
        let along = (edge.end - edge.start).unit().unwrap_or(Vector::new(1.0, 0.0));
        let rectangle = edges.len() == 4
            && shape.exterior().vertices().iter().all(|vertex| vertex.bulge == 0.0)
            && edges.iter().all(|edge| {
                let side = edge.end - edge.start;
                side.x.abs().min(side.y.abs()) <= SAME_DIRECTION * side.length()
            });
        if rectangle {
            let (first, second) = (shape.bounds().width(), shape.bounds().height());
            return Self {
                corner: shape.bounds().min,
                along: Vector::new(1.0, 0.0),
                first: DatumLine::Edge { length: first },
                second: DatumLine::Edge { length: second },
            };
        }
        let distance = |point: Point| (point - edge.start).dot(along);
        let farthest_back = shape.exterior().segments().map(|side| least(&side, edge.start, along)).fold(0.0, f64::min);
        let side = edges
            .iter()
            .filter(|other| {
                let direction = other.end - other.start;
                direction.dot(along).abs() <= SAME_DIRECTION * direction.length()
                    && (distance(other.start) - farthest_back).abs() <= SAME_LINE
            })
            .max_by(|a, b| a.length().total_cmp(&b.length()));
        let (corner, second) = match side {
            Some(side) => (edge.start + along * distance(side.start), DatumLine::Edge { length: side.length() }),
            None => (edge.start, DatumLine::SquaredOff),
        };
        Self { corner, along, first: DatumLine::Edge { length: edge.length() }, second }
    }

    /// The datum of a part by itself: the corner of its [`PartFrame`](crate::PartFrame), where an edge of the part lies on
    /// the left or the lower side of the box around it, so that the part stands square when that edge does. Where neither
    /// does, the part cannot be laid into that frame by hand, and is measured as [`Self::of`] says.
    #[must_use]
    pub fn of_part(shape: &Shape) -> Self {
        let (edges, bounds) = (straight_edges(shape), shape.bounds());
        let on = |is_below: bool| {
            let off = move |point: Point| if is_below { point.y - bounds.min.y } else { point.x - bounds.min.x };
            let lies_on = move |edge: &&Edge| off(edge.start).abs().max(off(edge.end).abs()) <= SAME_LINE;
            edges.iter().filter(lies_on).map(Edge::length).max_by(f64::total_cmp)
        };
        let line = |length: Option<f64>| length.map_or(DatumLine::Bar, |length| DatumLine::Edge { length });
        let (first, second) = (on(true), on(false));
        if first.is_none() && second.is_none() && !edges.is_empty() {
            return Self::of(shape);
        }
        Self { corner: bounds.min, along: Vector::new(1.0, 0.0), first: line(first), second: line(second) }
    }

    /// A point's distances from the two lines, mm: along the datum edge, and square to it.
    #[must_use]
    pub fn distances(&self, point: Point) -> [f64; 2] {
        let from = point - self.corner;
        [from.dot(self.along), from.dot(self.along.left())]
    }

    /// The point at two distances.
    #[must_use]
    pub fn point(&self, [along, square]: [f64; 2]) -> Point {
        self.corner + self.along * along + self.along.left() * square
    }

    /// What a table says about its datum; `length` writes a length for people.
    #[must_use]
    pub fn statement(&self, length: impl Fn(f64) -> String) -> String {
        let first = match (self.first, self.second) {
            (DatumLine::Edge { length: edge }, _) => format!("Datum: the straight edge of {}", length(edge)),
            (_, DatumLine::Edge { length: edge }) => {
                return format!(
                    "Datum: the straight edge of {} at the left, and, as no edge lies along the bottom, a straight bar laid \
                     against the piece below, square to it. Check that edge with a straightedge before you measure from it.",
                    length(edge)
                );
            }
            _ => {
                return "Datum: no straight edge; lay a straight bar against the piece below and another, square to it, at \
                        the left. Turn the piece so that it lies as in the drawing."
                    .to_owned();
            }
        };
        let second = match self.second {
            DatumLine::Edge { length: edge } => format!("and the edge of {} square to it", length(edge)),
            DatumLine::Bar => "and a straight bar laid against the piece at the left, square to it".to_owned(),
            DatumLine::SquaredOff => "and a line struck square to it at its left end, the metal being above".to_owned(),
        };
        format!("{first}, {second}. Check that edge with a straightedge before you measure from it.")
    }
}

fn is_better(edge: Edge, best: Edge) -> bool {
    let difference = edge.length() - best.length();
    if difference.abs() > SAME_LINE {
        return difference > 0.0;
    }
    let middle = |edge: Edge| edge.start.lerp(edge.end, 0.5);
    let (one, other) = (middle(edge), middle(best));
    if (one.y - other.y).abs() > SAME_LINE { one.y < other.y } else { one.x < other.x - SAME_LINE }
}

/// The least distance of a side's points along a direction.
fn least(side: &Segment, from: Point, along: Vector) -> f64 {
    let ends = (side.start() - from).dot(along).min((side.end() - from).dot(along));
    match side {
        Segment::Arc { arc, .. } if arc.covers_angle((-along).angle()) => {
            ends.min((arc.center - from).dot(along) - arc.radius)
        }
        _ => ends,
    }
}

fn straight_edges(shape: &Shape) -> Vec<Edge> {
    let sides: Vec<Segment> = shape.exterior().segments().filter(|side| side.length() > 0.0).collect();
    let goes_on = |one: &Segment, next: &Segment| match (one, next) {
        (Segment::Line { start, end }, Segment::Line { end: far, .. }) => {
            let (one, next) = (*end - *start, *far - *end);
            one.dot(next) > 0.0 && one.cross(next).abs() <= SAME_DIRECTION * one.length() * next.length()
        }
        _ => false,
    };
    // Begun where an edge does not go on, so that none is split between the last side and the first.
    let count = sides.len();
    let begin = (0..count).find(|&i| !goes_on(&sides[(i + count - 1) % count], &sides[i])).unwrap_or(0);
    let mut edges: Vec<Edge> = Vec::new();
    let mut is_open = false;
    for i in 0..count {
        let side = &sides[(begin + i) % count];
        let before = &sides[(begin + i + count - 1) % count];
        match (side, edges.last_mut()) {
            (Segment::Arc { .. }, _) => is_open = false,
            (Segment::Line { end, .. }, Some(edge)) if is_open && goes_on(before, side) => edge.end = *end,
            (Segment::Line { start, end }, _) => {
                edges.push(Edge { start: *start, end: *end });
                is_open = true;
            }
        }
    }
    edges
}

#[cfg(test)]
mod tests {
    use super::*;
    use dropwise_geometry::{Isometry, Outline, Vertex};

    fn polygon(points: &[(f64, f64)]) -> Shape {
        Shape::new(Outline::polygon(points.iter().map(|&(x, y)| Point::new(x, y))), Vec::new())
    }

    #[test]
    fn a_rectangle_is_measured_from_its_lower_left_corner() {
        // Drawn with a corner too many, and upright: the longest edge would be the left or right one.
        let shape = polygon(&[(5.0, 5.0), (20.0, 5.0), (30.0, 5.0), (30.0, 105.0), (5.0, 105.0)]);
        let datum = Datum::of(&shape);
        assert_eq!((datum.corner, datum.along), (Point::new(5.0, 5.0), Vector::new(1.0, 0.0)));
        assert_eq!(datum.second, DatumLine::Edge { length: 100.0 });
        assert_eq!(datum.distances(Point::new(12.0, 9.0)), [7.0, 4.0]);
    }

    #[test]
    fn a_drop_is_measured_from_its_longest_edge() {
        // A 300 x 400 x 500 triangle: the slope is the longest edge, and nothing is square to it.
        let triangle = polygon(&[(0.0, 0.0), (300.0, 0.0), (0.0, 400.0)]);
        let datum = Datum::of(&triangle);
        assert_eq!((datum.first, datum.second), (DatumLine::Edge { length: 500.0 }, DatumLine::SquaredOff));
        assert_eq!(datum.corner, Point::new(300.0, 0.0));
        // The right angle: 300 · 300/500 along, height 300 · 400/500 into the metal.
        let [along, square] = datum.distances(Point::ORIGIN);
        assert!((along - 180.0).abs() < 1e-9 && (square - 240.0).abs() < 1e-9);
        assert!(datum.statement(|mm| format!("{mm} mm")).contains("straight edge of 500 mm"));
        // A trapezium: its lower edge is the longest, and the left one is square to it.
        let trapezium = polygon(&[(0.0, 0.0), (500.0, 0.0), (300.0, 200.0), (0.0, 200.0)]);
        let datum = Datum::of(&trapezium);
        assert_eq!((datum.corner, datum.second), (Point::ORIGIN, DatumLine::Edge { length: 200.0 }));
    }

    #[test]
    fn rounded_corners_do_not_move_the_datum() {
        let quarter = (std::f64::consts::PI / 8.0).tan();
        let plate = Outline::new(vec![
            Vertex::line(Point::new(10.0, 0.0)),
            Vertex::arc(Point::new(90.0, 0.0), quarter),
            Vertex::line(Point::new(100.0, 10.0)),
            Vertex::arc(Point::new(100.0, 40.0), quarter),
            Vertex::line(Point::new(90.0, 50.0)),
            Vertex::arc(Point::new(10.0, 50.0), quarter),
            Vertex::line(Point::new(0.0, 40.0)),
            Vertex::arc(Point::new(0.0, 10.0), quarter),
        ]);
        let datum = Datum::of(&Shape::new(plate, Vec::new()));
        assert!(datum.corner.distance(Point::ORIGIN) < 1e-9);
        assert_eq!((datum.first, datum.second), (DatumLine::Edge { length: 80.0 }, DatumLine::Edge { length: 30.0 }));
    }

    #[test]
    fn a_disc_lies_against_bars() {
        let disc = Shape::new(Outline::circle(Point::new(7.0, 8.0), 5.0), Vec::new());
        let datum = Datum::of(&disc);
        assert_eq!((datum.corner, datum.first), (Point::new(2.0, 3.0), DatumLine::Bar));
    }

    #[test]
    fn distances_are_those_of_a_turned_piece_too() {
        let drop = polygon(&[(0.0, 0.0), (500.0, 0.0), (480.0, 200.0), (150.0, 310.0), (0.0, 120.0)]);
        let at = Point::new(123.0, 45.0);
        let expected = Datum::of(&drop).distances(at);
        for angle in [10.0, 90.0, 222.2] {
            let by = Isometry::new(false, angle, -33.0, 71.0);
            let datum = Datum::of(&drop.transformed(by));
            let found = datum.distances(by.apply(at));
            assert!((found[0] - expected[0]).abs() < 1e-9 && (found[1] - expected[1]).abs() < 1e-9);
            assert!(datum.point(found).distance(by.apply(at)) < 1e-9);
        }
    }
}
