//! Whether what an example expects happens, and what happened instead.

use crate::diagnostic::Outcome;
use crate::eval::{Aim, Conditions, EvalContext, range};
use crate::names::did_you_mean;
use crate::types::{
    ConditionNode, Expectation, ExpectedValue, FieldId, InstanceId, KindId, Standard, Target,
};

use super::super::blame::blame;
use super::super::deciding_comparison::decisive;
use super::super::finding::{Depth, finding, subject_words};
use super::super::impact::{Before, Reach};
use super::super::outcome::{Applied, RuleResult, binding as binding_of, of_rule};
use super::super::plan::why;
use super::super::wording;

/// An expectation that failed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Miss {
    /// Index into the expectations.
    pub(super) index: usize,
    /// What happened instead.
    pub(super) instead: String,
}

/// What one rule comes to on a run.
pub(super) fn outcomes(context: &EvalContext<'_>, rule: usize) -> Vec<RuleResult> {
    let mut results = Vec::new();
    of_rule(&Conditions::new(*context), context, rule, &mut results);
    results
}

/// The thing of a rule's `for each` with this name, or `step-2` for the second step.
pub(super) fn thing(context: &EvalContext<'_>, kind: KindId, name: &str) -> Option<InstanceId> {
    let things = context.run.many.get(kind.0 as usize)?;
    let mut things = things.iter().copied();
    things.find(|id| name_of(context, *id).as_deref() == Some(name))
}

/// How an example names a thing.
pub(super) fn name_of(context: &EvalContext<'_>, id: InstanceId) -> Option<String> {
    if let Some(place) = context.place(Target::Thing(id)) {
        return Some(format!("step-{}", place + 1));
    }
    let name = &context.run.instance(id).name;
    (!name.is_empty()).then(|| name.clone())
}

/// Which expectations on one rule fail.
///
/// What is expected of a rule and a thing is all there is: an outcome that comes and is not expected fails too.
/// Only things that the rule does not apply to need no mention.
pub(super) fn misses(
    context: &EvalContext<'_>,
    reach: &Reach,
    expectations: &[Expectation],
    rule: usize,
) -> Vec<Miss> {
    let all = outcomes(context, rule);
    let look = Look {
        context,
        reach,
        all,
    };
    let each = context.standard.rules[rule].each;
    let mine = || {
        let numbered = expectations.iter().enumerate();
        numbered.filter(|(_, expected)| expected.rule == rule)
    };
    let find = |expected: &Expectation| {
        let name = expected.thing.as_deref()?;
        thing(context, each?, name)
    };
    let named: Vec<InstanceId> = mine().filter_map(|(_, expected)| find(expected)).collect();
    let mut missed = Vec::new();
    for (index, expected) in mine() {
        let mut miss = |instead| missed.push(Miss { index, instead });
        let found = find(expected);
        if let (Some(name), None) = (&expected.thing, found) {
            miss(nobody(context, each, name));
            continue;
        }
        let inside = |result: &&RuleResult| match found {
            Some(_) => result.each == found,
            None => result.each.is_none_or(|id| !named.contains(&id)),
        };
        let scope: Vec<&RuleResult> = look.all.iter().filter(inside).collect();
        let same = |result: &&&RuleResult| result.outcome() == expected.outcome;
        let suits = |result: &&RuleResult| look.suits(result, expected);
        let came: Vec<&RuleResult> = scope.iter().filter(same).copied().collect();
        match came.first() {
            None => miss(look.told(scope.first().copied())),
            Some(first) if !came.iter().any(suits) => miss(look.told_at(first, expected)),
            Some(_) => {}
        }
        // Said once for a thing, at the first expectation of it.
        let of_thing = |other: &&Expectation| other.rule == rule && other.thing == expected.thing;
        if !expectations[..index].iter().any(|other| of_thing(&other)) {
            let wanted: Vec<Outcome> = mine()
                .filter(|(_, other)| of_thing(other))
                .map(|(_, other)| other.outcome)
                .collect();
            let stray = |result: &&&RuleResult| {
                let outcome = result.outcome();
                outcome != Outcome::DoesNotApply && !wanted.contains(&outcome)
            };
            if !came.is_empty()
                && let Some(stray) = scope.iter().find(stray)
            {
                let also = look.told(Some(stray)).replacen("it ", "it also ", 1);
                missed.push(Miss {
                    index,
                    instead: also,
                });
            }
        }
    }
    missed
}

fn nobody(context: &EvalContext<'_>, each: Option<KindId>, name: &str) -> String {
    let Some(kind) = each else {
        return format!("there is no `{name}`");
    };
    let things = context.run.many.get(kind.0 as usize);
    let things = things.into_iter().flatten();
    let names: Vec<String> = things.filter_map(|id| name_of(context, *id)).collect();
    let help = did_you_mean(name, names.iter().map(String::as_str));
    let kind = &context.standard.kind(kind).name;
    match help {
        Some(help) => format!("the run has no {kind} `{name}`; {help}"),
        None => format!("the run has no {kind} `{name}`"),
    }
}

struct Look<'a> {
    context: &'a EvalContext<'a>,
    reach: &'a Reach,
    all: Vec<RuleResult>,
}

impl Look<'_> {
    /// Whether setting and value are those expected.
    fn suits(&self, result: &RuleResult, expected: &Expectation) -> bool {
        let at = expected.at.is_none_or(|(kind, field)| {
            let culprit = self.culprit(result);
            culprit.is_some_and(|words| self.is_setting(&words, kind, field))
        });
        at && expected
            .value
            .as_ref()
            .is_none_or(|value| self.is_value(result, value))
    }

    /// Whether words such as `dryer.belt` or `screen base: tension` mean a setting of this kind.
    fn is_setting(&self, words: &str, kind: KindId, field: FieldId) -> bool {
        let name = &self.context.standard.field(kind, field).name;
        let kind = &self.context.standard.kind(kind).name;
        let owner = match words.split_once(": ") {
            Some((owner, found)) if found == name => owner,
            Some(_) => return false,
            None => return words == format!("{kind}.{name}"),
        };
        owner
            .strip_prefix(kind.as_str())
            .is_some_and(|rest| rest.is_empty() || rest.starts_with([' ', ',']))
    }

    /// The setting that decides, as `check` names it.
    fn culprit(&self, result: &RuleResult) -> Option<String> {
        if let Some(facts) = self.facts(result) {
            return facts.culprit;
        }
        if !matches!(result.applied, Applied::To(_)) {
            return None;
        }
        let rule = &self.context.standard.rules[result.rule];
        let binding = binding_of(result.each);
        let requirement = &rule.requirements[result.requirement].condition;
        let comparison = decisive(self.context, binding, requirement);
        let blamed = blame(self.context, binding, rule, &comparison, None);
        blamed.leaf.map(|leaf| wording::setting(self.context, leaf))
    }

    fn facts(&self, result: &RuleResult) -> Option<crate::diagnostic::Finding> {
        let found = self.finding(result)?;
        found.finding.map(|facts| *facts)
    }

    fn finding(&self, result: &RuleResult) -> Option<crate::diagnostic::Diagnostic> {
        // An example is about the rules themselves, without deviations.
        let before = Before::new(*self.context, &self.all, self.reach, &[], None);
        let depth = Depth {
            repairs: false,
            allow_risk: false,
        };
        finding(self.context, &before, result, depth, &mut Vec::new())
    }

    /// The value as it would be shown in a unit; a word as it stands.
    fn value(&self, result: &RuleResult, unit: Option<&crate::units::Unit>) -> Option<String> {
        if !matches!(result.applied, Applied::To(_)) {
            return None;
        }
        let rule = &self.context.standard.rules[result.rule];
        let binding = binding_of(result.each);
        let requirement = &rule.requirements[result.requirement].condition;
        let comparison = decisive(self.context, binding, requirement);
        let subject = match &comparison.condition.node {
            ConditionNode::Compare { left, .. } => Some(left),
            ConditionNode::Within { subject, .. } => Some(subject),
            _ => None,
        };
        match (subject, unit) {
            (Some(subject), Some(unit)) => {
                if subject.dimension != unit.dimension() {
                    return None;
                }
                let found = range(self.context, binding, Aim::value(subject)).ok()?;
                Some(wording::shown(&found, unit))
            }
            (Some(_), None) => None,
            (None, _) => comparison.told(self.context, binding).value,
        }
    }

    fn is_value(&self, result: &RuleResult, expected: &ExpectedValue) -> bool {
        let Some(shown) = self.value(result, expected.unit.as_ref()) else {
            return false;
        };
        // A record is shown with its kind: `ink soft-white`.
        shown == expected.words
            || expected.unit.is_none()
                && shown
                    .rsplit_once(' ')
                    .is_some_and(|(_, name)| name == expected.words)
    }

    /// A result as a sentence.
    fn told(&self, result: Option<&RuleResult>) -> String {
        let Some(result) = result else {
            return "it says nothing of it".to_owned();
        };
        let outcome = match result.outcome() {
            Outcome::AtRisk => "it is at risk",
            Outcome::NotStated => "it is not stated",
            Outcome::Breaks => "it breaks",
            Outcome::Holds => "it holds",
            Outcome::DoesNotApply => "it does not apply",
        };
        let subject = subject_words(self.context, result);
        let subject = subject
            .map(|words| format!(" for {words}"))
            .unwrap_or_default();
        let (at, why) = match self.finding(result) {
            Some(found) => {
                let culprit = found.finding.and_then(|facts| facts.culprit);
                let at = culprit.map(|words| format!(" at `{words}`"));
                (at.unwrap_or_default(), found.headline)
            }
            None => (String::new(), why(self.context, result)),
        };
        format!("{outcome}{subject}{at}: {why}")
    }

    /// The same where the outcome is the one expected, but not setting or value.
    fn told_at(&self, result: &RuleResult, expected: &Expectation) -> String {
        let told = self.told(Some(result));
        let unit = expected
            .value
            .as_ref()
            .and_then(|value| value.unit.as_ref());
        match (&expected.value, self.value(result, unit)) {
            (Some(_), Some(shown)) => format!("{told}; the value found is {shown}"),
            _ => told,
        }
    }
}

/// An expectation in words.
pub(in super::super) fn expected_words(standard: &Standard, expected: &Expectation) -> String {
    let mut text = format!(
        "{} {}",
        standard.rules[expected.rule].name,
        expected.outcome.word()
    );
    if let Some(thing) = &expected.thing {
        text.push_str(&format!(" for {thing}"));
    }
    if let Some((kind, field)) = expected.at {
        let kind_name = &standard.kind(kind).name;
        text.push_str(&format!(
            " at {kind_name}.{}",
            standard.field(kind, field).name
        ));
    }
    if let Some(value) = &expected.value {
        text.push_str(&format!(" with {}", value.words));
    }
    text
}
