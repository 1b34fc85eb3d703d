//! The table's rows, the pallet's recursion, fits and the dye calibration.

use super::draws::{Draws, ONE_PLY, named};
use strikeoff::physics::cycle::Cycle;
use strikeoff::physics::dose::{self, Rate};
use strikeoff::physics::over::figure;
use strikeoff::physics::thermal::{Back, Body, Place, Settings, Start, Stretch, Zone, run};
use strikeoff::physics::{Outside, Passes, dye, functions};

#[test]
fn every_row_is_well_formed_and_refuses_bad_numbers() {
    let mut names: Vec<&str> = functions().iter().map(|f| f.name).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), functions().len(), "two figures have one name");
    for function in functions() {
        let kebab = |s: &str| {
            !s.is_empty()
                && s.chars()
                    .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
        };
        assert!(
            kebab(function.name) && !function.formula.is_empty() && !function.source.is_empty()
        );
        let count = function.parameters.len();
        for (index, parameter) in function.parameters.iter().enumerate() {
            assert!(
                kebab(parameter.name)
                    && kebab(parameter.dimension)
                    && parameter.low < parameter.high
            );
            let twice = function
                .parameters
                .iter()
                .filter(|p| p.name == parameter.name)
                .count();
            assert_eq!(twice, 1, "{} has `{}` twice", function.name, parameter.name);
            let mut x: Vec<f64> = function
                .parameters
                .iter()
                .map(|p| 0.5 * (p.low + p.high))
                .collect();
            for bad in [
                f64::NAN,
                f64::INFINITY,
                parameter.low - 1.0,
                parameter.high * 2.0 + 1.0,
            ] {
                x[index] = bad;
                assert_eq!(
                    (function.evaluate)(&x),
                    Err(Outside::Parameter(index)),
                    "{}",
                    function.name
                );
            }
        }
        assert!((function.evaluate)(&vec![1.0; count + 1]).is_err());
        assert!((function.evaluate)(&[]).is_err());
    }
}

#[test]
fn every_corner_of_every_range_is_answered() {
    // Ends of all ranges at once, in every pattern of a small set: a number or a reason, no hang, no panic.
    let mut draws = Draws::new(77);
    for function in functions() {
        for _ in 0..6 {
            let x: Vec<f64> = function
                .parameters
                .iter()
                .map(|p| if draws.unit() < 0.5 { p.low } else { p.high })
                .collect();
            if let Ok(value) = (function.evaluate)(&x) {
                assert!(value.is_finite(), "{} at {x:?} is {value}", function.name);
            }
        }
    }
}

#[test]
fn one_zone_cut_in_two_or_three_is_the_same_tunnel() {
    for seed in 0..6 {
        let mut draws = Draws::new(seed);
        let body = draws.body();
        let zone = draws.zone(true);
        let cut = |parts: usize| {
            let mut x = body.clone();
            for _ in 0..parts {
                let mut part = zone.clone();
                part[0] /= parts as f64;
                x.extend(part);
            }
            x.extend(ONE_PLY);
            x
        };
        for name in [
            "film-peak",
            "film-exit",
            "surface-peak",
            "fabric-water-left",
        ] {
            let ask = |parts: usize, suffix: &str| {
                figure(
                    named(&format!("{name}{suffix}")),
                    &cut(parts),
                    &mut Passes::default(),
                )
                .unwrap()
            };
            let one = ask(1, "");
            assert!((ask(2, "-two-zones") - one).abs() < 0.05, "{name}");
            assert!((ask(3, "-three-zones") - one).abs() < 0.05, "{name}");
        }
    }
}

#[test]
fn a_dose_is_what_its_log_gives() {
    // The figure's own history, sampled every tenth of a second through `flash-film`, gives the same peak at the end.
    let mut draws = Draws::new(3);
    let mut x = draws.body()[..11].to_vec();
    x[5] = 0.0;
    x.extend([
        320.0, 10.0, 600.0, 0.0, 8000.0, 1500.0, 310.0, 0.005, 0.075, 0.0,
    ]);
    let mut passes = Passes::default();
    let at = |passes: &mut Passes, name: &str, asked: f64| {
        let mut x = x.clone();
        x.push(asked);
        figure(named(name), &x, passes)
    };
    let gel = at(&mut passes, "gel-time", 378.15).unwrap();
    let over = at(&mut passes, "over-flash-time", 411.15).unwrap();
    assert!(gel < over);
    let surface = at(&mut passes, "flash-surface", gel).unwrap();
    let film = at(&mut passes, "flash-film", gel).unwrap();
    assert!((surface.min(film) - 378.15).abs() < 1.0e-6);
    assert!((at(&mut passes, "flash-film", over).unwrap() - 411.15).abs() < 1.0e-6);
    assert_eq!(passes.made(), 1);
}

fn cycle() -> Cycle {
    let body = Body {
        ink_mass: 0.12,
        ink_thickness: 1.0e-4,
        ink_heat: 1400.0,
        ink_conductivity: 0.17,
        ink_water: 0.0,
        fabric_mass: 0.18,
        fabric_thickness: 7.0e-4,
        fabric_heat: 1300.0,
        fabric_conductivity: 0.05,
        moisture: 0.0,
        regain: 0.075,
        pallet_capacity: 14_600.0,
        lower: None,
        underside: None,
    };
    let flash = Zone {
        flux: 7500.0,
        transfer_below: 0.0,
        back: Back::Belt,
        ..Zone::room(6.0, 12.0, 333.15, 1500.0)
    };
    Cycle {
        body,
        garment: 298.15,
        flash,
        load_time: 40.0,
        ride_time: 34.0,
        empty_time: 10.0,
        contact: 5.0e-3,
        loss: 10.0,
        room: 298.15,
    }
}

#[test]
fn pallet_recursion_is_sixty_cycles_one_by_one() {
    let cycle = cycle();
    let recursion = cycle.recursion(Settings::CHECK).unwrap();
    let mut pallet = 298.15;
    for n in 1..=60_i32 {
        pallet = cycle.after_one(pallet, Settings::CHECK).unwrap();
        let closed = recursion.after(298.15, f64::from(n));
        assert!(
            (pallet - closed).abs() < 0.05,
            "cycle {n}: {pallet} against {closed}"
        );
    }
    assert!((recursion.steady() - pallet).abs() < 0.5);
    let level = 0.1 * 298.15 + 0.9 * recursion.steady();
    let count = recursion.cycles_to(298.15, level).unwrap();
    assert!(
        recursion.after(298.15, count) >= level && recursion.after(298.15, count - 1.0) < level
    );
    assert!(matches!(
        recursion.cycles_to(298.15, recursion.steady() + 1.0),
        Err(Outside::Never(_))
    ));
}

#[test]
fn a_warm_pallet_gels_sooner() {
    // The surface comes to 105 °C after 3.1 s on a pallet at 25 °C, 2.1 s at 45 °C and 1.2 s at 65 °C, under 9 kW/m²
    // (an independent computation on 16 + 48 cells, scipy Radau).
    let mut x = vec![
        0.0, 0.12, 1.0e-4, 1400.0, 0.17, 0.0, 0.18, 7.0e-4, 1300.0, 0.05, 0.0,
    ];
    x.extend([
        333.15, 12.0, 298.15, 0.0, 9000.0, 1500.0, 0.0, 5.0e-3, 0.075, 0.0, 0.0,
    ]);
    let mut before = f64::INFINITY;
    for (celsius, expected) in [(25.0, 3.1), (45.0, 2.1), (65.0, 1.2)] {
        x[0] = celsius + 273.15;
        x[17] = celsius + 273.15;
        x[21] = expected;
        let surface = figure(named("flash-surface"), &x, &mut Passes::default()).unwrap();
        assert!(
            (surface - 378.15).abs() < 2.0,
            "{surface} on a pallet at {celsius}"
        );
        x[21] = 378.15;
        let gel = figure(named("gel-time"), &x, &mut Passes::default()).unwrap();
        assert!(
            gel > expected && gel < before,
            "{gel} on a pallet at {celsius}"
        );
        before = gel;
    }
}

#[test]
fn what_comes_after_the_exit_is_counted_apart() {
    // Plastisol on cotton, 40 s of tunnel and 60 s in the room: 27.9 s above 140 °C in all (fine-grid reference).
    let cycle = cycle();
    let body = Body {
        moisture: 0.075,
        pallet_capacity: 0.0,
        ..cycle.body
    };
    let tunnel = Zone {
        transfer_below: 20.0,
        air_below: 433.15,
        panel: 573.15,
        panel_factor: 0.2,
        ..Zone::room(40.0, 30.0, 443.15, 1500.0)
    };
    let zones = [tunnel, Zone::room(60.0, 10.0, 298.15, 1500.0)];
    let pass = run(
        &body,
        &zones,
        1,
        Start {
            film: 298.15,
            pallet: 298.15,
        },
        Settings::CHECK,
    )
    .unwrap();
    let above = |stretch| pass.above(Place::Boundary, 413.15, stretch);
    let (before, after, whole) = (
        above(Stretch::ToExit),
        above(Stretch::AfterExit),
        above(Stretch::Whole),
    );
    assert!((whole - 27.91).abs() < 0.25 && (before + after - whole).abs() < 1.0e-9);
    assert!(after > 2.0 && after < 12.0);
    let rate = Rate::Arrhenius {
        reference: 433.15,
        energy: 60_000.0,
    };
    let dose = |stretch| pass.equivalent(Place::Boundary, &rate, stretch);
    let share = dose(Stretch::AfterExit) / dose(Stretch::Whole);
    assert!(share > 0.04 && share < 0.21, "{share}");
    // The language's own rows give the same two numbers.
    let mut x = vec![
        298.15, 0.12, 1.0e-4, 1400.0, 0.17, 0.0, 0.18, 7.0e-4, 1300.0, 0.05, 0.075, 0.075,
    ];
    x.extend([40.0, 443.15, 433.15, 30.0, 20.0, 573.15, 0.2, 0.0, 1500.0]);
    x.extend([0.0, 0.0]);
    x.extend(ONE_PLY);
    let asked = [x.as_slice(), &[413.15]].concat();
    assert_eq!(
        figure(named("film-time-above"), &asked, &mut Passes::default()).unwrap(),
        before
    );
    let asked = [x.as_slice(), &[298.15, 10.0, 60.0, 413.15]].concat();
    assert_eq!(
        figure(
            named("film-time-above-after-exit"),
            &asked,
            &mut Passes::default()
        )
        .unwrap(),
        after
    );
}

#[test]
fn garbage_is_refused_or_answered_but_never_hangs() {
    let good = cycle();
    let numbers = [f64::NAN, f64::INFINITY, -1.0, 0.0, 1.0e-300, 1.0e300];
    for bad in numbers {
        let bodies = [
            Body {
                ink_mass: bad,
                ..good.body
            },
            Body {
                ink_thickness: bad,
                ..good.body
            },
            Body {
                fabric_heat: bad,
                ..good.body
            },
            Body {
                fabric_conductivity: bad,
                ..good.body
            },
            Body {
                moisture: bad,
                ..good.body
            },
            Body {
                moisture: 0.05,
                regain: bad,
                ..good.body
            },
            Body {
                ink_water: bad,
                ..good.body
            },
            Body {
                pallet_capacity: bad,
                ..good.body
            },
        ];
        let zones = [
            Zone {
                time: bad,
                ..good.flash
            },
            Zone {
                air: bad,
                ..good.flash
            },
            Zone {
                transfer: bad,
                ..good.flash
            },
            Zone {
                flux: bad,
                ..good.flash
            },
            Zone {
                panel: bad,
                panel_factor: 1.0,
                ..good.flash
            },
            Zone {
                vapour: bad,
                ..good.flash
            },
            Zone {
                back: Back::Held {
                    resistance: bad,
                    temperature: 300.0,
                },
                ..good.flash
            },
        ];
        let start = Start {
            film: 298.15,
            pallet: 298.15,
        };
        let finite = |body: &Body, zone: &Zone, start: Start| {
            if let Ok(pass) = run(body, &[*zone], 1, start, Settings::CHECK) {
                assert!(
                    pass.peak(Place::Surface, Stretch::Whole).is_finite(),
                    "{bad} in {body:?} {zone:?}"
                );
            }
        };
        for body in &bodies {
            finite(body, &good.flash, start);
        }
        for zone in &zones {
            finite(&good.body, zone, start);
        }
        finite(
            &good.body,
            &good.flash,
            Start {
                film: bad,
                pallet: 300.0,
            },
        );
        for cycle in [
            Cycle {
                empty_time: bad,
                ..good
            },
            Cycle {
                contact: bad,
                ..good
            },
            Cycle { loss: bad, ..good },
        ] {
            if let Ok(recursion) = cycle.recursion(Settings::CHECK) {
                assert!(recursion.steady().is_finite(), "{bad} in {cycle:?}");
            }
        }
    }
}

#[test]
fn the_same_input_gives_the_same_bits() {
    // Pinned so that another compiler, another machine or the browser build cannot drift unseen.
    let mut x = vec![
        298.15, 0.03, 6.0e-5, 1400.0, 0.3, 0.04, 0.18, 7.0e-4, 1300.0, 0.05, 0.075, 0.075,
    ];
    x.extend([100.0, 438.15, 433.15, 35.0, 25.0, 593.15, 0.15, 0.0, 1500.0]);
    x.extend([0.0, 0.0]);
    x.extend(ONE_PLY);
    let peak = figure(named("film-peak"), &x, &mut Passes::default()).unwrap();
    assert_eq!(peak.to_bits(), 4_646_616_310_835_801_762, "{peak}");
}

#[test]
fn sheets_that_contradict_are_refused() {
    assert!(dose::fit(&[(433.0, 60.0)]).is_err());
    assert!(dose::fit(&[(433.0, 60.0), (433.0, 70.0)]).is_err());
    assert!(dose::fit(&[(433.0, 60.0), (443.0, 70.0)]).is_err());
    assert!(dose::fit(&[(433.0, -1.0), (443.0, 70.0)]).is_err());
    let fit = dose::fit(&[(433.0, 120.0), (443.0, 60.0)]).unwrap();
    assert!(
        (fit.worst_ratio - 1.0).abs() < 1.0e-9
            && (fit.needed(433.0).unwrap() - 120.0).abs() < 1.0e-6
    );
    assert!(fit.needed(422.0).is_err() && fit.needed(454.0).is_err());
}

#[test]
fn ramps_agree_with_small_holds() {
    for rate in [
        Rate::Z {
            reference: 433.15,
            z: 12.0,
        },
        Rate::Arrhenius {
            reference: 433.15,
            energy: 140_000.0,
        },
    ] {
        for (from, to) in [
            (300.0, 450.0),
            (450.0, 330.0),
            (420.0, 420.0),
            (420.0, 420.000_001),
        ] {
            let parts = 20_000;
            let by_holds: f64 = (0..parts)
                .map(|i| {
                    let middle = from + (to - from) * (f64::from(i) + 0.5) / f64::from(parts);
                    dose::hold(&rate, 45.0 / f64::from(parts), middle)
                })
                .sum();
            let ramp = dose::ramp(&rate, 45.0, from, to);
            assert!(
                (ramp - by_holds).abs() < 1.0e-4 * by_holds,
                "{rate:?} {from} {to}: {ramp} against {by_holds}"
            );
        }
    }
    // A floor leaves out what lies below it: only the upper half of a ramp from 100 to 200 counts above 150.
    let rate = Rate::Z {
        reference: 433.15,
        z: 12.0,
    };
    let whole = dose::log(&rate, &[(0.0, 373.15), (10.0, 473.15)], Some(423.15));
    assert!((whole - dose::ramp(&rate, 5.0, 423.15, 473.15)).abs() < 1.0e-9 * whole);
}

#[test]
fn strike_offs_decide_or_say_that_they_do_not() {
    // A made-up fabric: dye with 120 kJ/mol that shows after a dose of 20 s at 160 °C.
    let (reference, energy, critical) = (433.15, 120_000.0, 20.0);
    let rate = Rate::Arrhenius { reference, energy };
    let log = |peak: f64, hold: f64| {
        vec![
            (0.0, 298.15),
            (20.0, peak),
            (20.0 + hold, peak),
            (60.0 + hold, 310.0),
        ]
    };
    let logs: Vec<Vec<(f64, f64)>> = (0..24)
        .map(|i| {
            log(
                413.15 + 2.0 * f64::from(i % 12),
                10.0 + 20.0 * f64::from(i % 5),
            )
        })
        .collect();
    let truth = |readings: &[(f64, f64)]| dose::log(&rate, readings, None) < critical;
    let tests: Vec<dye::StrikeOff<'_>> = logs
        .iter()
        .map(|readings| dye::StrikeOff {
            readings,
            passed: truth(readings),
        })
        .collect();
    assert!(tests.iter().any(|t| t.passed) && tests.iter().any(|t| !t.passed));
    let energies: Vec<f64> = (7..=16).map(|e| f64::from(e) * 10_000.0).collect();
    let bands = dye::calibrate(&tests, &energies, reference);
    assert!(
        bands
            .iter()
            .any(|b| b.energy == energy && b.low < critical && critical <= b.high)
    );
    let mut decided = 0;
    for i in 0..60 {
        let readings = log(411.15 + 0.5 * f64::from(i), 5.0 + f64::from(i % 7) * 12.0);
        match dye::judge(&readings, &bands, reference) {
            dye::Judgement::Passes => assert!(truth(&readings)),
            dye::Judgement::Fails => assert!(!truth(&readings)),
            dye::Judgement::Unknown => continue,
        }
        decided += 1;
    }
    assert!(decided >= 30, "{decided} of 60 decided");
    // Outcomes that contradict each other leave no band, and then nothing is known.
    let contrary = [
        dye::StrikeOff {
            readings: &logs[0],
            passed: false,
        },
        dye::StrikeOff {
            readings: &logs[11],
            passed: true,
        },
    ];
    let none = dye::calibrate(&contrary, &energies, reference);
    assert!(none.is_empty());
    assert_eq!(
        dye::judge(&logs[0], &none, reference),
        dye::Judgement::Unknown
    );
}
