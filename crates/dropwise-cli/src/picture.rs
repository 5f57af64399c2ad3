//! A picture of an outline in characters.

use dropwise_geometry::{Bounds, Outline, Point, Shape, Side};

/// Columns and lines that a picture takes at most.
const COLUMNS: usize = 56;
const LINES: usize = 16;

/// Dots in a character of the braille block: two across, four down. Bits of the dots, row by row.
///
/// # Source
/// The Unicode Standard, block Braille Patterns, U+2800: dots 1, 4; 2, 5; 3, 6; 7, 8.
const DOTS: [[u32; 2]; 4] = [[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]];

/// An outline with its holes drawn in fine dots, damage shaded. Each line is ended.
pub(crate) fn picture(shape: &Shape, damage: &[Outline]) -> String {
    let mut picture = Picture::new(shape.bounds());
    damage.iter().for_each(|zone| picture.shade(zone, shape));
    picture.shape(shape);
    picture.text()
}

/// A drawing in fine dots.
///
/// A dot is as high as it is wide on a terminal whose characters are twice as high as wide, so that a square looks square.
pub(crate) struct Picture {
    grid: Grid,
    bounds: Bounds,
    /// Millimetres from dot to dot.
    step: f64,
}

impl Picture {
    /// An empty one, large enough for these bounds.
    pub(crate) fn new(bounds: Bounds) -> Self {
        let (wide, high) = (bounds.width().max(1e-9), bounds.height().max(1e-9));
        let step = (wide / (2 * COLUMNS - 1) as f64).max(high / (4 * LINES - 1) as f64);
        let columns = ((wide / step).round() as usize / 2 + 1).min(COLUMNS);
        let lines = ((high / step).round() as usize / 4 + 1).min(LINES);
        let grid = Grid { cells: vec![vec![0; columns]; lines], letters: Vec::new() };
        Self { grid, bounds, step }
    }

    fn at(&self, point: Point) -> (f64, f64) {
        ((point.x - self.bounds.min.x) / self.step, (self.bounds.max.y - point.y) / self.step)
    }

    fn rings(&self, shape: &Shape) -> Vec<Vec<Point>> {
        let polygon = shape.flatten(self.step / 4.0, Side::Shrink);
        polygon.rings().map(<[Point]>::to_vec).collect()
    }

    /// Draws the edges of a shape.
    pub(crate) fn shape(&mut self, shape: &Shape) {
        for ring in self.rings(shape) {
            self.ring(&ring);
        }
    }

    /// Shades a zone of a shape, and draws its edge.
    pub(crate) fn shade(&mut self, zone: &Outline, within: &Shape) {
        let (zone, whole) = (self.rings(&Shape::new(zone.clone(), Vec::new())), self.rings(within));
        for row in 0..4 * self.grid.cells.len() {
            // Every other dot of every other row: a grey.
            for column in (row % 4 / 2..2 * self.grid.cells[0].len()).step_by(2).filter(|_| row % 2 == 0) {
                let (min, max) = (self.bounds.min, self.bounds.max);
                let point = Point::new(min.x + column as f64 * self.step, max.y - row as f64 * self.step);
                if is_within(&zone, point) && is_within(&whole, point) {
                    self.grid.dot(column as f64, row as f64);
                }
            }
        }
        zone.iter().for_each(|ring| self.ring(ring));
    }

    /// Draws a line of dashes, as bend lines are drawn.
    pub(crate) fn dashes(&mut self, start: Point, end: Point) {
        let (from, to) = (self.at(start), self.at(end));
        self.grid.line(from, to, |step| step % 4 < 2);
    }

    /// Puts a letter where a point lies.
    pub(crate) fn letter(&mut self, point: Point, letter: char) {
        let (x, y) = self.at(point);
        self.grid.letter(x, y, letter);
    }

    fn ring(&mut self, ring: &[Point]) {
        for (i, &start) in ring.iter().enumerate() {
            let (from, to) = (self.at(start), self.at(ring[(i + 1) % ring.len()]));
            self.grid.line(from, to, |_| true);
        }
    }

    /// The lines, each ended.
    pub(crate) fn text(&self) -> String {
        self.grid.text()
    }
}

struct Grid {
    cells: Vec<Vec<u32>>,
    /// Line, column and letter of what is written over the dots.
    letters: Vec<(usize, usize, char)>,
}

impl Grid {
    fn dot(&mut self, x: f64, y: f64) {
        if x < -0.5 || y < -0.5 {
            return;
        }
        let (x, y) = (x.round() as usize, y.round() as usize);
        if let Some(cell) = self.cells.get_mut(y / 4).and_then(|line| line.get_mut(x / 2)) {
            *cell |= DOTS[y % 4][x % 2];
        }
    }

    fn line(&mut self, from: (f64, f64), to: (f64, f64), is_drawn: impl Fn(usize) -> bool) {
        let steps = (to.0 - from.0).abs().max((to.1 - from.1).abs()).ceil().max(1.0);
        for step in (0..=steps as usize).filter(|&step| is_drawn(step)) {
            let t = step as f64 / steps;
            self.dot(from.0 + (to.0 - from.0) * t, from.1 + (to.1 - from.1) * t);
        }
    }

    fn letter(&mut self, x: f64, y: f64, letter: char) {
        if x >= -0.5 && y >= -0.5 {
            self.letters.push((y.round() as usize / 4, x.round() as usize / 2, letter));
        }
    }

    fn text(&self) -> String {
        let dots = |&cell: &u32| if cell == 0 { ' ' } else { char::from_u32(0x2800 + cell).unwrap_or(' ') };
        let mut lines: Vec<Vec<char>> = self.cells.iter().map(|line| line.iter().map(dots).collect()).collect();
        for &(line, column, letter) in &self.letters {
            if let Some(cell) = lines.get_mut(line).and_then(|line| line.get_mut(column)) {
                *cell = letter;
            }
        }
        lines.iter().map(|line| format!("{}\n", line.iter().collect::<String>().trim_end())).collect()
    }
}

/// Whether a point lies within rings by the even-odd rule.
fn is_within(rings: &[Vec<Point>], point: Point) -> bool {
    let crossings = rings.iter().flat_map(|ring| {
        (0..ring.len()).filter(move |&i| {
            let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
            (a.y > point.y) != (b.y > point.y) && point.x < a.x + (b.x - a.x) * (point.y - a.y) / (b.y - a.y)
        })
    });
    crossings.count() % 2 == 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drop_with_a_bite_a_hole_and_rust() {
        let corners = [(0., 0.), (820., 0.), (820., 300.), (500., 300.), (500., 480.), (0., 480.)];
        let exterior = Outline::polygon(corners.map(|(x, y)| Point::new(x, y)));
        let shape = Shape::new(exterior, vec![Outline::circle(Point::new(250.0, 240.0), 90.0)]);
        let rust = Outline::rectangle(Point::new(640.0, 40.0), 150.0, 150.0);
        insta::assert_snapshot!(picture(&shape, &[rust]));
    }

    #[test]
    fn every_form_stays_in_its_frame() {
        for (width, height) in [(1.0, 1.0), (6000.0, 2.0), (2.0, 6000.0), (1e-3, 1e-3), (1250.0, 2500.0)] {
            let picture = picture(&Shape::new(Outline::rectangle(Point::new(-7.0, 9.0), width, height), vec![]), &[]);
            assert!(picture.lines().count() <= LINES && !picture.trim().is_empty(), "{width} x {height}");
            assert!(picture.lines().all(|line| line.chars().count() <= COLUMNS));
        }
    }
}
