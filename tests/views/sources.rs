//! Every limit, where it is stated, and what it rests on.

use std::collections::BTreeSet;

use strikeoff::diagnostic::{Code, Ground, LimitOutline, Limits};

use super::small::{limits_of, read, room, sources_json, sources_text};
use crate::demo_room::{self, ROOT};

fn find<'l>(limits: &'l Limits, words: &str) -> &'l LimitOutline {
    let mut found = limits.limits.iter().filter(|limit| limit.words == words);
    let first = found.next().unwrap_or_else(|| panic!("{words}"));
    assert!(found.next().is_none(), "{words} stands twice");
    first
}

fn source(name: &str) -> Ground {
    Ground::Source(name.to_owned())
}

#[test]
fn each_limit_rests_on_what_its_line_its_rule_or_its_parent_says() {
    let read = read(&room(), "bench.std");
    let limits = limits_of(&read);
    let all = [
        (
            "shall oven.film within frame.paste.cure",
            source("paste maker's sheet"),
            Some("2026-03-01"),
            Some("the rule"),
        ),
        (
            "shall oven.film at most frame.paste.ceiling",
            Ground::Practice,
            Some("2026-02-01"),
            None,
        ),
        (
            "shall oven.dwell at least 60 s",
            Ground::Practice,
            None,
            Some("the rule"),
        ),
        (
            "should oven.dwell at least 90 s",
            source("trial of the bench"),
            None,
            None,
        ),
        (
            "may oven.film at most 250 °F",
            Ground::Practice,
            None,
            Some("the rule"),
        ),
        (
            "shall frame.pull within 15 to 25 N/cm",
            Ground::Nothing,
            None,
            None,
        ),
        (
            "cure 280 to 320 °F",
            source("paste maker's sheet"),
            Some("2025-11-30"),
            None,
        ),
        ("ceiling 340 °F", Ground::Nothing, None, None),
        (
            "cure 300 to 320 °F",
            source("paste maker's sheet"),
            Some("2025-11-30"),
            Some("oil-paste"),
        ),
        ("weight 10 to 40 N/cm", Ground::Nothing, None, None),
        ("cure at least 150 °C", Ground::Practice, None, None),
        ("ceiling 180 °C", source("trial of the bench"), None, None),
    ];
    for (words, on, reviewed, said_by) in &all {
        let limit = find(&limits, words);
        assert_eq!(limit.rests.on, *on, "{words}");
        assert_eq!(limit.rests.reviewed.as_deref(), *reviewed, "{words}");
        assert_eq!(limit.said_by.as_deref(), *said_by, "{words}");
    }
    // A price is no limit, nor is what the run's own oven states, nor what is physically possible.
    assert_eq!(limits.limits.len(), all.len());
}

#[test]
fn the_small_standard_as_text_and_json() {
    let read = read(&room(), "bench.std");
    insta::assert_snapshot!("sources_text", sources_text(&read));
    let version = format!("ersion\": \"{}\"", env!("CARGO_PKG_VERSION"));
    let json = sources_json(&read).replace(&version, "ersion\": \"[version]\"");
    insta::assert_snapshot!("sources_json", json);
}

#[test]
fn json_fits_its_schema() {
    let schema = serde_json::from_str(strikeoff::report::sources_schema()).unwrap();
    let schema = jsonschema::draft202012::new(&schema).unwrap();
    let demo = demo_room::Room::demo();
    for json in [
        sources_json(&read(&room(), "bench.std")),
        sources_json(&read(&demo, ROOT)),
    ] {
        let mut value: serde_json::Value = serde_json::from_str(&json).unwrap();
        let wrong: Vec<String> = schema
            .iter_errors(&value)
            .map(|error| error.to_string())
            .collect();
        assert!(wrong.is_empty(), "{wrong:#?}");
        // The schema refuses what does not fit.
        value["limits"][0]["rests_on"] = "hearsay".into();
        assert!(!schema.is_valid(&value));
    }
}

#[test]
fn the_counts_add_up() {
    let demo = demo_room::Room::demo();
    let read = read(&demo, ROOT);
    let value: serde_json::Value = serde_json::from_str(&sources_json(&read)).unwrap();
    let limits = value["limits"].as_array().unwrap();
    let of = |sort: &str| {
        limits
            .iter()
            .filter(|limit| limit["rests_on"] == sort)
            .count()
    };
    let totals = &value["totals"];
    for sort in ["source", "practice", "nothing"] {
        assert_eq!(totals[sort], of(sort));
    }
    assert_eq!(totals["limits"], limits.len());
    assert_eq!(of("source") + of("practice") + of("nothing"), limits.len());
    let text = sources_text(&read);
    let line = format!(
        "{} limits: {} on a named source, {} on practice alone",
        limits.len(),
        of("source"),
        of("practice")
    );
    assert!(text.contains(&line), "{line}");
}

#[test]
fn no_clause_of_the_demo_room_is_left_out() {
    let demo = demo_room::Room::demo();
    let read = read(&demo, ROOT);
    let limits = limits_of(&read);
    // Counted in the texts themselves, line by line.
    let mut written = BTreeSet::new();
    for file in &read.prepared.standard.files {
        for (number, line) in read.store.get(*file).text().lines().enumerate() {
            let verb = line.split_whitespace().next().unwrap_or_default();
            if ["shall", "should", "may"].contains(&verb) && line.starts_with(' ') {
                written.insert((*file, number + 1));
            }
        }
    }
    let mut listed = BTreeSet::new();
    for limit in &limits.limits {
        let text = read.store.get(limit.span.file);
        let place = text.place(limit.span.start as usize);
        let line = text.text().lines().nth(place.line as usize - 1).unwrap();
        let line = line.split_whitespace().collect::<Vec<_>>().join(" ");
        // The cell of a table is said as a sentence; its verb stands once for all of them.
        if limit.of_rule && line.contains('|') {
            let cell = text.text().get(limit.span.range()).unwrap();
            assert!(limit.words.contains(cell), "{cell} is not {}", limit.words);
            let lines: Vec<&str> = text.text().lines().take(place.line as usize).collect();
            let verb = lines.iter().rposition(|line| {
                let first = line.split_whitespace().next();
                matches!(first, Some("shall" | "should"))
            });
            listed.insert((limit.span.file, verb.unwrap() + 1));
            continue;
        }
        assert!(
            line.starts_with(&limit.words),
            "{line} is not {}",
            limit.words
        );
        if limit.of_rule {
            assert!(listed.insert((limit.span.file, place.line as usize)));
        }
    }
    assert!(listed.len() > 40);
    assert_eq!(listed, written);
}

#[test]
fn what_rests_on_nothing_is_what_a_check_warns_of() {
    let read = read(&room(), "bench.std");
    let warned: BTreeSet<_> = read
        .prepared
        .problems
        .iter()
        .filter(|said| said.code == Code::NoSource)
        .map(|said| said.primary().unwrap().span)
        .collect();
    let limits = limits_of(&read);
    let listed: BTreeSet<_> = limits
        .limits
        .iter()
        // A value that is no range is a limit only by its use, and is not warned of.
        .filter(|limit| limit.rests.on == Ground::Nothing && !limit.words.starts_with("ceiling"))
        .map(|limit| limit.span)
        .collect();
    assert_eq!(listed.len(), 2);
    assert_eq!(listed, warned);
}

#[test]
fn a_review_changes_no_digest() {
    let plain = read(&room(), "bench.std").prepared.standard.digest;
    let mut other = room();
    let text = other.texts.get_mut("bench.std").unwrap().as_mut().unwrap();
    *text = text.replace("reviewed 2026-03-01", "reviewed 2026-09-01");
    assert_eq!(read(&other, "bench.std").prepared.standard.digest, plain);
    let text = other.texts.get_mut("bench.std").unwrap().as_mut().unwrap();
    *text = text.replace("paste maker's sheet", "paste maker's new sheet");
    assert_ne!(read(&other, "bench.std").prepared.standard.digest, plain);
}
