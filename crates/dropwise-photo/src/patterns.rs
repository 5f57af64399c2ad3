//! Holes that form a pattern: on a circle at equal angles, or at the corners of a rectangle.

use std::f64::consts::TAU;

use dropwise_geometry::Point;

use crate::reading::{Hole, HoleForm, Pattern};

/// Holes of one pattern differ by less than this in diameter and place, mm.
const LIKE: f64 = 0.5;

/// Patterns among round holes.
pub(crate) fn find(holes: &[Hole]) -> Vec<Pattern> {
    let round: Vec<(usize, Point, f64)> = holes
        .iter()
        .filter_map(|hole| match hole.form {
            HoleForm::Round { center, diameter } => Some((hole.number, center, diameter)),
            _ => None,
        })
        .collect();
    let mut patterns = Vec::new();
    let mut taken: Vec<usize> = Vec::new();
    for &(first, _, diameter) in &round {
        if taken.contains(&first) {
            continue;
        }
        let alike: Vec<(usize, Point, f64)> =
            round.iter().copied().filter(|hole| (hole.2 - diameter).abs() < LIKE).collect();
        if let Some(pattern) = on_circle(&alike).or_else(|| on_rectangle(&alike)) {
            taken.extend(&pattern.holes);
            patterns.push(pattern);
        }
    }
    patterns
}

fn middle(holes: &[(usize, Point, f64)]) -> Point {
    let n = holes.len() as f64;
    let (x, y) = holes.iter().fold((0.0, 0.0), |(x, y), hole| (x + hole.1.x, y + hole.1.y));
    Point::new(x / n, y / n)
}

fn on_circle(holes: &[(usize, Point, f64)]) -> Option<Pattern> {
    let n = holes.len();
    if n < 3 {
        return None;
    }
    let center = middle(holes);
    let radius = holes.iter().map(|hole| hole.1.distance(center)).sum::<f64>() / n as f64;
    let mut angles: Vec<f64> = holes.iter().map(|hole| (hole.1 - center).angle().rem_euclid(TAU)).collect();
    angles.sort_by(f64::total_cmp);
    let step = TAU / n as f64;
    let is_even = (0..n).all(|k| {
        let gap = if k + 1 < n { angles[k + 1] - angles[k] } else { angles[0] + TAU - angles[k] };
        ((gap - step) * radius).abs() < 1.5 * LIKE
    });
    let is_round = holes.iter().all(|hole| (hole.1.distance(center) - radius).abs() < LIKE);
    (is_even && is_round && n != 4).then(|| pattern(holes, &format!("on a circle of {:.2} mm", 2.0 * radius))).or_else(
        || {
            (is_even && is_round).then(|| {
                let side = radius * std::f64::consts::SQRT_2;
                pattern(holes, &format!("on a circle of {:.2} mm, {side:.2} mm apart in a square", 2.0 * radius))
            })
        },
    )
}

fn on_rectangle(holes: &[(usize, Point, f64)]) -> Option<Pattern> {
    if holes.len() != 4 {
        return None;
    }
    let center = middle(holes);
    let reach: Vec<f64> = holes.iter().map(|hole| hole.1.distance(center)).collect();
    let mean = reach.iter().sum::<f64>() / 4.0;
    if reach.iter().any(|r| (r - mean).abs() > LIKE) {
        return None;
    }
    // Diagonals that halve each other and are equal make a rectangle.
    let mut sides: Vec<f64> = holes[1..].iter().map(|hole| hole.1.distance(holes[0].1)).collect();
    sides.sort_by(f64::total_cmp);
    let is_halved = (sides[2] - 2.0 * mean).abs() < 2.0 * LIKE;
    is_halved.then(|| pattern(holes, &format!("at the corners of a rectangle of {:.2} x {:.2} mm", sides[1], sides[0])))
}

fn pattern(holes: &[(usize, Point, f64)], place: &str) -> Pattern {
    let diameter = holes.iter().map(|hole| hole.2).sum::<f64>() / holes.len() as f64;
    Pattern {
        text: format!("{} holes of {diameter:.2} mm {place}", holes.len()),
        holes: holes.iter().map(|hole| hole.0).collect(),
    }
}

#[cfg(test)]
mod tests {
    use dropwise_geometry::{Outline, Vector};

    use super::*;

    fn hole(number: usize, center: Point, diameter: f64) -> Hole {
        let outline = Outline::circle(center, diameter / 2.0);
        Hole { number, outline, form: HoleForm::Round { center, diameter }, sigma: 0.05, deviation: 0.05 }
    }

    #[test]
    fn six_on_a_circle_and_four_on_a_rectangle() {
        let ring = |k: usize| Point::ORIGIN + Vector::from_angle(k as f64 * TAU / 6.0) * 60.0;
        let mut holes: Vec<Hole> = (0..6).map(|k| hole(k + 1, ring(k), 7.0)).collect();
        let corners = [(0., 0.), (80., 0.), (80., 50.), (0., 50.1)];
        holes.extend(corners.iter().enumerate().map(|(k, &(x, y))| hole(k + 7, Point::new(300.0 + x, y), 11.0)));
        let found = find(&holes);
        assert_eq!(found.len(), 2, "{found:?}");
        assert_eq!(found[0].holes, [1, 2, 3, 4, 5, 6]);
        assert!(found[0].text.contains("circle of 120.00"), "{}", found[0].text);
        assert!(found[1].text.contains("80.0"), "{}", found[1].text);
        assert!(find(&holes[..2]).is_empty());
    }
}
