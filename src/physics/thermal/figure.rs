//! What is read off a pass through the tunnel: direction of each input, accuracy, formula.

use super::inputs::{BODY, COOLING, ENERGIES, LAY, LEVEL, PASSED, TIME, ZONE, ZONE_INPUTS};
use super::{Pass, Place, Stretch};
use crate::physics::dose::Rate;
use crate::physics::function::{Accuracy, Direction, Outside, Parameter};
use crate::physics::passes::Shift;
use Direction::{Falls, FallsWhileHeating, Mixed, Rises, RisesWhileHeating};

/// What is read off a pass.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Figure {
    Peak,
    SurfacePeak,
    Exit,
    Reach,
    Above,
    Dose,
    InkWater,
    FabricWater,
    Dye,
    AboveAfter,
    DoseAfter,
    DyeAfter,
}

/// All of them, in the order of the enumeration.
pub(super) const FIGURES: [Figure; 12] = [
    Figure::Peak,
    Figure::SurfacePeak,
    Figure::Exit,
    Figure::Reach,
    Figure::Above,
    Figure::Dose,
    Figure::InkWater,
    Figure::FabricWater,
    Figure::Dye,
    Figure::AboveAfter,
    Figure::DoseAfter,
    Figure::DyeAfter,
];

impl Figure {
    pub(super) const fn after(self) -> bool {
        matches!(self, Self::AboveAfter | Self::DoseAfter | Self::DyeAfter)
    }

    /// Whether warmth makes it smaller.
    const fn inverse(self) -> bool {
        matches!(self, Self::Reach | Self::InkWater | Self::FabricWater)
    }

    const fn asks(self) -> &'static [Parameter] {
        match self {
            Self::Peak | Self::SurfacePeak | Self::Exit | Self::InkWater | Self::FabricWater => &[],
            Self::Reach => &[Parameter {
                direction: Rises,
                ..LEVEL
            }],
            Self::Above | Self::AboveAfter => &[LEVEL],
            Self::Dose | Self::DoseAfter => &ENERGIES,
            Self::Dye | Self::DyeAfter => &PASSED,
        }
    }

    pub(super) const fn count(self, zones: usize) -> usize {
        BODY.len()
            + zones * ZONE
            + LAY.len()
            + if self.after() { COOLING.len() } else { 0 }
            + self.asks().len()
    }

    /// The direction of input `index` of the body or a zone, from that of the film's warmth.
    const fn direction(self, index: usize, zones: usize, warmth: Direction) -> Direction {
        if index < BODY.len() {
            if self.after() && matches!(warmth, FallsWhileHeating) {
                // After the exit a heavier piece stays hot longer.
                return Mixed;
            }
        } else if index < BODY.len() + zones * ZONE && (index - BODY.len()) % ZONE == TIME {
            let last = (index - BODY.len()) / ZONE + 1 == zones;
            match self {
                // More time in the last zone can only add to a peak or a sum, or bring the level within reach.
                Self::Peak | Self::SurfacePeak | Self::Above | Self::Dose | Self::Dye if last => {
                    return Rises;
                }
                Self::Reach => return if last { FallsWhileHeating } else { Mixed },
                _ => {}
            }
        }
        if self.inverse() {
            warm_direction(warmth)
        } else {
            warmth
        }
    }

    /// How far below the hottest the film may be and still count, K; `None` where the exit decides.
    pub(super) const fn counts_within(self) -> Option<f64> {
        match self {
            Self::Peak | Self::SurfacePeak => Some(2.0),
            // 25 K leave six tenths of what a second is worth at 30 kJ/mol, and a sixth at 100 kJ/mol.
            Self::Dose | Self::Dye => Some(25.0),
            _ => None,
        }
    }

    /// Which input is a temperature level, where the figure is a time.
    pub(super) const fn level(self, zones: usize) -> Option<usize> {
        match self {
            Self::Reach | Self::Above | Self::AboveAfter => Some(self.count(zones) - 1),
            _ => None,
        }
    }

    /// Which input is moved by the solver's error in temperature, and by how much.
    ///
    /// The kelvins of a dose were found by comparing random passes with twice the grid, energies up to 300 kJ/mol: the
    /// worst of 8,000 needed 0.52 K for the dose, 0.99 K for the index and 1.4 K for the index after the exit. A dye's
    /// reference may lie 60 K above the film, where a kelvin of the film is worth more than one of the reference.
    pub(super) const fn shift(self, zones: usize) -> Option<Shift> {
        let last = self.count(zones);
        match self {
            Self::Reach | Self::Above | Self::AboveAfter => Some(Shift {
                input: last - 1,
                by: 0.3,
                on_top: true,
            }),
            Self::Dose | Self::DoseAfter => Some(Shift {
                input: last - 2,
                by: 0.65,
                on_top: false,
            }),
            Self::Dye => Some(Shift {
                input: last - 4,
                by: 1.1,
                on_top: false,
            }),
            Self::DyeAfter => Some(Shift {
                input: last - 4,
                by: 1.6,
                on_top: false,
            }),
            Self::Peak | Self::SurfacePeak | Self::Exit | Self::InkWater | Self::FabricWater => {
                None
            }
        }
    }

    pub(super) const fn accuracy(self) -> Accuracy {
        match self {
            Self::Peak | Self::SurfacePeak => Accuracy::Absolute(0.3),
            Self::Exit => Accuracy::Absolute(0.4),
            Self::Reach => Accuracy::Absolute(0.15),
            Self::Above | Self::AboveAfter => Accuracy::Absolute(0.25),
            Self::Dose | Self::DoseAfter => Accuracy::Relative(0.015),
            Self::InkWater | Self::FabricWater => Accuracy::Absolute(2.0e-4),
            Self::Dye | Self::DyeAfter => Accuracy::Relative(0.04),
        }
    }

    pub(super) const fn result(self) -> &'static str {
        match self {
            Self::Peak | Self::SurfacePeak | Self::Exit => "temperature",
            Self::Reach | Self::Above | Self::Dose | Self::AboveAfter | Self::DoseAfter => "time",
            Self::InkWater | Self::FabricWater => "areal-mass",
            Self::Dye | Self::DyeAfter => "number",
        }
    }

    pub(super) const fn formula(self) -> &'static str {
        match self {
            Self::Peak => "highest temperature where ink meets fabric, up to the exit",
            Self::SurfacePeak => "highest temperature of the ink's surface, up to the exit",
            Self::Exit => "temperature where ink meets fabric, at the exit",
            Self::Reach => "time until ink meets fabric at `level`",
            Self::Above => "time for which ink meets fabric at or above `level`, up to the exit",
            Self::Dose => {
                "∫ exp(−energy/R × (1/T − 1/reference)) dt where ink meets fabric, up to the exit"
            }
            Self::InkWater => "water left in the film at the exit",
            Self::FabricWater => "water left in the fabric at the exit, in all of its plies",
            Self::Dye => {
                "factor × ∫ exp(−energy/R × (1/T − 1/passed-temperature)) dt / passed-time where ink meets fabric, up to the exit"
            }
            Self::AboveAfter => {
                "time for which ink meets fabric at or above `level`, cooling in the room after the exit"
            }
            Self::DoseAfter => {
                "∫ exp(−energy/R × (1/T − 1/reference)) dt where ink meets fabric, cooling in the room after the exit"
            }
            Self::DyeAfter => {
                "factor × ∫ exp(−energy/R × (1/T − 1/passed-temperature)) dt / passed-time where ink meets fabric, cooling in the room after the exit"
            }
        }
    }

    /// The figure off a pass whose print enters the tunnel and leaves it at these times, s.
    pub(super) fn read(
        self,
        pass: &Pass,
        [entrance, exit]: [f64; 2],
        asked: &[f64],
    ) -> Result<f64, Outside> {
        let place = Place::Boundary;
        let stretch = if self.after() {
            Stretch::AfterExit
        } else {
            Stretch::ToExit
        };
        let value = match (self, asked) {
            (Self::Peak, _) => pass.peak(place, stretch),
            (Self::SurfacePeak, _) => pass.peak(Place::Surface, stretch),
            (Self::Exit, _) => pass.at(place, exit),
            (Self::Reach, &[level]) => {
                let reached = pass.reach(place, level, stretch);
                let reached = reached.filter(|reached| *reached <= exit);
                let reached = reached.ok_or(Outside::Never(
                    "the film does not come to that temperature before the exit",
                ))?;
                (reached - entrance).max(0.0)
            }
            (Self::Above | Self::AboveAfter, &[level]) => pass.above(place, level, stretch),
            (Self::Dose | Self::DoseAfter, &[reference, energy]) => {
                pass.equivalent(place, &Rate::Arrhenius { reference, energy }, stretch)
            }
            (Self::InkWater, _) => pass.at(Place::InkWater, exit).max(0.0),
            (Self::FabricWater, _) => {
                let held = [Place::FabricWater, Place::LowerWater].map(|ply| pass.at(ply, exit));
                held[0].max(0.0) + held[1].max(0.0)
            }
            (Self::Dye | Self::DyeAfter, &[reference, time, energy, factor]) => {
                factor * pass.equivalent(place, &Rate::Arrhenius { reference, energy }, stretch)
                    / time
            }
            _ => return Err(Outside::Together("each parameter needs one number")),
        };
        if value.is_finite() {
            Ok(value)
        } else {
            Err(Outside::Together("the figure is too large for a number"))
        }
    }
}

/// The direction of a figure that falls with warmth.
pub(crate) const fn warm_direction(warmth: Direction) -> Direction {
    match warmth {
        Rises => Falls,
        Falls => Rises,
        Mixed => Mixed,
        RisesWhileHeating => FallsWhileHeating,
        FallsWhileHeating => RisesWhileHeating,
    }
}

/// A figure's row of parameters.
pub(super) const fn parameters<const N: usize>(figure: Figure, zones: usize) -> [Parameter; N] {
    let mut all = [LEVEL; N];
    let (mut at, mut i) = (0, 0);
    let behind_zones = BODY.len() + zones * ZONE;
    while at < behind_zones + LAY.len() {
        let from = if at < BODY.len() {
            BODY[at]
        } else if at < behind_zones {
            ZONE_INPUTS[(at - BODY.len()) / ZONE][(at - BODY.len()) % ZONE]
        } else {
            LAY[at - behind_zones]
        };
        all[at] = Parameter {
            direction: figure.direction(at, zones, from.direction),
            ..from
        };
        at += 1;
    }
    while figure.after() && i < COOLING.len() {
        all[at] = COOLING[i];
        at += 1;
        i += 1;
    }
    let asked = figure.asks();
    i = 0;
    while i < asked.len() {
        all[at] = asked[i];
        at += 1;
        i += 1;
    }
    all
}
