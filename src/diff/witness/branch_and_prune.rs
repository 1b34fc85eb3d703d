//! Cuts the box of settings of a run until a point is found, or every piece is shown to have none.

use std::cell::Cell;
use std::collections::VecDeque;

use crate::check::{Applied, of_rule};
use crate::constraint::{Domain, End, Region};
use crate::diff::conditions::variables::Vars;
use crate::diff::edition::Editions;
use crate::diff::witness::synthetic_plan::{Setting, SyntheticPlan};
use crate::diff::witness::witness_query::{Way, WitnessQuery};
use crate::eval::{
    Binding, Conditions, EvalContext, ExactInterval, FigureCache, Goal, Leaf, Verdict, is_costly,
    once,
};
use crate::types::{FieldId, InstanceId, KindId, Run, Standard, Target, Verb};
use crate::units::Exact;

/// What a look counts for where a figure takes milliseconds.
pub(in crate::diff) const COSTLY: u64 = 20;

/// A setting of a draft: which thing, whether it is a step, which of its settings.
type Place = ((usize, bool), usize);

/// What cutting came to.
pub(in crate::diff) enum Cut {
    /// A point that shows it.
    Hit(Vec<((usize, bool), usize, Exact)>),
    /// Proved: there is none among runs that state just these settings.
    None,
    /// Not decided.
    Open,
}

/// What both standards let a plan state for a setting.
pub(in crate::diff) fn possible(
    worlds: &Editions<'_>,
    view: &Standard,
    kind: KindId,
    field: FieldId,
) -> Domain {
    let (kind, field) = (&view.kind(kind).name, &view.field(kind, field).name);
    let mut both = Domain::numbers();
    for world in [&worlds.old, &worlds.new] {
        let Some(kind) = world.view.kind_names.get(kind) else {
            continue;
        };
        let kind = world.view.kind(*kind);
        let Some(field) = kind.field_names.get(field) else {
            continue;
        };
        if let Some(possible) = &kind.fields[field.0 as usize].possible {
            let closed = |end: &Option<Exact>| end.clone().map(End::closed);
            let mine = Domain::between(closed(&possible.low), closed(&possible.high));
            both = both.meet(&mine);
        }
    }
    both
}

struct Dial {
    place: Place,
    leaves: [Leaf; 2],
    low: Exact,
    high: Exact,
    start: f64,
}

/// One requirement on one thing.
type Asked = (Option<InstanceId>, usize);

/// Cuts the box of the numbers that a draft states.
pub(in crate::diff) fn cut(
    question: &WitnessQuery<'_, '_>,
    way: Way,
    draft: &SyntheticPlan,
    runs: &[Run; 2],
    within: Option<(&Vars, &Region)>,
    own: &Cell<u64>,
) -> Cut {
    let Some((dials, endless)) = dials(question, draft, runs, within) else {
        return Cut::Open;
    };
    if dials.is_empty() {
        // No box: one run alone, in which all comes from records.
        return match question.shows(way, draft) {
            Some(_) => Cut::Open,
            None => Cut::None,
        };
    }
    let asked = [asked(question, 0, &runs[0]), asked(question, 1, &runs[1])];
    let costly = [0, 1]
        .iter()
        .any(|side| costly(question, *side, &runs[*side], &asked[*side]));
    let price = if costly { COSTLY } else { 1 };
    let start: Vec<(Exact, Exact)> = dials
        .iter()
        .map(|dial| (dial.low.clone(), dial.high.clone()))
        .collect();
    let mut queue = VecDeque::from([start]);
    let mut open = endless;
    while let Some(cell) = queue.pop_front() {
        if !question.work.take_many(own, price) {
            return Cut::Open;
        }
        let ranks = |cell: &[(Exact, Exact)]| {
            let one = rank(question, 0, &runs[0], &asked[0], &dials, cell);
            let other = rank(question, 1, &runs[1], &asked[1], &dials, cell);
            let (less, more) = match way {
                Way::Tighter => (one, other),
                Way::Looser => (other, one),
            };
            // (surely shows it, surely does not)
            (more.0 > less.1, more.1 <= less.0)
        };
        if ranks(&cell).1 {
            continue;
        }
        // The middle, and two corners: what is lost on a limit itself lies on an edge.
        let at = |value: &dyn Fn(&(Exact, Exact)) -> Exact| -> Vec<(Exact, Exact)> {
            cell.iter().map(|ends| (value(ends), value(ends))).collect()
        };
        let points = [
            at(&|(low, high)| between(low, high)),
            at(&|(low, _)| low.clone()),
            at(&|(_, high)| high.clone()),
        ];
        if let Some(point) = points.iter().find(|point| ranks(point).0) {
            return Cut::Hit(
                dials
                    .iter()
                    .zip(point)
                    .map(|(dial, (value, _))| (dial.place.0, dial.place.1, value.clone()))
                    .collect(),
            );
        }
        let width = |index: usize| {
            let (low, high) = &cell[index];
            high.sub(low).nearest() / dials[index].start.max(f64::MIN_POSITIVE)
        };
        let widest = (0..cell.len()).max_by(|one, other| width(*one).total_cmp(&width(*other)));
        let Some(index) = widest.filter(|index| width(*index) > 1e-7) else {
            open = true;
            continue;
        };
        let middle = between(&cell[index].0, &cell[index].1);
        if middle <= cell[index].0 || middle >= cell[index].1 {
            open = true;
            continue;
        }
        let (mut below, mut above) = (cell.clone(), cell);
        below[index].1 = middle.clone();
        above[index].0 = middle;
        queue.extend([below, above]);
    }
    if open { Cut::Open } else { Cut::None }
}

/// The middle, as a short fraction where one lies between.
fn between(low: &Exact, high: &Exact) -> Exact {
    let middle = low.add(high).div(&Exact::from_int(2));
    let middle = middle.and_then(|middle| Exact::from_f64(middle.nearest()));
    let middle = middle.unwrap_or_else(|| low.clone());
    Exact::min(&Exact::max(low, &middle), high)
}

fn dials(
    question: &WitnessQuery<'_, '_>,
    draft: &SyntheticPlan,
    runs: &[Run; 2],
    within: Option<(&Vars, &Region)>,
) -> Option<(Vec<Dial>, bool)> {
    let mut found = Vec::new();
    let mut endless = false;
    let sides = question.sides();
    let things = draft
        .things
        .iter()
        .enumerate()
        .map(|(at, of)| (at, false, of));
    let steps = draft
        .steps
        .iter()
        .enumerate()
        .map(|(at, of)| (at, true, of));
    for (at, step, thing) in things.chain(steps) {
        for (number, (name, setting)) in thing.settings.iter().enumerate() {
            let Setting::Number(..) = setting else {
                continue;
            };
            let leaf = |side: usize| {
                let id = question.instance(&runs[side], side, (at, step), draft)?;
                let kind = runs[side].instance(id).kind;
                let field = *sides[side].0.view.kind(kind).field_names.get(name)?;
                Some((
                    Leaf {
                        target: Target::Thing(id),
                        field,
                    },
                    kind,
                ))
            };
            let ((one, _), (other, kind)) = (leaf(0)?, leaf(1)?);
            let view = sides[1].0.view;
            let mut set = possible(question.worlds, view, kind, other.field);
            if let Some((vars, region)) = within {
                let var = vars.find(&format!("{}.{name}", thing.kind));
                if let Some(limit) = var.and_then(|var| region.get(var)) {
                    set = set.meet(limit);
                }
            }
            if set.segments().is_empty() {
                return None;
            }
            let (low, high) = set.ends();
            endless |= low.is_none() || high.is_none();
            let far = Exact::from_int(1_000_000);
            let low = low.map_or_else(|| far.neg(), |end| end.value.clone());
            let high = high.map_or(far, |end| end.value.clone());
            found.push(Dial {
                place: ((at, step), number),
                leaves: [one, other],
                start: high.sub(&low).nearest(),
                low,
                high,
            });
        }
    }
    Some((found, endless))
}

/// What is asked of a run: which requirements, of which things.
fn asked(question: &WitnessQuery<'_, '_>, side: usize, run: &Run) -> Vec<Asked> {
    let (world, part) = question.sides()[side];
    let Some(part) = part else { return Vec::new() };
    let context = EvalContext::new(world.standard, run);
    let mut results = Vec::new();
    of_rule(&Conditions::new(context), &context, part.rule, &mut results);
    let table = world.standard.rules[part.rule].table.is_some();
    results
        .iter()
        .filter(|result| table || part.requirements.contains(&result.requirement))
        .filter(|result| matches!(result.applied, Applied::To(_)))
        .map(|result| (result.each, result.requirement))
        .collect()
}

impl WitnessQuery<'_, '_> {
    /// Whether a figure behind what is asked of a run takes milliseconds.
    pub(in crate::diff) fn is_costly(&self, draft: &SyntheticPlan) -> bool {
        let Some(runs) = self.runs(draft) else {
            return false;
        };
        [0, 1].iter().any(|side| {
            let asked = asked(self, *side, &runs[*side]);
            costly(self, *side, &runs[*side], &asked)
        })
    }
}

fn goal<'s>(standard: &'s Standard, rule: usize, requirement: usize) -> Goal<'s> {
    let rule = &standard.rules[rule];
    Goal::of(rule, &rule.requirements[requirement])
}

fn binding(each: Option<InstanceId>) -> Binding {
    Binding {
        each,
        ..Binding::default()
    }
}

fn costly(question: &WitnessQuery<'_, '_>, side: usize, run: &Run, asked: &[Asked]) -> bool {
    let (world, part) = question.sides()[side];
    let Some(part) = part else { return false };
    let context = EvalContext::new(world.standard, run);
    asked.iter().any(|(each, requirement)| {
        let goal = goal(world.standard, part.rule, *requirement);
        is_costly(&context, binding(*each), goal)
    })
}

/// The least and the most that a box can come to: 0 kept, 1 a warning, 2 it fails.
fn rank(
    question: &WitnessQuery<'_, '_>,
    side: usize,
    run: &Run,
    asked: &[Asked],
    dials: &[Dial],
    cell: &[(Exact, Exact)],
) -> (u8, u8) {
    let (world, part) = question.sides()[side];
    let Some(part) = part else { return (0, 0) };
    let worst = match part.verb {
        Verb::Should => 1,
        Verb::Shall => 2,
    };
    let narrowed: Vec<(Leaf, ExactInterval)> = dials
        .iter()
        .zip(cell)
        .map(|(dial, (low, high))| {
            (
                dial.leaves[side],
                ExactInterval::new(low.clone(), high.clone()),
            )
        })
        .collect();
    let cache = FigureCache::default();
    let context = EvalContext {
        narrowed: &narrowed,
        ..EvalContext::new(world.standard, run).remembering(&cache)
    };
    let conditions = Conditions::new(context);
    let mut came = (0, 0);
    for (each, requirement) in asked {
        let goal = goal(world.standard, part.rule, *requirement);
        let (least, most) = match once(&conditions, binding(*each), goal) {
            Verdict::Holds(_) | Verdict::DoesNotApply(_) => (0, 0),
            Verdict::Breaks => (worst, worst),
            Verdict::AtRisk(_) | Verdict::NotStated(_) | Verdict::CannotWorkOut(_) => (0, worst),
        };
        came = (came.0.max(least), came.1.max(most));
    }
    question.work.owe(cache.budget().work());
    came
}
