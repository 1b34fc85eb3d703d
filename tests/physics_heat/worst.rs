//! The worst case over a box holds every point of it, and is no wider than it says.

use super::draws::{Draws, ONE_PLY, named};
use proptest::prelude::*;
use strikeoff::physics::over::{Basis, Worst, exact, figure, reading, worst};
use strikeoff::physics::{Outside, Passes};

const ZERO: f64 = 273.15;

/// Plastisol on cotton in a tunnel of air only: the box, and all its corners run with a fine-grid reference.
fn cotton() -> Vec<(f64, f64)> {
    let one = |x: f64| (x, x);
    let mut x = vec![
        one(25.0 + ZERO),
        one(0.12),
        one(1.0e-4),
        one(1400.0),
        one(0.17),
        one(0.0),
    ];
    x.extend([
        (0.17, 0.19),
        one(7.0e-4),
        one(1300.0),
        one(0.05),
        (0.06, 0.085),
        one(0.075),
    ]);
    x.extend([
        (23.0, 27.0),
        (160.0 + ZERO, 170.0 + ZERO),
        one(165.0 + ZERO),
        one(35.0),
        one(25.0),
    ]);
    x.extend([one(25.0 + ZERO), one(0.0), one(0.0), one(1500.0)]);
    // Sharp mouths, one ply.
    x.extend([one(0.0), one(0.0)]);
    x.extend(ONE_PLY.map(one));
    x
}

#[test]
fn corners_are_those_of_the_fine_grid_reference() {
    // Case int-01 of the reference cases: all 16 corners run by finite volumes on 16 + 48 cells (scipy Radau).
    let mut passes = Passes::default();
    let peak = worst(named("film-peak"), &cotton(), &mut passes).unwrap();
    assert_eq!(peak.basis, Basis::Exact);
    let accuracy = 0.3;
    assert!(
        (peak.low + accuracy - ZERO - 138.723_366).abs() < 0.3,
        "{peak:?}"
    );
    assert!(
        (peak.high - accuracy - ZERO - 160.786_216).abs() < 0.3,
        "{peak:?}"
    );
    // The coldest corner: heaviest and wettest garment, shortest time, coolest air.
    assert_eq!(
        (
            peak.low_at[6],
            peak.low_at[10],
            peak.low_at[12],
            peak.low_at[13]
        ),
        (0.19, 0.085, 23.0, 433.15)
    );
    assert_eq!(
        (
            peak.high_at[6],
            peak.high_at[10],
            peak.high_at[12],
            peak.high_at[13]
        ),
        (0.17, 0.06, 27.0, 443.15)
    );
}

#[test]
fn six_figures_of_one_pass_cost_one_run() {
    let x: Vec<f64> = cotton().iter().map(|i| i.0).collect();
    let mut passes = Passes::default();
    for name in [
        "film-peak",
        "surface-peak",
        "film-exit",
        "ink-water-left",
        "fabric-water-left",
    ] {
        figure(named(name), &x, &mut passes).unwrap();
    }
    let asked = [x.as_slice(), &[400.0]].concat();
    figure(named("film-time-above"), &asked, &mut passes).unwrap();
    assert_eq!(passes.made(), 1);
    let again = figure(named("film-peak"), &x, &mut passes).unwrap();
    assert_eq!(
        again.to_bits(),
        (named("film-peak").evaluate)(&x).unwrap().to_bits()
    );
}

#[test]
fn heat_transfer_is_exact_while_the_film_is_cooler_than_the_air_and_sampled_beyond() {
    let mut inputs = cotton();
    inputs[15] = (30.0, 40.0);
    inputs[16] = (20.0, 30.0);
    let mut passes = Passes::default();
    assert_eq!(
        worst(named("film-peak"), &inputs, &mut passes)
            .unwrap()
            .basis,
        Basis::Exact
    );
    // A hot panel lifts the film above the air: more air may now cool it, and the ends may both be below the middle.
    inputs[12] = (40.0, 40.0);
    inputs[17] = (573.15, 573.15);
    inputs[18] = (0.2, 0.2);
    let peak = worst(named("film-peak"), &inputs, &mut passes).unwrap();
    assert_eq!(peak.basis, Basis::Sampled);
}

/// While a film still loses water, more heat transfer also carries more vapour away: then nothing is said of the way it
/// moves the film, nor of the way more ink does.
#[test]
fn an_ink_that_leaves_wet_has_no_direction_in_what_heats_it() {
    let (ink, water, time, transfer) = (1, 5, 12, 15);
    let (mut wet, mut dry) = (0, 0);
    for seed in 0..12 {
        let mut draws = Draws::new(7000 + seed);
        let mut x = draws.body();
        x.extend(draws.zone(false));
        x.extend(ONE_PLY);
        (x[ink], x[water]) = (0.04, 0.03);
        let mut passes = Passes::default();
        for seconds in [4.0, 8.0, 12.0, 16.0, 20.0, 24.0, 32.0, 40.0, 120.0] {
            x[time] = seconds;
            let left = figure(named("ink-water-left"), &x, &mut passes).unwrap() / x[ink];
            let peak = reading(named("film-peak"), &x, &mut passes).unwrap();
            if left > 0.021 {
                // All of it is water that an ink sold as dry would not hold.
                wet += usize::from(left < 0.25);
                assert!(!peak.holds(transfer) && !peak.holds(ink), "{left} at {x:?}");
            } else if left < 0.019 {
                dry += usize::from(peak.holds(transfer) && peak.holds(ink));
            }
        }
    }
    assert!(wet >= 5 && dry >= 5, "{wet} left wet, {dry} dry");
}

#[test]
fn what_is_shown_is_the_worst_case_and_what_would_be_sampled_is_left_off() {
    let mut inputs = cotton();
    inputs[15] = (30.0, 40.0);
    let peak = named("film-peak");
    let whole = worst(peak, &inputs, &mut Passes::default()).unwrap();
    let shown = exact(peak, &inputs, &mut Passes::default()).unwrap();
    assert_eq!((whole.basis, shown), (Basis::Exact, Some(whole)));
    // A span of what goes either way, and one that does under a panel: nothing is shown, and little is run for it.
    let mut conduction = inputs.clone();
    conduction[7] = (6.0e-4, 8.0e-4);
    let mut panel = inputs.clone();
    panel[12] = (40.0, 40.0);
    panel[17] = (573.15, 573.15);
    panel[18] = (0.2, 0.2);
    for (inputs, most) in [(conduction, 0), (panel, 4)] {
        let mut passes = Passes::default();
        assert_eq!(exact(peak, &inputs, &mut passes).unwrap(), None);
        assert!(passes.made() <= most, "{}", passes.made());
    }
}

#[test]
fn what_only_rounding_keeps_apart_is_one_run() {
    let inputs: Vec<(f64, f64)> = cotton()
        .iter()
        .map(|&(low, _)| (low, low * (1.0 + 2.0 * f64::EPSILON)))
        .collect();
    let mut passes = Passes::default();
    let peak = worst(named("film-peak"), &inputs, &mut passes).unwrap();
    assert_eq!((peak.basis, passes.made()), (Basis::Exact, 1));
    let x: Vec<f64> = cotton().iter().map(|i| i.0).collect();
    let at = figure(named("film-peak"), &x, &mut passes).unwrap();
    assert!(peak.low < at && at < peak.high && peak.high - peak.low < 0.61);
}

/// At one corner of this box flash and cooling take longer than the round they are part of.
#[test]
fn a_box_with_a_round_too_short_for_its_flash_and_cooling_has_no_worst_case() {
    let mut inputs = [
        64.4, 290.3, 35_000.0, 0.0144, 3000.0, 3100.0, 150_000.0, 14.4, 69.6, 508.0,
    ]
    .map(|x| (x, x));
    inputs[4] = (2900.0, 3100.0);
    inputs[5] = (3050.0, 3200.0);
    let after = named("pallet-after-rounds");
    let refused = worst(after, &inputs, &mut Passes::default());
    assert!(matches!(refused, Err(Outside::Together(_))), "{refused:?}");
    inputs[5].0 = 3101.0;
    assert!(worst(after, &inputs, &mut Passes::default()).is_ok());
}

#[test]
fn a_level_that_may_not_be_reached_has_no_upper_bound_on_its_time() {
    let mut inputs = cotton();
    inputs.push((150.0 + ZERO, 150.0 + ZERO));
    let reach = worst(named("film-reaches"), &inputs, &mut Passes::default()).unwrap();
    assert!(
        reach.high.is_infinite() && reach.low > 15.0 && reach.low < 27.0,
        "{reach:?}"
    );
    assert!(reach.never.is_some());
    inputs[27] = (200.0 + ZERO, 210.0 + ZERO);
    assert!(matches!(
        worst(named("film-reaches"), &inputs, &mut Passes::default()),
        Err(Outside::Never(_))
    ));
}

#[test]
fn a_box_that_is_not_one_is_refused() {
    let peak = named("film-peak");
    for (index, interval) in [
        (0, (300.0, 290.0)),
        (6, (0.17, 5.0)),
        (13, (f64::NAN, 440.0)),
        (20, (0.0, f64::INFINITY)),
    ] {
        let mut inputs = cotton();
        inputs[index] = interval;
        assert_eq!(
            worst(peak, &inputs, &mut Passes::default()),
            Err(Outside::Parameter(index))
        );
    }
    assert!(worst(peak, &cotton()[1..], &mut Passes::default()).is_err());
}

#[test]
fn too_many_inputs_either_way_are_followed_one_by_one_and_it_says_so() {
    let mut inputs = cotton();
    inputs.extend([
        (290.0, 300.0),
        (8.0, 12.0),
        (50.0, 60.0),
        (430.0, 430.0),
        (50_000.0, 60_000.0),
    ]);
    for (index, share) in [
        (1, 0.1),
        (3, 0.05),
        (5, 0.0),
        (7, 0.1),
        (8, 0.05),
        (9, 0.1),
        (11, 0.1),
        (20, 0.2),
    ] {
        let middle = inputs[index].0;
        inputs[index] = (middle * (1.0 - share), middle * (1.0 + share));
    }
    let dose = worst(
        named("film-dose-after-exit"),
        &inputs,
        &mut Passes::default(),
    )
    .unwrap();
    assert!(
        matches!(dose.basis, Basis::Thinned(count) if count > 6),
        "{:?}",
        dose.basis
    );
    assert!(dose.points < 500, "{}", dose.points);
    // What was followed one by one may have missed the worst: more is added than the figure's own error.
    let at = |point: &[f64]| {
        let found = figure(named("film-dose-after-exit"), point, &mut Passes::default());
        found.expect("the worst points were worked out")
    };
    let (lowest, highest) = (at(&dose.low_at), at(&dose.high_at));
    let missed = 0.1 * (highest - lowest);
    assert!(missed > 0.0 && lowest - dose.low > missed && dose.high - highest > missed);
    // The same box without the inputs that go either way is no wider than what is stated of the figure.
    let corner: Vec<(f64, f64)> = dose.high_at.iter().map(|at| (*at, *at)).collect();
    let alone = worst(
        named("film-dose-after-exit"),
        &corner,
        &mut Passes::default(),
    )
    .unwrap();
    assert!(alone.high - highest < missed, "{alone:?}");
}

#[test]
fn ceilings_are_not_widened() {
    let one = |x: f64| (x, x);
    let inputs = [
        (345.0, 350.0),
        (296.0, 300.0),
        (200.0, 260.0),
        one(328.15),
        one(7.0),
    ];
    let stations = worst(named("cooling-stations"), &inputs, &mut Passes::default()).unwrap();
    assert_eq!(stations.basis, Basis::Exact);
    assert_eq!(stations.low, stations.low.round());
    assert_eq!(stations.high, stations.high.round());
}

/// A box around a random draw: a random share of its inputs have a tolerance.
fn draw_box(seed: u64, zones: usize, asked: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut draws = Draws::new(9000 + seed);
    let mut x = draws.body();
    for _ in 0..zones {
        x.extend(draws.zone(seed.is_multiple_of(2)));
    }
    match seed % 3 {
        0 => x.extend(ONE_PLY),
        _ => draws.lying(&mut x, zones),
    }
    let plies = x.len() - ONE_PLY.len();
    let mut inputs: Vec<(f64, f64)> = x
        .iter()
        .map(|&x| {
            let half = match draws.unit() {
                part if part < 0.6 => 0.0,
                _ if x > 273.15 => 4.0,
                part => x * 0.1 * (part - 0.6) / 0.4,
            };
            (x - half, x + half)
        })
        .collect();
    // They are whole.
    inputs[plies] = (x[plies], x[plies]);
    inputs.extend(asked);
    inputs
}

fn inside(bounds: &Worst, value: f64) -> bool {
    value >= bounds.low && value <= bounds.high
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn bounds_of_a_tunnel_hold_every_point(seed in 0_u64..10_000, shares in prop::collection::vec(0.0..=1.0, 30)) {
        let asked: [(&str, &[(f64, f64)]); 5] = [
            ("film-peak", &[]),
            ("film-exit", &[]),
            ("film-reaches", &[(405.0, 407.0)]),
            ("film-time-above", &[(405.0, 407.0)]),
            ("film-dose", &[(433.15, 433.15), (55_000.0, 65_000.0)]),
        ];
        let mut passes = Passes::default();
        for (name, asked) in asked {
            let inputs = draw_box(seed, 1, asked);
            let Ok(bounds) = worst(named(name), &inputs, &mut passes) else { continue };
            let point: Vec<f64> = inputs.iter().zip(&shares).map(|(i, s)| i.0 + (i.1 - i.0) * s).collect();
            match figure(named(name), &point, &mut passes) {
                Ok(value) => prop_assert!(inside(&bounds, value), "{name}: {value} outside {bounds:?} at {point:?}"),
                Err(Outside::Never(_)) => prop_assert!(bounds.high.is_infinite(), "{name} never happens at {point:?}"),
                Err(other) => prop_assert!(false, "{name}: {other:?}"),
            }
        }
    }

    #[test]
    fn bounds_of_two_zones_hold_every_point(seed in 0_u64..10_000, shares in prop::collection::vec(0.0..=1.0, 40)) {
        let mut passes = Passes::default();
        for (name, asked) in [("film-peak-two-zones", &[][..]), ("film-time-above-two-zones", &[(405.0, 407.0)])] {
            let inputs = draw_box(seed, 2, asked);
            let Ok(bounds) = worst(named(name), &inputs, &mut passes) else { continue };
            let point: Vec<f64> = inputs.iter().zip(&shares).map(|(i, s)| i.0 + (i.1 - i.0) * s).collect();
            let value = figure(named(name), &point, &mut passes);
            prop_assert!(value.is_ok_and(|v| inside(&bounds, v)), "{name}: outside {bounds:?} at {point:?}");
        }
    }

    #[test]
    fn bounds_of_closed_forms_hold_every_point(seed in 0_u64..10_000, shares in prop::collection::vec(0.0..=1.0, 8)) {
        let mut draws = Draws::new(seed);
        let mut span = |low: f64, high: f64| {
            let (a, b) = (draws.between(low, high), draws.between(low, high));
            (a.min(b), a.max(b))
        };
        let after = [
            span(285.0, 340.0), span(285.0, 305.0), span(500.0, 9000.0), span(2.0, 10.0), span(15.0, 120.0),
            span(4000.0, 30_000.0), span(5.0, 40.0), span(0.0, 40.0),
        ];
        let dose = [span(5.0, 300.0), span(380.0, 460.0), span(380.0, 460.0), span(8.0, 30.0)];
        for (name, inputs) in [("pallet-after", &after[..]), ("pallet-steady", &after[1..7]), ("hold-dose-z", &dose)] {
            let bounds = worst(named(name), inputs, &mut Passes::default()).unwrap();
            let point: Vec<f64> = inputs.iter().zip(&shares).map(|(i, s)| i.0 + (i.1 - i.0) * s).collect();
            let value = figure(named(name), &point, &mut Passes::default()).unwrap();
            // What is sampled may be missed by a little of its own width.
            let slack = if bounds.basis == Basis::Exact { 0.0 } else { 0.02 * (bounds.high - bounds.low) };
            prop_assert!(
                value >= bounds.low - slack && value <= bounds.high + slack,
                "{name}: {value} outside {bounds:?} at {point:?}"
            );
        }
    }
}

/// A panel of 700 °C lifts the ink far above the air: there more moving air cools it, so that no corner stands for what lies
/// between, however hot it gets. Invented tunnel.
#[test]
fn a_film_hotter_than_the_model_goes_is_bounded_by_its_corners_only_where_they_bound() {
    let film_peak = named("film-peak");
    let of = |transfer: (f64, f64)| -> Vec<(f64, f64)> {
        [
            295.0, 0.06, 60e-6, 1500.0, 0.2, 0.0, 0.18, 0.7e-3, 1290.0, 0.05, 0.075, 0.075, 1464.0,
            412.0, 412.0, 0.0, 8.0, 973.0, 0.35, 0.0, 3000.0, 0.0, 0.0,
        ]
        .into_iter()
        .chain(ONE_PLY)
        .enumerate()
        .map(|(input, value)| {
            if input == 15 {
                transfer
            } else {
                (value, value)
            }
        })
        .collect()
    };
    let names: Vec<&str> = film_peak.parameters.iter().map(|of| of.name).collect();
    assert_eq!(
        &names[13..19],
        [
            "air",
            "air-below",
            "heat-transfer",
            "heat-transfer-below",
            "panel",
            "panel-factor"
        ]
    );
    let bounds = |transfer| worst(film_peak, &of(transfer), &mut Passes::default()).unwrap();
    let one = bounds((12.0, 12.0));
    assert_eq!((one.basis, one.high), (Basis::Exact, f64::INFINITY));
    // At least as hot as it was when its surface passed 350 °C, where the model ends.
    assert!((600.0..623.15).contains(&one.low), "{}", one.low);
    let some = bounds((12.0, 30.0));
    assert_ne!(some.basis, Basis::Exact);
    assert_eq!(some.high, f64::INFINITY);
}

/// Where the model ends all over a box of which not all could be tried, what the film is at least is a temperature still.
#[test]
fn what_a_film_is_at_least_stays_a_temperature_where_not_all_was_tried() {
    // The invented tunnel of the test above, with five inputs that go either way.
    let mut inputs: Vec<(f64, f64)> = [
        295.0, 0.06, 60e-6, 1500.0, 0.2, 0.0, 0.18, 0.7e-3, 1290.0, 0.05, 0.075, 0.075, 1464.0,
        412.0, 412.0, 12.0, 8.0, 973.0, 0.35, 0.0, 3000.0, 0.0, 0.0, 2.0, 0.005, 20.0, 295.15,
    ]
    .map(|x| (x, x))
    .to_vec();
    for (input, high) in [(9, 0.06), (11, 0.08), (20, 4000.0), (24, 0.01), (25, 40.0)] {
        inputs[input].1 = high;
    }
    let peak = worst(named("film-peak"), &inputs, &mut Passes::default()).unwrap();
    assert!(matches!(peak.basis, Basis::Thinned(_)), "{:?}", peak.basis);
    assert_eq!(peak.high, f64::INFINITY);
    assert!((450.0..623.15).contains(&peak.low), "{}", peak.low);
}
