//! Standard input, forms of the report, colours, and other commands.

use std::io::Read as _;
use std::process::Stdio;

use super::{CLEAN, FINDINGS, Folder, Ran, TROUBLE, plan_with};

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
    assert_eq!(
        ended.status.code(),
        Some(FINDINGS),
        "the verdict is the same"
    );
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
