//! The entries of a diff: what changed, in the words of the texts, joined with what it comes to.

pub(in crate::diff) mod deviations;
pub(in crate::diff) mod effect_report;
pub(in crate::diff) mod kinds;
pub(in crate::diff) mod records;
pub(in crate::diff) mod rules;
pub(in crate::diff) mod unit_slip;

use crate::types::Date;

/// `last gone through on 2026-05-01 now, was 2025-05-01`.
fn reviewed(old: Option<Date>, new: Option<Date>) -> String {
    let day = |of: Option<Date>| of.map_or("no day".to_owned(), |day| day.to_string());
    format!("reviewed {} now, was {}", day(new), day(old))
}
