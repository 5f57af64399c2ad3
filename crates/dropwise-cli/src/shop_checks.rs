//! The shop of a run, and what it cannot do with the parts of a job.

use std::path::PathBuf;

use clap::Args;
use dropwise_formats::{BentDetail, HoleWork, LoadedJob, PartDetail, PlanDocument};
use dropwise_model::Turns;
use dropwise_shop::bend_plan::{BendJob, BendingPlan, HandPlan, Order, hand_plan, plan as plan_on};
use dropwise_shop::check::{self, BentSubject, Finding, Severity, Subject, WorkedHole, gathered};
use dropwise_shop::markout::HoleMethod;
use dropwise_shop::{Caution, Process, Shop, Undertaking, WHO_DECIDES, cautions};

use crate::ink::Ink;
use crate::text::wrapped;

/// Which shop is meant.
#[derive(Clone, Debug, Default, Args)]
pub(crate) struct ShopChoice {
    /// Tools of the shop, in place of the file that the job names
    ///
    /// A shop file in TOML or JSON: brake, dies, shear, drills, hole saws and more. Without one, and when the job names
    /// none, a small shop's common tools are reckoned with.
    #[arg(long, value_name = "FILE")]
    pub(crate) shop: Option<PathBuf>,
}

/// How much is said of what can hurt.
#[derive(Clone, Copy, Debug, Default, Args)]
pub(crate) struct CautionChoice {
    /// Print the cautions in full, each with its authority
    ///
    /// Without it one line names them. The report page and the cut sheets have them in full always.
    #[arg(long = "cautions")]
    pub(crate) is_in_full: bool,
}

impl CautionChoice {
    /// The cautions under a title: in full, or in a line that names them.
    pub(crate) fn told(self, title: &str, cautions: &[Caution], ink: Ink) -> String {
        if !self.is_in_full {
            let mut topics: Vec<&str> = cautions.iter().map(|caution| caution.topic).collect();
            topics.retain(|topic| *topic != WHO_DECIDES.topic);
            let text = format!(
                "{title}: {}. Local codes, makers' instructions and licensed practice decide; --cautions tells all.",
                topics.join(", ")
            );
            return wrapped("", 0, &text).replacen(title, &ink.strong(title), 1);
        }
        let mut page = format!("{}\n", ink.strong(title));
        for caution in cautions {
            page.push_str(&wrapped("- ", 2, &caution.to_string()));
        }
        page
    }
}

/// What was found out about one part.
#[derive(Clone, Debug)]
pub(crate) struct PartChecks {
    /// How it is bent, if it is.
    pub(crate) plan: Option<BendingPlan>,
    /// How it is bent on each of the shop's benders without punch and die.
    pub(crate) by_hand: Vec<HandPlan>,
    /// The worst first.
    pub(crate) findings: Vec<Finding>,
}

/// Checks one part of a job.
pub(crate) fn check_part<'j>(loaded: &'j LoadedJob, index: usize, shop: &Shop) -> PartChecks {
    let (part, detail) = (&loaded.job.parts()[index], &loaded.parts[index]);
    let thickness = detail.thickness.millimetres();
    let job = |bent: &'j BentDetail| BendJob {
        unfolding: &bent.unfolding,
        grade: bent.grade,
        method: bent.method,
        dies: &bent.dies,
    };
    let bent = detail.bent.as_deref();
    let mut plan = bent.map(|bent| plan_on(&job(bent), shop.brake.as_ref()));
    let mut used = std::borrow::Cow::Borrowed(shop);
    // The brake in the shop press where the larger one does not do it, or is not there.
    if let Some((bent, press)) = bent.zip(shop.shop_press.as_ref())
        && plan.as_ref().is_some_and(|plan| plan.order != Order::Found)
    {
        let other = plan_on(&job(bent), Some(press));
        if other.order == Order::Found || shop.brake.is_none() {
            plan = Some(other);
            used.to_mut().brake = Some(press.clone());
        }
    }
    let by_hand =
        bent.map_or_else(Vec::new, |bent| shop.benders.iter().map(|bender| hand_plan(&job(bent), bender)).collect());
    let grain_deg = match part.turns {
        Turns::Grain { along_deg } => Some(along_deg),
        _ => None,
    };
    let bends = detail.bent.as_ref().zip(plan.as_ref()).map(|(bent, plan)| BentSubject {
        unfolding: &bent.unfolding,
        grade: bent.grade,
        grain_deg,
        method: bent.method,
        plan,
        by_hand: &by_hand,
        dies: &bent.dies,
    });
    let worked_holes: Vec<WorkedHole> = detail
        .worked_holes
        .iter()
        .map(|hole| WorkedHole {
            center: hole.center,
            diameter: hole.diameter,
            work: match hole.work {
                HoleWork::Countersunk { diameter, depth, screw, .. } => {
                    check::HoleWork::Countersunk { diameter, depth, screw }
                }
                HoleWork::Flared { diameter, depth } => check::HoleWork::Flared { diameter, depth },
                HoleWork::Tapped { major, pitch } => check::HoleWork::Tapped { major, pitch },
            },
        })
        .collect();
    let subject = Subject {
        shape: &part.shape,
        material: detail.material,
        thickness,
        weight: weight(loaded, index),
        process: loaded.process,
        kerf: loaded.job.clearances().kerf(),
        worked_holes: &worked_holes,
        bends,
        tolerances: loaded.tolerances,
        unit: loaded.unit,
    };
    let findings = check::check(&subject, &used);
    PartChecks { plan, by_hand, findings }
}

/// Whether holes of a part are drilled: as its price says, or because nothing cuts them in one go with the outline.
pub(crate) fn has_drilling(loaded: &LoadedJob, detail: &PartDetail) -> bool {
    let is_by_hand = !matches!(loaded.process, Some(Process::Laser | Process::Waterjet));
    let holes = loaded.shop.tools.holes.in_sheet(detail.thickness.millimetres());
    let is_drilled = |diameter| matches!(HoleMethod::choose(diameter, &holes), HoleMethod::Tool(_));
    detail.work.drilled_holes > 0 || is_by_hand && detail.holes.iter().any(|hole| is_drilled(hole.diameter))
}

/// Writes into a plan how each part is bent and what the checks say of it, so that pages drawn of the plan tell it too.
pub(crate) fn tell_checks(document: &mut PlanDocument, loaded: &LoadedJob) {
    for index in 0..loaded.job.parts().len() {
        let checks = check_part(loaded, index, &loaded.shop);
        document.tell(index, (checks.plan.as_ref(), &checks.by_hand), &checks.findings, loaded.unit);
    }
}

/// What one piece of a part weighs, kg.
pub(crate) fn weight(loaded: &LoadedJob, index: usize) -> f64 {
    let detail = &loaded.parts[index];
    loaded.weight_rule.weight_per_area(detail.material, detail.thickness) * loaded.job.parts()[index].shape.area()
}

/// How many findings there are of a severity, those of one cause counted once for each part.
pub(crate) fn count(parts: &[PartChecks], severity: Severity) -> usize {
    parts.iter().flat_map(|part| gathered(&part.findings)).filter(|group| group.worst.severity == severity).count()
}

/// What can hurt whoever makes these parts.
pub(crate) fn cautions_of(loaded: &LoadedJob, parts: &[usize]) -> Vec<Caution> {
    let materials: Vec<_> = parts.iter().map(|&index| loaded.parts[index].material).collect();
    let processes: Vec<_> = loaded.process.into_iter().collect();
    let work = || parts.iter().map(|&index| &loaded.parts[index]);
    cautions(&Undertaking {
        materials: &materials,
        processes: &processes,
        has_drilling: work().any(|detail| has_drilling(loaded, detail)),
        has_bending: work().any(|detail| detail.work.bends > 0 || detail.bent.is_some()),
        heaviest: parts.iter().map(|&index| weight(loaded, index)).fold(0.0, f64::max),
    })
}
