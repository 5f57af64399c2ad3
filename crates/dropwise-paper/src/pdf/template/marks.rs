//! What is drawn on pieces: outlines, centres, holes, bends, grain, names.
//!
//! Every text stands level, clear of each line and mark of its page and of other texts, or on a grey line that leads to
//! what it names.

use dropwise_geometry::{Bounds, Outline, Point, Shape, Vector};

use super::subject::Piece;
use crate::details::LengthStyle;
use crate::drawing::label::{CLEAR, LINE, Label, Places, SIZES};
use crate::drawing::naming::{Lines, Naming, Numbered, inside, name_points};
use crate::pdf::canvas::{Hold, Page, Pen, Style};
use crate::pdf::font::{Fonts, Weight};

/// Outlines to cut along; their middle is true.
const CUT: Pen = Pen::black(0.25);
/// Centre marks.
const CENTER: Pen = Pen::black(0.13);
/// Lines from notes: grey, so that nobody cuts along them.
const LEADER: Pen = Pen { width: 0.13, gray: 0.55, dashes: &[] };
/// Bends up: dashed. Bends down: a dash and a dot by turns, as centre lines are drawn (ISO 128-2).
const BEND_UP: Pen = Pen::black(0.3).dashed(&[4.0, 2.0]);
const BEND_DOWN: Pen = Pen::black(0.3).dashed(&[6.0, 1.5, 0.6, 1.5]);

/// Size of diameters and bends, mm: capitals and figures 2.5 mm high.
pub(super) const NOTE: f64 = 3.45;
/// Base line below the middle of a line of text, as a multiple of its size.
const BASE: f64 = 0.36;
/// How much larger names are than in pictures of a whole sheet: tried in this order.
const NAME_SCALES: [f64; 3] = [1.7, 1.2, 0.9];
/// Half the lengths of a grain arrow, mm: what is tried, the longest first.
const GRAIN: [f64; 4] = [30.0, 20.0, 13.0, 8.0];
/// Half the width of an arrow with some air, mm.
const ARROW: f64 = 1.8;
/// Radius of the ring of what is punched, mm.
const RING: f64 = 1.3;
/// Arms of the cross of an inside corner, mm.
const CORNER_ARM: f64 = 2.4;

/// How far the cross of a hole reaches from its middle, mm.
fn arm(diameter: f64) -> f64 {
    (diameter / 2.0 + 1.5).clamp(3.0, 7.0)
}

/// Both arms of a cross.
fn arms(center: Point, arm: f64) -> [[Point; 2]; 2] {
    [Vector::new(arm, 0.0), Vector::new(0.0, arm)].map(|way| [center - way, center + way])
}

impl Piece {
    /// Lines of all that is drawn of it: what marks and texts keep clear of.
    pub(super) fn lines(&self) -> Vec<[Point; 2]> {
        let mut lines: Vec<[Point; 2]> = crate::drawing::naming::sides(&self.polygon).collect();
        lines.extend(self.bends.iter().map(|bend| [bend.from, bend.to]));
        lines.extend(self.holes.iter().flat_map(|hole| arms(hole.center, arm(hole.diameter))));
        lines.extend(self.centers.iter().flat_map(|&center| arms(center, CORNER_ARM)));
        lines
    }
}

/// A page's window onto the subject.
pub(super) struct View<'a> {
    /// From the subject to the page.
    pub(super) place: &'a dyn Fn(Point) -> Point,
    /// What the page shows of the subject.
    pub(super) corner: Point,
    pub(super) size: Vector,
    /// How diameters are written.
    pub(super) lengths: LengthStyle,
}

impl View<'_> {
    /// What the page shows, less a hair of air along the frame.
    fn field(&self) -> Bounds {
        let air = Vector::new(CLEAR, CLEAR);
        Bounds::of([self.corner + air, self.corner + self.size - air])
    }
}

/// What is taken of a page.
pub(super) struct Board {
    taken: Lines,
    field: Bounds,
}

impl Board {
    /// A page on which these lines are drawn.
    pub(super) fn new(view: &View<'_>, lines: impl Iterator<Item = [Point; 2]>) -> Self {
        let mut taken = Lines::new(8.0);
        let (middle, half) = (view.corner + view.size * 0.5, view.size * 0.5);
        lines.filter(|&[a, b]| inside(a, b, middle, half).is_some()).for_each(|line| taken.add(line));
        Self { taken, field: view.field() }
    }

    /// Whether a box lies on the page and meets nothing.
    pub(super) fn is_free(&self, center: Point, half: Vector) -> bool {
        let (low, high) = (center - half, center + half);
        self.field.contains(low) && self.field.contains(high) && !self.taken.meet(center, half)
    }

    /// Takes a box.
    pub(super) fn take(&mut self, center: Point, half: Vector) {
        self.taken.add_box(center, half);
    }
}

/// Draws the lines of a piece.
pub(super) fn outlines(page: &mut Page, piece: &Piece, view: &View<'_>) {
    page.shape(&piece.shape, view.place, CUT);
    for &center in &piece.centers {
        cross(page, (view.place)(center), CORNER_ARM);
    }
    for bend in &piece.bends {
        page.line(&[(view.place)(bend.from), (view.place)(bend.to)], if bend.is_up { BEND_UP } else { BEND_DOWN });
    }
    for hole in &piece.holes {
        cross(page, (view.place)(hole.center), arm(hole.diameter));
    }
}

/// Draws what is said of pieces: sizes of holes, bends, grain, names.
pub(super) fn notes(page: &mut Page, fonts: &mut Fonts, pieces: &[&Piece], view: &View<'_>, board: &mut Board) {
    let lines = pieces.iter().flat_map(|piece| piece.lines());
    let points: Vec<Numbered> = pieces.iter().flat_map(|piece| points(piece, view)).collect();
    let naming = numbered(&points, lines, board);
    for named in &naming.named {
        let (center, half) = (named.center, named.half(1.0));
        if let Some([from, to]) = named.leader {
            page.line(&[(view.place)(from), (view.place)(to)], LEADER);
            board.taken.add([from, to]);
        }
        board.take(center, half);
        for line in &named.lines {
            let style = Style::new(Weight::Regular, named.size).held(Hold::Middle);
            page.text(fonts, style, (view.place)(center - Vector::new(0.0, BASE * named.size)), line);
        }
    }
    for piece in pieces {
        let places = Places::within(&piece.polygon, view.field());
        if let Some(grain_deg) = piece.grain_deg {
            grain(page, view, &places, grain_deg, board);
        }
        name(page, fonts, piece, view, &places, board);
    }
}

/// Where the words of holes and bends stand, clear of all that is on the page.
fn numbered(points: &[Numbered], lines: impl Iterator<Item = [Point; 2]>, board: &Board) -> Naming {
    let all: Vec<[Point; 2]> = board.taken.all().iter().copied().chain(lines).collect();
    name_points(&[], points, &all, board.field, (1.0, usize::MAX))
}

/// What is said of the holes and bends of a piece that a page shows.
fn points(piece: &Piece, view: &View<'_>) -> Vec<Numbered> {
    let field = view.field();
    let hole = |hole: &crate::details::RoundHole| {
        let mut text = format!("Ø {}", view.lengths.tool_size(hole.diameter));
        if let Some((_, work)) = piece.works.iter().find(|(center, _)| center.distance(hole.center) < 0.01) {
            text.push_str(&format!(", {work}"));
        }
        // A hair clear of the cross.
        Numbered { gap: arm(hole.diameter) + 0.3, ..Numbered::point(hole.center, &text, NOTE) }
    };
    let holes = piece.holes.iter().filter(|hole| field.contains(hole.center)).map(hole);
    let (middle, half) = (view.corner + view.size * 0.5, view.size * 0.5);
    let bends = piece.bends.iter().filter_map(|bend| {
        // What this page shows of it.
        let (first, last) = inside(bend.from, bend.to, middle, half)?;
        let shown = [bend.from.lerp(bend.to, first), bend.from.lerp(bend.to, last)];
        Some(Numbered::line(shown, &bend.label, NOTE))
    });
    holes.chain(bends).collect()
}

/// A cross in a ring, to punch at, with arms of a length on paper. Nothing else on a template has a ring.
fn cross(page: &mut Page, at: Point, arm: f64) {
    let ring = Shape::new(Outline::circle(at, RING), Vec::new());
    page.shape(&ring, &|point| point, CENTER);
    for line in arms(at, arm) {
        page.line(&line, CENTER);
    }
}

/// An arrow along the grain, as long as there is room for.
fn grain(page: &mut Page, view: &View<'_>, places: &Places, degrees: f64, board: &mut Board) {
    let along = Vector::from_angle(degrees.to_radians());
    let found = GRAIN.into_iter().find_map(|half| {
        let reach = Vector::new(along.x.abs() * half + ARROW, along.y.abs() * half + ARROW);
        places.place_level(reach, |center| board.is_free(center, reach)).map(|center| (center, half, reach))
    });
    if let Some((center, half, reach)) = found {
        arrow(page, view, center, degrees, half);
        board.take(center, reach);
    }
}

/// An arrow with two heads along the grain.
pub(super) fn arrow(page: &mut Page, view: &View<'_>, center: Point, degrees: f64, half: f64) {
    let along = Vector::from_angle(degrees.to_radians());
    let (from, to) = (center - along * half, center + along * half);
    page.line(&[(view.place)(from), (view.place)(to)], Pen::black(0.5));
    for (tip, along) in [(from, -along), (to, along)] {
        let back = tip - along * 4.0;
        page.polygon(&[tip, back + along.left() * 1.1, back - along.left() * 1.1].map(view.place), 0.0);
    }
}

/// The first of some texts that finds a place, level: a key on its side would be misread.
fn level(places: &Places, texts: &[Vec<String>], scale: f64, board: &Board) -> Option<(Label, Vector)> {
    SIZES.into_iter().find_map(|size| {
        texts.iter().find_map(|lines| {
            let (width, height) = Label::extent(lines, size);
            let half = Vector::new(width / 2.0 + CLEAR, height / 2.0 + CLEAR) * scale;
            let center = places.place_level(half, |center| board.is_free(center, half))?;
            Some((Label { lines: lines.clone(), size, center }, half))
        })
    })
}

/// Key, name and metal where there is room.
fn name(page: &mut Page, fonts: &mut Fonts, piece: &Piece, view: &View<'_>, places: &Places, board: &mut Board) {
    let face = if piece.is_flipped { " face down" } else { "" };
    let shortened = fonts.shorten(Weight::Bold, &piece.name, 30.0);
    let shortened = format!("{} {shortened}", piece.key);
    let whole = format!("{shortened}{face}");
    let class = fonts.shorten(Weight::Regular, &piece.class, 34.0);
    let keyed = format!("{}{face}", piece.key);
    let words: Vec<&str> = shortened.split(' ').collect();
    let (first, second) = words.split_at(words.len().div_ceil(2));
    let broken = vec![first.join(" "), format!("{}{face}", second.join(" "))];
    let texts = [
        vec![whole.clone(), class.clone()],
        [broken.clone(), vec![class.clone()]].concat(),
        vec![whole.clone()],
        broken,
        vec![piece.key.clone(), class],
        vec![keyed],
        vec![piece.key.clone()],
    ];
    // The whole name small before a key large.
    let label = texts
        .chunks(2)
        .find_map(|texts| NAME_SCALES.into_iter().find_map(|scale| Some((level(places, texts, scale, board)?, scale))));
    let Some(((Label { lines, size, center }, half), scale)) = label else { return };
    board.take(center, half);
    let size = size * scale;
    let down = Vector::new(0.0, -1.0);
    for (i, line) in lines.iter().enumerate() {
        let below = (i as f64 - (lines.len() as f64 - 1.0) / 2.0) * LINE + BASE;
        let weight = if i + 1 == lines.len() && lines.len() > 1 { Weight::Regular } else { Weight::Bold };
        // Bold is wider than the table of widths; what would run over is set smaller.
        let room = crate::drawing::text::width(line) * size;
        let fitted = (room / fonts.width(weight, line)).min(size);
        let style = Style::new(weight, fitted).held(Hold::Middle);
        page.text(fonts, style, (view.place)(center + down * (below * size)), line);
    }
}
