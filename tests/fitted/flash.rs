//! The figures of a flash on a pallet, by a second way: the same flash told otherwise, its heat, piece by piece.

use strikeoff::physics::cycle::Cycle;
use strikeoff::physics::thermal::{Body, Settings, Zone};
use strikeoff::physics::{Function, functions};

/// Heat that 6 mm of aluminium take up, J/(m²·K).
const CAPACITY: f64 = 14_600.0;

fn named(name: &str) -> &'static Function {
    functions().iter().find(|one| one.name == name).unwrap()
}

/// A coat of plastisol on cotton under a flash of 6.2 kW/m², on a pallet at 24 °C; start, body, flash, pallet,
/// and cloth that does not dry on it.
const COAT: [f64; 21] = [
    297.15, 0.048, 8.0e-5, 1400.0, 0.17, 0.0, 0.18, 7.0e-4, 1290.0, 0.05, 0.075, 295.15, 10.0,
    295.15, 0.0, 6200.0, 1300.0, 297.15, 0.004, 0.075, 0.0,
];

#[test]
fn on_pallet_is_the_flash_with_the_garment_as_warm_as_the_pallet() {
    for pallet in [297.15, 333.15] {
        let mut full = COAT.to_vec();
        (full[0], full[17]) = (pallet, pallet);
        for (plain, on_pallet, asked) in [
            ("flash-film", "flash-film-on-pallet", 5.0),
            ("gel-time", "gel-time-on-pallet", 377.15),
            ("over-flash-time", "over-flash-time-on-pallet", 385.15),
        ] {
            full.push(asked);
            let one = (named(plain).evaluate)(&full).unwrap();
            let other = (named(on_pallet).evaluate)(&full[1..]).unwrap();
            full.pop();
            assert_eq!(one.to_bits(), other.to_bits(), "{on_pallet} at {pallet} K");
        }
    }
}

#[test]
fn a_flash_on_a_pallet_keeps_to_the_heat_it_is_given() {
    // The film cannot get more than the flash gives, and most of the heat is in ink and cloth: what 5 s of
    // 6.2 kW/m² would do to all of it evenly lies below the film, which is on top, and above the pallet.
    let film = |time: f64, pallet: f64| {
        let mut x = COAT[1..].to_vec();
        x[16] = pallet;
        x.push(time);
        (named("flash-film-on-pallet").evaluate)(&x).unwrap()
    };
    let capacity = 0.048 * 1400.0 + 0.18 * (1290.0 + 0.075 * 4180.0);
    let even = 297.15 + 6200.0 * 5.0 / capacity;
    let top = 297.15 + 6200.0 * 5.0 / (0.048 * 1400.0);
    let found = film(5.0, 297.15);
    assert!(
        found < top && found > 297.15 + 0.5 * (even - 297.15),
        "{found}, {even}, {top}"
    );
    // A garment 36 K warmer at the start ends warmer, by no more than that.
    let warm = film(5.0, 333.15);
    assert!(
        warm - found > 20.0 && warm - found < 36.0,
        "{found}, {warm}"
    );
}

#[test]
fn the_picture_climbs_through_the_figure() {
    // Above the room, room, flux, flash, cooling, round, capacity, loss, loss while cooling, rounds.
    let mut x = [
        5.0, 295.15, 4960.0, 8.4, 0.0, 41.6, CAPACITY, 12.0, 110.0, 0.0,
    ];
    let function = named("pallet-after-rounds");
    let (recursion, start) = strikeoff::physics::history::cycles(function, &x).unwrap();
    for rounds in [0.0, 1.0, 25.0] {
        x[9] = rounds;
        let figure = (function.evaluate)(&x).unwrap();
        assert!(
            (recursion.after(start, rounds) - figure).abs() < 1e-9,
            "{rounds}"
        );
    }
}

#[test]
fn a_pallet_under_a_flashed_garment_is_the_one_followed_piece_by_piece() {
    // The garment on the pallet throughout, with the heat that it draws: seven pieces one after the other.
    let cycle = Cycle {
        body: Body {
            ink_mass: COAT[1],
            ink_thickness: COAT[2],
            ink_heat: COAT[3],
            ink_conductivity: COAT[4],
            ink_water: COAT[5],
            fabric_mass: COAT[6],
            fabric_thickness: COAT[7],
            fabric_heat: COAT[8],
            fabric_conductivity: COAT[9],
            moisture: COAT[10],
            regain: 0.075,
            pallet_capacity: CAPACITY,
            lower: None,
            underside: None,
        },
        garment: COAT[0],
        flash: Zone {
            flux: COAT[15],
            transfer: COAT[12],
            air: COAT[11],
            panel: COAT[13],
            transfer_below: 0.0,
            ..Zone::room(5.0, COAT[12], COAT[11], COAT[16])
        },
        load_time: 15.0,
        ride_time: 25.0,
        empty_time: 6.0,
        contact: COAT[18],
        loss: 8.0,
        room: 295.15,
    };
    let mut pallet = 297.15;
    let mut x = COAT.to_vec();
    x[17] = pallet;
    x.extend([CAPACITY, 8.0, 295.15, 15.0, 5.0, 25.0, 6.0, 0.0]);
    let last = x.len() - 1;
    for piece in 1..=7 {
        pallet = cycle.after_one(pallet, Settings::CHECK).unwrap();
        x[last] = f64::from(piece);
        let closed = (named("flash-pallet-after").evaluate)(&x).unwrap();
        // Its stated accuracy.
        assert!(
            (closed - pallet).abs() < 0.5,
            "piece {piece}: {closed}, {pallet}"
        );
    }
    assert!(pallet > 300.0, "{pallet}");
}
