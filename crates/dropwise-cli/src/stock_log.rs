//! Which stock log a command works on, and the rack in it as inventory of a job.

use std::path::{Path, PathBuf};

use clap::Args;
use dropwise_formats::{Instead, LoadedJob, Rack, RackMark, RackPiece, load_job_instead};
use dropwise_stock::{Currency, State, StockError, StockFault, StockLog, StockSheet};

use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::shop_checks::ShopChoice;

/// Name of the log in the data folder.
const FILE_NAME: &str = "stock-log.sqlite";

/// Which log.
#[derive(Clone, Debug, Default, Args)]
pub(crate) struct LogChoice {
    /// The stock log to work on
    ///
    /// When left out, the one that the variable DROPWISE_LOG names; without that, `dropwise/stock-log.sqlite` in the
    /// folder where the system keeps the data of programs.
    #[arg(long, global = true, value_name = "FILE", display_order = 800)]
    pub(crate) log: Option<PathBuf>,
}

/// What a command is going to do with the log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Purpose {
    /// Look only.
    Look,
    /// Change what is there.
    Change,
    /// Add to it, or start it.
    Add,
    /// Look at what is left of it, damaged or not.
    Inspect,
    /// Mend it.
    Mend,
}

impl LogChoice {
    /// The file.
    ///
    /// # Errors
    /// When neither option nor variable names it and the system knows no place for it.
    pub(crate) fn path(&self, environment: &Environment<'_>) -> Result<PathBuf, Stop> {
        if let Some(path) = &self.log {
            return Ok(path.clone());
        }
        if let Some(path) = environment.variable("DROPWISE_LOG") {
            return Ok(PathBuf::from(path));
        }
        let no_place = || {
            let complaint = Complaint::new("there is no folder here where programs keep their data");
            Stop::bad_input(complaint.with_cure("Name the stock log with --log, or with the variable DROPWISE_LOG"))
        };
        Ok(environment.data_folder().ok_or_else(no_place)?.join("dropwise").join(FILE_NAME))
    }

    /// Opens the log. It is started where there is none only to add to it.
    ///
    /// # Errors
    /// [`stop`] says what.
    pub(crate) fn open(&self, purpose: Purpose, environment: &Environment<'_>) -> Result<StockLog, Stop> {
        let path = self.path(environment)?;
        let clock = environment.clock();
        let opened = match purpose {
            Purpose::Look => StockLog::open_read_only(&path, clock),
            Purpose::Change => StockLog::open_existing(&path, clock),
            Purpose::Inspect => StockLog::open_as_it_is(&path, clock, false),
            Purpose::Mend => StockLog::open_as_it_is(&path, clock, true),
            Purpose::Add => {
                // Only the folders of the standard place are made: in a path that was typed they are a slip.
                if self.log.is_none() && environment.variable("DROPWISE_LOG").is_none() {
                    make_folder(&path)?;
                }
                StockLog::open(&path, clock)
            }
        };
        opened.map_err(|error| stop(&error))
    }
}

fn make_folder(path: &Path) -> Result<(), Stop> {
    let folder = path.parent().unwrap_or(Path::new(""));
    std::fs::create_dir_all(folder).map_err(|error| {
        let complaint = Complaint::new(format!("the folder of the stock log cannot be made: {error}"));
        Stop::failure(complaint.at(folder.display()).with_cure("Name another place with --log"))
    })
}

/// What is told when the log does not do as it was asked.
pub(crate) fn stop(error: &StockError) -> Stop {
    let cure = match *error.fault {
        StockFault::Damaged { .. } => {
            "Look with `dropwise stock verify`: it tells what is damaged, what can be mended, and how to carry out the rest"
                .to_owned()
        }
        _ => error.cure(),
    };
    let complaint = Complaint::new(error.fault.to_string()).at(error.path.display()).with_cure(cure);
    // What the disk or another program did is not the user's slip.
    let exit = match *error.fault {
        StockFault::DiskFull
        | StockFault::Busy { .. }
        | StockFault::ReadOnly
        | StockFault::Damaged { .. }
        | StockFault::Database(_) => Exit::Failure,
        _ => Exit::BadInput,
    };
    Stop { exit, complaints: vec![complaint] }
}

/// What lies in the rack, as pieces that a job may use. Each counts for what it carries of the money paid.
///
/// # Errors
/// A fault of the file.
pub(crate) fn rack_pieces(log: &StockLog) -> Result<Vec<RackPiece>, Stop> {
    let sheets = log.sheets(Some(State::InRack)).map_err(|error| stop(&error))?;
    Ok(sheets.into_iter().map(rack_piece).collect())
}

fn rack_piece(sheet: StockSheet) -> RackPiece {
    RackPiece {
        mark: RackMark { tag: sheet.tag.to_string(), revision: sheet.revision.0 },
        shape: sheet.details.shape,
        damage: sheet.details.damage,
        material: sheet.details.material,
        thickness: sheet.details.thickness,
        measured_mm: sheet.details.measured_mm,
        grain_deg: sheet.details.grain_deg,
        location: sheet.details.place,
        price: sheet.cost,
    }
}

/// Refuses a job that counts in other coins than the log: its prices and what the rack carries could not be added up.
///
/// # Errors
/// When they differ.
pub(crate) fn check_currency(job: &LoadedJob, path: &Path, log: &Currency) -> Result<(), Stop> {
    let of_job = Currency { name: job.currency.clone(), coinage: job.coinage };
    if of_job.agrees_with(log) {
        return Ok(());
    }
    let text = format!("the job counts in {of_job}, the stock log in {log}");
    let complaint = Complaint::new(crate::text::cleaned(&text)).at(path.display());
    let cure = "Write the log's into the job file, with prices to match: currency and currency_decimals";
    Err(Stop::bad_input(complaint.with_cure(cure)))
}

/// Reads a job, with the rack if that may be cut, for the shop that was asked for.
///
/// # Errors
/// Every fault of the job file, and of the shop file.
pub(crate) fn load_job(job: &Path, rack: Option<&Rack>, shop: &ShopChoice) -> Result<LoadedJob, Stop> {
    load_job_of(job, rack, shop, &[])
}

/// The same, with parts of some thicknesses made of others.
///
/// # Errors
/// Every fault of the job file, and of the shop file.
pub(crate) fn load_job_of(
    job: &Path,
    rack: Option<&Rack>,
    shop: &ShopChoice,
    instead: &[Instead],
) -> Result<LoadedJob, Stop> {
    load_job_instead(job, rack, shop.shop.as_deref(), instead).map_err(|errors| {
        let mut complaints: Vec<Complaint> = errors.iter().map(Complaint::from).collect();
        // A fault that two parts share may be found twice.
        complaints.dedup();
        Stop { exit: Exit::BadInput, complaints }
    })
}
