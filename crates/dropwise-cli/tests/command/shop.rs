//! A folder of its own for a test, and runs in it.

use std::path::{Path, PathBuf};

use dropwise_cli::{Environment, Exit, run};

/// A job that nests in no time: three plates on a drop of which little is left.
pub(crate) const JOB: &str = r#"name = "Bench legs"
currency = "EUR"
defaults = { material = "mild steel", thickness = "3 mm" }
clearances = { kerf = 2, web = 4, margin = 5 }

[[parts]]
name = "foot"
quantity = 3
rectangle = { width = 120, height = 80 }

[[sheets]]
name = "drop 4"
rectangle = { width = 300, height = 200 }
price = 9.50
"#;

/// What a run left behind.
#[derive(Debug)]
pub(crate) struct Run {
    pub(crate) exit: Exit,
    pub(crate) stdout: String,
    pub(crate) stderr: String,
}

pub(crate) struct Shop {
    folder: tempfile::TempDir,
}

impl Shop {
    /// An empty folder.
    pub(crate) fn new() -> Self {
        Self { folder: tempfile::tempdir().expect("a temporary folder can be made") }
    }

    /// A folder with [`JOB`] as `job.toml`.
    pub(crate) fn with_job() -> Self {
        let shop = Self::new();
        shop.write("job.toml", JOB);
        shop
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn write(&self, name: &str, text: impl AsRef<[u8]>) {
        std::fs::write(self.path(name), text).expect("the temporary folder can be written to");
    }

    pub(crate) fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    /// The words of a command line; `@name` stands for a path in the folder.
    pub(crate) fn arguments(&self, line: &str) -> Vec<String> {
        let words = std::iter::once("dropwise").chain(line.split_whitespace());
        words.map(|word| word.strip_prefix('@').map_or_else(|| word.to_owned(), |name| self.name_of(name))).collect()
    }

    fn name_of(&self, name: &str) -> String {
        self.path(name).to_str().expect("temporary folders have plain names").to_owned()
    }

    pub(crate) fn run(&self, line: &str) -> Run {
        self.run_with(line, |environment| environment)
    }

    /// A run in an environment that `with` has changed.
    pub(crate) fn run_with(&self, line: &str, with: impl for<'e> FnOnce(Environment<'e>) -> Environment<'e>) -> Run {
        let (mut stdout, mut stderr) = (Vec::new(), Vec::new());
        let exit = run(self.arguments(line), &mut with(Environment::new(&mut stdout, &mut stderr)));
        Run { exit, stdout: self.text(stdout), stderr: self.text(stderr) }
    }

    /// A run of words that may hold blanks, on the log `rack.dwsl` of the folder, with somebody who answers these lines.
    pub(crate) fn at_rack(&self, words: &[&str], answers: Option<&str>) -> Run {
        let (mut stdout, mut stderr) = (Vec::new(), Vec::new());
        let words = std::iter::once("dropwise").chain(words.iter().copied());
        let words = words.map(|word| word.strip_prefix('@').map_or_else(|| word.to_owned(), |name| self.name_of(name)));
        let mut environment = Environment::new(&mut stdout, &mut stderr)
            .with_variable("DROPWISE_LOG", &self.name_of("rack.dwsl"))
            .with_clock(|| "2026-03-02".parse().expect("a date"));
        if let Some(answers) = answers {
            environment = environment.with_answers(answers.as_bytes());
        }
        let exit = run(words, &mut environment);
        drop(environment);
        Run { exit, stdout: self.text(stdout), stderr: self.text(stderr) }
    }

    /// What was written, with `DIR` for the folder, which is another one each time.
    fn text(&self, bytes: Vec<u8>) -> String {
        let text = String::from_utf8(bytes).expect("everything written is text");
        let folder: &Path = self.folder.path();
        text.replace(folder.to_str().expect("temporary folders have plain names"), "DIR")
    }
}
