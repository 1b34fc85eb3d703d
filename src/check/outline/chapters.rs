//! The further chapters of a readable standard: what it is tested with, and what is permitted beyond it.

use crate::diagnostic::{Chapter, DeviationInfo, DeviationState};
use crate::source::Store;
use crate::types::{Date, Deviation, Example, Standard};

use super::super::deviation_state::deviations;
use super::super::examples::expected_words;
use super::super::plan::Prepared;
use super::wording::on_one_line;

fn columns(names: &[&str]) -> Vec<String> {
    names.iter().map(|name| (*name).to_owned()).collect()
}

/// The examples of a standard; none where it has none.
pub(super) fn examples(standard: &Standard) -> Option<Chapter> {
    let row = |example: &Example| {
        let what = [&example.title, &example.because];
        let what: Vec<&str> = what.into_iter().flatten().map(String::as_str).collect();
        let expected = example.expectations.iter();
        let expected: Vec<String> = expected.map(|one| expected_words(standard, one)).collect();
        vec![
            example.name.clone(),
            what.join("; "),
            example
                .plan
                .as_ref()
                .map_or_else(String::new, |plan| plan.written.clone()),
            expected.join("; "),
        ]
    };
    let rows: Vec<Vec<String>> = standard.examples.iter().map(row).collect();
    (!rows.is_empty()).then(|| Chapter {
        title: "Examples".to_owned(),
        sentence: "Runs that test this standard, with what is expected of each: how every rule named comes out."
            .to_owned(),
        columns: columns(&["example", "what is tested", "plan", "expected"]),
        rows,
    })
}

/// The deviations of a standard, with their states on a day such as `2026-11-25`; none where it has none.
#[must_use]
pub fn deviation_chapter(store: &Store, prepared: &Prepared, day: &str) -> Option<Chapter> {
    let (infos, _) = deviations(prepared, &[], Date::parse(day), false);
    let both = prepared.standard.deviations.iter().zip(&infos);
    let rows: Vec<Vec<String>> = both
        .map(|(deviation, info)| {
            let states: Vec<&str> = info.states.iter().map(|state| in_force(*state)).collect();
            let titled = match &info.title {
                Some(title) => format!("{}: {title}", info.rule),
                None => info.rule.clone(),
            };
            let said = |text: &Option<String>| text.clone().unwrap_or_default();
            vec![
                titled,
                states.join(", "),
                scope(store, deviation, info),
                info.up_to.join(" and "),
                said(&info.because),
                said(&info.approved),
                said(&info.until),
            ]
        })
        .collect();
    (!rows.is_empty()).then(|| Chapter {
        title: "Deviations".to_owned(),
        sentence: format!(
            "What is permitted beyond a rule, and until when; the state is that of {day}. \
             One that is not in force lets nothing pass."
        ),
        columns: columns(&[
            "from", "state", "for", "permits", "because", "approved", "until",
        ]),
        rows,
    })
}

/// A state in the words of somebody who asks whether it may be used.
fn in_force(state: DeviationState) -> &'static str {
    match state {
        DeviationState::Active => "in force",
        DeviationState::EndsSoon => "in force, ends soon",
        other => other.word(),
    }
}

/// The runs that a deviation is for.
fn scope(store: &Store, deviation: &Deviation, info: &DeviationInfo) -> String {
    let run = info.run.as_ref().map(|name| format!("run \"{name}\""));
    let when = deviation.when.iter();
    let when = when.map(|one| format!("when {}", on_one_line(store.slice(one.span))));
    let pieces = info.pieces.as_ref().map(|most| format!("at most {most}"));
    let parts: Vec<String> = run.into_iter().chain(when).chain(pieces).collect();
    if parts.is_empty() {
        return "every run".to_owned();
    }
    parts.join(", ")
}
