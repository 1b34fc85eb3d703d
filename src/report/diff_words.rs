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
    if counts.readings > 0 {
        parts.push(format!("{} read in another way", counts.readings));
    }
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
    let rest = |change: &Change| !alarm(change) && !change.reading;
    vec![
        of("likely a slip", false, &alarm),
        of("plans are read in another way", false, &|change| {
            !alarm(change) && change.reading
        }),
        of("loosened", false, &|change| {
            rest(change) && change.direction.looser == yes && change.direction.tighter != yes
        }),
        of("loosened and tightened", false, &|change| {
            rest(change) && change.direction.looser == yes && change.direction.tighter == yes
        }),
        of("not decided", false, &|change| {
            rest(change)
                && change.direction.looser != yes
                && change.direction.tighter != yes
                && change.direction != Direction::NONE
        }),
        of("tightened", false, &|change| {
            rest(change) && change.direction.looser != yes && change.direction.tighter == yes
        }),
        of("no outcome changes", true, &|change| {
            rest(change) && change.direction == Direction::NONE
        }),
    ]
}

/// Whether a change bears on nothing but what warns: it stands behind those that bear on what is required.
fn only_warns(comparison: &Comparison, change: &Change) -> bool {
    let required = |of: &Effect| {
        let was = of.old.as_ref().map_or("", |stands| &stands.words);
        of.verb() == Verb::Shall || was.starts_with("shall")
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

/// What a clause came to; with its verb told, where that is another now.
fn came(outcome: Option<Outcome>, verb: Option<Verb>, told: bool) -> String {
    match outcome {
        None => "there was nothing to keep".to_owned(),
        Some(outcome @ (Outcome::Holds | Outcome::DoesNotApply)) => outcome.word().to_owned(),
        Some(outcome) if verb == Some(Verb::Should) => format!("{} as a warning", outcome.word()),
        Some(outcome) if told => format!("{} as an error", outcome.word()),
        Some(outcome) => outcome.word().to_owned(),
    }
}

/// What a run shows: `a run that passed and does not any more: holds before, breaks now`.
pub(super) fn shown(shows: &Shows, effect: &Effect) -> String {
    let verb_changed = effect.old_verb.is_some()
        && effect.new_verb.is_some()
        && effect.old_verb != effect.new_verb;
    let both_fail = [shows.old, shows.new]
        .iter()
        .all(|of| of.is_some_and(|of| !matches!(of, Outcome::Holds | Outcome::DoesNotApply)));
    let what = match (shows.tighter, verb_changed && both_fail) {
        (true, true) => "a run that only got a warning here and fails by it now",
        (false, true) => "a run that failed by this clause and only gets a warning now",
        (true, false) if shows.whole => "a plan that passed and does not now",
        (false, false) if shows.whole => "a plan that did not pass and does now",
        (true, false) => "a run that passed this clause and does not now",
        (false, false) => "a run that did not pass this clause and does now",
    };
    let before = match shows.old {
        None => "no such clause before".to_owned(),
        outcome => format!("{} before", came(outcome, effect.old_verb, verb_changed)),
    };
    let after = match shows.new {
        None => "no such clause now".to_owned(),
        outcome => format!("{} now", came(outcome, effect.new_verb, verb_changed)),
    };
    format!("{what} ({before}, {after}; checked against both)")
}

/// What a plan shows that is read in another way.
pub(super) fn read_otherwise(shows: &crate::diagnostic::ReadingShows) -> String {
    format!(
        "a plan that fares {} now (it {} by the old standard, and {} by the new one; checked against both)",
        if shows.tighter { "worse" } else { "better" },
        shows.old.words(),
        shows.new.words()
    )
}

/// A file of one side, with the revision it was read in.
pub(super) fn side(file: &str, of: &crate::diagnostic::ComparedStandard) -> String {
    match &of.revision {
        Some(revision) => format!("{file} in {revision}"),
        None => file.to_owned(),
    }
}

/// What is said where the edition stayed while the meaning changed.
pub(super) fn edition_stayed(comparison: &Comparison) -> Option<String> {
    let edition = comparison
        .new
        .edition
        .as_ref()
        .filter(|_| comparison.edition_stayed())?;
    Some(format!(
        "the edition is still {edition}: reports cannot tell the two apart by it; give the new one another"
    ))
}
