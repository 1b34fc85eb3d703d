//! Texts of a revision: what git holds, never the disk, never beyond the folder.

use std::process::Command;

use strikeoff::cli::{Ends, Revision, ends};
use strikeoff::names::{ReadProblem, Shelf as _};

use super::{Folder, STANDARD};

/// A repository with a folder `rooms/harbour` of two editions; `None`, said aloud, where there is no git.
fn repository(name: &str) -> Option<(Folder, [String; 2])> {
    let folder = Folder::new(name);
    if Command::new("git").arg("--version").output().is_err() {
        println!("there is no git here: `{name}` was not run");
        return None;
    }
    git(&folder, &["init", "--quiet", "."]);
    folder.put("rooms/harbour/room.std", STANDARD);
    folder.put("rooms/harbour/parts/inks.std", "# inks\n");
    folder.put("rooms/other.std", "# other\n");
    folder.put("top.std", "# top\n");
    folder.put("rooms/harbour/latin.std", b"# caf\xe9\n");
    let first = commit(&folder);
    folder.put("rooms/harbour/room.std", STANDARD.replace("60 s", "65 s"));
    folder.put("rooms/harbour/plans/späť [1].plan", "run\n");
    let second = commit(&folder);
    // What is on the disk only is no part of a revision.
    folder.put("rooms/harbour/room.std", "not committed\n");
    Some((folder, [first, second]))
}

pub(super) fn git(folder: &Folder, arguments: &[&str]) -> String {
    let ran = Command::new("git")
        .args(["-c", "user.name=A", "-c", "user.email=a@example.org"])
        .args(["-c", "commit.gpgsign=false", "-c", "core.autocrlf=false"])
        .args(arguments)
        .current_dir(&folder.0)
        .output()
        .unwrap();
    assert!(ran.status.success(), "{ran:?}");
    String::from_utf8(ran.stdout).unwrap().trim().to_owned()
}

pub(super) fn commit(folder: &Folder) -> String {
    git(folder, &["add", "--all"]);
    git(folder, &["commit", "--quiet", "--message", "an edition"]);
    git(folder, &["rev-parse", "HEAD"])
}

#[test]
fn reads_what_each_revision_holds() {
    let Some((folder, [first, second])) = repository("git-reads") else {
        return;
    };
    let top = folder.0.as_path();
    for (commit, limit) in [(&first, "60 s"), (&second, "65 s")] {
        let revision = Revision::below(top, commit, "rooms/harbour").unwrap();
        let text = revision.read("rooms/harbour/room.std").unwrap();
        assert!(text.contains(limit), "{text}");
    }
    // From a folder below, paths start there; `../` reaches what lies in the folder asked for.
    let inside = folder.0.join("rooms/harbour");
    let revision = Revision::below(&inside, &second, "").unwrap();
    assert!(revision.read("room.std").unwrap().contains("65 s"));
    assert_eq!(
        revision.files(""),
        [
            "latin.std",
            "parts/inks.std",
            "plans/späť [1].plan",
            "room.std"
        ]
    );
    assert_eq!(revision.neighbours("roon.std"), ["latin.std", "room.std"]);
    let parts = folder.0.join("rooms/harbour/parts");
    let revision = Revision::below(&parts, &first, "..").unwrap();
    assert_eq!(
        revision.files(".."),
        ["../latin.std", "inks.std", "../room.std"]
    );
    assert!(revision.read("../room.std").unwrap().contains("60 s"));
}

#[test]
fn says_why_a_text_cannot_be_read() {
    let Some((folder, [first, _])) = repository("git-refuses") else {
        return;
    };
    let revision = Revision::below(&folder.0, &first, "rooms/harbour").unwrap();
    let why = |path: &str| revision.read(path).unwrap_err();
    assert_eq!(why("rooms/harbour/none.std"), ReadProblem::Missing);
    assert_eq!(why("rooms/harbour/parts"), ReadProblem::Folder);
    assert_eq!(why("rooms/harbour/latin.std"), ReadProblem::NotUtf8(5));
    for path in [
        "rooms/other.std",
        "top.std",
        "../top.std",
        "/etc/hosts",
        "rooms/harbour-2.std",
    ] {
        assert_eq!(why(path), ReadProblem::Leaves, "{path}");
    }
    // The second edition's plan is not in the first.
    assert_eq!(
        why("rooms/harbour/plans/späť [1].plan"),
        ReadProblem::Missing
    );
}

#[cfg(unix)]
#[test]
fn a_link_is_not_followed() {
    let Some((folder, _)) = repository("git-link") else {
        return;
    };
    std::os::unix::fs::symlink("/etc/hosts", folder.0.join("rooms/harbour/link.std")).unwrap();
    let commit = commit(&folder);
    let revision = Revision::below(&folder.0, &commit, "rooms/harbour").unwrap();
    assert!(matches!(
        revision.read("rooms/harbour/link.std"),
        Err(ReadProblem::Other(_))
    ));
}

#[test]
fn reads_ranges_of_revisions() {
    let Some((folder, [first, second])) = repository("git-ranges") else {
        return;
    };
    let read = |words: &str| ends(&folder.0, words);
    let pair = |old: &String, new: Option<&String>| Ends {
        old: old.clone(),
        new: new.cloned(),
    };
    assert_eq!(read("HEAD~1..HEAD"), Ok(pair(&first, Some(&second))));
    assert_eq!(read("HEAD~1.."), Ok(pair(&first, Some(&second))));
    assert_eq!(read("..HEAD~1"), Ok(pair(&second, Some(&first))));
    assert_eq!(read("HEAD~1"), Ok(pair(&first, None)));
    // Two branches that parted at the first edition.
    git(
        &folder,
        &["checkout", "--quiet", "--force", "-b", "aside", &first],
    );
    folder.put("rooms/aside.std", "# aside\n");
    let aside = commit(&folder);
    let three = format!("{second}...aside");
    assert_eq!(read(&three), Ok(pair(&first, Some(&aside))));
    for words in ["no-such-branch", "--help", "HEAD..--output=x", "a b"] {
        let error = read(words).unwrap_err();
        assert!(error.contains("git knows no revision"), "{words}: {error}");
    }
}
