//! `schema`: the structure of our files, for editors and programs.

use crate::arguments::{Schema, SchemaOf};
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;

pub(crate) fn schema(typed: &Schema, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let schema = match typed.of {
        SchemaOf::Job => dropwise_formats::job_schema(),
        SchemaOf::Plan => dropwise_formats::plan_schema(),
        SchemaOf::Shop => dropwise_formats::shop_schema(),
    };
    let text = serde_json::to_string_pretty(schema)
        .map_err(|error| Stop::failure(Complaint::new("the schema cannot be written").because_of(&error)))?;
    environment.print(&format!("{text}\n"))?;
    Ok(Exit::Done)
}
