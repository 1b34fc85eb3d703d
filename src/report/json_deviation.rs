//! Deviations in version 1 of our own JSON form.

use schemars::JsonSchema;
use serde::Serialize;

use super::json::V1Place;
use crate::diagnostic::{DeviationInfo, DeviationState, Excuse};
use crate::source::Store;

/// The deviation that lets a finding pass.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "excuse", deny_unknown_fields)]
pub(super) struct V1Excuse<'r> {
    /// What the requirement comes to without it.
    #[schemars(extend("enum" = ["holds", "breaks", "at-risk", "not-stated", "does-not-apply"]))]
    without: &'static str,
    /// How far it permits to go.
    up_to: Option<&'r str>,
    /// Its last day, as YYYY-MM-DD.
    until: &'r str,
    /// Its reason.
    because: &'r str,
    /// Who approved it.
    approved: &'r str,
    /// A stretch of a text; the end is not part of it.
    place: V1Place<'r>,
}

impl<'r> V1Excuse<'r> {
    pub(super) fn new(excuse: &'r Excuse, store: &'r Store) -> Self {
        Self {
            without: excuse.without.slug(),
            up_to: excuse.up_to.as_deref(),
            until: &excuse.until,
            because: &excuse.because,
            approved: &excuse.approved,
            place: V1Place::new(excuse.span, store),
        }
    }
}

/// A deviation of a standard with its state over the plans of the call.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "deviation", deny_unknown_fields)]
pub(super) struct V1Deviation<'r> {
    /// The rule's name as written.
    rule: &'r str,
    /// Its title.
    title: Option<&'r str>,
    /// The one run it is for.
    run: Option<&'r str>,
    /// How far it permits to go.
    up_to: &'r [String],
    /// How many pieces it is for at most.
    pieces: Option<&'r str>,
    /// Its reason.
    because: Option<&'r str>,
    /// Who approved it.
    approved: Option<&'r str>,
    /// Its last day, as YYYY-MM-DD.
    until: Option<&'r str>,
    /// Days from the day of the check to its last day; below zero when that is past.
    days_left: Option<i64>,
    /// What is to be said of it, the most pressing first.
    #[schemars(extend("minItems" = 1, "items" = {"type": "string", "enum": ["malformed", "ended", "ends-soon", "unused", "wider-than-needed", "active"]}))]
    states: Vec<&'static str>,
    /// How many checks it let pass.
    checks: usize,
    /// In how many plans.
    plans: usize,
    /// What would do, where it is wider than needed.
    would_do: &'r [String],
    /// A stretch of a text; the end is not part of it.
    place: V1Place<'r>,
}

impl<'r> V1Deviation<'r> {
    pub(super) fn new(of: &'r DeviationInfo, store: &'r Store) -> Self {
        Self {
            rule: &of.rule,
            title: of.title.as_deref(),
            run: of.run.as_deref(),
            up_to: &of.up_to,
            pieces: of.pieces.as_deref(),
            because: of.because.as_deref(),
            approved: of.approved.as_deref(),
            until: of.until.as_deref(),
            days_left: of.days_left,
            states: of
                .states
                .iter()
                .copied()
                .map(DeviationState::slug)
                .collect(),
            checks: of.checks,
            plans: of.plans,
            would_do: &of.would_do,
            place: V1Place::new(of.span, store),
        }
    }
}
