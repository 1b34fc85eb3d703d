//! A check of plans and standards: which standard each plan names, each standard read once, every plan checked.

use std::io::{self, Write};
use std::thread;

use super::named::Named;
use super::reading::{Plan, Reading, stdin_problem};
use crate::check::{Options, Prepared, check_plan, doubles};
use crate::diagnostic::{Counts, Diagnostic, PlanReport, Report, Verdict};
use crate::names::{ReadProblem, Shelf, read_text};
use crate::report::{Format, Style, render};
use crate::source::Store;
use crate::syntax;
use crate::types::Date;

/// Plans per thread below which another thread is not worth starting.
const PLANS_PER_THREAD: usize = 64;

/// What is to be checked.
#[derive(Debug)]
pub struct Request {
    /// Plans and standards.
    pub named: Named,
    /// A plan's text from standard input.
    pub stdin: Option<Result<String, ReadProblem>>,
    /// The standard for all plans.
    pub standard: Option<String>,
    /// The date.
    pub date: String,
    /// How much is readinged out.
    pub options: Options,
}

/// A check that was run.
#[derive(Debug)]
pub struct Run {
    /// All texts.
    pub store: Store,
    /// The standards that were checked against.
    pub prepared: Vec<Prepared>,
    /// What was found.
    pub report: Report,
}

impl Run {
    /// Whether all that was checked passes.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        Verdict::of_report(&self.report)
    }

    /// Writes a view of it.
    ///
    /// # Errors
    /// Whatever `out` fails with.
    pub fn render(&self, format: Format, style: &Style, out: &mut dyn Write) -> io::Result<()> {
        render(&self.report, &self.store, format, style, out)
    }
}

/// Checks everything that is named.
#[must_use]
pub fn check(request: Request, shelf: &(dyn Shelf + Sync)) -> Run {
    let mut reading = Reading::new(
        shelf,
        Report {
            date: request.date,
            allow_risk: request.options.allow_risk,
            diagnostics: request.named.problems,
            ..Report::default()
        },
    );
    // All plans get their numbers before the standards they name.
    let mut read = Vec::new();
    for path in &request.named.plans {
        read.push(match read_text(&mut reading.store, shelf, path, None) {
            Ok(file) => Ok(file),
            Err(problem) => Err(reading.unread(path, *problem)),
        });
    }
    match request.stdin {
        Some(Ok(text)) => read.push(Ok(reading.store.add("<stdin>", text))),
        Some(Err(problem)) => read.push(Err(reading.unread("<stdin>", stdin_problem(&problem)))),
        None => {}
    }
    let plans: Vec<Plan> = read
        .into_iter()
        .map(|read| {
            read.map_or_else(
                |unread| unread,
                |file| reading.plan(file, request.standard.as_deref()),
            )
        })
        .collect();
    for path in &request.named.standards {
        reading.named_standard(path);
    }
    reading.parts(&request.named.parts);
    for prepared in &reading.prepared {
        reading.report.standards.push(prepared.report());
        reading
            .report
            .diagnostics
            .extend(prepared.problems.iter().cloned());
    }
    let options = Options {
        on: Date::parse(&reading.report.date),
        ..request.options
    };
    reading.report.plans = check_all(&reading.store, &reading.prepared, &plans, options);
    let doubles = doubles(&reading.store, &reading.prepared, &reading.report.plans);
    reading.report.diagnostics.extend(doubles);
    reading.deviations(options.on, &request.named.parts);
    Run {
        store: reading.store,
        prepared: reading.prepared,
        report: reading.report,
    }
}

/// Checks all plans, on several threads when there are many; the order stays.
fn check_all(
    store: &Store,
    prepared: &[Prepared],
    plans: &[Plan],
    options: Options,
) -> Vec<PlanReport> {
    let cores = thread::available_parallelism().map_or(1, usize::from);
    let threads = cores.min(plans.len() / PLANS_PER_THREAD).max(1);
    let size = plans.len().div_ceil(threads).max(1);
    if threads == 1 {
        return plans
            .iter()
            .map(|plan| one(store, prepared, plan, options))
            .collect();
    }
    thread::scope(|scope| {
        let handles: Vec<_> = plans
            .chunks(size)
            .map(|chunk| {
                scope.spawn(move || {
                    chunk
                        .iter()
                        .map(|plan| one(store, prepared, plan, options))
                        .collect::<Vec<_>>()
                })
            })
            .collect();
        handles
            .into_iter()
            .zip(plans.chunks(size))
            .flat_map(|(handle, chunk)| {
                // A thread that died is no reason to lose its plans: they are checked again here.
                handle.join().unwrap_or_else(|_| {
                    chunk
                        .iter()
                        .map(|plan| one(store, prepared, plan, options))
                        .collect()
                })
            })
            .collect()
    })
}

fn one(store: &Store, prepared: &[Prepared], plan: &Plan, options: Options) -> PlanReport {
    let Some((index, standard)) = plan
        .standard
        .and_then(|index| Some((index, prepared.get(index)?)))
    else {
        return unreadable(store, plan);
    };
    check_plan(store, standard, index, plan.file, options)
}

/// A plan whose standard could not be read: its own text is looked at all the same.
pub(super) fn unreadable(store: &Store, plan: &Plan) -> PlanReport {
    let parsed = syntax::parse(plan.file, store.get(plan.file).text());
    let mut diagnostics: Vec<Diagnostic> = parsed.diagnostics().collect();
    let (scope, misplaced) = crate::names::plan_scope(&parsed.tree);
    if !plan.unread {
        diagnostics.extend(misplaced);
    }
    diagnostics.extend(plan.problem.clone());
    PlanReport {
        file: plan.file,
        name: scope.run.map(|(name, ..)| name.value()).unwrap_or_default(),
        standard: None,
        checked: false,
        checks: Vec::new(),
        counts: Counts::default(),
        diagnostics,
        cautions: Vec::new(),
        whole: None,
        margins: None,
        lacking: None,
        work: 0,
    }
}
