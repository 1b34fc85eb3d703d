//! A session with the texts of a room: which standard a plan names, a folder checked, both sides of a diff.
//!
//! What the command line, an editor and a page share. It knows no arguments, no disk, no clock and no terminal:
//! texts come through a [`Shelf`](crate::names::Shelf), the day is given.

mod check;
mod diff;
mod diff_plans;
mod named;
mod read;
mod reading;
mod review;
mod test;
mod texts;
mod vocabulary;
mod window;
mod working;

use crate::check::Options;
use crate::diff::{DiffOptions, USUAL_BUDGET};
use crate::names::Shelf;
use crate::types::Date;

pub use check::{Request, Run, check};
pub use diff::{DiffRun, DiffSide, diff};
pub use diff_plans::compare_plans;
pub use named::Named;
#[cfg(feature = "cli")]
pub(crate) use named::nothing_in;
pub use read::{ReadStandard, read_standard};
#[cfg(feature = "cli")]
pub(crate) use reading::has_header;
pub use review::{ReviewRun, review};
pub use test::{TestRun, test};
pub use texts::Texts;
pub use vocabulary::all_shipped;
pub use window::{WindowRun, window};
pub use working::{WorkingRun, working};

/// The texts of a room, and the day they are looked at.
#[derive(Clone, Copy)]
pub struct Session<'t> {
    texts: &'t (dyn Shelf + Sync),
    on: Option<Date>,
}

impl<'t> Session<'t> {
    /// Opens a room. Nothing is read before it is asked for.
    ///
    /// No day is set: no deviation is in force, and the report has no date.
    #[must_use]
    pub fn open(texts: &'t (dyn Shelf + Sync)) -> Self {
        Self { texts, on: None }
    }

    /// The day for which deviations are in force or past their end.
    #[must_use]
    pub fn on(mut self, day: Date) -> Self {
        self.on = Some(day);
        self
    }

    /// Checks these plans, each against the standard that it names. Paths have forward slashes.
    ///
    /// What is wrong with a text or missing is said in the report; that is no error here.
    #[must_use]
    pub fn check(&self, plans: &[&str]) -> Run {
        self.check_named(Named {
            plans: plans.iter().map(|path| (*path).to_owned()).collect(),
            ..Named::default()
        })
    }

    /// Checks all plans and standards below a folder; `""` is the folder that all paths start at.
    #[must_use]
    pub fn check_folder(&self, folder: &str) -> Run {
        self.check_named(Named::below(folder, self.texts))
    }

    fn check_named(&self, named: Named) -> Run {
        let request = Request {
            named,
            stdin: None,
            standard: None,
            date: self.on.map(|day| day.to_string()).unwrap_or_default(),
            options: Options::default(),
        };
        check(request, self.texts)
    }

    /// Compares the standard at `old` with the one at `new` by what they mean. [`diff`] takes the two sides from
    /// different places.
    #[must_use]
    pub fn diff(&self, old: &str, new: &str) -> DiffRun {
        let side = |path| DiffSide {
            shelf: self.texts,
            path,
            revision: None,
        };
        let options = DiffOptions {
            budget: USUAL_BUDGET,
            on: self.on,
        };
        diff(side(old), side(new), options)
    }

    /// Reviews one standard by itself.
    #[must_use]
    pub fn review(&self, standard: &str) -> ReviewRun {
        review(standard, self.texts)
    }
}
