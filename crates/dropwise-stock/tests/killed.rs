//! The machine is killed at any moment: every event that was acknowledged is there afterwards, and no plan is half
//! recorded.
//!
//! A child process writes and says so after each commit; the parent kills it with a signal it cannot catch, at a random
//! moment, and looks at what is left. Twenty kills hit the same file, so that a journal left behind is met by the next
//! writer too, not only by the check.
//!
//! Every run of the tests kills five hundred times. A thousand times and more:
//!
//! ```text
//! DROPWISE_KILLS=1000 DROPWISE_TALLY=$PWD/target/kills.json \
//!     cargo test -p dropwise-stock --test killed -- --ignored --nocapture as_often_as_told
//! ```
//!
//! The tally is written after each file of twenty kills; a run that was stopped goes on from it.
#![cfg(unix)]

mod common;

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use common::*;
use dropwise_stock::{Change, EventNumber, PlannedSheet, Role, Source, State, StockLog, SystemClock};

const KILLS_EACH_FILE: usize = 20;

/// Cause of plans whose sheet is bought in the same transaction, as an event of its own.
const FOR_THE_PLAN: &str = "for the plan";

/// A plain linear congruential generator: which moments it strikes does not matter, only that they differ.
struct Moments(u64);

impl Moments {
    fn below(&mut self, limit: u64) -> u64 {
        // Constants of Knuth's MMIX, from memory.
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % limit
    }
}

/// What the child says after a commit: the number of the event and what it was.
#[test]
#[ignore = "only ever run by the test below, in a process of its own"]
fn child_writes_until_killed() {
    let Some(path) = std::env::var_os("CHILD_LOG").map(PathBuf::from) else { return };
    let mut log = StockLog::open(&path, SystemClock).unwrap();
    let mut told = std::io::stdout();
    let mut say = |number: EventNumber, what: &str| {
        writeln!(told, "committed {number} {what}").unwrap();
        told.flush().unwrap();
    };
    loop {
        let bought = log.buy(vec![steel(1000.0, 500.0, 1001), known_whole(None)], "restock").unwrap();
        say(bought.number, "bought");
        let sheet = log.sheet(bought.tags[0]).unwrap();
        let plans = cut_plan(vec![plan(&sheet, 0.3, &[0.1, 0.2, 0.3])]);
        let cut = log.record_cut(&plans, "").unwrap();
        say(cut.number, "cut");
        let new = Source::Bought(Box::new(steel(1000.0, 500.0, 700)));
        let plans = cut_plan(vec![PlannedSheet { source: new, ..plan(&sheet, 0.3, &[0.1, 0.2, 0.3]) }]);
        say(log.record_cut(&plans, FOR_THE_PLAN).unwrap().number, "cut");
        say(log.relocate(cut.tags[0], "rack B", "").unwrap().number, "moved");
        say(log.scrap(cut.tags[1], None, "").unwrap().number, "scrapped");
        say(log.undo(None, "").unwrap().number, "undone");
    }
}

const GROUPS: u64 = 5;
const FILES_EACH_GROUP: u64 = 5;

#[test]
fn killed_at_random_five_hundred_times() {
    let folder = tempfile::tempdir().unwrap();
    // Side by side, as most of the time is spent waiting for the disk.
    let groups: Vec<_> = (0..GROUPS)
        .map(|group| {
            let folder = folder.path().to_owned();
            std::thread::spawn(move || {
                let mut sum = Tally::default();
                for file in group * FILES_EACH_GROUP..(group + 1) * FILES_EACH_GROUP {
                    sum.add(&kill_file(&folder.join(format!("rack{file}.dwsl")), 20_260_301 + file));
                }
                sum
            })
        })
        .collect();
    let mut sum = Tally::default();
    groups.into_iter().for_each(|group| sum.add(&group.join().unwrap()));
    assert_eq!(sum.kills, 500);
    // A kill that always fell between two commits, or before the first, would prove nothing.
    assert!(sum.acknowledged > sum.kills && sum.journals > 0, "{sum:?}");
    tell(&format!("{sum:?}"));
}

/// The second tier: see the head of this file.
#[test]
#[ignore = "takes minutes; run with DROPWISE_KILLS and DROPWISE_TALLY set"]
fn killed_as_often_as_told() {
    let wanted: usize = std::env::var("DROPWISE_KILLS").map_or(1000, |count| count.parse().unwrap());
    let kept = std::env::var_os("DROPWISE_TALLY").map(PathBuf::from);
    let read = |path: &PathBuf| Some(Tally::read(&std::fs::read_to_string(path).ok()?));
    let mut sum = kept.as_ref().and_then(read).unwrap_or_default();
    let folder = tempfile::tempdir().unwrap();
    while sum.kills < wanted {
        let path = folder.path().join(format!("rack{}.dwsl", sum.kills));
        sum.add(&kill_file(&path, 20_260_401 + sum.kills as u64));
        if let Some(kept) = &kept {
            std::fs::write(kept, sum.write()).unwrap();
        }
        tell(&format!("{sum:?}"));
    }
    assert!(sum.acknowledged * 1000 >= sum.kills * 300, "too few events were acknowledged: {sum:?}");
    assert!(sum.journals > 0, "no kill fell into a commit: {sum:?}");
}

/// What the kills met.
#[derive(Debug, Default)]
struct Tally {
    kills: usize,
    /// Events whose commit was told.
    acknowledged: usize,
    /// Kills that left a journal behind: they fell into a commit.
    journals: usize,
    /// Checks that found an event whose commit could not be told any more.
    beyond: usize,
}

impl Tally {
    fn add(&mut self, other: &Self) {
        self.kills += other.kills;
        self.acknowledged += other.acknowledged;
        self.journals += other.journals;
        self.beyond += other.beyond;
    }

    fn write(&self) -> String {
        let Self { kills, acknowledged, journals, beyond } = self;
        format!(
            "{{\"kills\": {kills}, \"acknowledged\": {acknowledged}, \"journals\": {journals}, \"beyond\": {beyond}}}\n"
        )
    }

    fn read(text: &str) -> Self {
        let tally: serde_json::Value = serde_json::from_str(text).unwrap();
        let count = |name: &str| tally[name].as_u64().unwrap() as usize;
        Self {
            kills: count("kills"),
            acknowledged: count("acknowledged"),
            journals: count("journals"),
            beyond: count("beyond"),
        }
    }
}

/// Kills twenty writers of one file, one after the other.
fn kill_file(path: &Path, seed: u64) -> Tally {
    let mut moments = Moments(seed);
    let mut tally = Tally::default();
    let mut promised: BTreeMap<i64, String> = BTreeMap::new();
    for kill in 1..=KILLS_EACH_FILE {
        let said = run_and_kill(path, &mut moments);
        tally.kills += 1;
        tally.acknowledged += said.len();
        promised.extend(said);
        tally.journals += usize::from(path.with_extension("dwsl-journal").exists());
        // Every so often the next child meets what the killed one left, with nobody having looked at it between.
        if kill == KILLS_EACH_FILE || moments.below(3) > 0 {
            tally.beyond += usize::from(check(path, &promised));
        }
    }
    tally
}

#[expect(clippy::print_stderr, reason = "how hard the test was is worth knowing")]
fn tell(text: &str) {
    eprintln!("{text}");
}

/// Lets a child write for a while and kills it. What it acknowledged, by number.
fn run_and_kill(path: &Path, moments: &mut Moments) -> Vec<(i64, String)> {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "child_writes_until_killed", "--ignored", "--nocapture"])
        .env("CHILD_LOG", path)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap());
    let mut said = String::new();
    if moments.below(10) == 0 {
        // Now and then while it starts.
        std::thread::sleep(Duration::from_micros(moments.below(8000)));
    } else {
        let wanted = 1 + moments.below(4);
        while (said.matches("committed ").count() as u64) < wanted {
            assert!(lines.read_line(&mut said).unwrap() > 0, "the child ended by itself: {said}");
        }
        let until = Instant::now() + Duration::from_micros(moments.below(3000));
        // Spun, as sleeping rounds up.
        while Instant::now() < until {
            std::hint::spin_loop();
        }
    }
    child.kill().unwrap();
    child.wait().unwrap();
    let mut line = Vec::new();
    while lines.read_until(b'\n', &mut line).unwrap() > 0 {
        // A line cut off was no acknowledgement.
        if line.ends_with(b"\n") {
            said.push_str(&String::from_utf8_lossy(&line));
        }
        line.clear();
    }
    let committed = said.lines().filter_map(|line| line.split_once("committed "));
    committed
        .map(|(_, what)| {
            let (number, what) = what.split_once(' ').unwrap();
            (number.parse().unwrap(), what.to_owned())
        })
        .collect()
}

/// Looks at what is left. Whether there are more events than were acknowledged.
fn check(path: &Path, promised: &BTreeMap<i64, String>) -> bool {
    if promised.is_empty() && !path.exists() {
        return false;
    }
    // A writer: whatever was killed must be good to go on with.
    let log = StockLog::open(path, SystemClock).unwrap();
    assert_sound(&log);
    let events = log.events().unwrap();
    for (number, what) in promised {
        let event = events.iter().find(|event| event.number.0 == *number);
        let kind = event.map(|event| event.change.kind().name());
        assert_eq!(kind, Some(what.as_str()), "event {number} was acknowledged");
    }
    // Each cut: the sheet is used up and its three leftovers are there, or none of it.
    let mut cuts = 0;
    for event in &events {
        let Change::Cut { sheets, .. } = &event.change else { continue };
        cuts += 1;
        assert_eq!(log.sheet(sheets[0].tag).unwrap().state, State::Cut);
        assert_eq!(sheets[0].leftovers.len(), 3);
        for leftover in &sheets[0].leftovers {
            assert_eq!(log.history(leftover.tag).unwrap().descent, [leftover.tag, sheets[0].tag]);
            log.sheet(leftover.tag).unwrap();
        }
    }
    // Nothing was bought for a plan that is not recorded.
    let for_plans =
        |kind| events.iter().filter(|event| event.cause == FOR_THE_PLAN && event.change.kind() == kind).count();
    assert_eq!(for_plans(Role::Bought), for_plans(Role::Cut));
    let used_up = log.sheets(Some(State::Cut)).unwrap().len();
    assert_eq!(used_up, cuts);
    assert_eq!(events.iter().filter(|event| event.change.kind() == Role::Cut).count(), cuts);
    events.len() - for_plans(Role::Bought) > promised.len()
}
