//! The lines between two braces.

use super::{Broken, Builder, Pair, take};
use crate::syntax::failure;
use crate::syntax::grammar::Rule;
use crate::syntax::tree::{Block, Line, Word};
use crate::syntax::{Inside, Problem, ProblemNode};

/// A block and the comment behind its closing brace.
pub(super) struct Closed<'t, T> {
    pub(super) block: Block<'t, T>,
    pub(super) trailing: Option<Word<'t>>,
}

impl<'t> Builder<'t> {
    pub(super) fn block<T>(
        &mut self,
        pair: Pair<'_>,
        inside: Inside,
        clause: impl Fn(&mut Self, Pair<'_>) -> Option<T>,
    ) -> Option<Closed<'t, T>> {
        let parts = &mut pair.into_inner().peekable();
        let open = self.word(&take(parts, Rule::open_brace)?).span;
        let open_comment = take(parts, Rule::trailing).map(|pair| self.word(&pair));
        let mut closed = Closed {
            block: Block {
                open,
                open_comment,
                lines: Vec::new(),
                close: None,
            },
            trailing: None,
        };
        let lines = &mut closed.block.lines;
        let from = self.problems.len();
        for part in parts {
            match part.as_rule() {
                Rule::blank | Rule::last_blank => lines.push(Line::Blank(self.word(&part).span)),
                Rule::comment => lines.push(Line::Comment(self.word(&part))),
                Rule::close_brace => closed.block.close = Some(self.word(&part).span),
                Rule::unclosed => self.unclosed(open, &part),
                Rule::behind_brace => {
                    let Word { text, span } = self.word(&part);
                    self.behind = Some(Broken { text, span });
                    self.end = closed.block.close.unwrap_or(open).end as usize;
                }
                Rule::trailing if closed.block.close.is_some() => {
                    let end = self.end;
                    closed.trailing = Some(self.word(&part));
                    self.end = end;
                }
                Rule::trailing => {
                    let comment = self.word(&part);
                    if let Some(Line::Good(_, trailing)) = lines.last_mut() {
                        *trailing = Some(comment);
                    }
                }
                Rule::broken_line => {
                    let span = part.as_span();
                    let broken = self.broken(self.base + span.start(), self.base + span.end());
                    failure::explain(inside, &broken, &mut self.problems);
                    lines.push(Line::Broken(broken));
                }
                _ => {
                    let start = self.start(&part);
                    match clause(self, part) {
                        Some(clause) => lines.push(Line::Good(clause, None)),
                        None => {
                            let broken = self.line_from(start);
                            failure::explain(inside, &broken, &mut self.problems);
                            lines.push(Line::Broken(broken));
                        }
                    }
                }
            }
        }
        self.hush(from);
        Some(closed)
    }

    /// Several clauses of a rule in a block that is none are one mistake: its first word.
    fn hush(&mut self, from: usize) {
        let mine = self.problems.get_mut(from..).unwrap_or_default();
        let misplaced = mine
            .iter_mut()
            .filter(|problem| matches!(problem.node, ProblemNode::ClauseMisplaced { .. }));
        for problem in misplaced.skip(1) {
            problem.follows = true;
        }
    }

    /// The rest of the line, as a broken piece.
    fn line_from(&mut self, start: usize) -> Broken<'t> {
        let rest = self.text.get(start..).unwrap_or("");
        let size = rest.find('\n').unwrap_or(rest.len());
        self.broken(start, start + size)
    }

    fn unclosed(&mut self, open: crate::source::Span, part: &Pair<'_>) {
        let at = self.start(part);
        let next = (at < self.text.len()).then(|| self.line_from(at).span);
        self.end = self.end.min(at);
        self.problems
            .push(Problem::new(open, ProblemNode::BlockNotClosed { next }));
    }
}
