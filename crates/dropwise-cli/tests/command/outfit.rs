//! A shop file by questions or in one line, and man pages.

use dropwise_cli::Exit;

use crate::rack::ok;
use crate::shop::Shop;

const WHOLE: &str = "mm\nplasma, cutoff wheel\n1250 x 2\n3, 5, 6.6\nnone\nnone\n18 kg\npress brake, vise\n1250\n40 tons\n8, 12, 16\ny\n";

fn told() -> [&'static str; 22] {
    [
        "outfit",
        "--unit",
        "mm",
        "--cut-with",
        "plasma, cutoff wheel",
        "--shear",
        "1250 x 2",
        "--drills",
        "3, 5, 6.6",
        "--hole-saws",
        "none",
        "--punches",
        "none",
        "--lifts",
        "18 kg",
        "--bends-on",
        "press brake, vise",
        "--bend-length",
        "1250",
        "--force",
        "40 tons",
        "--dies=8, 12, 16",
    ]
}

#[test]
fn questions_make_the_same_shop_as_options() {
    let shop = Shop::new();
    let run = shop.at_rack(&["outfit", "--out", "@asked.toml"], Some(WHOLE));
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    assert!(run.stderr.contains("dropwise check JOB --shop DIR/asked.toml"), "{}", run.stderr);
    let words = [&told()[..], &["--out", "@told.toml"]].concat();
    assert_eq!(shop.at_rack(&words, None).exit, Exit::Done);
    assert_eq!(shop.read("asked.toml"), shop.read("told.toml"));
    // What was told holds: a hole of 20 mm has no tool now, and the checks say what to do.
    shop.write(
        "job.toml",
        "defaults = { material = \"mild steel\", thickness = \"2 mm\" }\nclearances = { process = \"cutoff wheel\" }\n\
         [[parts]]\nname = \"a\"\nrectangle = { width = 90, height = 60 }\nholes = [{ diameter = 20 }]\n",
    );
    let usual = shop.run("check @job.toml");
    let own = shop.run("check @job.toml --shop @told.toml");
    assert!(usual.stdout != own.stdout && own.stdout.contains("No hole saws:"), "{}{}", usual.stdout, own.stdout);
}

#[test]
fn three_wrong_answers_to_each_question() {
    let shop = Shop::new();
    let answers = "yards\n7\nfeet and a bit\nmm\n\
                   teeth\nplasma cutoff\n12\nplasma\n\
                   big\n1250\n1250 x thick\n1250 x 2\n\
                   small\n0\n-3, 5\n3, 5, 6.6\n\
                   round\n1/0\n0\n20, 25\n\
                   x\n,\n0, 0\nnone\n\
                   strong\n-5 kg\n23\n23 kg\n\
                   hammer\npress\n1250\nbox and pan, shop press\n\
                   wide\n0\n,,\n25, 50\n\
                   long\n0\n-1\n500\n\
                   strong\n20\n0 tons\n20 tons\n\
                   V\n0\n;\n12, 16\n\
                   y\n";
    let run = shop.at_rack(&["outfit", "--out", "@shop.toml"], Some(answers));
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    // Each wrong answer is answered, and its question asked again.
    let text = shop.read("shop.toml");
    for wanted in
        ["cutters = [\"plasma\"]", "drills = [3, 5, 6.6]", "hole_saws = [20, 25]", "fingers = [25, 50]", "[shop_press]"]
    {
        assert!(text.contains(wanted), "{wanted}: {text}");
    }
    for question in [
        "What cuts",
        "Shear:",
        "Drills",
        "Hole saws",
        "Round punches",
        "most that one",
        "What bends",
        "fingers (",
        "Openings",
    ] {
        assert_eq!(run.stderr.matches(question).count(), 4, "{question}: {}", run.stderr);
    }
}

#[test]
fn the_end_of_input_and_a_no_leave_no_shop_behind() {
    let shop = Shop::new();
    let whole = WHOLE.replace("y\n", "n\n");
    for lines in 0..=whole.lines().count() {
        let answers: String = whole.lines().take(lines).map(|line| format!("{line}\n")).collect();
        let run = shop.at_rack(&["outfit", "--out", "@shop.toml"], Some(&answers));
        assert_eq!(run.exit, Exit::BadInput, "{lines}: {}", run.stderr);
        assert!(run.stderr.ends_with("nothing was written\n") && !shop.path("shop.toml").exists(), "{}", run.stderr);
    }
    let run = shop.run("outfit");
    assert!(run.exit == Exit::BadInput && run.stderr.contains("--bends-on"), "{}", run.stderr);
    shop.write("shop.toml", "mine");
    let run = shop.at_rack(&["outfit", "--bends-on", "none", "--unit", "in", "--out", "@shop.toml"], None);
    assert!(run.exit == Exit::BadInput && shop.read("shop.toml") == "mine", "{}", run.stderr);
}

#[test]
fn every_kind_of_bender_makes_a_sound_shop() {
    let shop = Shop::new();
    for unit in ["in", "mm"] {
        for bends in [
            "press brake",
            "shop press",
            "leaf",
            "box and pan",
            "vise",
            "none",
            "press brake, shop press",
            "leaf, vise",
        ] {
            let words = ["outfit", "--unit", unit, "--bends-on", bends, "--out", "-"];
            let run = shop.at_rack(&words, None);
            assert_eq!(run.exit, Exit::Done, "{unit}, {bends}: {}", run.stderr);
            assert!(run.stdout.contains(&format!("unit = \"{unit}\"")), "{}", run.stdout);
        }
    }
}

#[test]
fn figures_of_a_bender_that_is_not_there_are_a_slip() {
    let shop = Shop::new();
    for (words, wanted) in [
        (["--bends-on", "vise", "--dies", "8, 12"], "--dies: there is no press to have it"),
        (["--bends-on", "none", "--force", "40 tons"], "--force: there is no press to have it"),
        (["--bends-on", "press brake", "--fingers", "25, 50"], "--fingers: there is no box-and-pan brake"),
    ] {
        let words = [&["outfit", "--unit", "mm"][..], &words, &["--out", "-"]].concat();
        let run = shop.at_rack(&words, None);
        assert!(run.exit == Exit::BadInput && run.stderr.contains(wanted), "{}", run.stderr);
    }
}

/// Every command has a page of its own, which says what its help says.
#[test]
fn man_pages_of_all_commands() {
    let shop = Shop::new();
    let first = ok(shop.run("manual"));
    assert!(
        first.starts_with(".ie")
            && first.contains(".TH DROPWISE 1")
            && first.contains(".SH EXAMPLES\nThree whole jobs"),
        "{first}"
    );
    let run = shop.run("manual --out @man");
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    for (page, wanted) in [
        ("dropwise", "dropwise\\-look(1)"),
        ("dropwise-nest", "\\-\\-from\\-stock"),
        ("dropwise-look", "\\-\\-port"),
        ("dropwise-stock-add", "\\-\\-rectangle"),
        ("dropwise-outfit", "\\-\\-hole\\-saws"),
    ] {
        let text = shop.read(&format!("man/{page}.1"));
        assert!(text.contains(wanted), "{page} lacks {wanted}: {text}");
        assert!(!text.contains('\x1b'), "{page} is coloured");
    }
    // A general program that sets man pages finds nothing to complain of.
    let Some(groff) = crate::tools::find("groff") else { return };
    for entry in std::fs::read_dir(shop.path("man")).unwrap() {
        let path = entry.unwrap().path();
        let output =
            std::process::Command::new(&groff).args(["-man", "-Tutf8", "-ww", "-z"]).arg(&path).output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success() && !said.contains("error"), "{}: {said}", path.display());
    }
}
