//! Probe logs: what a temperature log of a pass is worth, what it says, and what it tells about the tunnel.
//!
//! A log is a row of readings (time in s, temperature in K), joined by straight lines. [`quality`] says where it is not
//! to be trusted; the metrics are exact for the joined line and are never smoothed; [`lag`] undoes a slow sensor;
//! [`transfer_and_flux`] reads the tunnel's heat transfer and radiant flux off one log, by the tunnel's own engine.

mod fit;
mod metrics;
mod quality;
mod smooth;

pub use fit::{TunnelFit, transfer_and_flux};
pub use metrics::{peak, reach, steepest, time_above, time_above_bounds};
pub use quality::{Flaw, Gates, quality};
pub use smooth::{at, lag, smooth};

/// A reading: time in s, temperature in K.
pub type Reading = (f64, f64);
