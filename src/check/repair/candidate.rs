//! A change tried: whether what is wanted holds then, and whether anything else is worse.

use std::cell::{Cell, OnceCell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;

use crate::diagnostic::Outcome;
use crate::eval::{
    Conditions, Counterexamples, EvalContext, ExactInterval, FigureCache, Leaf, carried, is_costly,
};

use super::super::disagree::{contradicts, has_doubles};
use super::super::impact::Before;
use super::super::outcome::{RuleResult, again, binding as binding_of, goal as goal_of};

/// Settings with what they would be.
pub(in super::super) type Parts = Vec<(Leaf, ExactInterval)>;

/// Why a change will not do: the place of a result among all of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in super::super) enum Fault {
    /// It is wanted, and does not hold.
    Unmet(usize),
    /// It would be worse than it is.
    Harmed(usize),
}

impl Fault {
    pub(in super::super) fn place(self) -> usize {
        match self {
            Self::Unmet(place) | Self::Harmed(place) => place,
        }
    }
}

/// How bad an outcome is.
pub(super) fn badness(outcome: Outcome) -> u8 {
    match outcome {
        Outcome::Holds | Outcome::DoesNotApply => 0,
        Outcome::AtRisk => 1,
        Outcome::NotStated => 2,
        Outcome::Breaks => 3,
    }
}

/// What changes are tried for.
pub(in super::super) struct Candidate<'a> {
    pub(super) context: EvalContext<'a>,
    pub(super) before: &'a Before<'a>,
    /// Places of the results that shall hold.
    pub(super) wanted: Vec<usize>,
    /// Whether a figure that takes milliseconds stands behind one of them.
    pub(super) costly: bool,
    /// The other results that each setting can reach.
    others: RefCell<BTreeMap<Leaf, Rc<Vec<usize>>>>,
    points: RefCell<BTreeMap<usize, Rc<Counterexamples<'a>>>>,
    /// What failed last is tried first.
    last: Cell<Option<Fault>>,
    /// What was harmed by a change with which all that is wanted held.
    pub(super) clash: Cell<Option<usize>>,
    tried: Cell<u64>,
    since: u64,
    /// Whether it is about the whole run, so that more work may go into it.
    whole: bool,
    /// Whether what only a reading leaves in doubt may stay so: it is measured again after the change.
    measured_again: bool,
    /// Whether the run states anything that can be worked out as well.
    doubled: OnceCell<bool>,
}

impl<'a> Candidate<'a> {
    pub(in super::super) fn new(
        context: &EvalContext<'a>,
        before: &'a Before<'a>,
        wanted: Vec<usize>,
    ) -> Self {
        let costly = wanted.iter().any(|place| {
            let result = &before.results[*place];
            let rule = &context.standard.rules[result.rule];
            let goal = goal_of(rule, result.requirement);
            is_costly(context, binding_of(result.each), goal)
        });
        Self {
            context: *context,
            before,
            wanted,
            costly,
            others: RefCell::default(),
            points: RefCell::default(),
            last: Cell::new(None),
            clash: Cell::new(None),
            tried: Cell::new(0),
            since: context.cache.map_or(0, |cache| cache.budget().work()),
            whole: false,
            measured_again: true,
            doubled: OnceCell::new(),
        }
    }

    /// The same for the whole run.
    pub(in super::super) fn of_the_whole(mut self) -> Self {
        self.whole = true;
        self.measured_again = false;
        self
    }

    /// The same for margins: what holds may cost as much as what is wanted.
    pub(in super::super) fn of_margins(mut self) -> Self {
        self.whole = true;
        self.costly = true;
        self.measured_again = false;
        self
    }

    /// Whether a figure that takes milliseconds stands behind something that a setting can reach.
    pub(in super::super) fn is_costly_for(&self, leaf: Leaf) -> bool {
        let others = self.others(leaf);
        others.iter().any(|place| {
            let result = self.result(*place);
            let rule = &self.context.standard.rules[result.rule];
            let goal = goal_of(rule, result.requirement);
            is_costly(&self.context, binding_of(result.each), goal)
        })
    }

    /// Whether the work that may go into it is used up.
    pub(super) fn exhausted(&self) -> bool {
        self.context.cache.is_some_and(|cache| {
            let may = if self.whole {
                cache.budget().may_help_more(self.since)
            } else {
                cache.budget().may_help(self.since)
            };
            !may
        })
    }

    /// Whether there is no work left even to tell of what was found.
    pub(in super::super) fn spent(&self) -> bool {
        let cache = self.context.cache;
        cache.is_some_and(|cache| !cache.budget().may_tell(self.since))
    }

    /// Counts what it took.
    pub(in super::super) fn done(&self) {
        if let Some(cache) = self.context.cache {
            cache.budget().count_help(self.since);
        }
    }

    fn result(&self, place: usize) -> &'a RuleResult {
        &self.before.results[place]
    }

    fn points(&self, place: usize) -> Rc<Counterexamples<'a>> {
        let mut known = self.points.borrow_mut();
        let found = known.entry(place).or_insert_with(|| {
            let result = self.result(place);
            let rule = &self.context.standard.rules[result.rule];
            let goal = goal_of(rule, result.requirement);
            Rc::new(Counterexamples::new(
                &self.context,
                binding_of(result.each),
                goal,
            ))
        });
        Rc::clone(found)
    }

    /// The results beside those wanted that a setting can reach.
    fn others(&self, leaf: Leaf) -> Rc<Vec<usize>> {
        let mut known = self.others.borrow_mut();
        let found = known.entry(leaf).or_insert_with(|| {
            let places = self.before.affected(leaf).map(|(place, _)| place);
            Rc::new(
                places
                    .filter(|place| !self.wanted.contains(place))
                    .collect(),
            )
        });
        Rc::clone(found)
    }

    fn all_others(&self, parts: &[(Leaf, ExactInterval)]) -> Rc<Vec<usize>> {
        if let [(leaf, _)] = parts {
            return self.others(*leaf);
        }
        let mut all: Vec<usize> = Vec::new();
        for (leaf, _) in parts {
            all.extend(self.others(*leaf).iter());
        }
        all.sort_unstable();
        all.dedup();
        Rc::new(all)
    }

    /// Whether a setting can reach a result that is neither wanted nor known to hold or to break.
    pub(super) fn doubts(&self, leaf: Leaf) -> bool {
        let others = self.others(leaf);
        let doubtful = |place: &usize| matches!(badness(self.result(*place).outcome()), 1 | 2);
        others.iter().any(doubtful)
    }

    /// Whether a result that is wanted can be another one when this setting has another value.
    pub(super) fn reaches(&self, place: usize, leaf: Leaf) -> bool {
        let kind = self
            .context
            .run
            .target(self.context.standard, leaf.target)
            .kind;
        self.before.reaches(place, kind, leaf.field)
    }

    /// Whether all that is wanted holds with this change and nothing else is worse.
    ///
    /// Over the whole of the stretches what held before holds. What was in doubt before is only looked at at
    /// their upper ends and at their lower ones, so for a stretch of more than one value both are to be tried.
    ///
    /// A reading that the change moves away from the settings it was taken at counts as what it says then. Where it is to
    /// be taken again after the change, what it leaves in doubt is no harm; what breaks by it is.
    pub(in super::super) fn works(&self, parts: &[(Leaf, ExactInterval)]) -> Result<(), Fault> {
        let moved = parts.len();
        let parts = &*carried(&self.context, parts);
        let left_open = |place: usize| self.left_open(&parts[moved..], place);
        let changed = EvalContext {
            narrowed: parts,
            ..self.context
        };
        let conditions = Conditions::new(changed);
        let unmet = |place: usize| {
            if self.costly && self.points(place).refute(parts) {
                return true;
            }
            let after = FigureCache::proving(self.context.cache, || {
                again(&conditions, &changed, self.result(place))
            });
            after.outcome() != Outcome::Holds
        };
        let others = self.all_others(parts);
        let last = self.last.get();
        if let Some(Fault::Unmet(place)) = last
            && unmet(place)
        {
            return Err(Fault::Unmet(place));
        }
        let first = match last {
            Some(Fault::Unmet(place)) => Some(place),
            _ => None,
        };
        for place in &self.wanted {
            if Some(*place) != first && unmet(*place) {
                return self.fail(Fault::Unmet(*place));
            }
        }
        let harmed = |place: usize| {
            let old = self.result(place);
            let before = badness(old.outcome());
            if before == badness(Outcome::Breaks) && !self.before.passes(place) {
                return false;
            }
            if before == 0 && self.costly && old.outcome() == Outcome::Holds && !left_open(place) {
                // One point is cheaper than the whole stretch.
                let refuted = !self.before.passes(place) && self.points(place).refute(parts);
                if refuted {
                    return true;
                }
            }
            let once_more = || again(&conditions, &changed, old);
            let after = if before == 0 {
                FigureCache::proving(self.context.cache, once_more)
            } else {
                once_more()
            };
            if after.outcome() == Outcome::AtRisk && left_open(place) {
                return false;
            }
            badness(after.outcome()) > before || !self.before.still_passes(&changed, place, &after)
        };
        let first = match last {
            Some(Fault::Harmed(place)) if others.contains(&place) => Some(place),
            _ => None,
        };
        for place in first.iter().chain(others.iter()) {
            if harmed(*place) {
                self.clash.set(Some(*place));
                return self.fail(Fault::Harmed(*place));
            }
        }
        Ok(())
    }

    /// Whether a result rests on one of these readings, and may be left in doubt by it.
    fn left_open(&self, readings: &[(Leaf, ExactInterval)], place: usize) -> bool {
        let rests = |(leaf, _): &(Leaf, _)| self.others(*leaf).contains(&place);
        self.measured_again && readings.iter().any(rests)
    }

    /// The results beside those wanted that a change leaves in doubt until its readings are taken again.
    pub(super) fn to_be_measured(&self, parts: &[(Leaf, ExactInterval)]) -> Vec<usize> {
        let all = &*carried(&self.context, parts);
        let changed = EvalContext {
            narrowed: all,
            ..self.context
        };
        let conditions = Conditions::new(changed);
        let mut found: Vec<usize> = Vec::new();
        for (leaf, _) in &all[parts.len()..] {
            let held = |place: &&usize| badness(self.result(**place).outcome()) == 0;
            found.extend(self.others(*leaf).iter().filter(held));
        }
        found.sort_unstable();
        found.dedup();
        found.retain(|place| {
            let after = again(&conditions, &changed, self.result(*place));
            badness(after.outcome()) > 0
                && !(self.before.passes(*place)
                    && self.before.still_passes(&changed, *place, &after))
        });
        found
    }

    fn fail(&self, fault: Fault) -> Result<(), Fault> {
        self.last.set(Some(fault));
        Err(fault)
    }

    /// Whether something that is wanted breaks over the whole of these stretches, or what failed last does
    /// and held before. `false` says nothing.
    pub(super) fn hopeless(&self, parts: &[(Leaf, ExactInterval)]) -> bool {
        let parts = &*carried(&self.context, parts);
        let last = self.last.get().map(Fault::place);
        let held = |place: &usize| badness(self.result(*place).outcome()) == 0;
        let harmed = last.filter(|place| !self.wanted.contains(place) && held(place));
        let first = last.filter(|place| self.wanted.contains(place));
        let wanted = self.wanted.iter().copied();
        let mut places = first.into_iter().chain(harmed).chain(wanted);
        places.any(|place| !self.before.passes(place) && self.points(place).hopeless(parts))
    }

    /// Whether with a change the plan contradicts itself where it did not.
    pub(super) fn contradicts(&self, parts: &[(Leaf, ExactInterval)]) -> bool {
        let parts = &*carried(&self.context, parts);
        let read = |kind, field| self.before.reads(kind, field);
        *self
            .doubled
            .get_or_init(|| has_doubles(&self.context, &read))
            && contradicts(&self.context, parts, &read)
    }

    /// Counts a change that is looked at, and says whether there may be another one.
    pub(super) fn one_more(&self, most: u64) -> bool {
        self.tried.set(self.tried.get() + 1);
        self.tried.get() <= most && !self.exhausted()
    }

    /// Begins to count anew.
    pub(super) fn rest(&self) {
        self.tried.set(0);
    }
}
