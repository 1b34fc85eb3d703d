//! Text, JSON and picture say the same.

use super::{demo, found, looked, refused};
use strikeoff::diagnostic::{Window, Zone};
use strikeoff::report::{self, Style};
use strikeoff::source::Store;
use strikeoff::window::BUDGET;

const PLAN: &str = "demo-data/plans/tri-blend-too-fast.plan";

fn views(plan: &str, free: &[&str], budget: u64) -> (Window, Store, String) {
    let run = looked(&demo(), plan, free, budget);
    let window = run.found.unwrap_or_else(|none| panic!("{none:?}"));
    let mut out = Vec::new();
    let style = Style {
        width: 1000,
        ..Style::default()
    };
    report::window(&window, &run.store, &style, &mut out).unwrap();
    (window, run.store, String::from_utf8(out).unwrap())
}

#[test]
fn one_setting_as_text() {
    let (_, _, text) = views(PLAN, &["dryer.belt"], BUDGET);
    let end = text.find("\ncautions").unwrap();
    insta::assert_snapshot!(&text[..end]);
}

#[test]
fn json_fits_its_schema() {
    let schema: serde_json::Value = serde_json::from_str(report::window_schema()).unwrap();
    jsonschema::meta::validate(&schema).expect("the schema itself");
    let schema = jsonschema::draft202012::new(&schema).unwrap();
    let unstated = "demo-data/plans/belt-not-stated.plan";
    for (plan, free) in [
        (PLAN, vec!["dryer.belt"]),
        (PLAN, vec!["dryer.belt,dryer.set-point"]),
        (PLAN, vec!["dryer.set-point"]),
        (unstated, vec!["dryer.belt"]),
        (
            "demo-data/plans/tri-blend-by-deviation.plan",
            vec!["dryer.belt", "dryer.set-point", "screen.off-contact"],
        ),
    ] {
        let (window, store, _) = views(plan, &free, 500);
        let mut out = Vec::new();
        report::window_json(&window, &store, &mut out).unwrap();
        let value = serde_json::from_slice(&out).unwrap();
        let wrong: Vec<String> = schema
            .iter_errors(&value)
            .map(|error| format!("{} {error}", error.instance_path()))
            .collect();
        assert!(wrong.is_empty(), "{plan}: {wrong:#?}");
    }
    assert!(!schema.is_valid(&serde_json::json!({"format": "strikeoff-window", "version": 2})));
}

/// All texts of an XML document, and the boxes' own words.
fn texts(xml: &str) -> Vec<String> {
    use quick_xml::events::Event;
    let mut reader = quick_xml::Reader::from_str(xml);
    let mut found = Vec::new();
    let mut current = String::new();
    loop {
        match reader.read_event().unwrap() {
            Event::Eof => break,
            Event::Text(text) => current.push_str(&text.decode().unwrap()),
            Event::GeneralRef(name) => current.push_str(match &*name.decode().unwrap() {
                "amp" => "&",
                "lt" => "<",
                "gt" => ">",
                "quot" => "\"",
                "#39" => "'",
                other => panic!("{other}"),
            }),
            Event::End(_) => {
                let text = std::mem::take(&mut current);
                found.extend(Some(text.trim().to_owned()).filter(|text| !text.is_empty()));
            }
            _ => {}
        }
    }
    found
}

#[test]
fn the_picture_says_what_the_text_says() {
    let plan = "demo-data/fitted/plans/cotton-from-a-dry-store.plan";
    for (plan, free, budget) in [
        (PLAN, "dryer.belt", 500),
        (PLAN, "dryer.belt,dryer.set-point", 500),
        (
            plan,
            "dryer.belt 2 to 9 m/min, dryer.set-point 290 to 370 °F",
            1_500,
        ),
    ] {
        let (window, store, text) = views(plan, &[free], budget);
        let plain = text.replace('`', "");
        let svg = report::window_picture(&window);
        let page = report::window_page(&window, &store);
        for xml in [&svg, &page] {
            let all = texts(xml).join("\n");
            // The same set points, the same space around, the same shares.
            for line in plain.lines().map(str::trim) {
                let told = [
                    "as set now",
                    "nearest ",
                    "most margin ",
                    "space around it",
                    "shares ",
                ];
                if !told.iter().any(|start| line.starts_with(start)) {
                    continue;
                }
                let line = line.trim_start_matches("shares").trim();
                let wanted = line
                    .trim_start_matches("nearest")
                    .trim_start_matches("most margin")
                    .trim()
                    .trim_end_matches(" of all set points looked at");
                assert!(all.contains(wanted), "{wanted}\n{all}");
            }
            // Every rule that cuts the region beside a box that holds is named.
            for setting in &window.settings {
                let holding = setting.stretches.iter().filter(|s| s.zone == Zone::Holds);
                for cut in holding.flat_map(|s| [s.low.cut, s.high.cut]).flatten() {
                    assert!(
                        all.contains(&window.cuts[cut].rule),
                        "{:?}",
                        window.cuts[cut]
                    );
                }
            }
        }
        // The boxes are drawn as they are: hatched, and with words of their own.
        assert!(svg.contains("url(#breaks)") && svg.contains("data-zone=\"holds\""));
        assert!(!page.contains("<script") && !page.contains("http://") || page.contains("w3.org"));
    }
}

#[test]
fn hostile_names_stay_in_their_place() {
    let mut room = demo();
    let text = room.texts[PLAN].clone().unwrap();
    let hostile = text.replace("run \"", "run \"</svg><b>&amp; ");
    assert_ne!(hostile, text);
    room.texts.insert(PLAN.to_owned(), Ok(hostile));
    let window = found(&room, PLAN, &["dryer.belt"]);
    let svg = report::window_picture(&window);
    let page = report::window_page(&window, &Store::new());
    for xml in [&svg, &page] {
        assert!(!xml.contains("<b>") && xml.contains("&lt;b&gt;"));
        texts(xml);
    }
    let said = refused(&room, PLAN, &["dryer.\u{202e}belt"]);
    assert!(!said.contains('\u{202e}'), "{said}");
}

/// A sliver far from where the settings stand is drawn large, and what is not drawn is said.
#[test]
fn a_sliver_is_drawn_large() {
    let standard = "standard \"Bench\" edition \"1\"\n\nkind pad, one to a run \"two dials\" {\n  left   number from 0 to 10 \"left dial\" set\n  right  number from 0 to 10 \"right dial\" set\n}\n\nrule r0 {\n  shall pad.right at least pad.left\n  per practice\n}\n\nrule r1 {\n  shall pad.left + pad.right at least 10\n  per practice\n}\n\nrule r2 {\n  shall pad.right at most 5.01\n  per practice\n}\n";
    let plan = "run \"a\" against \"room.std\"\n\npad {\n  left   5\n  right  1\n}\n";
    let window = found(
        &super::small(standard, plan),
        "a.plan",
        &["pad.left,pad.right"],
    );
    let all = texts(&report::window_picture(&window));
    assert!(
        all.iter()
            .any(|text| text.contains("outside what is drawn")),
        "{all:?}"
    );
    // Ticks as close as the sliver is narrow.
    assert!(all.contains(&"5.005".to_owned()), "{all:?}");
}
