//! Looks for a run that one standard keeps and the other does not, and checks it against both.

use std::cell::Cell;
use std::collections::BTreeMap;

use super::boxes::{self, Cut};
use super::clause::Part;
use super::draft::{Draft, Setting};
use super::effect::Here;
use super::ground::{Region, Vars};
use super::template::Template;
use super::world::{Came, World, Worlds};
use crate::types::{InstanceId, Path, Run};
use crate::units::Exact;

/// Which way a clause may have moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Way {
    /// What passed does not any more.
    Tighter,
    /// What did not pass does now.
    Looser,
}

/// Counted work: runs checked and boxes looked at.
#[derive(Debug)]
pub(super) struct Work {
    left: Cell<u64>,
    /// What one question may take at most.
    each: u64,
}

impl Work {
    /// So much in all, and so much for one question.
    pub(super) fn new(all: u64, each: u64) -> Self {
        Self {
            left: Cell::new(all),
            each,
        }
    }

    /// Takes one; whether it was still there.
    pub(super) fn take(&self, own: &Cell<u64>) -> bool {
        self.take_many(own, 1)
    }

    /// Takes several; whether any was still there.
    pub(super) fn take_many(&self, own: &Cell<u64>, many: u64) -> bool {
        let (left, mine) = (self.left.get(), own.get());
        if left == 0 || mine == 0 {
            return false;
        }
        self.left.set(left.saturating_sub(many));
        own.set(mine.saturating_sub(many));
        true
    }

    /// What one question may take.
    pub(super) fn question(&self) -> Cell<u64> {
        Cell::new(self.each)
    }

    /// Whether all of it is gone.
    pub(super) fn is_gone(&self) -> bool {
        self.left.get() == 0
    }
}

/// Where a setting starts that nothing is known of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Start {
    /// In the middle of what is possible.
    Middle,
    /// At its lower end: little heat, little ink.
    Low,
}

/// A run that shows a change.
#[derive(Debug, Clone)]
pub(super) struct Shown {
    /// The run.
    pub(super) draft: Draft,
    /// What the clause came to under the old standard.
    pub(super) old: Came,
    /// And under the new one.
    pub(super) new: Came,
}

/// A path of a clause: which side reads it, and what it is called.
#[derive(Debug, Clone)]
pub(super) struct Reads {
    /// Whether it is the new standard.
    pub(super) new: bool,
    /// The path.
    pub(super) path: Path,
    /// What it is called.
    pub(super) key: String,
}

/// A clause to look for runs of.
pub(super) struct Question<'q, 'a> {
    pub(super) worlds: &'q Worlds<'a>,
    pub(super) old: Option<&'q Part>,
    pub(super) new: Option<&'q Part>,
    pub(super) reads: &'q [Reads],
    /// The kind of `for each`, by its new name.
    pub(super) each: Option<String>,
    /// Kinds that are counted or gone over.
    pub(super) over: &'q [String],
    pub(super) work: &'q Work,
}

/// The record at each place, by its new name.
pub(super) type Choice = BTreeMap<String, Option<String>>;

impl Question<'_, '_> {
    pub(super) fn worlds(&self) -> [&World<'_>; 2] {
        [&self.worlds.old, &self.worlds.new]
    }

    pub(super) fn parts(&self) -> [Option<&Part>; 2] {
        [self.old, self.new]
    }

    pub(super) fn runs(&self, draft: &Draft) -> Option<[Run; 2]> {
        let of = |world: &World<'_>| world.run(&draft.text(world, "standard")?);
        Some([of(&self.worlds.old)?, of(&self.worlds.new)?])
    }

    /// What a run comes to, if it shows the way asked for.
    pub(super) fn shows(&self, way: Way, draft: &Draft) -> Option<Shown> {
        let runs = self.runs(draft)?;
        let old = self.worlds.old.came(&runs[0], self.old);
        let new = self.worlds.new.came(&runs[1], self.new);
        let fits = match way {
            Way::Tighter => new.rank > old.rank,
            Way::Looser => new.rank < old.rank,
        };
        fits.then(|| Shown {
            draft: draft.clone(),
            old,
            new,
        })
    }

    /// A run that shows a way, in a place where exact limits leave room for one.
    pub(super) fn hunt(
        &self,
        way: Way,
        here: &Here<'_>,
        (vars, region): (&Vars, &Region),
        template: &Template,
        (deep, start): (bool, Start),
        own: &Cell<u64>,
    ) -> Option<Shown> {
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
    pub(super) fn proved(
        &self,
        way: Way,
        here: &Here<'_>,
        vars: &Vars,
        template: &Template,
        own: &Cell<u64>,
    ) -> bool {
        let mut draft = self.skeleton(template, here.choice);
        let anywhere = Region::new();
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
    pub(super) fn boxes(
        &self,
        way: Way,
        draft: &Draft,
        within: Option<(&Vars, &Region)>,
        own: &Cell<u64>,
    ) -> Cut {
        let Some(runs) = self.runs(draft) else {
            return Cut::Open;
        };
        boxes::cut(self, way, draft, &runs, within, own)
    }

    pub(super) fn sides(&self) -> [(&World<'_>, Option<&Part>); 2] {
        [(&self.worlds.old, self.old), (&self.worlds.new, self.new)]
    }

    pub(super) fn instance(
        &self,
        run: &Run,
        side: usize,
        at: (usize, bool),
        draft: &Draft,
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
        draft: &Draft,
        point: &[((usize, bool), usize, Exact)],
        own: &Cell<u64>,
    ) -> Option<Shown> {
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
                        let shown = super::pick::near(&unit.from_base(value), digits);
                        unit.to_base(&shown)
                    }
                    None => super::pick::near(value, digits),
                };
            }
            if let Some(shown) = self.shows(way, &tried) {
                return Some(shown);
            }
        }
        None
    }

    /// The same without one of its settings: what has to be stated may have changed.
    fn without_one(&self, way: Way, draft: &Draft, own: &Cell<u64>) -> Option<Shown> {
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
    pub(super) fn minimal(&self, way: Way, shown: Shown, own: &Cell<u64>) -> Shown {
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
fn fewer(draft: &Draft) -> Vec<Draft> {
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
