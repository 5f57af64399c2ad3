//! Tells when one of some files has changed, gone or come back.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::{Duration, Instant, SystemTime};

use notify::{RecommendedWatcher, RecursiveMode, Watcher as _};
use thiserror::Error;

/// Watches files, by their folders: editors put a new file in the place of the old one, which a watch on the file itself
/// would miss.
///
/// Where the system tells of no changes, as on some network drives, the files are looked at every second.
#[derive(Debug)]
pub struct Watch {
    watcher: Option<RecommendedWatcher>,
    folders: BTreeSet<PathBuf>,
    files: Vec<PathBuf>,
    marks: Vec<Mark>,
    sender: Sender<Event>,
    events: Receiver<Event>,
    /// Why the system tells of no changes, if it does not.
    complaint: Option<WatchError>,
}

/// The system does not tell of changes in a folder; files in it are looked at every second.
#[derive(Debug, Error)]
#[error("the system tells of no changes here: {0}")]
pub struct WatchError(notify::Error);

/// Why a wait is over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// A file is not what it was.
    Files,
    /// Somebody asked for the wait to end.
    Woken,
}

/// What tells whether a file is what it was; `None` where there is none.
type Mark = Option<(SystemTime, u64)>;

#[derive(Clone, Copy, Debug)]
enum Event {
    /// Something happened in a folder that is watched.
    Folder,
    Wake,
}

/// How long files are left in peace after a change before they are read: editors write in several steps.
const SETTLE: Duration = Duration::from_millis(12);
/// How long a file may be gone before that counts: some editors take the old one away first.
const GONE: Duration = Duration::from_millis(150);
/// How often files are looked at whatever the system tells.
const LOOK: Duration = Duration::from_secs(1);

/// Ends the wait of a [`Watch`] from elsewhere.
#[derive(Clone, Debug)]
pub struct Waker(Sender<Event>);

impl Waker {
    /// Ends the wait that is going on, or the next one.
    pub fn wake(&self) {
        // Nobody waits any more: nothing to wake.
        let _ = self.0.send(Event::Wake);
    }
}

impl Default for Watch {
    fn default() -> Self {
        Self::new()
    }
}

impl Watch {
    /// A watch over no files yet.
    #[must_use]
    pub fn new() -> Self {
        let (sender, events) = channel();
        let told = sender.clone();
        let watcher = notify::recommended_watcher(move |event: notify::Result<notify::Event>| {
            // That a file was read is no change, and reading them here must not wake us again.
            if !matches!(&event, Ok(event) if event.kind.is_access()) {
                let _ = told.send(Event::Folder);
            }
        });
        let (watcher, complaint) = match watcher {
            Ok(watcher) => (Some(watcher), None),
            Err(error) => (None, Some(WatchError(error))),
        };
        Self { watcher, folders: BTreeSet::new(), files: Vec::new(), marks: Vec::new(), sender, events, complaint }
    }

    /// What ends a wait from another thread.
    #[must_use]
    pub fn waker(&self) -> Waker {
        Waker(self.sender.clone())
    }

    /// Watches these files from now on, and no others. Changes since the last wait are kept, of files that stay.
    pub fn set(&mut self, files: &[PathBuf]) {
        if files == self.files {
            return;
        }
        let marks = files.iter().map(|file| match self.files.iter().position(|known| known == file) {
            Some(index) => self.marks[index],
            None => mark(file),
        });
        self.marks = marks.collect();
        self.files = files.to_vec();
        let folders: BTreeSet<PathBuf> = self.files.iter().map(|file| folder_of(file)).collect();
        if let Some(watcher) = &mut self.watcher {
            for folder in self.folders.difference(&folders) {
                // One that is gone is watched no longer anyway.
                let _ = watcher.unwatch(folder);
            }
            for folder in folders.difference(&self.folders) {
                if let Err(error) = watcher.watch(folder, RecursiveMode::NonRecursive) {
                    self.complaint.get_or_insert(WatchError(error));
                }
            }
        }
        self.folders = folders;
    }

    /// Why the system tells of no changes; told once.
    pub fn take_complaint(&mut self) -> Option<WatchError> {
        self.complaint.take()
    }

    /// Waits until a file is not what it was at the last wait, and has come to rest; or until somebody wakes it.
    pub fn wait(&mut self) -> Change {
        loop {
            match self.events.recv_timeout(LOOK) {
                Ok(Event::Wake) | Err(RecvTimeoutError::Disconnected) => return Change::Woken,
                Ok(Event::Folder) => {
                    if self.settle() == Change::Woken {
                        return Change::Woken;
                    }
                }
                Err(RecvTimeoutError::Timeout) => {}
            }
            if self.take_change() {
                return Change::Files;
            }
        }
    }

    /// Waits until nothing happens for a moment, and while a file is gone that may come back.
    fn settle(&mut self) -> Change {
        let start = Instant::now();
        loop {
            match self.events.recv_timeout(SETTLE) {
                Ok(Event::Wake) | Err(RecvTimeoutError::Disconnected) => return Change::Woken,
                Ok(Event::Folder) if start.elapsed() < GONE => {}
                _ => {
                    let is_gone = |(file, known): (&PathBuf, &Mark)| known.is_some() && mark(file).is_none();
                    let is_any_gone = self.files.iter().zip(&self.marks).any(is_gone);
                    if !is_any_gone || start.elapsed() >= GONE {
                        return Change::Files;
                    }
                }
            }
        }
    }

    fn take_change(&mut self) -> bool {
        let marks: Vec<Mark> = self.files.iter().map(|file| mark(file)).collect();
        let is_changed = marks != self.marks;
        self.marks = marks;
        is_changed
    }
}

fn mark(file: &Path) -> Mark {
    let metadata = std::fs::metadata(file).ok()?;
    Some((metadata.modified().unwrap_or(SystemTime::UNIX_EPOCH), metadata.len()))
}

fn folder_of(file: &Path) -> PathBuf {
    match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn writing_replacing_taking_away_and_bringing_back_are_changes() {
        let folder = tempfile::tempdir().unwrap();
        let (file, other) = (folder.path().join("job.toml"), folder.path().join("other.toml"));
        std::fs::write(&file, "one").unwrap();
        let mut watch = Watch::new();
        watch.set(std::slice::from_ref(&file));
        std::fs::write(&file, "other").unwrap();
        assert_eq!(watch.wait(), Change::Files);
        // As editors do it: the new one in the old one's place.
        std::fs::write(&other, "renamed").unwrap();
        std::fs::rename(&other, &file).unwrap();
        assert_eq!(watch.wait(), Change::Files);
        std::fs::remove_file(&file).unwrap();
        assert_eq!(watch.wait(), Change::Files);
        std::fs::write(&file, "back again").unwrap();
        assert_eq!(watch.wait(), Change::Files);
        watch.waker().wake();
        assert_eq!(watch.wait(), Change::Woken);
    }

    #[test]
    fn what_happens_to_other_files_is_no_change_and_a_wait_can_be_ended() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("job.toml");
        std::fs::write(&file, "one").unwrap();
        let mut watch = Watch::new();
        watch.set(&[file]);
        std::fs::write(folder.path().join("note.txt"), "of no interest").unwrap();
        watch.waker().wake();
        assert_eq!(watch.wait(), Change::Woken);
    }

    #[test]
    fn a_folder_that_is_not_there_is_told_and_looked_at_all_the_same() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("later/job.toml");
        let mut watch = Watch::new();
        watch.set(std::slice::from_ref(&file));
        assert!(watch.take_complaint().is_some());
        std::fs::create_dir(folder.path().join("later")).unwrap();
        std::fs::write(&file, "here").unwrap();
        assert_eq!(watch.wait(), Change::Files);
    }
}
