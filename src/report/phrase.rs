//! The sentences that several views say in the same words.

#[cfg(feature = "cli")]
use std::borrow::Cow;
use std::collections::HashMap;

use crate::diagnostic::Verdict;
use crate::diagnostic::{Caution, Excuse, Finding, Report, StandardReport};
#[cfg(feature = "cli")]
use crate::diagnostic::{Counts, Diagnostic, Outcome, PlanReport, Repair, Severity, WholeRun};
#[cfg(feature = "cli")]
use crate::source::Store;
use crate::source::visible;

/// Said at the end of every report.
pub(super) const CLOSING: &str = "Strikeoff advises; people decide. \
     The ink maker's technical sheet, local codes and licensed practice come first.";

/// `holds 9, breaks 1, at risk 1, not stated 0, does not apply 3`: always all five.
#[cfg(feature = "cli")]
pub(super) fn counts(counts: &Counts) -> String {
    let each = Outcome::ALL.map(|outcome| format!("{} {}", outcome.word(), counts.of(outcome)));
    each.join(", ")
}

/// How many plans of a report were checked, and how many were not.
pub(super) fn checked(report: &Report) -> (usize, usize) {
    let not = report
        .plans
        .iter()
        .filter(|plan| Verdict::of_plan(plan, report.allow_risk) == Verdict::NotChecked)
        .count();
    (report.plans.len() - not, not)
}

/// `3 plans checked, 1 not checked`, said aloud when nothing was.
#[cfg(feature = "cli")]
pub(super) fn plans(report: &Report) -> String {
    let noun = |count: usize| if count == 1 { "plan" } else { "plans" };
    let error = |said: &Diagnostic| said.severity == Severity::Error;
    match checked(report) {
        (0, 0) if !report.standards.is_empty() && !report.diagnostics.iter().any(error) => {
            let rules: usize = report.standards.iter().map(|standard| standard.rules).sum();
            let standards = match report.standards.len() {
                1 => "the standard reads".to_owned(),
                many => format!("{many} standards read"),
            };
            let rules = match rules {
                1 => "1 rule".to_owned(),
                many => format!("{many} rules"),
            };
            format!("{standards} without an error, {rules}; no plan was checked")
        }
        (0, 0) => "nothing was checked: no plan was read".to_owned(),
        (0, not) => format!("nothing was checked: {not} {} could not be", noun(not)),
        (done, not) => format!("{done} {} checked, {not} not checked", noun(done)),
    }
}

/// `Quay Street print room, edition 2026-4`.
pub(super) fn standard(standard: &StandardReport) -> String {
    let name = match standard.name.as_str() {
        "" => "no name stated".into(),
        name => visible(name),
    };
    match &standard.edition {
        Some(edition) => format!("{name}, edition {}", visible(edition)),
        None => format!("{name}, no edition stated"),
    }
}

/// The first 12 digits of a digest: enough to tell editions apart by eye.
#[cfg(feature = "cli")]
pub(super) fn digest(standard: &StandardReport) -> Cow<'_, str> {
    visible(standard.digest.get(..12).unwrap_or(&standard.digest))
}

/// The plan's run name, or its file when the name could not be read.
#[cfg(feature = "cli")]
pub(super) fn plan<'r>(plan: &'r PlanReport, store: &'r Store) -> Cow<'r, str> {
    if plan.name.is_empty() {
        visible(store.get(plan.file).name())
    } else {
        visible(&plan.name)
    }
}

/// The facts of a finding as a name and a text each, in reading order, escaped.
pub(super) fn facts(finding: &Finding) -> Vec<(&'static str, String)> {
    let rule = match &finding.title {
        Some(title) => format!("{}: {}", finding.rule, title),
        None => finding.rule.clone(),
    };
    let mut facts = vec![("rule", visible(&rule).into_owned())];
    let optional = [
        ("about", &finding.subject),
        ("value", &finding.value),
        ("limit", &finding.limit),
        ("margin", &finding.margin),
        ("decided by", &finding.decided_by),
        ("because", &finding.because),
        ("when out", &finding.when_out),
        ("source", &finding.source),
    ];
    for (name, text) in optional {
        if let Some(text) = text {
            facts.push((name, visible(text).into_owned()));
        }
    }
    if let Some(excuse) = &finding.deviation {
        let told = [
            ("without it", Some(excuse.without.word())),
            ("permitted", excuse.up_to.as_deref()),
            ("until", Some(&excuse.until)),
            ("reason", Some(&excuse.because)),
            ("approved", Some(&excuse.approved)),
        ];
        let told = told
            .into_iter()
            .filter_map(|(name, text)| Some((name, text?)));
        facts.extend(told.map(|(name, text)| (name, visible(text).into_owned())));
    }
    facts
}

/// How many checks pass by a deviation, in words; empty for none.
#[cfg(feature = "cli")]
pub(super) fn by_deviation<'r>(said: impl IntoIterator<Item = &'r Diagnostic>) -> String {
    let excused = |said: &&Diagnostic| {
        let finding = said.finding.as_ref();
        finding.is_some_and(|finding| finding.deviation.is_some())
    };
    match said.into_iter().filter(excused).count() {
        0 => String::new(),
        1 => "; 1 holds by deviation".to_owned(),
        count => format!("; {count} hold by deviation"),
    }
}

/// `up to 58 s, until 2026-12-31`.
pub(super) fn permitted(excuse: &Excuse) -> String {
    match &excuse.up_to {
        Some(up_to) => format!("{up_to}, until {}", excuse.until),
        None => format!("until {}", excuse.until),
    }
}

/// `repair 2`
#[cfg(feature = "cli")]
pub(super) fn repair(repair: &Repair) -> String {
    match repair.number {
        0 => "repair".to_owned(),
        number => format!("repair {number}"),
    }
}

/// What makes the whole run hold, in one sentence.
#[cfg(feature = "cli")]
pub(super) fn whole(whole: &WholeRun) -> String {
    let change = whole
        .repair
        .as_ref()
        .map(|change| format!("{}: {}", repair(change), change.words));
    let parts = change.into_iter().chain(whole.said.clone());
    parts.collect::<Vec<_>>().join("; ")
}

/// A caution with the number of plans it fits.
pub(super) struct Fitting<'r> {
    /// The caution, as the first plan has it.
    pub(super) caution: &'r Caution,
    /// How many plans it fits.
    pub(super) plans: usize,
}

/// Each caution once, in the order of first appearance.
pub(super) fn cautions(report: &Report) -> Vec<Fitting<'_>> {
    let mut order: Vec<Fitting<'_>> = Vec::new();
    let mut known: HashMap<(&str, &str), usize> = HashMap::new();
    for plan in &report.plans {
        // A caution may fit several things of one plan; that is still one plan.
        let mut here = std::collections::HashSet::new();
        for caution in &plan.cautions {
            let key = (caution.name.as_str(), caution.words.as_str());
            if !here.insert(key) {
                continue;
            }
            let index = *known.entry(key).or_insert_with(|| {
                order.push(Fitting { caution, plans: 0 });
                order.len() - 1
            });
            if let Some(fitting) = order.get_mut(index) {
                fitting.plans += 1;
            }
        }
    }
    order
}
