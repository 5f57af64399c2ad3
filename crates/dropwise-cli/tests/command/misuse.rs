//! Command lines that cannot be meant, with what is told.

use std::fmt::Write as _;

use dropwise_cli::Exit;

use crate::shop::Shop;

#[test]
fn command_lines() {
    let shop = Shop::with_job();
    shop.write("file", "");
    let lines = [
        "",
        "nset @job.toml",
        "nest",
        "nest @job.toml @job.toml",
        "nest @job.toml --out",
        "nest @job.toml --outdir plan",
        "nest @job.toml --seconds",
        "nest @job.toml --seconds soon",
        "nest @job.toml --seconds 0",
        "nest @job.toml --seconds -3",
        "nest @job.toml --seconds nan",
        "nest @job.toml --seconds inf",
        "nest @job.toml --seconds 1e9",
        "nest @job.toml --rounds many",
        "nest @job.toml --rounds -1",
        "nest @job.toml --rounds 1.5",
        "nest @job.toml --rounds 99999999999999999999",
        "nest @job.toml --seed left",
        "nest @job.toml --seed -1",
        "nest @job.toml --threads 513",
        "nest @job.toml --threads two",
        "nest @job.toml --colour mauve",
        "nest @job.toml --json --json",
        "nest @job.toml --seed 1 --seed 2",
        "nest @job.toml --rounds 0 --out @file",
        "nest @job.toml --rounds 0 --out @file/below",
        "nest @job.toml --rounds 0 --out=",
        "completions",
        "completions tcsh",
        "schema sheet",
        "--frob",
    ];
    let mut page = String::new();
    for line in lines {
        let run = shop.run(line);
        assert_eq!((run.exit, run.stdout.as_str()), (Exit::BadInput, ""), "{line}");
        assert!(!run.stderr.is_empty(), "{line}");
        let _ = writeln!(page, "# dropwise {line}\n{}", run.stderr);
    }
    assert!(lines.len() >= 25);
    insta::assert_snapshot!(page);
}

/// A word that is no text in any encoding is still a file name.
#[cfg(unix)]
#[test]
fn arguments_that_are_no_text() {
    use std::ffi::OsString;
    use std::os::unix::ffi::OsStringExt as _;

    let (mut stdout, mut stderr) = (Vec::new(), Vec::new());
    let strange = OsString::from_vec(b"strange-\xff.toml".to_vec());
    let arguments = [OsString::from("dropwise"), OsString::from("nest"), strange];
    let mut environment = dropwise_cli::Environment::new(&mut stdout, &mut stderr);
    assert_eq!(dropwise_cli::run(arguments, &mut environment), Exit::BadInput);
    drop(environment);
    assert!(String::from_utf8(stderr).unwrap().starts_with("strange-\u{fffd}.toml: cannot be read"));
}
