//! What makes a finding the same finding in the next call.
//!
//! Rule, clause, subject, plan and values; never a line number, so that a comment added at the top
//! of a plan does not turn old findings into new ones.

use std::collections::HashMap;
use std::fmt::Write as _;

use sha2::{Digest, Sha256};

use crate::diagnostic::{Diagnostic, PlanReport};
use crate::source::Store;

/// The identity of something said: 64 lower-case hex digits.
///
/// A finding is its rule, clause, subject, plan, quantity, value, limit and outcome; anything else
/// is its code, headline and file.
#[must_use]
pub fn identity(
    said: &Diagnostic,
    plan: Option<&PlanReport>,
    clause: Option<u32>,
    store: &Store,
) -> String {
    let mut digest = Sha256::new();
    // A length before each part keeps `ab` + `c` and `a` + `bc` apart; a missing part differs
    // from an empty one.
    let mut part = |text: Option<&str>| {
        let size = text.map_or(u64::MAX, |text| text.len() as u64);
        digest.update(size.to_le_bytes());
        digest.update(text.unwrap_or("").as_bytes());
    };
    if let Some(finding) = &said.finding {
        part(Some("finding"));
        part(Some(&finding.rule));
        part(clause.map(|clause| clause.to_string()).as_deref());
        part(finding.subject.as_deref());
        part(plan.map(|plan| {
            if plan.name.is_empty() {
                store.get(plan.file).name()
            } else {
                plan.name.as_str()
            }
        }));
        part(finding.quantity.as_deref());
        part(finding.value.as_deref());
        part(finding.limit.as_deref());
        part(Some(finding.outcome.slug()));
    } else {
        part(Some("text"));
        part(Some(said.code.slug()));
        part(Some(&said.headline));
        let file = said.primary().map(|label| label.span.file).or(said.file);
        part(file.map(|file| store.get(file).name()));
    }
    let mut hex = String::with_capacity(64);
    for byte in digest.finalize() {
        let _ = write!(hex, "{byte:02x}");
    }
    hex
}

/// Keeps identities apart within one report: the second of the same kind ends in `-2`, and so on.
#[derive(Debug, Default)]
pub struct Identities {
    seen: HashMap<String, u32>,
}

impl Identities {
    /// The identity of the next thing said.
    pub fn next(
        &mut self,
        said: &Diagnostic,
        plan: Option<&PlanReport>,
        clause: Option<u32>,
        store: &Store,
    ) -> String {
        let hex = identity(said, plan, clause, store);
        let count = self.seen.entry(hex.clone()).or_insert(0);
        *count += 1;
        if *count == 1 {
            hex
        } else {
            format!("{hex}-{count}")
        }
    }
}
