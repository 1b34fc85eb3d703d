//! What a press gives in an hour, by a second way: the work of the hands added up, laps counted one by one.

use super::{changed, fitted, worked};

/// A clock that follows one garment after the other round a press that is moved by hand: the people lay it on, print it once
/// a lap, turn the press each time, and take it off.
fn by_hand(pieces: u32, [load, stroke, index]: [f64; 3], prints: u32, people: f64) -> f64 {
    let mut hands = 0.0;
    for _ in 0..pieces {
        hands += load;
        for _ in 0..prints {
            hands += stroke + index;
        }
        hands += load;
    }
    hands / people
}

#[test]
fn hands_and_laps_set_the_pace_of_a_manual_press() {
    // Invented bench: 6 s ± 1 s to lay on or take off, 3 s ± 0.3 s a stroke, 2 s ± 0.1 s to turn; one screen that prints twice.
    let name = "hundred-tees-with-cooling";
    let alone = changed(name, "press is bench", "press is bench {\n  people 1\n}");
    let pace = worked(&alone, name, "press.pace");
    let slow = 3600.0 / by_hand(1, [7.0, 3.3, 2.1], 2, 1.0);
    assert!((pace.low - slow).abs() < 0.1, "{pace:?}, {slow}");
    // Of two people neither is what the press waits for: the flash is, on two laps, 8.5 s and 2.1 s each.
    let pace = worked(&fitted(), name, "press.pace");
    assert!(
        (pace.low - 3600.0 / (2.0 * (8.5 + 2.1))).abs() < 0.1,
        "{pace:?}"
    );
    assert!(by_hand(1, [7.0, 3.3, 2.1], 2, 2.0) < 2.0 * (8.5 + 2.1));
    // A printer who works alone is nowhere near 350 pieces an hour.
    assert!(slow < 180.0);
}

#[test]
fn a_screen_is_filled_once_however_often_it_comes_down() {
    let name = "order-in-time";
    let fill = worked(&fitted(), name, "order.ink");
    let without = changed(name, "  ink-to-fill      250 g ± 50 g\n", "");
    let bare = worked(&without, name, "order.ink");
    // Two screens of 200 to 300 g.
    assert!(
        (fill.low - bare.low - 0.4).abs() < 1e-6,
        "{fill:?} {bare:?}"
    );
    assert!(
        (fill.high - bare.high - 0.6).abs() < 1e-6,
        "{fill:?} {bare:?}"
    );
}
