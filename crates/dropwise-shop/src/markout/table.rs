//! The table itself.

use dropwise_geometry::{Isometry, Outline, Point, Segment, Shape};
use dropwise_model::{Job, Part, SheetUse};

use super::{Datum, Grid, HoleMethod, HoleTools, Reading, ScribeLines, full_circle};

/// Everything that is marked on one sheet, or on one part: distances from two datum lines, all from the same corner.
#[derive(Clone, Debug, PartialEq)]
pub struct MarkOut {
    /// Name of the sheet or part.
    pub subject: String,
    /// Where distances run from.
    pub datum: Datum,
    /// What they are rounded to.
    pub grid: Grid,
    /// The parts, in the order of the plan; one for a table of a single part.
    pub parts: Vec<PartMarks>,
    /// Round holes by size, smallest first.
    pub holes: Vec<HoleGroup>,
    /// All distances along the datum edge and square to it, smallest first, each once: running dimensions from the
    /// corner. Centres of arcs off the sheet are left out.
    pub running: [Vec<RunningMark>; 2],
}

/// What is marked of one part.
#[derive(Clone, Debug, PartialEq)]
pub struct PartMarks {
    /// Index in the job; zero for a table of a single part.
    pub part: usize,
    /// Its name.
    pub name: String,
    /// Whether it lies face down: its good side is the one that is not marked.
    pub is_face_down: bool,
    /// Corners of the outline and of openings that are not round, in the order of the rings.
    pub corners: Vec<CornerMark>,
    /// Centres of arcs, in the same order.
    pub arcs: Vec<ArcMark>,
    /// Bend lines and marks.
    pub scribe: Vec<ScribeMark>,
}

/// A point by its two distances.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mark {
    /// Where it is on the sheet, or in the frame of the part.
    pub place: Point,
    /// Distances along the datum edge and square to it.
    pub from: [Reading; 2],
}

/// A corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CornerMark {
    /// Number within the part, from 1, running on from ring to ring.
    pub number: u32,
    /// Which ring: 0 for the outline, then openings.
    pub ring: usize,
    /// Whether two sides meet here without an angle, as where an arc begins.
    pub is_tangent: bool,
    /// Where.
    pub mark: Mark,
}

/// The centre of an arc that is not a full circle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArcMark {
    /// Numbers of the corners where it begins and ends.
    pub between: [u32; 2],
    /// Its radius, mm.
    pub radius: Reading,
    /// Whether metal lies within the arc, as in an outside corner that is rounded.
    pub is_convex: bool,
    /// Whether the centre lies on the sheet, so that a centre punch finds metal. Where not, a template draws the arc.
    pub is_on_stock: bool,
    /// Where the centre is.
    pub mark: Mark,
}

/// What a scribed line is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ScribeUse {
    /// The flange comes up, towards the face that is marked.
    BendUp,
    /// The flange goes down, away from the face that is marked.
    BendDown,
    /// Another mark.
    Mark,
}

/// A line that is scribed and not cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ScribeMark {
    /// What for.
    pub purpose: ScribeUse,
    /// Its ends.
    pub ends: [Mark; 2],
    /// Radius of the arc, where it is one, mm.
    pub radius: Option<f64>,
}

/// Round holes of one size.
#[derive(Clone, Debug, PartialEq)]
pub struct HoleGroup {
    /// Diameter, mm.
    pub diameter: f64,
    /// How they are made.
    pub method: HoleMethod,
    /// Their centres, by part and then along the datum edge.
    pub centres: Vec<HoleMark>,
}

/// Centre of a round hole, or of a part that is a disc.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HoleMark {
    /// Index in [`MarkOut::parts`].
    pub part: usize,
    /// Whether the metal to keep is what lies within: the part is a disc.
    pub is_disc: bool,
    /// Where its centre is.
    pub mark: Mark,
}

/// One stop of the tape.
#[derive(Clone, Debug, PartialEq)]
pub struct RunningMark {
    /// The distance from the datum. Its exact value is that of the first mark there.
    pub distance: Reading,
    /// What is there: the part, by its index in [`MarkOut::parts`], and what of it.
    pub marks: Vec<(usize, Stop)>,
}

/// What the tape stops at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stop {
    /// A corner, by its number.
    Corner(u32),
    /// The centre of an arc, by its index among [`PartMarks::arcs`].
    ArcCentre(usize),
    /// The centre of a round hole or of a disc.
    Hole,
    /// An end of a line that is scribed, by its index among [`PartMarks::scribe`].
    Scribe(usize),
}

/// Why a table cannot be made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum MarkOutError {
    /// A sheet or part that the job does not have.
    #[error("the plan speaks of {kind} number {index}, but the job has only {count}")]
    NoSuch {
        /// "sheet" or "part".
        kind: &'static str,
        /// Which, counted from zero.
        index: usize,
        /// How many there are.
        count: usize,
    },
}

/// Diameters that differ by less than this, mm, are one size.
const SAME_SIZE: f64 = 0.01;
/// Arcs whose centres and radii agree to this, mm, are one circle.
const SAME_CIRCLE: f64 = 1e-3;
/// Sine of an angle that nobody marks as a corner.
const TANGENT: f64 = 1e-3;

impl MarkOut {
    /// The table of one nested sheet. `scribe` has lines for each part of the job, in its order; what is missing at the
    /// end has none.
    ///
    /// # Errors
    /// [`MarkOutError::NoSuch`] when the layout does not belong to the job.
    pub fn of_sheet(
        job: &Job,
        sheet_use: &SheetUse,
        scribe: &[ScribeLines],
        grid: Grid,
        tools: &HoleTools,
    ) -> Result<Self, MarkOutError> {
        let no_such = |kind, index, count| MarkOutError::NoSuch { kind, index, count };
        let count = job.sheets().len();
        let sheet = job.sheets().get(sheet_use.sheet).ok_or(no_such("sheet", sheet_use.sheet, count))?;
        let stock = sheet.bought_shape(sheet_use.length);
        let none = ScribeLines::default();
        let mut placed = Vec::with_capacity(sheet_use.placements.len());
        for placement in &sheet_use.placements {
            let index = placement.part;
            let part = job.parts().get(index).ok_or(no_such("part", index, job.parts().len()))?;
            placed.push((index, part, scribe.get(index).unwrap_or(&none), placement.position));
        }
        Ok(Self::new(&sheet.name, &stock, Datum::of(&stock), &placed, grid, tools))
    }

    /// The table of one part by itself, measured from its own datum: [`Datum::of_part`].
    #[must_use]
    pub fn of_part(part: &Part, scribe: &ScribeLines, grid: Grid, tools: &HoleTools) -> Self {
        // It is marked out before its holes are made, so the centres of arcs that lie in them find metal.
        let blank = Shape::new(part.shape.exterior().clone(), Vec::new());
        let datum = Datum::of_part(&part.shape);
        Self::new(&part.name, &blank, datum, &[(0, part, scribe, Isometry::IDENTITY)], grid, tools)
    }

    fn new(
        subject: &str,
        stock: &Shape,
        datum: Datum,
        placed: &[(usize, &Part, &ScribeLines, Isometry)],
        grid: Grid,
        tools: &HoleTools,
    ) -> Self {
        let surveyor = Surveyor { datum, grid, stock };
        let (mut parts, mut round) = (Vec::new(), Vec::new());
        for (index, &(part, Part { name, shape, .. }, scribe, position)) in placed.iter().enumerate() {
            let shape = shape.transformed(position);
            let mut marks = PartMarks {
                part,
                name: name.clone(),
                is_face_down: position.is_mirrored,
                corners: Vec::new(),
                arcs: Vec::new(),
                scribe: Vec::new(),
            };
            for (ring, outline) in shape.rings().enumerate() {
                match full_circle(outline, SAME_CIRCLE) {
                    Some(circle) => {
                        let mark = HoleMark { part: index, is_disc: ring == 0, mark: surveyor.mark(circle.center) };
                        round.push((2.0 * circle.radius, mark));
                    }
                    None => surveyor.ring(ring, outline, &mut marks),
                }
            }
            surveyor.scribe(&scribe.transformed(position), &mut marks);
            parts.push(marks);
        }
        let holes = hole_groups(round, tools);
        let running = [0, 1].map(|axis| running(&parts, &holes, axis));
        Self { subject: subject.to_owned(), datum, grid, parts, holes, running }
    }

    /// What must be said beside the table: datum, rounding, and on which side of the line to cut.
    #[must_use]
    pub fn statements(&self) -> Vec<String> {
        let length = |mm: f64| self.grid.format(self.grid.read(mm));
        let mut statements = vec![self.datum.statement(length), self.grid.statement()];
        statements
            .push("Lines are the edges of the finished parts: cut on the waste side and leave the line.".to_owned());
        if self.parts.iter().any(|part| part.is_face_down) {
            statements.push(
                "Parts that lie face down are marked on their back: what bends up from this side bends down from their face."
                    .to_owned(),
            );
        }
        let is_below = |reading: &Reading| reading.rounded < 0.0;
        if self.running.iter().flatten().any(|mark| is_below(&mark.distance)) {
            statements.push("Distances with a minus sign run the other way from the datum corner.".to_owned());
        }
        statements
    }
}

struct Surveyor<'a> {
    datum: Datum,
    grid: Grid,
    stock: &'a Shape,
}

impl Surveyor<'_> {
    fn mark(&self, place: Point) -> Mark {
        Mark { place, from: self.datum.distances(place).map(|distance| self.grid.read(distance)) }
    }

    fn ring(&self, ring: usize, outline: &Outline, marks: &mut PartMarks) {
        let sides: Vec<Segment> = outline.segments().collect();
        let first = marks.corners.len() as u32 + 1;
        let count = sides.len();
        for (i, side) in sides.iter().enumerate() {
            let before = &sides[(i + count - 1) % count];
            let number = first + i as u32;
            let (arriving, leaving) = (heading(before, true), heading(side, false));
            let is_tangent = arriving.cross(leaving).abs() <= TANGENT && arriving.dot(leaving) > 0.0;
            marks.corners.push(CornerMark { number, ring, is_tangent, mark: self.mark(side.start()) });
            if let Segment::Arc { arc, .. } = side {
                marks.arcs.push(ArcMark {
                    between: [number, first + ((i + 1) % count) as u32],
                    radius: self.grid.read(arc.radius),
                    // Metal lies to the left of travel, and so does the centre of an arc that turns left.
                    is_convex: arc.sweep > 0.0,
                    is_on_stock: self.stock.contains(arc.center),
                    mark: self.mark(arc.center),
                });
            }
        }
    }

    fn scribe(&self, lines: &ScribeLines, marks: &mut PartMarks) {
        let uses = [
            (ScribeUse::BendUp, &lines.bends_up),
            (ScribeUse::BendDown, &lines.bends_down),
            (ScribeUse::Mark, &lines.marks),
        ];
        for (purpose, lines) in uses {
            marks.scribe.extend(lines.iter().map(|line| ScribeMark {
                purpose,
                ends: [self.mark(line.start()), self.mark(line.end())],
                radius: if let Segment::Arc { arc, .. } = line { Some(arc.radius) } else { None },
            }));
        }
    }
}

/// Direction of travel at one end of a side.
pub(crate) fn heading(side: &Segment, at_end: bool) -> dropwise_geometry::Vector {
    let direction = match side {
        Segment::Line { start, end } => *end - *start,
        Segment::Arc { start, end, arc } => {
            let spoke = if at_end { *end } else { *start } - arc.center;
            if arc.sweep > 0.0 { spoke.left() } else { -spoke.left() }
        }
    };
    direction.unit().unwrap_or_default()
}

fn hole_groups(mut round: Vec<(f64, HoleMark)>, tools: &HoleTools) -> Vec<HoleGroup> {
    let along = |mark: &HoleMark| mark.mark.from[0].exact;
    round.sort_by(|(size, mark), (other_size, other)| {
        size.total_cmp(other_size).then(mark.part.cmp(&other.part)).then(along(mark).total_cmp(&along(other)))
    });
    let mut groups: Vec<HoleGroup> = Vec::new();
    for (diameter, mark) in round {
        match groups.last_mut().filter(|group| diameter - group.diameter < SAME_SIZE) {
            Some(group) => group.centres.push(mark),
            None => {
                let method = HoleMethod::choose(diameter, tools);
                groups.push(HoleGroup { diameter, method, centres: vec![mark] });
            }
        }
    }
    for group in &mut groups {
        group.centres.sort_by(|a, b| a.part.cmp(&b.part).then(along(a).total_cmp(&along(b))));
    }
    groups
}

fn running(parts: &[PartMarks], holes: &[HoleGroup], axis: usize) -> Vec<RunningMark> {
    let mut all: Vec<(Reading, (usize, Stop))> = Vec::new();
    for (part, marks) in parts.iter().enumerate() {
        let mut stop = |mark: &Mark, stop: Stop| all.push((mark.from[axis], (part, stop)));
        marks.corners.iter().for_each(|corner| stop(&corner.mark, Stop::Corner(corner.number)));
        // A tape does not reach a centre off the sheet.
        let arcs = marks.arcs.iter().enumerate().filter(|(_, arc)| arc.is_on_stock);
        arcs.for_each(|(index, arc)| stop(&arc.mark, Stop::ArcCentre(index)));
        for (index, line) in marks.scribe.iter().enumerate() {
            line.ends.iter().for_each(|end| stop(end, Stop::Scribe(index)));
        }
    }
    all.extend(
        holes.iter().flat_map(|group| &group.centres).map(|hole| (hole.mark.from[axis], (hole.part, Stop::Hole))),
    );
    all.sort_by(|(a, at), (b, other)| a.rounded.total_cmp(&b.rounded).then(at.cmp(other)));
    let mut running: Vec<RunningMark> = Vec::new();
    for (distance, at) in all {
        match running.last_mut() {
            // Rounded distances are multiples of the grid: equal ones are equal to the bit, but for the sign of zero.
            Some(mark) if mark.distance.rounded == distance.rounded => {
                // Both ends of a line square to the tape are one stop.
                if mark.marks.last() != Some(&at) {
                    mark.marks.push(at);
                }
            }
            _ => running.push(RunningMark { distance, marks: vec![at] }),
        }
    }
    running
}
