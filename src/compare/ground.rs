//! What must be so, as exact sets of what settings may be, and whether all of it can be.

use std::collections::BTreeMap;

use crate::review::{End, Set};
use crate::units::{Exact, Unit};

/// How many branches are gone down for one question.
const MOST_BRANCHES: u32 = 4_000;

/// Something that both standards read: a setting of a run, or a whole expression that means the same in both.
#[derive(Debug, Clone)]
pub(super) struct Var {
    /// What it is called.
    pub(super) key: String,
    /// What is possible.
    pub(super) domain: Set,
    /// Whether only whole numbers are.
    pub(super) whole: bool,
    /// The words of a choice; a number in [`Set::Words`] is a place in this list.
    pub(super) words: Vec<String>,
    /// Whether a plan can state it.
    pub(super) plain: bool,
    /// The unit it is spoken of in.
    pub(super) unit: Option<Unit>,
}

/// All that was met so far, by key.
#[derive(Debug, Clone, Default)]
pub(super) struct Vars {
    /// In the order met.
    pub(super) list: Vec<Var>,
    index: BTreeMap<String, usize>,
    /// Where both standards keep the clause: so are other things of its kind made.
    pub(super) calm: Region,
}

impl Vars {
    /// The number of something, added when it is met first; what is possible must be so on both sides.
    pub(super) fn add(&mut self, var: Var) -> usize {
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
    pub(super) fn find(&self, key: &str) -> Option<usize> {
        self.index.get(key).copied()
    }
}

/// As many words as there are.
pub(super) fn mask(words: usize) -> u64 {
    match words {
        0 => 0,
        words => u64::MAX >> (64 - words.min(64)),
    }
}

/// A condition on a run.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Node {
    /// True.
    True,
    /// False.
    False,
    /// Something lies in a set.
    Limit(usize, Set),
    /// All.
    And(Vec<Node>),
    /// Any.
    Or(Vec<Node>),
}

/// All of these.
pub(super) fn all(list: impl IntoIterator<Item = Node>) -> Node {
    let mut parts = Vec::new();
    for node in list {
        match node {
            Node::True => {}
            Node::False => return Node::False,
            Node::And(inner) => parts.extend(inner),
            other => parts.push(other),
        }
    }
    match parts.len() {
        0 => Node::True,
        1 => parts.remove(0),
        _ => Node::And(parts),
    }
}

/// Any of these.
pub(super) fn any(list: impl IntoIterator<Item = Node>) -> Node {
    let mut parts = Vec::new();
    for node in list {
        match node {
            Node::False => {}
            Node::True => return Node::True,
            Node::Or(inner) => parts.extend(inner),
            other => parts.push(other),
        }
    }
    match parts.len() {
        0 => Node::False,
        1 => parts.remove(0),
        _ => Node::Or(parts),
    }
}

impl Node {
    /// The opposite.
    pub(super) fn not(&self) -> Self {
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
pub(super) type Region = BTreeMap<usize, Set>;

/// Where conditions can all be true.
#[derive(Debug, Clone, Default)]
pub(super) struct Found {
    /// Some of the places; none when it is proved that there are none.
    pub(super) regions: Vec<Region>,
    /// Whether the search ended early.
    pub(super) open: bool,
}

/// Finds where a condition can be true, in at most `most` places.
pub(super) fn places(vars: &Vars, node: &Node, most: usize) -> Found {
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

    fn go(&mut self, mut left: Region, mut todo: Vec<&Node>) {
        let mut choices: Vec<&Node> = Vec::new();
        while let Some(node) = todo.pop() {
            match node {
                Node::True => {}
                Node::False => return,
                Node::Limit(var, set) => {
                    if !self.narrow(&mut left, *var, set) {
                        return;
                    }
                }
                Node::And(list) => todo.extend(list),
                Node::Or(_) => choices.push(node),
            }
        }
        let Some(choice) = choices.pop() else {
            self.found.regions.push(left);
            return;
        };
        let Node::Or(ways) = choice else { return };
        for way in ways {
            if self.found.regions.len() >= self.most {
                return;
            }
            if self.branches == 0 {
                self.found.open = true;
                return;
            }
            self.branches -= 1;
            let mut rest: Vec<&Node> = choices.clone();
            rest.push(way);
            self.go(left.clone(), rest);
        }
    }
}

/// A comparison with a number, as a set.
pub(super) fn set(compare: crate::types::Compare, limit: &Exact) -> Set {
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
