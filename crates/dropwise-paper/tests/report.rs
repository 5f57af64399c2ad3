//! The report page: read by general parsers, opened and printed by a real browser, and judged by an accessibility checker.

mod fixture;
mod tools;

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use dropwise_geometry::Unit;
use dropwise_model::{Clearances, Job, Layout, LeftoverRule, Plan, Provenance};
use dropwise_paper::{
    CutSheetSettings, LengthStyle, PaperColumn, PaperTable, ReportSettings, write_cut_sheets, write_report,
};
use dropwise_shop::markout::Grid;
use fixture::grid_plan;
use html5ever::tendril::TendrilSink;
use serde_json::Value;

/// The page of the invented plan, with all that a page can hold.
fn page() -> String {
    let (job, plan) = fixture::plan();
    let (cost, bends, cautions) = (fixture::cost(&plan), fixture::bends(), fixture::cautions());
    let settings = ReportSettings {
        job_name: "Net rack",
        currency: "EUR",
        cost: Some(&cost),
        bends: &bends,
        cautions: &cautions,
        ..ReportSettings::default()
    };
    write_report(&job, &plan, &settings)
}

/// What must hold of every page.
fn assert_sound(page: &str) {
    // As XML: well-formed, every name once, every reference met, nothing from outside.
    let options = roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
    let document = roxmltree::Document::parse_with_options(page, options).unwrap_or_else(|error| panic!("{error}"));
    let (mut names, mut references) = (Vec::new(), Vec::new());
    for node in document.descendants().filter(roxmltree::Node::is_element) {
        let tag = node.tag_name().name();
        assert!(!["img", "iframe", "object", "embed", "image", "use", "foreignObject"].contains(&tag), "{tag}");
        for attribute in node.attributes() {
            let (name, value) = (attribute.name(), attribute.value());
            assert!(!value.contains("://") && !name.starts_with("on") && name != "src", "{name}={value}");
            match name {
                "id" => names.push(value.to_owned()),
                "for" | "aria-labelledby" => references.push(value.to_owned()),
                "href" if tag != "link" => references.push(value.strip_prefix('#').unwrap().to_owned()),
                _ => {}
            }
            if let Some(reference) = value.strip_prefix("url(#") {
                references.push(reference.trim_end_matches(')').to_owned());
            }
        }
        if tag == "style" || tag == "script" {
            let text = node.text().unwrap();
            assert!(!text.contains("http") && !text.contains("@import") && !text.contains("url("));
        }
    }
    let count = names.len();
    names.sort();
    names.dedup();
    assert_eq!(names.len(), count, "a name is given twice");
    for reference in references {
        assert!(names.binary_search(&reference).is_ok(), "{reference}");
    }
    // As HTML by the living standard: no parse error at all.
    let dom = html5ever::parse_document(markup5ever_rcdom::RcDom::default(), Default::default())
        .from_utf8()
        .one(page.as_bytes());
    assert!(dom.errors.borrow().is_empty(), "{:?}", dom.errors.borrow());
}

/// Runs the browser on a page, in a folder of its own.
struct Browser {
    program: PathBuf,
    folder: tempfile::TempDir,
}

impl Browser {
    fn find() -> Option<Self> {
        let program = tools::find(&["chromium", "chromium-browser", "google-chrome"])?;
        Some(Self { program, folder: tempfile::tempdir().unwrap() })
    }

    fn run(&self, page: &str, fragment: &str, arguments: &[&str]) -> Output {
        let path = self.folder.path().join("page.html");
        std::fs::write(&path, page).unwrap();
        let profile = format!("--user-data-dir={}", self.folder.path().join("profile").display());
        tools::run(
            Command::new(&self.program)
                .args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"])
                .args(["--disable-background-networking", "--disable-component-update", "--disable-sync"])
                .args(["--enable-logging=stderr", "--virtual-time-budget=30000"])
                .arg(profile)
                .args(arguments)
                .arg(format!("file://{}{fragment}", path.display())),
        )
    }

    /// What a script finds out about a page; the script must make a promise of it.
    fn ask(&self, page: &str, fragment: &str, script: &str, arguments: &[&str]) -> Value {
        let probe = format!(
            "<pre id=\"outcome\"></pre><script>\nnew Promise((go) => addEventListener('load', () => setTimeout(go, 100))).then(async () => {{ {script} }}).then(\
             (value) => {{ document.getElementById('outcome').textContent = JSON.stringify(value); }});\n</script></body>"
        );
        let asked = page.replacen("</body>", &probe, 1);
        let output = self.run(&asked, fragment, &[&["--dump-dom"], arguments].concat());
        let dom = String::from_utf8(output.stdout).unwrap();
        let start = dom.find("<pre id=\"outcome\">").expect("the probe stands in the page") + 18;
        let end = start + dom[start..].find("</pre>").unwrap();
        let text = dom[start..end].replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
        serde_json::from_str(&text).unwrap_or_else(|error| panic!("{error}: {text}"))
    }

    /// Pages that it prints to.
    fn printed(&self, page: &str, arguments: &[&str]) -> Option<usize> {
        let pdfinfo = tools::find(&["pdfinfo"])?;
        let path = self.folder.path().join("printed.pdf");
        // What is counted is this page, not the last one.
        let _ = std::fs::remove_file(&path);
        let print = format!("--print-to-pdf={}", path.display());
        self.run(page, "", &[&[print.as_str(), "--no-pdf-header-footer"], arguments].concat());
        let output = tools::run(Command::new(pdfinfo).arg(&path));
        let text = String::from_utf8_lossy(&output.stdout).into_owned();
        Some(text.lines().find_map(|line| line.strip_prefix("Pages:")).unwrap().trim().parse().unwrap())
    }
}

/// What the page said on the console of the browser.
fn console(output: &Output) -> Vec<String> {
    let log = String::from_utf8_lossy(&output.stderr).into_owned();
    log.lines().filter(|line| line.contains(":CONSOLE")).map(str::to_owned).collect()
}

/// The page as it is where scripts are forbidden.
fn without_scripts(page: &str) -> String {
    let forbidden = "<head>\n<meta http-equiv=\"Content-Security-Policy\" content=\"script-src 'none'\"/>";
    let barred = page.replacen("<head>", forbidden, 1);
    assert!(barred != page);
    barred
}

#[test]
fn page_is_sound_and_the_same_each_time() {
    let page = page();
    assert_sound(&page);
    assert_eq!(page, self::page());
    for wanted in ["cost of the plan", "Where the metal goes", "Drop from the stair job", "press brake", "who decides"]
    {
        assert!(page.contains(wanted), "{wanted}");
    }
    // Escaped, not lost.
    assert!(page.contains("Cover for the winch, left &amp; right &lt;check hand&gt;"));
}

#[test]
fn every_piece_and_its_row_lead_to_each_other() {
    let page = page();
    let (_, plan) = fixture::plan();
    for (index, sheet) in plan.layout().sheets.iter().enumerate() {
        for piece in 0..sheet.placements.len() {
            for wanted in [
                format!(r##"<a id="s{0}-p{piece}" class="piece" href="#s{0}-r{piece}""##, index + 1),
                format!(r##"<tr role="row" id="s{}-r{piece}">"##, index + 1),
                format!(r##"<a href="#s{}-p{piece}">"##, index + 1),
            ] {
                assert_eq!(page.matches(&wanted).count(), 1, "{wanted}");
            }
        }
    }
}

#[test]
fn names_cannot_break_the_page() {
    let long = "Langer Name ohne Ende ".repeat(14);
    let names = [
        [
            "<script>alert('x')</script> & \"quoted\" \u{0}\u{8}\u{1b}[31m\u{202e}",
            "]]></style><b onclick=\"x\">",
            "-->",
            "'",
        ],
        ["שלום עולם 12", "ستيل", "🙂🔩 <b>", "&amp;&#x0;&nope;"],
        [&long, "\u{ffff}\u{fffe}", "W", ""],
    ];
    for names in names {
        let (job, plan) = grid_plan((1000.0, 500.0), (400.0, 200.0), (2, 2), names);
        let table = PaperTable {
            title: names[0].to_owned(),
            notes: vec![names[1].to_owned()],
            columns: vec![PaperColumn::words(names[2]), PaperColumn::numbers(names[3])],
            rows: vec![vec![names[0].to_owned()], names.iter().map(|name| (*name).to_owned()).collect()],
            has_boxes: true,
        };
        let sheet_tables = [vec![table]];
        let settings = ReportSettings {
            job_name: names[0],
            currency: names[1],
            sheet_tables: &sheet_tables,
            ..ReportSettings::default()
        };
        let page = write_report(&job, &plan, &settings);
        assert_sound(&page);
        assert!(!page.contains("<script>alert") && !page.contains("<b onclick"));
    }
}

#[test]
fn mark_out_and_cut_plan_stand_on_page_and_paper() {
    let (job, plan) = fixture::plan();
    let sheet_tables = fixture::sheet_tables(&job, &plan);
    let page = write_report(&job, &plan, &ReportSettings { sheet_tables: &sheet_tables, ..ReportSettings::default() });
    assert_sound(&page);
    // The second side plate begins at x = 436 and its upper right corner is rounded by 30: so that arc is swung about
    // 436 + 420 - 30 = 826, 10 + 260 - 30 = 240 above the datum edge. Sums by hand.
    let marked = &sheet_tables[0][0];
    let row = marked.rows.iter().find(|row| row[1] == "826" && row[2] == "240");
    assert!(row.is_some_and(|row| row[3] == "R 30"), "{marked:#?}");
    for wanted in ["826", "Cut plan, step by step", "9 mm drill", "frees the part"] {
        assert!(page.contains(wanted), "{wanted}");
    }
    // The core of a hole saw is smaller than its size, so no saw of 38 mm makes a washer of 38 mm.
    let points = sheet_tables[0].iter().find(|table| table.title.contains("order of measuring")).unwrap();
    let discs: Vec<_> = points.rows.iter().filter(|row| row[3].contains("disc")).collect();
    assert!(
        !discs.is_empty() && points.notes.iter().any(|note| note.contains("cut to the line and keep it")),
        "{points:?}"
    );
    let settings = CutSheetSettings { sheet_tables: &sheet_tables, ..CutSheetSettings::default() };
    assert!(write_cut_sheets(&job, &plan, &settings).len() > write_cut_sheets(&job, &plan, &Default::default()).len());
}

#[test]
fn every_unit_and_no_sheets_at_all_make_a_page() {
    let (job, plan) = fixture::plan();
    for unit in Unit::ALL {
        let lengths = if unit.is_metric() { LengthStyle::decimal(unit) } else { LengthStyle::tape(Grid::beside(unit)) };
        assert_sound(&write_report(&job, &plan, &ReportSettings { lengths, ..ReportSettings::default() }));
    }
    let rule = LeftoverRule { length: 100.0, width: 100.0, neck: 10.0 };
    let job = Job::new(Vec::new(), Vec::new(), Clearances::default(), rule).unwrap();
    let plan = Plan::new(&job, Layout::default(), Provenance::default()).unwrap();
    assert_sound(&write_report(&job, &plan, &ReportSettings::default()));
}

#[test]
fn browser_opens_it_without_a_word_on_the_console() {
    let Some(browser) = Browser::find() else { return };
    // First that a fault would be seen.
    let faulty = page().replacen("</body>", "<script>nosuchfunction();</script></body>", 1);
    assert!(console(&browser.run(&faulty, "", &["--dump-dom"])).iter().any(|line| line.contains("nosuchfunction")));
    let output = browser.run(&page(), "", &["--dump-dom"]);
    assert!(String::from_utf8_lossy(&output.stdout).contains("Drop from the stair job"));
    assert_eq!(console(&output), Vec::<String>::new());
}

/// Size of each picture, of the page and of the window, and how the first part and its row look.
const MEASURE: &str = r##"
    const seen = (id) => getComputedStyle(document.getElementById(id));
    const boxes = [...document.querySelectorAll("svg")].map((svg) => svg.getBoundingClientRect());
    return {
        pictures: boxes.map((box) => [box.width, box.height]),
        parts: [...document.querySelectorAll("svg .piece > path")]
            .filter((path) => path.getBoundingClientRect().width > 0).length,
        overflow: document.documentElement.scrollWidth - document.documentElement.clientWidth,
        fill: getComputedStyle(document.querySelector("#s1-p0 > path")).fill,
        row: seen("s1-r0").backgroundColor,
        ground: seen("figures").color + " on " + getComputedStyle(document.body).backgroundColor,
        dark: matchMedia("(prefers-color-scheme: dark)").matches,
        fetched: performance.getEntriesByType("resource").map((entry) => entry.name),
    };"##;

#[test]
fn pictures_show_on_desk_and_phone_and_parts_light_up() {
    let Some(browser) = Browser::find() else { return };
    let page = page();
    let (_, plan) = fixture::plan();
    let pieces: usize = plan.layout().sheets.iter().map(|sheet| sheet.placements.len()).sum();
    for (window, narrowest) in [("--window-size=1300,900", 900.0), ("--window-size=500,900", 380.0)] {
        let found = browser.ask(&page, "", MEASURE, &[window]);
        let pictures = found["pictures"].as_array().unwrap();
        // The overview and a picture of each sheet.
        assert_eq!(pictures.len(), 4);
        for size in pictures {
            let (width, height) = (size[0].as_f64().unwrap(), size[1].as_f64().unwrap());
            assert!(width > narrowest && height > width * 0.15, "{window}: {size}");
        }
        assert_eq!(found["parts"], pieces);
        assert_eq!(found["overflow"], 0, "{window}: the page scrolls sideways");
        assert_eq!(found["fetched"].as_array().unwrap().len(), 0, "{found}");
    }
    // Lit by its address alone, which needs no script.
    let found = browser.ask(&page, "#s1-p0", MEASURE, &[]);
    assert_eq!(found["fill"], "rgb(255, 225, 74)", "{found}");
    let found = browser.ask(&page, "#s1-r0", MEASURE, &[]);
    assert_eq!(found["row"], "rgb(255, 225, 74)", "{found}");
    assert_ne!(browser.ask(&page, "", MEASURE, &[])["fill"], "rgb(255, 225, 74)");
    // Enlarged by a radio button.
    let enlarge = format!("document.getElementById('s1-x2').click(); {MEASURE}");
    let wide = browser.ask(&page, "", &enlarge, &[]);
    let (once, twice) = (found["pictures"][1][0].as_f64().unwrap(), wide["pictures"][1][0].as_f64().unwrap());
    // Less what the bar for scrolling takes.
    assert!((1.85..=2.0).contains(&(twice / once)), "{once} {twice}");
}

#[test]
fn the_script_lights_up_pairs_and_keeps_ticks() {
    let Some(browser) = Browser::find() else { return };
    let script = r##"
        document.querySelector("#s1-p0 > path").dispatchEvent(new MouseEvent("mouseover", { bubbles: true }));
        const lit = document.getElementById("s1-r0").classList.contains("lit");
        document.querySelector("#s1-p0 > path").dispatchEvent(new MouseEvent("mouseout", { bubbles: true }));
        const dark = document.getElementById("s1-r0").classList.contains("lit");
        document.getElementById("tick-2").click();
        return { lit, dark, kept: Object.values(localStorage) };"##;
    let found = browser.ask(&page(), "", script, &[]);
    assert_eq!((&found["lit"], &found["dark"]), (&Value::Bool(true), &Value::Bool(false)), "{found}");
    assert_eq!(found["kept"], serde_json::json!(["tick-2"]));
}

#[test]
fn prints_to_the_right_number_of_pages_with_and_without_scripts() {
    let Some(browser) = Browser::find() else { return };
    // Overview and figures, then cost and cautions: sheets and bends have papers of their own. With a tick in the box they
    // are printed too: three sheets, two to a page, and the bends.
    let short = page();
    let long = short.replacen("id=\"print-all\"", "id=\"print-all\" checked=\"checked\"", 1);
    assert!(short != long && short.contains("Sheets: see cut-sheets.pdf."));
    for (page, wanted) in [(short, 2), (long, 2 + 2 + 1)] {
        for page in [without_scripts(&page), page] {
            let Some(count) = browser.printed(&page, &[]) else { return };
            assert_eq!(count, wanted);
        }
    }
}

/// The accessibility checker's file: where `DROPWISE_AXE` says, or below the build folder.
fn axe() -> Option<String> {
    let default =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/references/node_modules/axe-core/axe.min.js");
    let path = std::env::var_os("DROPWISE_AXE").map_or(default, PathBuf::from);
    let script = std::fs::read_to_string(&path).ok();
    if script.is_none() {
        tools::skip("the accessibility checker axe-core");
    }
    script
}

#[test]
fn accessibility_checker_finds_nothing_in_light_or_dark() {
    let (Some(browser), Some(axe)) = (Browser::find(), axe()) else { return };
    let check = "const found = await axe.run(document, { resultTypes: ['violations'] });
        return { dark: matchMedia('(prefers-color-scheme: dark)').matches, passes: found.passes.length,
            violations: found.violations.map((one) => one.id + ': ' + one.nodes.map((n) => n.html).slice(0, 3).join(' ')) };";
    let with_checker = |page: &str| page.replacen("</body>", &format!("<script>{axe}</script></body>"), 1);
    // First that a fault would be seen: grey text on white, and a picture without words.
    let faulty = page().replacen("<main>", "<main><p style=\"color:#bbb;background:#fff\">faint</p><img/>", 1);
    let found = browser.ask(&with_checker(&faulty), "", check, &[]).to_string();
    assert!(found.contains("color-contrast") && found.contains("image-alt"), "{found}");
    for (scheme, is_dark) in
        [("--blink-settings=preferredColorScheme=1", false), ("--blink-settings=preferredColorScheme=0", true)]
    {
        let found = browser.ask(&with_checker(&page()), "", check, &[scheme]);
        assert_eq!(found["dark"], is_dark, "{scheme}");
        assert!(found["passes"].as_u64().unwrap() > 20, "{found}");
        assert_eq!(found["violations"], serde_json::json!([]), "{scheme}");
    }
}

#[test]
fn five_hundred_parts_are_drawn_listed_and_printed() {
    let (job, plan) = grid_plan((2500.0, 1250.0), (90.0, 50.0), (25, 20), ["Tab", "Sheet", "steel", "rack"]);
    let page = write_report(&job, &plan, &ReportSettings::default());
    assert_sound(&page);
    assert_eq!(page.matches("class=\"piece\"").count(), 500);
    let Some(browser) = Browser::find() else { return };
    let found = browser.ask(&page, "#s1-p499", MEASURE, &[]);
    assert_eq!(found["parts"], 500);
    // All are listed on the page; printed are the figures and the sheet, which say where the places stand.
    assert!((0..500).all(|index| page.contains(&format!("<tr role=\"row\" id=\"s1-r{index}\">"))));
    assert!(page.contains("Places of the parts and the cut plan: cut-sheets.pdf."));
    let Some(count) = browser.printed(&page, &[]) else { return };
    assert!((1..=2).contains(&count), "{count}");
}
