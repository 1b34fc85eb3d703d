//! The limits of a standard by what they rest on, for people.

use std::io::{self, Write};

use super::Style;
use super::document::Document;
use crate::diagnostic::{Ground, LimitOutline, Limits};
use crate::source::Store;

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
    out.write_all(document(limits, store).to_text(style).as_bytes())
}

fn document(limits: &Limits, store: &Store) -> Document {
    let title = &limits.title;
    let edition = title.edition.as_deref().map_or_else(
        || "no edition stated".to_owned(),
        |edition| format!("edition {edition}"),
    );
    let mut document = Document::new(&title.name, &title.digest);
    let file = store.get(title.file).name();
    let digest = title.digest.get(..12).unwrap_or(&title.digest);
    document.heading(
        1,
        format!("{file}: {}, {edition}, digest {digest}", title.name),
    );
    for (ground, limits) in by_ground(limits) {
        let words = match ground {
            Ground::Nothing => "rests on nothing",
            Ground::Practice => "rests on practice alone",
            Ground::Source(name) => name,
        };
        document.heading(2, format!("{words} ({})", limits.len()));
        document.list(limits.iter().map(|limit| line(limit, store)));
    }
    if !title.taken_out.is_empty() {
        document.heading(2, format!("taken out ({})", title.taken_out.len()));
        document.list(title.taken_out.iter().cloned());
    }
    document.paragraph(totals(limits));
    document
}

fn line(limit: &LimitOutline, store: &Store) -> String {
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
    line
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
