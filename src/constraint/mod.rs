//! One search for all questions about what a run may come to.
//!
//! A condition is lowered to a [`Formula`] over named variables, each with a [`Domain`]; the
//! [`Solver`] says whether formulas can be true together. Its [`Answer`] is *proved* (they cannot,
//! whatever a run states), *witness* (a place where they are, to be written as a plan and checked),
//! or *open*. An open branch is never proof: a [`Proof`] can only be made here, from branches that
//! were all closed. All work is counted in one [`Budget`].
//!
//! Nothing here knows a rule or a report. Those who ask bring what a path means to them (a
//! [`Resolver`]), what an opaque condition comes to over a region (an [`Oracle`]), and how a plan is
//! read back and checked (a [`Judge`]).

mod affine;
mod answer;
mod branch_and_prune;
mod budget;
mod corners;
mod domain;
mod formula;
mod lowering;
mod oracle;
mod propagation;
mod region;
mod resolver;
mod segment;
mod shares;
mod solver;
mod witness;
mod words;

pub(crate) use affine::Affine;
pub(crate) use answer::{Answer, Proof, Reason};
pub(crate) use budget::Budget;
pub(crate) use domain::Domain;
pub(crate) use formula::{Atom, Formula, NoAtom, Variable};
pub(crate) use lowering::{Wanted, lower};
pub(crate) use oracle::{Definition, Oracle, Verdict};
pub(crate) use region::Region;
pub(crate) use resolver::{Combination, Resolved, Resolver};
pub(crate) use segment::{End, Segment};
pub(crate) use shares::{Account, Shares};
pub(crate) use solver::{Candidate, Regions, Solver};
pub(crate) use witness::{Judge, Witness, read_run, written_value};
pub(crate) use words::Words;
