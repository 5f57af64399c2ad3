//! The paper of the demonstration jobs as the command writes it, judged by programs that know nothing of dropwise: a
//! browser, an accessibility checker, readers of PDF and DXF.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use dropwise_cli::Exit;
use dropwise_formats::drawing::DrawingOptions;
use dropwise_formats::dxf::read_dxf;
use dropwise_geometry::Outline;
use serde_json::Value;

use crate::seen;
use crate::shop::Shop;
use crate::tools;

/// A demonstration job, nested by the first plan and drawn.
fn demonstrated(name: &str, options: &str) -> Shop {
    searched(name, "--rounds 0", options)
}

/// A demonstration job, nested as told and drawn.
fn searched(name: &str, search: &str, options: &str) -> Shop {
    let shop = Shop::new();
    let job = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../data-demo").join(name);
    let nest = shop.run(&format!("nest {} {search} --out @plan --quiet", job.display()));
    // Quiet, but for what may be wrong with the drawings.
    let is_quiet = nest.stderr.lines().all(|line| line.contains(".dxf") && line.contains(": warning: "));
    assert!(nest.exit == Exit::Done && is_quiet, "{}{}", nest.stderr, nest.stdout);
    drawn(&shop, options);
    shop
}

pub(crate) fn drawn(shop: &Shop, options: &str) {
    let run = shop.run(&format!("draw @plan --quiet {options}"));
    assert_eq!((run.exit, run.stderr.as_str()), (Exit::Done, ""), "{}", run.stdout);
}

fn plan(shop: &Shop) -> Value {
    serde_json::from_str(&shop.read("plan/plan.json")).unwrap()
}

/// Runs a program that must succeed.
fn must(command: &mut Command) -> Output {
    let output = command.output().unwrap_or_else(|error| panic!("{command:?}: {error}"));
    assert!(output.status.success(), "{command:?}: {}", String::from_utf8_lossy(&output.stderr));
    output
}

fn browse(chromium: &Path, shop: &Shop, page: &str, arguments: &[&str]) -> Output {
    let profile = format!("--user-data-dir={}", shop.path("profile").display());
    must(
        Command::new(chromium)
            .args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"])
            .args(["--disable-background-networking", "--disable-component-update", "--disable-sync"])
            .args(["--enable-logging=stderr", "--virtual-time-budget=30000"])
            .arg(profile)
            .args(arguments)
            .arg(format!("file://{}", shop.path(page).display())),
    )
}

/// What the page said on the console.
fn console(output: &Output) -> Vec<String> {
    let log = String::from_utf8_lossy(&output.stderr).into_owned();
    log.lines().filter(|line| line.contains(":CONSOLE")).map(str::to_owned).collect()
}

/// The text of each page of a PDF, which the file must hold without a fault.
pub(crate) fn pages(path: &Path) -> Option<Vec<String>> {
    let (qpdf, pdftotext) = (tools::find("qpdf")?, tools::find("pdftotext")?);
    must(Command::new(qpdf).arg("--check").arg(path));
    let text = must(Command::new(pdftotext).arg("-layout").arg(path).arg("-")).stdout;
    let text = String::from_utf8(text).unwrap();
    // A form feed ends each page.
    Some(text.split_terminator('\u{c}').map(str::to_owned).collect())
}

/// The file of the accessibility checker: where `DROPWISE_AXE` says, or below the build folder.
fn axe() -> Option<String> {
    let usual = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/references/node_modules/axe-core/axe.min.js");
    let path = std::env::var_os("DROPWISE_AXE").map_or(usual, PathBuf::from);
    let script = std::fs::read_to_string(path).ok();
    if script.is_none() {
        tools::missing("the accessibility checker axe-core");
    }
    script
}

/// Opens the report, light or dark, and has it measured and judged by the accessibility checker.
fn judged(chromium: &Path, shop: &Shop, axe: &str, scheme: &str) -> Value {
    let probe = format!(
        r#"<pre id="outcome"></pre><script>{axe}</script><script>
        addEventListener("load", async () => {{
            const found = await axe.run(document, {{ resultTypes: ["violations"] }});
            const boxes = [...document.querySelectorAll("svg")].map((svg) => svg.getBoundingClientRect());
            document.getElementById("outcome").textContent = JSON.stringify({{
                dark: matchMedia("(prefers-color-scheme: dark)").matches,
                passes: found.passes.length,
                violations: found.violations.map((one) => one.id + ": " + one.nodes.map((n) => n.html).slice(0, 3)),
                pictures: boxes.filter((box) => box.width > 380 && box.height > 60).length,
                parts: [...document.querySelectorAll("svg .piece > path")]
                    .filter((path) => path.getBoundingClientRect().width > 0).length,
                sideways: document.documentElement.scrollWidth - document.documentElement.clientWidth,
                fetched: performance.getEntriesByType("resource").length,
            }});
        }});</script></body>"#
    );
    shop.write("plan/probed.html", shop.read("plan/report.html").replacen("</body>", &probe, 1));
    let output = browse(chromium, shop, "plan/probed.html", &["--dump-dom", scheme]);
    assert_eq!(console(&output), Vec::<String>::new());
    let dom = String::from_utf8(output.stdout).unwrap();
    let start = dom.find("<pre id=\"outcome\">").expect("the probe stands in the page") + 18;
    let text = &dom[start..start + dom[start..].find("</pre>").unwrap()];
    let text = text.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
    serde_json::from_str(&text).unwrap_or_else(|error| panic!("{error}: {text}"))
}

#[test]
fn the_demonstration_report_opens_reads_and_prints() {
    let (Some(chromium), Some(axe)) = (tools::find("chromium"), axe()) else { return };
    let shop = demonstrated("job.toml", "--kind report");
    let plan = plan(&shop);
    let sheets = plan["sheets"].as_array().unwrap();
    let parts: usize = sheets.iter().map(|sheet| sheet["placements"].as_array().unwrap().len()).sum();
    assert!(sheets.len() > 5 && parts > 90, "{} sheets, {parts} parts", sheets.len());
    for (scheme, is_dark) in
        [("--blink-settings=preferredColorScheme=1", false), ("--blink-settings=preferredColorScheme=0", true)]
    {
        let found = judged(&chromium, &shop, &axe, scheme);
        assert_eq!(found["dark"], is_dark, "{scheme}");
        assert!(found["passes"].as_u64().unwrap() > 20, "{found}");
        assert_eq!(found["violations"], serde_json::json!([]), "{scheme}");
        assert_eq!((&found["pictures"], &found["parts"]), (&(sheets.len() + 1).into(), &parts.into()), "{found}");
        assert_eq!((&found["sideways"], &found["fetched"]), (&0.into(), &0.into()), "{found}");
    }
    // Figures and cost; each sheet's picture, what to do with it and its parts; cautions.
    let whole = shop.read("plan/report.html").replacen("id=\"print-all\"", "id=\"print-all\" checked=\"checked\"", 1);
    let barred = "<head>\n<meta http-equiv=\"Content-Security-Policy\" content=\"script-src 'none'\"/>";
    for page in [whole.replacen("<head>", barred, 1), whole] {
        let _ = std::fs::remove_file(shop.path("printed.pdf"));
        let to = format!("--print-to-pdf={}", shop.path("printed.pdf").display());
        shop.write("plan/whole.html", page);
        browse(&chromium, &shop, "plan/whole.html", &[&to, "--no-pdf-header-footer"]);
        let Some(pages) = pages(&shop.path("printed.pdf")) else { return };
        assert!(pages.iter().all(|page| page.split_whitespace().count() > 10), "a page is empty");
        for (index, sheet) in sheets.iter().enumerate() {
            let heading = format!("Sheet {}: {}", index + 1, sheet["name"].as_str().unwrap());
            let there = pages.iter().filter(|page| page.contains(&heading)).count();
            assert_eq!(there, 1, "{heading} stands on one page");
        }
        let (least, most) = (2 + sheets.len() / 2, 4 + sheets.len());
        assert!((least..=most).contains(&pages.len()), "{} pages", pages.len());
    }
}

/// No text is struck by a line, and none lies on another, on any picture and any page of both jobs.
#[test]
fn no_text_of_the_demonstration_paper_is_struck() {
    let (Some(cairo), Some(words)) = (tools::find("pdftocairo"), tools::find("pdftotext")) else { return };
    for name in ["job.toml", "bent.toml"] {
        let shop = demonstrated(name, "--kind picture,cutsheet,markout,bendcard,template");
        let mut found: Vec<String> = Vec::new();
        let mut read = (0, 0);
        for path in files(&shop, "plan").into_iter().chain(files(&shop, "plan/templates")) {
            let file = path.file_name().unwrap().to_string_lossy().into_owned();
            let pictures: Vec<seen::Seen> = match path.extension().and_then(std::ffi::OsStr::to_str) {
                Some("svg") => vec![seen::read_svg(&std::fs::read_to_string(&path).unwrap())],
                Some("pdf") => {
                    let Some(pages) = pages(&path) else { return };
                    (1..=pages.len()).map(|page| seen::read_page((&cairo, &words), &path, page)).collect()
                }
                _ => continue,
            };
            for (number, picture) in pictures.into_iter().enumerate() {
                read = (read.0 + picture.texts.len(), read.1 + picture.lines.len());
                found.extend(picture.collisions().into_iter().map(|what| format!("{file} {}: {what}", number + 1)));
            }
        }
        assert!(read.0 > 2000 && read.1 > 2000, "{read:?}");
        assert!(found.is_empty(), "{name}, {}:\n{}", found.len(), found.join("\n"));
    }
}

/// How many pages a shop prints for both jobs, whatever plan it has: 35 at most, with templates at full size 60.
#[test]
fn the_demonstration_paper_is_no_book() {
    let Some(chromium) = tools::find("chromium") else { return };
    let (flat, bent) = (&["cut-sheets", "mark-out"][..], &["cut-sheets", "mark-out", "bend-cards"][..]);
    for (name, files, search) in [
        ("job.toml", flat, "--rounds 3"),
        ("job.toml", flat, "--rounds 0 --seed 5"),
        ("job.toml", flat, "--rounds 1 --seed 2"),
        ("bent.toml", bent, "--rounds 3"),
        ("bent.toml", bent, "--rounds 0 --seed 5"),
    ] {
        let shop = searched(name, search, "--kind report,cutsheet,markout,template,bendcard");
        let to = format!("--print-to-pdf={}", shop.path("printed.pdf").display());
        browse(&chromium, &shop, "plan/report.html", &[&to, "--no-pdf-header-footer"]);
        let number = dropwise_formats::PlanDocument::read(&shop.read("plan/plan.json")).unwrap().number();
        let count = |path: PathBuf| {
            let pages = pages(&path)?;
            // Pages of two plans, and of two jobs, cannot be mixed.
            for (index, page) in pages.iter().enumerate() {
                let stamp = [format!("plan {number}"), format!("page {} of {}", index + 1, pages.len())];
                let is_stamped = page.contains("Tool sheds, Plum Lane") && stamp.iter().all(|part| page.contains(part));
                assert!(is_stamped, "{}, page {}: {page}", path.display(), index + 1);
            }
            Some(pages.len())
        };
        let Some(printed) = count(shop.path("printed.pdf")) else { return };
        let papers: usize = files.iter().filter_map(|file| count(shop.path(&format!("plan/{file}.pdf")))).sum();
        let Some(templates) = count(shop.path("plan/templates/parts.pdf")) else { return };
        let bench = printed + papers;
        assert!(bench > 20 && bench <= 35, "{name} {search}: {bench} pages, {printed} of them the report");
        assert!(
            templates > 10 && bench + templates <= 60,
            "{name} {search}: {bench} pages and {templates} of templates"
        );
    }
}

/// Every sheet and every part is where the table of what is inside says, and every part of the plan is on the cut sheet.
#[test]
fn the_demonstration_paper_says_what_is_inside() {
    let shop = demonstrated("job.toml", "--kind cutsheet,markout");
    let plan = plan(&shop);
    let sheets = plan["sheets"].as_array().unwrap();
    let Some(cut_sheets) = pages(&shop.path("plan/cut-sheets.pdf")) else { return };
    let Some(mark_out) = pages(&shop.path("plan/mark-out.pdf")) else { return };
    // Two pages a sheet at most, and one for what holds for all.
    assert!(cut_sheets.len() <= 2 * sheets.len() + 1, "{}", cut_sheets.len());
    for (number, page) in cut_sheets.iter().enumerate() {
        assert!(page.contains(&format!("page {} of {}", number + 1, cut_sheets.len())), "{page}");
    }
    let mut told = 0;
    let inside = cut_sheets.iter().find(|page| page.contains("What is inside")).expect("it is told what is inside");
    for line in inside.lines().filter(|line| line.contains("steel,")) {
        told += 1;
        let words: Vec<&str> = line.split_whitespace().collect();
        let (first, last) = match words[words.len() - 2] {
            "to" => (words[words.len() - 3], words[words.len() - 1]),
            _ => (words[words.len() - 1], words[words.len() - 1]),
        };
        let [first, last] = [first, last].map(|page| page.parse::<usize>().unwrap());
        let figure = format!("sheet {told} of {}", sheets.len());
        for page in first..=last {
            assert!(cut_sheets[page - 1].contains(&figure), "{figure} on page {page}");
        }
        let list = cut_sheets[first - 1..last].concat();
        for placement in sheets[told - 1]["placements"].as_array().unwrap() {
            let name = placement["name"].as_str().unwrap();
            assert!(list.contains(name), "{name} on {figure}");
        }
    }
    assert_eq!(told, sheets.len());
    // Every page bears the plan's number.
    let text = shop.read("plan/plan.json");
    let number = dropwise_formats::PlanDocument::read(&text).unwrap().number();
    assert!(cut_sheets.iter().chain(&mark_out).all(|page| page.contains(&format!("plan {number}"))), "{number}");
    // Nothing that is measured from may be cut off.
    let tables = mark_out.concat();
    for sheet in sheets {
        assert!(tables.contains(sheet["name"].as_str().unwrap()), "{sheet}");
    }
    assert!(!tables.contains('…'), "a cell of a table is cut off");
}

/// Length and area of a ring, arcs by chord c and bulge b: the angle is 4 atan b, the radius c (1 + b²) / (4 |b|), and a
/// segment of a circle has r² (a - sin a) / 2.
fn measures(ring: &[(f64, f64, f64)]) -> [f64; 2] {
    let (mut length, mut area) = (0.0, 0.0);
    for (index, &(x, y, bulge)) in ring.iter().enumerate() {
        let (next_x, next_y, _) = ring[(index + 1) % ring.len()];
        let chord = (next_x - x).hypot(next_y - y);
        area += (x * next_y - next_x * y) / 2.0;
        if bulge == 0.0 {
            length += chord;
        } else {
            let (angle, radius) = (4.0 * bulge.atan(), chord * (1.0 + bulge * bulge) / (4.0 * bulge.abs()));
            length += radius * angle.abs();
            area += radius * radius * (angle - angle.sin()) / 2.0;
        }
    }
    [length, area.abs()]
}

/// Whether a ring that was read is the same to 1e-6 mm, wherever it starts and whichever way it runs. A reader may make two
/// arcs of one that is longer than a half turn, and start a circle where it likes.
fn is_same(ring: &[(f64, f64, f64)], read: &[(f64, f64, f64)]) -> bool {
    let ([length, area], [read_length, read_area]) = (measures(ring), measures(read));
    let is_circle = ring.len() == 2;
    let middle = |ring: &[(f64, f64, f64)]| ((ring[0].0 + ring[1].0) / 2.0, (ring[0].1 + ring[1].1) / 2.0, 0.0);
    let near = |a: &(f64, f64, f64), b: &(f64, f64, f64)| (a.0 - b.0).hypot(a.1 - b.1) < 1e-6;
    // An area that is off by 1e-6 mm all along the ring.
    (length - read_length).abs() < 1e-6 * ring.len() as f64
        && (area - read_area).abs() < 1e-6 * length
        && match is_circle {
            true => read.len() == 2 && near(&middle(ring), &middle(read)),
            false => ring.iter().all(|point| read.iter().any(|other| near(point, other))),
        }
}

fn of_json(ring: &Value) -> Vec<(f64, f64, f64)> {
    let number = |vertex: &Value, key: &str| vertex[key].as_f64().unwrap_or(0.0);
    ring.as_array().unwrap().iter().map(|v| (number(v, "x"), number(v, "y"), number(v, "bulge"))).collect()
}

fn of_outline(ring: &Outline) -> Vec<(f64, f64, f64)> {
    ring.vertices().iter().map(|vertex| (vertex.point.x, vertex.point.y, vertex.bulge)).collect()
}

/// Each ring of each placed part stands in the sheet's DXF, in inches and in millimetres.
#[test]
fn demonstration_drawings_for_machines_hold_the_plan() {
    for (job, least) in [("job.toml", 300), ("bent.toml", 80)] {
        let shop = demonstrated(job, "--kind dxf");
        let plan = plan(&shop);
        let files = files(&shop, "plan/dxf");
        let mut rings = 0;
        for (index, sheet) in plan["sheets"].as_array().unwrap().iter().enumerate() {
            let begin = format!("sheet-{}-", index + 1);
            let path =
                files.iter().find(|path| path.file_name().unwrap().to_str().unwrap().starts_with(&begin)).unwrap();
            let read = read_dxf(&std::fs::read(path).unwrap(), &DrawingOptions::for_file("sheet.dxf"));
            let drawing = read.unwrap_or_else(|error| panic!("{path:?}: {error}"));
            let placements = sheet["placements"].as_array().unwrap();
            assert_eq!(drawing.shapes.len(), placements.len(), "{path:?}");
            for placement in placements {
                let (outline, holes) =
                    (&placement["shape"]["outline"], placement["shape"]["holes"].as_array().unwrap());
                let found = drawing.shapes.iter().find(|drawn| {
                    let others: Vec<_> = drawn.shape.holes().iter().map(of_outline).collect();
                    is_same(&of_json(outline), &of_outline(drawn.shape.exterior()))
                        && others.len() == holes.len()
                        && holes.iter().all(|hole| others.iter().any(|other| is_same(&of_json(hole), other)))
                });
                assert!(found.is_some(), "{path:?}: {placement}");
                rings += 1 + holes.len();
            }
        }
        assert!(rings > least, "{job}: {rings}");
    }
}

pub(crate) fn files(shop: &Shop, folder: &str) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> =
        std::fs::read_dir(shop.path(folder)).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files
}

/// What a general DXF library says of some files; `None` where it is missing.
fn audited(paths: &[PathBuf]) -> Option<Vec<Value>> {
    let python = tools::find("python3")?;
    let has_library = Command::new(&python).args(["-c", "import ezdxf"]).output().unwrap().status.success();
    if !has_library {
        tools::missing("the DXF library ezdxf");
        return None;
    }
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/../dropwise-formats/tests/dxf_audit.py");
    let found: Vec<Value> = serde_json::from_slice(&must(Command::new(python).arg(script).args(paths)).stdout).unwrap();
    assert_eq!(found.len(), paths.len());
    for (file, path) in found.iter().zip(paths) {
        for kind in ["errors", "repairs", "warnings"] {
            assert_eq!(file[kind], serde_json::json!([]), "{path:?}");
        }
        assert_eq!(file["closed"], true, "{path:?}");
    }
    Some(found)
}

/// Bends of the finished parts, by hand from the job: the Z has one up and one down, the hat two and two, the tray four up,
/// the table twelve down. On a sheet they stand on the other layer where a part lies face down.
#[test]
fn bends_stand_on_their_layers_by_an_outside_library() {
    let shop = demonstrated("bent.toml", "--kind dxf");
    let Some(found) = audited(&files(&shop, "plan/dxf")) else { return };
    let paths = files(&shop, "plan/dxf");
    let lines = |begin: &str, layer: &str| {
        let index = paths.iter().position(|path| path.file_name().unwrap().to_str().unwrap().contains(begin)).unwrap();
        found[index]["layers"][layer]["kinds"]["LINE"].as_u64().unwrap_or(0)
    };
    for (part, up, down) in
        [("wall-z", 1, 1), ("roof-hat", 2, 2), ("nail-tray", 4, 0), ("grinder-table", 0, 12), ("lipped-drawer", 8, 0)]
    {
        assert_eq!((lines(part, "BEND_UP"), lines(part, "BEND_DOWN")), (up, down), "{part}");
    }
    let plan = plan(&shop);
    let (mut up, mut down) = (0, 0);
    for sheet in plan["sheets"].as_array().unwrap() {
        for placement in sheet["placements"].as_array().unwrap() {
            let part = &plan["parts"][placement["part"].as_u64().unwrap() as usize];
            for bend in part["bends"].as_array().unwrap() {
                let is_up = (bend["is_up"] == true) != (placement["is_flipped"] == true);
                *(if is_up { &mut up } else { &mut down }) += 1;
            }
        }
    }
    let on_sheets = |layer: &str| {
        let of = |path: &PathBuf| path.file_name().unwrap().to_str().unwrap().starts_with("sheet-");
        let counts = found.iter().zip(&paths).filter(|(_, path)| of(path));
        counts.map(|(file, _)| file["layers"][layer]["kinds"]["LINE"].as_u64().unwrap_or(0)).sum::<u64>()
    };
    assert_eq!((on_sheets("BEND_UP"), on_sheets("BEND_DOWN")), (up, down));
    assert!(up + down > 60, "{up} {down}");
}

/// Names that break a format, in every file at once, each opened by a program that knows the format.
#[test]
fn names_break_no_file_by_outside_programs() {
    let long = "Endless ".repeat(37);
    let names = [
        "<b onmouseover='x()'>&amp;</b>",
        "\\\"quoted\\\" (round) \\\\ %s %%c",
        "\u{1f529} bolt \u{5e9}\u{5dc}\u{5d5}\u{5dd} 12",
        "two\\nlines\\tand a tab",
        long.as_str(),
    ];
    let mut job = "name = \"</title><script>alert(1)</script>\"\ndefaults = { material = \"mild steel\", thickness = \
                   \"2 mm\" }\nclearances = { process = \"plasma\" }\nbending = { inside_radius = 2, k = 0.44 }\n"
        .to_owned();
    let mut accepted = 0;
    for (index, name) in names.iter().enumerate() {
        let part = format!(
            "[[parts]]\nname = \"{index} {name}\"\nangle_bracket = {{ length = 80, base = 40, leg = 30 }}\nholes = [{{ \
             diameter = 6, at = [20, 12] }}]\n"
        );
        let sheet = "[[sheets]]\nname = \"probe\"\nrectangle = { width = 600, height = 400 }\n";
        let shop = Shop::new();
        shop.write("job.toml", format!("{job}{part}{sheet}"));
        let nest = shop.run("nest @job.toml --rounds 0 --quiet");
        if nest.exit == Exit::Done {
            accepted += 1;
            job.push_str(&part);
        } else {
            // Refused where it is written down, with its place, not broken later.
            assert!(nest.exit == Exit::BadInput && nest.stderr.starts_with("DIR/job.toml:"), "{}", nest.stderr);
        }
    }
    assert!(accepted >= 3, "{accepted}");
    let shop = Shop::new();
    let name = names[0];
    shop.write(
        "job.toml",
        format!("{job}[[sheets]]\nname = \"{name}\"\nrectangle = {{ width = 600, height = 400 }}\n"),
    );
    assert_eq!(shop.run("nest @job.toml --rounds 0 --out @plan --quiet").exit, Exit::Done);
    drawn(&shop, "");
    for folder in ["plan", "plan/templates"] {
        for path in files(&shop, folder).iter().filter(|path| path.extension().is_some_and(|end| end == "pdf")) {
            let Some(pages) = pages(path) else { return };
            assert!(!pages.is_empty());
        }
    }
    if let Some(found) = audited(&files(&shop, "plan/dxf")) {
        let texts: String = found.iter().map(|file| file["texts"].to_string()).collect();
        assert!(texts.contains("onmouseover"), "{texts}");
    }
    let Some(rsvg) = tools::find("rsvg-convert") else { return };
    for folder in ["plan", "plan/svg"] {
        for path in files(&shop, folder).iter().filter(|path| path.extension().is_some_and(|end| end == "svg")) {
            assert!(!must(Command::new(&rsvg).arg(path)).stdout.is_empty(), "{path:?}");
        }
    }
    let Some(chromium) = tools::find("chromium") else { return };
    let output = browse(&chromium, &shop, "plan/report.html", &["--dump-dom"]);
    assert_eq!(console(&output), Vec::<String>::new());
    assert!(!String::from_utf8(output.stdout).unwrap().contains("<b onmouseover"), "a name became an element");
}

#[test]
fn five_hundred_parts_on_one_sheet_are_drawn_and_listed() {
    let shop = Shop::new();
    shop.write(
        "job.toml",
        "defaults = { material = \"mild steel\", thickness = \"2 mm\" }\nclearances = { process = \"plasma\" }\n\
         [[parts]]\nname = \"tab\"\nquantity = 500\nrectangle = { width = 60, height = 25 }\nholes = [{ diameter = 6 }]\n\
         [[sheets]]\nname = \"new sheet\"\nrectangle = { width = 2500, height = 1250 }\n",
    );
    let nest = shop.run("nest @job.toml --rounds 0 --out @plan --quiet");
    assert_eq!((nest.exit, nest.stderr.as_str()), (Exit::Done, ""));
    drawn(&shop, "");
    assert_eq!(plan(&shop)["sheets"][0]["placements"].as_array().unwrap().len(), 500);
    assert_eq!(shop.read("plan/report.html").matches("class=\"piece\"").count(), 500);
    let Some(cut_sheets) = pages(&shop.path("plan/cut-sheets.pdf")) else { return };
    let all = cut_sheets.concat();
    for number in [1, 250, 499, 500] {
        assert!(all.contains(&format!("A{number}")), "{number}");
    }
    // Long, but no book.
    assert!(cut_sheets.len() < 60, "{}", cut_sheets.len());
    let sheet = files(&shop, "plan/dxf").into_iter().filter(|path| path.to_string_lossy().contains("sheet-1"));
    let Some(found) = audited(&sheet.collect::<Vec<_>>()) else { return };
    assert_eq!(found[0]["layers"]["CUT"]["kinds"]["LWPOLYLINE"], 500);
    assert_eq!(found[0]["layers"]["CUT_INNER"]["kinds"]["CIRCLE"], 500);
}

/// The shop that the job names goes with the plan: its shear, its rates and its missing brake stand on the paper though the
/// file is gone.
#[test]
fn the_plan_carries_the_shop_that_the_job_names() {
    let shop = Shop::new();
    let job = "name = \"Legs\"\nshop = \"ours.toml\"\ndefaults = { material = \"mild steel\", thickness = \"2 mm\" }\n\
               clearances = { kerf = 0, web = 0, margin = 0 }\n[[parts]]\nname = \"foot\"\nquantity = 4\nturns = [0]\n\
               rectangle = { width = 120, height = 80 }\n[[sheets]]\nname = \"drop\"\n\
               rectangle = { width = 300, height = 200 }\n";
    let ours =
        "cutters = [\"jigsaw\"]\n[shear]\nlength = \"1.25 m\"\nthickest = \"2 mm\"\n[work]\nstroke_minutes = 7\n";
    shop.write("ours.toml", ours);
    shop.write("job.toml", job);
    let nest = shop.run("nest @job.toml --rounds 4 --out @plan --quiet");
    assert_eq!((nest.exit, nest.stderr.as_str()), (Exit::Done, ""));
    assert_eq!(plan(&shop)["job"]["shop"], ours);
    let report = shop.read("plan/report.html");
    std::fs::remove_file(shop.path("ours.toml")).unwrap();
    drawn(&shop, "--kind report,cutsheet");
    assert_eq!(shop.read("plan/report.html"), report, "nest draws the same");
    for wanted in [
        "a stroke of the shear",
        "7 min",
        "Scribe all lines before the first stroke",
        "Shear: full-width cuts part all blanks of this sheet",
    ] {
        assert!(report.contains(wanted), "{wanted}");
    }
    // Another shop in its place, and none at all: the job's own way of cutting and a cutoff wheel.
    shop.write("theirs.toml", "cutters = [\"nibbler\"]\n");
    drawn(&shop, "--kind report --shop @theirs.toml");
    assert!(shop.read("plan/report.html").contains("nibbler"));
    let mut document = plan(&shop);
    document["job"].as_object_mut().unwrap().remove("shop");
    shop.write("plan/plan.json", document.to_string());
    drawn(&shop, "--kind report");
    let report = shop.read("plan/report.html");
    assert!(report.contains("cutoff wheel") && !report.contains("a stroke of the shear"));
    // Spoiled by hand.
    document["job"]["shop"] = Value::from("cutters = \"sharp teeth\"");
    shop.write("plan/plan.json", document.to_string());
    let run = shop.run("draw @plan");
    assert_eq!(run.exit, Exit::BadInput);
    assert!(run.stderr.starts_with("DIR/plan/plan.json: job.shop"), "{}", run.stderr);
}
