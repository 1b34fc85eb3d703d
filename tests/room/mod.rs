//! A folder of texts in memory, and checks of it: what `cases.rs` and `demo.rs` share.

use std::collections::BTreeMap;

use strikeoff::check::Options;
use strikeoff::cli::{Named, Request, Run, check};
use strikeoff::diagnostic::{Check, Diagnostic, Edit, Outcome, PlanReport, Repair, Severity};
use strikeoff::names::{ReadProblem, Shelf};
use strikeoff::report::{Format, Style, render};

/// Texts by path, with forward slashes.
#[derive(Debug, Clone, Default)]
pub(crate) struct Room {
    pub(crate) texts: BTreeMap<String, Result<String, ReadProblem>>,
}

impl Shelf for Room {
    fn read(&self, path: &str) -> Result<String, ReadProblem> {
        let below = format!("{path}/");
        match self.texts.get(path) {
            Some(read) => read.clone(),
            None if self.texts.keys().any(|known| known.starts_with(&below)) => {
                Err(ReadProblem::Folder)
            }
            None if path.starts_with("../") => Err(ReadProblem::Leaves),
            None => Err(ReadProblem::Missing),
        }
    }

    fn neighbours(&self, path: &str) -> Vec<String> {
        let folder = |path: &str| path.rsplit_once('/').map_or("", |at| at.0).to_owned();
        self.texts
            .keys()
            .filter(|known| folder(known) == folder(path))
            .map(|known| known.rsplit('/').next().unwrap_or(known).to_owned())
            .collect()
    }
}

impl Room {
    /// The standards and plans of folders on the disk, named from the root of the package.
    pub(crate) fn of_folders(folders: &[&str]) -> Self {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
        let mut room = Self::default();
        for folder in folders {
            for entry in std::fs::read_dir(root.join(folder)).unwrap() {
                let entry = entry.unwrap();
                let name = entry.file_name().into_string().unwrap();
                if name.ends_with(".std") || name.ends_with(".plan") {
                    let text = std::fs::read_to_string(entry.path()).unwrap();
                    room.texts.insert(format!("{folder}/{name}"), Ok(text));
                }
            }
        }
        room
    }

    /// All paths that end so.
    pub(crate) fn ending(&self, end: &str) -> Vec<String> {
        let paths = self.texts.keys().filter(|path| path.ends_with(end));
        paths.cloned().collect()
    }

    /// A check of plans, and of all standards of the room as a folder would give them.
    pub(crate) fn check(&self, plans: Vec<String>, options: Options) -> Run {
        let named = Named {
            plans,
            parts: self.ending(".std"),
            ..Named::default()
        };
        let request = Request {
            named,
            stdin: None,
            standard: None,
            date: "2026-11-25".to_owned(),
            options,
        };
        check(request, self)
    }

    /// The same room with a repair applied.
    pub(crate) fn repaired(&self, run: &Run, repair: &Repair) -> Self {
        let mut room = self.clone();
        let mut edits = repair.edits.clone();
        edits.sort_by_key(|edit| std::cmp::Reverse(edit.span.start));
        for edit in edits {
            let path = run.store.get(edit.span.file).name();
            // A byte order mark is no part of the text that spans count in.
            let whole = self.texts[path].as_ref().unwrap().len();
            let shift = whole - run.store.get(edit.span.file).text().len();
            let text = room.texts.get_mut(path).unwrap().as_mut().unwrap();
            let place = edit.span.start as usize + shift..edit.span.end as usize + shift;
            text.replace_range(place, &edit.text);
        }
        room
    }

    /// Applies every repair that is offered for a plan, and says what is wrong with it then.
    ///
    /// A repair must make its own requirement hold, and may make nothing else worse.
    pub(crate) fn try_repairs(&self, run: &Run, plan: &PlanReport) -> Vec<String> {
        let path = run.store.get(plan.file).name().to_owned();
        let mut wrong = Vec::new();
        for said in &plan.diagnostics {
            for repair in &said.repairs {
                let room = self.repaired(run, repair);
                let again = room.check(vec![path.clone()], Options::default());
                let complaint = worse(said, repair, plan, &again.report.plans[0]);
                wrong.extend(complaint.map(|words| format!("{path}: {}: {words}", repair.words)));
            }
        }
        wrong
    }
}

/// How bad an outcome is.
fn rank(outcome: Outcome) -> u8 {
    match outcome {
        Outcome::Holds | Outcome::DoesNotApply => 0,
        Outcome::AtRisk => 1,
        Outcome::NotStated => 2,
        Outcome::Breaks => 3,
    }
}

/// The number of the step that a repair puts in: from there on numbers are one higher.
fn new_step(repair: &Repair) -> Option<u32> {
    let inserts = |edit: &Edit| edit.span.start == edit.span.end && edit.text.contains('\n');
    let at = repair.edits.iter().position(inserts);
    let (words, last) = repair.words.rsplit_once(", step ")?;
    let number: u32 = last.trim_end_matches('`').parse().ok()?;
    at.map(|_| number + u32::from(words.contains(" after `")))
}

/// What a step is called once another is put in.
fn moved(subject: &Option<String>, new: Option<u32>) -> Option<String> {
    let subject = subject.as_ref()?;
    match (step_number(subject), new) {
        (Some((kind, number)), Some(new)) if number >= new => {
            Some(format!("{kind}, step {}", number + 1))
        }
        _ => Some(subject.clone()),
    }
}

/// `flash, step 2`
fn step_number(subject: &str) -> Option<(String, u32)> {
    let (kind, number) = subject.split_once(", step ")?;
    Some((kind.to_owned(), number.parse().ok()?))
}

fn worse(
    said: &Diagnostic,
    repair: &Repair,
    before: &PlanReport,
    after: &PlanReport,
) -> Option<String> {
    let finding = said.finding.as_ref()?;
    let new_step = new_step(repair);
    let more_steps = new_step.is_some();
    let same = |one: &Check, rule: &str, clause: u32, subject: &Option<String>| {
        one.rule == rule && one.clause == clause && one.subject == *subject
    };
    let wanted = after.checks.iter().find(|one| {
        let subject = moved(&finding.subject, new_step);
        same(one, &finding.rule, finding.clause, &subject)
    });
    // With a step put in, the rule may no longer speak of where it stood.
    let mended =
        |outcome| outcome == Outcome::Holds || more_steps && outcome == Outcome::DoesNotApply;
    if !wanted.is_some_and(|check| mended(check.outcome)) {
        return Some(format!("it does not hold then: {wanted:?}"));
    }
    for old in &before.checks {
        let new = after
            .checks
            .iter()
            .find(|one| same(one, &old.rule, old.clause, &moved(&old.subject, new_step)));
        let Some(new) = new else {
            if more_steps && old.subject.is_none() && old.outcome == Outcome::DoesNotApply {
                // There was no such step, and now there is.
                continue;
            }
            return Some(format!("`{}` is gone then", old.rule));
        };
        if rank(new.outcome) > rank(old.outcome) {
            return Some(format!("`{}` is worse then: {}", old.rule, new.why));
        }
    }
    for new in &after.checks {
        let known = |old: &Check| same(new, &old.rule, old.clause, &moved(&old.subject, new_step));
        if !before.checks.iter().any(known) && rank(new.outcome) > 0 {
            return Some(format!(
                "`{}` does not hold of what is new: {}",
                new.rule, new.why
            ));
        }
    }
    let errors = |plan: &PlanReport| {
        let error = |said: &&Diagnostic| said.severity == Severity::Error;
        plan.diagnostics.iter().filter(error).count()
    };
    (errors(after) > errors(before)).then(|| "there are more errors then".to_owned())
}

/// What people read, without what changes with every edit of a standard.
pub(crate) fn people(run: &Run) -> String {
    let mut out = Vec::new();
    let style = Style {
        width: 88,
        ..Style::default()
    };
    render(&run.report, &run.store, Format::People, &style, &mut out).unwrap();
    let text = String::from_utf8(out).unwrap();
    let advice = "Strikeoff advises; people decide.";
    let mut kept: Vec<&str> = Vec::new();
    let mut lines = text.lines().peekable();
    while let Some(line) = lines.next() {
        if line.starts_with(advice) {
            // Two lines of advice and a blank one stand at the end of every report.
            while lines.peek().is_some_and(|next| !next.is_empty()) {
                lines.next();
            }
            lines.next();
            continue;
        }
        if line.starts_with("date:") || line.starts_with("standard:") {
            continue;
        }
        kept.push(line);
    }
    kept.join("\n")
}
