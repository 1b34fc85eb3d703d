//! The tunnel read off one probe log: heat transfer and radiant flux, by the tunnel's own engine.
//!
//! A one-temperature model fitted to the same log is off by several kelvin, so the engine is used. The values are
//! *effective*: they take up what is wrong in the assumed regain, masses and air temperature. Trust what they predict near
//! the logged setting; do not move the air by more than 20 K from it.

use super::Reading;
use crate::physics::function::Outside;
use crate::physics::least_squares::{Fitted, Unknown, fit};
use crate::physics::thermal::{Body, Place, Settings, Start, Zone, run};

/// First guess and bounds of the heat transfer above, W/(m²·K).
const TRANSFER: Unknown = Unknown {
    guess: 25.0,
    low: 3.0,
    high: 120.0,
};
/// First guess and bounds of the absorbed flux, W/m².
const FLUX: Unknown = Unknown {
    guess: 2500.0,
    low: 0.0,
    high: 20_000.0,
};

/// What a log says of a tunnel.
#[derive(Debug, Clone, PartialEq)]
pub struct TunnelFit {
    /// Heat transfer from the air above, W/(m²·K), and its standard error.
    pub transfer: (f64, f64),
    /// Absorbed radiant flux, W/m², and its standard error.
    pub flux: (f64, f64),
    /// How far the two are confused with each other, −1 to 1.
    pub correlation: f64,
    /// Root mean square of log minus model, K.
    pub residual: f64,
    /// Whether the search came to rest.
    pub settled: bool,
}

/// Heat transfer and flux that give this log of the heating part of a pass, measured where ink meets fabric.
///
/// `air` K is the air on both sides, `below_over_above` the ratio of the two heat transfers, `start` K the print at the
/// first reading. The log must end before the exit.
///
/// # Errors
/// As [`run`] and [`fit`], and [`Outside::Together`] for a log whose time does not advance or that starts before 0.
pub fn transfer_and_flux(
    readings: &[Reading],
    body: &Body,
    air: f64,
    below_over_above: f64,
    start: f64,
) -> Result<TunnelFit, Outside> {
    let advances = readings.windows(2).all(|w| w[0].0 < w[1].0);
    let (Some(&(first, _)), Some(&(last, _)), true) = (readings.first(), readings.last(), advances)
    else {
        return Err(Outside::Together(
            "a log needs readings whose time advances",
        ));
    };
    if !(first >= 0.0 && last.is_finite()) {
        return Err(Outside::Together(
            "a log starts at or after the entry, at 0 s",
        ));
    }
    let temperatures: Vec<f64> = readings.iter().map(|r| r.1).collect();
    let model = |x: &[f64]| {
        let zone = Zone {
            transfer_below: x[0] * below_over_above,
            flux: x[1],
            ..Zone::room(last + 0.5, x[0], air, 1500.0)
        };
        let from = Start {
            film: start,
            pallet: start,
        };
        let pass = run(body, &[zone], 1, from, Settings::CHECK)?;
        Ok(readings
            .iter()
            .map(|r| pass.at(Place::Boundary, r.0))
            .collect())
    };
    let Fitted {
        values,
        errors,
        correlation,
        residual,
        settled,
    } = fit(model, &temperatures, &[TRANSFER, FLUX])?;
    Ok(TunnelFit {
        transfer: (values[0], errors[0]),
        flux: (values[1], errors[1]),
        correlation: correlation[0][1],
        residual,
        settled,
    })
}
