//! Each freed setting by itself, the others left where they are.

use super::oracle::Oracle;
use super::pieces::{Piece, pieces};
use super::space::{Axis, Region};
use super::sweep::{Lines, Sort, Standings, sweep};
use super::window_report::{self, WindowReport};
use crate::check::Standing;
use crate::diagnostic::{FreedSetting, Zone, ZoneStretch};
use crate::source::visible;
use crate::units::Exact;

/// Every freed setting with its stretches; these are left out where the others have no value yet.
pub(super) fn settings(
    oracle: &Oracle<'_>,
    others: Option<&[Exact]>,
    report: &mut WindowReport<'_, '_>,
) -> Vec<FreedSetting> {
    let axes = oracle.axes;
    (0..axes.len())
        .map(|index| {
            let axis = &axes[index];
            let kind = oracle.run.target(oracle.standard, axis.leaf.target).kind;
            let field = oracle.standard.field(kind, axis.leaf.field);
            let number = |at: &Exact| axis.unit.from_base(at).nearest();
            let words = others.map_or_else(String::new, |others| left_at(axes, others, index));
            let stretches =
                others.map_or_else(Vec::new, |others| stretches(oracle, index, others, report));
            FreedSetting {
                setting: axis.name.clone(),
                sentence: field
                    .sentence
                    .as_deref()
                    .map(|text| visible(text).into_owned()),
                unit: axis.unit.spelling().to_owned(),
                tolerance: axis.tolerance.as_ref().map(|_| {
                    let zero = window_report::bare(axis, &axis.high);
                    let full = window_report::value(axis, &axis.high);
                    full.trim_start_matches(&zero).trim().to_owned()
                }),
                step: axis.dial.as_ref().map(|step| {
                    let own = axis.unit.as_difference();
                    let size = own.from_base(step).nearest();
                    let words = crate::units::show_exact(step, &own).replace('Δ', "");
                    (size, words)
                }),
                low: number(&axis.low),
                high: number(&axis.high),
                range: window_report::range(axis, &axis.low, &axis.high),
                extent: axis.extent,
                whole: axis.whole,
                present: axis
                    .present
                    .as_ref()
                    .map(|at| (number(at), window_report::value(axis, at))),
                reach: axis.present.as_ref().map(|at| {
                    let reach = axis.reach(at);
                    (number(&reach.low), number(&reach.high))
                }),
                others: words,
                stretches,
            }
        })
        .collect()
}

/// Where the run holds along each setting with the others at `point`; `None` where it holds along none.
pub(super) fn seed(oracle: &Oracle<'_>, point: &[Exact]) -> Option<Region> {
    let mut region = Region {
        low: point.to_vec(),
        high: point.to_vec(),
    };
    let mut any = false;
    for index in 0..oracle.axes.len() {
        let holding = joined(oracle, index, point, &lines(oracle, index, point));
        let mut holding = holding.iter().filter(|part| part.zone == Zone::Holds);
        if let Some(first) = holding.next() {
            let last = holding.next_back().unwrap_or(first);
            region.low[index] = Exact::min(&first.low, &point[index]);
            region.high[index] = Exact::max(&last.high, &point[index]);
            any = true;
        }
    }
    any.then_some(region)
}

fn lines(oracle: &Oracle<'_>, index: usize, point: &[Exact]) -> Lines {
    let moving = oracle.moving().into_iter();
    moving
        .map(|demand| (demand, pieces(oracle, demand, index, point)))
        .collect()
}

fn left_at(axes: &[Axis], others: &[Exact], index: usize) -> String {
    let words: Vec<String> = axes
        .iter()
        .zip(others)
        .enumerate()
        .filter(|(other, _)| *other != index)
        .map(|(_, (axis, at))| format!("`{}` at {}", axis.name, window_report::value(axis, at)))
        .collect();
    words.join(", ")
}

/// What all demands together come to along one setting.
fn stretches(
    oracle: &Oracle<'_>,
    index: usize,
    others: &[Exact],
    report: &mut WindowReport<'_, '_>,
) -> Vec<ZoneStretch> {
    let axis = &oracle.axes[index];
    let lines = lines(oracle, index, others);
    let parts = joined(oracle, index, others, &lines);
    // An end is known exactly where the range ends, and where a piece says so.
    let sharp = |at: &Exact| {
        let mut pieces = lines.iter().flat_map(|(_, pieces)| pieces);
        axis.whole
            || *at == axis.low
            || *at == axis.high
            || pieces.any(|piece| piece.sharp && piece.low == *at)
    };
    let mut found = Vec::new();
    for (number, part) in parts.iter().enumerate() {
        let before = number.checked_sub(1).and_then(|before| parts.get(before));
        let after = parts.get(number + 1);
        let mut end = |at: &Exact, up: bool, beside: Option<&Joined>, within: bool| {
            let makes = [part.by, beside.and_then(|beside| beside.by)];
            let cut = beside.and_then(|_| changing(&lines, at, axis.whole, makes));
            let cut = cut.map(|demand| report.cut(demand));
            window_report::end(axis, at, up, sharp(at), within, cut)
        };
        let low = end(&part.low, true, before, part.low_within);
        let high = end(&part.high, false, after, part.high_within);
        found.push(ZoneStretch {
            zone: part.zone,
            dial: dial(axis, part),
            low,
            high,
            by: part.by.map(|demand| report.cut(demand)),
            why: part.why.clone(),
        });
    }
    found
}

/// A zone, the line of the demand that makes it so, and why where that is not its number.
type Zoned = (Zone, Option<usize>, Option<String>);

/// Neighbours that come to the same.
struct Joined {
    zone: Zone,
    by: Option<usize>,
    why: Option<String>,
    low: Exact,
    high: Exact,
    /// Whether its ends are part of it. No two parts share one.
    low_within: bool,
    high_within: bool,
}

/// The parts of a setting's range that come to one thing, lowest first.
fn joined(oracle: &Oracle<'_>, index: usize, point: &[Exact], lines: &Lines) -> Vec<Joined> {
    let mut found: Vec<Joined> = Vec::new();
    let mut standings = Standings::new(lines.len());
    for (atom, changes) in sweep(oracle, lines, index, point) {
        standings.step(&changes);
        let (zone, by, why) = zone(&standings);
        let by = by.map(|line| lines[line].0);
        match found.last_mut() {
            Some(last) if last.zone == zone && last.why == why => {
                last.high = atom.high;
                last.high_within = !atom.open;
            }
            _ => found.push(Joined {
                zone,
                by,
                why,
                low: atom.low,
                high: atom.high,
                low_within: !atom.open,
                high_within: !atom.open,
            }),
        }
    }
    found
}

/// What all lines come to in an atom, and the line that makes it so: what is at risk by one demand does not hold, whatever
/// another comes to; what may break by one may do so.
fn zone(standings: &Standings) -> Zoned {
    let zones = [
        (Sort::Breaks, Zone::Breaks),
        (Sort::Fails, Zone::Fails),
        (Sort::AtRisk, Zone::AtRisk),
        (Sort::NotDecided, Zone::NotDecided),
    ];
    for (sort, zone) in zones {
        let Some(line) = standings.first(sort) else {
            continue;
        };
        let why = match standings.of(line) {
            Some(Standing::NotStated(why) | Standing::CannotWorkOut(why)) => Some(why.clone()),
            _ => None,
        };
        return (zone, Some(line), why);
    }
    (Zone::Holds, None, None)
}

/// The demand that comes to something else on the two sides of a set point.
fn changing(lines: &Lines, at: &Exact, whole: bool, makes: [Option<usize>; 2]) -> Option<usize> {
    let one = Exact::ONE;
    let meets = |piece: &Piece, next: &Piece| {
        piece.high == *at || next.low == *at || (whole && next.low == at.add(&one))
    };
    let changes = |pieces: &Vec<Piece>| {
        pieces
            .windows(2)
            .any(|pair| meets(&pair[0], &pair[1]) && pair[0].standing != pair[1].standing)
    };
    // One that makes a side what it is goes first.
    let changing: Vec<usize> = lines
        .iter()
        .filter(|(_, pieces)| changes(pieces))
        .map(|(demand, _)| *demand)
        .collect();
    let made = changing
        .iter()
        .find(|demand| makes.contains(&Some(**demand)));
    made.or(changing.first()).copied()
}

/// The lowest and highest dial value inside a stretch.
fn dial(axis: &Axis, part: &Joined) -> Option<((f64, String), (f64, String))> {
    let step = axis.dial.as_ref()?;
    let mut low = axis.on_dial(&part.low, true);
    let mut high = axis.on_dial(&part.high, false);
    if low == part.low && !part.low_within {
        low = low.add(step);
    }
    if high == part.high && !part.high_within {
        high = high.sub(step);
    }
    if low > high {
        return None;
    }
    let own = |at: &Exact| {
        (
            axis.unit.from_base(at).nearest(),
            window_report::bare(axis, at),
        )
    };
    Some((own(&low), own(&high)))
}
