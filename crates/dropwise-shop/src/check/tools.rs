//! What no tool of the shop makes: asked of the same place that decides in the cut plan, before anything is nested.

use std::collections::BTreeMap;

use dropwise_geometry::{Outline, Point, Segment};

use super::flat::SLACK;
use super::{Amount, Finding, HoleWork, Severity, Subject};
use crate::bend::drills::HoleTool;
use crate::cutplan::{Manner, ShopTools};
use crate::markout::{HoleMethod, RoundPunch, THINNEST_PUNCH_SOURCE, full_circle};
use crate::shop::{OWN_FIGURE, Shop};
use crate::source::Source;

/// A punched hole in proportion to the thickness, and what is added, mm; and the least of all, mm: the larger counts.
///
/// # Source
/// "Sheet Metal Design Guidelines 98-053007": 1.2 T + 0.008 in, or 0.048 in.
pub(super) const PUNCHED: (f64, f64, f64) = (1.2, 0.008 * 25.4, 0.048 * 25.4);
const PUNCHED_SOURCE: Source = Source::confirmed("Sheet Metal Design Guidelines 98-053007");

/// A hole of any kind is no smaller than this, mm, and than the sheet is thick.
const SMALLEST_HOLE: f64 = 1.0;
const SMALLEST_SOURCE: Source = Source::confirmed("Holes");

/// A drill thinner than this share of the thickness wanders and breaks. Common practice, no source.
const THIN_DRILL: f64 = 1.0 / 3.0;

/// Height of a full thread of 60° as a share of its pitch, 3/4 of 0.866, of which the percentages of tap-drill charts are told;
/// and the least share that a tapped hole keeps. Common practice, no source: 75 % is usual, and under 60 % screws strip.
const THREAD_HEIGHT: f64 = 0.649_52;
const LEAST_THREAD: f64 = 0.60;

/// A hole saw needs so much metal around it, mm.
const SAW_RIM: f64 = 3.0;
const SAW_RIM_SOURCE: Source = Source::from_memory("rim around a hole saw");

pub(super) fn check(subject: &Subject<'_>, shop: &Shop) -> Vec<Finding> {
    let all = shop.tools.for_job(subject.process);
    let tools = all.in_sheet(subject.thickness);
    let mut findings = Vec::new();
    for (index, outline) in subject.shape.rings().enumerate() {
        match full_circle(outline, 1e-3).filter(|_| index > 0) {
            Some(circle) => {
                let method = HoleMethod::choose(2.0 * circle.radius, &tools.holes);
                let hole = RoundHole { subject, outline, diameter: 2.0 * circle.radius, at: circle.center };
                hole.check(method, &all, &tools, &mut findings);
            }
            None => ring(subject, &tools, outline, index > 0, &mut findings),
        }
    }
    findings
}

/// A round hole and what makes it.
struct RoundHole<'a> {
    subject: &'a Subject<'a>,
    outline: &'a Outline,
    diameter: f64,
    at: Point,
}

impl RoundHole<'_> {
    fn check(&self, method: HoleMethod, all: &ShopTools, tools: &ShopTools, findings: &mut Vec<Finding>) {
        let thickness = self.subject.thickness;
        let is_cut = tools.side(&self.outline.segments().next().unwrap_or(NO_SIDE), true).0.is_some();
        match method {
            HoleMethod::ToTheLine if is_cut => {}
            HoleMethod::ToTheLine => findings.push(self.without_tool(all, tools)),
            HoleMethod::Punch(_) => {
                let (share, added, least) = PUNCHED;
                let wanted = (share * thickness + added).max(least);
                if self.diameter < wanted - SLACK {
                    let problem = "is punched smaller than is published for this thickness: punches break";
                    let cure = "Drill it, or make it larger";
                    findings.push(self.told(Severity::Warn, "punched hole", problem, cure, wanted, PUNCHED_SOURCE));
                }
            }
            HoleMethod::Tool(size) if size.tool == HoleTool::Drill => {
                let wanted = thickness.max(SMALLEST_HOLE);
                // What pierces it with a beam has rules of its own.
                if self.diameter < wanted - SLACK && !is_cut {
                    let is_thin = self.diameter < (THIN_DRILL * thickness).max(SMALLEST_HOLE) - SLACK;
                    let severity = if is_thin { Severity::Warn } else { Severity::Note };
                    let problem = "is drilled smaller than the sheet is thick: thin drills wander and break";
                    let cure = "Centre punch it, drill it slowly with oil and lift often, or make it larger";
                    findings.push(self.told(severity, "drilled hole", problem, cure, wanted, SMALLEST_SOURCE));
                }
            }
            HoleMethod::Tool(_) => self.rim(findings),
        }
        if let HoleMethod::Tool(size) = method {
            findings.extend(self.too_wide_for_its_tap(size.size.diameter()));
        }
    }

    /// A hole for a thread whose nearest drill is wider than the tap wants: what is left of the thread strips.
    fn too_wide_for_its_tap(&self, drill: f64) -> Option<Finding> {
        let tapped = self.subject.worked_holes.iter().find(|hole| hole.center.distance(self.at) < 1e-3)?;
        let HoleWork::Tapped { major, pitch } = tapped.work else { return None };
        let share = (major - drill) / (2.0 * THREAD_HEIGHT * pitch);
        (share < LEAST_THREAD).then(|| Finding {
            found: Some(Amount::Length(drill)),
            ..self.told(
                Severity::Warn,
                "drill of a tap",
                &format!(
                    "is to be tapped, and the nearest drill leaves only {:.0} % of the thread's height",
                    (share * 100.0).max(0.0)
                ),
                &format!("Get a drill of {}", self.subject.length(self.diameter)),
                self.diameter,
                Source::COMMON_PRACTICE,
            )
        })
    }

    /// Metal around a hole saw.
    fn rim(&self, findings: &mut Vec<Finding>) {
        let edge = dropwise_geometry::Boundary::new([self.subject.shape.exterior()]);
        let found = edge.distance_to_point(self.at) - self.diameter / 2.0;
        // Nearer than the sheet is thick is told of any hole.
        if found < SAW_RIM - SLACK && found >= self.subject.thickness - SLACK {
            findings.push(Finding {
                found: Some(Amount::Length(found)),
                ..self.told(
                    Severity::Warn,
                    "rim of a hole saw",
                    "is made with a hole saw and leaves a thin rim to the edge, where the teeth catch",
                    "Move it in from the edge, or saw it before the edge is cut",
                    SAW_RIM,
                    SAW_RIM_SOURCE,
                )
            });
        }
    }

    fn told(
        &self,
        severity: Severity,
        rule: &'static str,
        problem: &str,
        cure: &str,
        wanted: f64,
        source: Source,
    ) -> Finding {
        Finding {
            severity,
            rule,
            feature: super::names::hole(self.subject, self.outline),
            at: Some(self.at),
            found: Some(Amount::Length(self.diameter)),
            wanted: Some(Amount::Length(wanted)),
            problem: problem.to_owned(),
            cure: cure.to_owned(),
            source,
        }
    }

    fn without_tool(&self, all: &ShopTools, tools: &ShopTools) -> Finding {
        let subject = self.subject;
        if let HoleMethod::Punch(size) = HoleMethod::choose(self.diameter, &all.holes) {
            let punch = all.holes.punches.iter().find(|punch| (punch.diameter - size).abs() < SLACK);
            let limit = punch.copied().unwrap_or(RoundPunch::of(size)).limit();
            let source =
                if punch.is_some_and(|punch| punch.thickest.is_some()) { OWN_FIGURE } else { THINNEST_PUNCH_SOURCE };
            return Finding {
                found: Some(Amount::Length(subject.thickness)),
                ..self.told(
                    Severity::Stop,
                    "thickest sheet of a punch",
                    &format!(
                        "is to be made with the {} punch, which does not go through this sheet",
                        subject.length(size)
                    ),
                    &format!("Get a drill of {}, or make the hole as wide as the sheet is thick", subject.length(size)),
                    limit,
                    source,
                )
            };
        }
        let near: Vec<String> =
            tools.holes.nearest(self.diameter).into_iter().flatten().map(tool_of(subject)).collect();
        let (problem, cure) = if near.is_empty() {
            let cure = "List drills, hole saws and punches in the shop file, or have it cut elsewhere".to_owned();
            ("is made by no tool of the shop, which has neither drills nor hole saws".to_owned(), cure)
        } else {
            let near = near.join(" and the ");
            (
                format!("is made by no tool of the shop; nearest are the {near}"),
                format!(
                    "Change it to a size that is owned (the {near}), or get a tool of its size; chain-drilled and filed it takes long"
                ),
            )
        };
        Finding {
            wanted: None,
            ..self.told(severity_of(tools), "hole that no tool makes", &problem, &cure, 0.0, source_of(tools))
        }
    }
}

const NO_SIDE: Segment = Segment::Line { start: Point::ORIGIN, end: Point::ORIGIN };

/// A size owned, in the job's unit where the tool has no name of its own.
fn tool_of<'a>(subject: &'a Subject<'a>) -> impl Fn((f64, HoleMethod)) -> String + 'a {
    |(size, method)| match method {
        HoleMethod::Punch(_) => format!("{} punch", subject.length(size)),
        other => other.to_string(),
    }
}

/// The usual shop is a guess and only warns.
fn severity_of(tools: &ShopTools) -> Severity {
    if tools.source == OWN_FIGURE { Severity::Stop } else { Severity::Warn }
}

fn source_of(tools: &ShopTools) -> Source {
    tools.source
}

/// Sides of an outline or opening that nothing cuts: one finding for each kind of side.
fn ring(subject: &Subject<'_>, tools: &ShopTools, outline: &Outline, is_inner: bool, findings: &mut Vec<Finding>) {
    let where_is = if is_inner { super::names::hole(subject, outline) } else { "the outline".to_owned() };
    // By kind of side: how many, and the first of them.
    let mut undone: BTreeMap<&'static str, (usize, Point, f64)> = BTreeMap::new();
    for side in outline.segments().filter(|side| side.length() > SLACK) {
        let (kind, size) = match &side {
            Segment::Line { .. } if !is_inner && tools.shear.is_some() => continue,
            Segment::Line { .. } => ("straight side", side.length()),
            Segment::Arc { arc, .. } if arc.sweep > 0.0 => ("outside curve", arc.radius),
            // Inside curves that a drill or hole saw makes; others are told with the corners.
            Segment::Arc { .. } => continue,
        };
        if tools.side(&side, is_inner).0.is_none() {
            let entry = undone.entry(kind).or_insert((0, side.at(0.5), size));
            entry.0 += 1;
        }
    }
    for (kind, (count, at, size)) in undone {
        let sides = if count == 1 { format!("a {kind}") } else { format!("{count} {kind}s") };
        findings.push(Finding {
            severity: severity_of(tools),
            rule: "side that no tool cuts",
            feature: format!("{sides} of {where_is}").replace("a outside", "an outside"),
            at: Some(at),
            found: Some(Amount::Length(size)),
            wanted: None,
            problem: format!(
                "{} cut by no tool of the shop{}",
                if count == 1 { "is" } else { "are" },
                if is_inner { ": what it has comes in from an edge only" } else { "" }
            ),
            cure: "List a cutter that does it in the shop file, make it of round holes, or have it cut elsewhere"
                .to_owned(),
            source: source_of(tools),
        });
    }
}

/// Whether an inside curve of this radius is followed by a cutter, so that no hole need be made first.
pub(super) fn is_followed(tools: &ShopTools, side: &Segment, is_inner: bool) -> bool {
    matches!(tools.side(side, is_inner), (Some(_), Manner::Curve))
}
