//! Which results a change of one setting can reach, so that a repair is checked against those alone.

use std::cell::OnceCell;
use std::collections::HashMap;

use crate::eval::{Leaf, Scene, reachable};

use super::outcome::{Applied, RuleResult, frame};

/// All results of a run as it is stated, with what each rests on.
pub(super) struct Before<'a> {
    scene: Scene<'a>,
    /// The results.
    pub(super) results: &'a [RuleResult],
    /// Worked out when the first repair is looked for.
    affected: OnceCell<Affected>,
}

/// Indices of results.
#[derive(Default)]
struct Affected {
    by_leaf: HashMap<Leaf, Vec<usize>>,
    /// Those that rest on too much to tell.
    by_any: Vec<usize>,
}

impl<'a> Before<'a> {
    /// The results of `scene`.
    pub(super) fn new(scene: Scene<'a>, results: &'a [RuleResult]) -> Self {
        Self {
            scene,
            results,
            affected: OnceCell::new(),
        }
    }

    /// The results that can be other ones when this setting has another value.
    pub(super) fn affected(&self, leaf: Leaf) -> impl Iterator<Item = &'a RuleResult> {
        let affected = self.affected.get_or_init(|| self.work_out());
        let own = affected.by_leaf.get(&leaf).into_iter().flatten();
        own.chain(&affected.by_any)
            .filter_map(|index| self.results.get(*index))
    }

    fn work_out(&self) -> Affected {
        let mut affected = Affected::default();
        for (index, result) in self.results.iter().enumerate() {
            if result.applied == Applied::ToNothing {
                continue;
            }
            let rule = &self.scene.standard.rules[result.rule];
            let requirement = &rule.requirements[result.requirement].condition;
            let parts = rule
                .when
                .iter()
                .chain([requirement])
                .chain(&rule.permissions);
            match reachable(&self.scene, frame(result.each), parts) {
                Some(leaves) => {
                    for leaf in leaves {
                        affected.by_leaf.entry(leaf).or_default().push(index);
                    }
                }
                None => affected.by_any.push(index),
            }
        }
        affected
    }
}
