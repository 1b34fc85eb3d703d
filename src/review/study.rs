//! One group of requirements in every situation: what clashes, what is dead, what others imply,
//! what is left of each setting.

use std::cell::LazyCell;
use std::collections::{BTreeMap, BTreeSet};

use super::care::says_something;
use super::cast::{Cast, Setting, Situation};
use super::clauses::{Clauses, Group, situations};
use super::look::Look;
use super::node::{Ask, Node, Reader, all, any};
use super::reads;
use super::set::Set;
use super::solve::{Link, Solver, Work};
use crate::eval::{Aim, Binding, EvalContext, EvalError, range};
use crate::types::{Condition, PlaceInRun, RecordId, Standard};
use crate::units::Exact;

/// The most situations that a group is looked at in.
const MOST_SITUATIONS: usize = 20_000;

/// A clause by its number in the list.
pub(super) type ClauseId = usize;

/// Records that are used together.
pub(super) type Combinations = BTreeSet<Vec<RecordId>>;

/// Requirements that leave nothing.
#[derive(Debug, Clone)]
pub(super) struct Clash {
    /// The smallest set of requirements that clash.
    pub(super) core: BTreeSet<ClauseId>,
    /// The setting they leave nothing of, where it is one, and what each leaves of it.
    pub(super) leaves: Option<(usize, Vec<(ClauseId, Set)>)>,
    /// The requirement whose rule must apply for the clash, where a run could else get around it.
    pub(super) whenever: Option<ClauseId>,
    /// Where it was first met.
    pub(super) situation: Situation,
    /// Runs that keep all but one of them: that one, and the values of the run.
    pub(super) without: Vec<(ClauseId, BTreeMap<usize, Exact>)>,
    /// Combinations of records in which it is met.
    pub(super) combinations: Combinations,
    /// The rules on the records alone that say why they do not go together, where there are any.
    pub(super) explained: Explained,
    /// Whether it is advice that could be followed at some point inside what a record states as a span.
    pub(super) disputed: bool,
}

/// Combinations of records, and the rules on records alone that speak of them.
pub(super) type Explained = BTreeMap<Vec<RecordId>, BTreeSet<ClauseId>>;

/// What rules on the records alone say of a situation.
#[derive(Debug, Default)]
pub(super) struct Said {
    /// Requirements with a reason that no run with these records keeps.
    pub(super) forbids: BTreeSet<ClauseId>,
    /// Recommendations with a reason that no run with these records follows.
    pub(super) advises: BTreeSet<ClauseId>,
}

/// What is left of a setting in a combination.
#[derive(Debug, Clone)]
pub(super) struct Window {
    /// The setting.
    pub(super) setting: Setting,
    /// What is left.
    pub(super) left: Set,
    /// The requirements that leave it.
    pub(super) by: BTreeSet<ClauseId>,
    /// Where it was first met.
    pub(super) situation: Situation,
    /// Combinations of records in which it is met.
    pub(super) combinations: Combinations,
    /// Those of them of which a recommendation on the records alone says so beforehand.
    pub(super) explained: Explained,
}

/// How a clause fares over all situations.
#[derive(Debug, Clone)]
pub(super) struct Fate {
    /// Whether its `when` can be true somewhere.
    pub(super) applies: bool,
    /// Whether that is not known somewhere.
    pub(super) applies_unknown: bool,
    /// Whether the part of its `when` that no record decides can be true somewhere.
    pub(super) applies_free: bool,
    /// The parts of its `when` that cannot be true together.
    pub(super) dead: BTreeSet<usize>,
    /// Whether it may break somewhere, by itself.
    pub(super) may_break: bool,
    /// Whether it may break somewhere where the others are kept.
    pub(super) may_break_alone: bool,
    /// The requirements that keep it, over all situations.
    pub(super) kept_by: BTreeSet<ClauseId>,
}

/// All that was found in a group.
#[derive(Debug, Default)]
pub(super) struct Study {
    /// Whether there were too many situations to look at all of them.
    pub(super) too_many: bool,
    /// Requirements that clash.
    pub(super) clashes: Vec<Clash>,
    /// Those of which a rule on the records alone says beforehand that they do not go together.
    pub(super) explained: Vec<Clash>,
    /// Recommendations that clash with requirements.
    pub(super) vain: Vec<Clash>,
    /// Requirements that can be kept somewhere where their rule applies and all others are kept.
    pub(super) keepable: BTreeSet<ClauseId>,
    /// Those that could not, where they were first met so.
    pub(super) stuck: BTreeMap<ClauseId, Clash>,
    /// How each clause fares.
    pub(super) fates: BTreeMap<ClauseId, Fate>,
    /// Narrow or not, what is left of settings with limits.
    pub(super) windows: Vec<Window>,
    /// By setting: combinations with a limit, and those without.
    pub(super) limited: BTreeMap<Setting, (Combinations, Combinations)>,
    /// Settings of records that a requirement needs, and the records that lack them.
    pub(super) lacking: BTreeMap<(Setting, ClauseId), BTreeSet<RecordId>>,
    /// How many combinations of records were looked at.
    pub(super) combinations: usize,
    /// How many questions could not be decided.
    pub(super) undecided: usize,
}

/// One clause on one thing in one situation.
pub(super) struct Placed<'s> {
    pub(super) clause: ClauseId,
    pub(super) whens: Vec<Node<'s>>,
    pub(super) free: Node<'s>,
    pub(super) applies: Node<'s>,
    pub(super) breaks: Node<'s>,
    pub(super) kept: Node<'s>,
    pub(super) requires: Node<'s>,
    /// What it requires, at some point inside the tolerances of records.
    pub(super) may_do: Node<'s>,
}

/// Looks at a group in every situation.
pub(super) fn study(
    standard: &Standard,
    clauses: &Clauses,
    cast: &mut Cast,
    group: &Group,
    own: &dyn Fn(RecordId) -> bool,
    work: &Work,
) -> Study {
    let mut study = Study::default();
    for clause in &group.clauses {
        let fresh = Fate {
            applies: false,
            // Only one of the settings asked for is stated at a time, or all: some mixtures are not looked at.
            applies_unknown: clauses.list[*clause].asked.len() > 1,
            applies_free: false,
            dead: BTreeSet::new(),
            may_break: false,
            may_break_alone: false,
            kept_by: BTreeSet::new(),
        };
        study.fates.insert(*clause, fresh);
    }
    let Some(all) = situations(standard, &group.kinds, &group.asked, own, MOST_SITUATIONS) else {
        study.too_many = true;
        return study;
    };
    // Rules of other groups that these records decide by themselves: they may say that some never go together.
    let on_records: Vec<ClauseId> = (0..clauses.list.len())
        .filter(|id| {
            let clause = &clauses.list[*id];
            let known = clause.kinds.is_subset(&group.kinds);
            let mut settings = clause.settings.iter();
            let decided = known && settings.all(|(kind, _)| clause.kinds.contains(kind));
            decided && !clause.kinds.is_empty() && !group.clauses.contains(id)
        })
        .collect();
    for situation in &all {
        if !work.may() {
            // What clashes was proved; of what was not looked at nothing is claimed.
            study.too_many = true;
            study.fates.clear();
            study.stuck.clear();
            study.limited.clear();
            return study;
        }
        cast.put(standard, situation);
        let context = EvalContext::new(standard, &cast.run);
        let reader = Reader::new(context, cast);
        let placed = placed(standard, clauses, cast, &group.clauses, &reader);
        let links = links(standard, clauses, cast);
        let solver = Solver::new(context, cast, links, work);
        // Most situations never ask.
        let said = LazyCell::new(|| {
            let others = self::placed(standard, clauses, cast, &on_records, &reader);
            let named = situation.is_named();
            let all = placed.iter().chain(&others).filter(|_| named);
            self::said(standard, clauses, all)
        });
        let look = Look {
            standard,
            clauses,
            cast,
            solver: &solver,
            placed: &placed,
            situation,
            said: &said,
        };
        look.clashes(&mut study);
        look.stuck(&mut study);
        look.fates(&mut study);
        if situation.is_named() && situation.absent == group.asked {
            study.combinations += 1;
            look.windows(&mut study);
            look.limits(&mut study);
        }
    }
    let told: BTreeSet<ClauseId> = study
        .clashes
        .iter()
        .chain(&study.explained)
        .flat_map(|clash| clash.core.iter().copied())
        .collect();
    let keepable = &study.keepable;
    study
        .stuck
        .retain(|id, _| !keepable.contains(id) && !told.contains(id));
    study
}

/// What the clauses that records decide by themselves say, with a reason.
fn said<'p, 's: 'p>(
    standard: &Standard,
    clauses: &Clauses,
    all: impl Iterator<Item = &'p Placed<'s>>,
) -> Said {
    let mut said = Said::default();
    for of in all {
        let clause = &clauses.list[of.clause];
        let reason = standard.rules[clause.rule].because.as_ref();
        let reasoned = reason.is_some_and(|text| says_something(text));
        if clause.by_order || of.kept != Node::False || !reasoned {
            continue;
        }
        let side = match clause.shall {
            true => &mut said.forbids,
            false => &mut said.advises,
        };
        side.insert(of.clause);
    }
    said
}

/// All clauses of a group on all things.
fn placed<'s>(
    standard: &'s Standard,
    clauses: &Clauses,
    cast: &Cast,
    ids: &[ClauseId],
    reader: &Reader<'_>,
) -> Vec<Placed<'s>> {
    let mut found = Vec::new();
    for id in ids {
        let clause = &clauses.list[*id];
        let rule = &standard.rules[clause.rule];
        let things = match rule.each {
            None => vec![None],
            Some(kind) => cast.run.many[kind.0 as usize]
                .iter()
                .copied()
                .map(Some)
                .collect(),
        };
        for each in things {
            let binding = Binding {
                each,
                ..Binding::default()
            };
            let ask = |negated, sure| Ask { negated, sure };
            let read = |condition, ask| reader.node(binding, condition, ask);
            let requirement = &rule.requirements[clause.requirement].condition;
            let wanted = || rule.permissions.iter().chain([requirement]);
            let whens: Vec<Node<'s>> = rule
                .when
                .iter()
                .map(|when| read(when, ask(false, false)))
                .collect();
            let free = rule
                .when
                .iter()
                .zip(&whens)
                .filter(|(when, _)| !reads_records(standard, when));
            let free = all(free.map(|(_, node)| node.clone()));
            let applies = all(whens.clone());
            let fails = all(wanted().map(|condition| read(condition, ask(true, false))));
            let not_applying = any(rule.when.iter().map(|when| read(when, ask(true, true))));
            let requires = any(wanted().map(|condition| read(condition, ask(false, true))));
            let may_do = any(wanted().map(|condition| read(condition, ask(false, false))));
            found.push(Placed {
                clause: *id,
                whens,
                free,
                breaks: all([applies.clone(), fails]),
                applies,
                kept: any([not_applying, requires.clone()]),
                requires,
                may_do,
            });
        }
    }
    found
}

/// The links of the made-up run, in the situation it was put into.
fn links<'s>(standard: &'s Standard, clauses: &Clauses, cast: &Cast) -> Vec<Link<'s>> {
    let mut found = Vec::new();
    for (setting, inputs) in &clauses.linked {
        let Some(formula) = &standard.field(setting.0, setting.1).formula else {
            continue;
        };
        for (var, of) in cast.vars.iter().enumerate() {
            if of.setting != *setting || cast.var(of.leaf).is_none() {
                continue;
            }
            // What it is worked out from stands on the same thing, or on one of which there is one.
            let near = |input: &Setting| {
                (0..cast.vars.len()).find(|index| {
                    let leaf = cast.vars[*index].leaf;
                    cast.vars[*index].setting == *input
                        && cast.var(leaf).is_some()
                        && (input.0 != setting.0 || leaf.target == of.leaf.target)
                })
            };
            let binding = Binding {
                own: Some(of.leaf.target),
                ..Binding::default()
            };
            // Where something it needs is missing, it is stated or not there at all.
            let context = EvalContext::new(standard, &cast.run);
            if let Err(EvalError::Missing(_)) = range(&context, binding, Aim::value(formula)) {
                continue;
            }
            found.push(Link {
                var,
                formula,
                binding,
                inputs: inputs.iter().filter_map(near).collect(),
            });
        }
    }
    found
}

/// Whether a condition reads what only a record can state.
fn reads_records(standard: &Standard, condition: &Condition) -> bool {
    let mut found = false;
    reads::condition(condition, &mut |read| {
        let settings = read.path().into_iter().flat_map(reads::settings);
        let mut kinds = settings.map(|(kind, _)| standard.kind(kind).place);
        found |= kinds.any(|place| place == PlaceInRun::Record);
    });
    found
}
