//! `diff`.

use std::io::{self, Write};

use super::args::{DiffArguments, DiffForm, FailOn};
use super::check::{date, usage};
use super::diff_sides::{Asked, sides};
use super::{exit, terminal};
use crate::check::Options;
use crate::diagnostic::{Answer, Comparison, Meaning, Verdict};
use crate::diff::{DiffOptions, USUAL_BUDGET};
use crate::report::{self, Style};
use crate::session::{DiffRun, compare_plans, diff};
use crate::types::Date;

/// Runs `diff`.
pub(super) fn command(arguments: &DiffArguments, out: &mut dyn Write) -> io::Result<u8> {
    let on = match arguments.on.as_deref().map(|on| date(Some(on))).transpose() {
        Ok(on) => on.and_then(|on| Date::parse(&on)),
        Err(words) => return usage(&words),
    };
    let asked = Asked {
        old: &arguments.old,
        new: arguments.new.as_deref(),
        path: arguments.path.as_deref(),
        plans: arguments.plans.as_deref(),
        root: arguments.root.as_deref(),
    };
    let (old, new) = match sides(asked) {
        Ok(sides) => sides,
        Err(words) => return usage(&words),
    };
    let options = DiffOptions {
        budget: arguments.budget.unwrap_or(USUAL_BUDGET),
        on,
    };
    let of_plans = |on: &FailOn| matches!(on, FailOn::NewlyFailing | FailOn::NewlyPassing);
    if arguments.plans.is_none() && arguments.fail_on.iter().any(of_plans) {
        return usage(
            "`--fail-on newly-failing` and `newly-passing` are about plans; name their folder with `--plans FOLDER`",
        );
    }
    let mut run = diff(old.side(), new.side(), options);
    if let (Some(folder), Some(both), Ok(comparison)) =
        (&arguments.plans, &run.both, &mut run.found)
    {
        let plans = match new.plans(folder) {
            Ok(plans) => plans,
            Err(words) => return usage(&words),
        };
        let options = Options {
            on,
            ..Options::default()
        };
        let both = (&both.0, &both.1);
        let moves = compare_plans(&mut run.store, both, &plans, new.shelf(), options);
        comparison.plans = Some(moves);
    }
    show(&run, arguments, out)
}

/// Writes a comparison in the form asked for, and gives the exit code.
pub(super) fn show(
    run: &DiffRun,
    arguments: &DiffArguments,
    out: &mut dyn Write,
) -> io::Result<u8> {
    let style = Style {
        colour: terminal::colour(arguments.colour),
        width: terminal::width(),
        ..Style::default()
    };
    let comparison = match &run.found {
        Ok(comparison) => comparison,
        Err(problems) => {
            report::lines(problems, &run.store, false, &mut io::stderr())?;
            let unread = run.unread.join(" and ");
            return usage(&format!("nothing was compared: {unread} cannot be read"));
        }
    };
    match arguments.form {
        DiffForm::People => report::diff(comparison, &run.store, arguments.full, &style, out)?,
        DiffForm::Json => report::diff_json(comparison, &run.store, out)?,
        DiffForm::Markdown => report::diff_markdown(comparison, &run.store, out)?,
        DiffForm::Sarif => report::diff_sarif(comparison, &run.store, out)?,
    }
    Ok(if fails(comparison, &arguments.fail_on) {
        exit::FINDINGS
    } else {
        exit::CLEAN
    })
}

/// Whether a comparison fails what was asked for. What is not decided may be loosened, or tightened.
fn fails(comparison: &Comparison, on: &[FailOn]) -> bool {
    let changes = &comparison.changes;
    let plan = |way: &dyn Fn(Verdict, Verdict) -> bool| {
        let plans = comparison.plans.iter();
        plans
            .flat_map(|plans| &plans.moved)
            .any(|moved| way(moved.old, moved.new))
    };
    let passes = Verdict::Passes;
    on.iter().any(|on| match on {
        FailOn::Changed => comparison.meaning != Meaning::Same,
        FailOn::Loosened => changes
            .iter()
            .any(|change| change.direction.looser != Answer::No),
        FailOn::Tightened => changes
            .iter()
            .any(|change| change.direction.tighter != Answer::No),
        FailOn::NewlyFailing => plan(&|old, new| old == passes && new != passes),
        FailOn::NewlyPassing => plan(&|old, new| old != passes && new == passes),
    })
}
