//! The heat and water balance of each node, with its slopes.
//!
//! Node-centred finite volumes: node 0 is the ink's surface, node `ink` the boundary between ink and fabric, node
//! `ink + fabric` the fabric's back, and one more node the pallet where the body has one. Beside the temperatures stand
//! two water stores: the film's and the fabric's, kg/m². Only the back is open to the fabric's vapour, because a film
//! seals the top; every fabric node has a vapour pressure of its own, which keeps hotter-and-drier an order that the
//! equations respect (and the corners of a tolerance exact).

use super::body::{Back, Body, Zone};
use super::row::Row;
use super::solver::Cooling;
use crate::physics::props::{
    LATENT_SLOPE, STEFAN_BOLTZMANN, Sorption, WATER_HEAT, Wet, evaporation_with_slopes, latent_heat,
};

/// Film water, as a share of dry ink, below which water is no longer free.
const BOUND_WATER: f64 = 0.05;
/// Fabric's water activity below which it no longer dries.
const NO_ACTIVITY: f64 = 1.0e-9;

/// Temperatures, K, and the two water stores, kg/m²; or their rates of change.
#[derive(Clone)]
pub(super) struct State<R> {
    pub(super) warm: R,
    pub(super) water: [f64; 2],
}

/// The slopes of the balance: a tridiagonal block of temperatures, bordered by the two water stores.
#[derive(Clone)]
pub(super) struct Slopes<R> {
    pub(super) lower: R,
    pub(super) middle: R,
    pub(super) upper: R,
    /// Of each temperature by the film's water.
    pub(super) by_ink_water: R,
    /// Of each temperature by the fabric's water.
    pub(super) by_fabric_water: R,
    /// Of the film's water by the surface's temperature.
    pub(super) ink_water_by_surface: f64,
    /// Of the fabric's water by each temperature.
    pub(super) fabric_water: R,
    /// Of each store by itself.
    pub(super) stores: [f64; 2],
}

/// The constants of one body on one grid.
pub(super) struct Balance<R> {
    ink: usize,
    /// Temperatures of film and fabric.
    film: usize,
    /// From each node to the next; none from the last.
    conductance: R,
    /// What conduction adds to each node's own slope.
    conducted: R,
    ink_share: R,
    fabric_share: R,
    dry_capacity: R,
    /// What each node takes to cool where the run is a bound: that of another body, with all of its water or none.
    cooling_capacity: R,
    sorption: Sorption,
    bound_water: f64,
    fabric_mass: f64,
    wet_ink: bool,
    wet_fabric: bool,
}

/// Number of temperatures on a grid of these intervals.
pub(super) fn temperatures(body: &Body, ink: usize, fabric: usize) -> usize {
    ink + fabric + 1 + usize::from(body.pallet_capacity > 0.0)
}

impl<R: Row> Balance<R> {
    /// `cooling` says what counts where heat leaves, in a run that is a bound.
    pub(super) fn new(
        body: &Body,
        cooling: Option<Cooling<'_>>,
        ink: usize,
        fabric: usize,
    ) -> Self {
        let film = ink + fabric + 1;
        let count = temperatures(body, ink, fabric);
        let row = || R::zeros(count);
        let [
            mut conductance,
            mut conducted,
            mut ink_share,
            mut fabric_share,
            mut dry_capacity,
            mut cooling_capacity,
        ] = std::array::from_fn(|_| row());
        let in_ink = body.ink_conductivity * ink as f64 / body.ink_thickness;
        let in_fabric = body.fabric_conductivity * fabric as f64 / body.fabric_thickness;
        for j in 0..film - 1 {
            let (share, g, intervals) = if j < ink {
                (ink_share.as_mut(), in_ink, ink)
            } else {
                (fabric_share.as_mut(), in_fabric, fabric)
            };
            share[j] += 0.5 / intervals as f64;
            share[j + 1] += 0.5 / intervals as f64;
            conductance.as_mut()[j] = g;
            conducted.as_mut()[j] -= g;
            conducted.as_mut()[j + 1] -= g;
        }
        let dry = (
            body.ink_mass * body.ink_heat,
            body.fabric_mass * body.fabric_heat,
        );
        let cooling = cooling.map_or(dry, |cooling| {
            let other = cooling.body;
            let (ink, fabric) = (
                other.ink_mass * other.ink_heat,
                other.fabric_mass * other.fabric_heat,
            );
            if !cooling.hottest {
                return (ink, fabric);
            }
            // What cools slowest is as wet as it was: how wet the heavier one still is, is not known here.
            let water = other.moisture * other.fabric_mass;
            (
                ink + WATER_HEAT * other.ink_water,
                fabric + WATER_HEAT * water,
            )
        });
        for (capacities, (of_ink, of_fabric)) in
            [(&mut dry_capacity, dry), (&mut cooling_capacity, cooling)]
        {
            for (j, capacity) in capacities.as_mut().iter_mut().enumerate() {
                *capacity = ink_share.as_ref()[j] * of_ink + fabric_share.as_ref()[j] * of_fabric;
            }
            if let Some(pallet) = capacities.as_mut().get_mut(film) {
                *pallet = body.pallet_capacity;
            }
        }
        Self {
            ink,
            film,
            conductance,
            conducted,
            ink_share,
            fabric_share,
            dry_capacity,
            cooling_capacity,
            sorption: Sorption::of_regain(body.regain),
            bound_water: BOUND_WATER * body.ink_mass,
            fabric_mass: body.fabric_mass,
            wet_ink: body.ink_water > 0.0,
            wet_fabric: body.moisture > 0.0,
        }
    }

    /// Number of temperatures.
    pub(super) fn count(&self) -> usize {
        self.dry_capacity.as_ref().len()
    }

    /// Whether the water stores can change at all.
    pub(super) fn wet(&self) -> bool {
        self.wet_ink || self.wet_fabric
    }

    /// Where surface, boundary, back and pallet stand among the temperatures.
    pub(super) fn places(&self) -> [usize; 4] {
        [0, self.ink, self.film - 1, self.count() - 1]
    }

    /// A row of zeros.
    pub(super) fn row(&self) -> R {
        R::zeros(self.count())
    }

    /// A state of zeros.
    pub(super) fn state(&self) -> State<R> {
        State {
            warm: self.row(),
            water: [0.0; 2],
        }
    }

    pub(super) fn slopes(&self) -> Slopes<R> {
        Slopes {
            lower: self.row(),
            middle: self.row(),
            upper: self.row(),
            by_ink_water: self.row(),
            by_fabric_water: self.row(),
            ink_water_by_surface: 0.0,
            fabric_water: self.row(),
            stores: [0.0; 2],
        }
    }

    /// Rates of change of a state, and their slopes when `SLOPES`.
    ///
    /// With a zone for `cooling` they are a bound: of the two zones and bodies, that counts at each node which takes its
    /// temperature further the one way. The equations keep that order (Kamke-Müller), so it bounds all that lies between.
    pub(super) fn rates<const SLOPES: bool>(
        &self,
        zone: &Zone,
        cooling: Option<&Zone>,
        at: &State<R>,
        rate: &mut State<R>,
        slopes: &mut Slopes<R>,
    ) {
        let water = at.water.map(|w| w.max(0.0));
        rate.water = [0.0; 2];
        if SLOPES {
            slopes.by_ink_water.as_mut().fill(0.0);
            slopes.by_fabric_water.as_mut().fill(0.0);
            slopes.fabric_water.as_mut().fill(0.0);
            slopes.ink_water_by_surface = 0.0;
            slopes.stores = [0.0; 2];
        }
        let bound = cooling.map(|cooling| self.where_heat_leaves(zone, cooling, at));
        let drying = [zone.transfer, zone.transfer_below];
        let zone = bound.as_ref().unwrap_or(zone);
        self.conduct::<SLOPES>(at, rate, slopes);
        self.surroundings::<SLOPES>(zone, at, rate, slopes);
        if self.wet_ink && zone.transfer > 0.0 {
            self.dry_ink::<SLOPES>(zone, water[0], at, rate, slopes);
        }
        if self.wet_fabric && zone.transfer_below > 0.0 && zone.back == Back::Belt {
            self.dry_fabric::<SLOPES>(zone, water[1], at, rate, slopes);
        }
        if cooling.is_some() {
            // What cools less by less transfer dries no less for it: of each the further.
            for (store, (drying, by)) in drying
                .into_iter()
                .zip([zone.transfer, zone.transfer_below])
                .enumerate()
            {
                if by > 0.0 && drying != by {
                    let share = drying / by;
                    rate.water[store] *= share;
                    slopes.stores[store] *= share;
                    if store == 0 {
                        slopes.ink_water_by_surface *= share;
                    } else {
                        let each = slopes.fabric_water.as_mut().iter_mut();
                        each.for_each(|slope| *slope *= share);
                    }
                }
            }
            self.by_capacity::<SLOPES, true>(water, at, rate, slopes);
        } else {
            self.by_capacity::<SLOPES, false>(water, at, rate, slopes);
        }
    }

    /// A zone with the other one's heat transfer on a side that is hotter than its air.
    fn where_heat_leaves(&self, zone: &Zone, cooling: &Zone, at: &State<R>) -> Zone {
        let warm = at.warm.as_ref();
        let mut bound = *zone;
        if warm[0] > zone.air {
            bound.transfer = cooling.transfer;
        }
        if warm[self.film - 1] > zone.air_below {
            bound.transfer_below = cooling.transfer_below;
        }
        bound
    }

    /// Heat flows become rates of temperature: each node's, over what it takes to warm that node.
    fn by_capacity<const SLOPES: bool, const BOUND: bool>(
        &self,
        water: [f64; 2],
        at: &State<R>,
        rate: &mut State<R>,
        slopes: &mut Slopes<R>,
    ) {
        let rate = rate.warm.as_mut();
        let (dry, cooling, ink, fabric) = (
            self.dry_capacity.as_ref(),
            self.cooling_capacity.as_ref(),
            self.ink_share.as_ref(),
            self.fabric_share.as_ref(),
        );
        let open = at.water.map(|w| f64::from(u8::from(w > 0.0)) * WATER_HEAT);
        let (lower, middle, upper) = (
            slopes.lower.as_mut(),
            slopes.middle.as_mut(),
            slopes.upper.as_mut(),
        );
        let (by_ink, by_fabric) = (
            slopes.by_ink_water.as_mut(),
            slopes.by_fabric_water.as_mut(),
        );
        for j in 0..rate.len() {
            let held = ink[j] * water[0] + fabric[j] * water[1];
            let cools = BOUND && rate[j] < 0.0;
            let ease = if cools {
                1.0 / cooling[j]
            } else {
                1.0 / (dry[j] + WATER_HEAT * held)
            };
            rate[j] *= ease;
            if SLOPES {
                lower[j] *= ease;
                middle[j] *= ease;
                upper[j] *= ease;
                let [of_ink, of_fabric] = if cools { [0.0; 2] } else { open };
                by_ink[j] = (by_ink[j] - of_ink * rate[j] * ink[j]) * ease;
                by_fabric[j] = (by_fabric[j] - of_fabric * rate[j] * fabric[j]) * ease;
            }
        }
    }

    fn conduct<const SLOPES: bool>(
        &self,
        at: &State<R>,
        rate: &mut State<R>,
        slopes: &mut Slopes<R>,
    ) {
        let (y, g, rate) = (
            at.warm.as_ref(),
            self.conductance.as_ref(),
            rate.warm.as_mut(),
        );
        let mut from_above = 0.0;
        for j in 0..rate.len() - 1 {
            let onwards = g[j] * (y[j] - y[j + 1]);
            rate[j] = from_above - onwards;
            from_above = onwards;
        }
        rate[rate.len() - 1] = from_above;
        if SLOPES {
            let (lower, middle, upper) = (
                slopes.lower.as_mut(),
                slopes.middle.as_mut(),
                slopes.upper.as_mut(),
            );
            middle.copy_from_slice(self.conducted.as_ref());
            upper.copy_from_slice(g);
            lower[0] = 0.0;
            let further = lower.len() - 1;
            lower[1..].copy_from_slice(&g[..further]);
        }
    }

    fn surroundings<const SLOPES: bool>(
        &self,
        zone: &Zone,
        at: &State<R>,
        rate: &mut State<R>,
        slopes: &mut Slopes<R>,
    ) {
        let back = self.film - 1;
        let (y, rate) = (at.warm.as_ref(), rate.warm.as_mut());
        let middle = slopes.middle.as_mut();
        rate[0] += zone.transfer * (zone.air - y[0])
            + zone.flux
            + zone.panel_factor * radiation(zone.panel, y[0]);
        if SLOPES {
            middle[0] -= zone.transfer + zone.panel_factor * radiation_slope(y[0]);
        }
        match zone.back {
            Back::Belt => {
                rate[back] += zone.transfer_below * (zone.air_below - y[back])
                    + zone.panel_factor_below * radiation(zone.panel_below, y[back]);
                if SLOPES {
                    middle[back] -=
                        zone.transfer_below + zone.panel_factor_below * radiation_slope(y[back]);
                }
            }
            Back::Held {
                resistance,
                temperature,
            } => {
                rate[back] += (temperature - y[back]) / resistance;
                if SLOPES {
                    middle[back] -= 1.0 / resistance;
                }
            }
            Back::Pallet {
                resistance,
                loss,
                room,
            } => {
                if y.len() > self.film {
                    let flow = (y[back] - y[self.film]) / resistance;
                    rate[back] -= flow;
                    rate[self.film] += flow + loss * (room - y[self.film]);
                    if SLOPES {
                        middle[back] -= 1.0 / resistance;
                        middle[self.film] -= 1.0 / resistance + loss;
                        slopes.upper.as_mut()[back] += 1.0 / resistance;
                        slopes.lower.as_mut()[self.film] += 1.0 / resistance;
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
        at: &State<R>,
        rate: &mut State<R>,
        slopes: &mut Slopes<R>,
    ) {
        let surface = at.warm.as_ref()[0];
        let dryness = libm::exp(-water / self.bound_water);
        let flow = evaporation_with_slopes(zone.transfer, 1.0 - dryness, surface, zone.vapour);
        let latent = latent_heat(surface);
        rate.warm.as_mut()[0] -= flow.rate * latent;
        rate.water[0] = -flow.rate;
        if SLOPES {
            slopes.middle.as_mut()[0] -= flow.by_temperature * latent + flow.rate * LATENT_SLOPE;
            slopes.ink_water_by_surface = -flow.by_temperature;
            if at.water[0] > 0.0 {
                let by_water = flow.by_activity * dryness / self.bound_water;
                slopes.by_ink_water.as_mut()[0] -= by_water * latent;
                slopes.stores[0] = -by_water;
            }
        }
    }

    /// Water leaves every part of the fabric, and pays the heat of sorption as well.
    ///
    /// All nodes are worked out, those of the ink with no share: a loop without branches takes several at a time.
    fn dry_fabric<const SLOPES: bool>(
        &self,
        zone: &Zone,
        water: f64,
        at: &State<R>,
        rate: &mut State<R>,
        slopes: &mut Slopes<R>,
    ) {
        let moisture = water / self.fabric_mass;
        let (activity, by_moisture) = self.sorption.activity_and_slope(moisture);
        if activity <= NO_ACTIVITY {
            return;
        }
        let bound = self.sorption.heat(moisture);
        let wet = Wet::new(zone.transfer_below, activity, zone.vapour);
        let by_moisture = by_moisture / self.fabric_mass;
        let bound_by_water = self.sorption.heat_slope(bound) / self.fabric_mass;
        let (y, shares) = (at.warm.as_ref(), self.fabric_share.as_ref());
        let count = y.len();
        let [mut leaving, mut by_temperature, mut by_activity] =
            std::array::from_fn(|_| self.row());
        let (leaving, by_temperature, by_activity) = (
            leaving.as_mut(),
            by_temperature.as_mut(),
            by_activity.as_mut(),
        );
        for j in 0..count {
            let flow = wet.evaporation::<SLOPES>(y[j]);
            leaving[j] = shares[j] * flow.rate;
            by_temperature[j] = shares[j] * flow.by_temperature;
            by_activity[j] = shares[j] * flow.by_activity;
        }
        let rate_warm = rate.warm.as_mut();
        let mut lost = 0.0;
        for j in 0..count {
            rate_warm[j] -= leaving[j] * (latent_heat(y[j]) + bound);
            lost += leaving[j];
        }
        rate.water[1] = -lost;
        if SLOPES {
            let (middle, by_fabric, fabric_water) = (
                slopes.middle.as_mut(),
                slopes.by_fabric_water.as_mut(),
                slopes.fabric_water.as_mut(),
            );
            for j in 0..count {
                let heat = latent_heat(y[j]) + bound;
                let by_water = by_activity[j] * by_moisture;
                middle[j] -= by_temperature[j] * heat + leaving[j] * LATENT_SLOPE;
                by_fabric[j] -= by_water * heat + leaving[j] * bound_by_water;
                fabric_water[j] = -by_temperature[j];
                slopes.stores[1] -= by_water;
            }
        }
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
        let balance = Balance::<Vec<f64>>::new(&body, None, 2, 3);
        let count = balance.count();
        let size = count + 2;
        let state = |y: &[f64]| State {
            warm: y[..count].to_vec(),
            water: [y[count], y[count + 1]],
        };
        let flat = |s: State<Vec<f64>>| [s.warm, s.water.to_vec()].concat();
        for zone in [belt, pallet, held] {
            for (ink, fabric) in [(0.04, 0.0135), (0.002, 0.001), (1.0e-5, 2.0e-5)] {
                let mut y: Vec<f64> = (0..size).map(|j| 330.0 + 3.0 * j as f64).collect();
                (y[count], y[count + 1]) = (ink, fabric);
                let (mut slopes, mut rate) = (balance.slopes(), balance.state());
                balance.rates::<true>(&zone, None, &state(&y), &mut rate, &mut slopes);
                for column in 0..size {
                    let step = if column < count {
                        1.0e-4
                    } else {
                        1.0e-4 * y[column]
                    };
                    let shifted = |by: f64| {
                        let mut moved = y.clone();
                        moved[column] += by;
                        let mut out = balance.state();
                        let at = state(&moved);
                        balance.rates::<false>(&zone, None, &at, &mut out, &mut balance.slopes());
                        flat(out)
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

    fn entry(slopes: &Slopes<Vec<f64>>, count: usize, row: usize, column: usize) -> f64 {
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
