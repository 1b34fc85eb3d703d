//! A compact picture of a tree, and what must hold for every tree.

use std::fmt::Write as _;

use strikeoff::source::FileId;
use strikeoff::syntax::parse;
use strikeoff::syntax::tree::*;
use strikeoff::syntax::walk::{Leaf, Visit, walk};

/// One line for each line of the tree.
pub(crate) fn outline(tree: &Tree<'_>) -> String {
    let mut shown = String::new();
    for line in &tree.items {
        item(&mut shown, "", line, statement);
    }
    shown
}

fn item<T>(shown: &mut String, indent: &str, line: &Line<'_, T>, good: impl Fn(&T) -> String) {
    let words = match line {
        Line::Blank(_) => return,
        Line::Comment(comment) => format!("comment {}", comment.text),
        Line::Broken(broken) => format!("broken {:?}", broken.text),
        Line::Good(node, comment) => {
            let comment = comment.map(|comment| format!("  {}", comment.text));
            format!("{}{}", good(node), comment.unwrap_or_default())
        }
    };
    writeln!(shown, "{indent}{words}").unwrap();
}

fn block<T>(block: &Block<'_, T>, good: impl Fn(&T) -> String) -> String {
    let mut shown = String::from(" {");
    if let Some(comment) = block.open_comment {
        write!(shown, "  {}", comment.text).unwrap();
    }
    shown.push('\n');
    for line in &block.lines {
        item(&mut shown, "  ", line, &good);
    }
    shown.push_str(if block.close.is_some() {
        "}"
    } else {
        "(never closed)"
    });
    shown
}

fn quote(quote: &Quote<'_>) -> String {
    format!("{:?}", quote.value())
}

fn with<T>(before: &str, part: &Option<T>, show: impl Fn(&T) -> String) -> String {
    part.as_ref()
        .map(|part| format!("{before}{}", show(part)))
        .unwrap_or_default()
}

fn statement(statement: &Statement<'_>) -> String {
    match &statement.node {
        StatementNode::Standard { name, edition } => {
            format!(
                "standard {}{}",
                quote(name),
                with(" edition ", edition, quote)
            )
        }
        StatementNode::Run { name, against } => {
            format!("run {} against {}", quote(name), quote(against))
        }
        StatementNode::UseSpec(name) => format!("use spec {}", name.text),
        StatementNode::UseFile(path) => format!("use file {}", quote(path)),
        StatementNode::Unit {
            name,
            value,
            sentence,
        } => format!(
            "unit {} = {}{}",
            name.text,
            literal(value),
            with(" ", sentence, quote)
        ),
        StatementNode::Kind(kind) => format!(
            "{:?} {}{}{}{}",
            kind.form,
            kind.name.text,
            with(", ", &kind.place, |place| format!("{place:?}")),
            with(" ", &kind.sentence, quote),
            block(&kind.block, kind_clause)
        ),
        StatementNode::Record(record) => format!(
            "record {}{}{}{}{}",
            record.kind.text,
            with(" ", &record.name, |name| name.text.to_owned()),
            with(" is ", &record.parent, |parent| parent.text.to_owned()),
            with(" ", &record.title, quote),
            with("", &record.block, |lines| block(lines, clause))
        ),
        StatementNode::Rule(node) => format!("rule {}", rule(node)),
        StatementNode::Caution(node) => format!("caution {}", rule(node)),
        StatementNode::Table(node) => format!(
            "table {}{}{} by {}{}",
            node.name.text,
            with(" ", &node.title, quote),
            with(" instead of ", &node.instead, taken_out),
            node.by.iter().map(path).collect::<Vec<_>>().join(", "),
            block(&node.block, table_clause)
        ),
        StatementNode::Example(node) => format!(
            "example {}{}{}",
            node.name.text,
            with(" ", &node.title, quote),
            block(&node.block, example_clause)
        ),
        StatementNode::Deviation(node) => format!(
            "deviation from {}{}{}",
            node.rule.text,
            with(" ", &node.title, quote),
            block(&node.block, deviation_clause)
        ),
        StatementNode::Reading(node) => {
            format!(
                "reading {}{}",
                path(&node.of),
                block(&node.block, reading_clause)
            )
        }
        StatementNode::Without(node) => format!("without {}", taken_out(node)),
        StatementNode::Sequence(sequence) => format!("sequence{}", block(&sequence.block, step)),
    }
}

fn table_clause(clause: &TableClause<'_>) -> String {
    match clause {
        TableClause::Rule(clause) => rule_clause(clause),
        TableClause::Row(row) => {
            let cells: Vec<_> = row
                .cells
                .iter()
                .map(|cell| cell.value.as_ref().map_or("-".to_owned(), value))
                .collect();
            let name = row.name.map_or("head", |name| name.text);
            format!("row {name}: {}", cells.join(" | "))
        }
    }
}

fn example_clause(clause: &ExampleClause<'_>) -> String {
    match &clause.node {
        ExampleClauseNode::Run(text) => format!("run {}", quote(text)),
        ExampleClauseNode::Because(text) => format!("because {}", quote(text)),
        ExampleClauseNode::Expect(expect) => format!(
            "expect {} `{}`{}{}{}",
            expect.rule.text,
            expect.outcome.text,
            with(" for ", &expect.thing, |thing| thing.text.to_owned()),
            with(" at ", &expect.at, path),
            with(" with ", &expect.value, value)
        ),
    }
}

fn reading_clause(clause: &ReadingClause<'_>) -> String {
    match &clause.node {
        ReadingClauseNode::Value(of) => format!("value {}", value(of)),
        ReadingClauseNode::At { of, value: at } => format!("at {} {}", path(of), value(at)),
        ReadingClauseNode::On(day) => format!("on {}", day.text),
        ReadingClauseNode::With(name) => format!("with {}", name.text),
        ReadingClauseNode::Pieces(pieces) => format!("pieces {}", literal(pieces)),
    }
}

fn taken(taken: &Taken<'_>) -> String {
    format!(
        " read on {}{}{}",
        taken.on.text,
        with(" with ", &taken.with, |name| name.text.to_owned()),
        with(" from ", &taken.pieces, literal)
    )
}

fn deviation_clause(clause: &DeviationClause<'_>) -> String {
    match &clause.node {
        DeviationClauseNode::Run(text) => format!("run {}", quote(text)),
        DeviationClauseNode::When(condition) => format!("when {}", expr(condition)),
        DeviationClauseNode::UpTo { of, limit } => {
            format!("{}up to {}", with("of ", of, path), literal(limit))
        }
        DeviationClauseNode::Because(text) => format!("because {}", quote(text)),
        DeviationClauseNode::Approved(text) => format!("approved {}", quote(text)),
        DeviationClauseNode::Until(date) => format!("until {}", date.text),
        DeviationClauseNode::Pieces(pieces) => format!("pieces {}", literal(pieces)),
    }
}

fn kind_clause(clause: &KindClause<'_>) -> String {
    match clause {
        KindClause::Parts { names, total, .. } => {
            format!("parts {} make {}", words(names), literal(total))
        }
        KindClause::Changing(changing) => format!(
            "changing {} takes {}{}",
            words(&changing.names),
            literal(&changing.time),
            with(" ", &changing.words, quote)
        ),
        KindClause::Field(field) => {
            let ty = match &field.ty {
                FieldType::Named(word) => word.text.to_owned(),
                FieldType::CountOf(word) => format!("count-of({})", word.text),
                FieldType::RangeOf(word) => format!("range-of({})", word.text),
                FieldType::Choice(list) => format!("choice({})", words(list)),
            };
            let sort = |sort: &Sort<'_>| match sort {
                Sort::Set(steps) if steps.is_empty() => "set".to_owned(),
                Sort::Set(steps) => {
                    let steps: Vec<_> = steps.iter().map(literal).collect();
                    format!("set in steps of {}", steps.join(", "))
                }
                Sort::Given(_) => "given".to_owned(),
                Sort::GivenUnlessStated(_) => "given unless stated".to_owned(),
                Sort::Measured(by) => format!("measured by {}", quote(by)),
            };
            format!(
                "{}: {ty}{}{}{}{}{}",
                field.name.text,
                with(" from ", &field.possible, |(low, high)| {
                    format!("{} to {}", literal(low), literal(high))
                }),
                with(" = ", &field.formula, expr),
                with(" ", &field.sentence, quote),
                with(" ", &field.sort, sort),
                with(" per ", &field.per, per),
            )
        }
    }
}

fn words(words: &[Word<'_>]) -> String {
    let texts: Vec<_> = words.iter().map(|word| word.text).collect();
    texts.join(", ")
}

fn per(per: &Per<'_>) -> String {
    let grounds = match &per.grounds {
        Grounds::Source(source) => quote(source),
        Grounds::Law(source) => format!("law {}", quote(source)),
        Grounds::Practice(_) => "practice".to_owned(),
    };
    match &per.reviewed {
        Some(day) => format!("{grounds} reviewed {}", day.text),
        None => grounds,
    }
}

fn clause(clause: &Clause<'_>) -> String {
    format!(
        "{}{}: {}{}{}",
        if clause.loosens.is_some() {
            "loosens "
        } else {
            ""
        },
        clause.name.text,
        value(&clause.value) + &with("", &clause.taken, taken),
        with(" because ", &clause.because, quote),
        with(" per ", &clause.per, per)
    )
}

fn value(value: &Value<'_>) -> String {
    match &value.node {
        ValueNode::Quantity {
            nominal,
            tolerance,
            sd,
        } => {
            let sides = tolerance.as_ref().map(|tolerance| &tolerance.sides);
            let of_it = tolerance
                .as_ref()
                .is_some_and(|tolerance| tolerance.of_it.is_some());
            let tolerance = match sides {
                None => String::new(),
                Some(Sides::Both(size)) => format!(" ± {}", literal(size)),
                Some(Sides::Sided { plus, minus }) => {
                    with(" plus ", plus, literal) + &with(" minus ", minus, literal)
                }
            } + if of_it { " of it" } else { "" };
            literal(nominal) + &tolerance + &with(" sd ", sd, literal)
        }
        ValueNode::Range { low, high } => format!("[{} .. {}]", literal(low), literal(high)),
        ValueNode::AtLeast(low) => format!("[{} ..]", literal(low)),
        ValueNode::AtMost(high) => format!("[.. {}]", literal(high)),
        ValueNode::Day(day) => format!("day {}", day.text),
        ValueNode::Text(text) => quote(text),
        ValueNode::Name(name) => format!("'{}", name.text),
    }
}

fn literal(literal: &Literal<'_>) -> String {
    let unit = literal.unit.map(|unit| format!("<{}>", unit.text));
    format!("{}{}", literal.number.text, unit.unwrap_or_default())
}

fn step(step: &Step<'_>) -> String {
    let settings: Vec<_> = step
        .settings
        .iter()
        .map(|setting| {
            let name = with("", &setting.name, |name| format!("{}: ", name.text));
            name + &value(&setting.value) + &with("", &setting.taken, taken)
        })
        .collect();
    format!("{}({})", step.kind.text, settings.join(", "))
}

fn taken_out(of: &TakenOut<'_>) -> String {
    format!("{} because {}", of.rule.text, quote(&of.because))
}

fn rule(rule: &Rule<'_>) -> String {
    format!(
        "{}{}{}{}",
        rule.name.text,
        with(" ", &rule.title, quote),
        with(" instead of ", &rule.instead, taken_out),
        block(&rule.block, rule_clause)
    )
}

fn rule_clause(clause: &RuleClause<'_>) -> String {
    match &clause.node {
        RuleClauseNode::ForEach(kind) => format!("for each {}", kind.text),
        RuleClauseNode::When(condition) => format!("when {}", expr(condition)),
        RuleClauseNode::Require {
            verb,
            condition,
            per: source,
        } => format!("{verb:?} {}{}", expr(condition), with(" per ", source, per)),
        RuleClauseNode::WhenOut(text) => format!("when out {}", quote(text)),
        RuleClauseNode::ReadEvery(every) => format!("read every {}", literal(every)),
        RuleClauseNode::Because(text) => format!("because {}", quote(text)),
        RuleClauseNode::Per(source) => format!("per {}", per(source)),
        RuleClauseNode::Adjust(paths) => {
            let paths: Vec<_> = paths.iter().map(path).collect();
            format!("adjust {}", paths.join(", "))
        }
        RuleClauseNode::Caution(text) => format!("caution {}", quote(text)),
        RuleClauseNode::Say(text) => format!("say {}", quote(text)),
    }
}

fn path(path: &Path<'_>) -> String {
    let texts: Vec<_> = path.words.iter().map(|word| word.text).collect();
    texts.join(".")
}

/// Every operator in brackets of its own, so that strengths can be seen.
pub(crate) fn expr(expression: &Expr<'_>) -> String {
    let list = |list: &[Expr<'_>]| list.iter().map(expr).collect::<Vec<_>>().join(", ");
    match &expression.node {
        ExprNode::Number(number) => literal(number),
        ExprNode::Text(text) => quote(text),
        ExprNode::Path(words) => path(words),
        ExprNode::Call { name, arguments } => format!("{}({})", name.text, list(arguments)),
        ExprNode::Group(inner) => format!("({})", expr(inner)),
        ExprNode::Unary {
            operator, operand, ..
        } => format!("[{operator:?} {}]", expr(operand)),
        ExprNode::Binary {
            operator,
            left,
            right,
            ..
        } => format!("[{} {operator:?} {}]", expr(left), expr(right)),
        ExprNode::OneOf {
            subject, list: of, ..
        } => format!("[{} OneOf {}]", expr(subject), list(of)),
        ExprNode::Stated { subject, how, .. } => match how {
            Stating::Anyhow => format!("[{} Stated]", expr(subject)),
            Stating::WithTolerance => format!("[{} StatedWithTolerance]", expr(subject)),
            Stating::ReadWithin(time) => {
                format!("[{} ReadWithin {}]", expr(subject), literal(time))
            }
        },
        ExprNode::NotOlder { subject, than, .. } => {
            format!("[{} NotOlder {}]", expr(subject), literal(than))
        }
        ExprNode::TooDeep => "(too deep)".to_owned(),
    }
}

/// What may stand between two leaves, besides white space.
const GAPS: &[&str] = &[
    "standard", "edition", "run", "against", "use", "unit", "kind", "step", "add", "to", "rule",
    "caution", "is", "one", "many", "a", "parts", "make", "from", "count", "of", "range", "choice",
    "at", "least", "most", "for", "each", "when", "shall", "should", "may", "because", "per",
    "reviewed", "adjust", "say", "set", "in", "steps", "given", "listed", "not", "unless", "the",
    "plan", "states", "it", "measured", "by", "table", "example", "expect", "with", "on", "up",
    "approved", "until", "pieces", "reading", "value", "read", "instead", "without", ",", ".", "(",
    ")", "=", "±", "+", "-",
];

/// Panics unless the tree of a text is sound: leaves and gaps make up the text and gaps hold nothing
/// but keywords and signs; leaves stand in order, on characters, inside their parents; every broken
/// piece has a problem.
pub(crate) fn assert_sound(text: &str) {
    let parsed = parse(FileId(7), text);
    let mut end = if text.starts_with('\u{feff}') { 3 } else { 0 };
    let mut rebuilt = text[..end].to_owned();
    let whole = 0..text.len();
    let mut parents = vec![whole];
    let mut broken = 0;
    walk(&parsed.tree, &mut |visit| match visit {
        Visit::Enter(span) => {
            let (range, parent) = (span.range(), parents.last().unwrap());
            assert_eq!(span.file, FileId(7));
            assert!(
                parent.start <= range.start && range.end <= parent.end,
                "{range:?} outside {parent:?} in {text:?}"
            );
            assert!(text.get(range.clone()).is_some(), "{range:?} in {text:?}");
            parents.push(range);
        }
        Visit::Leave => assert!(parents.pop().is_some()),
        Visit::Leaf(leaf, span) => {
            let (range, parent) = (span.range(), parents.last().unwrap());
            assert_eq!(span.file, FileId(7));
            assert!(
                parent.start <= range.start && range.end <= parent.end,
                "{leaf:?} {range:?} outside {parent:?} in {text:?}"
            );
            assert!(
                end <= range.start,
                "{leaf:?} {range:?} overlaps in {text:?}"
            );
            gap(&text[end..range.start]);
            rebuilt.push_str(&text[end..range.start]);
            rebuilt.push_str(&text[range.clone()]);
            end = range.end;
            broken += usize::from(leaf == Leaf::Broken);
        }
    });
    gap(&text[end..]);
    rebuilt.push_str(&text[end..]);
    assert_eq!(rebuilt, text);
    assert!(parsed.problems.len() >= broken, "silent piece in {text:?}");
    for problem in &parsed.problems {
        assert!(text.get(problem.span.range()).is_some());
        let said = strikeoff::syntax::diagnostic(problem);
        assert!(!said.headline.is_empty() && said.help.is_some());
    }
}

fn gap(mut gap: &str) {
    let whole = gap;
    loop {
        gap = gap.trim_start_matches([' ', '\t', '\r', '\n']);
        if gap.is_empty() {
            return;
        }
        let size = gap
            .find(|c: char| !c.is_ascii_alphabetic())
            .unwrap_or(gap.len());
        let size = size.max(gap.chars().next().unwrap().len_utf8() * usize::from(size == 0));
        assert!(
            GAPS.contains(&&gap[..size]),
            "lost {:?} in {whole:?}",
            &gap[..size]
        );
        gap = &gap[size..];
    }
}
