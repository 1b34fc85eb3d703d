//! Figures against other ways to the same number: published worked examples of several steps, a
//! numerical integration, the textbook form of a formula, a simulation.

use strikeoff::physics::order::{Line, makespan};
use strikeoff::physics::pace::{Bottleneck, belt_rate, bottleneck, press_rate};
use strikeoff::physics::stencil::{Layer, dry_film_of};
use strikeoff::physics::student::coverage_factor;
use strikeoff::physics::uncertainty::{Estimate, first_order, root_sum_square};
use strikeoff::physics::{Outside, capability, off_contact, opacity};

fn near(got: f64, wanted: f64, allowed: f64) {
    assert!(
        (got - wanted).abs() <= allowed,
        "{got}, not {wanted} ± {allowed}"
    );
}

fn estimate(value: f64, uncertainty: f64, freedom: f64) -> Estimate {
    Estimate {
        value,
        uncertainty,
        freedom,
    }
}

/// JCGM 100:2008 (GUM), H.1, calibration of an end gauge: 50 000 838 nm, 32 nm, 16 degrees of
/// freedom, k = 2.92 for 99 %.
#[test]
fn gum_end_gauge() {
    let known = f64::INFINITY;
    let inputs = [
        estimate(50_000_623.0, 25.0, 18.0),
        estimate(215.0, 9.7, 25.6),
        estimate(11.5e-6, 1.2e-6, known),
        estimate(-0.1, 0.41, known),
        estimate(0.0, 0.58e-6, 50.0),
        estimate(0.0, 0.029, 2.0),
    ];
    let gauge = |x: &[f64]| {
        let [standard, difference, alpha, theta, d_alpha, d_theta] = x else {
            return Err(Outside::Together("six inputs"));
        };
        Ok(standard + difference - standard * (d_alpha * theta + alpha * d_theta))
    };
    let result = first_order(gauge, &inputs, None).unwrap();
    near(result.value, 50_000_838.0, 0.5);
    near(result.uncertainty, 32.0, 0.5);
    let freedom = result.freedom.unwrap();
    near(freedom.floor(), 16.0, 0.0);
    near(coverage_factor(0.99, freedom.floor()).unwrap(), 2.92, 0.005);
}

/// JCGM 100:2008 (GUM), H.2, resistance and reactance from correlated readings (from memory):
/// R = 127.732 ± 0.071, X = 219.847 ± 0.295, Z = 254.260 ± 0.236 ohm. Its uncertainties and
/// correlations are printed to two digits, so what follows from them is known to about 2 %.
#[test]
fn gum_correlated_readings() {
    let inputs = [
        Estimate::known(4.9990, 0.0032),
        Estimate::known(19.661e-3, 0.0095e-3),
        Estimate::known(1.04446, 0.00075),
    ];
    let table: [&[f64]; 3] = [
        &[1.0, -0.36, 0.86],
        &[-0.36, 1.0, -0.65],
        &[0.86, -0.65, 1.0],
    ];
    let run = |model: fn(&[f64]) -> f64| first_order(|x| Ok(model(x)), &inputs, Some(&table));
    let resistance = run(|x| x[0] / x[1] * x[2].cos()).unwrap();
    near(resistance.value, 127.732, 0.005);
    near(resistance.uncertainty, 0.071, 0.02 * 0.071);
    assert_eq!(resistance.freedom, None);
    let reactance = run(|x| x[0] / x[1] * x[2].sin()).unwrap();
    near(reactance.value, 219.847, 0.005);
    near(reactance.uncertainty, 0.295, 0.02 * 0.295);
    let impedance = run(|x| x[0] / x[1]).unwrap();
    near(impedance.value, 254.260, 0.005);
    near(impedance.uncertainty, 0.236, 0.02 * 0.236);
}

/// EA-4/02 M:2022, example S2: 29.3 mg doubled is 58.5 mg (printed from unrounded numbers).
/// JCGM 101:2008, 9.2 (from memory): four inputs of unit variance, ±3.92 for 95 %.
#[test]
fn expanded_uncertainties() {
    let weight = root_sum_square(&[22.5, 8.66, 14.43, 5.77, 5.77]);
    near(2.0 * weight, 58.5, 0.05);
    let four = root_sum_square(&[1.0; 4]);
    let k = coverage_factor(0.95, f64::INFINITY).unwrap();
    near(k * four, 3.92, 0.005);
    // A rectangle of half width √3 has unit variance (GUM 4.3.7).
    near(
        Estimate::rectangular(0.0, 3.0_f64.sqrt()).uncertainty,
        1.0,
        1e-15,
    );
}

#[test]
fn what_cannot_be_combined_is_refused() {
    let one = [Estimate::known(1.0, 0.1), Estimate::known(2.0, 0.1)];
    let sum = |x: &[f64]| Ok(x[0] + x[1]);
    let refused = |table: &[&[f64]]| {
        matches!(
            first_order(sum, &one, Some(table)),
            Err(Outside::Together(_))
        )
    };
    assert!(refused(&[&[1.0, 0.0]]));
    assert!(refused(&[&[1.0, 1.5], &[1.5, 1.0]]));
    // No two things are each the contrary of themselves.
    assert!(refused(&[&[-1.0, -1.0], &[-1.0, -1.0]]));
    assert!(!refused(&[&[1.0, -1.0], &[-1.0, 1.0]]));
    for bad in [-0.1, f64::NAN, f64::INFINITY] {
        let inputs = [Estimate::known(1.0, bad)];
        assert!(first_order(|x| Ok(x[0]), &inputs, None).is_err());
    }
    let limit = Outside::Never("no");
    let model = |_: &[f64]| Err(limit.clone());
    assert_eq!(first_order(model, &one, None), Err(limit.clone()));
}

/// With one limit there is a Cpk and no Cp; without any, nothing.
#[test]
fn capability_against_one_limit() {
    let upper = capability::capability(16.0, 2.0, None, Some(20.0)).unwrap();
    assert_eq!(upper.cp, None);
    near(upper.cpk, 2.0 / 3.0, 1e-12);
    let lower = capability::capability(16.0, 2.0, Some(8.0), None).unwrap();
    near(lower.cpk, 4.0 / 3.0, 1e-12);
    assert!(capability::capability(16.0, 2.0, None, None).is_err());
    assert!(capability::capability(16.0, 0.0, None, Some(20.0)).is_err());
    assert!(capability::capability(16.0, 2.0, Some(20.0), Some(8.0)).is_err());
    // The bound comes closer with every pass and stays below.
    let bound = |passes| capability::cpk_lower_95(1.33, passes).unwrap();
    assert!(bound(12) < bound(30) && bound(30) < bound(1000) && bound(1000) < 1.33);
}

/// The differential equation of Kubelka and Munk, dR/dp = 1 - 2 a R + R², by a fourth-order
/// Runge-Kutta run from the ground up.
#[test]
fn reflectance_solves_the_differential_equation() {
    for own in [0.05, 0.3, 0.6, 0.88, 0.99, 1.0] {
        let a = 0.5 * (1.0 / own + own);
        let slope = |r: f64| 1.0 - 2.0 * a * r + r * r;
        for ground in [0.0, 0.2, 0.8, 1.0] {
            let (mut r, step) = (ground, 1e-4);
            for n in 1..=50_000 {
                let k1 = slope(r);
                let k2 = slope(r + 0.5 * step * k1);
                let k3 = slope(r + 0.5 * step * k2);
                let k4 = slope(r + step * k3);
                r += step / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4);
                if [1, 100, 2_000, 50_000].contains(&n) {
                    let power = f64::from(n) * step;
                    near(opacity::reflectance(power, own, ground).unwrap(), r, 1e-9);
                }
            }
        }
    }
}

/// Solving for the scattering power and putting it in again gives the contrast back.
#[test]
fn contrast_and_scattering_power_undo_each_other() {
    for contrast in [0.001, 0.05, 0.5, 0.9, 0.98, 0.999] {
        for own in [0.02, 0.4, 0.88, 1.0] {
            for white in [0.3, 0.8, 0.95] {
                let power = opacity::scattering_power(contrast, own, white).unwrap();
                let back = opacity::contrast_ratio(power, own, white).unwrap();
                near(back, contrast, 1e-12);
            }
        }
    }
}

/// A white that hides 90 % at 60 µm reaches 98 % (ISO 6504, from memory) only with a much thicker
/// film: predicted and then predicted back.
#[test]
fn one_drawdown_predicts_another_film() {
    let film = opacity::film_for_contrast(0.90, 60e-6, 0.98, 0.88, 0.8).unwrap();
    assert!(film > 60e-6 * 2.0 && film < 60e-6 * 3.0, "{film}");
    let back = opacity::contrast_from_drawdown(0.90, 60e-6, film, 0.88, 0.8).unwrap();
    near(back, 0.98, 1e-9);
}

/// The textbook form of the makespan, and a simulation that follows every piece.
#[test]
fn makespan_follows_every_piece() {
    let textbook = |n: f64, line: &Line| {
        let cycle = line.index + line.slowest;
        let spacing = line.pitch / line.belt;
        let fill = line.stations * line.slowest
            + (line.stations - 1.0) * line.index
            + line.chamber / line.belt;
        let dryer = ((n / line.lanes).ceil() - 1.0) * spacing + ((n - 1.0) % line.lanes) * cycle;
        fill + ((n - 1.0) * cycle).max(dryer)
    };
    // Pieces leave the press one cycle apart and take the lane that is free first.
    let simulated = |n: usize, line: &Line| {
        let cycle = line.index + line.slowest;
        let first = line.stations * line.slowest + (line.stations - 1.0) * line.index;
        let mut free = vec![0.0_f64; line.lanes as usize];
        let mut last = 0.0_f64;
        for piece in 0..n {
            let unloaded = first + piece as f64 * cycle;
            let lane = (0..free.len())
                .min_by(|a, b| free[*a].total_cmp(&free[*b]))
                .unwrap();
            let laid = unloaded.max(free[lane]);
            free[lane] = laid + line.pitch / line.belt;
            last = last.max(laid + line.chamber / line.belt);
        }
        last
    };
    for lanes in [1.0, 2.0, 3.0, 5.0] {
        for belt in [0.004, 0.02, 0.033, 0.05, 0.3] {
            for pieces in [1_usize, 2, 5, 6, 7, 61, 300] {
                let line = Line {
                    stations: 10.0,
                    index: 1.2,
                    slowest: 5.0,
                    chamber: 3.0,
                    belt,
                    pitch: 0.45,
                    lanes,
                };
                let got = makespan(pieces as f64, &line).unwrap();
                near(got, textbook(pieces as f64, &line), 1e-9 * got);
                near(got, simulated(pieces, &line), 1e-9 * got);
            }
        }
    }
}

/// The two lines of the discrete-event reference: the press holds up one, the dryer the other.
#[test]
fn what_holds_the_line_up() {
    let press = press_rate(1.2, 5.0).unwrap();
    let belt = belt_rate(3.0 / 60.0, 0.6, 2.0).unwrap();
    assert_eq!(bottleneck(press, belt), Ok(Bottleneck::Press));
    let press = press_rate(1.2, 3.0).unwrap();
    let belt = belt_rate(2.0 / 60.0, 0.5, 1.0).unwrap();
    assert_eq!(bottleneck(press, belt), Ok(Bottleneck::Dryer));
}

/// The small-gap forms, `g²/(2 s (L - s))` and their difference, agree to a thousandth; two screens
/// with gaps of 2 and 4 mm differ by 0.09 mm over 300 mm.
#[test]
fn off_contact_in_the_limit_of_small_gaps() {
    let (length, gap) = (0.5, 3e-3);
    for place in [0.1, 0.2, 0.25, 0.4] {
        let exact = off_contact::strain(length, place, gap).unwrap();
        let small = gap * gap / (2.0 * place * (length - place));
        near(exact, small, 1e-3 * small);
    }
    let f = |s: f64| gap * gap / (2.0 * (length - s)) - gap * gap / (2.0 * s);
    let exact = off_contact::print_growth(length, 0.1, 0.4, gap).unwrap();
    near(exact, f(0.4) - f(0.1), 1e-3 * exact);
    let at = |gap| off_contact::print_growth(length, 0.1, 0.4, gap).unwrap();
    near(at(4e-3) - at(2e-3), 0.09e-3, 0.001e-3);
}

/// Two layers over a flash add up; one bad layer is refused.
#[test]
fn layers_add_up() {
    let layer = Layer {
        deposit: 50e-6,
        strokes: 2.0,
        stroke_gain: 0.5,
        volume_solids: 0.96,
    };
    near(dry_film_of(&[layer, layer]).unwrap(), 144e-6, 1e-12);
    near(dry_film_of(&[]).unwrap(), 0.0, 0.0);
    let half = Layer {
        strokes: 1.5,
        ..layer
    };
    assert!(dry_film_of(&[layer, half]).is_err());
}
