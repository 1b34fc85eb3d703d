//! One number for each temperature of the grid.
//!
//! The grid of most runs has the same eleven or twelve temperatures. Rows whose length the compiler knows let it drop
//! every bounds check and keep the numbers out of the heap; a row of any other length is a vector, and runs the same
//! operations in the same order.

/// A row of numbers, one for each temperature.
pub(super) trait Row: Clone + AsRef<[f64]> + AsMut<[f64]> {
    /// So many zeros; a row of fixed length is asked for no other.
    fn zeros(count: usize) -> Self;
}

impl<const N: usize> Row for [f64; N] {
    fn zeros(_: usize) -> Self {
        [0.0; N]
    }
}

impl Row for Vec<f64> {
    fn zeros(count: usize) -> Self {
        vec![0.0; count]
    }
}
