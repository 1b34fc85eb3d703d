//! A misspelt word is always said: every word of every demo standard and plan, one letter wrong, gives
//! a diagnostic that the room did not have before. The short form takes a sample of the words; the long
//! one (`STRIKEOFF_LONG=1`) takes all of them, misspelt in every way.
//!
//! Texts in quotes and comments are free, and so is a name that is written nowhere but where it is
//! declared: there, another spelling is another name. Those are the names of rules and cautions.

#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod demo_room;

use std::collections::BTreeSet;

use demo_room::Room;
use strikeoff::check::Options;
use strikeoff::diagnostic::Severity;

/// A word of a file.
#[derive(Debug, Clone)]
struct Word {
    file: String,
    start: usize,
    text: String,
    line: String,
}

/// The words of a text outside quotes and comments: runs of letters, digits and hyphens that hold a letter.
fn words(file: &str, text: &str) -> Vec<Word> {
    let mut found = Vec::new();
    let mut offset = 0;
    for line in text.split_inclusive('\n') {
        let mut quoted = false;
        let mut start = None;
        for (at, letter) in line.char_indices().chain([(line.len(), '\n')]) {
            let inside = letter.is_alphanumeric() || letter == '-';
            if let Some(from) = start
                && (!inside || quoted)
            {
                let word: &str = &line[from..at];
                if word.starts_with(char::is_alphabetic) {
                    found.push(Word {
                        file: file.to_owned(),
                        start: offset + from,
                        text: word.to_owned(),
                        line: line.trim().to_owned(),
                    });
                }
                start = None;
            }
            match letter {
                '"' => quoted = !quoted,
                '#' if !quoted => break,
                _ if inside && !quoted && start.is_none() => start = Some(at),
                _ => {}
            }
        }
        offset += line.len();
    }
    found
}

/// The word with one letter wrong, in four ways; none is the word itself.
fn misspelt(word: &str) -> Vec<String> {
    let letters: Vec<char> = word.chars().collect();
    let middle = letters.len() / 2;
    let mut ways = Vec::new();
    let mut dropped = letters.clone();
    dropped.remove(middle);
    ways.push(dropped);
    let mut doubled = letters.clone();
    doubled.insert(middle, letters[middle]);
    ways.push(doubled);
    if letters.len() > 1 {
        let mut swapped = letters.clone();
        swapped.swap(middle - 1, middle);
        ways.push(swapped);
    }
    let mut changed = letters;
    changed[middle] = if changed[middle] == 'x' { 'q' } else { 'x' };
    ways.push(changed);
    let ways: BTreeSet<String> = ways.into_iter().map(|way| way.into_iter().collect()).collect();
    ways.into_iter().filter(|way| way != word && !way.is_empty()).collect()
}

/// Whether another spelling of this word is another name: it is declared here and written nowhere else.
fn is_own_name(word: &Word) -> bool {
    let mut line = word.line.split_whitespace();
    let (keyword, name) = (line.next().unwrap_or(""), line.next().unwrap_or(""));
    ["rule", "caution"].contains(&keyword) && name.trim_end_matches('{') == word.text && keyword != word.text
}

/// What a room says: every warning and error, and every outcome, with its file.
fn said(room: &Room) -> BTreeSet<String> {
    let (store, report) = room.check(Options {
        explain: false,
        repairs: false,
        allow_risk: false,
    });
    let mut said = BTreeSet::new();
    for one in report.all_diagnostics().filter(|one| one.severity != Severity::Note) {
        let file = one.primary().map_or("", |label| store.get(label.span.file).name());
        said.insert(format!("{file}: {}: {}", one.code.slug(), one.headline));
    }
    said
}

#[test]
fn a_misspelt_word_is_always_said() {
    let long = std::env::var("STRIKEOFF_LONG").is_ok();
    let room = Room::demo();
    let before = said(&room);
    let mut all = Vec::new();
    for (file, text) in &room.files {
        all.extend(words(file, text).into_iter().filter(|word| !is_own_name(word)));
    }
    assert!(all.len() > 3000, "{} words", all.len());
    // A prime step walks through every file.
    let step = if long { 1 } else { 97 };
    let mut tried = 0;
    let mut silent = Vec::new();
    for word in all.iter().step_by(step) {
        let ways = misspelt(&word.text);
        let ways = if long { &ways[..] } else { &ways[..1] };
        for way in ways {
            let mut changed = room.clone();
            let text = changed.files.get_mut(&word.file).unwrap();
            text.replace_range(word.start..word.start + word.text.len(), way);
            // A plan concerns only itself; a standard concerns every plan.
            if word.file.ends_with(".plan") {
                changed.files.retain(|name, _| name.ends_with(".std") || *name == word.file);
            }
            tried += 1;
            if said(&changed).is_subset(&before) {
                silent.push(format!("{}: `{}` as `{way}` in `{}`", word.file, word.text, word.line));
            }
        }
    }
    assert!(tried > 30);
    assert!(
        silent.is_empty(),
        "{} of {tried} misspellings were not said:\n{}",
        silent.len(),
        silent.join("\n")
    );
}
