//! The model of a standard and of a run.

use std::collections::{BTreeSet, HashMap};

use crate::interval::Bounds;
use crate::source::{FileId, Span};
use crate::units::{Dimension, Exact, Unit};

use super::calibration::Calibration;
use super::carried::Carried;
use super::date::Date;
use super::deviation::Deviation;
use super::literal::Reader;
use super::taken_out::TakenOut;
use super::terms::{Condition, Expression, Path};

/// Number of a kind in [`Standard::kinds`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct KindId(pub u32);

/// Number of a setting in [`Kind::fields`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FieldId(pub u32);

/// Number of a record in [`Standard::records`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct RecordId(pub u32);

/// Number of a thing in [`Run::instances`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct InstanceId(pub u32);

/// A standard, ready to check runs against.
#[derive(Debug, Clone)]
pub struct Standard {
    /// Its root file.
    pub root: FileId,
    /// Its name.
    pub name: String,
    /// Its edition.
    pub edition: Option<String>,
    /// All kinds, steps included.
    pub kinds: Vec<Kind>,
    /// Kinds by name.
    pub kind_names: HashMap<String, KindId>,
    /// All records, values of their parents filled in.
    pub records: Vec<Instance>,
    /// Settings of which some record says that the dial reads wrong.
    pub calibrated: BTreeSet<(KindId, FieldId)>,
    /// Records by kind and name.
    pub record_names: HashMap<(KindId, String), RecordId>,
    /// Rules and cautions, in the order written.
    pub rules: Vec<Rule>,
    /// Its tests, in the order written. No part of the digest.
    pub examples: Vec<super::Example>,
    /// Deviations, in the order written.
    pub deviations: Vec<Deviation>,
    /// Rules of other files that it does without, in the order written. They are none of `rules`.
    pub taken_out: Vec<TakenOut>,
    /// Units and nouns, for the numbers of plans.
    pub(super) reader: Reader,
    /// Digest of the meaning.
    pub digest: Digest,
    /// All files it was read from.
    pub files: Vec<FileId>,
}

/// SHA-256 over the meaning of a standard, in lower-case hex.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
pub struct Digest(pub String);

/// How often a kind stands in a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PlaceInRun {
    /// Exactly once; a run that does not state it has one with nothing stated.
    One,
    /// Any number of times, each with a name.
    Many,
    /// Only as a record that others refer to.
    Record,
    /// As a step of the sequence.
    Step,
}

/// A kind of thing.
#[derive(Debug, Clone)]
pub struct Kind {
    /// Its name.
    pub name: String,
    /// Where its name stands.
    pub span: Span,
    /// How often in a run.
    pub place: PlaceInRun,
    /// A sentence about it.
    pub sentence: Option<String>,
    /// Its settings.
    pub fields: Vec<Field>,
    /// Settings by name.
    pub field_names: HashMap<String, FieldId>,
    /// Shares of one whole.
    pub parts: Vec<Parts>,
}

/// A setting.
#[derive(Debug, Clone)]
pub struct Field {
    /// Its name.
    pub name: String,
    /// Where its name stands.
    pub span: Span,
    /// Its type.
    pub ty: Type,
    /// What is physically possible, ends included.
    pub possible: Option<Limits>,
    /// How it is worked out when not stated.
    pub formula: Option<Expression>,
    /// How a reference is found when not stated.
    pub reference: Option<Path>,
    /// A sentence about it.
    pub sentence: Option<String>,
    /// How it comes by its value, and so what may be done with it.
    pub sort: Sort,
    /// Smallest changes of a dial: size and unit. Only what is set has any.
    pub steps: Vec<(Exact, Unit)>,
    /// What changing it takes.
    pub takes: Option<Takes>,
    /// What range or formula rest on.
    pub per: Option<Source>,
}

/// How a setting comes by its value. It decides what may be done with it: only what is set is turned.
///
/// A setting with a formula and one of the other sorts is worked out until it is stated, and then of that sort.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Sort {
    /// Turned or chosen for a run.
    Set,
    /// Brought along by the order, the garment, the ink or the machine.
    Given {
        /// Whether a plan may state another value than its record.
        unless_stated: bool,
        /// Whether the standard says so; what says nothing counts as given.
        said: bool,
    },
    /// Read off by somebody; with what. Settings that one measurement finds together have the same words.
    Measured(String),
    /// Worked out by its formula; a value that is stated for it is compared.
    WorkedOut,
}

impl Sort {
    /// The sort as the standard writes it, without the steps of a dial; of what is worked out nothing is written.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Set => "set".to_owned(),
            Self::Given {
                unless_stated: false,
                ..
            } => "given".to_owned(),
            Self::Given {
                unless_stated: true,
                ..
            } => "given unless the plan states it".to_owned(),
            Self::Measured(by) => format!("measured by {by:?}"),
            Self::WorkedOut => "worked out".to_owned(),
        }
    }
}

impl Field {
    /// By what it is read off.
    #[must_use]
    pub fn measured(&self) -> Option<&str> {
        match &self.sort {
            Sort::Measured(by) => Some(by),
            _ => None,
        }
    }

    /// By what its value is found: what reads it off, or what a given value rests on.
    #[must_use]
    pub fn found_by(&self) -> Option<&str> {
        match (&self.sort, &self.per) {
            (Sort::Measured(by), _) => Some(by),
            (Sort::Given { .. }, Some(source)) => match &source.grounds {
                Grounds::Named(by) => Some(by),
                Grounds::Law(_) | Grounds::Practice => None,
            },
            _ => None,
        }
    }
}

/// What changing a setting takes: it ranks repairs, and changes no verdict.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Takes {
    /// How long, in SI base units.
    pub time: Exact,
    /// The unit it was written in.
    pub unit: Unit,
    /// What is to be done: `a new screen`.
    pub words: Option<String>,
    /// The clause.
    pub span: Span,
}

/// Shares of one whole.
#[derive(Debug, Clone)]
pub struct Parts {
    /// The shares.
    pub fields: Vec<FieldId>,
    /// What they add up to, as a fraction.
    pub total: Exact,
    /// The clause.
    pub span: Span,
}

/// The type of a setting.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Type {
    /// A quantity.
    Quantity(Measure),
    /// A range of a quantity.
    Range(Measure),
    /// Free text.
    Text,
    /// `yes` or `no`.
    YesNo,
    /// A day of the calendar.
    Day,
    /// One of these words.
    Choice(Vec<String>),
    /// A record, or a thing of the run.
    Reference(KindId),
}

/// A dimension and how its numbers are written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Measure {
    /// The dimension.
    pub dimension: Dimension,
    /// How numbers are written.
    pub reading: Reading,
}

impl Measure {
    /// Whether only whole numbers can be stated.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        matches!(self.reading, Reading::Count(_)) || self.dimension == Dimension::PIECES
    }
}

/// How the numbers of a setting are written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reading {
    /// With a unit.
    Unit,
    /// With `%`.
    Share,
    /// A whole number of things; the noun may be left out.
    Count(Option<String>),
    /// A plain number.
    Number,
}

/// What something rests on, and when that was last gone through.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// What it rests on.
    pub grounds: Grounds,
    /// The day of the last review; it changes no meaning, so the digest leaves it out.
    pub reviewed: Option<Date>,
}

/// What something rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Grounds {
    /// A named source.
    Named(String),
    /// A law: what it limits is declared or measured, and is no dial.
    Law(String),
    /// Common practice.
    Practice,
}

/// Which kind of text a value was stated in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// In the standard.
    Standard,
    /// In the plan.
    Plan,
}

/// A thing: a record of the standard, or something a run has.
#[derive(Debug, Clone)]
pub struct Instance {
    /// Its kind.
    pub kind: KindId,
    /// Its name; empty for a thing of which a run has one.
    pub name: String,
    /// Its title: `white for blends`; things of a run have none.
    pub title: Option<String>,
    /// Where its header stands; `None` for a thing the plan does not mention.
    pub header: Option<Span>,
    /// Where a further clause would be written.
    pub insert: Option<Span>,
    /// What it states itself, by setting.
    pub values: Vec<Option<Stated>>,
    /// Of its dials that read wrong, what they show and what is so then; only a record of the standard says so.
    pub calibrations: Vec<(FieldId, Calibration)>,
    /// The record it takes its other values from.
    pub parent: Option<RecordId>,
    /// Whether the plan says that it is none of the records.
    pub not_listed: bool,
}

/// A stated value.
#[derive(Debug, Clone)]
pub struct Stated {
    /// The value.
    pub value: Value,
    /// Where the value stands.
    pub span: Span,
    /// Plan or standard.
    pub origin: Origin,
    /// What it rests on.
    pub per: Option<Source>,
    /// The reason given for loosening the parent's.
    pub loosened: Option<String>,
    /// How it was read off, where that is said.
    pub taken: Option<Box<Taken>>,
}

/// How a value was read off.
#[derive(Debug, Clone, Default)]
pub struct Taken {
    /// The day.
    pub on: Option<Date>,
    /// The instrument.
    pub with: Option<RecordId>,
    /// Of how many pieces the value and its tolerance speak.
    pub pieces: Option<u32>,
    /// What was set, or read, when it was taken, where that is said; all else was as the plan has it.
    pub at: Vec<TakenAt>,
    /// The block of the reading; `None` for what is said behind the value.
    pub block: Option<ReadingBlock>,
}

/// A setting as it was when a reading was taken.
#[derive(Debug, Clone)]
pub struct TakenAt {
    /// The thing.
    pub target: Target,
    /// The setting.
    pub field: FieldId,
    /// What it was.
    pub quantity: Quantity,
    /// The value.
    pub span: Span,
}

/// Where the block of a reading stands.
#[derive(Debug, Clone, Copy)]
pub struct ReadingBlock {
    /// The word `reading` and what was read off.
    pub head: Span,
    /// Where a further clause would be written.
    pub insert: Option<Span>,
}

/// A value.
#[derive(Debug, Clone)]
pub enum Value {
    /// A quantity with its tolerance. Boxed, as most settings of most things are not stated at all.
    Quantity(Box<Quantity>),
    /// A range.
    Range(Box<Limits>),
    /// A text.
    Text(String),
    /// Yes or no.
    YesNo(bool),
    /// The number of a choice.
    Choice(u32),
    /// A day.
    Day(Date),
    /// A record or a thing of the run.
    Reference(Target),
    /// Stated, but wrong; reported where it was read. Counts as missing.
    Wrong,
}

/// What a reference points at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Target {
    /// A record of the standard.
    Record(RecordId),
    /// A thing of the run.
    Thing(InstanceId),
}

/// A quantity as stated: a nominal value and the interval its tolerance allows, in SI base units.
#[derive(Debug, Clone)]
pub struct Quantity {
    /// The stated value; the middle for a value stated as a span.
    pub nominal: Exact,
    /// Smallest value inside the tolerance.
    pub low: Exact,
    /// Largest value inside the tolerance.
    pub high: Exact,
    /// The same two, rounded outward.
    pub bounds: Bounds,
    /// The unit it was written in.
    pub unit: Unit,
    /// Its tolerance as written.
    pub tolerance: Option<Tolerance>,
    /// Half a unit of the last written digit, in SI base units.
    pub resolution: Exact,
    /// Its standard deviation, where one is stated. It changes no verdict.
    pub scatter: Option<Scatter>,
}

/// How a value scatters from one time to the next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Scatter {
    /// The standard deviation in SI base units.
    pub size: Exact,
    /// As written: `1.5 %`.
    pub words: String,
}

/// A tolerance as written.
#[derive(Debug, Clone)]
pub struct Tolerance {
    /// Where it stands, sign included.
    pub span: Span,
    /// Of the value (`± 5 %`) rather than in units.
    pub relative: bool,
    /// How far up: in SI base units, or as a fraction of the value.
    pub plus: Exact,
    /// How far down.
    pub minus: Exact,
    /// The unit it was written in.
    pub unit: Unit,
    /// Percent of a value that is a share itself, and written so: `± 5 % of it`.
    pub of_it: bool,
}

/// A range in SI base units; a missing end is open.
#[derive(Debug, Clone)]
pub struct Limits {
    /// Lower end.
    pub low: Option<Exact>,
    /// Upper end.
    pub high: Option<Exact>,
    /// The unit it was written in.
    pub unit: Unit,
    /// Where it stands.
    pub span: Span,
}

impl Limits {
    /// Whether all of it lies within another.
    #[must_use]
    pub fn lie_within(&self, outer: &Self) -> bool {
        let low = match (&self.low, &outer.low) {
            (_, None) => true,
            (None, Some(_)) => false,
            (Some(inner), Some(outer)) => inner >= outer,
        };
        let high = match (&self.high, &outer.high) {
            (_, None) => true,
            (None, Some(_)) => false,
            (Some(inner), Some(outer)) => inner <= outer,
        };
        low && high
    }
}

impl Field {
    /// The unit in which its values are shown and written.
    #[must_use]
    pub fn usual_unit(&self) -> Unit {
        match (&self.possible, &self.ty) {
            (Some(possible), _) => possible.unit.clone(),
            (None, Type::Quantity(measure) | Type::Range(measure)) => match measure.reading {
                Reading::Share => Unit::percent(),
                Reading::Count(_) | Reading::Number => Unit::bare(),
                Reading::Unit => Unit::usual(measure.dimension),
            },
            _ => Unit::bare(),
        }
    }
}

pub use crate::diagnostic::Verb;

/// Rule or caution.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RuleForm {
    /// A rule.
    Rule,
    /// A caution, with what it says.
    Caution(String),
}

/// A rule.
#[derive(Debug, Clone)]
pub struct Rule {
    /// Rule or caution.
    pub form: RuleForm,
    /// Its name.
    pub name: String,
    /// Where its name stands.
    pub span: Span,
    /// Its title.
    pub title: Option<String>,
    /// The kind it runs over.
    pub each: Option<KindId>,
    /// Its conditions; all must be true.
    pub when: Vec<Condition>,
    /// Its requirements.
    pub requirements: Vec<Requirement>,
    /// Its permissions.
    pub permissions: Vec<Condition>,
    /// Where its requirements are the cells of a table, how they are laid out.
    pub table: Option<Box<Table>>,
    /// How often what it limits is read off.
    pub read_every: Option<ReadEvery>,
    /// What to do where what is read off is outside.
    pub when_out: Option<String>,
    /// Its reason.
    pub because: Option<String>,
    /// What it rests on.
    pub per: Option<Source>,
    /// Settings to try first for a repair.
    pub adjust: Vec<Adjust>,
    /// Cautions shown when it applies.
    pub cautions: Vec<String>,
}

/// How often something is read off: after so long, or after so many pieces.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadEvery {
    /// How long, or how many.
    pub after: Exact,
    /// The unit it was written in.
    pub unit: Unit,
}

impl Rule {
    /// Whether it says what a law says: `law "16 CFR 1303"`.
    #[must_use]
    pub fn is_of_law(&self) -> bool {
        let grounds = self.per.as_ref().map(|source| &source.grounds);
        matches!(grounds, Some(Grounds::Law(_)))
    }
}

/// How the requirements of a rule are laid out as the cells of a table.
///
/// It adds no meaning: each requirement says in [`Requirement::when`] which runs it is for. This is for what shows the
/// table, for what names a cell, and to find the one requirement a run can be held to without asking all of them.
#[derive(Debug, Clone)]
pub struct Table {
    /// What the rows go by.
    pub rows: Axis,
    /// What the columns go by; without, each row has one cell.
    pub columns: Option<Axis>,
    /// The cells, row by row.
    pub cells: Vec<Vec<Cell>>,
}

/// What the rows or columns of a table go by.
#[derive(Debug, Clone)]
pub struct Axis {
    /// The thing or choice of the run.
    pub path: Path,
    /// The rows or columns.
    pub entries: Vec<Entry>,
    /// Their places by what they are called after.
    pub(super) places: std::collections::HashMap<Called, usize>,
}

/// What a row or column is called after.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Called {
    Record(RecordId),
    Choice(u32),
    YesNo(bool),
}

/// A row or column of a table.
#[derive(Debug, Clone)]
pub struct Entry {
    /// What it is called.
    pub name: String,
    /// Where its name stands.
    pub span: Span,
    /// The record it is called after; `None` for a choice.
    pub record: Option<RecordId>,
    /// True of a run whose row or column it may be: `screen.ink is soft-white`.
    pub condition: Condition,
}

/// A cell of a table.
#[derive(Debug, Clone)]
pub struct Cell {
    /// Its value, or the bar before an empty one.
    pub span: Span,
    /// Index into [`Rule::requirements`]; `None` for an empty cell.
    pub requirement: Option<usize>,
}

/// A setting to try for a repair.
#[derive(Debug, Clone)]
pub struct Adjust {
    /// The setting.
    pub path: Path,
}

/// A requirement of a rule.
#[derive(Debug, Clone)]
pub struct Requirement {
    /// Beside those of its rule, the conditions under which it is required; all must be true. Those of the cell of a
    /// table: the run's row and column are the cell's, and none of those nearer to it.
    pub when: Vec<Condition>,
    /// The row and column of the cell that it is, from 0.
    pub cell: Option<(usize, usize)>,
    /// `shall` or `should`.
    pub verb: Verb,
    /// What is required.
    pub condition: Condition,
    /// What the limit rests on.
    pub per: Option<Source>,
    /// The clause.
    pub span: Span,
}

/// A run, ready to be checked.
#[derive(Debug, Clone)]
pub struct Run {
    /// The plan.
    pub file: FileId,
    /// Its name.
    pub name: String,
    /// Where `run` stands.
    pub span: Span,
    /// All things of the run.
    pub instances: Vec<Instance>,
    /// The one thing of a kind, by kind.
    pub singles: Vec<Option<InstanceId>>,
    /// The things of a kind, by kind, in the order written.
    pub many: Vec<Vec<InstanceId>>,
    /// The steps in order.
    pub steps: Vec<InstanceId>,
    /// Where `sequence` stands.
    pub sequence: Option<Span>,
    /// Behind the last statement, where another one would be written.
    pub end: Span,
    /// Stated values that count for nothing, because they are worked out as well and nothing says how far they may
    /// be off. They are compared.
    pub set_aside: Vec<(Target, FieldId)>,
    /// The day it is checked for; without one nothing is too old.
    pub on: Option<Date>,
    /// The stated values that speak for the settings they were taken at.
    pub readings: Vec<Carried>,
}

impl Standard {
    /// The kind with this number.
    #[must_use]
    pub fn kind(&self, id: KindId) -> &Kind {
        &self.kinds[id.0 as usize]
    }

    /// The setting with this number.
    #[must_use]
    pub fn field(&self, kind: KindId, field: FieldId) -> &Field {
        &self.kinds[kind.0 as usize].fields[field.0 as usize]
    }

    /// Units of the shop's own, by name.
    #[must_use]
    pub fn own_units(&self) -> Vec<(&str, &Unit)> {
        let units = self.reader.units.iter();
        let mut units: Vec<(&str, &Unit)> =
            units.map(|(name, unit)| (name.as_str(), unit)).collect();
        units.sort_by_key(|(name, _)| *name);
        units
    }

    /// The record with this number.
    #[must_use]
    pub fn record(&self, id: RecordId) -> &Instance {
        &self.records[id.0 as usize]
    }

    /// What is so behind the dial of a setting, where a record, or one that it is, says that it reads wrong.
    #[must_use]
    pub fn calibration(&self, record: RecordId, field: FieldId) -> Option<&Calibration> {
        self.ancestry(record).find_map(|at| {
            let mut dials = self.record(at).calibrations.iter();
            dials.find(|(of, _)| *of == field).map(|(_, found)| found)
        })
    }

    /// Whether `record` is `ancestor` or takes its values from it, however far up.
    #[must_use]
    pub fn descends(&self, record: RecordId, ancestor: RecordId) -> bool {
        let mut at = Some(record);
        for _ in 0..=self.records.len() {
            match at {
                Some(id) if id == ancestor => return true,
                Some(id) => at = self.record(id).parent,
                None => return false,
            }
        }
        false
    }
}

impl Run {
    /// The thing with this number.
    #[must_use]
    pub fn instance(&self, id: InstanceId) -> &Instance {
        &self.instances[id.0 as usize]
    }

    /// The place of what a thing of the run states itself for a setting; `None` for a record.
    pub fn own_value(&mut self, target: Target, field: FieldId) -> Option<&mut Option<Stated>> {
        let Target::Thing(id) = target else {
            return None;
        };
        let thing = self.instances.get_mut(id.0 as usize)?;
        thing.values.get_mut(field.0 as usize)
    }

    /// The thing or record a reference points at.
    #[must_use]
    pub fn target<'a>(&'a self, standard: &'a Standard, target: Target) -> &'a Instance {
        match target {
            Target::Record(id) => standard.record(id),
            Target::Thing(id) => self.instance(id),
        }
    }

    /// What is stated for a setting: by the thing itself, or by a record it is.
    #[must_use]
    pub fn stated<'a>(
        &'a self,
        standard: &'a Standard,
        target: Target,
        field: FieldId,
    ) -> Option<&'a Stated> {
        let mut at = self.target(standard, target);
        for _ in 0..=standard.records.len() {
            if let Some(stated) = at.values.get(field.0 as usize).and_then(Option::as_ref) {
                return Some(stated);
            }
            at = standard.record(at.parent?);
        }
        None
    }

    /// What is so behind the dial of a setting, where its record, or one that this is, says that it reads wrong.
    #[must_use]
    pub fn calibration<'a>(
        &'a self,
        standard: &'a Standard,
        target: Target,
        field: FieldId,
    ) -> Option<&'a Calibration> {
        let record = match target {
            Target::Record(id) => id,
            Target::Thing(id) => self.instance(id).parent?,
        };
        standard.calibration(record, field)
    }
}
