//! A small revised simplex for covering programs whose columns come one by one.

/// minimise cost · x, with rows · x = right side, x ≥ 0. Every row has a column of its own to start with.
///
/// Dense and meant for some hundred rows. Only its prices are used, and what is concluded from them holds for any
/// prices: rounding can make a conclusion weaker but not wrong.
///
/// # Source
/// Textbook revised simplex with the inverse of the basis kept: Chvátal, "Linear Programming" (1983), chapters 7 and 8.
#[derive(Clone, Debug)]
pub(super) struct Simplex {
    rows: usize,
    columns: Vec<Column>,
    basis: Vec<usize>,
    /// Values of the basic columns.
    values: Vec<f64>,
    inverse: Vec<f64>,
    pivots: u32,
}

#[derive(Clone, Debug)]
struct Column {
    cost: f64,
    entries: Vec<(usize, f64)>,
    is_basic: bool,
}

impl Simplex {
    /// `start` gives for each row the cost of its first column, a unit column; `right` the right side, not negative.
    pub(super) fn new(start: &[f64], right: &[f64]) -> Self {
        let rows = start.len();
        let mut inverse = vec![0.0; rows * rows];
        for row in 0..rows {
            inverse[row * rows + row] = 1.0;
        }
        let columns =
            (0..rows).map(|row| Column { cost: start[row], entries: vec![(row, 1.0)], is_basic: true }).collect();
        Self { rows, columns, basis: (0..rows).collect(), values: right.to_vec(), inverse, pivots: 0 }
    }

    pub(super) fn add(&mut self, cost: f64, entries: Vec<(usize, f64)>) {
        self.columns.push(Column { cost, entries, is_basic: false });
    }

    /// Price of each row.
    pub(super) fn prices(&self) -> Vec<f64> {
        let mut prices = vec![0.0; self.rows];
        for (position, &column) in self.basis.iter().enumerate() {
            let cost = self.columns[column].cost;
            if cost != 0.0 {
                let row = &self.inverse[position * self.rows..(position + 1) * self.rows];
                for (price, entry) in prices.iter_mut().zip(row) {
                    *price += cost * entry;
                }
            }
        }
        prices
    }

    /// Cost of the present solution.
    pub(super) fn objective(&self) -> f64 {
        self.basis.iter().zip(&self.values).map(|(&column, &value)| self.columns[column].cost * value).sum()
    }

    /// Pivots until no column known is worth taking, or the pivots run out.
    pub(super) fn solve(&mut self, mut pivots: u32) {
        while pivots > 0 {
            pivots -= 1;
            let prices = self.prices();
            let reduced =
                |column: &Column| column.cost - column.entries.iter().map(|&(row, a)| prices[row] * a).sum::<f64>();
            let entering = self
                .columns
                .iter()
                .enumerate()
                .filter(|(_, column)| !column.is_basic)
                .map(|(index, column)| (index, reduced(column) / (1.0 + column.cost.abs())))
                .min_by(|a, b| a.1.total_cmp(&b.1));
            let Some((entering, gain)) = entering else { return };
            if gain > -1e-8 || !self.pivot(entering) {
                return;
            }
        }
    }

    fn pivot(&mut self, entering: usize) -> bool {
        let rows = self.rows;
        let mut direction = vec![0.0; rows];
        for &(row, a) in &self.columns[entering].entries {
            for (position, value) in direction.iter_mut().enumerate() {
                *value += self.inverse[position * rows + row] * a;
            }
        }
        let mut leaving: Option<(usize, f64)> = None;
        for (position, &by) in direction.iter().enumerate() {
            if by > 1e-7 {
                let step = self.values[position].max(0.0) / by;
                // Among equals the largest pivot, which rounds least.
                if leaving
                    .is_none_or(|(held, least)| step < least - 1e-12 || step <= least + 1e-12 && by > direction[held])
                {
                    leaving = Some((position, step));
                }
            }
        }
        let Some((position, step)) = leaving else { return false };
        for (value, by) in self.values.iter_mut().zip(&direction) {
            *value -= step * by;
        }
        self.values[position] = step;
        let pivot = direction[position];
        let (before, rest) = self.inverse.split_at_mut(position * rows);
        let (own, after) = rest.split_at_mut(rows);
        for entry in own.iter_mut() {
            *entry /= pivot;
        }
        for (other, row) in before.chunks_exact_mut(rows).enumerate() {
            subtract(row, own, direction[other]);
        }
        for (other, row) in after.chunks_exact_mut(rows).enumerate() {
            subtract(row, own, direction[position + 1 + other]);
        }
        self.columns[self.basis[position]].is_basic = false;
        self.columns[entering].is_basic = true;
        self.basis[position] = entering;
        self.pivots += 1;
        true
    }
}

fn subtract(row: &mut [f64], own: &[f64], by: f64) {
    if by != 0.0 {
        for (entry, own) in row.iter_mut().zip(own) {
            *entry -= by * own;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Chvátal, "Linear Programming" (1983), chapter 1, the first example: the most of 5x + 4y + 3z under three limits is 13.
    #[test]
    fn the_first_example_of_the_textbook() {
        let mut simplex = Simplex::new(&[0.0; 3], &[5.0, 11.0, 8.0]);
        simplex.add(-5.0, vec![(0, 2.0), (1, 4.0), (2, 3.0)]);
        simplex.add(-4.0, vec![(0, 3.0), (1, 1.0), (2, 4.0)]);
        simplex.add(-3.0, vec![(0, 1.0), (1, 2.0), (2, 2.0)]);
        simplex.solve(100);
        assert!((simplex.objective() + 13.0).abs() < 1e-9);
        // x = 2 and z = 1; the prices of the limits are 1, 0, 1.
        let prices = simplex.prices();
        for (price, expected) in prices.iter().zip([-1.0, 0.0, -1.0]) {
            assert!((price - expected).abs() < 1e-9);
        }
    }
}
