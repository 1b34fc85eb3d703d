//! The steps of a sequence: `print base, 2 strokes`.

use super::model::{FieldId, KindId, Origin, PlaceInRun, Reading, Run, Standard, Stated, Type};
use super::readings::taken;
use super::run::push;
use super::value::Values;
use crate::diagnostic::{Code, Diagnostic};
use crate::names::did_you_mean;
use crate::source::Span;
use crate::syntax::tree::{self, Line, ValueNode};

/// Adds the steps of a sequence to a run.
pub(super) fn steps(
    run: &mut Run,
    reading: &Values<'_>,
    sequence: &tree::Sequence<'_>,
    problems: &mut Vec<Diagnostic>,
) {
    let standard = reading.standard;
    for line in &sequence.block.lines {
        let Line::Good(step, _) = line else { continue };
        let known = standard.kind_names.get(step.kind.text).copied();
        let Some(kind) = known.filter(|id| standard.kind(*id).place == PlaceInRun::Step) else {
            problems.push(unknown_step(standard, step));
            continue;
        };
        let id = push(run, kind, standard);
        let values = settings(reading, kind, step, problems);
        let instance = &mut run.instances[id.0 as usize];
        instance.header = Some(step.span);
        instance.insert = Some(step.span.after());
        instance.values = values;
        run.steps.push(id);
        run.many[kind.0 as usize].push(id);
    }
}

fn unknown_step(standard: &Standard, step: &tree::Step<'_>) -> Diagnostic {
    let mut diagnostic = Diagnostic::new(
        Code::UnknownKind,
        step.kind.span,
        format!("there is no step `{}`", step.kind.text),
        "not a step",
    );
    let names = standard
        .kinds
        .iter()
        .filter(|kind| kind.place == PlaceInRun::Step)
        .map(|kind| kind.name.as_str());
    if let Some(help) = did_you_mean(step.kind.text, names) {
        diagnostic = diagnostic.help(help);
    }
    diagnostic
}

fn settings(
    reading: &Values<'_>,
    kind: KindId,
    step: &tree::Step<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Vec<Option<Stated>> {
    let declared = reading.standard.kind(kind);
    let mut values: Vec<Option<Stated>> = vec![None; declared.fields.len()];
    // Named settings first, so that an unnamed one goes to a setting that is free.
    for named in [true, false] {
        for setting in step
            .settings
            .iter()
            .filter(|setting| setting.name.is_some() == named)
        {
            let field = match setting.name {
                Some(name) => match declared.field_names.get(name.text) {
                    Some(&field) => field,
                    None => {
                        problems.push(unknown_setting(reading, kind, name));
                        continue;
                    }
                },
                None => match taker(reading, kind, &values, setting) {
                    Some(field) => field,
                    None => {
                        problems.push(no_taker(reading.standard, kind, setting));
                        continue;
                    }
                },
            };
            let slot = field.0 as usize;
            if let Some(first) = &values[slot] {
                problems.push(
                    Diagnostic::new(
                        Code::StatedTwice,
                        setting.span,
                        format!("`{}` is stated twice", declared.fields[slot].name),
                        "again here",
                    )
                    .related(first.span, "stated here first")
                    .help("keep one of them"),
                );
                continue;
            }
            let value = reading.read(&declared.fields[slot], &setting.value, problems);
            let taken = taken(reading, &declared.fields[slot], setting.taken, problems);
            values[slot] = Some(Stated {
                value,
                span: setting.value.span,
                origin: Origin::Plan,
                per: None,
                loosened: None,
                taken,
            });
        }
    }
    values
}

/// A word before a value that is no setting: perhaps a value itself, with its comma left out.
fn unknown_setting(reading: &Values<'_>, kind: KindId, word: tree::Word<'_>) -> Diagnostic {
    let problem = super::kinds::unknown_field(word, reading.standard, kind);
    let fields = &reading.standard.kind(kind).fields;
    let value = fields.iter().any(|field| match &field.ty {
        Type::Choice(choices) => choices.iter().any(|choice| choice == word.text),
        Type::Reference(kind) => {
            (reading.things)(*kind, word.text).is_some()
                || reading
                    .standard
                    .record_names
                    .contains_key(&(*kind, word.text.to_owned()))
        }
        _ => false,
    });
    if value {
        problem.help(format!("put a comma behind it: `{},`", word.text))
    } else {
        problem
    }
}

/// The first free setting that takes a value of this sort. One that is worked out is stated by its name only:
/// in `flash 6 s, 4 s` the second time is a slip.
fn taker(
    reading: &Values<'_>,
    kind: KindId,
    values: &[Option<Stated>],
    setting: &tree::StepSetting<'_>,
) -> Option<FieldId> {
    let declared = reading.standard.kind(kind);
    let free =
        |index: &usize| values[*index].is_none() && declared.fields[*index].formula.is_none();
    let sort = Sort::of(reading, &setting.value);
    let takes = |index: &usize| sort.suits(reading, &declared.fields[*index].ty, &setting.value);
    let found = (0..declared.fields.len())
        .filter(free)
        .find(takes)
        .or_else(|| {
            // A name that fits nowhere is a misspelt one: report it against the first reference.
            let named = matches!(setting.value.node, ValueNode::Name(_));
            (0..declared.fields.len()).filter(free).find(|index| {
                named
                    && matches!(
                        declared.fields[*index].ty,
                        Type::Reference(_) | Type::Choice(_)
                    )
            })
        })?;
    Some(FieldId::at(found))
}

/// What sort of value stands there, as far as its text tells.
enum Sort {
    Quantity(Option<crate::units::Unit>),
    Other,
}

impl Sort {
    fn of(reading: &Values<'_>, value: &tree::Value<'_>) -> Self {
        let literal = match &value.node {
            ValueNode::Quantity { nominal, .. } => nominal,
            ValueNode::Range { high, .. } => high,
            ValueNode::AtLeast(literal) | ValueNode::AtMost(literal) => literal,
            _ => return Self::Other,
        };
        let mut ignored = Vec::new();
        Self::Quantity(
            literal
                .unit
                .and_then(|word| reading.reader.unit(word, &mut ignored)),
        )
    }

    fn suits(&self, reading: &Values<'_>, ty: &Type, value: &tree::Value<'_>) -> bool {
        match (self, ty) {
            (Self::Quantity(Some(unit)), Type::Quantity(measure)) => {
                unit.dimension() == measure.dimension
                    && match &measure.reading {
                        Reading::Share => unit.is_percent(),
                        Reading::Count(Some(noun)) => unit.as_noun() == Some(noun),
                        _ => !unit.is_percent() && unit.as_noun().is_none(),
                    }
            }
            // An unknown unit, or none: the first quantity takes it and says what is wrong.
            (Self::Quantity(None), Type::Quantity(_)) => true,
            (Self::Other, _) => match (&value.node, ty) {
                (ValueNode::Text(_), Type::Text) => true,
                (ValueNode::Name(word), Type::YesNo) => matches!(word.text, "yes" | "no"),
                (ValueNode::Name(word), Type::Choice(choices)) => {
                    choices.iter().any(|choice| choice == word.text)
                }
                (ValueNode::Name(word), Type::Reference(kind)) => {
                    (reading.things)(*kind, word.text).is_some()
                        || reading
                            .standard
                            .record_names
                            .contains_key(&(*kind, word.text.to_owned()))
                }
                _ => false,
            },
            _ => false,
        }
    }
}

fn no_taker(standard: &Standard, kind: KindId, setting: &tree::StepSetting<'_>) -> Diagnostic {
    let kind = standard.kind(kind);
    let names: Vec<String> = kind
        .fields
        .iter()
        .filter(|field| field.formula.is_none())
        .map(|field| format!("`{}`", field.name))
        .collect();
    let mut diagnostic = Diagnostic::new(
        Code::StepSetting,
        at(setting),
        format!("no free setting of `{}` takes this", kind.name),
        "does not fit",
    );
    if names.is_empty() {
        diagnostic = diagnostic.help(format!("`{}` takes no settings", kind.name));
    } else {
        diagnostic = diagnostic.help(format!("it takes {}", names.join(", ")));
    }
    diagnostic
}

fn at(setting: &tree::StepSetting<'_>) -> Span {
    setting.span
}
