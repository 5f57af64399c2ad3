//! `stock verify`: whether the log is what it should be.

use clap::Args;
use dropwise_stock::{Finding, StockError, StockFault};

use super::desk::{Desk, told};
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::stock_log::Purpose;

/// Findings that are told; more say nothing new.
const MOST_TOLD: usize = 20;

/// What was typed after `stock verify`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Verify {
    /// Make the tables anew from the events where they are not what the events make of them
    #[arg(long)]
    mend: bool,
}

pub(crate) fn verify(typed: &Verify, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let mut log = desk.open(if typed.mend { Purpose::Mend } else { Purpose::Inspect }, environment)?;
    let mut findings = log.check_integrity().map_err(beyond_repair)?;
    let mut mended = 0;
    if typed.mend && !findings.is_empty() && findings.iter().all(Finding::is_of_tables) {
        log.rebuild().map_err(beyond_repair)?;
        mended = findings.len();
        findings = log.check_integrity().map_err(beyond_repair)?;
    }
    if findings.is_empty() {
        let events = log.event_count().map_err(told)?;
        let of = if events == 1 { "1 event".to_owned() } else { format!("{events} events") };
        let page = match mended {
            0 => format!("The log is sound: {of}, and all that follows from them.\n"),
            1 => format!("One fault was mended. The log is sound now: {of}, and all that follows from them.\n"),
            count => {
                format!("{count} faults were mended. The log is sound now: {of}, and all that follows from them.\n")
            }
        };
        environment.print(&page)?;
        return Ok(Exit::Done);
    }
    Err(Stop { exit: Exit::Failure, complaints: complaints(&findings, mended > 0, log.path()) })
}

/// What is left to do where the events themselves are damaged.
const CARRY_OUT: &str = "Copy the file and check the disk. Then take the latest backup or export; or write out what can still be \
                         read, `dropwise stock export json` or `dropwise stock export`, and read it into a new log with \
                         `dropwise stock import`";

/// A file that is damaged so that not even the damage can be looked at.
fn beyond_repair(error: StockError) -> Stop {
    match *error.fault {
        StockFault::Damaged { .. } | StockFault::Database(_) => {
            let complaint = Complaint::new(error.fault.to_string()).at(error.path.display());
            Stop::failure(complaint.with_cure(CARRY_OUT))
        }
        _ => told(error),
    }
}

/// The findings, and what to do about them.
fn complaints(findings: &[Finding], was_mended: bool, path: &std::path::Path) -> Vec<Complaint> {
    let mut told: Vec<Complaint> =
        findings.iter().take(MOST_TOLD).map(|finding| Complaint::new(finding.to_string()).at(path.display())).collect();
    if findings.len() > MOST_TOLD {
        told.push(Complaint::new(format!("and {} faults more", findings.len() - MOST_TOLD)).at(path.display()));
    }
    let is_of_tables = findings.iter().all(Finding::is_of_tables);
    let cure = if is_of_tables && !was_mended {
        "The events are whole: copy the file, then `dropwise stock verify --mend` makes the rest anew from them"
    } else {
        CARRY_OUT
    };
    if let Some(last) = told.pop() {
        told.push(last.with_cure(cure));
    }
    told
}
