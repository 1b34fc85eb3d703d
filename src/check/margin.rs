//! Margins: how far each stated setting may drift, its tolerance with it, before something stops holding.
//!
//! A setting is moved away from its stated value, the others as they are, and the whole stretch between is checked at
//! once, so that it holds anywhere on the way. What holds must go on to hold, and what does not apply must not begin to
//! break. What breaks or is in doubt already is not counted.

use crate::diagnostic::{Drift, DriftEnd, Margin, Margins, Outcome};
use crate::eval::{EvalContext, ExactInterval, Leaf};
use crate::types::{Origin, Quantity, Reading, Target, Type, Value, reach};
use crate::units::{Exact, show_exact};

use super::bisect::bisect;
use super::capability::capability;
use super::finding::subject_words;
use super::impact::Before;
use super::repair::{Candidate, Dial, Fault, Parts, nominal_limits, whole_steps};
use super::table::limit_place;
use super::wording;

/// How fine the search is: 2 to this power steps to the end of what is possible.
const BITS: u32 = 34;

/// The same where a figure that takes milliseconds stands behind a rule.
const BITS_COSTLY: u32 = 9;

/// The longest number that is shown in full.
const SHORT: usize = 8;

/// The margins of a run, the nearest first.
pub(super) fn margins(context: &EvalContext<'_>, before: &Before<'_>) -> Margins {
    // What repairs took is not taken from this.
    if let Some(cache) = context.cache {
        cache.budget().rest();
    }
    let trial = Candidate::new(context, before, Vec::new()).of_margins();
    let mut rows: Vec<Margin> = stated(context)
        .into_iter()
        .filter_map(|leaf| margin(context, before, &trial, leaf))
        .collect();
    trial.done();
    // Those that cannot be told keep their order, behind those that can.
    rows.sort_by(|one, other| {
        let near = |margin: &Margin| margin.nearness.unwrap_or(f64::INFINITY);
        near(one).total_cmp(&near(other))
    });
    let count = |outcome: Outcome| {
        let results = before.results.iter();
        results.filter(|result| result.outcome() == outcome).count()
    };
    Margins {
        rows,
        holding: count(Outcome::Holds),
        not_counted: count(Outcome::Breaks) + count(Outcome::AtRisk) + count(Outcome::NotStated),
    }
}

/// The quantities that the plan states, as they stand.
fn stated(context: &EvalContext<'_>) -> Vec<Leaf> {
    let mut found = Vec::new();
    for (id, instance) in context.run.numbered_instances() {
        let target = Target::Thing(id);
        for (field, stated) in instance.own_values() {
            if stated.origin == Origin::Plan && matches!(stated.value, Value::Quantity(_)) {
                found.push(Leaf { target, field });
            }
        }
    }
    found
}

fn margin(
    context: &EvalContext<'_>,
    before: &Before<'_>,
    trial: &Candidate<'_>,
    leaf: Leaf,
) -> Option<Margin> {
    let stated = context.stated(leaf.target, leaf.field)?;
    let quantity = context.quantity(leaf.target, leaf.field)?;
    let read = before.affected(leaf).next().is_some();
    let mut margin = Margin {
        setting: wording::setting(context, leaf),
        value: wording::quantity(quantity),
        unit: quantity.unit.as_difference().spelling().replace('Δ', ""),
        place: stated.span,
        read,
        shared: false,
        down: None,
        up: None,
        nearness: None,
        capability: None,
    };
    if !read {
        return Some(margin);
    }
    let kind = context.run.target(context.standard, leaf.target).kind;
    let parts = &context.standard.kind(kind).parts;
    if parts.iter().any(|whole| whole.fields.contains(&leaf.field)) {
        margin.shared = true;
        return Some(margin);
    }
    let search = Search {
        context,
        before,
        trial,
        leaf,
        quantity,
        costly: trial.is_costly_for(leaf),
    };
    let (down, up) = (search.drift(false), search.drift(true));
    let nominal = quantity.unit.from_base(&quantity.nominal).abs().nearest();
    let share = |drift: &Option<Found>| {
        let drift = drift.as_ref()?;
        let cut = matches!(drift.told.end, DriftEnd::Rule { .. });
        (cut && nominal > 0.0).then(|| drift.told.size / nominal)
    };
    margin.nearness = [share(&down), share(&up)]
        .into_iter()
        .flatten()
        .min_by(f64::total_cmp);
    let limit = |found: &Option<Found>, high: bool| {
        let found = found.as_ref()?;
        let cut = matches!(found.told.end, DriftEnd::Rule { .. });
        cut.then(|| {
            if high {
                found.hull.high.clone()
            } else {
                found.hull.low.clone()
            }
        })
    };
    margin.capability = capability(quantity, limit(&down, false), limit(&up, true));
    margin.down = down.map(|found| found.told);
    margin.up = up.map(|found| found.told);
    Some(margin)
}

/// How far a setting may go, and all that it may be on the way.
struct Found {
    told: Drift,
    hull: ExactInterval,
}

struct Search<'s, 'a> {
    context: &'s EvalContext<'s>,
    before: &'s Before<'s>,
    trial: &'s Candidate<'a>,
    leaf: Leaf,
    quantity: &'s Quantity,
    /// Whether a figure that takes milliseconds stands behind something it can reach.
    costly: bool,
}

impl Search<'_, '_> {
    /// All that the setting may be when its value has moved so far.
    fn hull(&self, size: &Exact, up: bool) -> ExactInterval {
        let quantity = self.quantity;
        let moved = |value: &Exact| if up { value.add(size) } else { value.sub(size) };
        if quantity.tolerance.is_none() {
            return if up {
                ExactInterval::new(quantity.low.clone(), moved(&quantity.high))
            } else {
                ExactInterval::new(moved(&quantity.low), quantity.high.clone())
            };
        }
        let (low, high) = reach(&moved(&quantity.nominal), quantity.tolerance.as_ref());
        ExactInterval::new(
            Exact::min(&low, &quantity.low),
            Exact::max(&high, &quantity.high),
        )
    }

    fn works(&self, size: &Exact, up: bool) -> Result<(), Fault> {
        let with = |stretch: ExactInterval| -> Parts { vec![(self.leaf, stretch)] };
        self.trial.works(&with(self.hull(size, up)))?;
        // Of a stretch more can be shown at times than of a part of it, but the part is what is checked then.
        match &self.quantity.tolerance {
            Some(_) if self.costly => {
                let nominal = &self.quantity.nominal;
                let moved = if up {
                    nominal.add(size)
                } else {
                    nominal.sub(size)
                };
                let (low, high) = reach(&moved, self.quantity.tolerance.as_ref());
                self.trial.works(&with(ExactInterval::new(low, high)))
            }
            _ => Ok(()),
        }
    }

    /// `None` where the work ended before anything was known.
    fn drift(&self, up: bool) -> Option<Found> {
        let kind = self
            .context
            .run
            .target(self.context.standard, self.leaf.target)
            .kind;
        let field = self.context.standard.field(kind, self.leaf.field);
        let counted = matches!(&field.ty, Type::Quantity(measure)
            if matches!(measure.reading, Reading::Count(_)));
        if counted {
            return self.things(up);
        }
        let (least, most) = nominal_limits(field, self.quantity)?;
        let declared = field.possible.is_some();
        // A span without a nominal moves by its ends.
        let quantity = self.quantity;
        let (bottom, top) = match quantity.tolerance {
            Some(_) => (&quantity.nominal, &quantity.nominal),
            None => (&quantity.low, &quantity.high),
        };
        let room = if up {
            most?.sub(top)
        } else {
            bottom.sub(&least?)
        };
        if self.trial.spent() {
            return None;
        }
        if room.signum() <= 0 {
            return Some(self.found(Exact::ZERO, up, end_of_all(declared)));
        }
        let fault = match self.works(&room, up) {
            Ok(()) => return Some(self.found(room, up, end_of_all(declared))),
            Err(fault) => fault,
        };
        let mut cut = fault;
        let whole = 1_i64 << if self.costly { BITS_COSTLY } else { BITS };
        let part = |steps: i64| room.mul(&Exact::ratio(steps, whole));
        let does = |steps| match self.works(&part(steps), up) {
            Ok(()) => true,
            Err(fault) => {
                cut = fault;
                false
            }
        };
        let (good, bad) = bisect(0, whole, || !self.trial.spent(), does);
        if bad - good > 1 {
            return None;
        }
        let end = self.rule(cut);
        // The search ends a little before the limit: the generous three digits are tried first.
        let unit = self.quantity.unit.as_difference();
        let own = unit.from_base(&part(good));
        let rounded = [own.significant_up(3), own.significant_down(3)]
            .into_iter()
            .filter_map(|text| Exact::parse_decimal(&text).ok())
            .map(|own| unit.to_base(&own))
            .find(|size| size.signum() > 0 && *size <= room && self.works(size, up).is_ok());
        Some(self.found(rounded.unwrap_or(Exact::ZERO), up, end))
    }

    /// A number of things moves in whole ones.
    fn things(&self, up: bool) -> Option<Found> {
        let dial = Dial::of(self.context, self.leaf)?;
        let (size, fault) = whole_steps(self.trial, &dial, up)?;
        let end = match fault {
            Some(fault) => self.rule(fault),
            None => end_of_all(true),
        };
        Some(self.found(size, up, end))
    }

    fn found(&self, size: Exact, up: bool, end: DriftEnd) -> Found {
        let unit = self.quantity.unit.as_difference();
        // What is long is rounded down, so that what is shown still holds.
        let own = unit.from_base(&size);
        let short = own.decimal().is_some_and(|text| text.len() <= SHORT);
        let size = match Exact::parse_decimal(&own.significant_down(4)) {
            Ok(rounded) if !short => unit.to_base(&rounded),
            _ => size,
        };
        Found {
            told: Drift {
                size: unit.from_base(&size).nearest(),
                words: wording::one(wording::plain_degrees(show_exact(&size, &unit)), &unit),
                end,
            },
            hull: self.hull(&size, up),
        }
    }

    /// The rule that ends it.
    fn rule(&self, fault: Fault) -> DriftEnd {
        let result = &self.before.results[fault.place()];
        let rule = &self.context.standard.rules[result.rule];
        DriftEnd::Rule {
            rule: rule.name.clone(),
            subject: subject_words(self.context, result),
            place: limit_place(self.context, result),
        }
    }
}

/// Where nothing but what is possible ends it.
fn end_of_all(declared: bool) -> DriftEnd {
    if declared {
        DriftEnd::Possible
    } else {
        DriftEnd::Looked
    }
}
