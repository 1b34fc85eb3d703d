//! Which file, which kind, which record is meant.

mod import;
mod lookalike;
mod reserved;
mod scope;
mod shipped;
mod suggest;

pub use import::{
    LARGEST_FILE, Loaded, ReadProblem, Shelf, join, load_standard, read_named_plan, read_text,
};
pub use lookalike::{folded, shows_the_same};
pub use scope::{Header, PlanScope, Scope, plan_scope, scope};
pub use shipped::{SHIPPED, in_a_spec, shipped};
pub use suggest::{did_you_mean, nearest};
