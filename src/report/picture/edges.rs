//! Which rule cuts the region that holds where: the boxes beside it tell.

use std::collections::BTreeMap;

use super::window::Drawn;
use crate::diagnostic::Zone;

/// Edges that are told of.
const MOST: usize = 8;
/// An edge shorter than this part of the view is left out, where there are others.
const SHORTEST: f64 = 0.01;

/// Where a demand cuts the region.
#[derive(Debug, Clone)]
pub(super) struct Edge {
    /// The demand, by number.
    pub(super) cut: usize,
    /// A place on it.
    pub(super) at: (f64, f64),
}

/// A piece of an edge: its length in the view, and its middle.
type Bit = (f64, (f64, f64));

/// The edges in view, the longest first.
pub(super) fn edges(boxes: &[Drawn], x: (f64, f64), y: (f64, f64)) -> Vec<Edge> {
    let (wide, tall) = (
        (x.1 - x.0).max(f64::MIN_POSITIVE),
        (y.1 - y.0).max(f64::MIN_POSITIVE),
    );
    let near = |one: f64, other: f64, size: f64| (one - other).abs() <= size * 1e-9;
    let mut found: BTreeMap<usize, Vec<Bit>> = BTreeMap::new();
    let beside: Vec<(&Drawn, usize)> = boxes
        .iter()
        .filter(|drawn| drawn.zone != Zone::Holds)
        .filter_map(|drawn| Some((drawn, drawn.by?)))
        .collect();
    for holds in boxes.iter().filter(|drawn| drawn.zone == Zone::Holds) {
        for &(other, cut) in &beside {
            let shared = |one: (f64, f64), other: (f64, f64), view: (f64, f64)| {
                (
                    one.0.max(other.0).max(view.0),
                    one.1.min(other.1).min(view.1),
                )
            };
            let upright = near(holds.x.0, other.x.1, wide) || near(holds.x.1, other.x.0, wide);
            let level = near(holds.y.0, other.y.1, tall) || near(holds.y.1, other.y.0, tall);
            if upright {
                let (low, high) = shared(holds.y, other.y, y);
                let at = if near(holds.x.0, other.x.1, wide) {
                    holds.x.0
                } else {
                    holds.x.1
                };
                if low < high && x.0 <= at && at <= x.1 {
                    let bit = ((high - low) / tall, (at, 0.5 * (low + high)));
                    found.entry(cut).or_default().push(bit);
                }
            }
            if level {
                let (low, high) = shared(holds.x, other.x, x);
                let at = if near(holds.y.0, other.y.1, tall) {
                    holds.y.0
                } else {
                    holds.y.1
                };
                if low < high && y.0 <= at && at <= y.1 {
                    let bit = ((high - low) / wide, (0.5 * (low + high), at));
                    found.entry(cut).or_default().push(bit);
                }
            }
        }
    }
    let mut edges: Vec<(f64, Edge)> = found
        .into_iter()
        .filter_map(|(cut, bits)| {
            let length: f64 = bits.iter().map(|(length, _)| length).sum();
            Some((
                length,
                Edge {
                    cut,
                    at: middle(&bits, wide, tall)?,
                },
            ))
        })
        .collect();
    edges.sort_by(|one, other| other.0.total_cmp(&one.0));
    let any = edges.iter().any(|(length, _)| *length >= SHORTEST);
    edges.retain(|(length, _)| !any || *length >= SHORTEST);
    edges.truncate(MOST);
    edges.into_iter().map(|(_, edge)| edge).collect()
}

/// The bit of an edge that is nearest to the middle of all of it.
fn middle(bits: &[Bit], wide: f64, tall: f64) -> Option<(f64, f64)> {
    let sum: f64 = bits.iter().map(|(length, _)| length).sum();
    let mean = |of: fn(&Bit) -> f64| {
        bits.iter().map(|bit| bit.0 * of(bit)).sum::<f64>() / sum.max(f64::MIN_POSITIVE)
    };
    let (x, y) = (mean(|bit| bit.1.0), mean(|bit| bit.1.1));
    let away = |bit: &Bit| ((bit.1.0 - x) / wide).hypot((bit.1.1 - y) / tall);
    let nearest = bits
        .iter()
        .min_by(|one, other| away(one).total_cmp(&away(other)));
    nearest.map(|(_, at)| *at)
}
