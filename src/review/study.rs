//! One group of requirements in every situation: what clashes, what is dead, what others imply,
//! what is left of each setting.

use std::collections::{BTreeMap, BTreeSet};

use super::cast::{Cast, Setting, Situation, inherited};
use super::clauses::{Clauses, Group, situations};
use super::node::{Ask, Node, Reader, all, any};
use super::reads;
use super::set::Set;
use super::solve::{Answer, Found, Link, Region, Solver};
use crate::eval::{Aim, Frame, Scene, Stop, range};
use crate::types::{Condition, KindId, PlaceInRun, RecordId, Standard};

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
    /// Where it was first met.
    pub(super) situation: Situation,
    /// A run without one of them that keeps the others.
    pub(super) without: Option<(ClauseId, BTreeMap<usize, crate::units::Exact>)>,
    /// Combinations of records in which it is met.
    pub(super) combinations: Combinations,
    /// Combinations in which a rule on the records alone says that they do not go together.
    pub(super) excluded: usize,
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
    /// Whether there were too many situations to look at.
    pub(super) too_many: bool,
    /// Requirements that clash.
    pub(super) clashes: Vec<Clash>,
    /// Recommendations that clash with requirements.
    pub(super) vain: Vec<Clash>,
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
struct Placed<'s> {
    clause: ClauseId,
    whens: Vec<Node<'s>>,
    free: Node<'s>,
    applies: Node<'s>,
    breaks: Node<'s>,
    kept: Node<'s>,
    requires: Node<'s>,
}

/// Looks at a group in every situation.
pub(super) fn study(
    standard: &Standard,
    clauses: &Clauses,
    cast: &mut Cast,
    group: &Group,
    own: &dyn Fn(RecordId) -> bool,
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
            let decided = !clause.kinds.is_empty() && clause.kinds.is_subset(&group.kinds);
            clause.shall && decided && !group.clauses.contains(id)
        })
        .collect();
    for situation in &all {
        cast.put(standard, situation);
        let scene = Scene::new(standard, &cast.run);
        let reader = Reader::new(scene, cast);
        let placed = placed(standard, clauses, cast, &group.clauses, &reader);
        let links = links(standard, clauses, cast);
        let solver = Solver::new(scene, cast, links);
        let excludes = |of: &Placed<'_>| {
            let clause = &clauses.list[of.clause];
            clause.shall && !clause.by_order && of.kept == Node::False
        };
        let excluded = situation.is_named()
            && (placed.iter().any(excludes)
                || self::placed(standard, clauses, cast, &on_records, &reader)
                    .iter()
                    .any(excludes));
        let look = Look {
            standard,
            clauses,
            cast,
            solver: &solver,
            placed: &placed,
            situation,
            excluded,
        };
        look.clashes(&mut study);
        look.fates(&mut study);
        if situation.is_named() && situation.absent == group.asked {
            study.combinations += 1;
            look.windows(&mut study);
            look.limits(&mut study);
        }
    }
    study
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
            let frame = Frame {
                each,
                ..Frame::default()
            };
            let ask = |negated, sure| Ask { negated, sure };
            let read = |condition, ask| reader.node(frame, condition, ask);
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
            found.push(Placed {
                clause: *id,
                whens,
                free,
                breaks: all([applies.clone(), fails]),
                applies,
                kept: any([not_applying, requires.clone()]),
                requires,
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
            let frame = Frame {
                own: Some(of.leaf.target),
                ..Frame::default()
            };
            // Where something it needs is missing, it is stated or not there at all.
            let scene = Scene::new(standard, &cast.run);
            if let Err(Stop::Missing(_)) = range(&scene, frame, Aim::value(formula)) {
                continue;
            }
            found.push(Link {
                var,
                formula,
                frame,
                inputs: inputs.iter().filter_map(near).collect(),
            });
        }
    }
    found
}

/// A look at one situation.
struct Look<'l, 'a, 's> {
    standard: &'s Standard,
    clauses: &'l Clauses,
    cast: &'l Cast,
    solver: &'l Solver<'a, 's>,
    placed: &'l [Placed<'s>],
    situation: &'l Situation,
    excluded: bool,
}

impl<'s> Look<'_, '_, 's> {
    /// The records of the situation, of these kinds.
    fn combination(&self, kinds: &BTreeSet<KindId>) -> Vec<RecordId> {
        let of = self.situation.records.iter();
        of.filter(|(kind, _)| kinds.contains(kind))
            .filter_map(|(_, record)| *record)
            .collect()
    }

    fn kinds(&self, core: &BTreeSet<ClauseId>) -> BTreeSet<KindId> {
        let of = |clause: &ClauseId| self.clauses.list[*clause].kinds.iter().copied();
        core.iter().flat_map(of).collect()
    }

    /// Requirements that bind something here, in parts that share no setting.
    fn parts(&self) -> Vec<Vec<usize>> {
        let mut parts: Vec<(BTreeSet<usize>, Vec<usize>)> = Vec::new();
        for (index, placed) in self.placed.iter().enumerate() {
            let clause = &self.clauses.list[placed.clause];
            let known = matches!(placed.kept, Node::True | Node::False | Node::Unknown);
            if !clause.shall || known {
                continue;
            }
            let mut vars = Vec::new();
            placed.kept.vars(&mut vars);
            let mut mine: BTreeSet<usize> = self.solver.with_links(vars);
            let mut members = vec![index];
            parts.retain_mut(|(others, list)| {
                let apart = others.is_disjoint(&mine);
                if !apart {
                    mine.append(others);
                    members.append(list);
                }
                apart
            });
            parts.push((mine, members));
        }
        parts.into_iter().map(|(_, members)| members).collect()
    }

    fn ask(&self, members: &[usize]) -> Answer {
        let nodes: Vec<&Node<'s>> = members
            .iter()
            .map(|index| &self.placed[*index].kept)
            .collect();
        self.solver.together(&nodes)
    }

    /// The members of a clash met before, if they clash here too: one reason is told once.
    fn known_core(&self, members: &[usize], known: &[Clash]) -> Option<Vec<usize>> {
        known.iter().find_map(|clash| {
            let mine: Vec<usize> = members
                .iter()
                .copied()
                .filter(|index| clash.core.contains(&self.placed[*index].clause))
                .collect();
            let core = self.core(&mine, &[]);
            let clauses: BTreeSet<ClauseId> = core
                .iter()
                .map(|index| self.placed[*index].clause)
                .collect();
            (self.ask(&mine) == Answer::No && clauses == clash.core).then_some(core)
        })
    }

    /// The members without which all others could be kept, taken out one by one.
    fn core(&self, members: &[usize], also: &[&Node<'s>]) -> Vec<usize> {
        let mut kept = members.to_vec();
        let mut at = 0;
        while at < kept.len() {
            let mut fewer = kept.clone();
            fewer.remove(at);
            let mut nodes: Vec<&Node<'s>> = fewer
                .iter()
                .map(|index| &self.placed[*index].kept)
                .collect();
            nodes.extend(also);
            if self.solver.together(&nodes) == Answer::No {
                kept = fewer;
            } else {
                at += 1;
            }
        }
        kept
    }

    fn clashes(&self, study: &mut Study) {
        // A thing that is no record of its kind could be anything: what clashes there clashes for records.
        if !self.situation.is_named() {
            return;
        }
        for members in self.parts() {
            match self.ask(&members) {
                Answer::No => {
                    let core = self.known_core(&members, &study.clashes);
                    let core = core.unwrap_or_else(|| self.core(&members, &[]));
                    self.clash(core, None, &mut study.clashes);
                }
                Answer::Open => study.undecided += 1,
                Answer::Yes(_) => {}
            }
        }
        // What is recommended, on top of what is required.
        for (index, placed) in self.placed.iter().enumerate() {
            let known = matches!(placed.kept, Node::True | Node::False | Node::Unknown);
            if self.clauses.list[placed.clause].shall || known {
                continue;
            }
            let members = self.around(index);
            let mut with = members.clone();
            with.push(index);
            if self.ask(&with) == Answer::No && self.ask(&members) != Answer::No {
                let core = self.known_core(&with, &study.vain);
                let core = core.unwrap_or_else(|| self.core(&with, &[]));
                self.clash(core, Some(index), &mut study.vain);
            }
        }
    }

    /// The requirements that share settings with a clause, directly or not.
    fn around(&self, index: usize) -> Vec<usize> {
        let mut vars = Vec::new();
        self.placed[index].kept.vars(&mut vars);
        self.placed[index].breaks.vars(&mut vars);
        let vars = self.solver.with_links(vars);
        let touches = |members: &Vec<usize>| {
            members.iter().any(|member| {
                let mut theirs = Vec::new();
                self.placed[*member].kept.vars(&mut theirs);
                !self.solver.with_links(theirs).is_disjoint(&vars)
            })
        };
        let parts = self.parts().into_iter().filter(touches);
        parts.flatten().filter(|member| *member != index).collect()
    }

    fn clash(&self, members: Vec<usize>, last: Option<usize>, into: &mut Vec<Clash>) {
        let core: BTreeSet<ClauseId> = members
            .iter()
            .map(|index| self.placed[*index].clause)
            .collect();
        let combination = self.combination(&self.kinds(&core));
        let known = into.iter().position(|clash| clash.core == core);
        let at = known.unwrap_or_else(|| {
            into.push(Clash {
                leaves: self.leaves(&members),
                without: self.without(&members, last),
                core,
                situation: self.situation.clone(),
                combinations: BTreeSet::new(),
                excluded: 0,
            });
            into.len() - 1
        });
        let clash = &mut into[at];
        if self.excluded {
            clash.excluded += usize::from(!clash.combinations.contains(&combination));
        } else {
            if clash.combinations.is_empty() {
                clash.situation = self.situation.clone();
                clash.leaves = self.leaves(&members);
                clash.without = self.without(&members, last);
            }
            clash.combinations.insert(combination);
        }
    }

    /// The one setting that plain limits leave nothing of, and what each leaves.
    fn leaves(&self, members: &[usize]) -> Option<(usize, Vec<(ClauseId, Set)>)> {
        let mut shared: Option<BTreeSet<usize>> = None;
        for index in members {
            let mut vars = Vec::new();
            self.placed[*index].requires.vars(&mut vars);
            let vars: BTreeSet<usize> = vars.into_iter().collect();
            shared = Some(match shared {
                Some(known) => known.intersection(&vars).copied().collect(),
                None => vars,
            });
        }
        let var = *shared?.iter().next()?;
        let each = |index: &usize| {
            let placed = &self.placed[*index];
            let Answer::Yes(found) = self.solver.together(&[&placed.requires]) else {
                return (placed.clause, outermost(&placed.requires, var));
            };
            (placed.clause, self.solver.of(&found.left, var))
        };
        Some((var, members.iter().map(each).collect()))
    }

    /// A run that keeps all but one.
    fn without(
        &self,
        members: &[usize],
        last: Option<usize>,
    ) -> Option<(ClauseId, BTreeMap<usize, crate::units::Exact>)> {
        let left_out = last.or_else(|| members.last().copied())?;
        let everything: Vec<usize> = (0..self.placed.len())
            .filter(|index| {
                let placed = &self.placed[*index];
                let clause = placed.clause;
                let known = matches!(placed.kept, Node::True | Node::False | Node::Unknown);
                clause != self.placed[left_out].clause && self.clauses.list[clause].shall && !known
            })
            .collect();
        match self.ask(&everything) {
            Answer::Yes(found) => Some((self.placed[left_out].clause, found.point)),
            _ => None,
        }
    }

    fn fates(&self, study: &mut Study) {
        for (index, placed) in self.placed.iter().enumerate() {
            let Some(fate) = study.fates.get_mut(&placed.clause) else {
                continue;
            };
            if fate.applies && fate.may_break && fate.may_break_alone {
                continue;
            }
            if !fate.applies_free && self.solver.together(&[&placed.free]) != Answer::No {
                fate.applies_free = true;
            }
            match self.solver.together(&[&placed.applies]) {
                Answer::No => {
                    fate.applies_unknown |= self.clauses.list[placed.clause].by_order;
                    if !fate.applies && !fate.applies_unknown {
                        fate.dead.extend(self.dead(&placed.whens));
                    }
                    continue;
                }
                Answer::Yes(Found { vague: false, .. }) => fate.applies = true,
                Answer::Yes(_) | Answer::Open => fate.applies_unknown = true,
            }
            if !fate.may_break && self.solver.together(&[&placed.breaks]) != Answer::No {
                fate.may_break = true;
            }
            if !fate.may_break || fate.may_break_alone {
                continue;
            }
            let mut others = self.around(index);
            others.retain(|other| self.placed[*other].clause != placed.clause);
            if self.ask(&others) == Answer::No {
                // Where nothing is left anyhow, nothing is learnt.
                continue;
            }
            let mut nodes: Vec<&Node<'s>> = others
                .iter()
                .map(|other| &self.placed[*other].kept)
                .collect();
            nodes.push(&placed.breaks);
            if self.solver.together(&nodes) == Answer::No {
                // What keeps it elsewhere is enough, if it keeps it here too.
                let mut known = others.clone();
                known.retain(|other| fate.kept_by.contains(&self.placed[*other].clause));
                let mut nodes: Vec<&Node<'s>> = known
                    .iter()
                    .map(|other| &self.placed[*other].kept)
                    .collect();
                nodes.push(&placed.breaks);
                if self.solver.together(&nodes) == Answer::No {
                    continue;
                }
                let core = self.core(&others, &[&placed.breaks]);
                fate.kept_by
                    .extend(core.iter().map(|other| self.placed[*other].clause));
            } else {
                fate.may_break_alone = true;
            }
        }
    }

    /// The smallest part of a `when` that cannot be true.
    fn dead(&self, whens: &[Node<'s>]) -> Vec<usize> {
        let mut kept: Vec<usize> = (0..whens.len()).collect();
        let mut at = 0;
        while at < kept.len() {
            let mut fewer = kept.clone();
            fewer.remove(at);
            let nodes: Vec<&Node<'s>> = fewer.iter().map(|index| &whens[*index]).collect();
            if self.solver.together(&nodes) == Answer::No {
                kept = fewer;
            } else {
                at += 1;
            }
        }
        kept
    }

    /// What the plain limits of requirements leave of each setting.
    fn windows(&self, study: &mut Study) {
        let mut left = Region::new();
        let mut by: BTreeMap<usize, BTreeSet<ClauseId>> = BTreeMap::new();
        let mut clashing = BTreeSet::new();
        for placed in self.placed {
            if !self.clauses.list[placed.clause].shall {
                continue;
            }
            let parts = match &placed.kept {
                Node::And(list) => list.as_slice(),
                node => std::slice::from_ref(node),
            };
            for part in parts {
                let Node::Limit(var, set) = part else {
                    continue;
                };
                match self.solver.of(&left, *var).meet(set) {
                    Some(met) => {
                        if met != self.solver.of(&left, *var) {
                            // Only who cuts is named; an end that was cut again drops its first one.
                            by.entry(*var).or_default().insert(placed.clause);
                        }
                        left.insert(*var, met);
                    }
                    None => {
                        clashing.insert(*var);
                    }
                }
            }
        }
        for (var, set) in left {
            if clashing.contains(&var) || self.excluded {
                continue;
            }
            let setting = self.cast.vars[var].setting;
            let by = self.decisive(var, &set, by.remove(&var).unwrap_or_default());
            let combination = self.combination(&self.kinds(&by));
            let same =
                |known: &Window| known.setting == setting && known.left == set && known.by == by;
            match study.windows.iter_mut().find(|known| same(known)) {
                Some(known) => {
                    known.combinations.insert(combination);
                }
                None => study.windows.push(Window {
                    setting,
                    left: set,
                    by,
                    situation: self.situation.clone(),
                    combinations: BTreeSet::from([combination]),
                }),
            }
        }
    }

    /// Of those that cut, the ones whose ends were left in the end.
    fn decisive(&self, var: usize, left: &Set, by: BTreeSet<ClauseId>) -> BTreeSet<ClauseId> {
        let ends = left.ends();
        let decides = |clause: &ClauseId| {
            self.placed
                .iter()
                .filter(|placed| placed.clause == *clause)
                .any(|placed| {
                    let set = outermost(&placed.kept, var);
                    let mine = set.ends();
                    let shares = |a: Option<&super::set::End>, b: Option<&super::set::End>| {
                        a.is_some() && a == b
                    };
                    let domain = self.cast.vars[var].domain.ends();
                    (shares(mine.0, ends.0) && mine.0 != domain.0)
                        || (shares(mine.1, ends.1) && mine.1 != domain.1)
                })
        };
        by.into_iter().filter(decides).collect()
    }

    /// What records of the situation lack that a requirement reads.
    fn lacks(&self, id: ClauseId, study: &mut Study) {
        let clause = &self.clauses.list[id];
        let requirement = &self.standard.rules[clause.rule].requirements[clause.requirement];
        reads::condition(&requirement.condition, &mut |read| {
            let Some(setting) = read.path().and_then(reads::last) else {
                return;
            };
            let Some(Some(record)) = self.situation.records.get(&setting.0) else {
                return;
            };
            let of_records = self.standard.kind(setting.0).place == PlaceInRun::Record;
            let worked_out = self.standard.field(setting.0, setting.1).formula.is_some();
            if of_records && !worked_out && inherited(self.standard, *record, setting.1).is_none() {
                study
                    .lacking
                    .entry((setting, id))
                    .or_default()
                    .insert(*record);
            }
        });
    }

    /// Which settings have a limit in this combination.
    fn limits(&self, study: &mut Study) {
        let mut kinds: BTreeMap<Setting, BTreeSet<KindId>> = BTreeMap::new();
        let mut limited = BTreeSet::new();
        for placed in self.placed {
            let clause = &self.clauses.list[placed.clause];
            if placed.applies != Node::False && placed.requires == Node::Unknown {
                self.lacks(placed.clause, study);
            }
            for setting in &clause.required {
                kinds.entry(*setting).or_default().extend(&clause.kinds);
                let binds = placed.applies != Node::False && placed.requires != Node::Unknown;
                if binds {
                    limited.insert(*setting);
                }
            }
        }
        for (setting, kinds) in kinds {
            let combination = self.combination(&kinds);
            let (with, without) = study.limited.entry(setting).or_default();
            if limited.contains(&setting) {
                with.insert(combination);
            } else {
                without.insert(combination);
            }
        }
    }
}

/// What a condition leaves of a setting at most: its plain limits met.
fn outermost(node: &Node<'_>, var: usize) -> Set {
    match node {
        Node::Limit(of, set) if *of == var => set.clone(),
        Node::And(list) => list
            .iter()
            .map(|part| outermost(part, var))
            .try_fold(Set::ALL, |known, part| known.meet(&part))
            .unwrap_or(Set::ALL),
        _ => Set::ALL,
    }
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
