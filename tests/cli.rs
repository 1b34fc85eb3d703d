//! The program itself: arguments, exit codes, streams and the disk.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::fs;
use std::io::{Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

const CLEAN: i32 = 0;
const FINDINGS: i32 = 1;
const TROUBLE: i32 = 2;

const STANDARD: &str = r#"standard "A room" edition "1"

kind dryer, one to a run "a tunnel" {
  chamber  length from 0.3 m to 15 m    "heated length"
  belt     speed from 0.05 to 20 m/min  "belt speed"  step 0.05 m/min
  dwell    time = chamber / belt        "time under heat"
}

rule slow "heated slowly" {
  shall    dryer.dwell at least 60 s
  per      practice
  adjust   dryer.belt
}
"#;

fn plan_with(belt: &str) -> String {
    format!(
        "run \"An order\" against \"room.std\"\n\ndryer {{\n  chamber  2.44 m\n  belt     {belt}\n}}\n"
    )
}

/// A folder of its own for one test.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("cli-{name}"));
        let _ = fs::remove_dir_all(&path);
        fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    /// The folder with the standard and plans that hold, break and are at risk.
    fn room(name: &str) -> Self {
        let folder = Self::new(name);
        folder.put("room.std", STANDARD);
        folder.put("holds.plan", plan_with("2 m/min"));
        folder.put("breaks.plan", plan_with("3 m/min ± 5 %"));
        folder.put("risk.plan", plan_with("2.4 m/min ± 5 %"));
        folder
    }

    fn put(&self, name: &str, text: impl AsRef<[u8]>) {
        let path = self.0.join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_strikeoff"));
        command
            .current_dir(&self.0)
            .args(arguments)
            .env_remove("NO_COLOR")
            .env_remove("CLICOLOR_FORCE")
            .stdin(Stdio::null());
        command
    }

    fn run(&self, arguments: &[&str]) -> Ran {
        Ran::of(self.command(arguments).output().unwrap())
    }

    fn check(&self, arguments: &[&str]) -> Ran {
        self.run(&[&["check", "--on", "2026-11-25"], arguments].concat())
    }

    fn piped(&self, arguments: &[&str], text: &[u8]) -> Ran {
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

struct Ran {
    code: i32,
    out: String,
    err: String,
}

impl Ran {
    fn of(output: Output) -> Self {
        Self {
            code: output.status.code().expect("ended by itself"),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }

    #[track_caller]
    fn exits(self, code: i32) -> Self {
        assert_eq!(self.code, code, "{}\n{}", self.out, self.err);
        self
    }

    #[track_caller]
    fn says(self, words: &str) -> Self {
        assert!(
            self.out.contains(words),
            "`{words}` is not in\n{}",
            self.out
        );
        self
    }
}

// ── Exit codes ──────────────────────────────────────────────────────────────────────────────────

#[test]
fn a_run_that_holds_exits_with_0() {
    let folder = Folder::room("holds");
    folder.check(&["holds.plan"]).exits(CLEAN).says("passes");
}

#[test]
fn a_broken_shall_exits_with_1() {
    let folder = Folder::room("breaks");
    folder
        .check(&["breaks.plan"])
        .exits(FINDINGS)
        .says("error[breaks]: `dryer.dwell` is 46.4 to 51.4 s");
}

#[test]
fn at_risk_exits_with_1_unless_allowed() {
    let folder = Folder::room("risk");
    folder.check(&["risk.plan"]).exits(FINDINGS);
    folder
        .check(&["risk.plan", "--allow-risk"])
        .exits(CLEAN)
        .says("warning[at-risk]");
    folder
        .check(&["breaks.plan", "--allow-risk"])
        .exits(FINDINGS);
}

#[test]
fn a_missing_value_exits_with_1() {
    let folder = Folder::room("missing-value");
    folder.put("short.plan", "run \"An order\" against \"room.std\"\n");
    folder
        .check(&["short.plan"])
        .exits(FINDINGS)
        .says("error[not-stated]");
}

#[test]
fn a_should_that_breaks_exits_with_0() {
    let folder = Folder::room("should");
    folder.put("room.std", STANDARD.replace("shall ", "should"));
    folder
        .check(&["breaks.plan"])
        .exits(CLEAN)
        .says("warning[breaks]");
}

#[test]
fn stated_against_worked_out_exits_with_1() {
    let folder = Folder::room("disagrees");
    let plan = plan_with("2 m/min").replace("2 m/min\n", "2 m/min\n  dwell    65 s\n");
    folder.put("order.plan", plan);
    folder
        .check(&["order.plan"])
        .exits(FINDINGS)
        .says("error[disagrees]");
}

#[test]
fn trouble_with_a_text_exits_with_2() {
    let folder = Folder::room("trouble");
    folder.put("order.plan", plan_with("2 m/mn"));
    folder
        .check(&["order.plan"])
        .exits(TROUBLE)
        .says("not checked");
    // Also when other plans are checked, and one of them breaks.
    folder
        .check(&["order.plan", "breaks.plan", "holds.plan"])
        .exits(TROUBLE)
        .says("2 plans checked, 1 not checked");
}

#[test]
fn a_standard_by_itself_is_checked() {
    let folder = Folder::room("standard");
    folder.check(&["room.std"]).exits(CLEAN);
    folder.put("bad.std", STANDARD.replace("dryer.dwell", "dryer.dwel"));
    folder
        .check(&["bad.std"])
        .exits(TROUBLE)
        .says("did you mean `dwell`?");
}

#[test]
fn a_warning_about_a_standard_exits_with_0() {
    let folder = Folder::room("warning");
    folder.put("room.std", STANDARD.replace("  per      practice\n", ""));
    folder
        .check(&["holds.plan"])
        .exits(CLEAN)
        .says("warning[no-source]");
}

#[test]
fn a_standard_without_a_rule_checks_nothing() {
    let folder = Folder::room("no-rules");
    let (kinds, _) = STANDARD.split_once("rule ").unwrap();
    folder.put("room.std", kinds);
    folder
        .check(&["holds.plan"])
        .exits(TROUBLE)
        .says("not checked");
}

#[test]
fn wrong_arguments_exit_with_2() {
    let folder = Folder::room("arguments");
    for arguments in [
        &["check"][..],
        &["check", "holds.plan", "--as", "poem"],
        &["check", "holds.plan", "--on", "25.11.2026"],
        &["check", "holds.plan", "--on", "2026-02-30"],
        &["check", "holds.plan", "--root", "nowhere"],
        &["chek", "holds.plan"],
        &["explain", "no-such-code"],
    ] {
        let ran = folder.run(arguments).exits(TROUBLE);
        assert!(!ran.err.is_empty(), "{arguments:?}");
        assert_eq!(ran.out, "", "{arguments:?}");
    }
}

// ── Paths ───────────────────────────────────────────────────────────────────────────────────────

#[test]
fn a_path_that_is_not_there() {
    let folder = Folder::room("not-there");
    folder
        .check(&["hold.plan"])
        .exits(TROUBLE)
        .says("error[file-missing]: there is no file `hold.plan`")
        .says("did you mean `holds.plan`?");
    folder.check(&["orders"]).exits(TROUBLE).says("orders");
    folder.check(&["notes.txt"]).exits(TROUBLE);
}

#[test]
fn a_folder_is_searched_and_each_path_is_taken_once() {
    let folder = Folder::room("folders");
    folder.put(
        "orders/may/order.plan",
        plan_with("2 m/min").replace("room.std", "../../room.std"),
    );
    folder.put("orders/.hidden/order.plan", "nonsense");
    folder.put("orders/notes.txt", "nonsense");
    folder
        .check(&["orders"])
        .exits(CLEAN)
        .says("1 plan checked, 0 not checked");
    folder
        .check(&[
            "orders",
            "orders/may",
            "orders/may/order.plan",
            "holds.plan",
        ])
        .exits(CLEAN)
        .says("2 plans checked, 0 not checked");
    folder
        .check(&["."])
        .exits(FINDINGS)
        .says("4 plans checked, 0 not checked");
}

#[test]
fn folders_without_a_plan_or_a_standard() {
    let folder = Folder::room("empty-folder");
    fs::create_dir(folder.0.join("empty")).unwrap();
    folder
        .check(&["empty"])
        .exits(TROUBLE)
        .says("error[nothing-to-check]");
    folder.put("order.txt", plan_with("2 m/min"));
    folder
        .check(&["order.txt"])
        .exits(TROUBLE)
        .says("error[nothing-to-check]: `order.txt` is neither a plan nor a standard");
}

#[test]
fn a_folder_with_the_name_of_a_file() {
    let folder = Folder::room("folder-for-a-file");
    fs::create_dir(folder.0.join("room2.std")).unwrap();
    folder.put(
        "order.plan",
        plan_with("2 m/min").replace("room.std", "room2.std"),
    );
    folder
        .check(&["order.plan"])
        .exits(TROUBLE)
        .says("error[file-is-folder]");
}

#[test]
fn another_standard_for_all_plans() {
    let folder = Folder::room("other-standard");
    folder.put("strict.std", STANDARD.replace("60 s", "90 s"));
    folder
        .check(&["holds.plan", "--standard", "strict.std"])
        .exits(FINDINGS)
        .says("at least 90 s");
    folder
        .check(&["holds.plan", "--standard", "nowhere.std"])
        .exits(TROUBLE)
        .says("there is no file `nowhere.std`");
}

#[test]
fn a_standard_outside_the_root_is_not_read() {
    let folder = Folder::room("root");
    folder.put(
        "orders/order.plan",
        plan_with("2 m/min").replace("room.std", "../room.std"),
    );
    folder
        .check(&["orders/order.plan", "--root", "orders"])
        .exits(TROUBLE)
        .says("error[path-leaves]");
    folder
        .check(&["orders/order.plan", "--root", "."])
        .exits(CLEAN);
    folder.put("secret.std", "the secret is out");
    folder.put(
        "orders/order.plan",
        plan_with("2 m/min").replace("room.std", "../../../../../../../../etc/passwd"),
    );
    let ran = folder.check(&["orders/order.plan"]).exits(TROUBLE);
    assert!(ran.out.contains("error[path-leaves]"), "{}", ran.out);
    assert!(!ran.out.contains("root:"));
}

#[cfg(unix)]
#[test]
fn a_link_that_leaves_is_not_followed() {
    let folder = Folder::room("link");
    let outside = Folder::new("link-outside");
    outside.put("secret.std", "secret \"words\"\n");
    std::os::unix::fs::symlink(outside.0.join("secret.std"), folder.0.join("link.std")).unwrap();
    folder.put(
        "order.plan",
        plan_with("2 m/min").replace("room.std", "link.std"),
    );
    let ran = folder.check(&["order.plan"]).exits(TROUBLE);
    assert!(ran.out.contains("error[path-leaves]"), "{}", ran.out);
    assert!(!ran.out.contains("secret \"words\""));
    // A circle of links ends.
    std::os::unix::fs::symlink(&folder.0, folder.0.join("round")).unwrap();
    fs::remove_file(folder.0.join("link.std")).unwrap();
    fs::remove_file(folder.0.join("order.plan")).unwrap();
    folder.check(&["."]).exits(FINDINGS);
}

#[cfg(unix)]
#[test]
fn a_pipe_for_a_file_does_not_hang() {
    let folder = Folder::room("fifo");
    let made = Command::new("mkfifo")
        .arg(folder.0.join("pipe.plan"))
        .status();
    if made.is_ok_and(|status| status.success()) {
        folder
            .check(&["pipe.plan"])
            .exits(TROUBLE)
            .says("it is not a plain file");
    }
}

#[test]
fn files_that_use_each_other() {
    let folder = Folder::room("cycle");
    folder.put("room.std", format!("{STANDARD}\nuse \"one.std\"\n"));
    folder.put("one.std", "use \"two.std\"\n");
    folder.put("two.std", "use \"one.std\"\n");
    folder
        .check(&["holds.plan"])
        .exits(TROUBLE)
        .says("error[import-cycle]");
}

// ── Odd bytes ───────────────────────────────────────────────────────────────────────────────────

#[test]
fn bytes_that_are_no_text() {
    let folder = Folder::room("not-utf8");
    folder.put("odd.plan", b"run \"\xff\xfe\" against \"room.std\"\n");
    folder
        .check(&["odd.plan"])
        .exits(TROUBLE)
        .says("error[not-utf8]: `odd.plan` is not UTF-8 text: byte 5");
    folder
        .piped(&["check", "-"], b"run \"\xff\"")
        .exits(TROUBLE)
        .says("error[not-utf8]");
}

#[test]
fn byte_order_marks_and_other_line_ends_change_nothing() {
    let folder = Folder::room("bom");
    let other = |text: &str| format!("\u{feff}{}", text.replace('\n', "\r\n"));
    let plain = folder
        .check(&["breaks.plan", "--as", "log"])
        .exits(FINDINGS);
    folder.put("room.std", other(STANDARD));
    folder.put("breaks.plan", other(&plan_with("3 m/min ± 5 %")));
    let odd = folder
        .check(&["breaks.plan", "--as", "log"])
        .exits(FINDINGS);
    let first = |ran: &Ran| ran.out.lines().next().unwrap().to_owned();
    assert_eq!(first(&plain), first(&odd));
}

#[test]
fn empty_files() {
    let folder = Folder::room("empty");
    folder.put("empty.plan", "");
    folder.put("blank.plan", "\n\n  \n");
    folder.put("empty.std", "");
    folder
        .check(&["empty.plan"])
        .exits(TROUBLE)
        .says("error[header-missing]");
    folder
        .check(&["blank.plan"])
        .exits(TROUBLE)
        .says("error[header-missing]");
    folder
        .check(&["empty.std"])
        .exits(TROUBLE)
        .says("error[header-missing]");
    folder
        .piped(&["check", "-"], b"")
        .exits(TROUBLE)
        .says("error[header-missing]");
}

#[test]
fn a_file_of_50_megabytes_is_refused_at_once() {
    let folder = Folder::room("large");
    let file = fs::File::create(folder.0.join("large.plan")).unwrap();
    file.set_len(50 * 1024 * 1024).unwrap();
    let start = Instant::now();
    folder
        .check(&["large.plan"])
        .exits(TROUBLE)
        .says("error[file-too-large]");
    assert!(start.elapsed() < Duration::from_secs(5));
}

#[test]
fn deep_nesting_ends() {
    let folder = Folder::room("deep");
    let deep = "(".repeat(100_000);
    folder.put("room.std", STANDARD.replace("dryer.dwell", &deep));
    folder
        .check(&["holds.plan"])
        .exits(TROUBLE)
        .says("error[nested-too-deep]");
}

#[test]
fn what_could_move_the_cursor_is_shown_escaped() {
    let folder = Folder::room("hostile");
    let bad = "\u{1b}[31m\u{7}\u{202e}\u{2066}\u{9b}2J";
    folder.put(
        "room.std",
        STANDARD
            .replace("A room", "A\u{202e} room")
            .replace("heated slowly", "heated\u{2066} slowly"),
    );
    folder.put(
        "order.plan",
        plan_with("3 m/min").replace("An order", "An\u{202e} order\u{200b}"),
    );
    folder.put("worse.plan", plan_with(bad));
    for form in ["people", "log", "json", "sarif", "junit"] {
        for extra in [&[][..], &["--plain"], &["--show", "passed"]] {
            let arguments = [&["order.plan", "worse.plan", "--as", form][..], extra].concat();
            let ran = folder.check(&arguments).exits(TROUBLE);
            for raw in ['\u{1b}', '\u{7}', '\u{202e}', '\u{2066}', '\u{9b}'] {
                assert!(!ran.out.contains(raw), "{form} {extra:?}: {raw:?}");
            }
        }
    }
    // Names of files and arguments are no more to be trusted.
    let ran = folder
        .check(&["\u{1b}[2J.plan", "\u{202e}.std"])
        .exits(TROUBLE);
    assert!(!ran.out.contains(['\u{1b}', '\u{202e}']), "{:?}", ran.out);
    let ran = folder.run(&["explain", "\u{1b}[2J"]).exits(TROUBLE);
    assert!(!ran.err.contains("\u{1b}[2J"), "{:?}", ran.err);
    let ran = folder
        .run(&["check", "holds.plan", "--on", "\u{1b}[2J"])
        .exits(TROUBLE);
    assert!(!ran.err.contains("\u{1b}[2J"), "{:?}", ran.err);
}

// ── Streams and forms ───────────────────────────────────────────────────────────────────────────

#[test]
fn a_plan_from_standard_input() {
    let folder = Folder::room("stdin");
    folder
        .piped(&["check", "-"], plan_with("3 m/min").as_bytes())
        .exits(FINDINGS)
        .says("<stdin>:5:12");
    folder
        .piped(
            &["check", "-", "holds.plan"],
            plan_with("2 m/min").as_bytes(),
        )
        .exits(CLEAN)
        .says("2 plans checked, 0 not checked");
    let mut long = plan_with("2 m/min").into_bytes();
    long.resize(17 * 1024 * 1024, b'\n');
    folder
        .piped(&["check", "-"], &long)
        .exits(TROUBLE)
        .says("error[file-too-large]");
}

#[test]
fn json_follows_its_schema() {
    let folder = Folder::room("json");
    let schema = folder.run(&["schema"]).exits(CLEAN).out;
    let schema: serde_json::Value = serde_json::from_str(&schema).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    folder.put("trouble.plan", plan_with("2 m/mn"));
    for paths in [
        &["holds.plan"][..],
        &["."],
        &["nowhere.plan"],
        &["room.std"],
    ] {
        let ran = folder.check(&[paths, &["--as", "json"]].concat());
        let value: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        let errors: Vec<String> = validator
            .iter_errors(&value)
            .map(|error| error.to_string())
            .collect();
        assert!(errors.is_empty(), "{paths:?}: {errors:?}");
    }
}

#[test]
fn every_form_can_be_read_and_exits_alike() {
    let folder = Folder::room("forms");
    for form in ["people", "log", "json", "sarif", "junit"] {
        for (path, code) in [
            ("holds.plan", CLEAN),
            ("breaks.plan", FINDINGS),
            ("x.plan", TROUBLE),
        ] {
            let ran = folder.check(&[path, "--as", form]).exits(code);
            match form {
                "json" | "sarif" => {
                    let value: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
                    assert!(value.is_object());
                }
                "junit" => {
                    let mut reader = quick_xml::Reader::from_str(&ran.out);
                    loop {
                        match reader.read_event().unwrap() {
                            quick_xml::events::Event::Eof => break,
                            _ => continue,
                        }
                    }
                }
                _ => assert!(ran.out.ends_with('\n')),
            }
            assert_eq!(ran.err, "", "{form} {path}");
        }
    }
}

#[test]
fn colours_only_where_they_are_wanted() {
    let folder = Folder::room("colours");
    let coloured = |arguments: &[&str], no_color: Option<&str>| {
        let mut command = folder.command(arguments);
        if let Some(value) = no_color {
            command.env("NO_COLOR", value);
        }
        Ran::of(command.output().unwrap()).out.contains('\u{1b}')
    };
    // Not a terminal: no colours unless asked for.
    assert!(!coloured(&["check", "breaks.plan"], None));
    assert!(coloured(
        &["check", "breaks.plan", "--colour", "always"],
        None
    ));
    assert!(!coloured(
        &["check", "breaks.plan", "--colour", "never"],
        None
    ));
    assert!(!coloured(&["check", "breaks.plan"], Some("1")));
    // An argument says it more plainly than the environment.
    assert!(coloured(
        &["check", "breaks.plan", "--colour", "always"],
        Some("1")
    ));
}

#[test]
fn a_reader_that_has_had_enough() {
    let folder = Folder::room("broken-pipe");
    for index in 0..200 {
        folder.put(
            &format!("many/{index}.plan"),
            plan_with("3 m/min").replace("room", "../room"),
        );
    }
    let mut child = folder
        .command(&["check", "many", "--full", "100000"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut first = [0; 16];
    let mut out = child.stdout.take().unwrap();
    out.read_exact(&mut first).unwrap();
    drop(out);
    let ended = child.wait_with_output().unwrap();
    assert_eq!(String::from_utf8_lossy(&ended.stderr), "");
    assert!(ended.status.code().is_some(), "not killed by a signal");
}

#[test]
fn the_same_bytes_every_time_and_on_any_number_of_threads() {
    let folder = Folder::room("determinism");
    // Enough plans for several threads.
    for index in 0..300 {
        let belt = format!("2.{} m/min ± 5 %", index % 10);
        let text = plan_with(&belt).replace("room", "../room");
        folder.put(&format!("many/{index:03}.plan"), text);
    }
    for form in ["people", "log", "json", "sarif", "junit"] {
        let all = folder.check(&["many", "--as", form]).exits(FINDINGS).out;
        assert_eq!(all, folder.check(&["many", "--as", form]).out, "{form}");
    }
    // What one thread says of each part is what several say of the whole.
    let findings = |out: &str| -> Vec<String> {
        let lines = out.lines().filter(|line| line.contains("error["));
        lines.map(str::to_owned).collect()
    };
    let whole = findings(&folder.check(&["many", "--as", "log"]).out);
    let mut parts = Vec::new();
    for start in (0..300).step_by(50) {
        let names: Vec<String> = (start..start + 50)
            .map(|index| format!("many/{index:03}.plan"))
            .collect();
        let mut arguments: Vec<&str> = names.iter().map(String::as_str).collect();
        arguments.extend(["--as", "log"]);
        parts.extend(findings(&folder.check(&arguments).out));
    }
    assert!(!whole.is_empty());
    assert_eq!(whole, parts);
}

#[test]
fn the_date_is_shown_and_may_be_set() {
    let folder = Folder::room("date");
    folder
        .check(&["holds.plan"])
        .exits(CLEAN)
        .says("2026-11-25");
    let today = folder.run(&["check", "holds.plan"]).exits(CLEAN).out;
    assert!(today.contains("date: 2"), "{today}");
}

#[test]
fn show_passed_gives_a_reason_for_each_check() {
    let folder = Folder::room("passed");
    folder
        .check(&["holds.plan", "--show", "passed"])
        .exits(CLEAN)
        .says("`dryer.dwell` is 73.2 s");
}

#[test]
fn explain_knows_every_code() {
    let folder = Folder::room("explain");
    let list = folder.run(&["explain"]).exits(CLEAN).out;
    for code in strikeoff::diagnostic::Code::ALL {
        let slug = code.slug();
        assert!(list.contains(slug), "{slug}");
        folder.run(&["explain", slug]).exits(CLEAN).says(slug);
    }
    let ran = folder.run(&["explain", "at-rsk"]).exits(TROUBLE);
    assert!(ran.err.contains("at-risk"), "{}", ran.err);
}

#[test]
fn help_shows_examples() {
    let folder = Folder::new("help");
    folder
        .run(&["check", "--help"])
        .exits(CLEAN)
        .says("Examples:");
    folder
        .run(&["--version"])
        .exits(CLEAN)
        .says(env!("CARGO_PKG_VERSION"));
}
