//! What the texts mean: kinds, settings, records, rules and runs, with dimensions checked.
//!
//! Everything here is owned and numbered; names are resolved to numbers once, so that checking a
//! plan never looks a word up again. Spans stay, for the reports.

mod calibration;
mod calls;
mod carried;
mod cells;
mod compare;
mod condition;
mod date;
mod deviation;
mod digest;
mod example;
mod expression;
mod formulas;
mod ids;
mod inherit;
mod insertion;
mod kinds;
mod limits;
mod literal;
mod mismatch;
mod model;
mod paths;
mod readings;
mod rules;
mod run;
mod shares;
mod show;
mod standard;
mod steps;
mod table;
mod taken_out;
mod terms;
mod value;
mod visit;

pub use calibration::{Calibration, CalibrationPoint};
pub use carried::{Carried, CarriedDial, Says, Way};
pub use date::Date;
pub use deviation::{Deviation, Move, Pieces, Site};
pub(crate) use digest::{exact, expression, limits as range, path, type_words};
pub use example::{Example, Expectation, ExpectedValue, PlanFile};
pub use limits::{Limit, limits, replaced};
pub(crate) use literal::last_digit;
pub use model::{
    Adjust, Axis, Cell, Digest, Entry, Field, FieldId, Grounds, Instance, InstanceId, Kind, KindId,
    Limits, Measure, Origin, Parts, PlaceInRun, Quantity, ReadEvery, Reading, ReadingBlock,
    RecordId, Requirement, Rule, RuleForm, Run, Scatter, Sort, Source, Standard, Stated, Table,
    Taken, TakenAt, Takes, Target, Tolerance, Type, Value, Verb,
};
pub use readings::{DUE, INSTRUMENT};
pub(crate) use rules::source_words;
pub use run::{build_run, overruled};
pub use show::{AsWritten, Canonical, Spelling, expression_words, spell, spell_condition};
pub(crate) use show::{POWER, WHOLE};
pub use standard::build_standard;
pub use taken_out::TakenOut;
pub use terms::{
    Aggregate, Arithmetic, Compare, Condition, ConditionNode, Constant, Expression, ExpressionNode,
    Function, Hop, Path, Root, Stating,
};
pub use value::reach;
pub use visit::Read;
