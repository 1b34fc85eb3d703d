//! The index of `tests/reference/README.md` is true: every reference row stands in one subject, and the counts are right.

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference")
}

/// What a row is about (a function or a model), and whether its source prints the number.
type Row = (String, bool);

fn rows(file: &str) -> Vec<Row> {
    let text =
        std::fs::read_to_string(folder().join(file)).unwrap_or_else(|e| panic!("{file}: {e}"));
    if file.ends_with(".json") {
        let value: Value = serde_json::from_str(&text).unwrap();
        let case = |case: &Value| {
            let provenance = case["provenance"].as_str().unwrap();
            assert!(!case["source"].as_str().unwrap().is_empty());
            let printed = provenance.starts_with("a:") || provenance.starts_with("b:");
            (case["model"].as_str().unwrap().to_owned(), printed)
        };
        return value["cases"]
            .as_array()
            .unwrap()
            .iter()
            .map(case)
            .collect();
    }
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    let heading: Vec<&str> = lines.next().unwrap().split(',').collect();
    let column = |name: &str| heading.iter().position(|cell| *cell == name);
    let (about, class) = (column("function"), column("class"));
    // Every factor of NIST SP 811 is printed there; what has no class is computed.
    let all_printed = file == "units/nist-sp-811.csv";
    lines
        .map(|line| {
            let cells: Vec<&str> = line.splitn(heading.len(), ',').collect();
            assert_eq!(cells.len(), heading.len(), "{file}: {line}");
            let class = class.map(|c| cells[c]);
            let printed = all_printed || matches!(class, Some("a" | "b"));
            (about.map_or("all", |c| cells[c]).to_owned(), printed)
        })
        .collect()
}

/// Names by their whole, or by how they begin where an ellipsis stands.
fn is_among(name: &str, which: &str) -> bool {
    which
        .split(' ')
        .any(|wanted| match wanted.strip_suffix('…') {
            Some(start) => name.starts_with(start),
            None => name == wanted,
        })
}

#[test]
fn every_row_stands_in_one_subject_and_is_counted() {
    let text = std::fs::read_to_string(folder().join("README.md")).unwrap();
    let table: Vec<Vec<&str>> = text
        .lines()
        .filter(|line| line.starts_with("| "))
        .skip(2)
        .map(|line| line.trim_matches('|').split('|').map(str::trim).collect())
        .collect();
    let mut found: BTreeMap<&str, BTreeSet<usize>> = BTreeMap::new();
    let (mut total, mut printed, mut last) = (0, 0, None);
    for line in &table {
        let [subject, file, which, count, published] = line[..] else {
            panic!("{line:?}")
        };
        let stated: (usize, usize) = (count.parse().unwrap(), published.parse().unwrap());
        if subject == "all" {
            last = Some(stated);
            continue;
        }
        let of_subject: Vec<(usize, Row)> = rows(file)
            .into_iter()
            .enumerate()
            .filter(|(_, (name, _))| is_among(name, which))
            .collect();
        let counted = (
            of_subject.len(),
            of_subject.iter().filter(|(_, row)| row.1).count(),
        );
        assert_eq!(counted, stated, "{subject}, {file}");
        assert!(counted.0 > 0, "{subject}, {file}");
        for (index, (name, _)) in of_subject {
            let new = found.entry(file).or_default().insert(index);
            assert!(new, "`{name}` of {file} stands in two subjects");
        }
        total += counted.0;
        printed += counted.1;
    }
    assert_eq!(last, Some((total, printed)));
    assert!(
        total >= 60 && printed >= 30,
        "{total} rows, {printed} published"
    );
    for (file, indexes) in &found {
        assert_eq!(
            indexes.len(),
            rows(file).len(),
            "{file} has rows in no subject"
        );
    }
    // No file of rows is left out; the schema of another format is no row.
    for sub in ["cases", "figures", "heat", "units"] {
        for entry in std::fs::read_dir(folder().join(sub)).unwrap() {
            let name = entry.unwrap().file_name().into_string().unwrap();
            let file = format!("{sub}/{name}");
            let holds_rows = name.ends_with(".csv") || name.ends_with(".json");
            assert!(
                !holds_rows || found.contains_key(file.as_str()),
                "{file} is not in the index"
            );
        }
    }
}
