//! Every file that a plan can be drawn to.

use dropwise_formats::cut_drawing::{CutDrawing, CutDrawingError};
use dropwise_formats::dxf_write::{DxfUnit, write_dxf};
use dropwise_formats::svg_write::write_svg;
use dropwise_formats::{LoadedJob, PlanDocument};
use dropwise_geometry::Unit;
use dropwise_model::Plan;
use dropwise_paper::{
    CutSheetSettings, DrawingStyle, MarkedOut, Paper, PaperTable, PrinterCorrection, ReportSettings, TableSection,
    TemplateOf, TemplateSettings, draw_overview, draw_sheet, mark_out_csv, mark_out_of_part, write_bend_cards,
    write_cut_sheets, write_report, write_tables, write_template, write_templates,
};
use dropwise_shop::PlanCost;
use dropwise_shop::cutplan::ShopTools;
use dropwise_shop::markout::{Grid, MarkOut};

use super::arguments::Kind;
use super::bench::Bench;
use super::cards;
use super::usual_paper;
use crate::complaint::{Complaint, Stop};
use crate::out_folder::OutFile;
use crate::report::caution_list;

/// A plan with all that is drawn of it.
#[derive(Clone, Copy)]
pub(crate) struct Drawn<'a> {
    pub(crate) document: &'a PlanDocument,
    pub(crate) loaded: &'a LoadedJob,
    pub(crate) plan: &'a Plan,
    pub(crate) cost: &'a PlanCost,
}

/// What is to be drawn, and how. What is `None` goes by the job's unit.
#[derive(Clone, Debug)]
pub(crate) struct Wanted {
    pub(crate) kinds: Vec<Kind>,
    pub(crate) paper: Option<Paper>,
    pub(crate) grid: Option<Grid>,
    pub(crate) correction: PrinterCorrection,
    /// Templates of these alone; empty for one of every kind of part that is placed.
    pub(crate) only: Vec<TemplateOf>,
    pub(crate) has_sight_lines: bool,
    pub(crate) tools: Option<ShopTools>,
    pub(crate) unit: Unit,
}

impl Wanted {
    /// Everything, the usual way.
    pub(crate) fn new(unit: Unit) -> Self {
        Self {
            kinds: Kind::ALL.to_vec(),
            paper: None,
            grid: None,
            correction: PrinterCorrection::default(),
            only: Vec::new(),
            has_sight_lines: false,
            tools: None,
            unit,
        }
    }

    /// What `nest --out` writes: what is looked at first. Templates, tables and files for machines fill a folder, and
    /// are a command away.
    pub(crate) fn at_a_glance(unit: Unit) -> Self {
        Self { kinds: vec![Kind::Report, Kind::Picture, Kind::Cutsheet, Kind::Bendcard], ..Self::new(unit) }
    }

    fn has(&self, kind: Kind) -> bool {
        self.kinds.contains(&kind)
    }

    fn paper(&self) -> Paper {
        self.paper.unwrap_or_else(|| usual_paper(self.unit))
    }
}

/// The files, and what could not be made of what was wanted.
///
/// # Errors
/// When nothing can be made at all.
pub(crate) fn files(drawn: &Drawn<'_>, wanted: &Wanted) -> Result<(Vec<OutFile>, Vec<Complaint>), Stop> {
    let ours = |error: &dyn std::error::Error| Stop::failure(Complaint::new(error.to_string()).because_of(error));
    let bench = Bench::new(drawn, wanted).map_err(|error| ours(&error))?;
    let count = drawn.plan.layout().sheets.len();
    let (job, plan) = (&drawn.loaded.job, drawn.plan);
    let tables: Vec<Vec<PaperTable>> = if wanted.has(Kind::Report) {
        (0..count).map(|index| bench.tables(drawn, index)).collect()
    } else {
        Vec::new()
    };
    let (mut made, mut notes) = (Vec::new(), Vec::new());
    let cards = if wanted.has(Kind::Bendcard) || wanted.has(Kind::Report) {
        cards::bend_cards(drawn, &bench)
    } else {
        Vec::new()
    };
    let (number, cautions) = (drawn.document.number(), caution_list(drawn.loaded, plan));
    if wanted.has(Kind::Report) {
        let settings = ReportSettings {
            job_name: &drawn.loaded.name,
            lengths: bench.lengths,
            plan_number: &number,
            currency: &drawn.loaded.currency,
            coinage: drawn.loaded.coinage,
            cost: Some(drawn.cost),
            bends: &bench.bends,
            cards: &cards,
            findings: &cards::findings(drawn.document),
            closing: &bench.closing_tables(drawn, &[]),
            cautions: &cautions,
            sheet_tables: &tables,
        };
        made.push(OutFile::new("report.html", write_report(job, plan, &settings)));
    }
    if wanted.has(Kind::Picture) {
        let style = DrawingStyle { unit: drawn.loaded.unit, bends: bench.bends.clone(), ..DrawingStyle::default() };
        made.push(OutFile::new("overview.svg", draw_overview(job, plan, &style)));
        made.extend(
            (0..count)
                .map(|index| OutFile::new(format!("sheet-{}.svg", index + 1), draw_sheet(job, plan, index, &style))),
        );
    }
    if wanted.has(Kind::Cutsheet) {
        let tables: Vec<Vec<PaperTable>> = (0..count).map(|index| bench.cut_sheet_tables(drawn, index)).collect();
        let settings = CutSheetSettings {
            paper: wanted.paper(),
            lengths: bench.lengths,
            job_name: &drawn.loaded.name,
            plan_number: &number,
            sheet_tables: &tables,
            bends: &bench.bends,
            closing: &bench
                .drawing_checks(drawn)
                .into_iter()
                .chain(bench.closing_tables(drawn, &cautions))
                .collect::<Vec<_>>(),
        };
        made.push(OutFile::new("cut-sheets.pdf", write_cut_sheets(job, plan, &settings)));
    }
    if wanted.has(Kind::Bendcard) && !cards.is_empty() {
        let pages = write_bend_cards(&cards, (&drawn.loaded.name, &number), wanted.paper(), bench.lengths);
        made.push(OutFile::new("bend-cards.pdf", pages));
    }
    if wanted.has(Kind::Markout) {
        mark_out(drawn, wanted, &bench, &mut made);
    }
    if wanted.has(Kind::Template) {
        templates(drawn, wanted, &bench, &mut made, &mut notes);
    }
    if wanted.has(Kind::Dxf) || wanted.has(Kind::Svg) {
        machine_files(drawn, wanted, &bench, &mut made).map_err(|error| ours(&error))?;
    }
    Ok((made, notes))
}

/// The parts that lie on some sheet, in the order of the job.
fn placed(drawn: &Drawn<'_>) -> Vec<usize> {
    let figures = drawn.plan.figures().parts.iter().enumerate();
    figures.filter(|(_, figures)| figures.placed > 0).map(|(index, _)| index).collect()
}

fn mark_out(drawn: &Drawn<'_>, wanted: &Wanted, bench: &Bench, made: &mut Vec<OutFile>) {
    let (job, plan) = (&drawn.loaded.job, drawn.plan);
    let section = |title: String, marked: MarkedOut| TableSection {
        title,
        picture: Some(marked.picture),
        tables: vec![marked.table],
    };
    let count = plan.layout().sheets.len();
    let sheets = plan.layout().sheets.iter().enumerate().filter_map(|(index, used)| {
        let title = format!("{}, sheet {} of {count}", job.sheets()[used.sheet].name, index + 1);
        Some(section(title, bench.marked_out(drawn, index)?))
    });
    let mut sections: Vec<TableSection> = sheets.collect();
    let none = Default::default();
    for index in placed(drawn) {
        let part = &job.parts()[index];
        let scribe = bench.scribe.get(index).unwrap_or(&none);
        let thickness = drawn.loaded.parts[index].thickness.millimetres();
        let marks = MarkOut::of_part(part, scribe, bench.grid, &bench.tools.holes.in_sheet(thickness));
        let marked = mark_out_of_part(index, part, &marks, (&bench.bends, &bench.notes));
        sections.push(section(format!("Part by itself, in {}: {}", bench.lengths.unit_in_words(), part.name), marked));
    }
    let title = format!("Mark-out: {}", drawn.loaded.name);
    let number = drawn.document.number();
    let pages = write_tables(&title, (&drawn.loaded.name, &number), wanted.paper(), &sections);
    made.push(OutFile::new("mark-out.pdf", pages));
    let marks: Vec<MarkOut> = bench.sheets.iter().map(|(marks, _)| marks.clone()).collect();
    made.push(OutFile::new("mark-out.csv", mark_out_csv(job, plan, &marks)));
}

fn templates(drawn: &Drawn<'_>, wanted: &Wanted, bench: &Bench, made: &mut Vec<OutFile>, notes: &mut Vec<Complaint>) {
    let settings = TemplateSettings {
        paper: wanted.paper(),
        lengths: bench.lengths,
        correction: wanted.correction,
        bends: &bench.bends,
        hole_notes: &bench.notes,
        job_name: &drawn.loaded.name,
        plan_number: &drawn.document.number(),
        ..TemplateSettings::default()
    };
    if wanted.only.is_empty() {
        match write_templates(&drawn.loaded.job, drawn.plan, &placed(drawn), &settings) {
            Ok((file, refused)) => {
                made.push(OutFile::new("templates/parts.pdf", file));
                notes.extend(refused.iter().map(|error| {
                    let complaint = Complaint::new(error.to_string()).at("templates");
                    complaint
                        .with_cure("Use larger paper or a roll, as in --paper roll:36in, or mark out from the tables")
                }));
            }
            Err(errors) => notes.extend(errors.iter().map(|error| Complaint::new(error.to_string()).at("templates"))),
        }
        return;
    }
    for of in wanted.only.iter().copied() {
        let (kind, index, name) = match of {
            TemplateOf::Part(index) => ("part", index, &drawn.loaded.job.parts()[index].name),
            TemplateOf::Sheet(index) => {
                let used = &drawn.plan.layout().sheets[index];
                ("sheet", index, &drawn.loaded.job.sheets()[used.sheet].name)
            }
        };
        match write_template(&drawn.loaded.job, drawn.plan, of, &settings) {
            Ok(file) => made.push(OutFile::new(format!("templates/{}.pdf", file_name(kind, index, name)), file)),
            Err(errors) => notes.extend(errors.iter().map(|error| {
                let complaint = Complaint::new(error.to_string()).at(format!("template of {name}"));
                complaint.with_cure("Use larger paper or a roll, as in --paper roll:36in, or mark out from the tables")
            })),
        }
    }
}

fn machine_files(
    drawn: &Drawn<'_>,
    wanted: &Wanted,
    bench: &Bench,
    made: &mut Vec<OutFile>,
) -> Result<(), CutDrawingError> {
    let job = &drawn.loaded.job;
    let unit = DxfUnit::beside(drawn.loaded.unit);
    let mut push = |name: String, drawing: &CutDrawing| {
        if wanted.has(Kind::Dxf) {
            made.push(OutFile::new(format!("dxf/{name}.dxf"), write_dxf(drawing, unit)));
        }
        if wanted.has(Kind::Svg) {
            made.push(OutFile::new(format!("svg/{name}.svg"), write_svg(drawing)));
        }
    };
    for (index, used) in drawn.plan.layout().sheets.iter().enumerate() {
        let name = file_name("sheet", index, &job.sheets()[used.sheet].name);
        push(name, &CutDrawing::of_sheet(job, used, &bench.scribe)?);
    }
    let none = Default::default();
    for index in placed(drawn) {
        let part = &job.parts()[index];
        let scribe = bench.scribe.get(index).unwrap_or(&none);
        push(file_name("part", index, &part.name), &CutDrawing::of_part(part, scribe)?);
    }
    Ok(())
}

/// Letters of a name that are kept in the name of a file.
const KEPT: usize = 40;

/// `part-3-post-foot`: the number makes it unique, whatever the name holds that a file system cannot.
fn file_name(kind: &str, index: usize, name: &str) -> String {
    let mut safe = String::new();
    for c in name.chars().flat_map(char::to_lowercase) {
        if c.is_ascii_alphanumeric() {
            safe.push(c);
        } else if !safe.is_empty() && !safe.ends_with('-') {
            safe.push('-');
        }
        if safe.len() >= KEPT {
            break;
        }
    }
    let safe = safe.trim_end_matches('-');
    if safe.is_empty() { format!("{kind}-{}", index + 1) } else { format!("{kind}-{}-{safe}", index + 1) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_name_makes_a_file_name() {
        for (name, wanted) in [
            ("Post foot", "part-3-post-foot"),
            ("../../etc/passwd", "part-3-etc-passwd"),
            ("CON", "part-3-con"),
            ("שלום", "part-3"),
            ("🔩 <b>\"x\"</b>", "part-3-b-x-b"),
            ("", "part-3"),
        ] {
            assert_eq!(file_name("part", 2, name), wanted);
            assert!(Kind::Dxf.owns(&format!("dxf/{wanted}.dxf")), "{wanted}");
        }
        assert!(file_name("part", 0, &"long ".repeat(60)).len() < 60);
    }
}
