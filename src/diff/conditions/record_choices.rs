//! Which records are chosen for a clause, and in which combinations.

use std::collections::{BTreeMap, BTreeSet};

use crate::diff::clause_effect::ClauseEffects;
use crate::diff::conditions::dependencies::{Name, name, passed};
use crate::diff::conditions::lower_condition::Situation;
use crate::diff::conditions::paths::slots;
use crate::diff::pairing::clauses::Clause;
use crate::diff::witness::witness_query::{Choice, Reads};
use crate::types::{KindId, PlaceInRun, RecordId, Standard};

/// The most combinations of records that one clause is looked at for.
const MOST_COMBINATIONS: usize = 6_000;

/// A place at which a record is chosen: its kind, and the records both standards have.
pub(in crate::diff) type Slot = (String, Vec<Option<String>>);

fn of_kind(standard: &Standard, name: &str) -> KindId {
    standard.kind_names.get(name).copied().unwrap_or(KindId(0))
}

impl ClauseEffects<'_, '_> {
    pub(in crate::diff) fn slots(&self, clause: &Clause, reads: &[Reads]) -> Vec<(String, Slot)> {
        let differences = &self.worlds.differences;
        let mut met: BTreeMap<String, String> = BTreeMap::new();
        // Where a clause asks which record something is.
        let mut asked: BTreeSet<String> = BTreeSet::new();
        let mut closures = BTreeSet::new();
        for read in reads {
            let world = self.side(read.new);
            let view = world.view;
            for setting in passed(&read.path) {
                let own = name(view, setting);
                closures.extend(world.closures.of(&own).cloned());
            }
            for (key, kind, field) in slots(view, &read.path) {
                let of = view.kind(kind);
                let stated = |standard: &Standard| {
                    let Some(&kind) = standard.kind_names.get(&of.name) else {
                        return false;
                    };
                    let Some(field) = field else { return true };
                    let name = &view.field(of_kind(view, &of.name), field).name;
                    let Some(&field) = standard.kind(kind).field_names.get(name) else {
                        return false;
                    };
                    let part = |whole: &crate::types::Parts| whole.fields.contains(&field);
                    let whole = standard.kind(kind).parts.iter().find(|whole| part(whole));
                    standard.records.iter().any(|record| {
                        let states = |field: crate::types::FieldId| {
                            record
                                .values
                                .get(field.0 as usize)
                                .is_some_and(Option::is_some)
                        };
                        record.kind == kind
                            && (states(field)
                                || whole.is_some_and(|whole| {
                                    whole.fields.iter().any(|part| states(*part))
                                }))
                    })
                };
                let bears = match of.place {
                    PlaceInRun::Record => true,
                    PlaceInRun::Step => false,
                    PlaceInRun::One => stated(self.worlds.old.view) || stated(self.worlds.new.view),
                    PlaceInRun::Many => match field {
                        None => true,
                        Some(field) => {
                            let own = name(view, (kind, field));
                            differences.values.contains_key(&own)
                        }
                    },
                };
                if bears {
                    if field.is_none() {
                        asked.insert(key.clone());
                    }
                    met.insert(key, of.name.clone());
                }
            }
        }
        // Records that a figure rests on somewhere, where they say something else now.
        for own in differences.values.keys() {
            let known = met.values().any(|kind| *kind == own.0);
            if closures.contains(own) && !known {
                met.insert(format!("any {}", own.0), own.0.clone());
            }
        }
        let _ = clause;
        let mut found = Vec::new();
        for (key, kind) in met {
            let mut options = self.records(&kind);
            let one = self.worlds.new.view.kind_names.get(&kind);
            let place = one.map(|kind| self.worlds.new.view.kind(*kind).place);
            match place {
                Some(PlaceInRun::Record) if options.is_empty() => continue,
                // A plan may name none: what stands behind it is missing then.
                Some(PlaceInRun::Record) => options.push(None),
                Some(PlaceInRun::Many) if !asked.contains(&key) => {
                    // A plan may state all of it itself: only what differs has to be looked at.
                    options.retain(|record| self.differs(&kind, record.as_deref()));
                    options.push(None);
                }
                _ => options.push(None),
            }
            found.push((key, (kind, options)));
        }
        found
    }

    /// Whether a record says something else now.
    fn differs(&self, kind: &str, record: Option<&str>) -> bool {
        let Some(record) = record else { return false };
        let differences = &self.worlds.differences;
        let values = differences.values.iter();
        let value =
            |(own, records): (&Name, &BTreeSet<String>)| own.0 == kind && records.contains(record);
        values.into_iter().any(value)
            || differences
                .ancestry
                .get(kind)
                .is_some_and(|records| records.contains(record))
    }

    /// The records of a kind that both standards have, the shop's own first.
    fn records(&self, kind: &str) -> Vec<Option<String>> {
        let (old, new) = (self.worlds.old.view, self.worlds.new.view);
        let (Some(&before), Some(&after)) = (old.kind_names.get(kind), new.kind_names.get(kind))
        else {
            return Vec::new();
        };
        let mut names: Vec<String> = new
            .records
            .iter()
            .filter(|record| record.kind == after)
            .filter(|record| {
                old.record_names
                    .contains_key(&(before, record.name.clone()))
            })
            .map(|record| record.name.clone())
            .collect();
        names.sort_by_key(|name| !(self.own)(kind, name));
        names.into_iter().map(Some).collect()
    }

    /// All choices of records; slots are left open, largest first, where there are too many.
    pub(in crate::diff) fn choices(
        &self,
        clause: &Clause,
        slots: &mut Vec<(String, Slot)>,
    ) -> Vec<Choice> {
        let size = |slots: &[(String, Slot)]| {
            slots
                .iter()
                .map(|(_, (_, options))| options.len())
                .try_fold(1_usize, usize::checked_mul)
        };
        if size(slots).is_none_or(|size| size > MOST_COMBINATIONS) && clause.same {
            // The clause is the same: only records that say something else can make a difference.
            for (_, (kind, options)) in slots.iter_mut() {
                if options
                    .iter()
                    .any(|record| self.differs(kind, record.as_deref()))
                {
                    options.retain(|record| self.differs(kind, record.as_deref()));
                }
            }
        }
        while size(slots).is_none_or(|size| size > MOST_COMBINATIONS) {
            let largest = (0..slots.len()).max_by_key(|index| slots[*index].1.1.len());
            let Some(index) = largest else { break };
            slots.remove(index);
        }
        let mut found = vec![Choice::new()];
        for (key, (_, options)) in slots.iter() {
            found = found
                .iter()
                .flat_map(|known| {
                    options.iter().map(|option| {
                        let mut known = known.clone();
                        known.insert(key.clone(), option.clone());
                        known
                    })
                })
                .collect();
        }
        found
    }

    pub(in crate::diff) fn situation(
        &self,
        new: bool,
        choice: &Choice,
        slots: &[(String, Slot)],
    ) -> Situation {
        let view = self.side(new).view;
        let id = |key: &String, record: &Option<String>| -> Option<RecordId> {
            let (_, (kind, _)) = slots.iter().find(|(slot, _)| slot == key)?;
            let kind = view.kind_names.get(kind)?;
            let record = record.as_ref()?;
            view.record_names.get(&(*kind, record.clone())).copied()
        };
        choice
            .iter()
            .map(|(key, record)| (key.clone(), id(key, record)))
            .collect()
    }
}
