//! What must be so, as exact sets of what settings may be, and whether all of it can be.

use std::collections::BTreeMap;

use crate::review::{End, Set};
use crate::units::{Exact, Unit};

/// How many branches are gone down for one question.
const MOST_BRANCHES: u32 = 4_000;

/// Something that both standards read: a setting of a run, or a whole expression that means the same in both.
#[derive(Debug, Clone)]
pub(in crate::diff) struct Var {
    /// What it is called.
    pub(in crate::diff) key: String,
    /// What is possible.
    pub(in crate::diff) domain: Set,
    /// Whether only whole numbers are.
    pub(in crate::diff) whole: bool,
    /// The words of a choice; a number in [`Set::Words`] is a place in this list.
    pub(in crate::diff) words: Vec<String>,
    /// Whether a plan can state it.
    pub(in crate::diff) plain: bool,
    /// The unit it is spoken of in.
    pub(in crate::diff) unit: Option<Unit>,
}

/// All that was met so far, by key.
#[derive(Debug, Clone, Default)]
pub(in crate::diff) struct Vars {
    /// In the order met.
    pub(in crate::diff) list: Vec<Var>,
    index: BTreeMap<String, usize>,
    /// Where both standards keep the clause: so are other things of its kind made.
    pub(in crate::diff) calm: Region,
}

impl Vars {
    /// The number of something, added when it is met first; what is possible must be so on both sides.
    pub(in crate::diff) fn add(&mut self, var: Var) -> usize {
        if let Some(&known) = self.index.get(&var.key) {
            let mine = &mut self.list[known];
            for word in var.words {
                if !mine.words.contains(&word) {
                    mine.words.push(word);
                }
            }
            if let (Set::Words(_), Set::Words(_)) = (&mine.domain, &var.domain) {
                mine.domain = Set::Words(mask(mine.words.len()));
            } else if let Some(both) = mine.domain.meet(&var.domain) {
                mine.domain = both;
            }
            mine.unit = mine.unit.take().or(var.unit);
            return known;
        }
        self.index.insert(var.key.clone(), self.list.len());
        self.list.push(var);
        self.list.len() - 1
    }

    /// The number of something known.
    pub(in crate::diff) fn find(&self, key: &str) -> Option<usize> {
        self.index.get(key).copied()
    }
}

/// As many words as there are.
pub(in crate::diff) fn mask(words: usize) -> u64 {
    match words {
        0 => 0,
        words => u64::MAX >> (64 - words.min(64)),
    }
}

/// A condition on a run.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::diff) enum Formula {
    /// True.
    True,
    /// False.
    False,
    /// Something lies in a set.
    Limit(usize, Set),
    /// All.
    And(Vec<Formula>),
    /// Any.
    Or(Vec<Formula>),
}

/// All of these.
pub(in crate::diff) fn all(list: impl IntoIterator<Item = Formula>) -> Formula {
    let mut parts = Vec::new();
    for node in list {
        match node {
            Formula::True => {}
            Formula::False => return Formula::False,
            Formula::And(inner) => parts.extend(inner),
            other => parts.push(other),
        }
    }
    match parts.len() {
        0 => Formula::True,
        1 => parts.remove(0),
        _ => Formula::And(parts),
    }
}

/// Any of these.
pub(in crate::diff) fn any(list: impl IntoIterator<Item = Formula>) -> Formula {
    let mut parts = Vec::new();
    for node in list {
        match node {
            Formula::False => {}
            Formula::True => return Formula::True,
            Formula::Or(inner) => parts.extend(inner),
            other => parts.push(other),
        }
    }
    match parts.len() {
        0 => Formula::False,
        1 => parts.remove(0),
        _ => Formula::Or(parts),
    }
}

impl Formula {
    /// The opposite.
    pub(in crate::diff) fn not(&self) -> Self {
        match self {
            Self::True => Self::False,
            Self::False => Self::True,
            Self::And(list) => any(list.iter().map(Self::not)),
            Self::Or(list) => all(list.iter().map(Self::not)),
            Self::Limit(var, Set::Words(words)) => Self::Limit(*var, Set::Words(!words)),
            Self::Limit(var, set) => {
                let (low, high) = set.ends();
                let turned = |end: &End| End {
                    value: end.value.clone(),
                    open: !end.open,
                };
                any([
                    low.map_or(Self::False, |low| Self::Limit(*var, Set::to(turned(low)))),
                    high.map_or(Self::False, |high| {
                        Self::Limit(*var, Set::from(turned(high)))
                    }),
                ])
            }
        }
    }
}

/// What is left of each thing that something was said of.
pub(in crate::diff) type Region = BTreeMap<usize, Set>;

/// Where conditions can all be true.
#[derive(Debug, Clone, Default)]
pub(in crate::diff) struct Found {
    /// Some of the places; none when it is proved that there are none.
    pub(in crate::diff) regions: Vec<Region>,
    /// Whether the search ended early.
    pub(in crate::diff) open: bool,
}

/// Finds where a condition can be true, in at most `most` places.
pub(in crate::diff) fn places(vars: &Vars, node: &Formula, most: usize) -> Found {
    let mut search = Search {
        vars,
        most,
        branches: MOST_BRANCHES,
        found: Found::default(),
    };
    search.go(Region::new(), vec![node]);
    search.found
}

struct Search<'v> {
    vars: &'v Vars,
    most: usize,
    branches: u32,
    found: Found,
}

impl Search<'_> {
    fn narrow(&self, left: &mut Region, var: usize, set: &Set) -> bool {
        let of = &self.vars.list[var];
        let met = left.get(&var).unwrap_or(&of.domain).meet(set);
        let met = if of.whole {
            met.and_then(|met| met.whole())
        } else {
            met
        };
        match met {
            Some(met) => {
                left.insert(var, met);
                true
            }
            None => false,
        }
    }

    fn go(&mut self, mut left: Region, mut todo: Vec<&Formula>) {
        let mut choices: Vec<&Formula> = Vec::new();
        while let Some(node) = todo.pop() {
            match node {
                Formula::True => {}
                Formula::False => return,
                Formula::Limit(var, set) => {
                    if !self.narrow(&mut left, *var, set) {
                        return;
                    }
                }
                Formula::And(list) => todo.extend(list),
                Formula::Or(_) => choices.push(node),
            }
        }
        let Some(choice) = choices.pop() else {
            self.found.regions.push(left);
            return;
        };
        let Formula::Or(ways) = choice else { return };
        for way in ways {
            if self.found.regions.len() >= self.most {
                return;
            }
            if self.branches == 0 {
                self.found.open = true;
                return;
            }
            self.branches -= 1;
            let mut rest: Vec<&Formula> = choices.clone();
            rest.push(way);
            self.go(left.clone(), rest);
        }
    }
}

/// A comparison with a number, as a set.
pub(in crate::diff) fn set(compare: crate::types::Compare, limit: &Exact) -> Set {
    use crate::types::Compare;
    match compare {
        Compare::AtLeast => Set::from(End::closed(limit.clone())),
        Compare::AtMost => Set::to(End::closed(limit.clone())),
        Compare::Above => Set::from(End::open(limit.clone())),
        Compare::Below => Set::to(End::open(limit.clone())),
        Compare::Is => Set::ExactInterval {
            low: Some(End::closed(limit.clone())),
            high: Some(End::closed(limit.clone())),
        },
    }
}
