//! The report page: one HTML file for bench, phone and printer.

mod cards;
mod figures;
mod html;
mod settings;
mod sheet;

use dropwise_model::{Job, Plan};
use dropwise_shop::PartFrame;

pub use figures::plan_tables;
pub use settings::ReportSettings;

use self::html::{Html, safe};
use crate::details::BendLine;
use crate::drawing::text::clean;
use crate::drawing::{DrawingStyle, draw_overview_alone};
use crate::tables::{PaperColumn, PaperTable};

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");

/// The report of a plan as one HTML file: figures, cost per part, and for each sheet its picture, what to mark, drill,
/// cut and bend with boxes to tick, and its parts row by row; then tables of bends and the cautions.
///
/// The file fetches nothing and works without scripts: pictures are inline, their size is chosen with radio buttons, a
/// part and its row lead to and light up each other by links. The script within adds lighting up under the pointer, and
/// keeps ticks on the device. Colours follow the reader's choice of light or dark; pictures stay on white, as on
/// paper. Printed are overview, figures, cost, findings and cautions; a box at its head adds the sheets and the bends, for
/// which there are cut sheets and bend cards otherwise. The text is well-formed XML. The same plan makes the same page.
///
/// # Panics
/// If the plan was made for another job.
#[must_use]
pub fn write_report(job: &Job, plan: &Plan, settings: &ReportSettings<'_>) -> String {
    let name = if safe(settings.job_name).is_empty() { "Plan" } else { settings.job_name };
    let mut html = Html::default();
    let count = plan.layout().sheets.len();
    html.raw("<header>");
    html.text("h1", name);
    if !settings.plan_number.is_empty() {
        html.text("p", &format!("Plan {}", settings.plan_number));
    }
    figures::unplaced(&mut html, job, plan, settings);
    let mut contents = vec![("#figures".to_owned(), "Figures".to_owned()), ("#parts".to_owned(), "Cost".to_owned())];
    contents.extend((1..=count).map(|number| (format!("#sheet-{number}"), format!("Sheet {number}"))));
    if !settings.bends.is_empty() {
        contents.push(("#bends".to_owned(), "Bends".to_owned()));
    }
    if !settings.findings.is_empty() {
        contents.push(("#checks".to_owned(), "Checks".to_owned()));
    }
    if !settings.cautions.is_empty() {
        contents.push(("#cautions".to_owned(), "Cautions".to_owned()));
    }
    html.raw(r#"<nav aria-label="On this page"><ul>"#);
    for (target, words) in contents {
        html.raw(&format!(r#"<li><a href="{target}">{words}</a></li>"#));
    }
    html.raw("</ul></nav>");
    if count > 0 {
        html.raw(concat!(
            r#"<p class="choice"><label for="print-all"><input type="checkbox" id="print-all"/> "#,
            "print the sheets and bend cards too</label></p>"
        ));
        html.text(
            r#"p class="printed short""#,
            "Sheets: see cut-sheets.pdf. Bent parts: see bend-cards.pdf. Points to mark: see mark-out.pdf.",
        );
    }
    html.raw("</header><main>");
    if count > 0 {
        let style = DrawingStyle {
            unit: settings.lengths.unit,
            paper_width: sheet::PICTURE,
            id_prefix: "all".to_owned(),
            ..DrawingStyle::default()
        };
        html.raw(r#"<div class="overview">"#);
        html.raw(&draw_overview_alone(job, plan, &style));
        html.raw("</div>");
    }
    html.raw(r#"<section id="figures" aria-labelledby="figures-name">"#);
    html.text(r#"h2 id="figures-name""#, "The plan in figures");
    figures::plan(&mut html, plan, settings);
    html.raw("</section>");
    html.raw(r#"<section id="parts" aria-labelledby="parts-name">"#);
    html.text(r#"h2 id="parts-name""#, "Cost per part");
    figures::parts(&mut html, job, plan, settings);
    html.raw("</section>");
    for index in 0..count {
        sheet::section(&mut html, job, plan, index, settings);
    }
    bends(&mut html, job, settings);
    cards::findings(&mut html, job, settings);
    for table in settings.closing {
        html.raw("<details>");
        html.text("summary", &table.title);
        html.table(table, 0);
        html.raw("</details>");
    }
    cautions(&mut html, settings);
    html.raw("</main>");

    let body = html.out;
    let (title, plan_name) = (safe(name), fingerprint(&body));
    let foot = printed_foot(name, settings.plan_number);
    let mut page = String::with_capacity(body.len() + STYLE.len() + SCRIPT.len() + 1024);
    page.push_str("<!DOCTYPE html>\n");
    page.push_str(&format!(r#"<html xmlns="http://www.w3.org/1999/xhtml" lang="en" data-plan="{plan_name:016x}">"#));
    page.push_str("\n<head>\n<meta charset=\"utf-8\"/>\n");
    page.push_str("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n");
    // An empty icon, so that no browser asks for one.
    page.push_str("<link rel=\"icon\" href=\"data:,\"/>\n");
    page.push_str(&format!(
        "<title>{title}: nest report</title>\n<style>\n{STYLE}{foot}</style>\n</head>\n<body>\n{body}"
    ));
    page.push_str(&format!("<script>\n{SCRIPT}</script>\n</body>\n</html>\n"));
    page
}

/// Letters of the job's name at the foot of a printed page.
const MOST_OF_NAME: usize = 60;

/// The style rule by which each printed page bears the job, the plan and its number.
///
/// # Source
/// Boxes in the margin of a page, and the counters `page` and `pages`: CSS Paged Media, level 3. Characters by six
/// hexadecimal digits: CSS Syntax, level 3.
fn printed_foot(name: &str, plan_number: &str) -> String {
    let plan = if plan_number.is_empty() { String::new() } else { format!(" · plan {}", clean(plan_number)) };
    let text = |c: char| match c {
        c if c.is_ascii_alphanumeric() || " ,.-".contains(c) => c.to_string(),
        c => format!("\\{:06x}", u32::from(c)),
    };
    let name = clean(name);
    // A long name gives way, the plan's number never.
    let short: String = name.chars().take(MOST_OF_NAME).collect();
    let cut_off = if short.len() < name.len() { "…" } else { "" };
    let words: String = format!("{short}{cut_off}{plan} · page ").chars().map(text).collect();
    format!(
        "@page {{ @bottom-right {{ content: \"{words}\" counter(page) \" of \" counter(pages); font: 8pt Arial, Helvetica, \
         sans-serif; }} }}\n"
    )
}

/// A number that tells plans apart, so that ticks of one are not shown on another.
///
/// # Source
/// FNV-1a, 64 bit: Fowler, Noll and Vo; constants from memory.
fn fingerprint(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

/// A table of bends for each part that has any.
fn bends(html: &mut Html, job: &Job, settings: &ReportSettings<'_>) {
    if settings.bends.is_empty() {
        return;
    }
    html.raw(r#"<section class="leaf" id="bends" aria-labelledby="bends-name">"#);
    html.text(r#"h2 id="bends-name""#, "Bends");
    cards::cards(html, settings);
    // On the card all is said that the brake needs.
    html.raw("<details>");
    html.text("summary", "Bend lines and allowances in figures");
    html.text("p", &format!("Places of bend lines are measured {}.", PartFrame::IN_WORDS));
    for (index, part) in job.parts().iter().enumerate() {
        let lengths = settings.lengths;
        let frame = PartFrame::of(&part.shape);
        let row = |bend: &BendLine| {
            let (from, to) = (frame.read(bend.from), frame.read(bend.to));
            let turn = format!("{:.1}", bend.turn_deg);
            vec![
                bend.name.clone(),
                format!("{}, {}°", if bend.is_up { "up" } else { "down" }, turn.strip_suffix(".0").unwrap_or(&turn)),
                lengths.with_unit(bend.inside_radius),
                format!("{}, {}", lengths.bare(from.x), lengths.bare(from.y)),
                format!("{}, {}", lengths.bare(to.x), lengths.bare(to.y)),
                bend.note.clone(),
            ]
        };
        let rows: Vec<Vec<String>> = settings.bends.iter().filter(|bend| bend.part == index).map(row).collect();
        if rows.is_empty() {
            continue;
        }
        let unit = lengths.unit_in_words();
        let columns = vec![
            PaperColumn::words("bend"),
            PaperColumn::words("which way"),
            PaperColumn::numbers("inside radius"),
            PaperColumn::numbers(&format!("from, {unit}")),
            PaperColumn::numbers(&format!("to, {unit}")),
            PaperColumn::words("note"),
        ];
        html.text("h3", &part.name);
        let title = format!("Bends of {}", part.name);
        html.table(&PaperTable { title, columns, rows, has_boxes: true, ..PaperTable::default() }, 0);
    }
    html.raw("</details>");
    html.raw("</section>");
}

fn cautions(html: &mut Html, settings: &ReportSettings<'_>) {
    if settings.cautions.is_empty() {
        return;
    }
    html.raw(r#"<section class="leaf" id="cautions" aria-labelledby="cautions-name">"#);
    html.text(r#"h2 id="cautions-name""#, "Cautions");
    html.raw(r#"<ul class="cautions">"#);
    for caution in settings.cautions {
        html.raw(&format!(
            r#"<li><strong>{}</strong>: {}. <span class="who">[{}]</span></li>"#,
            safe(caution.topic),
            safe(caution.text),
            safe(&caution.authority.to_string())
        ));
    }
    html.raw("</ul></section>");
}
