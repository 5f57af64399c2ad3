//! `prove`: a plan that was changed by hand, worked out anew.

use std::path::PathBuf;

use clap::Args;
use dropwise_formats::plan_json::RebuiltPlan;
use dropwise_model::Need;

use super::{draw, nest};
use crate::arguments::Colour;
use crate::complaint::Stop;
use crate::environment::Environment;
use crate::exit::Exit;
use crate::help;
use crate::ink::Ink;
use crate::out_folder::OutFolder;
use crate::plan_file::{Proved, path_of, renewed};
use crate::report;
use crate::shop_checks::CautionChoice;

pub(crate) const ABOUT: &str = "Proves a plan that was changed by hand, and works it out anew";

pub(crate) const LONG_ABOUT: &str = "\
Proves a plan that was changed by hand, and works it out anew.

In `plan.json` a part may be moved, turned, flipped or put on another sheet: `x`, `y`, `turn_deg`, `is_flipped` of its placement, \
and `sheet` of the sheet that is cut. Where everything lies is taken from the file; areas, leftovers, weights, cost, bound, proof \
and number are made again. A plan that does not hold is refused with the two parts, or the part and what it is too near to, by \
how much, and where. What `draw` and `cut` take is what this has written.";

const EXAMPLES: &str = "\
Examples:
  After a part was nudged in an editor: does it hold, and what does it cost now?
      dropwise prove plan
  The same, with the plan and its drawings written anew:
      dropwise prove plan --out plan";

pub(crate) fn after_long_help() -> String {
    format!("{EXAMPLES}\n\n{}", help::exit_codes())
}

/// What was typed after `prove`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Prove {
    /// The plan: `plan.json`, or the folder it lies in
    pub(crate) plan: PathBuf,
    /// Write the plan and its drawings to this folder, which may be its own
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Print all tables and cautions, not only what is looked at first
    #[arg(long, conflicts_with = "json")]
    full: bool,
    /// Print the plan as JSON instead of the report
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    cautions: CautionChoice,
    /// Say nothing but what is wrong
    #[arg(long, short)]
    quiet: bool,
}

pub(crate) fn prove(typed: &Prove, colour: Colour, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let (ink, stderr_ink) =
        (Ink::new(colour.is_wanted(environment, false)), Ink::new(colour.is_wanted(environment, true)));
    let Proved { document, rebuilt } = renewed(&path_of(&typed.plan))?;
    let RebuiltPlan { loaded, plan, cost } = &rebuilt;
    // After the proof, so that a plan that does not hold leaves no empty folder.
    let out = typed.out.as_deref().map(OutFolder::open).transpose()?;
    let made = draw::Drawn { document: &document, loaded, plan, cost };
    let is_written = out.is_none_or(|out| nest::write_files(&out, &made, typed.quiet, stderr_ink, environment));
    let (number, choice) = (document.number(), typed.cautions);
    let page = match (typed.json, typed.full) {
        (true, _) => document.write(),
        (false, true) => report::render(loaded, plan, cost, &number, choice, ink),
        (false, false) => report::summary(loaded, plan, cost, &number, choice, ink),
    };
    environment.print(&page)?;
    if !is_written {
        return Ok(Exit::Failure);
    }
    let parts = loaded.job.parts();
    let is_missing = plan.layout().unplaced.iter().any(|unplaced| parts[unplaced.part].need == Need::Required);
    Ok(if is_missing { Exit::NotAllPlaced } else { Exit::Done })
}
