//! From pest's pairs to the tree.
//!
//! The text is read item by item, so that memory for pairs stays small however long the file is.
//! Nothing here trusts the shape of the pairs: a shape that does not fit makes a broken piece.

mod block;
mod clause;
mod expression;
mod governed;
mod statement;
mod unopened;

use std::iter::Peekable;

use super::failure;
use super::grammar::{self, Rule};
use super::tree::{Broken, Line, Quote, Statement, Tree, Word};
use super::{Inside, Parsed, Problem, ProblemNode, mask};
use crate::source::{FileId, Span};

type Pair<'p> = pest::iterators::Pair<'p, Rule>;
type Pairs<'p> = Peekable<pest::iterators::Pairs<'p, Rule>>;

/// Reads a whole text.
pub(super) fn parsed(file: FileId, text: &str) -> Parsed<'_> {
    let masked = mask::masked(text);
    let mut builder = Builder {
        file,
        text,
        base: 0,
        end: 0,
        operators: 0,
        too_deep: false,
        behind: None,
        problems: Vec::new(),
    };
    let mut items = Vec::new();
    if text.starts_with('\u{feff}') {
        builder.base = '\u{feff}'.len_utf8();
    }
    while builder.base < text.len() {
        let rest = masked.get(builder.base..).unwrap_or("");
        builder.base = builder.item(rest, &mut items);
    }
    // A block that is not closed is noticed at its end and shown at its start.
    let mut problems = builder.problems;
    if !problems.is_empty() {
        unopened::settle(file, text, &mut items, &mut problems);
    }
    problems.sort_by_key(|problem| problem.span.start);
    Parsed {
        tree: Tree { file, items },
        problems,
    }
}

/// Cuts nodes out of the text.
struct Builder<'t> {
    file: FileId,
    text: &'t str,
    /// Where the item being read starts; pest counts from there.
    base: usize,
    /// Where the last leaf ended.
    end: usize,
    /// How many operators the expression being read has so far.
    operators: usize,
    /// Whether that expression nests deeper than it may.
    too_deep: bool,
    /// What stands behind the closing brace of the statement being read.
    behind: Option<Broken<'t>>,
    problems: Vec<Problem>,
}

impl<'t> Builder<'t> {
    /// Reads one item and gives the offset of the next.
    fn item(&mut self, rest: &str, items: &mut Vec<Line<'t, Statement<'t>>>) -> usize {
        let Some(pair) = grammar::first_item(rest).and_then(|mut pairs| pairs.next()) else {
            return self.unread(rest, items);
        };
        let end = self.base + pair.as_span().end();
        match pair.as_rule() {
            Rule::blank | Rule::last_blank => {
                items.push(Line::Blank(self.word(&pair).span));
                self.behind_line_end(end)
            }
            Rule::comment => {
                items.push(Line::Comment(self.word(&pair)));
                self.behind_line_end(end)
            }
            Rule::broken_statement => {
                let broken = self.broken(self.base, end);
                failure::explain(Inside::File, &broken, &mut self.problems);
                items.push(Line::Broken(broken));
                self.behind_line_end(end)
            }
            _ => {
                let start = self.base + pair.as_span().start();
                match self.statement(pair) {
                    Some((statement, trailing)) => items.push(Line::Good(statement, trailing)),
                    None => {
                        let broken = self.broken(start, end);
                        failure::explain(Inside::File, &broken, &mut self.problems);
                        items.push(Line::Broken(broken));
                    }
                }
                if let Some(behind) = self.behind.take() {
                    self.problems
                        .push(Problem::new(behind.span, ProblemNode::BraceNotAlone));
                    items.push(Line::Broken(behind));
                }
                if end > self.base {
                    end
                } else {
                    self.unread(rest, items)
                }
            }
        }
    }

    /// Gives one line up: the way out when pest's guard says that the stack is too small.
    fn unread(&mut self, rest: &str, items: &mut Vec<Line<'t, Statement<'t>>>) -> usize {
        let size = rest.find('\n').map_or(rest.len(), |at| at + 1);
        let broken = self.broken(self.base, self.base + size);
        self.problems
            .push(Problem::new(broken.span, ProblemNode::NestedTooDeep));
        items.push(Line::Broken(broken));
        self.base + size
    }

    /// The offset behind the line end that stands at `at`.
    fn behind_line_end(&self, at: usize) -> usize {
        let rest = self.text.get(at..).unwrap_or("");
        let size = match rest.as_bytes() {
            [b'\r', b'\n', ..] => 2,
            [b'\n', ..] | [b'\r'] => 1,
            _ => 0,
        };
        at + size
    }

    fn span(&self, start: usize, end: usize) -> Span {
        Span::new(self.file, start, end)
    }

    fn start(&self, pair: &Pair<'_>) -> usize {
        self.base + pair.as_span().start()
    }

    /// The leaf that a pair covers.
    fn word(&mut self, pair: &Pair<'_>) -> Word<'t> {
        let span = pair.as_span();
        self.cut(self.base + span.start(), self.base + span.end())
    }

    /// The leaf between two offsets.
    fn cut(&mut self, start: usize, end: usize) -> Word<'t> {
        self.end = end;
        Word {
            text: self.text.get(start..end).unwrap_or(""),
            span: self.span(start, end),
        }
    }

    fn quote(&mut self, pair: &Pair<'_>) -> Quote<'t> {
        let Word { text, span } = self.word(pair);
        let raw = text.get(1..text.len().saturating_sub(1)).unwrap_or("");
        Quote { raw, span }
    }

    /// A stretch that could not be read; a line end behind it is left out.
    fn broken(&mut self, start: usize, end: usize) -> Broken<'t> {
        let text = self.text.get(start..end).unwrap_or("");
        let size = text.trim_end_matches(['\r', '\n']).len();
        let Word { text, span } = self.cut(start, start + size);
        Broken { text, span }
    }
}

/// The next pair, if it is of this rule.
fn take<'p>(pairs: &mut Pairs<'p>, rule: Rule) -> Option<Pair<'p>> {
    pairs.next_if(|pair| pair.as_rule() == rule)
}

/// The rule of the next pair.
fn next_rule(pairs: &mut Pairs<'_>) -> Option<Rule> {
    pairs.peek().map(Pair::as_rule)
}
