//! What the help says beyond a line for each option.

use std::fmt::Write as _;

use crate::exit::Exit;

pub(crate) const ABOUT: &str = "Nests flat parts onto drops, remnants and sheets of metal";

pub(crate) const LONG_ABOUT: &str = "\
Nests flat parts onto drops, remnants and sheets of metal.

Write down what is to be made and what lies in the rack. dropwise decides what is cut out of which sheet, proves that the \
plan can be cut, draws it, and says what each part costs.";

pub(crate) const AFTER_HELP: &str = "dropwise COMMAND --help tells more of a command, with examples.";

pub(crate) const NEST_ABOUT: &str = "Nests the parts of a job onto its sheets";

pub(crate) const NEST_LONG_ABOUT: &str = "\
Nests the parts of a job onto its sheets.

Among plans that place everything the cheapest wins, and among equally cheap ones the one with the better leftovers. No plan \
is printed that has not been proved on the true outlines: every part inside its sheet by the margin, every two parts apart by \
the web.

The report goes to standard output, progress and notes to standard error. Ctrl-C ends the search and keeps the best plan so \
far; a second one aborts.";

const NEST_EXAMPLES: &str = "\
Examples:
  Report on the terminal after ten seconds of search:
      dropwise nest brackets.toml
  The same, with drawings to hang beside the saw:
      dropwise nest brackets.toml --out brackets-plan
  Search for two minutes before a large order:
      dropwise nest brackets.toml --seconds 120
  A plan that comes out the same on every run:
      dropwise nest brackets.toml --rounds 50 --seed 7
  What it costs in all, in the smallest coin, for a script:
      dropwise nest brackets.toml --json --quiet | jq .cost.total";

pub(crate) const COMPLETIONS_ABOUT: &str = "Prints what lets a shell complete the command line";

pub(crate) const COMPLETIONS_AFTER: &str = "\
Examples:
  For the Bash that is running:
      source <(dropwise completions bash)
  For every Fish to come:
      dropwise completions fish > ~/.config/fish/completions/dropwise.fish";

pub(crate) const SCHEMA_ABOUT: &str = "Prints the JSON Schema of the job file, the shop file or the plan";

pub(crate) const SCHEMA_LONG_ABOUT: &str = "\
Prints the JSON Schema of the job file, the shop file or the plan.

Editors that know it complete the keys of a job file while it is written, TOML or JSON, and underline what is wrong.";

pub(crate) const SCHEMA_AFTER: &str = "\
Examples:
  Beside the jobs, for the editor:
      dropwise schema > job.schema.json
  What a program that reads plans can rely on:
      dropwise schema plan";

/// The exit codes, as a table.
pub(crate) fn exit_codes() -> String {
    let mut page = "Exit codes:".to_owned();
    for exit in Exit::ALL {
        let _ = write!(page, "\n  {:>3}  {}", exit.code(), exit.meaning());
    }
    page
}

pub(crate) fn after_long_help() -> String {
    format!("{}\n\n{AFTER_HELP}", exit_codes())
}

pub(crate) fn nest_after_long_help() -> String {
    format!("{NEST_EXAMPLES}\n\n{}", exit_codes())
}
