//! What a standard or a plan declares: statements sorted by what they are, doubles and misplaced ones said.

use std::collections::HashMap;

use super::lookalike::Lookalikes;
use super::reserved::reserved;
use crate::diagnostic::{Code, Diagnostic};
use crate::source::Span;
use crate::syntax::tree::{
    Deviation, Example, FieldType, Kind, KindClause, KindForm, Line, Literal, Quote, Reading,
    Record, Rule, Sequence, Statement, StatementNode, Table, TakenOut, Tree, Word,
};

/// The name and edition of a standard.
#[derive(Debug, Clone, Copy)]
pub struct Header<'t> {
    /// Its name.
    pub name: Quote<'t>,
    /// Its edition.
    pub edition: Option<Quote<'t>>,
}

/// All declarations of a standard.
#[derive(Debug, Default)]
pub struct Scope<'t> {
    /// Name and edition, from the root file.
    pub header: Option<Header<'t>>,
    /// Kinds and steps.
    pub kinds: Vec<&'t Kind<'t>>,
    /// Settings added to kinds.
    pub additions: Vec<&'t Kind<'t>>,
    /// Records.
    pub records: Vec<&'t Record<'t>>,
    /// Rules, and cautions (`true`).
    pub rules: Vec<(&'t Rule<'t>, bool)>,
    /// Tables.
    pub tables: Vec<&'t Table<'t>>,
    /// Examples.
    pub examples: Vec<&'t Example<'t>>,
    /// Deviations.
    pub deviations: Vec<&'t Deviation<'t>>,
    /// Rules taken out, and for each the one that stands in its place.
    pub taken_out: Vec<(TakenOut<'t>, Option<Word<'t>>)>,
    /// Units of the shop's own.
    pub units: Vec<(Word<'t>, Literal<'t>)>,
}

/// All statements of a plan.
#[derive(Debug, Default)]
pub struct PlanScope<'t> {
    /// The run's name, the path of its standard, and the statement.
    pub run: Option<(Quote<'t>, Quote<'t>, Span)>,
    /// Its things.
    pub things: Vec<&'t Record<'t>>,
    /// Its steps.
    pub sequence: Option<&'t Sequence<'t>>,
    /// Behind the last statement and its comment.
    pub end: Option<Span>,
    /// Its readings.
    pub readings: Vec<&'t Reading<'t>>,
}

fn statements<'t>(tree: &'t Tree<'t>) -> impl Iterator<Item = &'t Statement<'t>> {
    tree.items.iter().filter_map(|line| match line {
        Line::Good(statement, _) => Some(statement),
        _ => None,
    })
}

/// Whether a line that could not be read starts like this statement; it has been reported.
fn tried(tree: &Tree<'_>, keyword: &str) -> bool {
    tree.items.iter().any(|line| match line {
        Line::Broken(broken) => {
            let first = broken.text.split_whitespace().next().unwrap_or("");
            first.eq_ignore_ascii_case(keyword)
        }
        _ => false,
    })
}

/// Words for a statement.
fn called(node: &StatementNode<'_>) -> &'static str {
    match node {
        StatementNode::Standard { .. } => "`standard`",
        StatementNode::Run { .. } => "`run`",
        StatementNode::UseSpec(_) | StatementNode::UseFile(_) => "`use`",
        StatementNode::Unit { .. } => "`unit`",
        StatementNode::Kind(kind) => match kind.form {
            KindForm::Kind => "`kind`",
            KindForm::Step => "`step`",
            KindForm::AddTo => "`add to`",
        },
        StatementNode::Record(_) => "a record",
        StatementNode::Rule(_) => "`rule`",
        StatementNode::Caution(_) => "`caution`",
        StatementNode::Table(_) => "`table`",
        StatementNode::Example(_) => "`example`",
        StatementNode::Deviation(_) => "`deviation`",
        StatementNode::Reading(_) => "`reading`",
        StatementNode::Without(_) => "`without`",
        StatementNode::Sequence(_) => "`sequence`",
    }
}

/// The first line of a statement, for labels that should not cover a whole block.
fn head(statement: &Statement<'_>) -> Span {
    match &statement.node {
        StatementNode::Kind(kind) => kind.name.span,
        StatementNode::Record(record) => record.name.unwrap_or(record.kind).span,
        StatementNode::Rule(rule) | StatementNode::Caution(rule) => rule.name.span,
        StatementNode::Table(table) => table.name.span,
        StatementNode::Example(example) => example.name.span,
        StatementNode::Deviation(deviation) => deviation.keyword,
        StatementNode::Reading(reading) => reading.keyword,
        StatementNode::Without(taken_out) => taken_out.keyword.join(taken_out.rule.span),
        StatementNode::Sequence(sequence) => sequence.keyword,
        _ => statement.span,
    }
}

/// Names met so far, with the place of the first.
#[derive(Default)]
struct Met<'t> {
    names: HashMap<(String, &'t str), Span>,
    alike: Lookalikes<'t>,
}

impl<'t> Met<'t> {
    fn add(&mut self, what: &str, name: Word<'t>, problems: &mut Vec<Diagnostic>) -> bool {
        let key = (what.to_owned(), name.text);
        if let Some(first) = self.names.get(&key) {
            let said = format!("there are two of {what} `{}`", name.text);
            // A file comes before those it uses, and what it uses may not be the shop's to change.
            let own = first.file != name.span.file;
            let said = if own {
                Diagnostic::new(Code::DuplicateName, *first, said, "this one").related(
                    name.span,
                    format!("{what} `{}` comes with a file that is used", name.text),
                )
            } else {
                Diagnostic::new(Code::DuplicateName, name.span, said, "again here").related(
                    *first,
                    format!("{what} `{}` was declared here first", name.text),
                )
            };
            problems.push(said.help(match what {
                "kind" => "rename one of them; more settings for a kind are written with `add to`"
                    .to_owned(),
                "rule" if own => format!(
                    "give yours another name; one that stands in the place of the other says so: \
                     `rule our-{0} instead of {0} because \"…\" {{`",
                    name.text
                ),
                _ => "rename one of them, or take one out".to_owned(),
            }));
            return false;
        }
        self.names.insert(key, name.span);
        self.alike.add(what, name, problems);
        true
    }

    /// A name that conditions and formulas speak of: none of their own words.
    fn add_spoken(&mut self, what: &str, name: Word<'t>, problems: &mut Vec<Diagnostic>) -> bool {
        problems.extend(reserved(what, name));
        self.add(what, name, problems)
    }

    /// The names of a kind's settings and of their choices. That one stands twice is said where they are built.
    fn settings(&mut self, kind: &Kind<'t>, problems: &mut Vec<Diagnostic>) {
        for line in &kind.block.lines {
            let Line::Good(KindClause::Field(field), _) = line else {
                continue;
            };
            problems.extend(reserved("setting", field.name));
            let sort = format!("{} setting", kind.name.text);
            self.alike.add(&sort, field.name, problems);
            if let FieldType::Choice(choices) = &field.ty {
                let sort = format!("{}.{} choice", kind.name.text, field.name.text);
                for choice in choices {
                    problems.extend(reserved("choice", *choice));
                    self.alike.add(&sort, *choice, problems);
                }
            }
        }
    }
}

/// Sorts the statements of a standard's files; the first tree is the root.
#[must_use]
pub fn scope<'t>(trees: &'t [Tree<'t>]) -> (Scope<'t>, Vec<Diagnostic>) {
    let mut scope = Scope::default();
    let mut problems = Vec::new();
    let mut met = Met::default();
    for (index, tree) in trees.iter().enumerate() {
        for (place, statement) in statements(tree).enumerate() {
            match &statement.node {
                StatementNode::Standard { name, edition } => {
                    let header = Header {
                        name: *name,
                        edition: *edition,
                    };
                    if index > 0 {
                        continue;
                    }
                    if scope.header.is_some() || place > 0 {
                        problems.push(
                            Diagnostic::new(
                                Code::MisplacedStatement,
                                statement.span,
                                "`standard` stands once, as the first statement",
                                "not here",
                            )
                            .help("move it to the top, or take it out if there is one already"),
                        );
                    }
                    scope.header.get_or_insert(header);
                }
                StatementNode::Run { .. }
                | StatementNode::Sequence(_)
                | StatementNode::Reading(_) => {
                    problems.push(
                        Diagnostic::new(
                            Code::MisplacedStatement,
                            head(statement),
                            format!(
                                "{} belongs in a plan, not in a standard",
                                called(&statement.node)
                            ),
                            "not in a standard",
                        )
                        .help("move it to a file that ends in `.plan`"),
                    );
                }
                StatementNode::UseSpec(_) | StatementNode::UseFile(_) => {}
                StatementNode::Unit { name, value, .. } => {
                    if met.add("unit", *name, &mut problems) {
                        scope.units.push((*name, *value));
                    }
                }
                StatementNode::Kind(kind) => {
                    met.settings(kind, &mut problems);
                    match kind.form {
                        KindForm::AddTo => scope.additions.push(kind),
                        _ => {
                            if met.add_spoken("kind", kind.name, &mut problems) {
                                scope.kinds.push(kind);
                            }
                        }
                    }
                }
                StatementNode::Record(record) => match record.name {
                    Some(name) => {
                        if met.add_spoken(record.kind.text, name, &mut problems) {
                            scope.records.push(record);
                        }
                    }
                    None => problems.push(
                        Diagnostic::new(
                            Code::NameMissing,
                            record.kind.span.after(),
                            format!("each `{}` in a standard needs a name", record.kind.text),
                            "name missing here",
                        )
                        .help(format!("write `{} some-name {{`", record.kind.text)),
                    ),
                },
                StatementNode::Rule(rule) => {
                    if met.add("rule", rule.name, &mut problems) {
                        let instead = rule.instead.map(|of| (of, Some(rule.name)));
                        scope.taken_out.extend(instead);
                        scope.rules.push((rule, false));
                    }
                }
                StatementNode::Caution(rule) => {
                    if met.add("caution", rule.name, &mut problems) {
                        scope.rules.push((rule, true));
                    }
                }
                // A table makes a rule of its name.
                StatementNode::Table(table) => {
                    if met.add("rule", table.name, &mut problems) {
                        let instead = table.instead.map(|of| (of, Some(table.name)));
                        scope.taken_out.extend(instead);
                        scope.tables.push(table);
                    }
                }
                StatementNode::Example(example) => {
                    if met.add("example", example.name, &mut problems) {
                        scope.examples.push(example);
                    }
                }
                StatementNode::Deviation(deviation) => {
                    scope.deviations.push(deviation);
                }
                StatementNode::Without(taken_out) => scope.taken_out.push((*taken_out, None)),
            }
        }
    }
    if scope.header.is_none()
        && let Some(root) = trees.first()
        && !tried(root, "standard")
    {
        let start = Span::new(root.file, 0, 0);
        problems.push(
            Diagnostic::new(
                Code::HeaderMissing,
                start,
                "a standard starts with its name and edition",
                "missing here",
            )
            .help("write `standard \"name of the room\" edition \"1\"` as the first line"),
        );
    }
    (scope, problems)
}

/// Sorts the statements of a plan.
#[must_use]
pub fn plan_scope<'t>(tree: &'t Tree<'t>) -> (PlanScope<'t>, Vec<Diagnostic>) {
    let mut scope = PlanScope::default();
    let mut problems = Vec::new();
    let mut alike = Lookalikes::default();
    scope.end = tree.items.iter().rev().find_map(|line| match line {
        Line::Good(statement, comment) => {
            Some(comment.map_or(statement.span, |of| of.span).after())
        }
        _ => None,
    });
    for (place, statement) in statements(tree).enumerate() {
        match &statement.node {
            StatementNode::Run { name, against } => {
                if scope.run.is_some() || place > 0 {
                    problems.push(
                        Diagnostic::new(
                            Code::MisplacedStatement,
                            statement.span,
                            "`run` stands once, as the first statement",
                            "not here",
                        )
                        .help("move it to the top, or take it out if there is one already"),
                    );
                }
                scope.run.get_or_insert((*name, *against, statement.span));
            }
            StatementNode::Record(record) => {
                if let Some(name) = record.name {
                    problems.extend(reserved(record.kind.text, name));
                    alike.add(record.kind.text, name, &mut problems);
                }
                scope.things.push(record);
            }
            StatementNode::Sequence(sequence) => {
                if let Some(first) = scope.sequence {
                    problems.push(
                        Diagnostic::new(
                            Code::DuplicateName,
                            sequence.keyword,
                            "a plan has one `sequence`",
                            "again here",
                        )
                        .related(first.keyword, "the first one stands here")
                        .help("put all steps into one sequence"),
                    );
                } else {
                    scope.sequence = Some(sequence);
                }
            }
            StatementNode::Reading(reading) => scope.readings.push(reading),
            other => problems.push(
                Diagnostic::new(
                    Code::MisplacedStatement,
                    head(statement),
                    format!("{} belongs in a standard, not in a plan", called(other)),
                    "not in a plan",
                )
                .help("move it to the standard, so that every order keeps to it"),
            ),
        }
    }
    if scope.run.is_none() && !tried(tree, "run") {
        problems.push(
            Diagnostic::new(
                Code::HeaderMissing,
                Span::new(tree.file, 0, 0),
                "a plan starts with its name and its standard",
                "missing here",
            )
            .help("write `run \"name of the order\" against \"room.std\"` as the first line"),
        );
    }
    (scope, problems)
}
