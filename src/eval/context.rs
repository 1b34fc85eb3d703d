//! A run in front of its standard, and where a path leads in it.

use crate::interval::Bounds;
use crate::types::{
    FieldId, Hop, InstanceId, KindId, Path, Quantity, Root, Run, Standard, Stated, Target, Value,
};
use crate::units::Exact;

use super::{FigureCache, Leaf};

/// Deepest chain of formulas and references that is followed.
const DEEPEST: u32 = 64;

/// A run and its standard, with the stretch of some stated values narrowed.
#[derive(Debug, Clone, Copy)]
pub struct EvalContext<'a> {
    /// The standard.
    pub standard: &'a Standard,
    /// The run.
    pub run: &'a Run,
    /// Values that count as something else than stated: narrowed for a proof, or changed for a repair.
    pub narrowed: &'a [(Leaf, ExactInterval)],
    /// Figures worked out before.
    pub cache: Option<&'a FigureCache>,
    /// Whether what is not stated may be anything that is possible, rather than missing: for what has to be so whatever it
    /// is.
    pub assumed: bool,
}

/// A stretch of a quantity.
#[derive(Debug, Clone)]
pub struct ExactInterval {
    /// Lower end.
    pub low: Exact,
    /// Upper end.
    pub high: Exact,
    /// Both, rounded outward.
    pub bounds: Bounds,
}

impl ExactInterval {
    /// A stretch between two exact ends.
    #[must_use]
    pub fn new(low: Exact, high: Exact) -> Self {
        let bounds = Bounds::new(low.outward().0, high.outward().1);
        Self { low, high, bounds }
    }
}

/// Which things the words of an expression stand for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Binding {
    /// The thing whose formula is worked out.
    pub own: Option<Target>,
    /// The thing of `for each`.
    pub each: Option<InstanceId>,
    /// The thing of the innermost function over a kind.
    pub member: Option<InstanceId>,
}

/// A value that is missing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MissingValue {
    /// The thing that lacks it; `None` when a step is missing.
    pub at: Option<Target>,
    /// The setting; `None` when a step is missing.
    pub field: Option<FieldId>,
    /// The path as written where it was asked for.
    pub path: String,
    /// In plain words when it is not a setting that is missing.
    pub words: Option<String>,
}

/// Why there is no value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum EvalError {
    /// Something is not stated.
    Missing(Box<MissingValue>),
    /// It cannot be worked out; a clause in plain words.
    CannotWorkOut(String),
}

/// Where a path leads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Found {
    /// To a setting of a thing.
    Setting(Target, KindId, FieldId),
    /// To a thing.
    Thing(Target),
    /// To the place of a step.
    Place(u32),
}

impl<'a> EvalContext<'a> {
    /// A run as it is stated.
    #[must_use]
    pub fn new(standard: &'a Standard, run: &'a Run) -> Self {
        Self {
            standard,
            run,
            narrowed: &[],
            cache: None,
            assumed: false,
        }
    }

    /// The same, remembering figures that were worked out.
    #[must_use]
    pub fn remembering(self, cache: &'a FigureCache) -> Self {
        Self {
            cache: Some(cache),
            ..self
        }
    }

    /// What is stated for a setting and counts; a wrong value counts as missing, and so does one that is set aside.
    #[must_use]
    pub fn stated(&self, target: Target, field: FieldId) -> Option<&'a Stated> {
        self.run
            .stated(self.standard, target, field)
            .filter(|stated| !matches!(stated.value, Value::Wrong))
            .filter(|_| !self.run.set_aside.contains(&(target, field)))
    }

    /// The quantity stated for a setting.
    #[must_use]
    pub fn quantity(&self, target: Target, field: FieldId) -> Option<&'a Quantity> {
        match &self.stated(target, field)?.value {
            Value::Quantity(quantity) => Some(quantity),
            _ => None,
        }
    }

    /// The stretch that stands for a stated quantity, when it is not its own.
    #[must_use]
    pub fn narrowed(&self, leaf: Leaf) -> Option<&'a ExactInterval> {
        self.narrowed
            .iter()
            .find(|(of, _)| *of == leaf)
            .map(|(_, stretch)| stretch)
    }

    /// Follows a path.
    ///
    /// # Errors
    /// When a reference on the way is not stated, or there is no such step.
    pub fn locate(&self, binding: Binding, path: &Path) -> Result<Found, EvalError> {
        self.locate_at(binding, path, 0)
    }

    fn locate_at(&self, binding: Binding, path: &Path, depth: u32) -> Result<Found, EvalError> {
        let missing = |words: String| {
            EvalError::Missing(Box::new(MissingValue {
                at: None,
                field: None,
                path: path.text.clone(),
                words: Some(words),
            }))
        };
        let start = match path.root {
            Root::Own => binding.own,
            Root::Single(kind) => self
                .run
                .singles
                .get(kind.0 as usize)
                .copied()
                .flatten()
                .map(Target::Thing),
            Root::Each(_) => binding.each.map(Target::Thing),
            Root::Member(_) => binding.member.map(Target::Thing),
        };
        let Some(start) = start else {
            return Err(missing(format!(
                "the run has nothing that `{}` could mean",
                path.text
            )));
        };
        let mut found = Found::Thing(start);
        for hop in &path.hops {
            let at = match found {
                Found::Thing(at) => at,
                Found::Setting(at, kind, field) => self.refer(at, kind, field, path, depth)?,
                Found::Place(_) => {
                    return Err(EvalError::CannotWorkOut(format!(
                        "`{}` leads nowhere",
                        path.text
                    )));
                }
            };
            found = match hop {
                Hop::Field(kind, field) => Found::Setting(at, *kind, *field),
                Hop::Next(kind) | Hop::Previous(kind) => {
                    let later = matches!(hop, Hop::Next(_));
                    match self.neighbour(at, *kind, later) {
                        Some(step) => Found::Thing(Target::Thing(step)),
                        None => {
                            let what =
                                kind.map_or("step", |kind| self.standard.kind(kind).name.as_str());
                            let way = if later { "after" } else { "before" };
                            return Err(missing(format!(
                                "there is no `{what}` {way} it in the sequence"
                            )));
                        }
                    }
                }
                Hop::Place => Found::Place(self.place(at).map_or(0, |place| place + 1)),
            };
        }
        Ok(found)
    }

    /// The thing a reference points at.
    ///
    /// # Errors
    /// When it is not stated.
    pub fn refer(
        &self,
        at: Target,
        kind: KindId,
        field: FieldId,
        path: &Path,
        depth: u32,
    ) -> Result<Target, EvalError> {
        if depth > DEEPEST {
            return Err(EvalError::CannotWorkOut(
                "its formulas go too deep".to_owned(),
            ));
        }
        if let Some(stated) = self.stated(at, field)
            && let Value::Reference(target) = stated.value
        {
            return Ok(target);
        }
        let declared = self.standard.field(kind, field);
        if let Some(reference) = &declared.reference {
            let binding = Binding {
                own: Some(at),
                ..Binding::default()
            };
            return match self.locate_at(binding, reference, depth + 1)? {
                Found::Thing(target) => Ok(target),
                Found::Setting(at, kind, field) => self.refer(at, kind, field, path, depth + 1),
                Found::Place(_) => Err(EvalError::CannotWorkOut(format!(
                    "`{}` leads nowhere",
                    path.text
                ))),
            };
        }
        Err(self.gap(at, field, path))
    }

    /// A setting that is missing.
    #[must_use]
    pub fn gap(&self, at: Target, field: FieldId, path: &Path) -> EvalError {
        EvalError::Missing(Box::new(MissingValue {
            at: Some(at),
            field: Some(field),
            path: path.text.clone(),
            words: None,
        }))
    }

    /// The place of a step in the sequence, from 0.
    #[must_use]
    pub fn place(&self, step: Target) -> Option<u32> {
        let Target::Thing(step) = step else {
            return None;
        };
        // Steps are numbered in a row as they are read, so that the place follows from the number.
        let first = self.run.steps.first()?;
        let place = step.0.checked_sub(first.0)?;
        (self.run.steps.get(place as usize) == Some(&step)).then_some(place)
    }

    fn neighbour(&self, step: Target, kind: Option<KindId>, later: bool) -> Option<InstanceId> {
        let place = self.place(step)? as usize;
        let suits = |id: &&InstanceId| kind.is_none_or(|kind| self.run.instance(**id).kind == kind);
        if later {
            self.run.steps.get(place + 1..)?.iter().find(suits).copied()
        } else {
            self.run.steps[..place].iter().rev().find(suits).copied()
        }
    }
}
