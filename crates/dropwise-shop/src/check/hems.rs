//! Hems: whether the metal may be folded flat, whether the return is long enough to fold, and whether the press closes it.

use dropwise_geometry::{Point, Shape, Side, Vector};

use super::bent::middle;
use super::flat::SLACK;
use super::{Amount, BentSubject, Finding, Severity, Subject};
use crate::bend::{
    FLANGE_SOURCE, FoldsFlat, HEM_FORCE_SOURCE, HEM_FORCES, HemKind, LEAST_RETURN, LEAST_RETURN_SOURCE, NARROWEST_DIE,
    THICKEST_HEMMED, THICKEST_HEMMED_SOURCE, folds_flat, least_hem_return, tensile_strength,
};
use crate::bend_plan::{Order, as_mild_steel};
use crate::fold::FlatBend;
use crate::shop::Shop;
use crate::source::Source;

/// Distances between hems, curls and other bends, and the widest gap of an open hem: a secondary copy of the guide.
const GUIDE: Source = Source::confirmed("Sheet metal design guidelines");
const TEARDROP: Source = Source::from_memory("inside diameter of a teardrop at least T");

/// From a hem to an inside bend of the same face: so many thicknesses and both radii.
const HEM_TO_BEND: f64 = 5.0;
/// From a curl (a teardrop here, which is rolled as well) to an inside bend: so many thicknesses and the curl's radius.
const CURL_TO_INSIDE_BEND: f64 = 6.0;
/// The same to a bend the other way.
const CURL_TO_OUTSIDE_BEND: f64 = 9.0;
/// The thickest mild steel that a mallet, or the bar of a leaf brake, closes to a hem, mm. Common practice, no source.
const PRESSED_BY_HAND: f64 = 1.0;
/// Sheet sold as 2 mm or as 14 ga may be a little thicker than 2.0, mm.
const SOLD_AS: f64 = 0.05;

/// One hem of the part.
struct Hem<'a> {
    bend: &'a FlatBend,
    kind: HemKind,
    name: String,
    thickness: f64,
}

pub(super) fn check(subject: &Subject<'_>, bends: &BentSubject<'_>, shop: &Shop) -> Vec<Finding> {
    let mut findings = Vec::new();
    for bend in &bends.unfolding.bends {
        let Some(kind) = HemKind::of(&bend.figures.bend) else { continue };
        let name = format!("the {kind} \"{}\"", bends.unfolding.faces[bend.face].name);
        let hem = Hem { bend, kind, name, thickness: subject.thickness };
        hem.metal(bends, &mut findings);
        hem.thick(&mut findings);
        hem.gap(&mut findings);
        hem.length_of_return(subject, bends, shop, &mut findings);
        hem.force(subject, bends, shop, &mut findings);
        hem.holes_under(subject, bends, &mut findings);
        hem.next_bend(bends, &mut findings);
    }
    findings
}

impl Hem<'_> {
    fn add(
        &self,
        findings: &mut Vec<Finding>,
        (severity, rule): (Severity, &'static str),
        problem: impl Into<String>,
        cure: impl Into<String>,
        (found, wanted): (f64, f64),
        source: Source,
    ) {
        findings.push(Finding {
            severity,
            rule,
            feature: self.name.clone(),
            at: Some(middle(self.bend)),
            found: Some(Amount::Length(found)),
            wanted: Some(Amount::Length(wanted)),
            problem: problem.into(),
            cure: cure.into(),
            source,
        });
    }

    /// Metals that crack when they are folded flat, or tighter than they stand.
    fn metal(&self, bends: &BentSubject<'_>, findings: &mut Vec<Finding>) {
        let radius = self.bend.figures.bend.radius();
        let grade = bends.grade;
        let teardrop = "Make it a teardrop of that inside radius, take a softer temper, or leave the edge plain";
        match folds_flat(grade, self.thickness) {
            FoldsFlat::Yes => {}
            FoldsFlat::No { least, source } if radius < least - SLACK => {
                let problem = format!("is folded tighter than {grade} of this thickness stands");
                self.add(findings, (Severity::Stop, "metal of a hem"), problem, teardrop, (radius, least), source);
            }
            FoldsFlat::No { .. } => {}
            FoldsFlat::Doubtful(source) if self.kind == HemKind::Closed => findings.push(Finding {
                severity: Severity::Note,
                rule: "metal of a hem",
                feature: self.name.clone(),
                at: Some(middle(self.bend)),
                found: Some(Amount::Length(radius)),
                wanted: None,
                problem: format!("is of {grade}, whose closed hems tend to break at the fold"),
                cure: "Fold a strip first, or make it a teardrop".to_owned(),
                source,
            }),
            FoldsFlat::Doubtful(_) => {}
            FoldsFlat::Unknown => findings.push(Finding {
                severity: Severity::Warn,
                rule: "metal of a hem",
                feature: self.name.clone(),
                at: Some(middle(self.bend)),
                found: Some(Amount::Length(radius)),
                wanted: None,
                problem: format!("is of {grade}, for which no least radius is published"),
                cure: "Fold a strip first".to_owned(),
                source: Source::COMMON_PRACTICE,
            }),
        }
    }

    /// Sheet thicker than hemming tools close, or than anybody published a force for.
    fn thick(&self, findings: &mut Vec<Finding>) {
        if self.kind == HemKind::Teardrop {
            return;
        }
        let last = HEM_FORCES[HEM_FORCES.len() - 1].0;
        let cure = "Hem thinner sheet, roll a teardrop, or bend a flange and dress its edge";
        let thickness = self.thickness;
        if thickness > last + SLACK {
            let problem = "is in sheet thicker than anything that is hemmed";
            let numbers = (thickness, last);
            self.add(findings, (Severity::Stop, "thickness of a hem"), problem, cure, numbers, HEM_FORCE_SOURCE);
        } else if thickness > THICKEST_HEMMED + SOLD_AS {
            let problem = "is in sheet thicker than hemming tools close";
            let numbers = (thickness, THICKEST_HEMMED);
            self.add(findings, (Severity::Warn, "thickness of a hem"), problem, cure, numbers, THICKEST_HEMMED_SOURCE);
        }
    }

    fn gap(&self, findings: &mut Vec<Finding>) {
        let inside = 2.0 * self.bend.figures.bend.radius();
        match self.kind {
            HemKind::Open if inside > self.thickness + SLACK => {
                let problem = "has a gap wider than the sheet is thick and does not stay round";
                let cure = "Make the gap as wide as the sheet is thick, or roll a teardrop";
                let numbers = (inside, self.thickness);
                self.add(findings, (Severity::Note, "gap of a hem"), problem, cure, numbers, GUIDE);
            }
            HemKind::Teardrop if inside < self.thickness - SLACK => {
                let problem = "has a loop narrower than the sheet is thick";
                let cure = "Make its inside radius at least half the thickness";
                let numbers = (inside, self.thickness);
                self.add(findings, (Severity::Warn, "loop of a teardrop"), problem, cure, numbers, TEARDROP);
            }
            _ => {}
        }
    }

    /// The return, over the outside of the fold, against what the first, acute bend holds and against the published least.
    fn length_of_return(
        &self,
        subject: &Subject<'_>,
        bends: &BentSubject<'_>,
        shop: &Shop,
        findings: &mut Vec<Finding>,
    ) {
        let figures = &self.bend.figures;
        let face = &bends.unfolding.faces[self.bend.face].region;
        let found = reach(face, self.bend.end[0], self.away()) + figures.tangent_setback;
        // What a bender takes hold of instead of a die is told with its order of bends.
        let is_by_hand = bends.plan.order != Order::Found && !bends.by_hand.is_empty();
        let dies = shop.brake.iter().filter(|_| !is_by_hand).flat_map(|brake| &brake.dies);
        let narrowest = dies
            .map(|die| die.opening)
            .filter(|opening| *opening >= NARROWEST_DIE * self.thickness - SLACK)
            .min_by(f64::total_cmp);
        let rule = "return of a hem";
        if let Some(opening) = narrowest {
            let (best, works) = least_hem_return(opening);
            let die = subject.length(opening);
            let cure = format!(
                "Make it longer, or fold it longer and trim it; the narrowest die for this thickness is the one of {die}"
            );
            if found < works - SLACK {
                let problem = "is shorter than the die holds at the first, acute bend";
                self.add(findings, (Severity::Stop, rule), problem, cure, (found, works), FLANGE_SOURCE);
                return;
            }
            if found < best - SLACK {
                let problem = "is shorter than the die holds at an opening of 30°, and folds to 45° only";
                self.add(findings, (Severity::Warn, rule), problem, cure, (found, best), FLANGE_SOURCE);
                return;
            }
        }
        let wanted = LEAST_RETURN * self.thickness;
        if found < wanted - SLACK {
            let problem = "is shorter than is published for a hem";
            let cure = "Make it longer; ten thicknesses are easy to fold";
            self.add(findings, (Severity::Warn, rule), problem, cure, (found, wanted), LEAST_RETURN_SOURCE);
        }
    }

    /// What presses it: the stronger of the press brakes; where there is none, a mallet or the bar of a bender.
    fn force(&self, subject: &Subject<'_>, bends: &BentSubject<'_>, shop: &Shop, findings: &mut Vec<Finding>) {
        let presses = shop.brake.iter().chain(&shop.shop_press);
        let Some(press) = presses.max_by(|a, b| a.force.total_cmp(&b.force)) else {
            self.pressed_by_hand(bends, findings);
            return;
        };
        let Some(by_metre) = self.kind.force(bends.grade, self.thickness) else { return };
        let force = by_metre * self.bend.length() / 1000.0;
        if force <= press.force + SLACK {
            return;
        }
        let at_once = subject.length((press.force / by_metre * 1000.0).floor());
        let gentler = if self.kind == HemKind::Closed { ", or make it an open hem or a teardrop" } else { "" };
        // The table is of steel: another metal takes its share of the strength, which may be a remembered one.
        let strength = tensile_strength(bends.grade).source;
        let is_known = press.sources.force.is_known() && strength.is_known();
        findings.push(Finding {
            severity: if is_known { Severity::Stop } else { Severity::Warn },
            rule: "force to press a hem",
            feature: self.name.clone(),
            at: Some(middle(self.bend)),
            found: Some(Amount::Force(force)),
            wanted: Some(Amount::Force(press.force)),
            problem: format!("needs more force to press than the {} has", press.name),
            cure: format!("The {} presses at most {at_once} at once: shorten the hem{gentler}", press.name),
            source: HEM_FORCE_SOURCE,
        });
    }

    /// A hem that no press closes: thin sheet goes under the bar or the mallet.
    fn pressed_by_hand(&self, bends: &BentSubject<'_>, findings: &mut Vec<Finding>) {
        if bends.by_hand.is_empty() || self.kind == HemKind::Teardrop {
            return;
        }
        let found = as_mild_steel(self.thickness, bends.grade);
        if found > PRESSED_BY_HAND + SLACK {
            let problem =
                "is to be pressed flat, and the shop has no press: by mallet or under the bar thinner sheet closes";
            let cure = "Roll a teardrop, fold thinner sheet, or have it pressed in a shop press; other metals count as the mild \
                        steel that takes as much force";
            let numbers = (found, PRESSED_BY_HAND);
            let rule = (Severity::Warn, "pressing a hem by hand");
            self.add(findings, rule, problem, cure, numbers, Source::COMMON_PRACTICE);
        }
    }

    /// Holes of the face below that the return lies on when it is folded.
    fn holes_under(&self, subject: &Subject<'_>, bends: &BentSubject<'_>, findings: &mut Vec<Finding>) {
        let leaf = &bends.unfolding.faces[self.bend.face].region;
        let parent = &bends.unfolding.faces[self.bend.parent].region;
        let (away, start, end) = (self.away(), self.bend.start[0], self.bend.end[0]);
        // A point so far in front of the line where the bend begins lies under the one as far beyond where it ends.
        let above = |point: Point| {
            let depth = -away.dot(point - start);
            let along = point - start + away * depth;
            end + along + away * depth
        };
        for hole in parent.holes() {
            let ring = hole.flatten(0.05, Side::Grow);
            let covers = |point: Point| away.dot(point - start) < 0.0 && leaf.contains(above(point));
            if !ring.iter().any(|&point| covers(point)) && !covers(hole.bounds().center()) {
                continue;
            }
            findings.push(Finding {
                severity: Severity::Warn,
                rule: "hole under a hem",
                feature: super::names::hole(subject, hole),
                at: Some(hole.bounds().center()),
                found: None,
                wanted: Some(Amount::Length(reach(leaf, end, away))),
                problem: format!("is covered by {} when that is folded; clear of the fold", self.name),
                cure: "Move it out from under the return, make the return shorter, or cut the same hole in the return"
                    .to_owned(),
                source: Source::derived("geometry of the fold"),
            });
        }
    }

    /// Other bends of the same face, parallel to the hem.
    fn next_bend(&self, bends: &BentSubject<'_>, findings: &mut Vec<Finding>) {
        let away = self.away();
        for other in &bends.unfolding.bends {
            let line = if other.parent == self.bend.parent {
                other.start
            } else if other.face == self.bend.parent {
                other.end
            } else {
                continue;
            };
            let along = line[1] - line[0];
            if std::ptr::eq(other, self.bend) || along.dot(away).abs() > 1e-6 * along.length() {
                continue;
            }
            let found = -away.dot(line[0] - self.bend.start[0]);
            let is_inside = other.direction == self.bend.direction;
            let (own, radius) = (self.bend.figures.bend.radius(), other.figures.bend.radius());
            let wanted = match (self.kind, is_inside) {
                (HemKind::Teardrop, true) => CURL_TO_INSIDE_BEND * self.thickness + own,
                (HemKind::Teardrop, false) => CURL_TO_OUTSIDE_BEND * self.thickness + own,
                (_, true) => HEM_TO_BEND * self.thickness + radius + own,
                (_, false) => continue,
            };
            if found > SLACK && found < wanted - SLACK {
                let name = &bends.unfolding.faces[other.face].name;
                let problem = format!("is near to the bend of face \"{name}\"");
                let cure = "Make the face between them longer";
                self.add(findings, (Severity::Warn, "hem to bend"), problem, cure, (found, wanted), GUIDE);
            }
        }
    }

    /// The direction on the flat from the face below to the return.
    fn away(&self) -> Vector {
        away(self.bend)
    }
}

/// The direction on the flat from the parent over a bend.
pub(super) fn away(bend: &FlatBend) -> Vector {
    let along = (bend.start[1] - bend.start[0]).unit().unwrap_or(Vector::new(1.0, 0.0));
    -along.left()
}

/// How far a shape reaches from a point in a direction, mm.
pub(super) fn reach(shape: &Shape, from: Point, direction: Vector) -> f64 {
    let points = shape.exterior().flatten(0.01, Side::Grow);
    points.into_iter().map(|point| direction.dot(point - from)).fold(0.0, f64::max)
}
