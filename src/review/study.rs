//! One group of requirements in every situation: what clashes, what is dead, what others imply,
//! what is left of each setting.

use std::cell::LazyCell;
use std::collections::{BTreeMap, BTreeSet};

use super::clauses::{Clauses, Group, situations};
use super::conflicts::Questions;
use super::exclusion::Exclusions;
use super::hygiene::says_something;
use super::neighbours::Neighbours;
use super::oracle::{Link, RunOracle};
use super::resolver::{Figure, RunResolver};
use super::symbolic_run::{Setting, Situation, SymbolicRun};
use crate::constraint::{
    Budget, Definition, Domain, Formula, Shares, Solver, Variable, Wanted, lower,
};
use crate::eval::{Aim, Binding, EvalContext, EvalError, range};
use crate::types::{Condition, PlaceInRun, RecordId, Standard};
use crate::units::Exact;

/// The most situations that a group is looked at in.
const MOST_SITUATIONS: usize = 20_000;

/// The most work that goes into putting one group into its situations.
const MOST_OF_A_GROUP: u64 = 2_000_000;

/// What it takes to put one requirement into a situation, in units of the budget.
const PRICE: u64 = 10;

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
    pub(super) leaves: Option<(Variable, Vec<(ClauseId, Domain)>)>,
    /// The requirement whose rule must apply for the clash, where a run could else get around it.
    pub(super) whenever: Option<ClauseId>,
    /// Where it was first met.
    pub(super) situation: Situation,
    /// Runs that keep all but one of them: that one, and the values of the run.
    pub(super) without: Vec<(ClauseId, BTreeMap<Variable, Exact>)>,
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
    pub(super) left: Domain,
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
    /// Whether the work ended before all situations were looked at.
    pub(super) cut_short: bool,
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
}

/// One clause on one thing in one situation.
pub(super) struct Placed<'s> {
    pub(super) clause: ClauseId,
    pub(super) whens: Vec<Formula<Figure<'s>>>,
    pub(super) free: Formula<Figure<'s>>,
    pub(super) applies: Formula<Figure<'s>>,
    pub(super) breaks: Formula<Figure<'s>>,
    pub(super) kept: Formula<Figure<'s>>,
    pub(super) requires: Formula<Figure<'s>>,
    /// What it requires, at some point inside the tolerances of records.
    pub(super) may_do: Formula<Figure<'s>>,
    /// Whether what it requires hangs on a free setting, even where no value of it would do.
    pub(super) hangs_on_free: bool,
}

impl Placed<'_> {
    /// Whether the records alone say whether it is kept, or nothing is known of it.
    pub(super) fn is_settled(&self) -> bool {
        self.kept.is_settled() && !(self.kept.is_false() && self.hangs_on_free)
    }

    /// Whether the records alone say whether what it requires is so, or nothing is known of it.
    pub(super) fn requires_nothing_free(&self) -> bool {
        self.requires.is_settled() && !(self.requires.is_false() && self.hangs_on_free)
    }
}

/// What studies of all groups share.
pub(super) struct Means<'m> {
    /// What each requirement may take, and left open.
    pub(super) shares: &'m Shares<'m>,
    /// What putting a group into its situations may take.
    pub(super) situations: &'m Budget<'m>,
    /// Whether a record is declared in a file of the shop's own.
    pub(super) own: &'m dyn Fn(RecordId) -> bool,
}

/// How many situations a group has, counted no further than to the most that are looked at.
pub(super) fn count(standard: &Standard, group: &Group) -> usize {
    let mut count = 1_usize;
    for kind in &group.kinds {
        let nothing = usize::from(standard.kind(*kind).place == PlaceInRun::One);
        count = count.saturating_mul(standard.records_of(*kind).count() + nothing);
    }
    let stated = match group.asked.len() {
        0 => 1,
        1 => 2,
        many => many + 2,
    };
    count.saturating_mul(stated)
}

/// Whether a group has more situations than are looked at, or takes more work to put into them.
pub(super) fn too_many(standard: &Standard, clauses: &Clauses, group: &Group) -> bool {
    count(standard, group) > MOST_SITUATIONS || size(standard, clauses, group) > MOST_OF_A_GROUP
}

/// What it takes to put a group into all its situations, about.
pub(super) fn size(standard: &Standard, clauses: &Clauses, group: &Group) -> u64 {
    let situations = count(standard, group);
    let exclusions = Exclusions::new(standard, clauses, &group.clauses, &group.kinds);
    let met = exclusions.met_in(standard, situations);
    let situations = u64::try_from(situations).unwrap_or(u64::MAX);
    situations.saturating_add(met).saturating_mul(PRICE)
}

/// Looks at a group in every situation.
pub(super) fn study(
    standard: &Standard,
    clauses: &Clauses,
    run: &mut SymbolicRun,
    group: &Group,
    means: &Means<'_>,
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
    let all = situations(
        standard,
        &group.kinds,
        &group.asked,
        means.own,
        MOST_SITUATIONS,
    );
    let Some(all) = all else {
        study.cut();
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
    let exclusions = Exclusions::new(standard, clauses, &group.clauses, &group.kinds);
    let others = Exclusions::new(standard, clauses, &on_records, &group.kinds);
    let with_limits = limited_by(clauses, group);
    for situation in &all {
        let ids = exclusions.meets(situation);
        if !means.situations.spend(price(ids.len())) {
            // What clashes was proved; of what was not looked at nothing is claimed.
            study.cut();
            return study;
        }
        let mut look = Situated {
            standard,
            clauses,
            run: &mut *run,
            situation,
            means,
        };
        look.ask(&ids, &others, &mut |questions| {
            questions.clashes(&mut study);
            questions.stuck(&mut study);
            questions.fates(&mut study);
            if situation.is_named() && situation.absent == group.asked {
                study.combinations += 1;
                questions.windows(&mut study);
                questions.limits(&mut study, &with_limits);
            }
        });
    }
    never_met(standard, clauses, run, (&all, &others), means, &mut study);
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

/// Why those never apply whose records exclude them everywhere: looked at in the first situations, which tell it.
fn never_met(
    standard: &Standard,
    clauses: &Clauses,
    run: &mut SymbolicRun,
    (all, others): (&[Situation], &Exclusions),
    means: &Means<'_>,
    study: &mut Study,
) {
    let never = |(id, fate): (&ClauseId, &Fate)| {
        let told = fate.applies || fate.applies_unknown || !fate.dead.is_empty();
        (!told).then_some(*id)
    };
    let ids: Vec<ClauseId> = study.fates.iter().filter_map(never).collect();
    if ids.is_empty() {
        return;
    }
    for situation in all.iter().take(MOST_FOR_REASONS) {
        if !means.situations.spend(price(ids.len())) {
            break;
        }
        let mut look = Situated {
            standard,
            clauses,
            run: &mut *run,
            situation,
            means,
        };
        look.ask(&ids, others, &mut |questions| questions.fates(study));
    }
}

/// In how many situations it is asked why a rule never applies.
const MOST_FOR_REASONS: usize = 64;

/// What it takes to put so many requirements into a situation.
fn price(requirements: usize) -> u64 {
    let requirements = u64::try_from(requirements).unwrap_or(u64::MAX);
    requirements.saturating_add(1).saturating_mul(PRICE)
}

/// The kinds that bear on the limits of each setting.
fn limited_by(
    clauses: &Clauses,
    group: &Group,
) -> BTreeMap<Setting, BTreeSet<crate::types::KindId>> {
    let mut found: BTreeMap<Setting, BTreeSet<crate::types::KindId>> = BTreeMap::new();
    for id in &group.clauses {
        let clause = &clauses.list[*id];
        for setting in &clause.required {
            found.entry(*setting).or_default().extend(&clause.own_kinds);
        }
    }
    found
}

impl Study {
    /// Not all was looked at: nothing is claimed that rests on having seen everything.
    fn cut(&mut self) {
        self.cut_short = true;
        self.fates.clear();
        self.stuck.clear();
        self.limited.clear();
    }
}

/// A situation that is to be looked at.
struct Situated<'l, 'm> {
    standard: &'l Standard,
    clauses: &'l Clauses,
    run: &'l mut SymbolicRun,
    situation: &'l Situation,
    means: &'l Means<'m>,
}

impl Situated<'_, '_> {
    /// Puts some requirements into the situation, and asks.
    fn ask(
        &mut self,
        ids: &[ClauseId],
        others: &Exclusions,
        ask: &mut dyn FnMut(&Questions<'_, '_, '_>),
    ) {
        let (standard, clauses) = (self.standard, self.clauses);
        self.run.put(standard, self.situation);
        let run = &*self.run;
        let context = EvalContext::new(standard, &run.run);
        let placed = placed(context, clauses, run, ids);
        let oracle = RunOracle::new(context, run, links(standard, clauses, run));
        let neighbours = Neighbours::of(clauses, &oracle, &placed);
        // Most situations never ask.
        let said = LazyCell::new(|| {
            let others = self::placed(context, clauses, run, &others.meets(self.situation));
            let named = self.situation.is_named();
            let all = placed.iter().chain(&others).filter(|_| named);
            self::said(standard, clauses, all)
        });
        ask(&Questions {
            standard,
            clauses,
            run,
            oracle: &oracle,
            solver: Solver::new(&oracle),
            shares: self.means.shares,
            placed: &placed,
            neighbours: &neighbours,
            situation: self.situation,
            said: &said,
        });
    }
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
        let forbidden = of.kept.is_false() && of.is_settled();
        if clause.by_order || !forbidden || !reasoned {
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

/// Some clauses on all things.
fn placed<'s>(
    context: EvalContext<'s>,
    clauses: &Clauses,
    run: &SymbolicRun,
    ids: &[ClauseId],
) -> Vec<Placed<'s>> {
    let standard = context.standard;
    let mut resolver = RunResolver::new(context, run);
    let mut found = Vec::new();
    for id in ids {
        let clause = &clauses.list[*id];
        let rule = &standard.rules[clause.rule];
        let things = match rule.each {
            None => vec![None],
            Some(kind) => run.run.many[kind.0 as usize]
                .iter()
                .copied()
                .map(Some)
                .collect(),
        };
        for each in things {
            resolver.binding = Binding {
                each,
                ..Binding::default()
            };
            let requirement = &rule.requirements[clause.requirement].condition;
            let wanted = || rule.permissions.iter().chain([requirement]);
            let whens: Vec<Formula<Figure<'s>>> = rule
                .when
                .iter()
                .map(|when| lower(&mut resolver, when, Wanted::TRUE))
                .collect();
            let applies = Formula::all(whens.clone());
            if applies.is_false() {
                // Nothing is asked of it here.
                found.push(Placed {
                    clause: *id,
                    free: free(standard, &rule.when, &whens),
                    whens,
                    breaks: Formula::FALSE,
                    kept: Formula::TRUE,
                    requires: Formula::TRUE,
                    may_do: Formula::TRUE,
                    hangs_on_free: false,
                    applies,
                });
                continue;
            }
            let not_applying: Vec<_> = rule
                .when
                .iter()
                .map(|when| lower(&mut resolver, when, Wanted::FALSE.surely()))
                .collect();
            let not_applying = Formula::any(not_applying);
            resolver.free = false;
            let mut read = |so: Wanted| -> Vec<Formula<Figure<'s>>> {
                let all = wanted().map(|of| lower(&mut resolver, of, so));
                all.collect()
            };
            let fails = Formula::all(read(Wanted::FALSE));
            let requires = Formula::any(read(Wanted::TRUE.surely()));
            let may_do = Formula::any(read(Wanted::TRUE));
            found.push(Placed {
                clause: *id,
                free: free(standard, &rule.when, &whens),
                whens,
                breaks: Formula::all([applies.clone(), fails]),
                applies,
                kept: Formula::any([not_applying, requires.clone()]),
                requires,
                may_do,
                hangs_on_free: resolver.free,
            });
        }
    }
    found
}

/// The part of a `when` that no record decides.
fn free<'s>(
    standard: &Standard,
    when: &[Condition],
    lowered: &[Formula<Figure<'s>>],
) -> Formula<Figure<'s>> {
    let parts = when.iter().zip(lowered);
    let free = parts.filter(|(when, _)| !reads_records(standard, when));
    Formula::all(free.map(|(_, formula)| formula.clone()))
}

/// The worked-out settings of the run that are read beside what they are worked out from.
fn links<'s>(standard: &'s Standard, clauses: &Clauses, run: &SymbolicRun) -> Vec<Link<'s>> {
    let mut found = Vec::new();
    for (setting, inputs) in &clauses.linked {
        let Some(formula) = &standard.field(setting.0, setting.1).formula else {
            continue;
        };
        for (variable, of) in run.numbered() {
            if of.setting != *setting || run.variable(of.leaf).is_none() {
                continue;
            }
            // What it is worked out from stands on the same thing, or on one of which there is one.
            let near = |input: &Setting| {
                let mut all = run.numbered();
                let found = all.find(|(_, near)| {
                    near.setting == *input
                        && run.variable(near.leaf).is_some()
                        && (input.0 != setting.0 || near.leaf.target == of.leaf.target)
                });
                found.map(|(variable, _)| variable)
            };
            let binding = Binding {
                own: Some(of.leaf.target),
                ..Binding::default()
            };
            // Where something it needs is missing, it is stated or not there at all.
            let context = EvalContext::new(standard, &run.run);
            if let Err(EvalError::Missing(_)) = range(&context, binding, Aim::value(formula)) {
                continue;
            }
            found.push(Link {
                definition: Definition {
                    variable,
                    inputs: inputs.iter().filter_map(near).collect(),
                },
                formula,
                binding,
            });
        }
    }
    found
}

/// Whether a condition reads what only a record can state.
fn reads_records(standard: &Standard, condition: &Condition) -> bool {
    let mut found = false;
    condition.reads(&mut |read| {
        let settings = read
            .path()
            .into_iter()
            .flat_map(crate::types::Path::settings);
        let mut kinds = settings.map(|(kind, _)| standard.kind(kind).place);
        found |= kinds.any(|place| place == PlaceInRun::Record);
    });
    found
}
