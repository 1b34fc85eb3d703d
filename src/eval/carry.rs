//! What a reading says at other settings than those it was taken at.
//!
//! A reading is evidence for the values of the set settings that its own formula rests on, as they were when it was
//! taken. Where a run has others, it carries over by direction alone: if every setting that differs moves the value the
//! same way, the reading bounds it from one side. The directions are those of the formula, shown over everything that the
//! settings may be and for whatever is not stated; a direction that is shown only while a film warms is taken to hold for
//! what the film has reached so far (its peak, its time above a level), and that is said.
//! Nothing is carried over by the change that a model works out: a model's change is off by more than it can say.
//!
//! Dials are compared by where they stand, with one tolerance around both: what a dial is off, it is off both times.

use std::borrow::Cow;
use std::collections::BTreeSet;

use super::monotonicity::slopes;
use super::set_aside::observed;
use super::{Aim, Binding, EvalContext, ExactInterval, Found, Leaf, Trend};
use crate::physics::{self, Accuracy};
use crate::types::{
    Carried, CarriedDial, Expression, ExpressionNode, Function, Hop, KindId, Path, PlaceInRun,
    Quantity, Run, Says, Sort, Standard, Taken, Value, Way, reach,
};
use crate::units::Exact;

/// The most parts of formulas that are looked at for one reading.
const MOST_VISITS: u32 = 20_000;

/// An end where the standard says of none what is possible; no setting comes near it.
const FAR: i64 = 1_000_000_000_000;

/// The run, with its readings as they are worth at its own settings.
pub(super) fn carrying(standard: &Standard, mut run: Run) -> Run {
    run.readings = readings(standard, &run);
    settled(standard, run)
}

/// The run whose settings were changed, with its readings as they are worth at those it has now.
#[must_use]
pub fn settled(standard: &Standard, mut run: Run) -> Run {
    for index in 0..run.readings.len() {
        let of = &run.readings[index];
        let now = says(of, &|dial| stands(&run, standard, dial));
        if now == of.says {
            continue;
        }
        let stretch = stretch(standard, &run, of, now);
        let read = of.read.clone();
        let (target, field) = (of.target, of.field);
        run.readings[index].says = now;
        let Some(Some(stated)) = run.own_value(target, field) else {
            continue;
        };
        stated.value = match (now, stretch) {
            (Says::AsRead, _) => Value::Quantity(Box::new(read)),
            (Says::AtLeast | Says::AtMost, Some(carried)) => Value::Quantity(Box::new(Quantity {
                low: carried.low,
                high: carried.high,
                bounds: carried.bounds,
                tolerance: None,
                scatter: None,
                ..read
            })),
            _ => Value::Wrong,
        };
    }
    run
}

/// The changes, with what the readings of the run come to by them: a reading on whose dials they bear counts as what it
/// says then.
#[must_use]
pub fn carried<'p>(
    context: &EvalContext<'_>,
    parts: &'p [(Leaf, ExactInterval)],
) -> Cow<'p, [(Leaf, ExactInterval)]> {
    let mut all = Cow::Borrowed(parts);
    for of in &context.run.readings {
        let moved = |leaf: Leaf| parts.iter().find(|(part, _)| *part == leaf);
        let touched = of.dials.iter().any(|dial| moved(of_dial(dial)).is_some());
        let leaf = Leaf {
            target: of.target,
            field: of.field,
        };
        if !touched || moved(leaf).is_some() {
            continue;
        }
        let says = says(of, &|dial| match moved(of_dial(dial)) {
            Some((_, stretch)) => Some((stretch.low.clone(), stretch.high.clone())),
            None => stands(context.run, context.standard, dial),
        });
        if let Some(stretch) = stretch(context.standard, context.run, of, says) {
            all.to_mut().push((leaf, stretch));
        }
    }
    all
}

fn of_dial(dial: &CarriedDial) -> Leaf {
    Leaf {
        target: dial.target,
        field: dial.field,
    }
}

/// Where a dial of the run stands, with its tolerance.
fn stands(run: &Run, standard: &Standard, dial: &CarriedDial) -> Option<(Exact, Exact)> {
    match &run.stated(standard, dial.target, dial.field)?.value {
        Value::Quantity(of) => Some((of.low.clone(), of.high.clone())),
        _ => None,
    }
}

/// What a reading says where its dials stand like this.
fn says(of: &Carried, now: &dyn Fn(&CarriedDial) -> Option<(Exact, Exact)>) -> Says {
    let (mut more, mut less) = (true, true);
    for dial in &of.dials {
        let Some((low, high)) = now(dial) else {
            // What neither the reading nor the run states was the same thing both times.
            if dial.span.is_none() {
                continue;
            }
            return Says::Nothing;
        };
        let same = low == dial.low && high == dial.high;
        if dial.is_beyond(&low, &high) && !same {
            return Says::Nothing;
        }
        let (risen, fallen) = (low >= dial.low, high <= dial.high);
        let (up, down) = match dial.way {
            Way::Rises => (risen, fallen),
            Way::Falls => (fallen, risen),
            Way::Unknown => (risen && fallen, risen && fallen),
        };
        more &= up;
        less &= down;
    }
    match (more, less) {
        (true, true) => Says::AsRead,
        (true, false) => Says::AtLeast,
        (false, true) => Says::AtMost,
        (false, false) => Says::Nothing,
    }
}

/// All that the value may be by what a reading says.
fn stretch(standard: &Standard, run: &Run, of: &Carried, says: Says) -> Option<ExactInterval> {
    let kind = run.target(standard, of.target).kind;
    let possible = standard.field(kind, of.field).possible.as_ref();
    let far = |sign: i64| Exact::from_int(sign * FAR);
    let low = possible.and_then(|of| of.low.clone());
    let high = possible.and_then(|of| of.high.clone());
    let low = low.unwrap_or_else(|| far(-1));
    let high = high.unwrap_or_else(|| far(1));
    let (low, high) = match says {
        Says::AsRead => (of.read.low.clone(), of.read.high.clone()),
        Says::AtLeast => (of.read.low.clone(), high),
        Says::AtMost => (low, of.read.high.clone()),
        Says::Nothing => (low, high),
    };
    (low <= high).then(|| ExactInterval::new(low, high))
}

/// The stated values of a run that have a formula, with the dials behind them.
fn readings(standard: &Standard, run: &Run) -> Vec<Carried> {
    let mut found = Vec::new();
    for (leaf, formula, stated, read) in observed(standard, run) {
        let mut of = Carried {
            target: leaf.target,
            field: leaf.field,
            read: read.clone(),
            dials: Vec::new(),
            steps: Vec::new(),
            any_step: false,
            says: Says::AsRead,
        };
        dials(
            standard,
            run,
            (leaf, formula),
            stated.taken.as_deref(),
            &mut of,
        );
        found.push(of);
    }
    found
}

/// Finds the dials that a formula rests on, where they stood, and which way each moves it.
fn dials(
    standard: &Standard,
    run: &Run,
    (leaf, formula): (Leaf, &Expression),
    taken: Option<&Taken>,
    of: &mut Carried,
) {
    // What is worked out as well is worked out here, whatever is stated for it: a dial moves a value through others
    // that were read off too.
    let mut bare = run.clone();
    for (target, field, declared) in run.leaves(standard) {
        if declared.formula.is_some()
            && matches!(declared.sort, Sort::WorkedOut | Sort::Measured(_))
        {
            bare.set_aside.push((target, field));
        }
    }
    let context = EvalContext::new(standard, &bare);
    let mut walk = Walk {
        context: &context,
        found: BTreeSet::new(),
        been: BTreeSet::new(),
        visits: 0,
        steps: BTreeSet::new(),
        any_step: false,
        hottest: true,
        heat: false,
    };
    let own = Binding {
        own: Some(leaf.target),
        ..Binding::default()
    };
    walk.expression(own, formula);
    of.steps = walk.steps.iter().copied().collect();
    of.any_step = walk.any_step;
    let found: Vec<Leaf> = walk.found.iter().copied().collect();
    let hottest = walk.hottest && walk.visits <= MOST_VISITS;
    let heat = walk.heat;
    let cut = walk.visits > MOST_VISITS;
    let dials = found.into_iter().map(|dial| {
        let now = context.quantity(dial.target, dial.field);
        let at = taken.and_then(|taken| {
            let mut at = taken.at.iter();
            at.find(|at| (at.target, at.field) == (dial.target, dial.field))
        });
        (dial, now, at.map(|at| (&at.quantity, at.span)))
    });
    let dials: Vec<_> = dials.collect();
    if dials.is_empty() {
        return;
    }
    let narrowed: Vec<(Leaf, ExactInterval)> = dials
        .iter()
        .filter_map(|(dial, now, at)| {
            let stretch = everywhere(standard, run, *dial, *now, at.map(|at| at.0))?;
            Some((*dial, stretch))
        })
        .collect();
    let over = EvalContext {
        narrowed: &narrowed,
        assumed: true,
        ..context
    };
    let ways = slopes(&over, own, Aim::value(formula));
    for (dial, now, at) in dials {
        let place = narrowed.iter().position(|(known, _)| *known == dial);
        let trend = place.and_then(|place| ways.get(place).copied());
        let (way, while_heating) = match trend {
            Some(Trend::Flat) if !cut => continue,
            Some(Trend::Better) => (Way::Rises, false),
            Some(Trend::Worse) => (Way::Falls, false),
            Some(Trend::BetterWhereShown) if hottest => (Way::Rises, true),
            Some(Trend::WorseWhereShown) if hottest => (Way::Falls, true),
            _ => (Way::Unknown, false),
        };
        let way = if cut { Way::Unknown } else { way };
        let (low, high) = match (at, now) {
            (None, Some(now)) => (now.low.clone(), now.high.clone()),
            (Some((at, _)), Some(now)) => stood(at, now),
            (Some((at, _)), None) => (at.low.clone(), at.high.clone()),
            // Nobody says where it stood: it is neither above nor below any other place.
            (None, None) => (Exact::from_int(FAR), Exact::from_int(-FAR)),
        };
        of.dials.push(CarriedDial {
            target: dial.target,
            field: dial.field,
            low,
            high,
            way,
            while_heating: while_heating || heat,
            known: known(standard, run, dial),
            span: at.map(|(_, span)| span),
        });
    }
}

/// Where a dial stood when a reading was taken, with the tolerance of the plan around it: what it is off, it was off then
/// too, so places are compared and not what they may be off.
///
/// Where the plan lets it be further off than the reading says it was, or only spans are known, the ends change places: then
/// it has risen only where all that it may be lies above all that it may have been.
fn stood(at: &Quantity, now: &Quantity) -> (Exact, Exact) {
    let same = at.low == now.low && at.high == now.high;
    if same {
        return (now.low.clone(), now.high.clone());
    }
    let span = |of: &Quantity| of.tolerance.is_none() && of.low < of.high;
    let wide = |of: &Quantity| {
        let down = of.nominal.sub(&of.low);
        (down, of.high.sub(&of.nominal))
    };
    let no_wider = match (&now.tolerance, &at.tolerance) {
        (Some(now), Some(at)) if now.relative == at.relative => {
            now.plus <= at.plus && now.minus <= at.minus
        }
        _ => {
            let ((down, up), (most_down, most_up)) = (wide(now), wide(at));
            at.low == at.high || down <= most_down && up <= most_up
        }
    };
    if span(at) || span(now) || !no_wider {
        return (at.high.clone(), at.low.clone());
    }
    reach(&at.nominal, now.tolerance.as_ref())
}

/// All that a dial may be.
fn everywhere(
    standard: &Standard,
    run: &Run,
    dial: Leaf,
    now: Option<&Quantity>,
    at: Option<&Quantity>,
) -> Option<ExactInterval> {
    let kind = run.target(standard, dial.target).kind;
    // Without an end, a dial may go on beyond every place that is looked at.
    let possible = standard.field(kind, dial.field).possible.as_ref()?;
    let (mut low, mut high) = (possible.low.clone()?, possible.high.clone()?);
    for stated in now.into_iter().chain(at) {
        low = Exact::min(&low, &stated.low);
        high = Exact::max(&high, &stated.high);
    }
    // What it is off, it was off then too, and that may lie beyond what it can be set to.
    if let (Some(at), Some(now)) = (at, now) {
        let (one, other) = stood(at, now);
        for place in [&one, &other] {
            low = Exact::min(&low, place);
            high = Exact::max(&high, place);
        }
    }
    if let Some((first, last)) = known(standard, run, dial) {
        low = Exact::max(&low, &first);
        high = Exact::min(&high, &last);
    }
    (low <= high).then(|| ExactInterval::new(low, high))
}

/// The part of a dial behind which it is known what is so; `None` where it is what the dial shows.
fn known(standard: &Standard, run: &Run, dial: Leaf) -> Option<(Exact, Exact)> {
    let calibration = run.calibration(standard, dial.target, dial.field)?;
    let (first, last) = calibration.reach()?;
    Some((first.shown.clone(), last.shown.clone()))
}

/// Goes through a formula and those behind it for the set values it rests on.
struct Walk<'a> {
    context: &'a EvalContext<'a>,
    found: BTreeSet<Leaf>,
    been: BTreeSet<Leaf>,
    visits: u32,
    steps: BTreeSet<KindId>,
    any_step: bool,
    /// Whether its figures all tell of the hottest so far, or of what adds up.
    hottest: bool,
    /// Whether one of them follows what is heated: its directions are those of even heat, and are taken to hold.
    heat: bool,
}

impl Walk<'_> {
    fn expression(&mut self, binding: Binding, expression: &Expression) {
        self.visits += 1;
        if self.visits > MOST_VISITS {
            return;
        }
        match &expression.node {
            ExpressionNode::Path(path) => self.path(binding, path),
            ExpressionNode::Over { kind, body, .. } => {
                if self.context.standard.kind(*kind).place == PlaceInRun::Step {
                    self.steps.insert(*kind);
                }
                let Some(body) = body else { return };
                for member in &self.context.run.many[kind.index()] {
                    let inner = Binding {
                        member: Some(*member),
                        ..binding
                    };
                    self.expression(inner, body);
                }
            }
            ExpressionNode::Call(function, _) => {
                if let Function::Figure(figure) = function {
                    self.hottest &= physics::keeps_what_was_reached(figure);
                    self.heat |= figure.accuracy != Accuracy::Rounding;
                }
                for part in expression.children() {
                    self.expression(binding, part);
                }
            }
            _ => {
                for part in expression.children() {
                    self.expression(binding, part);
                }
            }
        }
    }

    fn path(&mut self, binding: Binding, path: &Path) {
        for hop in &path.hops {
            match hop {
                Hop::Next(Some(kind)) | Hop::Previous(Some(kind)) => {
                    self.steps.insert(*kind);
                }
                Hop::Next(None) | Hop::Previous(None) | Hop::Place => self.any_step = true,
                Hop::Field(..) => {}
            }
        }
        let Ok(Found::Setting(target, kind, field)) = self.context.locate(binding, path) else {
            return;
        };
        let leaf = Leaf { target, field };
        if !self.been.insert(leaf) {
            return;
        }
        let declared = self.context.standard.field(kind, field);
        let stated = self.context.quantity(target, field).is_some();
        if declared.sort == Sort::Set && (stated || declared.formula.is_none()) {
            self.found.insert(leaf);
        }
        if stated {
            return;
        }
        if let Some(formula) = &declared.formula {
            let own = Binding {
                own: Some(target),
                ..Binding::default()
            };
            self.expression(own, formula);
        }
    }
}
