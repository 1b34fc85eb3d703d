//! Tables whose cells, rows and records change: every cell is a limit, for the records of its row.

use strikeoff::diagnostic::Change;

use super::room::{BOTH, LOOSER, NONE, Pair, Room, TIGHTER, compared};

/// Two beds, each with a row of its own.
const ROOM: &str = "standard \"A room\" edition \"1\"\n\nkind box, one to a run \"a box\" {\n  wide   number from 0 to 50 \"w\" set\n  mode   choice of slow, fast \"m\" given\n  cloth  bed \"c\" given\n}\nkind bed \"a bed\" {\n  slack  number from 0 to 20 \"s\" given\n}\nbed soft {\n  slack  5\n}\nbed hard is soft {\n  slack  9\n}\ntable limits \"how wide\" by box.cloth, box.mode {\n  shall    box.wide\n  because  \"so it is\"\n  per      practice\n         | slow    | fast\n  soft   | 5 to 10 | 6 to 10\n  hard   | 7 to 20 | 8 to 20\n}\n";

fn edited(old: &[(&str, &str)], new: &[(&str, &str)]) -> Pair {
    let text = |edits: &[(&str, &str)]| {
        edits.iter().fold(ROOM.to_owned(), |text, (from, to)| {
            assert!(text.contains(from), "{from}");
            text.replace(from, to)
        })
    };
    compared(&Room::of(&text(old)), &Room::of(&text(new))).expect("it can be used")
}

fn table(pair: &Pair) -> &Change {
    let changes = &mut pair.found.changes.iter();
    let found = changes.find(|change| change.subject.starts_with("table "));
    found.unwrap_or_else(|| panic!("the table is told: {:#?}", pair.found))
}

/// The records of which something is said, of the clause a change bears on.
fn combinations(pair: &Pair, change: &Change) -> Vec<String> {
    let effects = change
        .effects
        .iter()
        .map(|share| &pair.found.effects[share.effect]);
    let all = effects.flat_map(|effect| &effect.combinations);
    let records = all.flat_map(|one| one.list.iter().flatten());
    records.map(|(_, record)| record.clone()).collect()
}

#[test]
fn a_cell_that_moves_is_a_limit_of_its_record_and_no_other_cell_is_told() {
    for (from, to, direction, bed) in [
        ("8 to 20", "8 to 21", LOOSER, "hard"),
        ("8 to 20", "9 to 20", TIGHTER, "hard"),
        ("6 to 10", "       ", LOOSER, "soft"),
        ("5 to 10", "4 to 9", BOTH, "soft"),
    ] {
        let pair = edited(&[], &[(from, to)]);
        let change = table(&pair);
        assert_eq!(
            change.direction, direction,
            "{from} to {to}: {:#?}",
            pair.found
        );
        assert_eq!(combinations(&pair, change), [bed], "{from} to {to}");
        let cells = change.notes.iter().filter(|note| note.starts_with("cell "));
        let cells: Vec<&String> = cells.collect();
        assert_eq!(cells.len(), 1, "{cells:?}");
        assert!(cells[0].contains(bed), "{cells:?}");
    }
}

/// Without its row a bed is held to that of its parent; without a parent to none.
#[test]
fn a_row_and_a_parent_decide_which_cell_counts() {
    let row = ("  hard   | 7 to 20 | 8 to 20\n", "");
    let parent = ("bed hard is soft", "bed hard");
    let pair = edited(&[row], &[]);
    let change = table(&pair);
    assert_eq!(change.direction, BOTH, "{:#?}", pair.found);
    assert_eq!(combinations(&pair, change), ["hard"]);
    // With a row of its own the parent decides nothing.
    let pair = edited(&[], &[parent]);
    assert_eq!(pair.found.changes.len(), 1, "{:#?}", pair.found);
    assert_eq!(pair.found.changes[0].direction, NONE);
    // Without one it does.
    let pair = edited(&[row], &[row, parent]);
    assert_eq!(pair.found.changes.len(), 1, "{:#?}", pair.found);
    let change = &pair.found.changes[0];
    assert_eq!(
        (change.direction, change.reaches.as_slice()),
        (LOOSER, &["hard".to_owned()][..])
    );
}
