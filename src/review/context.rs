//! What findings are made from: the texts, the standard, and its requirements.

use std::collections::BTreeSet;

use super::clauses::{Clause, Clauses};
use super::study::ClauseId;
use super::symbolic_run::Setting;
use super::words;
use crate::source::Store;
use crate::types::{RecordId, Requirement, Standard};

/// What findings are made from.
pub(super) struct ReviewContext<'d> {
    pub(super) store: &'d Store,
    pub(super) standard: &'d Standard,
    pub(super) clauses: &'d Clauses,
}

impl<'d> ReviewContext<'d> {
    pub(super) fn clause(&self, id: ClauseId) -> &'d Clause {
        &self.clauses.list[id]
    }

    pub(super) fn requirement(&self, id: ClauseId) -> &'d Requirement {
        let clause = self.clause(id);
        &self.standard.rules[clause.rule].requirements[clause.requirement]
    }

    pub(super) fn rule_name(&self, id: ClauseId) -> &'d str {
        &self.standard.rules[self.clause(id).rule].name
    }

    pub(super) fn place(&self, id: ClauseId) -> (usize, usize) {
        let clause = self.clause(id);
        (clause.rule, clause.requirement)
    }

    /// The clauses of the shop's own files first, then in the order of the standard.
    pub(super) fn own_first(&self, of: &BTreeSet<ClauseId>) -> Vec<ClauseId> {
        let mut list: Vec<ClauseId> = of.iter().copied().collect();
        list.sort_by_key(|id| (words::ships(self.store, self.requirement(*id).span), *id));
        list
    }

    /// How many of these records came with a spec.
    fn shipped(&self, records: &[RecordId]) -> usize {
        let ships = |record: &&RecordId| !own(self.store, self.standard, **record);
        records.iter().filter(ships).count()
    }

    /// The combination to show first: of the shop's own records, in the order declared.
    pub(super) fn first<'c>(
        &self,
        of: impl IntoIterator<Item = &'c Vec<RecordId>>,
    ) -> Option<&'c Vec<RecordId>> {
        of.into_iter().min_by_key(|records| self.shipped(records))
    }

    /// Records of the shop's own first, then in the order declared.
    pub(super) fn own_records_first(&self, of: &BTreeSet<RecordId>) -> Vec<RecordId> {
        let mut list: Vec<RecordId> = of.iter().copied().collect();
        list.sort_by_key(|record| (!own(self.store, self.standard, *record), *record));
        list
    }

    /// The requirements that limit a setting, the shop's own first.
    pub(super) fn limits_on(&self, setting: Setting) -> Vec<ClauseId> {
        let of = |id: &ClauseId| self.clause(*id).required.contains(&setting);
        self.own_first(&(0..self.clauses.list.len()).filter(of).collect())
    }

    /// Combinations in words, the shop's own first.
    pub(super) fn members(&self, of: &BTreeSet<Vec<RecordId>>) -> Vec<String> {
        let mut left: Vec<&Vec<RecordId>> = of.iter().collect();
        left.sort_by_key(|records| self.shipped(records));
        left.into_iter()
            .filter(|records| !records.is_empty())
            .map(|records| words::combination(self.standard, records))
            .collect()
    }
}

/// Whether a record is declared in a file of the shop's own.
pub(super) fn own(store: &Store, standard: &Standard, record: RecordId) -> bool {
    let header = standard.record(record).header;
    header.is_some_and(|span| !words::ships(store, span))
}
