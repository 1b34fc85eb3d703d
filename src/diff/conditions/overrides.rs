//! What a plan may state instead of the record it uses.
//!
//! A value that the plan states wins over that of its record, and is the same for both standards. What a
//! record says differently may so be mixed with values that no record has: each mixture is one question.

use std::collections::{BTreeMap, BTreeSet};

use crate::diff::clause_effect::ClauseEffects;
use crate::diff::conditions::dependencies::{inherited, name, named, refers};
use crate::diff::conditions::lower_condition::Situation;
use crate::diff::conditions::paths::root_key;
use crate::diff::witness::synthetic_plan::{Setting, SyntheticPlan, place};
use crate::diff::witness::witness_query::{Reads, WitnessQuery};
use crate::types::{FieldId, Hop, KindId, PlaceInRun, RecordId, Standard, Stated, Value};
use crate::units::{Exact, Unit};

/// What a plan states instead of the records it uses.
#[derive(Debug, Clone, Default, PartialEq)]
pub(in crate::diff) struct Overrides {
    /// By setting of a thing that a record states: whether the plan states it instead.
    instead: BTreeMap<String, bool>,
    /// By share that the plan states: the most it can be beside those that come from records.
    most: BTreeMap<String, Exact>,
}

impl Overrides {
    /// Whether the plan states a setting instead of the record; `None` where no record states it.
    pub(in crate::diff) fn get(&self, key: &str) -> Option<bool> {
        self.instead.get(key).copied()
    }

    /// The most that a share can be which the plan states.
    pub(in crate::diff) fn most(&self, key: &str) -> Option<&Exact> {
        self.most.get(key)
    }

    /// Where a plan states this one setting, whatever its record does.
    pub(in crate::diff) fn stating(key: String) -> Self {
        Self {
            instead: [(key, true)].into(),
            ..Self::default()
        }
    }

    /// The same, with one setting left to the record.
    pub(in crate::diff) fn but(&self, key: String) -> Self {
        let mut overrides = self.clone();
        overrides.instead.insert(key, false);
        overrides
    }
}

/// The most settings of records that differ of which every mixture is looked at.
const MOST_MIXED: usize = 6;

/// Whether the record says that a setting is nothing, as it states other shares of the whole.
pub(in crate::diff) fn is_rest(
    standard: &Standard,
    record: RecordId,
    (kind, field): (KindId, FieldId),
) -> bool {
    let wholes = &standard.kind(kind).parts;
    wholes.iter().any(|whole| {
        let mut parts = whole.fields.iter();
        whole.fields.contains(&field)
            && parts.any(|part| inherited(standard, record, *part).is_some())
    })
}

/// The ways in which plans may state what a clause reads of the records chosen.
pub(in crate::diff) struct Mixtures {
    /// All of it comes from the records.
    pub(in crate::diff) plain: Overrides,
    /// Some of it comes from the plan.
    pub(in crate::diff) mixed: Vec<Overrides>,
    /// Whether there are more than were listed.
    pub(in crate::diff) open: bool,
}

impl ClauseEffects<'_, '_> {
    /// How plans may state what is read of records; `asks` where the clause asks which records they are.
    pub(in crate::diff) fn mixtures(
        &self,
        reads: &[Reads],
        situations: &[Situation; 2],
        asks: bool,
    ) -> Mixtures {
        let mut met: BTreeMap<String, bool> = BTreeMap::new();
        for read in reads {
            for (new, situation) in [(false, &situations[0]), (true, &situations[1])] {
                // A path of one side says for both what records are asked for.
                if read.new == new {
                    self.met(read, new, situation, &mut met);
                }
            }
        }
        let plain = Overrides {
            instead: met.keys().map(|key| (key.clone(), false)).collect(),
            ..Overrides::default()
        };
        let differ: Vec<&String> = met.iter().filter(|of| *of.1).map(|of| of.0).collect();
        let mut found = Mixtures {
            plain,
            mixed: Vec::new(),
            open: differ.len() > MOST_MIXED,
        };
        // With nothing from the records it is as if none were chosen, which is looked at by itself.
        let from = usize::from(!asks);
        let until = match met.len() {
            0 => 0,
            _ => 1_usize << differ.len().min(MOST_MIXED),
        };
        for bits in from..until {
            let mut overrides = Overrides {
                instead: met.keys().map(|key| (key.clone(), true)).collect(),
                ..Overrides::default()
            };
            for (bit, key) in differ.iter().enumerate().take(MOST_MIXED) {
                overrides
                    .instead
                    .insert((*key).clone(), bits >> bit & 1 == 0);
            }
            if overrides != found.plain && self.adds_up(&mut overrides, situations).is_some() {
                found.mixed.push(overrides);
            }
        }
        found
    }

    /// The settings on a path that one of the records chosen states, and whether it says something else now.
    fn met(
        &self,
        read: &Reads,
        new: bool,
        situation: &Situation,
        met: &mut BTreeMap<String, bool>,
    ) {
        let view = self.side(new).view;
        let (_, mut key) = root_key(view, read.path.root);
        let at = |key: &str| situation.get(key).copied().flatten();
        let mut record = at(&key);
        for hop in &read.path.hops {
            let Hop::Field(kind, field) = hop else { return };
            let own = (*kind, *field);
            key = format!("{key}.{}", view.field(*kind, *field).name);
            let in_run = matches!(place(view, *kind), PlaceInRun::One | PlaceInRun::Many);
            if let Some(record) = record.filter(|_| in_run) {
                let differs = self.says_else(view, record, own);
                let stated = inherited(view, record, *field).is_some();
                if differs || stated || is_rest(view, record, own) {
                    *met.entry(key.clone()).or_default() |= differs;
                }
            }
            if refers(view, own).is_some() {
                let given = record.and_then(|record| named(view, record, *field));
                record = given.or_else(|| at(&key));
            }
        }
    }

    /// Works out the most that shares can be which the plan states; `None` where those from records, mixed so,
    /// cannot add up to the same whole for both standards.
    fn adds_up(&self, overrides: &mut Overrides, situations: &[Situation; 2]) -> Option<()> {
        let [old, new] = [self.side(false).view, self.side(true).view];
        let places = overrides
            .instead
            .keys()
            .filter_map(|key| key.rsplit_once('.'));
        let places: BTreeSet<String> = places.map(|(place, _)| place.to_owned()).collect();
        for place in places {
            let at = |side: usize| situations[side].get(&place).copied().flatten();
            let (Some(before), Some(after)) = (at(0), at(1)) else {
                continue;
            };
            let kind = new.record(after).kind;
            for whole in &new.kind(kind).parts {
                let parts = whole.fields.iter().map(|field| {
                    let own = &new.field(kind, *field).name;
                    let was = old.kind(old.record(before).kind).field_names.get(own);
                    let was = was.and_then(|field| inherited(old, before, *field));
                    let part = Part {
                        key: format!("{place}.{own}"),
                        was: share(was)?,
                        is: share(inherited(new, after, *field))?,
                    };
                    Some((part, was.is_some()))
                });
                let Some(parts) = parts.collect::<Option<Vec<(Part, bool)>>>() else {
                    continue;
                };
                let stated = whole
                    .fields
                    .iter()
                    .any(|field| inherited(new, after, *field).is_some());
                if !stated || !parts.iter().any(|(_, stated)| *stated) {
                    continue;
                }
                let parts: Vec<Part> = parts.into_iter().map(|(part, _)| part).collect();
                let most = most_left(&parts, overrides, &whole.total)?;
                for part in parts {
                    if overrides.get(&part.key) == Some(true) {
                        overrides.most.insert(part.key, most.clone());
                    }
                }
            }
        }
        Some(())
    }

    fn says_else(
        &self,
        view: &Standard,
        record: RecordId,
        (kind, field): (KindId, FieldId),
    ) -> bool {
        let whole = view.kind(kind).parts.iter();
        let mut fields = vec![field];
        for whole in whole.filter(|whole| whole.fields.contains(&field)) {
            fields.extend(&whole.fields);
        }
        let record = &view.record(record).name;
        fields.into_iter().any(|field| {
            let values = &self.worlds.differences.values;
            let records = values.get(&name(view, (kind, field)));
            records.is_some_and(|records| records.contains(record))
        })
    }
}

/// A share of a whole, in both standards.
struct Part {
    key: String,
    was: Exact,
    is: Exact,
}

/// What a record gives as a share; nothing where it states others of the whole, `None` for a span.
fn share(of: Option<(RecordId, &Stated)>) -> Option<Exact> {
    match of.map(|of| &of.1.value) {
        Some(Value::Quantity(value)) if value.low == value.high => Some(value.low.clone()),
        Some(_) => None,
        None => Some(Exact::ZERO),
    }
}

/// The most that the shares of a plan come to beside those of records; what is not read may be either.
fn most_left(parts: &[Part], overrides: &Overrides, total: &Exact) -> Option<Exact> {
    let (mut moved, mut left) = (Exact::ZERO, total.clone());
    let mut free = Vec::new();
    for part in parts {
        match overrides.get(&part.key) {
            Some(true) => {}
            Some(false) => {
                moved = moved.add(&part.is.sub(&part.was));
                left = left.sub(&part.was);
            }
            None if part.was.is_zero() && part.is.is_zero() => {}
            None => free.push(part),
        }
    }
    let each = (0..1_u32 << free.len().min(12)).filter_map(|bits| {
        let chosen = free
            .iter()
            .enumerate()
            .filter(|(bit, _)| bits >> bit & 1 == 1);
        let (mut moved, mut left) = (moved.clone(), left.clone());
        for (_, part) in chosen {
            moved = moved.add(&part.is.sub(&part.was));
            left = left.sub(&part.was);
        }
        (moved.is_zero() && left >= Exact::ZERO).then_some(left)
    });
    let most = each.fold(None, |most: Option<Exact>, left| match most {
        Some(most) => Some(Exact::max(&most, &left)),
        None => Some(left),
    });
    // Of so many shares not all mixtures were looked at.
    if free.len() > 12 {
        Some(total.clone())
    } else {
        most
    }
}

impl WitnessQuery<'_, '_> {
    /// States the other shares of a whole of which a plan states some instead of its record; whether any was left.
    pub(in crate::diff) fn make_whole(&self, draft: &mut SyntheticPlan) -> bool {
        let mut added = false;
        for thing in &mut draft.things {
            let Some(record) = thing.record.clone() else {
                continue;
            };
            let view = self.worlds.new.view;
            let Some(&kind) = view.kind_names.get(&thing.kind) else {
                continue;
            };
            for whole in &view.kind(kind).parts {
                let mut left = whole.total.clone();
                let (mut some, mut others) = (false, Vec::new());
                for field in &whole.fields {
                    let name = &view.field(kind, *field).name;
                    match thing.settings.iter().find(|(of, _)| of == name) {
                        Some((_, Setting::Number(value, _))) => {
                            left = left.sub(value);
                            some = true;
                        }
                        _ => others.push(name.clone()),
                    }
                }
                let stated = |name: &String| {
                    self.worlds().into_iter().any(|world| {
                        let view = world.view;
                        let own = view.kind_names.get(&thing.kind).and_then(|kind| {
                            let record = view.record_names.get(&(*kind, record.clone()))?;
                            let field = view.kind(*kind).field_names.get(name)?;
                            inherited(view, *record, *field)
                        });
                        own.is_some()
                    })
                };
                if !some || left < Exact::ZERO {
                    continue;
                }
                let mut said: Vec<String> =
                    others.iter().filter(|name| stated(name)).cloned().collect();
                if said.is_empty() && left > Exact::ZERO {
                    said.extend(others.into_iter().take(1));
                }
                for name in said {
                    let value = std::mem::replace(&mut left, Exact::ZERO);
                    let percent = Some(Unit::percent());
                    thing.settings.push((name, Setting::Number(value, percent)));
                    added = true;
                }
            }
        }
        added
    }
}
