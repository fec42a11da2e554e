//! A symmetric matrix, one row for each error, of which one half is kept.

use super::errors::STATES;

pub(super) type Row = [f32; STATES];

/// The numbers of one half, with the diagonal.
const CELLS: usize = STATES * (STATES + 1) / 2;

/// The matrix: of each row the part up to the diagonal, one row after the other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Symmetric {
    cells: [f32; CELLS],
}

impl Default for Symmetric {
    fn default() -> Self {
        Self { cells: [0.0; CELLS] }
    }
}

/// Where a cell is kept.
const fn place(row: usize, column: usize) -> usize {
    if row >= column { row * (row + 1) / 2 + column } else { column * (column + 1) / 2 + row }
}

impl Symmetric {
    pub(super) fn at(&self, row: usize, column: usize) -> f32 {
        self.cells.get(place(row, column)).copied().unwrap_or(0.0)
    }

    pub(super) fn cell(&mut self, row: usize, column: usize) -> Option<&mut f32> {
        self.cells.get_mut(place(row, column))
    }

    pub(super) fn set(&mut self, row: usize, column: usize, value: f32) {
        if let Some(cell) = self.cell(row, column) {
            *cell = value;
        }
    }

    /// A whole row, which is also a column; only its first `width` numbers, and zeros.
    pub(super) fn row(&self, row: usize, width: usize) -> Row {
        let mut whole = [0.0; STATES];
        for (column, each) in whole.iter_mut().take(width).enumerate() {
            *each = self.at(row, column);
        }
        whole
    }

    /// Adds the product of a row with itself, `by` times, in the first `width` rows.
    pub(super) fn add_square(&mut self, row: &Row, by: f32, width: usize) {
        let mut cells = self.cells.iter_mut();
        for (place, each) in row.iter().take(width).enumerate() {
            let times = by * each;
            // The row first: it ends first, and takes no cell too many.
            for (other, cell) in row.iter().take(place + 1).zip(cells.by_ref()) {
                *cell += times * other;
            }
        }
    }

    /// Subtracts the product of one row with another, and of the other with it.
    pub(super) fn subtract_crossed(&mut self, one: &Row, other: &Row) {
        let mut cells = self.cells.iter_mut();
        for (place, (a, b)) in one.iter().zip(other).enumerate() {
            for ((x, y), cell) in one.iter().zip(other).take(place + 1).zip(cells.by_ref()) {
                *cell -= a * y + b * x;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn both_halves_are_one_and_products_are_added_to_it() {
        let (mut one, mut other) = ([0.0; STATES], [0.0; STATES]);
        for place in 0..STATES {
            one[place] = 0.5 + place as f32;
            other[place] = 3.0 - 0.25 * place as f32;
        }
        let mut matrix = Symmetric::default();
        matrix.add_square(&one, 2.0, 5);
        matrix.subtract_crossed(&one, &other);
        matrix.set(7, 3, 1.5);
        for row in 0..STATES {
            for column in 0..STATES {
                let square = if row.max(column) < 5 { 2.0 * one[row] * one[column] } else { 0.0 };
                let crossed = one[row] * other[column] + other[row] * one[column];
                let is_set = [row, column] == [7, 3] || [row, column] == [3, 7];
                let expected = if is_set { 1.5 } else { square - crossed };
                assert_abs_diff_eq!(matrix.at(row, column), expected, epsilon = 1.0e-4);
                let narrow = if column < 6 { expected } else { 0.0 };
                assert_abs_diff_eq!(matrix.row(row, 6)[column], narrow, epsilon = 1.0e-4);
            }
        }
    }
}
