//! Twelve faults, one of each kind, planted into the demo room: each is found, and the right lines are named.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use strikeoff::diagnostic::{Code, Evidence, Outcome, Review, ReviewFinding};

use super::{demo, of, reviewed};

/// What is new in a review once lines are added to or changed in a file of the demo room.
fn planted(
    file: &str,
    change: &dyn Fn(&str) -> String,
    code: Code,
) -> Vec<(ReviewFinding, Vec<String>)> {
    static SOUND: LazyLock<Review> =
        LazyLock::new(|| reviewed(&demo("demo-data"), "nosuch-room.std").1);
    let room = demo("demo-data");
    let known: BTreeSet<&str> = of(&SOUND, code)
        .iter()
        .map(|one| one.said.headline.as_str())
        .collect();
    let mut faulty = room.clone();
    let text = room.texts[file].clone().unwrap();
    let changed = change(&text);
    assert_ne!(text, changed, "the fault was planted");
    faulty.texts.insert(file.to_owned(), Ok(changed));
    let (run, found) = reviewed(&faulty, "nosuch-room.std");
    of(&found, code)
        .into_iter()
        .filter(|one| !known.contains(one.said.headline.as_str()))
        .map(|one| (one.clone(), super::marked(&run, one)))
        .collect()
}

fn added(lines: &str) -> impl Fn(&str) -> String {
    let lines = lines.to_owned();
    move |text: &str| format!("{text}\n{lines}\n")
}

fn swapped(from: &str, to: &str) -> impl Fn(&str) -> String {
    let (from, to) = (from.to_owned(), to.to_owned());
    move |text: &str| {
        assert_eq!(text.matches(&from).count(), 1, "`{from}` stands once");
        text.replace(&from, &to)
    }
}

/// Two rules that no run on elastane can keep, whatever the ink.
#[test]
fn fault_1_contradiction() {
    let rule = "rule stretch-wants-heat {\n  when garment.elastane above 0 %\n  shall film.peak at least 165 °C\n  because \"a mistake\"\n  per practice\n}";
    let found = planted("rules.std", &added(rule), Code::Contradiction);
    assert_eq!(found.len(), 1, "{found:#?}");
    let (finding, marked) = &found[0];
    assert_eq!(finding.ground, Evidence::Proved);
    // The smallest set is these two, although other limits on the film are there as well.
    assert_eq!(
        marked,
        &[
            "shall film.peak at least 165 °C",
            "shall      film.peak at most 160 °C"
        ]
    );
    let words: Vec<&str> = finding
        .said
        .labels()
        .iter()
        .map(|label| label.words.as_str())
        .collect();
    assert_eq!(
        words,
        [
            "`stretch-wants-heat` leaves `film.peak` at least 165 °C",
            "`elastane-stays-sound` leaves `film.peak` at most 160 °C",
        ]
    );
    // The run shown keeps one and breaks the other.
    let witness = finding.witness.as_ref().unwrap();
    assert!(witness.counts.of(Outcome::Breaks) >= 1, "{}", witness.plan);
    assert!(witness.plan.contains("film {"), "{}", witness.plan);
}

/// An ink that no cloth can stand is found as well, by its own range.
#[test]
fn fault_1_an_ink_nothing_can_stand() {
    let rule = "rule cool-room {\n  shall film.peak at most 330 °F\n  because \"the belt is of glass fibre\"\n  per practice\n}";
    let ink = "ink hot-glitter is glitter-plastisol {\n  cure 340 to 350 °F per practice\n  flash 3 to 10 s per practice\n}";
    let found = planted(
        "rules.std",
        &added(&format!("{rule}\n\n{ink}")),
        Code::Contradiction,
    );
    assert_eq!(found.len(), 1, "{found:#?}");
    let (finding, marked) = &found[0];
    assert!(marked.contains(&"340 to 350 °F".to_owned()), "{marked:?}");
    assert!(
        finding.said.headline.contains("`hot-glitter`"),
        "{}",
        finding.said.headline
    );
    assert!(
        finding
            .members
            .iter()
            .all(|one| one.contains("hot-glitter"))
    );
}

#[test]
fn fault_2_dead_rule() {
    let rule = "rule all-too-synthetic {\n  when garment.polyester above 60 %\n  when garment.polyester below 40 %\n  when garment.nylon at least 0 %\n  shall dryer.dwell at least 70 s\n  because \"a mistake\"\n  per practice\n}";
    let found = planted("rules.std", &added(rule), Code::DeadRule);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(
        found[0].0.said.headline,
        "`all-too-synthetic` can never apply"
    );
    assert_eq!(
        found[0].1,
        [
            "garment.polyester above 60 %",
            "garment.polyester below 40 %"
        ]
    );
    // Outside what is possible is dead too.
    let rule = "rule more-than-all {\n  when garment.polyester above 100 %\n  shall dryer.dwell at least 70 s\n  because \"a mistake\"\n  per practice\n}";
    let found = planted("rules.std", &added(rule), Code::DeadRule);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].1, ["garment.polyester above 100 %"]);
}

#[test]
fn fault_3_implied_rule() {
    let rule = "rule slower-still {\n  when garment.polyester above 40 %\n  when garment.shade is dark\n  shall dryer.dwell at least 55 s\n  because \"written before the other\"\n  per practice\n}";
    let found = planted("rules.std", &added(rule), Code::Implied);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(
        found[0].0.said.headline,
        "`slow-heat-on-polyester` already implies this requirement of `slower-still`"
    );
    assert_eq!(
        found[0].1,
        [
            "shall dryer.dwell at least 55 s",
            "shall      dryer.dwell at least 60 s"
        ]
    );
}

#[test]
fn fault_4_limit_that_never_binds() {
    let rule = "rule belt-not-too-fast {\n  shall dryer.belt at most 70 ft/min\n  because \"a slip of the unit\"\n  per practice\n}";
    let found = planted("rules.std", &added(rule), Code::NeverBinds);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(found[0].1[0], "shall dryer.belt at most 70 ft/min");
}

#[test]
fn fault_5_pair_without_a_limit() {
    // A new cure limit that speaks of one sort of cloth only.
    let rule = "rule tunnel-air-for-canvas {\n  when garment.construction is canvas\n  shall dryer.air at most 380 °F\n  because \"thick cloth takes it\"\n  per practice\n}";
    let found = planted("rules.std", &added(rule), Code::NoLimit);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert!(found[0].0.said.headline.contains("`dryer.air`"));
    let of_cloth = |cloth: &str| {
        let mut members = found[0].0.members.iter();
        members.any(|one| one.starts_with(&format!("{cloth}, ")))
    };
    assert!(of_cloth("cotton-tee"));
    assert!(!of_cloth("tote"), "the canvas has one");
    // The table has a cell for this pair.
    let pair = "cotton-tee, soft-white".to_owned();
    assert!(!found[0].0.members.contains(&pair));
    // An ink whose flash nobody stated.
    let ink = "ink bare-ink {\n  family silicone\n  mesh 81 to 200 /in per practice\n  squeegee 60 to 80 ShoreA per practice\n  reducer 0 % per practice\n  cure 130 to 180 °C per practice\n}";
    let found = planted("inks.std", &added(ink), Code::RecordLacks);
    let flash = found
        .iter()
        .find(|(one, _)| one.said.headline.contains("`flash`"))
        .unwrap();
    assert_eq!(
        flash.0.said.headline,
        "ink `bare-ink` states no `flash`, which `flash-suits-the-ink` needs"
    );
}

#[test]
fn fault_6_kind_without_rules() {
    let kind = "kind mixer, one to a run \"what stirs the ink\" {\n  spin frequency from 1 /s to 50 /s \"turns of the paddle\" set\n}";
    let found = planted("rules.std", &added(kind), Code::KindWithoutRules);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(found[0].1, ["mixer"]);
}

#[test]
fn fault_7_setting_that_no_rule_reads() {
    let setting =
        "add to dryer {\n  fan-speed share from 0 % to 100 % \"how hard the fan blows\" set\n}";
    let found = planted("rules.std", &added(setting), Code::SettingUnread);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(found[0].1, ["fan-speed"]);
}

/// The handbook's own example, section 5.2: cure from 275 °F, bleed from 280 °F, and a probe of class 2.
#[test]
fn fault_8_window_too_narrow() {
    let ink = "ink gentle-white is low-cure-plastisol {\n  colour \"white\"\n  cure 294 to 300 °F per \"ink maker's sheet\"\n}";
    let found = planted("inks.std", &added(ink), Code::WindowTooNarrow);
    let own: Vec<_> = found
        .iter()
        .filter(|(one, _)| one.said.headline.contains("gentle-white"))
        .collect();
    assert!(!own.is_empty(), "{found:#?}");
    assert!(
        own.iter()
            .any(|(_, marked)| marked.contains(&"294 to 300 °F".to_owned()))
    );
    // 294 to 300 °F is 3.3 K; 5 K is what two times 2.5 K makes. 290 to 300 °F can be verified.
    let wide = "ink gentle-white is low-cure-plastisol {\n  colour \"white\"\n  cure 275 to 300 °F per \"ink maker's sheet\"\n}";
    let found = planted("inks.std", &added(wide), Code::WindowTooNarrow);
    let cotton = |one: &&(ReviewFinding, Vec<String>)| {
        one.0
            .members
            .iter()
            .any(|name| name.contains("cotton-tee, gentle-white"))
    };
    assert_eq!(found.iter().filter(cotton).count(), 0);
    // A dial that has no place inside.
    let dial = "rule angle-just-so {\n  for each screen\n  shall screen.squeegee-angle within 71 ° to 73 °\n  because \"a mistake of ours\"\n  per practice\n}";
    let found = planted("rules.std", &added(dial), Code::WindowTooNarrow);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert!(
        found[0].0.said.notes[0].contains("steps of 5 °"),
        "{found:#?}"
    );
}

#[test]
fn fault_9_loosened_without_reason() {
    let from = "  flash            3 to 10 s          per \"room trial 2025-11\"\n";
    let to = "  loosens flash    1 to 40 s because \"-\" per \"room trial 2025-11\"\n";
    let found = planted("inks.std", &swapped(from, to), Code::LoosenedWithoutReason);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(found[0].1, ["1 to 40 s"]);
    // Loosened without a word is an error of the text: nothing is reviewed then.
    let mut room = demo("demo-data");
    let text = room.texts["inks.std"].clone().unwrap();
    let text = text.replace(from, &from.replace("3 to 10 s", "1 to 40 s"));
    room.texts.insert("inks.std".to_owned(), Ok(text));
    let problems = strikeoff::cli::review("nosuch-room.std", &room)
        .found
        .unwrap_err();
    assert!(
        problems
            .iter()
            .any(|said| said.code == Code::LoosenedSilently)
    );
}

#[test]
fn fault_10_limit_without_source() {
    let rule = "rule sourceless {\n  shall dryer.belt at most 3 m/min\n  because \"the stacker is slow\"\n}";
    let found = planted("rules.std", &added(rule), Code::NoSource);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(found[0].1, ["shall dryer.belt at most 3 m/min"]);
}

#[test]
fn fault_11_rule_without_because() {
    let rule = "rule unexplained {\n  shall dryer.belt at most 3 m/min\n  per practice\n}";
    let found = planted("rules.std", &added(rule), Code::NoReason);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(found[0].1, ["unexplained"]);
}

#[test]
fn fault_12_slips() {
    let rule = "rule slippery {\n  shall dryer.belt at most 3 m/min\n  because \"the sheet says 320 °F (150 °C)\"\n  per \"tension page: 25 N/cm²\"\n}";
    let found = planted("rules.std", &added(rule), Code::PairDisagrees);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(found[0].0.said.headline, "320 °F is 160 °C, not 150 °C");
    assert_eq!(found[0].1, ["320 °F (150 °C"]);
    let found = planted("rules.std", &added(rule), Code::PublishedSlip);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(found[0].1, ["tension page: 25 N/cm²"]);
    assert!(found[0].0.said.notes[0].contains("N/cm"));
}
