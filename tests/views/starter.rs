//! The starter room: it checks clean for all answers that go together, and says so where they do not.

use std::collections::BTreeMap;

use strikeoff::check::{Options, TestOptions};
use strikeoff::cli::{Answer, Disk, Draft, Named, NoDraft, Request, check, draft, questions, test};
use strikeoff::diagnostic::{Code, Outcome, Severity};
use strikeoff::names::shipped;
use strikeoff::report::Verdict;

use super::command::Folder;

fn choices(name: &str) -> Vec<&'static str> {
    let questions = questions();
    let question = questions
        .asked
        .iter()
        .find(|question| question.name == name);
    match &question.unwrap().answer {
        Answer::Choice(choices) => choices.iter().map(|choice| choice.name).collect(),
        other => panic!("{other:?}"),
    }
}

fn drafted(answers: &[(&str, &str)]) -> Result<Draft, NoDraft> {
    let answers: BTreeMap<String, String> = answers
        .iter()
        .map(|(name, answer)| ((*name).to_owned(), (*answer).to_owned()))
        .collect();
    draft(&questions(), &answers)
}

/// Writes a draft and checks the folder from the disk, as `strikeoff check FOLDER` does.
fn checks_clean(folder: &Folder, draft: &Draft) {
    let mut named = Named::default();
    for (path, text) in &draft.texts {
        let whole = folder.0.join(path);
        std::fs::create_dir_all(whole.parent().unwrap()).unwrap();
        std::fs::write(&whole, text).unwrap();
        let whole = whole.to_str().unwrap().to_owned();
        if path.ends_with(".plan") {
            named.plans.push(whole);
        } else if path.ends_with(".std") {
            named.standards.push(whole);
        }
    }
    assert_eq!((named.plans.len(), named.standards.len()), (1, 1));
    let request = Request {
        named,
        stdin: None,
        standard: None,
        date: "2026-11-25".to_owned(),
        options: Options::default(),
    };
    let report = check(request, &Disk::below(&folder.0).unwrap()).report;
    let said: Vec<_> = report
        .all_diagnostics()
        .filter(|said| said.severity != Severity::Note)
        // Nobody has read anything off yet: the plan says so, and the room puts in its own.
        .filter(|said| said.code != Code::ReadingUndated)
        .collect();
    assert!(said.is_empty(), "{said:#?}");
    assert_eq!(Verdict::of_plan(&report.plans[0], false), Verdict::Passes);
    assert!(report.plans[0].counts.of(Outcome::Holds) >= 10);
    let room = folder.0.join("room.std");
    let disk = Disk::below(&folder.0).unwrap();
    let tested = test(room.to_str().unwrap(), TestOptions::default(), &disk);
    let tested = tested.found.unwrap_or_else(|said| panic!("{said:#?}"));
    assert_eq!(
        (tested.examples.len(), tested.failed()),
        (1, 0),
        "{:#?}",
        tested.examples
    );
}

/// Which inks suit which cloth, by hand from the limits of the shipped rules: ink that meets polyester
/// resists bleed and cures at 300 °F or lower; sublimated polyester wants a barrier; elastane stays at
/// or below 160 °C (320 °F) and so does acrylic, polypropylene stays at or below 280 °F and wants ink that cures
/// from 271 °F, so that a probe can show it; sports fabric wants an ink that stretches; nylon wants its own ink; discharge wants cellulose only, puff half
/// of it.
fn suits(ink: &str, cloth: &str) -> bool {
    let resists = [
        "low-bleed-white",
        "block-letter-white",
        "dye-blocking-underbase",
        "silicone-ink",
    ]
    .contains(&ink);
    let hot = [
        "glitter-plastisol",
        "metallic-plastisol",
        "shimmer-plastisol",
    ]
    .contains(&ink);
    match cloth {
        "cotton-jersey" | "ring-spun-jersey" | "damp-cotton-jersey" | "cotton-fleece"
        | "cotton-canvas" => true,
        "fifty-fifty-jersey" | "blend-fleece" | "tri-blend-jersey" | "polyester-interlock" => {
            resists
        }
        // A print that does not stretch cracks on it.
        "stretch-sport-jersey" => ink == "silicone-ink",
        "sublimated-interlock" => ink == "dye-blocking-underbase",
        // Elastane is no cellulose, so discharge leaves its colour.
        "stretch-cotton-jersey" => !hot && ink != "discharge-ink",
        "acrylic-knit" => !hot && !["puff-plastisol", "discharge-ink"].contains(&ink),
        "nylon-taffeta" | "coated-nylon" => ink == "nylon-plastisol",
        "polypropylene-bag" => {
            ["low-bleed-white", "dye-blocking-underbase", "silicone-ink"].contains(&ink)
        }
        other => panic!("{other}"),
    }
}

#[test]
fn every_pair_checks_clean_or_is_refused_for_a_reason() {
    let folder = Folder::new("pairs");
    let (mut clean, mut wrong) = (0, Vec::new());
    for ink in choices("ink") {
        for cloth in choices("fabric") {
            let found = drafted(&[("ink", ink), ("fabric", cloth)]);
            if found.is_ok() != suits(ink, cloth) {
                wrong.push(format!(
                    "{ink} on {cloth}: {}",
                    if found.is_ok() { "written" } else { "refused" }
                ));
            }
            match found {
                Ok(draft) => {
                    checks_clean(&folder, &draft);
                    clean += 1;
                }
                Err(NoDraft::Unsuitable(trouble)) => {
                    let rules = trouble.1.iter().filter(|said| said.finding.is_some());
                    assert!(rules.count() > 0, "{ink} on {cloth}");
                }
                Err(other) => panic!("{ink} on {cloth}: {other:?}"),
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(clean > 100, "{clean}");
}

#[test]
fn every_family_that_ships_is_offered() {
    for (kind, spec, question, not) in [
        // These two are families of families.
        (
            "ink",
            "inks",
            "ink",
            &["plastisol-ink", "low-bleed-plastisol"][..],
        ),
        ("garment", "fabrics", "fabric", &[][..]),
    ] {
        let text = shipped(spec).unwrap();
        let names = text
            .lines()
            .filter_map(|line| line.strip_prefix(&format!("{kind} ")));
        let names = names.map(|rest| rest.split_whitespace().next().unwrap());
        let mut wanted: Vec<&str> = names.filter(|name| !not.contains(name)).collect();
        let mut offered = choices(question);
        wanted.sort_unstable();
        offered.sort_unstable();
        assert_eq!(offered, wanted);
    }
}

#[test]
fn tunnels_of_any_sensible_length_check_clean() {
    let folder = Folder::new("tunnels");
    for length in [
        "0.6 m",
        "1 m",
        "8 ft",
        "2.44 m ± 2 cm",
        "96 in",
        "488 cm",
        "10 m",
        "15 m",
    ] {
        for ink in ["water-based-ink", "standard-plastisol"] {
            let answers = [
                ("tunnel-length", length),
                ("ink", ink),
                ("fabric", "cotton-jersey"),
            ];
            let draft = drafted(&answers).unwrap_or_else(|why| panic!("{length}: {why:?}"));
            assert!(
                draft.texts[0]
                    .1
                    .contains(&format!("chamber          {length}\n"))
            );
            checks_clean(&folder, &draft);
        }
    }
}

#[test]
fn answers_stay_answers() {
    let folder = Folder::new("answers");
    for name in [
        "Back \"Lane\"",
        "a\\",
        "{{ink}}",
        "# no comment",
        "}",
        "Größe Øst 店",
        "<b>",
    ] {
        let draft = drafted(&[("room", name), ("edition", name)]).unwrap();
        checks_clean(&folder, &draft);
        let written = name.replace('\\', "\\\\").replace('"', "\\\"");
        let head = format!("standard \"{written}\" edition \"{written}\"\n");
        assert!(draft.texts[0].1.contains(&head), "{}", draft.texts[0].1);
    }
    for (question, answer) in [
        ("room", "two\nlines"),
        ("tunnel-length", "2 m\n}"),
        ("tunnel-length", "2 m # long"),
        ("tunnel-length", "2 m \"long\""),
        ("tunnel-length", ""),
        ("ink", "lemonade"),
        ("fabric", "standard-plastisol"),
    ] {
        let found = drafted(&[(question, answer)]);
        assert!(
            matches!(found, Err(NoDraft::Answer(_))),
            "{question} {answer:?}"
        );
    }
    for (question, answer) in [
        ("tunnel-length", "2.44 kg"),
        ("tunnel-length", "900 m"),
        ("heads", "many"),
    ] {
        let found = drafted(&[(question, answer)]);
        assert!(
            matches!(found, Err(NoDraft::Text(_))),
            "{question} {answer:?}"
        );
    }
}

#[test]
fn no_part_is_left_open_and_nothing_is_filled_in_twice() {
    for ink in choices("ink") {
        let Ok(draft) = drafted(&[("ink", ink), ("fabric", "cotton-jersey")]) else {
            panic!("{ink}");
        };
        for (path, text) in &draft.texts {
            // `${{ … }}` is of the build server.
            let text = text.replace("${{ github.token }}", "");
            assert!(
                !text.contains("{{") && !text.contains("}}"),
                "{path}: {text}"
            );
        }
    }
}
