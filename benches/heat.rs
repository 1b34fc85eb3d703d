//! How long the heat engine takes: `cargo bench --bench heat`.
//!
//! Aims: 150 µs for a plastisol pass, 300 µs for a water-based one, 5 ms for a figure with all its corners, 6 s for a
//! thousand plans whose rules all rest on the engine, on one core; tens of milliseconds for a plan of which four rules do
//! not hold, with all that would help.
#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

use divan::{Bencher, black_box, counter::ItemsCount};
use strikeoff::check::{Options, check_plan, prepare, results};
use strikeoff::diagnostic::Outcome;
use strikeoff::eval::{EvalContext, FigureCache};
use strikeoff::names::{ReadProblem, Shelf, plan_scope};
use strikeoff::physics::over::worst;
use strikeoff::physics::thermal::{Body, Settings, Start, Zone, run};
use strikeoff::physics::{Function, Passes, functions};
use strikeoff::source::Store;
use strikeoff::syntax;
use strikeoff::types::{Run, build_run};

fn main() {
    divan::main();
}

fn body(water: f64) -> Body {
    Body {
        ink_mass: if water > 0.0 { 0.03 } else { 0.12 },
        ink_thickness: if water > 0.0 { 6.0e-5 } else { 1.0e-4 },
        ink_heat: 1400.0,
        ink_conductivity: if water > 0.0 { 0.3 } else { 0.17 },
        ink_water: water,
        fabric_mass: 0.18,
        fabric_thickness: 7.0e-4,
        fabric_heat: 1300.0,
        fabric_conductivity: 0.05,
        moisture: 0.075,
        regain: 0.075,
        pallet_capacity: 0.0,
        lower: None,
        underside: None,
    }
}

fn zones(time: f64) -> [Zone; 2] {
    let tunnel = Zone {
        transfer_below: 20.0,
        air_below: 433.15,
        panel: 573.15,
        panel_factor: 0.2,
        ..Zone::room(time, 30.0, 443.15, 1500.0)
    };
    [tunnel, Zone::room(60.0, 10.0, 298.15, 1500.0)]
}

const START: Start = Start {
    film: 298.15,
    pallet: 298.15,
};

#[divan::bench]
fn plastisol_pass(bencher: Bencher<'_, '_>) {
    let (body, zones) = (body(0.0), zones(40.0));
    bencher.bench_local(|| {
        run(black_box(&body), &zones, 1, START, Settings::CHECK)
            .unwrap()
            .steps()
    });
}

#[divan::bench]
fn water_based_pass(bencher: Bencher<'_, '_>) {
    let (body, zones) = (body(0.04), zones(100.0));
    bencher.bench_local(|| {
        run(black_box(&body), &zones, 1, START, Settings::CHECK)
            .unwrap()
            .steps()
    });
}

#[divan::bench]
fn plastisol_pass_fine(bencher: Bencher<'_, '_>) {
    let (body, zones) = (body(0.0), zones(40.0));
    bencher.bench_local(|| {
        run(black_box(&body), &zones, 1, START, Settings::FINE)
            .unwrap()
            .steps()
    });
}

fn named(name: &str) -> &'static Function {
    functions().iter().find(|f| f.name == name).unwrap()
}

/// Tolerances on everything a plan states; the two conductivity ratios, regain and vapour go either way.
#[divan::bench]
fn worst_peak(bencher: Bencher<'_, '_>) {
    let nominal = [
        298.15, 0.12, 1.0e-4, 1400.0, 0.17, 0.0, 0.18, 7.0e-4, 1300.0, 0.05, 0.075, 0.075, 40.0,
        443.15, 433.15, 30.0, 20.0, 573.15, 0.0, 0.0, 1500.0, 0.0, 0.0, 1.0, 0.005, 0.0, 295.15,
    ];
    let mut inputs: Vec<(f64, f64)> = nominal.iter().map(|&x| (x * 0.95, x * 1.05)).collect();
    for kelvin in [0, 13, 14, 17] {
        inputs[kelvin] = (nominal[kelvin] - 5.0, nominal[kelvin] + 5.0);
    }
    // One ply.
    inputs[23] = (1.0, 1.0);
    let peak = named("film-peak");
    bencher.bench_local(|| {
        worst(peak, black_box(&inputs), &mut Passes::default())
            .unwrap()
            .points
    });
}

/// No files beside the standard.
struct Alone;

impl Shelf for Alone {
    fn read(&self, _: &str) -> Result<String, ReadProblem> {
        Err(ReadProblem::Missing)
    }

    fn neighbours(&self, _: &str) -> Vec<String> {
        Vec::new()
    }
}

/// A thousand different plans with tolerances on all that heats the print: three figures of the film, one of the flash.
#[divan::bench(sample_count = 3, sample_size = 1)]
fn thousand_plans_with_full_physics(bencher: Bencher<'_, '_>) {
    const COUNT: u32 = 1_000;
    let mut store = Store::new();
    let root = store.add("hot.std", include_str!("hot.std"));
    let prepared = prepare(&mut store, &Alone, root);
    assert!(prepared.usable(), "{:?}", prepared.problems);
    let runs: Vec<Run> = (0..COUNT)
        .map(|n| {
            let text = format!(
                r#"run "{n}" against "hot.std"
oven {{
  chamber 2.44 m ± 2 cm
  belt 2.{:03} m/min ± 3 %
  air {} °C ± 3 K
  transfer 3{} W/(m²·K) ± 5 %
  vapour 1.5 to 6 kPa
}}
coat {{
  mass {} g/m² ± 10 %
  cloth 180 g/m² ± 5 %
  thick 0.7 mm ± 15 %
  moisture 4 to 8 %
  regain 7.5 %
}}
plate {{
  flux {} W/m² ± 5 %
  warm 4{} °C ± 5 K
}}
"#,
                n * 7 % 1000,
                165 + n % 13,
                n % 10,
                90 + n % 60,
                7000 + n % 11 * 200,
                n % 9,
            );
            let file = store.add(format!("{n}.plan"), text);
            let parsed = syntax::parse(file, store.get(file).text());
            let (scope, _) = plan_scope(&parsed.tree);
            let mut problems = Vec::new();
            let run = build_run(file, &prepared.standard, &scope, &mut problems);
            assert!(
                parsed.problems.is_empty() && problems.is_empty(),
                "{problems:?}"
            );
            run
        })
        .collect();
    // As a check does it: what one plan works out is remembered until the next.
    let results_of = |run: &Run| {
        let cache = FigureCache::default();
        results(&EvalContext::new(&prepared.standard, run).remembering(&cache))
    };
    let first = results_of(&runs[0]);
    let decided = first
        .iter()
        .filter(|result| result.outcome() != Outcome::NotStated);
    assert_eq!(decided.count(), 5);
    bencher.counter(ItemsCount::new(COUNT)).bench_local(|| {
        for run in &runs {
            black_box(results_of(black_box(run)).len());
        }
    });
}

/// One plan with findings: which tolerance decides, and what would make each rule hold and break no other.
#[divan::bench(sample_count = 30, sample_size = 1)]
fn plan_with_findings_and_repairs(bencher: Bencher<'_, '_>) {
    let mut store = Store::new();
    let root = store.add("hot.std", include_str!("hot.std"));
    let prepared = prepare(&mut store, &Alone, root);
    let plan = r#"run "cool" against "hot.std"
oven {
  chamber 2.44 m ± 2 cm
  belt 3.4 m/min ± 3 %
  air 160 °C ± 3 K
  transfer 30 W/(m²·K) ± 3 %
  vapour 3 kPa
}
coat {
  mass 110 g/m² ± 10 %
  cloth 180 g/m² ± 5 %
  thick 0.7 mm
  moisture 4 to 6 %
  regain 7.5 %
}
plate {
  flux 5 kW/m² ± 5 %
  warm 40 °C ± 5 K
}
"#;
    let file = store.add("cool.plan", plan);
    let report = check_plan(&store, &prepared, 0, file, Options::default());
    assert!(report.diagnostics.len() >= 3, "{:#?}", report.counts);
    assert!(report.diagnostics.iter().any(|one| !one.repairs.is_empty()));
    bencher.bench_local(|| {
        check_plan(&store, &prepared, 0, file, Options::default())
            .diagnostics
            .len()
    });
}
