//! The window for programs: version 1 of our own JSON form.

use std::io::{self, Write};
use std::sync::OnceLock;

use schemars::JsonSchema;
use serde::Serialize;

use super::json::{V1Place, V1Totals};
use super::json_head::{self, V1Plan, V1Standard, V1Tool};
use super::schema;
use crate::diagnostic::{Cut, End, Extent, FreedSetting, SetPoint, Window, ZoneBox, ZoneStretch};
use crate::source::Store;

/// The JSON Schema (draft 2020-12) of this form.
#[must_use]
pub fn window_schema() -> &'static str {
    static SCHEMA: OnceLock<String> = OnceLock::new();
    schema::text::<V1Window<'_>>(&SCHEMA)
}

/// Writes the window as JSON.
///
/// # Errors
/// Whatever `out` fails with.
pub fn window_json(window: &Window, store: &Store, out: &mut dyn Write) -> io::Result<()> {
    json_head::write(&V1Window::new(window, store), out)
}

/// What freed settings of one run may be set to. A set point is what a dial is set to; its tolerance goes along
/// with it. Within version 1 fields are only added: this schema is exact for the release it ships with, and a
/// reader should pass over fields that it does not know.
#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields, title = "Strikeoff window, version 1", extend("$id" = "urn:strikeoff:window:v1"))]
struct V1Window<'r> {
    /// Always `strikeoff-window`.
    #[schemars(extend("const" = "strikeoff-window"))]
    format: &'static str,
    /// Always 1.
    #[schemars(extend("const" = 1))]
    version: u32,
    /// What wrote it.
    tool: V1Tool,
    /// The day that deviations were looked at for.
    date: &'r str,
    /// The plan.
    plan: V1Plan<'r>,
    /// The standard.
    standard: V1Standard<'r>,
    /// The rules that the standard does without, a sentence each.
    taken_out: &'r [String],
    /// The freed settings. Lists of numbers elsewhere have one for each, in this order and these units.
    settings: Vec<V1Setting<'r>>,
    /// The demands that are spoken of; elsewhere they are named by their number here, from 0.
    cuts: Vec<V1Cut<'r>>,
    /// How the run stands as the plan sets it; null where it does not state all freed settings.
    present: Option<V1Present<'r>>,
    /// What does not hold whatever the freed settings are set to; the rest of this report leaves it aside.
    whatever_is_set: Vec<V1Standstill<'r>>,
    /// How much of all set points comes to what; together 1.
    shares: V1Shares,
    /// Whether it was shown of all set points that none holds.
    nowhere: bool,
    /// Where none holds: the demands that leave nothing between them.
    clash: &'r [usize],
    /// The nearest set point that holds, where the present one does not.
    nearest: Option<V1Point<'r>>,
    /// The set point with the most margin.
    most_margin: Option<V1Point<'r>>,
    /// All set points in boxes.
    boxes: Vec<V1Box<'r>>,
    /// How often a demand was asked.
    trials: u64,
    /// How often it might have been asked for the boxes.
    budget: u64,
    /// Which readings stated in the plan rest on what is freed and have to be measured again; null where there are none.
    measure_again: Option<&'r str>,
    /// Cautions that fit the run.
    cautions: Vec<V1Caution<'r>>,
}

/// A freed setting.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "setting", deny_unknown_fields)]
struct V1Setting<'r> {
    /// As reports name it.
    setting: &'r str,
    /// The unit of all its numbers; empty for a plain number.
    unit: &'r str,
    /// The tolerance that goes with every set point.
    tolerance: Option<&'r str>,
    /// The step of its dial.
    step: Option<f64>,
    /// Lowest set point that was looked at.
    low: f64,
    /// Highest.
    high: f64,
    /// Whether this range was asked for.
    asked: bool,
    /// Whether it is all that the standard calls possible; false where it was asked for, and where the standard
    /// states no possible range, so that it goes to ten times what the plan states.
    possible: bool,
    /// What the plan sets it to.
    present: Option<f64>,
    /// Where the other freed settings were left for its stretches.
    others: &'r str,
    /// Its own stretches, lowest first; empty where the others have no value yet.
    stretches: Vec<V1Stretch<'r>>,
}

/// A stretch of set points.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "stretch", deny_unknown_fields)]
struct V1Stretch<'r> {
    /// What the set points come to: `holds` where a check would pass, `breaks` where something breaks at every
    /// point inside the tolerances, `at risk` where something holds at some of them only (within a deviation's
    /// limit where one is in force), `does not hold` where these two were not told apart, `not decided` where
    /// it was not found out whether it holds.
    #[schemars(extend("enum" = ["holds", "at risk", "breaks", "does not hold", "not decided"]))]
    zone: &'static str,
    /// One end of a stretch.
    low: V1End<'r>,
    /// One end of a stretch.
    high: V1End<'r>,
    /// Lowest dial value inside; null without a dial, or where none is.
    dial_low: Option<f64>,
    /// Highest dial value inside.
    dial_high: Option<f64>,
    /// The demand that makes it so.
    by: Option<usize>,
    /// Why, where it is not for its number: what is missing, or cannot be worked out.
    why: Option<&'r str>,
}

/// One end of a stretch.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "end", deny_unknown_fields)]
struct V1End<'r> {
    /// Where, in the unit of the setting.
    at: f64,
    /// The end exactly, as a decimal or a fraction of two whole numbers; null where it was closed in on only.
    exact: Option<&'r str>,
    /// As it is said, rounded inward.
    text: &'r str,
    /// Whether the end itself belongs to the stretch.
    within: bool,
    /// The demand that cuts it here; null at the end of what was looked at.
    cut: Option<usize>,
}

/// A demand of the standard.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "cut", deny_unknown_fields)]
struct V1Cut<'r> {
    /// The rule; the setting where a stated value must agree with its formula.
    rule: &'r str,
    /// Which requirement of it, from 1.
    clause: u32,
    /// The thing it is about.
    subject: Option<&'r str>,
    /// What it wants.
    wants: &'r str,
    /// What the limit rests on.
    source: Option<&'r str>,
    /// The line of the plan it is about.
    plan_place: V1Place<'r>,
    /// The line of the standard that says so.
    standard_place: V1Place<'r>,
    /// The deviation that widens it.
    deviation_place: Option<V1Place<'r>>,
}

/// The present set point.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "present", deny_unknown_fields)]
struct V1Present<'r> {
    /// What the set points come to: `holds` where a check would pass, `breaks` where something breaks at every
    /// point inside the tolerances, `at risk` where something holds at some of them only (within a deviation's
    /// limit where one is in force), `does not hold` where these two were not told apart, `not decided` where
    /// it was not found out whether it holds.
    #[schemars(extend("enum" = ["holds", "at risk", "breaks", "does not hold", "not decided"]))]
    zone: &'static str,
    /// The demands that do not hold.
    failing: &'r [usize],
}

/// One such demand.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "standstill", deny_unknown_fields)]
struct V1Standstill<'r> {
    /// The demand.
    cut: usize,
    /// What it comes to.
    text: &'r str,
}

/// How much of all set points comes to what; together 1.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "shares", deny_unknown_fields)]
struct V1Shares {
    /// Holds.
    holds: f64,
    /// At risk.
    at_risk: f64,
    /// Breaks.
    breaks: f64,
    /// At risk or breaks, not told apart.
    does_not_hold: f64,
    /// Not decided.
    not_decided: f64,
}

/// A set point, checked as a plan.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "point", deny_unknown_fields)]
struct V1Point<'r> {
    /// The values, in the units of the settings.
    at: &'r [f64],
    /// As they would be written in the plan.
    text: &'r [String],
    /// Lower ends of a box around it in which everything holds.
    around_low: Vec<f64>,
    /// Upper ends of it.
    around_high: Vec<f64>,
    /// How far it lies inside, as a share of how far each setting can go in the window.
    margin: f64,
    /// The outcomes of its check.
    totals: V1Totals,
    /// Warnings that it leaves.
    warnings: &'r [String],
}

/// A box.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "box", deny_unknown_fields)]
struct V1Box<'r> {
    /// Lower ends.
    low: &'r [f64],
    /// Upper ends.
    high: &'r [f64],
    /// What the set points come to: `holds` where a check would pass, `breaks` where something breaks at every
    /// point inside the tolerances, `at risk` where something holds at some of them only (within a deviation's
    /// limit where one is in force), `does not hold` where these two were not told apart, `not decided` where
    /// it was not found out whether it holds.
    #[schemars(extend("enum" = ["holds", "at risk", "breaks", "does not hold", "not decided"]))]
    zone: &'static str,
    /// The demand that makes it so, or that is open.
    by: Option<usize>,
}

/// A caution.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "caution", deny_unknown_fields)]
struct V1Caution<'r> {
    /// The rule or caution.
    name: &'r str,
    /// What it says.
    text: &'r str,
    /// What it rests on.
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
            taken_out: &window.taken_out,
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
            measure_again: window.measure_again.as_deref(),
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
            asked: setting.extent == Extent::Asked,
            possible: setting.extent == Extent::Possible,
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
