//! All tests that run the library or the command, in one binary: `cargo test --test all FILTER`.
//!
//! A file here is a module below; `tidy` fails where one is not listed.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a test may stop, and a long one says how far it is"
)]

mod cases;
mod cautions;
mod claims;
mod cli;
mod compare_plans;
mod deletion;
mod demo;
mod demo_room;
mod deviations;
mod diff;
mod digest;
mod docs;
mod examples;
mod examples_shipped;
mod fitted;
mod interval;
mod judgement;
mod misspelling;
mod outline;
mod pathological;
mod pathological_heat;
mod physics_directions;
mod physics_figures;
mod physics_heat;
mod physics_samples;
mod physics_worked;
mod reference_cases;
mod reference_index;
mod repairs;
mod report;
mod review;
mod robust;
mod room;
mod soundness;
mod sources;
mod stated_beside;
mod syntax;
mod syntax_random;
mod tables;
mod tidy;
mod units;
mod units_exact;
mod units_show;
mod views;
mod window;
mod working;
