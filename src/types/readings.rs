//! Readings: values that were read off, when, with what, of how many pieces, and at which settings.

use super::date::Date;
use super::kinds::{unknown_field, unknown_kind};
use super::model::{
    Field, FieldId, InstanceId, KindId, Measure, Origin, PlaceInRun, Quantity, Reading,
    ReadingBlock, RecordId, Run, Sort, Standard, Stated, Taken, TakenAt, Target, Type, Value,
};
use super::run::push;
use super::value::Values;
use crate::diagnostic::{Code, Diagnostic};
use crate::names::did_you_mean;
use crate::source::Span;
use crate::syntax::tree::{self, Line, Literal, Path, ReadingClauseNode, Word};
use crate::units::Dimension;

/// The kind whose records are instruments.
pub const INSTRUMENT: &str = "instrument";

/// The setting of an instrument that says when its calibration falls due.
pub const DUE: &str = "due";

/// How the words of a step's path start: `step-4` is the fourth of the sequence.
const STEP: &str = "step-";

/// How a value was read off, as it is said behind it.
pub(super) fn taken(
    reading: &Values<'_>,
    field: &Field,
    taken: Option<tree::Taken<'_>>,
    problems: &mut Vec<Diagnostic>,
) -> Option<Box<Taken>> {
    let taken = taken?;
    if !may_be_read(field) {
        problems.push(not_read_off(field, &field.name, taken.span));
    }
    let mut built = Taken {
        on: Date::read(taken.on, "read on", problems),
        ..Taken::default()
    };
    built.with = taken
        .with
        .and_then(|name| instrument(reading.standard, name, problems));
    built.pieces = taken
        .pieces
        .and_then(|literal| pieces(reading, &literal, problems));
    Some(Box::new(built))
}

/// Adds the readings of a plan to its things.
pub(super) fn readings(
    run: &mut Run,
    reading: &Values<'_>,
    readings: &[&tree::Reading<'_>],
    problems: &mut Vec<Diagnostic>,
) {
    for one in readings {
        let Some((thing, field)) = target(run, reading.standard, &one.of, problems) else {
            continue;
        };
        add(run, reading, one, (thing, field), problems);
    }
}

fn may_be_read(field: &Field) -> bool {
    matches!(field.sort, Sort::Measured(_) | Sort::WorkedOut)
        && matches!(field.ty, Type::Quantity(_))
}

fn not_read_off(field: &Field, name: &str, at: Span) -> Diagnostic {
    let (why, help) = match field.sort {
        Sort::Set => (
            "is set",
            "state what it is set to, without a reading; where the dial is off, measure what it moves",
        ),
        Sort::Given { .. } => (
            "is given",
            "state it without a reading, or declare it `measured by \"…\"` in the standard",
        ),
        Sort::Measured(_) | Sort::WorkedOut => ("is no number", "state it without a reading"),
    };
    Diagnostic::new(
        Code::NotReadOff,
        at,
        format!("`{name}` {why}, so there is no reading of it"),
        "not read off",
    )
    .help(help)
}

/// The setting a path of a plan means: `film.peak`, `screen.base.tension`, `step-4.pallet-after`.
fn target(
    run: &mut Run,
    standard: &Standard,
    path: &Path<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Option<(InstanceId, FieldId)> {
    let mut words = path.words.iter().copied();
    let first = words.next()?;
    let (thing, kind) = match first.text.strip_prefix(STEP).map(str::parse::<usize>) {
        Some(Ok(number)) => {
            let step = number.checked_sub(1).and_then(|place| run.steps.get(place));
            let Some(&step) = step else {
                problems.push(
                    Diagnostic::new(
                        Code::UnknownPath,
                        first.span,
                        format!("the sequence has no step {number}"),
                        "no such step",
                    )
                    .help(format!("it has {} steps, counted from 1", run.steps.len())),
                );
                return None;
            };
            (step, run.instance(step).kind)
        }
        _ => thing(run, standard, first, &mut words, problems)?,
    };
    let Some(setting) = words.next() else {
        problems.push(
            Diagnostic::new(
                Code::UnknownPath,
                path.span,
                format!(
                    "`{}` says which thing, and not which of its settings",
                    whole(path)
                ),
                "the setting is missing",
            )
            .help(format!("write what was read off: `{}.…`", whole(path))),
        );
        return None;
    };
    let Some(&field) = standard.kind(kind).field_names.get(setting.text) else {
        problems.push(unknown_field(setting, standard, kind));
        return None;
    };
    if let Some(more) = words.next() {
        problems.push(
            Diagnostic::new(
                Code::UnknownPath,
                more.span,
                format!("`{}` has no settings of its own here", setting.text),
                "leads nowhere",
            )
            .help("a reading is of one setting of one thing, as in `screen.base.tension`"),
        );
        return None;
    }
    Some((thing, field))
}

fn whole(path: &Path<'_>) -> String {
    let words: Vec<&str> = path.words.iter().map(|word| word.text).collect();
    words.join(".")
}

/// The thing a path starts with. Of a kind of which there may be many, its name comes next.
fn thing<'t>(
    run: &mut Run,
    standard: &Standard,
    first: Word<'t>,
    words: &mut impl Iterator<Item = Word<'t>>,
    problems: &mut Vec<Diagnostic>,
) -> Option<(InstanceId, KindId)> {
    let Some(&kind) = standard.kind_names.get(first.text) else {
        problems.push(unknown_kind(first, standard, &[]));
        return None;
    };
    let refused = |headline: String, help: String| {
        Diagnostic::new(Code::UnknownPath, first.span, headline, "which one?").help(help)
    };
    match standard.kind(kind).place {
        PlaceInRun::One => {
            let id = run.singles[kind.index()].unwrap_or_else(|| push(run, kind, standard));
            run.singles[kind.index()] = Some(id);
            Some((id, kind))
        }
        PlaceInRun::Many => {
            let word = words.next();
            let things = run.many[kind.index()].iter();
            let known: Vec<&str> = things
                .clone()
                .map(|id| run.instance(*id).name.as_str())
                .collect();
            let found = word.and_then(|word| {
                let mut things = things;
                things.find(|id| run.instance(**id).name == word.text)
            });
            if let Some(id) = found {
                return Some((*id, kind));
            }
            problems.push(match word {
                Some(word) => {
                    let problem = Diagnostic::new(
                        Code::UnknownPath,
                        word.span,
                        format!("the run has no {} `{}`", first.text, word.text),
                        "not in this plan",
                    );
                    match did_you_mean(word.text, known) {
                        Some(help) => problem.help(help),
                        None => problem,
                    }
                }
                None => refused(
                    format!("a run may have several of `{}`", first.text),
                    format!("say which: `{}.name.setting`", first.text),
                ),
            });
            None
        }
        PlaceInRun::Step => {
            problems.push(refused(
                format!("`{}` is a step, and there may be several", first.text),
                "say which by its place in the sequence, as in `step-4.pallet-after`".to_owned(),
            ));
            None
        }
        PlaceInRun::Record => {
            problems.push(refused(
                format!("things of kind `{}` stand in the standard", first.text),
                "a plan reads off what a run has: its garment, its screens, its film …".to_owned(),
            ));
            None
        }
    }
}

fn add(
    run: &mut Run,
    reading: &Values<'_>,
    one: &tree::Reading<'_>,
    (thing, field): (InstanceId, FieldId),
    problems: &mut Vec<Diagnostic>,
) {
    let standard = reading.standard;
    let kind = run.instance(thing).kind;
    let declared = standard.field(kind, field);
    let head = one.keyword.join(one.of.span);
    let name = whole(&one.of);
    if !may_be_read(declared) {
        problems.push(not_read_off(declared, &name, head));
        return;
    }
    let end = one
        .block
        .close
        .map_or(one.block.open.end, |close| close.start);
    let mut taken = Taken {
        block: Some(ReadingBlock {
            head,
            insert: one
                .block
                .close
                .map(|_| Span::new(head.file, end as usize, end as usize)),
        }),
        ..Taken::default()
    };
    let mut value: Option<(Value, Span)> = None;
    let mut first: [Option<Span>; 4] = [None; 4];
    for line in &one.block.lines {
        let Line::Good(clause, _) = line else {
            continue;
        };
        let slot = match &clause.node {
            ReadingClauseNode::Value(_) => Some(0),
            ReadingClauseNode::On(_) => Some(1),
            ReadingClauseNode::With(_) => Some(2),
            ReadingClauseNode::Pieces(_) => Some(3),
            ReadingClauseNode::At { .. } => None,
        };
        if let Some(slot) = slot {
            if let Some(before) = first[slot] {
                problems.push(twice("this clause", clause.span, before));
                continue;
            }
            first[slot] = Some(clause.span);
        }
        match &clause.node {
            ReadingClauseNode::Value(written) => {
                value = Some((reading.read(declared, written, problems), written.span));
            }
            ReadingClauseNode::On(word) => taken.on = Date::read(*word, "on", problems),
            ReadingClauseNode::With(word) => taken.with = instrument(standard, *word, problems),
            ReadingClauseNode::Pieces(literal) => {
                taken.pieces = pieces(reading, literal, problems);
            }
            ReadingClauseNode::At { of, value } => {
                let before = problems.len();
                let at = taken_at(run, reading, of, value, problems);
                let Some(at) = at else {
                    debug_assert!(problems.len() > before, "left out without a word");
                    continue;
                };
                let known = taken
                    .at
                    .iter()
                    .find(|known| (known.target, known.field) == (at.target, at.field));
                match known {
                    Some(known) => problems.push(twice(
                        &format!("what `{}` was", whole(of)),
                        clause.span,
                        known.span,
                    )),
                    None => taken.at.push(at),
                }
            }
        }
    }
    let slot = &mut run.instances[thing.index()].values[field.index()];
    match (slot, value) {
        (Some(stated), Some(_)) => problems.push(
            Diagnostic::new(
                Code::StatedTwice,
                head,
                format!("`{name}` is stated twice"),
                "again here",
            )
            .related(stated.span, "stated here first")
            .help("keep one of them, or leave `value` out here to say when and at which settings the other was taken"),
        ),
        (Some(stated), None) => match &mut stated.taken {
            // What is said behind the value stands; the block adds to it.
            Some(known) => {
                known.on = known.on.or(taken.on);
                known.with = known.with.or(taken.with);
                known.pieces = known.pieces.or(taken.pieces);
                known.block = taken.block;
                if known.block.is_some_and(|_| !known.at.is_empty()) {
                    problems.push(twice("this reading", head, stated.span));
                } else {
                    known.at = taken.at;
                }
            }
            None => stated.taken = Some(Box::new(taken)),
        },
        (slot, Some((value, span))) => {
            *slot = Some(Stated {
                value,
                span,
                origin: Origin::Plan,
                per: None,
                loosened: None,
                taken: Some(Box::new(taken)),
            });
        }
        (None, None) => problems.push(
            Diagnostic::new(
                Code::ReadingMalformed,
                head,
                format!("this reading of `{name}` has no value"),
                "what was read?",
            )
            .help("write `value` and what was read, with `±` and how far it may be off"),
        ),
    }
}

fn twice(what: &str, at: Span, first: Span) -> Diagnostic {
    Diagnostic::new(
        Code::StatedTwice,
        at,
        format!("{what} is said twice"),
        "again here",
    )
    .related(first, "said here first")
    .help("keep one of them")
}

/// A setting as it was: one that is set.
fn taken_at(
    run: &mut Run,
    reading: &Values<'_>,
    of: &Path<'_>,
    value: &tree::Value<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Option<TakenAt> {
    let (thing, field) = target(run, reading.standard, of, problems)?;
    let kind = run.instance(thing).kind;
    let declared = reading.standard.field(kind, field);
    if declared.sort != Sort::Set || !matches!(declared.ty, Type::Quantity(_)) {
        problems.push(
            Diagnostic::new(
                Code::ReadingMalformed,
                of.span,
                format!("`{}` is not a number that is set", whole(of)),
                "not set",
            )
            .help("a reading belongs to what was set when it was taken: say where the dials stood"),
        );
        return None;
    }
    match reading.read(declared, value, problems) {
        Value::Quantity(quantity) => Some(TakenAt {
            target: Target::Thing(thing),
            field,
            quantity: Quantity::clone(&quantity),
            span: value.span,
        }),
        _ => None,
    }
}

/// The instrument of a name.
fn instrument(
    standard: &Standard,
    word: Word<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Option<RecordId> {
    let kind = standard.kind_names.get(INSTRUMENT).copied();
    let found = kind.and_then(|kind| {
        let key = (kind, word.text.to_owned());
        standard.record_names.get(&key).copied()
    });
    if found.is_none() {
        let problem = Diagnostic::new(
            Code::UnknownRecord,
            word.span,
            format!("the standard has no {INSTRUMENT} `{}`", word.text),
            "not in the standard",
        );
        let known = kind.map_or_else(Vec::new, |kind| {
            super::condition::record_words(standard, kind)
        });
        let help = did_you_mean(word.text, known)
            .unwrap_or_else(|| format!("declare it there: `{INSTRUMENT} {} {{`", word.text));
        problems.push(problem.help(help));
    }
    found
}

/// Of how many pieces a reading speaks.
fn pieces(
    reading: &Values<'_>,
    literal: &Literal<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Option<u32> {
    let measure = Measure {
        dimension: Dimension::PIECES,
        reading: Reading::Unit,
    };
    let number = reading
        .reader
        .measured(literal, &measure, None, "pieces", problems)?;
    let whole = number.exact.to_i64().filter(|_| number.exact.is_integer());
    let pieces = whole.and_then(|pieces| u32::try_from(pieces).ok());
    let pieces = pieces.filter(|pieces| *pieces > 0);
    if pieces.is_none() {
        problems.push(
            Diagnostic::new(
                Code::NotWhole,
                literal.span,
                "a reading is of a whole number of pieces, one at least",
                "not a number of pieces",
            )
            .help("write how many were measured, as in `5 pieces`"),
        );
    }
    pieces
}
