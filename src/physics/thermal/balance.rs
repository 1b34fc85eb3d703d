//! The heat and water balance of each node, with its slopes.
//!
//! Node-centred finite volumes: node 0 is the ink's surface, node `ink` the boundary between ink and fabric, node
//! `ink + fabric` the fabric's back. Under it may lie a second ply, across a gap; under the last ply a film that was
//! printed before; and one more node is the pallet where the body has one. Beside the temperatures stand the water stores,
//! kg/m²: the film's and one for each ply. A film seals the top, so that the fabric's vapour leaves below: that of the
//! lower ply freely, that of the upper by a path of its own through what lies under it. Every fabric node has a vapour
//! pressure of its own, which keeps hotter-and-drier an order that the equations respect (and the corners of a tolerance
//! exact): a gap only adds a coupling that is not negative.

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

/// Temperatures, K, and the water stores, kg/m²: the film's, then each ply's from the top; or their rates of change.
#[derive(Clone)]
pub(super) struct State<R, const S: usize> {
    pub(super) warm: R,
    pub(super) water: [f64; S],
}

/// The slopes of the balance: a tridiagonal block of temperatures, bordered by the water stores.
#[derive(Clone)]
pub(super) struct Slopes<R, const S: usize> {
    pub(super) lower: R,
    pub(super) middle: R,
    pub(super) upper: R,
    /// Of each temperature by each store.
    pub(super) by_water: [R; S],
    /// Of the film's water by the surface's temperature.
    pub(super) ink_water_by_surface: f64,
    /// Of each ply's water by each temperature; the film's row is not used.
    pub(super) of_water: [R; S],
    /// Of each store by itself.
    pub(super) stores: [f64; S],
}

/// The constants of one body on one grid.
pub(super) struct Balance<R, const S: usize> {
    ink: usize,
    /// Temperatures of film and fabric, without a pallet.
    film: usize,
    /// The last node of the upper ply, and the last of any ply.
    backs: [usize; 2],
    /// From each node to the next; none from the last.
    conductance: R,
    /// What conduction adds to each node's own slope.
    conducted: R,
    /// Which part of each store a node holds: the film's, then each ply's.
    shares: [R; S],
    dry_capacity: R,
    /// What each node takes to cool where the run is a bound: that of another body, with all of its water or none.
    cooling_capacity: R,
    /// How tightly each ply holds its water; the film's is not used.
    sorption: [Sorption; S],
    bound_water: f64,
    /// Dry mass of film and plies.
    mass: [f64; S],
    /// Whether each store can change at all.
    wet: [bool; S],
    /// What each store's vapour still has to pass behind the air's own transfer, in its units; infinite where nothing.
    paths: [f64; S],
}

/// Number of temperatures on a grid of these intervals.
pub(super) fn temperatures(body: &Body, ink: usize, fabric: usize) -> usize {
    let lower = body.lower.map_or(0, |_| fabric + 1);
    let underside = body.underside.map_or(0, |_| ink);
    ink + fabric + 1 + lower + underside + usize::from(body.pallet_capacity > 0.0)
}

/// One layer of a body on a grid.
struct Layer {
    /// Its first node and its intervals.
    from: usize,
    intervals: usize,
    /// From one of its nodes to the next, W/(m²·K).
    conductance: f64,
    /// Which store holds its water.
    store: Option<usize>,
    /// What it takes to warm dry, and where the run is a bound to cool, J/(m²·K).
    capacity: [f64; 2],
}

/// The layers of a body from the top, and what lies across each gap between them.
fn layers(
    body: &Body,
    cooling: Option<Cooling<'_>>,
    ink: usize,
    fabric: usize,
) -> (Vec<Layer>, Vec<(usize, f64)>) {
    // What cools slowest is as wet as it was: how wet the heavier one still is, is not known here.
    let capacity = |dry: fn(&Body) -> f64, water: fn(&Body) -> f64| {
        let cools = cooling.map_or_else(
            || dry(body),
            |cooling| {
                let wet = f64::from(u8::from(cooling.hottest)) * WATER_HEAT * water(cooling.body);
                dry(cooling.body) + wet
            },
        );
        [dry(body), cools]
    };
    let mut all = vec![
        Layer {
            from: 0,
            intervals: ink,
            conductance: body.ink_conductivity * ink as f64 / body.ink_thickness,
            store: Some(0),
            capacity: capacity(|of| of.ink_mass * of.ink_heat, |of| of.ink_water),
        },
        Layer {
            from: ink,
            intervals: fabric,
            conductance: body.fabric_conductivity * fabric as f64 / body.fabric_thickness,
            store: Some(1),
            capacity: capacity(
                |of| of.fabric_mass * of.fabric_heat,
                |of| of.moisture * of.fabric_mass,
            ),
        },
    ];
    let mut gaps = Vec::new();
    let mut last = ink + fabric;
    if let Some(lower) = &body.lower {
        gaps.push((last, 1.0 / lower.contact));
        all.push(Layer {
            from: last + 1,
            intervals: fabric,
            conductance: lower.conductivity * fabric as f64 / lower.thickness,
            store: Some(2),
            capacity: capacity(
                |of| of.lower.map_or(0.0, |lower| lower.mass * lower.heat),
                |of| of.lower.map_or(0.0, |lower| lower.moisture * lower.mass),
            ),
        });
        last += 1 + fabric;
    }
    if let Some(under) = &body.underside {
        all.push(Layer {
            from: last,
            intervals: ink,
            conductance: under.conductivity * ink as f64 / under.thickness,
            store: None,
            capacity: capacity(
                |of| of.underside.map_or(0.0, |under| under.mass * under.heat),
                |_| 0.0,
            ),
        });
    }
    (all, gaps)
}

/// Two paths one behind the other.
fn behind(first: f64, second: f64) -> f64 {
    if second == f64::INFINITY {
        first
    } else if first <= 0.0 || second <= 0.0 {
        0.0
    } else {
        1.0 / (1.0 / first + 1.0 / second)
    }
}

impl<R: Row, const S: usize> Balance<R, S> {
    /// `cooling` says what counts where heat leaves, in a run that is a bound.
    pub(super) fn new(
        body: &Body,
        cooling: Option<Cooling<'_>>,
        ink: usize,
        fabric: usize,
    ) -> Self {
        let count = temperatures(body, ink, fabric);
        let film = count - usize::from(body.pallet_capacity > 0.0);
        let row = || R::zeros(count);
        let [
            mut conductance,
            mut conducted,
            mut dry_capacity,
            mut cooling_capacity,
        ] = std::array::from_fn(|_| row());
        let mut shares: [R; S] = std::array::from_fn(|_| row());
        let mut couple = |j: usize, g: f64| {
            conductance.as_mut()[j] = g;
            conducted.as_mut()[j] -= g;
            conducted.as_mut()[j + 1] -= g;
        };
        let (layers, gaps) = layers(body, cooling, ink, fabric);
        for (j, g) in gaps {
            couple(j, g);
        }
        for layer in layers {
            let half = 0.5 / layer.intervals as f64;
            for j in layer.from..layer.from + layer.intervals {
                couple(j, layer.conductance);
                for node in [j, j + 1] {
                    dry_capacity.as_mut()[node] += half * layer.capacity[0];
                    cooling_capacity.as_mut()[node] += half * layer.capacity[1];
                    if let Some(share) = layer.store.and_then(|store| shares.get_mut(store)) {
                        share.as_mut()[node] += half;
                    }
                }
            }
        }
        for capacities in [&mut dry_capacity, &mut cooling_capacity] {
            if let Some(pallet) = capacities.as_mut().get_mut(film) {
                *pallet = body.pallet_capacity;
            }
        }
        let sealed = body
            .underside
            .map_or(f64::INFINITY, |under| under.vapour_path);
        let lower = body.lower;
        let through = lower.map_or(f64::INFINITY, |lower| lower.vapour_path);
        let of = |all: [f64; 3]| std::array::from_fn(|store| all[store]);
        let regain = of([
            body.regain,
            body.regain,
            lower.map_or(body.regain, |lower| lower.regain),
        ]);
        let held: [f64; S] = of([
            body.ink_water,
            body.moisture,
            lower.map_or(0.0, |lower| lower.moisture),
        ]);
        Self {
            ink,
            film,
            backs: [ink + fabric, film - 1 - body.underside.map_or(0, |_| ink)],
            conductance,
            conducted,
            shares,
            dry_capacity,
            cooling_capacity,
            sorption: regain.map(Sorption::of_regain),
            bound_water: BOUND_WATER * body.ink_mass,
            mass: of([
                body.ink_mass,
                body.fabric_mass,
                lower.map_or(1.0, |lower| lower.mass),
            ]),
            wet: held.map(|held| held > 0.0),
            paths: of([f64::INFINITY, behind(through, sealed), sealed]),
        }
    }

    /// Number of temperatures.
    pub(super) fn count(&self) -> usize {
        self.dry_capacity.as_ref().len()
    }

    /// Whether the water stores can change at all.
    pub(super) fn wet(&self) -> bool {
        self.wet.contains(&true)
    }

    /// Where surface, boundary, back, pallet, the last ply's back and the lower one's face stand among the temperatures.
    pub(super) fn places(&self) -> [usize; 6] {
        let [back, last] = self.backs;
        let lower_top = (back + 1).min(last);
        [0, self.ink, back, self.count() - 1, last, lower_top]
    }

    /// A row of zeros.
    pub(super) fn row(&self) -> R {
        R::zeros(self.count())
    }

    /// A state of zeros.
    pub(super) fn state(&self) -> State<R, S> {
        State {
            warm: self.row(),
            water: [0.0; S],
        }
    }

    pub(super) fn slopes(&self) -> Slopes<R, S> {
        Slopes {
            lower: self.row(),
            middle: self.row(),
            upper: self.row(),
            by_water: std::array::from_fn(|_| self.row()),
            ink_water_by_surface: 0.0,
            of_water: std::array::from_fn(|_| self.row()),
            stores: [0.0; S],
        }
    }

    /// The transfer by which each store's vapour leaves into the air of a zone.
    fn leaving(&self, zone: &Zone) -> [f64; S] {
        let below = match zone.back {
            Back::Belt => zone.transfer_below,
            Back::Held { .. } | Back::Pallet { .. } => zone.drying,
        };
        std::array::from_fn(|store| match store {
            0 => zone.transfer,
            _ => behind(below, self.paths[store]),
        })
    }

    /// Rates of change of a state, and their slopes when `SLOPES`.
    ///
    /// With a zone for `cooling` they are a bound: of the two zones and bodies, that counts at each node which takes its
    /// temperature further the one way. The equations keep that order (Kamke-Müller), so it bounds all that lies between.
    pub(super) fn rates<const SLOPES: bool>(
        &self,
        zone: &Zone,
        cooling: Option<&Zone>,
        at: &State<R, S>,
        rate: &mut State<R, S>,
        slopes: &mut Slopes<R, S>,
    ) {
        let water = at.water.map(|w| w.max(0.0));
        rate.water = [0.0; S];
        if SLOPES {
            for rows in [&mut slopes.by_water, &mut slopes.of_water] {
                rows.iter_mut().for_each(|row| row.as_mut().fill(0.0));
            }
            slopes.ink_water_by_surface = 0.0;
            slopes.stores = [0.0; S];
        }
        let bound = cooling.map(|cooling| self.where_heat_leaves(zone, cooling, at));
        let drying = self.leaving(zone);
        let zone = bound.as_ref().unwrap_or(zone);
        let paying = self.leaving(zone);
        self.conduct::<SLOPES>(at, rate, slopes);
        self.surroundings::<SLOPES>(zone, at, rate, slopes);
        if self.wet[0] && zone.transfer > 0.0 {
            self.dry_ink::<SLOPES>(zone, water[0], at, rate, slopes);
        }
        for ply in 1..S {
            if self.wet[ply] && paying[ply] > 0.0 {
                let by = (paying[ply], zone.vapour);
                self.dry_fabric::<SLOPES>(ply, by, water[ply], at, rate, slopes);
            }
        }
        if cooling.is_some() {
            // What cools less by less transfer dries no less for it: of each the further.
            for (store, (drying, by)) in drying.into_iter().zip(paying).enumerate() {
                if by > 0.0 && drying != by {
                    let share = drying / by;
                    rate.water[store] *= share;
                    slopes.stores[store] *= share;
                    if store == 0 {
                        slopes.ink_water_by_surface *= share;
                    } else {
                        let each = slopes.of_water[store].as_mut().iter_mut();
                        each.for_each(|slope| *slope *= share);
                    }
                }
            }
            self.by_capacity::<SLOPES, true>(water, at, rate, slopes);
        } else {
            self.by_capacity::<SLOPES, false>(water, at, rate, slopes);
        }
    }

    /// A zone with the other one's heat transfer on a side that is hotter than its air, and the other one's factor where the
    /// surface is hotter than the panel.
    fn where_heat_leaves(&self, zone: &Zone, cooling: &Zone, at: &State<R, S>) -> Zone {
        let warm = at.warm.as_ref();
        let mut bound = *zone;
        if warm[0] > zone.air {
            bound.transfer = cooling.transfer;
        }
        if warm[0] > zone.panel {
            bound.panel_factor = cooling.panel_factor;
        }
        if warm[self.film - 1] > zone.air_below {
            bound.transfer_below = cooling.transfer_below;
        }
        bound
    }

    /// Heat flows become rates of temperature: each node's, over what it takes to warm that node.
    fn by_capacity<const SLOPES: bool, const BOUND: bool>(
        &self,
        water: [f64; S],
        at: &State<R, S>,
        rate: &mut State<R, S>,
        slopes: &mut Slopes<R, S>,
    ) {
        let rate = rate.warm.as_mut();
        let (dry, cooling) = (self.dry_capacity.as_ref(), self.cooling_capacity.as_ref());
        let shares: [&[f64]; S] = std::array::from_fn(|store| self.shares[store].as_ref());
        let open = at.water.map(|w| f64::from(u8::from(w > 0.0)) * WATER_HEAT);
        let (lower, middle, upper) = (
            slopes.lower.as_mut(),
            slopes.middle.as_mut(),
            slopes.upper.as_mut(),
        );
        let by_water = slopes.by_water.each_mut().map(R::as_mut);
        for j in 0..rate.len() {
            let mut held = 0.0;
            for store in 0..S {
                held += shares[store][j] * water[store];
            }
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
                let open = if cools { [0.0; S] } else { open };
                for store in 0..S {
                    let by = &mut by_water[store][j];
                    *by = (*by - open[store] * rate[j] * shares[store][j]) * ease;
                }
            }
        }
    }

    fn conduct<const SLOPES: bool>(
        &self,
        at: &State<R, S>,
        rate: &mut State<R, S>,
        slopes: &mut Slopes<R, S>,
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
        at: &State<R, S>,
        rate: &mut State<R, S>,
        slopes: &mut Slopes<R, S>,
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
        at: &State<R, S>,
        rate: &mut State<R, S>,
        slopes: &mut Slopes<R, S>,
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
                slopes.by_water[0].as_mut()[0] -= by_water * latent;
                slopes.stores[0] = -by_water;
            }
        }
    }

    /// Water leaves every part of a ply, and pays the heat of sorption as well.
    ///
    /// All nodes are worked out, those of other layers with no share: a loop without branches takes several at a time.
    fn dry_fabric<const SLOPES: bool>(
        &self,
        ply: usize,
        (transfer, vapour): (f64, f64),
        water: f64,
        at: &State<R, S>,
        rate: &mut State<R, S>,
        slopes: &mut Slopes<R, S>,
    ) {
        let moisture = water / self.mass[ply];
        let sorption = &self.sorption[ply];
        let (activity, by_moisture) = sorption.activity_and_slope(moisture);
        if activity <= NO_ACTIVITY {
            return;
        }
        let bound = sorption.heat(moisture);
        let wet = Wet::new(transfer, activity, vapour);
        let by_moisture = by_moisture / self.mass[ply];
        let bound_by_water = sorption.heat_slope(bound) / self.mass[ply];
        let (y, shares) = (at.warm.as_ref(), self.shares[ply].as_ref());
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
        rate.water[ply] = -lost;
        if SLOPES {
            let (middle, by_fabric, fabric_water) = (
                slopes.middle.as_mut(),
                slopes.by_water[ply].as_mut(),
                slopes.of_water[ply].as_mut(),
            );
            for j in 0..count {
                let heat = latent_heat(y[j]) + bound;
                let by_water = by_activity[j] * by_moisture;
                middle[j] -= by_temperature[j] * heat + leaving[j] * LATENT_SLOPE;
                by_fabric[j] -= by_water * heat + leaving[j] * bound_by_water;
                fabric_water[j] = -by_temperature[j];
                slopes.stores[ply] -= by_water;
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
    use super::super::body::{Lower, Underside};
    use super::*;

    fn jersey() -> Body {
        Body {
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
            lower: None,
            underside: None,
        }
    }

    fn zones() -> [Zone; 3] {
        let belt = Zone {
            flux: 500.0,
            panel: 600.0,
            panel_factor: 0.2,
            panel_below: 500.0,
            panel_factor_below: 0.1,
            drying: 4.0,
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
        [belt, pallet, held]
    }

    /// Every hand-written slope against central differences, wet and nearly dry, on a belt and on a pallet.
    #[test]
    fn slopes_are_those_of_the_rates() {
        slopes_hold::<2>(&jersey(), 6);
    }

    /// The same with a second ply across a gap, and a film printed before under all.
    #[test]
    fn slopes_are_those_of_the_rates_on_two_plies() {
        for vapour_path in [f64::INFINITY, 20.0] {
            let body = Body {
                lower: Some(Lower {
                    mass: 0.15,
                    thickness: 6.0e-4,
                    heat: 1200.0,
                    conductivity: 0.06,
                    moisture: 0.05,
                    regain: 0.07,
                    contact: 0.005,
                    vapour_path,
                }),
                underside: Some(Underside {
                    mass: 0.1,
                    thickness: 8.0e-5,
                    heat: 1500.0,
                    conductivity: 0.2,
                    vapour_path: 3.0,
                }),
                ..jersey()
            };
            slopes_hold::<3>(&body, 12);
        }
    }

    /// `count` temperatures without the pallet's.
    fn slopes_hold<const S: usize>(body: &Body, film: usize) {
        let balance = Balance::<Vec<f64>, S>::new(body, None, 2, 3);
        let count = balance.count();
        assert_eq!(count, film + 1);
        let size = count + S;
        let state = |y: &[f64]| State::<Vec<f64>, S> {
            warm: y[..count].to_vec(),
            water: std::array::from_fn(|store| y[count + store]),
        };
        let flat = |s: State<Vec<f64>, S>| [s.warm, s.water.to_vec()].concat();
        for zone in zones() {
            for held in [
                [0.04, 0.0135, 0.01],
                [0.002, 0.001, 0.012],
                [1.0e-5, 2.0e-5, 1.0e-4],
            ] {
                let mut y: Vec<f64> = (0..size).map(|j| 330.0 + 3.0 * j as f64).collect();
                y[count..].copy_from_slice(&held[..S]);
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

    fn entry<const S: usize>(
        slopes: &Slopes<Vec<f64>, S>,
        count: usize,
        row: usize,
        column: usize,
    ) -> f64 {
        match (row.checked_sub(count), column.checked_sub(count)) {
            (None, None) => match column {
                c if c == row => slopes.middle[row],
                c if c == row + 1 => slopes.upper[row],
                c if c + 1 == row => slopes.lower[row],
                _ => 0.0,
            },
            (None, Some(store)) => slopes.by_water[store][row],
            (Some(0), None) if column == 0 => slopes.ink_water_by_surface,
            (Some(0), None) => 0.0,
            (Some(store), None) => slopes.of_water[store][column],
            (Some(store), Some(other)) if store == other => slopes.stores[store],
            _ => 0.0,
        }
    }
}
