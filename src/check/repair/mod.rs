//! The smallest change of the plan that makes a requirement hold and makes nothing else worse.
//!
//! One setting first; two where one is not enough; a step put in where a rule says so. A change is offered only when
//! every rule it can reach was run again with it. What changes are called small: those that the rule says to
//! adjust come first, then those that take the least time (`changing … takes …` in a kind), then the least change
//! relative to the present value.

mod candidate;
mod dial;
mod line_search;
mod no_repair;
mod pair;
mod reading;
mod repair_report;
mod step;
mod whole_run;

use crate::diagnostic::{Diagnostic, Repair};
use crate::eval::{EvalContext, Leaf};

pub(super) use candidate::{Candidate, Fault, Parts};
pub(super) use dial::{Dial, nominal_limits};
pub(super) use line_search::whole_steps;
pub(super) use whole_run::whole_run;

use self::line_search::{LineResult, LineSearch};
use self::no_repair::NoRepair;
use self::pair::pairs;
use self::repair_report::Rank;
use self::step::step_repair;
use super::blame::adjustable;
use super::impact::Before;
use super::outcome::binding as binding_of;

/// How many settings are tried, and how many repairs are offered.
const MOST_TRIED: usize = 8;
const MOST_OFFERED: usize = 2;

/// A repair, with what it changes.
#[derive(Debug, Clone)]
pub(super) struct Offer {
    /// The settings it moves, with what they are then; none where it puts in a step.
    pub(super) parts: Parts,
    /// How it compares with others.
    pub(super) rank: Rank,
    /// In words and as edits.
    pub(super) repair: Repair,
    /// Whether nothing of the run is left that does not hold, where that is known.
    pub(super) mends_all: Option<bool>,
}

/// What was found for one result.
#[derive(Default)]
pub(super) struct Found<'a> {
    /// Repairs, best first.
    pub(super) offers: Vec<Offer>,
    /// Whether it rests on numbers at all.
    numbers: bool,
    /// What single settings come to, the others as they are.
    tried: Vec<Tried<'a>>,
    /// Where what decides is read off and not set: what to do instead of a repair.
    instead: Option<String>,
    /// Whether the work that may go into it was used up.
    exhausted: bool,
    /// Whether it is shown that no two settings do.
    never: bool,
}

/// What one setting can do for a result.
struct Tried<'a> {
    dial: Dial<'a>,
    /// Whether the rule says to adjust it.
    named: bool,
    up: LineResult,
    down: LineResult,
}

impl Found<'_> {
    /// Says why there is nothing to offer.
    pub(super) fn say(
        &self,
        context: &EvalContext<'_>,
        before: &Before<'_>,
        said: Diagnostic,
    ) -> Diagnostic {
        if self.offers.is_empty()
            && let Some(instead) = &self.instead
        {
            let said = if self.tried.is_empty() {
                said
            } else {
                NoRepair::of(context, before, self).say(said)
            };
            return said.help(instead.clone());
        }
        if self.offers.is_empty() && self.numbers {
            return NoRepair::of(context, before, self).say(said);
        }
        let on_records = self.offers.is_empty()
            && said.help.is_none()
            && said.finding.as_ref().is_some_and(|of| of.margin.is_some());
        if on_records {
            // What is compared comes with the records that the plan names.
            return said.help(
                "no number that the plan states decides this; look at what the run is made of",
            );
        }
        said
    }
}

/// Repairs for one result, best first. Each was applied, and every rule it can reach was run again.
pub(super) fn repairs<'a>(
    context: &EvalContext<'a>,
    before: &'a Before<'a>,
    place: usize,
    rests_on: &[Leaf],
) -> Found<'a> {
    let result = &before.results[place];
    let rule = &context.standard.rules[result.rule];
    let may_set = |leaf: &Leaf| before.leaf_not_set(*leaf).is_none();
    let mut leaves = adjustable(context, binding_of(result.each), rule);
    leaves.retain(may_set);
    leaves.truncate(MOST_TRIED);
    let named = leaves.len();
    for leaf in rests_on {
        if leaves.len() >= MOST_TRIED {
            break;
        }
        if !leaves.contains(leaf) && may_set(leaf) {
            leaves.push(*leaf);
        }
    }
    let trial = Candidate::new(context, before, vec![place]);
    // Those to adjust first come one by one, so that the others are tried only when these do not do.
    let (first, others) = leaves.split_at(named);
    let ranks = first.chunks(1).map(|rank| (rank, false));
    let ranks = ranks.chain([(others, true)]);
    let mut found = Found {
        numbers: !rests_on.is_empty(),
        ..Found::default()
    };
    'ranks: for (rank, unnamed) in ranks {
        // A step that the rule says to put in comes before settings that it does not name.
        if unnamed && found.offers.is_empty() && !trial.exhausted() {
            found.offers.extend(step_repair(context, before, result));
            if !found.offers.is_empty() {
                break;
            }
        }
        let mut candidates: Vec<(Rank, usize, i64)> = Vec::new();
        for leaf in rank.iter().filter(|leaf| rests_on.contains(leaf)) {
            if trial.exhausted() {
                break;
            }
            let Some(dial) = Dial::of(context, *leaf) else {
                continue;
            };
            let search = LineSearch {
                trial: &trial,
                dial: &dial,
                others: &[],
            };
            let (up, down) = (search.look(true), search.look(false));
            for at in [up.at, down.at].into_iter().flatten() {
                candidates.push((Rank::of(context, &dial, at, 0), found.tried.len(), at));
            }
            found.tried.push(Tried {
                named: leaves[..named].contains(leaf),
                dial,
                up,
                down,
            });
        }
        candidates.sort_by(|one, other| one.0.compare(&other.0));
        for (rank, index, at) in candidates {
            if found.offers.len() >= MOST_OFFERED || trial.exhausted() {
                break 'ranks;
            }
            let offer = repair_report::one(&trial, &found.tried[index].dial, at, rank);
            found.offers.extend(offer);
        }
    }
    if found.offers.is_empty() {
        let tried = !found.tried.is_empty();
        found.instead = reading::instead(&trial, rule, result.each, rests_on, tried);
    }
    found.exhausted = trial.exhausted();
    trial.done();
    found
}

/// Two settings for one result, where one is not enough: those that it rests on, and those of the rules that one of
/// them harms.
fn two_settings<'a>(
    context: &EvalContext<'a>,
    before: &'a Before<'a>,
    place: usize,
    found: &mut Found<'a>,
) {
    if found.tried.is_empty() {
        return;
    }
    let trial = Candidate::new(context, before, vec![place]);
    let tried = found.tried.iter();
    let mut dials: Vec<(Dial<'_>, u32)> = tried
        .map(|tried| (tried.dial.clone(), u32::from(!tried.named)))
        .collect();
    let clashes = found.tried.iter().flat_map(|tried| [tried.up, tried.down]);
    let mut clashes: Vec<usize> = clashes
        .filter_map(|sought| sought.clash)
        .map(|(_, place)| place)
        .collect();
    clashes.sort_unstable();
    clashes.dedup();
    for place in &clashes {
        for (leaf, named) in before.settings_of(context, *place) {
            if dials.len() >= MOST_TRIED {
                break;
            }
            if !dials.iter().any(|(dial, _)| dial.leaf == leaf)
                && let Some(dial) = Dial::of(context, leaf)
            {
                dials.push((dial, u32::from(!named)));
            }
        }
    }
    let two = pairs(&trial, &dials, &clashes);
    found.offers.extend(two.offer(&trial, &dials));
    found.never = two.never;
    found.exhausted |= trial.exhausted();
    trial.done();
}
