//! Which requirements are looked at together: as many as have few enough combinations of records.
//!
//! A requirement that brings in too many combinations is looked at by itself, so that the rest is not lost for it.

use std::collections::{BTreeMap, BTreeSet};

use super::clauses::{Clauses, Group};
use super::study::{ClauseId, count, size, too_many};
use super::symbolic_run::Setting;
use crate::types::{KindId, Standard};

/// How often a requirement is taken out of a group before each is looked at by itself.
const MOST_TAKEN_OUT: usize = 100;

/// What is looked at, and what is set aside.
pub(super) struct Reach {
    /// Requirements that are looked at together.
    pub(super) groups: Vec<Group>,
    /// Those that are not looked at with all that they share settings with.
    pub(super) aside: BTreeMap<ClauseId, Aside>,
    /// The settings that those limit.
    pub(super) aside_limits: BTreeSet<Setting>,
}

/// Why a requirement is set aside.
pub(super) struct Aside {
    /// How many combinations it would have with the others.
    pub(super) combinations: usize,
    /// Whether it is looked at by itself at least.
    pub(super) alone: bool,
}

impl Reach {
    /// Of a standard.
    pub(super) fn of(standard: &Standard, clauses: &Clauses) -> Self {
        let mut reach = Self {
            groups: Vec::new(),
            aside: BTreeMap::new(),
            aside_limits: BTreeSet::new(),
        };
        let mut left = clauses.groups(0..clauses.list.len());
        let mut taken_out = 0;
        while let Some(group) = left.pop() {
            if !too_many(standard, clauses, &group) {
                reach.groups.push(group);
                continue;
            }
            if group.clauses.len() == 1 {
                reach.set_aside(standard, clauses, group.clauses[0], &group);
                continue;
            }
            taken_out += 1;
            if taken_out > MOST_TAKEN_OUT {
                for id in &group.clauses {
                    reach.set_aside(standard, clauses, *id, &group);
                }
                continue;
            }
            let widest = widest(standard, clauses, &group);
            reach.set_aside(standard, clauses, widest, &group);
            let rest = group.clauses.iter().copied().filter(|id| *id != widest);
            left.extend(clauses.groups(rest));
        }
        // What the small ones leave of the work goes to the large ones.
        let order = |group: &Group| {
            (
                size(standard, clauses, group),
                group.clauses.first().copied(),
            )
        };
        reach.groups.sort_by_cached_key(order);
        reach
    }

    fn set_aside(&mut self, standard: &Standard, clauses: &Clauses, id: ClauseId, from: &Group) {
        let mut by_itself = clauses.groups([id]);
        by_itself.retain(|group| !too_many(standard, clauses, group));
        let aside = Aside {
            combinations: count(standard, from),
            alone: !by_itself.is_empty(),
        };
        self.groups.extend(by_itself);
        self.aside.insert(id, aside);
        self.aside_limits.extend(&clauses.list[id].required);
    }
}

/// The requirement without which a group has the fewest combinations; of several, the one with the most of its own.
fn widest(standard: &Standard, clauses: &Clauses, group: &Group) -> ClauseId {
    // How many requirements bring in each kind: those that only one brings go with it.
    let mut by_kind: BTreeMap<KindId, usize> = BTreeMap::new();
    let mut by_asked: BTreeMap<Setting, usize> = BTreeMap::new();
    for id in &group.clauses {
        for kind in &clauses.list[*id].kinds {
            *by_kind.entry(*kind).or_default() += 1;
        }
        for setting in &clauses.list[*id].asked {
            *by_asked.entry(*setting).or_default() += 1;
        }
    }
    let size = |id: &ClauseId| {
        let clause = &clauses.list[*id];
        let own_kind = |kind: &&KindId| !(clause.kinds.contains(kind) && by_kind[kind] == 1);
        let own_asked = |of: &&Setting| !(clause.asked.contains(of) && by_asked[of] == 1);
        let rest = Group {
            clauses: Vec::new(),
            kinds: group.kinds.iter().filter(own_kind).copied().collect(),
            asked: group.asked.iter().filter(own_asked).copied().collect(),
        };
        let alone = Group {
            clauses: vec![*id],
            kinds: clause.kinds.clone(),
            asked: clause.asked.clone(),
        };
        (
            count(standard, &rest),
            std::cmp::Reverse(count(standard, &alone)),
            std::cmp::Reverse(*id),
        )
    };
    group.clauses.iter().copied().min_by_key(size).unwrap_or(0)
}
