//! A look at one situation: which requirements apply, can break, and are kept by others.

use super::conflicts::Questions;
use super::resolver::Figure;
use super::study::Study;
use crate::constraint::{Answer, Domain, Formula, Variable};

impl<'s> Questions<'_, '_, 's> {
    pub(super) fn fates(&self, study: &mut Study) {
        for (index, placed) in self.placed.iter().enumerate() {
            let id = placed.clause;
            let Some(fate) = study.fates.get_mut(&id) else {
                continue;
            };
            if fate.applies && fate.may_break && fate.may_break_alone {
                continue;
            }
            if !fate.applies_free && !self.together(id, &[&placed.free]).is_proved() {
                fate.applies_free = true;
            }
            match self.together(id, &[&placed.applies]) {
                Answer::Proved(_) => {
                    fate.applies_unknown |= self.clauses.list[id].by_order;
                    if !fate.applies && !fate.applies_unknown {
                        fate.dead.extend(self.dead(id, &placed.whens));
                    }
                    continue;
                }
                Answer::Witness(found) if found.certain => fate.applies = true,
                Answer::Witness(_) => fate.applies_unknown = true,
                Answer::Open(reason) => {
                    fate.applies_unknown = true;
                    self.leave_open(id, reason);
                }
            }
            if !fate.may_break && !self.together(id, &[&placed.breaks]).is_proved() {
                fate.may_break = true;
            }
            if !fate.may_break || fate.may_break_alone {
                continue;
            }
            let own = self.of_clause(id);
            if self.others_kept(index, &own, &[]).is_proved() {
                // Where nothing is left anyhow, nothing is learnt.
                continue;
            }
            let breaks = [&placed.breaks];
            if !self.others_kept(index, &own, &breaks).is_proved() {
                fate.may_break_alone = true;
                continue;
            }
            // What keeps it elsewhere is enough, if it keeps it here too.
            let others = || self.around(index, &own);
            let mut known = Vec::new();
            if !fate.kept_by.is_empty() {
                known = others();
                known.retain(|other| fate.kept_by.contains(&self.placed[*other].clause));
            }
            if !known.is_empty() && self.kept(id, &known, &breaks).is_proved() {
                continue;
            }
            let mut parts = self.neighbours.around(placed).into_iter();
            let core = match parts.find_map(|part| part.excluding(&placed.breaks, &own)) {
                Some(one) => vec![one],
                None => self.core(id, &others(), &breaks),
            };
            fate.kept_by
                .extend(core.iter().map(|other| self.placed[*other].clause));
        }
    }

    /// The smallest part of a `when` that cannot be true.
    fn dead(&self, who: usize, whens: &[Formula<Figure<'s>>]) -> Vec<usize> {
        let mut kept: Vec<usize> = (0..whens.len()).collect();
        let mut at = 0;
        while at < kept.len() {
            let mut fewer = kept.clone();
            fewer.remove(at);
            let formulas: Vec<_> = fewer.iter().map(|index| &whens[*index]).collect();
            if self.together(who, &formulas).is_proved() {
                kept = fewer;
            } else {
                at += 1;
            }
        }
        kept
    }
}

/// What a condition leaves of a setting at most: its plain limits met.
pub(super) fn outermost(formula: &Formula<Figure<'_>>, variable: Variable) -> Domain {
    let limits = formula.conjuncts().iter().filter_map(Formula::limit);
    limits
        .filter(|(of, _)| *of == variable)
        .fold(Domain::stated(), |known, (_, domain)| known.meet(domain))
}
