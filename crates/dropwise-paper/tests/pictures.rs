//! Reference pictures: what was looked at and found readable stays as it is, by and large.
//!
//! Pages are rendered small and grey by poppler, SVG through librsvg, and compared with the PNG files in `tests/pictures`.
//! Fonts of SVG are those of the machine, so pictures may differ a little; what is moved, lost or drawn over shows all the
//! same. `DROPWISE_WRITE_PICTURES=1` writes the files anew: look at each one before it is committed.

mod fixture;
mod tools;

use std::fs::File;
use std::io::{BufReader, BufWriter};
use std::path::{Path, PathBuf};
use std::process::Command;

use dropwise_geometry::Unit;
use dropwise_paper::{
    CutSheetSettings, DrawingStyle, Paper, TableSection, TemplateOf, TemplateSettings, draw_overview, draw_sheet,
    write_cut_sheets, write_tables, write_template,
};

/// Grey dots, row by row.
#[derive(Clone, Debug, PartialEq)]
struct Picture {
    width: u32,
    height: u32,
    dots: Vec<u8>,
}

/// Mean difference of dots, of 255, that a picture may have. Another version of poppler or another font changes the edges
/// of letters; a part that is missing changes more. Set by judgement.
const TOLERANCE: f64 = 2.5;

impl Picture {
    /// A page of a PDF file, 45 dots an inch.
    fn of(pdftoppm: &Path, pdf: &[u8], page: usize) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("file.pdf");
        std::fs::write(&path, pdf).unwrap();
        let page = page.to_string();
        let stem = folder.path().join("page");
        tools::run(
            Command::new(pdftoppm)
                .args(["-gray", "-png", "-singlefile", "-r", "45", "-f", &page, "-l", &page])
                .args([&path, &stem]),
        );
        Self::read(&stem.with_extension("png"))
    }

    fn read(path: &Path) -> Self {
        let file = File::open(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        let mut reader = png::Decoder::new(BufReader::new(file)).read_info().unwrap();
        let mut dots = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut dots).unwrap();
        assert_eq!(info.bit_depth, png::BitDepth::Eight);
        // Poppler writes grey as three equal colours.
        let dots = dots.into_iter().step_by(info.color_type.samples()).collect();
        Self { width: info.width, height: info.height, dots }
    }

    fn write(&self, path: &Path) {
        let mut encoder = png::Encoder::new(BufWriter::new(File::create(path).unwrap()), self.width, self.height);
        encoder.set_color(png::ColorType::Grayscale);
        encoder.set_compression(png::Compression::High);
        encoder.write_header().unwrap().write_image_data(&self.dots).unwrap();
    }

    /// The same a dot up, down, left or right: what a page moves by when its edge falls on another dot.
    fn moved(&self, dx: i64, dy: i64) -> Self {
        let (width, height) = (i64::from(self.width), i64::from(self.height));
        let at = |x: i64, y: i64| self.dots[(y.clamp(0, height - 1) * width + x.clamp(0, width - 1)) as usize];
        let dots = (0..height).flat_map(|y| (0..width).map(move |x| (x, y))).map(|(x, y)| at(x + dx, y + dy));
        Self { dots: dots.collect(), ..*self }
    }

    /// Mean difference of the dots, the best of a dot's shift.
    fn difference(&self, other: &Self) -> f64 {
        assert_eq!((self.width, self.height), (other.width, other.height), "another size");
        let mean = |one: &Self| {
            let sum: u64 = one.dots.iter().zip(&other.dots).map(|(a, b)| u64::from(a.abs_diff(*b))).sum();
            sum as f64 / one.dots.len() as f64
        };
        let shifts = (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (dx, dy)));
        shifts.map(|(dx, dy)| mean(&self.moved(dx, dy))).fold(f64::INFINITY, f64::min)
    }
}

fn reference(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/pictures").join(name).with_extension("png")
}

fn check(name: &str, picture: &Picture) {
    let path = reference(name);
    if std::env::var_os("DROPWISE_WRITE_PICTURES").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        picture.write(&path);
        return;
    }
    let difference = picture.difference(&Picture::read(&path));
    assert!(difference <= TOLERANCE, "{name}: differs by {difference:.2} from the picture that was looked at");
}

#[test]
fn pages_look_as_they_did_when_somebody_looked() {
    let Some(pdftoppm) = tools::find(&["pdftoppm"]) else { return };
    let (job, plan) = fixture::plan();
    let (tables, bends) = (fixture::sheet_tables(&job, &plan), fixture::bends());
    let settings =
        CutSheetSettings { job_name: "Net rack", sheet_tables: &tables, bends: &bends, ..CutSheetSettings::default() };
    let sheets = write_cut_sheets(&job, &plan, &settings);
    check("cut-sheet-contents", &Picture::of(&pdftoppm, &sheets, 1));
    check("cut-sheet-drawing", &Picture::of(&pdftoppm, &sheets, 2));
    check("cut-sheet-list", &Picture::of(&pdftoppm, &sheets, 3));
    check("cut-sheet-list-2", &Picture::of(&pdftoppm, &sheets, 4));
    let section = TableSection { title: "Sheet 1".to_owned(), picture: None, tables: tables[0].clone() };
    check(
        "tables",
        &Picture::of(&pdftoppm, &write_tables("Mark-out", ("Net rack", "c0ffee"), Paper::A4, &[section]), 1),
    );
    let settings = TemplateSettings { bends: &bends, ..TemplateSettings::default() };
    let template = write_template(&job, &plan, TemplateOf::Part(0), &settings).unwrap();
    check("template-cover", &Picture::of(&pdftoppm, &template, 1));
    check("template-page", &Picture::of(&pdftoppm, &template, 2));
}

#[test]
fn drawings_look_as_they_did_when_somebody_looked() {
    let Some(pdftoppm) = tools::find(&["pdftoppm"]) else { return };
    let Some(rsvg) = tools::find(&["rsvg-convert"]) else { return };
    let (job, plan) = fixture::plan();
    let style = DrawingStyle { unit: Unit::Millimetre, ..DrawingStyle::default() };
    let mut pictures = vec![("overview".to_owned(), draw_overview(&job, &plan, &style))];
    pictures.extend((0..3).map(|index| (format!("sheet-{}", index + 1), draw_sheet(&job, &plan, index, &style))));
    for (name, svg) in pictures {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("picture.svg");
        std::fs::write(&path, svg).unwrap();
        let pdf = tools::run(Command::new(&rsvg).args(["-f", "pdf"]).arg(&path)).stdout;
        check(&name, &Picture::of(&pdftoppm, &pdf, 1));
    }
}

/// The comparison itself: a small part painted over is found, a dot's shift is not.
#[test]
fn a_part_painted_over_is_noticed() {
    let whole = Picture::read(&reference("cut-sheet-drawing"));
    assert!(whole.difference(&whole.moved(1, -1)) < 0.5);
    let mut spoiled = whole.clone();
    let (width, height) = (whole.width as usize, whole.height as usize);
    for y in height / 3..height / 3 + height / 6 {
        spoiled.dots[y * width + width / 3..][..width / 6].fill(0);
    }
    assert!(spoiled.difference(&whole) > TOLERANCE);
}
