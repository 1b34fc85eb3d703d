//! What to do where the value that decides is read off and not set: turn something else, and read it again.

use crate::eval::Leaf;
use crate::types::{InstanceId, Rule};

use super::super::blame::adjustable;
use super::super::not_set::NotSet;
use super::super::outcome::binding as binding_of;
use super::super::wording;
use super::candidate::Candidate;
use super::dial::Dial;
use super::line_search::LineSearch;

/// How many settings to turn are named.
const MOST_NAMED: usize = 4;

/// Of the first of these values that is no dial: why no repair moves it, what to turn instead, and what it has to
/// come to. `None` where all of them can be set.
pub(super) fn instead(
    trial: &Candidate<'_>,
    rule: &Rule,
    each: Option<InstanceId>,
    rests_on: &[Leaf],
) -> Option<String> {
    let context = &trial.context;
    let dials = rests_on.iter().filter_map(|leaf| {
        let why = trial.before.leaf_not_set(*leaf)?;
        Some((Dial::of(context, *leaf)?, why))
    });
    let mut first: Option<(Dial<'_>, NotSet)> = None;
    for (dial, why) in dials {
        if let Some(range) = wanted(trial, &dial) {
            return Some(sentence(trial, rule, each, (&dial, &why), Some(range)));
        }
        first = first.or(Some((dial, why)));
    }
    let (dial, why) = first?;
    Some(sentence(trial, rule, each, (&dial, &why), None))
}

/// The nearest values with which what is wanted holds: `280 to 290 °F ± 6 °F`.
fn wanted(trial: &Candidate<'_>, dial: &Dial<'_>) -> Option<String> {
    if trial.exhausted() {
        return None;
    }
    let search = LineSearch {
        trial,
        dial,
        others: &[],
    };
    let (up, down) = (search.look(true).at, search.look(false).at);
    let at = match (up, down) {
        (Some(up), Some(down)) if dial.change(up) < dial.change(down) => up,
        (up, down) => down.or(up)?,
    };
    let around = search.widen(at);
    Some(dial.with_tolerance(dial.range(around.low, around.high)))
}

fn sentence(
    trial: &Candidate<'_>,
    rule: &Rule,
    each: Option<InstanceId>,
    (dial, why): (&Dial<'_>, &NotSet),
    range: Option<String>,
) -> String {
    let context = &trial.context;
    let name = wording::setting(context, dial.leaf);
    let turned: Vec<String> = adjustable(context, binding_of(each), rule)
        .into_iter()
        .filter(|leaf| trial.before.leaf_not_set(*leaf).is_none())
        .take(MOST_NAMED)
        .map(|leaf| format!("`{}`", wording::setting(context, leaf)))
        .collect();
    let turn = match turned.as_slice() {
        [] => "change what it depends on".to_owned(),
        names => format!("turn {}", names.join(" or ")),
    };
    let aim = range.map_or_else(String::new, |range| {
        format!("; it holds where it comes to {range}")
    });
    format!(
        "`{name}` {}: {turn}, then measure it again{aim}",
        why.words()
    )
}
