//! Simulated annealing: what is accepted, what separates overlaps, and what earlier tries teach.

pub(crate) mod annealer;
pub(crate) mod failed;
pub(crate) mod failures;
pub(crate) mod lone_fit;
pub(crate) mod race;
pub(crate) mod separator;
pub(crate) mod tidier;
pub(crate) mod tilt;
