//! Deviations: what they let pass now that they did not, read off their texts.

use crate::diagnostic::{Answer, ChangeKind, Direction, Verb};
use crate::diff::canonical;
use crate::diff::conditions::lower_condition::{Figures, Situation};
use crate::diff::conditions::overrides::Overrides;
use crate::diff::conditions::variables::{Formula, Vars};
use crate::diff::context::{DiffContext, Entry};
use crate::diff::edition::Edition;
use crate::diff::entries::unit_slip;
use crate::diff::pairing::clauses::RulePair;
use crate::diff::texts::focus::TextChange;
use crate::types::{Date, Deviation, Move, Rule, Standard, limits};
use crate::units::{Exact, show_exact};

/// Whether two deviations are likely one.
type Like<'l> = dyn Fn(&Deviation, &Deviation) -> bool + 'l;

const LOOSER: Direction = Direction {
    tighter: Answer::No,
    looser: Answer::Yes,
};

const TIGHTER: Direction = Direction {
    tighter: Answer::Yes,
    looser: Answer::No,
};

const OPEN: Direction = Direction {
    tighter: Answer::NotDecided,
    looser: Answer::NotDecided,
};

/// Everything about deviations; on a day, those that have ended let nothing pass.
pub(in crate::diff) fn entries(
    desk: &DiffContext<'_, '_>,
    rules: &[RulePair],
    on: Option<Date>,
) -> Vec<Entry> {
    let (old, new) = (desk.before(), desk.after());
    // The old deviation's rule by its new name.
    let rule = |of: &Deviation| {
        let pair = rules
            .iter()
            .find(|pair| pair.old == of.rule && of.rule.is_some());
        let there = pair.and_then(|pair| pair.new);
        there.map_or_else(|| of.rule_name.clone(), |at| new.rules[at].name.clone())
    };
    let run = |of: &Deviation| of.run.as_ref().map(|(name, _)| name.clone());
    let mut left: Vec<(usize, &Deviation)> = new.deviations.iter().enumerate().collect();
    let mut pairs: Vec<(&Deviation, Option<&Deviation>)> =
        old.deviations.iter().map(|of| (of, None)).collect();
    // The likest first: the same text, then the same run, then the same rule.
    let likeness: [&Like<'_>; 3] = [
        &|one, other| says(old, one) == says(new, other),
        &|one, other| run(one) == run(other),
        &|_, _| true,
    ];
    for like in likeness {
        for (one, other) in &mut pairs {
            if other.is_some() {
                continue;
            }
            let fits =
                |(_, new): &(usize, &Deviation)| new.rule_name == rule(one) && like(one, new);
            if let Some(at) = left.iter().position(fits) {
                *other = Some(left.remove(at).1);
            }
        }
    }
    let mut found = Vec::new();
    let line = |of: &Deviation| Some(desk.line(of.span));
    for (one, other) in pairs {
        let subject = format!("deviation from {}", rule(one));
        match other {
            Some(other) => changed(desk, one, other, on, &subject, &mut found),
            None => {
                let entry = Entry::new(&[ChangeKind::Removed], subject).at(line(one), None);
                let way = shall_pass(desk, [Some(one), None], TIGHTER);
                found.push(counted(entry, one, on, [one.rule, None], way));
            }
        }
    }
    for (_, other) in left {
        let subject = format!("deviation from {}", other.rule_name);
        let mut entry = Entry::new(&[ChangeKind::Added], subject).at(None, line(other));
        for moved in &other.moves {
            entry = entry.note(format!(
                "it lets pass up to {}",
                show_exact(&moved.limit.exact, &moved.limit.unit)
            ));
        }
        if let Some(until) = other.until {
            entry = entry.note(format!("until {until}"));
        }
        let way = shall_pass(desk, [None, Some(other)], LOOSER);
        found.push(counted(entry, other, on, [None, other.rule], way));
    }
    found
}

fn ended(of: &Deviation, on: Option<Date>) -> bool {
    matches!((of.until, on), (Some(until), Some(on)) if until < on)
}

/// What an added or removed deviation does, if it lets anything pass.
fn counted(
    entry: Entry,
    of: &Deviation,
    on: Option<Date>,
    rules: [Option<usize>; 2],
    direction: Direction,
) -> Entry {
    if of.malformed {
        return entry.note("it is malformed and lets nothing pass");
    }
    if ended(of, on) {
        return entry.note("it has ended on that day and lets nothing pass");
    }
    by_texts(entry, rules, direction)
}

/// What a direction says that a deviation may do: only a text shows that it does.
fn by_texts(entry: Entry, rules: [Option<usize>; 2], direction: Direction) -> Entry {
    let ways = [
        direction.tighter != Answer::No,
        direction.looser != Answer::No,
    ];
    if ways == [false, false] {
        return entry;
    }
    entry.through(vec![TextChange::Rule(rules)], ways)
}

/// What of a direction is left for plans that pass: by what a deviation lets of a `should` none does.
fn shall_pass(
    desk: &DiffContext<'_, '_>,
    [old, new]: [Option<&Deviation>; 2],
    direction: Direction,
) -> Direction {
    let lets = |standard: &Standard, of: Option<&Deviation>| {
        let Some(rule) = of.and_then(|of| standard.rules.get(of.rule?)) else {
            return true;
        };
        let sites: Vec<usize> = of
            .iter()
            .flat_map(|of| &of.moves)
            .flat_map(|moved| &moved.sites)
            .map(|site| site.requirement)
            .collect();
        let mut asked = rule.requirements.iter().enumerate();
        asked.any(|(number, requirement)| {
            requirement.verb == Verb::Shall && (sites.is_empty() || sites.contains(&number))
        })
    };
    let of = |lets: bool, answer: Answer| if lets { answer } else { Answer::No };
    Direction {
        tighter: of(lets(desk.before(), old), direction.tighter),
        looser: of(lets(desk.after(), new), direction.looser),
    }
}

/// All that it lets pass, as a text.
fn says(standard: &Standard, of: &Deviation) -> String {
    let run = of.run.as_ref().map(|(name, _)| name);
    let pieces = of
        .pieces
        .as_ref()
        .map(|pieces| canonical::number(&pieces.most));
    let mut moves: Vec<String> = of
        .moves
        .iter()
        .map(|moved| format!("{} {}", moved.figure, canonical::number(&moved.limit.exact)))
        .collect();
    moves.sort_unstable();
    format!(
        "{run:?} {pieces:?} {} {moves:?} {:?} {}",
        canonical::all(standard, &of.when),
        of.until.map(|until| until.to_string()),
        of.malformed
    )
}

fn changed(
    desk: &DiffContext<'_, '_>,
    one: &Deviation,
    other: &Deviation,
    on: Option<Date>,
    subject: &str,
    found: &mut Vec<Entry>,
) {
    let at = |entry: Entry| entry.at(Some(desk.line(one.span)), Some(desk.line(other.span)));
    let (old, new) = (desk.before(), desk.after());
    if one.because != other.because || one.approved != other.approved || one.title != other.title {
        found.push(at(Entry::new(&[ChangeKind::Wording], subject).quiet()));
    }
    if says(old, one) == says(new, other) {
        return;
    }
    if one.malformed || other.malformed || ended(one, on) || ended(other, on) {
        let lets = |of: &Deviation| !of.malformed && !ended(of, on);
        let direction = match (lets(one), lets(other)) {
            (true, false) => TIGHTER,
            (false, true) => LOOSER,
            _ => Direction::NONE,
        };
        let note = match (lets(one), lets(other)) {
            (true, false) => "it lets nothing pass any more",
            (false, true) => "it let nothing pass before",
            _ => "it lets nothing pass, before and after",
        };
        let direction = shall_pass(desk, [Some(one), Some(other)], direction);
        let entry = Entry::new(&[ChangeKind::Limit], subject).note(note);
        found.push(at(by_texts(entry, [one.rule, other.rule], direction)));
        return;
    }
    let mut direction = Direction::NONE;
    let mut notes = Vec::new();
    let mut numbers = (Vec::new(), Vec::new());
    moves(new, one, other, &mut |of, note| {
        direction = direction.or(of);
        notes.push(note);
    });
    for (side, list) in [(one, &mut numbers.0), (other, &mut numbers.1)] {
        for moved in &side.moves {
            list.push((moved.limit.exact.clone(), moved.limit.unit.clone()));
        }
    }
    if one.until != other.until {
        let words = |of: &Deviation| of.until.map_or("no day".to_owned(), |day| day.to_string());
        let longer = other.until > one.until;
        direction = direction.or(if longer { LOOSER } else { TIGHTER });
        notes.push(format!("until {} now, was {}", words(other), words(one)));
    }
    let pieces = |of: &Deviation| of.pieces.as_ref().map(|pieces| pieces.most.clone());
    if pieces(one) != pieces(other) {
        let (was, is) = (pieces(one), pieces(other));
        let of = match (&was, &is) {
            (Some(was), Some(is)) if is < was => TIGHTER,
            (None, Some(_)) => TIGHTER,
            _ => LOOSER,
        };
        direction = direction.or(of);
        let words = |of: Option<Exact>| {
            let of = of.and_then(|most| most.decimal());
            of.unwrap_or_else(|| "any number of".to_owned())
        };
        notes.push(format!("for {} pieces now, was {}", words(is), words(was)));
    }
    let run = |of: &Deviation| of.run.as_ref().map(|(name, _)| name.clone());
    if run(one) != run(other) {
        direction = direction.or(match (run(one), run(other)) {
            (Some(_), None) => LOOSER,
            (None, Some(_)) => TIGHTER,
            _ => TIGHTER.or(LOOSER),
        });
        notes.push("it is for another run".to_owned());
    }
    if canonical::all(old, &one.when) != canonical::all(new, &other.when) {
        let (of, words) = when(desk, one, other);
        direction = direction.or(of);
        notes.push(format!("its `when` is another: {words}"));
    }
    let entry =
        Entry::new(&[ChangeKind::Limit], subject).alarm(unit_slip::alarm(&numbers.0, &numbers.1));
    let direction = shall_pass(desk, [Some(one), Some(other)], direction);
    let mut entry = by_texts(entry, [one.rule, other.rule], direction);
    if one.until != other.until {
        // On the last day of the one that ends later.
        entry.day = one.until.max(other.until);
    }
    for note in notes {
        entry = entry.note(note);
    }
    found.push(at(entry));
}

fn moves(
    new: &Standard,
    one: &Deviation,
    other: &Deviation,
    say: &mut dyn FnMut(Direction, String),
) {
    let shown = |of: &Move| show_exact(&of.limit.exact, &of.limit.unit);
    for moved in &one.moves {
        let there = other.moves.iter().find(|of| of.figure == moved.figure);
        match there {
            None => say(
                TIGHTER,
                format!("{} up to {} is gone", moved.figure, shown(moved)),
            ),
            Some(now) if now.limit.exact != moved.limit.exact => {
                let above = now.limit.exact > moved.limit.exact;
                let rule = other.rule.and_then(|rule| new.rules.get(rule));
                let up = rule.and_then(|rule| upwards(rule, now));
                let direction = match up {
                    Some(up) if up == above => LOOSER,
                    Some(_) => TIGHTER,
                    None => OPEN,
                };
                say(
                    direction,
                    format!(
                        "{} up to {} now, was {}",
                        now.figure,
                        shown(now),
                        shown(moved)
                    ),
                );
            }
            Some(_) => {}
        }
    }
    for now in &other.moves {
        if !one.moves.iter().any(|of| of.figure == now.figure) {
            say(
                LOOSER,
                format!("{} up to {} is new", now.figure, shown(now)),
            );
        }
    }
}

/// Whether a deviation moves its limit up.
fn upwards(rule: &Rule, of: &Move) -> Option<bool> {
    let site = of.sites.first()?;
    let condition = &rule.requirements.get(site.requirement)?.condition;
    let limit = limits(condition)
        .into_iter()
        .find(|limit| limit.number == site.number)?;
    limit.loosens_up(site.on_right)
}

/// Which runs the `when` of a deviation lets in besides, and which it does not any more.
fn when(
    desk: &DiffContext<'_, '_>,
    one: &Deviation,
    other: &Deviation,
) -> (Direction, &'static str) {
    let worlds = desk.worlds;
    let overrides = Overrides::default();
    let situation = Situation::new();
    let mut vars = Vars::default();
    let mut of = |edition: &Edition<'_>, deviation: &Deviation, new: bool| {
        let mut reader = edition.lowering(
            &worlds.differences,
            (&situation, &overrides),
            (Figures::WorkedOut, new),
            &mut vars,
        );
        Formula::all(
            deviation
                .when
                .iter()
                .map(|when| reader.formula(when, true))
                .collect::<Vec<_>>(),
        )
    };
    // Twice: what is possible must be known of both sides before the sets are met.
    let _ = (of(&worlds.old, one, false), of(&worlds.new, other, true));
    let (before, after) = (of(&worlds.old, one, false), of(&worlds.new, other, true));
    let fewer = !vars.is_never(&[&before, &after.negated()]);
    let more = !vars.is_never(&[&after, &before.negated()]);
    let mut plain = before.variables();
    plain.extend(after.variables());
    let plain = plain.into_iter().all(|variable| vars.get(variable).plain);
    match (fewer, more) {
        (false, false) => (Direction::NONE, "it lets the same runs pass"),
        _ if !plain => (OPEN, "which runs that lets pass is not decided"),
        (true, false) => (TIGHTER, "fewer runs may pass by it"),
        (false, true) => (LOOSER, "more runs may pass by it"),
        (true, true) => (TIGHTER.or(LOOSER), "other runs may pass by it"),
    }
}
