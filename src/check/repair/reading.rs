//! What to do where the value that decides is not one to set: turn something else, and where it was read off read it
//! again.

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
/// come to. A reading goes before what is given or worked out, of which nothing is said where there was something to
/// turn (`tried`). `None` where there is nothing to say.
pub(super) fn instead(
    trial: &Candidate<'_>,
    rule: &Rule,
    each: Option<InstanceId>,
    rests_on: &[Leaf],
    tried: bool,
) -> Option<String> {
    let context = &trial.context;
    let of = |read_off: bool| {
        rests_on.iter().filter_map(move |leaf| {
            let why = trial.before.leaf_not_set(*leaf)?;
            let suits = matches!(why, NotSet::Measured(_)) == read_off;
            suits.then_some((Dial::of(context, *leaf)?, why))
        })
    };
    let mut first: Option<(Dial<'_>, NotSet)> = None;
    let others = of(false).filter(|_| !tried);
    for (dial, why) in of(true).chain(others) {
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
        [] => None,
        names => Some(format!("turn {}", names.join(" or "))),
    };
    let kind = context.run.target(context.standard, dial.leaf.target).kind;
    let next = match (why, turn) {
        (NotSet::Measured(_), turn) => {
            let turn = turn.unwrap_or_else(|| "change what it depends on".to_owned());
            format!("{turn}, then measure it again")
        }
        (_, Some(turn)) => turn,
        (NotSet::WorkedOut, None) => "change what it is worked out from".to_owned(),
        (NotSet::Given, None) => format!(
            "name another `{}`, or plan the run in another way",
            context.standard.kind(kind).name
        ),
    };
    let aim = match (range, why) {
        (None, _) => String::new(),
        (Some(range), NotSet::Given) => format!("; it would hold with {range}"),
        (Some(range), _) => format!("; it holds where it comes to {range}"),
    };
    format!("`{name}` {}: {next}{aim}", why.words())
}
