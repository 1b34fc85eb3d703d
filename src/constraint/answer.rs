//! What a question came to, and what it takes to call something proved.

/// What a question came to.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Answer<W> {
    /// It cannot be, whatever a run states.
    Proved(Proof),
    /// It can: here.
    Witness(W),
    /// Not decided, and why.
    Open(Reason),
}

impl<W> Answer<W> {
    /// Whether it was proved that it cannot be.
    pub(crate) fn is_proved(&self) -> bool {
        matches!(self, Self::Proved(_))
    }

    /// The witness, if there is one.
    pub(crate) fn witness(self) -> Option<W> {
        match self {
            Self::Witness(found) => Some(found),
            _ => None,
        }
    }
}

/// That something cannot be.
///
/// Only this module makes one: of a set that has no member, of what an oracle excludes, or of
/// [`Branches`] that were all closed by proofs. There is no way from an open branch to a proof.
#[derive(Debug, Clone, PartialEq, Eq)]
#[must_use]
pub(crate) struct Proof(());

impl Proof {
    /// Where nothing is left of a variable.
    pub(super) fn of_no_value(left: &super::Domain) -> Option<Self> {
        left.is_empty().then_some(Self(()))
    }

    /// Where a limit and what a variable may be have no value in common.
    pub(super) fn of_no_common_value(one: &super::Domain, other: &super::Domain) -> Option<Self> {
        (!one.overlaps(other)).then_some(Self(()))
    }

    /// Where a formula is false, whatever the variables are.
    pub(super) fn of_false<A: super::Atom>(formula: &super::Formula<A>) -> Option<Self> {
        formula.is_false().then_some(Self(()))
    }

    /// Where what must be so is never so in a region that has ends.
    pub(super) fn of_never(verdict: super::Verdict, endless: bool) -> Option<Self> {
        (verdict == super::Verdict::Never && !endless).then_some(Self(()))
    }
}

/// Why a question was not decided.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Reason {
    /// The work it may take is done.
    Spent,
    /// It goes too deep to follow.
    TooDeep,
    /// A value has no end.
    Endless,
    /// It hangs on a difference too small to cut.
    TooFine,
    /// Something it rests on is not known, or was only sampled.
    NotKnown,
}

/// The branches of a search, until each is closed by a proof or stays open.
#[derive(Debug)]
pub(super) struct Branches {
    pending: usize,
    open: Option<Reason>,
}

impl Branches {
    /// One branch, to be closed or split.
    pub(super) fn one() -> Self {
        Self {
            pending: 1,
            open: None,
        }
    }

    /// A branch becomes several that together are all of it.
    pub(super) fn split(&mut self, into: usize) {
        match self.pending.checked_sub(1) {
            Some(others) => self.pending = others.saturating_add(into),
            None => self.leave(Reason::NotKnown),
        }
    }

    /// A branch is closed.
    pub(super) fn close(&mut self, _: Proof) {
        match self.pending.checked_sub(1) {
            Some(others) => self.pending = others,
            None => self.leave(Reason::NotKnown),
        }
    }

    /// A branch stays open.
    pub(super) fn leave(&mut self, reason: Reason) {
        self.open = Some(self.open.map_or(reason, |known| known.min(reason)));
    }

    /// A branch ended in an answer of its own.
    pub(super) fn end<W>(&mut self, answer: Answer<W>) -> Option<W> {
        match answer {
            Answer::Proved(proof) => self.close(proof),
            Answer::Open(reason) => self.leave(reason),
            Answer::Witness(found) => return Some(found),
        }
        None
    }

    /// Proof, if every branch was closed by one.
    pub(super) fn conclude(self) -> Result<Proof, Reason> {
        match self.open {
            Some(reason) => Err(reason),
            // A branch that nobody came back to is open.
            None if self.pending > 0 => Err(Reason::Spent),
            None => Ok(Proof(())),
        }
    }

    /// The same as an answer.
    pub(super) fn answer<W>(self) -> Answer<W> {
        match self.conclude() {
            Ok(proof) => Answer::Proved(proof),
            Err(reason) => Answer::Open(reason),
        }
    }
}

#[cfg(test)]
#[allow(clippy::expect_used)]
mod tests {
    use super::{Answer, Branches, Proof, Reason};
    use crate::constraint::{Domain, Verdict};

    fn proof() -> Proof {
        Proof::of_no_value(&Domain::NOTHING).expect("nothing is left of nothing")
    }

    #[test]
    fn all_branches_closed_is_proof() {
        let mut branches = Branches::one();
        branches.split(2);
        branches.close(proof());
        branches.close(proof());
        assert!(branches.answer::<()>().is_proved());
    }

    #[test]
    fn an_open_branch_is_no_proof() {
        let mut branches = Branches::one();
        branches.split(2);
        branches.close(proof());
        branches.leave(Reason::Endless);
        assert_eq!(branches.answer::<()>(), Answer::Open(Reason::Endless));
    }

    #[test]
    fn a_branch_that_was_forgotten_is_no_proof() {
        let mut branches = Branches::one();
        branches.split(3);
        branches.close(proof());
        branches.close(proof());
        assert_eq!(branches.answer::<()>(), Answer::Open(Reason::Spent));
    }

    #[test]
    fn more_proofs_than_branches_are_no_proof() {
        let mut branches = Branches::one();
        branches.close(proof());
        branches.close(proof());
        assert!(!branches.answer::<()>().is_proved());
    }

    #[test]
    fn what_is_left_or_mixed_or_endless_gives_no_proof() {
        assert_eq!(Proof::of_no_value(&Domain::NOT_STATED), None);
        for verdict in [Verdict::Always, Verdict::Mixed, Verdict::NotKnown] {
            assert_eq!(Proof::of_never(verdict, false), None);
        }
        assert_eq!(Proof::of_never(Verdict::Never, true), None);
        assert!(Proof::of_never(Verdict::Never, false).is_some());
    }
}
