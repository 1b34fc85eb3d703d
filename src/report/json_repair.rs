//! Repairs and margins in our own JSON form.

use schemars::JsonSchema;
use serde::Serialize;

use super::json::V1Place;
use crate::diagnostic::{Drift, DriftEnd, Margin, Margins, Repair, WholeRun};
use crate::source::Store;

/// A change.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "repair", deny_unknown_fields)]
pub(super) struct V1Repair<'r> {
    /// Its number in this plan, for `--apply`; the same change has the same number. Null where it has none.
    #[schemars(extend("minimum" = 1))]
    number: Option<u32>,
    /// The change in words.
    words: &'r str,
    /// The change as text.
    edits: Vec<V1Edit<'r>>,
    /// The settings it moves; none where it puts something in.
    moves: Vec<V1Move<'r>>,
    /// Readings stated in the plan that rest on what it moves: they have to be measured again.
    measure_again: &'r [String],
    /// Whether the whole run holds with it.
    whole: bool,
}

/// A setting that is moved.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "move", deny_unknown_fields)]
struct V1Move<'r> {
    /// The setting.
    setting: &'r str,
    /// What the plan states now.
    from: &'r str,
    /// What it would state.
    to: &'r str,
    /// The values that do as well, with the same tolerance; of several settings any of one with any of the
    /// others.
    range: &'r str,
    /// The lower end of the range.
    low: f64,
    /// The upper end of the range.
    high: f64,
    /// The unit of the two.
    unit: &'r str,
    /// What the standard says that changing it takes.
    takes: Option<&'r str>,
}

/// What makes the whole run hold.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "whole", deny_unknown_fields)]
pub(super) struct V1Whole<'r> {
    /// The change; null where none was found.
    repair: Option<V1Repair<'r>>,
    /// What is to be said of it: what stays, or why there is none.
    said: Option<&'r str>,
}

/// A replacement.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "edit", deny_unknown_fields)]
struct V1Edit<'r> {
    /// What is replaced; empty to insert.
    place: V1Place<'r>,
    /// The new text.
    text: &'r str,
}

/// How far each stated setting may drift before something that holds stops holding.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "margins", deny_unknown_fields)]
pub(super) struct V1Margins<'r> {
    /// How many requirements hold.
    holding: usize,
    /// How many do not hold, so that no drift is counted to them.
    not_counted: usize,
    /// The settings, the one with the nearest limit first.
    rows: Vec<V1Margin<'r>>,
}

/// A setting.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "margin", deny_unknown_fields)]
struct V1Margin<'r> {
    /// The setting.
    setting: &'r str,
    /// As stated.
    value: &'r str,
    /// The unit of the drifts.
    unit: &'r str,
    /// Where the plan states it.
    place: V1Place<'r>,
    /// Whether a rule reads it.
    read: bool,
    /// Whether it is a share of a whole, which cannot move alone.
    shared: bool,
    /// Downwards; null where it was not worked out.
    down: Option<V1Drift<'r>>,
    /// Upwards.
    up: Option<V1Drift<'r>>,
    /// The smaller drift that a rule ends, over the stated value.
    nearness: Option<f64>,
    /// What a stated standard deviation makes of it; null where none is stated.
    capability: Option<V1Capability<'r>>,
}

/// How far a setting may drift to one side, its tolerance with it.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "drift", deny_unknown_fields)]
struct V1Drift<'r> {
    /// The size in the unit of the setting, rounded down.
    size: f64,
    /// The same with its unit.
    words: &'r str,
    /// What ends it: a rule, what is possible, or that further was not looked.
    #[schemars(extend("enum" = ["rule", "possible", "looked"]))]
    end: &'static str,
    /// The rule that no longer holds further on.
    rule: Option<&'r str>,
    /// The thing it is about.
    subject: Option<&'r str>,
    /// The requirement in the standard.
    place: Option<V1Place<'r>>,
}

/// Cp = (U - L)/(6 s), Cpk = min(U - m, m - L)/(3 s) between the limits that rules set; of a process shown to
/// be stable, with normally distributed scatter, else Pp and Ppk.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "capability", deny_unknown_fields)]
struct V1Capability<'r> {
    /// The standard deviation as stated.
    deviation: &'r str,
    /// With limits to both sides.
    cp: Option<f64>,
    /// With a limit to one side at least.
    cpk: Option<f64>,
    /// Cp of the stated tolerance.
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
            measure_again: &repair.measure_again,
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
