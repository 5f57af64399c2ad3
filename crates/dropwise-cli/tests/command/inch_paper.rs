//! A job of bent parts told in inches: its paper speaks inches first, and no text of it is struck.

use dropwise_cli::Exit;

use crate::paper::{drawn, files, pages};
use crate::seen;
use crate::shop::Shop;
use crate::tools;

const JOB: &str = r#"# The second tool shed of the Plum Lane Allotment Society, told in inches.
name = "Second shed, bent parts"
unit = "in"
currency = "USD"

[defaults]
material = "mild steel"
thickness = "16 ga"

[clearances]
process = "plasma"

[rates]
cutting = "0.60 per m"
bend = 1.25
hole = 0.35

[bending]
die = "1/2"

[[parts]]
name = "rake hanger"
quantity = 6
angle_bracket = { length = 3, base = "1 5/8", leg = "1 1/4" }
holes = [{ diameter = "9/32", at = { left = "5/8", bottom = "1/2" } }, { diameter = "9/32", at = { right = "5/8", bottom = "1/2" } }]

[[parts]]
name = "hose channel"
quantity = 2
channel = { length = 14, web = 2, flange = 1 }
hole_rows = [{ diameter = "7/32", count = 4, overall = 12 }]

[[parts]]
name = "seed tray"
quantity = 2
tray = { length = 7, width = 5, height = "1 1/4" }
bending = { join = "butted", gap = "1/64", corner_relief = "round" }

[[parts]]
name = "post shoe"
quantity = 2
thickness = "1/8"
hat_section = { length = 6, crown = 2, height = "1 1/4", brim = 1 }
holes = [{ diameter = "3/8" }]
bending = { die = "7/8" }

[[sheets]]
name = "sheet 16 ga"
rectangle = { width = 48, height = 24 }
price = 21.00
location = "rack B"

[[sheets]]
name = "offcut 1/8"
thickness = "1/8"
rectangle = { width = 20, height = "16 1/2" }
price = 6.00
location = "rack B"
"#;

/// A text without what stands in parentheses: there the other unit may stand.
fn outside_parentheses(text: &str) -> String {
    let mut depth = 0;
    let kept = text.chars().filter(|&c| {
        depth += i32::from(c == '(');
        let is_outside = depth == 0;
        depth -= i32::from(c == ')');
        is_outside
    });
    kept.collect()
}

#[test]
fn an_inch_job_speaks_inches_first_on_every_page() {
    let shop = Shop::new();
    shop.write("job.toml", JOB);
    let nest = shop.run("nest @job.toml --rounds 0 --out @plan");
    assert_eq!(nest.exit, Exit::Done, "{}", nest.stderr);
    assert!(nest.stdout.contains("mild steel, 1/8 in (3.18 mm)"), "{}", nest.stdout);
    assert!(!outside_parentheses(&nest.stdout).contains(" mm"), "{}", nest.stdout);
    drawn(&shop, "");
    let (Some(cairo), Some(words)) = (tools::find("pdftocairo"), tools::find("pdftotext")) else { return };
    let (mut read, mut found) = (0, Vec::new());
    for path in files(&shop, "plan").into_iter().chain(files(&shop, "plan/templates")) {
        if path.extension().is_none_or(|ending| ending != "pdf") {
            continue;
        }
        let Some(texts) = pages(&path) else { return };
        for (index, text) in texts.iter().enumerate() {
            // Trade sizes and stock in inches; millimetres beside them at most.
            assert!(!outside_parentheses(text).contains(" mm"), "{}, page {}: {text}", path.display(), index + 1);
            let seen = seen::read_page((&cairo, &words), &path, index + 1);
            read += seen.texts.len();
            found.extend(seen.collisions().into_iter().map(|what| format!("{} {}: {what}", path.display(), index + 1)));
        }
    }
    assert!(read > 800, "{read}");
    assert_eq!(found, Vec::<String>::new());
    let report = shop.read("plan/report.html");
    assert!(report.contains("mild steel, 1/8 in (3.18 mm)") && !report.contains("3.18 mm (0.125 in)"));
    let Some(cards) = pages(&shop.path("plan/bend-cards.pdf")) else { return };
    // Dies and holes by their trade size, lengths as a tape shows them.
    for wanted in ["die 1/2 in", "Ø 9/32 in", "1 bend ·", "flat 3 in × 2 3/4 in"] {
        assert!(cards[0].contains(wanted), "{wanted}: {}", cards[0]);
    }
}
