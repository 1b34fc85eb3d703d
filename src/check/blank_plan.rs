//! A plan to fill in: every value that the rules of a standard will ask for, with what is possible and what is wanted.

use crate::diagnostic::{Lacking, LackingBlock, LackingValue};
use crate::names::did_you_mean;
use crate::source::Store;
use crate::types::{KindId, PlaceInRun, RecordId, Standard, Type};

use super::plan::{Options, Prepared, check_plan};

/// A piece of the plan: its first line and what stands in it.
struct Block {
    /// What reports call it: `screen screen-1`.
    thing: String,
    head: String,
    lines: Vec<String>,
}

/// A plan to fill in, against the standard at `against`. `choices` are a kind and a record of it each: `garment`,
/// `cotton-tee`.
///
/// # Errors
/// A sentence on what is wrong with the choices.
pub fn blank_plan(
    store: &mut Store,
    prepared: &Prepared,
    against: &str,
    choices: &[(String, String)],
) -> Result<String, String> {
    let standard = &prepared.standard;
    let chosen = chosen(standard, choices)?;
    let (mut blocks, mut steps) = skeleton(standard, &chosen);
    let head = format!("run \"new order\" against \"{against}\"\n");
    // What the rules ask for is asked of the plan as it is so far.
    let text = written(&head, &blocks, &steps);
    let file = store.add("<new plan>", text);
    let report = check_plan(
        store,
        prepared,
        0,
        file,
        Options {
            repairs: false,
            ..Options::default()
        },
    );
    let lacking = report.lacking.unwrap_or_default();
    fill(&lacking, &mut blocks, &mut steps);
    for block in &mut blocks {
        block.lines.retain(|line| !line.is_empty());
    }
    let others: Vec<&str> = standard
        .kinds
        .iter()
        .filter(|kind| kind.place == PlaceInRun::Step)
        .map(|kind| kind.name.as_str())
        .collect();
    if !others.is_empty() {
        let words = format!(
            "# put the steps in their order; there are {}",
            others.join(", ")
        );
        steps.lines.insert(0, words);
    }
    Ok(format!(
        "# A plan to fill in: take the `#` away where you put a value in. What stands behind the second `#` is what is\n\
         # possible, and which rule asks.\n{}",
        written(&head, &blocks, &steps)
    ))
}

/// The records chosen, by kind.
fn chosen(
    standard: &Standard,
    choices: &[(String, String)],
) -> Result<Vec<(KindId, RecordId)>, String> {
    let mut found = Vec::new();
    for (kind, record) in choices {
        let Some(&id) = standard.kind_names.get(kind) else {
            let known = standard.kinds.iter().map(|kind| kind.name.as_str());
            let near = did_you_mean(kind, known).map(|near| format!("; {near}"));
            return Err(format!(
                "the standard has no kind `{kind}`{}",
                near.unwrap_or_default()
            ));
        };
        let Some(&record_id) = standard.record_names.get(&(id, record.clone())) else {
            let names: Vec<&str> = standard
                .records_of(id)
                .map(|(_, of)| of.name.as_str())
                .collect();
            let near = did_you_mean(record, names.iter().copied()).map(|near| format!("; {near}"));
            return Err(format!(
                "the standard has no {kind} `{record}`{}; `strikeoff words {kind} --standard FILE` lists them",
                near.unwrap_or_default()
            ));
        };
        let place = standard.kind(id).place;
        if place == PlaceInRun::One && found.iter().any(|(known, _)| *known == id) {
            return Err(format!("a run has one `{kind}`, and two are named"));
        }
        found.push((id, record_id));
    }
    Ok(found)
}

/// Blocks for what was chosen, and the steps that name them.
fn skeleton(standard: &Standard, chosen: &[(KindId, RecordId)]) -> (Vec<Block>, Block) {
    let mut blocks = Vec::new();
    let mut steps = Block {
        thing: String::new(),
        head: "sequence {".to_owned(),
        lines: Vec::new(),
    };
    let of_kind = |kind: KindId| {
        let records = chosen.iter().filter(move |(known, _)| *known == kind);
        records.map(|(_, record)| standard.record(*record).name.as_str())
    };
    for (id, kind) in standard.numbered_kinds() {
        match kind.place {
            PlaceInRun::One => {
                for record in of_kind(id) {
                    blocks.push(Block {
                        thing: kind.name.clone(),
                        head: format!("{} is {record} {{", kind.name),
                        lines: vec![stated_by(standard, id, record)],
                    });
                }
            }
            PlaceInRun::Many => {
                for (number, (parent, lines)) in rows(standard, chosen, id).into_iter().enumerate()
                {
                    let name = format!("{}-{}", kind.name, number + 1);
                    blocks.push(Block {
                        thing: format!("{} {name}", kind.name),
                        head: format!("{} {name}{parent} {{", kind.name),
                        lines,
                    });
                    let leads = |step: &crate::types::Kind| {
                        step.place == PlaceInRun::Step
                            && step.fields.first().is_some_and(
                                |field| matches!(field.ty, Type::Reference(to) if to == id),
                            )
                    };
                    for step in standard.kinds.iter().filter(|step| leads(step)) {
                        steps.lines.push(format!("{} {name}", step.name));
                    }
                }
            }
            PlaceInRun::Record | PlaceInRun::Step => {}
        }
    }
    (blocks, steps)
}

/// Of a kind of which a run has several, one thing for each record chosen of it, or of a kind that it names: what follows
/// its name, and its lines. One record goes for all: two inks on one sort of screen are two screens.
fn rows(
    standard: &Standard,
    chosen: &[(KindId, RecordId)],
    kind: KindId,
) -> Vec<(String, Vec<String>)> {
    let of_kind = |kind: KindId| -> Vec<&str> {
        let records = chosen.iter().filter(|(known, _)| *known == kind);
        records
            .map(|(_, record)| standard.record(*record).name.as_str())
            .collect()
    };
    let own = of_kind(kind);
    let named: Vec<(&str, Vec<&str>)> = standard
        .kind(kind)
        .fields
        .iter()
        .filter_map(|field| match &field.ty {
            Type::Reference(to) => Some((field.name.as_str(), of_kind(*to))),
            _ => None,
        })
        .collect();
    let all = named.iter().map(|(_, records)| records.len());
    let count = all.max().unwrap_or(0).max(own.len());
    let at = |records: &[&str], row: usize| match records {
        [lone] => Some((*lone).to_owned()),
        many => many.get(row).map(|record| (*record).to_owned()),
    };
    let row = |row: usize| {
        let parent = at(&own, row).map(|record| format!(" is {record}"));
        let lines = named.iter().filter_map(|(field, records)| {
            let record = at(records, row)?;
            Some(format!("{field:16}   {record}"))
        });
        (parent.unwrap_or_default(), lines.collect())
    };
    (0..count).map(row).collect()
}

/// What a record states already, as a comment.
fn stated_by(standard: &Standard, kind: KindId, record: &str) -> String {
    let key = (kind, record.to_owned());
    let Some(&id) = standard.record_names.get(&key) else {
        return String::new();
    };
    let names: Vec<&str> = standard
        .kind(kind)
        .numbered_fields()
        .filter(|(field, _)| {
            let mut above = standard.ancestry(id);
            above.any(|at| {
                let values = &standard.record(at).values;
                values.get(field.index()).is_some_and(Option::is_some)
            })
        })
        .map(|(_, field)| field.name.as_str())
        .collect();
    if names.is_empty() {
        return String::new();
    }
    format!("# {record} states {}", names.join(", "))
}

/// Puts what is lacking where it belongs.
fn fill(lacking: &Lacking, blocks: &mut Vec<Block>, steps: &mut Block) {
    for lack in &lacking.blocks {
        let lines = lack.values.iter().map(line);
        match blocks.iter_mut().find(|block| block.thing == lack.thing) {
            Some(block) => block.lines.extend(lines),
            None => match step_of(&lack.thing) {
                Some(step) => {
                    if let Some(line) = steps.lines.get_mut(step) {
                        *line = format!("{line}   # add {}", on_one_line(lack));
                    }
                }
                None if lack.add => blocks.push(Block {
                    thing: lack.thing.clone(),
                    head: format!("{} {{", lack.thing),
                    lines: records(lack).into_iter().chain(lines).collect(),
                }),
                None => blocks.push(Block {
                    thing: lack.thing.clone(),
                    head: format!("# to be stated in the standard, for {} {{", lack.thing),
                    lines: lines.collect(),
                }),
            },
        }
    }
    for way in &lacking.ways_round {
        let thing = way.value.split(['.', ':']).next().unwrap_or_default();
        let words: Vec<String> = way
            .blocks
            .iter()
            .map(|block| format!("{}: {}", block.thing, on_one_line(block)))
            .collect();
        let words = format!(
            "# or, instead of reading `{}`, state all that it is worked out from: {}",
            way.value,
            words.join("; ")
        );
        if let Some(block) = blocks.iter_mut().find(|block| block.thing == thing) {
            block.lines.push(words);
        }
    }
}

/// The place in the sequence that a step is called by: `print, step 2` is the second.
fn step_of(thing: &str) -> Option<usize> {
    let (_, place) = thing.rsplit_once(", step ")?;
    place.parse::<usize>().ok()?.checked_sub(1)
}

fn records(lack: &LackingBlock) -> Option<String> {
    (!lack.records.is_empty()).then(|| {
        format!(
            "# or say which it is: `{} is …`, one of {}",
            lack.thing,
            lack.records.join(", ")
        )
    })
}

fn line(value: &LackingValue) -> String {
    let mut about = Vec::new();
    about.extend(value.possible.clone());
    about.extend(
        value
            .measured
            .as_ref()
            .map(|by| format!("read it off: {by}")),
    );
    if !value.rules.is_empty() {
        about.push(format!("for {}", value.rules.join(", ")));
    }
    let example = match value.measured {
        // What is read off says when.
        Some(_) => format!("{} read on …", value.example),
        None => value.example.clone(),
    };
    format!("# {:16} {example:22} # {}", value.name, about.join("; "))
}

fn on_one_line(block: &LackingBlock) -> String {
    let values = block.values.iter();
    let values: Vec<String> = values
        .map(|value| format!("{} {}", value.name, value.example))
        .collect();
    values.join(", ")
}

fn written(head: &str, blocks: &[Block], steps: &Block) -> String {
    let mut text = head.to_owned();
    let all = blocks
        .iter()
        .chain((!steps.lines.is_empty()).then_some(steps));
    for block in all {
        text.push_str(&format!("\n{}\n", block.head));
        for line in block.lines.iter().filter(|line| !line.is_empty()) {
            text.push_str(&format!("  {line}\n"));
        }
        let comment = block.head.starts_with('#');
        text.push_str(if comment { "# }\n" } else { "}\n" });
    }
    text
}
