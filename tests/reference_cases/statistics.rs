//! Uncertainty, random draws, capability.

use super::answer::{Answer, Answers, answers};
use super::format::{Case, Fault, number, numbers, wrong};
use serde_json::Value;
use strikeoff::physics::Outside;
use strikeoff::physics::capability::capability as worked;
use strikeoff::physics::monte_carlo::{Spread, propagate};
use strikeoff::physics::student::coverage_factor;
use strikeoff::physics::uncertainty::{
    Estimate, Sample, effective_freedom, first_order, root_sum_square,
};

/// Value, standard uncertainty and degrees of freedom; none or null means known.
fn estimate(value: &Value) -> Result<Estimate, Fault> {
    let Some(list) = value.as_array() else {
        return wrong("an input is a list of value, uncertainty and degrees of freedom");
    };
    match list.as_slice() {
        [value, uncertainty] => Ok(Estimate::known(number(value)?, number(uncertainty)?)),
        [value, uncertainty, freedom] => Ok(Estimate {
            value: number(value)?,
            uncertainty: number(uncertainty)?,
            freedom: freedom_of(freedom)?,
        }),
        _ => wrong("an input is a list of value, uncertainty and degrees of freedom"),
    }
}

fn freedom_of(value: &Value) -> Result<f64, Fault> {
    if value.is_null() {
        Ok(f64::INFINITY)
    } else {
        number(value)
    }
}

fn estimates<const N: usize>(case: &Case<'_>, keys: [&str; N]) -> Result<Vec<Estimate>, Fault> {
    keys.into_iter()
        .map(|key| estimate(case.raw(key)?))
        .collect()
}

pub(crate) fn gum(case: &Case<'_>) -> Result<Answers, Fault> {
    match case.task.as_str() {
        "H1" => {
            let inputs = estimates(case, ["ls", "d", "alpha", "theta", "dalpha", "dtheta"])?;
            let gauge = |x: &[f64]| match x {
                [standard, d, alpha, theta, d_alpha, d_theta] => {
                    Ok(standard + d - standard * (d_alpha * theta + alpha * d_theta))
                }
                _ => Err(Outside::Together("six inputs")),
            };
            let result = first_order(gauge, &inputs, None)?;
            let freedom = result.freedom.unwrap_or(f64::INFINITY);
            Ok(answers([
                ("y", Answer::AsGiven(result.value)),
                ("u", Answer::AsGiven(result.uncertainty)),
                ("dof", Answer::AsGiven(freedom)),
                (
                    "k99",
                    Answer::AsGiven(coverage_factor(0.99, freedom.floor())?),
                ),
            ]))
        }
        "H4" => {
            let inputs = estimates(case, ["A", "mS", "mx", "Rx", "RS"])?;
            let r = case.as_given("r_Rx_RS")?;
            let mut table = [[0.0; 5]; 5];
            for (index, row) in table.iter_mut().enumerate() {
                row[index] = 1.0;
            }
            (table[3][4], table[4][3]) = (r, r);
            let rows: Vec<&[f64]> = table.iter().map(<[f64; 5]>::as_slice).collect();
            let activity = |x: &[f64]| match x {
                [a, standard, sample, p, q] => Ok(a * standard / sample * p / q),
                _ => Err(Outside::Together("five inputs")),
            };
            let result = first_order(activity, &inputs, Some(&rows))?;
            Ok(answers([
                ("y", Answer::AsGiven(result.value)),
                ("u", Answer::AsGiven(result.uncertainty)),
            ]))
        }
        "type-A" => {
            let sample = Sample::of(&numbers(case.raw("values")?)?)?;
            Ok(answers([
                ("mean", Answer::AsGiven(sample.mean)),
                ("s", Answer::AsGiven(sample.deviation)),
                ("s_mean", Answer::AsGiven(sample.deviation_of_mean())),
            ]))
        }
        "welch" => {
            let parts = numbers(case.raw("u")?)?;
            let Some(freedoms) = case.raw("dof")?.as_array() else {
                return wrong("`dof` is no list");
            };
            let freedoms: Vec<f64> = freedoms.iter().map(freedom_of).collect::<Result<_, _>>()?;
            let pairs: Vec<(f64, f64)> = parts.into_iter().zip(freedoms).collect();
            Ok(answers([(
                "nu",
                Answer::AsGiven(effective_freedom(&pairs)?),
            )]))
        }
        "rss" => {
            let u = root_sum_square(&numbers(case.raw("u")?)?);
            let k = if case.has("k") {
                case.as_given("k")?
            } else {
                1.0
            };
            Ok(answers([
                ("u", Answer::AsGiven(u)),
                ("U", Answer::AsGiven(k * u)),
            ]))
        }
        _ => case.unknown_task(),
    }
}

/// The sum of equal rectangles: half width of the interval by draws, and by the first-order law.
pub(crate) fn monte_carlo(case: &Case<'_>) -> Result<Answers, Fault> {
    if case.task != "sum-rectangular" {
        return case.unknown_task();
    }
    let each = if case.has("u_each") {
        case.as_given("u_each")?
    } else {
        1.0
    };
    let level = if case.has("p") {
        case.as_given("p")?
    } else {
        0.95
    };
    let count = case.as_given("n_inputs")? as usize;
    let half = each * 3.0_f64.sqrt();
    let spreads = vec![
        Spread::Rectangular {
            low: -half,
            high: half
        };
        count
    ];
    let draws = propagate(|x| Ok(x.iter().sum()), &spreads, 400_000, 7)?;
    let (low, high) = draws.middle(level);
    let k = coverage_factor(level, f64::INFINITY)?;
    Ok(answers([
        ("half_width", Answer::AsGiven(0.5 * (high - low))),
        (
            "gum_half_width",
            Answer::AsGiven(k * root_sum_square(&vec![each; count])),
        ),
    ]))
}

pub(crate) fn capability(case: &Case<'_>) -> Result<Answers, Fault> {
    if case.task != "summary" {
        return case.unknown_task();
    }
    let limit = |key: &str| case.has(key).then(|| case.as_given(key)).transpose();
    let (mean, deviation) = if case.has("values") {
        let sample = Sample::of(&numbers(case.raw("values")?)?)?;
        (sample.mean, sample.deviation)
    } else {
        (case.as_given("mean")?, case.as_given("sd")?)
    };
    let result = worked(mean, deviation, limit("LSL")?, limit("USL")?)?;
    let mut found = answers([
        ("Cpk", Answer::AsGiven(result.cpk)),
        ("mean", Answer::AsGiven(mean)),
        ("sd", Answer::AsGiven(deviation)),
    ]);
    if let Some(cp) = result.cp {
        found.insert("Cp".to_owned(), Answer::AsGiven(cp));
    }
    Ok(found)
}
