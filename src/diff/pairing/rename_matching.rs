//! Which kind, setting and record of the old standard is which of the new one.
//!
//! By name first; what is left over on both sides by meaning. The old standard is then read with the
//! new names, so that everything else compares by name alone.

use std::collections::BTreeMap;

use crate::diff::canonical;
use crate::types::{FieldId, Kind, KindId, RecordId, Standard};

/// What has another name now.
#[derive(Debug, Clone, Default)]
pub(in crate::diff) struct Renamed {
    /// Kinds.
    pub(in crate::diff) kinds: BTreeMap<KindId, String>,
    /// Settings.
    pub(in crate::diff) fields: BTreeMap<(KindId, FieldId), String>,
    /// Records.
    pub(in crate::diff) records: BTreeMap<RecordId, String>,
}

/// A kind by its number.
pub(in crate::diff) fn kind_ids(standard: &Standard) -> impl Iterator<Item = KindId> + use<> {
    let count = u32::try_from(standard.kinds.len()).unwrap_or(u32::MAX);
    (0..count).map(KindId)
}

/// The settings of a kind by their numbers.
pub(in crate::diff) fn field_ids(kind: &Kind) -> impl Iterator<Item = FieldId> + use<> {
    let count = u32::try_from(kind.fields.len()).unwrap_or(u32::MAX);
    (0..count).map(FieldId)
}

/// Records by their numbers.
pub(in crate::diff) fn record_ids(standard: &Standard) -> impl Iterator<Item = RecordId> + use<> {
    let count = u32::try_from(standard.records.len()).unwrap_or(u32::MAX);
    (0..count).map(RecordId)
}

/// Pairs up what is left on both sides and has one and the same meaning.
pub(in crate::diff) fn pairs<O: Copy, N: Copy>(
    old: &[(String, O)],
    new: &[(String, N)],
) -> Vec<(O, N)> {
    let mut found = Vec::new();
    for (key, one) in old {
        let mine = old.iter().filter(|(other, _)| other == key).count();
        let mut theirs = new.iter().filter(|(other, _)| other == key);
        if let (1, Some((_, other)), None) = (mine, theirs.next(), theirs.next()) {
            found.push((*one, *other));
        }
    }
    found
}

/// Finds renamed kinds, settings and records, and gives the old standard with the new names.
pub(in crate::diff) fn match_names(old: &Standard, new: &Standard) -> (Standard, Renamed) {
    let mut view = old.clone();
    let mut renamed = Renamed::default();
    kinds(&mut view, new, &mut renamed);
    fields(&mut view, new, &mut renamed);
    // A record may be told apart only once its parent or what it names has its new name.
    for _ in 0..4 {
        if !records(&mut view, new, &mut renamed) {
            break;
        }
    }
    (view, renamed)
}

fn kinds(view: &mut Standard, new: &Standard, renamed: &mut Renamed) {
    let left = |of: &Standard, other: &Standard| -> Vec<(String, KindId)> {
        kind_ids(of)
            .filter(|id| !other.kind_names.contains_key(&of.kind(*id).name))
            .map(|id| {
                let kind = of.kind(id);
                let mut text = format!("{:?}", kind.place);
                for field in &kind.fields {
                    text.push_str(&format!(" {} {:?};", field.name, field.sentence));
                }
                (text, id)
            })
            .collect()
    };
    for (id, other) in pairs(&left(view, new), &left(new, view)) {
        if view.kind(id).fields.is_empty() {
            continue;
        }
        let name = new.kind(other).name.clone();
        let before = view.kind(id).name.clone();
        view.kind_names.remove(&before);
        view.kind_names.insert(name.clone(), id);
        view.kinds[id.0 as usize].name.clone_from(&name);
        renamed.kinds.insert(id, name);
    }
}

fn fields(view: &mut Standard, new: &Standard, renamed: &mut Renamed) {
    for id in kind_ids(view) {
        let Some(&other) = new.kind_names.get(&view.kind(id).name) else {
            continue;
        };
        let left = |of: &Standard, id: KindId, other: &Kind| -> Vec<(String, FieldId)> {
            let kind = of.kind(id);
            field_ids(kind)
                .filter(|field| {
                    let name = &kind.fields[field.0 as usize].name;
                    !other.field_names.contains_key(name)
                })
                .map(|field| {
                    let of_field = &kind.fields[field.0 as usize];
                    (canonical::field(of, of_field, true), field)
                })
                .collect()
        };
        let mine = left(view, id, new.kind(other));
        let theirs = left(new, other, view.kind(id));
        for (field, to) in pairs(&mine, &theirs) {
            let name = new.field(other, to).name.clone();
            let kind = &mut view.kinds[id.0 as usize];
            kind.field_names.remove(&kind.fields[field.0 as usize].name);
            kind.field_names.insert(name.clone(), field);
            kind.fields[field.0 as usize].name.clone_from(&name);
            renamed.fields.insert((id, field), name);
        }
    }
}

/// The record of the other standard with the same kind and name.
pub(in crate::diff) fn same_record(
    of: &Standard,
    id: RecordId,
    other: &Standard,
) -> Option<RecordId> {
    let record = of.record(id);
    let kind = other.kind_names.get(&of.kind(record.kind).name)?;
    other
        .record_names
        .get(&(*kind, record.name.clone()))
        .copied()
}

fn records(view: &mut Standard, new: &Standard, renamed: &mut Renamed) -> bool {
    let left = |of: &Standard, other: &Standard| -> Vec<(String, RecordId)> {
        record_ids(of)
            .filter(|id| same_record(of, *id, other).is_none())
            .map(|id| {
                let record = of.record(id);
                let parent = record.parent.map(|id| of.record(id).name.as_str());
                let kind = of.kind(record.kind);
                let mut text = format!("{} is {parent:?} {:?}", kind.name, record.title);
                let mut values: Vec<String> = kind
                    .fields
                    .iter()
                    .zip(&record.values)
                    .filter_map(|(field, stated)| {
                        let value = &stated.as_ref()?.value;
                        Some(format!(
                            "; {} {}",
                            field.name,
                            canonical::value(of, &field.ty, value)
                        ))
                    })
                    .collect();
                values.sort_unstable();
                text.extend(values);
                (text, id)
            })
            .collect()
    };
    let found = pairs(&left(view, new), &left(new, view));
    for (id, other) in &found {
        let name = new.record(*other).name.clone();
        let kind = view.record(*id).kind;
        let before = view.record(*id).name.clone();
        view.record_names.remove(&(kind, before));
        view.record_names.insert((kind, name.clone()), *id);
        view.records[id.0 as usize].name.clone_from(&name);
        renamed.records.insert(*id, name);
    }
    !found.is_empty()
}
