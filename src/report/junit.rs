//! JUnit XML, for build servers.
//!
//! A plan is a suite and a check is a test case named after its rule, clause and subject.
//! Under `shall`: breaks is a failure; at risk is a failure of type `at risk`, or skipped when risk
//! is allowed; not stated is an error. Does not apply is skipped, with the reason. JUnit has no
//! warnings: under `should` a case passes and its output says what came out. Trouble with a text
//! is a case of its own with an error, so that a plan that was not checked never looks green.
//! An example is a test case too. Nothing is timed and nothing dated: the same report gives the same bytes.

use std::collections::HashMap;
use std::fmt::Write as _;
use std::io::{self, Write};

use super::examples::{pinned, place, totals};
use super::explain::severity_word;
use super::junit_document::{Document, NonSuccessKind, TestCase, TestCaseStatus, TestSuite};
use super::phrase;
use super::trace::Trace;
use crate::diagnostic::Verdict;
use crate::diagnostic::{
    Check, Diagnostic, ExampleResult, ExamplesReport, Outcome, PlanReport, Report, Severity, Verb,
};
use crate::source::{Store, visible};

/// Writes the whole report.
pub(super) fn write(report: &Report, store: &Store, out: &mut dyn Write) -> io::Result<()> {
    let mut document = Document::new("strikeoff");
    if !report.diagnostics.is_empty() {
        let mut suite = TestSuite::new("standards and files");
        for said in &report.diagnostics {
            suite.add_test_case(text_case(said, store, "standards and files"));
        }
        document.add_test_suite(suite);
    }
    for plan in &report.plans {
        document.add_test_suite(suite(report, plan, store));
    }
    document.serialize(out)
}

fn suite(report: &Report, plan: &PlanReport, store: &Store) -> TestSuite {
    let file = clean(store.get(plan.file).name());
    let mut suite = TestSuite::new(file.as_str());
    suite.add_property(("run", clean(&plan.name).as_str()));
    suite.add_property(("date", clean(&report.date).as_str()));
    let excused = phrase::by_deviation(&plan.diagnostics);
    let totals = format!("{}{excused}", phrase::counts(&plan.counts));
    suite.add_property(("totals", totals.as_str()));
    if let Some(standard) = plan.standard.and_then(|index| report.standards.get(index)) {
        suite.add_property(("standard", clean(&phrase::standard(standard)).as_str()));
        suite.add_property(("digest", clean(&standard.digest).as_str()));
    }
    let trace = Trace::new(plan);
    let mut findings: HashMap<usize, &Diagnostic> = HashMap::new();
    let mut others = Vec::new();
    for said in &plan.diagnostics {
        match trace.index(said) {
            // A check has one finding; a second one is shown rather than lost.
            Some(index) if !findings.contains_key(&index) => {
                findings.insert(index, said);
            }
            _ => others.push(said),
        }
    }
    for (index, check) in plan.checks.iter().enumerate() {
        let finding = findings.get(&index).copied();
        suite.add_test_case(check_case(check, finding, report.allow_risk, store, &file));
    }
    for said in others {
        suite.add_test_case(text_case(said, store, &file));
    }
    if Verdict::of_plan(plan, report.allow_risk) == Verdict::NotChecked {
        let mut status = TestCaseStatus::non_success(NonSuccessKind::Error);
        status.set_type("not checked");
        status.set_message("not checked: no rule ran on this plan");
        let mut case = TestCase::new("the plan is checked", status);
        case.set_classname(file.as_str());
        suite.add_test_case(case);
    }
    let cautions: Vec<_> = plan
        .cautions
        .iter()
        .map(|caution| {
            format!(
                "caution {}: {}",
                clean(&caution.name),
                clean(&caution.words)
            )
        })
        .collect();
    if !cautions.is_empty() {
        suite.set_system_out(format!("{}\n{}", cautions.join("\n"), phrase::CLOSING));
    }
    suite
}

/// One requirement on one thing.
fn check_case(
    check: &Check,
    finding: Option<&Diagnostic>,
    allow_risk: bool,
    store: &Store,
    class: &str,
) -> TestCase {
    let failing = |kind: NonSuccessKind| {
        let mut status = TestCaseStatus::non_success(kind);
        status.set_type(check.outcome.word());
        status
    };
    let mut status = match (check.outcome, check.verb) {
        (Outcome::DoesNotApply, _) => TestCaseStatus::skipped(),
        (Outcome::Holds, _) | (_, Verb::Should) => TestCaseStatus::success(),
        (Outcome::Breaks, Verb::Shall) => failing(NonSuccessKind::Failure),
        (Outcome::AtRisk, Verb::Shall) if allow_risk => TestCaseStatus::skipped(),
        (Outcome::AtRisk, Verb::Shall) => failing(NonSuccessKind::Failure),
        (Outcome::NotStated, Verb::Shall) => failing(NonSuccessKind::Error),
    };
    let why = clean(&check.why);
    status.set_message(match check.outcome {
        Outcome::AtRisk if allow_risk => format!("at risk, which is allowed: {why}"),
        _ => why.clone(),
    });
    let details = finding.map(|said| describe(said, store));
    let warns = check.verb == Verb::Should
        && matches!(
            check.outcome,
            Outcome::Breaks | Outcome::AtRisk | Outcome::NotStated
        );
    let excused = finding
        .and_then(|said| said.finding.as_ref())
        .is_some_and(|finding| finding.deviation.is_some());
    if let (Some(details), false) = (&details, warns || excused) {
        status.set_description(details.as_str());
    }
    let mut name = format!("{} {}", clean(&check.rule), check.clause);
    if let Some(subject) = &check.subject {
        let _ = write!(name, ", {}", clean(subject));
    }
    let mut case = TestCase::new(name, status);
    case.set_classname(class);
    if let (Some(details), true) = (&details, excused) {
        case.set_system_out(details.as_str());
    }
    if warns {
        let word = check.outcome.word();
        let mut output = format!("warning: should, {word}: {why}");
        if let Some(details) = details {
            let _ = write!(output, "\n{details}");
        }
        case.set_system_out(output);
    }
    case
}

/// Something said that no check stands for: an error is an error, the rest is output.
fn text_case(said: &Diagnostic, store: &Store, class: &str) -> TestCase {
    let mut status = if said.severity == Severity::Error {
        TestCaseStatus::non_success(NonSuccessKind::Error)
    } else {
        TestCaseStatus::success()
    };
    status.set_type(said.code.slug());
    status.set_message(clean(&said.headline));
    let details = describe(said, store);
    status.set_description(details.as_str());
    let mut case = TestCase::new(
        format!("{}: {}", said.code.slug(), clean(&said.headline)),
        status,
    );
    case.set_classname(class);
    if said.severity != Severity::Error {
        case.set_system_out(details);
    }
    case
}

/// Headline, places, facts, notes, help and repairs, a line each.
fn describe(said: &Diagnostic, store: &Store) -> String {
    let mut text = format!(
        "{}: {}",
        severity_word(said.severity),
        clean(&said.headline)
    );
    for label in said.labels() {
        let place = store.place(label.span);
        let file = clean(store.get(label.span.file).name());
        let _ = write!(text, "\n{file}:{}:{}", place.line, place.column);
        if !label.words.is_empty() {
            let _ = write!(text, ": {}", clean(&label.words));
        }
    }
    if let Some(finding) = &said.finding {
        for (name, fact) in phrase::facts(finding) {
            let _ = write!(text, "\n{name}: {}", clean(&fact));
        }
    }
    for note in &said.notes {
        let _ = write!(text, "\nnote: {}", clean(note));
    }
    if let Some(help) = &said.help {
        let _ = write!(text, "\nhelp: {}", clean(help));
    }
    for repair in &said.repairs {
        let _ = write!(
            text,
            "\n{}: {}",
            phrase::repair(repair),
            clean(&repair.words)
        );
    }
    text
}

/// Writes the report as JUnit XML.
///
/// # Errors
/// Whatever `out` fails with.
pub fn examples_junit(
    report: &ExamplesReport,
    store: &Store,
    out: &mut dyn Write,
) -> io::Result<()> {
    let mut document = Document::new("strikeoff");
    let file = clean(store.get(report.standard.file).name());
    let mut suite = TestSuite::new(file.as_str());
    suite.add_property(("totals", totals(report).as_str()));
    suite.add_property(("pins", pinned(&report.pins).as_str()));
    for result in &report.examples {
        suite.add_test_case(example_case(result, store, &file));
    }
    let holes: Vec<String> = report
        .pins
        .holes
        .iter()
        .map(|hole| {
            let at = place(store, hole.span);
            clean(&format!("{at}: not pinned: {}: {}", hole.owner, hole.words))
        })
        .collect();
    if !holes.is_empty() {
        suite.set_system_out(holes.join("\n"));
    }
    document.add_test_suite(suite);
    document.serialize(out)
}

fn example_case(result: &ExampleResult, store: &Store, file: &str) -> TestCase {
    let mut status = TestCaseStatus::success();
    if let Some(first) = result.failed.first() {
        status = TestCaseStatus::non_success(NonSuccessKind::Failure);
        status.set_type("not as expected");
        status.set_message(clean(&format!(
            "expected {}; {}",
            first.expected, first.instead
        )));
        let lines: Vec<String> = result
            .failed
            .iter()
            .map(|missed| {
                let at = place(store, missed.span);
                clean(&format!(
                    "{at}: expected {}; {}",
                    missed.expected, missed.instead
                ))
            })
            .collect();
        status.set_description(lines.join("\n"));
    }
    let mut case = TestCase::new(clean(&result.name), status);
    case.set_classname(file);
    case
}

/// A text that XML 1.0 can hold: hidden characters escaped, and so are the two code points that
/// are neither hidden nor a `Char` (section 2.2 of the recommendation). A tab becomes a blank.
fn clean(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for character in visible(text).chars() {
        match character {
            '\t' => shown.push(' '),
            '\u{fffe}' | '\u{ffff}' => shown.extend(character.escape_unicode()),
            _ => shown.push(character),
        }
    }
    shown
}
