//! What of a plan a change may bear on: where texts are changed first.

use std::collections::BTreeSet;

use crate::diff::clause_effect::conditions;
use crate::diff::conditions::dependencies::{Closures, Name, name, passed};
use crate::diff::conditions::paths::{over, paths};
use crate::diff::pairing::clauses::{Clause, Part};
use crate::diff::pairing::rename_matching::{field_ids, kind_ids};
use crate::diff::texts::search::TextSearch;
use crate::types::{FieldId, KindId, Path, RecordId, Root, Standard, Type};

/// A change of how plans are read, or of what they may state, by the numbers of each edition.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::diff) enum TextChange {
    /// A setting: renamed, removed, added, of another type, or with another possible range.
    Setting([Option<(KindId, FieldId)>; 2]),
    /// The settings of a step, which may go without their names.
    Places([KindId; 2]),
    /// Shares that make a whole.
    Parts([KindId; 2]),
    /// A unit of the standard's own.
    Unit(String),
    /// A record.
    Record([Option<RecordId>; 2]),
    /// A kind.
    Kind([Option<KindId>; 2]),
    /// A figure that may be stated as well as worked out.
    Figure([Option<(KindId, FieldId)>; 2]),
    /// A rule that deviations are from, by its number.
    Rule([Option<usize>; 2]),
    /// What is not told apart: anything.
    All,
}

/// Kinds and settings, by the names that either edition has for them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(in crate::diff) struct Focus {
    pub(in crate::diff) kinds: BTreeSet<String>,
    pub(in crate::diff) settings: BTreeSet<Name>,
    pub(in crate::diff) records: BTreeSet<String>,
}

impl Focus {
    pub(in crate::diff) fn join(&mut self, other: Self) {
        self.kinds.extend(other.kinds);
        self.settings.extend(other.settings);
        self.records.extend(other.records);
    }

    fn add(&mut self, standard: &Standard, closures: &Closures, setting: (KindId, FieldId)) {
        let own = name(standard, setting);
        for of in closures.of(&own).chain([&own]) {
            self.kinds.insert(of.0.clone());
            self.settings.insert(of.clone());
        }
    }

    fn add_kind(&mut self, standard: &Standard, closures: &Closures, kind: KindId) {
        self.kinds.insert(standard.kind(kind).name.clone());
        for field in field_ids(standard.kind(kind)) {
            self.add(standard, closures, (kind, field));
        }
    }

    /// Where texts show a change of how they are read.
    pub(in crate::diff) fn of(change: &TextChange, search: &TextSearch<'_>) -> Self {
        let (standards, closures) = (search.standards(), search.closures());
        let mut found = Self::default();
        for (side, standard) in standards.into_iter().enumerate() {
            let closures = &closures[side];
            match change {
                TextChange::Setting(at) | TextChange::Figure(at) => {
                    if let Some(setting) = at[side] {
                        found.add(standard, closures, setting);
                    }
                }
                TextChange::Places(kinds) => found.add_kind(standard, closures, kinds[side]),
                TextChange::Parts(kinds) => {
                    let kind = standard.kind(kinds[side]);
                    let names: BTreeSet<&String> = standards
                        .iter()
                        .zip(kinds)
                        .flat_map(|(standard, kind)| {
                            let kind = standard.kind(*kind);
                            let all = kind.parts.iter().flat_map(|whole| &whole.fields);
                            all.map(|field| &kind.fields[field.0 as usize].name)
                        })
                        .collect();
                    for field in names
                        .into_iter()
                        .filter_map(|name| kind.field_names.get(name))
                    {
                        found.add(standard, closures, (kinds[side], *field));
                    }
                }
                TextChange::Unit(spelling) => {
                    let own = standard.own_units();
                    let Some((_, unit)) = own.iter().find(|(of, _)| of == spelling) else {
                        continue;
                    };
                    for kind in kind_ids(standard) {
                        for field in field_ids(standard.kind(kind)) {
                            let of = standard.field(kind, field);
                            if matches!(of.ty, Type::Quantity(_) | Type::Range(_))
                                && of.usual_unit().dimension() == unit.dimension()
                            {
                                found.add(standard, closures, (kind, field));
                            }
                        }
                    }
                }
                TextChange::Record(at) => {
                    let Some(id) = at[side] else { continue };
                    let kind = standard.record(id).kind;
                    found.records.insert(standard.record(id).name.clone());
                    found.add_kind(standard, closures, kind);
                    // Named by settings of other things.
                    for other in kind_ids(standard) {
                        for field in field_ids(standard.kind(other)) {
                            if standard.field(other, field).ty == Type::Reference(kind) {
                                found.add(standard, closures, (other, field));
                            }
                        }
                    }
                }
                TextChange::Kind(at) => {
                    if let Some(kind) = at[side] {
                        found.add_kind(standard, closures, kind);
                    }
                }
                TextChange::All => {
                    for kind in kind_ids(standard) {
                        found.add_kind(standard, closures, kind);
                    }
                }
                TextChange::Rule(at) => {
                    let Some(rule) = at[side] else { continue };
                    let part = Part {
                        rule,
                        requirements: (0..standard.rules[rule].requirements.len()).collect(),
                        verb: crate::diagnostic::Verb::Shall,
                    };
                    found.add_part(standard, closures, &part);
                    for deviation in &standard.deviations {
                        if deviation.rule != Some(rule) {
                            continue;
                        }
                        for condition in &deviation.when {
                            found.add_paths(standard, closures, condition.paths());
                        }
                        if let Some(pieces) = &deviation.pieces {
                            found.add(standard, closures, pieces.counted_by);
                        }
                    }
                }
            }
        }
        found
    }

    /// Where texts show what became of a clause.
    pub(in crate::diff) fn of_clause(clause: &Clause, search: &TextSearch<'_>) -> Self {
        let closures = search.closures();
        let mut found = Self::default();
        let parts = [&clause.old, &clause.new];
        for (side, standard) in search.standards().into_iter().enumerate() {
            if let Some(part) = parts[side] {
                found.add_part(standard, &closures[side], part);
            }
        }
        found
    }

    fn add_part(&mut self, standard: &Standard, closures: &Closures, part: &Part) {
        if let Some(each) = standard.rules[part.rule].each {
            self.kinds.insert(standard.kind(each).name.clone());
        }
        for condition in conditions(standard, part) {
            let mut all = Vec::new();
            paths(condition, &mut all);
            self.add_paths(standard, closures, all);
            let mut kinds = Vec::new();
            over(condition, &mut kinds);
            self.kinds.extend(
                kinds
                    .into_iter()
                    .map(|kind| standard.kind(kind).name.clone()),
            );
        }
    }

    fn add_paths(&mut self, standard: &Standard, closures: &Closures, paths: Vec<&Path>) {
        for path in paths {
            if let Root::Single(kind) | Root::Each(kind) | Root::Member(kind) = path.root {
                self.kinds.insert(standard.kind(kind).name.clone());
            }
            for setting in passed(path) {
                self.add(standard, closures, setting);
            }
        }
    }
}
