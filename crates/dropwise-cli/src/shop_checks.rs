//! The shop of a run, and what it cannot do with the parts of a job.

use std::path::PathBuf;

use clap::Args;
use dropwise_formats::{HoleWork, LoadedJob, load_shop, load_shop_text};
use dropwise_model::Turns;
use dropwise_shop::bend_plan::{BendJob, BendingPlan, plan};
use dropwise_shop::check::{self, BentSubject, Finding, Severity, Subject, WorkedHole, gathered};
use dropwise_shop::{Caution, Shop, Undertaking, cautions};

use crate::complaint::{Complaint, Stop};
use crate::exit::Exit;

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

impl ShopChoice {
    /// The shop, from the file asked for or as the job has it.
    pub(crate) fn open(&self, loaded: &LoadedJob) -> Result<Shop, Stop> {
        let Some(path) = &self.shop else { return Ok(loaded.shop.clone()) };
        load_shop(path, loaded.unit)
            .map_err(|errors| Stop { exit: Exit::BadInput, complaints: errors.iter().map(Complaint::from).collect() })
    }

    /// Puts the shop that was asked for in the place of the job's, so that the plan carries it.
    pub(crate) fn put_into(&self, loaded: &mut LoadedJob) -> Result<(), Stop> {
        let Some(path) = &self.shop else { return Ok(()) };
        let (shop, text) = load_shop_text(path, loaded.unit).map_err(|errors| Stop {
            exit: Exit::BadInput,
            complaints: errors.iter().map(Complaint::from).collect(),
        })?;
        (loaded.shop, loaded.shop_text) = (shop, Some(text));
        Ok(())
    }
}

/// What was found out about one part.
#[derive(Clone, Debug)]
pub(crate) struct PartChecks {
    /// How it is bent, if it is.
    pub(crate) plan: Option<BendingPlan>,
    /// The worst first.
    pub(crate) findings: Vec<Finding>,
}

/// Checks one part of a job.
pub(crate) fn check_part(loaded: &LoadedJob, index: usize, shop: &Shop) -> PartChecks {
    let (part, detail) = (&loaded.job.parts()[index], &loaded.parts[index]);
    let thickness = detail.thickness.millimetres();
    let plan = detail.bent.as_ref().map(|bent| {
        let job = BendJob { unfolding: &bent.unfolding, grade: bent.grade, method: bent.method, dies: &bent.dies };
        plan(&job, shop.brake.as_ref())
    });
    let grain_deg = match part.turns {
        Turns::Grain { along_deg } => Some(along_deg),
        _ => None,
    };
    let bends = detail.bent.as_ref().zip(plan.as_ref()).map(|(bent, plan)| BentSubject {
        unfolding: &bent.unfolding,
        grade: bent.grade,
        grain_deg,
        plan,
    });
    let worked_holes: Vec<WorkedHole> = detail
        .worked_holes
        .iter()
        .map(|hole| WorkedHole {
            center: hole.center,
            diameter: hole.diameter,
            work: match hole.work {
                HoleWork::Countersunk { diameter, depth, .. } => check::HoleWork::Countersunk { diameter, depth },
                HoleWork::Flared { diameter, .. } => check::HoleWork::Flared { diameter },
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
        unit: loaded.unit,
    };
    let findings = check::check(&subject, shop);
    PartChecks { plan, findings }
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
        has_drilling: work().any(|detail| detail.work.drilled_holes > 0),
        has_bending: work().any(|detail| detail.work.bends > 0 || detail.bent.is_some()),
        heaviest: parts.iter().map(|&index| weight(loaded, index)).fold(0.0, f64::max),
    })
}
