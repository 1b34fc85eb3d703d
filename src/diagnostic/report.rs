//! What a whole check found: the input of every view.

use super::{DeviationInfo, Diagnostic, Lacking, Margins, Repair};
use crate::source::{FileId, Span};

/// What came out of one requirement on one thing. See the README for the exit codes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Outcome {
    /// Breaks at every point inside the stated tolerances.
    Breaks,
    /// Holds somewhere and breaks somewhere inside them, or cannot be shown.
    AtRisk,
    /// A value it needs is missing.
    NotStated,
    /// Holds at every point.
    Holds,
    /// Its `when` is false, or there is nothing it speaks of.
    DoesNotApply,
}

impl Outcome {
    /// All five, in the order of the totals line.
    pub const ALL: [Self; 5] = [
        Self::Holds,
        Self::Breaks,
        Self::AtRisk,
        Self::NotStated,
        Self::DoesNotApply,
    ];

    /// The word people read: `holds`, `breaks`, `at risk`, `not stated`, `does not apply`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Breaks => "breaks",
            Self::AtRisk => "at risk",
            Self::NotStated => "not stated",
            Self::Holds => "holds",
            Self::DoesNotApply => "does not apply",
        }
    }

    /// The word machines read: the same with hyphens.
    #[must_use]
    pub fn slug(self) -> &'static str {
        match self {
            Self::Breaks => "breaks",
            Self::AtRisk => "at-risk",
            Self::NotStated => "not-stated",
            Self::Holds => "holds",
            Self::DoesNotApply => "does-not-apply",
        }
    }
}

/// The verb of a requirement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Verb {
    /// A break fails the check.
    Shall,
    /// A break warns.
    Should,
}

impl Verb {
    /// `shall` or `should`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Shall => "shall",
            Self::Should => "should",
        }
    }
}

/// How often each outcome came up.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    counts: [u64; 5],
}

impl Counts {
    /// Counts one more.
    pub fn add(&mut self, outcome: Outcome) {
        self.counts[outcome as usize] += 1;
    }

    /// Adds all of another.
    pub fn merge(&mut self, other: &Self) {
        for (mine, theirs) in self.counts.iter_mut().zip(other.counts) {
            *mine += theirs;
        }
    }

    /// How often this one came up.
    #[must_use]
    pub fn of(&self, outcome: Outcome) -> u64 {
        self.counts[outcome as usize]
    }

    /// How many in all.
    #[must_use]
    pub fn total(&self) -> u64 {
        self.counts.iter().sum()
    }
}

/// One requirement on one thing, whatever came out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Check {
    /// The rule's name.
    pub rule: String,
    /// Which requirement of the rule, from 1.
    pub clause: u32,
    /// The thing it was about; `None` for the run as a whole.
    pub subject: Option<String>,
    /// `shall` or `should`.
    pub verb: Verb,
    /// What came out.
    pub outcome: Outcome,
    /// Why, in a few words: the values compared, the part of `when` that is false, the missing value.
    pub why: String,
    /// The requirement's line in the standard.
    pub span: Span,
}

/// A caution that fits the run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// Its name.
    pub name: String,
    /// What it says.
    pub words: String,
    /// What it rests on.
    pub source: Option<String>,
}

/// What is known of a standard that plans were checked against.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StandardReport {
    /// Its root file.
    pub file: FileId,
    /// Its name.
    pub name: String,
    /// Its edition.
    pub edition: Option<String>,
    /// Digest of the meaning, lower-case hex, 64 digits.
    pub digest: String,
    /// How many rules it has.
    pub rules: usize,
    /// Every rule once: name, title, because, source, line; in the order of the standard.
    pub rule_list: Vec<RuleInfo>,
    /// Every deviation with its state over the plans of this call, in the order of the standard.
    pub deviations: Vec<DeviationInfo>,
}

/// A rule, for views that list rules.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleInfo {
    /// Its name.
    pub name: String,
    /// Its title.
    pub title: Option<String>,
    /// Its reason.
    pub because: Option<String>,
    /// What it rests on.
    pub source: Option<String>,
    /// Where its name stands.
    pub span: Span,
}

/// What came out for one plan.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanReport {
    /// The plan's file.
    pub file: FileId,
    /// The run's name; empty when it could not be read.
    pub name: String,
    /// Index into [`Report::standards`]; `None` when the standard could not be read.
    pub standard: Option<usize>,
    /// Whether any rule ran. `false`: trouble with the text, nothing was checked.
    pub checked: bool,
    /// Requirements on things, in the order of the standard: all of them when reasons were asked for,
    /// else those that need a look. `counts` always counts all.
    pub checks: Vec<Check>,
    /// Totals of `checks`.
    pub counts: Counts,
    /// Findings and other diagnostics about this plan, worst first.
    pub diagnostics: Vec<Diagnostic>,
    /// Cautions that fit.
    pub cautions: Vec<Caution>,
    /// What makes the whole run hold, where several things do not; `None` where there is nothing to say of it.
    pub whole: Option<WholeRun>,
    /// How far the settings may drift; `None` where that was not asked for.
    pub margins: Option<Margins>,
    /// All that it does not state and its rules wait for; `None` where nothing waits.
    pub lacking: Option<Lacking>,
    /// Steps of work that were counted, each about one operation on two intervals; no view shows them.
    pub work: u64,
}

/// What makes the whole run hold.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct WholeRun {
    /// The change; `None` where none was found.
    pub repair: Option<Repair>,
    /// What is to be said of it: what stays, or why there is none.
    pub said: Option<String>,
}

/// Everything a call found.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Report {
    /// Trouble with standards and files, not with one plan.
    pub diagnostics: Vec<Diagnostic>,
    /// The standards, each once.
    pub standards: Vec<StandardReport>,
    /// The plans, in the order given.
    pub plans: Vec<PlanReport>,
    /// The date used, `2026-11-25`.
    pub date: String,
    /// Whether `at risk` passes (`--allow-risk`).
    pub allow_risk: bool,
}

impl Report {
    /// Totals over all plans.
    #[must_use]
    pub fn counts(&self) -> Counts {
        let mut counts = Counts::default();
        for plan in &self.plans {
            counts.merge(&plan.counts);
        }
        counts
    }

    /// All diagnostics: those of the files first, then plan by plan.
    pub fn all_diagnostics(&self) -> impl Iterator<Item = &Diagnostic> {
        self.diagnostics
            .iter()
            .chain(self.plans.iter().flat_map(|plan| &plan.diagnostics))
    }
}
