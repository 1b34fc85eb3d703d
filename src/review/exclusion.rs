//! Which requirements cannot apply to a combination of records, by the records that their rule names.
//!
//! A cell of a table speaks of one row and one column; so a combination meets its own cell, and none of the others.

use std::collections::{BTreeMap, BTreeSet};

use super::clauses::Clauses;
use super::study::ClauseId;
use super::symbolic_run::Situation;
use crate::types::{
    Condition, ConditionNode, KindId, Path, PlaceInRun, RecordId, Root, Standard, Target, Type,
    Value,
};

/// Requirements by the record that their rule asks for.
pub(super) struct Exclusions {
    /// Those that any combination may meet.
    anyhow: Vec<ClauseId>,
    /// By the kind they are found by, and its record.
    by_record: BTreeMap<(KindId, RecordId), Vec<ClauseId>>,
    /// The records that each may meet, by kind.
    only: BTreeMap<ClauseId, BTreeMap<KindId, BTreeSet<RecordId>>>,
}

impl Exclusions {
    /// Of some requirements, for combinations of records of these kinds.
    pub(super) fn new(
        standard: &Standard,
        clauses: &Clauses,
        ids: &[ClauseId],
        kinds: &BTreeSet<KindId>,
    ) -> Self {
        let mut found = Self {
            anyhow: Vec::new(),
            by_record: BTreeMap::new(),
            only: BTreeMap::new(),
        };
        for id in ids {
            let rule = &standard.rules[clauses.list[*id].rule];
            let mut only: BTreeMap<KindId, BTreeSet<RecordId>> = BTreeMap::new();
            for (kind, records) in rule.when.iter().filter_map(|when| named(standard, when)) {
                if !kinds.contains(&kind) {
                    continue;
                }
                match only.entry(kind) {
                    std::collections::btree_map::Entry::Vacant(entry) => {
                        entry.insert(records);
                    }
                    std::collections::btree_map::Entry::Occupied(mut entry) => {
                        entry.get_mut().retain(|record| records.contains(record));
                    }
                }
            }
            // It is found by the kind of which it names the fewest.
            let Some(kind) = only.iter().min_by_key(|(_, records)| records.len()) else {
                found.anyhow.push(*id);
                continue;
            };
            for record in kind.1 {
                let of = found.by_record.entry((*kind.0, *record)).or_default();
                of.push(*id);
            }
            found.only.insert(*id, only);
        }
        found
    }

    /// About how many requirements are met in so many situations, all told.
    pub(super) fn met_in(&self, standard: &Standard, situations: usize) -> u64 {
        let all = u64::try_from(situations).unwrap_or(u64::MAX);
        let share = |only: &BTreeMap<KindId, BTreeSet<RecordId>>| {
            only.iter().fold(all, |left, (kind, records)| {
                let of = standard.records_of(*kind).count().max(1);
                let (mine, of) = (records.len() as u64, of as u64);
                left.saturating_mul(mine).div_ceil(of)
            })
        };
        let anyhow = all.saturating_mul(self.anyhow.len() as u64);
        let named = self.only.values().map(share);
        named.fold(anyhow, u64::saturating_add)
    }

    /// The requirements that may apply in a situation, in their order.
    pub(super) fn meets(&self, situation: &Situation) -> Vec<ClauseId> {
        let mut found = self.anyhow.clone();
        for (kind, record) in &situation.records {
            let Some(record) = record else { continue };
            let of = self.by_record.get(&(*kind, *record)).into_iter().flatten();
            found.extend(of.filter(|id| self.may_meet(**id, situation)));
        }
        found.sort_unstable();
        found
    }

    /// Whether no record of a situation keeps a requirement from applying.
    fn may_meet(&self, id: ClauseId, situation: &Situation) -> bool {
        let Some(only) = self.only.get(&id) else {
            return true;
        };
        only.iter().all(|(kind, records)| {
            let of = situation.records.get(kind).copied().flatten();
            of.is_some_and(|record| records.contains(&record))
        })
    }
}

/// The kind that a condition names records of, and the records that are among them.
fn named(standard: &Standard, condition: &Condition) -> Option<(KindId, BTreeSet<RecordId>)> {
    let ConditionNode::Is { path, values, .. } = &condition.node else {
        return None;
    };
    let kind = kind_of(standard, path)?;
    let mut wanted = Vec::new();
    for value in values {
        match value {
            Value::Reference(Target::Record(record)) => wanted.push(*record),
            _ => return None,
        }
    }
    let fits = |id: &RecordId| wanted.iter().any(|of| standard.descends(*id, *of));
    let records = standard.records_of(kind).map(|(id, _)| id);
    Some((kind, records.filter(fits).collect()))
}

/// The kind whose record a path stands for in every run of a situation.
fn kind_of(standard: &Standard, path: &Path) -> Option<KindId> {
    if let (Root::Single(kind), []) = (path.root, path.hops.as_slice()) {
        return Some(kind);
    }
    if path.goes_by_order() {
        return None;
    }
    let (holder, field) = path.setting()?;
    let Type::Reference(to) = standard.field(holder, field).ty else {
        return None;
    };
    // Where a record of the thing itself says which it is, it need not be the one of the situation.
    let mut holders = standard.records_of(holder);
    let stated = holders.any(|(_, of)| of.values[field.0 as usize].is_some());
    (standard.kind(to).place == PlaceInRun::Record && !stated).then_some(to)
}
