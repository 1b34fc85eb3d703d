//! Conditions: comparisons, `within`, `is`, `stated`, and what joins them.

use super::expression::{Typer, constant};
use super::kinds::mixed_ends;
use super::mismatch;
use super::model::{KindId, Measure, PlaceInRun, Target, Type, Value};
use super::paths::{End, resolve};
use super::show::{AsWritten, spell_condition};
use super::terms::{
    Compare, Condition, ConditionNode, Constant, Expression, ExpressionNode, Path, Stating,
};
use crate::diagnostic::{Code, Diagnostic};
use crate::interval::Bounds;
use crate::names::{did_you_mean, in_a_spec};
use crate::source::Span;
use crate::syntax::tree::{self, Binary, Expr, ExprNode, Unary, Word};
use crate::units::{Dimension, Exact};

impl Typer<'_> {
    /// Works out a condition. What cannot be read is reported and becomes [`ConditionNode::Wrong`].
    pub(super) fn condition(&mut self, expr: &Expr<'_>) -> Condition {
        let node = self.condition_node(expr).unwrap_or(ConditionNode::Wrong);
        Condition {
            node,
            span: expr.span,
        }
    }

    fn condition_node(&mut self, expr: &Expr<'_>) -> Option<ConditionNode> {
        match &expr.node {
            ExprNode::Group(inner) => self.condition_node(inner),
            ExprNode::Unary {
                operator: Unary::Not,
                operand,
                ..
            } => Some(ConditionNode::Not(Box::new(self.condition(operand)))),
            ExprNode::Stated { subject, how, at } => self.stated(subject, *how, *at),
            ExprNode::NotOlder { subject, than, .. } => self.not_older(subject, than),
            ExprNode::OneOf { subject, list, at } => self.is(subject, list, *at),
            ExprNode::Binary {
                operator,
                at,
                left,
                right,
            } => self.joined(*operator, *at, left, right),
            ExprNode::Path(path) => {
                let (path, end) = resolve(self.standard, &self.context, path, self.problems)?;
                let help = if end == End::Value(Type::YesNo) {
                    format!("write `{} is yes`", path.text)
                } else {
                    "compare it with something: `at least`, `at most`, `within`, `is` …".to_owned()
                };
                self.problems.push(
                    Diagnostic::new(
                        Code::NotACondition,
                        expr.span,
                        format!(
                            "`{}` alone says nothing that could be true or false",
                            path.text
                        ),
                        "not a condition",
                    )
                    .help(help),
                );
                None
            }
            ExprNode::TooDeep => None,
            _ => self.not_a_condition(
                expr.span,
                "a value alone says nothing that could be true or false",
            ),
        }
    }

    /// `x stated`, `x stated with a tolerance`, `x read within 30 d`.
    fn stated(
        &mut self,
        subject: &Expr<'_>,
        how: tree::Stating<'_>,
        at: Span,
    ) -> Option<ConditionNode> {
        let ExprNode::Path(path) = &subject.node else {
            return self.not_a_condition(subject.span, "`stated` follows a setting");
        };
        let (path, end) = resolve(self.standard, &self.context, path, self.problems)?;
        let how = match how {
            tree::Stating::Anyhow => Stating::Anyhow,
            tree::Stating::WithTolerance | tree::Stating::ReadWithin(_)
                if !matches!(end, End::Value(Type::Quantity(_))) =>
            {
                return self.not_a_condition(
                    subject.span.join(at),
                    "only a quantity has a tolerance, or is read off",
                );
            }
            tree::Stating::WithTolerance => Stating::WithTolerance,
            tree::Stating::ReadWithin(time) => Stating::ReadWithin(self.days(&time)?),
        };
        Some(ConditionNode::Stated { path, how })
    }

    /// `x not older than 180 d`.
    fn not_older(&mut self, subject: &Expr<'_>, than: &tree::Literal<'_>) -> Option<ConditionNode> {
        let ExprNode::Path(path) = &subject.node else {
            return self.not_a_condition(subject.span, "`not older than` follows a setting");
        };
        let (path, end) = resolve(self.standard, &self.context, path, self.problems)?;
        if end != End::Value(Type::Day) {
            return self.not_a_condition(
                subject.span,
                "`not older than` follows a setting that holds a date",
            );
        }
        let than = self.days(than)?;
        Some(ConditionNode::NotOlder { path, than })
    }

    /// A time that is counted in days.
    fn days(&mut self, literal: &tree::Literal<'_>) -> Option<Constant> {
        let measure = Measure {
            dimension: Dimension::TIME,
            reading: super::Reading::Unit,
        };
        let read = self
            .reader
            .measured(literal, &measure, None, "this time", self.problems)?;
        let day = Exact::from_int(86_400);
        let whole = read.exact.div(&day).is_some_and(|days| days.is_integer());
        if !whole || read.exact.signum() < 0 {
            self.problems.push(
                Diagnostic::new(
                    Code::NotWhole,
                    literal.span,
                    "dates are counted in whole days",
                    "not a number of days",
                )
                .help("write whole days, as in `30 d`"),
            );
            return None;
        }
        let (low, high) = read.exact.outward();
        Some(Constant {
            bounds: Bounds::new(low, high),
            exact: read.exact,
            unit: read.unit,
        })
    }

    fn not_a_condition<T>(&mut self, span: Span, words: &str) -> Option<T> {
        self.problems.push(
            Diagnostic::new(Code::NotACondition, span, words, "not a condition")
                .help("compare it with something: `at least`, `at most`, `within`, `is` …"),
        );
        None
    }

    fn joined(
        &mut self,
        operator: Binary,
        at: Span,
        left: &Expr<'_>,
        right: &Expr<'_>,
    ) -> Option<ConditionNode> {
        let compare = match operator {
            Binary::And | Binary::Or => {
                if operator == Binary::Or
                    && let Some(line) = self.choices_with_or(left, right)
                {
                    self.problems.push(
                        Diagnostic::new(
                            Code::NotACondition,
                            right.span,
                            "a word alone says nothing that could be true or false",
                            "not a condition",
                        )
                        .help(format!("write `{line}`")),
                    );
                    return None;
                }
                let mut parts = Vec::new();
                let both = [self.condition(left), self.condition(right)];
                if operator == Binary::Or {
                    self.or_beside_and(at, [left, right], &both);
                }
                for condition in both {
                    // Chains of one operator become one list, so that messages name the parts.
                    match (operator, condition.node) {
                        (Binary::And, ConditionNode::And(inner))
                        | (Binary::Or, ConditionNode::Or(inner)) => {
                            parts.extend(inner);
                        }
                        (_, node) => parts.push(Condition {
                            node,
                            span: condition.span,
                        }),
                    }
                }
                return Some(if operator == Binary::And {
                    ConditionNode::And(parts)
                } else {
                    ConditionNode::Or(parts)
                });
            }
            Binary::Within => return self.within(left, right, at),
            Binary::Is => return self.is(left, std::slice::from_ref(right), at),
            Binary::IsNot => {
                let node = self.is(left, std::slice::from_ref(right), at)?;
                return Some(ConditionNode::Not(Box::new(Condition {
                    node,
                    span: left.span.join(right.span),
                })));
            }
            Binary::AtLeast => Compare::AtLeast,
            Binary::AtMost => Compare::AtMost,
            Binary::Above => Compare::Above,
            Binary::Below => Compare::Below,
            _ => {
                return self.not_a_condition(
                    left.span.join(right.span),
                    "a value alone says nothing that could be true or false",
                );
            }
        };
        let left = self.expression(left);
        let right = self.expression(right);
        self.compare(compare, at, left?, right?)
    }

    /// `x is a or b`, as it is written here: `x is one of a, b`.
    fn choices_with_or(&self, left: &Expr<'_>, right: &Expr<'_>) -> Option<String> {
        let word = |expr: &Expr<'_>| match &expr.node {
            ExprNode::Path(path) => match path.words[..] {
                [word] if !self.standard.kind_names.contains_key(word.text) => {
                    Some(word.text.to_owned())
                }
                _ => None,
            },
            _ => None,
        };
        let path = |expr: &Expr<'_>| match &expr.node {
            ExprNode::Path(path) => {
                let words: Vec<&str> = path.words.iter().map(|word| word.text).collect();
                Some(words.join("."))
            }
            _ => None,
        };
        let mut listed = vec![word(right)?];
        let mut before = left;
        let subject = loop {
            match &before.node {
                ExprNode::Binary {
                    operator: Binary::Or,
                    left,
                    right,
                    ..
                } => {
                    listed.push(word(right)?);
                    before = left;
                }
                ExprNode::Binary {
                    operator: Binary::Is,
                    left,
                    right,
                    ..
                } => {
                    listed.push(word(right)?);
                    break path(left)?;
                }
                ExprNode::OneOf { subject, list, .. } => {
                    for one in list.iter().rev() {
                        listed.push(word(one)?);
                    }
                    break path(subject)?;
                }
                _ => return None,
            }
        };
        listed.reverse();
        Some(format!("{subject} is one of {}", listed.join(", ")))
    }

    /// `a and b or c` means one thing to the language and may mean another to the writer: it is refused,
    /// with both readings.
    fn or_beside_and(&mut self, at: Span, written: [&Expr<'_>; 2], read: &[Condition; 2]) {
        let open = |expr: &Expr<'_>| {
            matches!(
                expr.node,
                ExprNode::Binary {
                    operator: Binary::And,
                    ..
                }
            )
        };
        let Some(side) = written.iter().position(|expr| open(expr)) else {
            return;
        };
        let spelling = AsWritten(self.standard);
        let part = |condition: &Condition| {
            let text = spell_condition(&spelling, condition);
            match condition.node {
                ConditionNode::And(_) | ConditionNode::Or(_) => format!("({text})"),
                _ => text,
            }
        };
        let (ConditionNode::And(parts), other) = (&read[side].node, &read[1 - side]) else {
            return;
        };
        let parts: Vec<String> = parts.iter().map(part).collect();
        let (Some((last, before)), Some((first, behind))) =
            (parts.split_last(), parts.split_first())
        else {
            return;
        };
        let (all, other) = (parts.join(" and "), part(other));
        let (one, two) = if side == 0 {
            let before = before.join(" and ");
            (
                format!("({all}) or {other}"),
                format!("{before} and ({last} or {other})"),
            )
        } else {
            let behind = behind.join(" and ");
            (
                format!("{other} or ({all})"),
                format!("({other} or {first}) and {behind}"),
            )
        };
        self.problems.push(
            Diagnostic::new(
                Code::AndOrMixed,
                at,
                "`and` and `or` stand side by side without brackets: this can be read in two ways",
                "which of them comes first?",
            )
            .help(format!("write `{one}`, or `{two}`, whichever is meant")),
        );
    }

    fn compare(
        &mut self,
        compare: Compare,
        at: Span,
        mut left: Expression,
        mut right: Expression,
    ) -> Option<ConditionNode> {
        Self::adapt(&mut left, &mut right);
        if left.dimension != right.dimension {
            self.problems
                .push(mismatch::sides("a comparison", at, &left, &right));
            return None;
        }
        if let Some(problem) = mismatch::readings(self.standard, &left, &right) {
            self.problems.push(problem);
            return None;
        }
        Some(ConditionNode::Compare {
            compare,
            left,
            right,
        })
    }

    /// `x within 80 to 200 /in`, `x within screen.ink.mesh`.
    fn within(&mut self, left: &Expr<'_>, right: &Expr<'_>, at: Span) -> Option<ConditionNode> {
        if let ExprNode::Binary {
            operator: Binary::To,
            left: low,
            right: high,
            ..
        } = &right.node
        {
            let subject = self.expression(left)?;
            let upper = self.expression(high)?;
            let mut lower = self.expression(low)?;
            // `80 to 200 /in`: the first number takes the second's unit.
            if let (ExprNode::Number(literal), ExpressionNode::Constant(unit)) =
                (&low.node, &upper.node)
                && literal.unit.is_none()
                && let Some(digits) = super::literal::Reader::digits(literal, self.problems)
            {
                lower = constant(unit.unit.to_base(&digits), unit.unit.clone(), low.span);
            }
            if let (ExpressionNode::Constant(one), ExpressionNode::Constant(two)) =
                (&lower.node, &upper.node)
                && lower.dimension == upper.dimension
                && one.exact > two.exact
            {
                self.problems.push(
                    Diagnostic::new(
                        Code::RangeReversed,
                        right.span,
                        "the lower end of this range lies above its upper end",
                        "ends exchanged",
                    )
                    .help("write the smaller number first"),
                );
                return None;
            }
            if let (ExpressionNode::Constant(one), ExpressionNode::Constant(two)) =
                (&lower.node, &upper.node)
                && lower.dimension == upper.dimension
            {
                let mixed = mixed_ends(&one.exact, &one.unit, &two.unit, low.span);
                self.problems.extend(mixed);
            }
            let span = left.span.join(right.span);
            let low = self.compare(Compare::AtLeast, at, subject.clone(), lower)?;
            let high = self.compare(Compare::AtMost, at, subject, upper)?;
            let part = |node| Condition { node, span };
            return Some(ConditionNode::And(vec![part(low), part(high)]));
        }
        let ExprNode::Path(outer) = &right.node else {
            self.problems.push(
                Diagnostic::new(
                    Code::NotACondition,
                    right.span,
                    "`within` wants a range, and this is none",
                    "not a range",
                )
                .help("write `A to B`, or a setting that holds a range; for one value, `is`"),
            );
            return None;
        };
        let (outer, end) = resolve(self.standard, &self.context, outer, self.problems)?;
        let End::Value(Type::Range(measure)) = end else {
            self.problems.push(
                Diagnostic::new(
                    Code::WrongValue,
                    right.span,
                    format!("`{}` does not hold a range", outer.text),
                    "not a range",
                )
                .help("`within` wants a range: `A to B`, or a setting that holds one"),
            );
            return None;
        };
        if let ExprNode::Path(inner) = &left.node {
            let (inner, end) = resolve(self.standard, &self.context, inner, self.problems)?;
            if let End::Value(Type::Range(other)) = &end {
                if other.dimension != measure.dimension {
                    self.problems.push(mismatch::different(
                        "`within`",
                        at,
                        (other.dimension, left.span),
                        (measure.dimension, right.span),
                    ));
                    return None;
                }
                return Some(ConditionNode::RangeWithin { inner, outer });
            }
        }
        let subject = self.expression(left)?;
        if subject.dimension != measure.dimension {
            self.problems.push(mismatch::different(
                "`within`",
                at,
                (subject.dimension, left.span),
                (measure.dimension, right.span),
            ));
            return None;
        }
        Some(ConditionNode::Within {
            subject,
            range: outer,
        })
    }

    /// `is`, `is not`, `is one of`.
    fn is(&mut self, subject: &Expr<'_>, list: &[Expr<'_>], at: Span) -> Option<ConditionNode> {
        let ExprNode::Path(tree_path) = &subject.node else {
            return self.is_quantity(subject, list, at);
        };
        let (path, end) = resolve(self.standard, &self.context, tree_path, self.problems)?;
        match &end {
            End::Value(Type::Quantity(_)) | End::Place => self.is_quantity(subject, list, at),
            End::Value(Type::Range(_)) => {
                self.quantity(path, &end, subject.span)?;
                None
            }
            End::AnyStep => self.is_step(path, list),
            End::Thing(kind) if self.standard.kind(*kind).place == PlaceInRun::Step => {
                self.is_step(path, list)
            }
            End::Thing(kind) => self.is_word(path, &Type::Reference(*kind), list),
            End::Value(ty) => self.is_word(path, ty, list),
        }
    }

    fn is_quantity(
        &mut self,
        subject: &Expr<'_>,
        list: &[Expr<'_>],
        at: Span,
    ) -> Option<ConditionNode> {
        let left = self.expression(subject)?;
        let mut any = Vec::new();
        for value in list {
            let right = self.expression(value)?;
            let span = subject.span.join(value.span);
            let node = self.compare(Compare::Is, at, left.clone(), right)?;
            any.push(Condition { node, span });
        }
        if any.len() == 1 {
            return any.pop().map(|only| only.node);
        }
        Some(ConditionNode::Or(any))
    }

    fn is_step(&mut self, path: Path, list: &[Expr<'_>]) -> Option<ConditionNode> {
        let mut kinds = Vec::new();
        for value in list {
            let word = self.word(value)?;
            let steps = |kind: &&super::model::Kind| kind.place == PlaceInRun::Step;
            let known = self.standard.kind_names.get(word.text).copied();
            match known.filter(|id| self.standard.kind(*id).place == PlaceInRun::Step) {
                Some(id) => kinds.push(id),
                None => {
                    let names = self
                        .standard
                        .kinds
                        .iter()
                        .filter(steps)
                        .map(|kind| kind.name.as_str());
                    self.unknown(
                        Code::UnknownKind,
                        word,
                        "a kind of step",
                        names.collect(),
                        None,
                    );
                    return None;
                }
            }
        }
        Some(ConditionNode::IsStep { path, kinds })
    }

    /// The single word an operand of `is` must be.
    fn word<'t>(&mut self, value: &Expr<'t>) -> Option<Word<'t>> {
        if let ExprNode::Path(path) = &value.node
            && let [word] = path.words[..]
        {
            return Some(word);
        }
        self.problems.push(Diagnostic::new(
            Code::WrongValue,
            value.span,
            "a word is wanted here",
            "not a word",
        ));
        None
    }

    /// `record_of` is the kind whose records are meant.
    fn unknown(
        &mut self,
        code: Code,
        word: Word<'_>,
        what: &str,
        known: Vec<&str>,
        record_of: Option<&str>,
    ) {
        let mut diagnostic = Diagnostic::new(
            code,
            word.span,
            format!("`{}` is not {what}", word.text),
            "not known",
        );
        let help = record_of
            .and_then(|kind| in_a_spec(&[kind], word.text))
            .or_else(|| did_you_mean(word.text, known));
        if let Some(help) = help {
            diagnostic = diagnostic.help(help);
        }
        self.problems.push(diagnostic);
    }

    fn is_word(&mut self, path: Path, ty: &Type, list: &[Expr<'_>]) -> Option<ConditionNode> {
        // Two settings of the same sort: `screen.ink is film.ink`.
        if let [only] = list
            && let ExprNode::Path(other) = &only.node
            && other.words.len() > 1
        {
            let (right, end) = resolve(self.standard, &self.context, other, self.problems)?;
            let same = match &end {
                End::Value(found) => found == ty,
                End::Thing(kind) => *ty == Type::Reference(*kind),
                _ => false,
            };
            if !same {
                self.problems.push(Diagnostic::new(
                    Code::WrongValue,
                    only.span,
                    format!(
                        "`{}` and `{}` do not hold the same sort of value",
                        path.text, right.text
                    ),
                    "another sort of value",
                ));
                return None;
            }
            return Some(ConditionNode::Same { left: path, right });
        }
        let mut values = Vec::new();
        let mut words = Vec::new();
        for value in list {
            let (value, word) = self.named_value(&path, ty, value)?;
            values.push(value);
            words.push(word);
        }
        Some(ConditionNode::Is {
            path,
            values,
            words,
        })
    }

    fn named_value(&mut self, path: &Path, ty: &Type, expr: &Expr<'_>) -> Option<(Value, String)> {
        if let (Type::Text, ExprNode::Text(quote)) = (ty, &expr.node) {
            return Some((Value::Text(quote.value()), format!("\"{}\"", quote.value())));
        }
        if *ty == Type::Text {
            self.problems.push(
                Diagnostic::new(
                    Code::WrongValue,
                    expr.span,
                    format!("`{}` is a text", path.text),
                    "not a text",
                )
                .help("write the text in double quotes"),
            );
            return None;
        }
        if *ty == Type::Day {
            self.problems.push(
                Diagnostic::new(
                    Code::WrongValue,
                    expr.span,
                    format!(
                        "`{}` is a date, and dates are compared by their age",
                        path.text
                    ),
                    "not compared with `is`",
                )
                .help(format!("write `{} not older than 180 d`", path.text)),
            );
            return None;
        }
        let word = self.word(expr)?;
        let text = word.text.to_owned();
        match ty {
            Type::YesNo => match word.text {
                "yes" => Some((Value::YesNo(true), text)),
                "no" => Some((Value::YesNo(false), text)),
                _ => {
                    self.unknown(
                        Code::UnknownChoice,
                        word,
                        "`yes` or `no`",
                        vec!["yes", "no"],
                        None,
                    );
                    None
                }
            },
            Type::Choice(choices) => match choices.iter().position(|choice| choice == word.text) {
                Some(index) => Some((Value::choice(index), text)),
                None => {
                    let known = choices.iter().map(String::as_str).collect();
                    self.unknown(
                        Code::UnknownChoice,
                        word,
                        &format!("a choice of `{}`", path.text),
                        known,
                        None,
                    );
                    None
                }
            },
            Type::Reference(kind) => {
                let key = (*kind, text.clone());
                match self.standard.record_names.get(&key) {
                    Some(&record) => Some((Value::Reference(Target::Record(record)), text)),
                    None => {
                        let name = self.standard.kind(*kind).name.clone();
                        let known = record_words(self.standard, *kind);
                        self.unknown(
                            Code::UnknownRecord,
                            word,
                            &format!("a record of kind `{name}`"),
                            known,
                            Some(&name),
                        );
                        None
                    }
                }
            }
            Type::Text | Type::Day | Type::Quantity(_) | Type::Range(_) => None,
        }
    }
}

/// Names of all records of a kind.
pub(super) fn record_words(standard: &super::Standard, kind: KindId) -> Vec<&str> {
    standard
        .record_names
        .keys()
        .filter(|(of, _)| *of == kind)
        .map(|(_, name)| name.as_str())
        .collect()
}
