//! Schema and reference of the document, made from its types.

use std::sync::LazyLock;

use serde_json::Value as Json;

use super::types::PlanDocument;
use crate::job_file::{Preface, reference};

/// The JSON Schema of the document (draft 2020-12).
#[must_use]
pub fn plan_schema() -> &'static Json {
    static SCHEMA: LazyLock<Json> = LazyLock::new(|| schemars::schema_for!(PlanDocument).to_value());
    &SCHEMA
}

/// The reference of the document, as Markdown: `docs/plan-json.md`.
#[must_use]
pub fn plan_reference() -> String {
    let preface =
        Preface { title: "The plan as JSON", text: include_str!("preface.md"), root: "The document", is_toml: false };
    reference(plan_schema(), &preface)
}
