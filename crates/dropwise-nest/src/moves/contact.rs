//! Places where edge lies on edge and corner in corner.
//!
//! Parts that were drawn side by side, or that are alike, nest best with long edges together and flush at one end.
//! Random places hardly ever hit that, least of all when the turn is free.

use dropwise_geometry::{Bounds, Point};

use crate::random::SearchRng;
use crate::shapes::pose::{Pose, sin_cos_of, turned};
use crate::state::working::{Scratch, Working};

/// How far from opposite the directions of two edges may be when neither may turn, as a sine.
const PARALLEL: f64 = 0.02;
/// Share of the places of parts that cannot turn that are found by their no-fit polygons.
const TOUCHING_SHARE: f64 = 0.5;

impl Working<'_> {
    /// A pose of an item in a bin with one of its long edges on one of another item's, or of the room's, flush at one
    /// end; `None` if the edges drawn do not go together.
    pub(crate) fn contact_pose(&mut self, item: usize, bin: usize, rng: &mut SearchRng) -> Option<Pose> {
        let task = self.task();
        let part = self.part_of(item);
        let allowed = self.choice(item, bin);
        if allowed.is_empty() {
            return None;
        }
        let variant = allowed.start + rng.index(allowed.len());
        if rng.chance(TOUCHING_SHARE)
            && let Some(at) = self.touching_place(item, bin, variant, rng)
        {
            return Some(Pose { variant, turn_deg: 0.0, at });
        }
        let (from, to) = self.far_edge(item, bin, rng)?;
        let sides = &self.shape_of(item, variant).sides;
        let (start, end) = *sides.get(rng.index(sides.len().max(1)))?;
        // The item's metal lies to the left of its edge and must lie to the right of the other's.
        let (along, against) = (end - start, from - to);
        let turn_deg = match task.parts[part].variants[variant].turn_deg {
            None => (against.angle() - along.angle()).to_degrees().rem_euclid(360.0),
            Some(_) => {
                let length = along.length() * against.length();
                let is_opposite = along.dot(against) > 0.0 && along.cross(against).abs() < PARALLEL * length;
                is_opposite.then_some(0.0)?
            }
        };
        let pose = Pose { variant, turn_deg, at: Point::ORIGIN };
        let there = |point: Point| turned(point, sin_cos_of(pose)).to_vector();
        let at = if rng.chance(0.5) { to - there(start) } else { from - there(end) };
        Some(Pose { at, ..pose })
    }

    /// A place where an item that cannot turn touches another item of the bin and, if it can lie so free of all others,
    /// a third one or the room: an edge of the no-fit polygon with the first is followed to where it is no longer free.
    /// `None` if no such polygon is kept, or the room was drawn instead of an item.
    fn touching_place(&mut self, item: usize, bin: usize, variant: usize, rng: &mut SearchRng) -> Option<Point> {
        let (task, room) = (self.task, &self.bins[bin]);
        let other = *room.members.get(rng.index(room.members.len() + 1))?;
        if other == item {
            return None;
        }
        let shape = &task.parts[self.parts[item]].variants[variant];
        let (no_fit, is_reversed) = task.no_fits.of(self.laid[other].number, shape.number)?;
        let &(from, to) = no_fit.contacts.get(rng.index(no_fit.contacts.len().max(1)))?;
        let base = self.laid[other].at;
        let there = |place: Point| if is_reversed { base - place.to_vector() } else { base + place.to_vector() };
        let (from, to) = (there(from), there(to));
        let along = to - from;
        let Scratch { spans, meeting, vectors, .. } = &mut self.scratch;
        spans.clear();
        let edge = shape.edge();
        for plane in room.container.half_planes.iter().chain(&room.limit) {
            let out = plane.normal.dot(from.to_vector()).max(plane.normal.dot(to.to_vector()));
            if out + edge.reach <= plane.limit {
                // Nothing of it comes so far out anywhere on the way.
                continue;
            }
            let reach = edge.reach_along(plane.normal);
            let depth = plane.normal.dot(from.to_vector()) + reach - plane.limit - task.touch;
            let change = plane.normal.dot(along);
            let crossing = -depth / change;
            if depth > 0.0 {
                spans.push((0.0, if change < 0.0 { crossing } else { 2.0 }));
            } else if change > 0.0 && crossing < 1.0 {
                spans.push((crossing, 2.0));
            }
        }
        let shift = |by: Point| Bounds {
            min: shape.shape.bounds.min + by.to_vector(),
            max: shape.shape.bounds.max + by.to_vector(),
        };
        vectors.boxes_meeting(&room.boxes, shift(from).union(shift(to)), meeting);
        for &index in meeting.iter() {
            let third = room.members[index as usize];
            if third == item || third == other {
                continue;
            }
            let base = self.laid[third].at;
            let Some((no_fit, is_reversed)) = task.no_fits.of(self.laid[third].number, shape.number) else { continue };
            let seen = |at: Point| Point::ORIGIN + if is_reversed { base - at } else { at - base };
            vectors.no_fit_spans(no_fit, (seen(from), seen(to)), task.touch, spans);
        }
        spans.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        // One of the ends of the ways that are left, each as likely.
        let mut chosen = None;
        let mut count = 0;
        let mut at = 0.0;
        for &(begin, end) in spans.iter().chain(&[(1.0, 2.0)]) {
            if begin > at {
                for place in [at, begin] {
                    count += 1;
                    if rng.index(count) == 0 {
                        chosen = Some(place);
                    }
                }
            }
            at = f64::max(at, end);
        }
        // Where none is left, the best places lie where one overlap ends or another begins.
        let crossing = |rng: &mut SearchRng| {
            let (begin, end) = spans[rng.index(spans.len())];
            if rng.chance(0.5) { begin } else { end }.clamp(0.0, 1.0)
        };
        Some(from + along * chosen.unwrap_or_else(|| crossing(rng)))
    }

    /// An edge that something may be laid on: of another item of the bin, or of its room, seen from inside.
    fn far_edge(&self, item: usize, bin: usize, rng: &mut SearchRng) -> Option<(Point, Point)> {
        let room = &self.bins[bin];
        let other = rng.index(room.members.len() + 1);
        match room.members.get(other) {
            Some(&other) if other == item => None,
            Some(&other) => {
                let (_, pose) = self.place_of(other)?;
                let sides = &self.shape_of(other, pose.variant).sides;
                let &(from, to) = sides.get(rng.index(sides.len().max(1)))?;
                let moved = |point: Point| turned(point, sin_cos_of(pose)) + pose.at.to_vector();
                Some((moved(from), moved(to)))
            }
            None => {
                let hull = &room.container.hull;
                let side = rng.index(hull.len().max(1));
                let (from, to) = (*hull.get(side)?, *hull.get((side + 1) % hull.len())?);
                Some((to, from))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use dropwise_geometry::{Outline, Shape};
    use dropwise_model::Turns;

    use super::*;
    use crate::anneal::lone_fit::prepared;
    use crate::problem::task::Task;
    use crate::state::working_tests::job;

    /// Two equal parts on a large sheet, the first in its middle.
    fn with_one_laid(turns: &Turns) -> Task {
        let corners = [(0.0, 0.0), (60.0, 0.0), (40.0, 30.0), (0.0, 20.0)].map(|(x, y)| Point::new(x, y));
        let part = Shape::new(Outline::polygon(corners), Vec::new());
        let sheet = Shape::new(Outline::rectangle(Point::ORIGIN, 300.0, 300.0), Vec::new());
        prepared(job(&[(part.clone(), turns.clone()), (part, turns.clone())], sheet))
    }

    /// Poses drawn out of 4000 tries; of these, how many lie on one edge of the other part or of the room, flush at one
    /// end and clear of everything.
    fn drawn_and_sound(turns: &Turns) -> (u32, u32) {
        let task = with_one_laid(turns);
        let mut working = Working::new(&task, task.items());
        let bin = working.open(0, task.container(0), None);
        let first = Pose { variant: 0, turn_deg: 0.0, at: Point::new(150.0, 150.0) };
        working.put(0, bin, first);
        let corners_at = |item: usize, pose: Pose| -> Vec<Point> {
            let shape = &task.parts[item].variants[pose.variant].shape;
            shape.hull.iter().map(|&p| turned(p, sin_cos_of(pose)) + pose.at.to_vector()).collect()
        };
        let mut targets = corners_at(0, first);
        targets.extend(task.container(0).hull.iter().copied());
        let mut rng = SearchRng::new(1, 0);
        let poses: Vec<Pose> = (0..4000).filter_map(|_| working.contact_pose(1, bin, &mut rng)).collect();
        let is_flush = |pose: &Pose| {
            corners_at(1, *pose).iter().any(|corner| targets.iter().any(|target| target.distance(*corner) < 1e-6))
        };
        let flush: Vec<Pose> = poses.iter().copied().filter(is_flush).collect();
        let sound = flush.iter().filter(|&&pose| working.evaluate(1, bin, pose, f64::INFINITY) == 0.0).count();
        (poses.len() as u32, sound as u32)
    }

    #[test]
    fn convex_parts_lie_edge_on_edge_flush_and_clear() {
        // Beside the other part all do; in the room's square corners those do that are no wider there.
        let (drawn, sound) = drawn_and_sound(&Turns::Any);
        assert!(drawn > 1500, "{drawn}");
        assert!(sound * 3 > drawn * 2, "{sound} of {drawn}");
    }

    #[test]
    fn parts_that_cannot_turn_lie_free_and_touch_what_is_there() {
        let task = with_one_laid(&Turns::List(vec![0.0, 90.0, 180.0, 270.0]));
        let mut working = Working::new(&task, task.items());
        let bin = working.open(0, task.container(0), None);
        working.put(0, bin, Pose { variant: 0, turn_deg: 0.0, at: Point::new(150.0, 150.0) });
        let mut rng = SearchRng::new(1, 0);
        let (mut drawn, mut free) = (0, 0);
        for _ in 0..2000 {
            let Some(pose) = working.contact_pose(1, bin, &mut rng) else { continue };
            drawn += 1;
            if working.evaluate(1, bin, pose, f64::INFINITY) > 0.0 {
                continue;
            }
            free += 1;
            let mut is_barred = |step: i32| {
                let turn = f64::from(step) * 15.0_f64.to_radians();
                let beside = pose.moved(0.01 * turn.cos(), 0.01 * turn.sin());
                working.evaluate(1, bin, beside, f64::INFINITY) > 0.0
            };
            // Against a straight side half of the ways lead into it; corner on corner, as many as both corners span.
            let barred = (0..24).filter(|&step| is_barred(step)).count();
            assert!(barred >= 2, "barred on {barred} of 24 ways at {pose:?}");
        }
        assert!(drawn > 500, "{drawn}");
        assert!(free * 3 > drawn * 2, "{free} of {drawn}");
    }
}
