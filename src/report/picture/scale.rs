//! From values to places on the page, and where the ticks stand.

/// A straight scale.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scale {
    low: f64,
    high: f64,
    from: f64,
    to: f64,
}

impl Scale {
    /// Values from `low` to `high` on places from `from` to `to`. An empty stretch of values is widened.
    pub(super) fn new(low: f64, high: f64, from: f64, to: f64) -> Self {
        let (low, high) = if low < high {
            (low, high)
        } else {
            (low - 1.0, low + 1.0)
        };
        Self {
            low,
            high,
            from,
            to,
        }
    }

    /// The place of a value; a value outside is put at the edge.
    pub(super) fn at(&self, value: f64) -> f64 {
        let share = ((value - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        self.from + share * (self.to - self.from)
    }

    /// About so many round values inside.
    pub(super) fn ticks(&self, about: f64, whole: bool) -> Vec<f64> {
        let mut step = round_step((self.high - self.low) / about);
        if whole {
            step = step.max(1.0);
        }
        let first = (self.low / step - 1e-9).ceil();
        let count = ((self.high - first * step) / step + 1e-9)
            .floor()
            .clamp(0.0, 100.0);
        let mut ticks = Vec::new();
        let mut index = 0.0;
        while index <= count {
            ticks.push((first + index) * step);
            index += 1.0;
        }
        ticks
    }
}

/// The next step up of the form 1, 2 or 5 times a power of ten.
fn round_step(wanted: f64) -> f64 {
    let wanted = wanted.max(1e-9);
    let ten = 10_f64.powf(wanted.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0];
    let step = steps
        .into_iter()
        .find(|step| step * ten >= wanted * (1.0 - 1e-9));
    step.unwrap_or(10.0) * ten
}

/// A tick as it is written.
pub(super) fn tick_words(value: f64) -> String {
    let rounded = (value * 1000.0).round() / 1000.0;
    // No minus before a zero.
    format!("{}", if rounded == 0.0 { 0.0 } else { rounded })
}

/// Places for labels near where they want to stand, at least `gap` apart, between `top` and `bottom`.
pub(super) fn apart(wanted: &[f64], gap: f64, top: f64, bottom: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|one, other| wanted[*one].total_cmp(&wanted[*other]));
    let mut places = wanted.to_vec();
    let mut last = top - gap;
    for index in &order {
        places[*index] = places[*index].max(last + gap);
        last = places[*index];
    }
    let mut next = bottom + gap;
    for index in order.iter().rev() {
        places[*index] = places[*index].min(next - gap);
        next = places[*index];
    }
    places
}

#[cfg(test)]
mod tests {
    use super::{Scale, apart, tick_words};

    #[test]
    fn ticks_are_round_and_inside() {
        let scale = Scale::new(0.0, 97.0, 0.0, 500.0);
        assert_eq!(scale.ticks(6.0, false), [0.0, 20.0, 40.0, 60.0, 80.0]);
        let scale = Scale::new(1.0, 4.0, 0.0, 500.0);
        assert_eq!(scale.ticks(8.0, true), [1.0, 2.0, 3.0, 4.0]);
        assert_eq!(tick_words(-0.000_01), "0");
        assert_eq!(tick_words(0.1 + 0.2), "0.3");
    }

    #[test]
    fn labels_do_not_overlap() {
        let places = apart(&[10.0, 12.0, 90.0, 99.0], 10.0, 0.0, 100.0);
        assert_eq!(places, [10.0, 20.0, 90.0, 100.0]);
    }
}
