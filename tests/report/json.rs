//! The view for programs, against its own published schema.

use super::fixture::{self, HOSTILE};
use super::{shown, style, unversioned};
use serde_json::Value;
use strikeoff::report::{Format, json_schema};

fn validator() -> jsonschema::Validator {
    let schema: Value = serde_json::from_str(json_schema()).unwrap();
    jsonschema::meta::validate(&schema).expect("the schema itself");
    jsonschema::draft202012::new(&schema).unwrap()
}

#[test]
fn every_case_fits_the_schema() {
    let validator = validator();
    for (name, case) in fixture::all() {
        let value: Value = serde_json::from_str(&shown(&case, Format::Json, &style())).unwrap();
        let errors: Vec<String> = validator
            .iter_errors(&value)
            .map(|error| format!("{} {error}", error.instance_path()))
            .collect();
        assert!(errors.is_empty(), "{name}: {errors:#?}");
    }
}

#[test]
fn the_schema_refuses_what_is_not_in_it() {
    let validator = validator();
    let good: Value =
        serde_json::from_str(&shown(&fixture::several(), Format::Json, &style())).unwrap();
    assert!(validator.is_valid(&good));
    let spoil = |change: fn(&mut Value)| {
        let mut bad = good.clone();
        change(&mut bad);
        assert_ne!(bad, good);
        assert!(!validator.is_valid(&bad), "{bad}");
    };
    spoil(|value| value["surprise"] = 1.into());
    spoil(|value| value["version"] = 2.into());
    spoil(|value| value["plans"][0]["checks"][0]["outcome"] = "at risk".into());
    spoil(|value| value["plans"][0]["diagnostics"][0]["finding"]["surprise"] = 1.into());
    spoil(|value| value["plans"][0]["diagnostics"][0]["identity"] = "12".into());
    spoil(|value| {
        value["totals"]
            .as_object_mut()
            .unwrap()
            .remove("not_stated");
    });
}

#[test]
fn the_whole_form() {
    let text = shown(&fixture::several(), Format::Json, &style());
    insta::assert_snapshot!("json_several", unversioned(&text));
}

#[test]
fn a_program_reads_the_text_as_it_is() {
    let text = shown(&fixture::hostile(), Format::Json, &style());
    assert_eq!(
        strikeoff::source::visible(&text.replace('\n', " ")),
        text.replace('\n', " ")
    );
    let value: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(value["plans"][0]["name"], HOSTILE);
    assert_eq!(
        value["plans"][0]["diagnostics"][0]["finding"]["because"],
        HOSTILE
    );
}

#[test]
fn offsets_are_bytes_and_columns_characters() {
    let case = fixture::two_files();
    let value: Value = serde_json::from_str(&shown(&case, Format::Json, &style())).unwrap();
    let place = &value["plans"][0]["diagnostics"][0]["labels"][0]["place"];
    let text = case.store.get(case.plan).text();
    let offset = |point: &Value| usize::try_from(point["offset"].as_u64().unwrap()).unwrap();
    assert_eq!(
        &text[offset(&place["start"])..offset(&place["end"])],
        "2.1 m/min ± 5 %"
    );
    assert_eq!(place["start"]["column"], 29);
    assert_eq!(place["end"]["column"], 44);
}
