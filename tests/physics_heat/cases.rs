//! Every row of `tests/reference/heat/cases.json`: published worked examples, and independent fine-grid runs.

use serde_json::Value;
use strikeoff::physics::dose::{self, Rate};
use strikeoff::physics::thermal::{Back, Body, Pass, Place, Settings, Start, Stretch, Zone, run};
use strikeoff::physics::{cycle, dye, pallet, props};

const ZERO: f64 = props::ZERO_CELSIUS;
const FINER: Settings = Settings {
    ink: 6,
    fabric: 14,
    tolerance: 0.01,
    ..Settings::CHECK
};

struct Case<'v>(&'v Value);

impl Case<'_> {
    fn number(&self, key: &str) -> f64 {
        number(&self.0["inputs"][key])
    }

    fn kelvin(&self, key: &str) -> f64 {
        self.number(key) + ZERO
    }

    fn log(&self) -> Vec<(f64, f64)> {
        log(&self.0["inputs"]["log"])
    }
}

fn number(value: &Value) -> f64 {
    value.get("value").unwrap_or(value).as_f64().unwrap()
}

fn log(value: &Value) -> Vec<(f64, f64)> {
    let (times, temperatures) = (
        value["t"].as_array().unwrap(),
        value["T"].as_array().unwrap(),
    );
    times
        .iter()
        .zip(temperatures)
        .map(|(t, y)| (number(t), number(y) + ZERO))
        .collect()
}

fn body(value: &Value) -> Body {
    let n = |key: &str| number(&value[key]);
    Body {
        ink_mass: n("ink_m"),
        ink_thickness: n("ink_l"),
        ink_heat: n("ink_c"),
        ink_conductivity: n("ink_k"),
        ink_water: n("ink_w"),
        fabric_mass: n("fab_m"),
        fabric_thickness: n("fab_l"),
        fabric_heat: n("fab_c"),
        fabric_conductivity: n("fab_k"),
        moisture: n("fab_x"),
        regain: n("fab_regain"),
        pallet_capacity: 0.0,
    }
}

fn zone(value: &Value) -> Zone {
    let n = |key: &str| number(&value[key]);
    let resistance = n("pallet_r");
    Zone {
        time: n("dt"),
        transfer: n("h_top"),
        air: n("t_top") + ZERO,
        transfer_below: n("h_bot"),
        air_below: n("t_bot") + ZERO,
        flux: n("q_top"),
        panel_factor: n("f_top"),
        panel: n("t_pan") + ZERO,
        panel_factor_below: n("f_bot"),
        panel_below: n("t_pan_bot") + ZERO,
        vapour: n("p_air"),
        back: if resistance > 0.0 {
            Back::Held {
                resistance,
                temperature: n("pallet_t") + ZERO,
            }
        } else {
            Back::Belt
        },
    }
}

fn one_layer(mass: f64, heat: f64, thickness: f64, conductivity: f64, share: f64) -> Body {
    Body {
        ink_mass: mass * share,
        ink_thickness: thickness * share,
        ink_heat: heat,
        ink_conductivity: conductivity,
        ink_water: 0.0,
        fabric_mass: mass * (1.0 - share),
        fabric_thickness: thickness * (1.0 - share),
        fabric_heat: heat,
        fabric_conductivity: conductivity,
        moisture: 0.0,
        regain: 0.075,
        pallet_capacity: 0.0,
    }
}

fn air(time: f64, transfer: f64, air: f64) -> Zone {
    Zone {
        transfer_below: 0.0,
        ..Zone::room(time, transfer, air, 1500.0)
    }
}

fn start(film: f64) -> Start {
    Start { film, pallet: film }
}

fn place(word: &str) -> Place {
    match word {
        "surface" => Place::Surface,
        "interface" => Place::Boundary,
        "back" => Place::Back,
        other => panic!("{other}"),
    }
}

fn read(pass: &Pass, key: &str) -> f64 {
    let words: Vec<&str> = key.split(':').collect();
    let level = |i: usize| words[i].parse::<f64>().unwrap();
    match words[0] {
        "T" => pass.at(place(words[1]), level(2)) - ZERO,
        "peak" => pass.peak(place(words[1]), Stretch::Whole) - ZERO,
        "reach" => pass
            .reach(place(words[1]), level(2) + ZERO, Stretch::Whole)
            .unwrap(),
        "above" => pass.above(place(words[1]), level(2) + ZERO, Stretch::Whole),
        "dose" => {
            let rate = Rate::Arrhenius {
                reference: level(2) + ZERO,
                energy: level(3),
            };
            pass.equivalent(place(words[1]), &rate, Stretch::Whole)
        }
        "water" => {
            let store = if words[1] == "ink" {
                Place::InkWater
            } else {
                Place::FabricWater
            };
            pass.fall(store, level(2), Stretch::Whole).unwrap()
        }
        other => panic!("{other}"),
    }
}

fn bisect(mut low: f64, mut high: f64, rising: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if rising(middle) > 0.0 {
            high = middle
        } else {
            low = middle
        }
    }
    low
}

fn doses(case: &Case<'_>, task: &str, key: &str) -> f64 {
    let z = || Rate::Z {
        reference: case.kelvin("T_ref"),
        z: case.number("z"),
    };
    match task {
        "z-hold" => dose::hold(&z(), case.number("t"), case.kelvin("T")),
        "cem43" => dose::cem43(case.number("t"), case.kelvin("T")),
        "z-log" => dose::log(&z(), &case.log(), None),
        "arrhenius-log" => {
            let rate = Rate::Arrhenius {
                reference: case.kelvin("T_ref"),
                energy: case.number("Ea"),
            };
            dose::log(&rate, &case.log(), None)
        }
        "fit-schedule" => {
            let pairs = case.0["inputs"]["pairs"].as_array().unwrap();
            let pairs: Vec<(f64, f64)> = pairs
                .iter()
                .map(|p| (number(&p[0]) + ZERO, number(&p[1])))
                .collect();
            let fit = dose::fit(&pairs).unwrap();
            if key == "Ea" { fit.energy } else { fit.z }
        }
        "z-to-Ea" => dose::energy_of_z(case.number("z"), case.kelvin("T")),
        other => panic!("{other}"),
    }
}

fn properties(case: &Case<'_>, task: &str) -> f64 {
    match task {
        "p_sat" => props::saturation_pressure(case.kelvin("T")),
        "h_fg" => props::latent_heat(case.kelvin("T")),
        "wet-bulb" => {
            let t = case.kelvin("T");
            let vapour = case.number("rh") * props::saturation_pressure(t);
            bisect(ZERO + 0.5, t, |x| {
                props::evaporation(1.0, 1.0, x, vapour) * props::latent_heat(x) - (t - x)
            }) - ZERO
        }
        "water-activity" => props::Sorption::of_regain(0.075).activity(case.number("X")),
        "heat-of-wetting" => {
            let cotton = props::Sorption::of_regain(0.075);
            let width = 0.6 / 20_000.0;
            (0..20_000)
                .map(|i| cotton.heat((f64::from(i) + 0.5) * width) * width)
                .sum()
        }
        other => panic!("{other}"),
    }
}

/// A bare conducting body in air and among walls, held on after reaching a temperature, then cooled (textbook example 5.3).
fn two_step_cure(case: &Case<'_>, key: &str) -> f64 {
    let body = one_layer(case.number("C") / 1000.0, 1000.0, 2.0e-4, 500.0, 0.5);
    let settings = Settings {
        ink: 1,
        fabric: 1,
        tolerance: 0.005,
        ..Settings::CHECK
    };
    let among = |time: f64, transfer: f64, warm: f64| Zone {
        panel_factor: case.number("eps"),
        panel: warm,
        ..air(time, transfer, warm)
    };
    let heating = among(2000.0, case.number("h_oven"), case.kelvin("T_oven"));
    let first = run(&body, &[heating], 1, start(case.kelvin("T0")), settings).unwrap();
    let cured = first
        .reach(Place::Surface, case.kelvin("T_cure"), Stretch::Whole)
        .unwrap();
    if key == "t_cure" {
        return cured;
    }
    let end = cured + case.number("hold");
    let cooling = among(4000.0, case.number("h_cool"), case.kelvin("T_cool"));
    let second = run(
        &body,
        &[cooling],
        1,
        start(first.at(Place::Surface, end)),
        settings,
    )
    .unwrap();
    end + second
        .fall(Place::Surface, case.kelvin("T_safe"), Stretch::Whole)
        .unwrap()
}

fn slab(case: &Case<'_>, task: &str, key: &str) -> f64 {
    let (length, conductivity) = (case.number("L"), case.number("k"));
    let mass = case.number("rho_c") * length / 1000.0;
    if task == "convection-one-side" {
        let body = one_layer(mass, 1000.0, length, conductivity, 0.3);
        let zone = air(case.number("t"), case.number("h"), case.kelvin("T_inf"));
        let pass = run(&body, &[zone], 1, start(case.kelvin("T0")), FINER).unwrap();
        let place = if key == "T_surface" {
            Place::Surface
        } else {
            Place::Back
        };
        return pass.at(place, case.number("t")) - ZERO;
    }
    // NAFEMS T3: one face follows a sine (in 400 steps of a very well coupled air), the other stays at zero.
    let body = one_layer(
        mass,
        1000.0,
        length,
        conductivity,
        1.0 - case.number("x") / length,
    );
    let step = case.number("t") / 400.0;
    let zones: Vec<Zone> = (0..400)
        .map(|i| {
            let phase = std::f64::consts::TAU * (f64::from(i) + 0.5) * step / case.number("period");
            Zone {
                transfer_below: 1.0e6,
                air_below: ZERO,
                ..Zone::room(step, 1.0e6, ZERO + case.number("amp") * phase.sin(), 1500.0)
            }
        })
        .collect();
    let settings = Settings {
        ink: 8,
        fabric: 24,
        tolerance: 0.01,
        first_step: 0.04,
        ..Settings::CHECK
    };
    run(&body, &zones, 400, start(ZERO), settings)
        .unwrap()
        .at(Place::Boundary, case.number("t"))
        - ZERO
}

/// A deep slab of one material stands for the half space as long as its back has not felt anything.
fn half_space(case: &Case<'_>, task: &str) -> f64 {
    let (diffusivity, time) = (case.number("alpha"), case.number("t"));
    let depth = 8.0 * (diffusivity * time).sqrt();
    let conductivity = if task == "flux-surface" {
        case.number("k")
    } else {
        1.0
    };
    let mass = conductivity / diffusivity * depth / 1000.0;
    let settings = Settings {
        ink: 100,
        fabric: 100,
        first_step: time * 1.0e-6,
        longest_step: time / 200.0,
        tolerance: 0.005,
    };
    let warm = start(case.kelvin("T0"));
    if task == "flux-surface" {
        let body = one_layer(mass, 1000.0, depth, conductivity, 0.3);
        let zone = Zone {
            flux: case.number("q"),
            ..air(time, 0.0, ZERO + 20.0)
        };
        return run(&body, &[zone], 1, warm, settings)
            .unwrap()
            .at(Place::Surface, time)
            - ZERO;
    }
    // Where the frost line stands: the layer boundary is moved until it is at the level.
    let cold = air(time, conductivity / depth * 1.0e6, case.kelvin("T_s"));
    bisect(0.001, 0.5, |share| {
        let body = one_layer(mass, 1000.0, depth, conductivity, share);
        run(&body, &[cold], 1, warm, settings)
            .unwrap()
            .at(Place::Boundary, time)
            - case.kelvin("T")
    }) * depth
}

/// A deep film of free water under warm air stays at the temperature where evaporation takes what the air brings.
fn plateau(case: &Case<'_>) -> f64 {
    let body = Body {
        ink_mass: 0.05,
        ink_thickness: 1.0e-4,
        ink_water: 2.0,
        ink_conductivity: 0.6,
        ..one_layer(0.18, 1300.0, 7.0e-4, 0.05, 0.5)
    };
    let zone = Zone {
        flux: case.number("q"),
        vapour: case.number("p_air"),
        ..air(900.0, case.number("h"), case.kelvin("T_air"))
    };
    let settings = Settings {
        tolerance: 0.01,
        ..Settings::FINE
    };
    let pass = run(&body, &[zone], 1, start(25.0 + ZERO), settings).unwrap();
    let late = pass
        .fall(Place::InkWater, 0.8, Stretch::Whole)
        .unwrap_or(900.0);
    pass.at(Place::Surface, late) - ZERO
}

fn pallets(case: &Case<'_>, task: &str, key: &str) -> f64 {
    if task == "recursion" {
        let phases: Vec<pallet::Phase> = case.0["inputs"]["phases"]
            .as_array()
            .unwrap()
            .iter()
            .map(|p| pallet::Phase {
                limit: number(&p[0]) + ZERO,
                constant: number(&p[1]),
                time: number(&p[2]),
            })
            .collect();
        let cycle: cycle::Recursion = pallet::recursion(&phases).unwrap();
        return match key {
            "steady_start" => cycle.steady() - ZERO,
            "after_10" => cycle.after(case.kelvin("T0"), 10.0) - ZERO,
            "cycles_to_45" => cycle.cycles_to(case.kelvin("T0"), 45.0 + ZERO).unwrap(),
            other => panic!("{other}"),
        };
    }
    let (hot, room, constant, cool) = (
        case.kelvin("T_hot"),
        case.kelvin("T_amb"),
        case.number("tau"),
        case.kelvin("T_target"),
    );
    if key == "time" {
        pallet::cooling_time(hot, room, constant, cool).unwrap()
    } else {
        pallet::cooling_stations(hot, room, constant, cool, case.number("station_time")).unwrap()
    }
}

fn dyes(case: &Case<'_>, task: &str, key: &str) -> f64 {
    if task == "index" {
        let passed = dye::Passed {
            temperature: case.kelvin("T_pass"),
            time: 30.0,
        };
        return dye::index(&case.log(), passed, case.number("Ea"), 1.0);
    }
    let logs: Vec<Vec<(f64, f64)>> = case.0["inputs"]["logs"]
        .as_array()
        .unwrap()
        .iter()
        .map(log)
        .collect();
    let passed = case.0["inputs"]["passed"].as_array().unwrap();
    let tests: Vec<dye::StrikeOff<'_>> = logs
        .iter()
        .zip(passed)
        .map(|(readings, passed)| dye::StrikeOff {
            readings,
            passed: passed.as_bool().unwrap(),
        })
        .collect();
    let bands = dye::calibrate(&tests, &[case.number("Ea")], case.kelvin("T_ref"));
    if key == "lo" {
        bands[0].low
    } else {
        bands[0].high
    }
}

fn got(case: &Case<'_>, key: &str) -> Option<f64> {
    let task = case.0["task"].as_str().unwrap();
    let inputs = &case.0["inputs"];
    Some(match case.0["model"].as_str().unwrap() {
        "dose" => doses(case, task, key),
        "props" => properties(case, task),
        "lumped" => pallet::cooling_time(
            -case.number("T0"),
            -case.number("T_inf"),
            case.number("tau"),
            -case.number("T"),
        )
        .unwrap(),
        "lumped-rad" => two_step_cure(case, key),
        "slab" => slab(case, task, key),
        "semi-infinite" => half_space(case, task),
        "dryer-1d" => {
            let zones: Vec<Zone> = inputs["zones"]
                .as_array()
                .unwrap()
                .iter()
                .map(zone)
                .collect();
            let pass = run(
                &body(&inputs["body"]),
                &zones,
                zones.len(),
                start(case.kelvin("T0")),
                Settings::CHECK,
            )
            .unwrap();
            read(&pass, key)
        }
        "moisture" => plateau(case),
        "pallet" => pallets(case, task, key),
        "dye" => dyes(case, task, key),
        // Worked with the language's own figure in `worst.rs`.
        "interval" => return None,
        other => panic!("no test for model {other}"),
    })
}

#[test]
fn every_reference_case_is_met() {
    let text = include_str!("../reference/heat/cases.json");
    let file: Value = serde_json::from_str(text).unwrap();
    let (mut checked, mut wrong) = (0, Vec::new());
    for case in file["cases"].as_array().unwrap() {
        for (key, expected) in case["expected"].as_object().unwrap() {
            let expected = number(expected);
            let tolerance = &case["tolerance"][key];
            let limit = match tolerance.get("abs") {
                Some(abs) => number(abs),
                None => number(&tolerance["rel"]) * expected.abs(),
            };
            let Some(got) = got(&Case(case), key) else {
                continue;
            };
            checked += 1;
            if (got - expected).abs() > limit + 1.0e-12 {
                wrong.push(format!(
                    "{} {key}: expected {expected}, got {got}, limit {limit}",
                    case["id"]
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(checked >= 60, "only {checked} quantities were checked");
}
