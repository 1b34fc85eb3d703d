//! The view for programs: version 1 of our own JSON form.
//!
//! These structs are the form; they are not the inner types, so that inner types may change.
//! `report.v1.schema.json` describes it; within version 1 fields are only added.

use std::io::{self, Write};

use serde::Serialize;

use super::identity::Identities;
use super::json_deviation::{V1Deviation, V1Excuse};
use super::json_head::V1Tool;
use super::json_repair::{V1Margins, V1Repair, V1Whole};
use super::trace::Trace;
use super::{explain, json_text, phrase};
use crate::diagnostic::Verdict;
use crate::diagnostic::{Check, Counts, Diagnostic, Outcome, PlanReport, Report, Role};
use crate::source::{Span, Store};

/// The JSON Schema (draft 2020-12) of this form.
#[must_use]
pub fn json_schema() -> &'static str {
    include_str!("report.v1.schema.json")
}

/// Writes the whole report.
pub(super) fn write(report: &Report, store: &Store, out: &mut dyn Write) -> io::Result<()> {
    json_text::write(&V1Report::new(report, store), out)
}

#[derive(Serialize)]
struct V1Report<'r> {
    format: &'static str,
    version: u32,
    tool: V1Tool,
    date: &'r str,
    allow_risk: bool,
    verdict: &'static str,
    totals: V1Totals,
    plans_checked: usize,
    plans_not_checked: usize,
    standards: Vec<V1Standard<'r>>,
    plans: Vec<V1Plan<'r>>,
    diagnostics: Vec<V1Diagnostic<'r>>,
    cautions: Vec<V1Fitting<'r>>,
    closing: &'static str,
}

/// How often each outcome came.
#[derive(Serialize)]
pub(super) struct V1Totals {
    holds: u64,
    breaks: u64,
    at_risk: u64,
    not_stated: u64,
    does_not_apply: u64,
}

#[derive(Serialize)]
struct V1Standard<'r> {
    file: &'r str,
    name: &'r str,
    edition: Option<&'r str>,
    digest: &'r str,
    rules: Vec<V1Rule<'r>>,
    deviations: Vec<V1Deviation<'r>>,
}

#[derive(Serialize)]
struct V1Rule<'r> {
    name: &'r str,
    title: Option<&'r str>,
    because: Option<&'r str>,
    source: Option<&'r str>,
    place: V1Place<'r>,
}

#[derive(Serialize)]
struct V1Plan<'r> {
    file: &'r str,
    name: &'r str,
    standard: Option<usize>,
    checked: bool,
    verdict: &'static str,
    totals: V1Totals,
    checks: Vec<V1Check<'r>>,
    diagnostics: Vec<V1Diagnostic<'r>>,
    cautions: Vec<V1Caution<'r>>,
    whole: Option<V1Whole<'r>>,
    margins: Option<V1Margins<'r>>,
}

#[derive(Serialize)]
struct V1Check<'r> {
    rule: &'r str,
    clause: u32,
    subject: Option<&'r str>,
    verb: &'static str,
    outcome: &'static str,
    why: &'r str,
    place: V1Place<'r>,
}

#[derive(Serialize)]
struct V1Diagnostic<'r> {
    identity: String,
    code: &'static str,
    severity: &'static str,
    headline: &'r str,
    file: Option<&'r str>,
    labels: Vec<V1Label<'r>>,
    notes: Vec<&'r str>,
    help: Option<&'r str>,
    repairs: Vec<V1Repair<'r>>,
    finding: Option<V1Finding<'r>>,
}

#[derive(Serialize)]
struct V1Label<'r> {
    role: &'static str,
    words: &'r str,
    place: V1Place<'r>,
}

#[derive(Serialize)]
struct V1Finding<'r> {
    outcome: &'static str,
    verb: &'static str,
    rule: &'r str,
    clause: Option<u32>,
    title: Option<&'r str>,
    subject: Option<&'r str>,
    quantity: Option<&'r str>,
    value: Option<&'r str>,
    limit: Option<&'r str>,
    margin: Option<&'r str>,
    decided_by: Option<&'r str>,
    culprit: Option<&'r str>,
    because: Option<&'r str>,
    source: Option<&'r str>,
    deviation: Option<V1Excuse<'r>>,
}

#[derive(Serialize)]
struct V1Caution<'r> {
    name: &'r str,
    words: &'r str,
    source: Option<&'r str>,
}

#[derive(Serialize)]
struct V1Fitting<'r> {
    #[serde(flatten)]
    caution: V1Caution<'r>,
    plans: usize,
}

#[derive(Serialize)]
pub(super) struct V1Place<'r> {
    file: &'r str,
    start: V1Point,
    end: V1Point,
}

#[derive(Serialize)]
struct V1Point {
    line: u32,
    column: u32,
    offset: u32,
}

impl<'r> V1Report<'r> {
    fn new(report: &'r Report, store: &'r Store) -> Self {
        let mut identities = Identities::default();
        let diagnostics = report
            .diagnostics
            .iter()
            .map(|said| V1Diagnostic::new(said, None, None, &mut identities, store))
            .collect();
        let plans = report
            .plans
            .iter()
            .map(|plan| V1Plan::new(plan, report.allow_risk, &mut identities, store))
            .collect();
        let (plans_checked, plans_not_checked) = phrase::checked(report);
        Self {
            format: "strikeoff-report",
            version: 1,
            tool: V1Tool::this(),
            date: &report.date,
            allow_risk: report.allow_risk,
            verdict: Verdict::of_report(report).slug(),
            totals: V1Totals::new(&report.counts()),
            plans_checked,
            plans_not_checked,
            standards: report
                .standards
                .iter()
                .map(|standard| V1Standard {
                    file: store.get(standard.file).name(),
                    name: &standard.name,
                    edition: standard.edition.as_deref(),
                    digest: &standard.digest,
                    rules: standard
                        .rule_list
                        .iter()
                        .map(|rule| V1Rule {
                            name: &rule.name,
                            title: rule.title.as_deref(),
                            because: rule.because.as_deref(),
                            source: rule.source.as_deref(),
                            place: V1Place::new(rule.span, store),
                        })
                        .collect(),
                    deviations: standard
                        .deviations
                        .iter()
                        .map(|deviation| V1Deviation::new(deviation, store))
                        .collect(),
                })
                .collect(),
            plans,
            diagnostics,
            cautions: phrase::cautions(report)
                .into_iter()
                .map(|fitting| V1Fitting {
                    caution: V1Caution::new(fitting.caution),
                    plans: fitting.plans,
                })
                .collect(),
            closing: phrase::CLOSING,
        }
    }
}

impl V1Totals {
    pub(super) fn new(counts: &Counts) -> Self {
        Self {
            holds: counts.of(Outcome::Holds),
            breaks: counts.of(Outcome::Breaks),
            at_risk: counts.of(Outcome::AtRisk),
            not_stated: counts.of(Outcome::NotStated),
            does_not_apply: counts.of(Outcome::DoesNotApply),
        }
    }
}

impl<'r> V1Plan<'r> {
    fn new(
        plan: &'r PlanReport,
        allow_risk: bool,
        identities: &mut Identities,
        store: &'r Store,
    ) -> Self {
        let trace = Trace::new(plan);
        Self {
            file: store.get(plan.file).name(),
            name: &plan.name,
            standard: plan.standard,
            checked: plan.checked,
            verdict: Verdict::of_plan(plan, allow_risk).slug(),
            totals: V1Totals::new(&plan.counts),
            checks: plan
                .checks
                .iter()
                .map(|check| V1Check::new(check, store))
                .collect(),
            diagnostics: plan
                .diagnostics
                .iter()
                .map(|said| {
                    let clause = trace.clause(said);
                    V1Diagnostic::new(said, Some(plan), clause, identities, store)
                })
                .collect(),
            cautions: plan.cautions.iter().map(V1Caution::new).collect(),
            whole: plan.whole.as_ref().map(|whole| V1Whole::new(whole, store)),
            margins: plan
                .margins
                .as_ref()
                .map(|margins| V1Margins::new(margins, store)),
        }
    }
}

impl<'r> V1Check<'r> {
    fn new(check: &'r Check, store: &'r Store) -> Self {
        Self {
            rule: &check.rule,
            clause: check.clause,
            subject: check.subject.as_deref(),
            verb: check.verb.word(),
            outcome: check.outcome.slug(),
            why: &check.why,
            place: V1Place::new(check.span, store),
        }
    }
}

impl<'r> V1Diagnostic<'r> {
    fn new(
        said: &'r Diagnostic,
        plan: Option<&PlanReport>,
        clause: Option<u32>,
        identities: &mut Identities,
        store: &'r Store,
    ) -> Self {
        let file = said.primary().map(|label| label.span.file).or(said.file);
        Self {
            identity: identities.next(said, plan, clause, store),
            code: said.code.slug(),
            severity: explain::severity_word(said.severity),
            headline: &said.headline,
            file: file.map(|file| store.get(file).name()),
            labels: said
                .labels()
                .iter()
                .map(|label| V1Label {
                    role: match label.role {
                        Role::Primary => "primary",
                        Role::Related => "related",
                    },
                    words: &label.words,
                    place: V1Place::new(label.span, store),
                })
                .collect(),
            notes: said.notes.iter().map(String::as_str).collect(),
            help: said.help.as_deref(),
            repairs: said
                .repairs
                .iter()
                .map(|repair| V1Repair::new(repair, store))
                .collect(),
            finding: said.finding.as_deref().map(|finding| V1Finding {
                outcome: finding.outcome.slug(),
                verb: finding.verb.word(),
                rule: &finding.rule,
                clause,
                title: finding.title.as_deref(),
                subject: finding.subject.as_deref(),
                quantity: finding.quantity.as_deref(),
                value: finding.value.as_deref(),
                limit: finding.limit.as_deref(),
                margin: finding.margin.as_deref(),
                decided_by: finding.decided_by.as_deref(),
                culprit: finding.culprit.as_deref(),
                because: finding.because.as_deref(),
                source: finding.source.as_deref(),
                deviation: finding
                    .deviation
                    .as_ref()
                    .map(|excuse| V1Excuse::new(excuse, store)),
            }),
        }
    }
}

impl<'r> V1Caution<'r> {
    fn new(caution: &'r crate::diagnostic::Caution) -> Self {
        Self {
            name: &caution.name,
            words: &caution.words,
            source: caution.source.as_deref(),
        }
    }
}

impl<'r> V1Place<'r> {
    pub(super) fn new(span: Span, store: &'r Store) -> Self {
        let text = store.get(span.file);
        let point = |offset: u32| {
            let place = text.place(offset as usize);
            V1Point {
                line: place.line,
                column: place.column,
                offset,
            }
        };
        Self {
            file: text.name(),
            start: point(span.start),
            end: point(span.end),
        }
    }
}
