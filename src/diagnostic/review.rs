//! What a review of a standard found: the input of its views.

use super::{Counts, Diagnostic, Severity};
use crate::source::FileId;

/// What an answer stands on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Evidence {
    /// Nothing else exists in the ranges that the settings allow.
    Proved,
    /// Neither.
    NotDecided,
    /// It stands in the text so.
    Read,
}

impl Evidence {
    /// The word people and machines read.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Proved => "proved",
            Self::NotDecided => "not decided",
            Self::Read => "read",
        }
    }
}

/// A run that shows something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Witness {
    /// What it shows, in words.
    pub words: String,
    /// The run as the text of a plan.
    pub plan: String,
    /// What came out when it was checked.
    pub counts: Counts,
}

/// One thing a review found.
#[derive(Debug, Clone, PartialEq)]
pub struct ReviewFinding {
    /// What is wrong, where, and what to do next.
    pub said: Diagnostic,
    /// What it stands on.
    pub ground: Evidence,
    /// What `members` are: `combination`, `setting`.
    pub noun: &'static str,
    /// All it is about, where that is more than its places show.
    pub members: Vec<String>,
    /// A run that shows it.
    pub witness: Option<Witness>,
}

/// What a review of one standard found.
#[derive(Debug, Clone, PartialEq)]
pub struct Review {
    /// The standard's root file.
    pub file: FileId,
    /// Its name.
    pub name: String,
    /// Its edition.
    pub edition: Option<String>,
    /// Digest of the meaning, lower-case hex, 64 digits.
    pub digest: String,
    /// How many requirements were looked at.
    pub requirements: usize,
    /// How many combinations of records they were looked at in, over all groups of requirements.
    pub combinations: usize,
    /// Findings, worst first.
    pub findings: Vec<ReviewFinding>,
}

impl Review {
    /// How many findings are as bad as this.
    #[must_use]
    pub fn count(&self, severity: Severity) -> usize {
        let same = |finding: &&ReviewFinding| finding.said.severity == severity;
        self.findings.iter().filter(same).count()
    }
}
