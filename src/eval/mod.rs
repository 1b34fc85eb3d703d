//! What an expression or a condition comes to for a run, over everything its tolerances allow.
//!
//! The guarantee: the interval given for an expression contains its value at every point inside the
//! tolerances of the stated values. It is exact up to rounding where every uncertain value is used
//! once, or moves the result in one direction only; elsewhere the box is split until the interval is
//! at most one per cent wider than what points inside it reach, or the budget ends.
//!
//! Figures of the physics table that take milliseconds are worked out once over the whole box: sound,
//! if wider where an input is used twice. Bounds that were sampled rather than shown may show that a
//! requirement breaks; they are never the ground on which one holds.
//! So when a change is tried that should make something hold, it is first tried at single points, which may refute it, and
//! the search over the box is left off as soon as it could only sample.
//!
//! A comparison that the floating intervals cannot decide is decided by exact rational arithmetic
//! where the formula allows it, so that a value exactly on its limit holds `at least`.

mod active_branch;
mod age;
mod budget;
mod carry;
mod condition;
mod context;
mod counterexample;
mod decide;
mod evaluator;
mod exact_span;
mod figure_cache;
mod inputs;
mod missing;
mod monotonicity;
mod number;
mod range;
mod set_aside;
mod sign;
mod slope;

pub use active_branch::active_branch;
pub use age::overdue;
pub use budget::{MOST_HELPS, WorkBudget};
pub use carry::{carried, settled};
pub use condition::{Conditions, Held, Truth};
pub use context::{Binding, EvalContext, EvalError, ExactInterval, Found, MissingValue};
pub use counterexample::Counterexamples;
pub(crate) use decide::once;
pub use decide::{Goal, Verdict, condition_inputs, decide, is_costly, is_costly_value};
pub use figure_cache::FigureCache;
pub use inputs::{Leaf, inputs};
pub use missing::{MissingInput, missing_inputs};
pub use monotonicity::{Trend, rests_on, trends};
pub use range::{Against, Aim, Range, range};
pub use set_aside::setting_aside;
pub use sign::decided;
