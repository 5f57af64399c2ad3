//! The flat pattern of a bend card with its dimensions.

use dropwise_geometry::{Bounds, Point, Polygon, Side, Vector};
use dropwise_shop::fold::Direction;

use super::{FIGURE, THIN};
use crate::card::{BendCard, HoleGroup};
use crate::details::LengthStyle;
use crate::drawing::leader::spread;
use crate::drawing::naming::{Naming, Numbered, broken, name_points, sides};
use crate::pdf::canvas::{Hold, Page, Pen, Style};
use crate::pdf::font::{Fonts, Weight};

/// Room beside the flat pattern for dimensions, mm.
const DIMENSION: f64 = 16.0;
const ORDINATE: f64 = 22.0;
/// From the pattern to the line of a dimension, mm.
const AWAY: f64 = 8.0;
/// Where the lines of ordinates bend and end, mm from the pattern.
const ELBOW: [f64; 3] = [6.0, 9.0, 10.0];
/// Numbers stand up to so far from the pattern, mm.
const AROUND: f64 = 5.0;
/// Arms of the crosses of holes, mm.
const CROSS: f64 = 1.6;

const OUTLINE: Pen = Pen::black(0.35);
/// Bends up: dashed. Bends down: a dash and a dot by turns, as centre lines are drawn (ISO 128-2, from memory).
const BEND_UP: Pen = Pen::black(0.3).dashed(&[4.0, 2.0]);
const BEND_DOWN: Pen = Pen::black(0.3).dashed(&[6.0, 1.5, 0.6, 1.5]);

/// Where the flat pattern lies in its box, or on the page.
#[derive(Clone, Copy)]
struct View {
    bounds: Bounds,
    /// How much smaller it is drawn.
    scale: f64,
    /// Its lower left corner on the page, and its size there, mm.
    from: Point,
    drawn: Vector,
}

impl View {
    fn place(&self, point: Point) -> Point {
        self.from + (point - self.bounds.min) / self.scale
    }

    /// From the page to the pattern.
    fn back(&self, point: Point) -> Point {
        self.bounds.min + (point - self.from) * self.scale
    }
}

/// A figure beside the pattern, with the line that leads to it from the end of its bend line, in the pattern's box.
struct Ordinate {
    text: String,
    line: [Point; 4],
    is_upright: bool,
}

/// The flat pattern laid out for a box, its lower left corner at the origin: every line, figure and number in its place.
pub(super) struct Flat {
    view: View,
    crosses: Vec<[Point; 2]>,
    ordinates: Vec<Ordinate>,
    naming: Naming,
    lengths: LengthStyle,
}

impl Flat {
    /// Laid out: over all, bend lines, holes by letter.
    pub(super) fn of(
        fonts: &mut Fonts,
        card: &BendCard,
        groups: &[HoleGroup],
        lengths: LengthStyle,
        size: Vector,
    ) -> Self {
        let shape = &card.unfolding.shape;
        let bounds = shape.bounds();
        let figures = fonts.width(Weight::Regular, &longest_figure(card, lengths)) * FIGURE;
        let beyond = ORDINATE.max(ELBOW[2] + 1.0 + figures + 1.0);
        let room = size - Vector::new(DIMENSION + beyond, DIMENSION + beyond);
        let scale = (bounds.width() / room.x).max(bounds.height() / room.y.max(20.0)).max(1e-9);
        let drawn = Vector::new(bounds.width(), bounds.height()) / scale;
        let from = Point::new(DIMENSION + (room.x - drawn.x) / 2.0, DIMENSION + (room.y - drawn.y) / 2.0);
        let view = View { bounds, scale, from, drawn };
        let crosses: Vec<[Point; 2]> = groups
            .iter()
            .flat_map(|group| &group.centers)
            .flat_map(|&center| {
                [Vector::new(CROSS * scale, 0.0), Vector::new(0.0, CROSS * scale)]
                    .map(|arm| [center - arm, center + arm])
            })
            .collect();
        let ordinates = ordinates(card, lengths, &view);
        let polygon: Polygon = shape.flatten(0.1 * scale, Side::Shrink);
        let mut lines: Vec<[Point; 2]> = sides(&polygon).chain(crosses.iter().copied()).collect();
        lines.extend(card.unfolding.bends.iter().map(|bend| bend.line));
        // What stands around the pattern is in the way of numbers too.
        let around = ordinates.iter().flat_map(|one| one.line.windows(2).map(|pair| [pair[0], pair[1]]));
        lines.extend(around.chain(extension_lines(&view)).map(|line| line.map(|point| view.back(point))));
        // Numbers of bends first: they are looked for most.
        let bends = card.unfolding.bends.iter().zip(&card.names);
        let bends = bends.map(|(bend, name)| Numbered::line(bend.line, name, FIGURE * 1.15).bold());
        let holes =
            groups.iter().flat_map(|group| group.centers.iter().map(|&at| Numbered::point(at, &group.letter, FIGURE)));
        let points: Vec<Numbered> = bends.chain(holes).collect();
        let around = Vector::new(AROUND, AROUND) * scale;
        let field = Bounds::of([bounds.min - around, bounds.max + around]);
        let naming = name_points(&[], &points, &lines, field, (scale, usize::MAX));
        Self { view, crosses, ordinates, naming, lengths }
    }

    /// How much smaller it is drawn.
    pub(super) fn scale(&self) -> f64 {
        self.view.scale
    }

    /// Whether every number found its place.
    pub(super) fn is_complete(&self) -> bool {
        self.naming.nameless.is_empty()
    }

    /// Draws it with the lower left corner of its box at a point of the page.
    pub(super) fn draw(&self, page: &mut Page, fonts: &mut Fonts, card: &BendCard, corner: Point) {
        let from_corner = corner - Point::ORIGIN;
        let Self { view, naming, .. } = self;
        let view = View { from: view.from + from_corner, ..*view };
        let place = |point: Point| view.place(point);
        let shape = &card.unfolding.shape;
        page.filled_shape(shape, &place, 0.94);
        page.shape(shape, &place, OUTLINE);
        for [from, to] in &self.crosses {
            page.line(&[place(*from), place(*to)], THIN);
        }
        let boxes: Vec<(Point, Vector)> =
            naming.named.iter().map(|named| (named.center, named.half(view.scale))).collect();
        for bend in &card.unfolding.bends {
            for [a, b] in broken(bend.line, &boxes) {
                page.line(&[place(a), place(b)], if bend.direction == Direction::Up { BEND_UP } else { BEND_DOWN });
            }
        }
        for named in &naming.named {
            if let Some([a, b]) = named.leader {
                page.line(&[place(a), place(b)], THIN);
            }
            let weight = if named.subject < card.names.len() { Weight::Bold } else { Weight::Regular };
            let style = Style::new(weight, named.size).held(Hold::Middle);
            for line in &named.lines {
                page.text(fonts, style, place(named.center) - Vector::new(0.0, 0.36 * named.size), line);
            }
        }
        over_all(page, fonts, self.lengths, &view);
        for ordinate in &self.ordinates {
            ordinate.draw(page, fonts, from_corner);
        }
    }
}

/// Extension lines of length and width, and the middle of the datum mark, on the page.
fn extension_lines(view: &View) -> Vec<[Point; 2]> {
    let View { from, drawn, .. } = *view;
    let level = [from.x, from.x + drawn.x].map(|x| [Point::new(x, from.y - 3.0), Point::new(x, from.y - AWAY - 1.5)]);
    let upright = [from.y, from.y + drawn.y].map(|y| [Point::new(from.x - 3.0, y), Point::new(from.x - AWAY - 1.5, y)]);
    let datum = [from, from + Vector::new(-2.1, -2.1)];
    level.into_iter().chain(upright).chain([datum]).collect()
}

/// Length and width below and to the left of the flat pattern.
fn over_all(page: &mut Page, fonts: &mut Fonts, lengths: LengthStyle, view: &View) {
    let View { from, drawn, bounds, .. } = *view;
    let style = Style::new(Weight::Bold, FIGURE).held(Hold::Middle);
    let (low, left) = (from.y - AWAY, from.x - AWAY);
    page.line(&[Point::new(from.x, low), Point::new(from.x + drawn.x, low)], THIN);
    page.line(&[Point::new(left, from.y), Point::new(left, from.y + drawn.y)], THIN);
    // The last one is the middle of the datum mark, which is drawn as a triangle.
    for line in &extension_lines(view)[..4] {
        page.line(line, THIN);
    }
    for (tip, along) in [
        (Point::new(from.x, low), Vector::new(-1.0, 0.0)),
        (Point::new(from.x + drawn.x, low), Vector::new(1.0, 0.0)),
        (Point::new(left, from.y), Vector::new(0.0, -1.0)),
        (Point::new(left, from.y + drawn.y), Vector::new(0.0, 1.0)),
    ] {
        let back = tip - along * 2.4;
        page.polygon(&[tip, back + along.left() * 0.5, back - along.left() * 0.5], 0.0);
    }
    let across = lengths.bare(bounds.width());
    page.text(fonts, style, Point::new(from.x + drawn.x / 2.0, low - 4.2), &across);
    let upright = lengths.bare(bounds.height());
    page.text(fonts, style.turned(90.0), Point::new(left - 1.4, from.y + drawn.y / 2.0), &upright);
    page.polygon(&[from, from + Vector::new(-3.0, -1.3), from + Vector::new(-1.3, -3.0)], 0.0);
}

/// The longest of the figures beside the pattern: in inches they may be twice as long as in millimetres.
fn longest_figure(card: &BendCard, lengths: LengthStyle) -> String {
    let min = card.unfolding.shape.bounds().min;
    let values = card.unfolding.bends.iter().flat_map(|bend| {
        let at = bend.line[0] - min;
        [at.x, at.y]
    });
    values.map(|value| lengths.bare(value)).max_by_key(|text| text.chars().count()).unwrap_or_default()
}

/// Distances of upright bend lines from the left, above the pattern, and of level ones from below, to its right.
fn ordinates(card: &BendCard, lengths: LengthStyle, view: &View) -> Vec<Ordinate> {
    let mut found = Vec::new();
    for is_upright in [true, false] {
        // What it reads, the true distance on the page, the end of the bend line nearest to the figure.
        let mut lines: Vec<(String, f64, Point)> = Vec::new();
        for bend in &card.unfolding.bends {
            let [a, b] = bend.line;
            let way = b - a;
            let (across, along) = if is_upright { (way.x, way.y) } else { (way.y, way.x) };
            if across.abs() > 1e-6 * along.abs() {
                continue;
            }
            let (min, from) = (view.bounds.min, view.from);
            let value = if is_upright { a.x - min.x } else { a.y - min.y };
            let text = lengths.bare(value);
            let end = if (is_upright && a.y > b.y) || (!is_upright && a.x > b.x) { a } else { b };
            let at = if is_upright { view.place(a).x - from.x } else { view.place(a).y - from.y };
            match lines.iter_mut().find(|(known, ..)| *known == text) {
                Some((_, _, known)) => {
                    if (is_upright && end.y > known.y) || (!is_upright && end.x > known.x) {
                        *known = end;
                    }
                }
                None => lines.push((text, at, end)),
            }
        }
        lines.sort_by(|a, b| a.1.total_cmp(&b.1));
        let length = if is_upright { view.drawn.x } else { view.drawn.y };
        let wanted: Vec<f64> = lines.iter().map(|(_, at, _)| *at).collect();
        let spread = spread(&wanted, FIGURE * 1.25, -6.0, length + 6.0);
        for ((text, at, end), along) in lines.into_iter().zip(spread) {
            let point = |along: f64, out: f64| {
                let away = if is_upright {
                    Vector::new(along, view.drawn.y + out)
                } else {
                    Vector::new(view.drawn.x + out, along)
                };
                view.from + away
            };
            let line = [view.place(end), point(at, ELBOW[0]), point(along, ELBOW[1]), point(along, ELBOW[2])];
            found.push(Ordinate { text, line, is_upright });
        }
    }
    found
}

impl Ordinate {
    fn draw(&self, page: &mut Page, fonts: &mut Fonts, moved: Vector) {
        let line = self.line.map(|point| point + moved);
        page.line(&line, Pen { gray: 0.3, ..THIN });
        let style = Style::new(Weight::Regular, FIGURE);
        let end = line[3];
        if self.is_upright {
            page.text(fonts, style.turned(90.0), end + Vector::new(FIGURE * 0.36, 0.8), &self.text);
        } else {
            page.text(fonts, style, end + Vector::new(0.8, -FIGURE * 0.36), &self.text);
        }
    }
}
