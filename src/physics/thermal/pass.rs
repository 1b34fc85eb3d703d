//! What a run leaves behind: cubic pieces in time, and the figures read off them.
//!
//! Between two solver steps values and slopes are known at both ends, so each quantity is a cubic (Hermite) in time;
//! peaks, crossings and doses are read off the cubics and do not depend on where the steps happened to fall.

use crate::physics::dose::Rate;

/// Quantities a run keeps: six temperatures and three water stores.
pub(super) const QUANTITIES: usize = 9;

/// A quantity of the run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Place {
    /// Temperature of the ink's surface, K.
    Surface,
    /// Temperature where ink meets fabric, the least-cured plane, K.
    Boundary,
    /// Temperature of the fabric's back, K; of the upper ply's where there are two.
    Back,
    /// Temperature of the pallet, K.
    Pallet,
    /// Water held by the film, kg/m².
    InkWater,
    /// Water held by the fabric, kg/m²; by the upper ply where there are two.
    FabricWater,
    /// Temperature of the last ply's back, K: where it meets a film printed before, or the belt.
    LastBack,
    /// Water held by the lower ply, kg/m²; none where there is one ply.
    LowerWater,
    /// Temperature of the lower ply's upper face, K; of the fabric's back where there is one ply.
    LowerTop,
}

impl Place {
    fn index(self) -> usize {
        match self {
            Self::Surface => 0,
            Self::Boundary => 1,
            Self::Back => 2,
            Self::Pallet => 3,
            Self::InkWater => 4,
            Self::FabricWater => 5,
            Self::LastBack => 6,
            Self::LowerWater => 7,
            Self::LowerTop => 8,
        }
    }
}

/// Which part of the run counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Stretch {
    /// From the start to the exit.
    ToExit,
    /// After the exit.
    AfterExit,
    /// All of it.
    Whole,
}

/// One step of the solver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Piece {
    pub(super) zone: usize,
    pub(super) start: f64,
    pub(super) span: f64,
    pub(super) from: [f64; QUANTITIES],
    pub(super) to: [f64; QUANTITIES],
    pub(super) slope_from: [f64; QUANTITIES],
    pub(super) slope_to: [f64; QUANTITIES],
}

/// A finished run.
#[derive(Debug, Clone, PartialEq)]
pub struct Pass {
    pieces: Vec<Piece>,
    to_exit: usize,
    zones: usize,
    first: [f64; QUANTITIES],
    work: u64,
}

/// y(s) = c0 + c1·s + c2·s² + c3·s³ for s from 0 to 1.
#[derive(Debug, Clone, Copy)]
struct Cubic([f64; 4]);

impl Piece {
    fn cubic(&self, q: usize) -> Cubic {
        let (a, b) = (self.slope_from[q] * self.span, self.slope_to[q] * self.span);
        let rise = self.to[q] - self.from[q];
        Cubic([
            self.from[q],
            a,
            3.0 * rise - 2.0 * a - b,
            a + b - 2.0 * rise,
        ])
    }
}

impl Cubic {
    fn at(&self, s: f64) -> f64 {
        let [c0, c1, c2, c3] = self.0;
        c0 + s * (c1 + s * (c2 + s * c3))
    }

    /// 0, the turning points in between, and 1: the cubic is monotone from each to the next.
    fn turns(&self) -> ([f64; 4], usize) {
        let [_, c1, c2, c3] = self.0;
        let mut turns = [0.0, 1.0, 1.0, 1.0];
        let mut count = 1;
        let mut add = |s: f64| {
            if s > 0.0 && s < 1.0 {
                turns[count] = s;
                count += 1;
            }
        };
        // Roots of c1 + 2 c2 s + 3 c3 s², by the form that does not cancel.
        let square = c2 * c2 - 3.0 * c3 * c1;
        if square > 0.0 {
            let q = -(c2 + square.sqrt().copysign(c2));
            let (one, two) = (q / (3.0 * c3), c1 / q);
            add(one.min(two));
            add(one.max(two));
        }
        turns[count] = 1.0;
        (turns, count + 1)
    }

    /// Where a monotone stretch crosses `level`, by bisection to the last bit that matters.
    fn crossing(&self, low: f64, high: f64, level: f64) -> f64 {
        let (mut a, mut b) = (low, high);
        let rising = self.at(high) > self.at(low);
        for _ in 0..48 {
            let middle = 0.5 * (a + b);
            if (self.at(middle) >= level) == rising {
                b = middle;
            } else {
                a = middle;
            }
        }
        b
    }
}

impl Pass {
    pub(super) fn new(
        pieces: Vec<Piece>,
        to_exit: usize,
        zones: usize,
        first: [f64; QUANTITIES],
        work: u64,
    ) -> Self {
        Self {
            pieces,
            to_exit: to_exit.min(zones),
            zones,
            first,
            work,
        }
    }

    fn over(&self, stretch: Stretch) -> impl Iterator<Item = &Piece> {
        let (from, to) = match stretch {
            Stretch::ToExit => (0, self.to_exit),
            Stretch::AfterExit => (self.to_exit, self.zones),
            Stretch::Whole => (0, self.zones),
        };
        self.pieces
            .iter()
            .filter(move |p| p.zone >= from && p.zone < to)
    }

    /// Solver steps tried, times temperatures of the grid.
    pub(in crate::physics) fn work(&self) -> u64 {
        self.work
    }

    /// Number of solver steps.
    #[must_use]
    pub fn steps(&self) -> usize {
        self.pieces.len()
    }

    /// Value at a time after the start, s; held at the ends.
    #[must_use]
    pub fn at(&self, place: Place, time: f64) -> f64 {
        let q = place.index();
        let index = self.pieces.partition_point(|p| p.start + p.span < time);
        match self.pieces.get(index).or(self.pieces.last()) {
            Some(piece) => piece
                .cubic(q)
                .at(((time - piece.start) / piece.span).clamp(0.0, 1.0)),
            None => self.first[q],
        }
    }

    /// Value at the exit.
    #[must_use]
    pub fn at_exit(&self, place: Place) -> f64 {
        let q = place.index();
        self.over(Stretch::ToExit)
            .last()
            .map_or(self.first[q], |p| p.to[q])
    }

    /// Largest value.
    #[must_use]
    pub fn peak(&self, place: Place, stretch: Stretch) -> f64 {
        let q = place.index();
        let mut peak = match stretch {
            Stretch::AfterExit => self.at_exit(place),
            Stretch::ToExit | Stretch::Whole => self.first[q],
        };
        for piece in self.over(stretch) {
            peak = peak.max(top(piece, q));
        }
        peak
    }

    /// Time, s after the start, at which the value first is at or above `level`.
    #[must_use]
    pub fn reach(&self, place: Place, level: f64, stretch: Stretch) -> Option<f64> {
        let q = place.index();
        for piece in self.over(stretch) {
            if piece.from[q] >= level {
                return Some(piece.start);
            }
            let cubic = piece.cubic(q);
            let (turns, count) = cubic.turns();
            for pair in turns[..count].windows(2) {
                if cubic.at(pair[1]) >= level {
                    return Some(
                        piece.start + piece.span * cubic.crossing(pair[0], pair[1], level),
                    );
                }
            }
        }
        None
    }

    /// Time, s after the start, at which the value first is at or below `level` (water that is gone).
    #[must_use]
    pub fn fall(&self, place: Place, level: f64, stretch: Stretch) -> Option<f64> {
        let q = place.index();
        for piece in self.over(stretch) {
            if piece.from[q] <= level {
                return Some(piece.start);
            }
            let cubic = piece.cubic(q);
            let (turns, count) = cubic.turns();
            for pair in turns[..count].windows(2) {
                if cubic.at(pair[1]) <= level {
                    return Some(
                        piece.start + piece.span * cubic.crossing(pair[0], pair[1], level),
                    );
                }
            }
        }
        None
    }

    /// Time spent at or above `level`, s.
    #[must_use]
    pub fn above(&self, place: Place, level: f64, stretch: Stretch) -> f64 {
        let q = place.index();
        let mut sum = 0.0;
        for piece in self.over(stretch) {
            let cubic = piece.cubic(q);
            let (turns, count) = cubic.turns();
            for pair in turns[..count].windows(2) {
                let (low, high) = (pair[0], pair[1]);
                let share = match (cubic.at(low) >= level, cubic.at(high) >= level) {
                    (true, true) => high - low,
                    (false, false) => 0.0,
                    (true, false) => cubic.crossing(low, high, level) - low,
                    (false, true) => high - cubic.crossing(low, high, level),
                };
                sum += piece.span * share;
            }
        }
        sum
    }

    /// Equivalent time at the rate's reference temperature, s: ∫ rate(T) dt.
    ///
    /// Simpson's rule on pieces of at most 2 K; its error is below 1e-4 of the result.
    #[must_use]
    pub fn equivalent(&self, place: Place, rate: &Rate, stretch: Stretch) -> f64 {
        let q = place.index();
        let mut sum = 0.0;
        for piece in self.over(stretch) {
            let cubic = piece.cubic(q);
            let range = top(piece, q) - piece.from[q].min(piece.to[q]);
            let parts = (range / 4.0).ceil().clamp(1.0, 256.0);
            let width = 1.0 / parts;
            let mut before = rate.at(cubic.at(0.0));
            for part in 0..parts as usize {
                let s = part as f64 * width;
                let after = rate.at(cubic.at(s + width));
                sum += piece.span * width / 6.0
                    * (before + 4.0 * rate.at(cubic.at(s + 0.5 * width)) + after);
                before = after;
            }
        }
        sum
    }

    /// Largest value within one zone, from its first instant.
    pub(super) fn peak_in_zone(&self, place: Place, zone: usize) -> f64 {
        let q = place.index();
        self.pieces
            .iter()
            .filter(|p| p.zone == zone)
            .map(|p| top(p, q))
            .fold(f64::NEG_INFINITY, f64::max)
    }

    /// The lowest temperature of surface, boundary and back within one zone, at times that count.
    pub(super) fn coolest_in_zone(&self, zone: usize, counts: impl Fn(f64) -> bool) -> Option<f64> {
        let pieces = self.pieces.iter().filter(|p| p.zone == zone);
        let ends = pieces.flat_map(|p| [(p.start, p.from), (p.start + p.span, p.to)]);
        ends.filter(|(time, _)| counts(*time))
            .flat_map(|(_, at)| [at[0], at[1], at[2], at[6]])
            .reduce(f64::min)
    }

    /// Whether surface, boundary and back never cool by more than `slack` kelvin within these zones.
    pub(super) fn only_warms(&self, zones: std::ops::Range<usize>, slack: f64) -> bool {
        self.warms(|p| zones.contains(&p.zone), slack)
    }

    /// The same for the time up to `until`, s.
    pub(in crate::physics) fn warms_until(&self, until: f64, slack: f64) -> bool {
        self.warms(|p| p.start < until, slack)
    }

    fn warms(&self, counts: impl Fn(&Piece) -> bool, slack: f64) -> bool {
        [0, 1, 2, 6].into_iter().all(|q| {
            let mut hottest = f64::NEG_INFINITY;
            self.pieces.iter().filter(|p| counts(p)).all(|p| {
                hottest = hottest.max(p.from[q]);
                let warms = p.to[q] >= hottest - slack;
                hottest = hottest.max(p.to[q]);
                warms
            })
        })
    }
}

fn top(piece: &Piece, q: usize) -> f64 {
    let ends = piece.from[q].max(piece.to[q]);
    // A cubic whose end slopes point along its rise, at most three times as steep, is monotone (Fritsch and Carlson,
    // SIAM J. Numer. Anal. 17, 1980): nearly all are.
    let rise = piece.to[q] - piece.from[q];
    let gentle = |slope: f64| (0.0..=3.0).contains(&(slope * piece.span / rise));
    if gentle(piece.slope_from[q]) && gentle(piece.slope_to[q]) {
        return ends;
    }
    let cubic = piece.cubic(q);
    let (turns, count) = cubic.turns();
    turns[..count]
        .iter()
        .map(|&s| cubic.at(s))
        .fold(ends, f64::max)
}
