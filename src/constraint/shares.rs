//! What each of those who ask may take of a budget, and what each of them left open.

use std::cell::RefCell;
use std::collections::BTreeMap;

use super::answer::{Answer, Reason};
use super::budget::Budget;

/// What one question may take at most.
const MOST_OF_A_QUESTION: u64 = 20_000;

/// What part of the whole is kept for those who need more than their equal share.
const RESERVE: u64 = 2;

/// What part of the reserve one of them may take.
const OF_THE_RESERVE: u64 = 4;

/// What one of those who ask took, and what was not decided for it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Account {
    /// Units of work.
    pub(crate) spent: u64,
    /// How many questions stayed open.
    pub(crate) open: usize,
    /// Why the first of them did.
    pub(crate) reason: Option<Reason>,
    /// Whether it asked for more than its share, so that not everything was looked at.
    pub(crate) ran_out: bool,
}

impl Account {
    /// Both together.
    pub(crate) fn add(&mut self, other: &Self) {
        self.spent = self.spent.saturating_add(other.spent);
        self.open = self.open.saturating_add(other.open);
        self.reason = self.reason.or(other.reason);
        self.ran_out |= other.ran_out;
    }
}

/// A budget shared between those who ask, by number, whatever the order in which they ask.
///
/// Half of it is given to all in equal shares that nobody else can touch. The other half is for
/// those who need more, and no one gets more than a part of it: one hard rule cannot starve the rest.
#[derive(Debug)]
pub(crate) struct Shares<'b> {
    budget: &'b Budget<'b>,
    each: u64,
    reserve: u64,
    state: RefCell<State>,
}

#[derive(Debug, Default)]
struct State {
    from_reserve: u64,
    accounts: BTreeMap<usize, Account>,
}

impl<'b> Shares<'b> {
    /// Shares of what is left, between so many.
    pub(crate) fn new(budget: &'b Budget<'b>, among: usize) -> Self {
        let reserve = budget.left() / RESERVE;
        let among = u64::try_from(among.max(1)).unwrap_or(u64::MAX);
        Self {
            budget,
            each: (budget.left() - reserve) / among,
            reserve,
            state: RefCell::default(),
        }
    }

    /// Asks a question for somebody, with what that one may still take.
    pub(crate) fn ask<W>(
        &self,
        who: usize,
        question: impl FnOnce(&Budget<'_>) -> Answer<W>,
    ) -> Answer<W> {
        let before = self.account(who);
        let reserve_left = self
            .reserve
            .saturating_sub(self.state.borrow().from_reserve);
        let most = self.each.saturating_add(self.reserve / OF_THE_RESERVE);
        let own = self.each.saturating_sub(before.spent);
        let more = reserve_left.min(most.saturating_sub(before.spent.max(self.each)));
        let share = self
            .budget
            .part(MOST_OF_A_QUESTION.min(own.saturating_add(more)));
        let answer = question(&share);
        let took = share.spent();
        let mut state = self.state.borrow_mut();
        state.from_reserve = state.from_reserve.saturating_add(took.saturating_sub(own));
        let account = state.accounts.entry(who).or_default();
        account.spent = account.spent.saturating_add(took);
        // That one question is too hard is said where it stays open; here, that nothing is left to ask with.
        account.ran_out |= share.ran_out() && share.given() < MOST_OF_A_QUESTION;
        answer
    }

    /// Notes that something asked for somebody stayed open, so that it is said.
    pub(crate) fn leave_open(&self, who: usize, reason: Reason) {
        let mut state = self.state.borrow_mut();
        let account = state.accounts.entry(who).or_default();
        account.open = account.open.saturating_add(1);
        account.reason = account.reason.or(Some(reason));
    }

    /// What somebody took, and left open.
    pub(crate) fn account(&self, who: usize) -> Account {
        let state = self.state.borrow();
        state.accounts.get(&who).copied().unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::{Account, Answer, Budget, Reason, Shares};

    fn take(shares: &Shares<'_>, who: usize, units: u64) -> bool {
        let answer = shares.ask(who, |budget| {
            if budget.spend(units) {
                Answer::Witness(())
            } else {
                Answer::Open(Reason::Spent)
            }
        });
        matches!(answer, Answer::Witness(()))
    }

    #[test]
    fn whoever_asks_first_cannot_starve_the_rest() {
        let budget = Budget::of(100_000);
        let shares = Shares::new(&budget, 10);
        for greedy in 0..9 {
            while take(&shares, greedy, 100) {}
            assert!(shares.account(greedy).spent >= 5_000, "its own share");
            assert!(
                shares.account(greedy).spent <= 17_500,
                "and a part of the reserve"
            );
        }
        assert!(take(&shares, 9, 5_000), "the last one has its own share");
        assert!(budget.spent() <= 100_000);
    }

    #[test]
    fn what_two_accounts_left_open_is_said_of_both_together() {
        let open = Account {
            spent: 3,
            open: 1,
            reason: Some(Reason::Endless),
            ran_out: true,
        };
        let mut both = Account::default();
        both.add(&open);
        assert_eq!(both, open);
        both.add(&Account::default());
        assert_eq!(both, open);
    }

    #[test]
    fn whose_share_is_gone_is_known() {
        let budget = Budget::of(100_000);
        let shares = Shares::new(&budget, 10);
        assert!(take(&shares, 1, 2_000));
        while take(&shares, 0, 100) {}
        assert!(shares.account(0).ran_out);
        assert!(!shares.account(1).ran_out);
    }

    #[test]
    fn one_question_has_an_end() {
        let budget = Budget::of(10_000_000);
        let shares = Shares::new(&budget, 1);
        assert!(take(&shares, 0, super::MOST_OF_A_QUESTION));
        assert!(!take(&shares, 0, super::MOST_OF_A_QUESTION + 1));
    }

    #[test]
    fn what_stays_open_is_said() {
        let budget = Budget::of(100);
        let shares = Shares::new(&budget, 2);
        shares.leave_open(1, Reason::Endless);
        shares.leave_open(1, Reason::Spent);
        assert_eq!(shares.account(1).open, 2);
        assert_eq!(shares.account(1).reason, Some(Reason::Endless));
        assert_eq!(shares.account(0).open, 0);
    }
}
