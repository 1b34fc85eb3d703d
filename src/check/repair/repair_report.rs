//! A change that does, in words and as edits, with how far it may go.

use std::cmp::Ordering;

use crate::diagnostic::{Edit, Move, Repair};
use crate::eval::{EvalContext, Leaf};
use crate::source::visible;
use crate::types::Takes;

use super::super::bisect::bisect;
use super::super::read_back::reads_as;
use super::super::readings::{after_change, kept, readings_on};
use super::super::wording;
use super::candidate::Candidate;
use super::dial::Dial;
use super::line_search::{Around, LineSearch};
use super::{Offer, Parts};

/// How a change compares with others; the smallest is offered first.
#[derive(Debug, Clone, Copy)]
pub(in super::super) struct Rank {
    /// How many of its settings the rule does not say to adjust.
    pub(super) unnamed: u32,
    /// Seconds that it takes; infinite where the standard does not say.
    pub(super) takes: f64,
    /// How far the settings move, relative to their present values.
    pub(super) change: f64,
}

impl Rank {
    pub(super) fn of(context: &EvalContext<'_>, dial: &Dial<'_>, at: i64, unnamed: u32) -> Self {
        Self {
            unnamed,
            takes: takes(context, dial.leaf).map_or(f64::INFINITY, |takes| takes.time.nearest()),
            change: dial.change(at),
        }
    }

    /// That of a step put in: it is no dial, and comes after all that is.
    pub(super) fn of_a_step() -> Self {
        Self {
            unnamed: 0,
            takes: f64::INFINITY,
            change: f64::INFINITY,
        }
    }

    pub(super) fn and(self, other: Self) -> Self {
        Self {
            unnamed: self.unnamed + other.unnamed,
            takes: self.takes + other.takes,
            change: self.change + other.change,
        }
    }

    pub(super) fn compare(&self, other: &Self) -> Ordering {
        self.unnamed
            .cmp(&other.unnamed)
            .then(self.takes.total_cmp(&other.takes))
            .then(self.change.total_cmp(&other.change))
    }
}

/// What the standard says that changing a setting takes.
fn takes<'a>(context: &EvalContext<'a>, leaf: Leaf) -> Option<&'a Takes> {
    let kind = context.run.target(context.standard, leaf.target).kind;
    context.standard.field(kind, leaf.field).takes.as_ref()
}

/// `20 min: a new screen`
fn takes_words(context: &EvalContext<'_>, leaf: Leaf) -> Option<String> {
    let takes = takes(context, leaf)?;
    let time = crate::units::show_exact(&takes.time, &takes.unit);
    Some(match &takes.words {
        Some(words) => format!("{time}: {}", visible(words)),
        None => time,
    })
}

/// One setting brought to a value; `None` where the plan would then contradict itself.
pub(super) fn one(trial: &Candidate<'_>, dial: &Dial<'_>, at: i64, rank: Rank) -> Option<Offer> {
    several(trial, &[(dial, at)], rank)
}

/// Settings brought to values, with the ranges that they may take together.
pub(super) fn several(
    trial: &Candidate<'_>,
    settings: &[(&Dial<'_>, i64)],
    rank: Rank,
) -> Option<Offer> {
    let context = &trial.context;
    let parts: Parts = settings
        .iter()
        .map(|(dial, at)| (dial.leaf, dial.stretch(*at)))
        .collect();
    if trial.contradicts(&parts) {
        return None;
    }
    // What is offered is what its text says.
    let readable = settings
        .iter()
        .zip(&parts)
        .all(|((dial, at), (leaf, meant))| {
            reads_as(context.standard, context.run, *leaf, &dial.text(*at), meant)
        });
    if !readable {
        return None;
    }
    let ranges = ranges(trial, settings, &parts);
    let mut moves = Vec::new();
    let mut edits = Vec::new();
    for ((dial, at), Around { low, high, .. }) in settings.iter().zip(&ranges) {
        let text = dial.text(*at);
        moves.push(Move {
            setting: wording::setting(context, dial.leaf),
            from: dial.present(),
            to: text.clone(),
            range: dial.range(*low, *high),
            low: dial.number(*low),
            high: dial.number(*high),
            unit: dial.spelling(),
            takes: takes_words(context, dial.leaf),
        });
        edits.push(Edit {
            span: dial.span,
            text,
        });
    }
    let moved: Vec<Leaf> = settings.iter().map(|(dial, _)| dial.leaf).collect();
    let measure_again = readings_on(context, &moved);
    edits.extend(kept(context, &moved));
    // What only a reading leaves in doubt is known when it was taken again, and not before.
    let open = !trial.to_be_measured(&parts).is_empty();
    let words = with_readings(sentence(&moves, &ranges), after_change(context, &parts));
    Some(Offer {
        parts,
        rank,
        repair: Repair {
            number: 0,
            words,
            edits,
            moves,
            measure_again,
            whole: false,
        },
        mends_all: open.then_some(false),
    })
}

/// The ranges that the settings may take together, one after the other.
fn ranges(trial: &Candidate<'_>, settings: &[(&Dial<'_>, i64)], parts: &Parts) -> Vec<Around> {
    let mut others = parts.clone();
    let mut found = Vec::new();
    for (index, (dial, at)) in settings.iter().enumerate() {
        let mut beside = others.clone();
        beside.remove(index);
        let search = LineSearch {
            trial,
            dial,
            others: &beside,
        };
        let mut around = search.widen(*at);
        // Up to where the plan would contradict itself, and no further.
        let fits = |end: i64| {
            let mut parts = beside.clone();
            parts.push((dial.leaf, dial.stretch(end)));
            !trial.contradicts(&parts)
        };
        let inward = |end: i64| match fits(end) {
            true => end,
            false => bisect(*at, end, || true, fits).0,
        };
        around.low = inward(around.low);
        around.high = inward(around.high);
        others[index].1 = dial.hull(around.low, around.high);
        found.push(around);
    }
    found
}

/// ``bring `dryer.belt` to 2.3 m/min ± 5 % (anything from 0.1 to 2.3 m/min holds)``
fn sentence(moves: &[Move], ranges: &[Around]) -> String {
    let brought: Vec<String> = moves
        .iter()
        .map(|moved| format!("`{}` to {}", moved.setting, moved.to))
        .collect();
    let sharp = |around: &Around| around.low == around.high;
    let mut told = Vec::new();
    match (moves, ranges) {
        ([moved], [around]) if !sharp(around) => {
            told.push(format!("anything from {} holds", moved.range));
        }
        (_, ranges) if ranges.iter().all(sharp) => {
            if ranges.iter().all(|around| !around.ended) {
                told.push("there is no space to either side".to_owned());
            }
        }
        _ => {
            let each = moves.iter().zip(ranges).map(|(moved, around)| {
                let from = if sharp(around) { "" } else { "anything from " };
                format!("`{}` {from}{}", moved.setting, moved.range)
            });
            told.push(format!("{} hold together", list(&each.collect::<Vec<_>>())));
        }
    }
    // How long it takes is told with what is to be done; a knob that is turned needs no words.
    let done = |moved: &Move| moved.takes.clone().filter(|takes| takes.contains(": "));
    match moves {
        [first, others @ ..] if others.iter().all(|moved| done(moved) == done(first)) => {
            let each = if others.is_empty() {
                "takes"
            } else {
                "each takes"
            };
            told.extend(done(first).map(|takes| format!("{each} {takes}")));
        }
        _ => {
            let takes = moves.iter().filter_map(|moved| Some((moved, done(moved)?)));
            told.extend(takes.map(|(moved, takes)| format!("`{}` takes {takes}", moved.setting)));
        }
    }
    let change = format!("bring {}", list(&brought));
    if told.is_empty() {
        change
    } else {
        format!("{change} ({})", told.join("; "))
    }
}

/// A change in words, with what has to be measured again after it.
pub(super) fn with_readings(change: String, again: Option<String>) -> String {
    match again {
        Some(again) => format!("{change}; {again}"),
        None => change,
    }
}

/// `a, b and c`
pub(super) fn list(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
