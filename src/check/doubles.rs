//! What one check has twice: runs of one name, and standards of one name and edition that are not the same.

use std::collections::HashMap;

use super::plan::Prepared;
use crate::diagnostic::{Code, Diagnostic, PlanReport};
use crate::names::{folded, plan_scope};
use crate::source::{FileId, Span, Store};
use crate::syntax;
use crate::syntax::tree::{Line, StatementNode};

/// Says which runs and standards of a check cannot be told apart by what they call themselves.
///
/// A deviation is for the run of a name, and a report names a standard by its name and edition: where there are two,
/// neither says what it seems to.
#[must_use]
pub fn doubles(store: &Store, prepared: &[Prepared], plans: &[PlanReport]) -> Vec<Diagnostic> {
    let mut said = standards(store, prepared);
    said.extend(runs(store, prepared, plans));
    said
}

fn standards(store: &Store, prepared: &[Prepared]) -> Vec<Diagnostic> {
    let mut said = Vec::new();
    let mut first: HashMap<(&str, Option<&str>), &Prepared> = HashMap::new();
    for one in prepared.iter().filter(|one| one.usable()) {
        let standard = &one.standard;
        let called = (standard.name.as_str(), standard.edition.as_deref());
        let Some(other) = first.get(&called) else {
            first.insert(called, one);
            continue;
        };
        let digests = [&standard.digest, &other.standard.digest].map(|digest| digest.0.clone());
        if digests[0] == digests[1] {
            continue;
        }
        let edition = standard.edition.as_ref();
        let edition = edition.map_or(String::new(), |edition| format!(", edition {edition},"));
        let short = |digest: &String| digest.chars().take(12).collect::<String>();
        said.push(
            Diagnostic::new(
                Code::StandardTwice,
                header(store, standard.root),
                format!("two standards call themselves `{}`{edition} and mean different things", standard.name),
                format!("digest {}", short(&digests[0])),
            )
            .related(header(store, other.standard.root), format!("digest {}", short(&digests[1])))
            .help("give one of them another edition, or check all plans against one with `--standard`"),
        );
    }
    said
}

fn runs(store: &Store, prepared: &[Prepared], plans: &[PlanReport]) -> Vec<Diagnostic> {
    let mut said = Vec::new();
    let mut first: HashMap<(usize, String), &PlanReport> = HashMap::new();
    for plan in plans.iter().filter(|plan| !plan.name.is_empty()) {
        let Some(index) = plan.standard else {
            continue;
        };
        let key = (index, folded(&plan.name));
        let Some(other) = first.get(&key) else {
            first.insert(key, plan);
            continue;
        };
        if other.file == plan.file {
            continue;
        }
        let same = other.name == plan.name;
        let deviations = prepared
            .get(index)
            .map(|one| one.standard.deviations.iter());
        let named = deviations
            .into_iter()
            .flatten()
            .filter_map(|deviation| deviation.run.as_ref())
            .find(|(run, _)| *run == plan.name || *run == other.name);
        let code = match named {
            Some(_) => Code::RunTwiceDeviation,
            None => Code::RunTwice,
        };
        let headline = if same {
            format!("two plans have a run `{}`", plan.name)
        } else {
            format!(
                "the runs `{}` and `{}` of two plans read alike",
                plan.name, other.name
            )
        };
        let mut one = Diagnostic::new(code, run_name(store, plan.file), headline, "once more here")
            .related(run_name(store, other.file), "the first one");
        if let Some((_, span)) = named {
            one = one.related(
                *span,
                "this deviation is for the run of that name, and cannot tell them apart",
            );
        }
        said.push(one.help("give each run a name of its own, such as the number of its order"));
    }
    said
}

/// The name of a plan's run, as written.
fn run_name(store: &Store, file: FileId) -> Span {
    let parsed = syntax::parse(file, store.get(file).text());
    let (scope, _) = plan_scope(&parsed.tree);
    scope
        .run
        .map_or(Span::new(file, 0, 0), |(name, ..)| name.span)
}

/// The name in the first statement of a standard.
fn header(store: &Store, root: FileId) -> Span {
    let parsed = syntax::parse(root, store.get(root).text());
    let mut items = parsed.tree.items.iter();
    let found = items.find_map(|line| match line {
        Line::Good(statement, _) => match &statement.node {
            StatementNode::Standard { name, .. } => Some(name.span),
            _ => None,
        },
        _ => None,
    });
    found.unwrap_or(Span::new(root, 0, 0))
}
