//! Findings in words: from a result to a diagnostic.

use crate::diagnostic::{Code, Diagnostic, Finding, Outcome, Severity, Verb};
use crate::eval::{Binding, Conditions, EvalContext, Leaf, MissingValue, Verdict};
use crate::source::Span;
use crate::types::{Condition, Field, Rule, Type, Value, source_words};

use super::blame::{Blame, blame, limit_places, subject as subject_place};
use super::deciding_comparison::{DecidingComparison, Told, decisive};
use super::impact::Before;
use super::measure;
use super::outcome::{Applied, RuleResult, binding as binding_of, goal as goal_of};
use super::repair::{Found, repairs};
use super::table::limit_place;
use super::uncertainty_source::{UncertaintySource, decided_by};
use super::wording;

/// How much a finding is worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Depth {
    /// Look for repairs.
    pub(super) repairs: bool,
    /// `at risk` passes.
    pub(super) allow_risk: bool,
}

fn code(outcome: Outcome, verdict: &Verdict) -> Code {
    match (outcome, verdict) {
        (_, Verdict::CannotWorkOut(_)) => Code::CannotWorkOut,
        (Outcome::NotStated, _) => Code::NotStated,
        (Outcome::AtRisk, _) => Code::AtRisk,
        _ => Code::Breaks,
    }
}

fn severity(code: Code, verb: Verb, allow_risk: bool) -> Severity {
    match (verb, code) {
        (Verb::Should, _) => Severity::Warning,
        (Verb::Shall, Code::AtRisk) if allow_risk => Severity::Warning,
        (Verb::Shall, _) => Severity::Error,
    }
}

/// The thing of `for each` in words.
pub(super) fn subject_words(context: &EvalContext<'_>, result: &RuleResult) -> Option<String> {
    result.each.map(|id| wording::thing(context, id))
}

/// The diagnostic for a result that does not hold; `None` for one that does or does not apply.
///
/// What repairs were found is put into `found`, with the place of the result.
pub(super) fn finding<'a>(
    context: &EvalContext<'a>,
    before: &'a Before<'a>,
    result: &RuleResult,
    depth: Depth,
    found: &mut Vec<(usize, Found<'a>)>,
) -> Option<Diagnostic> {
    let outcome = result.outcome();
    let Applied::To(verdict) = &result.applied else {
        return None;
    };
    if matches!(outcome, Outcome::Holds | Outcome::DoesNotApply) {
        return None;
    }
    let rule = &context.standard.rules[result.rule];
    let requirement = &rule.requirements[result.requirement];
    let binding = binding_of(result.each);
    let doubtful = doubtful(context, binding, rule, &requirement.condition, verdict);
    let comparison = decisive(context, binding, doubtful);
    let told = comparison.told(context, binding);
    let subject = subject_words(context, result);
    let source = requirement
        .per
        .as_ref()
        .or(rule.per.as_ref())
        .map(source_words);
    let mut facts = Finding {
        outcome,
        verb: requirement.verb,
        rule: rule.name.clone(),
        clause: u32::try_from(result.requirement + 1).unwrap_or(u32::MAX),
        title: rule.title.clone(),
        subject,
        quantity: told.quantity.clone(),
        value: told.value.clone(),
        limit: told.limit.clone(),
        margin: told.margin.clone(),
        decided_by: None,
        culprit: None,
        because: rule.because.clone(),
        when_out: rule
            .when_out
            .clone()
            .filter(|_| outcome != Outcome::NotStated),
        source,
        deviation: None,
    };
    let mut diagnostic = match verdict {
        Verdict::NotStated(gap) => {
            let place = limit_place(context, result);
            if place != requirement.span {
                facts.limit = None;
            }
            not_stated(context, binding, rule, place, gap, &mut facts)
        }
        _ => compared(
            context,
            before,
            (result, verdict),
            &comparison,
            &told,
            depth,
            &mut facts,
            found,
        ),
    };
    diagnostic.code = code(outcome, verdict);
    diagnostic.severity = severity(diagnostic.code, requirement.verb, depth.allow_risk);
    diagnostic.finding = Some(Box::new(facts));
    Some(diagnostic)
}

/// The condition to tell about: the requirement, or the `when` whose truth is in doubt.
fn doubtful<'e>(
    context: &EvalContext<'_>,
    binding: Binding,
    rule: &'e Rule,
    requirement: &'e Condition,
    verdict: &Verdict,
) -> &'e Condition {
    let conditions = Conditions::new(*context);
    if let Verdict::CannotWorkOut(_) = verdict {
        let stuck = |condition: &&Condition| {
            matches!(
                conditions.truth(binding, condition),
                crate::eval::Truth::CannotWorkOut(_)
            )
        };
        return rule.when.iter().find(stuck).unwrap_or(requirement);
    }
    requirement
}

#[allow(clippy::too_many_arguments)]
fn compared<'a>(
    context: &EvalContext<'a>,
    before: &'a Before<'a>,
    (result, verdict): (&RuleResult, &Verdict),
    comparison: &DecidingComparison<'_>,
    told: &Told,
    depth: Depth,
    facts: &mut Finding,
    found: &mut Vec<(usize, Found<'a>)>,
) -> Diagnostic {
    let rule = &context.standard.rules[result.rule];
    let requirement = &rule.requirements[result.requirement];
    let binding = binding_of(result.each);
    let goal = goal_of(rule, result.requirement);
    let doubt = UncertaintySource::of(context, binding, rule, result.requirement, verdict);
    let (mut measurements, mut order) = (Vec::new(), Vec::new());
    let decider = match verdict {
        Verdict::AtRisk(_) => {
            let mut rests_on = comparison.leaves(context, binding);
            rests_on.extend(doubt.leaves(context, binding));
            let decided = decided_by(context, binding, goal, comparison, &rests_on);
            facts.decided_by = Some(decided.words);
            if depth.repairs {
                measurements = measure::notes(context, binding, goal, comparison, &rests_on);
            }
            order = decided.order;
            decided.leaf
        }
        _ => None,
    };
    let Blame { leaf, span } = blame(context, binding, rule, comparison, decider);
    facts.culprit = leaf.map(|leaf| wording::setting(context, leaf));
    let sampled = matches!(verdict, Verdict::AtRisk(_)) && comparison.is_sampled(context, binding);
    let headline = match &doubt {
        UncertaintySource::None => headline(told, rule, verdict),
        _ => self::headline(told, rule, &Verdict::Breaks),
    };
    let here = match (&facts.culprit, verdict) {
        (Some(culprit), Verdict::Breaks) => format!("`{culprit}` breaks it"),
        (Some(culprit), Verdict::CannotWorkOut(_)) => format!("`{culprit}` goes into it"),
        (Some(culprit), _) if decider.is_none() && order.len() > 1 => {
            format!("`{culprit}` decides with others")
        }
        (Some(culprit), _) => format!("`{culprit}` decides"),
        (None, _) => "here".to_owned(),
    };
    let mut diagnostic = Diagnostic::new(Code::Breaks, span, headline, here);
    diagnostic = diagnostic.related(requirement.span, limit_label(rule, told));
    for (place, words) in limit_places(context, binding, comparison) {
        if place != requirement.span {
            diagnostic = diagnostic.related(place, words);
        }
    }
    if let Some((place, words)) = behind_dial(context, binding, comparison) {
        diagnostic = diagnostic.related(place, words);
    } else if let Some(odd) = odd_stated(context, binding, comparison, order) {
        diagnostic = diagnostic.related(odd.span, odd.label);
        if let (Verdict::AtRisk(_), Some(source)) = (verdict, odd.source) {
            diagnostic = diagnostic.note(source);
        }
    }
    if let Some((note, place, words)) = doubt.told(context, binding) {
        diagnostic = diagnostic.note(note).related(place, words);
    }
    if sampled {
        diagnostic = diagnostic.note("the figure was sampled, not exact: not every corner of its model could be shown to be the worst, so it is never the ground on which this holds");
    }
    for note in measurements {
        diagnostic = diagnostic.note(note);
    }
    if let Verdict::CannotWorkOut(words) = verdict {
        diagnostic = diagnostic.note(format!("it cannot be worked out: {words}"));
    }
    if depth.repairs && matches!(verdict, Verdict::Breaks | Verdict::AtRisk(_)) {
        let rests_on = comparison.leaves(context, binding);
        let place = before.place(result);
        found.extend(place.map(|place| (place, repairs(context, before, place, &rests_on))));
    }
    diagnostic
}

fn headline(told: &Told, rule: &Rule, verdict: &Verdict) -> String {
    let quantity = told.quantity.as_deref().unwrap_or("it");
    let name = &rule.name;
    match (&told.value, &told.limit, verdict) {
        (Some(value), Some(limit), Verdict::Breaks) => {
            format!("`{quantity}` is {value}; `{name}` wants {limit}")
        }
        (Some(value), Some(limit), Verdict::AtRisk(_)) if told.is_within() => {
            format!(
                "`{quantity}` is {value} where it was sampled; that it is {limit} everywhere, as `{name}` wants, is not shown"
            )
        }
        (Some(value), Some(limit), Verdict::AtRisk(_)) => {
            format!("`{quantity}` is {value}, and not all of that is {limit}, as `{name}` wants")
        }
        (_, Some(limit), Verdict::CannotWorkOut(_)) => {
            format!("`{quantity}` cannot be worked out; `{name}` wants {limit}")
        }
        (_, Some(limit), _) => format!("`{name}` wants {limit} for `{quantity}`"),
        _ => format!("`{name}` does not hold"),
    }
}

fn limit_label(rule: &Rule, told: &Told) -> String {
    match (&rule.title, &told.limit) {
        (Some(title), _) => crate::source::visible(title).into_owned(),
        (None, Some(limit)) => format!("wants {limit}"),
        (None, None) => "the requirement".to_owned(),
    }
}

/// How many values a comparison may rest on for one of the standard's to be worth showing unasked.
const FEW: usize = 6;

/// What is so behind a dial that reads wrong, where the comparison rests on one.
fn behind_dial(
    context: &EvalContext<'_>,
    binding: Binding,
    comparison: &DecidingComparison<'_>,
) -> Option<(Span, String)> {
    let mut leaves = comparison.leaves(context, binding).into_iter();
    leaves.find_map(|leaf| {
        let (shown, found, place) = wording::behind_dial(context, leaf)?;
        let name = wording::setting(context, leaf);
        Some((
            place,
            format!("`{name}` is {found} where its dial shows {shown}"),
        ))
    })
}

/// A value of the standard that the comparison rests on, to show beside the plan's: of those that
/// decide the one that matters most, else the first of a few.
fn odd_stated(
    context: &EvalContext<'_>,
    binding: Binding,
    comparison: &DecidingComparison<'_>,
    order: Vec<Leaf>,
) -> Option<Odd> {
    let mut leaves = order;
    let all = comparison.leaves(context, binding);
    if all.len() <= FEW {
        leaves.extend(all);
    }
    let leaf = leaves.into_iter().find(|leaf| {
        context
            .stated(leaf.target, leaf.field)
            .is_some_and(|stated| stated.origin == crate::types::Origin::Standard)
    })?;
    let stated = context.stated(leaf.target, leaf.field)?;
    let name = wording::setting(context, leaf);
    // A span is often kept because its sources disagree: then it is they who decide.
    let span = matches!(&stated.value, Value::Quantity(quantity)
        if quantity.tolerance.is_none() && quantity.low != quantity.high);
    let source = stated.per.as_ref().filter(|_| span).map(source_words);
    Some(Odd {
        span: stated.span,
        label: format!("`{name}` comes from here"),
        source: source.map(|source| format!("the span of `{name}` rests on: {source}")),
    })
}

/// A value of the standard to show beside the plan's.
struct Odd {
    span: Span,
    label: String,
    /// What its span rests on.
    source: Option<String>,
}

fn not_stated(
    context: &EvalContext<'_>,
    binding: Binding,
    rule: &Rule,
    requirement: Span,
    gap: &MissingValue,
    facts: &mut Finding,
) -> Diagnostic {
    let name = &rule.name;
    let place = gap.at.and_then(|target| match target {
        crate::types::Target::Thing(id) => context.run.instance(id).header,
        crate::types::Target::Record(id) => context.standard.record(id).header,
    });
    facts.quantity = Some(gap.path.clone());
    facts.value = Some("not stated".to_owned());
    facts.margin = None;
    let (Some(target), Some(field)) = (gap.at, gap.field) else {
        let words = gap
            .words
            .clone()
            .unwrap_or_else(|| format!("`{}` is not stated", gap.path));
        return Diagnostic::new(
            Code::NotStated,
            place.unwrap_or_else(|| subject_place(context, binding)),
            format!("`{name}` cannot be checked: {words}"),
            "missing here",
        )
        .related(requirement, "needed here")
        .help(
            gap.at
                .and_then(|at| which_record(context, at))
                .unwrap_or_else(|| format!("state `{}` in the plan", gap.path)),
        );
    };
    let instance = context.run.target(context.standard, target);
    let kind = context.standard.kind(instance.kind);
    let declared = context.standard.field(instance.kind, field);
    let owner = wording::target(context, target);
    facts.culprit = Some(wording::setting(
        context,
        crate::eval::Leaf { target, field },
    ));
    let stated = context.run.stated(context.standard, target, field);
    if let (Some(words), Some(stated)) = (&gap.words, stated) {
        // It is stated, and not in the way that is asked for.
        facts.value = Some("not stated so".to_owned());
        let help = match declared.measured() {
            Some(by) => {
                format!("measure it again ({by}), and write the day behind it: `read on …`")
            }
            None => "write behind it how far it may be off, as in `± 5 %`".to_owned(),
        };
        return Diagnostic::new(
            Code::NotStated,
            stated.span,
            format!("`{name}` cannot be checked: {words}"),
            "not good enough for it",
        )
        .related(requirement, "asked for here")
        .help(help);
    }
    let example = example(declared);
    let choice = choice(declared);
    let mut diagnostic = Diagnostic::new(
        Code::NotStated,
        place.unwrap_or(context.run.span),
        format!(
            "`{name}` cannot be checked: `{}` of {owner} is not stated",
            declared.name
        ),
        if place.is_some() {
            format!("`{}` is missing here", declared.name)
        } else {
            format!("this run has no `{}`", kind.name)
        },
    )
    .related(requirement, "needed here");
    let named = which_record(context, target);
    diagnostic = diagnostic.help(match (&instance.header, target) {
        (None, _) if named.is_some() => named.unwrap_or_default(),
        (None, _) => format!(
            "add a block `{} {{` with `{} {example}`{choice}",
            kind.name, declared.name
        ),
        (_, crate::types::Target::Record(_)) => format!(
            "add `{} {example}` to {owner} in the standard{choice}",
            declared.name
        ),
        (_, crate::types::Target::Thing(_)) => {
            format!("add `{} {example}` to {owner}{choice}", declared.name)
        }
    });
    if let Some(sentence) = &declared.sentence {
        diagnostic = diagnostic.note(format!(
            "`{}`: {}",
            declared.name,
            crate::source::visible(sentence)
        ));
    }
    diagnostic
}

/// How to say which of the standard's records a thing is of which a run has one, and the plan does not say it.
fn which_record(context: &EvalContext<'_>, target: crate::types::Target) -> Option<String> {
    let crate::types::Target::Thing(id) = target else {
        return None;
    };
    let instance = context.run.instance(id);
    let kind = context.standard.kind(instance.kind);
    let asked = kind.place == crate::types::PlaceInRun::One
        && instance.parent.is_none()
        && !instance.not_listed;
    let which = asked.then(|| super::given::which(context.standard, instance.kind))??;
    Some(format!(
        "write {which}; where it is none of them, write `{} is not listed {{` with what it needs",
        kind.name
    ))
}

/// What a value of a setting looks like.
pub(super) fn example(field: &Field) -> String {
    use crate::types::Reading;
    match &field.ty {
        Type::Quantity(measure) | Type::Range(measure) => match &measure.reading {
            Reading::Share => "… %".to_owned(),
            Reading::Count(Some(noun)) => format!("… {noun}"),
            Reading::Count(None) | Reading::Number => "…".to_owned(),
            Reading::Unit => match &field.possible {
                Some(possible) => format!("… {}", possible.unit.spelling()),
                None => format!(
                    "… {}",
                    crate::units::Unit::usual(measure.dimension).spelling()
                ),
            },
        },
        Type::Text => "\"…\"".to_owned(),
        Type::YesNo | Type::Day | Type::Choice(_) | Type::Reference(_) => "…".to_owned(),
    }
}

/// What there is to choose from. No one of them is offered: which is true is for the user to say.
pub(super) fn choice(field: &Field) -> String {
    match &field.ty {
        Type::YesNo => ": `yes` or `no`".to_owned(),
        Type::Day => ": a day, as in `2026-12-31`".to_owned(),
        Type::Choice(choices) => {
            let quoted: Vec<String> = choices.iter().map(|choice| format!("`{choice}`")).collect();
            format!(": one of {}", quoted.join(", "))
        }
        _ => String::new(),
    }
}
