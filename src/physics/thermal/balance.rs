//! The heat and water balance of each node, with its slopes.
//!
//! Node-centred finite volumes: node 0 is the ink's surface, node `ink` the boundary between ink and fabric, node
//! `ink + fabric` the fabric's back, and one more node the pallet where the body has one. After the temperatures stand
//! two water stores: the film's and the fabric's, kg/m². Only the back is open to the fabric's vapour, because a film
//! seals the top; every fabric node has a vapour pressure of its own, which keeps hotter-and-drier an order that the
//! equations respect (and the corners of a tolerance exact).

use super::body::{Back, Body, Zone};
use crate::physics::props::{
    LATENT_SLOPE, STEFAN_BOLTZMANN, Sorption, WATER_HEAT, evaporation_with_slopes, latent_heat,
};

/// Film water, as a share of dry ink, below which water is no longer free.
const BOUND_WATER: f64 = 0.05;

/// The slopes of the balance: a tridiagonal block of temperatures, bordered by the two water stores.
pub(super) struct Slopes {
    pub(super) lower: Vec<f64>,
    pub(super) middle: Vec<f64>,
    pub(super) upper: Vec<f64>,
    /// Of each temperature by the film's water.
    pub(super) by_ink_water: Vec<f64>,
    /// Of each temperature by the fabric's water.
    pub(super) by_fabric_water: Vec<f64>,
    /// Of the film's water by the surface's temperature.
    pub(super) ink_water_by_surface: f64,
    /// Of the fabric's water by each temperature.
    pub(super) fabric_water: Vec<f64>,
    /// Of each store by itself.
    pub(super) stores: [f64; 2],
}

/// The constants of one body on one grid.
pub(super) struct Balance {
    ink: usize,
    /// Temperatures of film and fabric.
    film: usize,
    /// All temperatures.
    pub(super) temperatures: usize,
    conductance: Vec<f64>,
    ink_share: Vec<f64>,
    fabric_share: Vec<f64>,
    dry_capacity: Vec<f64>,
    sorption: Sorption,
    bound_water: f64,
    fabric_mass: f64,
    wet_ink: bool,
    wet_fabric: bool,
}

impl Balance {
    pub(super) fn new(body: &Body, ink: usize, fabric: usize) -> Self {
        let film = ink + fabric + 1;
        let temperatures = film + usize::from(body.pallet_capacity > 0.0);
        let mut conductance = vec![body.ink_conductivity * ink as f64 / body.ink_thickness; ink];
        conductance.extend(vec![
            body.fabric_conductivity * fabric as f64
                / body.fabric_thickness;
            fabric
        ]);
        let mut ink_share = vec![0.0; temperatures];
        let mut fabric_share = vec![0.0; temperatures];
        for j in 0..ink {
            ink_share[j] += 0.5 / ink as f64;
            ink_share[j + 1] += 0.5 / ink as f64;
        }
        for j in ink..film - 1 {
            fabric_share[j] += 0.5 / fabric as f64;
            fabric_share[j + 1] += 0.5 / fabric as f64;
        }
        let mut dry_capacity: Vec<f64> = ink_share
            .iter()
            .zip(&fabric_share)
            .map(|(i, f)| {
                i * body.ink_mass * body.ink_heat + f * body.fabric_mass * body.fabric_heat
            })
            .collect();
        if let Some(pallet) = dry_capacity.get_mut(film) {
            *pallet = body.pallet_capacity;
        }
        Self {
            ink,
            film,
            temperatures,
            conductance,
            ink_share,
            fabric_share,
            dry_capacity,
            sorption: Sorption::of_regain(body.regain),
            bound_water: BOUND_WATER * body.ink_mass,
            fabric_mass: body.fabric_mass,
            wet_ink: body.ink_water > 0.0,
            wet_fabric: body.moisture > 0.0,
        }
    }

    /// Number of unknowns.
    pub(super) fn size(&self) -> usize {
        self.temperatures + 2
    }

    /// Whether the water stores can change at all.
    pub(super) fn wet(&self) -> bool {
        self.wet_ink || self.wet_fabric
    }

    /// Where surface, boundary, back and pallet stand in the state.
    pub(super) fn places(&self) -> [usize; 4] {
        [0, self.ink, self.film - 1, self.temperatures - 1]
    }

    pub(super) fn slopes(&self) -> Slopes {
        let zeros = || vec![0.0; self.temperatures];
        Slopes {
            lower: zeros(),
            middle: zeros(),
            upper: zeros(),
            by_ink_water: zeros(),
            by_fabric_water: zeros(),
            ink_water_by_surface: 0.0,
            fabric_water: zeros(),
            stores: [0.0; 2],
        }
    }

    /// Rates of change of the state `y`, and their slopes when `SLOPES`.
    pub(super) fn rates<const SLOPES: bool>(
        &self,
        zone: &Zone,
        y: &[f64],
        rate: &mut [f64],
        slopes: &mut Slopes,
    ) {
        let count = self.temperatures;
        let (ink_water, fabric_water) = (y[count].max(0.0), y[count + 1].max(0.0));
        rate.fill(0.0);
        if SLOPES {
            slopes.clear();
        }
        self.conduct::<SLOPES>(y, rate, slopes);
        self.surroundings::<SLOPES>(zone, y, rate, slopes);
        if self.wet_ink && zone.transfer > 0.0 {
            self.dry_ink::<SLOPES>(zone, ink_water, y, rate, slopes);
        }
        if self.wet_fabric && zone.transfer_below > 0.0 && zone.back == Back::Belt {
            self.dry_fabric::<SLOPES>(zone, fabric_water, y, rate, slopes);
        }
        for (j, rate) in rate.iter_mut().enumerate().take(count) {
            let water = self.ink_share[j] * ink_water + self.fabric_share[j] * fabric_water;
            let capacity = self.dry_capacity[j] + WATER_HEAT * water;
            *rate /= capacity;
            if SLOPES {
                slopes.lower[j] /= capacity;
                slopes.middle[j] /= capacity;
                slopes.upper[j] /= capacity;
                let heavier = WATER_HEAT * *rate;
                if y[count] > 0.0 {
                    slopes.by_ink_water[j] -= heavier * self.ink_share[j];
                }
                if y[count + 1] > 0.0 {
                    slopes.by_fabric_water[j] -= heavier * self.fabric_share[j];
                }
                slopes.by_ink_water[j] /= capacity;
                slopes.by_fabric_water[j] /= capacity;
            }
        }
    }

    fn conduct<const SLOPES: bool>(&self, y: &[f64], rate: &mut [f64], slopes: &mut Slopes) {
        for (j, &g) in self.conductance.iter().enumerate() {
            exchange::<SLOPES>(j, g, y, rate, slopes);
        }
    }

    fn surroundings<const SLOPES: bool>(
        &self,
        zone: &Zone,
        y: &[f64],
        rate: &mut [f64],
        slopes: &mut Slopes,
    ) {
        let back = self.film - 1;
        rate[0] += zone.transfer * (zone.air - y[0])
            + zone.flux
            + zone.panel_factor * radiation(zone.panel, y[0]);
        if SLOPES {
            slopes.middle[0] -= zone.transfer + zone.panel_factor * radiation_slope(y[0]);
        }
        match zone.back {
            Back::Belt => {
                rate[back] += zone.transfer_below * (zone.air_below - y[back])
                    + zone.panel_factor_below * radiation(zone.panel_below, y[back]);
                if SLOPES {
                    slopes.middle[back] -=
                        zone.transfer_below + zone.panel_factor_below * radiation_slope(y[back]);
                }
            }
            Back::Held {
                resistance,
                temperature,
            } => {
                rate[back] += (temperature - y[back]) / resistance;
                if SLOPES {
                    slopes.middle[back] -= 1.0 / resistance;
                }
            }
            Back::Pallet {
                resistance,
                loss,
                room,
            } => {
                if self.temperatures > self.film {
                    exchange::<SLOPES>(back, 1.0 / resistance, y, rate, slopes);
                    rate[self.film] += loss * (room - y[self.film]);
                    if SLOPES {
                        slopes.middle[self.film] -= loss;
                    }
                }
            }
        }
    }

    /// Water leaves the film at its surface, at an activity that falls as the film dries.
    fn dry_ink<const SLOPES: bool>(
        &self,
        zone: &Zone,
        water: f64,
        y: &[f64],
        rate: &mut [f64],
        slopes: &mut Slopes,
    ) {
        let dryness = libm::exp(-water / self.bound_water);
        let flow = evaporation_with_slopes(zone.transfer, 1.0 - dryness, y[0], zone.vapour);
        let latent = latent_heat(y[0]);
        rate[0] -= flow.rate * latent;
        rate[self.temperatures] = -flow.rate;
        if SLOPES {
            slopes.middle[0] -= flow.by_temperature * latent + flow.rate * LATENT_SLOPE;
            slopes.ink_water_by_surface = -flow.by_temperature;
            if y[self.temperatures] > 0.0 {
                let by_water = flow.by_activity * dryness / self.bound_water;
                slopes.by_ink_water[0] -= by_water * latent;
                slopes.stores[0] = -by_water;
            }
        }
    }

    /// Water leaves every part of the fabric, and pays the heat of sorption as well.
    fn dry_fabric<const SLOPES: bool>(
        &self,
        zone: &Zone,
        water: f64,
        y: &[f64],
        rate: &mut [f64],
        slopes: &mut Slopes,
    ) {
        let moisture = water / self.fabric_mass;
        let (activity, by_moisture) = self.sorption.activity_and_slope(moisture);
        if activity <= 1.0e-9 {
            return;
        }
        let bound = self.sorption.heat(moisture);
        let mut lost = 0.0;
        for j in self.ink..self.film {
            let share = self.fabric_share[j];
            let flow = evaporation_with_slopes(zone.transfer_below, activity, y[j], zone.vapour);
            let heat = latent_heat(y[j]) + bound;
            rate[j] -= share * flow.rate * heat;
            lost += share * flow.rate;
            if SLOPES {
                let by_water = flow.by_activity * by_moisture / self.fabric_mass;
                let bound_by_water = self.sorption.heat_slope(bound) / self.fabric_mass;
                slopes.middle[j] -= share * (flow.by_temperature * heat + flow.rate * LATENT_SLOPE);
                slopes.by_fabric_water[j] -= share * (by_water * heat + flow.rate * bound_by_water);
                slopes.fabric_water[j] = -share * flow.by_temperature;
                slopes.stores[1] -= share * by_water;
            }
        }
        rate[self.temperatures + 1] = -lost;
    }
}

impl Slopes {
    fn clear(&mut self) {
        for part in [
            &mut self.lower,
            &mut self.middle,
            &mut self.upper,
            &mut self.by_ink_water,
            &mut self.by_fabric_water,
            &mut self.fabric_water,
        ] {
            part.fill(0.0);
        }
        self.ink_water_by_surface = 0.0;
        self.stores = [0.0; 2];
    }
}

/// Heat flows between node `j` and the next through conductance `g`.
fn exchange<const SLOPES: bool>(
    j: usize,
    g: f64,
    y: &[f64],
    rate: &mut [f64],
    slopes: &mut Slopes,
) {
    let flow = g * (y[j] - y[j + 1]);
    rate[j] -= flow;
    rate[j + 1] += flow;
    if SLOPES {
        slopes.middle[j] -= g;
        slopes.middle[j + 1] -= g;
        slopes.upper[j] += g;
        slopes.lower[j + 1] += g;
    }
}

fn radiation(panel: f64, surface: f64) -> f64 {
    let (p, s) = (panel * panel, surface * surface);
    STEFAN_BOLTZMANN * (p * p - s * s)
}

fn radiation_slope(surface: f64) -> f64 {
    4.0 * STEFAN_BOLTZMANN * surface * surface * surface
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every hand-written slope against central differences, wet and nearly dry, on a belt and on a pallet.
    #[test]
    fn slopes_are_those_of_the_rates() {
        let body = Body {
            ink_mass: 0.03,
            ink_thickness: 6.0e-5,
            ink_heat: 1400.0,
            ink_conductivity: 0.3,
            ink_water: 0.04,
            fabric_mass: 0.18,
            fabric_thickness: 7.0e-4,
            fabric_heat: 1300.0,
            fabric_conductivity: 0.05,
            moisture: 0.075,
            regain: 0.06,
            pallet_capacity: 9000.0,
        };
        let belt = Zone {
            flux: 500.0,
            panel: 600.0,
            panel_factor: 0.2,
            panel_below: 500.0,
            panel_factor_below: 0.1,
            ..Zone::room(1.0, 30.0, 440.0, 3000.0)
        };
        let pallet = Zone {
            back: Back::Pallet {
                resistance: 5.0e-3,
                loss: 8.0,
                room: 298.0,
            },
            ..belt
        };
        let held = Zone {
            back: Back::Held {
                resistance: 5.0e-3,
                temperature: 320.0,
            },
            ..belt
        };
        let balance = Balance::new(&body, 2, 3);
        let size = balance.size();
        let count = balance.temperatures;
        for zone in [belt, pallet, held] {
            for (ink, fabric) in [(0.04, 0.0135), (0.002, 0.001), (1.0e-5, 2.0e-5)] {
                let mut y: Vec<f64> = (0..size).map(|j| 330.0 + 3.0 * j as f64).collect();
                (y[count], y[count + 1]) = (ink, fabric);
                let (mut slopes, mut rate) = (balance.slopes(), vec![0.0; size]);
                balance.rates::<true>(&zone, &y, &mut rate, &mut slopes);
                for column in 0..size {
                    let step = if column < count {
                        1.0e-4
                    } else {
                        1.0e-4 * y[column]
                    };
                    let shifted = |by: f64| {
                        let mut moved = y.clone();
                        moved[column] += by;
                        let mut out = vec![0.0; size];
                        balance.rates::<false>(&zone, &moved, &mut out, &mut balance.slopes());
                        out
                    };
                    let (up, down) = (shifted(step), shifted(-step));
                    for row in 0..size {
                        let expected = (up[row] - down[row]) / (2.0 * step);
                        let got = entry(&slopes, count, row, column);
                        assert!(
                            (got - expected).abs() <= 1.0e-4 * expected.abs() + 1.0e-7,
                            "row {row}, column {column}: {got} against {expected} in {:?}",
                            zone.back
                        );
                    }
                }
            }
        }
    }

    fn entry(slopes: &Slopes, count: usize, row: usize, column: usize) -> f64 {
        if row < count {
            match column {
                c if c == count => slopes.by_ink_water[row],
                c if c == count + 1 => slopes.by_fabric_water[row],
                c if c == row => slopes.middle[row],
                c if c == row + 1 => slopes.upper[row],
                c if c + 1 == row => slopes.lower[row],
                _ => 0.0,
            }
        } else if row == column {
            slopes.stores[row - count]
        } else if row == count {
            if column == 0 {
                slopes.ink_water_by_surface
            } else {
                0.0
            }
        } else {
            slopes.fabric_water.get(column).copied().unwrap_or(0.0)
        }
    }
}
