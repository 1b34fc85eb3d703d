//! `strikeoff diff`: what two standards mean, one against the other.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_possible_wrap,
    clippy::print_stdout
)]

mod dice;
mod edit;
mod edits;
mod made;
mod one_way;
mod plan;
mod records;
mod room;
mod said;
mod same;
mod views;
