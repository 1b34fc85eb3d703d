//! Views of a standard by itself: `sources`, `print`, and the starter room of `new`.

mod command;
mod hostile;
mod page;
mod small;
mod sources;
mod starter;
mod starter_command;
