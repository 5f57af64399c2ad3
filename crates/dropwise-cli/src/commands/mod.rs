//! One file a command: build what is needed, call the libraries, print, choose the exit code.

mod completions;
mod nest;
mod schema;

pub(crate) use completions::completions;
pub(crate) use nest::nest;
pub(crate) use schema::schema;
