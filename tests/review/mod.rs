//! `strikeoff review`: planted faults are found, brute force agrees, printed slips are flagged.

mod brute;
mod claims;
mod faults;
mod figures;
mod shipped;
mod slips;
mod tables;
mod undecided;
mod views;

use crate::room::Room;
use strikeoff::cli::{ReviewRun, review};
use strikeoff::diagnostic::{Code, Review, ReviewFinding};

/// A room of one standard.
fn one(text: &str) -> Room {
    let mut room = Room::default();
    room.texts
        .insert("room.std".to_owned(), Ok(text.to_owned()));
    room
}

/// A folder of the demo data, by its path below it.
fn demo(folder: &str) -> Room {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut room = Room::default();
    // The plans are there for the examples, which name them.
    for (below, end) in [("", "std"), ("plans/", "plan"), ("examples/", "plan")] {
        if !root.join(below).is_dir() {
            continue;
        }
        for entry in std::fs::read_dir(root.join(below)).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|own| own == end) {
                let name = path.file_name().unwrap().to_str().unwrap();
                let text = std::fs::read_to_string(&path).unwrap();
                room.texts.insert(format!("{below}{name}"), Ok(text));
            }
        }
    }
    room
}

/// Reviews a standard whose text must have no error.
fn reviewed(room: &Room, path: &str) -> (ReviewRun, Review) {
    let run = review(path, room);
    match &run.found {
        Ok(found) => {
            let found = found.clone();
            (run, found)
        }
        Err(problems) => panic!("{path} cannot be reviewed: {problems:#?}"),
    }
}

/// The findings of one code.
fn of(review: &Review, code: Code) -> Vec<&ReviewFinding> {
    review
        .findings
        .iter()
        .filter(|finding| finding.said.code == code)
        .collect()
}

/// The texts that the places of a finding mark.
fn marked(run: &ReviewRun, finding: &ReviewFinding) -> Vec<String> {
    let labels = finding.said.labels().iter();
    labels
        .map(|label| run.store.slice(label.span).to_owned())
        .collect()
}
