//! JUnit XML: read back by a published parser of XML,
//! and held to what the widely used `junit-10.xsd` allows (attributes and children, from memory: the schema
//! itself is in no package that we use).

use super::fixture;
use super::{shown, style};
use quick_xml::events::Event;
use strikeoff::report::Format;

/// All start tags with their attributes, after checking that the whole text is well-formed.
fn tags(xml: &str) -> Vec<(String, Vec<(String, String)>)> {
    let mut reader = quick_xml::Reader::from_str(xml);
    reader.config_mut().check_end_names = true;
    let mut tags = Vec::new();
    let mut depth = 0_i32;
    loop {
        let event = reader.read_event().unwrap();
        match &event {
            Event::Eof => break,
            Event::Start(tag) | Event::Empty(tag) => {
                depth += i32::from(matches!(event, Event::Start(_)));
                let attributes = tag.attributes().map(|attribute| {
                    let attribute = attribute.unwrap();
                    let value = String::from_utf8(attribute.value.to_vec()).unwrap();
                    let value = quick_xml::escape::unescape(&value).unwrap().into_owned();
                    (String::from_utf8(attribute.key.0.to_vec()).unwrap(), value)
                });
                let name = String::from_utf8(tag.name().0.to_vec()).unwrap();
                tags.push((name, attributes.collect()));
            }
            Event::End(_) => depth -= 1,
            _ => {}
        }
    }
    assert_eq!(depth, 0);
    tags
}

/// Element, what attributes it may have, and which of them it must have.
type Allowed = (
    &'static str,
    &'static [&'static str],
    &'static [&'static str],
);

const ALLOWED: [Allowed; 9] = [
    (
        "testsuites",
        &["name", "time", "tests", "failures", "disabled", "errors"],
        &[],
    ),
    (
        "testsuite",
        &[
            "name",
            "tests",
            "failures",
            "errors",
            "time",
            "disabled",
            "skipped",
            "timestamp",
            "hostname",
            "id",
            "package",
        ],
        &["name", "tests"],
    ),
    ("properties", &[], &[]),
    ("property", &["name", "value"], &["name", "value"]),
    (
        "testcase",
        &["name", "assertions", "time", "classname", "status"],
        &["name"],
    ),
    ("failure", &["type", "message"], &[]),
    ("error", &["type", "message"], &[]),
    ("skipped", &["type", "message"], &[]),
    ("system-out", &[], &[]),
];

fn number(attributes: &[(String, String)], wanted: &str) -> usize {
    let stated = attributes.iter().find(|(name, _)| name == wanted).unwrap();
    stated.1.parse().unwrap()
}

#[test]
fn every_case() {
    for (name, case) in fixture::all() {
        let xml = shown(&case, Format::Junit, &style());
        // Section 2.2 of XML 1.0: what a document may hold.
        let allowed = |character: char| matches!(character, '\t' | '\n' | '\r' | '\u{20}'..='\u{d7ff}' | '\u{e000}'..='\u{fffd}' | '\u{10000}'..='\u{10ffff}');
        assert!(xml.chars().all(allowed), "{name}");
        assert_eq!(
            strikeoff::source::visible(&xml.replace('\n', " ")),
            xml.replace('\n', " "),
            "{name}"
        );
        let tags = tags(&xml);
        let count = |wanted: &str| {
            tags.iter()
                .filter(|(tag, _)| tag == wanted)
                .count()
                .to_string()
        };
        let (root, attributes) = &tags[0];
        assert_eq!(root, "testsuites");
        for (attribute, tag) in [
            ("tests", "testcase"),
            ("failures", "failure"),
            ("errors", "error"),
        ] {
            let stated = &attributes
                .iter()
                .find(|(name, _)| name == attribute)
                .unwrap()
                .1;
            assert_eq!(*stated, count(tag), "{name}: {attribute}");
        }
        assert!(
            !xml.contains("timestamp") && !xml.contains("time="),
            "{name}"
        );
        let skipped = tags.iter().filter(|(tag, _)| tag == "testsuite");
        let skipped: usize = skipped.map(|(_, all)| number(all, "skipped")).sum();
        assert_eq!(skipped.to_string(), count("skipped"), "{name}");
        for (tag, attributes) in &tags {
            let (_, known, needed) = *ALLOWED.iter().find(|(known, ..)| known == tag).unwrap();
            for (attribute, _) in attributes {
                assert!(
                    known.contains(&attribute.as_str()),
                    "{name}: {tag} {attribute}"
                );
            }
            for attribute in needed {
                assert!(
                    attributes.iter().any(|(known, _)| known == attribute),
                    "{name}: {tag}"
                );
            }
        }
    }
}

#[test]
fn several_plans() {
    insta::assert_snapshot!(
        "junit_several",
        shown(&fixture::several(), Format::Junit, &style())
    );
}

#[test]
fn risk_fails_unless_allowed() {
    let mut case = fixture::at_risk();
    let outcome = |case: &fixture::Case| {
        let tags = tags(&shown(case, Format::Junit, &style()));
        let suite = tags.iter().find(|(tag, _)| tag == "testsuite").unwrap();
        (number(&suite.1, "failures"), number(&suite.1, "skipped"))
    };
    assert_eq!(
        outcome(&case),
        (1, 1),
        "the one that does not apply is skipped"
    );
    case.report.allow_risk = true;
    assert_eq!(outcome(&case), (0, 2));
}
