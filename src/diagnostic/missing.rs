//! All that a plan does not state and its rules wait for, a block for each thing.

use crate::source::Span;

/// What a plan lacks.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Lacking {
    /// How many checks wait for it.
    pub checks: u64,
    /// Whether a `shall` is among them.
    pub shall: bool,
    /// The things that lack something, in the order of the plan.
    pub blocks: Vec<LackingBlock>,
    /// For each value that can be read off instead of being worked out: what it would be worked out from.
    pub ways_round: Vec<WayRound>,
}

/// The values that one thing lacks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LackingBlock {
    /// The thing: `screen base`, `film`.
    pub thing: String,
    /// Where its block begins; `None` where the plan has none, or it is a record of the standard.
    pub place: Option<Span>,
    /// Whether a block has to be added: the plan does not have it.
    pub add: bool,
    /// Records that the block could name behind `is`.
    pub records: Vec<String>,
    /// What it lacks.
    pub values: Vec<LackingValue>,
}

/// A value that is not stated.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LackingValue {
    /// The setting.
    pub name: String,
    /// What a value looks like: `… N/cm`.
    pub example: String,
    /// What is possible: `1 to 80 N/cm`, or what there is to choose from.
    pub possible: Option<String>,
    /// How it is read off: `a tension meter`.
    pub measured: Option<String>,
    /// The rules that ask for it, by name, each once.
    pub rules: Vec<String>,
}

/// What a value can be worked out from instead of being read off.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WayRound {
    /// The value.
    pub value: String,
    /// What would have to be stated, all of it.
    pub blocks: Vec<LackingBlock>,
}
