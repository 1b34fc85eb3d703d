//! The engine against closed forms that are worked out here by other means.

use strikeoff::physics::thermal::{Back, Body, Place, Settings, Start, Stretch, Zone, run};

const WARM: f64 = 298.15;

fn body(thickness: [f64; 2], conductivity: f64) -> Body {
    let rho_c = 3.0e5;
    Body {
        ink_mass: rho_c * thickness[0] / 1000.0,
        ink_thickness: thickness[0],
        ink_heat: 1000.0,
        ink_conductivity: conductivity,
        ink_water: 0.0,
        fabric_mass: rho_c * thickness[1] / 1000.0,
        fabric_thickness: thickness[1],
        fabric_heat: 1000.0,
        fabric_conductivity: conductivity,
        moisture: 0.0,
        regain: 0.075,
        pallet_capacity: 0.0,
        lower: None,
        underside: None,
    }
}

fn start(film: f64) -> Start {
    Start { film, pallet: film }
}

/// Plane wall, insulated at the back, convection in front: θ = Σ Cₙ exp(−ζₙ²Fo) cos(ζₙx), ζ tan ζ = Bi (Incropera, 5.5).
fn plane_wall(place: f64, fourier: f64, biot: f64) -> f64 {
    let mut sum = 0.0;
    for n in 0..60 {
        let (mut low, mut high) = (
            f64::from(n) * std::f64::consts::PI,
            (f64::from(n) + 0.5) * std::f64::consts::PI,
        );
        for _ in 0..100 {
            let middle = 0.5 * (low + high);
            if middle * middle.sin() - biot * middle.cos() > 0.0 && n % 2 == 0
                || middle * middle.sin() - biot * middle.cos() < 0.0 && n % 2 == 1
            {
                high = middle;
            } else {
                low = middle;
            }
        }
        let root = 0.5 * (low + high);
        let weight = 4.0 * root.sin() / (2.0 * root + (2.0 * root).sin());
        sum += weight * (-root * root * fourier).exp() * (root * place).cos();
    }
    sum
}

#[test]
fn plane_wall_series() {
    // Both layers of one material; heated from one side.
    for (conductivity, transfer) in [(0.05, 20.0), (0.06, 40.0), (0.08, 60.0), (0.05, 90.0)] {
        let thickness = [2.0e-4, 8.0e-4];
        let length = 1.0e-3;
        let body = body(thickness, conductivity);
        let zone = Zone {
            transfer_below: 0.0,
            ..Zone::room(40.0, transfer, 443.15, 1500.0)
        };
        let pass = run(&body, &[zone], 1, start(WARM), Settings::CHECK).unwrap();
        let diffusivity = conductivity / 3.0e5;
        for time in [3.0, 6.0, 12.0, 25.0, 40.0] {
            let fourier = diffusivity * time / length / length;
            let series = |place: f64| {
                443.15
                    + (WARM - 443.15) * plane_wall(place, fourier, transfer * length / conductivity)
            };
            for (place, at, limit) in [
                (Place::Surface, 1.0, 0.4),
                (Place::Boundary, 0.8, 0.4),
                (Place::Back, 0.0, 0.8),
            ] {
                let (got, expected) = (pass.at(place, time), series(at));
                assert!(
                    (got - expected).abs() < limit,
                    "{place:?} at {time} s, h {transfer}: {got} against {expected}"
                );
            }
        }
    }
}

#[test]
fn lumped_body() {
    // Conductivities so high that one temperature rules: T = Θ + (T₀ − Θ) exp(−t/τ).
    let body = body([1.0e-4, 7.0e-4], 80.0);
    let capacity = 3.0e5 * 8.0e-4;
    let zone = Zone {
        flux: 1500.0,
        transfer_below: 20.0,
        air_below: 433.15,
        ..Zone::room(40.0, 30.0, 443.15, 1500.0)
    };
    let pass = run(&body, &[zone], 1, start(WARM), Settings::CHECK).unwrap();
    let limit = (30.0 * 443.15 + 20.0 * 433.15 + 1500.0) / 50.0;
    let constant = capacity / 50.0;
    for time in [1.0_f64, 4.0, 10.0, 40.0] {
        let expected = limit + (WARM - limit) * (-time / constant).exp();
        assert!(
            (pass.at(Place::Boundary, time) - expected).abs() < 0.1,
            "at {time} s"
        );
    }
    let level = 413.15;
    let expected = constant * ((limit - WARM) / (limit - level)).ln();
    let reach = pass.reach(Place::Boundary, level, Stretch::ToExit).unwrap();
    assert!((reach - expected).abs() < 0.02);
    assert!((pass.above(Place::Boundary, level, Stretch::ToExit) - (40.0 - expected)).abs() < 0.02);
}

#[test]
fn half_space_with_a_flux() {
    // A flux into a slab too deep to notice its back: T = T₀ + 2q√(αt/π)/k (Incropera, 5.7, case 2).
    let conductivity = 0.05;
    let body = body([2.0e-4, 8.0e-3], conductivity);
    let zone = Zone {
        flux: 4000.0,
        transfer_below: 0.0,
        ..Zone::room(20.0, 0.0, WARM, 1500.0)
    };
    let settings = Settings {
        ink: 8,
        fabric: 200,
        ..Settings::CHECK
    };
    let pass = run(&body, &[zone], 1, start(WARM), settings).unwrap();
    for time in [2.0_f64, 5.0, 20.0] {
        let rise = 2.0 * 4000.0 * (conductivity / 3.0e5 * time / std::f64::consts::PI).sqrt()
            / conductivity;
        let got = pass.at(Place::Surface, time) - WARM;
        assert!(
            (got - rise).abs() < 0.01 * rise,
            "{got} against {rise} at {time} s"
        );
    }
}

#[test]
fn steady_state_with_a_panel() {
    // Long enough, the film comes to where air and panel balance (textbook root of the surface balance).
    let body = body([1.0e-4, 7.0e-4], 0.05);
    let zone = Zone {
        panel: 573.15,
        panel_factor: 0.3,
        transfer_below: 0.0,
        ..Zone::room(2000.0, 25.0, 423.15, 1500.0)
    };
    let pass = run(&body, &[zone], 1, start(WARM), Settings::CHECK).unwrap();
    let balance =
        |t: f64| 25.0 * (423.15 - t) + 0.3 * 5.670_374_419e-8 * (573.15_f64.powi(4) - t.powi(4));
    let (mut low, mut high) = (423.15, 573.15);
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if balance(middle) > 0.0 {
            low = middle
        } else {
            high = middle
        }
    }
    for place in [Place::Surface, Place::Boundary, Place::Back] {
        assert!((pass.at_exit(place) - low).abs() < 0.05);
    }
}

#[test]
fn water_and_heat_are_conserved() {
    // A wet garment on a pallet it cannot dry into: all heat from the flux must be found in garment and pallet.
    let garment = Body {
        moisture: 0.075,
        pallet_capacity: 15_000.0,
        ..body([1.0e-4, 7.0e-4], 0.1)
    };
    let back = Back::Pallet {
        resistance: 5.0e-3,
        loss: 0.0,
        room: WARM,
    };
    let zone = Zone {
        flux: 8000.0,
        back,
        ..Zone::room(10.0, 0.0, WARM, 1500.0)
    };
    let settings = Settings {
        ink: 10,
        fabric: 60,
        ..Settings::FINE
    };
    // The garment's own heat is read off by letting it come to one temperature with the pallet afterwards.
    let rest = Zone {
        back,
        ..Zone::room(4000.0, 0.0, WARM, 1500.0)
    };
    let pass = run(&garment, &[zone, rest], 2, start(WARM), settings).unwrap();
    let end = pass.at_exit(Place::Pallet);
    assert!((pass.at_exit(Place::Surface) - end).abs() < 0.01);
    let capacity = 15_000.0 + 3.0e5 * 8.0e-4 + 4186.0 * 0.075 * garment.fabric_mass;
    let expected = 8000.0 * 10.0;
    assert!((capacity * (end - WARM) - expected).abs() < 1.0e-3 * expected);
}
