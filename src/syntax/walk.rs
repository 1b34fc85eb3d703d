//! One walk over a tree, in the order of the text.
//!
//! Keywords and most signs are not in the tree; they stand in the gaps between leaves.

use super::tree::{
    Block, Broken, Clause, Deviation, DeviationClauseNode, Example, ExampleClauseNode, Expr,
    ExprNode, Field, FieldType, Grounds, Kind, KindClause, Line, Literal, Path, Per, Quote,
    Reading, ReadingClauseNode, Record, Rule, RuleClause, RuleClauseNode, Sides, Sort, Statement,
    StatementNode, Stating, Step, Table, TableClause, Taken, TakenOut, Tree, Value, ValueNode,
    Word,
};
use crate::source::Span;

/// What a leaf is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Leaf {
    /// A name or a word of a path.
    Word,
    /// A text in quotes.
    Text,
    /// The digits of a number.
    Number,
    /// A unit.
    Unit,
    /// An operator or a keyword that the tree keeps.
    Sign,
    /// `{` or `}`.
    Brace,
    /// A comment.
    Comment,
    /// A blank line.
    Blank,
    /// What could not be read.
    Broken,
}

/// One step of the walk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Visit {
    /// A node with this span starts; all up to its [`Visit::Leave`] lies inside.
    Enter(Span),
    /// A leaf.
    Leaf(Leaf, Span),
    /// The last node entered ends.
    Leave,
}

/// Walks a tree.
pub fn walk(tree: &Tree<'_>, visit: &mut impl FnMut(Visit)) {
    let walk = &mut Walk { visit };
    walk.lines(&tree.items, Walk::statement);
}

struct Walk<'v, V> {
    visit: &'v mut V,
}

impl<V: FnMut(Visit)> Walk<'_, V> {
    fn leaf(&mut self, leaf: Leaf, span: Span) {
        (self.visit)(Visit::Leaf(leaf, span));
    }

    fn node(&mut self, span: Span, inside: impl FnOnce(&mut Self)) {
        (self.visit)(Visit::Enter(span));
        inside(self);
        (self.visit)(Visit::Leave);
    }

    fn word(&mut self, word: &Word<'_>) {
        self.leaf(Leaf::Word, word.span);
    }

    fn text(&mut self, quote: &Quote<'_>) {
        self.leaf(Leaf::Text, quote.span);
    }

    fn comment(&mut self, comment: &Option<Word<'_>>) {
        if let Some(comment) = comment {
            self.leaf(Leaf::Comment, comment.span);
        }
    }

    fn lines<T>(&mut self, lines: &[Line<'_, T>], good: impl Fn(&mut Self, &T)) {
        for line in lines {
            match line {
                Line::Blank(span) => self.leaf(Leaf::Blank, *span),
                Line::Comment(comment) => self.leaf(Leaf::Comment, comment.span),
                Line::Good(node, comment) => {
                    good(self, node);
                    self.comment(comment);
                }
                Line::Broken(Broken { span, .. }) => self.leaf(Leaf::Broken, *span),
            }
        }
    }

    fn block<T>(&mut self, block: &Block<'_, T>, clause: impl Fn(&mut Self, &T)) {
        self.leaf(Leaf::Brace, block.open);
        self.comment(&block.open_comment);
        self.lines(&block.lines, clause);
        if let Some(close) = block.close {
            self.leaf(Leaf::Brace, close);
        }
    }

    fn statement(&mut self, statement: &Statement<'_>) {
        self.node(statement.span, |walk| match &statement.node {
            StatementNode::Standard { name, edition } => {
                walk.text(name);
                edition.iter().for_each(|edition| walk.text(edition));
            }
            StatementNode::Run { name, against } => {
                walk.text(name);
                walk.text(against);
            }
            StatementNode::UseSpec(name) => walk.word(name),
            StatementNode::UseFile(path) => walk.text(path),
            StatementNode::Unit {
                name,
                value,
                sentence,
            } => {
                walk.word(name);
                walk.literal(value);
                sentence.iter().for_each(|sentence| walk.text(sentence));
            }
            StatementNode::Kind(kind) => walk.kind(kind),
            StatementNode::Record(record) => walk.record(record),
            StatementNode::Rule(rule) | StatementNode::Caution(rule) => walk.rule(rule),
            StatementNode::Table(table) => walk.table(table),
            StatementNode::Example(example) => walk.example(example),
            StatementNode::Deviation(deviation) => walk.deviation(deviation),
            StatementNode::Reading(reading) => walk.reading(reading),
            StatementNode::Without(taken_out) => walk.taken_out(taken_out),
            StatementNode::Sequence(sequence) => {
                walk.leaf(Leaf::Sign, sequence.keyword);
                walk.block(&sequence.block, Self::step);
            }
        });
    }

    fn taken_out(&mut self, taken_out: &TakenOut<'_>) {
        self.leaf(Leaf::Sign, taken_out.keyword);
        self.word(&taken_out.rule);
        self.text(&taken_out.because);
    }

    fn kind(&mut self, kind: &Kind<'_>) {
        self.word(&kind.name);
        kind.sentence.iter().for_each(|text| self.text(text));
        self.block(&kind.block, |walk, clause| match clause {
            KindClause::Field(field) => walk.field(field),
            KindClause::Changing(changing) => walk.node(changing.span, |walk| {
                changing.names.iter().for_each(|name| walk.word(name));
                walk.literal(&changing.time);
                changing.words.iter().for_each(|text| walk.text(text));
            }),
            KindClause::Parts { names, total, span } => walk.node(*span, |walk| {
                names.iter().for_each(|name| walk.word(name));
                walk.literal(total);
            }),
        });
    }

    fn field(&mut self, field: &Field<'_>) {
        self.node(field.span, |walk| {
            walk.word(&field.name);
            match &field.ty {
                FieldType::Named(word) | FieldType::CountOf(word) | FieldType::RangeOf(word) => {
                    walk.word(word);
                }
                FieldType::Choice(words) => words.iter().for_each(|word| walk.word(word)),
            }
            if let Some((low, high)) = &field.possible {
                walk.literal(low);
                walk.literal(high);
            }
            field.formula.iter().for_each(|expr| walk.expr(expr));
            field.sentence.iter().for_each(|text| walk.text(text));
            match &field.sort {
                Some(Sort::Set(steps)) => steps.iter().for_each(|step| walk.literal(step)),
                Some(Sort::Measured(by)) => walk.text(by),
                Some(Sort::Given(_) | Sort::GivenUnlessStated(_)) | None => {}
            }
            walk.per(&field.per);
        });
    }

    fn record(&mut self, record: &Record<'_>) {
        self.word(&record.kind);
        record.name.iter().for_each(|name| self.word(name));
        record.parent.iter().for_each(|parent| self.word(parent));
        if let Some(words) = record.not_listed {
            self.leaf(Leaf::Sign, words);
        }
        record.title.iter().for_each(|title| self.text(title));
        if let Some(block) = &record.block {
            self.block(block, Self::clause);
        }
    }

    fn clause(&mut self, clause: &Clause<'_>) {
        self.node(clause.span, |walk| {
            if let Some(loosens) = clause.loosens {
                walk.leaf(Leaf::Sign, loosens);
            }
            walk.word(&clause.name);
            clause.shows.iter().for_each(|shown| walk.literal(shown));
            walk.value(&clause.value);
            clause.taken.iter().for_each(|taken| walk.taken(taken));
            let because = clause.because.as_ref();
            let per_first = because.zip(per_span(&clause.per));
            if per_first.is_some_and(|(because, per)| per.start < because.span.start) {
                walk.per(&clause.per);
                because.iter().for_each(|text| walk.text(text));
            } else {
                because.iter().for_each(|text| walk.text(text));
                walk.per(&clause.per);
            }
        });
    }

    fn per(&mut self, per: &Option<Per<'_>>) {
        let Some(per) = per else { return };
        match &per.grounds {
            Grounds::Source(source) | Grounds::Law(source) => self.text(source),
            Grounds::Practice(span) => self.leaf(Leaf::Sign, *span),
        }
        per.reviewed.iter().for_each(|day| self.word(day));
    }

    fn value(&mut self, value: &Value<'_>) {
        self.node(value.span, |walk| match &value.node {
            ValueNode::Quantity {
                nominal,
                tolerance,
                sd,
            } => {
                walk.literal(nominal);
                match tolerance.as_ref().map(|tolerance| &tolerance.sides) {
                    Some(Sides::Both(size)) => walk.literal(size),
                    Some(Sides::Sided { plus, minus }) => {
                        let mut sides: Vec<_> = plus.iter().chain(minus).collect();
                        sides.sort_by_key(|side| side.span.start);
                        sides.into_iter().for_each(|side| walk.literal(side));
                    }
                    None => {}
                }
                let of_it = tolerance.as_ref().and_then(|tolerance| tolerance.of_it);
                of_it.iter().for_each(|span| walk.leaf(Leaf::Sign, *span));
                sd.iter().for_each(|sd| walk.literal(sd));
            }
            ValueNode::Range { low, high } => {
                walk.literal(low);
                walk.literal(high);
            }
            ValueNode::AtLeast(literal) | ValueNode::AtMost(literal) => walk.literal(literal),
            ValueNode::Day(day) => walk.leaf(Leaf::Number, day.span),
            ValueNode::Text(text) => walk.text(text),
            ValueNode::Name(word) => walk.word(word),
        });
    }

    fn literal(&mut self, literal: &Literal<'_>) {
        self.node(literal.span, |walk| {
            walk.leaf(Leaf::Number, literal.number.span);
            if let Some(unit) = &literal.unit {
                walk.leaf(Leaf::Unit, unit.span);
            }
        });
    }

    fn step(&mut self, step: &Step<'_>) {
        self.node(step.span, |walk| {
            walk.word(&step.kind);
            for setting in &step.settings {
                walk.node(setting.span, |walk| {
                    setting.name.iter().for_each(|name| walk.word(name));
                    walk.value(&setting.value);
                    setting.taken.iter().for_each(|taken| walk.taken(taken));
                });
            }
        });
    }

    fn rule(&mut self, rule: &Rule<'_>) {
        self.word(&rule.name);
        rule.title.iter().for_each(|title| self.text(title));
        rule.instead.iter().for_each(|of| self.taken_out(of));
        self.block(&rule.block, Self::rule_clause);
    }

    fn rule_clause(&mut self, clause: &RuleClause<'_>) {
        self.node(clause.span, |walk| match &clause.node {
            RuleClauseNode::ForEach(kind) => walk.word(kind),
            RuleClauseNode::When(condition) => walk.expr(condition),
            RuleClauseNode::Require { condition, per, .. } => {
                walk.expr(condition);
                walk.per(per);
            }
            RuleClauseNode::ReadEvery(literal) => walk.literal(literal),
            RuleClauseNode::Because(text)
            | RuleClauseNode::WhenOut(text)
            | RuleClauseNode::Caution(text)
            | RuleClauseNode::Say(text) => walk.text(text),
            RuleClauseNode::Per(per) => walk.per(&Some(*per)),
            RuleClauseNode::Adjust(paths) => paths.iter().for_each(|path| walk.path(path)),
        });
    }

    fn table(&mut self, table: &Table<'_>) {
        self.word(&table.name);
        table.title.iter().for_each(|title| self.text(title));
        table.instead.iter().for_each(|of| self.taken_out(of));
        table.by.iter().for_each(|path| self.path(path));
        self.block(&table.block, |walk, clause| match clause {
            TableClause::Rule(clause) => walk.rule_clause(clause),
            TableClause::Row(row) => walk.node(row.span, |walk| {
                row.name.iter().for_each(|name| walk.word(name));
                for cell in &row.cells {
                    walk.leaf(Leaf::Sign, cell.bar);
                    cell.value.iter().for_each(|value| walk.value(value));
                }
            }),
        });
    }

    fn example(&mut self, example: &Example<'_>) {
        self.word(&example.name);
        example.title.iter().for_each(|title| self.text(title));
        self.block(&example.block, |walk, clause| {
            walk.node(clause.span, |walk| match &clause.node {
                ExampleClauseNode::Run(text) | ExampleClauseNode::Because(text) => {
                    walk.text(text);
                }
                ExampleClauseNode::Expect(expect) => {
                    walk.word(&expect.rule);
                    walk.leaf(Leaf::Sign, expect.outcome.span);
                    expect.thing.iter().for_each(|thing| walk.word(thing));
                    expect.at.iter().for_each(|path| walk.path(path));
                    expect.value.iter().for_each(|value| walk.value(value));
                }
            });
        });
    }

    fn deviation(&mut self, deviation: &Deviation<'_>) {
        self.leaf(Leaf::Sign, deviation.keyword);
        self.word(&deviation.rule);
        deviation.title.iter().for_each(|title| self.text(title));
        self.block(&deviation.block, |walk, clause| {
            walk.node(clause.span, |walk| match &clause.node {
                DeviationClauseNode::Run(text)
                | DeviationClauseNode::Because(text)
                | DeviationClauseNode::Approved(text) => walk.text(text),
                DeviationClauseNode::When(condition) => walk.expr(condition),
                DeviationClauseNode::UpTo { of, limit } => {
                    of.iter().for_each(|path| walk.path(path));
                    walk.literal(limit);
                }
                DeviationClauseNode::Until(date) => walk.leaf(Leaf::Number, date.span),
                DeviationClauseNode::Pieces(pieces) => walk.literal(pieces),
            });
        });
    }

    fn reading(&mut self, reading: &Reading<'_>) {
        self.leaf(Leaf::Sign, reading.keyword);
        self.path(&reading.of);
        self.block(&reading.block, |walk, clause| {
            walk.node(clause.span, |walk| match &clause.node {
                ReadingClauseNode::Value(value) => walk.value(value),
                ReadingClauseNode::At { of, value } => {
                    walk.path(of);
                    walk.value(value);
                }
                ReadingClauseNode::On(date) => walk.leaf(Leaf::Number, date.span),
                ReadingClauseNode::With(name) => walk.word(name),
                ReadingClauseNode::Pieces(pieces) => walk.literal(pieces),
            });
        });
    }

    fn taken(&mut self, taken: &Taken<'_>) {
        self.node(taken.span, |walk| {
            walk.leaf(Leaf::Number, taken.on.span);
            taken.with.iter().for_each(|name| walk.word(name));
            taken.pieces.iter().for_each(|pieces| walk.literal(pieces));
        });
    }

    fn path(&mut self, path: &Path<'_>) {
        self.node(path.span, |walk| {
            path.words.iter().for_each(|word| walk.word(word));
        });
    }

    fn expr(&mut self, expr: &Expr<'_>) {
        self.node(expr.span, |walk| match &expr.node {
            ExprNode::Number(literal) => walk.literal(literal),
            ExprNode::Text(text) => walk.text(text),
            ExprNode::Path(path) => walk.path(path),
            ExprNode::Call { name, arguments } => {
                walk.word(name);
                arguments.iter().for_each(|argument| walk.expr(argument));
            }
            ExprNode::Group(inner) => walk.expr(inner),
            ExprNode::Unary { at, operand, .. } => {
                walk.leaf(Leaf::Sign, *at);
                walk.expr(operand);
            }
            ExprNode::Binary {
                at, left, right, ..
            } => {
                walk.expr(left);
                walk.leaf(Leaf::Sign, *at);
                walk.expr(right);
            }
            ExprNode::OneOf { at, subject, list } => {
                walk.expr(subject);
                walk.leaf(Leaf::Sign, *at);
                list.iter().for_each(|item| walk.expr(item));
            }
            ExprNode::Stated { at, subject, how } => {
                walk.expr(subject);
                walk.leaf(Leaf::Sign, *at);
                if let Stating::ReadWithin(time) = how {
                    walk.literal(time);
                }
            }
            ExprNode::NotOlder { at, subject, than } => {
                walk.expr(subject);
                walk.leaf(Leaf::Sign, *at);
                walk.literal(than);
            }
            ExprNode::TooDeep => walk.leaf(Leaf::Broken, expr.span),
        });
    }
}

fn per_span(per: &Option<Per<'_>>) -> Option<Span> {
    per.as_ref().map(|per| match per.grounds {
        Grounds::Source(source) | Grounds::Law(source) => source.span,
        Grounds::Practice(span) => span,
    })
}
