//! Rules and cautions.

use super::expression::Typer;
use super::kinds::{source, unknown_kind};
use super::literal::Reader;
use super::model::{
    Adjust, Grounds, PlaceInRun, ReadEvery, Requirement, Rule, RuleForm, Sort, Source, Standard,
    Verb,
};
use super::paths::{Context, End, resolve};
use super::terms::Path;
use crate::diagnostic::{Code, Diagnostic};
use crate::source::Span;
use crate::syntax::tree::{self, Line, RuleClauseNode};
use crate::units::Dimension;

/// Works out one rule or caution.
pub(super) fn rule(
    standard: &Standard,
    reader: &Reader,
    tree: &tree::Rule<'_>,
    caution: bool,
    problems: &mut Vec<Diagnostic>,
) -> Rule {
    let good = || {
        tree.block.lines.iter().filter_map(|line| match line {
            Line::Good(clause, _) => Some(clause),
            _ => None,
        })
    };
    let form = if caution {
        RuleForm::Caution(String::new())
    } else {
        RuleForm::Rule
    };
    let mut rule = empty(tree.name, tree.title, form);
    rule.each = each_kind(standard, good(), problems);
    let mut typer = Typer {
        standard,
        reader,
        context: Context {
            each: rule.each,
            ..Context::default()
        },
        problems,
    };
    clauses(&mut rule, &mut typer, good(), caution);
    complete(&rule, tree, problems);
    rule
}

/// A rule that says nothing yet.
pub(super) fn empty(name: tree::Word<'_>, title: Option<tree::Quote<'_>>, form: RuleForm) -> Rule {
    Rule {
        form,
        name: name.text.to_owned(),
        span: name.span,
        title: title.map(|quote| quote.value()),
        each: None,
        when: Vec::new(),
        requirements: Vec::new(),
        permissions: Vec::new(),
        table: None,
        read_every: None,
        when_out: None,
        because: None,
        per: None,
        adjust: Vec::new(),
        cautions: Vec::new(),
    }
}

/// Works out the clauses of a rule.
pub(super) fn clauses<'c, 't: 'c>(
    rule: &mut Rule,
    typer: &mut Typer<'_>,
    clauses: impl Iterator<Item = &'c tree::RuleClause<'t>>,
    caution: bool,
) {
    let mut once = Once::default();
    for clause in clauses {
        clause_into(rule, typer, clause, caution, &mut once);
    }
}

/// Clauses that may stand once, with the place of the first.
#[derive(Default)]
struct Once {
    met: Vec<(&'static str, Span)>,
}

impl Once {
    fn first(&mut self, word: &'static str, span: Span, problems: &mut Vec<Diagnostic>) -> bool {
        if let Some((_, first)) = self.met.iter().find(|(known, _)| *known == word) {
            problems.push(
                Diagnostic::new(
                    Code::ClauseTwice,
                    span,
                    format!("`{word}` stands twice in this rule"),
                    "again here",
                )
                .related(*first, "it stands here already")
                .help("keep one of them"),
            );
            return false;
        }
        self.met.push((word, span));
        true
    }
}

pub(super) fn each_kind<'c, 't: 'c>(
    standard: &Standard,
    mut clauses: impl Iterator<Item = &'c tree::RuleClause<'t>>,
    problems: &mut Vec<Diagnostic>,
) -> Option<super::KindId> {
    let word = clauses.find_map(|clause| match &clause.node {
        RuleClauseNode::ForEach(word) => Some(*word),
        _ => None,
    })?;
    let Some(&kind) = standard.kind_names.get(word.text) else {
        problems.push(unknown_kind(word, standard, &[]));
        return None;
    };
    if matches!(
        standard.kind(kind).place,
        PlaceInRun::One | PlaceInRun::Record
    ) {
        problems.push(
            Diagnostic::new(
                Code::WrongValue,
                word.span,
                format!("a run does not have several of `{}`", word.text),
                "not one of many",
            )
            .help("`for each` takes a kind that is `many to a run`, or a kind of step"),
        );
        return None;
    }
    Some(kind)
}

fn clause_into(
    rule: &mut Rule,
    typer: &mut Typer<'_>,
    clause: &tree::RuleClause<'_>,
    caution: bool,
    once: &mut Once,
) {
    match &clause.node {
        RuleClauseNode::ForEach(_) => {
            once.first("for each", clause.span, typer.problems);
        }
        RuleClauseNode::When(expr) => {
            let condition = typer.condition(expr);
            rule.when.push(condition);
        }
        RuleClauseNode::Require {
            verb,
            condition,
            per,
        } => {
            if caution {
                misplaced(
                    clause.span,
                    "a caution requires nothing",
                    "use `say` for what it says",
                    typer.problems,
                );
                return;
            }
            let condition = typer.condition(condition);
            let per = source(*per, typer.problems);
            let verb = match verb {
                tree::Verb::Shall => Verb::Shall,
                tree::Verb::Should => Verb::Should,
                tree::Verb::May => {
                    rule.permissions.push(condition);
                    return;
                }
            };
            rule.requirements.push(Requirement {
                when: Vec::new(),
                cell: None,
                verb,
                condition,
                per,
                span: clause.span,
            });
        }
        RuleClauseNode::ReadEvery(_) | RuleClauseNode::WhenOut(_) if caution => misplaced(
            clause.span,
            "a caution limits nothing that could be read off",
            "put it into the rule that does",
            typer.problems,
        ),
        RuleClauseNode::ReadEvery(literal) => {
            if once.first("read every", clause.span, typer.problems) {
                rule.read_every = read_every(typer, literal);
            }
        }
        RuleClauseNode::WhenOut(quote) => {
            if once.first("when out", clause.span, typer.problems) {
                rule.when_out = Some(quote.value());
            }
        }
        RuleClauseNode::Because(quote) => {
            if once.first("because", clause.span, typer.problems) {
                rule.because = Some(quote.value());
            }
        }
        RuleClauseNode::Per(per) => {
            // What a rule of law rests on is that law.
            if once.first("per", clause.span, typer.problems) {
                rule.per = source(Some(*per), typer.problems);
            }
        }
        RuleClauseNode::Adjust(paths) => {
            if once.first("adjust", clause.span, typer.problems) {
                adjust(rule, typer, paths);
            }
        }
        RuleClauseNode::Caution(quote) => rule.cautions.push(quote.value()),
        RuleClauseNode::Say(quote) => match &mut rule.form {
            RuleForm::Caution(words) => {
                if once.first("say", clause.span, typer.problems) {
                    *words = quote.value();
                }
            }
            RuleForm::Rule => misplaced(
                clause.span,
                "`say` belongs in a caution",
                "in a rule, write `because` or `caution`",
                typer.problems,
            ),
        },
    }
}

/// A time, or a number of pieces.
fn read_every(typer: &mut Typer<'_>, literal: &tree::Literal<'_>) -> Option<ReadEvery> {
    let number = typer.reader.number(literal, typer.problems)?;
    let fits = [Dimension::TIME, Dimension::PIECES].contains(&number.unit.dimension());
    if !fits || number.exact.signum() <= 0 {
        typer.problems.push(
            Diagnostic::new(
                Code::WrongValue,
                literal.span,
                "how often to read is a time or a number of pieces, above zero",
                "neither",
            )
            .help("write `read every 2 h`, or `read every 200 pieces`"),
        );
        return None;
    }
    Some(ReadEvery {
        after: number.exact,
        unit: number.unit,
    })
}

fn misplaced(span: Span, words: &str, help: &str, problems: &mut Vec<Diagnostic>) {
    problems.push(Diagnostic::new(Code::ClauseMisplaced, span, words, "not here").help(help));
}

fn adjust(rule: &mut Rule, typer: &mut Typer<'_>, paths: &[tree::Path<'_>]) {
    for path in paths {
        // Without `for each`, `adjust screen.tension` means that of any of the screens.
        let first = path
            .words
            .first()
            .and_then(|word| typer.standard.kind_names.get(word.text));
        let many = first.copied().filter(|kind| {
            matches!(
                typer.standard.kind(*kind).place,
                PlaceInRun::Many | PlaceInRun::Step
            )
        });
        let context = Context {
            member: many.filter(|kind| typer.context.each != Some(*kind)),
            ..typer.context.clone()
        };
        let Some((resolved, end)) = resolve(typer.standard, &context, path, typer.problems) else {
            continue;
        };
        if !matches!(end, End::Value(_)) {
            typer.problems.push(
                Diagnostic::new(
                    Code::WrongValue,
                    path.span,
                    format!(
                        "`{}` is not a setting, so it cannot be adjusted",
                        resolved.text
                    ),
                    "not a setting",
                )
                .help("name a setting, as in `dryer.belt`"),
            );
            continue;
        }
        if let Some(said) = adjusts_what_is_not_set(typer.standard, &resolved) {
            typer.problems.push(said);
            continue;
        }
        rule.adjust.push(Adjust { path: resolved });
    }
}

/// What to say of an `adjust` that names something nobody turns; `None` where it is set.
fn adjusts_what_is_not_set(standard: &Standard, path: &Path) -> Option<Diagnostic> {
    let (kind, field) = path.setting()?;
    let declared = standard.field(kind, field);
    let (why, help) = match &declared.sort {
        Sort::Set => return None,
        Sort::Given { said: true, .. } => (
            "given",
            "name what is turned instead, or take it out: what is given comes with the run, and nobody turns it"
                .to_owned(),
        ),
        Sort::Given { said: false, .. } => (
            "not said to be set",
            format!(
                "write `set in steps of …` (or `set`) where `{}` is declared, if it is turned or chosen for a run",
                declared.name
            ),
        ),
        Sort::Measured(_) => (
            "read off",
            "name what is turned instead; a reading is taken again after that".to_owned(),
        ),
        Sort::WorkedOut => (
            "worked out",
            "name one of the set settings that it is worked out from".to_owned(),
        ),
    };
    let text = &path.text;
    Some(
        Diagnostic::new(
            Code::AdjustNotSet,
            path.span,
            format!("`{text}` is {why}, so it cannot be adjusted"),
            "nobody turns this",
        )
        .related(declared.span, "declared here")
        .help(help),
    )
}

/// Says what a rule lacks.
fn complete(rule: &Rule, tree: &tree::Rule<'_>, problems: &mut Vec<Diagnostic>) {
    let missing = |what: &str, help: &str| {
        Diagnostic::new(
            Code::ClauseMissing,
            tree.name.span,
            what.to_owned(),
            "in this one",
        )
        .help(help.to_owned())
    };
    let broken = tree
        .block
        .lines
        .iter()
        .any(|line| matches!(line, Line::Broken(_)));
    match &rule.form {
        RuleForm::Caution(words) if words.is_empty() && !broken => {
            problems.push(missing(
                "a caution without `say` says nothing",
                "add `say \"…\"`",
            ));
        }
        RuleForm::Rule if rule.requirements.is_empty() && !broken => {
            problems.push(missing(
                "a rule without `shall` or `should` checks nothing",
                "add `shall …`; for a text shown with the run, use `caution`",
            ));
        }
        _ => {}
    }
    for requirement in &rule.requirements {
        if requirement.per.is_none() && rule.per.is_none() {
            problems.push(
                Diagnostic::new(
                    Code::NoSource,
                    requirement.span,
                    format!("the limit of `{}` does not say what it rests on", rule.name),
                    "no source",
                )
                .help("add `per \"source\"` to the rule, or `per practice`"),
            );
        }
    }
}

/// A source in words.
pub(crate) fn source_words(source: &Source) -> String {
    match &source.grounds {
        Grounds::Named(name) | Grounds::Law(name) => name.clone(),
        Grounds::Practice => "common practice".to_owned(),
    }
}
