//! What reports say of deviations.

use super::Outcome;
use crate::source::Span;
use crate::units::Exact;

/// How a deviation lets a requirement pass.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Excuse {
    /// Which deviation of the standard, from 0.
    pub number: usize,
    /// What the requirement comes to without it.
    pub without: Outcome,
    /// How far it permits to go: `up to 58 s`; `None` where it lets a rule pass as a whole.
    pub up_to: Option<String>,
    /// Its last day.
    pub until: String,
    /// Its reason.
    pub because: String,
    /// Who approved it.
    pub approved: String,
    /// Where it stands.
    pub span: Span,
    /// How much of it was needed.
    pub needed: Vec<Needed>,
}

/// How far a run went beyond a limit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Needed {
    /// Which `up to` of the deviation, from 0.
    pub up_to: usize,
    /// The value at the worst point, in SI base units.
    pub value: Exact,
    /// How far that is on the way from the rule's limit to the deviation's, in thousandths.
    pub thousandths: u32,
    /// Whether it lies above the rule's limit.
    pub above: bool,
}

/// What is to be said of a deviation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum DeviationState {
    /// Something is wrong with it; it lets nothing pass.
    Malformed,
    /// Its end has come; it lets nothing pass any more.
    Ended,
    /// It ends within 30 days.
    EndsSoon,
    /// It let nothing pass in all plans of the folder.
    Unused,
    /// It permits more than was needed.
    Wide,
    /// It is in force.
    Active,
}

impl DeviationState {
    /// The words people read.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Malformed => "malformed",
            Self::Ended => "ended",
            Self::EndsSoon => "ends soon",
            Self::Unused => "unused",
            Self::Wide => "wider than needed",
            Self::Active => "active",
        }
    }

    /// The word machines read.
    #[must_use]
    pub fn slug(self) -> &'static str {
        match self {
            Self::Malformed => "malformed",
            Self::Ended => "ended",
            Self::EndsSoon => "ends-soon",
            Self::Unused => "unused",
            Self::Wide => "wider-than-needed",
            Self::Active => "active",
        }
    }
}

/// A deviation, for views that list them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DeviationInfo {
    /// The rule's name as written.
    pub rule: String,
    /// Its title.
    pub title: Option<String>,
    /// The one run it is for.
    pub run: Option<String>,
    /// `dryer.dwell up to 58 s`
    pub up_to: Vec<String>,
    /// How many pieces it is for at most.
    pub pieces: Option<String>,
    /// Its reason.
    pub because: Option<String>,
    /// Who approved it.
    pub approved: Option<String>,
    /// Its last day.
    pub until: Option<String>,
    /// Days from the day of the check to its last day; below zero when that is past.
    pub days_left: Option<i64>,
    /// What is to be said of it, the most pressing first; never empty.
    pub states: Vec<DeviationState>,
    /// How many checks it let pass.
    pub checks: usize,
    /// In how many plans.
    pub plans: usize,
    /// What would do, where it is wider than needed: `dryer.dwell up to 61.2 s`.
    pub would_do: Vec<String>,
    /// Where it stands.
    pub span: Span,
}
