//! From nothing to a plan: a job file by questions or in one line, and an answer without any file.

use dropwise_cli::Exit;

use crate::rack::{json, ok};
use crate::shop::Shop;

fn tray(more: &[&'static str]) -> Vec<&'static str> {
    let tray = ["jot", "tray", "--length", "220", "--width", "150", "--height", "30"];
    [&tray[..], &["--metal", "mild steel", "--thickness", "1.5"], more].concat()
}

#[test]
fn a_line_of_options_makes_a_job_that_nests() {
    let shop = Shop::new();
    let words =
        tray(&["--cut-with", "plasma", "--piece", "2 of 400 x 300 @ 6.50", "--count", "2", "--out", "@job.toml"]);
    let run = shop.at_rack(&words, None);
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    assert!(run.stderr.contains("dropwise flat DIR/job.toml"), "{}", run.stderr);
    ok(shop.run("check @job.toml"));
    // 220 and 150 over the walls, each wall 30 high: about 280 by 210 flat, less the two bends each way.
    let flat = json(&ok(shop.run("flat @job.toml --json")));
    assert_eq!(flat["parts"][0]["bends"].as_array().map(Vec::len), Some(4));
    let plan = json(&ok(shop.run("nest @job.toml --rounds 2 --json --quiet")));
    assert_eq!(plan["sheets"].as_array().map(Vec::len), Some(2));
}

#[test]
fn questions_make_the_same_job_as_options() {
    let shop = Shop::new();
    let answers = "tray\nmm\nmild steel\n1.5\n2\nplasma\n\n220\n150\n30\n2 of 400 x 300 @ 6.50\n\ny\n";
    let run = shop.at_rack(&["jot", "--out", "@asked.toml"], Some(answers));
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    assert!(run.stderr.contains("tray, laid flat:") && run.stderr.contains("4 bends"), "{}", run.stderr);
    let words =
        tray(&["--cut-with", "plasma", "--piece", "2 of 400 x 300 @ 6.50", "--count", "2", "--out", "@told.toml"]);
    shop.at_rack(&words, None);
    assert_eq!(shop.read("asked.toml").replace("asked", "told"), shop.read("told.toml"));
}

#[test]
fn a_wrong_answer_is_told_and_asked_for_again() {
    let shop = Shop::new();
    let answers = "thing\n12\nbracket\nyards\nin\nunobtainium\nmild steel\nthick\n16 ga\n0\n4\nteeth\n\n\n\
                   three\n0\n-2\n3\n1-1/2\n1 1/4\n1/0\n9/32\n12 x 4 x 3\n\
                   30 x 18 @ free\n30 x\n30 x 18 @ 9.50\n\ny\n";
    let run = shop.at_rack(&["jot", "--out", "@job.toml"], Some(answers));
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    for wanted in ["Type a number from 1 to 9", "Type in or mm", "unobtainium", "no count", "teeth", "3 of 12 x 4"] {
        assert!(run.stderr.contains(wanted), "{wanted}: {}", run.stderr);
    }
    let text = shop.read("job.toml");
    assert!(text.contains("length = \"3\", base = \"1-1/2\", leg = \"1 1/4\""), "{text}");
    ok(shop.run("check @job.toml"));
}

#[test]
fn measures_that_do_not_go_together_are_asked_for_again() {
    let shop = Shop::new();
    // A tray of plate whose walls are lower than the bend itself.
    let answers = "tray\nmm\nmild steel\n6\n\n\n\n200\n100\n3\n200\n100\n60\n\ny\n";
    let run = shop.at_rack(&["jot", "--out", "@job.toml"], Some(answers));
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    assert_eq!(run.stderr.matches("Height of the walls").count(), 2, "{}", run.stderr);
}

#[test]
fn the_end_of_input_and_a_no_leave_nothing_behind() {
    let shop = Shop::new();
    let whole = "tray\nmm\nmild steel\n1.5\n2\nplasma\n\n220\n150\n30\n\nn\n";
    for lines in 0..=whole.lines().count() {
        let answers: String = whole.lines().take(lines).map(|line| format!("{line}\n")).collect();
        let run = shop.at_rack(&["jot", "--out", "@job.toml"], Some(&answers));
        assert_eq!(run.exit, Exit::BadInput, "{lines}: {}", run.stderr);
        assert!(run.stderr.ends_with("nothing was written\n"), "{}", run.stderr);
        assert!(!shop.path("job.toml").exists());
    }
}

#[test]
fn without_a_terminal_the_missing_options_are_named() {
    let shop = Shop::new();
    let run = shop.run("jot bracket --length 80");
    assert_eq!(run.exit, Exit::BadInput);
    let told = run.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("--metal 'mild steel' --thickness 2 --base 40 --leg 30"), "{}", run.stderr);
    let run = shop.run("jot");
    assert!(run.exit == Exit::BadInput && run.stderr.contains("bracket, channel, tray"), "{}", run.stderr);
    let run = shop.run("jot tray --lip 20");
    assert!(run.exit == Exit::BadInput && run.stderr.contains("--lip: a tray has no such measure"), "{}", run.stderr);
}

#[test]
fn a_file_that_is_there_is_kept() {
    let shop = Shop::new();
    shop.write("job.toml", "mine");
    let run = shop.at_rack(&tray(&["--out", "@job.toml"]), None);
    assert_eq!(run.exit, Exit::BadInput, "{}", run.stderr);
    assert_eq!(shop.read("job.toml"), "mine");
}

#[test]
fn a_name_with_markup_stays_a_name() {
    let shop = Shop::new();
    let run = shop.at_rack(&tray(&["--name", "a \"b\" <i> # c", "--out", "-"]), None);
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    let read: toml::Table = run.stdout.parse().expect("a job file");
    assert_eq!(read["parts"][0]["name"].as_str(), Some("a \"b\" <i> # c"));
}

#[test]
fn yes_and_no_at_the_yard() {
    let shop = Shop::new();
    let run = shop.at_rack(&["fits", "2 of 120 x 80", "60 dia", "--on", "300 x 200", "--seconds", "2"], None);
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    assert!(run.stdout.starts_with("Yes: all 3 parts fit on 300 x 200.\n"), "{}", run.stdout);
    assert!(run.stdout.contains("A: 2 of plate 120 x 80.") && run.stdout.contains("Left over"), "{}", run.stdout);
    assert!(run.stderr.contains("taken as mm"), "{}", run.stderr);
    let run = shop.at_rack(&["fits", "12-3/8 x 4", "--on", "10 x 9", "--seconds", "1"], None);
    assert_eq!(run.exit, Exit::NotAllPlaced, "{}", run.stderr);
    assert!(
        run.stdout.starts_with("No: 1 of 1 finds no room.") && run.stdout.contains("fits on no sheet"),
        "{}",
        run.stdout
    );
    assert!(run.stderr.contains("taken as in"), "{}", run.stderr);
}

#[test]
fn the_cheaper_piece_is_taken_and_weighed() {
    let shop = Shop::new();
    let words = ["fits", "200 x 100", "--on", "300 x 200 @ 9", "--on", "250 x 150 @ 4.50", "--unit", "mm"];
    let run = shop.at_rack(&[&words[..], &["--thickness", "3", "--seconds", "1"]].concat(), None);
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    assert!(run.stdout.contains("fits on 250 x 150") && run.stdout.contains("It costs 4.50"), "{}", run.stdout);
    // 250 × 150 × 3 mm of steel of 7.85 g/cm³ (EN 1993-1-1, 3.2.6; from memory) is 0.883 kg.
    assert!(run.stdout.contains("0.883 kg"), "{}", run.stdout);
    let run = shop.at_rack(&[&words[..], &["--json", "--seconds", "1"]].concat(), None);
    let answer = json(&ok(run));
    assert_eq!((answer["fits"].as_bool(), answer["pieces"].as_array().map(Vec::len)), (Some(true), Some(1)));
}

#[test]
fn what_is_no_size_is_told_all_at_once() {
    let shop = Shop::new();
    let run = shop.at_rack(&["fits", "12 x 4 x 3", "lots", "4 x 4 @ 3", "--on", "twelve"], None);
    assert_eq!(run.exit, Exit::BadInput);
    for wanted in ["\"12 x 4 x 3\"", "3 of 12 x 4", "\"lots\"", "a price belongs to a piece", "\"twelve\""] {
        assert!(run.stderr.contains(wanted), "{wanted}: {}", run.stderr);
    }
    let run = shop.at_rack(&["fits", "12 x 4", "--on", "30 x 18", "--cut-with", "teeth"], None);
    assert!(run.exit == Exit::BadInput && run.stderr.contains("teeth"), "{}", run.stderr);
    let run = shop.at_rack(&["fits", "missing.dxf", "--on", "30 x 18"], None);
    assert!(run.exit == Exit::BadInput && run.stderr.contains("no such file"), "{}", run.stderr);
}
