//! Dryers, garments and inks drawn at random from the usual ranges; the same every time.

use strikeoff::physics::{Function, functions};

/// A small linear congruential generator (Knuth's MMIX constants): the draws need no quality, only repeatability.
pub(crate) struct Draws(u64);

impl Draws {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(2).wrapping_add(1))
    }

    pub(crate) fn unit(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Start, ink and fabric in the order of the language's figures. Every third ink carries water.
    pub(crate) fn body(&mut self) -> Vec<f64> {
        let wet = self.unit() < 0.33;
        let cotton = self.unit();
        let regain = 0.004 + 0.076 * cotton;
        let mass = self.between(0.12, 0.34);
        vec![
            self.between(288.15, 313.15),
            if wet {
                self.between(0.015, 0.05)
            } else {
                self.between(0.03, 0.22)
            },
            if wet {
                self.between(3.0e-5, 1.0e-4)
            } else {
                self.between(2.5e-5, 2.0e-4)
            },
            self.between(1200.0, 1700.0),
            if wet {
                self.between(0.2, 0.5)
            } else {
                self.between(0.13, 0.20)
            },
            if wet { self.between(0.01, 0.08) } else { 0.0 },
            mass,
            mass / 0.2 * self.between(6.0e-4, 1.1e-3),
            self.between(1150.0, 1350.0),
            self.between(0.035, 0.08),
            regain * self.between(0.7, 1.2),
            regain,
        ]
    }

    /// One zone; with a panel or a flux when `lamps`.
    pub(crate) fn zone(&mut self, lamps: bool) -> Vec<f64> {
        let transfer = self.between(12.0, 60.0);
        let air = self.between(400.0, 460.0);
        vec![
            self.between(25.0, 110.0),
            air,
            air - self.between(0.0, 15.0),
            transfer,
            transfer * self.between(0.4, 1.0),
            self.between(520.0, 700.0),
            if lamps { self.between(0.05, 0.3) } else { 0.0 },
            if lamps && self.unit() < 0.3 {
                self.between(0.0, 2500.0)
            } else {
                0.0
            },
            self.between(1500.0, 6000.0),
            0.0,
            0.0,
        ]
    }

    /// Mouths and borders over which the air runs, and what lies under the print: one ply or two.
    pub(crate) fn lying(&mut self, x: &mut Vec<f64>, zones: usize) {
        for zone in 0..zones {
            let at = x.len() - ZONE * (zones - zone);
            let edge = self.between(0.02, 0.4);
            (x[at + ZONE - 2], x[at + ZONE - 1]) = (edge, edge);
        }
        let plies = if self.unit() < 0.5 { 1.0 } else { 2.0 };
        let path = self.between(1.0, 40.0);
        x.extend([
            plies,
            self.between(0.002, 0.01),
            path,
            self.between(288.0, 303.0),
        ]);
    }
}

/// Inputs of one zone.
pub(crate) const ZONE: usize = 11;

/// How a print lies on one ply: what lies under it and the air before the mouths say nothing.
pub(crate) const ONE_PLY: [f64; 4] = [1.0, 0.005, 0.0, 295.15];

pub(crate) fn named(name: &str) -> &'static Function {
    functions()
        .iter()
        .find(|f| f.name == name)
        .unwrap_or_else(|| panic!("no figure {name}"))
}
