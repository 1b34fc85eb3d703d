//! What `diff` and `window` claim, held against `check` alone: random standards, edits and plans, written as people
//! write them. Nothing here knows how a claim is found.
mod dials;
mod dice;
mod edit;
mod edit_things;
mod invent;
mod judge;
mod model;
mod pairs;
mod plans;
mod read_off;
mod scale;
mod shrink;
mod windows;
