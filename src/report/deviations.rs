//! The list of deviations with their states, for people.

use std::io::{self, Write};

use super::fold::fold;
use super::{Style, phrase};
use crate::diagnostic::{DeviationInfo, DeviationState, Report};
use crate::source::{Store, visible};

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
    let width = style.width.clamp(40, 1000);
    let wanted = |deviation: &&DeviationInfo| match ending {
        // One whose end cannot be read may have ended.
        Some(days) => deviation.days_left.is_none_or(|left| left <= days),
        None => true,
    };
    let (mut shown, mut all) = (0, 0);
    for standard in &report.standards {
        all += standard.deviations.len();
        let list: Vec<_> = standard.deviations.iter().filter(wanted).collect();
        if list.is_empty() {
            continue;
        }
        shown += list.len();
        let file = visible(store.get(standard.file).name());
        writeln!(out, "{file}: {}\n", phrase::standard(standard))?;
        for deviation in list {
            one(deviation, store, width, out)?;
        }
    }
    let noun = if all == 1 { "deviation" } else { "deviations" };
    match ending {
        Some(days) => writeln!(
            out,
            "{shown} of {all} {noun} ended, or end within {days} days; over {}",
            phrase::plans(report)
        )?,
        None => writeln!(out, "{all} {noun}; over {}", phrase::plans(report))?,
    }
    writeln!(out, "date: {}", visible(&report.date))
}

fn one(
    deviation: &DeviationInfo,
    store: &Store,
    width: usize,
    out: &mut dyn Write,
) -> io::Result<()> {
    let states: Vec<&str> = deviation
        .states
        .iter()
        .copied()
        .map(DeviationState::word)
        .collect();
    let mut head = format!("from {}", visible(&deviation.rule));
    if let Some(title) = &deviation.title {
        head.push_str(&format!(": {}", visible(title)));
    }
    let place = store.place(deviation.span);
    let file = visible(store.get(deviation.span.file).name());
    let first = format!("  {}: ", states.join(", "));
    out.write_all(fold(&head, width, &first, "    ").as_bytes())?;
    let mut lines = vec![("at", format!("{file}:{}", place.line))];
    let until = deviation
        .until
        .as_ref()
        .map(|until| match deviation.days_left {
            Some(left) if left < 0 => format!("{until}, {} past", days(-left)),
            Some(left) => format!("{until}, {} left", days(left)),
            None => until.clone(),
        });
    let optional = [
        ("until", until),
        ("permits", joined(&deviation.up_to)),
        ("run", deviation.run.clone()),
        (
            "pieces",
            deviation
                .pieces
                .as_ref()
                .map(|most| format!("at most {most}")),
        ),
        ("because", deviation.because.clone()),
        ("approved", deviation.approved.clone()),
    ];
    for (name, text) in optional {
        if let Some(text) = text {
            lines.push((name, visible(&text).into_owned()));
        }
    }
    lines.push((
        "lets pass",
        format!(
            "{} in {}",
            count(deviation.checks, "check"),
            count(deviation.plans, "plan")
        ),
    ));
    if let Some(text) = joined(&deviation.would_do) {
        lines.push(("would do", visible(&text).into_owned()));
    }
    for (name, text) in lines {
        let first = format!("    {name:9}  ");
        out.write_all(fold(&text, width, &first, "               ").as_bytes())?;
    }
    writeln!(out)
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
