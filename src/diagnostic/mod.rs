//! The one value that says something to a person, and the report that holds all of them.
//!
//! Every phase turns its typed problems into [`Diagnostic`]s; every output in `report` is a view of them.

use crate::source::{FileId, Span};

mod code;
mod compare;
mod deviation;
mod example;
mod margin;
mod missing;
mod outline;
mod plan_moves;
mod report;
mod review;
mod verdict;
mod vocabulary;
mod window;
mod working;

pub use code::{Code, Explanation};
pub use compare::{
    Answer, Change, ChangeCounts, ChangeKind, Combinations, ComparedStandard, Comparison,
    Direction, Effect, Meaning, PlanOutcome, ReadingShows, Share, Shows, Stands,
};
pub use deviation::{DeviationInfo, DeviationState, Excuse, Needed};
pub use example::{Closing, ExampleResult, ExamplesReport, Hole, Missed, Nudge, Pins, RuleSeen};
pub use margin::{Capability, Drift, DriftEnd, Margin, Margins};
pub use missing::{Lacking, LackingBlock, LackingValue, WayRound};
pub use outline::{
    Chapter, ClauseOutline, Deciding, Ground, Group, LimitOutline, Limits, Outline, RecordOutline,
    Rests, RuleOutline, Title, ValueOutline, Wording,
};
pub use plan_moves::{Fared, PlanMove, PlanMoves, RuleMove, Unchecked, Way};
pub use report::{
    Caution, Check, Counts, Outcome, PlanReport, Report, RuleInfo, StandardReport, Verb, WholeRun,
};
pub use review::{Evidence, Review, ReviewFinding, Witness};
pub use verdict::Verdict;
pub use vocabulary::{Vocabulary, WordChapter, WordEntry};
pub use window::{
    Cut, End, Extent, FreedSetting, PresentPoint, SetPoint, Shares, Standstill, Window, Zone,
    ZoneBox, ZoneStretch,
};
pub use working::{
    Basis, Call, Curve, Figure, Formula, Idle, Input, Interval, Level, Mark, Panel, Picture, Side,
    StatedFigure, Widening, Working,
};

/// How much it matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Severity {
    /// The check cannot pass.
    Error,
    /// Something to look at.
    Warning,
    /// For the reader.
    Note,
}

/// What a label is there for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// The place that is wrong. There is exactly one.
    Primary,
    /// A place that helps to see why.
    Related,
}

/// A place with a few words about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// Where.
    pub span: Span,
    /// What is to be seen there: lower case, no full stop.
    pub words: String,
    /// Why it is shown.
    pub role: Role,
}

/// A change of the text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edit {
    /// What is replaced; an empty span inserts.
    pub span: Span,
    /// The new text.
    pub text: String,
}

/// A change that was applied and checked again in full before it was offered.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Repair {
    /// Its number among the repairs of the plan, from 1; the same change has the same number.
    pub number: u32,
    /// The change in words: "set `belt` to 2.3 m/min ± 5 %".
    pub words: String,
    /// The change as text.
    pub edits: Vec<Edit>,
    /// The settings it moves; none where it puts something in.
    pub moves: Vec<Move>,
    /// Readings of the plan that rest on what it moves; they have to be taken again.
    pub measure_again: Vec<String>,
    /// Whether the whole run holds with it.
    pub whole: bool,
}

/// A setting that a repair moves.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    /// The setting: `dryer.belt`.
    pub setting: String,
    /// What the plan states now.
    pub from: String,
    /// What it would state.
    pub to: String,
    /// The values that do as well, its tolerance as it is: `0.1 to 2.3 m/min`. With several settings, any of
    /// the range of one with any of the range of the others.
    pub range: String,
    /// The lower end of the range.
    pub low: f64,
    /// The upper end.
    pub high: f64,
    /// The unit of the two.
    pub unit: String,
    /// What changing it takes: `20 min: a new screen`.
    pub takes: Option<String>,
}

/// The figures of a finding that a rule made; all texts carry their units.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// What came out.
    pub outcome: Outcome,
    /// `shall`, `should`.
    pub verb: Verb,
    /// The rule's name.
    pub rule: String,
    /// Which requirement of the rule, from 1.
    pub clause: u32,
    /// The rule's title, if it has one.
    pub title: Option<String>,
    /// The thing it was about (`screen base`, `flash, step 2`); `None` for the run as a whole.
    pub subject: Option<String>,
    /// The setting or figure compared: `dryer.dwell`.
    pub quantity: Option<String>,
    /// The value found: `46.4 to 51.4 s`.
    pub value: Option<String>,
    /// The limit: `at least 60 s`.
    pub limit: Option<String>,
    /// The distance to the limit at the worst point: `13.6 s short`.
    pub margin: Option<String>,
    /// Which tolerance decides and how tight it would have to be, when at risk.
    pub decided_by: Option<String>,
    /// The setting that is to blame: `dryer.belt`.
    pub culprit: Option<String>,
    /// The standard's reason.
    pub because: Option<String>,
    /// What the standard says to do where it is outside.
    pub when_out: Option<String>,
    /// What the limit rests on.
    pub source: Option<String>,
    /// The deviation that lets the run pass, when one does; then the outcome is *holds*.
    pub deviation: Option<Excuse>,
}

/// Something to say, with its places.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnostic {
    /// Which, from the table.
    pub code: Code,
    /// How much it matters.
    pub severity: Severity,
    /// What is wrong: one clause, lower case, no full stop, the user's words in backticks.
    pub headline: String,
    /// Places, the primary one first. A trouble with no place (a file that is not there) has none.
    labels: Vec<Label>,
    /// The file it is about when there is no label.
    pub file: Option<FileId>,
    /// More to know, a sentence each.
    pub notes: Vec<String>,
    /// The smallest thing to do next.
    pub help: Option<String>,
    /// Changes that were tried and hold.
    pub repairs: Vec<Repair>,
    /// The figures, when a rule made it.
    pub finding: Option<Box<Finding>>,
}

impl Diagnostic {
    /// A diagnostic at its one primary place.
    #[must_use]
    pub fn new(
        code: Code,
        span: Span,
        headline: impl Into<String>,
        here: impl Into<String>,
    ) -> Self {
        Self {
            code,
            severity: code.severity(),
            headline: headline.into(),
            labels: vec![Label {
                span,
                words: here.into(),
                role: Role::Primary,
            }],
            file: Some(span.file),
            notes: Vec::new(),
            help: None,
            repairs: Vec::new(),
            finding: None,
        }
    }

    /// A diagnostic about something that has no place in any text.
    #[must_use]
    pub fn without_place(code: Code, headline: impl Into<String>) -> Self {
        Self {
            code,
            severity: code.severity(),
            headline: headline.into(),
            labels: Vec::new(),
            file: None,
            notes: Vec::new(),
            help: None,
            repairs: Vec::new(),
            finding: None,
        }
    }

    /// Adds a related place.
    #[must_use]
    pub fn related(mut self, span: Span, words: impl Into<String>) -> Self {
        self.labels.push(Label {
            span,
            words: words.into(),
            role: Role::Related,
        });
        self
    }

    /// Adds a note.
    #[must_use]
    pub fn note(mut self, note: impl Into<String>) -> Self {
        self.notes.push(note.into());
        self
    }

    /// Sets the help.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Sets another severity than the table's.
    #[must_use]
    pub fn at(mut self, severity: Severity) -> Self {
        self.severity = severity;
        self
    }

    /// All places, the primary one first.
    #[must_use]
    pub fn labels(&self) -> &[Label] {
        &self.labels
    }

    /// The primary place.
    #[must_use]
    pub fn primary(&self) -> Option<&Label> {
        self.labels.first()
    }
}
