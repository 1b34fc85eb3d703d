//! `window`: what freed settings may be set to, against checks of the plans, algebra and known cases.

mod agreement;
mod command;
mod deviations;
mod dials;
mod edges;
mod ends;
mod extent;
mod points;
mod readings;
mod sampled;
mod shapes;
mod views;

use crate::room::Room;
use strikeoff::check::NoWorking;
use strikeoff::cli::{WindowRun, window};
use strikeoff::diagnostic::Window;
use strikeoff::types::Date;
use strikeoff::window::{Asked, BUDGET};

/// The demo rooms from the disk.
fn demo() -> Room {
    Room::of_folders(&[
        "demo-data",
        "demo-data/plans",
        "demo-data/fitted",
        "demo-data/fitted/plans",
    ])
}

/// A room of one standard and one plan `a.plan`.
fn small(standard: &str, plan: &str) -> Room {
    let mut room = Room::default();
    room.texts
        .insert("room.std".to_owned(), Ok(standard.to_owned()));
    room.texts.insert("a.plan".to_owned(), Ok(plan.to_owned()));
    room
}

fn looked(room: &Room, plan: &str, free: &[&str], budget: u64) -> WindowRun {
    let free: Vec<String> = free.iter().map(|text| (*text).to_owned()).collect();
    let asked = Asked {
        free: &free,
        budget,
        on: Date::parse("2026-11-25"),
    };
    window(Some(plan), None, None, asked, room)
}

fn found(room: &Room, plan: &str, free: &[&str]) -> Window {
    looked(room, plan, free, BUDGET)
        .found
        .unwrap_or_else(|none| panic!("{plan}: {none:?}"))
}

/// Why something cannot be freed.
fn refused(room: &Room, plan: &str, free: &[&str]) -> String {
    match looked(room, plan, free, BUDGET).found {
        Err(NoWorking::Names(words)) => words.join("\n"),
        Err(NoWorking::Text(problems)) => {
            let words: Vec<String> = problems.into_iter().map(|said| said.headline).collect();
            words.join("\n")
        }
        Ok(_) => panic!("it was not refused"),
    }
}
