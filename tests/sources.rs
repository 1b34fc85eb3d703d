//! Every limit of a shipped spec that names a source leads to a line of `specs/sources.md`, or carries a mark that says why not.

use std::collections::BTreeMap;

use strikeoff::names::SHIPPED;

const REGISTER: &str = include_str!("../specs/sources.md");

/// Words in a `per` that say it was not read, or is nobody's.
const MARKS: &[&str] = &["practice", "as recalled", "from memory"];

/// All texts behind `per` and `law`, and how many limits rest on practice alone, by spec.
fn cited() -> (Vec<(&'static str, String)>, usize) {
    let (mut cited, mut practice) = (Vec::new(), 0);
    for (name, text) in SHIPPED {
        for line in text.lines() {
            let line = line.split(" #").next().unwrap_or_default();
            if line.trim_start().starts_with('#') {
                continue;
            }
            for word in ["per ", "law "] {
                for (at, _) in line.match_indices(word) {
                    let before = line[..at].chars().next_back();
                    let rest = line[at + word.len()..].trim_start();
                    if before.is_some_and(|one| one != ' ') {
                        continue;
                    }
                    if let Some(text) = rest.strip_prefix('"') {
                        let end = text.find('"').unwrap();
                        cited.push((*name, text[..end].to_owned()));
                    } else if rest.starts_with("practice") {
                        practice += 1;
                    }
                }
            }
        }
    }
    (cited, practice)
}

/// The first cells of the register's tables, and the words of its last list.
fn titles() -> (Vec<String>, Vec<&'static str>) {
    let mut titles = Vec::new();
    for line in REGISTER.lines().filter(|line| line.starts_with("| ")) {
        let first = line.trim_matches('|').split(" | ").next().unwrap().trim();
        for title in first.split("; ") {
            // A bracket at the end says the month or what it is.
            let title = match (title.rfind(" ("), title.ends_with(')')) {
                (Some(at), true) => &title[..at],
                _ => title,
            };
            if title.len() >= 8 && title != "document" {
                titles.push(title.to_lowercase());
            }
        }
    }
    let list = REGISTER.split("## Not from a document").nth(1).unwrap();
    let own = list.lines().filter_map(|line| line.strip_prefix("- "));
    (titles, own.collect())
}

/// The numbers that stand behind `handbook row`, `handbook rows`, `handbook section` or `handbook, section`.
fn handbook_rows(text: &str) -> Vec<String> {
    let Some(behind) = text.split("handbook").nth(1) else {
        return Vec::new();
    };
    let behind = behind.split(':').next().unwrap();
    let words = behind.split(|one: char| !one.is_ascii_digit() && one != '.');
    words
        .map(|word| word.trim_matches('.').to_owned())
        .filter(|word| !word.is_empty())
        .collect()
}

/// What a text behind `per` rests on, as the register knows it.
fn resolved(text: &str, titles: &[String], own: &[&str]) -> Option<&'static str> {
    let lower = text.to_lowercase();
    let rows = handbook_rows(text);
    let known = |row: &String| REGISTER.contains(&format!("### handbook row {row}:"));
    if text.contains("handbook") && rows.iter().any(known) {
        return Some("handbook row");
    }
    if titles.iter().any(|title| lower.contains(title.as_str())) {
        return Some("document");
    }
    if own.contains(&text) {
        return Some("own measurement or reasoning");
    }
    if let Some(section) = text.split("physics note, section").nth(1) {
        let section = section.trim_start_matches(['s', ' ']);
        let section = section.split(|one: char| !one.is_ascii_digit()).next();
        let head = format!("| physics note, section {} |", section.unwrap_or_default());
        if REGISTER.contains(&head) {
            return Some("physics note");
        }
    }
    MARKS
        .iter()
        .any(|mark| text.contains(mark))
        .then_some("a mark")
}

#[test]
fn every_source_that_ships_leads_somewhere() {
    let (cited, practice) = cited();
    let (titles, own) = titles();
    assert!(cited.len() > 250, "{}", cited.len());
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    let mut nowhere = Vec::new();
    for (spec, text) in &cited {
        match resolved(text, &titles, &own) {
            Some(on) => *counts.entry(on).or_default() += 1,
            None => nowhere.push(format!("{spec}: {text}")),
        }
    }
    assert!(nowhere.is_empty(), "{}", nowhere.join("\n"));
    counts.insert("practice alone", practice);
    // So many limits rest on what. A limit that moves from a source to practice shows here.
    insta::assert_snapshot!(format!("{counts:#?}"));
}

#[test]
fn a_source_that_nobody_listed_is_noticed() {
    let (titles, own) = titles();
    for text in [
        "a page that nobody listed",
        "via handbook row 12.9",
        "physics note, section 77",
    ] {
        assert_eq!(resolved(text, &titles, &own), None, "{text}");
    }
}

#[test]
fn the_register_has_no_address() {
    for part in ["http", "www.", ".com", ".org", "@"] {
        assert!(!REGISTER.contains(part), "{part}");
    }
}
