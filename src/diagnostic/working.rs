//! The working of a run: every figure with its formula, the numbers put in, and what came out.
//!
//! Plain values; `report` turns them into text, JSON and pictures.

use crate::source::{FileId, Span};

/// The working of one plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Working {
    /// The plan's file.
    pub file: FileId,
    /// The run's name.
    pub name: String,
    /// The standard's file.
    pub standard: FileId,
    /// The standard's name.
    pub standard_name: String,
    /// Its edition.
    pub edition: Option<String>,
    /// Digest of its meaning.
    pub digest: String,
    /// The figures, those that others rest on first.
    pub figures: Vec<Figure>,
    /// Figures that were not asked for by name and lack a value.
    pub idle: Vec<Idle>,
}

/// A figure that was left out because a value is missing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Idle {
    /// The figure: `dryer.dwell`.
    pub setting: String,
    /// What is missing: `` `dryer.belt` is not stated ``.
    pub missing: String,
}

/// A figure with its working.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// The setting with its thing: `dryer.dwell`, `screen base: opening`.
    pub setting: String,
    /// The kind of the thing.
    pub kind: String,
    /// The setting's own name.
    pub field: String,
    /// The standard's sentence about it.
    pub sentence: Option<String>,
    /// The unit the numbers of this figure are given in; empty for a plain number.
    pub unit: String,
    /// How it is worked out; `None` for a value that can only be stated.
    pub formula: Option<Formula>,
    /// What the formula comes to, or why it comes to nothing; `None` without a formula.
    pub result: Option<Result<Interval, String>>,
    /// The value the plan or the standard states, which is the one that counts.
    pub stated: Option<StatedFigure>,
    /// Which inputs widen the result most, widest first.
    pub widened_by: Vec<Widening>,
    /// Share of the width that is left for the inputs not listed.
    pub other_inputs: f64,
    /// What range or formula rest on.
    pub source: Option<String>,
}

/// A formula.
#[derive(Debug, Clone, PartialEq)]
pub struct Formula {
    /// As written.
    pub written: String,
    /// As written, calls with many inputs cut short: `film-peak(…)`.
    pub short: String,
    /// The same with every path replaced by its value.
    pub numbers: String,
    /// Where it stands in the standard.
    pub span: Span,
    /// The figures of the physics table it calls.
    pub calls: Vec<Call>,
}

/// A call of a figure of the physics table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Call {
    /// The figure.
    pub figure: String,
    /// Its own formula.
    pub formula: String,
    /// Its own source.
    pub source: String,
    /// How exactly it is worked out: `± 0.3 K`; `None` when only rounding is left.
    pub accuracy: Option<String>,
    /// Its inputs, in order.
    pub inputs: Vec<Input>,
    /// Whether the call is written short, so that its inputs are to be shown one by one.
    pub listed: bool,
}

/// An input of a call.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Input {
    /// The parameter.
    pub parameter: String,
    /// As written in the formula.
    pub written: String,
    /// What was put in.
    pub numbers: String,
}

/// An interval that came out.
#[derive(Debug, Clone, PartialEq)]
pub struct Interval {
    /// Lower end in the figure's unit, rounded down.
    pub low: f64,
    /// Upper end in the figure's unit, rounded up; infinite where there is none.
    pub high: f64,
    /// In words: `46.4 to 51.4 s`.
    pub words: String,
    /// Whether it is certain that no value inside the tolerances falls outside.
    pub basis: Basis,
}

/// What an interval rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Basis {
    /// No value inside the tolerances falls outside.
    Exact,
    /// No value inside the tolerances falls outside what a model gives, whatever the model itself may miss.
    Model,
    /// The worst found at the points that were tried.
    Sampled,
}

/// A stated value of something that can also be worked out.
#[derive(Debug, Clone, PartialEq)]
pub struct StatedFigure {
    /// The value as stated.
    pub value: Interval,
    /// Where.
    pub span: Span,
    /// What the statement rests on.
    pub source: Option<String>,
    /// Whether it is the one that counts; a bare value that is worked out as well is only compared.
    pub counts: bool,
    /// Whether it agrees with what the formula comes to; `None` when that is not known.
    pub agrees: Option<bool>,
}

/// How much of the width of a result one input makes.
#[derive(Debug, Clone, PartialEq)]
pub struct Widening {
    /// The input: `dryer.belt`.
    pub setting: String,
    /// Its value as stated.
    pub value: String,
    /// Its share of the width, 0 to 1; all shares together are at most 1.
    pub share: f64,
}

/// A picture: panels below one another.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// The run's name.
    pub title: String,
    /// The panels.
    pub panels: Vec<Panel>,
    /// Panels that were left out, as there were too many.
    pub left_out: usize,
}

/// One panel: curves over an axis, with limits and marks.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// What it shows.
    pub title: String,
    /// The figure it stands for: `film.peak`.
    pub setting: String,
    /// What the axis below says, with its unit.
    pub across: String,
    /// What the axis at the side says, with its unit.
    pub up: String,
    /// The curves, the one with a band first.
    pub curves: Vec<Curve>,
    /// Levels to keep to.
    pub limits: Vec<Level>,
    /// Places on the axis below.
    pub marks: Vec<Mark>,
    /// What the band means.
    pub band: String,
    /// Sentences below the panel.
    pub notes: Vec<String>,
}

/// A curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Its name.
    pub name: String,
    /// At the nominal values: across, up.
    pub points: Vec<(f64, f64)>,
    /// The band of the tolerances: across, lowest, highest; empty without one.
    pub band: Vec<(f64, f64, f64)>,
}

/// A level to keep to.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// The value.
    pub at: f64,
    /// Which side is to be kept to.
    pub side: Side,
    /// The value in words: `305 °F`.
    pub value: String,
    /// Who asks: the rules.
    pub asked_by: Vec<String>,
}

/// Which side of a level is to be kept to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Side {
    /// The level or more.
    Above,
    /// The level or less.
    Below,
    /// Neither: the level is only looked at.
    Watched,
}

/// A place on the axis below.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Where it lies at the nominal values.
    pub at: f64,
    /// From where to where it may lie.
    pub span: Option<(f64, f64)>,
    /// What is said there.
    pub words: String,
    /// Whether it is the one that ends what counts.
    pub strong: bool,
}
