//! The command line: the only place that reads files, clocks and terminals.

mod args;
mod check;
mod collect;
mod exit;
mod explain;
mod files;
mod review;
mod terminal;
mod working;

use std::io::{self, Write};
use std::process::ExitCode;

use clap::Parser as _;

pub use check::{Request, Run, check};
pub use collect::Named;
pub use files::Disk;
pub use review::{ReviewRun, review};
pub use working::{WorkingRun, working};

/// Runs the command with the arguments of the process.
pub fn main() -> ExitCode {
    let arguments = args::Arguments::parse();
    let mut out = io::stdout().lock();
    let result = match arguments.command {
        args::Command::Check(options) => check::command(&options, &mut out),
        args::Command::Working(options) => working::command(&options, &mut out),
        args::Command::Review(options) => review::command(&options, &mut out),
        args::Command::Explain { code } => explain::command(code.as_deref(), &mut out),
        args::Command::Schema { of } => out
            .write_all(
                match of {
                    args::SchemaOf::Report => crate::report::json_schema(),
                    args::SchemaOf::Working => crate::report::working_schema(),
                    args::SchemaOf::Review => crate::report::review_schema(),
                }
                .as_bytes(),
            )
            .map(|()| exit::CLEAN),
    };
    let flushed = out.flush();
    match result.and_then(|code| flushed.map(|()| code)) {
        Ok(code) => ExitCode::from(code),
        // The reader of a pipe has had enough: that is no failure of ours.
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => ExitCode::from(exit::CLEAN),
        Err(error) => {
            let _ = writeln!(io::stderr(), "strikeoff: cannot write: {error}");
            ExitCode::from(exit::INTERNAL)
        }
    }
}
