//! The page of `look` as people meet it: the command as a process, the page in a real browser.

mod browser;
#[path = "../command/tools.rs"]
mod tools;

use std::io::{BufRead as _, BufReader, Read as _};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use browser::{Browser, Tab};
use serde_json::json;

/// A tray, and plates to nest beside it.
const JOB: &str = r#"name = "Bench tray"
unit = "mm"
currency = "USD"
defaults = { material = "mild steel", thickness = "1.5 mm" }
clearances = { process = "plasma" }

[[parts]]
name = "nail tray"
quantity = 2
tray = { length = 180, width = 120, height = 30 }

[[parts]]
name = "cleat"
quantity = 4
rectangle = { width = 90, height = 40 }
holes = [{ diameter = 6.6 }]

[[sheets]]
name = "drop 3"
quantity = 2
rectangle = { width = 620, height = 420 }
price = 9.50
"#;

/// The command at work on a job in a folder of its own.
struct Looking {
    folder: tempfile::TempDir,
    process: Child,
    address: String,
}

impl Looking {
    fn at(text: &str) -> Self {
        let folder = tempfile::tempdir().expect("a folder can be made");
        std::fs::write(folder.path().join("job.toml"), text).expect("it can be written to");
        let mut process = Command::new(env!("CARGO_BIN_EXE_dropwise"))
            .args(["look", "job.toml", "--seconds", "2"])
            .current_dir(folder.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the command starts");
        let mut address = String::new();
        let mut lines = BufReader::new(process.stdout.take().expect("it was piped"));
        lines.read_line(&mut address).expect("it prints an address");
        Self { folder, process, address: address.trim().to_owned() }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn save(&self, text: &str) {
        std::fs::write(self.path("job.toml"), text).expect("it can be written to");
    }

    /// Ctrl-C; gives the exit code and what was said.
    fn interrupt(mut self) -> (Option<i32>, String) {
        let sent = Command::new("kill").args(["-INT", &self.process.id().to_string()]).status();
        assert!(sent.expect("kill is there").success());
        let code = self.process.wait().expect("it ends").code();
        let mut said = String::new();
        self.process.stderr.take().expect("it was piped").read_to_string(&mut said).expect("it says text");
        (code, said)
    }
}

impl Drop for Looking {
    fn drop(&mut self) {
        // Where a test failed before it ended it.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

fn chromium() -> Option<PathBuf> {
    tools::find("chromium")
}

const FLAT: &str = "document.getElementById('flat').textContent";
const TROUBLES: &str = "document.getElementById('troubles').textContent";
const IS_GOOD: &str = "document.getElementById('trouble').hidden";

#[test]
fn a_saved_change_is_seen_in_every_tab() {
    let Some(chromium) = chromium() else { return };
    let looking = Looking::at(JOB);
    let mut browser = Browser::start(&chromium);
    let tabs: Vec<Tab> = (0..2).map(|_| browser.open(&looking.address)).collect();
    for tab in &tabs {
        browser.until(tab, "document.documentElement.getAttribute('data-drawn') === '1'");
        browser.until(tab, "Number(document.documentElement.getAttribute('data-nested')) > 0");
        assert_eq!(browser.text(tab, "document.title"), "Bench tray · dropwise");
        assert!(browser.text(tab, "document.getElementById('headline').textContent").contains("6 of 6 parts"));
        let shown = browser.text(tab, FLAT);
        assert!(shown.contains("front") && shown.contains("mm"), "{shown}");
    }
    // A tab keeps the part that was chosen in it.
    let choose = "const list = document.getElementById('choose'); list.value = '1'; \
                  list.dispatchEvent(new Event('change')); true";
    browser.value(&tabs[1], choose);
    browser.until(&tabs[1], "document.getElementById('folded-figure').hidden");
    looking.save(&JOB.replace("length = 180", "length = 200").replace("width = 90", "width = 95"));
    browser.until(&tabs[0], "document.getElementById('facts').textContent.includes('4 bends; ')");
    browser.until(&tabs[0], &format!("{FLAT}.includes('254.67 mm')"));
    browser.until(&tabs[1], &format!("{FLAT}.includes('95 mm')"));
    // Twenty millimetres longer, as it was told.
    let facts = browser.text(&tabs[0], "document.getElementById('facts').textContent");
    assert!(facts.contains("mild steel, 1.5 mm thick"), "{facts}");
    browser.until(&tabs[0], "document.getElementById('search').textContent.startsWith('The best nest')");
    assert!(browser.faults().is_empty(), "{:#?}", browser.faults());
    // Nothing was asked of anybody else.
    let asked = browser.events.iter().filter(|event| event["method"] == "Network.requestWillBeSent");
    let asked: Vec<String> = asked.map(|event| event["params"]["request"]["url"].to_string()).collect();
    let is_own =
        |url: &String| url.contains(&looking.address) || url.contains("\"data:") || url.contains("about:blank");
    assert!(asked.len() > 6 && asked.iter().all(is_own), "{asked:#?}");

    let (code, said) = looking.interrupt();
    assert_eq!(code, Some(0), "{said}");
    assert!(said.ends_with("Ended.\n"), "{said}");
    for tab in &tabs {
        browser.until(tab, "document.getElementById('state').textContent.includes('dropwise has ended')");
    }
}

#[test]
fn a_fault_keeps_the_last_picture_and_is_shown_with_its_line() {
    let Some(chromium) = chromium() else { return };
    let looking = Looking::at(&JOB.replace("height = 30", "height = \"30 1/0\""));
    let mut browser = Browser::start(&chromium);
    let tab = browser.open(&looking.address);
    // A fault from the start: the page is there all the same.
    browser.until(&tab, &format!("!{IS_GOOD}"));
    assert!(browser.value(&tab, "document.querySelector('main').hidden") == json!(true));
    looking.save(JOB);
    browser.until(&tab, &format!("{IS_GOOD} && {FLAT}.includes('front')"));
    let good = browser.text(&tab, FLAT);
    looking.save(&JOB.replace("tray = { length", "tray = { lenght"));
    // Not merely that something is wrong: while it is being written, the file is empty for a moment.
    browser.until(&tab, &format!("!{IS_GOOD} && {TROUBLES}.includes('Did you mean')"));
    let told = browser.text(&tab, TROUBLES);
    assert!(told.contains("job.toml:10:") && told.contains("Did you mean `length`?"), "{told}");
    let here = browser.text(&tab, "document.querySelector('pre .here').textContent");
    assert!(here.starts_with("   10 > tray = { lenght"), "{here}");
    assert_eq!(browser.text(&tab, FLAT), good);
    assert!(browser.text(&tab, "document.body.className").contains("stale"));
    // Gone, and back again under another editor's hand.
    std::fs::remove_file(looking.path("job.toml")).unwrap();
    browser.until(&tab, "document.getElementById('troubles').textContent.includes('no such file')");
    assert_eq!(browser.text(&tab, FLAT), good);
    std::fs::write(looking.path("next.toml"), JOB.replace("length = 180", "length = 190")).unwrap();
    std::fs::rename(looking.path("next.toml"), looking.path("job.toml")).unwrap();
    browser.until(&tab, &format!("{IS_GOOD} && {FLAT} !== {}", json!(good)));
    assert!(browser.faults().is_empty(), "{:#?}", browser.faults());
    assert_eq!(looking.interrupt().0, Some(0));
}

#[test]
fn a_drawing_that_the_job_names_is_followed_too() {
    let Some(chromium) = chromium() else { return };
    let drawing = |width: u32| {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"60mm\" viewBox=\"0 0 {width} 60\">\
             <rect width=\"{width}\" height=\"60\" fill=\"none\" stroke=\"black\"/></svg>"
        )
    };
    let job = JOB.replace("rectangle = { width = 90, height = 40 }", "drawing = { file = \"cleat.svg\" }");
    let looking =
        Looking::at(&job.replace("tray = { length = 180, width = 120, height = 30 }", "circle = { diameter = 90 }"));
    let mut browser = Browser::start(&chromium);
    let tab = browser.open(&looking.address);
    browser.until(&tab, "document.getElementById('troubles').textContent.includes('cleat.svg')");
    std::fs::write(looking.path("cleat.svg"), drawing(80)).unwrap();
    browser.until(&tab, IS_GOOD);
    browser.value(&tab, "const list = document.getElementById('choose'); list.value = '1'; list.dispatchEvent(new Event('change')); true");
    browser.until(&tab, &format!("{FLAT}.includes('80 mm')"));
    std::fs::write(looking.path("cleat.svg"), drawing(84)).unwrap();
    browser.until(&tab, &format!("{FLAT}.includes('84 mm')"));
    assert_eq!(looking.interrupt().0, Some(0));
}

#[test]
fn the_folded_part_is_turned_with_keys_and_mouse() {
    let Some(chromium) = chromium() else { return };
    let looking = Looking::at(JOB);
    let mut browser = Browser::start(&chromium);
    let tab = browser.open(&looking.address);
    const FOLDED: &str = "document.getElementById('folded').innerHTML";
    browser.until(&tab, &format!("{FOLDED}.includes('<svg')"));
    let first = browser.text(&tab, FOLDED);
    browser.value(&tab, "document.getElementById('folded').focus()");
    browser.press(&tab, "ArrowLeft");
    browser.until(&tab, &format!("{FOLDED} !== {}", json!(first)));
    let turned = browser.text(&tab, FOLDED);
    browser.press(&tab, "ArrowUp");
    browser.until(&tab, &format!("{FOLDED} !== {}", json!(turned)));
    browser.press(&tab, "Home");
    browser.until(&tab, &format!("{FOLDED} === {}", json!(first)));
    let place = browser.value(
        &tab,
        "(() => { const box = document.getElementById('folded'); box.scrollIntoView({ block: 'center' }); \
         const at = box.getBoundingClientRect(); return [at.left + at.width / 2, at.top + at.height / 2]; })()",
    );
    let (x, y) = (place[0].as_f64().unwrap(), place[1].as_f64().unwrap());
    browser.drag(&tab, (x, y), (x + 60.0, y + 20.0));
    browser.until(&tab, &format!("{FOLDED} !== {}", json!(first)));
    browser.value(&tab, "document.querySelector('.turns [data-back]').click()");
    browser.until(&tab, &format!("{FOLDED} === {}", json!(first)));
    assert!(browser.faults().is_empty(), "{:#?}", browser.faults());
    assert_eq!(looking.interrupt().0, Some(0));
}

#[test]
fn names_with_markup_are_names() {
    let Some(chromium) = chromium() else { return };
    let name = "<img src=x onerror=document.title=1> & \\\"co\\\" </script>";
    let looking = Looking::at(&JOB.replace("nail tray", name).replace("Bench tray", name).replace("drop 3", name));
    let mut browser = Browser::start(&chromium);
    let tab = browser.open(&looking.address);
    browser.until(&tab, "Number(document.documentElement.getAttribute('data-nested')) > 0");
    let plain = name.replace('\\', "");
    assert_eq!(browser.text(&tab, "document.getElementById('title').textContent"), plain);
    assert_eq!(browser.text(&tab, "document.getElementById('choose').options[0].textContent"), format!("2 × {plain}"));
    assert_eq!(browser.value(&tab, "document.querySelectorAll('img').length"), json!(0));
    assert!(browser.text(&tab, "document.title").starts_with('<'));
    looking.save(&JOB.replace("nail tray\"", "<b>x</b>\"\n\"<i>y</i>\" = 3"));
    browser.until(&tab, &format!("!{IS_GOOD}"));
    assert_eq!(browser.value(&tab, "document.querySelectorAll('#trouble i, #trouble b').length"), json!(0));
    assert!(browser.faults().is_empty(), "{:#?}", browser.faults());
    assert_eq!(looking.interrupt().0, Some(0));
}

/// A job as large as one may be, in parts and bytes.
fn large_job(parts: usize, bytes: usize) -> String {
    let mut text = JOB.to_owned();
    for number in 0..parts {
        text.push_str(&format!(
            "[[parts]]\nname = \"cleat {number}\"\nrectangle = {{ width = {}, height = 20 }}\n",
            30 + number % 90
        ));
    }
    while text.len() + 100 < bytes {
        text.push_str("# ");
        text.push_str(&"remark ".repeat(13));
        text.push('\n');
    }
    text
}

#[test]
fn the_largest_job_is_shown_and_a_larger_one_refused() {
    let Some(chromium) = chromium() else { return };
    let looking = Looking::at(&large_job(9_000, 4 << 20));
    let mut browser = Browser::start(&chromium);
    let tab = browser.open(&looking.address);
    browser.until(&tab, "document.getElementById('choose').options.length === 9002");
    browser.until(&tab, &format!("{FLAT}.includes('front')"));
    looking.save(&large_job(10, (4 << 20) + 4096));
    browser.until(&tab, &format!("!{IS_GOOD}"));
    let told = browser.text(&tab, "document.getElementById('troubles').textContent");
    assert!(told.contains("at most 4194304 are read"), "{told}");
    assert_eq!(looking.interrupt().0, Some(0));
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

#[test]
fn on_a_phone_light_and_dark_it_reads_well() {
    let (Some(chromium), Some(axe)) = (chromium(), axe()) else { return };
    // With a fault too, so that everything shows.
    let looking = Looking::at(JOB);
    let mut browser = Browser::start(&chromium);
    let tab = browser.open(&looking.address);
    browser.until(&tab, "Number(document.documentElement.getAttribute('data-nested')) > 0");
    looking.save(&JOB.replace("tray = { length", "tray = { lenght"));
    browser.until(&tab, &format!("!{IS_GOOD}"));
    browser.value(&tab, &format!("{axe}; true"));
    for scheme in ["light", "dark"] {
        let feature = json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] });
        browser.ask(&tab, "Emulation.setEmulatedMedia", feature);
        for width in [1280, 390] {
            let device = json!({ "width": width, "height": 844, "deviceScaleFactor": 1, "mobile": width < 500 });
            browser.ask(&tab, "Emulation.setDeviceMetricsOverride", device);
            browser.until(&tab, &format!("innerWidth === {width}"));
            let wide = browser.value(&tab, "document.documentElement.scrollWidth");
            assert!(wide.as_f64().unwrap() <= f64::from(width), "{scheme}: {wide} of {width}");
            let found = browser.text(
                &tab,
                "axe.run(document, { resultTypes: ['violations'] }).then((found) => JSON.stringify({ passes: \
                 found.passes.length, violations: found.violations.map((one) => one.id + ': ' + one.nodes.map((n) => \
                 n.html).slice(0, 3)) }))",
            );
            let found: serde_json::Value = serde_json::from_str(&found).unwrap();
            assert!(found["passes"].as_u64() > Some(10), "{found}");
            assert_eq!(found["violations"], json!([]), "{scheme}, {width}: {found:#}");
        }
    }
    assert_eq!(looking.interrupt().0, Some(0));
}

#[test]
fn a_port_in_use_and_a_file_that_is_not_there_are_told() {
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("job.toml"), JOB).unwrap();
    let run = |arguments: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_dropwise"));
        let output = command.arg("look").args(arguments).current_dir(folder.path()).output().unwrap();
        (output.status.code(), String::from_utf8(output.stderr).unwrap())
    };
    let (code, said) = run(&["job.toml", "--port", &port]);
    assert!(
        code == Some(2) && said.contains("is in use by another program") && said.contains("leave it out"),
        "{said}"
    );
    let (code, said) = run(&["jib.toml"]);
    assert!(code == Some(2) && said.contains("jib.toml: there is no such file"), "{said}");
    for bad in ["0", "65536", "-1", "http"] {
        let (code, said) = run(&["job.toml", &format!("--port={bad}")]);
        assert!(code == Some(2) && said.contains("65535"), "{bad}: {said}");
    }
}
