//! What a plan leaves idle: rules on steps without a step, things that no step uses.
//!
//! Neither breaks a rule, and both would pass in silence: a rule for each step applies to no step at all.

use crate::diagnostic::{Code, Diagnostic};
use crate::types::{InstanceId, KindId, PlaceInRun, Run, Standard, Target, Type, Value};

/// Says it of one run.
pub(super) fn idle(standard: &Standard, run: &Run) -> Vec<Diagnostic> {
    if run.steps.is_empty() {
        return no_steps(standard, run).into_iter().collect();
    }
    standard
        .numbered_kinds()
        .filter(|(id, kind)| kind.place == PlaceInRun::Many && in_steps(standard, *id))
        .flat_map(|(id, _)| &run.many[id.index()])
        .filter(|thing| !is_used(run, **thing))
        .filter_map(|thing| unused(standard, run, *thing))
        .collect()
}

fn no_steps(standard: &Standard, run: &Run) -> Option<Diagnostic> {
    let on_a_step = |kind: KindId| standard.kind(kind).place == PlaceInRun::Step;
    let rules = standard
        .rules
        .iter()
        .filter(|rule| !rule.requirements.is_empty() && rule.each.is_some_and(on_a_step))
        .count();
    if rules == 0 {
        return None;
    }
    let headline = match rules {
        1 => "this plan has no steps, so 1 rule on steps did not run".to_owned(),
        many => format!("this plan has no steps, so {many} rules on steps did not run"),
    };
    let here = match run.sequence {
        Some(_) => "no step in it",
        None => "no `sequence` in this plan",
    };
    let place = run.sequence.unwrap_or(run.span);
    Some(
        Diagnostic::new(Code::NoSteps, place, headline, here)
            .help("write the steps in their order into the block `sequence {`"),
    )
}

/// Whether some kind of step names a thing of this kind.
fn in_steps(standard: &Standard, kind: KindId) -> bool {
    let steps = standard
        .kinds
        .iter()
        .filter(|step| step.place == PlaceInRun::Step);
    let mut fields = steps.flat_map(|step| &step.fields);
    fields.any(|field| matches!(field.ty, Type::Reference(of) if of == kind))
}

fn is_used(run: &Run, thing: InstanceId) -> bool {
    let named =
        |value: &Value| matches!(value, Value::Reference(Target::Thing(id)) if *id == thing);
    let steps = run.steps.iter();
    let mut stated = steps.flat_map(|step| run.instance(*step).values.iter().flatten());
    stated.any(|stated| named(&stated.value))
}

fn unused(standard: &Standard, run: &Run, thing: InstanceId) -> Option<Diagnostic> {
    let instance = run.instance(thing);
    let kind = &standard.kind(instance.kind).name;
    Some(
        Diagnostic::new(
            Code::NotInAStep,
            instance.header?,
            format!("`{kind} {}` is in no step of this plan", instance.name),
            "not used",
        )
        .help("add the step that uses it, or take it out"),
    )
}
