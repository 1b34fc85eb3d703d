//! Boxes and points drawn at random for any figure of the table; the same on every run.

use strikeoff::physics::{Function, Parameter};

/// SplitMix64 (public domain).
pub(crate) struct Random(pub(crate) u64);

impl Random {
    pub(crate) fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }
}

/// Figures worked by the heat engine.
pub(crate) fn is_heat(function: &Function) -> bool {
    function.parameters.iter().any(|p| p.name == "ink-mass")
}

fn is_count(parameter: &Parameter) -> bool {
    matches!(parameter.dimension, "count" | "pieces")
}

/// A usual value of one input of a heat figure; further zones' inputs end in `-2` and `-3`.
fn usual(function: &Function, name: &str, r: &mut Random) -> Option<f64> {
    let flash = function.parameters.iter().any(|p| p.name == "pallet");
    let name = name
        .strip_suffix("-2")
        .or_else(|| name.strip_suffix("-3"))
        .unwrap_or(name);
    Some(match name {
        "start" => r.between(288.15, 318.15),
        "ink-mass" => r.between(0.02, 0.22),
        "ink-thickness" => r.between(3.0e-5, 2.0e-4),
        "ink-heat" => r.between(1200.0, 1700.0),
        "ink-conductivity" => r.between(0.13, 0.3),
        "ink-water" => {
            if r.unit() < 0.6 {
                0.0
            } else {
                r.between(0.01, 0.06)
            }
        }
        "fabric-mass" => r.between(0.12, 0.34),
        "fabric-thickness" => r.between(5.0e-4, 1.8e-3),
        "fabric-heat" => r.between(1150.0, 1350.0),
        "fabric-conductivity" => r.between(0.035, 0.08),
        "moisture" => r.between(0.003, 0.09),
        "regain" => r.between(0.01, 0.08),
        "time" if flash => r.between(2.0, 9.0),
        "time" => r.between(20.0, 110.0),
        "air" if flash => r.between(300.0, 345.0),
        "air" | "air-below" => r.between(390.0, 460.0),
        "heat-transfer" if flash => r.between(5.0, 20.0),
        "heat-transfer" | "heat-transfer-below" => r.between(12.0, 60.0),
        "panel" if flash => r.between(700.0, 1000.0),
        "panel" => r.between(500.0, 700.0),
        "panel-factor" => {
            if r.unit() < 0.4 {
                0.0
            } else {
                r.between(0.05, 0.3)
            }
        }
        "flux" if flash => r.between(3000.0, 12_000.0),
        "flux" => {
            if r.unit() < 0.7 {
                0.0
            } else {
                r.between(0.0, 2500.0)
            }
        }
        "vapour" => r.between(1500.0, 6000.0),
        "pallet" => r.between(295.0, 345.0),
        "contact" => r.between(0.002, 0.01),
        "capacity" => r.between(8000.0, 30_000.0),
        "loss" => r.between(5.0, 20.0),
        // A quarter of the tunnels with ramps, half of the prints on two plies.
        "edge-inside" | "edge-outside" => {
            if r.unit() < 0.6 {
                0.0
            } else {
                r.between(0.02, 0.5)
            }
        }
        "plies" => {
            if r.unit() < 0.6 {
                1.0
            } else {
                2.0
            }
        }
        "ply-contact" => r.between(0.002, 0.02),
        "vapour-path" => r.between(0.0, 40.0),
        "mouth-air" => r.between(288.15, 303.15),
        "drying" => {
            if r.unit() < 0.5 {
                0.0
            } else {
                r.between(0.5, 15.0)
            }
        }
        "share-left" => r.between(0.05, 0.5),
        "room-air" => r.between(288.15, 303.15),
        "room-heat-transfer" => r.between(6.0, 15.0),
        "cooling-time" => r.between(10.0, 90.0),
        "load-time" | "ride-time" | "empty-time" => r.between(2.0, 40.0),
        "flash-time" => r.between(2.0, 9.0),
        "cycles" => r.between(1.0, 300.0),
        "level" if flash => r.between(365.0, 411.0),
        "level" => r.between(380.0, 440.0),
        "reference" => r.between(413.15, 443.15),
        "passed-temperature" => r.between(413.15, 483.15),
        "passed-time" => r.between(15.0, 60.0),
        "energy" => r.between(30_000.0, 300_000.0),
        "factor" => r.between(0.5, 3.0),
        _ => return None,
    })
}

/// A point to put a box around: usual values for heat, anything in the ranges for closed forms.
pub(crate) fn nominal(function: &Function, random: &mut Random) -> Vec<f64> {
    let heat = is_heat(function);
    function
        .parameters
        .iter()
        .map(|p| {
            if heat {
                return usual(function, p.name, random).unwrap_or_else(|| {
                    panic!("no usual value for `{}` of `{}`", p.name, function.name)
                });
            }
            // By order of magnitude half of the time: a range may span seven decades.
            let value = if random.unit() < 0.5 && p.high > 0.0 {
                let floor = if p.low > 0.0 { p.low } else { p.high * 1e-6 };
                (floor * (p.high / floor).powf(random.unit())).clamp(p.low, p.high)
            } else {
                random.between(p.low, p.high)
            };
            if is_count(p) { value.round() } else { value }
        })
        .collect()
}

/// Tolerances around a point: half of the inputs are exact, the others up to 12 % or 6 K either way; counts stay whole.
pub(crate) fn tolerances(function: &Function, at: &[f64], random: &mut Random) -> Vec<(f64, f64)> {
    function
        .parameters
        .iter()
        .zip(at)
        .map(|(p, &x)| {
            if random.unit() < 0.5 {
                return (x, x);
            }
            let share = random.unit();
            let half = if p.dimension == "temperature" {
                6.0 * share
            } else {
                0.12 * share * x.abs()
            };
            let (low, high) = (
                (x - half).clamp(p.low, p.high),
                (x + half).clamp(p.low, p.high),
            );
            if is_count(p) {
                (low.ceil().min(x), high.floor().max(x))
            } else {
                (low, high)
            }
        })
        .collect()
}

/// A point of the box: each input at an end, in the middle, or anywhere.
pub(crate) fn point(function: &Function, inputs: &[(f64, f64)], random: &mut Random) -> Vec<f64> {
    let corners = random.unit();
    inputs
        .iter()
        .zip(function.parameters)
        .map(|(&(low, high), p)| {
            let value = if random.unit() < corners {
                match random.unit() {
                    pick if pick < 0.4 => low,
                    pick if pick < 0.8 => high,
                    _ => 0.5 * (low + high),
                }
            } else {
                random.between(low, high)
            };
            let value = value.clamp(low, high);
            if is_count(p) { value.round() } else { value }
        })
        .collect()
}
