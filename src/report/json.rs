//! The view for programs: version 1 of our own JSON form.
//!
//! These structs are the form; they are not the inner types, so that inner types may change.
//! its schema is generated from the types below; within version 1 fields are only added.

use std::io::{self, Write};
use std::sync::OnceLock;

use schemars::JsonSchema;
use serde::Serialize;

use super::identity::Identities;
use super::json_deviation::{V1Deviation, V1Excuse};
use super::json_head::V1Tool;
use super::json_repair::{V1Margins, V1Repair, V1Whole};
use super::schema;
use super::trace::Trace;
use super::{explain, json_text, phrase};
use crate::diagnostic::Verdict;
use crate::diagnostic::{Check, Counts, Diagnostic, Outcome, PlanReport, Report, Role};
use crate::source::{Span, Store};

/// The JSON Schema (draft 2020-12) of this form.
#[must_use]
pub fn json_schema() -> &'static str {
    static SCHEMA: OnceLock<String> = OnceLock::new();
    schema::text::<V1Report<'_>>(&SCHEMA)
}

/// Writes the whole report.
pub(super) fn write(report: &Report, store: &Store, out: &mut dyn Write) -> io::Result<()> {
    json_text::write(&V1Report::new(report, store), out)
}

/// What one check found. Texts are as they stand in the files, not escaped for display. Within version 1 fields
/// are only added: this schema is exact for the release it ships with, and a reader should pass over fields
/// that it does not know.
#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields, title = "Strikeoff report, version 1", extend("$id" = "urn:strikeoff:report:v1"))]
struct V1Report<'r> {
    /// Always `strikeoff-report`.
    #[schemars(extend("const" = "strikeoff-report"))]
    format: &'static str,
    /// Always 1.
    #[schemars(extend("const" = 1))]
    version: u32,
    /// What wrote the report.
    tool: V1Tool,
    /// The date that end dates were compared with, as YYYY-MM-DD.
    date: &'r str,
    /// Whether `at-risk` passes.
    allow_risk: bool,
    /// The worst verdict of the plans; an error in a standard or file counts.
    #[schemars(extend("enum" = ["passes", "fails", "not-checked"]))]
    verdict: &'static str,
    /// How often each outcome came up; always all five.
    totals: V1Totals,
    /// How many plans were checked.
    plans_checked: usize,
    /// How many plans were not checked.
    plans_not_checked: usize,
    /// The standards that plans were checked against, each once.
    standards: Vec<V1Standard<'r>>,
    /// The plans, in the order given.
    plans: Vec<V1Plan<'r>>,
    /// Trouble with standards and files, not with one plan.
    diagnostics: Vec<V1Diagnostic<'r>>,
    /// Each caution once, over all plans.
    cautions: Vec<V1Fitting<'r>>,
    /// What the report does not decide.
    closing: &'static str,
}

/// How often each outcome came.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "totals", deny_unknown_fields)]
pub(super) struct V1Totals {
    /// Holds at every point inside the tolerances.
    holds: u64,
    /// Breaks at every point inside them.
    breaks: u64,
    /// Cannot be shown at the stated tolerance.
    at_risk: u64,
    /// A value it needs is missing.
    not_stated: u64,
    /// Its condition is false, or there is nothing it speaks of.
    does_not_apply: u64,
}

/// A standard.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "standard", deny_unknown_fields)]
struct V1Standard<'r> {
    /// Its root file.
    file: &'r str,
    /// Its name.
    name: &'r str,
    /// Its edition.
    edition: Option<&'r str>,
    /// Digest of its meaning: lower-case hexadecimal, 64 digits.
    digest: &'r str,
    /// Its rules, in its order.
    rules: Vec<V1Rule<'r>>,
    /// Its deviations with their states over the plans of this call, in its order.
    deviations: Vec<V1Deviation<'r>>,
}

/// A rule.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "rule", deny_unknown_fields)]
struct V1Rule<'r> {
    /// Its name.
    name: &'r str,
    /// Its title.
    title: Option<&'r str>,
    /// Its reason.
    because: Option<&'r str>,
    /// What it rests on.
    source: Option<&'r str>,
    /// Where its name stands.
    place: V1Place<'r>,
}

/// What came out for one plan.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "plan", deny_unknown_fields)]
struct V1Plan<'r> {
    /// Its file.
    file: &'r str,
    /// The run's name; empty when it could not be read.
    name: &'r str,
    /// Index into `standards`; null when the standard could not be read.
    standard: Option<usize>,
    /// Whether any rule ran.
    checked: bool,
    /// `passes`: every `shall` is kept. `fails`: one breaks, cannot be shown at the stated tolerance, or lacks
    /// a value, or a text has an error. `not-checked`: no rule ran.
    #[schemars(extend("enum" = ["passes", "fails", "not-checked"]))]
    verdict: &'static str,
    /// How often each outcome came up; always all five.
    totals: V1Totals,
    /// Every requirement on every thing, in the order of the standard.
    checks: Vec<V1Check<'r>>,
    /// Findings and other things said about this plan, worst first.
    diagnostics: Vec<V1Diagnostic<'r>>,
    /// Cautions that fit.
    cautions: Vec<V1Caution<'r>>,
    /// What makes the whole run hold, where several things do not; null where there is nothing to say of it.
    whole: Option<V1Whole<'r>>,
    /// How far the stated settings may drift; null where that was not asked for.
    margins: Option<V1Margins<'r>>,
}

/// One requirement on one thing.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "check", deny_unknown_fields)]
struct V1Check<'r> {
    /// The rule's name.
    rule: &'r str,
    /// Which requirement of the rule, from 1.
    #[schemars(extend("minimum" = 1))]
    clause: u32,
    /// The thing it was about; null for the run as a whole.
    subject: Option<&'r str>,
    /// `shall`: a break fails the check. `should`: a break warns.
    #[schemars(extend("enum" = ["shall", "should"]))]
    verb: &'static str,
    /// What came out of one requirement on one thing.
    #[schemars(extend("enum" = ["holds", "breaks", "at-risk", "not-stated", "does-not-apply"]))]
    outcome: &'static str,
    /// Why, in a few words.
    why: &'r str,
    /// The requirement's line in the standard.
    place: V1Place<'r>,
}

/// Something said, with its places.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "diagnostic", deny_unknown_fields)]
struct V1Diagnostic<'r> {
    /// The same in the next call if the finding is the same; line numbers play no part. `-2` and so on keep
    /// repeats apart.
    #[schemars(extend("pattern" = "^[0-9a-f]{64}(-[1-9][0-9]*)?$"))]
    identity: String,
    /// What it is; `strikeoff explain CODE` says more.
    #[schemars(extend("pattern" = "^[a-z][a-z0-9-]*$"))]
    code: &'static str,
    /// How much it matters.
    #[schemars(extend("enum" = ["error", "warning", "note"]))]
    severity: &'static str,
    /// What is wrong.
    headline: &'r str,
    /// The file it is about.
    file: Option<&'r str>,
    /// Places, the primary one first.
    labels: Vec<V1Label<'r>>,
    /// More to know.
    notes: Vec<&'r str>,
    /// The smallest thing to do next.
    help: Option<&'r str>,
    /// Changes that were tried, checked again in full, and hold.
    repairs: Vec<V1Repair<'r>>,
    /// The figures, when a rule made it.
    finding: Option<V1Finding<'r>>,
}

/// A place with a few words.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "label", deny_unknown_fields)]
struct V1Label<'r> {
    /// Why it is shown.
    #[schemars(extend("enum" = ["primary", "related"]))]
    role: &'static str,
    /// What is to be seen there.
    words: &'r str,
    /// A stretch of a text; the end is not part of it.
    place: V1Place<'r>,
}

/// The figures of a finding; texts carry their units.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "finding", deny_unknown_fields)]
struct V1Finding<'r> {
    /// What came out of one requirement on one thing.
    #[schemars(extend("enum" = ["holds", "breaks", "at-risk", "not-stated", "does-not-apply"]))]
    outcome: &'static str,
    /// `shall`: a break fails the check. `should`: a break warns.
    #[schemars(extend("enum" = ["shall", "should"]))]
    verb: &'static str,
    /// The rule's name.
    rule: &'r str,
    /// Which requirement of the rule, from 1; null when it is not known.
    #[schemars(extend("minimum" = 1))]
    clause: Option<u32>,
    /// The rule's title.
    title: Option<&'r str>,
    /// The thing it was about; null for the run as a whole.
    subject: Option<&'r str>,
    /// The setting or figure compared.
    quantity: Option<&'r str>,
    /// The value found.
    value: Option<&'r str>,
    /// The limit.
    limit: Option<&'r str>,
    /// The distance to the limit at the worst point.
    margin: Option<&'r str>,
    /// Which tolerance decides, and how tight it would have to be.
    decided_by: Option<&'r str>,
    /// The setting to blame.
    culprit: Option<&'r str>,
    /// The standard's reason.
    because: Option<&'r str>,
    /// What the standard says to do where it is outside; left out where it says nothing.
    #[serde(skip_serializing_if = "Option::is_none")]
    when_out: Option<&'r str>,
    /// What the limit rests on.
    source: Option<&'r str>,
    /// The deviation that lets the run pass, when one does; then the outcome is `holds`.
    deviation: Option<V1Excuse<'r>>,
}

/// A caution.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "caution", deny_unknown_fields)]
struct V1Caution<'r> {
    /// Its name.
    name: &'r str,
    /// What it says.
    words: &'r str,
    /// What it rests on.
    source: Option<&'r str>,
}

/// A caution with the number of plans it fits.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "fitting", deny_unknown_fields)]
struct V1Fitting<'r> {
    /// Its name.
    name: &'r str,
    /// What it says.
    words: &'r str,
    /// What it rests on.
    source: Option<&'r str>,
    /// How many plans it fits.
    #[schemars(extend("minimum" = 1))]
    plans: usize,
}

/// A stretch of a text, half open.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "place", deny_unknown_fields)]
pub(super) struct V1Place<'r> {
    /// The file.
    file: &'r str,
    /// A point in a text.
    start: V1Point,
    /// A point in a text.
    end: V1Point,
}

/// A point in a text.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "point", deny_unknown_fields)]
struct V1Point {
    /// From 1.
    #[schemars(extend("minimum" = 1))]
    line: u32,
    /// In characters, from 1.
    #[schemars(extend("minimum" = 1))]
    column: u32,
    /// In bytes, from 0.
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
                    name: &fitting.caution.name,
                    words: &fitting.caution.words,
                    source: fitting.caution.source.as_deref(),
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
                when_out: finding.when_out.as_deref(),
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
