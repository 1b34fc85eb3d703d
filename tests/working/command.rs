//! The command itself: exit codes, the picture's file, standard input.

use std::io::Write as _;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};

use super::small::{PLAN, room};

/// A folder with the small room, taken away at the end.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("working-{}-{name}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        for (file, text) in room(PLAN).texts {
            std::fs::write(path.join(file), text.unwrap()).unwrap();
        }
        Self(path)
    }

    fn run(&self, arguments: &[&str], stdin: &str) -> Output {
        let mut child = Command::new(env!("CARGO_BIN_EXE_strikeoff"))
            .current_dir(&self.0)
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        // A command that does not read its input may close it first.
        let _ = child.stdin.take().unwrap().write_all(stdin.as_bytes());
        child.wait_with_output().unwrap()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

fn said(output: &Output) -> (i32, String) {
    let words = String::from_utf8(output.stderr.clone()).unwrap();
    (output.status.code().unwrap(), words)
}

#[test]
fn exit_codes_tell_shown_from_trouble() {
    let folder = Folder::new("codes");
    let shown = folder.run(&["working", "a.plan", "oven.dwell"], "");
    assert_eq!(said(&shown), (0, String::new()));
    assert!(
        String::from_utf8(shown.stdout)
            .unwrap()
            .contains("53.6 to 59.2 s (exact)")
    );
    let (code, words) = said(&folder.run(&["working", "a.plan", "oven.dwel"], ""));
    assert_eq!(code, 2);
    assert!(words.contains("did you mean `oven.dwell`?"), "{words}");
    let (code, words) = said(&folder.run(&["working", "b.plan"], ""));
    assert_eq!(code, 2);
    assert!(
        words.contains("error[file-missing]: there is no file `b.plan`"),
        "{words}"
    );
    let (code, words) = said(&folder.run(&["working", "bench.std"], ""));
    assert_eq!(code, 2);
    assert!(words.contains("`bench.std` is a standard"), "{words}");
}

#[test]
fn a_plan_from_a_pipe_is_worked_out() {
    let folder = Folder::new("pipe");
    let shown = folder.run(&["working", "-", "oven.dwell", "--as", "json"], PLAN);
    assert_eq!(said(&shown), (0, String::new()));
    let value: serde_json::Value = serde_json::from_slice(&shown.stdout).unwrap();
    assert_eq!(value["plan"]["file"], "<stdin>");
    assert_eq!(value["figures"][0]["result"]["text"], "53.6 to 59.2 s");
}

#[test]
fn the_picture_is_written_or_said_to_be_empty() {
    let folder = Folder::new("picture");
    let shown = folder.run(
        &["working", "a.plan", "coat.peak", "--picture", "heat.svg"],
        "",
    );
    assert_eq!(said(&shown), (0, String::new()));
    let svg = std::fs::read_to_string(folder.0.join("heat.svg")).unwrap();
    assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>"));
    let (code, words) = said(&folder.run(
        &["working", "a.plan", "oven.dwell", "--picture", "no.svg"],
        "",
    ));
    assert_eq!(code, 2);
    assert!(words.contains("there is nothing to draw"), "{words}");
    assert!(!folder.0.join("no.svg").exists());
    let (code, words) = said(&folder.run(
        &["working", "a.plan", "coat.peak", "--picture", "no/no.svg"],
        "",
    ));
    assert_eq!(code, 2);
    assert!(words.contains("cannot be written"), "{words}");
}
