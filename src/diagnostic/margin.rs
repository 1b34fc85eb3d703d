//! Margins of a run: how far its settings may drift.

use crate::source::Span;

/// How far each stated setting may drift before something stops holding.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Margins {
    /// The settings, the one with the nearest limit first, relative to its value.
    pub rows: Vec<Margin>,
    /// How many requirements hold.
    pub holding: usize,
    /// How many do not hold, and are not counted.
    pub not_counted: usize,
}

/// One setting.
#[derive(Debug, Clone, PartialEq)]
pub struct Margin {
    /// The setting: `dryer.belt`.
    pub setting: String,
    /// As stated: `2.3 m/min ± 5 %`.
    pub value: String,
    /// The unit of the drifts.
    pub unit: String,
    /// Where the plan states it.
    pub place: Span,
    /// Whether a rule of the standard reads it in this run.
    pub read: bool,
    /// Whether it is a share of a whole, which cannot move alone.
    pub shared: bool,
    /// Downwards; `None` where it was not worked out.
    pub down: Option<Drift>,
    /// Upwards.
    pub up: Option<Drift>,
    /// The smaller drift that a rule ends, over the stated value.
    pub nearness: Option<f64>,
    /// What a stated standard deviation makes of it.
    pub capability: Option<Capability>,
}

/// How far a setting may drift to one side, its tolerance with it.
#[derive(Debug, Clone, PartialEq)]
pub struct Drift {
    /// The size, rounded down, in the unit of the setting.
    pub size: f64,
    /// The same in words: `0.023 m/min`.
    pub words: String,
    /// What ends it.
    pub end: DriftEnd,
}

/// What ends a drift.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DriftEnd {
    /// A rule no longer holds further on.
    Rule {
        /// Its name.
        rule: String,
        /// The thing it is about.
        subject: Option<String>,
        /// The requirement in the standard.
        place: Span,
    },
    /// Further on lies nothing that is possible.
    Possible,
    /// Further on was not looked.
    Looked,
}

/// The capability of a setting between the limits that rules set it.
///
/// Cp = (U − L)/(6 s), Cpk = the smaller of (U − m)/(3 s) and (m − L)/(3 s); NIST/SEMATECH e-Handbook of Statistical
/// Methods, 7.1.6. It takes a process that was shown to be stable, and scatter that is normally distributed; else
/// ISO 22514 calls the same numbers Pp and Ppk.
#[derive(Debug, Clone, PartialEq)]
pub struct Capability {
    /// The standard deviation as stated.
    pub deviation: String,
    /// With limits to both sides.
    pub cp: Option<f64>,
    /// With a limit to one side at least.
    pub cpk: Option<f64>,
    /// Half of the stated tolerance over three standard deviations, where there is one.
    pub of_tolerance: Option<f64>,
}
