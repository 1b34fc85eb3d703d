//! Reviews of the specs that ship and of the demo rooms: what is found there is known and explained.

use std::collections::BTreeSet;

use strikeoff::diagnostic::{Code, Review, Severity};

use crate::{demo, of, one, reviewed};

/// The rules that clash, by pair; everything else above a note.
fn summary(review: &Review) -> (BTreeSet<String>, Vec<String>) {
    let mut clashes = BTreeSet::new();
    let mut others = Vec::new();
    for finding in &review.findings {
        match finding.said.code {
            Code::PairRuledOut => {
                let words = &finding.said.headline;
                let (_, rules) = words.split_once("can keep ").unwrap();
                let rules = rules.split(", nor").next().unwrap();
                clashes.insert(rules.replace('`', ""));
            }
            Code::WindowTooNarrow => {}
            _ if finding.said.severity != Severity::Note => {
                others.push(finding.said.headline.clone())
            }
            _ => {}
        }
    }
    (clashes, others)
}

/// Inks and cloths that do not go together by the specs' own limits. Each pair of rules is one reason,
/// and a room that wants to say so beforehand writes a rule on the records.
const KNOWN: &[&str] = &[
    "cool-film-on-polyester and film-cures-the-ink",
    "film-cures-the-ink and polypropylene-stays-below-softening",
    "film-cures-the-ink and sublimated-polyester-stays-coolest",
];

fn is_explained(review: &Review) {
    let (clashes, others) = summary(review);
    let known: BTreeSet<String> = KNOWN.iter().map(|&one| one.to_owned()).collect();
    assert_eq!(clashes, known);
    assert_eq!(others, Vec::<String>::new());
    assert_eq!(review.count(Severity::Error), 0);
}

#[test]
fn the_demo_rooms() {
    is_explained(&reviewed(&demo("demo-data"), "harbour-room.std").1);
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
    // Where the sources disagree about the onset of dye, the spec keeps the whole span, so that no film that cures
    // a plastisol can be shown to lie below it: that spec is there to say so.
    let disputed = |one: &&strikeoff::diagnostic::ReviewFinding| {
        one.said.code == Code::VainAdvice
            && one
                .said
                .headline
                .contains("follow `film-stays-below-the-dye` and keep `film-cures-the-ink`")
    };
    let mut found = found;
    let before = found.findings.len();
    found.findings.retain(|one| !disputed(&one));
    assert_eq!(found.findings.len() + 1, before, "the dispute is told");
    is_explained(&found);
}

/// The case of the handbook, section 5.2: "Low-cure on polyester with cure 135 and bleed onset 138
/// (275/280 °F)" cannot be verified with a class 2 probe.
#[test]
fn the_handbooks_narrow_window() {
    let (_, found) = reviewed(&demo("demo-data"), "harbour-room.std");
    let narrow = of(&found, Code::WindowTooNarrow);
    let known = narrow.iter().find(|one| {
        one.members
            .contains(&"sublimated-shirt, cool-blue".to_owned())
    });
    assert!(
        known.unwrap().said.headline.contains("275 to 280 °F"),
        "{narrow:#?}"
    );
}
