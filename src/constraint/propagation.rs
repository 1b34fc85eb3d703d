//! What follows at once: limits that must be so narrow the region, and a choice with one way left is no choice.

use super::answer::{Branches, Proof, Reason};
use super::budget::Budget;
use super::formula::{Form, Formula};
use super::oracle::{Oracle, Verdict};
use super::region::Region;
use super::solver::Literal;

/// What a formula comes to in a region, as far as its limits say.
pub(super) enum Status {
    Satisfied,
    Refuted(Proof),
    Undecided,
}

/// A search that has gone as far as it goes without branching.
#[derive(Debug)]
pub(super) struct State<'f, A> {
    /// What is left of the variables.
    pub(super) region: Region,
    /// Choices with at least two ways left.
    pub(super) choices: Vec<&'f Formula<A>>,
    /// Atoms that must be so, or not.
    pub(super) atoms: Vec<Literal<'f, A>>,
    /// Whether all was known.
    pub(super) certain: bool,
}

impl<A> Clone for State<'_, A> {
    fn clone(&self) -> Self {
        Self {
            region: self.region.clone(),
            choices: self.choices.clone(),
            atoms: self.atoms.clone(),
            certain: self.certain,
        }
    }
}

impl<A> State<'_, A> {
    /// Where nothing was said yet.
    pub(super) fn at(region: Region) -> Self {
        Self {
            region,
            choices: Vec::new(),
            atoms: Vec::new(),
            certain: true,
        }
    }
}

/// The ways of a choice.
pub(super) fn ways<A>(choice: &Formula<A>) -> &[Formula<A>]
where
    A: super::Atom,
{
    match choice.form() {
        Form::Any(ways) => ways,
        _ => std::slice::from_ref(choice),
    }
}

/// What a formula comes to, by its limits alone.
pub(super) fn status<O: Oracle>(oracle: &O, region: &Region, formula: &Formula<O::Atom>) -> Status {
    match formula.form() {
        Form::True => Status::Satisfied,
        Form::False => refuted(Proof::of_false(formula)),
        Form::Unknown | Form::Atom { .. } => Status::Undecided,
        Form::In(variable, domain) => {
            let left = region.of(oracle, *variable);
            if left.lies_in(domain) {
                Status::Satisfied
            } else {
                refuted(Proof::of_no_common_value(left, domain))
            }
        }
        Form::All(parts) => {
            let mut all = true;
            for part in parts {
                match status(oracle, region, part) {
                    Status::Refuted(proof) => return Status::Refuted(proof),
                    Status::Satisfied => {}
                    Status::Undecided => all = false,
                }
            }
            if all {
                Status::Satisfied
            } else {
                Status::Undecided
            }
        }
        Form::Any(ways) => {
            let mut branches = Branches::one();
            branches.split(ways.len());
            for way in ways {
                match status(oracle, region, way) {
                    Status::Satisfied => return Status::Satisfied,
                    Status::Refuted(proof) => branches.close(proof),
                    Status::Undecided => branches.leave(Reason::NotKnown),
                }
            }
            refuted(branches.conclude().ok())
        }
    }
}

fn refuted(proof: Option<Proof>) -> Status {
    proof.map_or(Status::Undecided, Status::Refuted)
}

/// Why going on came to an end.
pub(super) enum End {
    Closed(Proof),
    Open(Reason),
}

/// Takes in what must be so, and all that follows from it at once.
pub(super) fn propagate<'f, O: Oracle>(
    oracle: &O,
    state: &mut State<'f, O::Atom>,
    mut todo: Vec<&'f Formula<O::Atom>>,
    budget: &Budget<'_>,
) -> Result<(), End> {
    loop {
        let mut narrowed = !todo.is_empty();
        while let Some(formula) = todo.pop() {
            if !budget.spend(1) {
                return Err(End::Open(Reason::Spent));
            }
            match formula.form() {
                Form::True => {}
                Form::False => return Err(closed(Proof::of_false(formula))),
                Form::Unknown => state.certain = false,
                Form::In(variable, domain) => {
                    let met = state.region.narrow(oracle, *variable, domain);
                    narrowed |= met.map_err(End::Closed)?;
                }
                Form::All(parts) => todo.extend(parts),
                Form::Any(_) => state.choices.push(formula),
                Form::Atom { atom, holds } => {
                    let literal = Literal {
                        atom,
                        holds: *holds,
                    };
                    if !state.atoms.contains(&literal) {
                        state.atoms.push(literal);
                    }
                }
            }
        }
        if !narrowed {
            return Ok(());
        }
        let mut kept = Vec::with_capacity(state.choices.len());
        for choice in std::mem::take(&mut state.choices) {
            if !budget.spend(1) {
                return Err(End::Open(Reason::Spent));
            }
            let mut left = None;
            let mut branches = Branches::one();
            let mut open = 0_usize;
            let mut satisfied = false;
            branches.split(ways(choice).len());
            for way in ways(choice) {
                match status(oracle, &state.region, way) {
                    Status::Satisfied => {
                        satisfied = true;
                        break;
                    }
                    Status::Refuted(proof) => branches.close(proof),
                    Status::Undecided => {
                        open += 1;
                        left = Some(way);
                    }
                }
            }
            match left {
                _ if satisfied => {}
                None => {
                    return Err(match branches.conclude() {
                        Ok(proof) => End::Closed(proof),
                        Err(reason) => End::Open(reason),
                    });
                }
                // All other ways are closed.
                Some(way) if open == 1 => todo.push(way),
                Some(_) => kept.push(choice),
            }
        }
        state.choices = kept;
    }
}

fn closed(proof: Option<Proof>) -> End {
    proof.map_or(End::Open(Reason::NotKnown), End::Closed)
}

/// Whether some atom is never so all over a region.
pub(super) fn excluded<O: Oracle>(
    oracle: &O,
    region: &Region,
    literals: &[Literal<'_, O::Atom>],
    verdicts: &[Verdict],
) -> Result<(), End> {
    for (literal, verdict) in literals.iter().zip(verdicts) {
        if *verdict != Verdict::Never {
            continue;
        }
        let variables = super::formula::Atom::variables(literal.atom);
        let endless = variables
            .iter()
            .any(|variable| region.of(oracle, *variable).is_endless());
        return Err(match Proof::of_never(*verdict, endless) {
            Some(proof) => End::Closed(proof),
            None => End::Open(Reason::Endless),
        });
    }
    Ok(())
}
