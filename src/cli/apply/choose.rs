//! Which repairs are put into a plan together.

use std::str::FromStr;

use crate::diagnostic::{Edit, PlanReport, Repair};

/// How many repairs may be put in at once: each is also checked alone.
const MOST_TOGETHER: usize = 32;

/// The repairs that were asked for: `all`, or `1,3,4`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::cli) enum Asked {
    /// Of every finding one, as far as they do not touch each other.
    All,
    /// These.
    These(Vec<u32>),
}

impl FromStr for Asked {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        if text == "all" {
            return Ok(Self::All);
        }
        let mut numbers = Vec::new();
        for word in text.split(',') {
            let number = word.trim().parse();
            let number =
                number.map_err(|_| "write the number of a repair, several as `1,3,4`, or `all`")?;
            if !numbers.contains(&number) {
                numbers.push(number);
            }
        }
        if numbers.len() > MOST_TOGETHER {
            return Err(format!(
                "at most {MOST_TOGETHER} repairs are put in at once"
            ));
        }
        Ok(Self::These(numbers))
    }
}

/// The repairs to put in, and what is to be said of those that are not.
#[derive(Debug, Default)]
pub(super) struct Chosen<'a> {
    pub(super) repairs: Vec<&'a Repair>,
    pub(super) left_out: Vec<String>,
}

/// The repairs that were asked for.
///
/// # Errors
/// In a clause for people, where there is no such repair, or two of them touch each other.
pub(super) fn choose<'a>(
    plan: &'a PlanReport,
    path: &str,
    asked: &Asked,
) -> Result<Chosen<'a>, String> {
    let numbers = match asked {
        Asked::All => return all(plan, path),
        Asked::These(numbers) => numbers,
    };
    let offered = offered(plan);
    let mut chosen: Vec<&Repair> = Vec::new();
    for number in numbers {
        let repair = offered.iter().find(|repair| repair.number == *number);
        let repair = *repair.ok_or_else(|| missing(&offered, path, *number))?;
        for known in &chosen {
            if let Some(what) = touch(known, repair) {
                return Err(format!(
                    "repairs {} and {number} {what}, so they cannot be put in together; put in one, \
                     and look at the new report",
                    known.number
                ));
            }
        }
        chosen.push(repair);
    }
    Ok(Chosen {
        repairs: chosen,
        left_out: Vec::new(),
    })
}

/// The one that mends the whole run; else the first of every finding that touches none before it.
fn all<'a>(plan: &'a PlanReport, path: &str) -> Result<Chosen<'a>, String> {
    let offered = offered(plan);
    if offered.is_empty() {
        return Err(missing(&offered, path, 1));
    }
    let mut chosen = Chosen::default();
    if let Some(whole) = offered.iter().find(|repair| repair.whole) {
        chosen.repairs.push(whole);
        if offered.len() > 1 {
            chosen.left_out.push(format!(
                "repair {} mends the whole run, so no other was put in",
                whole.number
            ));
        }
        return Ok(chosen);
    }
    for said in &plan.diagnostics {
        let known = |repair: &Repair| chosen.repairs.iter().any(|one| one.number == repair.number);
        let Some(first) = said.repairs.first() else {
            continue;
        };
        if said.repairs.iter().any(known) {
            continue;
        }
        if chosen.repairs.len() >= MOST_TOGETHER {
            chosen.left_out.push(format!(
                "repair {} and those after it: {MOST_TOGETHER} are put in at once; look at the new report",
                first.number
            ));
            break;
        }
        let touching = |repair: &Repair| {
            let mut before = chosen.repairs.iter();
            before.find_map(|one| touch(one, repair).map(|what| (one.number, what)))
        };
        match said
            .repairs
            .iter()
            .find(|repair| touching(repair).is_none())
        {
            Some(free) => chosen.repairs.push(free),
            None => {
                let words = touching(first).map(|(number, what)| {
                    format!(
                        "repair {} was left out: repairs {number} and {} {what}",
                        first.number, first.number
                    )
                });
                chosen.left_out.extend(words);
            }
        }
    }
    Ok(chosen)
}

/// All repairs of a plan, each once.
fn offered(plan: &PlanReport) -> Vec<&Repair> {
    let findings = plan.diagnostics.iter().flat_map(|said| &said.repairs);
    let whole = plan.whole.iter().filter_map(|whole| whole.repair.as_ref());
    let mut all: Vec<&Repair> = Vec::new();
    for repair in findings.chain(whole) {
        if !all.iter().any(|known| known.number == repair.number) {
            all.push(repair);
        }
    }
    all
}

fn missing(offered: &[&Repair], path: &str, number: u32) -> String {
    match offered.len() {
        0 => format!("`{path}` has no repair to apply"),
        1 => format!("`{path}` has no repair {number}; it has repair 1"),
        last => format!("`{path}` has no repair {number}; it has repairs 1 to {last}"),
    }
}

/// What two repairs have in common that keeps them from being put in together: `both move …`.
fn touch(one: &Repair, other: &Repair) -> Option<String> {
    for mine in &one.moves {
        let theirs = other
            .moves
            .iter()
            .find(|moved| moved.setting == mine.setting);
        if theirs.is_some() {
            return Some(format!("both move `{}`", mine.setting));
        }
    }
    let puts_in = |repair: &Repair| repair.moves.is_empty();
    if puts_in(one) && puts_in(other) {
        return Some("both put a step in".to_owned());
    }
    // A step that is put in moves the numbers of those after it, and with them what `step-4` names.
    if (puts_in(one) || puts_in(other)) && (names_a_step(one) || names_a_step(other)) {
        return Some("put a step in and name a step by its number".to_owned());
    }
    merged(&[one, other])
        .is_none()
        .then(|| "change the same place".to_owned())
}

fn names_a_step(repair: &Repair) -> bool {
    let mut edits = repair.edits.iter();
    edits.any(|edit| is_block(edit) && edit.text.contains("step-"))
}

/// The edits of several repairs, in the order of the text; `None` where two are at odds.
///
/// Two repairs may keep one reading, each with the dial that it moves: its lines then stand in one block.
pub(super) fn merged(repairs: &[&Repair]) -> Option<Vec<Edit>> {
    let mut all: Vec<Edit> = Vec::new();
    for edit in repairs.iter().flat_map(|repair| &repair.edits) {
        if all.contains(edit) {
            continue;
        }
        let is_put_in = edit.span.start == edit.span.end;
        let same_place = all.iter_mut().find(|known| known.span == edit.span);
        match same_place {
            None => all.push(edit.clone()),
            Some(known) if is_put_in && is_lines(known) && is_lines(edit) => {
                for line in edit.text.split_inclusive('\n') {
                    if !known.text.contains(line) {
                        known.text.push_str(line);
                    }
                }
            }
            Some(known) if is_put_in && is_block(known) && is_block(edit) => {
                known.text = with_blocks(&known.text, &edit.text);
            }
            Some(_) => return None,
        }
    }
    all.sort_by_key(|edit| (edit.span.start, edit.span.end));
    let apart = all
        .windows(2)
        .all(|two| two[0].span.end <= two[1].span.start);
    apart.then_some(all)
}

/// Lines for a block of a reading that the plan has.
fn is_lines(edit: &Edit) -> bool {
    edit.text.starts_with("  at ")
}

/// Blocks of readings, after all else.
fn is_block(edit: &Edit) -> bool {
    edit.text.starts_with("\n\nreading ")
}

/// Blocks of readings, each reading once, with the lines of both.
fn with_blocks(mine: &str, theirs: &str) -> String {
    let mut blocks: Vec<(String, Vec<String>)> = Vec::new();
    for block in [mine, theirs]
        .into_iter()
        .flat_map(|text| text.split("\n\n"))
    {
        let mut lines = block.lines();
        let Some(head) = lines.next().filter(|head| !head.is_empty()) else {
            continue;
        };
        let body = lines.filter(|line| *line != "}").map(str::to_owned);
        let place = match blocks.iter().position(|(known, _)| known == head) {
            Some(place) => place,
            None => {
                blocks.push((head.to_owned(), Vec::new()));
                blocks.len() - 1
            }
        };
        for line in body {
            if !blocks[place].1.contains(&line) {
                blocks[place].1.push(line);
            }
        }
    }
    let written = blocks
        .iter()
        .map(|(head, body)| format!("\n\n{head}\n{}\n}}", body.join("\n")));
    written.collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::diagnostic::Move;
    use crate::source::{FileId, Span};

    fn repair(number: u32, setting: &str, edits: &[(usize, usize, &str)]) -> Repair {
        let moves = [setting].into_iter().filter(|name| !name.is_empty());
        Repair {
            number,
            edits: edits
                .iter()
                .map(|(start, end, text)| Edit {
                    span: Span::new(FileId(0), *start, *end),
                    text: (*text).to_owned(),
                })
                .collect(),
            moves: moves
                .map(|setting| Move {
                    setting: setting.to_owned(),
                    from: String::new(),
                    to: String::new(),
                    range: String::new(),
                    low: 0.0,
                    high: 0.0,
                    unit: String::new(),
                    takes: None,
                })
                .collect(),
            ..Repair::default()
        }
    }

    #[test]
    fn numbers_are_read_as_people_write_them() {
        let these = |numbers: &[u32]| Ok(Asked::These(numbers.to_vec()));
        assert_eq!("all".parse(), Ok(Asked::All));
        assert_eq!("3".parse(), these(&[3]));
        assert_eq!("1, 3,4,3".parse(), these(&[1, 3, 4]));
        for text in ["", "1,", "one", "1-3", "-1", "4294967296"] {
            assert!(text.parse::<Asked>().is_err(), "{text}");
        }
        let many: Vec<String> = (1..=33).map(|number| number.to_string()).collect();
        assert!(many.join(",").parse::<Asked>().is_err());
    }

    #[test]
    fn a_reading_that_two_repairs_keep_is_kept_once_with_both_dials() {
        let block = |line: &str| format!("\n\nreading oven.peak {{\n  at         {line}\n}}");
        let (belt, air) = (block("oven.belt 3 m/min"), block("oven.air 300 °F"));
        let one = repair(1, "oven.belt", &[(4, 5, "2"), (90, 90, &belt)]);
        let other = repair(2, "oven.air", &[(14, 17, "280"), (90, 90, &air)]);
        let edits = merged(&[&one, &other]).unwrap();
        assert_eq!(edits.len(), 3);
        assert_eq!(
            edits[2].text,
            "\n\nreading oven.peak {\n  at         oven.belt 3 m/min\n  at         oven.air 300 °F\n}"
        );
        let one = repair(
            1,
            "oven.belt",
            &[(40, 40, "  at         oven.belt 3 m/min\n")],
        );
        let other = repair(2, "oven.air", &[(40, 40, "  at         oven.air 300 °F\n")]);
        let edits = merged(&[&one, &other]).unwrap();
        assert_eq!(
            edits[0].text,
            "  at         oven.belt 3 m/min\n  at         oven.air 300 °F\n"
        );
    }

    #[test]
    fn what_touches_is_said() {
        let belt = repair(1, "oven.belt", &[(4, 5, "2")]);
        let slower = repair(2, "oven.belt", &[(4, 5, "1")]);
        let step = repair(3, "", &[(60, 60, "  wait\n")]);
        let other_step = repair(4, "", &[(70, 70, "  wait\n")]);
        let by_number = "\n\nreading step-4.crust {\n  at         oven.belt 3 m/min\n}";
        let naming = repair(5, "oven.belt", &[(4, 5, "2"), (90, 90, by_number)]);
        assert_eq!(touch(&belt, &slower).unwrap(), "both move `oven.belt`");
        assert_eq!(touch(&step, &other_step).unwrap(), "both put a step in");
        assert!(touch(&belt, &step).is_none());
        assert!(touch(&step, &naming).unwrap().contains("by its number"));
        // The same place, said by other texts than those of a reading.
        let here = repair(6, "oven.air", &[(60, 60, "x")]);
        assert!(touch(&step, &here).unwrap().contains("the same place"));
        let around = repair(7, "oven.air", &[(3, 6, "x")]);
        assert!(touch(&belt, &around).unwrap().contains("the same place"));
    }
}
