//! Standards in memory, to be edited and compared.

use std::collections::BTreeMap;

use strikeoff::check::{Prepared, prepare};
use strikeoff::diagnostic::{Answer, Comparison, Direction, Outcome, Stands};
use strikeoff::diff::DiffOptions;
use strikeoff::eval::EvalContext;
use strikeoff::names::{ReadProblem, SHIPPED, Shelf, plan_scope, read_text};
use strikeoff::source::{FileId, Store};
use strikeoff::syntax;
use strikeoff::types::{RuleForm, Run, Verb, build_run};

/// Ways a change goes, for what is expected of it.
pub(crate) const NONE: Direction = Direction {
    tighter: Answer::No,
    looser: Answer::No,
};
pub(crate) const TIGHTER: Direction = Direction {
    tighter: Answer::Yes,
    looser: Answer::No,
};
pub(crate) const LOOSER: Direction = Direction {
    tighter: Answer::No,
    looser: Answer::Yes,
};
pub(crate) const BOTH: Direction = Direction {
    tighter: Answer::Yes,
    looser: Answer::Yes,
};

/// Files by path.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Room {
    /// The root standard.
    pub(crate) root: String,
    /// Path and text.
    pub(crate) files: BTreeMap<String, String>,
}

impl Shelf for Room {
    fn read(&self, path: &str) -> Result<String, ReadProblem> {
        self.files.get(path).cloned().ok_or(ReadProblem::Missing)
    }

    fn neighbours(&self, _: &str) -> Vec<String> {
        Vec::new()
    }
}

impl Room {
    /// One file.
    pub(crate) fn of(text: &str) -> Self {
        Self {
            root: "room.std".to_owned(),
            files: BTreeMap::from([("room.std".to_owned(), text.to_owned())]),
        }
    }

    /// The demo room, on the specs that ship, all as files of its own that can be edited.
    pub(crate) fn demo() -> Self {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
        let mut files = BTreeMap::new();
        for name in [
            "nosuch-room",
            "inks",
            "garments",
            "rules",
            "limits",
            "deviations",
        ] {
            let path = folder.join(format!("{name}.std"));
            let text = std::fs::read_to_string(path).expect("a file of the demo room");
            files.insert(format!("{name}.std"), own(&text));
        }
        let root = files.get_mut("nosuch-room.std").expect("the root");
        *root = root.replace("use \"examples.std\"\n", "");
        // Only what the room uses, so that every edit bears on it.
        let used = [
            "trade", "heat", "inks", "fabrics", "meshes", "rules", "cautions",
        ];
        for (name, text) in SHIPPED.iter().filter(|(name, _)| used.contains(name)) {
            files.insert(format!("spec-{name}.std"), own(text));
        }
        Self {
            root: "nosuch-room.std".to_owned(),
            files,
        }
    }

    /// The room whose tunnels are fitted, with its film worked out, in the same way.
    pub(crate) fn fitted() -> Self {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/fitted");
        let mut files = BTreeMap::new();
        for name in ["fitted-room", "fitted-inks", "fitted-garments"] {
            let path = folder.join(format!("{name}.std"));
            let text = std::fs::read_to_string(path).expect("a file of the fitted room");
            files.insert(format!("{name}.std"), own(&text));
        }
        let used = [
            "trade",
            "heat",
            "heat-rules",
            "inks",
            "fabrics",
            "meshes",
            "tunnels",
            "rules",
            "cautions",
        ];
        for (name, text) in SHIPPED.iter().filter(|(name, _)| used.contains(name)) {
            files.insert(format!("spec-{name}.std"), own(text));
        }
        Self {
            root: "fitted-room.std".to_owned(),
            files,
        }
    }

    /// A shipped spec by itself, with all it uses, as files that can be edited.
    pub(crate) fn shipped(spec: &str) -> Self {
        let mut files: BTreeMap<String, String> = SHIPPED
            .iter()
            .map(|(name, text)| (format!("spec-{name}.std"), own(text)))
            .collect();
        let root = format!(
            "standard \"{spec} by itself\"\n\nuse \"spec-trade.std\"\nuse \"spec-{spec}.std\"\n"
        );
        files.insert("root.std".to_owned(), root);
        Self {
            root: "root.std".to_owned(),
            files,
        }
    }

    /// The same with one piece of text exchanged, which must be there once.
    pub(crate) fn with(&self, file: &str, from: &str, to: &str) -> Self {
        let mut room = self.clone();
        let text = room.files.get_mut(file).expect("such a file");
        assert_eq!(text.matches(from).count(), 1, "`{from}` in {file}");
        *text = text.replace(from, to);
        room
    }

    /// Reads it.
    pub(crate) fn read(&self, store: &mut Store) -> Option<Prepared> {
        let file = read_text(store, self, &self.root, None).ok()?;
        let prepared = prepare(store, self, file);
        prepared.usable().then_some(prepared)
    }
}

/// `use NAME` as `use "spec-NAME.std"`.
fn own(text: &str) -> String {
    let line = |line: &str| match line.strip_prefix("use ") {
        Some(name) if !name.starts_with('"') => format!("use \"spec-{}.std\"", name.trim()),
        _ => line.to_owned(),
    };
    let lines: Vec<String> = text.lines().map(line).collect();
    lines.join("\n") + "\n"
}

/// Two standards, and what comparing them found.
pub(crate) struct Pair {
    #[allow(dead_code)]
    pub(crate) store: Store,
    pub(crate) old: Prepared,
    pub(crate) new: Prepared,
    pub(crate) found: Comparison,
}

/// Compares two rooms; `None` where the new one cannot be used.
pub(crate) fn compared(old: &Room, new: &Room) -> Option<Pair> {
    let mut store = Store::new();
    let before = old.read(&mut store).expect("the old standard can be used");
    let after = new.read(&mut store)?;
    let found = strikeoff::diff::compare(&store, &before, &after, DiffOptions::default());
    Some(Pair {
        store,
        old: before,
        new: after,
        found,
    })
}

/// A run from its text, if it has no error.
pub(crate) fn run(prepared: &Prepared, text: &str) -> Option<Run> {
    let file = FileId(u32::MAX);
    let parsed = syntax::parse(file, text);
    let (scope, mut problems) = plan_scope(&parsed.tree);
    let run = build_run(file, &prepared.standard, &scope, &mut problems);
    let error = problems
        .iter()
        .any(|said| said.severity == strikeoff::diagnostic::Severity::Error);
    (parsed.problems.is_empty() && !error).then_some(run)
}

/// By rule: 0 kept, 1 a warning, 2 it fails; `None` where something is at risk or cannot be told.
pub(crate) fn ranks(prepared: &Prepared, run: &Run) -> BTreeMap<String, Option<u8>> {
    let standard = &prepared.standard;
    let mut found: BTreeMap<String, Option<u8>> = BTreeMap::new();
    for rule in standard
        .rules
        .iter()
        .filter(|rule| rule.form == RuleForm::Rule)
    {
        found.insert(rule.name.clone(), Some(0));
    }
    for result in strikeoff::check::results(&EvalContext::new(standard, run)) {
        let rule = &standard.rules[result.rule];
        let verb = rule.requirements[result.requirement].verb;
        let rank = match (result.outcome(), verb) {
            (Outcome::Holds | Outcome::DoesNotApply, _) => Some(0),
            // What is missing is told apart from what breaks.
            (Outcome::AtRisk | Outcome::NotStated, _) => None,
            (_, Verb::Should) => Some(1),
            (_, Verb::Shall) => Some(2),
        };
        let known = found.entry(rule.name.clone()).or_insert(Some(0));
        *known = known.zip(rank).map(|(known, rank)| known.max(rank));
    }
    found
}

/// What a clause of a rule comes to, found by its words: 0 kept, 1 a warning, 2 not kept.
pub(crate) fn clause_rank(
    store: &Store,
    prepared: &Prepared,
    run: &Run,
    rule: &str,
    stands: Option<&Stands>,
) -> u8 {
    let Some(stands) = stands else { return 0 };
    let standard = &prepared.standard;
    let mut worst = 0;
    for result in strikeoff::check::results(&EvalContext::new(standard, run)) {
        let of = &standard.rules[result.rule];
        if of.name != rule {
            continue;
        }
        let requirement = &of.requirements[result.requirement];
        let own: Vec<&str> = store.slice(requirement.span).split_whitespace().collect();
        let own = own.join(" ");
        let among = format!("; {};", stands.words).contains(&format!("; {own};"));
        let meant = requirement.span == stands.span || among;
        if of.table.is_none() && !meant {
            continue;
        }
        let rank = match (result.outcome(), requirement.verb) {
            (Outcome::Holds | Outcome::DoesNotApply, _) => 0,
            (_, Verb::Should) => 1,
            (_, Verb::Shall) => 2,
        };
        worst = worst.max(rank);
    }
    worst
}
