//! The command itself: exit codes, files, standard input.

use std::path::PathBuf;
use std::process::{Command, Output};

const STANDARD: &str = r#"standard "Bench" edition "1"

kind oven, one to a run "the tunnel" {
  chamber   length from 0.3 m to 15 m                     "heated length" given
  belt      speed from 0.05 m/min to 20 m/min             "speed of the belt" set in steps of 0.1 m/min
  lamps     count of lamps from 0 to 9                    "lamps" set
  dwell     time from 1 s to 7200 s = chamber / belt      "time under heat"
}

rule slow "heated slowly" {
  shall     oven.dwell at least 60 s
  per       practice
}

rule lit {
  shall     oven.lamps at least 1
  per       practice
}
"#;

const PLAN: &str = "run \"a\" against \"room.std\"\n\noven {\n  chamber  2.44 m\n  belt     3 m/min ± 5 %\n  lamps    2\n}\n";

struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("window-{}-{name}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        std::fs::write(path.join("room.std"), STANDARD).unwrap();
        std::fs::write(path.join("a.plan"), PLAN).unwrap();
        std::fs::write(
            path.join("dark.plan"),
            PLAN.replace("lamps    2", "lamps    0"),
        )
        .unwrap();
        Self(path)
    }

    fn run(&self, arguments: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_strikeoff"))
            .current_dir(&self.0)
            .args(arguments)
            .output()
            .unwrap()
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
fn exit_codes_tell_a_window_from_none_and_from_trouble() {
    let folder = Folder::new("codes");
    let shown = folder.run(&["window", "a.plan", "--free", "oven.belt"]);
    assert_eq!(said(&shown), (0, String::new()));
    let text = String::from_utf8(shown.stdout).unwrap();
    assert!(text.contains("0.1 to 2.3 m/min on the dial"), "{text}");
    // Nothing in this range holds; and where another rule fails anyhow, the run does not pass.
    let none = folder.run(&["window", "a.plan", "--free", "oven.belt 3 to 4 m/min"]);
    assert_eq!(said(&none), (1, String::new()));
    let dark = folder.run(&["window", "dark.plan", "--free", "oven.belt"]);
    assert_eq!(said(&dark), (1, String::new()));
    let text = String::from_utf8(dark.stdout).unwrap();
    assert!(
        text.contains("does not pass whatever `oven.belt` is set to"),
        "{text}"
    );
    let (code, words) = said(&folder.run(&["window", "a.plan", "--free", "oven.bet"]));
    assert_eq!(code, 2);
    assert!(words.contains("did you mean `oven.belt`?"), "{words}");
    let (code, words) = said(&folder.run(&["window", "b.plan", "--free", "oven.belt"]));
    assert_eq!(code, 2);
    assert!(words.contains("there is no file `b.plan`"), "{words}");
    let (code, words) = said(&folder.run(&["window", "room.std", "--free", "oven.belt"]));
    assert_eq!(code, 2);
    assert!(words.contains("`room.std` is a standard"), "{words}");
}

#[test]
fn the_picture_is_written_as_svg_or_as_a_page() {
    let folder = Folder::new("picture");
    for (file, start) in [("out.svg", "<svg"), ("out.html", "<!DOCTYPE html>")] {
        let arguments = ["window", "a.plan", "--free", "oven.belt", "--picture", file];
        assert_eq!(said(&folder.run(&arguments)), (0, String::new()));
        let text = std::fs::read_to_string(folder.0.join(file)).unwrap();
        assert!(text.starts_with(start), "{text}");
    }
    let arguments = [
        "window",
        "a.plan",
        "--free",
        "oven.belt",
        "--picture",
        "no/no.svg",
    ];
    let (code, words) = said(&folder.run(&arguments));
    assert_eq!(code, 2);
    assert!(words.contains("cannot be written"), "{words}");
}

#[test]
fn json_and_its_schema_are_printed() {
    let folder = Folder::new("json");
    let shown = folder.run(&["window", "a.plan", "--free", "oven.belt", "--as", "json"]);
    let value: serde_json::Value = serde_json::from_slice(&shown.stdout).unwrap();
    assert_eq!(
        value["settings"][0]["stretches"][0]["high"]["exact"],
        "244/105"
    );
    let schema = folder.run(&["schema", "window"]);
    let schema: serde_json::Value = serde_json::from_slice(&schema.stdout).unwrap();
    assert_eq!(schema["title"], "Strikeoff window, version 1");
}

#[test]
fn what_is_wrong_with_the_call_is_said_without_a_place_in_a_file() {
    let folder = Folder::new("calls");
    let range = "oven.belt 4 to 1 m/min";
    let (code, words) = said(&folder.run(&["window", "a.plan", "--free", range]));
    assert_eq!(code, 2);
    assert_eq!(
        words,
        "strikeoff: `--free`: the lower end of `belt` lies above its upper end\n"
    );
    let arguments = [
        "window",
        "a.plan",
        "--free",
        "oven.belt",
        "--picture",
        "out.png",
    ];
    let (code, words) = said(&folder.run(&arguments));
    assert_eq!(code, 2);
    assert!(words.contains("an `.svg` or a page, `.html`"), "{words}");
    assert!(!folder.0.join("out.png").exists());
    let (_, words) = said(&folder.run(&["window", "b.plan", "--free", "oven.belt"]));
    assert!(!words.contains("strikeoff check"), "{words}");
}
