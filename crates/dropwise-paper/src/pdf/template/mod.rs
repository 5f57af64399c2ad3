//! Full-size templates: paper that is laid on the metal and punched through.

mod cover;
mod marks;
mod packed;
mod settings;
mod subject;
mod tile_page;
mod tiles;

use dropwise_geometry::{Polygon, Vector};
use dropwise_model::{Job, Plan};

pub use settings::{PrinterCorrection, TemplateError, TemplateOf, TemplateSettings};

use self::packed::packed;
use self::settings::PageForm;
use self::subject::{Marked, Subject};
use self::tiles::{Grid, Tile};
use super::document::Document;
use super::paper::{LONGEST_PAGE, Paper};
use crate::drawing::label::line_meets_box;
use crate::drawing::naming::sides;

/// How something is split over paper.
struct Split {
    subject: Subject,
    form: PageForm,
    grid: Grid,
    /// Windows that show metal; the others are not printed.
    printed: Vec<Tile>,
}

impl Split {
    /// The number of a page, counted over those that are printed, row by row; `None` for one that is not.
    ///
    /// Plain numbers: a letter and a number would read as a size of paper.
    fn number(&self, tile: Tile) -> Option<usize> {
        self.printed.iter().position(|&other| other == tile).map(|index| index + 1)
    }
}

/// A full-size template of one part, or of one sheet with all that lies on it, as PDF.
///
/// The first page holds a ruled square to check the printer by, a map of the pages and what is to be done. Then follow
/// the pages, each with its neighbours' names, chequered squares that lie on those of its neighbours, and a rule. One millimetre
/// of the part is one of paper times [`TemplateSettings::correction`], within 0.01 mm; curves are true within 4e-7 of
/// their radius. Cut lines are true at their middle. Each piece bears its name and metal; round holes their centre and
/// diameter; bends are dashed (up) or dash-dotted (down); arrows follow the grain where a part is held to it.
///
/// Pages that would show no metal are left out. A sheet of paper is turned, and on a roll the subject, where that saves
/// paper. The same plan makes the same file.
///
/// # Errors
/// All that is wrong with the settings; then what is not there, or takes too many pages.
///
/// # Panics
/// If the plan was made for another job.
pub fn write_template(
    job: &Job,
    plan: &Plan,
    of: TemplateOf,
    settings: &TemplateSettings<'_>,
) -> Result<Vec<u8>, Vec<TemplateError>> {
    let faults = settings.faults();
    if !faults.is_empty() {
        return Err(faults);
    }
    let subject = Subject::of(job, plan, of, marked(settings)).map_err(|error| vec![error])?;
    let split = split(subject, settings).map_err(|error| vec![error])?;
    let mut document = Document::new(settings.job_name, settings.plan_number);
    cover::draw(&mut document, &split, settings);
    for &tile in &split.printed {
        tile_page::draw(&mut document, &split, tile, settings);
    }
    number_pages(&mut document, settings);
    Ok(document.finish(&format!("Template: {}", split.subject.name)))
}

/// Full-size templates of several parts in one PDF with one first page: small parts share pages, larger ones are split.
/// What is said at [`write_template`] holds here too. Beside the file stands what could not be printed.
///
/// # Errors
/// All that is wrong with the settings.
///
/// # Panics
/// If the plan was made for another job.
pub fn write_templates(
    job: &Job,
    plan: &Plan,
    parts: &[usize],
    settings: &TemplateSettings<'_>,
) -> Result<(Vec<u8>, Vec<TemplateError>), Vec<TemplateError>> {
    let faults = settings.faults();
    if !faults.is_empty() {
        return Err(faults);
    }
    let marked = marked(settings);
    let upright = settings.paper.size().unwrap_or_else(|| match settings.paper {
        Paper::Roll { width } => Vector::new(width, width.min(600.0)),
        _ => unreachable!("only rolls have no size"),
    });
    let form = PageForm { size: upright, margin: settings.margin };
    let correction = Vector::new(settings.correction.across, settings.correction.upright);
    let window = Vector::new(form.window().x / correction.x, form.window().y / correction.y);
    let (shared, alone) = packed(job, parts, window);
    let (mut splits, mut refused) = (Vec::new(), Vec::new());
    for page in &shared {
        let subject = Subject::side_by_side(job, page, window, marked);
        let grid = Grid { origin: subject.bounds.min, window, overlap: settings.overlap, columns: 1, rows: 1 };
        splits.push(Split { subject, form, grid, printed: vec![Tile { column: 0, row: 0 }] });
    }
    for part in alone {
        match Subject::of(job, plan, TemplateOf::Part(part), marked).and_then(|subject| split(subject, settings)) {
            Ok(split) => splits.push(split),
            Err(error) => refused.push(error),
        }
    }
    let mut document = Document::new(settings.job_name, settings.plan_number);
    // After the first page.
    let mut next = 2;
    let mut where_is: Vec<(String, usize)> = Vec::new();
    for split in &splits {
        where_is.extend(split.subject.pieces.iter().map(|piece| (format!("{} {}", piece.key, piece.name), next)));
        next += split.printed.len();
    }
    cover::shared(&mut document, upright, settings, &where_is);
    for split in &splits {
        document.bookmark(&split.subject.pieces.iter().map(|piece| piece.name.as_str()).collect::<Vec<_>>().join(", "));
        for &tile in &split.printed {
            tile_page::draw(&mut document, split, tile, settings);
        }
    }
    number_pages(&mut document, settings);
    Ok((document.finish("Templates"), refused))
}

/// Job, plan and number of each page, beside the rule at its foot.
fn number_pages(document: &mut Document, settings: &TemplateSettings<'_>) {
    let taken = tile_page::reach_of_rule(&mut document.fonts, settings);
    document.number_pages_beside(settings.margin, Some(taken + 3.0));
}

/// What is marked on parts.
fn marked<'a>(settings: &TemplateSettings<'a>) -> Marked<'a> {
    Marked { bends: settings.bends, notes: settings.hole_notes, unit: settings.lengths.unit }
}

/// How far an outline keeps from the frame where the paper is trimmed, and from its neighbours on the page, mm.
pub(super) const CLEAR: f64 = 5.0;

/// Up to so many windows a grid is slid about, so that fewer of them show metal.
const SLID: usize = 24;

/// Where a grid lies of the room that it has to spare, across and up: in the middle first.
const SLIDES: [f64; 5] = [0.5, 0.0, 1.0, 0.25, 0.75];

/// Splits a subject the way that takes the least paper.
fn split(subject: Subject, settings: &TemplateSettings<'_>) -> Result<Split, TemplateError> {
    let metal = subject.metal();
    let correction = Vector::new(settings.correction.across, settings.correction.upright);
    let grid_of = |subject: &Subject, form: PageForm| {
        let window = form.window();
        let window = Vector::new(window.x / correction.x, window.y / correction.y);
        // Clear of the frame: what lies on it is cut in half, and taken for the frame.
        let clear = Vector::new(CLEAR, CLEAR);
        let size = Vector::new(subject.bounds.width(), subject.bounds.height()) + clear * 2.0;
        (Grid::over(subject.bounds.min - clear, size, window, settings.overlap), size)
    };
    let margin = settings.margin;
    let mut ways: Vec<(Subject, Polygon, PageForm)> = Vec::new();
    match settings.paper.size() {
        Some(size) => {
            for size in [size, Vector::new(size.y, size.x)] {
                ways.push((subject.clone(), metal.clone(), PageForm { size, margin }));
            }
        }
        None => {
            let Paper::Roll { width } = settings.paper else { unreachable!("only rolls have no size") };
            let turned = subject.turned();
            let turned_metal = turned.metal();
            for (subject, metal) in [(subject, metal), (turned, turned_metal)] {
                // A little white, so that no line of the subject falls on the frame.
                let strips = 2.0 * margin + PageForm::HEAD + PageForm::FOOT + 10.0;
                let needed = subject.bounds.height() * correction.y + strips;
                let size = Vector::new(width, needed.clamp(120.0, LONGEST_PAGE));
                ways.push((subject, metal, PageForm { size, margin }));
            }
        }
    }
    let too_many = |pages: usize, subject: &Subject| TemplateError::TooManyPages {
        name: subject.name.clone(),
        pages,
        paper: settings.paper.name(),
        most: settings.most_pages,
    };
    let mut best: Option<Split> = None;
    let mut fewest_refused: Option<TemplateError> = None;
    for (subject, metal, form) in ways {
        let (middle, size) = grid_of(&subject, form);
        // Windows without metal are counted only where counting is quick.
        let is_counted = middle.len() <= settings.most_pages.saturating_mul(8).max(64);
        let slides: &[f64] = if (2..=SLID).contains(&middle.len()) { &SLIDES } else { &SLIDES[..1] };
        let spare = middle.extent() - size;
        let mut fewest: Option<(Grid, Vec<Tile>)> = None;
        for (across, up) in slides.iter().flat_map(|&across| slides.iter().map(move |&up| (across, up))) {
            let moved = Vector::new(spare.x * (0.5 - across), spare.y * (0.5 - up));
            let grid = Grid { origin: middle.origin + moved, ..middle };
            let printed: Vec<Tile> = match is_counted {
                true => grid.tiles().filter(|&tile| shows(&metal, &grid, tile)).collect(),
                false => break,
            };
            if fewest.as_ref().is_none_or(|(_, tiles)| printed.len() < tiles.len()) {
                fewest = Some((grid, printed));
            }
        }
        let grid = fewest.as_ref().map_or(middle, |&(grid, _)| grid);
        let printed = fewest.map(|(_, printed)| printed);
        match printed {
            Some(printed) if printed.len() <= settings.most_pages => {
                let paper_used = |count: usize, form: PageForm| count as f64 * form.size.x * form.size.y;
                let is_better = best.as_ref().is_none_or(|best| {
                    paper_used(printed.len(), form) < paper_used(best.printed.len(), best.form) - 1.0
                });
                if is_better {
                    best = Some(Split { subject, form, grid, printed });
                }
            }
            other => {
                let pages = other.map_or(grid.len(), |printed| printed.len());
                let is_fewer = match &fewest_refused {
                    Some(TemplateError::TooManyPages { pages: fewest, .. }) => pages < *fewest,
                    _ => true,
                };
                if is_fewer {
                    fewest_refused = Some(too_many(pages, &subject));
                }
            }
        }
    }
    match (best, fewest_refused) {
        (Some(best), _) => Ok(best),
        (None, Some(error)) => Err(error),
        (None, None) => unreachable!("every way is taken or refused"),
    }
}

/// Whether a window shows any of the metal.
fn shows(metal: &Polygon, grid: &Grid, tile: Tile) -> bool {
    if grid.len() == 1 {
        return true;
    }
    // What only touches the edge of the window is not shown.
    let half = grid.window * 0.5 - Vector::new(1e-6, 1e-6);
    let middle = grid.corner(tile) + grid.window * 0.5;
    metal.contains(middle) || sides(metal).any(|[a, b]| line_meets_box(a - middle, b - middle, half))
}
