//! Kinds, their settings, and the shop's own units: what is another now.

use std::collections::BTreeSet;

use crate::diagnostic::{Answer, ChangeKind, Direction};
use crate::diff::canonical;
use crate::diff::conditions::dependencies::{Name, name, passed};
use crate::diff::context::{DiffContext, Entry, Touches};
use crate::diff::edition::Edition;
use crate::diff::entries::unit_slip;
use crate::diff::pairing::rename_matching::{field_ids, kind_ids};
use crate::diff::texts::focus::TextChange;
use crate::diff::witness::synthetic_plan::{Setting, SyntheticPlan, Thing};
use crate::types::{Field, FieldId, KindId, Limits, PlaceInRun, Reading, Sort, Standard, Type};
use crate::units::{Exact, show_exact};

/// Everything about kinds, settings and units.
pub(in crate::diff) fn entries(desk: &DiffContext<'_, '_>) -> Vec<Entry> {
    let (old, new) = (desk.before(), desk.after());
    let mut found = Vec::new();
    let read = [
        read_by_anything(&desk.worlds.old),
        read_by_anything(&desk.worlds.new),
    ];
    for id in kind_ids(old) {
        let kind = old.kind(id);
        let Some(&other) = new.kind_names.get(&kind.name) else {
            found.push(
                Entry::new(&[ChangeKind::Removed], format!("kind {}", kind.name))
                    .at(Some(desk.line(kind.span)), None)
                    .note("a plan that has one cannot be read any more")
                    .reading(TextChange::Kind([Some(id), None]), [true, false]),
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
                .reading(TextChange::Kind([Some(id), Some(other)]), [true, true])));
        }
        if kind.place != there.place {
            let entry = Entry::new(&[ChangeKind::Limit], subject.clone())
                .note("how often it stands in a run is another; plans have to follow")
                .reading(TextChange::Kind([Some(id), Some(other)]), [true, true]);
            found.push(at(entry));
        }
        if let Some(moved) = desk.moved(kind.span, there.span) {
            found.push(at(Entry::new(&[ChangeKind::Moved], subject.clone())
                .note(moved)
                .quiet()));
        }
        fields(desk, (id, other), &read, &mut found);
        if kind.place == PlaceInRun::Step {
            found.extend(order(desk, id, other, &read).map(at));
        }
    }
    for id in kind_ids(new) {
        let kind = new.kind(id);
        if !old.kind_names.contains_key(&kind.name) {
            found.push(
                Entry::new(&[ChangeKind::Added], format!("kind {}", kind.name))
                    .at(None, Some(desk.line(kind.span)))
                    .reading(TextChange::Kind([None, Some(id)]), [false, true]),
            );
        }
    }
    units(desk, &read, &mut found);
    found
}

/// Settings of a step may be left unnamed in a plan, and go by their order.
fn order(
    desk: &DiffContext<'_, '_>,
    id: KindId,
    other: KindId,
    read: &[BTreeSet<Name>; 2],
) -> Option<Entry> {
    let places = [places(desk.before(), id), places(desk.after(), other)];
    let names = |of: &[Place]| -> Vec<String> { of.iter().map(|of| of.name.clone()).collect() };
    if names(&places[0]) == names(&places[1]) {
        return None;
    }
    let kind = &desk.before().kind(id).name;
    let ways = [
        goes_otherwise(&places[0], &places[1], &read[1], kind),
        goes_otherwise(&places[1], &places[0], &read[0], kind),
    ];
    let entry = Entry::new(&[ChangeKind::Limit], format!("step {kind}"));
    Some(if ways == [false; 2] {
        entry.note("its settings stand in other places; no plan is read in another way by that")
    } else {
        entry
            .note("its settings stand in other places: a plan that does not name them may be read in another way")
            .reading(TextChange::Places([id, other]), ways)
    })
}

/// A setting of a step that may go without its name.
struct Place {
    name: String,
    /// What tells apart which values go to it; all words go to one group, as a word may be any of them.
    group: String,
    /// All that says what may stand in it.
    takes: String,
}

/// Those of a kind that a plan states in a step. A bare number may go to any quantity: where one is written so, all
/// quantities are of one group.
fn places(standard: &Standard, id: KindId) -> Vec<Place> {
    let bare = standard
        .kind(id)
        .fields
        .iter()
        .any(|field| match &field.ty {
            Type::Quantity(measure) => {
                matches!(measure.reading, Reading::Count(_) | Reading::Number)
            }
            _ => false,
        });
    let fields = standard.kind(id).fields.iter();
    fields
        .filter(|field| field.formula.is_none())
        .map(|field| Place {
            name: field.name.clone(),
            group: match &field.ty {
                Type::Quantity(_) if bare => "quantity".to_owned(),
                Type::Quantity(measure) => format!("{measure:?}"),
                Type::Text => "text".to_owned(),
                Type::Range(measure) => format!("range {measure:?}"),
                Type::Day => "day".to_owned(),
                Type::Choice(_) | Type::YesNo | Type::Reference(_) => "word".to_owned(),
            },
            takes: format!(
                "{} {:?}",
                canonical::ty(standard, &field.ty),
                field.possible.as_ref().map(canonical::limits)
            ),
        })
        .collect()
}

/// Whether a text of one edition may be read in another way by the other, so that it tells; `read` are the settings
/// on which anything rests there.
fn goes_otherwise(from: &[Place], to: &[Place], read: &BTreeSet<Name>, kind: &str) -> bool {
    let groups: BTreeSet<&str> = from.iter().chain(to).map(|of| of.group.as_str()).collect();
    if groups.contains("quantity") && groups.iter().any(|group| group.starts_with("Measure")) {
        // Bare numbers on one side only.
        return true;
    }
    groups.into_iter().any(|group| {
        fn of<'p>(list: &'p [Place], group: &str) -> Vec<&'p Place> {
            list.iter().filter(|place| place.group == group).collect()
        }
        let (mine, theirs) = (of(from, group), of(to, group));
        // What stands in the same place takes the same values, named or not.
        let first = mine
            .iter()
            .zip(&theirs)
            .all(|(one, other)| one.name == other.name && one.takes == other.takes);
        if first && mine.len() <= theirs.len() {
            return false;
        }
        // Where nothing rests on any of them, it tells only whether they can be read.
        let all = || mine.iter().chain(&theirs);
        let alike = all().all(|of| Some(&of.takes) == all().next().map(|of| &of.takes));
        let there = mine
            .iter()
            .all(|one| theirs.iter().any(|of| of.name == one.name));
        let rests = all().any(|of| read.contains(&(kind.to_owned(), of.name.clone())));
        rests || !alike || !there
    })
}

/// The settings of an edition on which anything rests that can touch what a text comes to.
fn read_by_anything(world: &Edition<'_>) -> BTreeSet<Name> {
    let standard = world.view;
    let mut found = BTreeSet::new();
    let mut add = |path: &crate::types::Path| {
        for setting in passed(path) {
            let own = name(standard, setting);
            found.extend(world.closures.of(&own).cloned());
            found.insert(own);
        }
    };
    for rule in &standard.rules {
        if rule.form != crate::types::RuleForm::Rule {
            continue;
        }
        let asked = rule.requirements.iter();
        let asked = asked.flat_map(|of| of.when.iter().chain([&of.condition]));
        for condition in rule.when.iter().chain(&rule.permissions).chain(asked) {
            condition.paths().into_iter().for_each(&mut add);
        }
        if let Some(table) = &rule.table {
            add(&table.rows.path);
            if let Some(columns) = &table.columns {
                add(&columns.path);
            }
        }
    }
    for deviation in &standard.deviations {
        for condition in &deviation.when {
            condition.paths().into_iter().for_each(&mut add);
        }
    }
    for deviation in &standard.deviations {
        if let Some(pieces) = &deviation.pieces {
            let own = name(standard, pieces.counted_by);
            found.extend(world.closures.of(&own).cloned());
            found.insert(own);
        }
    }
    for id in kind_ids(standard) {
        for field in field_ids(standard.kind(id)) {
            let own = name(standard, (id, field));
            // What a figure is worked out from may contradict what is stated for the figure.
            if world.closures.is_worked_out(&own) {
                found.extend(world.closures.of(&own).cloned());
                found.insert(own);
            }
        }
    }
    found
}

/// Whether a number in a unit may tell on one side: some setting of its dimension is limited there, or read.
fn unit_tells(world: &Edition<'_>, unit: &crate::units::Unit, read: &BTreeSet<Name>) -> bool {
    let standard = world.view;
    kind_ids(standard).any(|id| {
        field_ids(standard.kind(id)).any(|field| {
            let of = standard.field(id, field);
            let measure = matches!(of.ty, Type::Quantity(_) | Type::Range(_));
            let whole = matches!(&of.ty, Type::Quantity(measure)
                if matches!(measure.reading, Reading::Count(_)));
            measure
                && of.usual_unit().dimension() == unit.dimension()
                && (of.possible.is_some() || whole || read.contains(&name(standard, (id, field))))
        })
    })
}

fn units(desk: &DiffContext<'_, '_>, read: &[BTreeSet<Name>; 2], found: &mut Vec<Entry>) {
    let (old, new) = (desk.before(), desk.after());
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
                    .reading(TextChange::Unit((*name).to_owned()), [true, false]),
            ),
            (one, other) if one != other => {
                let unit = |list: &[(&str, &crate::units::Unit)]| {
                    let of = list.iter().find(|(other, _)| other == name);
                    of.map(|(_, unit)| (*unit).clone())
                };
                let tells = |world: &Edition<'_>, read: &BTreeSet<Name>| {
                    let mut units = [unit(&before), unit(&after)].into_iter().flatten();
                    units.any(|unit| unit_tells(world, &unit, read))
                };
                // What passes one side may tell on the other.
                let ways = [
                    tells(&desk.worlds.new, &read[1]),
                    tells(&desk.worlds.old, &read[0]),
                ];
                found.push(
                    Entry::new(&[ChangeKind::Limit], subject)
                        .note("its size is another: the same plan means something else")
                        .reading(TextChange::Unit((*name).to_owned()), ways),
                );
            }
            _ => {}
        }
    }
    for (name, _) in &after {
        if of(&before, name).is_none() {
            found.push(
                Entry::new(&[ChangeKind::Added], format!("unit {name}"))
                    .reading(TextChange::Unit((*name).to_owned()), [false, true]),
            );
        }
    }
}

fn fields(
    desk: &DiffContext<'_, '_>,
    (id, other): (KindId, KindId),
    read: &[BTreeSet<Name>; 2],
    found: &mut Vec<Entry>,
) {
    let (old, new) = (desk.before(), desk.after());
    let (kind, there) = (old.kind(id), new.kind(other));
    // What only records have, no plan states.
    let record = PlaceInRun::Record;
    let stated = kind.place != record || there.place != record;
    let ways = |of: [bool; 2]| of.map(|way| way && stated);
    for field in field_ids(kind) {
        let of = &kind.fields[field.0 as usize];
        let subject = format!("{}.{}", kind.name, of.name);
        let Some(&to) = there.field_names.get(&of.name) else {
            found.push(
                Entry::new(&[ChangeKind::Removed], format!("setting {subject}"))
                    .at(Some(desk.line(of.span)), None)
                    .note(if stated {
                        "a plan that states it cannot be read any more"
                    } else {
                        "no record states it any more"
                    })
                    .reading(
                        TextChange::Setting([Some((id, field)), None]),
                        ways([true, false]),
                    )
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
                        "`{before}` is called `{renamed}` now{}",
                        if stated { "; plans have to follow" } else { "" }
                    ))
                    .reading(
                        TextChange::Setting([Some((id, field)), Some((other, to))]),
                        ways([true, true]),
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
                .reading(
                    TextChange::Setting([None, Some((other, field))]),
                    ways([false, true]),
                )
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
        // Without a whole, more can be read; a share that is left out tells only where something rests on it.
        let shares = |standard: &Standard, id: KindId| -> BTreeSet<Name> {
            let all = standard
                .kind(id)
                .parts
                .iter()
                .flat_map(|whole| &whole.fields);
            all.map(|field| name(standard, (id, *field))).collect()
        };
        let shares = &shares(old, id) | &shares(new, other);
        let rests = |read: &BTreeSet<Name>| !read.is_disjoint(&shares);
        let ways = [
            !there.parts.is_empty() || rests(&read[1]),
            !kind.parts.is_empty() || rests(&read[0]),
        ];
        found.push(
            Entry::new(&[ChangeKind::Limit], format!("parts of {}", kind.name))
                .at(place(kind), place(there))
                .note("which shares make one whole is another: what a plan leaves out may count differently")
                .reading(TextChange::Parts([id, other]), ways),
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
        let record = PlaceInRun::Record;
        let stated = old.kind(id).place != record || new.kind(other).place != record;
        let ways = type_ways(&of.ty, &now.ty).map(|way| way && stated);
        let entry = Entry::new(&[ChangeKind::Limit], format!("type of {subject}"))
            .note(if stated {
                "plans that state it may have to follow"
            } else {
                "it is what records state"
            })
            .reading(
                TextChange::Setting([Some((id, field)), Some((other, to))]),
                ways,
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
                TextChange::Setting([Some((id, field)), Some((other, to))]),
                [direction.tighter == yes, direction.looser == yes],
            )
        };
        found.push(at(entry));
    }
    if canonical::formula(old, of) != canonical::formula(new, now) {
        // What is stated beside a formula may contradict it; where there is none, nothing does.
        let works_out = |of: &Field| of.formula.is_some() || of.reference.is_some();
        let mut ways = [works_out(now), works_out(of)];
        let mut texts = vec![TextChange::Figure([Some((id, field)), Some((other, to))])];
        let deviations = asked_by_deviations(desk, &name(new, (other, to)));
        if !deviations.is_empty() {
            ways = [true, true];
            texts.extend(deviations);
        }
        let mut numbers = (Vec::new(), Vec::new());
        for (side, list) in [(of, &mut numbers.0), (now, &mut numbers.1)] {
            if let Some(formula) = &side.formula {
                unit_slip::of_expression(formula, list);
            }
        }
        let entry = Entry::new(&[ChangeKind::Formula], subject)
            .alarm(unit_slip::alarm(&numbers.0, &numbers.1))
            .through(texts, ways)
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
    if of.sort.words() != now.sort.words() {
        // What is given may not be stated otherwise than its record says, and a measured value speaks for those it
        // was taken at; that something is turned or worked out bears on what repairs may do alone.
        let strict = |of: &Field| {
            matches!(
                of.sort,
                Sort::Given {
                    unless_stated: false,
                    ..
                }
            )
        };
        let measured = of.measured() != now.measured();
        let ways = [
            measured || strict(now) && !strict(of),
            measured || strict(of) && !strict(now),
        ];
        let entry = Entry::new(&[ChangeKind::Sort], format!("sort of {subject}"))
            .note(format!("{} now, was {}", now.sort.words(), of.sort.words()))
            .reading(
                TextChange::Setting([Some((id, field)), Some((other, to))]),
                ways,
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

/// The rules with deviations that ask for a setting, or for what is worked out from it.
pub(in crate::diff) fn asked_by_deviations(
    desk: &DiffContext<'_, '_>,
    setting: &crate::diff::conditions::dependencies::Name,
) -> Vec<TextChange> {
    let mut found = Vec::new();
    for (side, world) in [&desk.worlds.old, &desk.worlds.new].into_iter().enumerate() {
        for deviation in &world.view.deviations {
            let Some(rule) = deviation.rule else { continue };
            let mut asks = false;
            let mut look = |at: (KindId, FieldId)| {
                let own = name(world.view, at);
                asks |= own == *setting || world.closures.of(&own).any(|of| of == setting);
            };
            for condition in &deviation.when {
                for path in condition.paths() {
                    crate::diff::conditions::dependencies::passed(path).for_each(&mut look);
                }
            }
            if let Some(pieces) = &deviation.pieces {
                look(pieces.counted_by);
            }
            if asks {
                let mut at = [None, None];
                at[side] = Some(rule);
                found.push(TextChange::Rule(at));
            }
        }
    }
    found
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
    // The ends of both, and then what lies a little past them.
    let mut all = ends(was);
    all.extend(ends(is));
    let one = unit.to_base(&Exact::ONE).sub(&unit.to_base(&Exact::ZERO));
    for end in all.clone() {
        let past = Exact::max(&end.abs().mul(&Exact::ratio(1, 10)), &one);
        all.extend([end.sub(&past), end.add(&past)]);
    }
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
