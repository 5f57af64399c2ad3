//! What is wrong, and what to do about it.

use std::borrow::Cow;

use dropwise_formats::drawing::Severity;
use dropwise_formats::{Fault, JobFileError, Note};

use crate::exit::Exit;
use crate::ink::Ink;
use crate::text::{cleaned, wrapped};

/// Something that is wrong, with its place, its cause and its cure as far as they are known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Complaint {
    place: String,
    problem: String,
    causes: Vec<String>,
    cure: Option<String>,
}

/// Why a command made nothing.
#[derive(Clone, Debug)]
pub(crate) struct Stop {
    pub(crate) exit: Exit,
    pub(crate) complaints: Vec<Complaint>,
}

impl Stop {
    /// Something given is wrong.
    pub(crate) fn bad_input(complaint: Complaint) -> Self {
        Self { exit: Exit::BadInput, complaints: vec![complaint] }
    }

    /// Without places in a file, where nobody wrote that file.
    pub(crate) fn without_places(mut self) -> Self {
        self.complaints.iter_mut().for_each(|complaint| complaint.place.clear());
        self.complaints.dedup();
        self
    }

    /// It is not the user's fault.
    pub(crate) fn failure(complaint: Complaint) -> Self {
        Self { exit: Exit::Failure, complaints: vec![complaint] }
    }
}

impl From<Exit> for Stop {
    /// What was wrong has been told already.
    fn from(exit: Exit) -> Self {
        Self { exit, complaints: Vec::new() }
    }
}

impl Complaint {
    pub(crate) fn new(problem: impl Into<String>) -> Self {
        Self { place: String::new(), problem: problem.into(), causes: Vec::new(), cure: None }
    }

    pub(crate) fn at(mut self, place: impl ToString) -> Self {
        self.place = place.to_string();
        self
    }

    pub(crate) fn with_cure(mut self, cure: impl Into<String>) -> Self {
        self.cure = Some(cure.into());
        self
    }

    /// With the chain of sources of an error, each told once.
    pub(crate) fn because_of(mut self, error: &dyn std::error::Error) -> Self {
        let mut source = error.source();
        while let Some(cause) = source {
            self.causes.push(cause.to_string());
            source = cause.source();
        }
        self
    }

    /// Place, problem with its causes, and cure, each on one line and safe to show.
    pub(crate) fn in_pieces(&self) -> (String, String, String) {
        let line = |text: &str| cleaned(&brief(text));
        let causes: String = self.causes.iter().map(|cause| format!(", because {}", line(cause))).collect();
        let cure = self.cure.as_deref().map_or_else(String::new, |cure| line(&sentence(cure)));
        (line(&self.place), format!("{}{causes}", line(&self.problem)), cure)
    }

    /// Place and problem in one line, unbroken, so that editors find the place; cause and cure below.
    pub(crate) fn render(&self, ink: Ink) -> String {
        let place = if self.place.is_empty() { "dropwise".to_owned() } else { cleaned(&brief(&self.place)) };
        let mut page = format!("{}: {}\n", ink.strong(&place), ink.wrong(&cleaned(&brief(&self.problem))));
        for cause in &self.causes {
            page.push_str(&wrapped("  because ", 4, &cleaned(&brief(cause))));
        }
        if let Some(cure) = &self.cure {
            page.push_str(&painted(ink, &wrapped("  ", 4, &cleaned(&sentence(&brief(cure))))));
        }
        page
    }
}

/// The most letters of one line of a message. A path may have as many; nothing that is written to be read has.
const MOST_LETTERS: usize = 4096;

/// The text, its middle left out where nobody would read it to the end. Names in messages are cut where they are told; this
/// is for what came through.
fn brief(text: &str) -> Cow<'_, str> {
    if text.len() <= MOST_LETTERS {
        return text.into();
    }
    let letters = text.chars().count();
    if letters <= MOST_LETTERS {
        return text.into();
    }
    let half = MOST_LETTERS / 2;
    let head: String = text.chars().take(half).collect();
    let tail: String = text.chars().skip(letters - half).collect();
    format!("{head} … {tail}").into()
}

fn painted(ink: Ink, text: &str) -> String {
    text.lines().map(|line| format!("{}\n", ink.helpful(line))).collect()
}

fn capitalized(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// With a full stop, unless it ends otherwise.
fn sentence(text: &str) -> String {
    let is_ended = text.ends_with(['.', '?', '!']);
    if is_ended { text.to_owned() } else { format!("{text}.") }
}

impl From<&JobFileError> for Complaint {
    fn from(error: &JobFileError) -> Self {
        let complaint = |problem: &str| Self::new(problem).at(&error.place);
        match &error.fault {
            Fault::Value { problem, cure } => complaint(problem).with_cure(cure),
            fault => {
                // Most messages end in what to do: a sentence, or a clause, of its own.
                let message = fault.to_string();
                match message.rsplit_once(". ").or_else(|| message.rsplit_once("; ")) {
                    Some((problem, cure)) => complaint(problem).with_cure(capitalized(cure)),
                    None => complaint(&message),
                }
            }
        }
    }
}

/// A note of the loader, as one paragraph.
pub(crate) fn render_note(note: &Note, ink: Ink) -> String {
    let word = match note.severity {
        Severity::Info => ink.strong("note"),
        _ => ink.doubtful("warning"),
    };
    format!("{}: {word}: {}\n", cleaned(&brief(&note.place.to_string())), cleaned(&sentence(&brief(&note.text))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_message_is_endless() {
        let long = "支架 ".repeat(300_000);
        let complaint = Complaint::new(long.clone()).at(&long).with_cure(format!("{long}end"));
        let page = complaint.render(Ink::plain());
        assert!(page.chars().count() < 4 * MOST_LETTERS && page.contains('…') && page.ends_with("end.\n"));
        let short = "x".repeat(MOST_LETTERS);
        assert_eq!(brief(&short), short);
    }
}
