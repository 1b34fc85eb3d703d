//! The schemas of all JSON forms, pinned: they are generated from the types that are written, so a change of a type
//! shows here as a change of what others read. A key that goes or changes its meaning wants a new version.

use strikeoff::report;

#[test]
fn every_schema_is_as_before() {
    for (name, text) in [
        ("report", report::json_schema()),
        ("working", report::working_schema()),
        ("window", report::window_schema()),
        ("sources", report::sources_schema()),
        ("test", report::examples_schema()),
        ("review", report::review_schema()),
        ("diff", report::diff_schema()),
    ] {
        let schema: serde_json::Value = serde_json::from_str(text).unwrap();
        jsonschema::meta::validate(&schema).expect("the schema itself");
        assert!(
            schema["description"].is_string() && schema["$id"].is_string(),
            "{name}"
        );
        assert_eq!(undescribed(&schema, name), Vec::<String>::new());
        insta::assert_snapshot!(format!("schema_{name}"), text);
    }
}

/// Properties and types without a sentence, and objects that would let any key pass.
fn undescribed(schema: &serde_json::Value, path: &str) -> Vec<String> {
    let mut found = Vec::new();
    if let Some(properties) = schema["properties"].as_object() {
        for (name, property) in properties {
            if !property["description"].is_string() {
                found.push(format!("{path}.{name} has no sentence"));
            }
        }
        let closed = ["additionalProperties", "unevaluatedProperties"];
        if !closed.iter().any(|key| schema[*key] == false) {
            found.push(format!("{path} lets any key pass"));
        }
    }
    if let Some(parts) = schema["$defs"].as_object() {
        for (name, part) in parts {
            found.extend(undescribed(part, &format!("{path}/{name}")));
        }
    }
    found
}
