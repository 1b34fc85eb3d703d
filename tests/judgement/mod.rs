//! Jobs as a printer would judge them: what has to be stopped is, by the right rule, and what runs every day does.
//!
//! The jobs are in `stops.jobs` and `runs.jobs`, written from the trade and not from the rules; each is a run of
//! `bases.jobs` with what differs. They are checked in the demo room, and both counts are pinned.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use crate::room::Room;
use strikeoff::check::Options;
use strikeoff::diagnostic::{Diagnostic, PlanReport, Severity};

const BASES: &str = include_str!("bases.jobs");
const STOPS: &str = include_str!("stops.jobs");
const RUNS: &str = include_str!("runs.jobs");

/// Jobs that come out wrong, each with why. A job that comes out right must not stand here.
const KNOWN: &[(&str, &str)] = &[(
    "t5-reading-finer-than-the-probe",
    "the language cannot ask how wide a stated tolerance is",
)];

/// A run that a job starts from, or what a job changes in it.
#[derive(Debug, Clone, Default)]
struct Job {
    name: String,
    /// `stop: …`, `runs: …`, `base: …` and so on, by their first word.
    said: BTreeMap<String, String>,
    /// What heads a block, and its clauses.
    blocks: Vec<(String, Vec<String>)>,
}

/// The jobs of a text.
fn jobs(text: &str) -> Vec<Job> {
    let mut jobs: Vec<Job> = Vec::new();
    let mut open = false;
    for line in text.lines() {
        if let Some(head) = line.strip_prefix("=== ") {
            let name = head.split_whitespace().next().unwrap().to_owned();
            jobs.push(Job {
                name,
                ..Job::default()
            });
            continue;
        }
        let Some(job) = jobs.last_mut() else { continue };
        if open && line == "}" {
            open = false;
        } else if open {
            job.blocks.last_mut().unwrap().1.push(line.to_owned());
        } else if let Some((word, rest)) = line.split_once(": ") {
            job.said.insert(word.to_owned(), rest.trim().to_owned());
        } else if !line.is_empty() {
            open = line.ends_with('{');
            job.blocks.push((line.to_owned(), Vec::new()));
        }
    }
    jobs
}

/// What a block is the block of: `screen base` of `screen base is stock-110 {`, `garment` of `garment is tote {`.
fn place(head: &str) -> String {
    let mut words = head.trim_end_matches('{').split_whitespace();
    let kind = words.next().unwrap_or_default();
    match words.next() {
        Some(name) if name != "is" => format!("{kind} {name}"),
        _ => kind.to_owned(),
    }
}

/// The plan of a job: its base with what differs.
fn plan(job: &Job, bases: &[Job]) -> String {
    let base = bases.iter().find(|base| base.name == job.said["base"]);
    let base = base.unwrap_or_else(|| panic!("{}: no such base", job.name));
    let without: Vec<&str> = job.said.get("without").map_or_else(Vec::new, |said| {
        said.split(',').map(str::trim).collect::<Vec<_>>()
    });
    let mut blocks = base.blocks.clone();
    blocks.retain(|(head, _)| !without.contains(&place(head).as_str()));
    for (head, clauses) in &job.blocks {
        let (merged, head) = match head.strip_prefix("with ") {
            Some(head) => (true, head),
            None => (false, head.as_str()),
        };
        let at = blocks
            .iter()
            .position(|(other, _)| place(other) == place(head));
        match at {
            Some(at) if merged => {
                for clause in clauses {
                    let word = clause.split_whitespace().next();
                    let held = &mut blocks[at].1;
                    held.retain(|other| other.split_whitespace().next() != word);
                    held.push(clause.clone());
                }
            }
            Some(at) => blocks[at] = (head.to_owned(), clauses.clone()),
            None if merged => panic!("{}: there is no `{head}` to change", job.name),
            None => blocks.push((head.to_owned(), clauses.clone())),
        }
    }
    // A sequence speaks of screens, so it stands last.
    blocks.sort_by_key(|(head, _)| head.starts_with("sequence"));
    let title = job.said.get("name").unwrap_or(&job.name);
    let room = match base.said.get("room").map(String::as_str) {
        Some("fitted") => "fitted-room.std",
        _ => "nosuch-room.std",
    };
    let mut text = format!("run \"{title}\" against \"../{room}\"\n");
    for (head, clauses) in blocks {
        write!(text, "\n{head}\n").unwrap();
        for clause in &clauses {
            text += clause;
            text.push('\n');
        }
        if head.ends_with('{') {
            text += "}\n";
        }
    }
    text.replace("@1", " read on 2026-11-20")
        .replace("@5", " read on 2026-11-20 from 5 pieces")
}

/// A job's plan, checked in its room.
fn judged(room: &Room, job: &Job, bases: &[Job]) -> PlanReport {
    let text = plan(job, bases);
    let folder = if text.contains("fitted-room.std") {
        "demo-data/fitted/plans"
    } else {
        "demo-data/plans"
    };
    let path = format!("{folder}/{}.plan", job.name);
    if let Ok(to) = std::env::var("STRIKEOFF_JUDGED") {
        std::fs::write(format!("{to}/{}.plan", job.name), &text).unwrap();
    }
    let mut room = room.clone();
    room.texts.insert(path.clone(), Ok(text));
    let run = room.check(vec![path], Options::default());
    run.report.plans.into_iter().next().unwrap()
}

/// What somebody is told about a run beyond that it holds.
fn told(report: &PlanReport) -> Vec<&Diagnostic> {
    let told = |said: &&Diagnostic| said.severity != Severity::Note;
    report.diagnostics.iter().filter(told).collect()
}

/// A finding's rule, or the code of what is no finding.
fn by(said: &Diagnostic) -> String {
    match &said.finding {
        Some(finding) => finding.rule.clone(),
        None => format!("code:{}", said.code.slug()),
    }
}

/// How one job came out, in a line.
fn outcome(job: &Job, report: &PlanReport) -> (bool, String) {
    let told = told(report);
    let failing = told.iter().any(|said| said.severity == Severity::Error);
    let mut rules: Vec<String> = told.iter().map(|said| by(said)).collect();
    rules.sort();
    rules.dedup();
    if !report.checked {
        return (false, "cannot be read".to_owned());
    }
    let word = match (failing, told.is_empty()) {
        (true, _) => "stopped",
        (false, false) => "warned of",
        (false, true) => "runs",
    };
    let Some(wanted) = job.said.get("stop") else {
        let line = match told.is_empty() {
            true => word.to_owned(),
            false => format!("{word}, falsely, by {}", rules.join(", ")),
        };
        return (told.is_empty(), line);
    };
    let others: Vec<&String> = rules.iter().filter(|rule| *rule != wanted).collect();
    let others = match others.len() {
        0 => String::new(),
        _ => format!(
            ", beside {}",
            others
                .iter()
                .map(|rule| rule.as_str())
                .collect::<Vec<_>>()
                .join(", ")
        ),
    };
    if rules.contains(wanted) {
        return (true, format!("{word} by {wanted}{others}"));
    }
    (false, format!("{word}, not by {wanted}{others}"))
}

#[test]
fn what_a_printer_would_say() {
    let room = Room::of_folders(&["demo-data", "demo-data/fitted"]);
    let bases = jobs(BASES);
    let mut shown = String::new();
    let mut wrong = Vec::new();
    for (title, text) in [
        ("stops caught by the right rule", STOPS),
        ("runs left alone", RUNS),
    ] {
        let jobs = jobs(text);
        let mut right = 0;
        let mut lines = String::new();
        for job in &jobs {
            let (as_it_should, line) = outcome(job, &judged(&room, job, &bases));
            right += usize::from(as_it_should);
            writeln!(lines, "  {}: {line}", job.name).unwrap();
            let known = KNOWN.iter().any(|(name, _)| *name == job.name);
            if known == as_it_should {
                wrong.push(format!("{}: {line}", job.name));
            }
        }
        writeln!(shown, "{title}: {right} of {}\n{lines}", jobs.len()).unwrap();
    }
    insta::assert_snapshot!(shown);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
