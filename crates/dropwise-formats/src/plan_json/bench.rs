//! What a document carries for the bench: the plan for the brake, findings, and bent parts from which cards are drawn.

use dropwise_geometry::{Outline, Point, Shape, Unit, Vector, format_length};
use dropwise_shop::bend::{Bend, Development, KFactor};
use dropwise_shop::bend_plan::{BendingPlan, HandPlan, Order};
use dropwise_shop::check::{Finding, FindingGroup, gathered};
use dropwise_shop::fold::{Direction, FaceFrame, FlatBend, FlatFace, FlatHole, Unfolding};
use dropwise_shop::markout::full_circle;

use super::rebuild::shape_of;
use super::types::{
    BendEntry, BendStepEntry, BendingEntry, FaceEntry, FindingEntry, HandBendingEntry, HandStepEntry, PartEntry,
    PlanDocument,
};

impl PlanDocument {
    /// Writes down how a part is bent, on a brake and else by hand, and what the checks say of it, each cause once. A part that
    /// is not there is passed over.
    pub fn tell(
        &mut self,
        part: usize,
        (plan, by_hand): (Option<&BendingPlan>, &[HandPlan]),
        findings: &[Finding],
        unit: Unit,
    ) {
        let Some(entry) = self.parts.get_mut(part) else { return };
        entry.bending = plan.map(|plan| bending(plan, unit));
        let is_left = plan.is_some_and(|plan| plan.order != Order::Found);
        entry.by_hand = by_hand.iter().find(|plan| is_left && plan.order == Order::Found).map(hand_bending);
        let finding = |group: &FindingGroup<'_>| FindingEntry {
            severity: group.worst.severity.to_string(),
            rule: group.worst.rule.to_owned(),
            problem: group.in_unit(unit),
            cure: group.worst.cure.clone(),
            source: group.worst.source.to_string(),
        };
        entry.findings = gathered(findings).iter().map(finding).collect();
    }
}

fn hand_bending(plan: &HandPlan) -> HandBendingEntry {
    let steps = plan.steps.iter().map(|step| HandStepEntry {
        bends: std::iter::once(step.bend).chain(step.also.iter().copied()).collect(),
        is_face_clamped: step.is_face_clamped,
        sight_line: step.sight_line,
        fingers: step.fingers.clone(),
    });
    HandBendingEntry { bender: plan.bender.clone(), steps: steps.collect() }
}

fn bending(plan: &BendingPlan, unit: Unit) -> BendingEntry {
    let order = match plan.order {
        Order::Found => "found",
        Order::None => "none",
        Order::GivenUp => "given up",
        Order::NoBrake => "no brake",
    };
    let steps = plan.steps.iter().map(|step| BendStepEntry {
        bends: std::iter::once(step.bend).chain(step.also.iter().copied()).collect(),
        die: step.die.opening,
        punch: step.punch.clone(),
        punch_length: step.punch_length,
        gauge: step.gauge.as_ref().map(|gauge| gauge.distance),
        gauge_face: step.gauge.as_ref().map(|gauge| gauge.face.clone()),
        is_gauge_straight: step.gauge.as_ref().is_some_and(|gauge| gauge.is_straight),
        force: step.force,
        is_hem: step.hem.is_some(),
    });
    let length = |mm: f64| format_length(mm, unit);
    let left = plan.blocked.iter().map(|blocked| {
        let help = blocked.help.map_or_else(String::new, |help| format!("; {}", help.in_words(length)));
        format!("{}: {}{help}", blocked.face, blocked.obstacle)
    });
    BendingEntry {
        machine: Some(plan.machine.to_owned()),
        order: order.to_owned(),
        steps: steps.collect(),
        left: left.collect(),
    }
}

impl PartEntry {
    /// The part laid flat, as it was when the plan was made; `None` when the entry tells no faces, or what it tells is no
    /// bent part.
    #[must_use]
    pub fn unfolding(&self) -> Option<Unfolding> {
        let is_whole = !self.faces.is_empty() && self.faces.len() == self.bends.len() + 1;
        if !is_whole || !self.thickness.is_finite() || self.faces[0].parent.is_some() {
            return None;
        }
        let shape = shape_of(&self.shape);
        let holes = shape.holes().iter().map(flat_hole).collect();
        let faces =
            self.faces.iter().enumerate().map(|(index, entry)| face(index, entry)).collect::<Option<Vec<_>>>()?;
        let bends =
            self.bends.iter().enumerate().map(|(index, entry)| self.bend(index, entry)).collect::<Option<_>>()?;
        Some(Unfolding { thickness: self.thickness, shape, holes, faces, bends, reliefs: Vec::new() })
    }

    fn bend(&self, index: usize, entry: &BendEntry) -> Option<FlatBend> {
        let line = |ends: [[f64; 2]; 2]| ends.map(point);
        let development = Development::KFactor(KFactor::given(entry.k).ok()?);
        let bend = Bend::new(self.thickness, entry.inside_radius, entry.turn_deg).ok()?;
        let mut figures = bend.figures(&development).ok()?;
        // As the plan has them: rules other than a K-factor differ in the last digits.
        (figures.allowance, figures.deduction, figures.outside_setback) =
            (entry.allowance, entry.deduction, entry.setback);
        let (start, end) = (line(entry.begins?), line(entry.ends?));
        if start[0].distance(start[1]) < 1e-9 || !entry.allowance.is_finite() {
            return None;
        }
        Some(FlatBend {
            face: index + 1,
            parent: self.faces.get(index + 1)?.parent?,
            direction: if entry.is_up { Direction::Up } else { Direction::Down },
            figures,
            development,
            line: line([entry.from, entry.to]),
            start,
            end,
            sight_line: None,
            zone: Outline::polygon([start[0], start[1], end[1], end[0]]),
            edge_taken: 0.0,
            own_taken: 0.0,
        })
    }
}

fn point([x, y]: [f64; 2]) -> Point {
    Point::new(x, y)
}

fn face(index: usize, entry: &FaceEntry) -> Option<FlatFace> {
    let region: Shape = shape_of(&entry.region);
    let bounds = region.bounds();
    if entry.parent.is_some_and(|parent| parent >= index) || (index > 0 && entry.parent.is_none()) {
        return None;
    }
    if !region.faults().is_empty() {
        return None;
    }
    Some(FlatFace {
        name: entry.name.clone(),
        parent: entry.parent,
        told_size: (bounds.width(), bounds.height()),
        region,
        frame: FaceFrame { origin: point(entry.origin), x_axis: Vector::new(entry.x_axis[0], entry.x_axis[1]) },
    })
}

fn flat_hole(ring: &Outline) -> FlatHole {
    let circle = full_circle(ring, 1e-6);
    let bounds = Shape::new(ring.clone(), Vec::new()).bounds();
    FlatHole {
        face: 0,
        feature: None,
        center: circle.map_or(bounds.center(), |circle| circle.center),
        diameter: circle.map(|circle| 2.0 * circle.radius),
    }
}
