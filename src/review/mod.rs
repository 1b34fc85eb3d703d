//! A standard by itself: what clashes in it, what is dead, what is missing, what cannot be verified,
//! and what reads like a slip.
//!
//! Limits on single settings are reasoned about exactly, over every choice of records; what rests on
//! a figure is decided by cutting regions, with a budget that no rule can use up for the others. A
//! claim is made where it is *proved* for everything the settings allow. What is not decided is said
//! first, with the rule that it hangs on and what it costs; nothing is claimed of it.

mod clauses;
mod conflicts;
mod context;
mod equality;
mod exclusion;
mod expand_tables;
mod gaps;
mod grouping;
mod hygiene;
mod limits;
mod narrow;
mod neighbours;
mod oracle;
mod quantities;
mod redundancy;
mod remaining;
mod resolver;
mod slips;
mod study;
mod symbolic_run;
mod tables;
mod undecided;
mod witness;
mod words;

use crate::check::Prepared;
use crate::constraint::{Budget, Shares};
use crate::diagnostic::{Code, Diagnostic, Evidence, Review, ReviewFinding};
use crate::source::Store;

/// How much work goes into putting requirements into their situations, in units of the budget.
const MOST_SITUATED: u64 = 8_000_000;

/// How much work goes into questions on them.
const MOST_ASKED: u64 = 8_000_000;

/// Reviews a standard whose text has no error.
#[must_use]
pub fn review(store: &Store, prepared: &Prepared) -> Review {
    let written = &prepared.standard;
    let standard = &expand_tables::expand(written);
    let clauses = clauses::Clauses::of(standard);
    let mut run = symbolic_run::SymbolicRun::new(standard, &clauses.free);
    let context = context::ReviewContext {
        store,
        standard,
        clauses: &clauses,
    };
    let own = |record| context::own(store, standard, record);
    let mut findings = hygiene::read(&prepared.problems);
    let situated = Budget::of(MOST_SITUATED);
    let asked = Budget::of(MOST_ASKED);
    let shares = Shares::new(&asked, clauses.list.len());
    let reach = grouping::Reach::of(standard, &clauses);
    let mut combinations = 0;
    let mut cut_short = Vec::new();
    for (number, group) in reach.groups.iter().enumerate() {
        let part = situated.share(reach.groups.len() - number);
        let means = study::Means {
            shares: &shares,
            situations: &part,
            own: &own,
        };
        let mut study = study::study(standard, &clauses, &mut run, group, &means);
        combinations += study.combinations;
        // What limits a setting elsewhere may limit it here too.
        let elsewhere = |setting: &symbolic_run::Setting| reach.aside_limits.contains(setting);
        study.limited.retain(|setting, _| !elsewhere(setting));
        if study.cut_short {
            cut_short.push(group);
        }
        findings.extend(limits::clashes(&context, &mut run, &study));
        findings.extend(limits::fates(&context, &run, &study));
        findings.extend(narrow::windows(&context, &study));
        findings.extend(gaps::limits(&context, written, &study));
    }
    findings.extend(undecided::undecided(&context, &shares, &reach, &cut_short));
    findings.extend(equality::never_equal(&context));
    findings.extend(tables::empty(written));
    findings.extend(gaps::unread(&context));
    findings.extend(hygiene::reasons(written));
    findings.extend(hygiene::records(written));
    findings.extend(slips::slips(store, written));
    // What was not decided first, since nothing else says of it; then worst first; then what shares
    // a code together, in the order of the text.
    findings.sort_by_key(|finding| {
        let place = finding.said.primary().map(|label| label.span);
        let decided = finding.said.code != Code::NotDecided;
        (decided, finding.said.severity, finding.said.code, place)
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
