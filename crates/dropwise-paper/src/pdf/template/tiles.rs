//! How something larger than the paper is split over pages.

use dropwise_geometry::{Point, Vector};

/// A grid of windows over something to be printed, all alike, each reaching over the next by the overlap. Lengths are
/// true ones, before any correction of the printer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Grid {
    /// Lower left corner of the lower left window.
    pub(super) origin: Point,
    /// What one page shows.
    pub(super) window: Vector,
    /// How far a window reaches over its neighbour.
    pub(super) overlap: f64,
    pub(super) columns: usize,
    pub(super) rows: usize,
}

/// Which window: column from the left, row from the top.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Tile {
    pub(super) column: usize,
    pub(super) row: usize,
}

/// How many windows cover a length; saturates, so that an absurd length is refused later and not counted.
fn count(length: f64, window: f64, overlap: f64) -> usize {
    // What touches the edge of a window to the hair still lies in it.
    ((length - overlap) / (window - overlap) - 1e-9).ceil().max(1.0) as usize
}

impl Grid {
    /// Windows over a box of this size with its lower left corner at `corner`; it lies in the middle of them.
    pub(super) fn over(corner: Point, size: Vector, window: Vector, overlap: f64) -> Self {
        let (columns, rows) = (count(size.x, window.x, overlap), count(size.y, window.y, overlap));
        let mut grid = Self { origin: corner, window, overlap, columns, rows };
        let spare = grid.extent() - size;
        grid.origin = corner - spare * 0.5;
        grid
    }

    /// What all windows together cover.
    pub(super) fn extent(&self) -> Vector {
        let along = |count: usize, window: f64| count as f64 * (window - self.overlap) + self.overlap;
        Vector::new(along(self.columns, self.window.x), along(self.rows, self.window.y))
    }

    /// How many windows there are.
    pub(super) fn len(&self) -> usize {
        self.columns.saturating_mul(self.rows)
    }

    /// Lower left corner of a window.
    pub(super) fn corner(&self, tile: Tile) -> Point {
        let step = self.window - Vector::new(self.overlap, self.overlap);
        let from_below = (self.rows - 1 - tile.row) as f64;
        self.origin + Vector::new(tile.column as f64 * step.x, from_below * step.y)
    }

    /// All windows, row by row from the upper left.
    pub(super) fn tiles(self) -> impl Iterator<Item = Tile> {
        (0..self.rows).flat_map(move |row| (0..self.columns).map(move |column| Tile { column, row }))
    }

    /// The neighbour so many columns to the right and rows down, if there is one.
    pub(super) fn neighbour(&self, tile: Tile, right: isize, down: isize) -> Option<Tile> {
        let column = tile.column.checked_add_signed(right).filter(|&column| column < self.columns)?;
        let row = tile.row.checked_add_signed(down).filter(|&row| row < self.rows)?;
        Some(Tile { column, row })
    }

    /// Where the marks stand that two neighbours share: on the middle of their overlap, about a quarter and three
    /// quarters along the window, at the nearest place that is free. Where none is, there is no mark: the lines of the
    /// overlap remain.
    pub(super) fn marks(&self, tile: Tile, is_free: &dyn Fn(Point) -> bool) -> Vec<Point> {
        let corner = self.corner(tile);
        let half = self.overlap / 2.0;
        let mut marks = Vec::new();
        let mut near = |at: &dyn Fn(f64) -> Point, length: f64| {
            for middle in [0.25, 0.75] {
                let steps = (0..=24).flat_map(|step| [f64::from(step), -f64::from(step)]);
                let places =
                    steps.map(|step| middle + step * 0.009).filter(|t| (t - 0.5).abs() * length < 0.5 * length - 10.0);
                marks.extend(places.map(at).find(|&place| is_free(place)));
            }
        };
        for (right, x) in [(-1, half), (1, self.window.x - half)] {
            if self.neighbour(tile, right, 0).is_some() {
                near(&|t| corner + Vector::new(x, t * self.window.y), self.window.y);
            }
        }
        for (down, y) in [(1, half), (-1, self.window.y - half)] {
            if self.neighbour(tile, 0, down).is_some() {
                near(&|t| corner + Vector::new(t * self.window.x, y), self.window.x);
            }
        }
        marks
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn windows_cover_everything_and_neighbours_share_their_marks() {
        let size = Vector::new(1000.0, 500.0);
        let grid = Grid::over(Point::new(-3.0, 7.0), size, Vector::new(190.0, 250.0), 10.0);
        // 5 x 180 + 10 = 910 is too little; 3 x 240 + 10 = 730 is enough, 490 is not.
        assert_eq!((grid.columns, grid.rows), (6, 3));
        assert!(grid.origin.x <= -3.0 && grid.origin.x + grid.extent().x >= 997.0);
        for tile in grid.tiles() {
            for (right, down) in [(1, 0), (0, 1), (-1, 0), (0, -1)] {
                let Some(other) = grid.neighbour(tile, right, down) else { continue };
                // Whatever is free, neighbours agree on it.
                let is_free = |place: Point| (place.x * 0.37 + place.y * 0.11).sin() > -0.5;
                let (own, others) = (grid.marks(tile, &is_free), grid.marks(other, &is_free));
                assert!(own.iter().all(|&mark| is_free(mark)));
                let shared = own.iter().filter(|mark| others.iter().any(|same| same.distance(**mark) < 1e-9)).count();
                assert_eq!(shared, 2, "{tile:?} {other:?}");
            }
        }
        assert_eq!(grid.tiles().next(), Some(Tile { column: 0, row: 0 }));
    }

    #[test]
    fn what_fits_takes_one_window_and_a_hair_more_takes_two() {
        let grid = |width| Grid::over(Point::ORIGIN, Vector::new(width, 10.0), Vector::new(190.0, 250.0), 10.0).columns;
        assert_eq!((grid(190.0), grid(190.01), grid(370.0), grid(370.01)), (1, 2, 2, 3));
    }
}
