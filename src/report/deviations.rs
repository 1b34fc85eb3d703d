//! The list of deviations with their states, for people.

use std::io::{self, Write};

use super::document::{Document, Fact, fact};
use super::{Style, phrase};
use crate::diagnostic::{DeviationInfo, DeviationState, Report};
use crate::source::Store;

/// Writes all deviations of the standards; with `ending`, those that end within so many days or have ended.
///
/// # Errors
/// Whatever `out` fails with.
pub fn deviations(
    report: &Report,
    store: &Store,
    ending: Option<i64>,
    style: &Style,
    out: &mut dyn Write,
) -> io::Result<()> {
    let wanted = |deviation: &&DeviationInfo| match ending {
        // One whose end cannot be read may have ended.
        Some(days) => deviation.days_left.is_none_or(|left| left <= days),
        None => true,
    };
    let mut document = Document::new("deviations", "");
    let (mut shown, mut all) = (0, 0);
    for standard in &report.standards {
        all += standard.deviations.len();
        let list: Vec<_> = standard.deviations.iter().filter(wanted).collect();
        if list.is_empty() {
            continue;
        }
        shown += list.len();
        let file = store.get(standard.file).name();
        document.heading(1, format!("{file}: {}", phrase::standard(standard)));
        for deviation in list {
            document.heading(3, head(deviation));
            document.facts(facts(deviation, store));
        }
    }
    let noun = if all == 1 { "deviation" } else { "deviations" };
    let over = phrase::plans(report);
    document.paragraph(match ending {
        Some(days) => {
            format!("{shown} of {all} {noun} ended, or end within {days} days; over {over}")
        }
        None => format!("{all} {noun}; over {over}"),
    });
    document.paragraph(format!("date: {}", report.date));
    out.write_all(document.to_text(style).as_bytes())
}

fn head(deviation: &DeviationInfo) -> String {
    let states = deviation.states.iter().copied().map(DeviationState::word);
    let states: Vec<&str> = states.collect();
    let mut head = format!("{}: from {}", states.join(", "), deviation.rule);
    if let Some(title) = &deviation.title {
        head.push_str(&format!(": {title}"));
    }
    head
}

fn facts(deviation: &DeviationInfo, store: &Store) -> Vec<Fact> {
    let place = store.place(deviation.span);
    let file = store.get(deviation.span.file).name();
    let mut facts = vec![fact("at", format!("{file}:{}", place.line))];
    let left = deviation.days_left.map(|left| match left {
        left if left < 0 => format!(", {} past", days(-left)),
        left => format!(", {} left", days(left)),
    });
    let until = deviation.until.as_ref();
    let until = until.map(|until| format!("{until}{}", left.unwrap_or_default()));
    let pieces = deviation.pieces.as_ref();
    let optional = [
        ("until", until),
        ("permits", joined(&deviation.up_to)),
        ("run", deviation.run.clone()),
        ("pieces", pieces.map(|most| format!("at most {most}"))),
        ("because", deviation.because.clone()),
        ("approved", deviation.approved.clone()),
    ];
    let stated = optional.into_iter();
    facts.extend(stated.filter_map(|(name, text)| Some(fact(name, text?))));
    let checks = count(deviation.checks, "check");
    let plans = count(deviation.plans, "plan");
    facts.push(fact("lets pass", format!("{checks} in {plans}")));
    facts.extend(joined(&deviation.would_do).map(|text| fact("would do", text)));
    facts
}

fn joined(list: &[String]) -> Option<String> {
    (!list.is_empty()).then(|| list.join(" and "))
}

fn count(number: usize, noun: &str) -> String {
    let end = if number == 1 { "" } else { "s" };
    format!("{number} {noun}{end}")
}

fn days(number: i64) -> String {
    let end = if number == 1 { "" } else { "s" };
    format!("{number} day{end}")
}
