//! Conditions of which one is shown wherever another is, by their form alone.
//!
//! Said of what a check shows of a whole tolerance, not of points: of `x below 5` the same bounds decide `x at most 5`.
//! Nothing here looks at what is possible beside the two.

use crate::diff::canonical;
use crate::types::{Compare, Condition, ConditionNode, ExpressionNode, Standard};
use crate::units::Exact;

/// A condition of a standard, and whether it is to be true or false.
#[derive(Clone, Copy)]
pub(in crate::diff) struct Asked<'c> {
    pub(in crate::diff) standard: &'c Standard,
    pub(in crate::diff) of: &'c Condition,
    pub(in crate::diff) truth: bool,
}

impl<'c> Asked<'c> {
    fn at(self, of: &'c Condition, truth: bool) -> Self {
        Self { of, truth, ..self }
    }

    /// Without `not`.
    fn plain(self) -> Self {
        match &self.of.node {
            ConditionNode::Not(inner) => self.at(inner, !self.truth).plain(),
            _ => self,
        }
    }

    fn text(self) -> String {
        canonical::condition(self.standard, self.of)
    }

    fn is_same(self, other: Self) -> bool {
        self.truth == other.truth && self.text() == other.text()
    }

    /// The parts of which one is enough, or all are needed; none of a single condition.
    fn parts(self) -> Option<(bool, Vec<Self>)> {
        match (&self.of.node, self.truth) {
            (ConditionNode::And(list), truth) | (ConditionNode::Or(list), truth) => {
                let one = matches!(self.of.node, ConditionNode::Or(_)) == truth;
                Some((one, list.iter().map(|part| self.at(part, truth)).collect()))
            }
            _ => None,
        }
    }

    /// Whether the other is shown for all of a tolerance wherever this is, by one of its parts where one is enough.
    pub(in crate::diff) fn entails(self, other: Self) -> bool {
        let (one, other) = (self.plain(), other.plain());
        if one.is_same(other) || one.is_narrower(other) {
            return true;
        }
        match other.parts() {
            Some((true, parts)) if parts.iter().any(|part| one.entails(*part)) => return true,
            Some((false, parts)) => return parts.iter().all(|part| one.entails(*part)),
            _ => {}
        }
        match one.parts() {
            Some((true, parts)) => parts.iter().all(|part| part.entails(other)),
            Some((false, parts)) => parts.iter().any(|part| part.entails(other)),
            None => false,
        }
    }

    /// The same of conditions that are alike part by part and read the same, so that both are cut in the same pieces.
    pub(in crate::diff) fn mirrors(self, other: Self) -> bool {
        let (one, other) = (self.plain(), other.plain());
        if one.is_same(other) || one.is_narrower(other) {
            return true;
        }
        match (one.parts(), other.parts()) {
            (Some((any, mine)), Some((some, theirs))) => {
                let mut both = mine.iter().zip(&theirs);
                any == some
                    && mine.len() == theirs.len()
                    && both.all(|(one, other)| one.mirrors(*other))
            }
            _ => false,
        }
    }

    /// Whether both compare the same value with a number, and this one lets less pass.
    fn is_narrower(self, other: Self) -> bool {
        let (Some(mine), Some(theirs)) = (self.limit(), other.limit()) else {
            return false;
        };
        let (limit, bound) = (mine.number, theirs.number);
        let closer = theirs.is_at_it() || !mine.is_at_it();
        mine.of == theirs.of
            && match (mine.compare, theirs.compare) {
                (
                    Some(Compare::AtLeast | Compare::Above),
                    Some(Compare::AtLeast | Compare::Above),
                ) => limit > bound || limit == bound && closer,
                (
                    Some(Compare::AtMost | Compare::Below),
                    Some(Compare::AtMost | Compare::Below),
                ) => limit < bound || limit == bound && closer,
                // What keeps to one side of a number is not that number.
                (Some(Compare::AtLeast), None) => limit > bound,
                (Some(Compare::Above), None) => limit >= bound,
                (Some(Compare::AtMost), None) => limit < bound,
                (Some(Compare::Below), None) => limit <= bound,
                (Some(Compare::Is), None) => limit != bound,
                _ => false,
            }
    }

    /// What is compared with a number.
    fn limit(self) -> Option<Limit<'c>> {
        let ConditionNode::Compare {
            compare,
            left,
            right,
        } = &self.of.node
        else {
            return None;
        };
        let (value, compare, number) = match (&left.node, &right.node) {
            (_, ExpressionNode::Constant(number)) => (left, *compare, number),
            (ExpressionNode::Constant(number), _) => (right, compare.mirrored(), number),
            _ => return None,
        };
        let compare = match (self.truth, compare) {
            (true, compare) => Some(compare),
            (false, Compare::Is) => None,
            (false, compare) => Some(compare.negated()?),
        };
        Some(Limit {
            of: canonical::expression(self.standard, value),
            compare,
            number: &number.exact,
        })
    }
}

/// A comparison with a number.
struct Limit<'c> {
    /// What is compared, in canonical words.
    of: String,
    /// How; `None` where it is not to be that number.
    compare: Option<Compare>,
    number: &'c Exact,
}

impl Limit<'_> {
    fn is_at_it(&self) -> bool {
        matches!(self.compare, Some(Compare::AtLeast | Compare::AtMost))
    }
}
