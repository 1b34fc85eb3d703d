//! From a place that a search found to a plan that shows it: written, read back, and checked.

use crate::diagnostic::Severity;
use crate::eval::setting_aside;
use crate::names::plan_scope;
use crate::source::FileId;
use crate::syntax;
use crate::types::{Run, Standard, build_run};
use crate::units::{Exact, Unit, show_exact};

/// The most characters of a number that people are shown as a value to write.
const LONGEST_NUMBER: usize = 24;

/// Reads a plan back and says what it comes to; `None` where it does not show what it should.
pub(crate) trait Judge {
    /// What a plan comes to.
    type Verdict;

    /// Reads and checks a text.
    fn judge(&self, text: &str) -> Option<Self::Verdict>;
}

/// A plan that was read back, and checked.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Witness<V> {
    text: String,
    verdict: V,
}

impl<V> Witness<V> {
    /// A text, if it shows what it should.
    pub(crate) fn checked(judge: &impl Judge<Verdict = V>, text: String) -> Option<Self> {
        let verdict = judge.judge(&text)?;
        Some(Self { text, verdict })
    }

    /// The plan, and what it came to.
    pub(crate) fn into_parts(self) -> (String, V) {
        (self.text, self.verdict)
    }
}

/// A run from the text of a plan, if nothing is wrong with it.
pub(crate) fn read_run(standard: &Standard, text: &str) -> Option<Run> {
    // The text is in no store: nothing is said of it, so that its number is never looked up.
    let file = FileId(u32::MAX);
    let parsed = syntax::parse(file, text);
    if !parsed.problems.is_empty() {
        return None;
    }
    let (scope, misplaced) = plan_scope(&parsed.tree);
    let mut problems = misplaced;
    let run = setting_aside(standard, build_run(file, standard, &scope, &mut problems));
    let error = problems.iter().any(|said| said.severity == Severity::Error);
    (!error).then_some(run)
}

/// A number in a unit that reads back as just this value; `None` where it has no short decimal.
fn written(value: &Exact, unit: &Unit) -> Option<String> {
    let number = unit.from_base(value).decimal()?;
    if number.len() > LONGEST_NUMBER {
        return None;
    }
    Some(match unit.spelling() {
        "" => number,
        spelling => format!("{number} {spelling}"),
    })
}

/// A value as a plan states it: in a unit, in the usual one of its dimension, or in the SI one.
pub(crate) fn written_value(value: &Exact, unit: &Unit) -> String {
    written(value, unit)
        .or_else(|| written(value, &Unit::usual(unit.dimension())))
        .or_else(|| written(value, &Unit::si(unit.dimension())))
        .unwrap_or_else(|| show_exact(value, unit))
}
