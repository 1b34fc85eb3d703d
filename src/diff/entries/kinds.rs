//! Kinds, their settings, and the shop's own units: what is another now.

use crate::diagnostic::{Answer, ChangeKind, Direction};
use crate::diff::canonical;
use crate::diff::conditions::dependencies::name;
use crate::diff::context::{DiffContext, Entry, Touches};
use crate::diff::entries::unit_slip;
use crate::diff::pairing::rename_matching::{field_ids, kind_ids};
use crate::diff::reading::probe::Probe;
use crate::diff::witness::synthetic_plan::{Setting, SyntheticPlan, Thing};
use crate::types::{Field, FieldId, KindId, Limits, PlaceInRun, Standard, Type};
use crate::units::{Exact, show_exact};

/// Everything about kinds, settings and units.
pub(in crate::diff) fn entries(desk: &DiffContext<'_, '_>) -> Vec<Entry> {
    let (old, new) = (desk.before(), desk.after());
    let mut found = Vec::new();
    for id in kind_ids(old) {
        let kind = old.kind(id);
        let Some(&other) = new.kind_names.get(&kind.name) else {
            found.push(
                Entry::new(&[ChangeKind::Removed], format!("kind {}", kind.name))
                    .at(Some(desk.line(kind.span)), None)
                    .note("a plan that has one cannot be read any more")
                    .reading(Probe::Kind([Some(id), None]), [true, false]),
            );
            continue;
        };
        let there = new.kind(other);
        let subject = format!("kind {}", kind.name);
        let at = |entry: Entry| entry.at(Some(desk.line(kind.span)), Some(desk.line(there.span)));
        if let Some(name) = desk.renamed.kinds.get(&id) {
            let before = &desk.worlds.old.standard.kind(id).name;
            found.push(at(Entry::new(&[ChangeKind::Renamed], subject.clone())
                .note(format!(
                    "`{before}` is called `{name}` now; plans have to follow"
                ))
                .reading(Probe::Kind([Some(id), Some(other)]), [true, true])));
        }
        if kind.place != there.place {
            let entry = Entry::new(&[ChangeKind::Limit], subject.clone())
                .note("how often it stands in a run is another; plans have to follow")
                .reading(Probe::Kind([Some(id), Some(other)]), [true, true]);
            found.push(at(entry));
        }
        if let Some(moved) = desk.moved(kind.span, there.span) {
            found.push(at(Entry::new(&[ChangeKind::Moved], subject.clone())
                .note(moved)
                .quiet()));
        }
        fields(desk, id, other, &mut found);
        if kind.place == PlaceInRun::Step {
            found.extend(order(desk, id, other).map(at));
        }
    }
    for id in kind_ids(new) {
        let kind = new.kind(id);
        if !old.kind_names.contains_key(&kind.name) {
            found.push(
                Entry::new(&[ChangeKind::Added], format!("kind {}", kind.name))
                    .at(None, Some(desk.line(kind.span)))
                    .reading(Probe::Kind([None, Some(id)]), [false, true]),
            );
        }
    }
    units(old, new, &mut found);
    found
}

/// Settings of a step may be left unnamed in a plan, and go by their order.
fn order(desk: &DiffContext<'_, '_>, id: KindId, other: KindId) -> Option<Entry> {
    let names = |standard: &Standard, id: KindId| -> Vec<String> {
        let kind = standard.kind(id);
        kind.fields
            .iter()
            .filter(|field| field.formula.is_none())
            .map(|field| field.name.clone())
            .collect()
    };
    let before = names(desk.before(), id);
    let after = names(desk.after(), other);
    (before != after).then(|| {
        let kind = &desk.before().kind(id).name;
        Entry::new(&[ChangeKind::Limit], format!("step {kind}")).note(
            "its settings stand in other places: a plan that does not name them may be read in another way",
        )
        .reading(Probe::Places([id, other]), [true, true])
    })
}

fn units(old: &Standard, new: &Standard, found: &mut Vec<Entry>) {
    let (before, after) = (old.own_units(), new.own_units());
    let of = |list: &[(&str, &crate::units::Unit)], name: &str| {
        list.iter()
            .find(|(other, _)| *other == name)
            .map(|(_, unit)| (canonical::number(unit.factor()), unit.dimension()))
    };
    for (name, _) in &before {
        let subject = format!("unit {name}");
        match (of(&before, name), of(&after, name)) {
            (_, None) => found.push(
                Entry::new(&[ChangeKind::Removed], subject)
                    .note("a plan that uses it cannot be read any more")
                    .reading(Probe::Unit((*name).to_owned()), [true, false]),
            ),
            (one, other) if one != other => found.push(
                Entry::new(&[ChangeKind::Limit], subject)
                    .note("its size is another: the same plan means something else")
                    .reading(Probe::Unit((*name).to_owned()), [true, true]),
            ),
            _ => {}
        }
    }
    for (name, _) in &after {
        if of(&before, name).is_none() {
            found.push(
                Entry::new(&[ChangeKind::Added], format!("unit {name}"))
                    .reading(Probe::Unit((*name).to_owned()), [false, true]),
            );
        }
    }
}

fn fields(desk: &DiffContext<'_, '_>, id: KindId, other: KindId, found: &mut Vec<Entry>) {
    let (old, new) = (desk.before(), desk.after());
    let (kind, there) = (old.kind(id), new.kind(other));
    for field in field_ids(kind) {
        let of = &kind.fields[field.0 as usize];
        let subject = format!("{}.{}", kind.name, of.name);
        let Some(&to) = there.field_names.get(&of.name) else {
            found.push(
                Entry::new(&[ChangeKind::Removed], format!("setting {subject}"))
                    .at(Some(desk.line(of.span)), None)
                    .note("a plan that states it cannot be read any more")
                    .reading(Probe::Setting([Some((id, field)), None]), [true, false])
                    .touching(Touches::Setting(name(old, (id, field)))),
            );
            continue;
        };
        let now = &there.fields[to.0 as usize];
        if let Some(renamed) = desk.renamed.fields.get(&(id, field)) {
            let before = &desk.worlds.old.standard.field(id, field).name;
            found.push(
                Entry::new(&[ChangeKind::Renamed], format!("setting {subject}"))
                    .at(Some(desk.line(of.span)), Some(desk.line(now.span)))
                    .note(format!(
                        "`{before}` is called `{renamed}` now; plans have to follow"
                    ))
                    .reading(
                        Probe::Setting([Some((id, field)), Some((other, to))]),
                        [true, true],
                    ),
            );
        }
        field_changes(desk, (id, field, of), (other, to, now), &subject, found);
    }
    for field in field_ids(there) {
        let of = &there.fields[field.0 as usize];
        if !kind.field_names.contains_key(&of.name) {
            found.push(
                Entry::new(
                    &[ChangeKind::Added],
                    format!("setting {}.{}", there.name, of.name),
                )
                .at(None, Some(desk.line(of.span)))
                .reading(Probe::Setting([None, Some((other, field))]), [false, true])
                .touching(Touches::Setting(name(new, (other, field)))),
            );
        }
    }
    let wholes = |standard: &Standard, id: KindId| -> Vec<String> {
        let kind = standard.kind(id);
        let mut all: Vec<String> = kind
            .parts
            .iter()
            .map(|whole| {
                let names = whole.fields.iter();
                let mut names: Vec<&str> = names
                    .map(|field| kind.fields[field.0 as usize].name.as_str())
                    .collect();
                names.sort_unstable();
                format!(
                    "{} make {}",
                    names.join(", "),
                    canonical::number(&whole.total)
                )
            })
            .collect();
        all.sort_unstable();
        all
    };
    if wholes(old, id) != wholes(new, other) {
        let place = |of: &crate::types::Kind| of.parts.first().map(|whole| desk.line(whole.span));
        found.push(
            Entry::new(&[ChangeKind::Limit], format!("parts of {}", kind.name))
                .at(place(kind), place(there))
                .note("which shares make one whole is another: what a plan leaves out may count differently")
                .reading(Probe::Parts([id, other]), [true, true]),
        );
    }
}

fn field_changes(
    desk: &DiffContext<'_, '_>,
    (id, field, of): (KindId, FieldId, &Field),
    (other, to, now): (KindId, FieldId, &Field),
    subject: &str,
    found: &mut Vec<Entry>,
) {
    let (old, new) = (desk.before(), desk.after());
    let at = |entry: Entry| entry.at(Some(desk.line(of.span)), Some(desk.line(now.span)));
    let own = Touches::Setting(name(new, (other, to)));
    if canonical::ty(old, &of.ty) != canonical::ty(new, &now.ty) {
        let entry = Entry::new(&[ChangeKind::Limit], format!("type of {subject}"))
            .note("plans that state it may have to follow")
            .reading(
                Probe::Setting([Some((id, field)), Some((other, to))]),
                type_ways(&of.ty, &now.ty),
            )
            .touching(own.clone());
        found.push(at(entry));
    }
    let possible = |of: &Field| of.possible.as_ref().map(canonical::limits);
    if possible(of) != possible(now) {
        let mut numbers = (Vec::new(), Vec::new());
        for (side, list) in [(of, &mut numbers.0), (now, &mut numbers.1)] {
            if let Some(possible) = &side.possible {
                unit_slip::of_limits(possible, list);
            }
        }
        let (direction, note) = refused(desk, (id, field), (other, to));
        let entry = Entry::new(&[ChangeKind::Limit], format!("possible range of {subject}"))
            .alarm(unit_slip::alarm(&numbers.0, &numbers.1))
            .note(note)
            .going(direction);
        let entry = if direction == Direction::NONE {
            entry
        } else {
            let yes = Answer::Yes;
            entry.reading(
                Probe::Setting([Some((id, field)), Some((other, to))]),
                [direction.tighter == yes, direction.looser == yes],
            )
        };
        found.push(at(entry));
    }
    if canonical::formula(old, of) != canonical::formula(new, now) {
        let mut numbers = (Vec::new(), Vec::new());
        for (side, list) in [(of, &mut numbers.0), (now, &mut numbers.1)] {
            if let Some(formula) = &side.formula {
                unit_slip::of_expression(formula, list);
            }
        }
        let entry = Entry::new(&[ChangeKind::Formula], subject)
            .alarm(unit_slip::alarm(&numbers.0, &numbers.1))
            .stating(vec![Probe::Figure(
                [Some((id, field)), Some((other, to))],
                [None, None],
            )])
            .touching(own);
        found.push(at(entry));
    }
    let steps = |of: &Field| -> Vec<String> {
        let mut steps: Vec<String> = of
            .steps
            .iter()
            .map(|(size, _)| canonical::number(size))
            .collect();
        steps.sort_unstable();
        steps
    };
    if steps(of) != steps(now) {
        let entry = Entry::new(&[ChangeKind::Wording], format!("dial of {subject}"))
            .note("repairs are offered in other steps; no outcome changes")
            .quiet();
        found.push(at(entry));
    }
    if of.sort != now.sort {
        // What may be done with a setting is part of what a plan that states it comes to.
        let entry = Entry::new(&[ChangeKind::Sort], format!("sort of {subject}"))
            .note(format!("{} now, was {}", now.sort.words(), of.sort.words()))
            .reading(
                Probe::Setting([Some((id, field)), Some((other, to))]),
                [true, true],
            );
        found.push(at(entry));
    }
    if of.sentence != now.sentence {
        let entry = Entry::new(&[ChangeKind::Wording], format!("sentence of {subject}")).quiet();
        found.push(at(entry));
    }
    let reviewed = |of: &Field| of.per.as_ref().and_then(|source| source.reviewed);
    if reviewed(of) != reviewed(now) {
        let entry = Entry::new(&[ChangeKind::Wording], format!("source of {subject}"))
            .note(super::reviewed(reviewed(of), reviewed(now)))
            .quiet();
        found.push(at(entry));
    }
    let takes = |of: &Field| {
        of.takes
            .as_ref()
            .map(|takes| (takes.time.clone(), takes.words.clone()))
    };
    if takes(of) != takes(now) {
        let words = |of: &Field| {
            of.takes.as_ref().map_or("no time".to_owned(), |takes| {
                show_exact(&takes.time, &takes.unit)
            })
        };
        let entry = Entry::new(&[ChangeKind::Wording], format!("changing {subject}"))
            .note(format!(
                "takes {} now, was {}; repairs are ranked by it, and no outcome changes",
                words(now),
                words(of)
            ))
            .quiet();
        found.push(at(entry));
    }
    if canonical::source(of.per.as_ref()) != canonical::source(now.per.as_ref()) {
        let entry = Entry::new(&[ChangeKind::Source], format!("source of {subject}")).quiet();
        found.push(at(entry));
    }
}

/// What a changed possible range refuses or lets through, shown by a plan that one side cannot read.
fn refused(
    desk: &DiffContext<'_, '_>,
    before: (KindId, FieldId),
    after: (KindId, FieldId),
) -> (Direction, String) {
    let (old, new) = (desk.before(), desk.after());
    let (was, is) = (
        old.field(before.0, before.1).possible.as_ref(),
        new.field(after.0, after.1).possible.as_ref(),
    );
    let kind = new.kind(after.0);
    // In a unit that both read alike.
    let unit = new.field(after.0, after.1).usual_unit();
    let own = new.own_units();
    let unit = if own.iter().any(|(_, of)| of.spelling() == unit.spelling()) {
        crate::units::Unit::usual(unit.dimension())
    } else {
        unit
    };
    let reads = |value: &Exact| -> Option<(bool, bool)> {
        let thing = Thing {
            kind: kind.name.clone(),
            name: match kind.place {
                PlaceInRun::Many => "one".to_owned(),
                _ => String::new(),
            },
            record: None,
            settings: vec![(
                new.field(after.0, after.1).name.clone(),
                Setting::Number(value.clone(), Some(unit.clone())),
            )],
        };
        let mut draft = SyntheticPlan::default();
        match kind.place {
            PlaceInRun::Step => draft.steps.push(thing),
            PlaceInRun::Record => return None,
            PlaceInRun::One | PlaceInRun::Many => draft.things.push(thing),
        }
        let of = |world: &crate::diff::edition::Edition<'_>| {
            Some(world.run(&draft.text(world, "standard")?).is_some())
        };
        Some((of(&desk.worlds.old)?, of(&desk.worlds.new)?))
    };
    let ends = |limits: Option<&Limits>| -> Vec<Exact> {
        let limits = limits.into_iter();
        limits
            .flat_map(|limits| [&limits.low, &limits.high].into_iter().flatten().cloned())
            .collect()
    };
    let mut all = ends(was);
    all.extend(ends(is));
    let (mut tighter, mut looser) = (None, None);
    for value in &all {
        match reads(value) {
            Some((true, false)) => tighter = tighter.or(Some(value)),
            Some((false, true)) => looser = looser.or(Some(value)),
            _ => {}
        }
    }
    let mut notes = Vec::new();
    if let Some(value) = tighter {
        notes.push(format!(
            "a plan that states {} is refused now",
            show_exact(value, &unit)
        ));
    }
    if let Some(value) = looser {
        notes.push(format!(
            "a plan may state {} now, and could not",
            show_exact(value, &unit)
        ));
    }
    if notes.is_empty() {
        notes.push("it is what a record may state".to_owned());
    }
    let answer = |shown: Option<&Exact>| match (shown, kind.place) {
        (Some(_), _) => Answer::Yes,
        _ => Answer::No,
    };
    let direction = Direction {
        tighter: answer(tighter),
        looser: answer(looser),
    };
    (direction, notes.join("; "))
}

/// Whether plans may fare worse, and better, by another type: words that are gone are read no more, and words
/// that are new were not.
fn type_ways(old: &Type, new: &Type) -> [bool; 2] {
    let (Type::Choice(before), Type::Choice(after)) = (old, new) else {
        return [true, true];
    };
    let gone = before.iter().any(|word| !after.contains(word));
    let more = after.iter().any(|word| !before.contains(word));
    [gone, more]
}
