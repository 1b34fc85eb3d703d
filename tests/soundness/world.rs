//! Stated values with tolerances, and points inside them.

use std::fmt;

use super::fraction::{Fraction, decimal};
use super::reckoner::{Formula, Names};
use crate::demo_room::Random;

/// A stated value with its tolerance.
#[derive(Debug, Clone)]
pub(crate) struct Value {
    pub(crate) nominal: Fraction,
    pub(crate) low: Fraction,
    pub(crate) high: Fraction,
    pub(crate) text: String,
}

impl Value {
    /// A random one: sharp, `± 0.5`, `± 5 %`, `+0.2 -0.1` or a span.
    pub(crate) fn random(random: &Random) -> Self {
        let number = if random.chance(25) {
            random.whole(-80, 80)
        } else {
            random.whole(5, 120)
        };
        let (text, nominal) = decimal(number, 1);
        let (plus, minus) = (
            decimal(random.whole(0, 25), 1),
            decimal(random.whole(1, 25), 1),
        );
        let made = |low: Fraction, high: Fraction, tolerance: String| Self {
            nominal: nominal.clone(),
            low,
            high,
            text: format!("{text}{tolerance}"),
        };
        match random.below(6) {
            0 => made(nominal.clone(), nominal.clone(), String::new()),
            1 | 2 => made(
                nominal.sub(&minus.1),
                nominal.add(&minus.1),
                format!(" ± {}", minus.0),
            ),
            3 => {
                let percent = random.whole(1, 30);
                let size = nominal.mul(&Fraction::new(percent, 100));
                let size = std::cmp::max(size.clone(), Fraction::whole(0).sub(&size));
                made(
                    nominal.sub(&size),
                    nominal.add(&size),
                    format!(" ± {percent} %"),
                )
            }
            4 => made(
                nominal.sub(&minus.1),
                nominal.add(&plus.1),
                format!(" +{} -{}", plus.0, minus.0),
            ),
            _ => {
                let high = nominal.add(&plus.1);
                let (until, _) = decimal(number + random.whole(0, 25), 1);
                let until_value = until.parse::<f64>().unwrap();
                let _ = high;
                let high = Fraction::new((until_value * 10.0).round() as i64, 10);
                Self {
                    nominal: nominal.add(&high).mul(&Fraction::new(1, 2)),
                    low: nominal.clone(),
                    high,
                    text: format!("{text} to {until}"),
                }
            }
        }
    }

    /// A point between the ends: `part` sixty-fourths of the way.
    pub(crate) fn at(&self, part: i64) -> Fraction {
        let width = self.high.sub(&self.low);
        self.low.add(&width.mul(&Fraction::new(part, 64)))
    }
}

/// A standard and a plan: formulas and stated values.
#[derive(Debug, Clone)]
pub(crate) struct World {
    pub(crate) stated: usize,
    pub(crate) of_bed: Vec<Formula>,
    pub(crate) of_pan: Vec<Formula>,
    pub(crate) bed: Vec<Value>,
    pub(crate) pans: Vec<Vec<Value>>,
}

/// One choice of all stated values.
#[derive(Debug, Clone)]
pub(crate) struct Point {
    pub(crate) bed: Vec<Fraction>,
    pub(crate) pans: Vec<Vec<Fraction>>,
}

impl fmt::Display for World {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.plan())
    }
}

impl World {
    pub(crate) fn random(random: &Random) -> Self {
        let stated = 1 + random.below(3);
        let mut world = Self {
            stated,
            of_bed: Vec::new(),
            of_pan: vec![Formula::random(random, 2, 2, 0, false)],
            bed: (0..stated).map(|_| Value::random(random)).collect(),
            pans: (0..1 + random.below(2))
                .map(|_| (0..2).map(|_| Value::random(random)).collect())
                .collect(),
        };
        for known in 0..3 {
            let formula = Formula::random(random, 2, stated, known, true);
            world.of_bed.push(formula);
        }
        world
    }

    /// The kinds, as a standard without rules.
    pub(crate) fn standard(&self) -> String {
        let mut text = "standard \"a\" edition \"1\"\nkind bed, one to a run \"a\" {\n".to_owned();
        let names = Names {
            bed: "",
            pan: "",
            of_pan: false,
        };
        for index in 0..self.stated {
            text += &format!("  x{index} number set\n");
        }
        for (index, formula) in self.of_bed.iter().enumerate() {
            text += &format!("  f{index} number = {}\n", formula.text(names));
        }
        text += "}\nkind pan, many to a run \"a\" {\n  p0 number set\n  p1 number set\n";
        for (index, formula) in self.of_pan.iter().enumerate() {
            text += &format!(
                "  g{index} number = {}\n",
                formula.text(Names {
                    of_pan: true,
                    ..names
                })
            );
        }
        text + "}\n"
    }

    pub(crate) fn plan(&self) -> String {
        let mut text = "run \"a\" against \"room.std\"\nbed {\n".to_owned();
        for (index, value) in self.bed.iter().enumerate() {
            text += &format!("  x{index} {}\n", value.text);
        }
        text += "}\n";
        for (pan, values) in self.pans.iter().enumerate() {
            text += &format!("pan n{pan} {{\n");
            for (index, value) in values.iter().enumerate() {
                text += &format!("  p{index} {}\n", value.text);
            }
            text += "}\n";
        }
        text
    }

    fn point(&self, mut choose: impl FnMut(&Value) -> Fraction) -> Point {
        Point {
            bed: self.bed.iter().map(&mut choose).collect(),
            pans: self
                .pans
                .iter()
                .map(|pan| pan.iter().map(&mut choose).collect())
                .collect(),
        }
    }

    /// All corners of the box of tolerances.
    pub(crate) fn corners(&self) -> Vec<Point> {
        let count = self.bed.len() + 2 * self.pans.len();
        let corner = |bits: usize| {
            let mut index = 0;
            self.point(|value| {
                index += 1;
                if bits >> (index - 1) & 1 == 0 {
                    value.low.clone()
                } else {
                    value.high.clone()
                }
            })
        };
        (0..1 << count).map(corner).collect()
    }

    /// Points inside the box: the middle, zeros, and random ones.
    pub(crate) fn inside(&self, random: &Random, count: usize) -> Vec<Point> {
        let zero = Fraction::whole(0);
        let mut points = vec![
            self.point(|value| value.at(32)),
            self.point(|value| value.nominal.clone()),
        ];
        points.push(self.point(|value| {
            if value.low < zero && value.high > zero {
                zero.clone()
            } else {
                value.at(32)
            }
        }));
        for _ in 0..count {
            points.push(self.point(|value| match random.below(6) {
                0 => value.low.clone(),
                1 => value.high.clone(),
                2 if value.low < zero && value.high > zero => zero.clone(),
                _ => value.at(random.whole(0, 64)),
            }));
        }
        points
    }
}
