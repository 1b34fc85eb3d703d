//! Uncertainty to first order, as the *Guide to the expression of uncertainty in measurement*
//! (JCGM 100:2008, "GUM") lays it down: combine, count degrees of freedom, widen.
//!
//! A limit is checked over the whole box of tolerances, not with this; this says how likely, and
//! how many sigmas are left.

use super::function::Outside;

/// What is known of one input.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Best value.
    pub value: f64,
    /// Standard uncertainty, not negative.
    pub uncertainty: f64,
    /// Degrees of freedom of the uncertainty; infinite when it is taken as known.
    pub freedom: f64,
}

impl Estimate {
    /// A value with a standard uncertainty taken as known.
    #[must_use]
    pub fn known(value: f64, uncertainty: f64) -> Self {
        Self {
            value,
            uncertainty,
            freedom: f64::INFINITY,
        }
    }

    /// A value that may lie anywhere within `half_width` of it, each place as likely (GUM 4.3.7).
    #[must_use]
    pub fn rectangular(value: f64, half_width: f64) -> Self {
        Self::known(value, half_width / 3.0_f64.sqrt())
    }
}

/// The result of [`first_order`].
#[derive(Debug, Clone, PartialEq)]
pub struct Combined {
    /// The model at the best values.
    pub value: f64,
    /// Combined standard uncertainty.
    pub uncertainty: f64,
    /// What a unit of each input adds to the result.
    pub sensitivities: Vec<f64>,
    /// Effective degrees of freedom; none when inputs are correlated.
    pub freedom: Option<f64>,
}

/// The law of propagation of uncertainty to first order (GUM 5.1.2, with correlation 5.2.2).
///
/// `u² = ΣΣ c_i c_j u_i u_j r_ij`, sensitivities `c` by central differences over a thousandth of
/// each standard uncertainty. Valid where the model is nearly straight over the uncertainties:
/// compare with the corners of the box when in doubt.
///
/// * `correlation`: row by row, one on the diagonal; `None` for inputs that do not move together.
///
/// # Errors
///
/// What the model says where it cannot be worked out; [`Outside::Together`] for a negative or
/// infinite uncertainty, degrees of freedom that are not positive, a correlation table of the wrong
/// size, beyond ±1 or one that makes a negative variance, or a model without a finite slope.
pub fn first_order(
    model: impl Fn(&[f64]) -> Result<f64, Outside>,
    inputs: &[Estimate],
    correlation: Option<&[&[f64]]>,
) -> Result<Combined, Outside> {
    let mut point: Vec<f64> = inputs.iter().map(|input| input.value).collect();
    let value = model(&point)?;
    let mut sensitivities = Vec::with_capacity(inputs.len());
    for (index, input) in inputs.iter().enumerate() {
        check(input)?;
        let step = if input.uncertainty > 0.0 {
            input.uncertainty * 1e-3
        } else {
            input.value.abs().max(1.0) * 1e-5
        };
        point[index] = input.value + step;
        let above = model(&point)?;
        point[index] = input.value - step;
        let below = model(&point)?;
        point[index] = input.value;
        let slope = (above - below) / (2.0 * step);
        if !slope.is_finite() {
            return Err(Outside::Together("the model has no finite slope there"));
        }
        sensitivities.push(slope);
    }
    let parts: Vec<f64> = sensitivities
        .iter()
        .zip(inputs)
        .map(|(slope, input)| slope * input.uncertainty)
        .collect();
    let variance = match correlation {
        None => parts.iter().map(|part| part * part).sum(),
        Some(table) => quadratic(&parts, table)?,
    };
    let freedom = match correlation {
        Some(_) => None,
        None => {
            let counted: Vec<(f64, f64)> = parts
                .iter()
                .zip(inputs)
                .map(|(part, input)| (part.abs(), input.freedom))
                .collect();
            Some(effective_freedom(&counted)?)
        }
    };
    Ok(Combined {
        value,
        uncertainty: variance.sqrt(),
        sensitivities,
        freedom,
    })
}

fn check(input: &Estimate) -> Result<(), Outside> {
    if !(0.0..f64::INFINITY).contains(&input.uncertainty) {
        return Err(Outside::Together(
            "a standard uncertainty is finite and not negative",
        ));
    }
    freedom_is_positive(input.freedom)
}

fn freedom_is_positive(freedom: f64) -> Result<(), Outside> {
    if freedom > 0.0 {
        Ok(())
    } else {
        Err(Outside::Together("degrees of freedom are more than none"))
    }
}

fn quadratic(parts: &[f64], table: &[&[f64]]) -> Result<f64, Outside> {
    if table.len() != parts.len() || table.iter().any(|row| row.len() != parts.len()) {
        return Err(Outside::Together(
            "the correlations need one row and one column for each input",
        ));
    }
    let mut sum = 0.0;
    for (part, row) in parts.iter().zip(table) {
        for (other, r) in parts.iter().zip(*row) {
            if !(-1.0..=1.0).contains(r) {
                return Err(Outside::Together("a correlation lies between -1 and 1"));
            }
            sum += part * other * r;
        }
    }
    if sum >= 0.0 {
        Ok(sum)
    } else {
        Err(Outside::Together(
            "the correlations contradict each other: the variance would be negative",
        ))
    }
}

/// Square root of the sum of squares: uncertainties that do not move together (GUM 5.1).
#[must_use]
pub fn root_sum_square(parts: &[f64]) -> f64 {
    parts.iter().map(|part| part * part).sum::<f64>().sqrt()
}

/// Effective degrees of freedom after Welch and Satterthwaite, `u⁴ / Σ(u_i⁴/ν_i)` (GUM G.4.1).
///
/// * `parts`: contribution to the combined uncertainty, and its degrees of freedom (may be
///   infinite). The contributions must not be correlated.
///
/// # Errors
///
/// [`Outside::Together`] for degrees of freedom that are not positive.
pub fn effective_freedom(parts: &[(f64, f64)]) -> Result<f64, Outside> {
    let scale = parts.iter().fold(0.0_f64, |most, (u, _)| most.max(u.abs()));
    if scale == 0.0 {
        return Ok(f64::INFINITY);
    }
    let (mut variance, mut weighted) = (0.0, 0.0);
    for (u, freedom) in parts {
        freedom_is_positive(*freedom)?;
        // Fourth powers of nanometres would underflow; only the ratio counts.
        let square = (u / scale) * (u / scale);
        variance += square;
        weighted += square * square / freedom;
    }
    // Nothing but infinite degrees of freedom gives a division by zero, which is the right answer.
    Ok(variance * variance / weighted)
}

/// Mean and scatter of repeated readings (GUM 4.2).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// How many.
    pub count: usize,
    /// Mean.
    pub mean: f64,
    /// Standard deviation, with one degree of freedom less than the count.
    pub deviation: f64,
}

impl Sample {
    /// Mean and scatter of at least two readings, summed in the order given.
    ///
    /// # Errors
    ///
    /// [`Outside::Together`] for fewer than two readings, or one that is not finite.
    pub fn of(readings: &[f64]) -> Result<Self, Outside> {
        if readings.len() < 2 {
            return Err(Outside::Together("scatter needs at least two readings"));
        }
        if !readings.iter().all(|reading| reading.is_finite()) {
            return Err(Outside::Together("a reading is not a finite number"));
        }
        let count = readings.len() as f64;
        let mean = readings.iter().sum::<f64>() / count;
        let squares: f64 = readings.iter().map(|r| (r - mean) * (r - mean)).sum();
        Ok(Self {
            count: readings.len(),
            mean,
            deviation: (squares / (count - 1.0)).sqrt(),
        })
    }

    /// Standard deviation of the mean (GUM 4.2.3).
    #[must_use]
    pub fn deviation_of_mean(&self) -> f64 {
        self.deviation / (self.count as f64).sqrt()
    }

    /// The mean as an input of [`first_order`].
    #[must_use]
    pub fn estimate(&self) -> Estimate {
        Estimate {
            value: self.mean,
            uncertainty: self.deviation_of_mean(),
            freedom: self.count as f64 - 1.0,
        }
    }
}
