//! The one printer of expressions and conditions.
//!
//! Signs, names and brackets are decided here. How a path or a number is written is up to a [`Spelling`]:
//! as it stands in the text, by the declared names with exact numbers, with what a run states put in.

use super::model::{KindId, ReadEvery, Standard};
use super::terms::{
    Aggregate, Arithmetic, Condition, ConditionNode, Constant, Expression, ExpressionNode,
    Function, Hop, Path, Root, Stating,
};
use crate::units::show_exact;

/// How tightly a sum binds, for brackets.
const SUM: u8 = 1;
/// How tightly a product binds.
const PRODUCT: u8 = 2;
/// How tightly a power binds.
pub(crate) const POWER: u8 = 3;
/// What needs no brackets anywhere.
pub(crate) const WHOLE: u8 = 4;

/// How tightly an operator binds, for brackets.
fn precedence(expression: &Expression) -> u8 {
    match &expression.node {
        ExpressionNode::Binary {
            operator: Arithmetic::Add | Arithmetic::Subtract,
            ..
        } => SUM,
        ExpressionNode::Binary { .. } | ExpressionNode::Negative(_) => PRODUCT,
        ExpressionNode::Power(..) => POWER,
        _ => WHOLE,
    }
}

impl Arithmetic {
    /// Its sign.
    #[must_use]
    pub const fn sign(self) -> &'static str {
        match self {
            Self::Add => "+",
            Self::Subtract => "-",
            Self::Multiply => "*",
            Self::Divide => "/",
        }
    }
}

impl Function {
    /// Its name in the language.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Least => "least",
            Self::Most => "most",
            Self::Root => "root",
            Self::RoundUp => "round-up",
            Self::Between => "between",
            Self::Otherwise => "otherwise",
            Self::Choose => "choose",
            Self::Calibrated => "behind-the-dial-of",
            Self::Figure(figure) => figure.name,
        }
    }
}

impl ReadEvery {
    /// `2 h`.
    #[must_use]
    pub fn words(&self) -> String {
        show_exact(&self.after, &self.unit)
    }
}

impl Aggregate {
    /// Its name in the language.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Count => "count",
            Self::Total => "total",
            Self::Least => "least",
            Self::Most => "most",
        }
    }
}

/// How the paths and numbers of an expression are written.
pub trait Spelling {
    /// A path.
    fn path(&self, path: &Path) -> String;

    /// A number.
    fn number(&self, constant: &Constant) -> String;

    /// A kind.
    fn kind(&self, kind: KindId) -> String;

    /// A value that something is compared with: a record, a choice, a text.
    fn word(&self, word: &str) -> String {
        word.to_owned()
    }

    /// An expression that is written in a way of its own, and how tightly that binds, from 1 for a sum to 4 for
    /// what needs no brackets; `None` for the usual way.
    fn own(&self, _expression: &Expression) -> Option<(String, u8)> {
        None
    }
}

/// An expression, and how tightly it binds.
#[must_use]
pub fn spell(spelling: &dyn Spelling, expression: &Expression) -> (String, u8) {
    if let Some(own) = spelling.own(expression) {
        return own;
    }
    let within = |part: &Expression, needed: u8| {
        let (text, binds) = spell(spelling, part);
        if binds < needed {
            format!("({text})")
        } else {
            text
        }
    };
    let text = match &expression.node {
        ExpressionNode::Constant(constant) => spelling.number(constant),
        ExpressionNode::Path(path) => spelling.path(path),
        ExpressionNode::RangeEnd { path, high } => {
            let end = if *high { "high" } else { "low" };
            format!("{end}({})", spelling.path(path))
        }
        ExpressionNode::Negative(inner) => format!("- {}", within(inner, POWER)),
        ExpressionNode::Binary {
            operator,
            left,
            right,
        } => {
            let own = precedence(expression);
            // Left to right: the right side of `-` and `/` needs brackets already at the same level.
            let (left, right) = (within(left, own), within(right, own + 1));
            format!("{left} {} {right}", operator.sign())
        }
        ExpressionNode::Power(base, power) => format!("{} ^ {power}", within(base, WHOLE)),
        // The setting is what is written, and what is read.
        ExpressionNode::Call(Function::Calibrated, dial) => {
            dial.iter().map(|part| within(part, 0)).collect()
        }
        ExpressionNode::Call(function, arguments) => {
            let arguments: Vec<String> = arguments.iter().map(|part| within(part, 0)).collect();
            format!("{}({})", function.name(), arguments.join(", "))
        }
        ExpressionNode::Over {
            aggregate,
            kind,
            body,
        } => {
            let body = match body {
                Some(body) => within(body, 0),
                None => spelling.kind(*kind),
            };
            format!("{}({body})", aggregate.name())
        }
    };
    (text, precedence(expression))
}

/// A condition in one line; what is joined or negated stands in brackets.
#[must_use]
pub fn spell_condition(spelling: &dyn Spelling, condition: &Condition) -> String {
    let figure = |of: &Expression| spell(spelling, of).0;
    let one_of = |path: &Path, words: Vec<String>| match words.as_slice() {
        [word] => format!("{} is {word}", spelling.path(path)),
        words => format!("{} is one of {}", spelling.path(path), words.join(", ")),
    };
    let joined = |list: &[Condition], word: &str| {
        let part = |part: &Condition| format!("({})", spell_condition(spelling, part));
        list.iter().map(part).collect::<Vec<_>>().join(word)
    };
    match &condition.node {
        ConditionNode::Compare {
            compare,
            left,
            right,
        } => format!("{} {} {}", figure(left), compare.words(), figure(right)),
        ConditionNode::Within { subject, range } => {
            format!("{} within {}", figure(subject), spelling.path(range))
        }
        ConditionNode::RangeWithin { inner, outer } => {
            format!("{} within {}", spelling.path(inner), spelling.path(outer))
        }
        ConditionNode::Is { path, words, .. } => {
            one_of(path, words.iter().map(|word| spelling.word(word)).collect())
        }
        ConditionNode::Same { left, right } => {
            format!("{} is {}", spelling.path(left), spelling.path(right))
        }
        ConditionNode::IsStep { path, kinds } => one_of(
            path,
            kinds.iter().map(|kind| spelling.kind(*kind)).collect(),
        ),
        ConditionNode::Stated { path, how } => match how {
            Stating::Anyhow => format!("{} stated", spelling.path(path)),
            Stating::WithTolerance => format!("{} stated with a tolerance", spelling.path(path)),
            Stating::ReadWithin(time) => {
                format!(
                    "{} read within {}",
                    spelling.path(path),
                    spelling.number(time)
                )
            }
        },
        ConditionNode::NotOlder { path, than } => {
            format!(
                "{} not older than {}",
                spelling.path(path),
                spelling.number(than)
            )
        }
        ConditionNode::And(list) => joined(list, " and "),
        ConditionNode::Or(list) => joined(list, " or "),
        ConditionNode::Not(inner) => format!("not ({})", spell_condition(spelling, inner)),
        ConditionNode::Wrong => "wrong".to_owned(),
    }
}

/// As it stands in the text.
#[derive(Debug, Clone, Copy)]
pub struct AsWritten<'s>(pub &'s Standard);

impl Spelling for AsWritten<'_> {
    fn path(&self, path: &Path) -> String {
        path.text.clone()
    }

    fn number(&self, constant: &Constant) -> String {
        show_exact(&constant.exact, &constant.unit)
    }

    fn kind(&self, kind: KindId) -> String {
        self.0.kind(kind).name.clone()
    }
}

/// By the declared names, with exact numbers in SI base units: the same text for the same meaning,
/// however its paths and units are written.
#[derive(Debug, Clone, Copy)]
pub struct Canonical<'s>(pub &'s Standard);

impl Spelling for Canonical<'_> {
    fn path(&self, path: &Path) -> String {
        let mut text = match path.root {
            Root::Own => "own".to_owned(),
            // Which of these it is follows from where the path stands.
            Root::Single(kind) | Root::Each(kind) | Root::Member(kind) => self.kind(kind),
        };
        for hop in &path.hops {
            match hop {
                Hop::Field(kind, field) => {
                    text.push('.');
                    text.push_str(&self.0.field(*kind, *field).name);
                }
                Hop::Next(kind) | Hop::Previous(kind) => {
                    let later = matches!(hop, Hop::Next(_));
                    text.push_str(if later { ".next-" } else { ".previous-" });
                    text.push_str(kind.map_or("any", |kind| &self.0.kind(kind).name));
                }
                Hop::Place => text.push_str(".place"),
            }
        }
        text
    }

    fn number(&self, constant: &Constant) -> String {
        format!("{:?}", constant.exact)
    }

    fn kind(&self, kind: KindId) -> String {
        self.0.kind(kind).name.clone()
    }

    fn word(&self, word: &str) -> String {
        format!("{word:?}")
    }
}

/// An expression as it would be written.
#[must_use]
pub fn expression_words(standard: &Standard, expression: &Expression) -> String {
    spell(&AsWritten(standard), expression).0
}
