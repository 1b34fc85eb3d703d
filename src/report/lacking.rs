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
    for block in &lacking.blocks {
        of_block(block, store, width, &mut lines);
    }
    for way in &lacking.ways_round {
        let words = format!(
            "or, instead of reading `{}`, state all that it is worked out from:",
            visible(&way.value)
        );
        lines.extend(fold(&words, width, "  ", "  ").lines().map(str::to_owned));
        for block in &way.blocks {
            of_block(block, store, width, &mut lines);
        }
    }
    lines
}

fn of_block(block: &LackingBlock, store: &Store, width: usize, lines: &mut Vec<String>) {
    let thing = visible(&block.thing).into_owned();
    let mut head = match (&block.place, block.add) {
        (Some(place), _) => {
            let text = store.get(place.file);
            let line = text.place(place.start as usize).line;
            format!("{thing} ({}:{line})", visible(text.name()))
        }
        (None, true) => format!("{thing}, not in the plan yet: add a block `{thing} {{ … }}`"),
        (None, false) => thing.clone(),
    };
    if !block.records.is_empty() {
        let named = block.records.iter().take(MOST_RECORDS);
        let named: Vec<String> = named.map(|name| visible(name).into_owned()).collect();
        let more = match block.records.len().saturating_sub(MOST_RECORDS) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        head.push_str(&format!(
            ", or say which it is with `is`: {}{more}",
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
    let example = longest(&|value| value.example.chars().count()).min(24);
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
            1 => " and 1 more rule".to_owned(),
            many => format!(" and {many} more rules"),
        };
        words.push(format!("for `{}`{more}", visible(first)));
    }
    words.join("; ")
}
