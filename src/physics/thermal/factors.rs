//! The linear algebra of one solver step.

use super::balance::Slopes;

/// The factorised matrix I − w·J: tridiagonal by elimination, the water border by its Schur complement.
pub(super) struct Factors {
    count: usize,
    wet: bool,
    lower: Vec<f64>,
    inverse: Vec<f64>,
    upper: Vec<f64>,
    columns: [Vec<f64>; 2],
    surface_row: f64,
    fabric_row: Vec<f64>,
    schur: [[f64; 2]; 2],
}

impl Factors {
    pub(super) fn new(count: usize) -> Self {
        let zeros = || vec![0.0; count];
        Self {
            count,
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

    /// False when a pivot comes too near zero to trust; the step is then shortened, which brings the matrix to the unit.
    pub(super) fn factor(&mut self, slopes: &Slopes, weight: f64, wet: bool) -> bool {
        self.wet = wet;
        let mut sound = true;
        for j in 0..self.count {
            let mut pivot = 1.0 - weight * slopes.middle[j];
            self.upper[j] = -weight * slopes.upper[j];
            if j > 0 {
                self.lower[j] = -weight * slopes.lower[j] * self.inverse[j - 1];
                pivot -= self.lower[j] * self.upper[j - 1];
            }
            sound &= pivot > 1.0e-3;
            self.inverse[j] = 1.0 / pivot;
        }
        if wet {
            let [mut by_ink, mut by_fabric] = std::mem::take(&mut self.columns);
            for j in 0..self.count {
                by_ink[j] = -weight * slopes.by_ink_water[j];
                by_fabric[j] = -weight * slopes.by_fabric_water[j];
                self.fabric_row[j] = -weight * slopes.fabric_water[j];
            }
            self.surface_row = -weight * slopes.ink_water_by_surface;
            self.temperatures(&mut by_ink);
            self.temperatures(&mut by_fabric);
            let s = [
                [
                    1.0 - weight * slopes.stores[0] - self.surface_row * by_ink[0],
                    -self.surface_row * by_fabric[0],
                ],
                [
                    -dot(&self.fabric_row, &by_ink),
                    1.0 - weight * slopes.stores[1] - dot(&self.fabric_row, &by_fabric),
                ],
            ];
            let determinant = s[0][0] * s[1][1] - s[0][1] * s[1][0];
            sound &= determinant.abs() > 1.0e-9;
            self.schur = [
                [s[1][1] / determinant, -s[0][1] / determinant],
                [-s[1][0] / determinant, s[0][0] / determinant],
            ];
            self.columns = [by_ink, by_fabric];
        }
        sound
    }

    /// Solves in place.
    pub(super) fn solve(&self, right: &mut [f64]) {
        let (warm, water) = right.split_at_mut(self.count);
        self.temperatures(warm);
        if self.wet {
            let rest = [
                water[0] - self.surface_row * warm[0],
                water[1] - dot(&self.fabric_row, warm),
            ];
            let ink = self.schur[0][0] * rest[0] + self.schur[0][1] * rest[1];
            let fabric = self.schur[1][0] * rest[0] + self.schur[1][1] * rest[1];
            for ((w, a), b) in warm.iter_mut().zip(&self.columns[0]).zip(&self.columns[1]) {
                *w -= a * ink + b * fabric;
            }
            water[0] = ink;
            water[1] = fabric;
        }
    }

    /// The tridiagonal block alone.
    fn temperatures(&self, right: &mut [f64]) {
        for j in 1..self.count {
            right[j] -= self.lower[j] * right[j - 1];
        }
        let mut above = 0.0;
        for j in (0..self.count).rev() {
            above = (right[j] - self.upper[j] * above) * self.inverse[j];
            right[j] = above;
        }
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sum = 0.0;
    for (x, y) in a.iter().zip(b) {
        sum += x * y;
    }
    sum
}
