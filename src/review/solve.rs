//! Whether conditions can all be true together.
//!
//! Limits on single settings are met exactly, branch by branch. What is left of figures is decided
//! by cutting the box of settings until every piece is shown to be out, or a point is found in
//! which all is true, or the budget ends. Nothing that is not known helps to rule anything out.

use std::cell::Cell;
use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::cast::{Cast, FAR};
use super::node::{Figure, Node};
use super::set::{End, Set};
use crate::eval::{Aim, Binding, Conditions, EvalContext, ExactInterval, Leaf, Truth, range};
use crate::types::Expression;
use crate::units::Exact;

/// How many boxes are looked at for one question.
const MOST_BOXES: usize = 300;

/// How many branches are gone down for one question.
const MOST_BRANCHES: u32 = 4_000;

/// How many boxes and situations are looked at in one review; beyond, nothing more is claimed.
const MOST_WORK: u64 = 100_000;

/// What was looked at so far in one review.
#[derive(Debug, Default)]
pub(super) struct Work(Cell<u64>);

impl Work {
    /// Counts one more; whether it may still be looked at.
    pub(super) fn may(&self) -> bool {
        let spent = self.0.get();
        self.0.set(spent.saturating_add(1));
        spent < MOST_WORK
    }
}

/// What a question came to.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Answer {
    /// Proved: nothing in the ranges that the settings allow makes all true.
    No,
    /// Something may: what is left of each setting, and a point in it.
    Yes(Found),
    /// Not decided.
    Open,
}

/// Where conditions are all true.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Found {
    /// What is left of the settings, in the branch that was found.
    pub(super) left: Region,
    /// Values at which all is true, as far as they were worked out.
    pub(super) point: BTreeMap<usize, Exact>,
    /// Whether part of a condition was not known, so that the point shows nothing by itself.
    pub(super) vague: bool,
}

/// What is left of each setting that something was said of.
pub(super) type Region = BTreeMap<usize, Set>;

/// A worked-out setting that is read both by itself and by way of what it is worked out from.
#[derive(Debug, Clone)]
pub(super) struct Link<'s> {
    /// The worked-out setting.
    pub(super) var: usize,
    /// How it is worked out.
    pub(super) formula: &'s Expression,
    /// Of which thing.
    pub(super) binding: Binding,
    /// The settings it is worked out from.
    pub(super) inputs: Vec<usize>,
}

/// Answers questions in one situation.
pub(super) struct Solver<'a, 's> {
    context: EvalContext<'a>,
    cast: &'a Cast,
    links: Vec<Link<'s>>,
    branches: Cell<u32>,
    work: &'a Work,
}

impl<'a, 's> Solver<'a, 's> {
    /// For a run that was put into a situation.
    pub(super) fn new(
        context: EvalContext<'a>,
        cast: &'a Cast,
        links: Vec<Link<'s>>,
        work: &'a Work,
    ) -> Self {
        Self {
            context,
            cast,
            links,
            branches: Cell::new(0),
            work,
        }
    }

    /// Whether all of these can be true together.
    pub(super) fn together(&self, nodes: &[&Node<'s>]) -> Answer {
        self.branches.set(MOST_BRANCHES);
        self.search(Region::new(), nodes.to_vec(), false)
    }

    /// What a setting may be, where nothing was said of it.
    pub(super) fn of(&self, left: &Region, var: usize) -> Set {
        left.get(&var)
            .cloned()
            .unwrap_or_else(|| self.cast.vars[var].domain.clone())
    }

    /// Settings with those that are worked out from them, or that they are worked out from.
    pub(super) fn with_links(&self, vars: Vec<usize>) -> BTreeSet<usize> {
        let mut all: BTreeSet<usize> = vars.into_iter().collect();
        for link in &self.links {
            if all.contains(&link.var) || link.inputs.iter().any(|input| all.contains(input)) {
                all.insert(link.var);
                all.extend(&link.inputs);
            }
        }
        all
    }

    fn narrow(&self, left: &mut Region, var: usize, set: &Set) -> bool {
        let met = self.of(left, var).meet(set);
        let met = if self.cast.vars[var].whole {
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

    fn search(&self, mut left: Region, mut todo: Vec<&Node<'s>>, mut vague: bool) -> Answer {
        let (mut choices, mut figures): (Vec<&Node<'s>>, Vec<&Node<'s>>) = (Vec::new(), Vec::new());
        while let Some(node) = todo.pop() {
            match node {
                Node::True => {}
                Node::False => return Answer::No,
                Node::Unknown => vague = true,
                Node::Limit(var, set) => {
                    if !self.narrow(&mut left, *var, set) {
                        return Answer::No;
                    }
                }
                Node::And(list) => todo.extend(list),
                Node::Or(_) => choices.push(node),
                Node::Figure(_) => figures.push(node),
            }
        }
        // A choice that is met already says nothing more.
        choices.retain(|node| {
            !ways(node).iter().any(|way| match way {
                Node::Limit(var, set) => self.of(&left, *var).lies_in(set),
                _ => false,
            })
        });
        if choices.is_empty() {
            let figures: Vec<&Figure<'s>> =
                figures.iter().filter_map(|node| figure(node)).collect();
            return self.boxes(left, &figures, vague);
        }
        let open = |node: &Node<'s>| {
            let open = |way: &&Node<'s>| match way {
                Node::Limit(var, set) => self.of(&left, *var).meet(set).is_some(),
                Node::False => false,
                _ => true,
            };
            ways(node).iter().filter(open).count()
        };
        // The choice with the fewest ways open is made first: one with a single way is no choice.
        let mut best = (usize::MAX, 0);
        for (index, node) in choices.iter().enumerate() {
            best = best.min((open(node), index));
        }
        let choice = choices.swap_remove(best.1);
        let mut undecided = false;
        let mut unsure = None;
        for way in ways(choice) {
            if self.branches.get() == 0 {
                return Answer::Open;
            }
            self.branches.set(self.branches.get() - 1);
            let mut rest: Vec<&Node<'s>> = vec![way];
            rest.extend(choices.iter().chain(&figures));
            match self.search(left.clone(), rest, vague) {
                Answer::No => {}
                Answer::Open => undecided = true,
                Answer::Yes(found) if found.vague => unsure = unsure.or(Some(found)),
                found @ Answer::Yes(_) => return found,
            }
        }
        match unsure {
            Some(found) => Answer::Yes(found),
            None if undecided => Answer::Open,
            None => Answer::No,
        }
    }

    /// The links that bear on a box: the worked-out setting and one of its inputs are spoken of.
    fn links_for<'l>(&'l self, left: &Region, figures: &[&Figure<'s>]) -> Vec<&'l Link<'s>> {
        let spoken =
            |var: &usize| left.contains_key(var) || figures.iter().any(|of| of.vars.contains(var));
        let bears = |link: &&Link<'s>| spoken(&link.var) && link.inputs.iter().any(spoken);
        self.links.iter().filter(bears).collect()
    }

    /// Decides what figures and links leave open.
    fn boxes(&self, left: Region, figures: &[&Figure<'s>], mut vague: bool) -> Answer {
        let links = self.links_for(&left, figures);
        if figures.is_empty() && links.is_empty() {
            let point = self.point(&left, left.keys().copied());
            return Answer::Yes(Found { left, point, vague });
        }
        let mut involved: Vec<usize> = figures.iter().flat_map(|of| of.vars.clone()).collect();
        for link in &links {
            involved.extend(&link.inputs);
        }
        involved.sort_unstable();
        involved.dedup();
        // What is worked out follows from the rest.
        involved.retain(|var| !links.iter().any(|link| link.var == *var));
        let endless = involved.iter().any(|var| {
            let set = self.of(&left, *var);
            let (low, high) = set.ends();
            low.is_none() || high.is_none()
        });
        let mut queue = VecDeque::from([left]);
        let mut open = endless;
        let mut looked = 0;
        while let Some(mut cell) = queue.pop_front() {
            looked += 1;
            if looked > MOST_BOXES || !self.work.may() {
                return Answer::Open;
            }
            if !self.follow(&mut cell, &links) {
                continue;
            }
            match self.truths(&cell, figures, &involved, &links) {
                None => continue,
                Some(unknown) => vague |= unknown,
            }
            if let Some(point) = self.probe(&cell, figures, &involved, &links) {
                return Answer::Yes(Found {
                    left: cell,
                    point,
                    vague,
                });
            }
            if !self.cut(&cell, &involved, &mut queue) {
                open = true;
            }
        }
        if open { Answer::Open } else { Answer::No }
    }

    /// Narrows worked-out settings to what their formulas give. `false` when nothing is left.
    fn follow(&self, cell: &mut Region, links: &[&Link<'s>]) -> bool {
        for link in links {
            let narrowed = self.narrowed(cell, link.inputs.iter().copied());
            let context = EvalContext {
                narrowed: &narrowed,
                ..self.context
            };
            let Ok(found) = range(&context, link.binding, Aim::value(link.formula)) else {
                continue;
            };
            let ends = found.exact.or_else(|| {
                let low = Exact::from_f64(found.bounds.lo);
                low.zip(Exact::from_f64(found.bounds.hi))
            });
            let Some((low, high)) = ends.filter(|_| !found.sampled) else {
                continue;
            };
            let reached = Set::ExactInterval {
                low: Some(End::closed(low)),
                high: Some(End::closed(high)),
            };
            if !self.narrow(cell, link.var, &reached) {
                return false;
            }
        }
        true
    }

    /// `None` when a figure is false all over the box; else whether one is not known at all.
    fn truths(
        &self,
        cell: &Region,
        figures: &[&Figure<'s>],
        involved: &[usize],
        links: &[&Link<'s>],
    ) -> Option<bool> {
        let all = involved
            .iter()
            .copied()
            .chain(links.iter().map(|link| link.var));
        let narrowed = self.narrowed(cell, all);
        let context = EvalContext {
            narrowed: &narrowed,
            ..self.context
        };
        let conditions = Conditions::new(context);
        let mut unknown = false;
        for figure in figures {
            match truth(&conditions, figure) {
                Truth::False => return None,
                Truth::Missing(_) | Truth::CannotWorkOut(_) => unknown = true,
                Truth::True | Truth::Unknown => {}
            }
        }
        Some(unknown)
    }

    /// The box as evaluation takes it.
    fn narrowed(
        &self,
        cell: &Region,
        vars: impl Iterator<Item = usize>,
    ) -> Vec<(Leaf, ExactInterval)> {
        let ends = |var: usize| {
            let set = self.of(cell, var);
            let (low, high) = set.ends();
            let value = |end: Option<&End>, sign: i64| {
                end.map_or_else(|| Exact::from_int(sign * FAR), |end| end.value.clone())
            };
            ExactInterval::new(value(low, -1), value(high, 1))
        };
        vars.map(|var| (self.cast.vars[var].leaf, ends(var)))
            .collect()
    }

    /// A value of each of these settings.
    fn point(&self, cell: &Region, vars: impl Iterator<Item = usize>) -> BTreeMap<usize, Exact> {
        let pick = |var: usize| {
            let picked = self.of(cell, var).pick()?;
            let whole = self.cast.vars[var].whole;
            Some((var, if whole { picked.floor() } else { picked }))
        };
        vars.filter_map(pick).collect()
    }

    /// A point of the box at which all figures are true and all links are kept.
    fn probe(
        &self,
        cell: &Region,
        figures: &[&Figure<'s>],
        involved: &[usize],
        links: &[&Link<'s>],
    ) -> Option<BTreeMap<usize, Exact>> {
        let mut point = self.point(cell, involved.iter().copied().chain(cell.keys().copied()));
        let at = |point: &BTreeMap<usize, Exact>| -> Vec<(Leaf, ExactInterval)> {
            let one = |(var, value): (&usize, &Exact)| {
                let leaf = self.cast.vars[*var].leaf;
                (leaf, ExactInterval::new(value.clone(), value.clone()))
            };
            point.iter().map(one).collect()
        };
        for link in links {
            let narrowed = at(&point);
            let context = EvalContext {
                narrowed: &narrowed,
                ..self.context
            };
            let found = range(&context, link.binding, Aim::value(link.formula)).ok()?;
            let (low, high) = found.exact?;
            let set = self.of(cell, link.var);
            if !set.holds(&low) || !set.holds(&high) {
                return None;
            }
            point.insert(link.var, low);
        }
        let narrowed = at(&point);
        let context = EvalContext {
            narrowed: &narrowed,
            ..self.context
        };
        let conditions = Conditions::new(context);
        figures
            .iter()
            .all(|figure| truth(&conditions, figure) == Truth::True)
            .then_some(point)
    }

    /// Cuts the box at the setting that is widest against its possible range.
    fn cut(&self, cell: &Region, involved: &[usize], queue: &mut VecDeque<Region>) -> bool {
        let width = |var: usize| {
            let set = self.of(cell, var);
            let (low, high) = set.ends();
            let (Some(low), Some(high)) = (low, high) else {
                return f64::INFINITY;
            };
            let size = high.value.sub(&low.value).nearest();
            let scale = Exact::max(&low.value.abs(), &high.value.abs()).nearest();
            if scale > 0.0 { size / scale } else { size }
        };
        let widest = involved
            .iter()
            .copied()
            .max_by(|one, other| width(*one).total_cmp(&width(*other)));
        let Some(var) = widest.filter(|var| width(*var) > 1e-9) else {
            return false;
        };
        let set = self.of(cell, var);
        let (low, high) = set.ends();
        let value = |end: Option<&End>, sign: i64| {
            end.map_or_else(|| Exact::from_int(sign * FAR), |end| end.value.clone())
        };
        let sum = value(low, -1).add(&value(high, 1));
        let Some(middle) = sum
            .div(&Exact::from_int(2))
            .and_then(|middle| Exact::from_f64(middle.nearest()))
        else {
            return false;
        };
        let mut halves = 0;
        for half in [
            Set::to(End::closed(middle.clone())),
            Set::from(End::closed(middle)),
        ] {
            let mut cell = cell.clone();
            if self.narrow(&mut cell, var, &half) {
                queue.push_back(cell);
                halves += 1;
            }
        }
        halves > 0
    }
}

/// The ways of a choice.
fn ways<'n, 's>(node: &'n Node<'s>) -> &'n [Node<'s>] {
    match node {
        Node::Or(list) => list,
        _ => &[],
    }
}

fn figure<'n, 's>(node: &'n Node<'s>) -> Option<&'n Figure<'s>> {
    match node {
        Node::Figure(figure) => Some(figure),
        _ => None,
    }
}

fn truth(conditions: &Conditions<'_>, figure: &Figure<'_>) -> Truth {
    if figure.negated {
        conditions
            .truth_of_when(figure.binding, figure.condition)
            .not()
    } else {
        conditions.truth(figure.binding, figure.condition)
    }
}
