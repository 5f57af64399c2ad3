//! `completions`: what lets a shell complete the command line.

use crate::arguments::{self, Completions};
use crate::complaint::Stop;
use crate::environment::Environment;
use crate::exit::Exit;

pub(crate) fn completions(typed: &Completions, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let mut script = Vec::new();
    clap_complete::generate(typed.shell, &mut arguments::command(), "dropwise", &mut script);
    environment.print(&String::from_utf8_lossy(&script))?;
    Ok(Exit::Done)
}
