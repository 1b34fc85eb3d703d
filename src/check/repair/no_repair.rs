//! Why nothing was found: what each setting comes up against.

use crate::diagnostic::{Diagnostic, Outcome};
use crate::eval::{Conditions, EvalContext, carried};
use crate::source::Span;

use super::super::impact::Before;
use super::super::outcome::again;
use super::super::wording;
use super::Found;
use super::repair_report::list;

/// How many clauses that clash are named.
const MOST_NAMED: usize = 3;

/// What to say where there is no repair.
#[derive(Debug, Clone, Default)]
pub(in super::super) struct NoRepair {
    help: String,
    notes: Vec<String>,
    clauses: Vec<(Span, String)>,
}

impl NoRepair {
    /// What the settings that were tried come up against.
    pub(super) fn of(context: &EvalContext<'_>, before: &Before<'_>, found: &Found<'_>) -> Self {
        let tried = &found.tried;
        let mut stuck = Self::default();
        let (mut shown, mut looked): (Vec<String>, Vec<String>) = Default::default();
        let mut all_shown = !tried.is_empty();
        for one in tried {
            let name = format!("`{}`", wording::setting(context, one.dial.leaf));
            let never = one.up.never && one.down.never && one.dial.bounded;
            all_shown &= never;
            match one.up.clash.or(one.down.clash) {
                Some((at, place)) if stuck.notes.len() < MOST_NAMED => {
                    let result = &before.results[place];
                    let rule = &context.standard.rules[result.rule];
                    let narrowed = [(one.dial.leaf, one.dial.stretch(at))];
                    let narrowed = carried(context, &narrowed);
                    let changed = EvalContext {
                        narrowed: &narrowed,
                        ..*context
                    };
                    let then = again(&Conditions::new(changed), &changed, result).outcome();
                    let then = match then {
                        Outcome::Breaks => "breaks",
                        _ => "is at risk",
                    };
                    let text = one.dial.text(at);
                    stuck.notes.push(format!(
                        "with {name} at {text} it holds, but then `{}` {then}",
                        rule.name
                    ));
                    let span = rule.requirements[result.requirement].span;
                    if !stuck.clauses.iter().any(|(known, _)| *known == span) {
                        let words = format!("{then} with {name} at {text}");
                        stuck.clauses.push((span, words));
                    }
                }
                Some(_) => {}
                None if never => shown.push(name),
                None => looked.push(name),
            }
        }
        let first_names = |names: &[String]| {
            let more = names.len().saturating_sub(MOST_NAMED + 1);
            let mut told: Vec<String> = names.to_vec();
            if more > 0 {
                told.truncate(MOST_NAMED);
                told.push(format!("{} others", names.len() - MOST_NAMED));
            }
            told
        };
        if !shown.is_empty() {
            let told = list(&first_names(&shown)).replace(" and ", " or ");
            stuck.notes.push(format!(
                "no value that {told} can be set to makes it hold, the others as they are (proved)"
            ));
        }
        if !looked.is_empty() {
            let told = list(&first_names(&looked)).replace(" and ", " or ");
            stuck
                .notes
                .push(format!("no value of {told} was found that makes it hold"));
        }
        let which = if tried.len() == 1 {
            "one setting"
        } else {
            "one or two settings"
        };
        stuck.help = if tried.is_empty() {
            "no single number of the plan can be moved to make this hold".to_owned()
        } else if found.exhausted {
            "no change of one or two settings that makes this hold and breaks nothing else was found within the work that `--budget` allows".to_owned()
        } else if all_shown && (tried.len() == 1 || found.never) {
            format!("no change of {which} makes this hold and breaks nothing else (proved)")
        } else {
            format!("no change of {which} was found that makes this hold and breaks nothing else")
        };
        stuck
    }

    /// Says it.
    pub(in super::super) fn say(&self, mut said: Diagnostic) -> Diagnostic {
        for (span, words) in &self.clauses {
            said = said.related(*span, words.clone());
        }
        for note in &self.notes {
            said = said.note(note.clone());
        }
        said.help(self.help.clone())
    }
}
