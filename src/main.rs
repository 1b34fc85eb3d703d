//! The `strikeoff` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    strikeoff::cli::main()
}
