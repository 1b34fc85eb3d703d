//! Deviations (the word of ISO 9000): permitted departures from a rule, with a reason and an end.
//!
//! One that is malformed is reported and lets nothing pass; the standard is used all the same.

use super::date::Date;
use super::expression::{Typer, constant};
use super::limits::{Limit, limits};
use super::literal::Reader;
use super::model::{FieldId, KindId, PlaceInRun, Rule, RuleForm, Standard, Type};
use super::paths::{Context, resolve};
use super::show::expression_words;
use super::taken_out::is_taken_out;
use super::terms::{Condition, Constant, Expression, ExpressionNode, Path};
use crate::diagnostic::{Code, Diagnostic};
use crate::names::{did_you_mean, in_a_spec};
use crate::source::Span;
use crate::syntax::tree::{self, DeviationClauseNode, Line, Quote};
use crate::units::{Dimension, Exact, Unit, show_exact};

/// A deviation.
#[derive(Debug, Clone)]
pub struct Deviation {
    /// The rule's name as written.
    pub rule_name: String,
    /// Index into [`Standard::rules`]; `None` when there is no such rule.
    pub rule: Option<usize>,
    /// Its title.
    pub title: Option<String>,
    /// Where it stands: the words `deviation from` and the rule.
    pub span: Span,
    /// The one run it is for, and where that is said.
    pub run: Option<(String, Span)>,
    /// It is in force only where all of these hold.
    pub when: Vec<Condition>,
    /// The limits it moves; empty for a rule without limits.
    pub moves: Vec<Move>,
    /// Its reason.
    pub because: Option<String>,
    /// Who approved it.
    pub approved: Option<String>,
    /// Its last day.
    pub until: Option<Date>,
    /// How many pieces it is for at most.
    pub pieces: Option<Pieces>,
    /// Whether something is wrong with it; then it lets nothing pass.
    pub malformed: bool,
}

/// `up to 58 s`: a limit and where it is moved to.
#[derive(Debug, Clone)]
pub struct Move {
    /// The new limit.
    pub limit: Constant,
    /// Its dimension.
    pub dimension: Dimension,
    /// The figure that is limited, in words.
    pub figure: String,
    /// Where it stands.
    pub span: Span,
    /// The comparisons that are moved.
    pub sites: Vec<Site>,
}

/// A comparison that a deviation moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Site {
    /// Index into [`Rule::requirements`].
    pub requirement: usize,
    /// Its number among the comparisons of that requirement.
    pub number: usize,
    /// Whether the figure stands on the right of the comparison.
    pub on_right: bool,
}

/// `pieces 300`
#[derive(Debug, Clone)]
pub struct Pieces {
    /// At most so many.
    pub most: Exact,
    /// The unit it was written in.
    pub unit: Unit,
    /// The setting that counts the pieces of a run.
    pub counted_by: (KindId, FieldId),
    /// Where it stands.
    pub span: Span,
}

/// Works out one deviation. Rules must have been built.
pub(super) fn deviation(
    standard: &Standard,
    reader: &Reader,
    tree: &tree::Deviation<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Deviation {
    let before = problems.len();
    let mut built = Deviation {
        rule_name: tree.rule.text.to_owned(),
        rule: None,
        title: tree.title.map(|quote| quote.value()),
        span: tree.keyword.join(tree.rule.span),
        run: None,
        when: Vec::new(),
        moves: Vec::new(),
        because: None,
        approved: None,
        until: None,
        pieces: None,
        malformed: false,
    };
    let is_rule = |rule: &&Rule| rule.form == RuleForm::Rule;
    built.rule = standard
        .rules
        .iter()
        .position(|rule| is_rule(&rule) && rule.name == tree.rule.text);
    if built.rule.is_none() {
        let names = standard.rules.iter().filter(is_rule);
        let help = is_taken_out(standard, tree.rule.text)
            .or_else(|| in_a_spec(&["rule", "table"], tree.rule.text))
            .or_else(|| did_you_mean(tree.rule.text, names.map(|rule| rule.name.as_str())));
        problems.push(
            Diagnostic::new(
                Code::DeviationFromNothing,
                tree.rule.span,
                format!("there is no rule `{}` to deviate from", tree.rule.text),
                "not a rule",
            )
            .help(help.unwrap_or_else(|| "name a rule of this standard".to_owned())),
        );
    }
    let rule = built.rule.and_then(|index| standard.rules.get(index));
    let mut typer = Typer {
        standard,
        reader,
        context: Context {
            each: rule.and_then(|rule| rule.each),
            ..Context::default()
        },
        problems,
    };
    let mut met = Vec::new();
    for line in &tree.block.lines {
        let Line::Good(clause, _) = line else {
            continue;
        };
        clause_into(&mut built, &mut typer, rule, clause, &mut met);
    }
    let broken = |line| matches!(line, &Line::Broken(_));
    if !tree.block.lines.iter().any(broken) {
        complete(&built, rule, tree, &met, problems);
    }
    built.malformed = problems.len() > before;
    built
}

/// The words of a text, if it says anything.
fn said(quote: Quote<'_>) -> Option<String> {
    let words = quote.value();
    (!words.trim().is_empty()).then_some(words)
}

fn clause_into<'t>(
    built: &mut Deviation,
    typer: &mut Typer<'_>,
    rule: Option<&Rule>,
    clause: &tree::DeviationClause<'t>,
    met: &mut Vec<(&'static str, Span)>,
) {
    let word = match &clause.node {
        DeviationClauseNode::When(expr) => {
            // What is said of a rule that is not there would be said of names that may be right.
            if rule.is_some() {
                let condition = typer.condition(expr);
                built.when.push(condition);
            }
            return;
        }
        DeviationClauseNode::UpTo { of, limit } => {
            met.push(("up to", clause.span));
            if let Some(rule) = rule {
                up_to(built, typer, rule, of.as_ref(), limit, clause.span);
            }
            return;
        }
        DeviationClauseNode::Run(_) => "run",
        DeviationClauseNode::Because(_) => "because",
        DeviationClauseNode::Approved(_) => "approved",
        DeviationClauseNode::Until(_) => "until",
        DeviationClauseNode::Pieces(_) => "pieces",
    };
    if let Some((_, first)) = met.iter().find(|(known, _)| *known == word) {
        typer.problems.push(
            Diagnostic::new(
                Code::ClauseTwice,
                clause.span,
                format!("`{word}` stands twice in this deviation"),
                "again here",
            )
            .related(*first, "it stands here already")
            .help("keep one of them, or write a second deviation"),
        );
        return;
    }
    met.push((word, clause.span));
    match &clause.node {
        DeviationClauseNode::Run(quote) => built.run = Some((quote.value(), quote.span)),
        DeviationClauseNode::Because(quote) => built.because = said(*quote),
        DeviationClauseNode::Approved(quote) => built.approved = said(*quote),
        DeviationClauseNode::Until(date) => {
            built.until = Date::read(*date, "until", typer.problems);
        }
        DeviationClauseNode::Pieces(literal) => built.pieces = pieces(typer, literal, clause.span),
        DeviationClauseNode::When(_) | DeviationClauseNode::UpTo { .. } => {}
    }
}

/// The one stated setting of a run that counts pieces.
fn pieces(typer: &mut Typer<'_>, literal: &tree::Literal<'_>, span: Span) -> Option<Pieces> {
    let mut found = Vec::new();
    for (kind, number, field) in typer.standard.numbered_fields() {
        let counts =
            matches!(&field.ty, Type::Quantity(measure) if measure.dimension == Dimension::PIECES);
        let one = typer.standard.kind(kind).place == PlaceInRun::One;
        if one && counts && field.formula.is_none() {
            found.push((kind, number));
        }
    }
    let [counted_by] = found[..] else {
        let (what, help) = if found.is_empty() {
            (
                "no setting of a run counts pieces",
                "take it out, or say what it is about with `when`",
            )
        } else {
            (
                "several settings of a run count pieces",
                "say which with `when`, as in `when order.pieces at most 300`",
            )
        };
        typer.problems.push(
            Diagnostic::new(
                Code::DeviationLimit,
                span,
                format!("{what}, so this cannot be kept to"),
                "of what",
            )
            .help(help),
        );
        return None;
    };
    let number = typer.reader.number(literal, typer.problems)?;
    let dimension = number.unit.dimension();
    let plain = dimension == Dimension::NUMBER && !number.unit.is_percent();
    if dimension != Dimension::PIECES && !plain || number.exact.signum() <= 0 {
        typer.problems.push(
            Diagnostic::new(
                Code::WrongValue,
                literal.span,
                "a number of pieces is wanted here",
                "not a number of pieces",
            )
            .help("write a number above zero, as in `pieces 300`"),
        );
        return None;
    }
    Some(Pieces {
        most: number.exact,
        unit: if plain {
            Unit::si(Dimension::PIECES)
        } else {
            number.unit
        },
        counted_by,
        span,
    })
}

/// A figure that a rule limits.
struct Limited<'r> {
    requirement: usize,
    limit: Limit<'r>,
    figure: &'r Expression,
    on_right: bool,
    /// Whether it is what the comparison speaks of, not what it is compared with.
    is_first: bool,
    words: String,
}

fn limited<'r>(standard: &Standard, rule: &'r Rule) -> Vec<Limited<'r>> {
    let mut found = Vec::new();
    for (requirement, one) in rule.requirements.iter().enumerate() {
        for limit in limits(&one.condition) {
            for (place, (figure, on_right)) in limit.subjects().into_iter().enumerate() {
                found.push(Limited {
                    requirement,
                    limit,
                    figure,
                    on_right,
                    is_first: place == 0,
                    words: expression_words(standard, figure),
                });
            }
        }
    }
    found
}

fn up_to(
    built: &mut Deviation,
    typer: &mut Typer<'_>,
    rule: &Rule,
    of: Option<&tree::Path<'_>>,
    literal: &tree::Literal<'_>,
    span: Span,
) {
    let path = match of {
        Some(path) => match resolve(typer.standard, &typer.context, path, typer.problems) {
            Some((path, _)) => Some(path),
            None => return,
        },
        None => None,
    };
    let Some(number) = typer.reader.number(literal, typer.problems) else {
        return;
    };
    let mut moved = constant(number.exact, number.unit.clone(), literal.span);
    moved.dimension = number.unit.dimension();
    let all = limited(typer.standard, rule);
    let refuse = |problems: &mut Vec<Diagnostic>, words: String, here: &str, help: String| {
        problems.push(
            Diagnostic::new(Code::DeviationLimit, span, words, here)
                .related(rule.span, "the rule")
                .help(help),
        );
    };
    let names = {
        let first = all.iter().filter(|one| one.is_first);
        let mut names: Vec<String> = first.map(|one| format!("`{}`", one.words)).collect();
        names.dedup();
        names.join(", ")
    };
    if all.is_empty() {
        refuse(
            typer.problems,
            format!("`{}` has no limit that could be moved", rule.name),
            "no limit to move",
            "take this line out: the deviation then lets the rule pass as a whole".to_owned(),
        );
        return;
    }
    let fits = |one: &Limited<'_>| {
        let (mut figure, mut moved) = (one.figure.clone(), moved.clone());
        Typer::adapt(&mut figure, &mut moved);
        let meant = match &path {
            Some(path) => mentions(one.figure, path),
            None => one.is_first,
        };
        figure.dimension == moved.dimension && meant
    };
    let mut chosen: Vec<&Limited<'_>> = all.iter().filter(|one| fits(one)).collect();
    // Where the path is one side of a comparison and only a part of another, the side is meant.
    if let Some(path) = &path
        && chosen.iter().any(|one| is_path(one.figure, path))
    {
        chosen.retain(|one| is_path(one.figure, path));
    }
    let shown = show_exact(&number_of(&moved), &number.unit);
    let Some(&first) = chosen.first() else {
        let what = path.map_or_else(
            || {
                format!(
                    "`{}` limits nothing that {shown} could be a limit of",
                    rule.name
                )
            },
            |path| format!("`{}` sets no such limit on `{}`", rule.name, path.text),
        );
        refuse(
            typer.problems,
            what,
            "no such limit",
            format!("it limits {names}"),
        );
        return;
    };
    if chosen.iter().any(|one| one.words != first.words) {
        let which: Vec<&str> = chosen.iter().map(|one| one.words.as_str()).collect();
        refuse(
            typer.problems,
            format!("`{}` has several limits that could be meant", rule.name),
            "which of them",
            format!("say which, as in `{} up to {shown}`", which[0]),
        );
        return;
    }
    let exact = number_of(&moved);
    chosen.retain(|one| {
        let up = one.limit.loosens_up(one.on_right);
        match (one.limit.fixed(one.on_right), up) {
            (Some(limit), Some(true)) => exact > *limit,
            (Some(limit), Some(false)) => exact < *limit,
            _ => true,
        }
    });
    if chosen.is_empty() {
        refuse(
            typer.problems,
            format!(
                "up to {shown} lets nothing more pass than `{}` does",
                rule.name
            ),
            "not beyond the limit",
            "a deviation names a value on the other side of the rule's limit".to_owned(),
        );
        return;
    }
    let sites: Vec<Site> = chosen
        .iter()
        .map(|one| Site {
            requirement: one.requirement,
            number: one.limit.number,
            on_right: one.on_right,
        })
        .collect();
    let twice = built.moves.iter().find(|known| {
        let mut sites = sites.iter();
        sites.any(|site| known.sites.contains(site))
    });
    if let Some(known) = twice {
        typer.problems.push(
            Diagnostic::new(
                Code::ClauseTwice,
                span,
                format!("the limit of `{}` is moved twice", first.words),
                "again here",
            )
            .related(known.span, "it is moved here already")
            .help("keep one of them"),
        );
        return;
    }
    let (mut figure, mut limit) = (first.figure.clone(), moved);
    Typer::adapt(&mut figure, &mut limit);
    let ExpressionNode::Constant(value) = limit.node else {
        return;
    };
    built.moves.push(Move {
        limit: value,
        dimension: limit.dimension,
        figure: first.words.clone(),
        span,
        sites,
    });
}

fn number_of(constant: &Expression) -> Exact {
    match &constant.node {
        ExpressionNode::Constant(constant) => constant.exact.clone(),
        _ => Exact::ZERO,
    }
}

fn is_path(expression: &Expression, path: &Path) -> bool {
    let ExpressionNode::Path(own) = &expression.node else {
        return false;
    };
    own.root == path.root && own.hops == path.hops
}

/// Whether a figure is worked out from a setting.
fn mentions(expression: &Expression, path: &Path) -> bool {
    expression.any(&mut |part| is_path(part, path))
}

/// Says what a deviation lacks.
fn complete(
    built: &Deviation,
    rule: Option<&Rule>,
    tree: &tree::Deviation<'_>,
    met: &[(&'static str, Span)],
    problems: &mut Vec<Diagnostic>,
) {
    let has = |word: &str| met.iter().any(|(known, _)| *known == word);
    let mut missing = Vec::new();
    if built.because.is_none() {
        missing.push(("no reason", "`because \"…\"`"));
    }
    if built.approved.is_none() {
        missing.push(("no approval", "`approved \"who and when\"`"));
    }
    if !has("until") {
        missing.push(("no end", "`until 2026-12-31`"));
    }
    if !missing.is_empty() {
        let what: Vec<&str> = missing.iter().map(|(what, _)| *what).collect();
        let add: Vec<&str> = missing.iter().map(|(_, add)| *add).collect();
        problems.push(
            Diagnostic::new(
                Code::DeviationIncomplete,
                tree.rule.span,
                format!(
                    "this deviation from `{}` has {}",
                    tree.rule.text,
                    what.join(", ")
                ),
                "lets nothing pass",
            )
            .help(format!("add {}", add.join(" and "))),
        );
    }
    let has_limits = rule.is_some_and(|rule| {
        let mut requirements = rule.requirements.iter();
        requirements.any(|one| !limits(&one.condition).is_empty())
    });
    if has_limits && !has("up to") {
        problems.push(
            Diagnostic::new(
                Code::DeviationLimit,
                tree.rule.span,
                format!(
                    "this deviation does not say how far it may depart from `{}`",
                    tree.rule.text
                ),
                "up to where",
            )
            .help("add `up to` with the value that is still permitted"),
        );
    }
}
