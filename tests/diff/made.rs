//! Small standards made up at random: records with parents, plain limits, sums, products, figures worked out
//! of settings, conditions on records, and steps by their order.

use std::fmt::Write as _;

use super::dice::Dice;
use super::room::Room;

const KINDS: &str = r#"standard "Made" edition "1"

kind ink "an ink" {
  mesh    range of thread-count from 4 /cm to 200 /cm given
  cure    range of temperature from 15 °C to 220 °C given
  family  choice of plastic, water, silicone given
  grain   length from 1 µm to 500 µm given
}

kind garment, one to a run "what is printed on" {
  cotton     share from 0 % to 100 % given
  polyester  share from 0 % to 100 % given
  elastane   share from 0 % to 100 % given
  parts cotton, polyester, elastane make 100 %
  mass       areal-mass from 30 g/m² to 600 g/m² given
  dye        choice of reactive, disperse, vat given
  youth      yes/no given
}

kind tunnel, one to a run "the tunnel" {
  chamber  length from 0.5 m to 10 m given
  belt     speed from 0.5 m/min to 20 m/min set
  dwell    time from 1 s to 3600 s = chamber / belt
  film     temperature from 5 °C to 220 °C set
}

kind screen, many to a run "a screen" {
  ink      ink given
  mesh     thread-count from 4 /cm to 200 /cm set
  opening  length from 1 µm to 2500 µm set
  tension  tension from 5 N/cm to 60 N/cm set
}

step print "one screen printed" {
  screen   screen given
  strokes  count of strokes from 1 to 12 set
}

step flash "the ink is gelled" {
  time  time from 0.5 s to 120 s set
}
"#;

/// A number in steps from a low one.
fn number(dice: &mut Dice, low: usize, step: usize, steps: usize) -> usize {
    low + step * dice.below(steps)
}

fn compare(dice: &mut Dice) -> &'static str {
    ["at least", "at most", "above", "below"][dice.below(4)]
}

/// The range of a child may only be tighter: `within` are the ends of its parent's.
fn span(dice: &mut Dice, within: (usize, usize)) -> (usize, usize) {
    let (low, high) = within;
    let low = low + dice.below((high - low) / 3 + 1);
    let high = high - dice.below((high - low) / 2 + 1);
    (low, high)
}

/// An ink that was made up: its name, its mesh and its cure range.
type Ink = (String, (usize, usize), (usize, usize));

fn inks(dice: &mut Dice, text: &mut String) -> Vec<String> {
    let mut known: Vec<Ink> = Vec::new();
    for index in 0..3 + dice.below(3) {
        let name = format!("ink-{index}");
        let parent = if dice.often(60) {
            dice.one(&known).cloned()
        } else {
            None
        };
        let (mut mesh, mut cure) = ((20, 120), (120, 200));
        let _ = match &parent {
            Some((parent, ..)) => writeln!(text, "\nink {name} is {parent} {{"),
            None => writeln!(text, "\nink {name} {{"),
        };
        if let Some((_, of_mesh, of_cure)) = &parent {
            (mesh, cure) = (*of_mesh, *of_cure);
        }
        if parent.is_none() || dice.often(50) {
            mesh = span(dice, mesh);
            let _ = writeln!(text, "  mesh {} to {} /cm  per practice", mesh.0, mesh.1);
        }
        if parent.is_none() || dice.often(50) {
            cure = span(dice, cure);
            let _ = writeln!(text, "  cure {} to {} °C  per practice", cure.0, cure.1);
        }
        if dice.often(60) {
            let word = ["plastic", "water", "silicone"][dice.below(3)];
            let _ = writeln!(text, "  family {word}");
        }
        if dice.often(50) {
            let _ = writeln!(text, "  grain {} µm", number(dice, 5, 5, 20));
        }
        text.push_str("}\n");
        known.push((name, mesh, cure));
    }
    known.into_iter().map(|(name, ..)| name).collect()
}

fn garments(dice: &mut Dice, text: &mut String) -> Vec<String> {
    let mut known: Vec<String> = Vec::new();
    for index in 0..3 + dice.below(3) {
        let name = format!("cloth-{index}");
        let parent = if dice.often(60) {
            dice.one(&known).cloned()
        } else {
            None
        };
        let _ = match &parent {
            Some(parent) => writeln!(text, "\ngarment {name} is {parent} {{"),
            None => writeln!(text, "\ngarment {name} {{"),
        };
        if parent.is_none() {
            let shares = [
                "cotton 100 %",
                "cotton 50 %\n  polyester 50 %",
                "polyester 100 %",
                "polyester 90 %\n  elastane 10 %",
                "cotton 60 %\n  polyester 35 %\n  elastane 5 %",
            ];
            let _ = writeln!(text, "  {}", shares[dice.below(shares.len())]);
        }
        if dice.often(60) {
            let mass = number(dice, 100, 20, 15);
            let _ = match dice.below(3) {
                0 => writeln!(text, "  mass {mass} g/m²"),
                1 => writeln!(text, "  mass {mass} g/m² ± 5 %"),
                _ => writeln!(text, "  mass {mass} to {} g/m²", mass + 60),
            };
        }
        if dice.often(50) {
            let word = ["reactive", "disperse", "vat"][dice.below(3)];
            let _ = writeln!(text, "  dye {word}");
        }
        if dice.often(40) {
            let word = ["yes", "no"][dice.below(2)];
            let _ = writeln!(text, "  youth {word}");
        }
        text.push_str("}\n");
        known.push(name);
    }
    known
}

/// What a rule is about.
#[derive(Clone, Copy, PartialEq)]
enum About {
    Run,
    Screen,
    Print,
    Flash,
}

struct Names {
    inks: Vec<String>,
    garments: Vec<String>,
}

/// A condition; what is asked of the sequence stands in `when` alone.
fn condition(dice: &mut Dice, about: About, names: &Names, when: bool) -> String {
    let how = compare(dice);
    if about != About::Run && dice.often(65) {
        let own = number(dice, 0, 1, 5);
        return match (about, own) {
            (About::Flash, 0) if when => "flash.previous is print".to_owned(),
            (About::Flash, 1) if when => "not (flash.next stated)".to_owned(),
            (About::Flash, 2) if when => format!("flash.place {how} {}", number(dice, 1, 1, 3)),
            (About::Flash, _) => format!("flash.time {how} {} s", number(dice, 2, 2, 20)),
            (About::Print, 0) if when => "print.previous-print stated".to_owned(),
            (About::Print, 0 | 1) => {
                format!("print.strokes {how} {} strokes", number(dice, 1, 1, 5))
            }
            (About::Print, 2) => "print.screen.mesh within print.screen.ink.mesh".to_owned(),
            (About::Print, _) => {
                format!("print.screen.mesh {how} {} /cm", number(dice, 20, 10, 10))
            }
            (_, 0) => "screen.mesh within screen.ink.mesh".to_owned(),
            (_, 1) => "tunnel.film within screen.ink.cure".to_owned(),
            (_, 2) => format!(
                "screen.ink.family is {}",
                ["plastic", "water"][dice.below(2)]
            ),
            (_, 3) => format!(
                "screen.opening at least {} * screen.ink.grain",
                number(dice, 2, 1, 4)
            ),
            (_, _) => match dice.one(&names.inks) {
                Some(ink) => format!("screen.ink is {ink}"),
                None => "screen.tension at least 20 N/cm".to_owned(),
            },
        };
    }
    match dice.below(11) {
        0 => format!("tunnel.dwell {how} {} s", number(dice, 20, 10, 12)),
        1 => format!("tunnel.film {how} {} °C", number(dice, 120, 5, 16)),
        2 => format!("garment.polyester {how} {} %", number(dice, 0, 10, 10)),
        3 => format!(
            "garment.cotton + garment.elastane {how} {} %",
            number(dice, 10, 10, 9)
        ),
        4 => format!("garment.mass {how} {} g/m²", number(dice, 100, 20, 15)),
        5 => format!(
            "garment.dye is {}",
            ["reactive", "disperse", "vat"][dice.below(3)]
        ),
        6 => "garment.youth is no".to_owned(),
        7 => match dice.one(&names.garments) {
            Some(garment) => format!("garment is {garment}"),
            None => "garment.youth is yes".to_owned(),
        },
        8 => format!("count(screen) at most {}", number(dice, 1, 1, 3)),
        9 => format!(
            "tunnel.belt within {} m/min to {} m/min",
            number(dice, 1, 1, 4),
            number(dice, 6, 2, 5)
        ),
        _ => format!(
            "most(screen.tension) - least(screen.tension) at most {} N/cm",
            number(dice, 2, 2, 6)
        ),
    }
}

fn joined(dice: &mut Dice, about: About, names: &Names, when: bool) -> String {
    let one = condition(dice, about, names, when);
    match dice.below(10) {
        0 => format!("({one}) or ({})", condition(dice, about, names, when)),
        1 => format!("({one}) and ({})", condition(dice, about, names, when)),
        2 => format!("not ({one})"),
        _ => one,
    }
}

/// A standard of a few records and rules.
pub(crate) fn made(dice: &mut Dice) -> Room {
    let mut text = KINDS.to_owned();
    let names = Names {
        inks: inks(dice, &mut text),
        garments: garments(dice, &mut text),
    };
    for index in 0..4 + dice.below(5) {
        let about = [
            About::Run,
            About::Screen,
            About::Screen,
            About::Print,
            About::Flash,
        ][dice.below(5)];
        let _ = writeln!(text, "\nrule r-{index} {{");
        let each = match about {
            About::Run => None,
            About::Screen => Some("screen"),
            About::Print => Some("print"),
            About::Flash => Some("flash"),
        };
        if let Some(each) = each {
            let _ = writeln!(text, "  for each {each}");
        }
        for _ in 0..dice.below(3) {
            let _ = writeln!(text, "  when {}", joined(dice, about, &names, true));
        }
        for _ in 0..1 + dice.below(2) {
            let verb = if dice.often(80) { "shall" } else { "should" };
            let _ = writeln!(text, "  {verb} {}", joined(dice, about, &names, false));
        }
        text.push_str("  because \"so it is\"\n  per practice\n}\n");
    }
    Room::of(&text)
}
