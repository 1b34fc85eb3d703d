//! Probe logs.

use super::answer::{Answer, Answers, answers, si};
use super::engine::body;
use super::format::{Case, Fault, Places, numbers, wrong};
use strikeoff::physics::instrument::{K_CLASS_1, K_CLASS_2, K_CLASS_3, tolerance};
use strikeoff::physics::probe as logs;
use strikeoff::physics::probe::{Flaw, Gates};
use strikeoff::physics::props::ZERO_CELSIUS;

/// Lines of time and temperature in degC; what does not begin with two numbers is a heading.
fn csv(text: &str) -> Vec<(f64, f64)> {
    let reading = |line: &str| {
        let line = line.replace(';', ",");
        let mut cells = line.split(',').map(|cell| cell.trim().parse::<f64>().ok());
        Some((cells.next()??, cells.next()?? + ZERO_CELSIUS))
    };
    text.lines()
        .filter(|line| !line.starts_with('#'))
        .filter_map(reading)
        .collect()
}

pub(crate) fn probe(case: &Case<'_>, places: &Places) -> Result<Answers, Fault> {
    match case.task.as_str() {
        "tolerance" => {
            let class = match case.has("cls").then(|| case.as_given("cls")).transpose()? {
                Some(1.0) => &K_CLASS_1,
                Some(2.0) | None => &K_CLASS_2,
                Some(3.0) => &K_CLASS_3,
                Some(other) => return wrong(format!("no tolerance class {other} is known")),
            };
            Ok(si("tol", tolerance(class, case.kelvin("T")?)?))
        }
        "metrics" => metrics(case, places),
        "lag" => {
            let right = logs::lag(&case.log("log")?, case.si("tau", "s")?);
            match logs::at(&right, case.si("at", "s")?) {
                Some(kelvin) => Ok(answers([("T", Answer::Kelvin(kelvin))])),
                None => wrong("the log is empty"),
            }
        }
        "fit-h-q" => {
            let fit = logs::transfer_and_flux(
                &case.log("log")?,
                &body(case.raw("body")?)?,
                case.kelvin("T_air")?,
                case.si("h_bot_over_h_top", "1")?,
                case.kelvin("T0")?,
            )?;
            if !fit.settled {
                return wrong("the fit does not settle");
            }
            Ok(answers([
                ("h", Answer::Si(fit.transfer.0)),
                ("q", Answer::Si(fit.flux.0)),
            ]))
        }
        _ => case.unknown_task(),
    }
}

fn metrics(case: &Case<'_>, places: &Places) -> Result<Answers, Fault> {
    let log = if case.has("file") {
        let Some(name) = case.raw("file")?.as_str() else {
            return wrong("`file` is no name");
        };
        csv(&places.read(name)?)
    } else {
        case.log("log")?
    };
    let Some((time, kelvin)) = logs::peak(&log) else {
        return wrong("the log is empty");
    };
    let flaws = logs::quality(&log, &Gates::USUAL);
    let gaps = flaws
        .iter()
        .filter(|flaw| matches!(flaw, Flaw::Gap(..)))
        .count();
    let mut found = answers([
        ("peak", Answer::Kelvin(kelvin)),
        ("t_peak", Answer::Si(time)),
        ("gaps", Answer::Si(gaps as f64)),
        ("flaws", Answer::Si(flaws.len() as f64)),
    ]);
    if let Some((rate, _)) = logs::steepest(&log, 3.0) {
        found.insert("max_rate".to_owned(), Answer::Si(rate));
    }
    let levels = if case.has("levels") {
        numbers(case.raw("levels")?)?
    } else {
        Vec::new()
    };
    for level in levels {
        let key = |name: &str| format!("{name}_{level}");
        found.insert(
            key("above"),
            Answer::Si(logs::time_above(&log, level + ZERO_CELSIUS)),
        );
        if let Some(time) = logs::reach(&log, level + ZERO_CELSIUS) {
            found.insert(key("reach"), Answer::Si(time));
        }
    }
    Ok(found)
}
