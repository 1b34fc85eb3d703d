//! What the examples of a standard came to, and what they pin.

use super::{Counts, Outcome, StandardReport};
use crate::source::{FileId, Span};

/// The outcome of `strikeoff test` for one standard.
#[derive(Debug, Clone)]
pub struct ExamplesReport {
    /// The standard.
    pub standard: StandardReport,
    /// Its examples, in the order written.
    pub examples: Vec<ExampleResult>,
    /// Its rules, in the order written, with the outcomes that were expected and came.
    pub rules: Vec<RuleSeen>,
    /// What no example notices, and the texts that would.
    pub pins: Pins,
}

/// One example.
#[derive(Debug, Clone)]
pub struct ExampleResult {
    /// Its name.
    pub name: String,
    /// Its title.
    pub title: Option<String>,
    /// Where its name stands.
    pub span: Span,
    /// Its plan.
    pub plan: FileId,
    /// How many expectations it has.
    pub expected: usize,
    /// What did not happen.
    pub failed: Vec<Missed>,
}

/// An expectation that failed.
#[derive(Debug, Clone)]
pub struct Missed {
    /// The `expect` line.
    pub span: Span,
    /// The rule.
    pub rule: String,
    /// Where the rule stands.
    pub rule_span: Span,
    /// What was expected, in words.
    pub expected: String,
    /// What happened instead: a sentence.
    pub instead: String,
}

/// How often each outcome of a rule was expected and came.
#[derive(Debug, Clone)]
pub struct RuleSeen {
    /// The rule.
    pub name: String,
    /// Where its name stands.
    pub span: Span,
    /// How often.
    pub seen: Counts,
}

/// What the examples pin.
#[derive(Debug, Clone, Default)]
pub struct Pins {
    /// How many changes of the standard were tried.
    pub tried: usize,
    /// How many of them an example notices.
    pub noticed: usize,
    /// The others.
    pub holes: Vec<Hole>,
    /// Texts that would close holes.
    pub closings: Vec<Closing>,
    /// How many limits were left out as they stand in specs that ship.
    pub shipped: usize,
    /// Changes left out, as no possible run could tell them from what stands there.
    pub beyond: usize,
    /// Limits of the standard that no rule reads.
    pub unread: Vec<(Span, String)>,
}

/// The sorts of change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Nudge {
    /// A limit one step higher.
    Up,
    /// A limit one step lower.
    Down,
    /// A comparison turned round: `at least` to `at most`, `is` to `is not`.
    Flipped,
    /// The limit itself taken out or in: `at least` to `above`.
    Edge,
    /// A `when` left out.
    Dropped,
}

impl Nudge {
    /// The word machines read.
    #[must_use]
    pub fn slug(self) -> &'static str {
        match self {
            Self::Up => "up",
            Self::Down => "down",
            Self::Flipped => "flipped",
            Self::Edge => "edge",
            Self::Dropped => "dropped",
        }
    }
}

/// A change that no example notices.
#[derive(Debug, Clone)]
pub struct Hole {
    /// The rule or record it is in: `rule enough-tension`, `ink soft-white`.
    pub owner: String,
    /// The limit or condition.
    pub span: Span,
    /// The sort of change.
    pub nudge: Nudge,
    /// The change in words: `15 N/cm could be 16 N/cm`.
    pub words: String,
    /// Index into [`Pins::closings`] of the text that closes it; `None` when none was found.
    pub closed_by: Option<usize>,
}

/// A plan and an example that close holes.
#[derive(Debug, Clone)]
pub struct Closing {
    /// The name of the example.
    pub name: String,
    /// Where the plan would be written; `None` when a plan that is there already does.
    pub path: Option<String>,
    /// The text of the plan, where it is new.
    pub plan: Option<String>,
    /// The example.
    pub block: String,
}

impl ExamplesReport {
    /// How many examples failed.
    #[must_use]
    pub fn failed(&self) -> usize {
        let failed = |result: &&ExampleResult| !result.failed.is_empty();
        self.examples.iter().filter(failed).count()
    }
}

impl RuleSeen {
    /// The outcomes that were seen, with how often, in the order of the totals line.
    pub fn outcomes(&self) -> impl Iterator<Item = (Outcome, u64)> + '_ {
        let all = Outcome::ALL.into_iter();
        all.map(|outcome| (outcome, self.seen.of(outcome)))
            .filter(|(_, count)| *count > 0)
    }
}
