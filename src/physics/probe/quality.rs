//! Where a log is not to be trusted.

use super::Reading;

/// What is wrong with a log, and where; readings are counted from 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Flaw {
    /// The clock stands still or runs back from this reading to the next.
    Clock(usize),
    /// Time or temperature of this reading is no finite number.
    NotANumber(usize),
    /// Nothing was recorded for so many seconds after this reading.
    Gap(usize, f64),
    /// From this reading to the next the temperature moves faster than a probe can, K/s.
    Jump(usize, f64),
    /// This reading is colder or hotter than a print can be.
    Range(usize),
    /// From this reading on the probe says the same again and again while it is hot.
    Stuck(usize),
}

/// From where on something is a flaw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gates {
    /// A step longer than this many times the median step is a gap.
    pub gap: f64,
    /// Fastest change, K/s.
    pub rate: f64,
    /// Coldest reading, K.
    pub coldest: f64,
    /// Hottest, K.
    pub hottest: f64,
    /// So many equal readings in a row are a stuck probe...
    pub equal: usize,
    /// ...when they are hotter than this, K: at room temperature equal readings are nothing odd.
    pub warm: f64,
}

impl Gates {
    /// Three times the median step, 60 K/s, −10 to 400 °C, ten equal readings above 60 °C (common practice, no source).
    pub const USUAL: Self = Self {
        gap: 3.0,
        rate: 60.0,
        coldest: 263.15,
        hottest: 673.15,
        equal: 10,
        warm: 333.15,
    };
}

/// Every flaw of a log, by kind and then in the order of the log. None is repaired here.
#[must_use]
pub fn quality(readings: &[Reading], gates: &Gates) -> Vec<Flaw> {
    let mut flaws = Vec::new();
    for (index, &(time, t)) in readings.iter().enumerate() {
        if !time.is_finite() || !t.is_finite() {
            flaws.push(Flaw::NotANumber(index));
        }
    }
    let steps: Vec<(f64, f64)> = readings
        .windows(2)
        .map(|w| (w[1].0 - w[0].0, w[1].1 - w[0].1))
        .collect();
    // Only the first: once the clock has run back, what follows says little.
    if let Some(index) = steps.iter().position(|s| s.0 <= 0.0) {
        flaws.push(Flaw::Clock(index));
    }
    let longest = gates.gap * median(steps.iter().map(|s| s.0).collect());
    for (index, &(time, _)) in steps.iter().enumerate() {
        if time > longest {
            flaws.push(Flaw::Gap(index, time));
        }
    }
    for (index, &(time, rise)) in steps.iter().enumerate() {
        if time > 0.0 && (rise / time).abs() > gates.rate {
            flaws.push(Flaw::Jump(index, rise / time));
        }
    }
    for (index, &(_, t)) in readings.iter().enumerate() {
        if t < gates.coldest || t > gates.hottest {
            flaws.push(Flaw::Range(index));
        }
    }
    let mut equal = 1;
    for (index, &(_, rise)) in steps.iter().enumerate() {
        equal = if rise == 0.0 { equal + 1 } else { 1 };
        if equal == gates.equal && readings[index + 1].1 > gates.warm {
            flaws.push(Flaw::Stuck(index + 2 - gates.equal));
        }
    }
    flaws
}

/// The middle one, or the mean of the two in the middle; not a number for an empty row.
fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let (count, middle) = (values.len(), values.len() / 2);
    match count {
        0 => f64::NAN,
        _ if count.is_multiple_of(2) => 0.5 * (values[middle - 1] + values[middle]),
        _ => values[middle],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn log(readings: &[(f64, f64)]) -> Vec<Flaw> {
        quality(readings, &Gates::USUAL)
    }

    #[test]
    fn each_flaw_is_found_where_it_is() {
        let clean: Vec<Reading> = (0..20)
            .map(|i| (f64::from(i), 300.0 + f64::from(i)))
            .collect();
        assert_eq!(log(&clean), vec![]);
        let mut gap = clean.clone();
        gap.drain(5..9);
        assert_eq!(log(&gap), vec![Flaw::Gap(4, 5.0)]);
        let mut jump = clean.clone();
        jump[7].1 = 400.0;
        assert!(matches!(
            log(&jump)[..],
            [Flaw::Jump(6, _), Flaw::Jump(7, _)]
        ));
        let mut back = clean.clone();
        back[3].0 = 1.5;
        assert_eq!(log(&back)[0], Flaw::Clock(2));
        let mut cold = clean.clone();
        cold[0].1 = 263.0;
        assert_eq!(log(&cold), vec![Flaw::Range(0)]);
        let mut bad = clean;
        bad[2].1 = f64::NAN;
        assert_eq!(log(&bad), vec![Flaw::NotANumber(2)]);
    }

    #[test]
    fn equal_readings_are_odd_only_when_hot() {
        let hot: Vec<Reading> = (0..12).map(|i| (f64::from(i), 400.0)).collect();
        assert_eq!(log(&hot), vec![Flaw::Stuck(0)]);
        assert_eq!(log(&hot[..9]), vec![]);
        let cold: Vec<Reading> = (0..12).map(|i| (f64::from(i), 300.0)).collect();
        assert_eq!(log(&cold), vec![]);
        assert_eq!(log(&[]), vec![]);
    }
}
