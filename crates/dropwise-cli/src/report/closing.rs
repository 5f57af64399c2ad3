//! What is missing, what was proved, and what to mind.

use dropwise_formats::LoadedJob;
use dropwise_formats::plan_json::{asked_in_words, reason_in_words};
use dropwise_geometry::format_length;
use dropwise_model::{Need, Plan, Unplaced};
use dropwise_shop::{Caution, Material, Process, Undertaking};

use super::count;
use crate::ink::Ink;
use crate::shop_checks::{CautionChoice, has_drilling};
use crate::text::{cleaned, glued, wrapped};

/// What lies on no sheet, and why: first what must be made.
pub(crate) fn missing(loaded: &LoadedJob, plan: &Plan, ink: Ink) -> String {
    let mut page = String::new();
    for (need, title) in [(Need::Required, "Not placed"), (Need::Filler, "Fillers that found no room")] {
        let parts = loaded.job.parts();
        let of_need = plan.layout().unplaced.iter().filter(|unplaced| parts[unplaced.part].need == need);
        for (index, unplaced) in of_need.enumerate() {
            if index == 0 {
                let title = if need == Need::Required { ink.wrong(title) } else { ink.strong(title) };
                page.push_str(&format!("{}{title}\n", if page.is_empty() { "" } else { "\n" }));
            }
            page.push_str(&wrapped("- ", 2, &left_out(loaded, unplaced)));
        }
    }
    page
}

/// What was asked of the plan, and what became of it.
pub(super) fn asked(loaded: &LoadedJob, plan: &Plan, ink: Ink) -> String {
    let said = asked_in_words(&loaded.job, plan.layout(), loaded.unit);
    if said.is_empty() {
        return String::new();
    }
    let lines: String = said.iter().map(|text| wrapped("- ", 2, &format!("{}.", cleaned(text)))).collect();
    format!("{}\n{lines}", ink.strong("As asked"))
}

/// How many of which part lie on no sheet, and why.
pub(crate) fn left_out(loaded: &LoadedJob, unplaced: &Unplaced) -> String {
    let part = &loaded.job.parts()[unplaced.part];
    let reason = cleaned(&reason_in_words(&unplaced.reason, &loaded.job, loaded.unit));
    format!("{} of {} {}: {reason}", unplaced.count, part.quantity, cleaned(&part.name))
}

/// What the certificate says, and how to find the plan again.
pub(super) fn proof(loaded: &LoadedJob, plan: &Plan) -> String {
    let (certificate, provenance) = (plan.certificate(), plan.provenance());
    let length = |millimetres| glued(&format_length(millimetres, loaded.unit));
    let mut text = format!(
        "Proved: {} inside the sheets, {} apart",
        count(certificate.parts_checked(), "part lies", "parts lie"),
        count(certificate.pairs_checked(), "pair of parts lies", "pairs of parts lie"),
    );
    if let Some(distance) = certificate.least_to_edge() {
        text.push_str(&format!("; at least {} to every edge", length(distance)));
    }
    if let Some(distance) = certificate.least_between_parts() {
        text.push_str(&format!(", {} between parts", length(distance)));
    }
    let rounds = count(usize::try_from(provenance.rounds).unwrap_or(usize::MAX), "round", "rounds");
    text.push_str(&format!(". Found with seed {} in {rounds} of search.", provenance.seed));
    wrapped("", 0, &text)
}

/// What can hurt in making a plan.
pub(crate) fn caution_list(loaded: &LoadedJob, plan: &Plan) -> Vec<Caution> {
    let materials: Vec<Material> = plan.layout().sheets.iter().map(|used| loaded.sheets[used.sheet].material).collect();
    let processes: Vec<Process> = loaded.process.into_iter().collect();
    let placed = || plan.figures().parts.iter().zip(&loaded.parts).filter(|(figures, _)| figures.placed > 0);
    let undertaking = Undertaking {
        materials: &materials,
        processes: &processes,
        has_drilling: placed().any(|(_, detail)| has_drilling(loaded, detail)),
        has_bending: placed().any(|(_, detail)| detail.work.bends > 0),
        heaviest: plan.figures().heaviest_sheet(),
    };
    dropwise_shop::cautions(&undertaking)
}

/// What can hurt, at the end so that it is read last.
pub(crate) fn cautions(loaded: &LoadedJob, plan: &Plan, choice: CautionChoice, ink: Ink) -> String {
    choice.told("Mind before you cut", &caution_list(loaded, plan), ink)
}
