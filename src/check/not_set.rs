//! Which settings are no dials: all but those that the standard says are set. No repair and no window moves one of these.

use crate::source::visible;
use crate::types::{Field, Sort};

/// Why a setting is not one to set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotSet {
    /// It is brought along.
    Given,
    /// It is read off; by what.
    Measured(String),
    /// It is worked out.
    WorkedOut,
}

impl NotSet {
    /// Why a setting is not one to set; `None` where it is.
    #[must_use]
    pub fn of(field: &Field) -> Option<Self> {
        match &field.sort {
            Sort::Set => None,
            Sort::Given { .. } => Some(Self::Given),
            Sort::Measured(by) => Some(Self::Measured(visible(by).into_owned())),
            Sort::WorkedOut => Some(Self::WorkedOut),
        }
    }

    /// The reason as a clause: ``is read off, not set (a probe in the wet print)``.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Given => "is given, not set".to_owned(),
            Self::Measured(by) => format!("is read off, not set ({by})"),
            Self::WorkedOut => "is worked out, not set".to_owned(),
        }
    }
}
