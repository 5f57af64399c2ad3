//! One sheet with all that lies on it, without what stands around it.

use std::fmt::Write as _;

use dropwise_geometry::{Bounds, Point, Polygon, Shape, Side, Unit, format_length};
use dropwise_model::{Job, Leftover, Plan, Sheet};

use super::annotate::plated_text;
use super::copies::{Copy, copies, key};
use super::fills::{Fills, SHEET};
use super::label::{Label, Places};
use super::leader::Leader;
use super::svg::{Canvas, Frame, MEDIUM, THICK, THIN};
use super::text::{clean, escape, shorten};

/// Longest name of a part that a picture shows, as a multiple of the text's size: about 36 letters.
const LONGEST_NAME: f64 = 24.0;

/// How far a curve may be from its stand-in when room for text is looked for, mm of paper.
const TOLERANCE: f64 = 0.1;

/// A part where it lies.
#[derive(Debug)]
struct Piece {
    part: usize,
    shape: Shape,
    /// Its name, whole and clean.
    name: String,
    copy: Copy,
    is_flipped: bool,
}

/// A sheet and all that lies on it.
#[derive(Debug)]
pub(super) struct Scene<'a> {
    /// The sheet.
    pub(super) sheet: &'a Sheet,
    /// Its shape as bought.
    pub(super) shape: Shape,
    /// The box around that.
    pub(super) bounds: Bounds,
    pieces: Vec<Piece>,
    leftovers: &'a [Leftover],
    unit: Unit,
}

/// What a label is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Owner {
    Piece(usize),
    Leftover(usize),
}

/// Labels of a scene at one scale.
#[derive(Debug)]
pub(super) struct Labels {
    /// Millimetres of the sheet for one of paper.
    paper: f64,
    placed: Vec<Label>,
    /// What found no room, with a place to point at.
    homeless: Vec<(Owner, Point)>,
}

impl Labels {
    /// How many names found no room within.
    pub(super) fn homeless(&self) -> usize {
        self.homeless.len()
    }
}

impl<'a> Scene<'a> {
    /// One sheet of a plan.
    pub(super) fn of(job: &'a Job, plan: &'a Plan, use_index: usize, unit: Unit) -> Self {
        let sheet_use = &plan.layout().sheets[use_index];
        let sheet = &job.sheets()[sheet_use.sheet];
        let shape = sheet.bought_shape(sheet_use.length);
        let numbers = copies(job, plan.layout());
        let pieces = sheet_use
            .placements
            .iter()
            .zip(&numbers[use_index])
            .map(|(placement, &copy)| {
                let part = &job.parts()[placement.part];
                Piece {
                    part: placement.part,
                    shape: part.shape.transformed(placement.position),
                    name: clean(&part.name),
                    copy,
                    is_flipped: placement.position.is_mirrored,
                }
            })
            .collect();
        let leftovers = &plan.figures().sheets[use_index].leftovers;
        Self { sheet, bounds: shape.bounds(), shape, pieces, leftovers, unit }
    }

    /// The kinds of parts on it, with how many there are of each, in the job's order.
    pub(super) fn kinds(&self) -> Vec<(usize, u32)> {
        let mut parts: Vec<usize> = self.pieces.iter().map(|piece| piece.part).collect();
        parts.sort_unstable();
        let mut kinds: Vec<(usize, u32)> = Vec::new();
        for part in parts {
            match kinds.last_mut() {
                Some((last, count)) if *last == part => *count += 1,
                _ => kinds.push((part, 1)),
            }
        }
        kinds
    }

    /// Whether something of it goes back into the rack.
    pub(super) fn has_leftovers(&self) -> bool {
        !self.leftovers.is_empty()
    }

    /// Finds room for the names of parts and the sizes of leftovers, at so many mm of the sheet for one of paper.
    pub(super) fn labels(&self, paper: f64) -> Labels {
        let mut labels = Labels { paper, placed: Vec::new(), homeless: Vec::new() };
        let mut take = |owner: Owner, region: &Polygon, texts: &[Vec<String>]| {
            let places = Places::of(region);
            match places.place(texts, paper) {
                Some(label) => labels.placed.push(label),
                None => labels.homeless.extend(places.target().map(|point| (owner, point))),
            }
        };
        for (index, leftover) in self.leftovers.iter().enumerate() {
            let size = self.size_of(leftover);
            let texts = [vec![format!("leftover {size}")], vec!["leftover".to_owned(), size.clone()], vec![size]];
            take(Owner::Leftover(index), &leftover.outline, &texts);
        }
        for (index, piece) in self.pieces.iter().enumerate() {
            take(Owner::Piece(index), &piece.shape.flatten(TOLERANCE * paper, Side::Shrink), &piece.texts());
        }
        labels
    }

    /// Sides of a leftover's largest rectangle.
    fn size_of(&self, leftover: &Leftover) -> String {
        let (length, width) = leftover.largest_rectangle;
        let length = format_length(length, self.unit);
        // The unit once is enough.
        let length = length.split(' ').next().unwrap_or_default().to_owned();
        format!("{length} × {}", format_length(width, self.unit))
    }

    /// Draws sheet, leftovers, damage and parts. `name` sets the scene apart from others in the same picture.
    pub(super) fn draw(&self, canvas: &mut Canvas, frame: Frame, fills: &Fills, name: &str) {
        let sheet_path = frame.shape(&self.shape);
        canvas.fill(&sheet_path, SHEET, "");
        for leftover in self.leftovers {
            // Its edge runs along those of parts, a kerf away: any thicker, and the two would blur into one.
            canvas.path(&frame.polygon(&leftover.outline), &fills.leftover(), THIN / 2.0, "");
        }
        if !self.sheet.damage.is_empty() {
            // Damage may be drawn past the edge of its sheet: only what lies on the sheet is shown.
            let clip = fills.id(&format!("clip{name}"));
            canvas
                .raw(&format!("<clipPath id=\"{clip}\"><path d=\"{sheet_path}\" clip-rule=\"evenodd\"/></clipPath>\n"));
            canvas.raw(&format!("<g clip-path=\"url(#{clip})\">\n"));
            for damage in &self.sheet.damage {
                let dashes =
                    format!(r#" stroke-dasharray="{} {}""#, canvas.paper_length(1.0), canvas.paper_length(0.8));
                canvas.path(&frame.outline(damage), &fills.damage(), MEDIUM, &dashes);
            }
            canvas.raw("</g>\n");
        }
        for piece in &self.pieces {
            let title = escape(&piece.description());
            canvas.raw(&format!("<g><title>{title}</title>\n"));
            canvas.path(&frame.shape(&piece.shape), &fills.part(piece.part), MEDIUM, "");
            canvas.raw("</g>\n");
        }
        canvas.path(&sheet_path, "none", THICK, "");
    }

    /// The names to be led out, at most `most`, of what found no room.
    pub(super) fn leaders(&self, frame: Frame, labels: &Labels, most: usize) -> Vec<Leader> {
        labels
            .homeless
            .iter()
            .take(most)
            .map(|&(owner, point)| {
                let (name, number) = match owner {
                    Owner::Piece(index) => (self.pieces[index].name.clone(), self.pieces[index].number()),
                    Owner::Leftover(index) => ("leftover".to_owned(), self.size_of(&self.leftovers[index])),
                };
                Leader { target: frame.at(point), name, number }
            })
            .collect()
    }

    /// Draws the labels that found room. Of the others, `led_out` are named elsewhere; the rest get a short key where
    /// there is room for that. Gives how many then have none.
    pub(super) fn draw_labels(&self, canvas: &mut Canvas, frame: Frame, labels: &Labels, led_out: usize) -> usize {
        let mut draw = |label: &Label| {
            plated_text(canvas, frame.at(label.center), label.size, label.turn_deg, &label.lines);
        };
        labels.placed.iter().for_each(&mut draw);
        let mut nameless = 0;
        for &(owner, _) in labels.homeless.iter().skip(led_out) {
            let key = match owner {
                Owner::Piece(index) => self.key_label(&self.pieces[index], labels.paper),
                Owner::Leftover(_) => None,
            };
            match key {
                Some(label) => draw(&label),
                None => nameless += 1,
            }
        }
        nameless
    }

    /// A short key within a part, with its number if there is room for that too.
    fn key_label(&self, piece: &Piece, paper: f64) -> Option<Label> {
        let region = piece.shape.flatten(TOLERANCE * paper, Side::Shrink);
        let texts = [vec![format!("{}{}", key(piece.part), piece.copy.number)], vec![key(piece.part)]];
        Places::of(&region).place(&texts, paper)
    }
}

impl Piece {
    /// Which copy it is, and whether it lies face down; empty for the only copy, face up.
    fn number(&self) -> String {
        let mut number = String::new();
        if self.copy.of > 1 {
            let _ = write!(number, "{}/{}", self.copy.number, self.copy.of);
        }
        if self.is_flipped {
            number.push_str(if number.is_empty() { "flipped" } else { " flipped" });
        }
        number
    }

    /// Name and number in one line.
    fn line(&self) -> String {
        let name = shorten(&self.name, LONGEST_NAME);
        format!("{name} {}", self.number()).trim().to_owned()
    }

    /// Ways to write name and number, best first.
    fn texts(&self) -> Vec<Vec<String>> {
        let (name, number) = (shorten(&self.name, LONGEST_NAME), self.number());
        let mut texts = vec![vec![self.line()]];
        // Broken at the blank that leaves the two lines most alike.
        let middle = name.len() / 2;
        let blank = name.match_indices(' ').map(|(at, _)| at).min_by_key(|at| at.abs_diff(middle));
        if !number.is_empty() {
            texts.push(vec![name.clone(), number.clone()]);
        }
        if let Some(blank) = blank {
            let (first, second) = (name[..blank].to_owned(), name[blank + 1..].to_owned());
            texts.push(vec![first.clone(), format!("{second} {number}").trim().to_owned()]);
            if !number.is_empty() {
                texts.push(vec![first, second, number]);
            }
        }
        texts
    }

    /// In words, for screen readers and for a pointer held over the part.
    fn description(&self) -> String {
        let flipped = if self.is_flipped { ", face down" } else { "" };
        format!("{}, copy {} of {}{flipped}", self.name, self.copy.number, self.copy.of)
    }
}
