//! A page being drawn: millimetres from its lower left corner, y up.

use dropwise_geometry::{Arc, Outline, Point, Segment, Shape, Vector, sin_cos_deg};
use pdf_writer::{Content, Str};

use super::font::{Fonts, Weight};

/// PDF units in a millimetre: 72 an inch (ISO 32000-1, 8.3.2.3).
pub(super) const UNITS: f64 = 72.0 / 25.4;

/// No Bézier curve spans more than this: a cubic over 30° misses its circle by 4e-7 of the radius, four micrometres on a
/// radius of ten metres. One over 90°, the usual choice, would miss by 0.3 mm on a radius of one metre.
const WIDEST_CURVE: f64 = std::f64::consts::FRAC_PI_6;

/// A kind of line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pen {
    /// Its thickness, mm.
    pub(super) width: f64,
    /// From black, 0, to white, 1.
    pub(super) gray: f64,
    /// Dashes and gaps, mm; empty for a line drawn through.
    pub(super) dashes: &'static [f64],
}

impl Pen {
    /// A black line drawn through.
    pub(super) const fn black(width: f64) -> Self {
        Self { width, gray: 0.0, dashes: &[] }
    }

    /// The same, dashed.
    pub(super) const fn dashed(self, dashes: &'static [f64]) -> Self {
        Self { dashes, ..self }
    }
}

/// Where text is fixed to its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Hold {
    Start,
    Middle,
    End,
}

/// A page.
pub(super) struct Page {
    pub(super) content: Content,
    /// Width and height, mm.
    pub(super) size: Vector,
}

impl Page {
    pub(super) fn new(size: Vector) -> Self {
        Self { content: Content::new(), size }
    }

    fn units(value: f64) -> f32 {
        // Numbers that are not finite, which no certified plan holds, would break the file.
        if value.is_finite() { (value * UNITS) as f32 } else { 0.0 }
    }

    fn set_pen(&mut self, pen: Pen) {
        self.content.set_line_width(Self::units(pen.width)).set_stroke_gray(pen.gray as f32);
        self.content.set_dash_pattern(pen.dashes.iter().map(|&dash| Self::units(dash)), 0.0);
    }

    /// Shows only what lies in a box until [`Page::unclip`].
    pub(super) fn clip(&mut self, corner: Point, size: Vector) {
        let units = Self::units;
        self.content.save_state().rect(units(corner.x), units(corner.y), units(size.x), units(size.y));
        self.content.clip_nonzero().end_path();
    }

    pub(super) fn unclip(&mut self) {
        self.content.restore_state();
    }

    /// A chain of straight lines.
    pub(super) fn line(&mut self, points: &[Point], pen: Pen) {
        let Some((first, rest)) = points.split_first() else { return };
        self.set_pen(pen);
        self.content.move_to(Self::units(first.x), Self::units(first.y));
        for point in rest {
            self.content.line_to(Self::units(point.x), Self::units(point.y));
        }
        self.content.stroke();
    }

    /// A box by its lower left corner.
    pub(super) fn rectangle(&mut self, corner: Point, size: Vector, pen: Pen) {
        let units = Self::units;
        self.set_pen(pen);
        self.content.rect(units(corner.x), units(corner.y), units(size.x), units(size.y)).stroke();
    }

    /// A filled box by its lower left corner.
    pub(super) fn filled_rectangle(&mut self, corner: Point, size: Vector, gray: f64) {
        let units = Self::units;
        self.content.set_fill_gray(gray as f32);
        self.content.rect(units(corner.x), units(corner.y), units(size.x), units(size.y)).fill_nonzero();
    }

    /// A filled polygon.
    pub(super) fn polygon(&mut self, points: &[Point], gray: f64) {
        let Some((first, rest)) = points.split_first() else { return };
        self.content.set_fill_gray(gray as f32).move_to(Self::units(first.x), Self::units(first.y));
        for point in rest {
            self.content.line_to(Self::units(point.x), Self::units(point.y));
        }
        self.content.close_path().fill_even_odd();
    }

    /// The area between rings of straight lines.
    pub(super) fn filled_rings(&mut self, rings: &[Vec<Point>], gray: f64) {
        self.content.set_fill_gray(gray as f32);
        for ring in rings {
            let Some((first, rest)) = ring.split_first() else { continue };
            self.content.move_to(Self::units(first.x), Self::units(first.y));
            for point in rest {
                self.content.line_to(Self::units(point.x), Self::units(point.y));
            }
            self.content.close_path();
        }
        self.content.fill_even_odd();
    }

    /// The rings of a shape, each point sent through `place`, which must keep circles circles.
    pub(super) fn shape(&mut self, shape: &Shape, place: &dyn Fn(Point) -> Point, pen: Pen) {
        self.set_pen(pen);
        for ring in shape.rings() {
            self.path(ring, place);
        }
        self.content.stroke();
    }

    /// The area of a shape.
    pub(super) fn filled_shape(&mut self, shape: &Shape, place: &dyn Fn(Point) -> Point, gray: f64) {
        self.content.set_fill_gray(gray as f32);
        for ring in shape.rings() {
            self.path(ring, place);
        }
        self.content.fill_even_odd();
    }

    fn path(&mut self, ring: &Outline, place: &dyn Fn(Point) -> Point) {
        let Some(first) = ring.vertices().first() else { return };
        let units = Self::units;
        let start = place(first.point);
        self.content.move_to(units(start.x), units(start.y));
        for segment in ring.segments() {
            match segment {
                Segment::Line { end, .. } => {
                    let end = place(end);
                    self.content.line_to(units(end.x), units(end.y));
                }
                Segment::Arc { end, arc, .. } => {
                    for [a, b, mut c] in curves(&arc) {
                        if c.distance(end) < arc.radius * 1e-9 {
                            c = end;
                        }
                        let (a, b, c) = (place(a), place(b), place(c));
                        self.content.cubic_to(units(a.x), units(a.y), units(b.x), units(b.y), units(c.x), units(c.y));
                    }
                }
            }
        }
        self.content.close_path();
    }

    /// A line of text `size` mm high (capitals take 0.73 of it) on its base line at `at`, turned counter-clockwise.
    pub(super) fn text(&mut self, fonts: &mut Fonts, style: Style, at: Point, text: &str) {
        let line = fonts.line(style.weight, text);
        let (sin, cos) = sin_cos_deg(style.turn_deg);
        let back = match style.hold {
            Hold::Start => 0.0,
            Hold::Middle => line.width / 2.0,
            Hold::End => line.width,
        } * style.size;
        let start = at - Vector::new(cos, sin) * back;
        self.content.begin_text().set_fill_gray(style.gray as f32);
        self.content.set_font(style.weight.resource(), Self::units(style.size));
        let matrix = [cos as f32, sin as f32, -sin as f32, cos as f32, Self::units(start.x), Self::units(start.y)];
        self.content.set_text_matrix(matrix);
        let mut rise = 0.0;
        for glyph in &line.glyphs {
            if glyph.offset.1 != rise {
                rise = glyph.offset.1;
                self.content.set_rise(Self::units(rise * style.size));
            }
            let mut show = self.content.show_positioned();
            let mut items = show.items();
            // Thousandths of the size, taken off the pen's way.
            let thousandths = |ems: f64| (ems * 1000.0) as f32;
            if glyph.offset.0 != 0.0 {
                items.adjust(-thousandths(glyph.offset.0));
            }
            items.show(Str(&glyph.id.to_be_bytes()));
            let surplus = glyph.natural + glyph.offset.0 - glyph.advance;
            if surplus.abs() > 1e-9 {
                items.adjust(thousandths(surplus));
            }
        }
        if rise != 0.0 {
            self.content.set_rise(0.0);
        }
        self.content.end_text();
    }
}

/// How text looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Style {
    pub(super) weight: Weight,
    /// Size of the type, mm.
    pub(super) size: f64,
    pub(super) hold: Hold,
    pub(super) turn_deg: f64,
    pub(super) gray: f64,
}

impl Style {
    /// Black, level, from its start.
    pub(super) const fn new(weight: Weight, size: f64) -> Self {
        Self { weight, size, hold: Hold::Start, turn_deg: 0.0, gray: 0.0 }
    }

    pub(super) const fn held(self, hold: Hold) -> Self {
        Self { hold, ..self }
    }

    pub(super) const fn turned(self, turn_deg: f64) -> Self {
        Self { turn_deg, ..self }
    }
}

/// Control points and ends of the Bézier curves along an arc.
///
/// # Source
/// Handles of 4/3 tan(a/4) radii for a curve over the angle a: textbook.
fn curves(arc: &Arc) -> impl Iterator<Item = [Point; 3]> {
    let count = (arc.sweep.abs() / WIDEST_CURVE - 1e-9).ceil().max(1.0);
    let step = arc.sweep / count;
    let handle = 4.0 / 3.0 * (step / 4.0).tan() * arc.radius;
    let (center, radius, start) = (arc.center, arc.radius, arc.start_angle);
    (0..count as usize).map(move |i| {
        let (from, to) = (start + step * i as f64, start + step * (i + 1) as f64);
        let (out, back) = (Vector::from_angle(from), Vector::from_angle(to));
        let end = center + back * radius;
        [center + out * radius + out.left() * handle, end - back.left() * handle, end]
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn curves_stay_on_their_circle() {
        for sweep in [0.1, -1.0, 3.0, -6.2] {
            let arc = Arc { center: Point::new(5.0, -3.0), radius: 10_000.0, start_angle: 0.7, sweep };
            let mut start = arc.at(0.0);
            for [a, b, end] in curves(&arc) {
                for i in 0..=20 {
                    let t = f64::from(i) / 20.0;
                    let (ab, bc) = (a.lerp(b, t), b.lerp(end, t));
                    let point = start.lerp(a, t).lerp(ab, t).lerp(ab.lerp(bc, t), t);
                    assert!((point.distance(arc.center) - arc.radius).abs() < 0.005);
                }
                start = end;
            }
            assert!(start.distance(arc.at(1.0)) < 1e-6);
        }
    }
}
