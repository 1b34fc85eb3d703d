//! Standards that ask how values are stated and when they were read off, and edits of that.

use super::dice::Dice;
use super::invent::paths;
use super::model::{Cond, Room, Verb, What};

const DUE: [&str; 4] = ["2026-12-31", "2026-11-10", "2026-10-26", "2026-06-01"];
const ASKED: [&str; 5] = [
    "stated with a tolerance",
    "read within 30 d",
    "read within 60 d",
    "read within 29 d",
    "stated",
];

/// A condition on how a quantity is stated.
fn asked(dice: &mut Dice, room: &Room, each: Option<&str>) -> Option<Cond> {
    let known = paths(room, each);
    let known: Vec<&(String, What)> = known
        .iter()
        .filter(|(path, what)| matches!(what, What::Measure(_)) && path.matches('.').count() == 1)
        .collect();
    let measured: Vec<&String> = known
        .iter()
        .map(|(path, _)| path)
        .filter(|path| is_measured(room, path))
        .collect();
    let path = if dice.often(70) && !measured.is_empty() {
        dice.of(&measured).clone()
    } else {
        dice.one(&known)?.0.clone()
    };
    Some(Cond::Asked(path, dice.of(&ASKED).to_owned()))
}

fn is_measured(room: &Room, path: &str) -> bool {
    let found = || {
        let (kind, setting) = path.split_once('.')?;
        Some(room.kind(kind)?.setting(setting)?.measured)
    };
    found() == Some(true)
}

/// Lets a standard measure some of its settings, with instruments, and ask for that.
pub(super) fn measured(dice: &mut Dice, room: &mut Room) {
    for kind in &mut room.kinds {
        for setting in &mut kind.settings {
            let some = ["air", "dwell", "hottest", "tension", "second"];
            if some.contains(&setting.name.as_str()) && dice.often(60) {
                setting.measured = true;
                setting.dial = None;
            }
        }
    }
    for name in ["probe-1", "probe-2"] {
        room.instruments
            .push((name.to_owned(), dice.of(&DUE).to_owned()));
    }
    let copy = room.clone();
    for rule in &mut room.rules {
        if !dice.often(60) {
            continue;
        }
        let Some(new) = asked(dice, &copy, rule.each.as_deref()) else {
            continue;
        };
        match dice.below(4) {
            0 => rule.whens.push(new),
            1 => rule.clauses.push((Verb::May, new)),
            _ => rule.clauses.insert(0, (Verb::Shall, new)),
        }
    }
}

/// One edit of what is asked of readings; its words.
pub(super) fn edited(dice: &mut Dice, room: &Room) -> Option<(Room, String)> {
    let mut new = room.clone();
    let words = match dice.below(6) {
        0 => {
            let at = dice.below(new.instruments.len());
            new.instruments.get_mut(at)?.1 = dice.of(&DUE).to_owned();
            "when an instrument is due"
        }
        1 => {
            let all = new.kinds.iter_mut().flat_map(|kind| &mut kind.settings);
            let mut some: Vec<_> = all.filter(|of| of.measured).collect();
            let at = dice.below(some.len());
            some.get_mut(at)?.measured = false;
            "measured no more"
        }
        2 => {
            new.instruments.pop()?;
            "an instrument is gone"
        }
        3 => {
            let at = dice.below(new.rules.len());
            let each = new.rules.get(at)?.each.clone();
            let cond = asked(dice, room, each.as_deref())?;
            let verb = dice.of(&[Verb::Shall, Verb::May]);
            new.rules[at].clauses.push((verb, cond));
            "a question of how it is stated"
        }
        _ => {
            let mut done = false;
            let to = dice.of(&ASKED).to_owned();
            for rule in &mut new.rules {
                let clauses = rule.clauses.iter_mut().map(|(_, cond)| cond);
                for cond in rule.whens.iter_mut().chain(clauses) {
                    if let (Cond::Asked(_, how), false) = (&mut *cond, done) {
                        how.clone_from(&to);
                        done = true;
                    }
                }
            }
            "how it is to be stated"
        }
    };
    (new != *room).then(|| (new, words.to_owned()))
}
