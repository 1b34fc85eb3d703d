//! SARIF, against the schema that OASIS publishes (see `tests/reference/sarif/README.md`).

use super::fixture::{self, HOSTILE};
use super::{shown, style, unversioned};
use serde_json::Value;
use strikeoff::report::{Format, Show, Style};

fn validator() -> jsonschema::Validator {
    let schema = include_str!("../reference/sarif/sarif-schema-2.1.0.json");
    // The published pattern for a language has a stray bracket, which is no regular expression in
    // today's dialect. We write no language.
    let slip = "^[a-zA-Z]{2}|^[a-zA-Z]{2}-[a-zA-Z]{2}]?$";
    assert_eq!(schema.matches(slip).count(), 2);
    let schema = schema.replace(slip, "^[a-zA-Z]{2}(-[a-zA-Z]{2})?$");
    let schema: Value = serde_json::from_str(&schema).unwrap();
    jsonschema::draft7::options()
        .should_validate_formats(true)
        .build(&schema)
        .unwrap()
}

fn value(case: &fixture::Case, style: &Style) -> Value {
    serde_json::from_str(&shown(case, Format::Sarif, style)).unwrap()
}

fn styles() -> [Style; 2] {
    [
        style(),
        Style {
            open: true,
            show: Show { passed: true },
            ..style()
        },
    ]
}

#[test]
fn every_case_fits_the_schema() {
    let validator = validator();
    for style in styles() {
        for (name, case) in fixture::all() {
            let value = value(&case, &style);
            let errors: Vec<String> = validator
                .iter_errors(&value)
                .map(|error| format!("{} {error}", error.instance_path()))
                .collect();
            assert!(errors.is_empty(), "{name}: {errors:#?}");
        }
    }
    assert!(
        !validator.is_valid(&serde_json::json!({ "version": "2.1.0" })),
        "the schema does refuse"
    );
}

/// What the schema cannot say: SARIF 2.1.0, section 3.27.10 (no level but `none` beside a kind
/// other than `fail`) and section 3.52.4 (an index must point at the rule that is named).
#[test]
fn every_case_keeps_the_rules_of_the_standard() {
    for style in styles() {
        for (name, case) in fixture::all() {
            let value = value(&case, &style);
            let run = &value["runs"][0];
            for result in run["results"].as_array().unwrap() {
                if result["kind"] != "fail" {
                    assert_eq!(result["level"], "none", "{name}");
                }
                let index = usize::try_from(result["ruleIndex"].as_u64().unwrap()).unwrap();
                assert_eq!(
                    run["tool"]["driver"]["rules"][index]["id"], result["ruleId"],
                    "{name}"
                );
            }
        }
    }
}

#[test]
fn outcomes_become_kinds() {
    let kinds = |case: &fixture::Case, style: &Style| -> Vec<String> {
        value(case, style)["runs"][0]["results"]
            .as_array()
            .unwrap()
            .iter()
            .map(|result| {
                format!(
                    "{} {}",
                    result["kind"].as_str().unwrap(),
                    result["level"].as_str().unwrap()
                )
            })
            .collect()
    };
    let [usual, all] = styles();
    assert_eq!(kinds(&fixture::at_risk(), &usual), ["fail error"]);
    assert_eq!(
        kinds(&fixture::at_risk(), &all),
        ["open none", "pass none", "notApplicable none"]
    );
    assert_eq!(kinds(&fixture::not_stated(), &usual), ["fail warning"]);
    assert_eq!(kinds(&fixture::not_stated(), &all), ["open none"]);
    assert_eq!(
        kinds(&fixture::two_files(), &all),
        ["fail error", "pass none", "notApplicable none"]
    );
}

#[test]
fn the_whole_form() {
    let text = shown(&fixture::several(), Format::Sarif, &style());
    insta::assert_snapshot!("sarif_several", unversioned(&text));
}

#[test]
fn a_fix_writes_the_text_itself_and_a_message_the_escaped_one() {
    let value = value(&fixture::hostile(), &style());
    let result = &value["runs"][0]["results"][0];
    assert_eq!(
        result["fixes"][0]["artifactChanges"][0]["replacements"][0]["insertedContent"]["text"],
        HOSTILE
    );
    assert!(
        result["message"]["text"]
            .as_str()
            .unwrap()
            .starts_with("\\u{1b}[31m<script>")
    );
    let uri = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
        .as_str()
        .unwrap();
    assert!(
        uri.starts_with("plans/%1B%5B31m%3Cscript%3E%5D%5D%3E%26%E2%80%AE%00%07%C2%9B2J"),
        "{uri}"
    );
    assert!(
        uri.ends_with("%F0%9D%84%9E%22%5C%20100%25%20%231.plan"),
        "{uri}"
    );
}

/// SARIF 2.1.0, section 3.35: a suppressed result keeps its level, and says why it is let pass.
#[test]
fn what_passes_by_deviation_is_suppressed() {
    let case = fixture::by_deviation();
    for style in styles() {
        let value = value(&case, &style);
        let results = value["runs"][0]["results"].as_array().unwrap();
        assert_eq!(results.len(), 1);
        let result = &results[0];
        assert_eq!(result["kind"], "fail");
        assert_eq!(result["level"], "error");
        let suppressions = result["suppressions"].as_array().unwrap();
        assert_eq!(suppressions.len(), 1);
        assert_eq!(suppressions[0]["kind"], "external");
        assert_eq!(suppressions[0]["status"], "accepted");
        let why = suppressions[0]["justification"].as_str().unwrap();
        for part in [
            "the long tunnel is down",
            "process lead, 2026-11-20",
            "2026-12-31",
        ] {
            assert!(why.contains(part), "{why}");
        }
        assert_eq!(value["runs"][0]["properties"]["verdict"], "passes");
    }
}
