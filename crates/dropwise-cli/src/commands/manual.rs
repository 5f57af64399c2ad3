//! `manual`: man pages from the same source as the help.

use clap::ColorChoice;

use crate::arguments::{self, Manual};
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::out_folder::{OutFile, OutFolder};
use crate::text::{cleaned, wrapped};

pub(crate) fn manual(typed: &Manual, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let pages = pages().map_err(|error| Stop::failure(Complaint::new(error.to_string())))?;
    let Some(out) = &typed.out else {
        let first = pages.into_iter().next().map(|(_, page)| page).unwrap_or_default();
        environment.print(&first)?;
        return Ok(Exit::Done);
    };
    let out = OutFolder::open(out)?;
    let files: Vec<OutFile> = pages.into_iter().map(|(name, page)| OutFile::new(format!("{name}.1"), page)).collect();
    out.write(&files).map_err(|complaints| Stop { exit: Exit::Failure, complaints })?;
    environment.say(&wrapped("", 2, &format!("{} man pages written to {}.", files.len(), cleaned(&out.name()))));
    Ok(Exit::Done)
}

/// The name and the page of each command, that of the whole one first.
fn pages() -> std::io::Result<Vec<(String, String)>> {
    let mut command = arguments::command().color(ColorChoice::Never).disable_help_subcommand(true);
    command.build();
    let mut pages = Vec::new();
    add(&command, "", &mut pages)?;
    Ok(pages)
}

fn add(command: &clap::Command, above: &str, pages: &mut Vec<(String, String)>) -> std::io::Result<()> {
    let name = if above.is_empty() { command.get_name().to_owned() } else { format!("{above}-{}", command.get_name()) };
    let mut page = Vec::new();
    clap_mangen::Man::new(command.clone()).title(name.to_uppercase()).render(&mut page)?;
    // What stands at the end of the help is examples, and exit codes below them.
    let page = String::from_utf8_lossy(&page).replacen(".SH EXTRA", ".SH EXAMPLES", 1);
    pages.push((name.clone(), page));
    for verb in command.get_subcommands() {
        add(verb, &name, pages)?;
    }
    Ok(())
}
