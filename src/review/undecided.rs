//! What was not decided: of which rule, why, and what it costs.

use std::collections::{BTreeMap, BTreeSet};

use super::clauses::Group;
use super::context::ReviewContext;
use super::finding;
use super::grouping::{Aside, Reach};
use super::study::ClauseId;
use crate::constraint::{Account, Reason, Shares};
use crate::diagnostic::{Code, Diagnostic, Evidence, ReviewFinding};

/// How many rules are named one by one; of more, they are one finding.
const MOST_BY_THEMSELVES: usize = 4;

/// One finding for each rule of which something was not decided.
pub(super) fn undecided(
    context: &ReviewContext<'_>,
    shares: &Shares<'_>,
    reach: &Reach,
    cut_short: &[&Group],
) -> Vec<ReviewFinding> {
    let mut found = Vec::new();
    let mut rules: BTreeSet<usize> = BTreeSet::new();
    for (id, aside) in &reach.aside {
        if rules.insert(context.clause(*id).rule) {
            found.push(set_aside(context, *id, aside));
        }
    }
    for group in cut_short {
        found.extend(ended(context, group));
    }
    let mut by_rule: BTreeMap<usize, (ClauseId, Account)> = BTreeMap::new();
    for id in 0..context.clauses.list.len() {
        let account = shares.account(id);
        if account.open == 0 && !account.ran_out {
            continue;
        }
        let of = by_rule.entry(context.clause(id).rule);
        of.and_modify(|(_, known)| known.add(&account))
            .or_insert((id, account));
    }
    let mut by_reason: BTreeMap<Reason, Vec<(ClauseId, Account)>> = BTreeMap::new();
    for (id, account) in by_rule.into_values() {
        let reason = account.reason.unwrap_or(Reason::Spent);
        by_reason.entry(reason).or_default().push((id, account));
    }
    for (reason, mut of) in by_reason {
        // What took most is named first.
        of.sort_by_key(|(id, account)| (std::cmp::Reverse(account.spent), *id));
        found.extend(open(context, reason, &of));
    }
    found
}

/// A rule that is not looked at with those it shares settings with.
fn set_aside(context: &ReviewContext<'_>, id: ClauseId, aside: &Aside) -> ReviewFinding {
    let rule = context.rule_name(id);
    let how = if aside.alone {
        "was looked at by itself, not with the rules it shares settings with"
    } else {
        "was not looked at"
    };
    let count = match aside.combinations {
        usize::MAX => "more combinations of records than can be counted".to_owned(),
        count => format!("{count} combinations of records"),
    };
    said(
        context,
        id,
        format!("`{rule}` {how}: together they read what records state, in {count}"),
        "all else was reviewed without it; let it read fewer settings of records, or part it into several rules",
    )
}

/// Requirements whose combinations are more than there is work for.
fn ended(context: &ReviewContext<'_>, group: &Group) -> Option<ReviewFinding> {
    let ids: BTreeSet<ClauseId> = group.clauses.iter().copied().collect();
    let first = *context.own_first(&ids).first()?;
    let names: BTreeSet<&str> = ids.iter().map(|id| context.rule_name(*id)).collect();
    let more = match names.len() {
        1 => String::new(),
        many => format!(" and {} rules that hang together with it", many - 1),
    };
    let mut finding = said(
        context,
        first,
        format!(
            "`{}`{more} have more combinations of records than there is work for",
            context.rule_name(first)
        ),
        "what clashes in those looked at is said; nothing is claimed of what never applies, never binds or is missing",
    );
    finding.noun = "rule";
    finding.members = names.into_iter().map(str::to_owned).collect();
    Some(finding)
}

/// Rules with questions that stayed open for one reason: each by itself, or many as one.
fn open(
    context: &ReviewContext<'_>,
    reason: Reason,
    rules: &[(ClauseId, Account)],
) -> Vec<ReviewFinding> {
    let (why, next) = match reason {
        Reason::Endless => (
            "it reads a value without an end",
            "give the settings it reads a range, `from … to …`",
        ),
        Reason::NotKnown | Reason::TooFine => (
            "its figure is not known closely enough",
            "nothing to do; what is not named here was decided",
        ),
        // Choices that go too deep have used up the work long before.
        Reason::Spent | Reason::TooDeep => (
            "that takes more work than one rule may take",
            "nothing to do, unless it can be written with fewer settings or fewer `or`; what is not named here was decided",
        ),
    };
    let name = |id: ClauseId| context.rule_name(id);
    if rules.len() > MOST_BY_THEMSELVES
        && let Some((first, _)) = rules.first()
    {
        let spent: u64 = rules.iter().map(|(_, account)| account.spent).sum();
        let words = format!(
            "not everything on `{}` and {} other rules was decided together with what they share settings with: {why} ({spent} steps of work)",
            name(*first),
            rules.len() - 1
        );
        let mut finding = said(context, *first, words, next);
        finding.noun = "rule";
        finding.members = rules.iter().map(|(id, _)| name(*id).to_owned()).collect();
        return vec![finding];
    }
    let one = |(id, account): &(ClauseId, Account)| {
        let words = format!(
            "not everything on `{}` was decided together with what it shares settings with: {why} ({} steps of work)",
            name(*id),
            account.spent
        );
        said(context, *id, words, next)
    };
    rules.iter().map(one).collect()
}

fn said(
    context: &ReviewContext<'_>,
    id: ClauseId,
    words: String,
    next: &'static str,
) -> ReviewFinding {
    let place = context.requirement(id).span;
    let said = Diagnostic::new(Code::NotDecided, place, words, "this").help(next);
    finding(said, Evidence::NotDecided)
}
