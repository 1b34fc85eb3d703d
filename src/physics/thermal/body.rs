//! What is heated (ink on fabric) and what heats it (a list of zones).

use crate::physics::function::Outside;
use crate::physics::props::STEFAN_BOLTZMANN;

/// An ink film on fabric, per square metre: on one ply, or on two that lie on each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Body {
    /// Dry ink, kg/m² (for plastisol the whole film).
    pub ink_mass: f64,
    /// Film thickness, m.
    pub ink_thickness: f64,
    /// Specific heat of dry ink, J/(kg·K).
    pub ink_heat: f64,
    /// Conductivity of the film, W/(m·K).
    pub ink_conductivity: f64,
    /// Water in the film at the start, kg/m².
    pub ink_water: f64,
    /// Dry fabric, kg/m².
    pub fabric_mass: f64,
    /// Fabric thickness, m.
    pub fabric_thickness: f64,
    /// Specific heat of dry fabric, J/(kg·K).
    pub fabric_heat: f64,
    /// Effective conductivity of the fabric, W/(m·K).
    pub fabric_conductivity: f64,
    /// Water in the fabric at the start, kg per kg of dry fabric.
    pub moisture: f64,
    /// Regain of the fibre mix at 65 % relative humidity; scales how tightly it holds water.
    pub regain: f64,
    /// Heat the pallet under the garment can store, J/(m²·K); zero where there is none.
    pub pallet_capacity: f64,
    /// The ply under the printed one, where there is one.
    pub lower: Option<Lower>,
    /// A film that was printed before, on the underside of all.
    pub underside: Option<Underside>,
}

/// A second ply of fabric under the printed one: the back of a garment that lies flat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lower {
    /// Dry fabric, kg/m².
    pub mass: f64,
    /// Thickness, m.
    pub thickness: f64,
    /// Specific heat of dry fabric, J/(kg·K).
    pub heat: f64,
    /// Effective conductivity, W/(m·K).
    pub conductivity: f64,
    /// Water at the start, kg per kg of dry fabric.
    pub moisture: f64,
    /// Regain of the fibre mix at 65 % relative humidity.
    pub regain: f64,
    /// Resistance to heat between the two plies, m²·K/W: about 0.005 where they lie on each other.
    pub contact: f64,
    /// How easily the upper ply's vapour comes to the belt, through the lower ply, along the gap and by the edges, told as
    /// a heat transfer, W/(m²·K): nothing where it cannot, without end where nothing is in its way.
    pub vapour_path: f64,
}

/// A film printed before that now lies on the underside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Underside {
    /// Dry ink, kg/m².
    pub mass: f64,
    /// Thickness, m.
    pub thickness: f64,
    /// Specific heat, J/(kg·K).
    pub heat: f64,
    /// Conductivity, W/(m·K).
    pub conductivity: f64,
    /// How easily vapour passes it, told as a heat transfer, W/(m²·K): nothing where it seals.
    pub vapour_path: f64,
}

/// What the back of the fabric meets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Back {
    /// Air through an open belt (`transfer_below`, `air_below`), where the fabric also dries.
    Belt,
    /// A pallet held at one temperature, through a contact resistance.
    Held {
        /// Contact resistance, m²·K/W.
        resistance: f64,
        /// Pallet temperature, K.
        temperature: f64,
    },
    /// The pallet of the body, which warms up, through a contact resistance.
    Pallet {
        /// Contact resistance, m²·K/W.
        resistance: f64,
        /// Loss from the pallet's underside, W/(m²·K).
        loss: f64,
        /// Room, K.
        room: f64,
    },
}

/// A stretch of time with constant surroundings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zone {
    /// Time spent in it, s (its length over the belt speed).
    pub time: f64,
    /// Heat transfer from the air above, W/(m²·K).
    pub transfer: f64,
    /// Air above, K.
    pub air: f64,
    /// Heat transfer from the air below, W/(m²·K).
    pub transfer_below: f64,
    /// Air below, K.
    pub air_below: f64,
    /// Absorbed radiation that does not depend on the film's temperature, W/m².
    pub flux: f64,
    /// Exchange factor with the panel above (view times emissivities), 0 to 1.
    pub panel_factor: f64,
    /// Panel above, K.
    pub panel: f64,
    /// Exchange factor with a panel below.
    pub panel_factor_below: f64,
    /// Panel below, K.
    pub panel_below: f64,
    /// Water-vapour pressure in the air, Pa.
    pub vapour: f64,
    /// How easily the fabric's vapour leaves where a pallet lies under it, told as a heat transfer, W/(m²·K): nothing
    /// where the pallet keeps it in. Over an open belt it is the transfer from below.
    pub drying: f64,
    /// What the back meets.
    pub back: Back,
}

impl Zone {
    /// Still room air on both sides: free cooling after the exit, or a rest.
    #[must_use]
    pub fn room(time: f64, transfer: f64, room: f64, vapour: f64) -> Self {
        Self {
            time,
            transfer,
            air: room,
            transfer_below: transfer,
            air_below: room,
            flux: 0.0,
            panel_factor: 0.0,
            panel: room,
            panel_factor_below: 0.0,
            panel_below: room,
            vapour,
            drying: 0.0,
            back: Back::Belt,
        }
    }

    /// How fast heat can arrive at the faster side, as a transfer coefficient, W/(m²·K).
    ///
    /// A panel counts by its slope at the mean of panel and film, a flux as if it came from 100 K away.
    pub(super) fn arriving(&self) -> f64 {
        let panel = |factor: f64, t: f64| {
            let mean = 0.5 * (t + 400.0);
            factor * 4.0 * STEFAN_BOLTZMANN * mean * mean * mean
        };
        let above = self.transfer + panel(self.panel_factor, self.panel) + self.flux / 100.0;
        let below = match self.back {
            Back::Belt => self.transfer_below + panel(self.panel_factor_below, self.panel_below),
            Back::Held { resistance, .. } | Back::Pallet { resistance, .. } => 1.0 / resistance,
        };
        above.max(below)
    }

    /// Whether every number is finite and of a sensible sign.
    pub(super) fn sound(&self) -> Result<(), Outside> {
        let temperatures = [self.air, self.air_below, self.panel, self.panel_below];
        let amounts = [
            self.time,
            self.transfer,
            self.transfer_below,
            self.flux,
            self.panel_factor,
            self.panel_factor_below,
            self.vapour,
            self.drying,
        ];
        let back = match self.back {
            Back::Belt => true,
            Back::Held {
                resistance,
                temperature,
            } => positive(resistance) && positive(temperature),
            Back::Pallet {
                resistance,
                loss,
                room,
            } => positive(resistance) && amount(loss) && positive(room),
        };
        if back && temperatures.into_iter().all(positive) && amounts.into_iter().all(amount) {
            Ok(())
        } else {
            Err(Outside::Together(
                "a zone needs finite numbers, none below zero",
            ))
        }
    }
}

impl Body {
    /// Whether every number is finite and of a sensible sign.
    pub(super) fn sound(&self) -> Result<(), Outside> {
        let above_zero = [
            self.ink_mass,
            self.ink_thickness,
            self.ink_heat,
            self.ink_conductivity,
            self.fabric_mass,
            self.fabric_thickness,
            self.fabric_heat,
            self.fabric_conductivity,
        ];
        let amounts = [self.ink_water, self.moisture, self.pallet_capacity];
        let sealed = |path: f64| path >= 0.0;
        let lower = self.lower.is_none_or(|of| {
            let above_zero = [of.mass, of.thickness, of.heat, of.conductivity, of.contact];
            above_zero.into_iter().all(positive) && amount(of.moisture) && sealed(of.vapour_path)
        });
        let underside = self.underside.is_none_or(|of| {
            let above_zero = [of.mass, of.thickness, of.heat, of.conductivity];
            above_zero.into_iter().all(positive) && sealed(of.vapour_path)
        });
        if !above_zero.into_iter().all(positive)
            || !amounts.into_iter().all(amount)
            || !lower
            || !underside
        {
            return Err(Outside::Together(
                "ink and fabric need masses, thicknesses, heats and conductivities above zero",
            ));
        }
        let dry = |of: &Lower| of.moisture <= 0.0 || positive(of.regain);
        if self.moisture > 0.0 && !positive(self.regain) || !self.lower.as_ref().is_none_or(dry) {
            return Err(Outside::Together(
                "a fabric that holds water needs a regain above zero",
            ));
        }
        Ok(())
    }
}

fn positive(x: f64) -> bool {
    x.is_finite() && x > 0.0
}

fn amount(x: f64) -> bool {
    x.is_finite() && x >= 0.0
}
