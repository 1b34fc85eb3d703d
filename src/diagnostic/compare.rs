//! What a comparison of two standards found: the input of its views.

use super::{Outcome, PlanMoves, Verb};
use crate::source::{FileId, Span};

/// One of the two standards.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ComparedStandard {
    /// Its root file.
    pub file: FileId,
    /// The revision its files were read in; `None` for files on the disk.
    pub revision: Option<String>,
    /// Its name.
    pub name: String,
    /// Its edition.
    pub edition: Option<String>,
    /// Digest of the meaning, lower-case hex, 64 digits.
    pub digest: String,
}

/// An answer to a question about all runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Answer {
    /// A run shows it, and was checked against both.
    Yes,
    /// Neither.
    NotDecided,
    /// Proved: there is no such run.
    No,
}

impl Answer {
    /// The word machines read.
    #[must_use]
    pub fn slug(self) -> &'static str {
        match self {
            Self::Yes => "shown",
            Self::NotDecided => "not-decided",
            Self::No => "proved-not",
        }
    }

    /// Of both: yes where one is, no where both are.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        self.min(other)
    }
}

/// What sort of change something is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ChangeKind {
    /// Only the new standard has it.
    Added,
    /// Only the old standard had it.
    Removed,
    /// Its limit or value is another.
    Limit,
    /// It applies to other runs: its `when`, `for each` or `may`.
    Reach,
    /// Its verb is another: `shall` or `should`.
    Verb,
    /// It takes its values from another record.
    Parent,
    /// It is worked out in another way.
    Formula,
    /// It is set, given, measured or worked out, and was another of these.
    Sort,
    /// It stands elsewhere and says the same.
    Moved,
    /// It has another name and says the same.
    Renamed,
    /// It is written in another form and says the same.
    Form,
    /// What people read of it is another.
    Wording,
    /// What it rests on is another.
    Source,
}

impl ChangeKind {
    /// The words people read.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Added => "added",
            Self::Removed => "removed",
            Self::Limit => "limit changed",
            Self::Reach => "reach changed",
            Self::Verb => "verb changed",
            Self::Parent => "parent changed",
            Self::Formula => "worked out differently",
            Self::Sort => "sort changed",
            Self::Moved => "moved",
            Self::Renamed => "renamed",
            Self::Form => "written differently",
            Self::Wording => "wording only",
            Self::Source => "source only",
        }
    }

    /// The word machines read.
    #[must_use]
    pub fn slug(self) -> &'static str {
        match self {
            Self::Added => "added",
            Self::Removed => "removed",
            Self::Limit => "limit",
            Self::Reach => "reach",
            Self::Verb => "verb",
            Self::Parent => "parent",
            Self::Formula => "formula",
            Self::Sort => "sort",
            Self::Moved => "moved",
            Self::Renamed => "renamed",
            Self::Form => "form",
            Self::Wording => "wording",
            Self::Source => "source",
        }
    }
}

/// What a change does to outcomes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Direction {
    /// Whether something that passed does not any more.
    pub tighter: Answer,
    /// Whether something passes now that did not.
    pub looser: Answer,
}

impl Direction {
    /// Proved to change no outcome.
    pub const NONE: Self = Self {
        tighter: Answer::No,
        looser: Answer::No,
    };

    /// Both together.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        Self {
            tighter: self.tighter.or(other.tighter),
            looser: self.looser.or(other.looser),
        }
    }

    /// The words people read.
    #[must_use]
    pub fn words(self) -> &'static str {
        match (self.tighter, self.looser) {
            (Answer::Yes, Answer::Yes) => "tightened and loosened",
            (Answer::Yes, Answer::No) => "tightened",
            (Answer::No, Answer::Yes) => "loosened",
            (Answer::Yes, Answer::NotDecided) => "tightened; whether loosened too is not decided",
            (Answer::NotDecided, Answer::Yes) => "loosened; whether tightened too is not decided",
            (Answer::No, Answer::No) => "no outcome changes, proved",
            (Answer::NotDecided, Answer::No) => "not loosened; whether tightened is not decided",
            (Answer::No, Answer::NotDecided) => "not tightened; whether loosened is not decided",
            (Answer::NotDecided, Answer::NotDecided) => "not decided",
        }
    }

    /// Whether a question is left.
    #[must_use]
    pub fn is_open(self) -> bool {
        self.tighter == Answer::NotDecided || self.looser == Answer::NotDecided
    }
}

/// Where something stands in one of the standards, and its words there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stands {
    /// The place.
    pub span: Span,
    /// The words, on one line.
    pub words: String,
}

/// What a plan comes to as a whole, the better first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PlanOutcome {
    /// It passes.
    Passes,
    /// It is read and does not pass.
    Fails,
    /// It is read, does not pass, and states what its other settings contradict.
    Contradicts,
    /// It cannot be read.
    Unreadable,
}

impl PlanOutcome {
    /// The words people read.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Passes => "passes",
            Self::Fails => "does not pass",
            Self::Contradicts => "contradicts itself",
            Self::Unreadable => "cannot be read",
        }
    }

    /// The word machines read.
    #[must_use]
    pub fn slug(self) -> &'static str {
        match self {
            Self::Passes => "passes",
            Self::Fails => "fails",
            Self::Contradicts => "contradicts",
            Self::Unreadable => "unreadable",
        }
    }
}

/// The text of a plan that the two standards read in another way: read and checked by both, whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingShows {
    /// Whether it fares worse now, rather than better.
    pub tighter: bool,
    /// The text.
    pub plan: String,
    /// What it comes to under the old standard.
    pub old: PlanOutcome,
    /// And under the new one.
    pub new: PlanOutcome,
}

/// One thing that is another in the new standard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// What sorts of change it is.
    pub kinds: Vec<ChangeKind>,
    /// What was changed: `rule slow-heat`, `ink soft-white: cure`.
    pub subject: String,
    /// In the old standard.
    pub old: Option<Stands>,
    /// In the new one.
    pub new: Option<Stands>,
    /// A likely slip, in words.
    pub alarm: Option<String>,
    /// More to know, a sentence each.
    pub notes: Vec<String>,
    /// Records that have another value by it, where it is a value or a parent.
    pub reaches: Vec<String>,
    /// What it does to outcomes.
    pub direction: Direction,
    /// Whether plans are read in another way by it.
    pub reading: bool,
    /// Plans that show it.
    pub shows: Vec<ReadingShows>,
    /// The clauses it bears on.
    pub effects: Vec<Share>,
}

/// What a change has to do with what became of a clause.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Share {
    /// Index into [`Comparison::effects`].
    pub effect: usize,
    /// What became of the clause for the records that the change reaches.
    pub direction: Direction,
}

impl Change {
    /// Whether something is left that no clause says: what only texts of plans can show.
    #[must_use]
    pub fn left_by_texts(&self) -> bool {
        let said = self.effects.iter().any(|share| share.direction.is_open());
        self.direction.is_open() && (self.reading || !said)
    }

    /// Whether it bears on a combination of records.
    #[must_use]
    pub fn reaches(&self, combination: &[(String, String)]) -> bool {
        let named = |(_, record): &(String, String)| self.reaches.contains(record);
        self.reaches.is_empty() || combination.iter().any(named)
    }
}

/// A run that shows a change: checked against both standards.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shows {
    /// Whether it passed and does not any more, rather than the other way round.
    pub tighter: bool,
    /// The run as the text of a plan for the new standard.
    pub plan: String,
    /// The same for the old one, where its words differ.
    pub old_plan: Option<String>,
    /// Whether the whole plan passes on one side and not on the other, rather than the clause alone.
    pub whole: bool,
    /// What the clause comes to under the old standard; `None` where there is no such clause.
    pub old: Option<Outcome>,
    /// And under the new one.
    pub new: Option<Outcome>,
}

/// Combinations of records for which a clause changed in one way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Combinations {
    /// The way.
    pub direction: Direction,
    /// Kind and record, one or more for each combination; an empty record is a thing that is none.
    pub list: Vec<Vec<(String, String)>>,
}

/// What became of one clause.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Effect {
    /// The rule, by its new name if it has one.
    pub rule: String,
    /// The verb as it was; `None` where there was no such clause.
    pub old_verb: Option<Verb>,
    /// The verb now; `None` where there is no such clause.
    pub new_verb: Option<Verb>,
    /// In the old standard.
    pub old: Option<Stands>,
    /// In the new one.
    pub new: Option<Stands>,
    /// What it does to outcomes, over all combinations.
    pub direction: Direction,
    /// The combinations, by what it does.
    pub combinations: Vec<Combinations>,
    /// Runs that show it.
    pub shows: Vec<Shows>,
    /// What is left where something is not decided.
    pub left: Vec<String>,
    /// Whether worse, and better, are excluded for plans as a whole alone: beside the other rules none is left that
    /// passes. By this clause alone plans that fail anyhow may come to something else.
    pub beside_others: [bool; 2],
}

/// Whether two standards mean the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Meaning {
    /// Proved: no run comes to another outcome.
    Same,
    /// Something differs.
    Differs,
    /// Not decided.
    NotDecided,
}

/// What a comparison found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Comparison {
    /// The old standard.
    pub old: ComparedStandard,
    /// The new one.
    pub new: ComparedStandard,
    /// Whether they mean the same.
    pub meaning: Meaning,
    /// What is another, what got looser first.
    pub changes: Vec<Change>,
    /// What became of the clauses that any of it bears on.
    pub effects: Vec<Effect>,
    /// How many clauses were compared.
    pub clauses: usize,
    /// How many combinations of records were looked at.
    pub combinations: usize,
    /// How plans fare under both, where that was asked for.
    pub plans: Option<PlanMoves>,
}

impl Comparison {
    /// Whether the edition stayed while the meaning changed, or may have.
    #[must_use]
    pub fn edition_stayed(&self) -> bool {
        self.meaning != Meaning::Same
            && self.old.edition.is_some()
            && self.old.edition == self.new.edition
    }

    /// How many changes loosen, tighten, may do so, and do neither.
    #[must_use]
    pub fn counts(&self) -> ChangeCounts {
        let mut counts = ChangeCounts::default();
        for change in &self.changes {
            let of = change.direction;
            counts.loosened += usize::from(of.looser == Answer::Yes);
            counts.tightened += usize::from(of.tighter == Answer::Yes);
            counts.open += usize::from(of.is_open());
            counts.neutral += usize::from(of == Direction::NONE);
            counts.alarms += usize::from(change.alarm.is_some());
            counts.readings += usize::from(change.reading);
        }
        counts
    }
}

impl Effect {
    /// The verb now, or as it was.
    #[must_use]
    pub fn verb(&self) -> Verb {
        self.new_verb.or(self.old_verb).unwrap_or(Verb::Shall)
    }
}

/// How many changes there are of each sort.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct ChangeCounts {
    /// Something passes now that did not.
    pub loosened: usize,
    /// Something that passed does not any more.
    pub tightened: usize,
    /// Not decided.
    pub open: usize,
    /// No outcome changes.
    pub neutral: usize,
    /// Likely slips.
    pub alarms: usize,
    /// Plans are read in another way.
    pub readings: usize,
}
