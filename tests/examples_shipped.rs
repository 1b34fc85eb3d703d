//! The examples of the specs that ship, and of the demo room: they pass, and every limit is pinned by one.
//!
//! The changes are made a second time here, in the text of the specs.

use std::path::Path;

use crate::room::Room;
use strikeoff::check::TestOptions;
use strikeoff::cli::test;
use strikeoff::names::SHIPPED;

/// The folder of examples for the specs that ship, with the specs as files that can be changed.
fn shipped() -> Room {
    let mut room = Room::default();
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/examples");
    for folder in ["", "plans"] {
        for entry in std::fs::read_dir(root.join(folder)).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_str().unwrap();
            if path.is_dir() {
                continue;
            }
            let text = std::fs::read_to_string(&path).unwrap();
            let name = if folder.is_empty() {
                name.to_owned()
            } else {
                format!("{folder}/{name}")
            };
            room.texts.insert(name, Ok(text));
        }
    }
    for (name, text) in SHIPPED {
        room.texts
            .insert(format!("{name}.std"), Ok((*text).to_owned()));
    }
    for (path, text) in &mut room.texts {
        let text = text.as_mut().unwrap();
        if path.ends_with(".std") {
            for (name, _) in SHIPPED {
                *text = text.replace(
                    &format!("\nuse {name}\n"),
                    &format!("\nuse \"{name}.std\"\n"),
                );
            }
        }
    }
    room
}

#[test]
fn the_specs_that_ship_are_pinned() {
    let room = shipped();
    let run = test("shipped.std", TestOptions::default(), &room);
    let report = run.found.unwrap();
    let wrong: Vec<_> = report
        .examples
        .iter()
        .filter(|one| !one.failed.is_empty())
        .collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(report.pins.tried > 500, "{}", report.pins.tried);
    let open: Vec<(&str, &str)> = report
        .pins
        .holes
        .iter()
        .map(|hole| (hole.owner.as_str(), hole.words.as_str()))
        .collect();
    assert_eq!(open, []);
    assert_eq!(report.pins.noticed, report.pins.tried);
}

/// Every limit of the rules and inks that ship, a step up and a step down in the text.
#[test]
fn a_limit_of_the_specs_that_is_moved_in_the_text_is_noticed() {
    let room = shipped();
    let mut changes: Vec<(&str, usize, String)> = Vec::new();
    for (spec, _) in SHIPPED {
        let text = room.texts[&format!("{spec}.std")].as_ref().unwrap();
        let found = limits(text).into_iter().chain(ends(text));
        changes.extend(found.map(|(at, number)| (*spec, at, number)));
    }
    assert!(changes.len() > 150, "{}", changes.len());
    for spec in [
        "rules",
        "heat-rules",
        "childwear",
        "room-air",
        "fabrics",
        "inks",
    ] {
        assert!(changes.iter().any(|(of, ..)| *of == spec), "{spec}");
    }
    let silent = |(spec, at, number): &(&str, usize, String)| {
        let path = format!("{spec}.std");
        let text = room.texts[&path].as_ref().unwrap();
        let noticed = |sign: f64| {
            // A step is one of the last digit, or one of the dial it is set on.
            [1.0, 5.0].iter().any(|steps| {
                let mut changed = text.clone();
                changed.replace_range(*at..at + number.len(), &moved(number, sign * steps));
                let mut room = room.clone();
                room.texts.insert(path.clone(), Ok(changed));
                match test("shipped.std", UNPINNED, &room).found {
                    Ok(report) => report.failed() > 0,
                    // A limit that is no longer possible is said.
                    Err(_) => true,
                }
            })
        };
        let line = text[..*at].matches('\n').count() + 1;
        // No limit lies below nothing.
        let signs = [1.0, -1.0].into_iter();
        let signs = signs.filter(|sign| number != "0" || *sign > 0.0);
        let signs = signs.filter(|sign| !noticed(*sign));
        signs
            .map(|sign| format!("{path}:{line}: {number} by {sign}"))
            .collect::<Vec<String>>()
    };
    let silent: Vec<String> = std::thread::scope(|scope| {
        let halves = changes.chunks(changes.len().div_ceil(2));
        let threads: Vec<_> = halves
            .map(|half| scope.spawn(|| half.iter().flat_map(silent).collect::<Vec<String>>()))
            .collect();
        let found = threads.into_iter().map(|thread| thread.join().unwrap());
        found.flatten().collect()
    });
    assert_eq!(silent, NOT_READ);
}

/// Ends of a range that no rule reads.
const NOT_READ: &[&str] = &["inks.std:15: 250 by 1", "inks.std:15: 250 by -1"];

/// Settings of records that rules hold a run to.
const HELD_TO: &[&str] = &[
    "mesh",
    "squeegee",
    "reducer",
    "catalyst",
    "pot-life",
    "flash",
    "gel",
    "cure",
    "particle",
    "bleed-onset",
];

/// Places of the ends of ranges in inks and cloths.
fn ends(text: &str) -> Vec<(usize, String)> {
    let mut found = Vec::new();
    let mut start = 0;
    let mut inside = false;
    for line in text.split_inclusive('\n') {
        if !line.starts_with(' ') {
            inside = line.starts_with("ink ") || line.starts_with("garment ");
        }
        let value = line.split(" per ").next().unwrap();
        let word = value.split_whitespace().next().unwrap_or("");
        if inside && HELD_TO.contains(&word) {
            for (at, _) in value.match_indices(|c: char| c.is_ascii_digit()) {
                let before = value[..at].chars().next_back();
                let number: String = value[at..]
                    .chars()
                    .take_while(|one| is_digit(*one))
                    .collect();
                if before == Some(' ') {
                    found.push((start + at, number));
                }
            }
        }
        start += line.len();
    }
    found
}

fn is_digit(character: char) -> bool {
    character.is_ascii_digit() || character == '.'
}

/// Only whether the examples pass.
const UNPINNED: TestOptions = TestOptions {
    shipped: false,
    close: false,
    unpinned: true,
};

/// Places of the numbers that lines which require something compare with.
fn limits(text: &str) -> Vec<(usize, String)> {
    let mut found = Vec::new();
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let word = line.trim_start();
        let required = line.split(" per ").next().unwrap();
        if word.starts_with("shall ") || word.starts_with("should ") {
            for before in [
                "at least ",
                "at most ",
                "above ",
                "below ",
                "within ",
                " to ",
            ] {
                let Some(at) = required.find(before) else {
                    continue;
                };
                let at = at + before.len();
                let number: String = line[at..]
                    .chars()
                    .take_while(|one| is_digit(*one))
                    .collect();
                if !number.is_empty() {
                    found.push((start + at, number));
                }
            }
        }
        start += line.len();
    }
    found
}

/// A number so many units of its last digit further.
fn moved(number: &str, steps: f64) -> String {
    let decimals = number
        .split_once('.')
        .map_or(0, |(_, fraction)| fraction.len());
    let value: f64 = number.parse().unwrap();
    let step = 10_f64.powi(-i32::try_from(decimals).unwrap());
    format!("{:.decimals$}", (value + steps * step).max(0.0))
}

#[test]
fn the_demo_room_passes_and_is_pinned() {
    let mut room = Room::default();
    for folder in ["demo-data", "demo-data/plans", "demo-data/examples"] {
        let below = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
        for entry in std::fs::read_dir(below).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_str().unwrap().to_owned();
            if name.ends_with(".std") || name.ends_with(".plan") {
                let text = std::fs::read_to_string(&path).unwrap();
                room.texts.insert(format!("{folder}/{name}"), Ok(text));
            }
        }
    }
    let run = test("demo-data/nosuch-room.std", TestOptions::default(), &room);
    let report = run.found.unwrap();
    assert!(report.examples.len() > 30);
    assert_eq!(report.failed(), 0, "{:?}", report.examples);
    assert!(report.pins.tried > 100, "{}", report.pins.tried);
    assert!(report.pins.holes.is_empty(), "{:?}", report.pins.holes);
}
