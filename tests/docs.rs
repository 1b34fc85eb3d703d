//! The README's tour is run as it stands: its files are written, its edits made, its commands run,
//! and what they print must be what is printed there.
//!
//! What is shown of the specs is what they say, and of the demo room what the program prints of it.
//!
//! `STRIKEOFF_DOCS=write` writes the outputs into the README instead.

use std::path::{Path, PathBuf};
use std::process::Command;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// A fenced block with the mark that stands before it.
struct Block {
    mark: String,
    /// Lines of the block, fences not included.
    body: Vec<String>,
    /// Index of the first line of the body.
    start: usize,
}

/// All marks, and blocks with a mark, in order.
fn read(readme: &str) -> Vec<Block> {
    let lines: Vec<&str> = readme.lines().collect();
    let mut found = Vec::new();
    for (index, line) in lines.iter().enumerate() {
        let Some(mark) = line
            .strip_prefix("<!-- ")
            .and_then(|rest| rest.strip_suffix(" -->"))
        else {
            continue;
        };
        let mut body = Vec::new();
        let mut start = index + 1;
        if lines
            .get(index + 1)
            .is_some_and(|next| next.starts_with("```"))
        {
            start = index + 2;
            body = lines[start..]
                .iter()
                .take_while(|line| !line.starts_with("```"))
                .map(|line| (*line).to_owned())
                .collect();
        }
        found.push(Block {
            mark: mark.to_owned(),
            body,
            start,
        });
    }
    found
}

fn fresh(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

/// Runs `$ strikeoff …` in a folder; what it prints, and its exit code.
fn run(line: &str, folder: &Path) -> (String, i32) {
    let words: Vec<&str> = line.split_whitespace().collect();
    assert_eq!(words[..2], ["$", "strikeoff"], "{line}");
    let output = Command::new(env!("CARGO_BIN_EXE_strikeoff"))
        .args(&words[2..])
        .current_dir(folder)
        .env("COLUMNS", "100")
        .env("NO_COLOR", "1")
        .output()
        .unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    (text, output.status.code().unwrap())
}

/// `from TEXT to TEXT`: the lines from the first that starts so up to the next, and a mark for what is left out.
fn part_of(text: &str, part: &str) -> Vec<String> {
    let (from, to) = part
        .strip_prefix("from ")
        .and_then(|rest| rest.split_once(" to "))
        .unwrap();
    let lines: Vec<&str> = text.lines().collect();
    let find = |start: usize, words: &str| {
        let found = lines[start..]
            .iter()
            .position(|line| line.starts_with(words));
        start + found.unwrap_or_else(|| panic!("no line starts with `{words}`"))
    };
    let first = find(0, from);
    let last = find(first, to);
    let mut shown: Vec<String> = lines[first..last]
        .iter()
        .map(|line| line.trim_end().to_owned())
        .collect();
    shown.push("[…]".to_owned());
    shown
}

#[test]
fn the_tour_is_true() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    let readme = std::fs::read_to_string(&path).unwrap();
    let folder = fresh("tour");
    let mut lines: Vec<String> = readme.lines().map(str::to_owned).collect();
    let mut commands = 0;
    // From the end, so that lines written do not move those still to come: outputs first in order.
    let mut outputs: Vec<(usize, usize, Vec<String>)> = Vec::new();
    for block in read(&readme) {
        if let Some(name) = block.mark.strip_prefix("file: ") {
            std::fs::write(folder.join(name), block.body.join("\n") + "\n").unwrap();
        } else if let Some(name) = block.mark.strip_prefix("spec: ") {
            let text = std::fs::read_to_string(format!("{ROOT}/specs/{name}")).unwrap();
            outputs.push((
                block.start,
                block.start + block.body.len(),
                text.lines().map(str::to_owned).collect(),
            ));
        } else if let Some(edit) = block.mark.strip_prefix("edit: ") {
            let (name, change) = edit.split_once(": ").unwrap();
            let (from, to) = change.split_once(" => ").unwrap();
            let text = std::fs::read_to_string(folder.join(name)).unwrap();
            assert_eq!(
                text.matches(from).count(),
                1,
                "`{from}` stands once in {name}"
            );
            std::fs::write(folder.join(name), text.replace(from, to)).unwrap();
        } else if let Some(wanted) = block.mark.strip_prefix("room: exit ") {
            // On the demo room, from the top of the project; of long output the lines up to a text.
            let (code, part) = wanted.split_once(", ").unwrap();
            let (text, status) = run(&block.body[0], Path::new(ROOT));
            assert_eq!(status.to_string(), code, "{}", block.body[0]);
            outputs.push((
                block.start + 1,
                block.start + block.body.len(),
                part_of(&text, part),
            ));
        } else if let Some(wanted) = block.mark.strip_prefix("run: exit ") {
            commands += 1;
            let (code, only) = match wanted.split_once(", only: ") {
                Some((code, only)) => (code, Some(only)),
                None => (wanted, None),
            };
            let (text, status) = run(&block.body[0], &folder);
            assert_eq!(status.to_string(), code, "{}", block.body[0]);
            let shown: Vec<String> = text
                .lines()
                .filter(|line| only.is_none_or(|only| line.contains(only)))
                .map(|line| line.trim_end().to_owned())
                .collect();
            assert!(!shown.is_empty(), "{} prints nothing", block.body[0]);
            let end = block.start + block.body.len();
            outputs.push((block.start + 1, end, shown));
        }
    }
    assert!(commands >= 4, "the tour has only {commands} commands");
    for (start, end, shown) in outputs.into_iter().rev() {
        lines.splice(start..end, shown);
    }
    let written = lines.join("\n") + "\n";
    if std::env::var("STRIKEOFF_DOCS").as_deref() == Ok("write") {
        std::fs::write(&path, written).unwrap();
        return;
    }
    assert!(
        written == readme,
        "the README shows other outputs; STRIKEOFF_DOCS=write cargo test --test all docs:: puts them right"
    );
}

/// The two commands stand where a newcomer looks, and their files are there.
#[test]
fn the_two_commands_come_first() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let readme = std::fs::read_to_string(root.join("README.md")).unwrap();
    let first = readme.find("cargo run -- check demo-data").unwrap();
    let second = readme.find("\ncargo test\n").unwrap();
    assert!(first < second && second < readme.find("\n## ").unwrap());
    for name in [
        "demo-data",
        "grammar/README.md",
        "DEVELOPERS.md",
        ".licences/MIT.txt",
        ".licences/Apache-2.0.txt",
    ] {
        assert!(root.join(name).exists(), "{name}");
    }
}

/// The walks in DEVELOPERS.md lead through files and functions that are there.
#[test]
fn the_walks_lead_somewhere() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(root.join("DEVELOPERS.md")).unwrap();
    let walks = text.split("### A walk").skip(1);
    let mut steps = 0;
    for walk in walks {
        let walk = walk.split("\n## ").next().unwrap();
        for quoted in walk.split('`').skip(1).step_by(2) {
            let Some((file, function)) = quoted.split_once(": ") else {
                continue;
            };
            if !file.starts_with("src/") {
                continue;
            }
            let source = std::fs::read_to_string(root.join(file)).unwrap_or_default();
            let there = [format!("fn {function}("), format!("fn {function}<")];
            assert!(
                there.iter().any(|start| source.contains(start.as_str())),
                "DEVELOPERS.md sends a reader to `{function}` in {file}"
            );
            steps += 1;
        }
    }
    assert!(steps >= 20, "the walks have only {steps} steps");
}
