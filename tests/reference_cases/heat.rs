//! Doses, properties of water and cotton, pallets, dyes.

use super::answer::{Answer, Answers, answers, si};
use super::format::{Case, Fault, numbers, or_never, readings, wrong};
use strikeoff::physics::dose::{self, Rate};
use strikeoff::physics::{dye, pallet, props};

const ZERO: f64 = props::ZERO_CELSIUS;

pub(crate) fn dose(case: &Case<'_>) -> Result<Answers, Fault> {
    let by_z = || -> Result<Rate, Fault> {
        Ok(Rate::Z {
            reference: case.kelvin("T_ref")?,
            z: case.si("z", "K")?,
        })
    };
    let floor = || case.has("floor").then(|| case.kelvin("floor")).transpose();
    Ok(match case.task.as_str() {
        "z-hold" => si(
            "dose",
            dose::hold(&by_z()?, case.si("t", "s")?, case.kelvin("T")?),
        ),
        "cem43" => si("dose", dose::cem43(case.si("t", "min")?, case.kelvin("T")?)),
        "z-log" => si("dose", dose::log(&by_z()?, &case.log("log")?, floor()?)),
        "arrhenius-log" => {
            let rate = Rate::Arrhenius {
                reference: case.kelvin("T_ref")?,
                energy: case.si("Ea", "J/mol")?,
            };
            si("dose", dose::log(&rate, &case.log("log")?, floor()?))
        }
        "fit-schedule" => {
            // Temperatures in degC; any unit of time gives the same slopes.
            let Some(rows) = case.raw("pairs")?.as_array() else {
                return wrong("`pairs` is no list");
            };
            let mut pairs = Vec::new();
            for row in rows {
                match numbers(row)?[..] {
                    [t, time] => pairs.push((t + ZERO, time)),
                    _ => return wrong("a pair is a temperature and a time"),
                }
            }
            let fit = dose::fit(&pairs)?;
            answers([
                ("Ea", Answer::Si(fit.energy)),
                ("z", Answer::Si(fit.z)),
                ("worst", Answer::Si(fit.worst_ratio)),
            ])
        }
        "z-to-Ea" => si(
            "Ea",
            dose::energy_of_z(case.si("z", "K")?, case.kelvin("T")?),
        ),
        "Ea-to-z" => si(
            "z",
            dose::z_of_energy(case.si("Ea", "J/mol")?, case.kelvin("T")?),
        ),
        _ => return case.unknown_task(),
    })
}

pub(crate) fn properties(case: &Case<'_>) -> Result<Answers, Fault> {
    Ok(match case.task.as_str() {
        "p_sat" => si("p", props::saturation_pressure(case.kelvin("T")?)),
        "h_fg" => si("h", props::latent_heat(case.kelvin("T")?)),
        "wet-bulb" => {
            let t = case.kelvin("T")?;
            let vapour = case.si("rh", "1")? * props::saturation_pressure(t);
            let gains =
                |x: f64| props::evaporation(1.0, 1.0, x, vapour) * props::latent_heat(x) - (t - x);
            let wet = super::engine::bisect(ZERO + 0.5, t, gains);
            answers([("T_wb", Answer::Kelvin(wet))])
        }
        "water-activity" => {
            let regain = case.si_or("regain", "1", 0.075)?;
            si(
                "a_w",
                props::Sorption::of_regain(regain).activity(case.si("X", "kg/kg")?),
            )
        }
        "heat-of-wetting" => {
            let regain = match case.raw("fibre")?.as_str() {
                Some("cotton") => 0.075,
                other => return wrong(format!("no heat of wetting is known for {other:?}")),
            };
            let fibre = props::Sorption::of_regain(regain);
            let width = 0.6 / 20_000.0;
            let middle = |i: u32| fibre.heat((f64::from(i) + 0.5) * width) * width;
            si("H", (0..20_000).map(middle).sum())
        }
        _ => return case.unknown_task(),
    })
}

pub(crate) fn pallet(case: &Case<'_>) -> Result<Answers, Fault> {
    match case.task.as_str() {
        "recursion" => {
            let Some(rows) = case.raw("phases")?.as_array() else {
                return wrong("`phases` is no list");
            };
            let mut phases = Vec::new();
            for row in rows {
                match numbers(row)?[..] {
                    [limit, constant, time] => phases.push(pallet::Phase {
                        limit: limit + ZERO,
                        constant,
                        time,
                    }),
                    _ => return wrong("a phase is a limit, a time constant and a duration"),
                }
            }
            let (cycle, start) = (pallet::recursion(&phases)?, case.kelvin("T0")?);
            let mut found = answers([("steady_start", Answer::Kelvin(cycle.steady()))]);
            for key in case.expected.keys() {
                if let Some(count) = key.strip_prefix("after_").and_then(|n| n.parse().ok()) {
                    found.insert(key.clone(), Answer::Kelvin(cycle.after(start, count)));
                } else if let Some(level) = key
                    .strip_prefix("cycles_to_")
                    .and_then(|n| n.parse::<f64>().ok())
                {
                    found.insert(
                        key.clone(),
                        Answer::Si(or_never(cycle.cycles_to(start, level + ZERO))?),
                    );
                }
            }
            Ok(found)
        }
        "cool" => {
            let hot = case.kelvin("T_hot")?;
            let (room, target) = (case.kelvin("T_amb")?, case.kelvin("T_target")?);
            let constant = case.si("tau", "s")?;
            let mut found = si(
                "time",
                or_never(pallet::cooling_time(hot, room, constant, target))?,
            );
            if case.has("station_time") {
                let each = case.si("station_time", "s")?;
                let count = or_never(pallet::cooling_stations(hot, room, constant, target, each))?;
                found.insert("stations".to_owned(), Answer::Si(count));
            }
            Ok(found)
        }
        _ => case.unknown_task(),
    }
}

pub(crate) fn dye(case: &Case<'_>) -> Result<Answers, Fault> {
    let energy = case.si("Ea", "J/mol")?;
    match case.task.as_str() {
        "index" => {
            let passed = dye::Passed {
                temperature: case.kelvin("T_pass")?,
                time: case.si_or("hold", "s", 30.0)?,
            };
            let factor = case.si_or("factor", "1", 1.0)?;
            Ok(si(
                "index",
                dye::index(&case.log("log")?, passed, energy, factor),
            ))
        }
        "region" => {
            let (Some(logs), Some(passed)) =
                (case.raw("logs")?.as_array(), case.raw("passed")?.as_array())
            else {
                return wrong("`logs` and `passed` are lists");
            };
            let logs: Vec<Vec<(f64, f64)>> = logs.iter().map(readings).collect::<Result<_, _>>()?;
            let mut tests = Vec::new();
            for (readings, passed) in logs.iter().zip(passed) {
                let Some(passed) = passed.as_bool() else {
                    return wrong("`passed` holds true or false");
                };
                tests.push(dye::StrikeOff { readings, passed });
            }
            match dye::calibrate(&tests, &[energy], case.kelvin("T_ref")?)[..] {
                [dye::Band { low, high, .. }] => {
                    Ok(answers([("lo", Answer::Si(low)), ("hi", Answer::Si(high))]))
                }
                _ => wrong("the tests contradict each other"),
            }
        }
        _ => case.unknown_task(),
    }
}
