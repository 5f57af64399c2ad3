//! Parts with one fault each, and parts without any: what `check` says of them before anything is nested.

mod bends;
mod by_hand;
mod good;
mod hems;
mod holes;
mod outlines;
mod press;

use dropwise_cli::Exit;
use serde_json::Value;

use crate::shop::Shop;

/// A part with one fault.
struct Fault {
    /// What is wrong, in the words of whoever would find it at the bench.
    what: &'static str,
    /// The rule that must be told.
    rule: &'static str,
    /// How much it must matter at least.
    severity: &'static str,
    /// What differs from 2 mm mild steel and a laser: `material`, `thickness`, `process`.
    stock: (&'static str, &'static str, &'static str),
    /// Lines of the shop file.
    shop: &'static str,
    /// Keys of the part.
    part: &'static str,
}

const LASER: (&str, &str, &str) = ("mild steel", "2 mm", "laser");
const THIN: (&str, &str, &str) = ("mild steel", "1 mm", "laser");
const LIGHT: (&str, &str, &str) = ("mild steel", "1.5 mm", "laser");
const HEAVY: (&str, &str, &str) = ("mild steel", "3 mm", "laser");
const WHEEL: (&str, &str, &str) = ("mild steel", "2 mm", "cutoff wheel");
const PLASMA: (&str, &str, &str) = ("mild steel", "2 mm", "plasma");

const OWN_TOOLS: &str = "cutters = [\"cutoff wheel\"]\ndrills = [5, 8, 10]\nhole_saws = [22, 32]\n";
const VISE: &str = "no_brake = true\nbenders = [{ kind = \"vise\" }]\n";
const LEAF: &str = "no_brake = true\nbenders = [{ kind = \"leaf\" }]\n";
const PAN: &str = "no_brake = true\nbenders = [{ kind = \"box and pan\" }]\n";
const PRESS: &str = "no_brake = true\nshop_press = {}\n";

const fn fault(
    what: &'static str,
    severity: &'static str,
    rule: &'static str,
    stock: (&'static str, &'static str, &'static str),
    shop: &'static str,
    part: &'static str,
) -> Fault {
    Fault { what, rule, severity, stock, shop, part }
}

const PLATE: &str = "rectangle = { width = 120, height = 80 }\n";

/// The findings of a part, as JSON.
fn findings(stock: (&str, &str, &str), shop_file: &str, part: &str) -> Result<Vec<Value>, String> {
    let (material, thickness, process) = stock;
    let shop = Shop::new();
    shop.write("shop.toml", format!("unit = \"mm\"\n{shop_file}"));
    // Keys of the whole job stand first, behind `+`; a part that brings its own form says so with `!`.
    let (settings, part) = part.strip_prefix('+').and_then(|rest| rest.split_once('\n')).unwrap_or(("", part));
    let form = part.strip_prefix('!').map_or_else(|| format!("{PLATE}{part}"), str::to_owned);
    shop.write(
        "job.toml",
        format!(
            "unit = \"mm\"\nshop = \"shop.toml\"\ndefaults = {{ material = \"{material}\", thickness = \"{thickness}\" }}\n\
             clearances = {{ process = \"{process}\" }}\n{settings}\n[[sheets]]\nname = \"sheet\"\n\
             rectangle = {{ width = 2500, height = 1250 }}\n[[parts]]\nname = \"part\"\n{form}\n"
        ),
    );
    let run = shop.run("check @job.toml --json");
    if !matches!(run.exit, Exit::Done | Exit::CannotBeMade) {
        return Err(run.stderr);
    }
    let document: Value = serde_json::from_str(&run.stdout).expect("findings are JSON");
    Ok(document["parts"][0]["findings"].as_array().expect("a list").clone())
}

fn rank(severity: &str) -> usize {
    ["note", "warn", "stop"].iter().position(|known| *known == severity).expect("a severity")
}

/// What of these faults is missed, with what was said instead.
fn missed(faults: &[Fault]) -> Vec<String> {
    faults
        .iter()
        .filter_map(|fault| {
            let found = match findings(fault.stock, fault.shop, fault.part) {
                Ok(found) => found,
                Err(refused) => return Some(format!("{}: refused: {refused}", fault.what)),
            };
            let text = |finding: &Value, key: &str| finding[key].as_str().unwrap_or_default().to_owned();
            let is_told = found.iter().any(|finding| {
                let has_number = finding["found"].is_object()
                    || finding["wanted"].is_object()
                    || text(finding, "problem").contains("mg/m³")
                    || ["order of bends", "shear of the shop", "metal for oxy-fuel"].contains(&fault.rule);
                text(finding, "rule") == fault.rule
                    && rank(&text(finding, "severity")) >= rank(fault.severity)
                    && has_number
                    && !text(finding, "cure").is_empty()
                    && !text(finding, "source").is_empty()
            });
            let said: Vec<String> = found
                .iter()
                .map(|finding| format!("{} {}", text(finding, "severity"), text(finding, "rule")))
                .collect();
            (!is_told).then(|| format!("{}: wanted {} {}, got {said:?}", fault.what, fault.severity, fault.rule))
        })
        .collect()
}

fn assert_all_told(faults: &[Fault]) {
    assert_eq!(missed(faults), Vec::<String>::new());
}

#[test]
fn seeded_faults_of_holes_are_told() {
    assert_all_told(&holes::FAULTS);
}

#[test]
fn seeded_faults_of_outlines_are_told() {
    assert_all_told(&outlines::FAULTS);
}

#[test]
fn seeded_faults_of_bends_are_told() {
    assert_all_told(&bends::FAULTS);
}

#[test]
fn seeded_faults_of_hems_are_told() {
    assert_all_told(&hems::FAULTS);
}

#[test]
fn seeded_faults_at_the_press_are_told() {
    assert_all_told(&press::FAULTS);
}

#[test]
fn seeded_faults_by_hand_are_told() {
    assert_all_told(&by_hand::FAULTS);
}

#[test]
fn good_parts_raise_no_alarm() {
    let mut alarms = Vec::new();
    for (what, stock, shop, part) in good::GOOD {
        for finding in findings(stock, shop, part).unwrap_or_else(|refused| panic!("{what}: {refused}")) {
            if finding["severity"] != "note" {
                alarms.push(format!("{what}: {finding}"));
            }
        }
    }
    assert_eq!(alarms, Vec::<String>::new());
}

/// A figure that is only remembered, or that nobody published, never stops, whatever the rule. And what one finding says is
/// not said by another of the same part: causes are counted.
#[test]
fn nothing_that_is_only_remembered_stops_and_nothing_is_told_twice() {
    let lists: [&[Fault]; 6] =
        [&holes::FAULTS, &outlines::FAULTS, &bends::FAULTS, &hems::FAULTS, &press::FAULTS, &by_hand::FAULTS];
    let mut rules = std::collections::BTreeSet::new();
    for fault in lists.into_iter().flatten() {
        let mut told: Vec<(String, String, String)> = Vec::new();
        for finding in findings(fault.stock, fault.shop, fault.part).unwrap_or_default() {
            let text = |key: &str| finding[key].as_str().unwrap_or_default().to_owned();
            let source = text("source");
            let is_known = source.contains("(confirmed)") || source.contains("(derived)");
            assert!(finding["severity"] != "stop" || is_known, "{}: {finding}", fault.what);
            let cause = (text("rule"), text("problem"), finding["wanted"].to_string());
            assert!(!told.contains(&cause), "{}: told twice: {cause:?}", fault.what);
            told.push(cause);
            rules.insert(text("rule"));
        }
    }
    // As many rules as the page of `check` lists, and more: each of them passed here.
    assert!(rules.len() >= 60, "{} rules: {rules:?}", rules.len());
}
