//! Where only one direction is claimed, no run goes the other way: none passes the new standard and breaks
//! the old one where it only got tighter, none the other way round where it only got looser.

use super::dice::{Dice, Limits};
use super::edit::edit;
use super::edits::{long, moved, total};
use super::made::made;
use super::plan::plan;
use super::room::{LOOSER, Pair, Room, TIGHTER, compared};

#[derive(Debug, Default)]
struct Counts {
    /// Edits that only tightened, and that only loosened.
    edits: [usize; 2],
    /// Runs that both standards read.
    runs: usize,
    /// Of these: such as come to something else.
    telling: usize,
}

/// Runs one edit by random runs until so many were read by both standards.
fn held(dice: &mut Dice, pair: &Pair, words: &str, wanted: usize, counts: &mut Counts) {
    let of = total(pair);
    let limits = Limits::of([&pair.old, &pair.new]);
    let mut runs = 0;
    for _ in 0..wanted * 4 {
        if runs == wanted {
            break;
        }
        let text = plan(dice, &pair.new.standard, &limits);
        let Some(moved) = moved(pair, &text) else {
            continue;
        };
        runs += 1;
        counts.telling += usize::from(!moved.is_empty());
        for (rule, old, new) in moved {
            let wrong = if of == TIGHTER { new < old } else { new > old };
            assert!(
                !wrong,
                "{}, but `{rule}` came to {old} before and {new} now\n{words}\n{text}",
                of.words()
            );
        }
    }
    counts.runs += runs;
}

fn one_way(
    seed: u64,
    wanted: usize,
    each: usize,
    rooms: &mut dyn FnMut(&mut Dice) -> Room,
) -> Counts {
    let (mut dice, mut runs) = (Dice(seed), Dice(!seed));
    let mut counts = Counts::default();
    while counts.runs < wanted {
        let room = rooms(&mut dice);
        let Some(edit) = edit(&mut dice, &room).filter(|edit| edit.room != room) else {
            continue;
        };
        let Some(pair) = compared(&room, &edit.room) else {
            continue;
        };
        let of = total(&pair);
        // What only the other rules exclude may be seen in a plan that fails by them.
        let mut effects = pair.found.effects.iter();
        let beside = effects.any(|effect| effect.beside_others != [false; 2]);
        if of != TIGHTER && of != LOOSER || beside {
            continue;
        }
        counts.edits[usize::from(of == LOOSER)] += 1;
        held(&mut runs, &pair, &edit.words, each, &mut counts);
    }
    println!(
        "{} edits only tightened, {} only loosened: {} runs, {} telling, none the other way",
        counts.edits[0], counts.edits[1], counts.runs, counts.telling
    );
    counts
}

#[test]
fn an_edit_of_the_demo_room_that_goes_one_way_lets_no_run_go_the_other() {
    let room = Room::demo();
    let (wanted, each) = long().map_or((400, 40), |long| (long, 250));
    let counts = one_way(5, wanted, each, &mut |_| room.clone());
    assert!(counts.telling > 0, "{counts:?}");
}

#[test]
fn an_edit_of_a_made_up_standard_that_goes_one_way_lets_no_run_go_the_other() {
    let (wanted, each) = long().map_or((3_000, 40), |long| (long, 250));
    let counts = one_way(6, wanted, each, &mut made);
    assert!(counts.telling > 0, "{counts:?}");
}
