//! The smallest change of the plan that makes a requirement hold and makes nothing else worse.
//!
//! One setting first; two where one is not enough; a step put in where a rule says so. A change is offered only when
//! every rule it can reach was run again with it. What changes are called small: those that the rule says to
//! adjust come first, then those that take the least time (`changing … takes …` in a kind), then the least change
//! relative to the present value.

mod dial;
mod offer;
mod pair;
mod seek;
mod step;
mod stuck;
mod trial;
mod whole;

use crate::diagnostic::Repair;
use crate::eval::{Leaf, Scene};

pub(super) use dial::Dial;
pub(super) use trial::{Parts, Trial};
pub(super) use whole::whole_run;

use self::offer::Rank;
use self::pair::{Two, pairs};
use self::seek::{Seek, Sought};
use self::step::step_repair;
use self::stuck::Stuck;
use super::affected::Before;
use super::outcome::{RuleResult, frame as frame_of};
use super::place::adjustable;

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
#[derive(Debug, Default)]
pub(super) struct Found {
    /// Repairs, best first.
    pub(super) offers: Vec<Offer>,
    /// Why there is none.
    pub(super) stuck: Option<Stuck>,
}

/// What one setting can do for a result.
struct Tried<'a> {
    dial: Dial<'a>,
    up: Sought,
    down: Sought,
}

/// Repairs for one result, best first. Each was applied, and every rule it can reach was run again.
pub(super) fn repairs(
    scene: &Scene<'_>,
    before: &Before<'_>,
    result: &RuleResult,
    rests_on: &[Leaf],
) -> Found {
    let Some(place) = before.place(result) else {
        return Found::default();
    };
    let rule = &scene.standard.rules[result.rule];
    let mut leaves = adjustable(scene, frame_of(result.each), rule);
    leaves.truncate(MOST_TRIED);
    let named = leaves.len();
    for leaf in rests_on {
        if leaves.len() >= MOST_TRIED {
            break;
        }
        if !leaves.contains(leaf) {
            leaves.push(*leaf);
        }
    }
    let trial = Trial::new(scene, before, vec![place]);
    // Those to adjust first come one by one, so that the others are tried only when these do not do.
    let (first, others) = leaves.split_at(named);
    let ranks = first.chunks(1).chain([others]);
    let mut found = Found::default();
    let mut tried: Vec<Tried<'_>> = Vec::new();
    'ranks: for rank in ranks {
        let mut candidates: Vec<(Rank, usize, i64)> = Vec::new();
        for leaf in rank.iter().filter(|leaf| rests_on.contains(leaf)) {
            if trial.tired() {
                break;
            }
            let Some(dial) = Dial::of(scene, *leaf) else {
                continue;
            };
            let seek = Seek {
                trial: &trial,
                dial: &dial,
                others: &[],
            };
            let (up, down) = (seek.look(true), seek.look(false));
            for at in [up.at, down.at].into_iter().flatten() {
                candidates.push((Rank::of(scene, &dial, at, 0), tried.len(), at));
            }
            tried.push(Tried { dial, up, down });
        }
        candidates.sort_by(|one, other| one.0.compare(&other.0));
        for (rank, index, at) in candidates {
            if found.offers.len() >= MOST_OFFERED || trial.tired() {
                break 'ranks;
            }
            found
                .offers
                .extend(offer::one(&trial, &tried[index].dial, at, rank));
        }
    }
    if found.offers.is_empty() && !trial.tired() {
        found.offers.extend(step_repair(scene, before, result));
    }
    if found.offers.is_empty() {
        let (two, never) = two_settings(&trial, &tried, &leaves, named);
        found.offers.extend(two);
        if found.offers.is_empty() {
            found.stuck = Some(Stuck::of(&trial, &tried, never));
        }
    }
    trial.done();
    found
}

/// Two settings, where one is not enough: those that the requirement rests on, and those of the rules that one of
/// them harms. Whether it is shown that no two of them do, where none were found.
fn two_settings(
    trial: &Trial<'_>,
    tried: &[Tried<'_>],
    leaves: &[Leaf],
    named: usize,
) -> (Option<Offer>, bool) {
    if tried.is_empty() {
        return (None, false);
    }
    let mut dials: Vec<(Dial<'_>, u32)> = tried
        .iter()
        .map(|tried| {
            let place = leaves.iter().position(|leaf| *leaf == tried.dial.leaf);
            let named = place.is_some_and(|place| place < named);
            (tried.dial.clone(), u32::from(!named))
        })
        .collect();
    let clashes = tried.iter().flat_map(|tried| [tried.up, tried.down]);
    let mut clashes: Vec<usize> = clashes
        .filter_map(|sought| sought.clash)
        .map(|(_, place)| place)
        .collect();
    clashes.sort_unstable();
    clashes.dedup();
    for place in &clashes {
        for (leaf, named) in trial.before.settings_of(&trial.scene, *place) {
            if dials.len() >= MOST_TRIED {
                break;
            }
            if !dials.iter().any(|(dial, _)| dial.leaf == leaf)
                && let Some(dial) = Dial::of(&trial.scene, leaf)
            {
                dials.push((dial, u32::from(!named)));
            }
        }
    }
    let Two { found, never } = pairs(trial, &dials, &clashes);
    let offer = found.and_then(|(one, other, rank)| {
        let (first, second) = (&dials[one.0].0, &dials[other.0].0);
        offer::two(trial, (first, one.1), (second, other.1), rank)
    });
    (offer, never)
}
