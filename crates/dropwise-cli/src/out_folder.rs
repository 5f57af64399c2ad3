//! The folder that a plan and its drawings are written to.

use std::fs;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use crate::commands::draw::Kind;
use crate::complaint::{Complaint, Stop};

/// A folder that is there and may be written to, as far as that can be told before writing.
#[derive(Debug)]
pub(crate) struct OutFolder {
    path: PathBuf,
}

/// One file to write: its name in the folder, with `/` after a folder within it, and what stands in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct OutFile {
    pub(crate) name: String,
    pub(crate) bytes: Vec<u8>,
}

/// Writes a single file that was named, in place of one that may be there.
pub(crate) fn write_file(path: &Path, bytes: &[u8]) -> Result<(), Stop> {
    fs::write(path, bytes).map_err(|error| {
        let complaint = Complaint::new(format!("cannot be written: {error}")).at(path.display());
        Stop::failure(complaint.with_cure("Check the folder, its permissions and the room on the disk"))
    })
}

impl OutFile {
    pub(crate) fn new(name: impl Into<String>, content: impl Into<Vec<u8>>) -> Self {
        Self { name: name.into(), bytes: content.into() }
    }
}

impl OutFolder {
    /// Makes the folder unless it is there, so that a wrong name is told before the search and not after it.
    pub(crate) fn open(path: &Path) -> Result<Self, Stop> {
        let refused = |error: &io::Error| {
            let (problem, cure) = match error.kind() {
                ErrorKind::AlreadyExists | ErrorKind::NotADirectory => {
                    ("a file stands where the folder should be".to_owned(), "Give --out the name of a folder")
                }
                ErrorKind::PermissionDenied => {
                    ("the folder may not be made here".to_owned(), "Check its permissions, or name another with --out")
                }
                _ => (format!("the folder cannot be made: {error}"), "Name another with --out"),
            };
            Stop::bad_input(Complaint::new(problem).at(path.display()).with_cure(cure))
        };
        fs::create_dir_all(path).map_err(|error| refused(&error))?;
        Ok(Self { path: path.to_owned() })
    }

    /// What it is called.
    pub(crate) fn name(&self) -> String {
        self.path.display().to_string()
    }

    /// Writes the files, each whole or not at all.
    ///
    /// # Errors
    /// A complaint for each file that could not be written.
    pub(crate) fn write(&self, files: &[OutFile]) -> Result<(), Vec<Complaint>> {
        let failed = files.iter().filter_map(|file| {
            let path = self.path.join(&file.name);
            let error = self.replace(&path, &file.bytes).err()?;
            let complaint = Complaint::new(format!("cannot be written: {error}")).at(path.display());
            Some(complaint.with_cure("Check its permissions and the room on the disk"))
        });
        let failed: Vec<Complaint> = failed.collect();
        if failed.is_empty() { Ok(()) } else { Err(failed) }
    }

    /// Drawings of an earlier plan, of these kinds, which this one does not replace.
    pub(crate) fn stale_drawings(&self, written: &[OutFile], kinds: &[Kind]) -> Vec<String> {
        let folders = [None].into_iter().chain(kinds.iter().map(|kind| kind.folder()).filter(Option::is_some));
        let mut stale: Vec<String> = folders
            .flat_map(|folder| self.names_in(folder))
            .filter(|name| kinds.iter().any(|kind| kind.owns(name)) && written.iter().all(|file| file.name != *name))
            .collect();
        stale.sort_unstable_by_key(|name| (name.len(), name.clone()));
        stale
    }

    fn names_in(&self, folder: Option<&str>) -> Vec<String> {
        let path = folder.map_or_else(|| self.path.clone(), |folder| self.path.join(folder));
        let Ok(entries) = fs::read_dir(path) else { return Vec::new() };
        let names = entries.filter_map(|entry| entry.ok()?.file_name().into_string().ok());
        names.map(|name| folder.map_or(name.clone(), |folder| format!("{folder}/{name}"))).collect()
    }

    /// Under another name first, so that an interrupt leaves no half of a file.
    fn replace(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder)?;
        }
        let draft = path.with_extension("part");
        fs::write(&draft, bytes)?;
        fs::rename(&draft, path).inspect_err(|_| {
            let _ = fs::remove_file(&draft);
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(name: &str) -> OutFile {
        OutFile::new(name, "text")
    }

    #[test]
    fn files_are_replaced_and_older_drawings_are_told() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("deep").join("plan");
        let out = OutFolder::open(&path).unwrap();
        let old = ["sheet-1.svg", "sheet-2.svg", "sheet-10.svg", "sheet-x.svg", "dxf/sheet-1.dxf"];
        out.write(&old.map(file)).unwrap();
        let written = [file("sheet-1.svg")];
        out.write(&written).unwrap();
        assert_eq!(out.stale_drawings(&written, &[Kind::Picture]), ["sheet-2.svg", "sheet-10.svg"]);
        assert_eq!(out.stale_drawings(&written, &Kind::ALL), ["sheet-2.svg", "sheet-10.svg", "dxf/sheet-1.dxf"]);
        assert_eq!(fs::read_to_string(path.join("sheet-1.svg")).unwrap(), "text");
        assert_eq!(fs::read_dir(&path).unwrap().count(), 5);
    }

    #[test]
    fn what_cannot_be_written_is_told_file_by_file() {
        let folder = tempfile::tempdir().unwrap();
        let out = OutFolder::open(folder.path()).unwrap();
        // A folder stands where the file should be.
        fs::create_dir_all(folder.path().join("plan.json").join("inside")).unwrap();
        let failed = out.write(&[file("plan.json"), file("overview.svg")]).unwrap_err();
        assert_eq!(failed.len(), 1);
        assert!(folder.path().join("overview.svg").exists() && !folder.path().join("plan.part").exists());
    }

    #[test]
    fn a_file_is_no_folder() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("plan");
        fs::write(&path, "").unwrap();
        assert_eq!(OutFolder::open(&path).unwrap_err().exit, crate::Exit::BadInput);
        assert_eq!(OutFolder::open(&path.join("below")).unwrap_err().exit, crate::Exit::BadInput);
    }
}
