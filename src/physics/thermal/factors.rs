//! The linear algebra of one solver step.
//!
//! The tridiagonal block is eliminated from both ends to the middle: two short chains of operations that do not wait for
//! each other take half as long as one, and several right sides go along together.

use super::balance::{Slopes, State};
use super::row::Row;

/// The factorised matrix I − w·J: tridiagonal by elimination, the water border by its Schur complement.
pub(super) struct Factors<R> {
    wet: bool,
    /// Up to the middle the multiple of the row above that is taken away, beyond it the entry itself.
    lower: R,
    inverse: R,
    /// Before the middle the entry itself, from it on the multiple of the row below that is taken away.
    upper: R,
    columns: [R; 2],
    surface_row: f64,
    fabric_row: R,
    schur: [[f64; 2]; 2],
}

impl<R: Row> Factors<R> {
    pub(super) fn new(count: usize) -> Self {
        let zeros = || R::zeros(count);
        Self {
            wet: false,
            lower: zeros(),
            inverse: zeros(),
            upper: zeros(),
            columns: [zeros(), zeros()],
            surface_row: 0.0,
            fabric_row: zeros(),
            schur: [[0.0; 2]; 2],
        }
    }

    /// Factorises, and solves the first right side in place.
    ///
    /// False when a pivot comes too near zero to trust; the step is then shortened, which brings the matrix to the unit.
    pub(super) fn factor(
        &mut self,
        slopes: &Slopes<R>,
        weight: f64,
        wet: bool,
        first: &mut State<R>,
    ) -> bool {
        self.wet = wet;
        let mut sound = self.eliminate(slopes, weight);
        if !wet {
            self.reduce([first.warm.as_mut()]);
            return sound;
        }
        let [by_ink, by_fabric] = &mut self.columns;
        for (column, slopes) in [
            (by_ink, &slopes.by_ink_water),
            (by_fabric, &slopes.by_fabric_water),
            (&mut self.fabric_row, &slopes.fabric_water),
        ] {
            for (to, slope) in column.as_mut().iter_mut().zip(slopes.as_ref()) {
                *to = -weight * slope;
            }
        }
        self.surface_row = -weight * slopes.ink_water_by_surface;
        let [mut by_ink, mut by_fabric] = self.columns.clone();
        self.reduce([by_ink.as_mut(), by_fabric.as_mut(), first.warm.as_mut()]);
        self.columns = [by_ink, by_fabric];
        let [by_ink, by_fabric] = &self.columns;
        let s = [
            [
                1.0 - weight * slopes.stores[0] - self.surface_row * by_ink.as_ref()[0],
                -self.surface_row * by_fabric.as_ref()[0],
            ],
            [
                -dot(&self.fabric_row, by_ink),
                1.0 - weight * slopes.stores[1] - dot(&self.fabric_row, by_fabric),
            ],
        ];
        let determinant = s[0][0] * s[1][1] - s[0][1] * s[1][0];
        sound &= determinant.abs() > 1.0e-9;
        self.schur = [
            [s[1][1] / determinant, -s[0][1] / determinant],
            [-s[1][0] / determinant, s[0][0] / determinant],
        ];
        self.border(first);
        sound
    }

    /// Solves in place.
    pub(super) fn solve(&self, right: &mut State<R>) {
        self.reduce([right.warm.as_mut()]);
        if self.wet {
            self.border(right);
        }
    }

    fn eliminate(&mut self, slopes: &Slopes<R>, weight: f64) -> bool {
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

    /// Brings the water stores in, once the block alone is solved.
    fn border(&self, right: &mut State<R>) {
        let (warm, water) = (right.warm.as_mut(), &mut right.water);
        let rest = [
            water[0] - self.surface_row * warm[0],
            water[1] - dot(&self.fabric_row, warm),
        ];
        let ink = self.schur[0][0] * rest[0] + self.schur[0][1] * rest[1];
        let fabric = self.schur[1][0] * rest[0] + self.schur[1][1] * rest[1];
        let [by_ink, by_fabric] = &self.columns;
        for ((w, a), b) in warm.iter_mut().zip(by_ink.as_ref()).zip(by_fabric.as_ref()) {
            *w -= a * ink + b * fabric;
        }
        *water = [ink, fabric];
    }
}

fn dot(a: &impl AsRef<[f64]>, b: &(impl AsRef<[f64]> + ?Sized)) -> f64 {
    let mut sum = 0.0;
    for (x, y) in a.as_ref().iter().zip(b.as_ref()) {
        sum += x * y;
    }
    sum
}
