//! The accuracy each figure states, against the same equations on a far finer grid with far smaller steps.
//!
//! A hundred and twenty draws were run when the accuracies were set; the ones here are the first of them.

use super::draws::{Draws, ONE_PLY, named};
use strikeoff::physics::over::figure;
use strikeoff::physics::thermal::Settings;
use strikeoff::physics::{Accuracy, Outside, Passes};

const REFERENCE: Settings = Settings {
    ink: 12,
    fabric: 40,
    tolerance: 2.0e-4,
    ..Settings::CHECK
};

/// Largest part of the stated accuracy that was used, over `count` draws.
fn used(name: &str, asked: &[f64], count: u64, zones: usize, change: impl Fn(&mut [f64])) -> f64 {
    let function = named(name);
    let mut worst = 0.0_f64;
    for seed in 0..count {
        let mut draws = Draws::new(seed);
        let mut x = draws.body();
        for _ in 0..zones {
            x.extend(draws.zone(seed.is_multiple_of(2)));
        }
        change(&mut x);
        match seed % 4 {
            3 => draws.lying(&mut x, zones),
            _ => x.extend(ONE_PLY),
        }
        x.extend(asked);
        let fine = figure(function, &x, &mut Passes::new(REFERENCE));
        let check = figure(function, &x, &mut Passes::default());
        match (fine, check) {
            (Ok(fine), Ok(check)) => {
                let limit = match function.accuracy {
                    Accuracy::Absolute(limit) => limit,
                    Accuracy::Relative(share) => share * fine.abs(),
                    Accuracy::Rounding => panic!("a solver is not exact to rounding"),
                };
                worst = worst.max((fine - check).abs() / limit);
            }
            // A level that is only just reached may be reached on one grid and not on the other; the peak is then at it.
            (Err(Outside::Never(_)), _) | (_, Err(Outside::Never(_))) => {}
            (fine, check) => panic!("{name} at {x:?}: {fine:?}, {check:?}"),
        }
    }
    worst
}

/// The figures of one zone, and what they ask for.
const ONE_ZONE: [(&str, &[f64]); 10] = [
    ("film-peak", &[]),
    ("surface-peak", &[]),
    ("film-exit", &[]),
    ("film-reaches", &[413.15]),
    ("film-time-above", &[413.15]),
    ("film-dose", &[433.15, 60_000.0]),
    ("ink-water-left", &[]),
    ("fabric-water-left", &[]),
    ("dye-index", &[423.15, 30.0, 160_000.0, 1.0]),
    ("dye-index", &[423.15, 30.0, 80_000.0, 1.0]),
];

#[test]
fn stated_accuracy_holds_for_usual_dryers() {
    for (name, asked) in ONE_ZONE {
        assert!(used(name, asked, 20, 1, |_| {}) <= 1.0, "{name}");
    }
    for (name, asked) in [
        ("film-peak-two-zones", &[][..]),
        ("film-reaches-two-zones", &[413.15]),
    ] {
        assert!(used(name, asked, 8, 2, |_| {}) <= 1.0, "{name}");
    }
}

#[test]
fn stated_accuracy_holds_at_the_end_of_the_range() {
    for (name, asked) in ONE_ZONE {
        let fleece = used(name, asked, 6, 1, |x| {
            (x[7], x[9], x[15], x[16]) = (2.5e-3, 0.03, 100.0, 60.0);
        });
        let thick_ink = used(name, asked, 6, 1, |x| {
            (x[1], x[2], x[4], x[15], x[16]) = (0.35, 3.0e-4, 0.1, 100.0, 60.0);
        });
        assert!(fleece <= 1.0, "{name} on thick fleece");
        assert!(thick_ink <= 1.0, "{name} in thick ink");
    }
}

#[test]
fn stated_accuracy_holds_for_a_flash() {
    for (name, asked, limit) in [
        ("gel-time", 378.15, 0.12),
        ("over-flash-time", 411.15, 0.12),
        ("flash-film", 5.0, 1.0),
        ("flash-surface", 5.0, 1.0),
    ] {
        let mut worst = 0.0_f64;
        for seed in 0..15 {
            let mut draws = Draws::new(seed);
            let mut x = draws.body()[..11].to_vec();
            x[5] = 0.0;
            let pallet = draws.between(295.0, 345.0);
            let flux = draws.between(5000.0, 14_000.0);
            x.extend([
                draws.between(300.0, 340.0),
                draws.between(5.0, 20.0),
                600.0,
                0.0,
                flux,
                1500.0,
                pallet,
            ]);
            // A plateau of drying cloth is told by what the solver's error in temperature does to a time.
            x.extend([draws.between(0.002, 0.01), 0.075, 0.0, asked]);
            let fine = figure(named(name), &x, &mut Passes::new(REFERENCE));
            let check = figure(named(name), &x, &mut Passes::default());
            if let (Ok(fine), Ok(check)) = (fine, check) {
                worst = worst.max((fine - check).abs() / limit);
            }
        }
        assert!(worst <= 1.0, "{name} used {worst}");
    }
}
