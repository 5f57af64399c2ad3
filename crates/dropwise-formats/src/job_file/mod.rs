//! The job file: what a person writes, read into a [`dropwise_model::Job`].
//!
//! Three steps, each reporting all its faults at once: the text becomes a tree of values with their places; the tree is
//! checked against the structure that the types ask for; the values are read and the job is built.
//!
//! # Examples
//! ```
//! use std::path::Path;
//! let text = r#"
//! unit = "in"
//! defaults = { material = "mild steel", thickness = "16 ga" }
//! clearances = { process = "cutoff wheel" }
//! [[parts]]
//! name = "cover"
//! rectangle = { width = "8 1/2", height = 6 }
//! [[sheets]]
//! name = "drop"
//! rectangle = { width = 24, height = 12 }
//! "#;
//! let loaded = dropwise_formats::parse_job(Path::new("cover.toml"), text).unwrap();
//! assert_eq!(loaded.job.parts()[0].name, "cover");
//! let errors = dropwise_formats::parse_job(Path::new("cover.toml"), &text.replace("8 1/2", "8 1/0")).unwrap_err();
//! assert_eq!(
//!     errors[0].to_string(),
//!     "cover.toml:7:28: parts[1] \"cover\": rectangle.width: \"8 1/0\": a fraction over zero is no length"
//! );
//! ```

mod build;
mod docs;
mod error;
mod json_tree;
mod nearest;
mod one_sheet;
mod rack;
mod slips;
mod structure;
mod toml_tree;
mod tree;
pub mod types;

use std::path::{Path, PathBuf};

pub use build::{
    BentDetail, HoleWork, Instead, LoadedJob, PartDetail, SeenDrawing, SheetDetail, WorkedHole, describe_row,
};
pub(crate) use docs::{Preface, reference};
pub use docs::{job_reference, job_schema, strip_reference, strip_schema};
pub use error::{Fault, JobFileError, Note, Place};
pub use one_sheet::{DescribedPiece, describe_piece};
pub use rack::{OwnSheets, Rack, RackMark, RackPiece};

pub(crate) use build::{At, Context, LONGEST, sheets_of_row};
pub(crate) use nearest::nearest;
pub(crate) use structure::check as check_structure;
pub(crate) use tree::{Document, Entry, Node, Step, Value, shortened};

/// Bytes of the largest job file that is read. Drawings and long lists of stock stand in files of their own.
const LARGEST_JOB_FILE: u64 = 4 << 20;

/// Reads a job file, and the drawings and lists that it names, from the folder it lies in.
///
/// # Errors
/// Every fault that can be told apart from the others, in the order of the file.
pub fn load_job(path: &Path) -> Result<LoadedJob, Vec<JobFileError>> {
    load_job_with_rack(path, None)
}

/// Reads a job file as [`load_job`] does, with what lies in the shop's rack beside or in place of its own sheets.
///
/// # Errors
/// As [`load_job`]. Sheets of the job's own that are left out are not read, and their faults not told.
pub fn load_job_with_rack(path: &Path, rack: Option<&Rack>) -> Result<LoadedJob, Vec<JobFileError>> {
    load_job_in_shop(path, rack, None)
}

/// Reads a job file as [`load_job_with_rack`] does, for the shop of another file than the job names: flat patterns are
/// those of its dies.
///
/// # Errors
/// As [`load_job`]; those of the shop file with their own places.
pub fn load_job_in_shop(path: &Path, rack: Option<&Rack>, shop: Option<&Path>) -> Result<LoadedJob, Vec<JobFileError>> {
    load_job_instead(path, rack, shop, &[])
}

/// Reads a job file as [`load_job_in_shop`] does, with parts of some thicknesses made of others: their flat patterns are
/// laid for the sheet that is taken.
///
/// # Errors
/// As [`load_job_in_shop`].
pub fn load_job_instead(
    path: &Path,
    rack: Option<&Rack>,
    shop: Option<&Path>,
    instead: &[Instead],
) -> Result<LoadedJob, Vec<JobFileError>> {
    let bytes = read_file(path, LARGEST_JOB_FILE).map_err(|fault| vec![JobFileError::new(Place::file(path), fault)])?;
    match std::str::from_utf8(&bytes) {
        Ok(text) => parse_instead(path, text, rack, shop, instead),
        Err(error) => {
            let fault = Fault::NotText { offset: error.valid_up_to() };
            Err(vec![JobFileError::new(Place::file(path), fault)])
        }
    }
}

/// The drawings that a job file names, as far as each was understood, even where it is refused: for pictures of them.
/// Empty when the file is no job at all.
#[must_use]
pub fn drawings_of_job(path: &Path) -> Vec<SeenDrawing> {
    let bytes = read_file(path, LARGEST_JOB_FILE).unwrap_or_default();
    let text = String::from_utf8_lossy(&bytes);
    let Ok(document) = Document::parse(path, &text) else { return Vec::new() };
    let keys = serde_json::from_value(document.root.to_json());
    keys.map_or_else(|_| Vec::new(), |keys: types::JobFile| build::drawings(&document, &keys))
}

/// The files that a job is read from: its own, then those that it names, and drawings that its lists of sheets name; each
/// once, whether it is there or not. For whoever follows changes.
#[must_use]
pub fn files_of_job(path: &Path) -> Vec<PathBuf> {
    let folder = path.parent().unwrap_or(Path::new(""));
    let mut files = vec![path.to_owned()];
    let bytes = read_file(path, LARGEST_JOB_FILE).unwrap_or_default();
    let Ok(document) = Document::parse(path, &String::from_utf8_lossy(&bytes)) else { return files };
    let mut named = Vec::new();
    names_of_files(&document.root.to_json(), &mut named);
    for name in named {
        let file = folder.join(&name);
        if file.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("csv")) {
            let list = read_file(&file, LARGEST_JOB_FILE).unwrap_or_default();
            let beside = Path::new(&name).parent().unwrap_or(Path::new("")).to_owned();
            let list = String::from_utf8_lossy(&list).into_owned();
            let cells = list.split([',', ';', '\t', '"', '\n', '\r']).map(str::trim);
            let is_drawing = |cell: &&str| [".dxf", ".svg"].iter().any(|end| cell.to_lowercase().ends_with(end));
            files.extend(cells.filter(is_drawing).map(|cell| folder.join(&beside).join(cell)));
        }
        files.push(file);
    }
    let mut seen = std::collections::HashSet::new();
    files.retain(|file| seen.insert(file.clone()));
    files
}

/// Texts under the keys that name files.
fn names_of_files(value: &serde_json::Value, found: &mut Vec<String>) {
    match value {
        serde_json::Value::Object(keys) => {
            for (key, value) in keys {
                match value {
                    serde_json::Value::String(name) if ["file", "shop", "test_strips"].contains(&key.as_str()) => {
                        found.push(name.clone());
                    }
                    value => names_of_files(value, found),
                }
            }
        }
        serde_json::Value::Array(values) => values.iter().for_each(|value| names_of_files(value, found)),
        _ => {}
    }
}

/// Reads a job from a text that came from `path`, which names it in errors and says where other files lie.
///
/// # Errors
/// As [`load_job`].
pub fn parse_job(path: &Path, text: &str) -> Result<LoadedJob, Vec<JobFileError>> {
    parse_instead(path, text, None, None, &[])
}

fn parse_instead(
    path: &Path,
    text: &str,
    rack: Option<&Rack>,
    shop: Option<&Path>,
    instead: &[Instead],
) -> Result<LoadedJob, Vec<JobFileError>> {
    let document = Document::parse(path, text)?;
    let structural = structure::check(&document, job_schema());
    if structure::is_overlong(&document, job_schema()) {
        // More parts or sheets than can be: what is wrong with each of them is beside the point.
        return Err(structural);
    }
    let keys: types::JobFile = match serde_json::from_value(document.root.to_json()) {
        Ok(keys) => keys,
        // The structure check says it better, and with places.
        Err(_) if !structural.is_empty() => return Err(structural),
        Err(error) => {
            let message = format!("this is no job: {error}");
            return Err(vec![JobFileError::new(Place::file(path), Fault::Syntax { message })]);
        }
    };
    let built = build::build(&document, &keys, rack, shop, instead);
    if structural.is_empty() {
        return built;
    }
    // What a misspelled key hides must not be reported as missing, so only faults elsewhere are added.
    let is_local = |error: &JobFileError| ["parts[", "sheets["].iter().any(|list| error.place.key.starts_with(list));
    let mut errors = structural;
    if errors.iter().all(is_local) {
        let elsewhere = built.err().into_iter().flatten().filter(|error| {
            let key = error.place.key.as_str();
            errors
                .iter()
                .all(|structural| !structural.place.key.starts_with(key) && !key.starts_with(&structural.place.key))
        });
        let elsewhere: Vec<JobFileError> = elsewhere.collect();
        errors.extend(elsewhere);
        errors.sort_by(|a, b| a.place.cmp(&b.place));
    }
    Err(errors)
}

/// The bytes of a file that is not too large. Pipes and devices are read as far as the limit allows.
///
/// # Errors
/// [`Fault::Unreadable`], or [`Fault::TooLarge`] when it holds more than `limit` bytes.
pub fn read_file(path: &Path, limit: u64) -> Result<Vec<u8>, Fault> {
    use std::io::Read as _;
    let unreadable = |error: std::io::Error| {
        let reason = match error.kind() {
            std::io::ErrorKind::NotFound => "there is no such file. Check its name and folder".to_owned(),
            std::io::ErrorKind::PermissionDenied => "it may not be opened. Check its permissions".to_owned(),
            std::io::ErrorKind::IsADirectory => "it is a folder. Name a file in it".to_owned(),
            _ => error.to_string(),
        };
        Fault::Unreadable { reason }
    };
    let file = std::fs::File::open(path).map_err(unreadable)?;
    let metadata = file.metadata().map_err(unreadable)?;
    if metadata.is_dir() {
        return Err(unreadable(std::io::ErrorKind::IsADirectory.into()));
    }
    let mut bytes = Vec::new();
    // Taken one byte beyond the limit, so that devices and growing files are caught too.
    file.take(limit + 1).read_to_end(&mut bytes).map_err(unreadable)?;
    let size = bytes.len() as u64;
    if size > limit { Err(Fault::TooLarge { size: metadata.len().max(size), limit }) } else { Ok(bytes) }
}
