//! Set points to propose: the one with the most margin, and the one nearest to the present.
//!
//! A margin is measured as a share of how far each setting can go anywhere in the window, so that a belt in metres a minute
//! and an air in degrees weigh alike. The set point with the most margin is the middle of the largest box of that shape in
//! which everything holds; the box is then widened as far as it goes.

use super::oracle::{Oracle, Over};
use super::paving::Tile;
use super::space::{Axis, Region};
use crate::check::Standing;
use crate::diagnostic::Zone;
use crate::units::Exact;

/// The finest move of the search, as a share of the window.
const FINEST: f64 = 0.001;
/// Boxes from whose middle it starts.
const MOST_STARTS: usize = 400;
/// Set points that are tried as the nearest.
const MOST_NEAR: usize = 24;
/// How often a box is made smaller until everything holds in it.
const SHRINKS: usize = 12;

/// How often what lies between an end of a box and where it was wanted is halved.
const STRETCHES: usize = 10;

/// With how many digits a set point that is on no dial is written: with few where there is room.
const WRITTEN: [u32; 3] = [4, 8, 12];

/// A set point inside the window.
pub(super) struct Inside {
    pub(super) at: Vec<Exact>,
    /// Everything holds in it.
    pub(super) around: Region,
    pub(super) margin: f64,
}

/// The boxes as plain numbers.
pub(super) struct Map<'t> {
    axes: &'t [Axis],
    holding: Vec<&'t Region>,
    others: Vec<(Vec<f64>, Vec<f64>)>,
    /// How far each setting can go in the window.
    extent: Vec<f64>,
}

fn ends(region: &Region, axes: &[Axis]) -> (Vec<f64>, Vec<f64>) {
    // Whole numbers fill the space half way to the next.
    let half = |index: usize| if axes[index].whole { 0.5 } else { 0.0 };
    let low = region.low.iter().enumerate();
    let high = region.high.iter().enumerate();
    (
        low.map(|(index, end)| end.nearest() - half(index))
            .collect(),
        high.map(|(index, end)| end.nearest() + half(index))
            .collect(),
    )
}

impl<'t> Map<'t> {
    /// `None` where nothing holds.
    pub(super) fn new(axes: &'t [Axis], tiles: &'t [Tile]) -> Option<Self> {
        let holding: Vec<&Region> = tiles
            .iter()
            .filter(|tile| tile.zone == Zone::Holds)
            .map(|tile| &tile.region)
            .collect();
        if holding.is_empty() {
            return None;
        }
        let others = tiles
            .iter()
            .filter(|tile| tile.zone != Zone::Holds)
            .map(|tile| ends(&tile.region, axes))
            .collect();
        let mut low = vec![f64::INFINITY; axes.len()];
        let mut high = vec![f64::NEG_INFINITY; axes.len()];
        for region in &holding {
            let (from, to) = ends(region, axes);
            for index in 0..axes.len() {
                low[index] = low[index].min(from[index]);
                high[index] = high[index].max(to[index]);
            }
        }
        let extent = low.iter().zip(&high).map(|(low, high)| high - low);
        Some(Self {
            axes,
            holding,
            others,
            extent: extent.map(|extent| extent.max(f64::MIN_POSITIVE)).collect(),
        })
    }

    /// How far a set point lies from everything that does not hold, in shares of the window.
    fn margin(&self, at: &[f64]) -> f64 {
        let mut margin = f64::INFINITY;
        for (index, axis) in self.axes.iter().enumerate() {
            let half = if axis.whole { 0.5 } else { 0.0 };
            let room =
                (at[index] - axis.low.nearest() + half).min(axis.high.nearest() + half - at[index]);
            margin = margin.min(room / self.extent[index]);
        }
        for (low, high) in &self.others {
            let mut apart = f64::NEG_INFINITY;
            for index in 0..at.len() {
                let gap = (low[index] - at[index]).max(at[index] - high[index]);
                apart = apart.max(gap / self.extent[index]);
                if apart >= margin {
                    break;
                }
            }
            margin = margin.min(apart);
        }
        margin
    }

    /// The middle of the largest box of the window's shape.
    fn middle(&self) -> Vec<f64> {
        let mut starts: Vec<(f64, Vec<f64>)> = self
            .holding
            .iter()
            .map(|region| {
                let (low, high) = ends(region, self.axes);
                let middle = low.iter().zip(&high).map(|(low, high)| 0.5 * (low + high));
                (region.share(self.axes), middle.collect())
            })
            .collect();
        starts.sort_by(|one, other| other.0.total_cmp(&one.0));
        let mut best = (f64::NEG_INFINITY, Vec::new());
        for (_, start) in starts.into_iter().take(MOST_STARTS) {
            let margin = self.margin(&start);
            if margin > best.0 {
                best = (margin, start);
            }
        }
        let (mut margin, mut at) = best;
        let mut step = 0.25;
        while step > FINEST {
            let mut moved = false;
            for direction in directions(at.len()) {
                let next: Vec<f64> = at
                    .iter()
                    .zip(&direction)
                    .zip(&self.extent)
                    .map(|((at, way), extent)| at + way * step * extent)
                    .collect();
                let found = self.margin(&next);
                if found > margin + 1e-12 {
                    (margin, at, moved) = (found, next, true);
                }
            }
            if !moved {
                step *= 0.5;
            }
        }
        at
    }

    /// The set point with the most margin.
    pub(super) fn best(&self, oracle: &Oracle<'_>) -> Option<Inside> {
        let middle = self.middle();
        let room = self.margin(&middle);
        let mut found: Option<Inside> = None;
        for at in self.settable(&middle, room) {
            let numbers: Vec<f64> = at.iter().map(Exact::nearest).collect();
            let margin = self.margin(&numbers);
            let known = found.as_ref().map_or(0.0, |found| found.margin);
            if margin < known || (margin <= known && found.is_some()) {
                continue;
            }
            if !holds_at(oracle, &at) {
                continue;
            }
            if let Some(around) = self.around(oracle, &at, &numbers, margin) {
                found = Some(Inside { at, around, margin });
            }
        }
        found
    }

    /// Values near a point that can be set: on the dials, else with few digits.
    fn settable(&self, at: &[f64], room: f64) -> Vec<Vec<Exact>> {
        let mut all: Vec<Vec<Exact>> = vec![Vec::new()];
        for (index, axis) in self.axes.iter().enumerate() {
            let Some(value) = Exact::from_f64(at[index]) else {
                return Vec::new();
            };
            let free = (room * self.extent[index] * 0.3).max(0.0);
            let mut values = vec![few_digits(axis, at[index], free)];
            if axis.dial.is_some() {
                values = vec![axis.on_dial(&value, false), axis.on_dial(&value, true)];
                if !axis.whole {
                    values.push(few_digits(axis, at[index], free));
                }
            }
            values.retain(|value| axis.holds(value));
            values.dedup();
            all = all
                .into_iter()
                .flat_map(|known| {
                    values.iter().map(move |value| {
                        let mut longer = known.clone();
                        longer.push(value.clone());
                        longer
                    })
                })
                .collect();
        }
        // What is on all dials goes before what is not.
        let off = |at: &Vec<Exact>| {
            let pairs = at.iter().zip(self.axes);
            pairs
                .filter(|(at, axis)| axis.on_dial(at, true) != **at)
                .count()
        };
        all.sort_by_key(off);
        let on_dial: Vec<Vec<Exact>> = all
            .iter()
            .filter(|at| {
                let numbers: Vec<f64> = at.iter().map(Exact::nearest).collect();
                off(at) == 0 && self.margin(&numbers) > 0.0
            })
            .cloned()
            .collect();
        if on_dial.is_empty() { all } else { on_dial }
    }

    /// The box around a set point, as far as it goes on the dials.
    fn around(
        &self,
        oracle: &Oracle<'_>,
        at: &[Exact],
        numbers: &[f64],
        margin: f64,
    ) -> Option<Region> {
        let mut low: Vec<f64> = Vec::new();
        let mut high: Vec<f64> = Vec::new();
        for (at, extent) in numbers.iter().zip(&self.extent) {
            low.push(at - margin * extent);
            high.push(at + margin * extent);
        }
        for index in 0..numbers.len() {
            self.widen(&mut low, &mut high, index);
        }
        for shrink in 0..SHRINKS {
            let keep = 1.0 - shrink as f64 / SHRINKS as f64;
            let region = self.on_dials(at, &low, &high, keep)?;
            if holds_over(oracle, &region) {
                let wanted = self.on_dials(at, &low, &high, 1.0)?;
                let region = self.stretched(oracle, region, &wanted);
                return Some(self.grown(oracle, region));
            }
        }
        Some(Region {
            low: at.to_vec(),
            high: at.to_vec(),
        })
    }

    /// Pushes both ends of one setting out to the next box that does not hold.
    fn widen(&self, low: &mut [f64], high: &mut [f64], index: usize) {
        let axis = &self.axes[index];
        let (mut from, mut to) = (axis.low.nearest(), axis.high.nearest());
        for (others_low, others_high) in &self.others {
            let beside = (0..low.len()).any(|other| {
                other != index
                    && (others_low[other] >= high[other] || others_high[other] <= low[other])
            });
            if beside {
                continue;
            }
            if others_high[index] <= low[index] {
                from = from.max(others_high[index]);
            }
            if others_low[index] >= high[index] {
                to = to.min(others_low[index]);
            }
        }
        (low[index], high[index]) = (from.min(low[index]), to.max(high[index]));
    }

    /// A box that holds with each of its ends pushed out towards where it was wanted, by halves, as far as it holds.
    fn stretched(&self, oracle: &Oracle<'_>, mut region: Region, wanted: &Region) -> Region {
        for (index, axis) in self.axes.iter().enumerate() {
            for low in [true, false] {
                let end = |of: &Region| match low {
                    true => of.low[index].clone(),
                    false => of.high[index].clone(),
                };
                let (mut holds, mut open) = (end(&region), end(wanted));
                let mut tried = open.clone();
                for _ in 0..STRETCHES {
                    if tried == holds {
                        break;
                    }
                    let mut wider = region.clone();
                    match low {
                        true => wider.low[index] = tried.clone(),
                        false => wider.high[index] = tried.clone(),
                    }
                    if holds_over(oracle, &wider) {
                        (region, holds) = (wider, tried);
                    } else {
                        open = tried;
                    }
                    let Some(middle) = holds.add(&open).div(&Exact::from_int(2)) else {
                        break;
                    };
                    tried = axis.on_dial(&middle, low);
                    if tried == open {
                        break;
                    }
                }
            }
        }
        region
    }

    /// A box with the steps of the dials that rounding its ends to plain numbers has cost.
    fn grown(&self, oracle: &Oracle<'_>, mut region: Region) -> Region {
        for (index, axis) in self.axes.iter().enumerate() {
            let Some(step) = &axis.dial else {
                continue;
            };
            let mut wider = region.clone();
            wider.low[index] = region.low[index].sub(step);
            if axis.holds(&wider.low[index]) && holds_over(oracle, &wider) {
                region = wider;
            }
            let mut wider = region.clone();
            wider.high[index] = region.high[index].add(step);
            if axis.holds(&wider.high[index]) && holds_over(oracle, &wider) {
                region = wider;
            }
        }
        region
    }

    /// A box with its ends rounded inward to the dials.
    fn on_dials(&self, at: &[Exact], low: &[f64], high: &[f64], keep: f64) -> Option<Region> {
        let mut region = Region {
            low: Vec::new(),
            high: Vec::new(),
        };
        for (index, axis) in self.axes.iter().enumerate() {
            let centre = at[index].nearest();
            let from = Exact::from_f64(centre - (centre - low[index]) * keep)?;
            let to = Exact::from_f64(centre + (high[index] - centre) * keep)?;
            let from = axis.on_dial(&Exact::max(&from, &axis.low), true);
            let to = axis.on_dial(&Exact::min(&to, &axis.high), false);
            region.low.push(Exact::min(&from, &at[index]));
            region.high.push(Exact::max(&to, &at[index]));
        }
        Some(region)
    }

    /// The nearest set points on the dials that hold: the least moved in all, and of these the first that is found to hold.
    pub(super) fn nearest(&self, oracle: &Oracle<'_>, present: &[Exact]) -> Option<Inside> {
        let mut found: Vec<(f64, Vec<Exact>)> = self
            .holding
            .iter()
            .flat_map(|region| self.clamped(region, present))
            .collect();
        found.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
        found.dedup();
        let near = found.into_iter().take(MOST_NEAR);
        for (_, at) in near {
            if holds_at(oracle, &at) {
                let numbers: Vec<f64> = at.iter().map(Exact::nearest).collect();
                let margin = self.margin(&numbers).max(0.0);
                let around = self.around(oracle, &at, &numbers, margin)?;
                return Some(Inside { at, around, margin });
            }
        }
        None
    }

    /// The set point of a box nearest to the present one, on the dials and as it can be written; the second, where the
    /// end itself may be no part of the box, a little further in.
    fn clamped(&self, region: &Region, present: &[Exact]) -> Vec<(f64, Vec<Exact>)> {
        let mut found = Vec::new();
        for further in [false, true] {
            let mut away = 0.0;
            let mut at = Vec::new();
            for (index, axis) in self.axes.iter().enumerate() {
                let (low, high) = (&region.low[index], &region.high[index]);
                let now = &present[index];
                let value = if low <= now && now <= high {
                    Some(now.clone())
                } else {
                    near_end(axis, low, high, now < low, further)
                };
                let Some(value) = value else { break };
                let moved = value.sub(now).nearest().abs();
                away += moved / self.extent[index];
                at.push(value);
            }
            if at.len() == self.axes.len() {
                found.push((away, at));
            }
        }
        found
    }
}

/// The value of a stretch nearest to its lower, or its upper, end that can be set: on the dial where a step of it lies
/// inside, else a decimal, rounded inward. `further` leaves out the end itself.
fn near_end(axis: &Axis, low: &Exact, high: &Exact, lower: bool, further: bool) -> Option<Exact> {
    let end = if lower { low } else { high };
    let inside = |value: &Exact| low <= value && value <= high;
    if let Some(step) = &axis.dial {
        let on_dial = axis.on_dial(end, lower);
        let value = match (further && on_dial == *end, lower) {
            (true, true) => on_dial.add(step),
            (true, false) => on_dial.sub(step),
            (false, _) => on_dial,
        };
        if inside(&value) {
            return Some(value);
        }
    }
    if axis.whole {
        return None;
    }
    let own = axis.unit.from_base(end);
    for digits in WRITTEN {
        let rounded = if lower {
            own.significant_up(digits)
        } else {
            own.significant_down(digits)
        };
        let Ok(mut value) = Exact::parse_decimal(&rounded) else {
            continue;
        };
        if further && value == own {
            let last = last_place(&own, digits)?;
            value = if lower {
                value.add(&last)
            } else {
                value.sub(&last)
            };
        }
        let value = axis.unit.to_base(&value);
        if inside(&value) {
            return Some(value);
        }
    }
    None
}

/// What the last of so many digits of a number counts.
fn last_place(number: &Exact, digits: u32) -> Option<Exact> {
    let size = number.abs().nearest();
    let first = if size > 0.0 {
        size.log10().floor()
    } else {
        0.0
    };
    #[allow(clippy::cast_possible_truncation)]
    let power = first as i32 - i32::try_from(digits).ok()? + 1;
    Exact::from_int(10).powi(power)
}

/// Along every setting, and along all diagonals.
fn directions(count: usize) -> Vec<Vec<f64>> {
    let mut all: Vec<Vec<f64>> = vec![Vec::new()];
    for _ in 0..count {
        all = all
            .into_iter()
            .flat_map(|known| {
                [-1.0, 0.0, 1.0].map(|way| {
                    let mut longer = known.clone();
                    longer.push(way);
                    longer
                })
            })
            .collect();
    }
    all
}

/// The decimal with the fewest digits that is not further away than this.
fn few_digits(axis: &Axis, at: f64, free: f64) -> Exact {
    let own = |value: f64| Exact::from_f64(value).map(|value| axis.unit.from_base(&value));
    let (Some(value), Some(edge)) = (own(at), own(at + free)) else {
        return axis.low.clone();
    };
    let free = edge.sub(&value).abs();
    let mut best = value.clone();
    for places in (0..=6).rev() {
        let Ok(rounded) = Exact::parse_decimal(&value.decimal_near(places)) else {
            continue;
        };
        if rounded.sub(&value).abs() <= free || places == 6 {
            best = rounded;
        }
    }
    axis.unit.to_base(&best)
}

/// Whether everything that rests on a freed setting holds at a set point.
pub(super) fn holds_at(oracle: &Oracle<'_>, at: &[Exact]) -> bool {
    let moving = oracle.moving();
    let mut all = moving.iter();
    all.all(|demand| oracle.standing(*demand, at) == Standing::Holds)
}

/// Whether it holds at every set point of a box.
pub(super) fn holds_over(oracle: &Oracle<'_>, region: &Region) -> bool {
    let moving = oracle.moving();
    let mut all = moving.iter();
    all.all(|demand| oracle.over(*demand, region) == Over::Same(Standing::Holds))
}
