//! Can a part lie on a sheet at all? What is answered with no is proved.

use dropwise_geometry::{Bounds, Isometry, Point, Side, Vector, convex_hull};
use dropwise_model::{Part, Turns};

/// Why a part cannot lie on a sheet, by how much the sheet would have to be larger. Necessary conditions only: that a part
/// passes does not mean that it fits.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Misfit {
    /// However it is turned, the room between the sheet's margins is too narrow by so much, mm.
    TooNarrow(f64),
    /// However it is turned, the room is too short by so much, mm.
    TooShort(f64),
    /// The part is held to the grain, and the sheet's is not known.
    GrainUnknown,
    /// The margins leave no room on it, or less than can be ordered.
    NoRoom,
}

impl Misfit {
    /// How far it is from fitting, mm; infinite when no size would help.
    #[must_use]
    pub fn excess(self) -> f64 {
        match self {
            Self::TooNarrow(by) | Self::TooShort(by) => by,
            Self::GrainUnknown | Self::NoRoom => f64::INFINITY,
        }
    }
}

/// Size of the room on a sheet between its margins: a box around it, and of its convex hull the longest chord and the
/// least width. All at most too large.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Room {
    x: f64,
    y: f64,
    diameter: f64,
    breadth: f64,
}

impl Room {
    pub(crate) const NONE: Self = Self { x: 0.0, y: 0.0, diameter: 0.0, breadth: 0.0 };

    pub(crate) fn rectangle(x: f64, y: f64) -> Self {
        if x <= 0.0 || y <= 0.0 {
            return Self::NONE;
        }
        Self { x, y, diameter: x.hypot(y), breadth: x.min(y) }
    }

    pub(crate) fn of_hull(hull: &[Point], slack: f64) -> Self {
        let bounds = Bounds::of(hull.iter().copied());
        let grown = 2.0 * slack;
        Self {
            x: bounds.width() + grown,
            y: bounds.height() + grown,
            diameter: diameter(hull) + grown,
            breadth: breadth(hull) + grown,
        }
    }

    /// Whether it is as large in every way as another, but for a hair.
    #[cfg(test)]
    pub(crate) fn holds(self, other: Self) -> bool {
        let hair = 0.1;
        other.is_none()
            || self.x >= other.x - hair
                && self.y >= other.y - hair
                && self.diameter >= other.diameter - hair
                && self.breadth >= other.breadth - hair
    }

    /// Whether nothing can lie there.
    pub(crate) fn is_none(self) -> bool {
        self.x <= 0.0 || self.y <= 0.0
    }
}

/// What of a part must find room: how far it reaches in each direction.
#[derive(Clone, Debug)]
pub(crate) struct Reach {
    turns: Turns,
    may_flip: bool,
    hull: Vec<Point>,
    diameter: f64,
    breadth: f64,
    stretches: Vec<Stretch>,
}

/// A range of directions in which the same corners of the hull stick out farthest: along the direction, the part reaches
/// over `along`, and across it over `across`.
#[derive(Clone, Copy, Debug)]
struct Stretch {
    from: f64,
    to: f64,
    along: Vector,
    across: Vector,
}

/// Flattening of parts, which loses metal so that no part is thought larger than it is, mm.
const TOLERANCE: f64 = 0.05;
/// A room that misses by less is not said to be too small, mm: the certificate has a tolerance too.
const HAIR: f64 = 1e-3;

impl Reach {
    pub(crate) fn of(part: &Part) -> Self {
        let hull = convex_hull(&part.shape.flatten(TOLERANCE, Side::Shrink).exterior);
        let stretches = if matches!(part.turns, Turns::Any) { stretches(&hull) } else { Vec::new() };
        Self {
            turns: part.turns.clone(),
            may_flip: part.may_flip,
            diameter: diameter(&hull),
            breadth: breadth(&hull),
            hull,
            stretches,
        }
    }

    /// Why the part cannot lie in a room; `None` when nothing speaks against it.
    ///
    /// For a part that may lie at any angle and a rectangular room without damage the answer is exact for its convex hull.
    pub(crate) fn misfit(&self, room: Room, grain_deg: Option<f64>) -> Option<Misfit> {
        if room.is_none() {
            return Some(Misfit::NoRoom);
        }
        let boxed = match self.turns {
            Turns::Any => self.misfit_turning(room),
            _ => self.misfit_at_turns(room, grain_deg),
        };
        let narrow = Some(self.breadth - room.breadth).filter(|&by| by > HAIR).map(Misfit::TooNarrow);
        let short = Some(self.diameter - room.diameter).filter(|&by| by > HAIR).map(Misfit::TooShort);
        boxed.or(narrow).or(short)
    }

    /// Whether nothing speaks against the part lying in a room; quicker than asking what does.
    pub(crate) fn may_lie_in(&self, room: Room, grain_deg: Option<f64>) -> bool {
        if self.breadth > room.breadth + HAIR || self.diameter > room.diameter + HAIR {
            return false;
        }
        // As drawn, which is how most parts fit if they do.
        let bounds = Bounds::of(self.hull.iter().copied());
        let (width, height) = (bounds.width(), bounds.height());
        let lies_as_drawn = width <= room.x && height <= room.y || width <= room.y && height <= room.x;
        matches!(self.turns, Turns::Any) && lies_as_drawn || self.misfit(room, grain_deg).is_none()
    }

    fn misfit_turning(&self, room: Room) -> Option<Misfit> {
        let (long, wide) = (room.x.max(room.y), room.x.min(room.y));
        // Where the part fits lengthwise, how much too narrow; where it fits across, how much too short. Between two
        // corners of the hull the reach is an arc of a cosine, which is least at one end of any range.
        let (mut narrow, mut short) = (f64::INFINITY, f64::INFINITY);
        for stretch in &self.stretches {
            let at = |angle: f64| {
                let direction = Vector::from_angle(angle);
                (stretch.along.dot(direction), stretch.across.dot(direction.left()))
            };
            let ends = [stretch.from, stretch.to];
            let reaching = |reach: Vector, turn: f64, limit: f64| {
                // reach . u(angle + turn) = limit
                let (size, phase) = (reach.length(), reach.angle() - turn);
                let half = if size > limit { (limit / size).acos() } else { f64::NAN };
                [phase + half, phase - half].map(|angle| wrapped_into(angle, stretch.from, stretch.to))
            };
            for angle in ends.into_iter().chain(reaching(stretch.along, 0.0, long).into_iter().flatten()) {
                let (along, across) = at(angle);
                if along <= long + HAIR {
                    narrow = narrow.min(across - wide);
                }
            }
            let quarter = std::f64::consts::FRAC_PI_2;
            for angle in ends.into_iter().chain(reaching(stretch.across, quarter, wide).into_iter().flatten()) {
                let (along, across) = at(angle);
                if across <= wide + HAIR {
                    short = short.min(along - long);
                }
            }
        }
        if narrow <= HAIR || short <= HAIR {
            return None;
        }
        Some(if narrow.is_infinite() && short.is_infinite() {
            // Too short as well, but that alone is in the way already.
            Misfit::TooNarrow(self.breadth - wide)
        } else if narrow <= short {
            Misfit::TooNarrow(narrow)
        } else {
            Misfit::TooShort(short)
        })
    }

    fn misfit_at_turns(&self, room: Room, grain_deg: Option<f64>) -> Option<Misfit> {
        let mut nearest: Option<Misfit> = None;
        for is_mirrored in [false, true] {
            if is_mirrored && !self.may_flip {
                continue;
            }
            let angles = self.turns.on_sheet(grain_deg, is_mirrored)?;
            for angle in angles {
                let turn = Isometry::new(is_mirrored, angle, 0.0, 0.0);
                let bounds = Bounds::of(self.hull.iter().map(|&corner| turn.apply(corner)));
                let (over_x, over_y) = (bounds.width() - room.x, bounds.height() - room.y);
                if over_x <= HAIR && over_y <= HAIR {
                    return None;
                }
                // The longer side of the room is its length.
                let is_x_short = (over_x > over_y) == (room.x >= room.y);
                let by = over_x.max(over_y);
                let misfit = if is_x_short { Misfit::TooShort(by) } else { Misfit::TooNarrow(by) };
                if nearest.is_none_or(|nearest| misfit.excess() < nearest.excess()) {
                    nearest = Some(misfit);
                }
            }
        }
        Some(nearest.unwrap_or(Misfit::GrainUnknown))
    }
}

/// The angle, by whole turns, if it lies in the range.
fn wrapped_into(angle: f64, from: f64, to: f64) -> Option<f64> {
    let turn = std::f64::consts::TAU;
    let angle = from + (angle - from).rem_euclid(turn);
    (angle <= to).then_some(angle)
}

fn stretches(hull: &[Point]) -> Vec<Stretch> {
    let half_turn = std::f64::consts::PI;
    let quarter = std::f64::consts::FRAC_PI_2;
    let mut ends: Vec<f64> = vec![0.0, half_turn];
    for index in 0..hull.len() {
        let along = (hull[(index + 1) % hull.len()] - hull[index]).angle();
        ends.extend([along.rem_euclid(half_turn), (along + quarter).rem_euclid(half_turn)]);
    }
    ends.sort_by(f64::total_cmp);
    ends.dedup_by(|a, b| *a - *b < 1e-12);
    let reach = |direction: Vector| {
        let key = |point: &Point| direction.dot(point.to_vector());
        let farthest = hull.iter().max_by(|a, b| key(a).total_cmp(&key(b)));
        let nearest = hull.iter().min_by(|a, b| key(a).total_cmp(&key(b)));
        farthest.zip(nearest).map_or(Vector::new(0.0, 0.0), |(far, near)| *far - *near)
    };
    ends.windows(2)
        .map(|ends| {
            let middle = Vector::from_angle((ends[0] + ends[1]) / 2.0);
            Stretch { from: ends[0], to: ends[1], along: reach(middle), across: reach(middle.left()) }
        })
        .collect()
}

/// Longest chord of a convex ring.
fn diameter(hull: &[Point]) -> f64 {
    let chords = hull.iter().enumerate().flat_map(|(i, &a)| hull[..i].iter().map(move |&b| a.distance(b)));
    chords.fold(0.0, f64::max)
}

/// Least distance of two parallel lines that hold a convex ring: one of them runs along an edge.
fn breadth(hull: &[Point]) -> f64 {
    let mut least = f64::INFINITY;
    for (index, &corner) in hull.iter().enumerate() {
        if let Some(along) = (hull[(index + 1) % hull.len()] - corner).unit() {
            let across = along.left();
            least = least.min(hull.iter().map(|&p| across.dot(p - corner)).fold(0.0, f64::max));
        }
    }
    if least.is_finite() { least } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use dropwise_geometry::{Outline, Shape};
    use dropwise_model::StockClass;
    use rand::{RngExt as _, SeedableRng as _};

    fn part(points: &[(f64, f64)], turns: Turns) -> Reach {
        let outline = Outline::polygon(points.iter().map(|&(x, y)| Point::new(x, y)));
        let part = Part { turns, ..Part::new("p", Shape::new(outline, Vec::new()), StockClass::new("")) };
        Reach::of(&part)
    }

    fn plate(p: f64, q: f64) -> Reach {
        part(&[(0.0, 0.0), (p, 0.0), (p, q), (0.0, q)], Turns::Any)
    }

    /// Whether a rectangle p x q fits into one of a x b (p >= q, a >= b).
    ///
    /// Source: J. E. Wetzel, "Rectangles in rectangles", Mathematics Magazine 73 (2000), theorem 1; first in
    /// W. B. Carver, American Mathematical Monthly 64 (1957).
    fn wetzel(p: f64, q: f64, a: f64, b: f64) -> bool {
        let sum = p * p + q * q;
        (p <= a && q <= b) || (p > a && b >= (2.0 * p * q * a + (p * p - q * q) * (sum - a * a).sqrt()) / sum)
    }

    #[test]
    fn rectangles_fit_into_rectangles_as_the_theorem_says() {
        let mut random = rand_pcg::Pcg64::seed_from_u64(5);
        let (mut yes, mut no) = (0, 0);
        for _ in 0..2000 {
            let mut side = |least: f64, most: f64| random.random_range(least..most);
            let (a, b) = (side(50.0, 200.0), side(50.0, 200.0));
            let (p, q) = (side(0.8, 1.3) * a, side(0.05, 1.2) * b);
            let (a, b, p, q) = (a.max(b), a.min(b), p.max(q), p.min(q));
            let fits = wetzel(p, q, a, b);
            let misfit = plate(p, q).misfit(Room::rectangle(a, b), None);
            assert_eq!(misfit.is_none(), fits, "{p} x {q} in {a} x {b}: {misfit:?}");
            if fits {
                yes += 1
            } else {
                no += 1
            }
            if q > a {
                // Too short as well as too narrow: no room of the same length would do.
                assert_eq!(misfit, Some(Misfit::TooNarrow(q - b)));
                continue;
            }
            // A room larger by what is said to lack is large enough, and by a little less it is not.
            let larger = |share: f64| match misfit {
                Some(Misfit::TooNarrow(by)) => Room::rectangle(a, b + share * by),
                Some(Misfit::TooShort(by)) => Room::rectangle(a + share * by, b),
                _ => Room::rectangle(a, b),
            };
            assert_eq!(plate(p, q).misfit(larger(1.0001), None), None, "{p} x {q} in {a} x {b}: {misfit:?}");
            if misfit.is_some_and(|misfit| misfit.excess() > 0.5) {
                assert!(plate(p, q).misfit(larger(0.99), None).is_some(), "{p} x {q} in {a} x {b}: {misfit:?}");
            }
        }
        assert!(yes > 300 && no > 300, "{yes} and {no}");
    }

    #[test]
    fn misses_in_words() {
        assert_eq!(plate(100.0, 40.0).misfit(Room::rectangle(300.0, 26.0), None), Some(Misfit::TooNarrow(14.0)));
        let Some(Misfit::TooShort(by)) = plate(100.0, 2.0).misfit(Room::rectangle(90.0, 8.0), None) else {
            panic!("too short")
        };
        // Laid as steeply as the width allows, it comes a little shorter than its length.
        assert!(by > 8.0 && by < 10.0, "{by}");
        assert_eq!(plate(1.0, 1.0).misfit(Room::NONE, None), Some(Misfit::NoRoom));
    }

    #[test]
    fn parts_held_to_the_grain_turn_only_with_it() {
        let ring = [(0.0, 0.0), (100.0, 0.0), (100.0, 40.0), (0.0, 40.0)];
        let held = part(&ring, Turns::Grain { along_deg: 0.0 });
        let room = Room::rectangle(50.0, 120.0);
        assert_eq!(held.misfit(room, None), Some(Misfit::GrainUnknown));
        assert_eq!(held.misfit(room, Some(90.0)), None);
        assert_eq!(held.misfit(room, Some(0.0)), Some(Misfit::TooNarrow(50.0)));
        assert_eq!(part(&ring, Turns::List(vec![0.0, 90.0])).misfit(room, None), None);
        assert_eq!(part(&ring, Turns::List(vec![0.0])).misfit(room, None), Some(Misfit::TooNarrow(50.0)));
    }
}
