//! `strikeoff diff` as it is called: its sides, its exit codes, its forms and what it says when it cannot.

use serde_json::Value;

use super::git::{commit, git};
use super::{CLEAN, FINDINGS, Folder, Ran, STANDARD, TROUBLE, plan_with};

/// The room, and three other editions of its standard.
fn editions(name: &str) -> Folder {
    let folder = Folder::room(name);
    folder.put("strict.std", STANDARD.replace("60 s", "65 s"));
    folder.put("lax.std", STANDARD.replace("60 s", "45 s"));
    folder.put("respelt.std", STANDARD.replace("60 s", "1 min"));
    folder.put("words.std", STANDARD.replace("heated slowly", "gently"));
    folder
}

fn diff(folder: &Folder, arguments: &[&str]) -> Ran {
    folder.run(&[&["diff"], arguments].concat())
}

#[test]
fn a_difference_is_no_failure_until_it_is_asked_for() {
    let folder = editions("diff-exit");
    let codes = |new: &str| {
        let plain = diff(&folder, &["room.std", new]).code;
        let on = |what: &str| diff(&folder, &["room.std", new, "--fail-on", what]).code;
        [plain, on("loosened"), on("changed")]
    };
    assert_eq!(codes("room.std"), [CLEAN, CLEAN, CLEAN]);
    assert_eq!(codes("respelt.std"), [CLEAN, CLEAN, CLEAN]);
    assert_eq!(codes("words.std"), [CLEAN, CLEAN, CLEAN]);
    assert_eq!(codes("strict.std"), [CLEAN, CLEAN, FINDINGS]);
    assert_eq!(codes("lax.std"), [CLEAN, FINDINGS, FINDINGS]);
}

#[test]
fn the_same_meaning_is_said_to_be_proved() {
    let folder = editions("diff-same");
    for new in ["room.std", "respelt.std", "words.std"] {
        diff(&folder, &["room.std", new]).says("same meaning, proved");
    }
    diff(&folder, &["room.std", "strict.std"]).says("1 tightened");
}

#[test]
fn what_is_not_decided_may_be_loosened() {
    let folder = Folder::new("diff-open");
    // A figure that a budget of nothing cannot settle.
    let hard = STANDARD.replace(
        "dryer.dwell at least 60 s",
        "dryer.chamber * dryer.chamber at least 60 s * dryer.belt * 1 m",
    );
    folder.put("old.std", &hard);
    folder.put(
        "new.std",
        hard.replace(
            "at least 60 s * dryer.belt * 1 m",
            "at least 60 s * dryer.belt * 1.000001 m",
        ),
    );
    let asked = [
        "new.std",
        "old.std",
        "--budget",
        "0",
        "--fail-on",
        "loosened",
    ];
    let ran = diff(&folder, &asked);
    ran.says("not decided").exits(FINDINGS);
}

#[test]
fn sides_that_cannot_be_compared_are_said() {
    let folder = editions("diff-trouble");
    folder.put("broken.std", STANDARD.replace("shall ", "shell "));
    folder.put("two/a.std", STANDARD);
    folder.put("two/b.std", STANDARD);
    folder.put("none/part.std", "# a part only\n");
    let trouble = |arguments: &[&str], words: &str| {
        let ran = diff(&folder, arguments).exits(TROUBLE).complains(words);
        assert_eq!(ran.out, "", "nothing on the output: {arguments:?}");
    };
    trouble(&["room.std"], "name two standards");
    trouble(&["room.std", "none.std"], "none.std");
    trouble(&["room.std", "broken.std"], "broken.std");
    trouble(&["room.std", "holds.plan"], "is a plan");
    trouble(&["room.std", "two"], "there are 2 standards in `two`");
    trouble(&["room.std", "none"], "there is no standard in `none`");
    trouble(
        &["room.std", "strict.std", "--plans", "two"],
        "no `.plan` file",
    );
    trouble(&["room.std", "strict.std", "--on", "26-11-25"], "26-11-25");
    trouble(&["room.std", "strict.std", "--budget", "-1"], "-1");
}

#[test]
fn a_folder_stands_for_its_one_standard() {
    let folder = editions("diff-folder");
    folder.put("now/room.std", STANDARD);
    folder.put("now/parts/rules.std", "# a part\n");
    folder.put("next/room.std", STANDARD.replace("60 s", "65 s"));
    diff(&folder, &["now", "next"])
        .exits(CLEAN)
        .says("1 tightened");
}

#[test]
fn plans_that_fare_otherwise_are_named() {
    let folder = editions("diff-plans");
    folder.put(
        "orders/long.plan",
        plan_with("2.3 m/min").replace("room.std", "../room.std"),
    );
    folder.put(
        "orders/slow.plan",
        plan_with("1 m/min").replace("room.std", "../room.std"),
    );
    folder.put(
        "orders/half.plan",
        "run \"half\" against \"../room.std\"\ndryer {\n",
    );
    let asked = ["room.std", "strict.std", "--plans", "orders"];
    let ran = diff(&folder, &asked).exits(CLEAN);
    let ran = ran
        .says("1 newly failing")
        .says("orders/long.plan")
        .says("orders/half.plan");
    assert!(!ran.out.contains("slow.plan"), "{}", ran.out);
    let json = diff(&folder, &[&asked[..], &["--as", "json"]].concat());
    let value: Value = serde_json::from_str(&json.out).unwrap();
    fits(&folder, &value);
    let moved = value["plans"]["moved"].as_array().unwrap();
    assert_eq!(moved.len(), 1, "{value:#}");
}

/// Against the schema that the program itself prints.
fn fits(folder: &Folder, value: &Value) {
    let schema: Value = serde_json::from_str(&folder.run(&["schema", "diff"]).out).unwrap();
    let validator = jsonschema::draft202012::options().build(&schema).unwrap();
    let errors: Vec<String> = validator
        .iter_errors(value)
        .map(|error| format!("{} {error}", error.instance_path()))
        .collect();
    assert!(errors.is_empty(), "{errors:#?}");
}

#[test]
fn every_form_is_the_same_twice() {
    let folder = editions("diff-forms");
    for form in ["people", "json", "markdown", "sarif"] {
        let asked = [
            "room.std",
            "lax.std",
            "--plans",
            ".",
            "--on",
            "2026-11-25",
            "--as",
            form,
        ];
        let (one, other) = (diff(&folder, &asked), diff(&folder, &asked));
        assert_eq!(one.out, other.out, "{form}");
        assert_eq!(one.code, CLEAN, "{form}");
        assert!(!one.out.contains('\u{1b}'), "{form}");
        if form == "json" {
            fits(&folder, &serde_json::from_str(&one.out).unwrap());
        }
    }
}

#[test]
fn revisions_are_compared_by_what_git_holds() {
    if std::process::Command::new("git")
        .arg("--version")
        .output()
        .is_err()
    {
        println!("there is no git here: not run");
        return;
    }
    let folder = Folder::room("diff-git");
    git(
        &folder,
        &["init", "--quiet", "--initial-branch", "main", "."],
    );
    commit(&folder);
    git(&folder, &["checkout", "--quiet", "-b", "proposal"]);
    folder.put("room.std", STANDARD.replace("60 s", "45 s"));
    commit(&folder);
    // The target branch goes on by itself; what it does is no part of the proposal.
    git(&folder, &["checkout", "--quiet", "main"]);
    folder.put("room.std", STANDARD.replace("15 m ", "12 m "));
    commit(&folder);
    git(&folder, &["checkout", "--quiet", "proposal"]);
    // Nor is what nobody has committed.
    folder.put("room.std", "not a standard\n");

    let ran = diff(
        &folder,
        &["main...HEAD", "--fail-on", "loosened", "--", "room.std"],
    );
    ran.exits(FINDINGS).says("1 loosened, 0 tightened");
    let ran = diff(&folder, &["main..HEAD", "--", "room.std"]).exits(CLEAN);
    ran.says("2 loosened, 0 tightened");
    let ran = diff(&folder, &["main...HEAD", "--plans", ".", "--", "room.std"]);
    ran.exits(CLEAN).says("2 newly passing");
    // One revision is compared with the working folder, which cannot be read here.
    let ran = diff(&folder, &["main", "--", "room.std"]).exits(TROUBLE);
    ran.complains("room.std");
    folder.put("room.std", STANDARD.replace("60 s", "65 s"));
    diff(&folder, &["HEAD", "--", "room.std"])
        .exits(CLEAN)
        .says("1 tightened");

    let trouble = |arguments: &[&str], words: &str| {
        diff(&folder, arguments).exits(TROUBLE).complains(words);
    };
    trouble(
        &["mian...HEAD", "--", "room.std"],
        "git knows no revision `mian`",
    );
    trouble(&["main...HEAD", "--", "roon.std"], "roon.std");
    trouble(&["main...HEAD", "proposal", "--", "room.std"], "is a range");
    trouble(&["main...HEAD", "--", "../room.std"], "leads out");
}

#[test]
fn without_git_revisions_are_refused_and_files_are_not() {
    let folder = editions("diff-no-git");
    let empty = folder.0.join("none");
    let run = |arguments: &[&str]| {
        let mut command = folder.command(&[&["diff"], arguments].concat());
        Ran::of(command.env("PATH", &empty).output().unwrap())
    };
    let ran = run(&["main..HEAD", "--", "room.std"]).exits(TROUBLE);
    ran.complains("there is no `git` on the path; name two files or folders instead");
    run(&["room.std", "strict.std"])
        .exits(CLEAN)
        .says("1 tightened");
}

/// Texts of the standard, and names of its files, are shown; they never act.
#[test]
fn hostile_texts_stay_texts() {
    let hostile = "</details><script>alert(1)</script> ``` [x](javascript:y) <!-- | @all";
    let folder = Folder::new("diff-hostile");
    folder.put("room.std", STANDARD.replace("heated slowly", hostile));
    let new = STANDARD.replace("heated slowly", &format!("{hostile} now"));
    folder.put("next.std", new.replace("60 s", "45 s"));
    let name = "orders/<img src=x> `tick` | cell.plan";
    folder.put(
        name,
        plan_with("3 m/min").replace("room.std", "../room.std"),
    );
    let asked = [
        "room.std", "next.std", "--plans", "orders", "--as", "markdown",
    ];
    let out = diff(&folder, &asked).exits(CLEAN).out;
    // Fences of ours are longer than any run of ticks inside; outside of them no markup is left.
    let mut fence: Option<String> = None;
    for line in out.lines() {
        let ticks: String = line
            .trim_start()
            .chars()
            .take_while(|sign| *sign == '`')
            .collect();
        match &fence {
            Some(open) if *open == line.trim() => fence = None,
            Some(_) => continue,
            None if ticks.len() >= 3 => fence = Some(ticks),
            None => {
                for markup in ["<script", "<img", "<!--", "javascript:y)"] {
                    let plain = outside_ticks(line);
                    assert!(!plain.contains(markup), "{markup}: {line}");
                }
            }
        }
    }
    assert!(fence.is_none(), "{out}");
}

/// A line without what stands between equal runs of ticks.
fn outside_ticks(line: &str) -> String {
    let (mut rest, mut plain) = (line, String::new());
    while let Some(at) = rest.find('`') {
        plain.push_str(&rest[..at]);
        let ticks: String = rest[at..].chars().take_while(|sign| *sign == '`').collect();
        let inside = &rest[at + ticks.len()..];
        match closes(inside, ticks.len()) {
            Some(end) => rest = &inside[end..],
            None => {
                plain.push_str(&ticks);
                rest = inside;
            }
        }
    }
    plain + rest
}

/// Where the first run of exactly so many ticks ends.
fn closes(text: &str, ticks: usize) -> Option<usize> {
    let mut at = 0;
    while let Some(found) = text[at..].find('`') {
        let start = at + found;
        let run = text[start..]
            .chars()
            .take_while(|sign| *sign == '`')
            .count();
        if run == ticks {
            return Some(start + run);
        }
        at = start + run;
    }
    None
}
