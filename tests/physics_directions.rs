//! What every row of the table claims about itself, tried at random points: directions, finite
//! results inside the ranges, refusals outside them, and names that are fit for the language.

use std::collections::BTreeSet;

use strikeoff::physics::{Accuracy, Direction, Function, Outside, Parameter, functions};

/// Random numbers that are the same on every run (SplitMix64, public domain).
struct Random(u64);

impl Random {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A value in the range of the parameter: its ends too, and by order of magnitude half of the
    /// time, because a range over seven decades is otherwise only ever tried at its upper end.
    fn value(&mut self, parameter: &Parameter) -> f64 {
        let (low, high) = (parameter.low, parameter.high);
        let pick = self.unit();
        let value = if pick < 0.02 {
            low
        } else if pick < 0.04 {
            high
        } else if pick < 0.5 && high > 0.0 {
            let floor = if low > 0.0 { low } else { high * 1e-6 };
            (floor * (high / floor).powf(self.unit())).clamp(low, high)
        } else {
            low + (high - low) * self.unit()
        };
        as_counted(parameter, value)
    }
}

/// Counts are whole.
fn as_counted(parameter: &Parameter, value: f64) -> f64 {
    match parameter.dimension {
        "count" | "pieces" => value.round().clamp(parameter.low, parameter.high),
        _ => value,
    }
}

/// Solvers are tried by their own tests; a pass of theirs takes too long for thousands of points.
fn closed_forms() -> impl Iterator<Item = &'static Function> {
    let solver = |function: &&Function| match function.accuracy {
        Accuracy::Rounding => true,
        Accuracy::Absolute(error) => error < 1e-9,
        Accuracy::Relative(error) => error < 1e-8,
    };
    functions().iter().filter(solver)
}

/// The closed forms that are not figures of heat: those of heat have `tests/physics_heat.rs`.
fn without_heat() -> impl Iterator<Item = &'static Function> {
    let heat = [
        "pallet-",
        "cooling-",
        "cure-",
        "dye-",
        "hold-",
        "ramp-",
        "energy-of-",
    ];
    closed_forms()
        .filter(move |function| !heat.iter().any(|start| function.name.starts_with(start)))
}

/// How far apart two results must be to differ by more than they may be wrong.
fn slack(function: &Function, a: f64, b: f64) -> f64 {
    let size = a.abs().max(b.abs());
    match function.accuracy {
        Accuracy::Rounding => 16.0 * f64::EPSILON * size,
        Accuracy::Absolute(error) => 2.0 * error,
        Accuracy::Relative(error) => 2.0 * error * size,
    }
}

#[test]
fn directions_hold_at_random_points() {
    for function in closed_forms() {
        let mut random = Random(function.name.len() as u64 * 7919 + 1);
        let parameters = function.parameters;
        let mut compared = vec![0; parameters.len()];
        for _ in 0..1500 {
            let point: Vec<f64> = parameters.iter().map(|p| random.value(p)).collect();
            let Ok(here) = (function.evaluate)(&point) else {
                continue;
            };
            for (index, parameter) in parameters.iter().enumerate() {
                // Once anywhere in the range, once a small step away.
                let small = (point[index] * (1.0 + 1e-3 * random.unit())).min(parameter.high);
                for other in [random.value(parameter), as_counted(parameter, small)] {
                    let mut moved = point.clone();
                    moved[index] = other;
                    let Ok(there) = (function.evaluate)(&moved) else {
                        continue;
                    };
                    let (below, above) = if other > point[index] {
                        (here, there)
                    } else {
                        (there, here)
                    };
                    let slack = slack(function, here, there);
                    let holds = match parameter.direction {
                        Direction::Rises => above >= below - slack,
                        Direction::Falls => above <= below + slack,
                        // Conditional directions are held by the tests of the heat figures.
                        Direction::Mixed
                        | Direction::RisesWhileHeating
                        | Direction::FallsWhileHeating => true,
                    };
                    assert!(
                        holds,
                        "`{}`, input `{}`: {below} to {above} from {point:?} to {other}",
                        function.name, parameter.name
                    );
                    compared[index] += usize::from(other != point[index]);
                }
            }
        }
        for (parameter, compared) in parameters.iter().zip(compared) {
            assert!(
                compared >= 200,
                "`{}`, input `{}`: only {compared} pairs compared",
                function.name,
                parameter.name
            );
        }
    }
}

/// An input that is called mixed but only ever moves one way would cost needless work.
#[test]
fn what_is_called_mixed_moves_both_ways() {
    for function in without_heat() {
        let mut random = Random(77);
        for (index, parameter) in function.parameters.iter().enumerate() {
            if parameter.direction != Direction::Mixed {
                continue;
            }
            let (mut up, mut down) = (0, 0);
            for _ in 0..3000 {
                let point: Vec<f64> = function
                    .parameters
                    .iter()
                    .map(|p| random.value(p))
                    .collect();
                let mut moved = point.clone();
                moved[index] = random.value(parameter);
                let (Ok(here), Ok(there)) =
                    ((function.evaluate)(&point), (function.evaluate)(&moved))
                else {
                    continue;
                };
                let change = (there - here) * (moved[index] - point[index]);
                up += usize::from(change > 0.0);
                down += usize::from(change < 0.0);
            }
            assert!(
                up > 0 && down > 0,
                "`{}`, input `{}` moves the result one way only: {up} up, {down} down",
                function.name,
                parameter.name
            );
        }
    }
}

#[test]
fn results_inside_the_ranges_are_finite() {
    for function in closed_forms() {
        let mut random = Random(4711);
        let mut worked = 0;
        for _ in 0..3000 {
            let point: Vec<f64> = function
                .parameters
                .iter()
                .map(|p| random.value(p))
                .collect();
            match (function.evaluate)(&point) {
                Ok(result) => {
                    worked += 1;
                    assert!(result.is_finite(), "`{}` at {point:?}", function.name);
                    // The same bits every time.
                    let again = (function.evaluate)(&point).unwrap();
                    assert_eq!(result.to_bits(), again.to_bits(), "`{}`", function.name);
                }
                Err(Outside::Parameter(index)) => {
                    panic!(
                        "`{}`: input {index} of {point:?} lies in its range",
                        function.name
                    )
                }
                Err(Outside::Together(clause) | Outside::Never(clause)) => {
                    assert!(!clause.is_empty() && !clause.ends_with('.'));
                }
            }
        }
        assert!(worked >= 300, "`{}`: only {worked} points", function.name);
    }
}

#[test]
fn each_input_outside_its_range_is_refused_by_number() {
    for function in closed_forms() {
        let mut random = Random(99);
        let point = loop {
            let point: Vec<f64> = function
                .parameters
                .iter()
                .map(|p| random.value(p))
                .collect();
            if (function.evaluate)(&point).is_ok() {
                break point;
            }
        };
        for (index, parameter) in function.parameters.iter().enumerate() {
            let bad = [
                parameter.low.next_down(),
                parameter.high.next_up(),
                f64::NAN,
                f64::INFINITY,
                f64::NEG_INFINITY,
            ];
            for value in bad {
                let mut outside = point.clone();
                outside[index] = value;
                assert_eq!(
                    (function.evaluate)(&outside),
                    Err(Outside::Parameter(index)),
                    "`{}`, input `{}` = {value}",
                    function.name,
                    parameter.name
                );
            }
        }
        for wrong in [&point[1..], &[point.clone(), vec![1.0]].concat()[..]] {
            assert!(
                matches!((function.evaluate)(wrong), Err(Outside::Together(_))),
                "`{}` with {} inputs",
                function.name,
                wrong.len()
            );
        }
    }
}

#[test]
fn half_a_thing_is_refused() {
    for function in without_heat() {
        for (index, parameter) in function.parameters.iter().enumerate() {
            if !["count", "pieces"].contains(&parameter.dimension) {
                continue;
            }
            let mut random = Random(5);
            for _ in 0..50 {
                let mut point: Vec<f64> = function
                    .parameters
                    .iter()
                    .map(|p| random.value(p))
                    .collect();
                point[index] = parameter.low + 1.5;
                assert!(
                    matches!((function.evaluate)(&point), Err(Outside::Together(_))),
                    "`{}`, input `{}`",
                    function.name,
                    parameter.name
                );
            }
        }
    }
}

#[test]
fn the_table_is_fit_for_the_language() {
    let kebab = |name: &str| {
        name.starts_with(|c: char| c.is_ascii_lowercase())
            && !name.ends_with('-')
            && name
                .chars()
                .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
    };
    let names: BTreeSet<&str> = functions().iter().map(|function| function.name).collect();
    assert_eq!(names.len(), functions().len(), "two figures share a name");
    for function in functions() {
        assert!(kebab(function.name), "`{}`", function.name);
        assert!(kebab(function.result), "`{}`", function.name);
        assert!(!function.formula.is_empty() && !function.source.is_empty());
        assert!(!function.parameters.is_empty(), "`{}`", function.name);
        let inputs: BTreeSet<&str> = function.parameters.iter().map(|p| p.name).collect();
        assert_eq!(inputs.len(), function.parameters.len(), "{}", function.name);
        for parameter in function.parameters {
            assert!(kebab(parameter.name) && kebab(parameter.dimension));
            assert!(parameter.low < parameter.high, "`{}`", parameter.name);
            assert!(parameter.low.is_finite() && parameter.high.is_finite());
        }
    }
}

/// A dimension that the language does not know would be checked as a plain number.
#[test]
fn every_dimension_in_the_table_is_one_of_the_language() {
    use strikeoff::units::Dimension;
    let known = |name: &str| name == "count" || Dimension::named(name).is_some();
    let mut unknown: Vec<String> = Vec::new();
    for function in functions() {
        let parameters = function
            .parameters
            .iter()
            .map(|parameter| parameter.dimension);
        for name in parameters
            .chain([function.result])
            .filter(|name| !known(name))
        {
            unknown.push(format!("{name} in {}", function.name));
        }
    }
    assert_eq!(unknown, Vec::<String>::new());
}
