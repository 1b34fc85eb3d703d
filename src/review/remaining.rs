//! A look at one situation: what plain limits leave of each setting, and which settings have a limit.

use std::collections::{BTreeMap, BTreeSet};

use super::conflicts::Questions;
use super::narrow;
use super::redundancy::outermost;
use super::study::{ClauseId, Study, Window};
use super::symbolic_run::{Setting, inherited};
use crate::constraint::{Domain, End, Formula, Region, Variable};
use crate::types::{KindId, PlaceInRun};

impl Questions<'_, '_, '_> {
    /// Settings of which the plain limits of requirements leave too little to verify.
    pub(super) fn windows(&self, study: &mut Study) {
        let mut left = Region::default();
        let mut by: BTreeMap<Variable, BTreeSet<ClauseId>> = BTreeMap::new();
        let mut clashing = BTreeSet::new();
        for placed in self.placed {
            if !self.clauses.list[placed.clause].shall {
                continue;
            }
            for (variable, domain) in placed.kept.conjuncts().iter().filter_map(Formula::limit) {
                match left.narrow(self.oracle, variable, domain) {
                    // Only who cuts is named; an end that was cut again drops its first one.
                    Ok(true) => {
                        by.entry(variable).or_default().insert(placed.clause);
                    }
                    Ok(false) => {}
                    Err(_) => {
                        clashing.insert(variable);
                    }
                }
            }
        }
        for (variable, set) in left.iter() {
            let setting = self.run.of(variable).setting;
            let narrow = || narrow::why(self.standard, setting, set).is_some();
            if clashing.contains(&variable) || !narrow() || self.is_forbidden() {
                continue;
            }
            let by = self.decisive(variable, set, by.remove(&variable).unwrap_or_default());
            let combination = self.combination(&self.kinds(&by));
            let advised = self.near(&by, &self.said.advises);
            let same =
                |known: &Window| known.setting == setting && known.left == *set && known.by == by;
            let at = study.windows.iter().position(same).unwrap_or_else(|| {
                study.windows.push(Window {
                    setting,
                    left: set.clone(),
                    by: by.clone(),
                    situation: self.situation.clone(),
                    combinations: BTreeSet::new(),
                    explained: BTreeMap::new(),
                });
                study.windows.len() - 1
            });
            let known = &mut study.windows[at];
            if advised.is_empty() {
                known.combinations.insert(combination);
            } else {
                known
                    .explained
                    .entry(combination)
                    .or_default()
                    .extend(advised);
            }
        }
    }

    /// Of what is said on the records alone, what speaks of the same settings of records as some limits.
    pub(super) fn near(
        &self,
        limits: &BTreeSet<ClauseId>,
        said: &BTreeSet<ClauseId>,
    ) -> BTreeSet<ClauseId> {
        let of_limits = limits.iter().flat_map(|id| self.record_settings(*id));
        let of_limits: BTreeSet<Setting> = of_limits.collect();
        let speaks = |id: &&ClauseId| {
            let mut mine = self.record_settings(**id).into_iter();
            mine.any(|setting| of_limits.contains(&setting))
        };
        said.iter().filter(speaks).copied().collect()
    }

    /// What only records can state that a requirement reads.
    fn record_settings(&self, id: ClauseId) -> BTreeSet<Setting> {
        let clause = &self.clauses.list[id];
        let requirement = &self.standard.rules[clause.rule].requirements[clause.requirement];
        let mut found = BTreeSet::new();
        requirement.condition.reads(&mut |read| {
            let last = read.path().and_then(crate::types::Path::setting);
            let of_record =
                |setting: &Setting| self.standard.kind(setting.0).place == PlaceInRun::Record;
            found.extend(last.filter(of_record));
        });
        found
    }

    /// Of those that cut, the ones whose ends were left in the end.
    fn decisive(
        &self,
        variable: Variable,
        left: &Domain,
        by: BTreeSet<ClauseId>,
    ) -> BTreeSet<ClauseId> {
        let ends = left.ends();
        let decides = |clause: &ClauseId| {
            self.placed
                .iter()
                .filter(|placed| placed.clause == *clause)
                .any(|placed| {
                    let set = outermost(&placed.kept, variable);
                    let mine = set.ends();
                    let shares = |a: Option<&End>, b: Option<&End>| a.is_some() && a == b;
                    let domain = self.run.of(variable).domain.ends();
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
        requirement.condition.reads(&mut |read| {
            let Some(setting) = read.path().and_then(crate::types::Path::setting) else {
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
    pub(super) fn limits(
        &self,
        study: &mut Study,
        with_limits: &BTreeMap<Setting, BTreeSet<KindId>>,
    ) {
        let mut limited: BTreeSet<Setting> = BTreeSet::new();
        for placed in self.placed {
            if placed.applies.is_false() {
                continue;
            }
            if placed.requires.is_unknown() {
                self.lacks(placed.clause, study);
            } else {
                limited.extend(&self.clauses.list[placed.clause].required);
            }
        }
        for (setting, kinds) in with_limits {
            let combination = self.combination(kinds);
            let (with, without) = study.limited.entry(*setting).or_default();
            if limited.contains(setting) {
                with.insert(combination);
            } else {
                without.insert(combination);
            }
        }
    }
}
