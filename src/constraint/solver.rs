//! Whether formulas can be true together.
//!
//! Limits on single variables are met exactly, branch by branch, the choice with the fewest ways
//! first. What is left of atoms is decided by cutting regions. Nothing that is not known helps to
//! rule anything out.

use std::collections::BTreeMap;

use super::answer::{Answer, Branches, Proof, Reason};
use super::branch_and_prune;
use super::budget::Budget;
use super::formula::{Atom, Formula, Variable};
use super::oracle::Oracle;
use super::propagation::{End, State, Status, propagate, status, ways};
use super::region::Region;
use crate::units::Exact;

/// How many choices deep a branch may go.
const MOST_DEPTH: u32 = 400;

/// An atom that must be so, or not.
#[derive(Debug)]
pub(super) struct Literal<'f, A> {
    pub(super) atom: &'f A,
    pub(super) holds: bool,
}

impl<A> Clone for Literal<'_, A> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<A> Copy for Literal<'_, A> {}

impl<A: Atom> PartialEq for Literal<'_, A> {
    fn eq(&self, other: &Self) -> bool {
        self.holds == other.holds && self.atom == other.atom
    }
}

/// Where formulas are all true, before a plan was made of it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Candidate {
    /// What is left of the variables, in the branch that was found.
    pub(crate) region: Region,
    /// Values at which all is true, as far as they are numbers.
    pub(crate) point: BTreeMap<Variable, Exact>,
    /// Whether all was known, so that the point shows something by itself.
    pub(crate) certain: bool,
}

/// Regions in which formulas may be true together.
#[derive(Debug, Clone)]
pub(crate) struct Regions {
    /// As many as were asked for, at most.
    pub(crate) list: Vec<Region>,
    /// Proof that there is none at all.
    pub(crate) none: Option<Proof>,
    /// Why there may be others; `None` when all are listed.
    pub(crate) unlisted: Option<Reason>,
}

/// Answers questions with one oracle.
#[derive(Debug)]
pub(crate) struct Solver<'o, O> {
    oracle: &'o O,
}

impl<'o, O: Oracle> Solver<'o, O> {
    /// With an oracle.
    pub(crate) fn new(oracle: &'o O) -> Self {
        Self { oracle }
    }

    /// Whether all of these can be true together.
    pub(crate) fn together(
        &self,
        formulas: &[&Formula<O::Atom>],
        budget: &Budget<'_>,
    ) -> Answer<Candidate> {
        self.together_within(Region::default(), formulas, budget)
    }

    /// The same, where something was said of the variables already.
    pub(crate) fn together_within(
        &self,
        region: Region,
        formulas: &[&Formula<O::Atom>],
        budget: &Budget<'_>,
    ) -> Answer<Candidate> {
        self.search(State::at(region), formulas.to_vec(), budget, MOST_DEPTH)
    }

    /// Regions in which these may be true together, at most so many. Atoms are not looked into.
    pub(crate) fn regions(
        &self,
        formulas: &[&Formula<O::Atom>],
        most: usize,
        budget: &Budget<'_>,
    ) -> Regions {
        let mut found = Regions {
            list: Vec::new(),
            none: None,
            unlisted: None,
        };
        let state = State::at(Region::default());
        let todo = formulas.to_vec();
        found.none = self.collect(state, todo, (most, &mut found), budget, MOST_DEPTH);
        found
    }

    fn search<'f>(
        &self,
        mut state: State<'f, O::Atom>,
        todo: Vec<&'f Formula<O::Atom>>,
        budget: &Budget<'_>,
        depth: u32,
    ) -> Answer<Candidate> {
        match propagate(self.oracle, &mut state, todo, budget) {
            Err(End::Closed(proof)) => return Answer::Proved(proof),
            Err(End::Open(reason)) => return Answer::Open(reason),
            Ok(()) => {}
        }
        let Some(choice) = self.narrowest(&mut state) else {
            return branch_and_prune::decide(self.oracle, state, budget);
        };
        let Some(depth) = depth.checked_sub(1) else {
            return Answer::Open(Reason::TooDeep);
        };
        let mut branches = Branches::one();
        branches.split(ways(choice).len());
        let mut unsure = None;
        for way in ways(choice) {
            if !budget.spend(1) {
                branches.leave(Reason::Spent);
                break;
            }
            let answer = self.search(state.clone(), vec![way], budget, depth);
            match branches.end(answer) {
                Some(found) if found.certain => return Answer::Witness(found),
                // A better one may come.
                Some(found) => unsure = unsure.or(Some(found)),
                None => {}
            }
        }
        match unsure {
            Some(found) => Answer::Witness(found),
            None => branches.answer(),
        }
    }

    /// Takes out the choice with the fewest ways left.
    fn narrowest<'f>(&self, state: &mut State<'f, O::Atom>) -> Option<&'f Formula<O::Atom>> {
        let open = |choice: &Formula<O::Atom>| {
            let open = |way: &&Formula<O::Atom>| {
                !matches!(status(self.oracle, &state.region, way), Status::Refuted(_))
            };
            ways(choice).iter().filter(open).count()
        };
        let mut best: Option<(usize, usize)> = None;
        for (index, choice) in state.choices.iter().enumerate() {
            let mine = (open(choice), index);
            best = Some(best.map_or(mine, |known| known.min(mine)));
            if mine.0 <= 2 {
                // Fewer ways are none or one, and those are no choices any more.
                break;
            }
        }
        best.map(|(_, index)| state.choices.swap_remove(index))
    }

    /// Lists the regions of a branch; proof where there is none.
    fn collect<'f>(
        &self,
        mut state: State<'f, O::Atom>,
        todo: Vec<&'f Formula<O::Atom>>,
        (most, found): (usize, &mut Regions),
        budget: &Budget<'_>,
        depth: u32,
    ) -> Option<Proof> {
        match propagate(self.oracle, &mut state, todo, budget) {
            Err(End::Closed(proof)) => return Some(proof),
            Err(End::Open(reason)) => {
                found.unlisted = Some(reason);
                return None;
            }
            Ok(()) => {}
        }
        let Some(choice) = self.narrowest(&mut state) else {
            if found.list.len() < most {
                found.list.push(state.region);
            } else {
                found.unlisted = Some(Reason::Spent);
            }
            return None;
        };
        let Some(depth) = depth.checked_sub(1) else {
            found.unlisted = Some(Reason::TooDeep);
            return None;
        };
        let mut branches = Branches::one();
        branches.split(ways(choice).len());
        for way in ways(choice) {
            if found.list.len() >= most || !budget.spend(1) {
                found.unlisted = Some(Reason::Spent);
                break;
            }
            match self.collect(state.clone(), vec![way], (most, found), budget, depth) {
                Some(proof) => branches.close(proof),
                None => branches.leave(Reason::NotKnown),
            }
        }
        branches.conclude().ok()
    }
}

#[cfg(test)]
#[allow(clippy::expect_used)]
mod tests {
    use super::{Answer, Atom, Budget, Candidate, Formula, Reason, Region, Solver, Variable};
    use crate::constraint::{Definition, Domain, End, Oracle, Verdict};
    use crate::units::Exact;

    fn at(value: i64) -> Exact {
        Exact::from_int(value)
    }

    /// The product of two variables is at least so much.
    #[derive(Debug, Clone, PartialEq)]
    struct Product {
        of: [Variable; 2],
        least: Exact,
        /// Whether it can be told at all.
        known: bool,
    }

    impl Atom for Product {
        fn variables(&self) -> &[Variable] {
            &self.of
        }
    }

    struct Table {
        domains: Vec<Domain>,
        definitions: Vec<Definition>,
    }

    impl Table {
        fn new(domains: Vec<Domain>) -> Self {
            Self {
                domains,
                definitions: Vec::new(),
            }
        }
    }

    impl Oracle for Table {
        type Atom = Product;

        fn domain(&self, variable: Variable) -> &Domain {
            &self.domains[variable.0]
        }

        fn is_whole(&self, _: Variable) -> bool {
            false
        }

        fn verdicts(&self, atoms: &[&Product], region: &Region) -> Vec<Verdict> {
            let verdict = |atom: &&Product| {
                if !atom.known {
                    return Verdict::NotKnown;
                }
                let far = at(1_000);
                let ends = atom.of.map(|variable| {
                    let (low, high) = region.of(self, variable).ends();
                    let low = low.map_or(far.neg(), |end| end.value.clone());
                    (low, high.map_or(far.clone(), |end| end.value.clone()))
                });
                let [(a, b), (c, d)] = ends;
                let corners = [a.mul(&c), a.mul(&d), b.mul(&c), b.mul(&d)];
                let above = corners.iter().filter(|corner| **corner >= atom.least);
                match above.count() {
                    4 => Verdict::Always,
                    0 => Verdict::Never,
                    _ => Verdict::Mixed,
                }
            };
            atoms.iter().map(verdict).collect()
        }

        fn definitions(&self) -> &[Definition] {
            &self.definitions
        }

        /// A worked-out variable is twice its first input.
        fn enclosure(&self, definition: &Definition, region: &Region) -> Option<Domain> {
            let (low, high) = region.of(self, definition.inputs[0]).ends();
            let twice = |end: &End| End::closed(end.value.mul(&at(2)));
            Some(Domain::between(low.map(twice), high.map(twice)))
        }
    }

    fn between(low: i64, high: i64) -> Domain {
        Domain::between(Some(End::closed(at(low))), Some(End::closed(at(high))))
    }

    fn product(least: i64) -> Formula<Product> {
        Formula::atom(Product {
            of: [Variable(0), Variable(1)],
            least: at(least),
            known: true,
        })
    }

    fn within(variable: usize, low: i64, high: i64) -> Formula<Product> {
        Formula::variable_in(Variable(variable), between(low, high))
    }

    fn ask(table: &Table, formulas: &[Formula<Product>], units: u64) -> Answer<Candidate> {
        let formulas: Vec<_> = formulas.iter().collect();
        Solver::new(table).together(&formulas, &Budget::of(units))
    }

    /// No point does it, but that shows only where its end is left out.
    fn hard() -> [Formula<Product>; 3] {
        let below = Domain::to(End::open(at(10)));
        let open = Formula::variable_in(Variable(1), below);
        [product(90), within(0, 0, 9), open]
    }

    fn two(domain: &Domain) -> Table {
        Table::new(vec![domain.clone(), domain.clone()])
    }

    #[test]
    fn limits_that_exclude_each_other_are_proof() {
        let table = two(&between(0, 10));
        let clash = [within(0, 0, 2), within(0, 3, 4)];
        assert!(ask(&table, &clash, 100).is_proved());
        let fits = [within(0, 0, 3), within(0, 3, 4)];
        let found = ask(&table, &fits, 100).witness().expect("3 does it");
        assert_eq!(found.point[&Variable(0)], at(3));
        assert!(found.certain);
    }

    #[test]
    fn every_way_of_a_choice_is_tried() {
        let table = two(&between(0, 10));
        let choice = Formula::any([within(0, 0, 1), within(1, 0, 1)]);
        let first = [choice.clone(), within(0, 5, 6)];
        let found = ask(&table, &first, 100).witness().expect("the second way");
        assert!(found.region.get(Variable(1)).is_some());
        let none = [choice, within(0, 5, 6), within(1, 5, 6)];
        assert!(ask(&table, &none, 100).is_proved());
    }

    #[test]
    fn choices_that_hang_together_are_tried_in_all_their_ways() {
        let table = two(&between(0, 20));
        // Either variable has room for one of these at a time.
        let of = |low: i64| Formula::any([within(0, low, low + 1), within(1, low, low + 1)]);
        let found = ask(&table, &[of(0), of(2)], 1_000).witness();
        let found = found.expect("one of them each");
        assert_eq!(found.point.len(), 2);
        assert!(ask(&table, &[of(0), of(2), of(4)], 1_000).is_proved());
        assert!(matches!(
            ask(&table, &[of(0), of(2), of(4)], 8),
            Answer::Open(Reason::Spent)
        ));
    }

    #[test]
    fn a_formula_tells_whether_an_oracle_is_asked_for_a_part_of_it() {
        let plain = Formula::any([within(0, 0, 1), within(1, 0, 1)]);
        assert!(!plain.has_atoms());
        assert!(Formula::all([plain, product(1)]).has_atoms());
    }

    #[test]
    fn the_choice_with_the_fewest_ways_comes_first() {
        let wide = 12;
        let table = Table::new(vec![between(0, 20); wide + 2]);
        let of = |low: i64| Formula::any([within(0, low, low + 1), within(1, low, low + 1)]);
        let mut all = vec![of(0), of(2), of(4)];
        for variable in 2..wide + 2 {
            all.push(Formula::any((0..5).map(|part| {
                Formula::all([within(variable, 4 * part, 4 * part + 1), product(0)])
            })));
        }
        // One wide choice after the other would be 5 ways to the power of 12.
        assert!(ask(&table, &all, 2_000).is_proved());
        all.reverse();
        assert!(ask(&table, &all, 2_000).is_proved());
    }

    #[test]
    fn a_figure_is_decided_by_cutting() {
        let table = two(&between(0, 10));
        assert!(ask(&table, &[product(101)], 10_000).is_proved());
        // The one point that would do it lies at an open end.
        assert!(matches!(ask(&table, &hard(), 10_000), Answer::Open(_)));
        // A corner does it.
        let corner = [product(90), within(0, 0, 9)];
        assert!(ask(&table, &corner, 1_000).witness().is_some());
        let found = ask(&table, &[product(80)], 10_000).witness();
        let found = found.expect("9 times 9 does it");
        assert!(found.point[&Variable(0)].mul(&found.point[&Variable(1)]) >= at(80));
    }

    #[test]
    fn what_has_no_end_is_never_proof() {
        let endless = Domain::from(End::closed(at(0)));
        let table = two(&endless);
        let bounded = two(&between(0, 1_000));
        // More than the product of the ends that stand in for none.
        let question = [product(4_000_000_000_000_000_000)];
        assert!(ask(&bounded, &question, 100_000).is_proved());
        assert!(matches!(ask(&table, &question, 100_000), Answer::Open(_)));
    }

    #[test]
    fn what_is_not_known_is_never_proof() {
        let table = two(&between(0, 10));
        let unknown = Formula::atom(Product {
            of: [Variable(0), Variable(1)],
            least: at(5),
            known: false,
        });
        let choice = Formula::any([unknown.clone(), within(0, 5, 6)]);
        let rest = within(0, 0, 2);
        assert!(matches!(
            ask(&table, &[choice.clone(), rest.clone()], 10_000),
            Answer::Open(_)
        ));
        assert!(matches!(
            ask(&table, &[unknown.negated(), rest.clone()], 10_000),
            Answer::Open(_)
        ));
        // Beside what nobody knows, a place shows nothing by itself.
        let vague = ask(&table, &[Formula::UNKNOWN, rest], 10_000).witness();
        assert!(!vague.expect("the rest can be so").certain);
    }

    #[test]
    fn an_open_way_beside_a_closed_one_stays_open() {
        let table = Table::new(vec![
            Domain::from(End::closed(at(0))),
            Domain::from(End::closed(at(0))),
            between(0, 10),
        ]);
        // One way is excluded; the other rests on values without end.
        let choice = Formula::any([
            Formula::all([within(2, 0, 1), within(0, 0, 1)]),
            Formula::all([within(2, 0, 3), product(4_000_000_000_000_000_000)]),
        ]);
        let answer = ask(&table, &[choice, within(0, 2, 3)], 100_000);
        assert!(matches!(answer, Answer::Open(_)), "{answer:?}");
    }

    #[test]
    fn a_budget_that_ends_is_never_proof() {
        let table = two(&between(0, 10));
        assert_eq!(ask(&table, &hard(), 100), Answer::Open(Reason::Spent));
        let clash = [within(0, 0, 2), within(0, 3, 4)];
        assert_eq!(ask(&table, &clash, 1), Answer::Open(Reason::Spent));
    }

    #[test]
    fn what_is_worked_out_follows_from_its_inputs() {
        let mut table = Table::new(vec![between(0, 10), between(0, 100)]);
        table.definitions.push(Definition {
            variable: Variable(1),
            inputs: vec![Variable(0)],
        });
        let clash = [within(0, 0, 4), within(1, 9, 100)];
        assert!(ask(&table, &clash, 1_000).is_proved());
        let fits = [within(0, 0, 6), within(1, 9, 100)];
        let found = ask(&table, &fits, 10_000).witness().expect("5 does it");
        assert_eq!(
            found.point[&Variable(1)],
            found.point[&Variable(0)].mul(&at(2))
        );
        // What it is worked out from has no end: what was not looked at may do it.
        table.domains[0] = Domain::from(End::closed(at(0)));
        let endless = [within(1, -5, -4)];
        assert!(ask(&table, &endless, 10_000).is_proved());
        let endless = [
            Formula::variable_in(Variable(0), Domain::from(End::closed(at(1)))),
            Formula::variable_in(Variable(1), between(0, 1)),
        ];
        assert!(matches!(ask(&table, &endless, 10_000), Answer::Open(_)));
    }

    #[test]
    fn regions_are_listed_or_it_is_said_that_there_are_more() {
        let table = two(&between(0, 10));
        let solver = Solver::new(&table);
        let ways = Formula::any([
            Formula::all([within(0, 0, 1), within(1, 0, 1)]),
            Formula::all([within(0, 2, 3), within(1, 2, 3)]),
        ]);
        let all = solver.regions(&[&ways], 6, &Budget::of(1_000));
        assert_eq!((all.list.len(), all.unlisted), (2, None));
        assert!(all.none.is_none());
        let some = solver.regions(&[&ways], 1, &Budget::of(1_000));
        assert_eq!((some.list.len(), some.unlisted), (1, Some(Reason::Spent)));
        let clash = within(1, 5, 6);
        let none = solver.regions(&[&ways, &clash], 6, &Budget::of(1_000));
        assert!(none.none.is_some() && none.list.is_empty());
        let spent = solver.regions(&[&ways, &clash], 6, &Budget::of(2));
        assert!(spent.none.is_none() && spent.unlisted.is_some());
    }

    #[test]
    fn what_goes_too_deep_is_open() {
        let many = 2 * usize::try_from(super::MOST_DEPTH).expect("a small number");
        let table = Table::new(vec![between(0, 10); many + 1]);
        let choices: Vec<_> = (0..many)
            .map(|index| Formula::any([within(index, 0, 1), within(index + 1, 2, 3)]))
            .collect();
        let answer = ask(&table, &choices, 10_000_000);
        assert!(!answer.is_proved());
    }
}
