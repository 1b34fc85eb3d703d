//! What the texts mean: kinds, settings, records, rules and runs, with dimensions checked.
//!
//! Everything here is owned and numbered; names are resolved to numbers once, so that checking a
//! plan never looks a word up again. Spans stay, for the reports.

mod condition;
mod digest;
mod expression;
mod formulas;
mod inherit;
mod kinds;
mod literal;
mod mismatch;
mod model;
mod paths;
mod rules;
mod run;
mod show;
mod standard;
mod steps;
mod value;

pub use model::{
    Adjust, Aggregate, Arithmetic, Compare, Condition, ConditionNode, Constant, Digest, Expression,
    ExpressionNode, Field, FieldId, Function, Hop, Instance, InstanceId, Kind, KindId, Limits,
    Measure, Origin, Parts, Path, PlaceInRun, Quantity, Reading, RecordId, Requirement, Root, Rule,
    RuleForm, Run, Source, Standard, Stated, Target, Tolerance, Type, Value, Verb,
};
pub(crate) use rules::source_words;
pub use run::build_run;
pub(crate) use show::binding;
pub use show::expression_words;
pub use standard::build_standard;
pub use value::reach;
