//! Tables: a rule whose limits stand in cells, by one or two things of the run.
//!
//! Each cell that states something becomes a requirement of the rule that is for the runs of its row and
//! column only, so that a finding points at the cell. After that a table has no meaning of its own.

use super::expression::{Typer, constant};
use super::kinds::source;
use super::literal::Reader;
use super::model::{
    Axis, Cell, Entry, Field, Limits, Measure, Reading, Requirement, Rule, RuleForm, Source,
    Standard, Table, Target, Type, Value, Verb,
};
use super::paths::{End, resolve};
use super::rules::{clauses, each_kind, empty};
use super::terms::{Compare, Condition, ConditionNode, Expression, ExpressionNode};
use super::value::Values;
use crate::diagnostic::{Code, Diagnostic};
use crate::source::Span;
use crate::syntax::tree::{
    self, Binary, Expr, ExprNode, Line, RuleClauseNode, TableClause, ValueNode, Word,
};

/// Works out the rule that a table makes.
pub(super) fn table(
    standard: &Standard,
    reader: &Reader,
    tree: &tree::Table<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Rule {
    let mut rule = empty(tree.name, tree.title, RuleForm::Rule);
    let all = || {
        tree.block.lines.iter().filter_map(|line| match line {
            Line::Good(TableClause::Rule(clause), _) => Some(clause),
            _ => None,
        })
    };
    rule.each = each_kind(standard, all(), problems);
    let mut typer = Typer {
        standard,
        reader,
        context: super::paths::Context {
            each: rule.each,
            ..super::paths::Context::default()
        },
        problems,
    };
    let is_subject = |clause: &&tree::RuleClause<'_>| {
        matches!(
            &clause.node,
            RuleClauseNode::Require { verb, .. } if *verb != tree::Verb::May
        )
    };
    clauses(
        &mut rule,
        &mut typer,
        all().filter(|clause| !is_subject(clause)),
        false,
    );
    let subjects: Vec<_> = all().filter(is_subject).collect();
    let subject = subject(&mut typer, tree, &subjects);
    let axes = axes(&mut typer, tree);
    let whole = !tree
        .block
        .lines
        .iter()
        .any(|line| matches!(line, Line::Broken(_)));
    if let (Some(subject), Some(axes)) = (subject, axes) {
        fill(&mut rule, &mut typer, tree, &subject, axes, whole);
    }
    if !rule.requirements.is_empty() && rule.per.is_none() {
        let unnamed = rule.requirements.iter().all(|one| one.per.is_none());
        if unnamed {
            problems.push(
                Diagnostic::new(
                    Code::NoSource,
                    tree.name.span,
                    format!(
                        "the limits of `{}` do not say what they rest on",
                        tree.name.text
                    ),
                    "no source",
                )
                .help("add `per \"source\"` to the table, or `per practice`"),
            );
        }
    }
    rule
}

/// What the cells are about.
struct Subject {
    verb: Verb,
    figure: Expression,
    /// A setting that would hold one of the cells.
    field: Field,
    per: Option<Source>,
}

/// Reads `shall film.peak`.
fn subject(
    typer: &mut Typer<'_>,
    tree: &tree::Table<'_>,
    lines: &[&tree::RuleClause<'_>],
) -> Option<Subject> {
    let Some(first) = lines.first() else {
        typer.problems.push(
            Diagnostic::new(
                Code::ClauseMissing,
                tree.name.span,
                "a table needs a line that says what its cells are limits of",
                "in this one",
            )
            .help("add `shall` or `should` with the setting, as in `shall film.peak`"),
        );
        return None;
    };
    if let Some(second) = lines.get(1) {
        typer.problems.push(
            Diagnostic::new(
                Code::ClauseTwice,
                second.span,
                "the cells of a table are limits of one setting",
                "again here",
            )
            .related(first.span, "it stands here already")
            .help("write a second table, or a rule"),
        );
    }
    let RuleClauseNode::Require {
        verb,
        condition,
        per,
    } = &first.node
    else {
        return None;
    };
    if is_condition(condition) {
        typer.problems.push(
            Diagnostic::new(
                Code::WrongValue,
                condition.span,
                "in a table the limits stand in the cells",
                "a comparison here",
            )
            .help("write the setting alone, as in `shall film.peak`; other limits are a rule of their own"),
        );
        return None;
    }
    let figure = typer.expression(condition)?;
    let field = like(typer.standard, &figure);
    Some(Subject {
        verb: match verb {
            tree::Verb::Should => Verb::Should,
            _ => Verb::Shall,
        },
        figure,
        field,
        per: source(*per, typer.problems),
    })
}

fn is_condition(expr: &Expr<'_>) -> bool {
    match &expr.node {
        ExprNode::Group(inner) => is_condition(inner),
        ExprNode::Binary { operator, .. } => !matches!(
            operator,
            Binary::Add | Binary::Subtract | Binary::Multiply | Binary::Divide | Binary::Power
        ),
        ExprNode::Unary { operator, .. } => *operator == tree::Unary::Not,
        ExprNode::OneOf { .. } | ExprNode::Stated { .. } | ExprNode::NotOlder { .. } => true,
        _ => false,
    }
}

/// A setting whose ranges are limits of a figure: what is possible for it is possible for them.
fn like(standard: &Standard, figure: &Expression) -> Field {
    let own = match &figure.node {
        ExpressionNode::Path(path) => match path.hops.last() {
            Some(super::Hop::Field(kind, field)) => Some(standard.field(*kind, *field)),
            _ => None,
        },
        _ => None,
    };
    let measure = match own.map(|field| &field.ty) {
        Some(Type::Quantity(measure)) => measure.clone(),
        _ => Measure {
            dimension: figure.dimension,
            reading: if figure.dimension == crate::units::Dimension::NUMBER {
                Reading::Number
            } else {
                Reading::Unit
            },
        },
    };
    Field {
        name: super::show::expression_words(standard, figure),
        span: own.map_or(figure.span, |field| field.span),
        ty: Type::Range(measure),
        possible: own.and_then(|field| field.possible.clone()),
        formula: None,
        reference: None,
        sentence: None,
        steps: Vec::new(),
        sort: super::model::Sort::WorkedOut,
        takes: None,
        per: None,
    }
}

/// What the rows go by, and the columns: the path and the type of what stands there.
fn axes<'a, 't>(
    typer: &mut Typer<'_>,
    tree: &'a tree::Table<'t>,
) -> Option<Vec<(&'a tree::Path<'t>, Axis)>> {
    if let Some(third) = tree.by.get(2) {
        typer.problems.push(
            Diagnostic::new(
                Code::TableShape,
                third.span,
                "a table goes by one thing or by two",
                "one too many",
            )
            .help("write several tables, each with a `when`"),
        );
        return None;
    }
    let mut found = Vec::new();
    for path in &tree.by {
        let (resolved, end) = resolve(typer.standard, &typer.context, path, typer.problems)?;
        let fits = match &end {
            End::Thing(kind) => typer.standard.kind(*kind).place != super::PlaceInRun::Step,
            End::Value(ty) => matches!(ty, Type::Reference(_) | Type::Choice(_) | Type::YesNo),
            End::AnyStep | End::Place => false,
        };
        if !fits {
            typer.problems.push(
                Diagnostic::new(
                    Code::WrongValue,
                    path.span,
                    format!("a table cannot go by `{}`", resolved.text),
                    "no thing, choice or yes or no",
                )
                .help("name what its rows or columns are called after, as in `by screen.ink`"),
            );
            return None;
        }
        let axis = Axis {
            path: resolved,
            entries: Vec::new(),
            places: std::collections::HashMap::new(),
        };
        found.push((path, axis));
    }
    Some(found)
}

/// A row or column: what it is called, and when it is that of a run.
fn entry(
    typer: &mut Typer<'_>,
    path: &tree::Path<'_>,
    word: Word<'_>,
    known: &[Entry],
) -> Option<Entry> {
    if let Some(first) = known.iter().find(|entry| entry.name == word.text) {
        typer.problems.push(
            Diagnostic::new(
                Code::DuplicateName,
                word.span,
                format!("`{}` stands twice in this table", word.text),
                "again here",
            )
            .related(first.span, "it stands here first")
            .help("keep one of them"),
        );
        return None;
    }
    let expr = |node| Expr {
        span: word.span,
        node,
    };
    let test = expr(ExprNode::Binary {
        operator: Binary::Is,
        at: word.span,
        left: Box::new(expr(ExprNode::Path(path.clone()))),
        right: Box::new(expr(ExprNode::Path(tree::Path {
            span: word.span,
            words: vec![word],
        }))),
    });
    let condition = typer.condition(&test);
    let ConditionNode::Is { values, .. } = &condition.node else {
        return None;
    };
    let record = values.iter().find_map(|value| match value {
        Value::Reference(Target::Record(record)) => Some(*record),
        _ => None,
    });
    Some(Entry {
        name: word.text.to_owned(),
        span: word.span,
        record,
        condition,
    })
}

fn shape(problems: &mut Vec<Diagnostic>, span: Span, words: String, here: &str, help: &str) {
    problems.push(Diagnostic::new(Code::TableShape, span, words, here.to_owned()).help(help));
}

/// Reads head, rows and cells.
fn fill(
    rule: &mut Rule,
    typer: &mut Typer<'_>,
    tree: &tree::Table<'_>,
    subject: &Subject,
    axes: Vec<(&tree::Path<'_>, Axis)>,
    whole: bool,
) {
    let before = typer.problems.len();
    let mut axes = axes.into_iter();
    let Some((row_path, mut rows)) = axes.next() else {
        return;
    };
    let mut columns = axes.next();
    let mut lines = tree.block.lines.iter().filter_map(|line| match line {
        Line::Good(TableClause::Row(row), _) => Some(row),
        _ => None,
    });
    // How many cells a row has, and which columns they are; `None` for a column that is not known.
    let mut order: Vec<Option<usize>> = vec![Some(0)];
    if let Some((path, axis)) = &mut columns {
        let head = lines.next();
        let Some(head) = head.filter(|head| head.name.is_none()) else {
            if whole {
                shape(
                    typer.problems,
                    head.map_or(tree.name.span, |row| row.span),
                    "a table by two things starts with a head".to_owned(),
                    "no head before this",
                    "write a row that starts with `|` and names the columns",
                );
            }
            return;
        };
        order = Vec::new();
        for cell in &head.cells {
            let place = match cell.value.as_ref().map(|value| &value.node) {
                Some(ValueNode::Name(word)) => {
                    entry(typer, path, *word, &axis.entries).map(|entry| axis.add(entry))
                }
                _ => {
                    shape(
                        typer.problems,
                        cell.value.as_ref().map_or(cell.bar, |value| value.span),
                        "a column of this table has no name".to_owned(),
                        "a name is wanted here",
                        "name every column after its bar",
                    );
                    None
                }
            };
            order.push(place);
        }
    }
    let width = columns.as_ref().map_or(1, |(_, axis)| axis.entries.len());
    let mut grid: Vec<Vec<Cell>> = Vec::new();
    for row in lines {
        let Some(name) = row.name else {
            let (words, help) = if columns.is_some() {
                ("a table has one head", "name the row before its first bar")
            } else {
                (
                    "a table by one thing has no head",
                    "take this row out, or name it before its bar",
                )
            };
            shape(
                typer.problems,
                row.span,
                words.to_owned(),
                "a row without a name",
                help,
            );
            continue;
        };
        if row.cells.len() != order.len() {
            let noun = |count: usize| if count == 1 { "cell" } else { "cells" };
            shape(
                typer.problems,
                row.span,
                format!(
                    "the row `{}` has {} {}, and the table {}",
                    name.text,
                    row.cells.len(),
                    noun(row.cells.len()),
                    order.len()
                ),
                "another number of cells",
                "write a bar before every cell, also before an empty one",
            );
            continue;
        }
        let Some(entry) = entry(typer, row_path, name, &rows.entries) else {
            continue;
        };
        let empty = |bar| Cell {
            span: bar,
            requirement: None,
        };
        let mut cells = vec![empty(name.span); width];
        for (place, cell) in order.iter().zip(&row.cells) {
            let requirement = cell
                .value
                .as_ref()
                .and_then(|value| requirement(typer, subject, value));
            let Some(slot) = place.and_then(|place| cells.get_mut(place)) else {
                continue;
            };
            *slot = empty(cell.bar);
            if let Some(requirement) = requirement {
                slot.span = requirement.span;
                slot.requirement = Some(rule.requirements.len());
                rule.requirements.push(requirement);
            }
        }
        rows.add(entry);
        grid.push(cells);
    }
    // Where something is wrong with the cells, that is what is to be said.
    if rule.requirements.is_empty() && whole && typer.problems.len() == before {
        typer.problems.push(
            Diagnostic::new(
                Code::ClauseMissing,
                tree.name.span,
                "a table without a limit in its cells checks nothing",
                "in this one",
            )
            .help("add a row, as in `soft-white | 280 to 320 °F`"),
        );
    }
    let table = Table {
        rows,
        columns: columns.map(|(_, axis)| axis),
        cells: grid,
    };
    // Only when all rows and columns are known is it known which of them is the nearest.
    for (row, cells) in table.cells.iter().enumerate() {
        for (column, cell) in cells.iter().enumerate() {
            let number = cell.requirement;
            if let Some(requirement) = number.and_then(|at| rule.requirements.get_mut(at)) {
                requirement.when = table.when(typer.standard, (row, column));
                requirement.cell = Some((row, column));
            }
        }
    }
    rule.table = Some(Box::new(table));
}

/// What a cell requires.
fn requirement(
    typer: &mut Typer<'_>,
    subject: &Subject,
    value: &tree::Value<'_>,
) -> Option<Requirement> {
    let nobody = |_: super::KindId, _: &str| None;
    let reading = Values {
        standard: typer.standard,
        reader: typer.reader,
        things: &nobody,
        names: &[],
    };
    let Value::Range(limits) = reading.read(&subject.field, value, typer.problems) else {
        return None;
    };
    let compare = |compare, end: &crate::units::Exact| {
        let mut limit = constant(end.clone(), limits.unit.clone(), value.span);
        let mut figure = subject.figure.clone();
        Typer::adapt(&mut figure, &mut limit);
        Condition {
            node: ConditionNode::Compare {
                compare,
                left: figure,
                right: limit,
            },
            span: value.span,
        }
    };
    let condition = match *limits {
        Limits {
            low: Some(ref low),
            high: Some(ref high),
            ..
        } if low == high => compare(Compare::Is, low),
        Limits {
            low: Some(ref low),
            high: Some(ref high),
            ..
        } => Condition {
            node: ConditionNode::And(vec![
                compare(Compare::AtLeast, low),
                compare(Compare::AtMost, high),
            ]),
            span: value.span,
        },
        Limits {
            low: Some(ref low), ..
        } => compare(Compare::AtLeast, low),
        Limits {
            high: Some(ref high),
            ..
        } => compare(Compare::AtMost, high),
        Limits { .. } => return None,
    };
    Some(Requirement {
        when: Vec::new(),
        cell: None,
        verb: subject.verb,
        condition,
        per: subject.per.clone(),
        span: value.span,
    })
}
