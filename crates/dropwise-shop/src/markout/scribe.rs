//! Lines that are scratched or drawn on a part and not cut.

use dropwise_geometry::{Isometry, Segment};

/// Bend lines and marks of one part, in the frame of its flat pattern. All coordinates must be ordinary numbers.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ScribeLines {
    /// Lines along which the flange comes up, towards a viewer of the pattern as drawn.
    pub bends_up: Vec<Segment>,
    /// Lines along which the flange goes down, away from the viewer.
    pub bends_down: Vec<Segment>,
    /// Other lines to mark.
    pub marks: Vec<Segment>,
}

impl ScribeLines {
    /// Whether there is nothing to scribe.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.all().next().is_none()
    }

    /// All lines: bends up, bends down, marks.
    pub fn all(&self) -> impl Iterator<Item = &Segment> {
        self.bends_up.iter().chain(&self.bends_down).chain(&self.marks)
    }

    /// The lines of a part that lies somewhere on a sheet. On one that lies face down, what was a bend up is a bend down
    /// for whoever looks at the sheet, and the other way round.
    #[must_use]
    pub fn transformed(&self, by: Isometry) -> Self {
        let moved = |lines: &[Segment]| lines.iter().map(|line| moved(line, by)).collect::<Vec<_>>();
        let (mut bends_up, mut bends_down) = (moved(&self.bends_up), moved(&self.bends_down));
        if by.is_mirrored {
            std::mem::swap(&mut bends_up, &mut bends_down);
        }
        Self { bends_up, bends_down, marks: moved(&self.marks) }
    }
}

fn moved(line: &Segment, by: Isometry) -> Segment {
    let bulge = match line {
        Segment::Line { .. } => 0.0,
        Segment::Arc { arc, .. } => (arc.sweep / 4.0).tan() * if by.is_mirrored { -1.0 } else { 1.0 },
    };
    Segment::new(by.apply(line.start()), by.apply(line.end()), bulge)
}

#[cfg(test)]
mod tests {
    use super::*;
    use dropwise_geometry::Point;

    #[test]
    fn face_down_a_bend_up_is_a_bend_down() {
        let line = |x: f64| Segment::Line { start: Point::new(x, 0.0), end: Point::new(x, 10.0) };
        let arc = Segment::new(Point::new(0.0, 0.0), Point::new(10.0, 0.0), 0.5);
        let lines = ScribeLines { bends_up: vec![line(3.0)], bends_down: Vec::new(), marks: vec![arc] };
        let turned = lines.transformed(Isometry::new(true, 0.0, 100.0, 0.0));
        assert_eq!((turned.bends_up.len(), &turned.bends_down), (0, &vec![line(97.0)]));
        // The middle of the arc hangs below its chord before and after: a mirror in the y axis keeps y.
        let (before, after) = (arc.at(0.5), turned.marks[0].at(0.5));
        assert!((after.x - (100.0 - before.x)).abs() < 1e-9 && (after.y - before.y).abs() < 1e-9);
        let kept = lines.transformed(Isometry::translation(1.0, 0.0));
        assert_eq!((kept.bends_up, kept.bends_down.len()), (vec![line(4.0)], 0));
        assert!(!lines.is_empty() && ScribeLines::default().is_empty());
    }
}
