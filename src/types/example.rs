//! Examples: the tests of a standard. They change no verdict, so they are no part of its digest.

use super::kinds::{unknown_field, unknown_kind};
use super::literal::Reader;
use super::model::{FieldId, KindId, RuleForm, Standard};
use super::taken_out::is_taken_out;
use crate::diagnostic::{Code, Diagnostic, Outcome};
use crate::names::{did_you_mean, in_a_spec};
use crate::source::{FileId, Span};
use crate::syntax::tree::{self, ExampleClauseNode, Line, Literal, Quote, ValueNode, Word};
use crate::units::Unit;

/// A run and what is expected of it.
#[derive(Debug, Clone)]
pub struct Example {
    /// Its name.
    pub name: String,
    /// Where its name stands.
    pub span: Span,
    /// Its title.
    pub title: Option<String>,
    /// Why it is there.
    pub because: Option<String>,
    /// The run.
    pub plan: Option<PlanFile>,
    /// What is expected, in the order written.
    pub expectations: Vec<Expectation>,
}

/// The plan of an example.
#[derive(Debug, Clone)]
pub struct PlanFile {
    /// The path as written.
    pub written: String,
    /// Where it stands.
    pub span: Span,
    /// Its text, once it was read.
    pub file: Option<FileId>,
}

/// What is expected of one rule.
#[derive(Debug, Clone)]
pub struct Expectation {
    /// The clause.
    pub span: Span,
    /// Index into [`Standard::rules`].
    pub rule: usize,
    /// The outcome.
    pub outcome: Outcome,
    /// Of which thing of the rule's `for each`: its name, or `step-2`.
    pub thing: Option<String>,
    /// The setting that decides.
    pub at: Option<(KindId, FieldId)>,
    /// The value that is found.
    pub value: Option<ExpectedValue>,
}

/// A value as a report would show it.
#[derive(Debug, Clone)]
pub struct ExpectedValue {
    /// In words: `46.4 to 51.4 s`.
    pub words: String,
    /// The unit of a quantity.
    pub unit: Option<Unit>,
}

/// Works out one example. Its plan is read later.
pub(super) fn example(
    standard: &Standard,
    reader: &Reader,
    tree: &tree::Example<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Example {
    let mut built = Example {
        name: tree.name.text.to_owned(),
        span: tree.name.span,
        title: tree.title.map(|quote| quote.value()),
        because: None,
        plan: None,
        expectations: Vec::new(),
    };
    let mut first: [Option<Span>; 2] = [None; 2];
    let mut once = |slot: usize, word: &str, span: Span, problems: &mut Vec<Diagnostic>| {
        let known = first.get_mut(slot)?;
        let Some(before) = known else {
            *known = Some(span);
            return Some(());
        };
        problems.push(
            Diagnostic::new(
                Code::ClauseTwice,
                span,
                format!("`{word}` stands twice in this example"),
                "again here",
            )
            .related(*before, "it stands here already")
            .help("keep one of them, or write a second example"),
        );
        None
    };
    let (mut read, mut broken) = (false, false);
    for line in &tree.block.lines {
        let clause = match line {
            Line::Good(clause, _) => clause,
            Line::Broken(_) => {
                broken = true;
                continue;
            }
            _ => continue,
        };
        match &clause.node {
            ExampleClauseNode::Run(quote) => {
                if once(0, "run", clause.span, problems).is_some() {
                    built.plan = Some(plan_file(*quote));
                }
            }
            ExampleClauseNode::Because(quote) => {
                if once(1, "because", clause.span, problems).is_some() {
                    built.because = Some(quote.value());
                }
            }
            ExampleClauseNode::Expect(expect) => {
                read = true;
                let found = expectation(standard, reader, expect, clause.span, problems);
                if let Some(found) = found.filter(|found| is_new(&built, found, problems)) {
                    built.expectations.push(found);
                }
            }
        }
    }
    let missing = |word: &str, why: &str, help: &str| {
        Diagnostic::new(
            Code::ClauseMissing,
            tree.name.span,
            format!("the example `{}` has no `{word}`: {why}", tree.name.text),
            format!("no `{word}` in it"),
        )
        .help(help)
    };
    if built.plan.is_none() && !broken {
        problems.push(missing(
            "run",
            "there is nothing to check",
            "write `run \"cases/name.plan\"`, relative to this file",
        ));
    }
    if !read && !broken {
        problems.push(missing(
            "expect",
            "it would pass whatever happens",
            "write `expect RULE breaks`, or `holds`, `at risk`, `not stated`, `does not apply`",
        ));
    }
    built
}

fn plan_file(quote: Quote<'_>) -> PlanFile {
    PlanFile {
        written: quote.value(),
        span: quote.span,
        file: None,
    }
}

fn expectation(
    standard: &Standard,
    reader: &Reader,
    expect: &tree::Expect<'_>,
    span: Span,
    problems: &mut Vec<Diagnostic>,
) -> Option<Expectation> {
    let place = |rule: &super::Rule| rule.name == expect.rule.text && rule.form == RuleForm::Rule;
    let Some(rule) = standard.rules.iter().position(place) else {
        problems.push(unknown_rule(standard, expect.rule));
        return None;
    };
    let said = expect.outcome.text.split_whitespace().collect::<Vec<_>>();
    let said = said.join(" ");
    let outcome = Outcome::ALL
        .into_iter()
        .find(|known| known.word() == said)?;
    if let Some(thing) = expect.thing
        && standard.rules[rule].each.is_none()
    {
        problems.push(
            Diagnostic::new(
                Code::WrongValue,
                thing.span,
                format!(
                    "`{}` has no `for each`: it looks at the run as a whole",
                    expect.rule.text
                ),
                "there is nothing to choose from",
            )
            .help(format!("take `for {}` out", thing.text)),
        );
        return None;
    }
    let at = match &expect.at {
        Some(path) => Some(setting(standard, path, problems)?),
        None => None,
    };
    let value = match &expect.value {
        Some(value) => Some(expected_value(reader, value, problems)?),
        None => None,
    };
    Some(Expectation {
        span,
        rule,
        outcome,
        thing: expect.thing.map(|word| word.text.to_owned()),
        at,
        value,
    })
}

/// That there is no rule of this name, and what was meant.
pub(super) fn unknown_rule(standard: &Standard, word: Word<'_>) -> Diagnostic {
    let mut diagnostic = Diagnostic::new(
        Code::UnknownRule,
        word.span,
        format!("the standard has no rule `{}`", word.text),
        "not a rule",
    );
    if let Some(help) = is_taken_out(standard, word.text) {
        return diagnostic.help(help);
    }
    let caution = standard
        .rules
        .iter()
        .find(|rule| rule.name == word.text && rule.form != RuleForm::Rule);
    if let Some(caution) = caution {
        return diagnostic
            .related(caution.span, "this is a caution")
            .help("a caution has no outcome; name a rule");
    }
    let rules = standard.rules.iter();
    let names = rules.filter(|rule| rule.form == RuleForm::Rule);
    let help = in_a_spec(&["rule", "table"], word.text)
        .or_else(|| did_you_mean(word.text, names.map(|rule| rule.name.as_str())));
    if let Some(help) = help {
        diagnostic = diagnostic.help(help);
    }
    diagnostic
}

/// `dryer.belt`: a kind and one of its settings.
fn setting(
    standard: &Standard,
    path: &tree::Path<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Option<(KindId, FieldId)> {
    let [kind, field] = path.words.as_slice() else {
        let words: Vec<&str> = path.words.iter().map(|word| word.text).collect();
        problems.push(
            Diagnostic::new(
                Code::UnknownPath,
                path.span,
                format!(
                    "`{}` is not a kind and one of its settings",
                    words.join(".")
                ),
                "not a setting",
            )
            .help("write it as a report names it: `dryer.belt`, `screen.tension`"),
        );
        return None;
    };
    let Some(&id) = standard.kind_names.get(kind.text) else {
        problems.push(unknown_kind(*kind, standard, &[]));
        return None;
    };
    match standard.kind(id).field_names.get(field.text) {
        Some(&field) => Some((id, field)),
        None => {
            problems.push(unknown_field(*field, standard, id));
            None
        }
    }
}

fn expected_value(
    reader: &Reader,
    value: &tree::Value<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Option<ExpectedValue> {
    let number = |literal: &Literal<'_>| plain(literal.number.text);
    let (start, last) = match &value.node {
        ValueNode::Text(quote) => {
            return Some(ExpectedValue {
                words: format!("\"{}\"", crate::source::visible(&quote.value())),
                unit: None,
            });
        }
        ValueNode::Name(word) | ValueNode::Day(word) => {
            return Some(ExpectedValue {
                words: word.text.to_owned(),
                unit: None,
            });
        }
        ValueNode::Quantity {
            nominal,
            tolerance: None,
            sd: None,
        } => (number(nominal), nominal),
        ValueNode::Range { low, high } => (format!("{} to {}", number(low), number(high)), high),
        ValueNode::AtLeast(end) => (format!("at least {}", number(end)), end),
        ValueNode::AtMost(end) => (format!("at most {}", number(end)), end),
        ValueNode::Quantity { .. } => {
            problems.push(
                Diagnostic::new(
                    Code::WrongValue,
                    value.span,
                    "a value that is found is an interval without a tolerance",
                    "a tolerance here",
                )
                .help("write the interval as a report shows it: `46.4 to 51.4 s`"),
            );
            return None;
        }
    };
    let unit = match last.unit {
        Some(word) => reader.unit(word, problems)?,
        None => Unit::bare(),
    };
    let words = match unit.spelling() {
        "" => start,
        spelling => format!("{start} {spelling}"),
    };
    Some(ExpectedValue {
        words,
        unit: Some(unit),
    })
}

/// `65` for `65.0`: reports write no more digits than it takes.
fn plain(number: &str) -> String {
    match number.split_once('.') {
        Some((whole, fraction)) if !fraction.contains(['e', 'E']) => {
            let fraction = fraction.trim_end_matches('0');
            if fraction.is_empty() {
                whole.to_owned()
            } else {
                format!("{whole}.{fraction}")
            }
        }
        _ => number.to_owned(),
    }
}

/// Whether nothing was expected before that says the same, or that cannot be true beside it.
fn is_new(built: &Example, found: &Expectation, problems: &mut Vec<Diagnostic>) -> bool {
    let same = |known: &&Expectation| {
        known.rule == found.rule
            && known.thing == found.thing
            && known.outcome == found.outcome
            && (known.at == found.at || known.at.is_none() || found.at.is_none())
    };
    let Some(known) = built.expectations.iter().find(same) else {
        return true;
    };
    problems.push(
        Diagnostic::new(
            Code::ExpectedTwice,
            found.span,
            format!("`{}` is expected here already", found.outcome.word()),
            "again here",
        )
        .related(known.span, "expected here first")
        .help("keep the one that says more"),
    );
    false
}
