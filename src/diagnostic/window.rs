//! The window of a run: what its settings may be set to. The input of its views.

use super::{Caution, Counts};
use crate::source::{FileId, Span};

/// What set points come to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Zone {
    /// The run holds at every point inside the tolerances.
    Holds,
    /// It holds at some of them and breaks at some, or cannot be shown to hold.
    AtRisk,
    /// It breaks at every one.
    Breaks,
    /// One or the other: it does not hold, and which it is was not told apart.
    Fails,
    /// Whether it holds was not found out.
    NotDecided,
}

impl Zone {
    /// All of them, the best first.
    pub const ALL: [Self; 5] = [
        Self::Holds,
        Self::AtRisk,
        Self::Breaks,
        Self::Fails,
        Self::NotDecided,
    ];

    /// The words people and machines read.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Holds => "holds",
            Self::AtRisk => "at risk",
            Self::Breaks => "breaks",
            Self::Fails => "does not hold",
            Self::NotDecided => "not decided",
        }
    }
}

/// A demand of the standard that cuts the window.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cut {
    /// The rule; the setting where a stated value must agree with its formula.
    pub rule: String,
    /// Which requirement of it, from 1.
    pub clause: u32,
    /// The thing of `for each`.
    pub subject: Option<String>,
    /// What it wants: `` `dryer.dwell` at least 60 s ``.
    pub wants: String,
    /// The line of the plan it is about.
    pub plan: Span,
    /// The line of the standard that says so.
    pub standard: Span,
    /// What the limit rests on.
    pub source: Option<String>,
    /// The deviation that widens it.
    pub deviation: Option<Span>,
}

/// One end of a stretch.
#[derive(Debug, Clone, PartialEq)]
pub struct End {
    /// Where, in the unit of the setting.
    pub at: f64,
    /// As a decimal, or as a fraction where that is what it is: `244/105`. `None` where it was closed in on only.
    pub exact: Option<String>,
    /// As it is said: `2.323 m/min`.
    pub words: String,
    /// Whether the end itself still belongs to the stretch.
    pub within: bool,
    /// The demand that cuts it here, by number; none at the end of what was looked at.
    pub cut: Option<usize>,
}

/// A stretch of set points of one setting, the others left as they are.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneStretch {
    /// What it comes to.
    pub zone: Zone,
    /// Lower end.
    pub low: End,
    /// Upper end.
    pub high: End,
    /// The lowest and highest dial values inside, in the unit of the setting and in words.
    pub dial: Option<((f64, String), (f64, String))>,
    /// The demand that makes it so, by number.
    pub by: Option<usize>,
    /// Why, where it is not for its number: what is missing, or cannot be worked out.
    pub why: Option<String>,
}

/// What the range is that a freed setting was looked at over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extent {
    /// It was asked for.
    Asked,
    /// All that the standard calls possible.
    Possible,
    /// Of what is possible, all that is known of its dial: its record says that it reads wrong, and how from one position
    /// to another.
    OnTheDial,
    /// The standard states no possible range, or one end of it: as far as ten times what the plan states.
    AroundPresent,
}

impl Extent {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Asked => "as asked",
            Self::Possible => "all that is possible",
            Self::OnTheDial => "as far as the standard says what is so behind its dial",
            Self::AroundPresent => {
                "to ten times what the plan states, as the standard states no possible range"
            }
        }
    }
}

/// A freed setting.
#[derive(Debug, Clone, PartialEq)]
pub struct FreedSetting {
    /// As reports name it: `dryer.belt`.
    pub setting: String,
    /// A sentence about it, from the standard.
    pub sentence: Option<String>,
    /// The unit all its numbers are in.
    pub unit: String,
    /// The tolerance that goes with every set point: `± 5 %`.
    pub tolerance: Option<String>,
    /// The step of its dial: `0.05 m/min`, and that number.
    pub step: Option<(f64, String)>,
    /// Lowest and highest set point that was looked at, and both in words.
    pub low: f64,
    /// Highest.
    pub high: f64,
    /// Both in words.
    pub range: String,
    /// What that range is.
    pub extent: Extent,
    /// Whether it can be set to whole numbers only.
    pub whole: bool,
    /// What the plan sets it to, in the unit and in words.
    pub present: Option<(f64, String)>,
    /// How far down and up the tolerance reaches from the present set point.
    pub reach: Option<(f64, f64)>,
    /// Where the others were left: `dryer.set-point at 282 °F ± 4 °F`.
    pub others: String,
    /// The stretches, lowest first. Empty where the others have no value yet.
    pub stretches: Vec<ZoneStretch>,
}

/// A box of set points.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneBox {
    /// Lower ends, one for each setting, in its unit.
    pub low: Vec<f64>,
    /// Upper ends.
    pub high: Vec<f64>,
    /// What it comes to.
    pub zone: Zone,
    /// The demand that makes it so, or that is open, by number.
    pub by: Option<usize>,
}

/// How much of all set points comes to what, as shares of the box of all ranges.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Shares {
    /// Holds.
    pub holds: f64,
    /// At risk.
    pub at_risk: f64,
    /// Breaks.
    pub breaks: f64,
    /// At risk or breaks, not told apart.
    pub fails: f64,
    /// Not decided.
    pub not_decided: f64,
    /// What of that is so because figures are only sampled there, which a larger budget does not change.
    pub sampled: f64,
}

/// A set point, checked as a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct SetPoint {
    /// The values, in the units of the settings.
    pub at: Vec<f64>,
    /// As they would be written: `2.3 m/min ± 5 %`.
    pub words: Vec<String>,
    /// The box around it in which everything holds: ends for each setting, in its unit and in words.
    pub around: Vec<((f64, String), (f64, String))>,
    /// How far it lies inside, as a share of how far each setting can go in the window.
    pub margin: f64,
    /// What came out when it was checked.
    pub counts: Counts,
    /// Warnings of `should` that it leaves.
    pub warnings: Vec<String>,
}

/// How the run stands with the settings of the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct PresentPoint {
    /// What it comes to.
    pub zone: Zone,
    /// The demands that do not hold there, by number.
    pub failing: Vec<usize>,
}

impl Window {
    /// Whether it holds as it is set, and that was shown of no other set point.
    #[must_use]
    pub fn only_as_set(&self) -> bool {
        let present = self.present.as_ref();
        self.best.is_none() && present.is_some_and(|present| present.zone == Zone::Holds)
    }
}

/// Something that does not hold whatever the freed settings are set to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Standstill {
    /// The demand, by number.
    pub cut: usize,
    /// What it comes to: `breaks`, `at risk`, `is not stated: …`.
    pub words: String,
}

/// The window of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Window {
    /// The plan.
    pub file: FileId,
    /// Name of the run.
    pub name: String,
    /// The standard's root file.
    pub standard: FileId,
    /// Its name.
    pub standard_name: String,
    /// Its edition.
    pub edition: Option<String>,
    /// Digest of the meaning, lower-case hex, 64 digits.
    pub digest: String,
    /// The rules that the standard does without, a sentence each.
    pub taken_out: Vec<String>,
    /// The day it was looked at for.
    pub date: String,
    /// The freed settings.
    pub settings: Vec<FreedSetting>,
    /// The demands that are spoken of.
    pub cuts: Vec<Cut>,
    /// How the run stands now; `None` where a freed setting is not stated.
    pub present: Option<PresentPoint>,
    /// What does not hold whatever is set here.
    pub standstill: Vec<Standstill>,
    /// The boxes of all set points.
    pub boxes: Vec<ZoneBox>,
    /// Their shares.
    pub shares: Shares,
    /// Whether it is proved that no set point holds.
    pub empty: bool,
    /// Whether some of what is at risk then rests on readings, and may hold once they are taken there.
    pub until_read: bool,
    /// Where none holds: the demands that leave nothing between them, by number.
    pub clash: Vec<usize>,
    /// The nearest set point that holds, where the present one does not.
    pub nearest: Option<SetPoint>,
    /// The set point with the most margin.
    pub best: Option<SetPoint>,
    /// How often a demand was asked.
    pub trials: u64,
    /// How often it might have been, for the boxes.
    pub budget: u64,
    /// That readings of the plan rest on what is freed, and have to be taken again; `None` where there are none.
    pub measure_again: Option<String>,
    /// Cautions that fit the run.
    pub cautions: Vec<Caution>,
}
