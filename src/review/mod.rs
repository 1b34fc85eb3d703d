//! A standard by itself: what clashes in it, what is dead, what is missing, what cannot be verified,
//! and what reads like a slip.
//!
//! Limits on single settings are reasoned about exactly, over every choice of records; what rests on
//! a figure is decided by cutting boxes, with a budget. A claim is made where it is *proved* for
//! everything the settings allow, or *shown* by a run that was checked. What is neither is called
//! *not decided*, and nothing is claimed of it.

mod care;
mod cast;
mod clauses;
mod gaps;
mod limits;
mod look;
mod narrow;
mod node;
mod quantities;
mod reads;
mod remains;
mod set;
mod slips;
mod solve;
mod study;
mod tables;
mod unfold;
mod witness;
mod words;

pub(crate) use reads::{
    Read, by_order, condition as condition_reads, expression as expression_reads,
};
pub(crate) use set::{End, Set};
pub(crate) use witness::read_run;

use crate::check::Prepared;
use crate::diagnostic::{Diagnostic, Evidence, Review, ReviewFinding};
use crate::source::Store;

/// Reviews a standard whose text has no error.
#[must_use]
pub fn review(store: &Store, prepared: &Prepared) -> Review {
    let written = &prepared.standard;
    let standard = &unfold::unfold(written);
    let clauses = clauses::Clauses::of(standard);
    let mut cast = clauses::cast(standard, &clauses);
    let desk = limits::Desk {
        store,
        standard,
        clauses: &clauses,
    };
    let own = |record| limits::own(store, standard, record);
    let mut findings = care::read(&prepared.problems);
    let work = solve::Work::default();
    let mut combinations = 0;
    for group in clauses.groups() {
        let study = study::study(standard, &clauses, &mut cast, &group, &own, &work);
        combinations += study.combinations;
        findings.extend(limits::clashes(&desk, &mut cast, &study));
        findings.extend(limits::fates(&desk, &cast, &study));
        findings.extend(narrow::windows(&desk, &study));
        findings.extend(gaps::limits(&desk, written, &study));
        findings.extend(limits::undecided(&desk, &group.clauses, &study));
    }
    findings.extend(tables::empty(written));
    findings.extend(gaps::unread(&desk));
    findings.extend(care::reasons(written));
    findings.extend(care::records(written));
    findings.extend(slips::slips(store, written));
    // Worst first; then what shares a code together, in the order of the text.
    findings.sort_by_key(|finding| {
        let place = finding.said.primary().map(|label| label.span);
        (finding.said.severity, finding.said.code, place)
    });
    Review {
        file: standard.root,
        name: standard.name.clone(),
        edition: standard.edition.clone(),
        digest: standard.digest.0.clone(),
        requirements: clauses.list.len(),
        combinations,
        findings,
    }
}

/// A finding that its places tell in full.
fn finding(said: Diagnostic, ground: Evidence) -> ReviewFinding {
    ReviewFinding {
        said,
        ground,
        noun: "",
        members: Vec::new(),
        witness: None,
    }
}
