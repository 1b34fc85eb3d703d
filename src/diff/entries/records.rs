//! Records: what each states, what it takes from a parent, and whom a change reaches.

use std::collections::BTreeSet;

use crate::diagnostic::{ChangeKind, Stands};
use crate::diff::canonical;
use crate::diff::conditions::dependencies::{Name, inherited, name, resolved};
use crate::diff::context::{DiffContext, Entry, Touches};
use crate::diff::entries::unit_slip;
use crate::diff::pairing::rename_matching::{field_ids, kind_ids, record_ids, same_record};
use crate::diff::reading::probe::Probe;
use crate::source::visible;
use crate::types::{FieldId, PlaceInRun, RecordId, Standard, Stated, Type};

/// Everything about records.
pub(in crate::diff) fn entries(desk: &DiffContext<'_, '_>) -> Vec<Entry> {
    let (old, new) = (desk.before(), desk.after());
    let mut found = Vec::new();
    for id in record_ids(old) {
        match same_record(old, id, new) {
            Some(other) => pair(desk, id, other, &mut found),
            None => found.push(
                lone(old, id, ChangeKind::Removed)
                    .at(header(desk, old, id), None)
                    .note("a plan that names it cannot be read any more")
                    .reading(Probe::Record([Some(id), None]), [true, false]),
            ),
        }
    }
    for id in record_ids(new) {
        if same_record(new, id, old).is_none() {
            found.push(
                lone(new, id, ChangeKind::Added)
                    .at(None, header(desk, new, id))
                    .note("no run that could be read before has it")
                    .reading(Probe::Record([None, Some(id)]), [false, true]),
            );
        }
    }
    found
}

fn lone(standard: &Standard, id: RecordId, kind: ChangeKind) -> Entry {
    Entry::new(&[kind], called(standard, id))
}

fn called(standard: &Standard, id: RecordId) -> String {
    let record = standard.record(id);
    format!("{} {}", standard.kind(record.kind).name, record.name)
}

fn header(desk: &DiffContext<'_, '_>, standard: &Standard, id: RecordId) -> Option<Stands> {
    Some(desk.line(standard.record(id).header?))
}

fn pair(desk: &DiffContext<'_, '_>, id: RecordId, other: RecordId, found: &mut Vec<Entry>) {
    let (old, new) = (desk.before(), desk.after());
    let (record, now) = (old.record(id), new.record(other));
    let subject = called(new, other);
    let at = |entry: Entry| entry.at(header(desk, old, id), header(desk, new, other));
    if let Some(name) = desk.renamed.records.get(&id) {
        let before = &desk.worlds.old.standard.record(id).name;
        let entry = Entry::new(&[ChangeKind::Renamed], subject.clone())
            .note(format!(
                "`{before}` is called `{name}` now; plans that name it have to follow"
            ))
            .reading(Probe::Record([Some(id), Some(other)]), [true, true]);
        found.push(at(entry));
    }
    if let (Some(before), Some(after)) = (record.header, now.header)
        && let Some(moved) = desk.moved(before, after)
    {
        found.push(at(Entry::new(&[ChangeKind::Moved], subject.clone())
            .note(moved)
            .quiet()));
    }
    if record.title != now.title {
        found.push(at(
            Entry::new(&[ChangeKind::Wording], subject.clone()).quiet()
        ));
    }
    let parent = |standard: &Standard, parent: Option<RecordId>| {
        parent.map(|id| standard.record(id).name.clone())
    };
    let (was, is) = (parent(old, record.parent), parent(new, now.parent));
    if was != is {
        let kind = old.kind(record.kind).name.clone();
        let changed: Vec<Name> = field_ids(new.kind(now.kind))
            .map(|field| name(new, (now.kind, field)))
            .filter(|own| differs(desk, own, &record.name))
            .collect();
        let words = |parent: Option<String>| parent.unwrap_or_else(|| "nothing".to_owned());
        let mut entry = Entry::new(&[ChangeKind::Parent], subject.clone()).note(format!(
            "it is {} now, and was {}",
            words(is),
            words(was)
        ));
        for own in &changed {
            entry = entry.note(value_note(desk, id, other, own));
        }
        entry.change.reaches = reached(desk, id, other, &changed, true);
        found.push(at(entry).touching(Touches::Record(kind, changed)));
    }
    values(desk, id, other, &subject, found);
}

fn differs(desk: &DiffContext<'_, '_>, own: &Name, record: &str) -> bool {
    let values = desk.worlds.differences.values.get(own);
    values.is_some_and(|records| records.contains(record))
}

/// `cure is 270 to 320 °F now, and was 280 to 320 °F`.
fn value_note(desk: &DiffContext<'_, '_>, id: RecordId, other: RecordId, own: &Name) -> String {
    let words = |standard: &Standard, record: RecordId| {
        let kind = standard.record(record).kind;
        let field = standard.kind(kind).field_names.get(&own.1)?;
        let (_, stated) = inherited(standard, record, *field)?;
        Some(desk.stands(stated.span).words)
    };
    let none = || "not stated".to_owned();
    format!(
        "{} is {} by it, and was {}",
        own.1,
        words(desk.after(), other).unwrap_or_else(none),
        words(desk.before(), id).unwrap_or_else(none)
    )
}

/// The records that have another value by a change of this one: itself, and what takes it from it.
fn reached(
    desk: &DiffContext<'_, '_>,
    id: RecordId,
    other: RecordId,
    settings: &[Name],
    by_name: bool,
) -> Vec<String> {
    let (old, new) = (desk.before(), desk.after());
    let differences = &desk.worlds.differences;
    let mut found = Vec::new();
    for record in record_ids(new) {
        let Some(before) = same_record(new, record, old) else {
            continue;
        };
        let there = new.record(record);
        if there.kind != new.record(other).kind {
            continue;
        }
        let below = new.descends(record, other) || old.descends(before, id);
        let value = settings.iter().any(|own| {
            differs(desk, own, &there.name) && {
                let gives = |standard: &Standard, record: RecordId, from: RecordId| {
                    let kind = standard.record(record).kind;
                    let field = standard.kind(kind).field_names.get(&own.1);
                    field
                        .and_then(|field| inherited(standard, record, *field))
                        .is_some_and(|(by, _)| standard.descends(from, by) || by == from)
                };
                gives(new, record, other) || gives(old, before, id)
            }
        });
        let ancestry = by_name
            && differences
                .ancestry
                .get(&new.kind(there.kind).name)
                .is_some_and(|records| records.contains(&there.name));
        if below && (value || ancestry) {
            found.push(visible(&there.name).into_owned());
        }
    }
    found
}

fn values(
    desk: &DiffContext<'_, '_>,
    id: RecordId,
    other: RecordId,
    subject: &str,
    found: &mut Vec<Entry>,
) {
    let (old, new) = (desk.before(), desk.after());
    let (record, now) = (old.record(id), new.record(other));
    let (kind, there) = (old.kind(record.kind), new.kind(now.kind));
    let own = |standard: &Standard, record: RecordId, name: &str| -> Option<(FieldId, Stated)> {
        let of = standard.record(record);
        let field = *standard.kind(of.kind).field_names.get(name)?;
        let stated = of.values.get(field.0 as usize)?.clone()?;
        Some((field, stated))
    };
    let names: BTreeSet<&str> = kind
        .fields
        .iter()
        .chain(&there.fields)
        .map(|field| field.name.as_str())
        .collect();
    for name in names {
        let (before, after) = (own(old, id, name), own(new, other, name));
        if before.is_none() && after.is_none() {
            continue;
        }
        let value = |standard: &Standard, record: RecordId, of: &Option<(FieldId, Stated)>| {
            let (field, stated) = of.as_ref()?;
            let ty: &Type = &standard.field(standard.record(record).kind, *field).ty;
            Some(canonical::value(standard, ty, &stated.value))
        };
        let place = |of: &Option<(FieldId, Stated)>| {
            of.as_ref().map(|(_, stated)| desk.stands(stated.span))
        };
        let at = |entry: Entry| entry.at(place(&before), place(&after));
        let subject = format!("{subject}: {name}");
        if value(old, id, &before) == value(new, other, &after) {
            let source = |of: &Option<(FieldId, Stated)>| {
                of.as_ref()
                    .map(|(_, stated)| canonical::source(stated.per.as_ref()))
            };
            let reason = |of: &Option<(FieldId, Stated)>| {
                of.as_ref().and_then(|(_, stated)| stated.loosened.clone())
            };
            if source(&before) != source(&after) {
                found.push(at(Entry::new(&[ChangeKind::Source], subject).quiet()));
            } else if reason(&before) != reason(&after) {
                found.push(at(Entry::new(&[ChangeKind::Wording], subject).quiet()));
            }
            continue;
        }
        let mut numbers = (Vec::new(), Vec::new());
        for (side, list) in [(&before, &mut numbers.0), (&after, &mut numbers.1)] {
            if let Some((_, stated)) = side {
                unit_slip::of_value(&stated.value, list);
            }
        }
        let setting = (kind.name.clone(), name.to_owned());
        let same_in_effect = {
            let field = |standard: &Standard, record: RecordId| {
                let kind = standard.record(record).kind;
                let field = standard.kind(kind).field_names.get(name)?;
                resolved(standard, record, *field)
            };
            field(old, id) == field(new, other)
        };
        if same_in_effect {
            // Stated itself what it has from its parent, or left to it.
            let entry = Entry::new(&[ChangeKind::Form], subject)
                .note("it has the same value from a record it is")
                .quiet();
            found.push(at(entry));
            continue;
        }
        let kinds: &[ChangeKind] = match (&before, &after) {
            (None, _) => &[ChangeKind::Added],
            (_, None) => &[ChangeKind::Removed],
            _ => &[ChangeKind::Limit],
        };
        let mut entry = Entry::new(kinds, subject).alarm(unit_slip::alarm(&numbers.0, &numbers.1));
        if before.is_none() || after.is_none() {
            entry = entry.note(value_note(desk, id, other, &setting));
        }
        entry.change.reaches = reached(desk, id, other, std::slice::from_ref(&setting), false);
        let entry = entry.stating(figures(desk, id, other, &setting));
        found.push(at(entry).touching(Touches::Setting(setting)));
    }
}

/// How many figures are looked at of which a plan may state the outcome.
const MOST_FIGURES: usize = 3;

/// The figures that rest on a value of a record, and that a plan may state as well.
fn figures(
    desk: &DiffContext<'_, '_>,
    id: RecordId,
    other: RecordId,
    setting: &Name,
) -> Vec<Probe> {
    let worlds = desk.worlds;
    let at = |standard: &Standard, own: &Name| {
        let kind = *standard.kind_names.get(&own.0)?;
        let of = standard.kind(kind);
        let field = *of.field_names.get(&own.1)?;
        (of.place != PlaceInRun::Record).then_some((kind, field))
    };
    let view = worlds.new.view;
    let rests = |own: &Name| worlds.new.closures.of(own).any(|of| of == setting);
    kind_ids(view)
        .flat_map(|kind| field_ids(view.kind(kind)).map(move |field| name(view, (kind, field))))
        .filter(rests)
        .map(|own| [at(worlds.old.view, &own), at(view, &own)])
        .filter(|at| at.iter().all(Option::is_some))
        .take(MOST_FIGURES)
        .map(|at| Probe::Figure(at, [Some(id), Some(other)]))
        .collect()
}
