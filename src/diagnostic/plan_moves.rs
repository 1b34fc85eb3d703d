//! How plans fare under the old and the new edition of a standard.

use super::{Outcome, Verb, Verdict};
use crate::source::Span;

/// All plans that were looked at.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PlanMoves {
    /// How many plans were checked against both editions.
    pub compared: usize,
    /// Those that fare otherwise, worst first: no longer passing, no longer to be checked, passing now,
    /// then those whose verdict stays.
    pub moved: Vec<PlanMove>,
    /// Plans that neither edition could check, with the reason.
    pub unchecked: Vec<Unchecked>,
    /// How many plans are against a standard that is not compared.
    pub elsewhere: usize,
}

impl PlanMoves {
    /// How many plans went one way.
    #[must_use]
    pub fn count(&self, way: Way) -> usize {
        self.moved.iter().filter(|plan| plan.way() == way).count()
    }
}

/// A plan that could be checked against neither edition.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unchecked {
    /// Its file.
    pub path: String,
    /// The first thing in the way.
    pub why: String,
}

/// Which way a plan went. In the order they are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Way {
    /// It passed, and does not pass any more.
    Lost,
    /// It was checked, and cannot be checked any more.
    Unreadable,
    /// It did not pass, and passes now.
    Gained,
    /// It could not be checked, and can be now.
    Readable,
    /// It does not pass, for other reasons than before.
    StillFails,
    /// It passes as before, and something that only warns has changed.
    StillPasses,
}

impl Way {
    /// All, in the order they are told.
    pub const ALL: [Self; 6] = [
        Self::Lost,
        Self::Unreadable,
        Self::Gained,
        Self::Readable,
        Self::StillFails,
        Self::StillPasses,
    ];

    /// The word people read.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Lost => "newly failing",
            Self::Unreadable => "no longer checked",
            Self::Gained => "newly passing",
            Self::Readable => "newly checked",
            Self::StillFails => "failing as before, for other reasons",
            Self::StillPasses => "passing as before, with other warnings",
        }
    }

    /// The word machines read.
    #[must_use]
    pub fn slug(self) -> &'static str {
        match self {
            Self::Lost => "lost",
            Self::Unreadable => "unreadable",
            Self::Gained => "gained",
            Self::Readable => "readable",
            Self::StillFails => "still-fails",
            Self::StillPasses => "still-passes",
        }
    }
}

/// A plan that fares otherwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanMove {
    /// Its file.
    pub path: String,
    /// The run's name.
    pub name: String,
    /// The verdict under the old edition.
    pub old: Verdict,
    /// The verdict under the new one.
    pub new: Verdict,
    /// What changed, worst first.
    pub rules: Vec<RuleMove>,
    /// Why it cannot be checked under the edition that does not read it.
    pub why: Option<String>,
}

impl PlanMove {
    /// Which way it went.
    #[must_use]
    pub fn way(&self) -> Way {
        match (self.old, self.new) {
            (Verdict::Passes, Verdict::Fails) => Way::Lost,
            (_, Verdict::NotChecked) => Way::Unreadable,
            (Verdict::NotChecked, _) => Way::Readable,
            (Verdict::Fails, Verdict::Passes) => Way::Gained,
            (Verdict::Fails, Verdict::Fails) => Way::StillFails,
            (Verdict::Passes, Verdict::Passes) => Way::StillPasses,
        }
    }
}

/// A rule that comes to something else on a thing of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleMove {
    /// The rule's name, in the new edition where it has it.
    pub rule: String,
    /// The thing; `None` for the run as a whole.
    pub subject: Option<String>,
    /// The worst that came of it under the old edition; `None` where that has no such rule.
    pub old: Option<Fared>,
    /// The same under the new one.
    pub new: Option<Fared>,
}

/// What came of a rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fared {
    /// What came out.
    pub outcome: Outcome,
    /// `shall` or `should`.
    pub verb: Verb,
    /// Why, in a few words.
    pub why: String,
    /// The requirement's line.
    pub span: Span,
}

impl Fared {
    /// The worse, the smaller: what fails, then what warns, then what is as it should be.
    #[must_use]
    pub fn rank(&self) -> (bool, Verb, Outcome) {
        let fine = matches!(self.outcome, Outcome::Holds | Outcome::DoesNotApply);
        (fine, self.verb, self.outcome)
    }
}
