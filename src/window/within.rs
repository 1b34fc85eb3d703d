//! Each freed setting by itself, the others left where they are.

use super::best::holds_at;
use super::line::{Piece, pieces};
use super::probe::Probe;
use super::space::{Axis, Region};
use super::told::{self, Told};
use crate::check::Standing;
use crate::diagnostic::{FreedSetting, Zone, ZoneStretch};
use crate::source::visible;
use crate::units::Exact;

/// Every freed setting with its stretches; these are left out where the others have no value yet.
pub(super) fn settings(
    probe: &Probe<'_>,
    others: Option<&[Exact]>,
    told: &mut Told<'_, '_>,
) -> Vec<FreedSetting> {
    let axes = probe.axes;
    (0..axes.len())
        .map(|index| {
            let axis = &axes[index];
            let kind = probe.run.target(probe.standard, axis.leaf.target).kind;
            let field = probe.standard.field(kind, axis.leaf.field);
            let number = |at: &Exact| axis.unit.from_base(at).nearest();
            let words = others.map_or_else(String::new, |others| left_at(axes, others, index));
            let stretches =
                others.map_or_else(Vec::new, |others| stretches(probe, index, others, told));
            FreedSetting {
                setting: axis.name.clone(),
                sentence: field
                    .sentence
                    .as_deref()
                    .map(|text| visible(text).into_owned()),
                unit: axis.unit.spelling().to_owned(),
                tolerance: axis.tolerance.as_ref().map(|_| {
                    let zero = told::bare(axis, &axis.high);
                    let full = told::value(axis, &axis.high);
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
                range: told::range(axis, &axis.low, &axis.high),
                asked: axis.asked,
                whole: axis.whole,
                present: axis
                    .present
                    .as_ref()
                    .map(|at| (number(at), told::value(axis, at))),
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
pub(super) fn seed(probe: &Probe<'_>, point: &[Exact]) -> Option<Region> {
    let mut region = Region {
        low: point.to_vec(),
        high: point.to_vec(),
    };
    let mut any = false;
    for index in 0..probe.axes.len() {
        let lines = lines(probe, index, point);
        let holding: Vec<(Exact, Exact)> = cut(&lines, &probe.axes[index])
            .into_iter()
            .filter(|(low, high, _)| zone(&lines, low, high).0 == Zone::Holds)
            .map(|(low, high, _)| (low, high))
            .collect();
        if let (Some((low, _)), Some((_, high))) = (holding.first(), holding.last()) {
            region.low[index] = Exact::min(low, &point[index]);
            region.high[index] = Exact::max(high, &point[index]);
            any = true;
        }
    }
    any.then_some(region)
}

fn lines(probe: &Probe<'_>, index: usize, point: &[Exact]) -> Vec<(usize, Vec<Piece>)> {
    let moving = probe.moving().into_iter();
    moving
        .map(|demand| (demand, pieces(probe, demand, index, point)))
        .collect()
}

fn left_at(axes: &[Axis], others: &[Exact], index: usize) -> String {
    let words: Vec<String> = axes
        .iter()
        .zip(others)
        .enumerate()
        .filter(|(other, _)| *other != index)
        .map(|(_, (axis, at))| format!("`{}` at {}", axis.name, told::value(axis, at)))
        .collect();
    words.join(", ")
}

/// What all demands together come to along one setting.
fn stretches(
    probe: &Probe<'_>,
    index: usize,
    others: &[Exact],
    told: &mut Told<'_, '_>,
) -> Vec<ZoneStretch> {
    let axis = &probe.axes[index];
    let lines = lines(probe, index, others);
    let mut joined: Vec<Joined> = Vec::new();
    for (low, high, sharp) in cut(&lines, axis) {
        let (zone, by, why) = zone(&lines, &low, &high);
        match joined.last_mut() {
            Some(last) if last.zone == zone && last.why == why => {
                last.high = high;
            }
            _ => joined.push(Joined {
                zone,
                by,
                why,
                low,
                high,
                sharp,
            }),
        }
    }
    let mut found = Vec::new();
    for (number, part) in joined.iter().enumerate() {
        let before = number.checked_sub(1).and_then(|before| joined.get(before));
        let after = joined.get(number + 1);
        let mut ends = |at: &Exact, up: bool, beside: Option<&Joined>, sharp: bool| {
            let mut point = others.to_vec();
            point[index] = at.clone();
            let within = match (part.zone, beside) {
                (_, None) => true,
                (Zone::Holds, _) => holds_at(probe, &point),
                (_, Some(beside)) if beside.zone == Zone::Holds => !holds_at(probe, &point),
                _ => true,
            };
            let makes = [part.by, beside.and_then(|beside| beside.by)];
            let cut = beside.and_then(|_| changing(&lines, at, axis.whole, makes));
            let cut = cut.map(|demand| told.cut(demand));
            told::end(axis, at, up, sharp, within, cut)
        };
        let low = ends(&part.low, true, before, part.sharp || before.is_none());
        let sharp = after.is_none_or(|after| after.sharp);
        let high = ends(&part.high, false, after, sharp);
        found.push(ZoneStretch {
            zone: part.zone,
            dial: dial(axis, part, low.within, high.within),
            low,
            high,
            by: part.by.map(|demand| told.cut(demand)),
            why: part.why.clone(),
        });
    }
    found
}

/// A zone, the demand that makes it so, and why where that is not its number.
type Zoned = (Zone, Option<usize>, Option<String>);

/// Neighbours that come to the same.
struct Joined {
    zone: Zone,
    by: Option<usize>,
    why: Option<String>,
    low: Exact,
    high: Exact,
    sharp: bool,
}

/// The stretches between all ends of pieces, with whether their lower end is known exactly.
fn cut(lines: &[(usize, Vec<Piece>)], axis: &Axis) -> Vec<(Exact, Exact, bool)> {
    let mut starts: Vec<(Exact, bool)> = vec![(axis.low.clone(), true)];
    for (_, pieces) in lines {
        let inner = pieces.iter().filter(|piece| piece.low > axis.low);
        starts.extend(inner.map(|piece| (piece.low.clone(), piece.sharp || axis.whole)));
    }
    // Where two ends fall together and one is known exactly, it is.
    starts.sort_by(|one, other| one.0.cmp(&other.0).then(other.1.cmp(&one.1)));
    starts.dedup_by(|one, other| one.0 == other.0);
    let mut found = Vec::new();
    for (index, (start, sharp)) in starts.iter().enumerate() {
        let end = match starts.get(index + 1) {
            Some((next, _)) if axis.whole => next.sub(&Exact::ONE),
            Some((next, _)) => next.clone(),
            None => axis.high.clone(),
        };
        found.push((start.clone(), end, *sharp));
    }
    found
}

fn zone(lines: &[(usize, Vec<Piece>)], low: &Exact, high: &Exact) -> Zoned {
    let mut found: Zoned = (Zone::Holds, None, None);
    for (demand, pieces) in lines {
        let inside = pieces.iter().find(|p| p.low <= *low && *high <= p.high);
        let next = match inside.map(|piece| piece.standing.as_ref()) {
            Some(Some(Standing::Holds)) => continue,
            Some(Some(Standing::Breaks)) => return (Zone::Breaks, Some(*demand), None),
            Some(Some(Standing::NotStated(why) | Standing::CannotWorkOut(why))) => {
                (Zone::AtRisk, Some(*demand), Some(why.clone()))
            }
            Some(Some(Standing::Fails)) => (Zone::Fails, Some(*demand), None),
            Some(Some(Standing::AtRisk)) => (Zone::AtRisk, Some(*demand), None),
            _ => (Zone::NotDecided, Some(*demand), None),
        };
        // What is at risk by one demand does not hold, whatever another comes to; what may break by one may do so.
        let rank = |zone| match zone {
            Zone::Holds => 0,
            Zone::NotDecided => 1,
            Zone::AtRisk => 2,
            Zone::Fails | Zone::Breaks => 3,
        };
        if rank(next.0) > rank(found.0) {
            found = next;
        }
    }
    found
}

/// The demand that comes to something else on the two sides of a set point.
fn changing(
    lines: &[(usize, Vec<Piece>)],
    at: &Exact,
    whole: bool,
    makes: [Option<usize>; 2],
) -> Option<usize> {
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
fn dial(
    axis: &Axis,
    part: &Joined,
    low_within: bool,
    high_within: bool,
) -> Option<((f64, String), (f64, String))> {
    let step = axis.dial.as_ref()?;
    let mut low = axis.on_dial(&part.low, true);
    let mut high = axis.on_dial(&part.high, false);
    if low == part.low && !low_within {
        low = low.add(step);
    }
    if high == part.high && !high_within {
        high = high.sub(step);
    }
    if low > high {
        return None;
    }
    let own = |at: &Exact| (axis.unit.from_base(at).nearest(), told::bare(axis, at));
    Some((own(&low), own(&high)))
}
