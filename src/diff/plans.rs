//! Which plans fare otherwise under a new edition, and by which rules.

use std::collections::BTreeMap;

use crate::check::{Options, Prepared, check_plan};
use crate::diagnostic::{
    Check, Fared, Outcome, PlanMove, PlanMoves, PlanReport, RuleMove, Severity, Unchecked, Verb,
    Verdict,
};
use crate::source::{FileId, Store};

/// What is compared of plans.
#[derive(Debug, Clone, Copy)]
pub struct PlanOptions<'o> {
    /// How plans are checked; neither reasons nor repairs are asked for.
    pub options: Options,
    /// New names of rules by their old ones, for those that were renamed.
    pub renamed: &'o BTreeMap<String, String>,
}

/// Checks plans against both editions.
#[must_use]
pub fn plan_moves(
    store: &Store,
    (old, new): (&Prepared, &Prepared),
    plans: &[FileId],
    how: PlanOptions<'_>,
) -> PlanMoves {
    let mut moves = PlanMoves::default();
    for file in plans {
        one(store, (old, new), *file, how, &mut moves);
    }
    // The order of the files is kept among those that fare alike.
    moves.moved.sort_by_key(|plan| {
        let worst = plan
            .rules
            .first()
            .map(|rule| rule.new.as_ref().map(Fared::rank));
        (plan.way(), worst)
    });
    moves
}

fn one(
    store: &Store,
    (old, new): (&Prepared, &Prepared),
    file: FileId,
    how: PlanOptions<'_>,
    moves: &mut PlanMoves,
) {
    let look = |edition: &Prepared, explain| {
        let options = Options {
            explain,
            repairs: false,
            ..how.options
        };
        check_plan(store, edition, 0, file, options)
    };
    let verdict = |report: &PlanReport| Verdict::of_plan(report, how.options.allow_risk);
    let (before, after) = (look(old, false), look(new, false));
    let (was, is) = (verdict(&before), verdict(&after));
    let path = store.get(file).name().to_owned();
    if (was, is) == (Verdict::NotChecked, Verdict::NotChecked) {
        moves.unchecked.push(Unchecked {
            path,
            why: trouble(&after),
        });
        return;
    }
    let why = match (was, is) {
        (_, Verdict::NotChecked) => Some(trouble(&after)),
        (Verdict::NotChecked, _) => Some(trouble(&before)),
        _ => None,
    };
    moves.compared += usize::from(why.is_none());
    // Most plans fare as before: only for the others the reasons are worked out.
    let alike = was == is && ranks(&before, how.renamed) == ranks(&after, &BTreeMap::new());
    if alike {
        return;
    }
    let rules = if why.is_some() {
        Vec::new()
    } else {
        rules(&look(old, true), &look(new, true), how.renamed)
    };
    if why.is_none() && was == is && rules.is_empty() {
        return;
    }
    moves.moved.push(PlanMove {
        path,
        name: after.name,
        old: was,
        new: is,
        rules,
        why,
    });
}

/// The first thing in the way of a check.
fn trouble(report: &PlanReport) -> String {
    let error = report
        .diagnostics
        .iter()
        .find(|said| said.severity == Severity::Error);
    error.map_or_else(
        || "no rule ran on it".to_owned(),
        |said| said.headline.clone(),
    )
}

/// A rule on a thing.
type Key<'r> = (&'r str, Option<&'r str>);

/// The worst that came of each rule on each thing.
fn worst<'r>(
    report: &'r PlanReport,
    renamed: &'r BTreeMap<String, String>,
) -> BTreeMap<Key<'r>, Fared> {
    let mut worst: BTreeMap<Key<'r>, Fared> = BTreeMap::new();
    for check in &report.checks {
        let rule = renamed.get(&check.rule).unwrap_or(&check.rule);
        let key = (rule.as_str(), check.subject.as_deref());
        let fared = fared(check);
        match worst.get(&key) {
            Some(known) if known.rank() <= fared.rank() => {}
            _ => {
                worst.insert(key, fared);
            }
        }
    }
    worst
}

/// The same without words and places.
fn ranks<'r>(
    report: &'r PlanReport,
    renamed: &'r BTreeMap<String, String>,
) -> BTreeMap<Key<'r>, (bool, Verb, Outcome)> {
    let worst = worst(report, renamed).into_iter();
    worst.map(|(key, fared)| (key, fared.rank())).collect()
}

fn fared(check: &Check) -> Fared {
    Fared {
        outcome: check.outcome,
        verb: check.verb,
        why: check.why.clone(),
        span: check.span,
    }
}

/// Rules that come to something else. That one applies no more, or holds where it did not apply, is no change
/// to the plan.
fn rules(
    before: &PlanReport,
    after: &PlanReport,
    renamed: &BTreeMap<String, String>,
) -> Vec<RuleMove> {
    let none = BTreeMap::new();
    let (mut was, mut is) = (worst(before, renamed), worst(after, &none));
    let mut keys: Vec<Key<'_>> = was.keys().chain(is.keys()).copied().collect();
    keys.sort_unstable();
    keys.dedup();
    let mut moved: Vec<RuleMove> = keys
        .into_iter()
        .filter_map(|key| {
            let (old, new) = (was.remove(&key), is.remove(&key));
            let told = |fared: &Option<Fared>| {
                let fared = fared.as_ref()?;
                let (fine, verb, outcome) = fared.rank();
                (!fine).then_some((verb, outcome))
            };
            (told(&old) != told(&new)).then(|| RuleMove {
                rule: key.0.to_owned(),
                subject: key.1.map(str::to_owned),
                old,
                new,
            })
        })
        .collect();
    moved.sort_by_key(|rule| {
        let of = |fared: &Option<Fared>| {
            fared.as_ref().map_or((true, None), |fared| {
                let (fine, verb, outcome) = fared.rank();
                (fine, Some((verb, outcome)))
            })
        };
        (of(&rule.new), of(&rule.old))
    });
    moved
}
