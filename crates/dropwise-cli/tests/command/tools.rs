//! General programs that tests run as referees: found, skipped clearly, or required.

use std::path::PathBuf;

/// A program that is there. Without it the caller skips its check, or fails where `DROPWISE_REQUIRE_REFERENCES=1`.
pub(crate) fn find(name: &str) -> Option<PathBuf> {
    let paths = std::env::var_os("PATH").unwrap_or_default();
    let found = std::env::split_paths(&paths).map(|folder| folder.join(name)).find(|path| path.is_file());
    if found.is_none() {
        missing(name);
    }
    found
}

/// Says that a check is skipped, or fails where it may not be.
#[expect(clippy::print_stderr, reason = "a skipped check must be seen")]
pub(crate) fn missing(what: &str) {
    let is_required = std::env::var_os("DROPWISE_REQUIRE_REFERENCES").is_some_and(|value| value == "1");
    assert!(!is_required, "{what} is required here and missing");
    eprintln!("SKIPPED: {what} is missing");
}
