//! What a picture of the working shows: the film through a tunnel, a pallet from piece to piece.
//!
//! Which formula drives a panel is found by the figure of the physics table it calls, so that a shop's own kinds are
//! drawn as well.

use crate::diagnostic::{Curve, Level, Mark, Panel, Picture, Side};
use crate::eval::{Frame, Leaf, Scene};
use crate::physics::Function;
use crate::physics::history::{
    AFTER_EXIT, BOUNDARY, BY_CYCLE, BY_PIECE, CYCLES, History, PALLET, PASS, SURFACE, history,
};
use crate::types::{Expression, Target};
use crate::units::{Exact, Unit, show_down, show_exact};

use super::super::words;
use super::curves::{Climb, Corners, climb, corners, passage, shown};
use super::levels::{in_unit, levels};
use super::numbers::each_call;
use super::{declared, own, reading_unit};

/// Panels below one another; more would not be read.
const MOST_PANELS: usize = 6;

/// A call that a panel can be drawn of.
struct Found<'e> {
    leaf: Leaf,
    frame: Frame,
    function: &'static Function,
    arguments: &'e [Expression],
    history: History,
}

/// The picture of some figures.
pub(super) fn picture(scene: &Scene<'_>, chosen: &[Leaf], title: &str) -> Picture {
    let mut picture = Picture {
        title: title.to_owned(),
        panels: Vec::new(),
        left_out: 0,
    };
    let mut all: Vec<Found<'_>> = Vec::new();
    for leaf in chosen {
        let Some(formula) = &declared(scene, *leaf).1.formula else {
            continue;
        };
        each_call(
            scene,
            own(*leaf),
            formula,
            &mut |frame, function, arguments| {
                if let Some(history) = history(function) {
                    all.push(Found {
                        leaf: *leaf,
                        frame,
                        function,
                        arguments,
                        history,
                    });
                }
            },
        );
    }
    // One panel for each thing and sort of history, by the figure that stands best for it.
    let mut done: Vec<(Target, bool)> = Vec::new();
    for found in &all {
        let key = (found.leaf.target, is_pass(found));
        if done.contains(&key) {
            continue;
        }
        done.push(key);
        let group: Vec<&Found<'_>> = all
            .iter()
            .filter(|other| (other.leaf.target, is_pass(other)) == key)
            .collect();
        let Some(panel) = panel(scene, &group) else {
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

fn is_pass(found: &Found<'_>) -> bool {
    matches!(found.history, History::Pass { .. })
}

fn rank(found: &Found<'_>) -> u8 {
    match found.history {
        History::Pass { rank, .. } => rank,
        History::Cycles { .. } => 0,
    }
}

/// The panel of a group: drawn from the first call, best first, that can be worked out.
fn panel(scene: &Scene<'_>, group: &[&Found<'_>]) -> Option<Panel> {
    let mut order: Vec<&Found<'_>> = group.to_vec();
    order.sort_by_key(|found| rank(found));
    let mut leaves: Vec<Leaf> = Vec::new();
    for found in group {
        if !leaves.contains(&found.leaf) {
            leaves.push(found.leaf);
        }
    }
    order.iter().find_map(|found| {
        let corners = corners(scene, found.frame, found.function, found.arguments)?;
        match found.history {
            History::Pass { .. } => pass_panel(scene, found, group, &leaves, &corners),
            History::Cycles { cycles } => {
                let climb = climb(scene, found.frame, &corners, found.arguments, cycles)?;
                Some(cycles_panel(scene, found, &leaves, &climb))
            }
        }
    })
}

/// The unit temperatures are drawn in: the one the figures are read in.
fn degrees(scene: &Scene<'_>, leaves: &[Leaf]) -> Unit {
    leaves
        .iter()
        .map(|leaf| reading_unit(scene, *leaf))
        .find(Unit::is_point)
        .or_else(|| Unit::usual_for("temperature"))
        .unwrap_or_else(Unit::bare)
}

fn pass_panel(
    scene: &Scene<'_>,
    found: &Found<'_>,
    group: &[&Found<'_>],
    leaves: &[Leaf],
    corners: &Corners,
) -> Option<Panel> {
    let passage = passage(corners)?;
    let unit = degrees(scene, leaves);
    let steps = passage.band.len().saturating_sub(1).max(1);
    let time = |step: usize| passage.end * step as f64 / steps as f64;
    let curve = |name: &str, values: &[f64], band: Vec<(f64, f64, f64)>| Curve {
        name: name.to_owned(),
        points: values
            .iter()
            .enumerate()
            .map(|(step, value)| (time(step), shown(*value, &unit)))
            .collect(),
        band,
    };
    let band = passage
        .band
        .iter()
        .enumerate()
        .map(|(step, (low, high))| (time(step), shown(*low, &unit), shown(*high, &unit)))
        .collect();
    let mut limits = levels(scene, leaves, &unit);
    limits.retain(|level| level.at.is_finite());
    watched(scene, group, &unit, &mut limits);
    let mut marks = vec![Mark {
        at: passage.nominal.exit,
        span: (passage.exit.0 < passage.exit.1).then_some(passage.exit),
        words: format!("exit, {:.1} s", passage.nominal.exit),
        strong: true,
    }];
    marks.extend(
        passage
            .nominal
            .zones
            .iter()
            .enumerate()
            .map(|(index, start)| Mark {
                at: *start,
                span: None,
                words: format!("zone {}", index + 2),
                strong: false,
            }),
    );
    Some(Panel {
        title: PASS.to_owned(),
        setting: words::setting(scene, found.leaf),
        across: "time, s".to_owned(),
        up: format!("temperature, {}", unit.spelling()),
        curves: vec![
            curve(BOUNDARY, &passage.nominal.boundary, band),
            curve(SURFACE, &passage.nominal.surface, Vec::new()),
        ],
        limits,
        marks,
        notes: vec![
            "band: between the coldest and the hottest run that the stated tolerances allow"
                .to_owned(),
            AFTER_EXIT.to_owned(),
        ],
    })
}

/// Levels that figures of the group ask for, where no rule has them as a limit.
fn watched(scene: &Scene<'_>, group: &[&Found<'_>], unit: &Unit, limits: &mut Vec<Level>) {
    for found in group {
        let History::Pass {
            level: Some(level), ..
        } = found.history
        else {
            continue;
        };
        let Some(argument) = found.arguments.get(level) else {
            continue;
        };
        let Some(base) = super::nominal(scene, found.frame, argument).and_then(Exact::from_f64)
        else {
            continue;
        };
        let at = in_unit(&base, unit);
        let name = words::setting(scene, found.leaf);
        // Rounding aside, it is the same line.
        let known = limits.iter_mut().find(|known| (known.at - at).abs() < 1e-6);
        match known {
            Some(known) if known.side != Side::Watched => {}
            Some(known) => {
                if !known.asked_by.contains(&name) {
                    known.asked_by.push(name);
                }
            }
            None => limits.push(Level {
                at,
                side: Side::Watched,
                words: show_exact(&base, unit),
                asked_by: vec![name],
            }),
        }
    }
}

fn cycles_panel(scene: &Scene<'_>, found: &Found<'_>, leaves: &[Leaf], climb: &Climb) -> Panel {
    let unit = degrees(scene, leaves);
    let limits = levels(scene, leaves, &unit);
    let points: Vec<(f64, f64, f64, f64)> = climb
        .points
        .iter()
        .map(|(count, middle, low, high)| {
            (
                *count,
                shown(*middle, &unit),
                shown(*low, &unit),
                shown(*high, &unit),
            )
        })
        .collect();
    let what = if climb.pieces { "piece" } else { "cycle" };
    // The first piece at which the warmest run is past a limit: up to there nothing can go wrong.
    let marks = limits
        .iter()
        .filter_map(|limit| {
            let past = |value: f64| match limit.side {
                Side::Below => value > limit.at,
                Side::Above => value < limit.at,
                Side::Watched => false,
            };
            let first = points
                .iter()
                .find(|(_, _, low, high)| past(*low) || past(*high))?;
            let certain = points.iter().find(|(_, middle, ..)| past(*middle));
            let nominal = certain.map_or_else(String::new, |(count, ..)| {
                format!(", nominally at {what} {count:.0}")
            });
            Some(Mark {
                at: first.0,
                span: None,
                words: format!("may pass {} at {what} {:.0}{nominal}", limit.words, first.0),
                strong: false,
            })
        })
        .collect();
    let (middle, low, high) = climb.steady;
    let steady = if low < high {
        format!(
            "if the run went on for ever: {} ({} to {})",
            show_down(middle, &unit, 3),
            show_down(low.min(high), &unit, 3),
            show_down(low.max(high), &unit, 3)
        )
    } else {
        format!(
            "if the run went on for ever: {}",
            show_down(middle, &unit, 3)
        )
    };
    Panel {
        title: CYCLES.to_owned(),
        setting: words::setting(scene, found.leaf),
        across: if climb.pieces { BY_PIECE } else { BY_CYCLE }.to_owned(),
        up: format!("temperature, {}", unit.spelling()),
        curves: vec![Curve {
            name: PALLET.to_owned(),
            points: points
                .iter()
                .map(|(count, middle, ..)| (*count, *middle))
                .collect(),
            band: points
                .iter()
                .map(|(count, _, low, high)| (*count, *low, *high))
                .collect(),
        }],
        limits,
        marks,
        notes: vec![
            "band: between the coolest and the warmest run that the stated tolerances allow"
                .to_owned(),
            steady,
        ],
    }
}
