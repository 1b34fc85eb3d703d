//! The settings, and whole expressions, that both standards read: the variables of a clause.

use std::collections::BTreeMap;

use crate::constraint::{
    Budget, Domain, NoAtom, Oracle, Region, Regions, Solver, Variable, Verdict, Words,
};
use crate::types::Compare;
use crate::units::Unit;

/// What one question to the solver may take, in its units.
const UNITS: u64 = 100_000;

/// A condition on a run that both standards read.
pub(in crate::diff) type Formula = crate::constraint::Formula<NoAtom>;

/// Something that both standards read: a setting of a run, or a whole expression that means the same in both.
#[derive(Debug, Clone)]
pub(in crate::diff) struct Var {
    /// What it is called.
    pub(in crate::diff) key: String,
    /// What is possible, *not stated* included where a plan may leave it out.
    pub(in crate::diff) domain: Domain,
    /// Whether only whole numbers are.
    pub(in crate::diff) whole: bool,
    /// The words of a choice, or the texts that are mentioned; a number in [`Words`] is a place in this list.
    pub(in crate::diff) words: Vec<String>,
    /// Whether a plan can state it.
    pub(in crate::diff) plain: bool,
    /// Whether it is an expression: missing only where something it reads is, or where it has no value.
    pub(in crate::diff) expression: bool,
    /// The unit it is spoken of in.
    pub(in crate::diff) unit: Option<Unit>,
}

/// All that was met so far, by key.
#[derive(Debug, Clone, Default)]
pub(in crate::diff) struct Vars {
    /// In the order met.
    pub(in crate::diff) list: Vec<Var>,
    index: BTreeMap<String, usize>,
    /// What is so whatever a plan states: a figure has a value where all that it needs is stated.
    pub(in crate::diff) ties: Vec<Formula>,
    /// Where both standards keep the clause: so are other things of its kind made.
    pub(in crate::diff) beside: Region,
}

impl Vars {
    /// The number of something, added when it is met first; what is possible must be so on both sides.
    pub(in crate::diff) fn add(&mut self, var: Var) -> Variable {
        if let Some(&known) = self.index.get(&var.key) {
            let mine = &mut self.list[known];
            mine.domain = mine.domain.meet(&var.domain);
            mine.whole |= var.whole;
            mine.unit = mine.unit.take().or(var.unit);
            return Variable(known);
        }
        self.index.insert(var.key.clone(), self.list.len());
        self.list.push(var);
        Variable(self.list.len() - 1)
    }

    /// A variable whose values are words: just these, or these and any other text.
    pub(in crate::diff) fn add_words(
        &mut self,
        key: &str,
        words: &[String],
        any_text: bool,
        plain: bool,
    ) -> Variable {
        let variable = match self.index.get(key) {
            Some(&known) => Variable(known),
            None => self.add(Var {
                key: key.to_owned(),
                domain: Domain::words(Words::ANY).or_not_stated(),
                whole: false,
                words: Vec::new(),
                plain,
                expression: false,
                unit: None,
            }),
        };
        if any_text {
            return variable;
        }
        let numbers: Vec<u32> = words.iter().map(|word| self.word(variable, word)).collect();
        let of = &mut self.list[variable.0];
        of.domain = of
            .domain
            .meet(&Domain::words(Words::of(numbers)).or_not_stated());
        variable
    }

    /// The number of a word of a variable.
    pub(in crate::diff) fn word(&mut self, variable: Variable, word: &str) -> u32 {
        let known = &mut self.list[variable.0].words;
        let place = known.iter().position(|other| other == word);
        let place = place.unwrap_or_else(|| {
            known.push(word.to_owned());
            known.len() - 1
        });
        u32::try_from(place).unwrap_or(u32::MAX)
    }

    /// The number of something known.
    pub(in crate::diff) fn find(&self, key: &str) -> Option<Variable> {
        self.index.get(key).map(|index| Variable(*index))
    }

    /// All that is so whatever a plan states, where formulas are asked about.
    fn ties(&self, formulas: &[&Formula]) -> Vec<Formula> {
        let mut found = self.ties.clone();
        for (number, var) in self.list.iter().enumerate() {
            let most = most_of(&var.key).and_then(|key| self.find(&key));
            let Some(most) = most else { continue };
            found.extend(ordered(Variable(number), most, formulas));
        }
        found
    }

    /// Whether no run makes all of these true.
    pub(in crate::diff) fn is_never(&self, formulas: &[&Formula]) -> bool {
        let budget = Budget::of(UNITS);
        let ties = self.ties(formulas);
        let all: Vec<&Formula> = formulas.iter().copied().chain(&ties).collect();
        Solver::new(self).together(&all, &budget).is_proved()
    }

    /// Regions in which a formula can be true, at most so many.
    pub(in crate::diff) fn regions(&self, formula: &Formula, most: usize) -> Regions {
        let budget = Budget::of(UNITS);
        let ties = self.ties(&[formula]);
        let all: Vec<&Formula> = [formula].into_iter().chain(&ties).collect();
        Solver::new(self).regions(&all, most, &budget)
    }

    /// Where some setting is left out.
    pub(in crate::diff) fn something_missing(&self) -> Formula {
        let numbered = self.list.iter().enumerate();
        let may = numbered.filter(|(_, of)| of.domain.may_be_missing() && !of.expression);
        Formula::any(
            may.map(|(number, _)| Formula::variable_in(Variable(number), Domain::NOT_STATED)),
        )
    }

    /// Something by its number.
    pub(in crate::diff) fn get(&self, variable: Variable) -> &Var {
        &self.list[variable.0]
    }
}

/// What the most of the same values is called; `None` for what is not the least of several, and nothing else.
fn most_of(key: &str) -> Option<String> {
    let (factor, values) = key.split_once(" * ")?;
    let values = values.strip_prefix("Least")?;
    let mut depth = 0_u32;
    let ends = values.char_indices().find_map(|(at, sign)| {
        match sign {
            '(' => depth += 1,
            ')' => depth = depth.saturating_sub(1),
            _ => return None,
        }
        (depth == 0).then_some(at + 1)
    });
    let one = crate::diff::canonical::number(&crate::units::Exact::ONE);
    (factor == one && ends == Some(values.len())).then(|| format!("{factor} * Most{values}"))
}

/// The least of several values is not above their most, and both are there or neither: said of the limits that stand
/// in formulas.
fn ordered(least: Variable, most: Variable, formulas: &[&Formula]) -> Vec<Formula> {
    let mut limits = Vec::new();
    for formula in formulas {
        for variable in [least, most] {
            let mut domains = Vec::new();
            formula.domains(variable, &mut domains);
            for segment in domains.into_iter().flat_map(Domain::segments) {
                let ends = [&segment.low, &segment.high].into_iter().flatten();
                limits.extend(ends.map(|end| end.value.clone()));
            }
        }
    }
    limits.sort();
    limits.dedup();
    let missing = |of: Variable| Formula::variable_in(of, Domain::NOT_STATED);
    let stated = |of: Variable| Formula::variable_in(of, Domain::stated());
    let mut found = vec![
        Formula::any([missing(least), stated(most)]),
        Formula::any([stated(least), missing(most)]),
    ];
    for limit in &limits {
        for (below, above) in [
            (Compare::AtMost, Compare::Above),
            (Compare::Below, Compare::AtLeast),
        ] {
            let part = |of: Variable, how: Compare| {
                Formula::variable_in(of, Domain::compared(how, limit).or_not_stated())
            };
            found.push(Formula::any([part(least, below), part(most, above)]));
        }
    }
    found
}

impl Oracle for Vars {
    type Atom = NoAtom;

    fn domain(&self, variable: Variable) -> &Domain {
        &self.list[variable.0].domain
    }

    fn is_whole(&self, variable: Variable) -> bool {
        self.list[variable.0].whole
    }

    fn verdicts(&self, _: &[&NoAtom], _: &Region) -> Vec<Verdict> {
        Vec::new()
    }
}
