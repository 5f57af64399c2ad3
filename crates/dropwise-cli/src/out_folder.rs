//! The folder that a plan and its drawings are written to.

use std::fs;
use std::io::{self, ErrorKind, Write as _};
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

/// Writes a single file that was named, in place of one that may be there. A pipe or a device is written to, and a link
/// followed: both were named by whoever asked.
pub(crate) fn write_file(path: &Path, bytes: &[u8]) -> Result<(), Stop> {
    let is_plain = fs::metadata(path).map_or(true, |there| there.is_file());
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let written = if is_plain { replace(&target, bytes) } else { fs::write(path, bytes) };
    written.map_err(|error| {
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
            let error = write_in(&path, &file.bytes).err()?;
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
}

/// Writes a file, and makes its folder where there is none.
fn write_in(path: &Path, bytes: &[u8]) -> io::Result<()> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)?;
    }
    replace(path, bytes)
}

/// What the system said, without the name of the draft: nobody knows it.
fn without_draft(error: io::Error) -> io::Error {
    match error.to_string().split_once(" at path ") {
        Some((said, _)) => io::Error::new(error.kind(), said.to_owned()),
        None => error,
    }
}

/// Writes a draft first and gives it the name afterwards, so that an interrupt leaves no half of a file. The draft is new,
/// under a name that nothing has: it takes the place of no file, follows no link, and meets no other run. It goes when it
/// cannot be written.
fn replace(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut drafts = tempfile::Builder::new();
    drafts.prefix(".dropwise-").suffix(".part");
    // As any program's new file: what the user's mask leaves.
    #[cfg(unix)]
    drafts.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut draft = drafts.tempfile_in(folder).map_err(without_draft)?;
    draft.write_all(bytes).map_err(without_draft)?;
    draft.persist(path).map(|_| ()).map_err(|error| error.error)
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
        let mut names: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
        names.sort();
        assert_eq!(names, ["overview.svg", "plan.json"], "no draft is left");
    }

    #[test]
    fn a_draft_takes_the_place_of_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let path = |name: &str| folder.path().join(name);
        fs::write(path("plan.part"), "mine").unwrap();
        fs::write(path("elsewhere"), "mine too").unwrap();
        #[cfg(unix)]
        std::os::unix::fs::symlink(path("elsewhere"), path("report.part")).unwrap();
        // A link where the file itself should be is replaced, not followed.
        #[cfg(unix)]
        std::os::unix::fs::symlink(path("elsewhere"), path("report.html")).unwrap();
        let out = OutFolder::open(folder.path()).unwrap();
        out.write(&[file("plan.json"), file("report.html")]).unwrap();
        let read = |name: &str| fs::read_to_string(path(name)).unwrap();
        assert_eq!((read("plan.part"), read("elsewhere")), ("mine".to_owned(), "mine too".to_owned()));
        assert_eq!((read("plan.json"), read("report.html")), ("text".to_owned(), "text".to_owned()));
    }

    #[test]
    fn many_runs_into_one_folder_are_all_written() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("plan");
        std::thread::scope(|scope| {
            for run in 0..8_usize {
                let path = &path;
                scope.spawn(move || {
                    for _ in 0..20 {
                        let out = OutFolder::open(path).unwrap();
                        let content = run.to_string().repeat(5000);
                        out.write(&["plan.json", "dxf/sheet-1.dxf"].map(|name| OutFile::new(name, &*content))).unwrap();
                    }
                });
            }
        });
        for name in ["plan.json", "dxf/sheet-1.dxf"] {
            let text = fs::read_to_string(path.join(name)).unwrap();
            assert!(text.len() == 5000 && text.chars().all(|digit| text.starts_with(digit)), "one run's, whole");
        }
        assert_eq!(fs::read_dir(&path).unwrap().count(), 2, "no draft is left");
    }

    #[cfg(unix)]
    #[test]
    fn a_named_file_is_written_where_it_leads() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        let path = |name: &str| folder.path().join(name);
        fs::write(path("true.svg"), "old").unwrap();
        std::os::unix::fs::symlink(path("true.svg"), path("link.svg")).unwrap();
        write_file(&path("link.svg"), b"new").unwrap();
        assert_eq!(fs::read_to_string(path("true.svg")).unwrap(), "new");
        assert!(fs::symlink_metadata(path("link.svg")).unwrap().is_symlink());
        write_file(&path("first.svg"), b"new").unwrap();
        // Readable as files of other programs are, not for one's own eyes alone.
        let plain = fs::File::create(path("plain")).unwrap().metadata().unwrap().permissions().mode();
        assert_eq!(fs::metadata(path("first.svg")).unwrap().permissions().mode(), plain);
        write_file(Path::new("/dev/null"), b"new").unwrap();
        let told = write_file(&path("none/first.svg"), b"new").unwrap_err();
        assert!(!told.complaints[0].render(crate::ink::Ink::plain()).contains(".part"), "{told:?}");
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
