//! JUnit XML: read back by a published parser, and checked for structure.
//! No registry package that we use carries a JUnit XSD, so the check is structural.

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
            ("skipped", "skipped"),
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
        let read = quick_junit::Report::deserialize_from_str(&xml).unwrap();
        assert_eq!(
            read.to_string().unwrap(),
            xml,
            "{name}: read and written again"
        );
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
        let report =
            quick_junit::Report::deserialize_from_str(&shown(case, Format::Junit, &style()))
                .unwrap();
        (report.failures, report.skipped)
    };
    assert_eq!(
        outcome(&case),
        (1, 1),
        "the one that does not apply is skipped"
    );
    case.report.allow_risk = true;
    assert_eq!(outcome(&case), (0, 2));
}
