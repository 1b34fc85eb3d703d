//! What may be written in a plan for one edition: kinds, records, and values that either edition speaks of.

use std::collections::{BTreeMap, BTreeSet};

use crate::constraint::written_value;
use crate::diff::conditions::dependencies::{Closures, Name, inherited, name, passed};
use crate::diff::pairing::rename_matching::{field_ids, kind_ids};
use crate::types::{
    Condition, ConditionNode, Deviation, Expression, ExpressionNode, Field, FieldId, KindId,
    Limits, PlaceInRun, Read, Reading, RecordId, Rule, Standard, Target, Type, Value,
};
use crate::units::{Dimension, Exact, Unit};

/// The most numbers that are kept of one setting.
const MOST_NUMBERS: usize = 36;

/// The most records of a kind, and the most words of a setting.
const MOST_WORDS: usize = 24;

/// What stands in the place of a record where a thing is none of them.
const NO_RECORD: &str = "not listed";

/// A value as it may be written.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::diff) enum Word {
    /// A number in a unit.
    Number(Exact, Unit),
    /// Anything else, or a number in a unit of the standard's own.
    Text(String),
}

impl Word {
    pub(in crate::diff) fn text(&self) -> String {
        match self {
            Self::Number(value, unit) => written_value(value, unit),
            Self::Text(text) => text.clone(),
        }
    }
}

/// A setting and what may stand in it.
#[derive(Debug, Clone)]
pub(in crate::diff) struct SettingWords {
    pub(in crate::diff) name: String,
    pub(in crate::diff) worked_out: bool,
    /// Numbers in order, then others.
    pub(in crate::diff) values: Vec<Word>,
    /// The kind of the things that it names, where a run has many of them.
    pub(in crate::diff) things: Option<String>,
    /// What its numbers are written in.
    pub(in crate::diff) unit: Unit,
}

/// A kind, its records and its settings.
#[derive(Debug, Clone)]
pub(in crate::diff) struct KindWords {
    pub(in crate::diff) name: String,
    pub(in crate::diff) place: PlaceInRun,
    pub(in crate::diff) records: Vec<String>,
    pub(in crate::diff) settings: Vec<SettingWords>,
    /// Shares that make a whole, and the whole.
    pub(in crate::diff) wholes: Vec<(Vec<String>, Exact)>,
}

impl KindWords {
    pub(in crate::diff) fn setting(&self, name: &str) -> Option<&SettingWords> {
        self.settings.iter().find(|of| of.name == name)
    }
}

/// What may be written for one edition.
#[derive(Debug, Clone)]
pub(in crate::diff) struct Vocabulary {
    pub(in crate::diff) kinds: Vec<KindWords>,
    /// Names of runs that deviations are for.
    pub(in crate::diff) runs: Vec<String>,
    /// The settings that each rule rests on, by the number of the rule.
    pub(in crate::diff) reads: Vec<BTreeSet<Name>>,
    /// The kinds that each rule is asked of, goes over, or asks for the record of.
    pub(in crate::diff) over: Vec<BTreeSet<String>>,
}

impl Vocabulary {
    pub(in crate::diff) fn kind(&self, name: &str) -> Option<&KindWords> {
        self.kinds.iter().find(|of| of.name == name)
    }

    pub(in crate::diff) fn setting(&self, of: &Name) -> Option<(&KindWords, &SettingWords)> {
        let kind = self.kind(&of.0)?;
        Some((kind, kind.setting(&of.1)?))
    }

    /// Those of both editions.
    pub(in crate::diff) fn both(editions: [&Standard; 2]) -> [Self; 2] {
        let sources = editions.map(Source::of);
        let [old, new] = [0, 1].map(|side: usize| vocabulary(editions[side], &sources, side));
        [old, new]
    }
}

/// What one edition speaks of.
struct Source<'s> {
    standard: &'s Standard,
    reads: Vec<BTreeSet<Name>>,
    /// Numbers of rules, by what the rule reads and by dimension.
    by_setting: BTreeMap<Name, Vec<Exact>>,
    /// Numbers that no setting of their dimension stands beside, and ends of ranges of records.
    anywhere: Vec<(Dimension, Exact)>,
    /// Texts that settings are compared with.
    texts: BTreeSet<String>,
}

impl<'s> Source<'s> {
    fn of(standard: &'s Standard) -> Self {
        let closures = Closures::new(standard);
        let mut source = Self {
            standard,
            reads: Vec::new(),
            by_setting: BTreeMap::new(),
            anywhere: Vec::new(),
            texts: BTreeSet::new(),
        };
        for (number, rule) in standard.rules.iter().enumerate() {
            let deviations = standard.deviations.iter();
            let deviations: Vec<&Deviation> =
                deviations.filter(|of| of.rule == Some(number)).collect();
            let conditions = all_conditions(rule, &deviations);
            let mut reads = BTreeSet::new();
            let mut numbers: Vec<(Dimension, Exact)> = Vec::new();
            for condition in conditions {
                condition.reads(&mut |read: Read<'_>| {
                    for setting in read.path().into_iter().flat_map(passed) {
                        let own = name(standard, setting);
                        reads.extend(closures.of(&own).cloned());
                        reads.insert(own);
                    }
                });
                condition.visit_expressions(&mut |of| numbers.extend(constant(of)));
                condition.visit(&mut |of| source.texts_of(of));
            }
            let moves = deviations.iter().flat_map(|of| &of.moves);
            numbers.extend(moves.map(|of| (of.dimension, of.limit.exact.clone())));
            source.place(&reads, &numbers);
            source.reads.push(reads);
        }
        for own in kind_ids(standard) {
            for field in field_ids(standard.kind(own)) {
                if let Some(formula) = &standard.field(own, field).formula {
                    let mut numbers = Vec::new();
                    formula.visit(&mut |of| numbers.extend(constant(of)));
                    let figure = name(standard, (own, field));
                    let reads: BTreeSet<Name> = closures.of(&figure).cloned().collect();
                    source.place(&reads, &numbers);
                }
            }
        }
        for record in &standard.records {
            let kind = standard.kind(record.kind);
            for (field, stated) in kind.fields.iter().zip(&record.values) {
                let Some(stated) = stated else { continue };
                match &stated.value {
                    Value::Quantity(of) => {
                        let own = (kind.name.clone(), field.name.clone());
                        let known = source.by_setting.entry(own).or_default();
                        known.extend([&of.low, &of.nominal, &of.high].map(Exact::clone));
                    }
                    Value::Range(range) => {
                        let dimension = field.usual_unit().dimension();
                        let ends = [&range.low, &range.high].into_iter().flatten();
                        source
                            .anywhere
                            .extend(ends.map(|end| (dimension, end.clone())));
                    }
                    Value::Text(text) => {
                        source.texts.insert(text.clone());
                    }
                    _ => {}
                }
            }
        }
        source
    }

    /// Puts the numbers of a rule to the settings of their dimension that it rests on.
    fn place(&mut self, reads: &BTreeSet<Name>, numbers: &[(Dimension, Exact)]) {
        for (dimension, value) in numbers {
            let mut placed = false;
            for own in reads {
                let kind = self.standard.kind_names.get(&own.0);
                let Some(kind) = kind.map(|id| self.standard.kind(*id)) else {
                    continue;
                };
                let field = kind.field_names.get(&own.1);
                let Some(field) = field.map(|id| &kind.fields[id.0 as usize]) else {
                    continue;
                };
                if field.usual_unit().dimension() == *dimension {
                    let known = self.by_setting.entry(own.clone()).or_default();
                    known.push(value.clone());
                    placed = true;
                }
            }
            if !placed {
                self.anywhere.push((*dimension, value.clone()));
            }
        }
    }

    fn texts_of(&mut self, of: &Condition) {
        if let ConditionNode::Is { values, .. } = &of.node {
            for value in values {
                if let Value::Text(text) = value {
                    self.texts.insert(text.clone());
                }
            }
        }
    }
}

fn all_conditions<'s>(rule: &'s Rule, deviations: &[&'s Deviation]) -> Vec<&'s Condition> {
    let mut found: Vec<&Condition> = rule.when.iter().chain(&rule.permissions).collect();
    for requirement in &rule.requirements {
        found.extend(&requirement.when);
        found.push(&requirement.condition);
    }
    if let Some(table) = &rule.table {
        for axis in [Some(&table.rows), table.columns.as_ref()]
            .into_iter()
            .flatten()
        {
            found.extend(axis.entries.iter().map(|entry| &entry.condition));
        }
    }
    for deviation in deviations {
        found.extend(&deviation.when);
    }
    found
}

/// The kinds of the records that a condition names.
fn kinds_asked(standard: &Standard, of: &Condition) -> Vec<KindId> {
    let ConditionNode::Is { values, .. } = &of.node else {
        return Vec::new();
    };
    let records = values.iter().filter_map(|value| match value {
        Value::Reference(Target::Record(id)) => Some(standard.record(*id).kind),
        _ => None,
    });
    records.collect()
}

fn constant(of: &Expression) -> Option<(Dimension, Exact)> {
    match &of.node {
        ExpressionNode::Constant(constant) => {
            Some((constant.unit.dimension(), constant.exact.clone()))
        }
        _ => None,
    }
}

fn vocabulary(standard: &Standard, sources: &[Source<'_>; 2], side: usize) -> Vocabulary {
    let kinds = kind_ids(standard)
        .map(|id| kind_words(standard, id, sources))
        .collect();
    let mut runs: Vec<String> = Vec::new();
    for source in sources {
        for deviation in &source.standard.deviations {
            if let Some((name, _)) = &deviation.run
                && !runs.contains(name)
            {
                runs.push(name.clone());
            }
        }
    }
    let over = standard.rules.iter().map(|rule| {
        let mut kinds: Vec<KindId> = rule.each.into_iter().collect();
        for condition in all_conditions(rule, &[]) {
            crate::diff::conditions::paths::over(condition, &mut kinds);
            condition.visit(&mut |part| kinds.extend(kinds_asked(standard, part)));
        }
        kinds
            .iter()
            .map(|id| standard.kind(*id).name.clone())
            .collect()
    });
    Vocabulary {
        kinds,
        runs,
        over: over.collect(),
        reads: sources[side].reads.clone(),
    }
}

fn kind_words(standard: &Standard, id: KindId, sources: &[Source<'_>; 2]) -> KindWords {
    let kind = standard.kind(id);
    let records = standard.records.iter().filter(|of| of.kind == id);
    KindWords {
        name: kind.name.clone(),
        place: kind.place,
        records: {
            let names = records.map(|of| of.name.clone()).take(MOST_WORDS);
            let mut names: Vec<String> = names.collect();
            if !names.is_empty() {
                names.push(NO_RECORD.to_owned());
            }
            names
        },
        settings: field_ids(kind)
            .map(|field| setting_words(standard, (id, field), sources))
            .collect(),
        wholes: kind
            .parts
            .iter()
            .map(|whole| {
                let names = whole.fields.iter();
                let names = names.map(|field| kind.fields[field.0 as usize].name.clone());
                (names.collect(), whole.total.clone())
            })
            .collect(),
    }
}

fn setting_words(
    standard: &Standard,
    (id, field): (KindId, FieldId),
    sources: &[Source<'_>; 2],
) -> SettingWords {
    let kind = standard.kind(id);
    let of = &kind.fields[field.0 as usize];
    let own = name(standard, (id, field));
    let unit = plain_unit(standard, &of.usual_unit());
    let mut things = None;
    let mut values: Vec<Word> = match &of.ty {
        Type::Quantity(_) => numbers(standard, &own, of, &unit, sources),
        Type::Choice(_) => {
            let mut words: Vec<String> = Vec::new();
            for source in sources {
                let there = source.standard.kind_names.get(&own.0);
                let there = there.map(|id| source.standard.kind(*id));
                let field = there.and_then(|kind| {
                    let field = kind.field_names.get(&own.1)?;
                    Some(&kind.fields[field.0 as usize])
                });
                if let Some(Type::Choice(list)) = field.map(|field| &field.ty) {
                    words.extend(list.iter().cloned());
                }
            }
            words.sort_unstable();
            words.dedup();
            words.into_iter().map(Word::Text).collect()
        }
        Type::Day => ["2000-01-01", "2099-12-31"]
            .map(|day| Word::Text(day.to_owned()))
            .to_vec(),
        Type::YesNo => ["yes", "no"]
            .map(|word| Word::Text(word.to_owned()))
            .to_vec(),
        Type::Text => {
            let texts: BTreeSet<&String> = sources.iter().flat_map(|of| &of.texts).collect();
            let texts = texts
                .into_iter()
                .map(|text| Word::Text(format!("{text:?}")));
            texts.chain([Word::Text("\"any\"".to_owned())]).collect()
        }
        Type::Reference(to) => {
            if standard.kind(*to).place == PlaceInRun::Many {
                things = Some(standard.kind(*to).name.clone());
            }
            let records = standard.records.iter().filter(|of| of.kind == *to);
            records.map(|of| Word::Text(of.name.clone())).collect()
        }
        Type::Range(_) => ranges(of, &unit, sources),
    };
    let most = match of.ty {
        Type::Quantity(_) => usize::MAX,
        Type::Range(_) => 3 * MOST_WORDS,
        _ => MOST_WORDS,
    };
    values.truncate(most);
    SettingWords {
        name: of.name.clone(),
        worked_out: of.formula.is_some(),
        values,
        things,
        unit,
    }
}

/// A unit that both editions read alike, for a value that they must read alike.
fn plain_unit(standard: &Standard, unit: &Unit) -> Unit {
    let own = standard.own_units();
    if own.iter().any(|(_, of)| of.spelling() == unit.spelling()) {
        Unit::usual(unit.dimension())
    } else {
        unit.clone()
    }
}

fn numbers(
    standard: &Standard,
    own: &Name,
    field: &Field,
    unit: &Unit,
    sources: &[Source<'_>; 2],
) -> Vec<Word> {
    let dimension = unit.dimension();
    let mut found: Vec<Exact> = Vec::new();
    for source in sources {
        let there = source.standard.kind_names.get(&own.0);
        let there = there.map(|id| source.standard.kind(*id));
        let possible = there.and_then(|kind| {
            let field = kind.field_names.get(&own.1)?;
            kind.fields[field.0 as usize].possible.as_ref()
        });
        found.extend(ends(possible));
        found.extend(source.by_setting.get(own).into_iter().flatten().cloned());
    }
    for source in sources {
        found.extend(rests(source.standard, own));
    }
    let known = found.len();
    for source in sources {
        let fits = source.anywhere.iter().filter(|(of, _)| *of == dimension);
        found.extend(fits.map(|(_, value)| value.clone()).take(6));
    }
    if known == 0 || found.len() < 3 {
        let plain = [0, 1, 10, 100].map(|value| unit.to_base(&Exact::from_int(value)));
        found.extend(plain);
    }
    if field.possible.is_none() && unit.dimension() != Unit::percent().dimension() {
        // Nothing says that it is not below nothing.
        let below: Vec<Exact> = found.iter().map(Exact::neg).collect();
        found.extend(below);
    }
    found.sort();
    found.dedup();
    thin(&mut found);
    let whole = match &field.ty {
        Type::Quantity(measure) => matches!(measure.reading, Reading::Count(_)),
        _ => false,
    };
    // Between two that are spoken of, and a little past the first and the last.
    let mut all: Vec<Exact> = Vec::new();
    if let (Some(first), Some(last)) = (found.first(), found.last()) {
        let past = |of: &Exact| Exact::max(&of.abs().mul(&Exact::ratio(1, 10)), &Exact::ONE);
        all.push(first.sub(&past(first)));
        for pair in found.windows(2) {
            if let [low, high] = pair {
                all.push(low.clone());
                all.extend(low.add(high).div(&Exact::from_int(2)));
            }
        }
        all.push(last.clone());
        all.push(last.add(&past(last)));
    }
    let of_unit = |value: Exact| {
        let value = unit.from_base(&value);
        let value = if whole { value.floor() } else { value };
        let short = value.decimal().is_some_and(|text| text.len() < 14);
        let value = if short {
            value
        } else {
            crate::diff::witness::round_value::near(&value, 6)
        };
        unit.to_base(&value)
    };
    let mut all: Vec<Exact> = all.into_iter().map(of_unit).collect();
    all.sort();
    all.dedup();
    let mut words: Vec<Word> = all
        .iter()
        .map(|value| Word::Number(value.clone(), unit.clone()))
        .collect();
    // In units of the standard's own: as this edition reads them, and as the other does.
    for (spelling, mine) in standard.own_units() {
        if mine.dimension() != dimension {
            continue;
        }
        for source in sources {
            let theirs = source.standard.own_units();
            let Some((_, unit)) = theirs.iter().find(|(of, _)| *of == spelling) else {
                continue;
            };
            for value in &found {
                // As it is, and the whole numbers about it.
                let number = unit.from_base(value);
                for number in [number.clone(), number.floor(), number.ceil()] {
                    let Some(text) = number.decimal().filter(|text| text.len() < 14) else {
                        continue;
                    };
                    let word = Word::Text(format!("{text} {spelling}"));
                    if !words.contains(&word) {
                        words.push(word);
                    }
                }
            }
        }
    }
    words
}

/// What a share has to be beside the others that a record states.
fn rests(standard: &Standard, own: &Name) -> Vec<Exact> {
    let mut found = Vec::new();
    let Some(&kind) = standard.kind_names.get(&own.0) else {
        return found;
    };
    let of = standard.kind(kind);
    let Some(field) = of.field_names.get(&own.1) else {
        return found;
    };
    for whole in of.parts.iter().filter(|whole| whole.fields.contains(field)) {
        let records = (0_u32..).zip(&standard.records);
        for (id, _) in records.filter(|(_, record)| record.kind == kind) {
            let mut rest = whole.total.clone();
            for other in whole.fields.iter().filter(|other| *other != field) {
                let stated = inherited(standard, RecordId(id), *other);
                if let Some(Value::Quantity(value)) = stated.map(|(_, of)| &of.value) {
                    rest = rest.sub(&value.nominal);
                }
            }
            if rest >= Exact::ZERO {
                found.push(rest);
            }
        }
    }
    found
}

/// So many at most, from all over.
fn thin(values: &mut Vec<Exact>) {
    let count = values.len();
    if count <= MOST_NUMBERS / 2 {
        return;
    }
    let step = count.div_ceil(MOST_NUMBERS / 2);
    let mut at = 0;
    values.retain(|_| {
        at += 1;
        at == 1 || at == count || at % step == 0
    });
}

fn ends(limits: Option<&Limits>) -> Vec<Exact> {
    let limits = limits.into_iter();
    limits
        .flat_map(|limits| [&limits.low, &limits.high].into_iter().flatten().cloned())
        .collect()
}

/// Ranges that a plan may state.
fn ranges(field: &Field, unit: &Unit, sources: &[Source<'_>; 2]) -> Vec<Word> {
    let dimension = field.usual_unit().dimension();
    let mut values: Vec<Exact> = Vec::new();
    for source in sources {
        let fits = source.anywhere.iter().filter(|(of, _)| *of == dimension);
        values.extend(fits.map(|(_, value)| value.clone()));
    }
    values.sort();
    values.dedup();
    thin(&mut values);
    let text = |value: &Exact| written_value(value, unit);
    // With one end first, so that each value stands in some of them where there are too many for all.
    let mut words = Vec::new();
    for value in &values {
        words.push(Word::Text(format!("at least {}", text(value))));
        words.push(Word::Text(format!("at most {}", text(value))));
    }
    for (at, low) in values.iter().enumerate() {
        for high in values.iter().skip(at) {
            words.push(Word::Text(format!("{} to {}", text(low), text(high))));
        }
    }
    words
}
