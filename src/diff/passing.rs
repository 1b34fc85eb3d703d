//! What a plan keeps that passes an edition: beside a clause all its other rules, whichever records it names.
//!
//! A plan that passes one edition and not the other keeps every rule of the first at each point inside its tolerances.
//! Where that leaves no point at which the other edition fails it, no such plan can be written. What a rule asks may be
//! read more loosely here than it is, and never more tightly: what a plan may state instead of its record may be
//! anything, a figure too, and of the things of a kind only the one is known that is asked about.

use std::cell::Cell;
use std::collections::BTreeSet;

use crate::constraint::{Domain, Words};
use crate::diagnostic::Verb;
use crate::diff::canonical;
use crate::diff::conditions::dependencies::{Differences, Name, inherited, refers};
use crate::diff::conditions::lower_condition::{Figures, Lowering, Situation};
use crate::diff::conditions::overrides::Overrides;
use crate::diff::conditions::paths::{paths, slots};
use crate::diff::conditions::satisfaction::kept;
use crate::diff::conditions::variables::{Formula, Vars};
use crate::diff::context::{Entry, Touches};
use crate::diff::edition::{Edition, Editions};
use crate::diff::pairing::clauses::Part;
use crate::diff::pairing::rename_matching::{field_ids, kind_ids, record_ids, same_record};
use crate::diff::texts::focus::TextChange;
use crate::types::{FieldId, KindId, PlaceInRun, RecordId, RuleForm, Sort, Standard, Type};

/// The most choices of records for which all rules are looked at together.
const MOST_CHOICES: usize = 64;

/// The most rules that are looked at together.
const MOST_RULES: usize = 120;

/// An edition, of which a plan is asked that passes it.
#[derive(Clone, Copy)]
pub(in crate::diff) struct Passing<'p, 'w> {
    pub(in crate::diff) world: &'p Edition<'w>,
    pub(in crate::diff) differences: &'p Differences,
    pub(in crate::diff) new: bool,
    /// The kind of the thing that is asked about, where it is one of many or a step.
    pub(in crate::diff) each: Option<KindId>,
    /// What is known of its records, and what the plan states instead of them.
    pub(in crate::diff) situation: &'p Situation,
    pub(in crate::diff) overrides: &'p Overrides,
    /// How figures are taken, and which is read by its formula.
    pub(in crate::diff) figures: Figures,
    pub(in crate::diff) inlined: Option<&'p Name>,
    /// How many rules may still be read.
    pub(in crate::diff) budget: &'p Cell<u64>,
}

impl Passing<'_, '_> {
    /// Whether no plan passes of which all of this is so at some point, whatever records it names.
    pub(in crate::diff) fn is_excluded(&self, formula: &Formula, vars: &Vars) -> bool {
        let parts = self.parts();
        if parts.is_empty() || parts.len() > MOST_RULES {
            return false;
        }
        let mut choices = vec![self.known()];
        for (key, options) in self.open_slots(&parts) {
            if choices.len() * options.len() > MOST_CHOICES {
                continue;
            }
            choices = choices
                .iter()
                .flat_map(|known| {
                    options.iter().map(|option| {
                        let mut known = known.clone();
                        known.insert(key.clone(), *option);
                        known
                    })
                })
                .collect();
        }
        let each = parts.len() as u64;
        choices.iter().all(|situation| {
            if self.budget.get() < each {
                return false;
            }
            self.budget.set(self.budget.get() - each);
            let mut vars = vars.clone();
            let mut all = vec![formula.clone()];
            // Twice, so that what is possible is known of all when they are met.
            for _ in 0..2 {
                all.truncate(1);
                for part in &parts {
                    let mut reader = Lowering {
                        inlined: self.inlined,
                        relaxed: true,
                        ..self.world.lowering(
                            self.differences,
                            (situation, self.overrides),
                            (self.figures, self.new),
                            &mut vars,
                        )
                    };
                    all.push(kept(&mut reader, part));
                }
            }
            all.extend(self.given(situation, &mut vars));
            vars.is_never(&all.iter().collect::<Vec<_>>())
        })
    }

    /// What a plan states that names these records, where it passes: what they give.
    fn given(&self, situation: &Situation, vars: &mut Vars) -> Vec<Formula> {
        let standard = self.world.view;
        let mut found = Vec::new();
        for (key, record) in situation {
            let open = self.situation.get(key).is_none_or(Option::is_none);
            let Some(record) = record.filter(|_| open) else {
                continue;
            };
            let kind = standard.record(record).kind;
            if standard.kind(kind).place == PlaceInRun::Record {
                continue;
            }
            for field in field_ids(standard.kind(kind)) {
                let of = standard.field(kind, field);
                let variable = vars.find(&format!("{key}.{}", of.name));
                let stated = inherited(standard, record, field);
                let (Some(variable), Some((_, stated))) = (variable, stated) else {
                    continue;
                };
                if is_given(standard, record, (kind, field))
                    && matches!(of.ty, Type::Choice(_) | Type::YesNo)
                {
                    let word = canonical::value(standard, &of.ty, &stated.value);
                    let word = vars.word(variable, &word);
                    let domain = Domain::words(Words::of([word]));
                    found.push(Formula::variable_in(variable, domain));
                }
            }
        }
        found
    }

    /// Whether no plan passes that states this setting of the thing asked about, at all or in one of these words.
    fn states_none(&self, (kind, field): (KindId, FieldId), words: Option<&[String]>) -> bool {
        let standard = self.world.view;
        let of = standard.field(kind, field);
        let key = format!("{}.{}", standard.kind(kind).name, of.name);
        let overrides = Overrides::stating(key.clone());
        let mut vars = Vars::default();
        let formula = match (&of.ty, words) {
            (Type::Choice(_) | Type::YesNo, Some(words)) => {
                let yes_no = ["no".to_owned(), "yes".to_owned()];
                let all: &[String] = match &of.ty {
                    Type::Choice(all) => all,
                    _ => &yes_no,
                };
                let variable = vars.add_words(&key, all, false, true);
                let words = words.iter().map(|word| vars.word(variable, word));
                let words = Words::of(words.collect::<Vec<_>>());
                Formula::variable_in(variable, Domain::words(words))
            }
            _ => Formula::TRUE,
        };
        let stating = Passing {
            overrides: &overrides,
            ..*self
        };
        stating.is_excluded(&formula, &vars)
    }

    /// What every plan is held to, and every thing of the kind: all that shall be and from which nothing deviates.
    fn parts(&self) -> Vec<Part> {
        let standard = self.world.view;
        let rules = standard.rules.iter().enumerate();
        let parts = rules.filter_map(|(number, rule)| {
            let mut deviations = standard.deviations.iter();
            let binding = rule.form == RuleForm::Rule
                && (rule.each.is_none() || rule.each == self.each)
                && !deviations.any(|of| of.rule == Some(number));
            let wanted = rule.requirements.iter().enumerate();
            let table = rule.table.is_some();
            let shall =
                wanted.filter(|(_, of)| of.verb == Verb::Shall && (table || of.when.is_empty()));
            let requirements: Vec<usize> = shall.map(|(number, _)| number).collect();
            // A table is asked as a whole.
            let whole = !table || requirements.len() == rule.requirements.len();
            (binding && whole && !requirements.is_empty()).then_some(Part {
                rule: number,
                requirements,
                verb: Verb::Shall,
            })
        });
        parts.collect()
    }

    /// The records that are known. Where a thing of a run is none, all that is read of it may be stated instead of a
    /// record: which one it is, is open then.
    fn known(&self) -> Situation {
        let known = self.situation.iter().filter(|(key, record)| {
            let kind = kind_at(self.world.view, key).map(|kind| self.world.view.kind(kind).place);
            record.is_some() || kind == Some(PlaceInRun::Record)
        });
        known.map(|(key, record)| (key.clone(), *record)).collect()
    }

    /// The places at which the rules read a record that is not known, and what may stand there.
    fn open_slots(&self, parts: &[Part]) -> Vec<(String, Vec<Option<RecordId>>)> {
        let standard = self.world.view;
        let known = self.known();
        let mut met: BTreeSet<(String, KindId)> = BTreeSet::new();
        for part in parts {
            for condition in crate::diff::clause_effect::conditions(standard, part) {
                let mut here = Vec::new();
                paths(condition, &mut here);
                for (key, kind, _) in here.into_iter().flat_map(|path| slots(standard, path)) {
                    let place = standard.kind(kind).place;
                    let chosen = matches!(place, PlaceInRun::One | PlaceInRun::Record);
                    if chosen && !known.contains_key(&key) {
                        met.insert((key, kind));
                    }
                }
            }
        }
        met.into_iter()
            .map(|(key, kind)| {
                let records = record_ids(standard).filter(|of| standard.record(*of).kind == kind);
                (key, records.map(Some).chain([None]).collect())
            })
            .collect()
    }
}

/// The kind of what stands at a place.
fn kind_at(standard: &Standard, key: &str) -> Option<KindId> {
    let mut parts = key.strip_prefix("any ").unwrap_or(key).split('.');
    let mut kind = *standard.kind_names.get(parts.next()?)?;
    for part in parts {
        let field = *standard.kind(kind).field_names.get(part)?;
        kind = refers(standard, (kind, field))?;
    }
    Some(kind)
}

/// Whether a plan that passes has for a setting what its record states: what is given and stated otherwise fails.
pub(in crate::diff) fn is_given(
    standard: &Standard,
    record: RecordId,
    (kind, field): (KindId, FieldId),
) -> bool {
    let strict = matches!(
        standard.field(kind, field).sort,
        Sort::Given {
            unless_stated: false,
            ..
        }
    );
    let mut wholes = standard.kind(kind).parts.iter();
    strict
        && !wholes.any(|whole| whole.fields.contains(&field))
        && inherited(standard, record, field).is_some()
}

/// Whether no plan passes one side on which a change bears beside clauses: none that states what is read otherwise, has
/// what is gone or new, or names a record that says something else.
pub(in crate::diff) fn excludes(
    worlds: &Editions<'_>,
    new: bool,
    entry: &Entry,
    budget: &Cell<u64>,
) -> bool {
    let (world, other) = match new {
        false => (&worlds.old, &worlds.new),
        true => (&worlds.new, &worlds.old),
    };
    let side = usize::from(new);
    let (situation, overrides) = (Situation::new(), Overrides::default());
    let any = Passing {
        world,
        differences: &worlds.differences,
        new,
        each: None,
        situation: &situation,
        overrides: &overrides,
        figures: Figures::Stated,
        inlined: None,
        budget,
    };
    let standard = world.view;
    // A run has one of some kinds, whatever it states.
    let of = |kind: KindId| {
        let some = matches!(
            standard.kind(kind).place,
            PlaceInRun::Many | PlaceInRun::Step
        );
        Passing {
            each: Some(kind).filter(|_| some),
            ..any
        }
    };
    let there = |kind: KindId| {
        let named = settings(standard).any(|at| refers(standard, at) == Some(kind));
        !named && of(kind).is_excluded(&Formula::TRUE, &Vars::default())
    };
    let record = |id: RecordId| {
        let kind = standard.record(id).kind;
        let called = &standard.kind(kind).name;
        let named = |key: String, kind: KindId| {
            let situation = Situation::from([(key, Some(id))]);
            let of = Passing {
                situation: &situation,
                ..of(kind)
            };
            of.is_excluded(&Formula::TRUE, &Vars::default())
        };
        let own = standard.kind(kind).place == PlaceInRun::Record || named(called.clone(), kind);
        // Named by settings of other things; what records name is read as far as it is known.
        own && settings(standard).all(|(own, field)| {
            refers(standard, (own, field)) != Some(kind)
                || standard.kind(own).place != PlaceInRun::Record && {
                    let own_name = &standard.kind(own).name;
                    let key = format!("{own_name}.{}", standard.field(own, field).name);
                    named(key, own)
                }
        })
    };
    let stated = |(kind, field): (KindId, FieldId), words: Option<&[String]>| {
        standard.kind(kind).place != PlaceInRun::Record
            && of(kind).states_none((kind, field), words)
    };
    let change = |change: &TextChange| match change {
        TextChange::Kind(at) => at[side].is_some_and(there),
        TextChange::Places(kinds) | TextChange::Parts(kinds) => there(kinds[side]),
        // Without a value for it nothing further on is worked out from it either.
        TextChange::Figure(at) => at[side].is_some_and(|at| stated(at, None)),
        TextChange::Setting(at) => at[side].is_some_and(|here| {
            let words =
                |standard: &Standard, at: (KindId, FieldId)| match &standard.field(at.0, at.1).ty {
                    Type::Choice(words) => Some(words.clone()),
                    _ => None,
                };
            let mine = words(standard, here);
            let theirs = at[1 - side].and_then(|at| words(other.view, at));
            // Of a choice, the words that the other side does not have.
            let more = mine.zip(theirs).map(|(mine, theirs)| {
                let more = mine.into_iter().filter(|word| !theirs.contains(word));
                more.collect::<Vec<String>>()
            });
            let more = more.filter(|more| !more.is_empty());
            stated(here, more.as_deref())
        }),
        TextChange::Record(at) => match &entry.records {
            Some((kind, names)) => standard.kind_names.get(kind).is_some_and(|kind| {
                names.iter().all(|name| {
                    let id = standard.record_names.get(&(*kind, name.clone()));
                    id.is_none_or(|id| record(*id))
                })
            }),
            None => at[side].is_some_and(record),
        },
        TextChange::Unit(spelling) => {
            let own = standard.own_units();
            let unit = own.iter().find(|(of, _)| of == spelling);
            unit.is_some_and(|(_, unit)| {
                settings(standard).all(|at| {
                    let of = standard.field(at.0, at.1);
                    !matches!(of.ty, Type::Quantity(_) | Type::Range(_))
                        || of.usual_unit().dimension() != unit.dimension()
                        || standard.kind(at.0).place == PlaceInRun::Record
                        || stated(at, None)
                })
            })
        }
        TextChange::Rule(_) | TextChange::All => false,
    };
    !entry.texts.is_empty() && entry.texts.iter().all(change)
        || any.is_excluded(&Formula::TRUE, &Vars::default())
        || entry.records.as_ref().is_some_and(|(kind, names)| {
            if !matches!(entry.touches, Touches::Setting(_)) {
                return false;
            }
            // It bears on no plan that names none of these: with each of them, none states what is read otherwise.
            let kind = standard.kind_names.get(kind).copied();
            let one = kind.filter(|kind| standard.kind(*kind).place == PlaceInRun::One);
            one.is_some_and(|kind| {
                names.iter().all(|name| {
                    let Some(id) = standard.record_names.get(&(kind, name.clone())) else {
                        return true;
                    };
                    record(*id) || otherwise_than_given(&any, other, *id, &entry.texts)
                })
            })
        })
}

/// Whether all that is read otherwise of a record is one word that it gives on the other side, and no plan passes that
/// names it and states another.
fn otherwise_than_given(
    any: &Passing<'_, '_>,
    other: &Edition<'_>,
    id: RecordId,
    texts: &[TextChange],
) -> bool {
    let standard = any.world.view;
    let kind = standard.record(id).kind;
    let situation = Situation::from([(standard.kind(kind).name.clone(), Some(id))]);
    let with = Passing {
        situation: &situation,
        ..*any
    };
    let side = usize::from(any.new);
    let there = same_record(standard, id, other.view);
    let values = texts
        .iter()
        .filter(|of| matches!(of, TextChange::Setting(_)));
    values.count() == 1
        && texts.iter().all(|change| match change {
            TextChange::Record(_) => true,
            TextChange::Setting(at) => {
                let both = at[side].zip(at[1 - side]).zip(there);
                both.is_some_and(|((here, theirs), there)| {
                    let of = other.view.field(theirs.0, theirs.1);
                    let (Type::Choice(_) | Type::YesNo) = of.ty else {
                        return false;
                    };
                    let given = is_given(other.view, there, theirs);
                    let stated = inherited(other.view, there, theirs.1);
                    let Some((_, stated)) = stated.filter(|_| given) else {
                        return false;
                    };
                    let word = canonical::value(other.view, &of.ty, &stated.value);
                    let words = match &standard.field(here.0, here.1).ty {
                        Type::Choice(words) => words.clone(),
                        _ => vec!["no".to_owned(), "yes".to_owned()],
                    };
                    let others: Vec<String> = words.into_iter().filter(|of| *of != word).collect();
                    here.0 == kind && with.states_none(here, Some(&others))
                })
            }
            _ => false,
        })
}

fn settings(standard: &Standard) -> impl Iterator<Item = (KindId, FieldId)> {
    kind_ids(standard)
        .flat_map(move |kind| field_ids(standard.kind(kind)).map(move |field| (kind, field)))
}
