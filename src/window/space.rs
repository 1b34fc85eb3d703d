//! The freed settings, and the set points they may be given.

use crate::diagnostic::Extent;
use crate::eval::{ExactInterval, Leaf};
use crate::types::{Tolerance, reach};
use crate::units::{Exact, Unit};

/// How much of a range a single value of it counts for.
const SLICE: f64 = 0.01;

/// A freed setting.
#[derive(Debug, Clone)]
pub(super) struct Axis {
    pub(super) leaf: Leaf,
    /// As reports name it.
    pub(super) name: String,
    /// The unit it is shown in.
    pub(super) unit: Unit,
    /// The step of its dial, in SI base units; `None` where it has no dial.
    pub(super) dial: Option<Exact>,
    /// Its tolerance, which moves along with the set point.
    pub(super) tolerance: Option<Tolerance>,
    /// Lowest and highest set point.
    pub(super) low: Exact,
    pub(super) high: Exact,
    /// Only whole numbers can be set.
    pub(super) whole: bool,
    /// What the plan sets it to.
    pub(super) present: Option<Exact>,
    /// What its range is.
    pub(super) extent: Extent,
}

impl Axis {
    /// Everything inside the tolerance of a set point.
    pub(super) fn reach(&self, at: &Exact) -> ExactInterval {
        let (low, high) = reach(at, self.tolerance.as_ref());
        ExactInterval::new(low, high)
    }

    /// The set point whose tolerance is exactly this; `None` where there is none.
    pub(super) fn set_point(&self, low: &Exact, high: &Exact) -> Option<Exact> {
        let at = match &self.tolerance {
            None => Some(low.clone()),
            Some(of) if !of.relative => Some(low.add(&of.minus)),
            Some(of) => low.div(&Exact::ONE.sub(&of.minus)),
        }?;
        let reach = self.reach(&at);
        (reach.low == *low && reach.high == *high).then_some(at)
    }

    /// Everything inside the tolerance of any set point of a stretch.
    pub(super) fn hull(&self, low: &Exact, high: &Exact) -> ExactInterval {
        let (one, other) = (self.reach(low), self.reach(high));
        ExactInterval::new(
            Exact::min(&one.low, &other.low),
            Exact::max(&one.high, &other.high),
        )
    }

    /// What lies inside the tolerance of every set point of a stretch.
    pub(super) fn core(&self, low: &Exact, high: &Exact) -> Option<ExactInterval> {
        let (one, other) = (self.reach(low), self.reach(high));
        let low = Exact::max(&one.low, &other.low);
        let high = Exact::min(&one.high, &other.high);
        (low <= high).then(|| ExactInterval::new(low, high))
    }

    /// The whole range.
    pub(super) fn span(&self) -> f64 {
        self.size(&self.low, &self.high)
    }

    /// How large a stretch of set points is; of whole numbers how many.
    pub(super) fn size(&self, low: &Exact, high: &Exact) -> f64 {
        let size = high.sub(low).nearest();
        if self.whole { size + 1.0 } else { size }
    }

    /// The middle of a stretch, where it can still be halved.
    pub(super) fn middle(&self, low: &Exact, high: &Exact) -> Option<Exact> {
        let middle = Exact::from_f64((low.nearest() + high.nearest()) * 0.5)?;
        let middle = if self.whole { middle.floor() } else { middle };
        let inside = if self.whole {
            *low <= middle && middle < *high
        } else {
            *low < middle && middle < *high
        };
        inside.then_some(middle)
    }

    /// A place between two set points, given as a share of the way.
    pub(super) fn between(&self, from: &Exact, to: &Exact, share: f64) -> Option<Exact> {
        let at = from.nearest() + (to.nearest() - from.nearest()) * share;
        let at = Exact::from_f64(at)?;
        let at = if self.whole { at.floor() } else { at };
        let (low, high) = if from < to { (from, to) } else { (to, from) };
        (*low < at && at < *high).then_some(at)
    }

    /// Where the stretch behind a set point begins, when it is cut there.
    pub(super) fn after(&self, at: &Exact) -> Exact {
        if self.whole {
            at.add(&Exact::ONE)
        } else {
            at.clone()
        }
    }

    /// The highest dial value not above a set point, or the lowest not below it; itself without a dial.
    pub(super) fn on_dial(&self, at: &Exact, up: bool) -> Exact {
        let Some(step) = &self.dial else {
            return at.clone();
        };
        // Dial values are whole multiples of the step on the unit's own scale.
        let zero = self.unit.to_base(&Exact::ZERO);
        let Some(places) = at.sub(&zero).div(step) else {
            return at.clone();
        };
        let places = if up { places.ceil() } else { places.floor() };
        zero.add(&places.mul(step))
    }

    /// A set point to begin with where the plan states none.
    pub(super) fn start(&self) -> Exact {
        let middle = self.middle(&self.low, &self.high);
        middle.unwrap_or_else(|| self.low.clone())
    }

    /// Whether it can be set to this.
    pub(super) fn holds(&self, at: &Exact) -> bool {
        self.low <= *at && *at <= self.high && (!self.whole || at.is_integer())
    }
}

/// A box of set points.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct Region {
    pub(super) low: Vec<Exact>,
    pub(super) high: Vec<Exact>,
}

impl Region {
    /// Its share of all set points.
    pub(super) fn share(&self, axes: &[Axis]) -> f64 {
        let mut share = 1.0;
        for ((axis, low), high) in axes.iter().zip(&self.low).zip(&self.high) {
            let whole = axis.span();
            if whole > 0.0 {
                share *= axis.size(low, high) / whole;
            }
        }
        share
    }

    /// How much it counts as it is looked at: its share, but that a single value counts as a thin slice.
    pub(super) fn weight(&self, axes: &[Axis]) -> f64 {
        let mut weight = 1.0;
        for ((axis, low), high) in axes.iter().zip(&self.low).zip(&self.high) {
            let whole = axis.span();
            if low == high && !axis.whole {
                weight *= SLICE;
            } else if whole > 0.0 {
                weight *= axis.size(low, high) / whole;
            }
        }
        weight
    }

    /// What two regions have in common.
    pub(super) fn meets(&self, other: &Self) -> Option<Self> {
        let low: Vec<Exact> = pairs(&self.low, &other.low, Exact::max);
        let high: Vec<Exact> = pairs(&self.high, &other.high, Exact::min);
        let any = low.iter().zip(&high).all(|(low, high)| low <= high);
        any.then_some(Self { low, high })
    }

    /// The smallest region that holds both.
    pub(super) fn hull(&self, other: &Self) -> Self {
        Self {
            low: pairs(&self.low, &other.low, Exact::min),
            high: pairs(&self.high, &other.high, Exact::max),
        }
    }

    /// The same with so much of it added at either end, as far as the settings go.
    pub(super) fn wider(&self, axes: &[Axis], by: f64) -> Self {
        let mut wider = self.clone();
        for (index, axis) in axes.iter().enumerate() {
            let (low, high) = (self.low[index].nearest(), self.high[index].nearest());
            // A setting of which one value is known to do is looked at around that.
            let more = ((high - low) * by).max(axis.span() * 0.005);
            let ends = (Exact::from_f64(low - more), Exact::from_f64(high + more));
            if let (Some(low), Some(high)) = ends {
                wider.low[index] = Exact::max(&low, &axis.low);
                wider.high[index] = Exact::min(&high, &axis.high);
            }
        }
        wider
    }

    /// The same with one setting between other ends.
    pub(super) fn with(&self, axis: usize, low: &Exact, high: &Exact) -> Self {
        let mut other = self.clone();
        other.low[axis] = low.clone();
        other.high[axis] = high.clone();
        other
    }
}

fn pairs(one: &[Exact], other: &[Exact], of: fn(&Exact, &Exact) -> Exact) -> Vec<Exact> {
    let each = one.iter().zip(other);
    each.map(|(one, other)| of(one, other)).collect()
}
