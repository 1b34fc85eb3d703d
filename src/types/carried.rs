//! What a reading says of a run whose dials stand elsewhere than they did when it was taken.

use super::model::{FieldId, KindId, Quantity, Target};
use crate::source::Span;
use crate::units::Exact;

/// A value that was read off, or is stated beside its formula, and the set settings that it was taken at.
#[derive(Debug, Clone)]
pub struct Carried {
    /// The thing.
    pub target: Target,
    /// The setting.
    pub field: FieldId,
    /// The value as stated.
    pub read: Quantity,
    /// The set settings that its formula rests on, as they were when it was taken.
    pub dials: Vec<CarriedDial>,
    /// The kinds of step that its formula counts or looks for in the sequence: one more and it speaks of another run.
    pub steps: Vec<KindId>,
    /// Whether any step more makes it so.
    pub any_step: bool,
    /// What it says of the run as it is.
    pub says: Says,
}

/// A set setting at which a reading was taken.
#[derive(Debug, Clone)]
pub struct CarriedDial {
    /// The thing.
    pub target: Target,
    /// The setting.
    pub field: FieldId,
    /// The least it was, with the tolerance of the plan around where it stood.
    pub low: Exact,
    /// The most it was.
    pub high: Exact,
    /// What raising it does to what was read.
    pub way: Way,
    /// Whether the direction is that of something that only gets warmer, which is taken to hold.
    pub while_heating: bool,
    /// Where it is known what is so behind it, if that is not what it shows; beyond, no direction is known.
    pub known: Option<(Exact, Exact)>,
    /// Where the reading says what it was.
    pub span: Option<Span>,
}

impl CarriedDial {
    /// Whether it stands between these, or stood then, where it is not known what is so behind it.
    #[must_use]
    pub fn is_beyond(&self, low: &Exact, high: &Exact) -> bool {
        self.known.as_ref().is_some_and(|(first, last)| {
            let mut ends = [low, high, &self.low, &self.high].into_iter();
            ends.any(|end| end < first || last < end)
        })
    }
}

/// What raising a setting does to a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// It never lowers it.
    Rises,
    /// It never raises it.
    Falls,
    /// Either, or it cannot be shown.
    Unknown,
}

/// What a reading says at other settings than those it was taken at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Says {
    /// What it says: the settings are the same.
    AsRead,
    /// At least that.
    AtLeast,
    /// At most that.
    AtMost,
    /// Nothing.
    Nothing,
}
