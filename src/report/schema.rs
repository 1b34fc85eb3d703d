//! Schemas of our JSON forms, generated from the very types that are written.

use std::sync::OnceLock;

use schemars::generate::SchemaSettings;
use schemars::transform::{Transform, transform_subschemas};
use schemars::{JsonSchema, Schema};
use serde_json::Value;

/// The JSON Schema (draft 2020-12) of a form, as text; it is generated once.
pub(super) fn text<T: JsonSchema>(known: &'static OnceLock<String>) -> &'static str {
    known.get_or_init(|| {
        let settings = SchemaSettings::draft2020_12().for_serialize();
        let mut schema = settings.into_generator().into_root_schema_for::<T>();
        Plain.transform(&mut schema);
        format!("{:#}\n", Value::from(schema))
    })
}

/// A comment that runs over several lines of Rust is one line of text, and sizes of Rust's numbers are nobody's matter.
struct Plain;

impl Transform for Plain {
    fn transform(&mut self, schema: &mut Schema) {
        if let Some(Value::String(words)) = schema.get_mut("description") {
            *words = words.replace('\n', " ");
        }
        let width = |format: &Value| {
            let name = format.as_str().unwrap_or_default();
            name.starts_with("uint") || name.starts_with("int") || name == "double"
        };
        if schema.get("format").is_some_and(width) {
            schema.remove("format");
        }
        transform_subschemas(self, schema);
    }
}
