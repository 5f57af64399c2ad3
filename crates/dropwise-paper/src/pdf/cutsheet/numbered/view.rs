//! What of a picture is drawn, how large, and where its numbers stand.

use dropwise_geometry::{Bounds, Point, Polygon, Side, Vector};

use super::MarkPicture;
use crate::drawing::label::clipped;
use crate::drawing::naming::{Naming, Numbered, Subject, inside, name_points, sides};
use crate::pdf::canvas::{Hold, Page, Pen, Style};
use crate::pdf::cutsheet::ordinates::FIGURE;
use crate::pdf::font::{Fonts, Weight};

/// White around a picture, mm: numbers stand there too.
pub(super) const AROUND: f64 = 6.0;
/// How far the cross of a hole reaches from its middle, mm.
const CROSS: f64 = 1.2;
/// Lines are drawn so far beyond a window, so that one along its edge is not cut in half, mm.
const SHOWN: f64 = 0.3;
/// A part of a picture shows so much beyond its points, mm of paper.
const BEYOND: f64 = 5.0;

/// Some points of a picture with what lies around them.
#[derive(Clone, Debug)]
pub(super) struct View<'a> {
    pub(super) picture: &'a MarkPicture,
    /// Indices of those that are numbered.
    pub(super) marks: Vec<usize>,
    /// What is shown; `None` for all.
    limits: Option<Bounds>,
}

impl<'a> View<'a> {
    /// All of a picture. Of a sheet that is mostly empty the empty part is left away. Centres of arcs that lie beyond all
    /// metal are not shown: nobody marks them, as their rows say.
    pub(super) fn whole(picture: &'a MarkPicture) -> Self {
        let mut view = Self { picture, marks: Vec::new(), limits: None };
        let (everything, air) = (view.everything(), Vector::new(0.5, 0.5));
        let box_of_all = Bounds { min: everything.min - air, max: everything.max + air };
        view.marks = (0..picture.marks.len()).filter(|&index| box_of_all.contains(picture.marks[index].at)).collect();
        view
    }

    /// Some points alone.
    pub(super) fn part(picture: &'a MarkPicture, marks: Vec<usize>) -> Self {
        let limits = Bounds::of(marks.iter().map(|&index| picture.marks[index].at));
        Self { picture, marks, limits: Some(limits) }
    }

    /// What is shown at so many mm of the sheet for one of paper.
    pub(super) fn window(&self, scale: f64) -> Bounds {
        if let Some(limits) = self.limits {
            let beyond = Vector::new(BEYOND, BEYOND) * scale;
            let whole = self.everything();
            // No more than there is.
            let (low, high) = (limits.min - beyond, limits.max + beyond);
            return Bounds {
                min: Point::new(low.x.max(whole.min.x), low.y.max(whole.min.y)),
                max: Point::new(high.x.min(whole.max.x), high.y.min(whole.max.y)),
            };
        }
        let parts = self.picture.parts.iter().map(|(shape, _)| shape.bounds());
        let parts = Bounds::of(parts.flat_map(|bounds| [bounds.min, bounds.max]).chain([Point::ORIGIN]));
        let all = self.everything();
        let margin = Vector::new(parts.width(), parts.height()) * 0.08;
        let cut = |parts: f64, all: f64, margin: f64| if all > 1.6 * parts { parts + margin } else { all };
        Bounds {
            min: all.min,
            max: Point::new(
                cut(parts.max.x, all.max.x, margin.x).min(all.max.x),
                cut(parts.max.y, all.max.y, margin.y).min(all.max.y),
            ),
        }
    }

    /// The box around all that the picture holds.
    fn everything(&self) -> Bounds {
        let shapes = self.picture.sheet.iter().chain(self.picture.parts.iter().map(|(shape, _)| shape));
        let corners = shapes.map(dropwise_geometry::Shape::bounds).flat_map(|bounds| [bounds.min, bounds.max]);
        Bounds::of(corners.chain([Point::ORIGIN]))
    }

    /// How much smaller it is drawn to keep to a width and a height, mm.
    pub(super) fn fitted(&self, room: Vector) -> f64 {
        let size = |scale: f64| {
            let window = self.window(scale);
            (window.width() / room.x).max(window.height() / room.y).max(1e-6)
        };
        // What lies beyond the points of a part grows with the scale.
        (0..12).fold(size(0.0), |scale, _| size(scale))
    }

    /// How wide and high it comes out, with the white around it, mm.
    pub(super) fn extent(&self, scale: f64) -> Vector {
        let window = self.window(scale);
        Vector::new(window.width() / scale + 2.0 * AROUND, window.height() / scale + 2.0 * AROUND)
    }

    /// Outlines of parts and sheet as far as they are shown.
    fn regions(&self, scale: f64) -> Vec<(Polygon, &str)> {
        let window = self.window(scale);
        let parts = self.picture.parts.iter().map(|(shape, key)| (shape.flatten(0.1 * scale, Side::Shrink), key));
        parts
            .filter(|(region, _)| region.bounds().intersects(window))
            .map(|(region, key)| (region, key.as_str()))
            .collect()
    }

    /// Where numbers and keys stand; numbers come after keys. Where more than `most_lost` find no place at first, the others
    /// are not looked for.
    pub(super) fn naming(&self, scale: f64, most_lost: usize) -> Naming {
        let window = self.window(scale);
        let (middle, half) = (window.center(), Vector::new(window.width(), window.height()) * 0.5);
        let regions = self.regions(scale);
        let mut lines: Vec<[Point; 2]> =
            regions.iter().flat_map(|(region, _)| sides(region).collect::<Vec<_>>()).collect();
        lines.extend(self.picture.sheet.iter().flat_map(|sheet| {
            let edges = sheet.flatten(0.1 * scale, Side::Shrink);
            sides(&edges).collect::<Vec<_>>()
        }));
        lines.extend(self.picture.lines.iter().map(|&(line, _)| line));
        // What lies outside is not drawn.
        let shown = |[a, b]: [Point; 2]| {
            let (first, last) = inside(a, b, middle, half + Vector::new(SHOWN, SHOWN) * scale)?;
            Some([a.lerp(b, first), a.lerp(b, last)])
        };
        let mut lines: Vec<[Point; 2]> = lines.into_iter().filter_map(shown).collect();
        let spot = Vector::new(0.8, 0.8) * scale;
        for mark in self.picture.marks.iter().filter(|mark| window.contains(mark.at)) {
            lines.push([mark.at - spot, mark.at + spot]);
            if mark.is_hole {
                // The arms of its cross.
                for arm in [Vector::new(CROSS, 0.0), Vector::new(0.0, CROSS)] {
                    lines.push([mark.at - arm * scale, mark.at + arm * scale]);
                }
            }
        }
        // The mark of the datum.
        lines.push([Point::ORIGIN, Point::ORIGIN - Vector::new(2.5, 2.5) * scale]);
        let points = self.marks.iter().map(|&index| &self.picture.marks[index]);
        let points: Vec<Numbered> = points.map(|mark| Numbered::point(mark.at, &mark.name, FIGURE)).collect();
        let around = Vector::new(AROUND, AROUND) * scale;
        let field = Bounds::of([window.min - around, window.max + around]);
        name_points(&self.subjects(&regions, window), &points, &lines, field, (scale, most_lost))
    }

    /// The keys of the parts that are shown, each with where it may stand.
    fn subjects(&self, regions: &[(Polygon, &str)], window: Bounds) -> Vec<Subject> {
        let named = regions.iter().filter(|(_, key)| !key.is_empty());
        let subject = |(region, key): &(Polygon, &str)| {
            Some(Subject {
                region: clipped(region, window)?,
                is_part: true,
                names: Vec::new(),
                keys: vec![vec![(*key).to_owned()]],
                soft: Vec::new(),
            })
        };
        named.filter_map(subject).collect()
    }

    /// The numbers of points that found no place.
    pub(super) fn numberless(&self, naming: &Naming, scale: f64) -> Vec<&'a str> {
        let keys = self.subjects(&self.regions(scale), self.window(scale)).len();
        let lost = naming.nameless.iter().filter_map(|&index| index.checked_sub(keys));
        lost.map(|index| self.picture.marks[self.marks[index]].name.as_str()).collect()
    }

    /// The scale at which it comes out no higher than that with the white around it, mm.
    pub(super) fn shrunk(&self, scale: f64, high: f64) -> f64 {
        scale.max(self.window(scale).height() / (high - 2.0 * AROUND).max(1.0))
    }

    /// Draws it with the lower left corner of its window at a point of the page.
    pub(super) fn draw(&self, page: &mut Page, fonts: &mut Fonts, corner: Point, scale: f64, naming: &Naming) {
        let window = self.window(scale);
        let place = |point: Point| corner + (point - window.min) / scale;
        let size = Vector::new(window.width(), window.height()) / scale;
        let shown = Vector::new(SHOWN, SHOWN);
        page.clip(corner - shown, size + shown * 2.0);
        if let Some(sheet) = &self.picture.sheet {
            page.shape(sheet, &place, Pen::black(0.5));
        }
        for (shape, _) in self.picture.parts.iter().filter(|(shape, _)| shape.bounds().intersects(window)) {
            page.filled_shape(shape, &place, 0.94);
            page.shape(shape, &place, Pen::black(0.25));
        }
        for &([from, to], is_down) in &self.picture.lines {
            let dashes: &[f64] = if is_down { &[3.6, 0.9, 0.4, 0.9] } else { &[2.4, 1.2] };
            page.line(&[place(from), place(to)], Pen::black(0.15).dashed(dashes));
        }
        page.unclip();
        for mark in self.picture.marks.iter().filter(|mark| window.contains(mark.at)) {
            let at = place(mark.at);
            if mark.is_hole {
                page.line(&[at - Vector::new(CROSS, 0.0), at + Vector::new(CROSS, 0.0)], Pen::black(0.13));
                page.line(&[at - Vector::new(0.0, CROSS), at + Vector::new(0.0, CROSS)], Pen::black(0.13));
            } else {
                let half = Vector::new(0.35, 0.35);
                page.filled_rectangle(at - half, half * 2.0, 0.0);
            }
        }
        if window.contains(Point::ORIGIN) {
            let at = place(Point::ORIGIN);
            page.polygon(&[at, at + Vector::new(-3.4, -1.5), at + Vector::new(-1.5, -3.4)], 0.0);
        }
        let keys = self.subjects(&self.regions(scale), window).len();
        for named in &naming.named {
            if let Some([from, to]) = named.leader {
                page.line(&[place(from), place(to)], Pen { gray: 0.3, ..Pen::black(0.1) });
            }
            let weight = if named.subject < keys { Weight::Bold } else { Weight::Regular };
            let style = Style::new(weight, named.size).held(Hold::Middle);
            for line in &named.lines {
                page.text(fonts, style, place(named.center) - Vector::new(0.0, 0.36 * named.size), line);
            }
        }
    }
}
