//! What is worked out differently, and which records give other values.

use std::collections::{BTreeMap, BTreeSet};

use crate::diff::canonical;
use crate::diff::conditions::paths::over_expression;
use crate::diff::pairing::rename_matching::{field_ids, kind_ids, record_ids, same_record};
use crate::types::{
    Expression, ExpressionNode, FieldId, Function, Hop, KindId, Path, Read, RecordId, Standard,
    Stated, Target, Type, Value,
};

/// A setting by the names of its kind and of itself.
pub(in crate::diff) type Name = (String, String);

/// A setting of a kind.
pub(in crate::diff) type Setting = (KindId, FieldId);

/// The name of a setting.
pub(in crate::diff) fn name(standard: &Standard, (kind, field): Setting) -> Name {
    let of = standard.kind(kind);
    (of.name.clone(), of.fields[field.0 as usize].name.clone())
}

/// The settings that a path passes, references on the way included.
pub(in crate::diff) fn passed(path: &Path) -> impl Iterator<Item = Setting> + '_ {
    path.hops.iter().filter_map(|hop| match hop {
        Hop::Field(kind, field) => Some((*kind, *field)),
        _ => None,
    })
}

/// A value of a record, its own or one it has from a record it is, and who states it.
pub(in crate::diff) fn inherited(
    standard: &Standard,
    record: RecordId,
    field: FieldId,
) -> Option<(RecordId, &Stated)> {
    let mut at = record;
    for _ in 0..=standard.records.len() {
        let here = standard.record(at);
        if let Some(stated) = here.values.get(field.0 as usize).and_then(Option::as_ref) {
            return (!matches!(stated.value, Value::Wrong)).then_some((at, stated));
        }
        at = here.parent?;
    }
    None
}

/// What a setting of a record comes to, as a text.
pub(in crate::diff) fn resolved(
    standard: &Standard,
    record: RecordId,
    field: FieldId,
) -> Option<String> {
    let ty = &standard.field(standard.record(record).kind, field).ty;
    let (_, stated) = inherited(standard, record, field)?;
    Some(canonical::value(standard, ty, &stated.value))
}

/// What is so behind the dial of a setting by a record, as a text, where it says that the dial reads wrong.
pub(in crate::diff) fn behind_dial(
    standard: &Standard,
    record: RecordId,
    field: FieldId,
) -> Option<String> {
    let found = standard.calibration(record, field)?;
    Some(found.canonical())
}

/// What each worked-out setting of a standard reads in the end.
#[derive(Debug, Clone, Default)]
pub(in crate::diff) struct Closures {
    of: BTreeMap<Name, BTreeSet<Name>>,
    /// The kinds that its own formula goes over.
    over: BTreeMap<Name, BTreeSet<String>>,
    /// Settings that go over all things of a kind, by the order of the sequence, or by what is stated.
    wide: BTreeSet<Name>,
}

impl Closures {
    pub(in crate::diff) fn new(standard: &Standard) -> Self {
        let mut direct: BTreeMap<Name, BTreeSet<Name>> = BTreeMap::new();
        let mut closures = Self::default();
        for id in kind_ids(standard) {
            for field in field_ids(standard.kind(id)) {
                let of = standard.field(id, field);
                let mut reads = BTreeSet::new();
                let mut wide = false;
                let mut kinds = Vec::new();
                if let Some(formula) = &of.formula {
                    over_expression(formula, &mut kinds);
                    wide |= chooses(formula);
                    formula.reads(&mut |read| match read.path() {
                        Some(path) => {
                            wide |= path.goes_by_order();
                            reads.extend(passed(path).map(|of| name(standard, of)));
                        }
                        None => wide |= matches!(read, Read::Over),
                    });
                }
                if let Some(path) = &of.reference {
                    reads.extend(passed(path).map(|of| name(standard, of)));
                }
                if !reads.is_empty() || wide {
                    let own = name(standard, (id, field));
                    if !kinds.is_empty() {
                        let kinds = kinds.iter().map(|kind| standard.kind(*kind).name.clone());
                        closures.over.insert(own.clone(), kinds.collect());
                    }
                    if wide {
                        closures.wide.insert(own.clone());
                    }
                    direct.insert(own, reads);
                }
            }
        }
        for own in direct.keys() {
            let mut seen = BTreeSet::new();
            let mut left = vec![own];
            while let Some(at) = left.pop() {
                for read in direct.get(at).into_iter().flatten() {
                    if seen.insert(read.clone()) {
                        left.push(read);
                    }
                }
            }
            closures.of.insert(own.clone(), seen);
        }
        closures
    }

    /// All that a setting is worked out from.
    pub(in crate::diff) fn of<'c>(
        &'c self,
        name: &Name,
    ) -> impl Iterator<Item = &'c Name> + use<'c> {
        self.of.get(name).into_iter().flatten()
    }

    /// The kinds that it, or what it is worked out from, goes over.
    pub(in crate::diff) fn over(&self, name: &Name) -> BTreeSet<String> {
        let all = self.of(name).chain([name]);
        all.filter_map(|of| self.over.get(of))
            .flatten()
            .cloned()
            .collect()
    }

    /// Whether a setting is worked out from others.
    pub(in crate::diff) fn is_worked_out(&self, name: &Name) -> bool {
        self.of.contains_key(name)
    }

    /// Whether it, or something it is worked out from, goes over a kind or by the sequence.
    pub(in crate::diff) fn is_wide(&self, name: &Name) -> bool {
        self.wide.contains(name) || self.of(name).any(|read| self.wide.contains(read))
    }
}

/// Whether it may be worked out in several ways, by what is stated.
pub(in crate::diff) fn chooses(of: &Expression) -> bool {
    of.any(&mut |part| {
        matches!(
            part.node,
            ExpressionNode::Call(Function::Otherwise | Function::Choose, _)
                | ExpressionNode::Over { .. }
        )
    })
}

/// What two standards work out or state differently.
#[derive(Debug, Clone, Default)]
pub(in crate::diff) struct Differences {
    /// Settings whose own formula is another.
    pub(in crate::diff) formulas: BTreeSet<Name>,
    /// By setting: the records, by their new names, that give another value.
    pub(in crate::diff) values: BTreeMap<Name, BTreeSet<String>>,
    /// By kind: the records that descend from others than before.
    pub(in crate::diff) ancestry: BTreeMap<String, BTreeSet<String>>,
}

impl Differences {
    pub(in crate::diff) fn between(old: &Standard, new: &Standard) -> Self {
        let mut found = Self::default();
        for id in kind_ids(old) {
            let Some(&other) = new.kind_names.get(&old.kind(id).name) else {
                continue;
            };
            for field in field_ids(old.kind(id)) {
                let own = name(old, (id, field));
                let Some(&to) = new.kind(other).field_names.get(&own.1) else {
                    continue;
                };
                let forms = (
                    canonical::formula(old, old.field(id, field)),
                    canonical::formula(new, new.field(other, to)),
                );
                if forms.0 != forms.1 {
                    found.formulas.insert(own);
                }
            }
        }
        for id in record_ids(old) {
            let Some(other) = same_record(old, id, new) else {
                continue;
            };
            let record = old.record(id);
            let kind = old.kind(record.kind);
            for field in field_ids(kind) {
                let own = name(old, (record.kind, field));
                let there = new.record(other).kind;
                let theirs = new.kind(there).field_names.get(&own.1);
                let of = |standard, record, field| {
                    (
                        resolved(standard, record, field),
                        behind_dial(standard, record, field),
                    )
                };
                let theirs = theirs
                    .map(|field| of(new, other, *field))
                    .unwrap_or_default();
                if of(old, id, field) != theirs {
                    found
                        .values
                        .entry(own)
                        .or_default()
                        .insert(record.name.clone());
                }
            }
            // A setting that only the new standard has.
            let there = new.record(other).kind;
            for field in field_ids(new.kind(there)) {
                let own = name(new, (there, field));
                if !kind.field_names.contains_key(&own.1) && resolved(new, other, field).is_some() {
                    found
                        .values
                        .entry(own)
                        .or_default()
                        .insert(record.name.clone());
                }
            }
            if ancestors(old, id) != ancestors(new, other) {
                found
                    .ancestry
                    .entry(kind.name.clone())
                    .or_default()
                    .insert(record.name.clone());
            }
        }
        found
    }

    /// Whether nothing that could decide an outcome differs.
    pub(in crate::diff) fn is_empty(&self) -> bool {
        self.formulas.is_empty() && self.values.is_empty() && self.ancestry.is_empty()
    }
}

/// A record and all it is.
pub(in crate::diff) fn ancestors(standard: &Standard, record: RecordId) -> Vec<&str> {
    let mut found = Vec::new();
    let mut at = Some(record);
    while let Some(id) = at {
        if found.len() > standard.records.len() {
            break;
        }
        let here = standard.record(id);
        found.push(here.name.as_str());
        at = here.parent;
    }
    found
}

/// The record that a setting of a record names.
pub(in crate::diff) fn named(
    standard: &Standard,
    record: RecordId,
    field: FieldId,
) -> Option<RecordId> {
    match inherited(standard, record, field)?.1.value {
        Value::Reference(Target::Record(id)) => Some(id),
        _ => None,
    }
}

/// The kind that a setting refers to.
pub(in crate::diff) fn refers(standard: &Standard, (kind, field): Setting) -> Option<KindId> {
    match standard.field(kind, field).ty {
        Type::Reference(to) => Some(to),
        _ => None,
    }
}
