//! Text to tree. Any text gives a tree; what cannot be read stays in it as a broken piece.

mod build;
mod expected;
mod failure;
mod grammar;
mod mask;
mod message;
mod phrasing;
mod problem;
mod slip;
pub mod tree;
pub mod walk;

use crate::diagnostic::Diagnostic;
use crate::source::FileId;
pub use message::diagnostic;
pub use problem::{Found, Hint, Inside, Problem, ProblemNode};
use tree::Tree;

/// What came of reading a text.
#[derive(Debug, Clone, PartialEq)]
pub struct Parsed<'t> {
    /// The tree; complete even when there are problems.
    pub tree: Tree<'t>,
    /// What could not be read, in the order of the text.
    pub problems: Vec<Problem>,
}

impl Parsed<'_> {
    /// What is to be said of it: the problems that do not merely follow from others.
    pub fn diagnostics(&self) -> impl Iterator<Item = Diagnostic> {
        let own = self.problems.iter().filter(|problem| !problem.follows);
        own.map(diagnostic)
    }
}

/// Reads a standard or a plan.
///
/// Every text has a tree: what cannot be read is in it as a broken piece, and is explained by at least
/// one problem. Which statement may stand in which sort of file is not asked here.
#[must_use]
pub fn parse(file: FileId, text: &str) -> Parsed<'_> {
    build::parsed(file, text)
}
