//! What is drawn on a piece: outline, centres, holes, bends, grain, name.

use dropwise_geometry::{Point, Polygon, Vector, difference, intersection};

use super::subject::{Piece, PieceBend};
use crate::details::LengthStyle;
use crate::drawing::label::{CLEAR, LINE, Label, Places, SIZES, line_meets_box};
use crate::pdf::canvas::{Hold, Page, Pen, Style};
use crate::pdf::font::{Fonts, Weight};

/// Outlines to cut along; their middle is true.
const CUT: Pen = Pen::black(0.25);
/// Centre marks.
const CENTER: Pen = Pen::black(0.13);
/// Bends up: dashed. Bends down: a dash and a dot by turns, as centre lines are drawn (ISO 128-2).
const BEND_UP: Pen = Pen::black(0.3).dashed(&[4.0, 2.0]);
const BEND_DOWN: Pen = Pen::black(0.3).dashed(&[6.0, 1.5, 0.6, 1.5]);

/// Size of notes such as diameters, mm.
const NOTE: f64 = 2.8;
/// Base line below the middle of a line of text, as a multiple of its size.
const BASE: f64 = 0.36;
/// How much larger names are than in pictures of a whole sheet: tried in this order.
const NAME_SCALES: [f64; 3] = [1.7, 1.2, 0.9];
/// A grain arrow is drawn where a circle of this radius has room, mm.
const GRAIN_ROOM: f64 = 9.0;

/// A box taken by text or an arrow: its middle and half its sides.
type Taken = (Point, Vector);

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
    fn polygon(&self) -> Polygon {
        Polygon::new(corners(self.corner + self.size * 0.5, self.size * 0.5).to_vec(), Vec::new())
    }

    fn holds(&self, point: Point) -> bool {
        let from = point - self.corner;
        (0.0..=self.size.x).contains(&from.x) && (0.0..=self.size.y).contains(&from.y)
    }
}

fn corners(center: Point, half: Vector) -> [Point; 4] {
    [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(u, v)| center + Vector::new(u * half.x, v * half.y))
}

/// Draws a piece as far as a window shows it.
pub(super) fn piece(page: &mut Page, fonts: &mut Fonts, piece: &Piece, view: &View<'_>, register: &[Point]) {
    page.shape(&piece.shape, view.place, CUT);
    let mut taken: Vec<Taken> = register.iter().map(|&mark| (mark, super::tile_page::MARK)).collect();
    for &center in &piece.centers {
        cross(page, (view.place)(center), 2.4);
        taken.push((center, Vector::new(2.4, 2.4)));
    }
    for bend in &piece.bends {
        draw_bend(page, fonts, bend, view, &mut taken);
    }
    for hole in &piece.holes {
        let arm = (hole.diameter / 2.0 + 1.5).clamp(3.0, 7.0);
        cross(page, (view.place)(hole.center), arm);
        taken.push((hole.center, Vector::new(arm, arm)));
    }
    let edges: Vec<(Point, Point)> =
        piece.polygon.rings().flat_map(|ring| ring.iter().copied().zip(ring.iter().copied().cycle().skip(1))).collect();
    for hole in piece.holes.iter().filter(|hole| view.holds(hole.center)) {
        let mut text = format!("Ø {}", view.lengths.tool_size(hole.diameter));
        if let Some((_, work)) = piece.works.iter().find(|(center, _)| center.distance(hole.center) < 0.01) {
            text.push_str(&format!(", {work}"));
        }
        note(page, fonts, view, &edges, (hole.center, hole.diameter / 2.0), &text, &mut taken);
    }
    // Where what is seen cannot be told, marks go about the whole piece.
    let within = intersection(std::slice::from_ref(&piece.polygon), &[view.polygon()])
        .unwrap_or_else(|_| vec![piece.polygon.clone()]);
    let Some(region) = within.into_iter().max_by(|a, b| a.area().total_cmp(&b.area())) else { return };
    if let Some(grain_deg) = piece.grain_deg {
        let free = without(region.clone(), &taken);
        if let Some((point, depth)) = Places::of(&free).deepest().filter(|&(_, depth)| depth >= GRAIN_ROOM) {
            let half = (depth * 0.85).min(30.0);
            arrow(page, view, point, grain_deg, half);
            let (along, width) = (Vector::from_angle(grain_deg.to_radians()), 1.5);
            let reach = Vector::new(along.x.abs() * half + width, along.y.abs() * half + width);
            taken.push((point, reach));
        }
    }
    name(page, fonts, piece, view, &without(region, &taken));
}

/// What of a region is not taken; its largest piece.
fn without(region: Polygon, taken: &[Taken]) -> Polygon {
    if taken.is_empty() {
        return region;
    }
    let boxes: Vec<Polygon> =
        taken.iter().map(|&(center, half)| Polygon::new(corners(center, half).to_vec(), Vec::new())).collect();
    let free = difference(std::slice::from_ref(&region), &boxes).unwrap_or_default();
    free.into_iter().max_by(|a, b| a.area().total_cmp(&b.area())).unwrap_or(region)
}

/// A cross in a ring, to punch at, with arms of a length on paper. Nothing else on a template has a ring.
pub(super) fn cross(page: &mut Page, at: Point, arm: f64) {
    let ring = dropwise_geometry::Shape::new(dropwise_geometry::Outline::circle(at, 1.3), Vec::new());
    page.shape(&ring, &|point| point, CENTER);
    page.line(&[at - Vector::new(arm, 0.0), at + Vector::new(arm, 0.0)], CENTER);
    page.line(&[at - Vector::new(0.0, arm), at + Vector::new(0.0, arm)], CENTER);
}

fn draw_bend(page: &mut Page, fonts: &mut Fonts, bend: &PieceBend, view: &View<'_>, taken: &mut Vec<Taken>) {
    page.line(&[(view.place)(bend.from), (view.place)(bend.to)], if bend.is_up { BEND_UP } else { BEND_DOWN });
    let Some(along) = (bend.to - bend.from).unit() else { return };
    let degrees = along.angle().to_degrees().rem_euclid(180.0);
    let turn_deg = if degrees > 90.0 + 1e-6 { degrees - 180.0 } else { degrees };
    let width = fonts.width(Weight::Bold, &bend.label) * NOTE;
    // At the middle of what this page shows of it, and kept free of names.
    let steps = 40;
    let shown: Vec<Point> = (0..=steps)
        .map(|i| bend.from.lerp(bend.to, f64::from(i) / f64::from(steps)))
        .filter(|&p| view.holds(p))
        .collect();
    for pair in shown.windows(2) {
        let half = (pair[1] - pair[0]) * 0.5;
        taken.push((pair[0].lerp(pair[1], 0.5), Vector::new(half.x.abs() + 1.0, half.y.abs() + 1.0)));
    }
    let Some(&middle) = shown.get(shown.len() / 2) else { return };
    let up = Vector::from_angle((turn_deg + 90.0).to_radians());
    let center = middle + up * (0.5 * NOTE + 1.0);
    let style = Style::new(Weight::Bold, NOTE).held(Hold::Middle).turned(turn_deg);
    page.text(fonts, style, (view.place)(center - up * (BASE * NOTE)), &bend.label);
    let right = Vector::from_angle(turn_deg.to_radians());
    let half = Vector::new(
        right.x.abs() * width / 2.0 + up.x.abs() * NOTE / 2.0 + 0.5,
        right.y.abs() * width / 2.0 + up.y.abs() * NOTE / 2.0 + 0.5,
    );
    taken.push((center, half));
}

/// A note beside a circle: at the first place around it where it crosses no edge and covers nothing.
fn note(
    page: &mut Page,
    fonts: &mut Fonts,
    view: &View<'_>,
    edges: &[(Point, Point)],
    (center, radius): (Point, f64),
    text: &str,
    taken: &mut Vec<Taken>,
) {
    let half = Vector::new(fonts.width(Weight::Regular, text) * NOTE / 2.0 + 0.4, NOTE * 0.55);
    let reach = radius.max(2.0) + 1.0;
    let slant = reach * std::f64::consts::FRAC_1_SQRT_2;
    // A hair clear of the cross, which is taken.
    let arm = (radius + 1.5).clamp(3.0, 7.0) + 0.3;
    let candidates = [
        Vector::new(arm.max(reach) + half.x, 0.0),
        Vector::new(slant + half.x, slant + half.y),
        Vector::new(-slant - half.x, slant + half.y),
        Vector::new(slant + half.x, -slant - half.y),
        Vector::new(-slant - half.x, -slant - half.y),
        Vector::new(-arm.max(reach) - half.x, 0.0),
        Vector::new(0.0, arm.max(reach) + half.y),
        Vector::new(0.0, -arm.max(reach) - half.y),
        // Within a large hole.
        Vector::new(0.0, -arm - half.y),
    ];
    let is_free = |middle: Point| {
        let is_shown = corners(middle, half).iter().all(|&corner| view.holds(corner));
        is_shown
            && !edges.iter().any(|&(a, b)| line_meets_box(a - middle, b - middle, half))
            && !taken.iter().any(|&(other, reach)| {
                let apart = middle - other;
                apart.x.abs() < half.x + reach.x && apart.y.abs() < half.y + reach.y
            })
    };
    // Where there is no room the size still stands on the first page and on the cut sheet.
    let Some(middle) = candidates.into_iter().map(|away| center + away).find(|&middle| is_free(middle)) else { return };
    taken.push((middle, half));
    let style = Style::new(Weight::Regular, NOTE).held(Hold::Middle);
    page.text(fonts, style, (view.place)(middle - Vector::new(0.0, BASE * NOTE)), text);
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
fn level(places: &Places, texts: &[Vec<String>], scale: f64) -> Option<Label> {
    SIZES.into_iter().find_map(|size| {
        texts.iter().find_map(|lines| {
            let (width, height) = Label::extent(lines, size);
            let half = Vector::new(width / 2.0 + CLEAR, height / 2.0 + CLEAR) * scale;
            let center = places.place_level(half, |_| true)?;
            Some(Label { lines: lines.clone(), size, center })
        })
    })
}

/// Key, name and metal where there is room.
fn name(page: &mut Page, fonts: &mut Fonts, piece: &Piece, view: &View<'_>, region: &Polygon) {
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
    let places = Places::of(region);
    // The whole name small before a key large.
    let label = texts
        .chunks(2)
        .find_map(|texts| NAME_SCALES.into_iter().find_map(|scale| Some((level(&places, texts, scale)?, scale))));
    let Some((Label { lines, size, center }, scale)) = label else { return };
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
