//! A standard from its files.

use std::collections::{BTreeSet, HashMap};

use super::calibration::calibrations;
use super::deviation::deviation;
use super::example::example;
use super::expression::Typer;
use super::formulas::check_formula_cycles;
use super::inherit::{check_loosening, check_sources, cut_cycles};
use super::kinds::{changes, declare, fill, nouns, source, unknown_field, unknown_kind};
use super::literal::Reader;
use super::mismatch;
use super::model::{
    Digest, FieldId, Instance, KindId, Measure, Origin, Reading, RecordId, Standard, Stated, Type,
};
use super::paths::{Context, End, resolve};
use super::readings::taken;
use super::rules::rule;
use super::shares::check_shares;
use super::table::table;
use super::taken_out::take_out;
use super::value::Values;
use crate::diagnostic::{Code, Diagnostic};
use crate::names::Scope;
use crate::source::{FileId, Span};
use crate::syntax::tree::{self, ExprNode, KindClause, Line};
use crate::units::{Dimension, Unit};

/// Builds a standard. What is wrong is reported; the rest is still built.
///
/// What is wrong with deviations goes into `ungoverned`: it keeps no plan from being checked.
#[must_use]
pub fn build_standard(
    root: FileId,
    files: Vec<FileId>,
    scope: &Scope<'_>,
    problems: &mut Vec<Diagnostic>,
    ungoverned: &mut Vec<Diagnostic>,
) -> Standard {
    let mut standard = Standard {
        root,
        name: scope
            .header
            .map(|header| header.name.value())
            .unwrap_or_default(),
        edition: scope
            .header
            .and_then(|header| header.edition)
            .map(|quote| quote.value()),
        kinds: Vec::new(),
        kind_names: HashMap::new(),
        records: Vec::new(),
        calibrated: BTreeSet::new(),
        record_names: HashMap::new(),
        rules: Vec::new(),
        examples: Vec::new(),
        deviations: Vec::new(),
        taken_out: Vec::new(),
        reader: Reader::default(),
        digest: Digest::default(),
        files,
    };
    let all = || scope.kinds.iter().chain(&scope.additions).copied();
    let mut reader = Reader {
        nouns: nouns(all()).into_iter().collect(),
        ..Reader::default()
    };
    units(&mut reader, scope, problems);
    declare(&mut standard, &scope.kinds);
    for kind in all() {
        fill(&mut standard, &reader, kind, problems);
    }
    for kind in all() {
        changes(&mut standard, &reader, kind, problems);
    }
    records(&mut standard, &reader, scope, problems);
    cut_cycles(&mut standard, problems);
    check_loosening(&standard, problems);
    check_sources(&standard, problems);
    check_shares(&standard, problems);
    for kind in all() {
        formulas(&mut standard, &reader, kind, problems);
    }
    check_formula_cycles(&mut standard, problems);
    for (tree, caution) in &scope.rules {
        let built = rule(&standard, &reader, tree, *caution, problems);
        standard.rules.push(built);
    }
    for tree in &scope.tables {
        let built = table(&standard, &reader, tree, problems);
        standard.rules.push(built);
    }
    take_out(&mut standard, &scope.taken_out, problems);
    for tree in &scope.deviations {
        let built = deviation(&standard, &reader, tree, ungoverned);
        standard.deviations.push(built);
    }
    for tree in &scope.examples {
        let built = example(&standard, &reader, tree, problems);
        standard.examples.push(built);
    }
    standard.reader = reader;
    standard.digest = super::digest::digest(&standard);
    standard
}

/// Units of the shop's own.
fn units(reader: &mut Reader, scope: &Scope<'_>, problems: &mut Vec<Diagnostic>) {
    for (name, value) in &scope.units {
        if Unit::parse(name.text).is_ok() || reader.nouns.contains(name.text) {
            problems.push(
                Diagnostic::new(
                    Code::DuplicateName,
                    name.span,
                    format!("`{}` is a unit already", name.text),
                    "again here",
                )
                .help("choose another name"),
            );
            continue;
        }
        let Some(digits) = Reader::digits(value, problems) else {
            continue;
        };
        let unit = match value.unit {
            Some(word) => match reader.unit(word, problems) {
                Some(unit) => unit,
                None => continue,
            },
            None => Unit::bare(),
        };
        if digits.signum() <= 0 || unit.is_point() {
            problems.push(Diagnostic::new(
                Code::WrongValue,
                value.span,
                format!(
                    "`{}` must be a size above zero, and not a temperature point",
                    name.text
                ),
                "not such a size",
            ));
            continue;
        }
        let own = Unit::custom(name.text, &digits, &unit);
        reader.units.insert(name.text.to_owned(), own);
    }
}

/// Records: names first, so that they may refer to each other; then values.
fn records(
    standard: &mut Standard,
    reader: &Reader,
    scope: &Scope<'_>,
    problems: &mut Vec<Diagnostic>,
) {
    let mut known = Vec::new();
    for record in &scope.records {
        let Some(&kind) = standard.kind_names.get(record.kind.text) else {
            problems.push(unknown_kind(record.kind, standard, &STATEMENTS));
            continue;
        };
        if standard.kind(kind).place == super::PlaceInRun::Step {
            problems.push(
                Diagnostic::new(
                    Code::MisplacedStatement,
                    record.kind.span,
                    format!(
                        "`{}` is a step; steps stand in the sequence of a plan",
                        record.kind.text
                    ),
                    "a step here",
                )
                .help("put the record into a kind of its own, as a flash unit is for a flash"),
            );
            continue;
        }
        let Some(name) = record.name else { continue };
        let id = RecordId::at(standard.records.len());
        standard
            .record_names
            .insert((kind, name.text.to_owned()), id);
        standard.records.push(Instance {
            kind,
            name: name.text.to_owned(),
            header: Some(record.kind.span.join(name.span)),
            insert: insert_at(record),
            title: record.title.map(|quote| quote.value()),
            values: vec![None; standard.kind(kind).fields.len()],
            calibrations: Vec::new(),
            parent: None,
            not_listed: false,
        });
        known.push((id, kind, *record));
    }
    for (id, kind, record) in known {
        if let Some(words) = record.not_listed {
            problems.push(
                Diagnostic::new(
                    Code::ClauseMisplaced,
                    words,
                    "`is not listed` says of a thing of a plan that it is none of the records",
                    "not in a standard",
                )
                .help("leave it out: a record that is no child of another stands by itself"),
            );
        }
        if let Some(parent) = record.parent {
            match standard.record_names.get(&(kind, parent.text.to_owned())) {
                Some(&found) => standard.records[id.0 as usize].parent = Some(found),
                None => {
                    let known = super::condition::record_words(standard, kind);
                    let mut diagnostic = Diagnostic::new(
                        Code::UnknownRecord,
                        parent.span,
                        format!("there is no {} `{}`", record.kind.text, parent.text),
                        "not declared",
                    );
                    let help = crate::names::in_a_spec(&[record.kind.text], parent.text)
                        .or_else(|| crate::names::did_you_mean(parent.text, known));
                    if let Some(help) = help {
                        diagnostic = diagnostic.help(help);
                    }
                    problems.push(diagnostic);
                }
            }
        }
        let (values, calibrations) = {
            let nobody = |_: KindId, _: &str| None;
            let reading = Values {
                standard,
                reader,
                things: &nobody,
                names: &[],
            };
            (
                clauses(&reading, kind, record, Origin::Standard, problems),
                calibrations(&reading, kind, record, problems),
            )
        };
        let dials = calibrations.iter().map(|(field, _)| (kind, *field));
        standard.calibrated.extend(dials);
        standard.records[id.0 as usize].values = values;
        standard.records[id.0 as usize].calibrations = calibrations;
    }
}

/// Words that start a statement, for suggestions.
pub(super) const STATEMENTS: [&str; 9] = [
    "standard", "use", "unit", "kind", "step", "rule", "caution", "sequence", "run",
];

/// Where a further clause of a block would be written: behind its last line.
pub(super) fn insert_at(record: &tree::Record<'_>) -> Option<Span> {
    let block = record.block.as_ref()?;
    let end = block.close.map_or(block.open.end, |close| close.start);
    Some(Span::new(block.open.file, end as usize, end as usize))
}

/// The values of a block, by setting.
pub(super) fn clauses(
    reading: &Values<'_>,
    kind: KindId,
    record: &tree::Record<'_>,
    origin: Origin,
    problems: &mut Vec<Diagnostic>,
) -> Vec<Option<Stated>> {
    let declared = reading.standard.kind(kind);
    let mut values: Vec<Option<Stated>> = vec![None; declared.fields.len()];
    let Some(block) = &record.block else {
        return values;
    };
    for line in &block.lines {
        let Line::Good(clause, _) = line else {
            continue;
        };
        let Some(&field) = declared.field_names.get(clause.name.text) else {
            problems.push(unknown_field(clause.name, reading.standard, kind));
            continue;
        };
        if clause.shows.is_some() {
            // What a dial of the room shows is for all its plans alike.
            if origin == Origin::Plan {
                problems.push(
                    Diagnostic::new(
                        Code::ClauseMisplaced,
                        clause.span,
                        format!(
                            "what the dial of `{}` shows is said in the standard, at the record",
                            clause.name.text
                        ),
                        "not in a plan",
                    )
                    .help(format!(
                        "here, write where it is set, `{} …`; two lines with `shows` or more go into the record",
                        clause.name.text
                    )),
                );
            }
            continue;
        }
        let slot = field.0 as usize;
        if let Some(first) = &values[slot] {
            problems.push(
                Diagnostic::new(
                    Code::StatedTwice,
                    clause.span,
                    format!("`{}` is stated twice", clause.name.text),
                    "again here",
                )
                .related(first.span, "stated here first")
                .help("keep one of them"),
            );
            continue;
        }
        if origin == Origin::Plan
            && let Some(span) = clause.loosens
        {
            problems.push(
                Diagnostic::new(
                    Code::ClauseMisplaced,
                    span,
                    "a plan cannot loosen a limit of the standard",
                    "not in a plan",
                )
                .help("change the standard, or have a deviation approved"),
            );
        }
        let value = reading.read(&declared.fields[slot], &clause.value, problems);
        let per = source(clause.per, problems);
        let taken = taken(reading, &declared.fields[slot], clause.taken, problems);
        values[slot] = Some(Stated {
            value,
            span: clause.value.span,
            origin,
            per,
            taken,
            loosened: clause.loosens.map(|_| {
                clause
                    .because
                    .map(|quote| quote.value())
                    .unwrap_or_default()
            }),
        });
    }
    values
}

/// Works out the formulas of one `kind`, `step` or `add to`.
fn formulas(
    standard: &mut Standard,
    reader: &Reader,
    kind: &tree::Kind<'_>,
    problems: &mut Vec<Diagnostic>,
) {
    let Some(&id) = standard.kind_names.get(kind.name.text) else {
        return;
    };
    for line in &kind.block.lines {
        let Line::Good(KindClause::Field(field), _) = line else {
            continue;
        };
        let Some(&number) = standard.kind(id).field_names.get(field.name.text) else {
            continue;
        };
        // A second setting of the same name was reported; its formula is not the first one's.
        if standard.field(id, number).span != field.name.span {
            continue;
        }
        let Some(expr) = &field.formula else { continue };
        let context = Context {
            own: Some(id),
            ..Context::default()
        };
        match standard.field(id, number).ty.clone() {
            Type::Quantity(measure) => {
                let built = Typer {
                    standard,
                    reader,
                    context,
                    problems,
                }
                .expression(expr);
                let Some(built) = built else { continue };
                if let Some(problem) =
                    wrong_result(&measure, built.dimension, field.name.span, expr.span)
                {
                    problems.push(problem);
                    continue;
                }
                standard.kinds[id.0 as usize].fields[number.0 as usize].formula = Some(built);
            }
            ty @ Type::Reference(_) => {
                reference(standard, context, id, number, &ty, expr, problems)
            }
            _ => problems.push(
                Diagnostic::new(
                    Code::WrongValue,
                    expr.span,
                    format!(
                        "`{}` is not a quantity, so it cannot be worked out",
                        field.name.text
                    ),
                    "a formula here",
                )
                .help("take the formula out"),
            ),
        }
    }
}

fn wrong_result(
    measure: &Measure,
    found: Dimension,
    name: Span,
    formula: Span,
) -> Option<Diagnostic> {
    let fits = found == measure.dimension
        || measure.dimension == Dimension::PIECES && found == Dimension::NUMBER;
    (!fits || measure.reading == Reading::Share && found != Dimension::NUMBER).then(|| {
        mismatch::different(
            "a formula",
            formula,
            (measure.dimension, name),
            (found, formula),
        )
    })
}

fn reference(
    standard: &mut Standard,
    context: Context,
    kind: KindId,
    field: FieldId,
    ty: &Type,
    expr: &tree::Expr<'_>,
    problems: &mut Vec<Diagnostic>,
) {
    let ExprNode::Path(path) = &expr.node else {
        problems.push(Diagnostic::new(
            Code::WrongValue,
            expr.span,
            "the formula of a reference is a path to a thing",
            "not a path",
        ));
        return;
    };
    // In `unit flash-unit = flash-unit` the last word is the kind, not the setting itself.
    let mut outer = context;
    if path.words.len() == 1 && path.words[0].text == standard.field(kind, field).name {
        outer.own = None;
    }
    let Some((path, end)) = resolve(standard, &outer, path, problems) else {
        return;
    };
    let fits = match (&end, ty) {
        (End::Thing(found), Type::Reference(wanted)) => found == wanted,
        (End::Value(found), wanted) => found == wanted,
        _ => false,
    };
    if fits {
        standard.kinds[kind.0 as usize].fields[field.0 as usize].reference = Some(path);
    } else {
        problems.push(Diagnostic::new(
            Code::WrongValue,
            expr.span,
            format!("`{}` leads to another sort of thing", path.text),
            "another sort of thing",
        ));
    }
}
