//! A gauge and a fraction within the mill's tolerance of each other: offered, taken where that is asked for, and the flat
//! pattern laid anew.

use dropwise_cli::Exit;
use serde_json::Value;

use crate::shop::{Run, Shop};

/// A bent part in a thickness, its shop and its sheets.
fn job(thickness: &str, sheets: &str) -> String {
    format!(
        "unit = \"in\"\nshop = \"shop.toml\"\ndefaults = {{ material = \"mild steel\", thickness = \"{thickness}\" }}\n\
         clearances = {{ kerf = 0.1, web = 0.1, margin = 0.2 }}\n[[parts]]\nname = \"shelf bracket\"\n\
         angle_bracket = {{ length = 6, base = 4, leg = 3 }}\n{sheets}"
    )
}

/// A job in 11 ga and one in 1/8 in; a rack with a drop of 1/8 in; a yard that has 1/8 in; two shops with other dies.
fn shop() -> Shop {
    let shop = Shop::new();
    shop.write("gauge.toml", job("11 ga", ""));
    shop.write("eighth.toml", job("1/8 in", ""));
    shop.write("shop.toml", "unit = \"in\"\n[brake]\ndies = [1]\n");
    shop.write("narrow.toml", "unit = \"in\"\n[brake]\ndies = [0.75]\n");
    shop.write(
        "yard.csv",
        "name,seller,material,thickness,length,width,price\noffcut,Millrace Yard,mild steel,1/8 in,14 in,12 in,9.00\n",
    );
    let add = ["stock", "add", "--material", "mild steel", "--thickness", "1/8in", "--rectangle", "14inx12in"];
    let add: Vec<&str> = add.into_iter().chain(["--price", "4"]).collect();
    done(&shop.at_rack(&add, None));
    shop
}

fn done(run: &Run) -> &Run {
    assert_eq!(run.exit, Exit::Done, "{}{}", run.stdout, run.stderr);
    run
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).expect("JSON")
}

/// Width and height of the first part's flat pattern, from a plan.
fn flat_size(plan: &Value) -> [f64; 2] {
    let points = plan["parts"][0]["shape"]["outline"].as_array().expect("an outline");
    ["x", "y"].map(|axis| {
        let read = || points.iter().map(|point| point[axis].as_f64().expect("a number"));
        read().fold(f64::NEG_INFINITY, f64::max) - read().fold(f64::INFINITY, f64::min)
    })
}

/// The same from the job told in 1/8 in itself, by `flat`.
fn told_in_eighths(shop: &Shop, with: &[&str]) -> [f64; 2] {
    let words: Vec<&str> = ["flat", "@eighth.toml", "--json"].into_iter().chain(with.iter().copied()).collect();
    let flat = json(&done(&shop.at_rack(&words, None)).stdout);
    let size = flat["parts"][0]["flat_size"].as_array().expect("a size");
    [0, 1].map(|index| size[index].as_f64().expect("a number"))
}

fn assert_alike(one: [f64; 2], other: [f64; 2]) {
    assert!((0..2).all(|axis| (one[axis] - other[axis]).abs() < 1e-6), "{one:?} {other:?}");
}

fn in_one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn nest_offers_the_near_thickness_and_takes_it_when_asked() {
    let shop = shop();
    let nest = ["nest", "@gauge.toml", "--from-stock", "--rounds", "1", "--json"];
    let offered = shop.at_rack(&nest, None);
    assert_eq!(offered.exit, Exit::NotAllPlaced, "{}", offered.stderr);
    let said = in_one_line(&offered.stderr);
    assert!(said.contains("shelf bracket: wants mild steel, 11 ga") && said.contains("--near-thickness"), "{said}");

    for with in [&[][..], &["--shop", "@narrow.toml"]] {
        let words: Vec<&str> = nest.into_iter().chain(["--near-thickness"]).chain(with.iter().copied()).collect();
        let taken = shop.at_rack(&words, None);
        let said = in_one_line(&done(&taken).stderr);
        assert!(
            said.contains("instead of mild steel, 11 ga") && said.contains("flat patterns laid anew for it"),
            "{said}"
        );
        let plan = json(&taken.stdout);
        assert!((plan["parts"][0]["thickness"].as_f64().expect("a thickness") - 3.175).abs() < 1e-9);
        assert_alike(flat_size(&plan), told_in_eighths(&shop, with));
    }
    // By hand: another die makes another radius, and so another flat pattern.
    let [wide, narrow] = [&[][..], &["--shop", "@narrow.toml"]].map(|with| told_in_eighths(&shop, with));
    assert!((wide[0] - narrow[0]).abs() + (wide[1] - narrow[1]).abs() > 0.1, "{wide:?} {narrow:?}");
}

#[test]
fn nothing_is_taken_instead_of_the_thickness_that_is_there() {
    let shop = shop();
    shop.write("own.toml", job("11 ga", "[[sheets]]\nname = \"own\"\nrectangle = { width = 12, height = 10 }\n"));
    shop.write(
        "both.toml",
        format!(
            "{}[[sheets]]\nname = \"own\"\nrectangle = {{ width = 12, height = 10 }}\n[[sheets]]\nname = \"near\"\n\
             thickness = \"1/8 in\"\nrectangle = {{ width = 12, height = 10 }}\n",
            job("11 ga", "")
        ),
    );
    let [own, both] = ["own", "both"].map(|name| {
        let run = shop.run(&format!("nest @{name}.toml --near-thickness --rounds 1 --json"));
        flat_size(&json(&done(&run).stdout))
    });
    assert_alike(own, both);
}

#[test]
fn buy_weighs_offers_of_a_near_thickness() {
    let shop = shop();
    let offered = shop.run("buy @gauge.toml --offers @yard.csv --rounds 1");
    assert_ne!(offered.exit, Exit::Done);
    let said = in_one_line(&offered.stderr);
    assert!(said.contains("1 sheet of mild steel, 1/8 in (3.18 mm) would do as well"), "{said}");
    for with in ["", "--shop @narrow.toml"] {
        let line = format!("buy @gauge.toml --offers @yard.csv --rounds 1 --near-thickness --json --out @plan {with}");
        let taken = shop.run(&line);
        let told = json(&done(&taken).stdout);
        assert_eq!(told["choices"][0]["buy"][0]["offer"], "offcut", "{}", taken.stdout);
        assert!(in_one_line(&taken.stderr).contains("instead of mild steel, 11 ga"), "{}", taken.stderr);
        let words: Vec<&str> = with.split_whitespace().collect();
        assert_alike(flat_size(&json(&shop.read("plan/plan.json"))), told_in_eighths(&shop, &words));
    }
    // From the rack as well: what lies there costs less.
    let words = ["buy", "@gauge.toml", "--offers", "@yard.csv", "--from-stock", "--near-thickness", "--rounds", "1"];
    let from_rack = shop.at_rack(&words.into_iter().chain(["--json"]).collect::<Vec<_>>(), None);
    let told = json(&done(&from_rack).stdout);
    assert_eq!(told["choices"][0]["buy"].as_array().map(Vec::len), Some(0), "{}", from_rack.stdout);
}

#[test]
fn find_names_pieces_of_a_near_thickness_that_hold_the_part() {
    let shop = shop();
    let found = shop.at_rack(&["stock", "find", "--job", "@gauge.toml", "--json"], None);
    let told = json(&done(&found).stdout);
    assert_eq!(told["holders"].as_array().map(Vec::len), Some(0), "{}", found.stdout);
    let near = &told["near_thickness"][0];
    assert_eq!(
        (&near["class"], near["holders"].as_array().map(Vec::len)),
        (&"mild steel, 3.18 mm (0.125 in)".into(), Some(1))
    );
    assert!(near["why"].as_str().is_some_and(|why| why.contains("covers both [")), "{near}");
    let page = in_one_line(&done(&shop.at_rack(&["stock", "find", "--job", "@gauge.toml"], None)).stdout);
    assert!(page.contains("Of a near thickness, with the flat pattern laid anew, these hold it"), "{page}");

    // The pattern as it is laid for 1/8 in decides: a strip that holds it, and one a little too short for it.
    let [wide, long] = told_in_eighths(&shop, &[]);
    let (short, long) = (wide.min(long) + 0.4 + 10.2, wide.max(long) + 10.2);
    for (length, holds) in [(long + 0.05, 2), (long - 0.05, 1)] {
        let shop = self::shop();
        let size = format!("{length}mmx{short}mm");
        let add =
            ["stock", "add", "--material", "mild steel", "--thickness", "1/8in", "--rectangle", &size, "--price", "1"];
        done(&shop.at_rack(&add, None));
        let found = shop.at_rack(&["stock", "find", "--job", "@gauge.toml", "--json"], None);
        let told = json(&done(&found).stdout);
        let holders = told["near_thickness"][0]["holders"].as_array().map(Vec::len);
        assert_eq!(holders, Some(holds), "{length}: {}", found.stdout);
        // Other dies, another pattern: the shop that is asked for counts.
        let other = shop.at_rack(&["stock", "find", "--job", "@gauge.toml", "--shop", "@narrow.toml", "--json"], None);
        assert!(!json(&done(&other).stdout)["near_thickness"].as_array().expect("a list").is_empty());
    }
}
