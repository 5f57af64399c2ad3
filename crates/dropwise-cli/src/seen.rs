//! Pictures of what was understood of the drawings that a job names.

use std::path::Path;

use dropwise_formats::SeenDrawing;
use dropwise_formats::drawing::picture;

use crate::complaint::Stop;
use crate::environment::Environment;
use crate::exit::Exit;
use crate::out_folder::{OutFile, OutFolder};
use crate::text::{cleaned, wrapped};

/// One picture for each way in which each drawing was read.
pub(crate) fn pictures(seen: &[SeenDrawing]) -> Vec<OutFile> {
    let mut files: Vec<OutFile> = Vec::new();
    for SeenDrawing { file, drawing } in seen {
        let content = picture(drawing, file);
        if files.iter().any(|known| known.bytes == content.as_bytes()) {
            continue;
        }
        let stem = Path::new(file).file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
        let safe: String =
            stem.chars().map(|c| if c.is_alphanumeric() || c == '-' || c == '_' { c } else { '-' }).collect();
        let mut name = format!("{safe}-understood.svg");
        let mut number = 1;
        while files.iter().any(|known| known.name == name) {
            number += 1;
            name = format!("{safe}-understood-{number}.svg");
        }
        files.push(OutFile::new(name, content));
    }
    files
}

/// Writes the pictures and says so.
pub(crate) fn write(out: &Path, seen: &[SeenDrawing], environment: &mut Environment<'_>) -> Result<(), Stop> {
    let files = pictures(seen);
    if files.is_empty() {
        environment.say("No drawing to make a picture of: the job tells its parts by dimensions.\n");
        return Ok(());
    }
    let out = OutFolder::open(out)?;
    if let Err(complaints) = out.write(&files) {
        return Err(Stop { exit: Exit::Failure, complaints });
    }
    let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
    environment.say(&wrapped("", 2, &format!("Written to {}: {}.", cleaned(&out.name()), names.join(", "))));
    Ok(())
}
