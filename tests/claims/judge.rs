//! What texts come to, by `check`; and what `diff` claims, read from the form for programs.

use std::collections::BTreeMap;

use strikeoff::check::{Options, Prepared, check_plan, prepare};
use strikeoff::diagnostic::{Outcome, Severity};
use strikeoff::diff::{DiffOptions, compare};
use strikeoff::names::{ReadProblem, Shelf, read_text};
use strikeoff::report::diff_json;
use strikeoff::source::Store;
use strikeoff::types::Date;

pub(super) const DAY: &str = "2026-11-25";

/// One standard.
pub(super) struct Alone<'a>(pub(super) &'a str);

impl Shelf for Alone<'_> {
    fn read(&self, path: &str) -> Result<String, ReadProblem> {
        if path == "room.std" {
            Ok(self.0.to_owned())
        } else {
            Err(ReadProblem::Missing)
        }
    }

    fn neighbours(&self, _: &str) -> Vec<String> {
        vec!["room.std".to_owned()]
    }
}

/// What a text comes to.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Came {
    pub(super) verdict: Verdict,
    /// How often each requirement that does not hold comes to what, whatever its rule is called.
    pub(super) outcomes: BTreeMap<(&'static str, &'static str), usize>,
}

/// What `check` exits with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Verdict {
    Passes,
    Fails,
    Unreadable,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Claim {
    Shown,
    Open,
    ProvedNot,
}

/// A run that `diff` shows.
#[derive(Debug, Clone)]
pub(super) struct Shown {
    pub(super) tighter: bool,
    pub(super) old: String,
    pub(super) new: String,
    pub(super) by: String,
}

#[derive(Debug)]
pub(super) struct Claims {
    pub(super) same: bool,
    pub(super) tighter: Claim,
    pub(super) looser: Claim,
    pub(super) shown: Vec<Shown>,
    pub(super) json: serde_json::Value,
}

/// Two standards that can both be used, and what `diff` says of them.
pub(super) struct Pair {
    store: Store,
    old: Prepared,
    new: Prepared,
    pub(super) claims: Claims,
}

impl Pair {
    /// `None` where one of them has errors.
    pub(super) fn of(old: &str, new: &str) -> Option<Self> {
        let mut store = Store::new();
        let mut side = |text: &str| {
            let shelf = Alone(text);
            let root = read_text(&mut store, &shelf, "room.std", None).ok()?;
            let prepared = prepare(&mut store, &shelf, root);
            prepared.usable().then_some(prepared)
        };
        let (old, new) = (side(old)?, side(new)?);
        let options = DiffOptions {
            on: Date::parse(DAY),
            ..DiffOptions::default()
        };
        let found = compare(&store, &old, &new, options);
        let mut out = Vec::new();
        diff_json(&found, &store, &mut out).unwrap();
        let json: serde_json::Value = serde_json::from_slice(&out).unwrap();
        Some(Self {
            store,
            old,
            new,
            claims: claims(json),
        })
    }

    pub(super) fn by_old(&mut self, text: &str) -> Came {
        came(&mut self.store, &self.old, text)
    }

    pub(super) fn by_new(&mut self, text: &str) -> Came {
        came(&mut self.store, &self.new, text)
    }
}

fn came(store: &mut Store, prepared: &Prepared, text: &str) -> Came {
    let file = store.add("a.plan", text);
    let options = Options {
        explain: true,
        repairs: false,
        on: Date::parse(DAY),
        ..Options::default()
    };
    let report = check_plan(store, prepared, 0, file, options);
    let error = report
        .diagnostics
        .iter()
        .any(|said| said.severity == Severity::Error);
    let verdict = match (report.checked, error) {
        (false, _) => Verdict::Unreadable,
        (true, true) => Verdict::Fails,
        (true, false) => Verdict::Passes,
    };
    let mut outcomes = BTreeMap::new();
    for check in &report.checks {
        if !matches!(check.outcome, Outcome::Holds | Outcome::DoesNotApply) {
            let key = (check.verb.word(), check.outcome.slug());
            *outcomes.entry(key).or_insert(0) += 1;
        }
    }
    Came { verdict, outcomes }
}

fn claims(json: serde_json::Value) -> Claims {
    let directions = |way: &str| {
        let changes = json["changes"].as_array().into_iter().flatten();
        let effects = json["effects"].as_array().into_iter().flatten();
        let all: Vec<&str> = changes
            .chain(effects)
            .filter_map(|one| one["direction"][way].as_str())
            .collect();
        if all.contains(&"shown") {
            Claim::Shown
        } else if all.contains(&"not-decided") {
            Claim::Open
        } else {
            assert!(all.iter().all(|way| *way == "proved-not"), "{all:?}");
            Claim::ProvedNot
        }
    };
    let mut shown = Vec::new();
    gather(&json, "", &mut shown);
    Claims {
        same: json["meaning"] == "same",
        tighter: directions("tightened"),
        looser: directions("loosened"),
        shown,
        json,
    }
}

/// Every object that shows a run, wherever it stands.
fn gather(json: &serde_json::Value, by: &str, shown: &mut Vec<Shown>) {
    match json {
        serde_json::Value::Object(fields) => {
            let by = ["rule", "subject"]
                .iter()
                .find_map(|name| fields.get(*name)?.as_str())
                .unwrap_or(by);
            let text = |name: &str| fields.get(name).and_then(|text| text.as_str());
            if let (Some(way), Some(plan)) = (text("shows"), text("plan")) {
                shown.push(Shown {
                    tighter: way == "tightened",
                    old: text("plan_for_old").unwrap_or(plan).to_owned(),
                    new: plan.to_owned(),
                    by: by.to_owned(),
                });
            }
            fields.values().for_each(|one| gather(one, by, shown));
        }
        serde_json::Value::Array(all) => all.iter().for_each(|one| gather(one, by, shown)),
        _ => {}
    }
}
