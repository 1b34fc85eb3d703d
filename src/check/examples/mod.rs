//! Examples: whether what they expect happens, and which changes of the standard they notice.

mod boundary;
mod cells;
mod counts;
mod derived_inputs;
mod expect;
mod limits;
mod mutant;
mod mutation_score;
mod plan_edits;
mod search;
mod synthesize;

use crate::diagnostic::{
    Diagnostic, ExampleResult, ExamplesReport, Missed, Pins, RuleSeen, Severity,
};
use crate::eval::{EvalContext, FigureCache, setting_aside};
use crate::names::plan_scope;
use crate::source::{FileId, Store};
use crate::syntax;
use crate::types::{Expectation, RuleForm, Run, Standard, build_run};

use super::impact::Reach;
use super::plan::Prepared;
pub(super) use expect::expected_words;

/// A run with what is expected of it.
struct Test {
    name: String,
    file: FileId,
    text: String,
    run: Run,
    cache: FigureCache,
    expectations: Vec<Expectation>,
}

impl Test {
    fn context<'a>(&'a self, standard: &'a Standard) -> EvalContext<'a> {
        self.cache.budget().rest();
        EvalContext::new(standard, &self.run).remembering(&self.cache)
    }

    /// The rules something is expected of.
    fn rules(&self) -> Vec<usize> {
        let mut rules: Vec<usize> = self.expectations.iter().map(|one| one.rule).collect();
        rules.sort_unstable();
        rules.dedup();
        rules
    }

    fn misses(&self, standard: &Standard, reach: &Reach, rule: usize) -> Vec<expect::Miss> {
        expect::misses(&self.context(standard), reach, &self.expectations, rule)
    }
}

/// Reads a plan for a standard; the text need not be that of the file.
fn read(standard: &Standard, file: FileId, text: &str) -> Result<Run, Vec<Diagnostic>> {
    let parsed = syntax::parse(file, text);
    let mut problems: Vec<Diagnostic> = parsed.diagnostics().collect();
    let (scope, misplaced) = plan_scope(&parsed.tree);
    problems.extend(misplaced);
    let run = setting_aside(standard, build_run(file, standard, &scope, &mut problems));
    let error = |problem: &Diagnostic| problem.severity == Severity::Error;
    if problems.iter().any(error) {
        problems.retain(error);
        return Err(problems);
    }
    Ok(run)
}

/// What `strikeoff test` looks at.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct TestOptions {
    /// The limits of specs that ship as well.
    pub shipped: bool,
    /// Look for texts that close holes.
    pub close: bool,
    /// Leave out what the examples pin.
    pub unpinned: bool,
}

/// Runs the examples of a standard, and finds what they pin.
///
/// # Errors
/// What is wrong with the texts of the plans; nothing was tested then.
pub fn run_examples(
    store: &Store,
    prepared: &Prepared,
    how: TestOptions,
) -> Result<ExamplesReport, Vec<Diagnostic>> {
    let standard = &prepared.standard;
    let reach = Reach::of(standard);
    let (tests, problems) = tests(store, standard);
    if !problems.is_empty() {
        return Err(problems);
    }
    let mut rules: Vec<RuleSeen> = standard
        .rules
        .iter()
        .map(|rule| RuleSeen {
            name: rule.name.clone(),
            span: rule.span,
            seen: crate::diagnostic::Counts::default(),
        })
        .collect();
    let mut examples = Vec::new();
    for (test, written) in tests.iter().zip(&standard.examples) {
        let mut failed = Vec::new();
        for rule in test.rules() {
            let misses = test.misses(standard, &reach, rule);
            for (index, expected) in test.expectations.iter().enumerate() {
                if expected.rule == rule && !misses.iter().any(|miss| miss.index == index) {
                    rules[rule].seen.add(expected.outcome);
                }
            }
            failed.extend(misses.into_iter().map(|miss| {
                let expected = &test.expectations[miss.index];
                Missed {
                    span: expected.span,
                    rule: standard.rules[rule].name.clone(),
                    rule_span: standard.rules[rule].span,
                    expected: expected_words(standard, expected),
                    instead: miss.instead,
                }
            }));
        }
        failed.sort_by_key(|missed| missed.span);
        examples.push(ExampleResult {
            name: test.name.clone(),
            title: written.title.clone(),
            span: written.span,
            plan: test.file,
            expected: test.expectations.len(),
            failed,
        });
    }
    let mut seen = rules;
    let mut forms = standard.rules.iter().map(|rule| &rule.form);
    seen.retain(|_| forms.next() == Some(&RuleForm::Rule));
    let pins = if tests.is_empty() || how.unpinned {
        Pins::default()
    } else {
        mutation_score::pins(store, standard, &reach, &tests, how)
    };
    Ok(ExamplesReport {
        standard: prepared.report(),
        examples,
        rules: seen,
        pins,
    })
}

/// All examples with their runs.
fn tests(store: &Store, standard: &Standard) -> (Vec<Test>, Vec<Diagnostic>) {
    let mut tests = Vec::new();
    let mut problems: Vec<Diagnostic> = Vec::new();
    for example in &standard.examples {
        let Some(file) = example.plan.as_ref().and_then(|plan| plan.file) else {
            continue;
        };
        let text = store.get(file).text().to_owned();
        match read(standard, file, &text) {
            Ok(run) => tests.push(Test {
                name: example.name.clone(),
                file,
                text,
                run,
                cache: FigureCache::default(),
                expectations: example.expectations.clone(),
            }),
            Err(found) => {
                for problem in found {
                    let known = |known: &Diagnostic| {
                        known.primary() == problem.primary() && known.headline == problem.headline
                    };
                    if !problems.iter().any(known) {
                        problems.push(problem);
                    }
                }
            }
        }
    }
    (tests, problems)
}
