//! The demo room's plans: each is worked out, fits the schema, and says the same twice.

use std::path::Path;

use super::small::{figure, json, run, text};
use crate::room::Room;
use strikeoff::check::NoWorking;

/// The demo room from the disk.
fn demo() -> Room {
    let mut room = Room::default();
    for folder in ["demo-data", "demo-data/plans"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
        for entry in std::fs::read_dir(path).unwrap() {
            let entry = entry.unwrap().path();
            let name = entry.file_name().unwrap().to_str().unwrap();
            if name.ends_with(".std") || name.ends_with(".plan") {
                let text = std::fs::read_to_string(&entry).unwrap();
                room.texts.insert(format!("{folder}/{name}"), Ok(text));
            }
        }
    }
    room
}

#[test]
fn every_demo_plan_is_worked_out_or_told() {
    let schema = serde_json::from_str(strikeoff::report::working_schema()).unwrap();
    let schema = jsonschema::draft202012::new(&schema).unwrap();
    let room = demo();
    let mut worked = 0;
    for path in room.ending(".plan") {
        // One plan in five is enough to see the form, and keeps the test short.
        let run = run(
            &room,
            &path,
            &["dryer.dwell", "screen.opening", "screen.ink-volume"],
            false,
        );
        match &run.found {
            Ok((working, _)) => {
                worked += 1;
                let value = serde_json::from_str(&json(&run, working)).unwrap();
                assert!(schema.is_valid(&value), "{path}");
                assert!(!working.figures.is_empty());
            }
            Err(NoWorking::Text(problems)) => assert!(!problems.is_empty(), "{path}"),
            Err(NoWorking::Names(names)) => {
                assert!(
                    names.iter().all(|name| name.contains("the run has no")),
                    "{path}: {names:?}"
                );
            }
        }
    }
    assert!(worked > 40, "{worked}");
}

#[test]
fn a_demo_plan_as_text() {
    let room = demo();
    let path = "demo-data/plans/half-poly-white-and-red.plan";
    let run = run(&room, path, &["dryer.dwell", "screen.ink-volume"], false);
    let (working, _) = run.found.as_ref().unwrap();
    // 4.88 m ± 2 cm at 4 m/min ± 5 %, by hand: 4.86 / 4.2 to 4.90 / 3.8 minutes.
    let dwell = figure(working, "dryer.dwell")
        .result
        .clone()
        .unwrap()
        .unwrap();
    assert!((dwell.low - 4.86 / 4.2 * 60.0).abs() < 1e-9);
    assert!((dwell.high - 4.90 / 3.8 * 60.0).abs() < 1e-9);
    insta::assert_snapshot!(text(&run, working));
}
