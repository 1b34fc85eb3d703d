//! What the code promises of itself: which way imports run, what stands where, how long files are.

use std::fs;
use std::path::{Path, PathBuf};

use strikeoff::diagnostic::Code;

/// Modules by row; a module imports only from lower rows, and modules of one row do not see each other.
const ROWS: &[&[&str]] = &[
    &["source", "units", "interval"],
    &["diagnostic", "physics"],
    &["syntax"],
    &["names", "format"],
    &["types"],
    &["eval"],
    &["constraint"],
    &["check"],
    &["review"],
    &["window", "diff"],
    &["report", "editor"],
    &["session"],
    &["cli", "lsp", "web"],
];

/// Rows further down that a module may not see all the same: numbers in, numbers out.
const BLIND: &[(&str, &[&str])] = &[
    ("units", &["source", "diagnostic"]),
    ("interval", &["source", "diagnostic"]),
    ("physics", &["source", "diagnostic"]),
    // A view shows a diagnostic and adds nothing to it.
    (
        "report",
        &["syntax", "names", "types", "eval", "check", "format"],
    ),
];

/// Packages, and the only places that may name them.
const PACKAGES: &[(&str, &[&str])] = &[
    (
        "pest",
        &["syntax/grammar.rs", "syntax/build/", "syntax/failure.rs"],
    ),
    ("pest_derive", &["syntax/grammar.rs"]),
    ("miette", &["report/person.rs"]),
    ("codespan_reporting", &["report/log.rs"]),
    ("clap", &["cli/"]),
    ("serde", &["report/"]),
    ("serde_json", &["report/"]),
    ("schemars", &["report/"]),
    ("quick_xml", &["report/junit_document.rs"]),
    ("sha2", &["types/digest.rs", "report/identity.rs"]),
    ("anstream", &["cli/"]),
    ("terminal_size", &["cli/"]),
];

/// What only the command line may do.
const OUTSIDE_WORLD: &[&str] = &[
    "std::fs",
    "std::env",
    "std::process",
    "std::net",
    "println!",
    "print!(",
    "eprint",
    "io::stdout",
    "io::stderr",
    "SystemTime",
    "Instant::now",
];

/// What no line of code may hold.
const FORBIDDEN: &[&str] = &[
    "dbg!(",
    "todo!(",
    "unimplemented!(",
    "FIXME",
    "XXX",
    "TODO",
    // Joined here, so that this list is no finding itself.
    concat!("/", "work/"),
    "/tmp/",
    "/home/",
    "/root/",
];

/// Words of the trade. The engine knows kinds, settings and rules, but none of these.
///
/// Outside `physics/`, such a word may stand in a comment, and inside a longer text as an example of
/// how something is written. It may not be a name in the code, nor a text by itself: that is how
/// an engine would ask for it.
const TRADE: &[&str] = &[
    "garment",
    "fabric",
    "polyester",
    "cotton",
    "mesh",
    "plastisol",
    "ink",
    "inks",
    "screen",
    "squeegee",
    "stencil",
    "emulsion",
    "dryer",
    "tunnel",
    "belt",
    "dwell",
    "flash",
    "pallet",
    "film",
    "strokes",
    "bleed",
    "cure",
];

/// Texts that are a word of the trade by themselves all the same: names of files that ship.
const NAMES_OF_FILES: &[(&str, &str)] = &[("names/shipped.rs", "inks")];

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// All Rust files below a folder: path below it with forward slashes, and text.
fn sources(folder: &str) -> Vec<(String, String)> {
    fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, found);
            } else if path.extension().is_some_and(|end| end == "rs") {
                found.push(path);
            }
        }
    }
    let folder = root().join(folder);
    let mut paths = Vec::new();
    walk(&folder, &mut paths);
    paths.sort();
    let read = |path: &PathBuf| {
        let name = path.strip_prefix(&folder).unwrap().to_str().unwrap();
        (name.replace('\\', "/"), fs::read_to_string(path).unwrap())
    };
    paths.iter().map(read).collect()
}

/// The code of a line: no comment, no documentation.
fn code(line: &str) -> &str {
    let line = line.trim_start();
    if line.starts_with("//") { "" } else { line }
}

/// The lines of a file before its tests.
fn own_lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let lines = text
        .lines()
        .enumerate()
        .map(|(index, line)| (index + 1, line));
    lines.take_while(|(_, line)| line.trim() != "#[cfg(test)]")
}

/// The words of a line as a reader would part them.
fn words(line: &str) -> impl Iterator<Item = &str> {
    line.split(|letter: char| !letter.is_alphanumeric())
}

fn report(wrong: &[String]) {
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

fn row(module: &str) -> Option<usize> {
    ROWS.iter().position(|row| row.contains(&module))
}

/// `main.rs` lists the modules; a file that is not listed would compile into nothing and test nothing.
#[test]
fn every_test_file_is_in_the_one_binary() {
    let files = sources("tests");
    let text = |path: &str| files.iter().find(|(known, _)| known == path);
    let mut wrong = Vec::new();
    for (path, _) in &files {
        if path == "main.rs" || path.starts_with("fuzz/") {
            continue;
        }
        let module = path.trim_end_matches(".rs").trim_end_matches("/mod");
        let (folder, name) = module.rsplit_once('/').unwrap_or(("", module));
        let parents = match folder {
            "" => vec!["main.rs".to_owned()],
            _ => vec![format!("{folder}/mod.rs"), format!("{folder}.rs")],
        };
        let parent = parents.iter().find_map(|path| text(path));
        let inside = files
            .iter()
            .filter(|(known, _)| !folder.is_empty() && known.starts_with(&format!("{folder}/")));
        let mut listed = parent.into_iter().chain(inside);
        let statement = format!("mod {name};");
        if !listed.any(|(_, text)| text.lines().any(|line| line.trim() == statement)) {
            wrong.push(format!(
                "tests/{path}: no `{statement}` in tests/{}",
                parents[0]
            ));
        }
    }
    report(&wrong);
    let manifest = fs::read_to_string(root().join("Cargo.toml")).unwrap();
    assert_eq!(manifest.matches("[[test]]").count(), 1);
}

/// A clock tells of the machine and of what else runs on it; tests count work.
#[test]
fn tests_look_at_no_clock() {
    let mut wrong = Vec::new();
    for (path, text) in sources("tests") {
        for (number, line) in text.lines().enumerate() {
            let clock = ["Instant", "SystemTime"];
            if path != "tidy.rs" && words(code(line)).any(|word| clock.contains(&word)) {
                wrong.push(format!("tests/{path}:{}: a clock", number + 1));
            }
        }
    }
    report(&wrong);
}

#[test]
fn imports_run_downwards() {
    let mut wrong = Vec::new();
    for (path, text) in sources("src") {
        let Some((module, _)) = path.split_once('/') else {
            continue;
        };
        let Some(own) = row(module) else {
            wrong.push(format!("{path}: `{module}` stands in no row"));
            continue;
        };
        for (number, line) in text.lines().enumerate() {
            for after in code(line).split("crate::").skip(1) {
                let end = after
                    .find(|letter: char| !letter.is_alphanumeric() && letter != '_')
                    .unwrap_or(after.len());
                let used = &after[..end];
                if used == module || used.is_empty() {
                    continue;
                }
                let blind = BLIND
                    .iter()
                    .any(|(from, not)| *from == module && not.contains(&used));
                let below = row(used).is_some_and(|row| row < own);
                if !below || blind {
                    wrong.push(format!("{path}:{}: `{module}` uses `{used}`", number + 1));
                }
            }
        }
    }
    report(&wrong);
}

#[test]
fn modules_do_not_reach_upwards_by_super() {
    let mut wrong = Vec::new();
    for (path, text) in sources("src") {
        // How many `super::` lead to the crate itself.
        let file = path.rsplit('/').next().unwrap();
        let depth = path.matches('/').count() + usize::from(file != "mod.rs");
        for (number, line) in text.lines().enumerate() {
            let chain = "super::".repeat(depth.max(1));
            let inner = text[..text.find(line).unwrap_or(0)].contains("#[cfg(test)]");
            if depth > 0 && !inner && code(line).contains(&chain) && path.contains('/') {
                wrong.push(format!("{path}:{}: write `crate::…`", number + 1));
            }
        }
    }
    report(&wrong);
}

#[test]
fn packages_stay_in_their_places() {
    let mut wrong = Vec::new();
    for (path, text) in sources("src") {
        for (number, line) in text.lines().enumerate() {
            for (package, places) in PACKAGES {
                let starts = [format!("use {package}::"), format!("{package}::")];
                let named = starts.iter().any(|start| {
                    code(line).match_indices(start.as_str()).any(|(at, _)| {
                        let before = code(line)[..at].chars().next_back();
                        !before.is_some_and(|letter| {
                            letter.is_alphanumeric() || letter == '_' || letter == ':'
                        })
                    })
                });
                if named && !places.iter().any(|place| path.starts_with(place)) {
                    wrong.push(format!("{path}:{}: `{package}`", number + 1));
                }
            }
        }
    }
    report(&wrong);
}

#[test]
fn only_the_command_line_meets_the_world() {
    let mut wrong = Vec::new();
    for (path, text) in sources("src") {
        if path.starts_with("cli/") || path == "main.rs" {
            continue;
        }
        for (number, line) in text.lines().enumerate() {
            for word in OUTSIDE_WORLD {
                if code(line).contains(word) {
                    wrong.push(format!("{path}:{}: `{word}`", number + 1));
                }
            }
        }
    }
    report(&wrong);
}

#[test]
fn files_are_short_and_say_what_they_are() {
    let mut wrong = Vec::new();
    for folder in ["src", "tests", "benches"] {
        for (path, text) in sources(folder) {
            if !text.starts_with("//! ") {
                wrong.push(format!("{folder}/{path}: starts without a `//!` head"));
            }
            let lines = text.lines().count();
            if lines > 800 {
                wrong.push(format!("{folder}/{path}: {lines} lines, 800 at most"));
            }
            let name = path.rsplit('/').next().unwrap();
            if ["utils.rs", "util.rs", "helpers.rs", "common.rs", "misc.rs"].contains(&name) {
                wrong.push(format!("{folder}/{path}: a name that says nothing"));
            }
        }
    }
    report(&wrong);
}

#[test]
fn no_forbidden_words() {
    let mut wrong = Vec::new();
    for folder in ["src", "tests", "benches"] {
        for (path, text) in sources(folder) {
            if folder == "tests" && path == "tidy.rs" {
                continue;
            }
            for (number, line) in text.lines().enumerate() {
                for word in FORBIDDEN {
                    if line.contains(word) {
                        wrong.push(format!("{folder}/{path}:{}: `{word}`", number + 1));
                    }
                }
            }
        }
    }
    report(&wrong);
}

/// The texts of a file, and its code with texts and comments taken out.
fn parted(text: &str) -> (Vec<String>, String) {
    let (mut texts, mut bare) = (Vec::new(), String::new());
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        if rest.starts_with("//") {
            rest = &rest[rest.find('\n').unwrap_or(rest.len())..];
        } else if let Some(inner) = ["'\"'", "'\\\"'"]
            .iter()
            .find(|quote| rest.starts_with(**quote))
        {
            rest = &rest[inner.len()..];
        } else if first == '"' {
            let mut escaped = false;
            let end = rest.char_indices().skip(1).find(|(_, letter)| {
                let ends = *letter == '"' && !escaped;
                escaped = *letter == '\\' && !escaped;
                ends
            });
            let end = end.map_or(rest.len(), |(at, _)| at + 1);
            texts.push(rest[1..end.max(2) - 1].to_owned());
            bare.push(' ');
            rest = &rest[end..];
        } else {
            bare.push(first);
            rest = &rest[first.len_utf8()..];
        }
    }
    (texts, bare)
}

#[test]
fn the_engine_knows_no_word_of_the_trade() {
    let mut wrong = Vec::new();
    for (path, text) in sources("src") {
        if path.starts_with("physics/") {
            continue;
        }
        let own: String = own_lines(&text)
            .map(|(_, line)| format!("{line}\n"))
            .collect();
        let (texts, bare) = parted(&own);
        let name = |word: &&str| TRADE.contains(word);
        for word in words(&bare).flat_map(|word| word.split('_')).filter(name) {
            wrong.push(format!("{path}: `{word}` is a name in the code"));
        }
        for text in &texts {
            let asked_for = TRADE.contains(&text.trim_matches('`'))
                && !NAMES_OF_FILES.contains(&(path.as_str(), text.as_str()));
            if asked_for {
                wrong.push(format!("{path}: the text \"{text}\""));
            }
        }
    }
    report(&wrong);
}

#[test]
fn every_code_is_explained() {
    let mut wrong = Vec::new();
    for code in Code::ALL {
        let slug = code.slug();
        let explained = code.explanation();
        let sentences = explained.text.matches(['.', '?']).count();
        if sentences < 2 {
            wrong.push(format!("{slug}: {sentences} sentence"));
        }
        let summary = explained.summary;
        let capital = summary.chars().next().is_some_and(char::is_uppercase);
        if capital || summary.ends_with('.') || summary.is_empty() {
            wrong.push(format!(
                "{slug}: a summary is lower case without a full stop"
            ));
        }
        let kebab = slug
            .bytes()
            .all(|byte| byte.is_ascii_lowercase() || byte == b'-' || byte.is_ascii_digit());
        if !kebab || Code::from_slug(slug) != Some(*code) {
            wrong.push(format!("{slug}: no name of its own in kebab case"));
        }
        for line in explained.text.lines() {
            if line.trim().is_empty() {
                wrong.push(format!("{slug}: an empty line in its explanation"));
            }
        }
    }
    report(&wrong);
}

#[test]
fn every_code_is_used() {
    let all = sources("src");
    let table = &all
        .iter()
        .find(|(path, _)| path == "diagnostic/code.rs")
        .unwrap()
        .1;
    let mut wrong = Vec::new();
    for code in Code::ALL {
        let row = format!(" = \"{}\",", code.slug());
        let line = table.lines().find(|line| line.contains(&row)).unwrap();
        let variant = line.trim().split(' ').next().unwrap();
        let named = format!("Code::{variant}");
        let used = all.iter().any(|(_, text)| {
            text.match_indices(&named).any(|(at, _)| {
                let after = text[at + named.len()..].chars().next();
                !after.is_some_and(char::is_alphanumeric)
            })
        });
        if !used {
            wrong.push(format!("{}: nothing says it", code.slug()));
        }
    }
    report(&wrong);
}
