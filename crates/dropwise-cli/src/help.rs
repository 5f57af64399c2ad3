//! What the help says beyond a line for each option.

use std::fmt::Write as _;

use clap::Command;

use crate::exit::Exit;

pub(crate) const ABOUT: &str = "Lays bent parts flat, nests parts onto drops and sheets, and draws the plan";

pub(crate) const LONG_ABOUT: &str = "\
Lays bent parts flat, nests parts onto drops and sheets, and draws the plan.

Write down what is to be made, flat or bent, and what lies in the rack. dropwise lays the bent parts flat, checks them against \
the shop's tools, decides what is cut out of which sheet, proves that the plan can be cut, draws paper to cut and bend from, \
says what each part costs, and keeps the log of what is left over.";

/// Verbs by when they are used.
pub(crate) const GROUPS: [(&str, &[&str]); 5] = [
    ("Before there is a job", &["fits", "jot", "photo"]),
    ("While it is written", &["look", "check", "flat"]),
    ("When it is made", &["nest", "buy", "prove", "compare", "draw"]),
    ("When it is cut", &["cut", "stock"]),
    ("Once, to set up", &["outfit", "completions", "manual", "schema", "help"]),
];

/// Whole jobs from first word to last.
pub(crate) const WHOLE_EXAMPLES: &str = "\
Three whole jobs:
  A tray of 16 gauge from a drop, and nothing written yet:
      dropwise jot tray --unit in --length 9 --width 6 --height 1-1/4 \\
          --metal 'mild steel' --thickness '16 ga' --piece '18 x 12 @ 4.50'
      dropwise nest tray.toml --out tray-plan
  A job written in an editor, looked at meanwhile, cut from the rack:
      dropwise look brackets.toml
      dropwise nest brackets.toml --from-stock --out plan
      dropwise draw plan
      dropwise cut plan
  At the yard, before money changes hands:
      dropwise fits --unit in '3 of 12-3/8 x 4' '6 dia' --on '30 x 18 @ 12'
      dropwise buy brackets.toml --offers yard.csv --out plan
      dropwise cut plan --bought";

/// How the page of the whole command is laid out: verbs by when they are used, then options, then the rest.
const TEMPLATE: &str = "{about-with-newline}\n{usage-heading} {usage}\n\n{before-help}Options:\n{options}{after-help}";

/// The command with its verbs in groups.
pub(crate) fn grouped(command: Command) -> Command {
    let about = |name: &str| {
        let verb = command.get_subcommands().find(|verb| verb.get_name() == name);
        verb.and_then(Command::get_about).map(ToString::to_string)
    };
    let mut page = String::new();
    for (title, verbs) in GROUPS {
        let _ = writeln!(page, "{title}:");
        for name in verbs {
            // clap makes this one itself, later.
            let about = if *name == "help" { Some("Tells more of a command".to_owned()) } else { about(name) };
            // A verb that was left out when this was built is not there.
            if let Some(about) = about {
                let _ = writeln!(page, "  {name:<12} {about}");
            }
        }
        page.push('\n');
    }
    let page = page.trim_end().to_owned();
    command.before_help(page).help_template(TEMPLATE)
}

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
  Two brackets more than yesterday, beginning with yesterday's plan:
      dropwise nest brackets.toml --go-on-from plan --out plan
  What it costs in all, in the smallest coin, for a script:
      dropwise nest brackets.toml --json --quiet | jq .cost.total";

pub(crate) const COMPLETIONS_ABOUT: &str = "Prints what lets a shell complete the command line";

pub(crate) const COMPLETIONS_AFTER: &str = "\
Examples:
  For the Bash that is running:
      source <(dropwise completions bash)
  For every Fish to come:
      dropwise completions fish > ~/.config/fish/completions/dropwise.fish";

pub(crate) const MANUAL_ABOUT: &str = "Writes man pages of all commands";

pub(crate) const MANUAL_LONG_ABOUT: &str = "\
Writes man pages of all commands, from the same source as this help.

Without a folder the page of the whole command is printed.";

pub(crate) const MANUAL_AFTER: &str = "\
Examples:
  For everyone on this machine who types `man dropwise-nest`:
      sudo dropwise manual --out /usr/local/share/man/man1
  To read one at once:
      dropwise manual | man -l -";

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
    format!("{WHOLE_EXAMPLES}\n\n{}\n\n{AFTER_HELP}", exit_codes())
}

pub(crate) fn nest_after_long_help() -> String {
    format!("{NEST_EXAMPLES}\n\n{}", exit_codes())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_verb_stands_in_one_group() {
        let command = crate::arguments::command();
        let mut verbs: Vec<&str> = command.get_subcommands().map(Command::get_name).collect();
        verbs.push("help");
        verbs.sort_unstable();
        let mut grouped: Vec<&str> = GROUPS.iter().flat_map(|(_, verbs)| verbs.iter().copied()).collect();
        grouped.sort_unstable();
        assert_eq!(grouped, verbs);
    }
}
