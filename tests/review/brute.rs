//! Random standards of plain limits against a grid of all values: contradictions, dead rules, limits that
//! never bind and implied requirements agree.
//!
//! All limits are whole numbers, so that every half between 0 and 6 stands for all values between two
//! limits: the grid is exact, strict comparisons included.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use strikeoff::diagnostic::{Code, Review};

use super::{of, one, reviewed};

/// How many standards are tried.
const STANDARDS: u64 = 200;

/// Settings: the first two take any number, the last whole ones.
const SETTINGS: [&str; 3] = ["wide", "tall", "many"];

/// A small generator: the same standards every time.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: u64) -> u64 {
        // Splitmix64, public domain.
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (z ^ (z >> 31)) % sides
    }
}

/// A condition, as it is written and as it is evaluated. Values are counted in halves.
#[derive(Debug, Clone)]
enum Cond {
    Compare(usize, u64, i64),
    Within(usize, i64, i64),
    Or(Box<Cond>, Box<Cond>),
    And(Box<Cond>, Box<Cond>),
    Not(Box<Cond>),
}

const WORDS: [&str; 5] = ["at least", "at most", "above", "below", "is"];

impl Cond {
    fn any(dice: &mut Dice, depth: u32) -> Self {
        let number = |dice: &mut Dice| i64::try_from(dice.roll(7)).unwrap();
        match dice.roll(if depth == 0 { 6 } else { 10 }) {
            0..=4 => Self::Compare(dice.roll(3) as usize, dice.roll(4), number(dice)),
            5 => {
                let (one, other) = (number(dice), number(dice));
                Self::Within(dice.roll(3) as usize, one.min(other), one.max(other))
            }
            6 => Self::Compare(dice.roll(3) as usize, 4, number(dice)),
            7 => Self::Or(Self::any(dice, 0).into(), Self::any(dice, 0).into()),
            8 => Self::And(Self::any(dice, 0).into(), Self::any(dice, 0).into()),
            _ => Self::Not(Self::any(dice, 0).into()),
        }
    }

    fn text(&self) -> String {
        match self {
            Self::Compare(setting, how, number) => {
                format!(
                    "box.{} {} {number}",
                    SETTINGS[*setting], WORDS[*how as usize]
                )
            }
            Self::Within(setting, low, high) => {
                format!("box.{} within {low} to {high}", SETTINGS[*setting])
            }
            Self::Or(one, other) => format!("({}) or ({})", one.text(), other.text()),
            Self::And(one, other) => format!("({}) and ({})", one.text(), other.text()),
            Self::Not(inner) => format!("not ({})", inner.text()),
        }
    }

    fn holds(&self, point: &[i64; 3]) -> bool {
        match self {
            Self::Compare(setting, how, number) => {
                let (value, limit) = (point[*setting], 2 * number);
                match how {
                    0 => value >= limit,
                    1 => value <= limit,
                    2 => value > limit,
                    3 => value < limit,
                    _ => value == limit,
                }
            }
            Self::Within(setting, low, high) => (2 * low..=2 * high).contains(&point[*setting]),
            Self::Or(one, other) => one.holds(point) || other.holds(point),
            Self::And(one, other) => one.holds(point) && other.holds(point),
            Self::Not(inner) => !inner.holds(point),
        }
    }
}

struct Requirement {
    rule: usize,
    shall: bool,
    condition: Cond,
    /// Its line in the standard, from 1.
    line: usize,
}

struct Random {
    text: String,
    whens: Vec<Vec<Cond>>,
    requirements: Vec<Requirement>,
}

fn random(dice: &mut Dice) -> Random {
    let mut made = Random {
        text: "standard \"Random\" edition \"1\"\n\nkind box, one to a run \"a box\" {\n  wide number from 0 to 6 \"w\" set\n  tall number from 0 to 6 \"t\" set\n  many count from 0 to 6 \"m\" set\n}\n".to_owned(),
        whens: Vec::new(),
        requirements: Vec::new(),
    };
    for rule in 0..2 + dice.roll(5) as usize {
        let whens: Vec<Cond> = (0..dice.roll(3)).map(|_| Cond::any(dice, 1)).collect();
        let _ = writeln!(made.text, "\nrule r{rule} {{");
        for when in &whens {
            let _ = writeln!(made.text, "  when {}", when.text());
        }
        for _ in 0..1 + dice.roll(2) {
            let shall = dice.roll(5) > 0;
            let condition = Cond::any(dice, 1);
            let line = made.text.lines().count() + 1;
            let verb = if shall { "shall" } else { "should" };
            let _ = writeln!(made.text, "  {verb} {}", condition.text());
            made.requirements.push(Requirement {
                rule,
                shall,
                condition,
                line,
            });
        }
        made.text
            .push_str("  because \"so it is\"\n  per practice\n}\n");
        made.whens.push(whens);
    }
    made
}

fn grid() -> Vec<[i64; 3]> {
    let mut points = Vec::new();
    for wide in 0..=12 {
        for tall in 0..=12 {
            points.extend((0..=6).map(|many| [wide, tall, 2 * many]));
        }
    }
    points
}

impl Random {
    fn applies(&self, rule: usize, point: &[i64; 3]) -> bool {
        self.whens[rule].iter().all(|when| when.holds(point))
    }

    fn kept(&self, index: usize, point: &[i64; 3]) -> bool {
        let of = &self.requirements[index];
        !self.applies(of.rule, point) || of.condition.holds(point)
    }

    /// Whether a requirement can be kept nowhere where its rule applies and all others are kept, though there are such points.
    fn is_stuck(&self, index: usize, shalls: &[usize], points: &[[i64; 3]]) -> bool {
        let rule = self.requirements[index].rule;
        let others = |point: &&[i64; 3]| {
            let mut others = shalls.iter().filter(|other| **other != index);
            self.applies(rule, point) && others.all(|other| self.kept(*other, point))
        };
        let mut points = points.iter().filter(others).peekable();
        points.peek().is_some() && !points.any(|point| self.kept(index, point))
    }

    /// Whether these can be kept together.
    fn together(&self, of: &[usize], points: &[[i64; 3]]) -> bool {
        points
            .iter()
            .any(|point| of.iter().all(|index| self.kept(*index, point)))
    }
}

/// The lines that findings of a code stand on first, from 1.
fn lines(run: &strikeoff::cli::ReviewRun, review: &Review, code: Code) -> BTreeSet<usize> {
    let line = |finding: &&strikeoff::diagnostic::ReviewFinding| {
        run.store.place(finding.said.primary().unwrap().span).line as usize
    };
    of(review, code).iter().map(line).collect()
}

#[test]
fn answers_agree_with_a_grid() {
    let points = grid();
    let mut seen = [0_usize; 6];
    for seed in 0..STANDARDS {
        let random = random(&mut Dice(seed));
        let (run, review) = reviewed(&one(&random.text), "room.std");
        let tell = |what: &str| {
            format!(
                "standard {seed}: {what}\n{}\n{:#?}",
                random.text, review.findings
            )
        };
        let shalls: Vec<usize> = (0..random.requirements.len())
            .filter(|index| random.requirements[*index].shall)
            .collect();
        let undecided = of(&review, Code::NotDecided).len();
        assert_eq!(undecided, 0, "{}", tell("plain limits are always decided"));

        // Contradictions, and that each core is one and is the smallest.
        let clashes = of(&review, Code::Contradiction);
        let stuck = |index: &usize| random.is_stuck(*index, &shalls, &points);
        let sound = random.together(&shalls, &points) && !shalls.iter().any(stuck);
        assert_eq!(clashes.is_empty(), sound, "{}", tell("contradiction"));
        for clash in &clashes {
            let core: Vec<usize> = clash
                .said
                .labels()
                .iter()
                .map(|label| run.store.place(label.span).line as usize)
                .map(|line| {
                    random
                        .requirements
                        .iter()
                        .position(|of| of.line == line)
                        .unwrap()
                })
                .collect();
            // `no run to which r3 applies can keep`: only points at which it does count.
            let headline = clash.said.headline.strip_prefix("no run to which `r");
            let whenever: Option<usize> =
                headline.map(|rest| rest.split('`').next().unwrap().parse().unwrap());
            let points: Vec<[i64; 3]> = points
                .iter()
                .filter(|point| whenever.is_none_or(|rule| random.applies(rule, point)))
                .copied()
                .collect();
            seen[5] += usize::from(whenever.is_some());
            assert!(
                !random.together(&core, &points),
                "{}",
                tell("the core clashes")
            );
            for left_out in &core {
                let fewer: Vec<usize> =
                    core.iter().copied().filter(|one| one != left_out).collect();
                assert!(
                    random.together(&fewer, &points),
                    "{}",
                    tell("the core is the smallest")
                );
            }
            seen[0] += 1;
        }

        // Dead rules.
        let dead: BTreeSet<String> = of(&review, Code::DeadRule)
            .iter()
            .map(|finding| finding.said.headline.split('`').nth(1).unwrap().to_owned())
            .collect();
        let truly: BTreeSet<String> = (0..random.whens.len())
            .filter(|rule| !points.iter().any(|point| random.applies(*rule, point)))
            .map(|rule| format!("r{rule}"))
            .collect();
        assert_eq!(dead, truly, "{}", tell("dead rules"));
        seen[1] += dead.len();

        // Limits that never bind, implied requirements, and advice that cannot be followed.
        let (never, implied) = (
            lines(&run, &review, Code::NeverBinds),
            lines(&run, &review, Code::Implied),
        );
        for (index, of) in random.requirements.iter().enumerate() {
            let breaks = |point: &&[i64; 3]| !random.kept(index, point);
            let alive = !truly.contains(&format!("r{}", of.rule));
            let binds = points.iter().any(|point| breaks(&point));
            assert_eq!(
                never.contains(&of.line),
                alive && !binds,
                "{}",
                tell(&format!("line {} never binds", of.line))
            );
            seen[2] += usize::from(alive && !binds);
            let others: Vec<usize> = shalls
                .iter()
                .copied()
                .filter(|other| *other != index)
                .collect();
            if !random.together(&others, &points) {
                continue;
            }
            let kept = points
                .iter()
                .filter(breaks)
                .all(|point| !others.iter().all(|other| random.kept(*other, point)));
            assert_eq!(
                implied.contains(&of.line),
                alive && binds && kept,
                "{}",
                tell(&format!("line {} is implied", of.line))
            );
            seen[3] += usize::from(alive && binds && kept);
            if !of.shall && random.together(&shalls, &points) {
                let with: Vec<usize> = shalls.iter().copied().chain([index]).collect();
                let vain = !random.together(&with, &points);
                let told = super::of(&review, Code::VainAdvice).iter().any(|finding| {
                    let places = finding.said.labels().iter();
                    places
                        .map(|label| run.store.place(label.span).line as usize)
                        .any(|line| line == of.line)
                });
                assert_eq!(
                    told,
                    vain,
                    "{}",
                    tell(&format!("line {} cannot be followed", of.line))
                );
                seen[4] += usize::from(vain);
            }
        }
    }
    // A comparison of nothing with nothing would show nothing.
    assert!(seen.iter().all(|count| *count >= 5), "{seen:?}");
}
