//! Records: what each states, what it takes from a parent, and whom a change reaches.

use std::collections::BTreeSet;

use crate::diagnostic::{ChangeKind, Stands};
use crate::diff::canonical;
use crate::diff::conditions::dependencies::{Name, inherited, name, resolved};
use crate::diff::context::{DiffContext, Entry, Touches};
use crate::diff::edition::Edition;
use crate::diff::entries::unit_slip;
use crate::diff::pairing::rename_matching::{field_ids, kind_ids, record_ids, same_record};
use crate::diff::texts::focus::TextChange;
use crate::diff::unsatisfiable::nothing_passes_with;
use crate::source::visible;
use crate::types::{FieldId, PlaceInRun, RecordId, Sort, Standard, Stated, Type, Value};
use crate::units::Exact;

/// Everything about records.
pub(in crate::diff) fn entries(desk: &DiffContext<'_, '_>) -> Vec<Entry> {
    let (old, new) = (desk.before(), desk.after());
    let mut found = Vec::new();
    for id in record_ids(old) {
        match same_record(old, id, new) {
            Some(other) => {
                let from = found.len();
                pair(desk, id, other, &mut found);
                let kind = new.record(other).kind;
                let all = record_ids(new)
                    .filter(|of| {
                        let before = same_record(new, *of, old);
                        *of == other
                            || new.descends(*of, other)
                            || before.is_some_and(|before| old.descends(before, id))
                    })
                    .map(|of| new.record(of).name.clone());
                let records = (new.kind(kind).name.clone(), all.collect::<Vec<_>>());
                for entry in found.iter_mut().skip(from) {
                    entry.records = Some(records.clone());
                }
            }
            None => found.push(
                lone(old, id, ChangeKind::Removed)
                    .at(header(desk, old, id), None)
                    .note("a plan that names it cannot be read any more")
                    .reading(TextChange::Record([Some(id), None]), [true, false]),
            ),
        }
    }
    for id in record_ids(new) {
        if same_record(new, id, old).is_none() {
            found.push(
                lone(new, id, ChangeKind::Added)
                    .at(None, header(desk, new, id))
                    .note("no run that could be read before has it")
                    .reading(TextChange::Record([None, Some(id)]), [false, true]),
            );
        }
    }
    found
}

fn lone(standard: &Standard, id: RecordId, kind: ChangeKind) -> Entry {
    let record = standard.record(id);
    let mut entry = Entry::new(&[kind], called(standard, id));
    let kind = standard.kind(record.kind).name.clone();
    entry.records = Some((kind, vec![record.name.clone()]));
    entry
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
            .reading(TextChange::Record([Some(id), Some(other)]), [true, true]);
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
        for own in &changed {
            let beside = beside_clauses(desk, [id, other], own);
            entry = entry.through(beside.texts, beside.ways);
            entry.change.reading |= beside.shares;
        }
        // A deviation may ask which record something is.
        let asks = |world: &crate::diff::edition::Edition<'_>| {
            let mut when = world.view.deviations.iter().flat_map(|of| &of.when);
            when.any(crate::diff::clause_effect::asks)
        };
        if asks(&desk.worlds.old) || asks(&desk.worlds.new) {
            let texts = vec![TextChange::Record([Some(id), Some(other)])];
            entry = entry.through(texts, [true, true]);
        }
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
        dials(desk, [id, other], subject, name, found);
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
        let beside = beside_clauses(desk, [id, other], &setting);
        let mut entry = entry.through(beside.texts, beside.ways);
        entry.change.reading |= beside.shares;
        found.push(at(entry).touching(Touches::Setting(setting)));
    }
}

/// What a record says of a dial that reads wrong.
fn dials(
    desk: &DiffContext<'_, '_>,
    [id, other]: [RecordId; 2],
    subject: &str,
    name: &str,
    found: &mut Vec<Entry>,
) {
    let own = |standard: &Standard, record: RecordId| {
        let of = standard.record(record);
        let field = *standard.kind(of.kind).field_names.get(name)?;
        let mut dials = of.calibrations.iter();
        let (_, calibration) = dials.find(|(of, _)| *of == field)?;
        let first = calibration.points.first()?;
        Some((field, calibration.canonical(), first.span))
    };
    let sources = |standard: &Standard, record: RecordId| -> Vec<String> {
        let dials = standard.record(record).calibrations.iter();
        let of =
            dials.filter(|(of, _)| standard.field(standard.record(record).kind, *of).name == name);
        let points = of.flat_map(|(_, calibration)| &calibration.points);
        points
            .map(|point| canonical::source(point.per.as_ref()))
            .collect()
    };
    let (before, after) = (own(desk.before(), id), own(desk.after(), other));
    let says = |of: &Option<(FieldId, String, crate::source::Span)>| {
        of.as_ref().map(|(_, says, _)| says.clone())
    };
    let place = |of: &Option<(FieldId, String, crate::source::Span)>| {
        of.as_ref().map(|(.., span)| desk.stands(*span))
    };
    if says(&before) == says(&after) {
        if sources(desk.before(), id) != sources(desk.after(), other) {
            let entry = Entry::new(&[ChangeKind::Source], format!("{subject}: {name}"));
            found.push(entry.at(place(&before), place(&after)).quiet());
        }
        return;
    }
    let (kind, note) = match (&before, &after) {
        (None, _) => (ChangeKind::Added, "its dial is said to read wrong"),
        (_, None) => (
            ChangeKind::Removed,
            "its dial is not said to read wrong any more",
        ),
        _ => (
            ChangeKind::Limit,
            "what is so behind its dial is said otherwise",
        ),
    };
    let setting = (
        desk.after()
            .kind(desk.after().record(other).kind)
            .name
            .clone(),
        name.to_owned(),
    );
    let mut entry = Entry::new(&[kind], format!("{subject}: {name}"))
        .at(place(&before), place(&after))
        .note(note);
    entry.change.reaches = reached(desk, id, other, std::slice::from_ref(&setting), false);
    let texts = vec![TextChange::Record([Some(id), Some(other)])];
    found.push(
        entry
            .through(texts, [true, true])
            .touching(Touches::Setting(setting)),
    );
}

/// What a value of a record bears on beside clauses.
struct Beside {
    texts: Vec<TextChange>,
    /// Whether plans may fare worse, and better, by it.
    ways: [bool; 2],
    /// Whether shares of a plan go with it.
    shares: bool,
}

/// What a value of a record bears on beside clauses: figures that a plan may state as well, shares that must add up,
/// and deviations. With what it reads otherwise than before: shares of a plan go with those of the record.
fn beside_clauses(
    desk: &DiffContext<'_, '_>,
    [id, other]: [RecordId; 2],
    setting: &Name,
) -> Beside {
    let worlds = desk.worlds;
    let states = |standard: &Standard, record: RecordId| {
        let kind = standard.record(record).kind;
        let field = standard.kind(kind).field_names.get(&setting.1);
        field.is_some_and(|field| resolved(standard, record, *field).is_some())
    };
    // A value more lets more figures be worked out, which contradict what is stated for them; no fewer do.
    let (was, is) = (states(worlds.old.view, id), states(worlds.new.view, other));
    let mut ways = [is, was];
    // What is wider contradicts less.
    let span = |standard: &Standard, record: RecordId| {
        let kind = standard.record(record).kind;
        let field = *standard.kind(kind).field_names.get(&setting.1)?;
        match &inherited(standard, record, field)?.1.value {
            Value::Quantity(of) => Some((of.low.clone(), of.high.clone(), of.resolution.clone())),
            _ => None,
        }
    };
    if let (Some(before), Some(after)) = (span(worlds.old.view, id), span(worlds.new.view, other))
        && before.2 == after.2
    {
        let holds = |one: &(Exact, Exact, Exact), other: &(Exact, Exact, Exact)| {
            one.0 <= other.0 && other.1 <= one.1
        };
        ways = [!holds(&after, &before), !holds(&before, &after)];
    }
    let at = |standard: &Standard, own: &Name| {
        let kind = *standard.kind_names.get(&own.0)?;
        let of = standard.kind(kind);
        let field = *of.field_names.get(&own.1)?;
        Some((kind, field))
    };
    let mut found = Vec::new();
    let mut shares = false;
    for world in [&worlds.old, &worlds.new] {
        let view = world.view;
        for kind in kind_ids(view) {
            for field in field_ids(view.kind(kind)) {
                let own = name(view, (kind, field));
                let works_out = view.field(kind, field).formula.is_some();
                let rests = own == *setting || world.closures.of(&own).any(|of| of == setting);
                if works_out && rests && view.kind(kind).place != PlaceInRun::Record {
                    let chosen = world.closures.is_wide(&own);
                    let other_figure = own != *setting && works_out_itself(view, setting);
                    if chosen || other_figure {
                        ways = [true, true];
                    }
                    let both = [at(worlds.old.view, &own), at(worlds.new.view, &own)];
                    let change = TextChange::Figure(both);
                    if !found.contains(&change) {
                        found.push(change);
                    }
                }
            }
        }
        let part = at(view, setting).is_some_and(|(kind, field)| {
            let mut wholes = view.kind(kind).parts.iter();
            wholes.any(|whole| whole.fields.contains(&field))
        });
        shares |= part;
    }
    // A plan that states a given value otherwise than its record fails: another value of the record lets others pass.
    let both = [at(worlds.old.view, setting), at(worlds.new.view, setting)];
    let views = [worlds.old.view, worlds.new.view];
    let given = views.into_iter().zip(both).any(|(view, at)| {
        at.is_some_and(|(kind, field)| {
            let sort = &view.field(kind, field).sort;
            let fixed = matches!(sort, Sort::Given { unless_stated, .. } if !unless_stated);
            fixed && view.kind(kind).place != PlaceInRun::Record
        })
    });
    let own = if given {
        // Of the records for which it is another value, only one that something passes with tells.
        let passes = |world: &Edition<'_>, new: bool| {
            let all = worlds.differences.values.get(setting).into_iter().flatten();
            let mut all = all.map(|record| (setting.0.as_str(), record.as_str()));
            all.any(|of| nothing_passes_with(world, &worlds.differences, new, of).is_none())
        };
        [
            is && passes(&worlds.old, false),
            was && passes(&worlds.new, true),
        ]
    } else {
        [false; 2]
    };
    if own != [false; 2] {
        ways = match found.is_empty() {
            true => own,
            false => [ways[0] || own[0], ways[1] || own[1]],
        };
        found.push(TextChange::Setting(both));
    }
    if shares {
        ways = [true, true];
        let kinds = [
            worlds.old.view.record(id).kind,
            worlds.new.view.record(other).kind,
        ];
        found.push(TextChange::Parts(kinds));
    }
    let asked = super::kinds::asked_by_deviations(desk, setting);
    if !asked.is_empty() {
        ways = [true, true];
        found.extend(asked);
    }
    if !found.is_empty() {
        found.push(TextChange::Record([Some(id), Some(other)]));
    }
    Beside {
        texts: found,
        ways,
        shares,
    }
}

/// Whether a setting has a formula.
fn works_out_itself(standard: &Standard, of: &Name) -> bool {
    let kind = standard.kind_names.get(&of.0).map(|id| standard.kind(*id));
    kind.and_then(|kind| {
        let field = kind.field_names.get(&of.1)?;
        kind.fields[field.0 as usize].formula.as_ref()
    })
    .is_some()
}
