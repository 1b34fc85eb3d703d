//! Random formulas and conditions, written as text for the engine and worked out here by other means:
//! exact fractions, one point at a time, with no interval anywhere.

use num_traits::Signed as _;

use super::fraction::{Fraction, decimal};
use super::world::{Point, World};
use crate::demo_room::Random;

/// A formula.
#[derive(Debug, Clone)]
pub(crate) enum Formula {
    Number(String, Fraction),
    /// A setting that is stated: `x0` of the bed, or `p` of the pan that is meant.
    Stated(usize),
    /// A setting that is worked out.
    WorkedOut(usize),
    Negative(Box<Formula>),
    Sum(char, Box<Formula>, Box<Formula>),
    Power(Box<Formula>, i32),
    Least(Vec<Formula>),
    Most(Vec<Formula>),
    Root(Box<Formula>),
    RoundUp(Box<Formula>),
    /// `total`, `least` or `most` over all pans.
    Over(&'static str, Box<Formula>),
    Count,
}

/// Names that stand for settings where a formula is written.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Names {
    /// Before the settings of the bed: nothing in its own formulas, `bed.` in rules.
    pub(crate) bed: &'static str,
    /// Before the settings of a pan.
    pub(crate) pan: &'static str,
    /// Whether the settings meant are those of a pan.
    pub(crate) of_pan: bool,
}

impl Formula {
    /// A random one, no deeper than so many levels, over so many stated and worked-out settings.
    pub(crate) fn random(
        random: &Random,
        deep: u32,
        stated: usize,
        worked_out: usize,
        over: bool,
    ) -> Self {
        let further =
            |deep: u32| Box::new(Self::random(random, deep - 1, stated, worked_out, over));
        let leaf = |random: &Random| {
            if random.chance(25) {
                let (text, value) = decimal(random.whole(1, 60), 1);
                Self::Number(text, value)
            } else if worked_out > 0 && random.chance(40) {
                Self::WorkedOut(random.below(worked_out))
            } else {
                Self::Stated(random.below(stated))
            }
        };
        if deep == 0 || random.chance(12) {
            return leaf(random);
        }
        match random.below(if over { 20 } else { 17 }) {
            0..=2 => Self::Sum('+', further(deep), further(deep)),
            3..=5 => Self::Sum('-', further(deep), further(deep)),
            6..=8 => Self::Sum('*', further(deep), further(deep)),
            9..=10 => Self::Sum('/', further(deep), further(deep)),
            11 => Self::Power(further(deep), *random.pick(&[2, 3, 2, -1, -2])),
            12 => Self::Least(vec![*further(deep), *further(deep)]),
            13 => Self::Most(vec![*further(deep), *further(deep), leaf(random)]),
            14 => Self::Root(further(deep)),
            // No root inside: rounding it up would need to know it exactly.
            15 => Self::RoundUp(Box::new(Self::Sum(
                '*',
                Box::new(leaf(random)),
                Box::new(leaf(random)),
            ))),
            16 => Self::Negative(further(deep)),
            17 | 18 => {
                let which = *random.pick(&["total", "least", "most"]);
                // A function over pans asks for something of a pan.
                let body = loop {
                    let body = Self::random(random, 1, 2, 1, false);
                    if body.settings() > 0 {
                        break body;
                    }
                };
                Self::Over(which, Box::new(body))
            }
            _ => Self::Count,
        }
    }

    /// A random one in which each of these stated values stands once, and numbers beside them.
    pub(crate) fn of_each_once(random: &Random, left: &mut Vec<usize>) -> Self {
        let mut parts: Vec<Self> = left.drain(..).map(Self::Stated).collect();
        let (text, value) = decimal(random.whole(1, 90), 1);
        parts.push(Self::Number(text, value));
        while parts.len() > 1 {
            let one = parts.swap_remove(random.below(parts.len()));
            let other = parts.swap_remove(random.below(parts.len()));
            let sign = *random.pick(&['+', '-', '*', '/', '+', '-', '*']);
            let both = Self::Sum(sign, Box::new(one.clone()), Box::new(other.clone()));
            parts.push(match random.below(8) {
                0 => Self::Least(vec![one, other]),
                1 => Self::Most(vec![one, other]),
                2 => Self::Negative(Box::new(both)),
                3 => Self::Power(Box::new(both), 3),
                _ => both,
            });
        }
        parts.remove(0)
    }

    /// How many settings stand in it.
    fn settings(&self) -> usize {
        match self {
            Self::Number(..) | Self::Count => 0,
            Self::Stated(_) | Self::WorkedOut(_) => 1,
            Self::Negative(one)
            | Self::Power(one, _)
            | Self::Root(one)
            | Self::RoundUp(one)
            | Self::Over(_, one) => one.settings(),
            Self::Sum(_, one, other) => one.settings() + other.settings(),
            Self::Least(all) | Self::Most(all) => all.iter().map(Self::settings).sum(),
        }
    }

    /// How tightly its outermost sign binds.
    fn rank(&self) -> u32 {
        match self {
            Self::Sum('+' | '-', ..) => 1,
            Self::Sum(..) => 2,
            Self::Power(..) => 3,
            _ => 4,
        }
    }

    /// As text; brackets stand only where the order of operations needs them.
    pub(crate) fn text(&self, names: Names) -> String {
        let inner = |one: &Self, least: u32| {
            let text = one.text(names);
            if one.rank() < least {
                format!("({text})")
            } else {
                text
            }
        };
        let setting = |name: String| {
            let before = if names.of_pan { names.pan } else { names.bed };
            format!("{before}{name}")
        };
        let list = |all: &[Self]| {
            let all: Vec<String> = all.iter().map(|one| one.text(names)).collect();
            all.join(", ")
        };
        match self {
            Self::Number(text, _) => text.clone(),
            Self::Stated(index) => setting(if names.of_pan {
                format!("p{index}")
            } else {
                format!("x{index}")
            }),
            Self::WorkedOut(index) => setting(if names.of_pan {
                format!("g{index}")
            } else {
                format!("f{index}")
            }),
            Self::Negative(one) => format!("(-({}))", one.text(names)),
            Self::Sum(sign @ ('+' | '-'), one, other) => {
                format!("{} {sign} {}", inner(one, 1), inner(other, 2))
            }
            Self::Sum(sign, one, other) => format!("{} {sign} {}", inner(one, 2), inner(other, 3)),
            Self::Power(one, power) => format!("{} ^ {power}", inner(one, 4)),
            Self::Least(all) => format!("least({})", list(all)),
            Self::Most(all) => format!("most({})", list(all)),
            Self::Root(one) => format!("root({})", one.text(names)),
            Self::RoundUp(one) => format!("round-up({})", one.text(names)),
            Self::Over(which, one) => {
                let text = one.text(Names {
                    pan: "pan.",
                    of_pan: true,
                    ..names
                });
                format!("{which}({text})")
            }
            Self::Count => "count(pan)".to_owned(),
        }
    }

    /// Whether any part of it, formulas it rests on included, is such.
    pub(crate) fn any(&self, world: &World, such: &dyn Fn(&Self) -> bool, of_pan: bool) -> bool {
        let formulas = if of_pan { &world.of_pan } else { &world.of_bed };
        such(self)
            || match self {
                Self::Number(..) | Self::Stated(_) | Self::Count => false,
                Self::WorkedOut(index) => formulas[*index].any(world, such, of_pan),
                Self::Negative(one)
                | Self::Power(one, _)
                | Self::Root(one)
                | Self::RoundUp(one) => one.any(world, such, of_pan),
                Self::Sum(_, one, other) => {
                    one.any(world, such, of_pan) || other.any(world, such, of_pan)
                }
                Self::Least(all) | Self::Most(all) => {
                    all.iter().any(|one| one.any(world, such, of_pan))
                }
                Self::Over(_, one) => one.any(world, such, true),
            }
    }

    /// Its value at a point; `None` where it has none.
    pub(crate) fn value(
        &self,
        world: &World,
        point: &Point,
        pan: Option<usize>,
    ) -> Option<Fraction> {
        let of = |one: &Self| one.value(world, point, pan);
        Some(match self {
            Self::Number(_, value) => value.clone(),
            Self::Stated(index) => match pan {
                Some(pan) => point.pans[pan][*index].clone(),
                None => point.bed[*index].clone(),
            },
            Self::WorkedOut(index) => match pan {
                Some(_) => world.of_pan[*index].value(world, point, pan)?,
                None => world.of_bed[*index].value(world, point, None)?,
            },
            Self::Negative(one) => Fraction::whole(0).sub(&of(one)?),
            Self::Sum('+', one, other) => of(one)?.add(&of(other)?),
            Self::Sum('-', one, other) => of(one)?.sub(&of(other)?),
            Self::Sum('*', one, other) => of(one)?.mul(&of(other)?),
            Self::Sum(_, one, other) => of(one)?.div(&of(other)?)?,
            Self::Power(one, power) => {
                let base = of(one)?;
                let mut result = Fraction::whole(1);
                for _ in 0..power.abs() {
                    result = result.mul(&base);
                }
                if *power < 0 {
                    Fraction::whole(1).div(&result)?
                } else {
                    result
                }
            }
            Self::Least(all) => all
                .iter()
                .map(of)
                .collect::<Option<Vec<_>>>()?
                .into_iter()
                .min()?,
            Self::Most(all) => all
                .iter()
                .map(of)
                .collect::<Option<Vec<_>>>()?
                .into_iter()
                .max()?,
            Self::Root(one) => of(one)?.root()?,
            Self::RoundUp(one) => of(one)?.ceil(),
            Self::Over(which, one) => {
                let each = (0..point.pans.len()).map(|pan| one.value(world, point, Some(pan)));
                let each: Vec<Fraction> = each.collect::<Option<_>>()?;
                match *which {
                    "total" => each
                        .iter()
                        .fold(Fraction::whole(0), |sum, one| sum.add(one)),
                    "least" => each.into_iter().min()?,
                    _ => each.into_iter().max()?,
                }
            }
            Self::Count => Fraction::whole(i64::try_from(point.pans.len()).unwrap()),
        })
    }
}

/// A condition.
#[derive(Debug, Clone)]
pub(crate) enum Condition {
    Compare(&'static str, Formula, Formula),
    Within(Formula, (String, Fraction), (String, Fraction)),
    And(Vec<Condition>),
    Or(Vec<Condition>),
    Not(Box<Condition>),
}

impl Condition {
    pub(crate) fn random(random: &Random, deep: u32, world: &World) -> Self {
        let formula = |deep| Formula::random(random, deep, world.stated, world.of_bed.len(), true);
        let number = || decimal(random.whole(-40, 120), 1);
        if deep == 0 || random.chance(40) {
            if random.chance(25) {
                let (low, high) = (random.whole(-40, 80), random.whole(1, 80));
                return Self::Within(formula(1), decimal(low, 1), decimal(low + high, 1));
            }
            let sign = *random.pick(&["at least", "at most", "above", "below"]);
            let (text, value) = number();
            let right = if random.chance(70) {
                Formula::Number(text, value)
            } else {
                formula(1)
            };
            return Self::Compare(sign, formula(1), right);
        }
        let some = |random: &Random| {
            (0..2 + random.below(2))
                .map(|_| Self::random(random, deep - 1, world))
                .collect()
        };
        match random.below(5) {
            0 | 1 => Self::And(some(random)),
            2 | 3 => Self::Or(some(random)),
            _ => Self::Not(Box::new(Self::random(random, deep - 1, world))),
        }
    }

    fn rank(&self) -> u32 {
        match self {
            Self::Or(_) => 0,
            Self::And(_) => 1,
            Self::Not(_) => 2,
            Self::Compare(..) | Self::Within(..) => 3,
        }
    }

    pub(crate) fn text(&self, names: Names) -> String {
        let inner = |one: &Self, least: u32| {
            let text = one.text(names);
            if one.rank() < least {
                format!("({text})")
            } else {
                text
            }
        };
        let joined = |all: &[Self], word: &str, least: u32| {
            let all: Vec<String> = all.iter().map(|one| inner(one, least)).collect();
            all.join(word)
        };
        match self {
            Self::Compare(sign, left, right) => {
                format!("{} {sign} {}", left.text(names), right.text(names))
            }
            Self::Within(formula, (low, _), (high, _)) => {
                format!("{} within {low} to {high}", formula.text(names))
            }
            Self::And(all) => joined(all, " and ", 2),
            // `a and b or c` is refused: an `and` beside an `or` stands in brackets.
            Self::Or(all) => joined(all, " or ", 3),
            Self::Not(one) => format!("not {}", inner(one, 3)),
        }
    }

    /// Whether it is true at a point; `None` where a value has none.
    pub(crate) fn holds(&self, world: &World, point: &Point) -> Option<bool> {
        let value = |formula: &Formula| formula.value(world, point, None);
        match self {
            Self::Compare(sign, left, right) => {
                let (left, right) = (value(left)?, value(right)?);
                Some(match *sign {
                    "at least" => left >= right,
                    "at most" => left <= right,
                    "above" => left > right,
                    _ => left < right,
                })
            }
            Self::Within(formula, (_, low), (_, high)) => {
                let value = value(formula)?;
                Some(value >= *low && value <= *high)
            }
            Self::And(all) => {
                let all: Option<Vec<bool>> =
                    all.iter().map(|one| one.holds(world, point)).collect();
                Some(all?.into_iter().all(|one| one))
            }
            Self::Or(all) => {
                let all: Option<Vec<bool>> =
                    all.iter().map(|one| one.holds(world, point)).collect();
                Some(all?.into_iter().any(|one| one))
            }
            Self::Not(one) => Some(!one.holds(world, point)?),
        }
    }

    /// How often a value that it compares touches what it is compared with, at a point.
    pub(crate) fn touches(&self, world: &World, point: &Point) -> bool {
        match self {
            Self::Compare(_, left, right) => {
                left.value(world, point, None) == right.value(world, point, None)
            }
            Self::Within(formula, (_, low), (_, high)) => {
                let value = formula.value(world, point, None);
                value.is_some_and(|value| value == *low || value == *high)
            }
            _ => false,
        }
    }
}
