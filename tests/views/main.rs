//! Views of a standard by itself: `sources`, `print`, and the starter room of `new`.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    unreachable_pub
)]

mod command;
#[path = "../demo_room/mod.rs"]
mod demo_room;
mod hostile;
mod page;
#[path = "../room/mod.rs"]
mod room;
mod small;
mod sources;
mod starter;
mod starter_command;
