//! What is typed after `buy`.

use std::path::PathBuf;

use clap::Args;

use crate::shop_checks::ShopChoice;
use crate::stand_in::NearChoice;
use crate::stock_log::LogChoice;

pub(crate) const ABOUT: &str = "Weighs the rack against offers of sheets: what to buy for a job";

pub(crate) const LONG_ABOUT: &str = "\
Weighs the rack against offers of sheets: what to buy for a job.

Sheets of the job file lie in the rack, except those of which there are \"unlimited\": these are on offer at their price. To them \
come the offers of a list in CSV, TOML or JSON; a job may name no sheets at all. Every choice listed has been nested and proved. Delivery and minimum orders count. Fillers \
are left out of the decision.

An offer without a price gets the most that it is worth to this job.";

pub(crate) const AFTER: &str = "\
Examples:
  Which of the yard's drops to buy:
      dropwise buy brackets.toml --offers yard.csv
  The rack counted at 0.20 per lb, the plan of the best choice kept:
      dropwise buy brackets.toml --offers yard.csv --rack-worth \"0.20 per lb\" --out plan
  The rack as the stock log knows it:
      dropwise buy brackets.toml --offers yard.csv --from-stock
  The most that drop 7 is worth:
      dropwise buy brackets.toml --offers yard.csv --worth \"drop 7\"

A list in CSV names its columns in the first line: name, seller, material, thickness or gauge, length and width or diameter or
drawing, quantity, price or price per lb or price per kg, cut charge, delivery, minimum order, grain.
  name,seller,material,thickness,length,width,price per lb,delivery
  Q1,Quarry Lane Metals,mild steel,1/8 in,48,24,0.48,12.00
In TOML each offer is a table of such keys, in JSON an object in a list called offers:
  [[offers]]
  name = \"Q1\"
  material = \"mild steel\"
  thickness = \"1/8 in\"
  length = 48
  width = 24
  price = \"0.48 per lb\"

The plan of the best choice is recorded, when it was cut, with
  dropwise cut plan/plan.json --bought";

/// What was typed after `buy`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Buy {
    /// The job file, TOML or JSON
    pub(crate) job: PathBuf,
    /// What is on offer: a list in CSV, TOML or JSON, by its name
    #[arg(long, value_name = "FILE")]
    pub(crate) offers: PathBuf,
    /// What sheets in the rack count at: by weight, or a share of their price such as "60 %"
    ///
    /// When left out, at the price that the job file gives them, and those that are paid for at what leftovers are worth.
    #[arg(long, value_name = "RATE")]
    pub(crate) rack_worth: Option<String>,
    /// Work out the most that this offer is worth; may be given several times
    #[arg(long, value_name = "OFFER")]
    pub(crate) worth: Vec<String>,
    /// Write the plan of the best choice to this folder, as `plan.json`, and a chart of the choices, `choices.svg`
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Search for so long, or less if nothing is left to try [default: 10]
    #[arg(long, value_name = "SECONDS", value_parser = crate::arguments::seconds, allow_negative_numbers = true)]
    pub(crate) seconds: Option<f64>,
    /// Nest each set of sheets for so many rounds; alone, there is no limit of time
    #[arg(long, value_name = "COUNT", value_parser = crate::arguments::whole_number, allow_negative_numbers = true)]
    pub(crate) rounds: Option<u64>,
    /// Where chance starts
    #[arg(long, value_name = "NUMBER", default_value_t = 1, value_parser = crate::arguments::whole_number, allow_negative_numbers = true)]
    pub(crate) seed: u64,
    /// Print the decision as JSON
    #[arg(long)]
    pub(crate) json: bool,
    /// No notes, only what is wrong
    #[arg(long, short)]
    pub(crate) quiet: bool,
    /// Weigh what lies in the rack by the stock log
    ///
    /// The rack takes the place of the sheets that the job file names, except those that are "unlimited", which stay on offer.
    /// Each piece counts for what it carries of the money paid, unless --rack-worth says otherwise.
    #[arg(long)]
    pub(crate) from_stock: bool,
    #[command(flatten)]
    pub(crate) near: NearChoice,
    #[command(flatten)]
    pub(crate) log: LogChoice,
    #[command(flatten)]
    pub(crate) shop: ShopChoice,
}
