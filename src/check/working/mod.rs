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
use crate::eval::{
    Aim, Binding, EvalContext, EvalError, FigureCache, Leaf, Range, active_branch, range,
    setting_aside,
};
use crate::interval::Bounds;
use crate::names::plan_scope;
use crate::source::{FileId, Store, visible};
use crate::syntax;
use crate::types::{
    Expression, ExpressionNode, Field, Function, KindId, Measure, Quantity, Reading, Run, Type,
    Value, build_run, source_words,
};
use crate::units::{Exact, Unit};

use super::deciding_comparison::unit_of;
use super::disagree::apart;
use super::plan::Prepared;
use super::wording;

/// What is shown.
#[derive(Debug, Clone, Copy)]
pub struct Wanted<'a> {
    /// Figures by name; none means all of the run.
    pub fields: &'a [String],
    /// A picture as well.
    pub picture: bool,
}

/// Why there is no working, or no window.
#[derive(Debug, Clone)]
pub enum NoWorking {
    /// Trouble with the plan's text, or with that behind a freed setting.
    Text(Vec<Diagnostic>),
    /// Names that nothing answers to, and what cannot be freed; a sentence each.
    Names(Vec<String>),
}

impl NoWorking {
    /// The same, with what was said of the text before.
    #[must_use]
    pub fn after(self, mut before: Vec<Diagnostic>) -> Self {
        match self {
            Self::Text(problems) => {
                before.extend(problems);
                Self::Text(before)
            }
            names @ Self::Names(_) => names,
        }
    }
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
    let cache = FigureCache::default();
    let context = EvalContext::new(standard, &run).remembering(&cache);
    let chosen = choose::choose(&context, wanted.fields).map_err(NoWorking::Names)?;
    let mut figures = Vec::new();
    let mut idle = Vec::new();
    for leaf in &chosen {
        if wanted.fields.is_empty()
            && let Some(alone) = stated_alone(&context, *leaf)
        {
            idle.push(alone);
            continue;
        }
        if !wanted.fields.is_empty() {
            // What was asked for by name is worth the work of a check each.
            cache.budget().rest();
        }
        match figure(&context, *leaf) {
            Ok(found) => figures.push(found),
            Err(missing) if wanted.fields.is_empty() => idle.push(missing),
            Err(missing) => figures.push(Figure {
                result: Some(Err(missing.missing)),
                ..bare(&context, *leaf)
            }),
        }
    }
    let picture = wanted
        .picture
        .then(|| picture::picture(&context, &chosen, &run.name));
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
    let run = setting_aside(&prepared.standard, run);
    let readable = problems.iter().all(|said| said.severity != Severity::Error);
    readable.then_some(run).ok_or(NoWorking::Text(problems))
}

/// The binding in which the formulas of a thing are worked out.
fn own(leaf: Leaf) -> Binding {
    Binding {
        own: Some(leaf.target),
        ..Binding::default()
    }
}

fn declared<'a>(context: &EvalContext<'a>, leaf: Leaf) -> (KindId, &'a Field) {
    let kind = context.run.target(context.standard, leaf.target).kind;
    (kind, context.standard.field(kind, leaf.field))
}

/// The unit people read a setting in: the one it is stated in, else the one it is declared in.
fn reading_unit(context: &EvalContext<'_>, leaf: Leaf) -> Unit {
    if let Some(quantity) = context.quantity(leaf.target, leaf.field) {
        return quantity.unit.clone();
    }
    let (_, field) = declared(context, leaf);
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
        formula_unit(context, own(leaf), formula).filter(|unit| unit.dimension() == *dimension)
    });
    let possible = || field.possible.as_ref().map(|limits| limits.unit.clone());
    formula
        .or_else(possible)
        .unwrap_or_else(|| Unit::usual(*dimension))
}

/// The unit that the values behind a formula hand on to it: `µm` for `1 / mesh - thread`.
fn formula_unit(context: &EvalContext<'_>, binding: Binding, formula: &Expression) -> Option<Unit> {
    let formula = active_branch(context, binding, formula);
    let same = |part: &Expression| part.dimension == formula.dimension;
    match &formula.node {
        // A figure of the physics table is no like of its inputs: a film is not read as the air is set.
        ExpressionNode::Call(Function::Figure(_), _) | ExpressionNode::Power(..) => None,
        // Of what is itself worked out: the unit it is declared in.
        ExpressionNode::Constant(_)
        | ExpressionNode::Path(_)
        | ExpressionNode::RangeEnd { .. }
        | ExpressionNode::Over { .. } => unit_of(context, binding, formula),
        _ => formula
            .children()
            .filter(|part| same(part))
            .find_map(|part| formula_unit(context, binding, part)),
    }
}

/// A figure without its numbers.
fn bare(context: &EvalContext<'_>, leaf: Leaf) -> Figure {
    let (kind, field) = declared(context, leaf);
    let unit = reading_unit(context, leaf);
    let formula = field.formula.as_ref().map(|formula| Formula {
        written: crate::types::expression_words(context.standard, formula),
        short: numbers::short(context, own(leaf), formula),
        numbers: numbers::put_in(context, own(leaf), formula),
        span: formula.span,
        calls: numbers::calls(context, own(leaf), formula),
    });
    Figure {
        setting: wording::setting(context, leaf),
        kind: context.standard.kind(kind).name.clone(),
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
fn stated_alone(context: &EvalContext<'_>, leaf: Leaf) -> Option<Idle> {
    let quantity = context.quantity(leaf.target, leaf.field)?;
    let formula = declared(context, leaf).1.formula.as_ref()?;
    match range(context, own(leaf), Aim::value(formula)) {
        Err(EvalError::Missing(gap)) => Some(Idle {
            setting: wording::setting(context, leaf),
            missing: format!(
                "stated as {}; not compared, as {}",
                quantity_words(quantity),
                gap_words(context, &gap)
            ),
        }),
        _ => None,
    }
}

/// A figure with its working; an error when a value is missing.
fn figure(context: &EvalContext<'_>, leaf: Leaf) -> Result<Figure, Idle> {
    let (_, field) = declared(context, leaf);
    // What is set aside counts for nothing, and is shown beside what does.
    let quantity = context
        .run
        .stated(context.standard, leaf.target, leaf.field)
        .and_then(|stated| match &stated.value {
            Value::Quantity(quantity) => Some(&**quantity),
            _ => None,
        });
    let worked_out = field
        .formula
        .as_ref()
        .map(|formula| (formula, range(context, own(leaf), Aim::value(formula))));
    let missing = match (&worked_out, quantity) {
        (Some((_, Err(EvalError::Missing(gap)))), None) => Some(gap_words(context, gap)),
        (None, None) => Some("it is not stated, and the standard has no formula for it".to_owned()),
        _ => None,
    };
    if let Some(missing) = missing {
        return Err(Idle {
            setting: wording::setting(context, leaf),
            missing,
        });
    }
    let unit = reading_unit(context, leaf);
    let mut figure = bare(context, leaf);
    if let Some(quantity) = quantity {
        let found = worked_out
            .as_ref()
            .and_then(|(_, found)| found.as_ref().ok());
        figure.stated = Some(stated(context, leaf, quantity, &unit, found));
    }
    if let Some((formula, found)) = worked_out {
        if let Ok(found) = &found {
            let shares = shares::shares(context, leaf, formula, found);
            figure.widened_by = shares.listed;
            figure.other_inputs = shares.others;
        }
        figure.result = Some(match found {
            Ok(found) => Ok(interval(&found, &unit)),
            Err(stop) => Err(stop_words(context, &stop)),
        });
    }
    Ok(figure)
}

fn stated(
    context: &EvalContext<'_>,
    leaf: Leaf,
    quantity: &Quantity,
    unit: &Unit,
    worked_out: Option<&Range>,
) -> StatedFigure {
    let stated = context
        .run
        .stated(context.standard, leaf.target, leaf.field);
    let mut value = interval(&quantity_range(quantity), unit);
    value.words = quantity_words(quantity);
    StatedFigure {
        value,
        span: stated.map_or(declared(context, leaf).1.span, |stated| stated.span),
        source: stated.and_then(|stated| stated.per.as_ref().map(source_words)),
        counts: !context.run.set_aside.contains(&(leaf.target, leaf.field)),
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
            wording::tolerance(tolerance)
        ),
        None => wording::shown(&quantity_range(quantity), &quantity.unit),
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
        words: wording::shown(found, unit),
        basis: if found.sampled {
            Basis::Sampled
        } else if found.costly {
            Basis::Model
        } else {
            Basis::Exact
        },
    }
}

pub(super) fn gap_words(context: &EvalContext<'_>, gap: &crate::eval::MissingValue) -> String {
    if let Some(words) = &gap.words {
        return words.clone();
    }
    match (gap.at, gap.field) {
        (Some(target), Some(field)) => {
            format!(
                "`{}` is not stated",
                wording::setting(context, Leaf { target, field })
            )
        }
        _ => format!("`{}` is not stated", gap.path),
    }
}

fn stop_words(context: &EvalContext<'_>, stop: &EvalError) -> String {
    match stop {
        EvalError::Missing(gap) => gap_words(context, gap),
        EvalError::CannotWorkOut(words) => words.clone(),
    }
}

/// The middle of what an expression comes to with every stated value at its nominal.
fn nominal(context: &EvalContext<'_>, binding: Binding, expression: &Expression) -> Option<f64> {
    let narrowed = shares::all_nominal(context, binding, &[expression]);
    let context = EvalContext {
        narrowed: &narrowed,
        ..*context
    };
    let found = range(&context, binding, Aim::value(expression)).ok()?;
    Some(found.bounds.mid()).filter(|middle| middle.is_finite())
}
