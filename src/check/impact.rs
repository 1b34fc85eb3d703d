//! Which results a change of one setting can reach, so that a repair is checked against those alone.

use std::cell::{OnceCell, RefCell};
use std::collections::BTreeMap;

use crate::diagnostic::Outcome;
use crate::eval::{Conditions, EvalContext, Leaf, condition_inputs};
use crate::types::{
    Date, Expression, FieldId, Hop, InstanceId, KindId, Path, Requirement, Root, Rule, Standard,
    Target,
};

use super::blame::adjustable;
use super::deviation::standing;
use super::not_set::NotSet;
use super::outcome::{Applied, RuleResult, binding as binding_of};

/// The settings that each requirement of a standard can rest on, formulas followed.
///
/// It asks for kinds of things, not for the things of one run, so it is worked out once for all plans.
#[derive(Debug, Clone)]
pub(super) struct Reach {
    /// Where each kind's settings start among all.
    starts: Vec<usize>,
    /// For each rule and requirement.
    rules: Vec<Vec<Reads>>,
}

/// What a requirement rests on.
#[derive(Debug, Clone)]
struct Reads {
    /// One bit a setting.
    settings: Bits,
    /// The kind of which it reads the thing it is asked of, and no other.
    only_own: Option<KindId>,
}

/// A set of settings.
#[derive(Debug, Clone)]
struct Bits(Vec<u64>);

impl Bits {
    /// Adds one; `false` if it was there.
    fn add(&mut self, at: usize) -> bool {
        let bit = 1 << (at % 64);
        self.0.get_mut(at / 64).is_some_and(|word| {
            let new = *word & bit == 0;
            *word |= bit;
            new
        })
    }

    fn has(&self, at: usize) -> bool {
        self.0
            .get(at / 64)
            .is_some_and(|word| word & (1 << (at % 64)) != 0)
    }
}

impl Reach {
    /// That of all requirements of a standard.
    pub(super) fn of(standard: &Standard) -> Self {
        let mut starts = Vec::with_capacity(standard.kinds.len());
        let mut count = 0_usize;
        for kind in &standard.kinds {
            starts.push(count);
            count += kind.fields.len();
        }
        let requirement = |rule: &Rule, requirement: &Requirement| {
            let mut walk = Walk {
                standard,
                starts: &starts,
                found: Bits(vec![0; count.div_ceil(64)]),
                open: Vec::new(),
                each: rule.each,
            };
            let conditions = rule
                .when
                .iter()
                .chain(&requirement.when)
                .chain(&rule.permissions);
            for condition in conditions.chain([&requirement.condition]) {
                for path in condition.paths() {
                    walk.path(path);
                }
            }
            walk.formulas();
            Reads {
                settings: walk.found,
                only_own: walk.each,
            }
        };
        let rules = standard
            .rules
            .iter()
            .map(|rule| {
                rule.requirements
                    .iter()
                    .map(|one| requirement(rule, one))
                    .collect()
            })
            .collect();
        Self { starts, rules }
    }

    /// Whether a result can be another one when this setting of this kind has another value.
    fn reaches(&self, result: &RuleResult, kind: KindId, field: FieldId) -> bool {
        self.reads(result.rule, result.requirement, kind, field)
    }

    /// Whether a requirement of a rule can rest on this setting.
    pub(super) fn reads(
        &self,
        rule: usize,
        requirement: usize,
        kind: KindId,
        field: FieldId,
    ) -> bool {
        let of_rule = self.rules.get(rule);
        let Some(reads) = of_rule.and_then(|rule| rule.get(requirement)) else {
            return true;
        };
        let start = self.starts.get(kind.0 as usize);
        start.is_none_or(|start| reads.settings.has(start + field.0 as usize))
    }

    /// The kind of which a result rests on the thing it is asked of alone.
    fn only_own(&self, result: &RuleResult) -> Option<KindId> {
        let of_rule = self.rules.get(result.rule);
        of_rule
            .and_then(|rule| rule.get(result.requirement))?
            .only_own
    }
}

/// Follows what conditions rest on. Every formula is looked at once, however often it is used.
struct Walk<'a> {
    standard: &'a Standard,
    starts: &'a [usize],
    found: Bits,
    /// Formulas still to be followed.
    open: Vec<&'a Expression>,
    /// The kind that `for each` names, as long as nothing else of that kind was read than the thing itself.
    each: Option<KindId>,
}

impl<'a> Walk<'a> {
    fn formulas(&mut self) {
        while let Some(formula) = self.open.pop() {
            for path in formula.paths() {
                self.path(path);
            }
        }
    }

    fn path(&mut self, path: &'a Path) {
        let mut itself = matches!(path.root, Root::Each(_) | Root::Own);
        for hop in &path.hops {
            if let Hop::Field(kind, _) = hop
                && Some(*kind) == self.each
                && !itself
            {
                self.each = None;
            }
            itself = false;
        }
        for (kind, field) in path.settings() {
            let start = self.starts.get(kind.index()).copied().unwrap_or(0);
            if !self.found.add(start + field.index()) {
                continue;
            }
            let setting = self.standard.field(kind, field);
            self.open.extend(setting.formula.as_ref());
            if let Some(reference) = &setting.reference {
                self.path(reference);
            }
        }
    }
}

/// All results of a run as it is stated, with what each can rest on.
pub(super) struct Before<'a> {
    context: EvalContext<'a>,
    /// The results.
    pub(super) results: &'a [RuleResult],
    reach: &'a Reach,
    /// Which of the results pass by a deviation.
    passing: &'a [usize],
    /// The day of the check.
    on: Option<Date>,
    /// By thing: the results that are asked of it, and rest on no other thing of its kind.
    own: OnceCell<BTreeMap<InstanceId, Vec<usize>>>,
    /// By setting: the other results that rest on it, whichever thing's it is.
    others: RefCell<BTreeMap<(KindId, FieldId), Vec<usize>>>,
}

impl<'a> Before<'a> {
    /// The results of `context`.
    pub(super) fn new(
        context: EvalContext<'a>,
        results: &'a [RuleResult],
        reach: &'a Reach,
        passing: &'a [usize],
        on: Option<Date>,
    ) -> Self {
        Self {
            context,
            results,
            reach,
            passing,
            on,
            own: OnceCell::new(),
            others: RefCell::default(),
        }
    }

    /// Whether something that was decided rests on a setting.
    pub(super) fn reads(&self, kind: KindId, field: FieldId) -> bool {
        self.results.iter().any(|result| {
            let decided = matches!(
                result.outcome(),
                Outcome::Holds | Outcome::Breaks | Outcome::AtRisk
            );
            decided
                && self
                    .reach
                    .reads(result.rule, result.requirement, kind, field)
        })
    }

    /// Where a result stands among all.
    pub(super) fn place(&self, result: &RuleResult) -> Option<usize> {
        let same = |known: &RuleResult| {
            (known.rule, known.requirement, known.each)
                == (result.rule, result.requirement, result.each)
        };
        self.results.iter().position(same)
    }

    /// Why a setting is not one to set; `None` where it is.
    pub(super) fn not_set(&self, kind: KindId, field: FieldId) -> Option<NotSet> {
        NotSet::of(self.context.standard.field(kind, field))
    }

    /// The same for a setting of a thing of the run.
    pub(super) fn leaf_not_set(&self, leaf: Leaf) -> Option<NotSet> {
        let kind = self
            .context
            .run
            .target(self.context.standard, leaf.target)
            .kind;
        self.not_set(kind, leaf.field)
    }

    /// The settings that can be set and that a result rests on, those first that its rule says to adjust; whether it does.
    pub(super) fn settings_of(&self, context: &EvalContext<'_>, place: usize) -> Vec<(Leaf, bool)> {
        let Some(result) = self.results.get(place) else {
            return Vec::new();
        };
        let rule = &context.standard.rules[result.rule];
        let binding = binding_of(result.each);
        let rests_on = condition_inputs(
            context,
            binding,
            &[&rule.requirements[result.requirement].condition],
        );
        let named = adjustable(context, binding, rule);
        let mut found: Vec<(Leaf, bool)> = named
            .into_iter()
            .filter(|leaf| rests_on.contains(leaf))
            .map(|leaf| (leaf, true))
            .collect();
        for leaf in rests_on {
            if !found.iter().any(|(known, _)| *known == leaf) {
                found.push((leaf, false));
            }
        }
        found.retain(|(leaf, _)| self.leaf_not_set(*leaf).is_none());
        found
    }

    /// Whether a result passes by a deviation.
    pub(super) fn passes(&self, place: usize) -> bool {
        self.passing.contains(&place)
    }

    /// Whether a result can be another one when this setting of this kind has another value.
    pub(super) fn reaches(&self, place: usize, kind: KindId, field: FieldId) -> bool {
        self.results
            .get(place)
            .is_some_and(|result| self.reach.reaches(result, kind, field))
    }

    /// Whether a result that passes by a deviation still passes in a changed context, or holds by itself.
    /// `after` is what it comes to there, and `place` where it stands among all results.
    pub(super) fn still_passes(
        &self,
        changed: &EvalContext<'_>,
        place: usize,
        after: &RuleResult,
    ) -> bool {
        if !self.passing.contains(&place) {
            return true;
        }
        matches!(after.outcome(), Outcome::Holds | Outcome::DoesNotApply)
            || standing(&Conditions::new(*changed), changed, self.on, after)
                .passes
                .is_some()
    }

    /// The results that can be other ones when this setting has another value, in their order.
    pub(super) fn affected(&self, leaf: Leaf) -> impl Iterator<Item = (usize, &'a RuleResult)> {
        let run = self.context.run;
        let kind = run.target(self.context.standard, leaf.target).kind;
        let (reach, results) = (self.reach, self.results);
        let reaches = |place: &usize| reach.reaches(&results[*place], kind, leaf.field);
        let asked = |place: &usize| matches!(results[*place].applied, Applied::To(_));
        // Of thousands of things, each is asked for by itself.
        let own = self.own.get_or_init(|| {
            let mut own: BTreeMap<InstanceId, Vec<usize>> = BTreeMap::new();
            for (place, result) in results.iter().enumerate() {
                if let (Some(_), Some(each)) = (reach.only_own(result), result.each) {
                    own.entry(each).or_default().push(place);
                }
            }
            own
        });
        let mut others = self.others.borrow_mut();
        let others = others.entry((kind, leaf.field)).or_insert_with(|| {
            let not_own = |place: &usize| reach.only_own(&results[*place]) != Some(kind);
            let places = 0..results.len();
            places
                .filter(not_own)
                .filter(reaches)
                .filter(asked)
                .collect()
        });
        let mut found = others.clone();
        if let Target::Thing(id) = leaf.target {
            let own = own.get(&id).into_iter().flatten().copied();
            found.extend(own.filter(reaches).filter(asked));
            found.sort_unstable();
            // A result of another kind's that rests on its own thing alone is among the others already.
            found.dedup();
        }
        found.into_iter().map(move |place| (place, &results[place]))
    }
}
