//! Turns one dial of a run from where both standards keep a clause to where neither does.
//!
//! Where the two let go at different places, a run between them shows the difference, however the
//! figure behind the clause is worked out.

use std::cell::Cell;

use crate::diff::witness::branch_and_prune::{self, COSTLY};
use crate::diff::witness::round_value::near;
use crate::diff::witness::synthetic_plan::{Setting, SyntheticPlan};
use crate::diff::witness::witness_query::{Way, Witness, WitnessQuery};
use crate::units::Exact;

/// How often the stretch between two places of a dial is halved.
const HALVINGS: u32 = 40;

/// What a place of a dial came to: the ranks of both sides, and the run.
struct Stop {
    at: Exact,
    old: u8,
    new: u8,
}

impl Stop {
    fn kept(&self) -> bool {
        self.old == 0 && self.new == 0
    }

    fn let_go(&self) -> bool {
        self.old > 0 && self.new > 0
    }
}

impl WitnessQuery<'_, '_> {
    /// A run that shows a way, on one of the dials of a draft.
    pub(in crate::diff) fn slide(
        &self,
        way: Way,
        draft: &SyntheticPlan,
        own: &Cell<u64>,
    ) -> Option<Witness> {
        let price = if self.is_costly(draft) { COSTLY } else { 1 };
        for step in [false, true] {
            let list = if step { &draft.steps } else { &draft.things };
            for (index, thing) in list.iter().enumerate() {
                for (number, (_, setting)) in thing.settings.iter().enumerate() {
                    if let Setting::Number(..) = setting
                        && let Some(shown) =
                            self.dial(way, draft, ((index, step), number), price, own)
                    {
                        return Some(shown);
                    }
                    if own.get() == 0 {
                        return None;
                    }
                }
            }
        }
        None
    }

    fn dial(
        &self,
        way: Way,
        draft: &SyntheticPlan,
        place: ((usize, bool), usize),
        price: u64,
        own: &Cell<u64>,
    ) -> Option<Witness> {
        let ((index, step), number) = place;
        let list = if step { &draft.steps } else { &draft.things };
        let thing = list.get(index)?;
        let (name, Setting::Number(now, unit)) = thing.settings.get(number)? else {
            return None;
        };
        let view = self.worlds.new.view;
        let kind = *view.kind_names.get(&thing.kind)?;
        let field = *view.kind(kind).field_names.get(name)?;
        let set = branch_and_prune::possible(self.worlds, view, kind, field);
        let (Some(low), Some(high)) = set.ends() else {
            return None;
        };
        let at = |value: &Exact| {
            let mut tried = draft.clone();
            let list = if step {
                &mut tried.steps
            } else {
                &mut tried.things
            };
            let place = list.get_mut(index)?.settings.get_mut(number)?;
            place.1 = Setting::Number(value.clone(), unit.clone());
            Some(tried)
        };
        let stop = |value: &Exact| -> Option<Stop> {
            if !self.work.take_many(own, price) {
                return None;
            }
            let runs = self.runs(&at(value)?)?;
            Some(Stop {
                at: value.clone(),
                old: self.came(0, &runs[0]).rank,
                new: self.came(1, &runs[1]).rank,
            })
        };
        let mut stops = Vec::new();
        for value in [now, &low.value, &high.value] {
            let Some(found) = stop(value) else { continue };
            if let Some(shown) = at(&found.at).and_then(|tried| self.shows(way, &tried)) {
                return Some(shown);
            }
            stops.push(found);
        }
        let mut kept = stops.iter().find(|stop| stop.kept())?.at.clone();
        let mut gone = stops.iter().find(|stop| stop.let_go())?.at.clone();
        for _ in 0..HALVINGS {
            let middle = kept.add(&gone).div(&Exact::from_int(2))?;
            let middle = match unit {
                Some(unit) => unit.to_base(&near(&unit.from_base(&middle), 7)),
                None => near(&middle, 7),
            };
            if middle == kept || middle == gone {
                break;
            }
            let found = stop(&middle)?;
            if let Some(shown) = at(&middle).and_then(|tried| self.shows(way, &tried)) {
                return Some(shown);
            }
            if found.kept() {
                kept = middle;
            } else if found.let_go() {
                gone = middle;
            } else {
                // They differ here, but the other way round.
                return None;
            }
        }
        // What is lost on a limit itself lies on a short number.
        (1..=5).find_map(|digits| {
            let short = match unit {
                Some(unit) => unit.to_base(&near(&unit.from_base(&kept), digits)),
                None => near(&kept, digits),
            };
            let inside = low.value <= short && short <= high.value;
            at(&short)
                .filter(|_| inside && self.work.take_many(own, price))
                .and_then(|tried| self.shows(way, &tried))
        })
    }
}
