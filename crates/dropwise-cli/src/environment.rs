//! All that a run touches of the process around it.

use std::collections::HashMap;
use std::io::{ErrorKind, IsTerminal, Write};

use crate::complaint::Complaint;
use crate::exit::Exit;
use crate::ink::Ink;
use crate::interrupts::Interrupts;

/// Streams, variables and interrupts of a run. Commands of today read nothing from standard input, so it is not here.
#[expect(missing_debug_implementations, reason = "streams have none")]
pub struct Environment<'a> {
    stdout: Box<dyn Write + 'a>,
    stderr: Box<dyn Write + 'a>,
    variables: HashMap<String, String>,
    is_stdout_terminal: bool,
    is_stderr_terminal: bool,
    interrupts: Interrupts,
    listens: bool,
}

/// Variables that are looked at: <https://no-color.org> and the terminal's kind.
const VARIABLES: [&str; 2] = ["NO_COLOR", "TERM"];

impl<'a> Environment<'a> {
    /// Streams that are no terminals, no variables, no interrupts.
    #[must_use]
    pub fn new(stdout: impl Write + 'a, stderr: impl Write + 'a) -> Self {
        Self {
            stdout: Box::new(stdout),
            stderr: Box::new(stderr),
            variables: HashMap::new(),
            is_stdout_terminal: false,
            is_stderr_terminal: false,
            interrupts: Interrupts::default(),
            listens: false,
        }
    }

    /// Those of this process.
    #[must_use]
    pub fn of_process() -> Environment<'static> {
        Environment {
            stdout: Box::new(std::io::stdout()),
            stderr: Box::new(std::io::stderr()),
            variables: VARIABLES
                .iter()
                .filter_map(|name| {
                    // Set to something that is no text is still set.
                    let value = std::env::var_os(name)?.to_string_lossy().into_owned();
                    Some(((*name).to_owned(), value))
                })
                .collect(),
            is_stdout_terminal: std::io::stdout().is_terminal(),
            is_stderr_terminal: std::io::stderr().is_terminal(),
            interrupts: Interrupts::default(),
            listens: true,
        }
    }

    /// With a variable set.
    #[must_use]
    pub fn with_variable(mut self, name: &str, value: &str) -> Self {
        self.variables.insert(name.to_owned(), value.to_owned());
        self
    }

    /// With streams that pass for terminals where colour is concerned. Progress is shown on real terminals only.
    #[must_use]
    pub fn with_terminals(mut self) -> Self {
        (self.is_stdout_terminal, self.is_stderr_terminal) = (true, true);
        self
    }

    /// With interrupts that somebody else counts.
    #[must_use]
    pub fn with_interrupts(mut self, interrupts: Interrupts) -> Self {
        self.interrupts = interrupts;
        self
    }

    /// The value of a variable that is set and not empty.
    pub(crate) fn variable(&self, name: &str) -> Option<&str> {
        self.variables.get(name).map(String::as_str).filter(|value| !value.is_empty())
    }

    pub(crate) fn is_terminal(&self, is_stderr: bool) -> bool {
        if is_stderr { self.is_stderr_terminal } else { self.is_stdout_terminal }
    }

    /// Whether a progress bar may be drawn: on the process's own standard error, if that is a terminal.
    pub(crate) fn shows_progress(&self) -> bool {
        self.listens && self.is_stderr_terminal
    }

    /// The interrupts, counted from now on if this is a process.
    pub(crate) fn interrupts(&mut self) -> Interrupts {
        if std::mem::take(&mut self.listens) && self.interrupts.listen().is_err() {
            self.say("note: interrupts cannot be caught here, so Ctrl-C ends the run without a plan\n");
        }
        self.interrupts.clone()
    }

    /// Writes data to standard output. A reader that has gone away is not worth a word: it has what it wanted.
    ///
    /// # Errors
    /// [`Exit::Failure`], after telling why, when the data cannot be written.
    pub(crate) fn print(&mut self, text: &str) -> Result<(), Exit> {
        match self.stdout.write_all(text.as_bytes()).and_then(|()| self.stdout.flush()) {
            Ok(()) => Ok(()),
            Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
            Err(error) => {
                let complaint = Complaint::new(format!("standard output cannot be written: {error}"));
                self.complain(&[complaint.with_cure("Check where it is sent, and the room there")], Ink::plain());
                Err(Exit::Failure)
            }
        }
    }

    /// Writes talk to standard error. Nobody is left to tell if that fails.
    pub(crate) fn say(&mut self, text: &str) {
        let _ = self.stderr.write_all(text.as_bytes()).and_then(|()| self.stderr.flush());
    }

    /// Tells what is wrong.
    pub(crate) fn complain(&mut self, complaints: &[Complaint], ink: Ink) {
        let page: String = complaints.iter().map(|complaint| complaint.render(ink)).collect();
        self.say(&page);
    }
}
