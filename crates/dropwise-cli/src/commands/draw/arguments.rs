//! What was typed after `draw`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use dropwise_geometry::{InchDivision, Unit, parse_length};
use dropwise_paper::Paper;
use dropwise_shop::markout::Grid;

/// What was typed after `draw`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Draw {
    /// The plan that `nest` wrote: `plan.json`, or the folder it lies in
    ///
    /// Nothing else is read: job file and drawings may be gone. The plan is proved again before anything is drawn.
    pub(crate) plan: PathBuf,
    /// What to write; several with commas [default: everything]
    #[arg(long, value_enum, value_name = "KIND", value_delimiter = ',')]
    pub(crate) kind: Vec<Kind>,
    /// Write to this folder instead of the plan's own
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// What is in the printer: a4, letter, a3, or roll:WIDTH
    ///
    /// As in `roll:610` or `roll:24in`; a bare width is in millimetres. A4 unless told otherwise, Letter beside inches.
    #[arg(long, value_name = "PAPER", value_parser = paper)]
    pub(crate) paper: Option<Paper>,
    /// Round mark-out to 1/64, 1/32 or 1/16 in, or to 0.5 mm
    ///
    /// To 0.5 mm unless told otherwise, to 1/32 in beside inches. The tables say how far a distance may be off.
    #[arg(long, value_name = "STEP", value_parser = grid)]
    pub(crate) nearest: Option<Grid>,
    /// What the ruled square on a template measures: ACROSSxUP
    ///
    /// Print a template, measure the square on its first page from left to right and from bottom to top, and write both
    /// here, as in `99.2x100.1`, in the job's unit. Templates are then drawn so that they come out true on that printer.
    #[arg(long, value_name = "SIZE")]
    pub(crate) square: Option<String>,
    /// The shop file: tools, rates, brake and printer of the shop
    ///
    /// In place of the one that the plan carries if its job named one. Its tools make the cut plan, its printer is made
    /// up for in templates unless --square says otherwise, and sight lines are scribed where it has no press brake.
    /// Without any: the job's own way of cutting, a cutoff wheel, and the common drills and hole saws.
    #[arg(long, value_name = "FILE")]
    pub(crate) shop: Option<PathBuf>,
    /// The template of this part alone; may be given again
    #[arg(long, value_name = "NAME")]
    pub(crate) part: Vec<String>,
    /// The template of this whole sheet, counted from 1; may be given again
    #[arg(long, value_name = "NUMBER")]
    pub(crate) sheet: Vec<usize>,
    /// Scribe sight lines beside bend lines, for a leaf brake
    #[arg(long)]
    pub(crate) sight_lines: bool,
    /// Say nothing but what is wrong
    #[arg(long, short)]
    pub(crate) quiet: bool,
}

/// What can be written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, ValueEnum)]
pub(crate) enum Kind {
    /// report.html: the whole plan on one page, for screen, phone and printer
    Report,
    /// overview.svg and sheet-N.svg: pictures to hang up
    Picture,
    /// cut-sheets.pdf: each sheet with dimensions, lists, holes and cut plan
    Cutsheet,
    /// bend-cards.pdf: a page for each bent part, with its steps in order
    Bendcard,
    /// mark-out.pdf and mark-out.csv: every point as distances from the datum
    Markout,
    /// templates/: parts at full size, to be laid on the metal
    Template,
    /// dxf/: each sheet and each part for machines
    Dxf,
    /// svg/: the same at true size
    Svg,
}

impl Kind {
    /// All of them.
    pub(crate) const ALL: [Self; 8] = [
        Self::Report,
        Self::Picture,
        Self::Cutsheet,
        Self::Bendcard,
        Self::Markout,
        Self::Template,
        Self::Dxf,
        Self::Svg,
    ];

    /// The folder within the folder, where it has one.
    pub(crate) const fn folder(self) -> Option<&'static str> {
        match self {
            Self::Template => Some("templates"),
            Self::Dxf => Some("dxf"),
            Self::Svg => Some("svg"),
            _ => None,
        }
    }

    /// Whether it writes files of this name, folder included.
    pub(crate) fn owns(self, name: &str) -> bool {
        let numbered = |name: &str, kinds: &[&str], ending: &str| {
            let Some(stem) = name.strip_suffix(ending) else { return false };
            kinds.iter().any(|kind| {
                let rest = stem.strip_prefix(kind).and_then(|rest| rest.strip_prefix('-')).unwrap_or_default();
                rest.split('-').next().is_some_and(|n| !n.is_empty() && n.bytes().all(|byte| byte.is_ascii_digit()))
            })
        };
        let within = |ending: &str| {
            let folder = self.folder().unwrap_or_default();
            let rest = name.strip_prefix(folder).and_then(|rest| rest.strip_prefix('/'));
            rest.is_some_and(|name| numbered(name, &["sheet", "part"], ending))
        };
        match self {
            Self::Report => name == "report.html",
            Self::Picture => name == "overview.svg" || numbered(name, &["sheet"], ".svg"),
            Self::Cutsheet => name == "cut-sheets.pdf",
            Self::Bendcard => name == "bend-cards.pdf",
            Self::Markout => matches!(name, "mark-out.pdf" | "mark-out.csv"),
            Self::Template => name == "templates/parts.pdf" || within(".pdf"),
            Self::Dxf => within(".dxf"),
            Self::Svg => within(".svg"),
        }
    }
}

/// Narrowest and widest roll, mm: what the pages of templates need, and the longest page of a PDF.
const ROLLS: (f64, f64) = (200.0, 5000.0);

fn paper(text: &str) -> Result<Paper, String> {
    let word = text.trim().to_ascii_lowercase();
    match word.as_str() {
        "a4" => return Ok(Paper::A4),
        "a3" => return Ok(Paper::A3),
        "letter" => return Ok(Paper::Letter),
        _ => {}
    }
    let Some(width) = word.strip_prefix("roll:") else {
        return Err("write a4, letter, a3, or roll and its width, as in roll:610 or roll:24in".to_owned());
    };
    let width = parse_length(width, Unit::Millimetre).map_err(|error| error.to_string())?;
    // Said on the pages, where a hair of rounding would look like precision.
    let width = (width * 100.0).round() / 100.0;
    let (least, most) = ROLLS;
    if (least..=most).contains(&width) {
        Ok(Paper::Roll { width })
    } else {
        Err(format!("a roll must be {least} to {most} mm wide"))
    }
}

fn grid(text: &str) -> Result<Grid, String> {
    let word: String = text.chars().filter(|c| !c.is_whitespace()).collect::<String>().to_ascii_lowercase();
    match word.strip_suffix("in").unwrap_or(&word).trim_end_matches('"') {
        "1/64" => Ok(Grid::Inch(InchDivision::SixtyFourths)),
        "1/32" => Ok(Grid::Inch(InchDivision::ThirtySeconds)),
        "1/16" => Ok(Grid::Inch(InchDivision::Sixteenths)),
        "0.5" | "0.5mm" | ".5" | ".5mm" => Ok(Grid::HalfMillimetre),
        _ => Err("write 1/64, 1/32, 1/16 (of an inch) or 0.5 (of a millimetre)".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paper_and_steps_as_people_write_them() {
        assert_eq!(paper("A4"), Ok(Paper::A4));
        assert_eq!(paper("roll:24in"), Ok(Paper::Roll { width: 609.6 }));
        assert_eq!(paper("roll:610"), Ok(Paper::Roll { width: 610.0 }));
        for bad in ["a5", "roll", "roll:", "roll:199", "roll:5001", "roll:-610", "roll:nan", ""] {
            assert!(paper(bad).is_err(), "{bad}");
        }
        for (text, step) in [("1/64", 25.4 / 64.0), ("1/32 in", 25.4 / 32.0), ("1/16\"", 25.4 / 16.0), ("0.5 mm", 0.5)]
        {
            assert_eq!(grid(text).map(Grid::step), Ok(step), "{text}");
        }
        assert!(grid("1/8").is_err() && grid("1").is_err() && grid("").is_err());
    }

    #[test]
    fn every_file_has_one_kind() {
        for (name, kind) in [
            ("report.html", Some(Kind::Report)),
            ("overview.svg", Some(Kind::Picture)),
            ("sheet-12.svg", Some(Kind::Picture)),
            ("cut-sheets.pdf", Some(Kind::Cutsheet)),
            ("bend-cards.pdf", Some(Kind::Bendcard)),
            ("mark-out.csv", Some(Kind::Markout)),
            ("templates/part-3-post-foot.pdf", Some(Kind::Template)),
            ("templates/parts.pdf", Some(Kind::Template)),
            ("dxf/sheet-1.dxf", Some(Kind::Dxf)),
            ("svg/part-10-x.svg", Some(Kind::Svg)),
            ("sheet-x.svg", None),
            ("sheet-.svg", None),
            ("plan.json", None),
            ("dxf/mine.dxf", None),
            ("part-1.dxf", None),
        ] {
            let owners: Vec<Kind> = Kind::ALL.into_iter().filter(|kind| kind.owns(name)).collect();
            assert_eq!(owners, kind.into_iter().collect::<Vec<_>>(), "{name}");
        }
    }
}
