//! `new` as a command: what it writes, what it leaves alone, and that the snippets work.

use std::path::Path;
use std::process::{Command, Stdio};

use super::command::Folder;

#[test]
fn a_room_is_written_and_checks_clean() {
    let folder = Folder::new("new");
    let (code, out, err) = folder.run(&["new", "back-lane", "--room", "Back Lane"]);
    assert_eq!((code, err.as_str()), (0, ""));
    for path in [
        "room.std",
        "first.plan",
        "snippets/build-server.sh",
        "snippets/pre-commit",
        "snippets/workflow.yml",
        "snippets/pipeline.yml",
    ] {
        assert!(
            out.contains(&format!("written: back-lane/{path}\n")),
            "{out}"
        );
        assert!(!folder.read(&format!("back-lane/{path}")).is_empty());
    }
    assert!(
        folder
            .read("back-lane/room.std")
            .contains("standard \"Back Lane\" edition \"1\"")
    );
    let (code, out, _) = folder.run(&["check", "back-lane"]);
    assert_eq!(code, 0, "{out}");
    for command in ["sources", "print", "test"] {
        assert_eq!(folder.run(&[command, "back-lane/room.std"]).0, 0);
    }
    // Without a folder it goes into the current one.
    assert_eq!(folder.run(&["new"]).0, 0);
    assert_eq!(folder.run(&["check", "room.std", "first.plan"]).0, 0);
}

#[test]
fn a_file_that_is_there_is_left_alone_unless_forced() {
    let folder = Folder::new("there");
    std::fs::create_dir_all(folder.0.join("a/snippets")).unwrap();
    folder.write("a/snippets/pre-commit", "mine\n");
    let (code, out, err) = folder.run(&["new", "a"]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(
        err.contains("`a/snippets/pre-commit` is there already"),
        "{err}"
    );
    assert_eq!(folder.read("a/snippets/pre-commit"), "mine\n");
    // None of the others was written either.
    assert!(!folder.0.join("a/room.std").exists());
    assert_eq!(folder.run(&["new", "a", "--force"]).0, 0);
    assert!(
        folder
            .read("a/snippets/pre-commit")
            .contains("strikeoff check")
    );
    assert_eq!(folder.run(&["check", "a"]).0, 0);
    // A file where a folder has to be is trouble, not a panic.
    folder.write("file", "x");
    let (code, _, err) = folder.run(&["new", "file"]);
    assert_eq!(code, 2);
    assert!(
        err.contains("cannot be written") || err.contains("there already"),
        "{err}"
    );
}

#[cfg(unix)]
#[test]
fn a_link_is_not_followed_unless_forced() {
    let folder = Folder::new("link");
    std::fs::create_dir_all(folder.0.join("a")).unwrap();
    std::os::unix::fs::symlink(folder.0.join("elsewhere"), folder.0.join("a/room.std")).unwrap();
    assert_eq!(folder.run(&["new", "a"]).0, 2);
    assert!(!folder.0.join("elsewhere").exists());
}

#[test]
fn what_does_not_go_together_is_said_and_nothing_is_written() {
    let folder = Folder::new("unsuitable");
    let (code, out, err) = folder.run(&[
        "new",
        "a",
        "--ink",
        "standard-plastisol",
        "--fabric",
        "nylon-taffeta",
    ]);
    assert_eq!((code, out.as_str()), (1, ""));
    assert!(err.contains("`nylon-takes-a-nylon-ink` wants yes"), "{err}");
    let words = "ink `standard-plastisol` and fabric `nylon-taffeta` do not go together";
    assert!(err.contains(words), "{err}");
    assert!(!folder.0.join("a").exists());
    let (code, _, err) = folder.run(&["new", "a", "--tunnel-length", "8 fet"]);
    assert_eq!(code, 2);
    assert!(err.contains("there is no unit `fet`"), "{err}");
    let (code, _, err) = folder.run(&["new", "a", "--ink", "puff-plastisl"]);
    assert_eq!(code, 2);
    assert!(err.contains("'puff-plastisol'"), "{err}");
    assert!(!folder.0.join("a").exists());
}

/// Runs a snippet with our own command on the path; its exit code.
#[cfg(unix)]
fn snippet(folder: &Path, path: &str) -> i32 {
    snippet_with(folder, &[path])
}

#[cfg(unix)]
fn build_server(folder: &Path, branch: &str) -> i32 {
    snippet_with(folder, &["snippets/build-server.sh", branch])
}

#[cfg(unix)]
fn snippet_with(folder: &Path, arguments: &[&str]) -> i32 {
    let ours = Path::new(env!("CARGO_BIN_EXE_strikeoff")).parent().unwrap();
    let paths = std::env::var_os("PATH").unwrap_or_default();
    let paths = std::env::split_paths(&paths);
    let all = std::env::join_paths(std::iter::once(ours.to_owned()).chain(paths)).unwrap();
    let status = Command::new("sh")
        .args(arguments)
        .current_dir(folder)
        .env("PATH", all)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .status()
        .unwrap();
    status.code().unwrap()
}

#[cfg(unix)]
#[test]
fn the_snippets_give_the_verdict() {
    let folder = Folder::new("snippets");
    assert_eq!(folder.run(&["new"]).0, 0);
    for path in ["snippets/build-server.sh", "snippets/pre-commit"] {
        assert_eq!(snippet(&folder.0, path), 0, "{path}");
    }
    let sarif: serde_json::Value = serde_json::from_str(&folder.read("strikeoff.sarif")).unwrap();
    assert_eq!(sarif["version"], "2.1.0");
    let plan = folder.read("first.plan");
    folder.write(
        "first.plan",
        &plan.replace("290 °F ± 6 °F", "390 °F ± 6 °F"),
    );
    for path in ["snippets/build-server.sh", "snippets/pre-commit"] {
        assert_eq!(snippet(&folder.0, path), 1, "{path}");
    }
    // The plan passes and an example fails: the snippets say so as well.
    folder.write("first.plan", &plan);
    let room = folder.read("room.std");
    folder.write("room.std", &room.replace("first.plan", "other.plan"));
    folder.write("other.plan", &plan);
    for path in ["snippets/build-server.sh", "snippets/pre-commit"] {
        assert_eq!(snippet(&folder.0, path), 0, "{path}");
    }
    folder.write(
        "room.std",
        &room.replace("base\n  because", "top\n  because"),
    );
    for path in ["snippets/build-server.sh", "snippets/pre-commit"] {
        assert_eq!(snippet(&folder.0, path), 1, "{path}");
    }
    folder.write("room.std", &room);
    folder.write("first.plan", &plan.replace("290 °F", "290 °X"));
    for path in ["snippets/build-server.sh", "snippets/pre-commit"] {
        assert_eq!(snippet(&folder.0, path), 2, "{path}");
    }
}

/// With the branch that a change goes to, the build server's snippet says what the change means.
#[cfg(unix)]
#[test]
fn the_snippet_for_a_build_server_tells_what_a_change_means() {
    let folder = Folder::new("snippets-diff");
    if Command::new("git").arg("--version").output().is_err() {
        return;
    }
    let git = |arguments: &[&str]| {
        let ran = Command::new("git")
            .args(["-c", "user.name=A", "-c", "user.email=a@example.org"])
            .args(["-c", "commit.gpgsign=false"])
            .args(arguments)
            .current_dir(&folder.0)
            .output()
            .unwrap();
        assert!(ran.status.success(), "{ran:?}");
    };
    assert_eq!(folder.run(&["new"]).0, 0);
    git(&["init", "--quiet", "--initial-branch", "main", "."]);
    git(&["add", "--all"]);
    git(&["commit", "--quiet", "--message", "a room"]);
    git(&["checkout", "--quiet", "-b", "change"]);
    assert_eq!(build_server(&folder.0, "main"), 0);
    assert!(
        folder
            .read("strikeoff-diff.md")
            .contains("same meaning, proved")
    );
    let room = folder.read("room.std");
    let rule = "\nrule slower \"slower still\" {\n  shall    dryer.dwell at least 900 s\n  because  \"a trial\"\n  per      practice\n}\n";
    folder.write("room.std", &format!("{room}{rule}"));
    git(&["commit", "--quiet", "--all", "--message", "slower"]);
    assert_eq!(build_server(&folder.0, "main"), 1);
    let told = folder.read("strikeoff-diff.md");
    assert!(
        told.contains("tightened") && told.contains("newly failing (1)"),
        "{told}"
    );
    // A branch that is not there is trouble, not silence.
    assert_eq!(build_server(&folder.0, "no-such-branch"), 2);
}
