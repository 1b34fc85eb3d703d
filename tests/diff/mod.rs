//! `strikeoff diff`: what two standards mean, one against the other.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_possible_wrap
)]

mod dice;
mod edit;
mod edits;
mod made;
mod named;
mod one_way;
mod passing;
mod plan;
mod proofs;
mod records;
mod room;
mod rows;
mod said;
mod same;
mod shown;
mod tables;
mod texts;
mod views;
