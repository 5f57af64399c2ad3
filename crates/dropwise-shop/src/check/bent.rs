//! Bends: holes beside them, legs, radii, reliefs, and the machine.

use dropwise_geometry::{Boundary, Point, Vector};

use super::flat::SLACK;
use super::{Amount, BentSubject, Finding, Severity, Subject, to_grain};
use crate::bend::{BendToGrain, Development, HemKind, KOrigin, MinimumRadius, k_spread, minimum_radius};
use crate::bend_plan::{Obstacle, Order};
use crate::fold::{FlatBend, Kinship, RULE_MARGIN};
use crate::markout::full_circle;
use crate::shop::Shop;
use crate::source::{Source, Status};

const HOLE_SOURCE: Source = Source::confirmed("Sheet Metal Design Guide");
const HOLE_SOURCE_FAR: Source = Source::confirmed("Sheet Metal Part Design Guide");
const RELIEF_SOURCE: Source = Source::confirmed("Bend relief requirements");

/// Holes nearer to where the bend begins than this many thicknesses are pulled out of shape.
const TO_BEND: f64 = 2.0;

/// The least width of a relief, in thicknesses.
const RELIEF: f64 = 0.5;

pub(super) fn check(subject: &Subject<'_>, bends: &BentSubject<'_>, shop: &Shop) -> Vec<Finding> {
    let mut findings = Vec::new();
    holes(subject, bends, &mut findings);
    for bend in &bends.unfolding.bends {
        radius(subject, bends, bend, &mut findings);
        k_told(subject, bends, bend, &mut findings);
        relief(subject, bends, bend, &mut findings);
    }
    own_space(subject, bends, &mut findings);
    order(subject, bends, shop, &mut findings);
    findings
}

pub(super) fn feature(bends: &BentSubject<'_>, bend: &FlatBend) -> String {
    format!("the bend of face \"{}\"", bends.unfolding.faces[bend.face].name)
}

pub(super) fn middle(bend: &FlatBend) -> Point {
    bend.line[0] + (bend.line[1] - bend.line[0]) * 0.5
}

/// Each hole against the bend it is nearest to, in proportion to what that asks for.
fn holes(subject: &Subject<'_>, bends: &BentSubject<'_>, findings: &mut Vec<Finding>) {
    let t = subject.thickness;
    let zones: Vec<Boundary> = bends.unfolding.bends.iter().map(|bend| Boundary::new([&bend.zone])).collect();
    for hole in subject.shape.holes() {
        let ring = Boundary::new([hole]);
        let is_round = full_circle(hole, 1e-3).is_some();
        let mut worst: Option<(f64, Finding)> = None;
        for (bend, zone) in bends.unfolding.bends.iter().zip(&zones) {
            let r = bend.figures.bend.radius();
            // Round holes: 2 T clear, or 3 T + R. Slots and cutouts: 4 T + R by one guide (from memory).
            let (least, advised) = (TO_BEND * t, if is_round { 3.0 * t + r } else { 4.0 * t + r });
            let found = ring.distance_within(zone, advised);
            if found >= advised - SLACK {
                continue;
            }
            let is_near = found < least - SLACK;
            let (severity, wanted, source) = match (is_near, is_round) {
                (true, _) => (Severity::Warn, least, HOLE_SOURCE),
                (false, true) => (Severity::Note, advised, HOLE_SOURCE_FAR),
                (false, false) => (Severity::Note, advised, Source::from_memory("slot to bend")),
            };
            let finding = Finding {
                severity,
                rule: "hole to bend",
                feature: format!("{}, beside {},", super::names::hole(subject, hole), feature(bends, bend)),
                at: Some(hole.bounds().center()),
                found: Some(Amount::Length(found)),
                wanted: Some(Amount::Length(wanted)),
                problem: "is near to where that begins and may be pulled out of shape".to_owned(),
                cure: "Move it away, cut it after bending, or cut a slit along the bend beside it".to_owned(),
                source,
            };
            let share = found / wanted;
            if worst.as_ref().is_none_or(|(least, other)| {
                (std::cmp::Reverse(severity), share) < (std::cmp::Reverse(other.severity), *least)
            }) {
                worst = Some((share, finding));
            }
        }
        findings.extend(worst.map(|(_, finding)| finding));
    }
}

fn radius(subject: &Subject<'_>, bends: &BentSubject<'_>, bend: &FlatBend, findings: &mut Vec<Finding>) {
    // Hems are told apart: what is folded flat has rules of its own.
    if HemKind::of(&bend.figures.bend).is_some() {
        return;
    }
    let found = bend.figures.bend.radius();
    let grain = to_grain(bend.line, bends.grain_deg);
    // Not knowing the grain is no reason to fear the worst: along it is told as a note.
    let reckoned = grain.unwrap_or(BendToGrain::Across);
    let Some(minimum) = minimum_radius(bends.grade, subject.thickness, reckoned) else {
        findings.push(Finding {
            severity: Severity::Note,
            rule: "inside radius",
            feature: feature(bends, bend),
            at: Some(middle(bend)),
            found: Some(Amount::Length(found)),
            wanted: None,
            problem: format!("has no published least radius in {} of this thickness", bends.grade),
            cure: "Bend a test strip first".to_owned(),
            source: Source::COMMON_PRACTICE,
        });
        return;
    };
    let way = match grain {
        Some(way) => format!(", bent {way}"),
        None => String::new(),
    };
    let mut add = |severity, problem: String, cure: &str, wanted: f64, source| {
        findings.push(Finding {
            severity,
            rule: "inside radius",
            feature: feature(bends, bend),
            at: Some(middle(bend)),
            found: Some(Amount::Length(found)),
            wanted: Some(Amount::Length(wanted)),
            problem,
            cure: cure.to_owned(),
            source,
        });
    };
    // Tighter than the metal stands even across the grain is told by that figure, which is the better known.
    let across = minimum_radius(bends.grade, subject.thickness, BendToGrain::Across).unwrap_or(minimum);
    let minimum = if found < across.least - SLACK { across } else { minimum };
    if found < minimum.least - SLACK {
        let problem = format!("is tighter than {} stands{way}", bends.grade);
        let cure = match grain {
            Some(BendToGrain::Along) => {
                "Turn the part on the sheet so that the bend runs across the grain, or bend wider"
            }
            _ => "Bend over a wider radius, or take a softer temper",
        };
        // The figure printed is told with its own source; where that is only remembered, it does not stop.
        add(Severity::Stop, problem, cure, minimum.least, source_of_least(&minimum));
    } else if found < minimum.advised - SLACK {
        let problem = format!("is tighter than is advised for {}{way}", bends.grade);
        let source = source_of_least(&minimum);
        add(Severity::Warn, problem, "Bend wider where there is room", minimum.advised, source);
    } else if grain.is_none()
        && let Some(along) = minimum_radius(bends.grade, subject.thickness, BendToGrain::Along)
        && found < along.least - SLACK
    {
        let problem = "may crack if it comes to lie along the grain".to_owned();
        let cure = "Hold the part to the grain, so that the bend runs across it";
        add(Severity::Note, problem, cure, along.least, along.grain_source.unwrap_or(along.source));
    }
}

/// Whose word the least radius is: of a bend along the grain, the factor's as well as the radius's own.
fn source_of_least(minimum: &MinimumRadius) -> Source {
    match minimum.grain_source {
        Some(grain) if matches!(grain.status, Status::FromMemory) => {
            Source::from_memory("1.5 to 2 times the radius across the grain")
        }
        Some(grain) => grain,
        None => minimum.source,
    }
}

/// How far a K told by hand may lie beyond all published tables: what tables differ by among themselves.
const K_BEYOND: f64 = 0.05;

/// A K told by hand that lies beyond every table.
fn k_told(subject: &Subject<'_>, bends: &BentSubject<'_>, bend: &FlatBend, findings: &mut Vec<Finding>) {
    let Development::KFactor(k) = &bend.development else { return };
    let figures = &bend.figures;
    if *k.origin() != KOrigin::Given {
        return;
    }
    let Some(spread) = k_spread(bends.method, bends.grade, &figures.bend, figures.allowance) else { return };
    let (low, high) = spread.k;
    let (nearest, source) = if k.value() < low - K_BEYOND {
        (low, spread.sources.0)
    } else if k.value() > high + K_BEYOND {
        (high, spread.sources.1)
    } else {
        return;
    };
    let wanted = figures.bend.allowance(nearest);
    findings.push(Finding {
        severity: Severity::Warn,
        rule: "K of a bend",
        feature: feature(bends, bend),
        at: Some(middle(bend)),
        found: Some(Amount::Length(figures.allowance)),
        wanted: Some(Amount::Length(wanted)),
        problem: format!(
            "is told with K {}, and every table gives {low:.2} to {high:.2}: its zone is laid out {} {} than the nearest of them has it",
            k.value(),
            subject.length((wanted - figures.allowance).abs()),
            if figures.allowance < wanted { "shorter" } else { "longer" },
        ),
        cure: "Fold a strip and measure it, or leave `k` out".to_owned(),
        source,
    });
}

/// Reliefs at the ends of a bend beside which the parent goes on: wide enough, and deep enough. Both ends that are at fault
/// alike make one finding.
fn relief(subject: &Subject<'_>, bends: &BentSubject<'_>, bend: &FlatBend, findings: &mut Vec<Finding>) {
    let Some(along) = (bend.line[1] - bend.line[0]).unit() else { return };
    let mut told: Vec<(usize, Finding)> = Vec::new();
    for (end, outwards) in [(bend.start[0], -along), (bend.start[1], along)] {
        let found = narrow_relief(subject, bends, bend, (end, outwards))
            .or_else(|| shallow_relief(subject, bends, bend, (end, outwards)));
        let Some(found) = found else { continue };
        match told.iter_mut().find(|(_, known)| known.problem == found.problem) {
            Some((count, _)) => *count += 1,
            None => told.push((1, found)),
        }
    }
    findings.extend(told.into_iter().map(|(count, finding)| {
        let ends = if count == 2 { "both ends of " } else { "one end of " };
        Finding { feature: format!("{ends}{}", finding.feature), ..finding }
    }));
}

/// How far beside the end of a bend the metal begins: nothing but a relief or the edge of the part keeps it away.
fn narrow_relief(
    subject: &Subject<'_>,
    bends: &BentSubject<'_>,
    bend: &FlatBend,
    (end, outwards): (Point, Vector),
) -> Option<Finding> {
    let wanted = RELIEF * subject.thickness;
    // Just inside the bend, where the sheet begins to leave its plane.
    let inside = bend.figures.allowance * 0.02;
    const STEPS: u32 = 20;
    let steps = (1..STEPS).map(|step| wanted * f64::from(step) / f64::from(STEPS));
    let found = steps
        .into_iter()
        .find(|&distance| is_parent(subject, bends, end + outwards * distance + super::hems::away(bend) * inside))?;
    // The first step stands for nothing at all.
    let found = found - wanted / f64::from(STEPS);
    let problem =
        if found > SLACK { "ends in a relief that is too narrow" } else { "ends beside metal without a relief" };
    Some(Finding {
        severity: Severity::Warn,
        rule: "bend relief",
        feature: feature(bends, bend),
        at: Some(end),
        found: Some(Amount::Length(found)),
        wanted: Some(Amount::Length(wanted)),
        problem: problem.to_owned(),
        cure: "Cut a relief beside the end of the bend, past where the bend begins, or the sheet tears there"
            .to_owned(),
        source: RELIEF_SOURCE,
    })
}

/// How deep the relief beside an end goes, from the bend line into the parent.
fn shallow_relief(
    subject: &Subject<'_>,
    bends: &BentSubject<'_>,
    bend: &FlatBend,
    (end, outwards): (Point, Vector),
) -> Option<Finding> {
    let figures = &bend.figures;
    let away = super::hems::away(bend);
    let wanted = figures.bend.radius() + subject.thickness + RULE_MARGIN;
    // Reliefs that touch this end, and how far they reach beside it and into the parent.
    let near = bends.unfolding.reliefs.iter().filter(|relief| {
        Boundary::new([&relief.removed]).distance_to_point(end) < subject.thickness || relief.removed.contains(end)
    });
    let (mut wide, mut deep) = (0.0_f64, f64::NEG_INFINITY);
    for relief in near {
        for point in relief.removed.flatten(0.01, dropwise_geometry::Side::Grow) {
            wide = wide.max(outwards.dot(point - end));
            deep = deep.max(-away.dot(point - bend.line[0]));
        }
    }
    // Beyond the relief the parent must go on, or there is nothing to tear.
    let beyond = end + outwards * (wide + 0.05 * subject.thickness) + away * (figures.allowance * 0.02);
    if deep == f64::NEG_INFINITY || deep >= wanted - 1e-3 || !is_parent(subject, bends, beyond) {
        return None;
    }
    Some(Finding {
        severity: Severity::Warn,
        rule: "depth of a relief",
        feature: feature(bends, bend),
        at: Some(end),
        found: Some(Amount::Length(deep)),
        wanted: Some(Amount::Length(wanted)),
        problem: "ends in a relief that is too shallow, counted from the bend line".to_owned(),
        cure: "Cut it deeper, past where the bend begins, or the sheet tears at its bottom".to_owned(),
        source: RELIEF_SOURCE,
    })
}

/// Whether a point lies in metal that no bend takes along.
fn is_parent(subject: &Subject<'_>, bends: &BentSubject<'_>, point: Point) -> bool {
    subject.shape.contains(point) && !bends.unfolding.bends.iter().any(|other| other.zone.contains(point))
}

/// The finished part against itself, on no machine.
fn own_space(subject: &Subject<'_>, bends: &BentSubject<'_>, findings: &mut Vec<Finding>) {
    let name = |face: usize| &bends.unfolding.faces[face].name;
    for overlap in bends.unfolding.self_overlaps() {
        let [long, middle, short] = overlap.extents.map(|extent| subject.length(extent));
        let (one, two) = (name(overlap.face), name(overlap.other));
        let mut cures = match overlap.kinship {
            Kinship::Neighbours | Kinship::Returns => vec![format!(
                "Mitre the two with `corners = [{{ between = [\"{one}\", \"{two}\"], join = \"mitred\" }}]`, or let them \
                 butt or one lap over the other, or cut their ends back"
            )],
            Kinship::Strangers => Vec::new(),
        };
        match overlap.shorten {
            Some((face, by)) => {
                // Rounded up, or the advice would leave a trace.
                let by = (by * 100.0).ceil() / 100.0;
                cures.push(format!("shorten \"{}\" by {} or more", name(face), subject.length(by)));
            }
            None if cures.is_empty() => cures.push("change the sizes or the angles".to_owned()),
            None => {}
        }
        cures.push("make it of two pieces".to_owned());
        let mut cure = cures.join("; or ");
        if let Some(first) = cure.get(..1).map(str::to_uppercase) {
            cure.replace_range(..1, &first);
        }
        findings.push(Finding {
            severity: Severity::Stop,
            rule: "space of its own",
            feature: format!("face \"{one}\""),
            at: Some(overlap.on_flat),
            found: Some(Amount::Length(overlap.extents[1])),
            wanted: Some(Amount::Length(0.0)),
            problem: format!(
                "lies in the same place as face \"{two}\" when bent: both take a space of {long} x {middle} x {short}"
            ),
            cure,
            source: Source::derived("geometry of the finished part: faces and bends as solids"),
        });
    }
}

/// Bends that are left, those of one cause together: `bending "right" and "left", face "front" runs into the punch`.
pub(super) fn by_cause(blocked: impl Iterator<Item = (String, String)>) -> Vec<String> {
    let mut causes: Vec<(String, Vec<String>)> = Vec::new();
    for (face, why) in blocked {
        let face = format!("\"{face}\"");
        match causes.iter_mut().find(|(known, _)| *known == why) {
            Some((_, faces)) => faces.push(face),
            None => causes.push((why, vec![face])),
        }
    }
    let told = causes.into_iter().map(|(why, faces)| match faces.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("bending {} and {last}, {why}", rest.join(", ")),
        _ => format!("bending {}, {why}", faces.concat()),
    });
    told.collect()
}

fn order(subject: &Subject<'_>, bends: &BentSubject<'_>, shop: &Shop, findings: &mut Vec<Finding>) {
    if !bends.by_hand.is_empty() && bends.plan.order != Order::Found {
        super::hand::check(subject, bends, shop, findings);
        return;
    }
    let (severity, problem, cure) = match bends.plan.order {
        Order::Found => return,
        Order::NoBrake => (
            Severity::Warn,
            "has bends, and the shop has no press brake with a punch and a die",
            "Have it bent elsewhere, or tell of the brake in the shop file",
        ),
        Order::GivenUp => (
            Severity::Warn,
            "has so many bends that no order was found in the time that is spent on it",
            "Find an order by hand, or make it of two pieces",
        ),
        // A warning: the model knows neither offset tools nor the tricks of whoever stands at the brake.
        // Told of each of those bends.
        Order::None if bends.plan.blocked.iter().all(|blocked| blocked.obstacle == Obstacle::TooSharp) => return,
        Order::None => (
            Severity::Warn,
            "runs into the brake or itself in every order of bends that was tried",
            "Take a gooseneck, a higher punch, a narrower die or an offset tool, open the shape, or make it of two pieces",
        ),
    };
    let blocked = by_cause(bends.plan.blocked.iter().map(|one| (one.face.clone(), one.obstacle.to_string())));
    let told = if blocked.is_empty() { String::new() } else { format!(" ({})", blocked.join("; ")) };
    let effort = bends.plan.effort;
    let tried = if effort.ways > 0 {
        format!(", after {} set-ups at {} stages of the part", effort.ways, effort.sets)
    } else {
        String::new()
    };
    let mut helps: Vec<String> = Vec::new();
    for help in bends.plan.blocked.iter().filter_map(|blocked| blocked.help) {
        let words = help.in_words(|mm| subject.length(mm));
        if !helps.contains(&words) {
            helps.push(words);
        }
    }
    let cure = if helps.is_empty() {
        cure.to_owned()
    } else {
        let mut first = helps.join("; ");
        first.replace_range(..1, &first[..1].to_uppercase());
        format!("{first}. Or open the shape, or make it of two pieces")
    };
    findings.push(Finding {
        severity,
        rule: "order of bends",
        feature: "the part".to_owned(),
        at: None,
        found: None,
        wanted: None,
        problem: format!("{problem}{told}{tried}"),
        cure,
        source: Source::derived("geometry of the part and of the tools' sections"),
    });
}
