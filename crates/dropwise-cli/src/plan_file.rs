//! A plan from its file. Proved, it is the one door through which a plan comes to the bench and into the stock log.

use std::path::{Path, PathBuf};

use dropwise_formats::PlanDocument;
use dropwise_formats::plan_json::{LARGEST_DOCUMENT, PlanFault, PlanFaultKind, PlanJsonError, RebuiltPlan};
use dropwise_model::{Job, Layout, Violation};

use crate::complaint::{Complaint, Stop};
use crate::exit::Exit;

/// A plan that was read, with the job, plan and cost that its proof made anew from it.
pub(crate) struct Proved {
    pub(crate) document: PlanDocument,
    pub(crate) rebuilt: RebuiltPlan,
}

/// Reads a plan and proves it: outlines, layout, figures and cost are worked out again, and nothing in the file may differ.
///
/// # Errors
/// All faults found at the first step that finds any.
pub(crate) fn proved(path: &Path) -> Result<Proved, Stop> {
    let document = read(path)?;
    let rebuilt = document.rebuild(path).map_err(|faults| not_a_plan(path, &faults))?;
    Ok(Proved { document, rebuilt })
}

/// Proves a plan that may have been changed by hand, and makes anew all that follows from where its parts lie.
///
/// # Errors
/// All faults found at the first step that finds any.
pub(crate) fn renewed(path: &Path) -> Result<Proved, Stop> {
    let found = read(path)?;
    let bound = |job: &Job, layout: &Layout| {
        let bound = dropwise_nest::least_cost(job, layout);
        bound.map_err(|error| match std::error::Error::source(&error) {
            Some(cause) => format!("{error}, because {cause}"),
            None => error.to_string(),
        })
    };
    let (document, rebuilt) = found.renewed(path, bound).map_err(|faults| {
        let mut stop = not_a_plan(path, &faults);
        for (complaint, fault) in stop.complaints.iter_mut().zip(&faults) {
            if let PlanFaultKind::NotValid { violation, .. } = &fault.kind {
                *complaint = complaint.clone().with_cure(match violation.concerns() {
                    _ if matches!(**violation, Violation::HoldNotMet { .. }) => {
                        "Lay it as that says, or change what the job holds and nest it again"
                    }
                    (Some(_), placements) if !placements.is_empty() => {
                        "Move or turn what is named until it holds (lengths in a plan are millimetres), or nest the job again"
                    }
                    (Some(_), _) => "Name a sheet that is in `stock`, as it is sold, or nest the job again",
                    _ => "Place or take out as many as are wanted, or nest the job again",
                });
            }
        }
        stop
    })?;
    Ok(Proved { document, rebuilt })
}

/// The file of a plan that was named by itself or by its folder.
pub(crate) fn path_of(named: &Path) -> PathBuf {
    if named.is_dir() { named.join("plan.json") } else { named.to_owned() }
}

/// Reads a plan without a proof.
///
/// # Errors
/// Of a file that is none.
pub(crate) fn read(path: &Path) -> Result<PlanDocument, Stop> {
    use std::io::Read as _;
    let refused =
        |problem: String, cure: &str| Stop::bad_input(Complaint::new(problem).at(path.display()).with_cure(cure));
    let unreadable = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::NotFound => {
            refused("there is no such file".to_owned(), "Write one with `dropwise nest JOB --out DIR`")
        }
        _ => refused(format!("cannot be read: {error}"), "Check its name and its permissions"),
    };
    let file = std::fs::File::open(path).map_err(unreadable)?;
    let mut bytes = Vec::new();
    // One byte more than is read, so that devices and growing files end too.
    file.take(LARGEST_DOCUMENT as u64 + 1).read_to_end(&mut bytes).map_err(unreadable)?;
    let cure = "Give the plan.json that `dropwise nest JOB --out DIR` wrote";
    if bytes.len() > LARGEST_DOCUMENT {
        return Err(refused(PlanJsonError::TooLarge { size: bytes.len() }.to_string(), cure));
    }
    let text = String::from_utf8(bytes).map_err(|_| refused("is not text in UTF-8".to_owned(), cure))?;
    PlanDocument::read(&text).map_err(|error| match error {
        // It says itself what to do.
        PlanJsonError::NewerVersion { .. } => Stop::bad_input(Complaint::new(error.to_string()).at(path.display())),
        error => refused(error.to_string(), cure),
    })
}

/// Faults of a document, each at its place.
fn not_a_plan(path: &Path, faults: &[PlanFault]) -> Stop {
    let complaints = faults.iter().map(|fault| {
        let complaint = Complaint::new(fault.kind.to_string()).at(format!("{}: {}", path.display(), fault.place));
        match fault.kind {
            PlanFaultKind::NotValid { .. } => {
                complaint.with_cure("A plan that cannot be proved is neither drawn nor recorded. Nest the job again")
            }
            PlanFaultKind::Disagrees { .. } => complaint.with_cure(
                "The plan was changed by hand. If that was meant, `dropwise prove PLAN --out DIR` works it out anew; else nest \
                 the job again",
            ),
            PlanFaultKind::Older => complaint.with_cure("Nest the job again with this dropwise"),
            _ => complaint,
        }
    });
    Stop { exit: Exit::BadInput, complaints: complaints.collect() }
}
