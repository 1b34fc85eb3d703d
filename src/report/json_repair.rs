//! Repairs and margins in our own JSON form.

use serde::Serialize;

use super::json::V1Place;
use crate::diagnostic::{Drift, DriftEnd, Margin, Margins, Repair, WholeRun};
use crate::source::Store;

#[derive(Serialize)]
pub(super) struct V1Repair<'r> {
    number: Option<u32>,
    words: &'r str,
    edits: Vec<V1Edit<'r>>,
    moves: Vec<V1Move<'r>>,
    whole: bool,
}

#[derive(Serialize)]
struct V1Move<'r> {
    setting: &'r str,
    from: &'r str,
    to: &'r str,
    range: &'r str,
    low: f64,
    high: f64,
    unit: &'r str,
    takes: Option<&'r str>,
}

#[derive(Serialize)]
pub(super) struct V1Whole<'r> {
    repair: Option<V1Repair<'r>>,
    said: Option<&'r str>,
}

#[derive(Serialize)]
struct V1Edit<'r> {
    place: V1Place<'r>,
    text: &'r str,
}

#[derive(Serialize)]
pub(super) struct V1Margins<'r> {
    holding: usize,
    not_counted: usize,
    rows: Vec<V1Margin<'r>>,
}

#[derive(Serialize)]
struct V1Margin<'r> {
    setting: &'r str,
    value: &'r str,
    unit: &'r str,
    place: V1Place<'r>,
    read: bool,
    shared: bool,
    down: Option<V1Drift<'r>>,
    up: Option<V1Drift<'r>>,
    nearness: Option<f64>,
    capability: Option<V1Capability<'r>>,
}

#[derive(Serialize)]
struct V1Drift<'r> {
    size: f64,
    words: &'r str,
    end: &'static str,
    rule: Option<&'r str>,
    subject: Option<&'r str>,
    place: Option<V1Place<'r>>,
}

#[derive(Serialize)]
struct V1Capability<'r> {
    deviation: &'r str,
    cp: Option<f64>,
    cpk: Option<f64>,
    of_tolerance: Option<f64>,
}

impl<'r> V1Repair<'r> {
    pub(super) fn new(repair: &'r Repair, store: &'r Store) -> Self {
        Self {
            number: (repair.number > 0).then_some(repair.number),
            words: &repair.words,
            edits: repair
                .edits
                .iter()
                .map(|edit| V1Edit {
                    place: V1Place::new(edit.span, store),
                    text: &edit.text,
                })
                .collect(),
            moves: repair
                .moves
                .iter()
                .map(|moved| V1Move {
                    setting: &moved.setting,
                    from: &moved.from,
                    to: &moved.to,
                    range: &moved.range,
                    low: moved.low,
                    high: moved.high,
                    unit: &moved.unit,
                    takes: moved.takes.as_deref(),
                })
                .collect(),
            whole: repair.whole,
        }
    }
}

impl<'r> V1Whole<'r> {
    pub(super) fn new(whole: &'r WholeRun, store: &'r Store) -> Self {
        Self {
            repair: whole
                .repair
                .as_ref()
                .map(|repair| V1Repair::new(repair, store)),
            said: whole.said.as_deref(),
        }
    }
}

impl<'r> V1Margins<'r> {
    pub(super) fn new(margins: &'r Margins, store: &'r Store) -> Self {
        Self {
            holding: margins.holding,
            not_counted: margins.not_counted,
            rows: margins
                .rows
                .iter()
                .map(|margin| V1Margin::new(margin, store))
                .collect(),
        }
    }
}

impl<'r> V1Margin<'r> {
    fn new(margin: &'r Margin, store: &'r Store) -> Self {
        Self {
            setting: &margin.setting,
            value: &margin.value,
            unit: &margin.unit,
            place: V1Place::new(margin.place, store),
            read: margin.read,
            shared: margin.shared,
            down: margin.down.as_ref().map(|drift| V1Drift::new(drift, store)),
            up: margin.up.as_ref().map(|drift| V1Drift::new(drift, store)),
            nearness: margin.nearness,
            capability: margin.capability.as_ref().map(|known| V1Capability {
                deviation: &known.deviation,
                cp: known.cp,
                cpk: known.cpk,
                of_tolerance: known.of_tolerance,
            }),
        }
    }
}

impl<'r> V1Drift<'r> {
    fn new(drift: &'r Drift, store: &'r Store) -> Self {
        let (end, rule, subject, place) = match &drift.end {
            DriftEnd::Rule {
                rule,
                subject,
                place,
            } => (
                "rule",
                Some(rule.as_str()),
                subject.as_deref(),
                Some(V1Place::new(*place, store)),
            ),
            DriftEnd::Possible => ("possible", None, None, None),
            DriftEnd::Looked => ("looked", None, None, None),
        };
        Self {
            size: drift.size,
            words: &drift.words,
            end,
            rule,
            subject,
            place,
        }
    }
}
