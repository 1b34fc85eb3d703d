//! Readings: what they say where settings move, when they were taken, and what has to be measured again.

use crate::diagnostic::{Code, Diagnostic, Edit};
use crate::eval::{EvalContext, ExactInterval, Leaf, carried, overdue};
use crate::source::visible;
use crate::types::{Carried, CarriedDial, Origin, Says, Sort, Stated, Taken, Value, Way};
use crate::units::show_exact;

use super::wording;

/// How many readings are named in one sentence.
const MOST_NAMED: usize = 6;

fn leaf_of(of: &Carried) -> Leaf {
    Leaf {
        target: of.target,
        field: of.field,
    }
}

fn leaf_of_dial(dial: &CarriedDial) -> Leaf {
    Leaf {
        target: dial.target,
        field: dial.field,
    }
}

fn stated<'a>(context: &EvalContext<'a>, leaf: Leaf) -> Option<&'a Stated> {
    context
        .run
        .stated(context.standard, leaf.target, leaf.field)
}

/// The readings stated in the plan that rest on one of these settings by their own formula.
fn touched<'a>(context: &EvalContext<'a>, moved: &[Leaf]) -> Vec<&'a Carried> {
    let all = context.run.readings.iter();
    let rests = |of: &&Carried| {
        let mut dials = of.dials.iter();
        dials.any(|dial| moved.contains(&leaf_of_dial(dial)))
    };
    let in_plan = |of: &&Carried| {
        let found = stated(context, leaf_of(of));
        found.is_some_and(|stated| stated.origin == Origin::Plan)
    };
    all.filter(rests).filter(in_plan).collect()
}

/// The readings stated in the plan that rest on a setting, by the names reports give them: where it is moved, they
/// speak of other settings.
#[must_use]
pub fn readings_on(context: &EvalContext<'_>, moved: &[Leaf]) -> Vec<String> {
    let touched = touched(context, moved);
    let names = touched.into_iter();
    names
        .map(|of| wording::setting(context, leaf_of(of)))
        .collect()
}

/// Where the readings were taken that rest on these settings: ``\`film.peak\` was read at \`dryer.belt\` 3 m/min;
/// measure it again after any change``; `None` where there is none.
#[must_use]
pub fn where_read(context: &EvalContext<'_>, moved: &[Leaf]) -> Option<String> {
    let touched = touched(context, moved);
    let each: Vec<String> = touched
        .iter()
        .take(MOST_NAMED)
        .map(|of| read_at(context, of, moved))
        .collect();
    let again = again(touched.len())?;
    let each = with_more(each, touched.len());
    Some(format!("{each}; {again} after any change"))
}

/// ``\`film.peak\` was read at \`dryer.belt\` 3 m/min``
fn read_at(context: &EvalContext<'_>, of: &Carried, moved: &[Leaf]) -> String {
    let name = wording::setting(context, leaf_of(of));
    match places(context, of, moved) {
        Some(places) => format!("`{name}` was read at {places}"),
        None => format!("`{name}` was read before"),
    }
}

fn again(readings: usize) -> Option<&'static str> {
    match readings {
        0 => None,
        1 => Some("measure it again"),
        _ => Some("measure them again"),
    }
}

/// The first of so many, and how many more there are.
fn with_more(mut named: Vec<String>, all: usize) -> String {
    if all > named.len() {
        named.push(format!("{} more", all - named.len()));
    }
    named.join(", ")
}

/// What the readings say after a change, as clauses: ``\`film.peak\` was read at \`dryer.belt\` 3 m/min and is at least
/// 282 °F then; measure it again``.
pub(super) fn after_change(
    context: &EvalContext<'_>,
    parts: &[(Leaf, ExactInterval)],
) -> Option<String> {
    let moved: Vec<Leaf> = parts.iter().map(|(leaf, _)| *leaf).collect();
    let touched = touched(context, &moved);
    let all = carried(context, parts);
    let each: Vec<String> = touched
        .iter()
        .take(MOST_NAMED)
        .map(|of| {
            let read = read_at(context, of, &moved);
            let stretch = all.iter().find(|(leaf, _)| *leaf == leaf_of(of));
            match stretch.and_then(|(_, stretch)| bound_of(of, stretch)) {
                Some(bound) => format!("{read} and is {bound} then"),
                None => read,
            }
        })
        .collect();
    let again = again(touched.len())?;
    Some(format!("{}; {again}", with_more(each, touched.len())))
}

/// `at least 282 °F`, where the run states a reading that was taken at other settings.
pub(super) fn bound(context: &EvalContext<'_>, leaf: Leaf) -> Option<String> {
    let mut readings = context.run.readings.iter();
    let of = readings.find(|of| leaf_of(of) == leaf)?;
    let unit = &of.read.unit;
    match of.says {
        Says::AtLeast => Some(format!("at least {}", show_exact(&of.read.low, unit))),
        Says::AtMost => Some(format!("at most {}", show_exact(&of.read.high, unit))),
        Says::AsRead | Says::Nothing => None,
    }
}

/// `at least 282 °F`, where a stretch is what a reading says beyond itself.
fn bound_of(of: &Carried, stretch: &ExactInterval) -> Option<String> {
    let unit = &of.read.unit;
    match (stretch.low == of.read.low, stretch.high == of.read.high) {
        (true, false) => Some(format!("at least {}", show_exact(&of.read.low, unit))),
        (false, true) => Some(format!("at most {}", show_exact(&of.read.high, unit))),
        _ => None,
    }
}

/// ``\`dryer.belt\` 3 m/min and \`dryer.set-point\` 300 °F``: where the dials stood, of those that are spoken of.
fn places(context: &EvalContext<'_>, of: &Carried, moved: &[Leaf]) -> Option<String> {
    let at = |dial: &&CarriedDial| moved.contains(&leaf_of_dial(dial));
    let dials = of.dials.iter().filter(at);
    let each: Option<Vec<String>> = dials
        .map(|dial| {
            let name = wording::setting(context, leaf_of_dial(dial));
            Some(format!("`{name}` {}", stood(context, of, dial)?))
        })
        .collect();
    let each = each?;
    let (last, others) = each.split_last()?;
    Some(match others {
        [] => last.clone(),
        others => format!("{} and {last}", others.join(", ")),
    })
}

/// Where a dial stood when a reading was taken.
fn stood(context: &EvalContext<'_>, of: &Carried, dial: &CarriedDial) -> Option<String> {
    let reading = stated(context, leaf_of(of))?;
    let mut taken = reading.taken.iter().flat_map(|taken| &taken.at);
    let said = taken.find(|at| (at.target, at.field) == (dial.target, dial.field));
    let quantity = match said {
        Some(at) => &at.quantity,
        None => match &stated(context, leaf_of_dial(dial))?.value {
            Value::Quantity(quantity) => quantity,
            _ => return None,
        },
    };
    Some(wording::quantity_alone(quantity))
}

/// The edits by which a plan keeps its readings with the settings they were taken at, where some of these are moved.
pub(super) fn kept(context: &EvalContext<'_>, moved: &[Leaf]) -> Vec<Edit> {
    let mut edits = Vec::new();
    let mut blocks = String::new();
    for of in touched(context, moved) {
        let Some(reading) = stated(context, leaf_of(of)) else {
            continue;
        };
        let dials = of
            .dials
            .iter()
            .filter(|dial| dial.span.is_none() && moved.contains(&leaf_of_dial(dial)));
        let lines: Vec<String> = dials
            .filter_map(|dial| {
                let path = wording::plan_path(context, leaf_of_dial(dial));
                let stood = stood(context, of, dial)?;
                Some(format!("  at         {path} {stood}\n"))
            })
            .collect();
        if lines.is_empty() {
            continue;
        }
        let block = reading.taken.as_ref().and_then(|taken| taken.block);
        match block.map(|block| block.insert) {
            Some(Some(insert)) => edits.push(Edit {
                span: insert,
                text: lines.concat(),
            }),
            // A block that is not closed is an error, and no change is offered for it.
            Some(None) => {}
            None => {
                let path = wording::plan_path(context, leaf_of(of));
                blocks.push_str(&format!("\n\nreading {path} {{\n{}}}", lines.concat()));
            }
        }
    }
    if !blocks.is_empty() {
        edits.push(Edit {
            span: context.run.end,
            text: blocks,
        });
    }
    edits
}

/// What is to be said of the readings of a plan: those taken at other settings, without a day, on a day to come, or with
/// an instrument past its calibration.
pub(super) fn readings(context: &EvalContext<'_>) -> Vec<Diagnostic> {
    let mut said: Vec<Diagnostic> = Vec::new();
    said.extend(
        context
            .run
            .readings
            .iter()
            .filter_map(|of| elsewhere(context, of)),
    );
    said.extend(undated(context));
    for (leaf, stated) in in_plan(context) {
        if let Some(taken) = &stated.taken {
            said.extend(dates(context, leaf, stated, taken));
            said.extend(without_bearing(context, leaf, taken));
        }
    }
    said.extend(one_piece(context));
    said
}

/// What the plan states itself of what is measured, and what is stated beside its formula.
fn in_plan<'a>(context: &EvalContext<'a>) -> impl Iterator<Item = (Leaf, &'a Stated)> {
    let context = *context;
    context
        .run
        .leaves(context.standard)
        .filter(|(_, _, declared)| matches!(declared.sort, Sort::Measured(_) | Sort::WorkedOut))
        .filter_map(move |(target, field, _)| {
            let leaf = Leaf { target, field };
            let stated = stated(&context, leaf)?;
            (stated.origin == Origin::Plan).then_some((leaf, stated))
        })
}

fn elsewhere(context: &EvalContext<'_>, of: &Carried) -> Option<Diagnostic> {
    let leaf = leaf_of(of);
    let stated = stated(context, leaf)?;
    let name = wording::setting(context, leaf);
    let unit = &of.read.unit;
    let worth = match of.says {
        Says::AsRead => return None,
        Says::AtLeast => format!("it is at least {} here", show_exact(&of.read.low, unit)),
        Says::AtMost => format!("it is at most {} here", show_exact(&of.read.high, unit)),
        Says::Nothing => "it says nothing of this run".to_owned(),
    };
    let mut diagnostic = Diagnostic::new(
        Code::MeasureAgain,
        stated.span,
        format!("`{name}` was read at other settings: {worth}"),
        "read there",
    );
    let mut taken_to_hold = false;
    for dial in &of.dials {
        let Some(span) = dial.span else { continue };
        let dial_name = wording::setting(context, leaf_of_dial(dial));
        let Some(now) = self::stated(context, leaf_of_dial(dial)) else {
            diagnostic = diagnostic.related(span, format!("the plan does not state `{dial_name}`"));
            continue;
        };
        let Value::Quantity(quantity) = &now.value else {
            continue;
        };
        if quantity.low == dial.low && quantity.high == dial.high {
            continue;
        }
        taken_to_hold |= dial.while_heating;
        let way = match dial.way {
            _ if dial.is_beyond(&quantity.low, &quantity.high) => {
                "what is so behind its dial is not known at both places".to_owned()
            }
            Way::Rises => format!("raising it never lowers `{name}`"),
            Way::Falls => format!("raising it never raises `{name}`"),
            Way::Unknown => format!("which way it moves `{name}` is not shown"),
        };
        diagnostic = diagnostic.related(
            span,
            format!(
                "then; it is {} now: {way}",
                wording::quantity_alone(quantity)
            ),
        );
    }
    if of.says != Says::Nothing {
        // A slower pass keeps what was reached on the way up; a faster one can pass it where it is heated once more
        // behind the hottest place, for it has cooled less in between.
        let heat = match (taken_to_hold, of.says) {
            (false, _) => "",
            (true, Says::AtMost) => {
                ", and what is heated only gets warmer from where it enters to where it is hottest, and never again \
                 behind that"
            }
            (true, _) => {
                ", and what is heated only gets warmer from where it enters to where it is hottest"
            }
        };
        diagnostic = diagnostic.note(format!(
            "taken to hold: a dial is off by as much as it was then{heat}"
        ));
    }
    Some(diagnostic.help("measure it again at the settings of this plan"))
}

fn undated(context: &EvalContext<'_>) -> Option<Diagnostic> {
    let without: Vec<(Leaf, &Stated)> = in_plan(context)
        .filter(|(_, stated)| {
            matches!(stated.value, Value::Quantity(_))
                && stated.taken.as_ref().is_none_or(|taken| taken.on.is_none())
        })
        .filter(|(leaf, _)| {
            let kind = context.run.target(context.standard, leaf.target).kind;
            context
                .standard
                .field(kind, leaf.field)
                .measured()
                .is_some()
        })
        .collect();
    let (_, first) = without.first()?;
    let names = without.iter().take(MOST_NAMED);
    let names = names.map(|(leaf, _)| format!("`{}`", wording::setting(context, *leaf)));
    let names = with_more(names.collect(), without.len());
    let verb = if without.len() == 1 { "does" } else { "do" };
    let day = match context.run.on {
        Some(on) => on.to_string(),
        None => "2026-11-20".to_owned(),
    };
    Some(
        Diagnostic::new(
            Code::ReadingUndated,
            first.span,
            format!("{names} {verb} not say on which day it was read"),
            "read when?",
        )
        .help(format!(
            "write the day behind the value, as in `read on {day}`; until then it counts as read at the settings of this plan"
        )),
    )
}

fn dates(
    context: &EvalContext<'_>,
    leaf: Leaf,
    stated: &Stated,
    taken: &Taken,
) -> Option<Diagnostic> {
    let read = taken.on?;
    let name = wording::setting(context, leaf);
    if let Some(on) = context.run.on.filter(|on| read > *on) {
        return Some(
            Diagnostic::new(
                Code::ReadingToCome,
                stated.span,
                format!("`{name}` is said to be read on {read}, and the check is for {on}"),
                "a day still to come",
            )
            .help("put the day right, or check for another day with `--on`"),
        );
    }
    let with = taken.with?;
    let due = overdue(context.standard, with, read)?;
    let record = context.standard.record(with);
    let instrument = visible(&record.name);
    let mut said = Diagnostic::new(
        Code::InstrumentOverdue,
        stated.span,
        format!(
            "`{name}` was read on {read} with `{instrument}`, whose calibration was due on {due}"
        ),
        "read with it",
    );
    if let Some(header) = record.header {
        said = said.related(header, "the instrument");
    }
    Some(said.help("have it calibrated and measure again; put `due` right where it was done"))
}

/// A dial that the reading does not rest on: where it stood says nothing.
fn without_bearing(context: &EvalContext<'_>, leaf: Leaf, taken: &Taken) -> Option<Diagnostic> {
    let mut readings = context.run.readings.iter();
    let of = readings.find(|of| leaf_of(of) == leaf);
    let bears = |target, field| {
        let mut dials = of.iter().flat_map(|of| &of.dials);
        dials.any(|dial| (dial.target, dial.field) == (target, field))
    };
    let idle = taken.at.iter().filter(|at| !bears(at.target, at.field));
    let idle: Vec<_> = idle.collect();
    let first = idle.first()?;
    let name = wording::setting(context, leaf);
    let dials = idle.iter().take(MOST_NAMED).map(|at| {
        let (target, field) = (at.target, at.field);
        format!("`{}`", wording::setting(context, Leaf { target, field }))
    });
    let dials = with_more(dials.collect(), idle.len());
    Some(
        Diagnostic::new(
            Code::AtWithoutBearing,
            first.span,
            format!(
                "`{name}` is not worked out from {dials}: where that stood has no bearing on it"
            ),
            "no bearing",
        )
        .help("take the line out, or name a setting that it is worked out from"),
    )
}

/// What comes about anew with each piece, and was read of one.
fn one_piece(context: &EvalContext<'_>) -> Option<Diagnostic> {
    let of_one = |of: &&Carried| {
        let Some(stated) = stated(context, leaf_of(of)) else {
            return false;
        };
        let pieces = stated.taken.as_ref().and_then(|taken| taken.pieces);
        let kind = context.run.target(context.standard, of.target).kind;
        let measured = context.standard.field(kind, of.field).measured().is_some();
        measured
            && stated.origin == Origin::Plan
            && !of.dials.is_empty()
            && pieces.is_none_or(|pieces| pieces < 2)
    };
    let found: Vec<&Carried> = context.run.readings.iter().filter(of_one).collect();
    let first = stated(context, leaf_of(found.first()?))?;
    let names = found.iter().take(MOST_NAMED);
    let names = names.map(|of| format!("`{}`", wording::setting(context, leaf_of(of))));
    let names = with_more(names.collect(), found.len());
    Some(
        Diagnostic::new(
            Code::OnePiece,
            first.span,
            format!("shown on one piece: {names}"),
            "read of one piece",
        )
        .help(
            "measure several, and say how many: `from 5 pieces` behind the day, with a `±` that covers them all",
        ),
    )
}
