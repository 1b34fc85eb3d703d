//! Where a path leads, for a choice of records and what the plan states instead of them.

use std::collections::BTreeSet;

use crate::constraint::{Affine, Domain, End, Resolved};
use crate::diff::conditions::dependencies::{Name, inherited, name, named, refers};
use crate::diff::conditions::lower_condition::{Figures, Lowering};
use crate::diff::conditions::overrides::is_rest;
use crate::diff::conditions::paths::{hop_word, root_key};
use crate::diff::passing::is_given;
use crate::types::{
    Arithmetic, Expression, ExpressionNode, FieldId, Hop, KindId, Path, PlaceInRun, RecordId, Root,
    Value,
};
use crate::units::Exact;

/// Where a path leads.
pub(in crate::diff) enum PathEnd<'s> {
    /// To a value that a record states.
    Stated(&'s Value, String),
    /// To a share that is nothing, as others make the whole.
    Zero,
    /// To a setting that the plan states, or that is worked out.
    Free(KindId, FieldId, String),
    /// To a thing, and the record it is.
    Thing(Option<RecordId>, String),
    /// To the place of a step.
    Place(String),
    /// To nothing: the record does not state it.
    Missing,
}

impl<'a> Lowering<'a> {
    pub(in crate::diff) fn end(&self, path: &Path) -> PathEnd<'a> {
        let standard = self.standard;
        let (mut kind, mut key) = match (&self.own, path.root) {
            (Some((kind, place)), Root::Own) => (Some(*kind), place.clone()),
            _ => root_key(standard, path.root),
        };
        let record_at = |key: &str| self.situation.get(key).copied().flatten();
        // What only a figure rests on is chosen for `any` thing of its kind; of some there is but one.
        let of_any = || match path.root {
            Root::Single(_) | Root::Own => record_at(&format!("any {key}")),
            Root::Each(_) | Root::Member(_) => None,
        };
        let mut record = record_at(&key).or_else(of_any);
        let last = path.hops.len().saturating_sub(1);
        for (index, hop) in path.hops.iter().enumerate() {
            match hop {
                Hop::Field(of, field) => {
                    let refers = refers(standard, (*of, *field));
                    let before = key.clone();
                    key = format!("{key}.{}", standard.field(*of, *field).name);
                    if let Some(to) = refers {
                        let given = record
                            .filter(|_| self.overrides.get(&key) != Some(true))
                            .filter(|record| !self.may_be_other(*record, (*of, *field), &key))
                            .and_then(|record| named(standard, record, *field));
                        record = given.or_else(|| record_at(&key));
                        kind = Some(to);
                        continue;
                    }
                    if index != last {
                        return PathEnd::Missing;
                    }
                    return self.value_at(*of, *field, record, &before, key);
                }
                Hop::Next(_) | Hop::Previous(_) => {
                    key = format!("{key}.{}", hop_word(standard, hop));
                    record = None;
                    kind = None;
                }
                Hop::Place => return PathEnd::Place(format!("{key}.place")),
            }
        }
        let _ = kind;
        PathEnd::Thing(record, key)
    }

    fn value_at(
        &self,
        kind: KindId,
        field: FieldId,
        record: Option<RecordId>,
        place: &str,
        key: String,
    ) -> PathEnd<'a> {
        let standard = self.standard;
        let Some(record) = record else {
            // A record that is not named has no values.
            let unnamed = standard.kind(kind).place == PlaceInRun::Record
                && self.situation.get(place) == Some(&None);
            return if unnamed {
                PathEnd::Missing
            } else {
                PathEnd::Free(kind, field, key)
            };
        };
        let instead = self.overrides.get(&key);
        if instead == Some(true) {
            return PathEnd::Free(kind, field, key);
        }
        if self.may_be_other(record, (kind, field), &key) {
            return PathEnd::Free(kind, field, key);
        }
        if let Some((_, stated)) = inherited(standard, record, field) {
            return PathEnd::Stated(&stated.value, key);
        }
        let of = standard.kind(kind);
        if is_rest(standard, record, (kind, field)) {
            return PathEnd::Zero;
        }
        if instead == Some(false) && of.fields[field.0 as usize].formula.is_none() {
            return PathEnd::Missing;
        }
        if of.place == PlaceInRun::Record {
            if of.fields[field.0 as usize].formula.is_none() {
                return PathEnd::Missing;
            }
            // Worked out from what this record states.
            let name = &standard.record(record).name;
            return PathEnd::Free(kind, field, format!("{place} {name}: {key}"));
        }
        PathEnd::Free(kind, field, key)
    }

    /// Whether a plan may state something else than the record at a place, where it is not said whether it does.
    fn may_be_other(&self, record: RecordId, setting: (KindId, FieldId), key: &str) -> bool {
        self.relaxed
            && self.overrides.get(key).is_none()
            && self.standard.kind(setting.0).place != PlaceInRun::Record
            && !is_given(self.standard, record, setting)
    }

    /// Whether a worked-out setting means something else now, for the records chosen.
    pub(in crate::diff) fn differs(&self, own: &Name) -> bool {
        let here = |read: &Name| {
            if self.differences.formulas.contains(read) {
                return true;
            }
            let Some(records) = self.differences.values.get(read) else {
                return false;
            };
            // The one thing of its kind is no record, so that none says something else of it.
            let kind = self.standard.kind_names.get(&read.0);
            let one = kind.is_some_and(|kind| self.standard.kind(*kind).place == PlaceInRun::One);
            let keys = [read.0.clone(), format!("any {}", read.0)];
            if one
                && keys
                    .iter()
                    .any(|key| self.situation.get(key) == Some(&None))
            {
                return false;
            }
            let mut met = false;
            for (key, record) in self.situation {
                let Some(record) = record else { continue };
                let record = self.standard.record(*record);
                if self.standard.kind(record.kind).name == read.0 {
                    met = true;
                    if records.contains(&record.name) {
                        return true;
                    }
                }
                let _ = key;
            }
            !met
        };
        here(own) || self.closures.of(own).any(here)
    }

    /// The mark that tells a setting apart that is worked out differently.
    pub(in crate::diff) fn mark(&self, own: &Name) -> &'static str {
        match self.figures {
            Figures::WorkedOut if self.differs(own) => self.side,
            _ => "",
        }
    }

    /// A sum of shares of one whole, of which the plan states several.
    pub(in crate::diff) fn shares(&mut self, of: &Expression) -> Resolved {
        self.sum_of_shares(of).unwrap_or(Resolved::Other)
    }

    fn sum_of_shares(&mut self, of: &Expression) -> Option<Resolved> {
        fn addends<'e>(of: &'e Expression, found: &mut Vec<&'e Path>) -> Option<()> {
            match &of.node {
                ExpressionNode::Path(path) => found.push(path),
                ExpressionNode::Binary {
                    operator: Arithmetic::Add,
                    left,
                    right,
                } => {
                    addends(left, found)?;
                    addends(right, found)?;
                }
                _ => return None,
            }
            Some(())
        }
        if !matches!(of.node, ExpressionNode::Binary { .. }) {
            return None;
        }
        let mut paths = Vec::new();
        addends(of, &mut paths)?;
        let mut plus = Exact::ZERO;
        let mut free: Vec<(KindId, FieldId, String)> = Vec::new();
        for path in paths {
            match self.end(path) {
                PathEnd::Zero => {}
                PathEnd::Stated(Value::Quantity(value), _) if value.low == value.high => {
                    plus = plus.add(&value.low);
                }
                PathEnd::Free(kind, field, key) => free.push((kind, field, key)),
                _ => return None,
            }
        }
        let (kind, field, first) = free.first()?.clone();
        let (place, _) = first.rsplit_once('.')?;
        let wholes = &self.standard.kind(kind).parts;
        let whole = wholes.iter().find(|whole| whole.fields.contains(&field))?;
        let total = whole.total.clone();
        let mut keys = BTreeSet::new();
        let mut needs = BTreeSet::new();
        for (kind, field, key) in &free {
            let here = key.rsplit_once('.').is_some_and(|(of, _)| of == place);
            if !here || !whole.fields.contains(field) || !keys.insert(key.clone()) {
                return None;
            }
            needs.insert(self.quantity(*kind, *field, key));
        }
        if keys.len() == 1 {
            return None;
        }
        let left = self.overrides.most(&first).cloned();
        let domain = Domain::between(
            Some(End::closed(Exact::ZERO)),
            Some(End::closed(left.unwrap_or(total))),
        );
        let marks: BTreeSet<&str> = free
            .iter()
            .map(|(kind, field, _)| self.mark(&name(self.standard, (*kind, *field))))
            .collect();
        let keys: Vec<String> = keys.into_iter().collect();
        let mark: String = marks.into_iter().collect();
        let variable = self.opaque(format!("{}{mark}", keys.join(" + ")), domain);
        let sum = Affine::variable(variable).plus(Affine::constant(plus))?;
        let needs = &sum.needs | &needs;
        Some(Resolved::Number(Affine { needs, ..sum }))
    }
}
