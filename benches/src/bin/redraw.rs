//! From a save to the picture on the live page: the demonstration's bent job, in a real browser without a window.
//!
//! Each time one length of a part is changed and the file saved; the clock stops in the first frame after the page has
//! taken the new picture in. Measured with the job's sheets left out, so that nothing is nested beside it, and with
//! them, while the nest of the save before is still being improved.
//!
//! ```text
//! cargo build --release && cargo run --release -p dropwise-benches --bin redraw
//! ```

#![expect(clippy::print_stdout, reason = "what is measured is printed")]

#[path = "../../../crates/dropwise-cli/tests/live/browser.rs"]
mod browser;

use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Instant;

use browser::Browser;
use clap::Parser;
use serde_json::json;

#[derive(Parser)]
struct Arguments {
    /// Saves that are measured for each part
    #[arg(long, default_value_t = 30)]
    times: usize,
    /// The command; beside this program when left out
    #[arg(long)]
    command: Option<PathBuf>,
    /// The browser
    #[arg(long, default_value = "/usr/bin/chromium")]
    browser: PathBuf,
}

/// Parts by their place in the job: a simple one, and the one with most bends.
const PARTS: [(&str, usize); 2] = [("angle bracket", 0), ("grinder table", 7)];

fn main() {
    let arguments = Arguments::parse();
    let command = arguments
        .command
        .clone()
        .unwrap_or_else(|| std::env::current_exe().expect("a program knows where it is").with_file_name("dropwise"));
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../data-demo");
    let job = std::fs::read_to_string(demo.join("bent.toml")).expect("the demonstration is there");
    let without = job.split("[[sheets]]").next().unwrap_or_default().to_owned();
    println!(
        "{:<28} {:>8} {:>8} {:>8}  ms from save to picture, {} saves",
        "", "median", "quickest", "slowest", arguments.times
    );
    for (name, text) in [("without the nest", &without), ("while nesting", &job)] {
        for (part, index) in PARTS {
            let mut times = measure(&arguments, &command, &demo, text, index);
            times.sort_by(f64::total_cmp);
            let (median, last) = (times[times.len() / 2], times[times.len() - 1]);
            println!("{:<28} {median:>8.0} {:>8.0} {last:>8.0}", format!("{name}, {part}"), times[0]);
        }
    }
}

/// The command at work; ended with this value.
struct Looking(Child);

impl Drop for Looking {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn measure(arguments: &Arguments, command: &Path, demo: &Path, text: &str, part: usize) -> Vec<f64> {
    let folder = tempfile::tempdir().expect("a folder can be made");
    std::fs::copy(demo.join("test-strips.toml"), folder.path().join("test-strips.toml")).expect("it can be copied");
    let file = folder.path().join("bent.toml");
    std::fs::write(&file, text).expect("it can be written");
    let mut process = Command::new(command)
        .arg("look")
        .arg(&file)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("it starts");
    let mut address = String::new();
    BufReader::new(process.stdout.take().expect("it was piped")).read_line(&mut address).expect("it prints an address");
    let _looking = Looking(process);
    let mut browser = Browser::start(&arguments.browser);
    let tab = browser.open(address.trim());
    browser.until(&tab, "document.documentElement.hasAttribute('data-drawn')");
    let choose = format!(
        "const list = document.getElementById('choose'); list.value = '{part}'; list.dispatchEvent(new Event('change')); true"
    );
    browser.value(&tab, &choose);
    browser.ask(&tab, "Runtime.addBinding", json!({ "name": "drawn" }));
    browser.value(
        &tab,
        "new MutationObserver(() => requestAnimationFrame(() => drawn(document.documentElement.getAttribute('data-drawn')))) \
         .observe(document.documentElement, { attributes: true, attributeFilter: ['data-drawn'] }); true",
    );
    browser.until(&tab, "document.getElementById('checked').textContent.includes('to stop at')");
    let changed = |step: usize| {
        text.replace("length = 80, base", &format!("length = {}, base", 81 + step % 7))
            .replace("length = 320, width", &format!("length = {}, width", 321 + step % 7))
    };
    let mut times = Vec::with_capacity(arguments.times);
    for step in 0..arguments.times {
        let text = changed(step);
        // The number of the reading that is shown. A page may draw one reading more than once.
        let before = browser.value(&tab, "document.documentElement.getAttribute('data-drawn')");
        let start = Instant::now();
        std::fs::write(&file, text).expect("it can be written");
        while Some(browser.called("drawn").as_str()) == before.as_str() {}
        times.push(start.elapsed().as_secs_f64() * 1e3);
        // Until the checks are through, as somebody looks before the next change.
        browser.until(&tab, "document.getElementById('checked').textContent.includes('to stop at')");
        std::thread::sleep(std::time::Duration::from_millis(250));
    }
    times
}
