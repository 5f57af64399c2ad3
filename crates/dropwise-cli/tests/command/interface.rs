//! Help, completions, schemas, exit codes.

use dropwise_cli::Exit;
use serde_json::Value;

use crate::shop::{JOB, Shop};

#[test]
fn help_long_and_short() {
    let shop = Shop::new();
    for (name, line) in [
        ("help", "--help"),
        ("help_short", "-h"),
        ("help_nest", "nest --help"),
        ("help_nest_short", "nest -h"),
        ("help_draw", "draw --help"),
        ("help_completions", "completions --help"),
        ("help_schema", "schema --help"),
        ("help_flat", "flat --help"),
        ("help_check", "check --help"),
        ("help_look", "look --help"),
        ("help_outfit", "outfit --help"),
        ("help_prove", "prove --help"),
        ("help_compare", "compare --help"),
    ] {
        let run = shop.run(line);
        assert_eq!((run.exit, run.stderr.as_str()), (Exit::Done, ""), "{line}");
        assert!(run.stdout.lines().all(|line| line.chars().count() <= 80), "{}", run.stdout);
        insta::assert_snapshot!(name, run.stdout);
    }
}

#[test]
fn help_names_every_exit_code() {
    let help = Shop::new().run("nest --help").stdout;
    let mut codes: Vec<u8> = Exit::ALL.map(Exit::code).to_vec();
    for exit in Exit::ALL {
        assert!(help.contains(&format!("  {:>3}  {}\n", exit.code(), exit.meaning())), "{exit:?}");
    }
    codes.dedup();
    assert_eq!(codes, [0, 1, 2, 3, 4, 130]);
}

#[test]
fn the_version_is_that_of_the_package() {
    let run = Shop::new().run("--version");
    assert_eq!((run.exit, run.stdout), (Exit::Done, format!("dropwise {}\n", env!("CARGO_PKG_VERSION"))));
}

#[test]
fn every_shell_gets_completions() {
    let shop = Shop::new();
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let run = shop.run(&format!("completions {shell}"));
        assert_eq!((run.exit, run.stderr.as_str()), (Exit::Done, ""), "{shell}");
        assert!(run.stdout.contains("rounds") && run.stdout.contains("schema"), "{shell}");
    }
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|error| panic!("{error}: {text}"))
}

/// The schemas that are printed hold for what is read and for what is printed.
#[test]
fn schemas_fit_the_files() {
    let shop = Shop::with_job();
    let job_schema = json(&shop.run("schema").stdout);
    assert_eq!(job_schema, json(&shop.run("schema job").stdout));
    let job: Value = toml::from_str(JOB).unwrap();
    assert!(jsonschema::validator_for(&job_schema).unwrap().is_valid(&job));
    let plan_schema = json(&shop.run("schema plan").stdout);
    let plan = json(&shop.run("nest @job.toml --json --rounds 0").stdout);
    let validator = jsonschema::validator_for(&plan_schema).unwrap();
    let errors: Vec<String> = validator.iter_errors(&plan).map(|error| error.to_string()).collect();
    assert!(errors.is_empty(), "{errors:#?}");
    assert!(!validator.is_valid(&job));
}

#[test]
fn colour_is_for_terminals_and_can_be_refused() {
    let shop = Shop::with_job();
    let is_coloured = |line: &str, is_terminal: bool, variables: &[(&str, &str)]| {
        let run = shop.run_with(line, |environment| {
            let environment = if is_terminal { environment.with_terminals() } else { environment };
            variables.iter().fold(environment, |environment, (name, value)| environment.with_variable(name, value))
        });
        (run.stdout + &run.stderr).contains('\x1b')
    };
    let nest = "nest @job.toml --rounds 0";
    for line in [nest, "--help", "nest --frob", "nest @missing.toml"] {
        assert!(is_coloured(line, true, &[]), "{line}");
        assert!(!is_coloured(line, false, &[]), "{line}");
        // As no-color.org has it: set and not empty.
        assert!(!is_coloured(line, true, &[("NO_COLOR", "1")]), "{line}");
        assert!(is_coloured(line, true, &[("NO_COLOR", "")]), "{line}");
        assert!(!is_coloured(line, true, &[("TERM", "dumb")]), "{line}");
        assert!(is_coloured(&format!("{line} --colour always"), false, &[("NO_COLOR", "1")]), "{line}");
        assert!(!is_coloured(&format!("{line} --color=never"), true, &[]), "{line}");
    }
}
