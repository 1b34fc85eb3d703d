//! One of the two standards with what is needed to check a run against it.

use crate::check::of_rule;
use crate::constraint::read_run;
use crate::diagnostic::{Outcome, Verb};
use crate::diff::conditions::dependencies::{Closures, Differences};
use crate::diff::conditions::lower_condition::{Figures, Lowering, Situation};
use crate::diff::conditions::overrides::Overrides;
use crate::diff::conditions::variables::Vars;
use crate::diff::pairing::clauses::Part;
use crate::eval::{Conditions, EvalContext, FigureCache, Verdict};
use crate::types::{FieldId, KindId, RecordId, Run, Standard, Target};

/// One side of a comparison.
pub(in crate::diff) struct Edition<'a> {
    /// The standard as written.
    pub(in crate::diff) standard: &'a Standard,
    /// The same with the names of the new one.
    pub(in crate::diff) view: &'a Standard,
    /// What its settings are worked out from.
    pub(in crate::diff) closures: Closures,
    /// The word that tells it apart.
    pub(in crate::diff) side: &'static str,
}

/// Both sides.
pub(in crate::diff) struct Editions<'a> {
    /// The old standard.
    pub(in crate::diff) old: Edition<'a>,
    /// The new one.
    pub(in crate::diff) new: Edition<'a>,
    /// What differs between them beside rules.
    pub(in crate::diff) differences: Differences,
}

/// What a clause came to for a run.
#[derive(Debug, Clone)]
pub(in crate::diff) struct EditionVerdict {
    /// 0: kept; 1: a warning; 2: it fails.
    pub(in crate::diff) rank: u8,
    /// The worst outcome.
    pub(in crate::diff) outcome: Outcome,
    /// The work it took, as the evaluator counts it.
    pub(in crate::diff) work: u64,
    /// What was missing.
    pub(in crate::diff) gap: Option<(Option<Target>, Option<FieldId>)>,
}

impl Edition<'_> {
    /// Reads its conditions for a choice of records, as they are written.
    pub(in crate::diff) fn lowering<'l>(
        &'l self,
        differences: &'l Differences,
        (situation, overrides): (&'l Situation, &'l Overrides),
        (figures, new): (Figures, bool),
        vars: &'l mut Vars,
    ) -> Lowering<'l> {
        Lowering {
            standard: self.view,
            closures: &self.closures,
            differences,
            situation,
            overrides,
            figures,
            unkept: None,
            inlined: None,
            own: None,
            each: None,
            relaxed: false,
            new,
            side: self.side,
            vars,
        }
    }
}

impl<'a> Editions<'a> {
    /// Both sides; `view` is the old standard with the names of the new one.
    pub(in crate::diff) fn between(
        old: &'a Standard,
        view: &'a Standard,
        new: &'a Standard,
    ) -> Self {
        Self {
            differences: Differences::between(view, new),
            old: Edition {
                standard: old,
                view,
                closures: Closures::new(view),
                side: " (old)",
            },
            new: Edition {
                standard: new,
                view: new,
                closures: Closures::new(new),
                side: " (new)",
            },
        }
    }
}

impl Edition<'_> {
    /// A run from the text of a plan, if nothing is wrong with it.
    pub(in crate::diff) fn run(&self, text: &str) -> Option<Run> {
        read_run(self.standard, text)
    }

    /// What requirements come to for a run; nothing is asked of it where there are none.
    pub(in crate::diff) fn came(&self, run: &Run, part: Option<&Part>) -> EditionVerdict {
        let mut came = EditionVerdict {
            rank: 0,
            outcome: Outcome::DoesNotApply,
            work: 0,
            gap: None,
        };
        let Some(part) = part else { return came };
        let cache = FigureCache::default();
        let context = EvalContext::new(self.standard, run).remembering(&cache);
        let conditions = Conditions::new(context);
        let mut results = Vec::new();
        of_rule(&conditions, &context, part.rule, &mut results);
        let table = self.standard.rules[part.rule].table.is_some();
        for result in results {
            if !table && !part.requirements.contains(&result.requirement) {
                continue;
            }
            let outcome = result.outcome();
            let worst = |of: Outcome| match of {
                Outcome::DoesNotApply => 0,
                Outcome::Holds => 1,
                Outcome::NotStated => 2,
                Outcome::AtRisk => 3,
                Outcome::Breaks => 4,
            };
            if worst(outcome) > worst(came.outcome) {
                came.outcome = outcome;
            }
            if let crate::check::Applied::To(Verdict::NotStated(gap)) = &result.applied {
                came.gap.get_or_insert((gap.at, gap.field));
            }
        }
        came.work = cache.budget().work();
        came.rank = match (came.outcome, part.verb) {
            (Outcome::Holds | Outcome::DoesNotApply, _) => 0,
            (_, Verb::Should) => 1,
            (_, Verb::Shall) => 2,
        };
        came
    }

    /// A kind's own name, by the new one.
    pub(in crate::diff) fn kind_name(&self, name: &str) -> Option<(KindId, &str)> {
        let id = *self.view.kind_names.get(name)?;
        Some((id, self.standard.kind(id).name.as_str()))
    }

    /// A setting's own name, by the new one.
    pub(in crate::diff) fn field_name(&self, kind: KindId, name: &str) -> Option<(FieldId, &str)> {
        let id = *self.view.kind(kind).field_names.get(name)?;
        Some((id, self.standard.field(kind, id).name.as_str()))
    }

    /// A record's own name, by the new one.
    pub(in crate::diff) fn record_name(
        &self,
        kind: KindId,
        name: &str,
    ) -> Option<(RecordId, &str)> {
        let id = *self.view.record_names.get(&(kind, name.to_owned()))?;
        Some((id, self.standard.record(id).name.as_str()))
    }
}
