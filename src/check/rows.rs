//! Many runs at once: requirements on a whole run, decided column by column.
//!
//! Where a rule has no `for each`, no `when` and no `may`, its requirement is a few comparisons of
//! quantities that every run has once. Each quantity becomes a column of intervals, and a comparison a
//! pass over two columns that leaves one bit a run. What the intervals alone cannot decide (a value on
//! its limit, a gap, a sampled figure) is left open, as are all other rules: for those there is
//! [`results`](super::results). What is decided here is what it would say, which a test holds.

use crate::diagnostic::Outcome;
use crate::eval::{Binding, Conditions, EvalContext, Found, decided};
use crate::interval::Bounds;
use crate::types::{
    Compare, Condition, ConditionNode, Expression, ExpressionNode, Path, RuleForm, Standard, Value,
};

/// What has no value is beside every limit: no comparison with it is true.
const NOTHING: Bounds = Bounds {
    lo: f64::NAN,
    hi: f64::NAN,
};

/// The requirements of a standard that can be decided by columns.
#[derive(Debug, Clone, Default)]
pub struct Columns {
    sources: Vec<Source>,
    requirements: Vec<Requirement>,
}

/// What a column holds.
#[derive(Debug, Clone)]
enum Source {
    Quantity(Expression),
    /// The number of a choice; 0 and 1 for `no` and `yes`.
    Word(Path),
}

#[derive(Debug, Clone)]
struct Requirement {
    rule: usize,
    requirement: usize,
    /// All must be true.
    tests: Vec<Test>,
}

#[derive(Debug, Clone)]
enum Test {
    Compare(Compare, Side, Side),
    OneOf(usize, Vec<Bounds>),
}

#[derive(Debug, Clone, Copy)]
enum Side {
    Column(usize),
    Fixed(Bounds),
}

/// Runs as rows of intervals, kept column by column.
#[derive(Debug, Clone, Default)]
pub struct Rows {
    columns: Vec<Vec<Bounds>>,
    count: usize,
}

/// What one requirement came to on all rows: a bit a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mask {
    /// Index into [`Standard::rules`].
    pub rule: usize,
    /// Index into the requirements of the rule.
    pub requirement: usize,
    /// Rows it holds for, 64 to a word.
    pub holds: Vec<u64>,
    /// Rows it breaks for. A row in neither is left open.
    pub breaks: Vec<u64>,
}

impl Mask {
    /// What a row came to; `None` when that is left open.
    #[must_use]
    pub fn outcome(&self, row: usize) -> Option<Outcome> {
        let bit = |words: &[u64]| {
            words
                .get(row / 64)
                .is_some_and(|word| word >> (row % 64) & 1 == 1)
        };
        if bit(&self.holds) {
            Some(Outcome::Holds)
        } else {
            bit(&self.breaks).then_some(Outcome::Breaks)
        }
    }
}

impl Rows {
    /// How many runs.
    #[must_use]
    pub fn count(&self) -> usize {
        self.count
    }
}

impl Columns {
    /// Finds what can be decided so.
    #[must_use]
    pub fn of(standard: &Standard) -> Self {
        let mut columns = Self::default();
        for (rule, built) in standard.rules.iter().enumerate() {
            let bare = built.when.is_empty() && built.permissions.is_empty();
            if built.form != RuleForm::Rule
                || built.table.is_some()
                || built.each.is_some()
                || !bare
            {
                continue;
            }
            for (requirement, clause) in built.requirements.iter().enumerate() {
                let known = columns.sources.len();
                let mut tests = Vec::new();
                if columns.tests(&clause.condition, &mut tests).is_some() {
                    columns.requirements.push(Requirement {
                        rule,
                        requirement,
                        tests,
                    });
                } else {
                    columns.sources.truncate(known);
                }
            }
        }
        columns
    }

    fn tests(&mut self, condition: &Condition, tests: &mut Vec<Test>) -> Option<()> {
        match &condition.node {
            ConditionNode::And(list) => {
                for part in list {
                    self.tests(part, tests)?;
                }
            }
            ConditionNode::Compare {
                compare,
                left,
                right,
            } => tests.push(Test::Compare(*compare, self.side(left), self.side(right))),
            ConditionNode::Is { path, values, .. } => {
                let values: Option<Vec<Bounds>> = values.iter().map(word).collect();
                let column = self.column(Source::Word(path.clone()));
                tests.push(Test::OneOf(column, values?));
            }
            _ => return None,
        }
        Some(())
    }

    fn side(&mut self, expression: &Expression) -> Side {
        match &expression.node {
            ExpressionNode::Constant(constant) => Side::Fixed(constant.bounds),
            _ => Side::Column(self.column(Source::Quantity(expression.clone()))),
        }
    }

    /// The number of a column; the same path twice is one.
    fn column(&mut self, source: Source) -> usize {
        let known = self
            .sources
            .iter()
            .position(|known| match (known, &source) {
                (Source::Word(known), Source::Word(path)) => same(known, path),
                (Source::Quantity(known), Source::Quantity(new)) => {
                    match (&known.node, &new.node) {
                        (ExpressionNode::Path(known), ExpressionNode::Path(new)) => {
                            same(known, new)
                        }
                        _ => false,
                    }
                }
                _ => false,
            });
        known.unwrap_or_else(|| {
            self.sources.push(source);
            self.sources.len() - 1
        })
    }

    /// How many columns a row has.
    #[must_use]
    pub fn width(&self) -> usize {
        self.sources.len()
    }

    /// Works a run out and adds it as a row.
    pub fn add(&self, rows: &mut Rows, context: &EvalContext<'_>) {
        let conditions = Conditions::new(*context);
        let values = self.sources.iter().map(|source| match source {
            Source::Quantity(expression) => conditions
                .shown_bounds(Binding::default(), expression)
                .unwrap_or(NOTHING),
            Source::Word(path) => stated_word(context, path).unwrap_or(NOTHING),
        });
        rows.columns.resize_with(self.width(), Vec::new);
        for (column, value) in rows.columns.iter_mut().zip(values) {
            column.push(value);
        }
        rows.count += 1;
    }

    /// Decides all rows.
    #[must_use]
    pub fn masks(&self, rows: &Rows) -> Vec<Mask> {
        let masks = self.requirements.iter().map(|requirement| {
            let words = rows.count.div_ceil(64);
            let mut mask = Mask {
                rule: requirement.rule,
                requirement: requirement.requirement,
                holds: vec![u64::MAX; words],
                breaks: vec![0; words],
            };
            if let Some(last) = mask.holds.last_mut() {
                // No bits behind the last row.
                *last >>= (64 - rows.count % 64) % 64;
            }
            for test in &requirement.tests {
                test.run(rows, &mut mask);
            }
            mask
        });
        masks.collect()
    }
}

impl Test {
    /// All rows: what this test denies breaks, and holds only where it is true.
    fn run(&self, rows: &Rows, mask: &mut Mask) {
        match self {
            Self::Compare(compare, left, right) => match (left, right) {
                (Side::Column(left), Side::Fixed(limit)) => {
                    pass(rows.column(*left), mask, |_, value| {
                        decided(*compare, value, *limit)
                    });
                }
                (Side::Fixed(limit), Side::Column(right)) => {
                    pass(rows.column(*right), mask, |_, value| {
                        decided(*compare, *limit, value)
                    });
                }
                (Side::Column(left), Side::Column(right)) => {
                    let right = rows.column(*right);
                    pass(rows.column(*left), mask, |row, value| {
                        decided(*compare, value, right.get(row).copied().unwrap_or(NOTHING))
                    });
                }
                (Side::Fixed(left), Side::Fixed(right)) => {
                    let known = decided(*compare, *left, *right);
                    for (holds, breaks) in mask.holds.iter_mut().zip(&mut mask.breaks) {
                        *breaks |= if known == Some(false) { *holds } else { 0 };
                        *holds &= if known == Some(true) { u64::MAX } else { 0 };
                    }
                }
            },
            Self::OneOf(column, words) => pass(rows.column(*column), mask, |_, value| {
                (!value.lo.is_nan()).then(|| words.contains(&value))
            }),
        }
    }
}

impl Rows {
    fn column(&self, number: usize) -> &[Bounds] {
        self.columns.get(number).map_or(&[], Vec::as_slice)
    }
}

/// One pass over a column, 64 rows to a word.
fn pass(column: &[Bounds], mask: &mut Mask, test: impl Fn(usize, Bounds) -> Option<bool>) {
    let words = mask.holds.iter_mut().zip(&mut mask.breaks);
    for (word, (chunk, (holds, breaks))) in column.chunks(64).zip(words).enumerate() {
        let (mut yes, mut no) = (0_u64, 0_u64);
        for (bit, value) in chunk.iter().enumerate() {
            let known = test(word * 64 + bit, *value);
            yes |= u64::from(known == Some(true)) << bit;
            no |= u64::from(known == Some(false)) << bit;
        }
        *holds &= yes;
        *breaks |= no;
    }
}

fn same(one: &Path, other: &Path) -> bool {
    one.root == other.root && one.hops == other.hops
}

/// A choice or an answer as a point.
fn word(value: &Value) -> Option<Bounds> {
    match value {
        Value::Choice(number) => Some(Bounds::point(f64::from(*number))),
        Value::YesNo(yes) => Some(Bounds::point(f64::from(u8::from(*yes)))),
        _ => None,
    }
}

fn stated_word(context: &EvalContext<'_>, path: &Path) -> Option<Bounds> {
    match context.locate(Binding::default(), path).ok()? {
        Found::Setting(target, _, field) => word(&context.stated(target, field)?.value),
        Found::Thing(_) | Found::Place(_) => None,
    }
}
