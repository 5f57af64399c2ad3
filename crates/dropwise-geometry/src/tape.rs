//! The outline of a sheet measured with a tape alone: its sides, and diagonals between corners.
//!
//! Angles are hard to measure on a shop floor, lengths are not. A triangle is fixed by its three sides, and any polygon
//! by its sides and the diagonals that cut it into triangles: n - 3 of them, one for a quadrilateral. More
//! measurements than needed check each other; they are then adjusted by least squares.

mod adjust;
#[cfg(test)]
mod tests;

use std::fmt;

use thiserror::Error;

use crate::{Outline, Point, Shape};

/// The length between two corners that are not neighbours (or a side measured once more).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Diagonal {
    /// One corner, counted from 0.
    pub from: usize,
    /// The other.
    pub to: usize,
    /// Length between them.
    pub length: f64,
}

/// One of the lengths measured, with the corners it joins. Printed with corners counted from 1, as people mark them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measurement {
    /// The side from corner `from` to the next, `to`; its index among the sides is `from`.
    Side {
        /// First corner, counted from 0.
        from: usize,
        /// The next corner.
        to: usize,
    },
    /// A diagonal.
    Diagonal {
        /// Its index among the diagonals.
        index: usize,
        /// One corner, counted from 0.
        from: usize,
        /// The other.
        to: usize,
    },
}

impl Measurement {
    fn corners(self) -> (usize, usize) {
        match self {
            Self::Side { from, to } | Self::Diagonal { from, to, .. } => (from, to),
        }
    }
}

impl fmt::Display for Measurement {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let kind = if matches!(self, Self::Side { .. }) { "side" } else { "diagonal" };
        let (from, to) = self.corners();
        write!(f, "{kind} {}-{}", from + 1, to + 1)
    }
}

/// By how much a measurement was changed so that all fit together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Adjustment {
    /// Which one.
    pub measurement: Measurement,
    /// What was measured.
    pub measured: f64,
    /// Length in the outline found, less what was measured.
    pub change: f64,
}

/// An outline worked out from lengths.
#[derive(Clone, Debug, PartialEq)]
pub struct TapedOutline {
    /// The outline, counter-clockwise: the first corner at the origin, the second on the x axis to its right.
    pub outline: Outline,
    /// How each measurement was changed: sides, then diagonals, in the order given.
    pub adjustments: Vec<Adjustment>,
    /// How many measurements there are beyond those needed. With none, nothing was checked: all changes are zero
    /// whatever was misread.
    pub surplus: usize,
}

impl TapedOutline {
    /// The measurement that was changed most.
    #[must_use]
    pub fn largest_adjustment(&self) -> Adjustment {
        let largest = self.adjustments.iter().copied().max_by(|a, b| a.change.abs().total_cmp(&b.change.abs()));
        largest.expect("a taped outline has at least three sides")
    }

    /// The misclosure: the largest change of any measurement, without its sign.
    #[must_use]
    pub fn misclosure(&self) -> f64 {
        self.largest_adjustment().change.abs()
    }
}

/// Why lengths make no outline. Corners are counted from 0 in the fields and from 1 in the message.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum TapeError {
    /// Fewer than three sides.
    #[error("{count} sides enclose nothing; at least three are needed")]
    TooFewSides {
        /// How many were given.
        count: usize,
    },
    /// More corners than are worth solving, see [`MAX_TAPED_CORNERS`].
    #[error("{count} sides are more than the {MAX_TAPED_CORNERS} that can be solved")]
    TooManySides {
        /// How many were given.
        count: usize,
    },
    /// A length that is not a positive number.
    #[error("{measurement} has a length of {length}; it must be more than zero")]
    BadLength {
        /// Which measurement.
        measurement: Measurement,
        /// What was given.
        length: f64,
    },
    /// A corner that does not exist, or a diagonal from a corner to itself.
    #[error("corner {} does not exist, or is both ends of a diagonal; there are {count} corners", .corner + 1)]
    BadCorner {
        /// The corner named.
        corner: usize,
        /// How many there are.
        count: usize,
    },
    /// Not enough diagonals.
    #[error("{found} diagonals do not fix {corners} corners; {needed} are needed, and corner {} is loose", .loose + 1)]
    TooFewDiagonals {
        /// How many were given.
        found: usize,
        /// How many corners there are.
        corners: usize,
        /// How many are needed at the least.
        needed: usize,
        /// The first corner that is not held.
        loose: usize,
    },
    /// Enough diagonals, but not in the right places.
    #[error("corner {} is loose: measure a diagonal from it so that the diagonals cut the sheet into triangles", .corner + 1)]
    LooseCorner {
        /// The first corner that is not held by two measurements to corners that are.
        corner: usize,
    },
    /// A triangle whose longest side is longer than the other two together.
    #[error("{longest} is {length}, but {} and {} together are only {others}", .shorter[0], .shorter[1])]
    ImpossibleTriangle {
        /// The longest of the three, and the first to measure again.
        longest: Measurement,
        /// Its length.
        length: f64,
        /// The other two.
        shorter: [Measurement; 2],
        /// Their lengths together.
        others: f64,
    },
    /// Lengths that cannot all be right, though no triangle of them shows it.
    #[error("{measurement} is off by {by} even where the others fit best")]
    DoesNotClose {
        /// A measurement that does not fit the others.
        measurement: Measurement,
        /// By how much.
        by: f64,
    },
    /// Every way to lay out the lengths makes an outline that crosses itself.
    #[error("the lengths make an outline that crosses itself, whichever way its corners are turned")]
    CrossesItself,
    /// No outline of these lengths has the reflex corners that were told.
    #[error("corner {} cannot point inwards with these lengths", .corner + 1)]
    NotReflex {
        /// The first of the corners that cannot be reflex.
        corner: usize,
    },
}

/// No more corners than this are solved: sheets have few, and the search for reflex corners grows with their cube.
pub const MAX_TAPED_CORNERS: usize = 40;

/// Solves the outline of a sheet from its sides, in order counter-clockwise, and diagonals between its corners.
///
/// Side i joins corner i to corner i + 1, the last one closes the ring. Walking round clockwise instead gives the mirror
/// image: the sheet seen from its other face. All lengths are in one unit, which is also that of the result.
///
/// A triangle has two mirror images, so lengths alone leave several outlines. The one found is that in which every
/// triangle runs counter-clockwise, as it does when all diagonals lie on the metal; this is the convex outline wherever
/// there is one. A corner that points inwards (reflex) and is spanned by a diagonal *across the gap* must be told in
/// `reflex`: the outline found then has exactly these reflex corners if possible, else at least these. Surplus
/// measurements decide too where only one outline fits them.
///
/// Surplus measurements are adjusted by least squares with equal weights, a tape's error being much the same for all
/// lengths on one sheet.
///
/// # Errors
/// [`TapeError`], which names the measurement or corner. A triangle may be impossible by a hundredth of its longest side
/// where surplus measurements help to adjust it, else not at all.
///
/// # Examples
/// ```
/// use dropwise_geometry::{Diagonal, outline_from_tape};
/// // 400 x 300, square because its diagonal is 500.
/// let diagonal = Diagonal { from: 0, to: 2, length: 500.0 };
/// let taped = outline_from_tape(&[400.0, 300.0, 400.0, 300.0], &[diagonal], &[])?;
/// assert!((taped.outline.area() - 120_000.0).abs() < 1e-6);
/// # Ok::<(), dropwise_geometry::TapeError>(())
/// ```
pub fn outline_from_tape(sides: &[f64], diagonals: &[Diagonal], reflex: &[usize]) -> Result<TapedOutline, TapeError> {
    let net = Net::new(sides, diagonals, reflex)?;
    net.check_triangles()?;
    let order = net.order_of_placing()?;
    let points = net.best_outline(&order, reflex)?;
    let adjustments = net
        .lengths
        .iter()
        .map(|&(measurement, measured)| {
            let (from, to) = measurement.corners();
            Adjustment { measurement, measured, change: points[from].distance(points[to]) - measured }
        })
        .collect();
    Ok(TapedOutline { outline: Outline::polygon(points), adjustments, surplus: net.surplus() })
}

/// All that was measured.
struct Net {
    corners: usize,
    lengths: Vec<(Measurement, f64)>,
}

/// A corner and the two placed corners, with the distances to them, from which it is placed.
struct Step {
    corner: usize,
    from: (usize, f64),
    to: (usize, f64),
}

impl Net {
    fn new(sides: &[f64], diagonals: &[Diagonal], reflex: &[usize]) -> Result<Self, TapeError> {
        let corners = sides.len();
        if corners < 3 {
            return Err(TapeError::TooFewSides { count: corners });
        }
        if corners > MAX_TAPED_CORNERS {
            return Err(TapeError::TooManySides { count: corners });
        }
        let side = |(from, &length)| (Measurement::Side { from, to: (from + 1) % corners }, length);
        let diagonal =
            |(index, d): (usize, &Diagonal)| (Measurement::Diagonal { index, from: d.from, to: d.to }, d.length);
        let lengths: Vec<_> =
            sides.iter().enumerate().map(side).chain(diagonals.iter().enumerate().map(diagonal)).collect();
        for &(measurement, length) in &lengths {
            let (from, to) = measurement.corners();
            if from.max(to) >= corners || from == to {
                return Err(TapeError::BadCorner { corner: from.max(to), count: corners });
            }
            if !(length > 0.0 && length.is_finite()) {
                return Err(TapeError::BadLength { measurement, length });
            }
        }
        if let Some(&corner) = reflex.iter().find(|&&corner| corner >= corners) {
            return Err(TapeError::BadCorner { corner, count: corners });
        }
        Ok(Self { corners, lengths })
    }

    fn surplus(&self) -> usize {
        self.lengths.len().saturating_sub(2 * self.corners - 3)
    }

    fn between(&self, a: usize, b: usize) -> impl Iterator<Item = (Measurement, f64)> + '_ {
        self.lengths.iter().copied().filter(move |(m, _)| m.corners() == (a, b) || m.corners() == (b, a))
    }

    /// Every triangle of which all sides were measured must close.
    fn check_triangles(&self) -> Result<(), TapeError> {
        let allowance = if self.surplus() > 0 { 1e-2 } else { 1e-9 };
        for a in 0..self.corners {
            for b in a + 1..self.corners {
                for c in b + 1..self.corners {
                    for one in self.between(a, b) {
                        for two in self.between(b, c) {
                            for three in self.between(a, c) {
                                let mut sides = [one, two, three];
                                sides.sort_by(|p, q| p.1.total_cmp(&q.1));
                                let [x, y, (longest, length)] = sides;
                                let others = x.1 + y.1;
                                if length > others + allowance * length {
                                    let shorter = [x.0, y.0];
                                    return Err(TapeError::ImpossibleTriangle { longest, length, shorter, others });
                                }
                            }
                        }
                    }
                }
            }
        }
        Ok(())
    }

    /// An order in which every corner after the first two has two measurements to corners placed before it.
    fn order_of_placing(&self) -> Result<Vec<Step>, TapeError> {
        let mut is_placed = vec![false; self.corners];
        (is_placed[0], is_placed[1]) = (true, true);
        let mut steps = Vec::new();
        while steps.len() + 2 < self.corners {
            let loose = (0..self.corners).filter(|&corner| !is_placed[corner]);
            // The corner whose circles meet at the best angle goes next, for the sharpest fix.
            let next = loose
                .filter_map(|corner| self.sharpest_step(corner, &is_placed))
                .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.corner.cmp(&a.0.corner)));
            let Some((step, _)) = next else {
                let loose = is_placed.iter().position(|placed| !placed).unwrap_or_default();
                let (found, needed) = (self.lengths.len() - self.corners, self.corners - 3);
                return Err(if found < needed {
                    TapeError::TooFewDiagonals { found, corners: self.corners, needed, loose }
                } else {
                    TapeError::LooseCorner { corner: loose }
                });
            };
            is_placed[step.corner] = true;
            steps.push(step);
        }
        Ok(steps)
    }

    /// The two measurements that fix a corner best, and how well: the sine of the angle between them, where the third
    /// side of the triangle was measured.
    fn sharpest_step(&self, corner: usize, is_placed: &[bool]) -> Option<(Step, f64)> {
        let known: Vec<(usize, f64)> = self
            .lengths
            .iter()
            .filter_map(|(m, length)| {
                let (from, to) = m.corners();
                let other = if from == corner { to } else { from };
                ((from == corner || to == corner) && is_placed[other]).then_some((other, *length))
            })
            .collect();
        let mut best: Option<(Step, f64)> = None;
        for (i, &from) in known.iter().enumerate() {
            for &to in known[..i].iter().filter(|to| to.0 != from.0) {
                let sine = self.between(from.0, to.0).next().map_or(0.0, |(_, base)| {
                    let cosine = (from.1 * from.1 + to.1 * to.1 - base * base) / (2.0 * from.1 * to.1);
                    (1.0 - cosine * cosine).max(0.0).sqrt()
                });
                if best.as_ref().is_none_or(|b| sine > b.1) {
                    best = Some((Step { corner, from, to }, sine));
                }
            }
        }
        best
    }

    /// Corners by placing one after the other, each where the ring runs counter-clockwise through it and the two it is
    /// placed from, or mirrored where `is_mirrored` says so. Circles that miss each other are taken to touch.
    fn place(&self, order: &[Step], is_mirrored: impl Fn(usize) -> bool) -> Vec<Point> {
        let mut points = vec![Point::ORIGIN; self.corners];
        points[1] = Point::new(self.lengths[0].1, 0.0);
        for (index, step) in order.iter().enumerate() {
            let (low, high) = if step.from.0 < step.to.0 { (step.from, step.to) } else { (step.to, step.from) };
            let (a, b) = (points[low.0], points[high.0]);
            let axis = (b - a).unit().unwrap_or(crate::Vector::new(1.0, 0.0));
            let base = a.distance(b).max(f64::MIN_POSITIVE);
            let along = (base + (low.1 - high.1) * (low.1 + high.1) / base) / 2.0;
            let height = ((low.1 - along) * (low.1 + along)).max(0.0).sqrt();
            // Corners between the two lie to the right of the line from the lower to the higher, the others to its left.
            let is_right = (low.0 < step.corner && step.corner < high.0) != is_mirrored(index);
            points[step.corner] = a + axis * along + axis.left() * if is_right { -height } else { height };
        }
        points
    }

    /// The outline wanted among all mirror images.
    fn best_outline(&self, order: &[Step], told: &[usize]) -> Result<Vec<Point>, TapeError> {
        let size = self.lengths.iter().map(|l| l.1).fold(0.0, f64::max);
        let mut candidates: Vec<Candidate> = Vec::new();
        let mut closest: Option<(Measurement, f64)> = None;
        let mut has_simple = false;
        for flips in flips_up_to_three(order.len()) {
            let points = self.place(order, |index| flips.contains(&index));
            if !is_simple(&points) {
                continue;
            }
            let (measurement, misfit) = self.misfit(&points);
            // Without surplus measurements nothing can be adjusted: circles that miss each other are an error.
            if self.surplus() == 0 && misfit > 1e-7 * size {
                closest = closest.filter(|c| c.1 <= misfit).or(Some((measurement, misfit)));
                continue;
            }
            has_simple = true;
            let reflex = reflex_corners(&points);
            if !told.iter().all(|corner| reflex.contains(corner)) {
                continue;
            }
            // Nothing can be better than the plain solution where it fits and has the corners wanted.
            let is_final = flips.is_empty() && misfit <= 1e-3 * size && (told.is_empty() || reflex.len() == told.len());
            candidates.push(Candidate { points, reflex: reflex.len(), flips: flips.len(), misfit });
            if is_final {
                break;
            }
        }
        if candidates.is_empty() {
            return Err(match (told.first(), closest) {
                (Some(&corner), _) if has_simple => TapeError::NotReflex { corner },
                (_, Some((measurement, by))) => TapeError::DoesNotClose { measurement, by },
                _ => TapeError::CrossesItself,
            });
        }
        // Those that fit the surplus measurements about as well as the best are told apart by their corners alone.
        let least = candidates.iter().map(|c| c.misfit).fold(f64::INFINITY, f64::min);
        let bar = (3.0 * least).max(1e-3 * size);
        let best = candidates
            .into_iter()
            .filter(|c| c.misfit <= bar)
            .min_by(|a, b| (a.reflex, a.flips).cmp(&(b.reflex, b.flips)).then(a.misfit.total_cmp(&b.misfit)));
        let mut points = best.ok_or(TapeError::CrossesItself)?.points;
        if self.surplus() > 0 {
            let measured: Vec<_> = self.lengths.iter().map(|&(m, length)| (m.corners(), length)).collect();
            adjust::least_squares(&mut points, &measured);
            if !is_simple(&points) {
                return Err(TapeError::CrossesItself);
            }
        }
        Ok(points)
    }

    /// The measurement farthest from the length between the points, and how far it is.
    fn misfit(&self, points: &[Point]) -> (Measurement, f64) {
        let miss = |&(m, length): &(Measurement, f64)| {
            let (from, to) = m.corners();
            (m, (points[from].distance(points[to]) - length).abs())
        };
        let worst = self.lengths.iter().map(miss).max_by(|a, b| a.1.total_cmp(&b.1));
        worst.expect("a net has at least three sides")
    }
}

struct Candidate {
    points: Vec<Point>,
    reflex: usize,
    flips: usize,
    misfit: f64,
}

/// Which steps to mirror: none, then every one, two and three of them. Sheets with more than three corners spanned from
/// outside are not measured that way.
fn flips_up_to_three(count: usize) -> impl Iterator<Item = Vec<usize>> {
    let none = std::iter::once(Vec::new());
    let one = (0..count).map(|a| vec![a]);
    let two = (0..count).flat_map(|b| (0..b).map(move |a| vec![a, b]));
    let three = (0..count).flat_map(|c| (0..c).flat_map(move |b| (0..b).map(move |a| vec![a, b, c])));
    none.chain(one).chain(two).chain(three)
}

/// Whether the ring runs counter-clockwise and is free of faults.
fn is_simple(points: &[Point]) -> bool {
    let ring = Outline::polygon(points.iter().copied());
    ring.is_ccw() && Shape::new(ring, Vec::new()).faults().is_empty()
}

/// Corners that point inwards, of a counter-clockwise ring.
fn reflex_corners(points: &[Point]) -> Vec<usize> {
    let n = points.len();
    let is_reflex = |&corner: &usize| {
        let (before, at, after) = (points[(corner + n - 1) % n], points[corner], points[(corner + 1) % n]);
        let (into, out) = (at - before, after - at);
        // A corner on a straight side is flat, not reflex, whatever rounding makes of it.
        into.cross(out) < -1e-9 * into.length() * out.length()
    };
    (0..n).filter(is_reflex).collect()
}
