//! The limits of a standard by what they rest on, as text.

use std::io::{self, Write};

use super::Style;
use super::fold::fold;
use crate::diagnostic::{Ground, LimitOutline, Limits};
use crate::source::{Store, visible};

/// Writes the limits as text: first those that rest on nothing, then those on practice alone, then
/// source by source in the order of first use.
///
/// # Errors
/// Whatever `out` fails with.
pub fn sources(
    limits: &Limits,
    store: &Store,
    style: &Style,
    out: &mut dyn Write,
) -> io::Result<()> {
    let mut out = io::BufWriter::with_capacity(1 << 16, out);
    let width = style.width.clamp(40, 1000);
    let title = &limits.title;
    let edition = title.edition.as_deref().map_or_else(
        || "no edition stated".to_owned(),
        |edition| format!("edition {}", visible(edition)),
    );
    let heading = format!(
        "{}: {}, {edition}, digest {}",
        visible(store.get(title.file).name()),
        visible(&title.name),
        title.digest.get(..12).unwrap_or(&title.digest)
    );
    head(&fold(&heading, width, "", "  "), style, &mut out)?;
    writeln!(out)?;
    for (ground, limits) in by_ground(limits) {
        let words = match ground {
            Ground::Nothing => "rests on nothing".to_owned(),
            Ground::Practice => "rests on practice alone".to_owned(),
            Ground::Source(name) => visible(name).into_owned(),
        };
        let words = fold(&format!("{words} ({})", limits.len()), width, "", "  ");
        head(&words, style, &mut out)?;
        for limit in limits {
            one(limit, store, width, &mut out)?;
        }
        writeln!(out)?;
    }
    let totals = totals(limits);
    out.write_all(fold(&totals, width, "", "  ").as_bytes())?;
    out.flush()
}

fn head(words: &str, style: &Style, out: &mut dyn Write) -> io::Result<()> {
    if style.colour {
        writeln!(out, "\u{1b}[1m{}\u{1b}[0m", words.trim_end())
    } else {
        out.write_all(words.as_bytes())
    }
}

fn one(limit: &LimitOutline, store: &Store, width: usize, out: &mut dyn Write) -> io::Result<()> {
    let text = store.get(limit.span.file);
    let place = text.place(limit.span.start as usize);
    let mut line = format!(
        "{}:{}: {} {}: {}",
        text.name(),
        place.line,
        limit.kind,
        limit.name,
        limit.words
    );
    match &limit.said_by {
        Some(_) if limit.of_rule => {}
        Some(parent) => line.push_str(&format!(" (as {parent})")),
        None => {}
    }
    if let Some(day) = &limit.rests.reviewed {
        line.push_str(&format!(", reviewed {day}"));
    }
    out.write_all(fold(&visible(&line), width, "  ", "      ").as_bytes())
}

/// Limits by what they rest on.
fn by_ground(limits: &Limits) -> Vec<(&Ground, Vec<&LimitOutline>)> {
    let mut groups: Vec<(&Ground, Vec<&LimitOutline>)> = Vec::new();
    let mut known = std::collections::HashMap::new();
    for limit in &limits.limits {
        let ground = &limit.rests.on;
        let at = *known.entry(ground).or_insert_with(|| {
            groups.push((ground, Vec::new()));
            groups.len() - 1
        });
        if let Some((_, group)) = groups.get_mut(at) {
            group.push(limit);
        }
    }
    let rank = |ground: &Ground| match ground {
        Ground::Nothing => 0,
        Ground::Practice => 1,
        Ground::Source(_) => 2,
    };
    groups.sort_by_key(|(ground, _)| rank(ground));
    groups
}

fn totals(limits: &Limits) -> String {
    let count = |wanted: &dyn Fn(&LimitOutline) -> bool| {
        limits.limits.iter().filter(|limit| wanted(limit)).count()
    };
    let all = limits.limits.len();
    let noun = if all == 1 { "limit" } else { "limits" };
    let practice = count(&|limit| limit.rests.on == Ground::Practice);
    let nothing = count(&|limit| limit.rests.on == Ground::Nothing);
    let named = all - practice - nothing;
    let reviewed = count(&|limit| limit.rests.reviewed.is_some());
    format!(
        "{all} {noun}: {named} on a named source, {practice} on practice alone, {nothing} on nothing; \
         {reviewed} with the day of a review, {} without",
        all - reviewed
    )
}
