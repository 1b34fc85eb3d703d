//! The window in words.

use std::collections::HashMap;

use super::oracle::Oracle;
use super::space::Axis;
use crate::check::value_words;
use crate::diagnostic::{Cut, End};
use crate::units::Exact;

/// Digits of an end that is no short decimal.
const DIGITS: u32 = 5;
/// Longest decimal that is written whole.
const SHORT: usize = 7;

/// The demands that were spoken of.
pub(super) struct WindowReport<'p, 'a> {
    oracle: &'p Oracle<'a>,
    start: Vec<Exact>,
    numbers: HashMap<usize, usize>,
    pub(super) cuts: Vec<Cut>,
}

impl<'p, 'a> WindowReport<'p, 'a> {
    pub(super) fn new(oracle: &'p Oracle<'a>, start: &[Exact]) -> Self {
        Self {
            oracle,
            start: start.to_vec(),
            numbers: HashMap::new(),
            cuts: Vec::new(),
        }
    }

    /// The number of a demand among the cuts; those that read alike are one.
    pub(super) fn cut(&mut self, demand: usize) -> usize {
        if let Some(known) = self.numbers.get(&demand) {
            return *known;
        }
        let of = &self.oracle.asked[demand].demand;
        let words = self.oracle.at(&self.start, |context| of.words(context));
        let deviation = of.deviation.and_then(|number| {
            let deviations = &self.oracle.standard.deviations;
            deviations.get(number).map(|deviation| deviation.span)
        });
        let cut = Cut {
            rule: words.rule,
            clause: words.clause,
            subject: words.subject,
            wants: words.wants,
            plan: words.plan,
            standard: words.standard,
            source: words.source,
            deviation,
        };
        let same = self.cuts.iter().position(|known| *known == cut);
        let number = same.unwrap_or(self.cuts.len());
        if same.is_none() {
            self.cuts.push(cut);
        }
        self.numbers.insert(demand, number);
        number
    }
}

/// A set point with its tolerance: `2.3 m/min ± 5 %`.
pub(super) fn value(axis: &Axis, at: &Exact) -> String {
    value_words(at, &axis.unit, axis.tolerance.as_ref())
}

/// A set point without it.
pub(super) fn bare(axis: &Axis, at: &Exact) -> String {
    value_words(at, &axis.unit, None)
}

/// `0.1 to 2.3 m/min`.
pub(super) fn range(axis: &Axis, low: &Exact, high: &Exact) -> String {
    let (low, high) = (inward(axis, low, true), inward(axis, high, false));
    let suffix = format!(" {}", axis.unit.spelling());
    let low = low.strip_suffix(&suffix).unwrap_or(&low).to_owned();
    format!("{low} to {high}")
}

/// An end rounded inward: up at the lower end, down at the upper one.
pub(super) fn inward(axis: &Axis, at: &Exact, up: bool) -> String {
    let own = axis.unit.from_base(at);
    if own.decimal().is_some_and(|text| text.len() <= SHORT) {
        return bare(axis, at);
    }
    let digits = if up {
        own.significant_up(DIGITS)
    } else {
        own.significant_down(DIGITS)
    };
    match axis.unit.spelling() {
        "" => digits,
        unit => format!("{digits} {unit}"),
    }
}

/// An end of a stretch.
pub(super) fn end(
    axis: &Axis,
    at: &Exact,
    up: bool,
    sharp: bool,
    within: bool,
    cut: Option<usize>,
) -> End {
    let own = axis.unit.from_base(at);
    End {
        at: own.nearest(),
        exact: sharp.then(|| own.to_string()),
        words: inward(axis, at, up),
        within,
        cut,
    }
}
