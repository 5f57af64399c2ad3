//! Mark-out: every point once, numbered in the order in which it is measured, in a table and in a picture.

use dropwise_geometry::{Isometry, Point, Shape, Vector};
use dropwise_model::{Job, Part, Plan};
use dropwise_shop::markout::{Datum, DatumLine, Mark, MarkOut, ScribeMark, ScribeUse};

use crate::bench::keys;
use crate::details::{BendLine, HoleNote, LengthStyle};
use crate::drawing::copies::key;
use crate::pdf::{MarkPicture, PictureMark};
use crate::tables::{PaperColumn, PaperTable};

/// A mark-out as it is taken to the bench.
#[derive(Clone, Debug, PartialEq)]
pub struct MarkedOut {
    /// The points, all those at one distance along the datum edge together: first the tape, then the square.
    pub table: PaperTable,
    /// Where each of them is.
    pub picture: MarkPicture,
}

/// What is at a point.
struct Feature {
    mark: Mark,
    /// Index among the parts.
    part: usize,
    what: What,
}

enum What {
    /// A corner, or where an arc begins.
    Corner,
    /// The centre of an arc: its radius in words, and whether the centre lies on metal.
    Arc(String, bool),
    /// A hole in words.
    Hole(String),
    /// A line to scribe, in words.
    Line(String),
    /// What else is done to a hole, in words.
    Work(String),
}

/// What is drawn under the points.
struct Ground<'a> {
    sheet: Option<Shape>,
    parts: Vec<(&'a Shape, Isometry, String, usize)>,
    is_alone: bool,
}

/// The mark-out of a sheet of a plan.
///
/// # Panics
/// If the plan was made for another job or has no such sheet.
#[must_use]
pub fn mark_out_of_sheet(
    job: &Job,
    plan: &Plan,
    use_index: usize,
    mark_out: &MarkOut,
    (bends, notes): (&[BendLine], &[HoleNote]),
) -> MarkedOut {
    let used = &plan.layout().sheets[use_index];
    let keys = keys(job, plan, use_index);
    let parts = used
        .placements
        .iter()
        .zip(keys)
        .map(|(placement, key)| (&job.parts()[placement.part].shape, placement.position, key, placement.part));
    let sheet = Some(job.sheets()[used.sheet].bought_shape(used.length));
    marked(&Ground { sheet, parts: parts.collect(), is_alone: false }, mark_out, bends, notes)
}

/// The mark-out of one part by itself, measured from its own datum.
#[must_use]
pub fn mark_out_of_part(
    index: usize,
    part: &Part,
    mark_out: &MarkOut,
    (bends, notes): (&[BendLine], &[HoleNote]),
) -> MarkedOut {
    let parts = vec![(&part.shape, Isometry::IDENTITY, key(index), index)];
    marked(&Ground { sheet: None, parts, is_alone: true }, mark_out, bends, notes)
}

fn marked(ground: &Ground<'_>, mark_out: &MarkOut, bends: &[BendLine], notes: &[HoleNote]) -> MarkedOut {
    let lengths = LengthStyle::tape(mark_out.grid);
    let mut features = features(ground, mark_out, bends, notes, lengths);
    // First the tape along the edge, then the square at each stop.
    features.sort_by(|a, b| {
        let read = |feature: &Feature| feature.mark.from.map(|reading| reading.rounded);
        read(a)[0].total_cmp(&read(b)[0]).then(read(a)[1].total_cmp(&read(b)[1])).then(a.part.cmp(&b.part))
    });
    let same = |a: &Mark, b: &Mark| (0..2).all(|axis| a.from[axis].rounded == b.from[axis].rounded);
    let mut points: Vec<Vec<Feature>> = Vec::new();
    for feature in features {
        match points.last_mut() {
            Some(point) if same(&point[0].mark, &feature.mark) => point.push(feature),
            _ => points.push(vec![feature]),
        }
    }
    // Long words once, by a letter in the rows.
    let mut works: Vec<String> = Vec::new();
    for feature in points.iter().flatten() {
        if let What::Work(work) = &feature.what
            && !works.contains(work)
        {
            works.push(work.clone());
        }
    }
    let row = |(index, point): (usize, &Vec<Feature>)| {
        let [along, square] = point[0].mark.from.map(|reading| lengths.bare(reading.rounded));
        let star = if point.iter().any(is_off) { "*" } else { "" };
        vec![format!("{}{star}", index + 1), along, square, words(point, &works)]
    };
    let unit = lengths.unit_in_words();
    let table = PaperTable {
        // A part by itself has its name and unit over picture and table.
        title: if ground.is_alone { String::new() } else { format!("Points, in the order of measuring, in {unit}") },
        notes: said(mark_out, ground.is_alone),
        columns: vec![
            PaperColumn::numbers("no."),
            PaperColumn::numbers("along"),
            PaperColumn::numbers("square"),
            PaperColumn::words("what"),
        ],
        rows: points.iter().enumerate().map(row).collect(),
        has_boxes: false,
    };
    let mut table = table;
    let told = works.iter().enumerate().map(|(index, work)| format!("{}: {work}.", letter(index)));
    table.notes.extend(told);
    if mark_out.holes.iter().flat_map(|group| &group.centres).any(|centre| centre.is_disc) {
        table.notes.push(DISC.to_owned());
    }
    if points.iter().flatten().any(is_off) {
        table.notes.push(if ground.is_alone { OFF_PART } else { OFF_SHEET }.to_owned());
    }
    MarkedOut { table, picture: picture(ground, mark_out, &points) }
}

/// A hole saw or drill of this size would make the hole, and its core is smaller than the disc.
const DISC: &str = "disc: it is the part; cut to the line and keep it, no hole saw of that size makes it.";

/// What to do about centres that lie outside.
const OFF_PART: &str = "* the centre lies outside the part; punch it before the outline is cut, or use the template.";
const OFF_SHEET: &str = "* the centre lies off the metal; use the template.";

/// Whether something is the centre of an arc that lies off the metal.
fn is_off(feature: &Feature) -> bool {
    matches!(feature.what, What::Arc(_, false))
}

/// What must be said of all.
fn said(mark_out: &MarkOut, is_alone: bool) -> Vec<String> {
    let mut notes = mark_out.statements();
    if is_alone {
        // Two straight edges that meet at the mark in the picture say all; other datums are told in a sentence, and what
        // follows is said once on many parts.
        let is_plain =
            matches!((mark_out.datum.first, mark_out.datum.second), (DatumLine::Edge { .. }, DatumLine::Edge { .. }));
        let datum = notes.iter().find(|note| note.starts_with("Datum")).cloned().unwrap_or_default();
        notes = match datum.split_once(". ") {
            _ if is_plain => Vec::new(),
            Some((datum, rest)) => vec![format!("{datum}."), rest.to_owned()],
            None => vec![datum],
        };
    } else {
        notes.push(
            "Mark every distance along the datum edge, then square each one up. Numbers are those of the picture, which \
             shows what to join. A point without a word is a corner; R is the centre of an arc, swung from there into its \
             edges; tools stand in the cut plan."
                .to_owned(),
        );
        if mark_out.parts.iter().any(|part| !part.scribe.is_empty()) {
            notes.push("1 up, 2 down: an end of bend line 1 or 2 of its part, and which way it is bent.".to_owned());
        }
    }
    notes
}

fn features(
    ground: &Ground<'_>,
    mark_out: &MarkOut,
    bends: &[BendLine],
    notes: &[HoleNote],
    lengths: LengthStyle,
) -> Vec<Feature> {
    let mut features: Vec<Feature> = Vec::new();
    for (part, marks) in mark_out.parts.iter().enumerate() {
        let mut add = |mark: Mark, what: What| features.push(Feature { mark, part, what });
        // Where an arc runs into an edge without a corner there is nothing to mark: it is swung from its centre.
        let is_swung = |number: u32| {
            let arcs = || marks.arcs.iter().filter(|arc| arc.between.contains(&number));
            arcs().next().is_some() && arcs().all(|arc| arc.is_on_stock)
        };
        for corner in marks.corners.iter().filter(|corner| !(corner.is_tangent && is_swung(corner.number))) {
            add(corner.mark, What::Corner);
        }
        for arc in &marks.arcs {
            add(arc.mark, What::Arc(size_of(lengths, arc.radius.exact), arc.is_on_stock));
        }
        for line in &marks.scribe {
            let name = name_of_line(ground, part, line, bends);
            for mark in &line.ends {
                add(*mark, What::Line(name.clone()));
            }
        }
    }
    for group in &mark_out.holes {
        for centre in &group.centres {
            let mut words = format!("Ø {}", size_of(lengths, group.diameter));
            if centre.is_disc {
                words.push_str(" disc");
            }
            features.push(Feature { mark: centre.mark, part: centre.part, what: What::Hole(words) });
            if let Some(work) = worked(ground, centre.part, centre.mark.place, notes) {
                features.push(Feature { mark: centre.mark, part: centre.part, what: What::Work(work) });
            }
        }
    }
    features
}

/// A size that a tool is known by, without the unit that the table names.
fn size_of(lengths: LengthStyle, size: f64) -> String {
    let text = lengths.tool_size(size);
    text.strip_suffix(lengths.unit.symbol()).map_or(text.clone(), |bare| bare.trim_end().to_owned())
}

/// What else is done to a hole, and from which side as the metal lies.
fn worked(ground: &Ground<'_>, part: usize, place: Point, notes: &[HoleNote]) -> Option<String> {
    let (_, position, _, index) = ground.parts.get(part)?;
    let note = notes.iter().find(|note| note.part == *index && position.apply(note.center).distance(place) < 0.01)?;
    let side = if note.is_up != position.is_mirrored { "from this side" } else { "from the other side" };
    Some(format!("{}, {side}", note.work))
}

/// A bend by its number, or what else is scribed.
fn name_of_line(ground: &Ground<'_>, part: usize, line: &ScribeMark, bends: &[BendLine]) -> String {
    let way = match line.purpose {
        ScribeUse::BendUp => "up",
        ScribeUse::BendDown => "down",
        ScribeUse::Mark => return "sight line".to_owned(),
    };
    let found = ground.parts.get(part).and_then(|(_, position, _, index)| {
        let is_it = |bend: &&BendLine| {
            let ends = [position.apply(bend.from), position.apply(bend.to)];
            bend.part == *index && (0..2).all(|end| ends[end].distance(line.ends[end].place) < 0.01)
        };
        bends.iter().find(is_it)
    });
    // Face down, up and down trade places; so they are told as they are seen.
    match found {
        // On a whole sheet there are many, and narrower rows save pages.
        Some(bend) if !ground.is_alone => format!("{} {way}", bend.name),
        Some(bend) => format!("bend {} {way}", bend.name),
        None => format!("bend {way}"),
    }
}

/// What is made at a point; nothing for a corner, which the picture shows.
fn words(point: &[Feature], works: &[String]) -> String {
    let mut said: Vec<String> = Vec::new();
    for feature in point {
        let what = match &feature.what {
            // Corners are plain to see in the picture.
            What::Corner => continue,
            What::Arc(radius, _) => {
                format!("R {radius}")
            }
            What::Hole(words) | What::Line(words) => words.clone(),
            What::Work(work) => match works.iter().position(|known| known == work) {
                Some(index) => format!("see {}", letter(index)),
                None => work.clone(),
            },
        };
        if !said.contains(&what) {
            said.push(what);
        }
    }
    said.join("; ")
}

/// A letter for the nth long text.
fn letter(index: usize) -> String {
    key(index).to_lowercase()
}

/// The move that brings the datum corner to (0, 0) and the datum edge onto the x axis.
fn to_datum(datum: &Datum) -> Isometry {
    let along: Vector = datum.along;
    let turn = if along.y == 0.0 && along.x > 0.0 { 0.0 } else { -along.angle().to_degrees() };
    let turned = Isometry::new(false, turn, 0.0, 0.0).apply(datum.corner);
    Isometry::new(false, turn, -turned.x, -turned.y)
}

fn picture(ground: &Ground<'_>, mark_out: &MarkOut, points: &[Vec<Feature>]) -> MarkPicture {
    let seen = to_datum(&mark_out.datum);
    let at = |point: &[Feature]| seen.apply(point[0].mark.place);
    let lines = mark_out.parts.iter().flat_map(|marks| &marks.scribe).map(|line| {
        let ends = line.ends.map(|end| seen.apply(end.place));
        (ends, line.purpose == ScribeUse::BendDown)
    });
    MarkPicture {
        sheet: ground.sheet.as_ref().map(|sheet| sheet.transformed(seen)),
        parts: ground
            .parts
            .iter()
            .map(|(shape, position, key, _)| (shape.transformed(*position).transformed(seen), key.clone()))
            .collect(),
        lines: lines.collect(),
        marks: points
            .iter()
            .enumerate()
            .map(|(index, point)| PictureMark {
                at: at(point),
                name: (index + 1).to_string(),
                is_hole: point.iter().any(|feature| matches!(feature.what, What::Hole(_))),
            })
            .collect(),
    }
}
