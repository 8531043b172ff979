//! `report.schema.json`: what a report may look like, as JSON Schema (draft 2020-12), made from the types that write it.
//!
//! Fields may be added to a report under the same schema number, so objects are open to more.

use schemars::generate::SchemaSettings;
use serde_json::Value;

use super::cast::{CAST_SCHEMA, Character};
use super::history::{Entry, HISTORY_SCHEMA};
use super::model::{REPORT_SCHEMA, Report};

/// The schema of `report.json`.
pub fn report() -> Value {
    of::<Report>("urn:drawntrue:report:1", REPORT_SCHEMA)
}

/// The schema of a line of `history.jsonl`.
pub fn history() -> Value {
    of::<Entry>("urn:drawntrue:history:1", HISTORY_SCHEMA)
}

/// The schema of a line of JSON that the check of a cast prints.
pub fn cast() -> Value {
    of::<Character>("urn:drawntrue:cast:1", CAST_SCHEMA)
}

/// The schema of a type whose `schema` field has one value.
fn of<T: schemars::JsonSchema>(id: &str, name: &str) -> Value {
    let generator = SchemaSettings::draft2020_12().for_serialize().into_generator();
    let mut schema = generator.into_root_schema_for::<T>().to_value();
    schema["$id"] = id.into();
    schema["properties"]["schema"]["const"] = name.into();
    schema
}
