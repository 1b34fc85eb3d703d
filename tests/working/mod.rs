//! `working`: the figures of a run, the numbers put in, what widens them, and the picture.

mod command;
mod demo;
mod numbers;
mod picture;
mod shipped;
mod small;

use small::{PLAN, figure, json, names, run, text, worked};
use strikeoff::check::NoWorking;
use strikeoff::diagnostic::Basis;

#[test]
fn the_small_room_as_text() {
    let (run, working) = worked(PLAN, &[]);
    insta::assert_snapshot!(text(&run, &working));
}

#[test]
fn the_small_room_as_json() {
    let (run, working) = worked(PLAN, &["oven.dwell", "frame.opening"]);
    let json = json(&run, &working);
    let version = format!("ersion\": \"{}\"", env!("CARGO_PKG_VERSION"));
    insta::assert_snapshot!(json.replace(&version, "ersion\": \"[version]\""));
}

#[test]
fn json_fits_its_schema() {
    let schema = serde_json::from_str(strikeoff::report::working_schema()).unwrap();
    let schema = jsonschema::draft202012::new(&schema).unwrap();
    let missing = PLAN.replace("  belt      2.6 m/min ± 4 %\n", "");
    for (plan, fields) in [
        (PLAN, vec![]),
        (missing.as_str(), vec![]),
        (missing.as_str(), vec!["oven.dwell", "oven.air"]),
    ] {
        let (run, working) = worked(plan, &fields);
        let value = serde_json::from_str(&json(&run, &working)).unwrap();
        let wrong: Vec<String> = schema
            .iter_errors(&value)
            .map(|error| error.to_string())
            .collect();
        assert!(wrong.is_empty(), "{wrong:#?}");
    }
    // The schema itself refuses what does not fit.
    assert!(!schema.is_valid(&serde_json::json!({"format": "strikeoff-working", "version": 2})));
}

#[test]
fn numbers_put_in_come_to_the_same_interval() {
    let (_, working) = worked(
        PLAN,
        &["oven.dwell", "frame.opening", "frame.pitch", "frame.area"],
    );
    assert_eq!(working.figures.len(), 7);
    for figure in &working.figures {
        let formula = figure.formula.as_ref().unwrap();
        let result = figure.result.as_ref().unwrap().as_ref().unwrap();
        let unit = match figure.unit.as_str() {
            "%" => strikeoff::units::Unit::percent(),
            unit => strikeoff::units::Unit::parse(unit).unwrap(),
        };
        let again = numbers::work_out(&formula.numbers);
        let end = |base: f64| {
            let base = strikeoff::units::Exact::from_f64(base).unwrap();
            unit.from_base(&base).nearest()
        };
        let (low, high) = (end(again.lo), end(again.hi));
        // Figures inside are shown with three to six digits, rounded outward or to the nearest.
        let slack = 0.012 * result.high.abs();
        assert!(
            low <= result.low + slack / 10.0,
            "{}: {}",
            figure.setting,
            formula.numbers
        );
        assert!(
            high >= result.high - slack / 10.0,
            "{}: {}",
            figure.setting,
            formula.numbers
        );
        // `area` uses the same thread twice, which the text alone cannot tell.
        if figure.field != "area" {
            assert!(
                (low - result.low).abs() <= slack,
                "{}: {low} {}",
                figure.setting,
                result.low
            );
            assert!(
                (high - result.high).abs() <= slack,
                "{}: {high} {}",
                figure.setting,
                result.high
            );
        }
    }
}

#[test]
fn a_quotient_is_widened_by_what_its_tolerances_say() {
    // d = 2.44 / v: alone, 4 % of belt widen by 8.0 %, 2 cm of chamber by 1.6 %; by hand.
    let (_, working) = worked(PLAN, &["oven.dwell"]);
    let dwell = figure(&working, "oven.dwell");
    let shares: Vec<(&str, f64)> = dwell
        .widened_by
        .iter()
        .map(|part| (part.setting.as_str(), part.share))
        .collect();
    assert_eq!(shares[0].0, "oven.belt");
    assert_eq!(shares[1].0, "oven.chamber");
    let v = (2.6 / 60.0 * 0.96, 2.6 / 60.0, 2.6 / 60.0 * 1.04);
    let width = 2.46 / v.0 - 2.42 / v.2;
    let belt = width - (2.46 - 2.42) / v.1;
    let chamber = width - (2.44 / v.0 - 2.44 / v.2);
    assert!(
        (shares[0].1 - belt / (belt + chamber)).abs() < 1e-9,
        "{shares:?}"
    );
    assert!(
        (shares[1].1 - chamber / (belt + chamber)).abs() < 1e-9,
        "{shares:?}"
    );
}

#[test]
fn shares_are_at_most_the_whole_and_at_most_five_are_listed() {
    let (_, working) = worked(PLAN, &[]);
    let mut widened = 0;
    for figure in &working.figures {
        let listed: f64 = figure.widened_by.iter().map(|part| part.share).sum();
        assert!(figure.widened_by.len() <= 5);
        assert!(
            listed + figure.other_inputs <= 1.0 + 1e-12,
            "{}",
            figure.setting
        );
        let falling = figure
            .widened_by
            .windows(2)
            .all(|pair| pair[0].share >= pair[1].share);
        assert!(falling, "{}", figure.setting);
        widened += usize::from(!figure.widened_by.is_empty());
    }
    assert!(widened > 4);
    let peak = figure(&working, "coat.peak");
    assert!(peak.other_inputs > 0.0 && peak.widened_by.len() == 5);
}

#[test]
fn a_figure_stands_behind_those_it_is_worked_out_from() {
    let (_, working) = worked(PLAN, &[]);
    let at = |setting: &str| {
        let place = working
            .figures
            .iter()
            .position(|figure| figure.setting == setting);
        place.unwrap()
    };
    assert!(at("oven.dwell") < at("coat.peak"));
    assert!(at("frame base: opening") < at("frame base: area"));
    assert!(at("frame base: pitch") < at("frame base: area"));
}

#[test]
fn what_is_sampled_says_so() {
    // Regain moves the film either way: a sharp value leaves the corners exact, a span makes the figure a sample.
    let basis = |regain: &str| {
        let plan = PLAN.replace("regain    7 %", &format!("regain    {regain}"));
        let (run, working) = worked(&plan, &["coat.peak", "oven.dwell"]);
        let of = |setting: &str| {
            let result = figure(&working, setting).result.clone();
            result.unwrap().unwrap().basis
        };
        (of("coat.peak"), of("oven.dwell"), text(&run, &working))
    };
    let (peak, dwell, text) = basis("7 %");
    assert_eq!((peak, dwell), (Basis::Model, Basis::Exact));
    assert!(!text.contains("sampled"), "{text}");
    let (peak, dwell, text) = basis("5 to 9 %");
    assert_eq!((peak, dwell), (Basis::Sampled, Basis::Exact));
    assert!(text.contains("°C (sampled, not exact)"), "{text}");
    assert!(text.contains("no ground for `holds` by itself"), "{text}");
}

#[test]
fn a_stated_value_counts_where_it_says_how_far_it_may_be_off_and_is_compared() {
    for (stated, agrees, words, counts) in [
        (
            "56 s ± 1 s",
            true,
            "stated and worked-out value agree",
            "at a.plan:20; this value counts",
        ),
        (
            "70 s ± 1 s",
            false,
            "stated and worked-out value disagree",
            "at a.plan:20; this value counts",
        ),
        (
            "56 s",
            true,
            "stated and worked-out value agree",
            "at a.plan:20; compared only",
        ),
    ] {
        let plan = PLAN.replace("oven {\n", &format!("oven {{\n  dwell     {stated}\n"));
        let (run, working) = worked(&plan, &["oven.dwell"]);
        let dwell = figure(&working, "oven.dwell");
        let found = dwell.stated.as_ref().unwrap();
        assert_eq!(found.agrees, Some(agrees));
        assert_eq!(found.counts, stated.contains('±'));
        assert_eq!(found.value.words, stated);
        let text = text(&run, &working);
        assert!(text.contains(words), "{text}");
        assert!(text.contains(counts), "{text}");
        // The figures behind it go on with what counts.
        let (_, working) = worked(&plan, &["coat.peak"]);
        let call = &figure(&working, "coat.peak")
            .formula
            .as_ref()
            .unwrap()
            .calls[0];
        assert_eq!(call.inputs[12].parameter, "time");
        if !found.counts {
            assert_ne!(call.inputs[12].numbers, stated);
        }
    }
}

#[test]
fn what_is_missing_is_named() {
    let plan = PLAN.replace("  belt      2.6 m/min ± 4 %\n", "");
    let (_, working) = worked(&plan, &[]);
    let idle: Vec<(&str, &str)> = working
        .idle
        .iter()
        .map(|idle| (idle.setting.as_str(), idle.missing.as_str()))
        .collect();
    let missing = "`oven.belt` is not stated";
    for setting in ["oven.dwell", "coat.peak", "coat.hold"] {
        assert!(idle.contains(&(setting, missing)), "{idle:?}");
    }
    // Asked for by name it is shown with the gap.
    let (run, working) = worked(&plan, &["oven.dwell"]);
    let dwell = figure(&working, "oven.dwell");
    assert_eq!(dwell.result, Some(Err(missing.to_owned())));
    let text = text(&run, &working);
    assert!(
        text.contains("comes to     nothing: `oven.belt` is not stated"),
        "{text}"
    );
    assert!(text.contains("(2.44 m ± 2 cm) / not known"), "{text}");
}

#[test]
fn what_lies_outside_the_model_says_so() {
    let plan = PLAN
        .replace("2.44 m ± 2 cm", "15 m")
        .replace("2.6 m/min ± 4 %", "0.05 m/min");
    let (_, working) = worked(&plan, &["coat.peak"]);
    let reason = figure(&working, "coat.peak")
        .result
        .clone()
        .unwrap()
        .unwrap_err();
    assert!(
        reason.contains("the model of `film-peak` is valid from 0 to 3600 s"),
        "{reason}"
    );
}

#[test]
fn fields_are_found_by_several_names() {
    let settings = |fields: &[&str]| -> Vec<String> {
        let (_, working) = worked(PLAN, fields);
        working
            .figures
            .into_iter()
            .map(|figure| figure.setting)
            .collect()
    };
    assert_eq!(
        settings(&["frame.opening"]),
        ["frame base: opening", "frame top: opening"]
    );
    assert_eq!(settings(&["frame top: opening"]), ["frame top: opening"]);
    assert_eq!(settings(&["oven"]), ["oven.dwell"]);
    assert_eq!(settings(&["oven.air"]), ["oven.air"]);
    assert_eq!(settings(&["frame top"]).len(), 3);
    // Twice asked for is once shown.
    assert_eq!(settings(&["oven.dwell", "oven.dwell"]), ["oven.dwell"]);
}

#[test]
fn a_weavers_value_is_taken_where_it_is_stated() {
    let (_, working) = worked(PLAN, &["frame.opening"]);
    let numbers = |setting: &str| {
        figure(&working, setting)
            .formula
            .as_ref()
            .unwrap()
            .numbers
            .clone()
    };
    assert_eq!(numbers("frame top: opening"), "95 µm ± 2 µm");
    assert_eq!(
        numbers("frame base: opening"),
        "1 / (43 /cm) - (80 µm ± 3 µm)"
    );
}

#[test]
fn an_unknown_field_is_answered_with_the_nearest() {
    let asked = |fields: &[&str]| names(run(&small::room(PLAN), "a.plan", fields, false));
    assert_eq!(
        asked(&["oven.dwel", "frame.openng"]),
        [
            "there is no figure `oven.dwel`; did you mean `oven.dwell`?",
            "there is no figure `frame.openng`; did you mean `frame.opening`?"
        ]
    );
    assert_eq!(
        asked(&["\u{1b}[31m"]),
        [
            "there is no figure `\\u{1b}[31m`; name a figure as in `dryer.dwell`; without a name all of the run are shown"
        ]
    );
}

#[test]
fn a_broken_plan_is_told_and_nothing_is_worked_out() {
    let plan = PLAN.replace("2.6 m/min", "2.6 m/mim");
    let room = small::room(&plan);
    let Err(NoWorking::Text(problems)) = run(&room, "a.plan", &[], false).found else {
        panic!("the plan has an unknown unit");
    };
    assert!(
        problems.iter().any(|said| said.headline.contains("m/mim")),
        "{problems:?}"
    );
    let Err(NoWorking::Text(problems)) = run(&room, "b.plan", &[], false).found else {
        panic!("there is no such plan");
    };
    assert_eq!(problems.len(), 1);
}

#[test]
fn text_from_files_cannot_act_on_the_terminal() {
    let plan = PLAN.replace("Trial run", "Trial\u{200b}run\u{2066}");
    let (run, working) = worked(&plan, &["oven.dwell"]);
    let text = text(&run, &working);
    assert!(text.contains("Trial\\u{200b}run\\u{2066}"), "{text}");
    let json = json(&run, &working);
    assert!(!json.contains('\u{200b}') && !json.contains('\u{2066}'));
}

#[test]
fn the_same_plan_gives_the_same_bytes() {
    let once = || {
        let (run, working) = worked(PLAN, &[]);
        (text(&run, &working), json(&run, &working))
    };
    assert_eq!(once(), once());
}
