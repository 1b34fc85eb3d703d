//! The values a setting of the plan can be brought to: whole steps of its dial inside what is possible.

use crate::eval::{EvalContext, ExactInterval, Leaf};
use crate::source::Span;
use crate::types::{Field, Origin, Quantity, Reading, Type, reach};
use crate::units::{Exact, Unit, show_exact, write_exact};

use super::super::wording;

/// How many steps of a dial are looked at to each side of the present value.
const MOST_STEPS: i64 = 1 << 24;

/// How often the present value a setting may be at most, where nothing says what is possible.
const TIMES: i64 = 10;

/// A stated setting of the plan with its dial. Values are counted in steps from the zero of its unit.
#[derive(Debug, Clone)]
pub(in super::super) struct Dial<'a> {
    pub(in super::super) leaf: Leaf,
    pub(in super::super) quantity: &'a Quantity,
    /// Where the plan states it.
    pub(in super::super) span: Span,
    /// The number of steps to the smallest and to the largest value that is possible.
    pub(in super::super) first: i64,
    pub(in super::super) last: i64,
    /// The nearest steps below and above the present value.
    pub(in super::super) below: i64,
    pub(in super::super) above: i64,
    /// Whether the standard says what is possible to both sides, and all of it is looked at.
    pub(super) bounded: bool,
    step: Exact,
    unit: Unit,
    zero: Exact,
    /// Whether only whole numbers can be stated.
    whole: bool,
}

impl<'a> Dial<'a> {
    /// The dial of a setting; `None` where the plan states no single number for it, or where it is a
    /// share of a whole, which cannot move alone.
    pub(in super::super) fn of(context: &EvalContext<'a>, leaf: Leaf) -> Option<Self> {
        let stated = context
            .stated(leaf.target, leaf.field)
            .filter(|stated| stated.origin == Origin::Plan)?;
        let quantity = context.quantity(leaf.target, leaf.field)?;
        // A span without a nominal has no single value to move.
        if quantity.tolerance.is_none() && quantity.low != quantity.high {
            return None;
        }
        let kind = context.run.target(context.standard, leaf.target).kind;
        let parts = &context.standard.kind(kind).parts;
        if parts.iter().any(|whole| whole.fields.contains(&leaf.field)) {
            return None;
        }
        let field = context.standard.field(kind, leaf.field);
        let (step, unit) = step_of(field, quantity);
        let zero = unit.to_base(&Exact::ZERO);
        let steps = |value: &Exact| value.sub(&zero).div(&step);
        let place = steps(&quantity.nominal)?;
        let (below, above) = (
            place.ceil().to_i64()?.checked_sub(1)?,
            place.floor().to_i64()?.checked_add(1)?,
        );
        let (least, most) = nominal_limits(field, quantity)?;
        let first = match least {
            Some(least) => steps(&least)?.ceil().to_i64()?,
            None => i64::MIN,
        };
        let last = match most {
            Some(most) => steps(&most)?.floor().to_i64()?,
            None => i64::MAX,
        };
        let (least, most) = (
            below.saturating_sub(MOST_STEPS),
            above.saturating_add(MOST_STEPS),
        );
        let declared = field
            .possible
            .as_ref()
            .is_some_and(|limits| limits.low.is_some() && limits.high.is_some());
        Some(Self {
            leaf,
            quantity,
            span: stated.span,
            bounded: declared && first >= least && last <= most,
            first: first.max(least),
            last: last.min(most),
            below,
            above,
            step,
            unit,
            zero,
            whole: matches!(&field.ty, Type::Quantity(measure) if measure.is_whole()),
        })
    }

    /// The value at a number of steps.
    pub(in super::super) fn value(&self, at: i64) -> Exact {
        self.zero.add(&Exact::from_int(at).mul(&self.step))
    }

    /// What the setting may be when it is set to a number of steps, its tolerance as it is.
    pub(in super::super) fn stretch(&self, at: i64) -> ExactInterval {
        let (low, high) = reach(&self.value(at), self.quantity.tolerance.as_ref());
        ExactInterval::new(low, high)
    }

    /// All that it may be when it is set to anything from one number of steps to another.
    pub(in super::super) fn hull(&self, one: i64, other: i64) -> ExactInterval {
        let (one, other) = (self.stretch(one), self.stretch(other));
        ExactInterval::new(
            Exact::min(&one.low, &other.low),
            Exact::max(&one.high, &other.high),
        )
    }

    /// The lowest, or the highest, that each setting from one number of steps to another may be.
    pub(super) fn ends(&self, one: i64, other: i64, high: bool) -> ExactInterval {
        let (one, other) = (self.stretch(one), self.stretch(other));
        let (one, other) = if high {
            (one.high, other.high)
        } else {
            (one.low, other.low)
        };
        ExactInterval::new(Exact::min(&one, &other), Exact::max(&one, &other))
    }

    /// The number of steps at which the setting may be this; `None` where that is between two.
    pub(super) fn steps_of(&self, stretch: &ExactInterval) -> Option<i64> {
        let (mut low, mut high) = (self.first.min(self.below), self.last.max(self.above));
        while low < high {
            let middle = low + (high - low) / 2;
            if self.stretch(middle).low < stretch.low {
                low = middle + 1;
            } else {
                high = middle;
            }
        }
        let found = self.stretch(low);
        (found.low == stretch.low && found.high == stretch.high).then_some(low)
    }

    /// Whether its tolerance leaves it one value.
    pub(super) fn is_sharp(&self) -> bool {
        self.quantity.low == self.quantity.high
    }

    /// Whether it counts things.
    pub(super) fn counts(&self) -> bool {
        self.whole || self.unit.is_noun() || self.unit.is_bare()
    }

    /// How far a number of steps is from the present value, relative to it.
    pub(super) fn change(&self, at: i64) -> f64 {
        let nominal = &self.quantity.nominal;
        self.value(at).sub(nominal).abs().nearest() / nominal.abs().nearest().max(f64::MIN_POSITIVE)
    }

    /// The value as the plan would state it: `2.3 m/min ± 5 %`.
    pub(super) fn text(&self, at: i64) -> String {
        self.with_tolerance(written(&self.value(at), &self.unit))
    }

    /// The value as it stands in the plan now.
    pub(super) fn present(&self) -> String {
        self.with_tolerance(written(&self.quantity.nominal, &self.quantity.unit))
    }

    /// A number with what is stated behind it, which stays as it is.
    pub(super) fn with_tolerance(&self, number: String) -> String {
        let mut text = number;
        if let Some(tolerance) = &self.quantity.tolerance {
            let behind = wording::tolerance_behind(&self.unit, tolerance);
            text.push_str(&format!(" {behind}"));
        }
        if let Some(scatter) = &self.quantity.scatter {
            text.push_str(&format!(" sd {}", scatter.words));
        }
        text
    }

    /// From one number of steps to another: `0.1 to 2.3 m/min`.
    pub(super) fn range(&self, low: i64, high: i64) -> String {
        let top = written(&self.value(high), &self.unit);
        if low == high {
            return top;
        }
        let bottom = written(&self.value(low), &self.unit);
        let suffix = format!(" {}", self.unit.spelling());
        let bottom = bottom.strip_suffix(&suffix).unwrap_or(&bottom);
        format!("{bottom} to {top}")
    }

    /// A number of steps in the unit of the dial.
    pub(super) fn number(&self, at: i64) -> f64 {
        self.unit.from_base(&self.value(at)).nearest()
    }

    /// The unit of the dial as written.
    pub(super) fn spelling(&self) -> String {
        self.unit.spelling().to_owned()
    }
}

/// A value with all its digits, where it is a decimal.
fn written(value: &Exact, unit: &Unit) -> String {
    write_exact(value, unit).unwrap_or_else(|| show_exact(value, unit))
}

/// The step of a dial, in SI base units, and the unit it is dialled in.
fn step_of(field: &Field, quantity: &Quantity) -> (Exact, Unit) {
    let same = field.steps.iter().find(|(_, unit)| {
        unit.spelling() == quantity.unit.spelling()
            || unit.spelling() == quantity.unit.as_difference().spelling()
    });
    if let Some((step, _)) = same {
        return (step.clone(), quantity.unit.clone());
    }
    if let Some((step, unit)) = field.steps.first() {
        // The dial has another unit than the plan: the repair is written in the dial's.
        let own =
            Unit::parse(unit.spelling().trim_start_matches('Δ')).unwrap_or_else(|_| unit.clone());
        return (step.clone(), own);
    }
    if let Type::Quantity(measure) = &field.ty
        && measure.is_whole()
    {
        // A dozen is no step of what may be any number of pieces.
        let one = quantity.unit.to_base(&Exact::ONE) == Exact::ONE;
        let unit = if one || matches!(measure.reading, Reading::Count(_)) {
            quantity.unit.clone()
        } else {
            Unit::usual(measure.dimension)
        };
        return (Exact::ONE, unit);
    }
    // Without a dial: three significant digits of the present value.
    let own = quantity.unit.from_base(&quantity.nominal).abs().nearest();
    let digits = if own > 0.0 { own.log10().floor() } else { 0.0 };
    #[allow(clippy::cast_possible_truncation)]
    let power = (digits as i32 - 2).clamp(-30, 30);
    let size = Exact::from_int(10).powi(power).unwrap_or(Exact::ONE);
    (
        quantity.unit.as_difference().to_base(&size),
        quantity.unit.clone(),
    )
}

/// The smallest and the largest value that are possible with the tolerance around them.
pub(in super::super) fn nominal_limits(
    field: &Field,
    quantity: &Quantity,
) -> Option<(Option<Exact>, Option<Exact>)> {
    let (low, high) = match &field.possible {
        Some(limits) => (limits.low.clone(), limits.high.clone()),
        // A value keeps its sign, and its size within bounds.
        None => (
            Some(Exact::ZERO),
            Some(quantity.nominal.abs().mul(&Exact::from_int(TIMES))),
        ),
    };
    let Some(tolerance) = &quantity.tolerance else {
        return Some((low, high));
    };
    if !tolerance.relative {
        return Some((
            low.map(|low| low.add(&tolerance.minus)),
            high.map(|high| high.sub(&tolerance.plus)),
        ));
    }
    // A share of a value grows with its size, to both sides of zero.
    let factor = |side: &Exact| Exact::ONE.add(side);
    let (minus, plus) = (tolerance.minus.neg(), &tolerance.plus);
    let inward = |limit: Exact, up: bool| {
        let side = if up == (limit.signum() >= 0) {
            if up {
                factor(plus)
            } else {
                factor(&tolerance.minus)
            }
        } else if up {
            factor(&plus.neg())
        } else {
            factor(&minus)
        };
        if side.signum() <= 0 {
            return None;
        }
        limit.div(&side)
    };
    Some((
        match low {
            Some(low) => Some(inward(low, false)?),
            None => None,
        },
        match high {
            Some(high) => Some(inward(high, true)?),
            None => None,
        },
    ))
}
