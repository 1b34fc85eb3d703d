//! Which tolerance decides when a requirement is at risk, and how tight it would have to be.

use crate::eval::{
    Binding, Conditions, Counterexamples, EvalContext, ExactInterval, FigureCache, Goal, Leaf,
    Verdict, decide, is_costly,
};
use crate::source::{FileId, Span};
use crate::types::{Quantity, Tolerance};
use crate::units::{Exact, Unit};

use super::bisect::bisect;
use super::wording;

/// A tolerance and how tight it would have to be.
#[derive(Debug, Clone)]
pub(super) struct Tightened {
    /// The setting.
    pub(super) leaf: Leaf,
    /// What would do.
    pub(super) needed: Needed,
    /// Whether the rule applies then, and holds.
    pub(super) applies: bool,
    /// The share of the present tolerance that would do, in steps of the search.
    steps: i64,
}

/// What would have to be known of a value.
#[derive(Debug, Clone)]
pub(super) enum Needed {
    /// This tolerance around the present nominal, or around the middle of a span.
    Tolerance(String),
    /// The lower part of the span, up to this value.
    UpTo(String),
    /// The upper part of the span, from this value on.
    From(String),
    /// The value would have to be sharp.
    Sharp,
}

/// The point of a stretch that stays when it is made narrower.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Anchor {
    Nominal,
    Low,
    High,
}

/// How fine the search is: 2 to this power steps between no tolerance and the present one.
const BITS: u32 = 20;

/// The same where a figure that takes milliseconds stands behind it; two digits are shown.
const BITS_COSTLY: u32 = 9;

/// How many tolerances are tried; a comparison over all of a thousand screens rests on as many.
const MOST_TRIED: usize = 64;

/// The tolerance that needs the least tightening for the requirement to hold, others as they are.
pub(super) fn tighten(
    context: &EvalContext<'_>,
    binding: Binding,
    goal: Goal<'_>,
    leaves: &[Leaf],
) -> Option<Tightened> {
    let mut best: Option<Tightened> = None;
    let since = context.cache.map_or(0, |cache| cache.budget().work());
    let search = Search {
        context,
        binding,
        goal,
        against: Counterexamples::new(context, binding, goal),
        bits: if is_costly(context, binding, goal) {
            BITS_COSTLY
        } else {
            BITS
        },
    };
    for leaf in leaves.iter().take(MOST_TRIED) {
        if context
            .cache
            .is_some_and(|cache| !cache.budget().may_help(since))
        {
            break;
        }
        let Some(quantity) = context.quantity(leaf.target, leaf.field) else {
            continue;
        };
        if quantity.low == quantity.high {
            continue;
        }
        let Some(found) = search.one((*leaf, quantity), best.as_ref()) else {
            continue;
        };
        best = Some(found);
    }
    if let Some(cache) = context.cache {
        cache.budget().count_help(since);
    }
    best
}

/// A search for a tolerance that does.
struct Search<'a> {
    context: &'a EvalContext<'a>,
    binding: Binding,
    goal: Goal<'a>,
    against: Counterexamples<'a>,
    bits: u32,
}

impl Search<'_> {
    /// What the requirement comes to when a value stays between these ends.
    fn verdict(&self, leaf: Leaf, low: Exact, high: Exact) -> Verdict {
        let mut narrowed = self.context.narrowed.to_vec();
        narrowed.retain(|(known, _)| *known != leaf);
        narrowed.push((leaf, ExactInterval::new(low, high)));
        if self.against.refute(&narrowed) {
            return Verdict::AtRisk(false);
        }
        let context = EvalContext {
            narrowed: &narrowed,
            ..*self.context
        };
        FigureCache::proving(context.cache, || {
            decide(&Conditions::new(context), &context, self.binding, self.goal)
        })
    }

    fn one(
        &self,
        (leaf, quantity): (Leaf, &Quantity),
        best: Option<&Tightened>,
    ) -> Option<Tightened> {
        let at = |share: &Exact, anchor: Anchor| {
            let (low, high) = scaled(quantity, share, anchor);
            self.verdict(leaf, low, high)
        };
        // Of a span any part may turn out to be true; what has a tolerance is meant to be its nominal.
        let anchors: &[Anchor] = match quantity.tolerance {
            Some(_) => &[Anchor::Nominal],
            None => &[Anchor::Nominal, Anchor::Low, Anchor::High],
        };
        let whole = 1_i64 << self.bits;
        let mut found: Option<(Anchor, Verdict, i64)> = None;
        for anchor in anchors {
            let sharp = at(&Exact::ZERO, *anchor);
            if !passes(&sharp) {
                continue;
            }
            let mut good = 0_i64;
            let known = found.as_ref().map(|(.., steps)| *steps);
            if let Some(steps) = known.max(best.map(|best| best.steps)) {
                // One that needs more tightening than the best so far is of no use.
                if steps + 1 >= whole || !passes(&at(&Exact::ratio(steps + 1, whole), *anchor)) {
                    continue;
                }
                good = steps + 1;
            }
            let does = |steps| passes(&at(&Exact::ratio(steps, whole), *anchor));
            found = Some((*anchor, sharp, bisect(good, whole, || true, does).0));
        }
        let (anchor, sharp, good) = found?;
        let share = Exact::ratio(good, whole);
        let needed = match anchor {
            Anchor::Nominal => tolerance_of(quantity)
                .and_then(|tolerance| self.rounded(leaf, quantity, &tolerance, &share)),
            _ => self.end_of(leaf, quantity, anchor, &share),
        };
        Some(Tightened {
            leaf,
            needed: needed.unwrap_or(Needed::Sharp),
            applies: matches!(sharp, Verdict::Holds(_)),
            steps: good,
        })
    }

    /// The tolerance rounded down to two digits, and checked once more as rounded.
    fn rounded(
        &self,
        leaf: Leaf,
        quantity: &Quantity,
        tolerance: &Tolerance,
        share: &Exact,
    ) -> Option<Needed> {
        let tighter = tighter(tolerance, share)?;
        let (low, high) = crate::types::reach(&quantity.nominal, Some(&tighter));
        passes(&self.verdict(leaf, low, high))
            .then(|| Needed::Tolerance(wording::tolerance(&tighter)))
    }

    /// The end of the part of a span that would do, rounded to three digits and checked as rounded: to
    /// the generous side first, since the search ends a little before the limit.
    fn end_of(
        &self,
        leaf: Leaf,
        quantity: &Quantity,
        anchor: Anchor,
        share: &Exact,
    ) -> Option<Needed> {
        let (low, high) = scaled(quantity, share, anchor);
        let up_to = anchor == Anchor::Low;
        let own = quantity.unit.from_base(if up_to { &high } else { &low });
        let (down, up) = (own.significant_down(3), own.significant_up(3));
        let generous_first = if up_to { [up, down] } else { [down, up] };
        generous_first.into_iter().find_map(|text| {
            let end = Exact::parse_decimal(&text).ok()?;
            let end = quantity.unit.to_base(&end);
            let (low, high) = if up_to {
                (low.clone(), end.clone())
            } else {
                (end.clone(), high.clone())
            };
            let inside = low <= high && low >= quantity.low && high <= quantity.high;
            if !inside || !passes(&self.verdict(leaf, low, high)) {
                return None;
            }
            let text = crate::units::show_exact(&end, &quantity.unit);
            Some(if up_to {
                Needed::UpTo(text)
            } else {
                Needed::From(text)
            })
        })
    }
}

pub(super) fn passes(verdict: &Verdict) -> bool {
    matches!(verdict, Verdict::Holds(_) | Verdict::DoesNotApply(_))
}

fn scaled(quantity: &Quantity, share: &Exact, anchor: Anchor) -> (Exact, Exact) {
    let fixed = match anchor {
        Anchor::Nominal => &quantity.nominal,
        Anchor::Low => &quantity.low,
        Anchor::High => &quantity.high,
    };
    let below = fixed.sub(&quantity.low).mul(share);
    let above = quantity.high.sub(fixed).mul(share);
    (fixed.sub(&below), fixed.add(&above))
}

/// The tolerance of a value as written; for a span the one around its middle that says the same.
///
/// It is in percent where the value has a zero to count from, so that a temperature has one in degrees.
pub(super) fn tolerance_of(quantity: &Quantity) -> Option<Tolerance> {
    if let Some(tolerance) = &quantity.tolerance {
        return Some(tolerance.clone());
    }
    let half = quantity.high.sub(&quantity.nominal);
    let by_itself =
        !quantity.unit.is_point() && !quantity.unit.is_percent() && quantity.nominal.signum() > 0;
    let (size, unit) = if by_itself {
        (half.div(&quantity.nominal)?, Unit::percent())
    } else {
        (half, quantity.unit.as_difference())
    };
    Some(Tolerance {
        span: Span::new(FileId(0), 0, 0),
        relative: by_itself,
        plus: size.clone(),
        minus: size,
        unit,
        of_it: false,
    })
}

/// A tolerance made tighter by a share, rounded down to two digits; `None` when nothing is left.
pub(super) fn tighter(tolerance: &Tolerance, share: &Exact) -> Option<Tolerance> {
    let two_digits = |size: &Exact| {
        let own = tolerance.unit.from_base(&size.mul(share));
        let rounded = Exact::parse_decimal(&own.significant_down(2)).ok()?;
        Some(tolerance.unit.to_base(&rounded))
    };
    let (plus, minus) = (two_digits(&tolerance.plus)?, two_digits(&tolerance.minus)?);
    if plus.is_zero() && minus.is_zero() {
        return None;
    }
    Some(Tolerance {
        plus,
        minus,
        ..tolerance.clone()
    })
}
