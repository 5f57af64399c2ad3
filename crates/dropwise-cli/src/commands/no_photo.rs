//! `photo` where it was left out of the build: says how to get it, instead of being unknown.

use clap::Args;

use crate::arguments::Colour;
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;

pub(crate) const LONG_ABOUT: &str = "\
Reads outlines from photographs taken beside a printed scale sheet.

This build was made without it, since reading photographs takes a third more time to compile. Build again with:
  cargo install --path crates/dropwise-cli --features photo";

pub(crate) const AFTER: &str = "";

/// What was typed after `photo`, whatever it is.
#[derive(Clone, Debug, Args)]
pub(crate) struct Photo {
    #[arg(hide = true, trailing_var_arg = true, allow_hyphen_values = true)]
    rest: Vec<String>,
}

pub(crate) fn photo(_typed: Photo, _colour: Colour, _environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let cure = "build it with them: `cargo install --path crates/dropwise-cli --features photo`";
    Err(Stop::bad_input(Complaint::new("this build reads no photographs").with_cure(cure)))
}
