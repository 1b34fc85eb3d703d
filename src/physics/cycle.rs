//! A pallet that comes round again: from one cycle to all the later ones.
//!
//! The pallet under the garment warms cycle by cycle. With a dry garment and a constant flux the pallet's temperature at the
//! start of a cycle is an affine function of that of the cycle before, so two runs of a cycle give all the later ones.

use super::function::Outside;
use super::thermal::{Back, Body, Place, Settings, Start, Zone, run};

/// One cycle of a pallet at a flash: load and print, flash, ride on, off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cycle {
    /// Ink and fabric, with the pallet's capacity.
    pub body: Body,
    /// Garment temperature when it comes on, K.
    pub garment: f64,
    /// The flash: its `time`, and what heats the film.
    pub flash: Zone,
    /// Garment on the pallet before the flash, s.
    pub load_time: f64,
    /// Garment on the pallet after the flash, s.
    pub ride_time: f64,
    /// Pallet empty, s.
    pub empty_time: f64,
    /// Contact resistance, m²·K/W.
    pub contact: f64,
    /// Loss from each open face of the pallet, W/(m²·K).
    pub loss: f64,
    /// Room, K.
    pub room: f64,
}

/// Pallet temperature at the start of the next cycle from that of this one: `share` · T + `gain`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recursion {
    /// A, between 0 and 1.
    pub share: f64,
    /// B, K.
    pub gain: f64,
}

impl Recursion {
    /// Temperature at the start of a cycle once it no longer changes: B/(1 − A).
    #[must_use]
    pub fn steady(&self) -> f64 {
        self.gain / (1.0 - self.share)
    }

    /// Temperature at the start of the cycle after `cycles` cycles from `start`: T* + (T₀ − T*)·Aⁿ.
    #[must_use]
    pub fn after(&self, start: f64, cycles: f64) -> f64 {
        let steady = self.steady();
        steady + (start - steady) * libm::pow(self.share, cycles)
    }

    /// Whole cycles until the start-of-cycle temperature is at or above `level`: ⌈ln((T* − T_L)/(T* − T₀))/ln A⌉.
    ///
    /// # Errors
    /// [`Outside::Never`] where the steady temperature stays at or below the level.
    pub fn cycles_to(&self, start: f64, level: f64) -> Result<f64, Outside> {
        let steady = self.steady();
        if start >= level {
            Ok(0.0)
        } else if steady > level {
            Ok((libm::log((steady - level) / (steady - start)) / libm::log(self.share)).ceil())
        } else {
            Err(Outside::Never(
                "the pallet does not come to that temperature",
            ))
        }
    }
}

impl Cycle {
    /// Pallet temperature after one cycle that starts at `pallet`, K, with the pallet coupled to the garment throughout.
    ///
    /// # Errors
    /// As [`run`].
    pub fn after_one(&self, pallet: f64, settings: Settings) -> Result<f64, Outside> {
        let back = Back::Pallet {
            resistance: self.contact,
            loss: self.loss,
            room: self.room,
        };
        let rest = |time: f64| Zone {
            back,
            ..Zone::room(time, self.loss, self.room, 1500.0)
        };
        let zones = [
            rest(self.load_time),
            Zone { back, ..self.flash },
            rest(self.ride_time),
        ];
        let pass = run(
            &self.body,
            &zones,
            zones.len(),
            Start {
                film: self.garment,
                pallet,
            },
            settings,
        )?;
        let off = pass.at_exit(Place::Pallet);
        let cooled = libm::exp(-self.empty_time * 2.0 * self.loss / self.body.pallet_capacity);
        let next = self.room + (off - self.room) * cooled;
        let sound = self.empty_time >= 0.0 && next.is_finite();
        if sound {
            Ok(next)
        } else {
            Err(Outside::Together(
                "the cycle's times and losses must be numbers, none below zero",
            ))
        }
    }

    /// The recursion, from two cycles (exact for a dry garment under a constant flux; a panel or ink water bends it by
    /// a few tenths of a kelvin).
    ///
    /// # Errors
    /// As [`run`]; also a pallet without capacity.
    pub fn recursion(&self, settings: Settings) -> Result<Recursion, Outside> {
        if self.body.pallet_capacity <= 0.0 {
            return Err(Outside::Together(
                "the pallet needs a heat capacity above zero",
            ));
        }
        let (cold, warm) = (self.room, self.room + 50.0);
        let (after_cold, after_warm) = (
            self.after_one(cold, settings)?,
            self.after_one(warm, settings)?,
        );
        let share = (after_warm - after_cold) / (warm - cold);
        if share > 0.0 && share < 1.0 {
            Ok(Recursion {
                share,
                gain: after_cold - share * cold,
            })
        } else {
            Err(Outside::Together(
                "the pallet gives no heat away, so it has no steady temperature",
            ))
        }
    }
}
