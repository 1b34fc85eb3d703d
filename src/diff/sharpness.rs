//! Whether a check shows of a run all that is so at each of its points.
//!
//! What is proved of clauses is proved point by point; a check works out whole tolerances, and cuts them until each
//! piece agrees. What holds at every point is not shown to hold where two limits on one value only touch inside its
//! tolerance: of `x at least 5 or x below 5` neither part holds for any piece about 5. So a proof counts for texts only
//! where no two parts of which one is enough touch so.
//!
//! What is so behind a dial that reads wrong, or lies anywhere between two values, is not known better by cutting, so that
//! of several parts that rest on it nothing is claimed.
//!
//! Nor is a tolerance cut where something is missing: of `x below 5 or x at least 4 or y at least 3` a plan without `y`
//! is told to state it, though the others hold at every point. So no further part may read what they do not.

use std::cmp::Ordering;
use std::collections::BTreeSet;

use crate::diff::canonical;
use crate::diff::conditions::dependencies::{Closures, Name, name, passed};
use crate::diff::entailment::Asked;
use crate::diff::pairing::clauses::Part;
use crate::types::{
    Arithmetic, Compare, Condition, ConditionNode, Expression, ExpressionNode, Function, Hop, Path,
    Read, Reading, Requirement, Rule, Standard, Type,
};
use crate::units::Exact;

/// Whether a check of a clause shows all that holds at every point of a run; `passes` is the clause of the other side,
/// by which a run passes.
pub(in crate::diff) fn is_sharp(
    (standard, closures, part): (&Standard, &Closures, &Part),
    passes: Option<(&Standard, &Closures, &Part)>,
) -> bool {
    let rule = &standard.rules[part.rule];
    // A table looks for its cell first.
    let plain = |of: &Rule| of.table.is_none();
    let passes = passes.filter(|by| plain(rule) && plain(&by.0.rules[by.2.rule]));
    let of = Sharpness { standard, closures };
    part.requirements
        .iter()
        .filter_map(|number| rule.requirements.get(*number))
        .all(|requirement| {
            let goal = Ways::of(rule, requirement);
            let mut whens = goal.whens.iter();
            // What never applies is told to, wherever all that it asks first is stated.
            whens.any(|(when, truth)| of.constant(when) == Some(*truth))
                || passes.is_some_and(|by| of.is_mirrored(&goal, by))
                || passes.is_some_and(|by| of.passes_with(&goal, by))
                || !of.rests_on_unknown(&goal) && of.one_of(&goal.all()) && !of.is_lost(&goal)
        })
}

/// The ways in which a requirement passes, of which one is enough.
struct Ways<'g> {
    /// A part of `when` is false,
    whens: Vec<(&'g Condition, bool)>,
    /// it holds,
    holds: (&'g Condition, bool),
    /// or a `may` does.
    permissions: Vec<(&'g Condition, bool)>,
}

impl<'g> Ways<'g> {
    fn of(rule: &'g Rule, requirement: &'g Requirement) -> Self {
        let whens = rule.when.iter().chain(&requirement.when);
        Self {
            whens: whens.map(|when| (when, false)).collect(),
            holds: (&requirement.condition, true),
            permissions: rule.permissions.iter().map(|of| (of, true)).collect(),
        }
    }

    fn all(&self) -> Vec<(&'g Condition, bool)> {
        let mut all = self.whens.clone();
        all.push(self.holds);
        all.extend(&self.permissions);
        all
    }
}

/// One comparison.
struct Test {
    /// The values with tolerances that it rests on.
    values: BTreeSet<Name>,
    /// Its numbers.
    numbers: BTreeSet<Exact>,
    /// Whether it asks for one value only.
    equal: bool,
    /// What it limits by a number, where that goes without a jump as the values go.
    limit: Option<Limit>,
}

/// A limit by a number.
struct Limit {
    /// What is limited, in canonical words.
    of: String,
    /// Whether it holds above the number.
    up: bool,
    number: Exact,
    /// Whether it holds at the number.
    closed: bool,
    /// Whether it speaks of whole numbers, between two of which is no gap at any of them.
    whole: bool,
}

/// How the points at which one of two limits holds lie together.
#[derive(PartialEq, Eq)]
enum Joined {
    /// One holds wherever either does, or there is a gap between them: one that holds at every point of a tolerance
    /// holds alone.
    Never,
    /// They have a point in common at their ends, and no other.
    AtAPoint,
    /// They overlap, or nothing is known.
    Wide,
}

impl Test {
    fn joined(&self, other: &Self) -> Joined {
        let (Some(one), Some(other)) = (&self.limit, &other.limit) else {
            return Joined::Wide;
        };
        if one.of != other.of {
            return Joined::Wide;
        }
        let (above, below) = match (one.up, other.up) {
            (true, false) => (one, other),
            (false, true) => (other, one),
            _ => return Joined::Never,
        };
        let gap = above.number.sub(&below.number);
        if one.whole && gap > Exact::ZERO && gap <= Exact::ONE {
            return Joined::AtAPoint;
        }
        match above.number.cmp(&below.number) {
            Ordering::Less => Joined::Wide,
            Ordering::Greater => Joined::Never,
            Ordering::Equal if above.closed || below.closed => Joined::AtAPoint,
            Ordering::Equal => Joined::Never,
        }
    }

    /// Whether two may meet at a single value: one asks for a single one, both have the same limit, or a limit is no
    /// number.
    fn touches(&self, other: &Self) -> bool {
        match self.joined(other) {
            Joined::Never => return false,
            Joined::AtAPoint => return true,
            Joined::Wide => {}
        }
        let plain = !self.numbers.is_empty() && !other.numbers.is_empty();
        let limits = !plain || !self.numbers.is_disjoint(&other.numbers);
        !self.values.is_disjoint(&other.values) && (self.equal || other.equal || limits)
    }

    /// Whether both may hold at every point of a tolerance together, and neither for all of it.
    fn meets(&self, other: &Self) -> bool {
        self.joined(other) != Joined::Never && !self.values.is_disjoint(&other.values)
    }
}

struct Sharpness<'s> {
    standard: &'s Standard,
    closures: &'s Closures,
}

impl Sharpness<'_> {
    /// Whether a requirement rests on what is so behind a dial that reads wrong, or on what lies anywhere between two values.
    fn rests_on_unknown(&self, goal: &Ways<'_>) -> bool {
        let read: BTreeSet<Name> = goal.all().iter().flat_map(|of| self.reads(of.0)).collect();
        let mut dials = self.standard.calibrated.iter();
        let spans = |of: &Name| {
            let kind = self.standard.kind_names.get(&of.0)?;
            let field = self.standard.kind(*kind).field_names.get(&of.1)?;
            let formula = self.standard.field(*kind, *field).formula.as_ref()?;
            Some(lies_between(formula))
        };
        dials.any(|dial| read.contains(&name(self.standard, *dial)))
            || read.iter().any(|of| spans(of) == Some(true))
            || goal.all().iter().any(|of| {
                let mut found = false;
                of.0.visit_expressions(&mut |number| found |= lies_between(number));
                found
            })
    }

    /// Whether it is shown that one of these is so, wherever at every point one is.
    fn one_of(&self, list: &[(&Condition, bool)]) -> bool {
        let tests = self.all_tests(list);
        let touch = pairs(&tests).any(|(one, other)| {
            let mut all = one.iter();
            all.any(|one| other.iter().any(|other| one.touches(other)))
        });
        !touch && list.iter().all(|(of, truth)| self.shown(of, *truth))
    }

    /// Whether what passes on the other side by one way for the whole of a tolerance passes here by one too: each way of
    /// that side shows one of this, and no two of them are so only together.
    fn passes_with(
        &self,
        goal: &Ways<'_>,
        (standard, closures, part): (&Standard, &Closures, &Part),
    ) -> bool {
        let other = Sharpness { standard, closures };
        let rule = &standard.rules[part.rule];
        let mut requirements = part.requirements.iter();
        requirements.all(|number| {
            let Some(requirement) = rule.requirements.get(*number) else {
                return false;
            };
            let by = Ways::of(rule, requirement);
            let shows = |way: &(&Condition, bool), list: &[(&Condition, bool)]| {
                let never = other.constant(way.0).is_some_and(|truth| truth != way.1);
                never
                    || list
                        .iter()
                        .any(|of| other.asked(way).entails(self.asked(of)))
            };
            // Nothing is cut, so that only what is missing inside a condition can get in the way.
            let lost = goal.all().iter().any(|of| self.loses(of.0, of.1));
            !lost
                && !other.are_cut(&by.all())
                && by.whens.iter().all(|way| shows(way, &goal.whens))
                && shows(&by.holds, &[goal.holds])
                && by
                    .permissions
                    .iter()
                    .all(|way| shows(way, &goal.permissions))
        })
    }

    /// Whether the other side asks the same part by part, with limits that let no more pass: every piece of a tolerance
    /// that passes there passes here.
    fn is_mirrored(
        &self,
        goal: &Ways<'_>,
        (standard, closures, part): (&Standard, &Closures, &Part),
    ) -> bool {
        let other = Sharpness { standard, closures };
        let [number] = part.requirements.as_slice() else {
            return false;
        };
        let rule = &standard.rules[part.rule];
        let Some(requirement) = rule.requirements.get(*number) else {
            return false;
        };
        let by = Ways::of(rule, requirement);
        let mirror = |mine: &[(&Condition, bool)], theirs: &[(&Condition, bool)]| {
            let mut both = mine.iter().zip(theirs);
            mine.len() == theirs.len()
                && both.all(|(of, way)| other.asked(way).mirrors(self.asked(of)))
        };
        // A single comparison behind a certain `when` is not cut.
        let cut = goal.holds.0.is_joined() || !goal.permissions.is_empty();
        cut && mirror(&goal.whens, &by.whens)
            && mirror(&[goal.holds], &[by.holds])
            && mirror(&goal.permissions, &by.permissions)
    }

    fn asked<'c>(&'c self, (of, truth): &(&'c Condition, bool)) -> Asked<'c> {
        Asked {
            standard: self.standard,
            of,
            truth: *truth,
        }
    }

    /// Whether a path leads straight to what is stated, and neither worked out nor read off.
    fn is_plainly_stated(&self, path: &Path) -> bool {
        let [Hop::Field(kind, field)] = path.hops.as_slice() else {
            return false;
        };
        let of = self.standard.field(*kind, *field);
        of.formula.is_none() && of.reference.is_none() && of.measured().is_none()
    }

    /// Whether a comparison is true, or false, wherever what it reads is stated, and shown to be: a setting that is
    /// stated is what it is, and lies in what is possible with all of its tolerance.
    fn constant(&self, of: &Condition) -> Option<bool> {
        let ConditionNode::Compare {
            compare,
            left,
            right,
        } = &of.node
        else {
            return None;
        };
        if let (ExpressionNode::Call(function, values), ExpressionNode::Constant(limit)) =
            (&left.node, &right.node)
        {
            // Of what is only sampled nothing is shown.
            let stated = |of: &Expression| match &of.node {
                ExpressionNode::Constant(_) => true,
                ExpressionNode::Path(path) => self.is_plainly_stated(path),
                _ => false,
            };
            return bounded(*function, values, *compare, &limit.exact)
                .filter(|_| values.iter().all(stated));
        }
        let ExpressionNode::Path(path) = &left.node else {
            return None;
        };
        let [Hop::Field(kind, field)] = path.hops.as_slice() else {
            return None;
        };
        if !self.is_plainly_stated(path) {
            return None;
        }
        let of = self.standard.field(*kind, *field);
        let text = |of: &Expression| canonical::expression(self.standard, of);
        let first = match &right.node {
            ExpressionNode::Call(Function::Otherwise, values) => values.first().unwrap_or(right),
            _ => right,
        };
        if text(left) == text(first) {
            return Some(matches!(
                compare,
                Compare::AtLeast | Compare::AtMost | Compare::Is
            ));
        }
        let ExpressionNode::Constant(limit) = &right.node else {
            return None;
        };
        let possible = of.possible.as_ref()?;
        // A share that is left out is nothing, whatever is possible.
        let mut wholes = self.standard.kind(*kind).parts.iter();
        let share = wholes.any(|whole| whole.fields.contains(field));
        let low = possible.low.as_ref().map(|low| match share {
            true => Exact::min(low, &Exact::ZERO).cmp(&limit.exact),
            false => low.cmp(&limit.exact),
        });
        let high = possible.high.as_ref().map(|high| high.cmp(&limit.exact));
        let (above, below) = (Ordering::Greater, Ordering::Less);
        let at_or = |of: Option<Ordering>, way: Ordering| {
            of.is_some_and(|of| of == way || of == Ordering::Equal)
        };
        match compare {
            Compare::AtLeast if at_or(low, above) => Some(true),
            Compare::AtLeast if high == Some(below) => Some(false),
            Compare::AtMost if at_or(high, below) => Some(true),
            Compare::AtMost if low == Some(above) => Some(false),
            Compare::Above if low == Some(above) => Some(true),
            Compare::Above if at_or(high, below) => Some(false),
            Compare::Below if high == Some(below) => Some(true),
            Compare::Below if at_or(low, above) => Some(false),
            Compare::Is if low == Some(above) || high == Some(below) => Some(false),
            _ => None,
        }
    }

    /// Whether some of the ways of a requirement may be so together only where a tolerance is cut, while another reads
    /// what they do not: nothing is cut where that is missing. Beside a missing `when` only another `when` lets pass, and
    /// the same beside what is required.
    fn is_lost(&self, goal: &Ways<'_>) -> bool {
        let lost = |lone: &(&Condition, bool), rest: &[(&Condition, bool)]| {
            self.are_cut(rest) && self.reads_besides(lone, rest)
        };
        let nested = |of: &(&Condition, bool)| self.loses(of.0, of.1);
        let mut whens = goal.whens.iter().enumerate();
        let mut permissions = goal.permissions.iter().enumerate();
        whens.any(|(at, lone)| lost(lone, &all_but(&goal.whens, at)))
            || lost(&goal.holds, &goal.whens)
            || permissions.any(|(at, lone)| {
                let mut rest = goal.whens.clone();
                rest.push(goal.holds);
                rest.extend(all_but(&goal.permissions, at));
                lost(lone, &rest)
            })
            || goal.all().iter().any(nested)
    }

    /// The same of the parts of a condition of which one is enough.
    fn loses(&self, of: &Condition, truth: bool) -> bool {
        match (&of.node, truth) {
            (ConditionNode::Not(inner), _) => self.loses(inner, !truth),
            (ConditionNode::Or(list), true) | (ConditionNode::And(list), false) => {
                let list: Vec<(&Condition, bool)> = list.iter().map(|of| (of, truth)).collect();
                list.iter().any(|of| self.loses(of.0, of.1))
                    || (0..list.len()).any(|lone| {
                        let others = (0..list.len()).filter(|at| *at != lone);
                        let rest: Vec<_> = others.map(|at| list[at]).collect();
                        self.are_cut(&rest) && self.reads_besides(&list[lone], &rest)
                    })
            }
            _ => of.children().iter().any(|part| self.loses(part, truth)),
        }
    }

    fn reads_besides(&self, lone: &(&Condition, bool), rest: &[(&Condition, bool)]) -> bool {
        let known: BTreeSet<Name> = rest.iter().flat_map(|of| self.reads(of.0)).collect();
        !self.reads(lone.0).is_subset(&known)
    }

    /// Whether some of these may be so at every point of a tolerance together, and none for all of it.
    fn are_cut(&self, list: &[(&Condition, bool)]) -> bool {
        let tests = self.all_tests(list);
        list.iter().any(|(of, truth)| self.is_cut(of, *truth))
            || pairs(&tests).any(|(one, other)| {
                let mut all = one.iter();
                all.any(|one| other.iter().any(|other| one.meets(other)))
            })
    }

    fn all_tests(&self, list: &[(&Condition, bool)]) -> Vec<Vec<Test>> {
        let list = list.iter();
        list.map(|(of, truth)| self.tests(of, *truth)).collect()
    }

    /// Whether a condition may be so at every point of a tolerance and only be shown by cutting it.
    fn is_cut(&self, of: &Condition, truth: bool) -> bool {
        match (&of.node, truth) {
            (ConditionNode::Not(inner), _) => self.is_cut(inner, !truth),
            (ConditionNode::And(list), true) | (ConditionNode::Or(list), false) => {
                list.iter().any(|part| self.is_cut(part, truth))
            }
            (ConditionNode::Or(list), true) | (ConditionNode::And(list), false) => {
                let list: Vec<(&Condition, bool)> = list.iter().map(|of| (of, truth)).collect();
                self.are_cut(&list)
            }
            _ => false,
        }
    }

    /// All that a condition reads, in the end.
    fn reads(&self, of: &Condition) -> BTreeSet<Name> {
        let mut found = BTreeSet::new();
        for setting in of.paths().into_iter().flat_map(passed) {
            let own = name(self.standard, setting);
            found.extend(self.closures.of(&own).cloned());
            found.insert(own);
        }
        // Which record something is, is read by the kind.
        for path in of.paths() {
            if path.hops.is_empty() {
                let (_, key) = crate::diff::conditions::paths::root_key(self.standard, path.root);
                found.insert((key, String::new()));
            }
        }
        found
    }

    /// The comparisons in a condition that is to be true, or false.
    fn tests(&self, of: &Condition, truth: bool) -> Vec<Test> {
        if let ConditionNode::Not(inner) = &of.node {
            return self.tests(inner, !truth);
        }
        if of.is_joined() {
            let parts = of.children().iter();
            return parts.flat_map(|part| self.tests(part, truth)).collect();
        }
        if self.constant(of).is_some() {
            return Vec::new();
        }
        let mut values = BTreeSet::new();
        of.reads(&mut |read: Read<'_>| self.add(read, &mut values));
        let mut numbers = BTreeSet::new();
        of.visit_expressions(&mut |of| {
            if let ExpressionNode::Constant(constant) = &of.node {
                numbers.insert(constant.exact.clone());
            }
        });
        let (mut equal, mut limit) = (false, None);
        if let ConditionNode::Compare {
            left,
            compare,
            right,
        } = &of.node
        {
            equal = *compare == Compare::Is;
            let (left, times) = plainer(left);
            if let (true, false, ExpressionNode::Constant(constant)) =
                (goes_without_jump(left), equal, &right.node)
                && let Some(number) = constant.exact.div(&times)
            {
                let up = matches!(compare, Compare::AtLeast | Compare::Above);
                let closed = matches!(compare, Compare::AtLeast | Compare::AtMost);
                limit = Some(Limit {
                    of: canonical::expression(self.standard, left),
                    up: up == truth,
                    number,
                    closed: closed == truth,
                    whole: self.is_whole(left),
                });
            }
        }
        vec![Test {
            values,
            numbers,
            equal,
            limit,
        }]
    }

    /// Whether an expression rests on what is counted.
    fn is_whole(&self, of: &Expression) -> bool {
        let mut whole = false;
        of.reads(&mut |read: Read<'_>| {
            for setting in read.path().into_iter().flat_map(passed) {
                let field = self.standard.field(setting.0, setting.1);
                whole |= matches!(&field.ty, Type::Quantity(measure)
                    if matches!(measure.reading, Reading::Count(_)));
            }
        });
        whole
    }

    /// Whether it is shown that a condition is true, or false, wherever it is so at every point.
    fn shown(&self, of: &Condition, truth: bool) -> bool {
        match (&of.node, truth) {
            (ConditionNode::Not(inner), _) => self.shown(inner, !truth),
            (ConditionNode::And(list), true) | (ConditionNode::Or(list), false) => {
                list.iter().all(|part| self.shown(part, truth))
            }
            (ConditionNode::Or(list), true) | (ConditionNode::And(list), false) => {
                let all: Vec<(&Condition, bool)> = list.iter().map(|of| (of, truth)).collect();
                self.one_of(&all)
            }
            // What cancels is nothing at every point, and over a tolerance it is not shown to be.
            (ConditionNode::Compare { left, right, .. }, _) => {
                self.constant(of) == Some(truth)
                    || !self.share(left, right) && !self.cancels(left) && !self.cancels(right)
            }
            _ => true,
        }
    }

    /// Whether two expressions rest on the same value.
    fn share(&self, one: &Expression, other: &Expression) -> bool {
        let values = |of: &Expression| {
            let mut found = BTreeSet::new();
            of.reads(&mut |read: Read<'_>| self.add(read, &mut found));
            found
        };
        !values(one).is_disjoint(&values(other))
    }

    /// Whether a value is taken away from, or divided by, something that rests on the same.
    fn cancels(&self, of: &Expression) -> bool {
        let here = match &of.node {
            ExpressionNode::Binary {
                operator: Arithmetic::Subtract | Arithmetic::Divide,
                left,
                right,
            } => self.share(left, right),
            _ => false,
        };
        here || of.children().any(|part| self.cancels(part))
    }

    fn add(&self, read: Read<'_>, found: &mut BTreeSet<Name>) {
        let Read::Value(path) = read else { return };
        for setting in passed(path) {
            let of = self.standard.field(setting.0, setting.1);
            if !matches!(of.ty, Type::Quantity(_)) {
                continue;
            }
            let own = name(self.standard, setting);
            // A figure that a plan states is one value; one that is worked out, those it rests on.
            found.extend(self.closures.of(&own).cloned());
            found.insert(own);
        }
    }
}

/// A value that a comparison with a number is about, and how many times it is taken: that which is stated where
/// `otherwise` passes over what is not, as beside any other comparison of it, and the least or most of one value alone.
fn plainer(of: &Expression) -> (&Expression, Exact) {
    let number = |of: &Expression| match &of.node {
        ExpressionNode::Constant(number) if number.exact > Exact::ZERO => {
            Some(number.exact.clone())
        }
        _ => None,
    };
    match &of.node {
        ExpressionNode::Call(Function::Otherwise, values) => match values.as_slice() {
            [first, rest] if number(rest).is_some() => plainer(first),
            _ => (of, Exact::ONE),
        },
        ExpressionNode::Binary {
            operator: Arithmetic::Multiply,
            left,
            right,
        } => match (number(left), number(right)) {
            (None, Some(by)) => {
                let (inner, times) = plainer(left);
                (inner, times.mul(&by))
            }
            (Some(by), None) => {
                let (inner, times) = plainer(right);
                (inner, times.mul(&by))
            }
            _ => (of, Exact::ONE),
        },
        _ => (of, Exact::ONE),
    }
}

/// What a comparison of the most, or least, of several values comes to by the number among them alone.
fn bounded(
    function: Function,
    values: &[Expression],
    compare: Compare,
    limit: &Exact,
) -> Option<bool> {
    let numbers = values.iter().filter_map(|of| match &of.node {
        ExpressionNode::Constant(number) => Some(&number.exact),
        _ => None,
    });
    match (function, compare) {
        (Function::Most, _) => {
            let least = numbers.max()?;
            match compare {
                Compare::AtLeast if least >= limit => Some(true),
                Compare::Above if least > limit => Some(true),
                Compare::Below if least >= limit => Some(false),
                Compare::AtMost | Compare::Is if least > limit => Some(false),
                _ => None,
            }
        }
        (Function::Least, _) => {
            let most = numbers.min()?;
            match compare {
                Compare::AtMost if most <= limit => Some(true),
                Compare::Below if most < limit => Some(true),
                Compare::Above if most <= limit => Some(false),
                Compare::AtLeast | Compare::Is if most < limit => Some(false),
                _ => None,
            }
        }
        _ => None,
    }
}

/// Whether a number moves without a jump as what it rests on does, wherever it has a value.
fn goes_without_jump(of: &Expression) -> bool {
    let plain = match &of.node {
        ExpressionNode::Constant(_)
        | ExpressionNode::Path(_)
        | ExpressionNode::Negative(_)
        | ExpressionNode::Binary { .. } => true,
        ExpressionNode::Power(_, power) => *power > 0,
        ExpressionNode::Call(function, _) => {
            matches!(function, Function::Least | Function::Most | Function::Root)
        }
        _ => false,
    };
    plain && of.children().all(goes_without_jump)
}

/// Whether a number lies somewhere between two values, or rests on one that does.
fn lies_between(of: &Expression) -> bool {
    of.any(&mut |part| matches!(part.node, ExpressionNode::Call(Function::Between, _)))
}

/// All of these but one.
fn all_but<'g>(list: &[(&'g Condition, bool)], at: usize) -> Vec<(&'g Condition, bool)> {
    let others = list.iter().enumerate().filter(|(other, _)| *other != at);
    others.map(|(_, of)| *of).collect()
}

/// Each two of these.
fn pairs<T>(list: &[T]) -> impl Iterator<Item = (&T, &T)> {
    let numbered = list.iter().enumerate();
    numbered.flat_map(move |(at, one)| list.iter().skip(at + 1).map(move |other| (one, other)))
}
