//! The inner functions of the search, opened for benchmark programs. Not for anything else.

use dropwise_geometry::Isometry;
use dropwise_model::Job;

use crate::anneal::lone_fit::prepared;
use crate::exact::boxes::{Proof, sure_view};
use crate::problem::task::Task;
use crate::random::SearchRng;
use crate::search::class_search::ClassSearch;
use crate::settings::Settings;
use crate::shapes::pose::Pose;
use crate::state::working::Working;

/// A job of one class, prepared for the search.
#[derive(Debug)]
pub struct Prepared(Task);

impl Prepared {
    /// Prepares a job whose parts and sheets are all of one class.
    #[must_use]
    pub fn new(job: Job) -> Self {
        Self(prepared(job))
    }

    /// Which search each chain is: "strip" where one length of stock is made short, "sheets" where a set is chosen.
    #[must_use]
    pub fn searches(&self, settings: &Settings) -> Vec<&'static str> {
        ClassSearch::new(&self.0, settings, 0, None).kinds()
    }

    /// Proves a bound on the cost of the sheets, with so much work; also whether that was all that can be proved, and
    /// the numbers of sheets, if any, that the proof ended with.
    #[must_use]
    pub fn prove(&self, nodes: u64) -> (f64, bool, Option<Vec<usize>>) {
        let items = self.0.items();
        let mut proof = Proof::new(sure_view(&self.0, &items, |sheet| self.0.sheets[sheet].price));
        proof.run(nodes);
        (proof.bound(), proof.is_done(), proof.counts().map(<[usize]>::to_vec))
    }
}

/// All items of a job on its first sheet, and some placements to evaluate.
#[derive(Debug)]
pub struct Probe<'t> {
    working: Working<'t>,
    candidates: Vec<(usize, Pose)>,
}

/// Where one item lies, or would lie: item, part and position.
pub type Lying = (usize, usize, Isometry);

impl<'t> Probe<'t> {
    /// Lays every item at a random place and draws `count` placements of random items.
    #[must_use]
    pub fn new(prepared: &'t Prepared, count: usize, seed: u64) -> Self {
        let task = &prepared.0;
        let mut rng = SearchRng::new(seed, 0);
        let mut working = Working::new(task, task.items());
        let bin = working.open(0, task.container(0), None);
        for item in 0..working.item_count() {
            if let Some(pose) = working.random_pose(item, bin, &mut rng) {
                working.put(item, bin, pose);
            }
        }
        let candidates = (0..count)
            .filter_map(|_| {
                let item = rng.index(working.item_count());
                working.random_pose(item, bin, &mut rng).map(|pose| (item, pose))
            })
            .collect();
        Self { working, candidates }
    }

    /// Where every item lies.
    #[must_use]
    pub fn lying(&self) -> Vec<Lying> {
        (0..self.working.item_count())
            .filter_map(|item| {
                let (_, pose) = self.working.place_of(item)?;
                let part = self.working.part_of(item);
                Some((item, part, self.working.task().isometry(part, pose)))
            })
            .collect()
    }

    /// The placements that were drawn.
    #[must_use]
    pub fn candidates(&self) -> Vec<Lying> {
        self.candidates
            .iter()
            .map(|&(item, pose)| {
                let part = self.working.part_of(item);
                (item, part, self.working.task().isometry(part, pose))
            })
            .collect()
    }

    /// The loss of one of the placements that were drawn, in full.
    pub fn loss(&mut self, candidate: usize) -> f64 {
        let (item, pose) = self.candidates[candidate];
        self.working.evaluate(item, 0, pose, f64::INFINITY)
    }

    /// The loss, or infinity once it is sure to exceed `bound`.
    pub fn loss_below(&mut self, candidate: usize, bound: f64) -> f64 {
        let (item, pose) = self.candidates[candidate];
        self.working.evaluate(item, 0, pose, bound)
    }

    /// Whether that placement is free: stops at the first overlap.
    pub fn is_free(&mut self, candidate: usize) -> bool {
        let (item, pose) = self.candidates[candidate];
        self.working.evaluate(item, 0, pose, 0.0) == 0.0
    }
}
