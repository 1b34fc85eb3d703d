//! States in a made-up run what a clause reads, and what that is worked out from.

use std::cell::Cell;

use crate::constraint::{Domain, Region, Variable};
use crate::diff::clause_effect::Here;
use crate::diff::conditions::dependencies::name;
use crate::diff::conditions::variables::{Var, Vars};
use crate::diff::witness::branch_and_prune;
use crate::diff::witness::plan_skeleton::COPIES;
use crate::diff::witness::round_value::nice;
use crate::diff::witness::synthetic_plan::{Setting, SyntheticPlan, Thing, place};
use crate::diff::witness::witness_query::{Choice, Reads, Start, WitnessQuery};
use crate::eval::{Aim, Binding, EvalContext, EvalError, Found, range};
use crate::types::{FieldId, InstanceId, KindId, PlaceInRun, Run, Standard, Target, Type};

/// The place of a step in the sequence, from 0.
fn step_of(run: &Run, id: InstanceId) -> Option<usize> {
    run.steps.iter().position(|step| *step == id)
}

/// Whether a setting must be left out.
fn is_left_out(domain: &Domain) -> bool {
    domain.may_be_missing() && domain.clone().and_stated().is_empty()
}

/// The known words that a set holds.
fn held<'v>(var: &'v Var, set: &'v Domain) -> impl Iterator<Item = String> + use<'v> {
    let numbered = (0_u32..).zip(&var.words);
    numbered
        .filter(|(number, _)| set.of_words().holds(*number))
        .map(|(_, word)| word.clone())
}

impl WitnessQuery<'_, '_> {
    /// The thing of a draft that an instance was read from.
    fn thing<'d>(
        &self,
        draft: &'d mut SyntheticPlan,
        side: usize,
        run: &Run,
        id: InstanceId,
    ) -> Option<&'d mut Thing> {
        if let Some(at) = run.steps.iter().position(|step| *step == id) {
            return draft.steps.get_mut(at);
        }
        let instance = run.instance(id);
        let name = self.worlds()[side].view.kind(instance.kind).name.clone();
        Some(draft.thing(&name, &instance.name))
    }

    /// States a setting of an instance that is not stated yet.
    fn state(
        &self,
        draft: &mut SyntheticPlan,
        (side, run): (usize, &Run),
        (id, field): (InstanceId, FieldId),
        setting: Setting,
    ) -> bool {
        let kind = run.instance(id).kind;
        let name = self.worlds()[side].view.field(kind, field).name.clone();
        let Some(thing) = self.thing(draft, side, run, id) else {
            return false;
        };
        if thing.settings.iter().any(|(of, _)| *of == name) {
            return false;
        }
        thing.settings.push((name, setting));
        true
    }

    /// What a reference of a thing could be: the record chosen there, or another thing of the run.
    fn reference(
        &self,
        draft: &mut SyntheticPlan,
        (side, kind, field): (usize, KindId, FieldId),
        step: Option<usize>,
        key: Option<&str>,
        choice: &Choice,
    ) -> Option<Setting> {
        let view = self.worlds()[side].view;
        let Type::Reference(to) = view.field(kind, field).ty else {
            return None;
        };
        let to_name = view.kind(to).name.clone();
        if place(view, to) == PlaceInRun::Many {
            // Each step has one of its own, so that two steps may differ in it.
            let name = COPIES[step.unwrap_or(0).min(COPIES.len() - 1)];
            draft.thing(&to_name, name);
            return Some(Setting::Thing(name.to_owned()));
        }
        let own = format!(".{}", view.field(kind, field).name);
        let chosen = key.and_then(|key| choice.get(key)).or_else(|| {
            let fits = |(key, _): &(&String, &Option<String>)| key.ends_with(&own);
            choice.iter().find(fits).map(|(_, record)| record)
        });
        match chosen {
            Some(Some(record)) => return Some(Setting::Record(record.clone())),
            // It must not be named.
            Some(None) if place(view, to) == PlaceInRun::Record => return None,
            _ => {}
        }
        let both = |record: &&crate::types::Instance| {
            let there = |standard: &Standard| {
                let kind = standard.kind_names.get(&to_name);
                kind.is_some_and(|kind| {
                    standard
                        .record_names
                        .contains_key(&(*kind, record.name.clone()))
                })
            };
            record.kind == to && there(self.worlds.old.view) && there(self.worlds.new.view)
        };
        let first = view.records.iter().find(both)?;
        Some(Setting::Record(first.name.clone()))
    }

    /// A value for a setting: one in the set that is wanted, else one in the middle of what is possible.
    fn value(
        &self,
        (side, kind, field): (usize, KindId, FieldId),
        wanted: Option<(Variable, &Vars, &Region)>,
        start: Start,
    ) -> Option<Setting> {
        let view = self.worlds()[side].view;
        let of = view.field(kind, field);
        let var = wanted.map(|(var, vars, _)| vars.get(var));
        let set = wanted
            .map(|(var, vars, region)| region.get(var).unwrap_or(&vars.get(var).domain).clone());
        // It must be left out.
        if set.as_ref().is_some_and(is_left_out) {
            return None;
        }
        match &of.ty {
            Type::Quantity(_) => {
                let possible = branch_and_prune::possible(self.worlds, view, kind, field);
                let low = possible.ends().0.map(|end| end.value.clone());
                // Shares of one whole start at nothing, so that they do not add up to more.
                let part = view
                    .kind(kind)
                    .parts
                    .iter()
                    .any(|whole| whole.fields.contains(&field));
                let limited = wanted.is_some_and(|(var, _, region)| region.get(var).is_some());
                let (set, start) = if part && !limited {
                    (None, Start::Low)
                } else {
                    (set, start)
                };
                let set = match (set, start, low) {
                    (Some(set), ..) => set.meet(&possible),
                    (None, Start::Low, Some(low)) => Domain::point(low),
                    (None, ..) => possible,
                };
                let unit = var
                    .and_then(|var| var.unit.clone())
                    .filter(|unit| {
                        unit.dimension() == view.field(kind, field).usual_unit().dimension()
                    })
                    .unwrap_or_else(|| view.field(kind, field).usual_unit());
                let whole = var.is_some_and(|var| var.whole);
                let value = nice(&set, &unit, whole)?;
                Some(Setting::Number(value, Some(unit)))
            }
            Type::Choice(words) => {
                let wanted = match (var, set) {
                    (Some(var), Some(set)) => held(var, &set).find(|word| words.contains(word)),
                    _ => words.first().cloned(),
                };
                wanted.map(Setting::Word)
            }
            Type::Day => Some(Setting::Word("2000-01-01".to_owned())),
            Type::YesNo => {
                let yes = matches!((var, set), (Some(var), Some(set)) if held(var, &set).next().as_deref() == Some("yes"));
                Some(Setting::Word(if yes { "yes" } else { "no" }.to_owned()))
            }
            Type::Text => {
                let text = match (var, set) {
                    (Some(var), Some(set)) => held(var, &set).next().or_else(|| {
                        let other = set.of_words().holds_others();
                        other.then(|| "any".to_owned())
                    }),
                    _ => Some("any".to_owned()),
                };
                text.map(Setting::Text)
            }
            Type::Range(_) | Type::Reference(_) => None,
        }
    }

    /// The binding of the first thing of `for each`.
    fn binding(&self, side: usize, run: &Run) -> Binding {
        let each = self.each.as_ref().and_then(|name| {
            let kind = self.worlds()[side].view.kind_names.get(name)?;
            run.many.get(kind.0 as usize)?.last().copied()
        });
        Binding {
            each,
            ..Binding::default()
        }
    }

    /// States what the clause reads, and what that is worked out from, until nothing is missing.
    pub(in crate::diff) fn fill(
        &self,
        draft: &mut SyntheticPlan,
        here: &Here<'_>,
        (vars, region): (&Vars, &Region),
        start: Start,
        own: &Cell<u64>,
    ) -> Option<()> {
        let choice = here.choice;
        // Things that must not be mentioned at all.
        for (variable, limit) in region.iter() {
            if let Some(kind) = vars.get(variable).key.strip_suffix(" mentioned")
                && is_left_out(limit)
            {
                draft.things.retain(|thing| thing.kind != kind);
            }
        }
        for _ in 0..60 {
            if !self.work.take(own) {
                return None;
            }
            self.make_whole(draft);
            let runs = self.runs(draft)?;
            let mut added = false;
            for read in self.reads {
                let side = usize::from(read.new);
                let run = &runs[side];
                added |= self.state_read(draft, (side, run), read, here, (vars, region));
            }
            if added {
                continue;
            }
            for side in [0, 1] {
                let came = self.came(side, &runs[side]);
                let Some((Some(Target::Thing(id)), field)) = came.gap else {
                    continue;
                };
                let kind = runs[side].instance(id).kind;
                let Some(field) = field else {
                    // A thing that is not mentioned at all.
                    let name = self.worlds()[side].view.kind(kind).name.clone();
                    let before = draft.things.len();
                    draft.thing(&name, "");
                    added |= draft.things.len() > before;
                    continue;
                };
                let view = self.worlds()[side].view;
                let at = (side, kind, field);
                let key = format!("{}.{}", view.kind(kind).name, view.field(kind, field).name);
                if here.overrides.get(&key) == Some(false) {
                    continue;
                }
                let limit = vars.find(&key).and_then(|var| region.get(var));
                if limit.is_some_and(is_left_out) && !self.is_beside(side, &runs[side], id) {
                    continue;
                }
                let other = self.is_beside(side, &runs[side], id);
                let setting = if let Type::Reference(_) = view.field(kind, field).ty {
                    let choice = here.beside.filter(|_| other).unwrap_or(choice);
                    self.reference(draft, at, step_of(&runs[side], id), None, choice)
                } else {
                    let var = vars.find(&key).filter(|var| vars.get(*var).plain);
                    let region = if other { &vars.beside } else { region };
                    self.value(at, var.map(|var| (var, vars, region)), start)
                };
                if let Some(setting) = setting {
                    added |= self.state(draft, (side, &runs[side]), (id, field), setting);
                }
            }
            if !added {
                added = self.state_behind(draft, &runs, here, start);
            }
            if !added {
                return Some(());
            }
        }
        None
    }

    /// Whether a thing is not the one asked of `for each`, but another, or what belongs to another step.
    fn is_beside(&self, side: usize, run: &Run, id: InstanceId) -> bool {
        let Some(each) = self.binding(side, run).each else {
            return false;
        };
        let (own, of) = (run.instance(each), run.instance(id));
        if own.kind == of.kind {
            return each != id;
        }
        // Each step was given one of its own.
        let copy = COPIES.iter().position(|name| *name == of.name);
        let many = place(self.worlds()[side].view, of.kind) == PlaceInRun::Many;
        many && step_of(run, each).is_some_and(|step| copy.is_some_and(|copy| copy != step))
    }

    /// States what a figure needs of which the clause asks only whether it can be worked out.
    fn state_behind(
        &self,
        draft: &mut SyntheticPlan,
        runs: &[Run; 2],
        here: &Here<'_>,
        start: Start,
    ) -> bool {
        let Some(unkept) = &here.unkept else {
            return false;
        };
        for read in self.reads {
            let side = usize::from(read.new);
            let world = self.worlds()[side];
            if unkept.missing[side] {
                continue;
            }
            let context = EvalContext::new(world.standard, &runs[side]);
            let found = context.locate(self.binding(side, &runs[side]), &read.path);
            let Ok(Found::Setting(target, kind, field)) = found else {
                continue;
            };
            let formula = world.standard.field(kind, field).formula.as_ref();
            let Some(formula) = formula.filter(|_| name(world.view, (kind, field)) == unkept.own)
            else {
                continue;
            };
            let own = Binding {
                own: Some(target),
                ..Binding::default()
            };
            let Err(EvalError::Missing(gap)) = range(&context, own, Aim::value(formula)) else {
                continue;
            };
            let Some(Target::Thing(id)) = gap.at else {
                continue;
            };
            let kind = runs[side].instance(id).kind;
            let Some(field) = gap.field else {
                let name = world.view.kind(kind).name.clone();
                let before = draft.things.len();
                draft.thing(&name, "");
                return draft.things.len() > before;
            };
            let at = (side, kind, field);
            let setting = if let Type::Reference(_) = world.view.field(kind, field).ty {
                self.reference(draft, at, step_of(&runs[side], id), None, here.choice)
            } else {
                self.value(at, None, start)
            };
            if let Some(setting) = setting
                && self.state(draft, (side, &runs[side]), (id, field), setting)
            {
                return true;
            }
        }
        false
    }

    fn state_read(
        &self,
        draft: &mut SyntheticPlan,
        (side, run): (usize, &Run),
        read: &Reads,
        here: &Here<'_>,
        (vars, region): (&Vars, &Region),
    ) -> bool {
        let choice = here.choice;
        let world = self.worlds()[side];
        let context = EvalContext::new(world.standard, run);
        let binding = self.binding(side, run);
        match context.locate(binding, &read.path) {
            Ok(Found::Setting(Target::Thing(id), kind, field)) => {
                let at = (side, kind, field);
                let instead = here.overrides.get(&read.key);
                let stated = context.stated(Target::Thing(id), field).is_some();
                if instead == Some(false) || stated && instead.is_none() {
                    return false;
                }
                let setting = if let Type::Reference(_) = world.view.field(kind, field).ty {
                    let refer = context.refer(Target::Thing(id), kind, field, &read.path, 0);
                    if refer.is_ok() && instead.is_none() {
                        return false;
                    }
                    self.reference(draft, at, step_of(run, id), Some(&read.key), choice)
                } else {
                    let asked = vars.find(&format!("{} stated", read.key));
                    let wanted = asked.is_some_and(|var| {
                        let set = region.get(var);
                        set.is_some_and(|set| held(vars.get(var), set).eq(["yes".to_owned()]))
                    });
                    match vars.find(&read.key).filter(|var| vars.get(*var).plain) {
                        Some(var) => self.value(at, Some((var, vars, region)), Start::Middle),
                        None if wanted => self.value(at, None, Start::Middle),
                        None if instead == Some(true) => self.value(at, None, Start::Low),
                        None => return false,
                    }
                };
                setting.is_some_and(|setting| self.state(draft, (side, run), (id, field), setting))
            }
            Err(EvalError::Missing(gap)) => {
                let (Some(Target::Thing(id)), Some(field)) = (gap.at, gap.field) else {
                    return false;
                };
                let kind = run.instance(id).kind;
                // The reference on the way stands before the setting at the end.
                let key = read.key.rsplit_once('.').map(|(before, _)| before);
                let setting =
                    self.reference(draft, (side, kind, field), step_of(run, id), key, choice);
                setting.is_some_and(|setting| self.state(draft, (side, run), (id, field), setting))
            }
            _ => false,
        }
    }
}
