//! What is no change: reformatting, another order, comments, units spelt otherwise.

use strikeoff::diagnostic::Meaning;
use strikeoff::names::SHIPPED;
use strikeoff::units::{Exact, Unit};

use super::dice::Dice;
use super::room::{Room, compared};

/// The statements of a text, each with the lines of its block; comments and blank lines go.
fn statements(text: &str) -> Vec<Vec<String>> {
    let mut found: Vec<Vec<String>> = Vec::new();
    let mut open = false;
    for line in text.lines() {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        if open {
            if let Some(block) = found.last_mut() {
                block.push(line.to_owned());
            }
            open = line != "}";
        } else {
            found.push(vec![line.to_owned()]);
            open = line.ends_with('{');
        }
    }
    found
}

/// The same text in another dress: order of statements, space, comments, units.
fn dressed(dice: &mut Dice, text: &str) -> String {
    let all = statements(text);
    let (mut head, mut rest): (Vec<Vec<String>>, Vec<Vec<String>>) = (Vec::new(), Vec::new());
    for block in all {
        // The order of settings in kinds and steps may say how a plan is read; that of the rest does not.
        let fixed = ["standard", "use", "unit", "kind", "step", "add"];
        let word = block[0].split_whitespace().next().unwrap_or_default();
        if fixed.contains(&word) {
            head.push(block);
        } else {
            rest.push(block);
        }
    }
    for index in (1..rest.len()).rev() {
        let other = dice.below(index + 1);
        rest.swap(index, other);
    }
    let mut out = String::from("# in another dress\n");
    for block in head.into_iter().chain(rest) {
        let table = block[0].starts_with("table ");
        let step = block[0].starts_with("example") || block[0].starts_with("deviation");
        for (number, line) in block.iter().enumerate() {
            let inside = number > 0 && line != "}";
            let line = if inside && !table && !step {
                respelt(dice, line)
            } else {
                line.clone()
            };
            if inside && dice.often(20) {
                out.push_str("    # a remark\n\n");
            }
            let space = if inside { "        " } else { "" };
            out.push_str(&format!("{space}{line}\n"));
        }
        out.push_str("\n\n");
    }
    out
}

/// A clause with its last plain number and unit written in another unit, where that is exact.
fn respelt(dice: &mut Dice, line: &str) -> String {
    let pairs = [
        ("°F", "°C"),
        ("°C", "°F"),
        ("mm", "µm"),
        ("µm", "mm"),
        ("s", "min"),
        ("min", "s"),
        ("m/min", "m/s"),
        ("/in", "/cm"),
        ("/cm", "/in"),
        ("N/cm", "N/m"),
        ("cm", "mm"),
    ];
    let end = line.find('"').unwrap_or(line.len());
    let (head, tail) = line.split_at(end);
    // A range has one unit, behind its second number, and a tolerance is a difference.
    if head.contains(" to ") || head.contains('±') || head.contains('=') || head.contains(" step ")
    {
        return line.to_owned();
    }
    let words: Vec<&str> = head.split(' ').collect();
    for at in 1..words.len() {
        let Some((_, to)) = pairs.iter().find(|(from, _)| *from == words[at]) else {
            continue;
        };
        let Ok(number) = Exact::parse_decimal(words[at - 1]) else {
            continue;
        };
        let (Ok(old), Ok(new)) = (Unit::parse(words[at]), Unit::parse(to)) else {
            continue;
        };
        let back = new.from_base(&old.to_base(&number));
        let Some(text) = back.decimal().filter(|text| text.len() < 14) else {
            continue;
        };
        if !dice.often(80) {
            continue;
        }
        let mut words: Vec<String> = words.iter().map(|word| (*word).to_owned()).collect();
        words[at - 1] = text;
        words[at] = (*to).to_owned();
        return format!("{}{tail}", words.join(" "));
    }
    line.to_owned()
}

fn same(old: &Room, new: &Room, words: &str) {
    let pair = compared(old, new).unwrap_or_else(|| panic!("{words}: cannot be used"));
    assert_eq!(
        pair.found.meaning,
        Meaning::Same,
        "{words}: {:#?}",
        pair.found.changes
    );
    assert!(
        pair.found.changes.is_empty(),
        "{words}: {:#?}",
        pair.found.changes
    );
    assert_eq!(
        pair.found.combinations, 0,
        "{words}: settled without a search"
    );
}

fn redressed(dice: &mut Dice, room: &Room) -> Room {
    let mut new = room.clone();
    for text in new.files.values_mut() {
        *text = dressed(dice, text);
    }
    new
}

#[test]
fn a_standard_is_the_same_as_itself() {
    let room = Room::demo();
    same(&room, &room, "the demo room");
    let room = Room::fitted();
    same(&room, &room, "the fitted room");
}

/// Dresses a room so often; every file is in another order, and units are spelt otherwise.
fn dressed_often(seed: u64, room: &Room, often: usize) {
    let mut dice = Dice(seed);
    let mut exchanged = 0;
    let times = if std::env::var("STRIKEOFF_LONG").is_ok() {
        100
    } else {
        often
    };
    for number in 0..times {
        let new = redressed(&mut dice, room);
        let spelt = new.files.values().map(|text| text.matches("µm").count());
        exchanged += spelt.sum::<usize>();
        same(room, &new, &format!("{}: dress {number}", room.root));
    }
    println!("{}: {times} dresses, the same meaning, proved", room.root);
    assert!(exchanged > 0);
}

#[test]
fn another_dress_of_the_demo_room_is_no_change() {
    dressed_often(7, &Room::demo(), 4);
}

#[test]
fn another_dress_of_the_fitted_room_is_no_change() {
    dressed_often(8, &Room::fitted(), 2);
}

#[test]
fn another_dress_of_each_shipped_spec_is_no_change() {
    let mut dice = Dice(11);
    for (spec, _) in SHIPPED {
        let room = Room::shipped(spec);
        println!("{spec}");
        same(&room, &redressed(&mut dice, &room), spec);
    }
}

#[test]
fn units_are_exchanged_in_the_other_dress() {
    let mut dice = Dice(3);
    let found: Vec<String> = (0..40)
        .map(|_| respelt(&mut dice, "shall film.peak at most 320 °F"))
        .collect();
    assert!(
        found.contains(&"shall film.peak at most 160 °C".to_owned()),
        "{found:?}"
    );
}
