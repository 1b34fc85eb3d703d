//! The linear algebra of one solver step.
//!
//! The tridiagonal block is eliminated from both ends to the middle: two short chains of operations that do not wait for
//! each other take half as long as one, and several right sides go along together.

use super::balance::{Slopes, State};
use super::row::Row;

/// The factorised matrix I − w·J: tridiagonal by elimination, the water border by its Schur complement.
pub(super) struct Factors<R, const S: usize> {
    wet: bool,
    /// Up to the middle the multiple of the row above that is taken away, beyond it the entry itself.
    lower: R,
    inverse: R,
    /// Before the middle the entry itself, from it on the multiple of the row below that is taken away.
    upper: R,
    columns: [R; S],
    surface_row: f64,
    /// Each ply's row; the film's is not used.
    rows: [R; S],
    /// The inverse of the Schur complement.
    schur: [[f64; S]; S],
}

impl<R: Row, const S: usize> Factors<R, S> {
    pub(super) fn new(count: usize) -> Self {
        let zeros = || R::zeros(count);
        Self {
            wet: false,
            lower: zeros(),
            inverse: zeros(),
            upper: zeros(),
            columns: std::array::from_fn(|_| zeros()),
            surface_row: 0.0,
            rows: std::array::from_fn(|_| zeros()),
            schur: [[0.0; S]; S],
        }
    }

    /// Factorises, and solves the first right side in place.
    ///
    /// False when a pivot comes too near zero to trust; the step is then shortened, which brings the matrix to the unit.
    pub(super) fn factor(
        &mut self,
        slopes: &Slopes<R, S>,
        weight: f64,
        wet: bool,
        first: &mut State<R, S>,
    ) -> bool {
        self.wet = wet;
        let mut sound = self.eliminate(slopes, weight);
        if !wet {
            self.reduce([first.warm.as_mut()]);
            return sound;
        }
        let all = self.columns.iter_mut().zip(&slopes.by_water);
        for (to, from) in all.chain(self.rows.iter_mut().zip(&slopes.of_water).skip(1)) {
            for (to, slope) in to.as_mut().iter_mut().zip(from.as_ref()) {
                *to = -weight * slope;
            }
        }
        self.surface_row = -weight * slopes.ink_water_by_surface;
        let mut columns = self.columns.clone();
        for column in &mut columns {
            self.reduce([column.as_mut()]);
        }
        self.reduce([first.warm.as_mut()]);
        self.columns = columns;
        let mut schur = [[0.0; S]; S];
        for (row, entries) in schur.iter_mut().enumerate() {
            for (column, entry) in entries.iter_mut().enumerate() {
                let own = if row == column {
                    1.0 - weight * slopes.stores[row]
                } else {
                    0.0
                };
                *entry = own - self.row_times(row, self.columns[column].as_ref());
            }
        }
        let (inverse, determinant) = inverted(schur);
        sound &= determinant.abs() > 1.0e-9;
        self.schur = inverse;
        self.border(first);
        sound
    }

    /// Solves in place.
    pub(super) fn solve(&self, right: &mut State<R, S>) {
        self.reduce([right.warm.as_mut()]);
        if self.wet {
            self.border(right);
        }
    }

    fn eliminate(&mut self, slopes: &Slopes<R, S>, weight: f64) -> bool {
        let (below, own, above) = (
            slopes.lower.as_ref(),
            slopes.middle.as_ref(),
            slopes.upper.as_ref(),
        );
        let (lower, inverse, upper) = (
            self.lower.as_mut(),
            self.inverse.as_mut(),
            self.upper.as_mut(),
        );
        let (count, middle) = (inverse.len(), inverse.len() / 2);
        let mut sound = true;
        let mut turned = |pivot: f64| {
            sound &= pivot > 1.0e-3;
            1.0 / pivot
        };
        for j in 0..middle {
            let mut pivot = 1.0 - weight * own[j];
            upper[j] = -weight * above[j];
            if j > 0 {
                lower[j] = -weight * below[j] * inverse[j - 1];
                pivot -= lower[j] * upper[j - 1];
            }
            inverse[j] = turned(pivot);
        }
        for j in (middle + 1..count).rev() {
            let mut pivot = 1.0 - weight * own[j];
            lower[j] = -weight * below[j];
            if j + 1 < count {
                upper[j] = -weight * above[j] * inverse[j + 1];
                pivot -= upper[j] * lower[j + 1];
            }
            inverse[j] = turned(pivot);
        }
        let mut pivot = 1.0 - weight * own[middle];
        if middle > 0 {
            lower[middle] = -weight * below[middle] * inverse[middle - 1];
            pivot -= lower[middle] * upper[middle - 1];
        }
        if middle + 1 < count {
            upper[middle] = -weight * above[middle] * inverse[middle + 1];
            pivot -= upper[middle] * lower[middle + 1];
        }
        inverse[middle] = turned(pivot);
        sound
    }

    /// Solves the tridiagonal block alone, for some right sides at once.
    #[inline(always)]
    fn reduce<const SIDES: usize>(&self, rights: [&mut [f64]; SIDES]) {
        let (lower, inverse, upper) = (
            self.lower.as_ref(),
            self.inverse.as_ref(),
            self.upper.as_ref(),
        );
        let (count, middle) = (inverse.len(), inverse.len() / 2);
        for right in rights {
            // One side after the other: short enough that the processor overlaps them.
            let right = &mut right[..count];
            for j in 1..=middle {
                right[j] -= lower[j] * right[j - 1];
            }
            for j in (middle..count - 1).rev() {
                right[j] -= upper[j] * right[j + 1];
            }
            right[middle] *= inverse[middle];
            for j in (0..middle).rev() {
                right[j] = (right[j] - upper[j] * right[j + 1]) * inverse[j];
            }
            for j in middle + 1..count {
                right[j] = (right[j] - lower[j] * right[j - 1]) * inverse[j];
            }
        }
    }

    /// A store's row times a column.
    fn row_times(&self, store: usize, column: &[f64]) -> f64 {
        match store {
            0 => self.surface_row * column[0],
            _ => dot(&self.rows[store], column),
        }
    }

    /// Brings the water stores in, once the block alone is solved.
    fn border(&self, right: &mut State<R, S>) {
        let rest: [f64; S] = std::array::from_fn(|store| {
            right.water[store] - self.row_times(store, right.warm.as_ref())
        });
        for (water, row) in right.water.iter_mut().zip(&self.schur) {
            *water = row.iter().zip(rest).map(|(entry, rest)| entry * rest).sum();
        }
        for (column, water) in self.columns.iter().zip(right.water) {
            for (w, by) in right.warm.as_mut().iter_mut().zip(column.as_ref()) {
                *w -= by * water;
            }
        }
    }
}

/// The inverse of a small matrix, by elimination with the larger pivot first, and its determinant.
fn inverted<const S: usize>(mut of: [[f64; S]; S]) -> ([[f64; S]; S], f64) {
    let mut inverse: [[f64; S]; S] =
        std::array::from_fn(|row| std::array::from_fn(|column| f64::from(u8::from(row == column))));
    let mut determinant = 1.0;
    for step in 0..S {
        let larger = |best: usize, row: usize| {
            if of[row][step].abs() > of[best][step].abs() {
                row
            } else {
                best
            }
        };
        let pivot = (step + 1..S).fold(step, larger);
        if pivot != step {
            of.swap(step, pivot);
            inverse.swap(step, pivot);
            determinant = -determinant;
        }
        determinant *= of[step][step];
        let by = 1.0 / of[step][step];
        for column in 0..S {
            of[step][column] *= by;
            inverse[step][column] *= by;
        }
        for row in 0..S {
            if row == step {
                continue;
            }
            let times = of[row][step];
            for column in 0..S {
                of[row][column] -= times * of[step][column];
                inverse[row][column] -= times * inverse[step][column];
            }
        }
    }
    (inverse, determinant)
}

fn dot(a: &impl AsRef<[f64]>, b: &[f64]) -> f64 {
    let mut sum = 0.0;
    for (x, y) in a.as_ref().iter().zip(b) {
        sum += x * y;
    }
    sum
}
