//! Plans against standards: which requirements hold, and what to say of those that do not.

mod bisect;
mod blame;
mod blank_plan;
mod capability;
mod deciding_comparison;
mod demand;
mod deviation;
mod deviation_state;
mod disagree;
mod doubles;
mod examples;
mod finding;
mod given;
mod impact;
mod lacking;
mod margin;
mod measure;
mod not_set;
mod outcome;
mod outline;
mod plan;
mod read_back;
mod readings;
mod repair;
mod table;
mod tally;
mod tighten;
mod uncertainty_source;
mod unused;
mod vocabulary;
mod wording;
mod working;

pub use blank_plan::blank_plan;
pub use demand::{
    Demand, DemandWords, Slack, Standing, behind, cautions, demands, settings, value_words,
};
pub use deviation_state::deviations;
pub use doubles::doubles;
pub use examples::{TestOptions, run_examples};
pub use not_set::NotSet;
pub(crate) use outcome::of_rule;
pub use outcome::{Applied, RuleResult, results};
pub use outline::{deviation_chapter, limits, outline};
pub use plan::{Options, Prepared, check_built, check_plan, prepare, read_examples};
pub use read_back::{plan_stating, stated_in};
pub use readings::{readings_on, where_read};
pub use table::NoCell;
pub(crate) use tally::{Tally, tally};
pub use vocabulary::{NoSuchWord, vocabulary};
pub use working::{NoWorking, Wanted, readable, working};
