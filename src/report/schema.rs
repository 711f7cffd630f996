//! The JSON Schema of a report, made from its model.

use super::model::Report;

/// The schema as JSON text, as it is kept in `procedures/report.schema.json`.
pub fn schema() -> String {
    let mut schema = schemars::schema_for!(Report);
    schema.insert("title".to_owned(), "a Readback report".into());
    let text = serde_json::to_string_pretty(&schema).unwrap_or_default();
    text + "\n"
}
