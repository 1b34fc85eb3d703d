//! Clauses and the values in them.

use super::{Builder, Pair, Pairs, next_rule, take};
use crate::source::Span;
use crate::syntax::grammar::Rule;
use crate::syntax::tree::{
    Changing, Clause, Field, FieldType, Grounds, KindClause, Literal, Path, Per, Quote, RuleClause,
    RuleClauseNode, Sides, Sort, Step, StepSetting, Taken, Tolerance, Value, ValueNode, Verb, Word,
};

impl<'t> Builder<'t> {
    pub(super) fn kind_clause(&mut self, pair: Pair<'_>) -> Option<KindClause<'t>> {
        let start = self.start(&pair);
        let rule = pair.as_rule();
        let parts = &mut pair.into_inner().peekable();
        match rule {
            Rule::parts_clause => {
                take(parts, Rule::kw_parts)?;
                let names = self.names(parts)?;
                take(parts, Rule::kw_make)?;
                let total = self.literal(parts)?;
                let span = self.span(start, self.end);
                Some(KindClause::Parts { names, total, span })
            }
            Rule::changing_clause => {
                take(parts, Rule::kw_changing)?;
                let names = self.names(parts)?;
                take(parts, Rule::kw_takes)?;
                let time = self.literal(parts)?;
                let words = self.text_part(parts);
                let span = self.span(start, self.end);
                Some(KindClause::Changing(Changing {
                    names,
                    time,
                    words,
                    span,
                }))
            }
            Rule::field => self.field(start, parts).map(KindClause::Field),
            _ => None,
        }
    }

    fn field(&mut self, start: usize, parts: &mut Pairs<'_>) -> Option<Field<'t>> {
        let name = self.word_part(parts, Rule::setting)?;
        let ty = self.field_type(parts)?;
        let possible = match take(parts, Rule::kw_from) {
            Some(_) => {
                let low = self.literal(parts)?;
                take(parts, Rule::kw_to)?;
                Some((low, self.literal(parts)?))
            }
            None => None,
        };
        let formula = match take(parts, Rule::equals) {
            Some(_) => Some(self.expression(take(parts, Rule::expression)?)?),
            None => None,
        };
        let sentence = self.text_part(parts);
        let sort = match take(parts, Rule::sort) {
            Some(pair) => Some(self.sort(pair)?),
            None => None,
        };
        let per = self.per_part(parts);
        Some(Field {
            span: self.span(start, self.end),
            name,
            ty,
            possible,
            formula,
            sentence,
            sort,
            per,
        })
    }

    fn sort(&mut self, pair: Pair<'_>) -> Option<Sort<'t>> {
        let start = self.start(&pair);
        let parts = &mut pair.into_inner().peekable();
        if take(parts, Rule::kw_set).is_some() {
            let mut steps = Vec::new();
            if take(parts, Rule::kw_in_steps).is_some() {
                steps.push(self.literal(parts)?);
                while take(parts, Rule::comma).is_some() {
                    steps.push(self.literal(parts)?);
                }
            }
            return Some(Sort::Set(steps));
        }
        if self.word_part(parts, Rule::kw_given).is_some() {
            let unless = self.word_part(parts, Rule::kw_unless);
            let span = self.span(start, self.end);
            return Some(match unless {
                Some(_) => Sort::GivenUnlessStated(span),
                None => Sort::Given(span),
            });
        }
        take(parts, Rule::kw_measured)?;
        self.text_part(parts).map(Sort::Measured)
    }

    fn field_type(&mut self, parts: &mut Pairs<'_>) -> Option<FieldType<'t>> {
        let first = parts.next()?;
        match first.as_rule() {
            Rule::type_name => Some(FieldType::Named(self.word(&first))),
            Rule::kw_count_of => self.word_part(parts, Rule::name).map(FieldType::CountOf),
            Rule::kw_range_of => self.word_part(parts, Rule::name).map(FieldType::RangeOf),
            Rule::kw_choice_of => self.names(parts).map(FieldType::Choice),
            _ => None,
        }
    }

    fn names(&mut self, parts: &mut Pairs<'_>) -> Option<Vec<Word<'t>>> {
        let mut names = vec![self.word_part(parts, Rule::name)?];
        while take(parts, Rule::comma).is_some() {
            names.push(self.word_part(parts, Rule::name)?);
        }
        Some(names)
    }

    pub(super) fn record_clause(&mut self, pair: Pair<'_>) -> Option<Clause<'t>> {
        let start = self.start(&pair);
        let parts = &mut pair.into_inner().peekable();
        let loosens = self
            .word_part(parts, Rule::kw_loosens)
            .map(|word| word.span);
        let name = self.word_part(parts, Rule::setting)?;
        let shows = match take(parts, Rule::kw_shows) {
            Some(_) => {
                let shows = self.literal(parts)?;
                take(parts, Rule::kw_at)?;
                Some(shows)
            }
            None => None,
        };
        let value = self.value(parts)?;
        let taken = self.taken(parts)?;
        let (mut because, mut per) = (None, None);
        for part in parts {
            match part.as_rule() {
                Rule::because => because = self.because(part),
                Rule::per => per = self.per(part),
                _ => return None,
            }
        }
        Some(Clause {
            span: self.span(start, self.end),
            loosens,
            name,
            shows,
            value,
            taken,
            because,
            per,
        })
    }

    pub(super) fn rule_clause(&mut self, pair: Pair<'_>) -> Option<RuleClause<'t>> {
        let start = self.start(&pair);
        let rule = pair.as_rule();
        let parts = &mut pair.into_inner().peekable();
        let node = match rule {
            Rule::per_clause => RuleClauseNode::Per(self.per_part(parts)?),
            Rule::law_clause => {
                RuleClauseNode::Per(take(parts, Rule::law).and_then(|pair| self.law(pair))?)
            }
            Rule::require_clause => self.requirement(parts)?,
            _ => {
                // The keyword, which the rule's name says already.
                parts.next()?;
                match rule {
                    Rule::when_clause => {
                        RuleClauseNode::When(self.expression(take(parts, Rule::expression)?)?)
                    }
                    Rule::when_out_clause => RuleClauseNode::WhenOut(self.text_part(parts)?),
                    Rule::read_every_clause => RuleClauseNode::ReadEvery(self.literal(parts)?),
                    Rule::for_clause => RuleClauseNode::ForEach(self.word_part(parts, Rule::name)?),
                    Rule::because_clause => RuleClauseNode::Because(self.text_part(parts)?),
                    Rule::caution_clause => RuleClauseNode::Caution(self.text_part(parts)?),
                    Rule::say_clause => RuleClauseNode::Say(self.text_part(parts)?),
                    Rule::adjust_clause => RuleClauseNode::Adjust(self.paths(parts)?),
                    _ => return None,
                }
            }
        };
        let span = self.span(start, self.end);
        Some(RuleClause { span, node })
    }

    fn requirement(&mut self, parts: &mut Pairs<'_>) -> Option<RuleClauseNode<'t>> {
        let verb = match self.word_part(parts, Rule::verb)?.text {
            "shall" => Verb::Shall,
            "should" => Verb::Should,
            _ => Verb::May,
        };
        let condition = self.expression(take(parts, Rule::expression)?)?;
        let per = self.per_part(parts);
        Some(RuleClauseNode::Require {
            verb,
            condition,
            per,
        })
    }

    pub(super) fn paths(&mut self, parts: &mut Pairs<'_>) -> Option<Vec<Path<'t>>> {
        let mut paths = Vec::new();
        loop {
            let whole = take(parts, Rule::path)?;
            paths.push(self.path(whole.as_span().start(), whole.as_span().end()));
            if take(parts, Rule::comma).is_none() {
                return Some(paths);
            }
        }
    }

    /// The path between two offsets of the item.
    pub(super) fn path(&mut self, start: usize, end: usize) -> Path<'t> {
        let whole = self.cut(self.base + start, self.base + end);
        let mut words = Vec::with_capacity(1);
        let mut from = whole.span.start as usize;
        for text in whole.text.split('.') {
            let span = self.span(from, from + text.len());
            words.push(Word { text, span });
            from += text.len() + 1;
        }
        Path {
            span: whole.span,
            words,
        }
    }

    pub(super) fn step_clause(&mut self, pair: Pair<'_>) -> Option<Step<'t>> {
        let start = self.start(&pair);
        let parts = &mut pair.into_inner().peekable();
        let kind = self.word_part(parts, Rule::step_kind)?;
        let mut settings = Vec::new();
        for part in parts {
            match part.as_rule() {
                Rule::step_setting => settings.push(self.step_setting(part)?),
                Rule::comma => {}
                _ => return None,
            }
        }
        Some(Step {
            span: self.span(start, self.end),
            kind,
            settings,
        })
    }

    fn step_setting(&mut self, pair: Pair<'_>) -> Option<StepSetting<'t>> {
        let start = self.start(&pair);
        let parts = &mut pair.into_inner().peekable();
        let name = self.word_part(parts, Rule::setting_name);
        let value = self.value(parts)?;
        let taken = self.taken(parts)?;
        Some(StepSetting {
            span: self.span(start, self.end),
            name,
            value,
            taken,
        })
    }

    /// How a value was read off, if that stands there; `None` where it is broken.
    fn taken(&mut self, parts: &mut Pairs<'_>) -> Option<Option<Taken<'t>>> {
        let Some(pair) = take(parts, Rule::taken) else {
            return Some(None);
        };
        let start = self.start(&pair);
        let parts = &mut pair.into_inner().peekable();
        take(parts, Rule::kw_read)?;
        take(parts, Rule::kw_on)?;
        let on = self.word_part(parts, Rule::date)?;
        let with = match take(parts, Rule::kw_with) {
            Some(_) => Some(self.word_part(parts, Rule::name)?),
            None => None,
        };
        let pieces = match take(parts, Rule::kw_from) {
            Some(_) => Some(self.literal(parts)?),
            None => None,
        };
        Some(Some(Taken {
            span: self.span(start, self.end),
            on,
            with,
            pieces,
        }))
    }

    pub(super) fn value(&mut self, parts: &mut Pairs<'_>) -> Option<Value<'t>> {
        let start = self.start(parts.peek()?);
        let node = match next_rule(parts)? {
            Rule::number => self.number_value(parts)?,
            Rule::at_least => {
                parts.next();
                ValueNode::AtLeast(self.literal(parts)?)
            }
            Rule::at_most => {
                parts.next();
                ValueNode::AtMost(self.literal(parts)?)
            }
            Rule::day => ValueNode::Day(self.word_part(parts, Rule::day)?),
            Rule::text => ValueNode::Text(self.text_part(parts)?),
            _ => ValueNode::Name(self.word_part(parts, Rule::value_name)?),
        };
        let span = self.span(start, self.end);
        Some(Value { span, node })
    }

    fn number_value(&mut self, parts: &mut Pairs<'_>) -> Option<ValueNode<'t>> {
        let first = self.literal(parts)?;
        let (mut plus, mut minus) = (None, None);
        while let Some(rule) = next_rule(parts) {
            match rule {
                Rule::kw_to => {
                    parts.next();
                    let high = self.literal(parts)?;
                    return Some(ValueNode::Range { low: first, high });
                }
                Rule::plus_minus => {
                    parts.next();
                    let sides = Sides::Both(self.literal(parts)?);
                    let of_it = self.of_it(parts);
                    return Some(ValueNode::Quantity {
                        nominal: first,
                        tolerance: Some(Tolerance { sides, of_it }),
                        sd: self.sd(parts)?,
                    });
                }
                Rule::plus_sign => {
                    parts.next();
                    plus = Some(self.literal(parts)?);
                }
                Rule::minus_sign => {
                    parts.next();
                    minus = Some(self.literal(parts)?);
                }
                _ => break,
            }
        }
        let sided = plus.is_some() || minus.is_some();
        let of_it = self.of_it(parts);
        Some(ValueNode::Quantity {
            nominal: first,
            tolerance: sided.then_some(Tolerance {
                sides: Sides::Sided { plus, minus },
                of_it,
            }),
            sd: self.sd(parts)?,
        })
    }

    /// `of it` behind a tolerance, if it stands there.
    fn of_it(&mut self, parts: &mut Pairs<'_>) -> Option<Span> {
        let words = take(parts, Rule::kw_of_it)?;
        Some(self.word(&words).span)
    }

    /// `sd 1.5 %`, if it stands there; `None` where it is broken.
    fn sd(&mut self, parts: &mut Pairs<'_>) -> Option<Option<Literal<'t>>> {
        match take(parts, Rule::kw_sd) {
            Some(_) => self.literal(parts).map(Some),
            None => Some(None),
        }
    }

    /// A number with its unit.
    pub(super) fn literal(&mut self, parts: &mut Pairs<'_>) -> Option<Literal<'t>> {
        let rule = next_rule(parts)?;
        if !matches!(rule, Rule::number | Rule::magnitude) {
            return None;
        }
        let number = self.word_part(parts, rule)?;
        let unit = self.word_part(parts, Rule::unit);
        let span = unit.map_or(number.span, |unit| number.span.join(unit.span));
        Some(Literal { span, number, unit })
    }

    fn per_part(&mut self, parts: &mut Pairs<'_>) -> Option<Per<'t>> {
        take(parts, Rule::per).and_then(|pair| self.per(pair))
    }

    fn per(&mut self, pair: Pair<'_>) -> Option<Per<'t>> {
        let parts = &mut pair.into_inner().peekable();
        take(parts, Rule::kw_per)?;
        let grounds = match self.text_part(parts) {
            Some(source) => Grounds::Source(source),
            None => Grounds::Practice(self.word_part(parts, Rule::practice)?.span),
        };
        self.reviewed(parts, grounds)
    }

    fn law(&mut self, pair: Pair<'_>) -> Option<Per<'t>> {
        let parts = &mut pair.into_inner().peekable();
        take(parts, Rule::kw_law)?;
        let grounds = Grounds::Law(self.text_part(parts)?);
        self.reviewed(parts, grounds)
    }

    fn reviewed(&mut self, parts: &mut Pairs<'_>, grounds: Grounds<'t>) -> Option<Per<'t>> {
        let reviewed = match take(parts, Rule::kw_reviewed) {
            Some(_) => Some(self.word_part(parts, Rule::date)?),
            None => None,
        };
        Some(Per { grounds, reviewed })
    }

    fn because(&mut self, pair: Pair<'_>) -> Option<Quote<'t>> {
        let parts = &mut pair.into_inner().peekable();
        take(parts, Rule::kw_because)?;
        self.text_part(parts)
    }
}
