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
use super::text::{clean, escape, shorten, width};

/// Longest name of a part that a picture shows, as a multiple of the text's size: about 36 letters.
const LONGEST_NAME: f64 = 24.0;

/// Copies of one kind whose names find no room within are named together when this near, mm of paper.
const TOGETHER: f64 = 16.0;

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
    /// What found no room, each with a place to point at; copies of one kind that lie together are one group.
    groups: Vec<Vec<(Owner, Point)>>,
}

impl Labels {
    /// How many names found no room within; copies of one kind that lie together share one.
    pub(super) fn homeless(&self) -> usize {
        self.groups.len()
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
        let mut placed = Vec::new();
        let mut homeless = Vec::new();
        // A key that the legend explains comes before a line to the side: lines cross the neighbours of their part, and
        // on a wide sheet all of them.
        let mut take = |owner: Owner, region: &Polygon, texts: &[Vec<String>], keys: &[Vec<String>]| {
            let places = Places::of(region);
            match places.place(texts, paper).or_else(|| places.place(keys, paper)) {
                Some(label) => placed.push(label),
                None => homeless.extend(places.target().map(|point| (owner, point))),
            }
        };
        for (index, leftover) in self.leftovers.iter().enumerate() {
            let size = self.size_of(leftover);
            let texts = [vec![format!("leftover {size}")], vec!["leftover".to_owned(), size.clone()], vec![size]];
            take(Owner::Leftover(index), &leftover.outline, &texts, &[]);
        }
        for (index, piece) in self.pieces.iter().enumerate() {
            take(
                Owner::Piece(index),
                &piece.shape.flatten(TOLERANCE * paper, Side::Shrink),
                &piece.texts(),
                &piece.keys(),
            );
        }
        Labels { paper, placed, groups: self.groups(homeless, paper) }
    }

    /// Puts copies of one kind together that lie no farther than [`TOGETHER`] from another of their group, from left
    /// to right.
    fn groups(&self, mut homeless: Vec<(Owner, Point)>, paper: f64) -> Vec<Vec<(Owner, Point)>> {
        let kind = |owner: Owner| match owner {
            Owner::Piece(index) => Some((self.pieces[index].part, self.pieces[index].is_flipped)),
            Owner::Leftover(_) => None,
        };
        homeless.sort_by(|(_, a), (_, b)| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
        let mut groups: Vec<Vec<(Owner, Point)>> = Vec::new();
        for (owner, point) in homeless {
            let is_near = |group: &&mut Vec<(Owner, Point)>| {
                kind(owner).is_some()
                    && group
                        .iter()
                        .any(|&(other, at)| kind(other) == kind(owner) && at.distance(point) <= TOGETHER * paper)
            };
            match groups.iter_mut().find(is_near) {
                Some(group) => group.push((owner, point)),
                None => groups.push(vec![(owner, point)]),
            }
        }
        groups
    }

    /// Sides of a leftover's largest rectangle.
    fn size_of(&self, leftover: &Leftover) -> String {
        let (length, width) = leftover.largest_rectangle;
        let length = format_length(length, self.unit);
        // The unit once is enough.
        let length = length.split(' ').next().unwrap_or_default().to_owned();
        format!("{length} × {}", format_length(width, self.unit))
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

    /// The names to be led out, at most `most`, of what found no room.
    pub(super) fn leaders(&self, frame: Frame, labels: &Labels, most: usize) -> Vec<Leader> {
        labels
            .groups
            .iter()
            .take(most)
            .map(|group| {
                let pieces: Vec<&Piece> = group
                    .iter()
                    .filter_map(|&(owner, _)| match owner {
                        Owner::Piece(index) => Some(&self.pieces[index]),
                        Owner::Leftover(_) => None,
                    })
                    .collect();
                let (name, number) = match (pieces.first(), group[0].0) {
                    (Some(piece), _) => (piece.name.clone(), numbers_of(&pieces)),
                    (None, Owner::Leftover(index)) => ("leftover".to_owned(), self.size_of(&self.leftovers[index])),
                    (None, Owner::Piece(_)) => unreachable!("a group that starts with a piece has pieces"),
                };
                Leader { targets: group.iter().map(|&(_, point)| frame.at(point)).collect(), name, number }
            })
            .collect()
    }

    /// Draws the labels that found room. Of the others, `led_out` groups are named elsewhere; the rest get a short key where
    /// there is room for that. Gives how many then have none.
    pub(super) fn draw_labels(&self, canvas: &mut Canvas, frame: Frame, labels: &Labels, led_out: usize) -> usize {
        let mut draw = |label: &Label| {
            plated_text(canvas, frame.at(label.center), label.size, label.turn_deg, &label.lines);
        };
        labels.placed.iter().for_each(&mut draw);
        let mut nameless = 0;
        for &(owner, _) in labels.groups.iter().skip(led_out).flatten() {
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

    /// The short key of its kind within a part.
    fn key_label(&self, piece: &Piece, paper: f64) -> Option<Label> {
        let region = piece.shape.flatten(TOLERANCE * paper, Side::Shrink);
        let places = Places::of(&region);
        // Small with its number was tried before.
        places.place(&[vec![key(piece.part)]], paper)
    }
}

/// Which copies some pieces of one kind are: `3/8`, `2–5 of 8`, `1–3, 7 of 8`; only how many where that would be long.
/// Then whether they lie face down. Empty for the only copy, face up.
fn numbers_of(pieces: &[&Piece]) -> String {
    let Some(first) = pieces.first() else { return String::new() };
    let mut numbers: Vec<u32> = pieces.iter().map(|piece| piece.copy.number).collect();
    numbers.sort_unstable();
    let mut runs: Vec<(u32, u32)> = Vec::new();
    for number in numbers {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == number => *last = number,
            _ => runs.push((number, number)),
        }
    }
    let mut text = String::new();
    if runs.len() > 3 {
        let _ = write!(text, "{} of {}", pieces.len(), first.copy.of);
    } else if first.copy.of > 1 {
        let run = |&(from, to): &(u32, u32)| if from == to { from.to_string() } else { format!("{from}–{to}") };
        let between = if pieces.len() == 1 { "/" } else { " of " };
        let _ = write!(text, "{}{between}{}", runs.iter().map(run).collect::<Vec<_>>().join(", "), first.copy.of);
    }
    if first.is_flipped {
        text.push_str(if text.is_empty() { "flipped" } else { " flipped" });
    }
    text
}

/// A name in so many lines, broken at blanks so that the longest line is as short as may be; `None` when it has too
/// few words.
fn broken(name: &str, lines: usize) -> Option<Vec<String>> {
    if lines <= 1 {
        return Some(vec![name.to_owned()]);
    }
    name.match_indices(' ')
        .filter_map(|(blank, _)| {
            let mut broken = vec![name[..blank].to_owned()];
            broken.extend(self::broken(&name[blank + 1..], lines - 1)?);
            Some(broken)
        })
        .min_by(|a, b| longest(a).total_cmp(&longest(b)))
}

fn longest(lines: &[String]) -> f64 {
    lines.iter().map(|line| width(line)).fold(0.0, f64::max)
}

/// Lines of a name with its number at the end of the last.
fn broken_with(lines: &[String], number: &str) -> Option<Vec<String>> {
    let (last, rest) = lines.split_last()?;
    Some([rest, &[format!("{last} {number}").trim().to_owned()]].concat())
}

impl Piece {
    /// Which copy it is, and whether it lies face down; empty for the only copy, face up.
    fn number(&self) -> String {
        numbers_of(&[self])
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
        for lines in 1..=3 {
            let Some(broken) = broken(&name, lines) else { break };
            if lines > 1 {
                texts.extend(broken_with(&broken, &number));
            }
            if !number.is_empty() {
                texts.push([broken, vec![number.clone()]].concat());
            }
        }
        texts
    }

    /// Ways to write the key of its kind with its number, `B2`, best first.
    fn keys(&self) -> Vec<Vec<String>> {
        let number = if self.copy.of > 1 { self.copy.number.to_string() } else { String::new() };
        let key = format!("{}{number}", key(self.part));
        if self.is_flipped {
            return vec![vec![format!("{key} flipped")], vec![key, "flipped".to_owned()]];
        }
        vec![vec![key]]
    }

    /// In words, for screen readers and for a pointer held over the part.
    fn description(&self) -> String {
        let flipped = if self.is_flipped { ", face down" } else { "" };
        format!("{}, copy {} of {}{flipped}", self.name, self.copy.number, self.copy.of)
    }
}

#[cfg(test)]
mod tests {
    use dropwise_geometry::Outline;

    use super::*;

    #[test]
    fn numbers_of_copies_are_told_in_runs() {
        let text = |numbers: &[u32], of: u32, is_flipped: bool| {
            let shape = Shape::new(Outline::rectangle(Point::ORIGIN, 1.0, 1.0), Vec::new());
            let piece = |&number: &u32| Piece {
                part: 0,
                shape: shape.clone(),
                name: String::new(),
                copy: Copy { number, of },
                is_flipped,
            };
            let pieces: Vec<Piece> = numbers.iter().map(piece).collect();
            numbers_of(&pieces.iter().collect::<Vec<_>>())
        };
        assert_eq!(text(&[1], 1, false), "");
        assert_eq!(text(&[1], 1, true), "flipped");
        assert_eq!(text(&[3], 8, true), "3/8 flipped");
        assert_eq!(text(&[5, 2, 4, 3], 8, false), "2–5 of 8");
        assert_eq!(text(&[7, 1, 2, 3], 8, false), "1–3, 7 of 8");
        assert_eq!(text(&[1, 3, 5, 7, 9], 90, false), "5 of 90");
    }

    #[test]
    fn names_break_where_the_lines_are_most_alike() {
        assert_eq!(broken("Corner bracket", 1).unwrap(), ["Corner bracket"]);
        assert_eq!(broken("Cover for the winch", 2).unwrap(), ["Cover for", "the winch"]);
        assert_eq!(broken("Cover for the winch", 3).unwrap().len(), 3);
        assert_eq!(broken("Tab", 2), None);
        assert_eq!(broken_with(&["Cover".to_owned(), "plate".to_owned()], "2/4").unwrap(), ["Cover", "plate 2/4"]);
    }
}
