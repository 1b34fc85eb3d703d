//! What the settings of a run may be set to.
//!
//! A set point is what a dial is set to; its tolerance goes along with it, `± 5 %` growing with the value and `± 10 °F` not.
//! At a set point the run *holds* where a check of the plan with that value would pass: everything it `shall` keep to holds
//! at every point inside all tolerances. It *breaks* where something breaks at every such point, and is *at risk* where
//! something holds at some of them only. Where it surely does not hold, but these two were not told apart, as where a
//! figure was sampled, it *does not hold*. Where not even that was found out, it is *not decided*.
//!
//! A deviation in force moves the limit that the window asks about: where some of the points are within the moved limit it
//! is *at risk*. A check reports against the rule's own limit once the deviation does not let all of it pass, so it may say
//! *breaks* there; in neither does the run pass. The window's word tells whether a finer tolerance would do.
//!
//! Where a demand only gets better or worse with each setting, the worst and the best corner of a box tell of all of it.
//! That is shown by the signs of slopes, and by the table of figures for those of physics; elsewhere the box itself is asked,
//! and split. Work is counted, not timed.

mod corner_split;
mod freed_settings;
mod oracle;
mod paving;
mod per_setting;
mod pieces;
mod proposals;
mod space;
mod sweep;
mod window_report;

use crate::check::{NoWorking, cautions, where_read};
use crate::check::{Options, Prepared, Standing, check_built, readable};
use crate::diagnostic::{
    PresentPoint, SetPoint, Severity, Shares, Standstill, Window, Zone, ZoneBox,
};
use crate::eval::Leaf;
use crate::eval::settled;
use crate::source::{FileId, Store};
use crate::types::{Date, Run, TakenOut};
use crate::units::Exact;

use freed_settings::{Refused, free, read_back, state};
use oracle::Oracle;
use paving::{Tile, pave};
use proposals::{Inside, Map};
use space::Axis;
use window_report::WindowReport;

/// How often a demand may be asked for the boxes, where nothing else is said.
pub const BUDGET: u64 = 12_500;

/// Demands of which it is tried which of them clash.
const MOST_CLASHING: usize = 8;

/// What is looked at.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// What is freed: `dryer.belt`, `dryer.belt 1 to 4 m/min ± 5 %`.
    pub free: &'a [String],
    /// How often a demand may be asked for the boxes.
    pub budget: u64,
    /// The day; without one no deviation is in force.
    pub on: Option<Date>,
}

/// The window of a plan.
///
/// # Errors
/// When the plan cannot be read, or something cannot be freed.
pub fn window(
    store: &mut Store,
    prepared: &Prepared,
    file: FileId,
    asked: Asked<'_>,
) -> Result<Window, NoWorking> {
    let mut run = readable(store, prepared, file)?;
    let axes = free(store, prepared, &mut run, asked.free).map_err(no_window)?;
    Ok(looked_at(store, prepared, &run, &axes, asked))
}

fn no_window(refused: Vec<Refused>) -> NoWorking {
    let mut words = Vec::new();
    let mut problems = Vec::new();
    for one in refused {
        match one {
            Refused::Words(one) => words.push(one),
            Refused::Text(more) => problems.extend(more),
        }
    }
    if problems.is_empty() {
        NoWorking::Names(words)
    } else {
        NoWorking::Text(problems)
    }
}

fn looked_at(
    store: &mut Store,
    prepared: &Prepared,
    run: &Run,
    axes: &[Axis],
    asked: Asked<'_>,
) -> Window {
    let standard = &prepared.standard;
    let start: Vec<Exact> = axes
        .iter()
        .map(|axis| {
            let present = axis.present.clone().filter(|present| axis.holds(present));
            present.unwrap_or_else(|| axis.start())
        })
        .collect();
    let oracle = Oracle::new(standard, run, axes, asked.on, &start);
    let mut report = WindowReport::new(&oracle, &start);
    let standstill = standstill(&oracle, &start, &mut report);
    let present = present(&oracle, axes, &mut report);
    let known: Option<Vec<Exact>> = axes.iter().map(|axis| axis.present.clone()).collect();
    let set = known
        .as_ref()
        .filter(|known| axes.iter().zip(*known).all(|(axis, at)| axis.holds(at)));
    let seed = set.and_then(|set| per_setting::seed(&oracle, set));
    let tiles = pave(&oracle, seed, asked.budget);
    let map = Map::new(axes, &tiles);
    let holds_now = present
        .as_ref()
        .is_some_and(|present| present.zone == Zone::Holds);
    let best = map.as_ref().and_then(|map| map.best(&oracle));
    let nearest = match (&map, &known) {
        (Some(map), Some(known)) if !holds_now => map.nearest(&oracle, known),
        _ => None,
    };
    let others = known
        .filter(|known| axes.iter().zip(known).all(|(axis, at)| axis.holds(at)))
        .or_else(|| best.as_ref().map(|best| best.at.clone()));
    let settings = per_setting::settings(&oracle, others.as_deref(), &mut report);
    let empty = map.is_none() && tiles.iter().all(|tile| tile.zone != Zone::NotDecided);
    let by_reading = |tile: &Tile| tile.by.is_some_and(|by| oracle.asked[by].by_reading);
    let mut doubtful = tiles.iter().filter(|tile| tile.zone == Zone::AtRisk);
    let until_read = empty && doubtful.any(by_reading);
    let clash = if map.is_none() {
        clash(&oracle, &tiles, asked.budget / 4, &mut report)
    } else {
        Vec::new()
    };
    let mut checked = |inside: &Inside| set_point(store, prepared, run, axes, inside, asked.on);
    let nearest = nearest.as_ref().and_then(&mut checked);
    let best = best.as_ref().and_then(checked);
    let cautions = oracle.at(&start, cautions);
    let freed: Vec<Leaf> = axes.iter().map(|axis| axis.leaf).collect();
    let measure_again = oracle.at(&start, |context| where_read(context, &freed));
    let boxes = boxes(axes, &tiles, &mut report);
    Window {
        file: run.file,
        name: run.name.clone(),
        standard: standard.root,
        standard_name: standard.name.clone(),
        edition: standard.edition.clone(),
        digest: standard.digest.0.clone(),
        taken_out: standard.taken_out.iter().map(TakenOut::words).collect(),
        date: asked.on.map(|on| on.to_string()).unwrap_or_default(),
        settings,
        present,
        standstill,
        boxes,
        shares: shares(axes, &tiles),
        empty,
        until_read,
        clash,
        nearest,
        best,
        trials: oracle.trials(),
        budget: asked.budget,
        measure_again,
        cautions,
        cuts: report.cuts,
    }
}

/// What does not hold whatever the freed settings are set to.
fn standstill(
    oracle: &Oracle<'_>,
    start: &[Exact],
    report: &mut WindowReport<'_, '_>,
) -> Vec<Standstill> {
    let mut found: Vec<Standstill> = Vec::new();
    for demand in 0..oracle.asked.len() {
        if oracle.asked[demand].axes().next().is_some() {
            continue;
        }
        let words = match oracle.standing(demand, start) {
            Standing::Holds => continue,
            Standing::AtRisk | Standing::NotShown => "is at risk".to_owned(),
            Standing::Breaks | Standing::Fails => "breaks".to_owned(),
            Standing::NotStated(words) => format!("cannot be asked: {words}"),
            Standing::CannotWorkOut(words) => format!("cannot be worked out: {words}"),
        };
        let cut = report.cut(demand);
        if found.iter().all(|known| known.cut != cut) {
            found.push(Standstill { cut, words });
        }
    }
    found
}

/// How the run stands with what the plan states; `None` where it does not state all of it.
fn present(
    oracle: &Oracle<'_>,
    axes: &[Axis],
    report: &mut WindowReport<'_, '_>,
) -> Option<PresentPoint> {
    let at: Vec<Exact> = axes
        .iter()
        .map(|axis| axis.present.clone())
        .collect::<Option<_>>()?;
    let mut zone = Zone::Holds;
    let mut failing = Vec::new();
    for demand in oracle.moving() {
        let standing = oracle.standing(demand, &at);
        if standing == Standing::Holds {
            continue;
        }
        zone = match (zone, standing) {
            // A check counts what breaks wherever it was sampled as breaking.
            (_, Standing::Breaks | Standing::Fails) | (Zone::Breaks, _) => Zone::Breaks,
            _ => Zone::AtRisk,
        };
        let cut = report.cut(demand);
        if !failing.contains(&cut) {
            failing.push(cut);
        }
    }
    Some(PresentPoint { zone, failing })
}

fn boxes(axes: &[Axis], tiles: &[Tile], report: &mut WindowReport<'_, '_>) -> Vec<ZoneBox> {
    let own = |ends: &[Exact]| -> Vec<f64> {
        let pairs = axes.iter().zip(ends);
        pairs
            .map(|(axis, end)| axis.unit.from_base(end).nearest())
            .collect()
    };
    tiles
        .iter()
        .map(|tile| ZoneBox {
            low: own(&tile.region.low),
            high: own(&tile.region.high),
            zone: tile.zone,
            by: tile.by.map(|demand| report.cut(demand)),
        })
        .collect()
}

fn shares(axes: &[Axis], tiles: &[Tile]) -> Shares {
    let mut shares = Shares::default();
    for tile in tiles {
        let share = tile.region.share(axes);
        match tile.zone {
            Zone::Holds => shares.holds += share,
            Zone::AtRisk => shares.at_risk += share,
            Zone::Breaks => shares.breaks += share,
            Zone::Fails => shares.fails += share,
            Zone::NotDecided => {
                shares.not_decided += share;
                shares.sampled += if tile.sampled { share } else { 0.0 };
            }
        }
    }
    shares
}

/// The demands that leave nothing between them: as few as can be found by leaving out one after the other.
fn clash(
    oracle: &Oracle<'_>,
    tiles: &[Tile],
    budget: u64,
    report: &mut WindowReport<'_, '_>,
) -> Vec<usize> {
    let mut clashing: Vec<usize> = tiles.iter().filter_map(|tile| tile.by).collect();
    clashing.sort_unstable();
    clashing.dedup();
    if clashing.len() > MOST_CLASHING || tiles.iter().any(|tile| tile.zone == Zone::NotDecided) {
        return clashing
            .into_iter()
            .map(|demand| report.cut(demand))
            .collect();
    }
    for demand in clashing.clone() {
        let left: Vec<usize> = clashing.iter().copied().filter(|d| *d != demand).collect();
        let aside = oracle.moving().into_iter().filter(|d| !left.contains(d));
        let again = oracle.without(aside.collect(), || pave(oracle, None, budget));
        let fails = |tile: &Tile| matches!(tile.zone, Zone::Breaks | Zone::AtRisk | Zone::Fails);
        if again.iter().all(fails) {
            clashing = left;
        }
    }
    clashing
        .into_iter()
        .map(|demand| report.cut(demand))
        .collect()
}

/// A set point as it would be written, read back, put into the run and checked in full; `None` where what is read back
/// is not what was looked at.
fn set_point(
    store: &mut Store,
    prepared: &Prepared,
    run: &Run,
    axes: &[Axis],
    inside: &Inside,
    on: Option<Date>,
) -> Option<SetPoint> {
    let mut changed = run.clone();
    let mut words = Vec::new();
    for (axis, at) in axes.iter().zip(&inside.at) {
        let written = window_report::value(axis, at);
        let read = read_back(store, prepared, run, axis, &written)?;
        let meant = axis.reach(at);
        if read.low != meant.low || read.high != meant.high {
            return None;
        }
        state(&mut changed, axis, read);
        words.push(written);
    }
    let options = Options {
        explain: false,
        repairs: false,
        allow_risk: false,
        on,
        ..Options::default()
    };
    let changed = settled(&prepared.standard, changed);
    let report = check_built(prepared, &changed, options);
    let warnings = report
        .diagnostics
        .iter()
        .filter(|said| said.severity == Severity::Warning)
        .map(|said| said.headline.clone())
        .collect();
    let end = |axis: &Axis, end: &Exact, up: bool| {
        let number = axis.unit.from_base(end).nearest();
        (number, window_report::inward(axis, end, up))
    };
    let ends = inside.around.low.iter().zip(&inside.around.high);
    Some(SetPoint {
        at: axes
            .iter()
            .zip(&inside.at)
            .map(|(axis, at)| axis.unit.from_base(at).nearest())
            .collect(),
        words,
        around: axes
            .iter()
            .zip(ends)
            .map(|(axis, (low, high))| (end(axis, low, true), end(axis, high, false)))
            .collect(),
        margin: inside.margin.max(0.0),
        counts: report.counts,
        warnings,
    })
}
