//! The program itself: arguments, exit codes, streams and the disk.

mod apply;
mod bytes;
mod deviations;
mod diff;
mod exit;
mod git;
mod paths;
mod streams;
mod words;

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

pub(crate) const CLEAN: i32 = 0;
pub(crate) const FINDINGS: i32 = 1;
pub(crate) const TROUBLE: i32 = 2;

pub(crate) const STANDARD: &str = r#"standard "A room" edition "1"

kind dryer, one to a run "a tunnel" {
  chamber  length from 0.3 m to 15 m    "heated length" set
  belt     speed from 0.05 to 20 m/min  "belt speed" set in steps of 0.05 m/min
  dwell    time = chamber / belt        "time under heat"
}

rule slow "heated slowly" {
  shall    dryer.dwell at least 60 s
  per      practice
  adjust   dryer.belt
}
"#;

pub(crate) fn plan_with(belt: &str) -> String {
    format!(
        "run \"An order\" against \"room.std\"\n\ndryer {{\n  chamber  2.44 m\n  belt     {belt}\n}}\n"
    )
}

/// A folder of its own for one test.
pub(crate) struct Folder(pub(crate) PathBuf);

impl Folder {
    pub(crate) fn new(name: &str) -> Self {
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("cli-{name}"));
        let _ = fs::remove_dir_all(&path);
        fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    /// The folder with the standard and plans that hold, break and are at risk.
    pub(crate) fn room(name: &str) -> Self {
        let folder = Self::new(name);
        folder.put("room.std", STANDARD);
        folder.put("holds.plan", plan_with("2 m/min"));
        folder.put("breaks.plan", plan_with("3 m/min ± 5 %"));
        folder.put("risk.plan", plan_with("2.4 m/min ± 5 %"));
        folder
    }

    pub(crate) fn put(&self, name: &str, text: impl AsRef<[u8]>) {
        let path = self.0.join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    pub(crate) fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_strikeoff"));
        command
            .current_dir(&self.0)
            .args(arguments)
            .env_remove("NO_COLOR")
            .env_remove("CLICOLOR_FORCE")
            .stdin(Stdio::null());
        command
    }

    pub(crate) fn run(&self, arguments: &[&str]) -> Ran {
        Ran::of(self.command(arguments).output().unwrap())
    }

    pub(crate) fn check(&self, arguments: &[&str]) -> Ran {
        self.run(&[&["check", "--on", "2026-11-25"], arguments].concat())
    }

    pub(crate) fn piped(&self, arguments: &[&str], text: &[u8]) -> Ran {
        let mut child = self
            .command(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        // A program that refuses its input early closes the pipe.
        let _ = child.stdin.take().unwrap().write_all(text);
        Ran::of(child.wait_with_output().unwrap())
    }
}

pub(crate) struct Ran {
    pub(crate) code: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Ran {
    pub(crate) fn of(output: Output) -> Self {
        Self {
            code: output.status.code().expect("ended by itself"),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }

    #[track_caller]
    pub(crate) fn exits(self, code: i32) -> Self {
        assert_eq!(self.code, code, "{}\n{}", self.out, self.err);
        self
    }

    #[track_caller]
    pub(crate) fn says(self, words: &str) -> Self {
        assert!(
            self.out.contains(words),
            "`{words}` is not in\n{}",
            self.out
        );
        self
    }

    #[track_caller]
    pub(crate) fn complains(self, words: &str) -> Self {
        assert!(
            self.err.contains(words),
            "`{words}` is not in\n{}",
            self.err
        );
        self
    }
}
