//! Dials that read wrong: what a dial shows, and what is so then.
//!
//! A plan states where a dial is set. Where its record says what is so at two positions or more, every rule and formula
//! goes by that: from one position to the next the truth is taken to go straight, anywhere between the straight lines
//! through the lower and through the upper ends of what was found. Beyond the positions that were looked at it is not
//! known.

use std::collections::BTreeMap;

use super::model::{Field, FieldId, KindId, Quantity, Sort, Source, Type, Value};
use super::value::Values;
use crate::diagnostic::{Code, Diagnostic};
use crate::interval::Bounds;
use crate::source::Span;
use crate::syntax::tree::{self, ValueNode};
use crate::units::{Exact, Unit, show_exact};

/// What a dial shows and what is so then, at two positions or more, by rising position.
#[derive(Debug, Clone)]
pub struct Calibration {
    /// The setting.
    pub name: String,
    /// The positions that were looked at.
    pub points: Vec<CalibrationPoint>,
    /// From each position to the next, for numbers that were rounded outward.
    lines: Vec<Line>,
    /// How much more is so for one more on the dial: least and most.
    slope: Bounds,
}

/// From one position to the next.
#[derive(Debug, Clone)]
struct Line {
    from: Bounds,
    /// The next position, rounded up.
    to: f64,
    /// Through the lower ends of what was found.
    low: Slanted,
    /// Through the upper ends.
    high: Slanted,
}

/// What is so at a position, and how much more for one more on the dial.
#[derive(Debug, Clone)]
struct Slanted {
    start: Bounds,
    slope: Bounds,
}

impl Slanted {
    fn at(&self, from: Bounds, shown: f64) -> Bounds {
        let beyond = Bounds::point(shown).sub(from);
        self.start.add(beyond.mul(self.slope))
    }
}

/// One position of a dial and what is so there.
#[derive(Debug, Clone)]
pub struct CalibrationPoint {
    /// What the dial shows.
    pub shown: Exact,
    /// The unit it is written in.
    pub unit: Unit,
    /// What is so.
    pub found: Quantity,
    /// Where that stands.
    pub found_at: Span,
    /// What that rests on.
    pub per: Option<Source>,
    /// The clause.
    pub span: Span,
}

impl Calibration {
    /// Of positions that rise, and so does what was found; without lines where they do not.
    fn new(name: String, points: Vec<CalibrationPoint>) -> Self {
        let line = |pair: &[CalibrationPoint]| {
            let (one, other) = (&pair[0], &pair[1]);
            let run = other.shown.sub(&one.shown);
            let slanted = |from: &Exact, to: &Exact| {
                Some(Slanted {
                    start: outward(from),
                    slope: outward(&to.sub(from).div(&run)?),
                })
            };
            Some(Line {
                from: outward(&one.shown),
                to: other.shown.outward().1,
                low: slanted(&one.found.low, &other.found.low)?,
                high: slanted(&one.found.high, &other.found.high)?,
            })
        };
        let lines = points.windows(2).filter_map(line).collect();
        let slope = |pair: &[CalibrationPoint]| {
            let (one, other) = (&pair[0], &pair[1]);
            let run = other.shown.sub(&one.shown);
            let least = other.found.low.sub(&one.found.high).div(&run)?;
            let most = other.found.high.sub(&one.found.low).div(&run)?;
            Some(Bounds::new(least.outward().0, most.outward().1))
        };
        let slopes = points.windows(2).filter_map(slope);
        let slope = slopes.reduce(Bounds::hull);
        Self {
            name,
            lines,
            slope: slope.unwrap_or(Bounds::new(0.0, f64::INFINITY)),
            points,
        }
    }

    /// What is so where the dial stands between these two; `None` where that was not looked at.
    #[must_use]
    pub fn behind(&self, low: &Exact, high: &Exact) -> Option<(Exact, Exact)> {
        Some((
            self.line(low, |of| &of.low)?,
            self.line(high, |of| &of.high)?,
        ))
    }

    /// The same of ends that were rounded outward.
    #[must_use]
    pub fn bounds(&self, shown: Bounds) -> Option<Bounds> {
        // An end that was rounded past a position may belong to the line on either side of it.
        let lines = |end: f64| {
            let lines = self.lines.iter();
            lines.filter(move |line| line.from.lo <= end && end <= line.to)
        };
        let low = lines(shown.lo).map(|line| line.low.at(line.from, shown.lo).lo);
        let high = lines(shown.hi).map(|line| line.high.at(line.from, shown.hi).hi);
        Some(Bounds::new(low.reduce(f64::min)?, high.reduce(f64::max)?))
    }

    /// How much more is so for one more on the dial: least and most.
    #[must_use]
    pub const fn slope(&self) -> Bounds {
        self.slope
    }

    /// The first and the last position.
    #[must_use]
    pub fn reach(&self) -> Option<(&CalibrationPoint, &CalibrationPoint)> {
        Some((self.points.first()?, self.points.last()?))
    }

    /// The straight lines through one end of what was found.
    fn line(&self, at: &Exact, end: fn(&Quantity) -> &Exact) -> Option<Exact> {
        let pair = self
            .points
            .windows(2)
            .find(|pair| pair[0].shown <= *at && *at <= pair[1].shown)?;
        let (from, to) = (end(&pair[0].found), end(&pair[1].found));
        let part = at
            .sub(&pair[0].shown)
            .div(&pair[1].shown.sub(&pair[0].shown))?;
        Some(from.add(&to.sub(from).mul(&part)))
    }

    /// All of it in canonical words: two that say the same have the same.
    #[must_use]
    pub fn canonical(&self) -> String {
        let point = |point: &CalibrationPoint| {
            format!(
                "shows {:?} at {:?} to {:?}",
                point.shown, point.found.low, point.found.high
            )
        };
        let points: Vec<String> = self.points.iter().map(point).collect();
        points.join(", ")
    }
}

fn outward(exact: &Exact) -> Bounds {
    let (low, high) = exact.outward();
    Bounds::new(low, high)
}

impl CalibrationPoint {
    /// `shows 10 ft/min`.
    #[must_use]
    pub fn words(&self) -> String {
        format!("shows {}", show_exact(&self.shown, &self.unit))
    }
}

/// The dials of a record that read wrong.
pub(super) fn calibrations(
    reading: &Values<'_>,
    kind: KindId,
    record: &tree::Record<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Vec<(FieldId, Calibration)> {
    let declared = reading.standard.kind(kind);
    let mut found: BTreeMap<FieldId, Vec<CalibrationPoint>> = BTreeMap::new();
    for line in record.block.iter().flat_map(|block| &block.lines) {
        let tree::Line::Good(clause, _) = line else {
            continue;
        };
        // A setting that there is not was told of with the values.
        let (Some(shown), Some(&id)) = (&clause.shows, declared.field_names.get(clause.name.text))
        else {
            continue;
        };
        let field = &declared.fields[id.0 as usize];
        if let Some(point) = point(reading, field, clause, shown, problems) {
            found.entry(id).or_default().push(point);
        }
    }
    let mut dials = Vec::new();
    for (id, mut points) in found {
        points.sort_by(|one, other| one.shown.cmp(&other.shown));
        let name = declared.fields[id.0 as usize].name.clone();
        match doubt(&name, &points) {
            Some(problem) => problems.push(problem),
            None => dials.push((id, Calibration::new(name, points))),
        }
    }
    dials
}

fn point(
    reading: &Values<'_>,
    field: &Field,
    clause: &tree::Clause<'_>,
    shown: &tree::Literal<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Option<CalibrationPoint> {
    let whole = match &field.ty {
        Type::Quantity(measure) => measure.is_whole(),
        _ => true,
    };
    if field.sort != Sort::Set || whole {
        problems.push(
            Diagnostic::new(
                Code::ClauseMisplaced,
                clause.span,
                format!("`{}` has no dial that could read wrong", field.name),
                "not turned by a dial",
            )
            .help(match &field.sort {
                Sort::Measured(by) => format!(
                    "take the line out, and correct what is read off with {by} before it is stated"
                ),
                _ => "take the line out: only a setting that is `set`, in a unit, is turned by a dial"
                    .to_owned(),
            }),
        );
        return None;
    }
    let position = tree::Value {
        span: shown.span,
        node: ValueNode::Quantity {
            nominal: *shown,
            tolerance: None,
            sd: None,
        },
    };
    let Value::Quantity(position) = reading.read(field, &position, problems) else {
        return None;
    };
    let Value::Quantity(found) = reading.read(field, &clause.value, problems) else {
        return None;
    };
    Some(CalibrationPoint {
        shown: position.nominal,
        unit: position.unit,
        found: *found,
        found_at: clause.value.span,
        per: super::kinds::source(clause.per, problems),
        span: clause.span,
    })
}

/// What keeps the positions of a dial from saying anything.
fn doubt(name: &str, points: &[CalibrationPoint]) -> Option<Diagnostic> {
    if let [lone] = points {
        return Some(
            Diagnostic::new(
                Code::CalibrationMalformed,
                lone.span,
                format!("what the dial of `{name}` shows is said at one position only"),
                "one position",
            )
            .help(format!(
                "write a second line, `{name} shows … at …`, near the other end of what is used; between two positions \
                 the truth is taken to go straight, and nothing is known beyond them"
            )),
        );
    }
    points.windows(2).find_map(|pair| {
        let (one, other) = (&pair[0], &pair[1]);
        if one.shown == other.shown {
            return Some(
                Diagnostic::new(
                    Code::StatedTwice,
                    other.span,
                    format!("what is so where the dial of `{name}` {} is said twice", other.words()),
                    "again here",
                )
                .related(one.span, "said here first")
                .help("keep one of them, with a `±` that covers both"),
            );
        }
        (one.found.high >= other.found.low).then(|| {
            Diagnostic::new(
                Code::CalibrationMalformed,
                other.span,
                format!("more on the dial of `{name}` would not be more"),
                "no more than at the position before",
            )
            .related(one.span, "the position before")
            .help(
                "positions lie farther apart than what their values may be off; check both lines, or take one of them out",
            )
        })
    })
}
