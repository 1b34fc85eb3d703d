//! Statements.

use super::block::Closed;
use super::{Builder, Pair, Pairs, next_rule, take};
use crate::syntax::Inside;
use crate::syntax::grammar::Rule;
use crate::syntax::tree::{
    Kind, KindForm, PlaceInRun, Quote, Record, Rule as RuleStatement, Sequence, Statement,
    StatementNode, TakenOut, Word,
};

/// A statement's node and the comment behind it.
pub(super) type Ended<'t> = (StatementNode<'t>, Option<Word<'t>>);

impl<'t> Builder<'t> {
    pub(super) fn statement(
        &mut self,
        pair: Pair<'_>,
    ) -> Option<(Statement<'t>, Option<Word<'t>>)> {
        let start = self.start(&pair);
        let rule = pair.as_rule();
        let parts = &mut pair.into_inner().peekable();
        self.end = start;
        let (node, trailing) = match rule {
            Rule::standard_statement => self.standard(parts)?,
            Rule::run_statement => self.run(parts)?,
            Rule::use_statement => self.import(parts)?,
            Rule::unit_statement => self.unit(parts)?,
            Rule::kind_statement => self.kind(parts, KindForm::Kind)?,
            Rule::step_statement => self.kind(parts, KindForm::Step)?,
            Rule::add_statement => self.kind(parts, KindForm::AddTo)?,
            Rule::rule_statement | Rule::caution_statement => self.rule(parts)?,
            Rule::sequence_statement => self.sequence(parts)?,
            Rule::table_statement => self.table(parts)?,
            Rule::example_statement => self.example(parts)?,
            Rule::deviation_statement => self.deviation(parts)?,
            Rule::reading_statement => self.reading(parts)?,
            Rule::without_statement => self.without(parts)?,
            Rule::record_statement => self.record(parts)?,
            _ => return None,
        };
        let span = self.span(start, self.end);
        Some((Statement { span, node }, trailing))
    }

    fn standard(&mut self, parts: &mut Pairs<'_>) -> Option<Ended<'t>> {
        take(parts, Rule::kw_standard)?;
        let name = self.text_part(parts)?;
        let edition = match take(parts, Rule::kw_edition) {
            Some(_) => Some(self.text_part(parts)?),
            None => None,
        };
        Some((
            StatementNode::Standard { name, edition },
            self.trailing(parts),
        ))
    }

    fn run(&mut self, parts: &mut Pairs<'_>) -> Option<Ended<'t>> {
        take(parts, Rule::kw_run)?;
        let name = self.text_part(parts)?;
        take(parts, Rule::kw_against)?;
        let against = self.text_part(parts)?;
        Some((StatementNode::Run { name, against }, self.trailing(parts)))
    }

    fn import(&mut self, parts: &mut Pairs<'_>) -> Option<Ended<'t>> {
        take(parts, Rule::kw_use)?;
        let node = match self.text_part(parts) {
            Some(path) => StatementNode::UseFile(path),
            None => StatementNode::UseSpec(self.word_part(parts, Rule::name)?),
        };
        Some((node, self.trailing(parts)))
    }

    fn unit(&mut self, parts: &mut Pairs<'_>) -> Option<Ended<'t>> {
        take(parts, Rule::kw_unit)?;
        let name = self.word_part(parts, Rule::unit_name)?;
        take(parts, Rule::equals)?;
        let value = self.literal(parts)?;
        let sentence = self.text_part(parts);
        let node = StatementNode::Unit {
            name,
            value,
            sentence,
        };
        Some((node, self.trailing(parts)))
    }

    fn kind(&mut self, parts: &mut Pairs<'_>, form: KindForm) -> Option<Ended<'t>> {
        parts.next()?;
        let name = self.word_part(parts, Rule::kind_name)?;
        take(parts, Rule::comma);
        let place = match next_rule(parts)? {
            Rule::place_one => Some(PlaceInRun::One),
            Rule::place_many => Some(PlaceInRun::Many),
            _ => None,
        };
        if place.is_some() {
            parts.next();
        }
        let sentence = self.text_part(parts);
        let block = take(parts, Rule::kind_block)?;
        let Closed { block, trailing } = self.block(block, Inside::Kind, Self::kind_clause)?;
        let node = StatementNode::Kind(Kind {
            form,
            name,
            place,
            sentence,
            block,
        });
        Some((node, trailing))
    }

    fn rule(&mut self, parts: &mut Pairs<'_>) -> Option<Ended<'t>> {
        let caution = parts.next()?.as_rule() == Rule::kw_caution;
        let name = self.word_part(parts, Rule::name)?;
        let title = self.text_part(parts);
        let instead = self.instead(parts);
        let block = take(parts, Rule::rule_block)?;
        let inside = if caution {
            Inside::Caution
        } else {
            Inside::Rule
        };
        let Closed { block, trailing } = self.block(block, inside, Self::rule_clause)?;
        let rule = RuleStatement {
            name,
            title,
            instead,
            block,
        };
        let node = if caution {
            StatementNode::Caution(rule)
        } else {
            StatementNode::Rule(rule)
        };
        Some((node, trailing))
    }

    /// `instead of NAME because "…"`, if it stands there.
    pub(super) fn instead(&mut self, parts: &mut Pairs<'_>) -> Option<TakenOut<'t>> {
        let words = take(parts, Rule::instead)?;
        self.taken_out(&mut words.into_inner().peekable(), Rule::kw_instead_of)
    }

    fn without(&mut self, parts: &mut Pairs<'_>) -> Option<Ended<'t>> {
        let taken_out = self.taken_out(parts, Rule::kw_without)?;
        Some((StatementNode::Without(taken_out), self.trailing(parts)))
    }

    fn taken_out(&mut self, parts: &mut Pairs<'_>, starts: Rule) -> Option<TakenOut<'t>> {
        let keyword = self.word_part(parts, starts)?.span;
        let rule = self.word_part(parts, Rule::name)?;
        let because = take(parts, Rule::because)?;
        let parts = &mut because.into_inner().peekable();
        take(parts, Rule::kw_because)?;
        let because = self.text_part(parts)?;
        Some(TakenOut {
            keyword,
            rule,
            because,
        })
    }

    fn sequence(&mut self, parts: &mut Pairs<'_>) -> Option<Ended<'t>> {
        let keyword = self.word_part(parts, Rule::kw_sequence)?.span;
        let block = take(parts, Rule::sequence_block)?;
        let Closed { block, trailing } = self.block(block, Inside::Sequence, Self::step_clause)?;
        Some((
            StatementNode::Sequence(Sequence { keyword, block }),
            trailing,
        ))
    }

    fn record(&mut self, parts: &mut Pairs<'_>) -> Option<Ended<'t>> {
        let kind = self.word_part(parts, Rule::record_kind)?;
        let name = self.word_part(parts, Rule::record_name);
        let (mut parent, mut not_listed) = (None, None);
        if take(parts, Rule::kw_is).is_some() {
            not_listed = self
                .word_part(parts, Rule::kw_not_listed)
                .map(|words| words.span);
            if not_listed.is_none() {
                parent = Some(self.word_part(parts, Rule::parent)?);
            }
        }
        let title = self.text_part(parts);
        let (block, trailing) = match take(parts, Rule::record_block) {
            Some(block) => {
                let closed = self.block(block, Inside::Record, Self::record_clause)?;
                (Some(closed.block), closed.trailing)
            }
            None => (None, self.trailing(parts)),
        };
        let node = StatementNode::Record(Record {
            kind,
            name,
            parent,
            not_listed,
            title,
            block,
        });
        Some((node, trailing))
    }

    pub(super) fn word_part(&mut self, parts: &mut Pairs<'_>, rule: Rule) -> Option<Word<'t>> {
        take(parts, rule).map(|pair| self.word(&pair))
    }

    pub(super) fn text_part(&mut self, parts: &mut Pairs<'_>) -> Option<Quote<'t>> {
        take(parts, Rule::text).map(|pair| self.quote(&pair))
    }

    /// The comment behind a statement or clause; it does not belong to its span.
    pub(super) fn trailing(&mut self, parts: &mut Pairs<'_>) -> Option<Word<'t>> {
        let end = self.end;
        let comment = self.word_part(parts, Rule::trailing);
        self.end = end;
        comment
    }
}
