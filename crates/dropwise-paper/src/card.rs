//! What a bend card tells of a part.

use dropwise_shop::fold::Unfolding;

use crate::details::HoleNote;

/// A bent part with everything that is needed to bend it.
#[derive(Clone, Debug, PartialEq)]
pub struct BendCard {
    /// Index of the part in the job.
    pub part: usize,
    /// Its name.
    pub name: String,
    /// How many are placed.
    pub count: u32,
    /// Metal and thickness in words.
    pub metal: String,
    /// The part laid flat.
    pub unfolding: Unfolding,
    /// What each bend is called on all pages, in the order of the unfolding's bends: the number of its step.
    pub names: Vec<String>,
    /// The steps in order.
    pub steps: Vec<CardStep>,
    /// What must be said of the order: that none was found, and what is in the way. May be empty.
    pub warnings: Vec<String>,
    /// What the shop checks say, the worst first, each with what to do.
    pub findings: Vec<String>,
    /// Holes that are countersunk or flared.
    pub holes: Vec<HoleNote>,
}

/// One step: a stroke of the brake, or a bend in the leaf brake.
#[derive(Clone, Debug, PartialEq)]
pub struct CardStep {
    /// Its number, or what stands for it.
    pub name: String,
    /// Indices of the bends made in it.
    pub bends: Vec<usize>,
    /// What it brings up, and which way: `front wall, up 90°`.
    pub what: String,
    /// How the machine is set up: `die 12 mm, punch 88 mm`.
    pub set_up: String,
    /// Where the sheet is pushed to: `gauge 28.5 mm, base against it`.
    pub gauge: String,
}

impl BendCard {
    /// Whether a bend is made once so many steps are done.
    pub(crate) fn is_bent_after(&self, steps: usize, bend: usize) -> bool {
        self.steps.iter().take(steps).any(|step| step.bends.contains(&bend))
    }

    /// Round holes by size and work: a letter, how many, and the call-out. Holes that are not round are not among them.
    ///
    /// # Source
    /// `4 × Ø 6.6` and the work after it: hole call-outs of ASME Y14.5 (from memory), in words for the benches that do
    /// not read its symbols.
    pub(crate) fn hole_groups(&self, size: impl Fn(f64) -> String) -> Vec<HoleGroup> {
        let mut groups: Vec<HoleGroup> = Vec::new();
        for hole in crate::details::round_holes(&self.unfolding.shape) {
            let note = self.holes.iter().find(|note| note.center.distance(hole.center) < 0.01);
            let work = note.map(|note| {
                format!("{}, from the {}", note.work, if note.is_up { "side that is up" } else { "side that is down" })
            });
            let found =
                groups.iter_mut().find(|group| (group.diameter - hole.diameter).abs() < 0.01 && group.work == work);
            match found {
                Some(group) => group.centers.push(hole.center),
                None => groups.push(HoleGroup { diameter: hole.diameter, work, ..HoleGroup::at(hole.center) }),
            }
        }
        groups.sort_by(|a, b| a.diameter.total_cmp(&b.diameter).then(a.work.cmp(&b.work)));
        for (index, group) in groups.iter_mut().enumerate() {
            group.letter = crate::drawing::copies::key(index).to_lowercase();
            let work = group.work.as_ref().map_or_else(String::new, |work| format!(": {work}"));
            group.words = format!("{} × Ø {}{work}", group.centers.len(), size(group.diameter));
        }
        groups
    }
}

/// Holes alike.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct HoleGroup {
    pub(crate) letter: String,
    pub(crate) words: String,
    pub(crate) centers: Vec<dropwise_geometry::Point>,
    diameter: f64,
    work: Option<String>,
}

impl HoleGroup {
    fn at(center: dropwise_geometry::Point) -> Self {
        Self { letter: String::new(), words: String::new(), centers: vec![center], diameter: 0.0, work: None }
    }
}
