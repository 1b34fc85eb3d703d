//! What one measurement would have to find, where the settings it finds decide together.

use crate::eval::{
    Binding, Conditions, EvalContext, ExactInterval, Goal, Leaf, Verdict, decide, is_costly,
};
use crate::source::visible;
use crate::types::{Quantity, Tolerance, reach};
use crate::units::{Exact, show_exact};

use super::bisect::bisect;
use super::deciding_comparison::DecidingComparison;
use super::tighten::{passes, tighter, tolerance_of};
use super::wording;

/// How fine the search is: 2 to this power steps between no tolerance and the present one.
const BITS: u32 = 10;

/// The same where a figure that takes milliseconds stands behind it.
const BITS_COSTLY: u32 = 7;

/// A measurement that would not do by itself is told of when it leaves no more of the width than this.
const WORTH_TELLING: f64 = 0.75;

/// How many measurements are told of.
const MOST_TOLD: usize = 2;

/// How the standard says that the value of a setting is found: what reads it off, or what a given one rests on.
pub(super) fn found_by(context: &EvalContext<'_>, leaf: Leaf) -> Option<String> {
    let kind = context.run.target(context.standard, leaf.target).kind;
    let field = context.standard.field(kind, leaf.field);
    field.found_by().map(|words| visible(words).into_owned())
}

/// Settings that one measurement finds together, with what is known of them now.
struct Group<'a> {
    by: String,
    parts: Vec<(Leaf, &'a Quantity, Tolerance)>,
}

/// Notes on measurements that would narrow a requirement that is at risk: how far, and whether that
/// would do. A measurement of one setting alone is told of where its tolerance decides.
pub(super) fn notes(
    context: &EvalContext<'_>,
    binding: Binding,
    goal: Goal<'_>,
    comparison: &DecidingComparison<'_>,
    rests_on: &[Leaf],
) -> Vec<String> {
    let since = context.cache.map_or(0, |cache| cache.budget().work());
    let mut told = Vec::new();
    for group in groups(context, rests_on) {
        let tired = context
            .cache
            .is_some_and(|cache| !cache.budget().may_help(since));
        if told.len() >= MOST_TOLD || tired {
            break;
        }
        told.extend(note(context, binding, goal, comparison, &group));
    }
    if let Some(cache) = context.cache {
        cache.budget().count_help(since);
    }
    told
}

fn groups<'a>(context: &EvalContext<'a>, rests_on: &[Leaf]) -> Vec<Group<'a>> {
    let mut found: Vec<Group<'a>> = Vec::new();
    for leaf in rests_on {
        let Some(quantity) = context.quantity(leaf.target, leaf.field) else {
            continue;
        };
        let Some((by, tolerance)) = found_by(context, *leaf).zip(tolerance_of(quantity)) else {
            continue;
        };
        if quantity.low == quantity.high {
            continue;
        }
        let part = (*leaf, quantity, tolerance);
        match found.iter_mut().find(|group| group.by == by) {
            Some(group) if group.parts.iter().any(|(known, ..)| known == leaf) => {}
            Some(group) => group.parts.push(part),
            None => found.push(Group {
                by,
                parts: vec![part],
            }),
        }
    }
    found.retain(|group| group.parts.len() > 1);
    found
}

fn note(
    context: &EvalContext<'_>,
    binding: Binding,
    goal: Goal<'_>,
    comparison: &DecidingComparison<'_>,
    group: &Group<'_>,
) -> Option<String> {
    // Whether each part is one that has to be a single value, however narrow its stretch.
    let mut sharp = vec![false; group.parts.len()];
    let narrowed = |share: &Exact, sharp: &[bool]| -> Vec<(Leaf, ExactInterval)> {
        let parts = group.parts.iter().zip(sharp);
        let own = parts.map(|((leaf, quantity, tolerance), sharp)| {
            let nominal = &quantity.nominal;
            let (low, high) = match tighter(tolerance, share) {
                Some(tighter) if !sharp => reach(nominal, Some(&tighter)),
                _ => (nominal.clone(), nominal.clone()),
            };
            (*leaf, ExactInterval::new(low, high))
        });
        let mut all = context.narrowed.to_vec();
        all.retain(|(known, _)| !group.parts.iter().any(|(leaf, ..)| leaf == known));
        all.extend(own);
        all
    };
    let verdict = |share: &Exact, sharp: &[bool]| -> Verdict {
        let narrowed = narrowed(share, sharp);
        let context = EvalContext {
            narrowed: &narrowed,
            ..*context
        };
        decide(&Conditions::new(context), &context, binding, goal)
    };
    let by = &group.by;
    if !passes(&verdict(&Exact::ZERO, &sharp)) {
        let (whole, narrowed) = (context, narrowed(&Exact::ZERO, &sharp));
        let context = EvalContext {
            narrowed: &narrowed,
            ..*context
        };
        let now = comparison.width(whole, binding)?;
        let then = comparison.width(&context, binding)?;
        if then > WORTH_TELLING * now {
            return None;
        }
        let value = comparison.told(&context, binding).value?;
        let names: Vec<String> = group
            .parts
            .iter()
            .map(|(leaf, ..)| format!("`{}`", wording::setting(&context, *leaf)))
            .collect();
        return Some(format!(
            "{by} would narrow it, but not enough by itself: with {} at the middle of what is stated it would still be {value}",
            list(&names)
        ));
    }
    let bits = if is_costly(context, binding, goal) {
        BITS_COSTLY
    } else {
        BITS
    };
    let whole = 1_i64 << bits;
    let little = Exact::ratio(1, whole);
    if !passes(&verdict(&little, &sharp)) {
        // A figure that cannot be bounded over some input is never shown to hold over any stretch of
        // it; such an input is taken as one value, and what that does is in the others.
        let alone = |index: usize| -> Vec<bool> {
            let others = 0..group.parts.len();
            others.map(|other| other != index).collect()
        };
        for (index, sharp) in sharp.iter_mut().enumerate() {
            *sharp = !passes(&verdict(&little, &alone(index)));
        }
    }
    let does = |steps| passes(&verdict(&Exact::ratio(steps, whole), &sharp));
    let (good, bad) = bisect(0, whole, || true, does);
    if bad == whole && sharp.iter().any(|sharp| *sharp) {
        // Those that are taken as one value do it alone, and are told of as what decides.
        return None;
    }
    let share = Exact::ratio(good, whole);
    let (mut found, mut taken) = (Vec::new(), Vec::new());
    for ((leaf, quantity, now), sharp) in group.parts.iter().zip(&sharp) {
        let name = wording::setting(context, *leaf);
        let middle = show_exact(&quantity.nominal, &quantity.unit);
        if *sharp {
            taken.push(format!("`{name}` taken as {middle}"));
            continue;
        }
        let needed = tighter(now, &share).map_or_else(
            || "almost exactly that".to_owned(),
            |needed| wording::tolerance(&needed),
        );
        found.push(format!(
            "`{name}` at {middle} {needed} (now {})",
            rough(now)
        ));
    }
    let with = if taken.is_empty() {
        String::new()
    } else {
        format!(", with {}", list(&taken))
    };
    Some(format!(
        "{by} would narrow it: it holds if that finds {}{with}",
        list(&found)
    ))
}

/// A tolerance with no more than three digits, for comparison only: `± 41.2 %`.
pub(super) fn rough(tolerance: &Tolerance) -> String {
    let round = |size: &Exact| {
        let own = tolerance.unit.from_base(size);
        Exact::parse_decimal(&own.significant_up(2))
            .map_or_else(|_| size.clone(), |rounded| tolerance.unit.to_base(&rounded))
    };
    wording::tolerance(&Tolerance {
        plus: round(&tolerance.plus),
        minus: round(&tolerance.minus),
        ..tolerance.clone()
    })
}

fn list(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
