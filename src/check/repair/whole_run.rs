//! A change that makes the whole run hold, where several things do not.
//!
//! What mends one finding is tried on all of them first, then one setting that all of them rest on, then two. What makes
//! the whole run hold mends each finding as well, so it is offered where one setting is not enough for a finding.

use std::collections::BTreeSet;

use crate::diagnostic::{Outcome, Verb};
use crate::eval::{EvalContext, Leaf};

use super::super::impact::Before;
use super::candidate::{Candidate, badness};
use super::dial::Dial;
use super::line_search::LineSearch;
use super::pair::pairs;
use super::repair_report::{self, Rank, list};
use super::{Found, Offer, two_settings};

/// How many settings are looked at, alone and in pairs.
const MOST_TRIED: usize = 8;

/// How many rules that stand in the way are named.
const MOST_NAMED: usize = 3;

/// The most findings whose own repairs are put together.
const MOST_TOGETHER: usize = 6;

/// What was found for the whole run.
#[derive(Debug, Default)]
pub(in super::super) struct Whole {
    /// A change that makes it hold.
    pub(in super::super) offer: Option<Offer>,
    /// What is to be said of it: what stays, or that there is none.
    pub(in super::super) said: Option<String>,
}

/// Looks for a change of the whole run, and says of the changes found for single results whether they are one. Where
/// one setting is not enough for a result, two are looked for: those of the whole run first.
pub(in super::super) fn whole_run<'a>(
    context: &EvalContext<'a>,
    before: &'a Before<'a>,
    found: &mut [(usize, Found<'a>)],
) -> Whole {
    let open: Vec<usize> = (0..before.results.len())
        .filter(|place| badness(before.results[*place].outcome()) > 0 && !before.passes(*place))
        .collect();
    let missing = |place: &usize| before.results[*place].outcome() == Outcome::NotStated;
    let (unstated, wanted): (Vec<usize>, Vec<usize>) = open.into_iter().partition(missing);
    let all_stated = unstated.is_empty();
    let whole = if wanted.len() > 1 {
        of_several(context, before, found, &wanted, all_stated)
    } else {
        Whole::default()
    };
    for (place, found) in found.iter_mut() {
        if found.offers.is_empty() {
            two_settings(context, before, *place, found);
        }
        if wanted.len() == 1 {
            for offer in &mut found.offers {
                offer.repair.whole = all_stated && offer.mends_all != Some(false);
            }
        }
    }
    whole
}

fn of_several<'a>(
    context: &EvalContext<'a>,
    before: &'a Before<'a>,
    found: &mut [(usize, Found<'a>)],
    wanted: &[usize],
    all_stated: bool,
) -> Whole {
    let is_shall = |place: &usize| {
        let result = &before.results[*place];
        context.standard.rules[result.rule].requirements[result.requirement].verb == Verb::Shall
    };
    let required: Vec<usize> = wanted
        .iter()
        .filter(|place| is_shall(place))
        .copied()
        .collect();
    let mut offer = of_all(context, before, found, wanted, all_stated);
    let mut said = None;
    let mut reached = wanted;
    if offer.is_none() && !required.is_empty() && required.len() < wanted.len() {
        offer = of_all(context, before, found, &required, false);
        reached = &required;
        said = offer.is_some().then(|| {
            "every `shall` holds then; what is only recommended, with `should`, stays as it is"
                .to_owned()
        });
    }
    let Some(mut offer) = offer else {
        return none(context, before, found);
    };
    offer.repair.whole = said.is_none() && all_stated;
    if !all_stated {
        said = Some("what is not stated has to be stated as well".to_owned());
    }
    // What mends all mends each.
    for (place, found) in found.iter_mut() {
        if found.offers.is_empty() && reached.contains(place) {
            found.offers.push(offer.clone());
        }
    }
    Whole {
        offer: Some(offer),
        said,
    }
}

/// That nothing was found.
fn none(context: &EvalContext<'_>, before: &Before<'_>, found: &[(usize, Found<'_>)]) -> Whole {
    let stuck: BTreeSet<String> = found
        .iter()
        .filter(|(_, found)| found.offers.is_empty())
        .map(|(place, _)| &context.standard.rules[before.results[*place].rule].name)
        .map(|name| format!("`{name}`"))
        .collect();
    let count = stuck.len();
    let mut stuck: Vec<String> = stuck.into_iter().take(MOST_NAMED).collect();
    if count > stuck.len() {
        stuck.push(format!("{} more", count - stuck.len()));
    }
    let exhausted = context
        .cache
        .is_some_and(|cache| !cache.budget().may_help_more(cache.budget().work()));
    let within = if exhausted {
        " within the work that `--budget` allows"
    } else {
        ""
    };
    let why = if stuck.is_empty() {
        String::new()
    } else {
        let verb = if count == 1 { "stands" } else { "stand" };
        format!("; {} {verb} in the way", list(&stuck))
    };
    Whole {
        offer: None,
        said: Some(format!(
            "no change of one or two settings was found that makes it hold{within}{why}"
        )),
    }
}

fn of_all<'a>(
    context: &EvalContext<'a>,
    before: &'a Before<'a>,
    found: &mut [(usize, Found<'a>)],
    wanted: &[usize],
    all: bool,
) -> Option<Offer> {
    let trial = Candidate::new(context, before, wanted.to_vec()).of_the_whole();
    let result = search(&trial, found, wanted, all);
    trial.done();
    result
}

fn search<'a>(
    trial: &Candidate<'a>,
    found: &mut [(usize, Found<'a>)],
    wanted: &[usize],
    all: bool,
) -> Option<Offer> {
    // What mends one of them may mend all.
    let mut best: Option<Offer> = None;
    for (place, found) in found.iter_mut() {
        if !wanted.contains(place) {
            continue;
        }
        for offer in &mut found.offers {
            let mends = match offer.mends_all {
                Some(known) => known,
                None => trial.works(&offer.parts).is_ok(),
            };
            offer.repair.whole = mends && all;
            let better = |known: &Offer| offer.rank.compare(&known.rank).is_lt();
            if mends && best.as_ref().is_none_or(better) {
                best = Some(offer.clone());
            }
        }
    }
    if let Some(offer) = best {
        return Some(again(trial, &offer).unwrap_or(offer));
    }
    let offers: Vec<&Offer> = found
        .iter()
        .filter(|(place, _)| wanted.contains(place))
        .flat_map(|(_, found)| &found.offers)
        .filter(|offer| !offer.parts.is_empty())
        .collect();
    one_setting(trial, wanted)
        .or_else(|| two_offers(trial, &offers))
        .or_else(|| {
            let dials = dials(trial, wanted, &offers);
            pairs(trial, &dials, &[]).offer(trial, &dials)
        })
        .or_else(|| {
            let first = found
                .iter()
                .filter(|(place, _)| wanted.contains(place))
                .map(|(_, found)| found.offers.first())
                .collect::<Option<Vec<_>>>()?;
            together(trial, &first)
        })
}

/// The same settings with the ranges in which the whole run holds.
fn again(trial: &Candidate<'_>, offer: &Offer) -> Option<Offer> {
    let dials: Option<Vec<(Dial<'_>, i64)>> = offer
        .parts
        .iter()
        .map(|(leaf, stretch)| {
            let dial = Dial::of(&trial.context, *leaf)?;
            let at = dial.steps_of(stretch)?;
            Some((dial, at))
        })
        .collect();
    let dials = dials.filter(|dials| !dials.is_empty())?;
    let settings: Vec<(&Dial<'_>, i64)> = dials.iter().map(|(dial, at)| (dial, *at)).collect();
    repair_report::several(trial, &settings, offer.rank)
}

/// One setting that can reach all of them.
fn one_setting(trial: &Candidate<'_>, wanted: &[usize]) -> Option<Offer> {
    let first = *wanted.first()?;
    let settings = trial.before.settings_of(&trial.context, first);
    let mut best: Option<(Dial<'_>, i64, Rank)> = None;
    for (leaf, named) in settings.into_iter().take(MOST_TRIED) {
        if !wanted.iter().all(|place| trial.reaches(*place, leaf)) || trial.exhausted() {
            continue;
        }
        let Some(dial) = Dial::of(&trial.context, leaf) else {
            continue;
        };
        let search = LineSearch {
            trial,
            dial: &dial,
            others: &[],
        };
        if search.hopeless(dial.first, dial.last) {
            continue;
        }
        for at in [search.look(true).at, search.look(false).at]
            .into_iter()
            .flatten()
        {
            let rank = Rank::of(&trial.context, &dial, at, u32::from(!named));
            let better = |(.., known): &(Dial<'_>, i64, Rank)| rank.compare(known).is_lt();
            if best.as_ref().is_none_or(better) {
                best = Some((dial.clone(), at, rank));
            }
        }
    }
    let (dial, at, rank) = best?;
    repair_report::one(trial, &dial, at, rank)
}

/// Two of the changes that were found for single results.
fn two_offers(trial: &Candidate<'_>, offers: &[&Offer]) -> Option<Offer> {
    let mut pairs: Vec<Offer> = Vec::new();
    for (index, one) in offers.iter().enumerate() {
        for other in &offers[index + 1..] {
            let (Some([(first, _)]), Some([(second, _)])) =
                (one.parts.get(..), other.parts.get(..))
            else {
                continue;
            };
            if first == second || trial.exhausted() {
                continue;
            }
            let parts = [one.parts.clone(), other.parts.clone()].concat();
            if trial.works(&parts).is_ok() {
                pairs.push(Offer {
                    parts,
                    rank: one.rank.and(other.rank),
                    ..(*one).clone()
                });
            }
        }
    }
    let best = pairs
        .into_iter()
        .min_by(|one, other| one.rank.compare(&other.rank))?;
    again(trial, &best)
}

/// The first change of each, all together.
fn together(trial: &Candidate<'_>, offers: &[&Offer]) -> Option<Offer> {
    let mut all: Option<Offer> = None;
    for offer in offers {
        let Some(known) = &mut all else {
            all = Some((*offer).clone());
            continue;
        };
        for part in &offer.parts {
            if !known.parts.iter().any(|(leaf, _)| *leaf == part.0) {
                known.parts.push(part.clone());
                known.rank = known.rank.and(offer.rank);
            }
        }
    }
    let all = all.filter(|all| (1..=MOST_TOGETHER).contains(&all.parts.len()))?;
    trial.works(&all.parts).ok()?;
    again(trial, &all)
}

/// The settings to try in pairs: those that were found to help first.
fn dials<'a>(trial: &Candidate<'a>, wanted: &[usize], offers: &[&Offer]) -> Vec<(Dial<'a>, u32)> {
    let mut leaves: Vec<(Leaf, bool)> = offers
        .iter()
        .flat_map(|offer| offer.parts.iter().map(|(leaf, _)| (*leaf, true)))
        .collect();
    for place in wanted {
        leaves.extend(trial.before.settings_of(&trial.context, *place));
    }
    let mut dials: Vec<(Dial<'a>, u32)> = Vec::new();
    for (leaf, named) in leaves {
        if dials.len() >= MOST_TRIED {
            break;
        }
        if dials.iter().any(|(dial, _)| dial.leaf == leaf) {
            continue;
        }
        if let Some(dial) = Dial::of(&trial.context, leaf) {
            dials.push((dial, u32::from(!named)));
        }
    }
    dials
}
