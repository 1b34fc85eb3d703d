//! Words that all views of a comparison share.

use std::collections::BTreeSet;

use crate::diagnostic::{
    Answer, Change, Combinations, Comparison, Direction, Effect, Meaning, Outcome, Shows, Verb,
};

/// How many records are named unless all are wanted.
pub(super) const FEW: usize = 8;

/// What a comparison came to, in one sentence.
pub(super) fn verdict(comparison: &Comparison) -> String {
    let total = comparison
        .changes
        .iter()
        .fold(Direction::NONE, |known, change| known.or(change.direction));
    match comparison.meaning {
        Meaning::Same => "same meaning, proved".to_owned(),
        Meaning::NotDecided => "whether they mean the same is not decided".to_owned(),
        Meaning::Differs if total == Direction::NONE => {
            "no outcome changes, proved; what stands in them differs".to_owned()
        }
        Meaning::Differs => total.words().to_owned(),
    }
}

/// `2 loosened, 1 tightened, 1 not decided, 3 without effect on outcomes`.
pub(super) fn counts(comparison: &Comparison) -> String {
    let counts = comparison.counts();
    let mut parts = vec![
        format!("{} loosened", counts.loosened),
        format!("{} tightened", counts.tightened),
        format!("{} not decided", counts.open),
        format!("{} without effect on outcomes", counts.neutral),
    ];
    if counts.alarms > 0 {
        let noun = if counts.alarms == 1 { "slip" } else { "slips" };
        parts.push(format!("{} likely {noun}", counts.alarms));
    }
    parts.join(", ")
}

/// A section of a comparison and the changes that stand in it.
pub(super) struct Section<'c> {
    pub(super) title: &'static str,
    pub(super) changes: Vec<&'c Change>,
    /// Whether it is told in a line each.
    pub(super) brief: bool,
}

/// The sections, what got looser before what got tighter.
pub(super) fn sections(comparison: &Comparison) -> Vec<Section<'_>> {
    let of = |title, brief, wanted: &dyn Fn(&Change) -> bool| {
        let found = comparison.changes.iter().filter(|change| wanted(change));
        let mut changes: Vec<&Change> = found.collect();
        changes.sort_by_key(|change| only_warns(comparison, change));
        Section {
            title,
            changes,
            brief,
        }
    };
    let yes = Answer::Yes;
    let alarm = |change: &Change| change.alarm.is_some();
    vec![
        of("likely a slip", false, &alarm),
        of("loosened", false, &|change| {
            !alarm(change) && change.direction.looser == yes && change.direction.tighter != yes
        }),
        of("loosened and tightened", false, &|change| {
            !alarm(change) && change.direction.looser == yes && change.direction.tighter == yes
        }),
        of("tightened", false, &|change| {
            !alarm(change) && change.direction.looser != yes && change.direction.tighter == yes
        }),
        of("not decided", false, &|change| {
            !alarm(change)
                && change.direction.looser != yes
                && change.direction.tighter != yes
                && change.direction != Direction::NONE
        }),
        of("no outcome changes", true, &|change| {
            !alarm(change) && change.direction == Direction::NONE
        }),
    ]
}

/// Whether a change bears on nothing but what warns: it stands behind those that bear on what is required.
fn only_warns(comparison: &Comparison, change: &Change) -> bool {
    let required = |of: &Effect| {
        let was = of.old.as_ref().map_or("", |stands| &stands.words);
        of.verb == Verb::Shall || was.starts_with("shall")
    };
    let effects = change.effects.iter();
    let mut clauses = effects
        .filter_map(|share| comparison.effects.get(share.effect))
        .peekable();
    clauses.peek().is_some() && !clauses.any(required)
}

/// `limit changed, verb changed`.
pub(super) fn kinds(change: &Change) -> String {
    let words: Vec<&str> = change.kinds.iter().map(|kind| kind.words()).collect();
    words.join(", ")
}

/// `1 clause`, `2 clauses`.
pub(super) fn counted(count: usize, noun: &str) -> String {
    let ending = if count == 1 { "" } else { "s" };
    format!("{count} {noun}{ending}")
}

/// The records of combinations: by kind, each with each, where they are all of that sort; else one by one.
pub(super) fn combinations(of: &Combinations, full: bool) -> Vec<String> {
    let Some(first) = of.list.first() else {
        return Vec::new();
    };
    if first.is_empty() {
        return Vec::new();
    }
    let mut sets: Vec<BTreeSet<&str>> = vec![BTreeSet::new(); first.len()];
    for combination in &of.list {
        for (set, (_, record)) in sets.iter_mut().zip(combination) {
            set.insert(record);
        }
    }
    let size: usize = sets.iter().map(BTreeSet::len).product();
    let most = if full { usize::MAX } else { FEW };
    if size == of.list.len() {
        return first
            .iter()
            .zip(&sets)
            .enumerate()
            .map(|(place, ((kind, _), set))| {
                // In the order met, the shop's own first.
                let mut names: Vec<&str> = Vec::new();
                for combination in &of.list {
                    if let Some((_, record)) = combination.get(place)
                        && !names.contains(&record.as_str())
                    {
                        names.push(record);
                    }
                }
                let shown: Vec<String> = names
                    .iter()
                    .take(most)
                    .map(|name| named(kind, name))
                    .collect();
                let rest = set.len().saturating_sub(shown.len());
                let more = if rest > 0 {
                    format!(" and {rest} more")
                } else {
                    String::new()
                };
                format!("{kind}: {}{more}", shown.join(", "))
            })
            .collect();
    }
    let mut lines: Vec<String> = of
        .list
        .iter()
        .take(most)
        .map(|combination| {
            let parts: Vec<String> = combination
                .iter()
                .map(|(kind, record)| match record.as_str() {
                    "" => format!("a {kind} that is no record"),
                    record => format!("{kind} {record}"),
                })
                .collect();
            parts.join(" with ")
        })
        .collect();
    if of.list.len() > lines.len() {
        lines.push(format!(
            "and {} more combinations",
            of.list.len() - lines.len()
        ));
    }
    lines
}

/// The combinations of an effect that a change bears on.
pub(super) fn reached(change: &Change, effect: &Effect) -> Vec<Combinations> {
    let mine = |of: &Combinations| {
        let list = of.list.iter().filter(|one| change.reaches(one));
        Combinations {
            direction: of.direction,
            list: list.cloned().collect(),
        }
    };
    let all = effect.combinations.iter().map(mine);
    all.filter(|of| !of.list.is_empty()).collect()
}

fn named(kind: &str, record: &str) -> String {
    if record.is_empty() {
        format!("any {kind} that is no record")
    } else {
        record.to_owned()
    }
}

fn came(outcome: Option<Outcome>, verb: Verb) -> String {
    match outcome {
        None => "there was nothing to keep".to_owned(),
        Some(Outcome::Breaks) if verb == Verb::Should => "breaks, a warning".to_owned(),
        Some(outcome) => outcome.word().to_owned(),
    }
}

/// What a run shows: `a run that passed and does not any more: holds before, breaks now`.
pub(super) fn shown(shows: &Shows, effect: &Effect) -> String {
    let what = if shows.tighter {
        "a run that passed this clause and does not now"
    } else {
        "a run that did not pass this clause and does now"
    };
    let before = match shows.old {
        None => "no such clause before".to_owned(),
        outcome => format!("{} before", came(outcome, effect.verb)),
    };
    let after = match shows.new {
        None => "no such clause now".to_owned(),
        outcome => format!("{} now", came(outcome, effect.verb)),
    };
    format!("{what} ({before}, {after}; checked against both)")
}
