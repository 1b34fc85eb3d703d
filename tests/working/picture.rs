//! The picture: what is in it, and that it is an SVG a reader of screens can read.

use quick_xml::Reader;
use quick_xml::events::Event;
use strikeoff::check::Options;
use strikeoff::diagnostic::{Outcome, Panel, Side};
use strikeoff::report;

use super::small::{PLAN, pictured, room};

/// All texts of an SVG; fails where it is no XML.
fn texts(svg: &str) -> Vec<String> {
    let mut reader = Reader::from_str(svg);
    let mut found = Vec::new();
    let mut text = String::new();
    loop {
        match reader.read_event().unwrap() {
            Event::Eof => return found,
            Event::Text(piece) => text.push_str(&piece.decode().unwrap()),
            Event::GeneralRef(name) => {
                text.push('&');
                text.push_str(&name.decode().unwrap());
            }
            Event::End(_) if !text.trim().is_empty() => {
                found.push(text.trim().to_owned());
                text.clear();
            }
            _ => {}
        }
    }
}

fn panel(panels: &[Panel], setting: &str) -> Panel {
    let found = panels.iter().find(|panel| panel.setting == setting);
    found
        .unwrap_or_else(|| panic!("no panel of {setting}"))
        .clone()
}

#[test]
fn one_panel_for_the_film_and_one_for_the_plate() {
    let picture = pictured(PLAN, &[]);
    let settings: Vec<&str> = picture
        .panels
        .iter()
        .map(|panel| panel.setting.as_str())
        .collect();
    assert_eq!(settings, ["coat.peak", "plate.last"]);
    assert_eq!(picture.left_out, 0);
    assert!(pictured(PLAN, &["oven.dwell"]).panels.is_empty());
}

#[test]
fn the_film_leaves_at_the_end_of_the_dwell() {
    let film = panel(&pictured(PLAN, &[]).panels, "coat.peak");
    let exit = &film.marks[0];
    // 2.44 m at 2.6 m/min, by hand.
    assert!((exit.at - 2.44 / 2.6 * 60.0).abs() < 1e-9, "{exit:?}");
    assert!(exit.strong);
    let (first, last) = exit.span.unwrap();
    assert!(first < exit.at && exit.at < last);
    // Behind the exit it only cools, before it only warms.
    let boundary = &film.curves[0].points;
    let highest = boundary
        .iter()
        .max_by(|one, other| one.1.total_cmp(&other.1))
        .unwrap();
    assert!((highest.0 - exit.at).abs() < 1.5, "{highest:?}");
}

#[test]
fn the_band_holds_the_nominal_run_and_its_top_is_the_figure() {
    let room = room(PLAN);
    let run = super::small::run(&room, "a.plan", &["coat.peak"], true);
    let (working, picture) = run.found.unwrap();
    let film = panel(&picture.unwrap().panels, "coat.peak");
    for ((_, nominal), (_, low, high)) in film.curves[0].points.iter().zip(&film.curves[0].band) {
        assert!(low <= nominal && nominal <= high);
    }
    let figure = working.figures[0].result.clone().unwrap().unwrap();
    let celsius = |fahrenheit: f64| (fahrenheit - 32.0) / 1.8;
    let top = |of: fn(&(f64, f64, f64)) -> f64| {
        let values = film.curves[0].band.iter().map(of);
        celsius(values.fold(f64::NEG_INFINITY, f64::max))
    };
    assert_eq!(film.up, "temperature, °F");
    assert_eq!(figure.words.split(' ').next_back(), Some("°C"));
    // The figure is wider by its accuracy of 0.3 K and what is shown outward.
    assert!(
        (top(|point| point.2) - figure.high).abs() < 0.5,
        "{}",
        figure.words
    );
    assert!(
        (top(|point| point.1) - figure.low).abs() < 0.6,
        "{}",
        figure.words
    );
}

#[test]
fn the_limits_of_the_rules_are_drawn() {
    let film = panel(&pictured(PLAN, &[]).panels, "coat.peak");
    let limits: Vec<(Side, &str)> = film
        .limits
        .iter()
        .map(|limit| (limit.side, limit.value.as_str()))
        .collect();
    assert_eq!(
        limits,
        [
            (Side::Above, "300 °F"),
            (Side::Below, "340 °F"),
            (Side::Watched, "302 °F")
        ]
    );
    assert_eq!(film.limits[2].asked_by, ["coat.hold"]);
    assert_eq!(film.limits[0].asked_by, ["cures"]);
}

/// The number of the piece is that at which the rule itself turns over.
#[test]
fn the_piece_that_passes_the_limit_is_the_one_at_which_the_rule_turns() {
    let plate = panel(&pictured(PLAN, &[]).panels, "plate.last");
    assert_eq!(plate.marks.len(), 2, "{:?}", plate.marks);
    let outcome = |pieces: f64, plan: &str| {
        let plan = plan.replace("  pieces    300\n", &format!("  pieces    {pieces}\n"));
        let run = room(&plan).check(vec!["a.plan".to_owned()], Options::default());
        let checks = &run.report.plans[0].checks;
        checks
            .iter()
            .find(|check| check.rule == "cool-plate")
            .unwrap()
            .outcome
    };
    // The warmest run: up to there the rule holds, or cannot be shown only because the figure is a sample.
    let first = plate.marks[0].at;
    assert!(plate.marks[0].words.contains("warmest run is above 40 °C"));
    let before = outcome(first - 1.0, PLAN);
    let after = outcome(first, PLAN);
    assert_eq!(
        (before, after),
        (Outcome::Holds, Outcome::AtRisk),
        "piece {first}"
    );
    // The nominal run: the same plan without tolerances breaks from there on.
    let sharp = PLAN
        .replace("7 kW/m² ± 3 %", "7 kW/m²")
        .replace("20 W/(m²·K) ± 10 %", "20 W/(m²·K)");
    let nominal = plate.marks[1].at;
    assert!(plate.marks[1].words.contains("nominal run"));
    assert_eq!(outcome(nominal - 1.0, &sharp), Outcome::Holds);
    assert_eq!(outcome(nominal, &sharp), Outcome::Breaks);
}

#[test]
fn a_rule_that_may_not_apply_says_so() {
    let mut room = room(PLAN);
    let standard = room.texts.get_mut("bench.std").unwrap().as_mut().unwrap();
    standard.push_str(
        "\nrule maybe {\n  when      frame.strokes at least 3\n  for each  frame\n  shall     coat.peak at most 170 °C\n  because   \"so\"\n  per       practice\n}\n\nrule never {\n  when      oven.belt at least 9 m/min\n  shall     coat.peak at most 171 °C\n  because   \"so\"\n  per       practice\n}\n",
    );
    let plan = PLAN.replace(
        "  thread    64 µm\n",
        "  thread    64 µm\n  strokes   1 to 5\n",
    );
    room.texts.insert("a.plan".to_owned(), Ok(plan));
    let (_, picture) = super::small::run(&room, "a.plan", &["coat.peak"], true)
        .found
        .unwrap();
    let film = panel(&picture.unwrap().panels, "coat.peak");
    let asked: Vec<&str> = film
        .limits
        .iter()
        .flat_map(|limit| limit.asked_by.iter().map(String::as_str))
        .collect();
    assert!(asked.contains(&"maybe (if it applies)"), "{asked:?}");
    assert!(
        !asked.iter().any(|name| name.starts_with("never")),
        "{asked:?}"
    );
}

#[test]
fn a_stated_peak_is_mentioned() {
    let plan = PLAN.replace("coat {\n", "coat {\n  peak      305 °F ± 5 °F\n");
    let film = panel(&pictured(&plan, &[]).panels, "coat.peak");
    assert!(
        film.notes
            .iter()
            .any(|note| note.starts_with("coat.peak is stated as 305 °F ± 5 °F")),
        "{:?}",
        film.notes
    );
}

#[test]
fn the_svg_can_be_read_and_is_the_same_every_time() {
    let svg = report::picture(&pictured(PLAN, &[]));
    assert_eq!(svg, report::picture(&pictured(PLAN, &[])));
    let texts = texts(&svg);
    assert_eq!(texts[0], "Heat in Trial run");
    assert!(
        texts[1].contains("Limit: at least 300 °F, asked by cures."),
        "{}",
        texts[1]
    );
    assert!(svg.contains("role=\"img\"") && svg.contains("aria-labelledby=\"title desc\""));
    for words in [
        "at least 300 °F",
        "at most 340 °F",
        "piece number",
        "time, s",
        "ink surface",
    ] {
        assert!(texts.iter().any(|text| text == words), "{words}");
    }
    // Told apart without colour: every colour is a grey.
    for piece in svg.split('#').skip(1) {
        let hex = &piece[..6];
        assert!(hex[..2] == hex[2..4] && hex[2..4] == hex[4..], "{hex}");
    }
    insta::assert_snapshot!(svg);
}

#[test]
fn hostile_text_stays_text() {
    let name = "</title><script>x</script> & \u{ffff}\u{200b}";
    let plan = PLAN.replace("Trial run", name);
    let svg = report::picture(&pictured(&plan, &[]));
    assert!(!svg.contains("<script>") && !svg.contains('\u{200b}') && !svg.contains('\u{ffff}'));
    assert!(texts(&svg)[0].starts_with("Heat in"));
}

#[test]
fn a_run_of_a_million_pieces_is_drawn_as_well() {
    let plan = PLAN.replace("  pieces    300\n", "  pieces    1000000\n");
    let plate = panel(&pictured(&plan, &[]).panels, "plate.last");
    assert!(plate.curves[0].points.len() <= 240);
    assert_eq!(plate.curves[0].points.last().unwrap().0, 1_000_000.0);
}
