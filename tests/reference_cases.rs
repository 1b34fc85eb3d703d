//! Every reference case, through the functions the rules use: `cargo test --test all reference_cases:: -- --nocapture`.
//!
//! Runs `tests/reference/cases/*.json` and, when the environment variable `STRIKEOFF_CASES` names a folder, every
//! `*.json` in it. A case has an id, a model and a task, inputs and expected numbers with units, a tolerance for each, a
//! source and a provenance. A model or task that is not known here fails; nothing is skipped silently.

mod answer;
mod belt;
mod engine;
mod format;
mod heat;
mod print;
mod probe;
mod statistics;
mod unit;

use answer::{Answer, Answers};
use format::{Case, Fault, Places, cases_in, parse};
use serde_json::Value;
use std::path::{Path, PathBuf};

/// The one case whose measured log may be compared with but not shipped; it runs when `STRIKEOFF_CASES` names a folder
/// that holds the log.
const LOG_NOT_SHIPPED: &str = "probe-01";

fn solve(case: &Case<'_>, places: &Places) -> Result<Answers, Fault> {
    match case.model.as_str() {
        "dose" => heat::dose(case),
        "props" => heat::properties(case),
        "pallet" => heat::pallet(case),
        "dye" => heat::dye(case),
        "lumped" => engine::lumped(case),
        "lumped-rad" => engine::radiating(case),
        "slab" => engine::slab(case),
        "semi-infinite" => engine::half_space(case),
        "dryer-1d" => engine::dryer(case),
        "moisture" => engine::plateau(case),
        "interval" => engine::interval(case),
        "ink" => print::ink(case),
        "throughput" => print::throughput(case),
        "offcontact" => print::off_contact(case),
        "gum" => statistics::gum(case),
        "monte-carlo" => statistics::monte_carlo(case),
        "capability" => statistics::capability(case),
        "probe" => probe::probe(case, places),
        "two-plies" => belt::two_plies(case),
        "zone-edges" => belt::zone_edges(case),
        "tunnel-load" => belt::tunnel_load(case),
        "flash-damp" => belt::flash_damp(case),
        "model-error" => belt::model_error(case),
        other => Err(Fault::Wrong(format!("no model `{other}` is known here"))),
    }
}

/// What came of the cases: quantities compared, lines of the table, what failed, what could not be run.
#[derive(Default)]
struct Tally {
    cases: usize,
    compared: usize,
    table: Vec<String>,
    failed: Vec<String>,
    not_run: Vec<String>,
}

impl Tally {
    fn case(&mut self, value: &Value, places: &Places) {
        self.cases += 1;
        let id = value["id"].as_str().unwrap_or("(no id)").to_owned();
        match Case::read(value).and_then(|case| Ok((solve(&case, places)?, case))) {
            Ok((answers, case)) => {
                for (key, expected) in case.expected {
                    self.compare(&id, key, expected, answers.get(key), case.tolerance(key));
                }
            }
            Err(Fault::NoLog(what)) if id == LOG_NOT_SHIPPED => {
                self.not_run.push(format!("{id}: {what}"));
            }
            Err(Fault::Wrong(why) | Fault::NoLog(why)) => self.failed.push(format!("{id}: {why}")),
        }
    }

    fn compare(
        &mut self,
        id: &str,
        key: &str,
        expected: &Value,
        got: Option<&Answer>,
        tolerance: Result<format::Tolerance, Fault>,
    ) {
        self.compared += 1;
        let line = match (got, tolerance) {
            (None, _) => Err(format!("nothing here works out `{key}`")),
            (Some(got), tolerance) => answer::compare(got, expected, tolerance),
        };
        let name = format!("{id} {key}");
        match line {
            Ok(row) => {
                let line = format!("{name:<36} {}", row.text);
                if !row.pass {
                    self.failed.push(line.clone());
                }
                self.table.push(line);
            }
            Err(why) => self.failed.push(format!("{name}: {why}")),
        }
    }
}

fn folder(path: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let mut files: Vec<PathBuf> = entries
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "json"))
        .collect();
    files.sort();
    files
}

#[test]
fn every_case_is_met_within_its_tolerance() {
    let own = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/cases");
    let named = std::env::var_os("STRIKEOFF_CASES").map(PathBuf::from);
    let mut files = folder(&own);
    if let Some(named) = &named {
        let theirs = folder(named);
        assert!(!theirs.is_empty(), "{} holds no *.json", named.display());
        files.extend(theirs);
    }
    let mut tally = Tally::default();
    for file in &files {
        let places = Places::around(file, named.as_deref());
        let text = std::fs::read_to_string(file).unwrap();
        let value: Value = parse(&text).unwrap_or_else(|e| panic!("{}: {e}", file.display()));
        let cases = cases_in(&value).unwrap_or_else(|| panic!("{}: no cases", file.display()));
        for case in cases {
            tally.case(case, &places);
        }
    }
    println!(
        "{:<36} {:>14} {:>14} {:>12} {:>6}",
        "case", "got", "expected", "tolerance", "used"
    );
    for line in &tally.table {
        println!("{line}");
    }
    for line in &tally.not_run {
        println!("NOT RUN {line}");
    }
    println!(
        "{} cases, {} quantities, {} failed, {} not run, in {} files",
        tally.cases,
        tally.compared,
        tally.failed.len(),
        tally.not_run.len(),
        files.len()
    );
    assert!(
        tally.failed.is_empty(),
        "{} failed:\n{}",
        tally.failed.len(),
        tally.failed.join("\n")
    );
    assert!(
        tally.not_run.is_empty() || !named.is_some_and(|folder| folder.join("data").exists()),
        "the log is there and was not read: {:?}",
        tally.not_run
    );
    assert!(tally.compared >= 100, "only {} compared", tally.compared);
}

#[test]
fn what_is_not_known_fails_and_is_not_skipped() {
    let places = Places::around(Path::new("nowhere/x.json"), None);
    for text in [
        r#"{"id":"a","model":"weather","task":"rain","inputs":{},"expected":{"x":1},"tolerance":{"x":{"abs":1}}}"#,
        r#"{"id":"b","model":"dose","task":"guess","inputs":{},"expected":{"x":1},"tolerance":{"x":{"abs":1}}}"#,
        r#"{"id":"c","model":"ink","task":"stack","inputs":{"layers":[[1,1,1,0]]},"expected":{"wet":1},"tolerance":{"wet":{"abs":9}}}"#,
        r#"{"id":"d","model":"ink","task":"stack","inputs":{"layers":[[1,1,1,0]]},"expected":{"dry":1},"tolerance":{}}"#,
        r#"{"id":"e","model":"ink","task":"stack","inputs":{"layers":[[1,1,1,0]]},"expected":{"dry":1.1},"tolerance":{"dry":{"abs":0.05}}}"#,
        r#"{"id":"f","model":"dose","task":"z-hold","inputs":{"T":{"value":100,"unit":"furlong"}},"expected":{"dose":1},"tolerance":{"dose":{"abs":1}}}"#,
        r#"{"id":"g"}"#,
    ] {
        let mut tally = Tally::default();
        tally.case(&serde_json::from_str(text).unwrap(), &places);
        assert_eq!(tally.failed.len(), 1, "{text}: {:?}", tally.table);
    }
    // What never happens is a number like another, and equals only itself.
    let never = |level: &str| {
        format!(
            r#"{{"id":"h","model":"pallet","task":"cool","inputs":{{"T_hot":90,"T_amb":30,"tau":100,"T_target":{level}}},"expected":{{"time": Infinity}},"tolerance":{{"time":{{"abs":0}}}}}}"#
        )
    };
    for (level, failed) in [("20", 0), ("40", 1)] {
        let mut tally = Tally::default();
        tally.case(&parse(&never(level)).unwrap(), &places);
        assert_eq!(tally.failed.len(), failed, "{:?}", tally.table);
    }
    // A bare list of cases is a file too.
    assert_eq!(cases_in(&serde_json::json!([1, 2])).unwrap().len(), 2);
    assert!(cases_in(&serde_json::json!({"rows": []})).is_none());
}
