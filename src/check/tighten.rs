//! Which tolerance decides when a requirement is at risk, and how tight it would have to be.

use crate::eval::{
    Conditions, Counterexamples, Frame, Goal, Leaf, Memory, Scene, Stretch, Verdict, decide,
    is_costly,
};
use crate::types::{Quantity, Tolerance};
use crate::units::Exact;

use super::words;

/// A tolerance and how tight it would have to be.
#[derive(Debug, Clone)]
pub(super) struct Tightened {
    /// The setting.
    pub(super) leaf: Leaf,
    /// The tolerance that would do, as written; `None` when the value would have to be sharp.
    pub(super) needed: Option<String>,
    /// Whether the rule applies then, and holds.
    pub(super) applies: bool,
    /// The share of the present tolerance that would do, in steps of the search.
    steps: i64,
}

/// How fine the search is: 2 to this power steps between no tolerance and the present one.
const BITS: u32 = 20;

/// The same where a figure that takes milliseconds stands behind it; two digits are shown.
const BITS_COSTLY: u32 = 9;

/// How many tolerances are tried; a comparison over all of a thousand screens rests on as many.
const MOST_TRIED: usize = 64;

/// The tolerance that needs the least tightening for the requirement to hold, others as they are.
pub(super) fn tighten(
    scene: &Scene<'_>,
    frame: Frame,
    goal: Goal<'_>,
    leaves: &[Leaf],
) -> Option<Tightened> {
    let mut best: Option<Tightened> = None;
    let since = scene.memory.map_or(0, Memory::work);
    let search = Search {
        scene,
        frame,
        goal,
        against: Counterexamples::new(scene, frame, goal),
        bits: if is_costly(scene, frame, goal) {
            BITS_COSTLY
        } else {
            BITS
        },
    };
    for leaf in leaves.iter().take(MOST_TRIED) {
        if scene.memory.is_some_and(|memory| !memory.may_help(since)) {
            break;
        }
        let Some(quantity) = scene.quantity(leaf.target, leaf.field) else {
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
    if let Some(memory) = scene.memory {
        memory.count_help(since);
    }
    best
}

/// A search for a tolerance that does.
struct Search<'a> {
    scene: &'a Scene<'a>,
    frame: Frame,
    goal: Goal<'a>,
    against: Counterexamples<'a>,
    bits: u32,
}

impl Search<'_> {
    /// What the requirement comes to when a value stays between these ends.
    fn verdict(&self, leaf: Leaf, low: Exact, high: Exact) -> Verdict {
        let mut narrowed = self.scene.narrowed.to_vec();
        narrowed.retain(|(known, _)| *known != leaf);
        narrowed.push((leaf, Stretch::new(low, high)));
        if self.against.refute(&narrowed) {
            return Verdict::AtRisk(false);
        }
        let scene = Scene {
            narrowed: &narrowed,
            ..*self.scene
        };
        Memory::proving(scene.memory, || {
            decide(&Conditions::new(scene), &scene, self.frame, self.goal)
        })
    }

    fn one(
        &self,
        (leaf, quantity): (Leaf, &Quantity),
        best: Option<&Tightened>,
    ) -> Option<Tightened> {
        let at = |share: &Exact| {
            let (low, high) = scaled(quantity, share);
            self.verdict(leaf, low, high)
        };
        let sharp = at(&Exact::ZERO);
        if !passes(&sharp) {
            return None;
        }
        let whole = 1_i64 << self.bits;
        let (mut good, mut bad) = (0_i64, whole);
        if let Some(best) = best {
            // One that needs more tightening than the best so far is of no use.
            if best.steps + 1 >= whole || !passes(&at(&Exact::ratio(best.steps + 1, whole))) {
                return None;
            }
            good = best.steps + 1;
        }
        while bad - good > 1 {
            let middle = good + (bad - good) / 2;
            if passes(&at(&Exact::ratio(middle, whole))) {
                good = middle;
            } else {
                bad = middle;
            }
        }
        let share = Exact::ratio(good, whole);
        let needed = quantity
            .tolerance
            .as_ref()
            .and_then(|tolerance| self.rounded(leaf, quantity, tolerance, &share));
        Some(Tightened {
            leaf,
            needed,
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
    ) -> Option<String> {
        let two_digits = |size: &Exact| {
            let own = tolerance.unit.from_base(&size.mul(share));
            let text = own.significant_down(2);
            Exact::parse_decimal(&text)
                .ok()
                .map(|rounded| tolerance.unit.to_base(&rounded))
        };
        let (plus, minus) = (two_digits(&tolerance.plus)?, two_digits(&tolerance.minus)?);
        if plus.is_zero() && minus.is_zero() {
            return None;
        }
        let tighter = Tolerance {
            plus,
            minus,
            ..tolerance.clone()
        };
        let (low, high) = crate::types::reach(&quantity.nominal, Some(&tighter));
        passes(&self.verdict(leaf, low, high)).then(|| words::tolerance(&tighter))
    }
}

fn passes(verdict: &Verdict) -> bool {
    matches!(verdict, Verdict::Holds(_) | Verdict::DoesNotApply(_))
}

fn scaled(quantity: &Quantity, share: &Exact) -> (Exact, Exact) {
    let below = quantity.nominal.sub(&quantity.low).mul(share);
    let above = quantity.high.sub(&quantity.nominal).mul(share);
    (quantity.nominal.sub(&below), quantity.nominal.add(&above))
}
