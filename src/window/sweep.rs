//! Along one setting from its lowest set point to its highest, with what every demand comes to on the way.
//!
//! From one part of the range to the next only those demands change that have an end there, so thousands of them are
//! followed in one go.

use std::collections::BTreeSet;

use super::oracle::Oracle;
use super::pieces::Piece;
use crate::check::Standing;
use crate::units::Exact;

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

/// An atom, and what each line comes to in it that may come to something else than in the atom before.
pub(super) type Step = (Atom, Vec<(usize, Option<Standing>)>);

/// The range of a setting taken apart at all ends of pieces, lowest first: every end by itself, for what only just fits
/// holds there and nowhere else. The first step has all lines.
pub(super) fn sweep(oracle: &Oracle<'_>, lines: &Lines, axis: usize, point: &[Exact]) -> Vec<Step> {
    let of = &oracle.axes[axis];
    let mut ends: Vec<(&Exact, Option<usize>)> = vec![(&of.low, None)];
    if !of.whole {
        ends.push((&of.high, None));
    }
    for (line, (_, pieces)) in lines.iter().enumerate() {
        for piece in pieces {
            ends.push((&piece.low, Some(line)));
            if !of.whole {
                ends.push((&piece.high, Some(line)));
            }
        }
    }
    ends.retain(|(end, _)| of.low <= **end && **end <= of.high);
    ends.sort();
    ends.dedup();
    let groups: Vec<&[(&Exact, Option<usize>)]> =
        ends.chunk_by(|one, other| one.0 == other.0).collect();
    let mut steps: Vec<Step> = Vec::new();
    let mut step = |atom: Atom, changing: &[(&Exact, Option<usize>)]| {
        let all = 0..lines.len();
        let changing: Vec<usize> = match steps.is_empty() {
            true => all.collect(),
            false => changing.iter().filter_map(|(_, line)| *line).collect(),
        };
        let come = |line: usize| {
            let standing = standing_over(oracle, &lines[line], &atom, axis, point);
            (line, standing)
        };
        let come = changing.into_iter().map(come).collect();
        steps.push((atom, come));
    };
    for (index, group) in groups.iter().enumerate() {
        let end = group[0].0;
        let next = groups.get(index + 1).map(|next| next[0].0);
        let high = match (of.whole, next) {
            (false, _) => end.clone(),
            (true, Some(next)) => next.sub(&Exact::ONE),
            (true, None) => of.high.clone(),
        };
        let low = end.clone();
        step(
            Atom {
                low,
                high,
                open: false,
            },
            group,
        );
        if let (false, Some(next)) = (of.whole, next) {
            let (low, high) = (end.clone(), next.clone());
            step(
                Atom {
                    low,
                    high,
                    open: true,
                },
                group,
            );
        }
    }
    steps
}

/// What a demand comes to all over an atom of its line; `None` where that is not decided.
///
/// At an end that two pieces share it is what both say, else what is asked there.
fn standing_over(
    oracle: &Oracle<'_>,
    (demand, pieces): &(usize, Vec<Piece>),
    atom: &Atom,
    axis: usize,
    point: &[Exact],
) -> Option<Standing> {
    let from = pieces.partition_point(|piece| piece.high < atom.high);
    let mut over = pieces[from..]
        .iter()
        .take_while(|piece| piece.low <= atom.low);
    let first = over.next()?;
    let alike = over.all(|piece| piece.standing == first.standing);
    let single = atom.low == atom.high && !atom.open;
    if alike
        && (!single
            || first.standing.is_some()
            || !is_end(&pieces[from.saturating_sub(1)..], &atom.low))
    {
        return first.standing.clone();
    }
    let mut at = point.to_vec();
    at[axis] = atom.low.clone();
    Some(oracle.standing(*demand, &at))
}

/// Whether one of the pieces ends or begins here; those further up do not.
fn is_end(pieces: &[Piece], at: &Exact) -> bool {
    let mut near = pieces.iter().take_while(|piece| piece.low <= *at);
    near.any(|piece| piece.low == *at || piece.high == *at)
}

/// What a standing makes of a place, the better first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Sort {
    NotDecided,
    AtRisk,
    Fails,
    Breaks,
}

/// `None` for what holds.
fn sort(standing: Option<&Standing>) -> Option<Sort> {
    match standing {
        Some(Standing::Holds) => None,
        None | Some(Standing::NotShown) => Some(Sort::NotDecided),
        Some(Standing::AtRisk | Standing::NotStated(_) | Standing::CannotWorkOut(_)) => {
            Some(Sort::AtRisk)
        }
        Some(Standing::Fails) => Some(Sort::Fails),
        Some(Standing::Breaks) => Some(Sort::Breaks),
    }
}

/// Whether something surely does not hold.
fn fails(standing: Option<&Standing>) -> bool {
    sort(standing) > Some(Sort::NotDecided)
}

/// What all lines come to in one atom, those of each sort in their order.
pub(super) struct Standings {
    of: Vec<Option<Standing>>,
    sorted: [BTreeSet<usize>; 4],
}

impl Standings {
    /// Of so many lines, before the first step.
    pub(super) fn new(lines: usize) -> Self {
        Self {
            of: vec![Some(Standing::Holds); lines],
            sorted: Default::default(),
        }
    }

    /// Goes on to the next atom.
    pub(super) fn step(&mut self, changes: &[(usize, Option<Standing>)]) {
        for (line, standing) in changes {
            if let Some(before) = sort(self.of[*line].as_ref()) {
                self.sorted[before as usize].remove(line);
            }
            if let Some(after) = sort(standing.as_ref()) {
                self.sorted[after as usize].insert(*line);
            }
            self.of[*line].clone_from(standing);
        }
    }

    /// The first line of a sort.
    pub(super) fn first(&self, sort: Sort) -> Option<usize> {
        self.sorted[sort as usize].first().copied()
    }

    /// The lines of a sort.
    pub(super) fn all(&self, sort: Sort) -> &BTreeSet<usize> {
        &self.sorted[sort as usize]
    }

    /// What a line comes to.
    pub(super) fn of(&self, line: usize) -> Option<&Standing> {
        self.of[line].as_ref()
    }

    /// Whether whatever does not hold after these changes does not hold now either: then the box beside tells of this place.
    pub(super) fn no_better(&self, beside: &[(usize, Option<Standing>)]) -> bool {
        let mut beside = beside.iter();
        beside.all(|(line, standing)| !fails(standing.as_ref()) || fails(self.of(*line)))
    }
}
