//! `photo scale-sheet`: the sheet to print.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use dropwise_paper::{ScalePage, write_scale_pages};
use dropwise_photo::{MODULE, PITCH, RULED_SQUARE, ScaleSheet, SheetPaper};

use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::out_folder::write_file;
use crate::text::{cleaned, wrapped};

/// What was typed after `photo scale-sheet`.
#[derive(Clone, Debug, Args)]
pub(crate) struct ScaleSheetArguments {
    /// Write it to this file, PDF; one that is there is replaced
    #[arg(long, value_name = "FILE.pdf")]
    out: PathBuf,
    /// What is in the printer
    #[arg(long, value_enum, default_value_t)]
    paper: PaperWord,
    /// How many pages, numbered, to lie around one large thing
    #[arg(long, value_name = "COUNT", default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..=i64::from(dropwise_photo::MOST_PAGES)))]
    pages: u8,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum PaperWord {
    /// 210 x 297 mm
    #[default]
    A4,
    /// 8 1/2 x 11 in
    Letter,
}

pub(crate) fn scale_sheet(typed: &ScaleSheetArguments, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let paper = match typed.paper {
        PaperWord::A4 => SheetPaper::A4,
        PaperWord::Letter => SheetPaper::Letter,
    };
    let pages: Vec<ScalePage> =
        (1..=typed.pages).map(|page| page_of(ScaleSheet { paper, page }, typed.pages)).collect();
    let pdf = write_scale_pages(&pages).map_err(|error| Stop::failure(Complaint::new(error.to_string())))?;
    write_file(&typed.out, &pdf)?;
    let text = format!(
        "Written to {}. Print at 100 % on stiff paper, and measure the side of the ruled square: it should be {RULED_SQUARE:.0} mm, \
         and what it is goes into --square.",
        cleaned(&typed.out.display().to_string())
    );
    environment.print(&wrapped("", 2, &text))?;
    Ok(Exit::Done)
}

fn page_of(sheet: ScaleSheet, count: u8) -> ScalePage {
    let number = if count > 1 { format!("Scale sheet {}", sheet.page) } else { "Scale sheet".to_owned() };
    ScalePage {
        size: sheet.paper.size(),
        squares: sheet.black_squares(),
        pitch: PITCH,
        codes: sheet.codes().map(|code| (code.text, code.corner)).into(),
        module: MODULE,
        ruled_square: sheet.ruled_square(),
        ruled_side: RULED_SQUARE,
        title: number,
        instructions: [
            "1. Print at 100 % and measure the ruled square.",
            "2. Lay it flat beside the thing, two fingers apart.",
            "3. Photograph both whole, from straight above.",
        ]
        .map(str::to_owned)
        .into(),
    }
}
