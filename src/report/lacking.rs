//! What a plan does not state, in lines for people: a block for each thing, all of it at once.

use super::fold::fold;
use crate::diagnostic::{Lacking, LackingBlock, LackingValue};
use crate::source::{Store, visible};

/// How many records are named where a block could take one over.
const MOST_RECORDS: usize = 8;

/// What there is to do, in a sentence.
pub(super) fn headline(lacking: &Lacking) -> String {
    let values: usize = lacking.blocks.iter().map(|block| block.values.len()).sum();
    let checks = match lacking.checks {
        1 => "1 check waits".to_owned(),
        many => format!("{many} checks wait"),
    };
    match values {
        1 => format!("{checks} for a value that is not stated"),
        many => format!("{checks} for {many} values that are not stated"),
    }
}

/// The blocks, and the ways round.
pub(super) fn lines(lacking: &Lacking, store: &Store, width: usize) -> Vec<String> {
    let mut lines = Vec::new();
    of_blocks(&lacking.blocks, store, width, &mut lines);
    for way in &lacking.ways_round {
        let words = format!(
            "or, instead of reading `{}`, state all that it is worked out from:",
            visible(&way.value)
        );
        lines.extend(fold(&words, width, "  ", "  ").lines().map(str::to_owned));
        of_blocks(&way.blocks, store, width, &mut lines);
    }
    lines
}

/// Things that lack the same values are told of together: three empty screens are one list.
fn of_blocks(blocks: &[LackingBlock], store: &Store, width: usize, lines: &mut Vec<String>) {
    let mut groups: Vec<Vec<&LackingBlock>> = Vec::new();
    for block in blocks {
        let alike =
            |group: &&mut Vec<&LackingBlock>| group.iter().all(|of| lacks_the_same(of, block));
        match groups.iter_mut().find(alike) {
            Some(group) => group.push(block),
            None => groups.push(vec![block]),
        }
    }
    for group in groups {
        of_group(&group, store, width, lines);
    }
}

fn lacks_the_same(one: &LackingBlock, other: &LackingBlock) -> bool {
    let kind = |block: &LackingBlock| {
        let end = block.thing.find([' ', ',']).unwrap_or(block.thing.len());
        block.thing.get(..end).unwrap_or_default().to_owned()
    };
    let same = |(one, other): (&LackingValue, &LackingValue)| {
        (&one.name, &one.possible, &one.measured) == (&other.name, &other.possible, &other.measured)
    };
    kind(one) == kind(other)
        && one.add == other.add
        && one.records == other.records
        && one.values.len() == other.values.len()
        && one.values.iter().zip(&other.values).all(same)
}

fn of_group(group: &[&LackingBlock], store: &Store, width: usize, lines: &mut Vec<String>) {
    let Some(block) = group.first() else { return };
    let named = group.iter().map(|block| {
        let thing = visible(&block.thing);
        match &block.place {
            Some(place) => {
                let text = store.get(place.file);
                let line = text.place(place.start as usize).line;
                format!("{thing} ({}:{line})", visible(text.name()))
            }
            None => thing.into_owned(),
        }
    });
    let mut head = named.collect::<Vec<_>>().join(", ");
    if group.len() > 1 {
        head.push_str(", each");
    }
    if block.add {
        let thing = visible(&block.thing);
        head.push_str(&format!(
            ", not in the plan yet: add a block `{thing} {{ … }}`"
        ));
    }
    if !block.records.is_empty() {
        let named = block.records.iter().take(MOST_RECORDS);
        let named: Vec<String> = named.map(|name| visible(name).into_owned()).collect();
        let more = match block.records.len().saturating_sub(MOST_RECORDS) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        head.push_str(&format!(
            "; or say which it is with `is`: {}{more}",
            named.join(", ")
        ));
    }
    lines.extend(
        fold(&head, width, "  ", "      ")
            .lines()
            .map(str::to_owned),
    );
    let longest =
        |of: &dyn Fn(&LackingValue) -> usize| block.values.iter().map(of).max().unwrap_or(0);
    let name = longest(&|value| value.name.chars().count());
    let example = longest(&|value| value.example.chars().count());
    for value in &block.values {
        let first = format!(
            "    {:name$}  {:example$}  ",
            visible(&value.name),
            value.example
        );
        let rest = " ".repeat(first.chars().count().min(width / 2));
        let words = about(value);
        lines.extend(
            fold(&words, width, &first, &rest)
                .lines()
                .map(str::to_owned),
        );
    }
}

/// What is possible, how it is read off, and who asks.
fn about(value: &LackingValue) -> String {
    let mut words = Vec::new();
    if let Some(possible) = &value.possible {
        words.push(visible(possible).into_owned());
    }
    if let Some(by) = &value.measured {
        words.push(format!("read it off: {}", visible(by)));
    }
    if let Some((first, more)) = value.rules.split_first() {
        let more = match more.len() {
            0 => String::new(),
            many => format!(" and {many} more"),
        };
        words.push(format!("for `{}`{more}", visible(first)));
    }
    words.join("; ")
}
