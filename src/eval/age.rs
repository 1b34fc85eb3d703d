//! How old a reading is, and whether its instrument was good on the day.

use crate::types::{Constant, DUE, Date, RecordId, Run, Standard, Taken, Value};
use crate::units::Exact;

/// A time in whole days.
pub(super) fn days(time: &Constant) -> i64 {
    let day = Exact::from_int(86_400);
    let days = time.exact.div(&day).and_then(|days| days.floor().to_i64());
    days.unwrap_or(i64::MAX)
}

/// Why a reading does not count as taken within a time before the day of the check, as the rest of a sentence that
/// starts with its name; `None` where it does. Where no day is said, only the order of days is looked at.
pub(super) fn too_old(
    standard: &Standard,
    run: &Run,
    taken: Option<&Taken>,
    time: &Constant,
) -> Option<String> {
    let Some(read) = taken.and_then(|taken| taken.on) else {
        return Some("does not say on which day it was read".to_owned());
    };
    if let Some(due) = taken
        .and_then(|taken| taken.with)
        .and_then(|with| overdue(standard, with, read))
    {
        return Some(format!(
            "was read on {read} with an instrument whose calibration was due on {due}"
        ));
    }
    let on = run.on?;
    let age = read.days_to(on);
    let most = days(time);
    match age {
        age if age < 0 => Some(format!("is dated {read}, and the check is for {on}")),
        age if age > most => Some(format!(
            "was read {age} days before {on}, and at most {most} are wanted"
        )),
        _ => None,
    }
}

/// The day on which the calibration of an instrument fell due, where that lies before the day of a reading.
#[must_use]
pub fn overdue(standard: &Standard, instrument: RecordId, read: Date) -> Option<Date> {
    let kind = standard.record(instrument).kind;
    let due = *standard.kind(kind).field_names.get(DUE)?;
    let mut at = Some(instrument);
    for _ in 0..=standard.records.len() {
        let record = standard.record(at?);
        if let Some(stated) = record.values.get(due.index())?.as_ref() {
            return match stated.value {
                Value::Day(day) if day < read => Some(day),
                _ => None,
            };
        }
        at = record.parent;
    }
    None
}
