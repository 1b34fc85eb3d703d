//! How much work may go into a command, split fairly between its questions.

use std::cell::Cell;

/// A counted budget, never a clock: the same text has the same answer on every machine.
///
/// A question gets a share of what is left; what it does not use goes back when the share ends. So
/// what is asked first cannot use up what the others need. A unit is about what it takes to hold one
/// limit against a region.
#[derive(Debug)]
pub(crate) struct Budget<'p> {
    parent: Option<&'p Budget<'p>>,
    given: u64,
    left: Cell<u64>,
    refused: Cell<bool>,
}

impl Budget<'static> {
    /// The budget of a whole command.
    pub(crate) fn of(units: u64) -> Self {
        Self {
            parent: None,
            given: units,
            left: Cell::new(units),
            refused: Cell::new(false),
        }
    }
}

impl Budget<'_> {
    /// The share of one question, where so many are still to be asked, this one included.
    pub(crate) fn share(&self, among: usize) -> Budget<'_> {
        let among = u64::try_from(among.max(1)).unwrap_or(u64::MAX);
        self.part(self.left.get() / among)
    }

    /// So many units of what is left, or all of it.
    pub(crate) fn part(&self, units: u64) -> Budget<'_> {
        let given = units.min(self.left.get());
        Budget {
            parent: Some(self),
            given,
            left: Cell::new(given),
            refused: Cell::new(false),
        }
    }

    /// Takes some units; `false` when there are not so many left.
    pub(crate) fn spend(&self, units: u64) -> bool {
        match self.left.get().checked_sub(units) {
            Some(left) => {
                self.left.set(left);
                true
            }
            None => {
                self.refused.set(true);
                false
            }
        }
    }

    /// What is left.
    pub(crate) fn left(&self) -> u64 {
        self.left.get()
    }

    /// What it was given at first.
    pub(crate) fn given(&self) -> u64 {
        self.given
    }

    /// What it took so far, with the shares that ended.
    pub(crate) fn spent(&self) -> u64 {
        self.given.saturating_sub(self.left.get())
    }

    /// Whether more was asked for than there was.
    pub(crate) fn ran_out(&self) -> bool {
        self.refused.get()
    }
}

impl Drop for Budget<'_> {
    fn drop(&mut self) {
        if let Some(parent) = self.parent {
            let left = parent.left.get().saturating_sub(self.spent());
            parent.left.set(left);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Budget;

    #[test]
    fn what_a_question_does_not_use_goes_back() {
        let all = Budget::of(100);
        {
            let first = all.share(4);
            assert_eq!(first.left(), 25);
            assert!(first.spend(5));
        }
        assert_eq!(all.left(), 95);
        assert_eq!(all.spent(), 5);
        assert_eq!(all.share(3).left(), 31);
    }

    #[test]
    fn one_question_cannot_starve_the_rest() {
        let all = Budget::of(100);
        {
            let greedy = all.share(2);
            while greedy.spend(7) {}
            assert!(greedy.ran_out());
        }
        let next = all.share(1);
        assert!(next.left() >= 50);
        assert!(!next.ran_out());
    }

    #[test]
    fn shares_of_a_share_count_once() {
        let all = Budget::of(100);
        {
            let half = all.share(2);
            let part = half.share(5);
            assert!(part.spend(10));
            assert!(!part.spend(1));
            drop(part);
            assert_eq!(half.spent(), 10);
        }
        assert_eq!(all.left(), 90);
    }
}
