//! What to do after each verb: the last line of its help.

use clap::Command;

/// Verbs, as they are typed, and what comes after them.
const NEXT: &[(&str, &str)] = &[
    ("nest", "`dropwise draw PLAN` for the paper, and once it is cut `dropwise cut PLAN`."),
    ("fits", "`dropwise jot` to write the parts down as a job."),
    ("jot", "`dropwise check JOB`, then `dropwise nest JOB`."),
    ("flat", "`dropwise check JOB` for what the tools cannot do, `dropwise nest JOB` for the plan."),
    ("check", "`dropwise flat JOB` for the figures of bent parts, `dropwise nest JOB` for the plan."),
    ("look", "save the job file and watch the page; `dropwise nest JOB --out PLAN` for the plan to cut by."),
    ("stock", "`dropwise stock add` for the first piece, `dropwise nest JOB --from-stock` to cut from the rack."),
    ("cut", "`dropwise stock labels` for what was left over; `dropwise stock undo` if it was not cut after all."),
    ("prove", "`dropwise draw PLAN` for the paper, or `dropwise nest JOB --go-on-from PLAN` to search on from it."),
    ("compare", "`dropwise draw PLAN` for the better one."),
    ("draw", "print, cut, and record it with `dropwise cut PLAN`."),
    ("buy", "buy it, write it down with `dropwise stock add`, then `dropwise nest JOB --from-stock`."),
    ("photo", PHOTO),
    ("outfit", "name it in a job as `shop`, then `dropwise check JOB`; docs/shop-file.md has the other keys."),
    ("manual", "`man dropwise`, once the pages lie where man looks for them."),
    ("completions", "`dropwise --help` for the verbs."),
    ("schema", "`dropwise jot` for a first job file."),
    ("stock add", "`dropwise stock labels` for a label, `dropwise stock list` to see the rack."),
    ("stock list", "`dropwise stock show TAG` for one piece, `dropwise stock find` for those that hold a part."),
    ("stock show", "`dropwise stock history TAG` for what happened to it."),
    ("stock find", "`dropwise nest JOB --from-stock` to cut the part from the rack."),
    ("stock value", "`dropwise stock report` for how the metal was used."),
    ("stock report", "`dropwise stock value` for what lies there now."),
    ("stock labels", "print them at full size and stick them on the pieces."),
    ("stock move", "`dropwise stock show TAG` to see that it is right."),
    ("stock measure", "`dropwise stock show TAG` to see it as it is now."),
    ("stock scrap", "`dropwise stock undo` if it is to be kept after all."),
    ("stock history", "`dropwise stock undo` takes the last event back."),
    ("stock undo", "`dropwise stock list` to see the rack as it is now."),
    ("stock verify", "`dropwise stock export` for a copy to keep elsewhere."),
    ("stock import", "`dropwise stock list` to see what came in, `dropwise stock verify` for the log."),
    ("stock export", "`dropwise stock import` reads a whole log back."),
    ("photo scale-sheet", "print it at full size, lay it beside the piece, and take the photograph."),
    ("photo outline", "name the drawing in a job file, then `dropwise check JOB`."),
    ("photo stock", "`dropwise stock show TAG` to see what was read."),
];

/// The command with the line at the end of each verb's long help.
pub(crate) fn told(command: Command) -> Command {
    told_below(command, "")
}

fn told_below(mut command: Command, path: &str) -> Command {
    let names: Vec<String> = command.get_subcommands().map(|verb| verb.get_name().to_owned()).collect();
    for name in names {
        let path = if path.is_empty() { name.clone() } else { format!("{path} {name}") };
        command = command.mut_subcommand(name, |verb| {
            let next = NEXT.iter().find(|(known, _)| *known == path).map(|(_, next)| *next);
            let before = verb.get_after_long_help().map(|text| format!("{text}\n\n")).unwrap_or_default();
            let verb = match next {
                Some(next) => verb.after_long_help(format!("{before}Next: {next}")),
                None => verb,
            };
            told_below(verb, &path)
        });
    }
    command
}

/// A build without photographs has no sheet to print.
const PHOTO: &str = if cfg!(feature = "photo") {
    "`dropwise photo scale-sheet` for the scale sheet to print."
} else {
    "build it in as said above; until then, `dropwise jot` makes a part by its sizes."
};

#[cfg(test)]
mod tests {
    use super::*;

    fn verbs(command: &Command, path: &str, found: &mut Vec<(String, String)>) {
        for verb in command.get_subcommands().filter(|verb| verb.get_name() != "help") {
            let path = format!("{path} {}", verb.get_name()).trim().to_owned();
            let help = verb.get_after_long_help().map(ToString::to_string).unwrap_or_default();
            verbs(verb, &path, found);
            found.push((path, help));
        }
    }

    /// Every verb's help ends with what to do next, and every verb that it names is there.
    #[test]
    fn every_verb_tells_what_comes_next() {
        let mut found = Vec::new();
        verbs(&crate::arguments::command(), "", &mut found);
        assert!(found.len() >= 25, "{found:?}");
        for (path, help) in &found {
            let last = help.lines().last().unwrap_or_default();
            let next = last.strip_prefix("Next: ").unwrap_or_else(|| panic!("{path} ends with: {last}"));
            for named in next.split("`dropwise ").skip(1) {
                let named = named.split('`').next().unwrap_or_default();
                let words: Vec<&str> = named
                    .split(' ')
                    .take_while(|word| {
                        !word.starts_with('-') && word.chars().all(|c| c.is_ascii_lowercase() || c == '-')
                    })
                    .collect();
                let is_there = words.is_empty() || found.iter().any(|(known, _)| *known == words.join(" "));
                assert!(is_there, "{path} sends on to {named}, which is no verb");
            }
        }
        let is_known = |verb: &str| found.iter().any(|(path, _)| path == verb);
        let unknown: Vec<_> = NEXT.iter().filter(|(verb, _)| !is_known(verb) && !verb.starts_with("photo")).collect();
        assert!(unknown.is_empty(), "{unknown:?}");
    }
}
