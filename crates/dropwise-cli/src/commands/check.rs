//! `check`: what the shop's tools and the metal cannot do with a job's parts.

use std::path::PathBuf;

use clap::Args;
use dropwise_formats::{LoadedJob, Note, drawings_of_job};
use dropwise_shop::Process;
use dropwise_shop::bend::drills::HoleTool;
use dropwise_shop::bend::{ANGULAR_SOURCE, LINEAR_SOURCE};
use dropwise_shop::check::{Amount, Finding, FindingGroup, Severity, gathered};
use serde_json::{Value, json};

use crate::arguments::Colour;
use crate::complaint::{Stop, render_note};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::ink::Ink;
use crate::seen;
use crate::shop_checks::{CautionChoice, PartChecks, ShopChoice, cautions_of, check_part, count};
use crate::stock_log::load_job;
use crate::text::{cleaned, wrapped};

pub(crate) const LONG_ABOUT: &str = "\
Checks the parts of a job against the shop's tools and the metal, before anyone cuts.

Each finding tells the part and the feature, the number found and the one wanted, whose rule it is, and how to cure it. `stop` \
means that it cannot be made so, `warn` that it may go wrong, `note` that it is worth knowing. `nest` makes the same checks.

What was assumed, left out or mended when a drawing was read is told too, and stands in the plan beside the part.

The rules are published ones and common practice. Whoever knows the machine and the metal better is right.";

pub(crate) const AFTER: &str = "\
Examples:
  Before buying metal:
      dropwise check brackets.toml
  With the tools of another shop:
      dropwise check brackets.toml --shop next-door.toml
  What was understood of its drawings, to look at:
      dropwise check brackets.toml --out pictures
  What can hurt, in full:
      dropwise check brackets.toml --cautions
  What cannot be made, for a script:
      dropwise check brackets.toml --json | jq '.parts[].findings[] | select(.severity == \"stop\")'

The exit code is 4 when a finding says `stop`.";

/// What was typed after `check`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Check {
    /// The job file, TOML or JSON
    job: PathBuf,
    #[command(flatten)]
    shop: ShopChoice,
    /// Write pictures of the drawings, as they were understood, to this folder
    ///
    /// One SVG for each drawing that the job names, even where the drawing is refused: outlines and openings, bend lines,
    /// marks, and in a second colour what was left out.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    cautions: CautionChoice,
    /// Print the findings as JSON
    #[arg(long)]
    json: bool,
}

pub(crate) fn check(typed: &Check, colour: Colour, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let stdout_ink = Ink::new(colour.is_wanted(environment, false));
    let stderr_ink = Ink::new(colour.is_wanted(environment, true));
    let loaded = load_job(&typed.job, None, &typed.shop);
    if let Some(out) = &typed.out {
        match &loaded {
            Ok(loaded) => seen::write(out, &loaded.drawings, environment)?,
            // A refused drawing is the one to look at.
            Err(_) => seen::write(out, &drawings_of_job(&typed.job), environment)?,
        }
    }
    let loaded = loaded?;
    let shop = loaded.shop.clone();
    let notes: String = loaded.notes.iter().map(|note| render_note(note, stderr_ink)).collect();
    environment.say(&notes);
    let parts: Vec<PartChecks> = (0..loaded.job.parts().len()).map(|index| check_part(&loaded, index, &shop)).collect();
    let page = if typed.json { as_json(&loaded, &parts) } else { as_text(&loaded, &parts, typed.cautions, stdout_ink) };
    environment.print(&page)?;
    Ok(if count(&parts, Severity::Stop) > 0 { Exit::CannotBeMade } else { Exit::Done })
}

fn as_text(loaded: &LoadedJob, parts: &[PartChecks], cautions: CautionChoice, ink: Ink) -> String {
    let mut page = String::new();
    for (part, checks) in loaded.job.parts().iter().zip(parts) {
        if !checks.findings.is_empty() {
            page.push_str(&format!("{}\n", ink.strong(&cleaned(&part.name))));
            page.extend(gathered(&checks.findings).iter().map(|group| told(group, loaded, ink)));
            page.push('\n');
        }
    }
    page.push_str(&format!("{}\n\n", summary(parts)));
    page.push_str(&without(loaded));
    if let Some(class) = loaded.tolerances {
        let text = format!(
            "Sizes without a tolerance of their own hold {class}. `flat` tells by how much [{LINEAR_SOURCE}; angles: \
             {ANGULAR_SOURCE}]."
        );
        page.push_str(&format!("{}\n", wrapped("", 0, &text)));
    }
    let all: Vec<usize> = (0..parts.len()).collect();
    page.push_str(&cautions.told("Mind before you begin", &cautions_of(loaded, &all), ink));
    page
}

/// What a shop without a press brake, a shear or hole saws makes all the same, and how; nothing of one that has them, or of
/// parts that want none.
fn without(loaded: &LoadedJob) -> String {
    let shop = &loaded.shop;
    let parts = || loaded.job.parts().iter().zip(&loaded.parts);
    let has_bends = parts().any(|(_, detail)| detail.bent.is_some());
    let mut told: Vec<String> = Vec::new();
    if has_bends && shop.brake.is_none() {
        told.push(match (&shop.shop_press, shop.benders.as_slice()) {
            (None, []) => {
                "No press brake: flat parts are made here; take the bent ones, cut and scribed, to a shop that bends, \
                           with the figures of `flat`. Or tell of a vise with bars: `benders = [{ kind = \"vise\" }]`."
                    .to_owned()
            }
            (press, benders) => {
                let names = press.iter().map(|press| press.name.to_owned());
                let names: Vec<String> = names.chain(benders.iter().map(|bender| bender.name.clone())).collect();
                format!("No press brake: bends are made on the {}; `flat` tells how.", names.join(" and the "))
            }
        });
    }
    let is_sheared = loaded.process == Some(Process::Shear);
    if is_sheared && shop.tools.shear.is_none() {
        told.push(format!(
            "No shear: straight cuts are made with the {}; a seller shears to size too.",
            shop.tools.cutters.first().map_or_else(|| "hacksaw".to_owned(), ToString::to_string)
        ));
    }
    let drills = || shop.tools.holes.sizes.iter().filter(|size| size.tool == HoleTool::Drill);
    let has_saws = shop.tools.holes.sizes.iter().any(|size| size.tool == HoleTool::HoleSaw);
    let largest = drills().map(|size| size.size.diameter()).fold(0.0, f64::max);
    let has_large = parts().any(|(_, detail)| detail.holes.iter().any(|hole| hole.diameter > largest + 0.5));
    let is_cut = matches!(loaded.process, Some(Process::Laser | Process::Waterjet | Process::Plasma));
    if has_large && !has_saws && !is_cut {
        told.push(
            "No hole saws: scribe large holes, drill a ring of small ones inside the line, break the piece out and file to the \
             line; or have them cut."
                .to_owned(),
        );
    }
    if told.is_empty() { String::new() } else { format!("{}\n", wrapped("", 0, &told.join(" "))) }
}

/// How many parts were looked at, and what was found.
pub(crate) fn summary(parts: &[PartChecks]) -> String {
    let [notes, warnings, stops] = Severity::ALL.map(|severity| count(parts, severity));
    let plural = |count: usize, word: &str| format!("{count} {word}{}", if count == 1 { "" } else { "s" });
    format!(
        "{} checked: {} to stop at, {}, {}.",
        plural(parts.len(), "part"),
        stops,
        plural(warnings, "warning"),
        plural(notes, "note")
    )
}

/// Findings of one cause: severity and problem, then cure and rule below.
pub(crate) fn told(group: &FindingGroup<'_>, loaded: &LoadedJob, ink: Ink) -> String {
    let finding = group.worst;
    let first = format!("  {} ", finding.severity);
    let text = format!("{}.", cleaned(&group.in_unit(loaded.unit)));
    let mut page = wrapped(&first, 7, &text);
    let word = finding.severity.to_string();
    let painted = match finding.severity {
        Severity::Stop => ink.wrong(&word),
        Severity::Warn => ink.doubtful(&word),
        Severity::Note => ink.strong(&word),
    };
    page = page.replacen(&word, &painted, 1);
    page.push_str(&wrapped("       ", 7, &cleaned(&format!("{}.", finding.cure))));
    page.push_str(&wrapped("       ", 7, &format!("Rule: {}; {}.", finding.rule, finding.source)));
    page
}

fn as_json(loaded: &LoadedJob, parts: &[PartChecks]) -> String {
    let of_part = |(part, checks): (&dropwise_model::Part, &PartChecks)| {
        let findings: Vec<Value> = gathered(&checks.findings).iter().map(finding_as_json).collect();
        json!({ "part": part.name, "findings": findings })
    };
    let of_note =
        |note: &Note| json!({ "is_warning": note.is_warning(), "place": note.place.to_string(), "text": note.text });
    let all: Vec<usize> = (0..parts.len()).collect();
    let cautions: Vec<String> = cautions_of(loaded, &all).iter().map(ToString::to_string).collect();
    let document = json!({
        "format": "dropwise findings",
        "version": 1,
        "job": loaded.name,
        "parts": loaded.job.parts().iter().zip(parts).map(of_part).collect::<Vec<Value>>(),
        "general_tolerances": loaded.tolerances.map(|class| class.word()),
        "notes": loaded.notes.iter().map(of_note).collect::<Vec<Value>>(),
        "cautions": cautions,
    });
    format!("{}\n", serde_json::to_string_pretty(&document).unwrap_or_default())
}

/// Lengths in mm, weights in kg, forces in kN, whatever the job's unit.
pub(crate) fn finding_as_json(group: &FindingGroup<'_>) -> Value {
    let finding = group.worst;
    let place = |finding: &Finding| json!({ "feature": finding.feature, "at": finding.at.map(|at| [at.x, at.y]) });
    let amount = |amount: Amount| json!({ "value": amount.value(), "unit": amount.unit() });
    json!({
        "severity": finding.severity.to_string(),
        "rule": finding.rule,
        "feature": finding.feature,
        "at": finding.at.map(|at| [at.x, at.y]),
        "count": group.count(),
        "others": group.others.iter().map(|finding| place(finding)).collect::<Vec<_>>(),
        "found": finding.found.map(amount),
        "wanted": finding.wanted.map(amount),
        "problem": finding.problem,
        "cure": finding.cure,
        "source": finding.source.to_string(),
    })
}
