//! One freed setting at a time: along its range, where each demand holds, is at risk, or breaks.

use std::collections::VecDeque;

use super::oracle::{Oracle, Over};
use super::space::Region;
use crate::check::Standing;
use crate::units::Exact;

/// Questions about one demand along one setting.
const MOST_TRIALS: u64 = 4_000;
/// The same where figures that take milliseconds stand behind it.
const MOST_COSTLY: u64 = 2_000;
/// How often a stretch is halved until the two sides of an edge are told apart; each time, a fraction is looked for.
const HALVINGS: [u32; 4] = [30, 44, 66, 99];
/// How many parts of a dial step, and of the range, an edge of such a figure is followed to.
const FINE_DIAL: f64 = 64.0;
const FINE_RANGE: f64 = 16_384.0;

/// A stretch of set points over which a demand comes to one thing.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Piece {
    pub(super) low: Exact,
    pub(super) high: Exact,
    /// `None` where it is not decided.
    pub(super) standing: Option<Standing>,
    /// Whether its lower end is known exactly, and so on which side the end itself lies.
    pub(super) sharp: bool,
}

/// The pieces of a demand along one setting, the others at `point`, lowest first.
///
/// Neighbours meet: the lower end of a piece is the upper end of the one before, but for whole numbers, which are one
/// apart. An end belongs to both pieces; a [`sweep`](super::sweep::sweep) says what it really comes to.
pub(super) fn pieces(
    oracle: &Oracle<'_>,
    demand: usize,
    axis: usize,
    point: &[Exact],
) -> Vec<Piece> {
    let (low, high) = (
        oracle.axes[axis].low.clone(),
        oracle.axes[axis].high.clone(),
    );
    if !oracle.asked[demand].axes().any(|of| of == axis) {
        // What it does not rest on changes nothing of it.
        return vec![Piece {
            low,
            high,
            standing: Some(oracle.standing(demand, point)),
            sharp: false,
        }];
    }
    let mut line = Line {
        oracle,
        demand,
        axis,
        point,
        since: oracle.trials(),
        found: Vec::new(),
    };
    line.walk(&low, &high);
    line.merged()
}

struct Line<'p, 'a> {
    oracle: &'p Oracle<'a>,
    demand: usize,
    axis: usize,
    point: &'p [Exact],
    since: u64,
    found: Vec<Piece>,
}

impl Line<'_, '_> {
    fn at(&self, value: &Exact) -> Vec<Exact> {
        let mut point = self.point.to_vec();
        point[self.axis] = value.clone();
        point
    }

    fn standing(&self, value: &Exact) -> Standing {
        self.oracle.standing(self.demand, &self.at(value))
    }

    fn over(&self, low: &Exact, high: &Exact) -> Over {
        let point = Region {
            low: self.point.to_vec(),
            high: self.point.to_vec(),
        };
        let region = point.with(self.axis, low, high);
        self.oracle.over(self.demand, &region)
    }

    fn push(&mut self, low: &Exact, high: &Exact, standing: Option<Standing>, sharp: bool) {
        self.found.push(Piece {
            low: low.clone(),
            high: high.clone(),
            standing,
            sharp,
        });
    }

    fn tired(&self) -> bool {
        let most = if self.oracle.asked[self.demand].costly {
            MOST_COSTLY
        } else {
            MOST_TRIALS
        };
        self.oracle.trials() - self.since > most
    }

    /// The narrowest stretch that is still cut.
    fn fine(&self) -> f64 {
        let axis = &self.oracle.axes[self.axis];
        if !self.oracle.asked[self.demand].costly {
            return axis.span() * 2.0_f64.powi(-30);
        }
        let range = axis.span() / FINE_RANGE;
        let dial = axis.dial.as_ref().map(|step| step.nearest() / FINE_DIAL);
        dial.map_or(range, |dial| dial.min(range))
    }

    /// Takes a stretch apart, the widest of what is open first: so what is hard at one end costs the other end nothing.
    fn walk(&mut self, low: &Exact, high: &Exact) {
        let mut open = VecDeque::new();
        let mut from = low.clone();
        for at in self.oracle.read_at(self.axis) {
            if from < at {
                let before = &self.oracle.axes[self.axis];
                let to = if before.whole {
                    at.sub(&Exact::ONE)
                } else {
                    at.clone()
                };
                open.push_back((from, to));
            }
            open.push_back((at.clone(), at.clone()));
            from = self.oracle.axes[self.axis].after(&at);
        }
        if from <= *high {
            open.push_back((from, high.clone()));
        }
        while let Some((low, high)) = open.pop_front() {
            self.look(&low, &high, &mut open);
        }
        self.found
            .sort_by(|one, other| (&one.low, &one.high).cmp(&(&other.low, &other.high)));
    }

    fn look(&mut self, low: &Exact, high: &Exact, open: &mut VecDeque<(Exact, Exact)>) {
        let axis = &self.oracle.axes[self.axis];
        if low == high {
            let standing = self.standing(low);
            return self.push(low, high, Some(standing), true);
        }
        let over = self.oracle.counted(|| self.over(low, high));
        if let Over::Same(standing) = over {
            return self.push(low, high, Some(standing), false);
        }
        let narrow = !axis.whole && axis.size(low, high) <= self.fine();
        let middle = axis.middle(low, high);
        let (Some(middle), false) = (middle, self.tired()) else {
            return self.push(low, high, None, false);
        };
        if narrow {
            return self.edge(low, high);
        }
        let after = axis.after(&middle);
        open.extend([(low.clone(), middle), (after, high.clone())]);
    }

    /// Between two set points that lie close together: the exact edge where a fraction is it.
    ///
    /// What was asked on the way tells of the strips on either side; only what is left between the nearest two is open.
    fn edge(&mut self, low: &Exact, high: &Exact) {
        let costly = self.oracle.asked[self.demand].costly;
        if costly || !self.oracle.asked[self.demand].is_monotone() {
            return self.push(low, high, None, false);
        }
        let (first, last) = (low.clone(), high.clone());
        let (from, to) = (self.standing(low), self.standing(high));
        let (mut low, mut high) = (first.clone(), last.clone());
        let mut halved = HALVINGS[0];
        for wanted in HALVINGS {
            while halved < wanted {
                let Some(middle) = low.add(&high).div(&Exact::from_int(2)) else {
                    break;
                };
                let standing = self.standing(&middle);
                if standing == from {
                    low = middle;
                } else if standing == to {
                    high = middle;
                } else {
                    // Three at once, as where nothing has a tolerance: the edges fall together.
                    let together = self.is_edge(&low, &middle, &high);
                    self.push(
                        &first,
                        if together { &middle } else { &low },
                        Some(from),
                        false,
                    );
                    if together {
                        self.push(&middle, &middle, Some(standing), true);
                    } else {
                        self.push(&low, &high, None, false);
                    }
                    return self.push(
                        if together { &middle } else { &high },
                        &last,
                        Some(to),
                        together,
                    );
                }
                halved += 1;
            }
            let Some(fraction) = simplest(&low, &high) else {
                continue;
            };
            if self.is_edge(&low, &fraction, &high) {
                self.push(&first, &fraction, Some(from), false);
                return self.push(&fraction, &last, Some(to), true);
            }
        }
        self.push(&first, &low, Some(from), false);
        self.push(&low, &high, None, false);
        self.push(&high, &last, Some(to), false);
    }

    fn is_edge(&self, below: &Exact, edge: &Exact, above: &Exact) -> bool {
        self.oracle.is_edge(
            self.demand,
            &self.at(below),
            &self.at(edge),
            &self.at(above),
        )
    }

    /// Neighbours that come to the same are one; what is left open between two may be a hair wide.
    fn merged(self) -> Vec<Piece> {
        let mut all: Vec<Piece> = Vec::new();
        for piece in self.found {
            match all.last_mut() {
                Some(last)
                    if last.standing == piece.standing
                        && !(piece.sharp && piece.low == piece.high) =>
                {
                    last.high = piece.high;
                }
                _ => all.push(piece),
            }
        }
        all
    }
}

/// The fraction with the smallest numbers in a stretch (Stern and Brocot's tree, walked by continued fractions).
pub(super) fn simplest(low: &Exact, high: &Exact) -> Option<Exact> {
    if low.signum() < 0 || low > high {
        return None;
    }
    let floor = low.floor();
    if floor == *low {
        return Some(floor);
    }
    let next = floor.add(&Exact::ONE);
    if next <= *high {
        return Some(next);
    }
    let one = |of: &Exact| Exact::ONE.div(&of.sub(&floor));
    let inner = simplest(&one(high)?, &one(low)?)?;
    Some(floor.add(&Exact::ONE.div(&inner)?))
}
