//! Values that are easy to read and still lie where they should.

use crate::constraint::{Domain, Segment};
use crate::units::{Exact, Unit};

/// Ends that stand in for none.
const FAR: i64 = 1_000;

/// A number rounded to so many significant digits.
pub(in crate::diff) fn near(value: &Exact, digits: u32) -> Exact {
    Exact::parse_decimal(&rounded(value, digits)).unwrap_or_else(|_| value.clone())
}

fn rounded(value: &Exact, digits: u32) -> String {
    if value.is_zero() {
        return "0".to_owned();
    }
    // How many places behind the point so many digits need.
    let size = value.abs().nearest().log10().floor();
    #[allow(clippy::cast_possible_truncation)]
    let places = i64::from(digits) - 1 - size as i64;
    if let Ok(places) = u32::try_from(places) {
        return value.decimal_near(places.min(40));
    }
    let ten = Exact::from_int(10).powi(i32::try_from(-places).unwrap_or(0));
    let Some(ten) = ten else {
        return value.decimal_near(0);
    };
    let scaled = value.div(&ten).unwrap_or_else(|| value.clone());
    let whole = Exact::parse_decimal(&scaled.decimal_near(0)).unwrap_or(scaled);
    whole.mul(&ten).decimal_near(0)
}

/// A value of a set with few digits in its unit; `None` where the set has none that can be written.
pub(in crate::diff) fn nice(set: &Domain, unit: &Unit, whole: bool) -> Option<Exact> {
    let width = |of: &Segment| match (&of.low, &of.high) {
        (Some(low), Some(high)) => high.value.sub(&low.value).nearest(),
        _ => f64::INFINITY,
    };
    let mut segments: Vec<&Segment> = set.segments().iter().collect();
    segments.sort_by(|one, other| width(other).total_cmp(&width(one)));
    segments
        .into_iter()
        .find_map(|segment| within(segment, set, unit, whole))
}

fn within(segment: &Segment, set: &Domain, unit: &Unit, whole: bool) -> Option<Exact> {
    let (low, high) = (segment.low.as_ref(), segment.high.as_ref());
    if let (Some(low), Some(high)) = (low, high)
        && low.value == high.value
    {
        return Some(low.value.clone());
    }
    let own = |end: &crate::constraint::End| unit.from_base(&end.value);
    // A unit that counts backwards would turn the ends round; none does.
    let (low, high) = (low.map(own), high.map(own));
    let far = Exact::from_int(FAR);
    let (low, high) = match (low, high) {
        (Some(low), Some(high)) => (low, high),
        (Some(low), None) => {
            let width = Exact::max(&low.abs(), &Exact::ONE);
            let high = low.add(&width);
            (low, high)
        }
        (None, Some(high)) => {
            let width = Exact::max(&high.abs(), &Exact::ONE);
            (high.sub(&width), high)
        }
        (None, None) => (far.neg(), far),
    };
    let middle = low.add(&high).div(&Exact::from_int(2))?;
    if whole {
        let down = middle.floor();
        return [down.clone(), down.add(&Exact::ONE)]
            .into_iter()
            .map(|value| unit.to_base(&value))
            .find(|value| set.holds(value));
    }
    for digits in 1..=15 {
        let value = unit.to_base(&near(&middle, digits));
        if set.holds(&value) {
            return Some(value);
        }
    }
    None
}
