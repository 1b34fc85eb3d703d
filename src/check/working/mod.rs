//! The working: every figure of a run with its formula, the numbers put in, and what came out.

mod choose;
mod curves;
mod levels;
mod numbers;
mod order;
mod picture;
mod shares;

use crate::diagnostic::{
    Basis, Diagnostic, Figure, Formula, Idle, Interval, Picture, Severity, StatedFigure, Working,
};
use crate::eval::{Aim, Frame, Leaf, Memory, Range, Scene, Stop, range, taken};
use crate::interval::Bounds;
use crate::names::plan_scope;
use crate::source::{FileId, Store, visible};
use crate::syntax;
use crate::types::{
    Expression, ExpressionNode, Field, Function, KindId, Measure, Quantity, Reading, Run, Type,
    build_run, source_words,
};
use crate::units::{Exact, Unit};

use super::atom::unit_of;
use super::disagree::apart;
use super::plan::Prepared;
use super::words;

/// What is shown.
#[derive(Debug, Clone, Copy)]
pub struct Wanted<'a> {
    /// Figures by name; none means all of the run.
    pub fields: &'a [String],
    /// A picture as well.
    pub picture: bool,
}

/// Why there is no working.
#[derive(Debug, Clone)]
pub enum NoWorking {
    /// Trouble with the plan's text.
    Text(Vec<Diagnostic>),
    /// Names that nothing answers to; a sentence each.
    Names(Vec<String>),
}

/// The working of a plan.
///
/// # Errors
/// When the plan cannot be read, or a figure that was asked for does not exist.
pub fn working(
    store: &Store,
    prepared: &Prepared,
    file: FileId,
    wanted: Wanted<'_>,
) -> Result<(Working, Option<Picture>), NoWorking> {
    let run = readable(store, prepared, file)?;
    let standard = &prepared.standard;
    let memory = Memory::default();
    let scene = Scene::new(standard, &run).remembering(&memory);
    let chosen = choose::choose(&scene, wanted.fields).map_err(NoWorking::Names)?;
    let mut figures = Vec::new();
    let mut idle = Vec::new();
    for leaf in &chosen {
        if wanted.fields.is_empty()
            && let Some(alone) = stated_alone(&scene, *leaf)
        {
            idle.push(alone);
            continue;
        }
        match figure(&scene, *leaf) {
            Ok(found) => figures.push(found),
            Err(missing) if wanted.fields.is_empty() => idle.push(missing),
            Err(missing) => figures.push(Figure {
                result: Some(Err(missing.missing)),
                ..bare(&scene, *leaf)
            }),
        }
    }
    let picture = wanted
        .picture
        .then(|| picture::picture(&scene, &chosen, &run.name));
    let working = Working {
        file,
        name: run.name.clone(),
        standard: standard.root,
        standard_name: standard.name.clone(),
        edition: standard.edition.clone(),
        digest: standard.digest.0.clone(),
        figures,
        idle,
    };
    Ok((working, picture))
}

/// The run of a plan whose text is without fault.
///
/// # Errors
/// What is wrong with it.
pub fn readable(store: &Store, prepared: &Prepared, file: FileId) -> Result<Run, NoWorking> {
    let parsed = syntax::parse(file, store.get(file).text());
    let mut problems: Vec<Diagnostic> = parsed.diagnostics().collect();
    let (scope, misplaced) = plan_scope(&parsed.tree);
    problems.extend(misplaced);
    if !prepared.usable() {
        return Err(NoWorking::Text(problems));
    }
    let run = build_run(file, &prepared.standard, &scope, &mut problems);
    let readable = problems.iter().all(|said| said.severity != Severity::Error);
    readable.then_some(run).ok_or(NoWorking::Text(problems))
}

/// The frame in which the formulas of a thing are worked out.
fn own(leaf: Leaf) -> Frame {
    Frame {
        own: Some(leaf.target),
        ..Frame::default()
    }
}

fn declared<'a>(scene: &Scene<'a>, leaf: Leaf) -> (KindId, &'a Field) {
    let kind = scene.run.target(scene.standard, leaf.target).kind;
    (kind, scene.standard.field(kind, leaf.field))
}

/// The unit people read a setting in: the one it is stated in, else the one it is declared in.
fn reading_unit(scene: &Scene<'_>, leaf: Leaf) -> Unit {
    if let Some(quantity) = scene.quantity(leaf.target, leaf.field) {
        return quantity.unit.clone();
    }
    let (_, field) = declared(scene, leaf);
    let Type::Quantity(Measure { dimension, reading }) = &field.ty else {
        return Unit::bare();
    };
    match reading {
        Reading::Share => return Unit::percent(),
        Reading::Count(Some(noun)) => return Unit::noun(noun),
        Reading::Count(None) | Reading::Number => return Unit::bare(),
        Reading::Unit => {}
    }
    let formula = field.formula.as_ref().and_then(|formula| {
        formula_unit(scene, own(leaf), formula).filter(|unit| unit.dimension() == *dimension)
    });
    let possible = || field.possible.as_ref().map(|limits| limits.unit.clone());
    formula
        .or_else(possible)
        .unwrap_or_else(|| Unit::usual(*dimension))
}

/// The unit that the values behind a formula hand on to it: `µm` for `1 / mesh - thread`.
fn formula_unit(scene: &Scene<'_>, frame: Frame, formula: &Expression) -> Option<Unit> {
    let formula = taken(scene, frame, formula);
    let same = |part: &Expression| part.dimension == formula.dimension;
    match &formula.node {
        ExpressionNode::Binary { left, right, .. } => [left, right]
            .into_iter()
            .filter(|part| same(part))
            .find_map(|part| formula_unit(scene, frame, part)),
        ExpressionNode::Negative(inner) => formula_unit(scene, frame, inner),
        // A figure of the physics table is no like of its inputs: a film is not read as the air is set.
        ExpressionNode::Call(Function::Figure(_), _) | ExpressionNode::Power(..) => None,
        ExpressionNode::Call(_, parts) => parts
            .iter()
            .filter(|part| same(part))
            .find_map(|part| formula_unit(scene, frame, part)),
        // Of what is itself worked out: the unit it is declared in.
        _ => unit_of(scene, frame, formula),
    }
}

/// A figure without its numbers.
fn bare(scene: &Scene<'_>, leaf: Leaf) -> Figure {
    let (kind, field) = declared(scene, leaf);
    let unit = reading_unit(scene, leaf);
    let formula = field.formula.as_ref().map(|formula| Formula {
        written: crate::types::expression_words(scene.standard, formula),
        short: numbers::short(scene, own(leaf), formula),
        numbers: numbers::put_in(scene, own(leaf), formula),
        span: formula.span,
        calls: numbers::calls(scene, own(leaf), formula),
    });
    Figure {
        setting: words::setting(scene, leaf),
        kind: scene.standard.kind(kind).name.clone(),
        field: field.name.clone(),
        sentence: field
            .sentence
            .as_deref()
            .map(|text| visible(text).into_owned()),
        unit: unit.spelling().to_owned(),
        formula,
        result: None,
        stated: None,
        widened_by: Vec::new(),
        other_inputs: 0.0,
        source: field.per.as_ref().map(source_words),
    }
}

/// A stated figure whose formula lacks a value, so that there is nothing to show but the statement.
fn stated_alone(scene: &Scene<'_>, leaf: Leaf) -> Option<Idle> {
    let quantity = scene.quantity(leaf.target, leaf.field)?;
    let formula = declared(scene, leaf).1.formula.as_ref()?;
    match range(scene, own(leaf), Aim::value(formula)) {
        Err(Stop::Missing(gap)) => Some(Idle {
            setting: words::setting(scene, leaf),
            missing: format!(
                "stated as {}; not compared, as {}",
                quantity_words(quantity),
                gap_words(scene, &gap)
            ),
        }),
        _ => None,
    }
}

/// A figure with its working; an error when a value is missing.
fn figure(scene: &Scene<'_>, leaf: Leaf) -> Result<Figure, Idle> {
    let (_, field) = declared(scene, leaf);
    let quantity = scene.quantity(leaf.target, leaf.field);
    let worked_out = field
        .formula
        .as_ref()
        .map(|formula| (formula, range(scene, own(leaf), Aim::value(formula))));
    let missing = match (&worked_out, quantity) {
        (Some((_, Err(Stop::Missing(gap)))), None) => Some(gap_words(scene, gap)),
        (None, None) => Some("it is not stated, and the standard has no formula for it".to_owned()),
        _ => None,
    };
    if let Some(missing) = missing {
        return Err(Idle {
            setting: words::setting(scene, leaf),
            missing,
        });
    }
    let unit = reading_unit(scene, leaf);
    let mut figure = bare(scene, leaf);
    if let Some(quantity) = quantity {
        let found = worked_out
            .as_ref()
            .and_then(|(_, found)| found.as_ref().ok());
        figure.stated = Some(stated(scene, leaf, quantity, &unit, found));
    }
    if let Some((formula, found)) = worked_out {
        if let Ok(found) = &found {
            let shares = shares::shares(scene, leaf, formula, found);
            figure.widened_by = shares.listed;
            figure.other_inputs = shares.others;
        }
        figure.result = Some(match found {
            Ok(found) => Ok(interval(&found, &unit)),
            Err(stop) => Err(stop_words(scene, &stop)),
        });
    }
    Ok(figure)
}

fn stated(
    scene: &Scene<'_>,
    leaf: Leaf,
    quantity: &Quantity,
    unit: &Unit,
    worked_out: Option<&Range>,
) -> StatedFigure {
    let stated = scene.stated(leaf.target, leaf.field);
    let mut value = interval(&quantity_range(quantity), unit);
    value.words = quantity_words(quantity);
    StatedFigure {
        value,
        span: stated.map_or(declared(scene, leaf).1.span, |stated| stated.span),
        source: stated.and_then(|stated| stated.per.as_ref().map(source_words)),
        agrees: worked_out.map(|found| {
            // A stated value counts as written: to half a unit of its last digit.
            let low = quantity.low.sub(&quantity.resolution);
            let high = quantity.high.add(&quantity.resolution);
            !apart(&low, &high, found)
        }),
    }
}

/// The range of a stated quantity.
fn quantity_range(quantity: &Quantity) -> Range {
    Range {
        bounds: quantity.bounds,
        exact: Some((quantity.low.clone(), quantity.high.clone())),
        sampled: false,
        costly: false,
    }
}

/// A stated quantity as it would be written: `3 m/min ± 5 %`, `46 to 51 s`, `2 strokes`.
fn quantity_words(quantity: &Quantity) -> String {
    match &quantity.tolerance {
        Some(tolerance) => format!(
            "{} {}",
            crate::units::show_exact(&quantity.nominal, &quantity.unit),
            words::tolerance(tolerance)
        ),
        None => words::shown(&quantity_range(quantity), &quantity.unit),
    }
}

/// A range in a unit, in numbers rounded outward and in words.
fn interval(found: &Range, unit: &Unit) -> Interval {
    let end = |base: Option<Exact>, otherwise: f64| {
        base.map_or((otherwise, otherwise), |base| {
            unit.from_base(&base).outward()
        })
    };
    let Bounds { lo, hi } = found.bounds;
    let (low, high) = match &found.exact {
        Some((low, high)) => (end(Some(low.clone()), lo), end(Some(high.clone()), hi)),
        None => (end(Exact::from_f64(lo), lo), end(Exact::from_f64(hi), hi)),
    };
    Interval {
        low: low.0.min(high.0),
        high: low.1.max(high.1),
        words: words::shown(found, unit),
        basis: if found.sampled {
            Basis::Sampled
        } else {
            Basis::Exact
        },
    }
}

pub(super) fn gap_words(scene: &Scene<'_>, gap: &crate::eval::Gap) -> String {
    if let Some(words) = &gap.words {
        return words.clone();
    }
    match (gap.at, gap.field) {
        (Some(target), Some(field)) => {
            format!(
                "`{}` is not stated",
                words::setting(scene, Leaf { target, field })
            )
        }
        _ => format!("`{}` is not stated", gap.path),
    }
}

fn stop_words(scene: &Scene<'_>, stop: &Stop) -> String {
    match stop {
        Stop::Missing(gap) => gap_words(scene, gap),
        Stop::CannotWorkOut(words) => words.clone(),
    }
}

/// The middle of what an expression comes to with every stated value at its nominal.
fn nominal(scene: &Scene<'_>, frame: Frame, expression: &Expression) -> Option<f64> {
    let narrowed = shares::all_nominal(scene, frame, &[expression]);
    let scene = Scene {
        narrowed: &narrowed,
        ..*scene
    };
    let found = range(&scene, frame, Aim::value(expression)).ok()?;
    Some(found.bounds.mid()).filter(|middle| middle.is_finite())
}
