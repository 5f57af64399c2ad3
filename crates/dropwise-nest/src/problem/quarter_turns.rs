//! Where parts that may turn freely are searched at quarter turns first.

use dropwise_geometry::Segment;
use dropwise_model::{Job, Turns};

/// The turns at which parts that may turn freely are searched apart on a strip.
pub(crate) const QUARTER_TURNS: [f64; 4] = [0.0, 90.0, 180.0, 270.0];

/// Quarter turns of more shapes than this are not tried apart on sheets: a table of how near all of them may come to each
/// other takes more memory than it gains time.
const MOST_SHAPES: usize = 100;
/// Nor where less than this share of the straight edges runs along the axes: where they run anyhow, so must the parts.
const LEAST_ALONG: f64 = 0.75;
/// An edge runs along an axis if it rises by no more than this share of its length, about a tenth of a degree.
const STRAIGHT: f64 = 2e-3;

/// Whether it is worth a try to lay parts that may turn freely onto sheets at quarter turns alone.
pub(crate) fn may_be_square(job: &Job) -> bool {
    let free = job.parts().iter().filter(|part| part.turns == Turns::Any);
    let shapes: usize = free.clone().map(|part| QUARTER_TURNS.len() * (1 + usize::from(part.may_flip))).sum();
    let (mut along, mut all) = (0.0, 0.0);
    for part in free {
        for segment in part.shape.exterior().segments() {
            if let Segment::Line { start, end } = segment {
                let (edge, copies) = (end - start, f64::from(part.quantity));
                let length = edge.length();
                all += copies * length;
                if edge.x.abs().min(edge.y.abs()) <= STRAIGHT * length {
                    along += copies * length;
                }
            }
        }
    }
    (1..=MOST_SHAPES).contains(&shapes) && along >= LEAST_ALONG * all
}

#[cfg(test)]
mod tests {
    use dropwise_geometry::{Outline, Point, Shape};

    use super::*;
    use crate::state::working_tests::{job, rectangle};

    #[test]
    fn quarter_turns_are_for_few_parts_with_square_corners() {
        let wedge = |corner: f64| {
            let corners = [(0.0, 0.0), (50.0, 0.0), (corner, 60.0)].map(|(x, y)| Point::new(x, y));
            Shape::new(Outline::polygon(corners), Vec::new())
        };
        let disc = Shape::new(Outline::circle(Point::ORIGIN, 20.0), Vec::new());
        let is_worth = |shapes: &[Shape], turns: Turns| {
            let parts: Vec<_> = shapes.iter().map(|shape| (shape.clone(), turns.clone())).collect();
            may_be_square(&job(&parts, rectangle(500.0, 500.0)))
        };
        let plate = rectangle(50.0, 30.0);
        assert!(is_worth(std::slice::from_ref(&plate), Turns::Any));
        assert!(!is_worth(std::slice::from_ref(&plate), Turns::List(vec![0.0, 90.0])), "they have no other turns");
        assert!(is_worth(&[plate.clone(), wedge(0.0), disc], Turns::Any), "a disc has no edge that could run anyhow");
        assert!(!is_worth(&[plate.clone(), wedge(25.0), wedge(20.0)], Turns::Any));
        assert!(!is_worth(&vec![plate; MOST_SHAPES / 4 + 1], Turns::Any));
    }
}
