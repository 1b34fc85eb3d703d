//! Exit codes. The README documents them.

use crate::diagnostic::{Report, Severity};
use crate::report::Verdict;

/// Every `shall` holds.
pub(super) const CLEAN: u8 = 0;
/// A `shall` breaks, is at risk or lacks a value; or stated and worked-out values disagree.
pub(super) const FINDINGS: u8 = 1;
/// Trouble with the text itself: something was not checked.
pub(super) const TROUBLE: u8 = 2;
/// Something went wrong outside the texts: the output cannot be written.
pub(super) const INTERNAL: u8 = 70;

/// The exit code of a report.
pub(super) fn of_report(report: &Report) -> u8 {
    let error = |severity: &Severity| *severity == Severity::Error;
    let trouble = report.diagnostics.iter().any(|said| error(&said.severity));
    let unchecked = |plan| Verdict::of_plan(plan, report.allow_risk) == Verdict::NotChecked;
    if trouble || report.plans.iter().any(unchecked) {
        return TROUBLE;
    }
    let fails = |plan| Verdict::of_plan(plan, report.allow_risk) == Verdict::Fails;
    if report.plans.iter().any(fails) {
        FINDINGS
    } else {
        CLEAN
    }
}
