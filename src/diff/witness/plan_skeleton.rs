//! The things and steps that a made-up run starts with.

use crate::diff::witness::synthetic_plan::{SyntheticPlan, Thing, place};
use crate::diff::witness::witness_query::{Choice, WitnessQuery};
use crate::types::PlaceInRun;

/// Names of things of which a run has several.
pub(in crate::diff) const COPIES: [&str; 12] = [
    "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
    "twelve",
];

/// How many things there are where steps are looked at one by one, and in how many sequences.
const MORE_COPIES: [usize; 5] = [2, 3, 4, 5, 6];
const MOST_SIMPLE: usize = 3;

/// How many of a kind there are, and which steps.
#[derive(Debug, Clone, Default)]
pub(in crate::diff) struct PlanSkeleton {
    copies: usize,
    steps: Vec<String>,
}

impl WitnessQuery<'_, '_> {
    /// The sequences and numbers of things that are tried, simplest first.
    pub(in crate::diff) fn templates(&self) -> Vec<PlanSkeleton> {
        let standard = self.worlds.new.view;
        let steps: Vec<String> = standard
            .kinds
            .iter()
            .filter(|kind| kind.place == PlaceInRun::Step)
            .filter(|kind| self.worlds.old.view.kind_names.contains_key(&kind.name))
            .map(|kind| kind.name.clone())
            .collect();
        let of = |copies: usize, steps: &[&String]| PlanSkeleton {
            copies,
            steps: steps.iter().map(|step| (*step).clone()).collect(),
        };
        let is_step = |name: &String| steps.contains(name);
        let each = self.each.as_ref().filter(|name| is_step(name));
        let mut found = Vec::new();
        if let Some(own) = each {
            found.push(of(1, &[own]));
            for step in &steps {
                found.push(of(1, &[step, own]));
                found.push(of(1, &[own, step]));
            }
            for one in &steps {
                for other in &steps {
                    found.push(of(1, &[one, own, other]));
                    found.push(of(1, &[one, other, own]));
                    found.push(of(1, &[own, one, other]));
                }
            }
            for one in &steps {
                for other in &steps {
                    found.push(of(1, &[own, one, other, own]));
                    found.push(of(1, &[one, own, other, own]));
                    found.push(of(1, &[one, own, one, other]));
                }
            }
            if !self.over.iter().all(is_step) {
                // Simple sequences once more, with several of the things that are gone over.
                let simple: Vec<PlanSkeleton> = found.iter().take(MOST_SIMPLE).cloned().collect();
                let more = simple.into_iter().flat_map(|one| {
                    MORE_COPIES.map(|copies| PlanSkeleton {
                        copies,
                        ..one.clone()
                    })
                });
                found.splice(1..1, more);
            }
            return found;
        }
        found.push(of(1, &[]));
        let over_steps: Vec<&String> = self.over.iter().filter(|name| is_step(name)).collect();
        for step in &over_steps {
            found.push(of(1, &[step]));
            found.push(of(1, &[step, step]));
        }
        if !self.over.is_empty() {
            for copies in 2..=COPIES.len() {
                found.push(of(copies, &[]));
            }
            for step in &over_steps {
                found.push(of(2, &[step, step]));
            }
            if let [one, other, ..] = over_steps.as_slice() {
                found.push(of(1, &[one, other]));
            }
        }
        found
    }

    /// A run with the things of a template, and the records chosen.
    pub(in crate::diff) fn skeleton(
        &self,
        template: &PlanSkeleton,
        choice: &Choice,
    ) -> SyntheticPlan {
        let standard = self.worlds.new.view;
        let mut draft = SyntheticPlan::default();
        for (key, record) in choice {
            // A record that only a figure rests on is chosen for `any` thing of its kind.
            let (key, any) = match key.strip_prefix("any ") {
                Some(key) => (key, true),
                None => (key.as_str(), false),
            };
            let Some(&kind) = standard.kind_names.get(key) else {
                continue;
            };
            match place(standard, kind) {
                PlaceInRun::One => draft.thing(key, "").record.clone_from(record),
                PlaceInRun::Many if !any => draft.thing(key, "one").record.clone_from(record),
                PlaceInRun::Many | PlaceInRun::Record | PlaceInRun::Step => {}
            }
        }
        let many = |name: &String| {
            let kind = standard.kind_names.get(name);
            kind.is_some_and(|kind| place(standard, *kind) == PlaceInRun::Many)
        };
        if let Some(each) = self.each.as_ref().filter(|name| many(name)) {
            draft.thing(each, "one");
        }
        for name in self.over.iter().filter(|name| many(name)) {
            for copy in COPIES.iter().take(template.copies) {
                draft.thing(name, copy);
            }
        }
        for step in &template.steps {
            draft.steps.push(Thing {
                kind: step.clone(),
                name: String::new(),
                record: None,
                settings: Vec::new(),
            });
        }
        draft
    }
}
