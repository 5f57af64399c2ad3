//! Where segments meet, and which pairs of many come near each other.

use dropwise_geometry::{Bounds, Point, Segment};

use crate::curves::distance;

/// Points closer than this to a segment lie on it, mm. Far below any tolerance, far above rounding at 10 m.
const ON_SEGMENT: f64 = 1e-7;

/// Points that two segments share: crossings, touches, and the ends of a common stretch. Points may repeat.
pub(crate) fn meetings(a: &Segment, b: &Segment) -> Vec<Point> {
    let mut found = Vec::new();
    for point in [a.start(), a.end()] {
        if distance(b, point) <= ON_SEGMENT {
            found.push(point);
        }
    }
    for point in [b.start(), b.end()] {
        if distance(a, point) <= ON_SEGMENT {
            found.push(point);
        }
    }
    let mut keep = |point: Point| {
        if point.is_finite() && distance(a, point) <= ON_SEGMENT && distance(b, point) <= ON_SEGMENT {
            found.push(point);
        }
    };
    match (a, b) {
        (Segment::Line { start, end }, Segment::Line { start: other_start, end: other_end }) => {
            let (u, v) = (*end - *start, *other_end - *other_start);
            keep(*start + u * ((*other_start - *start).cross(v) / u.cross(v)));
        }
        (Segment::Line { start, end }, Segment::Arc { arc, .. })
        | (Segment::Arc { arc, .. }, Segment::Line { start, end }) => {
            if let Some(direction) = (*end - *start).unit() {
                let foot = *start + direction * (arc.center - *start).dot(direction);
                let aside = foot.distance(arc.center);
                let half = ((arc.radius - aside) * (arc.radius + aside)).max(0.0).sqrt();
                keep(foot + direction * half);
                keep(foot - direction * half);
            }
        }
        (Segment::Arc { arc, .. }, Segment::Arc { arc: other, .. }) => {
            let between = other.center - arc.center;
            let length = between.length();
            if let Some(direction) = between.unit() {
                let along = (length + (arc.radius - other.radius) * (arc.radius + other.radius) / length) / 2.0;
                let half = ((arc.radius - along) * (arc.radius + along)).max(0.0).sqrt();
                let foot = arc.center + direction * along;
                keep(foot + direction.left() * half);
                keep(foot - direction.left() * half);
            }
        }
    }
    found
}

/// Pairs of boxes that overlap, found by a sweep from left to right. `None` when more than `budget` comparisons are
/// needed, as only a drawing made to do so would.
pub(crate) fn near_pairs(boxes: &[Bounds], mut budget: usize) -> Option<Vec<(usize, usize)>> {
    let mut order: Vec<usize> = (0..boxes.len()).collect();
    order.sort_by(|&a, &b| boxes[a].min.x.total_cmp(&boxes[b].min.x).then(a.cmp(&b)));
    let mut active: Vec<usize> = Vec::new();
    let mut pairs = Vec::new();
    for index in order {
        let here = boxes[index];
        budget = budget.checked_sub(active.len())?;
        active.retain(|&other| boxes[other].max.x + ON_SEGMENT >= here.min.x);
        for &other in &active {
            let there = boxes[other];
            if there.min.y <= here.max.y + ON_SEGMENT && here.min.y <= there.max.y + ON_SEGMENT {
                // A pair kept costs far more than a comparison: memory, and later the meeting itself.
                budget = budget.checked_sub(80)?;
                pairs.push((other.min(index), other.max(index)));
            }
        }
        active.push(index);
    }
    Some(pairs)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(a: f64, b: f64, c: f64, d: f64) -> Segment {
        Segment::new(Point::new(a, b), Point::new(c, d), 0.0)
    }

    fn half_circle(x: f64, radius: f64) -> Segment {
        Segment::new(Point::new(x + radius, 0.0), Point::new(x - radius, 0.0), 1.0)
    }

    #[test]
    fn a_three_four_five_triangle_gives_the_crossings() {
        // The line y = 4 meets the circle of radius 5 at x = ±3.
        let mut found = meetings(&line(-10.0, 4.0, 10.0, 4.0), &half_circle(0.0, 5.0));
        found.sort_by(|a, b| a.x.total_cmp(&b.x));
        assert!(found.len() == 2 && found[0].distance(Point::new(-3.0, 4.0)) < 1e-12);
        // Two circles of radius 5, 6 apart, meet at height 4.
        let found = meetings(&half_circle(0.0, 5.0), &half_circle(6.0, 5.0));
        assert!(found.len() == 1 && found[0].distance(Point::new(3.0, 4.0)) < 1e-12);
        assert!(meetings(&line(-10.0, -4.0, 10.0, -4.0), &half_circle(0.0, 5.0)).is_empty(), "below the half circle");
    }

    #[test]
    fn touches_and_common_stretches_count() {
        assert_eq!(meetings(&line(0.0, 0.0, 2.0, 0.0), &line(1.0, 0.0, 1.0, 5.0)).len(), 2, "end and crossing agree");
        assert_eq!(meetings(&line(0.0, 0.0, 2.0, 0.0), &line(1.0, 0.0, 3.0, 0.0)).len(), 2, "ends of the stretch");
        assert!(meetings(&line(0.0, 0.0, 2.0, 0.0), &line(1.0, 0.1, 1.0, 5.0)).is_empty());
    }

    #[test]
    fn the_sweep_finds_what_all_pairs_find() {
        let boxes: Vec<Bounds> = (0..200)
            .map(|i| {
                let (x, y) = (f64::from(i * 37 % 101), f64::from(i * 53 % 97));
                Bounds::of([Point::new(x, y), Point::new(x + f64::from(i % 7), y + f64::from(i % 5))])
            })
            .collect();
        let mut swept = near_pairs(&boxes, 1_000_000).unwrap();
        swept.sort_unstable();
        let slow: Vec<_> = (0..200)
            .flat_map(|i| (i + 1..200).map(move |j| (i, j)))
            .filter(|&(i, j)| boxes[i].intersects(boxes[j]))
            .collect();
        assert_eq!(swept, slow);
        assert_eq!(near_pairs(&boxes, 100), None);
    }
}
