//! Tables, examples, deviations and readings in the tree.

use super::{Block, Expr, Literal, Path, Quote, RuleClause, TakenOut, Value, Word};
use crate::source::Span;

/// `table NAME "title" by PATH, PATH { … }`
#[derive(Debug, Clone, PartialEq)]
pub struct Table<'t> {
    /// Its name.
    pub name: Word<'t>,
    /// Its title.
    pub title: Option<Quote<'t>>,
    /// The rule in whose place it stands.
    pub instead: Option<TakenOut<'t>>,
    /// What the rows go by, and the columns.
    pub by: Vec<Path<'t>>,
    /// Its rows, and the clauses of the rule it makes.
    pub block: Block<'t, TableClause<'t>>,
}

/// A line of a table.
#[derive(Debug, Clone, PartialEq)]
pub enum TableClause<'t> {
    /// A clause as in a rule.
    Rule(RuleClause<'t>),
    /// A row; the head of the table has no name.
    Row(Row<'t>),
}

/// `soft-white | 280 to 320 °F | 280 to 305 °F |`
#[derive(Debug, Clone, PartialEq)]
pub struct Row<'t> {
    /// All of it.
    pub span: Span,
    /// What stands before the first bar.
    pub name: Option<Word<'t>>,
    /// What stands behind each bar.
    pub cells: Vec<Cell<'t>>,
}

/// A bar and what stands behind it.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell<'t> {
    /// The bar.
    pub bar: Span,
    /// The value; `None` for an empty cell.
    pub value: Option<Value<'t>>,
}

/// `example NAME "title" { … }`
#[derive(Debug, Clone, PartialEq)]
pub struct Example<'t> {
    /// Its name.
    pub name: Word<'t>,
    /// Its title.
    pub title: Option<Quote<'t>>,
    /// Its clauses.
    pub block: Block<'t, ExampleClause<'t>>,
}

/// A clause of an example.
#[derive(Debug, Clone, PartialEq)]
pub struct ExampleClause<'t> {
    /// The clause.
    pub span: Span,
    /// Which.
    pub node: ExampleClauseNode<'t>,
}

/// The sorts of clause in an example.
#[derive(Debug, Clone, PartialEq)]
pub enum ExampleClauseNode<'t> {
    /// `run "cases/half-poly-48s.plan"`
    Run(Quote<'t>),
    /// `expect RULE OUTCOME for THING at PATH with VALUE`
    Expect(Box<Expect<'t>>),
    /// `because "…"`
    Because(Quote<'t>),
}

/// What an example expects of a rule.
#[derive(Debug, Clone, PartialEq)]
pub struct Expect<'t> {
    /// The rule.
    pub rule: Word<'t>,
    /// The outcome: `holds`, `breaks`, `at risk`, `not stated`, `does not apply`.
    pub outcome: Word<'t>,
    /// Of which thing, where the rule looks at each of a kind.
    pub thing: Option<Word<'t>>,
    /// The setting that decides.
    pub at: Option<Path<'t>>,
    /// The value that was found.
    pub value: Option<Value<'t>>,
}

/// `deviation from RULE "title" { … }`
#[derive(Debug, Clone, PartialEq)]
pub struct Deviation<'t> {
    /// The words `deviation from`.
    pub keyword: Span,
    /// The rule.
    pub rule: Word<'t>,
    /// A title.
    pub title: Option<Quote<'t>>,
    /// Its clauses.
    pub block: Block<'t, DeviationClause<'t>>,
}

/// A clause of a deviation.
#[derive(Debug, Clone, PartialEq)]
pub struct DeviationClause<'t> {
    /// The clause.
    pub span: Span,
    /// Which.
    pub node: DeviationClauseNode<'t>,
}

/// The sorts of clause in a deviation.
#[derive(Debug, Clone, PartialEq)]
pub enum DeviationClauseNode<'t> {
    /// `run "2611 harbour festival tees"`
    Run(Quote<'t>),
    /// `when CONDITION`
    When(Expr<'t>),
    /// `up to 58 s`
    UpTo {
        /// Which limit, where the rule has several.
        of: Option<Path<'t>>,
        /// How far.
        limit: Literal<'t>,
    },
    /// `because "…"`
    Because(Quote<'t>),
    /// `approved "…"`
    Approved(Quote<'t>),
    /// `until 2026-12-31`
    Until(Word<'t>),
    /// `pieces 300`
    Pieces(Literal<'t>),
}

/// `reading film.peak { … }`
#[derive(Debug, Clone, PartialEq)]
pub struct Reading<'t> {
    /// The word `reading`.
    pub keyword: Span,
    /// What was read off: `film.peak`, `screen.base.tension`, `step-4.pallet-after`.
    pub of: Path<'t>,
    /// Its clauses.
    pub block: Block<'t, ReadingClause<'t>>,
}

/// A clause of a reading.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingClause<'t> {
    /// The clause.
    pub span: Span,
    /// Which.
    pub node: ReadingClauseNode<'t>,
}

/// The sorts of clause in a reading.
#[derive(Debug, Clone, PartialEq)]
pub enum ReadingClauseNode<'t> {
    /// `value 285 °F ± 6 °F`
    Value(Value<'t>),
    /// `at dryer.belt 3 m/min`
    At {
        /// The setting.
        of: Path<'t>,
        /// What it was.
        value: Value<'t>,
    },
    /// `on 2026-11-20`
    On(Word<'t>),
    /// `with probe-4`
    With(Word<'t>),
    /// `pieces 5`
    Pieces(Literal<'t>),
}
