//! Does a part fit on a sheet at all?

use crate::problem::necessary_fit::may_fit;
use dropwise_model::Job;

use crate::anneal::separator::{Outcome, Separator, SeparatorSettings};
use crate::moves::mover::MoveSettings;
use crate::problem::task::Task;
use crate::random::SearchRng;
use crate::shapes::pose::Pose;
use crate::state::working::Working;

/// Samples of a room before the separator is asked.
const SAMPLES: usize = 200;
/// Places from which the separator tries to slide a part into its room.
const STARTS: usize = 4;
/// Sweeps from each; with one part there is little to learn.
const SWEEPS: usize = 12;

/// A job of one class made ready for the search; see [`Task::new`].
pub(crate) fn prepared(job: Job) -> Task {
    Task::new(job, find_fit)
}

/// Looks for a pose in which a part lies alone on a sheet.
///
/// A part that passes the necessary conditions but is not found to fit in a few thousand evaluations is taken not to.
/// The search has its own stream of chance, so that the answer does not depend on when it is asked.
pub(crate) fn find_fit(task: &Task, part: usize, sheet: usize) -> Option<Pose> {
    let container = task.container(sheet);
    if !container.has_room() || !may_fit(task, part, sheet, 0.0) {
        return None;
    }
    let mut rng = SearchRng::new(0x00F1_7000, (part as u64) << 32 | sheet as u64);
    let mut working = Working::new(task, vec![part]);
    let bin = working.open(sheet, container, None);
    for _ in 0..SAMPLES {
        let pose = working.random_pose(0, bin, &mut rng)?;
        if working.evaluate(0, bin, pose, 0.0) == 0.0 {
            return Some(pose);
        }
    }
    let settings = SeparatorSettings {
        moves: MoveSettings { refined: 2, ..MoveSettings::default() },
        patience: SWEEPS,
        ..SeparatorSettings::default()
    };
    for _ in 0..STARTS {
        let pose = working.random_pose(0, bin, &mut rng)?;
        working.put(0, bin, pose);
        let mut separator = Separator::new(settings, &mut working);
        for _ in 0..SWEEPS {
            if separator.sweep(&mut working, &mut rng) == Outcome::Separated {
                return working.place_of(0).map(|(_, pose)| pose);
            }
        }
    }
    None
}
