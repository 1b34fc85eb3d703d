//! The worst case of a figure over intervals of its inputs.

use super::{Accuracy, Direction, Function, Outside};

/// Lowest and highest value of a figure over a box of inputs, widened by its accuracy.
///
/// # Errors
/// When any input leaves the range of validity.
pub fn worst_case(figure: &Function, inputs: &[(f64, f64)]) -> Result<(f64, f64), Outside> {
    let mixed: Vec<usize> = (0..inputs.len())
        .filter(|index| figure.parameters[*index].direction == Direction::Mixed)
        .filter(|index| inputs[*index].0 < inputs[*index].1)
        .collect();
    let (mut lowest, mut highest) = (f64::INFINITY, f64::NEG_INFINITY);
    let corners = 5_u32.saturating_pow(u32::try_from(mixed.len()).unwrap_or(u32::MAX).min(5));
    for corner in 0..corners {
        for low in [true, false] {
            let mut point: Vec<f64> = inputs
                .iter()
                .zip(figure.parameters)
                .map(|(ends, parameter)| match (parameter.direction, low) {
                    (Direction::Falls, true) | (Direction::Rises, false) => ends.1,
                    _ => ends.0,
                })
                .collect();
            let mut digits = corner;
            for index in &mixed {
                let share = f64::from(digits % 5) / 4.0;
                digits /= 5;
                point[*index] = inputs[*index].0 + share * (inputs[*index].1 - inputs[*index].0);
            }
            let value = (figure.evaluate)(&point)?;
            lowest = lowest.min(value);
            highest = highest.max(value);
        }
    }
    let slack = match figure.accuracy {
        Accuracy::Rounding => 8.0 * f64::EPSILON * lowest.abs().max(highest.abs()),
        Accuracy::Absolute(size) => size,
        Accuracy::Relative(share) => share * lowest.abs().max(highest.abs()),
    };
    Ok((lowest - slack, highest + slack))
}
