//! The window for programs: version 1 of our own JSON form, described by `window.v1.schema.json`.

use std::io::{self, Write};

use serde::Serialize;

use super::json::{V1Place, V1Totals};
use super::json_head::{self, V1Plan, V1Standard, V1Tool};
use crate::diagnostic::{Cut, End, FreedSetting, SetPoint, Window, ZoneBox, ZoneStretch};
use crate::source::Store;

/// The JSON Schema (draft 2020-12) of this form.
#[must_use]
pub fn window_schema() -> &'static str {
    include_str!("window.v1.schema.json")
}

/// Writes the window as JSON.
///
/// # Errors
/// Whatever `out` fails with.
pub fn window_json(window: &Window, store: &Store, out: &mut dyn Write) -> io::Result<()> {
    json_head::write(&V1Window::new(window, store), out)
}

#[derive(Serialize)]
struct V1Window<'r> {
    format: &'static str,
    version: u32,
    tool: V1Tool,
    date: &'r str,
    plan: V1Plan<'r>,
    standard: V1Standard<'r>,
    settings: Vec<V1Setting<'r>>,
    cuts: Vec<V1Cut<'r>>,
    present: Option<V1Present<'r>>,
    whatever_is_set: Vec<V1Standstill<'r>>,
    shares: V1Shares,
    nowhere: bool,
    clash: &'r [usize],
    nearest: Option<V1Point<'r>>,
    most_margin: Option<V1Point<'r>>,
    boxes: Vec<V1Box<'r>>,
    trials: u64,
    budget: u64,
    cautions: Vec<V1Caution<'r>>,
}

#[derive(Serialize)]
struct V1Setting<'r> {
    setting: &'r str,
    unit: &'r str,
    tolerance: Option<&'r str>,
    step: Option<f64>,
    low: f64,
    high: f64,
    asked: bool,
    present: Option<f64>,
    others: &'r str,
    stretches: Vec<V1Stretch<'r>>,
}

#[derive(Serialize)]
struct V1Stretch<'r> {
    zone: &'static str,
    low: V1End<'r>,
    high: V1End<'r>,
    dial_low: Option<f64>,
    dial_high: Option<f64>,
    by: Option<usize>,
    why: Option<&'r str>,
}

#[derive(Serialize)]
struct V1End<'r> {
    at: f64,
    exact: Option<&'r str>,
    text: &'r str,
    within: bool,
    cut: Option<usize>,
}

#[derive(Serialize)]
struct V1Cut<'r> {
    rule: &'r str,
    clause: u32,
    subject: Option<&'r str>,
    wants: &'r str,
    source: Option<&'r str>,
    plan_place: V1Place<'r>,
    standard_place: V1Place<'r>,
    deviation_place: Option<V1Place<'r>>,
}

#[derive(Serialize)]
struct V1Present<'r> {
    zone: &'static str,
    failing: &'r [usize],
}

#[derive(Serialize)]
struct V1Standstill<'r> {
    cut: usize,
    text: &'r str,
}

#[derive(Serialize)]
struct V1Shares {
    holds: f64,
    at_risk: f64,
    breaks: f64,
    does_not_hold: f64,
    not_decided: f64,
}

#[derive(Serialize)]
struct V1Point<'r> {
    at: &'r [f64],
    text: &'r [String],
    around_low: Vec<f64>,
    around_high: Vec<f64>,
    margin: f64,
    totals: V1Totals,
    warnings: &'r [String],
}

#[derive(Serialize)]
struct V1Box<'r> {
    low: &'r [f64],
    high: &'r [f64],
    zone: &'static str,
    by: Option<usize>,
}

#[derive(Serialize)]
struct V1Caution<'r> {
    name: &'r str,
    text: &'r str,
    source: Option<&'r str>,
}

impl<'r> V1Window<'r> {
    fn new(window: &'r Window, store: &'r Store) -> Self {
        Self {
            format: "strikeoff-window",
            version: 1,
            tool: V1Tool::this(),
            date: &window.date,
            plan: V1Plan {
                file: store.get(window.file).name(),
                name: &window.name,
            },
            standard: V1Standard {
                file: store.get(window.standard).name(),
                name: &window.standard_name,
                edition: window.edition.as_deref(),
                digest: &window.digest,
            },
            settings: window.settings.iter().map(V1Setting::new).collect(),
            cuts: window
                .cuts
                .iter()
                .map(|cut| V1Cut::new(cut, store))
                .collect(),
            present: window.present.as_ref().map(|present| V1Present {
                zone: present.zone.words(),
                failing: &present.failing,
            }),
            whatever_is_set: window
                .standstill
                .iter()
                .map(|still| V1Standstill {
                    cut: still.cut,
                    text: &still.words,
                })
                .collect(),
            shares: V1Shares {
                holds: window.shares.holds,
                at_risk: window.shares.at_risk,
                breaks: window.shares.breaks,
                does_not_hold: window.shares.fails,
                not_decided: window.shares.not_decided,
            },
            nowhere: window.empty,
            clash: &window.clash,
            nearest: window.nearest.as_ref().map(V1Point::new),
            most_margin: window.best.as_ref().map(V1Point::new),
            boxes: window.boxes.iter().map(V1Box::new).collect(),
            trials: window.trials,
            budget: window.budget,
            cautions: window
                .cautions
                .iter()
                .map(|caution| V1Caution {
                    name: &caution.name,
                    text: &caution.words,
                    source: caution.source.as_deref(),
                })
                .collect(),
        }
    }
}

impl<'r> V1Setting<'r> {
    fn new(setting: &'r FreedSetting) -> Self {
        Self {
            setting: &setting.setting,
            unit: &setting.unit,
            tolerance: setting.tolerance.as_deref(),
            step: setting.step.as_ref().map(|(step, _)| *step),
            low: setting.low,
            high: setting.high,
            asked: setting.asked,
            present: setting.present.as_ref().map(|(at, _)| *at),
            others: &setting.others,
            stretches: setting.stretches.iter().map(V1Stretch::new).collect(),
        }
    }
}

impl<'r> V1Stretch<'r> {
    fn new(stretch: &'r ZoneStretch) -> Self {
        let dial = stretch.dial.as_ref();
        Self {
            zone: stretch.zone.words(),
            low: V1End::new(&stretch.low),
            high: V1End::new(&stretch.high),
            dial_low: dial.map(|(low, _)| low.0),
            dial_high: dial.map(|(_, high)| high.0),
            by: stretch.by,
            why: stretch.why.as_deref(),
        }
    }
}

impl<'r> V1End<'r> {
    fn new(end: &'r End) -> Self {
        Self {
            at: end.at,
            exact: end.exact.as_deref(),
            text: &end.words,
            within: end.within,
            cut: end.cut,
        }
    }
}

impl<'r> V1Cut<'r> {
    fn new(cut: &'r Cut, store: &'r Store) -> Self {
        Self {
            rule: &cut.rule,
            clause: cut.clause,
            subject: cut.subject.as_deref(),
            wants: &cut.wants,
            source: cut.source.as_deref(),
            plan_place: V1Place::new(cut.plan, store),
            standard_place: V1Place::new(cut.standard, store),
            deviation_place: cut.deviation.map(|span| V1Place::new(span, store)),
        }
    }
}

impl<'r> V1Point<'r> {
    fn new(point: &'r SetPoint) -> Self {
        Self {
            at: &point.at,
            text: &point.words,
            around_low: point.around.iter().map(|(low, _)| low.0).collect(),
            around_high: point.around.iter().map(|(_, high)| high.0).collect(),
            margin: point.margin,
            totals: V1Totals::new(&point.counts),
            warnings: &point.warnings,
        }
    }
}

impl<'r> V1Box<'r> {
    fn new(part: &'r ZoneBox) -> Self {
        Self {
            low: &part.low,
            high: &part.high,
            zone: part.zone.words(),
            by: part.by,
        }
    }
}
