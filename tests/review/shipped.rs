//! Reviews of the specs that ship and of the demo rooms: what is found there is known and explained.

use std::collections::BTreeSet;

use strikeoff::diagnostic::{Code, Outcome, Review, Severity};

use super::{demo, of, one, reviewed};

/// Nothing above a note, and the clashes that are explained, by the rules that clash and the rule that says why.
fn explained(review: &Review) -> BTreeSet<String> {
    let loud: Vec<&str> = review
        .findings
        .iter()
        .filter(|one| one.said.severity != Severity::Note)
        .map(|one| one.said.headline.as_str())
        .collect();
    assert_eq!(loud, Vec::<&str>::new());
    let clashes = of(review, Code::Explained).into_iter().filter_map(|one| {
        let (_, rules) = one.said.headline.split_once("can keep ")?;
        let (rules, by) = rules.split_once("; ")?;
        let rules = rules.split(", nor").next()?;
        Some(format!("{rules}: {by}").replace('`', ""))
    });
    clashes.collect()
}

/// Inks and cloths that do not go together by the specs' own limits, and the rule that says so beforehand.
const KNOWN: &[&str] = &[
    "cool-film-on-polyester and film-cures-the-ink: \
     ink-cures-cool-enough-for-polyester says so",
    "film-cures-the-ink and polypropylene-stays-below-softening: \
     ink-cures-cool-enough-for-polypropylene says so",
    "film-cures-the-ink and sublimated-polyester-stays-coolest: \
     ink-cures-cool-enough-for-sublimated-polyester says so",
];

fn is_explained(review: &Review) {
    let known: BTreeSet<String> = KNOWN.iter().map(|&one| one.to_owned()).collect();
    assert_eq!(explained(review), known);
}

#[test]
fn the_demo_rooms() {
    is_explained(&reviewed(&demo("demo-data"), "nosuch-room.std").1);
    is_explained(&reviewed(&demo("demo-data/fitted"), "fitted-room.std").1);
}

#[test]
fn the_specs_that_ship() {
    let uses: String = strikeoff::names::SHIPPED
        .iter()
        .map(|(name, _)| format!("use {name}\n"))
        .collect();
    let (_, found) = reviewed(
        &one(&format!("standard \"All specs\" edition \"1\"\n\n{uses}")),
        "room.std",
    );
    is_explained(&found);
    // Where the sources disagree about the onset of dye, the spec keeps the whole span, so that no film that cures
    // a plastisol can be shown to lie below it: that spec is there to say so.
    let disputed = of(&found, Code::Explained).into_iter().find(|one| {
        one.said
            .headline
            .contains("follow `film-stays-below-the-dye` and keep `film-cures-the-ink`")
    });
    let notes = &disputed.expect("the dispute is told").said.notes;
    assert!(
        notes.iter().any(|note| note.contains("disagree")),
        "{notes:?}"
    );
}

/// The case of the handbook, section 5.2: "Low-cure on polyester with cure 135 and bleed onset 138
/// (275/280 °F)" cannot be verified with a class 2 probe.
#[test]
fn the_handbooks_narrow_window() {
    let (_, found) = reviewed(&demo("demo-data"), "nosuch-room.std");
    assert!(of(&found, Code::WindowTooNarrow).is_empty());
    let narrow = of(&found, Code::Explained);
    let known = narrow.iter().any(|one| {
        let pair = "sublimated-shirt, low-cure-plastisol".to_owned();
        one.members.contains(&pair) && one.said.headline.contains("275 to 280 °F")
    });
    assert!(known, "{narrow:#?}");
}

/// What is called explained is: a plan with the two, and nothing set, breaks the rule that is named.
#[test]
fn a_plan_with_an_explained_pair_hears_of_it() {
    let mut room = demo("demo-data");
    let (_, found) = reviewed(&room, "nosuch-room.std");
    let mut tried = 0;
    for one in of(&found, Code::Explained) {
        // What only recommends is told of without a rule that explains it.
        let Some((_, by)) = one.said.headline.rsplit_once("; ") else {
            continue;
        };
        let rules: Vec<&str> = by.split('`').skip(1).step_by(2).collect();
        for pair in &one.members {
            let (garment, ink) = pair.split_once(", ").unwrap();
            let plan = format!(
                "run \"a pair\" against \"nosuch-room.std\"\n\ngarment is {garment}\n\nscreen one {{\n  ink {ink}\n}}\n"
            );
            room.texts.insert("pair.plan".to_owned(), Ok(plan));
            let options = strikeoff::check::Options {
                explain: true,
                ..strikeoff::check::Options::default()
            };
            let run = room.check(vec!["pair.plan".to_owned()], options);
            let checks = &run.report.plans[0].checks;
            let breaks = checks.iter().any(|check| {
                check.outcome == Outcome::Breaks && rules.contains(&check.rule.as_str())
            });
            assert!(breaks, "{pair}: {by}");
            tried += 1;
        }
    }
    assert!(tried > 150, "{tried}");
}
