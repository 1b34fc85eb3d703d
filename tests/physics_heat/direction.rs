//! The direction each input states, over random dryers, garments and inks, on a grid fine enough to see small changes.

use super::draws::{Draws, ONE_PLY, named};
use strikeoff::physics::over::{figure, reading};
use strikeoff::physics::thermal::Settings;
use strikeoff::physics::{Direction, Passes};

/// The finest grid the engine chooses by itself, so that it does not change from one run to the next.
const STEADY: Settings = Settings {
    ink: 16,
    fabric: 40,
    tolerance: 1.0e-3,
    ..Settings::CHECK
};

/// What counts as no change, in the figure's own unit: the solver's noise.
fn noise(result: &str, value: f64) -> f64 {
    match result {
        "temperature" => 0.01,
        "time" => 0.01 + 1.0e-3 * value.abs(),
        "mass-per-area" => 2.0e-6 + 1.0e-3 * value.abs(),
        _ => 1.0e-3 * value.abs() + 1.0e-9,
    }
}

/// Raises each input in turn, and returns what moved against its direction.
fn against(
    names: &[(&str, &[f64])],
    draw: impl Fn(u64) -> Vec<f64>,
    seeds: std::ops::Range<u64>,
) -> Vec<String> {
    let mut wrong = Vec::new();
    for &(name, asked) in names {
        let function = named(name);
        let mut moved = 0;
        for seed in seeds.clone() {
            // One store for each draw: all figures of it share the runs.
            let mut passes = Passes::new(STEADY);
            let mut x = draw(seed);
            x.extend(asked);
            let Ok(before) = reading(function, &x, &mut passes) else {
                continue;
            };
            for (index, parameter) in function.parameters.iter().enumerate() {
                let mut raised = x.clone();
                raised[index] += match parameter.dimension {
                    "count" => 1.0,
                    "temperature" => 4.0,
                    _ => 0.05 * x[index],
                };
                if raised[index] > parameter.high {
                    continue;
                }
                let Ok(after) = reading(function, &raised, &mut passes) else {
                    continue;
                };
                let change = after.value - before.value;
                let none = noise(function.result, before.value);
                let held = before.holds(index) && after.holds(index);
                let (may_rise, may_fall) = match parameter.direction {
                    Direction::Rises => (true, false),
                    Direction::Falls => (false, true),
                    Direction::RisesWhileHeating if held => (true, false),
                    Direction::FallsWhileHeating if held => (false, true),
                    _ => (true, true),
                };
                moved += usize::from(change.abs() > none && may_rise != may_fall);
                if (change > none && !may_rise) || (change < -none && !may_fall) {
                    wrong.push(format!(
                        "{name}: {} moved it by {change} (draw {seed})",
                        parameter.name
                    ));
                }
            }
        }
        if moved == 0 {
            wrong.push(format!("{name}: nothing moved it, so nothing was tested"));
        }
    }
    wrong
}

#[test]
fn tunnel_inputs_move_figures_the_way_they_state() {
    let figures: [(&str, &[f64]); 9] = [
        ("film-peak", &[]),
        ("surface-peak", &[]),
        ("film-exit", &[]),
        ("film-reaches", &[413.15]),
        ("film-time-above", &[413.15]),
        ("film-dose", &[433.15, 60_000.0]),
        ("ink-water-left", &[]),
        ("fabric-water-left", &[]),
        ("dye-index", &[423.15, 30.0, 120_000.0, 1.0]),
    ];
    let draw = |seed: u64| {
        let mut draws = Draws::new(1000 + seed);
        let mut x = draws.body();
        x.extend(draws.zone(seed.is_multiple_of(2)));
        // Some passes must be short enough to leave water behind.
        if seed.is_multiple_of(3) {
            x[12] = 6.0 + x[12] * 0.1;
            x[5] = if seed.is_multiple_of(2) { 0.15 } else { x[5] };
        }
        match seed % 4 {
            3 => draws.lying(&mut x, 1),
            _ => x.extend(ONE_PLY),
        }
        x
    };
    let wrong = against(&figures, draw, 0..SEEDS);
    assert!(
        wrong.is_empty(),
        "{} against:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

/// Enough for a habit to show; sixty were run, without one against its direction, when the directions were set.
const SEEDS: u64 = 8;

#[test]
fn figures_of_two_zones_and_after_the_exit_move_the_way_they_state() {
    let two = |seed: u64| {
        let mut draws = Draws::new(2000 + seed);
        let mut x = draws.body();
        x.extend(draws.zone(seed.is_multiple_of(2)));
        x.extend(draws.zone(seed.is_multiple_of(2)));
        x[12] *= 0.4;
        x.extend(ONE_PLY);
        x
    };
    let figures: [(&str, &[f64]); 5] = [
        ("film-peak-two-zones", &[]),
        ("film-exit-two-zones", &[]),
        ("film-reaches-two-zones", &[413.15]),
        ("film-time-above-two-zones", &[413.15]),
        ("film-dose-two-zones", &[433.15, 60_000.0]),
    ];
    let mut wrong = against(&figures, two, 0..SEEDS / 2);
    let cooled = |seed: u64| {
        let mut draws = Draws::new(3000 + seed);
        let mut x = draws.body();
        x.extend(draws.zone(seed.is_multiple_of(2)));
        x.extend(ONE_PLY);
        x.extend([draws.between(288.0, 305.0), draws.between(8.0, 12.0), 60.0]);
        x
    };
    let figures: [(&str, &[f64]); 3] = [
        ("film-time-above-after-exit", &[413.15]),
        ("film-dose-after-exit", &[433.15, 60_000.0]),
        ("dye-index-after-exit", &[423.15, 30.0, 120_000.0, 1.0]),
    ];
    wrong.extend(against(&figures, cooled, 0..SEEDS / 2));
    assert!(
        wrong.is_empty(),
        "{} against:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

#[test]
fn flash_inputs_move_figures_the_way_they_state() {
    let draw = |seed: u64| {
        let mut draws = Draws::new(4000 + seed);
        let mut x = draws.body()[..11].to_vec();
        x.extend([draws.between(300.0, 340.0), draws.between(5.0, 20.0), 800.0]);
        x.extend([
            0.3 * draws.unit(),
            draws.between(2000.0, 12_000.0),
            draws.between(1500.0, 3000.0),
        ]);
        x.extend([draws.between(295.0, 340.0), draws.between(0.002, 0.01)]);
        x.extend([0.075, if seed % 3 == 2 { 5.0 } else { 0.0 }]);
        x
    };
    let figures: [(&str, &[f64]); 4] = [
        ("gel-time", &[378.15]),
        ("over-flash-time", &[411.15]),
        ("flash-film", &[4.0]),
        ("flash-surface", &[4.0]),
    ];
    let wrong = against(&figures, draw, 0..SEEDS);
    assert!(
        wrong.is_empty(),
        "{} against:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

#[test]
fn closed_forms_move_the_way_they_state() {
    let pallet = |seed: u64| {
        let mut draws = Draws::new(5000 + seed);
        let mut x = vec![
            draws.between(285.0, 330.0),
            draws.between(285.0, 305.0),
            draws.between(500.0, 9000.0),
        ];
        x.extend([
            draws.between(2.0, 10.0),
            draws.between(15.0, 120.0),
            draws.between(4000.0, 30_000.0),
        ]);
        x.push(draws.between(5.0, 40.0));
        x
    };
    let mut wrong = against(
        &[("pallet-after", &[12.0]), ("pallet-cycles-to", &[311.0])],
        pallet,
        0..200,
    );
    wrong.extend(against(
        &[("pallet-steady", &[])],
        |seed| pallet(seed)[1..].to_vec(),
        0..200,
    ));
    let cool = |seed: u64| {
        let mut draws = Draws::new(6000 + seed);
        vec![
            draws.between(320.0, 380.0),
            draws.between(285.0, 305.0),
            draws.between(50.0, 400.0),
            draws.between(310.0, 330.0),
        ]
    };
    wrong.extend(against(
        &[("cooling-time", &[]), ("cooling-stations", &[6.0])],
        cool,
        0..200,
    ));
    let doses = |seed: u64| {
        let mut draws = Draws::new(7000 + seed);
        vec![
            draws.between(10.0, 300.0),
            draws.between(380.0, 460.0),
            draws.between(380.0, 460.0),
        ]
    };
    wrong.extend(against(
        &[("hold-dose-z", &[15.0]), ("hold-dose", &[80_000.0])],
        doses,
        0..100,
    ));
    let pairs = |seed: u64| {
        let mut draws = Draws::new(8000 + seed);
        let cold = draws.between(400.0, 430.0);
        let hot = cold + draws.between(10.0, 30.0);
        let short = draws.between(20.0, 60.0);
        vec![cold, short * draws.between(1.2, 3.0), hot, short]
    };
    wrong.extend(against(
        &[("cure-energy", &[]), ("cure-time-needed", &[425.0])],
        pairs,
        0..100,
    ));
    assert!(
        wrong.is_empty(),
        "{} against:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

/// While water leaves the film, more heat transfer also carries more vapour away, and a heavier film holds its water
/// tighter: in a run that ends so, neither is taken to move the film one way. In one that ends dry, both are.
#[test]
fn no_direction_of_ink_or_heat_transfer_is_claimed_while_the_film_is_wet() {
    const INK_MASS: usize = 1;
    const TIME: usize = 12;
    const TRANSFER: usize = 15;
    let (peak, left) = (named("film-peak"), named("ink-water-left"));
    assert_eq!(peak.parameters[INK_MASS].name, "ink-mass");
    assert_eq!(peak.parameters[TIME].name, "time");
    assert_eq!(peak.parameters[TRANSFER].name, "heat-transfer");
    let mut draws = Draws::new(2611);
    let (mut wet, mut dry) = (0, 0);
    for _ in 0..60 {
        let mut x = draws.body();
        // Water in the film, and next to none in the fabric, so that the film alone decides.
        (x[1], x[5], x[10], x[11]) = (0.04, draws.between(0.015, 0.04), 0.003, 0.004);
        x.extend(draws.zone(false));
        x.extend(ONE_PLY);
        let share = |x: &[f64]| figure(left, x, &mut Passes::default()).map(|water| water / x[1]);
        // The time at which a tenth of the ink's mass is water: it falls all the way.
        let (mut low, mut high) = (2.0, 110.0);
        for _ in 0..24 {
            x[TIME] = 0.5 * (low + high);
            match share(&x) {
                Ok(share) if share > 0.1 => low = x[TIME],
                _ => high = x[TIME],
            }
        }
        let Ok(found) = share(&x) else { continue };
        let claims = |x: &[f64]| {
            let reading = reading(peak, x, &mut Passes::default()).unwrap();
            (reading.holds(INK_MASS), reading.holds(TRANSFER))
        };
        if (0.05..0.15).contains(&found) {
            wet += 1;
            assert_eq!(
                claims(&x),
                (false, false),
                "{found} of the ink is water, at {x:?}"
            );
        }
        x[TIME] *= 3.0;
        if x[TIME] < 300.0 && share(&x).is_ok_and(|share| share < 0.001) {
            let (ink, transfer) = claims(&x);
            dry += usize::from(ink && transfer);
        }
    }
    assert!(wet > 20 && dry > 20, "{wet} wet, {dry} dry");
}
