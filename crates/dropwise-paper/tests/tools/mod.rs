//! General programs that tests run as referees: found, skipped clearly, or required.

use std::path::PathBuf;
use std::process::{Command, Output};

/// The first of some programs that is there. Without any the caller skips its check, or fails where
/// `DROPWISE_REQUIRE_REFERENCES=1`.
pub(crate) fn find(names: &[&str]) -> Option<PathBuf> {
    let paths = std::env::var_os("PATH").unwrap_or_default();
    let folders: Vec<PathBuf> = std::env::split_paths(&paths).collect();
    let found = names.iter().flat_map(|name| folders.iter().map(move |folder| folder.join(name))).find(|p| p.is_file());
    if found.is_none() {
        skip(names[0]);
    }
    found
}

/// Says that a check is skipped, or fails where it may not be.
#[expect(clippy::print_stderr, reason = "a skipped check must be seen")]
pub(crate) fn skip(what: &str) {
    assert!(
        std::env::var_os("DROPWISE_REQUIRE_REFERENCES").is_none_or(|value| value != "1"),
        "{what} is required here and missing"
    );
    eprintln!("SKIPPED: {what} is missing");
}

/// Runs a program that must succeed.
#[allow(dead_code, reason = "not every test that shares this module runs one that must")]
pub(crate) fn run(command: &mut Command) -> Output {
    let output = command.output().unwrap_or_else(|error| panic!("{command:?}: {error}"));
    assert!(output.status.success(), "{command:?}: {}", String::from_utf8_lossy(&output.stderr));
    output
}
