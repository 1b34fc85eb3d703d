//! From texts to reports: a standard made ready once, then plan after plan against it.

use std::sync::OnceLock;

use crate::diagnostic::{
    Caution, Check, Code, Counts, Diagnostic, Edit, Outcome, PlanReport, RuleInfo, Severity,
    StandardReport, WholeRun,
};
use crate::eval::{Conditions, EvalContext, FigureCache, MOST_HELPS, Verdict, setting_aside};
use crate::names::{Shelf, load_standard, plan_scope, read_named_plan, scope};
use crate::source::{FileId, Store, visible};
use crate::syntax;
use crate::syntax::tree::{Line, Tree};
use crate::types::{
    Date, FieldId, KindId, RuleForm, Run, Standard, build_run, build_standard, source_words,
};

use super::deciding_comparison::decisive;
use super::deviation::{self, Standing, standing};
use super::disagree::{disagreements, impossible};
use super::finding::{Depth, finding, subject_words};
use super::given::{overrules, unnamed};
use super::impact::{Before, Reach};
use super::lacking::lacking;
use super::margin::margins;
use super::not_set::NotSet;
use super::outcome::{Applied, RuleResult, binding as binding_of, fits, results};
use super::readings::readings;
use super::repair::whole_run;
use super::table;
use super::unused::idle;

/// What a check works out beyond the outcomes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Options {
    /// List every requirement with its reason, not only those that do not hold.
    pub explain: bool,
    /// Look for repairs.
    pub repairs: bool,
    /// `at risk` passes.
    pub allow_risk: bool,
    /// The day it is made for; without one no deviation is in force.
    pub on: Option<Date>,
    /// How much work may go into what would help one plan: repairs, which tolerance decides, margins. It is counted,
    /// not timed; a unit is about what one operation on two intervals takes.
    pub budget: u64,
    /// Work out how far each stated setting may drift.
    pub margins: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            explain: true,
            repairs: true,
            allow_risk: false,
            on: None,
            budget: MOST_HELPS,
            margins: false,
        }
    }
}

/// A standard made ready.
#[derive(Debug, Clone)]
pub struct Prepared {
    /// The standard.
    pub standard: Standard,
    /// What is wrong with its texts, or worth a look.
    pub problems: Vec<Diagnostic>,
    /// Whether plans can be checked against it: nothing is wrong with it but with deviations at most,
    /// which then let nothing pass.
    sound: bool,
    /// What each requirement rests on; worked out when the first plan is checked.
    reach: OnceLock<Reach>,
}

impl Prepared {
    /// Whether plans can be checked against it.
    #[must_use]
    pub fn usable(&self) -> bool {
        self.sound
    }

    /// Why a setting of a kind is not one to set: no repair and no window moves it. `None` where it is one.
    #[must_use]
    pub fn not_set(&self, kind: KindId, field: FieldId) -> Option<NotSet> {
        NotSet::of(self.standard.field(kind, field))
    }

    fn reach(&self) -> &Reach {
        self.reach.get_or_init(|| Reach::of(&self.standard))
    }

    /// What reports say of it.
    #[must_use]
    pub fn report(&self) -> StandardReport {
        let rules = self
            .standard
            .rules
            .iter()
            .filter(|rule| rule.form == RuleForm::Rule);
        let rule_list: Vec<RuleInfo> = rules
            .map(|rule| RuleInfo {
                name: rule.name.clone(),
                title: rule.title.clone(),
                because: rule.because.clone(),
                source: rule.per.as_ref().map(source_words),
                span: rule.span,
            })
            .collect();
        StandardReport {
            file: self.standard.root,
            name: self.standard.name.clone(),
            edition: self.standard.edition.clone(),
            digest: self.standard.digest.0.clone(),
            rules: rule_list.len(),
            rule_list,
            deviations: Vec::new(),
        }
    }
}

/// Reads and builds a standard; its root is already in the store.
#[must_use]
pub fn prepare(store: &mut Store, shelf: &dyn Shelf, root: FileId) -> Prepared {
    let loaded = load_standard(store, shelf, root);
    let mut problems = loaded.problems;
    let texts: &Store = store;
    let mut trees = Vec::with_capacity(loaded.files.len());
    for file in &loaded.files {
        let parsed = syntax::parse(*file, texts.get(*file).text());
        problems.extend(parsed.diagnostics());
        trees.push(parsed.tree);
    }
    let (scope, doubles) = scope(&trees);
    problems.extend(doubles);
    let mut ungoverned = Vec::new();
    let before = problems.len();
    let standard = build_standard(root, loaded.files, &scope, &mut problems, &mut ungoverned);
    // What is unknown may be declared in what could not be read: that is the mistake to put right first.
    let file = lacks_a_file(&problems, &trees);
    let rule = file || lacks_a_rule(&problems, &trees);
    let mut number = 0;
    problems.retain(|problem| {
        number += 1;
        let unsure = match problem.code {
            Code::UnknownKind | Code::UnknownPath | Code::UnknownField | Code::UnknownRecord => {
                file
            }
            Code::UnknownRule | Code::DeviationFromNothing => rule,
            _ => false,
        };
        number <= before || !unsure
    });
    let sound = problems
        .iter()
        .all(|problem| problem.severity != Severity::Error);
    problems.extend(ungoverned);
    sort(&mut problems);
    Prepared {
        standard,
        problems,
        sound,
        reach: OnceLock::new(),
    }
}

/// Whether a `use` of the standard brought nothing in.
fn lacks_a_file(problems: &[Diagnostic], trees: &[Tree<'_>]) -> bool {
    let unread = |problem: &Diagnostic| {
        matches!(
            problem.code,
            Code::UnknownSpec
                | Code::FileMissing
                | Code::FileIsFolder
                | Code::FileTooLarge
                | Code::FileUnreadable
                | Code::NotUtf8
                | Code::PathLeaves
        )
    };
    let broken = |line: &Line<'_, _>| match line {
        Line::Broken(broken) => broken.text.trim_start().starts_with("use "),
        _ => false,
    };
    problems.iter().any(unread) || trees.iter().flat_map(|tree| &tree.items).any(broken)
}

/// Whether a rule or a table could not be read, or was taken for a thing of an unknown kind.
fn lacks_a_rule(problems: &[Diagnostic], trees: &[Tree<'_>]) -> bool {
    let broken = |line: &Line<'_, _>| match line {
        Line::Broken(broken) => ["rule ", "table "]
            .iter()
            .any(|word| broken.text.trim_start().starts_with(word)),
        _ => false,
    };
    let unknown = |problem: &Diagnostic| problem.code == Code::UnknownKind;
    problems.iter().any(unknown) || trees.iter().flat_map(|tree| &tree.items).any(broken)
}

/// Reads the plans that the examples name. One that is missing is a problem of the standard's tests;
/// orders are checked all the same.
pub fn read_examples(store: &mut Store, shelf: &dyn Shelf, prepared: &mut Prepared) {
    let root = prepared.standard.root;
    for example in &mut prepared.standard.examples {
        let Some(plan) = example.plan.as_mut().filter(|plan| plan.file.is_none()) else {
            continue;
        };
        match read_named_plan(store, shelf, root, &plan.written, plan.span) {
            Ok(file) => plan.file = Some(file),
            Err(problem) => prepared.problems.push(*problem),
        }
    }
    sort(&mut prepared.problems);
}

/// Worst first, then in the order of the text.
fn sort(diagnostics: &mut [Diagnostic]) {
    diagnostics.sort_by_key(|diagnostic| {
        let place = diagnostic.primary().map(|label| label.span);
        (diagnostic.severity, place)
    });
}

/// Checks one plan. `standard` is the number the report gives it in `Report::standards`.
#[must_use]
pub fn check_plan(
    store: &Store,
    prepared: &Prepared,
    standard: usize,
    file: FileId,
    options: Options,
) -> PlanReport {
    let parsed = syntax::parse(file, store.get(file).text());
    let mut diagnostics: Vec<Diagnostic> = parsed.diagnostics().collect();
    let (scope, misplaced) = plan_scope(&parsed.tree);
    diagnostics.extend(misplaced);
    let mut report = PlanReport {
        file,
        name: scope.run.map(|(name, ..)| name.value()).unwrap_or_default(),
        standard: Some(standard),
        checked: false,
        checks: Vec::new(),
        counts: Counts::default(),
        diagnostics: Vec::new(),
        cautions: Vec::new(),
        whole: None,
        margins: None,
        lacking: None,
        work: 0,
    };
    if prepared.usable() {
        let mut run = build_run(file, &prepared.standard, &scope, &mut diagnostics);
        run.on = options.on;
        let run = setting_aside(&prepared.standard, run);
        let readable = !diagnostics
            .iter()
            .any(|diagnostic| diagnostic.severity == Severity::Error);
        if readable {
            check_run(prepared, &run, options, &mut report, &mut diagnostics);
        }
    }
    sort(&mut diagnostics);
    report.diagnostics = diagnostics;
    number(&mut report);
    report
}

/// Checks a run that was built, or changed, by other means than its text.
#[must_use]
pub fn check_built(prepared: &Prepared, run: &Run, options: Options) -> PlanReport {
    let mut report = PlanReport {
        file: run.file,
        name: run.name.clone(),
        standard: None,
        checked: false,
        checks: Vec::new(),
        counts: Counts::default(),
        diagnostics: Vec::new(),
        cautions: Vec::new(),
        whole: None,
        margins: None,
        lacking: None,
        work: 0,
    };
    let mut diagnostics = Vec::new();
    check_run(prepared, run, options, &mut report, &mut diagnostics);
    sort(&mut diagnostics);
    report.diagnostics = diagnostics;
    number(&mut report);
    report
}

/// Numbers the repairs as they are printed. The same change has the same number.
fn number(report: &mut PlanReport) {
    let mut known: Vec<Vec<Edit>> = Vec::new();
    let findings = report.diagnostics.iter_mut();
    let whole = report
        .whole
        .iter_mut()
        .filter_map(|whole| whole.repair.as_mut());
    for repair in findings.flat_map(|said| &mut said.repairs).chain(whole) {
        let place = known.iter().position(|edits| *edits == repair.edits);
        let place = place.unwrap_or_else(|| {
            known.push(repair.edits.clone());
            known.len() - 1
        });
        repair.number = u32::try_from(place + 1).unwrap_or(u32::MAX);
    }
}

fn check_run(
    prepared: &Prepared,
    run: &Run,
    options: Options,
    report: &mut PlanReport,
    diagnostics: &mut Vec<Diagnostic>,
) {
    let standard = &prepared.standard;
    let reach = prepared.reach();
    let cache = FigureCache::allowing(options.budget);
    let context = EvalContext::new(standard, run).remembering(&cache);
    let all = results(&context);
    let depth = Depth {
        repairs: options.repairs,
        allow_risk: options.allow_risk,
    };
    let conditions = Conditions::new(context);
    let standings: Vec<Standing> = all
        .iter()
        .map(|result| standing(&conditions, &context, options.on, result))
        .collect();
    let passing: Vec<usize> = standings
        .iter()
        .enumerate()
        .filter_map(|(index, standing)| standing.passes.as_ref().map(|_| index))
        .collect();
    let before = Before::new(context, &all, reach, &passing, options.on);
    // Where the findings stand that repairs were looked for.
    let (mut repaired, mut found_repairs) = (Vec::new(), Vec::new());
    for (result, standing) in all.iter().zip(standings) {
        let rule = &standard.rules[result.rule];
        if let Some((number, needed)) = standing.passes {
            let Some(said) = deviation::passing(&context, result, number, needed) else {
                continue;
            };
            report.counts.add(Outcome::Holds);
            let why = deviation::why(&said, rule);
            report
                .checks
                .push(check(&context, result, Outcome::Holds, why));
            diagnostics.push(said);
            continue;
        }
        let outcome = result.outcome();
        report.counts.add(outcome);
        let mut found = finding(&context, &before, result, depth, &mut found_repairs);
        for (note, place) in standing.refused {
            found = found.map(|said| {
                let said = said.related(place, "this deviation");
                if said.notes.contains(&note) {
                    said
                } else {
                    said.note(note)
                }
            });
        }
        let why = match &found {
            Some(diagnostic) => diagnostic.headline.clone(),
            None if options.explain => why(&context, result),
            None => String::new(),
        };
        diagnostics.extend(permitted(&context, result));
        if let Applied::ToNoCell(no_cell) = &result.applied {
            diagnostics.extend(table::gap(&context, binding_of(result.each), rule, no_cell));
        }
        let plain = found.is_none();
        if found_repairs.len() > repaired.len() {
            repaired.push(diagnostics.len());
        }
        diagnostics.extend(found);
        // Ten thousand plans that hold are counted, not told one by one.
        if plain && !options.explain {
            continue;
        }
        report.checks.push(check(&context, result, outcome, why));
    }
    let overruled = overrules(&context);
    // No setting mends what the plan states otherwise than its record, so nothing mends the whole run.
    if options.repairs && overruled.is_empty() {
        let whole = whole_run(&context, &before, &mut found_repairs);
        report.whole = (whole.offer.is_some() || whole.said.is_some()).then(|| WholeRun {
            repair: whole.offer.map(|offer| offer.repair),
            said: whole.said,
        });
    }
    for (index, (_, found)) in repaired.into_iter().zip(found_repairs) {
        if let Some(said) = diagnostics.get_mut(index) {
            *said = found.say(&context, &before, said.clone());
            let repairs = found.offers.into_iter().map(|offer| offer.repair);
            said.repairs = repairs.collect();
        }
    }
    report.lacking = lacking(&context, &all);
    diagnostics.extend(disagreements(&context));
    let read = |kind, field| before.reads(kind, field);
    diagnostics.extend(impossible(&context, &read));
    diagnostics.extend(overruled);
    diagnostics.extend(unnamed(&context));
    diagnostics.extend(readings(&context));
    if options.margins {
        report.margins = Some(margins(&context, &before));
    }
    diagnostics.extend(idle(standard, run));
    report.cautions = cautions(&context);
    report.checked = true;
    report.work = cache.budget().work();
}

fn check(context: &EvalContext<'_>, result: &RuleResult, outcome: Outcome, why: String) -> Check {
    let rule = &context.standard.rules[result.rule];
    let requirement = &rule.requirements[result.requirement];
    Check {
        rule: rule.name.clone(),
        clause: u32::try_from(result.requirement + 1).unwrap_or(u32::MAX),
        subject: subject_words(context, result),
        verb: requirement.verb,
        outcome,
        why,
        span: table::limit_place(context, result),
    }
}

/// Says by which `may` a requirement passes that does not hold by itself.
fn permitted(context: &EvalContext<'_>, result: &RuleResult) -> Option<Diagnostic> {
    let Applied::To(Verdict::Holds(Some(index))) = &result.applied else {
        return None;
    };
    let rule = &context.standard.rules[result.rule];
    let requirement = &rule.requirements[result.requirement];
    let binding = binding_of(result.each);
    let told = decisive(context, binding, &requirement.condition).told(context, binding);
    let subject = subject_words(context, result)
        .map(|subject| format!(" for {subject}"))
        .unwrap_or_default();
    let value = told
        .value
        .map(|value| format!(": {value}"))
        .unwrap_or_default();
    let span = super::blame::subject(context, binding);
    Some(
        Diagnostic::new(
            Code::Permitted,
            span,
            format!("`{}` holds by a permission only{subject}{value}", rule.name),
            "passes by permission",
        )
        .related(rule.permissions[*index].span, "this `may` lets it through")
        .related(requirement.span, "this would not hold by itself"),
    )
}

/// Why a requirement holds, or does not apply.
pub(super) fn why(context: &EvalContext<'_>, result: &RuleResult) -> String {
    let rule = &context.standard.rules[result.rule];
    let binding = binding_of(result.each);
    let told = |condition| {
        let told = decisive(context, binding, condition).told(context, binding);
        match (told.quantity, told.value, told.limit) {
            (Some(quantity), Some(value), Some(limit)) => {
                (format!("`{quantity}` is {value}"), limit)
            }
            (Some(quantity), None, Some(limit)) => (format!("`{quantity}`"), limit),
            _ => ("it is so".to_owned(), String::new()),
        }
    };
    match &result.applied {
        Applied::ToNoCell(no_cell) => no_cell.words.clone(),
        Applied::ToNothing => {
            let kind = rule
                .each
                .map_or("", |kind| context.standard.kind(kind).name.as_str());
            format!("the run has no `{kind}`")
        }
        Applied::To(Verdict::DoesNotApply(index)) => {
            let goal = crate::eval::Goal::of(rule, &rule.requirements[result.requirement]);
            let (value, limit) = match goal.conditions().nth(*index) {
                Some(condition) => told(condition),
                None => (String::new(), String::new()),
            };
            match limit.strip_prefix("it ").unwrap_or(&limit) {
                "" => "its `when` is not true".to_owned(),
                limit => format!("{value}, and it applies when that is {limit}"),
            }
        }
        Applied::To(Verdict::Holds(Some(_))) => {
            let (value, limit) = told(&rule.requirements[result.requirement].condition);
            format!("{value}, wanted {limit}; permitted by a `may`")
        }
        Applied::To(_) => {
            let (value, limit) = told(&rule.requirements[result.requirement].condition);
            format!("{value}, wanted {limit}")
        }
    }
}

/// Cautions that fit, each once.
pub(super) fn cautions(context: &EvalContext<'_>) -> Vec<Caution> {
    let mut found: Vec<Caution> = Vec::new();
    for rule in &context.standard.rules {
        let texts: Vec<&String> = match &rule.form {
            RuleForm::Caution(words) => vec![words],
            RuleForm::Rule => rule.cautions.iter().collect(),
        };
        if texts.is_empty() || !fits(context, rule) {
            continue;
        }
        for text in texts {
            let caution = Caution {
                name: rule.name.clone(),
                words: visible(text).into_owned(),
                source: rule.per.as_ref().map(source_words),
            };
            if !found.contains(&caution) {
                found.push(caution);
            }
        }
    }
    found
}
