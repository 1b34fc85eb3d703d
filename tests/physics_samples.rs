//! Random points of random boxes never leave the worst case of their box, over every figure of the table.
//!
//! A short run in seconds; `STRIKEOFF_LONG=1000000 cargo test --release --test all physics_samples:: -- --nocapture` makes so
//! many samples in all (`STRIKEOFF_FIGURE` keeps to the figures whose names begin so). Also over all heat figures: twice the grid and half the step change nothing beyond the stated
//! accuracy, and the same input gives the same bits.

mod boxes;

use boxes::{Random, is_heat, nominal, point, tolerances};
use strikeoff::physics::over::{Basis, Worst, figure, reading, worst};
use strikeoff::physics::thermal::Settings;
use strikeoff::physics::{Function, Outside, Passes, functions};

/// Samples of the short run, over all figures together.
const SHORT: usize = 12_000;
/// Points tried in one box.
const POINTS: usize = 40;

/// What came of one figure's boxes.
#[derive(Default)]
struct Count {
    samples: usize,
    boxes: [usize; 3],
    refused_boxes: usize,
    escapes: Vec<String>,
    refusals: Vec<String>,
}

impl Count {
    fn enter(&mut self, function: &Function, bounds: &Worst, x: &[f64], got: Result<f64, Outside>) {
        self.samples += 1;
        match got {
            Ok(value) if bounds.low <= value && value <= bounds.high => {}
            Ok(value) => {
                let width = bounds.high - bounds.low;
                let out = (bounds.low - value).max(value - bounds.high);
                self.escapes.push(format!(
                    "`{}` {value} leaves [{}, {}] by {:.2e} of its width, {:?}, at {x:?}",
                    function.name,
                    bounds.low,
                    bounds.high,
                    out / width,
                    bounds.basis
                ));
            }
            Err(Outside::Never(_)) if bounds.high == f64::INFINITY => {}
            Err(why) => {
                self.refusals.push(format!(
                    "`{}` {why:?} inside its box at {x:?}",
                    function.name
                ));
            }
        }
    }
}

fn sample(function: &Function, samples: usize, seed: u64) -> Count {
    let mut random = Random(seed);
    let mut count = Count::default();
    while count.samples < samples && count.refused_boxes < 50 * (samples / POINTS + 10) {
        let inputs = tolerances(function, &nominal(function, &mut random), &mut random);
        let mut passes = Passes::default();
        let Ok(bounds) = worst(function, &inputs, &mut passes) else {
            count.refused_boxes += 1;
            continue;
        };
        count.boxes[match bounds.basis {
            Basis::Exact => 0,
            Basis::Sampled => 1,
            Basis::Thinned(_) => 2,
        }] += 1;
        for _ in 0..POINTS {
            let x = point(function, &inputs, &mut random);
            let got = figure(function, &x, &mut passes);
            count.enter(function, &bounds, &x, got);
        }
    }
    count
}

#[test]
fn no_point_leaves_its_interval() {
    let long = std::env::var("STRIKEOFF_LONG").ok();
    let all: usize = long
        .as_ref()
        .map_or(SHORT, |n| n.parse().expect("a number of samples"));
    let each = all.div_ceil(functions().len());
    let mut total = Count::default();
    let only = std::env::var("STRIKEOFF_FIGURE").ok();
    for (index, function) in functions().iter().enumerate() {
        if only
            .as_deref()
            .is_some_and(|only| !function.name.starts_with(only))
        {
            continue;
        }
        let count = sample(function, each, 1 + index as u64 * 1_000_003);
        if long.is_some() {
            println!(
                "{:<36} {:>6} samples, boxes {:>5} exact {:>5} sampled {:>5} thinned {:>5} refused, {} escapes, {} refusals",
                function.name,
                count.samples,
                count.boxes[0],
                count.boxes[1],
                count.boxes[2],
                count.refused_boxes,
                count.escapes.len(),
                count.refusals.len()
            );
        }
        assert!(
            count.samples >= each,
            "`{}`: only {} samples",
            function.name,
            count.samples
        );
        total.samples += count.samples;
        total.boxes = std::array::from_fn(|i| total.boxes[i] + count.boxes[i]);
        total.escapes.extend(count.escapes);
        total.refusals.extend(count.refusals);
    }
    println!(
        "{} samples over {} figures in {:?} boxes (exact, sampled, thinned): {} escapes, {} refusals inside a box",
        total.samples,
        functions().len(),
        total.boxes,
        total.escapes.len(),
        total.refusals.len()
    );
    assert!(only.is_some() || total.samples >= all);
    let shown = |list: &[String]| list.iter().take(20).cloned().collect::<Vec<_>>().join("\n");
    assert!(total.escapes.is_empty(), "{}", shown(&total.escapes));
    assert!(total.refusals.is_empty(), "{}", shown(&total.refusals));
}

/// Twice the grid and half the step: the error of one step is of third order, so an eighth of it is allowed.
const TWICE: Settings = Settings {
    ink: 2 * Settings::CHECK.ink,
    fabric: 2 * Settings::CHECK.fabric,
    tolerance: Settings::CHECK.tolerance / 8.0,
    first_step: Settings::CHECK.first_step / 2.0,
    longest_step: Settings::CHECK.longest_step / 2.0,
};

/// What the worst case makes of one point: the figure with all the error that is stated for it.
fn stated(function: &Function, x: &[f64]) -> Option<(f64, f64)> {
    let inputs: Vec<(f64, f64)> = x.iter().map(|&x| (x, x)).collect();
    match worst(function, &inputs, &mut Passes::default()) {
        Ok(bounds) => Some((bounds.low, bounds.high)),
        Err(Outside::Never(_)) => Some((f64::INFINITY, f64::INFINITY)),
        Err(_) => None,
    }
}

#[test]
fn twice_the_grid_and_half_the_step_change_nothing_beyond_the_stated_accuracy() {
    let draws = if std::env::var_os("STRIKEOFF_LONG").is_some() {
        400
    } else {
        6
    };
    let (mut wrong, mut compared) = (Vec::new(), 0);
    for (index, function) in functions().iter().enumerate().filter(|(_, f)| is_heat(f)) {
        let mut random = Random(77 + index as u64 * 7919);
        let mut own = 0;
        for _ in 0..draws {
            let x = nominal(function, &mut random);
            let Some((low, high)) = stated(function, &x) else {
                continue;
            };
            let finer = match figure(function, &x, &mut Passes::new(TWICE)) {
                Ok(value) => value,
                Err(Outside::Never(_)) => f64::INFINITY,
                Err(why) => panic!("`{}` {why:?} at {x:?}", function.name),
            };
            own += 1;
            if !(low <= finer && finer <= high) {
                wrong.push(format!(
                    "`{}` {finer} outside {low} to {high} at {x:?}",
                    function.name
                ));
            }
        }
        assert!(
            own * 2 >= draws,
            "`{}`: only {own} of {draws} draws",
            function.name
        );
        compared += own;
    }
    println!(
        "{compared} comparisons with twice the grid, {} beyond the stated accuracy",
        wrong.len()
    );
    assert!(
        wrong.is_empty(),
        "{} wrong:\n{}",
        wrong.len(),
        wrong[..wrong.len().min(20)].join("\n")
    );
}

#[test]
fn the_same_input_gives_the_same_bits_in_any_order() {
    let mut shared = Passes::default();
    let mut inputs = Vec::new();
    for (index, function) in functions().iter().enumerate() {
        let mut random = Random(5 + index as u64);
        inputs.extend((0..4).map(|_| (function, nominal(function, &mut random))));
    }
    let bits = |result: Result<f64, Outside>| result.map(f64::to_bits);
    let first: Vec<_> = inputs
        .iter()
        .map(|(f, x)| bits(figure(f, x, &mut shared)))
        .collect();
    for ((function, x), first) in inputs.iter().zip(&first).rev() {
        assert_eq!(
            &bits(figure(function, x, &mut shared)),
            first,
            "`{}` kept",
            function.name
        );
        assert_eq!(
            &bits((function.evaluate)(x)),
            first,
            "`{}` alone",
            function.name
        );
    }
}

/// An input whose direction does not hold somewhere in the box must not be called exact.
#[test]
fn corners_that_are_not_exact_are_called_sampled() {
    let mut seen = 0;
    for (index, function) in functions().iter().enumerate().filter(|(_, f)| is_heat(f)) {
        let Some(transfer) = function
            .parameters
            .iter()
            .position(|p| p.name == "heat-transfer")
        else {
            continue;
        };
        if function.parameters[transfer].direction == strikeoff::physics::Direction::Mixed {
            continue;
        }
        let mut random = Random(31 + index as u64);
        for _ in 0..4 {
            let x = nominal(function, &mut random);
            let mut inputs: Vec<(f64, f64)> = x.iter().map(|&x| (x, x)).collect();
            inputs[transfer] = (x[transfer] * 0.8, x[transfer] * 1.2);
            let mut passes = Passes::default();
            let Ok(bounds) = worst(function, &inputs, &mut passes) else {
                continue;
            };
            let holds = [0.8, 1.0, 1.2].into_iter().all(|share| {
                let mut x = x.clone();
                x[transfer] *= share;
                reading(function, &x, &mut passes).is_ok_and(|r| r.holds(transfer))
            });
            if holds {
                continue;
            }
            seen += 1;
            let edges = function.parameters.iter().zip(&x);
            let ramps = edges
                .clone()
                .any(|(p, x)| p.name.starts_with("edge-") && *x > 0.0);
            if !is_bounded(&function) && ramps && bounds.basis != Basis::Exact {
                continue;
            }
            if !is_bounded(&function) && (!ramps || function.name.contains("after-exit")) {
                assert_ne!(bounds.basis, Basis::Exact, "`{}` at {x:?}", function.name);
                continue;
            }
            // There a run may bound them all, and then it must.
            for share in [0.8, 0.85, 0.9, 0.95, 1.0, 1.05, 1.1, 1.15, 1.2] {
                let mut x = x.clone();
                x[transfer] *= share;
                match figure(function, &x, &mut passes) {
                    Ok(value) => assert!(
                        bounds.low <= value && value <= bounds.high,
                        "`{}` {value} leaves {} to {} at {x:?}",
                        function.name,
                        bounds.low,
                        bounds.high
                    ),
                    Err(_) => assert_eq!(bounds.high, f64::INFINITY, "`{}`", function.name),
                }
            }
        }
    }
    assert!(
        seen >= 40,
        "only {seen} boxes had an input whose direction did not hold"
    );
}

/// Figures of several zones up to the exit.
fn is_bounded(function: &&Function) -> bool {
    let zones = ["-two-zones", "-three-zones"];
    !function.name.contains("after-exit") && zones.iter().any(|end| function.name.ends_with(end))
}

/// Where a later zone is cooler than the film that comes into it, weights and heat transfer go either way; the run that bounds
/// them all is still a bound, and is taken.
#[test]
fn a_zone_that_cools_is_bounded() {
    let long: usize =
        std::env::var("STRIKEOFF_LONG").map_or(0, |n| n.parse().expect("a number of samples"));
    let many = functions().iter().filter(is_bounded).count();
    let boxes = (long / POINTS).max(many * 6).div_ceil(many);
    let (mut shown, mut cooled, mut tried) = (0, 0, 0);
    let mut escapes = Vec::new();
    for (index, function) in functions().iter().filter(is_bounded).enumerate() {
        let at = |name: &str| function.parameters.iter().position(|p| p.name == name);
        let mut random = Random(911 + index as u64 * 104_729);
        for _ in 0..boxes {
            let mut x = nominal(function, &mut random);
            let cooler = random.between(-90.0, 5.0);
            for pair in [
                ("air", "air-2"),
                ("air-below", "air-below-2"),
                ("air-2", "air-3"),
            ] {
                if let (Some(of), Some(to)) = (at(pair.0), at(pair.1)) {
                    x[to] = (x[of] + cooler).max(300.0);
                }
            }
            for name in ["panel-factor-2", "flux-2"] {
                if let Some(input) = at(name).filter(|_| random.unit() < 0.8) {
                    x[input] = 0.0;
                }
            }
            // On a ramp the time in a zone goes either way: most of these tunnels have none.
            let sharp = random.unit() < 0.8;
            for (x, parameter) in x.iter_mut().zip(function.parameters) {
                if sharp && parameter.name.starts_with("edge-") {
                    *x = 0.0;
                }
            }
            let mut inputs = tolerances(function, &x, &mut random);
            for ((input, x), parameter) in inputs.iter_mut().zip(&x).zip(function.parameters) {
                if parameter.direction == strikeoff::physics::Direction::Mixed {
                    *input = (*x, *x);
                }
            }
            let mut passes = Passes::default();
            let Ok(bounds) = worst(function, &inputs, &mut passes) else {
                continue;
            };
            if bounds.basis != Basis::Exact {
                continue;
            }
            shown += 1;
            let plain = reading(function, &x, &mut passes);
            let weight = at("fabric-mass").expect("a fabric");
            cooled += usize::from(plain.is_ok_and(|reading| !reading.holds(weight)));
            for _ in 0..POINTS {
                let x = point(function, &inputs, &mut random);
                tried += 1;
                match figure(function, &x, &mut passes) {
                    Ok(value) if bounds.low <= value && value <= bounds.high => {}
                    Err(Outside::Never(_)) if bounds.high == f64::INFINITY => {}
                    other => escapes.push(format!(
                        "`{}` {other:?} leaves {} to {} at {x:?}",
                        function.name, bounds.low, bounds.high
                    )),
                }
            }
        }
    }
    println!(
        "{shown} boxes shown, {cooled} of them cool; {tried} points, {} escapes",
        escapes.len()
    );
    assert!(escapes.is_empty(), "{}", escapes.join("\n"));
    assert!(cooled * 4 >= shown && cooled > 10, "{cooled} of {shown}");
}

/// Where too many inputs go either way for all combinations of ends, what was found is widened by a share of itself: the
/// figure at the points found lies that far inside the bounds. Without it a point between may lie outside.
#[test]
fn bounds_of_inputs_followed_one_by_one_are_wider_than_what_was_found() {
    let mut seen = 0;
    for (index, function) in functions().iter().enumerate() {
        let mut random = Random(17 + index as u64);
        for _ in 0..2 {
            let x = nominal(function, &mut random);
            let inputs: Vec<(f64, f64)> = x
                .iter()
                .zip(function.parameters)
                .map(|(&x, parameter)| match parameter.direction {
                    strikeoff::physics::Direction::Mixed => (x * 0.85, x * 1.15),
                    _ => (x, x),
                })
                .collect();
            let mut passes = Passes::default();
            let Ok(bounds) = worst(function, &inputs, &mut passes) else {
                continue;
            };
            if !matches!(bounds.basis, Basis::Thinned(_)) || bounds.high == f64::INFINITY {
                continue;
            }
            let found =
                [&bounds.low_at, &bounds.high_at].map(|at| figure(function, at, &mut passes));
            let [Ok(low), Ok(high)] = found else {
                continue;
            };
            seen += 1;
            assert!(
                bounds.high - high >= 0.149 * (high - low),
                "`{}` {low} to {high} was found, and {} to {} is given",
                function.name,
                bounds.low,
                bounds.high
            );
        }
    }
    assert!(seen > 0, "no figure has so many inputs that go either way");
}
