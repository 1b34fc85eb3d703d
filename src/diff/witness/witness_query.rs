//! Looks for a run that one standard keeps and the other does not, and checks it against both.

use std::cell::Cell;
use std::collections::BTreeMap;

use crate::constraint::Region;
use crate::diff::clause_effect::Here;
use crate::diff::conditions::variables::Vars;
use crate::diff::edition::{Edition, EditionVerdict, Editions};
use crate::diff::pairing::clauses::Part;
use crate::diff::witness::branch_and_prune::{self, Cut};
use crate::diff::witness::plan_skeleton::PlanSkeleton;
use crate::diff::witness::synthetic_plan::{Setting, SyntheticPlan};
use crate::types::{InstanceId, Path, Run};
use crate::units::Exact;

/// Which way a clause may have moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::diff) enum Way {
    /// What passed does not any more.
    Tighter,
    /// What did not pass does now.
    Looser,
}

/// How much work of the evaluator counts for one run that is checked.
const WORK_OF_ONE: u64 = 2_000;

/// Counted work: runs checked and boxes looked at.
#[derive(Debug)]
pub(in crate::diff) struct Budget {
    left: Cell<u64>,
    /// What one question may take at most.
    each: u64,
    /// Work of the evaluator that was not taken yet.
    owed: Cell<u64>,
}

impl Budget {
    /// So much in all, and so much for one question.
    pub(in crate::diff) fn new(all: u64, each: u64) -> Self {
        Self {
            left: Cell::new(all),
            each,
            owed: Cell::new(0),
        }
    }

    /// Takes one; whether it was still there.
    pub(in crate::diff) fn take(&self, own: &Cell<u64>) -> bool {
        self.take_many(own, 1)
    }

    /// Takes several; whether any was still there.
    pub(in crate::diff) fn take_many(&self, own: &Cell<u64>, many: u64) -> bool {
        let owed = self.owed.get() / WORK_OF_ONE;
        self.owed.set(self.owed.get() % WORK_OF_ONE);
        let many = many.saturating_add(owed);
        let (left, mine) = (self.left.get(), own.get());
        if left == 0 || mine == 0 {
            return false;
        }
        self.left.set(left.saturating_sub(many));
        own.set(mine.saturating_sub(many));
        true
    }

    /// Adds work of the evaluator, to be taken with what is taken next.
    pub(in crate::diff) fn owe(&self, work: u64) {
        self.owed.set(self.owed.get().saturating_add(work));
    }

    /// What one question may take.
    pub(in crate::diff) fn question(&self) -> Cell<u64> {
        Cell::new(self.each)
    }

    /// Whether all of it is gone.
    pub(in crate::diff) fn is_gone(&self) -> bool {
        self.left.get() == 0
    }
}

/// Where a setting starts that nothing is known of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::diff) enum Start {
    /// In the middle of what is possible.
    Middle,
    /// At its lower end: little heat, little ink.
    Low,
}

/// A run that shows a change.
#[derive(Debug, Clone)]
pub(in crate::diff) struct Witness {
    /// The run.
    pub(in crate::diff) draft: SyntheticPlan,
    /// What the clause came to under the old standard.
    pub(in crate::diff) old: EditionVerdict,
    /// And under the new one.
    pub(in crate::diff) new: EditionVerdict,
}

/// A path of a clause: which side reads it, and what it is called.
#[derive(Debug, Clone)]
pub(in crate::diff) struct Reads {
    /// Whether it is the new standard.
    pub(in crate::diff) new: bool,
    /// The path.
    pub(in crate::diff) path: Path,
    /// What it is called.
    pub(in crate::diff) key: String,
}

/// A clause to look for runs of.
pub(in crate::diff) struct WitnessQuery<'q, 'a> {
    pub(in crate::diff) worlds: &'q Editions<'a>,
    pub(in crate::diff) old: Option<&'q Part>,
    pub(in crate::diff) new: Option<&'q Part>,
    pub(in crate::diff) reads: &'q [Reads],
    /// The kind of `for each`, by its new name.
    pub(in crate::diff) each: Option<String>,
    /// Kinds that are counted or gone over.
    pub(in crate::diff) over: &'q [String],
    pub(in crate::diff) work: &'q Budget,
}

/// The record at each place, by its new name.
pub(in crate::diff) type Choice = BTreeMap<String, Option<String>>;

impl WitnessQuery<'_, '_> {
    pub(in crate::diff) fn worlds(&self) -> [&Edition<'_>; 2] {
        [&self.worlds.old, &self.worlds.new]
    }

    pub(in crate::diff) fn parts(&self) -> [Option<&Part>; 2] {
        [self.old, self.new]
    }

    pub(in crate::diff) fn runs(&self, draft: &SyntheticPlan) -> Option<[Run; 2]> {
        let of = |world: &Edition<'_>| world.run(&draft.text(world, "standard")?);
        Some([of(&self.worlds.old)?, of(&self.worlds.new)?])
    }

    /// What the clause comes to on one side; the work is counted.
    pub(in crate::diff) fn came(&self, side: usize, run: &Run) -> EditionVerdict {
        let came = self.worlds()[side].came(run, self.parts()[side]);
        self.work.owe(came.work);
        came
    }

    /// What a run comes to, if it shows the way asked for.
    pub(in crate::diff) fn shows(&self, way: Way, draft: &SyntheticPlan) -> Option<Witness> {
        let runs = self.runs(draft)?;
        let old = self.came(0, &runs[0]);
        let new = self.came(1, &runs[1]);
        let fits = match way {
            Way::Tighter => new.rank > old.rank,
            Way::Looser => new.rank < old.rank,
        };
        fits.then(|| Witness {
            draft: draft.clone(),
            old,
            new,
        })
    }

    /// A run that shows a way, in a place where exact limits leave room for one.
    pub(in crate::diff) fn hunt(
        &self,
        way: Way,
        here: &Here<'_>,
        (vars, region): (&Vars, &Region),
        template: &PlanSkeleton,
        (deep, start): (bool, Start),
        own: &Cell<u64>,
    ) -> Option<Witness> {
        let mut draft = self.skeleton(template, here.choice);
        self.fill(&mut draft, here, (vars, region), start, own)?;
        if let Some(shown) = self.shows(way, &draft) {
            return Some(shown);
        }
        // Figures of heat take milliseconds, and records leave them so wide that turning dials shows nothing.
        if !deep || self.is_costly(&draft) {
            return None;
        }
        if let Some(shown) = self.slide(way, &draft, own) {
            return Some(shown);
        }
        if let Cut::Hit(point) = self.boxes(way, &draft, Some((vars, region)), own)
            && let Some(shown) = self.rounded(way, &draft, &point, own)
        {
            return Some(shown);
        }
        self.without_one(way, &draft, own)
    }

    /// Whether cutting shows that no run shows a way, among those that state all that is read.
    pub(in crate::diff) fn proved(
        &self,
        way: Way,
        here: &Here<'_>,
        vars: &Vars,
        template: &PlanSkeleton,
        own: &Cell<u64>,
    ) -> bool {
        let mut draft = self.skeleton(template, here.choice);
        let anywhere = Region::default();
        let filled = self.fill(&mut draft, here, (vars, &anywhere), Start::Middle, own);
        // Words are told apart by exact limits; here they stand still.
        let words = draft.all().flat_map(|thing| &thing.settings);
        let numbers_only = words
            .into_iter()
            .all(|(_, setting)| !matches!(setting, Setting::Word(_) | Setting::Text(_)));
        let words_asked = vars.list.iter().any(|var| !var.words.is_empty());
        filled.is_some()
            && numbers_only
            && !words_asked
            && matches!(self.boxes(way, &draft, None, own), Cut::None)
    }

    /// Cuts the box of what a draft states.
    pub(in crate::diff) fn boxes(
        &self,
        way: Way,
        draft: &SyntheticPlan,
        within: Option<(&Vars, &Region)>,
        own: &Cell<u64>,
    ) -> Cut {
        let Some(runs) = self.runs(draft) else {
            return Cut::Open;
        };
        branch_and_prune::cut(self, way, draft, &runs, within, own)
    }

    pub(in crate::diff) fn sides(&self) -> [(&Edition<'_>, Option<&Part>); 2] {
        [(&self.worlds.old, self.old), (&self.worlds.new, self.new)]
    }

    pub(in crate::diff) fn instance(
        &self,
        run: &Run,
        side: usize,
        at: (usize, bool),
        draft: &SyntheticPlan,
    ) -> Option<InstanceId> {
        let (index, step) = at;
        if step {
            return run.steps.get(index).copied();
        }
        let thing = draft.things.get(index)?;
        let kind = *self.worlds()[side].view.kind_names.get(&thing.kind)?;
        let single = run.singles.get(kind.0 as usize).copied().flatten();
        let many = run.many.get(kind.0 as usize)?;
        single.or_else(|| {
            many.iter()
                .copied()
                .find(|id| run.instance(*id).name == thing.name)
        })
    }

    /// The point with as few digits as still show it.
    fn rounded(
        &self,
        way: Way,
        draft: &SyntheticPlan,
        point: &[((usize, bool), usize, Exact)],
        own: &Cell<u64>,
    ) -> Option<Witness> {
        for digits in [1, 2, 3, 4, 6, 9, 12] {
            if !self.work.take(own) {
                return None;
            }
            let mut tried = draft.clone();
            for ((index, step), setting, value) in point {
                let list = if *step {
                    &mut tried.steps
                } else {
                    &mut tried.things
                };
                let Some((_, Setting::Number(number, unit))) = list
                    .get_mut(*index)
                    .and_then(|thing| thing.settings.get_mut(*setting))
                else {
                    continue;
                };
                *number = match unit {
                    Some(unit) => {
                        let shown =
                            crate::diff::witness::round_value::near(&unit.from_base(value), digits);
                        unit.to_base(&shown)
                    }
                    None => crate::diff::witness::round_value::near(value, digits),
                };
            }
            if let Some(shown) = self.shows(way, &tried) {
                return Some(shown);
            }
        }
        None
    }

    /// The same without one of its settings: what has to be stated may have changed.
    fn without_one(&self, way: Way, draft: &SyntheticPlan, own: &Cell<u64>) -> Option<Witness> {
        for smaller in fewer(draft) {
            if !self.work.take(own) {
                return None;
            }
            if let Some(shown) = self.shows(way, &smaller) {
                return Some(shown);
            }
        }
        None
    }

    /// The same with as little stated as still shows it.
    pub(in crate::diff) fn minimal(&self, way: Way, shown: Witness, own: &Cell<u64>) -> Witness {
        let mut best = shown;
        loop {
            let mut better = None;
            for smaller in fewer(&best.draft) {
                if !self.work.take(own) {
                    return best;
                }
                if let Some(tried) = self.shows(way, &smaller)
                    && tried.old.outcome == best.old.outcome
                    && tried.new.outcome == best.new.outcome
                {
                    better = Some(tried);
                    break;
                }
            }
            match better {
                Some(found) if found.draft.size() < best.draft.size() => best = found,
                _ => return best,
            }
        }
    }
}

/// The same draft with one thing, step or setting left out.
fn fewer(draft: &SyntheticPlan) -> Vec<SyntheticPlan> {
    let mut found = Vec::new();
    for index in (0..draft.things.len()).rev() {
        let mut smaller = draft.clone();
        smaller.things.remove(index);
        found.push(smaller);
    }
    for index in (0..draft.steps.len()).rev() {
        let mut smaller = draft.clone();
        smaller.steps.remove(index);
        found.push(smaller);
    }
    for index in 0..draft.things.len() {
        for setting in (0..draft.things[index].settings.len()).rev() {
            let mut smaller = draft.clone();
            smaller.things[index].settings.remove(setting);
            found.push(smaller);
        }
    }
    for index in 0..draft.steps.len() {
        for setting in (0..draft.steps[index].settings.len()).rev() {
            let mut smaller = draft.clone();
            smaller.steps[index].settings.remove(setting);
            found.push(smaller);
        }
    }
    found
}
