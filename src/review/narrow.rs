//! Windows too narrow to verify: against the dial of a setting, and against what measures it.

use super::context::ReviewContext;
use super::study::{Combinations, Explained, Study, Window};
use super::symbolic_run::{Setting, unit_of};
use super::{finding, limits, words};
use crate::constraint::Domain;
use crate::diagnostic::{Code, Diagnostic, Evidence, ReviewFinding};
use crate::source::{Span, visible};
use crate::types::{Field, Standard};
use crate::units::{Exact, Unit, show_exact};

/// How good a measurement is, by its own words: `a probe good to ± 2.5 °C`.
fn tolerance(field: &Field, unit: &Unit) -> Option<(Exact, Unit)> {
    let words = field.measured()?;
    let after = words
        .split_once('±')
        .or_else(|| words.split_once("+-"))?
        .1
        .trim_start();
    let size = after
        .find(|letter: char| !letter.is_ascii_digit() && letter != '.')
        .unwrap_or(after.len());
    let number = Exact::parse_decimal(after.get(..size)?).ok()?;
    let rest = after.get(size..)?.trim_start();
    let word = rest
        .split(|letter: char| letter.is_whitespace() || matches!(letter, ',' | ';' | ')'))
        .next()?;
    // As behind every `±`, a temperature is a difference here.
    let of = Unit::parse(word).ok()?.as_difference();
    (of.dimension() == unit.as_difference().dimension()).then(|| (of.to_base(&number), of))
}

/// The width that the dial can tell, if no place of the dial lies inside.
fn dial(field: &Field, low: &Exact, high: &Exact, unit: &Unit) -> Option<(Exact, Unit)> {
    let zero = unit.to_base(&Exact::ZERO);
    let mut least: Option<&(Exact, Unit)> = None;
    for step in &field.steps {
        let own = Unit::parse(step.1.spelling().trim_start_matches('Δ'));
        let zero = own.map_or_else(|_| zero.clone(), |own| own.to_base(&Exact::ZERO));
        let place = low.sub(&zero).div(&step.0)?.ceil();
        let first = zero.add(&place.mul(&step.0));
        if first <= *high {
            return None;
        }
        if least.is_none_or(|known| step.0 < known.0) {
            least = Some(step);
        }
    }
    least.cloned()
}

/// Why what is left of a setting cannot be verified, and what to do; `None` where it can.
pub(super) fn why(
    standard: &Standard,
    setting: Setting,
    left: &Domain,
) -> Option<(String, &'static str)> {
    let field = standard.field(setting.0, setting.1);
    let unit = unit_of(standard, setting);
    let (Some(low), Some(high)) = left.ends() else {
        return None;
    };
    let width = high.value.sub(&low.value);
    let measured = tolerance(field, &unit)
        .filter(|(good, _)| width < good.mul(&Exact::from_int(2)))
        .map(|(good, of)| {
            let good = show_exact(&good, &of).replace('Δ', "");
            (
                format!(
                    "measured by {}: good to ± {good}, so that no reading shows it inside",
                    measured_by(field)
                ),
                "widen the window, or measure better and say so behind `measured by`",
            )
        });
    let dialled = || {
        dial(field, &low.value, &high.value, &unit).map(|(step, of)| {
            let step = show_exact(&step, &of).replace('Δ', "");
            (
                format!("its dial goes in steps of {step}, and none lies inside"),
                "widen the window to a place of the dial",
            )
        })
    };
    measured.or_else(dialled)
}

/// Windows of a group that cannot be verified.
pub(super) fn windows(context: &ReviewContext<'_>, study: &Study) -> Vec<ReviewFinding> {
    study
        .windows
        .iter()
        .flat_map(|window| {
            let plain = narrow(context, window, &window.combinations);
            let told = window.explained.iter();
            let told = told.filter(|(records, _)| !window.combinations.contains(*records));
            let told: Explained = told
                .map(|(records, by)| (records.clone(), by.clone()))
                .collect();
            let explained = narrow(context, window, &told.keys().cloned().collect());
            let explained = explained.map(|finding| limits::explained(context, finding, &told));
            plain.into_iter().chain(explained)
        })
        .collect()
}

/// A window that is too narrow, with some of its combinations; none where there are none.
fn narrow(
    context: &ReviewContext<'_>,
    window: &Window,
    combinations: &Combinations,
) -> Option<ReviewFinding> {
    if window.by.is_empty() || combinations.is_empty() {
        return None;
    }
    let standard = context.standard;
    let setting: Setting = window.setting;
    let field = standard.field(setting.0, setting.1);
    let unit = unit_of(standard, setting);
    let (Some(low), Some(high)) = window.left.ends() else {
        return None;
    };
    let width = high.value.sub(&low.value);
    let (why, next) = why(standard, setting, &window.left)?;
    let ids = context.own_first(&window.by);
    // The unit that the limits are written in.
    let shown = ids
        .iter()
        .map(|id| words::unit(standard, &window.situation, context.clause(*id), setting))
        .find(|shown| shown.spelling() != unit.spelling())
        .unwrap_or(unit);
    let left = words::set(standard, setting, &window.left, &shown);
    let wide = show_exact(&width, &shown.as_difference()).replace('Δ', "");
    let name = words::setting(standard, setting);
    let members = context.members(combinations);
    let who = match context.first(combinations) {
        Some(records) if !records.is_empty() => {
            format!(" with {}", words::combination_in_full(standard, records))
        }
        _ => String::new(),
    };
    let headline = format!("`{name}`{who} may be {left} only: {wide} wide");
    let first = ids
        .first()
        .map_or(field.span, |id| context.requirement(*id).span);
    let mut said = Diagnostic::new(
        Code::WindowTooNarrow,
        first,
        headline,
        ids.first()
            .map(|id| format!("`{}`", context.rule_name(*id)))
            .unwrap_or_default(),
    );
    for id in ids.iter().skip(1) {
        said = said.related(
            context.requirement(*id).span,
            format!("`{}`", context.rule_name(*id)),
        );
    }
    for span in range_places(context, window) {
        said = said.related(span, "the range it reads");
    }
    let mut finding = finding(said.note(why).help(next), Evidence::Proved);
    finding.noun = "combination";
    finding.members = members;
    Some(finding)
}

/// What measures a setting, without how good it is.
fn measured_by(field: &Field) -> String {
    let words = field.measured().unwrap_or_default();
    let what = words.split([':', '±']).next().unwrap_or_default();
    visible(what.trim_end_matches([' ', ','])).into_owned()
}

fn range_places(context: &ReviewContext<'_>, window: &Window) -> Vec<Span> {
    let mut found: Vec<Span> = window
        .by
        .iter()
        .flat_map(|id| {
            words::ranges(
                context.standard,
                &window.situation,
                context.requirement(*id),
            )
        })
        .map(|(_, span)| span)
        .collect();
    found.dedup();
    found
}
