//! A picture of an outline in characters.

use dropwise_geometry::{Outline, Point, Shape, Side};

/// Columns and lines that a picture takes at most.
const COLUMNS: usize = 56;
const LINES: usize = 16;

/// Dots in a character of the braille block: two across, four down. Bits of the dots, row by row.
///
/// # Source
/// The Unicode Standard, block Braille Patterns, U+2800: dots 1, 4; 2, 5; 3, 6; 7, 8.
const DOTS: [[u32; 2]; 4] = [[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]];

/// An outline with its holes drawn in fine dots, damage shaded. Each line is ended.
///
/// A dot is as high as it is wide on a terminal whose characters are twice as high as wide, so that a square looks square.
pub(crate) fn picture(shape: &Shape, damage: &[Outline]) -> String {
    let bounds = shape.bounds();
    let (wide, high) = (bounds.width().max(1e-9), bounds.height().max(1e-9));
    let step = (wide / (2 * COLUMNS - 1) as f64).max(high / (4 * LINES - 1) as f64);
    let columns = ((wide / step).round() as usize / 2 + 1).min(COLUMNS);
    let lines = ((high / step).round() as usize / 4 + 1).min(LINES);
    let mut grid = Grid { cells: vec![vec![0; columns]; lines] };
    let at = |point: Point| ((point.x - bounds.min.x) / step, (bounds.max.y - point.y) / step);
    let rings = |shape: &Shape| {
        let polygon = shape.flatten(step / 4.0, Side::Shrink);
        polygon.rings().map(<[Point]>::to_vec).collect::<Vec<_>>()
    };
    let whole = rings(shape);
    for zone in damage {
        let zone = rings(&Shape::new(zone.clone(), Vec::new()));
        for row in 0..4 * lines {
            // Every other dot of every other row: a grey.
            for column in (row % 4 / 2..2 * columns).step_by(2).filter(|_| row % 2 == 0) {
                let point = Point::new(bounds.min.x + column as f64 * step, bounds.max.y - row as f64 * step);
                if is_within(&zone, point) && is_within(&whole, point) {
                    grid.dot(column as f64, row as f64);
                }
            }
        }
        zone.iter().for_each(|ring| grid.ring(ring, at));
    }
    whole.iter().for_each(|ring| grid.ring(ring, at));
    grid.text()
}

struct Grid {
    cells: Vec<Vec<u32>>,
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

    fn ring(&mut self, ring: &[Point], at: impl Fn(Point) -> (f64, f64)) {
        for (i, &start) in ring.iter().enumerate() {
            let (from, to) = (at(start), at(ring[(i + 1) % ring.len()]));
            let steps = (to.0 - from.0).abs().max((to.1 - from.1).abs()).ceil().max(1.0);
            for step in 0..=steps as usize {
                let t = step as f64 / steps;
                self.dot(from.0 + (to.0 - from.0) * t, from.1 + (to.1 - from.1) * t);
            }
        }
    }

    fn text(&self) -> String {
        let letter = |&cell: &u32| if cell == 0 { ' ' } else { char::from_u32(0x2800 + cell).unwrap_or(' ') };
        let line = |line: &Vec<u32>| format!("{}\n", line.iter().map(letter).collect::<String>().trim_end());
        self.cells.iter().map(line).collect()
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
