//! The tree of a standard or a plan: what was written, where, and nothing worked out.
//!
//! Every node carries its span, so that any piece can be cut from the source again.
//! Comments and blank lines are items of their block, in order: a formatter needs no side table.
//! Units, names and dimensions are still text here.

mod governed;

pub use governed::*;

use crate::source::{FileId, Span};

/// A word as written, with its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Word<'t> {
    /// The text of the word.
    pub text: &'t str,
    /// Where it stands.
    pub span: Span,
}

/// A text in double quotes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Quote<'t> {
    /// What stands between the quotes, escapes not yet undone.
    pub raw: &'t str,
    /// The place, quotes included.
    pub span: Span,
}

impl Quote<'_> {
    /// The text with `\"` and `\\` undone.
    #[must_use]
    pub fn value(&self) -> String {
        let mut value = String::with_capacity(self.raw.len());
        let mut escaped = false;
        for character in self.raw.chars() {
            if character == '\\' && !escaped {
                escaped = true;
                continue;
            }
            escaped = false;
            value.push(character);
        }
        value
    }
}

/// A whole file.
#[derive(Debug, Clone, PartialEq)]
pub struct Tree<'t> {
    /// Which file.
    pub file: FileId,
    /// Its statements, comments and blank lines, in order.
    pub items: Vec<Line<'t, Statement<'t>>>,
}

/// One line (or statement) of a file or block.
#[derive(Debug, Clone, PartialEq)]
pub enum Line<'t, T> {
    /// An empty line.
    Blank(Span),
    /// A comment on a line of its own, `#` included, line end not.
    Comment(Word<'t>),
    /// Something that could be read, and the comment behind it on its (last) line.
    Good(T, Option<Word<'t>>),
    /// Something that could not.
    Broken(Broken<'t>),
}

/// A stretch that could not be read. What was expected is worked out by `syntax::failure`.
#[derive(Debug, Clone, PartialEq)]
pub struct Broken<'t> {
    /// The text, line end not included.
    pub text: &'t str,
    /// Where.
    pub span: Span,
}

/// The lines between `{` and `}`.
#[derive(Debug, Clone, PartialEq)]
pub struct Block<'t, T> {
    /// The opening brace.
    pub open: Span,
    /// A comment behind the opening brace.
    pub open_comment: Option<Word<'t>>,
    /// The clauses, comments and blank lines, in order.
    pub lines: Vec<Line<'t, T>>,
    /// The closing brace; `None` when the block was never closed.
    pub close: Option<Span>,
}

/// One statement.
#[derive(Debug, Clone, PartialEq)]
pub struct Statement<'t> {
    /// All of it, block included, trailing comment and line end not.
    pub span: Span,
    /// Which.
    pub node: StatementNode<'t>,
}

/// The sorts of statement.
#[derive(Debug, Clone, PartialEq)]
pub enum StatementNode<'t> {
    /// `standard "name" edition "…"`
    Standard {
        /// Name of the standard.
        name: Quote<'t>,
        /// Its edition.
        edition: Option<Quote<'t>>,
    },
    /// `run "name" against "path"`
    Run {
        /// Name of the run.
        name: Quote<'t>,
        /// Path of the standard.
        against: Quote<'t>,
    },
    /// `use trade`
    UseSpec(Word<'t>),
    /// `use "path.std"`
    UseFile(Quote<'t>),
    /// `unit NAME = 12 pieces "sentence"`
    Unit {
        /// The unit's name.
        name: Word<'t>,
        /// What it is.
        value: Literal<'t>,
        /// A sentence about it.
        sentence: Option<Quote<'t>>,
    },
    /// `kind`, `step` and `add to`
    Kind(Kind<'t>),
    /// A record of a standard, or a thing of a plan.
    Record(Record<'t>),
    /// `rule`
    Rule(Rule<'t>),
    /// `caution`
    Caution(Rule<'t>),
    /// `table`
    Table(Table<'t>),
    /// `example`
    Example(Example<'t>),
    /// `deviation from`
    Deviation(Deviation<'t>),
    /// `reading`
    Reading(Reading<'t>),
    /// `without`
    Without(TakenOut<'t>),
    /// `sequence`
    Sequence(Sequence<'t>),
}

/// Which of the three statements that hold settings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KindForm {
    /// `kind`
    Kind,
    /// `step`
    Step,
    /// `add to`
    AddTo,
}

/// How often a kind stands in a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlaceInRun {
    /// `one to a run`
    One,
    /// `many to a run`
    Many,
}

/// `kind NAME, one to a run "sentence" { … }`
#[derive(Debug, Clone, PartialEq)]
pub struct Kind<'t> {
    /// `kind`, `step` or `add to`.
    pub form: KindForm,
    /// Its name.
    pub name: Word<'t>,
    /// How often in a run.
    pub place: Option<PlaceInRun>,
    /// A sentence about it.
    pub sentence: Option<Quote<'t>>,
    /// Its settings.
    pub block: Block<'t, KindClause<'t>>,
}

/// A clause of a kind.
// Nearly every clause is the large one, so a box would only add an allocation.
#[allow(clippy::large_enum_variant)]
#[derive(Debug, Clone, PartialEq)]
pub enum KindClause<'t> {
    /// A setting.
    Field(Field<'t>),
    /// `parts a, b make 100 %`
    Parts {
        /// The shares.
        names: Vec<Word<'t>>,
        /// What they add up to.
        total: Literal<'t>,
        /// The clause.
        span: Span,
    },
    /// `changing a, b takes 20 min "what is done"`
    Changing(Changing<'t>),
}

/// `changing mesh, thread takes 40 min "a new screen"`
#[derive(Debug, Clone, PartialEq)]
pub struct Changing<'t> {
    /// The settings.
    pub names: Vec<Word<'t>>,
    /// How long it takes.
    pub time: Literal<'t>,
    /// What is to be done.
    pub words: Option<Quote<'t>>,
    /// The clause.
    pub span: Span,
}

/// `NAME TYPE from A to B = FORMULA "sentence" SORT per "…"`
#[derive(Debug, Clone, PartialEq)]
pub struct Field<'t> {
    /// The clause.
    pub span: Span,
    /// The setting's name.
    pub name: Word<'t>,
    /// Its type.
    pub ty: FieldType<'t>,
    /// What is physically possible.
    pub possible: Option<(Literal<'t>, Literal<'t>)>,
    /// How it is worked out.
    pub formula: Option<Expr<'t>>,
    /// A sentence.
    pub sentence: Option<Quote<'t>>,
    /// What may be done with it.
    pub sort: Option<Sort<'t>>,
    /// Where range or formula come from.
    pub per: Option<Per<'t>>,
}

/// How a setting comes by its value.
#[derive(Debug, Clone, PartialEq)]
pub enum Sort<'t> {
    /// `set in steps of 5 °F, 5 °C`: turned or chosen for a run. The smallest changes the dial allows.
    Set(Vec<Literal<'t>>),
    /// `given`
    Given(Span),
    /// `given unless the plan states it`
    GivenUnlessStated(Span),
    /// `measured by "a tension meter"`
    Measured(Quote<'t>),
}

/// The type of a setting, still as words.
#[derive(Debug, Clone, PartialEq)]
pub enum FieldType<'t> {
    /// A dimension, `share`, `count`, `text`, `yes/no` or a kind's name.
    Named(Word<'t>),
    /// `count of NOUN`
    CountOf(Word<'t>),
    /// `range of DIMENSION`
    RangeOf(Word<'t>),
    /// `choice of a, b, c`
    Choice(Vec<Word<'t>>),
}

/// `per "source" reviewed 2026-03-01`
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Per<'t> {
    /// What something rests on.
    pub grounds: Grounds<'t>,
    /// The day it was last gone through.
    pub reviewed: Option<Word<'t>>,
}

/// What something rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grounds<'t> {
    /// `per "source"`
    Source(Quote<'t>),
    /// `law "source"`: a rule of law
    Law(Quote<'t>),
    /// `per practice`
    Practice(Span),
}

/// `KIND NAME is PARENT "title" { … }`
#[derive(Debug, Clone, PartialEq)]
pub struct Record<'t> {
    /// The kind.
    pub kind: Word<'t>,
    /// Its name; a thing of which a run has one needs none.
    pub name: Option<Word<'t>>,
    /// The record it takes its values from.
    pub parent: Option<Word<'t>>,
    /// The words `not listed` in its place: the thing is none of the records.
    pub not_listed: Option<Span>,
    /// A title.
    pub title: Option<Quote<'t>>,
    /// Its values.
    pub block: Option<Block<'t, Clause<'t>>>,
}

/// `SETTING VALUE per "…"`, or `loosens SETTING VALUE because "…"`
#[derive(Debug, Clone, PartialEq)]
pub struct Clause<'t> {
    /// The clause.
    pub span: Span,
    /// The word `loosens`, if it stands there.
    pub loosens: Option<Span>,
    /// The setting.
    pub name: Word<'t>,
    /// What its dial shows where it has this value: `shows 10 ft/min at`.
    pub shows: Option<Literal<'t>>,
    /// The value.
    pub value: Value<'t>,
    /// How it was read off.
    pub taken: Option<Taken<'t>>,
    /// The reason for loosening.
    pub because: Option<Quote<'t>>,
    /// Where the value comes from.
    pub per: Option<Per<'t>>,
}

/// `read on 2026-11-20 with probe-4 from 5 pieces`: how a value was read off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Taken<'t> {
    /// All of it.
    pub span: Span,
    /// The day.
    pub on: Word<'t>,
    /// The instrument.
    pub with: Option<Word<'t>>,
    /// Of how many pieces.
    pub pieces: Option<Literal<'t>>,
}

/// A value as written.
#[derive(Debug, Clone, PartialEq)]
pub struct Value<'t> {
    /// All of it.
    pub span: Span,
    /// Which form.
    pub node: ValueNode<'t>,
}

/// The forms of a value.
#[derive(Debug, Clone, PartialEq)]
pub enum ValueNode<'t> {
    /// `24 N/cm ± 2 N/cm`
    Quantity {
        /// The nominal value.
        nominal: Literal<'t>,
        /// What may be off.
        tolerance: Option<Tolerance<'t>>,
        /// The standard deviation: `sd 1.5 %`.
        sd: Option<Literal<'t>>,
    },
    /// `80 to 200 /in`
    Range {
        /// Lower end.
        low: Literal<'t>,
        /// Upper end.
        high: Literal<'t>,
    },
    /// `at least 80 /in`
    AtLeast(Literal<'t>),
    /// `at most 200 /in`
    AtMost(Literal<'t>),
    /// `2026-12-31`
    Day(Word<'t>),
    /// `"deep red"`
    Text(Quote<'t>),
    /// A record, a choice, `yes` or `no`.
    Name(Word<'t>),
}

/// What stands behind a nominal value.
#[derive(Debug, Clone, PartialEq)]
pub struct Tolerance<'t> {
    /// How far it goes.
    pub sides: Sides<'t>,
    /// `of it`: the percent behind a share are those of the share itself.
    pub of_it: Option<Span>,
}

/// How far a tolerance goes.
#[derive(Debug, Clone, PartialEq)]
pub enum Sides<'t> {
    /// `± 5 %` or `± 2 mm`
    Both(Literal<'t>),
    /// `+3 mm -1 mm`, either may be missing, not both; the literals are unsigned.
    Sided {
        /// Upwards.
        plus: Option<Literal<'t>>,
        /// Downwards.
        minus: Option<Literal<'t>>,
    },
}

/// A number with its unit, as written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Literal<'t> {
    /// Number and unit.
    pub span: Span,
    /// The digits with sign, point and exponent.
    pub number: Word<'t>,
    /// The unit.
    pub unit: Option<Word<'t>>,
}

/// `sequence { … }`
#[derive(Debug, Clone, PartialEq)]
pub struct Sequence<'t> {
    /// The keyword.
    pub keyword: Span,
    /// The steps.
    pub block: Block<'t, Step<'t>>,
}

/// `print base, 2 strokes`
#[derive(Debug, Clone, PartialEq)]
pub struct Step<'t> {
    /// The whole step.
    pub span: Span,
    /// Its kind.
    pub kind: Word<'t>,
    /// Its settings.
    pub settings: Vec<StepSetting<'t>>,
}

/// One setting of a step, named or not.
#[derive(Debug, Clone, PartialEq)]
pub struct StepSetting<'t> {
    /// The setting.
    pub span: Span,
    /// The name, if it is named.
    pub name: Option<Word<'t>>,
    /// The value.
    pub value: Value<'t>,
    /// How it was read off.
    pub taken: Option<Taken<'t>>,
}

/// A rule or a caution.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule<'t> {
    /// Its name.
    pub name: Word<'t>,
    /// Its title.
    pub title: Option<Quote<'t>>,
    /// The rule in whose place it stands.
    pub instead: Option<TakenOut<'t>>,
    /// Its clauses.
    pub block: Block<'t, RuleClause<'t>>,
}

/// `without NAME because "…"`, or `instead of NAME because "…"`
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TakenOut<'t> {
    /// `without`, or `instead of`.
    pub keyword: Span,
    /// The rule.
    pub rule: Word<'t>,
    /// Why.
    pub because: Quote<'t>,
}

/// `shall`, `should` or `may`, the verbal forms of the ISO/IEC Directives, Part 2.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Verb {
    /// A requirement.
    Shall,
    /// A recommendation.
    Should,
    /// A permission.
    May,
}

/// A clause of a rule.
#[derive(Debug, Clone, PartialEq)]
pub struct RuleClause<'t> {
    /// The clause.
    pub span: Span,
    /// Which.
    pub node: RuleClauseNode<'t>,
}

/// The sorts of clause in a rule.
#[derive(Debug, Clone, PartialEq)]
pub enum RuleClauseNode<'t> {
    /// `for each KIND`
    ForEach(Word<'t>),
    /// `when CONDITION`
    When(Expr<'t>),
    /// `shall`, `should`, `may`
    Require {
        /// Which of the three.
        verb: Verb,
        /// What is required.
        condition: Expr<'t>,
        /// What the limit rests on.
        per: Option<Per<'t>>,
    },
    /// `when out "…"`
    WhenOut(Quote<'t>),
    /// `read every 2 h`
    ReadEvery(Literal<'t>),
    /// `because "…"`
    Because(Quote<'t>),
    /// `per …`, `law …`
    Per(Per<'t>),
    /// `adjust PATH, PATH`
    Adjust(Vec<Path<'t>>),
    /// `caution "…"`
    Caution(Quote<'t>),
    /// `say "…"` (in a caution)
    Say(Quote<'t>),
}

/// `screen.ink.mesh`; never empty.
#[derive(Debug, Clone, PartialEq)]
pub struct Path<'t> {
    /// All of it.
    pub span: Span,
    /// Its words.
    pub words: Vec<Word<'t>>,
}

/// An expression or condition.
#[derive(Debug, Clone, PartialEq)]
pub struct Expr<'t> {
    /// All of it.
    pub span: Span,
    /// Which form.
    pub node: ExprNode<'t>,
}

/// The forms of an expression.
#[derive(Debug, Clone, PartialEq)]
pub enum ExprNode<'t> {
    /// `65 s`
    Number(Literal<'t>),
    /// `"deep red"`
    Text(Quote<'t>),
    /// `screen.ink.mesh`; one word may also be a choice, a record or a kind.
    Path(Path<'t>),
    /// `root(x)`
    Call {
        /// The function.
        name: Word<'t>,
        /// Its arguments.
        arguments: Vec<Expr<'t>>,
    },
    /// `( … )`
    Group(Box<Expr<'t>>),
    /// `- x` before a bracket or path, or `not x`
    Unary {
        /// The operator.
        operator: Unary,
        /// Where it stands.
        at: Span,
        /// What it works on.
        operand: Box<Expr<'t>>,
    },
    /// `a + b`, `a at least b`, `a and b`
    Binary {
        /// The operator.
        operator: Binary,
        /// Where it stands.
        at: Span,
        /// Left.
        left: Box<Expr<'t>>,
        /// Right.
        right: Box<Expr<'t>>,
    },
    /// `x is one of a, b`
    OneOf {
        /// Where `is one of` stands.
        at: Span,
        /// What is asked about.
        subject: Box<Expr<'t>>,
        /// The list.
        list: Vec<Expr<'t>>,
    },
    /// `x stated`, `x stated with a tolerance`, `x read within 30 d`
    Stated {
        /// Where `stated` or `read within` stands.
        at: Span,
        /// What is asked about.
        subject: Box<Expr<'t>>,
        /// How it has to be stated.
        how: Stating<'t>,
    },
    /// `x not older than 180 d`
    NotOlder {
        /// Where `not older than` stands.
        at: Span,
        /// What is asked about.
        subject: Box<Expr<'t>>,
        /// How old it may be.
        than: Literal<'t>,
    },
    /// Nested deeper than the builder goes; already reported as a problem.
    TooDeep,
}

/// How a value has to be stated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stating<'t> {
    /// Anyhow.
    Anyhow,
    /// With how far it may be off.
    WithTolerance,
    /// Read off at most so long ago.
    ReadWithin(Literal<'t>),
}

/// Operators with one operand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Unary {
    /// `not`
    Not,
    /// `-`
    Minus,
}

/// Operators with two operands, loosest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Binary {
    /// `or`
    Or,
    /// `and`
    And,
    /// `at least`
    AtLeast,
    /// `at most`
    AtMost,
    /// `above`
    Above,
    /// `below`
    Below,
    /// `within`
    Within,
    /// `is`
    Is,
    /// `is not`
    IsNot,
    /// `to`
    To,
    /// `+`
    Add,
    /// `-`
    Subtract,
    /// `*`
    Multiply,
    /// `/`
    Divide,
    /// `^`
    Power,
}
