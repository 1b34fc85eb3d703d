//! The texts of a starter room, filled in from answers and checked before anything is written.

use std::collections::BTreeMap;

use super::questions::{Answer, Questions};
use crate::check::{Options, check_plan, prepare};
use crate::diagnostic::{Code, Diagnostic, PlanReport, Severity};
use crate::names::{ReadProblem, Shelf, read_text};
use crate::report::Verdict;
use crate::source::Store;

/// The standard and the plan of a room.
const STANDARD: &str = "room.std";
const PLAN: &str = "first.plan";

/// The texts of a room with their paths below its folder.
const TEXTS: [(&str, &str); 6] = [
    (STANDARD, include_str!("../../../specs/starter/room.std")),
    (PLAN, include_str!("../../../specs/starter/first.plan")),
    (
        "snippets/build-server.sh",
        include_str!("../../../specs/starter/build-server.sh"),
    ),
    (
        "snippets/pre-commit",
        include_str!("../../../specs/starter/pre-commit"),
    ),
    (
        "snippets/workflow.yml",
        include_str!("../../../specs/starter/workflow.yml"),
    ),
    (
        "snippets/pipeline.yml",
        include_str!("../../../specs/starter/pipeline.yml"),
    ),
];

/// A room ready to be written.
#[derive(Debug)]
pub struct Draft {
    /// Path below the folder, and text.
    pub texts: Vec<(&'static str, String)>,
    /// What the check of its plan found: neither an error nor a warning but that its readings have no day yet.
    pub report: PlanReport,
}

/// Why there is no room to write.
#[derive(Debug)]
pub enum NoDraft {
    /// An answer cannot stand in a text at all.
    Answer(String),
    /// The texts cannot be read with these answers.
    Text(Box<(Store, Vec<Diagnostic>)>),
    /// By the rules these answers do not go together: the findings of the best run there was.
    Unsuitable(Box<(Store, Vec<Diagnostic>)>),
}

/// Texts that are not on the disk yet.
struct Drafts<'t>(&'t [(&'static str, String)]);

impl Shelf for Drafts<'_> {
    fn read(&self, path: &str) -> Result<String, ReadProblem> {
        let text = self.0.iter().find(|(name, _)| *name == path);
        text.map(|(_, text)| text.clone())
            .ok_or(ReadProblem::Missing)
    }

    fn neighbours(&self, _: &str) -> Vec<String> {
        Vec::new()
    }
}

/// Fills the texts in and looks for the first of the trials whose plan checks clean.
///
/// # Errors
/// When an answer cannot be written, the texts cannot be read with it, or no trial passes.
pub fn draft(questions: &Questions, answers: &BTreeMap<String, String>) -> Result<Draft, NoDraft> {
    let mut parts = parts(questions, answers).map_err(NoDraft::Answer)?;
    let mut best: Option<(Draft, (usize, usize), Store)> = None;
    let mut store = Store::new();
    let texts = fill(&parts);
    let trouble = |store: Store, problems: Vec<Diagnostic>| {
        let errors = problems.into_iter();
        let errors = errors.filter(|problem| problem.severity == Severity::Error);
        NoDraft::Text(Box::new((store, errors.collect())))
    };
    // What is tried stands in the plan only, so the standard is read once.
    let file = match read_text(&mut store, &Drafts(&texts), STANDARD, None) {
        Ok(file) => file,
        Err(problem) => return Err(trouble(store, vec![*problem])),
    };
    let prepared = prepare(&mut store, &Drafts(&texts), file);
    if !prepared.usable() {
        return Err(trouble(store, prepared.problems));
    }
    let options = Options {
        explain: false,
        repairs: false,
        allow_risk: false,
        on: None,
        ..Options::default()
    };
    let lengths: Vec<usize> = questions
        .trials
        .iter()
        .map(|trial| trial.texts.len())
        .collect();
    for number in 0..lengths.iter().product::<usize>() {
        let mut rest = number;
        for (trial, length) in questions.trials.iter().zip(&lengths) {
            let text = trial.texts.get(rest % length).copied().unwrap_or_default();
            parts.insert(trial.part, text.to_owned());
            rest /= length;
        }
        let texts = fill(&parts);
        let mut store = store.clone();
        let plan = match read_text(&mut store, &Drafts(&texts), PLAN, None) {
            Ok(plan) => plan,
            Err(problem) => return Err(trouble(store, vec![*problem])),
        };
        let report = check_plan(&store, &prepared, 0, plan, options);
        if Verdict::of_plan(&report, false) == Verdict::NotChecked {
            return Err(trouble(store, report.diagnostics));
        }
        let many = |severity| {
            let said = report.diagnostics.iter();
            // Nobody has read anything off yet; that is for the room to put in, with the day.
            let said = said.filter(|said| said.code != Code::ReadingUndated);
            said.filter(|said| said.severity == severity).count()
        };
        let rank = (many(Severity::Error), many(Severity::Warning));
        if best.as_ref().is_none_or(|(_, known, _)| rank < *known) {
            best = Some((Draft { texts, report }, rank, store));
        }
        if rank == (0, 0) {
            break;
        }
    }
    match best {
        Some((draft, (0, 0), _)) => Ok(draft),
        Some((draft, (errors, _), store)) => {
            let worst = if errors > 0 {
                Severity::Error
            } else {
                Severity::Warning
            };
            let findings = draft.report.diagnostics.into_iter();
            let findings = findings.filter(|said| said.severity == worst);
            Err(NoDraft::Unsuitable(Box::new((store, findings.collect()))))
        }
        None => Err(NoDraft::Answer("there is nothing to try".to_owned())),
    }
}

/// Every part with what is written for it.
fn parts<'q>(
    questions: &'q Questions,
    answers: &BTreeMap<String, String>,
) -> Result<BTreeMap<&'q str, String>, String> {
    let mut parts = BTreeMap::new();
    for question in &questions.asked {
        let given = answers.get(question.name).map(|answer| answer.trim());
        let answer = given.unwrap_or(question.default);
        let refused = |why: &str| Err(format!("the answer to `{}` {why}", question.name));
        match &question.answer {
            Answer::Text => {
                if answer.chars().any(char::is_control) {
                    return refused("holds a character that cannot be written on a line");
                }
                let escaped = answer.replace('\\', "\\\\").replace('"', "\\\"");
                parts.insert(question.name, format!("\"{escaped}\""));
            }
            Answer::Value => {
                // A value ends where it ends: nothing in it may open a text, a block or a comment.
                let foreign = |character: char| {
                    character.is_control() || matches!(character, '"' | '{' | '}' | '#' | '\\')
                };
                if answer.is_empty() || answer.chars().any(foreign) {
                    return refused("is not a value; write it as in the example");
                }
                parts.insert(question.name, answer.to_owned());
            }
            Answer::Choice(choices) => {
                let Some(choice) = choices.iter().find(|choice| choice.name == answer) else {
                    let known = choices.iter().map(|choice| choice.name);
                    let help = crate::names::did_you_mean(answer, known)
                        .unwrap_or_else(|| "`strikeoff new --help` lists them".to_owned());
                    return refused(&format!("is none of those offered; {help}"));
                };
                parts.insert(question.name, choice.name.to_owned());
                for (part, text) in &choice.parts {
                    parts.insert(part, (*text).to_owned());
                }
            }
        }
    }
    Ok(parts)
}

/// The texts with their parts put in.
fn fill(parts: &BTreeMap<&str, String>) -> Vec<(&'static str, String)> {
    TEXTS
        .iter()
        .map(|(path, text)| {
            let mut filled = String::with_capacity(text.len());
            for line in text.lines() {
                if let Some(line) = fill_line(line, parts) {
                    filled.push_str(&line);
                    filled.push('\n');
                }
            }
            (*path, filled)
        })
        .collect()
}

/// A line with its parts put in, each once, so that an answer is never read as a part; `None` when one
/// of them is empty.
fn fill_line(line: &str, parts: &BTreeMap<&str, String>) -> Option<String> {
    let mut filled = String::new();
    let mut rest = line;
    while let Some((before, behind)) = rest.split_once("{{") {
        let Some((part, after)) = behind.split_once("}}") else {
            break;
        };
        filled.push_str(before);
        // `${{ … }}` is of the build server, not of ours.
        if before.ends_with('$') {
            filled.push_str("{{");
            rest = behind;
            continue;
        }
        filled.push_str(parts.get(part).filter(|text| !text.is_empty())?);
        rest = after;
    }
    filled.push_str(rest);
    Some(filled)
}
