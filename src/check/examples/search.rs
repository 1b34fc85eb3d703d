//! The search in one plan: settings are moved until a change of the standard makes a difference.

use crate::diagnostic::Outcome;
use crate::eval::{Binding, Conditions, EvalContext, FigureCache, Leaf, Truth};
use crate::types::{Condition, Reading, Run, Standard, Type};
use crate::units::Exact;

use super::super::outcome::{binding as binding_of, of_rule, subjects};
use super::boundary::{
    Scope, conditions, differing, digits_of, outcomes, value_edits, values, written_edits,
};
use super::counts::count_moves;
use super::derived_inputs::{is_set, without_inputs};
use super::mutant::{Change, Mutant};
use super::plan_edits::{
    Edits, edited, reads, reference_moves, settings, touches, unit_of, word_moves,
};
use super::synthesize::{Budget, Closer, Hit, Of, Stage, Start};
use super::{Test, read};

/// How many first changes of one plan are tried.
const MOST_FIRSTS: usize = 120;

/// Places looked at along a setting, and halvings between two of them.
const GRID: i32 = 16;
const HALVINGS: u32 = 40;

/// Whether a rule says something of a run, and by this requirement where one is asked for.
fn is_met(standard: &Standard, run: &Run, rule: usize, requirement: Option<usize>) -> bool {
    let cache = FigureCache::default();
    let context = EvalContext::new(standard, run).remembering(&cache);
    let mut results = Vec::new();
    of_rule(&Conditions::new(context), &context, rule, &mut results);
    results.iter().any(|result| {
        result.outcome() != Outcome::DoesNotApply
            && requirement.is_none_or(|wanted| result.requirement == wanted)
    })
}

fn all_true(standard: &Standard, run: &Run, binding: Binding, wanted: &[Condition]) -> bool {
    let context = EvalContext::new(standard, run);
    let conditions = Conditions::new(context);
    let is_true = |one: &Condition| conditions.truth(binding, one) == Truth::True;
    wanted.iter().all(is_true)
}

impl Closer<'_> {
    /// The plan itself, or the nearest ones in which the rule, or the record, is met at all.
    pub(super) fn firsts(
        &mut self,
        start: Start,
        mutant: &Mutant,
        rule: usize,
        budget: &Budget,
    ) -> Vec<Start> {
        let standard = self.standard;
        let context = EvalContext::new(standard, &start.run);
        let mut edits: Vec<Edits> = Vec::new();
        let met;
        let requirement = mutant.change.requirement(standard);
        if let Change::Value(record, field, _) = &mutant.change {
            met = !reads(&context, *record, *field).is_empty();
            edits.extend(reference_moves(&context, &start.text, *record));
        } else {
            let built = &standard.rules[rule];
            met = is_met(standard, &start.run, rule, requirement);
            if !met {
                for each in subjects(&context, built) {
                    for when in &mutant.change.met_when(standard, rule) {
                        let moves = word_moves(&context, &start.text, binding_of(each), when);
                        edits.extend(moves);
                    }
                }
            }
        }
        let mut found = Vec::new();
        for edits in edits.into_iter().take(MOST_FIRSTS) {
            let Some((text, run)) = self.made(&start, &edits, budget) else {
                continue;
            };
            if is_met(standard, &run, rule, requirement) {
                found.push(Start {
                    text,
                    run,
                    keep: start.keep.clone(),
                    ..start
                });
            }
            if found.len() > 1 {
                break;
            }
        }
        if found.is_empty() && !met {
            found.extend(self.led(&start, mutant, rule, budget));
        }
        if met {
            found.insert(0, start);
        }
        found
    }

    /// A plan in which all that must be true for the change to be met is made so, one after the other.
    fn led(
        &mut self,
        start: &Start,
        mutant: &Mutant,
        rule: usize,
        budget: &Budget,
    ) -> Option<Start> {
        let standard = self.standard;
        let wanted = mutant.change.met_when(standard, rule);
        let first = EvalContext::new(standard, &start.run);
        let things: Vec<_> = subjects(&first, &standard.rules[rule]).collect();
        things.into_iter().find_map(|each| {
            let binding = binding_of(each);
            let mut led = Start {
                text: start.text.clone(),
                run: start.run.clone(),
                keep: start.keep.clone(),
                ..*start
            };
            for count in 1..=wanted.len() {
                let so_far = &wanted[..count];
                if all_true(standard, &led.run, binding, so_far) {
                    continue;
                }
                let context = EvalContext::new(standard, &led.run);
                let moves = word_moves(&context, &led.text, binding, &so_far[count - 1]);
                let (text, run) = moves.iter().find_map(|edits| {
                    let made = self.made(&led, edits, budget)?;
                    // With a thing less, the binding may be of none, or of another.
                    let there = made.1.instances.len() >= led.run.instances.len();
                    (there && all_true(standard, &made.1, binding, so_far)).then_some(made)
                })?;
                led = Start { text, run, ..led };
            }
            Some(led)
        })
    }

    /// Moves settings of one plan until the change makes a difference.
    pub(super) fn hunt(
        &mut self,
        start: &Start,
        changed: &Standard,
        mutant: &Mutant,
        rule: usize,
        stage: Stage,
        budget: &Budget,
    ) -> Option<Hit> {
        let standard = self.standard;
        let context = EvalContext::new(standard, &start.run);
        let built = &standard.rules[rule];
        let conditions = conditions(built, mutant);
        let mut along: Vec<Leaf> = Vec::new();
        if stage == Stage::Values
            && let Some(hit) = self.attempt(start, &Vec::new(), changed, rule, budget)
        {
            return Some(hit);
        }
        for each in subjects(&context, built) {
            let binding = binding_of(each);
            for condition in &conditions {
                if let Change::Value(record, field, _) = &mutant.change
                    && !touches(&context, binding, condition, *record, *field)
                {
                    continue;
                }
                if stage == Stage::Words {
                    let words = word_moves(&context, &start.text, binding, condition);
                    let more = count_moves(&context, &start.text, condition);
                    for edits in words.into_iter().chain(more) {
                        let hit = self.attempt(start, &edits, changed, rule, budget);
                        if hit.is_some() {
                            return hit;
                        }
                    }
                    continue;
                }
                for (leaf, direct) in settings(&context, binding, condition) {
                    if stage == Stage::Along {
                        if is_set(&context, leaf) && !along.contains(&leaf) {
                            along.push(leaf);
                        }
                        continue;
                    }
                    let outright = stage == Stage::Outright;
                    if !direct || is_set(&context, leaf) == outright {
                        continue;
                    }
                    if outright && !along.contains(&leaf) {
                        along.push(leaf);
                    }
                    for value in values(&context, binding, condition, mutant) {
                        let Some(edits) = value_edits(&context, &start.text, leaf, &value) else {
                            continue;
                        };
                        let alone =
                            without_inputs(&context, &start.text, leaf).filter(|_| outright);
                        let alone = alone.map(|others| [others, edits.clone()].concat());
                        for edits in alone.into_iter().chain([edits]) {
                            let hit = self.attempt(start, &edits, changed, rule, budget);
                            if hit.is_some() {
                                return hit;
                            }
                        }
                    }
                }
            }
        }
        for leaf in along.into_iter().take(8) {
            let hit = self.along(start, &context, leaf, changed, rule, budget);
            if hit.is_some() {
                return hit;
            }
        }
        None
    }

    /// Looks along one setting for where the outcome turns.
    fn along(
        &mut self,
        start: &Start,
        context: &EvalContext<'_>,
        leaf: Leaf,
        changed: &Standard,
        rule: usize,
        budget: &Budget,
    ) -> Option<Hit> {
        let unit = unit_of(context, leaf)?;
        let kind = context.run.target(context.standard, leaf.target).kind;
        let field = context.standard.field(kind, leaf.field);
        let Type::Quantity(measure) = &field.ty else {
            return None;
        };
        let whole = matches!(measure.reading, Reading::Count(_));
        let present = context.quantity(leaf.target, leaf.field);
        let present = present.map(|found| unit.from_base(&found.nominal).nearest());
        let limits = field.possible.as_ref();
        let end = |end: Option<&Exact>| end.map(|end| unit.from_base(end).nearest());
        let low = end(limits.and_then(|limits| limits.low.as_ref()));
        let high = end(limits.and_then(|limits| limits.high.as_ref()));
        let low = low.or(present.map(|value| value / 10.0))?;
        let high = high.or(present.map(|value| value * 10.0))?;
        let mut places: Vec<f64> = (0..=GRID)
            .map(|at| low + (high - low) * f64::from(at) / f64::from(GRID))
            .chain(present.filter(|value| (low..=high).contains(value)))
            .collect();
        places.sort_by(f64::total_cmp);
        let write = |value: f64, digits: usize| {
            let text = digits_of(value, digits, whole);
            match unit.spelling() {
                "" => text,
                spelling => format!("{text} {spelling}"),
            }
        };
        let others = without_inputs(context, &start.text, leaf).filter(|_| !is_set(context, leaf));
        let others = others.unwrap_or_default();
        let edits_for = |written: &str| -> Option<Edits> {
            let edits = written_edits(context, &start.text, leaf, written)?;
            Some([others.clone(), edits].concat())
        };
        let mut hit_at = None;
        let mut look = |this: &mut Self, value: f64| -> Option<Vec<(usize, Outcome)>> {
            let edits = edits_for(&write(value, 7))?;
            let (text, run) = this.made(start, &edits, budget)?;
            if this.differing(&text, &run, start, changed, rule).is_some() {
                hit_at.get_or_insert(value);
            }
            Some(outcomes(this.standard, &run, rule))
        };
        let mut before: Option<(f64, Vec<(usize, Outcome)>)> = None;
        'places: for place in places {
            let Some(now) = look(self, place) else {
                continue;
            };
            if let Some((left, found)) = &before
                && *found != now
            {
                let (mut left, mut right) = (*left, place);
                for _ in 0..HALVINGS {
                    let middle = left / 2.0 + right / 2.0;
                    match look(self, middle) {
                        Some(other) if other == *found => left = middle,
                        Some(_) => right = middle,
                        None => break,
                    }
                    if (right - left).abs() <= right.abs() * 1e-7 || self.spent(budget) {
                        break;
                    }
                }
            }
            before = Some((place, now));
            if self.spent(budget) {
                break 'places;
            }
        }
        let value = hit_at?;
        (1..=7).find_map(|digits| {
            let edits = edits_for(&write(value, digits))?;
            self.attempt(start, &edits, changed, rule, budget)
        })
    }

    fn spent(&self, budget: &Budget) -> bool {
        self.tried >= budget.tried || self.work >= budget.work
    }

    /// A plan with edits made, if it reads.
    fn made(&mut self, start: &Start, edits: &Edits, budget: &Budget) -> Option<(String, Run)> {
        if self.spent(budget) {
            return None;
        }
        self.tried += 1;
        let text = edited(&start.text, edits)?;
        let run = read(self.standard, start.file, &text).ok()?;
        Some((text, run))
    }

    /// The plan with edits made, if the change makes a difference there.
    fn attempt(
        &mut self,
        start: &Start,
        edits: &Edits,
        changed: &Standard,
        rule: usize,
        budget: &Budget,
    ) -> Option<Hit> {
        let (text, run) = self.made(start, edits, budget)?;
        let scope = self.differing(&text, &run, start, changed, rule)?;
        Some(Hit {
            text,
            run,
            rule,
            scope,
        })
    }

    /// What an expectation would have to say to notice the change, if all that the plan closes already stays closed.
    fn differing(
        &mut self,
        text: &str,
        run: &Run,
        start: &Start,
        changed: &Standard,
        rule: usize,
    ) -> Option<Scope> {
        let cache = FigureCache::default();
        let scope = differing(run, self.standard, changed, rule, &cache);
        self.work = self.work.saturating_add(cache.budget().work());
        let scope = scope?;
        let Of::Added(at) = start.of else {
            return Some(scope);
        };
        let test = Test {
            name: String::new(),
            file: run.file,
            text: text.to_owned(),
            run: run.clone(),
            cache,
            expectations: start.keep.clone(),
        };
        let passes = |rule: &usize| test.misses(self.standard, self.reach, *rule).is_empty();
        let mut stays = test.rules().iter().all(passes);
        let mut spent = test.cache.budget().work();
        for mutant in &mut self.added[at].closes {
            if !stays {
                break;
            }
            mutant.change.swap(&mut self.spare);
            let fails = |rule: &usize| !test.misses(&self.spare, self.reach, *rule).is_empty();
            stays = mutant.rules.iter().any(fails);
            spent = spent.saturating_add(test.cache.budget().work());
            mutant.change.swap(&mut self.spare);
        }
        self.work = self.work.saturating_add(spent);
        stays.then_some(scope)
    }
}
