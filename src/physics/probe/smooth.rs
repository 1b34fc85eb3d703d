//! Smoothing, for slopes only, and a slow sensor set right.

use super::Reading;

/// Readings on each side of the one that is smoothed, when a lag is undone.
const HALF: usize = 3;

/// Temperatures smoothed by a parabola through each reading and `half` neighbours on both sides (Savitzky and Golay,
/// 1964; on evenly spaced readings). At the ends the window shrinks to what there is.
///
/// Keeps a peak better than a mean does; still, never read a peak off a smoothed log.
#[must_use]
pub fn smooth(temperatures: &[f64], half: usize) -> Vec<f64> {
    let count = temperatures.len();
    (0..count)
        .map(|i| {
            let (from, to) = (i.saturating_sub(half), (i + half + 1).min(count));
            at_middle(&temperatures[from..to], i - from).unwrap_or(temperatures[i])
        })
        .collect()
}

/// The value at `middle` of the parabola (the line, for three or fewer) that fits a window best.
fn at_middle(window: &[f64], middle: usize) -> Option<f64> {
    let order = match window.len() {
        0 | 1 => return None,
        2 | 3 => 2,
        _ => 3,
    };
    // Normal equations in powers of the place, counted from the middle: the constant term is the value there.
    let mut rows = [[0.0_f64; 4]; 3];
    for (index, value) in window.iter().enumerate() {
        let x = index as f64 - middle as f64;
        let powers = [1.0, x, x * x];
        for (row, p) in rows.iter_mut().zip(powers).take(order) {
            for (cell, q) in row.iter_mut().zip(powers).take(order) {
                *cell += p * q;
            }
            row[3] += p * value;
        }
    }
    // Elimination from the last unknown up leaves the first one by itself; the matrix is positive definite.
    for pivot in (1..order).rev() {
        for row in 0..pivot {
            let factor = rows[row][pivot] / rows[pivot][pivot];
            let below = rows[pivot];
            for (cell, from) in rows[row].iter_mut().zip(below) {
                *cell -= factor * from;
            }
        }
    }
    let value = rows[0][3] / rows[0][0];
    value.is_finite().then_some(value)
}

/// Undoes a sensor that follows with a first-order lag: T = y + τ·dy/dt, slopes from the smoothed log.
///
/// `constant` τ, s, is the time in which the sensor comes 63 % of the way after a sudden change; measure it (dip the
/// probe in hot water). Without this a probe reads low while the print heats: safe for the cure, unsafe for dye.
/// Readings whose time does not advance are left as they are.
#[must_use]
pub fn lag(readings: &[Reading], constant: f64) -> Vec<Reading> {
    let smoothed = smooth(&readings.iter().map(|r| r.1).collect::<Vec<f64>>(), HALF);
    let slope = |i: usize| {
        let before = (i > 0).then(|| {
            (
                readings[i].0 - readings[i - 1].0,
                smoothed[i] - smoothed[i - 1],
            )
        });
        let after = (i + 1 < readings.len()).then(|| {
            (
                readings[i + 1].0 - readings[i].0,
                smoothed[i + 1] - smoothed[i],
            )
        });
        match (before, after) {
            // The parabola through three points, whose steps may differ.
            (Some((h, down)), Some((k, up))) => (h / k * up + k / h * down) / (h + k),
            (Some((h, rise)), None) | (None, Some((h, rise))) => rise / h,
            (None, None) => 0.0,
        }
    };
    readings
        .iter()
        .enumerate()
        .map(|(i, &(time, t))| {
            let true_value = smoothed[i] + constant * slope(i);
            (
                time,
                if true_value.is_finite() {
                    true_value
                } else {
                    t
                },
            )
        })
        .collect()
}

/// The log's temperature at a time, on the straight line between its neighbours; held at the ends, `None` without readings.
#[must_use]
pub fn at(readings: &[Reading], time: f64) -> Option<f64> {
    let index = readings.partition_point(|r| r.0 < time);
    match (
        index.checked_sub(1).and_then(|i| readings.get(i)),
        readings.get(index),
    ) {
        (Some(before), Some(after)) => {
            Some(before.1 + (after.1 - before.1) * (time - before.0) / (after.0 - before.0))
        }
        (None, Some(only)) | (Some(only), None) => Some(only.1),
        (None, None) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_parabola_comes_through_unchanged() {
        let curve: Vec<f64> = (0..12)
            .map(|i| 300.0 + 3.0 * f64::from(i) - 0.2 * f64::from(i * i))
            .collect();
        // At the very ends a window of three is fitted with a line, which cannot follow.
        for (was, is) in curve.iter().zip(smooth(&curve, 2)).skip(1).take(10) {
            assert!((was - is).abs() < 1.0e-9, "{was} {is}");
        }
        assert_eq!(smooth(&[], 2), Vec::<f64>::new());
        assert_eq!(smooth(&[5.0], 2), vec![5.0]);
    }

    /// The five-point weights printed by Savitzky and Golay (1964): (−3, 12, 17, 12, −3)/35.
    #[test]
    fn weights_are_the_published_ones() {
        for (place, weight) in [-3.0, 12.0, 17.0, 12.0, -3.0].into_iter().enumerate() {
            let mut one = [0.0; 5];
            one[place] = 35.0;
            assert!((smooth(&one, 2)[2] - weight).abs() < 1.0e-12);
        }
    }

    #[test]
    fn a_ramp_is_moved_by_its_lag() {
        // A sensor behind a ramp of 2 K/s by 1.5 s reads 3 K low.
        let log: Vec<Reading> = [0.0, 1.0, 3.0, 4.0, 7.0, 8.0]
            .map(|t| (t, 300.0 + 2.0 * t))
            .to_vec();
        let even: Vec<Reading> = (0..9)
            .map(|i| (f64::from(i), 300.0 + 2.0 * f64::from(i)))
            .collect();
        for (raw, right) in even.iter().zip(lag(&even, 1.5)) {
            assert!((right.1 - raw.1 - 3.0).abs() < 1.0e-9);
        }
        assert_eq!(at(&log, 2.0), Some(304.0));
        assert_eq!(
            (at(&log, -1.0), at(&log, 99.0), at(&[], 0.0)),
            (Some(300.0), Some(316.0), None)
        );
    }
}
