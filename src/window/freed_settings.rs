//! What is freed: `dryer.belt`, `dryer.belt ± 5 %`, `dryer.belt 1 to 4 m/min ± 5 %`.

use super::space::Axis;
use crate::check::{NotSet, Prepared, behind, plan_stating, settings, stated_in};
use crate::diagnostic::{Diagnostic, Extent};
use crate::eval::{EvalContext, Leaf};
use crate::names::did_you_mean;
use crate::source::{Span, Store, visible};
use crate::types::{
    Calibration, CalibrationPoint, Field, KindId, Limits, Measure, Origin, PlaceInRun, Quantity,
    Reading, Run, Standard, Stated, Target, Tolerance, Type, Value, reach,
};
use crate::units::{Exact, Unit, show_exact};

/// Settings that can be freed at once.
const MOST_FREED: usize = 4;

/// Settings that are named where one is worked out.
const MOST_BEHIND: usize = 6;

/// How many times what the plan states is looked at, where the standard states no possible range.
const TIMES_PRESENT: i64 = 10;

/// Why something cannot be freed.
#[derive(Debug, Clone)]
pub(super) enum Refused {
    /// A sentence.
    Words(String),
    /// What is wrong with the text after its name.
    Text(Vec<Diagnostic>),
}

/// A setting with its kind.
struct Setting<'a> {
    leaf: Leaf,
    name: String,
    kind: KindId,
    field: &'a Field,
}

/// Reads what is to be freed, and states it in the run where it is not.
///
/// # Errors
/// Why not, for each that cannot be.
pub(super) fn free(
    store: &mut Store,
    prepared: &Prepared,
    run: &mut Run,
    texts: &[String],
) -> Result<Vec<Axis>, Vec<Refused>> {
    let mut axes: Vec<Axis> = Vec::new();
    let mut refused = Vec::new();
    for text in parted(texts) {
        match one(store, prepared, run, &text) {
            Ok(axis) if axes.iter().any(|known| known.leaf == axis.leaf) => {
                refused.push(Refused::Words(format!("`{}` is named twice", axis.name)));
            }
            Ok(axis) => axes.push(axis),
            Err(more) => refused.push(more),
        }
    }
    if axes.len() > MOST_FREED {
        refused.push(Refused::Words(format!(
            "at most {MOST_FREED} settings can be freed at once"
        )));
    }
    if axes.is_empty() && refused.is_empty() {
        refused.push(Refused::Words(
            "name a setting, as in `dryer.belt`".to_owned(),
        ));
    }
    if refused.is_empty() {
        Ok(axes)
    } else {
        Err(refused)
    }
}

/// The settings named, parted at commas; that in `flash, step 2: time` belongs to the name.
fn parted(texts: &[String]) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for text in texts {
        for (index, part) in text.split(',').enumerate() {
            let part = part.trim();
            match found.last_mut() {
                Some(last) if index > 0 && part.starts_with("step ") => {
                    last.push_str(", ");
                    last.push_str(part);
                }
                _ if part.is_empty() => {}
                _ => found.push(part.to_owned()),
            }
        }
    }
    found
}

fn one(store: &mut Store, prepared: &Prepared, run: &mut Run, text: &str) -> Result<Axis, Refused> {
    let standard = &prepared.standard;
    let (leaf, name, rest) = named(standard, run, text)?;
    let kind = run.target(standard, leaf.target).kind;
    let field = standard.field(kind, leaf.field);
    let setting = Setting {
        leaf,
        name,
        kind,
        field,
    };
    settable(prepared, run, &setting)?;
    let Type::Quantity(measure) = &field.ty else {
        return Err(Refused::Words(format!("`{}` is no number", setting.name)));
    };
    let stated = run
        .stated(standard, leaf.target, leaf.field)
        .and_then(|stated| match &stated.value {
            Value::Quantity(quantity) => Some(quantity.as_ref().clone()),
            _ => None,
        });
    let (range, tolerance) = asked(store, standard, run, &setting, rest)?;
    let tolerance = tolerance.or_else(|| stated.as_ref().and_then(own_tolerance));
    // What is so behind a dial is known on part of it only.
    let known = run.calibration(standard, leaf.target, leaf.field);
    let known = known.and_then(Calibration::reach);
    let possible = possible(&setting, known, tolerance.as_ref())?;
    let (low, high, extent) = match (&range, possible) {
        (Some(range), (low, high)) => (
            low.map_or_else(|| range.low.clone(), |low| Exact::max(&range.low, &low)),
            high.map_or_else(|| range.high.clone(), |high| Exact::min(&range.high, &high)),
            Extent::Asked,
        ),
        (None, (Some(low), Some(high))) => {
            let extent = known.map_or(Extent::Possible, |_| Extent::OnTheDial);
            (low, high, extent)
        }
        (None, (low, high)) => {
            let (below, above) = around_present(&setting, stated.as_ref())?;
            (
                low.unwrap_or(below),
                high.unwrap_or(above),
                Extent::AroundPresent,
            )
        }
    };
    shares_of_positive(&setting, tolerance.as_ref(), &low)?;
    let whole = measure.is_whole();
    let (low, high) = if whole {
        (low.ceil(), high.floor())
    } else {
        (low, high)
    };
    if low > high {
        return Err(Refused::Words(format!(
            "nothing that `{}` can be set to lies in its range, tolerance included",
            setting.name
        )));
    }
    let unit = range
        .as_ref()
        .or(stated.as_ref())
        .map(|quantity| quantity.unit.clone())
        .unwrap_or_else(|| usual(field, measure));
    let (unit, dial) = dial(field, measure, unit);
    let axis = Axis {
        leaf,
        name: setting.name,
        unit,
        dial,
        tolerance,
        low,
        high,
        whole,
        present: stated.as_ref().map(|quantity| quantity.nominal.clone()),
        extent,
    };
    set(run, &axis, axis.present.as_ref().unwrap_or(&axis.low));
    Ok(axis)
}

/// The setting that a text begins with, and the rest of it.
fn named<'t>(
    standard: &Standard,
    run: &Run,
    text: &'t str,
) -> Result<(Leaf, String, &'t str), Refused> {
    let context = EvalContext::new(standard, run);
    let all = settings(&context);
    let mut known: Vec<(String, Leaf, &String)> = Vec::new();
    for (leaf, name) in &all {
        let instance = run.target(standard, leaf.target);
        let kind = &standard.kind(instance.kind).name;
        let field = &standard.field(instance.kind, leaf.field).name;
        known.push((name.clone(), *leaf, name));
        known.push((format!("{kind}.{field}"), *leaf, name));
        if !instance.name.is_empty() {
            known.push((format!("{kind}.{field} of {}", instance.name), *leaf, name));
        }
    }
    let begins = |name: &str| {
        text.strip_prefix(name)
            .is_some_and(|rest| rest.is_empty() || rest.starts_with(char::is_whitespace))
    };
    let longest = known
        .iter()
        .filter(|(name, ..)| begins(name))
        .map(|(name, ..)| name.len())
        .max();
    let Some(longest) = longest else {
        return Err(Refused::Words(unknown(standard, text, &known)));
    };
    let mut found: Vec<(Leaf, &String)> = known
        .iter()
        .filter(|(name, ..)| name.len() == longest && begins(name))
        .map(|(_, leaf, name)| (*leaf, *name))
        .collect();
    found.dedup_by_key(|(leaf, _)| *leaf);
    match found.as_slice() {
        [(leaf, name)] => Ok((*leaf, (*name).clone(), text[longest..].trim())),
        several => {
            let names: Vec<String> = several
                .iter()
                .map(|(_, name)| format!("`{name}`"))
                .collect();
            Err(Refused::Words(format!(
                "`{}` is a setting of several things of the run; name one of them: {}",
                visible(&text[..longest]),
                names.join(", ")
            )))
        }
    }
}

fn unknown(standard: &Standard, text: &str, known: &[(String, Leaf, &String)]) -> String {
    // Where the value begins, nothing more belongs to the name.
    let starts_value = |word: &str| {
        word.starts_with(|first: char| first.is_ascii_digit() || "±+-".contains(first))
    };
    let words: Vec<&str> = text
        .split_whitespace()
        .take_while(|word| !starts_value(word))
        .collect();
    let name = words.join(" ");
    let shown = visible(&name).into_owned();
    if let Some((kind, field)) = name.split_once('.')
        && let Some(&id) = standard.kind_names.get(kind)
        && let Some(&field) = standard.kind(id).field_names.get(field)
    {
        let declared = standard.kind(id);
        return match (&standard.field(id, field).ty, declared.place) {
            (Type::Quantity(_), PlaceInRun::Record) => {
                format!("`{shown}` belongs to the standard's own {kind}s; a plan does not set it")
            }
            (Type::Quantity(_), _) => {
                format!("the run has no `{kind}`, so `{shown}` cannot be set")
            }
            _ => format!(
                "`{shown}` is no number that could be set to more or less; free one that is, as `dryer.belt`"
            ),
        };
    }
    let names = known.iter().map(|(name, ..)| name.as_str());
    let help = did_you_mean(&name, names).unwrap_or_else(|| {
        "name a setting of the run, as in `dryer.belt` or `screen base: tension`".to_owned()
    });
    format!("there is no setting `{shown}`; {help}")
}

/// Refuses what is read off or worked out, and what cannot change alone.
fn settable(prepared: &Prepared, run: &Run, setting: &Setting<'_>) -> Result<(), Refused> {
    let standard = &prepared.standard;
    let Setting {
        leaf, name, field, ..
    } = setting;
    let stated = run.stated(standard, leaf.target, leaf.field);
    let worked_out = field.formula.is_some() && stated.is_none();
    let why = prepared.not_set(setting.kind, leaf.field);
    let why = why.or(worked_out.then_some(NotSet::WorkedOut));
    if let Some(why) = why {
        let behind = to_free(prepared, run, setting);
        let next = match (&why, behind) {
            (NotSet::Measured(_), Some(names)) => {
                format!("; free what it depends on, and measure it again after a change: {names}")
            }
            (NotSet::WorkedOut, Some(names)) => {
                format!("; free what it is worked out from: {names}")
            }
            _ => String::new(),
        };
        return Err(Refused::Words(format!("`{name}` {}{next}", why.words())));
    }
    let parts = &standard.kind(setting.kind).parts;
    if parts.iter().any(|whole| whole.fields.contains(&leaf.field)) {
        return Err(Refused::Words(format!(
            "`{name}` is a part of a whole, so it cannot change alone"
        )));
    }
    Ok(())
}

/// The settings behind one that cannot be freed itself; `None` where there are none.
fn to_free(prepared: &Prepared, run: &Run, setting: &Setting<'_>) -> Option<String> {
    let standard = &prepared.standard;
    let context = EvalContext::new(standard, run);
    let behind = behind(&context, setting.leaf);
    let all = settings(&context);
    let field = |name: &String| {
        let (leaf, _) = all.iter().find(|(_, of)| of == name)?;
        let kind = run.target(standard, leaf.target).kind;
        Some((kind, leaf.field))
    };
    let may_set = |name: &String| {
        field(name).is_some_and(|(kind, field)| prepared.not_set(kind, field).is_none())
    };
    // What has a dial is what people mean.
    let has_dial = |name: &String| {
        field(name).is_some_and(|(kind, field)| !standard.field(kind, field).steps.is_empty())
    };
    let (dials, others): (Vec<String>, Vec<String>) =
        behind.into_iter().filter(may_set).partition(has_dial);
    let more = (dials.len() + others.len()).saturating_sub(MOST_BEHIND);
    let names: Vec<String> = dials
        .into_iter()
        .chain(others)
        .take(MOST_BEHIND)
        .map(|name| format!("`{name}`"))
        .collect();
    let more = match more {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    (!names.is_empty()).then(|| format!("{}{more}", names.join(", ")))
}

/// The range and the tolerance written behind a name.
fn asked(
    store: &mut Store,
    standard: &Standard,
    run: &Run,
    setting: &Setting<'_>,
    rest: &str,
) -> Result<(Option<Quantity>, Option<Tolerance>), Refused> {
    if rest.is_empty() {
        return Ok((None, None));
    }
    let sign = |mark: &str| rest.find(mark);
    let at = [sign("±"), sign("+-"), sign(" +"), sign(" -")]
        .into_iter()
        .flatten()
        .min();
    let (range, tolerance) = match at {
        Some(at) => (rest[..at].trim(), rest[at..].trim()),
        None => (rest, ""),
    };
    let mut read = |value: &str| read(store, standard, run, setting, value);
    let range = if range.is_empty() {
        None
    } else {
        let quantity = read(range)?;
        if quantity.low == quantity.high {
            return Err(Refused::Words(format!(
                "`{}` is freed over one value only; write a range, as in `{} 1 to 4 m/min`",
                setting.name, setting.name
            )));
        }
        Some(quantity)
    };
    if tolerance.is_empty() {
        return Ok((range, None));
    }
    // A tolerance needs a value to stand behind.
    let some = match (&range, &setting.field.possible) {
        (Some(range), _) => show_exact(&range.nominal, &range.unit),
        (None, Some(limits)) => middle_of(limits),
        (None, None) => String::new(),
    };
    let quantity = read(&format!("{some} {tolerance}"))?;
    Ok((range, quantity.tolerance))
}

fn middle_of(limits: &Limits) -> String {
    let low = limits.low.clone().unwrap_or_default();
    let high = limits.high.clone().unwrap_or_else(|| low.clone());
    let middle = low.add(&high).div(&Exact::from_int(2)).unwrap_or(low);
    show_exact(&middle.ceil(), &limits.unit)
}

/// Reads a value for a setting as a plan would state it.
fn read(
    store: &mut Store,
    standard: &Standard,
    run: &Run,
    setting: &Setting<'_>,
    value: &str,
) -> Result<Quantity, Refused> {
    if value.contains(['\n', '\r', '{', '}', '#']) {
        return Err(Refused::Words(format!(
            "`{}` cannot be read as a range or a tolerance",
            visible(value)
        )));
    }
    let text = plan_stating(standard, run, setting.leaf, value);
    let file = store.add("--free", text.clone());
    let same = stated_in(standard, run, setting.leaf, file, &text).map_err(Refused::Text)?;
    same.ok_or_else(|| {
        Refused::Words(format!(
            "`{}` cannot be read as a range or a tolerance of `{}`",
            visible(value),
            setting.name
        ))
    })
}

/// The tolerance of a stated value; a span counts as its middle with half of it on either side.
fn own_tolerance(quantity: &Quantity) -> Option<Tolerance> {
    if quantity.tolerance.is_some() || quantity.low == quantity.high {
        return quantity.tolerance.clone();
    }
    let half = quantity.high.sub(&quantity.nominal);
    Some(Tolerance {
        span: Span::new(crate::source::FileId(0), 0, 0),
        relative: false,
        plus: half.clone(),
        minus: half,
        unit: quantity.unit.as_difference(),
        of_it: false,
    })
}

/// The set points that the standard's range for the setting leaves, tolerance included; an end that it does not state is
/// `None`.
fn possible(
    setting: &Setting<'_>,
    known: Option<(&CalibrationPoint, &CalibrationPoint)>,
    tolerance: Option<&Tolerance>,
) -> Result<(Option<Exact>, Option<Exact>), Refused> {
    let limits = setting.field.possible.as_ref();
    let mut low = limits.and_then(|limits| limits.low.clone());
    let mut high = limits.and_then(|limits| limits.high.clone());
    if let Some((first, last)) = known {
        let inside = |end: Option<Exact>, of: fn(&Exact, &Exact) -> Exact, to: &Exact| {
            Some(end.map_or_else(|| to.clone(), |end| of(&end, to)))
        };
        low = inside(low, Exact::max, &first.shown);
        high = inside(high, Exact::min, &last.shown);
    }
    let Some(tolerance) = tolerance else {
        return Ok((low, high));
    };
    if !tolerance.relative {
        return Ok((
            low.map(|low| low.add(&tolerance.minus)),
            high.map(|high| high.sub(&tolerance.plus)),
        ));
    }
    if let Some(low) = &low {
        shares_of_positive(setting, Some(tolerance), low)?;
    }
    let below = Exact::ONE.sub(&tolerance.minus);
    let above = Exact::ONE.add(&tolerance.plus);
    Ok((
        low.and_then(|low| low.div(&below)),
        high.and_then(|high| high.div(&above)),
    ))
}

/// How far to look where the standard does not say what is possible: as far as some times what the plan states.
fn around_present(
    setting: &Setting<'_>,
    stated: Option<&Quantity>,
) -> Result<(Exact, Exact), Refused> {
    // On the scale that the plan states it on: ten times 18 °C is 180 °C.
    let own = |quantity: &Quantity| quantity.unit.from_base(&quantity.nominal);
    let Some((stated, present)) = stated
        .map(|quantity| (quantity, own(quantity)))
        .filter(|(_, present)| present.signum() != 0)
    else {
        return Err(Refused::Words(format!(
            "the standard states no possible range for `{0}`, and the plan no value to look around: write how far to look, as in `{0} 1 to 4 m/min`",
            setting.name
        )));
    };
    let far = present.mul(&Exact::from_int(TIMES_PRESENT));
    let [zero, far] = [Exact::ZERO, far].map(|end| stated.unit.to_base(&end));
    Ok((Exact::min(&zero, &far), Exact::max(&zero, &far)))
}

/// Refuses a tolerance that is a share of a value that may be zero or below.
fn shares_of_positive(
    setting: &Setting<'_>,
    tolerance: Option<&Tolerance>,
    lowest: &Exact,
) -> Result<(), Refused> {
    let share = tolerance.filter(|tolerance| tolerance.relative);
    let fits = |tolerance: &Tolerance| {
        Exact::ONE.sub(&tolerance.minus).signum() > 0 && lowest.signum() >= 0
    };
    if share.is_none_or(fits) {
        return Ok(());
    }
    Err(Refused::Words(format!(
        "the tolerance of `{}` is a share of a value that may be zero or below; write it in units",
        setting.name
    )))
}

fn usual(field: &Field, measure: &Measure) -> Unit {
    match &measure.reading {
        Reading::Share => Unit::percent(),
        Reading::Count(Some(noun)) => Unit::noun(noun),
        Reading::Count(None) | Reading::Number => Unit::bare(),
        Reading::Unit => field.possible.as_ref().map_or_else(
            || Unit::usual(measure.dimension),
            |limits| limits.unit.clone(),
        ),
    }
}

/// The unit a setting is shown in and the step of its dial: that of the unit where there is one, else the first.
fn dial(field: &Field, measure: &Measure, unit: Unit) -> (Unit, Option<Exact>) {
    let same = |step: &&(Exact, Unit)| {
        step.1.spelling() == unit.spelling() || step.1.spelling() == unit.as_difference().spelling()
    };
    if let Some((step, _)) = field.steps.iter().find(same) {
        return (unit, Some(step.clone()));
    }
    if let Some((step, own)) = field.steps.first() {
        let own =
            Unit::parse(own.spelling().trim_start_matches('Δ')).unwrap_or_else(|_| own.clone());
        return (own, Some(step.clone()));
    }
    let whole = measure.is_whole().then_some(Exact::ONE);
    (unit, whole)
}

/// A value of a freed setting as a plan states it, read as one; `None` where it cannot be.
pub(super) fn read_back(
    store: &mut Store,
    prepared: &Prepared,
    run: &Run,
    axis: &Axis,
    written: &str,
) -> Option<Quantity> {
    let standard = &prepared.standard;
    let kind = run.target(standard, axis.leaf.target).kind;
    let setting = Setting {
        leaf: axis.leaf,
        name: axis.name.clone(),
        kind,
        field: standard.field(kind, axis.leaf.field),
    };
    read(store, standard, run, &setting, written).ok()
}

/// States a freed setting in the run, so that it has a value that can be changed.
fn set(run: &mut Run, axis: &Axis, at: &Exact) {
    let (low, high) = reach(at, axis.tolerance.as_ref());
    let bounds = crate::interval::Bounds::new(low.outward().0, high.outward().1);
    let quantity = Quantity {
        nominal: at.clone(),
        low,
        high,
        bounds,
        unit: axis.unit.clone(),
        tolerance: axis.tolerance.clone(),
        resolution: Exact::ZERO,
        scatter: None,
    };
    state(run, axis, quantity);
}

/// States a value of a freed setting in the run.
pub(super) fn state(run: &mut Run, axis: &Axis, quantity: Quantity) {
    let Target::Thing(id) = axis.leaf.target else {
        return;
    };
    let whole = run.span;
    let Some(instance) = run.instances.get_mut(id.0 as usize) else {
        return;
    };
    let header = instance.header.unwrap_or(whole);
    let Some(place) = instance.values.get_mut(axis.leaf.field.0 as usize) else {
        return;
    };
    let span = place.as_ref().map_or(header, |stated| stated.span);
    *place = Some(Stated {
        value: Value::Quantity(Box::new(quantity)),
        span,
        origin: Origin::Plan,
        per: None,
        loosened: None,
        taken: None,
    });
}
