//! What a check is asked to look at.

use crate::diagnostic::{Code, Diagnostic};
use crate::names::Shelf;

/// The files of one check, in the order named; inside a folder in alphabetical order.
#[derive(Debug, Default)]
pub struct Named {
    /// Plans.
    pub plans: Vec<String>,
    /// Standards named one by one.
    pub standards: Vec<String>,
    /// `.std` files met in folders; parts of standards among them.
    pub parts: Vec<String>,
    /// Whether a plan comes from standard input.
    pub stdin: bool,
    /// What went wrong.
    pub problems: Vec<Diagnostic>,
}

impl Named {
    /// All plans and standards below a folder. Where there are none, that is said.
    #[must_use]
    pub fn below(folder: &str, shelf: &dyn Shelf) -> Self {
        let files = shelf.files(folder);
        let ending = |end: &str| -> Vec<String> {
            let files = files.iter().filter(|path| path.ends_with(end));
            files.cloned().collect()
        };
        let mut named = Self {
            plans: ending(".plan"),
            parts: ending(".std"),
            ..Self::default()
        };
        if named.plans.is_empty() && named.parts.is_empty() {
            named.problems.push(nothing_in(folder));
        }
        named
    }
}

/// There is nothing to check in a folder.
pub(crate) fn nothing_in(folder: &str) -> Diagnostic {
    Diagnostic::without_place(
        Code::NothingToCheck,
        format!("there is no `.plan` and no `.std` file in `{folder}`"),
    )
    .help("name a folder that holds plans or standards")
}
