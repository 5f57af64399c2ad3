//! One sheet with all that lies on it, without what stands around it.

use dropwise_geometry::{Bounds, Isometry, Point, Shape, Side, Unit, Vector};
use dropwise_model::{Job, Leftover, Plan, Sheet};
use dropwise_shop::markout::Grid;

use super::annotate::plated_text;
use super::copies::{Copy, copies, copy_key};
use super::fills::{Fills, SHEET};
use super::label::{BASE, LINE};
use super::naming::{Named, Naming, Subject, broken, keys_of, name_all, names_of, sides};
use super::style::DrawingStyle;
use super::svg::{Anchor, Canvas, Frame, MEDIUM, THICK, THIN, number};
use super::text::{clean, escape};
use crate::details::{BendLine, LengthStyle};

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
    /// Its bend lines, and whether the flange comes up towards whoever looks at the sheet.
    bends: Vec<([Point; 2], bool)>,
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
    /// Areas that are kept clear.
    pub(super) clear: Vec<Shape>,
    /// In which lengths are written.
    pub(super) unit: Unit,
}

impl<'a> Scene<'a> {
    /// One sheet of a plan.
    pub(super) fn of(job: &'a Job, plan: &'a Plan, use_index: usize, style: &DrawingStyle) -> Self {
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
                    bends: bends_of(placement.part, placement.position, &style.bends),
                }
            })
            .collect();
        let leftovers = &plan.figures().sheets[use_index].leftovers;
        let clear = job.instructions().reserved_on(sheet_use.sheet).map(|(_, area)| area.clone()).collect();
        Self { sheet, bounds: shape.bounds(), shape, pieces, leftovers, clear, unit: style.unit }
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

    /// Whether a part on it is bent.
    pub(super) fn has_bends(&self) -> bool {
        self.pieces.iter().any(|piece| !piece.bends.is_empty())
    }

    /// Finds room for keys and names of parts and the sizes of leftovers, at so many mm of the sheet for one of paper.
    /// Keys are led out within `field`.
    pub(super) fn naming(&self, paper: f64, field: Option<Bounds>) -> Naming {
        let mut subjects: Vec<Subject> = self
            .pieces
            .iter()
            .map(|piece| {
                let key = copy_key(piece.part, piece.copy);
                Subject {
                    region: piece.shape.flatten(TOLERANCE * paper, Side::Shrink),
                    is_part: true,
                    names: names_of(&key, &piece.name, piece.is_flipped),
                    keys: match field {
                        Some(_) => keys_of(&key, piece.is_flipped),
                        // At a glance the key alone will do: which face lies up is told by the sheet's own picture.
                        None => keys_of(&key, false),
                    },
                    soft: piece.bends.iter().map(|&(line, _)| line).collect(),
                }
            })
            .collect();
        for leftover in self.leftovers {
            let size = self.size_of(leftover);
            let whole = vec![format!("leftover {size}")];
            subjects.push(Subject {
                region: leftover.outline.clone(),
                is_part: false,
                names: Vec::new(),
                keys: vec![whole, vec!["leftover".to_owned(), size.clone()], vec![size]],
                soft: Vec::new(),
            });
        }
        let damage = self.sheet.damage.iter().map(|ring| Shape::new(ring.clone(), Vec::new()));
        let lines: Vec<[Point; 2]> = std::iter::once(self.shape.clone())
            .chain(damage)
            .flat_map(|shape| sides(&shape.flatten(TOLERANCE * paper, Side::Shrink)).collect::<Vec<_>>())
            .collect();
        name_all(&subjects, &lines, field, paper)
    }

    /// Sides of a leftover's largest rectangle.
    fn size_of(&self, leftover: &Leftover) -> String {
        let (length, width) = leftover.largest_rectangle;
        let lengths = LengthStyle::tape(Grid::beside(self.unit));
        // The unit once is enough.
        format!("{} × {}", lengths.bare(length), lengths.with_unit(width))
    }

    /// Draws sheet, leftovers, damage and parts. `name` sets the scene apart from others in the same picture. With
    /// `links`, each part is a link to a row of the page around the picture: `prefix-r0`, and has the name `prefix-p0`.
    pub(super) fn draw(&self, canvas: &mut Canvas, frame: Frame, fills: &Fills, name: &str, links: Option<&str>) {
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
        // What is kept clear is good metal: a dashed line around it, and nothing on it.
        for area in &self.clear {
            let dashes = format!(r#" stroke-dasharray="{} {}""#, canvas.paper_length(2.0), canvas.paper_length(1.2));
            canvas.path(&frame.shape(area), "none", MEDIUM, &dashes);
        }
        // A tap into a hole is meant for the part around it; what lies in the hole is drawn above.
        if let Some(prefix) = links {
            for (index, piece) in self.pieces.iter().enumerate().filter(|(_, piece)| !piece.shape.holes().is_empty()) {
                canvas.raw(&format!(r##"<a class="hit" href="#{prefix}-r{index}" tabindex="-1" aria-hidden="true">"##));
                canvas.fill(&frame.outline(piece.shape.exterior()), "transparent", "");
                canvas.raw("</a>\n");
            }
        }
        for (index, piece) in self.pieces.iter().enumerate() {
            let title = escape(&piece.description());
            let (open, close) = match links {
                None => ("<g>".to_owned(), "</g>\n"),
                // Out of the order of the tab key: the rows of the page are in it and say the same.
                Some(prefix) => (
                    format!(
                        r##"<a id="{prefix}-p{index}" class="piece" href="#{prefix}-r{index}" tabindex="-1" aria-label="{title}">"##
                    ),
                    "</a>\n",
                ),
            };
            canvas.raw(&format!("{open}<title>{title}</title>\n"));
            canvas.path(&frame.shape(&piece.shape), &fills.part(piece.part), MEDIUM, "");
            canvas.raw(close);
        }
        canvas.path(&sheet_path, "none", THICK, "");
    }

    /// Draws bend lines, which break behind labels, and the labels with their lines. They lie above the parts and let
    /// every tap through to them.
    pub(super) fn draw_labels(&self, canvas: &mut Canvas, frame: Frame, naming: &Naming) {
        canvas.raw("<g pointer-events=\"none\">\n");
        let boxes: Vec<(Point, Vector)> =
            naming.named.iter().map(|named| (named.center, named.half(canvas.paper))).collect();
        for (line, is_up) in self.pieces.iter().flat_map(|piece| &piece.bends) {
            for [from, to] in broken(*line, &boxes) {
                bend_line(canvas, frame.at(from), frame.at(to), *is_up);
            }
        }
        for named in &naming.named {
            if let Some([from, to]) = named.leader {
                // A white line below the black one, so that it stays apart from the outlines it crosses.
                for (width, colour) in [(2.6 * THIN, "#fff"), (THIN, "#000")] {
                    canvas.line(&[frame.at(from), frame.at(to)], width, colour);
                }
                canvas.dot(frame.at(to), 0.5);
            }
        }
        for named in &naming.named {
            let is_part = named.subject < self.pieces.len();
            label(canvas, frame.at(named.center), named, is_part);
        }
        canvas.raw("</g>\n");
    }
}

/// Bend lines of a part where it lies. Face down, what comes up from its face goes down from the side that is seen.
fn bends_of(part: usize, position: Isometry, bends: &[BendLine]) -> Vec<([Point; 2], bool)> {
    let of_part = bends.iter().filter(|bend| bend.part == part);
    of_part
        .map(|bend| ([position.apply(bend.from), position.apply(bend.to)], bend.is_up != position.is_mirrored))
        .collect()
}

/// A bend line: dashed where the flange comes up, dash-dotted where it goes down.
fn bend_line(canvas: &mut Canvas, from: Point, to: Point, is_up: bool) {
    let dashes: &[f64] = if is_up { &[2.4, 1.2] } else { &[3.6, 0.9, 0.4, 0.9] };
    let dashes: Vec<String> = dashes.iter().map(|&dash| canvas.paper_length(dash)).collect();
    let width = canvas.paper_length(THIN);
    canvas.raw(&format!(
        "<path class=\"bend\" d=\"M{} {}L{} {}\" fill=\"none\" stroke=\"#000\" stroke-width=\"{width}\" stroke-dasharray=\"{}\"/>\n",
        number(from.x),
        number(from.y),
        number(to.x),
        number(to.y),
        dashes.join(" ")
    ));
}

/// A label about its middle. The first line of a part's, with its key, is bold.
fn label(canvas: &mut Canvas, middle: Point, named: &Named, is_part: bool) {
    if !is_part {
        // Hatched ground: a plate keeps the hatch from running through the words.
        plated_text(canvas, middle, named.size, 0.0, &named.lines);
        return;
    }
    let count = named.lines.len() as f64;
    for (i, line) in named.lines.iter().enumerate() {
        let below = ((i as f64 - (count - 1.0) / 2.0) * LINE + BASE) * named.size * canvas.paper;
        let weight = if i == 0 { r#" font-weight="bold""# } else { "" };
        canvas.text(middle + Vector::new(0.0, below), named.size, Anchor::Middle, 0.0, weight, line);
    }
}

impl Piece {
    /// In words, for screen readers and for a pointer held over the part.
    fn description(&self) -> String {
        let flipped = if self.is_flipped { ", face down" } else { "" };
        format!(
            "{} {}, copy {} of {}{flipped}",
            copy_key(self.part, self.copy),
            self.name,
            self.copy.number,
            self.copy.of
        )
    }
}
