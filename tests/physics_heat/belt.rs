//! What lies on the belt and how the air runs at the mouths: two plies are what one of twice the weight is, ramps of no
//! width are none, and what nobody says is bounded by all that it may be.

use super::draws::{Draws, ONE_PLY, ZONE, named};
use strikeoff::physics::over::{Basis, figure, worst};
use strikeoff::physics::thermal::{
    Body, Edges, Lower, Place, Settings, Start, Stretch, Zone, run, stretches,
};
use strikeoff::physics::{Outside, Passes};

/// Numbers of a tunnel's pass in front of those of its zones.
const BODY: usize = 12;

fn draw(seed: u64) -> Vec<f64> {
    let mut draws = Draws::new(600 + seed);
    let mut x = draws.body();
    x.extend(draws.zone(seed.is_multiple_of(2)));
    x.extend(ONE_PLY);
    x
}

/// A fabric cut in two along its thickness, with next to no gap, is the fabric. Dry: each half holds its water by itself.
#[test]
fn two_half_plies_without_a_gap_are_one_ply() {
    let whole = Body {
        ink_mass: 0.1,
        ink_thickness: 8.0e-5,
        ink_heat: 1400.0,
        ink_conductivity: 0.17,
        ink_water: 0.0,
        fabric_mass: 0.24,
        fabric_thickness: 1.2e-3,
        fabric_heat: 1300.0,
        fabric_conductivity: 0.05,
        moisture: 0.0,
        regain: 0.075,
        pallet_capacity: 0.0,
        lower: None,
        underside: None,
    };
    let half = Body {
        fabric_mass: 0.12,
        fabric_thickness: 6.0e-4,
        lower: Some(Lower {
            mass: 0.12,
            thickness: 6.0e-4,
            heat: 1300.0,
            conductivity: 0.05,
            moisture: 0.0,
            regain: 0.075,
            contact: 1.0e-6,
            vapour_path: f64::INFINITY,
        }),
        ..whole
    };
    let zone = Zone::room(60.0, 20.0, 440.0, 1500.0);
    let start = Start {
        film: 298.15,
        pallet: 298.15,
    };
    let fine = Settings {
        fabric: 12,
        ..Settings::FINE
    };
    let pass = |body: &Body| run(body, &[zone], 1, start, fine).unwrap();
    let (one, two) = (pass(&whole), pass(&half));
    for time in [10.0, 25.0, 40.0, 60.0] {
        let apart = one.at(Place::Boundary, time) - two.at(Place::Boundary, time);
        assert!(apart.abs() < 0.1, "{apart} K apart after {time} s");
    }
    let back = one.at(Place::Back, 60.0) - two.at(Place::LastBack, 60.0);
    assert!(back.abs() < 0.1, "{back}");
}

/// A ramp of a ten-thousandth of the zone is none.
#[test]
fn ramps_of_next_to_no_width_are_sharp() {
    for seed in 0..4 {
        let sharp = draw(seed);
        let mut ramp = sharp.clone();
        (ramp[BODY + ZONE - 2], ramp[BODY + ZONE - 1]) = (1.0e-4, 1.0e-4);
        for name in ["film-peak", "film-exit", "fabric-water-left"] {
            let of = |x: &[f64]| figure(named(name), x, &mut Passes::default()).unwrap();
            let apart = (of(&sharp) - of(&ramp)).abs();
            assert!(apart < 0.4, "{name}: {apart} apart");
        }
    }
}

/// The air on a ramp at its quarter points: 24 to 160 °C over 0.375 m of belt about the mouth, by hand.
#[test]
fn a_ramp_is_straight() {
    let zone = Zone::room(60.0, 20.0, 433.15, 1500.0);
    let edges = Edges {
        inside: 7.5,
        outside: 7.5,
    };
    let belt = stretches(&[zone], &[edges], 297.15, None);
    let total: f64 = belt.iter().map(|stretch| stretch.zone.time).sum();
    // A half of 1.25 × 7.5 s before the entrance and behind the exit.
    assert!((total - 60.0 - 9.375).abs() < 1.0e-9, "{total}");
    let mut time = -4.6875;
    for stretch in &belt {
        let middle = time + 0.5 * stretch.zone.time;
        let ramp = |from: f64| (0.5 + from / 9.375).clamp(0.0, 1.0);
        let expected = 297.15 + 136.0 * (ramp(middle) - ramp(middle - 60.0));
        assert!((stretch.zone.air - expected).abs() < 1.0e-9, "at {middle}");
        time += stretch.zone.time;
    }
}

/// Ramps so wide that they overlap: what radiates only in the middle zone never comes to less than nothing beside it.
#[test]
fn ramps_that_overlap_stay_between_what_there_is() {
    let zone = |time: f64, flux: f64| Zone {
        flux,
        panel_factor: flux / 1.0e4,
        ..Zone::room(time, 20.0, 420.0, 1500.0)
    };
    let zones = [zone(12.0, 1627.7), zone(9.0, 0.0), zone(30.0, 903.3)];
    for width in [0.1, 3.0, 14.0, 40.0] {
        let edges = [4.0 * width, width, 2.0 * width].map(|inside| Edges {
            inside,
            outside: width,
        });
        for stretch in stretches(&zones, &edges, 295.0, None) {
            let zone = stretch.zone;
            assert!((0.0..=1627.7).contains(&zone.flux), "{zone:?}");
            assert!(zone.panel_factor >= 0.0 && zone.transfer >= 8.0, "{zone:?}");
            assert!((295.0..=420.0).contains(&zone.air), "{zone:?}");
        }
    }
}

/// The lower ply's water costs more than its weight does, as in the table of two cotton plies: 154.8, 134.4 and about 113 °C.
#[test]
fn a_second_ply_takes_its_heat_and_its_water() {
    // Values: an independent program (finite volumes, scipy), still air at 171.1 °C, 60 s.
    let mut x = vec![
        298.15, 0.12, 1.0e-4, 1400.0, 0.17, 0.0, 0.18, 7.0e-4, 1300.0, 0.05, 0.075, 0.075,
    ];
    x.extend([
        60.0, 444.25, 444.25, 14.0, 9.0, 444.25, 0.0, 0.0, 1500.0, 0.0, 0.0,
    ]);
    x.extend([1.0, 0.005, 20.0, 298.15]);
    let peak = |x: &[f64]| figure(named("film-peak"), x, &mut Passes::default()).unwrap() - 273.15;
    assert!((peak(&x) - 154.8).abs() < 0.4);
    let plies = BODY + ZONE;
    x[plies] = 2.0;
    assert!((peak(&x) - 113.7).abs() < 0.4, "{}", peak(&x));
    // Shut, the upper ply keeps its water; in between the film is coldest.
    x[plies + 2] = 0.0;
    assert!((peak(&x) - 131.9).abs() < 0.4);
    x[plies + 2] = 4.0;
    assert!((peak(&x) - 112.5).abs() < 0.4);
}

/// The path of the vapour is looked at between its ends too: at both of them the film is hotter.
#[test]
fn the_path_of_the_vapour_is_scanned() {
    let mut x = draw(1);
    (x[5], x[10], x[11]) = (0.0, 0.075, 0.075);
    let plies = BODY + ZONE;
    x[plies] = 2.0;
    let mut inputs: Vec<(f64, f64)> = x.iter().map(|x| (*x, *x)).collect();
    inputs[plies + 2] = (0.0, 150.0);
    let peak = named("film-peak");
    let mut passes = Passes::default();
    let bounds = worst(peak, &inputs, &mut passes).unwrap();
    assert_eq!(bounds.basis, Basis::Sampled);
    let mut between = [f64::INFINITY; 2];
    for path in [0.0, 1.0, 3.0, 5.0, 9.0, 20.0, 150.0] {
        x[plies + 2] = path;
        let at = figure(peak, &x, &mut passes).unwrap();
        assert!(bounds.low <= at && at <= bounds.high, "{path}: {at}");
        let ends = usize::from(path == 0.0 || path == 150.0);
        between[ends] = between[ends].min(at);
    }
    assert!(between[0] < between[1] - 0.3, "{between:?}");
}

/// One ply or two, nobody says: both are looked at, and with one path of the vapour that is all there is to look at.
#[test]
fn what_lies_under_a_print_is_both_where_nobody_says() {
    let mut x = draw(3);
    let plies = BODY + ZONE;
    x[plies + 2] = 20.0;
    let peak = named("film-peak");
    let mut inputs: Vec<(f64, f64)> = x.iter().map(|x| (*x, *x)).collect();
    inputs[plies] = (1.0, 2.0);
    let both = worst(peak, &inputs, &mut Passes::default()).unwrap();
    assert_eq!(both.basis, Basis::Exact);
    for count in [1.0, 2.0] {
        x[plies] = count;
        let at = figure(peak, &x, &mut Passes::default()).unwrap();
        assert!(both.low < at && at < both.high);
    }
    x[plies] = 1.5;
    assert!(matches!(
        figure(peak, &x, &mut Passes::default()),
        Err(Outside::Together(_))
    ));
}

/// How wide the mouths are is taken from both ends at once, where a run can be shown to bound what lies between.
#[test]
fn the_width_of_the_mouths_is_bounded() {
    let mut exact = 0;
    for seed in 0..12 {
        let mut x = draw(seed);
        (x[5], x[10], x[11]) = (0.0, 0.004, 0.004);
        x[BODY] = x[BODY].max(60.0);
        let edge = BODY + ZONE - 2;
        let mut inputs: Vec<(f64, f64)> = x.iter().map(|x| (*x, *x)).collect();
        (inputs[edge], inputs[edge + 1]) = ((0.0, 0.3), (0.0, 0.3));
        for name in ["film-peak", "film-exit"] {
            let function = named(name);
            let mut passes = Passes::default();
            let bounds = worst(function, &inputs, &mut passes).unwrap();
            exact += usize::from(bounds.basis == Basis::Exact);
            for width in [0.0, 0.03, 0.1, 0.2, 0.3] {
                (x[edge], x[edge + 1]) = (width, width);
                let at = figure(function, &x, &mut passes).unwrap();
                assert!(
                    bounds.low <= at && at <= bounds.high,
                    "{name} {width}: {at} {bounds:?}"
                );
            }
        }
    }
    assert!(exact > 0, "{exact}");
}

/// Where a print goes through again it is drier, and gets hotter: the second pass is run, not counted twice.
#[test]
fn a_second_pass_is_hotter_than_the_first() {
    let body = |moisture: f64| Body {
        ink_mass: 0.12,
        ink_thickness: 1.0e-4,
        ink_heat: 1400.0,
        ink_conductivity: 0.17,
        ink_water: 0.0,
        fabric_mass: 0.18,
        fabric_thickness: 7.0e-4,
        fabric_heat: 1300.0,
        fabric_conductivity: 0.05,
        moisture,
        regain: 0.075,
        pallet_capacity: 0.0,
        lower: None,
        underside: None,
    };
    let zone = Zone {
        transfer_below: 9.0,
        ..Zone::room(40.0, 14.0, 444.25, 1500.0)
    };
    let pass = |moisture: f64, from: f64| {
        let start = Start {
            film: from,
            pallet: from,
        };
        run(&body(moisture), &[zone], 1, start, Settings::CHECK).unwrap()
    };
    let (first, second) = (pass(0.075, 298.15), pass(0.01, 308.15));
    let peak = |of: &strikeoff::physics::thermal::Pass| of.peak(Place::Boundary, Stretch::Whole);
    assert!(peak(&second) > peak(&first) + 5.0);
}
