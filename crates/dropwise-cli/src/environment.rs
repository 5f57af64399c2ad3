//! All that a run touches of the process around it.

use std::collections::HashMap;
use std::io::{BufRead, ErrorKind, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use dropwise_stock::{Clock as _, SystemClock, Timestamp};
use etcetera::BaseStrategy as _;

use crate::complaint::Complaint;
use crate::exit::Exit;
use crate::ink::Ink;
use crate::interrupts::Interrupts;

/// Tells the time.
type Clock = Arc<dyn Fn() -> Timestamp + Send + Sync>;

/// Streams, variables, clock and interrupts of a run.
#[expect(missing_debug_implementations, reason = "streams have none")]
pub struct Environment<'a> {
    stdout: Box<dyn Write + 'a>,
    stderr: Box<dyn Write + 'a>,
    /// Whoever answers questions; `None` where nobody sits there.
    answers: Option<Box<dyn BufRead + 'a>>,
    clock: Clock,
    data_folder: Option<PathBuf>,
    variables: HashMap<String, String>,
    is_stdout_terminal: bool,
    is_stderr_terminal: bool,
    columns: usize,
    interrupts: Interrupts,
    listens: bool,
}

/// Variables that are looked at: <https://no-color.org>, the terminal's kind, and what the shop has set up for all runs.
const VARIABLES: [&str; 6] =
    ["NO_COLOR", "TERM", "DROPWISE_LOG", "DROPWISE_UNIT", "DROPWISE_CURRENCY", "DROPWISE_CURRENCY_DECIMALS"];

/// Whether questions would be seen and answered.
fn is_somebody_there() -> bool {
    std::io::stdin().is_terminal() && std::io::stderr().is_terminal()
}

impl<'a> Environment<'a> {
    /// Streams that are no terminals, nobody to ask, no data folder, no variables, no interrupts.
    #[must_use]
    pub fn new(stdout: impl Write + 'a, stderr: impl Write + 'a) -> Self {
        Self {
            stdout: Box::new(stdout),
            stderr: Box::new(stderr),
            answers: None,
            clock: Arc::new(|| SystemClock.now()),
            data_folder: None,
            variables: HashMap::new(),
            is_stdout_terminal: false,
            is_stderr_terminal: false,
            columns: crate::text::COLUMNS,
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
            answers: is_somebody_there().then(|| -> Box<dyn BufRead> { Box::new(std::io::stdin().lock()) }),
            clock: Arc::new(|| SystemClock.now()),
            data_folder: etcetera::base_strategy::choose_native_strategy().ok().map(|folders| folders.data_dir()),
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
            columns: terminal_size::terminal_size()
                .map_or(crate::text::COLUMNS, |(terminal_size::Width(columns), _)| usize::from(columns)),
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

    /// With lines of so many columns.
    #[must_use]
    pub fn with_columns(mut self, columns: usize) -> Self {
        self.columns = columns;
        self
    }

    /// How many columns a line has room for.
    pub(crate) fn columns(&self) -> usize {
        self.columns
    }

    /// With somebody who answers questions, a line each.
    #[must_use]
    pub fn with_answers(mut self, answers: impl BufRead + 'a) -> Self {
        self.answers = Some(Box::new(answers));
        self
    }

    /// With another clock.
    #[must_use]
    pub fn with_clock(mut self, clock: impl Fn() -> Timestamp + Send + Sync + 'static) -> Self {
        self.clock = Arc::new(clock);
        self
    }

    /// With the folder where programs keep what they know, for the stock log.
    #[must_use]
    pub fn with_data_folder(mut self, folder: impl Into<PathBuf>) -> Self {
        self.data_folder = Some(folder.into());
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

    /// The clock of the run.
    pub(crate) fn clock(&self) -> impl Fn() -> Timestamp + Clone + Send + Sync + use<> {
        let clock = self.clock.clone();
        move || clock()
    }

    /// Where programs keep what they know; `None` where no such place is known.
    pub(crate) fn data_folder(&self) -> Option<&Path> {
        self.data_folder.as_deref()
    }

    /// Whether there is somebody to ask.
    pub(crate) fn has_answers(&self) -> bool {
        self.answers.is_some()
    }

    /// Asks and waits for a line; `None` at the end of all answers.
    pub(crate) fn ask(&mut self, question: &str) -> Option<String> {
        self.say(question);
        let mut line = String::new();
        match self.answers.as_mut()?.read_line(&mut line) {
            Ok(1..) => Some(line.trim().to_owned()),
            Ok(0) | Err(_) => {
                self.say("\n");
                None
            }
        }
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
