//! Where a figure is valid: what every closed form does before it works anything out.

use super::function::{Direction, Outside, Parameter};

/// An input whose rise never lowers the result.
pub(super) const fn rises(
    name: &'static str,
    dimension: &'static str,
    low: f64,
    high: f64,
) -> Parameter {
    Parameter {
        name,
        dimension,
        low,
        high,
        direction: Direction::Rises,
    }
}

/// An input whose rise never lifts the result.
pub(super) const fn falls(
    name: &'static str,
    dimension: &'static str,
    low: f64,
    high: f64,
) -> Parameter {
    Parameter {
        name,
        dimension,
        low,
        high,
        direction: Direction::Falls,
    }
}

/// An input that moves the result either way.
pub(super) const fn mixed(
    name: &'static str,
    dimension: &'static str,
    low: f64,
    high: f64,
) -> Parameter {
    Parameter {
        name,
        dimension,
        low,
        high,
        direction: Direction::Mixed,
    }
}

/// The inputs, if each lies in its range. What is not a number lies in no range.
pub(super) fn inside<const N: usize>(
    parameters: &[Parameter; N],
    inputs: [f64; N],
) -> Result<[f64; N], Outside> {
    for (index, (parameter, input)) in parameters.iter().zip(inputs).enumerate() {
        if !(parameter.low..=parameter.high).contains(&input) {
            return Err(Outside::Parameter(index));
        }
    }
    Ok(inputs)
}

/// Hands the inputs of a row to a figure that takes `N` numbers.
pub(super) fn spread<const N: usize>(
    inputs: &[f64],
    figure: impl Fn([f64; N]) -> Result<f64, Outside>,
) -> Result<f64, Outside> {
    let inputs = inputs.try_into().map_err(|_| {
        Outside::Together("there must be exactly one number for each input of the figure")
    })?;
    figure(inputs)
}

/// Refuses half a piece: counts are whole.
pub(super) fn whole(counts: &[f64]) -> Result<(), Outside> {
    if counts.iter().all(|count| count.fract() == 0.0) {
        Ok(())
    } else {
        Err(Outside::Together("what is counted comes in whole numbers"))
    }
}

/// The next whole number up, for counts of things.
///
/// A quotient that lies within eight units in the last place of a whole number *is* that number:
/// a share such as 10 % has no exact binary form, and 90 / (1 - 0.1) must not ask for 101 pieces.
pub(super) fn round_up(quotient: f64) -> f64 {
    as_whole(quotient).unwrap_or(quotient.ceil())
}

/// The next whole number down, with the same care.
pub(super) fn round_down(quotient: f64) -> f64 {
    as_whole(quotient).unwrap_or(quotient.floor())
}

fn as_whole(quotient: f64) -> Option<f64> {
    let nearest = quotient.round();
    let off = (quotient - nearest).abs();
    (off <= 8.0 * f64::EPSILON * quotient.abs()).then_some(nearest)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decimal_share_does_not_cost_an_extra_piece() {
        assert_eq!(round_up(90.0 / (1.0 - 0.1)), 100.0);
        assert_eq!(round_up(99.000_001), 100.0);
        assert_eq!(round_up(0.0), 0.0);
        assert_eq!(round_down(0.3 / 0.1), 3.0);
        assert_eq!(round_down(2.999_999), 2.0);
    }

    #[test]
    fn what_is_no_number_lies_in_no_range() {
        let parameter = [rises("length", "length", 0.0, 1.0)];
        assert_eq!(inside(&parameter, [f64::NAN]), Err(Outside::Parameter(0)));
        assert_eq!(
            inside(&parameter, [f64::INFINITY]),
            Err(Outside::Parameter(0))
        );
        assert_eq!(inside(&parameter, [1.0]), Ok([1.0]));
    }
}
