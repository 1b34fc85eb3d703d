//! Tables, examples, deviations and readings.

use super::block::Closed;
use super::statement::Ended;
use super::{Builder, Pair, Pairs, next_rule, take};
use crate::syntax::Inside;
use crate::syntax::grammar::Rule;
use crate::syntax::tree::{
    Cell, Deviation, DeviationClause, DeviationClauseNode, Example, ExampleClause,
    ExampleClauseNode, Expect, Path, Reading, ReadingClause, ReadingClauseNode, Row, StatementNode,
    Table, TableClause,
};

impl<'t> Builder<'t> {
    pub(super) fn table(&mut self, parts: &mut Pairs<'_>) -> Option<Ended<'t>> {
        take(parts, Rule::kw_table)?;
        let name = self.word_part(parts, Rule::name)?;
        let title = self.text_part(parts);
        let instead = self.instead(parts);
        take(parts, Rule::kw_by)?;
        let by = self.paths(parts)?;
        let block = take(parts, Rule::table_block)?;
        let Closed { block, trailing } = self.block(block, Inside::Table, Self::table_clause)?;
        let table = Table {
            name,
            title,
            instead,
            by,
            block,
        };
        Some((StatementNode::Table(table), trailing))
    }

    fn table_clause(&mut self, pair: Pair<'_>) -> Option<TableClause<'t>> {
        if pair.as_rule() != Rule::table_row {
            return self.rule_clause(pair).map(TableClause::Rule);
        }
        let start = self.start(&pair);
        let parts = &mut pair.into_inner().peekable();
        let name = self.word_part(parts, Rule::record_name);
        let mut cells = Vec::new();
        while let Some(cell) = take(parts, Rule::table_cell) {
            let inside = &mut cell.into_inner().peekable();
            let bar = self.word_part(inside, Rule::bar)?.span;
            let value = match next_rule(inside) {
                Some(_) => Some(self.value(inside)?),
                None => None,
            };
            cells.push(Cell { bar, value });
        }
        let span = self.span(start, self.end);
        Some(TableClause::Row(Row { span, name, cells }))
    }

    pub(super) fn example(&mut self, parts: &mut Pairs<'_>) -> Option<Ended<'t>> {
        take(parts, Rule::kw_example)?;
        let name = self.word_part(parts, Rule::name)?;
        let title = self.text_part(parts);
        let block = take(parts, Rule::example_block)?;
        let Closed { block, trailing } =
            self.block(block, Inside::Example, Self::example_clause)?;
        let node = StatementNode::Example(Example { name, title, block });
        Some((node, trailing))
    }

    fn example_clause(&mut self, pair: Pair<'_>) -> Option<ExampleClause<'t>> {
        let start = self.start(&pair);
        let rule = pair.as_rule();
        let parts = &mut pair.into_inner().peekable();
        // The keyword, which the rule's name says already.
        parts.next()?;
        let node = match rule {
            Rule::run_clause => ExampleClauseNode::Run(self.text_part(parts)?),
            Rule::because_clause => ExampleClauseNode::Because(self.text_part(parts)?),
            Rule::expect_clause => ExampleClauseNode::Expect(Box::new(self.expect(parts)?)),
            _ => return None,
        };
        let span = self.span(start, self.end);
        Some(ExampleClause { span, node })
    }

    fn expect(&mut self, parts: &mut Pairs<'_>) -> Option<Expect<'t>> {
        let rule = self.word_part(parts, Rule::name)?;
        let outcome = self.word_part(parts, Rule::outcome)?;
        let thing = match take(parts, Rule::kw_for) {
            Some(_) => Some(self.word_part(parts, Rule::name)?),
            None => None,
        };
        let at = match take(parts, Rule::kw_at) {
            Some(_) => {
                let path = take(parts, Rule::path)?.as_span();
                Some(self.path(path.start(), path.end()))
            }
            None => None,
        };
        let value = match take(parts, Rule::kw_with) {
            Some(_) => Some(self.value(parts)?),
            None => None,
        };
        Some(Expect {
            rule,
            outcome,
            thing,
            at,
            value,
        })
    }

    pub(super) fn deviation(&mut self, parts: &mut Pairs<'_>) -> Option<Ended<'t>> {
        let keyword = self.word_part(parts, Rule::kw_deviation_from)?.span;
        let rule = self.word_part(parts, Rule::name)?;
        let title = self.text_part(parts);
        let block = take(parts, Rule::deviation_block)?;
        let Closed { block, trailing } =
            self.block(block, Inside::Deviation, Self::deviation_clause)?;
        let deviation = Deviation {
            keyword,
            rule,
            title,
            block,
        };
        Some((StatementNode::Deviation(deviation), trailing))
    }

    fn deviation_clause(&mut self, pair: Pair<'_>) -> Option<DeviationClause<'t>> {
        let start = self.start(&pair);
        let rule = pair.as_rule();
        let parts = &mut pair.into_inner().peekable();
        let node = if rule == Rule::up_to_clause {
            let of = take(parts, Rule::path).map(|path| {
                let path = path.as_span();
                self.path(path.start(), path.end())
            });
            take(parts, Rule::kw_up_to)?;
            let limit = self.literal(parts)?;
            DeviationClauseNode::UpTo { of, limit }
        } else {
            parts.next()?;
            match rule {
                Rule::run_clause => DeviationClauseNode::Run(self.text_part(parts)?),
                Rule::when_clause => {
                    DeviationClauseNode::When(self.expression(take(parts, Rule::expression)?)?)
                }
                Rule::because_clause => DeviationClauseNode::Because(self.text_part(parts)?),
                Rule::approved_clause => DeviationClauseNode::Approved(self.text_part(parts)?),
                Rule::until_clause => {
                    DeviationClauseNode::Until(self.word_part(parts, Rule::date)?)
                }
                Rule::pieces_clause => DeviationClauseNode::Pieces(self.literal(parts)?),
                _ => return None,
            }
        };
        let span = self.span(start, self.end);
        Some(DeviationClause { span, node })
    }

    pub(super) fn reading(&mut self, parts: &mut Pairs<'_>) -> Option<Ended<'t>> {
        let keyword = self.word_part(parts, Rule::kw_reading)?.span;
        let of = self.one_path(parts)?;
        let block = take(parts, Rule::reading_block)?;
        let Closed { block, trailing } =
            self.block(block, Inside::Reading, Self::reading_clause)?;
        let reading = Reading { keyword, of, block };
        Some((StatementNode::Reading(reading), trailing))
    }

    fn one_path(&mut self, parts: &mut Pairs<'_>) -> Option<Path<'t>> {
        let path = take(parts, Rule::path)?.as_span();
        Some(self.path(path.start(), path.end()))
    }

    fn reading_clause(&mut self, pair: Pair<'_>) -> Option<ReadingClause<'t>> {
        let start = self.start(&pair);
        let rule = pair.as_rule();
        let parts = &mut pair.into_inner().peekable();
        // The keyword, which the rule's name says already.
        parts.next()?;
        let node = match rule {
            Rule::value_clause => ReadingClauseNode::Value(self.value(parts)?),
            Rule::at_clause => {
                let of = self.one_path(parts)?;
                let value = self.value(parts)?;
                ReadingClauseNode::At { of, value }
            }
            Rule::on_clause => ReadingClauseNode::On(self.word_part(parts, Rule::date)?),
            Rule::with_clause => ReadingClauseNode::With(self.word_part(parts, Rule::name)?),
            Rule::pieces_clause => ReadingClauseNode::Pieces(self.literal(parts)?),
            _ => return None,
        };
        let span = self.span(start, self.end);
        Some(ReadingClause { span, node })
    }
}
