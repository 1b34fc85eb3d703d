//! Kinds and their settings: types, possible ranges, dials. Formulas come later.

use std::collections::HashMap;

use super::date::Date;
use super::literal::Reader;
use super::model::{
    Field, FieldId, Grounds, Kind, KindId, Limits, Measure, Parts, PlaceInRun, Reading, Sort,
    Source, Standard, Takes, Type,
};
use crate::diagnostic::{Code, Diagnostic};
use crate::names::{did_you_mean, in_a_spec, nearest};
use crate::source::Span;
use crate::syntax::tree::{self, FieldType, KindClause, KindForm, Line, Literal, Per, Word};
use crate::units::{Dimension, Exact, Unit, show_exact};

/// Words for types that are not dimensions.
const OTHER_TYPES: [&str; 6] = ["text", "yes/no", "share", "count", "choice of", "range of"];

/// What a source clause says; one of no words says nothing. A day that the calendar does not have is reported
/// and left out.
pub(super) fn source(per: Option<Per<'_>>, problems: &mut Vec<Diagnostic>) -> Option<Source> {
    let per = per?;
    let grounds = match per.grounds {
        tree::Grounds::Source(quote) | tree::Grounds::Law(quote)
            if quote.value().trim().is_empty() =>
        {
            return None;
        }
        // In quotes it names no more than without.
        tree::Grounds::Source(quote)
            if ["practice", "common practice"]
                .contains(&quote.value().trim().to_lowercase().as_str()) =>
        {
            Grounds::Practice
        }
        tree::Grounds::Source(quote) => Grounds::Named(quote.value()),
        tree::Grounds::Law(quote) => Grounds::Law(quote.value()),
        tree::Grounds::Practice(_) => Grounds::Practice,
    };
    let reviewed = per
        .reviewed
        .and_then(|date| Date::read(date, "reviewed", problems));
    Some(Source { grounds, reviewed })
}

/// The kinds by number, without settings, so that settings can refer to them.
pub(super) fn declare(standard: &mut Standard, kinds: &[&tree::Kind<'_>]) {
    for kind in kinds {
        let place = match (kind.form, kind.place) {
            (KindForm::Step, _) => PlaceInRun::Step,
            (_, Some(tree::PlaceInRun::One)) => PlaceInRun::One,
            (_, Some(tree::PlaceInRun::Many)) => PlaceInRun::Many,
            (_, None) => PlaceInRun::Record,
        };
        let id = KindId::at(standard.kinds.len());
        standard.kind_names.insert(kind.name.text.to_owned(), id);
        standard.kinds.push(Kind {
            name: kind.name.text.to_owned(),
            span: kind.name.span,
            place,
            sentence: kind.sentence.map(|sentence| sentence.value()),
            fields: Vec::new(),
            field_names: HashMap::new(),
            parts: Vec::new(),
        });
    }
}

/// The nouns that things are counted in, over all kinds.
pub(super) fn nouns<'t>(kinds: impl Iterator<Item = &'t tree::Kind<'t>>) -> Vec<String> {
    let mut nouns = Vec::new();
    for kind in kinds {
        for line in &kind.block.lines {
            if let Line::Good(KindClause::Field(field), _) = line
                && let FieldType::CountOf(noun) = &field.ty
            {
                nouns.push(noun.text.to_owned());
            }
        }
    }
    nouns
}

/// An unknown kind, with the nearest known ones.
pub(super) fn unknown_kind(word: Word<'_>, standard: &Standard, more: &[&str]) -> Diagnostic {
    let mut diagnostic = Diagnostic::new(
        Code::UnknownKind,
        word.span,
        format!("there is no kind `{}`", word.text),
        "not declared",
    );
    let known = standard.kind_names.keys().map(String::as_str);
    let known = known.chain(more.iter().copied());
    let near = if let Some(help) = in_a_spec(&["kind", "step"], word.text) {
        Some(help)
    } else if standard.kind_names.is_empty() {
        // The words that start a statement are no list to choose a kind from.
        nearest(word.text, known).map(|near| format!("did you mean `{near}`?"))
    } else {
        did_you_mean(word.text, known)
    };
    if let Some(help) = near {
        diagnostic = diagnostic.help(help);
    } else {
        diagnostic =
            diagnostic.help("kinds are declared with `kind`; the usual ones come with `use trade`");
    }
    diagnostic
}

/// Adds the settings of one `kind`, `step` or `add to`.
pub(super) fn fill(
    standard: &mut Standard,
    reader: &Reader,
    kind: &tree::Kind<'_>,
    problems: &mut Vec<Diagnostic>,
) {
    let Some(&id) = standard.kind_names.get(kind.name.text) else {
        problems.push(unknown_kind(kind.name, standard, &[]));
        return;
    };
    let known = standard.kind(id).fields.len();
    for line in &kind.block.lines {
        let Line::Good(clause, _) = line else {
            continue;
        };
        match clause {
            KindClause::Field(field) => add_field(standard, reader, id, field, problems),
            // Told of settings that may stand anywhere, so it is read when all are known.
            KindClause::Changing(_) => {}
            KindClause::Parts { names, total, span } => {
                let mut fields = Vec::new();
                for name in names {
                    match standard.kinds[id.0 as usize].field_names.get(name.text) {
                        Some(&field) => fields.push(field),
                        None => problems.push(unknown_field(*name, standard, id)),
                    }
                }
                let share = Measure {
                    dimension: Dimension::NUMBER,
                    reading: Reading::Share,
                };
                if let Some(total) = reader.measured(total, &share, None, "the whole", problems) {
                    standard.kinds[id.0 as usize].parts.push(Parts {
                        fields,
                        total: total.exact,
                        span: *span,
                    });
                }
            }
        }
    }
    let silent = |field: &FieldId| {
        let sort = &standard.field(id, *field).sort;
        matches!(sort, Sort::Given { said: false, .. })
    };
    let fields: Vec<FieldId> = (known..standard.kind(id).fields.len())
        .map(FieldId::at)
        .filter(silent)
        .collect();
    problems.extend(unsorted(id, standard, &fields));
}

/// What changing the settings of a kind takes, where one `kind`, `step` or `add to` says it.
pub(super) fn changes(
    standard: &mut Standard,
    reader: &Reader,
    kind: &tree::Kind<'_>,
    problems: &mut Vec<Diagnostic>,
) {
    let Some(&id) = standard.kind_names.get(kind.name.text) else {
        return;
    };
    let mut changed: Vec<(FieldId, Span)> = Vec::new();
    for line in &kind.block.lines {
        if let Line::Good(KindClause::Changing(changing), _) = line {
            takes(standard, reader, id, changing, &mut changed, problems);
        }
    }
}

/// What changing some settings takes. A later block says it anew, so that a shop can; `changed` are those that
/// this block has spoken of.
fn takes(
    standard: &mut Standard,
    reader: &Reader,
    id: KindId,
    changing: &tree::Changing<'_>,
    changed: &mut Vec<(FieldId, Span)>,
    problems: &mut Vec<Diagnostic>,
) {
    let time = Measure {
        dimension: Dimension::TIME,
        reading: Reading::Unit,
    };
    let Some(size) = reader.measured(&changing.time, &time, None, "changing", problems) else {
        return;
    };
    if size.exact.signum() < 0 {
        problems.push(
            Diagnostic::new(
                Code::WrongValue,
                changing.time.span,
                "a change takes no less than no time",
                "below zero",
            )
            .help("write how long the change takes, as in `20 min`"),
        );
        return;
    }
    let takes = Takes {
        time: size.exact,
        unit: size.unit,
        words: changing.words.map(|quote| quote.value()),
        span: changing.span,
    };
    for name in &changing.names {
        let Some(&field) = standard.kinds[id.0 as usize].field_names.get(name.text) else {
            problems.push(unknown_field(*name, standard, id));
            continue;
        };
        if let Some((_, first)) = changed.iter().find(|(known, _)| *known == field) {
            problems.push(
                Diagnostic::new(
                    Code::StatedTwice,
                    name.span,
                    format!(
                        "what changing `{}` takes stands twice in this block",
                        name.text
                    ),
                    "again here",
                )
                .related(*first, "said here first")
                .help("keep one of them"),
            );
            continue;
        }
        changed.push((field, name.span));
        standard.kinds[id.0 as usize].fields[field.0 as usize].takes = Some(takes.clone());
    }
}

/// An unknown setting, with the nearest known ones.
pub(super) fn unknown_field(word: Word<'_>, standard: &Standard, kind: KindId) -> Diagnostic {
    let kind = standard.kind(kind);
    let mut diagnostic = Diagnostic::new(
        Code::UnknownField,
        word.span,
        format!("`{}` has no setting `{}`", kind.name, word.text),
        "not a setting",
    );
    let part = |whole: &str, part: &str| {
        let rest = whole
            .strip_prefix(part)
            .map(|rest| rest.starts_with('-'))
            .or_else(|| whole.strip_suffix(part).map(|rest| rest.ends_with('-')));
        rest.unwrap_or(false)
    };
    // `belt-speed` for `belt`, `angle` for `squeegee-angle`.
    let mut alike: Vec<String> = kind
        .field_names
        .keys()
        .filter(|name| part(word.text, name) || part(name, word.text))
        .map(|name| format!("`{name}`"))
        .collect();
    alike.sort_unstable();
    let names = kind.field_names.keys().map(String::as_str);
    let near = nearest(word.text, names).is_none() && (1..=3).contains(&alike.len());
    if near {
        diagnostic = diagnostic.help(format!("did you mean {}?", alike.join(" or ")));
    } else if let Some(help) = did_you_mean(word.text, kind.field_names.keys().map(String::as_str))
    {
        diagnostic = diagnostic.help(help);
    } else {
        diagnostic = diagnostic.help(format!(
            "declare it in the standard: `add to {} {{`, then `{}` with its dimension",
            kind.name, word.text
        ));
    }
    diagnostic
}

fn add_field(
    standard: &mut Standard,
    reader: &Reader,
    id: KindId,
    field: &tree::Field<'_>,
    problems: &mut Vec<Diagnostic>,
) {
    let name = field.name.text;
    if let Some(&first) = standard.kinds[id.0 as usize].field_names.get(name) {
        let first = standard.field(id, first).span;
        problems.push(
            Diagnostic::new(
                Code::DuplicateName,
                field.name.span,
                format!(
                    "`{}` has the setting `{name}` already",
                    standard.kind(id).name
                ),
                "again here",
            )
            .related(first, "declared here first")
            .help("rename one of them, or take one out"),
        );
        return;
    }
    let ty = field_type(standard, &field.ty, problems);
    let measure = match &ty {
        Some(Type::Quantity(measure) | Type::Range(measure)) => Some(measure.clone()),
        _ => None,
    };
    let mut possible = None;
    if let Some((low, high)) = &field.possible {
        possible = measure
            .as_ref()
            .and_then(|measure| limits(reader, low, high, measure, name, problems));
        if measure.is_none() && ty.is_some() {
            problems.push(Diagnostic::new(
                Code::WrongValue,
                low.span.join(high.span),
                format!("`{name}` is not a quantity, so it has no possible range"),
                "not wanted here",
            ));
        }
    }
    let mut steps = Vec::new();
    let declared: &[Literal<'_>] = match &field.sort {
        Some(tree::Sort::Set(steps)) => steps,
        _ => &[],
    };
    for step in declared {
        let Some(measure) = &measure else { continue };
        let mut of = measure.clone();
        if of.dimension == Dimension::TEMPERATURE {
            of.dimension = Dimension::TEMPERATURE_DIFFERENCE;
        }
        let step = as_difference(reader, step, &of, name, problems);
        if let Some((size, unit)) = step {
            if size.signum() <= 0 {
                problems.push(Diagnostic::new(
                    Code::WrongValue,
                    field.name.span,
                    format!("the step of `{name}` must be above zero"),
                    "its step is not",
                ));
                continue;
            }
            steps.push((size, unit));
        }
    }
    problems.extend(doubtful_step(field, declared, possible.as_ref(), &steps));
    let per = source(field.per, problems);
    let kind = &mut standard.kinds[id.0 as usize];
    let number = FieldId::at(kind.fields.len());
    kind.field_names.insert(name.to_owned(), number);
    kind.fields.push(Field {
        name: name.to_owned(),
        span: field.name.span,
        // A type that could not be read is reported; text then takes whatever is stated.
        ty: ty.unwrap_or(Type::Text),
        possible,
        formula: None,
        reference: None,
        sentence: field.sentence.map(|quote| quote.value()),
        sort: sort(field),
        steps,
        takes: None,
        per,
    });
}

fn sort(field: &tree::Field<'_>) -> Sort {
    let given = |unless_stated, said| Sort::Given {
        unless_stated,
        said,
    };
    match &field.sort {
        Some(tree::Sort::Set(_)) => Sort::Set,
        Some(tree::Sort::Given(_)) => given(false, true),
        Some(tree::Sort::GivenUnlessStated(_)) => given(true, true),
        Some(tree::Sort::Measured(by)) => Sort::Measured(by.value()),
        None if field.formula.is_some() => Sort::WorkedOut,
        None => given(false, false),
    }
}

/// One line for each block with settings of which it does not say the sort.
fn unsorted(id: KindId, standard: &Standard, fields: &[FieldId]) -> Option<Diagnostic> {
    let kind = standard.kind(id);
    let quoted: Vec<String> = fields
        .iter()
        .map(|field| format!("`{}`", kind.fields[field.0 as usize].name))
        .collect();
    let (first, others) = (fields.first()?, quoted.len() - 1);
    let headline = match others {
        0 => format!(
            "{} of {} does not say whether it is set, given or measured",
            quoted.first()?,
            kind.name
        ),
        _ => format!(
            "{} settings of {} do not say whether they are set, given or measured",
            quoted.len(),
            kind.name
        ),
    };
    let said = Diagnostic::new(
        Code::SortMissing,
        kind.fields[first.0 as usize].span,
        headline,
        "counts as given",
    );
    let said = if others == 0 {
        said
    } else {
        said.note(format!("they are {}", quoted.join(", ")))
    };
    Some(said.help(
        "write `set in steps of …` (or `set`) behind what is turned or chosen for a run, `measured by \"…\"` behind \
         what somebody reads off, and `given` behind what comes with the run and nobody turns",
    ))
}

/// Reads `5 °F` as a difference where one is wanted: the step of a temperature dial.
fn as_difference(
    reader: &Reader,
    literal: &Literal<'_>,
    measure: &Measure,
    name: &str,
    problems: &mut Vec<Diagnostic>,
) -> Option<(Exact, crate::units::Unit)> {
    if measure.dimension == Dimension::TEMPERATURE_DIFFERENCE
        && let Some(word) = literal.unit
    {
        let unit = reader.unit(word, problems)?.as_difference();
        let digits = Reader::digits(literal, problems)?;
        if unit.dimension() == measure.dimension {
            return Some((unit.to_base(&digits), unit));
        }
    }
    let number = reader.measured(literal, measure, None, name, problems)?;
    Some((number.exact, number.unit))
}

/// Reads `A to B`; the first number takes the second's unit when it has none.
pub(super) fn limits(
    reader: &Reader,
    low: &Literal<'_>,
    high: &Literal<'_>,
    measure: &Measure,
    name: &str,
    problems: &mut Vec<Diagnostic>,
) -> Option<Limits> {
    let upper = reader.measured(high, measure, None, name, problems)?;
    let lower = reader.measured(low, measure, Some(&upper.unit), name, problems)?;
    let span = low.span.join(high.span);
    if lower.exact > upper.exact {
        problems.push(
            Diagnostic::new(
                Code::RangeReversed,
                span,
                format!("the lower end of `{name}` lies above its upper end"),
                "ends exchanged",
            )
            .help("write the smaller number first"),
        );
        return None;
    }
    problems.extend(mixed_ends(&lower.exact, &lower.unit, &upper.unit, low.span));
    Some(Limits {
        low: Some(lower.exact),
        high: Some(upper.exact),
        unit: upper.unit,
        span,
    })
}

/// Ends in different units: a slip in one of them would go unseen, beside a zero as well.
pub(super) fn mixed_ends(low: &Exact, own: &Unit, other: &Unit, at: Span) -> Option<Diagnostic> {
    if own.spelling() == other.spelling() {
        return None;
    }
    let better = show_exact(low, other);
    Some(
        Diagnostic::new(
            Code::RangeUnits,
            at,
            format!(
                "one end of this range is in `{}`, the other in `{}`",
                own.spelling(),
                other.spelling()
            ),
            "in another unit than the upper end",
        )
        .help(format!("write both in one unit; this is {better}")),
    )
}

/// More steps than a dial has between the ends of what is possible.
const MOST_STEPS: i64 = 100_000;

/// How many times the one step of a setting may be as large as the other.
const STEPS_ALIKE: i64 = 20;

/// A step whose unit is likely a slip.
fn doubtful_step(
    field: &tree::Field<'_>,
    declared: &[Literal<'_>],
    possible: Option<&Limits>,
    steps: &[(Exact, Unit)],
) -> Option<Diagnostic> {
    let width = possible.and_then(|limits| Some(limits.high.as_ref()?.sub(limits.low.as_ref()?)));
    let smallest = steps.iter().map(|(size, _)| size).min()?;
    let largest = steps.iter().map(|(size, _)| size).max()?;
    let why = match &width {
        Some(width) if largest > width => "is wider than all that is possible",
        Some(width) if smallest.mul(&Exact::from_int(MOST_STEPS)) < *width => {
            "is too fine for any dial"
        }
        _ if *largest > smallest.mul(&Exact::from_int(STEPS_ALIKE)) => "is far from its other step",
        _ => return None,
    };
    let name = field.name.text;
    let at = declared.first().map_or(field.span, |step| step.span);
    let at = declared.last().map_or(at, |step| at.join(step.span));
    Some(
        Diagnostic::new(
            Code::StepSize,
            at,
            format!("a step of `{name}` {why}; its unit may be a slip"),
            "here",
        )
        .help("write the smallest change the dial allows, once for each unit it is dialled in"),
    )
}

fn field_type(
    standard: &Standard,
    ty: &FieldType<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Option<Type> {
    match ty {
        FieldType::CountOf(noun) => Some(Type::Quantity(Measure {
            dimension: Dimension::NUMBER,
            reading: Reading::Count(Some(noun.text.to_owned())),
        })),
        FieldType::Choice(words) => {
            let mut choices: Vec<String> = Vec::new();
            for word in words {
                if choices.iter().any(|known| known == word.text) {
                    problems.push(Diagnostic::new(
                        Code::DuplicateName,
                        word.span,
                        format!("the choice `{}` stands twice", word.text),
                        "again here",
                    ));
                }
                choices.push(word.text.to_owned());
            }
            Some(Type::Choice(choices))
        }
        FieldType::RangeOf(word) => match measure(word.text) {
            Some(measure) => Some(Type::Range(measure)),
            None => {
                problems.push(unknown_type(*word, standard));
                None
            }
        },
        FieldType::Named(word) => {
            if let Some(measure) = measure(word.text) {
                return Some(Type::Quantity(measure));
            }
            match word.text {
                "text" => Some(Type::Text),
                "yes/no" => Some(Type::YesNo),
                "date" => Some(Type::Day),
                name => match standard.kind_names.get(name) {
                    Some(&kind) => Some(Type::Reference(kind)),
                    None => {
                        problems.push(unknown_type(*word, standard));
                        None
                    }
                },
            }
        }
    }
}

/// The measure a type's name means.
fn measure(name: &str) -> Option<Measure> {
    let (dimension, reading) = match name {
        "share" => (Dimension::NUMBER, Reading::Share),
        "count" => (Dimension::NUMBER, Reading::Count(None)),
        "number" => (Dimension::NUMBER, Reading::Number),
        other => (Dimension::named(other)?, Reading::Unit),
    };
    Some(Measure { dimension, reading })
}

fn unknown_type(word: Word<'_>, standard: &Standard) -> Diagnostic {
    let mut diagnostic = Diagnostic::new(
        Code::UnknownType,
        word.span,
        format!("there is no type `{}`", word.text),
        "not a type",
    );
    let dimensions = Dimension::names().iter().map(|(name, ..)| *name);
    let kinds = standard.kind_names.keys().map(String::as_str);
    let known = dimensions.chain(OTHER_TYPES).chain(kinds);
    if let Some(near) = crate::names::nearest(word.text, known) {
        diagnostic = diagnostic.help(format!("did you mean `{near}`?"));
    } else {
        diagnostic = diagnostic.help(
            "a type is a dimension (`length`, `time`, `temperature` …), `share`, `count`, `text`, `yes/no`, `date`, \
             `choice of`, `range of`, or a kind",
        );
    }
    diagnostic
}
