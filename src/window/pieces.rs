//! One freed setting at a time: along its range, where each demand holds, is at risk, or breaks.

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
/// apart. An end belongs to both pieces; [`standing_over`] says what it really comes to.
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

/// Demands along one setting, each with its pieces.
pub(super) type Lines = Vec<(usize, Vec<Piece>)>;

/// A part of a setting's range inside which no piece begins or ends: a single set point, or all that lies between two.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Atom {
    pub(super) low: Exact,
    pub(super) high: Exact,
    /// Whether its ends are no part of it.
    pub(super) open: bool,
}

impl Atom {
    /// Whether it is one set point among others that are no whole numbers.
    pub(super) fn is_point(&self) -> bool {
        !self.open && self.low == self.high
    }
}

/// The range from `low` to `high` taken apart at all ends of pieces: every end by itself, for what only just fits
/// holds there and nowhere else.
pub(super) fn atoms(lines: &Lines, low: &Exact, high: &Exact, whole: bool) -> Vec<Atom> {
    let pieces = || lines.iter().flat_map(|(_, pieces)| pieces);
    let mut ends: Vec<Exact> = vec![low.clone()];
    ends.extend(pieces().map(|piece| piece.low.clone()));
    if !whole {
        ends.push(high.clone());
        ends.extend(pieces().map(|piece| piece.high.clone()));
    }
    ends.retain(|end| low <= end && end <= high);
    ends.sort();
    ends.dedup();
    let mut found = Vec::new();
    for (index, end) in ends.iter().enumerate() {
        let next = ends.get(index + 1);
        if whole {
            found.push(Atom {
                low: end.clone(),
                high: next.map_or_else(|| high.clone(), |next| next.sub(&Exact::ONE)),
                open: false,
            });
            continue;
        }
        found.push(Atom {
            low: end.clone(),
            high: end.clone(),
            open: false,
        });
        if let Some(next) = next {
            found.push(Atom {
                low: end.clone(),
                high: next.clone(),
                open: true,
            });
        }
    }
    found
}

/// What a demand comes to all over an atom of its line; `None` where that is not decided.
///
/// At an end that two pieces share it is what both say, else what is asked there.
pub(super) fn standing_over(
    oracle: &Oracle<'_>,
    (demand, pieces): &(usize, Vec<Piece>),
    atom: &Atom,
    axis: usize,
    point: &[Exact],
) -> Option<Standing> {
    let mut over = pieces
        .iter()
        .filter(|piece| piece.low <= atom.low && atom.high <= piece.high);
    let first = over.next()?;
    let alike = over.all(|piece| piece.standing == first.standing);
    if alike && (atom.open || first.standing.is_some() || !is_end(pieces, &atom.low)) {
        return first.standing.clone();
    }
    let mut at = point.to_vec();
    at[axis] = atom.low.clone();
    Some(oracle.standing(*demand, &at))
}

fn is_end(pieces: &[Piece], at: &Exact) -> bool {
    let mut ends = pieces.iter().flat_map(|piece| [&piece.low, &piece.high]);
    ends.any(|end| end == at)
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

    fn walk(&mut self, low: &Exact, high: &Exact) {
        let axis = &self.oracle.axes[self.axis];
        if low == high {
            let standing = self.standing(low);
            return self.push(low, high, Some(standing), true);
        }
        let over = self.over(low, high);
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
        self.walk(low, &middle);
        self.walk(&after, high);
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
