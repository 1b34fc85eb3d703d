//! What a plan does not state, in lines for people: a block for each thing, all of it at once.

use super::fold::fold;
use crate::diagnostic::{Lacking, LackingBlock, LackingValue, WayRound};
use crate::source::{FileId, Store, visible};

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

/// How many things, lines or records are named in a row.
const MOST_NAMED: usize = 8;

/// In so many lines what is not stated has a row for each value; in more, a sentence for each thing, so that all of it is
/// seen at once.
const MOST_ROWS: usize = 18;

/// From so many values on, what else there is to say of a plan comes in fewer words: they are what there is to do.
const MANY: usize = 9;

/// Whether so much is not stated that it is what there is to do.
pub(super) fn is_long(lacking: &Lacking) -> bool {
    let values = lacking.blocks.iter().map(|block| block.values.len());
    values.sum::<usize>() >= MANY
}

/// The blocks, and the ways round.
pub(super) fn lines(lacking: &Lacking, plan: FileId, store: &Store, width: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let lists = lists(&lacking.blocks);
    let rows: usize = lists.iter().map(|(_, values)| values.len() + 1).sum();
    for list in &lists {
        of_list(list, rows <= MOST_ROWS, (plan, store, width), &mut lines);
    }
    // What several can be worked out from alike is told once.
    let mut ways: Vec<(String, Vec<String>, &WayRound)> = Vec::new();
    for way in &lacking.ways_round {
        let name = format!("`{}`", visible(&way.value));
        let from = in_a_sentence(&way.blocks);
        match ways.iter_mut().find(|(known, ..)| *known == from) {
            Some((_, names, _)) => names.push(name),
            None => ways.push((from, vec![name], way)),
        }
    }
    for (from, names, way) in ways {
        let it = if names.len() == 1 {
            "it is"
        } else {
            "they are"
        };
        let names = few(names);
        let all = match way.blocks.iter().map(|block| block.values.len()).sum() {
            1 => "what",
            _ => "all that",
        };
        let words =
            format!("or, instead of reading {names}, state {all} {it} worked out from: {from}");
        push(&words, width, "  ", "      ", &mut lines);
    }
    lines
}

fn push(words: &str, width: usize, first: &str, rest: &str, lines: &mut Vec<String>) {
    lines.extend(fold(words, width, first, rest).lines().map(str::to_owned));
}

/// Things with values that each of them lacks.
type List<'l> = (Vec<&'l LackingBlock>, Vec<&'l LackingValue>);

/// Things of one kind that lack the same values are told of together: three empty screens are one list, and what only
/// two of them lack is another.
fn lists(blocks: &[LackingBlock]) -> Vec<List<'_>> {
    let mut kinds: Vec<Vec<&LackingBlock>> = Vec::new();
    for block in blocks {
        let alike = |group: &&mut Vec<&LackingBlock>| {
            group.first().is_some_and(|of| {
                kind(of) == kind(block) && of.add == block.add && of.records == block.records
            })
        };
        match kinds.iter_mut().find(alike) {
            Some(group) => group.push(block),
            None => kinds.push(vec![block]),
        }
    }
    let mut found: Vec<List<'_>> = Vec::new();
    for group in kinds {
        let from = found.len();
        let mut told: Vec<&LackingValue> = Vec::new();
        for value in group.iter().flat_map(|block| &block.values) {
            if told.iter().any(|of| is_same(of, value)) {
                continue;
            }
            told.push(value);
            let lacks = |block: &&&LackingBlock| {
                let mut values = block.values.iter();
                values.any(|of| is_same(of, value))
            };
            let who: Vec<&LackingBlock> = group.iter().filter(lacks).copied().collect();
            let together = |(of, _): &&mut List<'_>| {
                of.len() == who.len()
                    && of
                        .iter()
                        .zip(&who)
                        .all(|(one, other)| std::ptr::eq(*one, *other))
            };
            match found.iter_mut().skip(from).find(together) {
                Some((_, values)) => values.push(value),
                None => found.push((who, vec![value])),
            }
        }
    }
    found
}

fn kind(block: &LackingBlock) -> &str {
    let end = block.thing.find([' ', ',']).unwrap_or(block.thing.len());
    block.thing.get(..end).unwrap_or_default()
}

fn is_same(one: &LackingValue, other: &LackingValue) -> bool {
    (&one.name, &one.possible, &one.measured) == (&other.name, &other.possible, &other.measured)
}

/// The things of a list by name, with the lines of the plan where their blocks begin.
fn named(things: &[&LackingBlock], plan: FileId, store: &Store) -> String {
    let place = |block: &&LackingBlock| {
        let place = block.place?;
        let text = store.get(place.file);
        Some((place.file, text.place(place.start as usize).line))
    };
    let steps: Option<Vec<(&str, &str)>> = things
        .iter()
        .map(|block| block.thing.split_once(", step "))
        .collect();
    let mut head = match steps.as_deref() {
        Some([(kind, _), _, ..]) => {
            let steps = steps.iter().flatten().map(|(_, step)| (*step).to_owned());
            format!("{}, steps {}", visible(kind), few(steps.collect()))
        }
        _ => few(things
            .iter()
            .map(|block| visible(&block.thing).into_owned())
            .collect()),
    };
    let places: Vec<_> = things.iter().filter_map(place).collect();
    let lines = || few(places.iter().map(|(_, line)| line.to_string()).collect());
    match places.as_slice() {
        [] => {}
        [(file, line)] if *file != plan => {
            let file = visible(store.get(*file).name());
            head.push_str(&format!(" ({file}:{line})"));
        }
        [_] => head.push_str(&format!(" (line {})", lines())),
        _ => head.push_str(&format!(" (lines {})", lines())),
    }
    if things.len() > 1 {
        head.push_str(", each");
    }
    head
}

/// Names in a row, the first ones where they are many.
fn few(mut names: Vec<String>) -> String {
    let more = names.len().saturating_sub(MOST_NAMED);
    if more > 1 {
        names.truncate(MOST_NAMED);
        names.push(format!("{more} more"));
    }
    names.join(", ")
}

fn of_list(
    (things, values): &List<'_>,
    in_rows: bool,
    (plan, store, width): (FileId, &Store, usize),
    lines: &mut Vec<String>,
) {
    let Some(block) = things.first() else { return };
    let mut head = named(things, plan, store);
    if block.add {
        let thing = visible(&block.thing);
        head.push_str(&format!(
            ", not in the plan yet: add a block `{thing} {{ … }}`"
        ));
    }
    if !block.records.is_empty() {
        let named = block.records.iter();
        let named = few(named.map(|name| visible(name).into_owned()).collect());
        head.push_str(&format!("; or say which it is with `is`: {named}"));
    }
    if !in_rows {
        let values: Vec<String> = values.iter().map(|value| in_brackets(value)).collect();
        let words = format!("{head}: {}", values.join(", "));
        push(&words, width, "  ", "      ", lines);
        return;
    }
    push(&head, width, "  ", "      ", lines);
    let longest = |of: &dyn Fn(&LackingValue) -> usize| values.iter().map(|value| of(value)).max();
    let name = longest(&|value| value.name.chars().count()).unwrap_or(0);
    let example = longest(&|value| value.example.chars().count()).unwrap_or(0);
    for value in values {
        let first = format!(
            "    {:name$}  {:example$}  ",
            visible(&value.name),
            value.example
        );
        let start = first.chars().count();
        let rest = " ".repeat(start.min(width / 2));
        // Who asks is told where there is room for it.
        let (about, asks) = (about(value), asks(value));
        let both = [about.as_str(), asks.as_str()].join("; ");
        let words = match start + both.chars().count() <= width {
            true => both.trim_start_matches("; "),
            false => about.as_str(),
        };
        push(words, width, &first, &rest, lines);
    }
}

/// Things and what they lack in one sentence: ``press: `room-air` (-5 to 50 °C)``.
fn in_a_sentence(blocks: &[LackingBlock]) -> String {
    let of_block = |block: &LackingBlock| {
        let values: Vec<String> = block.values.iter().map(in_brackets).collect();
        format!("{}: {}", visible(&block.thing), values.join(", "))
    };
    blocks.iter().map(of_block).collect::<Vec<_>>().join("; ")
}

/// ``room-air (-5 to 50 °C; a thermometer in the room)``
fn in_brackets(value: &LackingValue) -> String {
    let range = value.possible.as_ref().unwrap_or(&value.example);
    let by = match &value.measured {
        Some(by) => format!("; {}", visible(by)),
        None => String::new(),
    };
    format!("{} ({}{by})", visible(&value.name), visible(range))
}

/// What is possible, and how it is read off.
fn about(value: &LackingValue) -> String {
    let mut words = Vec::new();
    if let Some(possible) = &value.possible {
        words.push(visible(possible).into_owned());
    }
    if let Some(by) = &value.measured {
        words.push(format!("read it off: {}", visible(by)));
    }
    words.join("; ")
}

/// Which rules ask for it.
fn asks(value: &LackingValue) -> String {
    let Some((first, more)) = value.rules.split_first() else {
        return String::new();
    };
    let more = match more.len() {
        0 => String::new(),
        many => format!(" and {many} more"),
    };
    format!("for `{}`{more}", visible(first))
}
