//! The readable standard: what stands on it, and that both forms are sound.

use std::collections::{BTreeMap, BTreeSet};

use quick_xml::Reader;
use quick_xml::XmlVersion;
use quick_xml::events::Event;
use strikeoff::check::Options;
use strikeoff::diagnostic::{Chapter, Outcome};
use strikeoff::report::PageForm;

use super::small::{dressed, outline_of, page, read, room};
use crate::demo_room::{self, ROOT};

#[test]
fn the_small_standard_as_markdown() {
    insta::assert_snapshot!(
        "print_markdown",
        page(&read(&room(), "bench.std"), PageForm::Markdown)
    );
}

#[test]
fn records_that_decide_are_found_in_the_standard_itself() {
    let outline = outline_of(&read(&room(), "bench.std"));
    let kinds: Vec<(&str, bool)> = outline
        .groups
        .iter()
        .map(|group| (group.kind.as_str(), group.decides))
        .collect();
    assert_eq!(kinds, [("paste", true), ("ground", true), ("oven", false)]);
    let by = |name: &str| -> Vec<(&str, Vec<&str>)> {
        let rule = outline.rules.iter().find(|rule| rule.name == name).unwrap();
        let deciding = rule.brought_in_by.iter();
        deciding
            .map(|by| {
                (
                    by.kind.as_str(),
                    by.records.iter().map(String::as_str).collect(),
                )
            })
            .collect()
    };
    assert_eq!(by("heat-it"), []);
    assert_eq!(
        by("slow-on-hard"),
        [("ground", vec!["wool-felt", "half-felt"])]
    );
    // Soft fibre is nothing where hard fibre makes the whole.
    assert_eq!(
        by("water-is-tight"),
        [
            ("paste", vec!["water-paste"]),
            ("ground", vec!["half-felt", "cloth"])
        ]
    );
}

#[test]
fn a_rule_that_no_record_of_a_run_brings_in_does_not_apply_to_it() {
    let demo = demo_room::Room::demo();
    let read = read(&demo, ROOT);
    let outline = outline_of(&read);
    let (store, report) = demo.check(Options::default());
    let mut compared = 0;
    for plan in report.plans.iter().filter(|plan| plan.checked) {
        let text = store.get(plan.file).text();
        // A thing that is no record may meet any rule.
        if text.contains(" is not listed") {
            continue;
        }
        let words: BTreeSet<&str> = text.split_whitespace().collect();
        for rule in &outline.rules {
            // A plan names its records by their names.
            let left_out = rule.brought_in_by.iter().any(|by| {
                !by.records
                    .iter()
                    .any(|record| words.contains(record.as_str()))
            });
            if !left_out {
                continue;
            }
            for check in plan.checks.iter().filter(|check| check.rule == rule.name) {
                assert_eq!(
                    check.outcome,
                    Outcome::DoesNotApply,
                    "{} of {}",
                    rule.name,
                    plan.name
                );
                compared += 1;
            }
        }
    }
    assert!(compared > 500, "{compared}");
}

#[test]
fn a_rule_that_a_record_alone_brings_in_applies_to_every_run_with_it() {
    let demo = demo_room::Room::demo();
    let read = read(&demo, ROOT);
    let outline = outline_of(&read);
    let (store, report) = demo.check(Options::default());
    let mut compared = 0;
    for plan in report.plans.iter().filter(|plan| plan.checked) {
        let words: BTreeSet<&str> = store.get(plan.file).text().split_whitespace().collect();
        for rule in &outline.rules {
            // With one `when` and no `for each`, the record is all that decides.
            let ([_], [by], None) = (&rule.when[..], &rule.brought_in_by[..], &rule.each) else {
                continue;
            };
            if !by
                .records
                .iter()
                .any(|record| words.contains(record.as_str()))
            {
                continue;
            }
            for check in plan.checks.iter().filter(|check| check.rule == rule.name) {
                assert_ne!(
                    check.outcome,
                    Outcome::DoesNotApply,
                    "{} of {}",
                    rule.name,
                    plan.name
                );
                compared += 1;
            }
        }
    }
    assert!(compared >= 40, "{compared}");
}

#[test]
fn nothing_of_the_demo_room_is_left_out_in_either_form() {
    let demo = demo_room::Room::demo();
    let read = read(&demo, ROOT);
    let outline = outline_of(&read);
    let html = texts(&page(&read, PageForm::Html));
    let markdown = page(&read, PageForm::Markdown).replace('\\', "");
    for (form, page) in [("html", &html), ("markdown", &markdown)] {
        let holds = |words: &str| assert!(page.contains(words), "{form}: {words}");
        holds(&outline.title.digest);
        holds(outline.title.edition.as_deref().unwrap());
        for rule in outline.rules.iter().chain(&outline.cautions) {
            holds(&rule.name);
            rule.because
                .iter()
                .chain(&rule.say)
                .chain(&rule.cautions)
                .for_each(|words| holds(words));
            for clause in &rule.clauses {
                holds(&clause.condition.written);
                holds(&clause.condition.si);
                holds(&clause.condition.inch_pound);
            }
        }
        for group in &outline.groups {
            for record in &group.records {
                holds(&record.name);
                record.title.iter().for_each(|words| holds(words));
                record
                    .values
                    .iter()
                    .for_each(|value| holds(&value.value.si));
            }
        }
    }
    // By hand: 300 °F = 148.89 °C, 15 N/cm = 8.5653 lbf/in, 43 /cm = 109.22 /in (NIST SP 811, B.8).
    for words in [
        "film.peak at most 148.9 °C",
        "screen.tension at least 8.565 lbf/in",
        "109.22 /in",
    ] {
        assert!(html.contains(words) && markdown.contains(words), "{words}");
    }
}

/// What a reader of the HTML sees. It must be well-formed, and hold nothing but what a page needs.
fn texts(html: &str) -> String {
    const ELEMENTS: &[&str] = &[
        "html", "head", "meta", "title", "style", "body", "nav", "section", "h1", "h2", "h3", "p",
        "ul", "li", "table", "thead", "tbody", "tr", "th", "td", "a", "code", "strong",
    ];
    let mut reader = Reader::from_str(html);
    let (mut seen, mut open) = (String::new(), Vec::new());
    let (mut anchors, mut links) = (BTreeMap::new(), Vec::new());
    loop {
        let event = reader.read_event().unwrap();
        match &event {
            Event::Start(tag) | Event::Empty(tag) => {
                let name = String::from_utf8(tag.name().as_ref().to_vec()).unwrap();
                assert!(ELEMENTS.contains(&name.as_str()), "{name}");
                for attribute in tag.attributes() {
                    let attribute = attribute.unwrap();
                    let value = attribute
                        .normalized_value(XmlVersion::Implicit1_0)
                        .unwrap()
                        .into_owned();
                    match (name.as_str(), attribute.key.as_ref()) {
                        ("meta", _) | ("html", b"lang") | ("th", b"scope") => {}
                        ("a", b"href") => links.push(value.strip_prefix('#').unwrap().to_owned()),
                        (heading, b"id") if heading.starts_with('h') => {
                            let twice = anchors.insert(value.clone(), ()).is_some();
                            assert!(!twice, "two headings `{value}`");
                        }
                        other => panic!("{other:?}"),
                    }
                }
                if matches!(event, Event::Start(_)) {
                    open.push(name);
                }
            }
            Event::End(_) => {
                open.pop().unwrap();
            }
            Event::Text(text) => seen.push_str(&text.decode().unwrap()),
            Event::GeneralRef(entity) => seen.push(match entity.decode().unwrap().as_ref() {
                "amp" => '&',
                "lt" => '<',
                "gt" => '>',
                "quot" => '"',
                "#39" => '\'',
                other => panic!("{other}"),
            }),
            Event::DocType(_) => {}
            Event::Eof => break,
            other => panic!("{other:?}"),
        }
    }
    assert!(open.is_empty());
    assert!(!links.is_empty());
    for link in links {
        assert!(anchors.contains_key(&link), "nothing stands at #{link}");
    }
    seen
}

#[test]
fn the_page_loads_and_runs_nothing() {
    let html = page(&read(&room(), "bench.std"), PageForm::Html);
    let lower = html.to_lowercase();
    for word in [
        "<script", "<link", "<img", "<iframe", "@import", "url(", "http://", "https://", " on",
    ] {
        let allowed = word == " on" && !lower.contains(" onload") && !lower.contains(" onclick");
        assert!(allowed || !lower.contains(word), "{word}");
    }
    assert!(html.contains("default-src 'none'"));
    // No sheet size is fixed, so A4 and Letter are both what the printer holds.
    assert!(
        html.contains("@page") && !lower.contains("size: a4") && !lower.contains("size: letter")
    );
}

#[test]
fn further_chapters_have_their_place() {
    let read = read(&room(), "bench.std");
    let mut outline = outline_of(&read);
    outline.chapters.push(Chapter {
        title: "Pieces printed as a test".to_owned(),
        sentence: "Each is run with every edition.".to_owned(),
        columns: vec!["piece".to_owned(), "expected".to_owned()],
        rows: vec![vec!["a <b> | c".to_owned(), "holds".to_owned()]],
    });
    let html = dressed(&outline, &read, PageForm::Html);
    assert!(
        html.contains("<td>a &lt;b&gt; | c</td><td>holds</td>"),
        "{html}"
    );
    texts(&html);
    let markdown = dressed(&outline, &read, PageForm::Markdown);
    let at = |words: &str| markdown.find(words).unwrap();
    assert!(at("## By ground") < at("## Pieces printed as a test"));
    assert!(at("## Pieces printed as a test") < at("## Cautions"));
    assert!(
        markdown.contains("| a \\<b\\> \\| c | holds |"),
        "{markdown}"
    );
}

#[test]
fn examples_and_deviations_have_chapters() {
    let mut room = room();
    let text = room.texts.get_mut("bench.std").unwrap().as_mut().unwrap();
    text.push_str(
        "\nexample warm \"the bench as it runs most\" {\n  run \"warm.plan\"\n  expect heat-it holds\n  \
         expect slow-on-hard does not apply\n  because \"it came back once\"\n}\n\
         \nexample bare {\n  run \"warm.plan\"\n  expect heat-it not stated\n}\n\
         \ndeviation from heat-it \"the lamp\" {\n  run \"one\"\n  up to 100 °C\n  because \"a | lamp\"\n  \
         approved \"lead, 2026-11-01\"\n  until 2026-12-31\n}\n\
         \ndeviation from heat-it {\n  when ground is wool-felt\n  up to 90 °C\n  because \"b\"\n  \
         approved \"lead\"\n  until 2026-11-24\n}\n\
         \ndeviation from heat-it {\n  up to 95 °C\n  because \"c\"\n  approved \"lead\"\n  until 2027-06-30\n}\n",
    );
    let read = read(&room, "bench.std");
    let markdown = page(&read, PageForm::Markdown);
    let part = |from: &str, to: &str| {
        let rest = markdown.split_once(from).unwrap().1;
        rest.split_once(to).unwrap().0.to_owned()
    };
    insta::assert_snapshot!(
        "print_chapters",
        part(
            "## Examples
",
            "## Cautions"
        )
    );
    // The other form has the same chapters.
    let seen = texts(&page(&read, PageForm::Html));
    for words in [
        "Examples",
        "it came back once",
        "in force",
        "a | lamp",
        "every run",
    ] {
        assert!(seen.contains(words), "{words}");
    }
    // A standard without either has neither chapter.
    let bare = page(&self::read(&self::room(), "bench.std"), PageForm::Markdown);
    assert!(!bare.contains("Examples") && !bare.contains("Deviations"));
}
