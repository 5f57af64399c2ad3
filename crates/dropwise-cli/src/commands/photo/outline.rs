//! `photo outline`: a drawing of what was photographed.

use std::path::PathBuf;

use clap::Args;
use dropwise_geometry::Unit;

use super::result::{files, page, record};
use super::taken::{Taken, length};
use crate::arguments::Colour;
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::ink::Ink;
use crate::out_folder::OutFolder;
use crate::text::{cleaned, wrapped};

/// What was typed after `photo outline`.
#[derive(Clone, Debug, Args)]
pub(crate) struct OutlineArguments {
    #[command(flatten)]
    taken: Taken,
    /// How thick the thing is
    #[arg(long, value_name = "LENGTH")]
    thickness: String,
    /// Name of the part in drawing and job file
    #[arg(long, value_name = "TEXT", default_value = "template")]
    name: String,
    /// Unit of bare numbers and of what is printed: mm, cm, m, in or ft
    #[arg(long, value_name = "UNIT")]
    unit: Option<String>,
    /// Write drawings, the picture and lines for a job file to this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Print the result as JSON, lengths in mm
    #[arg(long)]
    json: bool,
}

pub(crate) fn outline(
    typed: &OutlineArguments,
    colour: Colour,
    environment: &mut Environment<'_>,
) -> Result<Exit, Stop> {
    let ink = Ink::new(colour.is_wanted(environment, false));
    let unit = unit_of(typed.unit.as_deref(), environment)?;
    let thickness = length("--thickness", &typed.thickness, unit).map_err(Stop::bad_input)?;
    let out = typed.out.as_deref().map(OutFolder::open).transpose()?;
    let (photograph, reading) = typed.taken.read(thickness, unit)?;
    let text = if typed.json { format!("{:#}\n", record(&reading)) } else { page(&reading, unit, ink) };
    environment.print(&text)?;
    if let Some(out) = out {
        let files = files(&reading, &photograph, &typed.name, unit)?;
        if let Err(complaints) = out.write(&files) {
            return Err(Stop { exit: Exit::Failure, complaints });
        }
        let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
        environment.say(&wrapped("", 2, &format!("Written to {}: {}.", cleaned(&out.name()), names.join(", "))));
    }
    Ok(Exit::Done)
}

/// The unit that was typed, or that of the environment.
fn unit_of(typed: Option<&str>, environment: &Environment<'_>) -> Result<Unit, Stop> {
    let (text, place) = match (typed, environment.variable("DROPWISE_UNIT")) {
        (Some(text), _) => (text, "--unit"),
        (None, Some(text)) => (text, "DROPWISE_UNIT"),
        (None, None) => return Ok(Unit::Millimetre),
    };
    text.parse().map_err(|_| {
        let complaint = Complaint::new(format!("\"{text}\" is no unit of length")).at(place);
        Stop::bad_input(complaint.with_cure("Write mm, cm, m, in or ft"))
    })
}
