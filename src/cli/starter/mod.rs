//! `new`: a starter room, written from answers.

mod draft;
mod questions;

use std::collections::BTreeMap;
use std::fs;
use std::io::{self, BufRead as _, IsTerminal as _, Write};
use std::path::Path;

use clap::builder::PossibleValuesParser;
use clap::{Arg, ArgMatches};

use super::args::NewArguments;
use super::check::usage;
use super::exit;
use crate::report;
use crate::source::visible;

pub use draft::{Draft, NoDraft, draft};
pub use questions::{Answer, Choice, Question, Questions, Trial, questions};

/// Adds a flag for each question.
pub(super) fn flags(mut command: clap::Command) -> clap::Command {
    for question in questions().asked {
        let mut flag = Arg::new(question.name).long(question.name).help(format!(
            "{} [default: {}]",
            question.sentence, question.default
        ));
        flag = match question.answer {
            Answer::Text => flag.value_name("TEXT"),
            Answer::Value => flag.value_name("VALUE").allow_hyphen_values(true),
            Answer::Choice(choices) => {
                flag.value_name("CHOICE")
                    .value_parser(PossibleValuesParser::new(choices.into_iter().map(
                        |choice| {
                            clap::builder::PossibleValue::new(choice.name).help(choice.sentence)
                        },
                    )))
            }
        };
        command = command.arg(flag);
    }
    command
}

/// Runs `new`.
pub(super) fn command(
    arguments: &NewArguments,
    matches: &ArgMatches,
    out: &mut dyn Write,
) -> io::Result<u8> {
    let questions = questions();
    let mut answers = BTreeMap::new();
    for question in &questions.asked {
        if let Some(answer) = matches.get_one::<String>(question.name) {
            answers.insert(question.name.to_owned(), answer.clone());
        }
    }
    if io::stdin().is_terminal() && io::stderr().is_terminal() {
        ask(&questions, &mut answers)?;
    }
    let draft = match draft(&questions, &answers) {
        Ok(draft) => draft,
        Err(NoDraft::Answer(words)) => return usage(&words),
        Err(NoDraft::Text(trouble)) => {
            report::lines(&trouble.1, &trouble.0, false, &mut io::stderr())?;
            return usage("these answers cannot be read; nothing was written");
        }
        Err(NoDraft::Unsuitable(trouble)) => {
            report::lines(&trouble.1, &trouble.0, false, &mut io::stderr())?;
            usage(&format!(
                "{} do not go together by the rules that ship; nothing was written",
                chosen(&questions, &answers)
            ))?;
            return Ok(exit::FINDINGS);
        }
    };
    match write_all(&draft, &arguments.folder, arguments.force) {
        Ok(()) => {}
        Err(words) => return usage(&words),
    }
    let folder = arguments.folder.to_string_lossy();
    for (path, _) in &draft.texts {
        writeln!(out, "written: {}", visible(&shown(&arguments.folder, path)))?;
    }
    writeln!(
        out,
        "checked: {} passes; now put in what your own sheets, probes and trials say, and run `strikeoff check {}`",
        visible(&draft.report.name),
        visible(&folder)
    )?;
    Ok(exit::CLEAN)
}

/// The choices made: `--ink puff` and so on, in words for a message.
fn chosen(questions: &Questions, answers: &BTreeMap<String, String>) -> String {
    let asked = questions.asked.iter();
    let choices = asked.filter(|question| matches!(question.answer, Answer::Choice(_)));
    let words = choices.map(|question| {
        let answer = answers.get(question.name).map(String::as_str);
        format!("{} `{}`", question.name, answer.unwrap_or(question.default))
    });
    words.collect::<Vec<_>>().join(" and ")
}

/// Asks for what the flags leave open. An empty line takes the default; so does the end of the input.
fn ask(questions: &Questions, answers: &mut BTreeMap<String, String>) -> io::Result<()> {
    let mut err = io::stderr();
    let mut lines = io::stdin().lock().lines();
    for question in &questions.asked {
        if answers.contains_key(question.name) {
            continue;
        }
        if let Answer::Choice(choices) = &question.answer {
            for choice in choices {
                writeln!(err, "  {}: {}", choice.name, choice.sentence)?;
            }
        }
        write!(err, "{} [{}]: ", question.sentence, question.default)?;
        err.flush()?;
        let Some(line) = lines.next() else { break };
        let line = line?;
        if !line.trim().is_empty() {
            answers.insert(question.name.to_owned(), line.trim().to_owned());
        }
    }
    Ok(())
}

/// Writes all files, or none where one is in the way.
fn write_all(draft: &Draft, folder: &Path, force: bool) -> Result<(), String> {
    if !force {
        let there = |path: &&str| fs::symlink_metadata(folder.join(path)).is_ok();
        let mut paths = draft.texts.iter().map(|(path, _)| *path);
        if let Some(path) = paths.find(there) {
            return Err(format!(
                "`{}` is there already, so nothing was written; name another folder, or add `--force` to write over it",
                shown(folder, path)
            ));
        }
    }
    for (path, text) in &draft.texts {
        let whole = folder.join(path);
        let failed =
            |error: io::Error| format!("`{}` cannot be written: {error}", shown(folder, path));
        if let Some(parent) = whole.parent() {
            fs::create_dir_all(parent).map_err(failed)?;
        }
        let mut options = fs::OpenOptions::new();
        options.write(true);
        // Between the look above and here a file may have come: it is not overwritten either.
        if force {
            options.create(true).truncate(true);
        } else {
            options.create_new(true);
        }
        let mut file = options.open(&whole).map_err(failed)?;
        file.write_all(text.as_bytes()).map_err(failed)?;
    }
    Ok(())
}

fn shown(folder: &Path, path: &str) -> String {
    let whole = folder.join(path).to_string_lossy().replace('\\', "/");
    whole.strip_prefix("./").unwrap_or(&whole).to_owned()
}
