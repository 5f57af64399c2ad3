//! Job files that cannot be read, as the user is told: place, problem, cure, all at once, and nothing is made. What the
//! reader says of each fault is tested where it is written; here are the ways a file as a whole goes wrong.

use std::fmt::Write as _;

use dropwise_cli::Exit;

use crate::shop::{JOB, Shop};

#[test]
fn job_files() {
    let changed = |from: &str, to: &str| {
        assert!(JOB.contains(from), "{from}");
        JOB.replace(from, to).into_bytes()
    };
    let cases: [(&str, Vec<u8>); 24] = [
        ("an empty file", Vec::new()),
        ("no text", b"\xff\xfe\x00name".to_vec()),
        ("a drawing instead of a job", b"  0\r\nSECTION\r\n  2\r\nENTITIES\r\n".to_vec()),
        ("a program instead of a job", b"\x7fELF\x02\x01\x01\x00".to_vec()),
        ("half of a file", JOB.as_bytes()[..JOB.len() - 40].to_vec()),
        ("a misspelled key", changed("quantity", "quantitiy")),
        ("a misspelled table", changed("[[sheets]]", "[[sheet]]")),
        ("two of a name", format!("{JOB}\n[[sheets]]\nname = \"drop 4\"\ncircle = {{ diameter = 50 }}\n").into_bytes()),
        ("a length that is none", changed("width = 120", "width = \"12 3/ in\"")),
        ("a decimal comma", changed("width = 120", "width = \"3,2 mm\"")),
        ("a price below zero", changed("price = 9.50", "price = -9.50")),
        ("a quantity of none", changed("quantity = 3", "quantity = 0")),
        ("not a number", changed("width = 120", "width = nan")),
        ("endless", changed("width = 120", "width = inf")),
        ("absurdly large", changed("width = 120", "width = 1e300")),
        ("an unknown material", changed("mild steel", "mithril")),
        ("a thickness of nothing", changed("3 mm", "0 mm")),
        ("a web narrower than the kerf", changed("web = 4", "web = 1")),
        (
            "a drawing that is not there",
            changed("rectangle = { width = 120, height = 80 }", "drawing = { file = \"foot.dxf\" }"),
        ),
        ("a hole larger than its part", changed("quantity = 3", "holes = [{ diameter = 500 }]")),
        ("no parts", changed("[[parts]]", "[[sheets]]")),
        ("a name in another's clothes", changed("\"foot\"", "\"\\u001b[2Jfoot\"")),
        (
            "several faults",
            changed("mild steel", "mithril")
                .split_off(0)
                .into_iter()
                .chain(*b"colour = 3\n[[parts]]\nname = 3\n")
                .collect(),
        ),
        ("JSON cut off in the middle", b"{\"name\": \"Bench legs\", \"parts\": [{\"name\": \"fo".to_vec()),
    ];
    let shop = Shop::new();
    let mut page = String::new();
    for (name, bytes) in &cases {
        let file = if name.starts_with("JSON") { "job.json" } else { "job.toml" };
        shop.write(file, bytes);
        let run = shop.run(&format!("nest @{file} --rounds 0 --out @plan"));
        assert_eq!((run.exit, run.stdout.as_str()), (Exit::BadInput, ""), "{name}\n{}", run.stderr);
        assert!(run.stderr.starts_with(&format!("DIR/{file}")), "{name}: {}", run.stderr);
        assert!(!shop.path("plan").exists(), "{name}: a bad job made a folder");
        assert!(!run.stderr.contains('\x1b'), "{name}");
        let _ = writeln!(page, "# {name}\n{}", run.stderr);
    }
    insta::assert_snapshot!(page);
}

#[test]
fn files_that_are_no_files() {
    let shop = Shop::new();
    std::fs::create_dir(shop.path("folder")).unwrap();
    shop.write("huge.toml", vec![b'#'; 5 << 20]);
    let mut page = String::new();
    for name in ["missing.toml", "folder", "missing/job.toml", "huge.toml"] {
        let run = shop.run(&format!("nest @{name}"));
        assert_eq!(run.exit, Exit::BadInput, "{name}");
        let _ = writeln!(page, "# {name}\n{}", run.stderr);
    }
    insta::assert_snapshot!(page);
}
