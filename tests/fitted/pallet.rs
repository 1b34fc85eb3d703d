//! Pallets over a hundred pieces: followed in steps of a hundredth of a second, not by the closed form.

use super::{Room, changed, finding, fitted, report, worked};
use strikeoff::check::Options;

/// What a pallet goes through in a round.
#[derive(Clone, Copy)]
struct Round {
    room: f64,
    /// Heat that stays in it under the flash, W/m².
    kept: f64,
    flash: f64,
    stations: f64,
    index: f64,
    loss: f64,
    cool_loss: f64,
}

const CAPACITY: f64 = 14_600.0;
const PALLETS: f64 = 4.0;

/// Pallet as the next screen comes down, °C, for each round up to `rounds`.
fn followed(of: Round, rounds: usize) -> Vec<f64> {
    let cycle = of.index + of.flash.max(7.0);
    let (round, cool) = (PALLETS * cycle, of.stations * cycle);
    let step = 0.01;
    let mut at = of.room;
    let mut after = Vec::new();
    for _ in 0..rounds {
        // Rest, flash, cooling.
        for (time, heat, loss) in [
            (round - of.flash - cool, 0.0, of.loss),
            (of.flash, of.kept, of.loss),
            (cool, 0.0, of.cool_loss),
        ] {
            let steps = (time / step).round();
            let step = time / steps.max(1.0);
            let mut left = steps;
            while left > 0.0 {
                at += (heat - loss * (at - of.room)) / CAPACITY * step;
                left -= 1.0;
            }
        }
        after.push(at);
    }
    after
}

/// The hundred tees of the manual press, at the end of the tolerances that warms least or most.
fn hundred(hot: bool, stations: f64) -> Round {
    let pick = |cold: f64, warm: f64| if hot { warm } else { cold };
    Round {
        room: pick(20.0, 24.0),
        kept: pick(6200.0 * 0.98 * 0.77, 6200.0 * 1.02 * 0.83),
        flash: pick(8.3, 8.5),
        stations,
        // The longer a round, the more is lost in it.
        index: pick(2.1, 1.9),
        loss: pick(12.5, 11.5),
        cool_loss: pick(115.0, 105.0),
    }
}

const WITHOUT: &str = "hundred-tees-without-cooling";

#[test]
fn the_pallet_climbs_as_when_it_is_followed_step_by_step() {
    let room = fitted();
    for (plan, stations) in [(WITHOUT, 0.0), ("hundred-tees-with-cooling", 2.0)] {
        // A hundred pieces on four pallets: 25 rounds.
        let (cold, hot) = (
            followed(hundred(false, stations), 25),
            followed(hundred(true, stations), 25),
        );
        for (setting, round) in [("press.pallet-first", 0), ("press.pallet-last", 24)] {
            let found = worked(&room, plan, setting);
            // Flash and round rest on the same flash time, which the bounds take once each.
            assert!(
                found.low <= cold[round] + 0.05 && found.high >= hot[round] - 0.05,
                "{setting} of {plan}: {found:?}, {} to {}",
                cold[round],
                hot[round]
            );
            assert!(
                found.low >= cold[round] - 0.6 && found.high <= hot[round] + 0.6,
                "{setting} of {plan}: {found:?}, {} to {}",
                cold[round],
                hot[round]
            );
        }
        let steady = worked(&room, plan, "press.pallet-steady");
        let long = followed(hundred(true, stations), 200);
        // The bounds take the longest flash and the shortest round at once, although one hangs on the other.
        let over = steady.high - long[199];
        assert!((-0.2..3.0).contains(&over), "{steady:?}, {}", long[199]);
        // It climbs to that, and does not pass it.
        assert!(long.windows(2).all(|two| two[1] >= two[0] - 1e-9));
    }
}

#[test]
fn the_rule_breaks_from_the_right_piece_on() {
    let room = fitted();
    let below = followed(hundred(true, 0.0), 25)
        .iter()
        .take_while(|pallet| **pallet < 60.0)
        .count();
    // Rounds that stay below, four pieces each; the next piece is the first.
    let first = below * 4 + 1;
    assert_eq!(first, 57);
    let found = worked(&room, WITHOUT, "press.first-over-60");
    assert_eq!(found.low, 57.0);
    let report = report(&room, WITHOUT);
    let said = report
        .diagnostics
        .iter()
        .find(|said| said.headline.contains("first-over-60"));
    assert!(
        said.unwrap()
            .headline
            .starts_with("`press.first-over-60` is 57 to 85 pieces")
    );
    // Fifty-six pieces are printed before it, in the worst case: that order holds, one piece more does not.
    let broken = |pieces: u32| {
        let room = changed(WITHOUT, "100 pieces", &format!("{pieces} pieces"));
        let report = super::report(&room, WITHOUT);
        let rule = |said: &strikeoff::diagnostic::Diagnostic| {
            said.finding
                .as_ref()
                .is_some_and(|found| found.rule == "pallets-stay-cool-without-a-stop")
        };
        report.diagnostics.iter().any(rule)
    };
    assert!(!broken(56) && broken(57));
}

#[test]
fn a_cooling_station_is_offered_and_repairs_it() {
    let room = fitted();
    let run = room.check(vec![super::path(WITHOUT)], Options::default());
    let plan = &run.report.plans[0];
    for rule in [
        "pallets-stay-cool-without-a-stop",
        "cool-after-a-flash",
        "flash-does-not-cure-on-a-warm-pallet",
    ] {
        let repair = &finding(plan, rule).repairs[0];
        assert_eq!(repair.words, "put `cool 2 stations` after `flash, step 2`");
        let mended: Room = room.repaired(&run, repair);
        let text = mended.texts[&super::path(WITHOUT)].clone().unwrap();
        // As someone would have written it, and then all of it holds.
        assert!(
            text.contains("\n  cool             2 stations\n  print            base, 1 stroke\n"),
            "{text}"
        );
        let after = report(&mended, WITHOUT);
        assert!(after.diagnostics.is_empty(), "{:#?}", after.diagnostics);
        // One would not do.
        let mut one = mended.clone();
        one.texts.insert(
            super::path(WITHOUT),
            Ok(text.replace("2 stations", "1 station")),
        );
        assert!(!report(&one, WITHOUT).diagnostics.is_empty());
    }
}

#[test]
fn several_flashes_in_a_round_add_up() {
    // Two flashes of 4 s before the cooling are what one of 8 s is, but for the rest between them.
    let two = changed(
        "hundred-tees-with-cooling",
        "  flash            8.4 s ± 0.1 s, pallet-before 24 °C read on 2026-06-01\n",
        "  flash            4.2 s ± 0.1 s, pallet-before 24 °C\n  print            base, 1 stroke\n  flash            4.2 s ± 0.1 s, pallet-before 24 °C\n",
    );
    let found = worked(&two, "hundred-tees-with-cooling", "press.flash-in-round");
    assert!((found.low - 8.2).abs() < 1e-9 && (found.high - 8.6).abs() < 1e-9);
    // The slowest station is now the loading, 6 s ± 1 s, so that a round is shorter.
    let round = |hot: bool| {
        let mut of = hundred(hot, 2.0);
        of.flash = if hot { 8.6 } else { 8.2 };
        of
    };
    let cycle = worked(&two, "hundred-tees-with-cooling", "press.cycle");
    for (setting, rounds) in [("press.pallet-first", 1), ("press.pallet-last", 25)] {
        let found = worked(&two, "hundred-tees-with-cooling", setting);
        for (hot, end, cycle) in [
            (false, found.low, cycle.high),
            (true, found.high, cycle.low),
        ] {
            let mut of = round(hot);
            // `followed` adds the slowest station itself.
            of.index = cycle - of.flash.max(7.0);
            let by_steps = followed(of, rounds)[rounds - 1];
            assert!(
                (end - by_steps).abs() < 1.0,
                "{setting}: {found:?}, {by_steps}"
            );
        }
    }
}
