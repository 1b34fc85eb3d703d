//! A standard laid out for reading: its rules, its records and which rules each record brings in;
//! and its limits by what they rest on.
//!
//! Plain values; `report` turns them into pages, text and JSON.

use crate::source::{FileId, Span};

/// Which standard an outline is of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Title {
    /// Its root file.
    pub file: FileId,
    /// Its name.
    pub name: String,
    /// Its edition.
    pub edition: Option<String>,
    /// Digest of its meaning.
    pub digest: String,
    /// The rules that it does without, a sentence each.
    pub taken_out: Vec<String>,
}

/// A standard laid out for reading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outline {
    /// Which standard.
    pub title: Title,
    /// The files it was read from, the root first.
    pub files: Vec<FileId>,
    /// Its rules, in the order written.
    pub rules: Vec<RuleOutline>,
    /// Its cautions, in the order written.
    pub cautions: Vec<RuleOutline>,
    /// Its records, a group for each kind: first the kinds whose records decide which rules apply.
    pub groups: Vec<Group>,
    /// What else a standard holds, each in a chapter of its own: pieces run as a test of it,
    /// deviations in force. Empty for a standard that has none.
    pub chapters: Vec<Chapter>,
}

/// Something written, and how the two systems of units would have it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wording {
    /// As written, on one line.
    pub written: String,
    /// With its numbers in SI units; the same text where they are already.
    pub si: String,
    /// With its numbers in inch-pound units; the same text where they are already.
    pub inch_pound: String,
}

/// A rule or caution.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleOutline {
    /// Its name.
    pub name: String,
    /// Its title.
    pub title: Option<String>,
    /// Where its name stands.
    pub span: Span,
    /// The kind it runs over.
    pub each: Option<String>,
    /// When it applies; all must be so.
    pub when: Vec<Wording>,
    /// What it requires and permits; empty for a caution.
    pub clauses: Vec<ClauseOutline>,
    /// What a caution says.
    pub say: Option<String>,
    /// How often what it limits is read: `2 h`.
    pub read_every: Option<String>,
    /// What to do where it is outside.
    pub when_out: Option<String>,
    /// Its reason.
    pub because: Option<String>,
    /// What it rests on.
    pub rests: Rests,
    /// Settings to turn first when it does not hold.
    pub adjust: Vec<String>,
    /// Cautions shown when it applies.
    pub cautions: Vec<String>,
    /// Records that bring it in, by kind; empty for a rule that no record decides.
    pub brought_in_by: Vec<Deciding>,
}

/// The records of one kind that bring a rule in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Deciding {
    /// The kind.
    pub kind: String,
    /// Names of the records.
    pub records: Vec<String>,
}

/// A requirement or permission.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClauseOutline {
    /// `shall`, `should` or `may`.
    pub verb: &'static str,
    /// The condition.
    pub condition: Wording,
    /// What this line rests on by itself; [`Rests::nothing`] leaves it to the rule.
    pub rests: Rests,
    /// The clause.
    pub span: Span,
}

/// What something rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rests {
    /// On what.
    pub on: Ground,
    /// The day it was last gone through.
    pub reviewed: Option<String>,
}

impl Rests {
    /// Rests on nothing that is stated.
    #[must_use]
    pub fn nothing() -> Self {
        Self {
            on: Ground::Nothing,
            reviewed: None,
        }
    }
}

/// What a limit rests on.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Ground {
    /// A named source.
    Source(String),
    /// Common practice alone.
    Practice,
    /// Nothing that is stated.
    Nothing,
}

/// The records of one kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// The kind.
    pub kind: String,
    /// Whether its records decide which rules apply.
    pub decides: bool,
    /// The records, in the order declared.
    pub records: Vec<RecordOutline>,
}

/// A record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecordOutline {
    /// Its name.
    pub name: String,
    /// Its title.
    pub title: Option<String>,
    /// Where its header stands.
    pub span: Option<Span>,
    /// The record it takes its other values from.
    pub parent: Option<String>,
    /// What it comes to: its own values and those it inherits, in the order of the kind.
    pub values: Vec<ValueOutline>,
    /// The rules it brings in: numbers in [`Outline::rules`].
    pub rules: Vec<usize>,
}

/// A value of a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ValueOutline {
    /// The setting.
    pub setting: String,
    /// The value.
    pub value: Wording,
    /// The standard's sentence about the setting.
    pub sentence: Option<String>,
    /// What it rests on.
    pub rests: Rests,
    /// The record that states it, when that is another.
    pub from: Option<String>,
    /// The reason given for loosening the parent's.
    pub loosened: Option<String>,
}

/// A further part of a standard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chapter {
    /// Its heading.
    pub title: String,
    /// A sentence on what it is.
    pub sentence: String,
    /// Heads of its columns.
    pub columns: Vec<String>,
    /// Its rows, a cell for each column.
    pub rows: Vec<Vec<String>>,
}

/// The limits of a standard, with what they rest on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Limits {
    /// Which standard.
    pub title: Title,
    /// The limits: those of rules first, each in the order of the texts.
    pub limits: Vec<LimitOutline>,
}

/// A limit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LimitOutline {
    /// `rule`, or the kind of the record.
    pub kind: String,
    /// The name of the rule or record.
    pub name: String,
    /// Whether it is a clause of a rule.
    pub of_rule: bool,
    /// The clause: `shall dryer.dwell at least 65 s`, `mesh 80 to 160 /in`.
    pub words: String,
    /// Where it is stated.
    pub span: Span,
    /// What it rests on.
    pub rests: Rests,
    /// Where that is said, when not at the limit itself: the rule as a whole, or the parent's name.
    pub said_by: Option<String>,
}
