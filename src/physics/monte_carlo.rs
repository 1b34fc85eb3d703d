//! Uncertainty by random draws (JCGM 101:2008), for models too bent for the first-order law of [`super::uncertainty`].
//!
//! For a report, never for a verdict: a limit is checked over the whole box. The draws are the same on every run.

use super::function::Outside;

/// How an input is spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// Anywhere between two values, each place as likely (JCGM 101, 6.4.2).
    Rectangular {
        /// Least.
        low: f64,
        /// Greatest.
        high: f64,
    },
    /// Normal (JCGM 101, 6.4.7).
    Normal {
        /// Mean.
        mean: f64,
        /// Standard deviation.
        deviation: f64,
    },
}

/// Most draws of one run: 64 MB of results.
const MOST_DRAWS: usize = 8_000_000;

/// Random numbers that are the same on every run (SplitMix64, public domain).
struct Random(u64);

impl Random {
    /// Above 0, below 1.
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (((z ^ (z >> 31)) >> 12) as f64 + 0.5) / (1_u64 << 52) as f64
    }

    fn draw(&mut self, spread: Spread) -> f64 {
        match spread {
            Spread::Rectangular { low, high } => low + (high - low) * self.unit(),
            Spread::Normal { mean, deviation } => {
                // Box and Muller; the second of the pair is dropped, so that every input takes two numbers.
                let radius = (-2.0 * libm::log(self.unit())).sqrt();
                mean + deviation * radius * libm::cos(std::f64::consts::TAU * self.unit())
            }
        }
    }
}

/// The results of many draws, in rising order.
#[derive(Debug, Clone, PartialEq)]
pub struct Draws {
    sorted: Vec<f64>,
}

/// Works the model out at `draws` random points.
///
/// # Errors
/// The first thing the model refuses; [`Outside::Together`] for no draws or more than eight million, a spread that is
/// turned round or not finite, or a result that is no number.
pub fn propagate(
    mut model: impl FnMut(&[f64]) -> Result<f64, Outside>,
    inputs: &[Spread],
    draws: usize,
    seed: u64,
) -> Result<Draws, Outside> {
    if draws == 0 || draws > MOST_DRAWS {
        return Err(Outside::Together(
            "between one and eight million draws can be made",
        ));
    }
    let sound = |spread: &Spread| match *spread {
        Spread::Rectangular { low, high } => low <= high && low.is_finite() && high.is_finite(),
        Spread::Normal { mean, deviation } => {
            mean.is_finite() && deviation >= 0.0 && deviation.is_finite()
        }
    };
    if !inputs.iter().all(sound) {
        return Err(Outside::Together(
            "a spread is finite, with its lower end first",
        ));
    }
    let mut random = Random(seed);
    let mut sorted = Vec::with_capacity(draws);
    let mut point = vec![0.0; inputs.len()];
    for _ in 0..draws {
        for (x, &spread) in point.iter_mut().zip(inputs) {
            *x = random.draw(spread);
        }
        let value = model(&point)?;
        if value.is_nan() {
            return Err(Outside::Together("the model does not come to a number"));
        }
        sorted.push(value);
    }
    sorted.sort_by(f64::total_cmp);
    Ok(Draws { sorted })
}

impl Draws {
    /// The interval that leaves the same share out on both sides (JCGM 101, 7.7.2, nearest rank).
    #[must_use]
    pub fn middle(&self, level: f64) -> (f64, f64) {
        let out = 0.5 * (1.0 - level.clamp(0.0, 1.0));
        let last = (self.sorted.len() - 1) as f64;
        let rank =
            |share: f64| self.sorted[((share * last).round() as usize).min(self.sorted.len() - 1)];
        (rank(out), rank(1.0 - out))
    }

    /// The shortest interval that holds this share of the draws (JCGM 101, 7.7.2, note).
    #[must_use]
    pub fn shortest(&self, level: f64) -> (f64, f64) {
        let count = self.sorted.len();
        let held = ((level.clamp(0.0, 1.0) * count as f64).round() as usize).clamp(1, count);
        let mut best = (self.sorted[0], self.sorted[held - 1]);
        for window in self.sorted.windows(held) {
            let (low, high) = (window[0], window[held - 1]);
            if high - low < best.1 - best.0 {
                best = (low, high);
            }
        }
        best
    }

    /// Mean of the draws.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.sorted.iter().sum::<f64>() / self.sorted.len() as f64
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_rectangle_keeps_its_width_and_a_normal_its_deviation() {
        let one = |spread| propagate(|x| Ok(x[0]), &[spread], 100_000, 1).unwrap();
        let (low, high) = one(Spread::Rectangular {
            low: -1.0,
            high: 1.0,
        })
        .middle(0.95);
        assert!(
            (low + 0.95).abs() < 0.01 && (high - 0.95).abs() < 0.01,
            "{low} {high}"
        );
        let normal = one(Spread::Normal {
            mean: 5.0,
            deviation: 2.0,
        });
        let (low, high) = normal.shortest(0.95);
        assert!((high - low - 2.0 * 2.0 * 1.96).abs() < 0.1, "{low} {high}");
        assert!((normal.mean() - 5.0).abs() < 0.03);
    }

    #[test]
    fn what_makes_no_sense_is_refused() {
        let sum = |x: &[f64]| Ok(x[0]);
        let turned = Spread::Rectangular {
            low: 1.0,
            high: 0.0,
        };
        assert!(propagate(sum, &[turned], 10, 1).is_err());
        assert!(
            propagate(
                sum,
                &[Spread::Normal {
                    mean: 0.0,
                    deviation: f64::NAN
                }],
                10,
                1
            )
            .is_err()
        );
        assert!(propagate(sum, &[], 0, 1).is_err());
        let same = propagate(
            sum,
            &[Spread::Normal {
                mean: 0.0,
                deviation: 1.0,
            }],
            50,
            7,
        )
        .unwrap();
        assert_eq!(
            same,
            propagate(
                sum,
                &[Spread::Normal {
                    mean: 0.0,
                    deviation: 1.0
                }],
                50,
                7
            )
            .unwrap()
        );
    }
}
