//! Published tables beside the cases: the plane wall, the saturation line, doses of sterilisation practice, and the heat
//! that dried and damp cotton take.

use super::draws::{ONE_PLY, named};
use strikeoff::physics::over::figure;
use strikeoff::physics::thermal::{Body, Place, Settings, Start, Stretch, Zone, run};
use strikeoff::physics::{Passes, moisture, props};

/// Rows of a reference file as numbers, with the class last; every row names its source.
fn rows(text: &str, numbers: usize) -> Vec<Vec<f64>> {
    let row = |line: &str| -> Vec<f64> {
        let cells: Vec<&str> = line.splitn(numbers + 2, ',').collect();
        assert!(
            ["a", "b"].contains(&cells[numbers]) && !cells[numbers + 1].is_empty(),
            "{line}"
        );
        cells[..numbers]
            .iter()
            .map(|cell| cell.parse().unwrap())
            .collect()
    };
    text.lines().skip(1).map(row).collect()
}

/// θ = C₁·exp(−ζ₁²Fo)·cos(ζ₁x) past Fo = 0.2, at the insulated face and at the heated one (Incropera 5.5).
#[test]
fn plane_walls_follow_the_printed_table() {
    let settings = Settings {
        ink: 20,
        fabric: 40,
        tolerance: 0.002,
        ..Settings::CHECK
    };
    for row in rows(include_str!("../reference/heat/plane-wall.csv"), 3) {
        let [biot, zeta, c] = row[..] else {
            panic!("{row:?}")
        };
        // One millimetre of one material, 300 kJ/(m³·K), heated by 100 K of air from one side.
        let (length, conductivity, heat) = (1.0e-3, 0.06, 3.0e5);
        let body = Body {
            ink_mass: heat * length * 0.3 / 1000.0,
            ink_thickness: length * 0.3,
            ink_heat: 1000.0,
            ink_conductivity: conductivity,
            ink_water: 0.0,
            fabric_mass: heat * length * 0.7 / 1000.0,
            fabric_thickness: length * 0.7,
            fabric_heat: 1000.0,
            fabric_conductivity: conductivity,
            moisture: 0.0,
            regain: 0.075,
            pallet_capacity: 0.0,
            lower: None,
            underside: None,
        };
        for fourier in [0.5, 1.0, 1.5] {
            let time = fourier * length * length * heat / conductivity;
            let zone = Zone {
                transfer_below: 0.0,
                ..Zone::room(time, biot * conductivity / length, 400.0, 1500.0)
            };
            let start = Start {
                film: 300.0,
                pallet: 300.0,
            };
            let pass = run(&body, &[zone], 1, start, settings).unwrap();
            let middle = c * f64::exp(-zeta * zeta * fourier);
            for (place, theta) in [(Place::Back, middle), (Place::Surface, middle * zeta.cos())] {
                let got = (400.0 - pass.at(place, time)) / 100.0;
                // Half the last printed digit of ζ moves θ by up to 0.0002; the rest is the grid.
                assert!(
                    (got - theta).abs() < 0.001,
                    "Bi {biot}, Fo {fourier}: {got}, not {theta}"
                );
            }
        }
    }
}

#[test]
fn the_saturation_line_is_the_standards() {
    for row in rows(include_str!("../reference/heat/steam.csv"), 3) {
        let [t, pressure, tolerance] = row[..] else {
            panic!("{row:?}")
        };
        let got = props::saturation_pressure(t);
        assert!(
            (got / pressure - 1.0).abs() <= tolerance,
            "{t} K: {got}, not {pressure}"
        );
    }
}

#[test]
fn doses_are_those_of_sterilisation_practice() {
    for row in rows(include_str!("../reference/heat/dose.csv"), 6) {
        let [t, time, reference, z, expected, tolerance] = row[..] else {
            panic!("{row:?}")
        };
        let x = [time, t + 273.15, reference + 273.15, z];
        let got = (named("hold-dose-z").evaluate)(&x).unwrap();
        assert!((got / expected - 1.0).abs() <= tolerance, "{row:?}: {got}");
    }
}

/// Dried and damp cotton of 180 g/m² in one tunnel: the damp one takes 39.7 kJ/m² more on the way to 160 °C (8.5 % of
/// water, 2592 J/g), and up to 46 J/g of cotton for what the fibre holds (Physical Properties of Textile Fibres,
/// table 8.1), which the heat budget leaves out.
#[test]
fn damp_cotton_takes_the_heat_of_its_water_more() {
    let body = |moisture: f64| Body {
        ink_mass: 0.03,
        ink_thickness: 3.0e-5,
        ink_heat: 1400.0,
        ink_conductivity: 0.17,
        ink_water: 0.0,
        fabric_mass: 0.18,
        fabric_thickness: 7.0e-4,
        fabric_heat: 1290.0,
        fabric_conductivity: 0.05,
        moisture,
        regain: 0.085,
        pallet_capacity: 0.0,
        lower: None,
        underside: None,
    };
    let zone = Zone::room(300.0, 30.0, 453.15, 1500.0);
    let start = Start {
        film: 293.15,
        pallet: 293.15,
    };
    // Heat taken from the air on both sides until the boundary is at 160 °C, by the trapezium rule.
    let taken = |moisture: f64| {
        let pass = run(&body(moisture), &[zone], 1, start, Settings::FINE).unwrap();
        let end = pass.reach(Place::Boundary, 433.15, Stretch::Whole).unwrap();
        let flow =
            |t: f64| 30.0 * (2.0 * 453.15 - pass.at(Place::Surface, t) - pass.at(Place::Back, t));
        let step = end / 20_000.0;
        let middle = |i: i32| flow((f64::from(i) + 0.5) * step) * step;
        ((0..20_000).map(middle).sum::<f64>(), end)
    };
    let ((dry, dry_time), (damp, damp_time)) = (taken(0.0), taken(0.085));
    let ink = 0.03 * 1400.0 * 140.0;
    let cotton = moisture::warming_heat(0.18, 1290.0, 293.15, 433.15).unwrap();
    assert!((cotton - 32_500.0).abs() < 50.0);
    assert!(
        (dry - ink - cotton).abs() < 0.02 * (ink + cotton),
        "{dry}, not {}",
        ink + cotton
    );
    let water = moisture::drying_heat(0.18, 0.085, 293.15).unwrap();
    assert!((water - 39_700.0).abs() < 50.0);
    let more = damp - dry;
    assert!(
        more > 0.95 * water && more < water + 46.0 * 180.0,
        "{more} more, not {water} and a little"
    );
    assert!(
        damp_time > 1.5 * dry_time,
        "{damp_time} s, not much more than {dry_time} s"
    );
    // The language's own figure agrees.
    let mut x = vec![
        293.15, 0.03, 3.0e-5, 1400.0, 0.17, 0.0, 0.18, 7.0e-4, 1290.0, 0.05, 0.085, 0.085,
    ];
    x.extend([
        300.0, 453.15, 453.15, 30.0, 30.0, 453.15, 0.0, 0.0, 1500.0, 0.0, 0.0,
    ]);
    x.extend(ONE_PLY);
    x.push(433.15);
    let reach = figure(named("film-reaches"), &x, &mut Passes::default()).unwrap();
    assert!((reach - damp_time).abs() < 0.15);
}
