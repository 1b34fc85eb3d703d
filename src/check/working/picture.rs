//! What a picture of the working shows: the film through a tunnel, a pallet from piece to piece.
//!
//! Which formula drives a panel is found by the figure of the physics table it calls, so that a shop's own kinds are
//! drawn as well.

use crate::diagnostic::{Curve, Level, Mark, Panel, Picture, Side};
use crate::eval::{Binding, EvalContext, Leaf};
use crate::physics::Function;
use crate::physics::history::{
    AFTER_EXIT, BOUNDARY, BY_CYCLE, BY_PIECE, CYCLES, History, PALLET, PASS, SURFACE, history,
};
use crate::types::{Expression, Type};
use crate::units::{Exact, Unit, show_bounds, show_exact};

use super::super::outcome::{RuleResult, results};
use super::super::wording;
use super::curves::{Climb, Spread, climb, corners, passage, pieces, shown};
use super::levels::{Found, in_unit, levels};
use super::numbers::each_call;
use super::{declared, nominal, own, quantity_words, reading_unit};

/// Panels below one another; more would not be read.
const MOST_PANELS: usize = 6;

/// A call that a panel can be drawn of.
struct Call<'e> {
    leaf: Leaf,
    binding: Binding,
    function: &'static Function,
    arguments: &'e [Expression],
    history: History,
    /// The bits of the nominal inputs that make the history: calls that share them are read off the same one.
    key: Vec<u64>,
}

/// The picture of some figures.
pub(super) fn picture(context: &EvalContext<'_>, chosen: &[Leaf], title: &str) -> Picture {
    let mut picture = Picture {
        title: title.to_owned(),
        panels: Vec::new(),
        left_out: 0,
    };
    let mut all: Vec<Call<'_>> = Vec::new();
    for leaf in chosen {
        let Some(formula) = &declared(context, *leaf).1.formula else {
            continue;
        };
        each_call(
            context,
            own(*leaf),
            formula,
            &mut |binding, function, arguments| {
                all.extend(call(context, *leaf, binding, function, arguments));
            },
        );
    }
    let results = if all.is_empty() {
        Vec::new()
    } else {
        results(context)
    };
    let mut done: Vec<(bool, &[u64])> = Vec::new();
    for first in &all {
        let key = (is_pass(first), first.key.as_slice());
        if done.contains(&key) {
            continue;
        }
        done.push(key);
        let mut group: Vec<&Call<'_>> = all
            .iter()
            .filter(|other| (is_pass(other), other.key.as_slice()) == key)
            .collect();
        group.sort_by_key(|call| rank(context, call));
        let Some(panel) = panel(context, &results, &group) else {
            continue;
        };
        if picture.panels.len() < MOST_PANELS {
            picture.panels.push(panel);
        } else {
            picture.left_out += 1;
        }
    }
    picture
}

fn call<'e>(
    context: &EvalContext<'_>,
    leaf: Leaf,
    binding: Binding,
    function: &'static Function,
    arguments: &'e [Expression],
) -> Option<Call<'e>> {
    let history = history(function)?;
    let counted = match history {
        History::Pass { inputs, .. } => inputs..arguments.len(),
        History::Cycles { cycles } => cycles..cycles + 1,
    };
    let mut key = Vec::with_capacity(arguments.len());
    for (index, argument) in arguments.iter().enumerate() {
        if !counted.contains(&index) {
            key.push(nominal(context, binding, argument)?.to_bits());
        }
    }
    Some(Call {
        leaf,
        binding,
        function,
        arguments,
        history,
        key,
    })
}

fn is_pass(call: &Call<'_>) -> bool {
    matches!(call.history, History::Pass { .. })
}

/// How well a call stands for its history, best first.
fn rank(context: &EvalContext<'_>, call: &Call<'_>) -> u8 {
    match call.history {
        History::Pass { rank, .. } => rank,
        // One that counts to a number of pieces goes over the order; any other ends at its own number.
        History::Cycles { cycles } => {
            let counter = call.arguments.get(cycles);
            u8::from(counter.is_none_or(|counter| pieces(context, call.binding, counter).is_none()))
        }
    }
}

/// The panel of calls that share a history: drawn from the first that can be worked out.
fn panel(context: &EvalContext<'_>, results: &[RuleResult], group: &[&Call<'_>]) -> Option<Panel> {
    let mut figures: Vec<Leaf> = Vec::new();
    for call in group {
        let point = match &declared(context, call.leaf).1.ty {
            Type::Quantity(measure) => measure.dimension.is_point(),
            _ => false,
        };
        if point && !figures.contains(&call.leaf) {
            figures.push(call.leaf);
        }
    }
    let limits = levels(context, results, &figures);
    let unit = degrees(context, &figures, &limits);
    let mut drawn: Vec<Level> = limits.iter().map(|limit| limit.drawn(&unit)).collect();
    let mut panel = group.iter().find_map(|call| match call.history {
        History::Pass { .. } => pass_panel(context, call, &unit),
        History::Cycles { cycles } => cycles_panel(context, call, cycles, &unit, &drawn),
    })?;
    watched(context, group, &unit, &mut drawn);
    panel.limits = drawn;
    for figure in figures {
        if let Some(quantity) = context.quantity(figure.target, figure.field) {
            panel.notes.push(format!(
                "{} is stated as {}, which counts; the curve is worked out",
                wording::setting(context, figure),
                quantity_words(quantity)
            ));
        }
    }
    Some(panel)
}

/// The unit temperatures are drawn in: that of most limits, else the one the figures are read in.
fn degrees(context: &EvalContext<'_>, figures: &[Leaf], limits: &[Found]) -> Unit {
    let uses = |unit: &Unit| {
        let same = limits.iter().filter(|limit| limit.unit == *unit);
        same.count()
    };
    let own = figures
        .iter()
        .map(|leaf| reading_unit(context, *leaf))
        .find(Unit::is_point)
        .or_else(|| Unit::usual_for("temperature"))
        .unwrap_or_else(Unit::bare);
    let points = limits.iter().filter(|limit| limit.unit.is_point());
    let mut best = own;
    for limit in points {
        if uses(&limit.unit) > uses(&best) {
            best = limit.unit.clone();
        }
    }
    best
}

fn pass_panel(context: &EvalContext<'_>, call: &Call<'_>, unit: &Unit) -> Option<Panel> {
    let corners = corners(context, call.binding, call.function, call.arguments)?;
    let passage = passage(&corners)?;
    let steps = passage.band.len().saturating_sub(1).max(1);
    let time = |step: usize| passage.end * step as f64 / steps as f64;
    let curve = |name: &str, values: &[f64], band: Vec<(f64, f64, f64)>| Curve {
        name: name.to_owned(),
        points: values
            .iter()
            .enumerate()
            .map(|(step, value)| (time(step), shown(*value, unit)))
            .collect(),
        band,
    };
    let band = passage
        .band
        .iter()
        .enumerate()
        .map(|(step, (low, high))| (time(step), shown(*low, unit), shown(*high, unit)))
        .collect();
    let (exit, (first, last)) = (passage.nominal.exit, passage.exit);
    let mut words = format!("exit, {exit:.1} s");
    if first < last {
        words.push_str(&format!(" ({first:.1} to {last:.1} s)"));
    }
    let mut marks = vec![Mark {
        at: exit,
        span: (first < last).then_some((first, last)),
        words,
        strong: true,
    }];
    for (index, start) in passage.nominal.zones.iter().enumerate() {
        marks.push(Mark {
            at: *start,
            span: None,
            words: format!("zone {}", index + 2),
            strong: false,
        });
    }
    Some(Panel {
        title: PASS.to_owned(),
        setting: wording::setting(context, call.leaf),
        across: "time, s".to_owned(),
        up: format!("temperature, {}", unit.spelling()),
        curves: vec![
            curve(BOUNDARY, &passage.nominal.boundary, band),
            curve(SURFACE, &passage.nominal.surface, Vec::new()),
        ],
        limits: Vec::new(),
        marks,
        band: format!(
            "{BOUNDARY}: between the coldest and the hottest run that the stated tolerances allow"
        ),
        notes: vec![AFTER_EXIT.to_owned()],
    })
}

/// Adds the levels that figures of the group ask for, where no rule has them as a limit.
fn watched(context: &EvalContext<'_>, group: &[&Call<'_>], unit: &Unit, limits: &mut Vec<Level>) {
    for call in group {
        let History::Pass {
            level: Some(level), ..
        } = call.history
        else {
            continue;
        };
        let base = call
            .arguments
            .get(level)
            .and_then(|argument| nominal(context, call.binding, argument))
            .and_then(Exact::from_f64);
        let Some(base) = base else { continue };
        let at = in_unit(&base, unit);
        let name = wording::setting(context, call.leaf);
        // Rounding aside, it is the same line.
        let known = limits.iter_mut().find(|known| (known.at - at).abs() < 1e-6);
        match known {
            Some(known) if known.asked_by.contains(&name) => {}
            Some(known) => known.asked_by.push(name),
            None => limits.push(Level {
                at,
                side: Side::Watched,
                value: show_exact(&base, unit),
                asked_by: vec![name],
            }),
        }
    }
}

fn cycles_panel(
    context: &EvalContext<'_>,
    call: &Call<'_>,
    counter: usize,
    unit: &Unit,
    limits: &[Level],
) -> Option<Panel> {
    let corners = corners(context, call.binding, call.function, call.arguments)?;
    let climb = climb(context, call.binding, &corners, call.arguments, counter)?;
    let mut points = Vec::new();
    let mut band = Vec::new();
    for count in climb.counts() {
        let spread = climb.at(count)?;
        points.push((count, shown(spread.nominal, unit)));
        band.push((count, shown(spread.low, unit), shown(spread.high, unit)));
    }
    let steady = climb.steady();
    let last = match climb.pieces {
        Some(_) => format!("the order ends at piece {:.0}", climb.last),
        None => format!("the run ends at cycle {:.0}", climb.last),
    };
    Some(Panel {
        title: CYCLES.to_owned(),
        setting: wording::setting(context, call.leaf),
        across: if climb.pieces.is_some() {
            BY_PIECE
        } else {
            BY_CYCLE
        }
        .to_owned(),
        up: format!("temperature, {}", unit.spelling()),
        curves: vec![Curve {
            name: PALLET.to_owned(),
            points,
            band,
        }],
        limits: Vec::new(),
        marks: limits
            .iter()
            .flat_map(|limit| passed(&climb, limit, unit))
            .collect(),
        band: "between the coolest and the warmest run that the stated tolerances allow".to_owned(),
        notes: vec![format!(
            "{last}; without an end the pallet would come to {}",
            show_bounds(steady.low, steady.high, unit)
        )],
    })
}

/// Where a limit is passed: first by the worst run, then by the nominal one.
fn passed(climb: &Climb<'_>, limit: &Level, unit: &Unit) -> Vec<Mark> {
    let past = |value: f64| {
        let value = shown(value, unit);
        match limit.side {
            Side::Below => value > limit.at,
            Side::Above => value < limit.at,
            Side::Watched => false,
        }
    };
    let (worst, way) = match limit.side {
        Side::Above => ("coolest", "below"),
        _ => ("warmest", "above"),
    };
    let what = if climb.pieces.is_some() {
        "piece"
    } else {
        "cycle"
    };
    let mark = |at: f64, run: &str| Mark {
        at,
        span: None,
        words: format!("{what} {at:.0}: the {run} run is {way} {}", limit.value),
        strong: false,
    };
    let first = climb.first(|spread: Spread| past(spread.low) || past(spread.high));
    let middle = climb.first(|spread: Spread| past(spread.nominal));
    let mut marks: Vec<Mark> = first.map(|at| mark(at, worst)).into_iter().collect();
    if let Some(at) = middle.filter(|at| first.is_none_or(|first| *at > first)) {
        marks.push(mark(at, "nominal"));
    }
    marks
}
