//! Decides atoms by cutting regions until every piece is excluded, or a point is found, or the budget ends.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::answer::{Answer, Branches, Reason};
use super::budget::Budget;
use super::corners::{CORNERS, Corner, point};
use super::domain::Domain;
use super::formula::{Atom, Variable};
use super::oracle::{Definition, Oracle, Verdict};
use super::propagation::{End, State, excluded};
use super::region::Region;
use super::segment::End as SegmentEnd;
use super::solver::{Candidate, Literal};
use super::words::Words;
use crate::units::Exact;

/// Ends that stand in for none when a region is cut; nothing is proved by them.
const FAR: i64 = 1_000_000_000;

/// A piece whose widest value is narrower than this, against its size, is not cut further.
const FINEST: f64 = 1e-9;

/// The atoms and definitions that bear on a region, and what is cut.
struct Prune<'p, O: Oracle> {
    oracle: &'p O,
    atoms: Vec<&'p O::Atom>,
    literals: &'p [Literal<'p, O::Atom>],
    definitions: Vec<&'p Definition>,
    /// What is cut: what is worked out follows from the rest.
    cut: Vec<Variable>,
}

/// Decides what the limits of a branch leave open.
pub(super) fn decide<O: Oracle>(
    oracle: &O,
    state: State<'_, O::Atom>,
    budget: &Budget<'_>,
) -> Answer<Candidate> {
    let prune = Prune::new(oracle, &state);
    if prune.atoms.is_empty() && prune.definitions.is_empty() {
        let known = state.region.iter().map(|(variable, _)| variable);
        let point = point(oracle, &state.region, known, Corner::Middle);
        return Answer::Witness(Candidate {
            region: state.region,
            point,
            certain: state.certain,
        });
    }
    let price = oracle.price(&prune.atoms);
    let mut branches = Branches::one();
    let mut queue = VecDeque::from([state.region.clone()]);
    let mut done = oracle.work();
    while let Some(mut piece) = queue.pop_front() {
        let before = done;
        done = oracle.work();
        if !budget.spend(price.saturating_add(done.saturating_sub(before))) {
            branches.leave(Reason::Spent);
            break;
        }
        match prune.look(&mut piece) {
            Err(End::Closed(proof)) => {
                branches.close(proof);
                continue;
            }
            Err(End::Open(reason)) => branches.leave(reason),
            Ok(()) => {
                if let Some(point) = prune.probe(&piece) {
                    return Answer::Witness(Candidate {
                        region: piece,
                        point,
                        certain: state.certain,
                    });
                }
            }
        }
        match prune.cut_up(&piece) {
            Some(parts) => {
                branches.split(parts.len());
                queue.extend(parts);
            }
            None => branches.leave(Reason::TooFine),
        }
    }
    branches.answer()
}

impl<'p, O: Oracle> Prune<'p, O> {
    fn new(oracle: &'p O, state: &'p State<'p, O::Atom>) -> Self {
        let atoms: Vec<&O::Atom> = state.atoms.iter().map(|literal| literal.atom).collect();
        let spoken = |variable: &Variable| {
            state.region.get(*variable).is_some()
                || atoms.iter().any(|atom| atom.variables().contains(variable))
        };
        let bears = |of: &&Definition| spoken(&of.variable) && of.inputs.iter().any(spoken);
        let definitions: Vec<&Definition> = oracle.definitions().iter().filter(bears).collect();
        let of_atoms = atoms.iter().flat_map(|atom| atom.variables());
        let of_definitions = definitions.iter().flat_map(|of| &of.inputs);
        let mut cut: BTreeSet<Variable> = of_atoms.chain(of_definitions).copied().collect();
        for definition in &definitions {
            cut.remove(&definition.variable);
        }
        Self {
            oracle,
            atoms,
            literals: &state.atoms,
            definitions,
            cut: cut.into_iter().collect(),
        }
    }

    /// Narrows a piece by what is worked out, and asks for its atoms.
    fn look(&self, piece: &mut Region) -> Result<(), End> {
        let mut endless = false;
        for definition in &self.definitions {
            let Some(enclosure) = self.oracle.enclosure(definition, piece) else {
                continue;
            };
            let inputs = &mut definition.inputs.iter();
            endless |= inputs.any(|input| piece.of(self.oracle, *input).is_endless());
            if let Err(proof) = piece.narrow(self.oracle, definition.variable, &enclosure) {
                // The enclosure of what has no end holds only as far as it was taken.
                return Err(if endless {
                    End::Open(Reason::Endless)
                } else {
                    End::Closed(proof)
                });
            }
        }
        let verdicts = self.verdicts(piece);
        excluded(self.oracle, piece, self.literals, &verdicts)
    }

    /// What the literals come to over a region.
    fn verdicts(&self, region: &Region) -> Vec<Verdict> {
        if self.atoms.is_empty() {
            return Vec::new();
        }
        let verdicts = self.oracle.verdicts(&self.atoms, region);
        let of_literal = |(literal, verdict): (&Literal<'_, O::Atom>, Verdict)| {
            if literal.holds {
                verdict
            } else {
                verdict.negated()
            }
        };
        self.literals.iter().zip(verdicts).map(of_literal).collect()
    }

    /// A point of a piece at which all atoms are so and all definitions are kept.
    fn probe(&self, piece: &Region) -> Option<BTreeMap<Variable, Exact>> {
        CORNERS
            .iter()
            .find_map(|corner| self.probe_at(piece, *corner))
    }

    fn probe_at(&self, piece: &Region, corner: Corner) -> Option<BTreeMap<Variable, Exact>> {
        let spoken = piece.iter().map(|(variable, _)| variable);
        let variables = self.cut.iter().copied().chain(spoken);
        let mut point = point(self.oracle, piece, variables, corner);
        for definition in &self.definitions {
            let at = piece.at(&point);
            let value = self.oracle.enclosure(definition, &at)?;
            if !value.lies_in(piece.of(self.oracle, definition.variable)) {
                return None;
            }
            point.insert(definition.variable, value.pick()?);
        }
        let verdicts = self.verdicts(&piece.at(&point));
        let so = |verdict: &Verdict| *verdict == Verdict::Always;
        verdicts.iter().all(so).then_some(point)
    }

    /// Smaller pieces that together are all of a piece; `None` where it is too small to cut.
    fn cut_up(&self, piece: &Region) -> Option<Vec<Region>> {
        let parted = self.cut.iter().find_map(|variable| {
            let apart = apart(piece.of(self.oracle, *variable))?;
            Some((*variable, vec![apart.clone(), apart.complement()]))
        });
        let (variable, parts) = parted.or_else(|| self.halves(piece))?;
        let part = |part: &Domain| {
            let mut piece = piece.clone();
            // What has nothing of the piece is no part of it.
            piece.narrow(self.oracle, variable, part).ok()?;
            Some(piece)
        };
        let parts: Vec<Region> = parts.iter().filter_map(part).collect();
        // An end that did not move would be cut for ever.
        let whole = piece.of(self.oracle, variable);
        let smaller = |part: &Region| part.of(self.oracle, variable) != whole;
        parts.iter().all(smaller).then_some(parts)
    }

    /// The variable that is widest against its size, and the halves of its numbers.
    fn halves(&self, piece: &Region) -> Option<(Variable, Vec<Domain>)> {
        let far = |end: Option<&SegmentEnd>, sign: i64| {
            end.map_or_else(|| Exact::from_int(sign * FAR), |end| end.value.clone())
        };
        let width = |variable: Variable| {
            let (low, high) = piece.of(self.oracle, variable).ends();
            let (Some(low), Some(high)) = (low, high) else {
                return f64::INFINITY;
            };
            let size = high.value.sub(&low.value).nearest();
            let scale = Exact::max(&low.value.abs(), &high.value.abs()).nearest();
            if scale > 0.0 { size / scale } else { size }
        };
        let numbers = |variable: &Variable| {
            let domain = piece.of(self.oracle, *variable);
            !domain.segments().is_empty()
        };
        let cut = self.cut.iter().copied().filter(numbers);
        let widest = cut.max_by(|one, other| width(*one).total_cmp(&width(*other)))?;
        if width(widest) <= FINEST {
            return None;
        }
        let (low, high) = piece.of(self.oracle, widest).ends();
        let sum = far(low, -1).add(&far(high, 1));
        let middle = sum.div(&Exact::from_int(2))?;
        let middle = Exact::from_f64(middle.nearest())?;
        let below = Domain::to(SegmentEnd::closed(middle.clone()));
        let above = Domain::from(SegmentEnd::open(middle));
        // What is no number stays with the lower half, so that the two are all of the piece.
        let below = below.union(&Domain::numbers().complement());
        Some((widest, vec![below, above]))
    }
}

/// What is looked at by itself before numbers are cut: *not stated*, and one word after the other.
fn apart(domain: &Domain) -> Option<Domain> {
    let apart = if domain.may_be_missing() {
        Domain::NOT_STATED
    } else {
        let first = *domain.of_words().listed()?.first()?;
        Domain::words(Words::of([first]))
    };
    (!domain.lies_in(&apart)).then_some(apart)
}
