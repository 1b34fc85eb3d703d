//! What figures come to over a region of the free settings.

use super::resolver::Figure;
use super::symbolic_run::{FAR, SymbolicRun};
use crate::constraint::{Atom, Definition, Domain, End, Oracle, Region, Variable, Verdict};
use crate::eval::{
    Aim, Binding, Conditions, EvalContext, ExactInterval, FigureCache, Leaf, Truth, range,
};
use crate::types::Expression;
use crate::units::Exact;

/// What it takes to look at one region, in units of the budget.
const PRICE: u64 = 40;

/// What it takes to work out one figure over it.
const PRICE_OF_ONE: u64 = 12;

/// How many operations on intervals are one unit of the budget.
const OPERATIONS: u64 = 8;

/// How a worked-out setting is worked out.
pub(super) struct Link<'s> {
    /// Which, and from what.
    pub(super) definition: Definition,
    /// The formula.
    pub(super) formula: &'s Expression,
    /// Of which thing.
    pub(super) binding: Binding,
}

/// Knows a run that was put into a situation.
pub(super) struct RunOracle<'a, 's> {
    context: EvalContext<'a>,
    run: &'a SymbolicRun,
    definitions: Vec<Definition>,
    links: Vec<Link<'s>>,
    /// Counts what figures take that have to be searched for.
    cache: FigureCache,
}

impl<'a, 's> RunOracle<'a, 's> {
    /// For a run that was put into a situation.
    pub(super) fn new(
        context: EvalContext<'a>,
        run: &'a SymbolicRun,
        links: Vec<Link<'s>>,
    ) -> Self {
        Self {
            context,
            run,
            cache: FigureCache::default(),
            definitions: links.iter().map(|link| link.definition.clone()).collect(),
            links,
        }
    }

    /// A region as evaluation takes it.
    fn narrowed(
        &self,
        region: &Region,
        more: impl Iterator<Item = Variable>,
    ) -> Vec<(Leaf, ExactInterval)> {
        let mut variables: Vec<Variable> = region.iter().map(|(variable, _)| variable).collect();
        variables.extend(more);
        variables.sort_unstable();
        variables.dedup();
        let interval = |variable: Variable| {
            let domain = region.of(self, variable);
            if domain.segments().is_empty() {
                return None;
            }
            let (low, high) = domain.ends();
            let value = |end: Option<&End>, sign: i64| {
                end.map_or_else(|| Exact::from_int(sign * FAR), |end| end.value.clone())
            };
            let interval = ExactInterval::new(value(low, -1), value(high, 1));
            Some((self.run.of(variable).leaf, interval))
        };
        variables.into_iter().filter_map(interval).collect()
    }
}

impl<'s> Oracle for RunOracle<'_, 's> {
    type Atom = Figure<'s>;

    fn domain(&self, variable: Variable) -> &Domain {
        &self.run.of(variable).domain
    }

    fn is_whole(&self, variable: Variable) -> bool {
        self.run.of(variable).whole
    }

    fn verdicts(&self, atoms: &[&Figure<'s>], region: &Region) -> Vec<Verdict> {
        let of_atoms = atoms.iter().flat_map(|atom| atom.variables()).copied();
        let narrowed = self.narrowed(region, of_atoms);
        let context = EvalContext {
            narrowed: &narrowed,
            cache: Some(&self.cache),
            ..self.context
        };
        let conditions = Conditions::new(context);
        atoms
            .iter()
            .map(|atom| verdict(&conditions, atom))
            .collect()
    }

    fn price(&self, atoms: &[&Figure<'s>]) -> u64 {
        // A figure is worked out anew for every region: far dearer than a limit that is met.
        let atoms = u64::try_from(atoms.len()).unwrap_or(u64::MAX);
        PRICE.saturating_add(atoms.saturating_mul(PRICE_OF_ONE))
    }

    fn work(&self) -> u64 {
        self.cache.budget().work() / OPERATIONS
    }

    fn definitions(&self) -> &[Definition] {
        &self.definitions
    }

    fn enclosure(&self, definition: &Definition, region: &Region) -> Option<Domain> {
        let same = |link: &&Link<'s>| link.definition.variable == definition.variable;
        let link = self.links.iter().find(same)?;
        let narrowed = self.narrowed(region, definition.inputs.iter().copied());
        let context = EvalContext {
            narrowed: &narrowed,
            cache: Some(&self.cache),
            ..self.context
        };
        let found = range(&context, link.binding, Aim::value(link.formula)).ok()?;
        if found.sampled {
            return None;
        }
        let (low, high) = match found.exact {
            Some(ends) => ends,
            None => (
                Exact::from_f64(found.bounds.lo)?,
                Exact::from_f64(found.bounds.hi)?,
            ),
        };
        Some(Domain::between(
            Some(End::closed(low)),
            Some(End::closed(high)),
        ))
    }
}

/// What a figure comes to, by what is shown for every point: bounds that were only sampled count for nothing.
///
/// Evaluation lets sampled bounds show that a requirement breaks, and that a `when` holds; so the
/// one is asked for what is true, and the other for what is false.
fn verdict(conditions: &Conditions<'_>, figure: &Figure<'_>) -> Verdict {
    let (binding, condition) = (figure.binding, figure.condition);
    let truth = conditions.truth(binding, condition);
    if let Truth::Missing(_) | Truth::CannotWorkOut(_) = truth {
        return Verdict::NotKnown;
    }
    let known = shown(&truth, || conditions.truth_of_when(binding, condition));
    match known {
        Some(known) if known == figure.truth => Verdict::Always,
        Some(_) => Verdict::Never,
        None => Verdict::Mixed,
    }
}

/// What is shown of a condition by what it comes to as a requirement, and as a `when`.
fn shown(as_requirement: &Truth, as_when: impl FnOnce() -> Truth) -> Option<bool> {
    match as_requirement {
        Truth::True => Some(true),
        Truth::False if as_when() == Truth::False => Some(false),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::{Truth, shown};

    #[test]
    fn what_was_only_sampled_shows_nothing() {
        // Sampled bounds on which a requirement breaks, and on which a `when` is true.
        assert_eq!(shown(&Truth::False, || Truth::Unknown), None);
        assert_eq!(shown(&Truth::Unknown, || Truth::True), None);
        assert_eq!(shown(&Truth::True, || Truth::True), Some(true));
        assert_eq!(shown(&Truth::False, || Truth::False), Some(false));
    }
}
