//! Bad days: foreign files, newer files, files that may not be written, full disks, two writers, damage.

mod common;

use std::path::{Path, PathBuf};
use std::process::Command;

use common::*;
use dropwise_stock::{
    APPLICATION_ID, EventNumber, Finding, SCHEMA_VERSION, State, StockError, StockFault, StockLog, SystemClock,
    read_rack_csv,
};
use rusqlite::Connection;

fn folder() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("rack.dwsl");
    (folder, path)
}

fn fault<T: std::fmt::Debug>(result: Result<T, StockError>, path: &Path) -> StockFault {
    let error = result.unwrap_err();
    assert_eq!(error.path, path);
    assert!(error.to_string().starts_with(&path.display().to_string()) && !error.cure().is_empty());
    *error.fault
}

/// Opens a file in every way, and makes sure that neither it nor its folder was touched.
fn assert_refused(path: &Path, check: fn(&StockFault) -> bool) {
    let listing = |path: &Path| {
        let mut names: Vec<_> = std::fs::read_dir(path.parent().unwrap()).unwrap().map(|e| e.unwrap().path()).collect();
        names.sort();
        names
    };
    let before = (std::fs::read(path).ok(), listing(path));
    for open in [StockLog::open, StockLog::open_existing, StockLog::open_read_only] {
        let fault = fault(open(path, SystemClock), path);
        assert!(check(&fault), "{fault}");
    }
    assert_eq!((std::fs::read(path).ok(), listing(path)), before, "it was touched");
}

#[test]
fn a_log_is_started_and_opened_again() {
    let (_folder, path) = folder();
    assert!(matches!(fault(StockLog::open_existing(&path, clock()), &path), StockFault::NotFound));
    assert!(matches!(fault(StockLog::open_read_only(&path, clock()), &path), StockFault::NotFound));
    assert!(!path.exists());
    let tag = buy_one(&mut StockLog::open(&path, clock()).unwrap(), steel(10.0, 10.0, 5));
    let log = StockLog::open_existing(&path, clock()).unwrap();
    assert_eq!(log.sheet(tag).unwrap().cost.coins(), 5);
    assert_sound(&log);
    drop(log);
    let names: Vec<_> = std::fs::read_dir(path.parent().unwrap()).unwrap().map(|entry| entry.unwrap().path()).collect();
    assert_eq!(names, [path], "one file and nothing beside it");
}

/// A log has its tables from the moment its file is there: an empty file is none, or was cut off.
#[test]
fn an_empty_file_is_no_log() {
    let (_folder, path) = folder();
    std::fs::write(&path, b"").unwrap();
    assert_refused(&path, |fault| matches!(fault, StockFault::ForeignFile { found } if found == "it is empty"));
}

#[cfg(unix)]
#[test]
fn what_is_no_file_is_not_opened() {
    let (_folder, path) = folder();
    assert!(Command::new("mkfifo").arg(&path).status().unwrap().success());
    for path in [&path, Path::new("/dev/null"), Path::new("/dev/zero")] {
        for open in [StockLog::open, StockLog::open_existing, StockLog::open_read_only] {
            let fault = fault(open(path, SystemClock), path);
            assert!(
                matches!(&fault, StockFault::ForeignFile { found } if found.contains("a pipe or a device")),
                "{fault}"
            );
        }
    }
}

#[test]
fn a_file_of_another_program_is_refused_untouched() {
    let is_foreign = |fault: &StockFault| matches!(fault, StockFault::ForeignFile { .. });
    let (folder, path) = folder();
    let foreign = |name: &str, bytes: &[u8]| {
        let path = folder.path().join(name);
        std::fs::write(&path, bytes).unwrap();
        path
    };
    assert_refused(&foreign("letter.txt", b"Dear yard, three drops of 11 ga please.\n"), is_foreign);
    assert_refused(&foreign("short", b"SQLite format 3\0"), is_foreign);
    let mut cut_off = b"SQLite format 3\0".to_vec();
    cut_off.resize(5000, 7);
    assert_refused(&foreign("garbled", &cut_off), is_foreign);
    Connection::open(&path).unwrap().execute_batch("CREATE TABLE songs (name TEXT);").unwrap();
    assert_refused(&path, is_foreign);
    // What another program left half done is its own to finish.
    std::fs::write(path.with_extension("dwsl-journal"), b"hot").unwrap();
    assert_refused(&path, is_foreign);
    let refused = fault(StockLog::open(folder.path(), clock()), folder.path());
    assert!(matches!(refused, StockFault::ForeignFile { .. } | StockFault::CannotOpen { .. }), "{refused}");
}

#[test]
fn a_file_of_a_newer_version_is_refused_untouched() {
    let (_folder, path) = folder();
    buy_one(&mut StockLog::open(&path, clock()).unwrap(), steel(10.0, 10.0, 5));
    let other = Connection::open(&path).unwrap();
    let id: i64 = other.pragma_query_value(None, "application_id", |row| row.get(0)).unwrap();
    assert_eq!(id, APPLICATION_ID);
    other.pragma_update(None, "user_version", SCHEMA_VERSION + 1).unwrap();
    drop(other);
    assert_refused(
        &path,
        |fault| matches!(fault, StockFault::NewerSchema { found, known } if *found == known + 1 && *known == SCHEMA_VERSION),
    );
}

#[test]
fn a_log_opened_to_look_at_is_not_written() {
    let (_folder, path) = folder();
    let tag = buy_one(&mut StockLog::open(&path, clock()).unwrap(), steel(10.0, 10.0, 5));
    let bytes = std::fs::read(&path).unwrap();
    let mut log = StockLog::open_read_only(&path, clock()).unwrap();
    assert!(matches!(fault(log.relocate(tag, "rack A", ""), &path), StockFault::ReadOnly));
    assert_sound(&log);
    assert_eq!(std::fs::read(&path).unwrap(), bytes);
}

/// Not even the superuser of the machine that runs the tests: see [`run_again`].
#[cfg(unix)]
#[test]
fn a_file_that_may_not_be_written_can_be_read_and_says_so() {
    use std::os::unix::fs::PermissionsExt;
    let (folder, path) = folder();
    let tag = buy_one(&mut StockLog::open(&path, clock()).unwrap(), steel(10.0, 10.0, 5));
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o444)).unwrap();
    std::fs::set_permissions(folder.path(), std::fs::Permissions::from_mode(0o555)).unwrap();
    let output = run_again("child_relocates", &path, &folder, |command| {
        use std::os::unix::process::CommandExt;
        // The superuser may write anything; nobody may not. Others cannot change who they are, and need not.
        if std::fs::metadata("/proc/self").is_ok_and(|me| std::os::unix::fs::MetadataExt::uid(&me) == 0) {
            command.uid(65534);
        }
    });
    std::fs::set_permissions(folder.path(), std::fs::Permissions::from_mode(0o755)).unwrap();
    assert!(output.contains("ends with ReadOnly"), "{output}");
    assert_eq!(StockLog::open(&path, clock()).unwrap().sheet(tag).unwrap().details.place, "");
}

/// Runs one of the children below in a process of its own, and gives back what it prints.
#[cfg(unix)]
fn run_again(name: &str, path: &Path, folder: &tempfile::TempDir, prepare: impl FnOnce(&mut Command)) -> String {
    use std::os::unix::fs::PermissionsExt;
    // A copy, where anybody may run it.
    let bench = tempfile::tempdir().unwrap();
    let program = bench.path().join("again");
    std::fs::copy(std::env::current_exe().unwrap(), &program).unwrap();
    std::fs::set_permissions(&program, std::fs::Permissions::from_mode(0o755)).unwrap();
    std::fs::set_permissions(bench.path(), std::fs::Permissions::from_mode(0o755)).unwrap();
    let mut command = Command::new(&program);
    command.args(["--exact", name, "--ignored", "--nocapture"]).env("CHILD_LOG", path).current_dir(folder.path());
    prepare(&mut command);
    // A child that another test forks while the copy is being written holds it open for a moment, and a file that is open
    // for writing cannot be run.
    let output = loop {
        match command.output() {
            Err(error) if error.kind() == std::io::ErrorKind::ExecutableFileBusy => std::thread::yield_now(),
            output => break output.unwrap(),
        }
    };
    String::from_utf8_lossy(&[output.stdout, output.stderr].concat()).into_owned()
}

#[test]
#[ignore = "only ever run by the tests above and below, in a process of its own"]
fn child_relocates() {
    let Some(path) = std::env::var_os("CHILD_LOG").map(PathBuf::from) else { return };
    let result = StockLog::open_existing(&path, SystemClock).and_then(|mut log| {
        let tag = log.sheets(Some(State::InRack))?[0].tag;
        log.relocate(tag, "rack A", "")
    });
    tell(&result.map_err(|error| error.fault));
}

#[test]
#[ignore = "only ever run by the test below, in a process of its own"]
fn child_buys_until_full() {
    let Some(path) = std::env::var_os("CHILD_LOG").map(PathBuf::from) else { return };
    let mut log = StockLog::open_existing(&path, SystemClock).unwrap();
    for _ in 0..10_000 {
        let result = log.buy(vec![known_whole(None)], "another");
        if result.is_err() {
            assert!(log.check_integrity().unwrap().is_empty());
            return tell(&result.map_err(|error| error.fault));
        }
    }
}

#[expect(clippy::print_stdout, reason = "the parent reads it")]
fn tell<T: std::fmt::Debug, E: std::fmt::Debug>(result: &Result<T, E>) {
    match result {
        Ok(done) => println!("ends with success: {done:?}"),
        Err(fault) => println!("ends with {fault:?}"),
    }
}

/// The shell limits how large a file may grow; what is beyond fails as on a full disk.
#[cfg(unix)]
#[test]
fn a_file_that_may_not_grow_ends_in_a_message() {
    for ignores_signal in [true, false] {
        let (folder, path) = folder();
        let tag = buy_one(&mut StockLog::open(&path, clock()).unwrap(), steel(10.0, 10.0, 5));
        let output = run_again("child_buys_until_full", &path, &folder, |command| {
            let program = command.get_program().to_owned();
            let trap = if ignores_signal { "trap '' XFSZ;" } else { "" };
            let mut shell = Command::new("sh");
            // Blocks of 512 bytes: 100 kB.
            shell.args(["-c", &format!("{trap} ulimit -f 200; exec \"$@\"")]).arg("sh").arg(program);
            shell.args(command.get_args()).env("CHILD_LOG", &path).current_dir(folder.path());
            *command = shell;
        });
        // Without the trap the system kills it at the limit, in the middle of writing.
        assert_eq!(output.contains("ends with DiskFull"), ignores_signal, "{output}");
        let mut log = StockLog::open(&path, clock()).unwrap();
        assert_sound(&log);
        assert!(log.events().unwrap().len() > 3, "{output}");
        log.relocate(tag, "room again", "").unwrap();
    }
}

#[test]
fn two_that_write_at_once_both_get_through() {
    let (_folder, path) = folder();
    let writers: Vec<_> = (0..2)
        .map(|writer| {
            let path = path.clone();
            std::thread::spawn(move || {
                // Both may be the one that starts the log.
                let mut log = StockLog::open(&path, SystemClock).unwrap();
                for round in 0..25 {
                    let tag = buy_one(&mut log, steel(1000.0, 500.0, 1000 + round));
                    log.relocate(tag, &format!("bench {writer}"), "").unwrap();
                    let sheet = log.sheet(tag).unwrap();
                    log.record_cut(&cut_plan(vec![plan(&sheet, 0.3, &[0.2, 0.4])]), "").unwrap();
                }
            })
        })
        .collect();
    for writer in writers {
        writer.join().unwrap();
    }
    let log = StockLog::open_existing(&path, clock()).unwrap();
    assert_sound(&log);
    assert_eq!(log.events().unwrap().len(), 2 * 25 * 3);
    assert_eq!(log.sheets(Some(State::InRack)).unwrap().len(), 2 * 25 * 2);
}

#[test]
fn both_cutting_the_same_sheet_gives_one_cut() {
    let (_folder, path) = folder();
    let mut here = StockLog::open(&path, clock()).unwrap();
    let mut there = StockLog::open(&path, clock()).unwrap();
    let tag = buy_one(&mut here, steel(1000.0, 500.0, 1000));
    let planned = cut_plan(vec![plan(&there.sheet(tag).unwrap(), 0.5, &[0.5])]);
    here.record_cut(&planned, "here").unwrap();
    let refused = fault(there.record_cut(&planned, "there"), &path);
    assert!(refused.to_string().contains("cut under plan 1") && refused.to_string().contains("here"), "{refused}");
    assert_sound(&there);
}

#[test]
fn damage_is_found() {
    let (_folder, path) = folder();
    let mut log = StockLog::open(&path, clock()).unwrap();
    let tag = buy_one(&mut log, steel(1000.0, 500.0, 1000));
    let sheet = log.sheet(tag).unwrap();
    log.record_cut(&cut_plan(vec![plan(&sheet, 0.5, &[0.5])]), "").unwrap();
    let other = Connection::open(&path).unwrap();
    let is_damaged = |fault: StockFault| matches!(fault, StockFault::Damaged { .. });
    for change in ["cost = cost + 1", "state = 'sold'", "notes = 'x'", "area_mm2 = 1.5", "grain_deg = 0.0"] {
        other.execute(&format!("UPDATE sheet SET {change} WHERE tag = ?1"), [tag.as_str()]).unwrap();
        assert_eq!(log.check_integrity().unwrap(), [Finding::Sheet { tag }], "{change}");
        // Whoever looks is told, and whoever writes is not let in.
        assert!(is_damaged(fault(log.sheet(tag), &path)) && is_damaged(fault(log.sheets(Some(State::InRack)), &path)));
        assert!(is_damaged(fault(log.value(), &path)) && is_damaged(fault(log.export_csv(), &path)));
        assert!(is_damaged(fault(StockLog::open(&path, clock()), &path)));
        StockLog::open_as_it_is(&path, clock(), true).unwrap().rebuild().unwrap();
        assert_sound(&log);
    }
    // The index of which event speaks of which sheet follows from the events too.
    other.execute_batch("DROP TRIGGER event_sheet_is_kept; DELETE FROM event_sheet WHERE number = 2;").unwrap();
    let found = log.check_integrity().unwrap();
    assert!(found == [Finding::Index { event: EventNumber(2) }] && found[0].is_of_tables(), "{found:?}");
    log.rebuild().unwrap();
    assert_sound(&log);
    assert!(other.execute_batch("DELETE FROM event_sheet").is_err(), "the guard is back");
    // Somebody takes the guard away and changes history.
    other.execute_batch("DROP TRIGGER event_is_fixed; UPDATE event SET body = '{}' WHERE number = 2;").unwrap();
    assert!(matches!(log.check_integrity().unwrap()[..], [Finding::Events(_)]));
    assert!(is_damaged(fault(StockLog::open(&path, clock()), &path)));
    assert!(matches!(fault(log.events(), &path), StockFault::Damaged { .. }));
}

/// A bad disk: whatever bytes change, the log is read, or refused with a message.
#[test]
fn garbled_files_are_refused_or_found_out() {
    let (_folder, path) = folder();
    let mut log = StockLog::open(&path, clock()).unwrap();
    for _ in 0..3 {
        let tag = log.buy(vec![steel(1000.0, 500.0, 1000), known_whole(None)], "").unwrap().tags[0];
        let sheet = log.sheet(tag).unwrap();
        log.record_cut(&cut_plan(vec![plan(&sheet, 0.3, &[0.2, 0.4])]), "").unwrap();
    }
    let (events, sheets) = (log.events().unwrap(), log.sheets(None).unwrap());
    drop(log);
    let sound = std::fs::read(&path).unwrap();
    let (mut refused, mut found, mut unseen) = (0, 0, 0);
    for round in 0..150_usize {
        let mut garbled = sound.clone();
        // Steps that share no factor with the length of a page, from the head of the file to its end.
        let at = (round * 48_611 + round * round * 7) % garbled.len();
        for byte in garbled.iter_mut().skip(at).take(1 + round % 64) {
            *byte = byte.wrapping_add(1 + (round % 200) as u8);
        }
        if round % 10 == 9 {
            garbled.truncate(at.max(1));
        }
        std::fs::write(&path, &garbled).unwrap();
        // Whatever is written, is written on a sound log.
        if let Ok(mut log) = StockLog::open(&path, clock())
            && log.buy(vec![steel(1.0, 1.0, 1)], "").is_ok()
        {
            assert_sound(&log);
            assert_eq!(log.events().unwrap()[..events.len()], events[..]);
            drop(log);
            std::fs::write(&path, &garbled).unwrap();
        }
        let checked = StockLog::open_as_it_is(&path, clock(), true).and_then(|mut log| {
            let findings = log.check_integrity()?;
            if findings.is_empty() {
                // Then what changed was unused room.
                assert_eq!((log.events()?, log.sheets(None)?), (events.clone(), sheets.clone()));
            }
            // None of these may panic either.
            let _ = (log.value(), log.report(), log.export_csv(), log.export_json());
            let _ = log.buy(vec![steel(1.0, 1.0, 1)], "");
            Ok(findings)
        });
        match checked {
            Err(error) => {
                assert!(!error.to_string().is_empty());
                refused += 1;
            }
            Ok(findings) if findings.is_empty() => unseen += 1,
            Ok(_) => found += 1,
        }
        let _ = std::fs::remove_file(path.with_extension("dwsl-journal"));
    }
    // Most of a small file is unused room: each of its tables has a page of its own.
    assert!(refused > 20 && found > 10, "{refused} refused, {found} found, {unseen} unseen");
}

#[test]
fn rows_that_cannot_be_are_listed_with_their_lines() {
    let text = "material,thickness_mm,gauge,length_mm,width_mm,shape,notes,cost_coins,tag\n\
                mild steel,3.04,,500,300,,\"two\nlines\",800,\n\
                plywood,3.04,,500,300,,,800,\n\
                brass,,,500,0,,,many,ABC\n\
                stainless,,11,500,300,\"{\"\"exterior\"\":[[0,0],[1,0],[0,1],[1,1]]}\",,5,\n\
                copper,1\n\
                galv,,18,400,200,,fine,0,\n";
    let file = read_rack_csv(text).unwrap();
    assert_eq!(file.rows.iter().map(|row| row.line).collect::<Vec<_>>(), [2, 8]);
    assert_eq!(file.rows[0].sheet.details.notes, "two\nlines");
    let rejected: Vec<(u64, usize)> = file.rejected.iter().map(|row| (row.line, row.faults.len())).collect();
    assert_eq!(rejected, [(4, 1), (5, 4), (6, 2), (7, 2)], "{:#?}", file.rejected);
    let log = log();
    assert!(log.check_purchase(&file.rows.iter().map(|row| row.sheet.clone()).collect::<Vec<_>>()).unwrap().is_empty());
    for text in ["", "tag\n", "material,shape\n", "material,gauge,length_mm\n"] {
        assert!(matches!(read_rack_csv(text), Err(StockFault::Document { .. })), "{text}");
    }
}

#[test]
fn documents_that_cannot_be_are_refused_whole() {
    let mut source = log();
    let tag = buy_one(&mut source, steel(1000.0, 500.0, 1000));
    let sheet = source.sheet(tag).unwrap();
    source.record_cut(&cut_plan(vec![plan(&sheet, 0.5, &[0.5])]), "").unwrap();
    let text = source.export_json().unwrap();
    let mut target = log();
    let mut refused = |text: &str| {
        let fault = fault(target.import_json(text), Path::new(":memory:"));
        assert!(target.events().unwrap().is_empty());
        fault
    };
    assert!(matches!(refused(&text[..text.len() / 2]), StockFault::Document { .. }));
    assert!(matches!(refused("{\"format\": \"a song\"}"), StockFault::Document { line: 1, .. }));
    let newer = text.replacen("\"version\": 3", "\"version\": 4", 1);
    assert!(matches!(refused(&newer), StockFault::NewerDocument { found: 4, known: 3 }));
    let unbalanced = text.replacen("\"charged\": 500", "\"charged\": 499", 1);
    assert!(matches!(refused(&unbalanced), StockFault::Impossible { .. }));
    let negative = text.replacen("\"paid\": 1000", "\"paid\": -1000", 1);
    assert!(matches!(refused(&negative), StockFault::Impossible { .. } | StockFault::BadEvent { .. }));
    let doubled = text.replacen("\"number\": 2", "\"number\": 1", 1);
    assert!(matches!(refused(&doubled), StockFault::Impossible { .. }));
    assert_eq!(target.import_json(&text).unwrap(), 2);
    assert!(matches!(fault(target.import_json(&text), Path::new(":memory:")), StockFault::NotEmpty { events: 2 }));
}
