//! Standards whose dials read wrong, and edits of that and of the limits behind them.

use super::dice::Dice;
use super::judge::{Claim, Pair, Verdict};
use super::pairs::number;

/// What one edition says.
#[derive(Debug, Clone, PartialEq)]
struct Edition {
    /// Of each of two tunnels: what its dial shows and what is so then, in tenths.
    dials: [Vec<(usize, usize, usize)>; 2],
    fastest: usize,
    longest: usize,
    /// Of the second rule: whether one of two is enough.
    either: bool,
}

fn scale(dice: &mut Dice) -> Vec<(usize, usize, usize)> {
    let (mut shown, mut found) = (5 + dice.below(10), 4 + dice.below(10));
    let count = 2 + dice.below(2);
    (0..count)
        .map(|_| {
            let point = (shown, found + 2, dice.below(3));
            shown += 5 + dice.below(20);
            found += 6 + dice.below(20);
            point
        })
        .collect()
}

fn tenths(of: usize) -> String {
    format!("{}.{}", of / 10, of % 10)
}

impl Edition {
    fn random(dice: &mut Dice) -> Self {
        let mut dial = || {
            if dice.often(70) {
                scale(dice)
            } else {
                Vec::new()
            }
        };
        let dials = [dial(), dial()];
        Self {
            dials,
            fastest: 10 + dice.below(30),
            longest: 20 + dice.below(120),
            either: dice.often(40),
        }
    }

    /// The same with something changed.
    fn edited(&self, dice: &mut Dice) -> Self {
        let mut after = self.clone();
        let which = dice.below(2);
        match dice.below(8) {
            0 => after.dials[which] = scale(dice),
            1 => after.dials[which] = Vec::new(),
            2 => {
                let dial = &mut after.dials[which];
                if let Some(point) = dial.last_mut() {
                    point.1 += 1 + dice.below(3);
                }
            }
            3 => {
                let dial = &mut after.dials[which];
                if let Some(point) = dial.first_mut() {
                    point.2 = 1 - point.2.min(1);
                }
            }
            4 => after.fastest = 10 + dice.below(30),
            5 => after.longest = 20 + dice.below(120),
            6 => after.either = !after.either,
            // A position between two that lies on the line changes nothing where nothing is off.
            _ => {
                let dial = &mut after.dials[which];
                if let [first, second, ..] = dial.as_slice() {
                    let middle = (
                        usize::midpoint(first.0, second.0),
                        usize::midpoint(first.1, second.1),
                        0,
                    );
                    dial.insert(1, middle);
                }
            }
        }
        after
    }

    fn text(&self) -> String {
        let mut text = r#"standard "A room" edition "1"

kind dryer, one to a run "a tunnel" {
  chamber  length from 1 m to 10 m      "heated length" given
  belt     speed from 0.1 to 20 m/min   "speed of the belt" set in steps of 0.1 m/min
  dwell    time = chamber / belt        "time under heat"
}

"#
        .to_owned();
        for (name, dial) in ["one", "two"].iter().zip(&self.dials) {
            text.push_str(&format!("dryer {name} {{\n  chamber  3 m\n"));
            for (shown, found, off) in dial {
                let off = match off {
                    0 => String::new(),
                    off => format!(" ± {} m/min", tenths(*off)),
                };
                let (shown, found) = (tenths(*shown), tenths(*found));
                text.push_str(&format!(
                    "  belt shows {shown} m/min at {found} m/min{off}\n"
                ));
            }
            text.push_str("}\n\n");
        }
        let (fastest, longest) = (tenths(self.fastest), self.longest);
        let join = if self.either { "or" } else { "and" };
        text.push_str(&format!(
            "rule fast {{\n  shall dryer.belt at most {fastest} m/min\n  per practice\n}}\n\nrule long {{\n  shall \
             dryer.dwell at most {longest} s {join} dryer.belt above {fastest} m/min\n  per practice\n}}\n"
        ));
        text
    }
}

fn plan(dice: &mut Dice) -> String {
    let named = ["dryer is one {", "dryer is two {", "dryer is not listed {"][dice.below(3)];
    let belt = match dice.below(10) {
        0 => String::new(),
        1 => format!(
            "  belt {} to {} m/min\n",
            tenths(5 + dice.below(20)),
            tenths(26 + dice.below(20))
        ),
        2 => format!("  belt {} ft/min\n", 2 + dice.below(14)),
        3 => format!("  belt {} m/min ± 5 %\n", tenths(4 + dice.below(45))),
        _ => format!("  belt {} m/min\n", tenths(4 + dice.below(45))),
    };
    let chamber = match dice.below(5) {
        0 => "  chamber 4 m\n",
        1 => "  chamber 3 m ± 2 cm\n",
        _ => "",
    };
    let chamber = match named.contains("not listed") {
        true if chamber.is_empty() => "  chamber 3 m\n",
        _ => chamber,
    };
    format!("run \"a\" against \"room.std\"\n\n{named}\n{chamber}{belt}}}\n")
}

/// `STRIKEOFF_LONG=2000` takes so many pairs.
#[test]
fn what_is_claimed_of_dials_agrees_with_check() {
    let wanted = number("STRIKEOFF_LONG").unwrap_or(60);
    let (mut pairs, mut flips, mut shown, mut open, mut same) = (0_u64, 0_u64, 0_u64, 0_u64, 0_u64);
    let mut at = 0;
    while pairs < wanted {
        at += 1;
        let mut dice = Dice::new(0xd1a1_0000 + at);
        let before = Edition::random(&mut dice);
        let after = before.edited(&mut dice);
        let (old, new) = (before.text(), after.text());
        let Some(mut pair) = Pair::of(&old, &new) else {
            continue;
        };
        pairs += 1;
        let mut flipped = [false; 2];
        for _ in 0..60 {
            let text = plan(&mut dice);
            let (was, is) = (pair.by_old(&text), pair.by_new(&text));
            let passes = [was.verdict, is.verdict].map(|of| of == Verdict::Passes);
            let way = match passes {
                [true, false] => 0,
                [false, true] => 1,
                _ => {
                    assert!(
                        !pair.claims.same || was == is,
                        "said to be the same\n{text}\n{old}\n{new}"
                    );
                    continue;
                }
            };
            flipped[way] = true;
            flips += 1;
            let claims = &pair.claims;
            let claim = [claims.tighter, claims.looser][way];
            assert!(
                !claims.same && claim != Claim::ProvedNot,
                "{} is said not to be\n{text}\n{old}\n{new}",
                ["tighter", "looser"][way]
            );
        }
        let claims = [pair.claims.tighter, pair.claims.looser];
        same += u64::from(pair.claims.same);
        open += u64::from(claims.contains(&Claim::Open));
        for way in 0..2 {
            if flipped[way] {
                shown += u64::from(claims[way] == Claim::Shown);
            }
        }
    }
    println!("dials: {pairs} pairs, {flips} flips, {shown} shown, {open} open, {same} the same");
    assert!(3 * flips > pairs && shown > 0, "the test tells too little");
}
