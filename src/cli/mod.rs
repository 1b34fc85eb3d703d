//! The command line: the only place that reads files, clocks and terminals.

mod apply;
mod args;
mod check;
mod collect;
mod deviations;
mod diff;
mod diff_sides;
mod exit;
mod explain;
mod files;
mod git;
mod new_plan;
mod print;
mod review;
mod sources;
mod standard;
mod starter;
mod terminal;
mod test;
mod window;
mod words;
mod working;
mod write_plans;

use std::io::{self, Write};
use std::process::ExitCode;

use clap::{CommandFactory as _, FromArgMatches as _};

pub use crate::session::{
    DiffRun, DiffSide, Named, ReadStandard, Request, ReviewRun, Run, TestRun, WindowRun,
    WorkingRun, check, compare_plans, diff, read_standard, review, test, window, working,
};
pub use files::Disk;
pub use git::{Ends, Revision, ends};
pub use starter::{Answer, Choice, Draft, NoDraft, Question, Questions, Trial, draft, questions};

/// Runs the command with the arguments of the process.
pub fn main() -> ExitCode {
    // What `new` asks is data, so its flags are added here.
    let command = args::Arguments::command().mut_subcommand("new", starter::flags);
    let matches = command.get_matches();
    let arguments =
        args::Arguments::from_arg_matches(&matches).unwrap_or_else(|error| error.exit());
    let new = matches.subcommand_matches("new");
    let mut out = terminal::Reader::new(io::stdout().lock());
    let result = match arguments.command {
        args::Command::Check(options) => check::command(&options, &mut out),
        args::Command::Working(options) => working::command(&options, &mut out),
        args::Command::Window(options) => window::command(&options, &mut out),
        args::Command::Sources(options) => sources::command(&options, &mut out),
        args::Command::Print(options) => print::command(&options, &mut out),
        args::Command::New(args::NewArguments {
            what: Some(args::NewWhat::Plan(options)),
            ..
        }) => new_plan::command(&options, &mut out),
        args::Command::New(options) => match new {
            Some(matches) => starter::command(&options, matches, &mut out),
            None => Ok(exit::INTERNAL),
        },
        args::Command::Test(options) => test::command(&options, &mut out),
        args::Command::Deviations(options) => deviations::command(&options, &mut out),
        args::Command::Review(options) => review::command(&options, &mut out),
        args::Command::Diff(options) => diff::command(&options, &mut out),
        args::Command::Words(options) => words::command(&options, &mut out),
        args::Command::Explain { code } => explain::command(code.as_deref(), &mut out),
        args::Command::Schema { of } => out
            .write_all(
                match of {
                    args::SchemaOf::Report => crate::report::json_schema(),
                    args::SchemaOf::Working => crate::report::working_schema(),
                    args::SchemaOf::Window => crate::report::window_schema(),
                    args::SchemaOf::Sources => crate::report::sources_schema(),
                    args::SchemaOf::Test => crate::report::examples_schema(),
                    args::SchemaOf::Review => crate::report::review_schema(),
                    args::SchemaOf::Diff => crate::report::diff_schema(),
                }
                .as_bytes(),
            )
            .map(|()| exit::CLEAN),
    };
    let flushed = out.flush();
    match result.and_then(|code| flushed.map(|()| code)) {
        Ok(code) => ExitCode::from(code),
        Err(error) => {
            let _ = writeln!(io::stderr(), "strikeoff: cannot write: {error}");
            ExitCode::from(exit::INTERNAL)
        }
    }
}
