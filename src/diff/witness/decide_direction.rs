//! The search for runs that show what a clause became, over all choices of records.

use std::cell::Cell;
use std::collections::{BTreeMap, BTreeSet};

use crate::constraint::Region;
use crate::diagnostic::{Answer, Direction, Outcome};
use crate::diff::clause_effect::Here;
use crate::diff::conditions::lower_condition::Figures;
use crate::diff::conditions::variables::{Formula, Vars};
use crate::diff::witness::plan_skeleton::PlanSkeleton;
use crate::diff::witness::witness_query::{Start, Way, Witness, WitnessQuery};

/// How many places left by exact limits a run is looked for in.
const MOST_PLACES: usize = 6;

/// How many combinations are searched at length for one way of one clause.
pub(in crate::diff) const MOST_DEEP: u32 = 4;

/// The search for runs that show what a clause became, over all choices.
pub(in crate::diff) struct DirectionSearch<'h, 'q, 'a> {
    pub(in crate::diff) question: &'h WitnessQuery<'q, 'a>,
    pub(in crate::diff) templates: Vec<PlanSkeleton>,
    /// The template that did it last.
    pub(in crate::diff) last: usize,
    /// How many choices may still be searched at length, by way.
    pub(in crate::diff) deep: [u32; 2],
    pub(in crate::diff) shown: BTreeMap<Way, Witness>,
    pub(in crate::diff) left: BTreeSet<String>,
    /// Answers by the limits that choices of records come to.
    pub(in crate::diff) alike: BTreeMap<String, Direction>,
}

impl DirectionSearch<'_, '_, '_> {
    pub(in crate::diff) fn ask(
        &mut self,
        way: Way,
        here: &Here<'_>,
        (vars, node): (&Vars, &Formula),
        comparable: bool,
        figures: Figures,
    ) -> Answer {
        if comparable && vars.is_never(&[node]) {
            return Answer::No;
        }
        let regions = vars.regions(node, MOST_PLACES).list;
        let own = self.question.work.question();
        if figures == Figures::WorkedOut {
            // Seldom found, and dear: it must not eat what other clauses need.
            own.set(own.get() / 5);
        }
        let mut order: Vec<usize> = vec![self.last];
        order.extend((0..self.templates.len()).filter(|index| *index != self.last));
        let deep_left = self.deep[way as usize];
        if figures == Figures::WorkedOut && deep_left == 0 {
            self.left.insert(self.reason(vars, &regions, &own, figures));
            return Answer::NotDecided;
        }
        if figures == Figures::WorkedOut {
            let anywhere = Region::default();
            let place = (vars, regions.first().unwrap_or(&anywhere));
            let own = self.question.work.question();
            let template = self.templates.first();
            let shown =
                template.and_then(|template| self.question.turn(way, here, place, template, &own));
            if let Some(shown) = shown {
                self.deep[way as usize] -= 1;
                self.keep(way, shown);
                return Answer::Yes;
            }
        }
        let starts: &[(bool, Start)] = match figures {
            // A run is known that shows it; what else would be tried is dear, and seldom finds one.
            Figures::WorkedOut if self.shown.contains_key(&way) => &[],
            Figures::Stated => &[(false, Start::Middle), (true, Start::Middle)],
            // A figure starts low, so that a dial turns it from kept to let go.
            Figures::WorkedOut => &[
                (false, Start::Middle),
                (true, Start::Low),
                (true, Start::Middle),
            ],
        };
        for (deep, start) in starts.iter().copied() {
            if deep && deep_left == 0 {
                break;
            }

            for region in &regions {
                for index in &order {
                    let Some(template) = self.templates.get(*index) else {
                        continue;
                    };
                    let shown = self.question.hunt(
                        way,
                        here,
                        (vars, region),
                        template,
                        (deep, start),
                        &own,
                    );
                    if let Some(shown) = shown {
                        self.last = *index;
                        self.keep(way, shown);
                        return Answer::Yes;
                    }
                    if own.get() == 0 {
                        break;
                    }
                }
            }
        }
        if deep_left > 0 {
            self.deep[way as usize] -= 1;
            let plain = regions.is_empty() || regions.iter().all(|region| !region.is_anywhere());
            if here.closed[usize::from(figures == Figures::WorkedOut)]
                && comparable
                && plain
                // What leaves something out was not cut.
                && vars.is_never(&[node, &vars.something_missing()])
                && self.proved_by_boxes(way, here, vars)
            {
                return Answer::No;
            }
        }
        self.left.insert(self.reason(vars, &regions, &own, figures));
        Answer::NotDecided
    }

    fn keep(&mut self, way: Way, shown: Witness) {
        let better = |known: &Witness, new: &Witness| {
            let plain = |of: &Witness| {
                let missing = Outcome::NotStated;
                of.old.outcome != missing && of.new.outcome != missing
            };
            plain(new) && !plain(known)
        };
        let known = self.shown.get(&way);
        if known.is_none_or(|known| better(known, &shown)) {
            self.shown.insert(way, shown);
        }
    }

    /// Whether there is no such run among those that state all that the clause reads.
    fn proved_by_boxes(&self, way: Way, here: &Here<'_>, vars: &Vars) -> bool {
        let own = self.question.work.question();
        let Some(template) = self.templates.first() else {
            return false;
        };
        self.question.proved(way, here, vars, template, &own)
    }

    fn reason(&self, vars: &Vars, regions: &[Region], own: &Cell<u64>, figures: Figures) -> String {
        if self.question.work.is_gone() {
            return "the budget of the whole comparison is spent; `--budget` gives more".to_owned();
        }
        if figures == Figures::WorkedOut {
            return "a figure is worked out from other values or in another way; no run was found, and none is excluded".to_owned();
        }
        let mut names: Vec<&str> = regions
            .iter()
            .flat_map(Region::iter)
            .map(|(variable, _)| vars.get(variable))
            .filter(|var| !var.plain)
            .map(|var| var.key.as_str())
            .collect();
        names.sort_unstable();
        names.dedup();
        let spent = if own.get() == 0 {
            ", and its budget is spent"
        } else {
            ""
        };
        match names.first() {
            Some(_) => format!(
                "what rests on the sequence, or on several settings at once, was searched without a run that shows it{spent}"
            ),
            None => format!("exact limits leave room, but no run was found that shows it{spent}"),
        }
    }
}
