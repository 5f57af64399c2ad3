//! `compare`: two plans side by side.

mod facts;
mod told;

use std::path::PathBuf;

use clap::Args;

use crate::arguments::Colour;
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::ink::Ink;
use crate::plan_file::{path_of, proved};
use facts::Facts;

pub(crate) const ABOUT: &str = "Tells what changed from one plan to another";

pub(crate) const LONG_ABOUT: &str = "\
Tells what changed from one plan to another: money, sheets, minutes, leftovers, parts.

Both plans are proved first, and every figure is worked out from them. Sheets and parts are the same where they have the same \
name. Minutes are rough, as on the cut sheets: from the tools of the shop file that the plan carries, or from the common ones.";

pub(crate) const AFTER: &str = "\
Examples:
  Was the longer search worth it?
      dropwise compare plan plan-two-minutes
  By how much the total changed, in the smallest coin, for a script:
      dropwise compare old new --json | jq .money.total.change

The exit code is 0 whatever changed, and 2 where a plan cannot be proved.";

/// What was typed after `compare`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Compare {
    /// The plan before: `plan.json`, or the folder it lies in
    before: PathBuf,
    /// The plan after
    after: PathBuf,
    /// Print the comparison as JSON, lengths in mm, money in the smallest coin
    #[arg(long)]
    json: bool,
}

pub(crate) fn compare(typed: &Compare, colour: Colour, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let ink = Ink::new(colour.is_wanted(environment, false));
    let read = |path: &PathBuf| proved(&path_of(path));
    let (before, after) = match (read(&typed.before), read(&typed.after)) {
        (Ok(before), Ok(after)) => (before, after),
        // What is wrong with both is told at once.
        (Err(mut one), Err(other)) => {
            one.complaints.extend(other.complaints);
            return Err(one);
        }
        (Err(stop), _) | (_, Err(stop)) => return Err(stop),
    };
    let money = |plan: &crate::plan_file::Proved| (plan.rebuilt.loaded.currency.clone(), plan.rebuilt.loaded.coinage);
    if money(&before) != money(&after) {
        let problem =
            format!("its money is {}, that of {} is {}", named(&after), typed.before.display(), named(&before));
        let complaint = Complaint::new(problem).at(typed.after.display());
        let cure = "Give both jobs the same `currency` and `currency_decimals`, and nest again";
        return Err(Stop::bad_input(complaint.with_cure(cure)));
    }
    let facts = [Facts::of(&before)?, Facts::of(&after)?];
    let page = if typed.json { told::as_json(&facts) } else { told::as_text(&after.rebuilt.loaded, &facts, ink) };
    environment.print(&page)?;
    Ok(Exit::Done)
}

/// The money of a plan in words.
fn named(plan: &crate::plan_file::Proved) -> String {
    let loaded = &plan.rebuilt.loaded;
    let name = if loaded.currency.is_empty() { "unnamed" } else { &loaded.currency };
    format!("{name} with {} decimals", loaded.coinage.decimals())
}
