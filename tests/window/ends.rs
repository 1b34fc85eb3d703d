//! Where stretches end: bands that a tolerance just fills, edges that are no fraction, ends that one side claims.

use super::{found, small};
use strikeoff::diagnostic::{Outcome, Window, Zone, ZoneStretch};

fn standard(settings: &str, rules: &str) -> String {
    format!(
        "standard \"w\" edition \"1\"\nkind bed, one to a run \"bed\" {{\n{settings}}}\n{rules}"
    )
}

fn rule(clauses: &str) -> String {
    format!("rule a {{\n{clauses}  per practice\n}}\n")
}

fn window(settings: &str, clauses: &str, plan: &str, free: &str) -> Window {
    let plan = format!("run \"a\" against \"room.std\"\nbed {{\n{plan}}}\n");
    found(
        &small(&standard(settings, &rule(clauses)), &plan),
        "a.plan",
        &[free],
    )
}

fn stretches(window: &Window) -> &[ZoneStretch] {
    &window.settings[0].stretches
}

/// `[1 s, 60 s) holds`, with round brackets where an end is no part of it.
fn said(window: &Window) -> Vec<String> {
    stretches(window)
        .iter()
        .map(|stretch| {
            let (low, high) = (&stretch.low, &stretch.high);
            format!(
                "{}{}, {}{} {}",
                if low.within { '[' } else { '(' },
                low.words,
                high.words,
                if high.within { ']' } else { ')' },
                stretch.zone.words()
            )
        })
        .collect()
}

#[test]
fn a_tolerance_that_just_fills_its_band_holds_at_that_point() {
    for (band, plan, at) in [
        ("143 to 154 °C", "148.5 °C ± 5.5 °C", "148.5 °C"),
        ("300 to 320 °F", "310 °F ± 10 °F", "310 °F"),
        ("300 to 320 °F", "300 °F ± 10 °F", "310 °F"),
        ("143 to 154 °C", "154 °C +4 °C -7 °C", "150 °C"),
    ] {
        let window = window(
            "  air temperature from 20 °C to 250 °C \"air\" set in steps of 5 °F, 5 °C\n",
            &format!("  shall bed.air within {band}\n"),
            &format!("  air {plan}\n"),
            "bed.air",
        );
        let holding: Vec<&ZoneStretch> = stretches(&window)
            .iter()
            .filter(|stretch| stretch.zone == Zone::Holds)
            .collect();
        assert_eq!(holding.len(), 1, "{band}: {plan}: {:?}", said(&window));
        let (low, high) = (&holding[0].low, &holding[0].high);
        assert_eq!((low.words.as_str(), high.words.as_str()), (at, at));
        assert!(low.within && high.within);
        assert!(!window.empty && window.clash.is_empty());
        // Both limits are named, each at its own side.
        assert_ne!(low.cut, high.cut);
        let best = window.best.as_ref().unwrap();
        assert!(best.words[0].starts_with(at), "{:?}", best.words);
        assert_eq!(best.counts.of(Outcome::Holds), 1);
        let boxes = window.boxes.iter().filter(|part| part.zone == Zone::Holds);
        assert_eq!(boxes.count(), 1);
    }
}

#[test]
fn a_tolerance_wider_than_its_band_is_shown_to_fit_nowhere() {
    let window = window(
        "  air temperature from 20 °C to 250 °C \"air\" set\n",
        "  shall bed.air within 143 to 154 °C\n",
        "  air 148.5 °C ± 5.6 °C\n",
        "bed.air",
    );
    assert!(window.empty && window.best.is_none(), "{:?}", said(&window));
    assert_eq!(window.clash.len(), 2);
}

#[test]
fn a_band_that_is_just_filled_holds_along_a_line_of_two_settings() {
    let plan = "run \"a\" against \"room.std\"\nbed {\n  x 10 ± 2\n  y 4\n}\n";
    let standard = standard(
        "  x number from 1 to 40 \"x\" set\n  y number from 1 to 9 \"y\" set\n",
        &rule("  shall bed.x within 18 to 22\n  shall bed.y at most 7\n"),
    );
    let window = found(&small(&standard, plan), "a.plan", &["bed.x", "bed.y"]);
    let holding: Vec<_> = window
        .boxes
        .iter()
        .filter(|part| part.zone == Zone::Holds)
        .collect();
    assert_eq!(holding.len(), 1, "{:?}", window.boxes);
    assert_eq!(
        (&holding[0].low[..], &holding[0].high[..]),
        (&[20.0, 1.0][..], &[20.0, 7.0][..])
    );
    assert!(!window.empty);
    let nearest = window.nearest.as_ref().unwrap();
    assert_eq!(nearest.words, ["20 ± 2", "4"]);
}

#[test]
fn nothing_is_lost_beside_an_edge_that_no_limit_of_the_value_itself_makes() {
    // The edge comes from the `when`.
    let by_when = window(
        "  t time from 1 s to 600 s \"t\" set\n  n number \"n\" set\n",
        "  when bed.t at least 60 s\n  shall bed.n at most 1\n",
        "  t 30 s\n  n 2\n",
        "bed.t",
    );
    assert_eq!(
        said(&by_when),
        ["[1 s, 60 s) holds", "[60 s, 600 s] breaks"]
    );
    assert_eq!(stretches(&by_when)[0].high.exact.as_deref(), Some("60"));
    let best = by_when.best.as_ref().unwrap();
    assert_eq!(best.counts.of(Outcome::Breaks), 0);
    let later = window(
        "  t time from 1 s to 600 s \"t\" set\n  n number \"n\" set\n",
        "  when bed.t above 60 s\n  shall bed.n at most 1\n",
        "  t 30 s\n  n 2\n",
        "bed.t",
    );
    assert_eq!(said(&later), ["[1 s, 60 s] holds", "(60 s, 600 s] breaks"]);
}

#[test]
fn an_edge_that_is_no_fraction_is_closed_in_on_and_both_sides_are_kept() {
    for (clauses, holds, fails) in [
        (
            "  shall bed.x * bed.x at most 5000\n",
            "[1, 70.710) holds",
            "(70.711, 100] breaks",
        ),
        (
            "  shall bed.x ^ 3 at most 2000\n",
            "[1, 12.599) holds",
            "(12.600, 100] breaks",
        ),
        (
            "  shall root(bed.x) at most 3.3\n",
            "[1, 10.889) holds",
            "(10.891, 100] breaks",
        ),
    ] {
        let window = window(
            "  x number from 1 to 100 \"x\" set\n",
            clauses,
            "  x 3\n",
            "bed.x",
        );
        let said = said(&window);
        let shown: Vec<String> = said
            .iter()
            .filter(|text| !text.contains("not decided"))
            .cloned()
            .collect();
        assert_eq!(shown.len(), 2, "{clauses}: {said:?}");
        let inner = |text: &str| text.replace(['[', ']', '(', ')'], "");
        assert_eq!(inner(&shown[0]), inner(holds), "{clauses}");
        assert_eq!(inner(&shown[1]), inner(fails), "{clauses}");
        let open: f64 = stretches(&window)
            .iter()
            .filter(|stretch| stretch.zone == Zone::NotDecided)
            .map(|stretch| stretch.high.at - stretch.low.at)
            .sum();
        assert!(open < 1e-9, "{open}");
        // Only what is shown to be the edge is given as a fraction.
        let ends = stretches(&window).iter();
        let ends: Vec<&str> = ends
            .flat_map(|stretch| [&stretch.low, &stretch.high])
            .filter_map(|end| end.exact.as_deref())
            .collect();
        assert_eq!(ends, ["1", "100"], "{clauses}");
    }
}

/// One of two settings stands at an end already, and need not be moved.
#[test]
fn the_nearest_set_point_leaves_alone_what_stands_at_an_end() {
    let plan = "run \"a\" against \"room.std\"\nbed {\n  x 15\n  y 0\n}\n";
    let settings = "  x number from 0 to 20 \"x\" set\n  y number from 0 to 20 \"y\" set\n";
    let rules = rule("  shall bed.x + bed.y at most 10\n");
    let room = small(&standard(settings, &rules), plan);
    let window = found(&room, "a.plan", &["bed.x", "bed.y"]);
    let point = window.nearest.as_ref().unwrap();
    assert_eq!(point.at[1], 0.0, "{point:?}");
}

#[test]
fn only_one_side_claims_an_edge() {
    let window = window(
        "  x time from 10 s to 50 s \"x\" set\n",
        "  shall bed.x at most 18 s\n",
        "  x 15 s ± 0.6 s\n",
        "bed.x",
    );
    assert_eq!(
        said(&window),
        [
            "[10.6 s, 17.4 s] holds",
            "(17.4 s, 18.6 s] at risk",
            "(18.6 s, 49.4 s] breaks"
        ]
    );
}

#[test]
fn the_nearest_set_point_passes_as_it_is_printed() {
    for (clauses, nearest) in [
        // 70.7106…: rounded to the nearest it would be short of the limit.
        ("  shall bed.t * bed.t at least 5000 s²\n", "71.43 s ± 1 %"),
        ("  shall bed.t above 60 s\n", "60.61 s ± 1 %"),
    ] {
        let window = window(
            "  t time from 1 s to 600 s \"t\" set\n",
            clauses,
            "  t 5 s ± 1 %\n",
            "bed.t",
        );
        let point = window.nearest.as_ref().unwrap();
        assert_eq!(point.words, [nearest], "{clauses}");
        assert_eq!(point.counts.of(Outcome::Holds), 1, "{clauses}");
    }
    // The end itself is left out: the nearest is the next that can be written.
    let window = window(
        "  t time from 1 s to 600 s \"t\" set\n  n number \"n\" set\n",
        "  when bed.t at least 60 s\n  shall bed.n at most 1\n",
        "  t 90 s\n  n 2\n",
        "bed.t",
    );
    let point = window.nearest.as_ref().unwrap();
    assert_eq!(point.words, ["59.99 s"]);
    assert_eq!(point.counts.of(Outcome::Breaks), 0);
}

#[test]
fn the_room_around_a_set_point_is_printed_inside_it() {
    let window = window(
        "  t time from 1 s to 600 s \"t\" set\n",
        "  shall bed.t * bed.t within 10 s² to 5000 s²\n",
        "  t 30 s\n",
        "bed.t",
    );
    let ((_, low), (_, high)) = &window.best.as_ref().unwrap().around[0];
    let number = |text: &str| text.trim_end_matches(" s").parse::<f64>().unwrap();
    let (low, high) = (number(low), number(high));
    assert!(low * low >= 10.0 && high * high <= 5000.0, "{low} {high}");
}

#[test]
fn what_cannot_be_is_no_ground_to_hold_on() {
    // Threads thicker than they are apart leave no opening, and its square is an open area all the same.
    let of_thread = window(
        "  mesh thread-count from 4 /cm to 200 /cm \"mesh\"\n  thread length from 15 µm to 600 µm \"thread\" set\n  \
         opening length from 1 µm to 3000 µm = 1 / mesh - thread \"opening\" set\n  \
         area share from 0.1 % to 99 % = (opening * mesh) ^ 2 \"open\"\n",
        "  shall bed.area at least 30 %\n",
        "  mesh 54 /cm\n  thread 300 µm\n",
        "bed.thread",
    );
    let holding: Vec<&ZoneStretch> = stretches(&of_thread)
        .iter()
        .filter(|stretch| stretch.zone == Zone::Holds)
        .collect();
    assert_eq!(holding.len(), 1, "{:?}", said(&of_thread));
    assert!(holding[0].high.at < 90.0);
    // As it is set now the area would do, and the opening is less than nothing.
    let present = of_thread.present.as_ref().unwrap();
    assert_eq!(present.zone, Zone::Breaks);
    let by = &of_thread.cuts[present.failing[0]];
    assert_eq!(by.wants, "`bed.opening` at least 1 µm, as is possible");
}

#[test]
fn what_cannot_be_written_is_not_proposed() {
    let proposed = |tolerance: &str| {
        let window = window(
            "  wide length from 0 mm to 900 mm \"wide\" set\n",
            "  shall bed.wide at most 10 mm\n",
            &format!("  wide 20 mm ± {tolerance} mm\n"),
            "bed.wide",
        );
        (window.nearest.is_some(), window.best.is_some())
    };
    assert_eq!(proposed("0.123456789012"), (true, true));
    assert_eq!(proposed("0.12345678901234567"), (false, false));
}

#[test]
fn an_edge_is_exact_only_where_nothing_else_can_change_beside_it() {
    // `a` at least 20 and at most 1000/7 both lie in the way; a fraction that is the edge of one is not that of both.
    let window = window(
        "  x number from 1 to 300 \"x\" set\n",
        "  shall 7 * bed.x at most 1000\n",
        "  x 3 ± 1\n",
        "bed.x",
    );
    let ends: Vec<Option<&str>> = stretches(&window)
        .iter()
        .map(|stretch| stretch.high.exact.as_deref())
        .collect();
    assert_eq!(ends, [Some("993/7"), Some("1007/7"), Some("299")]);
    // Where a comparison stays in doubt, what it leaves may hang together with the one that changes.
    let doubt = self::window(
        "  x number from 1 to 100 \"x\" set\n  y number from 0 to 9 \"y\" set\n",
        "  when bed.x + bed.y at least 50\n  shall bed.x + bed.y at least 49\n",
        "  x 3\n  y 3 ± 2\n",
        "bed.x",
    );
    assert!(
        stretches(&doubt)
            .iter()
            .all(|stretch| stretch.zone == Zone::Holds),
        "{:?}",
        said(&doubt)
    );
}
