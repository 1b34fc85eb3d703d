//! A run whose figure is worked out, with all that it needs stated but one value that records say
//! differently, and one of its inputs turned from end to end.
//!
//! The spans of a record leave a figure so wide that nothing is kept by it. With all of them stated but one
//! that differs, the two standards let go at different places of the dial, and a run between shows it.

use std::cell::Cell;

use crate::constraint::Region;
use crate::diff::clause_effect::Here;
use crate::diff::conditions::dependencies::{Name, Setting as Field, name, passed};
use crate::diff::conditions::variables::Vars;
use crate::diff::witness::branch_and_prune;
use crate::diff::witness::plan_skeleton::PlanSkeleton;
use crate::diff::witness::round_value::near;
use crate::diff::witness::synthetic_plan::{Setting, SyntheticPlan, place};
use crate::diff::witness::witness_query::{Choice, Start, Way, Witness, WitnessQuery};
use crate::physics::{Direction, Parameter};
use crate::types::{Expression, ExpressionNode, Function, Path, PlaceInRun, Root, Standard};
use crate::units::{Exact, Unit};

/// Where in the range of each input the others stand: one part in so many above its lower end.
const PARTS: [i64; 3] = [32, 128, 8];

/// How many places of a dial are looked at.
const STOPS: i64 = 21;

/// How often the stretch between two of these is halved.
const HALVINGS: u32 = 30;

/// What one look counts for.
const LOOK: u64 = 4;

/// An input of a figure that a plan can state.
struct Input {
    own: Name,
    /// What a plan may state and the figure is valid for.
    low: Exact,
    high: Exact,
    unit: Unit,
    /// Whether a rise moves the figure one way, whatever the others are.
    one_way: bool,
}

impl WitnessQuery<'_, '_> {
    /// A run that shows a way, with a figure that is worked out.
    pub(in crate::diff) fn turn(
        &self,
        way: Way,
        here: &Here<'_>,
        (vars, region): (&Vars, &Region),
        template: &PlanSkeleton,
        work: &Cell<u64>,
    ) -> Option<Witness> {
        for figure in self.figures() {
            let inputs = self.inputs(figure);
            let dials = self.dials(&inputs);
            for (free, record) in self.moved_by(way, here.choice, figure) {
                // It must not be stated because one of the records does not.
                let overrides = here.overrides.but(format!("{}.{}", free.0, free.1));
                let here = Here {
                    choice: here.choice,
                    situations: here.situations.clone(),
                    overrides: &overrides,
                    beside: None,
                    unkept: None,
                    inlined: None,
                    closed: here.closed,
                };
                for parts in PARTS {
                    let mut draft = self.skeleton(template, here.choice);
                    draft.thing(&free.0, "").record = Some(record.clone());
                    for input in &inputs {
                        if self.is_stated(input, &inputs, &free) {
                            state(&mut draft, input, parts);
                        }
                    }
                    let filling = self.work.question();
                    let place = (vars, region);
                    let filled = self.fill(&mut draft, &here, place, Start::Low, &filling);
                    if filled.is_none() {
                        continue;
                    }
                    for dial in &dials {
                        if let Some(shown) = self.turned(way, &draft, dial, work) {
                            return Some(shown);
                        }
                        if work.get() == 0 {
                            return None;
                        }
                    }
                }
            }
        }
        None
    }

    /// The figures that a clause reads.
    fn figures(&self) -> Vec<Field> {
        let view = self.worlds.new.view;
        let mut found = Vec::new();
        for read in self.reads.iter().filter(|read| read.new) {
            let figures = passed(&read.path).filter(|(kind, field)| {
                let formula = view.field(*kind, *field).formula.as_ref();
                formula.is_some_and(|formula| call(formula).is_some())
            });
            for figure in figures {
                if !found.contains(&figure) {
                    found.push(figure);
                }
            }
        }
        found
    }

    /// What a plan can state of what a figure is worked out from, directly.
    fn inputs(&self, (kind, field): Field) -> Vec<Input> {
        let view = self.worlds.new.view;
        let formula = view.field(kind, field).formula.as_ref();
        let Some((parameters, arguments)) = formula.and_then(call) else {
            return Vec::new();
        };
        let input = |(parameter, argument): (&Parameter, &Expression)| {
            let ExpressionNode::Path(path) = &argument.node else {
                return None;
            };
            let setting = of_the_run(view, kind, path)?;
            let own = name(view, setting);
            let old = self.worlds.old.view.kind_names.get(&own.0)?;
            let _ = self.worlds.old.view.kind(*old).field_names.get(&own.1)?;
            let possible = branch_and_prune::possible(self.worlds, view, setting.0, setting.1);
            let (low, high) = possible.ends();
            let low = Exact::max(&low?.value, &Exact::from_f64(parameter.low)?);
            let high = Exact::min(&high?.value, &Exact::from_f64(parameter.high)?);
            (low < high).then(|| Input {
                unit: view.field(setting.0, setting.1).usual_unit(),
                one_way: matches!(parameter.direction, Direction::Rises | Direction::Falls),
                own,
                low,
                high,
            })
        };
        let mut found: Vec<Input> = Vec::new();
        for input in parameters.iter().zip(arguments).filter_map(input) {
            if !found.iter().any(|known| known.own == input.own) {
                found.push(input);
            }
        }
        found
    }

    fn follows(&self, input: &Input, of: &Name) -> bool {
        self.worlds
            .new
            .closures
            .of(&input.own)
            .any(|read| read == of)
    }

    /// The inputs that are turned: those that most others follow first.
    fn dials<'i>(&self, inputs: &'i [Input]) -> Vec<&'i Input> {
        let mut found: Vec<(usize, &Input)> = inputs
            .iter()
            .filter(|input| input.one_way && !self.worlds.new.closures.is_worked_out(&input.own))
            .map(|input| {
                let after = inputs
                    .iter()
                    .filter(|other| self.follows(other, &input.own));
                (after.count(), input)
            })
            .collect();
        found.sort_by_key(|(after, _)| std::cmp::Reverse(*after));
        found.into_iter().map(|(_, input)| input).collect()
    }

    /// Whether an input is stated: not what is left to the record, nor what follows a dial.
    fn is_stated(&self, input: &Input, inputs: &[Input], free: &Name) -> bool {
        let follows_dial = inputs
            .iter()
            .any(|other| other.one_way && self.follows(input, &other.own));
        input.own != *free && !self.follows(input, free) && !follows_dial
    }

    /// The values of records that may move a figure this way, and a record that says each.
    fn moved_by(&self, way: Way, choice: &Choice, figure: Field) -> Vec<(Name, String)> {
        let view = self.worlds.new.view;
        let figure = name(view, figure);
        let one = |(of, records): (&Name, &std::collections::BTreeSet<String>)| {
            let kind = *view.kind_names.get(&of.0)?;
            let rests = self.worlds.new.closures.of(&figure).any(|read| read == of);
            if !rests || place(view, kind) != PlaceInRun::One {
                return None;
            }
            let keys = [of.0.clone(), format!("any {}", of.0)];
            let record = match keys.iter().find_map(|key| choice.get(key)) {
                Some(chosen) => chosen.clone().filter(|name| records.contains(name)),
                None => records.first().cloned(),
            }?;
            let may = self.value_may(way, choice, &figure, of);
            may.then(|| (of.clone(), record))
        };
        self.worlds
            .differences
            .values
            .iter()
            .filter_map(one)
            .collect()
    }

    /// Turns a dial from end to end, and halves the stretches on which a standard lets go or takes up again.
    fn turned(
        &self,
        way: Way,
        draft: &SyntheticPlan,
        dial: &Input,
        work: &Cell<u64>,
    ) -> Option<Witness> {
        let (low, high) = (
            dial.unit.from_base(&dial.low),
            dial.unit.from_base(&dial.high),
        );
        let at = |value: &Exact| {
            let mut tried = draft.clone();
            let settings = &mut tried.thing(&dial.own.0, "").settings;
            let (_, setting) = settings.iter_mut().find(|(of, _)| *of == dial.own.1)?;
            *setting = Setting::Number(dial.unit.to_base(value), Some(dial.unit.clone()));
            Some(tried)
        };
        let look = |value: &Exact| -> Option<(bool, bool)> {
            if !self.work.take_many(work, LOOK) {
                return None;
            }
            let runs = self.runs(&at(value)?)?;
            let old = self.came(0, &runs[0]).rank;
            let new = self.came(1, &runs[1]).rank;
            Some((old == 0, new == 0))
        };
        let wanted = |(old, new): (bool, bool)| match way {
            Way::Tighter => old && !new,
            Way::Looser => new && !old,
        };
        let mut last: Option<(Exact, (bool, bool))> = None;
        for number in 0..STOPS {
            let share = Exact::ratio(number, STOPS - 1);
            let here = near(&low.add(&high.sub(&low).mul(&share)), 3);
            // What is rounded past an end lies outside; so it may be where a figure is not valid.
            let Some(came) = look(&here) else {
                last = None;
                continue;
            };
            if wanted(came) {
                return self.shows(way, &at(&here)?);
            }
            if let Some((before, known)) = last
                && known != came
            {
                let (mut below, mut above) = (before, here.clone());
                for _ in 0..HALVINGS {
                    let middle = near(&below.add(&above).div(&Exact::from_int(2))?, 6);
                    if middle == below || middle == above {
                        break;
                    }
                    let found = look(&middle)?;
                    if wanted(found) {
                        return self.shows(way, &at(&middle)?);
                    }
                    if found == known {
                        below = middle;
                    } else if found == came {
                        above = middle;
                    } else {
                        break;
                    }
                }
            }
            last = Some((here, came));
        }
        None
    }
}

/// The figure that a formula calls, or that it calls where nothing more is stated.
fn call(of: &Expression) -> Option<(&'static [Parameter], &[Expression])> {
    match &of.node {
        ExpressionNode::Call(Function::Figure(figure), arguments) => {
            Some((figure.parameters, arguments))
        }
        ExpressionNode::Call(Function::Choose, arguments) => call(arguments.get(1)?),
        _ => None,
    }
}

/// The setting of the one thing of its kind that a path leads to.
fn of_the_run(view: &Standard, own: crate::types::KindId, path: &Path) -> Option<Field> {
    let mut all = passed(path);
    let (kind, field) = all.next()?;
    let near = match path.root {
        Root::Own => kind == own,
        Root::Single(_) => true,
        _ => false,
    };
    let one = near && place(view, kind) == PlaceInRun::One;
    (one && path.hops.len() == 1 && all.next().is_none()).then_some((kind, field))
}

/// States an input near the lower end of its range; what only adds to the others is left at nothing.
fn state(draft: &mut SyntheticPlan, input: &Input, parts: i64) {
    let value = if input.one_way && input.low.is_zero() {
        Exact::ZERO
    } else {
        let share = input.high.sub(&input.low).mul(&Exact::ratio(1, parts));
        input.low.add(&share)
    };
    let shown = (2..=12).map(|digits| {
        let value = near(&input.unit.from_base(&value), digits);
        input.unit.to_base(&value)
    });
    let mut fits = shown.filter(|value| (&input.low..=&input.high).contains(&value));
    let Some(value) = fits.next() else { return };
    let thing = draft.thing(&input.own.0, "");
    if !thing.settings.iter().any(|(of, _)| *of == input.own.1) {
        let number = Setting::Number(value, Some(input.unit.clone()));
        thing.settings.push((input.own.1.clone(), number));
    }
}
