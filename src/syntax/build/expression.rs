//! Expressions: pest gives a flat row of operands and operators, the strengths are settled here.
//!
//! The depth of the tree is bounded, by brackets and by operators: what walks or drops it may recurse.

use super::{Builder, Pair, Pairs, next_rule, take};
use crate::syntax::grammar::Rule;
use crate::syntax::mask::DEEPEST;
use crate::syntax::tree::{Binary, Expr, ExprNode, Literal, Stating, Unary, Word};
use crate::syntax::{Problem, ProblemNode};

/// How many operators one expression may have.
const MOST_OPERATORS: usize = 256;

/// How strongly an operator holds what stands left and right of it.
type Strength = (u8, u8);

const NOT: u8 = 5;
const COMPARISON: Strength = (7, 8);
const MINUS: u8 = 15;
const STATED: u8 = 20;

/// The operators, loosest first. `^` holds its right side first: `a ^ b ^ c` is `a ^ (b ^ c)`.
fn binary(text: &str) -> Option<(Binary, Strength)> {
    let mut words = text.split_ascii_whitespace();
    Some(match (words.next()?, words.next()) {
        ("or", _) => (Binary::Or, (1, 2)),
        ("and", _) => (Binary::And, (3, 4)),
        ("at", Some("least")) => (Binary::AtLeast, COMPARISON),
        ("at", _) => (Binary::AtMost, COMPARISON),
        ("above", _) => (Binary::Above, COMPARISON),
        ("below", _) => (Binary::Below, COMPARISON),
        ("within", _) => (Binary::Within, COMPARISON),
        ("is", None) => (Binary::Is, COMPARISON),
        ("is", _) => (Binary::IsNot, COMPARISON),
        ("to", _) => (Binary::To, (9, 10)),
        ("+", _) => (Binary::Add, (11, 12)),
        ("-", _) => (Binary::Subtract, (11, 12)),
        ("*", _) => (Binary::Multiply, (13, 14)),
        ("/", _) => (Binary::Divide, (13, 14)),
        ("^", _) => (Binary::Power, (18, 17)),
        _ => return None,
    })
}

impl<'t> Builder<'t> {
    /// The expression of a clause.
    pub(super) fn expression(&mut self, pair: Pair<'_>) -> Option<Expr<'t>> {
        self.operators = 0;
        self.too_deep = false;
        let (start, end) = (pair.as_span().start(), pair.as_span().end());
        let expr = self.nested(pair, 0);
        if !self.too_deep {
            return expr;
        }
        let span = self.cut(self.base + start, self.base + end).span;
        self.problems
            .push(Problem::new(span, ProblemNode::NestedTooDeep));
        let node = ExprNode::TooDeep;
        Some(Expr { span, node })
    }

    /// An expression inside brackets.
    fn nested(&mut self, pair: Pair<'_>, depth: usize) -> Option<Expr<'t>> {
        if depth > DEEPEST {
            self.too_deep = true;
            return None;
        }
        let parts = &mut pair.into_inner().peekable();
        let expr = self.climb(parts, 0, depth)?;
        parts.next().is_none().then_some(expr)
    }

    /// As much as holds together at least as strongly as `least`.
    fn climb(&mut self, parts: &mut Pairs<'_>, least: u8, depth: usize) -> Option<Expr<'t>> {
        let mut left = match next_rule(parts)? {
            Rule::kw_not => self.unary(parts, Unary::Not, NOT, depth)?,
            Rule::minus => self.unary(parts, Unary::Minus, MINUS, depth)?,
            _ => self.operand(parts, depth)?,
        };
        // `-2 ^ 2` is `-(2 ^ 2)`, as everywhere else.
        if next_operator(parts) == Some("^")
            && let Some((at, number)) = self.without_sign(&left)
        {
            self.count()?;
            let operand = self.rest(number, parts, MINUS, depth)?;
            left = Expr {
                span: at.join(operand.span),
                node: ExprNode::Unary {
                    operator: Unary::Minus,
                    at,
                    operand: Box::new(operand),
                },
            };
        }
        self.rest(left, parts, least, depth)
    }

    /// Goes on behind a left side.
    fn rest(
        &mut self,
        mut left: Expr<'t>,
        parts: &mut Pairs<'_>,
        least: u8,
        depth: usize,
    ) -> Option<Expr<'t>> {
        loop {
            let next = match parts.peek() {
                Some(next) => next,
                None => return Some(left),
            };
            let node = match next.as_rule() {
                Rule::stated if STATED >= least => {
                    self.count()?;
                    let at = self.word_part(parts, Rule::stated)?.span;
                    let subject = Box::new(left);
                    let how = Stating::Anyhow;
                    ExprNode::Stated { at, subject, how }
                }
                Rule::stated_so if STATED >= least => {
                    self.count()?;
                    let at = self.word_part(parts, Rule::stated_so)?.span;
                    let subject = Box::new(left);
                    let how = Stating::WithTolerance;
                    ExprNode::Stated { at, subject, how }
                }
                Rule::read_within if STATED >= least => {
                    self.count()?;
                    let row = &mut parts.next()?.into_inner().peekable();
                    let at = self.word_part(row, Rule::kw_read_within)?.span;
                    let subject = Box::new(left);
                    let how = Stating::ReadWithin(self.literal(row)?);
                    ExprNode::Stated { at, subject, how }
                }
                Rule::not_older if STATED >= least => {
                    self.count()?;
                    let row = &mut parts.next()?.into_inner().peekable();
                    let at = self.word_part(row, Rule::kw_not_older)?.span;
                    let subject = Box::new(left);
                    let than = self.literal(row)?;
                    ExprNode::NotOlder { at, subject, than }
                }
                Rule::one_of if COMPARISON.0 >= least => {
                    self.count()?;
                    let row = &mut parts.next()?.into_inner().peekable();
                    let at = self.word_part(row, Rule::kw_one_of)?.span;
                    let subject = Box::new(left);
                    let list = self.list(row, depth)?;
                    ExprNode::OneOf { at, subject, list }
                }
                Rule::operator => {
                    let (operator, (holds_left, holds_right)) = binary(next.as_str())?;
                    if holds_left < least {
                        return Some(left);
                    }
                    self.count()?;
                    let at = self.word_part(parts, Rule::operator)?.span;
                    let right = self.climb(parts, holds_right, depth)?;
                    ExprNode::Binary {
                        operator,
                        at,
                        left: Box::new(left),
                        right: Box::new(right),
                    }
                }
                _ => return Some(left),
            };
            let start = start_of(&node);
            left = Expr {
                span: self.span(start, self.end),
                node,
            };
        }
    }

    /// Counts one more operator before anything recurses; `None` when there are too many.
    fn count(&mut self) -> Option<()> {
        self.operators += 1;
        if self.operators > MOST_OPERATORS {
            self.too_deep = true;
            return None;
        }
        Some(())
    }

    fn unary(
        &mut self,
        parts: &mut Pairs<'_>,
        operator: Unary,
        holds: u8,
        depth: usize,
    ) -> Option<Expr<'t>> {
        self.count()?;
        let sign = parts.next()?;
        let at = self.word(&sign).span;
        let operand = self.climb(parts, holds, depth)?;
        Some(Expr {
            span: at.join(operand.span),
            node: ExprNode::Unary {
                operator,
                at,
                operand: Box::new(operand),
            },
        })
    }

    fn operand(&mut self, parts: &mut Pairs<'_>, depth: usize) -> Option<Expr<'t>> {
        let start = self.start(parts.peek()?);
        let node = match next_rule(parts)? {
            Rule::number => ExprNode::Number(self.literal(parts)?),
            Rule::text => ExprNode::Text(self.text_part(parts)?),
            Rule::group => {
                let inner = &mut parts.next()?.into_inner().peekable();
                take(inner, Rule::open_paren)?;
                let expr = self.nested(take(inner, Rule::expression)?, depth + 1)?;
                self.word_part(inner, Rule::close_paren)?;
                ExprNode::Group(Box::new(expr))
            }
            Rule::reference_head => self.reference(parts, depth)?,
            _ => return None,
        };
        let span = self.span(start, self.end);
        Some(Expr { span, node })
    }

    /// A path, or a call.
    fn reference(&mut self, parts: &mut Pairs<'_>, depth: usize) -> Option<ExprNode<'t>> {
        let head = take(parts, Rule::reference_head)?;
        if let Some(tail) = take(parts, Rule::path_tail) {
            let path = self.path(head.as_span().start(), tail.as_span().end());
            return Some(ExprNode::Path(path));
        }
        let Some(arguments) = take(parts, Rule::arguments) else {
            let name = self.word(&head);
            return Some(ExprNode::Path(crate::syntax::tree::Path {
                span: name.span,
                words: vec![name],
            }));
        };
        let name = self.word(&head);
        let inner = &mut arguments.into_inner().peekable();
        take(inner, Rule::open_paren)?;
        let mut arguments = Vec::new();
        while let Some(argument) = take(inner, Rule::expression) {
            arguments.push(self.nested(argument, depth + 1)?);
            take(inner, Rule::comma);
        }
        self.word_part(inner, Rule::close_paren)?;
        Some(ExprNode::Call { name, arguments })
    }

    fn list(&mut self, row: &mut Pairs<'_>, depth: usize) -> Option<Vec<Expr<'t>>> {
        let mut list = vec![self.operand(row, depth)?];
        while take(row, Rule::comma).is_some() {
            list.push(self.operand(row, depth)?);
        }
        Some(list)
    }

    /// The sign of a negative number, and the number without it.
    fn without_sign(&self, expr: &Expr<'t>) -> Option<(crate::source::Span, Expr<'t>)> {
        let ExprNode::Number(literal) = expr.node else {
            return None;
        };
        let text = literal.number.text.strip_prefix('-')?;
        let (start, end) = (literal.span.start as usize, literal.span.end as usize);
        let span = self.span(start + 1, end);
        let number = Word {
            text,
            span: self.span(start + 1, literal.number.span.end as usize),
        };
        let node = ExprNode::Number(Literal {
            span,
            number,
            unit: literal.unit,
        });
        Some((self.span(start, start + 1), Expr { span, node }))
    }
}

fn next_operator<'p>(parts: &mut Pairs<'p>) -> Option<&'p str> {
    let next = parts.peek()?;
    (next.as_rule() == Rule::operator).then(|| next.as_str())
}

/// Where an expression starts that starts with another.
fn start_of(node: &ExprNode<'_>) -> usize {
    let first = match node {
        ExprNode::Binary { left: first, .. }
        | ExprNode::Stated { subject: first, .. }
        | ExprNode::NotOlder { subject: first, .. }
        | ExprNode::OneOf { subject: first, .. } => first.span.start,
        _ => 0,
    };
    first as usize
}
