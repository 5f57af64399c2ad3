//! Walking around faces: the outline of one by itself, or of the whole flat pattern.

use dropwise_geometry::{Outline, Point, Segment, Vertex};

use super::error::BentError;
use super::frame::{FaceFrame, Side};
use super::grow::{Attached, Cut, End, Face, Tree, UNBORN};
use super::part::NotchForm;
use super::relief::SizedRelief;

/// A vertex of an outline on the flat, and the relief hole that is about it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Step {
    pub(super) vertex: Vertex,
    /// Index into [`Walk::holes`].
    pub(super) hole: Option<usize>,
}

/// A relief hole to be cut out of the outline.
#[derive(Clone, Copy, Debug)]
pub(super) struct ReliefHole {
    pub(super) middle: Point,
    pub(super) radius: f64,
    /// The face whose bend it relieves.
    pub(super) face: usize,
}

/// What a walk around the whole part finds besides the outline.
#[derive(Debug, Default)]
pub(super) struct Walk {
    pub(super) holes: Vec<ReliefHole>,
    /// What reliefs other than holes take away, and the face whose bend they relieve.
    pub(super) removed: Vec<(usize, Outline)>,
    pub(super) errors: Vec<BentError>,
}

/// Distances below this are none, mm: far below what a shop can cut, far above rounding.
pub(super) const NOTHING: f64 = 1e-9;

fn line(point: Point) -> Step {
    Step { vertex: Vertex::line(point), hole: None }
}

/// One side of one face while it is walked.
struct Along<'a> {
    frame: FaceFrame,
    side: &'a Side,
}

impl Along<'_> {
    fn at(&self, u: f64, v: f64) -> Point {
        self.frame.to_flat(self.side.at(u, v))
    }

    fn step(&self, u: f64, v: f64) -> Step {
        line(self.at(u, v))
    }

    /// How far into the face a point of the flat lies.
    fn depth(&self, point: Point) -> f64 {
        self.side.read(self.frame.to_face(point)).1
    }
}

impl Tree<'_> {
    /// The outline of a face from bend to bend, notches cut, reliefs not. Counter-clockwise, on the flat.
    pub(super) fn face_outline(&self, index: usize) -> Outline {
        tidy(self.face_steps(index, &mut None))
    }

    /// The outline of the whole part, all but its relief holes cut.
    pub(super) fn whole(&self) -> (Vec<Step>, Walk) {
        let mut walk = Some(Walk::default());
        let steps = self.face_steps(0, &mut walk);
        (steps, walk.unwrap_or_default())
    }

    /// The bend zone of a face, before reliefs: from its start line round to its end line.
    pub(super) fn zone(&self, bend: &Attached<'_>, parent: &Face<'_>) -> ([Point; 4], [f64; 2]) {
        let along = Along { frame: parent.frame, side: &parent.sides[bend.side] };
        let length = along.side.length();
        let (from, to) = (bend.ends[0].bare_zone, length - bend.ends[1].bare_zone);
        let (start, end) = bend.zone();
        ([along.at(from, start), along.at(from, end), along.at(to, end), along.at(to, start)], [from, to])
    }

    /// Steps around a face. With a walk, out along every face bent from it and back.
    fn face_steps(&self, index: usize, walk: &mut Option<Walk>) -> Vec<Step> {
        let face = &self.faces[index];
        let count = face.sides.len();
        let trims = if walk.is_some() { trims(face) } else { vec![[None; 2]; count] };
        let mut steps = Vec::new();
        // A flange is entered where its first side ends and left where that side starts.
        let first = usize::from(face.parent.is_some());
        for index in first..count {
            self.corner(face, index, &trims, walk, &mut steps);
            self.side(face, index, &trims, walk, &mut steps);
        }
        if first == 1 {
            steps.push(line(face.frame.to_flat(face.sides[0].start())));
        }
        steps
    }

    /// The vertex at the start of a side.
    fn corner(
        &self,
        face: &Face<'_>,
        index: usize,
        trims: &[[Option<Point>; 2]],
        walk: &mut Option<Walk>,
        steps: &mut Vec<Step>,
    ) {
        let count = face.sides.len();
        let flat = |point: Point| face.frame.to_flat(point);
        let Some(plan) = &face.corners[index] else {
            // An arc that was trimmed for a relief ends before the corner; one that starts after it starts later.
            let before = trims[(index + count - 1) % count][1];
            if let Some(end) = before {
                steps.push(line(flat(end)));
                return;
            }
            let own = trims[index][0];
            steps.push(line(flat(own.unwrap_or(face.sides[index].start()))));
            return;
        };
        let Some(walk) = walk else {
            steps.push(line(flat(plan.bare)));
            return;
        };
        let owner = face.bends[plan.bend].face;
        let hole = plan.hole.map(|(middle, radius)| {
            walk.holes.push(ReliefHole { middle: flat(middle), radius, face: owner });
            walk.holes.len() - 1
        });
        if let Some(removed) = &plan.removed {
            let outline = tidy(removed.iter().map(|&point| line(flat(point))).collect());
            walk.removed.push((owner, outline.into_ccw()));
        }
        steps.push(Step { vertex: Vertex::line(flat(plan.at)), hole });
    }

    fn side(
        &self,
        face: &Face<'_>,
        index: usize,
        trims: &[[Option<Point>; 2]],
        walk: &mut Option<Walk>,
        steps: &mut Vec<Step>,
    ) {
        let side = &face.sides[index];
        if let Segment::Arc { arc, start, end } = side.segment {
            let [from, to] = trims[index];
            if let Some(last) = steps.last_mut() {
                last.vertex.bulge = match (from, to) {
                    (None, None) => (arc.sweep / 4.0).tan(),
                    _ => bulge_between(side, from.unwrap_or(start), to.unwrap_or(end)),
                };
            }
            return;
        }
        let along = Along { frame: face.frame, side };
        let mut bends = face.bends.iter().filter(|bend| bend.side == index).peekable();
        let mut cuts = face.notches.iter().filter(|cut| cut.side == index).peekable();
        // Up to where the side is taken by what came before.
        let mut reached = 0.0;
        let length = side.length();
        loop {
            let is_bend_next = match (bends.peek(), cuts.peek()) {
                (None, None) => break,
                (Some(bend), Some(cut)) => bend.from < cut.from,
                (bend, _) => bend.is_some(),
            };
            if is_bend_next {
                let Some(bend) = bends.next() else { break };
                let next = bends.peek().map_or(length, |next| next.ends[0].zone.min(length));
                let next = cuts.peek().map_or(next, |cut| cut.from.min(next));
                reached = self.bend(&along, bend, (reached, next), walk, steps);
            } else if let Some(cut) = cuts.next() {
                notch(&along, cut, steps);
                reached = cut.to;
            }
        }
    }

    /// Past one bend: by way of the face that it brings up when the whole part is walked. Gives where the side goes on.
    fn bend(
        &self,
        along: &Along<'_>,
        bend: &Attached<'_>,
        (reached, next): (f64, f64),
        walk: &mut Option<Walk>,
        steps: &mut Vec<Step>,
    ) -> f64 {
        let length = along.side.length();
        let [start, end] = bend.ends;
        let (from, to) = (start.zone, length - end.zone);
        let (taken, far) = bend.zone();
        // A face that could not be born leaves its bend as a gap: what else is wrong is still found.
        if walk.is_none() || bend.face == UNBORN {
            if !start.is_at_corner {
                steps.extend([along.step(from, 0.0), along.step(from, taken)]);
            }
            if !end.is_at_corner {
                steps.extend([along.step(to, taken), along.step(to, 0.0)]);
            }
            return to;
        }
        let mut beyond = self.face_steps(bend.face, walk);
        let Some(walk) = walk else { return to };
        self.enter(along, bend, &start, (from, reached), (taken, far), walk, steps);
        // A flange that slants inwards leaves a narrow gap beside its parent instead.
        let is_joined = |end: &End| {
            !end.is_at_corner
                && end.slant <= 0.0
                && !matches!(end.relief, SizedRelief::Rectangular { .. } | SizedRelief::Round { .. })
        };
        if is_joined(&start) {
            clip_root(along, &mut beyond);
        }
        if is_joined(&end) {
            beyond.reverse();
            // Reversed, each vertex carries the arc that came to it; only lines are clipped, and they carry none.
            clip_root(along, &mut beyond);
            beyond.reverse();
        }
        steps.append(&mut beyond);
        self.leave(along, bend, &end, (to, next), (taken, far), walk, steps)
    }

    #[allow(clippy::too_many_arguments)]
    fn enter(
        &self,
        along: &Along<'_>,
        bend: &Attached<'_>,
        end: &End,
        (from, reached): (f64, f64),
        (taken, far): (f64, f64),
        walk: &mut Walk,
        steps: &mut Vec<Step>,
    ) {
        if end.is_at_corner {
            steps.extend([along.step(from, taken), along.step(from, far)]);
            return;
        }
        match end.relief {
            SizedRelief::None => steps.push(along.step(from, 0.0)),
            SizedRelief::Hole { radius } => {
                let hole = self.hole(along, bend, from, radius, walk);
                steps.push(Step { vertex: Vertex::line(along.at(from, 0.0)), hole });
            }
            SizedRelief::Rectangular { width, depth } | SizedRelief::Round { width, depth } => {
                let is_round = matches!(end.relief, SizedRelief::Round { .. });
                let edge = from - width;
                let mut cut = slot_steps(along, edge, from, taken + depth, is_round);
                if edge < reached - NOTHING {
                    // Beyond the start of the side: fine where the arc before it was trimmed for that.
                    if !self.room(along, bend, (reached, from), steps, walk) {
                        return;
                    }
                    cut.remove(0);
                }
                self.remove_slot(along, bend, (edge, from), taken + depth, is_round, walk);
                steps.append(&mut cut);
            }
        }
    }

    #[allow(clippy::too_many_arguments)]
    fn leave(
        &self,
        along: &Along<'_>,
        bend: &Attached<'_>,
        end: &End,
        (to, next): (f64, f64),
        (taken, far): (f64, f64),
        walk: &mut Walk,
        steps: &mut Vec<Step>,
    ) -> f64 {
        if end.is_at_corner {
            steps.extend([along.step(to, far), along.step(to, taken)]);
            return to;
        }
        match end.relief {
            SizedRelief::None => {
                steps.push(along.step(to, 0.0));
                to
            }
            SizedRelief::Hole { radius } => {
                let hole = self.hole(along, bend, to, radius, walk);
                steps.push(Step { vertex: Vertex::line(along.at(to, 0.0)), hole });
                to
            }
            SizedRelief::Rectangular { width, depth } | SizedRelief::Round { width, depth } => {
                let is_round = matches!(end.relief, SizedRelief::Round { .. });
                let edge = to + width;
                let mut cut = slot_steps(along, to, edge, taken + depth, is_round);
                if edge > next + NOTHING {
                    let is_trimmed = (next - along.side.length()).abs() < NOTHING && self.is_trimmed_after(along, bend);
                    if !is_trimmed {
                        walk.errors.push(no_room(along, bend, to));
                        return next;
                    }
                    cut.pop();
                }
                self.remove_slot(along, bend, (to, edge), taken + depth, is_round, walk);
                steps.append(&mut cut);
                edge
            }
        }
    }

    /// Whether a relief that reaches beyond the start of its side has room there; reported when not.
    fn room(
        &self,
        along: &Along<'_>,
        bend: &Attached<'_>,
        (reached, from): (f64, f64),
        steps: &[Step],
        walk: &mut Walk,
    ) -> bool {
        // The arc before the side was trimmed if the last vertex does not lie on the side.
        let is_trimmed = reached == 0.0 && steps.last().is_some_and(|last| along.depth(last.vertex.point) > NOTHING);
        if !is_trimmed {
            walk.errors.push(no_room(along, bend, from));
        }
        is_trimmed
    }

    fn is_trimmed_after(&self, along: &Along<'_>, bend: &Attached<'_>) -> bool {
        let Some(face) = self.faces[bend.face].parent.map(|parent| &self.faces[parent]) else { return false };
        let next = (bend.side + 1) % face.sides.len();
        let _ = along;
        trims(face)[next][0].is_some()
    }

    fn hole(&self, along: &Along<'_>, bend: &Attached<'_>, u: f64, radius: f64, walk: &mut Walk) -> Option<usize> {
        let (taken, far) = bend.zone();
        let into = (taken + far) / 2.0;
        // It must reach the edge on one side and past the start of the bend on the other.
        let wanted = into.abs().max((taken - far) / 2.0);
        if radius <= wanted {
            let face = bend.flange.name.clone();
            walk.errors.push(BentError::ReliefSmall { face, found: radius, wanted });
            return None;
        }
        walk.holes.push(ReliefHole { middle: along.at(u, into), radius, face: bend.face });
        Some(walk.holes.len() - 1)
    }

    /// Notes what a slot takes away. Where the arc beside the side was trimmed for it, less lies there than its width.
    fn remove_slot(
        &self,
        along: &Along<'_>,
        bend: &Attached<'_>,
        (from, to): (f64, f64),
        depth: f64,
        is_round: bool,
        walk: &mut Walk,
    ) {
        let mut ring = slot_steps(along, from, to, depth, is_round);
        let length = along.side.length();
        let parent = self.faces[bend.face].parent.map_or(0, |parent| parent);
        let sides = &self.faces[parent].sides;
        let count = sides.len();
        let trims = trims(&self.faces[parent]);
        let flat = |point: Point| along.frame.to_flat(point);
        // Back along the arc that is cut short, to where it is cut.
        let before = (bend.side + count - 1) % count;
        let after = (bend.side + 1) % count;
        if let (true, Some(cut)) = (from < -NOTHING, trims[before][1]) {
            ring[0] = line(flat(cut));
            let corner = sides[bend.side].start();
            let bulge = -bulge_between(&sides[before], cut, corner);
            ring.push(Step { vertex: Vertex::arc(flat(corner), bulge), hole: None });
        } else if let (true, Some(cut)) = (to > length + NOTHING, trims[after][0]) {
            let corner = sides[after].start();
            let bulge = -bulge_between(&sides[after], corner, cut);
            ring[3] = Step { vertex: Vertex::arc(flat(cut), bulge), hole: None };
            ring.push(line(flat(corner)));
        }
        let outline = tidy(ring);
        walk.removed.push((bend.face, outline.into_ccw()));
    }
}

/// Bulge of the part of an arc between two of its points, in its own direction.
fn bulge_between(side: &Side, from: Point, to: Point) -> f64 {
    let Segment::Arc { arc, .. } = side.segment else { return 0.0 };
    let turned = ((to - arc.center).angle() - (from - arc.center).angle()) * arc.sweep.signum();
    (turned.rem_euclid(std::f64::consts::TAU) * arc.sweep.signum() / 4.0).tan()
}

/// Into a slot from the edge of a face, along its bottom and out again.
fn slot_steps(along: &Along<'_>, from: f64, to: f64, depth: f64, is_round: bool) -> Vec<Step> {
    let bottom = if is_round { depth - (to - from) / 2.0 } else { depth };
    let mut steps = vec![along.step(from, 0.0), along.step(from, bottom), along.step(to, bottom), along.step(to, 0.0)];
    if is_round {
        // A half circle to the right of travel, into the face.
        steps[1].vertex.bulge = -1.0;
    }
    steps
}

fn no_room(along: &Along<'_>, bend: &Attached<'_>, u: f64) -> BentError {
    BentError::ReliefRoom { face: bend.flange.name.clone(), at: along.at(u, 0.0) }
}

/// Takes off a flange what lies beside its parent: where nothing parts the two, the flange starts at the parent's edge.
fn clip_root(along: &Along<'_>, steps: &mut [Step]) {
    let [first, second, ..] = steps else { return };
    let (near, away) = (along.depth(first.vertex.point), along.depth(second.vertex.point));
    // A flange that ends before its parent's edge is left as it is: the outline then crosses itself, and is reported.
    if near > 0.0 && away < 0.0 && first.vertex.bulge == 0.0 && second.vertex.bulge == 0.0 {
        first.vertex.point = first.vertex.point.lerp(second.vertex.point, near / (near - away));
    }
}

fn notch(along: &Along<'_>, cut: &Cut, steps: &mut Vec<Step>) {
    let (from, to) = (cut.from, cut.to);
    match cut.notch.form {
        NotchForm::Rectangular { depth, .. } => steps.extend(slot_steps(along, from, to, depth, false)),
        NotchForm::Rounded { depth, radius, .. } => {
            // A radius by hand that is too large is refused where it is read; here it is held to what there is.
            let radius = radius.min(depth).min((to - from) / 2.0).max(0.0);
            let quarter = -(std::f64::consts::PI / 8.0).tan();
            let arc = |u: f64, v: f64| Step { vertex: Vertex::arc(along.at(u, v), quarter), hole: None };
            let (has_sides, has_bottom) = (depth - radius > NOTHING, to - from - 2.0 * radius > NOTHING);
            steps.extend(has_sides.then(|| along.step(from, 0.0)));
            steps.push(arc(from, depth - radius));
            steps.extend(has_bottom.then(|| along.step(from + radius, depth)));
            steps.push(arc(to - radius, depth));
            steps.extend(has_sides.then(|| along.step(to, depth - radius)));
            steps.push(along.step(to, 0.0));
        }
        NotchForm::Vee { depth, .. } => {
            steps.extend([along.step(from, 0.0), along.step((from + to) / 2.0, depth), along.step(to, 0.0)]);
        }
        NotchForm::Round { .. } => {
            let start = Step { vertex: Vertex::arc(along.at(from, 0.0), -1.0), hole: None };
            steps.extend([start, along.step(to, 0.0)]);
        }
    }
}

/// Where arcs next to a bend are cut short for the relief at its end: start and end of each side, in the face's frame.
fn trims(face: &Face<'_>) -> Vec<[Option<Point>; 2]> {
    let count = face.sides.len();
    let mut trims = vec![[None; 2]; count];
    for bend in &face.bends {
        let side = &face.sides[bend.side];
        for (which, end) in bend.ends.iter().enumerate() {
            let (SizedRelief::Rectangular { width, .. } | SizedRelief::Round { width, .. }) = end.relief else {
                continue;
            };
            if end.is_at_corner || end.zone >= width - NOTHING {
                continue;
            }
            let (neighbour, u) = if which == 0 {
                ((bend.side + count - 1) % count, end.zone - width)
            } else {
                ((bend.side + 1) % count, side.length() - end.zone + width)
            };
            let Segment::Arc { arc, .. } = face.sides[neighbour].segment else { continue };
            let (middle_u, middle_v) = side.read(arc.center);
            let rise = (arc.radius * arc.radius - (u - middle_u).powi(2)).sqrt();
            // Nearest to the side of the two places where the arc's circle is that far along; NaN is on no arc.
            let near = [middle_v - rise, middle_v + rise]
                .map(|v| side.at(u, v))
                .into_iter()
                .filter(|&point| arc.covers_angle((point - arc.center).angle()))
                .min_by(|&a, &b| side.read(a).1.abs().total_cmp(&side.read(b).1.abs()));
            trims[neighbour][1 - which] = near;
        }
    }
    trims
}

/// The closed outline through some steps: without sides of no length, and without corners that do not turn.
pub(super) fn tidy(steps: Vec<Step>) -> Outline {
    let mut kept: Vec<Vertex> = Vec::with_capacity(steps.len());
    for Step { vertex, .. } in steps {
        match kept.last_mut() {
            Some(last) if last.bulge == 0.0 && last.point.distance(vertex.point) <= NOTHING => {
                last.bulge = vertex.bulge
            }
            _ => kept.push(vertex),
        }
    }
    while kept.len() > 2
        && let (Some(&first), Some(&last)) = (kept.first(), kept.last())
        && last.bulge == 0.0
        && last.point.distance(first.point) <= NOTHING
    {
        kept.pop();
    }
    let mut i = 0;
    while kept.len() > 3 && i < kept.len() {
        let count = kept.len();
        let (before, own, after) = (kept[(i + count - 1) % count], kept[i], kept[(i + 1) % count]);
        let (come, go) = (own.point - before.point, after.point - own.point);
        // How far the corner lies off the straight line between its neighbours is what leaving it out moves.
        let runs_on = before.bulge == 0.0
            && own.bulge == 0.0
            && come.dot(go) > 0.0
            && come.cross(go).abs() <= NOTHING * (come + go).length();
        if runs_on {
            kept.remove(i);
        } else {
            i += 1;
        }
    }
    Outline::new(kept)
}
