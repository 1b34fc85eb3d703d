//! Values of settings, in records and in plans.

use super::condition::record_words;
use super::date::Date;
use super::kinds::limits;
use super::literal::{Number, Reader, check_possible};
use super::model::{
    Field, InstanceId, Limits, Measure, Quantity, Scatter, Standard, Target, Tolerance, Type, Value,
};
use crate::diagnostic::{Code, Diagnostic};
use crate::interval::Bounds;
use crate::names::{did_you_mean, in_a_spec};
use crate::source::Span;
use crate::syntax::tree::{self, Literal, Sides, ValueNode, Word};
use crate::units::{Dimension, Exact, Unit, show_exact};

/// What is needed to read a value.
pub(super) struct Values<'a> {
    /// The standard, kinds and record names filled in.
    pub(super) standard: &'a Standard,
    /// For numbers.
    pub(super) reader: &'a Reader,
    /// Finds a thing of the run by kind and name; `None` in a standard.
    pub(super) things: &'a dyn Fn(super::KindId, &str) -> Option<InstanceId>,
    /// Names of the things of the run, for suggestions; none in a standard.
    pub(super) names: &'a [(super::KindId, &'a str)],
}

impl Values<'_> {
    /// Reads a value for a setting. A wrong one is reported and gives [`Value::Wrong`].
    pub(super) fn read(
        &self,
        field: &Field,
        value: &tree::Value<'_>,
        problems: &mut Vec<Diagnostic>,
    ) -> Value {
        let before = problems.len();
        let read = self.try_read(field, value, problems);
        for problem in problems.iter_mut().skip(before) {
            if problem.code == Code::UnitMissing {
                which_unit(field, value, problem);
            }
        }
        read.unwrap_or(Value::Wrong)
    }

    fn try_read(
        &self,
        field: &Field,
        value: &tree::Value<'_>,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<Value> {
        match (&field.ty, &value.node) {
            (Type::Quantity(measure), _) => self.quantity(field, measure, value, problems),
            (Type::Range(measure), _) => self.range(field, measure, value, problems),
            (Type::Text, ValueNode::Text(quote)) => Some(Value::Text(quote.value())),
            (Type::Day, ValueNode::Day(word)) => {
                Date::read(*word, &field.name, problems).map(Value::Day)
            }
            (Type::YesNo, ValueNode::Name(word)) if word.text == "yes" => Some(Value::YesNo(true)),
            (Type::YesNo, ValueNode::Name(word)) if word.text == "no" => Some(Value::YesNo(false)),
            (Type::Choice(choices), ValueNode::Name(word)) => {
                match choices.iter().position(|choice| choice == word.text) {
                    Some(index) => Some(Value::choice(index)),
                    None => {
                        let what = format!("`{}` is not a choice of `{}`", word.text, field.name);
                        let known = choices.iter().map(String::as_str);
                        problems.push(unknown(Code::UnknownChoice, *word, what, known));
                        None
                    }
                }
            }
            (Type::Reference(kind), ValueNode::Name(word)) => {
                if let Some(thing) = (self.things)(*kind, word.text) {
                    return Some(Value::Reference(Target::Thing(thing)));
                }
                let key = (*kind, word.text.to_owned());
                if let Some(&record) = self.standard.record_names.get(&key) {
                    return Some(Value::Reference(Target::Record(record)));
                }
                let name = &self.standard.kind(*kind).name;
                let what = format!("there is no {name} `{}`", word.text);
                let things = self.names.iter().filter(|(of, _)| of == kind);
                let known: Vec<&str> = record_words(self.standard, *kind)
                    .into_iter()
                    .chain(things.map(|(_, name)| *name))
                    .collect();
                let none = known.is_empty();
                let mut problem = unknown(Code::UnknownRecord, *word, what, known);
                if let Some(help) = in_a_spec(&[name], word.text) {
                    problem = problem.help(help);
                } else if none {
                    problem = problem.help(format!(
                        "the standard declares none; write `{name} {} {{`",
                        word.text
                    ));
                }
                problems.push(problem);
                None
            }
            (ty, _) => {
                let wanted = match ty {
                    Type::Text => "a text in double quotes".to_owned(),
                    Type::YesNo => "`yes` or `no`".to_owned(),
                    Type::Day => "a day, as in `2026-12-31`".to_owned(),
                    Type::Choice(choices) => format!("one of {}", listed(choices)),
                    Type::Reference(kind) => {
                        format!("a name of kind `{}`", self.standard.kind(*kind).name)
                    }
                    Type::Quantity(_) | Type::Range(_) => String::new(),
                };
                let mut problem = wrong_value(field, value.span, &wanted);
                match value.node {
                    ValueNode::Text(quote) => match ty {
                        Type::Choice(choices) => {
                            let said = quote.value();
                            let meant = choices
                                .iter()
                                .find(|choice| choice.eq_ignore_ascii_case(said.trim()));
                            problem = problem.help(match meant {
                                Some(meant) => format!("leave the quotes out: `{meant}`"),
                                None => format!(
                                    "write {} without quotes; a shop that needs another one declares a \
                                     setting of its own",
                                    listed(choices)
                                ),
                            });
                        }
                        _ => problem = problem.help("leave the quotes out"),
                    },
                    ValueNode::Day(day) if *ty == Type::Text => {
                        problem = problem.help(format!("write \"{}\"", day.text));
                    }
                    _ => {}
                }
                problems.push(problem);
                None
            }
        }
    }

    fn quantity(
        &self,
        field: &Field,
        measure: &Measure,
        value: &tree::Value<'_>,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<Value> {
        let quantity = match &value.node {
            ValueNode::Quantity {
                nominal,
                tolerance,
                sd,
            } => {
                let number = self
                    .reader
                    .measured(nominal, measure, None, &field.name, problems)?;
                let tolerance = match tolerance {
                    None => None,
                    Some(tolerance) => {
                        let around = (nominal, value.span);
                        Some(self.tolerance(field, measure, around, tolerance, problems)?)
                    }
                };
                let sd = match sd {
                    None => None,
                    Some(sd) => Some(self.scatter(field, measure, sd, &number.exact, problems)?),
                };
                if let Some(tolerance) = &tolerance {
                    problems.extend(doubtful_unit(field, &number, tolerance));
                }
                let (low, high) = reach(&number.exact, tolerance.as_ref());
                let bounds = Bounds::new(low.outward().0, high.outward().1);
                Quantity {
                    nominal: number.exact,
                    low,
                    high,
                    bounds,
                    unit: number.unit,
                    tolerance,
                    resolution: number.resolution,
                    scatter: sd,
                }
            }
            ValueNode::Range { low, high } => {
                let span = limits(self.reader, low, high, measure, &field.name, problems)?;
                let (low, high) = (span.low?, span.high?);
                let middle = low.add(&high).div(&Exact::from_int(2))?;
                let bounds = Bounds::new(low.outward().0, high.outward().1);
                Quantity {
                    nominal: middle,
                    low,
                    high,
                    bounds,
                    unit: span.unit,
                    tolerance: None,
                    resolution: Exact::ZERO,
                    scatter: None,
                }
            }
            ValueNode::AtLeast(_) | ValueNode::AtMost(_) => {
                problems.push(
                    Diagnostic::new(
                        Code::WrongValue,
                        value.span,
                        format!("`{}` is a value, not a limit", field.name),
                        "a limit here",
                    )
                    .help("write the value it has, with `±` if it is not sharp"),
                );
                return None;
            }
            node => {
                let wanted = super::mismatch::wanted(measure);
                let mut problem = wrong_value(field, value.span, &wanted);
                if matches!(node, ValueNode::Text(_)) {
                    problem = problem.help("leave the quotes out");
                }
                problems.push(problem);
                return None;
            }
        };
        if let Some(problem) = check_possible(
            &quantity.low,
            &quantity.high,
            &quantity.unit,
            field.possible.as_ref(),
            &field.name,
            value.span,
        ) {
            problems.push(problem);
            return None;
        }
        Some(Value::Quantity(Box::new(quantity)))
    }

    fn tolerance(
        &self,
        field: &Field,
        measure: &Measure,
        (nominal, span): (&Literal<'_>, Span),
        tolerance: &tree::Tolerance<'_>,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<Tolerance> {
        let (plus, minus) = match &tolerance.sides {
            Sides::Both(literal) => (Some(literal), Some(literal)),
            Sides::Sided { plus, minus } => (plus.as_ref(), minus.as_ref()),
        };
        if measure.reading == super::Reading::Share {
            Self::says_which_percent(field, nominal, tolerance, problems)?;
        } else if let Some(at) = tolerance.of_it {
            problems.push(
                Diagnostic::new(
                    Code::ToleranceMalformed,
                    at,
                    format!(
                        "`of it` stands behind a share only, and `{}` is none",
                        field.name
                    ),
                    "not needed",
                )
                .help("leave `of it` out: `± 5 %` is 5 % of the value"),
            );
            return None;
        }
        let first = plus.or(minus)?;
        let mut sides = [Exact::ZERO, Exact::ZERO];
        let mut relative = None;
        let mut shown = None;
        for (side, literal) in sides.iter_mut().zip([plus, minus]) {
            let Some(literal) = literal else { continue };
            let of_it = tolerance.of_it.is_some();
            let (size, unit, of_value) = self.one_side(field, measure, literal, of_it, problems)?;
            if size.signum() < 0 || relative.is_some_and(|known| known != of_value) {
                problems.push(
                    Diagnostic::new(
                        Code::ToleranceMalformed,
                        literal.span,
                        format!("this tolerance of `{}` cannot be", field.name),
                        "not below zero, and both sides in the same way",
                    )
                    .help("write `± 5 %`, `± 2 mm`, or `+3 mm -1 mm`"),
                );
                return None;
            }
            relative = Some(of_value);
            shown = Some(unit);
            *side = size;
        }
        let [plus, minus] = sides;
        let start = first.span.start as usize;
        Some(Tolerance {
            span: Span::new(span.file, start, span.end as usize),
            relative: relative.unwrap_or(false),
            plus,
            minus,
            unit: shown?,
            of_it: tolerance.of_it.is_some(),
        })
    }

    /// Four per cent behind a share of 40 % may be four of the hundred (36 to 44 %) or four of each hundred of it
    /// (38.4 to 41.6 %). Neither is the usual reading, so one of them has to be written.
    fn says_which_percent(
        field: &Field,
        nominal: &Literal<'_>,
        tolerance: &tree::Tolerance<'_>,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<()> {
        let sides: Vec<(&str, &Literal<'_>)> = match &tolerance.sides {
            Sides::Both(size) => vec![("± ", size)],
            Sides::Sided { plus, minus } => {
                let plus = plus.iter().map(|size| ("+", size));
                plus.chain(minus.iter().map(|size| ("-", size))).collect()
            }
        };
        let of_it = tolerance.of_it.is_some();
        let said = |size: &Literal<'_>| match size.unit {
            None => false,
            Some(unit) if is_points(unit.text) => !of_it,
            Some(unit) => of_it || !Unit::parse(unit.text).is_ok_and(|unit| unit.is_percent()),
        };
        let Some((_, first)) = sides.iter().find(|(_, size)| !said(size)) else {
            return Some(());
        };
        let written = |behind: &str| {
            let side = |(sign, size): &(&str, &Literal<'_>)| {
                let one = size.number.text == "1" && behind == "points";
                format!(
                    "{sign}{} {}",
                    size.number.text,
                    if one { "point" } else { behind }
                )
            };
            sides.iter().map(side).collect::<Vec<_>>().join(" ")
        };
        let value = nominal.number.text;
        let mut problem = Diagnostic::new(
            Code::ToleranceMalformed,
            first.span,
            format!(
                "the tolerance of the share `{}` can be read in two ways",
                field.name
            ),
            "points, or percent of it?",
        );
        let reach = |relative: bool| {
            let percent = Exact::from_int(100);
            let at = Exact::parse_decimal(value).ok()?;
            let mut ends = (at.clone(), at.clone());
            for (sign, size) in &sides {
                let size = Exact::parse_decimal(size.number.text).ok()?;
                let size = if relative {
                    size.mul(&at.abs()).div(&percent)?
                } else {
                    size
                };
                if *sign != "-" {
                    ends.1 = at.add(&size);
                }
                if *sign != "+" {
                    ends.0 = at.sub(&size);
                }
            }
            let shown = |end: &Exact| show_exact(end, &Unit::bare());
            Some(format!(" ({} to {} %)", shown(&ends.0), shown(&ends.1)))
        };
        problem = problem.help(format!(
            "write `{value} % {}`{} or `{value} % {} of it`{}",
            written("points"),
            reach(false).unwrap_or_default(),
            written("%"),
            reach(true).unwrap_or_default(),
        ));
        problems.push(problem);
        None
    }

    /// A standard deviation: above zero, of the value or in its unit.
    fn scatter(
        &self,
        field: &Field,
        measure: &Measure,
        sd: &Literal<'_>,
        nominal: &Exact,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<Scatter> {
        if measure.reading == super::Reading::Share
            && sd.unit.is_none_or(|unit| !is_points(unit.text))
        {
            problems.push(
                Diagnostic::new(
                    Code::ToleranceMalformed,
                    sd.span,
                    format!(
                        "the standard deviation of the share `{}` is written in points",
                        field.name
                    ),
                    "of what?",
                )
                .help(match sd.number.text {
                    "1" => "write `sd 1 point`".to_owned(),
                    many => format!("write `sd {many} points`"),
                }),
            );
            return None;
        }
        let (size, unit, relative) = self.one_side(field, measure, sd, false, problems)?;
        if size.signum() <= 0 {
            problems.push(
                Diagnostic::new(
                    Code::ToleranceMalformed,
                    sd.span,
                    format!("the standard deviation of `{}` must be above zero", field.name),
                    "not above zero",
                )
                .help("write it as found from repeated measurements, `sd 1.5 %` or `sd 0.4 mm`; leave it out where none were made"),
            );
            return None;
        }
        let words = show_exact(&size, &unit).replace('Δ', "");
        let size = if relative {
            nominal.abs().mul(&size)
        } else {
            size
        };
        Some(Scatter { size, words })
    }

    /// One side of a tolerance: its size, its unit, and whether it is relative to the value.
    fn one_side(
        &self,
        field: &Field,
        measure: &Measure,
        literal: &Literal<'_>,
        of_it: bool,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<(Exact, Unit, bool)> {
        let share = measure.reading == super::Reading::Share;
        let unit = match literal.unit {
            Some(word) if share && is_points(word.text) => Some(Unit::percent().as_difference()),
            Some(word) => Some(self.reader.unit(word, problems)?),
            None => None,
        };
        if let Some(unit) = &unit
            && unit.is_percent()
            && share
            && !of_it
        {
            let digits = Reader::digits(literal, problems)?;
            return Some((unit.to_base(&digits), unit.clone(), false));
        }
        if let Some(unit) = &unit
            && unit.is_percent()
        {
            if measure.dimension == Dimension::TEMPERATURE {
                problems.push(
                    Diagnostic::new(
                        Code::ToleranceMalformed,
                        literal.span,
                        "a share of a temperature has no meaning: 5 % of 20 °C is not 5 % of 68 °F",
                        "a share here",
                    )
                    .help("write the tolerance as a difference, as in `± 10 °F`"),
                );
                return None;
            }
            let digits = Reader::digits(literal, problems)?;
            return Some((unit.to_base(&digits), unit.clone(), true));
        }
        let mut of = measure.clone();
        if of.dimension == Dimension::TEMPERATURE {
            of.dimension = Dimension::TEMPERATURE_DIFFERENCE;
            if let Some(unit) = &unit {
                let unit = unit.as_difference();
                if unit.dimension() == of.dimension {
                    let digits = Reader::digits(literal, problems)?;
                    return Some((unit.to_base(&digits), unit, false));
                }
            }
        }
        let number = self
            .reader
            .measured(literal, &of, None, &field.name, problems)?;
        Some((number.exact, number.unit, false))
    }

    fn range(
        &self,
        field: &Field,
        measure: &Measure,
        value: &tree::Value<'_>,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<Value> {
        let one = |literal: &Literal<'_>, problems: &mut Vec<Diagnostic>| {
            self.reader
                .measured(literal, measure, None, &field.name, problems)
        };
        let range = match &value.node {
            ValueNode::Range { low, high } => {
                let mut range = limits(self.reader, low, high, measure, &field.name, problems)?;
                range.span = value.span;
                range
            }
            ValueNode::AtLeast(literal) => {
                let number = one(literal, problems)?;
                Limits {
                    low: Some(number.exact),
                    high: None,
                    unit: number.unit,
                    span: value.span,
                }
            }
            ValueNode::AtMost(literal) => {
                let number = one(literal, problems)?;
                Limits {
                    low: None,
                    high: Some(number.exact),
                    unit: number.unit,
                    span: value.span,
                }
            }
            ValueNode::Quantity {
                nominal,
                tolerance: None,
                sd: None,
            } => {
                let number = one(nominal, problems)?;
                Limits {
                    low: Some(number.exact.clone()),
                    high: Some(number.exact),
                    unit: number.unit,
                    span: value.span,
                }
            }
            _ => {
                let wanted = format!("a range of {}", super::mismatch::wanted(measure));
                problems.push(wrong_value(field, value.span, &wanted));
                return None;
            }
        };
        let low = range.low.as_ref().or(range.high.as_ref())?;
        let high = range.high.as_ref().or(range.low.as_ref())?;
        if let Some(problem) = check_possible(
            low,
            high,
            &range.unit,
            field.possible.as_ref(),
            &field.name,
            value.span,
        ) {
            problems.push(problem);
            return None;
        }
        Some(Value::Range(Box::new(range)))
    }
}

/// A tolerance in another unit that is finer than a tenth of the value's last written digit.
fn doubtful_unit(field: &Field, number: &Number, tolerance: &Tolerance) -> Option<Diagnostic> {
    let own = number.unit.as_difference();
    if tolerance.relative || tolerance.unit.spelling() == own.spelling() {
        return None;
    }
    let size = Exact::max(&tolerance.plus, &tolerance.minus);
    // The resolution is half of the last digit.
    if size.is_zero() || size.mul(&Exact::from_int(5)) >= number.resolution {
        return None;
    }
    let written = tolerance.unit.from_base(&size);
    Some(
        Diagnostic::new(
            Code::ToleranceUnit,
            tolerance.span,
            format!(
                "the tolerance of `{}` is far finer than the value is written; its unit may be a slip",
                field.name
            ),
            "in another unit than the value",
        )
        .help(format!(
            "did you mean `± {}`?",
            show_exact(&own.to_base(&written), &own).replace('Δ', "")
        )),
    )
}

/// The interval a tolerance allows around a value.
pub fn reach(nominal: &Exact, tolerance: Option<&Tolerance>) -> (Exact, Exact) {
    let Some(tolerance) = tolerance else {
        return (nominal.clone(), nominal.clone());
    };
    if tolerance.relative {
        let size = nominal.abs();
        (
            nominal.sub(&size.mul(&tolerance.minus)),
            nominal.add(&size.mul(&tolerance.plus)),
        )
    } else {
        (nominal.sub(&tolerance.minus), nominal.add(&tolerance.plus))
    }
}

/// Offers the units that may be meant: that of the tolerance, else those in which the number is possible.
fn which_unit(field: &Field, value: &tree::Value<'_>, problem: &mut Diagnostic) {
    let (Type::Quantity(measure) | Type::Range(measure)) = &field.ty else {
        return;
    };
    let (literals, tolerance) = match &value.node {
        ValueNode::Quantity {
            nominal, tolerance, ..
        } => (vec![nominal], tolerance.as_ref()),
        ValueNode::Range { low, high } => (vec![low, high], None),
        ValueNode::AtLeast(literal) | ValueNode::AtMost(literal) => (vec![literal], None),
        _ => return,
    };
    let at = problem.primary().map(|label| label.span);
    let here = |literal: &&&Literal<'_>| at == Some(literal.span);
    let Some(literal) = literals.iter().find(here) else {
        tolerance_unit(field, measure, literals.first().copied(), problem);
        return;
    };
    let number = literal.number.text;
    let of_tolerance = tolerance.and_then(|tolerance| match &tolerance.sides {
        Sides::Both(size) => size.unit,
        Sides::Sided { plus, minus } => plus.or(*minus).and_then(|size| size.unit),
    });
    let same = |word: &Word<'_>| {
        Unit::parse(word.text).is_ok_and(|unit| unit.dimension() == measure.dimension)
    };
    let help = match (of_tolerance.filter(same), &measure.reading) {
        (Some(unit), _) => format!("write `{number} {}`", unit.text),
        (None, super::Reading::Unit) => {
            let units = super::mismatch::units_meant(number, measure, field.possible.as_ref());
            let written: Vec<String> = units
                .iter()
                .map(|unit| format!("`{number} {unit}`"))
                .collect();
            match written.as_slice() {
                [one, other] => format!("write {one} or {other}, whichever is meant"),
                _ => format!("write {}, or the unit that is meant", written.join("")),
            }
        }
        _ => return,
    };
    problem.help = Some(help);
}

/// A tolerance is written in the unit of its value, and for a temperature that is no `K`.
fn tolerance_unit(
    field: &Field,
    measure: &Measure,
    nominal: Option<&Literal<'_>>,
    problem: &mut Diagnostic,
) {
    let Some(unit) = nominal.and_then(|nominal| nominal.unit) else {
        return;
    };
    let Some(size) = problem
        .headline
        .rsplit_once("; `")
        .and_then(|(_, rest)| rest.split_once('`'))
        .map(|(size, _)| size.to_owned())
    else {
        return;
    };
    problem.headline = format!("the tolerance of `{}` has no unit", field.name);
    let share = matches!(measure.reading, super::Reading::Unit)
        && measure.dimension != Dimension::TEMPERATURE;
    problem.help = Some(if share {
        format!("write `{size} {0}`, or `{size} %` of the value", unit.text)
    } else {
        format!("write `{size} {}`", unit.text)
    });
}

/// What differences of shares are counted in.
fn is_points(word: &str) -> bool {
    matches!(word, "points" | "point")
}

fn listed(words: &[String]) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
    quoted.join(", ")
}

fn wrong_value(field: &Field, span: Span, wanted: &str) -> Diagnostic {
    Diagnostic::new(
        Code::WrongValue,
        span,
        format!("`{}` takes {wanted}", field.name),
        "another sort of value",
    )
    .related(field.span, "declared here")
    .help(format!("write {wanted}"))
}

fn unknown<'k>(
    code: Code,
    word: Word<'_>,
    what: String,
    known: impl IntoIterator<Item = &'k str>,
) -> Diagnostic {
    let mut diagnostic = Diagnostic::new(code, word.span, what, "not known");
    if let Some(help) = did_you_mean(word.text, known) {
        diagnostic = diagnostic.help(help);
    }
    diagnostic
}
