//! Problems in words.

use super::{Problem, ProblemNode};
use crate::diagnostic::{Code, Diagnostic};

/// A problem as something to say.
#[must_use]
pub fn diagnostic(problem: &Problem) -> Diagnostic {
    let _ = ProblemNode::BraceStray;
    Diagnostic::new(
        Code::UnreadableLine,
        problem.span,
        "this line cannot be read",
        "here",
    )
}
