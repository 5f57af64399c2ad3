//! Bent parts: the part folded and flat, its steps in order, and what the checks say.

use dropwise_model::Job;

use super::html::{Html, safe};
use super::settings::ReportSettings;
use crate::bent::{draw_card_flat, draw_folded, draw_stage};
use crate::card::BendCard;
use crate::drawing::DrawingStyle;
use crate::drawing::copies::key;

/// Width that the folded and the flat picture are drawn for, mm: two beside each other on a page.
const BESIDE: f64 = 120.0;
/// Width of the picture of a step, mm.
const STAGE: f64 = 34.0;

/// A card for each bent part.
pub(super) fn cards(html: &mut Html, settings: &ReportSettings<'_>) {
    for (index, card) in settings.cards.iter().enumerate() {
        html.raw(&format!(r#"<article class="card" id="card-{}">"#, card.part));
        html.text("h3", &format!("{} · {}: make {}", key(card.part), card.name, card.count));
        html.text("p", &format!("{}. A bend has the number of its step.", card.metal));
        let style = |letter: &str| DrawingStyle {
            unit: settings.lengths.unit,
            paper_width: BESIDE,
            id_prefix: format!("c{index}{letter}"),
            ..DrawingStyle::default()
        };
        html.raw(r#"<div class="beside">"#);
        html.raw(&draw_folded(&card.unfolding, &card.name, &style("b")));
        html.raw(&draw_card_flat(card, settings.lengths, &style("f")));
        html.raw("</div>");
        let holes: Vec<String> = card
            .hole_groups(|mm| settings.lengths.in_trade(mm))
            .iter()
            .map(|group| format!("{}: {}", group.letter, group.words))
            .collect();
        if !holes.is_empty() {
            html.text("p", &format!("Holes: {}.", holes.join("; ")));
        }
        card.warnings.iter().for_each(|warning| html.text(r#"p class="warn""#, warning));
        steps(html, card);
        html.raw("</article>");
    }
}

/// The steps, each with a box and the part after it.
fn steps(html: &mut Html, card: &BendCard) {
    html.raw(r#"<ol class="steps">"#);
    for (index, step) in card.steps.iter().enumerate() {
        let name = html.box_name();
        let title = format!("{} after step {}", card.name, step.name);
        let picture = draw_stage(&card.unfolding, &|bend| card.is_bent_after(index + 1, bend), &title, STAGE);
        html.raw(&format!(
            r#"<li><label for="{name}"><input type="checkbox" id="{name}"/><span class="stage">{picture}</span><span><strong>{} {}</strong><br/>{}<br/>{}</span></label></li>"#,
            safe(&step.name),
            safe(&step.what),
            safe(&step.gauge),
            safe(&step.set_up)
        ));
    }
    html.raw("</ol>");
}

/// What the shop checks say, part by part.
pub(super) fn findings(html: &mut Html, job: &Job, settings: &ReportSettings<'_>) {
    if settings.findings.is_empty() {
        return;
    }
    html.raw(r#"<section class="leaf" id="checks" aria-labelledby="checks-name">"#);
    html.text(r#"h2 id="checks-name""#, "What the shop checks say");
    html.raw(r#"<ul class="cautions">"#);
    // What is said of several parts is said once.
    let mut said: Vec<(&str, Vec<usize>)> = Vec::new();
    for (part, words) in settings.findings {
        match said.iter_mut().find(|(other, _)| other == words) {
            Some((_, parts)) => parts.push(*part),
            None => said.push((words, vec![*part])),
        }
    }
    for (words, parts) in said {
        let name = |&part: &usize| {
            let name = job.parts().get(part).map_or("", |part| part.name.as_str());
            format!("{} {}", key(part), name)
        };
        let names = parts.iter().map(name).collect::<Vec<_>>().join(", ");
        html.raw(&format!(r#"<li><strong>{}</strong>: {}</li>"#, safe(&names), safe(words)));
    }
    html.raw("</ul></section>");
}
