//! What a careful reader would ask of each rule and record: why, on whose word, and whether it agrees with itself.

use std::collections::BTreeSet;

use super::finding;
use super::symbolic_run::SymbolicRun;
use crate::diagnostic::{Code, Diagnostic, Evidence, ReviewFinding};
use crate::eval::{Aim, Binding, EvalContext, range};
use crate::source::visible;
use crate::types::{RecordId, RuleForm, Standard, Target, Value};
use crate::units::{show_bounds, show_exact};

/// The fewest words that can be a reason.
const FEWEST_WORDS: usize = 2;

/// Whether a text says something.
pub(super) fn says_something(text: &str) -> bool {
    let words = text
        .split_whitespace()
        .filter(|word| word.chars().any(char::is_alphanumeric));
    words.count() >= FEWEST_WORDS
}

/// Rules without a reason, and limits loosened without one.
pub(super) fn reasons(standard: &Standard) -> Vec<ReviewFinding> {
    let mut found = Vec::new();
    for rule in standard
        .rules
        .iter()
        .filter(|rule| rule.form == RuleForm::Rule)
    {
        if rule
            .because
            .as_ref()
            .is_some_and(|text| says_something(text))
        {
            continue;
        }
        let said = Diagnostic::new(
            Code::NoReason,
            rule.span,
            format!("`{}` does not say why", rule.name),
            "no reason",
        );
        found.push(finding(said.help("add `because \"…\"`"), Evidence::Read));
    }
    for record in &standard.records {
        let fields = &standard.kind(record.kind).fields;
        for (stated, field) in record.values.iter().zip(fields) {
            let Some(stated) = stated else { continue };
            let Some(reason) = &stated.loosened else {
                continue;
            };
            if says_something(reason) {
                continue;
            }
            let headline = format!(
                "`{}` of `{}` is loosened for no reason that can be weighed",
                field.name,
                visible(&record.name)
            );
            let said = Diagnostic::new(
                Code::LoosenedWithoutReason,
                stated.span,
                headline,
                "wider than its parent's",
            );
            let next = "say behind `because` which trial, order or sheet allows it";
            found.push(finding(said.help(next), Evidence::Read));
        }
    }
    found
}

/// Records that state a value which their other settings contradict.
pub(super) fn records(standard: &Standard) -> Vec<ReviewFinding> {
    let empty = SymbolicRun::new(standard, &BTreeSet::new());
    let context = EvalContext::new(standard, &empty.run);
    let mut found = Vec::new();
    for (index, record) in standard.records.iter().enumerate() {
        let id = RecordId(u32::try_from(index).unwrap_or(u32::MAX));
        let binding = Binding {
            own: Some(Target::Record(id)),
            ..Binding::default()
        };
        let kind = standard.kind(record.kind);
        for (stated, field) in record.values.iter().zip(&kind.fields) {
            let (Some(stated), Some(formula)) = (stated, &field.formula) else {
                continue;
            };
            let Value::Quantity(quantity) = &stated.value else {
                continue;
            };
            let Ok(worked_out) = range(&context, binding, Aim::value(formula)) else {
                continue;
            };
            // A stated value counts as written: half a unit of its last digit either way.
            let low = quantity.low.sub(&quantity.resolution);
            let high = quantity.high.add(&quantity.resolution);
            let apart = match &worked_out.exact {
                Some((least, most)) => high < *least || low > *most,
                None => {
                    high.outward().0 < worked_out.bounds.lo
                        || low.outward().1 > worked_out.bounds.hi
                }
            };
            if worked_out.sampled || !apart {
                continue;
            }
            let bounds = worked_out.bounds;
            let headline = format!(
                "`{}` of {} `{}` is stated as {}, but its other settings give {}",
                field.name,
                kind.name,
                visible(&record.name),
                show_exact(&quantity.nominal, &quantity.unit),
                show_bounds(bounds.lo, bounds.hi, &quantity.unit)
            );
            let said = Diagnostic::new(Code::RecordDisagrees, stated.span, headline, "stated here")
                .related(formula.span, "worked out by this formula")
                .help("look the sheet up again: this value or one behind the formula is wrong");
            found.push(finding(said, Evidence::Proved));
        }
    }
    found
}

/// What was said when the text was read: that still stands.
pub(super) fn read(problems: &[Diagnostic]) -> Vec<ReviewFinding> {
    let plain = |said: &Diagnostic| finding(said.clone(), Evidence::Read);
    problems.iter().map(plain).collect()
}

#[cfg(test)]
mod tests {
    use super::says_something;

    #[test]
    fn a_reason_has_words() {
        assert!(says_something("tried in March, order 2511"));
        for nothing in ["", " ", "-", "n/a", "…", "because", "- -"] {
            assert!(!says_something(nothing), "{nothing}");
        }
    }
}
