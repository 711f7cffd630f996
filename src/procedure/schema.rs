//! The JSON Schema of a procedure file, made from the source types.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use super::source::ProcedureSource;

/// The schema as JSON text, as it is kept in `procedures/procedure.schema.json`.
pub fn schema() -> String {
    let value = schema_value();
    let text = serde_json::to_string_pretty(&value).unwrap_or_default();
    text + "\n"
}

pub(super) fn schema_value() -> serde_json::Value {
    let mut schema = schemars::schema_for!(ProcedureSource);
    schema.insert("title".to_owned(), "a Readback procedure".into());
    schema.into()
}

/// In the schema: a scalar that may be written as a number or as a text.
pub(super) struct NumberOrText;

impl JsonSchema for NumberOrText {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "NumberOrText".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": ["string", "number"] })
    }
}
