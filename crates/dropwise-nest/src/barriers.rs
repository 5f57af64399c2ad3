//! What keeps the parts on a sheet off each other and in the room when all of them move at once: the rows of a linear
//! program.

use dropwise_geometry::{Point, Vector};

use crate::keep_apart::{Convexes, Line, lines_between};
use crate::no_fit::Separation;
use crate::task::{Pose, sin_cos_of, turned};
use crate::working::Working;

/// A line with a part on its side: kept to as long as [`Barrier::value`] is at least `least`, mm.
#[derive(Clone, Debug)]
pub(crate) struct Barrier {
    /// Unit normal of the line.
    pub(crate) normal: Vector,
    /// Who moves away from the line by its own move, and who moves the line.
    pub(crate) movers: [Option<Mover>; 2],
    pub(crate) least: f64,
}

/// What one part's move does to the distance from a line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Mover {
    /// Position among the members of the bin.
    pub(crate) position: usize,
    /// One for the part that must stay before the line, minus one for the part that it is an edge of.
    pub(crate) sign: f64,
    /// Gain in distance by a turn that moves the part's farthest corner by one.
    pub(crate) turning: f64,
}

/// How one part moves, mm.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Move {
    pub(crate) by: Vector,
    /// How far its farthest corner is moved by its turn, counter-clockwise.
    pub(crate) turn: f64,
}

impl Barrier {
    /// What a move of all parts adds to the distance from the line.
    pub(crate) fn value(&self, moves: &[Move]) -> f64 {
        let gain = |&Mover { position, sign, turning }: &Mover| {
            sign * self.normal.dot(moves[position].by) + turning * moves[position].turn
        };
        self.movers.iter().flatten().map(gain).sum()
    }

    /// The most that moves of at most `reach` along each axis, and turns of `turn` times that, can take away.
    fn most_lost(&self, reach: f64, turn: f64) -> f64 {
        let lost = |mover: &Mover| reach * (self.normal.x.abs() + self.normal.y.abs() + turn * mover.turning.abs());
        self.movers.iter().flatten().map(lost).sum()
    }
}

/// What must be gained where something is so far before a line: no less than what is there now, or a way back to it.
fn least_gain(distance: f64, touch: f64) -> f64 {
    if distance >= -touch { -distance.max(0.0) } else { -distance }
}

/// A member of a bin where it lies.
struct Member {
    position: usize,
    item: usize,
    pose: Pose,
    lever: Option<f64>,
}

impl Member {
    fn mover(&self, sign: f64, normal: Vector, corner: Point, turn: f64) -> Option<Mover> {
        let turning = match self.lever {
            Some(lever) if turn > 0.0 => sign * normal.dot((corner - self.pose.at).left()) / lever,
            _ => 0.0,
        };
        Some(Mover { position: self.position, sign, turning })
    }
}

impl Working<'_> {
    /// Distance of the farthest corner from the point about which an item turns, mm, if it may turn.
    pub(crate) fn lever(&self, item: usize) -> Option<f64> {
        let (_, pose) = self.place_of(item)?;
        let variant = &self.task.parts[self.part_of(item)].variants[pose.variant];
        variant.turn_deg.is_none().then_some(variant.shape.reach)
    }

    /// How far out in a direction the corners of an item's hull lie that may become its outermost by a turn, and what a turn
    /// adds: see [`Mover::turning`].
    pub(crate) fn outer_corners(
        &self,
        item: usize,
        pose: Pose,
        direction: Vector,
        turn: f64,
    ) -> Option<Vec<(f64, f64)>> {
        let edge = self.task.parts[self.part_of(item)].variants[pose.variant].edge();
        let (sin, cos) = sin_cos_of(pose);
        let base = direction.dot(pose.at.to_vector());
        let lever = self.lever(item).filter(|_| turn > 0.0);
        let Some(lever) = lever else {
            // The direction is turned back instead of every corner forward.
            let back = turned(Point::new(direction.x, direction.y), (-sin, cos)).to_vector();
            return Some(vec![(base + edge.reach_along(back), 0.0)]);
        };
        let corner = |&corner: &Point| {
            let corner = turned(corner, (sin, cos)).to_vector();
            (base + direction.dot(corner), direction.dot(corner.left()) / lever)
        };
        Some(edge.hull.iter().map(corner).collect())
    }

    /// What keeps the members of a bin off each other and in the room, none moving by more than `reach` along either axis
    /// and turning by more than `turn` times that; what all keep to however they move is left out. `None` where shapes near
    /// each other cannot be cut into convex pieces.
    pub(crate) fn barriers(&self, bin: usize, reach: f64, turn: f64) -> Option<Vec<Barrier>> {
        let room = &self.bins[bin];
        let touch = self.task.touch;
        // How near two shapes come that each move and turn.
        let nearness = 2.0 * (std::f64::consts::SQRT_2 + turn) * reach;
        let mut barriers = Vec::new();
        let mut keep = |barrier: Barrier| {
            if barrier.least > -barrier.most_lost(reach, turn) {
                barriers.push(barrier);
            }
        };
        let members: Vec<Member> = room
            .members
            .iter()
            .enumerate()
            .map(|(position, &item)| {
                let (_, pose) = self.place_of(item)?;
                Some(Member { position, item, pose, lever: self.lever(item) })
            })
            .collect::<Option<_>>()?;
        let mut convexes: Vec<Option<Convexes>> = vec![None; members.len()];
        for member in &members {
            let &Member { item, pose, position, .. } = member;
            let edge = self.task.parts[self.part_of(item)].variants[pose.variant].edge();
            for plane in room.container.half_planes.iter().chain(&room.limit) {
                for (out, turning) in self.outer_corners(item, pose, plane.normal, turn)? {
                    let mover = Mover { position, sign: 1.0, turning: -turning };
                    let least = least_gain(plane.limit - out, touch);
                    keep(Barrier { normal: -plane.normal, movers: [Some(mover), None], least });
                }
            }
            let near = self.bounds_of(item)?.expanded(nearness);
            for obstacle in room.container.obstacles.iter().filter(|obstacle| near.intersects(obstacle.bounds)) {
                let laid = edge.convexes()?.laid(sin_cos_of(pose), pose.at);
                for line in lines_between(obstacle.convexes()?, &laid, nearness, turn * nearness, touch) {
                    self.each_corner(&line, turn, |normal, corner, least| {
                        keep(Barrier { normal, movers: [member.mover(1.0, normal, corner, turn), None], least });
                    });
                }
            }
            for other in &members[..position] {
                if !near.intersects(self.bounds_of(other.item)?) {
                    continue;
                }
                let (lies, other_lies) = (&self.laid[item], &self.laid[other.item]);
                if let Some((no_fit, is_reversed)) = self.task().no_fits.of(lies.number, other_lies.number) {
                    let place = lies.place_of(other_lies, is_reversed);
                    let (first, second) = if is_reversed { (other, member) } else { (member, other) };
                    let outside = no_fit.way_out(place, touch);
                    for Separation { normal, distance } in no_fit.separations(outside) {
                        let least = normal.dot(outside - place) - distance.max(0.0);
                        let movers = [
                            second.mover(1.0, normal, Point::ORIGIN, 0.0),
                            first.mover(-1.0, normal, Point::ORIGIN, 0.0),
                        ];
                        keep(Barrier { normal, movers, least });
                    }
                    continue;
                }
                for member in [other, member] {
                    if convexes[member.position].is_none() {
                        let shape = self.shape_of(member.item, member.pose.variant);
                        convexes[member.position] =
                            Some(shape.convexes()?.laid(sin_cos_of(member.pose), member.pose.at));
                    }
                }
                let (first, second) = (convexes[other.position].as_ref()?, convexes[position].as_ref()?);
                for line in lines_between(first, second, nearness, turn * nearness, touch) {
                    self.each_corner(&line, turn, |normal, corner, least| {
                        let movers = [member.mover(1.0, normal, corner, turn), other.mover(-1.0, normal, corner, turn)];
                        keep(Barrier { normal, movers, least });
                    });
                }
            }
        }
        Some(barriers)
    }

    /// Calls `keep` with the normal of a line, each corner that it must keep to, and what that has to gain; with the nearest
    /// corner alone where nothing turns.
    fn each_corner(&self, line: &Line, turn: f64, mut keep: impl FnMut(Vector, Point, f64)) {
        let touch = self.task.touch;
        if turn > 0.0 {
            for &(corner, off) in &line.corners {
                keep(line.along, corner, least_gain(off, touch));
            }
        } else if let Some(&(corner, off)) = line.corners.iter().min_by(|a, b| a.1.total_cmp(&b.1)) {
            keep(line.along, corner, least_gain(off, touch));
        }
    }
}
