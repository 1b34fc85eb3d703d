//! A folder of texts in memory, and checks of it: what `cases.rs` and `demo.rs` share.

use std::collections::BTreeMap;

use strikeoff::check::Options;
use strikeoff::cli::{Named, Request, Run, check};
use strikeoff::diagnostic::{Check, Diagnostic, Edit, Outcome, PlanReport, Repair, Severity};
use strikeoff::names::{ReadProblem, Shelf};
use strikeoff::report::{Format, Style, render};
use strikeoff::types::{PlaceInRun, Sort, Standard};

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
    let inserts = |edit: &Edit| {
        let reading = edit.text.contains("reading ") || edit.text.contains(" at ");
        edit.span.start == edit.span.end && edit.text.contains('\n') && !reading
    };
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
        // What is to be measured again is known then, and not before.
        let doubt = matches!(new.outcome, Outcome::AtRisk | Outcome::NotStated);
        let open = doubt && !repair.measure_again.is_empty();
        if rank(new.outcome) > rank(old.outcome) && !open {
            return Some(format!("`{}` is worse then: {}", old.rule, new.why));
        }
    }
    for new in &after.checks {
        let known = |old: &Check| same(new, &old.rule, old.clause, &moved(&old.subject, new_step));
        let doubt = matches!(new.outcome, Outcome::AtRisk | Outcome::NotStated);
        let open = doubt && !repair.measure_again.is_empty();
        if !before.checks.iter().any(known) && rank(new.outcome) > 0 && !open {
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
    let open = !repair.measure_again.is_empty();
    (errors(after) > errors(before) && !open).then(|| "there are more errors then".to_owned())
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

/// A path as a plan writes it, of a setting as reports name it: `step-2.time` of `flash, step 2: time`.
fn plan_path(shown: &str) -> String {
    let Some((thing, setting)) = shown.split_once(": ") else {
        return shown.to_owned();
    };
    match thing.split_once(", step ") {
        Some((_, number)) => format!("step-{number}.{setting}"),
        None => format!("{}.{setting}", thing.replace(' ', ".")),
    }
}

/// Where settings of a plan were moved: the plan with its readings kept where they were taken. `moved` are the settings as
/// reports name them, with what they were. It goes by the lines of the text, and by no model of it.
pub(crate) fn keeping(
    standard: &Standard,
    before: &str,
    after: String,
    moved: &[(&str, &str)],
) -> String {
    let field = |kind: &str, name: &str| {
        let id = *standard.kind_names.get(kind)?;
        let kind = standard.kind(id);
        kind.field_names
            .get(name)
            .map(|field| &kind.fields[field.index()])
    };
    let set = |path: &str| {
        let words: Vec<&str> = path.split('.').collect();
        let place = standard.kind_names.get(words[0]);
        let place = place.map(|id| standard.kind(*id).place);
        // `screen.mesh` is that of no screen in particular.
        let which = place != Some(PlaceInRun::Many) || words.len() == 3;
        let set = |field: &strikeoff::types::Field| field.sort == Sort::Set;
        which && field(words[0], words[words.len() - 1]).is_some_and(set)
    };
    let kind_of = |shown: &str| match shown.split_once(", step ") {
        Some((kind, _)) => kind.to_owned() + "." + shown.rsplit(": ").next().unwrap(),
        None => plan_path(shown),
    };
    let at: String = moved
        .iter()
        .filter(|(shown, _)| set(&kind_of(shown)))
        .map(|(shown, old)| (plan_path(shown), old))
        .map(|(path, old)| {
            let old = old.split(" ±").next().unwrap();
            let old = old.split(" +").next().unwrap();
            format!("  at {path} {}\n", old.trim_end_matches(" read"))
        })
        .collect();
    if at.is_empty() {
        return after;
    }
    let (mut kind, mut thing, mut step) = (String::new(), String::new(), 0);
    let mut read = Vec::new();
    let formula = |kind: &str, name: &str| {
        field(kind, name).is_some_and(|field| {
            field.formula.is_some() && !matches!(field.sort, Sort::Set | Sort::Given { .. })
        })
    };
    for line in before.lines() {
        let line = line.split('#').next().unwrap();
        let mut words = line.split_whitespace();
        let first = words.next().unwrap_or_default();
        if line.ends_with('{') && !line.starts_with(' ') {
            kind = first.to_owned();
            let name = words.next().filter(|name| !matches!(*name, "is" | "{"));
            thing = name.map_or(kind.clone(), |name| format!("{kind}.{name}"));
        } else if kind == "sequence" && line.starts_with(' ') && !first.is_empty() {
            step += 1;
            let behind = line.trim_start().trim_start_matches(first);
            for part in behind.split(", ") {
                let name = part.split_whitespace().next().unwrap_or_default();
                if formula(first, name) {
                    read.push(format!("step-{step}.{name}"));
                }
            }
        } else if formula(&kind, first) {
            read.push(format!("{thing}.{first}"));
        }
    }
    let blocks: String = read
        .iter()
        .map(|path| format!("\nreading {path} {{\n{at}}}\n"))
        .collect();
    format!("{after}{blocks}")
}
