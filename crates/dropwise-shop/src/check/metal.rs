//! A way of cutting against the metal: what it gives off, and what it does not cut.

use super::flat::SLACK;
use super::{Amount, Finding, Severity, Subject};
use crate::caution::{CHROMIUM_SOURCE, ZINC_SOURCE};
use crate::material::Material;
use crate::process::Process;
use crate::source::Source;

/// Oxygen cuts plate well from this on, mm.
const OXY_FUEL: f64 = 6.0;
/// Below this it melts the sheet away. From memory: acetylene cuts 3 to 12 mm by hand.
const OXY_FUEL_LEAST: f64 = 3.0;
const OXY_FUEL_SOURCE: Source = Source::confirmed("What is the best way to cut steel plate");

/// Three teeth in the cut of the finest blade, 32 to the inch, mm.
const THREE_TEETH: f64 = 3.0 * 25.4 / 32.0;
const TEETH_SOURCE: Source = Source::confirmed("Blade makers' pages: three teeth in the cut");

/// The narrowest strip that is sheared, mm: below it the hold-downs do not reach and the strip curls.
const NARROWEST_SHEARED: f64 = 12.7;
const NARROWEST_SHEARED_SOURCE: Source = Source::confirmed("Metal seller's cut limits");

pub(super) fn check(subject: &Subject<'_>) -> Vec<Finding> {
    let Some(process) = subject.process else { return Vec::new() };
    let mut findings = Vec::new();
    fume(subject, process, &mut findings);
    let mut add = |severity, rule, problem: String, cure: &str, (found, wanted): (f64, f64), source| {
        findings.push(Finding {
            found: Some(Amount::Length(found)),
            wanted: Some(Amount::Length(wanted)),
            ..whole(severity, rule, problem, cure, source)
        });
    };
    let thickness = subject.thickness;
    match process {
        Process::OxyFuel if thickness < OXY_FUEL - SLACK => {
            let severity = if thickness < OXY_FUEL_LEAST - SLACK { Severity::Warn } else { Severity::Note };
            let problem = "is thinner than oxygen cuts well".to_owned();
            let cure = "Cut it with plasma, a wheel or a saw, or stack sheets and cut them together";
            add(severity, "thinnest plate for oxy-fuel", problem, cure, (thickness, OXY_FUEL), OXY_FUEL_SOURCE);
        }
        Process::Bandsaw | Process::Jigsaw if thickness < THREE_TEETH - 0.05 => {
            let problem = format!("has less than three teeth of the finest blade in the cut of a {process}");
            let cure = "Slant the cut, or clamp the sheet between wood";
            add(Severity::Note, "teeth in the cut", problem, cure, (thickness, THREE_TEETH), TEETH_SOURCE);
        }
        Process::Shear => {
            let bounds = subject.shape.bounds();
            let narrow = bounds.width().min(bounds.height());
            if narrow < NARROWEST_SHEARED - SLACK {
                let problem = "is a strip too narrow for the shear's hold-downs".to_owned();
                let cure = "Saw it, or shear it wider and trim it another way";
                let numbers = (narrow, NARROWEST_SHEARED);
                add(Severity::Warn, "narrowest strip", problem, cure, numbers, NARROWEST_SHEARED_SOURCE);
            }
        }
        _ => {}
    }
    let is_iron = matches!(subject.material, Material::MildSteel | Material::GalvanizedSteel);
    if process == Process::OxyFuel && !is_iron {
        let cure = "Cut it with plasma, waterjet, a saw or a wheel made for the metal";
        let problem = format!("is of {}, which oxygen does not burn through", subject.material);
        let source = Source::from_memory("oxygen cuts carbon steel only");
        findings.push(whole(Severity::Warn, "metal for oxy-fuel", problem, cure, source));
    }
    findings
}

/// What must not be breathed. A laser is enclosed and extracted.
fn fume(subject: &Subject<'_>, process: Process, findings: &mut Vec<Finding>) {
    if !process.is_hot() {
        return;
    }
    let is_open = process != Process::Laser;
    match subject.material {
        Material::GalvanizedSteel | Material::Brass => {
            let severity = if is_open { Severity::Warn } else { Severity::Note };
            let problem = format!(
                "is of {}, which gives off zinc oxide fume when it is cut with {}; at most 5 mg/m³ over 8 hours is \
                 permitted",
                subject.material,
                with_article(process)
            );
            let cure = "Cut it cold (shear, saw, nibbler), or extract the fume at the cut and keep out of the plume";
            findings.push(whole(severity, "zinc fume", problem, cure, ZINC_SOURCE));
        }
        Material::Stainless304 if is_open => {
            let problem = format!(
                "is of {}, which gives off hexavalent chromium when it is cut with {}; at most 5 µg/m³ over 8 hours is \
                 permitted",
                subject.material,
                with_article(process)
            );
            let cure = "Cut it cold, or extract the fume at the cut and wear a respirator where that is not enough";
            findings.push(whole(Severity::Note, "hexavalent chromium", problem, cure, CHROMIUM_SOURCE));
        }
        _ => {}
    }
}

fn with_article(process: Process) -> String {
    match process {
        Process::Plasma | Process::OxyFuel => process.to_string(),
        other => format!("a {other}"),
    }
}

fn whole(severity: Severity, rule: &'static str, problem: String, cure: &str, source: Source) -> Finding {
    Finding {
        severity,
        rule,
        feature: "the part".to_owned(),
        at: None,
        found: None,
        wanted: None,
        problem,
        cure: cure.to_owned(),
        source,
    }
}
