//! Draws an invented plan into a folder: one picture a sheet and one of all, in millimetres and in inches, and templates.
//!
//! `cargo run -p dropwise-paper --example draw_plan -- FOLDER`

use std::{env, error::Error, fs, path::Path};

use dropwise_geometry::Unit;
use dropwise_paper::{
    CutSheetSettings, DrawingStyle, LengthStyle, Paper, ReportSettings, TemplateOf, TemplateSettings, draw_overview,
    draw_sheet, write_cut_sheets, write_report, write_template,
};

#[path = "../tests/fixture/mod.rs"]
mod fixture;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = env::args().nth(1).ok_or("which folder?")?;
    let folder = Path::new(&folder);
    fs::create_dir_all(folder)?;
    let (job, plan) = fixture::plan();
    for unit in [Unit::Millimetre, Unit::Inch] {
        let style = DrawingStyle { unit, ..DrawingStyle::default() };
        for index in 0..plan.layout().sheets.len() {
            let name = format!("sheet-{}-{unit}.svg", index + 1);
            fs::write(folder.join(name), draw_sheet(&job, &plan, index, &style))?;
        }
        fs::write(folder.join(format!("all-{unit}.svg")), draw_overview(&job, &plan, &style))?;
    }
    let tables = fixture::sheet_tables(&job, &plan);
    let settings = CutSheetSettings { job_name: "Net rack", sheet_tables: &tables, ..CutSheetSettings::default() };
    fs::write(folder.join("cut-sheets.pdf"), write_cut_sheets(&job, &plan, &settings))?;
    let bends = fixture::bends();
    let cost = fixture::cost(&plan);
    let cautions = fixture::cautions();
    let report = ReportSettings {
        job_name: "Net rack",
        currency: "EUR",
        cost: Some(&cost),
        bends: &bends,
        cautions: &cautions,
        sheet_tables: &tables,
        ..ReportSettings::default()
    };
    fs::write(folder.join("report.html"), write_report(&job, &plan, &report))?;
    let letter = TemplateSettings {
        paper: Paper::Letter,
        lengths: LengthStyle::decimal(Unit::Inch),
        bends: &bends,
        ..TemplateSettings::default()
    };
    let roll = TemplateSettings { paper: Paper::Roll { width: 610.0 }, bends: &bends, ..TemplateSettings::default() };
    for (name, of, settings) in [
        ("template-plate", TemplateOf::Part(0), TemplateSettings { bends: &bends, ..TemplateSettings::default() }),
        ("template-ring", TemplateOf::Part(3), TemplateSettings::default()),
        ("template-drop", TemplateOf::Sheet(0), letter),
        ("template-strip", TemplateOf::Sheet(2), roll),
    ] {
        let file = write_template(&job, &plan, of, &settings).map_err(|errors| format!("{errors:?}"))?;
        fs::write(folder.join(name).with_extension("pdf"), file)?;
    }
    Ok(())
}
