//! Heat and water in an ink film on fabric: one engine for the tunnel, the flash and the drying of water.
//!
//! A transient model in one dimension of two layers with two water stores, driven by a list of zones ([`run`]); the
//! figures are read off the [`Pass`] it leaves. Flat print on one ply or two, away from seams, film up to 300 µm,
//! 0 to 220 °C; above that the number says *too hot*, not how hot. Air temperature is the air at the print, not the
//! controller's sensor. Reaction and fusion heat of the ink, solvents other than water, and the colour of the ink under
//! short-wave lamps are not modelled.
//!
//! Against a fine grid (12 + 40 cells, a hundredth of the step error) the check grid is within 0.3 K of the peak, 0.15 s of the time to reach a
//! temperature, 0.25 s of the time above one and 1.5 % of the dose; the first two seconds of the back may be off by more.

mod balance;
mod body;
mod factors;
mod figure;
mod inputs;
mod mouths;
mod pass;
mod row;
mod solver;
mod tunnel;

pub use body::{Back, Body, Lower, Underside, Zone};
pub use mouths::{BeltStretch, Edges, stretches};
pub use pass::{Pass, Place, Stretch};
pub use solver::{Settings, Start, run};

pub(super) use figure::warm_direction;
pub(super) use inputs::{BODY, INK_MASS, RATIOS, body_of};
pub(crate) use tunnel::keeps_what_was_reached;
pub(super) use tunnel::{HEAT, ROWS, entrance, followed, pass_inputs, zone_times};
