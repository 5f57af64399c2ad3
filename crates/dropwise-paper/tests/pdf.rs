//! Cut sheets and templates, judged by general programs for PDF: poppler renders and measures, qpdf checks.

mod fixture;
mod seen;
mod tools;

use std::path::Path;
use std::process::Command;

use dropwise_geometry::{Isometry, Outline, Point, Shape, Unit};
use dropwise_model::{
    Clearances, Job, Layout, LeftoverRule, Money, Need, Part, Placement, Plan, Provenance, Sheet, SheetUse, StockClass,
    Turns,
};
use dropwise_paper::{
    CutSheetSettings, LengthStyle, Paper, PrinterCorrection, TemplateError, TemplateOf, TemplateSettings,
    write_cut_sheets, write_template,
};
use fixture::grid_plan;

/// Dots an inch that pages are rendered at: a dot is 0.042 mm, and the middle of a line is found to a part of it.
const DPI: f64 = 600.0;

/// What the printed length may miss over a page, mm: what the template promises.
const TOLERANCE: f64 = 0.1;

/// A page as grey values, 0 black to 255 white.
struct Raster {
    width: usize,
    height: usize,
    dots: Vec<u8>,
}

impl Raster {
    /// Renders a page with poppler.
    fn of(pdftoppm: &Path, pdf: &[u8], page: usize) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("page.pdf");
        std::fs::write(&path, pdf).unwrap();
        let (page, dpi) = (page.to_string(), DPI.to_string());
        let output = tools::run(
            Command::new(pdftoppm).args(["-gray", "-singlefile", "-r", &dpi, "-f", &page, "-l", &page]).arg(&path),
        );
        // Netpbm: "P5", width, height, 255, one blank, then the dots.
        let bytes = output.stdout;
        let mut at = 0;
        let mut word = || {
            while bytes[at].is_ascii_whitespace() {
                at += 1;
            }
            let start = at;
            while !bytes[at].is_ascii_whitespace() {
                at += 1;
            }
            String::from_utf8(bytes[start..at].to_vec()).unwrap()
        };
        assert_eq!(word(), "P5");
        let (width, height) = (word().parse().unwrap(), word().parse().unwrap());
        assert_eq!(word(), "255");
        let dots = bytes[at + 1..].to_vec();
        assert_eq!(dots.len(), width * height);
        Self { width, height, dots }
    }

    fn dot(&self, x: usize, y: usize) -> u8 {
        self.dots[y * self.width + x]
    }

    /// Middles of the lines that a scan across the page meets at `from_top` mm, mm from the left; only those whose
    /// darkest dot is within `shades`.
    fn across(&self, from_top: f64, shades: std::ops::Range<u8>) -> Vec<f64> {
        let y = (from_top / 25.4 * DPI) as usize;
        middles((0..self.width).map(|x| self.dot(x, y)), shades)
    }

    /// The same down the page at `from_left` mm, mm from the top.
    fn down(&self, from_left: f64, shades: std::ops::Range<u8>) -> Vec<f64> {
        let x = (from_left / 25.4 * DPI) as usize;
        middles((0..self.height).map(|y| self.dot(x, y)), shades)
    }
}

/// Middles of dark runs, weighted by darkness.
fn middles(dots: impl Iterator<Item = u8>, shades: std::ops::Range<u8>) -> Vec<f64> {
    let mut found = Vec::new();
    let (mut weight, mut moment, mut darkest) = (0.0, 0.0, 255);
    for (index, dot) in dots.chain([255]).enumerate() {
        if dot < 250 {
            let dark = f64::from(255 - dot);
            weight += dark;
            moment += dark * (index as f64 + 0.5);
            darkest = darkest.min(dot);
        } else if weight > 0.0 {
            if shades.contains(&darkest) {
                found.push(moment / weight / DPI * 25.4);
            }
            (weight, moment, darkest) = (0.0, 0.0, 255);
        }
    }
    found
}

/// Black lines, and the grey ones of the frame.
const BLACK: std::ops::Range<u8> = 0..90;
const GRAY: std::ops::Range<u8> = 90..200;

fn template(job: &Job, plan: &Plan, of: TemplateOf, settings: &TemplateSettings<'_>) -> Vec<u8> {
    write_template(job, plan, of, settings).unwrap_or_else(|errors| panic!("{errors:?}"))
}

/// A plan of one sheet with one rectangle on it.
fn plate(width: f64, height: f64) -> (Job, Plan) {
    grid_plan((width + 40.0, height + 40.0), (width, height), (1, 1), ["Plate", "Drop", "steel, 2 mm", "rack"])
}

/// What must hold of every file, as far as tools for it are there.
fn assert_sound(pdf: &[u8]) {
    assert!(pdf.starts_with(b"%PDF-1.7") && pdf.trim_ascii_end().ends_with(b"%%EOF"));
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file.pdf");
    std::fs::write(&path, pdf).unwrap();
    if let Some(qpdf) = tools::find(&["qpdf"]) {
        let output = tools::run(Command::new(qpdf).arg("--check").arg(&path));
        assert!(output.stderr.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
    }
    if let Some(pdffonts) = tools::find(&["pdffonts"]) {
        // Every face is embedded: a reader must not put another in its place.
        let output = tools::run(Command::new(pdffonts).arg(&path));
        let text = String::from_utf8_lossy(&output.stdout).into_owned();
        assert!(output.stderr.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
        for line in text.lines().skip(2) {
            assert!(line.contains("yes yes yes"), "{text}");
        }
    }
}

fn pages(pdf: &[u8]) -> Option<usize> {
    let pdfinfo = tools::find(&["pdfinfo"])?;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file.pdf");
    std::fs::write(&path, pdf).unwrap();
    let output = tools::run(Command::new(pdfinfo).arg(&path));
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let line = text.lines().find_map(|line| line.strip_prefix("Pages:")).unwrap();
    Some(line.trim().parse().unwrap())
}

fn text(pdf: &[u8]) -> Option<String> {
    let pdftotext = tools::find(&["pdftotext"])?;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file.pdf");
    std::fs::write(&path, pdf).unwrap();
    let output = tools::run(Command::new(pdftotext).arg("-layout").arg(&path).arg("-"));
    Some(String::from_utf8(output.stdout).unwrap())
}

fn assert_near(found: f64, wanted: f64, what: &str) {
    assert!((found - wanted).abs() < TOLERANCE, "{what}: {found} mm on paper, {wanted} mm wanted");
}

#[test]
fn ruled_square_and_edges_measure_true_on_every_paper() {
    let Some(pdftoppm) = tools::find(&["pdftoppm"]) else { return };
    let (job, plan) = plate(180.0, 220.0);
    for (paper, unit, side) in [
        (Paper::A4, Unit::Millimetre, 100.0),
        (Paper::Letter, Unit::Inch, 101.6),
        (Paper::A3, Unit::Centimetre, 100.0),
        (Paper::Roll { width: 300.0 }, Unit::Millimetre, 100.0),
    ] {
        let settings = TemplateSettings { paper, lengths: LengthStyle::decimal(unit), ..TemplateSettings::default() };
        let pdf = template(&job, &plan, TemplateOf::Part(0), &settings);
        assert_sound(&pdf);
        if let Some(count) = pages(&pdf) {
            assert_eq!(count, 2, "{paper:?}");
        }
        let cover = Raster::of(&pdftoppm, &pdf, 1);
        // The square's corner is 2 mm in from the printable edge and 70 mm down. Between two of its ruled lines a scan
        // meets its sides first; upright it meets them last.
        let square = cover.across(73.5, BLACK);
        assert_near(square[1] - square[0], side, "square across");
        let square = cover.down(10.0 + 96.5, BLACK);
        assert_near(square[square.len() - 1] - square[square.len() - 2], side, "square upright");

        let page = Raster::of(&pdftoppm, &pdf, 2);
        let height = page.height as f64 / DPI * 25.4;
        // On a roll it is turned, as that takes less of the roll.
        let (wide, high) = if matches!(paper, Paper::Roll { .. }) { (220.0, 180.0) } else { (180.0, 220.0) };
        // A third from the top: clear of the name in the middle.
        let edges = page.across(height * 0.33, BLACK);
        assert_eq!(edges.len(), 2, "{paper:?}: {edges:?}");
        assert_near(edges[1] - edges[0], wide, "width");
        let middle = edges[0] + 12.3;
        let edges = page.down(middle, BLACK);
        let tops: Vec<f64> = edges.iter().copied().filter(|y| (22.5..height - 13.5).contains(y)).collect();
        assert_near(tops.last().unwrap() - tops.first().unwrap(), high, "height");
    }
}

/// A part that fills its page, read back from the finished file as vectors: both sides, both diagonals, and the distances of
/// holes in its corners.
#[test]
fn a_whole_page_is_true_to_a_tenth_of_a_millimetre() {
    let (Some(cairo), Some(words)) = (tools::find(&["pdftocairo"]), tools::find(&["pdftotext"])) else { return };
    // White margins of 8 mm, 15 mm of head and 7 mm of foot, 5 mm clear of the frame all round.
    for (paper, wide, high) in [(Paper::A4, 184.0, 249.0), (Paper::Letter, 189.9, 231.4), (Paper::A3, 271.0, 372.0)] {
        let inset = 12.0;
        let corners = [(inset, inset), (wide - inset, inset), (inset, high - inset), (wide - inset, high - inset)];
        let corners = corners.map(|(x, y)| Point::new(x, y));
        let (mut job, _) = plate(wide, high);
        let mut parts = job.parts().to_vec();
        let holes = corners.iter().map(|&center| Outline::circle(center, 4.0).reversed()).collect();
        parts[0].shape = Shape::new(Outline::rectangle(Point::ORIGIN, wide, high), holes);
        let rule = LeftoverRule { length: 1000.0, width: 1000.0, neck: 10.0 };
        job = Job::new(parts, job.sheets().to_vec(), Clearances::default(), rule).unwrap();
        let placements = vec![Placement { part: 0, position: Isometry::translation(5.0, 5.0) }];
        let layout = Layout { sheets: vec![SheetUse { sheet: 0, length: None, placements }], unplaced: Vec::new() };
        let plan = Plan::new(&job, layout, Provenance::default()).unwrap();
        let settings = TemplateSettings { paper, ..TemplateSettings::default() };
        let file = template(&job, &plan, TemplateOf::Part(0), &settings);
        assert_eq!(pages(&file), Some(2), "{paper:?}: a cover and one page");
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("page.pdf");
        std::fs::write(&path, file).unwrap();
        let seen = seen::read_page((&cairo, &words), &path, 2);
        let to_mm = |point: Point| Point::new(point.x * 25.4 / 72.0, point.y * 25.4 / 72.0);
        let lines: Vec<[Point; 2]> = seen.lines.iter().map(|line| line.map(to_mm)).collect();
        // Lines as long as a side of the part; the frame is longer by the white around it.
        let near = |a: f64, b: f64| (a - b).abs() < 1.0;
        let sides: Vec<[Point; 2]> =
            lines.iter().copied().filter(|[a, b]| near(a.distance(*b), wide) || near(a.distance(*b), high)).collect();
        let ends = || sides.iter().flatten();
        let limit = |of: fn(&Point) -> f64| {
            let values = ends().map(of);
            values.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], value| [low.min(value), high.max(value)])
        };
        let ([left, right], [top, bottom]) = (limit(|point| point.x), limit(|point| point.y));
        assert_near(right - left, wide, "over the page");
        assert_near(bottom - top, high, "up the page");
        for side in &sides {
            let length = side[0].distance(side[1]);
            assert_near(length, if near(length, wide) { wide } else { high }, "a side");
        }
        // The arms of the crosses of the holes: level ones of 11 mm, 5.5 mm each way.
        let crosses: Vec<Point> = lines
            .iter()
            .filter(|[a, b]| (a.y - b.y).abs() < 1e-3 && (a.distance(*b) - 11.0).abs() < 0.05)
            .map(|[a, b]| a.lerp(*b, 0.5))
            .collect();
        assert_eq!(crosses.len(), 4, "{paper:?}: {crosses:?}");
        let mut found: Vec<f64> = Vec::new();
        for (index, one) in crosses.iter().enumerate() {
            found.extend(crosses[index + 1..].iter().map(|other| one.distance(*other)));
        }
        found.sort_by(f64::total_cmp);
        let (across, up) = (wide - 2.0 * inset, high - 2.0 * inset);
        let mut wanted = [across, across, up, up, across.hypot(up), across.hypot(up)];
        wanted.sort_by(f64::total_cmp);
        for (found, wanted) in found.into_iter().zip(wanted) {
            assert_near(found, wanted, "between holes");
        }
    }
}

#[test]
fn correction_makes_up_for_the_printer() {
    let Some(pdftoppm) = tools::find(&["pdftoppm"]) else { return };
    let (job, plan) = plate(150.0, 200.0);
    // A printer that prints 100 mm as 99.2 across and 100.5 upright.
    let correction = PrinterCorrection { across: 100.0 / 99.2, upright: 100.0 / 100.5 };
    let settings = TemplateSettings { correction, ..TemplateSettings::default() };
    let page = Raster::of(&pdftoppm, &template(&job, &plan, TemplateOf::Part(0), &settings), 2);
    let edges = page.across(100.0, BLACK);
    assert_near((edges[edges.len() - 1] - edges[0]) * 0.992, 150.0, "width as printed");
    let edges = page.down(edges[0] + 12.3, BLACK);
    let tops: Vec<f64> = edges.iter().copied().filter(|y| (24.0..280.0).contains(y)).collect();
    assert_near((tops[tops.len() - 1] - tops[0]) * 1.005, 200.0, "height as printed");
}

#[test]
fn pages_laid_over_each_other_add_up() {
    let Some(pdftoppm) = tools::find(&["pdftoppm"]) else { return };
    let (job, plan) = plate(300.0, 100.0);
    let settings = TemplateSettings::default();
    let pdf = template(&job, &plan, TemplateOf::Part(0), &settings);
    if let Some(count) = pages(&pdf) {
        assert_eq!(count, 3, "a cover and two pages");
    }
    // The frame is where pages are trimmed; they lie over each other by the overlap.
    let (left, right) = (Raster::of(&pdftoppm, &pdf, 2), Raster::of(&pdftoppm, &pdf, 3));
    let scan = |page: &Raster| {
        let height = page.height as f64 / DPI * 25.4;
        let y = height * 0.5 - 20.0;
        (page.across(y, BLACK), page.across(y, GRAY))
    };
    let ((black_left, gray_left), (black_right, gray_right)) = (scan(&left), scan(&right));
    let first = gray_left[gray_left.len() - 1] - black_left[0];
    let second = black_right[black_right.len() - 1] - gray_right[0];
    assert_near(first + second - settings.overlap, 300.0, "over two pages");
}

#[test]
fn templates_bear_names_metal_sizes_and_bends() {
    let (job, plan) = fixture::plan();
    let bends = fixture::bends();
    let settings = TemplateSettings { bends: &bends, ..TemplateSettings::default() };
    let plate = template(&job, &plan, TemplateOf::Part(0), &settings);
    let bracket = template(&job, &plan, TemplateOf::Part(1), &settings);
    let Some(words) = text(&plate) else { return };
    for wanted in ["Side plate", "galvanized steel, 16 ga (1.61 mm)", "1 up 90°", "2 down 90°", "100 mm each side"] {
        assert!(words.contains(wanted), "{wanted}: {words}");
    }
    let words = text(&bracket).unwrap();
    assert!(words.matches("Ø 11").count() >= 2, "{words}");
}

#[test]
fn whole_sheets_are_printed_without_pages_that_show_no_metal() {
    let (job, plan) = fixture::plan();
    for paper in [Paper::A4, Paper::Letter, Paper::A3, Paper::Roll { width: 914.4 }] {
        let settings = TemplateSettings { paper, ..TemplateSettings::default() };
        for index in 0..plan.layout().sheets.len() {
            let pdf = template(&job, &plan, TemplateOf::Sheet(index), &settings);
            assert_sound(&pdf);
            assert_eq!(pdf, template(&job, &plan, TemplateOf::Sheet(index), &settings), "the same file each time");
            let Some(words) = text(&pdf) else { continue };
            assert!(words.contains("Map of the pages"), "{words}");
        }
    }
    // The drop's notch takes the upper right corner: two of 28 pages of Letter show none of it.
    let settings = TemplateSettings { paper: Paper::Letter, ..TemplateSettings::default() };
    if let Some(count) = pages(&template(&job, &plan, TemplateOf::Sheet(0), &settings)) {
        assert_eq!(count, 1 + 26);
    }
}

#[test]
fn all_that_is_wrong_with_settings_is_told_at_once() {
    let (job, plan) = plate(100.0, 100.0);
    let settings = TemplateSettings {
        paper: Paper::Roll { width: 50.0 },
        margin: f64::NAN,
        overlap: -1.0,
        correction: PrinterCorrection { across: 0.0, upright: f64::INFINITY },
        ..TemplateSettings::default()
    };
    let errors = write_template(&job, &plan, TemplateOf::Part(0), &settings).unwrap_err();
    assert_eq!(errors.len(), 5, "{errors:?}");
    let settings = TemplateSettings::default();
    for of in [TemplateOf::Part(1), TemplateOf::Sheet(7)] {
        let errors = write_template(&job, &plan, of, &settings).unwrap_err();
        assert!(matches!(errors[..], [TemplateError::NoSuch { .. }]));
    }
}

#[test]
fn sheets_larger_than_any_paper_are_refused_or_split() {
    for (size, is_too_large) in [((20_000.0, 1.0), false), ((90_000.0, 90_000.0), true), ((0.5, 0.4), false)] {
        let part = (size.0 * 0.45, size.1 * 0.45);
        let (job, plan) = grid_plan(size, part, (2, 2), ["Panel", "Sheet", "steel", "rack"]);
        assert_sound(&write_cut_sheets(&job, &plan, &CutSheetSettings::default()));
        let result = write_template(&job, &plan, TemplateOf::Sheet(0), &TemplateSettings::default());
        match result {
            Ok(pdf) => {
                assert!(!is_too_large);
                assert_sound(&pdf);
            }
            Err(errors) => {
                assert!(is_too_large, "{errors:?}");
                assert!(
                    matches!(errors[..], [TemplateError::TooManyPages { pages, .. }] if pages > 100_000),
                    "{errors:?}"
                );
            }
        }
    }
}

#[test]
fn names_cannot_break_the_file() {
    let long = "Langer Name ohne Ende ".repeat(14);
    let names = [
        ["(((\\)) <script> \" & %%EOF endobj \u{0}\u{1b}", "שלום עולם 12", "ستيل 3 mm", "🙂🔩 <b>"],
        [&long, "Кронштейн №5", "Ελληνικά, 角钢", ""],
        ["", "\u{202e}abc", "e\u{301}\u{301}\u{301}", "\u{ffff}"],
    ];
    for names in names {
        let (job, plan) = grid_plan((1000.0, 500.0), (400.0, 200.0), (2, 2), names);
        let settings = CutSheetSettings { job_name: names[0], ..CutSheetSettings::default() };
        let pdf = write_cut_sheets(&job, &plan, &settings);
        assert_sound(&pdf);
        assert_sound(&template(&job, &plan, TemplateOf::Part(0), &TemplateSettings::default()));
        if names[1].starts_with('К')
            && let Some(words) = text(&pdf)
        {
            // Found and copied as it was written.
            assert!(words.contains("Кронштейн №5"), "{words}");
        }
    }
}

#[test]
fn five_hundred_parts_are_listed_one_by_one() {
    let (job, plan) = grid_plan((2500.0, 1250.0), (90.0, 50.0), (25, 20), ["Tab", "Sheet", "steel", "rack"]);
    let pdf = write_cut_sheets(&job, &plan, &CutSheetSettings::default());
    assert_sound(&pdf);
    let Some(words) = text(&pdf) else { return };
    // Copies are numbered up the columns, 20 in each, 100 mm and 62.5 mm apart: sums by hand.
    let words_alone = words.split_whitespace().collect::<Vec<_>>().join(" ");
    for (key, edges) in [("A1", "0 0 90 50"), ("A250", "1200 562.5 1290 612.5"), ("A500", "2400 1187.5 2490 1237.5")] {
        assert!(words_alone.contains(&format!("{key} Tab {edges} 0°")), "{key}");
    }
    let listed: std::collections::BTreeSet<&str> = words_alone
        .split(" Tab ")
        .filter_map(|before| before.rsplit(' ').next())
        .filter(|key| key.strip_prefix('A').is_some_and(|number| number.parse::<u32>().is_ok()))
        .collect();
    assert_eq!(listed.len(), 500);
    // Repeated on each page of the list.
    let pages = pages(&pdf).unwrap_or(usize::MAX);
    assert!(pages < 12 && words.matches("continued").count() + 3 >= pages, "{pages}");
    assert_sound(&template(&job, &plan, TemplateOf::Sheet(0), &TemplateSettings::default()));
}

#[test]
fn cut_sheets_tell_places_from_the_datum() {
    let (job, plan) = fixture::plan();
    let pdf = write_cut_sheets(&job, &plan, &CutSheetSettings { job_name: "Net rack", ..CutSheetSettings::default() });
    assert_sound(&pdf);
    let Some(words) = text(&pdf) else { return };
    // The first side plate lies at (10, 10) and is 420 x 260: its row, by hand.
    let words_alone = words.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words_alone.contains("A1 Side plate 10 10 430 270 0°"), "{words}");
    assert!(words.contains("Ø 11 mm") && words.contains("off by 0.05 mm at most") && words.contains("face down"));
}

#[test]
fn skewed_drop_is_measured_from_its_longest_edge() {
    let class = StockClass::new("steel, 2 mm");
    let part = Part {
        name: "Panel".to_owned(),
        shape: Shape::new(Outline::rectangle(Point::ORIGIN, 100.0, 60.0), Vec::new()),
        quantity: 1,
        class: class.clone(),
        turns: Turns::Any,
        may_flip: true,
        need: Need::Required,
    };
    // Its lower edge rises by 3 in 4: 500 mm long, at 36.87° (a triangle of 3, 4 and 5).
    let corners = [(50.0, 0.0), (450.0, 300.0), (340.0, 440.0), (0.0, 150.0)].map(|(x, y)| Point::new(x, y));
    let sheet = Sheet {
        name: "Skewed drop".to_owned(),
        shape: Shape::new(Outline::polygon(corners), Vec::new()),
        damage: Vec::new(),
        class,
        quantity: Some(1),
        price: Money::ZERO,
        grain_deg: Some(0.0),
        location: String::new(),
        open_length: None,
        leftover_worth: 0.0,
        scrap_worth: 0.0,
        weight: 1e-5,
    };
    let rule = LeftoverRule { length: 300.0, width: 200.0, neck: 1.0 };
    let job = Job::new(vec![part], vec![sheet], Clearances::default(), rule).unwrap();
    // 200 along the edge and 30 off it: 50 + 200 x 0.8 - 30 x 0.6, 200 x 0.6 + 30 x 0.8.
    let turn = (3.0f64 / 4.0).atan().to_degrees();
    let placements = vec![Placement { part: 0, position: Isometry::new(false, turn, 192.0, 144.0) }];
    let layout = Layout { sheets: vec![SheetUse { sheet: 0, length: None, placements }], unplaced: Vec::new() };
    let plan = Plan::new(&job, layout, Provenance::default()).unwrap();
    let pdf = write_cut_sheets(&job, &plan, &CutSheetSettings::default());
    assert_sound(&pdf);
    let Some(words) = text(&pdf) else { return };
    let words_alone = words.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words_alone.contains("A Panel 200 30 300 90 0°"), "{words}");
    assert!(
        words_alone.contains("straight edge of 500 mm")
            && words_alone.contains("grain runs at 143.1° from the datum edge"),
        "{words}"
    );
}

#[test]
fn plan_without_sheets_makes_a_page_that_says_so() {
    let rule = LeftoverRule { length: 100.0, width: 100.0, neck: 10.0 };
    let job = Job::new(Vec::new(), Vec::new(), Clearances::default(), rule).unwrap();
    let plan = Plan::new(&job, Layout::default(), Provenance::default()).unwrap();
    let pdf = write_cut_sheets(&job, &plan, &CutSheetSettings::default());
    assert_sound(&pdf);
    let Some(words) = text(&pdf) else { return };
    assert!(words.contains("cuts no sheet"));
}

#[test]
fn grain_is_drawn_on_parts_that_are_held_to_it() {
    let class = StockClass::new("stainless steel, 2 mm, brushed");
    let rectangle = |w, h| Shape::new(Outline::rectangle(Point::ORIGIN, w, h), Vec::new());
    let part = |turns| Part {
        name: "Front".to_owned(),
        shape: rectangle(150.0, 100.0),
        quantity: 1,
        class: class.clone(),
        turns,
        may_flip: false,
        need: Need::Required,
    };
    let sheet = Sheet {
        name: "Sheet".to_owned(),
        shape: rectangle(300.0, 200.0),
        damage: Vec::new(),
        class: class.clone(),
        quantity: Some(1),
        price: Money::ZERO,
        grain_deg: Some(90.0),
        location: String::new(),
        open_length: None,
        leftover_worth: 0.0,
        scrap_worth: 0.0,
        weight: 1e-5,
    };
    let rule = LeftoverRule { length: 300.0, width: 200.0, neck: 1.0 };
    let file = |turns| {
        let job = Job::new(vec![part(turns)], vec![sheet.clone()], Clearances::default(), rule).unwrap();
        let position = Isometry::new(false, 90.0, 120.0, 20.0);
        let placements = vec![Placement { part: 0, position }];
        let layout = Layout { sheets: vec![SheetUse { sheet: 0, length: None, placements }], unplaced: Vec::new() };
        let plan = Plan::new(&job, layout, Provenance::default()).unwrap();
        template(&job, &plan, TemplateOf::Part(0), &TemplateSettings::default())
    };
    let Some(pdftoppm) = tools::find(&["pdftoppm"]) else { return };
    // Along the part's x axis: the arrow's line is level, so a scan across a third below the middle meets only edges,
    // and the page with an arrow is darker than the one without.
    let (with, without) = (file(Turns::Grain { along_deg: 0.0 }), file(Turns::Any));
    let dark = |pdf: &[u8]| Raster::of(&pdftoppm, pdf, 2).dots.iter().filter(|&&dot| dot < 90).count();
    // 60 mm of line 0.5 mm thick are 30 mm²; a dot is 0.0018 mm².
    assert!(dark(&with) > dark(&without) + 10_000);
}
