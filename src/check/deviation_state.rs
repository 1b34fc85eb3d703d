//! The state of each deviation over the plans of a call.

use crate::diagnostic::{Code, DeviationInfo, DeviationState, Diagnostic, Needed, PlanReport};
use crate::names::nearest;
use crate::source::visible;
use crate::types::{Date, Deviation, Move};
use crate::units::{show_down, show_exact, show_up};

use super::plan::Prepared;

/// So many days before its end a deviation ends soon.
const SOON: i64 = 30;

/// A deviation is wide when no run goes so far on the way from the rule's limit to its own, in thousandths.
const FAR: u32 = 900;

/// Significant digits of what would do.
const DIGITS: u32 = 3;

/// What there is to say of the deviations of a standard, and the diagnostics that say it.
///
/// `whole`: the plans are all of a folder, so that what no plan needs is worth a note.
#[must_use]
pub fn deviations(
    prepared: &Prepared,
    plans: &[&PlanReport],
    on: Option<Date>,
    whole: bool,
) -> (Vec<DeviationInfo>, Vec<Diagnostic>) {
    let mut said = Vec::new();
    let all = prepared.standard.deviations.iter().enumerate();
    let list = all
        .map(|(number, deviation)| {
            let use_ = Use::of(deviation, number, plans);
            let info = info(deviation, &use_, plans, on, whole);
            for state in &info.states {
                said.extend(told(deviation, &info, *state, plans));
            }
            info
        })
        .collect();
    (list, said)
}

/// How a deviation was used.
struct Use<'p> {
    checks: usize,
    plans: usize,
    /// The furthest that a run went, for each `up to`.
    furthest: Vec<Option<&'p Needed>>,
}

impl<'p> Use<'p> {
    fn of(deviation: &Deviation, number: usize, plans: &[&'p PlanReport]) -> Self {
        let mut found = Self {
            checks: 0,
            plans: 0,
            furthest: vec![None; deviation.moves.len()],
        };
        for plan in plans {
            let before = found.checks;
            for said in &plan.diagnostics {
                let excuse = said
                    .finding
                    .as_ref()
                    .and_then(|finding| finding.deviation.as_ref());
                let Some(excuse) = excuse.filter(|excuse| excuse.number == number) else {
                    continue;
                };
                found.checks += 1;
                for needed in &excuse.needed {
                    let Some(slot) = found.furthest.get_mut(needed.up_to) else {
                        continue;
                    };
                    if slot.is_none_or(|known| further(needed, known)) {
                        *slot = Some(needed);
                    }
                }
            }
            found.plans += usize::from(found.checks > before);
        }
        found
    }
}

fn further(one: &Needed, other: &Needed) -> bool {
    if one.above {
        one.value > other.value
    } else {
        one.value < other.value
    }
}

fn shown(moved: &Move, value: &str) -> String {
    format!("{} up to {value}", moved.figure)
}

fn info(
    deviation: &Deviation,
    use_: &Use<'_>,
    plans: &[&PlanReport],
    on: Option<Date>,
    whole: bool,
) -> DeviationInfo {
    let days_left = on.zip(deviation.until).map(|(on, until)| on.days_to(until));
    let mut would_do = Vec::new();
    // Plans that were not looked at may need more, unless it is for one run alone.
    let all_known = whole || deviation.run.is_some();
    for (moved, furthest) in deviation.moves.iter().zip(&use_.furthest) {
        let Some(needed) = furthest.filter(|needed| all_known && needed.thousandths < FAR) else {
            continue;
        };
        let (low, high) = needed.value.outward();
        let unit = &moved.limit.unit;
        let value = if needed.above {
            show_up(high, unit, DIGITS)
        } else {
            show_down(low, unit, DIGITS)
        };
        if value != show_exact(&moved.limit.exact, unit) {
            would_do.push(shown(moved, &value));
        }
    }
    let ended = days_left.is_some_and(|days| days < 0);
    let mut states = Vec::new();
    if deviation.malformed {
        states.push(DeviationState::Malformed);
    } else if ended {
        states.push(DeviationState::Ended);
    } else {
        if days_left.is_some_and(|days| days <= SOON) {
            states.push(DeviationState::EndsSoon);
        }
        if whole && use_.checks == 0 && plans.iter().any(|plan| plan.checked) {
            states.push(DeviationState::Unused);
        }
        if !would_do.is_empty() {
            states.push(DeviationState::Wide);
        }
        if states.is_empty() {
            states.push(DeviationState::Active);
        }
    }
    DeviationInfo {
        rule: deviation.rule_name.clone(),
        title: deviation.title.clone(),
        run: deviation.run.as_ref().map(|(name, _)| name.clone()),
        up_to: deviation
            .moves
            .iter()
            .map(|moved| shown(moved, &show_exact(&moved.limit.exact, &moved.limit.unit)))
            .collect(),
        pieces: deviation
            .pieces
            .as_ref()
            .map(|pieces| show_exact(&pieces.most, &pieces.unit)),
        because: deviation.because.clone(),
        approved: deviation.approved.clone(),
        until: deviation.until.map(|date| date.to_string()),
        days_left,
        states,
        checks: use_.checks,
        plans: use_.plans,
        would_do,
        span: deviation.span,
    }
}

/// What is to be said of a state; what is malformed was said where it was read.
fn told(
    deviation: &Deviation,
    info: &DeviationInfo,
    state: DeviationState,
    plans: &[&PlanReport],
) -> Option<Diagnostic> {
    let rule = &info.rule;
    let until = info.until.as_deref().unwrap_or_default();
    let say = |code: Code, words: String, here: &str| {
        Diagnostic::new(code, deviation.span, words, here.to_owned())
    };
    let days = |count: i64| match count {
        0 => "today".to_owned(),
        1 => "tomorrow".to_owned(),
        count => format!("in {count} days"),
    };
    Some(match state {
        DeviationState::Malformed | DeviationState::Active => return None,
        DeviationState::Ended => say(
            Code::DeviationEnded,
            format!("the deviation from `{rule}` ended on {until}"),
            "lets nothing pass any more",
        )
        .help("take it out, or have it approved anew with a later end"),
        DeviationState::EndsSoon => say(
            Code::DeviationEndsSoon,
            format!(
                "the deviation from `{rule}` ends {}, on {until}",
                days(info.days_left.unwrap_or_default())
            ),
            "ends soon",
        ),
        DeviationState::Unused => {
            let checked = plans.iter().filter(|plan| plan.checked).count();
            let noun = if checked == 1 { "plan" } else { "plans" };
            let words = format!(
                "the deviation from `{rule}` lets nothing pass in the {checked} {noun} checked"
            );
            let mut said = say(Code::DeviationUnused, words, "not needed here");
            let named = |run: &str| plans.iter().any(|plan| plan.name == run);
            if let Some((run, span)) = deviation.run.as_ref().filter(|(run, _)| !named(run)) {
                said = said.related(*span, "no plan has this name");
                let names = plans.iter().map(|plan| plan.name.as_str());
                if let Some(near) = nearest(run, names) {
                    return Some(said.help(format!("did you mean \"{}\"?", visible(near))));
                }
            }
            said.help("take it out if it is not needed any more")
        }
        DeviationState::Wide => {
            let words: Vec<String> = info.would_do.iter().map(|one| format!("`{one}`")).collect();
            say(
                Code::DeviationWide,
                format!(
                    "the deviation from `{rule}` is wider than needed: {} would do",
                    words.join(" and ")
                ),
                "permits more than any run needs",
            )
        }
    })
}
