//! A plan and a standard from one input, checked and shown in every view.
//!
//! The input is cut at the first U+001E: what stands before is the plan, what stands behind the
//! standard. Without one, the plan is checked against a small standard of our own.
#![no_main]

use std::collections::HashMap;

use libfuzzer_sys::fuzz_target;
use strikeoff::check::{Options, check_plan, prepare};
use strikeoff::diagnostic::Report;
use strikeoff::names::{ReadProblem, Shelf, read_text};
use strikeoff::report::{Format, Style, render};
use strikeoff::source::Store;

const STANDARD: &str = "\
standard \"a\" edition \"1\"
kind ink \"a\" {
  mesh range of thread-count given
}
kind screen, many to a run \"a\" {
  ink ink given
  mesh thread-count from 4 /cm to 200 /cm set
  eom length set
}
kind dryer, one to a run \"a\" {
  chamber length from 0.3 m to 15 m given
  belt speed from 0.05 to 20 m/min set in steps of 0.1 ft/min
  air temperature from 20 to 350 °C set
  dwell time = chamber / belt
}
step flash \"a\" {
  time time set
}
ink white {
  mesh 60 to 200 /in
}
rule a {
  for each screen
  shall screen.mesh within screen.ink.mesh
  may screen.eom above 30 µm
  per practice
}
rule b {
  when dryer.air at least 100 °C
  shall dryer.dwell at least 60 s or dryer.dwell * dryer.belt is 2 m
  per practice
  adjust dryer.belt
}
rule c {
  for each flash
  shall flash.time at most total(flash.time) / 2
  per practice
}
";

struct Files(HashMap<&'static str, String>);

impl Shelf for Files {
    fn read(&self, path: &str) -> Result<String, ReadProblem> {
        self.0.get(path).cloned().ok_or(ReadProblem::Missing)
    }

    fn neighbours(&self, _: &str) -> Vec<String> {
        self.0.keys().map(|&name| name.to_owned()).collect()
    }
}

fuzz_target!(|data: &[u8]| {
    let text = String::from_utf8_lossy(data);
    let (plan, standard) = text.split_once('\u{1e}').unwrap_or((&text, STANDARD));
    let files = Files(HashMap::from([("room.std", standard.to_owned())]));
    let mut store = Store::new();
    let Ok(root) = read_text(&mut store, &files, "room.std", None) else {
        return;
    };
    let prepared = prepare(&mut store, &files, root);
    let file = store.add("a.plan", plan);
    let plan = check_plan(&store, &prepared, 0, file, Options::default());
    let report = Report {
        diagnostics: prepared.problems.clone(),
        standards: vec![prepared.report()],
        plans: vec![plan],
        date: "2026-11-25".to_owned(),
        allow_risk: false,
    };
    for diagnostic in report.all_diagnostics() {
        for label in diagnostic.labels() {
            let text = store.get(label.span.file).text();
            assert!(text.get(label.span.range()).is_some(), "{diagnostic:?}");
        }
    }
    for format in [
        Format::People,
        Format::Log,
        Format::Json,
        Format::Sarif,
        Format::Junit,
    ] {
        let _ = render(&report, &store, format, &Style::default(), &mut std::io::sink());
    }
});
