//! What is told of a drawing reaches everyone who opens the plan, and a picture shows what was understood.

use std::process::Command;

use dropwise_cli::Exit;
use dropwise_formats::drawing::{ColourChoice, DrawingOptions, LayerUse};
use dropwise_formats::svg::read_svg;

use crate::shop::{JOB, Shop};
use crate::tools;

/// A job whose part is a drawing without a unit: a plate with a hole, and a frame on a layer of its own.
fn shop(more: &str) -> Shop {
    let shop = Shop::new();
    let rectangle = |layer: &str, [x, y, r, t]: [i32; 4]| {
        format!("0|LWPOLYLINE|8|{layer}|90|4|70|1|10|{x}|20|{y}|10|{r}|20|{y}|10|{r}|20|{t}|10|{x}|20|{t}|")
    };
    let drawing = format!(
        "0|SECTION|2|ENTITIES|{}{}0|CIRCLE|8|Feet|10|60|20|40|40|9|{more}0|ENDSEC|0|EOF|",
        rectangle("Layer 1", [-40, -40, 200, 160]),
        rectangle("Feet", [0, 0, 120, 80])
    );
    shop.write("foot.dxf", drawing.replace('|', "\n"));
    let keys = "drawing = { file = \"foot.dxf\" }";
    shop.write("job.toml", JOB.replace("rectangle = { width = 120, height = 80 }", keys));
    shop
}

#[test]
fn notes_stand_in_plan_report_and_cut_sheet_and_are_told_even_when_quiet() {
    let shop = shop("");
    let run = shop.run("nest @job.toml --rounds 0 --quiet --out @plan");
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    let told = ["left out as a frame", "the file names no unit", "in inches 3048 x 2032 mm"];
    for words in told {
        assert!(run.stderr.contains(words), "{words} in {}", run.stderr);
        assert!(shop.read("plan/plan.json").contains(words), "{words} in the plan");
        assert!(shop.read("plan/report.html").contains(words), "{words} in the report");
    }
    assert!(!run.stderr.contains(": note:"), "{}", run.stderr);
    assert!(!shop.read("plan/plan.json").contains(shop.path("").to_str().unwrap()), "no folder of this machine");
    // Drawn anew from the plan alone, they are still there.
    let run = shop.run("draw @plan --kind report --out @again");
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    assert!(shop.read("again/report.html").contains("left out as a frame"));
    if let Some(pdftotext) = tools::find("pdftotext") {
        let output = Command::new(pdftotext).arg(shop.path("plan/cut-sheets.pdf")).arg("-").output().unwrap();
        let text = String::from_utf8(output.stdout).unwrap();
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            flat.contains("How drawings were read")
                && flat.contains("CHECK before cutting how the drawing of")
                && flat.contains("left out as a frame"),
            "{flat}"
        );
    }
}

#[test]
fn check_tells_the_notes_and_draws_what_was_understood() {
    let shop = shop("");
    let run = shop.run("check @job.toml --json --out @seen");
    assert!(
        run.stdout.contains("\"is_warning\": true") && run.stdout.contains("left out as a frame"),
        "{}",
        run.stdout
    );
    let picture = shop.read("seen/foot-understood.svg");
    assert!(picture.contains("1 outline, 1 opening, 120.00 x 80.00 mm over all"), "{picture}");
    // The picture is a drawing again: without the colour of what was left out, its metal is the part.
    let gone = ColourChoice::parse("#c2187a").unwrap();
    let rules = DrawingOptions::default().rules.with_colour(gone, LayerUse::Ignore);
    let read = read_svg(&picture, &DrawingOptions { rules, ..DrawingOptions::default() }).unwrap();
    assert!(read.shapes.iter().any(|drawn| (drawn.shape.bounds().width() - 120.0).abs() < 1e-3), "{:?}", read.notes);
}

#[test]
fn a_refused_drawing_has_a_picture_too_and_its_message_is_short() {
    let lines: String = (0..300)
        .map(|i| format!("0|LINE|8|grid|10|{}|20|5|11|{}|21|70|", 3 + i % 100, 3 + i % 100 + i / 100))
        .collect();
    let shop = shop(&lines);
    let run = shop.run("check @job.toml --out @seen");
    assert_eq!(run.exit, Exit::BadInput);
    assert!(run.stderr.lines().count() <= 40, "{}", run.stderr);
    assert!(run.stderr.contains("more like it") && !run.stderr.contains('\u{fffd}'), "{}", run.stderr);
    assert!(shop.read("seen/foot-understood.svg").contains("<path"), "a picture of the part");
}

#[test]
fn flat_draws_what_was_understood_of_a_job_without_bends() {
    let shop = shop("");
    let run = shop.run("flat @job.toml --out @seen");
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    assert!(run.stderr.contains("No part of this job is bent"), "{}", run.stderr);
    assert!(shop.read("seen/foot-understood.svg").contains("<path"), "a picture of the part");
    // Without pictures there is nothing to tell.
    assert_eq!(shop.run("flat @job.toml").exit, Exit::BadInput);
}
