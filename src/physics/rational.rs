//! Figures that are sums, products and quotients, as fractions: what is exact in the text stays exact through them.
//!
//! Each is the formula of its row and nothing else; where a figure is valid, and which way each input moves it, is said
//! there. `tests/physics_figures.rs` holds the two against each other.

use crate::units::Exact;

use super::function::Function;

/// A figure at one point as a fraction; `None` where it has none.
pub type Rational = fn(&[Exact]) -> Option<Exact>;

/// The figure as a fraction; `None` for one that is none.
#[must_use]
pub fn rational(function: &Function) -> Option<Rational> {
    let mut rows = ROWS.iter();
    rows.find(|(name, _)| *name == function.name)
        .map(|(_, figure)| *figure)
}

/// The names of all that are fractions.
pub fn names() -> impl Iterator<Item = &'static str> {
    ROWS.iter().map(|(name, _)| *name)
}

/// The most pieces that an order is worked out for, as `order.rs` says.
const MOST_PIECES: i64 = 100_000_000;

fn one() -> Exact {
    Exact::ONE
}

fn whole(counts: &[&Exact]) -> Option<()> {
    counts.iter().all(|count| count.is_integer()).then_some(())
}

/// `1 - count × thread`: the part of a pitch that is open.
fn open(count: &Exact, thread: &Exact) -> Option<Exact> {
    let open = one().sub(&count.mul(thread));
    (open.signum() > 0).then_some(open)
}

fn pieces_to_start(pieces: &Exact, rejects: &Exact) -> Option<Exact> {
    whole(&[pieces])?;
    Some(pieces.div(&one().sub(rejects))?.ceil())
}

fn makespan(x: &[Exact]) -> Option<Exact> {
    let [
        pieces,
        stations,
        index,
        slowest,
        chamber,
        belt,
        pitch,
        lanes,
    ] = x
    else {
        return None;
    };
    whole(&[pieces, stations, lanes])?;
    let cycle = index.add(slowest);
    let first_out = stations
        .mul(slowest)
        .add(&stations.sub(&one()).mul(index))
        .add(&chamber.div(belt)?);
    let others = pieces.sub(&one());
    let rounds = others.div(lanes)?.floor();
    let wait = Exact::max(&Exact::ZERO, &pitch.div(belt)?.sub(&lanes.mul(&cycle)));
    Some(first_out.add(&others.mul(&cycle)).add(&rounds.mul(&wait)))
}

fn order_time(x: &[Exact]) -> Option<Exact> {
    let [pieces, rejects, line @ .., set_up, availability] = x else {
        return None;
    };
    let started = pieces_to_start(pieces, rejects)?;
    // More than can be counted there.
    if started > Exact::from_int(MOST_PIECES) {
        return None;
    }
    let mut of_line = vec![started];
    of_line.extend_from_slice(line);
    Some(set_up.add(&makespan(&of_line)?.div(availability)?))
}

fn order_time_at_rate(x: &[Exact]) -> Option<Exact> {
    let [pieces, rejects, rate, set_up, availability] = x else {
        return None;
    };
    let started = pieces_to_start(pieces, rejects)?;
    Some(set_up.add(&started.div(&rate.mul(availability))?))
}

/// Hands the inputs of a row to a formula that takes `N` fractions.
fn spread<const N: usize>(
    inputs: &[Exact],
    formula: impl Fn(&[Exact; N]) -> Option<Exact>,
) -> Option<Exact> {
    formula(inputs.try_into().ok()?)
}

const ROWS: &[(&str, Rational)] = &[
    ("cycle-time", |x| {
        spread(x, |[index, slowest]| Some(index.add(slowest)))
    }),
    ("press-rate", |x| {
        spread(x, |[index, slowest]| one().div(&index.add(slowest)))
    }),
    ("belt-rate", |x| {
        spread(x, |[belt, pitch, lanes]| {
            whole(&[lanes])?;
            Some(belt.div(pitch)?.mul(lanes))
        })
    }),
    ("line-rate", |x| {
        spread(x, |[press, belt]| Some(Exact::min(press, belt)))
    }),
    ("belt-load", |x| spread(x, |[press, belt]| press.div(belt))),
    ("dwell-time", |x| {
        spread(x, |[chamber, belt]| chamber.div(belt))
    }),
    ("belt-for-dwell", |x| {
        spread(x, |[chamber, dwell]| chamber.div(dwell))
    }),
    ("chamber-for-dwell", |x| {
        spread(x, |[belt, dwell]| Some(belt.mul(dwell)))
    }),
    ("pieces-to-start", |x| {
        spread(x, |[pieces, rejects]| pieces_to_start(pieces, rejects))
    }),
    ("order-makespan", makespan),
    ("order-time", order_time),
    ("order-time-at-rate", order_time_at_rate),
    ("time-one-by-one", |x| {
        spread(x, |[number, each]| {
            whole(&[number])?;
            Some(number.mul(each))
        })
    }),
    ("eom-share", |x| {
        spread(x, |[eom, thickness]| eom.div(thickness))
    }),
    ("wet-deposit", |x| {
        spread(x, |[volume, eom, share, transfer]| {
            Some(transfer.mul(&volume.add(&share.mul(eom))))
        })
    }),
    ("stencil-part", |x| {
        spread(x, |[volume, eom, share]| {
            let stencil = share.mul(eom);
            stencil.div(&volume.add(&stencil))
        })
    }),
    ("wet-film", |x| {
        spread(x, |[deposit, strokes, gain]| {
            whole(&[strokes])?;
            let more = strokes.sub(&one()).mul(gain);
            Some(deposit.mul(&one().add(&more)))
        })
    }),
    ("volume-solids", |x| {
        spread(x, |[solids, ink, volatile]| {
            let share = one().sub(&one().sub(solids).mul(ink).div(volatile)?);
            (share.signum() >= 0).then_some(share)
        })
    }),
    ("dry-film", |x| {
        spread(x, |[wet, solids]| Some(wet.mul(solids)))
    }),
    ("mesh-opening", |x| {
        spread(x, |[count, thread]| {
            open(count, thread)?;
            Some(one().div(count)?.sub(thread))
        })
    }),
    ("mesh-open-area", |x| {
        spread(x, |[count, thread]| open(count, thread)?.powi(2))
    }),
    ("theoretical-ink-volume", |x| {
        spread(x, |[count, thread, thickness]| {
            Some(open(count, thread)?.powi(2)?.mul(thickness))
        })
    }),
    ("count-under-strain", |x| {
        spread(x, |[count, strain]| count.div(&one().add(strain)))
    }),
    ("frame-load", |x| {
        spread(x, |[tension, length]| Some(tension.mul(length)))
    }),
    ("ink-mass", |x| {
        spread(x, |[area, film, density]| Some(area.mul(film).mul(density)))
    }),
    ("ink-for-order", |x| {
        spread(x, |[pieces, mass, waste, set_up]| {
            whole(&[pieces])?;
            Some(pieces.mul(mass).mul(&one().add(waste)).add(set_up))
        })
    }),
    ("ink-per-piece", |x| {
        spread(x, |[ink, pieces]| ink.div(pieces))
    }),
    ("pieces-from-ink", |x| {
        spread(x, |[ink, mass]| Some(ink.div(mass)?.floor()))
    }),
    ("ink-cost", |x| {
        spread(x, |[ink, price]| Some(ink.mul(price)))
    }),
    ("ink-price-by-mass", |x| {
        spread(x, |[price, density]| price.div(density))
    }),
    ("print-cost", |x| {
        spread(x, |[area, film, price]| Some(area.mul(film).mul(price)))
    }),
    ("smallest-line", |x| {
        spread(x, |[thread, opening]| {
            Some(Exact::from_int(2).mul(thread).add(opening))
        })
    }),
    ("mesh-for-halftone", |x| {
        spread(x, |[lines, ratio]| Some(lines.mul(ratio)))
    }),
];
