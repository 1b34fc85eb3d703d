//! What a log says: peak, crossings, time above, steepest rise. Exact for readings joined by straight lines.
//!
//! Readings whose time does not advance add nothing; a log that is no log gives `None` or zero, never a panic.

use super::Reading;

/// The hottest reading, and when it was first read: (time, temperature).
#[must_use]
pub fn peak(readings: &[Reading]) -> Option<Reading> {
    let mut best: Option<Reading> = None;
    for &reading in readings {
        if best.is_none_or(|b| reading.1 > b.1) {
            best = Some(reading);
        }
    }
    best
}

/// Time at which the log first is at or above `level`. Falls as the readings rise; rises with `level`.
#[must_use]
pub fn reach(readings: &[Reading], level: f64) -> Option<f64> {
    let index = readings.iter().position(|r| r.1 >= level)?;
    let after = readings[index];
    let Some(before) = index.checked_sub(1).and_then(|i| readings.get(i)) else {
        return Some(after.0);
    };
    Some(before.0 + (level - before.1) / (after.1 - before.1) * (after.0 - before.0))
}

/// Time spent at or above `level`, s. Rises with the readings, falls with `level`.
#[must_use]
pub fn time_above(readings: &[Reading], level: f64) -> f64 {
    readings.windows(2).map(|w| above(w[0], w[1], level)).sum()
}

fn above(from: Reading, to: Reading, level: f64) -> f64 {
    let (time, a, b) = (to.0 - from.0, from.1 - level, to.1 - level);
    if time.is_nan() || time <= 0.0 {
        0.0
    } else if a >= 0.0 && b >= 0.0 {
        time
    } else if a >= 0.0 {
        time * a / (a - b)
    } else if b >= 0.0 {
        time * b / (b - a)
    } else {
        0.0
    }
}

/// Time spent at or above `level` when steps longer than `longest` seconds are gaps of which nothing is known:
/// least with every gap left out, most with every gap spent at the hotter of its two ends.
///
/// The most holds only if the print was no hotter inside the gap than at its ends.
#[must_use]
pub fn time_above_bounds(readings: &[Reading], level: f64, longest: f64) -> (f64, f64) {
    let (mut least, mut most) = (0.0, 0.0);
    for w in readings.windows(2) {
        let step = w[1].0 - w[0].0;
        if step > longest {
            if w[0].1.max(w[1].1) >= level {
                most += step;
            }
        } else {
            let part = above(w[0], w[1], level);
            least += part;
            most += part;
        }
    }
    (least, most)
}

/// The largest mean rise over a window of at least `span` seconds, K/s, and the window (from, to).
///
/// A mean over seconds is not fooled by noise or by a logger that counts in whole degrees, as the slope between two
/// readings is. The window is the shortest that starts at a reading and lasts `span`.
#[must_use]
pub fn steepest(readings: &[Reading], span: f64) -> Option<(f64, (f64, f64))> {
    let mut best: Option<(f64, (f64, f64))> = None;
    for (index, &(start, from)) in readings.iter().enumerate() {
        // A whole number of tenths may miss the span by its last bit.
        let long_enough = |r: &&Reading| r.0 >= start + span - 1.0e-9;
        let Some(&(end, to)) = readings[index..].iter().find(long_enough) else {
            break;
        };
        let rate = (to - from) / (end - start);
        if rate.is_finite() && best.is_none_or(|b| rate > b.0) {
            best = Some((rate, (start, end)));
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    const LOG: [Reading; 5] = [
        (0.0, 300.0),
        (10.0, 400.0),
        (20.0, 420.0),
        (30.0, 420.0),
        (40.0, 320.0),
    ];

    #[test]
    fn a_log_of_straight_lines_is_read_exactly() {
        assert_eq!(peak(&LOG), Some((20.0, 420.0)));
        assert_eq!(reach(&LOG, 350.0), Some(5.0));
        assert_eq!(reach(&LOG, 300.0), Some(0.0));
        assert_eq!(reach(&LOG, 421.0), None);
        // 410 K is passed at 15 s and again at 31 s.
        assert_eq!(time_above(&LOG, 410.0), 16.0);
        assert_eq!(time_above(&LOG, 100.0), 40.0);
        assert_eq!(steepest(&LOG, 3.0), Some((10.0, (0.0, 10.0))));
        assert_eq!(steepest(&LOG, 15.0), Some((6.0, (0.0, 20.0))));
        assert_eq!(
            (peak(&[]), time_above(&[], 1.0), steepest(&LOG[..1], 3.0)),
            (None, 0.0, None)
        );
    }

    #[test]
    fn a_gap_makes_the_time_above_a_span() {
        let mut log = LOG.to_vec();
        log.remove(2);
        let (least, most) = time_above_bounds(&log, 410.0, 15.0);
        // The gap from 10 to 30 s may all have been above, or none of it.
        assert_eq!((least, most), (1.0, 21.0));
        assert_eq!(time_above_bounds(&LOG, 410.0, 15.0), (16.0, 16.0));
    }
}
