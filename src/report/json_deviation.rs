//! Deviations in version 1 of our own JSON form.

use serde::Serialize;

use super::json::V1Place;
use crate::diagnostic::{DeviationInfo, DeviationState, Excuse};
use crate::source::Store;

/// The deviation that lets a finding pass.
#[derive(Serialize)]
pub(super) struct V1Excuse<'r> {
    without: &'static str,
    up_to: Option<&'r str>,
    until: &'r str,
    because: &'r str,
    approved: &'r str,
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
#[derive(Serialize)]
pub(super) struct V1Deviation<'r> {
    rule: &'r str,
    title: Option<&'r str>,
    run: Option<&'r str>,
    up_to: &'r [String],
    pieces: Option<&'r str>,
    because: Option<&'r str>,
    approved: Option<&'r str>,
    until: Option<&'r str>,
    days_left: Option<i64>,
    states: Vec<&'static str>,
    checks: usize,
    plans: usize,
    would_do: &'r [String],
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
